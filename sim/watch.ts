/**
 * Watches: conditions of the form c + a y[A] + b y[B] >= 0 over a step. A located watch gives the instant at which it
 * becomes true; a contact gives the first scan tick at which it reads true.
 *
 * Over a step every slot is a polynomial of degree 4, hence so is a watch, and it lies in the hull of its Bernstein
 * control points (G. Farin, "Curves and Surfaces for CAGD", convex hull property; from memory). A hull that stays
 * below zero proves that nothing happens; one that touches zero is halved until single ticks are tested.
 * What is found: every crossing at a tick, even of a dip inside a step. What is missed: a dip between two ticks, which
 * a panel that reads once a scan does not see either.
 */
import type { Stepper } from './stepper.ts';
import { HULL_ROUNDING } from './tolerances.ts';

export const OFF = 0;
export const LOCATED = 1;
export const CONTACT = 2;

export interface Watches {
  readonly count: number;
  /** OFF, LOCATED or CONTACT. */
  readonly mode: Uint8Array;
  readonly slotA: Int32Array;
  /** -1 where a watch has one term only. */
  readonly slotB: Int32Array;
  readonly a: Float64Array;
  readonly b: Float64Array;
  readonly c: Float64Array;
}

export function createWatches(count: number): Watches {
  return {
    count,
    mode: new Uint8Array(count),
    slotA: new Int32Array(count),
    slotB: new Int32Array(count).fill(-1),
    a: new Float64Array(count),
    b: new Float64Array(count),
    c: new Float64Array(count),
  };
}

/** The reading of watch j in state y; the condition holds when it is >= 0. */
export function reading(w: Watches, j: number, y: Float64Array): number {
  const slotB = w.slotB[j];
  const value = w.c[j] + w.a[j] * y[w.slotA[j]];
  return slotB < 0 ? value : value + w.b[j] * y[slotB];
}

/** The reading at the fraction theta of the step: the same sum, term by term, as `reading` after moving there. */
export function readingAt(w: Watches, j: number, stepper: Stepper, y: Float64Array, theta: number): number {
  const slotB = w.slotB[j];
  const value = w.c[j] + w.a[j] * stepper.at(y, w.slotA[j], theta);
  return slotB < 0 ? value : value + w.b[j] * stepper.at(y, slotB, theta);
}

const STACK = 64;
// Control points of the pieces still to be looked at, five a piece, with the piece's ends.
const points = new Float64Array(STACK * 5);
const from = new Float64Array(STACK);
const to = new Float64Array(STACK);
const hullA = new Float64Array(5);
const hullB = new Float64Array(5);
/** Of the watch looked at; in an array, as a number that functions share would be allocated anew each time. */
const allowance = new Float64Array(1);

/**
 * Loads the control points of watch j into piece 0. Returns whether its hull touches zero, within this rounding of the
 * terms it is summed from.
 */
function load(w: Watches, j: number, stepper: Stepper, y: Float64Array, rounding: number): boolean {
  if (staysBelow(w, j, stepper, y, rounding)) return false;
  const slotB = w.slotB[j];
  const { a, b, c } = w;
  stepper.hull(y, w.slotA[j], hullA);
  let size = Math.abs(c[j]) + Math.abs(a[j] * hullA[0]) + Math.abs(a[j] * hullA[4]);
  if (slotB >= 0) {
    stepper.hull(y, slotB, hullB);
    size += Math.abs(b[j] * hullB[0]) + Math.abs(b[j] * hullB[4]);
  }
  allowance[0] = size * rounding;
  let touches = false;
  for (let i = 0; i < 5; i++) {
    const point = c[j] + a[j] * hullA[i] + (slotB >= 0 ? b[j] * hullB[i] : 0);
    points[i] = point;
    if (point >= -allowance[0]) touches = true;
  }
  return touches;
}

/**
 * Whether the bounds of its slots, which many watches share, say by themselves that the hull of a watch does not touch zero: its
 * control points are the same sums of lesser terms, and rounding keeps the order.
 */
function staysBelow(w: Watches, j: number, stepper: Stepper, y: Float64Array, rounding: number): boolean {
  const slotA = w.slotA[j];
  const slotB = w.slotB[j];
  const a = w.a[j];
  const b = w.b[j];
  const c = w.c[j];
  const { low, high } = stepper;
  stepper.bound(y, slotA);
  let most = c + a * (a > 0 ? high[slotA] : low[slotA]);
  if (slotB >= 0) {
    stepper.bound(y, slotB);
    most += b * (b > 0 ? high[slotB] : low[slotB]);
  }
  if (rounding === 0 || !(most < 0)) return most < 0;
  let size = Math.abs(c) + Math.abs(a * low[slotA]) + Math.abs(a * high[slotA]);
  if (slotB >= 0) size += Math.abs(b * low[slotB]) + Math.abs(b * high[slotB]);
  // What is allowed there is a sum of two values of each slot, each no larger than these; four times for its own rounding.
  return most < -4 * rounding * size;
}

