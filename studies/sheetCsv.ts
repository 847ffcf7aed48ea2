/**
 * The sheet as comma-separated text, and the same text back with readings typed into it. Above the lines stands what the sheet
 * was made from, so that readings are never held against another unit, another version of its file, or another temperature.
 */
import { columnUnit, readQuantity, type UnitSystem } from '../scenarios/units.ts';
import { quoted } from '../scenarios/wording.ts';
import { type Cell, type CsvProblem, readCsv, type Separator, writeCsv } from './csv.ts';
import { linesOf, type ReadDimension, type ReadingLine, type Sheet, type SheetLine } from './sheet.ts';

/** What a sheet was made from. */
export interface SheetIdentity {
  readonly file: string;
  readonly title: string;
  /** SHA-256 of the scenario and the changes made to it. */
  readonly hash: string;
  /** "path=value", as of `--set`. */
  readonly changes: readonly string[];
  readonly version: string;
  readonly units: UnitSystem;
  /** As it was entered: "60 degF"; undefined where the file says it. */
  readonly temperature: string | undefined;
}

const MAGIC = 'tripstroke sheet';
const FORM = '1';
const COLUMNS = ['line', 'do', 'read', 'unit', 'expected', 'from', 'to', 'as found', 'as left', 'note'] as const;
type Column = (typeof COLUMNS)[number];

// ----------------------------------------------------------------------------------------------------------- numbers

/** Decimals of a reading: as finely as a glass, a gauge and a stopwatch are read. */
const DECIMALS: Readonly<Record<UnitSystem, Readonly<Record<ReadDimension, number>>>> = {
  us: { pressure: 1, length: 2, time: 1, fraction: 0 },
  si: { pressure: 2, length: 0, time: 1, fraction: 0 },
};

/** How readings of a dimension are written: unit, decimals, and the number for an SI value. */
export function readingUnit(dimension: ReadDimension, units: UnitSystem, ambientPressure_Pa: number) {
  const unit = columnUnit(dimension, units);
  const decimals = DECIMALS[units][dimension];
  const number = (si: number) => unit.toDisplay(si, ambientPressure_Pa);
  const text = (x: number) => (Number.isFinite(x) ? x.toFixed(decimals).replace(/^-(?=[0.]+$)/, '') : '');
  return { name: unit.name, decimals, number, text };
}

/** Far under what is written, far over the rounding of the units. */
const ROUNDING = 1e-6;

/**
 * What is printed of a reading line, in its unit. A reading is held against these numbers: limits are rounded outward, so that
 * one read as the printed limit passes.
 */
export function printed(line: ReadingLine, sheet: Pick<Sheet, 'units' | 'ambientPressure_Pa'>) {
  const { name, decimals, number, text } = readingUnit(line.dimension, sheet.units, sheet.ambientPressure_Pa);
  const step = 10 ** decimals;
  const down = (si: number) => Math.floor(number(si) * step + ROUNDING) / step;
  const up = (si: number) => Math.ceil(number(si) * step - ROUNDING) / step;
  const range = (r: { readonly low: number; readonly high: number } | undefined) =>
    r === undefined ? undefined : { low: down(r.low), high: up(r.high) };
  return {
    unit: name,
    text,
    number,
    expected: line.expected === undefined ? undefined : number(line.expected),
    limits: range(line.limits),
    band: range(line.band),
    corner: range(line.band?.corner),
  };
}

// ----------------------------------------------------------------------------------------------------------- writing

/** The sheet as text. Readings go under "as found" and "as left". */
export function sheetCsv(sheet: Sheet, identity: SheetIdentity): string {
  const head: (readonly string[])[] = [
    [MAGIC, FORM],
    ['scenario', identity.file],
    ['title', identity.title],
    ['sha-256', identity.hash],
    ['changes', identity.changes.join('; ')],
    ['version', identity.version],
    ['units', identity.units],
    ['temperature', identity.temperature ?? ''],
    ['date', ''],
    ['read by', ''],
    [''],
    [...COLUMNS],
  ];
  const rows = sheet.parts.flatMap((part) =>
    part.entries.flatMap((entry) =>
      entry.lines.map((line): string[] => {
        const first = [line.id, `${part.title}: ${entry.text}`, line.what];
        return [...first, ...predictionCells(line, sheet), '', '', ''];
      }),
    ),
  );
  return writeCsv([...head, ...rows]);
}

function predictionCells(line: SheetLine, sheet: Sheet): string[] {
  if (line.kind === 'answer') return ['yes or no', line.expected, '', ''];
  const { unit, text, expected, limits } = printed(line, sheet);
  return [
    unit,
    expected === undefined ? '' : text(expected),
    limits === undefined ? '' : text(limits.low),
    limits === undefined ? '' : text(limits.high),
  ];
}

// ----------------------------------------------------------------------------------------------------------- reading

/** A row of readings as it was typed. */
export interface ReadingRow {
  readonly cells: Readonly<Record<Column, Cell>>;
}

