/**
 * The whole unit as one system for the engine: the slots and outputs (parts), what flows (flows), how pistons turn
 * (pistons), what is watched and happens inside a step (watching), hands and faults (hands), margins and ledger.
 */

import type { Account } from '../sim/ledger.ts';
import { type Change, type Emit, LOGIC, NOTHING, PHYSICS, type System } from '../sim/system.ts';
import { createAccounts } from './accounts.ts';
import { FaultState } from './adjust.ts';
import { CV_AIR, GAMMA } from './air.ts';
import { createFlows } from './flows.ts';
import { createHands } from './hands.ts';
import { createMargins } from './margins.ts';
import { command as commandValve, Mode, type MotionSlots } from './motion.ts';
import { Proof } from './motor.ts';
import type { Panel } from './panel.ts';
import { createParts, type UnitOutputs, type UnitSlots } from './parts.ts';
import { createPistons } from './pistons.ts';
import type { Plant } from './plant.ts';
import { nextBend } from './site.ts';
import { startState } from './startState.ts';
import type { Trip } from './trip.ts';
import { createWatching } from './watching.ts';

const LARGE_TICK = Number.MAX_SAFE_INTEGER;

export interface Unit extends System {
  readonly plant: Plant;
  readonly slots: UnitSlots;
  readonly out: UnitOutputs;
  readonly motion: MotionSlots;
  readonly panel: Panel;
  readonly trip: Trip;
  readonly accounts: readonly Account[];
  /** The state at the start of a run. */
  start(): Float64Array;
  /** Absolute gas pressure, Pa, of a state. */
  gasPressure(y: Float64Array): number;
  gasTemperature(y: Float64Array): number;
  /** Oil level above the inside bottom, m. */
  level(y: Float64Array): number;
  /** Gives a valve a direction from outside the panel, for the reserve: whole strokes, or one of its trip strokes, from 1. */
  command(y: Float64Array, valve: number, direction: number, tripStroke: number, emit: Emit): void;
  /** Lets no further action of the plant happen and no trip logic stir, for the reserve. */
  muteActions(y: Float64Array): void;
  /** Load, N, that a moving or resting piston needs overcome now, friction included. */
  needed(y: Float64Array, valve: number): number;
  /** To be called when the numbers of its plant have been taken from another (refit.ts). */
  refit(): void;
}

