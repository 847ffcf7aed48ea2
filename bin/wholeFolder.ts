/** Writes a folder of files whole or not at all: under a hidden name beside its place, brought to the disk, then renamed. */
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import { isSystemError, systemReason } from './terminal.ts';

/** Why a folder cannot be written there; undefined where it can. Nothing that stands there is ever replaced. */
export function taken(folder: string): string | undefined {
  if (!existsSync(folder)) return undefined;
  if (!statSync(folder).isDirectory()) return `${folder} is a file; give another --out`;
  return readdirSync(folder).length === 0 ? undefined : `${folder} is not empty, and is left alone; give another --out`;
}

/** @returns undefined, or one line about what the operating system objected to */
export function writeFolder(folder: string, files: ReadonlyMap<string, string>): string | undefined {
  const place = path.resolve(folder);
  const draft = path.join(path.dirname(place), `.${path.basename(place)}.${process.pid}.part`);
  try {
    mkdirSync(draft, { recursive: true });
    for (const [name, text] of files) {
      const handle = openSync(path.join(draft, name), 'w');
      try {
        writeFileSync(handle, text);
        fsyncSync(handle);
      } finally {
        closeSync(handle);
      }
    }
    if (existsSync(place)) rmdirSync(place);
    renameSync(draft, place);
    return undefined;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    rmSync(draft, { recursive: true, force: true });
    return `${folder} cannot be written: ${systemReason(error)}`;
  }
}
