/**
 * Alarms. States as in OPC UA Part 9 v1.05, annex B.1 (on- and off-delay, deadband) and the ISA-18.2 state model as
 * documented by an open-source alarm module, pyautomation.readthedocs.io (both read): an active alarm is unacknowledged,
 * then acknowledged; one that clears before that is returned and unacknowledged until it is acknowledged.
 * Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { AlarmState } from '../../models/panel.ts';
import { type Changes, DRAIN, expectPassed, valve, watch } from '../support/baseUnit.ts';

const noPumps: Changes = { 'pumps.P-1.selector': 'off', 'pumps.P-2.selector': 'off' };
const noAir: Changes = { compressors: [] };
const act = (at: number, what: string, item?: string) => ({
  at: `${at} s`,
  do: what,
  ...(item === undefined ? {} : { item }),
});

interface Case {
  readonly tag: string;
  /** Words of the alarm. */
  readonly text: string;
  /** What makes the condition come and go again within `length` s. */
  readonly changes: Changes;
  readonly length: number;
  /** On-delay in s where it is not the usual 2 s. */
  readonly delay?: number;
  /** When the condition comes; at the start when left out. */
  readonly comes?: number;
}

const cases: readonly Case[] = [
  { tag: 'LAL-1', text: 'low oil', changes: { 'start.level': '0.395 m' }, length: 20 },
  { tag: 'LALL-1', text: 'low-low oil', changes: { 'start.level': '0.295 m' }, length: 20 },
  { tag: 'LAH-1', text: 'high oil', changes: { 'start.level': '0.902 m', 'leaks.oil': DRAIN, ...noAir }, length: 25 },
  {
    tag: 'LAHH-1',
    text: 'high-high oil',
    changes: { 'start.level': '1.002 m', 'leaks.oil': DRAIN, ...noAir },
    length: 25,
  },
  {
    tag: 'PAL-1',
    text: 'low pressure',
    changes: { 'start.level': '0.75 m', 'start.pressure': '6.45 barg' },
    length: 20,
  },
  {
    tag: 'PALL-1',
    text: 'low-low pressure',
    changes: { 'start.level': '0.75 m', 'start.pressure': '5.95 barg' },
    length: 20,
  },
  {
    tag: 'PAH-1',
    text: 'high pressure',
    changes: { 'start.pressure': '11.55 barg', 'leaks.air': { fall: '90 bar/h', at: '11.5 barg' } },
    length: 20,
  },
  {
    tag: 'PAHH-1',
    text: 'high-high pressure',
    changes: { 'start.pressure': '12.05 barg', 'leaks.air': { fall: '90 bar/h', at: '12 barg' } },
    length: 20,
  },
  {
    tag: 'LAL-9',
    text: 'sump low',
    // A stroke brings about 5 L back, 5 mm of this sump.
    changes: {
      ...noPumps,
      valves: [valve()],
      actions: [act(5, 'close valve', 'V-1')],
      'start.sumpLevel': '0.198 m',
      'panel.sump.low': { tag: 'LSL-9', at: '0.2 m', deadband: '1 mm' },
    },
    length: 25,
  },
  { tag: 'LAH-9', text: 'sump high', changes: { 'start.sumpLevel': '0.905 m', 'start.level': '0.55 m' }, length: 30 },
  { tag: 'JAL', text: 'mains lost', changes: { 'power.lostAt': '3 s', 'power.backAt': '15 s' }, length: 25, comes: 3 },
  {
    tag: 'PDAH-filter',
    text: 'return filter blocked',
    changes: {
      valves: [valve()],
      actions: [act(3, 'close valve', 'V-1')],
      returnMain: { filter: { resistance: '1e8 Pa s/m^3', alarm: '20 kPa', bypassOpens: '2 bar' } },
    },
    length: 25,
    // The flow that follows from the command is there at the next scan.
    comes: 3.1,
  },
  {
    tag: 'KA-held-off',
    text: 'compressor held off',
    // Refilled from 0.66 to 0.70 m in 20 s.
    changes: {
      'start.level': '0.66 m',
      'start.pressure': '7.5 barg',
      'start.running': ['P-1'],
      'panel.heldOffAlarm': '8 s',
    },
    length: 40,
    delay: 8,
  },
  {
    tag: 'P-1-failed',
    text: 'P-1 failed to start',
    changes: { 'start.level': '0.55 m', actions: [act(0, 'block start', 'P-1'), act(12, 'reset motor', 'P-1')] },
    length: 25,
    comes: 5,
    delay: 0,
  },
  {
    tag: 'C-1-overload',
    text: 'C-1 tripped by overload',
    changes: { actions: [act(3, 'trip motor', 'C-1'), act(12, 'reset motor', 'C-1')] },
    length: 25,
    comes: 3,
    delay: 0,
  },
  {
    tag: 'C-2-not-auto',
    text: 'C-2 not in auto',
    changes: { actions: [act(3, 'set to off', 'C-2'), act(12, 'set to auto', 'C-2')] },
    length: 25,
    comes: 3,
  },
  {
    tag: 'P-2-not-auto',
    text: 'P-2 not in auto',
    changes: { actions: [act(3, 'set to hand', 'P-2'), act(12, 'set to auto', 'P-2')] },
    length: 25,
    comes: 3,
  },
  {
    tag: 'P-1-long-run',
    text: 'P-1 runs long',
    changes: { 'start.level': '0.76 m', 'start.running': ['P-1'], 'panel.longestRun': '6 s' },
    length: 30,
    comes: 6,
    delay: 0,
  },
];

