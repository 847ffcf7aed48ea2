/**
 * Faults in normal service: each is put in, acts until an alarm reveals it and a repair ends it, or until somebody looks, and
 * the mains are lost at the worst moment of that time. Until a fault begins all runs are one: every faulted service goes on
 * from the saved state of the sound one.
 */
import { EventCode } from '../models/events.ts';
import { type FaultPlant, type FaultValues, faultKinds } from '../models/fault.ts';
import type { Plant } from '../models/plant.ts';
import { ownPlant } from '../models/refit.ts';
import type { Unit } from '../models/unit.ts';
import { buildPlant } from '../scenarios/build.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { alarmName } from '../scenarios/wording.ts';
import type { Engine, EngineOptions } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import { faultText, modeText, singleFaults } from './faultList.ts';
import {
  createOutages,
  inService,
  lateOverrides,
  type OutageAnswer,
  type Outages,
  type StrokeAnswer,
} from './outage.ts';
import { ENDS, followService, type Service } from './service.ts';

/** Time from the alarm to the end of the fault, s (choice). */
export const REPAIR_s = 4 * 3600;
/** Longest time that a hidden fault acts, s: until somebody tests the unit (choice). */
export const INTERVAL_s = 30 * 86_400;
/** Starts of machines after which a faulted service is followed no longer: it repeats (choice). */
const MOST_STARTS = 300;
/** States kept along a service: each instant is reached from the one before it. */
const SAVED = 256;
/** When a fault begins in a service in which no machine runs, s (choice). */
const QUIET_BEGIN_s = 3600;
/** Raised without the fault within this time of being raised with it, an alarm does not reveal it (choice), s. */
const SAME_ALARM_s = 1;
/** An alarm that comes within this time of when the shutdown is first lost still reveals the fault (choice), s. */
const IN_TIME_s = 60;
/** Less than this share of margin lost does not count as worse (choice). */
const WORSE = 0.005;

/** Events that tell one service from another. */
const TELLING: ReadonlySet<number> = new Set([
  EventCode.motorCommanded,
  EventCode.motorStarted,
  EventCode.motorStopped,
  EventCode.motorTripped,
  EventCode.motorFailed,
  EventCode.relayTripped,
  EventCode.alarmRaised,
  EventCode.safetyValveOpen,
  EventCode.suctionLost,
  EventCode.gasBreakthrough,
  EventCode.tankFull,
  EventCode.sumpOverflows,
  EventCode.outletShut,
  EventCode.valvePushedBack,
  EventCode.valveDrifting,
  EventCode.valveMoving,
]);

export type Consequence = 'defeats' | 'worse' | 'none';

export interface FaultAnswer {
  /** One fault, or the two of a pair. */
  readonly faults: readonly FaultValues[];
  readonly item: string;
  readonly mode: string;
  /** What it does in service, found from the run. */
  readonly local: string;
  readonly revealedBy: string | undefined;
  readonly revealedAfter_s: number | undefined;
  /**
   * First of the examined moments at which it defeats the shutdown, s after it was put in; undefined where it does at none.
   * The alarm may come only after it.
   */
  readonly defeatsAfter_s: number | undefined;
  /** Defeats the shutdown while no alarm has told of it: none ever does, or the first comes too late. */
  readonly hidden: boolean;
  /** How long it acts: to the end of the repair, the test, or the service. */
  readonly acts_s: number;
  /** The worst moment to lose the mains while it acts. */
  readonly lostAt_s: number;
  readonly pressure_Pa: number;
  readonly oil_m3: number;
  readonly answer: OutageAnswer;
  /** The stroke that counts: for a fault that defeats the shutdown the one it takes away, else that of the least margin. */
  readonly stroke: StrokeAnswer | undefined;
  /**
   * defeats: a required stroke fails, and by more than at any moment of sound service should it fail there too; worse: all
   * are met with less margin than at any moment of sound service.
   */
  readonly consequence: Consequence;
  /** For a fault that defeats the shutdown: the physical reason. */
  readonly reason: string | undefined;
  /** Overrides with which `replay` repeats it. */
  readonly overrides: readonly string[];
}

