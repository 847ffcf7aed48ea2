/** The files of a command, one after the other. */
import { formatFaults } from '../scenarios/faults.ts';
import type { Loaded } from '../scenarios/load.ts';
import { Exit, worse } from './exitCodes.ts';
import { nameOf, readScenarioText, STANDARD_INPUT } from './input.ts';
import { Interrupted, interruptible } from './interrupt.ts';
import { reportFault } from './programFault.ts';
import { messageWidth, warn, warnText } from './terminal.ts';
import { withUnits } from './withUnits.ts';

export interface OpenedFile {
  /** As on the command line. */
  readonly file: string;
  readonly text: string;
}

/**
 * Work on a file. What it returns is called when it is done, and Ctrl-C no longer cuts it short: for results to appear
 * whole.
 */
export type Work = (opened: OpenedFile) => () => Exit;

/**
 * Does `work` on every file, whatever happens with the others; Ctrl-C ends it.
 *
 * @param abandoned called for a file whose work was cut short, by Ctrl-C or by a fault of the program
 * @returns the worst of what came out
 */
export async function forEachFile(
  files: readonly string[],
  work: Work,
  abandoned: (file: string) => void = () => {},
): Promise<Exit> {
  let code: Exit = Exit.met;
  let interrupted = false;
  const onInterrupt = () => {
    interrupted = true;
    process.stdin.destroy();
  };
  process.on('SIGINT', onInterrupt);
  try {
    for (const [i, file] of files.entries()) {
      if (file === STANDARD_INPUT && files.indexOf(file) < i) {
        warn('"-" is given twice; standard input can be read once');
        code = worse(code, Exit.refused);
        continue;
      }
      const outcome = await one(file);
      code = worse(code, outcome);
      if (outcome === Exit.interrupted) return code;
      // Lets a signal that came meanwhile be heard.
      await new Promise((resolve) => setImmediate(resolve));
      if (interrupted) return worse(code, Exit.interrupted);
    }
    return code;
  } finally {
    process.off('SIGINT', onInterrupt);
  }

  async function one(file: string): Promise<Exit> {
    try {
      const input = await readScenarioText(file);
      if (interrupted) return Exit.interrupted;
      if ('problem' in input) {
        warn(input.problem);
        return Exit.refused;
      }
      const appear = await withUnits(() => interruptible(() => work({ file, text: input.text })));
      return appear();
    } catch (error) {
      abandoned(file);
      if (!(error instanceof Interrupted) && !interrupted) return reportFault(error, nameOf(file));
      warn(`interrupted; ${nameOf(file)} was not finished`);
      return Exit.interrupted;
    }
  }
}

/** Prints the faults of a file that was refused. */
export function refuse(loaded: Loaded): Exit {
  warnText(`${formatFaults(loaded, Math.min(messageWidth(), 80))}\n`);
  return Exit.refused;
}
