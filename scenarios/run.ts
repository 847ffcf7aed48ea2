/** One run of a plant from start to end: events, strokes, trace rows, ledger. No words and no judgement. */
import { EventCode } from '../models/events.ts';
import { Mode, NO_MARGIN } from '../models/motion.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit, type Unit } from '../models/unit.ts';
import { createEngine, type Engine, type EngineOptions, type Observer, type StopReason } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import { firstBadSlot } from '../sim/layout.ts';
import { type Residual, worstResidual } from '../sim/ledger.ts';
import { LEDGER_CLOSURE } from '../sim/tolerances.ts';
import { type Trace, type TraceSink, traceBuilder } from './trace.ts';

/** A piston on its way: where, how fast, the pressure in the header and the one it would need there to move on. */
export interface Standing {
  readonly time_s: number;
  readonly position: number;
  /** Strokes a second. */
  readonly speed_1_s: number;
  readonly headerPressure_Pa: number;
  readonly neededPressure_Pa: number;
}

/** A stroke as it went. Times in s from the start of the run; -1 where it never came to that. */
export interface StrokeRecord {
  readonly valve: number;
  /** 1, 2, ... in the trip sequence. */
  readonly stroke: number;
  readonly direction: 1 | -1;
  /** Positions here are those of the piston. This one ends the stroke. */
  readonly target: number;
  readonly commanded_s: number;
  firstMotion_s: number;
  ended_s: number;
  position: number;
  /** Mode in which the run left it, or the end. */
  mode: number;
  least: number;
  least_Pa: number;
  least_s: number;
  leastPosition: number;
  cavitated: boolean;
  interrupted: boolean;
  /** Speed in strokes a second where the record ends. */
  speed_1_s: number;
  driftedAt_s: number;
  /** How it stood when the mains came back before it had ended. */
  atMainsBack: Standing | undefined;
  /** Header pressure, absolute, and the pressure that would be needed there, at the end of the record. */
  headerPressure_Pa: number;
  neededPressure_Pa: number;
  /** Thrust of pressures and spring, and what of it load and friction need, there. */
  thrust_N: number;
  needed_N: number;
}

export interface RunEvent {
  readonly time_s: number;
  readonly code: number;
  readonly item: number;
  readonly value: number;
  readonly other: number;
  readonly pressure_Pa: number;
  readonly oil_m3: number;
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
  const engine = createEngine(unit, options);
  const start = unit.start();
  const y = start.slice();
  const { motion, slots, layout, out } = unit;
  const { clock } = layout;
  const tick_s = plant.tick_s;
  const timeOf = (state: Float64Array) => state[clock.tick] * tick_s + state[clock.offset];
  const strokes: StrokeRecord[] = [];
  const open = new Map<number, StrokeRecord>();
  const last = new Map<number, StrokeRecord>();
  const events: RunEvent[] = [];
  const stepStates = new Map<number, Float64Array>();
  const rows: Float64Array[] = [];
  const { trace = false } = options;
  const builder = trace === false ? undefined : traceBuilder(unit);
  if (trace !== true && trace !== false) trace.begin(builder?.columns ?? []);
  const addRow = (state: Float64Array) => {
    if (builder === undefined) return;
    if (trace === true) rows.push(builder.row(state));
    else if (trace !== false) trace.row(builder.row(state));
  };
  let worst: Residual = { account: '', relative: 0 };

  const close = (state: Float64Array, i: number) => {
    const record = open.get(i);
    if (record === undefined) return;
    record.firstMotion_s = state[motion.firstMotion_s + i];
    record.position = state[slots.x + i];
    record.mode = state[motion.mode + i];
    record.least = state[motion.least + i];
    record.least_Pa = state[motion.least_Pa + i];
    record.least_s = state[motion.least_s + i];
    record.leastPosition = state[motion.leastPosition + i];
    record.cavitated = state[motion.cavitated + i] === 1;
    const v = plant.valves[i];
    const br = v.branch[record.direction > 0 ? 1 : 0];
    record.headerPressure_Pa = unit.outputs[out.headerPressure];
    record.thrust_N = unit.outputs[out.thrust + i];
    record.needed_N = unit.needed(state, i);
    record.neededPressure_Pa = record.headerPressure_Pa + (record.needed_N - record.thrust_N) / br.area_m2;
    record.speed_1_s = Math.abs(unit.outputs[out.valveFlow + i]) / (br.area_m2 * v.stroke_m);
    open.delete(i);
  };

  const check = (state: Float64Array) => {
    const residual = worstResidual(unit.accounts, start, state);
    if (residual.relative >= worst.relative) worst = residual;
    if (!(residual.relative <= LEDGER_CLOSURE)) {
      throw new ProgramFault(
        `the ledger of ${residual.account} is open by ${residual.relative} at t = ${timeOf(state)} s`,
      );
    }
    const bad = firstBadSlot(layout, state);
    if (bad !== undefined) throw new ProgramFault(`${bad} at t = ${timeOf(state)} s`);
  };

