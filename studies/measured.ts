/**
 * Readings beside their predictions: difference, inside the band or not, pass or fail line by line, and drift since the last
 * visit. A line passes only with a reading that can be one: an empty, missing or contradictory one never does.
 */
import type { CsvProblem } from './csv.ts';
import { type AnswerLine, linesOf, type ReadingLine, type Sheet, type SheetLine } from './sheet.ts';
import { answerOf, printed, type ReadingRow, type ReadingsFile, readingOf } from './sheetCsv.ts';

/** What became of a line. Closed list; "recorded" is a reading without limits, and passes. */
export type LineOutcome = 'passes' | 'recorded' | 'outside' | 'no reading' | 'contradictory';

export interface JudgedLine {
  readonly line: SheetLine;
  readonly outcome: LineOutcome;
  readonly passes: boolean;
  /** Why it does not pass; what to know of one that does. */
  readonly why: string | undefined;
  /** In the unit of the sheet; undefined where nothing was read. */
  readonly found: number | undefined;
  readonly left: number | undefined;
  /** What counts: as left, or as found where nothing was done. */
  readonly last: number | undefined;
  readonly answer: 'yes' | 'no' | undefined;
  /** What counts less what was expected. */
  readonly difference: number | undefined;
  /** Inside the band of the prediction; undefined where there is none. */
  readonly inBand: boolean | undefined;
  /** As found now less what counted at the last visit. */
  readonly drift: number | undefined;
  readonly before: number | undefined;
  readonly note: string;
}

export interface Measured {
  readonly lines: readonly JudgedLine[];
  readonly counts: Readonly<Record<LineOutcome, number>>;
  readonly met: boolean;
}

interface Typed {
  readonly found: number | undefined;
  readonly left: number | undefined;
  readonly foundAnswer: 'yes' | 'no' | undefined;
  readonly leftAnswer: 'yes' | 'no' | undefined;
  readonly note: string;
}

const NOTHING: Typed = { found: undefined, left: undefined, foundAnswer: undefined, leftAnswer: undefined, note: '' };

/** The typed readings of a file, in the units of the sheet, or the first that is none. */
function typedReadings(sheet: Sheet, file: ReadingsFile): ReadonlyMap<string, Typed> | CsvProblem {
  const all = new Map<string, Typed>();
  for (const line of linesOf(sheet)) {
    const row: ReadingRow | undefined = file.rows.get(line.id);
    if (row === undefined) continue;
    const { cells } = row;
    const note = cells.note.text;
    if (line.kind === 'answer') {
      const found = answerOf(cells['as found']);
      const left = answerOf(cells['as left']);
      if (typeof found === 'object') return found;
      if (typeof left === 'object') return left;
      all.set(line.id, { ...NOTHING, foundAnswer: found, leftAnswer: left, note });
      continue;
    }
    const found = readingOf(cells['as found'], line, sheet, file.foundUnit);
    const left = readingOf(cells['as left'], line, sheet, file.leftUnit);
    if (typeof found === 'object') return found;
    if (typeof left === 'object') return left;
    const { number } = printed(line, sheet);
    const shown = (si: number | undefined) => (si === undefined ? undefined : number(si));
    all.set(line.id, { ...NOTHING, found: shown(found), left: shown(left), note });
  }
  return all;
}

/** Rounding of units, in what is far under any decimal that is read. */
const ROUNDING = 1e-7;
const within = (x: number, range: { readonly low: number; readonly high: number }) =>
  x >= range.low - ROUNDING && x <= range.high + ROUNDING;

/**
 * Judges readings that belong to the sheet.
 *
 * @param before those of the last visit
 * @returns what came of every line, or the first cell that cannot be read, and in which of the files
 */
export function judgeReadings(
  sheet: Sheet,
  file: ReadingsFile,
  before?: ReadingsFile,
): Measured | (CsvProblem & { readonly in: 'readings' | 'before' }) {
  const now = typedReadings(sheet, file);
  if ('problem' in now) return { ...now, in: 'readings' };
  const then = before === undefined ? undefined : typedReadings(sheet, before);
  if (then !== undefined && 'problem' in then) return { ...then, in: 'before' };
  const all = linesOf(sheet);
  const partners = contradictions(all, now);
  const lines = all.map((line) => {
    const typed = now.get(line.id) ?? NOTHING;
    const earlier = then?.get(line.id);
    return line.kind === 'answer'
      ? judgeAnswer(line, typed)
      : judgeReading(line, typed, sheet, partners.get(line.id), earlier);
  });
  const counts: Record<LineOutcome, number> = {
    passes: 0,
    recorded: 0,
    outside: 0,
    'no reading': 0,
    contradictory: 0,
  };
  for (const l of lines) counts[l.outcome]++;
  return { lines, counts, met: lines.length > 0 && lines.every((l) => l.passes) };
}

