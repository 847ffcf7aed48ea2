/** What the user is told when the program, not the input, is at fault. */
import { VERSION } from '../scenarios/version.ts';
import { Exit } from './exitCodes.ts';
import { warn, warnText } from './terminal.ts';

/**
 * Prints one line that asks for a report; the stack only where TRIPSTROKE_DEBUG is set.
 *
 * @param file that was being worked on
 */
export function reportFault(error: unknown, file?: string): Exit {
  const what = error instanceof Error ? error.message : String(error);
  const where = file === undefined ? '' : ` with ${file}`;
  const ask = `please report this${file === undefined ? '' : ' and send the file'}`;
  warn(`fault of the program${where}: ${what.replace(/\s+/g, ' ')} (version ${VERSION}); ${ask}`);
  if (process.env['TRIPSTROKE_DEBUG'] && error instanceof Error) warnText(`${error.stack ?? ''}\n`);
  return Exit.fault;
}
