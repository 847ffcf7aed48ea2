/**
 * What explains the readings of a unit that misbehaves? Every cause of the closed list is put into the plant, its size fitted
 * to the readings by least squares, and the causes are ranked by what misfit is left. What the accuracies of gauges and
 * switches leave open is fitted along, at the cost that its size has: a switch may act a little off, a gauge read a little
 * high. What a run shows jumps with the least of these, as starts come into the time watched or not; so the last word is had
 * not from slopes of single runs but from lines through many, and what lies beside the lines widens the interval. Then the one test is looked for that would tell the leading causes apart.
 */
import type { FaultPlant } from '../models/fault.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit } from '../models/unit.ts';
import { buildPlant } from '../scenarios/build.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { createEngine } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import { type Cause, causesOf } from './causes.ts';
import { type Figure, figureKey, figuresOf, type Kind, medianOf, type ReadingKind, watchService } from './cycles.ts';
import { type DecisiveTest, decisiveTest } from './decisiveTest.ts';
import { fitLeastSquares } from './leastSquares.ts';
import { inService } from './outage.ts';
import { sobolDirections, sobolPoint } from './sampling.ts';
import { chiSquareExceeded, normalQuantile, studentQuantile } from './statistics.ts';

/** How far readings may be off, either way: SI. */
export interface Accuracies {
  readonly gauge_Pa: number;
  readonly glass_m: number;
  readonly sump_m: number;
  /** Of a single instant. */
  readonly time_s: number;
}

/** What is taken where the file states no accuracy (choices): a gauge of 0.05 bar, a glass of 5 mm, a stopwatch. */
export const DEFAULT_ACCURACY = { gauge_Pa: 5000, glass_m: 0.005, sump_m: 0.005, time_s: 1 } as const;
/** A switch whose accuracy is not stated (choice). */
export const DEFAULT_SWITCH = { level_m: 0.006, pressure_Pa: 7000 } as const;
/** Share by which times and rates of a unit differ from those of any model of it (choice). */
export const MODEL_TOLERANCE = 0.01;

export interface Seen {
  readonly figures: readonly Figure[];
  /** How long was watched, s; undefined where single readings were given. */
  readonly watched_s: number | undefined;
  /** How it began, where that was read. */
  readonly start:
    | {
        readonly pressure_Pa: number;
        readonly level_m: number;
        readonly sump_m: number;
        readonly running: readonly string[];
      }
    | undefined;
  readonly accuracies: Accuracies;
  /** Events nearer than this may be one, s; as of a run where left out. */
  readonly margin_s?: number;
}

/** One reading against a prediction. */
export interface Compared {
  readonly of: string;
  readonly kind: ReadingKind;
  readonly seen: number;
  readonly count: number;
  /** Standard deviation that accuracy, scatter and model leave, in the unit of the reading. */
  readonly deviation: number;
  /** NaN where the machine does not come to it. */
  readonly predicted: number;
  /** Seen less predicted, over the deviation. */
  readonly residual: number;
}

export interface CauseAnswer {
  /** Undefined for the unit as the file has it. */
  readonly cause: Cause | undefined;
  readonly size: number;
  /** 95 % interval of the size. */
  readonly low: number;
  readonly high: number;
  /** Any size in the interval does as well: the readings bound it on one side at most. */
  readonly beyond: boolean;
  /** Sum of the squared residuals, what the accuracies took included. */
  readonly sum: number;
  /** The sum were predictions not rough: what is as rough as one likes is no better for it. Causes are ranked by it. */
  readonly rank: number;
  /** Readings less fitted sizes. */
  readonly freedom: number;
  /** Root of the sum over the freedom: 1 where readings are as far off as their accuracies let expect. */
  readonly misfit: number;
  /** Probability of so large a sum, were it the cause. */
  readonly probability: number;
  readonly explains: boolean;
  readonly converged: boolean;
  readonly problem: string | undefined;
  readonly atBound: boolean;
  readonly compared: readonly Compared[];
  /** What switches and gauges were found to be off, over their standard deviation. */
  readonly off: readonly { readonly text: string; readonly by: number }[];
}

export interface ExplainAnswer {
  /** The unit as the file has it. */
  readonly asFiled: CauseAnswer;
  /** Those that were fitted, the best first. */
  readonly causes: readonly CauseAnswer[];
  /** Those too far off at any size to be fitted, with the least sum found. */
  readonly hopeless: readonly { readonly cause: Cause; readonly size: number; readonly sum: number }[];
  /** How many of them, from the first, cannot be told apart. */
  readonly alike: number;
  /** Names of those without effect. */
  readonly without: readonly string[];
  readonly verdict: 'nothing to explain' | 'explained' | 'cannot be told apart' | 'not explained' | 'not converged';
  readonly test: DecisiveTest | undefined;
  /** Service followed for each try, s. */
  readonly followed_s: number;
  readonly tries: number;
}

