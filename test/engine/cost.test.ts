/**
 * What a run costs, counted and not timed: the work its limit counts, and calls of mathematical functions, of which
 * the searches for flows, instants and shares of a step make nearly all. The ceilings are a budget, not a truth:
 * what the examples took on 26 November 2026 with Node.js 20. Others may round powers and exponentials otherwise in the last
 * digit, which lengthens a search here and there: they are allowed half a percent more. A change that makes a search slower
 * without changing what it finds shows here and nowhere else; one that is worth its cost raises the ceiling.
 */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { formatFaults, loadScenario, replay } from '../../scenarios/index.ts';

const FUNCTIONS = ['abs', 'min', 'max', 'sqrt', 'cbrt', 'exp', 'log', 'pow', 'sin', 'cos', 'floor', 'ceil'] as const;
const ALLOWED = process.versions.node.startsWith('20.') ? 1 : 1.005;
const kept = new Map(FUNCTIONS.map((name) => [name, Math[name]]));

test.each([
  ['mill-creek', 283_845, 326_352],
  ['tarn-hollow', 131_823, 544_750],
  ['ashlar-weir', 157_312, 78_773],
  ['brindle-lock', 469_904, 301_591],
  ['hollin-gate', 547_001, 372_727],
  ['larkstone-moor', 157_750, 110_562],
  ['quern-fold', 599_284, 600_024],
  ['saltern-quay', 455_702, 289_301],
  ['withy-mere', 1_696_202, 1_185_228],
])('%s', (name, work, calls) => {
  const text = readFileSync(new URL(`../../scenarios/${name}.yaml`, import.meta.url), 'utf8');
  const loaded = loadScenario(text, { file: `${name}.yaml` });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  let count = 0;
  for (const [key, inner] of kept)
    Object.assign(Math, {
      [key]: (...args: number[]) => {
        count++;
        return (inner as (...all: number[]) => number)(...args);
      },
    });
  let spent = Infinity;
  try {
    spent = replay(loaded.scenario, { trace: false }).result.work.spent;
  } finally {
    Object.assign(Math, Object.fromEntries(kept));
  }
  expect(spent).toBeLessThanOrEqual(work * ALLOWED);
  expect(count).toBeLessThanOrEqual(calls * ALLOWED);
});
