/**
 * Motors and starters as the panel meets them: overload relays, locked rotors, lost phases, limits on starts. Expected
 * times come from the first-order relay, d(theta)/dt = (i^2 - theta)/tau with tau = 387.0 s for class 10 and k = 1.15,
 * worked out by hand beside each; ticks and scans are 0.1 s.
 */
import { describe, expect, test } from 'vitest';
import { type Changes, DRAIN, watch } from '../support/baseUnit.ts';
import { close } from '../support/close.ts';

const TAU = 386.97;
const TRIP = 1.15 ** 2;
const alone: Changes = { compressors: [], 'start.level': '0.55 m' };
/** Time to trip from a heat at a current over the setting. */
const trips = (current: number, from = 0) => TAU * Math.log((current ** 2 - from) / (current ** 2 - TRIP));
const locked = (more: Changes = {}, lasts = {}): Changes => ({
  ...alone,
  'pumps.P-1.runUp': '2 s',
  faults: [{ fault: 'locked rotor', item: 'P-1', at: '0 s', ...lasts }],
  ...more,
});

describe('overload relay', () => {
  // 6 times the full-load current from cold: 14.5 s.
  test('a locked rotor trips it, the alarm says so and the standby takes over', () => {
    const w = watch(locked(), 60);
    const t = w.first('P-1', 'overload relay trips');
    expect(trips(6)).toBeCloseTo(14.48, 1);
    expect(Math.abs(t - trips(6))).toBeLessThan(0.01);
    expect(w.slot('P-1.pumped')).toBe(0);
    expect(w.running('P-1', 14)).toBe(true);
    expect(w.running('P-1', 15)).toBe(false);
    // The panel sees it at its next scan.
    const called = w.first('P-2', 'called: duty tripped');
    expect(called).toBeGreaterThan(t);
    expect(called - t).toBeLessThanOrEqual(0.1 + 1e-9);
    expect(w.first('P-1-overload', 'alarm')).toBeCloseTo(called, 9);
  });

  test.each([
    ['20', 773.9],
    ['30', 1160.9],
  ])('of class %s takes its own time', (klass, tau) => {
    const w = watch(locked({ 'pumps.P-1.overload.class': klass }), 60);
    expect(Math.abs(w.first('P-1', 'overload relay trips') - tau * Math.log(36 / (36 - TRIP)))).toBeLessThan(0.02);
  });

  // Set at 150 % the current counts 4 times the setting: 33.4 s.
  test('counts the current over its setting', () => {
    const w = watch(locked({ 'pumps.P-1.overload.setting': '150 %' }), 60);
    expect(Math.abs(w.first('P-1', 'overload relay trips') - 33.4)).toBeLessThan(0.1);
  });

  // Dead-headed on its relief without slip: 1 L/s at 14 bar over ambient and 85 %, 1647 W. On a motor of 1000 W the
  // current is 0.4 + 0.6 x 1.647 = 1.388 of the full-load current.
  test('a motor too small for the work trips in time', () => {
    const dead = {
      ...alone,
      'pumps.P-1.isolation': 'shut',
      'pumps.P-1.ratedPower': '1 kW',
      'pumps.P-1.noLoadCurrent': '40 %',
    };
    const current = 0.4 + (0.6 * 1e-3 * 14e5) / 0.85 / 1000;
    const w = watch(dead, 500);
    expect(Math.abs(w.first('P-1', 'overload relay trips') - trips(current))).toBeLessThan(0.01);
  });

  // Found warm from full load it stands at its reset heat, 0.7 x 1.3225; full load alone never trips it.
  test('full load never trips it', () => {
    const w = watch(
      {
        ...alone,
        'start.level': '0.65 m',
        'start.running': ['P-1'],
        'pumps.P-1.noLoadCurrent': '100 %',
        'leaks.oil': { flow: '60 L/min', at: '8.5 barg' },
        'tank.outletLevel': '0.01 m',
      },
      2000,
    );
    expect(w.times('P-1', 'overload relay trips')).toEqual([]);
    // Towards 1 from 0.92575.
    close(w.slot('P-1.relayHeat', 1000), 1 - (1 - 0.92575) * Math.exp(-1000 / TAU), 1e-5);
  });

  // 6 times the full-load current for 2 s of run-up, then once, whatever the work: both pieces in closed form.
  test('heats by the starting current up to full speed, and by the load from then on', () => {
    const w = watch({ ...alone, 'pumps.P-1.runUp': '2 s', 'pumps.P-1.noLoadCurrent': '100 %' }, 60);
    const tau = 10 / Math.log(7.2 ** 2 / (7.2 ** 2 - TRIP));
    const up = 36 * (1 - Math.exp(-2 / tau));
    close(w.slot('P-1.relayHeat', 2), up, 1e-7);
    close(w.slot('P-1.relayHeat', 50), 1 + (up - 1) * Math.exp(-48 / tau), 1e-6);
  });

  // Cooling from k^2 to 0.7 k^2 takes tau ln(1/0.7) = 138 s.
  const cooling = TAU * Math.log(1 / 0.7);
  test('is reset by hand only once it has cooled', () => {
    const tripped = trips(6);
    const at = (s: number) => ({ at: `${s} s`, do: 'reset motor', item: 'P-1' });
    const early = Math.round(tripped + cooling - 3);
    const late = Math.round(tripped + cooling + 3);
    const w = watch(locked({ actions: [at(early), at(late)] }, { for: '30 s' }), 200);
    expect(w.first('P-1', 'overload relay too hot')).toBe(early);
    expect(w.slot('P-1.tripped', early + 1)).toBe(1);
    expect(w.first('P-1', 'reset')).toBe(late);
    expect(w.slot('P-1.tripped', late + 1)).toBe(0);
  });

  test.each([
    ['with the mains there', {}],
    ['with everything dead', { 'power.lostAt': '20 s', 'power.controlPowerHeld': '0 s' }],
  ])('an automatic one comes back when it has cooled, %s', (_, power) => {
    const w = watch(locked({ 'pumps.P-1.overload.reset': 'automatic', ...power }, { for: '30 s' }), 200);
    expect(Math.abs(w.first('P-1', 'reset') - (trips(6) + cooling))).toBeLessThan(0.15);
    expect(w.times('P-1', 'reset')).toHaveLength(1);
  });

  test('one reset by hand stays tripped through an outage, however long', () => {
    const w = watch(locked({ 'power.lostAt': '30 s', 'power.backAt': '30 min' }), 2000);
    expect(w.slot('P-1.tripped')).toBe(1);
    expect(w.times('P-1', 'starts')).toHaveLength(1);
  });

  // The heat of a first run of 10 s at 6 times, 36 (1 - e^(-10/tau)), cools for 20 s and leaves that much less to go.
  test('remembers', () => {
    const w = watch(
      locked({
        actions: [
          { at: '10 s', do: 'set to off', item: 'P-1' },
          { at: '30 s', do: 'set to auto', item: 'P-1' },
          { at: '30 s', do: 'set to off', item: 'P-2' },
        ],
      }),
      60,
    );
    const left = 36 * (1 - Math.exp(-10 / TAU)) * Math.exp(-20 / TAU);
    expect(Math.abs(w.first('P-1', 'overload relay trips') - 30 - trips(6, left))).toBeLessThan(0.01);
  });
});

