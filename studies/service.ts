/**
 * Normal service of a plant, followed until every machine has had its turns: what there is to fail the power in. Nothing
 * is judged here; whoever follows may look at the state at chosen instants.
 */
import { EventCode } from '../models/events.ts';
import { Selector } from '../models/motor.ts';
import type { Plant } from '../models/plant.ts';
import type { Unit } from '../models/unit.ts';
import type { Engine } from '../sim/engine.ts';

/** Turns that every machine must have had (common practice: three cycles show whether they repeat). */
export const CYCLES = 3;
/** Longest service that is followed, s. */
export const LONGEST_SERVICE_s = 60 * 86_400;

/** What ends service: the oil of the sump is used up or runs over, the tank is empty or full. Nobody goes on after it. */
export const ENDS: ReadonlySet<number> = new Set([
  EventCode.suctionLost,
  EventCode.sumpOverflows,
  EventCode.gasBreakthrough,
  EventCode.outletShut,
  EventCode.tankFull,
]);

/** Something that happened in service, at the tick by which it had. */
export interface ServiceEvent {
  readonly tick: number;
  readonly code: number;
  readonly item: number;
  readonly pressure_Pa: number;
  readonly oil_m3: number;
}

export interface Service {
  /** Ticks to which service was followed. */
  readonly ticks: number;
  /** Starts and stops of machines. */
  readonly events: readonly ServiceEvent[];
  /** Whether every machine in auto that takes turns has had its cycles; else the longest service was followed. */
  readonly complete: boolean;
  /** What ended service before that, by EventCode: no unit goes on serving after it unless somebody comes. */
  readonly endedBy: number | undefined;
  /** Machines in auto that never started. */
  readonly idle: readonly number[];
  /**
   * Change, in pressure and oil, between the last two starts of the same machine; undefined where none started twice.
   * Small beside what service makes of them: the cycle repeats.
   */
  readonly drift: { readonly motor: number; readonly pressure_Pa: number; readonly oil_m3: number } | undefined;
}

/** Follows service from the start of a plant in service. `longest_s` bounds it; the state at its start is left alone. */
export function followService(
  unit: Unit,
  engine: Engine,
  start: Float64Array,
  longest_s: number = LONGEST_SERVICE_s,
): Service {
  const { plant, layout, slots } = unit;
  const y = start.slice();
  const events: ServiceEvent[] = [];
  const starts = new Array<number>(plant.pumps.length + plant.compressors.length).fill(0);
  const wanted = turnsWanted(plant);
  const done = () => wanted.every((kind) => kind.motors.reduce((sum, m) => sum + starts[m], 0) >= kind.starts);
  let endedBy: number | undefined;
  const observer = {
    sampleTicks: 0,
    event(state: Float64Array, code: number, item: number) {
      if (ENDS.has(code)) endedBy = code;
      if (code !== EventCode.motorStarted && code !== EventCode.motorStopped) return;
      if (code === EventCode.motorStarted) starts[item]++;
      const tick = state[layout.clock.tick] + (state[layout.clock.offset] > 0 ? 1 : 0);
      events.push({ tick, code, item, pressure_Pa: unit.gasPressure(state), oil_m3: state[slots.oil] });
    },
  };
  const last = Math.ceil(longest_s / plant.tick_s);
  engine.advance(y, last, observer, () => endedBy !== undefined || (wanted.length > 0 && done()));
  const complete = wanted.length > 0 && done();
  const idle = wanted.flatMap((kind) => kind.motors).filter((m) => starts[m] === 0);
  // The last cycle is followed to its end.
  if (complete && y[layout.clock.tick] < last) {
    const running = unit.panel.slots.running;
    engine.advance(
      y,
      last,
      observer,
      (state) => endedBy !== undefined || starts.every((_, m) => state[running + m] === 0),
    );
  }
  return { ticks: y[layout.clock.tick], events, complete, endedBy, idle, drift: driftOf(events) };
}

/** Of each kind of machine: those in auto that take turns, and the starts they must make together. */
function turnsWanted(plant: Plant): { motors: number[]; starts: number }[] {
  const { pumps, compressors, panel } = plant;
  const auto = (first: number, list: readonly { readonly selector: number }[]) =>
    list.flatMap((m, k) => (m.selector === Selector.auto ? [first + k] : []));
  return [auto(0, pumps), auto(pumps.length, compressors)]
    .filter((motors) => motors.length > 0)
    .map((motors) => {
      const turns = panel.alternation === 'each call' ? motors : motors.slice(0, 1);
      return { motors: turns, starts: CYCLES * turns.length };
    });
}

function driftOf(events: readonly ServiceEvent[]): Service['drift'] {
  let slowest: Service['drift'];
  let period = 0;
  const motors = new Set(events.map((e) => e.item));
  for (const motor of motors) {
    const own = events.filter((e) => e.item === motor && e.code === EventCode.motorStarted).slice(-2);
    if (own.length < 2 || own[1].tick - own[0].tick <= period) continue;
    period = own[1].tick - own[0].tick;
    slowest = {
      motor,
      pressure_Pa: own[1].pressure_Pa - own[0].pressure_Pa,
      oil_m3: own[1].oil_m3 - own[0].oil_m3,
    };
  }
  return slowest;
}