/** Under this probability a cause does not explain the readings (choice). */
const LEAST_PROBABILITY = 0.01;
/** Causes whose sums differ by less than this cannot be told apart: the 95 % point of chi-square with one degree of freedom. */
const ALIKE = 3.84;
/** Causes that are fitted in any case; beside them those whose sum is within so much of the best when first looked at. */
const LEADING = 3;
const NEAR = 200;
/** The same, when the size has been found. */
const NEARER = 60;
/** Golden sections by which a first size is narrowed down. */
const SECTIONS = 7;
/** Runs around a size that show what it and switches do, and how rough it is. */
const SPREAD = 24;
/** Beyond so many times the usual distance from the line a run is one of its own. */
const FAR = 5;
/** What fewer of them come to than so many for each factor of a line is taken not to be come to. */
const ENOUGH = 1.5;
/** Rounds of them at most, and sizes that are looked at in each. */
const ROUNDS = 6;
const GRID = 40;
/** Steps down to the best size at most. */
const MOST_STEPS = 12;
/** A step that leads up by less is doubled, by more halved: about one deviation is wanted. */
const FLAT = 0.5;
const STEEP = 8;
/** Figures of a run that ends without coming to one are as bad as this many deviations. */
const MISSING = 12;
/** Error of a step of the engine: readings are a thousand times coarser. */
const STEP_ERROR = 1e-5;
/** Longest service that is followed where no time is given, s. */
const LONGEST_s = 2 * 86_400;

interface Prepared {
  readonly plant: Plant;
  readonly seen: Seen;
  readonly figures: readonly Figure[];
  readonly nuisances: readonly Nuisance[];
  readonly window_s: number;
  readonly wanted: Readonly<Record<Kind, number>>;
  readonly trials: Trials;
  /** Scatter of a single value in service as the model has it, over the value. */
  readonly scatter: ReadonlyMap<string, number>;
}

/** What accuracies leave open. `deviation` is that of a uniform error within the accuracy. */
interface Nuisance {
  readonly text: string;
  readonly deviation: number;
  /** Index of the contact that it moves. */
  readonly contact?: number;
  /** What it adds to a reading. */
  readonly adds?: (kind: ReadingKind) => number;
}

/** Finds what explains readings. `values` are those of the scenario; errors: ProgramFault when the program is at fault. */
export function explain(
  values: ScenarioValues,
  seen: Seen,
  options: {
    readonly onProgress?: (share: number) => void;
    /** Which causes are tried; all when left out. */
    readonly only?: (cause: Cause) => boolean;
  } = {},
): ExplainAnswer {
  const built = buildPlant(
    values,
    (path, message) => {
      throw new ProgramFault(`${path}: ${message}`);
    },
    { contactErrors: 'none' },
  );
  if (built === undefined) throw new ProgramFault('a scenario that was read cannot be built');
  const plant = startedAs(inService(built), seen);
  const causes = causesOf(values, plant, seen.start !== undefined).filter(options.only ?? (() => true));
  const study = createStudy(prepare(plant, seen, causes));
  const asFiled = study.asFiled();
  const without: string[] = [];
  const explored = causes.flatMap((cause, k) => {
    const one = study.explore(cause);
    options.onProgress?.((0.6 * (k + 1)) / causes.length);
    if (one === undefined) without.push(cause.text);
    return one === undefined ? [] : [one];
  });
  explored.sort((a, b) => a.sum - b.sum);
  // A cause is fitted where it may still come near the best.
  const near =
    (sums: readonly { readonly sum: number }[], within: number) => (e: { readonly sum: number }, k: number) =>
      k < LEADING || e.sum < sums[0].sum + within;
  const started = explored
    .filter(near(explored, NEAR))
    .map(({ cause, size }, k, { length }) => {
      options.onProgress?.(0.6 + (0.1 * k) / length);
      return study.descend(cause, size);
    })
    .sort((a, b) => a.sum - b.sum);
  const fitted = started.filter(near(started, NEARER));
  const ranked = fitted
    .map((one, k) => {
      options.onProgress?.(0.7 + (0.3 * k) / fitted.length);
      return { one, answer: study.fit(one, one.sum > fitted[0].sum + NEARER) };
    })
    .sort((a, b) => a.answer.rank - b.answer.rank);
  // Single runs may have put the best one far off.
  const answers = ranked.map(({ one, answer }, k) =>
    k === 0 && Number.isNaN(answer.low) ? study.fit(one, false) : answer,
  );
  const hopeless = explored
    .filter((e) => !fitted.some((f) => f.cause === e.cause))
    .map((e) => started.find((d) => d.cause === e.cause) ?? e)
    .sort((a, b) => a.sum - b.sum);
  const [best] = answers;
  const alike = best === undefined ? 0 : answers.filter((a) => a.explains && a.rank < best.rank + ALIKE).length;
  const verdict =
    asFiled.explains && (best === undefined || asFiled.rank < best.rank + ALIKE)
      ? 'nothing to explain'
      : best === undefined || !best.explains
        ? answers.every((a) => !a.converged) && answers.length > 0
          ? 'not converged'
          : 'not explained'
        : !best.converged
          ? 'not converged'
          : alike > 1
            ? 'cannot be told apart'
            : 'explained';
  const test =
    best === undefined || verdict === 'nothing to explain' || verdict === 'not explained'
      ? undefined
      : decisiveTest(plant, answers.slice(0, Math.max(2, alike)), seen.accuracies);
  return {
    asFiled,
    causes: answers,
    hopeless,
    alike,
    without,
    verdict,
    test,
    followed_s: study.window_s,
    tries: study.tries(),
  };
}

