/** Every key of a scenario file as text of 80 columns: what to write, what holds without it, what it means. */
import type { Field, Table } from '../models/parameters.ts';
import { isRequired } from '../scenarios/reader.ts';
import { formatQuantity } from '../scenarios/units.ts';
import { paragraph, WIDTH } from './layout.ts';

/** The list, with a line end after its last line. */
export function printKeys(table: Table): string {
  return `${linesOf(table, 0).join('\n')}\n`;
}

function linesOf(table: Table, depth: number): string[] {
  return Object.entries(table).flatMap(([key, field]) => {
    const indent = '  '.repeat(depth);
    const head = `${indent}${key}:${written(field)}`;
    const below = inside(field);
    return [
      head,
      ...paragraph(`${indent}    `, `${field.meaning}${withoutIt(field)}`, WIDTH),
      ...(below === undefined ? [] : linesOf(below, depth + 1)),
    ];
  });
}

/** The table of a group, or of the items of a list. */
function inside(field: Field): Table | undefined {
  if (field.kind === 'group') return field.table;
  if (field.kind === 'list') return inside(field.of);
  if (field.kind === 'either') return inside(field.compound);
  return undefined;
}

function written(field: Field): string {
  switch (field.kind) {
    case 'quantity':
    case 'number':
    case 'text':
      return ` ${field.example}`;
    case 'flag':
      return ' yes | no';
    case 'choice':
      return ` ${field.of.length > 6 ? `${field.of.slice(0, 5).join(' | ')} | ...` : field.of.join(' | ')}`;
    case 'either':
      return `${written(field.scalar)}   or`;
    case 'list':
      return inside(field) === undefined ? ` [${written(field.of).trim()}]` : ' (list)';
    default:
      return '';
  }
}

function withoutIt(field: Field): string {
  if (isRequired(field)) return ' (required)';
  if ('default' in field && field.default !== undefined) {
    const value =
      field.kind === 'quantity' ? formatQuantity(field.default as number, field.dimension, 'si') : field.default;
    return ` (${value} when left out)`;
  }
  return '';
}
