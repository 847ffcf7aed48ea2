/**
 * A log of service as a recorder writes it, to what was watched: rows at uneven times, with gaps, a clock that was set, values
 * that are missing and values that jump. What is left out is counted and said.
 *
 * Where the rows come evenly, a machine started somewhere between two of them; where they do not, rows are taken to be
 * written when something changes. Spikes: a value further from the median of its neighbours than six times their usual
 * distance and three accuracies (a Hampel filter: F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383, from memory), because
 * one value of a dropped signal would outweigh a day of sound ones in any sum of squares.
 */
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import type { Source } from '../scenarios/faults.ts';
import { formatQuantity, readQuantity } from '../scenarios/units.ts';
import { nearest, quoted } from '../scenarios/wording.ts';
import {
  type Call,
  type Figure,
  figureKey,
  figuresOf,
  type Instant,
  type Kind,
  MARGIN_s,
  MOST_CALLS,
  medianOf,
  type ReadingKind,
  type Watched,
} from './cycles.ts';
import type { Accuracies, Seen } from './explain.ts';
import type { Complain, CsvRow } from './seen.ts';

/** "pressure=PT-12 [barg]": which column is what, and its unit where the heading has none. */
export interface ColumnMapping {
  readonly role: string;
  readonly heading: string;
  readonly unit: string | undefined;
}

export interface LogReading extends Omit<Seen, 'accuracies'> {
  readonly accuracies: Accuracies;
  readonly watched: Watched;
  /** What was read as what: "tank pressure [psig] as pressure". */
  readonly columns: readonly string[];
  /** What was left out or mended, in words. */
  readonly ignored: readonly string[];
}

const MOST_ROWS = 500_000;
const ANALOG: Readonly<Record<string, Dimension>> = { pressure: 'pressure', level: 'length', sump: 'length' };
const NAMES: Readonly<Record<string, RegExp>> = {
  time: /^(time|date|date ?time|timestamp)$/i,
  pressure: /^(tank )?pressure$/i,
  level: /^(tank )?level$/i,
  sump: /^sump( level)?$/i,
};

/** "PT-12 [barg]" as name and unit. */
function headingOf(text: string): { name: string; unit: string | undefined } {
  const [, name = text, unit] = /^(.*?)\s*[[(]([^\])]*)[\])]\s*$/.exec(text.trim()) ?? [];
  return { name: name.trim(), unit };
}

/** "pressure=PT-12 [barg]"; undefined where it is not written so. */
export function columnMapping(text: string): ColumnMapping | undefined {
  const equals = text.indexOf('=');
  if (equals < 1) return undefined;
  const { name, unit } = headingOf(text.slice(equals + 1));
  return name === '' ? undefined : { role: text.slice(0, equals).trim(), heading: name, unit };
}

interface Column {
  readonly role: string;
  readonly index: number;
  readonly heading: string;
  readonly unit: string | undefined;
}

