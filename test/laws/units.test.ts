import { assert, test } from 'vitest';
import { formatFaults, loadScenario } from '../../scenarios/index.ts';
import { agree, stepTolerance } from '../support/agree.ts';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { runCase } from '../support/runCase.ts';
import { SI, US, writtenIn } from '../support/writtenIn.ts';

/** Where two sets of values differ by more than a share; undefined where nowhere. */
function difference(a: unknown, b: unknown, share: number, path = ''): string | undefined {
  if (typeof a === 'number' && typeof b === 'number') {
    return Math.abs(a - b) <= share * Math.max(Math.abs(a), Math.abs(b)) ? undefined : `${path}: ${a} against ${b}`;
  }
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) {
    return Object.is(a, b) ? undefined : `${path}: ${a} against ${b}`;
  }
  const [x, y] = [a, b] as readonly Readonly<Record<string, unknown>>[];
  for (const key of new Set([...Object.keys(x), ...Object.keys(y)])) {
    const found = difference(x[key], y[key], share, `${path}.${key}`);
    if (found !== undefined) return found;
  }
  return undefined;
}

/**
 * Out of SI and back a number is rounded once or twice, and so is each factor in both of its statements: some ten
 * roundings of 1.1e-16. A temperature carries the rounding of 460 degrees more.
 */
const CONVERSION = 1e-14;

let read = 0;
let ran = 0;

/**
 * Units are gone once a file is read: after that, two files that say the same in different units differ by the rounding of
 * the conversion, 1e-15. That may turn the acceptance of a step, and then by the error of a step (agree.ts).
 */
law(
  'the same file in SI and in US units gives the same results',
  { runs: 40, seed: 404, show: showCase },
  randomScenario(),
  (c) => {
    const [si, us] = [SI, US].map((units) => loadScenario(writtenIn(units, c.values), { file: 'file' }));
    // What the reader refuses, for a limit that the random units overstep, it refuses in any units.
    assert.equal(us.faults.length, si.faults.length, `${formatFaults(us)} against ${formatFaults(si)}`);
    read++;
    if (si.scenario === undefined || us.scenario === undefined) return;
    ran++;
    assert.equal(difference(si.scenario.values, us.scenario.values, CONVERSION), undefined);
    const a = runCase({ plant: si.scenario.plant, ticks: c.ticks });
    if (a.stop !== 'reached') return;
    agree(c, a, runCase({ plant: us.scenario.plant, ticks: c.ticks }), stepTolerance(a));
  },
);

// Else the law would say little.
test('nine files in ten are read', () => {
  assert(ran >= 0.9 * read, `${ran} of ${read}`);
});
