/**
 * Lines, valves and orifices. "fluids" is the open-source library of that name (github.com/CalebBell/fluids):
 * tests/test_friction.py, tests/test_control_valve.py and the notebooks docs/Examples that work problems of TP-410,
 * Flow of Fluids through Valves, Fittings and Pipe.
 */
import {
  compileLine,
  darcyFrictionFactor,
  drop,
  flowCoefficientFromCv,
  flowCoefficientFromKv,
  type LineSpec,
  quadraticFlow,
  quadraticFromFlowCoefficient,
  quadraticFromOrifice,
} from '../../models/index.ts';
import { about, absolute, derived, figure, fromMemory, read, relative } from './check.ts';
import { bar, foot, gallon, inch, minute, pound, psi } from './units.ts';

const friction = read('fluids, tests/test_friction.py');
const book = (problem: string) => read(`TP-410 ${problem}, as worked in fluids, docs/Examples`);
const otherLaw = relative(0.03, 'another law of friction; Churchill lies within about 1 % of Colebrook here');
const halfPercent = relative(0.005, 'the factor f_T is read from a table; rounding it moves 0.1 %');

// 7.9: SAE 30 oil of 130 cP, 400 gal/min, 5 in schedule 40, 300 ft, fittings and a rise of 50 ft.
const rho79 = (0.87 * 62.364 * pound) / foot ** 3;
const oil79 = { density_kg_m3: rho79, viscosity_m2_s: 0.13 / rho79 };
const pipe79 = { length_m: 300 * foot, diameter_m: 5.047 * inch, roughness_m: 0 };
const flow79 = (400 * gallon) / minute;
// 7.8: SAE 30 oil at 40 degC, 600 oil barrels (of 42 gal) an hour, 200 mm schedule 40, 60 m, a globe valve.
const oil78 = { density_kg_m3: 869.2, viscosity_m2_s: 0.13 / 869.2 };
const pipe78 = { length_m: 60, diameter_m: 0.2027, roughness_m: 0 };
const flow78 = (600 * 42 * gallon) / 3600;
// 7.13: oil of 2.7 mm2/s, 2 gal/s, 2 in schedule 40, 100 ft.
const pipe713 = { length_m: 100 * foot, diameter_m: 2.067 * inch, roughness_m: 0.0018 * inch };
const line713 = compileLine({ pipes: [pipe713] }, { density_kg_m3: 815, viscosity_m2_s: 2.7e-6 });

const small: LineSpec = { pipes: [{ length_m: 25, diameter_m: 0.0212, roughness_m: 0 }] };
const smallDrop = (viscosity_m2_s: number) => drop(compileLine(small, { density_kg_m3: 870, viscosity_m2_s }), 1e-3);

/** f as a compiled line has it: 10 m of 100 mm, 1000 kg/m3, 1 mm2/s. */
function lineFactor(reynolds: number, relativeRoughness: number): number {
  const pipe = { length_m: 10, diameter_m: 0.1, roughness_m: relativeRoughness * 0.1 };
  const velocity_m_s = reynolds * 1e-5;
  const leg = compileLine({ pipes: [pipe] }, { density_kg_m3: 1000, viscosity_m2_s: 1e-6 });
  return drop(leg, velocity_m_s * (Math.PI / 4) * 0.1 ** 2) / ((10 / 0.1) * 500 * velocity_m_s ** 2);
}
const compiled = relative(1e-12, 'rounding, magnified by powers of 12 and 16');
const churchill = derived('formula of Churchill 1977');

/** Flow, m3/s, through a valve. */
const through = (coefficient: number, density_kg_m3: number, drop_Pa: number) =>
  quadraticFlow(0, quadraticFromFlowCoefficient(coefficient, density_kg_m3), drop_Pa);
const orifice729 = () => quadraticFlow(0, quadraticFromOrifice(0.6151, 0.05, 999.1, 0.07366), 17e3);
const source729 = read('TP-410M 7.29, as worked in fluids, docs/Examples');

