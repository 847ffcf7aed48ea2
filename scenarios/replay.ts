/** Replay of a scenario: run it, judge it, count the reserve, and put it all into one result. */
import { gaugeShortcutOil, usableOil } from '../models/air.ts';
import type { Subject } from '../models/condition.ts';
import { valvePosition } from '../models/drive.ts';
import { EventCode } from '../models/events.ts';
import { AlarmState, delayTicks } from '../models/panel.ts';
import type { Plant } from '../models/plant.ts';
import { ownPlant } from '../models/refit.ts';
import { StepEnd } from '../models/step.ts';
import { createUnit } from '../models/unit.ts';
import { createEngine, type EngineOptions, type Work } from '../sim/engine.ts';
import { type BuildOptions, buildPlant } from './build.ts';
import { conditionNames, readExpectation } from './condition.ts';
import { eventWords } from './eventText.ts';
import { findFindings } from './findings.ts';
import type { Scenario } from './load.ts';
import { countReserve } from './reserve.ts';
import {
  type AlarmResult,
  CAUTIONS,
  type FaultResult,
  type Finding,
  type MachineDuty,
  RESULT_SCHEMA_VERSION,
  type ReserveResult,
  type Result,
  type StepReading,
  type StepResult,
  type StrokeResult,
} from './result.ts';
import { defaultDuration, type RunRecord, runPlant, runUnit } from './run.ts';
import { staircase } from './staircase.ts';
import { tankState } from './tankState.ts';
import type { Trace, TraceSink } from './trace.ts';
import { formatQuantity, type UnitSystem } from './units.ts';
import { type AccuracyEffect, judge, marginOf, outcomeOf } from './verdict.ts';
import { VERSION } from './version.ts';
import { alarmName } from './wording.ts';

export interface ReplayOptions extends EngineOptions {
  readonly units?: UnitSystem;
  /** Period of trace rows, s; that of the file when left out. */
  readonly sample_s?: number;
  /** Whether trace rows are kept, or where they go as they come; kept when left out. */
  readonly trace?: boolean | TraceSink;
  /** Told now and then how much of the run is done, 0..1. */
  readonly onProgress?: (share: number) => void;
  /** Told the verdict when it is known; what the result has besides takes a while longer. */
  readonly onVerdict?: (verdict: Result['verdict']) => void;
}

export interface Replay {
  readonly result: Result;
  readonly trace: Trace | undefined;
  /** The run itself, for whoever wants to go on from it. */
  readonly run: RunRecord;
}

/** Findings of a scenario without running it. */
export function checkScenario(scenario: Scenario, units: UnitSystem = 'us'): readonly Finding[] {
  return findFindings({ values: scenario.values, plant: scenario.plant, units, place: scenario.place });
}

/** Runs a scenario and judges it. Errors: ProgramFault when the program is at fault. */
export function replay(scenario: Scenario, options: ReplayOptions = {}): Replay {
  const units = options.units ?? 'us';
  const { values, plant } = scenario;
  const toTick = delayTicks(values.run.duration ?? defaultDuration(plant), plant.tick_s);
  const sampleTicks = Math.max(1, Math.round((options.sample_s ?? values.run.sample) / plant.tick_s));
  const work: Work = options.work ?? { spent: 0, limit: values.run.workLimit };
  const shared = { ...options, toTick, work };
  const run = runPlant(plant, { ...shared, sampleTicks, trace: options.trace ?? true });
  const short: string[] = [];
  const note = (part: string) => {
    if (work.spent >= work.limit) short.push(part);
  };
  if (run.stop === 'work limit') short.push('');
  const strokes = judge(run, units, accuracyEffect(scenario, run, shared));
  note('it was known how far the stated accuracies reach');
  const steps = stepResults(scenario, run, units);
  // Past the work limit the verdict may change with what it comes before.
  const verdict = () => verdictOf(scenario, run, { strokes, steps, work, before: short[0], toTick }, units);
  options.onVerdict?.(verdict());
  const faults = faultResults(run, shared);
  note('it was known which alarms reveal the faults');
  const reserve = reserveOf(run, units, strokes, short.length > 0);
  note('the reserve was counted');
  return {
    result: assemble(
      scenario,
      run,
      { verdict: verdict(), steps, faults, reserve, work, limitReached: short.length > 0 },
      units,
    ),
    trace: run.trace,
    run,
  };
}

