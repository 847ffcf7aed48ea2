/**
 * Air: closed forms of the charge, stored oil, nozzle flow, atmosphere, heat exchange, solution in oil. Where a figure
 * is marked derived it was computed by separate code from the stated formula, with R 287.05 J/(kg K) and gamma 1.4
 * where they count.
 */
import {
  airConductivity,
  airPrandtl,
  airViscosity,
  ambientPressureAt,
  BUNSEN_AIR_IN_OIL,
  CP_AIR,
  CRITICAL_RATIO,
  CV_AIR,
  compressionTemperature,
  dissolvedAirAtSaturation,
  freeAirBetween,
  GAMMA,
  gaugeShortcutOil,
  leakArea,
  naturalConvectionHeat,
  nozzleFlow,
  polytropicHeat,
  polytropicPressure,
  polytropicTemperature,
  polytropicWork,
  R_AIR,
  standardPressureAt,
  usableOil,
} from '../../models/index.ts';
import { about, absolute, derived, figure, fromMemory, read, relative, secondHand } from './check.ts';
import { atm, bar, foot, inch, minute, psi } from './units.ts';

// --- properties ------------------------------------------------------------------------------------------------------

const realAir = derived('equation of state of air, Lemmon et al. 2000');
const handbook = fromMemory('handbook tables, 300 K, 1 bar');
const density = (p_bar: number, T: number) => (p_bar * bar) / (R_AIR * T);
const tenDigits = relative(1e-9, 'given to ten digits');
const sutherland = derived('formula of Sutherland, its constants from memory');
const realGas = (share: number) => relative(share, 'ideal gas against a real one');

export const propertyChecks = about('air as an ideal gas', [
  figure('density at 1 bar, 293.15 K', 'kg/m3', 1.1888, realGas(5e-4), realAir, () => density(1, 293.15)),
  figure('density at 5 bar, 293.15 K', 'kg/m3', 5.9526, realGas(2e-3), realAir, () => density(5, 293.15)),
  figure('density at 10 bar, 300 K', 'kg/m3', 11.6455, realGas(3e-3), realAir, () => density(10, 300)),
  figure('density at 20 bar, 300 K', 'kg/m3', 23.3452, realGas(5.5e-3), realAir, () => density(20, 300)),
  figure('cv at 1 bar, 293.15 K', 'J/(kg K)', 717.7, realGas(2e-3), realAir, () => CV_AIR),
  figure('cp at 1 bar, 293.15 K', 'J/(kg K)', 1006.1, realGas(2e-3), realAir, () => CP_AIR),
  figure(
    'expansion 40 to 25 bar without heat, V2/V1',
    '',
    1.38218,
    realGas(0.013),
    realAir,
    () => 1 + usableOil(1, 40, 25, GAMMA),
  ),
  figure(
    'the same of an ideal gas',
    '',
    1.39894,
    relative(4e-6, 'six digits'),
    derived('p V^gamma'),
    () => 1 + usableOil(1, 40, 25, GAMMA),
  ),
  figure('viscosity at 300 K', 'Pa s', 1.846e-5, relative(5e-3, 'tables differ'), handbook, () => airViscosity(300)),
  figure('conductivity at 300 K', 'W/(m K)', 0.0263, relative(0.01, 'tables differ'), handbook, () =>
    airConductivity(300),
  ),
  figure('viscosity at 280 K', 'Pa s', 1.74970447006e-5, tenDigits, sutherland, () => airViscosity(280)),
  figure('viscosity at 350 K', 'Pa s', 2.07350083641e-5, tenDigits, sutherland, () => airViscosity(350)),
  figure('conductivity at 280 K', 'W/(m K)', 0.0246507588876, tenDigits, sutherland, () => airConductivity(280)),
  figure('conductivity at 350 K', 'W/(m K)', 0.0300175163121, tenDigits, sutherland, () => airConductivity(350)),
  figure('Prandtl number at 300 K', '', 0.71, relative(0.02, 'two digits'), handbook, () => airPrandtl(300)),
]);

// --- a closed charge -------------------------------------------------------------------------------------------------

