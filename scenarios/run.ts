/** One run of a plant from start to end: events, strokes, trace rows, ledger. No words and no judgement. */
import { EventCode } from '../models/events.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit, type Unit } from '../models/unit.ts';
import { createEngine, type Engine, type EngineOptions, type Observer, type StopReason } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import { firstBadSlot } from '../sim/layout.ts';
import { type Residual, worstResidual } from '../sim/ledger.ts';
import { LEDGER_CLOSURE } from '../sim/tolerances.ts';
import { createRecorder, hasEndedSet, type StrokeRecord } from './strokes.ts';
import { type Trace, type TraceSink, traceBuilder } from './trace.ts';

export interface RunEvent {
  readonly time_s: number;
  readonly code: number;
  readonly item: number;
  readonly value: number;
  readonly other: number;
  readonly pressure_Pa: number;
  readonly oil_m3: number;
}

/** An event as it is kept, with the state of the tank at it. */
export function runEvent(
  { plant, layout, slots, gasPressure }: Unit,
  state: Float64Array,
  code: number,
  item: number,
  value: number,
  other: number,
): RunEvent {
  const { clock } = layout;
  const time_s = state[clock.tick] * plant.tick_s + state[clock.offset];
  return { time_s, code, item, value, other, pressure_Pa: gasPressure(state), oil_m3: state[slots.oil] };
}

/** The account of a unit that closes worst between two states. Errors: ProgramFault when it does not close. */
export function closedLedger(unit: Unit, start: Float64Array, state: Float64Array): Residual {
  const residual = worstResidual(unit.accounts, start, state);
  if (residual.relative <= LEDGER_CLOSURE) return residual;
  const { clock } = unit.layout;
  const time_s = state[clock.tick] * unit.plant.tick_s + state[clock.offset];
  throw new ProgramFault(`the ledger of ${residual.account} is open by ${residual.relative} at t = ${time_s} s`);
}

export interface RunRecord {
  readonly unit: Unit;
  readonly engine: Engine;
  readonly start: Float64Array;
  readonly end: Float64Array;
  readonly stop: StopReason;
  readonly strokes: readonly StrokeRecord[];
  readonly events: readonly RunEvent[];
  /** State at the end of each step that ended. */
  readonly stepStates: ReadonlyMap<number, Float64Array>;
  readonly trace: Trace | undefined;
  readonly worst: Residual;
  readonly extremes: {
    readonly header_Pa: number;
    readonly header_s: number;
    readonly tank_Pa: number;
    readonly tank_s: number;
  };
  /** State at which the required set had ended with the mains off, for the reserve. */
  readonly afterSet: Float64Array | undefined;
}

export interface RunOptions extends EngineOptions {
  readonly toTick: number;
  readonly sampleTicks: number;
  /** Whether rows are kept, or where they go as they come, for runs with more rows than memory holds. */
  readonly trace?: boolean | TraceSink;
  readonly events?: boolean;
  /**
   * Ends the run once nothing can change what came of the required strokes, for whoever asks nothing else: the mains are off
   * and nobody is left to bring them back, every required stroke has ended, and its hold is over.
   */
  readonly strokesOnly?: boolean;
  readonly onProgress?: (share: number) => void;
}

/** Seconds after which a run without a stated length ends. */
export function defaultDuration(plant: Plant): number {
  let last = 0;
  // After the mains are back the unit takes its time to recover.
  for (const a of plant.actions)
    last = Math.max(last, a.tick * plant.tick_s + (a.action === 'restore mains' ? 1740 : 0));
  // Steps wait for the unit, which takes its time.
  if (plant.steps.length > 0) last = Math.max(last, 3600);
  const lost = plant.actions.find((a) => a.action === 'lose mains');
  if (lost === undefined) return Math.max(600, last + 60);
  let longest = 0;
  for (const v of plant.valves) {
    const stroke = v.require?.longest_s ?? 60;
    const pauses = Math.max(0, v.strokes.length - 1) * v.pause_ticks * plant.tick_s;
    longest = Math.max(
      longest,
      v.tripDelay_ticks * plant.tick_s + v.strokes.length * stroke + pauses + (v.require?.hold_s ?? 0),
    );
  }
  const trip = (lost.tick + plant.power.undervoltage_ticks) * plant.tick_s + longest;
  return Math.ceil(Math.max(last, trip) + 60);
}

