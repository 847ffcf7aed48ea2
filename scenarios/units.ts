/**
 * Quantities as people write them ("145 psig", "60 gal", "68 degF", "Cv 12") to SI numbers, and back.
 *
 * The number and the words gauge/absolute are read here, the unit expression by mathjs. Only an expression built from
 * unit words, `* / ^ ( )` and whole exponents ever reaches mathjs, and only its unit parser.
 *
 * Conversion factors follow from exact definitions: 1 in = 0.0254 m, 1 lb = 0.45359237 kg, g = 9.80665 m/s^2,
 * 1 US gal = 231 in^3, 0 degC = 273.15 K; columns of water at 1000 kg/m^3 and of mercury at 13595.1 kg/m^3.
 */

import type { Dimension } from '../models/parameters.ts';
import { digits, digitsKind, rounded } from './digits.ts';
import { mathUnits } from './mathUnits.ts';
import { nearest, quoted } from './wording.ts';

/** Standard atmosphere at sea level, Pa. */
export const SEA_LEVEL_PRESSURE_PA = 101_325;

const GRAVITY_M_S2 = 9.80665;
const IN = 0.0254;
const FT = 12 * IN;
const LB = 0.45359237;
const LBF = LB * GRAVITY_M_S2;
const PSI = LBF / IN ** 2;
const GAL = 231 * IN ** 3;
const GPM = GAL / 60;
const LPM = 1e-3 / 60;
/** International Table BTU: 4186.8 J/(kg K) is 1 BTU/(lb degF). */
const BTU = (4186.8 * LB * 5) / 9;
const WATER_PA_M = 1000 * GRAVITY_M_S2;
const MERCURY_PA_M = 13_595.1 * GRAVITY_M_S2;

export type UnitSystem = 'us' | 'si';

interface Kind {
  readonly noun: string;
  /** Coherent SI unit, in mathjs words. */
  readonly si: string;
  /** The usual units and their SI values. Listed in messages, and read without waking mathjs, which costs 0.1 s. */
  readonly units: Readonly<Record<string, number>>;
  /** Unit and usual number of decimals of printed values, US and metric. */
  readonly us: readonly [string, number];
  readonly metric: readonly [string, number];
}

const differences = { psi: PSI, bar: 1e5, mbar: 100, kPa: 1e3, MPa: 1e6, Pa: 1 };
const degrees = { degF: 5 / 9, degC: 1, K: 1 };

