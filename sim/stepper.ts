/**
 * One step of an embedded Runge-Kutta pair of order 5(4) with a continuous extension of order 4.
 *
 * Coefficients: J. R. Dormand and P. J. Prince, "A family of embedded Runge-Kutta formulae", J. Comp. Appl. Math. 6
 * (1980) 19-26; continuous extension: E. Hairer, S. P. Norsett, G. Wanner, "Solving Ordinary Differential Equations I",
 * section II.6 (both from memory; the order tests would fail on a wrong digit).
 *
 * Every component gets the same weights, so whatever linear combination the right-hand side conserves, the step and
 * its continuous extension conserve too, to rounding. Not modelled: stiffness detection.
 */
import type { Layout } from './layout.ts';

/** Right-hand side: a pure function of time [s] and state. Writes the rate of every advanced slot. */
export type Derivative = (time_s: number, y: Float64Array, rate: Float64Array) => void;

export interface Stepper {
  /** Rates at the start (k1) and at the end (k7) of the step last taken. */
  readonly first: Float64Array;
  readonly last: Float64Array;
  /** The state at the end of the step last taken, integrated and discrete slots only (no totals). */
  readonly end: Float64Array;
  /** Takes the scales of the slots anew. */
  refit(): void;
  /** Evaluates the rates at the start of a step into `first`. */
  begin(time_s: number, y: Float64Array): void;
  /** Uses the end rates of the last step as the start rates of the next. */
  continue(): void;
  /** Tries a step from y and returns its error norm: <= 1 means acceptable. Leaves y alone. */
  attempt(time_s: number, y: Float64Array, h_s: number, end_s: number): number;
  /** Prepares the continuous extension of the step just tried; needed before anything below. */
  prepareDense(): void;
  /** Slot i at the fraction theta of the step, exactly the number `moveTo` would store. */
  at(y: Float64Array, slot: number, theta: number): number;
  /** Bernstein control points 0..4 of slot i over the step, written to out. */
  hull(y: Float64Array, slot: number, out: Float64Array): void;
  /** Least and greatest of those, found once a step: see `bound`. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** Makes `low` and `high` of the slot those of this step. */
  bound(y: Float64Array, slot: number): void;
  /** Moves the state to the fraction theta of the step with compensated summation. */
  moveTo(y: Float64Array, theta: number): void;
  /** Writes to out what `moveTo` would make of the state; other slots are copied. */
  copyAt(y: Float64Array, theta: number, out: Float64Array): void;
}

const [C2, C3, C4, C5] = [1 / 5, 3 / 10, 4 / 5, 8 / 9];
const A21 = 1 / 5;
const [A31, A32] = [3 / 40, 9 / 40];
const [A41, A42, A43] = [44 / 45, -56 / 15, 32 / 9];
const [A51, A52, A53, A54] = [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729];
const [A61, A62, A63, A64, A65] = [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656];
const [B1, B3, B4, B5, B6] = [35 / 384, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84];
const [E1, E3, E4, E5, E6, E7] = [71 / 57600, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40];
const D1 = -12715105075 / 11282082432;
const D3 = 87487479700 / 32700410799;
const D4 = -10690763975 / 1880347072;
const D5 = 701980252875 / 199316789632;
const D6 = -1453857185 / 822651844;
const D7 = 69997945 / 29380423;

// What is done to all slots, on arrays handed over. Inside a stepper the same loops take four times as long once there are
// two of them: what an inner function shares with its maker is then looked up and checked for every slot.
type A = Float64Array;

function stage2(to: A, y: A, h: number, n: number, k1: A): void {
  for (let i = 0; i < n; i++) to[i] = y[i] + h * A21 * k1[i];
}
function stage3(to: A, y: A, h: number, n: number, k1: A, k2: A): void {
  for (let i = 0; i < n; i++) to[i] = y[i] + h * (A31 * k1[i] + A32 * k2[i]);
}
function stage4(to: A, y: A, h: number, n: number, k1: A, k2: A, k3: A): void {
  for (let i = 0; i < n; i++) to[i] = y[i] + h * (A41 * k1[i] + A42 * k2[i] + A43 * k3[i]);
}
function stage5(to: A, y: A, h: number, n: number, k1: A, k2: A, k3: A, k4: A): void {
  for (let i = 0; i < n; i++) to[i] = y[i] + h * (A51 * k1[i] + A52 * k2[i] + A53 * k3[i] + A54 * k4[i]);
}
function stage6(to: A, y: A, h: number, n: number, k1: A, k2: A, k3: A, k4: A, k5: A): void {
  for (let i = 0; i < n; i++) {
    to[i] = y[i] + h * (A61 * k1[i] + A62 * k2[i] + A63 * k3[i] + A64 * k4[i] + A65 * k5[i]);
  }
}

