/**
 * Mineral oil: viscosity and density over temperature.
 *
 * Viscosity, Walther / ASTM D341 short form (usable above 2 mm2/s; second hand), nu in mm2/s, T in K:
 *     log10 log10(nu + 0.7) = A - B log10 T
 * laid through two points: 40 and 100 degC, or any two. An ISO VG grade gives its mid-point at 40 degC (ISO 3448:
 * second hand); the point at 100 degC is the one at which the viscosity index comes out as asked, 95 unless told
 * otherwise.
 * Viscosity index, ASTM D2270 (procedures A and B: second hand), Y = nu at 100 degC, U = nu at 40 degC:
 *     VI = 100 (L - U)/(L - H);  above 100:  VI = 100 + (10^N - 1)/0.00715,  Y^N = H/U
 *     L = a Y^2 + b Y + c,  H = d Y^2 + e Y + f, coefficients by range of Y below
 * Density, API MPMS 11.1 for lubricating oils (second hand), t in degF:
 *     rho = rho60 exp(-alpha dt (1 + 0.8 alpha dt)),  alpha = 0.34878/rho60 per degF,  dt = t - 60 degF
 *
 * Not modelled: compressibility, viscosity under pressure (some 2 % per 10 bar, from memory), cold flow below the pour
 * point, air bubbles.
 */

import { assert } from '../sim/fault.ts';
import { group, list, number, quantity, type Values } from './parameters.ts';

export const oilTable = {
  grade: number({
    meaning: 'ISO VG grade: kinematic viscosity in mm^2/s at 40 degC',
    min: 2,
    max: 1500,
    optional: true,
    example: '46',
  }),
  viscosityIndex: number({ meaning: 'Viscosity index of the grade', min: 0, max: 250, default: 95, example: '95' }),
  viscosity: list(
    group(
      {
        at: quantity('temperature', { meaning: 'Temperature', example: '40 degC' }),
        value: quantity('kinematicViscosity', {
          meaning: 'Kinematic viscosity',
          above: 2e-7,
          max: 0.1,
          example: '46 mm^2/s',
        }),
      },
      { meaning: 'A measured point' },
    ),
    { meaning: 'Two viscosity points instead of a grade', minItems: 2, maxItems: 2, optional: true },
  ),
  density: quantity('density', {
    meaning: 'Density at 15 degC',
    min: 600,
    max: 1200,
    default: 870,
    example: '870 kg/m^3',
  }),
  temperature: quantity('temperature', {
    meaning: 'Oil temperature, fixed for the run',
    min: 233.15,
    max: 373.15,
    default: 293.15,
    example: '60 degF',
  }),
} as const;
export const oilGroup = group(oilTable, { meaning: 'The hydraulic oil', oneOf: [['grade', 'viscosity']] });
export type OilValues = Values<typeof oilTable>;

export interface Oil {
  readonly a: number;
  readonly b: number;
  readonly density60F_kg_m3: number;
}

export interface ViscosityPoint {
  readonly temperature_K: number;
  readonly viscosity_m2_s: number;
}

const MM2 = 1e-6;
const T40_K = 313.15;
const T100_K = 373.15;
const T15_K = 288.15;
const T60F_K = 288.15 + 5 / 9;
export const DEFAULT_VISCOSITY_INDEX = 95;

/**
 * ASTM D2270, the table of coefficients: from Y, then a b c d e f. From memory; every row checked against the
 * standard's table of L and H (second hand), which the fit meets within 0.1 %.
 */
const D2270: readonly (readonly number[])[] = [
  [2.0, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077],
  [3.8, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183],
  [4.4, 2.5, -7.2143, 13.812, 0.82143, 1.5679, 0.119],
  [5.0, 0.101, 16.635, -45.469, 0.04985, 9.1613, -18.557],
  [6.4, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656],
  [7.0, 0.01191, 21.475, -72.87, 0.79762, -0.7321, 14.61],
  [7.7, 0.41858, 16.1558, -56.04, 0.05794, 10.5156, -28.24],
  [9.0, 0.88779, 7.5527, -16.6, 0.26665, 6.7015, -10.81],
  [12, 0.7672, 10.7972, -38.18, 0.20073, 8.4658, -22.49],
  [15, 0.97305, 5.3135, -2.2, 0.28889, 5.9741, -4.93],
  [18, 0.97256, 5.25, -0.98, 0.24504, 7.416, -16.73],
  [22, 0.91413, 7.4759, -21.82, 0.20323, 9.1267, -34.23],
  [28, 0.87031, 9.7157, -50.77, 0.18411, 10.1015, -46.75],
  [40, 0.84703, 12.6752, -133.31, 0.17029, 11.4866, -80.62],
  [55, 0.85921, 11.1009, -83.19, 0.1713, 11.368, -76.94],
  [70, 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947],
];

/**
 * Viscosity index from the kinematic viscosities [m2/s] at 40 and 100 degC. Defined from 2 mm2/s at 100 degC upwards;
 * NaN below.
 */
