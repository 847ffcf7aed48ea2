/**
 * A law: a statement about every unit and every outage, tried on random ones. The cases of a law are always the same
 * unless the environment says otherwise:
 *   TRIPSTROKE_RUNS   so many cases for every law, for a long campaign
 *   TRIPSTROKE_TIMES  so many times the cases, for all laws at once
 *   TRIPSTROKE_SEED   another seed
 *   TRIPSTROKE_SHRINK=0   reports the first case that fails, not a smaller one
 *   TRIPSTROKE_PATH   begins with the case of that seed which a failure has printed
 */
import fc from 'fast-check';
import { expect, test } from 'vitest';

/** So many cases where the environment does not say TRIPSTROKE_TIMES. */
export const timesOf = (cases: number): number => Math.ceil(cases * Number(process.env['TRIPSTROKE_TIMES'] ?? 1));

export interface LawOptions {
  /** Cases tried where the environment does not say. */
  readonly runs: number;
  readonly seed: number;
  /** What a failing case looks like in the report. */
  readonly show?: (value: never) => string;
}

export function law<T>(name: string, options: LawOptions, cases: fc.Arbitrary<T>, holds: (value: T) => void): void {
  const runs = Number(process.env['TRIPSTROKE_RUNS'] ?? timesOf(options.runs));
  const seed = Number(process.env['TRIPSTROKE_SEED'] ?? options.seed);
  const path = process.env['TRIPSTROKE_PATH'];
  test(name, ({ task }) => {
    const outcome = fc.check(fc.property(cases, holds), {
      numRuns: runs,
      seed,
      endOnFailure: process.env['TRIPSTROKE_SHRINK'] === '0',
      // Shrinking stops here, so that a failure is reported before the test runs out of time.
      interruptAfterTimeLimit: 1_800_000,
      ...(path === undefined ? {} : { path }),
    });
    task.meta.cases = outcome.numRuns;
    if (!outcome.failed) {
      if (outcome.interrupted) throw new Error(`out of time after ${outcome.numRuns} of ${runs} cases`);
      return;
    }
    const file = (expect.getState().testPath ?? '').replace(/\\/g, '/').replace(/^.*\/test\//, 'test/');
    const again = `TRIPSTROKE_SEED=${outcome.seed} TRIPSTROKE_PATH=${outcome.counterexamplePath?.split(':')[0]} npx vitest run ${file} -t "${name}"`;
    const error = outcome.errorInstance as { message?: string; stack?: string } | null;
    const value = outcome.counterexample?.[0] as never;
    const shown = value === undefined || options.show === undefined ? '' : `\ncase: ${options.show(value)}`;
    throw new Error(`${error?.message ?? 'no counterexample'}\nreplay: ${again}${shown}\n${error?.stack ?? ''}`);
  }, 3_600_000);
}
