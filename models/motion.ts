/**
 * What a valve is doing, and the record of the stroke it is making. Equations: valve.ts and network.ts.
 */
import type { LayoutBuilder } from '../sim/layout.ts';
import type { Emit } from '../sim/system.ts';
import { pistonForce } from './drive.ts';
import { EventCode } from './events.ts';
import type { LoadProfile, ValvePlant } from './plant.ts';

export const Mode = {
  /** No pressure on either side: never commanded, or blocked by its pilot. */
  idle: 0,
  /** Commanded and at rest: waits until the thrust exceeds load and breakaway. */
  stuck: 1,
  moving: 2,
  /** At the end of the stroke: of the whole travel, or part way, where the pilot has blocked both lines. */
  end: 3,
  /** Stopped because gas has come into the header. */
  gas: 4,
  /** Pushed back by an overpowering load, oil going back to the tank. */
  reverse: 5,
  /** Creeping off because trapped oil leaks across the piston. */
  drift: 6,
  /** Held because the outlet of the tank has shut by itself. */
  shut: 7,
} as const;

/** Running flow counts as zero when the pressure left to drive it falls to this (choice). */
export const STALL_PRESSURE_Pa = 1;
/**
 * What must be left to drive a piston when it breaks away, so that it does not stop again at once: ten times the stall
 * (choice). Where breakaway friction is that much above running friction it is there by itself, and nothing is asked for
 * beyond load and breakaway.
 */
export const BREAKAWAY_EXCESS_Pa = 10;
/**
 * The same for a piston that came to rest on its way and for one that is pushed back from there (choice). One without
 * breakaway friction that follows a slowly changing pressure goes in steps of this, not in thousands of smaller ones.
 */
export const ONWARD_EXCESS_Pa = 1000;

/** How a stroke ended. */
export const StrokeEnd = { completed: 0, interrupted: 1 } as const;

export interface MotionSlots {
  readonly direction: number;
  readonly mode: number;
  /** Position of the piston at which the stroke ends. */
  readonly target: number;
  /** Piece of the load profile the piston is on. */
  readonly piece: number;
  /** 1 while a stroke is under way. */
  readonly active: number;
  /** Number of the trip stroke, from 1; 0 for a stroke in service. */
  readonly tripStroke: number;
  readonly from: number;
  readonly commanded_s: number;
  readonly firstMotion_s: number;
  /** Least force margin so far as a part of what is needed, in Pa on the driven area, when and where. */
  readonly least: number;
  readonly least_Pa: number;
  readonly least_s: number;
  readonly leastPosition: number;
  readonly cavitated: number;
}

export const NO_MARGIN = 1e300;

export function motionSlots(layout: LayoutBuilder, valves: readonly ValvePlant[]): MotionSlots {
  const per = (name: string, unit: string, min: number, max: number): number => {
    let first = -1;
    for (const v of valves) {
      const slot = layout.discrete(`${v.tag}.${name}`, unit, min, max);
      if (first < 0) first = slot;
    }
    return first;
  };
  return {
    direction: per('direction', '-1 closes 1 opens', -1, 1),
    mode: per('mode', '1', 0, 7),
    target: per('target', '1', 0, 1),
    piece: per('piece', '1', 0, 1e6),
    active: per('active', 'bit', 0, 1),
    tripStroke: per('tripStroke', '1', 0, 1e6),
    from: per('from', '1', 0, 1),
    commanded_s: per('commanded', 's', -1, Infinity),
    firstMotion_s: per('firstMotion', 's', -1, Infinity),
    least: per('leastMargin', '1', -Infinity, Infinity),
    least_Pa: per('leastMargin_Pa', 'Pa', -Infinity, Infinity),
    least_s: per('leastAt', 's', -1, Infinity),
    leastPosition: per('leastPosition', '1', 0, 1),
    cavitated: per('cavitated', 'bit', 0, 1),
  };
}

/** The piece of a profile on which a piston at x moves when it goes up (+1) or down (-1). */
export function pieceAt(profile: LoadProfile, x: number, direction: number): number {
  const last = profile.slope.length - 1;
  let k = 0;
  if (direction > 0) while (k < last && x >= profile.x[k + 1]) k++;
  else while (k < last && x > profile.x[k + 1]) k++;
  return k;
}

/** Load in N at x on piece k; beyond the piece it runs on straight, so that a step sees no kink. */
export function loadOn(profile: LoadProfile, k: number, x: number): number {
  const { torque } = profile;
  if (torque === undefined) return profile.force[k] + profile.slope[k] * (x - profile.x[k]);
  return pistonForce(torque.drive, profile.force[k], profile.slope[k], torque.at[k], x);
}