const powerLaw = derived('p V^n');
const expansion = (n: number, name: string, p_bar: number, T: number, work_kJ: number) => [
  figure(`${name}, pressure`, 'bar', p_bar, tenDigits, powerLaw, () => polytropicPressure(40, 0.6, 1, n)),
  figure(`${name}, temperature`, 'K', T, tenDigits, powerLaw, () => polytropicTemperature(293.15, 0.6, 1, n)),
  figure(`${name}, work`, 'kJ', work_kJ, tenDigits, powerLaw, () => polytropicWork(40 * bar, 0.6, 1, n) / 1e3),
];
export const chargeChecks = about('charge of 40 bar, 293.15 K, 0.6 to 1.0 m3', [
  ...expansion(1, 'isothermal', 24, 293.15, 1225.981497),
  ...expansion(GAMMA, 'adiabatic', 19.564634631, 238.973860081, 1108.841342),
  ...expansion(1.2, 'n 1.2', 21.669130835, 264.679404342, 1165.434583),
  figure(
    'n 1.2, heat taken in',
    'kJ',
    582.717291,
    tenDigits,
    powerLaw,
    () => polytropicHeat(polytropicWork(40 * bar, 0.6, 1, 1.2), 1.2) / 1e3,
  ),
]);

// --- stored oil and stored air ---------------------------------------------------------------------------------------

const bottles =
  'Usable volume per bottle (surface stack), drillingformulas.com, after Formulas and Calculations for Drilling, ' +
  'Production and Workover, 2nd ed.';
/** Gas, gal, of a 10 gal bottle filled to 1000 psi, at a pressure; pressures counted from `ambient`. */
const gas = (at: number, ambient: number) => (10 * (1000 + ambient)) / (at + ambient);
const from40to28 = (n: number) => usableOil(600, 40 * bar + atm, 28 * bar + atm, n);
const litre = absolute(0.05, 'one decimal');
const suite = read('ORNL-AMO/AMO-Tools-Suite, receiver tank formulas, tests/cpp/CompressedAir.unit.cpp');
const ownConstants = '7.48 gal/ft3 and 14.7 psi are those of the source.';
const leakDown = read('Navy MO-209, tables 5-3 and 5-4');

export const storageChecks = about('stored oil and air', [
  figure('600 L of air, 40 to 28 bar gauge, n 1', 'L', 248.2, litre, powerLaw, () => from40to28(1)),
  figure('600 L of air, 40 to 28 bar gauge, n 1.2', 'L', 200.6, litre, powerLaw, () => from40to28(1.2)),
  figure('600 L of air, 40 to 28 bar gauge, n 1.4', 'L', 168.3, litre, powerLaw, () => from40to28(1.4)),
  figure('10 gal bottle, 3000 to 1200 psi, by gauge pressures', 'gal', 5, relative(1e-12, 'exact'), read(bottles), () =>
    gaugeShortcutOil(gas(3000, 0), 3015, 1215, 15),
  ),
  figure(
    'the same by absolute pressures',
    'gal',
    4.986,
    relative(1e-3, 'four digits, of differences of rounded figures'),
    read('scribd.com/document/85033289'),
    () => usableOil(gas(3000, 15), 3015, 1215, 1),
  ),
  figure(
    'drawdown of a tank, 60 to 40 psig, 10 % left, of its volume',
    '%',
    24,
    absolute(0.5, 'the table is rounded to whole percent'),
    read('UFC 3-420-01 (2004, changes to 2006), 606.5.11.3, example 1'),
    () => 100 * usableOil((0.9 * (40 + 14.7)) / (60 + 14.7), 60 + 14.7, 40 + 14.7, 1),
  ),
  figure(
    'free air of 660 gal, 110 to 100 psi',
    'ft3',
    60.0240096,
    relative(1e-8, 'nine digits'),
    suite,
    () => freeAirBetween(660 / 7.48, 110, 100, 14.7),
    ownConstants,
  ),
  figure(
    'storage for 50 ft3, 110 to 100 psi',
    'gal',
    549.78,
    relative(1e-8, 'exact'),
    suite,
    () => (50 / freeAirBetween(1, 110, 100, 14.7)) * 7.48,
    ownConstants,
  ),
  figure(
    'storage for 0.5 min at 900 ft3/min refilled at 45, 100 to 70 psi',
    'gal',
    1566.873,
    relative(1e-8, 'exact'),
    suite,
    () => ((0.5 * (900 - 45)) / freeAirBetween(1, 100, 70, 14.7)) * 7.48,
    ownConstants,
  ),
  figure(
    'receiver, 350 out, 250 in for 5 min, 100 to 60 psig',
    'ft3',
    183.75,
    relative(1e-12, 'exact'),
    read('Air Receiver Sizing, scribd.com/document/383780250'),
    () => (5 * (350 - 250)) / freeAirBetween(1, 100, 60, 14.7),
  ),
  ...(
    [
      [90, 80, 0, 10.7, 40],
      [80, 70, 10.7, 23.2833, 34],
      [70, 60, 23.2833, 38.5667, 28],
    ] as const
  ).map(([high, low, since, until, published]) =>
    figure(
      `leak of 629 ft3, ${high} to ${low} psig in ${(until - since).toFixed(1)} min`,
      'ft3/min',
      published,
      relative(0.015, 'two digits'),
      leakDown,
      () => freeAirBetween(629, high, low, 14.7) / (until - since),
      'The volume of the system follows from the table itself, the same for all three.',
    ),
  ),
  figure(
    'vacuum decay, 2 L, 50.600 to 25.300 kPa in 70 s',
    'mol/s',
    2.9657e-4,
    relative(1e-4, 'five digits'),
    derived('40 CFR 1065.644, worked example; its inputs read'),
    () => freeAirBetween(2e-3, 50_600, 25_300, 1) / (8.314462618 * 293.15) / 70,
  ),
]);

