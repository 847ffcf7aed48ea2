/** States of tank and sump that a unit can get into: shut off, overflowing, water-logged, air-bound. */
import { describe, expect, test } from 'vitest';
import { checkScenario } from '../../scenarios/index.ts';
import { valve, watch } from '../support/baseUnit.ts';
import { close } from '../support/close.ts';
import { findingIds, record, replayed, scenarioOf } from '../support/recorded.ts';

// Oil for half a stroke above the shut-off, for three quarters of it above the outlet: 0.5 m2 of floor, 9.85 L a stroke.
const LOW = {
  valves: [valve({ stroke: '600 mm', require: { longest: '100 s' } })],
  'power.lostAt': '0 s',
  'start.level': '0.25 m',
  'tank.outletLevel': '0.2352 m',
};
const SHUT_OFF = { 'tank.outletShutOff.level': '0.2402 m' };
const STROKE = (Math.PI / 4) * (0.15 ** 2 - 0.04 ** 2) * 0.6;

describe('outlet shut-off', () => {
  test('without it gas comes into the header and nothing after that is proven', () => {
    const { result } = replayed(LOW);
    expect(result.verdict.strokes[0].outcome).toBe('not proven');
    expect(result.verdict.strokes[0].reason).toContain('gas in the header');
    close(result.verdict.strokes[0].position, 1 - (0.5 * (0.25 - 0.2352)) / STROKE, 1e-6);
  });

  test('with it the stroke stops sooner, no gas comes, and the verdict names it', () => {
    const { result, run } = replayed({ ...LOW, ...SHUT_OFF });
    const [stroke] = result.verdict.strokes;
    expect(stroke.outcome).toBe('stalled');
    expect(stroke.reason).toMatch(/^stopped at 50 % open: the outlet shut by itself on low-low level at \d/);
    close(stroke.position, 1 - (0.5 * (0.25 - 0.2402)) / STROKE, 1e-6);
    expect(run.end[run.unit.slots.gasInHeader]).toBe(0);
    close(run.end[run.unit.slots.oil], 0.5 * 0.2402, 1e-9); // the diameter has ten digits
    expect(result.events.filter((e) => e.text.startsWith('outlet shuts'))).toHaveLength(1);
    expect(result.reserve.completeSets).toBeUndefined();
  });

  test('a valve tripped after that never moves', () => {
    const late = valve({ tag: 'V-2', trip: { delay: '60 s' }, require: { longest: '20 s' } });
    const { result } = replayed({ ...LOW, ...SHUT_OFF, valves: [...LOW.valves, late] });
    expect(result.verdict.strokes[1].outcome).toBe('never moved');
    expect(result.verdict.strokes[1].reason).toContain('the outlet shut by itself on low-low level');
  });

  test('it ends the reserve', () => {
    const stroke = valve({ require: { longest: '30 s' } });
    const enough = { ...LOW, valves: [stroke], 'start.level': '0.28 m' };
    const { result } = replayed({ ...enough, ...SHUT_OFF });
    expect(result.verdict.met).toBe(true);
    // 19.9 L to the shut-off, 4.92 L to close and 5.3 L to open: close, open, close, and not open again
    expect(result.reserve.completeSets).toBe(1);
    expect(result.reserve.reason).toContain('Then the outlet shuts by itself while V-1 opens');
    // without it 22.4 L: open once more
    expect(replayed(enough).result.reserve.reason).toContain('Then gas reaches the header while V-1 closes');
  });

  // Flip: what the file has for after the end of the run goes on in the reserve, here by draining the tank.
  test.each([
    ['a step', { steps: [{ for: '61 s' }, { do: 'open drain' }] }],
    ['an action', { actions: [{ at: '61 s', do: 'open drain' }] }],
  ])('the reserve knows nothing of %s that is still to come', (_, later) => {
    const stroke = valve({ require: { longest: '30 s' } });
    const run = { ...LOW, valves: [stroke], 'start.level': '0.4 m', 'run.duration': '60 s' };
    const drain = { 'tank.drain': { flowCoefficient: 'Kv 20' } };
    const { reserve } = replayed({ ...run, ...drain }).result;
    expect(reserve.completeSets).toBeGreaterThan(2);
    expect(replayed({ ...run, ...drain, ...later }).result.reserve).toEqual(reserve);
  });

  test('opens again when the level is back, and the stroke goes on to its end', () => {
    const run = watch({ ...LOW, ...SHUT_OFF, 'power.backAt': '60 s' }, 180);
    const shut = run.first('T-1', 'outlet shuts');
    const open = run.first('T-1', 'outlet opens');
    expect(shut).toBeLessThan(60);
    // two pumps of 1 L/s lift the level by 50 mm, 25 L
    expect(open - 60).toBeGreaterThan(12.4);
    expect(open - 60).toBeLessThan(12.8);
    expect(run.first('V-1', 'starts to move at 50')).toBe(open);
    expect(run.first('V-1', 'closed after')).toBeGreaterThan(open);
    expect(run.times('T-1', 'level at the outlet')).toEqual([]);
  });

  test('oil leaks no further behind it, and no load pushes oil back through it', () => {
    const leaking = { ...LOW, ...SHUT_OFF, valves: [], 'leaks.oil': { flow: '30 L/min', at: '8.5 barg' } };
    const { unit, end } = record(leaking, 300);
    close(end[unit.slots.oil], 0.5 * 0.2402, 1e-9);
    const open = record({ ...leaking, 'tank.outletShutOff.level': '0.1 m' }, 300);
    close(open.end[open.unit.slots.oil], 0.5 * 0.2352, 1e-9);

    const byHand = {
      ...leaking,
      'leaks.oil': { flow: '0 L/min', at: '8.5 barg' },
      'tank.drain': { flowCoefficient: 'Kv 1' },
    };
    const drained = record({ ...byHand, steps: [{ do: 'open drain' }] }, 300);
    close(drained.end[drained.unit.slots.oil], 0.5 * 0.2402, 1e-9);

    const inside = valve({ position: '0 %', onTrip: 'stays', internalLeak: { flow: '30 L/min', at: '8.5 bar' } });
    const closing = [{ at: '0 s', do: 'close valve', item: 'V-1' }];
    const within = record({ ...LOW, ...SHUT_OFF, valves: [inside], actions: closing }, 300);
    close(within.end[within.unit.slots.oil], 0.5 * 0.2402, 1e-9);

    const pushed = valve({ position: '50 %', mayBePushedBack: true, load: { opening: '2 kN', closing: '40 kN' } });
    const held = { ...LOW, ...SHUT_OFF, valves: [pushed], 'start.level': '0.24 m' };
    const atEnd = { valves: [{ ...pushed, position: '0 %', onTrip: 'stays' }], actions: closing };
    for (const [more, from] of [
      [{}, 0.5],
      [atEnd, 0],
    ] as const) {
      const shut = record({ ...held, ...more }, 60);
      expect(shut.end[shut.unit.slots.x]).toBe(from);
      const back = record({ ...held, ...more, 'start.level': '0.3 m' }, 60);
      expect(back.end[back.unit.slots.x]).toBe(1);
    }
  });

  test('belongs between outlet and low-low level, and may coincide with that', () => {
    const orders = (at: string, lowLow: string) =>
      checkScenario(scenarioOf({ 'tank.outletShutOff.level': at, 'panel.level.lowLow': { at: lowLow } })).filter(
        (f) => f.id === 'level order',
      ).length;
    expect(orders('0.2 m', '0.3 m')).toBe(0);
    expect(orders('0.3 m', '0.3 m')).toBe(0);
    expect(orders('0.31 m', '0.3 m')).toBe(1);
    expect(orders('0.09 m', '0.3 m')).toBe(1);
  });
});

