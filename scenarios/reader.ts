/**
 * Reads a scenario file by a table of parameters: YAML text in, checked SI values or located faults out.
 *
 * Every fault of the file is found in one pass, as far as the text can be understood. YAML 1.2 with all scalars taken as
 * they are written ("failsafe" schema), because a quantity is text with a unit and nothing else may guess at its type.
 * What it does not do: compare one value with another, which is for the code that builds a plant from the values.
 */
import { isAlias, isMap, isScalar, isSeq, type Node, YAMLMap } from 'yaml';
import type { Choice, Field, Group, List, NumberField, Quantity, Table, Text, Values } from '../models/parameters.ts';
import { aliasTargets, isEmpty, MOST_CHARACTERS, parseYaml, type SyntaxProblem, shapeOf, textOf } from './document.ts';
import {
  type Fault,
  MOST_COLLECTED,
  MOST_SHOWN,
  makeSource,
  type Place,
  type Position,
  positionOf,
  type Source,
} from './faults.ts';
import { LARGEST } from './magnitude.ts';
import { type AppliedOverride, applyOverride, type Tree } from './overrides.ts';
import { inUnit, readQuantity, SEA_LEVEL_PRESSURE_PA } from './units.ts';
import { type Limits, limitsText, nearest, quoted } from './wording.ts';

export { type Fault, formatFault, formatFaults, type Position } from './faults.ts';
export type { AppliedOverride } from './overrides.ts';

type SiteOf<T extends Table> = T extends { readonly site: { readonly table: infer S extends Table } }
  ? Values<S>
  : unknown;

export interface ReadOptions<T extends Table> {
  /** Name shown in messages. */
  readonly file: string;
  /** "path=value", as of `--set`; items of a list by index from 0 or by tag. Later ones win. */
  readonly overrides?: readonly string[];
  /** Absolute pressure of the air outside, Pa, from the values of the group `site`, to which gauge readings refer. */
  readonly ambientPressure?: (site: SiteOf<T>) => number;
}

export interface Reading<T extends Table> {
  /** Frozen plain data; undefined if there is any fault. */
  readonly values: Values<T> | undefined;
  /** Sorted by position, at most {@link MOST_SHOWN}. */
  readonly faults: readonly Fault[];
  /** Number of faults that `faults` leaves out; reading stops where there are thousands. */
  readonly further: number;
  readonly overrides: readonly AppliedOverride[];
  /** Where the value of a path stands, items of lists by index or tag; undefined where nothing is written. */
  where(path: string): Position | undefined;
  /** A fault for checks that come later, at the path or, if nothing is written there, at the group around it. */
  faultAt(path: string, message: string, suggestion?: string): Fault;
  /** The tree of the file with overrides applied; null if it could not be parsed. */
  readonly contents: Node | null;
}

/** A text with its tree, for whoever reads it more than once, with other overrides. Reading leaves it as it is. */
export interface ParsedText {
  readonly text: string;
  readonly problems: readonly SyntaxProblem[];
  /** Undefined if it could not be parsed. */
  readonly contents: Node | null | undefined;
  readonly targets: ReadonlyMap<Node, Node>;
}

export function parseText(written: string): ParsedText {
  // More than is read is not even looked at: what is too long is refused by its beginning.
  const enough = written.slice(0, MOST_CHARACTERS + 2);
  // A lone carriage return is a line end too; replacing it moves no offset.
  const text = enough.replace(/^\ufeff/, '').replace(/\r(?!\n)/g, '\n');
  const { document, problems } = parseYaml(text);
  const contents = document === undefined ? undefined : document.contents;
  return { text, problems, contents, targets: aliasTargets(contents ?? null) };
}

/** Limit on what a bad file may cost, far above what a scenario needs. */
const MOST_ALIASED = 100_000;

type Scope =
  | 'syntax'
  | 'here'
  /** Depends on more of the file than its own place, so it means nothing where the rest could not be parsed. */
  | 'wide';

interface Found {
  readonly place: Place;
  readonly path: string;
  readonly message: string;
  readonly suggestion: string | undefined;
  readonly scope: Scope;
}