// --- nozzle ----------------------------------------------------------------------------------------------------------

const table = read(
  "compressible flow, k 1.4: textbook table A.1 (coursepaper.com); Aeronautical Engineer's Data Book, p. 255",
);
const fourPlaces = absolute(5e-5, 'four decimals');
/** Choked flow over that at a pressure ratio: the area ratio at which an isentropic flow has that ratio. */
const areaRatio = (ratio: number) => nozzleFlow(bar, 300, 0, 1) / nozzleFlow(bar, 300, ratio * bar, 1);
const circle = (d: number) => (Math.PI / 4) * d * d;
/** Nozzle flow goes with 1/sqrt(R); the derived figures take R = 287.05. */
const at28705 = Math.sqrt(R_AIR / 287.05);
const orificeTable = read('Discharge of air through an orifice, Cd 1, scribd.com/document/697985333');
const ellipse = (r: number) => Math.sqrt(1 - ((r - 0.5283) / (1 - 0.5283)) ** 2);

export const nozzleChecks = about('nozzle and safety valve', [
  figure('critical pressure ratio', '', 0.5283, fourPlaces, table, () => CRITICAL_RATIO),
  figure(
    'A/A* at Mach 0.1, p/p0 0.9930',
    '',
    5.8218,
    relative(4e-3, 'p/p0 to four decimals, 0.7 % from 1'),
    table,
    () => areaRatio(0.993),
  ),
  figure('A/A* at Mach 0.5, p/p0 0.8430', '', 1.3398, relative(2e-4, 'p/p0 to four decimals'), table, () =>
    areaRatio(0.843),
  ),
  figure('A/A* at Mach 0.9, p/p0 0.5913', '', 1.0089, relative(2e-4, 'p/p0 to four decimals'), table, () =>
    areaRatio(0.5913),
  ),
  figure('T/T0 at p/p0 0.8430', '', 0.9524, fourPlaces, table, () => compressionTemperature(1, 1, 0.843, GAMMA)),
  figure('T/T0 at p/p0 0.5913', '', 0.8606, fourPlaces, table, () => compressionTemperature(1, 1, 0.5913, GAMMA)),
  figure('T/T0 at p/p0 0.5283', '', 0.8333, fourPlaces, table, () => compressionTemperature(1, 1, 0.5283, GAMMA)),
  figure(
    'choked, 6 mm, Cd 0.975, 41 bar, 293.15 K',
    'kg/s',
    0.26679483,
    relative(1e-9, 'ten digits'),
    derived('choked nozzle, R 287.05'),
    () => nozzleFlow(41 * bar, 293.15, bar, 0.975 * circle(6e-3)) * at28705,
    'Computed with 30 digits; an earlier figure ended in ...833.',
  ),
  figure(
    'not choked, 6 mm, Cd 0.62, 1.5 to 1.2 bar',
    'kg/s',
    0.0050822,
    relative(1e-6, 'six digits'),
    derived('nozzle, R 287.05'),
    () => nozzleFlow(1.5 * bar, 293.15, 1.2 * bar, 0.62 * circle(6e-3)) * at28705,
  ),
  ...(
    [
      ['1/4', 1 / 4, 20, 31.4],
      ['1/4', 1 / 4, 60, 67.6],
      ['1/4', 1 / 4, 100, 104],
      ['1/16', 1 / 16, 5, 0.993],
      ['1/16', 1 / 16, 12, 1.52],
      ['1/16', 1 / 16, 100, 6.49],
    ] as const
  ).map(([name, diameter_in, gauge_psi, published]) =>
    figure(
      `free air through ${name} in at ${gauge_psi} psig`,
      'ft3/min',
      published,
      relative(6e-3, 'three digits; the table does not say its temperature'),
      orificeTable,
      () => {
        const flow = nozzleFlow(gauge_psi * psi + atm, 293.15, atm, circle(diameter_in * inch));
        return ((flow * R_AIR * 293.15) / atm / foot ** 3) * minute;
      },
    ),
  ),
  ...(
    [
      [0.6, 0.9998],
      [0.7, 0.9991],
      [0.8, 0.9983],
      [0.9, 0.9976],
      [0.95, 0.9973],
    ] as const
  ).map(([r, share]) =>
    figure(
      `ellipse of ISO 6358, b 0.5283, over the nozzle at ${r}`,
      '',
      share,
      absolute(1e-4, 'four decimals'),
      derived('ISO 6358 (formula from memory)'),
      () => ellipse(r) * areaRatio(r),
    ),
  ),
  // W [kg/h] = A [mm2] C P [kPa] sqrt(M/(T Z))
  figure(
    'C of API 520, k 1.4',
    '',
    0.027033198,
    relative(2e-4, 'the standard rounds its 0.03948 to four digits'),
    derived('API 520-1, critical gas flow, as in fluids, fluids/safety_valve.py'),
    () => (nozzleFlow(1e6, 300, 0, 1e-6) * 3600) / (1000 * Math.sqrt(28.9647 / 300)),
  ),
  figure(
    'C of API 520 in US units',
    '',
    356.06,
    relative(1.2e-3, 'the standard rounds its 519.5 to 520'),
    derived('API 520-1'),
    () => {
      // lb/h, in2, psi, degR: A = W/(C P) sqrt(T/M)
      const pounds_h = (nozzleFlow(100 * psi, 300, 0, inch * inch) * 3600) / 0.45359237;
      return (pounds_h / 100) * Math.sqrt(540 / 28.9647);
    },
  ),
  figure(
    'a leak measured as a fall of 3 psi/h passes it again',
    'psi/h',
    3,
    relative(1e-14, 'rounding'),
    derived('definition'),
    () => {
      const p = 140 * psi + atm;
      const area = leakArea(0.3, (3 * psi) / 3600, p, 293.15, atm);
      return (((nozzleFlow(p, 293.15, atm, area) * R_AIR * 293.15) / 0.3) * 3600) / psi;
    },
  ),
]);

