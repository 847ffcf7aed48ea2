/** What the commands that ask many runs have in common: reading their file, times as options, their JSON. */
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { readQuantity, type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import type { StudyReport } from '../web/report/study.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { progressLine } from './progress.ts';
import { originOf, reportObstacle, writeReport } from './reportFile.ts';
import { warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';

export interface StudyOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
  readonly json?: boolean | undefined;
  /** File of the report; none is written when left out. */
  readonly report?: string | undefined;
}

/** What a study is told: its scenario, and how to print and to report. */
export interface Study {
  readonly scenario: Scenario;
  readonly text: string;
  readonly units: UnitSystem;
  readonly onProgress: (share: number) => void;
  /** Takes the line of progress away, before anything is printed. */
  readonly clear: () => void;
}

/** Reads the file of a study and does the work on it; what the work returns is called when it is done. */
export async function studyFile(
  file: string,
  options: StudyOptions,
  work: (study: Study) => () => Exit,
): Promise<Exit> {
  const obstacle = options.report === undefined ? undefined : reportObstacle(options.report);
  if (obstacle !== undefined) {
    warn(obstacle);
    return Exit.refused;
  }
  return forEachFile([file], ({ text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    const { scenario } = loaded;
    if (scenario === undefined) return () => refuse(loaded);
    const progress = progressLine(nameOf(file));
    const units = options.units ?? unitsWritten(text);
    const finish = work({ scenario, text, units, onProgress: progress.update, clear: progress.clear });
    progress.clear();
    return finish;
  });
}

/**
 * Writes the report of a study, where one is asked for.
 *
 * @param changing options beside those of every study that change what it says
 * @returns one line about what went wrong, if anything did
 */
export function fileReport(
  command: string,
  file: string,
  { scenario, text, units }: Pick<Study, 'scenario' | 'text' | 'units'>,
  options: StudyOptions,
  changing: Readonly<Record<string, unknown>>,
  make: (report: StudyReport) => string,
): string | undefined {
  const { report, set } = options;
  if (report === undefined) return undefined;
  const seed = String(changing['seed'] ?? scenario.values.seed);
  const origin = originOf(command, file, text, seed, report, { units: options.units, set, ...changing });
  return writeReport(report, make({ scenario, scenarioText: text, units, origin }));
}

/** Seconds of an option, what stands in its place where it is not given, or what is wrong with it. */
function timeOption<T>(name: string, text: string | undefined, otherwise: T): number | T | { problem: string } {
  if (text === undefined) return otherwise;
  const read = readQuantity(text, 'time', undefined, '30 d');
  if ('problem' in read) return { problem: `${name}: ${read.problem}` };
  if (read.value > 0) return read.value;
  return { problem: `${name}: "${text}" must be more than 0; write for example "30 d"` };
}

/** Times of several options in their order; undefined, after saying why, where one is wrong. */
export async function timeOptions<T>(
  given: readonly (readonly [name: string, text: string | undefined, otherwise: T])[],
): Promise<readonly (number | T)[] | undefined> {
  const times = await withUnits(() => given.map(([name, text, otherwise]) => timeOption(name, text, otherwise)));
  const wrong = times.find((t): t is { problem: string } => typeof t === 'object' && t !== null && 'problem' in t);
  if (wrong === undefined) return times as (number | T)[];
  warn(wrong.problem);
  return undefined;
}

/** JSON of an answer: SI, unit last in each name; what does not exist or is not finite is null. */
export function answerJson({ file, values, overrides }: Scenario, answer: object): string {
  const whole = {
    program: `tripstroke ${VERSION}`,
    file,
    title: values.title,
    seed: values.seed,
    overrides: overrides.map(({ path, before, after }) => ({ path, before, after })),
    ...answer,
    cautions: CAUTIONS,
  };
  const plain = (_key: string, part: unknown) =>
    part === undefined || (typeof part === 'number' && !Number.isFinite(part)) ? null : part;
  return `${JSON.stringify(whole, plain, 2)}\n`;
}
