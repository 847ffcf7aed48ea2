/** Line resistance against definitions and against its own inverse and slope. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  compileLine,
  darcyFrictionFactor,
  drop,
  dropAndSlope,
  flowCoefficientFromCv,
  flowCoefficientFromKv,
  flowFor,
  quadraticFlow,
  quadraticFromFlowCoefficient,
  quadraticFromOrifice,
} from '../../models/pipe.ts';
import { close } from '../support/close.ts';

const inch = 0.0254;
const gallon = 231 * inch ** 3;
const psi = 6894.757293168;

describe('friction factor', () => {
  test('laminar limit: 64/Re, 0.14 % more at Re 2000, under 1e-5 below 1500 (derived from the formula)', () => {
    for (const re of [0.01, 0.999, 1, 100, 500, 1000, 1499]) close(darcyFrictionFactor(re, 0), 64 / re, 1e-5);
    close(darcyFrictionFactor(2000, 0), (64 / 2000) * 1.0014, 1e-4);
  });
});

describe('valves and orifices', () => {
  test('definitions: Kv 1 passes 1 m3/h at 1 bar, Cv 1 a gallon a minute at 1 psi', () => {
    const water = 1000;
    close(quadraticFlow(0, quadraticFromFlowCoefficient(flowCoefficientFromKv(1), water), 1e5), 1 / 3600, 1e-14);
    close(quadraticFlow(0, quadraticFromFlowCoefficient(flowCoefficientFromCv(1), water), psi), gallon / 60, 1e-14);
  });

  test('an orifice without velocity of approach: Q = Cd A sqrt(2 dp/rho)', () => {
    const free = quadraticFlow(0, quadraticFromOrifice(0.62, 0.01, 870), 1e5);
    close(free, 0.62 * (Math.PI / 4) * 1e-4 * Math.sqrt(2e5 / 870), 1e-14);
  });
});

test('filter: a Q up to the opening of the bypass, then element and bypass side by side; bypass shut in reverse', () => {
  const filter = { element_Pas_m3: 3e8, bypassOpening_Pa: 150_000, bypass_Pas_m3: 1e8 };
  const leg = compileLine({ filter }, { density_kg_m3: 870, viscosity_m2_s: 46e-6 });
  close(drop(leg, 4e-4), 120_000, 1e-14);
  close(drop(leg, 5e-4), 150_000, 1e-14);
  // 180 kPa: 6e-4 through the element and (180 - 150) kPa/1e8 = 3e-4 past it
  close(drop(leg, 9e-4), 180_000, 1e-13);
  close(flowFor(leg, 180_000), 9e-4, 1e-13);
  close(drop(leg, -9e-4), -270_000, 1e-14);
  close(flowFor(leg, -270_000), -9e-4, 1e-13);
  const bare = compileLine({ filter: { element_Pas_m3: 3e8 } }, { density_kg_m3: 870, viscosity_m2_s: 46e-6 });
  close(drop(bare, 9e-4), 270_000, 1e-14);
});

test('a resistance that is no number is caught', () => {
  const oil = { density_kg_m3: 870, viscosity_m2_s: 46e-6 };
  expect(() => compileLine({ linear_Pas_m3: -1 }, oil)).toThrow('resistance');
  expect(() => compileLine({ pipes: [{ length_m: 1, diameter_m: 0, roughness_m: 0 }] }, oil)).toThrow('resistance');
  expect(() => compileLine({ fittingsK: 2 }, oil)).toThrow('diameter');
});

const anyPipe = fc.record({
  length_m: fc.double({ min: 0, max: 200, noNaN: true }),
  diameter_m: fc.double({ min: 0.008, max: 0.3, noNaN: true }),
  roughness_m: fc.double({ min: 0, max: 2e-4, noNaN: true }),
  fittingsK: fc.double({ min: 0, max: 30, noNaN: true }),
});
const anyLine = fc.record({
  linear_Pas_m3: fc.double({ min: 0, max: 1e8, noNaN: true }),
  quadratic_Pas2_m6: fc.double({ min: 1, max: 1e12, noNaN: true }),
  pipes: fc.array(anyPipe, { maxLength: 3 }),
  rise_m: fc.double({ min: -10, max: 10, noNaN: true }),
});
const viscosity = fc.double({ min: 2, max: 3000, noNaN: true }).map((v) => v * 1e-6);
const flow = fc.double({ min: -9, max: -1, noNaN: true }).map((e) => 10 ** e);
const out = new Float64Array(2);

describe('any line', () => {
  test('drop is the sum of its parts by the plain formula', () => {
    fc.assert(
      fc.property(anyLine, viscosity, flow, (spec, nu, q) => {
        const leg = compileLine(spec, { density_kg_m3: 870, viscosity_m2_s: nu });
        let sum = spec.linear_Pas_m3 * q + spec.quadratic_Pas2_m6 * q * q;
        for (const { length_m, diameter_m, roughness_m, fittingsK } of spec.pipes) {
          const v = q / ((Math.PI / 4) * diameter_m ** 2);
          const f = darcyFrictionFactor((v * diameter_m) / nu, roughness_m / diameter_m);
          sum += (((f * length_m) / diameter_m + fittingsK) * 870 * v * v) / 2;
        }
        // 1e-13: powers of 16 and 12 magnify rounding some tens of times
        close(drop(leg, q), sum, 1e-13);
        expect(drop(leg, -q)).toBe(-drop(leg, q));
      }),
      { seed: 21, numRuns: 2000 },
    );
  });

  test('slope is the difference quotient, and positive: more flow costs more', () => {
    fc.assert(
      fc.property(anyLine, viscosity, flow, (spec, nu, q) => {
        const leg = compileLine(spec, { density_kg_m3: 870, viscosity_m2_s: nu });
        dropAndSlope(leg, q, out);
        const d = 1e-5 * q;
        // 1e-7: the third derivative in the transition times d^2, and rounding over d
        close(out[1]!, (drop(leg, q + d) - drop(leg, q - d)) / (2 * d), 1e-7);
        expect(out[1]!).toBeGreaterThan(0);
        expect(out[0]!).toBe(drop(leg, q));
      }),
      { seed: 22, numRuns: 2000 },
    );
  });

  test('flowFor is the inverse, both directions', () => {
    fc.assert(
      fc.property(anyLine, viscosity, flow, fc.boolean(), (spec, nu, size, reverse) => {
        const leg = compileLine(spec, { density_kg_m3: 870, viscosity_m2_s: nu });
        const q = reverse ? -size : size;
        close(flowFor(leg, drop(leg, q)), q, 4e-14); // the rounding of drop, at most doubled by its inverse
        expect(flowFor(leg, 0)).toBe(0);
      }),
      { seed: 23, numRuns: 2000 },
    );
  });

  test('never less than the laminar line: the laminar law is the limit towards zero flow', () => {
    fc.assert(
      fc.property(anyPipe, viscosity, (pipe, nu) => {
        fc.pre(pipe.length_m > 0.01);
        const leg = compileLine({ pipes: [{ ...pipe, fittingsK: 0 }] }, { density_kg_m3: 870, viscosity_m2_s: nu });
        const q = 1e-3 / leg.pipes[0]!;
        const v = q / ((Math.PI / 4) * pipe.diameter_m ** 2);
        close(drop(leg, q), (32 * 870 * nu * pipe.length_m * v) / pipe.diameter_m ** 2, 1e-14);
        for (const re of [1, 700, 900, 2300, 5000]) {
          const at = re / leg.pipes[0]!;
          expect(drop(leg, at)).toBeGreaterThanOrEqual(leg.laminar_Pas_m3 * at * (1 - 1e-14));
        }
      }),
      { seed: 24, numRuns: 200 },
    );
  });
});
