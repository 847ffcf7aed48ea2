/**
 * The order of the integrator, seen in how fast its errors fall with the step. y1' = -y1^2, y2' = y3, y3' = -y2 with
 * y = (1, 0, 1) at 0: y1 = 1/(1 + t), y2 = sin t, y3 = cos t; y4' = 2 y2 y3 feeds nothing back: y4 = sin^2 t.
 * A wrong digit in any coefficient loses an order.
 */
import { describe, expect, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { createUnit, type Unit } from '../../models/unit.ts';
import { formatFaults, loadScenario } from '../../scenarios/index.ts';
import { createEngine } from '../../sim/engine.ts';
import { layoutBuilder, newState } from '../../sim/layout.ts';
import { createStepper } from '../../sim/stepper.ts';
import { NOTHING, PHYSICS, type System } from '../../sim/system.ts';
import { createWatches } from '../../sim/watch.ts';

const b = layoutBuilder();
for (const name of ['y1', 'y2', 'y3']) b.integrated({ name, unit: '1', min: -2, max: 2, scale: 1 });
b.total('y4', '1');
const layout = b.build();
const derivative = (_: number, y: Float64Array, rate: Float64Array): void => {
  rate[0] = -y[0] * y[0];
  rate[1] = y[2];
  rate[2] = -y[1];
  rate[3] = 2 * y[1] * y[2];
};
const system: System = {
  layout,
  tick_s: 1,
  scanTicks: 1,
  derivative,
  outputs: new Float64Array(0),
  watches: createWatches(0),
  probes: new Float64Array(0),
  probing: new Uint8Array(0),
  arm() {},
  probe() {},
  happen: () => PHYSICS,
  atTick: () => NOTHING,
  nextDue: () => Infinity,
};
const start = (): Float64Array => {
  const y = newState(layout);
  y[0] = 1;
  y[2] = 1;
  return y;
};
const exact = (t: number) => [1 / (1 + t), Math.sin(t), Math.cos(t), Math.sin(t) ** 2];
const error = (y: ArrayLike<number>, t: number) => Math.max(...exact(t).map((x, i) => Math.abs(y[i] - x)));
/** Slopes of log error over log step, from one step to its half. */
const slopes = (errors: readonly number[]) => errors.slice(1).map((e, i) => Math.log2(errors[i] / e));

test('a run at a fixed step has order 5', () => {
  const errors = [40, 80, 160, 320].map((steps) => {
    const y = start();
    createEngine(system, { fixedStep_s: 4 / steps }).advance(y, 4, { sampleTicks: 0 });
    return error(y, 4);
  });
  for (const slope of slopes(errors)) expect(Math.abs(slope - 5)).toBeLessThan(0.25);
});

test('the continuous extension has order 4: inside one step its error falls with the fifth power', () => {
  const errors = [0.2, 0.1, 0.05, 0.025].map((h) => {
    const stepper = createStepper(layout, derivative, 1e-8);
    const y = start();
    stepper.begin(0, y);
    stepper.attempt(0, y, h, h);
    stepper.prepareDense();
    const worst: number[] = [];
    for (let k = 1; k < 16; k++) {
      const at = [0, 1, 2, 3].map((i) => stepper.at(y, i, k / 16));
      worst.push(error(at, (k / 16) * h));
    }
    return Math.max(...worst);
  });
  for (const slope of slopes(errors)) expect(Math.abs(slope - 5)).toBeLessThan(0.25);
});

test('with error control the error at the end follows the error allowed per step', () => {
  const errors = [1e-6, 1e-8, 1e-10].map((relativeStepError) => {
    const y = start();
    createEngine(system, { relativeStepError }).advance(y, 4, { sampleTicks: 0 });
    return error(y, 4) / relativeStepError;
  });
  // Some ten to forty steps of at most 1.1 times the allowance each, on a problem that magnifies nothing.
  for (const e of errors) expect(e).toBeLessThan(50);
});

/**
 * A unit that stands through a day and a half: shell and air follow the ambient temperature, both with hours of delay, and
 * a little oil and air leak away. Nothing bends, and steps of an hour and less have errors far from rounding. Against the
 * same at steps of a minute; that the limit is the right one is for test/engine.
 */
describe('a unit at a fixed step', () => {
  const HOUR_s = 3600;
  const TICK_s = 0.01;
  const standing = (from: string, air: string, wall: string, more: object): Unit => {
    const file = {
      site: {
        barometer: '1 bara',
        temperature: { mean: '290 K', swing: '12 K', warmestAt: '15 h', runStartsAt: from },
      },
      oil: { grade: 46, temperature: '290 K' },
      tank: {
        volume: '1 m^3',
        dissolvedAir: { model: 'none' },
        heat: {
          exchange: 'time constant',
          timeConstant: '4 h',
          wallHeatCapacity: '4e6 J/K',
          ambientConductance: '300 W/K',
        },
      },
      sump: { capacity: '2 m^3', depth: '1 m' },
      start: { pressure: '10 barg', oil: '0.6 m^3', airTemperature: air, wallTemperature: wall },
      run: { duration: '40 h' },
      ...more,
    };
    const loaded = loadScenario(JSON.stringify(file), { file: 'standing' });
    if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
    return createUnit(loaded.scenario.plant);
  };
  /** Errors between 1e-4 and 1e-10 fall with the fifth power of the step, to a quarter in the exponent. */
  const expectFifth = (steps: readonly number[], errors: readonly number[]) => {
    for (let i = 0; i < errors.length; i++) {
      expect(errors[i]).toBeLessThan(1e-4);
      expect(errors[i]).toBeGreaterThan(1e-11);
      if (i === 0) continue;
      const order = Math.log(errors[i - 1] / errors[i]) / Math.log(steps[i] / steps[i - 1]);
      expect(Math.abs(order - 5), `order ${order} at ${steps[i]} steps`).toBeLessThan(0.25);
    }
  };

  test('its state has order 5', () => {
    const unit = standing('6 h', '290 K', '285 K', {
      leaks: { oil: { flow: '0.05 L/min', at: '8 barg' }, air: { fall: '3 kPa/h', at: '8 barg' } },
    });
    const end_s = 36 * HOUR_s;
    const endOf = (steps: number) => {
      const y = unit.start();
      createEngine(unit, { fixedStep_s: end_s / steps }).advance(y, end_s / TICK_s, { sampleTicks: 0 });
      return y;
    };
    const limit = endOf(2160);
    const steps = [24, 36, 48, 72];
    const ends = steps.map(endOf);
    for (const name of ['air.energy', 'shell.temperature']) {
      const slot = unit.layout.slots.findIndex((s) => s.name === name);
      expectFifth(
        steps,
        ends.map((y) => Math.abs(y[slot] / limit[slot] - 1)),
      );
    }
  });

  // The continuous extension has order 4, so inside a step its error falls with the fifth power too. The instant lies in
  // the middle of a step each time: elsewhere in the step the extension is off by another amount.
  test('the instant at which the safety valve opens in the next morning has order 5', () => {
    const unit = standing('16 h', '287 K', '287 K', {
      safetyValve: { set: '10.2 barg', reseat: '10.1 barg', fullLift: '10.3 barg', bore: '10 mm' },
    });
    const opensAt = (fixedStep_s: number, until_s: number) => {
      const y = unit.start();
      const { tick, offset } = unit.layout.clock;
      let at = Number.NaN;
      createEngine(unit, { fixedStep_s }).advance(y, Math.round(until_s / TICK_s), {
        sampleTicks: 0,
        event(state, code) {
          if (code === EventCode.safetyValveOpen && Number.isNaN(at)) at = state[tick] * TICK_s + state[offset];
        },
      });
      return at;
    };
    const limit_s = opensAt(60, 25 * HOUR_s);
    expect(limit_s / HOUR_s).toBeCloseTo(24.57, 2);
    const steps = [36, 48, 72, 96].map((n) => n + 0.5);
    expectFifth(
      steps,
      steps.map((n) => Math.abs(opensAt(limit_s / n, limit_s + 60) / limit_s - 1)),
    );
  });
});

test('compensated summation: a hundred thousand tenths make ten thousand', () => {
  const tenths = layoutBuilder();
  tenths.integrated({ name: 'y', unit: '1', min: 0, max: 1e6, scale: 1 });
  const one = tenths.build();
  const stepper = createStepper(one, (_time, _y, rate) => rate.fill(0.1), 1e-8);
  const y = newState(one);
  for (let k = 0; k < 100_000; k++) {
    stepper.begin(k, y);
    stepper.attempt(k, y, 1, k + 1);
    stepper.prepareDense();
    stepper.moveTo(y, 1);
  }
  // Added up plainly they come to 2e-12 of it less or more; each tenth itself is right to some 1e-16.
  expect(Math.abs(y[0] / 10_000 - 1)).toBeLessThan(1e-15);
});