export function viscosityIndex(at40C_m2_s: number, at100C_m2_s: number): number {
  const y = at100C_m2_s / MM2;
  const u = at40C_m2_s / MM2;
  const row = D2270.findLast((r) => y >= r[0]!);
  if (row === undefined) return Number.NaN;
  const l = (row[1]! * y + row[2]!) * y + row[3]!;
  const h = (row[4]! * y + row[5]!) * y + row[6]!;
  if (u >= h) return (100 * (l - u)) / (l - h);
  const n = Math.log(h / u) / Math.log(y);
  return 100 + (10 ** n - 1) / 0.00715;
}

/**
 * Kinematic viscosity [m2/s] at 100 degC of an oil with a given viscosity [m2/s] at 40 degC and viscosity index, or
 * undefined where that would be under 2 mm2/s and the index means nothing (grades thinner than about VG 7): give two
 * points instead.
 */
export function viscosityAt100C(at40C_m2_s: number, index = DEFAULT_VISCOSITY_INDEX): number | undefined {
  let low = 2 * MM2;
  let high = at40C_m2_s;
  // the index grows with the viscosity at 100 degC; at `high` the oil would not thin at all
  if (!(high > low) || !(viscosityIndex(at40C_m2_s, low) <= index)) return undefined;
  // bisection: the coefficients leave steps of some 0.1 % between their ranges, which upset faster methods
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (viscosityIndex(at40C_m2_s, middle) < index) low = middle;
    else high = middle;
  }
  return high;
}

/** The two points of an ISO VG grade [mm2/s at 40 degC, mid-point]; undefined as viscosityAt100C. */
export function gradePoints(
  grade: number,
  index = DEFAULT_VISCOSITY_INDEX,
): readonly [ViscosityPoint, ViscosityPoint] | undefined {
  const at100 = viscosityAt100C(grade * MM2, index);
  if (at100 === undefined) return undefined;
  return [
    { temperature_K: T40_K, viscosity_m2_s: grade * MM2 },
    { temperature_K: T100_K, viscosity_m2_s: at100 },
  ];
}

/** Lowest and highest viscosity [m2/s] at 40 degC that a grade may have: 10 % either side (ISO 3448: second hand). */
export function gradeLimits(grade: number): readonly [number, number] {
  return [0.9 * grade * MM2, 1.1 * grade * MM2];
}

const doubleLog = (viscosity_m2_s: number): number => Math.log10(Math.log10(viscosity_m2_s / MM2 + 0.7));

/**
 * An oil from two viscosity points and its density [kg/m3] at 15 degC. The points must differ in temperature, the
 * hotter one being the thinner, and both be above 0.3 mm2/s.
 */
export function compileOil(points: readonly [ViscosityPoint, ViscosityPoint], density15C_kg_m3: number): Oil {
  const [p, q] = points;
  const b =
    (doubleLog(p.viscosity_m2_s) - doubleLog(q.viscosity_m2_s)) /
    (Math.log10(q.temperature_K) - Math.log10(p.temperature_K));
  const a = doubleLog(p.viscosity_m2_s) + b * Math.log10(p.temperature_K);
  assert(b > 0 && b < Infinity && density15C_kg_m3 > 0, 'oil: the hotter viscosity point must be the thinner one');
  // 15 degC is 59 degF: one step of the same formula away from 60 degF; the iteration gains four digits a round
  let density60F = density15C_kg_m3;
  for (let i = 0; i < 6; i++) density60F = density15C_kg_m3 / correction(density60F, T15_K);
  return Object.freeze({ a, b, density60F_kg_m3: density60F });
}

/** Volume at 60 degF over volume at temperature [K], "CTL"; MPMS 11.1, lubricating oils. */
function correction(density60F: number, temperature_K: number): number {
  const alpha = 0.34878 / density60F;
  const dt = (temperature_K - T60F_K) * 1.8;
  return Math.exp(-alpha * dt * (1 + 0.8 * alpha * dt));
}

/** Kinematic viscosity [m2/s] at a temperature [K]. */
export function viscosityAt(oil: Oil, temperature_K: number): number {
  return (10 ** (10 ** (oil.a - oil.b * Math.log10(temperature_K))) - 0.7) * MM2;
}

/** Density [kg/m3] at a temperature [K] and ambient pressure. */
export function densityAt(oil: Oil, temperature_K: number): number {
  return oil.density60F_kg_m3 * correction(oil.density60F_kg_m3, temperature_K);
}

/** Thermal expansion -(1/rho) d(rho)/dT [1/K] at a temperature [K]; about 0.0007. */
export function expansionPerKelvin(oil: Oil, temperature_K: number): number {
  const alpha = 0.34878 / oil.density60F_kg_m3;
  return 1.8 * alpha * (1 + 1.6 * alpha * (temperature_K - T60F_K) * 1.8);
}
