/**
 * The state of a run: one flat numeric array with a name, a unit and bounds for every slot. Copying the array copies the
 * run; nothing that influences the next step lives anywhere else.
 *
 *   integrated   solved by the integrator under error control
 *   total        integrated amounts that feed nothing back (ledger paths, energies), no error control of their own
 *   discrete     bits, counters, ticks and clocks, changed only between steps
 *   rounding     one slot for each integrated and total slot: what compensated summation still owes it
 */
import { assert } from './fault.ts';

export interface SlotInfo {
  readonly name: string;
  readonly unit: string;
  readonly min: number;
  readonly max: number;
  /** Size at which an integrated slot is neither small nor large; its absolute error tolerance is relative to it. */
  scale: number;
}

export interface Layout {
  readonly slots: readonly SlotInfo[];
  readonly integrated: number;
  /** integrated + totals: the slots the integrator advances. */
  readonly advanced: number;
  /** First rounding slot. */
  readonly rounding: number;
  readonly size: number;
  /** Slots of the clock and of step control. */
  readonly clock: ClockSlots;
}

export interface ClockSlots {
  readonly tick: number;
  /** Seconds after the tick, >= 0 and < one tick. */
  readonly offset: number;
  /** Last tick whose changes, contacts and logic have been carried out; -1 before the first. */
  readonly done: number;
  /** Step the controller wants next, s; 0 asks for a fresh estimate. */
  readonly planned: number;
  readonly lastError: number;
  readonly steps: number;
  readonly eventTick: number;
  readonly eventsInTick: number;
}

export interface LayoutBuilder {
  integrated(info: SlotInfo): number;
  total(name: string, unit: string): number;
  discrete(name: string, unit: string, min: number, max: number): number;
  /** Number of the next slot to be declared. */
  size(): number;
  build(): Layout;
}

/**
 * Slots are numbered only when the layout is built, so the builder hands out final numbers by taking them in order:
 * all integrated slots first, then totals, then discrete ones. Asking out of order is our own mistake.
 */
export function layoutBuilder(): LayoutBuilder {
  const slots: SlotInfo[] = [];
  let integrated = -1;
  let advanced = -1;
  return {
    integrated(info) {
      assert(integrated < 0, `integrated slot ${info.name} declared after totals`);
      slots.push(info);
      return slots.length - 1;
    },
    total(name, unit) {
      if (integrated < 0) integrated = slots.length;
      assert(advanced < 0, `total ${name} declared after discrete slots`);
      slots.push({ name, unit, min: -Infinity, max: Infinity, scale: 1 });
      return slots.length - 1;
    },
    discrete(name, unit, min, max) {
      if (integrated < 0) integrated = slots.length;
      if (advanced < 0) advanced = slots.length;
      slots.push({ name, unit, min, max, scale: 1 });
      return slots.length - 1;
    },
    size: () => slots.length,
    build() {
      const clock: ClockSlots = {
        tick: this.discrete('clock.tick', '1', 0, Number.MAX_SAFE_INTEGER),
        offset: this.discrete('clock.offset', 's', 0, Infinity),
        done: this.discrete('clock.done', '1', -1, Number.MAX_SAFE_INTEGER),
        planned: this.discrete('clock.planned', 's', 0, Infinity),
        lastError: this.discrete('clock.lastError', '1', 0, Infinity),
        steps: this.discrete('clock.steps', '1', 0, Infinity),
        eventTick: this.discrete('clock.eventTick', '1', -1, Infinity),
        eventsInTick: this.discrete('clock.eventsInTick', '1', 0, Infinity),
      };
      const rounding = slots.length;
      for (let i = 0; i < advanced; i++) {
        slots.push({ name: `${slots[i].name}.rounding`, unit: slots[i].unit, min: -Infinity, max: Infinity, scale: 1 });
      }
      return { slots, integrated, advanced, rounding, size: slots.length, clock };
    },
  };
}

/** A zeroed state of this layout with its clock at tick 0 and nothing carried out yet. */
export function newState(layout: Layout): Float64Array {
  const y = new Float64Array(layout.size);
  y[layout.clock.done] = -1;
  y[layout.clock.eventTick] = -1;
  y[layout.clock.lastError] = 1e-4;
  return y;
}

/** The first slot that is not finite or lies outside its bounds, as a message; undefined when all is well. */
export function firstBadSlot(layout: Layout, y: Float64Array): string | undefined {
  for (let i = 0; i < layout.size; i++) {
    const { name, unit, min, max } = layout.slots[i];
    const value = y[i];
    if (!Number.isFinite(value) || value < min || value > max) {
      return `${name} = ${value} ${unit}, outside ${min} .. ${max}`;
    }
  }
  return undefined;
}