const kinds: Readonly<Record<Dimension, Kind>> = {
  pressure: {
    noun: 'pressure',
    si: 'Pa',
    units: differences,
    us: ['psig', 1],
    metric: ['barg', 2],
  },
  pressureDifference: {
    noun: 'pressure difference',
    si: 'Pa',
    units: { ...differences, GPa: 1e9, inH2O: WATER_PA_M * IN, inHg: MERCURY_PA_M * IN, mmHg: MERCURY_PA_M / 1000 },
    us: ['psi', 1],
    metric: ['bar', 2],
  },
  temperature: { noun: 'temperature', si: 'K', units: degrees, us: ['degF', 1], metric: ['degC', 1] },
  temperatureDifference: {
    noun: 'temperature difference',
    si: 'K',
    units: degrees,
    us: ['degF', 1],
    metric: ['K', 1],
  },
  time: {
    noun: 'time',
    si: 's',
    units: { ms: 1e-3, s: 1, min: 60, h: 3600, d: 86_400 },
    us: ['s', 2],
    metric: ['s', 2],
  },
  length: {
    noun: 'length',
    si: 'm',
    units: { in: IN, ft: FT, mm: 1e-3, cm: 1e-2, m: 1 },
    us: ['in', 1],
    metric: ['mm', 0],
  },
  angle: { noun: 'angle', si: 'rad', units: { deg: Math.PI / 180, rad: 1 }, us: ['deg', 1], metric: ['deg', 1] },
  area: {
    noun: 'area',
    si: 'm^2',
    units: { 'in^2': IN ** 2, 'ft^2': FT ** 2, 'mm^2': 1e-6, 'cm^2': 1e-4, 'm^2': 1 },
    us: ['in^2', 2],
    metric: ['cm^2', 2],
  },
  volume: {
    noun: 'volume',
    si: 'm^3',
    units: { gal: GAL, L: 1e-3, mL: 1e-6, 'ft^3': FT ** 3, 'in^3': IN ** 3, 'm^3': 1 },
    us: ['gal', 1],
    metric: ['L', 1],
  },
  volumeFlow: {
    noun: 'volume flow',
    si: 'm^3/s',
    units: {
      'gal/min': GPM,
      gpm: GPM,
      'gal/h': GPM / 60,
      'L/min': LPM,
      'L/s': 1e-3,
      'm^3/h': 1 / 3600,
      'ft^3/min': FT ** 3 / 60,
      cfm: FT ** 3 / 60,
    },
    us: ['gal/min', 1],
    metric: ['L/min', 1],
  },
  mass: { noun: 'mass', si: 'kg', units: { lb: LB, kg: 1, g: 1e-3, t: 1000 }, us: ['lb', 1], metric: ['kg', 1] },
  density: {
    noun: 'density',
    si: 'kg/m^3',
    units: { 'kg/m^3': 1, 'lb/ft^3': LB / FT ** 3, 'lb/gal': LB / GAL, 'g/cm^3': 1000, 'kg/L': 1000 },
    us: ['lb/ft^3', 2],
    metric: ['kg/m^3', 1],
  },
  kinematicViscosity: {
    noun: 'kinematic viscosity',
    si: 'm^2/s',
    units: { cSt: 1e-6, St: 1e-4, 'mm^2/s': 1e-6, 'm^2/s': 1 },
    us: ['cSt', 1],
    metric: ['cSt', 1],
  },
  force: {
    noun: 'force',
    si: 'N',
    units: { lbf: LBF, N: 1, kN: 1000, kgf: GRAVITY_M_S2, kip: 1000 * LBF },
    us: ['lbf', 0],
    metric: ['kN', 2],
  },
  torque: {
    noun: 'torque',
    si: 'N m',
    units: { 'lbf ft': LBF * FT, 'lbf in': LBF * IN, 'N m': 1, 'kN m': 1000 },
    us: ['lbf ft', 0],
    metric: ['N m', 0],
  },
  stiffness: {
    noun: 'stiffness',
    si: 'N/m',
    units: { 'lbf/in': LBF / IN, 'N/mm': 1000, 'kN/m': 1000, 'N/m': 1 },
    us: ['lbf/in', 1],
    metric: ['N/mm', 2],
  },
  power: {
    noun: 'power',
    si: 'W',
    units: { hp: 550 * FT * LBF, W: 1, kW: 1000, 'BTU/h': BTU / 3600 },
    us: ['hp', 2],
    metric: ['kW', 2],
  },
  speed: {
    noun: 'speed',
    si: 'm/s',
    units: { 'ft/s': FT, 'in/s': IN, 'ft/min': FT / 60, 'm/s': 1, 'mm/s': 1e-3 },
    us: ['ft/s', 2],
    metric: ['m/s', 2],
  },
  rotationalSpeed: {
    noun: 'rotational speed',
    si: 'Hz',
    units: { rpm: 1 / 60, '1/min': 1 / 60, '1/s': 1, Hz: 1 },
    us: ['rpm', 0],
    metric: ['rpm', 0],
  },
  heatCapacity: {
    noun: 'heat capacity',
    si: 'J/K',
    units: { 'BTU/degF': BTU * 1.8, 'J/K': 1, 'kJ/K': 1000 },
    us: ['BTU/degF', 1],
    metric: ['kJ/K', 1],
  },
  specificHeat: {
    noun: 'specific heat',
    si: 'J/(kg K)',
    units: { 'BTU/(lb degF)': 4186.8, 'J/(kg K)': 1, 'kJ/(kg K)': 1000 },
    us: ['BTU/(lb degF)', 3],
    metric: ['kJ/(kg K)', 3],
  },
  thermalConductance: {
    noun: 'thermal conductance',
    si: 'W/K',
    units: { 'BTU/(h degF)': (BTU * 1.8) / 3600, 'W/K': 1, 'kW/K': 1000 },
    us: ['BTU/(h degF)', 1],
    metric: ['W/K', 1],
  },
  linearResistance: {
    noun: 'linear flow resistance',
    si: 'Pa s/m^3',
    units: { 'psi/gpm': PSI / GPM, 'bar/lpm': 1e5 / LPM, 'Pa s/m^3': 1 },
    us: ['psi/gpm', 3],
    metric: ['bar/lpm', 4],
  },
  quadraticResistance: {
    noun: 'quadratic flow resistance',
    si: 'Pa s^2/m^6',
    units: { 'psi/gpm^2': PSI / GPM ** 2, 'bar/lpm^2': 1e5 / LPM ** 2, 'Pa s^2/m^6': 1 },
    us: ['psi/gpm^2', 4],
    metric: ['bar/lpm^2', 6],
  },
  pressureRate: {
    noun: 'rate of pressure change',
    si: 'Pa/s',
    units: {
      'psi/h': PSI / 3600,
      'psi/min': PSI / 60,
      'psi/s': PSI,
      'bar/h': 1e5 / 3600,
      'kPa/h': 1e3 / 3600,
      'Pa/s': 1,
    },
    us: ['psi/h', 2],
    metric: ['bar/h', 3],
  },
  flowCoefficient: {
    noun: 'flow coefficient',
    si: '',
    // Water at 1000 kg/m^3: Cv in US gal/min at 1 psi, Kv in m^3/h at 1 bar.
    units: { Cv: GPM / Math.sqrt(PSI), Kv: 1 / 3600 / Math.sqrt(1e5) },
    us: ['Cv', 2],
    metric: ['Kv', 2],
  },
  fraction: { noun: 'fraction', si: '', units: { '%': 0.01 }, us: ['%', 1], metric: ['%', 1] },
};

