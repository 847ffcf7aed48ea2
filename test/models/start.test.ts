/** The state at the start of a run, slot by slot, from what the file says. */
import { describe, expect, test } from 'vitest';
import { baseUnit, type Changes, valve } from '../support/baseUnit.ts';

function started(changes: Changes = {}) {
  const unit = baseUnit(changes);
  const y = unit.start();
  const slot = (name: string) => {
    const k = unit.layout.slots.findIndex((s) => s.name === name);
    if (k < 0) throw new Error(`there is no slot ${name}`);
    return y[k];
  };
  return { unit, y, slot, slots: (...names: string[]) => names.map(slot) };
}

const R = 287.0528;

test('the stocks: air as an ideal gas, air in solution by Henry, oil from the level', () => {
  const { slot } = started({ valves: [valve()] });
  // 0.65 m on 0.5 m2; 8.5 barg at 101.325 kPa; 20 degC.
  const [oil, p, T] = [0.325, 951_325, 293.15];
  expect(slot('tank.oil')).toBeCloseTo(oil, 9);
  expect(slot('air.mass')).toBeCloseTo((p * (1 - oil)) / (R * T), 7);
  expect(slot('air.energy') / ((p * (1 - oil)) / 0.4) - 1).toBeCloseTo(0, 8);
  expect(slot('shell.temperature')).toBe(T);
  // 1.2923 kg/m3 x 0.09 under one atmosphere.
  expect(slot('oil.air')).toBeCloseTo(((1.2923 * 0.09 * p) / 101_325) * oil, 8);
  expect(slot('V-1.position')).toBe(1);
});

test('nothing has happened yet: timers do not run, machines have never run, no stroke has a margin', () => {
  const { unit, y } = started({ valves: [valve(), valve({ tag: 'V-2' })], 'pumps.P-2.allowedStarts': '3' });
  const expected: [RegExp, number][] = [
    [/\.(start\.\d|stoppedTick)$/, -1e9],
    [/\.(leastMargin|leastMargin_Pa)$/, 1e300],
    [/^V-\d\.(commanded|firstMotion|leastAt)$/, -1],
    [/\.trip\.(since|pauseSince)$|\.hold\.ends$|^undervoltage\.since$/, -1],
    [/^(scan\.at|mains\.cutAt|mains\.backSince|controlPower\.ends|step\.since|clock\.done|clock\.eventTick)$/, -1],
    [/^[PC]-\d\.(commandedSince|unprovenSince|startTooMany|phaseLost)$/, -1],
    [/^(mains|controlPower|controlPower\.seen|panel\.awake)$/, 1],
    [/^[PC]-\d\.selector$/, 1],
    [/\.(capacity|linesOpen|loadFactor)$|^filter\.factor$/, 1],
    [/^clock\.lastError$/, 1e-4],
  ];
  const seen = new Set<number>();
  unit.layout.slots.forEach(({ name }, k) => {
    const rule = expected.findIndex(([pattern]) => pattern.test(name));
    if (rule >= 0) {
      seen.add(rule);
      expect(`${name} ${y[k]}`).toBe(`${name} ${expected[rule][1]}`);
    }
  });
  expect(seen.size).toBe(expected.length);
  // Alarms: none stands, and none of their timers runs.
  for (const { tag } of unit.panel.alarms) {
    const value = (name: string) => y[unit.layout.slots.findIndex((s) => s.name === `${tag}.${name}`)];
    expect([tag, value('since'), value('clearSince'), value('state')]).toEqual([tag, -1, -1, 0]);
  }
});

describe('bits at their limits', () => {
  test.each<[string, Changes, string, number]>([
    ['sump at the suction', { 'start.sumpLevel': '0.1 m' }, 'sump.dry', 1],
    ['sump over the suction', { 'start.sumpLevel': '0.101 m' }, 'sump.dry', 0],
    ['sump at the brim', { 'start.sumpLevel': '1 m' }, 'sump.full', 1],
    ['sump under the brim', { 'start.sumpLevel': '0.999 m' }, 'sump.full', 0],
    ['oil at the outlet', { 'start.level': '0.1 m' }, 'header.gas', 1],
    ['oil over the outlet', { 'start.level': '0.101 m' }, 'header.gas', 0],
    ['oil at the shut-off', { 'start.level': '0.2 m', 'tank.outletShutOff': { level: '0.2 m' } }, 'outlet.shut', 1],
    ['oil over the shut-off', { 'start.level': '0.201 m', 'tank.outletShutOff': { level: '0.2 m' } }, 'outlet.shut', 0],
    ['no shut-off', { 'start.level': '0.15 m' }, 'outlet.shut', 0],
  ])('%s', (_, changes, name, value) => {
    expect(started(changes).slot(name)).toBe(value);
  });
});

