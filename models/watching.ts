import { type Change, type Emit, LOGIC, PHYSICS } from '../sim/system.ts';
import { CONTACT, LOCATED, OFF, reading, type Watches } from '../sim/watch.ts';
import { ReliefState, Stuck } from './adjust.ts';
import { GAMMA } from './air.ts';
import { type Comparisons, createComparisons } from './comparisons.ts';
import type { Contact } from './contact.ts';
import { EventCode } from './events.ts';
import type { Flows } from './flows.ts';
import { linearWatches } from './linearWatches.ts';
import { drawsOil, endStroke, Mode } from './motion.ts';
import { Proof } from './motor.ts';
import type { Parts } from './parts.ts';
import type { Pistons } from './pistons.ts';

/**
 * Part of the vessel that oil may take before it counts as full, and under which it no longer does (choice). A full tank
 * takes no more oil: pumps work against their relief valves, and nothing is pushed back from a cylinder. What air is left
 * keeps a finite volume.
 */
const FULL = 0.999;
const FULL_AGAIN = 0.998;

/** What is watched inside a step, and what happens when it does. */
export interface Watching {
  readonly watches: Watches;
  readonly comparisons: Comparisons;
  readonly probes: Float64Array;
  readonly probing: Uint8Array;
  arm(y: Float64Array): void;
  probe(y: Float64Array): void;
  happen(y: Float64Array, marks: Uint8Array, emit: Emit): Change;
  readsContact(y: Float64Array, contact: number): boolean;
  /** Whether what a machine serves has risen as far as proves it. */
  rose(y: Float64Array, motor: number): boolean;
  /** Notes at the start of a machine proven by a rise how far that has to go. */
  noteRise(y: Float64Array, motor: number): void;
  /** The first scan after a tick. */
  nextScan(tick: number): number;
  timeOf(y: Float64Array): number;
  /** Derives anew what was derived from the numbers of the plant. */
  refit(): void;
}

