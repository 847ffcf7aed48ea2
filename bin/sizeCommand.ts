/** `size`: are tank, pumps and compressors big enough? */
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { readQuantity, type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import { findSize, type SizeAnswer } from '../studies/size.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { printSize } from './printSize.ts';
import { progressLine } from './progress.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';

export interface SizeCommandOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
  readonly sizes?: string | undefined;
  readonly refill?: string | undefined;
  readonly recharge?: string | undefined;
  readonly json?: boolean | undefined;
}

export async function sizeCommand(file: string, options: SizeCommandOptions): Promise<Exit> {
  const wrong: string[] = [];
  const read = (name: string, text: string, dimension: 'time' | 'volume', example: string): number => {
    const got = readQuantity(text, dimension, undefined, example);
    if ('problem' in got) wrong.push(`${name}: ${got.problem}`);
    else if (got.value > 0) return got.value;
    else wrong.push(`${name}: "${text}" must be more than 0; write for example "${example}"`);
    return Number.NaN;
  };
  const { sizes, refill, recharge } = options;
  const asked = await withUnits(() => {
    wrong.length = 0;
    return {
      ...(sizes === undefined
        ? {}
        : { sizes_m3: sizes.split(',').map((s) => read('--sizes', s.trim(), 'volume', '65 gal, 110 gal, 150 gal')) }),
      ...(refill === undefined ? {} : { refill_s: read('--refill', refill, 'time', '20 min') }),
      ...(recharge === undefined ? {} : { recharge_s: read('--recharge', recharge, 'time', '1 h') }),
    };
  });
  if (wrong.length > 0) {
    for (const line of wrong) warn(line);
    return Exit.refused;
  }
  return forEachFile([file], ({ text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    const { scenario } = loaded;
    if (scenario === undefined) return () => refuse(loaded);
    const units = options.units ?? unitsWritten(text);
    const progress = progressLine(nameOf(file));
    const answer = findSize(scenario.values, scenario.plant, { ...asked, onProgress: progress.update });
    progress.clear();
    return () => {
      if (options.json) say(sizeJson(answer, scenario));
      else say(printSize(answer, scenario, { file: nameOf(file), units, ...asked, paint: paintStdout }));
      return answer.met ? Exit.met : Exit.notMet;
    };
  });
}

/** SI, unit last in each name; what does not exist is null. */
function sizeJson(answer: SizeAnswer, { file, values }: Scenario): string {
  const whole = {
    program: `tripstroke ${VERSION}`,
    file,
    title: values.title,
    seed: values.seed,
    ...answer,
    cautions: CAUTIONS,
  };
  return `${JSON.stringify(
    { ...whole, demand: answer.demand ?? null, next: answer.next ?? null },
    (_key, part: unknown) => (part === undefined || (typeof part === 'number' && !Number.isFinite(part)) ? null : part),
    2,
  )}\n`;
}
