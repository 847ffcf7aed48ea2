import { createWatches, type Watches } from '../sim/watch.ts';
import { GAMMA } from './air.ts';
import type { Parts } from './parts.ts';

/** Watches on what is linear in the state: a slot, or the pressure of the gas against a limit. */
export interface LinearWatches {
  readonly watches: Watches;
  /** Watches a y[slotA] + b y[slotB] + c for rising through 0. */
  set(watch: number, mode: number, slotA: number, a: number, c: number, slotB?: number, b?: number): void;
  /** Watches sign (p - limit). */
  setPressure(watch: number, mode: number, limit: number, sign: number): void;
}

export function linearWatches(parts: Parts, count: number): LinearWatches {
  const { tank } = parts.plant;
  const watches = createWatches(count);
  const gamma1 = GAMMA - 1;
  const { energy, oil } = parts.slots;

  function set(j: number, mode: number, slotA: number, a: number, c: number, slotB = -1, bFactor = 0): void {
    watches.mode[j] = mode;
    watches.slotA[j] = slotA;
    watches.a[j] = a;
    watches.c[j] = c;
    watches.slotB[j] = slotB;
    watches.b[j] = bFactor;
  }

  /** sign (p - limit) V >= 0, linear in the state. */
  function setPressure(j: number, mode: number, limit: number, sign: number): void {
    set(j, mode, energy, sign * gamma1, -sign * limit * tank.volume_m3, oil, sign * limit);
  }

  return { watches, set, setPressure };
}
