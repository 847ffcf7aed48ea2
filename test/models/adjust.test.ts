/** What each fault does to the numbers of the plant, alone and together with another, and that it undoes itself. */
import { describe, expect, test } from 'vitest';
import { createAdjust, FaultState } from '../../models/adjust.ts';
import { layoutBuilder, newState } from '../../sim/layout.ts';
import { baseUnit, valve } from '../support/baseUnit.ts';

type Fault = Readonly<Record<string, unknown>>;

const more = {
  valves: [valve(), valve({ tag: 'V-2', internalLeak: { flow: '0.6 L/min', at: '9 bar' } })],
  safetyValve: { tag: 'PSV-1', set: '12.5 barg', reseat: '11.5 barg', bore: '10 mm' },
  'compressors.C-2.isolation': 'shut',
  'tank.drain': { flowCoefficient: 'Kv 3' },
};
/** The numbers at the start and with the faults that are active, by name. */
function adjusted(faults: readonly Fault[], active: readonly number[] = faults.map((_, n) => n), changes: Fault = {}) {
  const { plant } = baseUnit({ ...more, ...changes, faults: faults.map((f) => ({ at: '5 s', ...f })) });
  const builder = layoutBuilder();
  const adjust = createAdjust(plant, builder);
  const layout = builder.build();
  const y = newState(layout);
  y.fill(7);
  adjust.start(y);
  const named = () => Object.fromEntries(layout.slots.map(({ name }, k) => [name, y[k]]));
  for (let n = 0; n < faults.length; n++) y[adjust.slots.state + n] = FaultState.waiting;
  const before = named();
  for (const n of active) {
    y[adjust.slots.state + n] = FaultState.active;
    y[adjust.slots.since + n] = 50 + n;
  }
  adjust.apply(y);
  const during = named();
  for (let n = 0; n < faults.length; n++) y[adjust.slots.state + n] = FaultState.over;
  adjust.apply(y);
  const after = named();
  const differing = (a: Record<string, number>, b: Record<string, number>) =>
    Object.keys(a).filter((name) => !/^fault|^clock/.test(name) && !Object.is(a[name], b[name]));
  expect(differing(before, after), 'left over when it is over').toEqual([]);
  return { before, during, changed: Object.fromEntries(differing(before, during).map((name) => [name, during[name]])) };
}
// What leaks so much at the pressure of the start, past a seal at 1 bar, leaks k sqrt(dp).
const k = (L_min: number, bar = 8.5) => (L_min * 1e-3) / 60 / Math.sqrt(bar * 1e5);

test('at the start everything is as the file has it', () => {
  const { before } = adjusted([{ fault: 'pilot stuck', item: 'V-1' }], []);
  const of = (pattern: RegExp) => Object.fromEntries(Object.entries(before).filter(([name]) => pattern.test(name)));
  expect(of(/\.isolated$/)).toEqual({ 'P-1.isolated': 0, 'P-2.isolated': 0, 'C-1.isolated': 0, 'C-2.isolated': 1 });
  expect(new Set(Object.values(of(/\.(capacity|linesOpen|loadFactor)$|^filter\.factor$/)))).toEqual(new Set([1]));
  expect(new Set(Object.values(of(/\.phaseLost$/)))).toEqual(new Set([-1]));
  expect(new Set(Object.values(of(/(rotorLocked|checkLeak|reliefShift|reliefState|pilotStuck|stuck|drift)$/)))).toEqual(
    new Set([0]),
  );
  expect(of(/^(safetyValve|ambient|drain|vent)/)).toEqual({
    'safetyValve.shift': 0,
    'safetyValve.state': 0,
    'drain.k': 0,
    'vent.area': 0,
    'ambient.shift': 0,
  });
  expect(of(/^(airLeak|oilLeak)/)).toEqual({ 'airLeak.area': 0, 'oilLeak.k': 0 });
  expect(before['V-1.sealLeak']).toBe(0);
  expect(before['V-2.sealLeak'] / k(0.6, 9) - 1).toBeCloseTo(0, 12);
  expect([before['fault.0.ends'], before['fault.0.since']]).toEqual([-1, -1]);
});