export interface FaultsAnswer {
  /** When the faults are put in, s. */
  readonly begins_s: number;
  readonly sound: {
    /** To where it was followed, s. */
    readonly followed_s: number;
    readonly endedBy: number | undefined;
    readonly worst: OutageAnswer;
    readonly worstAt_s: number;
  };
  /** Of singles all, of pairs those that count; the gravest first. */
  readonly answers: readonly FaultAnswer[];
}

export interface FaultsOptions extends EngineOptions {
  readonly units?: UnitSystem;
  readonly interval_s?: number;
  readonly repair_s?: number;
  /** Only faults whose item or mode has this text in it. */
  readonly only?: string;
  readonly onProgress?: (share: number) => void;
}

/** A study of one plant: the sound service run once, then as many faults as are asked for. */
export interface FaultStudy {
  /** Every one that the unit can have. */
  readonly singles: readonly FaultValues[];
  readonly begins_s: number;
  readonly sound: FaultsAnswer['sound'];
  /** Faults put in together. */
  run(faults: readonly FaultValues[]): FaultAnswer;
}

interface Seen {
  readonly tick: number;
  readonly code: number;
  readonly item: number;
}

/** What a service came to in the window that was followed. */
interface Followed {
  readonly seen: readonly Seen[];
  readonly endTick: number;
  readonly endedBy: number | undefined;
  readonly least_Pa: number;
  readonly most_Pa: number;
  readonly least_m3: number;
  readonly most_m3: number;
  /** The alarm that the sound service does not raise. */
  readonly reveal: Seen | undefined;
  /** States along it, in order of time, to go on from. */
  readonly saved: readonly Float64Array[];
}

interface Moment {
  readonly tick: number;
  readonly state: Float64Array;
  readonly answer: OutageAnswer;
}

/**
 * Prepares the study. `slots`: how many faults are put in at once. Errors: ProgramFault when the program is at fault.
 */