describe('every alarm', () => {
  // Flip: the alarm is left out of the list (each in turn); its delay is left out; alarms do not latch; an
  // acknowledgement does nothing.
  test.each(cases)('$text: raises after its delay, latches, and clears when acknowledged', (c) => {
    const actions = (c.changes['actions'] ?? []) as object[];
    const w = watch({ ...c.changes, actions: [...actions, act(c.length - 2, 'acknowledge')] }, c.length);
    const raised = w.first(c.tag, `alarm: ${c.text}`);
    expect(raised).toBeCloseTo((c.comes ?? 0) + (c.delay ?? 2), 9);
    const returned = w.first(c.tag, 'alarm returned, not acknowledged');
    expect(returned).toBeGreaterThan(raised);
    expect(w.slot(`${c.tag}.state`, returned + 0.1)).toBe(AlarmState.returnedUnacknowledged);
    expect(w.first(c.tag, 'alarm acknowledged')).toBe(c.length - 2);
    expect(w.slot(`${c.tag}.state`)).toBe(AlarmState.normal);
    expect(w.times(c.tag, 'alarm: ')).toEqual([raised]);
  });

  test.each(cases)('$text: stays acknowledged while it stands, then is normal', (c) => {
    const actions = (c.changes['actions'] ?? []) as object[];
    const known = (c.comes ?? 0) + (c.delay ?? 2) + 0.5;
    const w = watch({ ...c.changes, actions: [...actions, act(known, 'acknowledge')] }, c.length);
    expect(w.first(c.tag, 'alarm acknowledged')).toBe(known);
    expect(w.slot(`${c.tag}.state`, known)).toBe(AlarmState.acknowledged);
    expect(w.first(c.tag, 'alarm cleared')).toBeGreaterThan(known);
    expect(w.slot(`${c.tag}.state`)).toBe(AlarmState.normal);
  });
});

