/** "path=value", as given to `--set`, worked into the tree of a file before it is checked. */
import { isAlias, isMap, isScalar, isSeq, type Node, Pair, Scalar, YAMLMap, YAMLSeq } from 'yaml';
import type { Either, Field, Group, List } from '../models/parameters.ts';
import { isEmpty, parseYaml, shapeOf, textOf } from './document.ts';
import type { Place, Source } from './faults.ts';
import { nearest, quoted } from './wording.ts';

export interface AppliedOverride {
  /** With indices in place of tags. */
  readonly path: string;
  readonly text: string;
  /** As it stood in the file; undefined where the file said nothing. */
  readonly before: string | undefined;
  readonly after: string;
}

/** The tree of a file, and where its nodes come from. */
export interface Tree {
  readonly source: Source;
  /** Replaced by each override; the nodes themselves stay as they are. */
  contents: Node | null;
  /** What aliases repeat. */
  readonly targets: ReadonlyMap<Node, Node>;
  /** Source of the nodes that overrides brought in; their children inherit it. */
  readonly origins: WeakMap<object, Source>;
}
export type Report = (place: Place, path: string, message: string, suggestion?: string) => undefined;

interface Change {
  readonly tree: Tree;
  readonly source: Source;
  readonly report: Report;
  readonly segments: readonly string[];
  /** Offset of each segment in the text of the override. */
  readonly offsets: readonly number[];
  readonly node: Node;
  before: string | undefined;
  readonly path: string[];
}

/**
 * Changes the tree by one override. The parts on the way are copied, so that what aliases share stays as it is
 * elsewhere. A key that is missing is added if the table knows it, with the groups around it.
 *
 * @returns what was changed; undefined after a report
 */
export function applyOverride(tree: Tree, root: Group, source: Source, report: Report): AppliedOverride | undefined {
  const { text } = source;
  const equals = text.indexOf('=');
  const path = text.slice(0, Math.max(0, equals)).trim();
  const value = text.slice(equals + 1).trim();
  if (equals < 0 || path === '' || value === '')
    return report({ source, offset: 0 }, '', `${quoted(text)} must be written path=value`);
  const node = valueNode(tree, source, text.indexOf(value, equals + 1), value, report);
  if (node === undefined) return undefined;
  const segments = path.split('.');
  let offset = text.indexOf(path);
  const offsets = segments.map((segment) => (offset += segment.length + 1) - segment.length - 1);
  const change: Change = { tree, source, report, segments, offsets, node, before: undefined, path: [] };
  const changed = replaced(root, tree.contents, change, 0);
  if (changed === undefined) return undefined;
  tree.contents = changed;
  return { path: change.path.join('.'), text, before: change.before, after: value };
}

