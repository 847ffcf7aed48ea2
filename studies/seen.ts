/**
 * Readings as people give them, to what `explain` works with: single ones as "P-101.runTime=2.9 min", or many in a file of
 * YAML or CSV. What cannot be read is a fault with its place.
 */
import { isMap, isScalar, type Node, type Pair } from 'yaml';
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import { parseYaml, textOf } from '../scenarios/document.ts';
import { type Fault, makeSource, type Place, positionOf, type Source } from '../scenarios/faults.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { readQuantity } from '../scenarios/units.ts';
import { nearest, quoted } from '../scenarios/wording.ts';
import type { Figure, ReadingKind } from './cycles.ts';
import { type Accuracies, DEFAULT_ACCURACY } from './explain.ts';

/** A reading as written, and where. */
export interface Entry {
  readonly key: string;
  readonly value: string;
  readonly keyPlace: Place;
  readonly valuePlace: Place;
}

export type Complain = (place: Place, path: string, message: string, suggestion?: string) => void;

/** Collects faults. */
export function collector(): { readonly faults: Fault[]; readonly complain: Complain } {
  const faults: Fault[] = [];
  return {
    faults,
    complain: (place, path, message, suggestion) => {
      faults.push({ ...positionOf(place), path, message, ...(suggestion === undefined ? {} : { suggestion }) });
    },
  };
}

interface Kind {
  readonly dimension: Dimension | 'rate';
  readonly example: string;
  readonly least?: number;
}

const TIME: Kind = { dimension: 'time', example: '42 min', least: 0 };
const KINDS: Readonly<Record<string, Kind>> = {
  betweenStarts: TIME,
  startsPerHour: { dimension: 'rate', example: '1.4', least: 0 },
  runTime: { dimension: 'time', example: '2.9 min', least: 0 },
  levelAtStart: { dimension: 'length', example: '31 in' },
  levelAtStop: { dimension: 'length', example: '36 in' },
  pressureAtStart: { dimension: 'pressure', example: '118 psig' },
  pressureAtStop: { dimension: 'pressure', example: '139 psig' },
  pressureFall: { dimension: 'pressureRate', example: '2 psi/h' },
  levelFall: { dimension: 'speed', example: '3 mm/h' },
};
const ACCURACIES: Readonly<Record<string, Kind & { readonly of: keyof Accuracies }>> = {
  gauge: { dimension: 'pressureDifference', example: '0.5 psi', least: 0, of: 'gauge_Pa' },
  sightGlass: { dimension: 'length', example: '0.25 in', least: 0, of: 'glass_m' },
  sump: { dimension: 'length', example: '0.25 in', least: 0, of: 'sump_m' },
  time: { dimension: 'time', example: '1 s', least: 0, of: 'time_s' },
};

/** What can be read of each item of a plant. */
export function readingsOf(plant: Plant): ReadonlyMap<string, readonly string[]> {
  const cycle = ['startsPerHour', 'betweenStarts', 'runTime'];
  const pressures = ['pressureAtStart', 'pressureAtStop'];
  const items = new Map<string, readonly string[]>();
  if (plant.pumps.length > 0) items.set('pumps', [...cycle, 'levelAtStart', 'levelAtStop', ...pressures]);
  if (plant.compressors.length > 0) items.set('compressors', [...cycle, ...pressures]);
  for (const m of [...plant.pumps, ...plant.compressors]) items.set(m.tag, ['runTime']);
  items.set('tank', ['pressureFall']);
  items.set('sump', ['levelFall']);
  items.set('accuracy', Object.keys(ACCURACIES));
  return items;
}

/** "key=value" of the command line; `n` counts them from 1. */
export function optionEntry(text: string, n: number, complain: Complain): Entry | undefined {
  const source = makeSource('--seen', text.replace(/[\r\n]/g, ' '), n);
  const equals = text.indexOf('=');
  const key = text.slice(0, Math.max(0, equals)).trim();
  const value = text.slice(equals + 1).trim();
  if (equals < 0 || key === '' || value === '') {
    complain({ source, offset: 0 }, '', `${quoted(text)} must be written reading=value, or be the name of a file`);
    return undefined;
  }
  const at = (part: string, from: number) => ({ source, offset: text.indexOf(part, from) });
  return { key, value, keyPlace: at(key, 0), valuePlace: at(value, equals + 1) };
}

