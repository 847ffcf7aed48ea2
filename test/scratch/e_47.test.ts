import { test } from 'vitest';
import { loadScenario, replay } from '../../scenarios/index.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
test('47', () => {
  const c = { ...randomCase(Number(process.env['FROM'])), sample_s: 0.04, duration_s: Number(process.env['TO']) };
  const i = Number(process.env['VALVE']);
  const { trace, result } = replay(loadScenario(scenarioText(c), { file: 'x' }).scenario!, { relativeStepError: 1e-11 });
  const a = secondSolution(c);
  const xc = trace!.columns.findIndex((k) => k.name === `V-${i + 1} position`);
  const fc = trace!.columns.findIndex((k) => k.name === `V-${i + 1} flow`);
  for (const s of a.samples) if (s.time > Number(process.env['AFTER'])) {
    const row = trace!.rows.findLast((r) => Math.abs(r[0] - s.time) < 1e-9)!;
    console.log(s.time.toFixed(2), row[xc] - s.state[5 + i], row[fc], s.snapshot.flow[i], row[1] / s.snapshot.pressure - 1);
  }
  console.log(result.events.filter((e) => e.code === 20).map((e) => e.time_s), a.happenings.filter((h) => h.kind === 'rests').map((h) => h.time));
});