const levels = ['psig', 'psia', 'barg', 'bara', 'mbarg', 'mbara', 'kPag', 'kPaa', 'MPag', 'MPaa'];
const unitsOf = (dimension: Dimension): readonly string[] =>
  dimension === 'pressure' ? levels : Object.keys(kinds[dimension].units);

/** What a dimension measures ("volume flow") and the units that messages offer for it. */
export const describeDimension = (dimension: Dimension): { noun: string; units: readonly string[] } => ({
  noun: kinds[dimension].noun,
  units: unitsOf(dimension),
});

// ---------------------------------------------------------------------------------------------------------- reading

/** A unit as the user wrote it: SI = number x factor + offset. */
export interface WrittenUnit {
  readonly name: string;
  readonly factor: number;
  readonly offset: number;
}
export type QuantityReading =
  | { readonly value: number; readonly unit: WrittenUnit }
  | { readonly problem: string; readonly suggestion?: string };

interface Problem {
  readonly problem: string;
  readonly suggestion?: string;
}
const problem = (text: string, suggestion?: string): Problem =>
  suggestion === undefined ? { problem: text } : { problem: text, suggestion };

const understood = (dimension: Dimension): string => `understood: ${unitsOf(dimension).join(', ')}`;

/** Longest text that is looked at; longer ones cannot be a number and a unit. */
const LONGEST_TEXT = 80;
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?(?![\d.])/i;

/**
 * Reads a quantity such as "145 psig", "60 gal", "9 degF", "12 %", "Cv 12".
 *
 * @param text as written; surrounding blanks do not matter, case slips ("PSIG") are accepted where they are unambiguous
 * @param dimension what the quantity measures; the SI unit of the result is listed at {@link Dimension}
 * @param ambientPressure_Pa absolute pressure of the air outside, for gauge readings; undefined where it is not known
 *   yet (while the site itself is read): then gauge readings are refused
 * @param example shown when the text has no unit
 * @returns the finite SI value and the unit in which it was written, or the problem in words that say what to write
 */
export function readQuantity(
  text: string,
  dimension: Dimension,
  ambientPressure_Pa: number | undefined,
  example?: string,
): QuantityReading {
  const written = text
    .trim()
    .replace(/[\u2212\u2013]/g, '-')
    .replace(/[\s\u00a0\u202f]+/g, ' ');
  if (written.length > LONGEST_TEXT)
    return problem(`${quoted(written)} is too long to be ${a(kinds[dimension].noun)}; ${understood(dimension)}`);
  if (dimension === 'flowCoefficient') return readFlowCoefficient(written, example);
  const slip = numberSlip(written);
  if (slip !== undefined) return slip;
  const digits = NUMBER.exec(written)?.[0];
  if (digits === undefined) {
    const wrong = written === '' ? 'is empty' : 'does not begin with a number';
    return problem(`${quoted(written)} ${wrong}; write for example "${example ?? sampleOf(dimension)}"`);
  }
  const number = Number(digits);
  if (!Number.isFinite(number)) return problem(`${quoted(written)} is too large a number`);
  const unitText = written.slice(digits.length).trim();
  const parts = { written, digits, unitText };
  const unit =
    unitText === '' && dimension !== 'fraction'
      ? noUnit(digits, dimension, example)
      : readUnit(parts, dimension, ambientPressure_Pa);
  if ('problem' in unit) return unit;
  // Dividing keeps "7 %" at 0.07 exactly.
  const value = dimension === 'fraction' ? number / (1 / unit.factor) : number * unit.factor + unit.offset;
  if (!Number.isFinite(value)) return problem(`${quoted(written)} is too large a number`);
  if (dimension !== 'temperature' && dimension !== 'pressure') return { value, unit };
  // Rounding may leave absolute zero itself a hair below zero.
  if (value >= -1e-9) return { value: Math.max(0, value), unit };
  if (dimension === 'temperature') return problem(`${quoted(written)} is below absolute zero`);
  const outside = inUnit(unit.offset, { ...unit, name: marked(baseOf(unitText), false), offset: 0 });
  return problem(
    `${quoted(written)} is less than a perfect vacuum${unit.offset > 0 ? ` (the air outside: ${outside})` : ''}`,
  );
}

const sampleOf = (dimension: Dimension): string => (dimension === 'fraction' ? '85 %' : `10 ${unitsOf(dimension)[0]}`);

