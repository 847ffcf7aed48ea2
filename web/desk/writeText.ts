/**
 * The text of a scenario with a variant written into it: numbers changed where they stand, actions and faults added to
 * their lists or taken from them, every other character and comment as it was. What comes out is read again and must say
 * what was meant.
 */
import { isMap, isSeq, type Node, type Pair, type YAMLMap, type YAMLSeq } from 'yaml';
import { parseYaml } from '../../scenarios/document.ts';
import { loadScenario } from '../../scenarios/load.ts';
import { changeNumbers, scalarAt } from '../../scenarios/setpoints.ts';
import { leftOutOf, listedIn, overridesOf } from './lists.ts';
import type { Variant } from './protocol.ts';

const NUMBER = /[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?/i;

/** The new text, or in one sentence why there is none. */
export function writeText(text: string, variant: Variant, file: string): { text: string } | { problem: string } {
  const before = loadScenario(text, { file }).scenario;
  const meant = loadScenario(text, { file, overrides: overridesOf(variant, before?.values) }).scenario;
  if (meant === undefined) return { problem: 'The settings are refused as they are; mend what is said above first.' };
  let now = text;
  for (const [path, value] of Object.entries(variant.changes)) {
    const next = withValue(now, path, value);
    if (next === undefined)
      return {
        problem: `The value of ${path} is shared with another place of the file by "&" and "*"; write it out there first.`,
      };
    now = next;
  }
  const listed = listedIn(before?.values);
  for (const key of ['actions', 'faults'] as const)
    for (const index of leftOutOf(listed[key], variant.leftOut).reverse()) now = withoutItem(now, key, index);
  for (const added of variant.actions) now = withItem(now, 'actions', added);
  for (const added of variant.faults) now = withItem(now, 'faults', added);
  const read = loadScenario(now, { file }).scenario;
  if (read === undefined || JSON.stringify(read.values) !== JSON.stringify(meant.values))
    return {
      problem: 'The file is written in a way into which these changes do not go; write them into the text by hand.',
    };
  return { text: now };
}

function withValue(text: string, path: string, value: string): string | undefined {
  const contents = parseYaml(text).document?.contents ?? null;
  const number = NUMBER.exec(value)?.[0];
  if (scalarAt(contents, path) !== undefined && number !== undefined) {
    const changed = changeNumbers(text, [{ path, number }]);
    return 'text' in changed ? changed.text : undefined;
  }
  return withKey(text, contents, path.split('.'), value);
}

/** Puts a key that is not in the file into the group that is; undefined where the way there is shared. */
function withKey(text: string, contents: Node | null, keys: readonly string[], value: string): string | undefined {
  let at: Node | null = contents;
  let depth = 0;
  for (; depth < keys.length - 1; depth++) {
    const inner = childOf(at, keys[depth]!);
    if (inner === undefined) break;
    at = inner;
  }
  const rest = keys.slice(depth);
  const last = rest.length - 1;
  const flow = rest.reduceRight((inner, key, i) => (i === last ? `${key}: ${inner}` : `${key}: { ${inner} }`), value);
  return isMap(at) ? withPair(text, at as YAMLMap<Node, Node | null>, flow) : undefined;
}

function childOf(node: Node | null, key: string): Node | undefined {
  if (isMap(node))
    return (node.items as Pair<Node, Node | null>[]).find((p) => String(p.key) === key)?.value ?? undefined;
  if (!isSeq(node)) return undefined;
  return (node.items as Node[]).find((item) => isMap(item) && String(item.get('tag')) === key);
}

const lineStart = (text: string, at: number): number => text.lastIndexOf('\n', at - 1) + 1;
/** Where the line of what ends at `at` ends, its comment included. */
const lineEnd = (text: string, at: number): number => {
  const end = text.indexOf('\n', at);
  return end < 0 ? text.length : end;
};

const inserted = (text: string, at: number, line: string): string => text.slice(0, at) + line + text.slice(at);

function withPair(text: string, map: YAMLMap<Node, Node | null>, pair: string): string {
  const [from, to] = map.range!;
  if (map.flow) {
    const close = text.lastIndexOf('}', to - 1);
    const head = text.slice(0, close).trimEnd();
    return `${head}${head.endsWith('{') || head.endsWith(',') ? ' ' : ', '}${pair} ${text.slice(close)}`;
  }
  const indent = from - lineStart(text, from);
  return inserted(text, lineEnd(text, endOf(text, map)), `\n${' '.repeat(indent)}${pair}`);
}

/** Where the last written character of a node is. */
function endOf(text: string, node: Node): number {
  const [from, to] = node.range!;
  return from + text.slice(from, to).trimEnd().length;
}

function withItem(text: string, key: 'actions' | 'faults', item: string): string {
  const contents = parseYaml(text).document?.contents ?? null;
  const node = childOf(contents, key);
  if (isSeq(node)) {
    const list = node as YAMLSeq<Node>;
    const [from, to] = list.range!;
    if (list.flow) {
      const close = text.lastIndexOf(']', to - 1);
      const head = text.slice(0, close).trimEnd();
      return `${head}${head.endsWith('[') || head.endsWith(',') ? '' : ', '}${item}${text.slice(close)}`;
    }
    const last = list.items.at(-1)!;
    return inserted(text, lineEnd(text, endOf(text, last)), `\n${' '.repeat(from - lineStart(text, from))}- ${item}`);
  }
  return `${text}${text === '' || text.endsWith('\n') ? '' : '\n'}\n${key}:\n  - ${item}\n`;
}

/** Takes an item from a list, with its line where it has one to itself; of the last one an empty list stays. */
function withoutItem(text: string, key: 'actions' | 'faults', index: number): string {
  const list = childOf(parseYaml(text).document?.contents ?? null, key);
  if (!isSeq(list)) return text;
  const items = list.items as Node[];
  const [from] = items[index]!.range!;
  const to = endOf(text, items[index]!);
  if (items.length === 1) {
    const begin = list.flow ? from : text.lastIndexOf('-', from);
    return text.slice(0, begin) + (list.flow ? '' : '[]') + text.slice(to);
  }
  if (!list.flow)
    return text.slice(0, lineStart(text, text.lastIndexOf('-', from))) + text.slice(lineEnd(text, to) + 1);
  // With the comma behind it, or for the last one the comma before.
  const next = items[index + 1];
  if (next !== undefined) return text.slice(0, from) + text.slice(next.range![0]);
  return text.slice(0, endOf(text, items[index - 1]!)) + text.slice(to);
}
