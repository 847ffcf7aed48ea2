import { test } from 'vitest';
import { loadScenario } from '../../scenarios/index.ts';
import { createUnit } from '../../models/unit.ts';
import { createEngine } from '../../sim/engine.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
test('40', () => {
  const plant = loadScenario(scenarioText(randomCase(40)), { file: 'x' }).scenario!.plant;
  const unit = createUnit(plant); const y = unit.start(); const start = unit.start();
  const engine = createEngine(unit, {});
  engine.advance(y, 2600, { sampleTicks: 20, sample: (s, k) => { if (k > 2000) console.log(k, s[unit.slots.x + 1], s[unit.motion.mode + 1], unit.outputs[unit.out.valveFlow + 1], worstResidual(unit.accounts, start, s)); }, event: (s, c, i, v) => console.log('ev', s[unit.layout.clock.tick] , s[unit.layout.clock.offset], c, i, v, s[unit.slots.x + 1], JSON.stringify(worstResidual(unit.accounts, start, s))) });
});