export const pipeChecks = about('lines', [
  figure('Churchill 1977, Re 1e5, e/D 1e-4', '', 0.018463, absolute(1e-6, 'six decimals printed'), friction, () =>
    darcyFrictionFactor(1e5, 1e-4),
  ),
  figure('by Colebrook, Re 1e5, e/D 1e-4', '', 0.018514, otherLaw, friction, () => darcyFrictionFactor(1e5, 1e-4)),
  figure('by Swamee-Jain, Re 1e5, e/D 1e-4', '', 0.018452, otherLaw, friction, () => darcyFrictionFactor(1e5, 1e-4)),
  figure('by Haaland, Re 1e5, e/D 1e-4', '', 0.018265, otherLaw, friction, () => darcyFrictionFactor(1e5, 1e-4)),
  figure('by Colebrook, Re 1e5, smooth', '', 0.01799, otherLaw, friction, () => darcyFrictionFactor(1e5, 0)),
  figure('by Blasius, Re 1e4, smooth', '', 0.03164, otherLaw, friction, () => darcyFrictionFactor(1e4, 0)),
  figure(
    'f Re of laminar flow, Re 1000',
    '',
    64,
    relative(1e-5, 'what is left of the other terms under Re 1500'),
    derived('Hagen-Poiseuille'),
    () => 1000 * darcyFrictionFactor(1000, 0),
  ),
  figure(
    'f Re, Re 2000: 0.14 % over laminar',
    '',
    64.0896,
    relative(1e-4, 'the 0.14 % has two digits'),
    derived('formula of Churchill 1977'),
    () => 2000 * darcyFrictionFactor(2000, 0),
  ),
  figure('f of a line, Re 1e5, e/D 1e-4', '', 0.01846262456628, compiled, churchill, () => lineFactor(1e5, 1e-4)),
  figure('f of a line, Re 3000, e/D 2e-3', '', 0.0443514989366, compiled, churchill, () => lineFactor(3000, 2e-3)),
  figure('f of a line, Re 2000, smooth', '', 0.0320433174286625, compiled, churchill, () => lineFactor(2000, 0)),
  figure('f of a line, Re 1650, smooth', '', 0.0387879308764082, compiled, churchill, () => lineFactor(1650, 0)),
  figure('f Re at Re 0.5', '', 64, compiled, derived('Hagen-Poiseuille'), () => 0.5 * darcyFrictionFactor(0.5, 0)),
  figure('f at Re 1676, laminar', '', 0.03819, relative(2e-4, 'four digits'), book('7.9'), () =>
    darcyFrictionFactor(1676, 0),
  ),
  figure('oil of 130 cP, 400 gal/min, 300 ft, fittings, 50 ft rise', 'psi', 26.07, halfPercent, book('7.9'), () => {
    const leg = compileLine({ pipes: [{ ...pipe79, fittingsK: (8 + 150 + 20) * 0.0155 }], rise_m: 50 * foot }, oil79);
    return (drop(leg, flow79) + leg.rise_Pa) / psi;
  }),
  figure(
    'of that the pipe',
    'psi',
    6.56,
    halfPercent,
    book('7.9'),
    () => drop(compileLine({ pipes: [pipe79] }, oil79), flow79) / psi,
  ),
  figure(
    'of that the rise of 50 ft',
    'psi',
    18.839125,
    relative(1e-9, 'twelve digits'),
    derived('0.87 x 62.364 lb/ft3 x 50 ft'),
    () => compileLine({ rise_m: 50 * foot }, oil79).rise_Pa / psi,
  ),
  figure(
    'oil of 130 cP, 600 barrels/h, 60 m, globe valve',
    'Pa',
    6382,
    halfPercent,
    book('7.8'),
    () => drop(compileLine({ pipes: [{ ...pipe78, fittingsK: 340 * 0.014 }] }, oil78), flow78),
    'The barrel is the oil barrel of 42 gal; a worked copy with the dry barrel has 4576 Pa.',
  ),
  figure('of that the pipe', 'Pa', 4988, halfPercent, derived('TP-410 7.8, pipe alone'), () =>
    drop(compileLine({ pipes: [pipe78] }, oil78), flow78),
  ),
  figure(
    'f at Re 68 000, e 0.0018 in, 2.067 in',
    '',
    0.0227,
    relative(0.01, 'another law of friction, three digits'),
    book('7.13'),
    () => darcyFrictionFactor(68_000, 0.0018 / 2.067),
  ),
  figure(
    'turbulent oil, 2 gal/s, 100 ft',
    'kPa',
    65.7,
    relative(0.01, 'f to three digits'),
    book('7.13'),
    () => drop(line713, 2 * gallon) / 1e3,
  ),
  figure(
    'the same with f 0.023 from the chart',
    'kPa',
    66.5,
    relative(0.015, 'f is read from a chart as 0.023, computed 0.0227'),
    book('7.13'),
    () => drop(line713, 2 * gallon) / 1e3,
  ),
  figure(
    'VG 46 at 40 degC, 60 L/min, 21.2 mm, 25 m',
    'bar',
    2.018,
    relative(1e-3, 'four digits'),
    derived('Hagen-Poiseuille'),
    () => smallDrop(46e-6) / bar,
  ),
  figure(
    'the same at 115 mm2/s',
    'bar',
    5.045,
    relative(1e-3, 'four digits'),
    derived('Hagen-Poiseuille'),
    () => smallDrop(115e-6) / bar,
  ),
  figure(
    'Cv over Kv',
    '',
    1.156,
    relative(3e-4, 'four digits'),
    fromMemory('IEC 60534-2-1, factors N1'),
    () => flowCoefficientFromKv(1) / flowCoefficientFromCv(1),
  ),
  figure(
    'Kv 165.0, 965.4 kg/m3, 680 to 220 kPa',
    'm3/h',
    360,
    relative(1e-3, 'Kv is 164.92 to 165.00 with the reference density taken'),
    read('IEC 60534-2-1, example 1, as tested in fluids, tests/test_control_valve.py'),
    () => 3600 * through(flowCoefficientFromKv(165), 965.4, 460e3),
  ),
  figure(
    'Cv 78.98, 60.998 lb/ft3, 80.6 to 70.8 psi',
    'gal/min',
    250,
    relative(5e-3, 'the reference density of water'),
    book('7.27'),
    () => (through(flowCoefficientFromCv(78.98), (60.998 * pound) / foot ** 3, 9.8 * psi) * minute) / gallon,
  ),
  figure(
    'orifice 50 mm in 73.66 mm, water, 17 kPa, C 0.6151',
    'kg/s',
    7.932,
    relative(1e-3, 'C to four digits'),
    source729,
    () => orifice729() * 999.1,
    'C by ISO 5167.',
  ),
  figure(
    'the same, with C from the chart',
    'L/min',
    478,
    relative(5e-3, 'C is read from a chart'),
    source729,
    () => orifice729() * minute * 1e3,
    'The first print has gallons for litres.',
  ),
]);
