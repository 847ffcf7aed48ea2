/** Overload relays of motors: limits of the trip classes, the law of heat, currents. */
import { describe, expect, test } from 'vitest';
import {
  allowableStarts,
  cooled,
  heatingRate,
  motorCurrent,
  overloadRelay,
  relayTimeConstant,
  timeToTrip,
} from '../../models/motor.ts';

describe('trip classes', () => {
  // IEC 60947-4-1, tables 3 and 4 (from memory): 1.05 times the setting does not trip a cold relay in 2 h, 1.2 times then
  // does within 2 h; 1.5 times from warm within 4, 8, 12 min for class 10, 20, 30.
  test.each([
    [10, 240],
    [20, 480],
    [30, 720],
  ])('class %i stays within the limits of the standard', (klass, warm_s) => {
    const tau = relayTimeConstant(klass, 1.15);
    expect(timeToTrip(1.05, 0, 1.15, tau)).toBe(Infinity);
    expect(timeToTrip(1.2, 1.05, 1.15, tau)).toBeLessThan(7200);
    expect(timeToTrip(1.5, 1, 1.15, tau)).toBeLessThan(warm_s);
  });
});

test('the rate of the heat and its cooling follow the same law', () => {
  const relay = overloadRelay({ class: '10', setting: 1, tripsAt: 1.15, reset: 'by hand', resetBelow: 0.7 });
  // Euler steps of 1 ms, good to 1e-4: at twice the setting trips after 155.3 s.
  let heat = 0;
  let t = 0;
  for (; heat < relay.tripHeat; t += 1e-3) heat += heatingRate(relay, heat, 2) * 1e-3;
  expect(Math.abs(t - 155.3)).toBeLessThan(0.1);
  // One time constant leaves 1/e.
  expect(cooled(relay, 1, relay.tau_s)).toBeCloseTo(Math.exp(-1), 12);
});

// Common practice, no source: 6 times on starting; no-load share plus the rest in proportion; a lost phase sqrt(3).
test('currents over the full-load current', () => {
  expect(motorCurrent(true, 0, 6, 0.4, false)).toBe(6);
  expect(motorCurrent(false, 0, 6, 0.4, false)).toBe(0.4);
  expect(motorCurrent(false, 0.5, 6, 0.4, false)).toBeCloseTo(0.7, 12);
  expect(motorCurrent(false, 1, 6, 0.4, true)).toBeCloseTo(1.7320508, 7);
  expect(motorCurrent(true, 1, 6, 0.4, true)).toBeCloseTo(5.1961524, 7);
  // Beyond what it can turn it stalls.
  expect(motorCurrent(false, 50, 6, 0.4, false)).toBe(6);
});

// NEMA MG 10 table 2-3 as reprinted (read): 4-pole motors of design A and B, starts an hour and starts times load Wk2 in
// lb ft2: 10 hp 12.5 and 51, 25 hp 8.8 and 122, 50 hp 6.8 and 232. The page's own example: 25 hp, 50 lb ft2, 2.44 starts.
test('allowable starts with a heavy load', () => {
  expect(allowableStarts(8.8, 122, 50)).toBeCloseTo(2.44, 12);
  expect(allowableStarts(12.5, 51, 4)).toBe(12.5);
  expect(allowableStarts(6.8, 232, 40)).toBeCloseTo(5.8, 12);
});