/** By how much a step moves slots `from` up to `to`. */
function increments(into: A, h: number, from: number, to: number, k1: A, k3: A, k4: A, k5: A, k6: A): void {
  for (let i = from; i < to; i++) into[i] = h * (B1 * k1[i] + B3 * k3[i] + B4 * k4[i] + B5 * k5[i] + B6 * k6[i]);
}

/** Where those slots come to. */
function arrive(end: A, y: A, n: number, rounding: number, r2: A): void {
  for (let i = 0; i < n; i++) end[i] = y[i] + (r2[i] - y[rounding + i]);
}

/** Difference to the embedded formula, into `error`. */
function differ(error: A, h: number, n: number, k1: A, k3: A, k4: A, k5: A, k6: A, k7: A): void {
  for (let i = 0; i < n; i++) {
    error[i] = h * (E1 * k1[i] + E3 * k3[i] + E4 * k4[i] + E5 * k5[i] + E6 * k6[i] + E7 * k7[i]);
  }
}

/** The largest of the errors, each over what is allowed to its slot. */
function norm(error: A, y: A, end: A, n: number, absolute: A, relative: number): number {
  let worst = 0;
  for (let i = 0; i < n; i++) {
    const a = Math.abs(y[i]);
    const b = Math.abs(end[i]);
    const ratio = Math.abs(error[i]) / (absolute[i] + relative * (a > b ? a : b));
    // A trial step so long that its stages make no sense must not pass for a good one.
    if (!(ratio < Infinity)) return Infinity;
    if (ratio > worst) worst = ratio;
  }
  return worst;
}

/** The two coefficients of the continuous extension that curvature at both ends gives. */
function bends(r3: A, r4: A, h: number, from: number, to: number, r2: A, k1: A, k7: A): void {
  for (let i = from; i < to; i++) {
    const bend = h * k1[i] - r2[i];
    r3[i] = bend;
    r4[i] = r2[i] - h * k7[i] - bend;
  }
}
/** The last one. */
function twists(r5: A, h: number, from: number, to: number, k1: A, k3: A, k4: A, k5: A, k6: A, k7: A): void {
  for (let i = from; i < to; i++) {
    r5[i] = h * (D1 * k1[i] + D3 * k3[i] + D4 * k4[i] + D5 * k5[i] + D6 * k6[i] + D7 * k7[i]);
  }
}

/** Adds what a slot moves by, less what it still owes, and keeps what rounding takes of that. */
function add(y: A, i: number, rounding: number, increment: number): void {
  const before = y[i];
  const after = before + increment;
  y[rounding + i] = after - before - increment;
  y[i] = after;
}
function addWhole(y: A, n: number, rounding: number, r2: A): void {
  for (let i = 0; i < n; i++) add(y, i, rounding, r2[i] - y[rounding + i]);
}
function addPart(y: A, theta: number, n: number, rounding: number, r2: A, r3: A, r4: A, r5: A): void {
  const rest = 1 - theta;
  for (let i = 0; i < n; i++) {
    add(y, i, rounding, theta * (r2[i] + rest * (r3[i] + theta * (r4[i] + rest * r5[i]))) - y[rounding + i]);
  }
}

