/**
 * Contacts. The level falls by 1 mm/s here until pumps in hand lift it; trip and reset points are the settings. Each test
 * names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { Circuit } from '../../models/contact.ts';
import { baseUnit, type Changes, DRAIN, expectPassed, watch } from '../support/baseUnit.ts';

const off: Changes = {
  'pumps.P-1.selector': 'off',
  'pumps.P-2.selector': 'off',
  compressors: [],
  'leaks.oil': DRAIN,
};
const hand = (on_s: number, off_s = 1e4) => [
  { at: `${on_s} s`, do: 'set to hand' },
  { at: `${off_s} s`, do: 'set to off' },
];

describe('deadband', () => {
  // Flip: the reset point is the trip point.
  test('a low contact makes at its trip point and resets at trip point plus deadband', () => {
    const wide = { tag: 'LSL-1', at: '0.40 m', deadband: '25 mm' };
    const w = watch({ ...off, 'panel.level.low': wide, 'start.level': '0.405 m', actions: hand(10) }, 40);
    expectPassed(w.level, w.first('LSL-1', 'made'), 0.4);
    expectPassed(w.level, w.first('LSL-1', 'reset'), 0.425);
  });

  test('a high contact makes at its trip point and resets at trip point less deadband', () => {
    const wide = { tag: 'LSH-1', at: '0.90 m', deadband: '25 mm' };
    const w = watch({ ...off, 'panel.level.high': wide, 'start.level': '0.895 m', actions: hand(0, 5) }, 60);
    expectPassed(w.level, w.first('LSH-1', 'made'), 0.9);
    expectPassed(w.level, w.first('LSH-1', 'reset'), 0.875);
  });

  test('the cut-out resets the cut-in, and the stop level a wide start contact, however near', () => {
    // Flip: the reset lies at least the usual deadband away.
    const { contacts } = baseUnit({ 'panel.pressure.cutOut': '8.05 barg', 'panel.level.stop': '0.604 m' }).plant.panel;
    const of = (role: string) => contacts.find((c) => c.role === role);
    expect(of('pressure.cutIn')?.reset).toBeCloseTo(101325 + 8.05e5, 6);
    expect(of('level.dutyStart')?.reset).toBeCloseTo(0.604, 12);
  });
});

describe('delay', () => {
  const slow = { tag: 'LSL-1', at: '0.40 m', deadband: '1 mm', delay: '5 s' };

  // Flip: the delay is ignored; it counts from the start of the run.
  test('counts from the scan that first read true', () => {
    const w = watch({ ...off, 'panel.level.low': slow, 'start.level': '0.405 m' }, 20);
    const t = w.first('LSL-1', 'made');
    expectPassed(w.level, t - 5, 0.4);
  });

  // Flip: the delay goes on from where an excursion left it.
  test('begins anew after a shorter excursion', () => {
    // Falls under 0.40 m at about 5 s; two pumps bring it back over 0.401 m from 7 s to 9 s.
    const w = watch({ ...off, 'panel.level.low': slow, 'start.level': '0.405 m', actions: hand(7, 9) }, 30);
    expect(w.level(6.9)).toBeLessThan(0.4);
    expect(w.level(9)).toBeGreaterThan(0.401);
    const [t, ...more] = w.times('LSL-1', 'made');
    expect(more).toEqual([]);
    expect(t).toBeGreaterThan(15);
    expectPassed(w.level, t - 5, 0.4);
  });

  test('resets at once', () => {
    // Flip: the delay holds for the reset too.
    const w = watch({ ...off, 'panel.level.low': slow, 'start.level': '0.39 m', actions: hand(0) }, 20);
    expectPassed(w.level, w.first('LSL-1', 'reset'), 0.401);
  });

  test('is the damping of the switch: it runs on without control power', () => {
    // Flip: without control power contacts are not read.
    const w = watch(
      {
        ...off,
        'panel.level.low': slow,
        'start.level': '0.405 m',
        'power.lostAt': '1 s',
        'power.controlPowerHeld': '0 s',
      },
      20,
    );
    expectPassed(w.level, w.first('LSL-1', 'made') - 5, 0.4);
  });
});

describe('scan', () => {
  // Flip: contacts are read at every tick.
  test('contacts are read once a scan, and a delay expires at the first scan at or after it', () => {
    const slow = { tag: 'LSL-1', at: '0.40 m', delay: '3 s' };
    const w = watch({ ...off, 'clock.scanTicks': '20', 'panel.level.low': slow, 'start.level': '0.4032 m' }, 20);
    // Under 0.40 m from about 3.2 s: read at 4 s, due at 7 s, made at 8 s.
    expect(w.level(3.9)).toBeLessThan(0.4);
    expect(w.level(2)).toBeGreaterThan(0.4);
    expect(w.times('LSL-1', 'made')).toEqual([8]);
  });

  // Flip: delays are rounded down to ticks.
  test('a delay that is no whole number of ticks expires at the tick after it', () => {
    const slow = { tag: 'LSL-1', at: '0.40 m', delay: '1.23 s' };
    const w = watch({ ...off, 'panel.level.low': slow, 'start.level': '0.405 m' }, 20);
    expectPassed(w.level, w.first('LSL-1', 'made') - 1.3, 0.4);
  });
});

describe('accuracy', () => {
  const spread = { tag: 'LSL-1', at: '0.40 m', accuracy: '5 mm' };
  const low = (seed: string) =>
    baseUnit({ seed: `"${seed}"`, 'panel.level.low': spread }).plant.panel.contacts.find((c) => c.role === 'level.low');

  // Flip: no error is drawn; it is drawn without the seed; it moves the trip point only.
  test('is drawn once, from the seed, and moves trip and reset together', () => {
    const [a, again, b] = [low('1'), low('1'), low('2')];
    expect(a?.trip).not.toBe(0.4);
    expect(again?.trip).toBe(a?.trip);
    expect(b?.trip).not.toBe(a?.trip);
    // The usual deadband of a level contact is 10 mm (choice).
    expect((a?.reset ?? 0) - (a?.trip ?? 0)).toBeCloseTo(0.01, 12);
  });

  test('fills the stated range either way', () => {
    const errors = Array.from({ length: 25 }, (_, k) => (low(`s${k}`)?.trip ?? 0) - 0.4);
    expect(Math.max(...errors)).toBeLessThanOrEqual(0.005);
    expect(Math.min(...errors)).toBeGreaterThanOrEqual(-0.005);
    // Of 25 even draws none in the outer fifth of the range: 0.8^25 = 0.4 %; the seeds are fixed.
    expect(Math.max(...errors)).toBeGreaterThan(0.003);
    expect(Math.min(...errors)).toBeLessThan(-0.003);
  });

  test('the contact acts where it was drawn', () => {
    // Flip: the error is drawn and not used.
    const w = watch({ ...off, 'panel.level.low': spread, 'start.level': '0.41 m' }, 20);
    expectPassed(
      w.level,
      w.first('LSL-1', 'made'),
      w.unit.plant.panel.contacts.find((c) => c.role === 'level.low')?.trip ?? 0,
    );
  });
});

describe('wires', () => {
  const wire = (role: string, circuit: number) => (y: Float64Array, unit: ReturnType<typeof baseUnit>) => {
    const j = unit.plant.panel.contacts.findIndex((c) => c.role === role);
    y[unit.panel.slots.circuit + j] = circuit;
  };

  // Flip: alarm contacts close to alarm.
  test('a broken wire of an alarm contact alarms', () => {
    const w = watch({ 'start.level': '0.65 m' }, 5, wire('level.low', Circuit.broken));
    expect(w.first('LAL-1', 'alarm: low oil')).toBe(2);
  });

  test('a bridged alarm contact never alarms', () => {
    const low = { ...off, 'start.level': '0.35 m' };
    expect(watch(low, 5).first('LAL-1', 'alarm')).toBe(2);
    expect(watch(low, 5, wire('level.low', Circuit.bridged)).times('LAL-1', 'alarm')).toEqual([]);
  });

  // Flip: start contacts open to call.
  test('a broken wire of the start contact starts nothing; a bridged one runs the pump on to the high-high level', () => {
    const broken = watch({ 'start.level': '0.58 m' }, 30, wire('level.dutyStart', Circuit.broken));
    expect(broken.times('P-1', 'starts')).toEqual([]);
    const bridged = watch(
      { 'start.level': '0.78 m', 'start.pressure': '7 barg' },
      120,
      wire('level.dutyStart', Circuit.bridged),
    );
    expectPassed(bridged.level, bridged.first('P-1', 'stops'), 1);
  });
});
