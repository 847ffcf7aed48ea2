/** Surge in the pipeline that a valve shuts: elementary theory against published and derived figures. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { compilePipeline, type Pipeline, pipePeriod, surgeOf, waveSpeed } from '../../models/surge.ts';
import { close } from '../support/close.ts';

const ft = 0.3048;
const psi = 6894.757293168;
/** Weight of the water that the source turns feet into psi with: 62.4 lb/ft3 (from memory), its g taken as 32 ft/s2. */
const psiPerFoot = 62.4 / 144;

// US Army TM 5-813-9, figure 4-5 (read): a = 2690 ft/s, L = 3400 ft, V = 6.48 ft/s, g taken as 32 ft/s2: pipe period
// 2.53 s, head 544.7 ft (236.1 psi), with the static 20 ft 565 ft (245 psi); 1.6 periods make 4.1 s. Printed to three or
// four digits: 0.2 %.
test('a pump control valve on 3400 ft of pipe', () => {
  const line: Pipeline = {
    length_m: 3400 * ft,
    velocity_m_s: 6.48 * ft,
    waveSpeed_m_s: 2690 * ft,
    density_kg_m3: 1000,
  };
  close(pipePeriod(line), 2.53, 2e-3);
  close(1.6 * pipePeriod(line), 4.1, 1.5e-2); // printed to two digits
  // dp = rho g dH with the g of the source: its head is dp/(rho 32 ft/s2).
  const head_ft = surgeOf(line, 1).rise_Pa / (1000 * 32 * ft) / ft;
  close(head_ft, 544.7, 2e-3);
  close(head_ft * psiPerFoot, 236.1, 2e-3);
  close(head_ft + 20, 565, 2e-3);
  close((head_ft + 20) * psiPerFoot, 245, 2e-3);
  // With g = 32.174 ft/s2 (derived) 541.8 ft.
  close(surgeOf(line, 1).rise_Pa / (1000 * 32.174 * ft) / ft, 541.8, 2e-4);
  // The same without any g: rho a v of water in psi (derived).
  close(surgeOf(line, 1).rise_Pa / psi, (1000 * 2690 * ft * 6.48 * ft) / psi, 1e-12);
});

// a = sqrt((K/rho)/(1 + K D/(E e))) with K = 2.07 GPa, rho = 1000, E = 200 GPa, D = 0.5, e = 0.005 m (derived).
test('wave speed: 1008.6 m/s in this pipe, 1438.7 m/s in a rigid one', () => {
  expect(Math.abs(waveSpeed(2.07e9, 1000, 0.5, 0.005, 2e11) - 1008.6)).toBeLessThan(0.1);
  expect(Math.abs(waveSpeed(2.07e9, 1000, 0, 0.005, 2e11) - 1438.7)).toBeLessThan(0.1);
  const pipe = {
    length: 900,
    velocity: 2,
    diameter: 0.5,
    wallThickness: 0.005,
    modulus: 2e11,
    density: 1000,
    bulkModulus: 2.07e9,
  };
  expect(Math.abs(compilePipeline(pipe).waveSpeed_m_s - 1008.6)).toBeLessThan(0.1);
  expect(compilePipeline({ ...pipe, waveSpeed: 1234 }).waveSpeed_m_s).toBe(1234);
});

// A closure within the pipe period gives the full rise, a slower one less (textbooks on 2 L/a, read); the boundary counts
// as rapid, and both formulas agree there (derived).
test('rapid up to the pipe period, then falling with the closing time', () => {
  const positive = (min: number, max: number) => fc.double({ min, max, noNaN: true });
  fc.assert(
    fc.property(positive(10, 5000), positive(0.1, 8), positive(200, 1480), positive(1, 50), (length_m, v, a, times) => {
      const line: Pipeline = { length_m, velocity_m_s: v, waveSpeed_m_s: a, density_kg_m3: 998 };
      const period = pipePeriod(line);
      const full = 998 * a * v;
      expect(surgeOf(line, period)).toEqual({ rapid: true, rise_Pa: full });
      expect(surgeOf(line, period / times)).toEqual({ rapid: true, rise_Pa: full });
      const slow = surgeOf(line, period * times * 1.0001);
      expect(slow.rapid).toBe(false);
      close(slow.rise_Pa, full / (times * 1.0001), 1e-12);
    }),
    { seed: 21, numRuns: 200 },
  );
});
