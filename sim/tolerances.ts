/** Every tolerance of the engine, each with its reason. */

/** Relative error allowed per step. Drawdowns then agree with answers at 1e-11 to better than 1e-5; see the order tests. */
export const RELATIVE_STEP_ERROR = 1e-8;

/** Located events closer than this are one instant: far under a tick, far over the rounding of an offset inside a tick. */
export const SAME_INSTANT_s = 1e-9;

/** More located events than this in one tick mean that two of our own rules undo each other. */
export const EVENTS_PER_TICK = 100;

/** Rounding allowance of a hull, relative to the terms it is summed from: some hundred roundings of 1.1e-16. */
export const HULL_ROUNDING = 1e-13;

/** A ledger closes to this part of the larger of the stock at the start and the amount moved. */
export const LEDGER_CLOSURE = 1e-12;

/** A step shorter than this that still fails its error test is a fault of the program, not of the plant. */
export const SHORTEST_STEP_s = 1e-11;

/**
 * Work that may be spent before a run ends with the stop "work limit": some seconds. Counted, never timed. One unit is
 * the rate of one slot, found once; a year of ordinary service with its repetitions takes a tenth of the limit.
 */
export const WORK_LIMIT = 50_000_000;

/**
 * What is solved together takes more rounds the more slots there are, in two nested loops each one more for so many slots:
 * what units of 5 to 200 moving valves were seen to take, to within a factor of three.
 */
export const SLOTS_PER_ROUND = 16;

/** A trace row and an event cost, in time and in memory, about as much as the rates of all slots so many times. */
export const ROW_WORK = 10;
export const EVENT_WORK = 25;
