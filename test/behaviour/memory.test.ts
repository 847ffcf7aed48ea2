/** What the panel remembers through an outage, and what it forgets when control power dies too. */
import { describe, expect, test } from 'vitest';
import { type Changes, DRAIN, watch } from '../support/baseUnit.ts';

const act = (t: number, what: string, item?: string) => ({ at: `${t} s`, do: what, ...(item ? { item } : {}) });
/** Mains gone for 10 s, with control power or without. */
const outage = (held: boolean, from = 20): Changes => ({
  'power.lostAt': `${from} s`,
  'power.backAt': `${from + 10} s`,
  'power.controlPowerHeld': held ? '1 h' : '0 s',
});

describe('a start contact with a seal-in relay', () => {
  // Both pumps lift the level from 0.49 m by 4 mm/s: at 35 s it stands at 0.63 m, over both starts, under normal.
  test.each([true, false])('forgets both calls with the mains, control power held: %s', (held) => {
    const w = watch(
      { compressors: [], 'start.level': '0.49 m', 'panel.startContact': 'seal-in', ...outage(held, 35) },
      60,
    );
    expect([w.running('P-1', 34), w.running('P-2', 34)]).toEqual([true, true]);
    expect(w.level(40)).toBeCloseTo(0.63, 2);
    // What runs then is the refill after an outage, by one pump.
    expect(w.times('P-1', 'called: refill after power came back')).toHaveLength(1);
    expect([w.running('P-1', 55), w.running('P-2', 55)]).toEqual([true, false]);
    expect(w.slot('pumps.sealDuty', 55) + w.slot('pumps.sealStandby', 55)).toBe(0);
  });

  test('a wide deadband remembers: the same two go on', () => {
    const w = watch({ compressors: [], 'start.level': '0.49 m', ...outage(false, 35) }, 60);
    expect([w.running('P-1', 55), w.running('P-2', 55)]).toEqual([true, true]);
    expect(w.times('P-1', 'called: refill')).toEqual([]);
  });
});

describe('when control power dies', () => {
  test.each([
    ['P', 'start.level', '0.55 m'],
    ['C', 'start.pressure', '7.5 barg'],
  ])('failed starts of both machines are forgotten: %s-1, %s-2', (letter, path, value) => {
    const changes = {
      [path]: value,
      ...(letter === 'C' ? { 'start.level': '0.75 m' } : { compressors: [] }),
      actions: [act(0, 'block start'), act(12, 'allow start')],
    };
    const kept = watch({ ...changes, ...outage(true) }, 28);
    const gone = watch({ ...changes, ...outage(false) }, 28);
    for (const m of [1, 2]) {
      expect(kept.slot(`${letter}-${m}.failed`, 19)).toBe(1);
      expect(kept.slot(`${letter}-${m}.failed`)).toBe(1);
      expect(gone.slot(`${letter}-${m}.failed`)).toBe(0);
    }
  });

  test('the permissive is taken anew from the level, and said again', () => {
    const high = { 'start.level': '0.75 m', pumps: undefined };
    const { pumps: _, ...changes } = high;
    const gone = watch({ ...changes, ...outage(false) }, 40);
    expect(gone.slot('compressors.permissive', 25)).toBe(0);
    expect(gone.times('compressors', 'allowed')).toEqual([30]);
    const kept = watch({ ...changes, ...outage(true) }, 40);
    expect(kept.slot('compressors.permissive', 25)).toBe(1);
    expect(kept.times('compressors', 'allowed')).toEqual([]);
    // Under the normal level they are held off then, whatever was before.
    const low = watch({ 'start.level': '0.65 m', 'start.pressure': '7.5 barg', ...outage(false) }, 40);
    expect(low.running('C-1', 19)).toBe(true);
    expect(low.running('C-1', 40)).toBe(false);
  });

  test('alarms are cleared with their timers, and come again with their delay', () => {
    const w = watch({ 'start.level': '0.39 m', pumps: [], compressors: [], ...outage(false) }, 40);
    expect(w.times('LAL-1', 'alarm: low oil')).toEqual([2, 32]);
    expect(w.times('LAL-1', 'alarm cleared')).toEqual([20]);
    expect(w.slot('LAL-1.state', 25)).toBe(0);
    expect(w.slot('LAL-1.since', 25)).toBe(-1);
    // Held, it just stands.
    const held = watch({ 'start.level': '0.39 m', pumps: [], compressors: [], ...outage(true) }, 40);
    expect(held.times('LAL-1', 'alarm')).toEqual([2]);
  });
});

// At 7.9 barg C-1 is called. From 0.61 m a drain of 1 mm/s brings the pumps 10 s later, which hold it off; the refill alone
// takes the pressure over the cut-out, before the level is normal (0.79 m): 8.9 bar (1.39/1.21) = 10.2 bar absolute.
test('a call for air that the level interrupts ends where a refill ends it, and the duty changes over then', () => {
  const w = watch(
    {
      'start.level': '0.61 m',
      'start.pressure': '7.9 barg',
      'panel.level.normal.at': '0.79 m',
      'leaks.oil': DRAIN,
    },
    260,
  );
  expect(w.first('C-1', 'called: duty call')).toBe(0);
  const held = w.first('compressors', 'held off');
  expect(w.times('C-1', 'stops')).toEqual([held]);
  const over = w.first('PS-1', 'reset');
  expect(over).toBeGreaterThan(held);
  expect(w.first('C-2', 'is duty')).toBe(over);
  expect(w.level(over)).toBeLessThan(0.79);
  expect(w.times('C-1', 'starts')).toHaveLength(1);
});

// A call that the mains end has not ended by itself: whose turn it is stays.
test.each([
  ['P', { 'start.level': '0.55 m', compressors: [] }, 'pumps.duty'],
  ['C', { 'start.level': '0.75 m', 'start.pressure': '7.5 barg' }, 'compressors.duty'],
])('an outage does not change the duty over: %s-1 goes on', (letter, changes, duty) => {
  for (const held of [true, false]) {
    const w = watch({ ...changes, ...outage(held) }, 50);
    expect([w.running(`${letter}-1`, 19), w.running(`${letter}-1`, 25), w.running(`${letter}-1`, 45)]).toEqual([
      ...[true, false],
      true,
    ]);
    expect(w.times(`${letter}-2`, 'is duty')).toEqual([]);
    expect(w.slot(duty, 45)).toBe(0);
  }
});

test('without pumps no refill is called after an outage', () => {
  const w = watch({ 'start.level': '0.65 m', pumps: [], compressors: [], ...outage(true) }, 40);
  expect(w.slot('pumps.recovery')).toBe(0);
  expect(w.slot('pumps.called')).toBe(0);
});
