/**
 * Motor, starter and overload relay. Speed rises in a straight ramp over the run-up and is lost at once when the starter
 * opens. "Proven" is the auxiliary contact of the starter, a flow switch in the delivery, or a rise of the level or
 * pressure that the machine serves.
 *
 *     current over full-load current   i = i_start while it comes up to speed or its rotor is locked,
 *                                      i = i_0 + (1 - i_0) P_shaft/P_rated at speed
 *     one phase lost: at speed sqrt(3) i; from rest it does not turn and takes sqrt(3)/2 i_start
 *     relay     d(theta)/dt = ((i/i_set)^2 - theta)/tau,  trips at theta = k^2
 *     tau       = t_class/ln(7.2^2/(7.2^2 - k^2)): 7.2 times the setting trips a cold relay in t_class
 *
 * theta is the heat in the relay over what the set current would leave in it for good; it runs on while the motor stands.
 * Source: the relay as a first-order thermal model, IEC 60255-149 (formerly 255-8), from memory; i_start = 6 and i_0 =
 * 0.4: choices. Currents with one phase lost: derived for a star-connected motor at the same power, common practice.
 *
 * Not modelled: voltage dip, slip, heating of the motor itself, losses of the motor in the energy.
 */
import { choice, group, number, quantity, type Values } from './parameters.ts';

export const motorTable = {
  selector: choice(['auto', 'off', 'hand'], { meaning: 'Position of the hand-off-auto selector', default: 'auto' }),
  runUp: quantity('time', { meaning: 'Time to full speed', min: 0, max: 120, default: 0.5, example: '0.8 s' }),
  restartDelay: quantity('time', {
    meaning: 'Wait after the mains came back, to stagger the starts',
    min: 0,
    default: 0,
    example: '5 s',
  }),
  provenBy: choice(['starter contact', 'flow switch', 'rise'], {
    meaning:
      'What proves that the machine runs: a starter contact does not see a shut isolation valve; a rise of the level (pump) or pressure (compressor) does',
    default: 'starter contact',
  }),
  provenWithin: quantity('time', {
    meaning: 'Time it has to be proven, if not that of the panel',
    above: 0,
    optional: true,
    example: '3 min',
  }),
  ratedPower: quantity('power', {
    meaning:
      'Rated power of the motor; when left out, the shaft power at full relief flow (pump) or at the design pressure of the tank, else at the highest pressure setting (compressor)',
    above: 0,
    optional: true,
    example: '1.5 hp',
  }),
  startingCurrent: number({
    meaning: 'Current over full-load current while it comes up to speed (choice: 6)',
    min: 1,
    max: 20,
    default: 6,
    example: '6',
  }),
  noLoadCurrent: quantity('fraction', {
    meaning: 'Share of the full-load current that it takes without load (choice: 40 %)',
    min: 0,
    max: 1,
    default: 0.4,
    example: '40 %',
  }),
  overload: group(
    {
      class: choice(['10', '20', '30'], {
        meaning: 'Trip class: seconds to trip from cold at 7.2 times the setting',
        default: '10',
      }),
      setting: quantity('fraction', {
        meaning: 'Set current over full-load current',
        above: 0,
        max: 2,
        default: 1,
        example: '105 %',
      }),
      tripsAt: number({
        meaning: 'Multiple of the set current that trips it in the end',
        above: 1.05,
        below: 1.2,
        default: 1.15,
        example: '1.15',
      }),
      reset: choice(['by hand', 'automatic'], { meaning: 'How it resets once it has cooled', default: 'by hand' }),
      resetBelow: quantity('fraction', {
        meaning: 'Share of its heat at the trip under which it can be reset (choice: 70 %)',
        above: 0,
        max: 0.99,
        default: 0.7,
        example: '70 %',
      }),
    },
    { meaning: 'Overload relay', defaults: true },
  ),
  allowedStarts: number({
    meaning:
      'Starts that the motor stands in any hour; one more raises an alarm, which stays until an hour has passed without another too many (choice)',
    min: 1,
    max: 60,
    whole: true,
    optional: true,
    example: '8',
  }),
  leastOffTime: quantity('time', {
    meaning: 'Stands still at least this long before it starts again',
    min: 0,
    default: 0,
    example: '60 s',
  }),
  leastRunTime: quantity('time', {
    meaning: 'Once called runs at least this long, unless held off, tripped or put to off',
    min: 0,
    default: 0,
    example: '2 min',
  }),
  isolation: choice(['open', 'shut'], { meaning: 'Isolation valve in the delivery', default: 'open' }),
} as const;
export const motorGroup = group(motorTable, { meaning: 'Motor, starter and selector' });

