/** Timers, contacts and the course of the ambient temperature, by hand. */
import { describe, expect, test } from 'vitest';
import { Circuit, contactSays, LOW_ROLES } from '../../models/contact.ts';
import { dissolvedAirOf, dissolvingRate } from '../../models/dissolvedAir.ts';
import { ambientAt, ambientCourse, nextBend } from '../../models/site.ts';
import { delayTicks, sooner } from '../../models/timer.ts';

describe('delays', () => {
  test('are whole ticks, rounded up, with a rounding of the quotient forgiven', () => {
    for (const [seconds, tick, ticks] of [
      [0, 0.1, 0],
      [0.3, 0.1, 3],
      [0.31, 0.1, 4],
      [0.25, 0.1, 3],
      [0.05, 0.1, 1],
      [1, 0.1, 10],
      [2.1, 0.7, 3],
    ])
      expect(delayTicks(seconds, tick) + 0).toBe(ticks);
  });

  test('expire at the first scan at or after them, and only what is still to come and earlier counts', () => {
    // due, now, since, delay, scan
    expect(sooner(Infinity, 10, 5, 8, 1)).toBe(13);
    expect(sooner(Infinity, 10, 5, 8, 4)).toBe(16);
    expect(sooner(Infinity, 10, 4, 8, 4)).toBe(12);
    expect(sooner(14, 10, 5, 8, 1)).toBe(13);
    expect(sooner(13, 10, 5, 8, 1)).toBe(13);
    expect(sooner(12, 10, 5, 8, 1)).toBe(12);
    // Not running; begun at 0; over, or expiring now.
    expect(sooner(50, 10, -1, 8, 1)).toBe(50);
    expect(sooner(50, 10, 0, 20, 1)).toBe(20);
    expect(sooner(50, 10, 0, 10, 1)).toBe(50);
    expect(sooner(50, 10, 0, 9, 1)).toBe(50);
    expect(sooner(50, 10, 0, 11, 1)).toBe(11);
  });
});

describe('a contact', () => {
  // What closes to call is silenced by a broken wire and calls for ever when bridged; what opens to act the other way.
  test.each<[Parameters<typeof contactSays>[0], boolean]>([
    ['level.dutyStart', true],
    ['level.standbyStart', true],
    ['level.normal', true],
    ['pressure.cutIn', true],
    ['pressure.standbyCutIn', true],
    ['level.stop', false],
    ['level.lowLow', false],
    ['level.low', false],
    ['level.high', false],
    ['level.highHigh', false],
    ['pressure.lowLow', false],
    ['pressure.low', false],
    ['pressure.high', false],
    ['pressure.highHigh', false],
    ['sump.low', false],
    ['sump.high', false],
  ])('%s', (role, closesToCall) => {
    for (const condition of [true, false]) expect(contactSays(role, condition, Circuit.sound)).toBe(condition);
    for (const condition of [true, false]) {
      expect(contactSays(role, condition, Circuit.broken)).toBe(!closesToCall);
      expect(contactSays(role, condition, Circuit.bridged)).toBe(closesToCall);
    }
    expect(LOW_ROLES.has(role)).toBe(/low|Start|utIn/i.test(role.split('.')[1]));
  });
});

describe('ambient temperature', () => {
  const of = (temperature: Parameters<typeof ambientCourse>[0], tick = 0.1) => {
    const course = ambientCourse(temperature, tick);
    if (typeof course === 'number') throw new Error(`point ${course}`);
    return course;
  };
  const table = (...points: [number, number][]) => ({
    table: points.map(([at, temperature]) => ({ at, temperature })),
    warmestAt: 0,
    runStartsAt: 0,
  });

  test('steady: as given, 20 degC unless given', () => {
    expect(ambientAt(of(undefined), 5)).toBe(293.15);
    expect(ambientAt(of(280), 1e6)).toBe(280);
    expect(nextBend(of(280), 0)).toBe(Infinity);
  });

  test('through a day: warmest when it is said to be, coolest half a day later', () => {
    const day = of({ mean: 285, swing: 8, warmestAt: 15 * 3600, runStartsAt: 6 * 3600 } as never);
    expect(ambientAt(day, 9 * 3600)).toBeCloseTo(293, 9);
    expect(ambientAt(day, 21 * 3600)).toBeCloseTo(277, 9);
    expect(ambientAt(day, 3 * 3600)).toBeCloseTo(285, 9);
    expect(ambientAt(day, 33 * 3600)).toBeCloseTo(293, 9);
    expect(nextBend(day, 0)).toBe(Infinity);
  });

  test('of a table: straight between its points, level before and behind, a bend at each', () => {
    const course = of(table([10, 280], [20, 290], [40, 286]));
    for (const [t, expected] of [
      [0, 280],
      [10, 280],
      [12.5, 282.5],
      [20, 290],
      [30, 288],
      [40, 286],
      [100, 286],
    ])
      expect(ambientAt(course, t)).toBeCloseTo(expected, 12);
    expect([0, 99, 100, 101, 199, 200, 399, 400, 401].map((tick) => nextBend(course, tick))).toEqual([
      ...[100, 100, 200, 200, 200, 400, 400],
      ...[Infinity, Infinity],
    ]);
    // Points are put on ticks.
    expect(nextBend(of(table([0.26, 280], [1, 281])), 0)).toBe(3);
    expect(ambientAt(of(table([7, 280])), 3)).toBe(280);
  });

  test('a table whose times do not rise is refused at the point that does not', () => {
    expect(ambientCourse(table([10, 280], [20, 290], [20, 286]), 0.1)).toBe(2);
    expect(ambientCourse(table([10, 280], [9, 290], [20, 286]), 0.1)).toBe(1);
    // Two on the same tick are no rise either.
    expect(ambientCourse(table([10, 280], [10.04, 290]), 0.1)).toBe(1);
    expect(ambientCourse(table([10, 280], [10.1, 290]), 0.1)).toMatchObject({ kind: 'table' });
    expect(ambientCourse(table([0, 280], [1, 281]), 0.1)).toMatchObject({ kind: 'table' });
  });
});

// Henry: 1.2923 kg/m3 at 0 degC and 1 atm, Bunsen coefficient 0.09: 0.116307 kg in a m3 under 1 atm.
test('air goes into solution in proportion to what is missing, quicker while a pump stirs', () => {
  const air = dissolvedAirOf({ model: 'henry', solubility: 0.09, still: 14_400, pumping: 1800 });
  const saturated = 0.116307 * 2 * 0.5;
  expect(dissolvingRate(air, 0, 0.5, 2 * 101_325, false) * 14_400).toBeCloseTo(saturated, 12);
  expect(dissolvingRate(air, 0, 0.5, 2 * 101_325, true) * 1800).toBeCloseTo(saturated, 12);
  expect(dissolvingRate(air, saturated, 0.5, 2 * 101_325, true)).toBeCloseTo(0, 15);
  expect(dissolvingRate(air, 2 * saturated, 0.5, 2 * 101_325, false) * 14_400).toBeCloseTo(-saturated, 12);
  const none = dissolvedAirOf({ model: 'none', solubility: 0.09, still: 14_400, pumping: 1800 });
  expect(dissolvingRate(none, 0, 0.5, 2e5, false)).toBe(0);
});
