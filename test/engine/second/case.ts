/**
 * One outage as plain numbers in SI, absolute pressures, and its scenario text. Both the program and the second solution
 * start from here; nothing of the program is imported.
 */
export interface PipeRun {
  readonly length_m: number;
  readonly diameter_m: number;
  readonly roughness_m: number;
  readonly fittingsK: number;
}
export interface Line {
  readonly pipes: readonly PipeRun[];
  readonly linear: number;
  readonly quadratic: number;
  readonly cv?: number | undefined;
  readonly orifice_m?: number | undefined;
}
export interface Motor {
  readonly tag: string;
  readonly runUp_s: number;
  readonly restartDelay_s: number;
  readonly efficiency: number;
}
export interface PumpCase extends Motor {
  readonly flow: number;
  readonly ratedPressure: number;
  readonly slip: number;
  readonly ratedViscosity: number;
  readonly cracking: number;
  readonly fullFlow: number;
  readonly line: Line;
}
export interface CompressorCase extends Motor {
  readonly flow: number;
  /** Undefined: `flow` is a rated free air delivery. */
  readonly clearance: number | undefined;
  readonly exponent: number;
  readonly approach_K: number;
  readonly unloaded_s: number;
}
export type Direction = 'opens' | 'closes';
/** What turns the stem; lengths of a link and lever as in the file, angles in rad. */
export type DriveCase =
  | { readonly kind: 'rack and pinion' | 'scotch yoke'; readonly turn: number }
  | { readonly kind: 'link and lever'; readonly lever: number; readonly pivot: number; readonly retracted: number };
export interface ValveCase {
  readonly tag: string;
  readonly bore: number;
  readonly rod: number;
  readonly stroke: number;
  readonly headEnd: Direction;
  /** Undefined: the piston moves the valve directly. */
  readonly drive: DriveCase | undefined;
  /** Points [position of the valve, force at the piston or, with a drive, torque at the stem]. */
  readonly opening: readonly (readonly [number, number])[];
  readonly closing: readonly (readonly [number, number])[];
  readonly running: number;
  readonly breakaway: number;
  readonly supply: Line;
  readonly back: Line;
  readonly throttle:
    | { readonly placed: 'meter-out' | 'meter-in' | 'both'; readonly opening: Line; readonly closing: Line }
    | undefined;
  readonly leak: { readonly flow: number; readonly at: number } | undefined;
  readonly mayBePushedBack: boolean;
  /** Above the bottom of the tank. */
  readonly elevation: number;
  readonly position: number;
  readonly strokes: readonly Direction[];
  readonly pause_s: number;
  readonly delay_s: number;
  readonly tripsBy: 'mains' | 'control power';
  readonly pilot: 'spring offset' | 'detented' | 'spring centred';
}
export type Exchange =
  | 'adiabatic'
  | 'isothermal'
  | 'polytropic'
  | 'conductance'
  | 'time constant'
  | 'natural convection';
export interface Case {
  readonly seed: number;
  readonly duration_s: number;
  readonly sample_s: number;
  readonly tick_s: number;
  readonly scanTicks: number;
  readonly ambient: number;
  /** At the start. */
  readonly ambientTemperature: number;
  /** Over the run, where it changes: [time, temperature] with straight lines between, or a day. */
  readonly ambientTable: readonly (readonly [number, number])[] | undefined;
  readonly ambientDay: { readonly mean: number; readonly swing: number; readonly warmestAfter_s: number } | undefined;
  readonly oil: {
    readonly temperature: number;
    readonly density15: number;
    readonly points: readonly [readonly [number, number], readonly [number, number]];
  };
  readonly tank: {
    readonly shape: 'vertical' | 'horizontal' | 'volume';
    readonly diameter: number;
    readonly length: number;
    readonly heads: 'flat' | 'hemispherical' | 'ellipsoidal';
    readonly volume: number;
    readonly outletLevel: number;
    readonly elevated: boolean;
    readonly exchange: Exchange;
    readonly exchangeValue: number;
    readonly wallCapacity: number;
    readonly ambientConductance: number;
  };
  readonly dissolvedAir: { readonly bunsen: number; readonly still_s: number; readonly pumping_s: number } | undefined;
  readonly sump: {
    readonly capacity: number;
    readonly depth: number;
    readonly suctionLevel: number;
    readonly startLevel: number;
    /** Oil surface above the bottom of the tank. */
    readonly elevation: number;
  };
  readonly pumps: readonly PumpCase[];
  readonly compressors: readonly CompressorCase[];
  readonly safetyValve:
    | {
        readonly set: number;
        readonly full: number;
        readonly reseat: number;
        readonly bore: number;
        readonly cd: number;
      }
    | undefined;
  readonly header: Line;
  readonly main: Line;
  readonly filter: { readonly element: number; readonly opens: number; readonly bypass: number } | undefined;
  readonly valves: readonly ValveCase[];
  /** Levels above the inside bottom, pressures absolute. */
  readonly level: {
    readonly standbyStart: number;
    readonly dutyStart: number;
    readonly normal: number;
    readonly stop: number;
  };
  readonly pressure: { readonly standbyCutIn: number; readonly cutIn: number; readonly cutOut: number };
  readonly lostAt_s: number;
  readonly undervoltage_s: number;
  readonly backAt_s: number | undefined;
  /** How long control power outlasts the mains; undefined: longer than the run. */
  readonly controlHeld_s: number | undefined;
  readonly airLeak: { readonly fall: number; readonly at: number } | undefined;
  readonly oilLeak: { readonly flow: number; readonly at: number } | undefined;
  readonly start: {
    readonly pressure: number;
    readonly oil: number;
    readonly airTemperature: number;
    readonly wallTemperature: number;
    readonly running: readonly string[];
    readonly compressorsAllowed: boolean;
  };
  readonly actions: readonly { readonly at_s: number; readonly valve: number; readonly direction: Direction }[];
}

