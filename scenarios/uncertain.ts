/**
 * The section `uncertain`: which numbers of the checked values are drawn, and from what. Paths are looked up in the same
 * table that the file is read by; the numbers of a distribution are read in the dimension of its path.
 */
import type { Dimension, Field, NumberField, Quantity, Values } from '../models/parameters.ts';
import type { uncertainGroup } from '../models/uncertain.ts';
import { ambientPressure, type Complain } from './build.ts';
import { type ScenarioValues, scenarioTable } from './scenario.ts';
import { inUnit, readQuantity, type WrittenUnit } from './units.ts';
import { limitsText, nearest, quoted } from './wording.ts';

/** A distribution in SI. Normal and lognormal ones are cut off at `from` and `to`. */
export type Distribution =
  | {
      readonly kind: 'normal';
      readonly mean: number;
      readonly deviation: number;
      readonly from: number;
      readonly to: number;
    }
  | { readonly kind: 'uniform'; readonly from: number; readonly to: number }
  | { readonly kind: 'triangular'; readonly from: number; readonly likely: number; readonly to: number }
  | {
      readonly kind: 'lognormal';
      readonly median: number;
      readonly factor: number;
      readonly from: number;
      readonly to: number;
    }
  | { readonly kind: 'discrete'; readonly values: readonly number[]; readonly weights: readonly number[] };

/** One number that is drawn. Plain data, so that it can be sent to where it is used. */
export interface Uncertain {
  /** As `--set` takes it. */
  readonly path: string;
  /** Where the number stands in the values of a scenario; empty for the moment of the failure. */
  readonly keys: readonly (string | number)[];
  /** Undefined for a plain number. */
  readonly dimension: Dimension | undefined;
  readonly distribution: Distribution;
  /** A stated accuracy that the draw takes the place of: set to 0. */
  readonly settles?: {
    readonly path: string;
    readonly keys: readonly (string | number)[];
    readonly dimension: Dimension;
  };
}

/** The path of the moment at which the mains are lost. */
export const MOMENT = 'moment';

type Entry = Values<(typeof uncertainGroup)['table']>;

interface Place {
  readonly path: string;
  readonly keys: readonly (string | number)[];
  readonly field: Quantity | NumberField;
  readonly value: number;
}

const WITHOUT_BEARING: Readonly<Record<string, string>> = {
  title: 'is no part of the unit',
  notes: 'is no part of the unit',
  seed: 'is no part of the unit; draw "switches" instead',
  clock: 'is no part of the unit',
  run: 'is no part of the unit',
  uncertain: 'cannot itself be uncertain',
  'power.backAt': 'has no bearing: in a campaign the mains stay away',
  'site.altitude': 'is what every gauge reading of the file refers to; draw the pressures instead',
  'site.barometer': 'is what every gauge reading of the file refers to; draw the pressures instead',
};

/** Reads the section. What is wrong is complained of at its path; the list holds what could be read. */
export function readUncertain(values: ScenarioValues, complain: Complain): Uncertain[] {
  const inputs: Uncertain[] = [];
  const ambient = ambientPressure(values.site);
  values.uncertain.forEach((entry, i) => {
    const at = `uncertain.${i}`;
    const fault = (key: string, message: string): undefined =>
      complain(key === '' ? at : `${at}.${key}`, message) as undefined;
    for (const input of readEntry(values, entry, ambient, fault)) {
      const name = input.keys.join('.');
      if (inputs.some((other) => other.keys.join('.') === name)) fault('path', `${input.path} is drawn twice`);
      else inputs.push(input);
    }
  });
  const lost = values.uncertain.findIndex((e) => e.path.trim() === 'power.lostAt');
  if (lost >= 0 && inputs.some((input) => input.path === MOMENT))
    complain(
      `uncertain.${lost}.path`,
      'the moment of the failure is drawn by "moment" already; write only one of them',
    );
  return inputs;
}

type Fault = (key: string, message: string) => undefined;

