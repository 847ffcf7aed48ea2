/** Oil: viscosity, viscosity index, grades, density. */
import {
  compileOil,
  densityAt,
  expansionPerKelvin,
  gradeLimits,
  gradePoints,
  type Oil,
  viscosityAt,
  viscosityIndex,
} from '../../models/index.ts';
import { about, absolute, derived, figure, read, relative, secondHand } from './check.ts';
import { C, fahrenheit, mm2 } from './units.ts';

/** An oil of two viscosities, mm2/s, at temperatures in K. */
const oil = (nu40: number, nu100: number, t40 = 40 + C, t100 = 100 + C, density = 870): Oil =>
  compileOil(
    [
      { temperature_K: t40, viscosity_m2_s: nu40 * mm2 },
      { temperature_K: t100, viscosity_m2_s: nu100 * mm2 },
    ],
    density,
  );
const worksheet = 'Viscosity vs Temperature Calculator, scribd.com/document/361017004';
const fourDecimals = absolute(1e-4, 'four decimals');
const with273 = 'The worksheet takes 273 for 0 degC.';

const index = (nu40: number, nu100: number) => viscosityIndex(nu40 * mm2, nu100 * mm2);
const d2270 = (procedure: string) =>
  read(`ASTM D2270, example of procedure ${procedure}, as tested in chemicals, tests/test_viscosity.py`);
// Rows of the table of L and H: an oil with U = L has index 0, with U = H index 100.
const rows = [
  [2.0, 7.994, 6.394],
  [4.0, 25.32, 19.56],
  [4.6, 33.52, 24.71],
  [5.9, 56.2, 37.23],
  [6.7, 71.29, 45.33],
  [7.4, 86.66, 52.88],
  [8.5, 111.5, 65.32],
  [10.3, 155.4, 86.51],
  [14.0, 263.3, 135.4],
  [17.0, 369.4, 180.2],
  [20.0, 493.2, 229.5],
  [25.0, 736.5, 320.9],
  [30.0, 1023, 421.7],
  [50.0, 2618, 919.6],
  [60.0, 3676, 1222],
  [70.0, 4905, 1558],
] as const;
const tableLH = secondHand('ASTM D2270, table of L and H, as held in chemicals');
const fit = absolute(0.3, 'the coefficients fit the table within 0.1 % of L and H');

const grades = read('ISO 3448, as quoted at lubesolut.com/en/herramientas/tabla-viscosidades');
const typical = read('lubesolut.com/en/herramientas/tabla-viscosidades');

// The figures are for 870 kg/m3 at 60 degF; the model takes the density at 15 degC, which is 1 degF less.
const at60F = 870 * Math.exp((0.34878 / 870) * (1 - (0.8 * 0.34878) / 870));
const dense = oil(46, 6.644, 40 + C, 100 + C, at60F);
const mpms = derived('API MPMS 11.1 / ASTM D1250-04, K1 0.34878, as a volume-correction page quotes it');
const fiveDecimals = absolute(5e-6, 'five decimals');

const tenDigits = relative(1e-10, 'given to twelve digits; double logarithms magnify rounding');

