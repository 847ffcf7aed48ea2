import type { Flows } from './flows.ts';
import { Mode, NO_MARGIN, noteMargin } from './motion.ts';
import type { Parts } from './parts.ts';

/** The least force margin over each stroke, from the ends and the middle of every piece of a step. */
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
  const { loadNow } = flows;
  const nV = valves.length;
  const { x } = parts.slots;

  const middle = new Float64Array(nV);
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
      if (middleTime >= 0 && before < NO_MARGIN && margin < NO_MARGIN) {
        // A least value inside the piece: the vertex of the parabola through start, middle and end.
        const low = middle[i];
        const bend = before + margin - 2 * low;
        const vertex = low < before && low < margin && bend > 0 ? low - (margin - before) ** 2 / (8 * bend) : low;
        noteMargin(y, motion, i, vertex, middle_Pa[i], middleTime, middleX[i]);
      }
      noteMargin(y, motion, i, margin, spare / area, time, y[x + i]);
      y[motion.before + i] = margin;
    }
    middleTime = -1;
  }

  return { needed, recording, inside, settled };
}