/** The plant with the start that was read. */
function startedAs(plant: Plant, { start }: Seen): Plant {
  if (start === undefined) return plant;
  const { vessel, volume_m3, sightGlassZero_m } = plant.tank;
  const level_m = Math.min(vessel.height_m, Math.max(0, start.level_m + sightGlassZero_m));
  return {
    ...plant,
    start: {
      ...plant.start,
      gasPressure_Pa: Number.isFinite(start.pressure_Pa) ? start.pressure_Pa : plant.start.gasPressure_Pa,
      oilVolume_m3: Number.isFinite(start.level_m)
        ? Math.min(0.999 * volume_m3, vessel.volumeAt(level_m))
        : plant.start.oilVolume_m3,
      gasTemperature_K: plant.ambientTemperature_K,
      wallTemperature_K: plant.ambientTemperature_K,
      sumpVolume_m3: Number.isFinite(start.sump_m)
        ? Math.min(plant.sump.capacity_m3, start.sump_m * plant.sump.area_m2)
        : plant.start.sumpVolume_m3,
      permissive: undefined,
      running: start.running,
    },
  };
}

const SQRT3 = Math.sqrt(3);

function prepare(plant: Plant, seen: Seen, causes: readonly Cause[]): Prepared {
  const { accuracies } = seen;
  const nuisances: Nuisance[] = [];
  plant.panel.contacts.forEach((c, k) => {
    // Standby machines come in where the switch of the duty one has drifted past theirs.
    const starts = ['level.dutyStart', 'level.standbyStart', 'pressure.cutIn', 'pressure.standbyCutIn'];
    if (!starts.includes(c.role) && (c.role !== 'level.stop' || plant.panel.wideDeadband)) return;
    const otherwise = c.measured === 'pressure' ? DEFAULT_SWITCH.pressure_Pa : DEFAULT_SWITCH.level_m;
    nuisances.push({
      text: c.tag,
      deviation: (c.accuracy > 0 ? c.accuracy : otherwise) / SQRT3,
      contact: k,
    });
  });
  const isLevel = (kind: ReadingKind) => kind === 'levelAtStart' || kind === 'levelAtStop';
  const isPressure = (kind: ReadingKind) => kind === 'pressureAtStart' || kind === 'pressureAtStop';
  nuisances.push({
    text: 'sight glass',
    deviation: accuracies.glass_m / SQRT3,
    adds: (kind) => (isLevel(kind) ? 1 : 0),
  });
  nuisances.push({
    text: 'pressure gauge',
    deviation: accuracies.gauge_Pa / SQRT3,
    adds: (kind) => (isPressure(kind) ? 1 : 0),
  });

  const auto = plant.compressors.some((c) => c.selector === 1);
  const given = new Set(seen.figures.map(figureKey));
  const figures = seen.figures.filter((f) => {
    // The pressure at a pump start or stop is that of the charge, wherever it stands in the band: only both together, as a
    // ratio, say something, unless no compressor moves it.
    if (f.of === 'pumps' && isPressure(f.kind)) return !auto && seen.start === undefined;
    // Fewer than three quiet turns of a log may have been any.
    if (f.kind === 'pressureFall' && seen.watched_s !== undefined && f.count < 3) return false;
    // Of a machine and its kind, the machine says more.
    if (f.kind === 'runTime' && (f.of === 'pumps' || f.of === 'compressors')) {
      const own = f.of === 'pumps' ? plant.pumps : plant.compressors;
      return !own.some((m) => given.has(`${m.tag}.runTime`));
    }
    return true;
  });
  const nP = plant.pumps.filter((p) => p.selector === 1).length;
  const nC = plant.compressors.filter((c) => c.selector === 1).length;
  const wanted =
    seen.watched_s === undefined
      ? { pumps: nP === 0 ? 0 : 2 * nP + 1, compressors: nC === 0 ? 0 : nC + 1 }
      : { pumps: Infinity, compressors: Infinity };
  const window_s = seen.watched_s ?? LONGEST_s;
  const trials = createTrials(plant, seen, causes, nuisances, window_s, wanted);
  const prepared = { plant, seen, figures, nuisances, window_s, wanted, trials, scatter: new Map<string, number>() };
  for (const [key, f] of trials.run(undefined, 0, { off: nuisances.map(() => 0), pressure: 0, level: 0 }))
    prepared.scatter.set(key, f.value > 0 ? f.scatter / f.value : 0);
  return prepared;
}

