/**
 * What people read off a unit in service, taken from a run of the engine or from a log in the same way: how often machines
 * start, how long they run, level and pressure at start and stop, and what pressure and sump lose meanwhile.
 */
import { EventCode } from '../models/events.ts';
import type { Plant } from '../models/plant.ts';
import type { Unit } from '../models/unit.ts';
import type { Engine } from '../sim/engine.ts';
import { ENDS } from './service.ts';
import { quantile } from './statistics.ts';

/** What was read at an instant; NaN where it was not. */
export interface Instant {
  readonly time_s: number;
  /** Absolute. */
  readonly pressure_Pa: number;
  /** As the sight glass shows it. */
  readonly level_m: number;
  readonly sump_m: number;
}

export type Kind = 'pumps' | 'compressors';

/** From when the first machine of a kind starts to when none runs. */
export interface Call {
  readonly kind: Kind;
  readonly from: Instant;
  /** Undefined where it was not seen to end. */
  readonly to: Instant | undefined;
  /** The machine, where it ran by itself from beginning to end; pumps first, then compressors. -1 where it is not known. */
  readonly machine: number;
}

/** A time of service as it was watched. */
export interface Watched {
  /** In order of their beginnings. */
  readonly calls: readonly Call[];
  readonly from_s: number;
  readonly to_s: number;
  /** Instants at which something is missing: nothing is reckoned across them. */
  readonly breaks: readonly number[];
  /** Events nearer than this may be one, s. */
  readonly margin_s: number;
}

export const READING_KINDS = [
  'betweenStarts',
  'runTime',
  'levelAtStart',
  'levelAtStop',
  'pressureAtStart',
  'pressureAtStop',
  'pressureRatio',
  'pressureFall',
  'levelFall',
] as const;
export type ReadingKind = (typeof READING_KINDS)[number];

/** A figure of some cycles. */
export interface Figure {
  /** "pumps", "compressors", "tank", "sump", or the tag of a machine. */
  readonly of: string;
  readonly kind: ReadingKind;
  /**
   * SI. pressureRatio: ln(pressure at the stop over that at the start) of pumps, no compressor running; pressureFall: of the
   * tank from pump start to pump start, no compressor running meanwhile, Pa/s; levelFall: of the sump, from pump start to
   * pump start, m/s.
   */
  readonly value: number;
  /** Values that it is the mean of. */
  readonly count: number;
  /** Standard deviation of one of them about the mean; 0 where there is one only. */
  readonly scatter: number;
  /** Time that a rate is taken over, s; 0 for what is no rate. */
  readonly span_s: number;
  /** Of a rate: stretches of turns one right after the other, within which the readings in between cancel. */
  readonly stretches: number;
  /** Values left out because they lie far from all others. */
  readonly outliers: number;
}

export const figureKey = (f: { readonly of: string; readonly kind: string }): string => `${f.of}.${f.kind}`;

const kindOf = (plant: Plant, motor: number): Kind => (motor < plant.pumps.length ? 'pumps' : 'compressors');

/** Events that may be one, s (choice): a compressor stops because a pump starts. */
export const MARGIN_s = 5;
/** Starts after which neither run nor log is followed further: they tell enough (choice). */
export const MOST_CALLS = 40;

