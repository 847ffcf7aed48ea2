/** Values of a checked scenario by their path, and the same values in the text of the file: read as written, changed in place. */
import { isAlias, isMap, isScalar, isSeq, type Node, type Pair } from 'yaml';
import type { Dimension, Field } from '../models/parameters.ts';
import { aliasTargets, parseYaml, textOf } from './document.ts';
import { type ScenarioValues, scenarioTable } from './scenario.ts';
import type { WrittenUnit } from './units.ts';

/** What a path of the file measures; undefined where it names no quantity. Items of lists by index or tag. */
export function dimensionAt(path: string): Dimension | undefined {
  let field: Field | undefined = { kind: 'group', table: scenarioTable, meaning: '' };
  for (const key of path.split('.')) {
    if (field?.kind === 'either') field = field.compound;
    if (field?.kind === 'group') field = Object.hasOwn(field.table, key) ? field.table[key] : undefined;
    else if (field?.kind === 'list') field = field.of;
    else return undefined;
  }
  if (field?.kind === 'either') field = field.scalar;
  return field?.kind === 'quantity' ? field.dimension : undefined;
}

type Tree = Readonly<Record<string, unknown>>;
const isTree = (x: unknown): x is Tree => typeof x === 'object' && x !== null;

/** The key of a part: that of the item with this tag in a list. */
function keyIn(tree: Tree, key: string): string {
  if (!Array.isArray(tree)) return key;
  const tagged = tree.findIndex((item: unknown) => isTree(item) && item['tag'] === key);
  return tagged >= 0 ? String(tagged) : key;
}

/** The number at a path, SI; undefined where there is none. "at" of a contact that is written as a single value is that value. */
export function valueAt(values: ScenarioValues, path: string): number | undefined {
  let x: unknown = values;
  for (const key of path.split('.')) {
    if (typeof x === 'number' && key === 'at') return x;
    if (!isTree(x)) return undefined;
    x = x[keyIn(x, key)];
  }
  if (isTree(x) && typeof x['at'] === 'number') return x['at'];
  return typeof x === 'number' ? x : undefined;
}

/** The values with another number at a path that has one. */
export function withValue(values: ScenarioValues, path: string, value: number): ScenarioValues {
  const changed = (x: unknown, keys: readonly string[]): unknown => {
    const [first, ...rest] = keys;
    if (first === undefined) return isTree(x) ? { ...x, at: value } : value;
    if (!isTree(x)) return value;
    const key = keyIn(x, first);
    const inner = changed(x[key], rest);
    return Array.isArray(x) ? x.map((item, i) => (String(i) === key ? inner : item)) : { ...x, [key]: inner };
  };
  return changed(values, path.split('.')) as ScenarioValues;
}

// ------------------------------------------------------------------------------------------------------- in the text

/** The single value at a path of a parsed file, through aliases; undefined where nothing is written. */
export function scalarAt(contents: Node | null, path: string): { node: Node; text: string } | undefined {
  const targets = aliasTargets(contents);
  const seen = (node: unknown): unknown => (isAlias(node) ? targets.get(node) : node);
  let node: unknown = contents;
  for (const key of path.split('.')) {
    const at = seen(node);
    if (isScalar(at) && key === 'at') continue;
    if (isSeq(at)) {
      const items = at.items as Node[];
      const tagOf = (item: unknown) => {
        const map = seen(item);
        const tag = isMap(map) ? map.get('tag', true) : undefined;
        return isScalar(tag) ? textOf(tag) : undefined;
      };
      const tagged = items.findIndex((item) => tagOf(item) === key);
      node = items[tagged >= 0 ? tagged : Number(key)];
    } else if (isMap(at)) {
      node = (at.items as Pair<Node, Node | null>[]).find((p) => isScalar(p.key) && textOf(p.key) === key)?.value;
    } else return undefined;
  }
  const end = seen(node);
  if (isMap(end)) return scalarAt(contents, `${path}.at`);
  return isScalar(end) ? { node: node as Node, text: textOf(end) } : undefined;
}

const NUMBER = /[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?/i;

export interface TextChange {
  readonly path: string;
  /** What takes the place of the number, in the unit that stands there. */
  readonly number: string;
}

/**
 * The text with the numbers at some paths changed and every other character as it was.
 *
 * @returns the text, or the path whose value is not written by itself at one place
 */
export function changeNumbers(text: string, changes: readonly TextChange[]): { text: string } | { shared: string } {
  const { document } = parseYaml(text);
  const contents = document?.contents ?? null;
  const targets = aliasTargets(contents);
  const edits: { from: number; to: number; put: string }[] = [];
  for (const { path, number } of changes) {
    const found = scalarAt(contents, path);
    const range = found?.node.range;
    if (found === undefined || range == null) return { shared: path };
    const [from, to] = range;
    if (isAlias(found.node)) {
      edits.push({ from, to, put: found.text.replace(NUMBER, number) });
      continue;
    }
    // What other places repeat would change there too.
    if ([...targets.values()].includes(found.node)) return { shared: path };
    const written = text.slice(from, to);
    edits.push({ from, to, put: written.replace(NUMBER, number) });
  }
  edits.sort((a, b) => b.from - a.from);
  let changed = text;
  for (const { from, to, put } of edits) changed = changed.slice(0, from) + put + changed.slice(to);
  return { text: changed };
}

/** A number as it is written in a file: no more decimals than it needs. */
export const numberText = (number: number): string => String(Number(number.toFixed(9)));

/** SI of a number in a unit. */
export const inSI = (number: number, unit: WrittenUnit): number => number * unit.factor + unit.offset;