/** What a run has other than the unit: each nuisance off by so many deviations, and the start as read, in accuracies. */
interface Apart {
  readonly off: readonly number[];
  readonly pressure: number;
  readonly level: number;
}

interface Trials {
  /** Figures of service with a cause of a size. */
  run(cause: Cause | undefined, size: number, apart: Apart): ReadonlyMap<string, Figure>;
}

/**
 * Runs of service. One unit holds the faults of all causes, and a drift for each switch that may be a little off, each of size 0
 * but those of the trial: nothing is built between two trials, and the machine code of the engine stays warm.
 */
function createTrials(
  plant: Plant,
  seen: Seen,
  causes: readonly Cause[],
  nuisances: readonly Nuisance[],
  window_s: number,
  wanted: Readonly<Record<Kind, number>>,
): Trials {
  const drift = (item: number): Sized => ({
    name: 'switch drifted',
    item,
    tick: 0,
    condition: -1,
    duration_ticks: 0,
    value: 0,
    text: '',
  });
  const faultOf = new Map<Cause, Sized>();
  for (const c of causes) if (c.fault !== undefined) faultOf.set(c, { ...c.fault.plant, value: 0 });
  const drifts = nuisances.map((n) => (n.contact === undefined ? undefined : drift(n.contact)));
  const faults = [...plant.faults, ...faultOf.values(), ...drifts.filter((d) => d !== undefined)];
  const unitOf = (of: Plant) => {
    const start = { ...of.start };
    const unit = createUnit({ ...of, start, faults });
    return { unit, engine: createEngine(unit, { relativeStepError: STEP_ERROR }), start, as: of.start };
  };
  const shared = unitOf(plant);
  /** The last of those that need a plant of their own. */
  let own: { readonly key: string; readonly made: ReturnType<typeof unitOf> } | undefined;
  const { vessel } = plant.tank;

  return {
    run(cause, size, { off, pressure, level }) {
      let made = shared;
      const fault = cause === undefined ? undefined : faultOf.get(cause);
      if (cause !== undefined && fault === undefined) {
        const key = `${cause.text}|${size}`;
        if (own?.key !== key) own = { key, made: unitOf(cause.apply(plant, size)) };
        made = own.made;
      }
      const { unit, engine, start, as } = made;
      if (fault !== undefined) fault.value = size * (cause?.fault?.perSize ?? 0);
      drifts.forEach((d, k) => {
        if (d !== undefined) d.value = off[k] * nuisances[k].deviation;
      });
      start.gasPressure_Pa = as.gasPressure_Pa + pressure * seen.accuracies.gauge_Pa;
      const level_m = vessel.levelAt(as.oilVolume_m3) + level * seen.accuracies.glass_m;
      if (level !== 0)
        start.oilVolume_m3 = Math.min(
          0.999 * plant.tank.volume_m3,
          vessel.volumeAt(clamp(level_m, 0, vessel.height_m)),
        );
      else start.oilVolume_m3 = as.oilVolume_m3;
      const watched = watchService(unit, engine, unit.start(), window_s, wanted, seen.margin_s);
      if (fault !== undefined) fault.value = 0;
      return figuresOf(watched, plant);
    },
  };
}

const clamp = (x: number, low: number, high: number) => Math.min(high, Math.max(low, x));

/** A fault whose size is set before a run. */
type Sized = Omit<FaultPlant, 'value'> & { value: number };

/** Probability below one standard deviation. */
const ONE_DEVIATION = 0.8413;

const isTime = (kind: ReadingKind) => kind === 'betweenStarts' || kind === 'runTime';

