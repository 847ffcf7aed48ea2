/** Pumps, compressors and the water in their air. */
import {
  type Compressor,
  compressionPower,
  condensateRatio,
  deliveryTemperature,
  displacement,
  GAMMA,
  humidityRatio,
  hydraulicPower,
  pumpUpTime,
  R_AIR,
  saturationPressure,
  solveCompressor,
  theoreticalFlow,
  volumetricEfficiency,
} from '../../models/index.ts';
import { about, absolute, derived, figure, read, relative, secondHand } from './check.ts';
import { atm, bar, C, fahrenheit, foot, gallon, horsepower, inch, minute, psi } from './units.ts';

const units = derived('definitions of the units');
const pumpSet = derived('US Army TM 55-1905-223-24-9, steering pump set; its inputs read');
export const pumpChecks = about('pumps', [
  figure(
    'gal/min psi in a horsepower',
    '',
    1714.286,
    relative(1e-6, 'seven digits'),
    units,
    () => horsepower / hydraulicPower(gallon / minute, psi),
  ),
  figure(
    '2 in3 a turn at 1800 turns a minute',
    'gal/min',
    15.584,
    relative(1e-4, 'five digits'),
    units,
    () => (theoreticalFlow(2 * inch ** 3, 30) * minute) / gallon,
  ),
  figure(
    '9.5 gal/min at 930 psi',
    'hp',
    5.155,
    relative(1e-3, 'four digits'),
    pumpSet,
    () => hydraulicPower((9.5 * gallon) / minute, 930 * psi) / horsepower,
  ),
  figure(
    '9.5 gal/min at 930 psi',
    'kW',
    3.844,
    relative(1e-3, 'four digits'),
    pumpSet,
    () => hydraulicPower((9.5 * gallon) / minute, 930 * psi) / 1e3,
  ),
]);

// --- compressors -----------------------------------------------------------------------------------------------------

const rajput = (example: string) =>
  read(`Rajput, Internal Combustion Engines, ex. ${example}, p. 750, as its companion notebook works it`);
const indicated = () => compressionPower(1.013 * bar, 1 / minute, 7 * bar, 1.35);
const paper = read('worked examination paper, gtu-paper-solution.com, BME summer 2019, Q3c');
const cutShort = relative(3e-3, 'printed values are cut short');
const examination = (n: number) => compressionPower(1.013 * bar, 0.3 / minute, 7 * bar, n) / 1e3;
const fiveDigits = relative(1e-5, 'six digits');
const staged = (stages: number) => (stages * compressionPower(bar, 1 / minute, 40 ** (1 / stages) * bar, 1.3)) / 1e3;
const equalStages = derived('stages of equal ratio, cooled between');
const couper = read('fluids, compressible module, after Couper, Penney, Fair');
/** Work, J/mol, from 1 to 10 bar at 300 K: a mole at intake takes R T/p. */
const molar = (n: number) => compressionPower(bar, (8.31446261815324 * 300) / bar, 10 * bar, n);

// 200 x 300 mm, 500 turns a minute, clearance 5 %, n 1.3, 97 kPa and 20 degC to 550 kPa.
const joel = read('Joel, Basic Engineering Thermodynamics, ex. 14.1, p. 400, as its companion notebook works it');
const roundedR = relative(1e-3, 'R is 287 and 0 degC 273 K there');
const swept = displacement(0.2, 0.3, 500 / minute);
function example141() {
  const out = new Float64Array(4);
  const compressor: Compressor = { freeAir_m3_s: swept, clearance: 0.05, exponent: 1.3, efficiency: 1 };
  solveCompressor(compressor, 1, 550e3, 97e3, 20 + C, out);
  // Free air at 101.325 kPa and 15 degC.
  return { freeAir_m3_s: (out[0] * R_AIR * (15 + C)) / 101.325e3, induced_m3_s: out[1], power_W: out[2] };
}
/** Mass flow, kg/s, of 2 L/s of free air at an ambient pressure. */
function massFlow(ambient_Pa: number): number {
  const out = new Float64Array(4);
  const c: Compressor = { freeAir_m3_s: 2e-3, clearance: 0, exponent: 1.3, efficiency: 0.6 };
  solveCompressor(c, 1, 9 * bar, ambient_Pa, 293.15, out);
  return out[0];
}