function readEntry(values: ScenarioValues, entry: Entry, ambient: number, fault: Fault): Uncertain[] {
  const path = entry.path.trim();
  if (path === 'switches' || path === 'readings') {
    const extra = (['mean', 'deviation', 'from', 'likely', 'to', 'median', 'factor', 'values'] as const).find(
      (key) => entry[key] !== undefined,
    );
    if (extra !== undefined || entry.distribution !== 'uniform') {
      const what = 'are drawn evenly within their stated accuracies; to draw one otherwise give its own path';
      fault(extra ?? 'distribution', `"${path}" ${what}`);
      return [];
    }
    const found = path === 'switches' ? accurateSwitches(values) : accurateReadings(values);
    if (found.length === 0)
      fault(
        'path',
        `no ${path === 'switches' ? 'switch' : 'start reading'} of the file has an accuracy to draw within`,
      );
    return found;
  }
  if (path === MOMENT) {
    const moment: Place = {
      path,
      keys: [],
      field: { kind: 'quantity', dimension: 'time', meaning: 'When the mains are lost', min: 0, example: '2 h' },
      value: Number.NaN,
    };
    if (entry.distribution !== 'uniform') {
      fault('distribution', 'the moment of the failure is uniform over service, or from "from" to "to"');
      return [];
    }
    const distribution = readDistribution(moment, { from: '0 s', ...entry }, ambient, fault);
    return distribution === undefined ? [] : [{ path, keys: [], dimension: 'time', distribution }];
  }
  const place = findNumber(values, path);
  if ('problem' in place) {
    fault('path', place.problem);
    return [];
  }
  const distribution = readDistribution(place, entry, ambient, fault);
  if (distribution === undefined) return [];
  const { field } = place;
  if (field.kind === 'number' && field.whole && distribution.kind !== 'discrete') {
    fault('distribution', `${place.path} is a whole number: write "distribution: discrete" and its "values"`);
    return [];
  }
  const dimension = field.kind === 'quantity' ? field.dimension : undefined;
  return [{ path: place.path, keys: place.keys, dimension, distribution }];
}

// --------------------------------------------------------------------------------------------------------- the path

/** Looks a number up by its path, as `--set` does. */
export function findNumber(values: ScenarioValues, path: string): Place | { readonly problem: string } {
  const bad = (problem: string) => ({ problem });
  const segments = path.split('.');
  for (const [start, why] of Object.entries(WITHOUT_BEARING))
    if (path === start || path.startsWith(`${start}.`)) return bad(`${path} ${why}`);
  let field: Field = { kind: 'group', table: scenarioTable, meaning: 'the scenario' };
  let value: unknown = values;
  const keys: (string | number)[] = [];
  const written: string[] = [];
  let i = 0;
  for (;;) {
    if (field.kind === 'either') {
      const { standsFor }: { standsFor?: string } = field;
      if (typeof value === 'number') {
        // "at" of a switch that is written as its trip point alone.
        if (i < segments.length && segments[i] === standsFor) written.push(segments[i++]);
        field = field.scalar;
      } else {
        field = field.compound;
        if (i === segments.length && standsFor !== undefined) segments.push(standsFor);
      }
      continue;
    }
    if (i === segments.length) break;
    const segment = segments[i];
    const here = written.length === 0 ? 'the file' : written.join('.');
    if (value === undefined) return bad(`${here} is not in the file; write it there first, with its usual value`);
    if (field.kind === 'group') {
      if (!Object.hasOwn(field.table, segment)) {
        const near = nearest(segment, Object.keys(field.table));
        return bad(
          `${quoted(path)}: ${here} has no key ${quoted(segment)}${near === undefined ? `; keys there: ${Object.keys(field.table).slice(0, 12).join(', ')}` : `; did you mean "${near}"?`}`,
        );
      }
      value = (value as Record<string, unknown>)[segment];
      field = field.table[segment];
      keys.push(segment);
      written.push(segment);
      i++;
      continue;
    }
    if (field.kind !== 'list')
      return bad(`${quoted(path)}: ${here} is a single value and has no ${quoted(segment)} in it`);
    const items = value as readonly unknown[];
    const tags = items.map((item) => (item as { tag?: unknown } | undefined)?.tag as string | undefined);
    let [index, used] = [-1, 1];
    // A tag may contain points.
    for (let k = segments.length; k > i && index < 0; k--) {
      index = tags.indexOf(segments.slice(i, k).join('.'));
      used = k - i;
    }
    if (index < 0) {
      used = 1;
      index = /^\d{1,6}$/.test(segment) ? Number(segment) : items.length;
    }
    if (index >= items.length) {
      const names = tags.map((tag, n) => tag ?? String(n));
      const near = nearest(segment, names);
      const known = names.length === 0 ? 'the list is empty' : `items: ${names.slice(0, 12).join(', ')}`;
      return bad(`${here} has no item ${quoted(segment)}; ${near === undefined ? known : `did you mean "${near}"?`}`);
    }
    written.push(segments.slice(i, i + used).join('.'));
    keys.push(index);
    value = items[index];
    field = field.of;
    i += used;
  }
  if (value === undefined) return bad(`${path} is not in the file; write it there first, with its usual value`);
  if (field.kind !== 'quantity' && field.kind !== 'number') {
    const inside = field.kind === 'group' ? `; it has keys: ${Object.keys(field.table).slice(0, 12).join(', ')}` : '';
    return bad(`${quoted(path)} is not a number of the file${inside}`);
  }
  return { path: written.join('.'), keys, field, value: value as number };
}