interface Context {
  readonly source: Source;
  /** Empty where the file could not be parsed. */
  tree: Pick<Tree, 'targets' | 'origins'>;
  readonly found: Found[];
  total: number;
  readonly positions: Map<string, Place>;
  aliasDepth: number;
  aliased: number;
  readonly tags: Map<string, { path: string; place: Place }>;
  /** "pumps.P-1" to "pumps.0". */
  readonly tagged: Map<string, string>;
  readonly references: { tag: string; path: string; place: Place }[];
  /** Undefined while the site is read. */
  ambientPressure_Pa: number | undefined;
  readonly ambientFrom: ((site: unknown) => number) | undefined;
}

function fault(
  c: Context,
  place: Place,
  path: string,
  message: string,
  suggestion?: string,
  scope: Scope = 'here',
): undefined {
  c.total++;
  if (c.found.length < MOST_COLLECTED) c.found.push({ place, path, message, suggestion, scope });
}

const full = (c: Context): boolean => c.found.length >= MOST_COLLECTED;

// ---------------------------------------------------------------------------------------------------------- the file

/**
 * Reads `text` by `table`.
 *
 * @returns the values, if there is no fault, and everything needed to talk about their places in the file
 */
export function readTable<const T extends Table>(
  table: T,
  text: string | ParsedText,
  options: ReadOptions<T>,
): Reading<T> {
  const parsed = typeof text === 'string' ? parseText(text) : text;
  const { problems } = parsed;
  const source = makeSource(options.file, parsed.text);
  const c: Context = {
    source,
    tree: { targets: new Map(), origins: new WeakMap() },
    found: [],
    total: 0,
    positions: new Map(),
    aliasDepth: 0,
    aliased: 0,
    tags: new Map(),
    tagged: new Map(),
    references: [],
    ambientPressure_Pa: options.ambientPressure === undefined ? SEA_LEVEL_PRESSURE_PA : undefined,
    ambientFrom: options.ambientPressure as ((site: unknown) => number) | undefined,
  };
  for (const { offset, message } of problems) fault(c, { source, offset }, '', message, undefined, 'syntax');
  const breaks = problems.filter((problem) => problem.breaks).map(({ offset }) => offset);
  const brokenAt = breaks.length === 0 ? undefined : breaks.reduce((a, b) => Math.min(a, b));
  const overrides: AppliedOverride[] = [];
  let values: unknown;
  let { contents = null } = parsed;
  if (parsed.contents !== undefined && hasKeys(c, contents, table, brokenAt !== undefined)) {
    const root: Group = { kind: 'group', table, meaning: 'the scenario' };
    const tree: Tree = { source, contents, targets: parsed.targets, origins: new WeakMap() };
    c.tree = tree;
    for (const [i, override] of (brokenAt === undefined ? (options.overrides ?? []) : []).entries()) {
      const from = makeSource('--set', override.replace(/[\r\n]/g, ' '), i + 1);
      const applied = applyOverride(tree, root, from, (...report) => fault(c, ...report));
      if (applied !== undefined) overrides.push(applied);
    }
    contents = tree.contents;
    const place = { source, offset: contents?.range?.[0] ?? 0 };
    values = read(c, root, contents, { path: '', place, source });
    checkReferences(c);
  }
  if (brokenAt !== undefined) dropUnsure(c, brokenAt);
  const faults = c.found.sort(byPlace(source)).slice(0, MOST_SHOWN).map(toFault);
  return {
    values: c.total === 0 ? (values as Values<T>) : undefined,
    faults,
    further: c.total - faults.length,
    overrides,
    where: (path) => {
      const place = c.positions.get(canonical(c, path));
      return place && positionOf(place);
    },
    faultAt: (path, message, suggestion) => {
      let known = canonical(c, path);
      while (known !== '' && !c.positions.has(known)) known = known.slice(0, Math.max(0, known.lastIndexOf('.')));
      const place = c.positions.get(known) ?? { source, offset: 0 };
      return toFault({ place, path, message, suggestion, scope: 'here' });
    },
    contents,
  };
}

function hasKeys(c: Context, contents: Node | null, table: Table, broken: boolean): boolean {
  if (isMap(contents)) return true;
  if (broken) return false;
  const needs = `it needs keys such as ${Object.keys(table).slice(0, 8).join(', ')}`;
  const place = { source: c.source, offset: contents?.range?.[0] ?? 0 };
  if (isEmpty(contents)) fault(c, place, '', `the file is empty; ${needs}`);
  else if (isScalar(contents) && /^[A-Za-z]\w*:\S/.test(textOf(contents)))
    fault(c, place, '', 'the file holds no keys; a blank is needed behind each ":"');
  else fault(c, place, '', `the file must be a group of keys, not ${shapeOf(contents)}; ${needs}`);
  return false;
}

