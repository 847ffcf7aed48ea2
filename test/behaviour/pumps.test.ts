/**
 * Calls of the oil pumps. Levels, times and reasons expected here are the settings of the unit, or follow from its round
 * numbers: a pump lifts the level by 2 mm/s. Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { DRAIN, expectPassed, watch } from '../support/baseUnit.ts';

/** Loses more than one pump gives and less than two: about 3 mm/s. */
const STRONG_DRAIN = { flow: '90 L/min', at: '8.5 barg' };
const failed = 'not proven in time: failed';

describe('duty pump', () => {
  // Flip: the start contact takes the standby start as its trip point; the call outlives the reset of its contact.
  test('starts at its level and stops at the stop level', () => {
    const w = watch({ 'leaks.oil': DRAIN }, 300);
    expectPassed(w.level, w.first('P-1', 'called: duty call'), 0.6);
    expect(w.first('P-1', 'starts')).toBe(w.first('LS-1', 'made'));
    expectPassed(w.level, w.first('P-1', 'stops'), 0.8);
    expect(w.times('P-2', 'starts')).toEqual([]);
    expect(w.slot('P-1.starts')).toBe(1);
  });

  test('the run time of a machine found running counts from the start of the run', () => {
    const w = watch({ 'start.running': ['P-1'], 'start.level': '0.78 m' }, 30);
    // 20 mm at 2 mm/s. Flip: count from the tick the start state gives such a machine.
    expect(w.first('P-1', 'stops')).toBeCloseTo(10, 6);
    expect(w.slot('P-1.runTicks')).toBe(100);
    expect(w.slot('P-1.starts')).toBe(0);
  });
});

describe('pumps found running', () => {
  // Flip: one call is seen, however many run.
  test('go on to the stop level, both of them', () => {
    const w = watch({ 'start.running': ['P-1', 'P-2'], 'start.level': '0.76 m' }, 20);
    expectPassed(w.level, w.first('P-1', 'stops'), 0.8);
    expect(w.first('P-2', 'stops')).toBe(w.first('P-1', 'stops'));
    const sealed = watch(
      { 'start.running': ['P-1', 'P-2'], 'start.level': '0.76 m', 'panel.startContact': 'seal-in' },
      20,
    );
    expect(sealed.first('P-2', 'stops')).toBe(sealed.first('P-1', 'stops'));
  });

  test('in hand call nobody else', () => {
    // Flip: any running pump is taken for a call.
    const w = watch({ 'start.running': ['P-1'], 'pumps.P-1.selector': 'hand' }, 5);
    expect(w.times('P-2', 'called')).toEqual([]);
    expect(w.running('P-1')).toBe(true);
  });
});