export function faultStudy(
  values: ScenarioValues,
  plant: Plant,
  slots: 1 | 2 = 1,
  options: Omit<FaultsOptions, 'only' | 'onProgress'> = {},
): FaultStudy {
  const { units = 'us', interval_s = INTERVAL_s, repair_s = REPAIR_s } = options;
  const served = inService(plant);
  const { tick_s } = plant;
  const ticksOf = (seconds: number) => Math.ceil(seconds / tick_s);
  const first = createOutages(served, options);
  const before = followService(first.unit, first.engine, first.unit.start());
  const beginTick = Math.min(endOfFirstCycle(before, plant), Math.max(1, Math.floor(before.ticks / 2)));
  const begins_s = beginTick * tick_s;

  const singles = singleFaults(plant, begins_s);
  const built = buildFaults(values, plant, singles);
  const plantOf = new Map(singles.map((f, k) => [f, built[k]]));

  // The sound plant keeps places for the faults, so that its states are those of every faulted plant.
  const never: FaultPlant = {
    name: 'trips',
    item: 0,
    tick: Number.MAX_SAFE_INTEGER,
    condition: -1,
    duration_ticks: 0,
    value: 0,
    text: '',
  };
  const withFaults = (faults: readonly FaultPlant[]): Plant => ({ ...served, faults: [...served.faults, ...faults] });
  const unfaulted = withFaults(new Array<FaultPlant>(slots).fill(never));
  const sound = createOutages(unfaulted, options);
  let own = ownPlant(unfaulted);
  let taking = createOutages(own.plant, options);
  const start = sound.unit.start();
  sound.engine.advance(start, beginTick - 1, { sampleTicks: 0 });
  const horizon = beginTick + Math.ceil(interval_s / tick_s);
  const soundly = follow(sound.unit, sound.engine, start, horizon, true);
  const soundMoments = examine(sound, soundly.saved, instants(soundly, soundly.endTick, 60, 60), 16);
  const soundWorst = leastOf(soundMoments);
  const soundLeast = soundMoments[0].answer.strokes.map((_, k) =>
    Math.min(...soundMoments.map((m) => m.answer.strokes[k].spare)),
  );
  /** The stroke that fails most, and by more than it ever does without a fault; undefined where there is none. */
  const beaten = ({ strokes }: OutageAnswer): StrokeAnswer | undefined => {
    const beyond = strokes.filter((s, k) => s.spare < 0 && (soundLeast[k] >= 0 || s.spare < soundLeast[k] - WORSE));
    return beyond.reduce<StrokeAnswer | undefined>((a, b) => (a === undefined || b.spare < a.spare ? b : a), undefined);
  };

  const beats = (m: Moment) => beaten(m.answer) !== undefined;

  function run(faults: readonly FaultValues[]): FaultAnswer {
    const faulty = outagesOf(withFaults(faults.map(faultPlantOf)));
    const rest = follow(faulty.unit, faulty.engine, start, soundly.endTick, false, soundly);
    const { reveal } = rest;
    const ends = reveal === undefined ? rest.endTick : Math.min(soundly.endTick, reveal.tick + ticksOf(repair_s));
    const inWindow = soundMoments.filter((m) => m.tick <= ends);
    const ticks = new Set([beginTick + 1, Math.max(beginTick + 1, ends)]);
    if (inWindow.length > 0) ticks.add(leastOf(inWindow).tick);
    if (reveal !== undefined) ticks.add(Math.max(beginTick + 1, reveal.tick - 1));
    const alike = isAlike(rest, soundly);
    // What a fault does to valves shows only when they move, and its worst moment may be another than that of the sound unit.
    const brief = alike && !faults.some((f) => ['valve', 'none'].includes(faultKinds[f.fault].item));
    if (!brief) for (const tick of instants(rest, ends, 10, 12)) ticks.add(tick);
    const moments = examine(faulty, rest.saved, [...ticks], brief ? 0 : 6);
    const worst = leastOf(moments);
    const lost = beaten(worst.answer);
    const consequence: Consequence =
      lost !== undefined ? 'defeats' : worst.answer.spare < soundWorst.answer.spare - WORSE ? 'worse' : 'none';
    const lostAt_s = worst.tick * tick_s;
    const local = localEffect(rest, soundly, faulty.unit, units);
    const first =
      reveal === undefined
        ? moments.find(beats)
        : firstThat(faulty, rest.saved, moments, beats, ticksOf(IN_TIME_s / 2));
    const defeatsAfter_s = first === undefined ? undefined : (first.tick - beginTick) * tick_s;
    const revealedAfter_s = reveal === undefined ? undefined : (reveal.tick - beginTick) * tick_s;
    return {
      faults,
      item: faults.map((f) => f.item ?? 'unit').join(' + '),
      mode: faults.map(modeText).join(' + '),
      local,
      revealedBy: reveal === undefined ? undefined : alarmOf(faulty.unit, reveal.item),
      revealedAfter_s,
      defeatsAfter_s,
      hidden: defeatsAfter_s !== undefined && defeatsAfter_s + IN_TIME_s < (revealedAfter_s ?? Infinity),
      acts_s: (ends - beginTick) * tick_s,
      lostAt_s,
      pressure_Pa: faulty.unit.gasPressure(worst.state),
      oil_m3: worst.state[faulty.unit.slots.oil],
      answer: worst.answer,
      stroke: lost ?? worst.answer.worst,
      consequence,
      reason: lost === undefined ? undefined : reasonOf(faulty, worst, lost),
      overrides: faultOverrides(values, plant, faults, lostAt_s),
    };
  }

  /** Failures of a faulted plant, by the one unit that takes fault after fault. */
  function outagesOf(faulted: Plant): Outages {
    if (own.take(faulted)) taking.refit();
    else {
      own = ownPlant(faulted);
      taking = createOutages(own.plant, options);
    }
    return taking;
  }

  function faultPlantOf(f: FaultValues): FaultPlant {
    const known = plantOf.get(f);
    return known ?? buildFaults(values, plant, [f])[0];
  }

  /** Why a stroke fails, in the words of a replay: what kept its valve from it first. */
  function reasonOf(faulty: Outages, { state, tick }: Moment, { valve }: StrokeAnswer): string {
    const { tag } = plant.valves[valve];
    const told = faulty.tell(state, tick, units).find((s) => s.valve === tag && !s.met);
    return `${tag} ${told?.reason ?? 'fails'}`;
  }

  return {
    singles,
    begins_s,
    sound: {
      followed_s: soundly.endTick * tick_s,
      endedBy: soundly.endedBy,
      worst: soundWorst.answer,
      worstAt_s: soundWorst.tick * tick_s,
    },
    run,
  };

  /**
   * Runs from the state before the faults to `toTick`; with `sound` given, to the end of the repair that follows the first
   * alarm that it does not raise.
   */
  function follow(
    unit: Unit,
    engine: Engine,
    from: Float64Array,
    toTick: number,
    stopAtEnd: boolean,
    sound?: Followed,
  ): Followed {
    const y = from.slice();
    const { clock } = unit.layout;
    const seen: Seen[] = [];
    const raised = sound === undefined ? undefined : alarmCounter(sound.seen, ticksOf(SAME_ALARM_s));
    const counts = new Map<number, number>();
    let endedBy: number | undefined;
    let reveal: Seen | undefined;
    let starts = 0;
    let [least_Pa, most_Pa, least_m3, most_m3] = [Infinity, 0, Infinity, 0];
    const saved = [from.slice()];
    const apart = Math.max(1, Math.floor((toTick - from[clock.tick]) / SAVED));
    const look = (state: Float64Array) => {
      if (state[clock.tick] - saved[saved.length - 1][clock.tick] >= apart) saved.push(state.slice());
      const p = unit.gasPressure(state);
      const oil = state[unit.slots.oil];
      if (p < least_Pa) least_Pa = p;
      if (p > most_Pa) most_Pa = p;
      if (oil < least_m3) least_m3 = oil;
      if (oil > most_m3) most_m3 = oil;
    };
    look(y);
    const observer = {
      sampleTicks: 0,
      settled: look,
      event(state: Float64Array, code: number, item: number) {
        if (!TELLING.has(code)) return;
        const one = { tick: state[clock.tick] + (state[clock.offset] > 0 ? 1 : 0), code, item };
        seen.push(one);
        if (stopAtEnd && ENDS.has(code)) endedBy ??= code;
        if (code === EventCode.motorStarted) starts++;
        if (code !== EventCode.alarmRaised || raised === undefined || reveal !== undefined) return;
        const count = (counts.get(item) ?? 0) + 1;
        counts.set(item, count);
        if (count > raised(item, one.tick)) reveal = one;
      },
    };
    const done = () => endedBy !== undefined || starts >= MOST_STARTS;
    engine.advance(y, toTick, observer, () => reveal !== undefined || done());
    const { tick: revealed } = (reveal as Seen | undefined) ?? { tick: toTick };
    engine.advance(y, Math.min(toTick, revealed + ticksOf(repair_s)), observer, done);
    return { seen, endTick: y[clock.tick], endedBy, least_Pa, most_Pa, least_m3, most_m3, reveal, saved };
  }

  /** Instants in a window: evenly spread, close together at its beginning, and just before and after machines turn. */
  function instants(of: Followed, ends: number, spread: number, turns: number): number[] {
    const ticks = new Set<number>();
    const span = ends - beginTick;
    for (let k = 0; k < spread; k++) ticks.add(beginTick + Math.max(1, Math.round((span * (k + 0.5)) / spread)));
    for (let t = ticksOf(10); t < span / spread; t *= 8) ticks.add(beginTick + t);
    const turned = of.seen.filter(
      (e) => (e.code === EventCode.motorStarted || e.code === EventCode.motorStopped) && e.tick <= ends,
    );
    const every = Math.max(1, Math.ceil(turned.length / turns));
    for (let k = 0; k < turned.length; k += every) {
      ticks.add(Math.max(beginTick + 1, turned[k].tick));
      ticks.add(turned[k].tick + 1);
    }
    ticks.add(Math.max(beginTick + 1, ends));
    return [...ticks];
  }
}

