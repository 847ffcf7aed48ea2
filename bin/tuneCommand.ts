/** `tune`: where should the switches be set? */
import { loadScenario } from '../scenarios/load.ts';
import { changeNumbers, valueAt } from '../scenarios/setpoints.ts';
import { findTuning, type TuneAnswer } from '../studies/tune.ts';
import { Exit } from './exitCodes.ts';
import { beginsWithMark, nameOf, overItself } from './input.ts';
import { printTune } from './printTune.ts';
import { answerJson, fileReport, type StudyOptions, studyFile } from './study.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface TuneCommandOptions extends StudyOptions {
  readonly out?: string | undefined;
  readonly tradeOff?: boolean | undefined;
}

export async function tuneCommand(file: string, options: TuneCommandOptions): Promise<Exit> {
  const { out, set = [] } = options;
  if (out !== undefined && set.length > 0) {
    warn('--out writes the file with nothing but setpoints changed; put what --set changes into the file first');
    return Exit.refused;
  }
  const over = out === undefined ? undefined : overItself(file, out);
  if (over !== undefined) {
    warn(over);
    return Exit.refused;
  }
  const reports = options.report === undefined ? undefined : await import('../web/report/tune.ts');
  return studyFile(file, options, (study) => {
    const { scenario, text, units, onProgress } = study;
    const tuning = scenario.tuning();
    if (tuning.setpoints.length === 0) {
      warn(
        `${nameOf(file)}: there is nothing to tune: the panel has no start, stop, cut-in or cut-out; list others under "tuning: setpoints:"`,
      );
      return () => Exit.refused;
    }
    const answer = findTuning(scenario.values, scenario.plant, tuning, {
      onProgress,
      tradeOff: options.tradeOff ?? false,
    });
    return () => {
      const failed = out === undefined || !answer.feasible ? undefined : writeTuned(out, file, text, answer);
      const written = answer.feasible && failed === undefined ? out : undefined;
      if (options.json) say(answerJson(scenario, forJson(answer)));
      else say(printTune(answer, scenario, { file: nameOf(file), units, set, out: written, paint: paintStdout }));
      if (out !== undefined && !answer.feasible) warn(`${out} was not written: no setting is feasible`);
      const { tradeOff } = options;
      const unfiled = fileReport('tune', file, study, options, { tradeOff }, (report) =>
        reports!.tuneReport(answer, report),
      );
      const complaints = [failed, unfiled].filter((f) => f !== undefined);
      if (complaints.length > 0) {
        complaints.forEach(warn);
        return Exit.refused;
      }
      return answer.feasible ? Exit.met : Exit.notMet;
    };
  });
}

/** @returns undefined, or one line about what stands in the way */
function writeTuned(out: string, file: string, text: string, answer: TuneAnswer): string | undefined {
  const moves = answer.setpoints.filter((t) => t.recommended !== t.asSet);
  const changed = changeNumbers(
    text,
    moves.map((t) => ({ path: t.setpoint.path, number: t.number })),
  );
  const shared = 'shared' in changed ? changed.shared : sharedIn(changed.text, text, answer);
  if (shared !== undefined || !('text' in changed))
    return `${out} was not written: ${shared ?? ''} is shared with another place of the file by "&" and "*"; write its value out there`;
  return writeWhole(out, `${beginsWithMark(file) ? '\ufeff' : ''}${changed.text}`, 'the recommended scenario');
}

/** The first value that came out otherwise than meant; undefined where the new text says just what was recommended. */
function sharedIn(changed: string, before: string, answer: TuneAnswer): string | undefined {
  const [now, was] = [changed, before].map((text) => loadScenario(text, { file: 'tuned' }).scenario?.values);
  if (now === undefined || was === undefined) return answer.setpoints[0].setpoint.path;
  const off = answer.setpoints.find(
    ({ setpoint, recommended }) =>
      Math.abs((valueAt(now, setpoint.path) ?? Number.NaN) - recommended) > 1e-6 * Math.abs(recommended),
  );
  if (off !== undefined) return off.setpoint.path;
  const meant = new Set(answer.setpoints.map((t) => t.setpoint.rung));
  return differing(now, was, '').find((path) => !meant.has(path.replace(/\.at$/, '')));
}

/** Paths at which two trees of values differ. */
function differing(a: unknown, b: unknown, path: string): string[] {
  if (typeof a !== 'object' || a === null || typeof b !== 'object' || b === null) return a === b ? [] : [path];
  const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
  const of = (x: object, key: string) => (x as Readonly<Record<string, unknown>>)[key];
  return [...keys].flatMap((key) => differing(of(a, key), of(b, key), path === '' ? key : `${path}.${key}`));
}

/** The answer with its setpoints as they are written in the file. */
function forJson({ setpoints, ...rest }: TuneAnswer): object {
  return {
    ...rest,
    setpoints: setpoints.map(({ setpoint, number, ...t }) => ({
      path: setpoint.path,
      name: setpoint.name,
      dimension: setpoint.dimension,
      ...t,
      written: `${number} ${setpoint.unit.name}`,
    })),
  };
}
