/**
 * Faults: what can go wrong with a part, from an instant or from when a condition first reads true, for a time or for good.
 * A fault changes adjustable numbers of the plant; several on one number work in the order of the file, and the end of one
 * leaves the others standing. Whether an alarm reveals a fault is found by running it with and without.
 *
 * A blocked line costs at flow Q what it cost at Q/(1 - share) before. A check valve that leaks or sticks open lets oil run back
 * from the tank to the sump while its pump delivers nothing: Q = k sqrt(p_tank - p_ambient). A sunk float reads as an empty
 * tank. Source: definitions; common practice, no source.
 */
import { choice, group, quantity, text, type Values } from './parameters.ts';

/** Each fault: what it needs beside an item, and of what kind the item is. */
export const faultKinds = {
  'fails to start': { item: 'motor' },
  'loses capacity': { item: 'motor', needs: 'share' },
  trips: { item: 'motor' },
  'locked rotor': { item: 'motor' },
  'single phasing': { item: 'motor' },
  'isolation valve shut': { item: 'motor' },
  'left in off': { item: 'motor' },
  'left in hand': { item: 'motor' },
  'check valve leaks': { item: 'pump', needs: 'flow' },
  'check valve stuck open': { item: 'pump' },
  'relief lifts early': { item: 'relief', needs: 'by' },
  'relief stuck open': { item: 'relief' },
  'relief stuck shut': { item: 'relief' },
  'line blocked': { item: 'valve', needs: 'share' },
  'pilot stuck': { item: 'valve' },
  'seal bypass': { item: 'valve', needs: 'flow' },
  'load above specification': { item: 'valve', needs: 'share' },
  'switch stuck made': { item: 'contact' },
  'switch stuck open': { item: 'contact' },
  'switch drifted': { item: 'contact', needs: 'drift' },
  'float sunk': { item: 'contact' },
  'wire broken': { item: 'contact' },
  'oil leak': { item: 'none', needs: 'flow' },
  'air leak': { item: 'none', needs: 'fall' },
  'filter blocked': { item: 'none', needs: 'share' },
  'ambient cold': { item: 'none', needs: 'byTemperature' },
  'ambient hot': { item: 'none', needs: 'byTemperature' },
} as const satisfies Record<string, { item: FaultItem; needs?: FaultNeed }>;

export type FaultItem = 'motor' | 'pump' | 'valve' | 'contact' | 'relief' | 'none';
export type FaultNeed = 'share' | 'flow' | 'by' | 'drift' | 'fall' | 'byTemperature';
export type FaultName = keyof typeof faultKinds;
export const FAULT_NAMES = Object.keys(faultKinds) as FaultName[];

export const faultTable = {
  fault: choice(FAULT_NAMES, { meaning: 'What goes wrong' }),
  item: text({ refers: true, meaning: 'Tag of the part concerned', optional: true, example: 'P-101' }),
  at: quantity('time', { meaning: 'When', min: 0, optional: true, example: '10 min' }),
  when: text({
    meaning: 'When a comparison first reads true at a scan',
    optional: true,
    example: 'tank.pressure < 95 psig',
  }),
  for: quantity('time', { meaning: 'For how long; for good when left out', above: 0, optional: true, example: '2 h' }),
  share: quantity('fraction', {
    meaning: 'Share of capacity lost, of a line or filter blocked, or of the load added',
    above: 0,
    max: 10,
    optional: true,
    example: '30 %',
  }),
  flow: quantity('volumeFlow', {
    meaning: 'Leak at the pressure of the start; of a seal bypass at 1 bar across the piston',
    above: 0,
    optional: true,
    example: '0.5 gal/min',
  }),
  by: quantity('pressureDifference', { meaning: 'How much too early', above: 0, optional: true, example: '20 psi' }),
  fall: quantity('pressureRate', {
    meaning: 'Fall of the pressure of the start',
    above: 0,
    optional: true,
    example: '6 psi/h',
  }),
  byPressure: quantity('pressureDifference', {
    meaning: 'Drift of a pressure switch, upwards positive',
    optional: true,
    example: '-4 psi',
  }),
  byLevel: quantity('length', {
    meaning: 'Drift of a level switch, upwards positive',
    optional: true,
    example: '-1 in',
  }),
  byTemperature: quantity('temperatureDifference', {
    meaning: 'How much colder or hotter than the site says',
    above: 0,
    max: 60,
    optional: true,
    example: '36 degF',
  }),
} as const;
export const faultGroup = group(faultTable, { meaning: 'One fault', oneOf: [['at', 'when']] });
export type FaultValues = Values<typeof faultTable>;

/** A fault as built. `value` is in the unit of the number it changes. */
export interface FaultPlant {
  readonly name: FaultName;
  /** Index of the motor, pump, valve, contact; -1 for the safety valve or for none. */
  readonly item: number;
  /** Start tick, or -1 where a condition starts it. */
  readonly tick: number;
  readonly condition: number;
  /** 0: for good. */
  readonly duration_ticks: number;
  readonly value: number;
  /** "P-101 check valve leaks" */
  readonly text: string;
}