/** Where the structure is unsure, only what stands in the lines above the break and depends on nothing else counts. */
function dropUnsure(c: Context, brokenAt: number): void {
  const { line } = positionOf({ source: c.source, offset: brokenAt });
  const sure = c.found.filter((f) => f.scope === 'syntax' || (f.scope === 'here' && positionOf(f.place).line < line));
  c.total -= c.found.length - sure.length;
  c.found.splice(0, c.found.length, ...sure);
}

/** The file first, then the overrides in their order. */
const byPlace = (file: Source) => {
  const rank = ({ source }: Place): number => (source.file === file.file ? 0 : source.firstLine);
  const offset = ({ source, offset }: Place): number => source.base + offset;
  return (a: Found, b: Found): number => rank(a.place) - rank(b.place) || offset(a.place) - offset(b.place);
};

function toFault({ place, path, message, suggestion }: Found): Fault {
  return { ...positionOf(place), path, message, ...(suggestion === undefined ? {} : { suggestion }) };
}

/** A path with indices in place of tags. */
function canonical(c: Context, path: string): string {
  const segments = path.split('.');
  let done = '';
  for (let i = 0; i < segments.length; ) {
    let to = segments.length;
    const named = (): string => (done === '' ? '' : `${done}.`) + segments.slice(i, to).join('.');
    while (to > i + 1 && !c.tagged.has(named())) to--;
    done = c.tagged.get(named()) ?? named();
    i = to;
  }
  return done;
}

// --------------------------------------------------------------------------------------------------------- any field

/** Where a value is read: its path, the place to point at, and the text that offsets of its nodes count in. */
interface At {
  readonly path: string;
  readonly place: Place;
  readonly source: Source;
}

const below = (at: At, key: string | number, place = at.place): At => ({
  path: at.path === '' ? String(key) : `${at.path}.${key}`,
  place,
  source: place.source,
});

function placeOf(c: Context, node: Node | null | undefined, at: At): Place {
  if (node == null || node.range == null) return at.place;
  return { source: c.tree.origins.get(node) ?? at.source, offset: node.range[0] };
}

function read(c: Context, field: Field, written: Node | null | undefined, around: At): unknown {
  if (full(c)) return undefined;
  if (isAlias(written)) return readAlias(c, field, written, around);
  if (c.aliasDepth > 0 && ++c.aliased > MOST_ALIASED) return undefined;
  const node = written ?? null;
  const place = placeOf(c, node, around);
  const at = { path: around.path, place, source: place.source };
  c.positions.set(at.path, place);
  if (isEmpty(node) && field.kind !== 'either')
    return fault(c, around.place, at.path, `has no value; ${writeInstead(field, at.path)}`, undefined, 'wide');
  switch (field.kind) {
    case 'group':
      return readGroup(c, field, node, at, around.place);
    case 'list':
      return readList(c, field, node, at, around.place);
    case 'either':
      return read(c, isScalar(node) || node === null ? field.scalar : field.compound, node, around);
  }
  if (!isScalar(node))
    return fault(c, place, at.path, `is ${shapeOf(node)}; a single value is wanted: ${writeInstead(field, at.path)}`);
  const text = textOf(node);
  switch (field.kind) {
    case 'quantity':
      return readQuantityField(c, field, text, at);
    case 'number':
      return readNumber(c, field, text, at);
    case 'flag':
      return readFlag(c, text, at);
    case 'choice':
      return readChoice(c, field, text, at);
    case 'text':
      return readText(c, field, text, at);
  }
}

function readAlias(c: Context, field: Field, alias: Node, at: At): unknown {
  const target = c.tree.targets.get(alias);
  const place = placeOf(c, alias, at);
  if (target === undefined) {
    const name = isAlias(alias) ? alias.source : '';
    return fault(c, place, at.path, `"*${name}" repeats "&${name}", but no "&${name}" stands above it`);
  }
  c.aliasDepth++;
  const before = c.aliased;
  // The target stands in the file, whatever text the alias itself came from.
  const value = read(c, field, target, { path: at.path, place, source: c.source });
  c.aliasDepth--;
  if (before <= MOST_ALIASED && c.aliased > MOST_ALIASED && c.aliasDepth === 0)
    return fault(
      c,
      place,
      at.path,
      `"&" and "*" repeat each other to more than ${MOST_ALIASED} values`,
      undefined,
      'wide',
    );
  return value;
}

