/**
 * How likely success is, given what is not known: the same power failure, run again and again with numbers drawn anew.
 * A case is known from the plan and its number alone; its answer is one row of numbers; rows are folded in the order of
 * their numbers. So it does not matter who ran which case, when, or in how many parts.
 */
import type { Plant } from '../models/plant.ts';
import { type OwnPlant, ownPlant } from '../models/refit.ts';
import { type BuildOptions, buildPlant } from '../scenarios/build.ts';
import type { Outcome } from '../scenarios/result.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { MOMENT, settable, type Uncertain } from '../scenarios/uncertain.ts';
import { exactQuantity } from '../scenarios/units.ts';
import { draw } from './draw.ts';
import { createOutages, inService, lateOverrides, type Outages } from './outage.ts';
import { createSampler, REPLICATES, type Sampling, SOBOL_DIMENSIONS } from './sampling.ts';
import { followService } from './service.ts';
import { type Interval, quantile, rankCorrelation, T_95_OF_8, wilson } from './statistics.ts';

/** Everything that decides what the cases are. Plain data. */
export interface CampaignPlan {
  readonly runs: number;
  readonly sampling: Sampling;
  readonly seed: string;
  readonly inputs: readonly Uncertain[];
  /** Tick at which the mains are lost where that is not drawn. */
  readonly lostAt_tick: number;
}

/** What became of a required stroke, or that the case could not be simulated. */
export type CaseOutcome = Outcome | 'not simulated';
export const CASE_OUTCOMES: readonly CaseOutcome[] = [
  'completed',
  'late',
  'too fast',
  'stalled',
  'still moving',
  'never moved',
  'not proven',
  'drifted',
  'not commanded',
  'not simulated',
];
const NOT_SIMULATED = CASE_OUTCOMES.indexOf('not simulated');
/** Spare margin of a case that could not be simulated: worse than any that could. */
const SPARE_NOT_SIMULATED = -Infinity;

/** A required stroke of the plant, in the order of a row. */
export interface RequiredStroke {
  readonly valve: string;
  readonly stroke: number;
  readonly strokes: number;
  readonly direction: 'opens' | 'closes';
  readonly marginWanted: number;
}

export function requiredStrokes(plant: Plant): RequiredStroke[] {
  return plant.valves.flatMap((v) =>
    v.require === undefined
      ? []
      : v.strokes.map((direction, k) => ({
          valve: v.tag,
          stroke: k + 1,
          strokes: v.strokes.length,
          direction: direction > 0 ? ('opens' as const) : ('closes' as const),
          marginWanted: v.require?.margin ?? 0,
        })),
  );
}

/**
 * Numbers in a row: least spare margin, index of the stroke that has it, and for every required stroke its outcome (of
 * {@link CASE_OUTCOMES}) and its spare margin.
 */
export const rowWidth = (strokes: number): number => 2 + 2 * strokes;

/**
 * The plan of a campaign.
 *
 * @param values and the plant they were built to
 * @returns the plan, or in words why there is none
 */
