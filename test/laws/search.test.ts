import fc from 'fast-check';
import { assert, expect, test } from 'vitest';
import { layoutBuilder, newState } from '../../sim/layout.ts';
import { createStepper, type Stepper } from '../../sim/stepper.ts';
import { CONTACT, createWatches, firstInstant, firstTick, LOCATED, readingAt, type Watches } from '../../sim/watch.ts';
import { law } from '../support/law.ts';

/**
 * A step over which two slots are given polynomials of degree 4 in the fraction of the step: their rates are
 * polynomials of degree 3 in time, which the formula integrates exactly and its continuous extension reproduces.
 */
function stepOf(first: readonly number[], second: readonly number[], h: number): { stepper: Stepper; y: Float64Array } {
  const b = layoutBuilder();
  const slots = [first, second].map((_, i) =>
    b.integrated({ name: `slot ${i}`, unit: '1', min: -Infinity, max: Infinity, scale: 1 }),
  );
  const layout = b.build();
  const stepper = createStepper(
    layout,
    (time, _, rate) => {
      const t = time / h;
      [first, second].forEach(([, c1, c2, c3, c4], i) => {
        rate[i] = (c1 + t * (2 * c2 + t * (3 * c3 + t * 4 * c4))) / h;
      });
    },
    1e-8,
  );
  const y = newState(layout);
  y[slots[0]] = first[0];
  y[slots[1]] = second[0];
  stepper.begin(0, y);
  stepper.attempt(0, y, h, h);
  stepper.prepareDense();
  return { stepper, y };
}

function watch(mode: number, a: number, b: number, c: number): Watches {
  const w = createWatches(1);
  w.mode[0] = mode;
  w.slotA[0] = 0;
  w.slotB[0] = 1;
  w.a[0] = a;
  w.b[0] = b;
  w.c[0] = c;
  return w;
}

const unit = fc.double({ min: 0, max: 1, noNaN: true });
const signed = fc.double({ min: -1, max: 1, noNaN: true });
/** Any polynomial at all. */
const any = fc.tuple(signed, signed, signed, signed, signed);
/** -(t - r)^2 (k + (t - s)^2) + height: touches its greatest value at r, which lies near the limit. */
const dip = fc
  .record({ r: unit, s: unit, k: unit, height: fc.integer({ min: -18, max: -2 }), up: fc.boolean() })
  .map(({ r, s, k, height, up }) => {
    const q = [k + s * s, -2 * s, 1];
    const p = [r * r, -2 * r, 1];
    const c = [0, 0, 0, 0, 0];
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) c[i + j] -= p[i] * q[j];
    c[0] += (up ? 1 : -1) * 10 ** height;
    return c as [number, number, number, number, number];
  });
/** (t - r1) (t - r2) (t - r3) (k + t): rises through zero twice, falls through it in between. */
const twice = fc.tuple(unit, unit, unit, unit).map(([p, q, r, k]) => {
  const [r1, r2, r3] = [p, q, r].sort((x, y) => x - y);
  const cubic = [-r1 * r2 * r3, r1 * r2 + r1 * r3 + r2 * r3, -r1 - r2 - r3, 1];
  return [0, 1, 2, 3, 4].map((i) => k * (cubic[i] ?? 0) + (cubic[i - 1] ?? 0)) as [
    number,
    number,
    number,
    number,
    number,
  ];
});
const ticks = fc.record({
  count: fc.integer({ min: 1, max: 3000 }),
  offset: unit,
  stride: fc.integer({ min: 1, max: 20 }),
});

/**
 * A polynomial lies in the hull of its Bernstein control points. A piece whose hull stays under zero by more than its
 * rounding holds no tick that reads true, and pieces are taken from the left: the first tick that reads true is found,
 * by the same sum that a scan of all ticks would form.
 */
law(
  'the first tick is the one that a look at every tick finds, tangent dips included',
  { runs: 2000, seed: 501 },
  fc.tuple(fc.oneof(any, dip, twice), any, fc.oneof(fc.constant(0), signed), ticks),
  ([first, second, b, { count, offset, stride }]) => {
    const tick_s = 0.01;
    const h = count * tick_s;
    const { stepper, y } = stepOf(first, second, h);
    const w = watch(CONTACT, 1, b, 0);
    const fraction = (k: number) => (k * tick_s - offset * tick_s) / h;
    const from = stride;
    const last = Math.floor((count + offset) / stride) * stride;
    const found = firstTick(w, 0, stepper, y, from, last, stride, fraction);
    let expected = -1;
    for (let k = from; k <= last && expected < 0; k += stride)
      if (readingAt(w, 0, stepper, y, fraction(k)) >= 0) expected = k;
    assert(found === expected, `tick ${found}, a look at every tick finds ${expected}`);
  },
);

/**
 * The instant returned reads true and none before it does, but for readings that are true only by their rounding and for
 * a rise above zero narrower than the narrowest piece, 1e-9 of the step.
 */
law(
  'the first instant reads true and none before it',
  { runs: 2000, seed: 502 },
  fc.tuple(fc.oneof(any, dip, twice), any, fc.oneof(fc.constant(0), signed)),
  ([first, second, b]) => {
    const { stepper, y } = stepOf(first, second, 1);
    const w = watch(LOCATED, 1, b, 0);
    if (readingAt(w, 0, stepper, y, 0) >= 0) return;
    const theta = firstInstant(w, 0, stepper, y);
    if (theta <= 1) assert(readingAt(w, 0, stepper, y, theta) >= 0, `not true at ${theta}`);
    const end = Math.min(theta, 1);
    for (let k = 0; k <= 1000; k++) {
      const at = (k / 1000) * end;
      if (at < end && readingAt(w, 0, stepper, y, at) >= 1e-14) assert.fail(`true at ${at}, found only at ${theta}`);
    }
  },
);

test('what stands exactly at its limit reads true, at the first tick and over many', () => {
  const { stepper, y } = stepOf([0, 0, 0, 0, 0], [0, 0, 0, 0, 0], 1);
  const w = watch(CONTACT, 1, 0, 0);
  for (const last of [4, 1000]) expect(firstTick(w, 0, stepper, y, 1, last, 1, (k) => k / last)).toBe(1);
});