/** Reads a log; undefined after complaining. */
export function readLog(
  source: Source,
  rows: readonly CsvRow[],
  delimiter: string,
  plant: Plant,
  stated: Accuracies,
  mappings: readonly ColumnMapping[],
  complain: Complain,
): LogReading | undefined {
  const at = (offset: number) => ({ source, offset });
  const [head, ...data] = rows;
  if (head === undefined || data.length < 3) {
    complain(at(0), '', 'a log needs a line of headings and at least three rows');
    return undefined;
  }
  if (data.length > MOST_ROWS) {
    complain(at(0), '', `has ${data.length} rows; at most ${MOST_ROWS} are read: cut it, or log less often`);
    return undefined;
  }
  const motors = [...plant.pumps, ...plant.compressors];
  const columns = columnsOf(head, plant, mappings, complain, at);
  if (columns === undefined) return undefined;
  const ignored: string[] = [];
  const plural = (n: number, one: string, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

  // ---- Numbers
  let unreadable = 0;
  let untimed = 0;
  const found: { time: number; line: number; values: number[] }[] = [];
  const toSI = columns.map((c) => converterOf(c, plant, complain, at(head.cells[c.index]?.offset ?? 0)));
  if (toSI.includes(undefined)) return undefined;
  const timeAt = columns.findIndex((c) => c.role === 'time');
  for (const { cells, line } of data) {
    const values = columns.map((c, k) => {
      const text = (cells[c.index]?.text ?? '').trim();
      if (text === '') return Number.NaN;
      const value = (toSI[k] as (text: string) => number)(delimiter === ';' ? text.replace(',', '.') : text);
      if (Number.isNaN(value)) unreadable++;
      return value;
    });
    if (Number.isNaN(values[timeAt])) untimed++;
    else found.push({ time: values[timeAt], line, values });
  }
  if (untimed > data.length / 2) {
    const cell = data[0].cells[columns[timeAt].index];
    complain(
      at(cell?.offset ?? data[0].cells[0].offset),
      'time',
      `${quoted(cell?.text ?? '')} is no time; write seconds (heading "time [s]"), or "2030-05-01 14:03:20"`,
    );
    return undefined;
  }
  if (untimed > 0) ignored.push(`${plural(untimed, 'row')} without a time`);
  if (unreadable - untimed > 0)
    ignored.push(
      `${plural(unreadable - untimed, 'value')} that ${unreadable - untimed === 1 ? 'is' : 'are'} no number`,
    );

  // ---- Times in order
  const ordered = inOrder(found, ignored, plural);
  const { breaks } = ordered;
  const all = ordered.rows;
  if (all.length < 3) {
    complain(at(0), '', 'fewer than three rows with a time of their own are left');
    return undefined;
  }
  const gaps = all.slice(1).map((r, k) => r.time - all[k].time);
  const usual = medianOf(gaps);
  const even = gaps.filter((g) => Math.abs(g - usual) <= 0.02 * usual).length > 0.9 * gaps.length;
  const accuracies = even ? { ...stated, time_s: Math.max(stated.time_s, usual / 2) } : stated;

  // ---- Spikes
  const index = (role: string) => columns.findIndex((c) => c.role === role);
  const series = (role: string): number[] => {
    const k = index(role);
    return k < 0 ? [] : all.map((r) => r.values[k]);
  };
  const allowed: Readonly<Record<string, number>> = {
    pressure: 3 * accuracies.gauge_Pa,
    level: 3 * accuracies.glass_m,
    sump: 3 * accuracies.sump_m,
  };
  const clean: Record<string, number[]> = {};
  for (const role of Object.keys(ANALOG)) {
    const { values, spikes } = withoutSpikes(series(role), allowed[role]);
    clean[role] = values;
    if (spikes.length > 0) {
      const lines = spikes.slice(0, 5).map((k) => all[k].line);
      const more = spikes.length > 5 ? ', ...' : '';
      ignored.push(`${plural(spikes.length, 'spike')} of ${role} (line ${lines.join(', ')}${more})`);
    }
  }
  const instant = (k: number, time_s: number): Instant => ({
    time_s,
    pressure_Pa: clean.pressure[k] ?? Number.NaN,
    level_m: clean.level[k] ?? Number.NaN,
    sump_m: clean.sump[k] ?? Number.NaN,
  });

  // ---- Machines
  const running = motors.map((m) => series(m.tag));
  const known = (kind: Kind) =>
    motors.some((_, m) => m < plant.pumps.length === (kind === 'pumps') && running[m].length > 0);
  const calls: Call[] = [];
  for (const kind of ['pumps', 'compressors'] as const) {
    const own = motors.flatMap((_, m) =>
      m < plant.pumps.length === (kind === 'pumps') && running[m].length > 0 ? [m] : [],
    );
    if (own.length > 0) calls.push(...callsIn(kind, own, running, all, even, instant));
    else if (kind === 'pumps' && plant.pumps.length > 0 && clean.level.some(Number.isFinite))
      calls.push(...turnsOf(clean.level, all, accuracies.glass_m, instant));
  }
  calls.sort((a, b) => a.from.time_s - b.from.time_s);
  if (!known('pumps') && plant.pumps.length > 0)
    ignored.push('no column says when pumps run: starts and stops are taken from the turns of the level');
  if (!known('compressors') && plant.compressors.length > 0)
    ignored.push('no column says when compressors run: nothing is said of them, nor of what the pressure loses');

  // Followed to the last start, as a run is: what stops the machine, such as another that starts, may lie beyond.
  const to_s = calls.length > MOST_CALLS ? calls[MOST_CALLS - 1].from.time_s : all[all.length - 1].time;
  const watched: Watched = {
    calls: calls
      .slice(0, MOST_CALLS)
      .map((c) => (c.to !== undefined && c.to.time_s > to_s ? { ...c, to: undefined } : c)),
    from_s: all[0].time,
    to_s,
    breaks,
    margin_s: even ? Math.max(MARGIN_s, usual) : MARGIN_s,
  };
  if (calls.length > MOST_CALLS)
    ignored.push(`all after ${Math.round(watched.to_s / 3600)} h: ${MOST_CALLS} starts tell enough`);
  const limits = (kind: ReadingKind) => {
    if (/^level/.test(kind)) return kind === 'levelFall' ? 3 * accuracies.sump_m : 3 * accuracies.glass_m;
    if (kind === 'pressureRatio') return (3 * accuracies.gauge_Pa) / plant.start.gasPressure_Pa;
    if (/^pressureAt/.test(kind)) return 3 * accuracies.gauge_Pa;
    // Compressors wait for the pumps, and air that they leave hot cools: long and short, fast and slow alike are sound.
    return kind === 'runTime' ? 3 * accuracies.time_s : Infinity;
  };
  const needsAir = (f: Figure) => f.kind === 'pressureFall' || f.kind === 'pressureRatio';
  const figures = [...figuresOf(watched, plant, limits).values()].filter(
    (f) => known('compressors') || plant.compressors.length === 0 || !needsAir(f),
  );
  const outliers = figures.filter((f) => f.outliers > 0);
  for (const f of outliers) ignored.push(`${plural(f.outliers, 'cycle')} far from all others in ${figureKey(f)}`);
  const system = /^(in|ft)/.test(columns.find((c) => c.role === 'level')?.unit ?? '') ? 'us' : 'si';
  /** What the level alone says of oil that goes, in words: no more than that. */
  const lossOf = ({ from_s, to_s }: Watched): string => {
    const levels = clean.level.filter(Number.isFinite);
    const { vessel, sightGlassZero_m } = plant.tank;
    const volume = (level_m: number) =>
      vessel.volumeAt(Math.min(vessel.height_m, Math.max(0, level_m + sightGlassZero_m)));
    const lost_m3 = volume(levels[0] - accuracies.glass_m) - volume(levels[levels.length - 1] + accuracies.glass_m);
    if (!(lost_m3 > 0) || breaks.length > 0) return '';
    const on = motors.filter(
      (_, m) => m < plant.pumps.length && running[m].length > 0 && running[m].every((x) => x > 0.5),
    );
    const flow = formatQuantity(lost_m3 / (to_s - from_s), 'volumeFlow', system);
    return `; the level falls all the same: at least ${flow} of oil ${on.length === 0 ? 'goes' : `more goes than ${on.map((m) => m.tag).join(' and ')} bring${on.length === 1 ? 's' : ''}`}`;
  };
  if (figures.length === 0) {
    complain(
      at(0),
      '',
      `no machine starts in it, so that there is nothing to compare${lossOf(watched)}; give a log with some starts and stops, or single readings with --seen`,
    );
    return undefined;
  }
  const first = (role: string) => clean[role].find(Number.isFinite) ?? Number.NaN;
  return {
    figures,
    watched_s: watched.to_s - watched.from_s,
    start: {
      pressure_Pa: first('pressure'),
      level_m: first('level'),
      sump_m: first('sump'),
      running: motors.filter((_, m) => running[m][0] > 0.5).map((m) => m.tag),
    },
    accuracies,
    margin_s: watched.margin_s,
    watched,
    columns: columns.map((c) => `${c.heading} as ${c.role}`),
    ignored,
  };
}

function columnsOf(
  head: CsvRow,
  plant: Plant,
  mappings: readonly ColumnMapping[],
  complain: Complain,
  at: (offset: number) => Parameters<Complain>[0],
): Column[] | undefined {
  const tags = [...plant.pumps, ...plant.compressors].map((m) => m.tag);
  const roles = [...Object.keys(NAMES), ...tags];
  const headings = head.cells.map((c) => ({ ...headingOf(c.text), whole: c.text.trim() }));
  const columns: Column[] = [];
  let good = true;
  const wrong = (message: string) => {
    complain(at(head.cells[0].offset), '', message);
    good = false;
  };
  for (const m of mappings) {
    const index = headings.findIndex((h) => h.name === m.heading || h.whole === m.heading);
    if (!roles.includes(m.role)) {
      const near = nearest(m.role, roles);
      wrong(
        `--column: there is no ${quoted(m.role)}; ${near === undefined ? `write one of ${roles.join(', ')}` : `did you mean "${near}"?`}`,
      );
    } else if (index < 0) {
      const near = nearest(
        m.heading,
        headings.map((h) => h.name),
      );
      wrong(
        `--column: no column is headed ${quoted(m.heading)}${near === undefined ? '' : `; did you mean "${near}"?`}`,
      );
    } else columns.push({ role: m.role, index, heading: headings[index].whole, unit: m.unit ?? headings[index].unit });
  }
  for (const role of roles) {
    if (columns.some((c) => c.role === role)) continue;
    const fits = (name: string) =>
      NAMES[role]?.test(name) ?? [role.toLowerCase(), `${role.toLowerCase()} running`].includes(name.toLowerCase());
    const index = headings.findIndex((h) => fits(h.name));
    if (index >= 0) columns.push({ role, index, heading: headings[index].whole, unit: headings[index].unit });
  }
  const has = (role: string) => columns.some((c) => c.role === role);
  const listed = headings.map((h) => quoted(h.whole)).join(', ');
  if (good && !has('time')) wrong(`no column is headed "time"; say which it is: --column "time=HEADING" (${listed})`);
  if (good && !has('pressure') && !has('level'))
    wrong(
      `no column is headed "pressure" or "level"; say which they are: --column "pressure=HEADING [psig]" (${listed})`,
    );
  return good ? columns : undefined;
}

/** From the text of a cell to a number, NaN where it is none; undefined after complaining of the unit. */
function converterOf(
  column: Column,
  plant: Plant,
  complain: Complain,
  place: Parameters<Complain>[0],
): ((text: string) => number) | undefined {
  const { role, unit, heading } = column;
  if (role === 'time' && unit === undefined) return clockOf;
  const dimension = role === 'time' ? 'time' : ANALOG[role];
  if (dimension === undefined) return bitOf;
  const read = readQuantity(`1 ${unit ?? ''}`, dimension, plant.ambientPressure_Pa);
  if ('problem' in read) {
    const units = dimension === 'pressure' ? '[psig]' : dimension === 'time' ? '[s]' : '[in]';
    const message =
      unit === undefined
        ? `the heading ${quoted(heading)} has no unit; write for example "${heading} ${units}", or --column "${role}=${heading} ${units}"`
        : read.problem;
    complain(place, role, message);
    return undefined;
  }
  const { factor, offset } = read.unit;
  return (text) => (NUMBER.test(text) ? Number(text) * factor + offset : role === 'time' ? clockOf(text) : Number.NaN);
}

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i;

function bitOf(text: string): number {
  if (NUMBER.test(text)) return Number(text) > 0.5 ? 1 : 0;
  if (/^(on|true|yes|run|running|started)$/i.test(text)) return 1;
  if (/^(off|false|no|stop|stopped)$/i.test(text)) return 0;
  return Number.NaN;
}

/** Seconds of a plain number, of "14:03:20", or of "2030-05-01 14:03:20" from some beginning; NaN of anything else. */
function clockOf(text: string): number {
  if (NUMBER.test(text)) return Number(text);
  const parts =
    /^(?:(\d{4})-(\d{1,2})-(\d{1,2})[T ]+)?(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*(Z|[+-]\d{2}:?\d{2})?$/.exec(
      text,
    );
  if (parts === null) return Number.NaN;
  const [, year, month, day, hour, minute, second = '0', zone] = parts;
  const days = year === undefined ? 0 : daysOf(Number(year), Number(month), Number(day));
  const offset =
    zone === undefined || zone === 'Z'
      ? 0
      : (zone[0] === '-' ? -1 : 1) * (Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2)));
  return days * 86_400 + (Number(hour) * 60 + Number(minute) - offset) * 60 + Number(second);
}

