import { test } from 'vitest';
import { loadScenario } from '../../scenarios/index.ts';
import { createUnit } from '../../models/unit.ts';
import { createEngine } from '../../sim/engine.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
test('40', () => {
  const plant = loadScenario(scenarioText(randomCase(Number(process.env["FROM"]))), { file: 'x' }).scenario!.plant;
  const unit = createUnit(plant); const y = unit.start(); const start = unit.start();
  const engine = createEngine(unit, {});
  engine.advance(y, Number(process.env["TO"]), { sampleTicks: 0, event: (s, c, i, v) => { if (c !== 20) return; unit.arm(s); unit.derivative(s[unit.layout.clock.tick] * .01 + s[unit.layout.clock.offset], s, new Float64Array(unit.layout.advanced)); const vv = plant.valves[i]; const A = vv.branch[s[unit.motion.direction + i] > 0 ? 1 : 0].inArea_m2; console.log("ev", s[unit.layout.clock.tick] * .01 + s[unit.layout.clock.offset], (unit.outputs[unit.out.thrust + i] - unit.needed(s, i) + vv.breakaway_N - vv.running_N) / A, s[unit.slots.x + i]); } });
});
