/**
 * Watches over a step whose slots are polynomials of degree 4 with known roots: the instant found is the first at which
 * the polynomial rises through zero, the tick found is the first at which it reads true when every tick is tried.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Stepper } from '../../sim/stepper.ts';
import {
  CONTACT,
  createWatches,
  crossing,
  firstInstant,
  firstTick,
  LOCATED,
  OFF,
  reading,
  readingAt,
  type Watches,
} from '../../sim/watch.ts';

type Power = readonly number[];
const evaluated = (p: Power, t: number) => p.reduceRight((sum, k) => sum * t + k, 0);
const binomial = (n: number, k: number): number => (k === 0 ? 1 : (binomial(n - 1, k - 1) * n) / k);
/** Bernstein control points of degree 4: b_i = sum over j <= i of C(i,j)/C(4,j) a_j. */
const bernstein = (p: Power) =>
  [0, 1, 2, 3, 4].map((i) => p.reduce((sum, a, j) => (j > i ? sum : sum + (binomial(i, j) / binomial(4, j)) * a), 0));
/** The product of (t - root). */
function fromRoots(roots: readonly number[]): number[] {
  let p = [1];
  for (const root of roots) p = Array.from({ length: p.length + 1 }, (_, i) => (p[i - 1] ?? 0) - root * (p[i] ?? 0));
  return p;
}

let asked = 0;
/** A step over which slot i is the i-th polynomial. */
function stepOf(...slots: Power[]): { stepper: Stepper; y: Float64Array } {
  const low = slots.map((p) => Math.min(...bernstein(p)));
  const high = slots.map((p) => Math.max(...bernstein(p)));
  const stepper = {
    low,
    high,
    bound: () => {},
    at: (_y: Float64Array, i: number, theta: number) => {
      asked++;
      return evaluated(slots[i], theta);
    },
    hull: (_y: Float64Array, i: number, out: Float64Array) => out.set(bernstein(slots[i])),
  } as unknown as Stepper;
  return { stepper, y: Float64Array.from(slots, (p) => evaluated(p, 0)) };
}
function watchOn(mode: number, a: number, c: number, b?: number): Watches {
  const w = createWatches(1);
  w.mode[0] = mode;
  w.a[0] = a;
  w.c[0] = c;
  if (b === undefined) return w;
  w.slotB[0] = 1;
  w.b[0] = b;
  return w;
}

describe('readings', () => {
  test('a fresh watch is off and has one term', () => {
    const w = createWatches(3);
    expect([...w.mode]).toEqual([OFF, OFF, OFF]);
    expect([...w.slotB]).toEqual([-1, -1, -1]);
    expect(w.count).toBe(3);
  });
  test('are c + a y[A] + b y[B], in a state and inside a step', () => {
    const { stepper, y } = stepOf([2, 1], [5, -4]);
    expect(reading(watchOn(LOCATED, 3, 1), 0, y)).toBe(1 + 3 * 2);
    expect(reading(watchOn(LOCATED, 3, 1, -2), 0, y)).toBe(1 + 3 * 2 - 2 * 5);
    expect(readingAt(watchOn(LOCATED, 3, 1), 0, stepper, y, 0.5)).toBe(1 + 3 * 2.5);
    // Any slot may be the second, the very first one too.
    const turned = watchOn(LOCATED, 3, 1, -2);
    turned.slotA[0] = 1;
    turned.slotB[0] = 0;
    expect(reading(turned, 0, y)).toBe(1 + 3 * 5 - 2 * 2);
    expect(readingAt(turned, 0, stepper, y, 0.5)).toBe(1 + 3 * 3 - 2 * 2.5);
    expect(new Set([OFF, LOCATED, CONTACT]).size).toBe(3);
    expect(readingAt(watchOn(LOCATED, 3, 1, -2), 0, stepper, y, 0.5)).toBe(1 + 3 * 2.5 - 2 * 3);
  });
});