export interface ReadingsFile {
  /** Texts above the lines, by their name. */
  readonly head: ReadonlyMap<string, Cell>;
  readonly rows: ReadonlyMap<string, ReadingRow>;
  readonly separator: Separator;
  /** Units in the headings of the readings. */
  readonly foundUnit: Cell | undefined;
  readonly leftUnit: Cell | undefined;
}

/** Reads a sheet that came back. What cannot be understood for sure is refused with its place. */
export function readReadings(source: string): ReadingsFile | CsvProblem {
  // A table program may be told its separator by a line of its own.
  const told = /^\ufeff?sep=([,;\t])\r?\n/i.exec(source);
  const text = told === null ? source : ' '.repeat(told[0].length - 1) + source.slice(told[0].length - 1);
  const first = /^\ufeff?\s*"?tripstroke sheet"?\s*([,;\t])/.exec(text);
  if (first === null)
    return {
      line: 1,
      column: 1,
      problem: 'this is no sheet: its first cell must read "tripstroke sheet"; "tripstroke sheet FILE" makes one',
    };
  const separator = first[1] as Separator;
  const rows = readCsv(text, separator);
  if ('problem' in rows) return rows;
  const head = new Map<string, Cell>();
  let at = 0;
  for (; at < rows.length && rows[at][0].text.toLowerCase() !== 'line'; at++) {
    const [name, value] = rows[at];
    const key = name.text.toLowerCase();
    if (head.has(key)) return { ...name, problem: `${quoted(name.text)} stands here a second time` };
    head.set(key, value ?? { text: '', line: name.line, column: name.column + name.text.length });
  }
  const form = head.get(MAGIC);
  if (form?.text !== FORM)
    return { line: form?.line ?? 1, column: form?.column ?? 1, problem: `this version reads sheets of form ${FORM}` };
  const heading = rows[at];
  if (heading === undefined)
    return { line: rows.at(-1)![0].line, column: 1, problem: 'the row of headings that begins with "line" is missing' };
  const places = new Map<Column, number>();
  const units = new Map<Column, Cell>();
  for (const [k, cell] of heading.entries()) {
    if (cell.text === '') continue;
    const [, name = '', unit] = /^(.*?)\s*(?:[[(]\s*(.*?)\s*[\])])?$/.exec(cell.text) ?? [];
    const column = COLUMNS.find((c) => c === name.toLowerCase());
    if (column === undefined)
      return { ...cell, problem: `the heading ${quoted(cell.text)} is not one of ${COLUMNS.join(', ')}` };
    if (places.has(column)) return { ...cell, problem: `the heading ${quoted(cell.text)} stands here a second time` };
    places.set(column, k);
    if (unit !== undefined) {
      if (column !== 'as found' && column !== 'as left')
        return { ...cell, problem: `a unit has no place in the heading ${quoted(cell.text)}` };
      units.set(column, { ...cell, text: unit });
    }
  }
  const missing = COLUMNS.filter((c) => !places.has(c));
  if (missing.length > 0) return { ...heading[0], problem: `the columns ${missing.join(', ')} are missing` };
  const found = new Map<string, ReadingRow>();
  for (const row of rows.slice(at + 1)) {
    const last = row.at(-1)!;
    if (row.length > heading.length)
      return {
        ...row[heading.length],
        problem: `this row has ${row.length} cells under ${heading.length} headings; is a comma in it a decimal comma? Write a point, or put the cell in quotes`,
      };
    const cells = Object.fromEntries(
      COLUMNS.map((c) => [c, row[places.get(c)!] ?? { text: '', line: last.line, column: last.column }]),
    ) as Record<Column, Cell>;
    const id = cells.line;
    if (id.text === '') return { ...id, problem: 'this row has no line number, so nobody knows what was read' };
    const before = found.get(id.text);
    if (before !== undefined)
      return {
        ...id,
        problem: `line ${quoted(id.text)} stands here a second time; first in line ${before.cells.line.line}`,
      };
    found.set(id.text, { cells });
  }
  return { head, rows: found, separator, foundUnit: units.get('as found'), leftUnit: units.get('as left') };
}

/** What the sheet of a readings file has to be made with. */
export function sheetSettings(
  file: ReadingsFile,
): { readonly units: UnitSystem; readonly temperature: string | undefined } | CsvProblem {
  const cell = file.head.get('units');
  if (cell === undefined || (cell.text !== 'us' && cell.text !== 'si'))
    return {
      line: cell?.line ?? 1,
      column: cell?.column ?? 1,
      problem: 'the row "units" must read us or si, as the sheet had it',
    };
  const temperature = file.head.get('temperature')?.text ?? '';
  return { units: cell.text, temperature: temperature === '' ? undefined : temperature };
}

