/** Trace rows: one at each period, whatever the steps do. */
import { expect, test } from 'vitest';
import { createUnit } from '../../models/unit.ts';
import { loadScenario } from '../../scenarios/index.ts';
import { createEngine } from '../../sim/engine.ts';
import { BASE } from '../support/baseUnit.ts';

test('every period has exactly one row, in order, also where a step happens to end on a tick', () => {
  // A fixed step of one tick ends on ticks without being told to.
  const { scenario } = loadScenario(BASE, { file: 'base' });
  const unit = createUnit(scenario!.plant);
  for (const fixedStep_s of [0.1, 0.05, 0.2, 0.3]) {
    const y = unit.start();
    const ticks: number[] = [];
    createEngine(unit, { fixedStep_s }).advance(y, 400, { sampleTicks: 2, sample: (_state, tick) => ticks.push(tick) });
    expect(ticks).toEqual(Array.from({ length: 201 }, (_, k) => 2 * k));
  }
});