describe('a tank drained to its floor', () => {
  test.each([
    ['0.1 m', '31 L/min'],
    ['0.13 m', '30 L/min'],
    ['0.171 m', '77.7 L/min'],
    ['0.3333 m', '200 L/min'],
  ])('from %s by %s is empty, whatever the rounding', (level, flow) => {
    const drained = {
      pumps: [],
      compressors: [],
      'panel.level': {},
      'tank.outletLevel': '0 m',
      'start.level': level,
      'leaks.oil': { flow, at: '8.5 barg' },
    };
    const { unit, end } = record(drained, 600, 60);
    expect(Math.abs(end[unit.slots.oil])).toBeLessThan(1e-15);
    expect(end[unit.slots.gasInHeader]).toBe(1);
    // its air went with the oil, but for the error of a step
    expect(Math.abs(end[unit.slots.dissolved])).toBeLessThan(1e-5);
  });
});

describe('sump', () => {
  // A cylinder that leaks 60 L/h inside, and room for 1 L under the brim.
  const FULL = {
    compressors: [],
    'tank.dissolvedAir.model': 'none',
    valves: [valve({ position: '0 %', onTrip: 'stays', internalLeak: { flow: '60 L/h', at: '8.5 bar' } })],
    actions: [
      { at: '0 s', do: 'close valve', item: 'V-1' },
      { at: '150 s', do: 'set to hand', item: 'P-1' },
      { at: '155 s', do: 'set to off', item: 'P-1' },
    ],
    'start.sumpLevel': '0.999 m',
  };

  test('overflows when more comes back than it has room for; what is over the brim is spilled', () => {
    const run = watch(FULL, 145);
    const full = run.first('SU-1', 'full to the brim');
    // 1 L/min from 8.5 bar down by what 1 L less oil takes off the pressure, 0.07 %
    expect(Math.abs(full - 60)).toBeLessThan(0.2);
    const { result } = replayed({ ...FULL, 'run.duration': '145 s' });
    const { end } = result;
    const back = run.slot('V-1.internalLeak');
    close(end.overflowed_m3, back - 0.001, 1e-9);
    expect(end.spilled_m3).toBe(end.overflowed_m3);
    close(run.slot('sump.oil'), 1, 1e-12);
  });

  test('no longer when a pump has drawn it down by a millimetre', () => {
    const run = watch(FULL, 200);
    const ends = run.first('SU-1', 'no longer full');
    // 1 L/s drawn, 1 L/min coming back
    expect(Math.abs(ends - 150 - 1 / (1 - 1 / 60))).toBeLessThan(0.02);
    expect(run.slot('sump.overflowed')).toBe(run.slot('sump.overflowed', 155));
    expect(run.slot('sump.oil')).toBeLessThan(1);
  });

  test('with room for all of it nothing is lost', () => {
    const { unit, end } = record({ ...FULL, 'start.sumpLevel': '0.9 m' }, 145);
    expect(end[unit.slots.overflowed]).toBe(0);
  });
});

