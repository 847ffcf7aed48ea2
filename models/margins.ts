import type { Flows } from './flows.ts';
import { Mode, NO_MARGIN, noteMargin } from './motion.ts';
import type { Parts } from './parts.ts';

/** Located at an end, a position may be past it by a rounding. */
const clamped = (x: number): number => (x < 0 ? 0 : x > 1 ? 1 : x);

/**
 * The least force margin over each stroke, from the ends and the middle of every piece of a step. Between these thrust and
 * position are parabolas, and so is the margin, but against a torque through a drive: that bends too much within a long step.
 */
export interface Margins {
  /** Load, N, that a moving or resting piston needs overcome now, friction included. */
  needed(y: Float64Array, valve: number): number;
  /** Whether a stroke is under way. */
  recording(y: Float64Array): boolean;
  inside(y: Float64Array, time: number): void;
  settled(y: Float64Array, time: number): void;
}

export function createMargins(parts: Parts, flows: Flows): Margins {
  const { plant, out, outputs, motion } = parts;
  const { valves } = plant;
  const { loadNow, loadAt } = flows;
  const nV = valves.length;
  const { x } = parts.slots;

  /** Parts of a piece at which the margin against a torque is looked at before the least is narrowed down. */
  const PARTS = 16;
  const middle = new Float64Array(nV);
  const middleThrust = new Float64Array(nV);
  const middle_Pa = new Float64Array(nV);
  const middleX = new Float64Array(nV);
  let middleTime = -1;

  function needed(y: Float64Array, i: number): number {
    const v = valves[i];
    const load = loadNow(y, i, y[motion.direction + i] > 0 ? 1 : 0);
    return load + (y[motion.mode + i] === Mode.moving ? v.running_N : v.breakaway_N);
  }

  function recording(y: Float64Array): boolean {
    for (let i = 0; i < nV; i++) if (y[motion.active + i] !== 0) return true;
    return false;
  }

  function inside(y: Float64Array, time: number): void {
    middleTime = time;
    for (let i = 0; i < nV; i++) {
      if (y[motion.active + i] === 0) continue;
      const need = needed(y, i);
      const area = valves[i].branch[y[motion.direction + i] > 0 ? 1 : 0].area_m2;
      const spare = outputs[out.thrust + i] - need;
      middle[i] = need > 0 ? spare / need : NO_MARGIN;
      middleThrust[i] = outputs[out.thrust + i];
      middle_Pa[i] = spare / area;
      middleX[i] = y[x + i];
    }
  }

  function settled(y: Float64Array, time: number): void {
    for (let i = 0; i < nV; i++) {
      if (y[motion.active + i] === 0) continue;
      const mode = y[motion.mode + i];
      if (mode !== Mode.moving && mode !== Mode.stuck) continue;
      const need = needed(y, i);
      const area = valves[i].branch[y[motion.direction + i] > 0 ? 1 : 0].area_m2;
      const spare = outputs[out.thrust + i] - need;
      const margin = need > 0 ? spare / need : NO_MARGIN;
      const before = y[motion.before + i];
      if (middleTime >= 0 && before < NO_MARGIN && mode === Mode.moving && bends(y, i)) {
        noteLeast(y, i, time, area);
      } else if (middleTime >= 0 && before < NO_MARGIN && margin < NO_MARGIN) {
        // A least value inside the piece: the vertex of the parabola through start, middle and end.
        const low = middle[i];
        const bend = before + margin - 2 * low;
        const vertex = low < before && low < margin && bend > 0 ? low - (margin - before) ** 2 / (8 * bend) : low;
        noteMargin(y, motion, i, vertex, middle_Pa[i], middleTime, middleX[i]);
      }
      noteMargin(y, motion, i, margin, spare / area, time, y[x + i]);
      y[motion.before + i] = margin;
      y[motion.thrustBefore_N + i] = outputs[out.thrust + i];
      y[motion.positionBefore + i] = clamped(y[x + i]);
    }
    middleTime = -1;
  }

  const bends = (y: Float64Array, i: number): boolean =>
    valves[i].load[y[motion.direction + i] > 0 ? 1 : 0].torque !== undefined;

  /** The parabola through start, middle and end of a piece, at a part of it. */
  const between = (start: number, half: number, end: number, part: number): number =>
    start + part * (4 * half - 3 * start - end + part * (2 * (start + end) - 4 * half));

  /** The least margin within a piece against a torque, by thrust and position at its start, middle and end. */
  function noteLeast(y: Float64Array, i: number, time: number, area: number): void {
    const v = valves[i];
    const side = y[motion.direction + i] > 0 ? 1 : 0;
    const xEnd = y[x + i];
    const thrustEnd = outputs[out.thrust + i];
    const positionAt = (part: number) => between(y[motion.positionBefore + i], middleX[i], xEnd, part);
    const thrustAt = (part: number) => between(y[motion.thrustBefore_N + i], middleThrust[i], thrustEnd, part);
    const needAt = (part: number) => loadAt(y, i, side, positionAt(part)) + v.running_N;
    const marginAt = (part: number) => {
      const need = needAt(part);
      return need > 0 ? (thrustAt(part) - need) / need : NO_MARGIN;
    };
    let least = 0;
    for (let k = 1; k < PARTS; k++) if (marginAt(k / PARTS) < marginAt(least / PARTS)) least = k;
    if (least === 0) return;
    let low = (least - 1) / PARTS;
    let high = (least + 1) / PARTS;
    for (let k = 0; k < 24; k++) {
      const third = (high - low) / 3;
      if (marginAt(low + third) < marginAt(high - third)) high -= third;
      else low += third;
    }
    const part = (low + high) / 2;
    const start = 2 * middleTime - time;
    const spare_Pa = (thrustAt(part) - needAt(part)) / area;
    noteMargin(y, motion, i, marginAt(part), spare_Pa, start + part * (time - start), positionAt(part));
  }

  return { needed, recording, inside, settled };
}