describe('each alone', () => {
  test.each<[Fault, Readonly<Record<string, number>>]>([
    [{ fault: 'fails to start', item: 'P-2' }, {}],
    [{ fault: 'trips', item: 'P-2' }, {}],
    [{ fault: 'left in off', item: 'P-2' }, {}],
    [{ fault: 'wire broken', item: 'LS-1' }, {}],
    [{ fault: 'loses capacity', item: 'P-2', share: '30 %' }, { 'P-2.capacity': 0.7 }],
    [{ fault: 'loses capacity', item: 'C-2', share: '90 %' }, { 'C-2.capacity': 0.1 }],
    [{ fault: 'isolation valve shut', item: 'C-1' }, { 'C-1.isolated': 1 }],
    [{ fault: 'locked rotor', item: 'C-1' }, { 'C-1.rotorLocked': 1 }],
    [{ fault: 'single phasing', item: 'C-1' }, { 'C-1.phaseLost': 50 }],
    [{ fault: 'check valve leaks', item: 'P-2', flow: '6 L/min' }, { 'P-2.checkLeak': k(6) }],
    [{ fault: 'relief lifts early', item: 'P-2', by: '2 bar' }, { 'P-2.reliefShift': -2e5 }],
    [{ fault: 'relief lifts early', item: 'PSV-1', by: '2 bar' }, { 'safetyValve.shift': -2e5 }],
    [{ fault: 'relief stuck open', item: 'P-2' }, { 'P-2.reliefState': 1 }],
    [{ fault: 'relief stuck shut', item: 'P-2' }, { 'P-2.reliefState': 2 }],
    [{ fault: 'relief stuck open', item: 'PSV-1' }, { 'safetyValve.state': 1 }],
    [{ fault: 'relief stuck shut', item: 'PSV-1' }, { 'safetyValve.state': 2 }],
    [{ fault: 'line blocked', item: 'V-2', share: '40 %' }, { 'V-2.linesOpen': 0.6 }],
    [{ fault: 'pilot stuck', item: 'V-2' }, { 'V-2.pilotStuck': 1 }],
    [{ fault: 'seal bypass', item: 'V-1', flow: '2 L/min' }, { 'V-1.sealLeak': k(2, 1) }],
    [{ fault: 'load above specification', item: 'V-2', share: '50 %' }, { 'V-2.loadFactor': 1.5 }],
    [{ fault: 'switch stuck made', item: 'LS-2' }, { 'LS-2.stuck': 1 }],
    [{ fault: 'switch stuck open', item: 'LS-2' }, { 'LS-2.stuck': 2 }],
    // A sunk float reads low: what watches for a low level is on, what watches for a high one off.
    [{ fault: 'float sunk', item: 'LS-2' }, { 'LS-2.stuck': 1 }],
    [{ fault: 'float sunk', item: 'LSH-1' }, { 'LSH-1.stuck': 2 }],
    [{ fault: 'switch drifted', item: 'LS-2', byLevel: '-20 mm' }, { 'LS-2.drift': -0.02 }],
    [{ fault: 'switch drifted', item: 'PS-1', byPressure: '0.3 bar' }, { 'PS-1.drift': 3e4 }],
    [{ fault: 'oil leak', flow: '3 L/min' }, { 'oilLeak.k': k(3) }],
    [{ fault: 'filter blocked', share: '75 %' }, { 'filter.factor': 4 }],
    [{ fault: 'ambient cold', byTemperature: '12 K' }, { 'ambient.shift': -12 }],
    [{ fault: 'ambient hot', byTemperature: '12 K' }, { 'ambient.shift': 12 }],
  ])('%j', (fault, expected) => {
    const { changed } = adjusted([fault], [0], {
      returnMain: { filter: { resistance: '5e7 Pa s/m^3' } },
    });
    expect(Object.keys(changed)).toEqual(Object.keys(expected));
    for (const [name, value] of Object.entries(expected)) {
      expect(changed[name] / value - 1, name).toBeCloseTo(0, 9);
    }
  });

  test('an air leak as the nozzle that lets the pressure fall so fast at the start', () => {
    // 0.675 m3 of air at 9.51325 bar and 20 degC, choked: w = C A p/sqrt(T).
    const C = Math.sqrt(1.4 / 287.0528) * (2 / 2.4) ** 3;
    const { changed } = adjusted([{ fault: 'air leak', fall: '36 kPa/h' }]);
    const w = (0.675 * 10) / (287.0528 * 293.15);
    expect(changed['airLeak.area'] / ((w * Math.sqrt(293.15)) / (C * 951_325)) - 1).toBeCloseTo(0, 4);
  });

  test('a check valve that sticks open leaks more than one that leaks a little', () => {
    const stuck = adjusted([{ fault: 'check valve stuck open', item: 'P-1' }]).changed;
    expect(Object.keys(stuck)).toEqual(['P-1.checkLeak']);
    expect(stuck['P-1.checkLeak']).toBeGreaterThan(k(6));
  });
});