describe('standby pump', () => {
  const near = { 'panel.level.normal': '0.61 m', 'panel.level.stop': '0.62 m' };

  // Flip: the standby start no longer calls a second pump.
  test('starts at the lower step, runs beside the duty and stops with it', () => {
    const w = watch({ ...near, 'leaks.oil': STRONG_DRAIN, 'start.level': '0.52 m' }, 200);
    const t = w.first('P-2', 'called: standby step reached');
    expectPassed(w.level, t, 0.5);
    expect(w.running('P-1', t + 10)).toBe(true);
    expectPassed(w.level, w.first('P-1', 'stops'), 0.62);
    expect(w.first('P-2', 'stops')).toBe(w.first('P-1', 'stops'));
  });

  // Flip: the latch of a failed start is never set.
  test('takes over when the starter of the duty is blocked', () => {
    const w = watch({ 'start.level': '0.55 m', actions: [{ at: '0 s', do: 'block start', item: 'P-1' }] }, 20);
    expect(w.first('P-1', 'called: duty call')).toBe(0);
    expect(w.first('P-1', failed)).toBe(5);
    expect(w.first('P-2', 'called: duty not proven in time')).toBe(5);
    expect(w.times('P-1', 'starts')).toEqual([]);
    expect(w.slot('P-1.starts')).toBe(0);
    expect(w.slot('P-1.commanded')).toBe(0);
  });

  // Flip: a flow switch is taken for a starter contact; a shut isolation valve lets oil through.
  test('takes over from a duty behind a shut isolation valve only where a flow switch proves it', () => {
    const shut = { 'start.level': '0.55 m', 'pumps.P-1.isolation': 'shut' };
    const seen = watch({ ...shut, 'pumps.P-1.provenBy': 'flow switch' }, 20);
    expect(seen.first('P-1', 'starts')).toBe(0);
    expect(seen.first('P-1', failed)).toBe(5);
    expect(seen.first('P-1', 'stops')).toBe(5);
    expect(seen.first('P-2', 'called: duty not proven in time')).toBe(5);
    const missed = watch(shut, 20);
    expect(missed.times('P-1', failed)).toEqual([]);
    expect(missed.running('P-1')).toBe(true);
    expect(missed.times('P-2', 'called')).toEqual([]);
    expect(missed.level()).toBeCloseTo(0.55, 12);
  });

  // Flip: a flow switch counts from the command, so that the first loss of flow is a failure at once.
  test('takes over the stated time after the flow of a running duty is lost', () => {
    const dry = { sump: { capacity: '0.1 m^3', depth: '1 m', suctionLevel: '0.1 m' }, 'start.sumpLevel': '0.2 m' };
    const w = watch({ ...dry, 'start.level': '0.55 m', 'pumps.P-1.provenBy': 'flow switch' }, 20);
    const lost = w.first('P-1', 'flow lost');
    expect(lost).toBeCloseTo(10, 6);
    expect(w.first('P-1', failed)).toBeGreaterThanOrEqual(lost + 5);
    expect(w.first('P-1', failed)).toBeLessThan(lost + 5.2);
    expect(w.first('P-2', 'called: duty not proven in time')).toBe(w.first('P-1', failed));
  });

  // Flip: a tripped machine stays available.
  test('takes over when the duty is tripped, and keeps running when the duty is reset', () => {
    const actions = [
      { at: '10 s', do: 'trip motor', item: 'P-1' },
      { at: '20 s', do: 'reset motor', item: 'P-1' },
    ];
    const w = watch({ 'start.level': '0.55 m', actions }, 140);
    expect(w.first('P-1', 'stops')).toBe(10);
    expect(w.first('P-2', 'called: duty tripped')).toBe(10);
    // Flip: machines that run do not keep their place.
    expect(w.times('P-1', 'starts')).toEqual([0]);
    expectPassed(w.level, w.first('P-2', 'stops'), 0.8);
  });

  // Flip: the timer of the longest run never expires.
  test('starts beside a duty that runs longer than the longest run', () => {
    const w = watch({ 'start.level': '0.55 m', 'panel.longestRun': '20 s' }, 100);
    expect(w.first('P-2', 'called: longest run exceeded')).toBe(20);
    expect(w.running('P-1', 30)).toBe(true);
    expect(w.first('P-1-long-run', 'alarm')).toBe(20);
    expect(w.first('P-1', 'stops')).toBe(w.first('P-2', 'stops'));
  });

  // Flip: the selector does not count in a long run.
  test('is not called because a pump in hand runs long', () => {
    // P-1 runs from the start; the level falls by 1 mm/s nevertheless and calls P-2 at about 20 s.
    const w = watch(
      { pumps: threePumps('hand'), 'start.level': '0.62 m', 'panel.longestRun': '15 s', 'leaks.oil': STRONG_DRAIN },
      33,
    );
    expect(w.first('P-1-long-run', 'alarm')).toBe(15);
    const second = w.first('P-2', 'called: duty not in auto');
    expect(second).toBeGreaterThan(18);
    expect(w.times('P-3', 'called')).toEqual([]);
  });

  // Flip: whether a machine is in auto does not count for its availability.
  test('takes over when the duty is switched off in mid-run, and keeps running when it is back in auto', () => {
    const actions = [
      { at: '10 s', do: 'set to off', item: 'P-1' },
      { at: '20 s', do: 'set to auto', item: 'P-1' },
    ];
    const w = watch({ 'start.level': '0.55 m', actions }, 40);
    expect(w.first('P-1', 'stops')).toBe(10);
    expect(w.first('P-2', 'called: duty not in auto')).toBe(10);
    expect(w.times('P-1', 'starts')).toEqual([0]);
    expect(w.running('P-2')).toBe(true);
  });

  test('a failed pump stays out until it is reset, then starts where it is needed', () => {
    const actions = [
      { at: '0 s', do: 'block start', item: 'P-1' },
      { at: '8 s', do: 'allow start', item: 'P-1' },
      { at: '20 s', do: 'reset motor', item: 'P-1' },
    ];
    // Flip: the latch of a failed start falls out by itself; a reset does not clear it.
    const w = watch({ 'start.level': '0.45 m', actions }, 30);
    expect(w.times('P-1', 'starts')).toEqual([20]);
    expect(w.running('P-2', 15)).toBe(true);
  });
});

