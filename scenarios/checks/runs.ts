/**
 * Whole runs, from the text of a file to the result, against answers in closed form. All figures derived, by a route
 * that shares no code with the program; those with heat exchange by three (Kummer series, quadrature, stiff
 * integration) that agree to 1e-11.
 */
import { R_AIR } from '../../models/index.ts';
import {
  type AirRow,
  AMBIENT_Pa,
  airOpened,
  airRows,
  type BareTank,
  bareTank,
  CONSTANT_WALL,
  endOf,
  resultOf,
  rowAt,
  scenarioOf,
  timeOf,
} from './bareTank.ts';
import { about, absolute, derived, figure, once, read, relative } from './check.ts';
import { REFERENCE_DRAWDOWN } from './drawdown.ts';
import { bar, psi } from './units.ts';

/** What the default step error leaves; observed 1e-8 or better. */
const stepped = relative(1e-6, 'step error; observed 1e-8');
const stateOf = (name: string, row: () => AirRow, T: number | undefined, p_bar: number, source: string) => [
  ...(T === undefined ? [] : [figure(`${name}: air`, 'K', T, stepped, derived(source), () => row().temperature_K)]),
  figure(`${name}: pressure`, 'bar', p_bar, stepped, derived(source), () => row().pressure_Pa / bar),
];

// --- oil out and in --------------------------------------------------------------------------------------------------

/** The stroke of one large cylinder takes 0.4 m3 out of the tank. */
const pushedOut = (heat: BareTank['heat']): BareTank => ({
  heat,
  tank_m3: 1.2,
  oil_m3: 0.6,
  pressure_bar: 40,
  duration_s: 60,
  more: {
    valves: [
      {
        tag: 'V-1',
        bore: `${Math.sqrt(1.6 / Math.PI)} m`,
        rod: '0.1 m',
        stroke: '1 m',
        load: { opening: '50 kN', closing: '50 kN' },
        supplyLine: { quadratic: '1e9 Pa s^2/m^6' },
        position: 0,
        onTrip: 'opens',
      },
    ],
    power: { lostAt: '0 s' },
  },
});
/** A pump without slip that runs from the start and is never asked to stop: 2 L/s into 1.0 m3 of air for 200 s. */
const pumpedIn = (heat: BareTank['heat']): BareTank => ({
  heat,
  tank_m3: 1.2,
  oil_m3: 0.2,
  pressure_bar: 24,
  duration_s: 200,
  sample_s: 50,
  running: ['P-1'],
  more: {
    pumps: [{ tag: 'P-1', ratedFlow: '2 L/s', slip: 0, relief: { cracking: '90 barg', fullFlow: '99 barg' } }],
    panel: { level: { dutyStart: '0.01 m', stop: '1.8 m' } },
  },
});
const timeConstant = (tau_s: number) => ({ exchange: 'time constant', timeConstant: `${tau_s} s`, ...CONSTANT_WALL });
const fromForty = (duration_s: number): BareTank => ({
  heat: timeConstant(30),
  tank_m3: 1.2,
  oil_m3: 0.6,
  pressure_bar: 40,
  duration_s,
});

const out = {
  isothermal: once(() => endOf(pushedOut({ exchange: 'isothermal' }))),
  adiabatic: once(() => endOf(pushedOut({ exchange: 'adiabatic' }))),
  polytropic: once(() => endOf(pushedOut({ exchange: 'polytropic', exponent: 1.2 }))),
};
const pumped = {
  isothermal: once(() => endOf(pumpedIn({ exchange: 'isothermal' }))),
  adiabatic: once(() => endOf(pumpedIn({ exchange: 'adiabatic' }))),
  polytropic: once(() => endOf(pumpedIn({ exchange: 'polytropic', exponent: 1.3 }))),
  withWall: once(() => airRows(pumpedIn(timeConstant(30)))),
};
const drained = once(() => airOpened(fromForty(40), { oilFlow: () => 0.01 }, [10, 20, 30, 40]));
const drainedSlowly = once(() => airOpened(fromForty(800), { oilFlow: () => 0.0005 }, [800])[0]);
const grown = once(() => airOpened(fromForty(40), { oilFlow: (air_m3) => air_m3 / 80 }, [40])[0]);
const recovered = once(() =>
  airRows({
    ...fromForty(150),
    oil_m3: 0.2,
    pressure_bar: 21.6295624582,
    air_K: 264.196093109,
    wall_K: 293.15,
    sample_s: 30,
  }),
);
const exponent = (end: AirRow, start_m3: number, end_m3: number) =>
  Math.log((40 * bar) / end.pressure_Pa) / Math.log(end_m3 / start_m3);

