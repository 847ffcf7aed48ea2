/** `worst`: when is the worst moment to lose the mains? */
import { stringify } from 'csv-stringify/sync';
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { columnUnit, readQuantity, type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import { findWorst, type WorstAnswer } from '../studies/worst.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { answerWords, printWorst } from './printWorst.ts';
import { progressLine } from './progress.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';
import { writeWhole } from './writeWhole.ts';

export interface WorstCommandOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
  readonly instants?: number | undefined;
  readonly service?: string | undefined;
  readonly csv?: string | undefined;
  readonly json?: boolean | undefined;
}

export async function worstCommand(file: string, options: WorstCommandOptions): Promise<Exit> {
  const { service } = options;
  const longest = service === undefined ? undefined : await withUnits(() => servicePeriod(service));
  if (typeof longest === 'string') {
    warn(longest);
    return Exit.refused;
  }
  return forEachFile([file], ({ text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    const { scenario } = loaded;
    if (scenario === undefined) return () => refuse(loaded);
    const units = options.units ?? unitsWritten(text);
    const progress = progressLine(nameOf(file));
    const answer = findWorst(scenario.values, scenario.plant, {
      onProgress: progress.update,
      ...(options.instants === undefined ? {} : { instants: options.instants }),
      ...(longest === undefined ? {} : { longestService_s: longest }),
    });
    progress.clear();
    return () => {
      const failed =
        options.csv === undefined
          ? undefined
          : writeWhole(options.csv, momentsCsv(answer, scenario, units), 'the moments');
      if (options.json) say(worstJson(answer, scenario));
      else say(printWorst(answer, scenario, { file: nameOf(file), units, set: options.set ?? [], paint: paintStdout }));
      if (failed !== undefined) {
        warn(failed);
        return Exit.refused;
      }
      return answer.proof.met ? Exit.met : Exit.notMet;
    };
  });
}

function servicePeriod(text: string): number | string {
  const read = readQuantity(text, 'time', undefined, '30 d');
  if ('problem' in read) return `--service: ${read.problem}`;
  return read.value > 0 ? read.value : `--service: "${text}" must be more than 0; write for example "30 d"`;
}

/** SI, unit last in each name; what does not exist is null. */
function worstJson(answer: WorstAnswer, { file, values }: Scenario): string {
  const whole = {
    program: `tripstroke ${VERSION}`,
    file,
    title: values.title,
    seed: values.seed,
    ...answer,
    cautions: CAUTIONS,
  };
  return `${JSON.stringify(whole, (_key, part: unknown) => (part === undefined || part === Infinity ? null : part), 2)}\n`;
}

function momentsCsv(answer: WorstAnswer, { plant }: Scenario, units: UnitSystem): string {
  const pressure = columnUnit('pressure', units);
  const length = columnUnit('length', units);
  const rows = answer.moments.map((m) => {
    const { stroke, margin } = answerWords(plant, m.answer, units);
    const level_m = plant.tank.vessel.levelAt(m.oil_m3) - plant.tank.sightGlassZero_m;
    const ambient = plant.ambientPressure_Pa;
    return [
      m.time_s,
      pressure.toDisplay(m.pressure_Pa, ambient),
      length.toDisplay(level_m, ambient),
      stroke,
      margin,
      m.answer.spare,
      m.answer.met ? 1 : 0,
    ];
  });
  const head = [
    'mains lost at [s]',
    `tank pressure [${pressure.name}]`,
    `tank level [${length.name}]`,
    'least margin of',
    'margin',
    'margin beyond the wanted one',
    'met',
  ];
  return stringify([head, ...rows]);
}
