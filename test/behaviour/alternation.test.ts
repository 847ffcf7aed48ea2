/**
 * Whose turn it is. The band is narrow here, so that a drain of 1 mm/s and a pump of 2 mm/s make a call every 40 s: 20 s
 * of running, 20 s of rest. Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { type Changes, DRAIN, type Watched, watch } from '../support/baseUnit.ts';

const cycling: Changes = {
  'panel.level.normal': '0.61 m',
  'panel.level.stop': '0.62 m',
  'start.level': '0.60 m',
  'leaks.oil': DRAIN,
  // No compressor: nothing but the pumps moves here.
  compressors: [],
};
const three: Changes = {
  pumps: ['P-1', 'P-2', 'P-3'].map((tag) => ({
    tag,
    ratedFlow: '60 L/min',
    slip: '0 %',
    relief: { cracking: '13 barg', fullFlow: '14 barg' },
  })),
};
const turns = (w: Watched) => w.events.filter((e) => e.text.startsWith('starts')).map((e) => e.tag);

describe('alternation', () => {
  // Flip: the duty never changes; it changes when a call begins.
  test('each call: the pumps take turns', () => {
    const w = watch({ ...cycling, ...three }, 180);
    expect(turns(w)).toEqual(['P-1', 'P-2', 'P-3', 'P-1', 'P-2']);
    expect(w.first('P-2', 'is duty')).toBe(w.first('P-1', 'stops'));
  });

  // Flip: the run under way does not count; the time is not set back when the turn changes.
  test('by hours: a pump gives way at the end of the call in which its time is up', () => {
    const w = watch({ ...cycling, 'panel.alternation': 'by hours', 'panel.alternateAfter': '30 s' }, 260);
    expect(turns(w)).toEqual(['P-1', 'P-1', 'P-2', 'P-2', 'P-1', 'P-1', 'P-2']);
  });

  // Flip: fixed is taken for each call.
  test('fixed: the first pump has every turn', () => {
    expect(turns(watch({ ...cycling, 'panel.alternation': 'fixed' }, 100))).toEqual(['P-1', 'P-1', 'P-1']);
  });

  test('the start state says whose turn it is', () => {
    // Flip: the index of the start state is ignored.
    expect(turns(watch({ ...cycling, 'start.duty': ['P-2'] }, 60))).toEqual(['P-2', 'P-1']);
  });

  // Flip, for each: what takes a machine out of the turn is left out of its availability.
  test.each([
    ['switched off', [{ at: '0 s', do: 'set to off', item: 'P-2' }]],
    ['tripped', [{ at: '0 s', do: 'trip motor', item: 'P-2' }]],
  ])('a pump that is %s is passed over', (_, actions) => {
    expect(turns(watch({ ...cycling, ...three, actions }, 140))).toEqual(['P-1', 'P-3', 'P-1', 'P-3']);
  });

  test('a pump that failed to start is passed over from then on', () => {
    const actions = [{ at: '0 s', do: 'block start', item: 'P-1' }];
    const w = watch({ ...cycling, ...three, actions }, 150);
    expect(turns(w)).toEqual(['P-2', 'P-3', 'P-2', 'P-3']);
    expect(w.times('P-1', 'called')).toEqual([0]);
  });

  // Flip: the turn moves on from the pump whose turn it was, not from the one that served.
  test('a pump that was tripped and reset during a call has the next one', () => {
    const actions = [
      { at: '5 s', do: 'trip motor', item: 'P-1' },
      { at: '10 s', do: 'reset motor', item: 'P-1' },
    ];
    expect(turns(watch({ ...cycling, actions }, 90))).toEqual(['P-1', 'P-2', 'P-1', 'P-2']);
  });

  test('a single pump left is always duty', () => {
    // Flip: the duty is the machine whose turn it is, available or not.
    const w = watch({ ...cycling, 'pumps.P-1.selector': 'off' }, 100);
    expect(turns(w)).toEqual(['P-2', 'P-2', 'P-2']);
  });

  // Flip: loss of the mains sets the index back; it ends the call.
  test('an outage leaves the turn as it is, and an interrupted refill to the pump that made it', () => {
    const dead = { 'power.controlPowerHeld': '0 s' };
    const between = watch({ ...cycling, ...dead, 'power.lostAt': '22 s', 'power.backAt': '26 s' }, 60);
    expect(turns(between)).toEqual(['P-1', 'P-2']);
    const within = watch({ ...cycling, ...dead, 'power.lostAt': '10 s', 'power.backAt': '12 s' }, 30);
    expect(turns(within)).toEqual(['P-1', 'P-1']);
    const held = watch({ ...cycling, 'power.lostAt': '10 s', 'power.backAt': '12 s' }, 30);
    expect(turns(held)).toEqual(['P-1', 'P-1']);
  });
});