/**
 * How much margin the stated accuracies can take from each stroke: the run repeated with the gauge reading low, the level
 * reading high and low, and every switch making early and late; the losses of the worse of each pair added up.
 */
function accuracyEffect(
  scenario: Scenario,
  nominal: RunRecord,
  options: EngineOptions & { toTick: number },
): AccuracyEffect {
  const { values, plant } = scenario;
  const gauge = values.start.gaugeAccuracy;
  const level = values.start.levelAccuracy;
  const pairs: BuildOptions[][] = [];
  if (gauge > 0) pairs.push([{ pressureError_Pa: -gauge }]);
  if (level > 0) pairs.push([{ levelError_m: level }, { levelError_m: -level }]);
  if (plant.panel.contacts.some((c) => c.accuracy > 0))
    pairs.push([{ contactErrors: 'low' }, { contactErrors: 'high' }]);
  if (pairs.length === 0) return () => 0;
  const how = { ...options, sampleTicks: 0, trace: false, events: false, strokesOnly: true };
  // One unit for all of them: only numbers differ.
  const own = ownPlant(plant);
  const unit = createUnit(own.plant);
  const engine = createEngine(unit, how);
  const runs = pairs.map((pair) =>
    pair
      .map((o) => buildPlant(values, () => {}, { ...o, like: plant, likeValues: values }))
      .map((p): RunRecord | undefined => {
        if (p === undefined) return undefined;
        if (!own.take(p)) return runPlant(p, how);
        unit.refit();
        engine.refit();
        return runUnit(unit, engine, how);
      }),
  );
  const marginIn = (run: RunRecord | undefined, valve: number, stroke: number): number => {
    // An accuracy that reaches as far as no air or no room for it leaves nothing certain.
    if (run === undefined) return -Infinity;
    const record = run.strokes.findLast((r) => r.valve === valve && r.stroke === stroke);
    const end_s = run.end[run.unit.layout.clock.tick] * plant.tick_s;
    const gas = run.end[run.unit.slots.gasInHeader] === 1 && (record === undefined || record.ended_s < 0);
    if (record === undefined || outcomeOf(plant.valves[valve], record, gas, end_s) !== 'completed') return -Infinity;
    return marginOf(plant.valves[valve], record).value ?? Infinity;
  };
  return (valve, stroke) => {
    const best = marginIn(nominal, valve, stroke);
    let loss = 0;
    for (const pair of runs) {
      const worst = Math.min(...pair.map((run) => marginIn(run, valve, stroke)));
      if (worst === -Infinity) return Infinity;
      if (worst < best) loss += best - worst;
    }
    return loss;
  };
}

/** What came of each step, and whether it read as expected. */
function stepResults(scenario: Scenario, run: RunRecord, units: UnitSystem): StepResult[] {
  const { unit } = run;
  const { plant, slots, panel } = unit;
  const ambient = plant.ambientPressure_Pa;
  const motors = [...plant.pumps, ...plant.compressors];
  const names = conditionNames({ valves: plant.valves.map((v) => v.tag), motors: motors.map((m) => m.tag) });
  const readingOf = (y: Float64Array, subject: Subject): number => {
    switch (subject.kind) {
      case 'pressure':
        return unit.gasPressure(y);
      case 'level':
        return unit.level(y) - plant.tank.sightGlassZero_m;
      case 'sumpLevel':
        return y[slots.sump] / plant.sump.area_m2;
      case 'position':
        return y[slots.x + subject.item];
      case 'running':
        return y[panel.slots.running + subject.item];
      default:
        return y[panel.slots.mains];
    }
  };
  return plant.steps.map(({ text }, n): StepResult => {
    const began = run.events.find((e) => e.code === EventCode.stepBegins && e.item === n);
    const ended = run.events.find((e) => e.code === EventCode.stepEnds && e.item === n);
    const state = run.stepStates.get(n);
    const readings = scenario.values.steps[n].expect.map((written): StepReading => {
      const want = readExpectation(written, names, ambient);
      if ('problem' in want || state === undefined)
        return { what: written.what, expected: written.reads, got: '-', asExpected: false };
      const got = readingOf(state, want.subject);
      const show = (x: number) =>
        want.dimension === undefined ? (x === 1 ? 'yes' : 'no') : formatQuantity(x, want.dimension, units, ambient);
      return {
        what: written.what,
        expected: show(want.value),
        got: show(got),
        asExpected: Math.abs(got - want.value) <= want.within,
      };
    });
    const done = ended !== undefined && ended.value === StepEnd.asMeant;
    return {
      text,
      began_s: began?.time_s,
      ended_s: ended?.time_s,
      done,
      readings,
      asExpected: done && readings.every((r) => r.asExpected),
    };
  });
}

