/** Vessel geometry against closed forms and against itself. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  compileVesselTables,
  type Head,
  levelOf,
  surfaceOf,
  type VesselShape,
  vessel,
  vesselFault,
  volumeVessel,
} from '../../models/geometry.ts';
import { close } from '../support/close.ts';

describe('closed forms (derived: plain geometry)', () => {
  const R = 0.7;
  const L = 2.3;
  const of = (orientation: 'vertical' | 'horizontal', head: Head, straightLength_m = L) =>
    vessel({ orientation, diameter_m: 2 * R, straightLength_m, head });
  // 1e-14: some ten roundings, and a quadrature converged to rounding
  const exact = 1e-14;

  test('upright heads: pi R^2 z^2 (3a - z)/(3a^2), pi z^2 (3r - z)/3, and 2 pi r z', () => {
    for (const a of [0.2, 0.35, 0.7, 1.1]) {
      const v = of('vertical', { kind: 'ellipsoidal', depth_m: a });
      for (const z of [1e-6, 0.01, 0.4 * a, a]) {
        close(v.volumeAt(z), (Math.PI * R * R * z * z * (3 * a - z)) / (3 * a * a), exact);
        close(v.volumeAt(v.height_m - z), v.totalVolume_m3 - v.volumeAt(z), exact);
      }
    }
    const cap = of('vertical', { kind: 'sphericalCap', depth_m: 0.3 });
    const r = (R * R + 0.09) / 0.6;
    for (const z of [1e-6, 0.1, 0.3]) {
      close(cap.volumeAt(z), (Math.PI * z * z * (3 * r - z)) / 3, exact);
      close(cap.surfaceAbove(cap.height_m - z), 2 * Math.PI * r * z, z < 0.01 ? 1e-9 : exact); // height - z is rounded
      close(cap.totalSurface_m2 - cap.surfaceAbove(z), 2 * Math.PI * r * z, 1e-9); // a small difference of large areas
    }
  });

  test('full heads: pi D^3/24 for 2:1, pi D^3/12 for a hemisphere, oblate spheroid area', () => {
    const shell = Math.PI * R * R * L;
    const D = 2 * R;
    for (const o of ['vertical', 'horizontal'] as const) {
      close(of(o, { kind: 'ellipsoidal' }).totalVolume_m3, shell + (Math.PI * D ** 3) / 12, exact);
      close(of(o, { kind: 'hemispherical' }).totalVolume_m3, shell + (Math.PI * D ** 3) / 6, exact);
      // both 2:1 heads: 2 pi R^2 (1 + (1 - e^2)/e artanh e), e^2 = 1 - (a/R)^2
      const e = Math.sqrt(0.75);
      const heads = 2 * Math.PI * R * R * (1 + (0.25 / e) * Math.atanh(e));
      close(of(o, { kind: 'ellipsoidal' }).totalSurface_m2, 2 * Math.PI * R * L + heads, exact);
    }
  });

  test('torispherical head: knuckle as torus (Pappus), dish as cap', () => {
    const [f, k] = [0.9, 0.1];
    const D = 2 * R;
    const alpha = Math.asin((1 - 2 * k) / (2 * (f - k)));
    const dishDepth = f * D * (1 - Math.cos(alpha));
    const c = R - k * D;
    const kn = k * D;
    const phi = Math.PI / 2 - alpha;
    const cap = (Math.PI * dishDepth ** 2 * (3 * f * D - dishDepth)) / 3;
    const x = kn * Math.sin(phi);
    const knuckle = Math.PI * (c * c * x + c * (x * kn * Math.cos(phi) + kn * kn * phi) + kn * kn * x - x ** 3 / 3);
    const v = of('vertical', { kind: 'torispherical', dishFactor: f, knuckleFactor: k }, 0);
    close(v.totalVolume_m3, 2 * (cap + knuckle), exact);
    const area = 2 * Math.PI * f * D * dishDepth + 2 * Math.PI * kn * (c * phi + kn * Math.sin(phi));
    close(v.totalSurface_m2, 2 * area, exact);
  });

  test('lying: ellipsoidal heads pi a h^2 (1 - h/(3R)), flat ends R^2 acos((R-h)/R) - (R-h) sqrt(2Rh - h^2)', () => {
    const v = of('horizontal', { kind: 'ellipsoidal', depth_m: 0.3 });
    const flat = of('horizontal', { kind: 'flat' });
    for (const h of [0.01, 0.3, 0.7, 1.0, 1.39]) {
      const segment = R * R * Math.acos((R - h) / R) - (R - h) * Math.sqrt(2 * R * h - h * h);
      // 1e-12: the textbook form of the segment itself cancels at low levels
      close(v.volumeAt(h), segment * L + Math.PI * 0.3 * h * h * (1 - h / (3 * R)), 1e-12);
      close(flat.volumeAt(h), segment * L, 1e-12);
      const bare = 2 * (Math.PI - Math.acos((R - h) / R)) * R * L + 2 * (Math.PI * R * R - segment);
      close(flat.surfaceAbove(h), bare, 1e-11);
    }
    // a sphere: zone area 2 pi R (2R - h), lying or upright
    for (const o of ['vertical', 'horizontal'] as const) {
      const ball = of(o, { kind: 'hemispherical' }, 0);
      for (const h of [0.1, 0.7, 1.2]) {
        close(ball.surfaceAbove(h), 2 * Math.PI * R * (2 * R - h), exact);
        close(ball.volumeAt(h), (Math.PI * h * h * (3 * R - h)) / 3, exact);
        close(ball.oilSurfaceAt(h), Math.PI * h * (2 * R - h), 1e-12);
      }
    }
  });

  test('a flat bottom counts as covered, a flat top as bare', () => {
    const v = of('vertical', { kind: 'flat' });
    close(v.surfaceAbove(0), Math.PI * R * R + 2 * Math.PI * R * L, exact);
    close(v.surfaceAbove(v.height_m), Math.PI * R * R, exact);
  });

  test('a vessel known by volume only: exact volume, twice as high as wide, says its level is nominal', () => {
    const v = volumeVessel(0.568);
    expect(v.totalVolume_m3).toBe(0.568);
    expect(v.levelIsNominal).toBe(true);
    close(v.height_m, 2 * Math.sqrt((4 * 0.568) / (Math.PI * v.height_m)), 1e-14);
    close(volumeVessel(0.568, 0.5).height_m, 0.568 / (Math.PI / 16), 1e-14);
  });
});

test('shapes that cannot be are named', () => {
  const shape = (over: Partial<VesselShape>): VesselShape => ({
    orientation: 'vertical',
    diameter_m: 1,
    straightLength_m: 1,
    head: { kind: 'ellipsoidal' },
    ...over,
  });
  expect(vesselFault(shape({}))).toBeUndefined();
  expect(vesselFault(shape({ diameter_m: 0 }))).toContain('diameter');
  expect(vesselFault(shape({ straightLength_m: 0, head: { kind: 'flat' } }))).toContain('straight length');
  expect(vesselFault(shape({ straightLength_m: -0.1 }))).toContain('straight length');
  expect(vesselFault(shape({ head: { kind: 'sphericalCap', depth_m: 0.6 } }))).toContain('half the diameter');
  expect(vesselFault(shape({ head: { kind: 'torispherical', dishFactor: 0.4 } }))).toContain('0.5');
  expect(vesselFault(shape({ head: { kind: 'torispherical', knuckleFactor: 0.5 } }))).toContain('knuckle');
  expect(() => vessel(shape({ diameter_m: -1 }))).toThrow('diameter');
});

const anyHead: fc.Arbitrary<Head> = fc.oneof(
  fc.constant<Head>({ kind: 'flat' }),
  fc.constant<Head>({ kind: 'hemispherical' }),
  fc.record({ kind: fc.constant('ellipsoidal' as const), depth_m: fc.double({ min: 0.05, max: 1.5, noNaN: true }) }),
  fc.record({ kind: fc.constant('sphericalCap' as const), depth_m: fc.double({ min: 0.02, max: 0.2, noNaN: true }) }),
  fc.record({
    kind: fc.constant('torispherical' as const),
    dishFactor: fc.double({ min: 0.6, max: 1.2, noNaN: true }),
    knuckleFactor: fc.double({ min: 0, max: 0.3, noNaN: true }),
  }),
);
const anyShape: fc.Arbitrary<VesselShape> = fc.record({
  orientation: fc.constantFrom('vertical' as const, 'horizontal' as const),
  diameter_m: fc.double({ min: 0.4, max: 3, noNaN: true }),
  straightLength_m: fc.double({ min: 0.1, max: 8, noNaN: true }),
  head: anyHead,
});

describe('any vessel', () => {
  test('volume and level are inverse to 1e-13, both grow, and half a vessel is half its volume', () => {
    fc.assert(
      fc.property(anyShape, fc.double({ min: 0, max: 1, noNaN: true }), (shape, part) => {
        const v = vessel(shape);
        for (const p of [part, part ** 8, 1 - part ** 8, 1e-12, 1 - 1e-12]) {
          const volume = v.totalVolume_m3 * p;
          const level = v.levelAt(volume);
          expect(level).toBeGreaterThanOrEqual(0);
          expect(level).toBeLessThanOrEqual(v.height_m);
          expect(Math.abs(v.volumeAt(level) - volume)).toBeLessThanOrEqual(1e-13 * v.totalVolume_m3);
        }
        expect(v.levelAt(-1)).toBe(0);
        expect(v.levelAt(2 * v.totalVolume_m3)).toBe(v.height_m);
        const low = v.height_m * part * 0.99;
        expect(v.volumeAt(low + 0.01 * v.height_m)).toBeGreaterThan(v.volumeAt(low));
        expect(v.surfaceAbove(low + 0.01 * v.height_m)).toBeLessThan(v.surfaceAbove(low));
        close(v.volumeAt(v.height_m / 2), v.totalVolume_m3 / 2, 1e-13);
        close(v.surfaceAbove(v.height_m / 2), v.totalSurface_m2 / 2, 1e-13);
      }),
      { seed: 11, numRuns: 300 },
    );
  });

  test('free surface and slope of the bare wall are difference quotients', () => {
    const out = new Float64Array(4);
    fc.assert(
      fc.property(anyShape, fc.double({ min: 0.03, max: 0.97, noNaN: true }), (shape, part) => {
        const v = vessel(shape);
        const level = v.height_m * part;
        const d = 1e-5 * v.height_m;
        // a joint inside the stencil bends the curve; its size is of the step
        if (v.joints_m.some((j) => Math.abs(j - level) < 2 * d)) return;
        v.measureAt(level, out);
        close(out[2]!, (v.volumeAt(level + d) - v.volumeAt(level - d)) / (2 * d), 2e-6);
        const slope = (v.surfaceAbove(level + d) - v.surfaceAbove(level - d)) / (2 * d);
        close(out[3]!, slope, 2e-6);
      }),
      { seed: 12, numRuns: 300 },
    );
  });
});

describe('tables for the time loop', () => {
  test('within 1e-8 of full scale over all but the outer percent, 1e-6 there, exact at the ends, never outside', () => {
    fc.assert(
      fc.property(anyShape, (shape) => {
        const v = vessel(shape);
        const tables = compileVesselTables(v);
        for (let i = 1; i < 400; i++) {
          const part = i < 30 ? 0.012 * (i / 30) ** 3 : i > 370 ? 1 - 0.012 * ((400 - i) / 30) ** 3 : i / 400;
          const volume = part * v.totalVolume_m3;
          const level = v.levelAt(volume);
          const tolerance = part > 0.01 && part < 0.99 ? 1e-8 : 1e-6;
          expect(Math.abs(levelOf(tables, volume) - level)).toBeLessThanOrEqual(tolerance * v.height_m);
          const error = Math.abs(surfaceOf(tables, volume) - v.surfaceAbove(level));
          expect(error).toBeLessThanOrEqual(tolerance * v.totalSurface_m2);
        }
        expect(levelOf(tables, 0)).toBe(0);
        expect(levelOf(tables, v.totalVolume_m3)).toBe(v.height_m);
        expect(surfaceOf(tables, 0)).toBe(v.surfaceAbove(0));
        expect(surfaceOf(tables, 2 * v.totalVolume_m3)).toBe(v.surfaceAbove(v.height_m));
      }),
      { seed: 13, numRuns: 40 },
    );
  });

  test('exact at nodes, monotone into the very ends', () => {
    for (const orientation of ['vertical', 'horizontal'] as const) {
      const v = vessel({ orientation, diameter_m: 1.1, straightLength_m: 1.9, head: { kind: 'torispherical' } });
      const tables = compileVesselTables(v);
      for (let at = 0; at < tables.cells.length; at += 10) {
        const volume = tables.cells[at]!;
        expect(Math.abs(v.volumeAt(levelOf(tables, volume)) - volume)).toBeLessThanOrEqual(1e-14);
      }
      let level = 0;
      let surface = Number.POSITIVE_INFINITY;
      for (let i = 0; i <= 5000; i++) {
        // half of the samples in the outermost 1e-9 of the volume at either end
        const t = (2 * i) / 5000 - 1;
        const part = 0.5 + 0.5 * Math.sign(t) * (1 - (1 - Math.abs(t)) ** 9);
        const volume = part * v.totalVolume_m3;
        expect(levelOf(tables, volume)).toBeGreaterThanOrEqual(level);
        expect(surfaceOf(tables, volume)).toBeLessThanOrEqual(surface);
        level = levelOf(tables, volume);
        surface = surfaceOf(tables, volume);
      }
      expect(level).toBe(v.height_m);
    }
  });
});

describe('limits and joints', () => {
  const shape = (over: Partial<VesselShape>): VesselShape => ({
    orientation: 'vertical',
    diameter_m: 1,
    straightLength_m: 1,
    head: { kind: 'ellipsoidal' },
    ...over,
  });
  const wrong = (over: Partial<VesselShape>) => vesselFault(shape(over)) !== undefined;

  test('just possible, and just not', () => {
    expect([0, -1, Infinity, Number.NaN].map((diameter_m) => wrong({ diameter_m }))).toEqual([true, true, true, true]);
    expect([-1e-9, Infinity, Number.NaN, 0].map((straightLength_m) => wrong({ straightLength_m }))).toEqual([
      true,
      true,
      true,
      false,
    ]);
    const flat = { kind: 'flat' } as const;
    expect([0, 1e-9].map((straightLength_m) => wrong({ straightLength_m, head: flat }))).toEqual([true, false]);
    const ellipsoidal = [0, -1, Infinity, 1e-9, 3].map((depth_m) => wrong({ head: { kind: 'ellipsoidal', depth_m } }));
    expect(ellipsoidal).toEqual([true, true, true, false, false]);
    const cap = [0, 0.500_001, 0.5, 0.01].map((depth_m) => wrong({ head: { kind: 'sphericalCap', depth_m } }));
    expect(cap).toEqual([true, true, false, false]);
    const dish = [0.499, Infinity, 0.5, 2].map((f) =>
      wrong({ head: { kind: 'torispherical', dishFactor: f, knuckleFactor: 0.05 } }),
    );
    expect(dish).toEqual([true, true, false, false]);
    const knuckle = [-0.001, 0.5, 0, 0.499].map((k) => wrong({ head: { kind: 'torispherical', knuckleFactor: k } }));
    expect(knuckle).toEqual([true, true, false, false]);
    expect([wrong({ head: flat }), wrong({ head: { kind: 'hemispherical' } })]).toEqual([false, false]);
  });

  // A knuckle of a tenth of the diameter, D = 1: sin alpha = (0.5 - 0.1)/(1 - 0.1), the dish is 1 - cos alpha deep.
  test('the wall changes its form at the tangent lines and where dish and knuckle meet', () => {
    const alpha = Math.asin(0.4 / 0.9);
    const dish = 1 - Math.cos(alpha);
    const depth = dish + 0.1 * Math.cos(alpha);
    const head = { kind: 'torispherical', dishFactor: 1, knuckleFactor: 0.1 } as const;
    const near = (got: readonly number[], expected: readonly number[]) => {
      expect(got).toHaveLength(expected.length);
      expected.forEach((z, k) => {
        expect(got[k]).toBeCloseTo(z, 12);
      });
    };
    const height = 1 + 2 * depth;
    near(vessel(shape({ head })).joints_m, [dish, depth, height - depth, height - dish]);
    // Lying, a dish of 1 m reaches sin alpha from the axis.
    near(vessel(shape({ head, orientation: 'horizontal' })).joints_m, [0.5 - Math.sin(alpha), 0.5 + Math.sin(alpha)]);
    near(vessel(shape({})).joints_m, [0.25, 1.25]);
    near(vessel(shape({ orientation: 'horizontal' })).joints_m, []);
    near(vessel(shape({ head: { kind: 'flat' } })).joints_m, []);
    // A sphere is one half on the other.
    near(vessel(shape({ head: { kind: 'hemispherical' }, straightLength_m: 0 })).joints_m, [0.5]);
    expect(vessel(shape({})).levelIsNominal).toBe(false);
    // Unless told otherwise the dish is as wide as the vessel and the knuckle 6 % of it.
    close(
      vessel(shape({ head: { kind: 'torispherical' } })).totalVolume_m3,
      vessel(shape({ head: { kind: 'torispherical', dishFactor: 1, knuckleFactor: 0.06 } })).totalVolume_m3,
      1e-15,
    );
  });

  test('outside its walls a vessel is empty or full; there the slopes of a sphere are those of a sphere', () => {
    const out = new Float64Array(4);
    for (const orientation of ['vertical', 'horizontal'] as const) {
      const v = vessel(shape({ orientation }));
      expect([v.volumeAt(-1), v.volumeAt(0), v.volumeAt(v.height_m), v.volumeAt(99)]).toEqual([
        ...[0, 0],
        ...[v.totalVolume_m3, v.totalVolume_m3],
      ]);
      expect(v.surfaceAbove(-1)).toBe(v.surfaceAbove(0));
      const ball = vessel(shape({ orientation, head: { kind: 'hemispherical' }, straightLength_m: 0 }));
      // A zone of a sphere has the area 2 pi R h.
      for (const level of [0.1, 0.5, 0.8]) {
        ball.measureAt(level, out);
        close(out[3], -Math.PI, 1e-11);
        close(out[2], Math.PI * level * (1 - level), 1e-11);
      }
    }
  });

  // Regression, as seen: more cells would be slower to look up, fewer would be wrong.
  test('tables are as small as they were', () => {
    const cells = (over: Partial<VesselShape>) => compileVesselTables(vessel(shape(over))).cells.length / 10;
    expect([cells({}), cells({ orientation: 'horizontal' }), cells({ head: { kind: 'flat' } })]).toEqual([432, 552, 2]);
  });
});
