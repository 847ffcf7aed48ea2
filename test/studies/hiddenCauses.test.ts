/**
 * Hidden causes found again: for each seed a cause of the closed list, of a random size, is put into one of two units (of a few seeds, into a
 * small one); a day of
 * service is logged with switches, gauges and single readings off within their stated accuracies, and the log is explained.
 * TRIPSTROKE_RUNS says how many seeds, TRIPSTROKE_SEEDS=13,20 which; misses are listed with their reasons.
 */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { makeSource } from '../../scenarios/faults.ts';
import type { UnitSystem } from '../../scenarios/units.ts';
import { medianOf } from '../../studies/cycles.ts';
import { type ExplainAnswer, explain } from '../../studies/explain.ts';
import { type LogReading, readLog } from '../../studies/log.ts';
import { collector, csvRows } from '../../studies/seen.ts';
import { wilson } from '../../studies/statistics.ts';
import { BASE } from '../support/baseUnit.ts';
import { draw, type Hidden, hiddenCauses, madeLog, randomOf, scenarioOf } from '../support/madeLog.ts';

/** As many as a test that is always run can take. */
const FEW = 4;
/** Seeds named, "13,20", are tried instead, on the units that many are tried on. */
const NAMED = process.env['TRIPSTROKE_SEEDS'];
const SEEDS =
  NAMED === undefined
    ? Array.from({ length: Number(process.env['TRIPSTROKE_RUNS'] ?? FEW) }, (_, k) => k + 1)
    : NAMED.split(',').map(Number);
const RUNS = SEEDS.length;
const MANY = NAMED !== undefined || RUNS > FEW;

interface Tried {
  readonly name: string;
  readonly system: UnitSystem;
  readonly changes: readonly string[];
}

/** A few seeds are tried on a unit that takes little time. */
const SMALL: Tried = {
  name: 'base',
  system: 'si',
  changes: ['leaks={ oil: { flow: 1 L/min, at: 8.5 barg }, air: { fall: 0.5 bar/h, at: 8.5 barg } }'],
};

/** The demo, and the metric example with oil passing a piston, so that its machines have something to do. */
const UNITS: readonly Tried[] = [
  { name: 'mill-creek', system: 'us', changes: [] },
  {
    name: 'tarn-hollow',
    system: 'si',
    changes: [
      'valves.V-11.internalLeak={ flow: 20 L/h, at: 10 bar }',
      'actions=[{ at: 0 s, do: open valve, item: V-11 }]',
      'leaks.air={ fall: 0.15 bar/h, at: 10 barg }',
    ],
  },
];

const seenIn = ({ watched, ignored }: LogReading) =>
  [`${watched.calls.length} starts in ${((watched.to_s - watched.from_s) / 3600).toFixed(1)} h`, ...ignored].join(', ');

/** Why it is a miss, from what was found. */
function reasonOf(answer: ExplainAnswer, hidden: Hidden, place: number, size: number): string {
  const found = answer.causes[place];
  if (found === undefined) {
    const far = answer.hopeless.find((h) => h.cause.text === hidden.cause.text);
    const [best] = answer.causes;
    return far === undefined
      ? 'no size of it has an effect on what the log shows'
      : `no size of it came near when first looked at (sum ${far.sum.toFixed(0)}; ${best.cause?.text} ${best.sum.toFixed(0)})`;
  }
  const before = answer.causes.slice(0, place).filter((a) => a.explains);
  const off = size < found.low ? found.low - size : size - found.high;
  return [
    ...(place < 2
      ? []
      : [
          before.length === place && found.explains
            ? `${place} other causes fit as well, ${answer.causes[0].cause?.text} best`
            : `${answer.causes[0].cause?.text} fits better`,
        ]),
    ...(answer.verdict === 'nothing to explain' ? ['the unit as filed fits as well'] : []),
    ...(off > 0 ? [`the interval misses by ${((100 * off) / Math.abs(size)).toFixed(1)} % of the size`] : []),
    ...(found.converged ? [] : [found.problem]),
    `found ${found.size.toPrecision(3)} (${found.low.toPrecision(3)} to ${found.high.toPrecision(3)}), sum ${found.sum.toFixed(1)} of ${found.freedom}`,
  ].join('; ');
}

