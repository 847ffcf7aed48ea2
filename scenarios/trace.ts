/**
 * The trace: rows of numbers at a fixed period and at every event, in SI inside, in the user's units on the way out.
 */
import { valvePosition } from '../models/drive.ts';
import type { Dimension } from '../models/parameters.ts';
import type { Unit } from '../models/unit.ts';
import { columnUnit, type UnitSystem } from './units.ts';

export interface TraceColumn {
  /** "tank pressure" */
  readonly name: string;
  /** Undefined for bits and counts. */
  readonly dimension: Dimension | undefined;
}

export interface Trace {
  readonly columns: readonly TraceColumn[];
  readonly rows: readonly Float64Array[];
}

/** Takes the rows of a trace as they come. */
export interface TraceSink {
  begin(columns: readonly TraceColumn[]): void;
  /** @param atEvent the row stands at an event, not at the period of the rows */
  row(row: Float64Array, atEvent?: boolean): void;
}

/** Builds rows for states of a unit; the outputs of the right-hand side are evaluated for each. */
export function traceBuilder(unit: Unit): {
  readonly columns: readonly TraceColumn[];
  row(y: Float64Array): Float64Array;
} {
  const { plant, slots, out, motion, layout } = unit;
  const columns: TraceColumn[] = [];
  const readers: ((y: Float64Array, outputs: Float64Array) => number)[] = [];
  const column = (
    name: string,
    dimension: Dimension | undefined,
    read: (y: Float64Array, o: Float64Array) => number,
  ) => {
    columns.push({ name, dimension });
    readers.push(read);
  };
  const ps = unit.panel.slots;
  const timeOf = (y: Float64Array) => y[layout.clock.tick] * plant.tick_s + y[layout.clock.offset];
  column('time', 'time', timeOf);
  column('tank pressure', 'pressure', (_y, o) => o[out.gasPressure]);
  column('air temperature', 'temperature', (_y, o) => o[out.gasTemperature]);
  column('shell temperature', 'temperature', (y) => y[slots.wall]);
  column('tank level', 'length', (y) => unit.level(y) - plant.tank.sightGlassZero_m);
  column('tank oil', 'volume', (y) => y[slots.oil]);
  column('air mass', 'mass', (y) => y[slots.airMass]);
  if (plant.tank.dissolvedAir.solubility_kg_m3Pa > 0) column('air in the oil', 'mass', (y) => y[slots.dissolved]);
  if (plant.ambient.kind !== 'steady')
    column('ambient temperature', 'temperature', (_y, o) => o[out.ambientTemperature]);
  column('sump level', 'length', (y) => y[slots.sump] / plant.sump.area_m2);
  column('header pressure', 'pressure', (_y, o) => o[out.headerPressure]);
  column('header flow', 'volumeFlow', (_y, o) => o[out.headerFlow]);
  plant.valves.forEach((v, i) => {
    column(`${v.tag} position`, 'fraction', (y) => valvePosition(v.drive, y[slots.x + i]));
    column(`${v.tag} flow`, 'volumeFlow', (_y, o) => o[out.valveFlow + i]);
    column(`${v.tag} command`, undefined, (y) => y[motion.direction + i]);
  });
  plant.pumps.forEach((p, j) => {
    column(`${p.tag} running`, undefined, (y) => y[ps.running + j]);
    column(`${p.tag} flow`, 'volumeFlow', (_y, o) => o[out.pumpFlow + j]);
  });
  plant.compressors.forEach((c, j) => {
    column(`${c.tag} running`, undefined, (y) => y[ps.running + plant.pumps.length + j]);
    column(
      `${c.tag} free air`,
      'volumeFlow',
      (_y, o) => (o[out.airFlow + j] * 287.0528 * o[out.ambientTemperature]) / plant.ambientPressure_Pa,
    );
  });
  if (plant.safetyValve !== undefined) column(`${plant.safetyValve.tag} open`, undefined, (y) => y[slots.safetyOpen]);
  column('mains', undefined, (y) => y[ps.mains]);
  column('control power', undefined, (y) => y[ps.control]);
  if (plant.compressors.length > 0) column('compressors allowed', undefined, (y) => y[ps.permissive]);
  unit.panel.alarms.forEach((a, k) => {
    column(`alarm ${a.tag}`, undefined, (y) => y[ps.alarmState + k]);
  });
  const rate = new Float64Array(layout.advanced);
  const kept = new Float64Array(unit.outputs.length);
  return {
    columns,
    row(y) {
      kept.set(unit.outputs);
      unit.derivative(y[layout.clock.tick] * plant.tick_s + y[layout.clock.offset], y, rate);
      const row = new Float64Array(columns.length);
      for (let i = 0; i < readers.length; i++) row[i] = readers[i](y, unit.outputs);
      unit.outputs.set(kept);
      return row;
    },
  };
}

/** Column headings with units, "tank pressure [psig]". */
export function traceHeadings(columns: readonly TraceColumn[], system: UnitSystem): string[] {
  return columns.map((c) =>
    c.dimension === undefined ? c.name : `${c.name} [${columnUnit(c.dimension, system).name}]`,
  );
}

/** A row in the user's units. */
export function traceRow(
  columns: readonly TraceColumn[],
  row: Float64Array,
  system: UnitSystem,
  ambient_Pa: number,
): number[] {
  return columns.map((c, i) =>
    c.dimension === undefined ? row[i] : columnUnit(c.dimension, system).toDisplay(row[i], ambient_Pa),
  );
}