/** A plain value is taken as it is; brackets and quotes are read as YAML. */
function valueNode(tree: Tree, source: Source, offset: number, value: string, report: Report): Node | undefined {
  if (/^[[{"']/.test(value)) {
    const { document, problems } = parseYaml(value);
    if (document?.contents && problems.length === 0) {
      tree.origins.set(document.contents, { ...source, base: offset });
      return document.contents;
    }
    return report({ source, offset }, '', `${quoted(value)} is not a complete list, group or quoted text`);
  }
  const scalar = new Scalar(value);
  scalar.type = 'PLAIN';
  scalar.range = [offset, offset + value.length, offset + value.length];
  tree.origins.set(scalar, source);
  return scalar;
}

/** The node with the rest of the path, from segment `i` on, changed in it; undefined after a report. */
function replaced(field: Field, written: unknown, change: Change, i: number): Node | undefined {
  const { tree, segments } = change;
  if (i === segments.length) {
    const inside = valueInside(field, written, change);
    if (inside !== undefined) return inside;
    change.before = writtenText(tree, written);
    return change.node;
  }
  const node = isAlias(written) ? tree.targets.get(written) : written;
  switch (field.kind) {
    case 'either':
      return replaced(field.compound, asGroup(field, node, change), change, i);
    case 'group':
      return replacedInGroup(field, node, change, i);
    case 'list':
      return replacedInList(field, node, change, i);
    default:
      return refuse(change, i, `is a single value and has no ${quoted(segments[i]!)} in it`);
  }
}

/** A single value for what the file has as a group changes the value in it and leaves the other keys as they are. */
function valueInside(field: Field, written: unknown, change: Change): Node | undefined {
  const { tree, segments, offsets } = change;
  const node = isAlias(written) ? tree.targets.get(written) : written;
  if (field.kind !== 'either' || field.standsFor === undefined || !isMap(node) || !isScalar(change.node))
    return undefined;
  const deeper = { ...change, segments: [...segments, field.standsFor], offsets: [...offsets, offsets.at(-1)!] };
  const changed = replaced(field.compound, node, deeper, segments.length);
  change.before = deeper.before;
  return changed;
}

/** A single value in the file as the group that it stands for, so that a key can be put beside it. */
function asGroup(field: Either, node: unknown, { tree }: Change): unknown {
  if (field.standsFor === undefined || !isScalar(node) || isEmpty(node)) return node;
  const key = new Scalar(field.standsFor);
  key.range = node.range ?? null;
  const map = new YAMLMap<Node, Node | null>();
  map.items = [new Pair<Node, Node | null>(key, node)];
  map.range = node.range ?? null;
  const origin = tree.origins.get(node);
  if (origin !== undefined) for (const made of [key, map]) tree.origins.set(made, origin);
  return map;
}

function refuse({ source, report, segments, offsets }: Change, i: number, message: string, suggestion?: string) {
  return report({ source, offset: offsets[i]! }, segments.slice(0, i).join('.'), message, suggestion);
}

function replacedInGroup(group: Group, node: unknown, change: Change, i: number): Node | undefined {
  if (node != null && !isMap(node)) return refuse(change, i, `is ${shapeOf(node)} in the file, not a group of keys`);
  const key = change.segments[i]!;
  const valid = Object.keys(group.table);
  if (!Object.hasOwn(group.table, key)) {
    const near = nearest(key, valid);
    const hint = near === undefined ? `; keys here: ${valid.join(', ')}` : `; did you mean "${near}"?`;
    return refuse(change, i, `there is no key ${quoted(key)}${hint}`, near);
  }
  const pairs = [...((node?.items ?? []) as Pair<Node, Node | null>[])];
  const index = pairs.findIndex((pair) => isScalar(pair.key) && textOf(pair.key) === key);
  change.path.push(key);
  const inner = replaced(group.table[key]!, pairs[index]?.value, change, i + 1);
  if (inner === undefined) return undefined;
  if (index >= 0) pairs[index] = new Pair<Node, Node | null>(pairs[index]!.key, inner);
  else pairs.push(new Pair<Node, Node | null>(placed(new Scalar(key), change, i), inner));
  const map = new YAMLMap<Node, Node | null>();
  map.items = pairs;
  return isMap(node) ? inPlaceOf(node, map, change.tree) : placed(map, change, i);
}

function replacedInList(list: List, node: unknown, change: Change, i: number): Node | undefined {
  const { tree, segments } = change;
  if (node == null) return refuse(change, i, 'is not in the file');
  if (!isSeq(node)) return refuse(change, i, `is ${shapeOf(node)} in the file, not a list`);
  const items = [...(node.items as Node[])];
  const tags = items.map((item) => tagOf(tree, list, item));
  const [index, used] = findItem(tags, segments.slice(i));
  if (index === undefined) {
    const names = tags.map((tag, n) => tag ?? String(n));
    const near = nearest(segments[i]!, names);
    const known = names.length === 0 ? 'the list is empty' : `items: ${names.slice(0, 12).join(', ')}`;
    const hint = near === undefined ? known : `did you mean "${near}"?`;
    return refuse(change, i, `has no item ${quoted(segments[i]!)}; ${hint}`, near);
  }
  change.path.push(String(index));
  const inner = replaced(list.of, items[index], change, i + used);
  if (inner === undefined) return undefined;
  items[index] = inner;
  const seq = new YAMLSeq<Node>();
  seq.items = items;
  return inPlaceOf(node, seq, tree);
}

/** Index of the item that the path names, by tag (which may contain points) or by index, and the segments it took. */
function findItem(tags: readonly (string | undefined)[], path: readonly string[]): [number | undefined, number] {
  for (let used = path.length; used > 0; used--) {
    const index = tags.indexOf(path.slice(0, used).join('.'));
    if (index >= 0) return [index, used];
  }
  const index = /^\d{1,6}$/.test(path[0]!) ? Number(path[0]) : tags.length;
  return [index < tags.length ? index : undefined, 1];
}

function tagOf(tree: Tree, list: List, item: Node): string | undefined {
  const group = list.of.kind === 'either' ? list.of.compound : list.of;
  const map = isAlias(item) ? tree.targets.get(item) : item;
  if (group.kind !== 'group' || !isMap(map)) return undefined;
  const isTag = (field: Field | undefined): boolean => field?.kind === 'text' && field.tag === true;
  const pair = (map.items as Pair[]).find(
    ({ key }) => isScalar(key) && Object.hasOwn(group.table, textOf(key)) && isTag(group.table[textOf(key)]),
  );
  return isScalar(pair?.value) ? textOf(pair.value) : undefined;
}

/** Gives a new node the place of the path segment that asked for it. */
function placed<N extends Node>(node: N, { tree, source, offsets, segments }: Change, i: number): N {
  const offset = offsets[i]!;
  node.range = [offset, offset + segments[i]!.length, offset + segments[i]!.length];
  tree.origins.set(node, source);
  return node;
}

/** Gives a changed copy the place and style of what it was copied from. */
function inPlaceOf<N extends YAMLMap<Node, Node | null> | YAMLSeq<Node>>(
  from: YAMLMap | YAMLSeq,
  copy: N,
  tree: Tree,
): N {
  copy.range = from.range ?? null;
  if (from.flow) copy.flow = true;
  const origin = tree.origins.get(from);
  if (origin !== undefined) tree.origins.set(copy, origin);
  return copy;
}

/** What a node looked like, at most 60 characters. */
function writtenText(tree: Tree, node: unknown): string | undefined {
  if (isScalar(node)) return textOf(node);
  if (!isMap(node) && !isSeq(node) && !isAlias(node)) return undefined;
  const { text, base } = tree.origins.get(node) ?? tree.source;
  const [from, to] = node.range ?? [0, 0];
  const written = text
    .slice(from + base, to + base)
    .replace(/\s+/g, ' ')
    .trim();
  return written.length > 60 ? `${written.slice(0, 57)}...` : written;
}