/** Whether the readings were taken with a sheet of this scenario; what is wrong where not. */
export function ofScenario(file: ReadingsFile, identity: SheetIdentity): CsvProblem | undefined {
  const { hash, file: scenario } = identity;
  const cell = file.head.get('sha-256');
  if (cell?.text.toLowerCase() === hash) return undefined;
  const changes = file.head.get('changes');
  if (changes !== undefined && changes.text !== identity.changes.join('; '))
    return {
      ...changes,
      problem: `the sheet was made with ${changes.text === '' ? 'no changes' : `the changes ${quoted(changes.text)}`} to the file; give the same --set here`,
    };
  const from = cell === undefined || cell.text === '' ? 'nothing it names' : `SHA-256 ${cell.text.slice(0, 12)}...`;
  return {
    line: cell?.line ?? 1,
    column: cell?.column ?? 1,
    problem: `these are readings of another scenario, or of another state of it: the sheet was made from ${from}, ${scenario} is ${hash.slice(0, 12)}...`,
  };
}

/** Whether the readings belong to this sheet; other lines, units or limits would judge them wrongly. */
export function belongs(file: ReadingsFile, sheet: Sheet, identity: SheetIdentity): CsvProblem | undefined {
  const other = ofScenario(file, identity);
  if (other !== undefined) return other;
  const lines = new Map(linesOf(sheet).map((l) => [l.id, l]));
  for (const { cells } of file.rows.values()) {
    const line = lines.get(cells.line.text);
    if (line === undefined)
      return { ...cells.line, problem: `the sheet of ${identity.file} has no line ${quoted(cells.line.text)}` };
    const [unit, ...numbers] = predictionCells(line, sheet);
    if (cells.unit.text !== unit)
      return {
        ...cells.unit,
        problem: `line ${line.id} is in ${unit}, not in ${quoted(cells.unit.text)}; leave this column, and write another unit behind the reading`,
      };
    // Another version may predict other numbers; this one printed these.
    if (file.head.get('version')?.text !== identity.version) continue;
    for (const [k, column] of (['expected', 'from', 'to'] as const).entries()) {
      const cell = cells[column];
      if (!sameNumber(cell.text, numbers[k]))
        return {
          ...cell,
          problem: `the sheet has ${numbers[k] === '' ? 'nothing' : quoted(numbers[k])} under "${column}" of line ${line.id}, not ${quoted(cell.text)}; readings go under "as found" and "as left"`,
        };
    }
  }
  return undefined;
}

/** Whether a table program may have made one text of the other. */
function sameNumber(a: string, b: string): boolean {
  if (a === b) return true;
  const plain = a.replace(',', '.');
  return /^[+-]?\d+(\.\d+)?$/.test(plain) && b !== '' && Number(plain) === Number(b);
}

/** A number as it was typed: with a point, or with a comma where that can only be a decimal one. */
function decimalPoint(text: string): string | { readonly problem: string } {
  const match = /^([+-]?\d+),(\d+)(\s*[^\d.,\s].*)?$/.exec(text);
  if (match === null) return text;
  const [, whole, decimals, rest = ''] = match;
  const point = `${whole}.${decimals}${rest}`;
  // "0,250" is no grouped thousand.
  if (decimals.length === 3 && /^[+-]?[1-9]\d{0,2}$/.test(whole))
    return { problem: `${quoted(text)} could be ${point} or ${whole}${decimals}${rest}; write it without the comma` };
  return point;
}

/**
 * A typed reading in SI, undefined where the cell is empty, or what is wrong with it.
 *
 * @param heading unit in the heading of its column
 */
export function readingOf(
  cell: Cell,
  line: ReadingLine,
  sheet: Pick<Sheet, 'units' | 'ambientPressure_Pa'>,
  heading: Cell | undefined,
): number | undefined | CsvProblem {
  if (cell.text === '') return undefined;
  const { name } = readingUnit(line.dimension, sheet.units, sheet.ambientPressure_Pa);
  const text = decimalPoint(cell.text);
  if (typeof text === 'object') return { ...cell, ...text };
  const bare = /^[+\-\u2212]?(\d+(\.\d*)?|\.\d+)$/.test(text);
  if (!bare && !/^[+\-\u2212]?(\d+(\.\d*)?|\.\d+)\s*[^\d\s.,+-]/.test(text))
    return {
      ...cell,
      problem: `${quoted(cell.text)} is not a number; write the reading in ${name}, or leave the cell empty and say why under "note"`,
    };
  if (bare && heading !== undefined && heading.text !== name)
    return {
      ...cell,
      problem: `the heading of this column says ${heading.text}, and line ${line.id} is in ${name}; write the unit behind the reading`,
    };
  const read = readQuantity(bare ? `${text} ${name}` : text, line.dimension, sheet.ambientPressure_Pa, `10 ${name}`);
  return 'problem' in read ? { ...cell, problem: `line ${line.id}: ${read.problem}` } : read.value;
}

/** A typed answer, undefined where the cell is empty, or what is wrong with it. */
export function answerOf(cell: Cell): 'yes' | 'no' | undefined | CsvProblem {
  const word = cell.text.toLowerCase();
  if (word === '') return undefined;
  return word === 'yes' || word === 'no' ? word : { ...cell, problem: `${quoted(cell.text)}: write yes or no` };
}