describe('a lost phase', () => {
  // At speed the current grows by sqrt(3); full load here whatever the work.
  test('at speed is an overload', () => {
    const w = watch(
      {
        ...alone,
        'start.level': '0.65 m',
        'start.running': ['P-1'],
        'pumps.P-1.noLoadCurrent': '100 %',
        'leaks.oil': { flow: '60 L/min', at: '8.5 barg' },
        faults: [{ fault: 'single phasing', item: 'P-1', at: '0 s' }],
      },
      120,
    );
    expect(Math.abs(w.first('P-1', 'overload relay trips') - trips(Math.sqrt(3), 0.7 * TRIP))).toBeLessThan(0.01);
    // It goes on pumping meanwhile.
    close(w.slot('P-1.pumped', 50), 50e-3, 1e-9);
  });

  // From rest: sqrt(3)/2 of the starting current, 5.196 times, and no turning.
  test('from rest it hums until the relay trips it', () => {
    const w = watch({ ...alone, faults: [{ fault: 'single phasing', item: 'P-1', at: '0 s' }] }, 60);
    expect(Math.abs(w.first('P-1', 'overload relay trips') - trips(3 * Math.sqrt(3)))).toBeLessThan(0.01);
    expect(w.slot('P-1.pumped')).toBe(0);
  });
});

