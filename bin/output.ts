/**
 * The folder of results of one scenario. It is written beside its place under a hidden name, brought to the disk and
 * renamed whole, so that at any moment the place holds the old results or the new ones, complete. No system call
 * exchanges two folders everywhere: between the two renames of a replacement (old away, new in) the place is empty for
 * a moment. A run that is killed just there leaves the old folder under a hidden name, and the next run puts it back
 * first; a run that is killed earlier or later leaves a hidden folder that the next run into the same place removes.
 */
import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import { stringify } from 'csv-stringify/sync';
import type { Result } from '../scenarios/result.ts';
import { type TraceColumn, type TraceSink, traceHeadings, traceRow } from '../scenarios/trace.ts';
import { columnUnit, type UnitSystem } from '../scenarios/units.ts';
import { scenarioHash } from '../web/sha256.ts';
import { resultJson } from './print.ts';
import { isSystemError } from './terminal.ts';

/** What makes two runs the same run, so that the results of one may replace those of the other. */
export interface RunIdentity {
  readonly version: string;
  /** SHA-256 of the scenario text, whatever its line ends. */
  readonly scenario: string;
  /** "path=value" in the order applied. */
  readonly overrides: readonly string[];
}

export function runIdentity(
  text: string,
  overrides: readonly { readonly path: string; readonly after: string }[],
  version: string,
): RunIdentity {
  return {
    version,
    scenario: scenarioHash(text),
    overrides: overrides.map((o) => `${o.path}=${o.after}`),
  };
}

const RUN_FILE = 'run.json';
const FILES = ['report.txt', 'result.json', 'events.csv', 'trace.csv', 'scenario.yaml', RUN_FILE] as const;
/** What desktops and office programs leave in folders. */
const LITTER = /^(\.DS_Store|Thumbs\.db|desktop\.ini|~\$.*|\.~lock\..*)$/i;

/**
 * Name of the folder for a scenario file: its name without extension, made safe for every system.
 *
 * @param file path as given on the command line
 */