// --- surroundings ----------------------------------------------------------------------------------------------------

const to86km = secondHand('Atmosphere to 86 km by 2 km, in fluids, tests/test_atmosphere.py');
/** Volume ratio from 40 to 25 bar gauge at a height. */
const expansionAt = (height_m: number) => {
  const ambient = standardPressureAt(height_m);
  return usableOil(1, 40 * bar + ambient, 25 * bar + ambient, 1) + 1;
};
const standard = derived('standard atmosphere');
export const atmosphereChecks = about('atmosphere', [
  figure('pressure at sea level', 'Pa', 101_320, relative(6e-5, 'five digits'), to86km, () => ambientPressureAt(0)),
  figure('pressure at 2000 m', 'Pa', 79_501, relative(5e-5, 'five digits'), to86km, () => ambientPressureAt(2000)),
  figure(
    'pressure at 500 m',
    'Pa',
    95_461,
    absolute(1, 'whole pascals'),
    secondHand('ASHRAE Fundamentals 2017, chapter 1, table 1, in the tests of psychrolib'),
    () => ambientPressureAt(500),
  ),
  figure(
    'pressure at 5000 ft',
    'psi',
    12.228,
    relative(5e-5, 'five digits'),
    read('engineeringtoolbox.com/standard-atmosphere-d_604.html'),
    () => ambientPressureAt(5000 * foot) / psi,
  ),
  figure('pressure at 2000 m geopotential', 'Pa', 79_495, relative(1e-5, 'five digits'), standard, () =>
    standardPressureAt(2000),
  ),
  figure(
    'the same over sea level',
    '',
    0.78456,
    relative(1e-5, 'five digits'),
    standard,
    () => standardPressureAt(2000) / atm,
  ),
  figure('40 to 25 bar gauge at sea level, V2/V1', '', 1.576629, relative(1e-6, 'seven digits'), standard, () =>
    expansionAt(0),
  ),
  figure('40 to 25 bar gauge at 2000 m, V2/V1', '', 1.581509, relative(1e-6, 'seven digits'), standard, () =>
    expansionAt(2000),
  ),
]);