test('two of a kind: shares multiply, leaks and shifts add up', () => {
  const both = (name: string, first: Fault, second: Fault) => {
    const { changed } = adjusted([first, second]);
    return changed[name];
  };
  const capacity = (share: string) => ({ fault: 'loses capacity', item: 'P-2', share });
  expect(both('P-2.capacity', capacity('30 %'), capacity('50 %'))).toBeCloseTo(0.35, 12);
  const line = (share: string) => ({ fault: 'line blocked', item: 'V-2', share });
  expect(both('V-2.linesOpen', line('20 %'), line('50 %'))).toBeCloseTo(0.4, 12);
  const load = (share: string) => ({ fault: 'load above specification', item: 'V-1', share });
  expect(both('V-1.loadFactor', load('20 %'), load('50 %'))).toBeCloseTo(1.8, 12);
  const leak = (flow: string) => ({ fault: 'oil leak', flow });
  expect(both('oilLeak.k', leak('1 L/min'), leak('2 L/min')) / k(3) - 1).toBeCloseTo(0, 9);
  const seal = (flow: string) => ({ fault: 'seal bypass', item: 'V-1', flow });
  expect(both('V-1.sealLeak', seal('1 L/min'), seal('2 L/min')) / k(3, 1) - 1).toBeCloseTo(0, 9);
  const check = (flow: string) => ({ fault: 'check valve leaks', item: 'P-1', flow });
  expect(both('P-1.checkLeak', check('1 L/min'), check('2 L/min')) / k(3) - 1).toBeCloseTo(0, 9);
  const drift = (byLevel: string) => ({ fault: 'switch drifted', item: 'LS-2', byLevel });
  expect(both('LS-2.drift', drift('20 mm'), drift('-5 mm'))).toBeCloseTo(0.015, 12);
  const early = (item: string, by: string) => ({ fault: 'relief lifts early', item, by });
  expect(both('P-1.reliefShift', early('P-1', '1 bar'), early('P-1', '2 bar'))).toBeCloseTo(-3e5, 6);
  expect(both('safetyValve.shift', early('PSV-1', '1 bar'), early('PSV-1', '2 bar'))).toBeCloseTo(-3e5, 6);
  expect(
    both(
      'ambient.shift',
      { fault: 'ambient hot', byTemperature: '5 K' },
      { fault: 'ambient cold', byTemperature: '12 K' },
    ),
  ).toBeCloseTo(-7, 12);
  const fall = (rate: string) => ({ fault: 'air leak', fall: rate });
  const single = adjusted([fall('36 kPa/h')]).changed['airLeak.area'];
  expect(both('airLeak.area', fall('36 kPa/h'), fall('36 kPa/h')) / single).toBeCloseTo(2, 9);
});