/** Switches that read lower rising than falling, by line: both their lines are in doubt. */
function contradictions(all: readonly SheetLine[], now: ReadonlyMap<string, Typed>): ReadonlyMap<string, string> {
  const found = new Map<string, string>();
  for (const line of all) {
    if (line.kind !== 'reading' || line.above === undefined) continue;
    const [upper, lower] = [now.get(line.id), now.get(line.above)];
    const pairs = [
      ['as found', upper?.found, lower?.found],
      ['as left', upper?.left, lower?.left],
    ] as const;
    for (const [when, high, low] of pairs) {
      if (high === undefined || low === undefined || high > low) continue;
      found.set(line.id, `${when} it reads no higher than line ${line.above}, the falling point`);
      found.set(line.above, `${when} it reads no lower than line ${line.id}, the rising point`);
    }
    if (line.limits === undefined && lower?.found === undefined)
      found.set(line.id, `line ${line.above}, from which it must stand off, has no reading`);
  }
  return found;
}

function judgeReading(
  line: ReadingLine,
  { found, left, note }: Typed,
  sheet: Sheet,
  contradiction: string | undefined,
  earlier: Typed | undefined,
): JudgedLine {
  const { limits, band, expected } = printed(line, sheet);
  const last = left ?? found;
  const before = earlier === undefined ? undefined : (earlier.left ?? earlier.found);
  const base = {
    line,
    found,
    left,
    last,
    answer: undefined,
    difference: last === undefined || expected === undefined ? undefined : last - expected,
    inBand: last === undefined || band === undefined ? undefined : within(last, band),
    before,
    drift: before === undefined || found === undefined ? undefined : found - before,
    note,
  };
  const is = (outcome: LineOutcome, why?: string): JudgedLine => ({
    ...base,
    outcome,
    passes: outcome === 'passes' || outcome === 'recorded',
    why,
  });
  if (found === undefined && left !== undefined) return is('contradictory', 'as left, but never as found');
  if (found === undefined || last === undefined) return is('no reading', 'not read');
  if (line.adjustable && left === undefined) return is('no reading', 'as left is empty');
  if (contradiction !== undefined)
    return is(contradiction.endsWith('no reading') ? 'no reading' : 'contradictory', contradiction);
  if (line.dimension === 'time' && (found <= 0 || last <= 0)) return is('contradictory', 'no stroke takes no time');
  if (limits === undefined) return is('recorded');
  if (within(last, limits)) {
    return is('passes', base.inBand === false && line.limitsFrom !== 'prediction' ? 'not as predicted' : undefined);
  }
  if (left !== undefined && within(found, limits) && note === '')
    return is('contradictory', 'as found it was inside, as left it is not, and no note says why');
  return is('outside', undefined);
}

function judgeAnswer(line: AnswerLine, { foundAnswer, leftAnswer, note }: Typed): JudgedLine {
  const last = leftAnswer ?? foundAnswer;
  const base = {
    line,
    found: undefined,
    left: undefined,
    last: undefined,
    answer: last,
    difference: undefined,
    inBand: undefined,
    drift: undefined,
    before: undefined,
    note,
  };
  const is = (outcome: LineOutcome, why?: string): JudgedLine => ({
    ...base,
    outcome,
    passes: outcome === 'passes',
    why,
  });
  if (foundAnswer === undefined && leftAnswer !== undefined) return is('contradictory', 'as left, but never as found');
  if (last === undefined) return is('no reading', 'not answered');
  if (last === line.expected) return is('passes');
  if (leftAnswer !== undefined && foundAnswer === line.expected && note === '')
    return is('contradictory', 'as found it was right, as left it is not, and no note says why');
  return is('outside', `${line.expected} expected, ${last} found`);
}
