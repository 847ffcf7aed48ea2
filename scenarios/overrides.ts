/** Changes the document by one "path=value". The parts on the way are copied, so that aliases elsewhere keep theirs. */
function applyOverride(c: Context, root: Group, document: Document.Parsed, source: Source): void {
  const { text } = source;
  const equals = text.indexOf('=');
  const path = text.slice(0, Math.max(0, equals)).trim();
  const value = text.slice(equals + 1).trim();
  const start = { source, offset: 0 };
  if (equals < 0 || path === '' || value === '')
    return fault(c, start, '', `write path=value, for example "${Object.keys(root.table)[0]}.name=value"`);
  if (Number.isFinite(c.brokenAt)) return;
  const node = valueNode(c, source, equals + 1 + text.slice(equals + 1).indexOf(value), value);
  if (node === undefined) return;
  const change: Change = { source, segments: path.split('.'), node, before: undefined, path: [] };
  const changed = replaced(c, root, document.contents, change, 0);
  if (changed === undefined) return;
  document.contents = changed as typeof document.contents;
  c.overrides.push({ path: change.path.join('.'), text, before: change.before, after: value });
}

interface Change {
  readonly source: Source;
  readonly segments: readonly string[];
  readonly node: Node;
  before: string | undefined;
  /** With indices in place of tags. */
  readonly path: string[];
}

/** A plain value is taken as it is; brackets and quotes are read as YAML. */
function valueNode(c: Context, source: Source, offset: number, value: string): Node | undefined {
  if (/^[[{"']/.test(value)) {
    const inner = { ...source, text: value };
    const before = c.total;
    const parsed = parse({ ...c, found: [], brokenAt: 0 }, inner);
    if (parsed?.contents && parsed.errors.length === 0 && c.total === before) {
      c.origins.set(parsed.contents, { ...source, base: offset });
      return parsed.contents;
    }
    return fault(c, { source, offset }, '', `${quoted(value)} is not a complete list, group or quoted text`);
  }
  const scalar = new Scalar(value);
  scalar.source = value;
  scalar.type = 'PLAIN';
  scalar.range = [offset, offset + value.length, offset + value.length];
  c.origins.set(scalar, source);
  return scalar;
}

/** The node with the rest of the path changed in it; undefined after a fault. */
function replaced(c: Context, field: Field, written: unknown, change: Change, i: number): Node | undefined {
  const { segments, source } = change;
  const node = isAlias(written) ? c.targets.get(written) : written;
  if (i === segments.length) {
    change.before = writtenText(c, written);
    return change.node;
  }
  const offset = segments.slice(0, i).join('.').length + (i > 0 ? 1 : 0);
  const here = segments.slice(0, i).join('.');
  const refuse = (message: string, suggestion?: string): undefined =>
    fault(c, { source, offset }, here, message, suggestion);
  if (field.kind === 'either') return replaced(c, field.compound, written, change, i);
  if (field.kind === 'group') {
    if (node != null && !isMap(node)) return refuse(`is ${shapeOf(node)} in the file, not a group of keys`);
    const key = segments[i]!;
    if (!Object.hasOwn(field.table, key)) {
      const near = nearest(key, Object.keys(field.table));
      const hint =
        near === undefined ? `; keys here: ${Object.keys(field.table).join(', ')}` : `; did you mean "${near}"?`;
      return refuse(`there is no key ${quoted(key)}${hint}`, near);
    }
    const pairs = [...((node?.items ?? []) as Pair<Node, Node | null>[])];
    const index = pairs.findIndex((pair) => isScalar(pair.key) && textOf(pair.key) === key);
    change.path.push(key);
    const inner = replaced(c, field.table[key]!, pairs[index]?.value, change, i + 1);
    if (inner === undefined) return undefined;
    const keyNode = pairs[index]?.key ?? new Scalar(key);
    if (index < 0) {
      (keyNode as Scalar).range = [offset, offset + key.length, offset + key.length];
      c.origins.set(keyNode, source);
    }
    pairs.splice(index < 0 ? pairs.length : index, 1, new Pair<Node, Node | null>(keyNode, inner));
    return copied(c, new YAMLMap<Node, Node | null>(), node, pairs, change, offset);
  }
  if (field.kind === 'list') {
    if (!isSeq(node))
      return refuse(node == null ? 'is not in the file' : `is ${shapeOf(node)} in the file, not a list`);
    const items = [...(node.items as Node[])];
    const [index, used] = findItem(c, field, items, segments.slice(i));
    if (index === undefined) {
      const names = items.map((item, n) => tagOf(c, field, item) ?? String(n));
      const known = names.length === 0 ? 'the list is empty' : `items: ${names.slice(0, 12).join(', ')}`;
      const near = nearest(segments[i]!, names);
      return refuse(`no item ${quoted(segments[i]!)}; ${near === undefined ? known : `did you mean "${near}"?`}`, near);
    }
    change.path.push(String(index));
    const inner = replaced(c, field.of, items[index], change, i + used);
    if (inner === undefined) return undefined;
    items[index] = inner;
    return copied(c, new YAMLSeq<Node>(), node, items, change, offset);
  }
  return refuse(`is a single value and has no ${quoted(segments[i]!)} in it`);
}

function copied<N extends YAMLMap<Node, Node | null> | YAMLSeq<Node>>(
  c: Context,
  copy: N,
  from: unknown,
  items: unknown[],
  change: Change,
  offset: number,
): N {
  copy.items = items as N['items'];
  if (isMap(from) || isSeq(from)) {
    copy.range = from.range ?? null;
    if (from.flow) copy.flow = true;
    const origin = c.origins.get(from);
    if (origin !== undefined) c.origins.set(copy, origin);
  } else {
    copy.range = [offset, offset, offset];
    c.origins.set(copy, change.source);
  }
  return copy;
}

/** Index of the item that the path names, by tag (which may contain points) or by index, and the segments it took. */
function findItem(
  c: Context,
  list: List,
  items: readonly Node[],
  path: readonly string[],
): [number | undefined, number] {
  const tags = items.map((item) => tagOf(c, list, item));
  for (let used = path.length; used > 0; used--) {
    const index = tags.indexOf(path.slice(0, used).join('.'));
    if (index >= 0) return [index, used];
  }
  const index = /^\d{1,6}$/.test(path[0]!) ? Number(path[0]) : items.length;
  return [index < items.length ? index : undefined, 1];
}

function tagOf(c: Context, list: List, item: Node): string | undefined {
  const group = list.of.kind === 'either' ? list.of.compound : list.of;
  const map = isAlias(item) ? c.targets.get(item) : item;
  if (group.kind !== 'group' || !isMap(map)) return undefined;
  const tagKey = Object.keys(group.table).find((key) => {
    const field = group.table[key]!;
    return field.kind === 'text' && field.tag === true;
  });
  const tag = (map.items as Pair[]).find((pair) => isScalar(pair.key) && textOf(pair.key) === tagKey)?.value;
  return isScalar(tag) ? textOf(tag) : undefined;
}

function writtenText(c: Context, node: unknown): string | undefined {
  if (!isScalar(node) && !isMap(node) && !isSeq(node) && !isAlias(node)) return undefined;
  if (isScalar(node)) return textOf(node);
  const { text, base } = c.origins.get(node) ?? c.source;
  const [from = 0, to = 0] = node.range ?? [];
  const written = text
    .slice(from + base, to + base)
    .replace(/\s+/g, ' ')
    .trim();
  return written.length > 60 ? `${written.slice(0, 57)}...` : written;
}