export const oilRuns = about('runs: oil out of and into the tank', [
  ...stateOf('0.6 to 1.0 m3 by a stroke, isothermal', out.isothermal, 293.15, 24, 'p V^n'),
  ...stateOf('0.6 to 1.0 m3 by a stroke, adiabatic', out.adiabatic, 238.973860081, 19.564634631, 'p V^n'),
  ...stateOf('0.6 to 1.0 m3 by a stroke, n 1.2', out.polytropic, 264.679404342, 21.669130835, 'p V^n'),
  ...stateOf('1.0 to 0.6 m3 by a pump, isothermal', pumped.isothermal, 293.15, 40, 'p V^n'),
  ...stateOf('1.0 to 0.6 m3 by a pump, adiabatic', pumped.adiabatic, 359.608044457, 49.0681281879, 'p V^n'),
  ...stateOf('1.0 to 0.6 m3 by a pump, n 1.3', pumped.polytropic, 341.6996417, 46.6245460276, 'p V^n'),
  ...stateOf(
    'pump, wall 30 s, after 50 s',
    () => rowAt(pumped.withWall(), 50),
    299.342960193,
    27.2300151406,
    'Kummer series',
  ),
  ...stateOf(
    'pump, wall 30 s, after 100 s',
    () => rowAt(pumped.withWall(), 100),
    301.323493815,
    30.836448284,
    'Kummer series',
  ),
  ...stateOf(
    'pump, wall 30 s, after 200 s',
    () => rowAt(pumped.withWall(), 200),
    304.252482385,
    41.5149216967,
    'Kummer series',
  ),
  ...stateOf('10 L/s out, wall 30 s, after 10 s', () => drained()[0], 278.280785964, 32.5466672992, 'Kummer series'),
  ...stateOf('10 L/s out, wall 30 s, after 20 s', () => drained()[1], 270.112438119, 27.6424122243, 'Kummer series'),
  ...stateOf('10 L/s out, wall 30 s, after 30 s', () => drained()[2], 265.952205127, 24.1925935643, 'Kummer series'),
  ...stateOf('10 L/s out, wall 30 s, after 40 s', () => drained()[3], 264.196093109, 21.6295624582, 'Kummer series'),
  figure(
    '10 L/s out, wall 30 s, after 40 s: work given off',
    'kJ',
    1146.09119,
    stepped,
    derived('Kummer series'),
    () => drained()[3].work_J / 1e3,
  ),
  figure(
    '10 L/s out, wall 30 s, after 40 s: heat from the wall',
    'kJ',
    553.481801,
    stepped,
    derived('Kummer series'),
    () => drained()[3].heat_J / 1e3,
  ),
  figure('mean exponent of 10 L/s', '', 1.2035779, stepped, derived('Kummer series'), () =>
    exponent(drained()[3], 0.6, 1),
  ),
  figure(
    'the same of real air, pressure after 40 s',
    'bar',
    21.4303,
    relative(0.01, 'ideal gas against a real one at 40 bar'),
    derived('equation of state of air, Lemmon et al. 2000'),
    () => drained()[3].pressure_Pa / bar,
  ),
  ...stateOf('0.5 L/s out, wall 30 s, after 800 s', drainedSlowly, 291.3748743, 23.8546716125, 'Kummer series'),
  figure('mean exponent of 0.5 L/s', '', 1.0118901, stepped, derived('Kummer series'), () =>
    exponent(drainedSlowly(), 0.6, 1),
  ),
  ...stateOf('volume growing as e^(t/80 s), 40 s', grown, 263.165155439, 21.779667111, 'closed form'),
  ...stateOf(
    '30 s after the oil has stopped',
    () => rowAt(recovered(), 30),
    282.498452913,
    23.127964762,
    'closed form',
  ),
  ...stateOf('60 s after the oil has stopped', () => rowAt(recovered(), 60), 289.23151481, 23.679196164, 'closed form'),
  ...stateOf(
    '150 s after the oil has stopped',
    () => rowAt(recovered(), 150),
    292.95491011,
    23.984028117,
    'closed form',
  ),
]);

