/** Runs a random case and keeps what can be compared: every event and the end state. */
import { createUnit, type Unit } from '../../models/unit.ts';
import { createEngine, type EngineOptions, type StopReason } from '../../sim/engine.ts';
import type { RandomCase } from './randomScenario.ts';

export interface EventRow {
  readonly tick: number;
  readonly offset_s: number;
  readonly time_s: number;
  readonly code: number;
  readonly item: number;
  readonly value: number;
  readonly other: number;
  readonly pressure_Pa: number;
  readonly oil_m3: number;
}

export interface CaseRun {
  readonly unit: Unit;
  readonly start: Float64Array;
  readonly end: Float64Array;
  readonly events: readonly EventRow[];
  readonly stop: StopReason;
}

export interface CaseOptions extends EngineOptions {
  readonly sampleTicks?: number;
  /** Ticks to which the run is advanced one after the other; the length of the case when left out. */
  readonly stops?: readonly number[];
  readonly sample?: (unit: Unit, y: Float64Array, start: Float64Array) => void;
  /** At the end of every piece and at every event. */
  readonly settled?: (unit: Unit, y: Float64Array, start: Float64Array) => void;
  readonly until?: (y: Float64Array) => boolean;
  /** Goes on from this state instead of the start. */
  readonly from?: Float64Array;
}

/**
 * Most steps of a case. Where small air volumes make a case stiff it ends there; laws that compare bytes hold all the
 * same, laws that compare within a tolerance skip it.
 */
export const MOST_STEPS = 4000;

export function runCase(c: Pick<RandomCase, 'plant' | 'ticks'>, options: CaseOptions = {}): CaseRun {
  const unit = createUnit(c.plant);
  const engine = createEngine(unit, { stepBudget: MOST_STEPS, ...options });
  const start = unit.start();
  const y = (options.from ?? start).slice();
  const events: EventRow[] = [];
  const { clock } = unit.layout;
  const observer = {
    sampleTicks: options.sampleTicks ?? 0,
    sample: (state: Float64Array) => options.sample?.(unit, state, start),
    settled: (state: Float64Array) => options.settled?.(unit, state, start),
    event(state: Float64Array, code: number, item: number, value: number, other: number) {
      events.push({
        tick: state[clock.tick],
        offset_s: state[clock.offset],
        time_s: state[clock.tick] * c.plant.tick_s + state[clock.offset],
        code,
        item,
        value,
        other,
        pressure_Pa: unit.gasPressure(state),
        oil_m3: state[unit.slots.oil],
      });
    },
  };
  let stop: StopReason = 'reached';
  for (const toTick of options.stops ?? [c.ticks]) {
    stop = engine.advance(y, toTick, observer, options.until);
    if (stop !== 'reached') break;
  }
  return { unit, start, end: y, events, stop };
}

/** Whether two states are the same bit for bit; else the first slot that differs. */
export function firstDifference(unit: Unit, a: Float64Array, b: Float64Array): string | undefined {
  for (let i = 0; i < unit.layout.size; i++) {
    if (!Object.is(a[i], b[i])) return `${unit.layout.slots[i].name}: ${a[i]} against ${b[i]}`;
  }
  return undefined;
}

/** The first event in which two lists differ in any bit, in words; undefined when they are the same. */
export function firstOtherEvent(a: readonly EventRow[], b: readonly EventRow[]): string | undefined {
  for (let k = 0; k < Math.max(a.length, b.length); k++) {
    if (JSON.stringify(a[k]) !== JSON.stringify(b[k])) {
      return `event ${k}: ${JSON.stringify(a[k])} against ${JSON.stringify(b[k])}`;
    }
  }
  return undefined;
}