type Keys = readonly (string | number)[];
type Holder = Record<string | number, unknown>;

/**
 * A copy of the values in which the numbers at some places can be set, again and again; what is not on the way to one is shared
 * with the old values.
 */
export function settable(
  values: ScenarioValues,
  places: readonly Keys[],
): { readonly values: ScenarioValues; readonly set: (place: number, value: number) => void } {
  const fresh = new Set<unknown>();
  const copied = (node: unknown): Holder => {
    if (fresh.has(node)) return node as Holder;
    const copy = Array.isArray(node) ? [...node] : { ...(node as object) };
    fresh.add(copy);
    return copy as Holder;
  };
  const root = copied(values);
  const holders = places.map((keys) => {
    let node = root;
    for (const key of keys.slice(0, -1)) node = node[key] = copied(node[key]);
    return { node, key: keys[keys.length - 1] };
  });
  return {
    values: root as unknown as ScenarioValues,
    set(place, value) {
      const { node, key } = holders[place];
      node[key] = value;
    },
  };
}

// ----------------------------------------------------------------------------------------------- stated accuracies

function accurateSwitches(values: ScenarioValues): Uncertain[] {
  return (['level', 'pressure', 'sump'] as const).flatMap((measured) => {
    const settings: Readonly<Record<string, unknown>> = values.panel[measured];
    const dimension = measured === 'pressure' ? 'pressure' : 'length';
    return Object.entries(settings).flatMap(([name, given]): Uncertain[] => {
      const full = given as { readonly at: number; readonly accuracy: number } | number | undefined;
      if (typeof full !== 'object' || !(full.accuracy > 0)) return [];
      return [
        within(
          ['panel', measured, name, 'at'],
          ['panel', measured, name, 'accuracy'],
          dimension,
          full.at,
          full.accuracy,
        ),
      ];
    });
  });
}

function accurateReadings({ start }: ScenarioValues): Uncertain[] {
  const inputs: Uncertain[] = [];
  if (start.gaugeAccuracy > 0)
    inputs.push(
      within(['start', 'pressure'], ['start', 'gaugeAccuracy'], 'pressure', start.pressure, start.gaugeAccuracy),
    );
  if (start.levelAccuracy > 0 && start.level !== undefined)
    inputs.push(within(['start', 'level'], ['start', 'levelAccuracy'], 'length', start.level, start.levelAccuracy));
  return inputs;
}

