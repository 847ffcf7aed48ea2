/**
 * Power failures from saved states of one plant, judged in numbers: what every other study is made of. Nothing is
 * rebuilt between two failures; a state is copied, the tick of the failure is written into it, and the engine goes on.
 */
import { drawsOil } from '../models/motion.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit, type Unit } from '../models/unit.ts';
import { LARGEST } from '../scenarios/magnitude.ts';
import type { Outcome, StrokeResult } from '../scenarios/result.ts';
import { closedLedger, type RunEvent, runEvent } from '../scenarios/run.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { createRecorder, hasEndedSet, type StrokeRecord, type StrokeRecorder } from '../scenarios/strokes.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import { judge, marginOf, outcomeOf } from '../scenarios/verdict.ts';
import { createEngine, type Engine, type EngineOptions, type Observer } from '../sim/engine.ts';

/** One required stroke after a failure. */
export interface StrokeAnswer {
  readonly valve: number;
  /** From 1. */
  readonly stroke: number;
  readonly outcome: Outcome;
  /**
   * Margin beyond the one wanted: 0 or more where the requirement is met, below 0 where it is not. A completed stroke: its
   * margin (the smaller of force and time) less the wanted one. A late one: its time margin, negative, less that. One that
   * has not ended is later than any: the time margin it has come to, and what it lacks of its way, less that. So the less,
   * the worse. One that ended and does not count for another reason stands next to nothing under 0.
   */
  readonly spare: number;
  /** Margin of a completed stroke; NaN of any other. Infinity where the load helps and no time is stated. */
  readonly margin: number;
  readonly of: 'force' | 'time' | undefined;
}

export interface OutageAnswer {
  readonly met: boolean;
  /** Least spare margin of all required strokes; Infinity where nothing is required. */
  readonly spare: number;
  /** The stroke that has it. */
  readonly worst: StrokeAnswer | undefined;
  readonly strokes: readonly StrokeAnswer[];
  readonly steps: number;
}

const turnsMains = (action: string): boolean => action === 'lose mains' || action === 'restore mains';

/** The plant as it is in normal service: nobody takes the mains away or brings them back. */
export function inService(plant: Plant): Plant {
  return { ...plant, actions: plant.actions.filter((a) => !turnsMains(a.action)) };
}

/** Longest time, s, from the failure to when every required stroke has had its time. */
export function outageSpan(plant: Plant): number {
  const { tick_s, power, valves } = plant;
  let longest = 0;
  for (const v of valves) {
    if (v.require === undefined) continue;
    const each = v.require.longest_s;
    const pauses = Math.max(0, v.strokes.length - 1) * v.pause_ticks * tick_s;
    const from = v.tripByControl ? power.controlHeld_ticks : power.undervoltage_ticks;
    longest = Math.max(
      longest,
      (from + v.tripDelay_ticks) * tick_s + v.strokes.length * each + pauses + v.require.hold_s,
    );
  }
  return longest + 5;
}

/** Trace rows that a long replay keeps at most (choice): a day at 4 s. */
const MOST_ROWS = 21_600;
/** When the mains come back in a replay without that: the latest time that a file may give, s. */
const LATEST_s = LARGEST.time;

/**
 * Overrides with which a failure late in service is replayed whole: as long as it takes, with fewer trace rows, and with nobody
 * else to turn the mains.
 */
export function lateOverrides(values: ScenarioValues, plant: Plant, lostAt_s: number): string[] {
  const end_s = Math.ceil(lostAt_s + outageSpan(plant));
  const sample_s = Math.ceil(end_s / MOST_ROWS);
  const others = values.actions.filter((a) => !turnsMains(a.do));
  const written = others.map(
    (a) => `{ at: ${a.at} s, do: ${a.do}${a.item === undefined ? '' : `, item: '${a.item.replaceAll("'", "''")}'`} }`,
  );
  return [
    ...(others.length === values.actions.length ? [] : [`actions=[${written.join(', ')}]`]),
    ...(values.power.backAt === undefined ? [] : [`power.backAt=${LATEST_s} s`]),
    // A length that the file gives may end before the failure.
    ...(values.run.duration === undefined ? [] : [`run.duration=${end_s} s`]),
    ...(sample_s > 1 && sample_s > values.run.sample ? [`run.sample=${sample_s} s`] : []),
  ];
}

export interface Outages {
  readonly unit: Unit;
  readonly engine: Engine;
  /** Fails the mains of a copy of a state at a tick not before the next. The answer is what becomes of the required set. */
  fail(state: Float64Array, tick: number): OutageAnswer;
  /** The same failure, judged in words; what the stated accuracies can take is left out. */
  tell(state: Float64Array, tick: number, units: UnitSystem): StrokeResult[];
  /** To be called when the numbers of the plant have been taken from another. */
  refit(): void;
}