// --- air in oil ------------------------------------------------------------------------------------------------------

const takenUp = () => 2 * (dissolvedAirAtSaturation(41 * bar) - dissolvedAirAtSaturation(1.01325 * bar));
const henry = derived("Henry's law, Bunsen coefficient 0.09");
export const dissolvedChecks = about('air in the oil', [
  figure(
    'air in mineral oil at 25 degC, by volume',
    '%',
    10.15,
    relative(0.1, 'oils differ'),
    secondHand('Solubility of dissolved gases, after DiGiorgio: nitrogen 8.6 %, oxygen 16 %'),
    () => (100 * BUNSEN_AIR_IN_OIL * 298.15) / 273.15,
  ),
  figure(
    'Bunsen coefficient, density 0.87, 298 K',
    '',
    0.0887,
    relative(0.15, 'an estimate'),
    fromMemory('ASTM D2779'),
    () => BUNSEN_AIR_IN_OIL,
  ),
  figure(
    '2 m3 of oil from 1.013 to 41 bar take up',
    'm3 normal',
    7.1035,
    relative(1e-4, 'five digits'),
    henry,
    () => takenUp() / 1.2923,
  ),
  figure('in mass', 'kg', 9.18, relative(1e-4, 'three digits'), henry, takenUp),
  figure(
    'as volume at 41 bar, 20 degC',
    'm3',
    0.1884,
    relative(2e-3, 'the figure goes by normal volume, not the ideal gas'),
    henry,
    () => (takenUp() * R_AIR * 293.15) / (41 * bar),
  ),
]);

// --- heat exchange ---------------------------------------------------------------------------------------------------

/**
 * Time constant, s, of an upright charge with both ends, gas `drop_K` colder than the wall, by the law of the program.
 */
function timeConstant(volume_m3: number, slenderness: number, p_bar: number, T: number, drop_K: number): number {
  const D = Math.cbrt((4 * volume_m3) / (slenderness * Math.PI));
  const area = Math.PI * D * (slenderness * D) + (Math.PI / 2) * D * D;
  const rho = density(p_bar, T);
  return (rho * volume_m3 * CV_AIR * drop_K) / naturalConvectionHeat(T, T + drop_K, rho, area);
}
const correlation = derived('Nu 0.104 Ra^0.352 of Woodfield et al., as in the HydDown manual (second hand)');
const spread = relative(0.55, 'sources differ by a factor of 1.5, properties of real air by 8 %');
export const heatChecks = about('heat exchange of the charge', [
  figure(
    'air of 270 K and 14 kg/m3 from 5 m2 at 290 K',
    'W',
    2191.466463,
    relative(1e-9, 'ten digits'),
    derived('Nu 0.13 Ra^(1/3), viscosity and conductivity after Sutherland'),
    () => naturalConvectionHeat(270, 290, 14, 5),
  ),
  figure(
    '0.6 m3 at 40 bar, L/D 2, 20 K colder',
    's',
    94,
    relative(0.1, 'properties of real air at 40 bar, some 8 % other'),
    derived('Nu 0.13 Ra^(1/3), properties of real air'),
    () => timeConstant(0.6, 2, 40, 288, 20),
  ),
  figure('the same by another correlation', 's', 67, spread, correlation, () => timeConstant(0.6, 2, 40, 288, 20)),
  figure('the same, 5 K colder', 's', 109, spread, correlation, () => timeConstant(0.6, 2, 40, 288, 5)),
  figure('the same by a fit for bladder vessels', 's', 77, spread, fromMemory('fit of Rotthaeuser 1993'), () =>
    timeConstant(0.6, 2, 40, 288, 20),
  ),
  figure(
    '2.5 L at 50 bar, L/D 1.2, 20 K colder',
    's',
    17,
    relative(0.15, 'air for nitrogen, ideal gas'),
    derived('Nu 0.13 Ra^(1/3), nitrogen'),
    () => timeConstant(2.5e-3, 1.2, 50, 293, 20),
  ),
]);
