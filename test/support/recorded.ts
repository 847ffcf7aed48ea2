/** The small invented unit of baseUnit.ts, run once and recorded: for long runs, verdicts and findings. */

import { createUnit, type Unit } from '../../models/unit.ts';
import { formatFaults, loadScenario, type Replay, type Result, replay, type Scenario } from '../../scenarios/index.ts';
import { type RunRecord, runPlant } from '../../scenarios/run.ts';
import { createEngine } from '../../sim/engine.ts';
import { BASE, type Changes } from './baseUnit.ts';

/** The base unit with changes, or the faults that it then has. */
export function changed(changes: Changes): { readonly scenario: Scenario | undefined; readonly faults: string } {
  const overrides = Object.entries(changes).map(
    ([path, value]) => `${path}=${typeof value === 'string' ? value : JSON.stringify(value)}`,
  );
  const loaded = loadScenario(BASE, { file: 'base', overrides });
  return { scenario: loaded.scenario, faults: loaded.scenario === undefined ? formatFaults(loaded) : '' };
}

export function scenarioOf(changes: Changes): Scenario {
  const { scenario, faults } = changed(changes);
  if (scenario === undefined) throw new Error(faults);
  return scenario;
}

/** Runs for a time; the ledger is checked at every sample. */
export function record(changes: Changes, seconds: number, sample_s = 60): RunRecord {
  const { plant } = scenarioOf(changes);
  const ticks = (s: number) => Math.round(s / plant.tick_s);
  return runPlant(plant, { toTick: ticks(seconds), sampleTicks: ticks(sample_s), trace: true });
}

export function replayed(changes: Changes): Replay {
  return replay(scenarioOf(changes), { units: 'si' });
}

export const findingIds = (result: Result): string[] => result.findings.map((f) => f.id);

/** Advances the unit from a start state that `prepare` may change, and shows the state at each of the times. */
export function advanced(
  changes: Changes,
  times_s: readonly number[],
  prepare: (y: Float64Array, unit: Unit) => void = () => {},
): { readonly unit: Unit; readonly states: readonly Float64Array[] } {
  const { plant } = scenarioOf(changes);
  const unit = createUnit(plant);
  const engine = createEngine(unit);
  const y = unit.start();
  prepare(y, unit);
  const states = times_s.map((t) => {
    engine.advance(y, Math.round(t / plant.tick_s), { sampleTicks: 0 });
    return y.slice();
  });
  return { unit, states };
}
