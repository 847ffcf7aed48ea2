/**
 * The reserve: from the state in which the required set has ended, with the mains off, the whole set is repeated in the
 * same engine until one stroke fails. Before each repetition every valve is taken back to where its set begins; those
 * strokes draw oil too and count as failed when they do not complete. Valves follow each other with their trip delays.
 */
import { valvePosition } from '../models/drive.ts';
import { EventCode } from '../models/events.ts';
import { blockedPartWay, Mode } from '../models/motion.ts';
import type { Unit } from '../models/unit.ts';
import type { Engine, Observer } from '../sim/engine.ts';

export interface Reserve {
  readonly completeSets: number;
  /** Required strokes completed in the set that failed. */
  readonly furtherStrokes: number;
  readonly more: boolean;
  /** Tag of the valve whose stroke failed, and in which direction. */
  readonly failed:
    | {
        readonly valve: string;
        readonly direction: 1 | -1;
        readonly position: number;
        readonly gas: boolean;
        readonly shut: boolean;
      }
    | undefined;
}

/** A stroke to command: trip stroke of its valve, from 1, or 0 for one over the whole travel. */
interface Order {
  readonly i: number;
  readonly direction: 1 | -1;
  readonly stroke: number;
  readonly delay: number;
}

const MOST_SETS = 20;
/** A stroke without a stated limit counts as failed after this (choice). */
const PATIENCE_s = 300;

/** Counts the reserve; undefined where the work limit left no room for it. `after` is left alone. */
export function countReserve(unit: Unit, engine: Engine, after: Float64Array): Reserve | undefined {
  const { plant, layout, motion } = unit;
  const y = after.slice();
  const givenUp = (state: Float64Array, i: number) =>
    state[motion.mode + i] === Mode.gas || state[motion.mode + i] === Mode.shut;
  const required = plant.valves
    .map((_, i) => i)
    .filter((i) => plant.valves[i].require !== undefined && plant.valves[i].strokes.length > 0);
  const ended = new Set<number>();
  const observer: Observer = {
    sampleTicks: 0,
    event(_state, code, item) {
      if (code === EventCode.valveEnd) ended.add(item);
    },
  };
  unit.muteActions(y);

  let workLimit = false;
  const advance: Engine['advance'] = (...how) => {
    const stop = engine.advance(...how);
    if (stop === 'work limit') workLimit = true;
    return stop;
  };

  /** Commands strokes at their delays and waits for all; the index of the first that fails, or -1, also at the work limit. */
  function phase(strokes: readonly Order[], counted: { done: number }): number {
    const from = y[layout.clock.tick];
    const pending = [...strokes].sort((a, b) => a.delay - b.delay || a.i - b.i);
    const underWay: { i: number; deadline: number }[] = [];
    ended.clear();
    for (;;) {
      while (pending.length > 0 && from + pending[0].delay <= y[layout.clock.tick]) {
        const { i, direction, stroke } = pending.shift() as Order;
        unit.command(y, i, direction, stroke, (code, item) => observer.event?.(y, code, item, 0, 0));
        const limit = plant.valves[i].require?.longest_s ?? PATIENCE_s;
        underWay.push({ i, deadline: y[layout.clock.tick] + Math.ceil(limit / plant.tick_s) });
      }
      for (let k = underWay.length - 1; k >= 0; k--) {
        const { i, deadline } = underWay[k];
        if (ended.has(i)) {
          underWay.splice(k, 1);
          counted.done++;
        } else if (y[layout.clock.tick] >= deadline || givenUp(y, i)) return i;
      }
      if (pending.length === 0 && underWay.length === 0) return -1;
      let next = Infinity;
      if (pending.length > 0) next = from + pending[0].delay;
      for (const { deadline } of underWay) next = Math.min(next, deadline);
      const waiting = underWay.length;
      const before = ended.size;
      advance(
        y,
        Math.max(next, y[layout.clock.tick] + 1),
        observer,
        (state) => ended.size > before || (waiting > 0 && underWay.some(({ i }) => givenUp(state, i))),
      );
      // Finish the tick, so that commands fall on ticks.
      if (y[layout.clock.offset] > 0) advance(y, y[layout.clock.tick] + 1, observer);
      if (workLimit) return -1;
    }
  }

  let completeSets = 0;
  for (; completeSets < MOST_SETS; completeSets++) {
    const counted = { done: 0 };
    // Back to where the set begins: against its first stroke.
    const back = required
      .filter(
        (i) => (y[motion.direction + i] > 0 ? 1 : -1) === plant.valves[i].strokes[0] || blockedPartWay(y, motion, i),
      )
      .map((i): Order => ({ i, direction: plant.valves[i].strokes[0] > 0 ? -1 : 1, stroke: 0, delay: 0 }));
    let failed = phase(back, { done: 0 });
    if (failed < 0) {
      const rounds = Math.max(...required.map((i) => plant.valves[i].strokes.length));
      for (let r = 0; r < rounds && failed < 0; r++) {
        const strokes = required
          .filter((i) => r < plant.valves[i].strokes.length)
          .map(
            (i): Order => ({
              i,
              direction: plant.valves[i].strokes[r] as 1 | -1,
              stroke: r + 1,
              delay: r === 0 ? plant.valves[i].tripDelay_ticks : plant.valves[i].pause_ticks,
            }),
          );
        failed = phase(strokes, counted);
      }
    }
    if (workLimit) return undefined;
    if (failed >= 0) {
      return {
        completeSets,
        furtherStrokes: counted.done,
        more: false,
        failed: {
          valve: plant.valves[failed].tag,
          direction: y[motion.direction + failed] > 0 ? 1 : -1,
          position: valvePosition(plant.valves[failed].drive, y[unit.slots.x + failed]),
          gas: y[motion.mode + failed] === Mode.gas,
          shut: y[motion.mode + failed] === Mode.shut,
        },
      };
    }
  }
  return { completeSets, furtherStrokes: 0, more: true, failed: undefined };
}
