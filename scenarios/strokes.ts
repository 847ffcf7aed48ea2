/** Trip strokes as they go: told of every event of a run, it keeps a record of each. */
import { EventCode } from '../models/events.ts';
import { Mode, NO_MARGIN } from '../models/motion.ts';
import type { Unit } from '../models/unit.ts';

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
  /** Where the stroke began. */
  readonly from: number;
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

/** Keeps the records of one run. */
export interface StrokeRecorder {
  /** In the order in which they were commanded. */
  readonly strokes: readonly StrokeRecord[];
  event(state: Float64Array, code: number, item: number, value: number, other: number): void;
  /** Whether a trip stroke is under way. */
  underWay(): boolean;
  /** Closes the records of strokes that have not ended; the outputs of the unit then belong to this state. */
  end(state: Float64Array): void;
}

/** Whether, with the mains off, every valve of which something is required has ended its last trip stroke. */
export function hasEndedSet(unit: Unit, state: Float64Array): boolean {
  if (state[unit.panel.slots.mains] === 1) return false;
  const { valves } = unit.plant;
  let any = false;
  for (let i = 0; i < valves.length; i++) {
    const v = valves[i];
    if (v.require === undefined || v.strokes.length === 0) continue;
    any = true;
    if (state[unit.trip.slots.issued + i] !== v.strokes.length) return false;
    if (state[unit.motion.mode + i] !== Mode.end) return false;
  }
  return any;
}

export function createRecorder(unit: Unit): StrokeRecorder {
  const { plant, motion, slots, layout, out } = unit;
  const { clock } = layout;
  const { tick_s } = plant;
  const timeOf = (state: Float64Array) => state[clock.tick] * tick_s + state[clock.offset];
  const strokes: StrokeRecord[] = [];
  const open = new Map<number, StrokeRecord>();
  const last = new Map<number, StrokeRecord>();
  const rates = new Float64Array(layout.advanced);

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

  return {
    strokes,
    underWay: () => open.size > 0,
    event(state, code, item, value, other) {
      const time_s = timeOf(state);
      switch (code) {
        case EventCode.valveCommanded:
          if (other > 0) {
            const record: StrokeRecord = {
              valve: item,
              stroke: other,
              direction: value > 0 ? 1 : -1,
              target: plant.valves[item].targets[other - 1],
              from: state[slots.x + item],
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
    end(state) {
      unit.arm(state);
      unit.derivative(timeOf(state), state, rates);
      for (const i of [...open.keys()]) close(state, i);
    },
  };
}
