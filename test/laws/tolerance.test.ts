import fc from 'fast-check';
import { assert, test } from 'vitest';
import { agree, stepTolerance } from '../support/agree.ts';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { MOST_STEPS, runCase } from '../support/runCase.ts';

let compared = 0;
let through = 0;
const count = (whole: boolean): void => {
  compared++;
  if (whole) through++;
};
// Cases that take thousands of long steps are stiff: compared, they would only cost time.
const ordinary = (c: Parameters<typeof runCase>[0]) => {
  const run = runCase(c);
  return run.stop === 'reached' ? run : undefined;
};

/**
 * The error of a step of at most one tick is far below what a long step is allowed, so the long steps differ from the
 * short ones by no more than the sum of their own allowances.
 */
law(
  'steps no longer than a tick agree with long steps',
  { runs: 20, seed: 301, show: showCase },
  randomScenario({ mostTicks: 1500 }),
  (c) => {
    const long = ordinary(c);
    if (long === undefined) return;
    count(agree(c, long, runCase(c, { mode: 'shortSteps', stepBudget: 20 * MOST_STEPS }), stepTolerance(long)));
  },
);

/** A hundredth of the step error, with steps of less than half the length, leaves the errors of the ordinary run alone. */
law(
  'a hundredth of the step error agrees with the ordinary one',
  { runs: 30, seed: 302, show: showCase },
  randomScenario(),
  (c) => {
    const run = ordinary(c);
    if (run === undefined) return;
    count(agree(c, run, runCase(c, { relativeStepError: 1e-10, stepBudget: 20 * MOST_STEPS }), stepTolerance(run)));
  },
);

/** A stop at any tick cuts a step there and adds one step's error. */
law(
  'a run advanced tick by tick to any stops agrees with the straight run',
  { runs: 30, seed: 303, show: ([c, stops]: readonly [never, readonly number[]]) => `${stops} of ${showCase(c)}` },
  fc.tuple(randomScenario(), fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 6 })),
  ([c, parts]) => {
    const run = ordinary(c);
    if (run === undefined) return;
    const stops = [...parts].sort((a, b) => a - b).map((part) => Math.floor(part * c.ticks));
    count(agree(c, run, runCase(c, { stops: [...stops, c.ticks] }), stepTolerance(run)));
  },
);

// Else these laws would say nothing about what comes after the first event.
test('nine in ten of these comparisons go through to the end', () => {
  assert(compared === 0 || through >= 0.9 * compared, `${through} of ${compared}`);
});
