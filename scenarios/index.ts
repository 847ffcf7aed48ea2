/** The library: scenario text in, result out. No disk, clock, process or network. */
import math from 'mathjs/lib/browser/math.js';
import { type Loaded, type LoadOptions, loadScenario as load } from './load.ts';
import { provideMathUnits } from './mathUnits.ts';

export { type Fault, formatFault, formatFaults } from './faults.ts';
export type { Loaded, LoadOptions, Scenario } from './load.ts';
export { checkScenario, type Replay, type ReplayOptions, replay } from './replay.ts';
export * from './result.ts';
export { type ScenarioValues, scenarioTable } from './scenario.ts';
export { scenarioSchema } from './scenarioSchema.ts';
export { type Trace, traceHeadings, traceRow } from './trace.ts';
export { columnUnit, formatQuantity, type UnitSystem } from './units.ts';
export { VERSION } from './version.ts';

/** Reads and checks a scenario. Never throws on bad input: whatever is wrong comes back as faults with their places. */
export function loadScenario(text: string, options: LoadOptions): Loaded {
  provideMathUnits(math);
  return load(text, options);
}
