/** Surge in the pipeline that a valve shuts: elementary theory. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { compilePipeline, type Pipeline, pipePeriod, surgeOf, waveSpeed } from '../../models/surge.ts';
import { close } from '../support/close.ts';

test('the wave speed given counts, else that of the pipe', () => {
  const pipe = {
    length: 900,
    velocity: 2,
    diameter: 0.5,
    wallThickness: 0.005,
    modulus: 2e11,
    density: 1000,
    bulkModulus: 2.07e9,
  };
  expect(compilePipeline(pipe).waveSpeed_m_s).toBe(waveSpeed(2.07e9, 1000, 0.5, 0.005, 2e11));
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
