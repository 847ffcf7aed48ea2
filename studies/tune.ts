/**
 * Where the switches should be set. Settings on the grid of practice are compared by their closed-form limits and by the
 * least margin in the least favourable states that their switches permit, each such state run in full. The neighbourhood
 * of the best setting so far is searched in ever smaller steps, from the setting of the file and from some drawn from the
 * seed; the winner is confirmed by the failures of a whole service.
 */
import seedrandom from 'seedrandom';
import type { Contact, ContactRole } from '../models/contact.ts';
import { Selector } from '../models/motor.ts';
import type { Plant } from '../models/plant.ts';
import { buildPlant } from '../scenarios/build.ts';
import { pinchOf } from '../scenarios/findings/estimates.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { valueAt, withValue } from '../scenarios/setpoints.ts';
import type { Setpoint, Tuning } from '../scenarios/tuning.ts';
import { ProgramFault } from '../sim/fault.ts';
import { createLimits, type Limit, type SettingAt } from './limits.ts';
import {
  BY_DUTY,
  type Corner,
  findWorst,
  type Permitted,
  switchCorners,
  type WorstAnswer,
  type WorstOptions,
} from './worst.ts';

/** The least favourable state of a setting. */
export interface LeastState {
  /** Margin beyond the one wanted. */
  readonly spare: number;
  readonly corner: Corner | undefined;
  /** The fault that stands in it; undefined without one. */
  readonly fault: string | undefined;
}

/** A setting, judged. */
export interface Setting {
  /** SI, in the order of the setpoints. */
  readonly values: readonly number[];
  readonly least: LeastState;
  readonly limits: readonly Limit[];
  readonly pumpStarts: number | undefined;
  readonly compressorStarts: number | undefined;
  readonly refill_s: number | undefined;
  readonly recharge_s: number | undefined;
  readonly feasible: boolean;
}

/** Why a setpoint cannot go a step further. */
export interface Block {
  /** The setting just past it, SI. */
  readonly at: number;
  /** Limits that it breaks; none where the margin is what it breaks, or where the range of the setpoint ends. */
  readonly limits: readonly Limit[];
  readonly margin: LeastState | undefined;
}

export interface TunedSetpoint {
  readonly setpoint: Setpoint;
  readonly asSet: number;
  readonly recommended: number;
  /** Number in the unit of the file. */
  readonly number: string;
  /** What may be set with the others as recommended, and what blocks the next step on either side: none at the end of the range. */
  readonly lowest: number;
  readonly highest: number;
  readonly below: Block | undefined;
  readonly above: Block | undefined;
  /** What a step up changes: of the least margin, of the most starts an hour. */
  readonly perStep:
    | { readonly spare: number; readonly pumpStarts: number; readonly compressorStarts: number }
    | undefined;
}

export interface TradeOff {
  /** Least margin beyond the wanted one that was asked for. */
  readonly asked: number;
  readonly setting: Setting;
  readonly numbers: readonly string[];
}

export interface TuneAnswer {
  /** Whether what is recommended keeps to everything wanted, service included; else it is the nearest miss. */
  readonly feasible: boolean;
  readonly objective: Tuning['objective'];
  readonly asSet: Setting;
  readonly recommended: Setting;
  readonly setpoints: readonly TunedSetpoint[];
  readonly before: WorstAnswer;
  readonly after: WorstAnswer;
  /**
   * Service from a start that the new switches permit, where the start of the file lies outside of what they do and fails;
   * undefined otherwise.
   */
  readonly settled: WorstAnswer | undefined;
  readonly tradeOff: readonly TradeOff[] | undefined;
  /** Settings that were run. */
  readonly examined: number;
}

export interface TuneOptions extends WorstOptions {
  /** Whether to work out the trade-off between margin and starts. */
  readonly tradeOff?: boolean;
}

