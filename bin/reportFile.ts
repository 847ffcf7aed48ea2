/** Reports: where they may be written, what runs in them, and the command line that makes them again. */
import { accessSync, constants, readFileSync, statSync } from 'node:fs';
import path from 'node:path';
import { ProgramFault } from '../sim/fault.ts';
import type { Origin } from '../web/page.ts';
import { scenarioHash } from '../web/sha256.ts';
import { nameOf, STANDARD_INPUT } from './input.ts';
import { isSystemError, systemReason } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

/** What keeps a report from being written there, as one line; asked before a long run, not after it. */
export function reportObstacle(report: string): string | undefined {
  if (!/\.html?$/i.test(report)) return `--report: "${report}" must end in .html; write for example "report.html"`;
  const folder = path.dirname(path.resolve(report));
  try {
    if (!statSync(folder).isDirectory()) return `--report: ${folder} is a file, not a folder`;
    accessSync(folder, constants.W_OK);
    if (statSync(report, { throwIfNoEntry: false })?.isDirectory()) return `--report: ${report} is a folder`;
    return undefined;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return `--report: nothing can be written to ${folder}: ${systemReason(error)}`;
  }
}

/** What runs in a report, as `web/build.mjs` has put it together. */
export function reportScript(): string {
  const file = new URL('../web/bundle/report.js', import.meta.url);
  try {
    return readFileSync(file, 'utf-8').trim();
  } catch {
    throw new ProgramFault('the script of the report is missing from the program: build it anew with "npm run build"');
  }
}

/** Writes a report whole or not at all; one line about what went wrong, if anything did. */
export const writeReport = (report: string, text: string): string | undefined => writeWhole(report, text, 'the report');

/** A command line that can be typed as it stands. */
export function commandLine(...words: readonly string[]): string {
  const quoted = (word: string) => (/^[\w./:=@%+,-]+$/.test(word) ? word : `"${word.replace(/["\\$`]/g, '\\$&')}"`);
  return ['tripstroke', ...words].map(quoted).join(' ');
}

/** Options as words: those that are not given are left out. */
export function optionWords(options: Readonly<Record<string, unknown>>): string[] {
  return Object.entries(options).flatMap(([name, value]) => {
    const flag = `--${name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`;
    if (value === undefined || value === false) return [];
    if (value === true) return [flag];
    if (Array.isArray(value)) return value.flatMap((v) => [flag, String(v)]);
    return [flag, String(value)];
  });
}

/**
 * Where a report comes from.
 *
 * @param options those that change what it says
 */
export function originOf(
  command: string,
  file: string,
  text: string,
  seed: string,
  report: string,
  options: Readonly<Record<string, unknown>>,
): Origin {
  const words = [command, file === STANDARD_INPUT ? '-' : file, ...optionWords(options)];
  return {
    file: nameOf(file),
    scenarioHash: scenarioHash(text),
    seed,
    command: commandLine(...words, '--report', path.basename(report)),
  };
}