/** Follows a unit for a time, or until every kind of machine has made as many calls as are wanted. */
export function watchService(
  unit: Unit,
  engine: Engine,
  start: Float64Array,
  longest_s: number,
  wanted: Readonly<Record<Kind, number>> = { pumps: Infinity, compressors: Infinity },
  margin_s: number = MARGIN_s,
): Watched {
  const { plant, layout, slots } = unit;
  const { clock } = layout;
  const y = start.slice();
  const calls: { kind: Kind; from: Instant; to: Instant | undefined; machine: number }[] = [];
  const running = new Set<number>();
  const open: Partial<Record<Kind, (typeof calls)[number]>> = {};
  const made: Record<Kind, number> = { pumps: 0, compressors: 0 };
  let ended = false;
  const zero_m = plant.tank.sightGlassZero_m;
  const instant = (state: Float64Array): Instant => ({
    time_s: state[clock.tick] * plant.tick_s + state[clock.offset],
    pressure_Pa: unit.gasPressure(state),
    level_m: plant.tank.vessel.levelAt(state[slots.oil]) - zero_m,
    sump_m: state[slots.sump] / plant.sump.area_m2,
  });
  const from = instant(y);
  const ps = unit.panel.slots;
  for (let m = 0; m < plant.pumps.length + plant.compressors.length; m++) if (y[ps.running + m] === 1) running.add(m);
  const observer = {
    sampleTicks: 0,
    event(state: Float64Array, code: number, item: number) {
      if (ENDS.has(code)) ended = true;
      if (code !== EventCode.motorStarted && code !== EventCode.motorStopped) return;
      const kind = kindOf(plant, item);
      const others = [...running].some((m) => kindOf(plant, m) === kind && m !== item);
      const call = open[kind];
      if (code === EventCode.motorStarted) {
        running.add(item);
        if (call !== undefined) call.machine = -1;
        if (others) return;
        const begun = { kind, from: instant(state), to: undefined, machine: item };
        open[kind] = begun;
        calls.push(begun);
        made[kind]++;
      } else {
        running.delete(item);
        if (others || call === undefined) return;
        call.to = instant(state);
        delete open[kind];
      }
    },
  };
  const enough = () => made.pumps >= wanted.pumps && made.compressors >= wanted.compressors && running.size === 0;
  engine.advance(
    y,
    Math.ceil(longest_s / plant.tick_s),
    observer,
    () => ended || enough() || calls.length >= MOST_CALLS,
  );
  return { calls, from_s: from.time_s, to_s: y[clock.tick] * plant.tick_s, breaks: [], margin_s };
}

/** Beyond so many times the usual scatter a value is left out; and what is always let pass, of each kind of reading. */
const FAR = 6;

/**
 * The figures of what was watched. `allowed` says, where it is a log that was watched, how far a value of a kind may lie
 * from the middle of all others for its accuracy alone; without it nothing is left out.
 */
