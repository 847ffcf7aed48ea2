import type { Emit } from '../sim/system.ts';
import { EventCode } from './events.ts';
import type { Flows } from './flows.ts';
import {
  BREAKAWAY_EXCESS_Pa,
  blockedPartWay,
  drawsOil,
  Mode,
  NO_MARGIN,
  ONWARD_EXCESS_Pa,
  pieceAt,
  STALL_PRESSURE_Pa,
} from './motion.ts';
import type { Parts } from './parts.ts';

/** How the pistons of the valves start, stop and are held, from the forces on them. */
export interface Pistons {
  goesUp(y: Float64Array, valve: number): boolean;
  nextPlace(y: Float64Array, valve: number): number;
  oilMode(y: Float64Array): number;
  restMode(y: Float64Array, valve: number): number;
  isServed(y: Float64Array, valve: number): boolean;
  /** Whether a probe is to watch the piston's mode. */
  watched(y: Float64Array, valve: number): boolean;
  /** Rises through 0 where the piston sets off, stalls or is pushed back. */
  turnProbe(y: Float64Array, valve: number): number;
  placePiston(y: Float64Array, valve: number, target: number): void;
  turnMotion(y: Float64Array, valve: number, time: number, emit: Emit): void;
  turnShutOff(y: Float64Array, emit: Emit): void;
}

