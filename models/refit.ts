/**
 * One unit for many plants of the same shape. Making a unit costs as much as a short run; where only numbers differ from
 * plant to plant, they are written into a copy that the unit holds, and what was derived from them is derived anew.
 */
import type { Plant } from './plant.ts';

type Node = Record<string, unknown>;

/** Numbers that a unit has built in when it is made: those that lay out its state or are taken in many places. */
const BUILT_IN: ReadonlySet<string> = new Set([
  'tick_s',
  'scanTicks',
  'ambientPressure_Pa',
  'relativeHumidity',
  'filterAlarm_Pa',
  'stroke_m',
  'headArea_m2',
  'rodArea_m2',
  'runUp_s',
  'unloaded_s',
  'delay_s',
  'alarmDelay_ticks',
  'heldOff_ticks',
  'allowedStarts',
]);

/** Words that are looked up while a unit runs: which fault it is. All others decide what it is made of. */
const LOOKED_UP: ReadonlySet<string> = new Set(['name', 'text']);

/** What is taken over whole: numbers in an array of one type, and what computes. */
function isWhole(value: object): boolean {
  if (ArrayBuffer.isView(value)) return true;
  for (const key in value) if (typeof (value as Node)[key] === 'function') return true;
  return false;
}

function copyOf(value: unknown): unknown {
  if (typeof value !== 'object' || value === null || isWhole(value)) return value;
  if (Array.isArray(value)) return value.map(copyOf);
  // Spread first: a copy that grows key by key is slower to read.
  const copy: Node = { ...(value as Node) };
  for (const key in copy) if (typeof copy[key] === 'object') copy[key] = copyOf(copy[key]);
  return copy;
}

/** A copy of a plant for a unit that will be refitted. */
export interface OwnPlant {
  readonly plant: Plant;
  /**
   * Writes the numbers of a plant into the copy; the unit that holds it, its engine and its studies have to be refitted then.
   * Returns false where the plants differ in more than such numbers: the copy is of no use any more.
   */
  take(given: Plant): boolean;
}

export function ownPlant(from: Plant): OwnPlant {
  const plant = copyOf(from) as Plant;
  /** What each part of the copy was last taken from: what is taken again is there already. */
  const last = new Map<Node, Node>();

  function take(own: Node, given: Node): boolean {
    let count = 0;
    for (const key in given) {
      count++;
      const value = given[key];
      const before = own[key];
      if (value === before) continue;
      if (typeof value !== typeof before) return false;
      if (typeof value === 'number') {
        if (BUILT_IN.has(key)) return false;
        own[key] = value;
      } else if (typeof value === 'string' && LOOKED_UP.has(key)) own[key] = value;
      else if (typeof value !== 'object' || value === null || before === null) return false;
      else if (last.get(before as Node) === value) continue;
      else if (isWhole(value)) own[key] = value;
      else if (!take(before as Node, value as Node)) return false;
    }
    for (const _ in own) count--;
    if (count !== 0) return false;
    last.set(own, given);
    return true;
  }

  return { plant, take: (given) => take(plant as unknown as Node, given as unknown as Node) };
}
