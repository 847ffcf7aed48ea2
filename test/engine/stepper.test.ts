/**
 * The coefficients of the step, read out of it and held to the order conditions of Runge-Kutta theory (J. C. Butcher,
 * "Numerical Methods for Ordinary Differential Equations"; from memory): with A, b, c and a rooted tree t of order r,
 *     b . phi(t) = 1/gamma(t),   b(theta) . phi(t) = theta^r/gamma(t),   e . phi(t) = 0
 * for the result up to order 5, the continuous extension up to order 4 and the estimate of the error up to order 4.
 */
import { expect, test } from 'vitest';
import { layoutBuilder, newState } from '../../sim/layout.ts';
import { createStepper, type Derivative } from '../../sim/stepper.ts';

const STAGES = 7;
const H = 0.5;

function layoutOf(scales: readonly number[]) {
  const b = layoutBuilder();
  scales.forEach((scale, i) => {
    b.integrated({ name: `y${i}`, unit: '1', min: -Infinity, max: Infinity, scale });
  });
  return b.build();
}

/** The k-th rate asked for is the k-th unit vector: so a stage holds its row of A, and the result its weights. */
const layout = layoutOf(new Array(STAGES).fill(1));
const a: number[][] = [];
const c: number[] = [];
const readOut: Derivative = (time, y, rate) => {
  a.push([...y.slice(0, STAGES)].map((v) => v / H));
  c.push((time - 3) / H);
  rate.fill(0);
  rate[a.length - 1] = 1;
};
const stepper = createStepper(layout, readOut, 1e-8);
const zero = newState(layout);
stepper.begin(3, zero);
stepper.attempt(3, zero, H, 3 + H);
stepper.prepareDense();
const b = a[STAGES - 1];
const weightsAt = (theta: number) => b.map((_, i) => stepper.at(zero, i, theta) / H);

type Row = readonly number[];
const one: Row = c.map(() => 1);
const times = (...rows: Row[]): Row => c.map((_, i) => rows.reduce((product, row) => product * row[i], 1));
const dot = (p: Row, q: Row) => p.reduce((sum, v, i) => sum + v * q[i], 0);
const A = (row: Row): Row => a.map((line) => dot(line, row));
/** Elementary weights of the rooted trees with their order and density gamma. */
const TREES: readonly (readonly [phi: Row, order: number, gamma: number])[] = [
  [one, 1, 1],
  [c, 2, 2],
  [times(c, c), 3, 3],
  [A(c), 3, 6],
  [times(c, c, c), 4, 4],
  [times(c, A(c)), 4, 8],
  [A(times(c, c)), 4, 12],
  [A(A(c)), 4, 24],
  [times(c, c, c, c), 5, 5],
  [times(c, c, A(c)), 5, 10],
  [times(A(c), A(c)), 5, 20],
  [times(c, A(times(c, c))), 5, 15],
  [A(times(c, c, c)), 5, 20],
  [times(c, A(A(c))), 5, 30],
  [A(times(c, A(c))), 5, 40],
  [A(A(times(c, c))), 5, 60],
  [A(A(A(c))), 5, 120],
];
// Some ten roundings of numbers up to 12.
const ROUNDING = 2e-14;

test('every stage lies where its row of A leads, the last two at the end of the step', () => {
  expect(c).toHaveLength(STAGES);
  a.forEach((row, i) => {
    expect(Math.abs(dot(row, one) - c[i])).toBeLessThan(ROUNDING);
  });
  expect([c[0], c[5], c[6]]).toEqual([0, 1, 1]);
});

test('the result meets all 17 order conditions up to order 5', () => {
  expect(TREES).toHaveLength(17);
  for (const [phi, , gamma] of TREES) expect(Math.abs(dot(b, phi) - 1 / gamma)).toBeLessThan(ROUNDING);
});

test('the continuous extension meets the 8 up to order 4 at every fraction of the step', () => {
  for (const theta of [0, 0.1, 0.25, 0.5, 0.7, 0.95, 1]) {
    const weights = weightsAt(theta);
    for (const [phi, order, gamma] of TREES.filter(([, r]) => r <= 4))
      expect(Math.abs(dot(weights, phi) - theta ** order / gamma), `order ${order} at ${theta}`).toBeLessThan(ROUNDING);
  }
  expect(weightsAt(1)).toEqual(b);
});

/** Error norm of a step whose k-th rate is the k-th of the numbers; 1 is allowed in the slot. */
function errorOf(rates: Row, relative = 1e-30, scale = 1e31, y0 = 0): number {
  const single = layoutOf([scale]);
  let k = 0;
  const of = createStepper(single, (_t, _y, rate) => rate.fill(rates[k++]), relative);
  const y = newState(single);
  y[0] = y0;
  of.begin(0, y);
  return of.attempt(0, y, 1, 1);
}

