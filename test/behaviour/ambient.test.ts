/** Ambient temperature over a run: what the shell, the air and the compressors make of it; and the water they drain. */
import { describe, expect, test } from 'vitest';
import { R_AIR } from '../../models/air.ts';
import { condensateRatio } from '../../models/moisture.ts';
import { ambientAt } from '../../models/site.ts';
import { createUnit } from '../../models/unit.ts';
import { createEngine } from '../../sim/engine.ts';
import { watch } from '../support/baseUnit.ts';
import { close } from '../support/close.ts';
import { advanced, changed, record, scenarioOf } from '../support/recorded.ts';

const ALONE = { pumps: [], compressors: [], 'tank.dissolvedAir.model': 'none' };
const hour = 3600;
// time constant of the shell: 122 500 J/K over 20 W/K
const TAU = 6125;
const INSULATED = {
  ...ALONE,
  'tank.heat': { exchange: 'adiabatic', wallHeatCapacity: '122.5 kJ/K', ambientConductance: '20 W/K' },
};
const NIGHT = [
  { at: '1 h', temperature: '15 degC' },
  { at: '3 h', temperature: '-5 degC' },
  { at: '4 h', temperature: '-5 degC' },
  { at: '9 h', temperature: '10 degC' },
];

describe('a day', () => {
  const DAY = { mean: '12 degC', swing: '9 K', warmestAt: '15 h', runStartsAt: '9 h' };

  test('mean, swing and hour of the warmest', () => {
    const { ambient } = scenarioOf({ 'site.temperature': DAY }).plant;
    const at = (h: number) => ambientAt(ambient, h * hour) - 273.15;
    expect(at(6)).toBeCloseTo(21, 10);
    expect(at(18)).toBeCloseTo(3, 10);
    expect(at(0)).toBeCloseTo(12, 10);
    expect(at(30)).toBeCloseTo(21, 10);
  });

  test('the shell follows a first-order lag behind it, in closed form', () => {
    const times = [1, 5, 11, 23, 40].map((h) => h * hour);
    const { unit, states } = advanced({ ...INSULATED, 'site.temperature': DAY }, times);
    // tau dT/dt = mean + A cos(w (t - t_w)) - T: amplitude A cos(phi), lag phi = atan(w tau), and what is left of the
    // start (derived)
    const [mean, A, w, warmest] = [285.15, 9, (2 * Math.PI) / 86_400, 6 * hour];
    const phi = Math.atan(w * TAU);
    const lagged = (t: number) => mean + A * Math.cos(phi) * Math.cos(w * (t - warmest) - phi);
    const start = mean + A * Math.cos(w * warmest);
    states.forEach((y, i) => {
      const t = times[i];
      const wall = lagged(t) + (start - lagged(0)) * Math.exp(-t / TAU);
      expect(Math.abs(y[unit.slots.wall] - wall)).toBeLessThan(1e-4); // steps of 1e-8 of 300 K
    });
  });

  test('common practice, no source: 5.7 K of cooling reads like a fall of 3 psi at 140 psig', () => {
    const cooling = {
      ...ALONE,
      'tank.heat.exchange': 'natural convection',
      'start.pressure': '140 psig',
      'site.temperature': {
        table: [
          { at: '0 h', temperature: '20 degC' },
          { at: '6 h', temperature: '14.3 degC' },
        ],
      },
    };
    const { unit, start, end } = record(cooling, 72 * hour, hour);
    close((unit.gasPressure(start) - unit.gasPressure(end)) / 6894.757, 3, 0.02);
    const steady = record({ ...cooling, 'site.temperature': '20 degC' }, 72 * hour, hour);
    close(steady.unit.gasPressure(steady.end), unit.gasPressure(start), 1e-9);
  });
});

