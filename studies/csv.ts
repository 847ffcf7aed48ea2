/**
 * Comma-separated text as table programs leave it: quoted cells, line ends of any kind, a byte order mark, a separator that is
 * a comma, a semicolon or a tab. Every cell knows its place. Source: RFC 4180 (from memory); common practice for the rest.
 */

export interface Cell {
  readonly text: string;
  /** From 1. */
  readonly line: number;
  readonly column: number;
}

/** What is wrong with a file, and where. */
export interface CsvProblem {
  readonly line: number;
  readonly column: number;
  readonly problem: string;
}

export type Separator = ',' | ';' | '\t';

/** Rows of cells; blanks around a cell are taken off. Rows without anything in them are left out. */
export function readCsv(text: string, separator: Separator): readonly Cell[][] | CsvProblem {
  const rows: Cell[][] = [];
  let row: Cell[] = [];
  let line = 1;
  let lineStart = text.startsWith('\ufeff') ? 1 : 0;
  let i = lineStart;
  const endRow = () => {
    if (row.some((c) => c.text !== '')) rows.push(row);
    row = [];
  };
  const newLine = () => {
    line++;
    lineStart = i;
  };
  while (i <= text.length) {
    const at = { line, column: i - lineStart + 1 };
    let cell = '';
    // Blanks before a quote are no part of the cell.
    let from = i;
    while (text[from] === ' ') from++;
    if (text[from] === '"') {
      i = from + 1;
      for (;;) {
        if (i >= text.length) return { ...at, problem: 'a quotation mark is opened here and never closed' };
        if (text[i] === '"' && text[i + 1] === '"') {
          cell += '"';
          i += 2;
        } else if (text[i] === '"') {
          i++;
          break;
        } else {
          const char = text[i++];
          if (char === '\n' || (char === '\r' && text[i] !== '\n')) newLine();
          cell += char;
        }
      }
      const rest = i;
      while (i < text.length && text[i] !== separator && text[i] !== '\n' && text[i] !== '\r') i++;
      if (text.slice(rest, i).trim() !== '')
        return { ...at, problem: 'text stands behind the closing quotation mark; write a quote inside a cell twice' };
    } else {
      while (i < text.length && text[i] !== separator && text[i] !== '\n' && text[i] !== '\r') i++;
      cell = text.slice(from, i);
    }
    row.push({ text: cell.trim(), ...at });
    if (i >= text.length) {
      endRow();
      break;
    }
    if (text[i] === separator) {
      i++;
      continue;
    }
    i += text[i] === '\r' && text[i + 1] === '\n' ? 2 : 1;
    endRow();
    newLine();
  }
  return rows;
}

/** Rows as comma-separated text. A text that a table program would take for a formula gets a blank in front. */
export function writeCsv(rows: readonly (readonly (string | number)[])[]): string {
  const cell = (value: string | number): string => {
    if (typeof value === 'number') return String(value);
    const plain = /^[=+\-@\t\r]/.test(value) && !/^[+-]?[\d.]+$/.test(value) ? ` ${value}` : value;
    return /[",;\t\r\n]/.test(plain) ? `"${plain.replaceAll('"', '""')}"` : plain;
  };
  return rows.map((row) => `${row.map(cell).join(',')}\n`).join('');
}