describe('the charge of the tank', () => {
  const tripped = { valves: [valve({ require: { longest: '30 s' } })], 'power.lostAt': '1 s' };
  const seen = (changes: Readonly<Record<string, unknown>>) => {
    const { result } = replayed({ ...tripped, ...changes });
    const named = findingIds(result).filter((id) => id.endsWith(' tank'));
    const said = /The tank was (\S+) when the mains were lost/.exec(result.verdict.text)?.[1];
    return { named, said };
  };

  test('in order: nothing is said', () => {
    expect(seen({})).toEqual({ named: [], said: undefined });
  });

  test('air in less than a quarter of the vessel: water-logged, unless less is wanted', () => {
    const full = { 'start.level': '1.6 m' };
    expect(seen(full)).toEqual({ named: ['water-logged tank'], said: 'water-logged' });
    expect(seen({ ...full, 'tank.leastAir': '15 %' })).toEqual({ named: [], said: undefined });
  });

  test('high level and low pressure: water-logged; low pressure alone is not', () => {
    expect(seen({ 'start.level': '0.75 m', 'start.pressure': '6.4 barg' }).named).toEqual(['water-logged tank']);
    expect(seen({ 'start.level': '0.65 m', 'start.pressure': '6.4 barg' }).named).toEqual([]);
  });

  test('low level and high pressure: air-bound; low level alone is not', () => {
    expect(seen({ 'start.level': '0.38 m', 'start.pressure': '9.2 barg' })).toEqual({
      named: ['air-bound tank'],
      said: 'air-bound',
    });
    expect(seen({ 'start.level': '0.38 m', 'start.pressure': '8.5 barg' }).named).toEqual([]);
  });

  test('a cushion so small that the level band swings through the whole pressure band is a finding', () => {
    const swing = (changes: Readonly<Record<string, unknown>>) =>
      checkScenario(scenarioOf(changes)).filter((f) => f.id === 'pressure swing').length;
    // isothermally 10.013 bar (2 - 0.8)/(2 - 0.6) = 8.58 bar, over the low alarm of 7.51 bar absolute
    expect(swing({})).toBe(0);
    // with 1.2 m of air over the stop: 10.013 x 0.3/0.5 bar
    expect(swing({ 'tank.straightLength': '1.1 m' })).toBe(1);
  });
});

describe('level and oil temperature', () => {
  // API MPMS 11.1 for lubricating oils, 870 kg/m3 at 60 degF: volume at 60 degF over volume at 40 degC 0.98227 (formula read,
  // number derived)
  test('in an upright cylinder the level moves by itself times the expansion, about 0.07 % a kelvin', () => {
    const { result } = replayed({ 'run.duration': '1 s', 'oil.temperature': '27.8 degC' });
    const between = -Math.log(0.98227) / (40 - 15.556); // on average from 60 degF to 40 degC, hence at 27.8 degC
    close(result.start.levelPerKelvin_m / 0.65, between, 2e-3); // 870 kg/m3 at 15 degC here, not at 60 degF
    close(result.end.levelPerKelvin_m, result.start.levelPerKelvin_m, 1e-6);
  });
});