// ------------------------------------------------------------------------------------------------------------ scalars

function readQuantityField(c: Context, field: Quantity, text: string, at: At): number | undefined {
  const reading = readQuantity(text, field.dimension, c.ambientPressure_Pa, field.example);
  if ('problem' in reading) return fault(c, at.place, at.path, reading.problem, reading.suggestion);
  const wrong = limitProblem(sizedLimits(field, reading.value), reading.value, (limit, inward) =>
    inUnit(limit, reading.unit, inward),
  );
  if (wrong === undefined) return clamped(field, reading.value);
  const percent =
    field.dimension === 'fraction' && reading.unit.name === '' && reading.value > 1 && reading.value <= 100
      ? `${text.trim()} %`
      : undefined;
  const hint = percent === undefined ? '' : `; did you mean "${percent}"?`;
  return fault(c, at.place, at.path, `${quoted(text)} ${wrong}${hint}`, percent);
}

/** The limits of a field; where it states none, that of sizes which no plant has, once the value goes past it. */
function sizedLimits(field: Quantity, value: number): Limits {
  const most = LARGEST[field.dimension];
  if (value > most) return { ...field, max: field.max ?? most };
  return value < -most ? { ...field, min: field.min ?? -most } : field;
}

function readNumber(c: Context, field: NumberField, text: string, at: At): number | undefined {
  const plain = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text.trim());
  const value = Number(text);
  if (!plain || !Number.isFinite(value))
    return fault(
      c,
      at.place,
      at.path,
      `${quoted(text)} is not a plain number; ${/^[+-]?[\d.]+( +[a-z]| *%)/i.test(text) ? 'it has no unit here, ' : ''}write for example "${field.example}"`,
    );
  if (field.whole && !Number.isInteger(value)) return fault(c, at.place, at.path, `${quoted(text)} must be whole`);
  const wrong = limitProblem(field, value, String);
  return wrong === undefined ? clamped(field, value) : fault(c, at.place, at.path, `${quoted(text)} ${wrong}`);
}

/** A limit and the same limit in the user's unit may differ in the last bit. */
const LIMIT_TOLERANCE = 1e-12;

function limitProblem(
  field: Limits,
  value: number,
  show: (limit: number, inward?: 'min' | 'max') => string,
): string | undefined {
  const { min, max, above, below } = field;
  const small =
    (min !== undefined && value < min - Math.abs(min) * LIMIT_TOLERANCE) || (above !== undefined && value <= above);
  const large =
    (max !== undefined && value > max + Math.abs(max) * LIMIT_TOLERANCE) || (below !== undefined && value >= below);
  if (!small && !large) return undefined;
  return `is too ${small ? 'small' : 'large'}: it must be ${limitsText(field, show)}`;
}

const clamped = ({ min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY }: Limits, value: number): number =>
  Math.min(max, Math.max(min, value));

function readFlag(c: Context, text: string, at: At): boolean | undefined {
  const word = text.trim().toLowerCase();
  if (['yes', 'true', 'on'].includes(word)) return true;
  if (['no', 'false', 'off'].includes(word)) return false;
  return fault(c, at.place, at.path, `${quoted(text)}: write yes or no`);
}

function readChoice(c: Context, field: Choice, text: string, at: At): string | undefined {
  const word = text.trim();
  if (field.of.includes(word)) return word;
  const near = nearest(word, field.of);
  return fault(
    c,
    at.place,
    at.path,
    `${quoted(text)} is not one of ${field.of.join(', ')}${near === undefined ? '' : `; did you mean "${near}"?`}`,
    near,
  );
}