// --- a volume that swings --------------------------------------------------------------------------------------------

/**
 * Pressure over volume swings of 1 %, X = angular frequency x time constant: modulus and phase of -dp/p0 over dV/V0,
 * and the work lost in a cycle over p0 V0 (dV/V0)^2. Read at 60 instants of one cycle, after enough of them.
 */
function swing(X: number): { modulus: number; phase_deg: number; loss: number } {
  const [V0, share, period_s, count] = [0.6, 0.01, 60, 60];
  const omega = (2 * Math.PI) / period_s;
  const tank: BareTank = { ...fromForty(1), heat: timeConstant(X / omega) };
  // A slow charge forgets its start slowly.
  const cycles = Math.max(5, Math.ceil(20 * X));
  const times = Array.from({ length: count }, (_, k) => cycles * period_s + (k * period_s) / count);
  const rows = airOpened(tank, { oilFlow: (_air, t) => V0 * share * omega * Math.cos(omega * t) }, times);
  let [real, imaginary, work] = [0, 0, 0];
  for (const { time_s, pressure_Pa } of rows) {
    // Over p0; dV/V0 is share x sin(omega t).
    const p = pressure_Pa / (40 * bar);
    real -= (2 * p * Math.sin(omega * time_s)) / count / share;
    imaginary -= (2 * p * Math.cos(omega * time_s)) / count / share;
    work += p * share * omega * Math.cos(omega * time_s) * (period_s / count);
  }
  return {
    modulus: Math.hypot(real, imaginary),
    phase_deg: (Math.atan2(imaginary, real) * 180) / Math.PI,
    loss: -work / share ** 2,
  };
}
const swings = { slow: once(() => swing(0.1)), middle: once(() => swing(1)), fast: once(() => swing(10)) };
const finite = relative(1e-2, 'swings of 1 %, not of nothing');
const linear = derived('-dp/p0 = (1 + j gamma X)/(1 + j X) dV/V0, X = frequency x time constant');
export const swingRuns = about('runs: a volume that swings by 1 %', [
  ...(
    [
      ['X 0.1', swings.slow, 1.004741236, 2.259017, 0.124419511],
      ['X 1', swings.middle, 1.216552506, 9.462322, 0.628318531],
      ['X 10', swings.fast, 1.396601249, 1.624976, 0.124419511],
    ] as const
  ).flatMap(([name, got, modulus, phase_deg, loss]) => [
    figure(`${name}: swing of pressure over that of volume`, '', modulus, finite, linear, () => got().modulus),
    figure(`${name}: ahead of it by`, 'deg', phase_deg, finite, linear, () => got().phase_deg),
    figure(`${name}: work lost in a cycle`, '', loss, finite, linear, () => got().loss),
  ]),
]);

// --- heat and air ----------------------------------------------------------------------------------------------------