/** Builds the system of a plant. Allocates here; nothing is allocated while it runs. */
export function createUnit(plant: Plant): Unit {
  const parts = createParts(plant);
  const { layout, slots, out, outputs, motion, panel, trip, adjust, motors } = parts;
  const flows = createFlows(parts);
  const pistons = createPistons(parts, flows);
  const watching = createWatching(parts, flows, pistons);
  const margins = createMargins(parts, flows);
  const { tank, valves, tick_s, scanTicks, ambient } = plant;
  const { comparisons, arm, nextScan, readsContact, rose, noteRise, timeOf } = watching;
  const { act, takeSteps, stepFault } = createHands(parts, comparisons, pistons);
  const { oilMode } = pistons;
  const nV = valves.length;
  const a = adjust.slots;
  const ps = panel.slots;
  const { energy, airMass, oil, x, nextAction, cutAt, scanAt, stepAt, stepSince } = parts.slots;

  // ---- Ticks
  function atTick(y: Float64Array, tick: number, emit: Emit): Change {
    let change: Change = NOTHING;
    const time = tick * tick_s;
    const actions = plant.actions;
    const commanded = (state: Float64Array, i: number, direction: number, tripStroke: number) => {
      commandValve(state, motion, x, valves[i], i, direction, tripStroke, oilMode(state), time, emit);
      // Already there: what waits for the end of the stroke sees it at the next scan.
      if (state[motion.mode + i] === Mode.end) state[scanAt] = nextScan(tick);
      // A stuck pilot leaves the piston where it is, with the command standing.
      if (state[a.pilotStuck + i] === 1 && state[motion.active + i] === 1) state[motion.mode + i] = Mode.idle;
      change = PHYSICS;
    };
    while (y[nextAction] < actions.length && actions[y[nextAction]].tick <= tick) {
      const { action, item } = actions[y[nextAction]];
      act(y, action, item, tick, emit, commanded);
      y[nextAction]++;
      change = PHYSICS;
      y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    }
    if (y[cutAt] === tick) {
      act(y, 'lose mains', -1, tick, emit, commanded);
      change = PHYSICS;
      y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    }
    if (panel.comeUp(y, tick)) change = PHYSICS;
    if (endControl(y, tick)) change = PHYSICS;
    for (let n = 0; n < plant.faults.length; n++) if (stepFault(y, n, tick, emit)) change = PHYSICS;
    if (tick % scanTicks !== 0) return change;
    arm(y);
    if (comparisons.readComparisons(y)) {
      if (change === NOTHING) change = LOGIC;
      for (let n = 0; n < plant.faults.length; n++) if (stepFault(y, n, tick, emit)) change = PHYSICS;
      arm(y);
    }
    if (takeSteps(y, tick, emit, commanded)) {
      change = PHYSICS;
      endControl(y, tick);
      arm(y);
    }
    const moved = panel.scan(y, tick, emit, readsContact, rose);
    for (let m = 0; m < motors.length; m++) {
      if (motors[m].proof === Proof.rise && y[ps.running + m] === 1 && y[ps.startTick + m] === tick) noteRise(y, m);
    }
    if (moved > change) change = moved;
    if (trip.scan(y, tick, emit, commanded) && change === NOTHING) change = LOGIC;
    // What this scan did to machines, conditions read at the next.
    if (comparisons.bitsDiffer(y)) y[scanAt] = tick + scanTicks;
    return change;
  }

  /** Control power that nothing holds, or no longer, dies. Returns whether it did. */
  function endControl(y: Float64Array, tick: number): boolean {
    if (y[ps.controlEnds] < 0 || tick < y[ps.controlEnds] || y[ps.mains] === 1) return false;
    y[ps.control] = 0;
    y[ps.controlEnds] = -1;
    y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    return true;
  }

  function nextDue(y: Float64Array, tick: number): number {
    let due = Infinity;
    if (y[nextAction] < plant.actions.length) due = Math.max(tick + 1, plant.actions[y[nextAction]].tick);
    if (y[scanAt] > tick && y[scanAt] < due) due = y[scanAt];
    if (y[cutAt] > tick && y[cutAt] < due) due = y[cutAt];
    if (y[stepAt] < plant.steps.length) {
      const step = plant.steps[y[stepAt]];
      const since = y[stepSince];
      const wait = step.condition >= 0 ? (tick - since < scanTicks ? scanTicks : step.patience_ticks) : step.wait_ticks;
      const at = since < 0 ? nextScan(tick) : Math.ceil((since + wait) / scanTicks) * scanTicks;
      if (at > tick && at < due) due = at;
    }
    for (let n = 0; n < plant.faults.length; n++) {
      const at = y[a.state + n] === FaultState.waiting ? plant.faults[n].tick : y[a.ends + n];
      if (at >= 0 && y[a.state + n] !== FaultState.over && at < due) due = Math.max(at, tick + 1);
    }
    due = Math.min(due, nextBend(ambient, tick));
    due = panel.nextDue(y, tick, due);
    return trip.nextDue(y, tick, due);
  }

  return {
    plant,
    slots,
    out,
    motion,
    panel,
    trip,
    accounts: createAccounts(parts),
    layout,
    tick_s,
    scanTicks,
    derivative: flows.derivative,
    outputs,
    watches: watching.watches,
    probes: watching.probes,
    probing: watching.probing,
    arm,
    probe: watching.probe,
    happen: watching.happen,
    atTick,
    nextDue,
    recording: margins.recording,
    inside: margins.inside,
    settled: margins.settled,
    start: () => startState(parts),
    gasPressure: (y) => ((GAMMA - 1) * y[energy]) / (tank.volume_m3 - y[oil]),
    gasTemperature: (y) => y[energy] / (y[airMass] * CV_AIR),
    level: (y) => tank.vessel.levelAt(y[oil]),
    command(y, i, direction, tripStroke, emit) {
      commandValve(y, motion, x, valves[i], i, direction, tripStroke, oilMode(y), timeOf(y), emit);
      y[layout.clock.planned] = 0;
    },
    muteActions(y) {
      y[nextAction] = plant.actions.length;
      y[cutAt] = -1;
      y[stepAt] = plant.steps.length;
      y[ps.controlEnds] = -1;
      // Trips count as issued, so that nothing follows by itself.
      for (let i = 0; i < nV; i++) {
        y[trip.slots.issued + i] = valves[i].strokes.length;
        y[trip.slots.pauseSince + i] = -1;
        y[trip.slots.holdEnds + i] = LARGE_TICK;
      }
    },
    needed: margins.needed,
    refit() {
      parts.refit();
      flows.refit();
      watching.refit();
    },
  };
}