/** Raised without a fault within this time of being raised with it, an alarm does not reveal the fault (choice), s. */
const SAME_ALARM_s = 1;

/**
 * What became of each fault, and which alarm revealed it: found by running the same once more without it. An alarm reveals
 * a fault when it is raised with it and, by that time, has not been raised as often without it.
 */
function faultResults(run: RunRecord, options: EngineOptions & { toTick: number; work: Work }): FaultResult[] {
  const { plant } = run.unit;
  const raised = (of: RunRecord) =>
    of.events
      .filter((e) => e.code === EventCode.alarmRaised)
      .map((e) => ({
        tag: of.unit.panel.alarms[e.item].tag,
        text: of.unit.panel.alarms[e.item].text,
        time_s: e.time_s,
      }));
  const withAll = raised(run);
  return plant.faults.map(({ text }, n): FaultResult => {
    const began = run.events.find((e) => e.code === EventCode.faultBegins && e.item === n)?.time_s;
    const ended = run.events.find((e) => e.code === EventCode.faultEnds && e.item === n)?.time_s;
    const unrevealed = { text, began_s: began, ended_s: ended, revealedBy: undefined, revealedAt_s: undefined };
    // Without room for a run, a thousand faults need not be tried one by one.
    if (began === undefined || options.work.spent >= options.work.limit) return { ...unrevealed, examined: false };
    const sound: Plant = { ...plant, faults: plant.faults.filter((_, k) => k !== n) };
    const other = runPlant(sound, { ...options, sampleTicks: 0, trace: false });
    if (other.stop === 'work limit') return { ...unrevealed, examined: false };
    const withIt = counter(withAll);
    const without = counter(raised(other));
    const by = withAll.find(
      ({ tag, time_s }) => time_s >= began && withIt(tag, time_s) > without(tag, time_s + SAME_ALARM_s),
    );
    if (by === undefined) return { ...unrevealed, examined: true };
    return { ...unrevealed, revealedBy: alarmName(by.tag, by.text), revealedAt_s: by.time_s, examined: true };
  });
}

/** How often a tag is in the list up to a time, for a list in order of time and for times that only grow. */
function counter(list: readonly { readonly tag: string; readonly time_s: number }[]) {
  const counts = new Map<string, number>();
  let next = 0;
  return (tag: string, until_s: number): number => {
    for (; next < list.length && list[next].time_s <= until_s; next++)
      counts.set(list[next].tag, (counts.get(list[next].tag) ?? 0) + 1);
    return counts.get(tag) ?? 0;
  };
}

interface Judged {
  readonly strokes: readonly StrokeResult[];
  readonly steps: readonly StepResult[];
  readonly work: Work;
  /** What the work limit came before: empty for the end of the run, undefined where it was not reached. */
  readonly before: string | undefined;
  readonly toTick: number;
}

function verdictOf(
  scenario: Scenario,
  run: RunRecord,
  { strokes, steps, work, before, toTick }: Judged,
  units: UnitSystem,
): Result['verdict'] {
  const asked = strokes.length + steps.length > 0;
  const met = asked && strokes.every((s) => s.met) && steps.every((s) => s.asExpected) && before === undefined;
  const { tick_s } = scenario.plant;
  return {
    met,
    text:
      before === undefined
        ? verdictText(strokes, steps, met) + chargeText(scenario, run, units)
        : workLimitText(before, endOf(run), toTick * tick_s, work.limit, units),
    strokes,
  };
}