describe('limits on starts', () => {
  // A drain at 0.5 L/s and a band of 20 L in the tank: a start every minute.
  const busy: Changes = {
    ...alone,
    pumps: [
      {
        tag: 'P-1',
        ratedFlow: '60 L/min',
        slip: '0 %',
        relief: { cracking: '13 barg', fullFlow: '14 barg' },
        runUp: '0 s',
        allowedStarts: 3,
      },
    ],
    'panel.level.standbyStart': { tag: 'LS-2', at: '0.30 m' },
    'panel.level.dutyStart': { tag: 'LS-1', at: '0.76 m' },
    'panel.level.normal': { tag: 'LS-3', at: '0.77 m' },
    'start.level': '0.75 m',
    'leaks.oil': DRAIN,
  };

  test('one start more than allowed in an hour raises the alarm; it clears an hour after the last too many', () => {
    const w = watch(
      { ...busy, actions: [{ at: '260 s', do: 'set to off', item: 'P-1' }], 'panel.alarmsLatch': 'no' },
      5000,
    );
    const starts = w.times('P-1', 'starts');
    expect(starts.length).toBeGreaterThan(3);
    expect(w.first('P-1-starts', 'alarm: P-1 starts too often')).toBeCloseTo(starts[3], 0);
    expect(w.times('P-1-starts', 'alarm cleared')).toEqual([starts[starts.length - 1] + 3600]);
  });

  // Drained at a thirtieth of that, 20 L last some 20 min, and 20 s refill them: two or three starts in any hour.
  test('starts that are too many now and then in the hour are one alarm, not one each time', () => {
    const slow = {
      ...busy,
      'pumps.P-1.allowedStarts': 2,
      'leaks.oil': { flow: '1 L/min', at: '8.5 barg' },
      'panel.alarmsLatch': 'no',
      'clock.tick': '1 s',
    };
    const w = watch(slow, 5 * 3600);
    const starts = w.times('P-1', 'starts');
    const within = (t: number) => starts.filter((at) => at <= t && at > t - 3600).length;
    // Right after the third start one is too many, right before the fourth none.
    expect(within(starts[2])).toBe(3);
    expect(within(starts[3] - 1)).toBe(2);
    expect(w.times('P-1-starts', 'alarm: P-1 starts too often')).toEqual([starts[2]]);
    expect(w.times('P-1-starts', 'alarm cleared')).toEqual([]);
  });

  // Three starts by hand within minutes, then one in 50 min: two in the hour and no more.
  test('a motor back within its starts keeps no alarm', () => {
    const at = (minutes: number, to: string) => ({ at: `${minutes} min`, do: `set to ${to}`, item: 'P-1' });
    const w = watch(
      {
        ...alone,
        'start.level': '0.65 m',
        'pumps.P-1.allowedStarts': 2,
        'pumps.P-1.isolation': 'shut',
        'panel.alarmsLatch': 'no',
        'clock.tick': '1 s',
        actions: [1, 3, 5, 55, 105].flatMap((t) => [at(t, 'hand'), at(t + 1, 'auto')]),
      },
      2 * 3600,
    );
    expect(w.times('P-1', 'starts')).toEqual([60, 180, 300, 3300, 6300]);
    // The start at 55 min is the third since the third minute: the hour counts from there.
    expect(w.times('P-1-starts', 'alarm: P-1 starts too often')).toEqual([300]);
    expect(w.times('P-1-starts', 'alarm cleared')).toEqual([6900]);
  });

  test('no more than allowed raises none', () => {
    const w = watch({ ...busy, 'pumps.P-1.allowedStarts': 60 }, 1000);
    expect(w.times('P-1', 'starts').length).toBeGreaterThan(3);
    expect(w.times('P-1-starts', 'alarm')).toEqual([]);
  });

  test('a least time at rest holds the next start back', () => {
    const free = watch(busy, 300);
    const w = watch({ ...busy, 'pumps.P-1.leastOffTime': '90 s' }, 300);
    const [, second] = w.times('P-1', 'starts');
    expect(free.times('P-1', 'starts')[1]).toBeLessThan(free.first('P-1', 'stops') + 60);
    expect(second).toBeCloseTo(w.first('P-1', 'stops') + 90, 9);
  });

  test('a least run goes on past the stop level, not past the mains or high-high oil', () => {
    const long = { ...busy, 'pumps.P-1.leastRunTime': '100 s', 'leaks.oil': undefined };
    const { 'leaks.oil': _, ...quiet } = long;
    // 2 mm/s from 0.75 m: stop level at 25 s, high-high at 125 s.
    expect(watch(quiet, 200).first('P-1', 'stops')).toBeCloseTo(100, 9);
    expect(watch({ ...quiet, 'power.lostAt': '60 s' }, 200).first('P-1', 'stops')).toBeCloseTo(60, 9);
    const longer = watch({ ...quiet, 'pumps.P-1.leastRunTime': '500 s' }, 300);
    expect(longer.first('P-1', 'stops')).toBeGreaterThan(124);
    expect(longer.first('P-1', 'stops')).toBeLessThan(126);
  });
});