/** Days from 1 March of year 0 in the Gregorian calendar. */
function daysOf(year: number, month: number, day: number): number {
  const y = month < 3 ? year - 1 : year;
  const m = (month + 9) % 12;
  return (
    365 * y + Math.floor(y / 4) - Math.floor(y / 100) + Math.floor(y / 400) + Math.floor((153 * m + 2) / 5) + day - 1
  );
}

interface Row {
  time: number;
  readonly line: number;
  readonly values: number[];
}

/** A gap is this many times the usual spacing, and more than most of them (choice). */
const GAP = 6;

/** Rows with rising times from 0; where the clock was set, or rows are missing, is a break. */
function inOrder(found: readonly Row[], ignored: string[], plural: (n: number, one: string) => string) {
  const rows: Row[] = [];
  const breaks: number[] = [];
  let doubled = 0;
  let astray = 0;
  let shift = 0;
  let back = 0;
  for (let k = 0; k < found.length; k++) {
    const row = { ...found[k], time: found[k].time + shift };
    const last = rows[rows.length - 1];
    if (last === undefined) {
      rows.push(row);
      continue;
    }
    const next = found[k + 1] === undefined ? Infinity : found[k + 1].time + shift;
    if (row.time === last.time) {
      // The later word counts where it says anything.
      doubled++;
      for (let c = 0; c < row.values.length; c++) if (!Number.isNaN(row.values[c])) last.values[c] = row.values[c];
    } else if (row.time > last.time) {
      // A row far ahead of the ones behind it.
      if (next < row.time && next > last.time && row.time - last.time > 3600) astray++;
      else rows.push(row);
    } else if (next > last.time) astray++;
    else {
      back++;
      ignored.push(`clock set back by ${Math.round(last.time - row.time)} s at line ${row.line}: taken as a gap`);
      shift += last.time - row.time + 1;
      row.time = last.time + 1;
      breaks.push(last.time + 0.5);
      rows.push(row);
    }
  }
  if (doubled > 0) ignored.push(`${plural(doubled, 'row')} with the time of the one before: taken together`);
  if (astray > 0) ignored.push(`${plural(astray, 'row')} out of order`);
  const spacing = rows.slice(1).map((r, k) => r.time - rows[k].time);
  const sorted = [...spacing].sort((a, b) => a - b);
  const usual = Math.max(sorted[Math.floor(sorted.length / 2)] ?? 0, sorted[Math.floor(sorted.length * 0.9)] ?? 0);
  let missing = 0;
  let longest = 0;
  spacing.forEach((s, k) => {
    if (s <= GAP * usual) return;
    missing++;
    longest = Math.max(longest, s);
    breaks.push((rows[k].time + rows[k + 1].time) / 2);
  });
  if (missing > 0)
    ignored.push(`${plural(missing, 'gap')}, the longest ${Math.round(longest / 60)} min: nothing is reckoned across`);
  const begin = rows[0]?.time ?? 0;
  for (const r of rows) r.time -= begin;
  return { rows, breaks: breaks.map((t) => t - begin), back };
}

