/**
 * The machines and the panel through a loss of the mains. Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import type { Unit } from '../../models/unit.ts';
import { type Changes, expectPassed, valve, watch } from '../support/baseUnit.ts';

const wide: Changes = { 'panel.startContact': 'wide deadband' };
const sealIn: Changes = { 'panel.startContact': 'seal-in' };
const outage = (lostAt: number, backAt: number, held = '8 h'): Changes => ({
  'power.lostAt': `${lostAt} s`,
  'power.backAt': `${backAt} s`,
  'power.controlPowerHeld': held,
});

describe('start contact', () => {
  // At 60 s the refill that began at 0.60 m has come to 0.72 m, over normal: nothing but memory calls the pump again.
  const half: Changes = { 'start.level': '0.60 m', 'start.pressure': '8.5 barg' };

  // Flip: the start contact is read without its memory; the seal-in relay is retained.
  test.each(['8 h', '0 s'])(
    'a wide deadband remembers a half-done refill, a seal-in forgets it (control power held %s)',
    (held) => {
      const remembers = watch({ ...half, ...wide, ...outage(60, 70, held) }, 120);
      expect(remembers.level(65)).toBeGreaterThan(0.7);
      expect(remembers.times('P-1', 'starts')).toEqual([0, 70]);
      expect(remembers.times('P-1', 'called: duty call')).toEqual([0, 70]);
      expectPassed(remembers.level, remembers.times('P-1', 'stops')[1], 0.8);
      const forgets = watch({ ...half, ...sealIn, ...outage(60, 70, held) }, 120);
      expect(forgets.times('P-1', 'starts')).toEqual([0]);
    },
  );

  test('a seal-in refills to the stop level like a wide deadband', () => {
    // Flip: the relay does not hold itself.
    const w = watch({ ...half, ...sealIn }, 120);
    expectPassed(w.level, w.first('P-1', 'stops'), 0.8);
    const both = watch({ ...half, ...sealIn, 'start.level': '0.495 m' }, 100);
    expect(both.first('P-2', 'called: standby step reached')).toBe(0);
    expect(both.first('P-2', 'stops')).toBe(both.first('P-1', 'stops'));
    expectPassed(both.level, both.first('P-1', 'stops'), 0.8);
  });
});

describe('return of the mains with the level between start and normal and low pressure', () => {
  const stranded: Changes = { 'start.level': '0.65 m', 'start.pressure': '7.5 barg', 'start.compressorsAllowed': 'no' };
  // Flip: no call because of the level on return; the latch keeps what it was.
  test.each([
    ['wide deadband', wide, '8 h'],
    ['wide deadband', wide, '0 s'],
    ['seal-in', sealIn, '8 h'],
    ['seal-in', sealIn, '0 s'],
  ])('the unit recovers by itself with a %s', (_, contact, held) => {
    const w = watch({ ...stranded, ...contact, ...outage(2, 10, held) }, 130);
    expect(w.first('P-1', 'called: refill after power came back')).toBe(10);
    expectPassed(w.level, w.first('P-1', 'stops'), 0.8);
    const air = w.first('C-1', 'starts');
    expectPassed(w.level, air, 0.7);
    expectPassed(w.pressure, w.first('C-1', 'stops'), 9);
    expect(w.running('P-1') || w.running('C-1')).toBe(false);
  });

  test('without an outage nothing runs there', () => {
    const w = watch(stranded, 60);
    expect(w.events.filter((e) => e.text.startsWith('starts'))).toEqual([]);
  });

  // Flip: the latch falls out on return whatever the level; a refill that goes on clears it.
  test('the permissive follows the level', () => {
    const w = watch(
      {
        'start.level': '0.75 m',
        'start.pressure': '7.2 barg',
        'start.compressorsAllowed': 'no',
        ...outage(0, 10, '0 s'),
      },
      12,
    );
    expect(w.first('C-1', 'starts')).toBe(10);
    const half = watch({ 'start.level': '0.60 m', 'start.pressure': '6.0 barg', ...outage(60, 70, '0 s') }, 72);
    expect(half.level(70)).toBeGreaterThan(0.7);
    expect(half.running('P-1', 71)).toBe(true);
    expect(half.running('C-1', 71)).toBe(true);
  });
});

describe('motors', () => {
  // Flip: they stop at the next scan.
  test('stop at once, between two scans', () => {
    const w = watch({ 'clock.scanTicks': '10', 'start.level': '0.55 m', 'power.lostAt': '20.3 s' }, 30);
    expect(w.first('P-1', 'stops')).toBe(20.3);
    expect(w.flows(25).pump).toEqual([0, 0]);
  });

  // Flip: restart delays are ignored; they count from the loss.
  test('come back one after the other', () => {
    const delays = {
      'pumps.P-1.restartDelay': '3 s',
      'pumps.P-2.restartDelay': '6 s',
      'compressors.C-1.restartDelay': '9 s',
    };
    const low = { 'start.level': '0.45 m', 'panel.level.normal': '0.44 m', 'start.pressure': '7.5 barg' };
    const w = watch({ ...delays, ...low, ...outage(5, 10, '0 s') }, 25);
    expect(w.times('P-1', 'starts')).toEqual([0, 13]);
    expect(w.times('P-2', 'starts')).toEqual([0, 16]);
    expect(w.times('C-1', 'starts').at(-1)).toBe(19);
    expect(w.times('P-1', 'called')).toEqual([0, 13]);
  });

  // Flip: a machine that waits counts as not available.
  test('one that waits is not passed over', () => {
    const w = watch({ 'pumps.P-1.restartDelay': '6 s', 'start.level': '0.55 m', ...outage(5, 10) }, 25);
    expect(w.times('P-1', 'starts')).toEqual([0, 16]);
    expect(w.times('P-2', 'starts')).toEqual([]);
  });

  // Flip: the command outlives a dip too short for a scan.
  test('wait after a dip between two scans too', () => {
    const w = watch(
      { 'clock.scanTicks': '10', 'pumps.P-1.restartDelay': '3 s', 'start.level': '0.55 m', ...outage(20.2, 20.6) },
      30,
    );
    expect(w.first('P-1', 'stops')).toBe(20.2);
    expect(w.times('P-1', 'starts')).toEqual([0, 24]);
    const plain = watch({ 'clock.scanTicks': '10', 'start.level': '0.55 m', ...outage(20.2, 20.6) }, 30);
    expect(plain.times('P-1', 'called')).toEqual([0, 21]);
  });

  test('in hand come back too, after their delay', () => {
    // Flip: hand does not wait.
    const w = watch({ 'pumps.P-1.selector': 'hand', 'pumps.P-1.restartDelay': '4 s', ...outage(5, 10) }, 20);
    expect(w.times('P-1', 'starts')).toEqual([0, 14]);
    expect(w.times('P-1', 'stops')).toEqual([5]);
  });
});

describe('latches', () => {
  const actions = [
    { at: '1 s', do: 'trip motor', item: 'P-1' },
    { at: '0 s', do: 'block start', item: 'C-1' },
  ];
  const low: Changes = { 'start.level': '0.75 m', 'start.pressure': '7.5 barg', actions };

  // Flip: an overload trip falls out with the power; a failed start is kept through a loss of control power.
  test('an overload stays tripped; a failed start is forgotten with control power and kept with it', () => {
    const dead = watch({ ...low, ...outage(8, 10, '0 s') }, 20);
    expect(dead.slot('C-1.failed', 7)).toBe(1);
    expect(dead.slot('P-1.tripped')).toBe(1);
    expect(dead.times('C-1', 'called')).toEqual([0, 10]);
    const held = watch({ ...low, ...outage(8, 10) }, 20);
    expect(held.slot('P-1.tripped')).toBe(1);
    expect(held.times('C-1', 'called')).toEqual([0]);
  });
});

const lostAt73: Changes = { pumps: [], compressors: [], valves: [valve()], 'power.lostAt': '7.3 s' };
test('a loss of the mains that is written into a state comes at its tick, and once', () => {
  // Flip: it comes a tick late, or not.
  const cut = (y: Float64Array, unit: Unit) => {
    y[unit.slots.cutAt] = 73;
  };
  const { 'power.lostAt': _, ...unfailed } = lostAt73;
  const w = watch(unfailed, 20, cut);
  expect(w.times('mains', 'lost')).toEqual([7.3]);
  expect(w.first('V-1', 'close command')).toBe(watch(lostAt73, 20).first('V-1', 'close command'));
});

describe('control power', () => {
  // Flip: it dies with the mains; it never dies.
  test('outlasts the mains by its time', () => {
    const w = watch({ 'power.lostAt': '5 s', 'power.controlPowerHeld': '7.5 s' }, 20);
    expect(w.first('control power', 'lost')).toBe(12.5);
    expect(w.first('mains', 'lost')).toBe(5);
  });

  test('comes back with the mains', () => {
    // Flip: it stays away.
    const w = watch(outage(5, 20, '7.5 s'), 30);
    expect(w.first('control power', 'back')).toBe(20);
    const kept = watch(outage(5, 10, '7.5 s'), 30);
    expect(kept.times('control power', 'lost')).toEqual([]);
  });

  // Flip: alarm timers run on without it.
  test('without it alarm timers stop', () => {
    const slow = { 'panel.alarmDelay': '10 s' };
    expect(
      watch({ ...slow, 'power.lostAt': '5 s', 'power.controlPowerHeld': '4 s' }, 30).times('JAL', 'alarm'),
    ).toEqual([]);
    expect(watch({ ...slow, 'power.lostAt': '5 s', 'power.controlPowerHeld': '20 s' }, 30).first('JAL', 'alarm')).toBe(
      15,
    );
  });

  // Flip: alarms stand through the loss.
  test('without it standing alarms clear, and come again with their delay', () => {
    const w = watch({ 'pumps.P-2.selector': 'off', ...outage(5, 10, '1 s') }, 20);
    expect(w.times('P-2-not-auto', 'alarm: P-2')).toEqual([2, 12]);
    expect(w.first('P-2-not-auto', 'alarm cleared')).toBe(6);
    expect(w.slot('P-2-not-auto.state', 8)).toBe(0);
  });
});
