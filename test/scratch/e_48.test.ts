import { test } from 'vitest';
import { loadScenario } from '../../scenarios/index.ts';
import { createUnit } from '../../models/unit.ts';
import { createEngine } from '../../sim/engine.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
test('48', () => {
  const c = { ...randomCase(Number(process.env['FROM'])), sample_s: 0.01, duration_s: 50.1 };
  const plant = loadScenario(scenarioText(c), { file: 'x' }).scenario!.plant;
  const unit = createUnit(plant); const y = unit.start();
  const engine = createEngine(unit, { relativeStepError: 1e-11});
  const i = 2; const A = plant.valves[i].branch[0].inArea_m2;
  const a = secondSolution(c);
  console.log(JSON.stringify(c.valves[i]), A);
  engine.advance(y, 5010, { sampleTicks: 1, sample: (s, k) => { if (k < 4990) return; unit.derivative(k * .01, s, new Float64Array(unit.layout.advanced)); const m = a.samples.find((q) => Math.abs(q.time - k * .01) < 1e-9)!; console.log(k, (unit.outputs[unit.out.thrust + i] - unit.needed(s, i)) / A, (m.snapshot.spare[i] - c.valves[i].running) / A, unit.outputs[unit.out.valveFlow + i], m.snapshot.flow[i], s[unit.motion.mode + i], unit.outputs[unit.out.headerPressure] - m.snapshot.headerPressure,  unit.outputs[unit.out.returnPressure] - m.snapshot.returnPressure); } });
});