/** Share of the rated flow that makes a flow switch (choice). */
export const FLOW_SWITCH_SHARE = 0.2;

export const Selector = { off: 0, auto: 1, hand: 2 } as const;

/** What proves a machine. */
export const Proof = { contact: 0, flow: 1, rise: 2 } as const;

// --- equations -------------------------------------------------------------------------------------------------------

/** Starts are counted over a rolling hour, s. */
export const STARTS_WINDOW_s = 3600;

/** Overload relay as built. */
export interface Overload {
  readonly tau_s: number;
  /** Heat at which it trips, k^2. */
  readonly tripHeat: number;
  /** Heat under which it can be reset. */
  readonly resetHeat: number;
  /** Set current over full-load current. */
  readonly setting: number;
  readonly automatic: boolean;
}

export type OverloadValues = Values<typeof motorTable.overload.table>;

/** The relay of a motor from its settings. */
export function overloadRelay(v: OverloadValues): Overload {
  const tripHeat = v.tripsAt ** 2;
  return {
    tau_s: relayTimeConstant(Number(v.class), v.tripsAt),
    tripHeat,
    resetHeat: v.resetBelow * tripHeat,
    setting: v.setting,
    automatic: v.reset === 'automatic',
  };
}

/** Multiple of the set current at which trip classes are stated; IEC 60947-4-1. */
const CLASS_CURRENT = 7.2;

/** Time constant [s] of a relay that trips in `class_s` from cold at 7.2 times its setting; k above 1. */
export function relayTimeConstant(class_s: number, k: number): number {
  return class_s / Math.log(CLASS_CURRENT ** 2 / (CLASS_CURRENT ** 2 - k * k));
}

/**
 * Time [s] to trip at a constant current over the setting, from the heat a constant current before has left for good
 * (`before`, over the setting; 0: cold). Infinity where it never trips.
 */
export function timeToTrip(current: number, before: number, k: number, tau_s: number): number {
  return current <= k ? Infinity : tau_s * Math.log((current ** 2 - before ** 2) / (current ** 2 - k ** 2));
}

/**
 * Current of a motor over its full-load current. It takes the starting current while it comes up to speed or its rotor is
 * locked, and no more than that under any load; load is the shaft power over the rated power.
 */
export function motorCurrent(
  comesUp: boolean,
  load: number,
  starting: number,
  noLoad: number,
  onePhaseLost: boolean,
): number {
  if (comesUp) return starting * (onePhaseLost ? Math.sqrt(3) / 2 : 1);
  return Math.min(starting, (noLoad + (1 - noLoad) * load) * (onePhaseLost ? Math.sqrt(3) : 1));
}

/** Rate [1/s] of the heat of a relay at a current over the full-load current. */
export function heatingRate(relay: Overload, heat: number, current: number): number {
  return ((current / relay.setting) ** 2 - heat) / relay.tau_s;
}

/** Heat left of `heat` after a time [s] without current. */
export function cooled(relay: Overload, heat: number, time_s: number): number {
  return heat * Math.exp(-time_s / relay.tau_s);
}

/**
 * Starts a motor stands in an hour: the figure of its size, or, with a heavy load, what its table allows in starts times
 * inertia over the inertia of the load (both in one unit), whichever is less. Source: NEMA MG 10, the rule with table 2-3.
 */
export function allowableStarts(startsPerHour: number, startsTimesInertia: number, loadInertia: number): number {
  return Math.min(startsPerHour, startsTimesInertia / loadInertia);
}
