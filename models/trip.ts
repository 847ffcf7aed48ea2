/**
 * Trip of the valves. The undervoltage relay acts its delay after the mains went and stays until it is reset (or until
 * the mains are back); each valve follows after its own delay. While control power lives, pilots are shifted
 * electrically and sequences go on. When it dies, a spring-offset pilot goes to its offset at once, a detented one
 * stays, a spring-centred one blocks, and strokes not yet begun are lost: nothing more is commanded before the next trip.
 *
 * Neither the end of a trip nor control power coming back commands anything: a stroke under way is finished, later ones
 * are not begun. While a trip stands, its valves take no other command.
 * Source: common practice, no source. Not modelled: pilot shift time.
 */
import type { LayoutBuilder } from '../sim/layout.ts';
import type { Emit } from '../sim/system.ts';
import { EventCode, Refused } from './events.ts';
import { Mode, type MotionSlots } from './motion.ts';
import type { PanelSlots } from './panel.ts';
import type { Plant } from './plant.ts';
import { sooner } from './timer.ts';

/** Ticks of timers are those at which they began, -1 while they do not run. */
export interface TripSlots {
  readonly undervoltageSince: number;
  readonly undervoltage: number;
  readonly controlSeen: number;
  /** First of one slot per valve: since when a trip stands, strokes begun, whether the others are lost, pause, hold. */
  readonly since: number;
  readonly issued: number;
  readonly lost: number;
  readonly pauseSince: number;
  readonly holdEnds: number;
}

export type Command = (y: Float64Array, valve: number, direction: number, tripStroke: number) => void;

export interface Trip {
  readonly slots: TripSlots;
  /** Returns whether any valve was commanded or any bit changed. */
  scan(y: Float64Array, tick: number, emit: Emit, command: Command): boolean;
  /** The earlier of `earliest` and the next tick at which time alone changes something. */
  nextDue(y: Float64Array, tick: number, earliest: number): number;
  /** Whether a valve takes a command in service; says so if not. */
  allows(y: Float64Array, valve: number, emit: Emit): boolean;
  /** Resets the trip. Returns false, and says so, while the mains are lost. */
  reset(y: Float64Array, emit: Emit): boolean;
}

const LARGE = Number.MAX_SAFE_INTEGER;