function noUnit(digits: string, dimension: Dimension, example: string | undefined): Problem {
  if (dimension === 'pressure' || example === undefined) {
    const writes = unitsOf(dimension)
      .slice(0, 2)
      .map((word) => `"${digits} ${word}"`);
    return problem(`${quoted(digits)} has no unit; write ${writes.join(' or ')} (${understood(dimension)})`);
  }
  return problem(`${quoted(digits)} has no unit; write for example "${example}" (${understood(dimension)})`);
}

/** Numbers that people write and that could be taken two ways. */
function numberSlip(written: string): Problem | undefined {
  const split = /^(?:(\d+)[ -])?(\d+) ?\/ ?(\d+) ?([^\d ].*)$/.exec(written);
  if (split !== null) {
    const [, whole = '0', over, under, unit] = split;
    const number = Number((Number(whole) + Number(over) / Number(under)).toPrecision(6));
    const write = /^[A-Za-z]/.test(unit ?? '') ? `${number} ${unit}` : `${number}${unit}`;
    return problem(`${quoted(written)} is a split number; write "${write}"`, write);
  }
  const grouped = /^([+-]?\d{1,3})((?:([ ,'_])\d{3})(?:\3\d{3})*)(\.\d+)? ?(\D.*)?$/.exec(written);
  if (grouped !== null) {
    const [, head, tail = '', mark, decimals = '', unit = ''] = grouped;
    const write = `${head}${tail.replace(/\D/g, '')}${decimals} ${unit}`.trim();
    const either =
      mark === ',' && tail.length === 4 && decimals === '' ? `, or "${head}.${tail.slice(1)} ${unit}"` : '';
    const mean = either === '' ? '' : ' (the comma could be a decimal point)';
    return problem(`${quoted(written)}: write the number without separators, "${write}"${either}${mean}`, write);
  }
  const swapped = /^([+-]?\d{1,3}(?:\.\d{3})+),(\d+) ?(\D.*)?$/.exec(written);
  if (swapped !== null) {
    const write = `${swapped[1]!.replaceAll('.', '')}.${swapped[2]} ${swapped[3] ?? ''}`.trim();
    return problem(`${quoted(written)}: write the number as "${write}"`, write);
  }
  const comma = /^([+-]?\d+),(\d+) ?(\D.*)?$/.exec(written);
  if (comma !== null) {
    const write = `${comma[1]}.${comma[2]} ${comma[3] ?? ''}`.trim();
    return problem(`${quoted(written)}: write the decimal point as a point, "${write}"`, write);
  }
  return undefined;
}

function readFlowCoefficient(written: string, example = 'Cv 12'): QuantityReading {
  const match = /^(cv|kv) ?[=:]? ?(\S+)$/i.exec(written) ?? /^(\S+?) ?(cv|kv)$/i.exec(written);
  const [a = '', b = ''] = match?.slice(1) ?? [];
  const [word, digits] = /^[ck]v$/i.test(a) ? [a, b] : [b, a];
  const name = word.toLowerCase() === 'cv' ? 'Cv' : 'Kv';
  if (match === null || NUMBER.exec(digits)?.[0] !== digits || !Number.isFinite(Number(digits)))
    return problem(
      `${quoted(written)} is not a flow coefficient; write for example "${example}" (Cv: gal/min at 1 psi, Kv: m^3/h at 1 bar)`,
    );
  const unit = { name, factor: kinds.flowCoefficient.units[name]!, offset: 0 };
  return { value: Number(digits) * unit.factor, unit };
}

interface Parts {
  readonly written: string;
  readonly digits: string;
  readonly unitText: string;
}

function readUnit(parts: Parts, dimension: Dimension, ambient_Pa: number | undefined): WrittenUnit | Problem {
  const { written, unitText } = parts;
  if (dimension === 'fraction') {
    if (unitText === '') return { name: '', factor: 1, offset: 0 };
    if (/^(%|percent|per cent|pct)$/i.test(unitText)) return { name: unitText, factor: 0.01, offset: 0 };
    return problem(`${quoted(written)}: write a fraction as "0.85" or "85 %"`);
  }
  if (dimension === 'temperature' || dimension === 'temperatureDifference') {
    const degree = readDegree(unitText);
    if (degree !== undefined) return dimension === 'temperature' ? degree : { ...degree, offset: 0 };
    return notUnderstood(parts, dimension);
  }
  if (dimension === 'pressure') return readPressureUnit(parts, ambient_Pa);
  const factor = factorOf(unitText, dimension);
  return factor === undefined ? notUnderstood(parts, dimension) : { name: unitText, factor, offset: 0 };
}

function readDegree(unitText: string): WrittenUnit | undefined {
  const word = /^(?:deg(?:rees?|\.)?|[°º])? ?([CFRK℃℉]|celsius|fahrenheit|rankine|kelvin)$/i.exec(unitText)?.[1];
  const letter = word?.charAt(0).toUpperCase() ?? '';
  const name = unitText.length > 1 || letter === 'K' ? unitText : `deg${letter}`;
  if (letter === 'C' || letter === '℃') return { name, factor: 1, offset: 273.15 };
  if (letter === 'F' || letter === '℉') return { name, factor: 5 / 9, offset: 459.67 / 1.8 };
  if (letter === 'R') return { name, factor: 5 / 9, offset: 0 };
  return letter === 'K' ? { name, factor: 1, offset: 0 } : undefined;
}

/** "psig", "psi g", "bar(g)", "psi gauge", "kPa (a)", "bar abs": the unit and the word behind it. */
const GAUGE_OR_ABSOLUTE = /^(.+?) ?[([]? ?(?:(g|gau?ge)|(a|abs\.?|absolute)) ?[)\]]?$/i;

const baseOf = (unitText: string): string => GAUGE_OR_ABSOLUTE.exec(unitText)?.[1] ?? unitText;

function readPressureUnit({ written, digits, unitText }: Parts, ambient_Pa: number | undefined): WrittenUnit | Problem {
  const [, base = '', gauge] = GAUGE_OR_ABSOLUTE.exec(unitText) ?? [];
  const factor = base === '' ? undefined : factorOf(base, 'pressure');
  if (factor !== undefined && gauge === undefined) return { name: unitText, factor, offset: 0 };
  if (factor !== undefined && ambient_Pa !== undefined) return { name: unitText, factor, offset: ambient_Pa };
  if (factor !== undefined)
    return problem(
      `${quoted(written)} is a gauge reading, but the pressure of the air outside is only being stated here; write it absolute, such as "14.2 psia" or "980 mbara"`,
    );
  if (factorOf(unitText, 'pressure') === undefined) return notUnderstood({ written, digits, unitText }, 'pressure');
  const [asGauge, asAbsolute] = [`${digits} ${marked(unitText, true)}`, `${digits} ${marked(unitText, false)}`];
  if (ambient_Pa === undefined)
    return problem(`${quoted(written)} does not say gauge or absolute; write it absolute, "${asAbsolute}"`, asAbsolute);
  return problem(
    `${quoted(written)} does not say gauge or absolute; write "${asGauge}" for a gauge reading or "${asAbsolute}" for absolute`,
  );
}

function marked(unitText: string, gauge: boolean): string {
  const lower = unitText.toLowerCase();
  const word = Object.keys(differences).find((unit) => unit.toLowerCase() === lower) ?? unitText;
  return /^(psi|m?bar|[kM]?Pa)$/.test(word) ? word + (gauge ? 'g' : 'a') : `${word} ${gauge ? 'gauge' : 'abs'}`;
}

/** Explains a unit that does not fit, with the reason where the trade has one. */
function notUnderstood({ written, digits, unitText }: Parts, dimension: Dimension): Problem {
  const asWritten = quoted(written);
  const { noun } = kinds[dimension];
  if (/\d/.test(unitText.replace(/[A-Za-z)]\d\b|\^ ?-?\d|\bH2O\b|\d\/(min|s)\b/gi, '')))
    return problem(`${asWritten}: write one number and one unit; ${understood(dimension)}`);
  if (dimension === 'volumeFlow' && /^(s ?(cf|l|m\^?3|ft)|n ?(m\^?3|m³|l))/i.test(unitText))
    return problem(
      `${asWritten} counts air at a reference state, and standards differ in which; write the free air at intake conditions, such as "${digits} ft^3/min" or "${digits} m^3/h"`,
    );
  if ((dimension === 'volumeFlow' || dimension === 'volume') && /^(imp|uk)\b/i.test(unitText))
    return problem(
      `${asWritten}: gal is the US gallon of 231 in^3; write imperial gallons in L (1 of them is 4.54609 L)`,
    );
  if (dimension === 'kinematicViscosity' && /^(c?P|m?Pa ?[ *·]?s)$/i.test(unitText))
    return problem(`${asWritten} is a dynamic viscosity; divide it by the density and write it in cSt or mm^2/s`);
  if (dimension === 'time' && /^m$/i.test(unitText))
    return problem(`${asWritten}: write "${digits} min" for minutes or "${digits} ms" for milliseconds`);
  if (dimension === 'force' && /^(lbs?|kg)$/i.test(unitText)) {
    const write = `${digits} ${/^kg$/i.test(unitText) ? 'kgf' : 'lbf'}`;
    return problem(`${asWritten} is a mass; as a force write "${write}"`, write);
  }
  const level = /^(psi|m?bar|[kMh]?Pa) ?\(?(?:g|a|d|gau?ge|abs|absolute)\)?(\/.*)?$/i.exec(unitText);
  if (level !== null && (dimension === 'pressureDifference' || dimension === 'pressureRate')) {
    const write = `${digits} ${level[1]}${level[2] ?? ''}`;
    return problem(`${asWritten}: a ${noun} is neither gauge nor absolute; write "${write}"`, write);
  }
  const measures = dimensionOf(unitText);
  if (measures !== undefined && measures !== noun)
    return problem(`${asWritten} is ${a(measures)}, but ${a(noun)} is wanted here; ${understood(dimension)}`);
  const near = nearest(unitText, unitsOf(dimension));
  if (near !== undefined) {
    const write = `${digits} ${near}`;
    return problem(`${asWritten}: unit ${quoted(unitText)} is not known; did you mean "${write}"?`, write);
  }
  return problem(`${asWritten}: unit ${quoted(unitText)} is not known for ${a(noun)}; ${understood(dimension)}`);
}

const a = (noun: string): string => `${/^[aeiou]/.test(noun) ? 'an' : 'a'} ${noun}`;

// -------------------------------------------------------------------------------------------------- unit expressions

const factors = new Map<string, number | undefined>();
const MOST_REMEMBERED = 1000;

/** SI value of one such unit, undefined where the text is no unit of this dimension. Remembers what it has read. */
function factorOf(unitText: string, dimension: Dimension): number | undefined {
  const key = `${dimension} ${unitText}`;
  if (factors.has(key)) return factors.get(key);
  const tidy = phrases.reduce((text, [pattern, by]) => text.replace(pattern, by), unitText);
  const factor = usualFactor(tidy, dimension) ?? evaluated(tidy, dimension);
  if (factors.size < MOST_REMEMBERED) factors.set(key, factor);
  return factor;
}

/** Where "m" and "M" differ by nine powers of ten, the case of the letters decides. */
const CASE_MATTERS = /^(mpa|ml)$/i;

function usualFactor(tidy: string, dimension: Dimension): number | undefined {
  const { units } = kinds[dimension];
  if (Object.hasOwn(units, tidy)) return units[tidy];
  if (CASE_MATTERS.test(tidy)) return undefined;
  const lower = tidy.toLowerCase();
  const name = Object.keys(units).find((unit) => unit.toLowerCase() === lower);
  return name === undefined ? undefined : units[name];
}

/** What mathjs makes of it. */
function evaluated(tidy: string, dimension: Dimension): number | undefined {
  prepareUnits();
  const expression = expressionOf(tidy, dimension);
  if (expression === undefined) return undefined;
  const { si } = kinds[dimension];
  // "J/kg K" is how people write J/(kg K); taken so only where nothing else fits the dimension.
  const slash = expression.indexOf('/');
  const divided = `${expression.slice(0, slash + 1)}(${expression.slice(slash + 1)})`;
  return convert(expression, si) ?? (slash > 0 && !expression.includes('(') ? convert(divided, si) : undefined);
}

function convert(expression: string, target: string): number | undefined {
  const math = mathUnits();
  try {
    return math.unit(1, expression).toNumber(target);
  } catch {
    return undefined;
  }
}

let prepared = false;

/** Gives mathjs the units that it lacks, or holds with fewer than nine good digits, or as something else ("bbl"). */
function prepareUnits(): void {
  if (prepared) return;
  const math = mathUnits();
  prepared = true;
  const inSI: Readonly<Record<string, string>> = {
    psi: `${PSI} Pa`,
    inH2O: `${WATER_PA_M * IN} Pa`,
    ftH2O: `${WATER_PA_M * FT} Pa`,
    mH2O: `${WATER_PA_M} Pa`,
    inHg: `${MERCURY_PA_M * IN} Pa`,
    mmHg: `${MERCURY_PA_M / 1000} Pa`,
    torr: `${SEA_LEVEL_PRESSURE_PA / 760} Pa`,
    gpm: `${GPM} m^3/s`,
    gph: `${GPM / 60} m^3/s`,
    lpm: `${LPM} m^3/s`,
    cfm: `${FT ** 3 / 60} m^3/s`,
    bbl: `${42 * GAL} m^3`,
    St: '1e-4 m^2/s',
    cSt: '1e-6 m^2/s',
    kip: `${1000 * LBF} N`,
    hp: `${550 * FT * LBF} W`,
    mph: '1 mi/h',
    rpm: `${1 / 60} Hz`,
  };
  math.createUnit(Object.fromEntries(Object.entries(inSI).map(([name, definition]) => [name, { definition }])), {
    override: true,
  });
}

function dimensionOf(unitText: string): string | undefined {
  if (readDegree(unitText) !== undefined && unitText.length > 1) return 'temperature';
  if (/^%/.test(unitText)) return 'fraction';
  const found = (Object.keys(kinds) as Dimension[]).find(
    (dimension) => kinds[dimension].si !== '' && factorOf(unitText, dimension) !== undefined,
  );
  return found && kinds[found].noun;
}

/** What people write for one symbol, in order. */
const phrases: readonly (readonly [RegExp, string])[] = [
  [/[·⋅×•]/g, '*'],
  [/\*\*/g, '^'],
  [/²/g, '^2'],
  [/³/g, '^3'],
  [/⁶/g, '^6'],
  [/⁻¹/g, '^-1'],
  [/[µμ]/g, 'u'],
  [/(?<=[A-Za-z0-9)])[°º]/g, '*°'],
  [/[°º] ?(?=[CF]\b)/gi, 'deg'],
  [/^[°º]$/, 'deg'],
  [/^(?:"|″|”|'')$/, 'in'],
  [/^(?:'|′|’)$/, 'ft'],
  [/ per /gi, '/'],
  [/ ?([/^]) ?/g, '$1'],
  [/\b(?:inch(?:es)?|ins)\b/gi, 'in'],
  [/\b(?:feet|foot)\b/gi, 'ft'],
  [/\b(?:U\.? ?S\.? ?)?(?:gallons?|gals?)\b/gi, 'gal'],
  [/\blit(?:er|re)s?\b/gi, 'L'],
  [/\bsec(?:ond)?s?\b/gi, 's'],
  [/\bmin(?:ute)?s?\b/gi, 'min'],
  [/\bh(?:r|rs|ours?)\b/gi, 'h'],
  [/\bdays?\b/gi, 'd'],
  [/\b(in|ft|mm|cm|m)\.? ?(?:of )?(?:H2O|W\.?C\.?|water)(?![A-Za-z0-9])/gi, '$1H2O'],
  [/\b(in|mm|cm)\.? ?Hg\b/gi, '$1Hg'],
  [/\bkg\/cm\^?2\b/g, 'kgf/cm^2'],
  [/\b(k?)Nm\b/g, '$1N m'],
  [/\bsq(?:uare|\.)? ?([a-z]+)\b/gi, '$1^2'],
  [/\bcu(?:bic|\.)? ?([a-z]+)\b/gi, '$1^3'],
  [/\b(m|mm|cm|ft|in|s|gpm|lpm)([236])\b/gi, '$1^$2'],
  [/^(?:(?:rev|r)\/min|min\^-1)$/i, '1/min'],
  [/^(?:(?:rev|r)\/s|s\^-1|rps)$/i, '1/s'],
  [/\.(?= ?[A-Za-z])/g, '*'],
  [/\.$/, ''],
  [/(?<=[A-Za-z]) ?- ?(?=[A-Za-z])/g, '*'],
];

/** Words whose case tells nothing apart, so that any case is read. */
const anyCase = new Map(
  (
    'psi bar kPa hPa inH2O ftH2O mH2O mmH2O cmH2O inHg mmHg torr atm gal L mL ft in mm cm km yd mil gpm gph lpm cfm ' +
    'bbl m s ms min h lb lbs lbm kg lbf kgf kN kip hp kW W kWh Wh kJ BTU cSt mph rpm Hz N J K Pa g'
  )
    .split(' ')
    .map((word) => [word.toLowerCase(), word]),
);

/** Words that mathjs does not know or, as "barrel", takes for something else; in any case. */
const respelled: Readonly<Record<string, string>> = {
  barrel: 'bbl',
  barrels: 'bbl',
  d: 'day',
  kgk: 'kg*K',
  kips: 'kip',
  mbar: 'mbar',
  pound: 'lb',
  pounds: 'lb',
  usgal: 'gal',
  usgpm: 'gpm',
};
const inHeat = { c: 'K', f: 'degR', degc: 'K', degf: 'degR' };
const inDimension: Readonly<Partial<Record<Dimension, Readonly<Record<string, string>>>>> = {
  torque: { lb: 'lbf', lbs: 'lbf', kg: 'kgf', nm: 'N*m', knm: 'kN*m' },
  heatCapacity: inHeat,
  specificHeat: inHeat,
  thermalConductance: inHeat,
};

/** The text in mathjs words, undefined if a word is not known or anything but `* / ^ ( )` stands between the words. */
function expressionOf(tidy: string, dimension: Dimension): string | undefined {
  const parts = tidy.match(/[A-Za-z][A-Za-z0-9]*|\^-?\d|[*/()]| +|./gs) ?? [];
  const expression = parts.map((part) => {
    if (/^[A-Za-z]/.test(part)) return wordOf(part, dimension);
    return /^(\^-?\d|[*/()]| +)$/.test(part) ? part : undefined;
  });
  return expression.includes(undefined) ? undefined : expression.join('');
}

function wordOf(word: string, dimension: Dimension): string | undefined {
  const lower = word.toLowerCase();
  for (const table of [inDimension[dimension] ?? {}, respelled]) if (Object.hasOwn(table, lower)) return table[lower];
  const { Unit } = mathUnits();
  if (Unit.isValuelessUnit(word)) return word;
  return anyCase.get(lower) ?? (word.length > 3 && Unit.isValuelessUnit(lower) ? lower : undefined);
}

// ---------------------------------------------------------------------------------------------------------- writing

/** How a quantity is printed for people. */
export interface DisplayUnit {
  /** As printed; {@link readQuantity} reads it too. */
  readonly name: string;
  readonly decimals: number;
  /** @param ambientPressure_Pa absolute, needed for gauge pressures only */
  toDisplay(si: number, ambientPressure_Pa: number): number;
}

const displays = new Map<string, DisplayUnit>();

/**
 * Unit of a column of numbers, for headings of tables and CSV files.
 *
 * @returns its name and the conversion from SI; pressures in it are gauge
 */
export function columnUnit(dimension: Dimension, system: UnitSystem): DisplayUnit {
  const key = `${system} ${dimension}`;
  let display = displays.get(key);
  if (display === undefined) {
    const { us, metric } = kinds[dimension];
    const [name, decimals] = system === 'us' ? us : metric;
    const sample = dimension === 'flowCoefficient' ? `${name} 1` : `1 ${name}`;
    const read = readQuantity(sample, dimension, SEA_LEVEL_PRESSURE_PA);
    if ('problem' in read) throw new Error(`display unit ${name} of ${dimension}: ${read.problem}`);
    const { factor, offset } = read.unit;
    const toDisplay =
      dimension === 'pressure'
        ? (si: number, ambientPressure_Pa: number) => (si - ambientPressure_Pa) / factor
        : (si: number) => (si - offset) / factor;
    displays.set(key, (display = { name, decimals, toDisplay }));
  }
  return display;
}

/** The display unit of every dimension: US customary or metric. */
export const displayUnits = (system: UnitSystem): Readonly<Record<Dimension, DisplayUnit>> =>
  Object.fromEntries((Object.keys(kinds) as Dimension[]).map((d) => [d, columnUnit(d, system)])) as Record<
    Dimension,
    DisplayUnit
  >;

/**
 * Writes an SI value for people, with about four significant digits: "122.7 psig", "60.0 gal", "12.52 s", "0 %".
 * What it writes, {@link readQuantity} reads.
 *
 * @param si SI value; one that is not finite is written "n/a"
 * @param ambientPressure_Pa absolute pressure of the air outside, used for pressures only
 */
export function formatQuantity(
  si: number,
  dimension: Dimension,
  system: UnitSystem,
  ambientPressure_Pa: number = SEA_LEVEL_PRESSURE_PA,
): string {
  if (!Number.isFinite(si)) return 'n/a';
  if (dimension === 'time' && Math.abs(si) >= 120)
    return Math.abs(si) < 7200 ? `${rounded(si / 60, 1)} min` : `${rounded(si / 3600, 1)} h`;
  const unit = columnUnit(dimension, system);
  const number = unit.toDisplay(si, ambientPressure_Pa);
  if (dimension === 'flowCoefficient') return `${unit.name} ${rounded(number, unit.decimals)}`;
  return `${digits(number, unit.decimals, digitsKind(dimension))} ${unit.name}`;
}

/** An SI value with all its digits, as {@link readQuantity} reads it back; a pressure is absolute. */
export function exactQuantity(si: number, dimension: Dimension): string {
  const kind = kinds[dimension];
  if (dimension === 'flowCoefficient') return `Kv ${si / kind.units['Kv']!}`;
  return dimension === 'fraction' ? String(si) : `${si} ${dimension === 'pressure' ? 'Paa' : kind.si}`;
}

/**
 * An SI value in the unit in which a user wrote another one, for messages.
 *
 * @param inward rounds to the side on which the text, read again, is still within the limit that it states
 */
export function inUnit(si: number, unit: WrittenUnit, inward?: 'min' | 'max'): string {
  const number = (si - unit.offset) / unit.factor;
  let text = Number(number.toPrecision(4));
  const lost = text - number;
  if ((inward === 'max' && lost > 1e-9 * Math.abs(number)) || (inward === 'min' && -lost > 1e-9 * Math.abs(number))) {
    const step = 10 ** (Math.floor(Math.log10(Math.abs(number))) - 3);
    text = Number((text + (inward === 'max' ? -step : step)).toPrecision(4));
  }
  if (unit.name === 'Cv' || unit.name === 'Kv') return `${unit.name} ${text}`;
  return unit.name === '' ? String(text) : `${text} ${unit.name}`;
}

const US_WRITTEN = /(?<![A-Za-z])(psi[ga]?|gal|lbf|degF|in|ft)\b/g;
const SI_WRITTEN = /(?<![A-Za-z])(bar[ga]?|kPa[ga]?|MPa[ga]?|degC|mm|m|L|kN|N)\b/g;

/** The units that a scenario is mostly written in, by counting unit words behind digits; US where neither leads. */
export function unitsWritten(text: string): UnitSystem {
  let us = 0;
  let si = 0;
  for (const [word] of text.matchAll(/\d\s*[A-Za-z]+/g)) {
    us += word.match(US_WRITTEN)?.length ?? 0;
    si += word.match(SI_WRITTEN)?.length ?? 0;
  }
  return si > us ? 'si' : 'us';
}
