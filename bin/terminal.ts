/** The two streams of the process: results on standard output, everything else on standard error. */
import { styleText } from 'node:util';
import { visible } from '../scenarios/wording.ts';
import { Exit, worse } from './exitCodes.ts';
import { folded } from './layout.ts';

const NARROWEST = 40;
const WIDEST = 80;

/** What a colour says; the words say it too. */
export type Emphasis = 'bad' | 'care';
export type Paint = (emphasis: Emphasis, text: string) => string;

// One style each: given a list, styleText of Node.js 20 does not look at the stream.
const styles = { bad: 'red', care: 'yellow' } as const;

/** Colours for standard output; none where it is no terminal or NO_COLOR is set. */
export const paintStdout: Paint = (emphasis, text) =>
  process.env['NO_COLOR'] ? text : styleText(styles[emphasis], text, { stream: process.stdout });
export const paintNothing: Paint = (_emphasis, text) => text;

/** Raises the exit code of the process to `code` where that is worse. */
export function settle(code: Exit): void {
  process.exitCode = worse((process.exitCode ?? Exit.met) as Exit, code);
}

/** Results. */
export const say = (text: string): void => void process.stdout.write(text);
/** Columns of messages for a person; in a file or a pipe a message stays one line, for programs that look for it. */
export const messageWidth = (stream: NodeJS.WriteStream = process.stderr): number =>
  stream.isTTY ? Math.max(NARROWEST, Math.min(WIDEST, stream.columns || WIDEST)) : Number.POSITIVE_INFINITY;
/** Messages, each prefixed with the name of the program. */
export const warn = (text: string): void => warnText(`tripstroke: ${visible(text)}\n`);
/** Text for standard error; long lines are folded on a terminal. */
export function warnText(text: string): void {
  const width = messageWidth();
  const lines = Number.isFinite(width) ? text.split('\n').flatMap((line) => folded(line, width)) : [text];
  process.stderr.write(lines.join('\n'));
}

/**
 * A reader that has seen enough (`| head`) closes the pipe: the rest of the text goes nowhere and the verdict still sets
 * the exit code. Anything else that goes wrong with standard output is said once.
 */
export function watchStreams(): void {
  let told = false;
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE' || told) return;
    told = true;
    warn(`cannot write to standard output: ${systemReason(error)}`);
    settle(Exit.refused);
  });
  process.stderr.on('error', () => {});
}

const reasons: Readonly<Record<string, string>> = {
  EACCES: 'no permission',
  EBUSY: 'it is in use by another program',
  EDQUOT: 'the disk quota is used up',
  EEXIST: 'it is in the way',
  EFBIG: 'a file would grow larger than is allowed here',
  EIO: 'the disk reports an error',
  EISDIR: 'it is a folder',
  EMFILE: 'too many files are open',
  ENAMETOOLONG: 'the name is too long',
  ENOENT: 'no such file or folder',
  ENOSPC: 'the disk is full',
  ENOTDIR: 'a part of the path is a file, not a folder',
  ENOTEMPTY: 'it was changed meanwhile',
  EPERM: 'no permission, or a file in it is open in another program',
  EROFS: 'the disk is read-only',
};

/** Whether an error was raised by the operating system, not by the program. */
export function isSystemError(error: unknown): error is NodeJS.ErrnoException {
  return error instanceof Error && 'syscall' in error && 'code' in error && typeof error.code === 'string';
}

/** What the operating system objects to, in words. */
export const systemReason = (error: NodeJS.ErrnoException): string => reasons[error.code ?? ''] ?? error.message;