export function planCampaign(
  values: ScenarioValues,
  plant: Plant,
  uncertain: readonly Uncertain[],
  options: { readonly runs: number; readonly sampling: Sampling; readonly seed: string },
): CampaignPlan | { readonly problem: string } {
  const { runs, sampling } = options;
  if (uncertain.length === 0)
    return {
      problem:
        'nothing in it is uncertain; write for example "uncertain: [{ path: start.pressure, from: 120 psig, to: 139 psig }]"',
    };
  const required = requiredStrokes(plant);
  if (required.length === 0)
    return { problem: 'nothing is required of any valve; write "require:" for those that must move' };
  if (sampling !== 'plain' && runs % REPLICATES !== 0) {
    const near = Math.ceil(runs / REPLICATES) * REPLICATES;
    return { problem: `sampling "${sampling}" works in ${REPLICATES} equal sets: write --runs ${near}` };
  }
  if (sampling === 'sobol') {
    const size = runs / REPLICATES;
    if (2 ** Math.round(Math.log2(size)) !== size) {
      const near = REPLICATES * 2 ** Math.ceil(Math.log2(size));
      return { problem: `sampling "sobol" needs ${REPLICATES} times a power of two: write --runs ${near}` };
    }
    if (uncertain.length > SOBOL_DIMENSIONS)
      return {
        problem: `sampling "sobol" has ${SOBOL_DIMENSIONS} dimensions and ${uncertain.length} numbers are uncertain: write --sampling "latin hypercube"`,
      };
  }
  const lost = uncertain.find((u) => u.path === MOMENT || u.path === 'power.lostAt');
  if (lost === undefined && values.power.lostAt === undefined)
    return {
      problem: 'the mains are never lost; write "power.lostAt", or draw it: "- { path: moment }" under "uncertain"',
    };
  let inputs = uncertain;
  if (lost?.path === MOMENT && lost.distribution.kind === 'uniform' && lost.distribution.to === Infinity) {
    const { from } = lost.distribution;
    const { unit, engine } = createOutages(inService(plant));
    const to = followService(unit, engine, unit.start()).ticks * plant.tick_s;
    if (!(to > from))
      return {
        problem: `service ends by itself before the moment that is drawn, at ${to.toFixed(0)} s; write an earlier "from"`,
      };
    inputs = uncertain.map((u) => (u === lost ? { ...u, distribution: { kind: 'uniform', from, to } } : u));
  }
  const lostAt_tick = Math.round((values.power.lostAt ?? 0) / plant.tick_s);
  return { ...options, inputs, lostAt_tick };
}

export interface Campaign {
  readonly strokes: readonly RequiredStroke[];
  readonly width: number;
  /** Values that are drawn for a case, SI, in the order of the inputs. */
  drawn(i: number): Float64Array;
  /** Overrides ("path=value") that make a replay of the file the case. */
  overrides(i: number): string[];
  /** Runs a case and writes its row. Errors: ProgramFault when the program is at fault. */
  run(i: number, into: Float64Array, at: number): void;
  /** Why a case could not be simulated. */
  refusal(i: number): string | undefined;
}

/** States of service that are kept, to go on from. */
const SAVED = 200;
/** What of the tank makes its tables. */
const SHAPE = /^tank\.(volume|insideDiameter|straightLength|heads|dishRadius|knuckleRadius)$/;
/** Numbers that service with all valves at rest takes no notice of. */
const AT_REST = /^valves\.\d+\.(load|friction|supplyLine|returnLine|speedControl|require|pause|trip)\b/;