function readText(c: Context, field: Text, text: string, at: At): string | undefined {
  if (field.refers) c.references.push({ tag: text, path: at.path, place: at.place });
  if (!field.tag) return text;
  if (!/^[A-Za-z0-9_.-]{1,60}$/.test(text))
    return fault(
      c,
      at.place,
      at.path,
      `${quoted(text)} cannot be a tag: letters, digits, "-", "_" and ".", at most 60; write for example "${field.example}"`,
    );
  const first = c.tags.get(text);
  if (first !== undefined) {
    const { file, line } = positionOf(first.place);
    return fault(
      c,
      at.place,
      at.path,
      `tag "${text}" is already used at ${file}:${line} (${first.path})`,
      undefined,
      'wide',
    );
  }
  c.tags.set(text, { path: at.path, place: at.place });
  const [, list, index] = /^(.*)\.(\d+)\.[^.]+$/.exec(at.path) ?? [];
  if (list !== undefined) c.tagged.set(`${list}.${text}`, `${list}.${index}`);
  return text;
}

function checkReferences(c: Context): void {
  for (const { tag, path, place } of c.references) {
    if (c.tags.has(tag)) continue;
    const near = full(c) ? undefined : nearest(tag, c.tags.keys());
    const all = [...c.tags.keys()].slice(0, 12).join(', ');
    const hint =
      near !== undefined ? `; did you mean "${near}"?` : all === '' ? '; the file has no tags' : `; tags: ${all}`;
    fault(c, place, path, `no item has the tag ${quoted(tag)}${hint}`, near, 'wide');
  }
}

// -------------------------------------------------------------------------------------------------- groups and lists

interface Entry {
  readonly place: Place;
  readonly node: Node | null;
}

function readGroup(c: Context, group: Group, node: Node | null, at: At, keyPlace: Place): unknown {
  if (!isMap(node)) {
    const keys = Object.keys(group.table).slice(0, 8).join(', ');
    const what = isScalar(node) ? `${quoted(textOf(node))} is a single value` : `is ${shapeOf(node)}`;
    return fault(c, at.place, at.path, `${what}; a group of keys is wanted: ${keys}`);
  }
  const given = keysOf(c, group.table, node as YAMLMap<Node, Node | null>, at);
  checkRules(c, group, given, at, keyPlace);
  const values: Record<string, unknown> = {};
  const keys = Object.keys(group.table);
  // The site comes first: gauge readings everywhere else refer to its air pressure.
  const siteFirst = at.path === '' && c.ambientFrom !== undefined && Object.hasOwn(group.table, 'site');
  for (const key of siteFirst ? ['site', ...keys.filter((other) => other !== 'site')] : keys) {
    const field = group.table[key]!;
    const entry = given.get(key);
    const before = c.total;
    const value =
      entry === undefined
        ? readAbsent(c, field, below(at, key, keyPlace), key)
        : read(c, field, entry.node, below(at, key, entry.place));
    if (value !== undefined) values[key] = value;
    if (siteFirst && key === 'site') {
      const ambient_Pa = c.total === before && value !== undefined ? c.ambientFrom!(value) : Number.NaN;
      // A faulty site is reported by itself; the rest is read as if it were at sea level, so that other faults show.
      c.ambientPressure_Pa =
        ambient_Pa > 0 && ambient_Pa < Number.POSITIVE_INFINITY ? ambient_Pa : SEA_LEVEL_PRESSURE_PA;
    }
  }
  return Object.freeze(values);
}

/** The keys of a map that the table knows; a misspelt one is read as what it was meant to be. */
function keysOf(c: Context, table: Table, map: YAMLMap<Node, Node | null>, at: At): Map<string, Entry> {
  const given = new Map<string, Entry>();
  const seen = new Map<string, Place>();
  const unknown: { key: string; entry: Entry }[] = [];
  for (const { key: keyNode, value } of map.items) {
    const place = placeOf(c, keyNode, at);
    if (!isScalar(keyNode)) {
      fault(c, place, at.path, `a key must be a word, not ${shapeOf(keyNode)}`);
      continue;
    }
    const key = textOf(keyNode);
    const first = seen.get(key);
    if (first !== undefined) {
      const message = `${quoted(key)} is written twice in one group; first at line ${positionOf(first).line}`;
      fault(c, place, below(at, key).path, message);
      continue;
    }
    seen.set(key, place);
    const entry = { place, node: value };
    if (Object.hasOwn(table, key)) given.set(key, entry);
    else unknown.push({ key, entry });
  }
  const valid = Object.keys(table);
  for (const { key, entry } of unknown) {
    const near = full(c)
      ? undefined
      : nearest(
          key,
          valid.filter((other) => !given.has(other)),
        );
    const list = valid.join(', ');
    const hint = near !== undefined ? `; did you mean "${near}"?` : list.length <= 100 ? `; keys here: ${list}` : '';
    const what = key === '<<' ? 'keys cannot be merged in with "<<", write them out' : `unknown key ${quoted(key)}`;
    fault(c, entry.place, at.path, `${what}${hint}`, near);
    if (near !== undefined) given.set(near, entry);
  }
  return given;
}