test('the estimate of the error sees nothing up to order 4, and order 5', () => {
  for (const [phi, order] of TREES) {
    if (order <= 4) expect(errorOf(phi)).toBeLessThan(ROUNDING);
  }
  // It is the difference of two results, of which the other one is of order 4 only.
  expect(Math.max(...TREES.filter(([, order]) => order === 5).map(([phi]) => errorOf(phi)))).toBeGreaterThan(1e-4);
});

test('errors count relative to the larger of both ends, and to a tenth of the scale of the slot', () => {
  const rates = [1, 0, 0, 0, 0, 0, 0];
  const plain = errorOf(rates);
  expect(plain).toBeGreaterThan(0);
  const allowedOf = (relative: number, scale: number, y0: number) => plain / errorOf(rates, relative, scale, y0);
  expect(allowedOf(1e-3, 20, 0)).toBeCloseTo(1e-3 * (2 + b[0]), 12);
  expect(allowedOf(1e-3, 20, 5)).toBeCloseTo(1e-3 * (2 + 5 + b[0]), 12);
  expect(allowedOf(1e-3, 20, -5)).toBeCloseTo(1e-3 * (2 + 5), 12);
});

test('of several slots the worst counts; one without a number fails the step', () => {
  const three = layoutOf([1, 1, 1]);
  const tried = (worst: readonly number[]) => {
    const of = createStepper(
      three,
      (t, _y, rate) => {
        // An error of order 5 in proportion to the factor.
        for (let i = 0; i < 3; i++) rate[i] = worst[i] * t ** 5;
      },
      1e-6,
    );
    const y = newState(three);
    of.begin(0, y);
    return of.attempt(0, y, 0.1, 0.1);
  };
  const most = tried([0, 1, 0]);
  expect(most).toBeGreaterThan(0);
  for (const factors of [
    [1, 0.5, 0.2],
    [0.5, 1, 0.2],
    [0.5, 0.2, 1],
    [0, 0, -1],
  ])
    expect(tried(factors)).toBeCloseTo(most, 12);
  expect(tried([0, Number.NaN, 0])).toBe(Infinity);
  expect(tried([Number.POSITIVE_INFINITY, 0, 0])).toBe(Infinity);
});

test('the control points are those of the continuous extension in Bernstein form', () => {
  const two = layoutOf([1, 1]);
  const of = createStepper(
    two,
    (t, y, rate) => {
      rate[0] = Math.cos(7 * t) - y[0];
      rate[1] = y[0] * y[1] + t;
    },
    1e-8,
  );
  const y = newState(two);
  y[0] = 0.3;
  y[1] = -2;
  of.begin(0, y);
  of.attempt(0, y, 0.8, 0.8);
  of.prepareDense();
  const points = new Float64Array(5);
  for (const slot of [0, 1]) {
    of.hull(y, slot, points);
    for (const t of [0, 0.2, 0.5, 0.9, 1]) {
      const s = 1 - t;
      const [p0, p1, p2, p3, p4] = points;
      const value = s ** 4 * p0 + 4 * s ** 3 * t * p1 + 6 * s * s * t * t * p2 + 4 * s * t ** 3 * p3 + t ** 4 * p4;
      expect(of.at(y, slot, t)).toBeCloseTo(value, 13);
    }
  }
  // The bounds are the least and the greatest of them, of every step anew.
  for (const h of [0.8, 0.1]) {
    of.attempt(0, y, h, h);
    of.prepareDense();
    for (const slot of [0, 1]) {
      of.hull(y, slot, points);
      of.bound(y, slot);
      expect([of.low[slot], of.high[slot]]).toEqual([Math.min(...points), Math.max(...points)]);
    }
  }
  of.attempt(0, y, 0.8, 0.8);
  of.prepareDense();
  // Where it moves to is what it says beforehand, and the end of the next step's beginning.
  const copy = new Float64Array(two.size);
  of.copyAt(y, 0.37, copy);
  expect([copy[0], copy[1]]).toEqual([of.at(y, 0, 0.37), of.at(y, 1, 0.37)]);
  expect(y[0]).toBe(0.3);
  of.moveTo(y, 1);
  expect(Math.abs(y[0] - of.end[0])).toBeLessThan(1e-15);
  of.continue();
  expect([...of.first]).toEqual([...of.last]);
  expect(of.last[0]).toBeCloseTo(Math.cos(5.6) - y[0], 14);
});
