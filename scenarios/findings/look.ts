/** What every finding looks at, and how it is put down. */
import type { Plant } from '../../models/plant.ts';
import type { ScenarioValues } from '../scenario.ts';
import { formatQuantity, type UnitSystem } from '../units.ts';
import { FINDING_KINDS, type Finding, type FindingKind } from './kinds.ts';

export interface Subject {
  readonly values: ScenarioValues;
  readonly plant: Plant;
  readonly units: UnitSystem;
  /** "file:line" of a path. */
  readonly place: (path: string) => string | undefined;
}

export interface Look extends Subject {
  /** Adds a finding with its numbers in SI and the paths it is about. */
  add(kind: FindingKind, text: string, numbers: Finding['numbers'], paths: readonly string[]): void;
  /** A pressure as read on a gauge. */
  readonly pressure: (pa: number) => string;
  readonly pressureDifference: (pa: number) => string;
  readonly length: (m: number) => string;
  readonly volume: (m3: number) => string;
  readonly time: (s: number) => string;
  readonly power: (w: number) => string;
  /** Oil in the tank with the sight glass at a level. */
  readonly oilAt: (level_m: number) => number;
  /** Air in the tank then. */
  readonly airAt: (level_m: number) => number;
}

export function lookAt(subject: Subject, found: Finding[]): Look {
  const { plant, units, place } = subject;
  const { vessel, volume_m3, sightGlassZero_m: zero } = plant.tank;
  const show = (dimension: Parameters<typeof formatQuantity>[1]) => (si: number) =>
    formatQuantity(si, dimension, units, plant.ambientPressure_Pa);
  const oilAt = (level_m: number) => vessel.volumeAt(level_m + zero);
  return {
    ...subject,
    add(id, text, numbers, paths) {
      const at = paths.map(place).filter((x): x is string => x !== undefined);
      found.push({ id, ...FINDING_KINDS[id], text, at: [...new Set(at)], numbers });
    },
    pressure: show('pressure'),
    pressureDifference: show('pressureDifference'),
    length: show('length'),
    volume: show('volume'),
    time: show('time'),
    power: show('power'),
    oilAt,
    airAt: (level_m) => volume_m3 - oilAt(level_m),
  };
}

/** The trip point of a contact as the file gives it. */
export function atOf(contact: number | { readonly at: number } | undefined): number | undefined {
  return typeof contact === 'number' ? contact : contact?.at;
}

/** "P-1", "P-1 and P-2", "P-1, P-2 and P-3". */
export function listed(names: readonly string[]): string {
  return names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
}

/** Where in the file the machines are, pumps first. */
export function machinePaths(v: ScenarioValues): readonly string[] {
  return [...v.pumps.map((_, i) => `pumps.${i}`), ...v.compressors.map((_, i) => `compressors.${i}`)];
}