export function folderName(file: string): string {
  const base = path.basename(file).replace(/\.[^.]*$/, '');
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what must not get into a file name
  const safe = [...base.replace(/[<>:"/\\|?*\u0000-\u001f\u007f]/g, '_')]
    .slice(0, 100)
    .join('')
    .replace(/[. ]+$/, '')
    .replace(/^ +/, '');
  if (/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(safe)) return `${safe}_`;
  return safe === '' || safe.startsWith('.') ? `scenario${safe}` : safe;
}

/**
 * Whether results may be written to a folder. Restores what a killed run has left there.
 *
 * @param force results of another run may be replaced; anything that is not results never is
 * @returns undefined, or what stands in the way and what to do about it. Errors: those of the operating system
 */
export function obstacle(folder: string, identity: RunIdentity, force: boolean): string | undefined {
  clearUp(folder);
  const parent = kindOf(path.dirname(folder));
  if (parent === 'file') return `${path.dirname(folder)} is a file, not a folder; give another --out`;
  const kind = kindOf(folder);
  if (kind === undefined) return undefined;
  if (kind === 'file') return `${folder} is a file, so the results cannot be a folder of this name; give another --out`;
  const names = readdirSync(folder).filter((name) => !LITTER.test(name));
  if (names.length === 0) return undefined;
  const foreign = names.filter((name) => !(FILES as readonly string[]).includes(name));
  const held = readIdentity(folder);
  if (held === undefined) return `${folder} is not a folder of results; it is left alone: give another --out`;
  if (foreign.length > 0)
    return `${folder} holds more than results (${shortList(foreign)}); move that elsewhere or give another --out`;
  if (force) return undefined;
  const other = difference(held, identity);
  if (other === undefined) return undefined;
  return `${folder} holds the results of a different run (${other}); give another --out, or --force to replace them`;
}

const shortList = (names: readonly string[]): string =>
  names.length > 3 ? `${names.slice(0, 3).join(', ')} and ${names.length - 3} more` : names.join(', ');

function kindOf(place: string): 'folder' | 'file' | undefined {
  try {
    return statSync(place).isDirectory() ? 'folder' : 'file';
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}

function readIdentity(folder: string): Partial<RunIdentity> | undefined {
  try {
    const run: unknown = JSON.parse(readFileSync(path.join(folder, RUN_FILE), 'utf-8'));
    return typeof run === 'object' && run !== null && 'tripstroke' in run ? (run.tripstroke as RunIdentity) : undefined;
  } catch {
    return undefined;
  }
}

function difference(held: Partial<RunIdentity>, now: RunIdentity): string | undefined {
  if (held.scenario !== now.scenario) return 'the scenario file was another one';
  if (JSON.stringify(held.overrides) !== JSON.stringify(now.overrides)) return 'with other --set values';
  if (held.version !== now.version) return `by version ${held.version ?? 'unknown'}`;
  return undefined;
}

export interface RunFiles {
  readonly identity: RunIdentity;
  readonly scenarioText: string;
  readonly result: Result;
  /** As printed, without colour. */
  readonly report: string;
}

/** Results on their way: the trace is written while the run goes on, so that no run is too long for memory. */
export interface Draft {
  /** Where trace rows go. Never throws what the operating system objects to: {@link Draft.finish} does. */
  readonly trace: TraceSink;
  /** Writes the other files. Errors: those of the operating system, also the first one of the trace. */
  finish(files: RunFiles): void;
  /** Removes what was written so far. Errors: those of the operating system. */
  discard(): void;
}

/**
 * Begins the files beside the place of the folder. Errors: those of the operating system.
 *
 * @param ambientPressure_Pa absolute pressure to which the gauge pressures of the trace refer
 */
export function begin(folder: string, units: UnitSystem, ambientPressure_Pa: number): Draft {
  const beside = hidden(folder, 'new', process.pid);
  rmSync(beside, { recursive: true, force: true });
  const firstMade = madeFolder(beside);
  const trace = traceWriter(openSync(path.join(beside, 'trace.csv'), 'w'), units, ambientPressure_Pa);
  const write = (name: (typeof FILES)[number], text: string) => {
    const handle = openSync(path.join(beside, name), 'w');
    try {
      writeFileSync(handle, text);
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
  };
  return {
    trace: trace.sink,
    finish({ identity, scenarioText, result, report }) {
      trace.end();
      write('scenario.yaml', scenarioText);
      write('report.txt', report);
      write('result.json', resultJson(result));
      write('events.csv', eventsCsv(result));
      write(RUN_FILE, `${JSON.stringify({ tripstroke: identity }, null, 2)}\n`);
      syncFolder(beside);
    },
    discard() {
      trace.close();
      rmSync(beside, { recursive: true, force: true });
      // Folders made for these results alone go too.
      for (let above = path.dirname(beside); firstMade !== undefined && above.startsWith(firstMade); ) {
        if (!removedEmpty(above)) break;
        above = path.dirname(above);
      }
    },
  };
}

/**
 * Makes a folder and those above it; the uppermost one that it made. (The recursive call of Node.js 20 never returns where
 * a folder exists in which nothing can be made, as in /proc.)
 */
function madeFolder(folder: string): string | undefined {
  try {
    mkdirSync(folder);
    return folder;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' && kindOf(folder) === 'folder') return undefined;
    const above = path.dirname(folder);
    if (code !== 'ENOENT' || above === folder) throw error;
    const first = madeFolder(above);
    mkdirSync(folder);
    return first ?? folder;
  }
}

/** Puts what was begun and finished in its place. Errors: those of the operating system; the old folder is in its place then. */
export function putInPlace(folder: string): void {
  const beside = hidden(folder, 'new', process.pid);
  const old = hidden(folder, 'old', process.pid);
  const replaces = kindOf(folder) !== undefined;
  if (replaces) renameSync(folder, old);
  try {
    renameSync(beside, folder);
  } catch (error) {
    if (replaces) renameSync(old, folder);
    throw error;
  }
  syncFolder(path.dirname(folder));
  // Under the name of something unfinished, half of it can never be taken for old results to be put back.
  if (replaces) tidied(() => renameSync(old, beside)) && tidied(() => rmSync(beside, { recursive: true, force: true }));
}

/** Whether clearing up went well; what cannot be removed is in nobody's way. */
function tidied(work: () => void): boolean {
  try {
    work();
    return true;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return false;
  }
}

const removedEmpty = (folder: string): boolean => tidied(() => rmdirSync(folder));

/** Brings the names in a folder to the disk, on systems where a folder can be opened for that. */
function syncFolder(folder: string): void {
  tidied(() => {
    const handle = openSync(folder, 'r');
    try {
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
  });
}

const hidden = (folder: string, what: 'new' | 'old', process_: number): string =>
  path.join(path.dirname(folder), `.${path.basename(folder)}.${what}-${process_}`);

/** Removes half-written folders of runs that were killed, and puts back an old one that was on its way out. */
function clearUp(folder: string): void {
  if (kindOf(path.dirname(folder)) !== 'folder') return;
  const start = `.${path.basename(folder)}.`;
  for (const name of readdirSync(path.dirname(folder))) {
    const left = name.startsWith(start) ? /^(new|old)-(\d+)$/.exec(name.slice(start.length)) : null;
    if (left === null || isRunning(Number(left[2]))) continue;
    const place = path.join(path.dirname(folder), name);
    if (left[1] === 'old' && kindOf(folder) === undefined) renameSync(place, folder);
    else tidied(() => rmSync(place, { recursive: true, force: true }));
  }
}

function isRunning(process_: number): boolean {
  if (process_ === process.pid) return false;
  try {
    process.kill(process_, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

// ------------------------------------------------------------------------------------------------------------- files

/** Seven significant digits, as few characters as they take. */
const digits = (value: number): number => Number(value.toPrecision(7));
/** Times keep their microseconds however long the run. */
const timeDigits = (value: number): number => Number(value.toFixed(6));

function eventsCsv({ events, units, site }: Result): string {
  const [time, pressure, level] = [
    columnUnit('time', units),
    columnUnit('pressure', units),
    columnUnit('length', units),
  ];
  const head = [
    `time [${time.name}]`,
    'tag',
    'event',
    `tank pressure [${pressure.name}]`,
    `tank level [${level.name}]`,
  ];
  const rows = events.map((e) => [
    timeDigits(e.time_s),
    e.tag,
    e.text,
    digits(pressure.toDisplay(e.pressure_Pa, site.ambientPressure_Pa)),
    digits(level.toDisplay(e.level_m, site.ambientPressure_Pa)),
  ]);
  return stringify([head, ...rows]);
}

/** Rows written at a time: keeps the memory small and the calls few. */
const ROWS_AT_A_TIME = 500;

interface TraceWriter {
  readonly sink: TraceSink;
  /** Writes what is left. Errors: the first one that the operating system has raised. */
  end(): void;
  close(): void;
}

function traceWriter(handle: number, units: UnitSystem, ambientPressure_Pa: number): TraceWriter {
  let open = true;
  let failure: unknown;
  let columns: readonly TraceColumn[] = [];
  let lines: string[] = [];
  const put = (text: string) => {
    if (failure !== undefined) return;
    try {
      writeFileSync(handle, text);
    } catch (error) {
      failure = error;
    }
  };
  const flush = () => {
    if (lines.length > 0) put(`${lines.join('\n')}\n`);
    lines = [];
  };
  const close = () => {
    if (open) closeSync(handle);
    open = false;
  };
  return {
    sink: {
      begin(given) {
        columns = given;
        put(stringify([traceHeadings(columns, units)]));
      },
      row(row) {
        const cells = traceRow(columns, row, units, ambientPressure_Pa);
        lines.push(cells.map((x, i) => (columns[i]!.dimension === 'time' ? timeDigits(x) : digits(x))).join(','));
        if (lines.length >= ROWS_AT_A_TIME) flush();
      },
    },
    end() {
      flush();
      if (failure === undefined) fsyncSync(handle);
      close();
      if (failure !== undefined) throw failure;
    },
    close,
  };
}