const twoStores = once(() =>
  airRows({
    heat: {
      exchange: 'conductance',
      conductance: '14 W/K',
      wallHeatCapacity: '122500 J/K',
      ambientConductance: '20 W/K',
    },
    tank_m3: 1,
    oil_m3: 0.6,
    pressure_bar: 9,
    air_K: 260,
    wall_K: 300,
    duration_s: 3600,
    sample_s: 600,
  }),
);

// 0.01 kg/s at 320 K into 2 m3 from 6 bar. Given with R 287.05; the flow is scaled by R/287.05, which leaves m/m0 and
// hA/(w cv), all that counts, as they were.
const charged = (heat: BareTank['heat']): BareTank => ({
  heat: { ...heat, ...CONSTANT_WALL },
  tank_m3: 2.5,
  oil_m3: 0.5,
  pressure_bar: 6,
  duration_s: 600,
  running: ['C-1'],
  more: {
    compressors: [
      { tag: 'C-1', freeAir: `${((0.01 * 287.05 * 293.15) / AMBIENT_Pa) * 1000} L/s`, coolerApproach: '26.85 K' },
    ],
    panel: { pressure: { cutIn: '5 bara', cutOut: '50 bara' } },
  },
});
const discharged = once(
  () =>
    airOpened(
      {
        heat: { exchange: 'conductance', conductance: '60 W/K', ...CONSTANT_WALL },
        tank_m3: 2.5,
        oil_m3: 0.5,
        pressure_bar: 10,
        duration_s: 200,
      },
      { airFlow: (0.05 * 287.05) / R_AIR },
      [200],
    )[0],
);
/** 2 m3 from 6 to 10 bar gauge at 1 bar with 0.5 m3/min of free air at ambient temperature. */
const pumpUp = (exchange: string, duration_s: number) =>
  endOf({
    heat: { exchange },
    tank_m3: 2.5,
    oil_m3: 0.5,
    pressure_bar: 7,
    ambient_Pa: 1e5,
    duration_s,
    running: ['C-1'],
    more: {
      compressors: [{ tag: 'C-1', freeAir: '500 L/min', coolerApproach: '0 K' }],
      panel: { pressure: { cutIn: '6 bara', cutOut: '50 bara' } },
    },
  });
const charge = {
  wall: once(() => endOf(charged({ exchange: 'conductance', conductance: '60 W/K' }))),
  adiabatic: once(() => endOf(charged({ exchange: 'adiabatic' }))),
  isothermal: once(() => endOf(charged({ exchange: 'isothermal' }))),
};
// 20 L, all but empty, fill without heat from an atmosphere of 100 kPa and 300 K: 1 g/s for 16.6 s.
const bottle = once(() =>
  endOf({
    heat: { exchange: 'adiabatic' },
    tank_m3: 0.03,
    oil_m3: 0.01,
    pressure_bar: 0.002,
    air_K: 300,
    duration_s: 16.6,
    running: ['C-1'],
    more: {
      site: { barometer: '100 kPaa', temperature: '300 K' },
      compressors: [{ tag: 'C-1', freeAir: `${(0.001 * R_AIR * 300) / 1e5} m^3/s`, coolerApproach: '0 K' }],
      panel: { pressure: { cutIn: '0.4 bara', cutOut: '50 bara' } },
    },
  }),
);
const leak = (exchange: string) =>
  endOf({
    heat: { exchange },
    tank_m3: 1.4,
    oil_m3: 0.5,
    pressure_bar: 11,
    air_K: 310,
    duration_s: 120,
    more: { leaks: { air: { fall: '600 Pa/s', at: '8 bara' } } },
  });
const leaks = { adiabatic: once(() => leak('adiabatic')), isothermal: once(() => leak('isothermal')) };