/** Standard deviation of a figure that was seen, in its own unit, without what nuisances account for. */
function deviationOf(f: Figure, { seen, plant, scatter, figures }: Prepared): number {
  const { gauge_Pa, glass_m, sump_m, time_s } = seen.accuracies;
  const n = f.count;
  const one = (accuracy: number) => accuracy / SQRT3;
  // Scatter seen says how well the mean is known, of few values the less; of one or two that of the model helps.
  const foretold = n < 3 ? (scatter.get(figureKey(f)) ?? 0) * Math.abs(f.value) : 0;
  const few = n > 1 ? studentQuantile(ONE_DEVIATION, n - 1) : 0;
  const own = Math.max(few * f.scatter, foretold) / Math.sqrt(n);
  switch (f.kind) {
    case 'betweenStarts': {
      const model = MODEL_TOLERANCE * f.value;
      // Air is called for where the level is lowest: a call may come a whole turn of the pumps sooner or later.
      const pumps = figures.find((g) => g.of === 'pumps' && g.kind === 'betweenStarts');
      const turn = f.of === 'compressors' && pumps !== undefined ? (pumps.value * Math.SQRT2) / Math.sqrt(12) / n : 0;
      return Math.hypot((one(time_s) * Math.SQRT2) / n, own, model, turn);
    }
    case 'runTime':
      return Math.hypot((one(time_s) * Math.SQRT2) / Math.sqrt(n), own, MODEL_TOLERANCE * f.value);
    case 'levelAtStart':
    case 'levelAtStop':
      return one(glass_m) / Math.sqrt(n);
    case 'pressureAtStart':
    case 'pressureAtStop':
      return one(gauge_Pa) / Math.sqrt(n);
    case 'pressureRatio':
      return Math.hypot(
        (one(gauge_Pa) * Math.SQRT2) / (plant.start.gasPressure_Pa * Math.sqrt(n)),
        MODEL_TOLERANCE * Math.abs(f.value),
      );
    case 'pressureFall':
    case 'levelFall': {
      // One after the other the readings in between cancel; what they scatter beyond their accuracy does not.
      const accuracy = one(f.kind === 'pressureFall' ? gauge_Pa : sump_m) * Math.SQRT2;
      const beyond = few * Math.sqrt(Math.max(0, f.scatter ** 2 - ((accuracy * n) / f.span_s) ** 2) / n);
      return Math.hypot((accuracy * Math.sqrt(f.stretches)) / f.span_s, beyond, MODEL_TOLERANCE * Math.abs(f.value));
    }
  }
}

/** What figures are taken to be at a size, with nuisances off by so many deviations. */
interface Prediction {
  /** NaN: not come to. */
  value(figure: number, off: readonly number[]): number;
  /** Standard deviation of what is seen about it, in the unit of the figure. */
  readonly deviations: readonly number[];
  /** As some are now and then off the line, by up to `within`: the residual that this is as likely as; infinite where none is. */
  readonly odd: readonly { readonly residual: number; readonly within: number }[];
}

/** Service with a cause of a size, and switches off by so many deviations. */
interface Run {
  readonly size: number;
  readonly off: readonly number[];
  readonly figures: readonly number[];
}

/** Sizes from one to another, so that equal shares of the way do about as much: by ratio where nothing is no size. */
function sizeAt({ low }: Cause, from: number, to: number, share: number): number {
  return low > 0 ? from * (to / from) ** share : from + share * (to - from);
}