export function createPistons(parts: Parts, flows: Flows): Pistons {
  const { plant, layout, out, outputs, motion, adjust } = parts;
  const { valves } = plant;
  const { loadNow } = flows;
  const nV = valves.length;
  const a = adjust.slots;
  const { oil, sump, x, ways, gasInHeader, outletShut } = parts.slots;

  /** Whether a piston that moves, goes or is pushed up. */
  const goesUp = (y: Float64Array, i: number) => y[motion.direction + i] > 0 === (y[motion.mode + i] === Mode.moving);

  /** Where a piston that moves meets the next piece of its load, or the end of its stroke. */
  function nextPlace(y: Float64Array, i: number): number {
    const profile = valves[i].load[y[motion.direction + i] > 0 ? 1 : 0];
    const up = goesUp(y, i);
    const place = profile.x[y[motion.piece + i] + (up ? 1 : 0)];
    if (y[motion.mode + i] !== Mode.moving) return place;
    const target = y[motion.target + i];
    return up ? Math.min(place, target) : Math.max(place, target);
  }

  /** Forces on a resting piston: what forward motion has to spare, and what pushes it back, N. */
  function forwardExcess(y: Float64Array, i: number): number {
    const side = y[motion.direction + i] > 0 ? 1 : 0;
    return outputs[out.thrust + i] - loadNow(y, i, side);
  }

  /** Sets the piston to a position and books the difference. */
  function placePiston(y: Float64Array, i: number, target: number): void {
    const v = valves[i];
    const s = y[motion.direction + i];
    const br = v.branch[s > 0 ? 1 : 0];
    const way = s * (target - y[x + i] + y[layout.rounding + x + i]) * v.stroke_m;
    const into = way * br.inArea_m2;
    const outOf = way * br.outArea_m2;
    y[x + i] = target;
    y[layout.rounding + x + i] = 0;
    if (y[motion.mode + i] === Mode.drift) return;
    const headIn = s > 0 === v.headOpens;
    y[ways + 4 * i + (headIn ? 0 : 2)] += into;
    y[ways + 4 * i + (headIn ? 3 : 1)] += outOf;
    y[oil] -= into;
    y[sump] += outOf;
  }

  /** Whether oil comes to the tank's outlet, or else what a piston that needs it is held by. */
  const oilMode = (y: Float64Array): number =>
    y[gasInHeader] === 1 ? Mode.gas : y[outletShut] === 1 ? Mode.shut : Mode.stuck;

  /** How a piston rests short of its end: where no oil comes it waits for nothing, unless its spring drives it. */
  const restMode = (y: Float64Array, i: number): number =>
    drawsOil(valves[i], y[motion.direction + i]) ? oilMode(y) : Mode.stuck;

  const isServed = (y: Float64Array, i: number): boolean =>
    y[motion.mode + i] !== Mode.gas && y[motion.mode + i] !== Mode.shut;

  /** Whether oil can go back to the tank: no non-return valve holds it, and the outlet is not shut. */
  const mayBePushedBack = (y: Float64Array, i: number): boolean => valves[i].pushedBack && y[outletShut] === 0;

  /** The outlet shuts by itself, or opens again: pistons are held where they are, or wait to set off again. */
  function turnShutOff(y: Float64Array, emit: Emit): void {
    y[outletShut] = y[outletShut] === 1 ? 0 : 1;
    emit(y[outletShut] === 1 ? EventCode.outletShut : EventCode.outletOpen, 0, 0, 0);
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      const s = y[motion.direction + i];
      if (y[outletShut] === 0) {
        if (mode !== Mode.shut) continue;
        y[motion.mode + i] = restMode(y, i);
        y[motion.piece + i] = pieceAt(valves[i].load[s > 0 ? 1 : 0], y[x + i], s);
      } else if (mode === Mode.moving || mode === Mode.stuck || mode === Mode.reverse) {
        y[motion.mode + i] = restMode(y, i) === Mode.shut ? Mode.shut : mode;
      }
    }
  }

  /** A resting piston sets off, or a moving one comes to rest. */
  function turnMotion(y: Float64Array, i: number, time: number, emit: Emit): void {
    const v = valves[i];
    const mode = y[motion.mode + i];
    const spare = forwardExcess(y, i);
    const s = y[motion.direction + i];
    const profile = v.load[s > 0 ? 1 : 0];
    if (mode === Mode.moving || mode === Mode.reverse || mode === Mode.drift) {
      y[motion.mode + i] = restMode(y, i);
      y[motion.piece + i] = pieceAt(profile, y[x + i], s);
      emit(EventCode.valveStopped, i, y[x + i], 0);
      return;
    }
    if (mode === Mode.stuck && spare > 0) {
      y[motion.mode + i] = Mode.moving;
      y[motion.piece + i] = pieceAt(profile, y[x + i], s);
      if (y[motion.firstMotion_s + i] < 0) y[motion.firstMotion_s + i] = time;
      emit(EventCode.valveMoving, i, y[x + i], 0);
      return;
    }
    const pushed = mayBePushedBack(y, i);
    y[motion.mode + i] = pushed ? Mode.reverse : Mode.drift;
    y[motion.piece + i] = pieceAt(profile, y[x + i], -s);
    emit(pushed ? EventCode.valvePushedBack : EventCode.valveDrifting, i, y[x + i], 0);
  }

  function watched(y: Float64Array, i: number): boolean {
    const mode = y[motion.mode + i];
    return (
      mode === Mode.stuck ||
      mode === Mode.moving ||
      mode === Mode.reverse ||
      mode === Mode.drift ||
      (mode === Mode.end && (mayBePushedBack(y, i) || y[a.sealLeak + i] > 0) && !blockedPartWay(y, motion, i))
    );
  }

  function turnProbe(y: Float64Array, i: number): number {
    const v = valves[i];
    const { area_m2: area, drawn } = v.branch[y[motion.direction + i] > 0 ? 1 : 0];
    const spare = forwardExcess(y, i);
    // The friction that falls off once it moves counts towards what keeps it from stopping again at once.
    const falls = v.breakaway_N - v.running_N;
    const enough = Math.max(0, BREAKAWAY_EXCESS_Pa * area - falls);
    const little = STALL_PRESSURE_Pa * area;
    const atStart = y[motion.direction + i] > 0 ? y[x + i] <= 0 : y[x + i] >= 1;
    // A piston that its spring drives has no oil behind it to give.
    const mayGoBack = (mayBePushedBack(y, i) || y[a.sealLeak + i] > 0) && !atStart && drawn === 1;
    const back = mayGoBack ? -spare - v.breakaway_N : -NO_MARGIN;
    switch (y[motion.mode + i]) {
      case Mode.stuck: {
        const onward = Math.max(0, ONWARD_EXCESS_Pa * area - falls);
        const needed = y[motion.firstMotion_s + i] < 0 ? enough : onward;
        return Math.max(spare - v.breakaway_N - needed, back - onward);
      }
      // What would be left to drive it if it stood still: with the lines it shares this is more than what drives it.
      case Mode.moving:
        return little - (spare - v.running_N + outputs[out.ownDrop + i]);
      case Mode.reverse:
        return little + (spare + v.running_N + outputs[out.ownDrop + i]);
      case Mode.end:
        return back - enough;
      default:
        return little + (spare + v.running_N);
    }
  }

  return {
    goesUp,
    nextPlace,
    oilMode,
    restMode,
    isServed,
    watched,
    turnProbe,
    placePiston,
    turnMotion,
    turnShutOff,
  };
}
