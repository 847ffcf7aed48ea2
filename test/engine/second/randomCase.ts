/**
 * Random outages, the same for the same seed: an invented unit of one to four valves, sized so that strokes take seconds. Six
 * in seven lose their mains within 15 s and run for a minute; the seventh first holds for most of half an hour against
 * leaks, pumps and compressors cycling.
 */
import {
  type Case,
  type Direction,
  type DriveCase,
  type Exchange,
  LEVEL_DEADBAND_m,
  type Line,
  type ValveCase,
} from './case.ts';
import { vesselForms } from './vessel.ts';

const PSI = 6894.757293168;
const GALLON = 3.785411784e-3;
const EXCHANGES: readonly Exchange[] = [
  'natural convection',
  'conductance',
  'adiabatic',
  'time constant',
  'isothermal',
  'polytropic',
];

/** Marsaglia's xorshift on 32 bits, good enough to spread cases. */
function numbers(seed: number): () => number {
  let x = (seed * 2654435761 + 88675123) >>> 0 || 1;
  const next = () => {
    x ^= x << 13;
    x >>>= 0;
    x ^= x >>> 17;
    x ^= x << 5;
    x >>>= 0;
    return x / 2 ** 32;
  };
  for (let i = 0; i < 20; i++) next();
  return next;
}

/** Some drive or none, and the arm by which a force at the piston becomes a torque at the stem, m. */
function someDrive(next: () => number, stroke: number): { drive: DriveCase | undefined; arm: number } {
  const kind = next();
  const turn = ((50 + 60 * next()) * Math.PI) / 180;
  if (kind < 0.5) return { drive: undefined, arm: 1 };
  if (kind < 0.65) return { drive: { kind: 'rack and pinion', turn }, arm: stroke / turn };
  // At mid-stroke, where its arm is least.
  if (kind < 0.85) return { drive: { kind: 'scotch yoke', turn }, arm: stroke / (2 * Math.tan(turn / 2)) };
  const lever = stroke * (0.65 + 0.3 * next());
  const pivot = lever * (2.5 + 2 * next());
  // About square at mid-stroke, where its arm is the lever.
  const retracted = Math.hypot(lever, pivot) - stroke / 2;
  return { drive: { kind: 'link and lever', lever, pivot, retracted }, arm: lever };
}