/** Splits piece p at its middle: the right half goes to piece p, the left half on top of it as piece p + 1. */
function halve(p: number): void {
  const o = p * 5;
  const n = o + 5;
  const q0 = points[o];
  const q1 = points[o + 1];
  const q2 = points[o + 2];
  const q3 = points[o + 3];
  const q4 = points[o + 4];
  const m01 = (q0 + q1) / 2;
  const m12 = (q1 + q2) / 2;
  const m23 = (q2 + q3) / 2;
  const m34 = (q3 + q4) / 2;
  const m012 = (m01 + m12) / 2;
  const m123 = (m12 + m23) / 2;
  const m234 = (m23 + m34) / 2;
  const m0123 = (m012 + m123) / 2;
  const m1234 = (m123 + m234) / 2;
  const middle = (m0123 + m1234) / 2;
  points[n] = q0;
  points[n + 1] = m01;
  points[n + 2] = m012;
  points[n + 3] = m0123;
  points[n + 4] = middle;
  points[o] = middle;
  points[o + 1] = m1234;
  points[o + 2] = m234;
  points[o + 3] = m34;
  points[o + 4] = q4;
  const half = (from[p] + to[p]) / 2;
  from[p + 1] = from[p];
  to[p + 1] = half;
  from[p] = half;
}

function touches(p: number): boolean {
  const o = p * 5;
  for (let i = 0; i < 5; i++) if (points[o + i] >= -allowance[0]) return true;
  return false;
}

/**
 * First of the given ticks at which contact j reads true, or -1.
 * Ticks are k = first, first + stride, ... <= last; the fraction of tick k is (k * tick - start) / h.
 */
export function firstTick(
  w: Watches,
  j: number,
  stepper: Stepper,
  y: Float64Array,
  first: number,
  last: number,
  stride: number,
  fraction: (tick: number) => number,
): number {
  if (first > last || !load(w, j, stepper, y, HULL_ROUNDING)) return -1;
  // Pieces are kept in tick numbers: the left one is always on top of the stack.
  const span = (last - first) / stride;
  if (span <= 4) {
    for (let k = first; k <= last; k += stride) if (readingAt(w, j, stepper, y, fraction(k)) >= 0) return k;
    return -1;
  }
  from[0] = 0;
  to[0] = 1;
  let depth = 0;
  let next = first;
  const perTick = fraction(first + stride) - fraction(first);
  const start = fraction(first);
  while (depth >= 0) {
    if (!touches(depth)) {
      depth--;
      continue;
    }
    // Ticks that can lie in this piece, one more at each end for rounding.
    const low = Math.max(next, first + Math.floor((from[depth] - start) / perTick - 1) * stride);
    const high = Math.min(last, first + Math.ceil((to[depth] - start) / perTick + 1) * stride);
    if ((high - low) / stride <= 8 || depth + 2 >= STACK) {
      for (let k = low; k <= high; k += stride) if (readingAt(w, j, stepper, y, fraction(k)) >= 0) return k;
      next = Math.max(next, high + stride);
      depth--;
    } else {
      halve(depth);
      depth++;
    }
  }
  return -1;
}

/**
 * First fraction of the step at which located watch j becomes true, or Infinity. Assumes it is false at the start. A rise
 * above zero by rounding alone may be left to the start of the next step: with an allowance, a value that stays within
 * rounding below zero would have the whole step searched in its smallest pieces.
 */
export function firstInstant(w: Watches, j: number, stepper: Stepper, y: Float64Array): number {
  if (!load(w, j, stepper, y, 0)) return Infinity;
  from[0] = 0;
  to[0] = 1;
  let depth = 0;
  while (depth >= 0) {
    if (!touches(depth)) {
      depth--;
      continue;
    }
    const a = from[depth];
    const b = to[depth];
    const atB = readingAt(w, j, stepper, y, b);
    const o = depth * 5;
    // A piece whose control points rise throughout crosses at most once: finish it by bisection and secants.
    let rises = true;
    for (let i = 0; i < 4; i++) if (points[o + i + 1] < points[o + i]) rises = false;
    if (rises || b - a < 1e-9 || depth + 2 >= STACK) {
      if (atB >= 0) {
        const atA = readingAt(w, j, stepper, y, a);
        return atA >= 0 ? a : crossing((theta) => readingAt(w, j, stepper, y, theta), a, atA, b, atB);
      }
      depth--;
    } else {
      halve(depth);
      depth++;
    }
  }
  return Infinity;
}

/**
 * The first theta found with f(theta) >= 0 between a (f < 0) and b (f >= 0), to 1e-15: Illinois false position with
 * bisection whenever it stalls.
 */
export function crossing(f: (theta: number) => number, a: number, fa: number, b: number, fb: number): number {
  let side = 0;
  for (let i = 0; i < 200 && b - a > 1e-15; i++) {
    let middle = i % 8 === 7 ? (a + b) / 2 : (a * fb - b * fa) / (fb - fa);
    if (!(middle > a && middle < b)) middle = (a + b) / 2;
    if (middle <= a || middle >= b) break;
    const value = f(middle);
    if (value >= 0) {
      b = middle;
      fb = value;
      if (side === 1) fa /= 2;
      side = 1;
    } else {
      a = middle;
      fa = value;
      if (side === -1) fb /= 2;
      side = -1;
    }
    if (value === 0) break;
  }
  return b;
}
