/** `replay`: runs scenarios, prints what came out and writes the folders of results. */
import path from 'node:path';
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { type Replay, replay } from '../scenarios/replay.ts';
import type { Result } from '../scenarios/result.ts';
import type { TraceSink } from '../scenarios/trace.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import { readQuantity, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, type OpenedFile, refuse } from './files.ts';
import { nameOf, STANDARD_INPUT } from './input.ts';
import { WIDTH } from './layout.ts';
import { printReport, resultJson } from './print.ts';
import { type Progress, progressLine } from './progress.ts';
import { isSystemError, paintStdout, say, systemReason, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';

export interface ReplayCommandOptions {
  readonly units?: UnitSystem | undefined;
  readonly out: string;
  readonly set?: readonly string[] | undefined;
  readonly at?: 'worst' | undefined;
  readonly sample?: string | undefined;
  readonly quiet?: boolean | undefined;
  readonly json?: boolean | undefined;
  readonly force?: boolean | undefined;
  readonly files: boolean;
  readonly report?: string | undefined;
}

type Reports = typeof import('./replayReport.ts');
type Output = typeof import('./output.ts');
type Draft = import('./output.ts').Draft;

export async function replayCommand(files: readonly string[], options: ReplayCommandOptions): Promise<Exit> {
  const { sample } = options;
  const period = sample === undefined ? undefined : await withUnits(() => samplePeriod(sample));
  if (typeof period === 'string') {
    warn(period);
    return Exit.refused;
  }
  const sample_s: number | undefined = period;
  const reports = options.report === undefined ? undefined : await import('./replayReport.ts');
  const obstacle = options.report === undefined ? undefined : reports?.obstacle(options.report, files);
  if (obstacle !== undefined) {
    warn(obstacle);
    return Exit.refused;
  }
  const worst = options.at === 'worst' ? await import('../studies/worst.ts') : undefined;
  const output = options.files ? await import('./output.ts') : undefined;
  const results: Result[] = [];
  const taken = new Map<string, string>();
  let progress: Progress | undefined;
  let printed = 0;

  let draft: Draft | undefined;
  const code = await forEachFile(files, replayOne, (file) => {
    progress?.clear();
    if (output !== undefined) discard(draft, folderOf(output, file));
  });
  if (options.json && (results.length > 0 || files.length > 1))
    say(resultJson(files.length > 1 ? results : results[0]!));
  return code;

  function folderOf({ folderName }: Output, file: string): string {
    return path.join(options.out, file === STANDARD_INPUT ? 'standard-input' : folderName(file));
  }

  function replayOne({ file, text }: OpenedFile): () => Exit {
    let loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    if (loaded.scenario !== undefined && worst !== undefined) {
      const { values, plant } = loaded.scenario;
      const found = worst.worstOverrides(worst.findWorst(values, plant), values, plant);
      loaded = loadScenario(text, { file: nameOf(file), overrides: [...(options.set ?? []), ...found] });
    }
    const { scenario } = loaded;
    if (scenario === undefined) return () => refuse(loaded);
    const refuseWith = (problem: string) => () => {
      warn(`${nameOf(file)}: ${problem}`);
      return Exit.refused;
    };
    const filed = reportOf(reports, { file, text });
    if (output === undefined) {
      const { result } = timed(scenario, file, options.units ?? unitsWritten(text), filed?.sink ?? false);
      const page = filed?.page(result);
      return () => finish(result, undefined, undefined, page?.());
    }
    const folder = folderOf(output, file);
    const first = taken.get(folder.toLowerCase());
    if (first !== undefined)
      return refuseWith(`its results would replace those of ${first}; replay it by itself with another --out`);
    taken.set(folder.toLowerCase(), nameOf(file));
    const identity = output.runIdentity(text, scenario.overrides, VERSION);
    let inTheWay: string | undefined;
    let failed = attempt(folder, () => {
      inTheWay = output.obstacle(folder, identity, options.force === true);
    });
    if (failed ?? inTheWay) return refuseWith((failed ?? inTheWay) as string);
    const units = options.units ?? unitsWritten(text);
    draft = undefined;
    failed = attempt(folder, () => {
      draft = output.begin(folder, units, scenario.plant.ambientPressure_Pa);
    });
    const sinks = [(draft as Draft | undefined)?.trace, filed?.sink].filter((sink) => sink !== undefined);
    const { result } = timed(scenario, file, units, sinks.length === 0 ? false : toAll(sinks));
    const page = filed?.page(result);
    const report = printReport(result, { quiet: options.quiet, folder });
    failed ??= attempt(folder, () => draft?.finish({ identity, scenarioText: text, result, report }));
    return () => {
      failed ??= attempt(folder, () => output.putInPlace(folder));
      if (failed !== undefined) discard(draft, folder);
      return finish(result, folder, failed, page?.());
    };
  }

  /** Records for the report while the run goes on, and makes it when the result is there. */
  function reportOf(made: Reports | undefined, opened: OpenedFile) {
    if (made === undefined || options.report === undefined) return undefined;
    return made.replayReporter(opened, options.report, options);
  }

  function timed(scenario: Scenario, file: string, units: UnitSystem, trace: false | TraceSink): Replay {
    progress = progressLine(nameOf(file));
    const { update } = progress;
    const done = replay(scenario, {
      units,
      trace,
      onProgress: update,
      ...(sample_s === undefined ? {} : { sample_s }),
    });
    progress.clear();
    return done;
  }

  /** Prints the result; a verdict is worth reading even where its files could not be written. */
  function finish(result: Result, folder: string | undefined, ...failures: readonly (string | undefined)[]): Exit {
    const [failed] = failures;
    if (options.json) results.push(result);
    else {
      if (printed++ > 0) say(`\n${'-'.repeat(WIDTH)}\n\n`);
      say(
        printReport(result, {
          quiet: options.quiet,
          paint: paintStdout,
          folder: failed === undefined ? folder : undefined,
        }),
      );
    }
    const complaints = failures.filter((f) => f !== undefined);
    if (complaints.length > 0) {
      complaints.forEach(warn);
      return Exit.refused;
    }
    if (result.work.limitReached) return Exit.workLimit;
    return result.verdict.met ? Exit.met : Exit.notMet;
  }
}

/** One sink for several. */
function toAll(sinks: readonly TraceSink[]): TraceSink {
  return {
    begin(columns) {
      for (const sink of sinks) sink.begin(columns);
    },
    row(row, atEvent) {
      for (const sink of sinks) sink.row(row, atEvent);
    },
  };
}

/** Seconds, or what is wrong. */
function samplePeriod(text: string): number | string {
  const read = readQuantity(text, 'time', undefined, '0.1 s');
  if ('problem' in read) return `--sample: ${read.problem}`;
  return read.value > 0 ? read.value : `--sample: "${text}" must be more than 0; write for example "0.1 s"`;
}

/** Does `work`; one line about what the operating system objected to, if it did. */
function attempt(folder: string, work: () => unknown): string | undefined {
  try {
    work();
    return undefined;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return `the results cannot be written to ${folder}: ${systemReason(error)}`;
  }
}

function discard(draft: Draft | undefined, folder: string): void {
  attempt(folder, () => draft?.discard());
}
