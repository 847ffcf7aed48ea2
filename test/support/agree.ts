/** Whether two runs of one case tell the same story within a tolerance. */
import { assert } from 'vitest';
import type { RandomCase } from './randomScenario.ts';
import type { CaseRun, EventRow } from './runCase.ts';

/**
 * What the step errors of a run may add up to: RELATIVE_STEP_ERROR for each accepted step, and a hundred times that
 * because the pressure magnifies an error of the oil by the vessel's volume over the air's, up to twenty, and what one
 * error starts the rest of the run carries on.
 */
export const stepTolerance = (run: CaseRun): number => 1e-8 * 100 * (10 + run.end[run.unit.layout.clock.steps]);

/** Times further apart than this are not one instant; at least a tick for what happens at ticks. */
const ONE_INSTANT_s = 5e-4;

/**
 * Compares event by event, then the end. Every event must be the same thing happening to the same item at the same
 * pressure and oil. A quantity that creeps towards its limit meets it at a time that has few digits, and what is read at
 * scans may then be read a scan sooner or later; or two things change places in one instant. From the first event so
 * displaced the two runs may differ, and the comparison ends.
 *
 * @returns whether the comparison went through to the end
 */
export function agree(c: RandomCase, a: CaseRun, b: CaseRun, tolerance: number, timeOffset_s = 0): boolean {
  for (let k = 0; k < Math.max(a.events.length, b.events.length); k++) {
    const x = a.events[k];
    const y = b.events[k];
    // Displaced past the end of the run.
    if (x === undefined || y === undefined) return false;
    const where = `event ${k}: ${words(x)} against ${words(y)}`;
    if (x.code !== y.code || x.item !== y.item) {
      // Two things in one instant, at a scan above all, may come in either order; what follows from it may then differ.
      const soon = 2 * c.plant.scanTicks * c.plant.tick_s + ONE_INSTANT_s;
      const hasToo = (events: readonly EventRow[], e: EventRow, offset_s: number) =>
        events
          .slice(k, k + 40)
          .some((o) => o.code === e.code && o.item === e.item && Math.abs(o.time_s - e.time_s + offset_s) <= soon);
      assert(hasToo(b.events, x, -timeOffset_s) || hasToo(a.events, y, timeOffset_s), where);
      return false;
    }
    if (Math.abs(x.time_s - (y.time_s - timeOffset_s)) > ONE_INSTANT_s) return false;
    assert(Math.abs(x.pressure_Pa / y.pressure_Pa - 1) <= tolerance, `pressure of ${where}`);
    assert(Math.abs(x.oil_m3 - y.oil_m3) <= tolerance * c.plant.tank.volume_m3, `oil of ${where}`);
  }
  const { slots, integrated } = a.unit.layout;
  for (let i = 0; i < integrated; i++) {
    // Positions of pistons are compared by slot names, for plants whose valves are listed in another order.
    const j = b.unit.layout.slots.findIndex((s) => s.name === slots[i].name);
    const difference = Math.abs(a.end[i] - b.end[j]);
    assert(
      difference <= tolerance * Math.max(slots[i].scale, Math.abs(a.end[i])),
      `${slots[i].name} ends at ${a.end[i]} against ${b.end[j]}, tolerance ${tolerance}`,
    );
  }
  return true;
}

const words = (e: EventRow): string =>
  `code ${e.code} item ${e.item} at ${e.time_s} s, ${e.pressure_Pa} Pa, ${e.oil_m3} m3`;
