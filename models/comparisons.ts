import { CONTACT, OFF, reading } from '../sim/watch.ts';
import { CONDITION_DEADBAND, type Comparison } from './condition.ts';
import type { LinearWatches } from './linearWatches.ts';
import type { Parts } from './parts.ts';

/** Conditions of faults and steps, watched like contacts. */
export interface Comparisons {
  arm(y: Float64Array): void;
  bitsDiffer(y: Float64Array): boolean;
  readComparisons(y: Float64Array): boolean;
  holds(y: Float64Array, condition: number): boolean;
}

/** `first` is the watch of the first comparison. */
export function createComparisons(parts: Parts, watch: LinearWatches, first: number): Comparisons {
  const { plant, panel, comparisons } = parts;
  const { tank } = plant;
  const ps = panel.slots;
  const { watches, set, setPressure } = watch;
  const { oil, sump, x, comparisonRaw } = parts.slots;

  const conditionFrom: number[] = [];
  plant.conditions.reduce((from, c) => (conditionFrom.push(from), from + c.comparisons.length), 0);

  /** Watches comparison k for the change it can make next; bits are read at every scan anyway. */
  function armComparison(y: Float64Array, k: number): void {
    const j = first + k;
    const { subject, sign, value } = comparisons[k];
    const on = y[comparisonRaw + k] === 1;
    const away = on ? -sign : sign;
    switch (subject.kind) {
      case 'pressure':
        setPressure(j, CONTACT, on ? value - sign * CONDITION_DEADBAND.pressure : value, away);
        break;
      case 'level': {
        const limit = tank.vessel.volumeAt(on ? value - sign * CONDITION_DEADBAND.level : value);
        set(j, CONTACT, oil, away, -away * limit);
        break;
      }
      case 'sumpLevel': {
        const limit = (on ? value - sign * CONDITION_DEADBAND.sumpLevel : value) * plant.sump.area_m2;
        set(j, CONTACT, sump, away, -away * limit);
        break;
      }
      case 'position':
        set(j, CONTACT, x + subject.item, away, -away * (on ? value - sign * CONDITION_DEADBAND.position : value));
        break;
      default:
        watches.mode[j] = OFF;
    }
  }

  function bitOf(y: Float64Array, { subject, value }: Comparison): boolean | undefined {
    if (subject.kind === 'mains') return y[ps.mains] === value;
    if (subject.kind === 'running') return y[ps.running + subject.item] === value;
    return undefined;
  }

  function bitsDiffer(y: Float64Array): boolean {
    for (let k = 0; k < comparisons.length; k++) {
      const bit = bitOf(y, comparisons[k]);
      if (bit !== undefined && bit !== (y[comparisonRaw + k] === 1)) return true;
    }
    return false;
  }

  /** Reads all comparisons. Returns whether any has changed. */
  function readComparisons(y: Float64Array): boolean {
    let changed = false;
    for (let k = 0; k < comparisons.length; k++) {
      const before = y[comparisonRaw + k] === 1;
      const now = bitOf(y, comparisons[k]) ?? before !== reading(watches, first + k, y) >= 0;
      if (now === before) continue;
      y[comparisonRaw + k] = now ? 1 : 0;
      changed = true;
    }
    return changed;
  }

  function holds(y: Float64Array, n: number): boolean {
    const { comparisons: parts, join } = plant.conditions[n];
    let count = 0;
    for (let k = 0; k < parts.length; k++) count += y[comparisonRaw + conditionFrom[n] + k];
    return join === 'and' ? count === parts.length : count > 0;
  }

  function arm(y: Float64Array): void {
    for (let k = 0; k < comparisons.length; k++) armComparison(y, k);
  }

  return { arm, bitsDiffer, readComparisons, holds };
}
