/** Text laid out in a fixed number of columns: paragraphs and tables. */

import { clockTime, visible as printable } from '../scenarios/wording.ts';

/** East Asian wide characters and pictographs take two columns of a terminal (Unicode Standard Annex 11, from memory). */
const WIDE =
  /[\u1100-\u115f\u2e80-\u303e\u3041-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6\u{1f300}-\u{1faff}\u{20000}-\u{3fffd}]/u;
const ASCII = /^[ -~]*$/;
const MARK = /\p{Mn}/u;

/** Columns that a text takes. */
export function widthOf(text: string): number {
  if (ASCII.test(text)) return text.length;
  let width = 0;
  for (const char of text) width += WIDE.test(char) ? 2 : MARK.test(char) ? 0 : 1;
  return width;
}

/** Text from a file made harmless for a terminal. */
export { clockTime, printable };

/** Lines of at most `width` columns, broken at blanks; a longer word is broken behind its last joint, or where it must. */
export function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/ +/)) {
    const joined = line === '' ? word : `${line} ${word}`;
    if (widthOf(joined) <= width) {
      line = joined;
      continue;
    }
    if (line !== '') lines.push(line);
    line = '';
    for (const char of word) {
      while (line !== '' && widthOf(line) + widthOf(char) > width) {
        const joint = line.search(/[-_./][^-_./]*$/) + 1;
        const cut = joint > 0 ? joint : line.length;
        lines.push(line.slice(0, cut));
        line = line.slice(cut);
      }
      line += char;
    }
  }
  if (line !== '' || lines.length === 0) lines.push(line);
  return lines;
}

const PLACE = /^\S.*?:\d+:\d+:/;
const HANGING = 4;

/**
 * A message of one line as lines of at most `width` columns, all but the first indented. "file:line:column:" at its start
 * stays whole, for editors that jump there; a line that begins with blanks is an excerpt of a file and is left alone.
 */
export function folded(message: string, width: number): string[] {
  if (message.startsWith('  ') || widthOf(message) <= width) return [message];
  const place = PLACE.exec(message)?.[0] ?? '';
  const rest = message.slice(place.length).trim();
  const room = width - HANGING;
  const hang = (line: string) => ' '.repeat(HANGING) + line;
  if (widthOf(place) > room / 2) return [place, ...wrap(rest, room).map(hang)];
  const [first = '', ...more] = wrap(`${'x'.repeat(widthOf(place))}${place === '' ? '' : ' '}${rest}`, room);
  return [place + first.slice(widthOf(place)), ...more.map(hang)];
}

/** A paragraph with `first` in front of its first line and blanks of the same width in front of the others. */
export function paragraph(first: string, text: string, width: number): string[] {
  const room = widthOf(first);
  return wrap(text, width - room).map((line, i) => (i === 0 ? first : ' '.repeat(room)) + line);
}

/** Columns of a page. */
export const WIDTH = 80;

/** A paragraph behind a label of `room` columns, without one where the label is empty; text from a file made harmless. */
export const labelled = (label: string, text: string, room = 9): string[] =>
  paragraph((label === '' ? '' : `${label}:`).padEnd(room), printable(text), WIDTH);

export interface Column {
  readonly head: string;
  /** Numbers stand to the right. */
  readonly right?: true;
}

export interface Row {
  readonly cells: readonly string[];
  /** Lines printed below the row. */
  readonly below?: readonly string[];
  /** Applied to the text of a cell after it has been laid out. */
  readonly paint?: (text: string, cell: number) => string;
}

const GAP = '  ';
const NARROWEST = 6;

/** A table with heads and no rules, at most `width` columns wide: the widest columns are wrapped until it fits. */
export function table(columns: readonly Column[], rows: readonly Row[], width: number): string[] {
  const all: readonly Row[] = [{ cells: columns.map((c) => c.head) }, ...rows];
  const widths = columns.map((_, i) => all.reduce((most, row) => Math.max(most, widthOf(row.cells[i]!)), 0));
  const total = () => widths.reduce((sum, w) => sum + w, GAP.length * (columns.length - 1));
  for (let excess = total() - width; excess > 0; excess = total() - width) {
    const widest = widths.indexOf(Math.max(...widths));
    if (widths[widest]! <= NARROWEST) break;
    widths[widest]!--;
  }
  return all.flatMap((row) => {
    const cells = row.cells.map((cell, i) => (widthOf(cell) <= widths[i]! ? [cell] : wrap(cell, widths[i]!)));
    const lines: string[] = [];
    for (let k = 0; k < Math.max(...cells.map((c) => c.length)); k++) {
      const parts = cells.map((cell, i) => {
        const text = cell[k] ?? '';
        const blanks = ' '.repeat(widths[i]! - widthOf(text));
        const shown = row.paint === undefined || text === '' ? text : row.paint(text, i);
        return columns[i]!.right ? blanks + shown : shown + blanks;
      });
      lines.push(parts.join(GAP).trimEnd());
    }
    return [...lines, ...(row.below ?? [])];
  });
}