function within(
  keys: string[],
  accuracy: string[],
  dimension: 'pressure' | 'length',
  at: number,
  by: number,
): Uncertain {
  return {
    path: keys.join('.'),
    keys,
    dimension,
    distribution: { kind: 'uniform', from: at - by, to: at + by },
    settles: {
      path: accuracy.join('.'),
      keys: accuracy,
      dimension: dimension === 'pressure' ? 'pressureDifference' : 'length',
    },
  };
}

// ------------------------------------------------------------------------------------------------ the distribution

/** Keys that each distribution is made of. */
const KEYS = {
  normal: ['mean', 'deviation'],
  uniform: ['from', 'to'],
  triangular: ['from', 'likely', 'to'],
  lognormal: ['median', 'factor'],
  discrete: ['values'],
} as const;
const ALL_KEYS = ['mean', 'deviation', 'from', 'likely', 'to', 'median', 'factor', 'values'] as const;

/** Dimensions whose zero is no zero of anything, so that a share of a value means nothing. */
const NO_SHARE: ReadonlySet<string> = new Set(['pressure', 'temperature', 'fraction']);
const DIFFERENCE: Readonly<Partial<Record<Dimension, Dimension>>> = {
  pressure: 'pressureDifference',
  temperature: 'temperatureDifference',
};

function readDistribution(place: Place, entry: Entry, ambient: number, fault: Fault): Distribution | undefined {
  const { field, value: base } = place;
  const kind = entry.distribution;
  const own: readonly string[] = KEYS[kind];
  const foreign = ALL_KEYS.find((key) => entry[key] !== undefined && !own.includes(key));
  if (foreign !== undefined)
    return fault(foreign, `is not read for "${kind}", which has ${own.map((key) => `"${key}"`).join(', ')}`);
  let unit: WrittenUnit = { name: '', factor: 1, offset: 0 };
  let faults = 0;
  const wrong = (key: string, message: string): number => {
    faults++;
    fault(key, message);
    return Number.NaN;
  };
  /** A value of the path; relative to the one in the file where written as "+5 %". */
  const value = (key: string, text: string | undefined, missing?: number): number => {
    if (text === undefined)
      return missing ?? wrong('', `"${kind}" needs ${own.map((k) => `"${k}"`).join(' and ')}; "${key}" is missing`);
    const share = shareOf(field, text.trim());
    const mayBeShare = Number.isFinite(base) && !(field.kind === 'quantity' && NO_SHARE.has(field.dimension));
    if (share !== undefined && mayBeShare) return base * (1 + share);
    const read = readOne(field, text.trim(), ambient);
    if ('problem' in read) return wrong(key, read.problem);
    unit = read.unit;
    return limited(key, read.value);
  };
  const limited = (key: string, x: number): number => {
    const { min = -Infinity, max = Infinity, above = -Infinity, below = Infinity } = field;
    if (x >= min && x <= max && x > above && x < below) return x;
    const show = (si: number) => inUnit(si, unit);
    return wrong(key, `lies outside what ${place.path} may be: ${limitsText(field, show)}`);
  };
  const low = field.min ?? field.above ?? -Infinity;
  const high = field.max ?? field.below ?? Infinity;
  let made: Distribution;
  switch (kind) {
    case 'uniform': {
      const from = value('from', entry.from);
      // The end of service, where that of the moment is left out.
      const to = Number.isNaN(base) && entry.to === undefined ? Infinity : value('to', entry.to);
      made = { kind, from, to };
      if (from >= to) wrong('to', 'must be more than "from"');
      break;
    }
    case 'triangular': {
      const [from, likely, to] = [
        value('from', entry.from),
        value('likely', entry.likely, base),
        value('to', entry.to),
      ];
      made = { kind, from, likely, to };
      if (from >= to) wrong('to', 'must be more than "from"');
      else if (likely < from || likely > to)
        wrong(entry.likely === undefined ? '' : 'likely', 'the likeliest value must lie between "from" and "to"');
      break;
    }
    case 'normal': {
      const mean = value('mean', entry.mean, base);
      made = { kind, mean, deviation: deviationOf(mean), from: low, to: high };
      break;
    }
    case 'lognormal': {
      const median = value('median', entry.median, base);
      const factor = entry.factor ?? wrong('', '"lognormal" needs "factor"; write for example "factor: 1.5"');
      if (median <= 0)
        wrong(
          entry.median === undefined ? '' : 'median',
          'a lognormal value is more than 0; take another distribution',
        );
      if (field.kind === 'quantity' && (field.dimension === 'pressure' || field.dimension === 'temperature'))
        wrong('distribution', 'a reading on a scale is not lognormal; take another distribution');
      made = { kind, median, factor, from: Math.max(low, 0), to: high };
      break;
    }
    case 'discrete': {
      const list = entry.values ?? [];
      if (list.length === 0) wrong('', '"discrete" needs "values"; write "values: [{ value: ..., weight: 1 }]"');
      const values = list.map((v, k) => {
        const x = value(`values.${k}.value`, v.value);
        if (field.kind === 'number' && field.whole && !Number.isInteger(x) && !Number.isNaN(x))
          return wrong(`values.${k}.value`, `${place.path} is a whole number`);
        return x;
      });
      made = { kind, values, weights: list.map((v) => v.weight) };
      break;
    }
  }
  if (faults > 0) return undefined;
  for (const [key, x] of ends(made)) limited(key, x);
  return faults > 0 ? undefined : made;

  function deviationOf(mean: number): number {
    const text = entry.deviation?.trim();
    if (text === undefined) return wrong('', '"normal" needs "deviation"; write for example "deviation: 5 %"');
    const dimension = field.kind === 'quantity' ? field.dimension : undefined;
    let by: number;
    const share = shareOf(field, text) ?? (/%/.test(text) ? shareText(text) : undefined);
    if (share !== undefined && dimension !== 'fraction') {
      if (dimension !== undefined && NO_SHARE.has(dimension))
        return wrong(
          'deviation',
          `a share of a ${dimension} means nothing; write a difference, for example "${dimension === 'pressure' ? '1 psi' : '3 degF'}"`,
        );
      by = Math.abs(mean) * share;
    } else {
      const read =
        dimension === undefined ? plainNumber(text) : readQuantity(text, DIFFERENCE[dimension] ?? dimension, ambient);
      if ('problem' in read) return wrong('deviation', read.problem);
      by = read.value;
    }
    if (!(by > 0)) return wrong('deviation', 'must be more than 0');
    return by;
  }
}

