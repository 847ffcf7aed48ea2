/** The state: every slot with bounds that follow from what it is, in every unit that has one of everything. */
import { expect, test } from 'vitest';
import { firstBadSlot, layoutBuilder, newState } from '../../sim/layout.ts';
import { account, worstResidual } from '../../sim/ledger.ts';
import { baseUnit, valve } from '../support/baseUnit.ts';

const MOST = Number.MAX_SAFE_INTEGER;
const unit = baseUnit({
  'pumps.P-1.allowedStarts': '3',
  valves: [valve(), valve({ tag: 'V-2' })],
  faults: [{ at: '5 s', fault: 'fails to start', item: 'P-1' }],
  safetyValve: { set: '12.5 barg', reseat: '11.5 barg', bore: '10 mm' },
});
const { layout } = unit;

/** Ticks of machines that have never run lie far back. */
const LONG_AGO = /\.(startTick|rampTick|stoppedTick|start\.\d+)$/;
/** Bounds by the name of a slot, where its unit does not say all. */
const BY_NAME: readonly (readonly [name: RegExp, min: number, max: number])[] = [
  [/^clock\.(tick)$/, 0, MOST],
  [/^clock\.(offset|planned|lastError|steps|eventsInTick)$/, 0, Infinity],
  [/^clock\.done$/, -1, MOST],
  [/^clock\.eventTick$/, -1, Infinity],
  [/\.duty$/, 0, 1],
  [/\.(starts|runTicks|dutyTicks)$/, 0, MOST],
  [/^(actions\.next|step\.at)$/, 0, MOST],
  [/\.trip\.issued$/, 0, MOST],
  [/\.mode$/, 0, 7],
  [/\.(piece|tripStroke)$/, 0, 1e6],
  [/^V-\d\.(position|target|from|leastPosition)$/, 0, 1],
  [/\.(commanded|firstMotion|leastAt)$/, -1, Infinity],
  [/\.(leastMargin|leastMargin_Pa)$/, -Infinity, Infinity],
  [/\.relayHeat(At)?$/, 0, Infinity],
  [/\.riseTo$/, -Infinity, Infinity],
  [/\.(capacity|linesOpen)$/, 0, 1],
  [/\.loadFactor$/, 0, Infinity],
  [/^filter\.factor$/, 1, Infinity],
  [/(Leak|\.k|\.area)$/, 0, Infinity],
  [/\.(drift|reliefShift|shift)$/, -Infinity, Infinity],
  [/^air\.(energy|mass)$/, 0, Infinity],
  [/^shell\.temperature$/, 0, 2000],
  [/^sump\.oil$/, -Infinity, Infinity],
  [/^oil\.air$/, -1e-9, Infinity],
];

test('bits are 0 or 1, states the numbers that their unit lists, timers -1 or a tick', () => {
  const { slots, integrated, advanced, rounding, clock } = layout;
  const kinds = new Map<string, number>();
  slots.forEach(({ name, unit: of, min, max }, k) => {
    const expected = ((): [string, number, number] => {
      if (k >= rounding || (k >= integrated && k < advanced)) return ['total', -Infinity, Infinity];
      if (name === 'tank.oil') return ['oil', -1e-12 * unit.plant.tank.volume_m3, unit.plant.tank.volume_m3];
      if (of === 'bit') return ['bit', 0, 1];
      const listed = [...of.matchAll(/(-?\d+) [a-z]/g)].map((m) => Number(m[1]));
      if (listed.length > 1) return ['listed', Math.min(...listed), Math.max(...listed)];
      const named = BY_NAME.find(([pattern]) => pattern.test(name));
      if (of === 'tick' && !LONG_AGO.test(name) && named === undefined) return ['timer', -1, MOST];
      if (LONG_AGO.test(name)) return ['long ago', -MOST, MOST];
      if (named !== undefined) return ['named', named[1], named[2]];
      throw new Error(`${name} [${of}]: ${min} to ${max}`);
    })();
    kinds.set(expected[0], (kinds.get(expected[0]) ?? 0) + 1);
    expect([name, min, max]).toEqual([name, expected[1], expected[2]]);
  });
  for (const kind of ['total', 'bit', 'listed', 'timer', 'long ago', 'named'])
    expect(kinds.get(kind)).toBeGreaterThan(3);
  expect(layout.size).toBe(slots.length);
  expect(new Set(slots.map(({ name }) => name)).size).toBe(slots.length);
  expect(new Set(Object.values(clock)).size).toBe(8);
});

