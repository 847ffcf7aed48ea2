/** Places in a text, and faults printed with the line they are in. */
import { LineCounter } from 'yaml';
import { visible } from './wording.ts';

/** Most faults that are handed out, and that are looked for. */
export const MOST_SHOWN = 200;
export const MOST_COLLECTED = 2_000;

/** Line and column count from 1; a column is a UTF-16 unit, as editors count. */
export interface Position {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  readonly sourceLine: string;
}
export interface Fault extends Position {
  /** For instance "pumps.0.ratedFlow"; empty for the file as a whole. */
  readonly path: string;
  readonly message: string;
  /** What could stand there instead, where that is known. */
  readonly suggestion?: string;
}

/** A text with positions in it: the file, or one override. */
export interface Source {
  readonly file: string;
  readonly text: string;
  readonly lines: LineCounter;
  /** Number of the first line; overrides are numbered in the order of the command line. */
  readonly firstLine: number;
  /** What offsets count from. */
  readonly base: number;
}
export interface Place {
  readonly source: Source;
  readonly offset: number;
}

export function makeSource(file: string, text: string, firstLine = 1): Source {
  const lines = new LineCounter();
  lines.addNewLine(0);
  for (let i = text.indexOf('\n'); i >= 0; i = text.indexOf('\n', i + 1)) lines.addNewLine(i + 1);
  return { file, text, lines, firstLine, base: 0 };
}

export function positionOf({ source, offset }: Place): Position {
  const at = Math.min(Math.max(0, offset + source.base), source.text.length);
  const { line, col } = source.lines.linePos(at);
  const end = source.text.indexOf('\n', at);
  const sourceLine = source.text.slice(at - (col - 1), end < 0 ? undefined : end).replace(/\r$/, '');
  return { file: source.file, line: line + source.firstLine - 1, column: col, sourceLine };
}

/**
 * Prints a fault: "file:line:column: error: path: message", the line and a caret below the column.
 *
 * @param width of the screen; a longer line of the file is cut around the caret
 */
export function formatFault(fault: Fault, width = 80): string {
  const where = `${visible(fault.file)}:${fault.line}:${fault.column}: error: `;
  const { text, caret } = excerpt(fault.sourceLine, fault.column, width - 2);
  const shown = visible(fault.path).trim();
  const path = shown === '' ? '' : `${shown.length > 100 ? `...${shown.slice(-97)}` : shown}: `;
  return `${where}${path}${fault.message}\n${`  ${text}`.trimEnd()}\n  ${' '.repeat(caret)}^`;
}

/** Prints faults, and how many more there are. */
export function formatFaults(
  { faults, further }: { readonly faults: readonly Fault[]; readonly further: number },
  width = 80,
): string {
  const all = faults.length + further >= MOST_COLLECTED ? 'or more further faults' : 'further faults';
  const rest = further > 0 ? [`... and ${further} ${all}`] : [];
  return [...faults.map((f) => formatFault(f, width)), ...rest].join('\n');
}

function excerpt(line: string, column: number, room: number): { text: string; caret: number } {
  // Only what can be seen is looked at; a line may be as long as the file.
  const from = Math.max(0, column - 1 - room);
  const cells = (part: string): string[] =>
    [...part].flatMap((char) => (char === '\t' ? [' ', ' '] : /[\p{C}\p{Zl}\p{Zp}]/u.test(char) ? ['?'] : [char]));
  const before = cells(line.slice(from, column - 1));
  const after = cells(line.slice(column - 1, column - 1 + room));
  let shown = [...before, ...after];
  let caret = before.length;
  const cutLeft = Math.max(0, Math.min(caret - Math.floor(room * 0.6), shown.length - room));
  const ends = cutLeft + room >= shown.length && column - 1 + room >= line.length;
  shown = shown.slice(cutLeft, cutLeft + room);
  caret -= cutLeft;
  if (cutLeft > 0 || from > 0) shown.splice(0, 3, '.', '.', '.');
  if (!ends) shown.splice(-3, 3, '.', '.', '.');
  return { text: shown.join(''), caret };
}