// 0.6 m3 through 6 mm with Cd 0.8: a safety valve at full lift down to the pressure asked for.
const blowdown = (exchange: string, to_bar: number, duration_s: number) =>
  airRows({
    heat: { exchange },
    tank_m3: 1,
    oil_m3: 0.4,
    pressure_bar: 40,
    duration_s,
    sample_s: 0.2,
    more: {
      safetyValve: {
        set: `${to_bar} bara`,
        fullLift: `${to_bar} bara`,
        reseat: '1.05 bara',
        bore: '6 mm',
        dischargeCoefficient: 0.8,
      },
    },
  });
const down = {
  isothermal: once(() => blowdown('isothermal', 1.1, 520)),
  adiabatic: once(() => blowdown('adiabatic', 1.1, 520)),
};
/** Times go with 1/sqrt(R); the figures take R 287.05. */
const scaled = Math.sqrt(R_AIR / 287.05);
const blown = relative(5e-6, 'step error, and straight lines between rows 0.2 s apart');
const article = 'Vessel Blowdown - Ideal Gases, aefarrell.github.io, 24 Jan 2025 (formula read)';
const textbook = read('textbook exercise with answers, homeworkhost.com/questions/1858108');
const exponentials = 'two exponentials';

export const airRuns = about('runs: heat and air', [
  figure(
    'air at 260, wall at 300, ambient at 293.15 K: air after 600 s',
    'K',
    295.330176933,
    stepped,
    derived(exponentials),
    () => rowAt(twoStores(), 600).temperature_K,
  ),
  figure('wall after 600 s', 'K', 298.427617706, stepped, derived(exponentials), () => rowAt(twoStores(), 600).wall_K),
  figure(
    'air after 3600 s',
    'K',
    296.502134781,
    stepped,
    derived(exponentials),
    () => rowAt(twoStores(), 3600).temperature_K,
  ),
  figure('wall after 3600 s', 'K', 296.37069458, stepped, derived(exponentials), () => rowAt(twoStores(), 3600).wall_K),
  ...stateOf('charged with 10 g/s, 60 W/K to the wall', charge.wall, 309.074306311, 8.987521541, 'closed form'),
  ...stateOf('charged with 10 g/s, adiabatic', charge.adiabatic, 339.007774512, 9.857952, 'closed form'),
  ...stateOf('charged with 10 g/s, isothermal', charge.isothermal, 293.15, 8.524461225, 'closed form'),
  ...stateOf('50 g/s out, 60 W/K to the wall, after 200 s', discharged, 254.815860062, 5.035092399, 'closed form'),
  figure(
    '20 L filled to 100 kPa by 16.6 g of air of 300 K, insulated',
    'K',
    420,
    relative(5e-3, 'three digits; not quite empty at the start'),
    textbook,
    () => bottle().temperature_K,
  ),
  figure(
    'its pressure then',
    'kPa',
    100,
    relative(5e-3, 'the mass has three digits'),
    textbook,
    () => bottle().pressure_Pa / 1e3,
  ),
  figure(
    '2 m3 pumped up for 16.0 min, isothermal',
    'bar',
    11,
    stepped,
    derived('V dp/(Q p)'),
    () => pumpUp('isothermal', 960).pressure_Pa / bar,
  ),
  figure(
    '2 m3 pumped up for 11.4286 min, insulated',
    'bar',
    11,
    relative(5e-6, 'the time has six digits'),
    derived('V dp/(gamma Q p)'),
    () => pumpUp('adiabatic', 685.72).pressure_Pa / bar,
  ),
  ...stateOf(
    'a leak of 600 Pa/s at 8 bar, from 11 bar, adiabatic, 120 s',
    leaks.adiabatic,
    298.834701115,
    9.67465197464,
    'choked nozzle, T = T0 (1 + (gamma-1)/2 t/tc)^-2',
  ),
  ...stateOf('the same, isothermal', leaks.isothermal, undefined, 10.0276356864, 'choked nozzle, p = p0 e^(-t/tc)'),
  figure(
    'blow-down through 6 mm, 40 to 10 bar, isothermal',
    's',
    185.131505736,
    blown,
    derived(article),
    () => timeOf(down.isothermal(), 10 * bar) * scaled,
  ),
  figure(
    '40 to 10 bar, adiabatic',
    's',
    146.239964313,
    blown,
    derived(article),
    () => timeOf(down.adiabatic(), 10 * bar) * scaled,
  ),
  figure(
    '40 to 1.1 bar, choked no longer, isothermal',
    's',
    491.2623,
    blown,
    derived('quadrature of the nozzle law'),
    () => timeOf(down.isothermal(), 1.1 * bar) * scaled,
  ),
  figure(
    '40 to 1.1 bar, adiabatic',
    's',
    461.3377,
    blown,
    derived('quadrature of the nozzle law'),
    () => timeOf(down.adiabatic(), 1.1 * bar) * scaled,
  ),
]);