export const compressorChecks = about('compressors', [
  figure(
    '1 m3/min, 1.013 to 7 bar, n 1.35',
    'kW',
    4.24,
    relative(2e-3, 'three digits'),
    rajput('20.1'),
    () => indicated() / 1e3,
  ),
  figure('temperature from 288 K', 'K', 475.4, absolute(0.15, 'four digits'), rajput('20.1'), () =>
    deliveryTemperature(288, 1.013 * bar, 7 * bar, 1.35, Number.POSITIVE_INFINITY),
  ),
  figure(
    'air a minute',
    'kg',
    1.2256,
    relative(3e-4, 'R is 287 there'),
    rajput('20.1'),
    () => (1.013 * bar) / (R_AIR * 288),
  ),
  figure(
    'motor power, efficiencies 0.85 and 0.9',
    'kW',
    5.54,
    relative(2e-3, 'three digits'),
    rajput('20.2'),
    () => indicated() / 0.85 / 0.9 / 1e3,
  ),
  figure('0.3 m3/min, 1.013 to 7 bar, isentropic', 'kW', 1.306, cutShort, paper, () => examination(GAMMA)),
  figure('the same, isothermal', 'kW', 0.977, cutShort, paper, () => examination(1)),
  figure('the same, n 1.25', 'kW', 1.195, cutShort, paper, () => examination(1.25)),
  figure(
    'free air, bore 200, stroke 300 mm, clearance 5 %',
    'm3/min',
    3.814,
    roundedR,
    joel,
    () => example141().freeAir_m3_s * minute,
  ),
  figure(
    'volumetric efficiency on free air',
    '%',
    80.9,
    roundedR,
    joel,
    () => (100 * example141().freeAir_m3_s) / swept,
  ),
  figure(
    'delivery temperature',
    'degC',
    164.3,
    absolute(0.2, '0 degC taken as 273 K'),
    joel,
    () => deliveryTemperature(20 + C, 97e3, 550e3, 1.3, Number.POSITIVE_INFINITY) - C,
  ),
  figure('power', 'kW', 14.0, relative(2e-3, 'three digits'), joel, () => example141().power_W / 1e3),
  figure('isothermal efficiency', '%', 81.3, roundedR, joel, () => {
    const { induced_m3_s, power_W } = example141();
    return (100 * compressionPower(97e3, induced_m3_s, 550e3, 1)) / power_W;
  }),
  figure(
    'volumetric efficiency, c 0.05, 100 to 650 kPa, n 1.25',
    '%',
    82.65,
    absolute(0.01, 'two decimals'),
    read('Bhatt and Mehta, Elements of Mechanical Engineering, ex. 8.1, as its companion notebook works it'),
    () => 100 * volumetricEfficiency(6.5, 0.05, 1.25),
  ),
  figure(
    'volumetric efficiency, c 0.04, n 1.3, ratio 8',
    '',
    0.84196,
    absolute(5e-6, 'five decimals'),
    derived('1 + c - c r^(1/n)'),
    () => volumetricEfficiency(8, 0.04, 1.3),
  ),
  figure(
    'ratio at which delivery ends, c 0.04, n 1.3',
    '',
    69.1,
    absolute(0.1, 'one decimal'),
    derived('(1 + 1/c)^n'),
    () => {
      // Bisection: the efficiency is positive below, nothing above.
      let [low, high] = [1, 1000];
      while (high - low > 1e-9) {
        const middle = (low + high) / 2;
        if (volumetricEfficiency(middle, 0.04, 1.3) > 0) low = middle;
        else high = middle;
      }
      return low;
    },
  ),
  figure('1 m3/min, 1 to 40 bar, n 1.3, one stage', 'kW', 9.69687, fiveDigits, equalStages, () => staged(1)),
  figure('two stages', 'kW', 7.66378, fiveDigits, equalStages, () => staged(2)),
  figure('three stages', 'kW', 7.10914, fiveDigits, equalStages, () => staged(3)),
  figure(
    'isothermal',
    'kW',
    6.14813,
    fiveDigits,
    derived('p Q ln(r)'),
    () => compressionPower(bar, 1 / minute, 40 * bar, 1) / 1e3,
  ),
  figure('1 to 10 bar at 300 K, isothermal', 'J/mol', 5743.43, relative(1e-5, 'six digits'), couper, () => molar(1)),
  figure('isentropic', 'J/mol', 8125.16, relative(1e-5, 'six digits'), couper, () => molar(1.4)),
  figure('with 78 % efficiency', 'J/mol', 10416.88, relative(1e-5, 'seven digits'), couper, () => molar(1.4) / 0.78),
  figure(
    'mass flow at 2000 m over that at sea level',
    '',
    0.78456,
    relative(1e-4, 'ambient pressure to 5 digits'),
    derived('density of ambient air'),
    () => massFlow(79_495) / massFlow(atm),
  ),
  figure(
    '2 m3, 6 to 10 bar gauge with 0.5 m3/min, at ambient temperature',
    'min',
    16,
    relative(1e-12, 'exact'),
    derived('V dp/(Q p)'),
    () => pumpUpTime(2, 7 * bar, 11 * bar, 0.5 / minute, bar) / minute,
  ),
  figure(
    'the same, insulated',
    'min',
    11.4286,
    relative(1e-5, 'six digits'),
    derived('V dp/(gamma Q p)'),
    () => pumpUpTime(2, 7 * bar, 11 * bar, 0.5 / minute, bar, GAMMA) / minute,
  ),
]);