/** Failures of one plant, which should be one in service. Errors: ProgramFault when the program is at fault. */
export function createOutages(plant: Plant, options: EngineOptions = {}): Outages {
  const unit = createUnit(plant);
  const engine = createEngine(unit, options);
  const { layout, slots } = unit;
  const { clock } = layout;
  const y = new Float64Array(layout.size);
  let span_ticks = 0;
  let hold_s = 0;
  function measure(): void {
    span_ticks = Math.ceil(outageSpan(plant) / plant.tick_s);
    hold_s = Math.max(0, ...plant.valves.map((v) => v.require?.hold_s ?? 0));
  }
  measure();

  function refit(): void {
    measure();
    unit.refit();
    engine.refit();
  }

  function answer(i: number, k: number, record: StrokeRecord | undefined, lost_s: number, end_s: number): StrokeAnswer {
    const v = plant.valves[i];
    const wanted = v.require?.margin ?? 0;
    const gas = y[slots.gasInHeader] === 1 && drawsOil(v, v.strokes[k]) && (record === undefined || record.ended_s < 0);
    const outcome = outcomeOf(v, record, gas, end_s);
    const stroke = k + 1;
    const longest_s = v.require?.longest_s ?? Infinity;
    const under = (by: number): StrokeAnswer => {
      const spare = Math.min(0, by) - 1e-9 - wanted;
      return { valve: i, stroke, outcome, spare, margin: Number.NaN, of: undefined };
    };
    if (record === undefined) return under(1 - (end_s - lost_s) / longest_s - 1);
    if (outcome === 'completed') {
      const { value, of } = marginOf(v, record);
      const margin = value ?? Infinity;
      return { valve: i, stroke, outcome, spare: margin - wanted, margin, of };
    }
    const ended = record.ended_s >= 0;
    if (ended && outcome !== 'late') return under(0);
    const time_s = (ended ? record.ended_s : end_s) - record.commanded_s;
    return under(1 - time_s / longest_s - (ended ? 0 : 1 - travelled(i, k, record)));
  }

  /** Share of its way that a stroke has made. */
  function travelled(i: number, k: number, record: StrokeRecord): number {
    const v = plant.valves[i];
    const from = k === 0 ? v.position : v.targets[k - 1];
    const way = Math.abs(record.target - from);
    return way === 0 ? 1 : Math.min(1, Math.max(0, 1 - Math.abs(record.target - record.position) / way));
  }

  /** Fails the mains of a copy of a state; y is what it comes to. */
  function run(state: Float64Array, tick: number, seen: Observer['event']): StrokeRecorder {
    y.set(state);
    y[slots.cutAt] = tick;
    y[clock.planned] = 0;
    const recorder = createRecorder(unit);
    const event: Observer['event'] = (...happened) => {
      recorder.event(...happened);
      seen?.(...happened);
    };
    let allEnded_s = -1;
    engine.advance(y, tick + span_ticks, { sampleTicks: 0, event }, () => {
      if (!hasEndedSet(unit, y)) return false;
      const now = y[clock.tick] * plant.tick_s + y[clock.offset];
      if (allEnded_s < 0) allEnded_s = now;
      return now - allEnded_s >= hold_s + plant.tick_s;
    });
    recorder.end(y);
    closedLedger(unit, state, y);
    return recorder;
  }

  function fail(state: Float64Array, tick: number): OutageAnswer {
    const stepsBefore = state[clock.steps];
    const recorder = run(state, tick, undefined);
    const end_s = y[clock.tick] * plant.tick_s;
    const strokes: StrokeAnswer[] = [];
    plant.valves.forEach((v, i) => {
      if (v.require === undefined) return;
      for (let k = 0; k < v.strokes.length; k++) {
        strokes.push(
          answer(
            i,
            k,
            recorder.strokes.findLast((r) => r.valve === i && r.stroke === k + 1),
            tick * plant.tick_s,
            end_s,
          ),
        );
      }
    });
    let worst: StrokeAnswer | undefined;
    for (const s of strokes) if (worst === undefined || s.spare < worst.spare) worst = s;
    const spare = worst?.spare ?? Infinity;
    return { met: spare >= 0, spare, worst, strokes, steps: y[clock.steps] - stepsBefore };
  }

  function tell(state: Float64Array, tick: number, units: UnitSystem): StrokeResult[] {
    const events: RunEvent[] = [];
    const { strokes } = run(state, tick, (...happened) => void events.push(runEvent(unit, ...happened)));
    return judge({ unit, end: y, strokes, events }, units, () => 0);
  }

  return { unit, engine, fail, tell, refit };
}
