import type { Emit } from '../sim/system.ts';
import { FaultState } from './adjust.ts';
import type { Comparisons } from './comparisons.ts';
import { Circuit } from './contact.ts';
import { EventCode } from './events.ts';
import { Mode } from './motion.ts';
import { Selector } from './motor.ts';
import type { Parts } from './parts.ts';
import type { Pistons } from './pistons.ts';
import type { Action } from './plant.ts';
import { StepEnd } from './step.ts';

/** Gives a valve a direction. */
export type Commanded = (y: Float64Array, valve: number, direction: number, tripStroke: number) => void;

/** What comes from outside the unit at ticks: actions, steps of the hands, faults. */
export interface Hands {
  act(y: Float64Array, action: Action, item: number, tick: number, emit: Emit, commanded: Commanded): void;
  takeSteps(y: Float64Array, tick: number, emit: Emit, commanded: Commanded): boolean;
  stepFault(y: Float64Array, fault: number, tick: number, emit: Emit): boolean;
}

export function createHands(parts: Parts, comparisons: Comparisons, pistons: Pistons): Hands {
  const { plant, motion, adjust, panel, trip, motors } = parts;
  const { scanTicks } = plant;
  const { restMode } = pistons;
  const a = adjust.slots;
  const ps = panel.slots;
  const { safetyOpen, scanAt, shut, stepAt, stepSince } = parts.slots;

  /** Goes on with the steps of the hands as far as this scan allows. Returns whether anything was done. */
  function takeSteps(y: Float64Array, tick: number, emit: Emit, commanded: Commanded): boolean {
    let done = false;
    while (y[stepAt] < plant.steps.length) {
      const n = y[stepAt];
      const step = plant.steps[n];
      if (y[stepSince] < 0) {
        y[stepSince] = tick;
        done = true;
        emit(EventCode.stepBegins, n, 0, 0);
        if (step.action !== undefined) act(y, step.action, step.item, tick, emit, commanded);
      }
      const waited = tick - y[stepSince];
      const met = step.condition >= 0 ? comparisons.holds(y, step.condition) : waited >= step.wait_ticks;
      // What was just done shows in the readings only from the next scan on.
      if (step.condition >= 0 && waited === 0 && step.action !== undefined) return done;
      const given = step.condition >= 0 && waited >= step.patience_ticks;
      if (!met && !given) return done;
      emit(EventCode.stepEnds, n, met ? StepEnd.asMeant : StepEnd.outOfPatience, 0);
      y[stepAt] = n + 1;
      y[stepSince] = -1;
      done = true;
    }
    return done;
  }

  /** Begins or ends fault n if its time has come. Returns whether it did. */
  function stepFault(y: Float64Array, n: number, tick: number, emit: Emit): boolean {
    const f = plant.faults[n];
    if (y[a.state + n] === FaultState.waiting) {
      const due = f.tick >= 0 ? tick >= f.tick : comparisons.holds(y, f.condition);
      if (!due) return false;
      y[a.state + n] = FaultState.active;
      y[a.since + n] = tick;
      y[a.ends + n] = f.duration_ticks > 0 ? tick + f.duration_ticks : -1;
      emit(EventCode.faultBegins, n, 0, 0);
      turnFault(y, n, true, tick, emit);
      return true;
    }
    if (y[a.state + n] !== FaultState.active || y[a.ends + n] < 0 || tick < y[a.ends + n]) return false;
    y[a.state + n] = FaultState.over;
    y[a.ends + n] = -1;
    emit(EventCode.faultEnds, n, 0, 0);
    turnFault(y, n, false, tick, emit);
    return true;
  }

  /** What a fault changes beside adjustable numbers: starters, selectors, wires, pilots, the safety valve. */
  function turnFault(y: Float64Array, n: number, on: boolean, tick: number, emit: Emit): void {
    const { name, item } = plant.faults[n];
    adjust.apply(y);
    y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    switch (name) {
      case 'fails to start':
        y[ps.blocked + item] = on ? 1 : 0;
        break;
      case 'trips':
        if (!on) break;
        y[ps.tripped + item] = 1;
        emit(EventCode.motorTripped, item, 0, 0);
        panel.stopMotor(y, item, tick, emit);
        break;
      case 'locked rotor':
      case 'single phasing':
        // What stood still comes up to speed from now.
        if (on || y[ps.running + item] === 0) break;
        y[ps.rampTick + item] = tick;
        y[ps.comingUp + item] = motors[item].runUp_s > 0 ? 1 : 0;
        break;
      case 'left in off':
      case 'left in hand':
        y[ps.selector + item] = on ? (name === 'left in off' ? Selector.off : Selector.hand) : motors[item].selector;
        emit(EventCode.selectorSet, item, y[ps.selector + item], 0);
        break;
      case 'wire broken':
        y[ps.circuit + item] = on ? Circuit.broken : Circuit.sound;
        break;
      case 'pilot stuck':
        // Freed, the pilot follows the command that stands.
        if (!on && y[motion.active + item] === 1 && y[motion.mode + item] === Mode.idle) {
          y[motion.mode + item] = restMode(y, item);
        }
        break;
      case 'relief stuck open':
      case 'relief stuck shut':
        if (item < 0) y[safetyOpen] = on && name === 'relief stuck open' ? 1 : 0;
        break;
    }
  }

  function act(y: Float64Array, action: Action, item: number, tick: number, emit: Emit, commanded: Commanded): void {
    const eachMotor = (f: (m: number) => void) => {
      for (let m = 0; m < motors.length; m++) if (item < 0 || item === m) f(m);
    };
    switch (action) {
      case 'lose mains':
        if (y[ps.mains] === 0) break;
        emit(EventCode.mainsLost, 0, 0, 0);
        panel.mainsLost(y, tick, emit);
        break;
      case 'restore mains':
        if (y[ps.mains] === 1) break;
        emit(EventCode.mainsBack, 0, 0, 0);
        panel.mainsBack(y, tick);
        break;
      case 'open valve':
      case 'close valve':
        if (trip.allows(y, item, emit)) commanded(y, item, action === 'open valve' ? 1 : -1, 0);
        break;
      case 'trip motor':
        eachMotor((m) => {
          y[ps.tripped + m] = 1;
          emit(EventCode.motorTripped, m, 0, 0);
          panel.stopMotor(y, m, tick, emit);
        });
        break;
      case 'block start':
      case 'allow start':
        eachMotor((m) => {
          y[ps.blocked + m] = action === 'block start' ? 1 : 0;
          emit(EventCode.startBlocked, m, y[ps.blocked + m], 0);
        });
        break;
      case 'set to auto':
      case 'set to off':
      case 'set to hand':
        eachMotor((m) => {
          y[ps.selector + m] = action === 'set to off' ? 0 : action === 'set to auto' ? 1 : 2;
          emit(EventCode.selectorSet, m, y[ps.selector + m], 0);
        });
        break;
      case 'open drain':
      case 'close drain':
        y[a.drain] = action === 'open drain' ? plant.drain : 0;
        emit(EventCode.handValve, 0, y[a.drain] > 0 ? 1 : 0, 0);
        break;
      case 'open vent':
      case 'close vent':
        y[a.vent] = action === 'open vent' ? plant.ventArea_m2 : 0;
        emit(EventCode.handValve, 1, y[a.vent] > 0 ? 1 : 0, 0);
        break;
      case 'shut isolation':
      case 'open isolation':
        eachMotor((m) => {
          y[shut + m] = action === 'shut isolation' ? 1 : 0;
          emit(EventCode.isolationSet, m, y[shut + m], 0);
        });
        break;
      case 'acknowledge':
        panel.acknowledge(y, emit);
        break;
      case 'reset motor':
        eachMotor((m) => panel.resetMotor(y, m, tick, emit));
        break;
      case 'reset trip':
        if (trip.reset(y, emit)) emit(EventCode.resetDone, -1, 0, 0);
        break;
    }
  }

  return { act, takeSteps, stepFault };
}