/** Values without spikes: far from the median of seven around them, or far outside of where nearly all lie, and alone. */
function withoutSpikes(values: readonly number[], allowed: number): { values: number[]; spikes: number[] } {
  const places = values.flatMap((x, k) => (Number.isFinite(x) ? [k] : []));
  const out = values.slice();
  const spikes: number[] = [];
  const sorted = places.map((k) => values[k]).sort((a, b) => a - b);
  const [low, high] = [sorted[Math.floor(0.02 * sorted.length)], sorted[Math.floor(0.98 * (sorted.length - 1))]];
  const beyond = (high - low) / 2 + allowed;
  places.forEach((at, j) => {
    const x = values[at];
    const around = places.slice(Math.max(0, j - 3), j + 4).map((k) => values[k]);
    if (around.length < 5) return;
    const middle = medianOf(around);
    const usual = 1.4826 * medianOf(around.map((y) => Math.abs(y - middle)));
    const off = x - middle;
    const outside = x < low - beyond || x > high + beyond;
    if (Math.abs(off) <= 6 * usual + allowed && !outside) return;
    // A step stays; a spike comes back at once.
    const neighbours = [values[places[j - 1]], values[places[j + 1]]].filter(Number.isFinite);
    const alone = neighbours.every((y) => Math.abs(x - y) > Math.abs(off) / 2 && (x - y) * off > 0);
    if (!alone && !outside) return;
    out[at] = Number.NaN;
    spikes.push(at);
  });
  return { values: out, spikes };
}