/** Largest step of the search; halved until 1. */
const WIDEST = 16;
/** Starts drawn at random beside the setting of the file. */
const DRAWN_STARTS = 1;
const DRAWS = 3_000;
/** States run for each neighbourhood, the best by estimate first, and for the last one. */
const RUN_EACH = 3;
const RUN_LAST = 8;
/** Up to so many setpoints all combinations of steps are neighbours; beyond, steps of one and of two. */
const MOST_COMBINED = 6;
/** Margins nearer than this count as equal. */
const SAME_MARGIN = 1e-4;
/** Rows of the trade-off. */
const TRADE_OFFS = 5;
/** Times that the margin is raised when service turns out less favourable than the states of the switches. */
const RAISES = 3;

type Steps = readonly number[];
type Score = readonly number[];

function better(a: Score, b: Score): boolean {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k] < b[k];
  return false;
}

const STANDBYS: Readonly<Record<string, string>> = {
  'panel.level.standbyStart': 'panel.level.dutyStart',
  'panel.pressure.standbyCutIn': 'panel.pressure.cutIn',
};

/**
 * Finds where to set the switches. `values` and `plant` as loaded; `tuning` is what the file wants.
 * Errors: ProgramFault when the program is at fault. A tuning without setpoints must not be given.
 */
export function findTuning(
  values: ScenarioValues,
  plant: Plant,
  tuning: Tuning,
  options: TuneOptions = {},
): TuneAnswer {
  const { setpoints } = tuning;
  if (setpoints.length === 0) throw new ProgramFault('nothing to tune');
  const { onProgress: progress, instants, longestService_s, tradeOff: _, ...engine } = options;
  const rungs = setpoints.map((s) => s.rung);
  const limits = createLimits(values, plant, tuning, new Set(rungs));
  const place = new Map(rungs.map((rung, i) => [rung, i]));
  const fixed = new Map<string, number | undefined>();
  const settingAt =
    (x: readonly number[]): SettingAt =>
    (rung) => {
      const i = place.get(rung);
      if (i !== undefined) return x[i];
      if (!fixed.has(rung)) fixed.set(rung, valueAt(values, rung));
      return fixed.get(rung);
    };
  const siOf = (steps: Steps): number[] => steps.map((k, i) => setpoints[i].valueAt(k));
  const changed = (of: ScenarioValues, x: readonly number[]) =>
    setpoints.reduce((v, s, i) => withValue(v, s.path, x[i]), of);

  // ---- Margin: states run in full, each once
  const faults = tuning.survive.map((f) => ({ ...f, permitted: permittedUnder(f, plant) }));
  /** Setpoints on which no state of the switches depends. */
  const idle = new Set(['panel.level.normal', 'panel.level.high', 'panel.level.highHigh', 'panel.pressure.cutOut']);
  for (const role of ['pressure.high', 'pressure.highHigh', 'pressure.lowLow', 'level.lowLow'])
    idle.add(`panel.${role}`);
  const used = new Set<string>(faults.flatMap((f) => [`panel.${f.permitted.pressure}`, `panel.${f.permitted.lowest}`]));
  for (const rung of [
    'panel.level.standbyStart',
    'panel.pressure.standbyCutIn',
    'panel.level.low',
    'panel.pressure.low',
  ])
    if (!used.has(rung)) idle.add(rung);
  const keyOf = (x: readonly number[]) => x.filter((_x, i) => !idle.has(rungs[i])).join(' ');
  const known = new Map<string, LeastState>();
  function least(x: readonly number[]): LeastState {
    const key = keyOf(x);
    const before = known.get(key);
    if (before !== undefined) return before;
    let found: LeastState = { spare: Infinity, corner: undefined, fault: undefined };
    const look = (of: ScenarioValues, permitted: Permitted, fault: string | undefined) => {
      const corners = switchCorners(changed(of, x), plant, engine, permitted);
      // A state that cannot be is as bad as none.
      if (corners.length === 0) found = { spare: -1e6, corner: undefined, fault };
      for (const corner of corners) {
        if (corner.answer.spare < found.spare) found = { spare: corner.answer.spare, corner, fault };
      }
    };
    look(tuning.wanted, BY_DUTY, undefined);
    for (const f of faults) look(f.values, f.permitted, f.text);
    known.set(key, found);
    progress?.(Math.min(0.8, known.size / (known.size + 40)));
    return found;
  }
  const estimates = new Map<string, number>();
  /** What the margin would be like, without flow or heat: only good for choosing what to run. */
  function estimate(x: readonly number[]): number {
    const key = keyOf(x);
    const before = estimates.get(key);
    if (before !== undefined) return before;
    const at = settingAt(x);
    const pressure = at('panel.pressure.cutIn') ?? plant.start.gasPressure_Pa;
    const { vessel, volume_m3, sightGlassZero_m: zero } = plant.tank;
    const levels = [at('panel.level.dutyStart'), at('panel.level.stop')].filter((l) => l !== undefined);
    const spares = levels.map((level) => {
      const pinch = pinchOf(plant, pressure, volume_m3 - vessel.volumeAt(Math.min(vessel.height_m, level + zero)));
      return pinch === undefined ? 0 : pinch.has_Pa - pinch.needs_Pa;
    });
    const value = Math.min(pressure, ...spares);
    estimates.set(key, value);
    return value;
  }

  // ---- Scores, the lower the better
  const asSet = setpoints.map((s) => s.asSet);
  /** Distance from the setting of the file in steps; a standby keeps its distance from the duty. */
  function moved(x: readonly number[]): number {
    return x.reduce((sum, value, i) => {
      const duty = place.get(STANDBYS[rungs[i]] ?? '');
      const off = duty === undefined ? value - asSet[i] : value - x[duty] - (asSet[i] - asSet[duty]);
      return sum + Math.abs(off / (setpoints[i].unit.factor * stepSize(setpoints[i])));
    }, 0);
  }
  const shortOf = (x: readonly number[]) => limits.all(settingAt(x)).reduce((sum, l) => sum + l.short, 0);
  const startsOf = (x: readonly number[]) => {
    const { pump = 0, compressor = 0 } = limits.starts(settingAt(x));
    return pump + compressor;
  };
  const rounded = (value: number, to: number) => Math.round(value / to) * to;
  function scoreOf(x: readonly number[], spare: number, needed: number, objective: Tuning['objective']): Score {
    const missing = rounded(Math.max(0, needed - spare), SAME_MARGIN / 100);
    const margin = -rounded(spare, SAME_MARGIN);
    const starts = rounded(startsOf(x), 1e-3);
    return objective === 'most margin' ? [missing, margin, starts, moved(x)] : [missing, starts, margin, moved(x)];
  }

  // ---- Search
  const shapes = neighbourhood(setpoints.length);
  const inside = (steps: Steps) => steps.every((k, i) => k >= 0 && k <= setpoints[i].last);

  /** Down to where no limit is broken, or as near to that as it goes. */
  function settle(from: Steps): Steps {
    let best = from;
    let short = shortOf(siOf(best));
    for (let width = WIDEST; width >= 1 && short > 0; ) {
      let next: Steps | undefined;
      for (const shape of shapes) {
        const steps = best.map((k, i) => k + width * shape[i]);
        if (!inside(steps)) continue;
        const s = shortOf(siOf(steps));
        if (s < short - 1e-12) [next, short] = [steps, s];
      }
      if (next === undefined) width = Math.floor(width / 2);
      else best = next;
    }
    return best;
  }

  /**
   * The best setting around `from`. Without a limit broken, or, as a `compromise`, with limits and margin missed by as
   * little as can be, an increment of practice weighing as much as a hundredth of margin.
   */
  function climb(
    from: Steps,
    needed: number,
    objective: Tuning['objective'],
    compromise: boolean,
  ): { steps: Steps; score: Score } {
    let best = compromise ? from : settle(from);
    let x = siOf(best);
    const scored = (of: readonly number[], spare: number): Score =>
      compromise ? [shortOf(of) + 100 * Math.max(0, needed - spare), moved(of)] : scoreOf(of, spare, needed, objective);
    if (!compromise && shortOf(x) > 0) return { steps: best, score: [Infinity, shortOf(x)] };
    let score = scored(x, least(x).spare);
    const order = (p: readonly number[]) => {
      if (compromise) return shortOf(p) - estimate(p) / (plant.start.gasPressure_Pa / 100);
      return objective === 'most margin' || score[0] > 0 ? -estimate(p) : startsOf(p) - 1e-9 * estimate(p);
    };
    for (let width = WIDEST; width >= 1; ) {
      const near = shapes
        .map((shape) => best.map((k, i) => k + width * shape[i]))
        .filter(inside)
        .map((steps) => ({ steps, x: siOf(steps) }))
        .filter((c) => compromise || shortOf(c.x) === 0);
      // What is not yet run is chosen by what estimates promise.
      const unknown = new Map<string, { x: readonly number[]; order: number }>();
      for (const c of near) {
        const key = keyOf(c.x);
        if (known.has(key)) continue;
        const rank = order(c.x);
        if (rank < (unknown.get(key)?.order ?? Infinity)) unknown.set(key, { x: c.x, order: rank });
      }
      const promising = [...unknown.values()].sort((a, b) => a.order - b.order);
      for (const p of promising.slice(0, width === 1 ? RUN_LAST : RUN_EACH)) least(p.x);
      let next: Steps | undefined;
      for (const c of near) {
        const state = known.get(keyOf(c.x));
        if (state === undefined) continue;
        const s = scored(c.x, state.spare);
        if (better(s, score)) [next, score] = [c.steps, s];
      }
      if (next === undefined) width = Math.floor(width / 2);
      else best = next;
      x = siOf(best);
    }
    return { steps: best, score };
  }

  const fromFile = setpoints.map((s) => s.stepOf(s.asSet));
  const starts: Steps[] = [fromFile];
  const draw = seedrandom.alea(`${values.seed}/tune`);
  const drawn = () => setpoints.map((s) => Math.floor(draw() * (s.last + 1)));
  for (let k = 0; k < DRAWS && starts.length <= DRAWN_STARTS; k++) {
    const steps = drawn();
    if (shortOf(siOf(steps)) === 0) starts.push(steps);
  }
  // Where hardly any setting keeps to the limits, those are taken that come nearest.
  while (starts.length <= DRAWN_STARTS) starts.push(settle(drawn()));
  function search(needed: number, objective: Tuning['objective'], more: readonly Steps[] = []): Steps {
    let best: { steps: Steps; score: Score } | undefined;
    for (const from of [...more, ...starts]) {
      const found = climb(from, needed, objective, false);
      if (best === undefined || better(found.score, best.score)) best = found;
    }
    const { steps, score } = best as { steps: Steps; score: Score };
    return score[0] === Infinity ? climb(fromFile, needed, objective, true).steps : steps;
  }

  function judge(x: readonly number[]): Setting {
    const at = settingAt(x);
    const all = limits.all(at);
    const state = least(x);
    const { pump, compressor } = limits.starts(at);
    return {
      values: x,
      least: state,
      limits: all,
      pumpStarts: pump,
      compressorStarts: compressor,
      refill_s: limits.refillTime(at),
      recharge_s: limits.rechargeTime(at),
      feasible: state.spare >= 0 && all.every((l) => l.short === 0),
    };
  }

  // ---- The winner, confirmed by service
  const worstOptions = {
    ...engine,
    ...(instants === undefined ? {} : { instants }),
    ...(longestService_s === undefined ? {} : { longestService_s }),
  };
  const worstOf = (of: ScenarioValues): WorstAnswer => {
    const built = buildPlant(of, () => {}, { like: plant });
    if (built === undefined) throw new ProgramFault('a setting on the staircase cannot be built');
    return findWorst(of, built, worstOptions);
  };
  const before = worstOf(tuning.wanted);
  let needed = 0;
  let winner: Steps = search(needed, tuning.objective);
  let after: WorstAnswer;
  let settled: WorstAnswer | undefined;
  for (let k = 0; ; k++) {
    const tuned = changed(tuning.wanted, siOf(winner));
    after = worstOf(tuned);
    settled = after.proof.met ? undefined : settledIn(tuned);
    const proof = (settled ?? after).proof;
    if (proof.met || k === RAISES || least(siOf(winner)).spare < needed) break;
    // Service came to a state less favourable than those of the switches.
    needed += SAME_MARGIN - proof.spare;
    winner = search(needed, tuning.objective, [winner]);
  }

  /** Service from a start that the switches permit, where that of the file lies under what they do. */
  function settledIn(tuned: ScenarioValues): WorstAnswer | undefined {
    const cutIn = valueAt(tuned, 'panel.pressure.cutIn');
    const start_m = valueAt(tuned, 'panel.level.dutyStart');
    const stop_m = valueAt(tuned, 'panel.level.stop');
    const { oil: _oil, level: __, ...rest } = tuned.start;
    const glass = plant.tank.vessel.levelAt(plant.start.oilVolume_m3) - plant.tank.sightGlassZero_m;
    const level = Math.min(stop_m ?? Infinity, Math.max(start_m ?? -Infinity, glass));
    const pressure = Math.max(cutIn ?? 0, rest.pressure);
    if (pressure === rest.pressure && level === glass) return undefined;
    return worstOf({ ...tuned, start: { ...rest, pressure, level } });
  }

  const recommended = judge(siOf(winner));
  const tuned = setpoints.map((s, i): TunedSetpoint => {
    const along = (k: number) => siOf(winner.map((other, j) => (j === i ? k : other)));
    // At the top of the range a step down stands for it.
    const step = winner[i] < s.last ? 1 : -1;
    const next = s.last > 0 ? judge(along(winner[i] + step)) : undefined;
    const low = edge(winner[i], -1, 0, along);
    const high = edge(winner[i], 1, s.last, along);
    return {
      setpoint: s,
      asSet: s.asSet,
      recommended: s.valueAt(winner[i]),
      number: s.numberAt(winner[i]),
      lowest: s.valueAt(low.last),
      highest: s.valueAt(high.last),
      below: low.block,
      above: high.block,
      perStep:
        next === undefined
          ? undefined
          : {
              spare: step * (next.least.spare - recommended.least.spare),
              pumpStarts: step * ((next.pumpStarts ?? 0) - (recommended.pumpStarts ?? 0)),
              compressorStarts: step * ((next.compressorStarts ?? 0) - (recommended.compressorStarts ?? 0)),
            },
    };
  });

  /** How far one setpoint may go, and what blocks the step after that; found by doubling and halving. */
  function edge(
    from: number,
    way: 1 | -1,
    end: number,
    along: (k: number) => readonly number[],
  ): { last: number; block: Block | undefined } {
    const fits = (k: number) => {
      const x = along(k);
      return shortOf(x) === 0 && least(x).spare >= 0;
    };
    if (!fits(from)) return { last: from, block: undefined };
    let good = from;
    let bad: number | undefined;
    for (let width = 1; good !== end; width *= 2) {
      const k = way > 0 ? Math.min(end, from + width) : Math.max(end, from - width);
      if (fits(k)) good = k;
      else {
        bad = k;
        break;
      }
    }
    if (bad === undefined) return { last: good, block: undefined };
    while (Math.abs(bad - good) > 1) {
      const k = Math.trunc((bad + good) / 2);
      if (fits(k)) good = k;
      else bad = k;
    }
    const x = along(bad);
    const broken = limits.all(settingAt(x)).filter((l) => l.short > 0);
    return {
      last: good,
      block: {
        at: x.find((_v, i) => x[i] !== along(good)[i]) as number,
        limits: broken,
        margin: broken.length > 0 ? undefined : least(x),
      },
    };
  }

  // ---- Trade-off between margin and starts
  function trade(): TradeOff[] {
    const most = least(siOf(search(0, 'most margin', [winner]))).spare;
    if (!(most > 0) || !Number.isFinite(most) || !recommended.feasible) return [];
    const rows: TradeOff[] = [];
    let from: Steps = winner;
    for (let k = 0; k < TRADE_OFFS; k++) {
      const asked = Math.max(0, (most * k) / (TRADE_OFFS - 1) - SAME_MARGIN);
      from = climb(from, asked, 'fewest starts', false).steps;
      const x = siOf(from);
      rows.push({ asked, setting: judge(x), numbers: setpoints.map((s, i) => s.numberAt(from[i])) });
    }
    return rows;
  }
  const tradeOff = options.tradeOff ? trade() : undefined;
  progress?.(1);
  return {
    feasible: recommended.feasible && (settled ?? after).proof.met,
    objective: tuning.objective,
    asSet: judge(asSet),
    recommended,
    setpoints: tuned,
    before,
    after,
    settled,
    tradeOff,
    examined: known.size,
  };
}

