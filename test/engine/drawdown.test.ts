/**
 * The reference drawdown at a step error of 1e-11, where only the rounding of the printed numbers is left: half a unit of
 * their last digit. Expected: two separate solutions of the same equations, agreeing to 9 digits (derived). At the
 * default step error it is among the checks (scenarios/checks/runs.ts).
 */
import { readFileSync } from 'node:fs';
import { REFERENCE_DRAWDOWN } from 'tripstroke/checks';
import { expect, test } from 'vitest';
import { formatFaults, loadScenario, replay } from '../../scenarios/index.ts';

const file = 'reference-drawdown.yaml';
function scenario(text: string) {
  const loaded = loadScenario(text, { file });
  expect(formatFaults(loaded)).toBe('');
  return loaded.scenario!;
}

test('to the last printed digit', () => {
  const { result } = replay(scenario(JSON.stringify(REFERENCE_DRAWDOWN)), { relativeStepError: 1e-11 });
  const { end, verdict } = result;
  expect(end.time_s).toBe(60);
  expect(verdict.met).toBe(true);
  expect(Math.abs(end.pressure_Pa - 947_404.5)).toBeLessThan(0.0051);
  expect(Math.abs(end.airTemperature_K - 282.703982)).toBeLessThan(5.1e-7);
  expect(Math.abs(end.wallTemperature_K - 293.081526)).toBeLessThan(5.1e-7);
  expect(Math.abs(end.oil_m3 - 0.185814816)).toBeLessThan(5.1e-10);
  expect(verdict.strokes.map((s) => s.commandedAt_s)).toEqual([0, 0, 0, 4, 8]);
  const ends = [12.523434, 12.523434, 12.523434, 16.904048, 21.016719];
  for (const [i, s] of verdict.strokes.entries()) expect(Math.abs(s.endedAt_s! - ends[i])).toBeLessThan(5.1e-7);
});

test('the file for benchmarks and the one of the checks say the same', () => {
  const text = readFileSync(new URL(`../fixtures/${file}`, import.meta.url), 'utf8');
  expect(scenario(text).values).toEqual(scenario(JSON.stringify(REFERENCE_DRAWDOWN)).values);
});