/** Readings of a YAML file: groups by item, "P-101: { runTime: 2.9 min }". */
export function yamlEntries(file: string, text: string, complain: Complain): Entry[] {
  const source = makeSource(file, text.replace(/^\ufeff/, ''));
  const { document, problems } = parseYaml(source.text);
  for (const { offset, message } of problems) complain({ source, offset }, '', message);
  const place = (node: Node) => ({ source, offset: node.range?.[0] ?? 0 });
  const root = document?.contents ?? null;
  if (problems.length > 0) return [];
  if (!isMap(root)) {
    complain({ source, offset: 0 }, '', 'holds no readings; write groups such as "pumps: { betweenStarts: 42 min }"');
    return [];
  }
  return (root.items as Pair<Node, Node | null>[]).flatMap(({ key: item, value: group }): Entry[] => {
    if (!isScalar(item)) return [];
    if (!isMap(group)) {
      complain(place(item), textOf(item), 'must be a group of readings, such as { runTime: 2.9 min }');
      return [];
    }
    return (group.items as Pair<Node, Node | null>[]).flatMap(({ key, value }): Entry[] => {
      if (!isScalar(key)) return [];
      const path = `${textOf(item)}.${textOf(key)}`;
      if (!isScalar(value) || textOf(value) === '') {
        complain(place(key), path, 'has no value');
        return [];
      }
      return [{ key: path, value: textOf(value), keyPlace: place(key), valuePlace: place(value) }];
    });
  });
}

/** Readings of a CSV file whose head is "reading,value". */
export function csvEntries(source: Source, rows: readonly CsvRow[], complain: Complain): Entry[] {
  const [head, ...rest] = rows;
  const names = (head?.cells ?? []).map((c) => c.text.trim().toLowerCase());
  const [key, value] = [names.indexOf('reading'), names.indexOf('value')];
  return rest.flatMap(({ cells }): Entry[] => {
    const [k, v] = [cells[key], cells[value]];
    if (k === undefined || k.text.trim() === '') return [];
    const place = (offset: number) => ({ source, offset });
    if (v === undefined || v.text.trim() === '') {
      complain(place(k.offset), k.text.trim(), 'has no value; leave the line out where nothing was read');
      return [];
    }
    return [{ key: k.text.trim(), value: v.text.trim(), keyPlace: place(k.offset), valuePlace: place(v.offset) }];
  });
}

/** Accuracies as far as the scenario states them. */
export function statedAccuracies(values: ScenarioValues): Accuracies {
  const { gaugeAccuracy, levelAccuracy } = values.start;
  return {
    gauge_Pa: gaugeAccuracy > 0 ? gaugeAccuracy : DEFAULT_ACCURACY.gauge_Pa,
    glass_m: levelAccuracy > 0 ? levelAccuracy : DEFAULT_ACCURACY.glass_m,
    sump_m: levelAccuracy > 0 ? levelAccuracy : DEFAULT_ACCURACY.sump_m,
    time_s: DEFAULT_ACCURACY.time_s,
  };
}