/** A step in the unit of the file. */
const stepSize = (s: Setpoint): number => (s.last > 0 ? Number(s.numberAt(1)) - Number(s.numberAt(0)) : 1);

/** Steps -1, 0 and 1 of every setpoint in all combinations; of many setpoints, of one and of two. */
function neighbourhood(count: number): Steps[] {
  if (count <= MOST_COMBINED) {
    let all: number[][] = [[]];
    for (let i = 0; i < count; i++) all = all.flatMap((s) => [-1, 0, 1].map((d) => [...s, d]));
    return all.filter((s) => s.some((d) => d !== 0));
  }
  const all: number[][] = [];
  const none = new Array<number>(count).fill(0);
  for (let i = 0; i < count; i++) {
    for (const d of [-1, 1]) {
      all.push(none.with(i, d));
      for (let j = i + 1; j < count; j++) for (const e of [-1, 1]) all.push(none.with(i, d).with(j, e));
    }
  }
  return all;
}

/**
 * What bounds the state of the unit while a fault stands: a duty contact that does not call leaves it to the standby's, a
 * machine that is alone in auto leaves it to the low alarm, which somebody answers; a drifted contact lets it go further.
 */
function permittedUnder(fault: Tuning['survive'][number], plant: Plant): Permitted {
  const { contacts } = plant.panel;
  const has = (role: ContactRole) => contacts.some((c) => c.role === role);
  const next = (...roles: ContactRole[]): ContactRole => roles.find(has) ?? roles[roles.length - 1];
  const standIn = {
    pressure: next('pressure.standbyCutIn', 'pressure.low', 'pressure.lowLow', 'pressure.cutIn'),
    lowest: next('level.standbyStart', 'level.low', 'level.lowLow', 'level.dutyStart'),
  };
  const alarm = {
    pressure: next('pressure.low', 'pressure.lowLow', 'pressure.cutIn'),
    lowest: next('level.low', 'level.lowLow', 'level.dutyStart'),
  };
  const contact: Contact | undefined = contacts.find((c) => c.tag === fault.item);
  const given = fault.values.faults[fault.values.faults.length - 1];
  if (contact !== undefined) {
    const { role } = contact;
    if (given.fault === 'switch drifted') {
      const pressure = given.byPressure ?? 0;
      const level = given.byLevel ?? 0;
      return {
        ...BY_DUTY,
        byPressure_Pa: role === 'pressure.cutIn' ? Math.min(0, pressure) : 0,
        byLowest_m: role === 'level.dutyStart' ? Math.min(0, level) : 0,
        byHighest_m: role === 'level.stop' ? Math.max(0, level) : 0,
      };
    }
    const dead = given.fault === 'switch stuck open' || given.fault === 'wire broken';
    if (dead && role === 'pressure.cutIn') return { ...BY_DUTY, pressure: standIn.pressure };
    if (dead && role === 'level.dutyStart') return { ...BY_DUTY, lowest: standIn.lowest };
    return BY_DUTY;
  }
  for (const [motors, key, role] of [
    [plant.pumps, 'lowest', alarm.lowest],
    [plant.compressors, 'pressure', alarm.pressure],
  ] as const) {
    if (!motors.some((m) => m.tag === fault.item)) continue;
    const lost =
      given.fault !== 'loses capacity' && given.fault !== 'left in hand' && !/check valve|relief/.test(given.fault);
    const others = motors.filter((m) => m.tag !== fault.item && m.selector === Selector.auto);
    if (lost && others.length === 0) return { ...BY_DUTY, [key]: role };
  }
  return BY_DUTY;
}
