/**
 * What explains the readings of a unit that misbehaves? Every cause of the closed list is put into the plant, its size fitted
 * to the readings by least squares, and the causes are ranked by what misfit is left. What the accuracies of gauges and
 * switches leave open is fitted along, at the cost that its size has: a switch may act a little off, a gauge read a little
 * high. Then the one test is looked for that would tell the leading causes apart.
 */
import type { FaultPlant } from '../models/fault.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit } from '../models/unit.ts';
import { buildPlant } from '../scenarios/build.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { createEngine } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import { type Cause, causesOf } from './causes.ts';
import {
  type Figure,
  figureKey,
  figuresOf,
  type Kind,
  type ReadingKind,
  type Watched,
  watchService,
} from './cycles.ts';
import { type DecisiveTest, decisiveTest } from './decisiveTest.ts';
import { fitLeastSquares } from './leastSquares.ts';
import { inService } from './outage.ts';
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
/** Golden sections by which a first size is narrowed down. */
const SECTIONS = 7;
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
  options: { readonly onProgress?: (share: number) => void } = {},
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
  const causes = causesOf(values, plant, seen.start !== undefined);
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
  const fitted = explored.filter((e, k) => k < LEADING || e.sum < explored[0].sum + NEAR);
  const roughly = fitted
    .map(({ cause, size }, k) => {
      options.onProgress?.(0.6 + (0.2 * k) / fitted.length);
      return study.fitRoughly(cause, size);
    })
    .sort((a, b) => a.sum - b.sum);
  const leading = roughly
    .map((rough, k) => {
      options.onProgress?.(0.8 + (0.2 * k) / fitted.length);
      const far = k >= LEADING && rough.sum > roughly[0].sum + NEAR;
      return far || rough.cause === undefined ? rough : study.fit(rough.cause, rough.size);
    })
    .sort((a, b) => a.sum - b.sum);
  const hopeless = explored.filter((e) => !fitted.includes(e));
  const answers = leading;
  const [best] = answers;
  const alike = best === undefined ? 0 : answers.filter((a) => a.explains && a.sum < best.sum + ALIKE).length;
  const verdict =
    asFiled.explains && (best === undefined || asFiled.sum < best.sum + ALIKE)
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
    const counts = ['level.dutyStart', 'pressure.cutIn', ...(plant.panel.wideDeadband ? [] : ['level.stop'])];
    if (!counts.includes(c.role)) return;
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
  for (const [key, f] of trials.run(undefined, 0, -1, 0).figures)
    prepared.scatter.set(key, f.value > 0 ? f.scatter / f.value : 0);
  return prepared;
}

interface Trials {
  /** Service with a cause of a size, and one nuisance off by so many deviations. */
  run(
    cause: Cause | undefined,
    size: number,
    nuisance: number,
    by: number,
  ): { readonly watched: Watched; readonly figures: ReadonlyMap<string, Figure> };
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
    const unit = createUnit({ ...of, faults });
    return { unit, engine: createEngine(unit, { relativeStepError: STEP_ERROR }) };
  };
  const shared = unitOf(plant);
  /** The last of those that need a plant of their own. */
  let own: { readonly key: string; readonly made: ReturnType<typeof unitOf> } | undefined;

  return {
    run(cause, size, nuisance, by) {
      let { unit, engine } = shared;
      const fault = cause === undefined ? undefined : faultOf.get(cause);
      if (cause !== undefined && fault === undefined) {
        const key = `${cause.text}|${size}`;
        if (own?.key !== key) own = { key, made: unitOf(cause.apply(plant, size)) };
        ({ unit, engine } = own.made);
      }
      const moved = drifts[nuisance];
      if (fault !== undefined) fault.value = size * (cause?.fault?.perSize ?? 0);
      if (moved !== undefined) moved.value = by * nuisances[nuisance].deviation;
      const watched = watchService(unit, engine, unit.start(), window_s, wanted, seen.margin_s);
      if (fault !== undefined) fault.value = 0;
      if (moved !== undefined) moved.value = 0;
      return { watched, figures: figuresOf(watched, plant) };
    },
  };
}

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

/** What each nuisance of one deviation does to each figure: to the logarithm of a time, to the share of a rate, else added. */
type Effects = readonly (readonly number[])[];