/** Cases of a plan. `values` are those of the scenario. */
export function createCampaign(values: ScenarioValues, plan: CampaignPlan): Campaign {
  const { inputs, lostAt_tick } = plan;
  const base = buildPlant(values, () => {});
  if (base === undefined) throw new Error('a campaign is planned for values that make a plant');
  const strokes = requiredStrokes(base);
  const width = rowWidth(strokes.length);
  const names = inputs.map((u) => u.path);
  const sampler = createSampler(plan.sampling, plan.seed, names, plan.runs);
  const u = new Float64Array(inputs.length);
  const momentAt = names.indexOf(MOMENT);
  const build: BuildOptions = inputs.some((i) => SHAPE.test(i.path)) ? {} : { like: base, likeValues: values };
  const saved = savedService(base, values, plan, momentAt);
  const { tick_s } = base;
  let kept: { readonly own: OwnPlant; readonly outages: Outages } | undefined;

  // Mains that come back are left out, and must not be refused for coming too early.
  const { backAt: _, ...power } = values.power;
  const placed = inputs.map((_input, d) => d).filter((d) => inputs[d].keys.length > 0);
  const settled = inputs.flatMap((input) => (input.settles === undefined ? [] : [input.settles.keys]));
  const drawnValues = settable({ ...values, power }, [...placed.map((d) => inputs[d].keys), ...settled]);
  settled.forEach((_keys, k) => void drawnValues.set(placed.length + k, 0));

  function drawn(i: number): Float64Array {
    sampler.point(i, u);
    const x = new Float64Array(inputs.length);
    for (let d = 0; d < x.length; d++) x[d] = draw(inputs[d].distribution, u[d]);
    // A moment is a tick, and the first is 1: at 0 there is no service yet.
    if (momentAt >= 0) x[momentAt] = Math.max(1, Math.round(x[momentAt] / tick_s)) * tick_s;
    return x;
  }

  function caseOf(i: number, complain: (path: string, message: string) => void) {
    const x = drawn(i);
    for (let k = 0; k < placed.length; k++) drawnValues.set(k, x[placed[k]]);
    const plant = buildPlant(drawnValues.values, complain, build);
    const { lostAt } = drawnValues.values.power;
    const tick =
      momentAt >= 0
        ? Math.round(x[momentAt] / tick_s)
        : lostAt === undefined
          ? lostAt_tick
          : Math.round(lostAt / tick_s);
    return { plant, tick };
  }

  function run(i: number, into: Float64Array, at: number): void {
    const { plant, tick } = caseOf(i, () => {});
    if (plant === undefined) {
      into.fill(NOT_SIMULATED, at, at + width);
      into[at] = SPARE_NOT_SIMULATED;
      into[at + 1] = 0;
      for (let k = 0; k < strokes.length; k++) into[at + 3 + 2 * k] = SPARE_NOT_SIMULATED;
      return;
    }
    const outages = outagesOf(inService(plant));
    const y = saved?.before(tick)?.slice() ?? outages.unit.start();
    const { clock } = outages.unit.layout;
    y[clock.planned] = 0;
    if (tick - 1 > y[clock.tick]) outages.engine.advance(y, tick - 1, { sampleTicks: 0 });
    const answer = outages.fail(y, tick);
    into[at] = answer.spare;
    into[at + 1] = answer.worst === undefined ? 0 : answer.strokes.indexOf(answer.worst);
    answer.strokes.forEach((s, k) => {
      into[at + 2 + 2 * k] = CASE_OUTCOMES.indexOf(s.outcome);
      into[at + 3 + 2 * k] = s.spare;
    });
  }

  /** Failures of a plant: those of the last one refitted, where only numbers differ. */
  function outagesOf(plant: Plant): Outages {
    if (kept?.own.take(plant)) kept.outages.refit();
    else {
      const own = ownPlant(plant);
      kept = { own, outages: createOutages(own.plant) };
    }
    return kept.outages;
  }

  function overrides(i: number): string[] {
    const x = drawn(i);
    const { plant: drawnPlant, tick } = caseOf(i, () => {});
    const list = drawnPlant === undefined ? [] : lateOverrides(values, drawnPlant, tick * tick_s);
    // With every accuracy settled there is none left that the file could ask to be drawn within.
    if (settled.length > 0) list.push('uncertain=[]');
    inputs.forEach((input, d) => {
      const path = d === momentAt ? 'power.lostAt' : input.path;
      list.push(`${path}=${input.dimension === undefined ? x[d] : exactQuantity(x[d], input.dimension)}`);
      if (input.settles !== undefined) list.push(`${input.settles.path}=${exactQuantity(0, input.settles.dimension)}`);
    });
    return list;
  }

  function refusal(i: number): string | undefined {
    let first: string | undefined;
    caseOf(i, (path, message) => void (first ??= `${path}: ${message}`));
    return first;
  }

  return { strokes, width, drawn, overrides, run, refusal };
}