describe('contacts', () => {
  // Trip and reset in the base unit: low contacts reset 10 mm or 0.15 bar higher, high ones lower.
  test('read what they measure, at their very limit too', () => {
    const at = (level: string, pressure: string) => {
      const { slots } = started({ 'start.level': level, 'start.pressure': pressure });
      return slots('LSLL-1.made', 'LSL-1.made', 'LS-3.made', 'LSH-1.made', 'PSL-1.made', 'PS-1.made', 'PSH-1.made');
    };
    expect(at('0.65 m', '8.5 barg')).toEqual([0, 0, 0, 0, 0, 0, 0]);
    expect(at('0.29 m', '6.4 barg')).toEqual([1, 1, 0, 0, 1, 1, 0]);
    expect(at('0.91 m', '11.6 barg')).toEqual([0, 0, 1, 1, 0, 0, 1]);
    // Pressures are compared as they stand.
    expect(at('0.65 m', '6.5 barg').slice(4)).toEqual([1, 1, 0]);
    expect(at('0.65 m', '11.5 barg').slice(4)).toEqual([0, 0, 1]);
  });

  test('a switch that is made has been so since tick 0, another does not time', () => {
    const { slots } = started({ 'start.level': '0.35 m' });
    expect(slots('LSL-1.raw', 'LSL-1.since', 'LSLL-1.raw', 'LSLL-1.since')).toEqual([1, 0, 0, -1]);
  });

  test('between trip and reset they show what called the machines that run', () => {
    const between = (running: string[], more: Changes = {}) => {
      const { slots } = started({ 'start.level': '0.605 m', 'start.running': running, ...more });
      return slots('LS-1.made', 'pumps.called', 'pumps.sealDuty', 'pumps.sealStandby', 'compressors.permissive');
    };
    expect(between([])).toEqual([0, 0, 0, 0, 1]);
    expect(between(['P-1'])).toEqual([1, 1, 1, 0, 0]);
    expect(between(['P-1', 'P-2'])).toEqual([1, 1, 1, 1, 0]);
    expect(between(['P-1'], { 'start.compressorsAllowed': 'yes' })).toEqual([1, 1, 1, 0, 1]);
    // One in hand was not called.
    expect(between(['P-1'], { 'pumps.P-1.selector': 'hand' })).toEqual([0, 0, 0, 0, 1]);
    const standby = (running: string[]) =>
      started({ 'start.level': '0.505 m', 'start.running': running }).slots('LS-2.made', 'LS-1.made');
    expect([standby([]), standby(['P-1']), standby(['P-1', 'P-2'])]).toEqual([
      [0, 1],
      [0, 1],
      [1, 1],
    ]);
    const air = (pressure: string, ...running: string[]) =>
      started({ 'start.pressure': pressure, 'start.level': '0.75 m', 'start.running': running }).slots(
        'PS-1.made',
        'PS-2.made',
        'compressors.called',
      );
    expect(air('8.1 barg')).toEqual([0, 0, 0]);
    expect(air('8.1 barg', 'C-1')).toEqual([1, 0, 1]);
    expect(air('7.1 barg')).toEqual([1, 0, 0]);
    expect(air('7.1 barg', 'C-1')).toEqual([1, 0, 1]);
    expect(air('7.1 barg', 'C-1', 'C-2')).toEqual([1, 1, 1]);
    // At the reset itself, at the cut-out, nothing is between any more.
    expect(air('9.0 barg', 'C-1')[0]).toBe(0);
  });

  test('the latch of the compressors: normal level, or no pump that runs', () => {
    const latch = (changes: Changes) => started(changes).slots('level.normalSeen', 'compressors.permissive');
    expect(latch({ 'start.level': '0.71 m' })).toEqual([1, 1]);
    expect(latch({ 'start.level': '0.69 m' })).toEqual([0, 1]);
    expect(latch({ 'start.level': '0.69 m', 'start.running': ['P-2'] })).toEqual([0, 0]);
    expect(latch({ 'start.level': '0.71 m', 'start.running': ['P-2'] })).toEqual([1, 1]);
    expect(latch({ 'start.level': '0.71 m', 'start.compressorsAllowed': 'no' })).toEqual([1, 0]);
  });
});

test('machines that run: commanded, proven, their relay as warm as full load makes it; the first of them is duty', () => {
  const { slots, slot } = started({
    'start.running': ['P-2', 'C-2'],
    'pumps.P-2.overload.setting': '200 %',
    'pumps.P-2.allowedStarts': '2',
  });
  expect(slots('P-2.running', 'P-2.commanded', 'P-2.proven', 'P-2.commandedSince')).toEqual([1, 1, 1, 0]);
  expect(slots('P-1.running', 'P-1.commanded', 'P-1.proven', 'P-1.commandedSince')).toEqual([0, 0, 0, -1]);
  expect(slots('P-2.startTick', 'P-2.rampTick', 'P-2.comingUp', 'P-2.start.0', 'P-2.start.2')).toEqual([
    ...[-1e9, -1e9, 0],
    ...[-1e9, -1e9],
  ]);
  // A quarter of the heat at twice the setting; else 70 % of 1.15 squared, which is less than full load leaves.
  expect(slot('P-2.relayHeat')).toBeCloseTo(0.25, 12);
  expect(slot('C-2.relayHeat')).toBeCloseTo(0.7 * 1.15 ** 2, 12);
  expect(slot('P-1.relayHeat')).toBe(0);
  expect(slots('pumps.duty', 'compressors.duty')).toEqual([1, 1]);
  expect(started().slots('pumps.duty', 'compressors.duty')).toEqual([0, 0]);
  expect(started({ 'start.running': ['P-1', 'P-2', 'C-1', 'C-2'] }).slots('pumps.duty', 'compressors.duty')).toEqual([
    0, 0,
  ]);
});
