/**
 * What the engine asks of a machine. The engine knows no oil and no air: it advances slots, finds instants and ticks,
 * and hands them over.
 */
import type { Layout } from './layout.ts';
import type { Derivative } from './stepper.ts';
import type { Watches } from './watch.ts';

/** An event row: a code of the machine's closed list, the item concerned, and up to two numbers. */
export type Emit = (code: number, item: number, value: number, other: number) => void;

/** What a call changed: nothing, only panel bits and timers, or something the right-hand side depends on. */
export const NOTHING = 0;
export const LOGIC = 1;
export const PHYSICS = 2;
export type Change = typeof NOTHING | typeof LOGIC | typeof PHYSICS;

export interface System {
  readonly layout: Layout;
  readonly tick_s: number;
  /** Contacts are read every so many ticks. */
  readonly scanTicks: number;
  readonly derivative: Derivative;
  /** Algebraic quantities of the last call of `derivative`; saved and restored by the engine. */
  readonly outputs: Float64Array;
  readonly watches: Watches;
  /** Conditions on algebraic quantities, known only where the right-hand side is: true when >= 0. */
  readonly probes: Float64Array;
  /** 1 where the probe is being watched. */
  readonly probing: Uint8Array;
  /** Sets the watches and which probes are on, from the discrete state. */
  arm(y: Float64Array): void;
  /** Fills `probes` for state y, right after the derivative was evaluated there. */
  probe(y: Float64Array): void;
  /** Applies located events: marks[j] = 1 for each watch, then each probe, that fired. The clock is already there. */
  happen(y: Float64Array, marks: Uint8Array, emit: Emit): Change;
  /** Everything due at a tick, in order: scenario changes; on scans contacts, timers, logic, outputs. */
  atTick(y: Float64Array, tick: number, emit: Emit): Change;
  /** The next tick after the given one at which something is known to be due; Infinity if none. */
  nextDue(y: Float64Array, tick: number): number;
  /** Whether `inside` and `settled` have anything to record now. */
  recording?(y: Float64Array): boolean;
  /** Called with the state in the middle of every accepted piece; `outputs` belong to it. */
  inside?(y: Float64Array, time_s: number): void;
  /**
   * Called wherever a step begins and at every located event before it is applied; `outputs` belong to y. May change
   * slots that keep records and influence nothing.
   */
  settled?(y: Float64Array, time_s: number): void;
}
