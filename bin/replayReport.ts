/** The report on a replay, as a file. */
import type { Result } from '../scenarios/result.ts';
import type { TraceSink } from '../scenarios/trace.ts';
import { plotData } from '../web/plot/data.ts';
import { plotRecorder } from '../web/plot/record.ts';
import { replayReport } from '../web/report/replay.ts';
import type { OpenedFile } from './files.ts';
import type { ReplayCommandOptions } from './replayCommand.ts';
import { originOf, reportObstacle, reportScript, writeReport } from './reportFile.ts';

/** What keeps the report from being written, before anything is run. */
export function obstacle(report: string, files: readonly string[]): string | undefined {
  if (files.length > 1) return `--report: one report is of one scenario, and ${files.length} are given`;
  return reportObstacle(report);
}

export interface Reporter {
  /** Takes the rows of the run. */
  readonly sink: TraceSink;
  /** Makes the page; what it returns writes it, and returns what went wrong, if anything did. */
  page(result: Result): () => string | undefined;
}

export function replayReporter({ file, text }: OpenedFile, report: string, options: ReplayCommandOptions): Reporter {
  const script = reportScript();
  const recorder = plotRecorder();
  return {
    sink: recorder,
    page(result) {
      const { units, set, at, sample } = options;
      const made = replayReport({
        result,
        plot: plotData(result, recorder.recorded()),
        scenarioText: text,
        origin: originOf('replay', file, text, result.seed, report, { units, set, at, sample }),
        script,
      });
      return () => writeReport(report, made);
    },
  };
}
