import type { Flows } from './flows.ts';
import { Mode, NO_MARGIN, noteMargin } from './motion.ts';
import type { Parts } from './parts.ts';

/**
 * The least force margin over each stroke. Over a piece of a step, thrust and position are parabolas through its start, middle
 * and end; the load is taken where the piston then is, so that one that bends with its drive is met where it is most.
 */
export interface Margins {
  /** Load, N, that a moving or resting piston needs overcome now, friction included. */
  needed(y: Float64Array, valve: number): number;
  /** Whether a stroke is under way. */
  recording(y: Float64Array): boolean;
  inside(y: Float64Array, time: number): void;
  settled(y: Float64Array, time: number): void;
}

/** Where in a piece its margin is looked at beside both ends. Close to these, what lies between differs by next to nothing. */
const PLACES = [0, 1 / 64, 1 / 4, 1 / 2, 3 / 4, 63 / 64, 1];
/** Thirds that are cut off from where the least lies: its place is then known to a thousandth, itself to a millionth of that. */
const CUTS = 16;

export function createMargins(parts: Parts, flows: Flows): Margins {
  const { plant, out, outputs, motion } = parts;
  const { valves } = plant;
  const { loadAt } = flows;
  const nV = valves.length;
  const { x } = parts.slots;

  // The engine has every piece settled at its start, so none of this has to be kept from one to the next.
  const startThrust = new Float64Array(nV);
  const startX = new Float64Array(nV);
  const middleThrust = new Float64Array(nV);
  const middleX = new Float64Array(nV);
  let middleTime = -1;
  /** Position and thrust over a piece: value at its start, slope, bend. */
  const curve = new Float64Array(6);

  function neededAt(y: Float64Array, i: number, position: number): number {
    const v = valves[i];
    const friction = y[motion.mode + i] === Mode.moving ? v.running_N : v.breakaway_N;
    return loadAt(y, i, y[motion.direction + i] > 0 ? 1 : 0, position) + friction;
  }
  const needed = (y: Float64Array, i: number): number => neededAt(y, i, y[x + i]);

  function recording(y: Float64Array): boolean {
    for (let i = 0; i < nV; i++) if (y[motion.active + i] !== 0) return true;
    return false;
  }

  function inside(y: Float64Array, time: number): void {
    middleTime = time;
    for (let i = 0; i < nV; i++) {
      middleThrust[i] = outputs[out.thrust + i];
      middleX[i] = y[x + i];
    }
  }

  function settled(y: Float64Array, time: number): void {
    for (let i = 0; i < nV; i++) {
      if (y[motion.active + i] === 0) continue;
      const mode = y[motion.mode + i];
      if (mode !== Mode.moving && mode !== Mode.stuck) continue;
      if (middleTime >= 0) noteInside(y, i, time);
      note(y, i, outputs[out.thrust + i], y[x + i], time);
      startThrust[i] = outputs[out.thrust + i];
      startX[i] = y[x + i];
    }
    middleTime = -1;
  }

  function note(y: Float64Array, i: number, thrust: number, position: number, time: number): void {
    const need = neededAt(y, i, position);
    const area = valves[i].branch[y[motion.direction + i] > 0 ? 1 : 0].area_m2;
    noteMargin(y, motion, i, need > 0 ? (thrust - need) / need : NO_MARGIN, (thrust - need) / area, time, position);
  }

  function setCurve(at: number, start: number, half: number, end: number): void {
    curve[at] = start;
    curve[at + 1] = 4 * half - 3 * start - end;
    curve[at + 2] = 2 * (start + end) - 4 * half;
  }
  const curveAt = (at: number, part: number): number => curve[at] + part * (curve[at + 1] + part * curve[at + 2]);

  function marginAt(y: Float64Array, i: number, part: number): number {
    const need = neededAt(y, i, curveAt(0, part));
    return need > 0 ? (curveAt(3, part) - need) / need : NO_MARGIN;
  }

  /** The least margin of a piece where that is not at one of its ends. */
  function noteInside(y: Float64Array, i: number, time: number): void {
    setCurve(0, startX[i], middleX[i], y[x + i]);
    setCurve(3, startThrust[i], middleThrust[i], outputs[out.thrust + i]);
    let place = 0;
    let least = marginAt(y, i, 0);
    for (let k = 1; k < PLACES.length; k++) {
      const margin = marginAt(y, i, PLACES[k]);
      if (margin >= least) continue;
      place = k;
      least = margin;
    }
    if (place === 0 || place === PLACES.length - 1) return;
    let low = PLACES[place - 1];
    let high = PLACES[place + 1];
    for (let k = 0; k < CUTS; k++) {
      const third = (high - low) / 3;
      if (marginAt(y, i, low + third) < marginAt(y, i, high - third)) high -= third;
      else low += third;
    }
    const part = (low + high) / 2;
    note(y, i, curveAt(3, part), curveAt(0, part), time + 2 * (part - 1) * (time - middleTime));
  }

  return { needed, recording, inside, settled };
}
