/**
 * What a unit promises the engine and the event log, checked while it runs: what it says of a scan is true, numbers that
 * an event has no use for are 0, and every slot stays inside its bounds.
 */
import { expect } from 'vitest';
import { EventCode } from '../../models/events.ts';
import type { Unit } from '../../models/unit.ts';
import { firstBadSlot } from '../../sim/layout.ts';
import { NOTHING, PHYSICS } from '../../sim/system.ts';

const E = EventCode;
/** Events of the unit as a whole, which concern no item. */
const WITHOUT_ITEM: ReadonlySet<number> = new Set([
  ...[E.mainsLost, E.mainsBack, E.controlPowerLost, E.controlPowerBack, E.undervoltageTrip],
  ...[E.permissiveSet, E.permissiveCleared, E.gasBreakthrough, E.safetyValveOpen, E.safetyValveShut],
  ...[E.suctionLost, E.suctionBack, E.tankFull, E.tankNotFull, E.outletShut, E.outletOpen],
  ...[E.sumpOverflows, E.sumpOverflowEnds],
]);
/** Events whose words or readers use the first number. */
const WITH_VALUE: ReadonlySet<number> = new Set([
  ...[E.motorCommanded, E.motorStopped, E.alarmRaised, E.alarmCleared, E.selectorSet, E.startBlocked, E.resetRefused],
  ...[E.valveCommanded, E.valveMoving, E.valveStopped, E.valveEnd, E.valveBlocked, E.valvePushedBack],
  ...[E.valveDrifting, E.valveCavitating, E.strokeInterrupted, E.holdOver, E.sequenceLost, E.commandRefused],
  ...[E.handValve, E.isolationSet, E.stepEnds],
]);
/** And the second one: the number of the trip stroke, where the stroke ended, where it was to go next. */
const WITH_OTHER: ReadonlySet<number> = new Set([E.valveCommanded, E.valveEnd, E.strokeInterrupted]);

/** Fails where a number that an event has no use for is not 0. */
export function expectUnused(code: number, item: number, value: number, other: number): void {
  if ((WITHOUT_ITEM.has(code) && item !== 0) || (!WITH_VALUE.has(code) && value !== 0))
    expect([code, item, value], 'an event with numbers it has no use for').toEqual([code, 0, 0]);
  if (!WITH_OTHER.has(code) && other !== 0) expect([code, other], 'an event with a second number').toEqual([code, 0]);
}

export function expectInBounds(unit: Unit, state: Float64Array): void {
  expect(firstBadSlot(unit.layout, state)).toBeUndefined();
}

/** Timers of what is not going on do not run, and bits that say so agree. */
export function expectAtRest(unit: Unit, y: Float64Array): void {
  const s = unit.panel.slots;
  const { pumps, compressors, valves } = unit.plant;
  for (let m = 0; m < pumps.length + compressors.length; m++) {
    if (y[s.commanded + m] === 0)
      expect([y[s.commandedSince + m], y[s.unprovenSince + m], y[s.longRun + m]]).toEqual([-1, -1, 0]);
    if (y[s.proven + m] === 1) expect(y[s.unprovenSince + m]).toBe(-1);
    if (y[s.running + m] === 0) expect(y[s.comingUp + m]).toBe(0);
    if (y[s.tripped + m] === 0) expect(y[s.relayTripped + m]).toBe(0);
  }
  compressors.forEach((_, j) => {
    if (y[s.running + pumps.length + j] === 0 && y[s.control] === 1) expect(y[s.loaded + j]).toBe(0);
  });
  if (y[s.mains] === 1) expect(y[s.controlEnds]).toBe(-1);
  else expect(y[s.backSince]).toBe(-1);
  const trip = unit.trip.slots;
  valves.forEach((_, i) => {
    if (y[trip.since + i] < 0) expect(y[trip.pauseSince + i]).toBe(-1);
  });
}

/**
 * The unit, held at every tick that is carried out to what it says of it: PHYSICS where a rate changes (the engine plans its
 * steps anew), and not NOTHING where a bit or a timer of the trip does.
 */
export function honest(unit: Unit): Unit {
  const { layout, outputs, tick_s } = unit;
  const ofTrip = /^undervoltage|^controlPower\.seen|\.trip\.|\.hold\./;
  const bits = layout.slots.flatMap(({ unit: of, name }, k) => (of === 'bit' || ofTrip.test(name) ? [k] : []));
  const before = new Float64Array(layout.advanced);
  const after = new Float64Array(layout.advanced);
  const kept = new Float64Array(outputs.length);
  const ratesOf = (y: Float64Array, tick: number, out: Float64Array) => {
    kept.set(outputs);
    unit.derivative(tick * tick_s, y, out);
    outputs.set(kept);
  };
  return {
    ...unit,
    atTick(y, tick, emit) {
      ratesOf(y, tick, before);
      const bitsBefore = bits.map((k) => y[k]);
      const change = unit.atTick(y, tick, emit);
      ratesOf(y, tick, after);
      const rate = after.findIndex((r, k) => r !== before[k]);
      if (rate >= 0) expect(change, `${layout.slots[rate].name} changes its rate at tick ${tick}`).toBe(PHYSICS);
      const bit = bits.findIndex((k, n) => y[k] !== bitsBefore[n]);
      if (bit >= 0) expect(change, `${layout.slots[bits[bit]].name} changes at tick ${tick}`).not.toBe(NOTHING);
      return change;
    },
  };
}