// --- strokes ---------------------------------------------------------------------------------------------------------

/** One valve on a tank of 0.6 m3 with 0.25 m3 of oil at 11 bar, outside 1 bar. */
const strokeOf = (valve: Readonly<Record<string, unknown>>, tank: Partial<BareTank> = {}) =>
  resultOf(
    bareTank({
      heat: { exchange: 'isothermal' },
      tank_m3: 0.6,
      oil_m3: 0.25,
      pressure_bar: 11,
      ambient_Pa: 1e5,
      duration_s: 60,
      more: { valves: [{ tag: 'V-1', position: 0, onTrip: 'opens', ...valve }], power: { lostAt: '0 s' } },
      ...tank,
    }),
  ).verdict.strokes[0];
const large = { bore: '300 mm', rod: '0 mm', stroke: '500 mm', load: { opening: '20 kN', closing: '20 kN' } };
const require = { longest: '60 s' };
const strokes = {
  quadratic: once(() => strokeOf({ ...large, supplyLine: { quadratic: '3e10 Pa s^2/m^6' }, require })),
  linear: once(() => strokeOf({ ...large, supplyLine: { linear: '2e8 Pa s/m^3' }, require })),
  retracting: once(() =>
    strokeOf({
      ...large,
      rod: '100 mm',
      supplyLine: { quadratic: '3e10 Pa s^2/m^6' },
      returnLine: { quadratic: '1e10 Pa s^2/m^6' },
      position: '100 %',
      onTrip: 'closes',
      require,
    }),
  ),
  spring: once(() =>
    strokeOf({
      bore: '160 mm',
      rod: '50 mm',
      stroke: '250 mm',
      load: { opening: '4 kN', closing: '4 kN' },
      spring: { drives: 'closes', preload: '9 kN', rate: '30 N/mm' },
      supplyLine: { quadratic: '2e11 Pa s^2/m^6' },
      returnLine: { quadratic: '2e11 Pa s^2/m^6' },
      position: '100 %',
      onTrip: 'closes',
      require,
    }),
  ),
};
// 5 MPa over a resistance that takes all of it at 200 000 mm3/s; so much air that it stays at 5 MPa.
const tutorialCylinder = (position: number, onTrip: string) =>
  strokeOf(
    {
      bore: '75 mm',
      rod: '14 mm',
      stroke: '300 mm',
      load: { opening: '10 N', closing: '10 N' },
      supplyLine: { quadratic: `${5e6 / 2e-4 ** 2} Pa s^2/m^6` },
      position,
      onTrip,
      require,
    },
    { tank_m3: 1000, oil_m3: 1, pressure_bar: 51 },
  );
const tutorial = {
  extending: once(() => tutorialCylinder(0, 'opens')),
  retracting: once(() => tutorialCylinder(1, 'closes')),
};
/** Thrust, N: load and margin over it. */
const thrust = (of: () => { readonly forceMargin: number | undefined }) => 10 * (1 + of().forceMargin!);
const cylinder = { document: 'worked answer of a course tutorial, qammunity.org/12221952', basis: 'read' } as const;
const printed = relative(1e-3, 'three and four digits');
const isothermalStroke = 'integral of dV/Q, p V constant, quadratic resistance';