const either = (keys: readonly string[]): string => keys.map((key) => `"${key}"`).join(' or ');

function checkRules(c: Context, group: Group, given: ReadonlyMap<string, Entry>, at: At, keyPlace: Place): void {
  const present = (keys: readonly string[]): string[] => keys.filter((key) => given.has(key));
  for (const keys of group.oneOf ?? [])
    if (present(keys).length === 0) fault(c, keyPlace, at.path, `needs ${either(keys)}`, undefined, 'wide');
  for (const keys of [...(group.oneOf ?? []), ...(group.atMostOneOf ?? [])]) {
    const [first, second] = present(keys);
    if (second !== undefined)
      fault(
        c,
        given.get(second)!.place,
        at.path,
        `"${first}" and "${second}" exclude each other; write only one of them`,
      );
  }
  for (const [first = '', ...others] of group.together ?? [])
    for (const missing of given.has(first) ? others.filter((key) => !given.has(key)) : [])
      fault(c, given.get(first)!.place, at.path, `"${first}" needs "${missing}" beside it`, undefined, 'wide');
}

function readAbsent(c: Context, field: Field, at: At, key: string): unknown {
  if ('default' in field && field.default !== undefined) return field.default;
  if (field.kind === 'group' && field.defaults) return readGroup(c, field, new YAMLMap(), at, at.place);
  if (field.kind === 'list' && field.defaults) return Object.freeze([]);
  if (field.optional) return undefined;
  return fault(c, at.place, at.path, `is missing (${field.meaning}); ${writeInstead(field, key)}`, undefined, 'wide');
}

function readList(c: Context, field: List, node: Node | null, at: At, keyPlace: Place): unknown {
  if (!isSeq(node)) {
    const what = isScalar(node) ? `${quoted(textOf(node))} is a single value` : `is ${shapeOf(node)}`;
    return fault(c, at.place, at.path, `${what}; a list is wanted, each item on its own line behind "- "`);
  }
  const items = node.items as (Node | null)[];
  const { minItems = 0, maxItems = Number.POSITIVE_INFINITY } = field;
  const count = `has ${items.length} ${items.length === 1 ? 'item' : 'items'}`;
  if (items.length < minItems) fault(c, keyPlace, at.path, `${count}; at least ${minItems} needed`, undefined, 'wide');
  if (items.length > maxItems)
    fault(c, placeOf(c, items[maxItems], at), at.path, `${count}; at most ${maxItems} are allowed`);
  return Object.freeze(items.map((item, i) => read(c, field.of, item, below(at, i, placeOf(c, item, at)))));
}

/** What to write for a field: `write for example "volume: 60 gal"`. */
function writeInstead(field: Field, path: string): string {
  const key = path.slice(path.lastIndexOf('.') + 1);
  const isItem = /^\d*$/.test(key);
  const name = isItem ? '' : `${key}: `;
  switch (field.kind) {
    case 'quantity':
    case 'number':
    case 'text':
      return `write for example "${name}${field.example}"`;
    case 'flag':
      return `write "${name}yes" or "${name}no"`;
    case 'choice':
      return `write for example "${name}${field.of[0]}" (one of ${field.of.join(', ')})`;
    case 'group': {
      const inner = Object.entries(field.table);
      const needed = inner.filter(([, value]) => isRequired(value));
      const keys = (needed.length > 0 ? needed : inner).slice(0, 8).map(([innerKey]) => innerKey);
      return isItem
        ? `write its keys: ${keys.join(', ')}`
        : `write "${key}:" and, indented below it, ${keys.join(', ')}`;
    }
    case 'list':
      return isItem ? 'write its items' : `write "${key}:" and its items below, each behind "- "`;
    case 'either':
      return writeInstead(field.scalar, path);
  }
}

/** Whether a key must be written. */
export const isRequired = (field: Field): boolean =>
  !field.optional &&
  !('default' in field && field.default !== undefined) &&
  !((field.kind === 'group' || field.kind === 'list') && field.defaults === true);