/** Distance between trip and reset of the level contacts that get one, m. */
export const LEVEL_DEADBAND_m = 0.005;
/** Where the bottom of the tank stands in a file that gives elevations, m. */
const BOTTOM_m = 100;

const kPaa = (p: number) => `${p / 1000} kPaa`;
const lineText = (l: Line) => ({
  pipes: l.pipes.map((p) => ({
    length: `${p.length_m} m`,
    insideDiameter: `${p.diameter_m} m`,
    roughness: `${p.roughness_m} m`,
    fittings: p.fittingsK,
  })),
  linear: `${l.linear} Pa s/m^3`,
  quadratic: `${l.quadratic} Pa s^2/m^6`,
  ...(l.cv === undefined ? {} : { flowCoefficient: `Cv ${l.cv}` }),
  ...(l.orifice_m === undefined ? {} : { orifice: `${l.orifice_m} m` }),
});
const profileText = (v: ValveCase, points: readonly (readonly [number, number])[]) =>
  points.map(([at, load]) => ({ at, ...(v.drive === undefined ? { force: `${load} N` } : { torque: `${load} N m` }) }));
const driveText = (d: DriveCase) =>
  d.kind === 'link and lever'
    ? {
        kind: d.kind,
        leverRadius: `${d.lever} m`,
        pivotDistance: `${d.pivot} m`,
        retractedLength: `${d.retracted} m`,
      }
    : { kind: d.kind, turn: `${d.turn} rad` };

const ambientText = (c: Case) => {
  if (c.ambientTable !== undefined) {
    return { table: c.ambientTable.map(([at, temperature]) => ({ at: `${at} s`, temperature: `${temperature} K` })) };
  }
  const day = c.ambientDay;
  if (day === undefined) return `${c.ambientTemperature} K`;
  return { mean: `${day.mean} K`, swing: `${day.swing} K`, warmestAt: `${day.warmestAfter_s} s`, runStartsAt: '0 s' };
};