function createStudy(prepared: Prepared) {
  const { figures, nuisances, window_s, trials } = prepared;
  const deviations = figures.map((f) => deviationOf(f, prepared));
  const cache = new Map<string, readonly number[]>();
  let tries = 0;

  /** Figures as predicted, without gauges' errors. NaN: not come to. */
  function predict(cause: Cause | undefined, size: number, switchAt = -1, by = 0): readonly number[] {
    const key = `${cause?.text ?? ''}|${size}|${switchAt}|${by}`;
    const known = cache.get(key);
    if (known !== undefined) return known;
    tries++;
    const { watched, figures: found } = trials.run(cause, size, switchAt, by);
    const predicted = figures.map((f) => {
      const value = found.get(figureKey(f))?.value;
      if (value !== undefined) return value;
      if (!isTime(f.kind)) return Number.NaN;
      // Not twice in all the time watched, or never to the end: at least that long.
      return Math.max(watched.to_s - watched.from_s, 1);
    });
    cache.set(key, predicted);
    return predicted;
  }

  const isReading = (kind: ReadingKind) => /^(level|pressure)At/.test(kind);

  /** The effects at a size, by differences. */
  function effectsAt(cause: Cause | undefined, size: number): Effects {
    return nuisances.map((n, k) => {
      if (n.contact === undefined) return figures.map((f) => (n.adds?.(f.kind) ?? 0) * n.deviation);
      const half = differences(cause, size, k, 0.5);
      return differences(cause, size, k, 1).map((whole, i) => {
        // Where a step more or less comes into the figures the two disagree; the switch has no such effect.
        if (!(whole * half[i] > 0)) return 0;
        return Math.sign(whole) * Math.min(Math.abs(whole), Math.abs(half[i]));
      });
    });
  }

  /** Effect of a nuisance on each figure, by differences over so many deviations either way. */
  function differences(cause: Cause | undefined, size: number, k: number, by: number): number[] {
    const [up, down] = [predict(cause, size, k, by), predict(cause, size, k, -by)];
    return figures.map((f, i) => (isReading(f.kind) ? up[i] - down[i] : Math.log(up[i] / down[i])) / (2 * by));
  }

  function compare(predicted: readonly number[], off: readonly number[], effects: Effects): Compared[] {
    return figures.map((f, i) => {
      const shift = effects.reduce((s, e, k) => s + e[i] * off[k], 0);
      const value = isReading(f.kind)
        ? predicted[i] + shift
        : predicted[i] * (isTime(f.kind) ? Math.exp(shift) : 1 + shift);
      const deviation = deviations[i];
      // Times by their ratio: half and double are as far off.
      const by = isTime(f.kind) ? f.value * Math.log(f.value / value) : f.value - value;
      const residual = Number.isNaN(value) ? MISSING : by / deviation;
      return { of: f.of, kind: f.kind, seen: f.value, count: f.count, deviation, predicted: value, residual };
    });
  }

  const rest = nuisances.map(() => 0);
  const filedEffects = effectsAt(undefined, 0);

  /** Least sum that switches and gauges leave of a prediction. */
  function sumOf(cause: Cause | undefined, predicted: readonly number[]): number {
    const most = bounded(cause);
    return fitLeastSquares((off) => [...compare(predicted, off, filedEffects).map((c) => c.residual), ...off], [rest], {
      ...FITTING,
      low: most.map((x) => -x),
      high: most,
      scale: rest.map(() => 1),
    }).sum;
  }

  /** Looks for the best size of a cause by trying some and then golden sections; undefined where no size has any effect. */
  function explore(cause: Cause): { readonly cause: Cause; readonly size: number; readonly sum: number } | undefined {
    const at = (size: number) => ({ cause, size, sum: sumOf(cause, predict(cause, size)) });
    const tried = cause.scan.map(at);
    const base = sumOf(undefined, predict(undefined, 0));
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

  const asFiled = () => fitFrom(undefined, 0, filedEffects);

  /** Fits a cause from a size, with the effects of the switches on the unit as filed. */
  const fitRoughly = (cause: Cause, size: number): CauseAnswer => fitFrom(cause, size, filedEffects, true);

  /** Fits it from there, with their effects as they are there. */
  const fit = (cause: Cause, size: number): CauseAnswer => fitFrom(cause, size, effectsAt(cause, size));

  /** Most deviations that nuisances may take; a drifted switch is fitted as it is, its accuracy included. */
  const bounded = (cause: Cause | undefined) =>
    nuisances.map((n) => (cause?.name === 'switch drifted' && n.text === cause.item ? 0 : 4));

  function fitFrom(cause: Cause | undefined, from: number, effects: Effects, rough = false): CauseAnswer {
    const sized = cause === undefined ? [] : [cause];
    const most = bounded(cause);
    const split = (p: readonly number[]) => (cause === undefined ? ([0, p] as const) : ([p[0], p.slice(1)] as const));
    const residuals = (p: readonly number[]) => {
      const [size, off] = split(p);
      return [...compare(predict(cause, size), off, effects).map((c) => c.residual), ...off];
    };
    /** By differences over two steps: where a start more or less comes into a figure they disagree, and the lesser counts. */
    const columns = (p: readonly number[]) => {
      const [size, off] = split(p);
      const slopes = (share: number) => {
        const h = share * Math.max(Math.abs(size), 0.2 * Math.abs(from));
        const [up, down] = [Math.min(size + h, cause?.high ?? 0), Math.max(size - h, cause?.low ?? 0)];
        const [a, b] = [residuals([up, ...off]), residuals([down, ...off])];
        return a.map((x, i) => (x - b[i]) / (up - down));
      };
      const predicted = predict(cause, size);
      const base = compare(predicted, off, effects);
      const own = nuisances.map((_, k) => [
        ...base.map((c, i) => {
          if (Number.isNaN(c.predicted)) return 0;
          const { kind } = figures[i];
          const change = isReading(kind) ? effects[k][i] : effects[k][i] * (isTime(kind) ? c.seen : predicted[i]);
          return -change / c.deviation;
        }),
        ...nuisances.map((_, j) => (j === k ? 1 : 0)),
      ]);
      if (cause === undefined) return own;
      const whole = slopes(0.08);
      const wide = slopes(0.25);
      return [
        whole.map((x, i) => (x * wide[i] > 0 ? Math.sign(x) * Math.min(Math.abs(x), Math.abs(wide[i])) : 0)),
        ...own,
      ];
    };
    const found = fitLeastSquares(residuals, [[...sized.map(() => from), ...rest]], {
      ...FITTING,
      mostSteps: rough ? 8 : 25,
      columns,
      low: [...sized.map((c) => c.low), ...most.map((x) => -x)],
      high: [...sized.map((c) => c.high), ...most],
      scale: [...sized.map(() => Math.abs(from)), ...rest.map(() => 1)],
    });
    const [size, off] = split(found.parameters);
    const freedom = figures.length - sized.length;
    const probability = freedom > 0 ? chiSquareExceeded(found.sum, freedom) : 1;
    const spread = Math.max(1, freedom > 0 ? found.sum / freedom : 1);
    const point = freedom > 0 ? studentQuantile(0.975, freedom) : normalQuantile(0.975);
    const half = point * Math.sqrt(spread * (found.covariance?.[0]?.[0] ?? Infinity));
    const atBound = cause !== undefined && found.atBound.includes(0);
    const sumAt = (of: number) =>
      compare(predict(cause, of), off, effects).reduce((s, c) => s + c.residual ** 2, 0) +
      off.reduce((s, x) => s + x * x, 0);
    const flat =
      cause !== undefined &&
      probability >= LEAST_PROBABILITY &&
      (found.covariance === undefined || !(half < cause.high - cause.low))
        ? plateau(cause, size, found.sum, sumAt)
        : undefined;
    return {
      cause,
      size,
      low: flat?.low ?? (cause === undefined ? 0 : Math.max(cause.low, size - half)),
      high: flat?.high ?? (cause === undefined ? 0 : Math.min(cause.high, size + half)),
      beyond: flat !== undefined,
      sum: found.sum,
      freedom,
      misfit: Math.sqrt(found.sum / Math.max(1, freedom)),
      probability,
      explains: probability >= LEAST_PROBABILITY,
      converged: found.converged || flat !== undefined,
      problem: flat === undefined ? found.problem : undefined,
      atBound,
      compared: compare(predict(cause, size), off, effects),
      off: nuisances.map((n, k) => ({ text: n.text, by: off[k] })),
    };
  }

  return { explore, fitRoughly, fit, asFiled, window_s, tries: () => tries };
}

/** From where to where sizes do no worse: ends found by halving between what does and what does not. */
function plateau(cause: Cause, size: number, sum: number, sumAt: (size: number) => number) {
  const does = (of: number) => sumAt(of) < sum + ALIKE;
  const end = (bound: number) => {
    if (does(bound)) return bound;
    let [inside, outside] = [size, bound];
    for (let k = 0; k < 10; k++) {
      const middle = (inside + outside) / 2;
      if (does(middle)) inside = middle;
      else outside = middle;
    }
    return outside;
  };
  return { low: end(cause.low), high: end(cause.high) };
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