/** When a run ended, s. */
function endOf({ unit, end }: RunRecord): number {
  const { clock } = unit.layout;
  return end[clock.tick] * unit.plant.tick_s + end[clock.offset];
}

interface Parts {
  readonly verdict: Result['verdict'];
  readonly steps: readonly StepResult[];
  readonly faults: readonly FaultResult[];
  readonly reserve: ReserveResult;
  readonly work: Work;
  readonly limitReached: boolean;
}

function assemble(
  scenario: Scenario,
  run: RunRecord,
  { verdict, steps, faults, reserve, work, limitReached }: Parts,
  units: UnitSystem,
): Result {
  const { values, plant } = scenario;
  const { unit, start, end } = run;
  const { slots, layout, panel } = unit;
  const zero = plant.tank.sightGlassZero_m;
  const end_s = endOf(run);
  const motors = [...plant.pumps, ...plant.compressors];
  const selectors = Object.fromEntries(motors.map((m) => [m.tag, ['off', 'auto', 'hand'][m.selector]]));
  const hours = end_s / 3600;
  const rhoAmbient = plant.ambientPressure_Pa / (287.0528 * plant.ambientTemperature_K);
  const duty = motors.map((m, k): MachineDuty => {
    const isPump = k < plant.pumps.length;
    let ticks = end[panel.slots.runTicks + k];
    if (end[panel.slots.running + k] === 1)
      ticks += end[layout.clock.tick] - Math.max(0, end[panel.slots.startTick + k]);
    const starts = end[panel.slots.starts + k];
    return {
      tag: m.tag,
      kind: isPump ? 'pump' : 'compressor',
      starts,
      runTime_s: ticks * plant.tick_s,
      startsPerHour: hours > 0 ? starts / hours : 0,
      energy_J: end[slots.motorEnergy + k],
      condensate_kg: isPump ? 0 : end[slots.condensate + k - plant.pumps.length],
      moved_m3: isPump ? end[slots.pumped + k] : end[slots.compressed + k - plant.pumps.length] / rhoAmbient,
      ranBack_m3: isPump ? end[slots.ranBack + k] : 0,
    };
  });
  const alarms = panel.alarms.flatMap((a, k): AlarmResult[] => {
    const state = end[panel.slots.alarmState + k];
    if (state === AlarmState.normal) return [];
    const words = ['', 'unacknowledged', 'acknowledged', 'returned, not acknowledged'] as const;
    return [{ tag: a.tag, text: a.text, state: words[state] as AlarmResult['state'] }];
  });
  return {
    schemaVersion: RESULT_SCHEMA_VERSION,
    program: `tripstroke ${VERSION}`,
    title: values.title,
    file: scenario.file,
    seed: values.seed,
    overrides: scenario.overrides.map(({ path, before, after }) => ({ path, before, after })),
    units,
    site: { ambientPressure_Pa: plant.ambientPressure_Pa, ambientTemperature_K: plant.ambientTemperature_K },
    start: {
      pressure_Pa: plant.start.gasPressure_Pa,
      level_m: unit.level(start) - zero,
      oil_m3: plant.start.oilVolume_m3,
      vessel_m3: plant.tank.volume_m3,
      air_m3: plant.tank.volume_m3 - plant.start.oilVolume_m3,
      usableOil_m3: Math.max(0, plant.start.oilVolume_m3 - plant.tank.outletVolume_m3),
      levelPerKelvin_m: levelPerKelvin(plant, plant.start.oilVolume_m3),
      airTemperature_K: plant.start.gasTemperature_K,
      wallTemperature_K: plant.start.wallTemperature_K,
      running: plant.start.running,
      selectors,
      note: 'Holds for this start state and this moment of the failure; other moments were not examined.',
    },
    verdict,
    reserve,
    staircase: staircase(values, plant),
    findings: findFindings({ values, plant, units, place: scenario.place }, { run, strokes: verdict.strokes }),
    steps,
    faults,
    alarms,
    duty,
    end: {
      time_s: end_s,
      stop: run.stop === 'reached' ? 'end of the run' : run.stop,
      pressure_Pa: unit.gasPressure(end),
      level_m: unit.level(end) - zero,
      oil_m3: end[slots.oil],
      levelPerKelvin_m: levelPerKelvin(plant, end[slots.oil]),
      airTemperature_K: unit.gasTemperature(end),
      wallTemperature_K: end[slots.wall],
      air_kg: end[slots.airMass],
      dissolvedAir_kg: end[slots.dissolved],
      spilled_m3: end[slots.oilLeaked] + end[slots.overflowed],
      overflowed_m3: end[slots.overflowed],
      positions: Object.fromEntries(plant.valves.map((v, i) => [v.tag, valvePosition(v.drive, end[slots.x + i])])),
      tripStands: end[unit.trip.slots.undervoltage] === 1,
    },
    extremes: {
      leastHeaderPressure_Pa: run.extremes.header_s < 0 ? undefined : run.extremes.header_Pa,
      leastHeaderPressureAt_s: run.extremes.header_s < 0 ? undefined : run.extremes.header_s,
      highestTankPressure_Pa: run.extremes.tank_Pa,
      highestTankPressureAt_s: run.extremes.tank_s,
    },
    work: { spent: work.spent, limit: work.limit, limitReached },
    ledger: { worstAccount: run.worst.account, worstRelative: run.worst.relative, steps: end[layout.clock.steps] },
    events: run.events.map((e) => ({
      time_s: e.time_s,
      code: e.code,
      ...eventWords(unit, e.code, e.item, e.value, e.other, units),
      pressure_Pa: e.pressure_Pa,
      level_m: plant.tank.vessel.levelAt(e.oil_m3) - zero,
    })),
    cautions: CAUTIONS,
  };
}