describe('instants', () => {
  test('in one term or two; never where it stays below zero; at the very end', () => {
    const straight = stepOf([-1, 2]);
    expect(firstInstant(watchOn(LOCATED, 1, 0), 0, straight.stepper, straight.y)).toBeCloseTo(0.5, 14);
    expect(firstInstant(watchOn(LOCATED, 1, -0.5), 0, straight.stepper, straight.y)).toBeCloseTo(0.75, 14);
    expect(firstInstant(watchOn(LOCATED, 1, -1), 0, straight.stepper, straight.y)).toBe(1);
    expect(firstInstant(watchOn(LOCATED, 1, -1.001), 0, straight.stepper, straight.y)).toBe(Infinity);
    expect(firstInstant(watchOn(LOCATED, -1, -1.5), 0, straight.stepper, straight.y)).toBe(Infinity);
    // 3 (2 t - 1) - 2 (1 - t) = 8 t - 5
    const pair = stepOf([-1, 2], [1, -1]);
    expect(firstInstant(watchOn(LOCATED, 3, 0, -2), 0, pair.stepper, pair.y)).toBeCloseTo(5 / 8, 14);
  });

  test('the first of several: rises, falls, rises', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 1, max: 199 }), { minLength: 1, maxLength: 4 }),
        fc.constantFrom(1e-6, 1, 1e6),
        (places, size) => {
          const roots = places.map((k) => k / 200).sort((x, y) => x - y);
          const p = fromRoots(roots);
          const sign = evaluated(p, 0) < 0 ? size : -size;
          const { stepper, y } = stepOf(
            p.map((k) => k * sign),
            [0],
          );
          const found = firstInstant(watchOn(LOCATED, 1, 0), 0, stepper, y);
          // Roots at least 1/200 apart: the slope there is some 1e-7 of the coefficients, whose rounding is 1e-16.
          expect(Math.abs(found - roots[0])).toBeLessThan(1e-8);
          // The same out of two terms, neither of which rises there.
          const other = [3, -2, 5, 1, -4].map((k) => k * size);
          const split = stepOf(
            [0, 1, 2, 3, 4].map((k) => (p[k] ?? 0) * sign + 2 * other[k]),
            other,
          );
          const pair = firstInstant(watchOn(LOCATED, 1, 0, -2), 0, split.stepper, split.y);
          expect(Math.abs(pair - roots[0])).toBeLessThan(1e-8);
        },
      ),
      { seed: 71, numRuns: 400 },
    );
  });

  test('nothing where both roots lie outside, or where it only comes near', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        fc.double({ min: 1e-9, max: 1, noNaN: true }),
        (middle, gap) => {
          // (t - m)^2 (1 + t^2), and from it -(t - m)^2 (1 + t^2) - gap
          const p = [middle * middle, -2 * middle, 1 + middle * middle, -2 * middle, 1];
          const below = p.map((k, i) => -k - (i === 0 ? gap : 0));
          const { stepper, y } = stepOf(below);
          expect(firstInstant(watchOn(LOCATED, 1, 0), 0, stepper, y)).toBe(Infinity);
          // Raised by twice the gap it is above zero in the middle.
          const raised = below.map((k, i) => k + (i === 0 ? 2 * gap : 0));
          if (evaluated(raised, 0) >= 0) return;
          const above = stepOf(raised);
          const found = firstInstant(watchOn(LOCATED, 1, 0), 0, above.stepper, above.y);
          expect(found).toBeLessThan(middle);
          expect(Math.abs(evaluated(raised, found))).toBeLessThan(1e-14);
        },
      ),
      { seed: 72, numRuns: 300 },
    );
  });
});