/** Readings to figures; accuracies that are given among them take the place of the stated ones. */
export function figuresGiven(
  entries: readonly Entry[],
  plant: Plant,
  stated: Accuracies,
  complain: Complain,
): { readonly figures: readonly Figure[]; readonly accuracies: Accuracies } {
  const items = readingsOf(plant);
  const figures = new Map<string, Figure>();
  const seen = new Set<string>();
  let accuracies = stated;
  for (const { key, value, keyPlace, valuePlace } of entries) {
    const dot = key.lastIndexOf('.');
    const [of, name] = [key.slice(0, Math.max(0, dot)), key.slice(dot + 1)];
    const kinds = items.get(of);
    if (kinds === undefined) {
      const near = nearest(of === '' ? key : of, items.keys());
      const hint = near === undefined ? `items here: ${[...items.keys()].join(', ')}` : `did you mean "${near}"?`;
      complain(keyPlace, '', `${quoted(key)}: there is no item ${quoted(of)} to read; ${hint}`, near);
      continue;
    }
    if (!kinds.includes(name)) {
      const near = nearest(name, kinds);
      const hint = near === undefined ? `readings of it: ${kinds.join(', ')}` : `did you mean "${near}"?`;
      complain(keyPlace, '', `${quoted(of)} has no reading ${quoted(name)}; ${hint}`, near);
      continue;
    }
    if (seen.has(key)) {
      complain(keyPlace, key, 'is given twice');
      continue;
    }
    seen.add(key);
    const accuracy = of === 'accuracy' ? ACCURACIES[name] : undefined;
    const kind = accuracy ?? KINDS[name];
    const number = numberOf(value, kind, plant.ambientPressure_Pa);
    if (typeof number === 'string') {
      complain(valuePlace, key, number);
      continue;
    }
    if (kind.least !== undefined && !(number > kind.least)) {
      complain(valuePlace, key, `${quoted(value)} must be more than 0; write for example "${kind.example}"`);
      continue;
    }
    if (accuracy !== undefined) {
      accuracies = { ...accuracies, [accuracy.of]: number };
      continue;
    }
    const figure = (as: ReadingKind, si: number) => {
      if (figures.has(`${of}.${as}`)) complain(keyPlace, key, `says the same as a reading before it`);
      const rate = as === 'pressureFall' || as === 'levelFall';
      // A rate that was read off is taken over an hour.
      figures.set(`${of}.${as}`, {
        of,
        kind: as,
        value: si,
        count: 1,
        scatter: 0,
        span_s: rate ? 3600 : 0,
        stretches: 1,
        outliers: 0,
      });
    };
    if (name === 'startsPerHour') figure('betweenStarts', 3600 / number);
    else figure(name as ReadingKind, number);
  }
  const [start, stop] = ['Start', 'Stop'].map((end) => figures.get(`pumps.pressureAt${end}`));
  if (start !== undefined && stop !== undefined) {
    const value = Math.log(stop.value / start.value);
    figures.set('pumps.pressureRatio', { ...start, kind: 'pressureRatio', value });
  }
  return { figures: [...figures.values()], accuracies };
}

function numberOf(text: string, { dimension, example }: Kind, ambient_Pa: number): number | string {
  if (dimension === 'rate') {
    const number = Number(text.replace(/ *(?:\/ *h|per hour|1\/h)$/, ''));
    return Number.isFinite(number) ? number : `${quoted(text)} is no number; write for example "${example}"`;
  }
  const read = readQuantity(text, dimension, ambient_Pa, example);
  return 'problem' in read ? read.problem : read.value;
}

// --------------------------------------------------------------------------------------------------------------- CSV

export interface Cell {
  readonly text: string;
  readonly offset: number;
}
export interface CsvRow {
  readonly cells: readonly Cell[];
  readonly line: number;
}

/** Rows of a CSV text without those that are empty or begin with "#"; the delimiter is the one its head has most of. */
export function csvRows(text: string): { readonly rows: readonly CsvRow[]; readonly delimiter: string } {
  let offset = 0;
  let line = 0;
  const lines: { text: string; offset: number; line: number }[] = [];
  for (const part of text.split('\n')) {
    line++;
    const plain = part.replace(/\r$/, '');
    if (plain.trim() !== '' && !plain.startsWith('#')) lines.push({ text: plain, offset, line });
    offset += part.length + 1;
  }
  const head = lines[0]?.text ?? '';
  const delimiter = [',', ';', '\t'].reduce((a, b) => (head.split(b).length > head.split(a).length ? b : a));
  return { rows: lines.map((l) => ({ cells: cellsOf(l.text, l.offset, delimiter), line: l.line })), delimiter };
}

/** Cells of a line; one in double quotes may hold the delimiter, and "" for a quote. */
function cellsOf(text: string, offset: number, delimiter: string): Cell[] {
  const cells: Cell[] = [];
  let i = 0;
  for (;;) {
    const from = i;
    let cell = '';
    if (text[i] === '"') {
      for (i++; i < text.length; i++) {
        if (text[i] !== '"') cell += text[i];
        else if (text[i + 1] === '"') cell += text[i++];
        else break;
      }
    }
    const end = text.indexOf(delimiter, i);
    const to = end < 0 ? text.length : end;
    cells.push({ text: text[from] === '"' ? cell : text.slice(from, to), offset: offset + from });
    if (end < 0) return cells;
    i = end + 1;
  }
}
