import { test } from 'vitest';
import { loadScenario } from '../../scenarios/index.ts';
import { createUnit } from '../../models/unit.ts';
import { createEngine } from '../../sim/engine.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
test('49', () => {
  const c = { ...randomCase(47), sample_s: 0.01, duration_s: 50.1 };
  const plant = loadScenario(scenarioText(c), { file: 'x' }).scenario!.plant;
  const unit = createUnit(plant); const y = unit.start();
  let last = 0;
  const sys = { ...unit, probe(s: Float64Array) { unit.probe(s); if (last > 49.95) console.log('probe at', last, unit.probes[2], unit.probing[2], s[unit.motion.mode + 2], s[unit.slots.x + 2]); }, derivative(t: number, s: Float64Array, r: Float64Array) { last = t; unit.derivative(t, s, r); } };
  const engine = createEngine(sys, { relativeStepError: 1e-11});
  engine.advance(y, 5010, { sampleTicks: 0, settled: (s: Float64Array) => { const t = s[unit.layout.clock.tick] * .01 + s[unit.layout.clock.offset]; if (t > 49.9) console.log('settled', t); }, event: (s, c, i) => { const t = s[unit.layout.clock.tick] * .01 + s[unit.layout.clock.offset]; if (t > 49.9) console.log('event', t, c, i); } });
});
