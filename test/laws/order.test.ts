/**
 * The order of the integrator, seen in how fast its errors fall with the step. y1' = -y1^2, y2' = y3, y3' = -y2 with
 * y = (1, 0, 1) at 0: y1 = 1/(1 + t), y2 = sin t, y3 = cos t; y4' = 2 y2 y3 feeds nothing back: y4 = sin^2 t.
 * A wrong digit in any coefficient loses an order.
 */
import { expect, test } from 'vitest';
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