describe('ticks', () => {
  /** Tries every tick. */
  function everyTick(p: Power, first: number, last: number, stride: number, fraction: (k: number) => number): number {
    for (let k = first; k <= last; k += stride) if (evaluated(p, fraction(k)) >= 0) return k;
    return -1;
  }

  test('the first that reads true, whatever the polynomial, the stride and where the step begins', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 5, maxLength: 5 }),
        fc.integer({ min: 0, max: 40 }),
        fc.integer({ min: 0, max: 400 }),
        fc.constantFrom(1, 2, 5, 10),
        fc.double({ min: 0, max: 0.999, noNaN: true }),
        (p, tick0, length, stride, offset) => {
          const ticks = length + 1;
          const fraction = (k: number) => (k - tick0 - offset) / ticks;
          const first = (Math.floor(tick0 / stride) + 1) * stride;
          const last = Math.floor((tick0 + ticks) / stride) * stride;
          const { stepper, y } = stepOf(p);
          const found = firstTick(watchOn(CONTACT, 1, 0), 0, stepper, y, first, last, stride, fraction);
          expect(found).toBe(everyTick(p, first, last, stride, fraction));
          // In halves and whole numbers, so that both ways of adding up agree to the last bit.
          const other = [7, -5, 3, 11, -13];
          const q = p.map((k) => Math.round(8 * k));
          const split = stepOf(
            q.map((k, n) => k + other[n]),
            other,
          );
          const w = watchOn(CONTACT, 1, 0, -1);
          const pair = firstTick(w, 0, split.stepper, split.y, first, last, stride, fraction);
          let tried = -1;
          for (let k = last - ((last - first) % stride); k >= first; k -= stride)
            if (readingAt(w, 0, split.stepper, split.y, fraction(k)) >= 0) tried = k;
          expect(pair).toBe(tried);
        },
      ),
      { seed: 73, numRuns: 3000 },
    );
  });

  test('what comes and goes between two ticks is not seen, what stands at a tick is, to a zero', () => {
    // -(t - 1/2)^2 is zero at tick 50 of 100 and below everywhere else.
    const p = [-0.25, 1, -1];
    const { stepper, y } = stepOf(p);
    const w = watchOn(CONTACT, 1, 0);
    const at = (first: number, last: number, stride: number) =>
      firstTick(w, 0, stepper, y, first, last, stride, (k) => k / 100);
    expect(at(1, 100, 1)).toBe(50);
    expect(at(50, 50, 1)).toBe(50);
    expect(at(48, 52, 2)).toBe(50);
    expect(at(3, 99, 4)).toBe(-1);
    expect(at(51, 100, 1)).toBe(-1);
    expect(at(1, 49, 1)).toBe(-1);
    expect(at(60, 40, 1)).toBe(-1);
  });

  test('sums of large terms that cancel: what rounding leaves just under zero is still looked at', () => {
    // 1e9 (1 + u) - 1e9 (1 + v) + c, with a value of exactly 0 at tick 37 and less everywhere else.
    for (const size of [1e3, 1e6, 1e9]) {
      for (const tick of [17, 37, 83]) {
        const m = tick / 100;
        const dip = [-(m * m), 2 * m, -1];
        const { stepper, y } = stepOf(
          dip.map((k, n) => (n === 0 ? k + size : k)),
          [size],
        );
        const w = watchOn(CONTACT, 1, 0, -1);
        const read = (k: number) => readingAt(w, 0, stepper, y, k / 100) >= 0;
        const first = Array.from({ length: 100 }, (_, k) => k + 1).find(read) ?? -1;
        expect(firstTick(w, 0, stepper, y, 1, 100, 1, (k) => k / 100)).toBe(first);
        if (size > 1e3) expect(first).toBeGreaterThan(0);
      }
    }
  });

  test('a long step is searched in halves, not tick by tick', () => {
    const hour = 36_000;
    // Rises through zero at 0.7, almost straight; and one that stays a little below zero all the time.
    const rising = stepOf([-0.7, 0.97, 0.03, 0, 0]);
    asked = 0;
    const found = firstTick(watchOn(CONTACT, 1, 0), 0, rising.stepper, rising.y, 1, hour, 1, (k) => k / hour);
    expect(found).toBe(everyTick([-0.7, 0.97, 0.03], 1, hour, 1, (k) => k / hour));
    // Twelve halvings and the ticks of one piece.
    expect(asked).toBeLessThan(40);
    const low = stepOf([-1e-3, 0, 0, 0, 0]);
    asked = 0;
    expect(firstTick(watchOn(CONTACT, 1, 0), 0, low.stepper, low.y, 1, hour, 1, (k) => k / hour)).toBe(-1);
    expect(asked).toBe(0);
  });
});

describe('closing in on a crossing', () => {
  const searched = (f: (x: number) => number, a: number, b: number) => {
    let times = 0;
    const at = crossing(
      (x) => {
        times++;
        return f(x);
      },
      a,
      f(a),
      b,
      f(b),
    );
    return { at, times };
  };
  test.each<[string, (x: number) => number, number]>([
    ['straight', (x) => x - 0.3, 0.3],
    ['bent up', (x) => x ** 4 - 0.2, 0.2 ** 0.25],
    ['bent down', (x) => Math.sqrt(x) - 0.6, 0.36],
    ['nearly a jump', (x) => Math.atan(1e6 * (x - 0.123)), 0.123],
    ['late', (x) => x ** 30 - 0.5, 0.5 ** (1 / 30)],
    ['early', (x) => 1 - (1 - x) ** 30 - 0.5, 1 - 0.5 ** (1 / 30)],
  ])('%s: to 1e-15, true there, in half as many trials as halving takes', (_, f, root) => {
    const { at, times } = searched(f, 0, 1);
    expect(Math.abs(at - root)).toBeLessThan(3e-15);
    expect(f(at)).toBeGreaterThanOrEqual(-1e-15);
    // Halving takes 50.
    expect(times).toBeLessThanOrEqual(27);
  });
  test('smooth ones in a dozen trials', () => {
    let times = 0;
    for (let k = 1; k < 100; k++) times += searched((x) => Math.expm1(2 * x) - Math.expm1((2 * k) / 100), 0, 1).times;
    expect(times / 99).toBeLessThan(12);
    times = 0;
    for (let k = 1; k < 100; k++)
      times += searched((x) => -Math.expm1(-2 * x) + Math.expm1((-2 * k) / 100), 0, 1).times;
    expect(times / 99).toBeLessThan(12);
  });
  test('one that is true from some point on without passing zero: the first number at which it is', () => {
    expect(searched((x) => (x >= 0.25 ? 1 : -1), 0, 1).at).toBeCloseTo(0.25, 14);
    expect(searched((x) => (x >= 0.25 ? 1 : -1), 0, 1).at).toBeGreaterThanOrEqual(0.25);
    // A zero counts as true, and ends the search.
    expect(searched((x) => x - 0.5, 0, 1)).toEqual({ at: 0.5, times: 1 });
  });
});