export function createWatching(parts: Parts, flows: Flows, pistons: Pistons): Watching {
  const { plant, layout, out, outputs, motion, adjust, panel, motors } = parts;
  const { tank, valves, pumps, safetyValve, tick_s, scanTicks } = plant;
  const { outletShutOff } = tank;
  const { goesUp, nextPlace, restMode, isServed, placePiston, turnMotion, turnShutOff } = pistons;
  const nV = valves.length;
  const nP = pumps.length;
  const nM = motors.length;
  const a = adjust.slots;
  const ps = panel.slots;
  const { oil, sump, x, safetyOpen, gasInHeader, sumpDry, sumpFull, outletShut, tankFull, scanAt, relayHeat, energy } =
    parts.slots;

  // Valves, safety valve, outlet, sump, tank full, brim, shut-off, then contacts. Their order decides ties.
  const contacts = plant.panel.contacts;
  const wSafety = nV;
  const wOutlet = nV + 1;
  const wSump = nV + 2;
  const wFull = nV + 3;
  const wBrim = nV + 4;
  const wShutOff = nV + 5;
  const wRelay = nV + 6;
  const wRise = wRelay + nM;
  const wContacts = wRise + nM;
  const wComparisons = wContacts + contacts.length;
  const watch = linearWatches(parts, wComparisons + parts.comparisons.length);
  const { watches, set, setPressure } = watch;
  const comparisons = createComparisons(parts, watch, wComparisons);
  /** Where each contact makes and resets, in what is watched: Pa, or m3. */
  const contactLevels = contacts.map(() => ({ trip: 0, reset: 0 }));
  function refit(): void {
    contacts.forEach((c, j) => {
      contactLevels[j].trip = watchedAt(c, c.trip);
      contactLevels[j].reset = watchedAt(c, c.reset);
    });
  }
  refit();
  const probes = new Float64Array(2 * nV + nM + 1);
  const probing = new Uint8Array(probes.length);
  const timeOf = (y: Float64Array) => y[layout.clock.tick] * tick_s + y[layout.clock.offset];
  const nextScan = (tick: number) => (Math.floor(tick / scanTicks) + 1) * scanTicks;

  function watchedAt(c: Contact, at: number): number {
    return c.measured === 'pressure' ? at : c.measured === 'sump' ? at * plant.sump.area_m2 : tank.vessel.volumeAt(at);
  }

  function arm(y: Float64Array): void {
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      if (mode !== Mode.moving && mode !== Mode.reverse && mode !== Mode.drift) {
        watches.mode[i] = OFF;
        continue;
      }
      const place = nextPlace(y, i);
      if (goesUp(y, i)) set(i, LOCATED, x + i, 1, -place);
      else set(i, LOCATED, x + i, -1, place);
    }
    if (safetyValve === undefined || y[a.safetyState] !== ReliefState.sound) watches.mode[wSafety] = OFF;
    else if (y[safetyOpen] === 1) setPressure(wSafety, LOCATED, safetyValve.reseat_Pa + y[a.safetyShift], -1);
    else setPressure(wSafety, LOCATED, safetyValve.set_Pa + y[a.safetyShift], 1);
    if (y[gasInHeader] === 1 || y[outletShut] === 1) watches.mode[wOutlet] = OFF;
    else set(wOutlet, LOCATED, oil, -1, tank.outletVolume_m3);
    if (nP === 0) watches.mode[wSump] = OFF;
    else if (y[sumpDry] === 1) set(wSump, LOCATED, sump, 1, -plant.sump.priming_m3);
    else set(wSump, LOCATED, sump, -1, plant.sump.suction_m3);
    if (y[tankFull] === 1) set(wFull, LOCATED, oil, -1, FULL_AGAIN * tank.volume_m3);
    else set(wFull, LOCATED, oil, 1, -FULL * tank.volume_m3);
    if (y[sumpFull] === 1) set(wBrim, LOCATED, sump, -1, plant.sump.brim_m3);
    else set(wBrim, LOCATED, sump, 1, -plant.sump.capacity_m3);
    if (outletShutOff === undefined) watches.mode[wShutOff] = OFF;
    else if (y[outletShut] === 1) set(wShutOff, LOCATED, oil, 1, -outletShutOff.open_m3);
    else set(wShutOff, LOCATED, oil, -1, outletShutOff.shut_m3);
    for (let m = 0; m < nM; m++) {
      if (y[ps.running + m] === 1) set(wRelay + m, LOCATED, relayHeat + m, 1, -motors[m].overload.tripHeat);
      else watches.mode[wRelay + m] = OFF;
      const rises = motors[m].proof === Proof.rise && y[ps.running + m] === 1 && y[ps.proven + m] === 0;
      if (!rises) watches.mode[wRise + m] = OFF;
      else if (m < nP) set(wRise + m, CONTACT, oil, 1, -y[ps.riseTo + m]);
      else setPressure(wRise + m, CONTACT, y[ps.riseTo + m], 1);
    }
    for (let j = 0; j < contacts.length; j++) {
      if (y[a.stuck + j] !== Stuck.free) {
        watches.mode[wContacts + j] = OFF;
        continue;
      }
      const made = y[ps.raw + j] === 1;
      const drift = y[a.drift + j];
      const sound = made ? contactLevels[j].reset : contactLevels[j].trip;
      const limit = drift === 0 ? sound : watchedAt(contacts[j], (made ? contacts[j].reset : contacts[j].trip) + drift);
      // A low contact makes going down and resets going up; a high one the other way round.
      const sign = contacts[j].low === made ? 1 : -1;
      if (contacts[j].measured === 'pressure') setPressure(wContacts + j, CONTACT, limit, sign);
      else set(wContacts + j, CONTACT, contacts[j].measured === 'sump' ? sump : oil, sign, -sign * limit);
    }
    comparisons.arm(y);
    for (let i = 0; i < nV; i++) {
      probing[i] = pistons.watched(y, i) ? 1 : 0;
      probing[nV + i] = y[motion.mode + i] === Mode.moving && y[motion.cavitated + i] === 0 ? 1 : 0;
    }
    for (let m = 0; m < nM; m++) probing[2 * nV + m] = motors[m].provenFlow > 0 ? 1 : 0;
    probing[2 * nV + nM] = plant.filterAlarm_Pa > 0 ? 1 : 0;
  }

  function probe(y: Float64Array): void {
    for (let i = 0; i < nV; i++) {
      if (probing[i] === 0) continue;
      probes[i] = pistons.turnProbe(y, i);
      probes[nV + i] = outputs[out.cavitating + i] - 0.5;
    }
    for (let m = 0; m < nM; m++) {
      const limit = motors[m].provenFlow;
      if (limit === 0) continue;
      const flow = outputs[m < nP ? out.pumpFlow + m : out.airFlow + m - nP];
      probes[2 * nV + m] = y[ps.proven + m] === 1 ? 0.9 * limit - flow : flow - limit;
    }
    if (plant.filterAlarm_Pa > 0) {
      const dp = flows.filterDrop(y);
      probes[2 * nV + nM] = y[ps.filterHigh] === 1 ? 0.9 * plant.filterAlarm_Pa - dp : dp - plant.filterAlarm_Pa;
    }
  }

  function happen(y: Float64Array, marks: Uint8Array, emit: Emit): Change {
    const time = timeOf(y);
    let scan = false;
    let change: Change = PHYSICS;
    for (let i = 0; i < nV; i++) {
      if (marks[i] === 0) continue;
      const place = nextPlace(y, i);
      const forward = y[motion.mode + i] === Mode.moving;
      if (place > 0 && place < 1 && !(forward && place === y[motion.target + i])) {
        y[motion.piece + i] += goesUp(y, i) ? 1 : -1;
        if (change !== PHYSICS) change = LOGIC;
        continue;
      }
      // An end: the rest of the way is booked along the same paths as the way itself.
      placePiston(y, i, place);
      y[motion.mode + i] = forward ? Mode.end : restMode(y, i);
      if (forward) {
        endStroke(y, motion, i, place, time, emit);
        scan = true;
      } else emit(EventCode.valveStopped, i, y[x + i], 0);
    }
    if (marks[wSafety] === 1) {
      y[safetyOpen] = y[safetyOpen] === 1 ? 0 : 1;
      emit(y[safetyOpen] === 1 ? EventCode.safetyValveOpen : EventCode.safetyValveShut, 0, 0, 0);
    }
    if (marks[wOutlet] === 1) {
      y[gasInHeader] = 1;
      emit(EventCode.gasBreakthrough, 0, 0, 0);
      for (let i = 0; i < nV; i++) {
        const mode = y[motion.mode + i];
        if (!drawsOil(valves[i], y[motion.direction + i])) continue;
        if (mode === Mode.moving || mode === Mode.stuck || mode === Mode.reverse) y[motion.mode + i] = Mode.gas;
      }
    }
    if (marks[wSump] === 1) {
      y[sumpDry] = y[sumpDry] === 1 ? 0 : 1;
      emit(y[sumpDry] === 1 ? EventCode.suctionLost : EventCode.suctionBack, 0, 0, 0);
    }
    if (marks[wFull] === 1) {
      y[tankFull] = y[tankFull] === 1 ? 0 : 1;
      emit(y[tankFull] === 1 ? EventCode.tankFull : EventCode.tankNotFull, 0, 0, 0);
    }
    if (marks[wBrim] === 1) {
      y[sumpFull] = y[sumpFull] === 1 ? 0 : 1;
      emit(y[sumpFull] === 1 ? EventCode.sumpOverflows : EventCode.sumpOverflowEnds, 0, 0, 0);
    }
    if (marks[wShutOff] === 1) turnShutOff(y, emit);
    for (let m = 0; m < nM; m++) {
      if (marks[wRelay + m] === 0) continue;
      y[ps.tripped + m] = 1;
      y[ps.relayTripped + m] = 1;
      emit(EventCode.relayTripped, m, 0, 0);
      panel.stopMotor(y, m, y[layout.clock.tick], emit, time);
      scan = true;
    }
    const first = watches.count;
    for (let i = 0; i < nV; i++) {
      // What has just ended its way, or gets no more oil, is asked again before it turns.
      if (marks[first + i] === 1 && marks[i] === 0 && isServed(y, i)) turnMotion(y, i, time, emit);
      if (marks[first + nV + i] === 1) {
        y[motion.cavitated + i] = 1;
        emit(EventCode.valveCavitating, i, y[x + i], 0);
      }
    }
    for (let m = 0; m < nM; m++) {
      if (marks[first + 2 * nV + m] === 0) continue;
      y[ps.proven + m] = y[ps.proven + m] === 1 ? 0 : 1;
      emit(y[ps.proven + m] === 1 ? EventCode.flowProven : EventCode.flowLost, m, 0, 0);
      scan = true;
    }
    if (marks[first + 2 * nV + nM] === 1) {
      y[ps.filterHigh] = y[ps.filterHigh] === 1 ? 0 : 1;
      scan = true;
    }
    if (scan) y[scanAt] = nextScan(y[layout.clock.offset] === 0 ? y[layout.clock.tick] - 1 : y[layout.clock.tick]);
    if (scan && y[scanAt] <= y[layout.clock.done]) y[scanAt] = nextScan(y[layout.clock.tick]);
    return change;
  }

  function readsContact(y: Float64Array, j: number): boolean {
    if (y[a.stuck + j] !== Stuck.free) return y[a.stuck + j] === Stuck.on;
    return (y[ps.raw + j] === 1) !== reading(watches, wContacts + j, y) >= 0;
  }

  const rose = (y: Float64Array, m: number) => reading(watches, wRise + m, y) >= 0;

  function noteRise(y: Float64Array, m: number): void {
    const { provenRise } = motors[m];
    const { vessel, volume_m3 } = tank;
    y[ps.riseTo + m] =
      m < nP
        ? vessel.volumeAt(vessel.levelAt(y[oil]) + provenRise)
        : ((GAMMA - 1) * y[energy]) / (volume_m3 - y[oil]) + provenRise;
  }

  return {
    rose,
    noteRise,
    watches,
    comparisons,
    probes,
    probing,
    arm,
    probe,
    happen,
    readsContact,
    nextScan,
    timeOf,
    refit,
  };
}
