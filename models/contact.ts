/**
 * Level and pressure contacts. A contact that watches for low is made at or below its trip point and resets at or above
 * its reset point; one that watches for high the other way round. Contacts are read once a scan; a delay counts from
 * the scan that first read true, unbroken; it is the damping of the switch itself and needs no power.
 *
 * Sense. An alarm contact and the stop contact are closed in health and open when their condition holds, so that a
 * broken wire alarms or stops. The contacts that start machines or allow them close when their condition holds.
 *
 * Every contact is a linear condition on the state: level through the oil volume at the trip level, pressure through
 * (gamma - 1) U - p (V_tank - V_oil). Source: definitions.
 */
import { type Dimension, either, group, quantity, text } from './parameters.ts';

const contactGroup = <D extends Dimension, B extends Dimension>(
  dimension: D,
  band: B,
  at: string,
  deadband: string,
  meaning: string,
) =>
  either(
    quantity(dimension, { meaning, example: at }),
    group(
      {
        tag: text({ tag: true, meaning: 'Tag of the switch', optional: true, example: 'LSL-101' }),
        at: quantity(dimension, { meaning: 'Trip point', example: at }),
        deadband: quantity(band, {
          meaning: 'Distance from trip point to reset point',
          above: 0,
          optional: true,
          example: deadband,
        }),
        delay: quantity('time', { meaning: 'Must stay true this long', min: 0, default: 0, example: '2 s' }),
        accuracy: quantity(band, {
          meaning: 'Trip point may be off by this much either way',
          min: 0,
          default: 0,
          example: deadband,
        }),
      },
      { meaning },
    ),
    { meaning, optional: true, standsFor: 'at' },
  );

const level = (meaning: string) => contactGroup('length', 'length', '31 in', '0.5 in', meaning);
const pressure = (meaning: string) => contactGroup('pressure', 'pressureDifference', '140 psig', '2 psi', meaning);

export const levelContacts = {
  lowLow: level('Low-low level: alarm'),
  low: level('Low level: alarm'),
  standbyStart: level('The standby pump starts too'),
  dutyStart: level('The duty pump starts'),
  normal: level('Normal level: compressors are allowed from here'),
  stop: level('All pumps stop'),
  high: level('High level: alarm'),
  highHigh: level('High-high level: pumps stop whatever else calls them'),
} as const;

export const pressureContacts = {
  lowLow: pressure('Low-low pressure: alarm'),
  low: pressure('Low pressure: alarm'),
  standbyCutIn: pressure('The standby compressor starts too'),
  cutIn: pressure('The duty compressor starts'),
  cutOut: pressure('All compressors stop'),
  high: pressure('High pressure: alarm; no machine runs in hand past it'),
  highHigh: pressure('High-high pressure: pumps and compressors stop whatever else calls them'),
} as const;

export const sumpContacts = {
  low: level('Low sump level: alarm'),
  high: level('High sump level: alarm'),
} as const;

/** What a contact measures. */
export type Measured = 'level' | 'pressure' | 'sump';
export type ContactRole =
  | `level.${keyof typeof levelContacts}`
  | `pressure.${keyof typeof pressureContacts}`
  | `sump.${keyof typeof sumpContacts}`;

/** A contact as built: trip and reset in SI (level above the inside bottom, absolute pressure), its drawn error included. */
export interface Contact {
  readonly tag: string;
  readonly role: ContactRole;
  readonly measured: Measured;
  readonly low: boolean;
  readonly trip: number;
  readonly reset: number;
  readonly delay_s: number;
  readonly accuracy: number;
}

/** The wire of a contact: as it should be, broken (the panel sees it open), or bridged (it sees it closed). */
export const Circuit = { sound: 0, broken: 1, bridged: 2 } as const;

/** Roles whose contact closes when the condition holds; all others open then. */
const CLOSE_TO_SAY: ReadonlySet<ContactRole> = new Set([
  'level.standbyStart',
  'level.dutyStart',
  'level.normal',
  'pressure.standbyCutIn',
  'pressure.cutIn',
]);

/** Whether the panel takes the condition of a contact to hold, from what the switch does and the state of its wire. */
export function contactSays(role: ContactRole, condition: boolean, circuit: number): boolean {
  const closes = CLOSE_TO_SAY.has(role);
  const closed = circuit === Circuit.sound ? condition === closes : circuit === Circuit.bridged;
  return closed === closes;
}

/** Deadbands where the file gives none (choice). */
export const DEFAULT_LEVEL_DEADBAND_m = 0.01;
export const DEFAULT_PRESSURE_DEADBAND_Pa = 15_000;

/** Roles that watch for a low reading. */
export const LOW_ROLES: ReadonlySet<string> = new Set([
  'level.lowLow',
  'level.low',
  'level.standbyStart',
  'level.dutyStart',
  'pressure.lowLow',
  'pressure.low',
  'pressure.standbyCutIn',
  'pressure.cutIn',
  'sump.low',
]);