describe('a table', () => {
  test('the shell follows straight lines and flat ends, in closed form', () => {
    const times = [0.5, 2, 3.5, 6, 12].map((h) => h * hour);
    const { unit, states } = advanced({ ...INSULATED, 'site.temperature': { table: NIGHT } }, times);
    // on a line T_a = a + b t: T = a + b (t - tau) + what is left of the start of the line (derived)
    const knots = [0, 1, 3, 4, 9, 12].map((h) => h * hour);
    const ambient = [15, 15, -5, -5, 10, 10].map((t) => t + 273.15);
    const wallAt = (t: number) => {
      let wall = ambient[0];
      for (let k = 0; k + 1 < knots.length && knots[k] < t; k++) {
        const b = (ambient[k + 1] - ambient[k]) / (knots[k + 1] - knots[k]);
        const span = Math.min(t, knots[k + 1]) - knots[k];
        const straight = (s: number) => ambient[k] + b * (s - TAU);
        wall = straight(span) + (wall - straight(0)) * Math.exp(-span / TAU);
      }
      return wall;
    };
    states.forEach((y, i) => {
      expect(Math.abs(y[unit.slots.wall] - wallAt(times[i]))).toBeLessThan(1e-4);
    });
  });

  test('steps end where the lines meet', () => {
    const { plant } = scenarioOf({ ...INSULATED, 'site.temperature': { table: NIGHT } });
    const unit = createUnit(plant);
    const ends = new Set<number>();
    createEngine(unit).advance(unit.start(), Math.round((12 * hour) / plant.tick_s), {
      sampleTicks: 0,
      settled: (y) => ends.add(y[unit.layout.clock.tick] * plant.tick_s + y[unit.layout.clock.offset]),
    });
    for (const t of [1, 3, 4, 9]) expect([...ends]).toContain(t * hour);
    // and nowhere else for want of a reason: an adiabatic tank in a quiet night takes few steps
    expect(ends.size).toBeLessThan(60);
  });

  test('skipping quiet scans makes no difference', () => {
    const table = [
      { at: '3.04 s', temperature: '20 degC' },
      { at: '11.2 s', temperature: '-20 degC' },
      { at: '11.3 s', temperature: '40 degC' },
    ];
    const run = watch(
      { 'site.temperature': { table }, 'tank.heat.exchange': 'natural convection', 'start.level': '0.59 m' },
      30,
    );
    expect(run.running('P-1')).toBe(true);
  });

  test('points out of order are refused, and a day needs mean and swing', () => {
    const table = [NIGHT[1], NIGHT[0]];
    expect(changed({ 'site.temperature': { table } }).faults).toContain('the points must be in order of time');
    expect(changed({ 'site.temperature': { mean: '10 degC' } }).faults).toContain('swing');
    expect(changed({ 'site.temperature': { mean: '10 degC', swing: '3 K', table: NIGHT } }).faults).not.toBe('');
  });
});

describe('a fault', () => {
  test('cold by 30 K for two hours: the shell goes after it and comes back, in closed form', () => {
    const cold = { fault: 'ambient cold', byTemperature: '30 K', at: '1 h', for: '2 h' };
    const { unit, states } = advanced({ ...INSULATED, faults: [cold] }, [hour, 3 * hour, 5 * hour]);
    const [before, coldest, after] = states.map((y) => y[unit.slots.wall] - 293.15);
    // 1 - exp(-2 h/tau), then back by exp(-2 h/tau) (derived)
    const left = Math.exp((-2 * hour) / TAU);
    expect(before).toBeCloseTo(0, 9);
    expect(coldest).toBeCloseTo(-30 * (1 - left), 4);
    expect(after).toBeCloseTo(-30 * (1 - left) * left, 4);
    const hot = record({ ...INSULATED, faults: [{ ...cold, fault: 'ambient hot' }] }, 3 * hour);
    expect(hot.end[hot.unit.slots.wall] - 293.15).toBeCloseTo(30 * (1 - left), 4);
    expect(changed({ faults: [{ fault: 'ambient hot', at: '1 h' }] }).faults).toContain('needs "byTemperature"');
  });
});

describe('compressors', () => {
  test('draw in air of the density it has now, and deliver it so far above ambient', () => {
    const day = {
      table: [
        { at: '0 s', temperature: '35 degC' },
        { at: '10 h', temperature: '-15 degC' },
      ],
    };
    const { unit, states } = advanced({ 'site.temperature': day, 'compressors.0.coolerApproach': '12 K' }, [0]);
    const y = states[0];
    y[unit.panel.slots.running + 2] = 1;
    y[unit.panel.slots.loaded] = 1;
    const rate = new Float64Array(unit.layout.advanced);
    const at = (t: number) => {
      unit.derivative(t, y, rate);
      return {
        flow: rate[unit.slots.compressed],
        hot: rate[unit.layout.slots.findIndex((s) => s.name === 'air.enthalpyIn')],
      };
    };
    const [warm, cold] = [at(0), at(10 * hour)];
    // 600 L/min of free air at 101325 Pa
    close(warm.flow, (0.01 * 101_325) / (R_AIR * 308.15), 1e-12);
    close(cold.flow, (0.01 * 101_325) / (R_AIR * 258.15), 1e-12);
    const cp = 3.5 * R_AIR;
    close(warm.hot / (warm.flow * cp), 320.15, 1e-12);
    close(cold.hot / (cold.flow * cp), 270.15, 1e-12);
  });

  test('drain the water that the pressure squeezes out', () => {
    const charge = {
      'start.pressure': '7.9 barg',
      'site.relativeHumidity': '80 %',
      'compressors.0.coolerApproach': '5 K',
    };
    const { unit, start, end } = record(charge, 300, 10);
    const delivered = end[unit.slots.compressed];
    expect(delivered).toBeGreaterThan(0.5);
    const ratioAt = (y: Float64Array) => condensateRatio(0.8, 293.15, 101_325, 298.15, unit.gasPressure(y));
    const drained = end[unit.slots.condensate];
    // between what the first and the last pressure leave in the air
    expect(drained).toBeGreaterThan(delivered * ratioAt(start));
    expect(drained).toBeLessThan(delivered * ratioAt(end));
    const dry = record({ ...charge, 'site.relativeHumidity': '10 %' }, 300, 10);
    expect(dry.end[dry.unit.slots.condensate]).toBe(0);
  });
});
