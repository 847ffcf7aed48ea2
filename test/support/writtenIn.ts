/**
 * Values of a scenario written as a file in one system of units, every quantity by its dimension. Units and factors are
 * stated here a second time, from their definitions: nothing of scenarios/units.ts is used.
 */
import type { Dimension, Field, Table } from '../../models/parameters.ts';
import { scenarioTable } from '../../scenarios/scenario.ts';

/** A number in a unit: SI value = number x factor + offset. */
interface Unit {
  readonly factor: number;
  readonly offset?: number;
  write(x: number): string;
}
const unit = (name: string, factor: number, offset = 0): Unit => ({ factor, offset, write: (x) => `${x} ${name}` });
const coefficient = (name: string, factor: number): Unit => ({ factor, write: (x) => `${name} ${x}` });

const inch = 0.0254;
const pound = 0.45359237;
const lbf = pound * 9.80665;
const psi = lbf / inch / inch;
const gallon = 231 * inch * inch * inch;
const gpm = gallon / 60;
/** International Table: so many J warm a pound by a degree Fahrenheit. */
const btu = 4186.8 * pound * (5 / 9);

export type Units = Readonly<Record<Dimension, Unit>>;

export const SI: Units = {
  pressure: unit('Pa abs', 1),
  pressureDifference: unit('Pa', 1),
  temperature: unit('K', 1),
  temperatureDifference: unit('K', 1),
  time: unit('s', 1),
  length: unit('m', 1),
  angle: unit('rad', 1),
  area: unit('m^2', 1),
  volume: unit('m^3', 1),
  volumeFlow: unit('m^3/s', 1),
  mass: unit('kg', 1),
  density: unit('kg/m^3', 1),
  kinematicViscosity: unit('m^2/s', 1),
  force: unit('N', 1),
  torque: unit('N m', 1),
  stiffness: unit('N/m', 1),
  power: unit('W', 1),
  speed: unit('m/s', 1),
  rotationalSpeed: unit('1/s', 1),
  heatCapacity: unit('J/K', 1),
  specificHeat: unit('J/(kg K)', 1),
  thermalConductance: unit('W/K', 1),
  linearResistance: unit('Pa s/m^3', 1),
  quadraticResistance: unit('Pa s^2/m^6', 1),
  pressureRate: unit('Pa/s', 1),
  flowCoefficient: coefficient('Kv', 1 / 3600 / Math.sqrt(1e5)),
  fraction: unit('', 1),
};

export const US: Units = {
  pressure: unit('psia', psi),
  pressureDifference: unit('psi', psi),
  temperature: unit('degF', 5 / 9, 273.15 - (32 * 5) / 9),
  temperatureDifference: unit('degF', 5 / 9),
  time: unit('min', 60),
  length: unit('in', inch),
  angle: unit('deg', Math.PI / 180),
  area: unit('in^2', inch * inch),
  volume: unit('gal', gallon),
  volumeFlow: unit('gal/min', gpm),
  mass: unit('lb', pound),
  density: unit('lb/gal', pound / gallon),
  kinematicViscosity: unit('cSt', 1e-6),
  force: unit('lbf', lbf),
  torque: unit('lbf in', lbf * inch),
  stiffness: unit('lbf/in', lbf / inch),
  power: unit('hp', 550 * 12 * inch * lbf),
  speed: unit('ft/s', 12 * inch),
  rotationalSpeed: unit('rpm', 1 / 60),
  heatCapacity: unit('BTU/degF', btu * 1.8),
  specificHeat: unit('BTU/(lb degF)', 4186.8),
  thermalConductance: unit('BTU/(h degF)', (btu * 1.8) / 3600),
  linearResistance: unit('psi/gpm', psi / gpm),
  quadraticResistance: unit('psi/gpm^2', psi / gpm / gpm),
  pressureRate: unit('psi/min', psi / 60),
  flowCoefficient: coefficient('Cv', gpm / Math.sqrt(psi)),
  fraction: unit('%', 0.01),
};

/** The text of a file with these values. */
export function writtenIn(units: Units, values: object): string {
  return JSON.stringify(tableText(units, scenarioTable, values), undefined, 1);
}

function tableText(units: Units, table: Table, values: object): object {
  const given = values as Readonly<Record<string, unknown>>;
  return Object.fromEntries(
    Object.entries(table)
      .filter(([key]) => given[key] !== undefined)
      .map(([key, field]) => [key, fieldText(units, field, given[key])]),
  );
}

function fieldText(units: Units, field: Field, value: unknown): unknown {
  switch (field.kind) {
    case 'group':
      return tableText(units, field.table, value as object);
    case 'list':
      return (value as readonly unknown[]).map((item) => fieldText(units, field.of, item));
    case 'either':
      return fieldText(units, typeof value === 'object' ? field.compound : field.scalar, value);
    case 'quantity': {
      const { factor, offset = 0, write } = units[field.dimension];
      return write(((value as number) - offset) / factor);
    }
    case 'flag':
      return value === true ? 'yes' : 'no';
    default:
      return value;
  }
}
