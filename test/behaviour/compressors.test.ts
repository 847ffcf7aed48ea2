/**
 * Calls of the compressors: level first, then pressure. Expected values are the settings of the unit. Each test names
 * the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { DRAIN, expectPassed, watch } from '../support/baseUnit.ts';

const allowed = 'allowed: level is back at normal';
const heldOff = 'held off until the level is back';

describe('permissive', () => {
  // Flip: the latch is not looked at; it is not cleared when a pump is called.
  test('holds the compressors off until a refill has come to the normal level', () => {
    const w = watch({ 'start.level': '0.58 m', 'start.pressure': '7.2 barg' }, 90);
    expect(w.first('P-1', 'starts')).toBe(0);
    expect(w.first('compressors', heldOff)).toBe(0);
    const t = w.first('C-1', 'starts');
    expectPassed(w.level, t, 0.7);
    expect(w.first('compressors', allowed)).toBe(t);
    expect(w.running('P-1', t + 5)).toBe(true);
  });

  // Flip: a call of the pumps does not clear the latch.
  test('a running compressor stops when a pump is called, and goes on from the normal level', () => {
    const w = watch({ 'start.level': '0.605 m', 'start.pressure': '7.3 barg', 'leaks.oil': DRAIN }, 150);
    expect(w.first('C-1', 'starts')).toBe(0);
    const called = w.first('P-1', 'called');
    expect(called).toBeGreaterThan(1);
    expect(w.first('C-1', 'stops')).toBe(called);
    const [, again] = w.times('C-1', 'starts');
    expectPassed(w.level, again, 0.7);
    // Flip: being held off ends the call, so that the duty changes over.
    expect(w.times('C-2', 'is duty').filter((t) => t <= again)).toEqual([]);
  });

  // Flip: the latch follows the normal contact both ways.
  test('stands while the level falls from normal to the start of the pump', () => {
    const w = watch(
      {
        'start.level': '0.71 m',
        'start.pressure': '8.6 barg',
        'leaks.oil': DRAIN,
        'leaks.air': { fall: '40 bar/h', at: '8 barg' },
      },
      60,
    );
    const t = w.first('C-1', 'starts');
    expect(w.first('LS-3', 'reset')).toBeLessThan(t);
    expect(w.level(t)).toBeGreaterThan(0.6);
  });

  // Flip: the latch is set by a rise to normal only.
  test('is set where the level is at normal and no pump is called', () => {
    const w = watch({ 'start.level': '0.75 m', 'start.pressure': '7.2 barg', 'start.compressorsAllowed': 'no' }, 5);
    expect(w.first('C-1', 'starts')).toBe(0);
  });
});

describe('pressure', () => {
  const narrow = {
    'start.level': '0.75 m',
    'panel.pressure.standbyCutIn': '7.8 barg',
    'panel.pressure.cutOut': '8.1 barg',
  };
  // More than one compressor gives (0.16 bar in 10 s) and less than two.
  const leak = { fall: '85 bar/h', at: '8 barg' };

  // Flip: the cut-in takes the standby cut-in as its trip point; the cut-out is ignored.
  test('the duty starts at the cut-in, the standby at its own, and both stop at the cut-out', () => {
    const w = watch({ ...narrow, 'start.pressure': '8.1 barg', 'leaks.air': leak }, 120);
    expectPassed(w.pressure, w.first('C-1', 'called: duty call'), 8);
    const standby = w.first('C-2', 'called: standby step reached');
    expectPassed(w.pressure, standby, 7.8);
    expect(w.running('C-1', standby + 1)).toBe(true);
    expectPassed(w.pressure, w.first('C-1', 'stops'), 8.1);
    expect(w.first('C-2', 'stops')).toBe(w.first('C-1', 'stops'));
  });

  // Flip: the latch of a failed start is never set; a tripped machine stays available.
  test('the standby takes over from a duty that does not start or is tripped', () => {
    const low = { 'start.level': '0.75 m', 'start.pressure': '7.5 barg' };
    const blocked = watch({ ...low, actions: [{ at: '0 s', do: 'block start', item: 'C-1' }] }, 10);
    expect(blocked.first('C-2', 'called: duty not proven in time')).toBe(5);
    const tripped = watch({ ...low, actions: [{ at: '3 s', do: 'trip motor', item: 'C-1' }] }, 10);
    expect(tripped.first('C-1', 'stops')).toBe(3);
    expect(tripped.first('C-2', 'called: duty tripped')).toBe(3);
    const long = watch({ ...low, 'panel.longestRun': '4 s' }, 10);
    expect(long.first('C-2', 'called: longest run exceeded')).toBe(4);
  });

  // Flip: the duty never changes.
  test('the duty changes over at the cut-out', () => {
    const w = watch({ ...narrow, 'start.pressure': '7.95 barg' }, 20);
    expect(w.first('C-2', 'is duty')).toBe(w.first('C-1', 'stops'));
  });

  // Flip: the high-high pressure does not hold compressors off.
  test('compressors in auto stop at the high-high pressure where the cut-out is set too high', () => {
    const w = watch(
      {
        'start.level': '0.75 m',
        'start.pressure': '11.7 barg',
        'panel.pressure.cutOut': '13 barg',
        'start.running': ['C-1'],
      },
      60,
    );
    expectPassed(w.pressure, w.first('C-1', 'stops'), 12);
    expect(w.running('C-1')).toBe(false);
  });
});