test('scales are sizes at which a slot is neither small nor large', () => {
  const { plant } = unit;
  const scale = (name: string) => layout.slots.find((s) => s.name === name)?.scale ?? Number.NaN;
  const { gasPressure_Pa: p, oilVolume_m3, gasTemperature_K: T } = plant.start;
  const V = plant.tank.volume_m3 - oilVolume_m3;
  // R = 287.0528 J/(kg K), p V = (gamma - 1) U.
  expect(scale('air.mass')).toBeCloseTo((p * V) / (287.0528 * T), 12);
  expect(scale('air.energy') / ((p * V) / 0.4)).toBeCloseTo(1, 12);
  expect(scale('oil.air')).toBe(scale('air.mass'));
  expect(scale('tank.oil')).toBe(plant.tank.volume_m3);
  expect(scale('sump.oil')).toBe(1);
  expect(scale('shell.temperature')).toBe(300);
  expect(scale('V-2.position')).toBe(1);
  expect(scale('C-2.relayHeat')).toBe(100);
  // What is not integrated has none.
  expect(new Set(layout.slots.slice(layout.integrated).map((s) => s.scale))).toEqual(new Set([1]));
});

test('a slot out of its bounds, or without a number, is named', () => {
  const b = layoutBuilder();
  b.integrated({ name: 'a', unit: 'm', min: 0, max: 2, scale: 1 });
  expect(b.size()).toBe(1);
  b.total('sum', 'm');
  b.discrete('bit', 'bit', 0, 1);
  const of = b.build();
  expect([of.integrated, of.advanced, of.rounding, of.size]).toEqual([1, 2, 11, 13]);
  expect(of.slots.slice(11).map((s) => `${s.name} ${s.unit}`)).toEqual(['a.rounding m', 'sum.rounding m']);
  const y = newState(of);
  expect([...y]).toEqual([0, 0, 0, 0, 0, -1, 0, 1e-4, 0, -1, 0, 0, 0]);
  expect(firstBadSlot(of, y)).toBeUndefined();
  for (const [slot, value, words] of [
    [0, -0.001, 'a = -0.001 m, outside 0 .. 2'],
    [0, 2.001, 'a = 2.001 m, outside 0 .. 2'],
    [1, Number.NaN, 'sum = NaN m, outside -Infinity .. Infinity'],
    [2, 2, 'bit = 2 bit, outside 0 .. 1'],
    [12, Infinity, 'sum.rounding = Infinity m, outside -Infinity .. Infinity'],
  ] as const) {
    const wrong = y.slice();
    wrong[slot] = value;
    expect(firstBadSlot(of, wrong)).toBe(words);
  }
  for (const edge of [0, 2]) {
    y[0] = edge;
    expect(firstBadSlot(of, y)).toBeUndefined();
  }
  // Integrated, then totals, then the rest.
  const wrong = layoutBuilder();
  wrong.total('t', '1');
  expect(() => wrong.integrated({ name: 'late', unit: '1', min: 0, max: 1, scale: 1 })).toThrow('late');
  wrong.discrete('d', 'bit', 0, 1);
  expect(() => wrong.total('later', '1')).toThrow('later');
});

// Booked by hand: two paths in, one out.
test('a ledger compares the stock with what was moved, over the larger of the two', () => {
  const of = account('oil', 'm3', (y) => y[0], [
    [1, 1],
    [2, 1],
    [3, -1],
  ]);
  const start = Float64Array.of(10, 1, 0, 5);
  const residual = (y: readonly number[], accounts = [of]) => worstResidual(accounts, start, Float64Array.from(y));
  // 10 + 3 + 2 - 4 = 11
  expect(residual([11, 4, 2, 9]).relative).toBe(0);
  expect(residual([11.1, 4, 2, 9]).account).toBe('oil');
  expect(residual([11.1, 4, 2, 9]).relative).toBeCloseTo(0.01, 12);
  expect(residual([10.9, 4, 2, 9]).relative).toBeCloseTo(0.01, 12);
  // 30 + 20 moved either way: more than the stock.
  expect(residual([20.5, 31, 0, 25]).relative).toBeCloseTo(0.5 / 50, 12);
  // The size counts where neither is large.
  const sized = account('oil', 'm3', (y) => y[0] - 10, [[1, 1]], 4);
  expect(residual([12, 1, 0, 5], [sized]).relative).toBeCloseTo(0.5, 12);
  expect(account('x', 'm3', (y) => y[0], []).size).toBe(1e-12);
  // The worst of several, and one without a number is worse than any.
  const other = account('air', 'kg', (y) => y[0] * 2, [[1, 2 as 1]]);
  expect(residual([11.1, 4, 2, 9], [of, other]).account).toBe('air');
  expect(residual([11.1, 4, 2, 9], [other, of]).account).toBe('air');
  expect(residual([Number.NaN, 4, 2, 9]).account).toBe('oil');
});
