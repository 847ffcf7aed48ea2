/**
 * Pumps and compressors as the panel runs them: run-up, unloaded start, dry suction, a shut delivery. A pump gives 1 L/s
 * here, which the tests take from the scenario, not from the code. Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { type Changes, expectPassed, valve, watch } from '../support/baseUnit.ts';
import { close } from '../support/close.ts';

const alone: Changes = { compressors: [], 'start.level': '0.55 m' };

describe('run-up', () => {
  // Flip: full flow from the start.
  test('the flow of a pump rises in a straight line', () => {
    const w = watch({ ...alone, 'pumps.P-1.runUp': '4 s' }, 10);
    close(w.flows(1).pump[0], 0.25e-3, 1e-9);
    close(w.flows(3).pump[0], 0.75e-3, 1e-9);
    close(w.flows(4).pump[0], 1e-3, 1e-9);
    // Half of the full flow over the ramp: 2 L, and 6 L after it. The solution is a polynomial, so only rounding is left.
    close(w.slot('P-1.pumped', 4), 2e-3, 1e-9);
    close(w.slot('P-1.pumped', 10), 8e-3, 1e-9);
  });

  // Flip: the speed of a found machine rises anew.
  test('a machine found running is at full speed', () => {
    const w = watch({ ...alone, 'start.level': '0.65 m', 'pumps.P-1.runUp': '4 s', 'start.running': ['P-1'] }, 5);
    close(w.slot('P-1.pumped'), 5e-3, 1e-9);
  });

  // Flip: the pump runs on after the mains are gone.
  test('and is lost at once', () => {
    const w = watch({ ...alone, 'pumps.P-1.runUp': '4 s', 'power.lostAt': '10 s' }, 20);
    expect(w.slot('P-1.pumped')).toBe(w.slot('P-1.pumped', 10));
  });
});

describe('unloaded start', () => {
  // Flip: the compressor delivers from the start.
  test('air is delivered only afterwards', () => {
    const w = watch(
      { 'start.level': '0.75 m', 'start.pressure': '7.5 barg', 'compressors.C-1.unloadedStart': '4 s' },
      10,
    );
    expect(w.first('C-1', 'starts')).toBe(0);
    expect(w.slot('C-1.delivered', 4)).toBe(0);
    // 10 L/s of free air at 20 degC and 101325 Pa for 6 s, R = 287.0528 J/(kg K): 0.0722 kg.
    close(w.slot('C-1.delivered'), (0.06 * 101325) / (287.0528 * 293.15), 1e-9);
  });
});

describe('suction', () => {
  // A sump of 0.1 m2: the pump lowers it by 1 mm/s, a stroke of the valve brings back about 50 mm.
  const small: Changes = {
    ...alone,
    sump: { capacity: '0.1 m^3', depth: '1 m', suctionLevel: '0.1 m' },
    'start.sumpLevel': '0.105 m',
    pumps: [
      {
        tag: 'P-1',
        ratedFlow: '6 L/min',
        slip: '0 %',
        relief: { cracking: '13 barg', fullFlow: '14 barg' },
        runUp: '0 s',
      },
    ],
    valves: [valve()],
    actions: [{ at: '10 s', do: 'close valve', item: 'V-1' }],
  };
  const inSump = (w: { slot: (name: string, t?: number) => number }) => (t: number) => w.slot('sump.oil', t) / 0.1;

  // Flip: the sump never runs dry; it primes at the level at which it lost suction.
  test('a pump runs dry at the suction and primes 20 mm higher', () => {
    const w = watch(small, 30);
    const dry = w.first('SU-1', 'level at the suction');
    // 5 mm at 1 mm/s.
    expect(dry).toBeCloseTo(5, 9);
    expect(w.flows(8).pump[0]).toBe(0);
    expect(w.flows(8).relief[0]).toBe(0);
    expect(w.running('P-1', 8)).toBe(true);
    const primed = w.first('SU-1', 'pumps primed again');
    const scan = Math.ceil(primed * 10) / 10;
    expectPassed(inSump(w), scan, 0.12);
    close(w.flows(scan).pump[0], 1e-4, 1e-9);
  });
});

describe('shut delivery', () => {
  // Flip: the isolation valve lets oil through.
  test('a pump dead-headed on its relief moves no oil and takes power', () => {
    const w = watch({ ...alone, 'pumps.P-1.isolation': 'shut' }, 10);
    const { pump, relief } = w.flows(5);
    expect(pump[0]).toBe(0);
    close(relief[0], 1e-3, 1e-9);
    expect(w.level()).toBe(w.level(0));
    // The relief passes the whole flow at 14 bar: 14e5 Pa x 1 L/s/0.85 for 10 s.
    close(w.slot('P-1.work'), (14e5 * 1e-3 * 10) / 0.85, 1e-9);
  });

  // Flip: the relief valve stays shut.
  test('a relief set under the tank pressure takes the whole flow', () => {
    const low = {
      relief: { cracking: '6 barg', fullFlow: '6.5 barg' },
      tag: 'P-1',
      ratedFlow: '60 L/min',
      slip: '0 %',
      runUp: '0 s',
    };
    const w = watch({ ...alone, pumps: [low] }, 10);
    expect(w.flows(5).pump[0]).toBe(0);
    close(w.flows(5).relief[0], 1e-3, 1e-9);
  });
});

describe('a compressor against its own relief valve', () => {
  const N = 1.3;
  /** Of 10 L/s of free air at 101325 Pa compressed to a gauge pressure, in W: n/(n - 1) p Q (r^((n - 1)/n) - 1)/75 %. */
  const shaft = (barg: number) => ((N / (N - 1)) * 101_325 * 0.01 * ((1 + barg / 1.01325) ** ((N - 1) / N) - 1)) / 0.75;
  const air: Changes = { 'start.level': '0.75 m', 'start.pressure': '7.5 barg' };
  const shut: Changes = { ...air, 'compressors.C-1.isolation': 'shut' };

  // Flip: it runs without power.
  test('behind a shut isolation valve takes the power of that pressure and delivers nothing', () => {
    const w = watch({ ...shut, 'compressors.C-1.relief': '12 barg' }, 10);
    expect(w.running('C-1', 5)).toBe(true);
    expect(w.flows(5).air[0]).toBe(0);
    expect(w.slot('C-1.delivered')).toBe(0);
    expect(w.pressure()).toBe(w.pressure(0));
    close(w.slot('C-1.work'), shaft(12) * 10, 1e-9);
    // The power is 10 % over that at 9.5 barg on a motor rated so, and its relay heats towards (0.4 + 0.6 x load)^2.
    const heat = (0.4 + (0.6 * shaft(12)) / shaft(9.5)) ** 2 * (1 - Math.exp(-10 / 386.97));
    const rated = watch(
      { ...shut, 'compressors.C-1.relief': '12 barg', 'compressors.C-1.ratedPower': `${shaft(9.5)} W` },
      10,
    );
    close(rated.slot('C-1.relayHeat'), heat, 1e-4);
  });

  // Flip: the air is blown off while it starts unloaded.
  test('takes none while it starts unloaded', () => {
    const w = watch({ ...shut, 'compressors.C-1.relief': '12 barg', 'compressors.C-1.unloadedStart': '4 s' }, 10);
    close(w.slot('C-1.work'), shaft(12) * 6, 1e-9);
  });

  test.each<[string, Changes, number]>([
    // The high-high pressure of 12 barg is the highest setting.
    ['the highest setting', {}, 13.2],
    ['the design pressure', { 'tank.designPressure': '14 barg' }, 15.4],
  ])('is set 10 %% over %s where nothing is given', (_, more, barg) => {
    close(watch({ ...shut, ...more }, 10).slot('C-1.work'), shaft(barg) * 10, 1e-9);
  });

  // It opens at 7.6 barg, 5 % under 8: from there on the less goes into the tank the nearer that is to 8.
  test('never brings the tank over it', () => {
    const w = watch({ ...air, 'compressors.C-1.relief': '8 barg', 'compressors.C-2.selector': 'off' }, 300);
    expect(w.running('C-1')).toBe(true);
    expect(w.pressure()).toBeGreaterThan(7.99);
    expect(w.pressure()).toBeLessThan(8);
    const sound = (101_325 * 0.01) / (287.0528 * 293.15);
    for (const t of [1, 20, 60]) {
      const share = Math.min(1, (8 - w.pressure(t)) / 0.4);
      close(w.flows(t).air[0], sound * share, 1e-9);
    }
    expect(w.pressure(60)).toBeGreaterThan(7.6);
  });

  test('with more than that in the tank blows all off', () => {
    const w = watch({ ...air, 'compressors.C-1.relief': '7 barg' }, 10);
    expect(w.slot('C-1.delivered')).toBe(0);
    close(w.slot('C-1.work'), shaft(7) * 10, 1e-9);
  });
});

describe('times are ticks', () => {
  // Flip: the time is rounded down.
  test('a machine has the stated time to be proven, to the first scan at or after it', () => {
    const blocked = {
      ...alone,
      actions: [{ at: '0 s', do: 'block start', item: 'P-1' }],
      'panel.provenWithin': '1.23 s',
    };
    expect(watch(blocked, 5).first('P-1', 'not proven')).toBe(1.3);
    expect(watch({ ...blocked, 'clock.scanTicks': '5' }, 5).first('P-1', 'not proven')).toBe(1.5);
  });

  test('what happens between two scans is seen at the next', () => {
    // Flip: actions are seen at the scan before.
    const off = { ...alone, 'clock.scanTicks': '5', actions: [{ at: '3.1 s', do: 'set to off', item: 'P-1' }] };
    expect(watch(off, 10).first('P-1', 'stops')).toBe(3.5);
  });
});
