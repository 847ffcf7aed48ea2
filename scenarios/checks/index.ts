/** Checks of the program against figures from outside it, for tests and for `tripstroke selfcheck`. */
import {
  atmosphereChecks,
  chargeChecks,
  dissolvedChecks,
  heatChecks,
  nozzleChecks,
  propertyChecks,
  storageChecks,
} from './air.ts';
import type { Check } from './check.ts';
import { compressorChecks, moistureChecks, pumpChecks } from './machines.ts';
import { motorChecks } from './motors.ts';
import { oilChecks } from './oil.ts';
import { pipeChecks } from './pipe.ts';
import { airRuns, drawdownRuns, oilRuns, strokeRuns, swingRuns } from './runs.ts';
import { driveChecks, surgeChecks } from './valves.ts';
import { vesselChecks } from './vessel.ts';

export {
  type Basis,
  type Check,
  type CheckNumbers,
  type CheckResult,
  checkNumbers,
  runChecks,
  type Source,
  sourceText,
  type Tolerance,
} from './check.ts';
export { REFERENCE_DRAWDOWN } from './drawdown.ts';

/** Every check, sorted by subject: first the equations by themselves, then whole runs. */
export const CHECKS: readonly Check[] = [
  ...propertyChecks,
  ...chargeChecks,
  ...storageChecks,
  ...heatChecks,
  ...dissolvedChecks,
  ...nozzleChecks,
  ...atmosphereChecks,
  ...vesselChecks,
  ...oilChecks,
  ...pipeChecks,
  ...pumpChecks,
  ...compressorChecks,
  ...motorChecks,
  ...moistureChecks,
  ...driveChecks,
  ...surgeChecks,
  ...oilRuns,
  ...swingRuns,
  ...airRuns,
  ...strokeRuns,
  ...drawdownRuns,
];