/** States of the service that all cases have in common, to go on from; undefined where each has its own. */
function savedService(base: Plant, values: ScenarioValues, plan: CampaignPlan, momentAt: number) {
  const moment = plan.inputs[momentAt]?.distribution;
  const quiet = values.steps.length === 0 && values.actions.length === 0 && values.faults.length === 0;
  const still = base.valves.every((v) => !v.pushedBack && v.leak === 0);
  const others = plan.inputs.filter((_, d) => d !== momentAt);
  if (!quiet || !still || !others.every((input) => AT_REST.test(input.keys.join('.')))) return undefined;
  const outages: Outages = createOutages(inService(base));
  const { clock } = outages.unit.layout;
  const y = outages.unit.start();
  const states = [y.slice()];
  const ticks =
    moment?.kind === 'uniform'
      ? Array.from({ length: SAVED }, (_, k) => (moment.from + ((moment.to - moment.from) * k) / SAVED) / base.tick_s)
      : [plan.lostAt_tick];
  for (const tick of ticks) {
    const before = Math.floor(tick) - 1;
    if (before <= y[clock.tick]) continue;
    outages.engine.advance(y, before, { sampleTicks: 0 });
    states.push(y.slice());
  }
  return { before: (tick: number) => states.findLast((state) => state[clock.tick] < tick) };
}

// --------------------------------------------------------------------------------------------------------- the answer

export interface Share extends Interval {
  readonly value: number;
}

export interface StrokeShare extends RequiredStroke {
  readonly met: Share;
  /** Least margin of the completed strokes and quantiles of it: 5 %, half, 95 %. NaN where none completed. */
  readonly margins: readonly [number, number, number];
  /** How often each outcome came. */
  readonly outcomes: Readonly<Partial<Record<CaseOutcome, number>>>;
}

export interface InputShare {
  readonly path: string;
  /** Quantiles of what was drawn: 5 %, half, 95 %. */
  readonly drawn: readonly [number, number, number];
  /** Rank correlation with the least margin. */
  readonly correlation: number;
}

export interface WorstCase {
  readonly number: number;
  readonly spare: number;
  /** The stroke with the least margin. */
  readonly stroke: number;
  readonly outcome: CaseOutcome;
  readonly drawn: readonly number[];
  readonly overrides: readonly string[];
}

export interface Bin {
  /** Spare margin; the first bin has no lower and the last no upper end. */
  readonly from: number;
  readonly to: number;
  readonly count: number;
}

export interface CampaignAnswer {
  readonly runs: number;
  readonly met: Share;
  /** How the intervals were had. */
  readonly interval: 'Wilson' | 'replicates';
  readonly notSimulated: number;
  readonly firstRefusal: string | undefined;
  readonly strokes: readonly StrokeShare[];
  /** Quantiles of the least margin of a run beyond the one wanted; see StrokeAnswer.spare. */
  readonly quantiles: readonly { readonly share: number; readonly spare: number }[];
  readonly histogram: readonly Bin[];
  readonly inputs: readonly InputShare[];
  /** The worst first, of those that could be simulated. */
  readonly worst: readonly WorstCase[];
}

const QUANTILES = [0, 0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99, 1] as const;
const BINS = 14;
const WORST = 10;

/**
 * Folds the rows of a whole campaign.
 *
 * @param rows of all cases, one behind the other
 */