describe('delays', () => {
  const switching = (...times: readonly number[]) =>
    times.map((at, k) => act(at, k % 2 === 0 ? 'set to off' : 'set to auto', 'C-2'));

  // Flip: the on-delay goes on from where a shorter excursion left it.
  test('an excursion shorter than the on-delay gives no alarm and restarts the timer', () => {
    const w = watch({ actions: switching(5, 6.9, 8) }, 20);
    expect(w.times('C-2-not-auto', 'alarm: ')).toEqual([10]);
  });

  // Flip: the off-delay is left out; it goes on from where a shorter return left it.
  test('a return shorter than the off-delay leaves the alarm active', () => {
    const w = watch({ 'panel.alarmOffDelay': '5 s', actions: switching(5, 10, 13, 20) }, 30);
    expect(w.times('C-2-not-auto', 'alarm: ')).toEqual([7]);
    expect(w.times('C-2-not-auto', 'alarm returned')).toEqual([25]);
  });

  test('an alarm that returned and comes again is raised again', () => {
    // Flip: only a normal alarm can be raised.
    const w = watch({ actions: switching(5, 10, 12, 20) }, 25);
    expect(w.times('C-2-not-auto', 'alarm: ')).toEqual([7, 14]);
    expect(w.times('C-2-not-auto', 'alarm returned')).toEqual([10, 20]);
  });

  test('one that stands is raised again after its time, acknowledged or not', () => {
    // Flip: it is never raised again; an acknowledged one is not.
    const w = watch({ 'panel.alarmAgain': '6 s', actions: [...switching(5, 24), act(15, 'acknowledge')] }, 40);
    expect(w.times('C-2-not-auto', 'alarm: ')).toEqual([7]);
    expect(w.times('C-2-not-auto', 'alarm again: ')).toEqual([13, 19]);
    expect(w.slot('C-2-not-auto.state', 18.5)).toBe(AlarmState.acknowledged);
    expect(w.slot('C-2-not-auto.state', 19)).toBe(AlarmState.unacknowledged);
  });

  test('where alarms do not latch, one that returns is normal', () => {
    // Flip: the setting is ignored.
    const w = watch({ 'panel.alarmsLatch': 'false', actions: switching(5, 10) }, 15);
    expect(w.first('C-2-not-auto', 'alarm cleared')).toBe(10);
    expect(w.slot('C-2-not-auto.state')).toBe(AlarmState.normal);
  });

  test('that of the return filter comes at its drop and returns a tenth under it', () => {
    // The load grows on the way, so the flow falls from its first to its last instant; the drop is what comes to the sump times 1e8.
    const growing = {
      opening: '2 kN',
      closing: [
        { at: '0 %', force: '12 kN' },
        { at: '100 %', force: '0 kN' },
      ],
    };
    const filter = { resistance: '1e8 Pa s/m^3', alarm: '50 kPa', bypassOpens: '2 bar' };
    const changes = {
      valves: [valve({ load: growing })],
      actions: [act(1, 'close valve', 'V-1')],
      returnMain: { filter },
    };
    const w = watch({ pumps: [], compressors: [], ...changes }, 14);
    const falls = Array.from({ length: 130 }, (_, k) => 1 + k / 10).filter(
      (t) => w.slot('filter.high', t - 0.1) === 1 && w.slot('filter.high', t) === 0,
    );
    expect(falls).toHaveLength(1);
    const t = falls[0];
    const drop = (from: number) => (1e8 * (w.slot('sump.oil', from + 0.1) - w.slot('sump.oil', from))) / 0.1;
    // Means over the tick before the one in which it falls, and over the one after it, lie either side: a hundredth off would show.
    expect(drop(t - 0.2)).toBeGreaterThan(45_000);
    expect(drop(t)).toBeLessThan(45_000);
    expect(drop(t - 0.2) - drop(t)).toBeLessThan(800);
  });

  test('a level alarm clears past its trip point and deadband', () => {
    // Flip: the reset point is the trip point.
    const w = watch({ 'start.level': '0.395 m' }, 20);
    expectPassed(w.level, w.first('LAL-1', 'alarm returned'), 0.41);
  });
});

describe('compressor held off', () => {
  const stranded: Changes = {
    'start.level': '0.65 m',
    'start.pressure': '7.5 barg',
    'start.compressorsAllowed': 'no',
    'clock.tick': '1 s',
  };

  // Flip: the usual on-delay.
  test('alarms after 30 min', () => {
    expect(watch(stranded, 1810).first('KA-held-off', 'alarm: ')).toBe(1800);
  });

  // Flip: the condition does not ask for the mains.
  test('is no matter of the panel while the mains are lost', () => {
    const w = watch({ ...stranded, 'panel.heldOffAlarm': '10 s', 'power.lostAt': '5 s' }, 60);
    expect(w.times('KA-held-off', 'alarm: ')).toEqual([]);
  });
});