  let progressed = 0;
  const standing = (state: Float64Array, i: number, direction: number): Standing => {
    const v = plant.valves[i];
    const br = v.branch[direction > 0 ? 1 : 0];
    const header = unit.outputs[out.headerPressure];
    return {
      time_s: timeOf(state),
      position: state[slots.x + i],
      speed_1_s: Math.abs(unit.outputs[out.valveFlow + i]) / (br.area_m2 * v.stroke_m),
      headerPressure_Pa: header,
      neededPressure_Pa: header + (unit.needed(state, i) - unit.outputs[out.thrust + i]) / br.area_m2,
    };
  };

  // The least header pressure while a required stroke is under way, and the highest tank pressure, where steps begin.
  const extremes = { header_Pa: Infinity, header_s: -1, tank_Pa: 0, tank_s: -1 };

  const rates = new Float64Array(layout.advanced);
  const observer: Observer = {
    sampleTicks: options.sampleTicks,
    settled(state) {
      const tank = unit.outputs[out.gasPressure];
      if (tank > extremes.tank_Pa) {
        extremes.tank_Pa = tank;
        extremes.tank_s = timeOf(state);
      }
      const header = unit.outputs[out.headerPressure];
      if (open.size > 0 && header < extremes.header_Pa) {
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
      const time_s = timeOf(state);
      if (options.events !== false) {
        events.push({
          time_s,
          code,
          item,
          value,
          other,
          pressure_Pa: unit.gasPressure(state),
          oil_m3: state[slots.oil],
        });
        addRow(state);
      }
      switch (code) {
        case EventCode.valveCommanded:
          if (other > 0) {
            const record: StrokeRecord = {
              valve: item,
              stroke: other,
              direction: value > 0 ? 1 : -1,
              target: plant.valves[item].targets[other - 1],
              commanded_s: time_s,
              firstMotion_s: -1,
              ended_s: -1,
              position: state[slots.x + item],
              mode: Mode.stuck,
              least: NO_MARGIN,
              least_Pa: NO_MARGIN,
              least_s: -1,
              leastPosition: 0,
              cavitated: false,
              interrupted: false,
              speed_1_s: 0,
              driftedAt_s: -1,
              atMainsBack: undefined,
              headerPressure_Pa: 0,
              neededPressure_Pa: 0,
              thrust_N: 0,
              needed_N: 0,
            };
            strokes.push(record);
            open.set(item, record);
            last.set(item, record);
          } else last.delete(item);
          break;
        case EventCode.mainsBack:
          unit.derivative(time_s, state, rates);
          for (const [i, record] of open) record.atMainsBack = standing(state, i, record.direction);
          break;
        case EventCode.stepEnds:
          stepStates.set(item, state.slice());
          break;
        case EventCode.valveEnd: {
          const record = open.get(item);
          close(state, item);
          if (record !== undefined) record.ended_s = time_s;
          break;
        }
        case EventCode.strokeInterrupted: {
          const record = open.get(item);
          close(state, item);
          if (record !== undefined) record.interrupted = true;
          break;
        }
        case EventCode.valvePushedBack:
        case EventCode.valveDrifting: {
          const record = last.get(item);
          if (record !== undefined && record.ended_s >= 0 && record.driftedAt_s < 0) record.driftedAt_s = time_s;
          break;
        }
      }
    },
  };

  // The required set is over when every valve that has one has ended its last stroke.
  let afterSet: Float64Array | undefined;
  const required = plant.valves
    .map((v, i) => (v.require !== undefined && v.strokes.length > 0 ? i : -1))
    .filter((i) => i >= 0);
  const mains = unit.panel.slots.mains;
  const setEnded = (state: Float64Array) =>
    required.length > 0 &&
    state[mains] === 0 &&
    required.every(
      (i) =>
        state[unit.trip.slots.issued + i] === plant.valves[i].strokes.length && state[motion.mode + i] === Mode.end,
    );
  const until = (state: Float64Array) => {
    if (afterSet === undefined && setEnded(state)) afterSet = state.slice();
    return false;
  };

  const stop = engine.advance(y, options.toTick, observer, until);
  check(y);
  if (afterSet === undefined && setEnded(y)) afterSet = y.slice();
  unit.arm(y);
  unit.derivative(timeOf(y), y, new Float64Array(layout.advanced));
  for (const i of [...open.keys()]) close(y, i);
  return {
    unit,
    engine,
    start,
    end: y,
    stop,
    strokes,
    events,
    stepStates,
    trace: builder === undefined || trace !== true ? undefined : { columns: builder.columns, rows },
    worst,
    extremes,
    afterSet,
  };
}