export const oilChecks = about('oil', [
  figure(
    '32 and 5.4 mm2/s at 40 and 100 degC: at 80 degC',
    'mm2/s',
    8.53,
    absolute(0.005, 'three digits'),
    read(worksheet),
    () => viscosityAt(oil(32, 5.4), 80 + C) / mm2,
  ),
  figure('A of ASTM D341 for it', '', 9.5259, fourDecimals, read(worksheet), () => oil(32, 5.4, 313, 373).a, with273),
  figure('B of ASTM D341 for it', '', 3.7449, fourDecimals, read(worksheet), () => oil(32, 5.4, 313, 373).b, with273),
  figure('A with 273.15', '', 9.5308, fourDecimals, derived(worksheet), () => oil(32, 5.4).a),
  figure(
    'at 80 degC with 273.15',
    'mm2/s',
    8.53321469154,
    tenDigits,
    derived('ASTM D341'),
    () => viscosityAt(oil(32, 5.4), 80 + C) / mm2,
  ),
  figure(
    'at 0 degC with 273.15',
    'mm2/s',
    335.999620436,
    tenDigits,
    derived('ASTM D341'),
    () => viscosityAt(oil(32, 5.4), C) / mm2,
  ),
  figure('B with 273.15', '', 3.7466, fourDecimals, derived(worksheet), () => oil(32, 5.4).b),
  figure('viscosity index of 73.30 and 8.86 mm2/s', '', 92, absolute(0.5, 'rounded to whole numbers'), d2270('A'), () =>
    index(73.3, 8.86),
  ),
  figure('92 before rounding', '', 92.43, absolute(0.05, 'L and H by coefficients'), d2270('A'), () =>
    index(73.3, 8.86),
  ),
  figure(
    'viscosity index of 22.83 and 5.05 mm2/s',
    '',
    156,
    absolute(0.5, 'rounded to whole numbers'),
    d2270('B'),
    () => index(22.83, 5.05),
  ),
  figure('156 before rounding', '', 156.4, absolute(0.1, 'one decimal; L and H by coefficients'), d2270('B'), () =>
    index(22.83, 5.05),
  ),
  ...rows.flatMap(([y, l, h]) => [
    figure(`index of L at ${y} mm2/s`, '', 0, fit, tableLH, () => index(l, y)),
    figure(`index of H at ${y} mm2/s`, '', 100, fit, tableLH, () => index(h, y)),
  ]),
  ...(
    [
      [32, 28.8, 35.2],
      [46, 41.4, 50.6],
      [68, 61.2, 74.8],
    ] as const
  ).flatMap(([grade, low, high]) => [
    figure(
      `VG ${grade}, least at 40 degC`,
      'mm2/s',
      low,
      absolute(1e-10, 'exact'),
      grades,
      () => gradeLimits(grade)[0] / mm2,
    ),
    figure(
      `VG ${grade}, most at 40 degC`,
      'mm2/s',
      high,
      absolute(1e-10, 'exact'),
      grades,
      () => gradeLimits(grade)[1] / mm2,
    ),
  ]),
  ...(
    [
      [32, 5.5],
      [46, 6.5],
      [68, 8.5],
      [100, 11.4],
      [150, 14.5],
      [220, 19.0],
    ] as const
  ).map(([grade, at100]) =>
    figure(
      `VG ${grade}, index 95, at 100 degC`,
      'mm2/s',
      at100,
      relative(0.05, 'typical figures of mineral oils, rounded, of no stated index'),
      typical,
      () => gradePoints(grade)![1].viscosity_m2_s / mm2,
    ),
  ),
  figure(
    '870 kg/m3 at 60 degF: volume factor at 40 degC',
    '',
    0.98227,
    fiveDecimals,
    mpms,
    () => densityAt(dense, 40 + C) / 870,
  ),
  figure('density at 40 degC', 'kg/m3', 854.6, absolute(0.05, 'one decimal'), mpms, () => densityAt(dense, 40 + C)),
  figure('volume factor at 0 degC', '', 1.01119, fiveDecimals, mpms, () => densityAt(dense, C) / 870),
  figure('density at 0 degC', 'kg/m3', 879.7, absolute(0.05, 'one decimal'), mpms, () => densityAt(dense, C)),
  figure('expansion at 60 degF', '1/K', 7.216e-4, relative(1e-4, 'four digits'), mpms, () =>
    expansionPerKelvin(dense, fahrenheit(60)),
  ),
  figure('density at 60 degF itself', 'kg/m3', 870, relative(1e-9, 'rounding, temperatures in K'), mpms, () =>
    densityAt(dense, fahrenheit(60)),
  ),
  figure(
    'volume factor at 104 degF',
    '',
    0.9822706787012,
    tenDigits,
    mpms,
    () => densityAt(dense, fahrenheit(104)) / 870,
  ),
  figure('volume factor at 32 degF', '', 1.011186406206, tenDigits, mpms, () => densityAt(dense, fahrenheit(32)) / 870),
  figure('expansion at 104 degF', '1/K', 7.41979983789e-4, tenDigits, mpms, () =>
    expansionPerKelvin(dense, fahrenheit(104)),
  ),
  figure(
    'VG 46 by its two points, at 40 degC',
    'mm2/s',
    46,
    tenDigits,
    grades,
    () => viscosityAt(compileOil(gradePoints(46)!, 870), 40 + C) / mm2,
  ),
  figure('viscosity index of its two points', '', 95, relative(1e-9, 'rounding'), derived('the index assumed'), () => {
    const graded = compileOil(gradePoints(46)!, 870);
    return viscosityIndex(viscosityAt(graded, 40 + C), viscosityAt(graded, 100 + C));
  }),
]);
