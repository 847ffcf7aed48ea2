/** `check`: what is wrong or bad in scenario files, without running them. */
import { loadScenario } from '../scenarios/load.ts';
import { checkScenario } from '../scenarios/replay.ts';
import { staircase } from '../scenarios/staircase.ts';
import { type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { countOf, printCheck } from './print.ts';
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
    const { values, plant } = scenario;
    return () => {
      const stairs = staircase(values, plant);
      say(`${nameOf(file)}: no faults, ${countOf(findings)}\n`);
      say(printCheck(findings, stairs, units, plant.ambientPressure_Pa, paintStdout));
      return Exit.met;
    };
  });
}
