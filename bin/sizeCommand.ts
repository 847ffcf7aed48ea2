/** `size`: are tank, pumps and compressors big enough? */
import { readQuantity } from '../scenarios/units.ts';
import { findSize } from '../studies/size.ts';
import { Exit } from './exitCodes.ts';
import { nameOf } from './input.ts';
import { printSize } from './printSize.ts';
import { answerJson, fileReport, type StudyOptions, studyFile } from './study.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';

export interface SizeCommandOptions extends StudyOptions {
  readonly sizes?: string | undefined;
  readonly refill?: string | undefined;
  readonly recharge?: string | undefined;
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
  const reports = options.report === undefined ? undefined : await import('../web/report/size.ts');
  return studyFile(file, options, (study) => {
    const { scenario, units, onProgress } = study;
    const answer = findSize(scenario.values, scenario.plant, { ...asked, onProgress });
    return () => {
      if (options.json)
        say(answerJson(scenario, { ...answer, demand: answer.demand ?? null, next: answer.next ?? null }));
      else say(printSize(answer, scenario, { file: nameOf(file), units, ...asked, paint: paintStdout }));
      const unfiled = fileReport('size', file, study, options, { sizes, refill, recharge }, (report) =>
        reports!.sizeReport(answer, { ...report, ...asked }),
      );
      if (unfiled !== undefined) {
        warn(unfiled);
        return Exit.refused;
      }
      return answer.met ? Exit.met : Exit.notMet;
    };
  });
}
