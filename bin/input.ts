/** Scenario files from disk or standard input. */
import { closeSync, fstatSync, openSync, readdirSync, readSync, statSync } from 'node:fs';
import path from 'node:path';
import { nearest } from '../scenarios/wording.ts';
import { isSystemError, systemReason } from './terminal.ts';

export const MOST_BYTES = 16 * 1024 * 1024;
/** The name that stands for standard input on the command line. */
export const STANDARD_INPUT = '-';

export type Input = { readonly text: string } | { readonly problem: string };

/**
 * Reads a scenario as UTF-8, with or without a byte order mark.
 *
 * @param file path, or "-" for standard input
 * @returns the text, or one line that names the file and says what is wrong with it
 */
export async function readScenarioText(file: string): Promise<Input> {
  const name = nameOf(file);
  try {
    const bytes = file === STANDARD_INPUT ? await readStandardInput() : readFile(file);
    if (bytes.length > MOST_BYTES)
      return { problem: `${name}: is larger than ${MOST_BYTES / 1024 ** 2} MB; a scenario file is not` };
    return decode(bytes, name);
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return { problem: `${name}: ${unreadable(file, error)}` };
  }
}

/** How a file is called in messages. */
export const nameOf = (file: string): string => (file === STANDARD_INPUT ? 'standard input' : file);

/** Whether a file that can be read begins with a byte order mark; its text comes without. */
export function beginsWithMark(file: string): boolean {
  return (
    file !== STANDARD_INPUT &&
    readFile(file)
      .subarray(0, 3)
      .equals(Buffer.from([0xef, 0xbb, 0xbf]))
  );
}

/** What tells a file from every other, whatever it is called; undefined where that cannot be found out. */
function placeOf(file: string): string | undefined {
  try {
    const { dev, ino } = statSync(file, { bigint: true });
    return `${dev}/${ino}`;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return undefined;
  }
}

/** Why a scenario that was read is not to be written over, or undefined where `out` is another file. */
export function overItself(file: string, out: string): string | undefined {
  if (file === STANDARD_INPUT) return undefined;
  const [read, written] = [file, out].map(placeOf);
  if (read === undefined || read !== written) return undefined;
  const { dir, name, ext } = path.parse(out);
  return `--out: ${out} is the file that is read; write for example --out ${path.join(dir, `${name}-new${ext}`)}`;
}

function readFile(file: string): Buffer {
  const handle = openSync(file, 'r');
  try {
    if (fstatSync(handle).isDirectory()) throw Object.assign(new Error(), { code: 'EISDIR', syscall: 'read' });
    const parts: Buffer[] = [];
    let total = 0;
    while (total <= MOST_BYTES) {
      const part = Buffer.alloc(1 << 16);
      const read = readSync(handle, part);
      if (read === 0) break;
      parts.push(part.subarray(0, read));
      total += read;
    }
    return Buffer.concat(parts);
  } finally {
    closeSync(handle);
  }
}

async function readStandardInput(): Promise<Buffer> {
  const parts: Buffer[] = [];
  let total = 0;
  for await (const part of process.stdin) {
    parts.push(part as Buffer);
    total += (part as Buffer).length;
    if (total > MOST_BYTES) break;
  }
  return Buffer.concat(parts);
}

/** The text of a file, or one line that says what is wrong with it and where. */
export function decode(bytes: Buffer, name: string): Input {
  const utf16 = (bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff);
  if (utf16) return { problem: `${name}:1:1: error: the file is UTF-16 text; save it as UTF-8` };
  const zero = bytes.indexOf(0);
  if (zero >= 0) return { problem: `${name}:${placeIn(bytes, zero)}: error: this is no text: it holds a zero byte` };
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes) };
  } catch {
    const text = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
    // Everything before the first replacement character decodes to the same bytes.
    const at = firstBad(text, bytes);
    return { problem: `${name}:${placeIn(bytes, at)}: error: a byte that is not UTF-8; save the file as UTF-8 text` };
  }
}

function firstBad(text: string, bytes: Buffer): number {
  const mark = Buffer.from('\ufffd');
  let offset = 0;
  for (const char of text) {
    // A replacement character may also have been written as such.
    if (char === '\ufffd' && !bytes.subarray(offset, offset + 3).equals(mark)) return offset;
    offset += Buffer.byteLength(char);
  }
  return offset;
}

/** "line:column" of a byte, counted from 1. */
function placeIn(bytes: Buffer, offset: number): string {
  const before = bytes
    .subarray(0, offset)
    .toString('utf-8')
    .replace(/^\ufeff/, '');
  const lines = before.split(/\r\n|\r|\n/);
  return `${lines.length}:${lines[lines.length - 1]!.length + 1}`;
}

function unreadable(file: string, error: NodeJS.ErrnoException): string {
  if (error.code === 'EISDIR') return 'is a folder; give the name of a scenario file';
  if (error.code !== 'ENOENT') return `cannot be read: ${systemReason(error)}`;
  const near = nearest(path.basename(file), neighbours(path.dirname(file)));
  const hint = near === undefined ? '' : `; did you mean "${path.join(path.dirname(file), near)}"?`;
  return `no such file${hint}`;
}

function neighbours(folder: string): string[] {
  try {
    return readdirSync(folder).filter((name) => /\.ya?ml$/i.test(name));
  } catch {
    return [];
  }
}