/** Runs every single fault of a plant. */
export const examineFaults = (values: ScenarioValues, plant: Plant, options: FaultsOptions = {}): FaultsAnswer =>
  examineSingles(faultStudy(values, plant, 1, options), options);

/** Runs the single faults of a study that has followed sound service already; those with the text `only` in them. */
export function examineSingles(
  study: FaultStudy,
  { only, onProgress }: Pick<FaultsOptions, 'only' | 'onProgress'> = {},
): FaultsAnswer {
  const singles = study.singles.filter((f) => matches(f, only));
  const answers = singles.map((f, k) => {
    onProgress?.(k / singles.length);
    return study.run([f]);
  });
  return { begins_s: study.begins_s, sound: study.sound, answers: gravestFirst(answers) };
}

/**
 * The pairs that are worth a run: of faults neither of which defeats the shutdown by itself, and not two of one switch,
 * relief or machine that exclude each other.
 */
export function pairsOf(singles: readonly FaultAnswer[]): (readonly [FaultValues, FaultValues])[] {
  const harmless = singles.filter((s) => s.consequence !== 'defeats').map((s) => s.faults[0]);
  const opposed = (a: FaultValues, b: FaultValues) =>
    a.item === b.item &&
    (a.fault === b.fault || familyOf(a) === familyOf(b) || (a.item === undefined && familyOf(a) === 'ambient'));
  return harmless.flatMap((a, i) => harmless.slice(i + 1).flatMap((b) => (opposed(a, b) ? [] : [[a, b] as const])));
}