/** Rise of the level, m, for each kelvin that the oil of the tank is warmer. */
function levelPerKelvin({ tank, oil }: Plant, volume_m3: number): number {
  const half = (volume_m3 * oil.expansion_1_K) / 2;
  return tank.vessel.levelAt(volume_m3 + half) - tank.vessel.levelAt(volume_m3 - half);
}

/** Names a tank that was short of air or of oil when the mains were lost. */
function chargeText({ values, plant }: Scenario, run: RunRecord, units: UnitSystem): string {
  const lost = run.events.find((e) => e.code === EventCode.mainsLost);
  if (lost === undefined) return '';
  const charge = tankState(values, plant, units, lost.oil_m3, lost.pressure_Pa);
  return charge === undefined ? '' : ` The tank was ${charge.name} when the mains were lost: ${charge.why}.`;
}

/** What the work limit has cut short, and what to do about it. */
function workLimitText(before: string, at_s: number, to_s: number, limit: number, units: UnitSystem): string {
  const time = (s: number) => formatQuantity(s, 'time', units);
  const reached = before === '' ? `${time(at_s)} into a run of ${time(to_s)}` : `before ${before}`;
  return `The work limit was reached ${reached}, so nothing is proven. Shorten the run, ask for fewer trace rows (run.sample), or raise the limit: run.workLimit is ${limit} now.`;
}

function verdictText(strokes: readonly StrokeResult[], steps: readonly StepResult[], met: boolean): string {
  const good = steps.filter((s) => s.asExpected).length;
  const bySteps = steps.length === 0 ? '' : `${good} of ${steps.length} steps went as expected.`;
  if (strokes.length === 0)
    return bySteps === '' ? 'No trip stroke is required of any valve, so nothing was proven.' : bySteps;
  return `${strokesText(strokes, met || strokes.every((s) => s.met))}${bySteps === '' ? '' : ` ${bySteps}`}`;
}

