/** Writes a file whole or not at all: under another name beside its place, brought to the disk, then renamed. */
import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { isSystemError, systemReason } from './terminal.ts';

/** @returns undefined, or one line about what the operating system objected to */
export function writeWhole(file: string, text: string, what: string): string | undefined {
  const draft = path.join(path.dirname(file), `.${path.basename(file)}.${process.pid}.part`);
  try {
    const handle = openSync(draft, 'w');
    try {
      writeFileSync(handle, text);
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
    renameSync(draft, file);
    return undefined;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    rmSync(draft, { force: true });
    return `${what} cannot be written to ${file}: ${systemReason(error)}`;
  }
}