/** Runs pairs of faults put in at the same instant. The answers are those that defeat the shutdown, the gravest first. */
export function examinePairs(
  values: ScenarioValues,
  plant: Plant,
  pairs: readonly (readonly [FaultValues, FaultValues])[],
  options: FaultsOptions = {},
): FaultAnswer[] {
  const study = faultStudy(values, plant, 2, options);
  const answers = pairs.map((pair, k) => {
    options.onProgress?.(k / pairs.length);
    return study.run(pair);
  });
  return gravestFirst(answers.filter((a) => a.consequence === 'defeats'));
}

const familyOf = ({ fault }: FaultValues): string => fault.split(' ')[0];

const GRAVITY: Readonly<Record<Consequence, number>> = { defeats: 0, worse: 1, none: 2 };

/** By consequence, hidden before revealed, then by margin; ties stay in the order of the plant. */
function gravestFirst(answers: readonly FaultAnswer[]): FaultAnswer[] {
  const hidden = (a: FaultAnswer) => (a.hidden ? 0 : 1);
  return [...answers].sort(
    (a, b) =>
      GRAVITY[a.consequence] - GRAVITY[b.consequence] ||
      (a.consequence === 'defeats' ? hidden(a) - hidden(b) : 0) ||
      a.answer.spare - b.answer.spare,
  );
}

function matches(f: FaultValues, only: string | undefined): boolean {
  return only === undefined || `${f.item ?? 'unit'} ${modeText(f)}`.toLowerCase().includes(only.toLowerCase());
}

function buildFaults(values: ScenarioValues, plant: Plant, faults: readonly FaultValues[]): readonly FaultPlant[] {
  const wrong: string[] = [];
  const built = buildPlant(
    { ...values, faults: [...values.faults, ...faults] },
    (path, message) => wrong.push(`${path}: ${message}`),
    { like: plant },
  );
  if (built === undefined) throw new ProgramFault(`a fault cannot be built: ${wrong.join('; ')}`);
  return built.faults.slice(values.faults.length);
}

/**
 * Overrides that repeat a run of the study. A replay goes straight to the failure where the study went by way of saved
 * states; they differ by the error of a step.
 */
export function faultOverrides(
  values: ScenarioValues,
  plant: Plant,
  faults: readonly FaultValues[],
  lostAt_s: number,
): string[] {
  return [
    ...lateOverrides(values, plant, lostAt_s),
    `faults=[${[...values.faults, ...faults].map(faultText).join(', ')}]`,
    `power.lostAt=${Number(lostAt_s.toFixed(6))} s`,
  ];
}

/** The tick at which every kind of machine that starts in service has started, and all stand again. */
function endOfFirstCycle(service: Service, plant: Plant): number {
  const quiet = Math.ceil(QUIET_BEGIN_s / plant.tick_s);
  const pumps = plant.pumps.length;
  const starts = service.events.filter((e) => e.code === EventCode.motorStarted);
  const wanted = [starts.some((e) => e.item < pumps), starts.some((e) => e.item >= pumps)];
  if (!wanted[0] && !wanted[1]) return quiet;
  const had = [false, false];
  const running = new Set<number>();
  for (const e of service.events) {
    if (e.code === EventCode.motorStarted) {
      running.add(e.item);
      had[e.item < pumps ? 0 : 1] = true;
    } else {
      running.delete(e.item);
      if (running.size === 0 && (had[0] || !wanted[0]) && (had[1] || !wanted[1])) return e.tick + quiet / 60;
    }
  }
  return quiet;
}

