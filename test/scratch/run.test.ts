import { test } from 'vitest';
import { readFileSync } from 'node:fs';
import { loadScenario, formatFaults, replay } from '../../scenarios/index.ts';
test('run', () => {
  const file = process.env['F'] ?? 'scenarios/mill-creek.yaml';
  const loaded = loadScenario(readFileSync(file, 'utf8'), { file, overrides: (process.env['SET'] ?? '').split(';').filter(Boolean) });
  if (!loaded.scenario) { console.log(formatFaults(loaded)); return; }
  const t0 = performance.now();
  const { result } = replay(loaded.scenario, { units: (process.env['U'] ?? 'us') as 'us' });
  console.log('ms', performance.now() - t0);
  console.log(result.verdict.text); for (const s of result.verdict.strokes) console.log(s.valve, s.outcome, s.met, s.reason);
  console.log(result.reserve.reason, result.end, result.ledger);
  for (const f of result.findings) console.log(f.id, f.text, f.at.join(' '));
  for (const e of result.events.slice(0, Number(process.env['N'] ?? 200))) console.log(e.time_s.toFixed(3), e.tag, e.text, ((e.pressure_Pa - result.site.ambientPressure_Pa) / 6894.757).toFixed(1), (e.level_m / 0.0254).toFixed(2));
  console.log(result.duty, result.alarms);
});