/** The case as the text of a scenario file; JSON is YAML too. */
export function scenarioText(c: Case): string {
  const { tank, sump, start } = c;
  const motor = (m: Motor) => ({
    tag: m.tag,
    runUp: `${m.runUp_s} s`,
    restartDelay: `${m.restartDelay_s} s`,
    efficiency: m.efficiency,
  });
  const exchangeValue = {
    polytropic: { exponent: tank.exchangeValue },
    conductance: { conductance: `${tank.exchangeValue} W/K` },
    'time constant': { timeConstant: `${tank.exchangeValue} s` },
  };
  const level = (at: number, band: boolean) =>
    band ? { at: `${at} m`, deadband: `${LEVEL_DEADBAND_m} m` } : `${at} m`;
  const file = {
    title: `case ${c.seed}`,
    clock: { tick: `${c.tick_s} s`, scanTicks: c.scanTicks },
    run: { duration: `${c.duration_s} s`, sample: `${c.sample_s} s` },
    site: { barometer: kPaa(c.ambient), temperature: ambientText(c) },
    oil: {
      viscosity: c.oil.points.map(([t, nu]) => ({ at: `${t} K`, value: `${nu * 1e6} mm^2/s` })),
      density: `${c.oil.density15} kg/m^3`,
      temperature: `${c.oil.temperature} K`,
    },
    tank: {
      ...(tank.shape === 'volume'
        ? { volume: `${tank.volume} m^3` }
        : {
            orientation: tank.shape,
            insideDiameter: `${tank.diameter} m`,
            straightLength: `${tank.length} m`,
            heads: tank.heads,
          }),
      outletLevel: `${tank.outletLevel} m`,
      dissolvedAir:
        c.dissolvedAir === undefined
          ? { model: 'none' }
          : {
              model: 'henry',
              solubility: c.dissolvedAir.bunsen,
              still: `${c.dissolvedAir.still_s} s`,
              pumping: `${c.dissolvedAir.pumping_s} s`,
            },
      ...(tank.elevated ? { bottomElevation: `${BOTTOM_m} m` } : {}),
      heat: {
        exchange: tank.exchange,
        ...(tank.exchange in exchangeValue ? exchangeValue[tank.exchange as keyof typeof exchangeValue] : {}),
        wallHeatCapacity: `${tank.wallCapacity} J/K`,
        ambientConductance: `${tank.ambientConductance} W/K`,
      },
    },
    sump: {
      capacity: `${sump.capacity} m^3`,
      depth: `${sump.depth} m`,
      suctionLevel: `${sump.suctionLevel} m`,
      elevation: `${BOTTOM_m + sump.elevation} m`,
    },
    pumps: c.pumps.map((p) => ({
      ...motor(p),
      ratedFlow: `${p.flow * 1000} L/s`,
      ratedPressure: `${p.ratedPressure / 1000} kPa`,
      slip: p.slip,
      ratedViscosity: `${p.ratedViscosity * 1e6} mm^2/s`,
      relief: { cracking: kPaa(p.cracking), fullFlow: kPaa(p.fullFlow) },
      line: lineText(p.line),
    })),
    compressors: c.compressors.map((k) => ({
      ...motor(k),
      ...(k.clearance === undefined
        ? { freeAir: `${k.flow * 1000} L/s` }
        : { displacement: `${k.flow * 1000} L/s`, clearance: k.clearance }),
      exponent: k.exponent,
      coolerApproach: `${k.approach_K} K`,
      unloadedStart: `${k.unloaded_s} s`,
    })),
    ...(c.safetyValve === undefined
      ? {}
      : {
          safetyValve: {
            set: kPaa(c.safetyValve.set),
            fullLift: kPaa(c.safetyValve.full),
            reseat: kPaa(c.safetyValve.reseat),
            bore: `${c.safetyValve.bore} m`,
            dischargeCoefficient: c.safetyValve.cd,
          },
        }),
    header: lineText(c.header),
    returnMain: {
      ...lineText(c.main),
      ...(c.filter === undefined
        ? {}
        : {
            filter: {
              resistance: `${c.filter.element} Pa s/m^3`,
              bypassOpens: `${c.filter.opens / 1000} kPa`,
              bypassResistance: `${c.filter.bypass} Pa s/m^3`,
            },
          }),
    },
    valves: c.valves.map((v) => ({
      tag: v.tag,
      bore: `${v.bore} m`,
      rod: `${v.rod} m`,
      stroke: `${v.stroke} m`,
      headEnd: v.headEnd,
      ...(v.drive === undefined ? {} : { drive: driveText(v.drive) }),
      load: { opening: profileText(v, v.opening), closing: profileText(v, v.closing) },
      friction: { running: `${v.running} N`, breakaway: `${v.breakaway} N` },
      supplyLine: lineText(v.supply),
      returnLine: lineText(v.back),
      ...(v.throttle === undefined
        ? {}
        : {
            speedControl: {
              placed: v.throttle.placed,
              opening: lineText(v.throttle.opening),
              closing: lineText(v.throttle.closing),
            },
          }),
      ...(v.leak === undefined
        ? {}
        : { internalLeak: { flow: `${v.leak.flow * 1000} L/s`, at: `${v.leak.at / 1000} kPa` } }),
      mayBePushedBack: v.mayBePushedBack,
      elevation: `${BOTTOM_m + v.elevation} m`,
      position: v.position,
      ...(v.strokes.length === 1 ? { onTrip: v.strokes[0] } : { onTrip: 'sequence', sequence: v.strokes }),
      pause: `${v.pause_s} s`,
      trip: { source: v.tripsBy, delay: `${v.delay_s} s` },
      pilot: { kind: v.pilot },
      require: { longest: '1000 s' },
    })),
    panel: {
      level: {
        standbyStart: level(c.level.standbyStart, false),
        dutyStart: level(c.level.dutyStart, false),
        normal: level(c.level.normal, true),
        stop: level(c.level.stop, true),
      },
      pressure: {
        standbyCutIn: kPaa(c.pressure.standbyCutIn),
        cutIn: kPaa(c.pressure.cutIn),
        cutOut: kPaa(c.pressure.cutOut),
      },
    },
    power: {
      lostAt: `${c.lostAt_s} s`,
      undervoltageDelay: `${c.undervoltage_s} s`,
      ...(c.backAt_s === undefined ? {} : { backAt: `${c.backAt_s} s` }),
      ...(c.controlHeld_s === undefined ? {} : { controlPowerHeld: `${c.controlHeld_s} s` }),
    },
    leaks: {
      ...(c.airLeak === undefined ? {} : { air: { fall: `${c.airLeak.fall} Pa/s`, at: kPaa(c.airLeak.at) } }),
      ...(c.oilLeak === undefined ? {} : { oil: { flow: `${c.oilLeak.flow * 1000} L/s`, at: kPaa(c.oilLeak.at) } }),
    },
    start: {
      pressure: kPaa(start.pressure),
      oil: `${start.oil} m^3`,
      airTemperature: `${start.airTemperature} K`,
      wallTemperature: `${start.wallTemperature} K`,
      sumpLevel: `${sump.startLevel} m`,
      running: start.running,
      compressorsAllowed: start.compressorsAllowed ? 'yes' : 'no',
    },
    actions: c.actions.map((a) => ({
      at: `${a.at_s} s`,
      do: a.direction === 'opens' ? 'open valve' : 'close valve',
      item: c.valves[a.valve].tag,
    })),
  };
  return JSON.stringify(file, undefined, 1);
}
