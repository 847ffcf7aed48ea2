/** `sheet`: the acceptance-test sheet of a unit, to be printed, and to be typed into. */
import { existsSync, mkdirSync, readFileSync, statSync } from 'node:fs';
import path from 'node:path';
import { CAUTIONS } from '../scenarios/result.ts';
import { formatQuantity, unitsWritten } from '../scenarios/units.ts';
import { linesOf } from '../studies/sheet.ts';
import { readReadings, sheetCsv } from '../studies/sheetCsv.ts';
import { sheetPage } from '../web/papers/sheetPage.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf, STANDARD_INPUT } from './input.ts';
import { labelled, paragraph, printable, WIDTH } from './layout.ts';
import { folderName } from './output.ts';
import { progressLine } from './progress.ts';
import { commandLine, type MadeSheet, setParts, sheetOf, temperatureProblem } from './sheets.ts';
import type { StudyOptions } from './study.ts';
import { isSystemError, paintStdout, say, systemReason, warn } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface SheetCommandOptions extends StudyOptions {
  readonly temperature?: string | undefined;
  readonly out: string;
  readonly force?: boolean | undefined;
}

export async function sheetCommand(file: string, options: SheetCommandOptions): Promise<Exit> {
  return forEachFile([file], ({ text }) => {
    const units = options.units ?? unitsWritten(text);
    const wrong = temperatureProblem(options.temperature, units);
    if (wrong !== undefined) {
      return () => {
        warn(`--temperature: ${wrong}`);
        return Exit.refused;
      };
    }
    const set = options.set ?? [];
    const progress = progressLine(nameOf(file));
    const made = sheetOf({
      text,
      file: nameOf(file),
      set,
      units,
      temperature: options.temperature,
      onProgress: progress.update,
    });
    progress.clear();
    if ('loaded' in made) return () => refuse(made.loaded);
    if ('tooLong' in made) {
      return () => {
        warn(made.tooLong);
        return Exit.workLimit;
      };
    }
    return () => finish(made, file, options);
  });
}

function finish(made: MadeSheet, file: string, options: SheetCommandOptions): Exit {
  const { scenario, sheet, identity } = made;
  const places = placesOf(file, options.out);
  const csv = sheetCsv(sheet, identity);
  const kept = places.csv === undefined ? undefined : heldReadings(places.csv, csv, options.force ?? false);
  if (kept !== undefined) {
    warn(kept);
    return Exit.refused;
  }
  const command = commandLine(
    'tripstroke',
    'sheet',
    identity.file,
    ...setParts(identity.changes),
    ...(identity.temperature === undefined ? [] : ['--temperature', identity.temperature]),
    '--units',
    identity.units,
  );
  const made_ = places.folder === undefined ? undefined : folderMade(places.folder);
  const failed =
    made_ ??
    (places.csv === undefined ? undefined : writeWhole(places.csv, csv, 'the sheet')) ??
    (places.html === undefined
      ? undefined
      : writeWhole(places.html, sheetPage(sheet, identity, scenario.values.seed, command), 'the sheet'));
  if (failed !== undefined) {
    warn(failed);
    return Exit.refused;
  }
  say(printSheet(made, places, file));
  return Exit.met;
}

interface Places {
  readonly folder: string | undefined;
  readonly html: string | undefined;
  readonly csv: string | undefined;
}

/** Where what goes: both into a folder, or the one that is named. */
function placesOf(file: string, out: string): Places {
  const kind = existsSync(out) && statSync(out).isDirectory() ? '' : path.extname(out).toLowerCase();
  if (kind === '.html' || kind === '.htm') return { folder: undefined, html: out, csv: undefined };
  if (kind === '.csv') return { folder: undefined, html: undefined, csv: out };
  const stem = path.join(out, `${file === STANDARD_INPUT ? 'standard-input' : folderName(file)}-sheet`);
  return { folder: out, html: `${stem}.html`, csv: `${stem}.csv` };
}

/** Makes a folder; one line about what the operating system objected to, if it did. */
export function folderMade(folder: string): string | undefined {
  try {
    if (!existsSync(folder)) mkdirSync(folder, { recursive: true });
    return undefined;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return `the folder ${folder} cannot be made: ${systemReason(error)}`;
  }
}

/** A file with readings in it is never written over unasked. */
function heldReadings(place: string, csv: string, force: boolean): string | undefined {
  if (force || !existsSync(place)) return undefined;
  let before: string;
  try {
    before = readFileSync(place, 'utf-8');
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return `the sheet cannot be written to ${place}: ${systemReason(error)}`;
  }
  if (before === csv) return undefined;
  const held = readReadings(before);
  if ('problem' in held) return `${place} is no sheet, and is left alone: give another --out, or --force`;
  const typed = [...held.rows.values()].some(({ cells }) =>
    [cells['as found'], cells['as left'], cells.note].some((c) => c.text !== ''),
  );
  return typed ? `${place} has readings in it: move it, give another --out, or --force to lose them` : undefined;
}

function printSheet({ sheet, identity, scenario }: MadeSheet, places: Places, file: string): string {
  const lines = linesOf(sheet);
  const at = formatQuantity(sheet.temperature_K, 'temperature', sheet.units);
  const head = `${lines.length} lines in ${sheet.parts.length} parts, predicted for ${at} by ${sheet.runs} runs.`;
  const out = [
    ...paragraph('SHEET: ', head, WIDTH),
    ...paragraph('', printable(`${identity.file}: ${scenario.values.title}`), WIDTH),
    '',
    ...sheet.parts.flatMap((p, k) => {
      const count = p.entries.reduce((n, e) => n + e.lines.length, 0);
      return labelled(k === 0 ? 'Parts' : '', `${k + 1}. ${p.title}: ${count} ${count === 1 ? 'line' : 'lines'}`);
    }),
    ...(sheet.warnings.length === 0
      ? []
      : ['', ...sheet.warnings.flatMap((w) => labelled('Warning', w).map((l) => paintStdout('care', l)))]),
    '',
    ...(places.html === undefined ? [] : labelled('Print', places.html)),
    ...(places.csv === undefined ? [] : labelled('Fill in', places.csv)),
    ...(places.csv === undefined
      ? []
      : labelled('Then', commandLine('tripstroke', 'measured', file, places.csv, ...setParts(identity.changes)))),
    '',
    ...CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${out.join('\n')}\n`;
}