/** Calls of a kind from columns that say which machines run. */
function callsIn(
  kind: Kind,
  own: readonly number[],
  running: readonly (readonly number[])[],
  rows: readonly Row[],
  even: boolean,
  instant: (row: number, time_s: number) => Instant,
): Call[] {
  const calls: { kind: Kind; from: Instant; to: Instant | undefined; machine: number }[] = [];
  const last = new Map<number, number>();
  let open: (typeof calls)[number] | undefined;
  let count = 0;
  rows.forEach((row, k) => {
    const before = count;
    const now = own.filter((m) => {
      // What is not said has not changed.
      const bit = Number.isNaN(running[m][k]) ? (last.get(m) ?? 0) : running[m][k];
      last.set(m, bit);
      return bit > 0.5;
    });
    count = now.length;
    if (k === 0) return;
    const time = even ? (rows[k - 1].time + row.time) / 2 : row.time;
    if (before === 0 && count > 0) {
      // Of an even log the last row before the start shows what it started at.
      open = { kind, from: instant(even ? k - 1 : k, time), to: undefined, machine: count === 1 ? now[0] : -1 };
      calls.push(open);
    } else if (before > 0 && count === 0 && open !== undefined) {
      open.to = instant(k, time);
      open = undefined;
    } else if (open !== undefined && count > 0 && !(count === 1 && now[0] === open.machine)) open.machine = -1;
  });
  return calls;
}

