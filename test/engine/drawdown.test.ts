/**
 * The reference drawdown: five alike cylinders opened from one charge of air, through the library from the text of its
 * file. Expected: two separate solutions of the same equations, agreeing to 9 digits (derived); printed to 8 or 9 digits.
 */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { formatFaults, loadScenario, replay } from '../../scenarios/index.ts';
import { close } from '../support/close.ts';

const file = 'reference-drawdown.yaml';
const text = readFileSync(new URL(`../fixtures/${file}`, import.meta.url), 'utf8');
const psi = 6894.757293168;

function run(options = {}) {
  const loaded = loadScenario(text, { file });
  expect(formatFaults(loaded)).toBe('');
  return replay(loaded.scenario!, options).result;
}

// Observed at the default step error: 4e-9 in pressure, under 2e-9 in temperatures and oil, 0.5 us in stroke ends, which
// is the rounding of the printed numbers.
test('end state within 1e-5, stroke ends within 2 ms', () => {
  const { end, verdict, ledger } = run();
  close(end.pressure_Pa, 947_404.5, 1e-5);
  expect(Math.abs((end.pressure_Pa - 101_325) / psi - 122.71346)).toBeLessThan(122.71346e-5);
  close(end.airTemperature_K, 282.703982, 1e-5);
  close(end.wallTemperature_K, 293.081526, 1e-5);
  close(end.oil_m3, 0.185814816, 1e-5);
  expect(end.time_s).toBe(60);
  const ends = [12.523434, 12.523434, 12.523434, 16.904048, 21.016719];
  expect(verdict.strokes.map((s) => s.commandedAt_s)).toEqual([0, 0, 0, 4, 8]);
  for (const [i, s] of verdict.strokes.entries()) expect(Math.abs(s.endedAt_s! - ends[i])).toBeLessThan(2e-3);
  expect(verdict.met).toBe(true);
  expect(ledger.worstRelative).toBeLessThan(1e-12);
});

// At a step error of 1e-11 only the rounding of the printed numbers is left: half a unit of their last digit.
test('with tight steps, to the last printed digit', () => {
  const { end, verdict } = run({ relativeStepError: 1e-11 });
  expect(Math.abs(end.pressure_Pa - 947_404.5)).toBeLessThan(0.0051);
  expect(Math.abs(end.airTemperature_K - 282.703982)).toBeLessThan(5.1e-7);
  expect(Math.abs(end.wallTemperature_K - 293.081526)).toBeLessThan(5.1e-7);
  expect(Math.abs(end.oil_m3 - 0.185814816)).toBeLessThan(5.1e-10);
  const ends = [12.523434, 12.523434, 12.523434, 16.904048, 21.016719];
  for (const [i, s] of verdict.strokes.entries()) expect(Math.abs(s.endedAt_s! - ends[i])).toBeLessThan(5.1e-7);
});