export function randomCase(seed: number): Case {
  // A sequence of its own, so that what it draws changes nothing else of a case.
  const ofDrives = numbers(seed + 1_000_000);
  const next = numbers(seed);
  const u = (a: number, b: number) => a + (b - a) * next();
  const lu = (a: number, b: number) => a * (b / a) ** next();
  const chance = (p: number) => next() < p;
  const pick = <T>(list: readonly T[]): T => list[Math.floor(next() * list.length)];
  const opposite = (d: Direction): Direction => (d === 'opens' ? 'closes' : 'opens');
  const onTicks = (s: number) => Math.round(s * 100) / 100;

  const ambient = u(80_000, 104_000);
  const ambientTemperature = u(268, 312);
  const exchange = EXCHANGES[seed % EXCHANGES.length];
  const closed = exchange === 'polytropic';
  const holds = seed % 7 === 6;
  const oilTemperature = chance(0.5) ? 288.15 : u(278, 325);
  const density15 = u(840, 900);

  // tank
  const shape =
    exchange === 'natural convection'
      ? pick(['vertical', 'horizontal'] as const)
      : pick(['vertical', 'horizontal', 'volume'] as const);
  const diameter = u(0.5, 0.95);
  const length = u(0.9, 1.8);
  const heads = pick(['flat', 'hemispherical', 'ellipsoidal'] as const);
  const volume = u(0.25, 1.2);
  const shapeOnly = {
    shape,
    diameter,
    length,
    heads,
    volume,
    outletLevel: 0,
    elevated: false,
    exchange,
    exchangeValue: 0,
    wallCapacity: 1,
    ambientConductance: 0,
  };
  const forms = vesselForms(shapeOnly);
  const V = forms.volume;
  const oil0 = V * u(0.35, 0.65);
  const level0 = forms.levelAt(oil0);
  const pressure0 = ambient + u(6e5, 15e5);
  const gauge0 = pressure0 - ambient;
  const airTemperature = ambientTemperature + u(-12, 12);
  const wallTemperature = exchange === 'isothermal' || closed ? airTemperature : ambientTemperature + u(-8, 8);
  const elevated = shape !== 'volume' && chance(0.6);

  // lines sized for a flow and a drop
  const rho = density15;
  const plainLine = (flow: number, drop: number): Line => {
    const share = chance(0.3) ? 0 : u(0, 0.5);
    return { pipes: [], linear: (share * drop) / flow, quadratic: ((1 - share) * drop) / flow ** 2 };
  };
  const pipedLine = (flow: number): Line => {
    const run = () => ({
      length_m: u(3, 60),
      diameter_m: Math.max(0.008, Math.sqrt((4 * flow) / Math.PI / u(0.8, 4))),
      roughness_m: pick([0, 1e-5, 4.6e-5, 1.5e-4]),
      fittingsK: chance(0.7) ? u(1, 20) : 0,
    });
    return { pipes: chance(0.3) ? [run(), run()] : [run()], linear: 0, quadratic: 0 };
  };
  const line = (flow: number, drop: number): Line => (chance(0.5) ? plainLine(flow, drop) : pipedLine(flow));
  const throttle = (flow: number, drop: number): Line => {
    const none = { pipes: [], linear: 0, quadratic: 0 };
    const kind = next();
    if (kind < 0.4) return { ...none, cv: (flow * 60) / GALLON / Math.sqrt((drop / PSI) * (1000 / rho)) };
    if (kind < 0.7)
      return { ...none, orifice_m: Math.sqrt((4 / Math.PI) * (flow / 0.62 / Math.sqrt((2 * drop) / rho))) };
    return { ...none, quadratic: drop / flow ** 2 };
  };

  const controlDies = chance(0.15);

  // valves
  const count = 1 + Math.floor(next() * 4);
  let strokeVolumes = 0;
  let flows = 0;
  const valves = Array.from({ length: count }, (_, i): ValveCase => {
    const bore = u(0.08, 0.2);
    const rod = bore * u(0.2, 0.45);
    const stroke = u(0.15, 0.42);
    const area = (Math.PI / 4) * bore ** 2;
    const flow = (area * stroke) / lu(2.5, 25);
    strokeVolumes += area * stroke;
    flows += flow;
    const force = gauge0 * (area - (Math.PI / 4) * rod ** 2);
    const { drive, arm } = someDrive(ofDrives, stroke);
    const hard = chance(0.2);
    const light = chance(0.2);
    const profile = (): (readonly [number, number])[] => {
      const n = 1 + Math.floor(next() * 5);
      const at = Array.from({ length: n }, () => Math.round(next() * 100) / 100).sort((a, b) => a - b);
      if (n > 1 && chance(0.7)) {
        at[0] = 0;
        at[n - 1] = 1;
      }
      const distinct = [...new Set(at)];
      return distinct.map(
        (x) => [x, arm * force * (light ? u(-0.6, 0.3) : hard ? u(0.3, 1.05) : u(-0.1, 0.65))] as const,
      );
    };
    const running = force * (chance(0.25) ? 0 : u(0, 0.06));
    const onTrip = pick(['opens', 'closes'] as const);
    const sequence = chance(0.2);
    const strokes = sequence ? [onTrip, opposite(onTrip), ...(chance(0.5) ? [onTrip] : [])] : [onTrip];
    const drop = gauge0 * u(0.2, 0.6);
    return {
      tag: `V-${i + 1}`,
      bore,
      rod,
      stroke,
      headEnd: pick(['opens', 'closes'] as const),
      drive,
      opening: profile(),
      closing: profile(),
      running,
      breakaway: running * u(1, 2.2),
      supply: line(flow, drop * 0.3),
      back: line(flow, drop * 0.3),
      throttle: chance(0.7)
        ? {
            placed: pick(['meter-out', 'meter-out', 'meter-in', 'both'] as const),
            opening: throttle(flow, drop),
            closing: throttle(flow, drop),
          }
        : undefined,
      leak: chance(0.12) ? { flow: lu(1e-7, 2e-5), at: u(3e5, 1e6) } : undefined,
      mayBePushedBack: chance(0.15),
      elevation: u(-6, 5),
      position: chance(0.1) ? u(0.1, 0.9) : onTrip === 'opens' ? 0 : 1,
      strokes,
      pause_s: onTicks(chance(0.5) ? u(0, 3) : 0),
      delay_s: onTicks(chance(0.6) ? u(0, 8) : 0),
      tripsBy: controlDies && chance(0.3) ? 'control power' : 'mains',
      pilot: controlDies
        ? pick(['spring offset', 'spring offset', 'detented', 'spring centred'] as const)
        : 'spring offset',
    };
  });

  // machines
  const pumps = Array.from({ length: holds || chance(0.6) ? 1 + Math.floor(next() * 2) : 0 }, (_, j) => {
    const flow = lu(1.5e-4, 1.5e-3);
    const cracking = ambient + gauge0 * u(0.97, 1.25);
    return {
      tag: `P-${j + 1}`,
      runUp_s: chance(0.2) ? 0 : u(0.2, 2),
      restartDelay_s: onTicks(chance(0.5) ? u(0, 6) : 0),
      efficiency: u(0.6, 0.95),
      flow,
      ratedPressure: u(8e5, 14e5),
      slip: u(0, 0.12),
      ratedViscosity: u(3e-5, 6e-5),
      cracking,
      fullFlow: cracking + gauge0 * u(0.03, 0.15),
      line: line(flow, gauge0 * u(0.02, 0.15)),
    };
  });
  const compressors = Array.from(
    { length: !closed && (holds || chance(0.5)) ? 1 + Math.floor(next() * 2) : 0 },
    (_, j) => ({
      tag: `C-${j + 1}`,
      runUp_s: chance(0.2) ? 0 : u(0.2, 2),
      restartDelay_s: onTicks(chance(0.5) ? u(0, 6) : 0),
      efficiency: u(0.6, 0.95),
      flow: lu(2e-3, 2e-2),
      clearance: chance(0.5) ? undefined : u(0.02, 0.1),
      exponent: u(1.2, 1.4),
      approach_K: u(2, 40),
      unloaded_s: chance(0.5) ? u(0.5, 4) : 0,
    }),
  );
  const set = pressure0 * u(1.001, 1.03);
  const safetyValve =
    !closed && (pumps.length > 0 || compressors.length > 0) && chance(0.4)
      ? { set, full: set * u(1.005, 1.1), reseat: set * u(0.93, 0.985), bore: u(0.004, 0.014), cd: u(0.6, 0.95) }
      : undefined;

  // contacts
  const height = forms.levelAt(V * 0.9999);
  const step = height * u(0.01, 0.04);
  const normal = level0 + height * u(-0.015, 0.015);
  const level = {
    standbyStart: normal - 3 * step - 0.02,
    dutyStart: normal - step - 0.012,
    normal,
    stop: normal + step + LEVEL_DEADBAND_m,
  };
  const cutOut = pressure0 * u(0.995, 1.02);
  const cutIn = cutOut * u(0.9, 0.985);
  const pressure = { standbyCutIn: cutIn * u(0.9, 0.99), cutIn, cutOut };

  const running = [
    ...pumps.filter((_, j) => j === 0 && level0 < level.stop && chance(0.6)).map((p) => p.tag),
    ...compressors.filter((_, j) => j === 0 && pressure0 < cutOut && chance(0.6)).map((p) => p.tag),
  ];
  const compressorsAllowed = running.some((tag) => tag.startsWith('C')) || chance(0.5);
  const lostAt_s = onTicks(holds ? u(1380, 1440) : u(3, 15));
  const outletNear = chance(0.1);
  const outletLevel = forms.levelAt(outletNear ? Math.max(0.02 * V, oil0 - strokeVolumes * u(0.2, 0.9)) : 0.01 * V);
  // A small sump near its suction runs dry and primes again with what the strokes return.
  const nearDry = chance(0.12);
  const sumpCapacity = nearDry ? u(0.12, 0.3) : u(1, 2);
  const sumpStart = u(0.3, 0.5);

  // Ambient temperature in motion, quick enough to matter: a table, or part of a day.
  const course = next();
  const duration_s = holds ? 1500 : 60;
  const ambientTable = [0, 0.2, 0.5, 0.55, 0.9].map((part): readonly [number, number] => [
    onTicks(part * duration_s),
    ambientTemperature + u(-15, 15),
  ]);
  const day = { mean: ambientTemperature, swing: u(2, 15), warmestAfter_s: Math.round(u(0, 86_000)) };

  return {
    seed,
    duration_s,
    sample_s: holds ? 50 : 5,
    tick_s: 0.01,
    scanTicks: pick([1, 1, 5]),
    ambient,
    ambientTemperature:
      course < 0.15
        ? ambientTable[0][1]
        : course < 0.3
          ? day.mean + day.swing * Math.cos((2 * Math.PI * day.warmestAfter_s) / 86_400)
          : ambientTemperature,
    ambientTable: course < 0.15 ? ambientTable : undefined,
    ambientDay: course >= 0.15 && course < 0.3 ? day : undefined,
    dissolvedAir:
      !closed && chance(0.4) ? { bunsen: u(0.05, 0.15), still_s: lu(300, 14_400), pumping_s: lu(60, 1800) } : undefined,
    oil: {
      temperature: oilTemperature,
      density15,
      points: [
        [313.15, u(2e-5, 7e-5)],
        [373.15, u(4e-6, 9e-6)],
      ],
    },
    tank: {
      ...shapeOnly,
      outletLevel,
      elevated,
      exchangeValue: {
        adiabatic: 0,
        isothermal: 0,
        'natural convection': 0,
        polytropic: u(1.02, 1.38),
        conductance: lu(5, 200),
        'time constant': lu(8, 300),
      }[exchange],
      wallCapacity: lu(20_000, 300_000),
      ambientConductance: u(0, 60),
    },
    sump: {
      capacity: sumpCapacity,
      depth: 0.8,
      suctionLevel: nearDry ? sumpStart - u(0.0005, 0.008) : u(0.02, 0.1),
      startLevel: sumpStart,
      elevation: u(-3, 0.5),
    },
    pumps,
    compressors,
    safetyValve,
    header: line(flows, gauge0 * u(0.02, 0.15)),
    main: chance(0.8) ? line(flows, gauge0 * u(0.01, 0.06)) : { pipes: [], linear: 0, quadratic: 0 },
    filter: chance(0.4)
      ? {
          element: (gauge0 * u(0.02, 0.15)) / flows,
          opens: gauge0 * u(0.01, 0.15),
          bypass: (gauge0 * u(0.01, 0.1)) / flows,
        }
      : undefined,
    valves,
    level,
    pressure,
    lostAt_s,
    undervoltage_s: onTicks(chance(0.5) ? u(0, 1) : 0),
    controlHeld_s: controlDies ? onTicks(lu(0.5, 20)) : undefined,
    backAt_s: !controlDies && chance(0.3) ? onTicks(lostAt_s + u(8, 35)) : undefined,
    // In a hold the level falls from normal to the start of the pump in some minutes, the pressure from cut-out to cut-in.
    airLeak: holds
      ? closed
        ? undefined
        : { fall: (cutOut - cutIn) / lu(100, 900), at: pressure0 }
      : !closed && chance(0.4)
        ? { fall: lu(20, 2000), at: pressure0 * u(0.8, 1.1) }
        : undefined,
    oilLeak: holds
      ? { flow: (forms.volumeAt(level.normal) - forms.volumeAt(level.dutyStart)) / lu(60, 500), at: pressure0 }
      : chance(0.3)
        ? { flow: lu(1e-6, 5e-5), at: pressure0 * u(0.8, 1.1) }
        : undefined,
    start: { pressure: pressure0, oil: oil0, airTemperature, wallTemperature, running, compressorsAllowed },
    actions: chance(0.3)
      ? [
          {
            at_s: onTicks(u(0.5, lostAt_s - 1)),
            valve: Math.floor(next() * count),
            direction: pick(['opens', 'closes'] as const),
          },
        ]
      : [],
  };
}
