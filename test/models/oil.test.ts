/** Oil properties: what they must obey. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  compileOil,
  DEFAULT_VISCOSITY_INDEX,
  densityAt,
  expansionPerKelvin,
  gradePoints,
  viscosityAt,
  viscosityAt100C,
  viscosityIndex,
} from '../../models/oil.ts';
import { close } from '../support/close.ts';

const C = 273.15;
const mm2 = 1e-6;
const of = (nu40: number, nu100: number, density = 870) =>
  compileOil(
    [
      { temperature_K: 40 + C, viscosity_m2_s: nu40 * mm2 },
      { temperature_K: 100 + C, viscosity_m2_s: nu100 * mm2 },
    ],
    density,
  );

describe('viscosity over temperature (ASTM D341)', () => {
  test('goes through both points, and thins as it warms', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 700, noNaN: true }),
        fc.double({ min: 0.1, max: 0.7, noNaN: true }),
        (nu40, part) => {
          const nu100 = 1.5 + part * (nu40 - 1.5) * 0.5;
          const oil = of(nu40, nu100);
          close(viscosityAt(oil, 40 + C), nu40 * mm2, 1e-11); // a double logarithm magnifies rounding some 1e4 times
          close(viscosityAt(oil, 100 + C), nu100 * mm2, 1e-11);
          for (let t = -30; t < 120; t += 10) {
            expect(viscosityAt(oil, t + 10 + C)).toBeLessThan(viscosityAt(oil, t + C));
          }
        },
      ),
      { seed: 31, numRuns: 300 },
    );
  });
});

describe('viscosity index (ASTM D2270)', () => {
  test('undefined under 2 mm2/s at 100 degC', () => {
    expect(viscosityIndex(6 * mm2, 1.99 * mm2)).toBeNaN();
    expect(viscosityAt100C(5 * mm2)).toBeUndefined();
    expect(gradePoints(2)).toBeUndefined();
  });

  test('viscosityAt100C is the inverse', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 15, max: 1000, noNaN: true }),
        fc.double({ min: 40, max: 180, noNaN: true }),
        (nu40, index) => {
          const nu100 = viscosityAt100C(nu40 * mm2, index)!;
          // half a point: the steps between the ranges of the coefficients, largest 0.2 % of H
          expect(Math.abs(viscosityIndex(nu40 * mm2, nu100) - index)).toBeLessThanOrEqual(0.5);
        },
      ),
      { seed: 32, numRuns: 300 },
    );
  });
});

test('a grade without further figures: its number at 40 degC, viscosity index 95', () => {
  const [at40, at100] = gradePoints(46)!;
  close(at40.viscosity_m2_s, 46 * mm2, 1e-14);
  expect(at100.viscosity_m2_s).toBe(viscosityAt100C(46 * mm2, 95));
  expect(DEFAULT_VISCOSITY_INDEX).toBe(95);
});

describe('density', () => {
  // Formula and K1 = 0.34878 as a volume-correction page quotes API MPMS 11.1 / ASTM D1250-04 (read); figures derived
  // from it
  const oil = of(46, 6.644, 870);
  const scale = 870 / oil.density60F_kg_m3;

  test('density at 15 degC is the one given; expansion is the slope of the density', () => {
    close(densityAt(oil, 15 + C), 870, 1e-14);
    expect(scale).toBeGreaterThan(1);
    for (const t of [-20, 15, 40, 80]) {
      const T = t + C;
      const slope = (densityAt(oil, T + 0.01) - densityAt(oil, T - 0.01)) / 0.02;
      close(expansionPerKelvin(oil, T), -slope / densityAt(oil, T), 1e-8);
    }
  });
});

test('a pair of points that thickens with heat is a mistake of ours', () => {
  expect(() => of(10, 20)).toThrow('thinner');
});