export function foldCampaign(campaign: Campaign, plan: CampaignPlan, rows: Float64Array): CampaignAnswer {
  const { strokes, width } = campaign;
  const { runs, inputs } = plan;
  const spares = Float64Array.from({ length: runs }, (_, i) => rows[i * width]);
  const sorted = spares.slice().sort();
  const columns = inputs.map(() => new Float64Array(runs));
  for (let i = 0; i < runs; i++) campaign.drawn(i).forEach((x, d) => void (columns[d][i] = x));
  const order = Array.from({ length: runs }, (_, i) => i).sort((a, b) => spares[a] - spares[b] || a - b);
  const outcomeOf = (i: number, k: number) => CASE_OUTCOMES[rows[i * width + 2 + 2 * k]];
  const unsimulated = order.filter((i) => outcomeOf(i, 0) === 'not simulated').sort((a, b) => a - b);
  return {
    runs,
    met: shareOf(plan, (i) => spares[i] >= 0),
    interval: plan.sampling === 'plain' ? 'Wilson' : 'replicates',
    notSimulated: unsimulated.length,
    firstRefusal: unsimulated.length === 0 ? undefined : campaign.refusal(unsimulated[0]),
    strokes: strokes.map((stroke, k) => {
      const outcomes: Partial<Record<CaseOutcome, number>> = {};
      const margins: number[] = [];
      for (let i = 0; i < runs; i++) {
        const outcome = outcomeOf(i, k);
        outcomes[outcome] = (outcomes[outcome] ?? 0) + 1;
        if (outcome === 'completed') margins.push(rows[i * width + 3 + 2 * k] + stroke.marginWanted);
      }
      margins.sort((a, b) => a - b);
      return {
        ...stroke,
        met: shareOf(plan, (i) => rows[i * width + 3 + 2 * k] >= 0),
        margins: [quantile(margins, 0.05), quantile(margins, 0.5), quantile(margins, 0.95)],
        outcomes,
      };
    }),
    quantiles: QUANTILES.map((share) => ({ share, spare: quantile(sorted, share) })),
    histogram: histogramOf(sorted),
    inputs: inputs.map((input, d) => {
      const column = columns[d].slice().sort();
      return {
        path: input.path,
        drawn: [quantile(column, 0.05), quantile(column, 0.5), quantile(column, 0.95)],
        correlation: rankCorrelation(columns[d], spares),
      };
    }),
    worst: order
      .filter((i) => outcomeOf(i, 0) !== 'not simulated')
      .slice(0, WORST)
      .map((i) => {
        const stroke = rows[i * width + 1];
        return {
          number: i,
          spare: spares[i],
          stroke,
          outcome: outcomeOf(i, stroke),
          drawn: [...campaign.drawn(i)],
          overrides: campaign.overrides(i),
        };
      }),
  };
}

/**
 * Share of the cases for which something holds. Of plain cases the interval is Wilson's. Else the shares of the sets are
 * as many independent estimates; where they do not differ at all they tell nothing, and Wilson's stands in for them: such
 * sets spread less than plain cases.
 */
function shareOf({ runs, sampling }: CampaignPlan, holds: (i: number) => boolean): Share {
  let count = 0;
  const sets = new Float64Array(REPLICATES);
  const size = runs / REPLICATES;
  for (let i = 0; i < runs; i++) {
    if (!holds(i)) continue;
    count++;
    sets[Math.floor(i / size)]++;
  }
  const value = count / runs;
  const plain = { value, ...wilson(count, runs) };
  if (sampling === 'plain') return plain;
  const squares = sets.reduce((sum, n) => sum + (n / size - value) ** 2, 0);
  if (squares === 0) return plain;
  const half = T_95_OF_8 * Math.sqrt(squares / (REPLICATES - 1) / REPLICATES);
  return { value, low: Math.max(0, value - half), high: Math.min(1, value + half) };
}

/** Bins of a round width over the middle 98 % of the spare margins, with an edge at 0; the first and last take the rest. */
function histogramOf(sorted: Float64Array): Bin[] {
  const finite = sorted.filter((x) => Number.isFinite(x));
  if (finite.length === 0) return [{ from: -Infinity, to: Infinity, count: sorted.length }];
  const [low, high] = [quantile(finite, 0.01), quantile(finite, 0.99)];
  const step = roundStep((high - low) / (BINS - 2));
  const first = Math.floor(low / step);
  const last = Math.max(first + 1, Math.ceil(high / step));
  const bins: { from: number; to: number; count: number }[] = [];
  for (let k = first - 1; k <= last; k++)
    bins.push({ from: k < first ? -Infinity : k * step, to: k === last ? Infinity : (k + 1) * step, count: 0 });
  for (const x of sorted) bins[bins.findIndex((bin) => x < bin.to || bin.to === Infinity)].count++;
  while (bins.length > 1 && bins[0].count === 0) bins.shift();
  while (bins.length > 1 && bins[bins.length - 1].count === 0) bins.pop();
  return bins;
}

/** The next of 1, 2, 5 times a power of ten. */
function roundStep(least: number): number {
  if (!(least > 1e-6)) return 1e-3;
  const power = 10 ** Math.floor(Math.log10(least));
  return ([1, 2, 5].find((m) => m * power >= least * 0.999) ?? 10) * power;
}