/** What opposes the motion but friction, N: the load, and the spring where it does not drive. Side 1 opens, 0 closes. */
export function opposing(valve: ValvePlant, side: 0 | 1, k: number, x: number): number {
  const load = loadOn(valve.load[side], k, x);
  const { spring } = valve;
  return spring === undefined || spring.direction > 0 === (side === 1)
    ? load
    : load + spring.closed_N + spring.slope_N * x;
}

/** Push of the spring, N, where it drives this side; 0 elsewhere. */
export function springPush(valve: ValvePlant, side: 0 | 1, x: number): number {
  const { spring } = valve;
  return spring === undefined || spring.direction > 0 !== (side === 1) ? 0 : spring.closed_N + spring.slope_N * x;
}

/** Whether a stroke in this direction draws oil from the tank: not where a spring drives it. */
export function drawsOil(valve: ValvePlant, direction: number): boolean {
  return valve.branch[direction > 0 ? 1 : 0].drawn === 1;
}

/** Whether valve i stands part way between two blocked lines. */
export function blockedPartWay(y: Float64Array, slots: MotionSlots, i: number): boolean {
  const target = y[slots.target + i];
  return y[slots.mode + i] === Mode.end && target > 0 && target < 1;
}

/**
 * Gives valve i a direction (0 blocks it). Starts the record of a stroke; a stroke under way is interrupted, unless it is the
 * same trip stroke commanded again. `rest` is how a piston waits that needs oil and is not at its end: stuck, or gas or
 * shut where no oil comes.
 */
export function command(
  y: Float64Array,
  slots: MotionSlots,
  xSlot: number,
  valve: ValvePlant,
  i: number,
  direction: number,
  tripStroke: number,
  rest: number,
  time_s: number,
  emit: Emit,
): void {
  // A trip that comes again while its stroke is under way asks for nothing new: the stroke began with the first.
  const sameTrip = tripStroke > 0 && y[slots.tripStroke + i] === tripStroke && y[slots.direction + i] === direction;
  if (y[slots.active + i] === 1 && sameTrip) return;
  if (y[slots.active + i] === 1) {
    emit(EventCode.strokeInterrupted, i, y[xSlot + i], direction);
    y[slots.active + i] = 0;
  }
  // A piston already on its way there goes on: it has not come to rest, so nothing has to break away again.
  const goesOn = y[slots.direction + i] === direction && y[slots.mode + i] === Mode.moving;
  y[slots.direction + i] = direction;
  if (direction === 0) {
    y[slots.mode + i] = Mode.idle;
    emit(EventCode.valveBlocked, i, y[xSlot + i], 0);
    return;
  }
  const target = tripStroke > 0 ? valve.targets[tripStroke - 1] : direction > 0 ? 1 : 0;
  y[slots.active + i] = 1;
  y[slots.target + i] = target;
  y[slots.tripStroke + i] = tripStroke;
  y[slots.from + i] = y[xSlot + i];
  y[slots.commanded_s + i] = time_s;
  y[slots.firstMotion_s + i] = -1;
  y[slots.least + i] = NO_MARGIN;
  y[slots.least_Pa + i] = NO_MARGIN;
  y[slots.least_s + i] = -1;
  y[slots.leastPosition + i] = y[xSlot + i];
  y[slots.cavitated + i] = 0;
  emit(EventCode.valveCommanded, i, direction, tripStroke);
  const x = y[xSlot + i];
  if (direction > 0 ? x >= target : x <= target) {
    y[slots.mode + i] = Mode.end;
    y[slots.piece + i] = pieceAt(valve.load[direction > 0 ? 1 : 0], x, -direction);
    y[slots.firstMotion_s + i] = time_s;
    endStroke(y, slots, i, x, time_s, emit);
    return;
  }
  if (goesOn) {
    y[slots.firstMotion_s + i] = time_s;
    return;
  }
  y[slots.piece + i] = pieceAt(valve.load[direction > 0 ? 1 : 0], x, direction);
  y[slots.mode + i] = drawsOil(valve, direction) ? rest : Mode.stuck;
}

/** The stroke under way is complete, the piston at x. */
export function endStroke(y: Float64Array, slots: MotionSlots, i: number, x: number, time_s: number, emit: Emit): void {
  if (y[slots.active + i] === 0) return;
  emit(EventCode.valveEnd, i, time_s - y[slots.commanded_s + i], x);
  y[slots.active + i] = 0;
}

/** Notes a margin of the stroke under way if it is the least so far. */
export function noteMargin(
  y: Float64Array,
  slots: MotionSlots,
  i: number,
  margin: number,
  margin_Pa: number,
  time_s: number,
  x: number,
): void {
  if (margin >= y[slots.least + i]) return;
  y[slots.least + i] = margin;
  y[slots.least_Pa + i] = margin_Pa;
  y[slots.least_s + i] = time_s;
  // Located at an end, the position may be past it by a rounding.
  y[slots.leastPosition + i] = x < 0 ? 0 : x > 1 ? 1 : x;
}
