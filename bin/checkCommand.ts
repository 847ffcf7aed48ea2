/** `check`: what is wrong or bad in scenario files, without running them. */
import { loadScenario } from '../scenarios/load.ts';
import { checkScenario } from '../scenarios/replay.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { printFindings } from './print.ts';
import { paintStdout, say } from './terminal.ts';

export interface CheckOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
}

export function checkCommand(files: readonly string[], options: CheckOptions): Promise<Exit> {
  return forEachFile(files, ({ file, text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    if (loaded.scenario === undefined) return () => refuse(loaded);
    const findings = checkScenario(loaded.scenario, options.units ?? 'us');
    const count =
      findings.length === 0 ? 'no findings' : findings.length === 1 ? '1 finding' : `${findings.length} findings`;
    return () => {
      say(`${nameOf(file)}: no faults, ${count}\n${printFindings(findings, paintStdout)}`);
      return Exit.met;
    };
  });
}