function createStudy(prepared: Prepared) {
  const { figures, nuisances, window_s, trials, seen } = prepared;
  const deviations = figures.map((f) => deviationOf(f, prepared));
  const cache = new Map<string, readonly number[]>();
  const rest = nuisances.map(() => 0);
  const moved = nuisances.flatMap((n, k) => (n.contact === undefined ? [] : [k]));
  /** Of the size, pressure and level at the start, and each switch. */
  const directions = Array.from({ length: 3 + moved.length }, (_, d) => sobolDirections(d));
  let tries = 0;

  /** Figures as predicted, without gauges' errors. NaN: not come to. */
  function run(cause: Cause | undefined, size: number, apart: Apart): readonly number[] {
    tries++;
    const found = trials.run(cause, size, apart);
    return figures.map((f) => found.get(figureKey(f))?.value ?? Number.NaN);
  }

  function predict(cause: Cause | undefined, size: number): readonly number[] {
    const key = `${cause?.text ?? ''}|${size}`;
    const known = cache.get(key) ?? run(cause, size, { off: rest, pressure: 0, level: 0 });
    cache.set(key, known);
    return known;
  }

  /** Runs spread evenly over sizes, over switches and over the start, off within their accuracies. `from_n` counts earlier ones. */
  function spread(cause: Cause | undefined, from: number, to: number, from_n: number): Run[] {
    const read = seen.start === undefined ? 0 : 1;
    return Array.from({ length: SPREAD }, (_, k) => {
      const share = (dimension: number) => sobolPoint(directions[dimension], from_n + k + 1) / 2 ** 32;
      const at = (dimension: number) => 2 * share(dimension) - 1;
      const size = cause === undefined ? 0 : sizeAt(cause, from, to, share(0));
      const off = rest.map((_, n) => (moved.includes(n) ? SQRT3 * at(3 + moved.indexOf(n)) : 0));
      return { size, off, figures: run(cause, size, { off, pressure: read * at(1), level: read * at(2) }) };
    });
  }

  /**
   * A line through the runs nearest to a size: bent along it, straight along the others. What lies beside is rough: with the
   * least change a start more or less comes into the time watched, and compressors wait for other turns of the pumps, in the
   * unit no less than here.
   */
  function around(size: number, among: readonly Run[]): Prediction {
    const runs = [...among].sort((a, b) => Math.abs(a.size - size) - Math.abs(b.size - size)).slice(0, SPREAD);
    const reach = Math.abs(runs[runs.length - 1].size - size);
    const termsOf = (r: Run) => {
      const u = reach > 0 ? (r.size - size) / reach : 0;
      return [1, ...moved.map((k) => r.off[k]), ...(reach > 0 ? [u, u * u] : [])];
    };
    /** What figures are, over their unit in the lines. */
    const unit = (i: number) => (isTime(figures[i].kind) ? Math.abs(figures[i].value) : 1);
    const lines = figures.map((f, i) => {
      const came = runs.filter((r) => Number.isFinite(r.figures[i]));
      const terms = came.map(termsOf);
      // Of few runs no more than the middle is known.
      const enough = came.length > ENOUGH * (terms[0]?.length ?? 0);
      return came.length === 0
        ? undefined
        : straightLine(
            enough ? terms : came.map(() => [1]),
            came.map((r) => (isTime(f.kind) ? Math.log(r.figures[i]) : r.figures[i])),
            deviations[i] / unit(i),
          );
    });
    const wide = figures.map((_, i) => Math.hypot(deviations[i], (lines[i]?.left ?? 0) * unit(i)));
    return {
      value(i, off) {
        const line = lines[i];
        const { kind } = figures[i];
        if (line === undefined) return never(kind);
        const by = moved.reduce((s, k, j) => s + (line.factors[j + 1] ?? 0) * off[k], line.factors[0]);
        return (isTime(kind) ? Math.exp(by) : by) + ofGauges(kind, off);
      },
      deviations: wide,
      odd: lines.map((line, i) => oddity(line, wide[i] / unit(i))),
    };
  }

  /** Not twice in all the time watched: at least that long. */
  const never = (kind: ReadingKind) => (kind === 'betweenStarts' ? Math.max(window_s, 1) : Number.NaN);
  const ofGauges = (kind: ReadingKind, off: readonly number[]) =>
    nuisances.reduce((s, n, k) => s + (n.adds?.(kind) ?? 0) * n.deviation * off[k], 0);

  const filed = around(0, spread(undefined, 0, 0, 0));

  /** A single run, with what switches do to the unit as filed: as long as little is known of a cause. */
  const single = (cause: Cause | undefined, size: number): Prediction => ({
    value(i, off) {
      const { kind } = figures[i];
      const [as, without] = [filed.value(i, off), filed.value(i, rest)];
      const one = predict(cause, size)[i];
      if (Number.isNaN(one)) return never(kind);
      if (Number.isNaN(as)) return one + ofGauges(kind, off);
      return isTime(kind) ? (one * as) / without : one + as - without;
    },
    deviations,
    odd: figures.map(() => NEVER_ODD),
  });

  function compare({ value, deviations, odd }: Prediction, off: readonly number[]): Compared[] {
    return figures.map((f, i) => {
      const predicted = value(i, off);
      const deviation = deviations[i];
      // Times by their ratio: half and double are as far off.
      const by = isTime(f.kind) ? f.value * Math.log(f.value / predicted) : f.value - predicted;
      const residual = Number.isNaN(predicted) ? MISSING : eased(by / deviation, odd[i]);
      return { of: f.of, kind: f.kind, seen: f.value, count: f.count, deviation, predicted, residual };
    });
  }

  /** Most deviations that nuisances may take; a drifted switch is fitted as it is, its accuracy included. */
  const bounded = (cause: Cause | undefined) =>
    nuisances.map((n) => (cause?.name === 'switch drifted' && n.text === cause.item ? 0 : 4));

  /** How far switches and gauges are off with a size, and the least sum that this leaves. */
  function settle(cause: Cause | undefined, prediction: Prediction) {
    const most = bounded(cause);
    const { parameters, sum } = fitLeastSquares(
      (off) => [...compare(prediction, off).map((c) => c.residual), ...off],
      [rest],
      { ...FITTING, low: most.map((x) => -x), high: most, scale: rest.map(() => 1) },
    );
    return { off: parameters, sum };
  }

  /** Looks for the best size of a cause by trying some and then golden sections; undefined where no size has any effect. */
  function explore(cause: Cause): { readonly cause: Cause; readonly size: number; readonly sum: number } | undefined {
    const at = (size: number) => ({ cause, size, sum: settle(cause, single(cause, size)).sum });
    const tried = cause.scan.map(at);
    const base = settle(undefined, single(undefined, 0)).sum;
    if (tried.every((t) => Math.abs(t.sum - base) < 1e-3 * Math.max(1, base))) return undefined;
    const lower = (a: (typeof tried)[number], b: (typeof tried)[number]) =>
      b.sum < a.sum || (b.sum === a.sum && Math.abs(b.size) < Math.abs(a.size)) ? b : a;
    let best = tried.reduce(lower);
    const place = tried.indexOf(best);
    let low = cause.scan[place - 1] ?? Math.min(cause.low, 0);
    let high = cause.scan[place + 1] ?? Math.min(cause.high, 2 * best.size);
    for (let k = 0; k < SECTIONS; k++) {
      const upper = high - best.size > best.size - low;
      const size = best.size + 0.382 * (upper ? high - best.size : low - best.size);
      const next = at(size);
      if (lower(best, next) === next) {
        if (upper) low = best.size;
        else high = best.size;
        best = next;
      } else if (upper) high = size;
      else low = size;
    }
    return best;
  }

  /** Goes down from a size by steps that are halved or doubled, until a step of about one deviation leads up on both sides. */
  function descend(cause: Cause, from: number) {
    const at = (x: number) => {
      const size = clamp(x, cause.low, cause.high);
      return { size, sum: settle(cause, single(cause, size)).sum };
    };
    let step = Math.max(0.1 * Math.abs(from), 0.3 * Math.min(...cause.scan.map(Math.abs)));
    let { size, sum } = at(from);
    for (let k = 0; k < MOST_STEPS; k++) {
      const [a, b] = [at(size - step), at(size + step)];
      const next = a.sum < b.sum ? a : b;
      const rise = Math.max(a.sum, b.sum) - sum;
      if (next.sum < sum) ({ size, sum } = next);
      else if (rise > STEEP) step /= 2.5;
      else if (rise < FLAT && step < (cause.high - cause.low) / 8) step *= 2;
      else break;
    }
    return { cause, size, sum };
  }

  const asFiled = () => answerOf(undefined, 0, filed, { low: 0, high: 0, problem: undefined });

  /**
   * Fits a cause from a size by runs around it, which are drawn again until they reach about as far as the sizes that do. No
   * sum is taken to be a parabola: the interval is what lies under the limit (profile likelihood; D. M. Bates, D. G. Watts,
   * Nonlinear Regression Analysis and Its Applications (1988), from memory). Of a cause that is far off in any case the ends
   * are not looked for.
   */
  function fit({ cause, size }: ReturnType<typeof descend>, far: boolean): CauseAnswer {
    const freedom = figures.length - 1;
    const point = freedom > 0 ? studentQuantile(0.975, freedom) : normalQuantile(0.975);
    const wide = Math.max(0.1 * Math.abs(size), Math.min(...cause.scan.map(Math.abs)));
    let [from, to] = [size - wide, size + wide];
    const runs: Run[] = [];
    for (let round = 1; ; round++) {
      from = clamp(from, cause.low, cause.high);
      to = clamp(to, cause.low, cause.high);
      runs.push(...spread(cause, from, to, runs.length));
      const scale = (share: number) => sizeAt(cause, from, to, share);
      const sums = Array.from({ length: GRID + 1 }, (_, k) => settle(cause, around(scale(k / GRID), runs)).sum);
      const best = sums.indexOf(Math.min(...sums));
      const limit = sums[best] + point ** 2 * Math.max(1, freedom > 0 ? sums[best] / freedom : 1);
      const does = sums.map((sum) => sum <= limit);
      const [first, last] = [does.indexOf(true), does.lastIndexOf(true)];
      const between = (inside: number, outside: number) => {
        const way = (limit - sums[inside]) / (sums[outside] - sums[inside]);
        return (inside + way * (outside - inside)) / GRID;
      };
      const low = first === 0 ? 0 : between(first, first - 1);
      const high = last === GRID ? 1 : between(last, last + 1);
      const openBelow = first === 0 && from > cause.low;
      const openAbove = last === GRID && to < cause.high;
      const narrow = high - low < 0.2;
      const ends = { low: scale(low), high: scale(high) };
      const at = scale(vertex(sums, best) / GRID);
      if (far) return answerOf(cause, at, around(at, runs), { low: Number.NaN, high: Number.NaN, problem: undefined });
      if ((!openBelow && !openAbove && !narrow) || round === ROUNDS) {
        const problem =
          openBelow || openAbove || narrow ? `sizes that do were not bounded in ${ROUNDS} rounds` : undefined;
        return answerOf(cause, at, around(at, runs), { ...ends, problem });
      }
      const more = narrow ? 0.5 * (high - low) : 0.25 * (high - low);
      [from, to] = [scale(openBelow ? -1 : low - more), scale(openAbove ? 2 : high + more)];
    }
  }

  function answerOf(
    cause: Cause | undefined,
    size: number,
    prediction: Prediction,
    { low, high, problem }: { readonly low: number; readonly high: number; readonly problem: string | undefined },
  ): CauseAnswer {
    const freedom = figures.length - (cause === undefined ? 0 : 1);
    const { off, sum } = settle(cause, prediction);
    const compared = compare(prediction, off);
    const probability = freedom > 0 ? chiSquareExceeded(sum, freedom) : 1;
    return {
      cause,
      size,
      low,
      high,
      beyond: cause !== undefined && (low <= cause.low || high >= cause.high),
      sum,
      rank: settle(cause, { ...prediction, deviations }).sum,
      freedom,
      misfit: Math.sqrt(sum / Math.max(1, freedom)),
      probability,
      explains: probability >= LEAST_PROBABILITY,
      converged: problem === undefined,
      problem,
      atBound: cause !== undefined && (size <= cause.low || size >= cause.high),
      compared,
      off: nuisances.map((n, k) => ({ text: n.text, by: off[k] })),
    };
  }

  return { explore, descend, fit, asFiled, window_s, tries: () => tries };
}