/** Runs a plant. Errors: ProgramFault when a ledger does not close or a slot leaves its bounds. */
export function runPlant(plant: Plant, options: RunOptions): RunRecord {
  const unit = createUnit(plant);
  return runUnit(unit, createEngine(unit, options), options);
}

/** The same of a unit and its engine that are there already. */
export function runUnit(unit: Unit, engine: Engine, options: RunOptions): RunRecord {
  const { plant } = unit;
  const start = unit.start();
  const y = start.slice();
  const { layout, out } = unit;
  const { clock } = layout;
  const tick_s = plant.tick_s;
  const timeOf = (state: Float64Array) => state[clock.tick] * tick_s + state[clock.offset];
  const recorder = createRecorder(unit);
  const events: RunEvent[] = [];
  const stepStates = new Map<number, Float64Array>();
  const rows: Float64Array[] = [];
  const { trace = false } = options;
  const builder = trace === false ? undefined : traceBuilder(unit);
  if (trace !== true && trace !== false) trace.begin(builder?.columns ?? []);
  const addRow = (state: Float64Array, atEvent = false) => {
    if (builder === undefined) return;
    if (trace === true) rows.push(builder.row(state));
    else if (trace !== false) trace.row(builder.row(state), atEvent);
  };
  let worst: Residual = { account: '', relative: 0 };

  const check = (state: Float64Array) => {
    const residual = closedLedger(unit, start, state);
    if (residual.relative >= worst.relative) worst = residual;
    const bad = firstBadSlot(layout, state);
    if (bad !== undefined) throw new ProgramFault(`${bad} at t = ${timeOf(state)} s`);
  };

  let progressed = 0;
  // The least header pressure while a required stroke is under way, and the highest tank pressure, where steps begin.
  const extremes = { header_Pa: Infinity, header_s: -1, tank_Pa: 0, tank_s: -1 };

  const observer: Observer = {
    sampleTicks: options.sampleTicks,
    settled(state) {
      const tank = unit.outputs[out.gasPressure];
      if (tank > extremes.tank_Pa) {
        extremes.tank_Pa = tank;
        extremes.tank_s = timeOf(state);
      }
      const header = unit.outputs[out.headerPressure];
      if (recorder.underWay() && header < extremes.header_Pa) {
        extremes.header_Pa = header;
        extremes.header_s = timeOf(state);
      }
    },
    sample(state) {
      check(state);
      addRow(state);
      if (options.onProgress !== undefined && state[clock.tick] > progressed) {
        progressed = state[clock.tick];
        options.onProgress(progressed / options.toTick);
      }
    },
    event(state, code, item, value, other) {
      if (options.events !== false) {
        events.push(runEvent(unit, state, code, item, value, other));
        addRow(state, true);
      }
      recorder.event(state, code, item, value, other);
      if (code === EventCode.stepEnds) stepStates.set(item, state.slice());
    },
  };

  // The required set is over when every valve that has one has ended its last stroke.
  let afterSet: Float64Array | undefined;
  const setEnded = (state: Float64Array) => hasEndedSet(unit, state);
  // A fault may do what no action does.
  const mayStop = options.strokesOnly === true && plant.faults.length + plant.steps.length === 0;
  const hold_s = Math.max(0, ...plant.valves.map((v) => v.require?.hold_s ?? 0));
  let setEnded_s = Infinity;
  const until = (state: Float64Array) => {
    if (afterSet !== undefined && !mayStop) return false;
    if (!setEnded(state)) return false;
    if (afterSet === undefined) {
      afterSet = state.slice();
      setEnded_s = timeOf(state);
    }
    const over = timeOf(state) - setEnded_s >= hold_s + tick_s;
    return mayStop && over && state[unit.slots.nextAction] === plant.actions.length;
  };

  const stop = engine.advance(y, options.toTick, observer, until);
  check(y);
  if (afterSet === undefined && setEnded(y)) afterSet = y.slice();
  recorder.end(y);
  return {
    unit,
    engine,
    start,
    end: y,
    stop,
    strokes: recorder.strokes,
    events,
    stepStates,
    trace: builder === undefined || trace !== true ? undefined : { columns: builder.columns, rows },
    worst,
    extremes,
    afterSet,
  };
}