export const strokeRuns = about('runs: strokes', [
  figure(
    '300 x 500 mm, 20 kN, 3e10 Pa s2/m6',
    's',
    7.51217126627,
    stepped,
    derived(isothermalStroke),
    () => strokes.quadratic().movingTime_s!,
  ),
  figure(
    'the same with 2e8 Pa s/m3',
    's',
    10.6498900724,
    stepped,
    derived('integral of dV/Q, linear resistance'),
    () => strokes.linear().movingTime_s!,
  ),
  figure(
    'retracting, rod 100 mm, 1e10 Pa s2/m6 in the return',
    's',
    8.29673058942,
    stepped,
    derived(isothermalStroke),
    () => strokes.retracting().movingTime_s!,
  ),
  figure(
    'by its spring, 9 kN and 30 N/mm against 4 kN',
    's',
    3.49287791113,
    stepped,
    derived('integral of A dx/Q, force linear in x'),
    () => strokes.spring().movingTime_s!,
  ),
  figure(
    'speed extending, bore 75 mm, 0.2 L/s',
    'mm/s',
    45.3,
    printed,
    cylinder,
    () => 300 / tutorial.extending().movingTime_s!,
  ),
  figure(
    'speed retracting, rod 14 mm',
    'mm/s',
    46.9,
    printed,
    cylinder,
    () => 300 / tutorial.retracting().movingTime_s!,
  ),
  figure('force extending at 5 MPa', 'N', 22_090, printed, cylinder, () => thrust(tutorial.extending)),
  figure('force retracting', 'N', 21_320, printed, cylinder, () => thrust(tutorial.retracting)),
]);

// --- reference drawdown ----------------------------------------------------------------------------------------------

const drawdown = once(() => resultOf(scenarioOf(REFERENCE_DRAWDOWN, 'reference drawdown')));
const twoSolutions = derived('two separate solutions of the equations, agreeing to 9 digits');
const whole = relative(1e-6, 'step error; observed 4e-9');
const tenthMillisecond = absolute(1e-4, 'step error; observed 0.5 us');
const drawdownEnd = (k: number) => () => drawdown().verdict.strokes[k].endedAt_s!;
export const drawdownRuns = about('runs: reference drawdown, five cylinders', [
  figure('pressure at 60 s', 'bar', 9.474045, whole, twoSolutions, () => drawdown().end.pressure_Pa / bar),
  figure(
    'pressure at 60 s',
    'psig',
    122.71346,
    whole,
    twoSolutions,
    () => (drawdown().end.pressure_Pa - AMBIENT_Pa) / psi,
  ),
  figure('air', 'K', 282.703982, whole, twoSolutions, () => drawdown().end.airTemperature_K),
  figure('wall', 'K', 293.081526, whole, twoSolutions, () => drawdown().end.wallTemperature_K),
  figure('oil', 'm3', 0.185814816, whole, twoSolutions, () => drawdown().end.oil_m3),
  figure('end of the stroke of V-1', 's', 12.523434, tenthMillisecond, twoSolutions, drawdownEnd(0)),
  figure('end of the stroke of V-2', 's', 12.523434, tenthMillisecond, twoSolutions, drawdownEnd(1)),
  figure('end of the stroke of V-3', 's', 12.523434, tenthMillisecond, twoSolutions, drawdownEnd(2)),
  figure('end of the stroke of V-4', 's', 16.904048, tenthMillisecond, twoSolutions, drawdownEnd(3)),
  figure('end of the stroke of V-5', 's', 21.016719, tenthMillisecond, twoSolutions, drawdownEnd(4)),
  figure(
    'air and oil that the ledger cannot account for',
    '',
    0,
    absolute(1e-12, 'rounding'),
    derived('conservation'),
    () => drawdown().ledger.worstRelative,
  ),
]);