test('hidden causes', { timeout: 3_600_000 }, ({ task }) => {
  const scenarios = (MANY ? UNITS : [SMALL]).map(({ name, system, changes }) => {
    const text = name === SMALL.name ? BASE : readFileSync(`scenarios/${name}.yaml`, 'utf8');
    const scenario = scenarioOf(text, name, changes);
    return { name, system, scenario, causes: hiddenCauses(scenario) };
  });
  let [second, first, covered] = [0, 0, 0];
  const widths: number[] = [];
  const misses: string[] = [];
  for (const seed of SEEDS) {
    const random = randomOf(`hidden/${seed}`);
    const { name, system, scenario, causes } = scenarios[seed % scenarios.length];
    const hidden = draw(causes, random);
    const { text, accuracies } = madeLog(scenario, hidden, random, 24, system);
    const { complain, faults } = collector();
    const { rows, delimiter } = csvRows(text);
    const log = readLog(makeSource('log', text), rows, delimiter, scenario.plant, accuracies, [], complain);
    const what = `seed ${seed}, ${name}: ${hidden.cause.text} ${hidden.size.toPrecision(3)}`;
    if (log === undefined) {
      misses.push(`${what}: the log is refused: ${faults.map((f) => f.message).join('; ')}`);
      continue;
    }
    const answer = explain(scenario.values, log);
    const place = answer.causes.findIndex((a) => a.cause?.text === hidden.cause.text);
    const found = answer.causes[place];
    if (place === 0) first++;
    if (place === 0 || place === 1) second++;
    // A leak is stated at the pressure of the start: of the file for what was hidden, of the log for what was found.
    const size = (hidden.size * (hidden.cause.fault?.perSize ?? 1)) / (found?.cause?.fault?.perSize ?? 1);
    const within = found !== undefined && found.low <= size && size <= found.high;
    if (within) covered++;
    if (found !== undefined) widths.push((found.high - found.low) / 2 / Math.abs(size));
    if ((place === 0 || place === 1) && within) continue;
    misses.push(`${what}: ${reasonOf(answer, hidden, place, size)}; ${seenIn(log)}`);
  }
  const share = (n: number) => `${n} of ${RUNS} (${((100 * n) / RUNS).toFixed(0)} %)`;
  const statistic = `hidden causes: first ${share(first)}, among the first two ${share(second)}, interval covers ${share(covered)}, half its width is ${(100 * medianOf(widths)).toFixed(1)} % of the size in the middle\n${misses.map((m) => `  ${m}`).join('\n')}`;
  task.meta.cases = RUNS;
  task.meta.statistic = statistic;
  if (MANY) console.log(statistic);
  // At least 90 %, and 85 to 99 %, as far as so many runs can tell.
  expect(wilson(second, RUNS).high, statistic).toBeGreaterThanOrEqual(0.9);
  expect(wilson(covered, RUNS).high, statistic).toBeGreaterThanOrEqual(0.85);
});

/** A unit whose pumps and compressors start some thirty times in four hours, and whose sump lasts. */
const BUSY = [
  'sump={ capacity: 20 m^3, depth: 20 m, suctionLevel: 0.1 m }',
  'leaks={ oil: { flow: 12 L/min, at: 8.5 barg }, air: { fall: 1.5 bar/h, at: 8.5 barg } }',
];

function drifted(tag: string, size: number, random: () => number) {
  const scenario = scenarioOf(BASE, 'base', BUSY);
  const cause = hiddenCauses(scenario).find((c) => c.name === 'switch drifted' && c.item === tag);
  if (cause === undefined) throw new Error('no such switch');
  const { text, accuracies } = madeLog(scenario, { cause, size }, random, 4, 'si');
  const { rows, delimiter } = csvRows(text);
  const log = readLog(makeSource('log', text), rows, delimiter, scenario.plant, accuracies, [], collector().complain);
  if (log === undefined) throw new Error('the log is refused');
  const [answer] = explain(scenario.values, log, { only: (c) => c.text === cause.text }).causes;
  return { answer };
}

test('intervals are as wide as what is found is off', { timeout: 120_000 }, () => {
  const off = Array.from({ length: 12 }, (_, k) => {
    const random = randomOf(`width/${k + 1}`);
    // Within 80 mm of 0.60 m; the standby switch is 100 mm below.
    const size = (random() < 0.5 ? -1 : 1) * (0.02 + 0.06 * random());
    const { answer } = drifted('LS-1', size, random);
    // Student's point of 9 to 12 readings to spare is 2.26 to 2.18 (tables): so many deviations is half an interval.
    return (2.2 * (answer.size - size)) / ((answer.high - answer.low) / 2);
  });
  // Sums of 12 squares of one deviation lie between 3.07 and 28.3 in 99 of 100 (chi-square, tables).
  const squares = off.reduce((s, x) => s + x * x, 0);
  expect(squares, off.map((x) => x.toFixed(2)).join(', ')).toBeGreaterThan(3.07);
  expect(squares, off.map((x) => x.toFixed(2)).join(', ')).toBeLessThan(28.3);
});

test('a switch that drifted past the standby one is known to have done so, and not how far', {
  timeout: 120_000,
}, () => {
  // Once at 8 bar, it is at 6.8, and the other switch calls the compressors at 7, wherever below it this one is.
  const { answer } = drifted('PS-1', -1.2e5, randomOf('past'));
  expect(answer.low).toBeLessThan(-1.2e5);
  // 1 bar, to within the 7 kPa of the other switch and the 5 of the gauge.
  expect(answer.high).toBeGreaterThan(-1.12e5);
  expect(answer.high).toBeLessThan(-0.88e5);
});