export function figuresOf(
  watched: Watched,
  plant: Plant,
  allowed?: (kind: ReadingKind) => number,
): Map<string, Figure> {
  const figures = new Map<string, Figure>();
  const broken = (from: number, to: number) => watched.breaks.some((t) => t >= from && t <= to);
  const put = (of: string, kind: ReadingKind, given: readonly number[]) => {
    const all = given.filter((x) => Number.isFinite(x));
    const values = allowed === undefined ? all : near(all, allowed(kind));
    if (values.length === 0) return;
    const value = values.reduce((a, b) => a + b, 0) / values.length;
    const squares = values.reduce((s, x) => s + (x - value) ** 2, 0);
    const scatter = values.length > 1 ? Math.sqrt(squares / (values.length - 1)) : 0;
    const outliers = all.length - values.length;
    figures.set(`${of}.${kind}`, { of, kind, value, count: values.length, scatter, span_s: 0, stretches: 1, outliers });
  };
  const motors = [...plant.pumps, ...plant.compressors];
  const callsOf = (kind: Kind) => watched.calls.filter((c) => c.kind === kind);
  const air = callsOf('compressors');
  const airRuns = (from: number, to: number) =>
    air.some((c) => c.from.time_s <= to && (c.to?.time_s ?? Infinity) >= from);
  const { margin_s } = watched;
  const pumpsRun = (from: number, to: number) =>
    callsOf('pumps').some((c) => c.from.time_s <= to + margin_s && (c.to?.time_s ?? Infinity) >= from - margin_s);
  for (const kind of ['pumps', 'compressors'] as const) {
    // Compressors wait while a pump brings the level back, and stop when one starts: only what the pressure switch alone did
    // is theirs.
    const all = callsOf(kind);
    const calls = kind === 'pumps' ? all : all.filter((c) => !pumpsRun(c.from.time_s, c.from.time_s));
    const whole = calls
      .flatMap((c) => (c.to === undefined || broken(c.from.time_s, c.to.time_s) ? [] : [{ ...c, to: c.to }]))
      .filter((c) => kind === 'pumps' || !pumpsRun(c.from.time_s, c.to.time_s));
    const pairs = all.slice(1).flatMap((c, k) => (broken(all[k].from.time_s, c.from.time_s) ? [] : [[all[k], c]]));
    put(
      kind,
      'betweenStarts',
      pairs.map(([a, b]) => b.from.time_s - a.from.time_s),
    );
    put(
      kind,
      'runTime',
      whole.map((c) => c.to.time_s - c.from.time_s),
    );
    motors.forEach((m, k) => {
      const own = whole.filter((c) => c.machine === k);
      if (kindOf(plant, k) === kind)
        put(
          m.tag,
          'runTime',
          own.map((c) => c.to.time_s - c.from.time_s),
        );
    });
    const at = (f: (i: Instant) => number) => [calls.map((c) => f(c.from)), whole.map((c) => f(c.to))] as const;
    const [levelAtStart, levelAtStop] = at((i) => i.level_m);
    const [pressureAtStart, pressureAtStop] = at((i) => i.pressure_Pa);
    if (kind === 'pumps') {
      put(kind, 'levelAtStart', levelAtStart);
      put(kind, 'levelAtStop', levelAtStop);
    }
    // Between a pump start and stop the pressure belongs to the charge; to the switches it belongs at a compressor's.
    put(kind, 'pressureAtStart', pressureAtStart);
    put(kind, 'pressureAtStop', pressureAtStop);
    if (kind === 'compressors') continue;
    const quiet = whole.filter((c) => !airRuns(c.from.time_s, c.to.time_s));
    put(
      kind,
      'pressureRatio',
      quiet.map((c) => Math.log(c.to.pressure_Pa / c.from.pressure_Pa)),
    );
    const rate = (of: string, name: ReadingKind, among: readonly Call[][], f: (i: Instant) => number) => {
      const known = among.filter(([a, b]) => Number.isFinite(f(a.from) - f(b.from)));
      const rates = known.map(([a, b]) => (f(a.from) - f(b.from)) / (b.from.time_s - a.from.time_s));
      const limit = allowed === undefined ? Infinity : allowed(name);
      // Of a rate the allowance is a difference of two readings, over the shortest time.
      const shortest = Math.min(...known.map(([a, b]) => b.from.time_s - a.from.time_s));
      const kept = limit < Infinity ? new Set(near(rates, limit / shortest)) : new Set(rates);
      const used = known.filter((_, k) => kept.has(rates[k]));
      const span_s = used.reduce((s, [a, b]) => s + b.from.time_s - a.from.time_s, 0);
      if (span_s === 0) return;
      const fall = used.reduce((s, [a, b]) => s + f(a.from) - f(b.from), 0);
      const squares = rates.reduce((s, x) => s + (kept.has(x) ? (x - fall / span_s) ** 2 : 0), 0);
      const scatter = used.length > 1 ? Math.sqrt(squares / (used.length - 1)) : 0;
      const outliers = known.length - used.length;
      figures.set(`${of}.${name}`, {
        of,
        kind: name,
        value: fall / span_s,
        count: used.length,
        scatter,
        span_s,
        stretches: used.filter(([a], k) => k === 0 || used[k - 1][1] !== a).length,
        outliers,
      });
    };
    rate(
      'tank',
      'pressureFall',
      pairs.filter(([a, b]) => !airRuns(a.from.time_s, b.from.time_s)),
      (i) => i.pressure_Pa,
    );
    rate('sump', 'levelFall', pairs, (i) => i.sump_m);
  }
  return figures;
}

/** Values that are not far from their median, by their own scatter and by what is allowed. Needs five to tell. */
function near(values: readonly number[], allowed: number): number[] {
  if (values.length < 5) return [...values];
  const middle = medianOf(values);
  const usual = 1.4826 * medianOf(values.map((x) => Math.abs(x - middle)));
  const limit = FAR * usual + allowed;
  return values.filter((x) => Math.abs(x - middle) <= limit);
}

export const medianOf = (values: readonly number[]): number => quantile(Float64Array.from(values).sort(), 0.5);