/** Pump calls from the turns of the level, where no column says when pumps run: least at the start, most at the stop. */
function turnsOf(
  level: readonly number[],
  rows: readonly Row[],
  accuracy_m: number,
  instant: (row: number, time_s: number) => Instant,
): Call[] {
  const finite = level.filter(Number.isFinite);
  const sorted = [...finite].sort((a, b) => a - b);
  const range = sorted[Math.floor(sorted.length * 0.98)] - sorted[Math.floor(sorted.length * 0.02)];
  const enough = Math.max(6 * accuracy_m, 0.4 * range);
  const calls: { kind: 'pumps'; from: Instant; to: Instant | undefined; machine: number }[] = [];
  let least = -1;
  let most = -1;
  let rising = false;
  level.forEach((x, k) => {
    if (!Number.isFinite(x)) return;
    if (least < 0 || x < level[least]) least = k;
    if (most < 0 || x > level[most]) most = k;
    if (!rising && x > level[least] + enough) {
      rising = true;
      calls.push({ kind: 'pumps', from: instant(least, rows[least].time), to: undefined, machine: -1 });
      most = k;
    } else if (rising && x < level[most] - enough) {
      rising = false;
      calls[calls.length - 1].to = instant(most, rows[most].time);
      least = k;
    } else if (rising && x >= level[most]) most = k;
    else if (!rising && x <= level[least]) least = k;
  });
  return calls;
}