describe('selectors', () => {
  // Flip: hand follows the call; hand ignores the high-high level.
  test('hand runs regardless of the start contacts, to the high-high level and no further', () => {
    const w = watch({ 'pumps.P-1.selector': 'hand', 'start.level': '0.78 m', 'start.pressure': '7 barg' }, 150);
    expect(w.first('P-1', 'called: in hand')).toBe(0);
    expect(w.running('P-1', 50)).toBe(true);
    expect(w.level(50)).toBeGreaterThan(0.8);
    expectPassed(w.level, w.first('P-1', 'stops'), 1);
    expect(w.running('P-1')).toBe(false);
  });

  // Flip: hand ignores the high pressure contact.
  test('hand does not run past the high pressure', () => {
    const pump = watch({ 'pumps.P-1.selector': 'hand', 'start.level': '0.78 m', 'start.pressure': '11.3 barg' }, 60);
    expectPassed(pump.pressure, pump.first('P-1', 'stops'), 11.5);
    const air = watch(
      { 'compressors.C-1.selector': 'hand', 'start.level': '0.65 m', 'start.pressure': '11.3 barg' },
      60,
    );
    expect(air.first('C-1', 'called: in hand')).toBe(0);
    expectPassed(air.pressure, air.first('C-1', 'stops'), 11.5);
  });

  // Flip: off is taken for auto.
  test('off never runs', () => {
    const off = {
      'pumps.P-1.selector': 'off',
      'pumps.P-2.selector': 'off',
      'compressors.C-1.selector': 'off',
      'compressors.C-2.selector': 'off',
    };
    const w = watch(
      { ...off, 'start.level': '0.45 m', 'start.pressure': '6.8 barg', 'start.compressorsAllowed': 'yes' },
      30,
    );
    for (const tag of ['P-1', 'P-2', 'C-1', 'C-2']) expect(w.times(tag, 'starts')).toEqual([]);
    expect(w.slot('pumps.called')).toBe(1);
  });
});

describe('high-high', () => {
  // Flip: the high-high level does not hold pumps off.
  test('level stops pumps in auto where the stop level is set too high', () => {
    const w = watch(
      { 'panel.level.stop': '1.1 m', 'start.level': '0.95 m', 'start.running': ['P-1'], 'start.pressure': '7 barg' },
      60,
    );
    expectPassed(w.level, w.first('P-1', 'stops'), 1);
    expect(w.running('P-1')).toBe(false);
  });

  // Flip: the high-high pressure does not hold pumps off; holding off ends the call.
  test('pressure stops pumps in auto; the call stands, and the same pump goes on when it is gone', () => {
    const w = watch(
      { 'start.level': '0.55 m', 'start.pressure': '11.8 barg', 'leaks.air': { fall: '30 bar/h', at: '12 barg' } },
      60,
    );
    const stop = w.first('P-1', 'stops');
    expectPassed(w.pressure, stop, 12);
    expect(w.level(stop)).toBeLessThan(0.8);
    expect(w.slot('pumps.called', stop + 1)).toBe(1);
    const [, again] = w.times('P-1', 'starts');
    expectPassed(w.pressure, again, 11.85);
    expect(w.times('P-2', 'is duty')).toEqual([]);
  });
});

function threePumps(first: string) {
  const relief = { cracking: '13 barg', fullFlow: '14 barg' };
  return ['P-1', 'P-2', 'P-3'].map((tag, i) => ({
    tag,
    ratedFlow: '60 L/min',
    slip: '0 %',
    relief,
    selector: i === 0 ? first : 'auto',
  }));
}
