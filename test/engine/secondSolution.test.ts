/**
 * The program against a second solution of whole outages, written from the equations with a general ODE library and no
 * code of the project: second/physics.ts, second/logic.ts, second/solution.ts. Only the public entry of the program is
 * used: the text of a scenario in, result and trace out.
 *
 * The cases run at a step error of 1e-10, so that what is left is what the two disagree on: states within 1e-6, instants
 * within 10 us. An instant at which something creeps up on its limit (a piston that is about to stop, a safety valve that
 * is about to shut) is held to what 1e-7 of the pressure makes of it. How far the default step error takes the program
 * from its own limit is for convergence.test.ts.
 *
 * TRIPSTROKE_RUNS=500 runs as many cases beyond the chosen ones; TRIPSTROKE_CASE=123 runs that one alone.
 */
import { expect, test } from 'vitest';
import { type Comparison, compare } from './second/compare.ts';
import { randomCase } from './second/randomCase.ts';
import type { Kind } from './second/solution.ts';

/** Chosen so that between them everything happens that can happen, and quickly. */
const CHOSEN = [17, 27, 39, 43, 68, 144, 167, 203, 211, 228, 251, 257, 272, 273, 278, 280, 292, 294, 300, 304];
const FIRST_FURTHER = 2000;

const tolerances = { state: 1e-6, time_s: 1e-5, margin: 1e-3, total: 1e-4 };
const one = process.env['TRIPSTROKE_CASE'];
const further = Number(process.env['TRIPSTROKE_RUNS'] ?? 0);
const seeds =
  one !== undefined ? [Number(one)] : [...CHOSEN, ...Array.from({ length: further }, (_, i) => FIRST_FURTHER + i)];

function run(list: readonly number[]): Comparison[] {
  return list.map((seed) => {
    const comparison = compare(randomCase(seed), tolerances, { relativeStepError: 1e-10 });
    expect(comparison.differences, `case ${seed}; TRIPSTROKE_CASE=${seed} runs it alone`).toEqual([]);
    return comparison;
  });
}

// Observed over 500 cases: 8e-8 in states, 0.8 us in instants, 2e-6 in least force margins, 8e-7 in totals.
test(
  `${seeds.length} outages`,
  () => {
    const done = run(seeds);
    if (one !== undefined) return;
    const happened = new Set(done.flatMap((d) => d.kinds));
    const all: readonly Kind[] = [
      'starts to move',
      'rests',
      'ends',
      'pushed back',
      'gas',
      'safety opens',
      'safety shuts',
      'cavitates',
      'dry',
      'primed',
      'starts',
      'stops',
    ];
    expect(all.filter((kind) => !happened.has(kind))).toEqual([]);
  },
  60_000 + further * 10_000,
);
