/** `check`: what is wrong or bad in scenario files, without running them. */
import { loadScenario } from '../scenarios/load.ts';
import { checkScenario } from '../scenarios/replay.ts';
import { staircase } from '../scenarios/staircase.ts';
import { type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { printFindings, printStaircase } from './print.ts';
import { paintStdout, say } from './terminal.ts';

export interface CheckOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
}

export function checkCommand(files: readonly string[], options: CheckOptions): Promise<Exit> {
  return forEachFile(files, ({ file, text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    if (loaded.scenario === undefined) return () => refuse(loaded);
    const { scenario } = loaded;
    const units = options.units ?? unitsWritten(text);
    const findings = checkScenario(scenario, units);
    const count =
      findings.length === 0 ? 'no findings' : findings.length === 1 ? '1 finding' : `${findings.length} findings`;
    return () => {
      const stairs = printStaircase(staircase(scenario.values), units, scenario.plant.ambientPressure_Pa);
      say(`${nameOf(file)}: no faults, ${count}\n${printFindings(findings, paintStdout)}\n${stairs}`);
      return Exit.met;
    };
  });
}
