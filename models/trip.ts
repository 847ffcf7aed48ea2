/**
 * Trip of the valves. The undervoltage relay acts its delay after the mains went; each valve follows after its own
 * delay. While control power lives, pilots are shifted electrically and sequences go on. When it dies, a spring-offset
 * pilot goes to its offset at once, a detented one stays, a spring-centred one blocks, and later strokes are lost.
 * Source: common practice, no source. Not modelled: pilot shift time.
 */
import type { LayoutBuilder } from '../sim/layout.ts';
import type { Emit } from '../sim/system.ts';
import { EventCode } from './events.ts';
import { Mode, type MotionSlots } from './motion.ts';
import type { PanelSlots } from './panel.ts';
import type { Plant } from './plant.ts';

export interface TripSlots {
  readonly undervoltageSince: number;
  readonly undervoltage: number;
  readonly controlSeen: number;
  /** First of one slot per valve. */
  readonly since: number;
  readonly issued: number;
  readonly pauseSince: number;
  readonly holdEnds: number;
}

export type Command = (y: Float64Array, valve: number, direction: number, tripStroke: number) => void;

export interface Trip {
  readonly slots: TripSlots;
  /** Returns whether any valve was commanded or any bit changed. */
  scan(y: Float64Array, tick: number, emit: Emit, command: Command): boolean;
  nextDue(y: Float64Array, tick: number, earliest: number): number;
  reset(y: Float64Array): void;
}

const LARGE = Number.MAX_SAFE_INTEGER;

export function createTrip(plant: Plant, layout: LayoutBuilder, panel: PanelSlots, motion: MotionSlots): Trip {
  const { valves, power, scanTicks } = plant;
  const per = (name: string, min: number): number => {
    let first = -1;
    for (const v of valves) {
      const slot = layout.discrete(`${v.tag}.${name}`, 'tick', min, LARGE);
      if (first < 0) first = slot;
    }
    return first;
  };
  const s: TripSlots = {
    undervoltageSince: layout.discrete('undervoltage.since', 'tick', -1, LARGE),
    undervoltage: layout.discrete('undervoltage', 'bit', 0, 1),
    controlSeen: layout.discrete('controlPower.seen', 'bit', 0, 1),
    since: per('trip.since', -1),
    issued: per('trip.issued', 0),
    pauseSince: per('trip.pauseSince', -1),
    holdEnds: per('hold.ends', -1),
  };

  return {
    slots: s,

    scan(y, tick, emit, command) {
      let changed = false;
      const control = y[panel.control] === 1;
      if (y[panel.mains] === 0) {
        if (y[s.undervoltageSince] < 0) {
          y[s.undervoltageSince] = tick;
          changed = true;
        }
        const due = tick - y[s.undervoltageSince] >= power.undervoltage_ticks;
        if (control && due && y[s.undervoltage] === 0) {
          y[s.undervoltage] = 1;
          emit(EventCode.undervoltageTrip, 0, 0, 0);
          changed = true;
        }
      } else if (y[s.undervoltageSince] >= 0) {
        y[s.undervoltageSince] = -1;
        if (!power.latched) y[s.undervoltage] = 0;
        changed = true;
      }

      const controlDies = !control && y[s.controlSeen] === 1;
      if (control !== (y[s.controlSeen] === 1)) {
        y[s.controlSeen] = control ? 1 : 0;
        emit(control ? EventCode.controlPowerBack : EventCode.controlPowerLost, 0, 0, 0);
        changed = true;
      }
      for (let i = 0; i < valves.length; i++) {
        const valve = valves[i];
        const strokes = valve.strokes;
        if (controlDies) {
          const left = strokes.length - y[s.issued + i];
          if (valve.pilot === 'spring offset' && valve.offset !== 0) {
            if (y[motion.direction + i] !== valve.offset) {
              const isTrip = strokes[y[s.issued + i]] === valve.offset;
              if (isTrip) y[s.issued + i]++;
              command(y, i, valve.offset, isTrip ? y[s.issued + i] : 0);
            }
          } else if (valve.pilot === 'spring centred') command(y, i, 0, 0);
          if (left > (valve.pilot === 'spring offset' ? 1 : 0)) emit(EventCode.sequenceLost, i, left, 0);
          changed = true;
        }
        const signal = valve.tripByControl ? !control : y[s.undervoltage] === 1;
        if (!signal) {
          if (y[s.since + i] >= 0) {
            y[s.since + i] = -1;
            y[s.issued + i] = 0;
            y[s.pauseSince + i] = -1;
            changed = true;
          }
        } else if (y[s.since + i] < 0) {
          y[s.since + i] = tick;
          changed = true;
        }
        if (signal && control && y[s.since + i] >= 0) {
          const issued = y[s.issued + i];
          if (issued === 0 && strokes.length > 0 && tick - y[s.since + i] >= valve.tripDelay_ticks) {
            y[s.issued + i] = 1;
            command(y, i, strokes[0], 1);
            changed = true;
          } else if (issued > 0 && issued < strokes.length && y[motion.mode + i] === Mode.end) {
            if (y[s.pauseSince + i] < 0) {
              y[s.pauseSince + i] = tick;
              changed = true;
            }
            if (tick - y[s.pauseSince + i] >= valve.pause_ticks) {
              y[s.pauseSince + i] = -1;
              y[s.issued + i] = issued + 1;
              command(y, i, strokes[issued], issued + 1);
              changed = true;
            }
          }
        }
        // The hold after the last stroke is timed from the scan that saw the valve at its end.
        if (
          valve.hold_ticks > 0 &&
          y[s.holdEnds + i] < 0 &&
          strokes.length > 0 &&
          y[s.issued + i] === strokes.length &&
          y[motion.mode + i] === Mode.end
        ) {
          y[s.holdEnds + i] = Math.ceil((tick + valve.hold_ticks) / scanTicks) * scanTicks;
          changed = true;
        }
        if (y[s.holdEnds + i] === tick) emit(EventCode.holdOver, i, y[motion.mode + i], 0);
      }
      return changed;
    },

    nextDue(y, tick, earliest) {
      let due = earliest;
      const consider = (since: number, delay: number) => {
        if (since < 0) return;
        const k = Math.ceil((since + delay) / scanTicks) * scanTicks;
        if (k > tick && k < due) due = k;
      };
      if (y[s.undervoltage] === 0) consider(y[s.undervoltageSince], power.undervoltage_ticks);
      for (let i = 0; i < valves.length; i++) {
        if (y[s.issued + i] === 0) consider(y[s.since + i], valves[i].tripDelay_ticks);
        consider(y[s.pauseSince + i], valves[i].pause_ticks);
        consider(y[s.holdEnds + i], 0);
      }
      return due;
    },

    reset(y) {
      y[s.undervoltage] = 0;
      for (let i = 0; i < valves.length; i++) {
        y[s.since + i] = -1;
        y[s.issued + i] = 0;
        y[s.pauseSince + i] = -1;
        y[s.holdEnds + i] = -1;
      }
    },
  };
}
