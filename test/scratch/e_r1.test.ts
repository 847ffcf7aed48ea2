import { test } from 'vitest';
import { readFileSync } from 'node:fs';
import { loadScenario, formatFaults, replay } from '../../scenarios/index.ts';
test('r1', () => {
  const file = 'test/fixtures/reference-drawdown.yaml';
  const loaded = loadScenario(readFileSync(file, 'utf8'), { file });
  if (!loaded.scenario) { console.log(formatFaults(loaded as never)); return; }
  for (const o of [{}, { relativeStepError: 1e-11 }]) {
  const { result } = replay(loaded.scenario, o);
  const e = result.end;
  console.log(result.verdict.strokes.map((s) => [s.valve, s.endedAt_s! , s.time_s]).join('|'));
  const want = [12.523434, 12.523434, 12.523434, 16.904048, 21.016719];
  console.log(result.verdict.strokes.map((s, i) => (s.endedAt_s! - want[i]).toExponential(2)).join(' '));
  console.log(e.pressure_Pa / 947404.5 - 1, e.airTemperature_K / 282.703982 - 1, e.wallTemperature_K / 293.081526 - 1, e.oil_m3 / 0.185814816 - 1, (e.pressure_Pa-101325)/6894.757293168361);
  }
});
