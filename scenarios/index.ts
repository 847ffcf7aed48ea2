/** The library: scenario text in, result out. No disk, clock, process or network. */
export { checkScenario, replay, type Replay, type ReplayOptions } from './replay.ts';
export { type Loaded, type LoadOptions, loadScenario, type Scenario } from './load.ts';
export { type Fault, formatFault, formatFaults } from './faults.ts';
export * from './result.ts';
export { scenarioTable, type ScenarioValues } from './scenario.ts';
export { scenarioSchema } from './scenarioSchema.ts';
export { type Trace, traceHeadings, traceRow } from './trace.ts';
export { columnUnit, formatQuantity, type UnitSystem } from './units.ts';
export { VERSION } from './version.ts';