/** A stepper for states of this layout. Allocates here and never again. */
export function createStepper(layout: Layout, derivative: Derivative, relativeError: number): Stepper {
  const { integrated, advanced, rounding, size } = layout;
  const k1 = new Float64Array(advanced);
  const k2 = new Float64Array(advanced);
  const k3 = new Float64Array(advanced);
  const k4 = new Float64Array(advanced);
  const k5 = new Float64Array(advanced);
  const k6 = new Float64Array(advanced);
  const k7 = new Float64Array(advanced);
  const stage = new Float64Array(size);
  // Continuous extension: y(theta) = y0 + theta (r2 + (1-theta) (r3 + theta (r4 + (1-theta) r5))).
  const r2 = new Float64Array(advanced);
  const r3 = new Float64Array(advanced);
  const r4 = new Float64Array(advanced);
  const r5 = new Float64Array(advanced);
  const error = new Float64Array(integrated);
  const absolute = new Float64Array(integrated);
  const low = new Float64Array(advanced);
  const high = new Float64Array(advanced);
  const bounded = new Uint8Array(advanced);
  const control = new Float64Array(5);
  let step = 0;
  /** Slots up to this one have their continuous extension; totals get theirs when it is asked for. */
  let extended = 0;

  function refit(): void {
    for (let i = 0; i < integrated; i++) absolute[i] = layout.slots[i].scale * relativeError * 0.1;
  }
  refit();

  function extend(from: number, to: number): void {
    bends(r3, r4, step, from, to, r2, k1, k7);
    twists(r5, step, from, to, k1, k3, k4, k5, k6, k7);
    extended = to;
  }

  function moveTo(y: Float64Array, theta: number): void {
    if (theta === 1) {
      addWhole(y, advanced, rounding, r2);
      return;
    }
    if (extended < advanced) extend(extended, advanced);
    addPart(y, theta, advanced, rounding, r2, r3, r4, r5);
  }

  function hull(y: Float64Array, i: number, out: Float64Array): void {
    if (i >= extended) extend(extended, advanced);
    const y0 = y[i];
    out[0] = y0;
    out[1] = y0 + (r2[i] + r3[i]) / 4;
    out[2] = y0 + r2[i] / 2 + r3[i] / 3 + (r4[i] + r5[i]) / 6;
    out[3] = y0 + (3 * r2[i] + r3[i] + r4[i]) / 4;
    out[4] = y0 + r2[i];
  }

  function bound(y: Float64Array, i: number): void {
    if (bounded[i] === 1) return;
    bounded[i] = 1;
    hull(y, i, control);
    let least = control[0];
    let greatest = control[0];
    for (let k = 1; k < 5; k++) {
      if (control[k] < least) least = control[k];
      if (control[k] > greatest) greatest = control[k];
    }
    low[i] = least;
    high[i] = greatest;
  }

  return {
    low,
    high,
    bound,
    hull,
    first: k1,
    last: k7,
    end: stage,
    refit,

    begin(time, y) {
      derivative(time, y, k1);
    },

    continue() {
      k1.set(k7);
    },

    attempt(time, y, h, end) {
      const n = integrated;
      step = h;
      stage.set(y);
      stage2(stage, y, h, n, k1);
      derivative(time + C2 * h, stage, k2);
      stage3(stage, y, h, n, k1, k2);
      derivative(time + C3 * h, stage, k3);
      stage4(stage, y, h, n, k1, k2, k3);
      derivative(time + C4 * h, stage, k4);
      stage5(stage, y, h, n, k1, k2, k3, k4);
      derivative(time + C5 * h, stage, k5);
      stage6(stage, y, h, n, k1, k2, k3, k4, k5);
      derivative(end, stage, k6);
      increments(r2, h, 0, n, k1, k3, k4, k5, k6);
      arrive(stage, y, n, rounding, r2);
      derivative(end, stage, k7);
      differ(error, h, n, k1, k3, k4, k5, k6, k7);
      return norm(error, y, stage, n, absolute, relativeError);
    },

    prepareDense() {
      increments(r2, step, integrated, advanced, k1, k3, k4, k5, k6);
      extend(0, integrated);
      bounded.fill(0);
    },

    at(y, i, theta) {
      if (i >= extended) extend(extended, advanced);
      const rest = 1 - theta;
      return y[i] + (theta * (r2[i] + rest * (r3[i] + theta * (r4[i] + rest * r5[i]))) - y[rounding + i]);
    },

    moveTo,

    copyAt(y, theta, out) {
      out.set(y);
      moveTo(out, theta);
    },
  };
}