describe('proof by a rise of the level or pressure', () => {
  const byRise = { 'pumps.P-1.provenBy': 'rise', 'pumps.P-1.provenWithin': '30 s' };

  // 10 mm at 2 mm/s: 5 s.
  test('a pump that lifts the level is proven', () => {
    const w = watch({ ...alone, ...byRise }, 60);
    const proven = w.first('P-1', 'proven: the level rises') - w.first('P-1', 'starts');
    expect(proven).toBeGreaterThanOrEqual(5);
    expect(proven).toBeLessThanOrEqual(5.1 + 1e-9);
    expect(w.times('P-1', 'not proven')).toEqual([]);
  });

  test('one behind a shut isolation valve is not, while its starter contact would say it runs', () => {
    const shut = { ...alone, 'pumps.P-1.isolation': 'shut' };
    const w = watch({ ...shut, ...byRise }, 60);
    expect(w.first('P-1', 'not proven in time')).toBeCloseTo(w.first('P-1', 'starts') + 30, 9);
    expect(w.times('P-2', 'called: duty not proven')).toHaveLength(1);
    expect(watch(shut, 60).times('P-1', 'not proven')).toEqual([]);
  });

  // 10 kPa more in the air kept at 20 degC, 1 m3 less 0.375 m3 of oil: 61.7 L of free air, 6.17 s of 10 L/s.
  test('a compressor that lifts the pressure is proven', () => {
    const w = watch(
      {
        'start.level': '0.75 m',
        'start.pressure': '7.5 barg',
        'compressors.C-1.provenBy': 'rise',
        'compressors.C-1.provenWithin': '30 s',
      },
      60,
    );
    const expected = (1e4 * 0.625) / 101325 / 0.01;
    expect(w.first('C-1', 'proven: the pressure rises')).toBeGreaterThan(expected - 0.2);
    expect(w.first('C-1', 'proven: the pressure rises')).toBeLessThan(expected + 0.2);
  });
});

describe('thick oil', () => {
  // At 1.5 times the viscosity that its suction takes, a pump draws two thirds.
  test('at the suction cuts the flow in proportion', () => {
    const w = watch({ ...alone, 'pumps.P-1.thickestOil': '30.666666667 mm^2/s' }, 10);
    close(w.flows(5).pump[0], 1e-3 / 1.5, 1e-6);
    const sound = watch({ ...alone, 'pumps.P-1.thickestOil': '46.1 mm^2/s' }, 10);
    close(sound.flows(5).pump[0], 1e-3, 1e-9);
  });

  // The same motor and pipe: in cold oil the pipe takes the pump up to its relief valve, and the motor with it.
  test('in the delivery overloads a motor that is ample in warm oil', () => {
    const pipe = {
      'pumps.P-1.line': { pipes: [{ insideDiameter: '20 mm', length: '30 m' }] },
      'pumps.P-1.ratedPower': '1.15 kW',
      'pumps.P-1.thickestOil': '100000 mm^2/s',
    };
    expect(watch({ ...alone, ...pipe }, 1500).times('P-1', 'overload relay trips')).toEqual([]);
    expect(watch({ ...alone, ...pipe, 'oil.temperature': '-5 degC' }, 1500).times('P-1', 'overload')).toHaveLength(1);
  });
});