/** How often the sound service had raised an alarm by a tick, and a little later. */
function alarmCounter(seen: readonly Seen[], later: number): (item: number, tick: number) => number {
  const alarms = seen.filter((e) => e.code === EventCode.alarmRaised);
  return (item, tick) => alarms.filter((e) => e.item === item && e.tick <= tick + later).length;
}

/** Fails the mains at instants, reached from the saved states before them, and narrows down around the worst. */
function examine(
  outages: Outages,
  saved: readonly Float64Array[],
  ticks: readonly number[],
  refinement: number,
): Moment[] {
  const moments = [...new Set(ticks)].sort((a, b) => a - b).map((tick) => momentAt(outages, saved, tick));
  for (let k = 0; k < refinement; k++) {
    const worst = moments.indexOf(leastOf(moments));
    const gap = (i: number) => (i < 0 || i + 1 >= moments.length ? 0 : moments[i + 1].tick - moments[i].tick);
    const place = gap(worst - 1) >= gap(worst) ? worst - 1 : worst;
    if (gap(place) < 2) break;
    halve(outages, saved, moments, place);
  }
  return moments;
}

/** Goes on to a tick from the saved state before it, and fails the mains there. */
function momentAt(outages: Outages, saved: readonly Float64Array[], tick: number): Moment {
  const { clock } = outages.unit.layout;
  const state = (saved.findLast((y) => y[clock.tick] < tick) ?? saved[0]).slice();
  if (tick - 1 > state[clock.tick]) outages.engine.advance(state, tick - 1, { sampleTicks: 0 });
  return { tick, state, answer: outages.fail(state, tick) };
}

/** Puts a moment in the middle between one and the next. */
function halve(outages: Outages, saved: readonly Float64Array[], moments: Moment[], place: number): void {
  const { tick } = moments[place];
  const middle = tick + Math.floor((moments[place + 1].tick - tick) / 2);
  moments.splice(place + 1, 0, momentAt(outages, saved, middle));
}

/** The first moment of which something holds, to within some ticks of when it begins to. */
function firstThat(
  outages: Outages,
  saved: readonly Float64Array[],
  moments: Moment[],
  holds: (m: Moment) => boolean,
  within: number,
): Moment | undefined {
  let at = moments.findIndex(holds);
  while (at > 0 && moments[at].tick - moments[at - 1].tick > Math.max(2, within)) {
    halve(outages, saved, moments, at - 1);
    if (!holds(moments[at])) at++;
  }
  return moments[at];
}

const leastOf = (moments: readonly Moment[]): Moment =>
  moments.reduce((a, b) => (b.answer.spare < a.answer.spare ? b : a));

const without = (seen: readonly Seen[], code: number) => seen.filter((e) => e.code !== code);

/** Whether a service went as the sound one did, as far as it was followed. */
function isAlike(one: Followed, sound: Followed): boolean {
  const events = without(one.seen, EventCode.alarmRaised);
  const others = without(sound.seen, EventCode.alarmRaised).filter((e) => e.tick <= one.endTick);
  // A fault cuts a step where it begins; what that changes shifts later instants by little.
  const near = (a: number, b: number) => Math.abs(a - b) <= 1e-3 * Math.max(a, b);
  const common = Math.min(events.length, others.length);
  for (let k = 0; k < common; k++) {
    const [a, b] = [events[k], others[k]];
    if (a.code !== b.code || a.item !== b.item || !near(a.tick, b.tick)) return false;
  }
  if (![...events.slice(common), ...others.slice(common)].every((e) => near(e.tick, one.endTick))) return false;
  return (
    one.least_Pa >= sound.least_Pa * (1 - 1e-5) &&
    one.most_Pa <= sound.most_Pa * (1 + 1e-5) &&
    one.least_m3 >= sound.least_m3 - 1e-6 &&
    one.most_m3 <= sound.most_m3 + 1e-6
  );
}

function alarmOf(unit: Unit, item: number): string {
  const { tag, text } = unit.panel.alarms[item];
  return alarmName(tag, text);
}