/** Where the parabola through the least of equally spaced values and its neighbours is least. */
function vertex(values: readonly number[], at: number): number {
  const [a, b, c] = [values[at - 1], values[at], values[at + 1]];
  const bend = a - 2 * b + c;
  return bend > 0 ? at + (a - c) / (2 * bend) : at;
}

/**
 * Least squares of values linear in terms, without those far from all others: a compressor that runs with another, or is stopped
 * by a pump, takes another time altogether. Nearer than what is `readable` none is far. Gives the factors, the standard deviation
 * of a new value about that line, how many were far, and how far.
 */
function straightLine(x: readonly (readonly number[])[], y: readonly number[], readable: number) {
  let kept = y.map((_, n) => n);
  for (let round = 1; ; round++) {
    const factors = leastLine(
      kept.map((n) => x[n]),
      kept.map((n) => y[n]),
    );
    const beside = y.map((value, n) => value - factors.reduce((s, f, k) => s + f * x[n][k], 0));
    const usual = 1.4826 * medianOf(kept.map((n) => Math.abs(beside[n])));
    const closer =
      kept.length - factors.length > 4
        ? kept.filter((n) => Math.abs(beside[n]) <= FAR * Math.max(usual, readable))
        : kept;
    if (closer.length === kept.length || closer.length < 0.5 * y.length || round > 8) {
      const squares = kept.reduce((s, n) => s + beside[n] ** 2, 0);
      const freedom = Math.max(1, kept.length - factors.length);
      // The line itself is as uncertain as its factors are many.
      const left = Math.sqrt((squares / freedom) * (1 + factors.length / kept.length));
      return { factors, left, far: 1 - kept.length / y.length, reach: Math.max(...beside.map(Math.abs)) };
    }
    kept = closer;
  }
}