function strokesText(strokes: readonly StrokeResult[], met: boolean): string {
  const valves = new Set(strokes.map((s) => s.valve)).size;
  const what = `${strokes.length} trip stroke${strokes.length === 1 ? '' : 's'} of ${valves} valve${valves === 1 ? '' : 's'}`;
  if (met) {
    const worst = strokes.reduce((a, b) => ((b.margin ?? Infinity) < (a.margin ?? Infinity) ? b : a));
    const least =
      worst.margin === undefined
        ? ''
        : `; least margin ${(worst.margin * 100).toFixed(1)} % (${worst.marginOf}, ${worst.valve})`;
    return strokes.length === 1
      ? `The required ${what.slice(2)} is complete${least}.`
      : `All ${what} are complete${least}.`;
  }
  const bad = strokes.filter((s) => !s.met);
  return `${bad.length} of ${what} ${bad.length === 1 ? 'does' : 'do'} not meet the requirement: ${bad.map((s) => `${s.valve} ${s.tooCloseToCall ? 'too close to call' : s.outcome === 'completed' ? 'margin too small' : s.outcome}`).join(', ')}.`;
}

function reserveOf(
  run: RunRecord,
  units: UnitSystem,
  strokes: readonly StrokeResult[],
  workLimit: boolean,
): ReserveResult {
  const { unit, afterSet } = run;
  const { plant, slots } = unit;
  const state = afterSet ?? run.end;
  const left = {
    usableOil_m3: Math.max(0, state[slots.oil] - plant.tank.outletVolume_m3),
    pressure_Pa: unit.gasPressure(state),
  };
  const { start } = plant;
  const air = plant.tank.volume_m3 - start.oilVolume_m3;
  const lowest = left.pressure_Pa;
  const between =
    lowest < start.gasPressure_Pa && lowest > plant.ambientPressure_Pa
      ? ` Between the start and the pressure left, the gauge shortcut promises ${formatQuantity(gaugeShortcutOil(air, start.gasPressure_Pa, lowest, plant.ambientPressure_Pa), 'volume', units)} of oil, a slow discharge gives ${formatQuantity(usableOil(air, start.gasPressure_Pa, lowest, 1), 'volume', units)}, a fast one ${formatQuantity(usableOil(air, start.gasPressure_Pa, lowest, 1.4), 'volume', units)}.`
      : '';
  if (strokes.length === 0)
    return {
      ...left,
      completeSets: undefined,
      furtherStrokes: 0,
      more: false,
      reason: 'Nothing is required, so no reserve was counted.',
    };
  const reserve = workLimit || afterSet === undefined ? undefined : countReserve(unit, run.engine, afterSet);
  if (reserve === undefined && (workLimit || afterSet !== undefined)) {
    return {
      ...left,
      completeSets: undefined,
      furtherStrokes: 0,
      more: false,
      reason: 'Not counted: the work limit was reached.',
    };
  }
  if (reserve === undefined) {
    return {
      ...left,
      completeSets: undefined,
      furtherStrokes: 0,
      more: false,
      reason: 'None: the required set itself did not end with the mains off.',
    };
  }
  const sets = `${reserve.completeSets} more complete set${reserve.completeSets === 1 ? '' : 's'}`;
  const beyond =
    reserve.furtherStrokes > 0
      ? ` and ${reserve.furtherStrokes} single stroke${reserve.furtherStrokes === 1 ? '' : 's'}`
      : '';
  const failed = reserve.failed;
  const why = reserve.more
    ? 'The count was stopped there.'
    : failed === undefined
      ? ''
      : failed.gas
        ? `Then gas reaches the header while ${failed.valve} ${failed.direction > 0 ? 'opens' : 'closes'}.`
        : failed.shut
          ? `Then the outlet shuts by itself while ${failed.valve} ${failed.direction > 0 ? 'opens' : 'closes'}.`
          : `Then ${failed.valve} fails to ${failed.direction > 0 ? 'open' : 'close'} (at ${(failed.position * 100).toFixed(0)} % open).`;
  return {
    ...left,
    completeSets: reserve.completeSets,
    furtherStrokes: reserve.furtherStrokes,
    more: reserve.more,
    reason: `${sets}${beyond}, return strokes included. ${why}${between}`,
  };
}