export function createTrip(plant: Plant, layout: LayoutBuilder, panel: PanelSlots, motion: MotionSlots): Trip {
  const { valves, power, scanTicks } = plant;
  const per = (name: string, unit: string, min: number, max: number): number => {
    const first = layout.size();
    for (const v of valves) layout.discrete(`${v.tag}.${name}`, unit, min, max);
    return first;
  };
  const s: TripSlots = {
    undervoltageSince: layout.discrete('undervoltage.since', 'tick', -1, LARGE),
    undervoltage: layout.discrete('undervoltage', 'bit', 0, 1),
    controlSeen: layout.discrete('controlPower.seen', 'bit', 0, 1),
    since: per('trip.since', 'tick', -1, LARGE),
    issued: per('trip.issued', '1', 0, LARGE),
    lost: per('trip.lost', 'bit', 0, 1),
    pauseSince: per('trip.pauseSince', 'tick', -1, LARGE),
    holdEnds: per('hold.ends', 'tick', -1, LARGE),
  };
  let changed = false;

  function relay(y: Float64Array, tick: number, emit: Emit, control: boolean): void {
    if (y[panel.mains] === 1) {
      if (y[s.undervoltageSince] >= 0) changed = true;
      y[s.undervoltageSince] = -1;
      if (power.latched || y[s.undervoltage] === 0) return;
      y[s.undervoltage] = 0;
      changed = true;
      return;
    }
    if (y[s.undervoltageSince] < 0) {
      y[s.undervoltageSince] = tick;
      changed = true;
    }
    if (!control || y[s.undervoltage] === 1 || tick - y[s.undervoltageSince] < power.undervoltage_ticks) return;
    y[s.undervoltage] = 1;
    emit(EventCode.undervoltageTrip, 0, 0, 0);
    changed = true;
  }

  /** Begins and ends the trip of a valve as its signal comes and goes; one by the springs alone ends with control back. */
  function follow(y: Float64Array, tick: number, i: number, signal: boolean, controlBack: boolean): void {
    if (signal === y[s.since + i] >= 0 && (signal || !controlBack)) return;
    y[s.since + i] = signal ? tick : -1;
    y[s.issued + i] = 0;
    y[s.lost + i] = 0;
    y[s.pauseSince + i] = -1;
    y[s.holdEnds + i] = -1;
    changed = true;
  }

  /** What the pilot does when control power dies. */
  function springs(y: Float64Array, i: number, emit: Emit, command: Command): void {
    const { pilot, offset, strokes } = valves[i];
    const issued = y[s.issued + i];
    if (pilot === 'spring offset' && offset !== 0) {
      const turns = y[motion.direction + i] !== offset;
      if (strokes[issued] === offset && (issued === 0 || turns)) {
        y[s.issued + i] = issued + 1;
        command(y, i, offset, issued + 1);
      } else if (turns) command(y, i, offset, 0);
    } else if (pilot === 'spring centred' && y[motion.direction + i] !== 0) command(y, i, 0, 0);
    const left = strokes.length - y[s.issued + i];
    y[s.lost + i] = left > 0 ? 1 : 0;
    if (left > 0) emit(EventCode.sequenceLost, i, left, 0);
  }

  function nextStroke(y: Float64Array, tick: number, i: number, command: Command): void {
    const { strokes, tripDelay_ticks, pause_ticks } = valves[i];
    const issued = y[s.issued + i];
    if (issued >= strokes.length || y[s.lost + i] === 1) return;
    if (issued === 0) {
      if (tick - y[s.since + i] < tripDelay_ticks) return;
    } else {
      if (y[motion.mode + i] !== Mode.end) return;
      if (y[s.pauseSince + i] < 0) {
        y[s.pauseSince + i] = tick;
        changed = true;
      }
      if (tick - y[s.pauseSince + i] < pause_ticks) return;
    }
    y[s.pauseSince + i] = -1;
    y[s.issued + i] = issued + 1;
    command(y, i, strokes[issued], issued + 1);
    changed = true;
  }

  /** The hold after the last stroke is timed from the scan that saw the valve at its end. */
  function hold(y: Float64Array, tick: number, i: number, emit: Emit): void {
    const { strokes, hold_ticks } = valves[i];
    if (hold_ticks === 0 || strokes.length === 0) return;
    const ended = y[s.issued + i] === strokes.length && y[motion.mode + i] === Mode.end;
    if (y[s.holdEnds + i] < 0 && ended) {
      y[s.holdEnds + i] = Math.ceil((tick + hold_ticks) / scanTicks) * scanTicks;
      changed = true;
    }
    if (y[s.holdEnds + i] === tick) emit(EventCode.holdOver, i, y[motion.mode + i], 0);
  }

  return {
    slots: s,

    scan(y, tick, emit, command) {
      changed = false;
      const control = y[panel.control] === 1;
      relay(y, tick, emit, control);
      const controlDies = !control && y[s.controlSeen] === 1;
      const controlBack = control && y[s.controlSeen] === 0;
      if (controlDies || controlBack) {
        y[s.controlSeen] = control ? 1 : 0;
        emit(control ? EventCode.controlPowerBack : EventCode.controlPowerLost, 0, 0, 0);
        changed = true;
      }
      for (let i = 0; i < valves.length; i++) {
        follow(y, tick, i, valves[i].tripByControl ? !control : y[s.undervoltage] === 1, controlBack);
        if (controlDies) springs(y, i, emit, command);
        else if (control && y[s.since + i] >= 0) nextStroke(y, tick, i, command);
        hold(y, tick, i, emit);
      }
      return changed;
    },

    nextDue(y, tick, earliest) {
      let due = earliest;
      if (y[s.undervoltage] === 0) {
        due = sooner(due, tick, y[s.undervoltageSince], power.undervoltage_ticks, scanTicks);
      }
      for (let i = 0; i < valves.length; i++) {
        if (y[s.issued + i] === 0) due = sooner(due, tick, y[s.since + i], valves[i].tripDelay_ticks, scanTicks);
        due = sooner(due, tick, y[s.pauseSince + i], valves[i].pause_ticks, scanTicks);
        due = sooner(due, tick, y[s.holdEnds + i], 0, scanTicks);
      }
      return due;
    },

    allows(y, i, emit) {
      if (y[panel.control] === 0) emit(EventCode.commandRefused, i, Refused.noControlPower, 0);
      else if (y[s.since + i] >= 0 && valves[i].strokes.length > 0)
        emit(EventCode.commandRefused, i, Refused.tripStands, 0);
      else return true;
      return false;
    },

    reset(y, emit) {
      if (y[panel.mains] === 0) {
        emit(EventCode.commandRefused, -1, Refused.tripStands, 0);
        return false;
      }
      y[s.undervoltage] = 0;
      return true;
    },
  };
}