/** The factors, by the normal equations: terms are of about 1 and few. */
function leastLine(x: readonly (readonly number[])[], y: readonly number[]): number[] {
  const n = x[0].length;
  const rows = Array.from({ length: n }, (_, i) => [
    ...Array.from({ length: n }, (_, j) => x.reduce((s, t) => s + t[i] * t[j], i === j ? 1e-9 : 0)),
    x.reduce((s, t, k) => s + t[i] * y[k], 0),
  ]);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      if (j === i) continue;
      const share = rows[j][i] / rows[i][i];
      for (let k = i; k <= n; k++) rows[j][k] -= share * rows[i][k];
    }
  return rows.map((row, i) => row[n] / row[i]);
}

const NEVER_ODD = { residual: Infinity, within: 0 };

/** The residual at which a value is as likely one of those far from the line, spread evenly over their reach, as one about it. */
function oddity(line: { readonly far: number; readonly reach: number } | undefined, deviation: number) {
  if (line === undefined || line.far === 0) return NEVER_ODD;
  const { far, reach } = line;
  const ratio = ((1 - far) * 2 * reach) / (far * deviation * Math.sqrt(2 * Math.PI));
  return { residual: Math.sqrt(2 * Math.log(Math.max(2, ratio))), within: reach / deviation };
}

/** A residual as it counts where some values are odd: by the likelihood of both together, 0 at the line; further off than any were, in full. */
function eased(residual: number, odd: Prediction['odd'][number]): number {
  if (odd.residual === Infinity) return residual;
  const anywhere = Math.exp(-(odd.residual ** 2) / 2);
  const square = -2 * Math.log((Math.exp(-(residual ** 2) / 2) + anywhere) / (1 + anywhere));
  const beyond = Math.max(0, Math.abs(residual) - odd.within);
  return Math.sign(residual) * Math.hypot(Math.sqrt(Math.max(0, square)), beyond);
}

/** Residuals are in standard deviations, so that a gain of a hundredth is nothing; they are rough to some thousandths. */
const FITTING = {
  difference: 0.05,
  angle: 1e-6,
  rest: 0.05,
  gain: 0.01,
  restGain: 1,
  step: 2e-3,
  mostSteps: 30,
} as const;