// --- water -----------------------------------------------------------------------------------------------------------

const ashrae = (n: number) => secondHand(`ASHRAE Fundamentals 2017, chapter 1, table ${n}, in the tests of psychrolib`);
const stated = relative(3e-4, 'stated accuracy of the formula');
const noEnhancement = relative(5e-3, 'the enhancement factor of moist air is left out');
const trade = secondHand("trade rule quoted on a seller's page; dry air at 68 degF");
const twoDigits = relative(0.02, 'two digits');
/** Gallons of water a day in 500 ft3/min of free air, from kg per kg of dry air. */
const gallonsADay = (ratio: number) =>
  (ratio * ((500 * foot ** 3 * 1440 * atm) / (R_AIR * fahrenheit(68)))) / 998 / gallon;
const dropped = (t_F: number) =>
  gallonsADay(condensateRatio(0.75, fahrenheit(75), atm, fahrenheit(t_F), 100 * psi + atm));
const drawn = () => gallonsADay(humidityRatio(0.75 * saturationPressure(fahrenheit(75)), atm));
const grams = derived('30 m3/h at 20 degC, 60 %, to 41 bar and 30 degC');
const vapour = () => 0.6 * saturationPressure(20 + C);
const dryAir_kg_h = () => ((atm - vapour()) * 30) / (R_AIR * (20 + C));

export const moistureChecks = about('water in the air', [
  figure('saturation pressure at 5 degC', 'Pa', 872.6, stated, ashrae(3), () => saturationPressure(5 + C)),
  figure('saturation pressure at 25 degC', 'Pa', 3169.7, stated, ashrae(3), () => saturationPressure(25 + C)),
  figure('saturation pressure at 50 degC', 'Pa', 12_351.3, stated, ashrae(3), () => saturationPressure(50 + C)),
  figure(
    'saturation pressure at 300 K',
    'Pa',
    3536.58941,
    relative(1e-3, 'another formula'),
    secondHand('IAPWS-IF97, table 35, in the tests of iapws'),
    () => saturationPressure(300),
  ),
  figure('saturated air at 5 degC', 'kg/kg', 0.005425, noEnhancement, ashrae(2), () =>
    humidityRatio(saturationPressure(5 + C), atm),
  ),
  figure('saturated air at 25 degC', 'kg/kg', 0.020173, noEnhancement, ashrae(2), () =>
    humidityRatio(saturationPressure(25 + C), atm),
  ),
  figure('500 ft3/min, 75 degF, 75 %: drawn in a day', 'gal', 90, twoDigits, trade, drawn),
  figure('taken out by the cooler, 100 degF, 100 psig', 'gal', 57, twoDigits, trade, () => dropped(100)),
  figure('left', 'gal', 33, relative(0.03, 'a difference of two rounded figures'), trade, () => drawn() - dropped(100)),
  figure(
    'taken out by a dryer to 38 degF',
    'gal',
    29,
    relative(0.03, 'a difference of two rounded figures'),
    trade,
    () => dropped(38) - dropped(100),
  ),
  figure(
    '30 m3/h of free air: water drawn in',
    'g/h',
    311.2,
    relative(0.01, 'enhancement left out'),
    grams,
    () => 1000 * dryAir_kg_h() * humidityRatio(vapour(), atm),
  ),
  figure(
    'left at 41 bar, 30 degC',
    'g/h',
    23.0,
    relative(0.01, 'enhancement left out'),
    grams,
    () => 1000 * dryAir_kg_h() * humidityRatio(saturationPressure(30 + C), 41 * bar),
  ),
  figure(
    'drained',
    'g/h',
    288.2,
    relative(0.01, 'enhancement left out'),
    grams,
    () => 1000 * dryAir_kg_h() * condensateRatio(0.6, 20 + C, atm, 30 + C, 41 * bar),
  ),
  figure(
    'first drop at 20 degC from 60 %',
    'bar',
    1.68875,
    relative(1e-6, 'six digits'),
    derived('1.01325 bar/0.6'),
    () => {
      let [low, high] = [1.2, 3];
      while (high - low > 1e-9) {
        const middle = (low + high) / 2;
        if (condensateRatio(0.6, 20 + C, atm, 20 + C, middle * bar) > 0) high = middle;
        else low = middle;
      }
      return high;
    },
  ),
]);