/** What a fault does in service, in a phrase: the gravest thing that sound service does not do, and what became of the tank. */
function localEffect(one: Followed, sound: Followed, unit: Unit, units: UnitSystem): string {
  const { plant } = unit;
  const motors = [...plant.pumps, ...plant.compressors];
  const did = (of: Followed, code: number) => of.seen.filter((e) => e.code === code && e.tick <= one.endTick);
  const from = one.seen[0]?.tick ?? 0;
  /** The first event of a kind that the sound service has not, or much later. */
  const news = (code: number) => {
    const before = did(sound, code);
    const [here] = did(one, code);
    if (!ENDS.has(code)) return did(one, code).find((e) => before.every((b) => b.item !== e.item));
    return before.length === 0 || here === undefined || here.tick - from < 0.8 * (before[0].tick - from)
      ? here
      : undefined;
  };
  const said: string[] = [];
  const say = (code: number, words: (item: number) => string) => {
    const event = news(code);
    if (event !== undefined) said.push(words(event.item));
  };
  say(EventCode.gasBreakthrough, () => 'tank runs empty, gas in the header');
  say(EventCode.tankFull, () => 'tank fills with oil');
  say(EventCode.outletShut, () => 'outlet shuts on low level');
  say(EventCode.sumpOverflows, () => 'sump runs over');
  say(EventCode.suctionLost, () => 'sump is pumped dry');
  say(EventCode.safetyValveOpen, () => `${plant.safetyValve?.tag ?? 'safety valve'} blows`);
  say(EventCode.relayTripped, (m) => `${motors[m].tag} trips on overload`);
  say(EventCode.motorFailed, (m) => `${motors[m].tag} is not proven`);
  say(EventCode.motorTripped, (m) => `${motors[m].tag} trips`);
  say(EventCode.valvePushedBack, (v) => `${plant.valves[v].tag} is pushed back`);
  say(EventCode.valveDrifting, (v) => `${plant.valves[v].tag} drifts`);
  const still = did(sound, EventCode.valveMoving).find((e) =>
    did(one, EventCode.valveMoving).every((o) => o.item !== e.item),
  );
  if (still !== undefined) said.push(`${plant.valves[still.item].tag} does not move`);
  const counted = motors.map((m, k) => ({
    tag: m.tag,
    more: startsOf(one, k, one.endTick) - startsOf(sound, k, one.endTick),
    had: startsOf(sound, k, one.endTick),
  }));
  const stops = counted.find((c) => c.had > 0 && c.more === -c.had);
  const starts = counted.find((c) => c.had === 0 && c.more > 0);
  const often = counted.find((c) => c.had > 0 && c.more > Math.max(1, c.had / 2));
  if (starts !== undefined) said.push(`${starts.tag} starts`);
  if (stops !== undefined) said.push(`${stops.tag} does not start`);
  if (starts === undefined && often !== undefined)
    said.push(`${often.tag} starts ${often.had + often.more} times, not ${often.had}`);
  const span_Pa = Math.max(0.01 * sound.most_Pa, 0.1 * (sound.most_Pa - sound.least_Pa));
  const span_m3 = 0.01 * plant.tank.volume_m3;
  const pressure = (p: number) => formatQuantity(p, 'pressure', units, plant.ambientPressure_Pa);
  const level = (oil: number) =>
    formatQuantity(plant.tank.vessel.levelAt(oil) - plant.tank.sightGlassZero_m, 'length', units);
  if (one.least_Pa < sound.least_Pa - span_Pa) said.push(`pressure falls to ${pressure(one.least_Pa)}`);
  else if (one.most_Pa > sound.most_Pa + span_Pa) said.push(`pressure rises to ${pressure(one.most_Pa)}`);
  if (one.least_m3 < sound.least_m3 - span_m3) said.push(`level falls to ${level(one.least_m3)}`);
  else if (one.most_m3 > sound.most_m3 + span_m3) said.push(`level rises to ${level(one.most_m3)}`);
  if (said.length === 0) return isAlike(one, sound) ? 'none in service' : 'machines turn at other times';
  return said.slice(0, 3).join('; ');
}

const startsOf = (of: Followed, motor: number, to: number): number =>
  of.seen.filter((e) => e.code === EventCode.motorStarted && e.item === motor && e.tick <= to).length;