/** The numbers of a distribution that a drawn value can be, with the keys that give them. */
function ends(d: Distribution): [string, number][] {
  if (d.kind === 'normal') return [['mean', d.mean]];
  if (d.kind === 'lognormal') return [['median', d.median]];
  if (d.kind === 'discrete') return d.values.map((x, k) => [`values.${k}.value`, x]);
  return d.to === Infinity
    ? [['from', d.from]]
    : [
        ['from', d.from],
        ['to', d.to],
      ];
}

type Read = { readonly value: number; readonly unit: WrittenUnit } | { readonly problem: string };

function readOne(field: Quantity | NumberField, text: string, ambient: number): Read {
  if (field.kind === 'number') return plainNumber(text);
  return readQuantity(text, field.dimension, ambient, field.example);
}

function plainNumber(text: string): Read {
  const value = Number(text);
  if (text === '' || !Number.isFinite(value)) return { problem: `${quoted(text)} is not a number` };
  return { value, unit: { name: '', factor: 1, offset: 0 } };
}

/** A share with its sign written, of a value that is no fraction itself. */
function shareOf(field: Quantity | NumberField, text: string): number | undefined {
  if (field.kind === 'quantity' && field.dimension === 'fraction') return undefined;
  return /^([+\u2212-]|0\s*%)/.test(text) ? shareText(text) : undefined;
}

function shareText(text: string): number | undefined {
  if (!/%$/.test(text)) return undefined;
  const read = readQuantity(text, 'fraction', undefined);
  return 'problem' in read ? undefined : read.value;
}
