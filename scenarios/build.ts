/**
 * From the checked values of a file to a plant. What cannot be simulated is a fault at its place in the file; a setting
 * that is merely bad is left as it is (findings.ts says so).
 */
import seedrandom from 'seedrandom';
import { ambientPressureAt, leakArea } from '../models/air.ts';
import { greatestPower } from '../models/compressor.ts';
import type { Condition } from '../models/condition.ts';
import {
  type Contact,
  type ContactRole,
  DEFAULT_LEVEL_DEADBAND_m,
  DEFAULT_PRESSURE_DEADBAND_Pa,
  LOW_ROLES,
} from '../models/contact.ts';
import { dissolvedAirOf } from '../models/dissolvedAir.ts';
import { compileDrive, DIRECT, type Drive, pistonPosition, valvePosition } from '../models/drive.ts';
import { type FaultItem, type FaultNeed, type FaultPlant, type FaultValues, faultKinds } from '../models/fault.ts';
import { compileVesselTables, type Head, vessel, vesselFault, volumeVessel } from '../models/geometry.ts';
import type { LineValues, ReturnMainValues } from '../models/line.ts';
import { FLOW_SWITCH_SHARE, overloadRelay, Proof, Selector } from '../models/motor.ts';
import { branch } from '../models/network.ts';
import { compileOil, densityAt, expansionPerKelvin, gradePoints, type Oil, viscosityAt } from '../models/oil.ts';
import { delayTicks } from '../models/panel.ts';
import {
  compileLine,
  type FilterElement,
  flowFor,
  type LineLeg,
  quadraticFromFittings,
  quadraticFromFlowCoefficient,
  quadraticFromOrifice,
} from '../models/pipe.ts';
import type {
  Action,
  ActionPlant,
  CompressorPlant,
  LoadProfile,
  MotorPlant,
  Plant,
  PumpPlant,
  SafetyValvePlant,
  Spring,
  ValvePlant,
} from '../models/plant.ts';
import { coldSuctionFactor, hydraulicPower, reliefSlope, slipPerPressure } from '../models/pump.ts';
import { type AmbientCourse, ambientAt, ambientCourse, type Site } from '../models/site.ts';
import type { StepPlant } from '../models/step.ts';
import { BRIM_FALL_m, PRIMING_RISE_m } from '../models/sump.ts';
import { compilePipeline } from '../models/surge.ts';
import { OUTSIDE_COEFFICIENT_W_m2K, SHELL_HEAT_CAPACITY_J_m2K } from '../models/tank.ts';
import type { ValveValues } from '../models/valve.ts';
import { conditionNames, readCondition, readExpectation } from './condition.ts';
import type { ScenarioValues } from './scenario.ts';

/** Reports a fault at a path of the file. */
export type Complain = (path: string, message: string) => void;

/**
 * Error of each contact: drawn once from the seed within the accuracy stated ("drawn"), none, or all of it against the
 * shutdown: low contacts make late, which is at a lower reading, or early.
 */
export type ContactErrors = 'drawn' | 'none' | 'low' | 'high';

export interface BuildOptions {
  readonly contactErrors?: ContactErrors;
  /** Added to the gauge reading and to the sight-glass reading. */
  readonly pressureError_Pa?: number;
  readonly levelError_m?: number;
  /** A plant of the same tank, whose tables are used again. */
  readonly like?: Plant;
  /** The values that `like` was built of, without any other option: what has the same values is taken from it. */
  readonly likeValues?: ScenarioValues;
}

const GRAVITY = 9.80665;
const ORIFICE_COEFFICIENT = 0.62;
/** Grades of oil are named by their viscosity at 40 degC. */
const GRADE_TEMPERATURE_K = 313.15;

/** Ambient pressure of a site, Pa. */
export function ambientPressure(site: Site): number {
  return site.barometer ?? ambientPressureAt(site.altitude ?? 0);
}

/** Builds the plant, or undefined after complaining. */
export function buildPlant(values: ScenarioValues, complain: Complain, options: BuildOptions = {}): Plant | undefined {
  let faults = 0;
  const fault: Complain = (path, message) => {
    faults++;
    complain(path, message);
  };
  const v = values;
  const { like, likeValues } = options;
  /** The plant to take from what depends on these groups of values, where they are the same. */
  const alike = (...keys: readonly (keyof ScenarioValues)[]): Plant | undefined =>
    likeValues !== undefined && keys.every((key) => v[key] === likeValues[key]) ? like : undefined;
  const tick_s = v.clock.tick;
  const ticks = (seconds: number) => delayTicks(seconds, tick_s);
  const pAmbient = ambientPressure(v.site);
  const course = ambientCourse(v.site.temperature, tick_s);
  if (typeof course === 'number') {
    fault(`site.temperature.table.${course}.at`, 'the points must be in order of time, each later than the one before');
  }
  const ambient: AmbientCourse = typeof course === 'number' ? { kind: 'steady', temperature_K: 293.15 } : course;
  const tAmbient = ambientAt(ambient, 0);

  // ---- Oil
  const sameOil = alike('oil')?.oil;
  const oil = sameOil === undefined ? readOil(v.oil, fault) : undefined;
  const viscosityOf = (o: Oil | undefined, temperature_K: number) =>
    o === undefined ? 46e-6 : viscosityAt(o, temperature_K);
  const oilNow: Plant['oil'] = sameOil ?? {
    density_kg_m3: oil === undefined ? 870 : densityAt(oil, v.oil.temperature),
    viscosity_m2_s: viscosityOf(oil, v.oil.temperature),
    temperature_K: v.oil.temperature,
    expansion_1_K: oil === undefined ? 7e-4 : expansionPerKelvin(oil, v.oil.temperature),
  };

  const line = (l: LineValues, extra: readonly LineValues[] = [], filter?: FilterElement): LineLeg => {
    const parts = [l, ...extra];
    let quadratic = 0;
    for (const part of parts) {
      quadratic += part.quadratic;
      if (part.flowCoefficient !== undefined) {
        quadratic += quadraticFromFlowCoefficient(part.flowCoefficient, oilNow.density_kg_m3);
      }
      if (part.orifice !== undefined) {
        quadratic += quadraticFromOrifice(ORIFICE_COEFFICIENT, part.orifice, oilNow.density_kg_m3);
      }
      for (const p of part.pipes) {
        quadratic += p.fittings > 0 ? quadraticFromFittings(p.fittings, p.insideDiameter, oilNow.density_kg_m3) : 0;
      }
    }
    return compileLine(
      {
        linear_Pas_m3: parts.reduce((sum, part) => sum + part.linear, 0),
        quadratic_Pas2_m6: quadratic,
        pipes: parts.flatMap((part) =>
          part.pipes
            .filter((p) => p.length > 0)
            .map((p) => ({ length_m: p.length, diameter_m: p.insideDiameter, roughness_m: p.roughness })),
        ),
        ...(filter === undefined ? {} : { filter }),
      },
      oilNow,
    );
  };

  // ---- Tank
  const t = v.tank;
  const head: Head =
    t.heads === 'torispherical'
      ? { kind: 'torispherical', dishFactor: t.dishRadius, knuckleFactor: t.knuckleRadius }
      : { kind: t.heads };
  let shell = volumeVessel(1);
  const sameTank = alike('tank')?.tank;
  if (sameTank !== undefined) shell = sameTank.vessel;
  else if (t.volume !== undefined) shell = volumeVessel(t.volume);
  else {
    const shape = {
      orientation: t.orientation,
      diameter_m: t.insideDiameter as number,
      straightLength_m: t.straightLength as number,
      head,
    };
    const wrong = vesselFault(shape);
    if (wrong === undefined) shell = vessel(shape);
    else fault('tank', wrong);
  }
  const volume = shell.totalVolume_m3;
  const inside = (path: string, level: number): boolean => {
    if (level >= 0 && level <= shell.height_m) return true;
    fault(
      path,
      `a level of ${mm(level)} above the inside bottom lies outside the vessel, which is ${mm(shell.height_m)} high`,
    );
    return false;
  };
  const outletVolume =
    sameTank?.outletVolume_m3 ?? (inside('tank.outletLevel', t.outletLevel) ? shell.volumeAt(t.outletLevel) : 0);
  const shutOff = t.outletShutOff;
  let outletShutOff = sameTank?.outletShutOff;
  if (
    sameTank === undefined &&
    shutOff !== undefined &&
    inside('tank.outletShutOff.level', shutOff.level + t.sightGlassZero)
  ) {
    const level = shutOff.level + t.sightGlassZero;
    if (inside('tank.outletShutOff.rise', level + shutOff.rise)) {
      outletShutOff = { shut_m3: shell.volumeAt(level), open_m3: shell.volumeAt(level + shutOff.rise) };
    }
  }
  const heat = t.heat;
  const exchangeKey = { polytropic: 'exponent', conductance: 'conductance', 'time constant': 'timeConstant' } as const;
  let exchangeValue = 0;
  const needs = exchangeKey[heat.exchange as keyof typeof exchangeKey];
  if (needs !== undefined) {
    const given = heat[needs];
    if (given === undefined) fault('tank.heat', `exchange "${heat.exchange}" needs "${needs}"`);
    else exchangeValue = given;
  }
  const opened: string[] = [];
  if (v.compressors.length > 0) opened.push('compressors');
  if (v.leaks.air !== undefined) opened.push('an air leak');
  if (v.safetyValve !== undefined) opened.push('a safety valve');
  if (t.dissolvedAir.model !== 'none')
    opened.push('air dissolving in its oil (left out with tank.dissolvedAir.model none)');
  if (heat.exchange === 'polytropic' && opened.length > 0) {
    fault(
      'tank.heat.exchange',
      `"polytropic" holds for a closed charge only, and this unit has ${opened.join(' and ')}; write another exchange, for instance "natural convection"`,
    );
  }

  // ---- Start
  const s = v.start;
  const zero = t.sightGlassZero;
  let oilVolume = s.oil ?? 0;
  if (s.level !== undefined && inside('start.level', s.level + zero)) {
    const level = Math.min(shell.height_m, Math.max(0, s.level + zero + (options.levelError_m ?? 0)));
    oilVolume = shell.volumeAt(level);
  } else if (s.oil !== undefined && (options.levelError_m ?? 0) !== 0) {
    oilVolume = shell.volumeAt(shell.levelAt(oilVolume) + (options.levelError_m ?? 0));
  }
  if (oilVolume >= volume * 0.9999) {
    fault(
      s.level === undefined ? 'start.oil' : 'start.level',
      `the tank holds ${litres(volume)}: there is no room left for air`,
    );
  }
  const startPressure = s.pressure + (options.pressureError_Pa ?? 0);
  if (!(startPressure > 0)) fault('start.pressure', 'must lie above a perfect vacuum');
  const airTemperature = s.airTemperature ?? tAmbient;
  const sumpArea = v.sump.capacity / v.sump.depth;
  const sumpLevel = s.sumpLevel ?? v.sump.depth / 2;
  if (sumpLevel > v.sump.depth) fault('start.sumpLevel', `the sump is ${mm(v.sump.depth)} deep`);
  if (v.sump.suctionLevel >= v.sump.depth) fault('sump.suctionLevel', `the sump is ${mm(v.sump.depth)} deep`);

  // ---- Elevations
  const elevated = t.bottomElevation !== undefined;
  const base = t.bottomElevation ?? 0;
  const rhoG = oilNow.density_kg_m3 * GRAVITY;
  const sumpElevation = v.sump.elevation ?? base;

  // ---- Machines
  const motor = (
    m: ScenarioValues['pumps'][number] | ScenarioValues['compressors'][number],
    ratedFlow: number,
    provenRise: number,
    fullLoad_W: number,
  ): MotorPlant => ({
    tag: m.tag,
    selector: Selector[m.selector],
    runUp_s: m.runUp,
    restart_ticks: ticks(m.restartDelay),
    proof: m.provenBy === 'flow switch' ? Proof.flow : m.provenBy === 'rise' ? Proof.rise : Proof.contact,
    provenFlow: m.provenBy === 'flow switch' ? FLOW_SWITCH_SHARE * ratedFlow : 0,
    provenRise,
    proven_ticks: ticks(m.provenWithin ?? v.panel.provenWithin),
    isolated: m.isolation === 'shut',
    ratedPower_W: m.ratedPower ?? fullLoad_W,
    starting: m.startingCurrent,
    noLoad: m.noLoadCurrent,
    overload: overloadRelay(m.overload),
    allowedStarts: m.allowedStarts,
    leastOff_ticks: ticks(m.leastOffTime),
    leastRun_ticks: ticks(m.leastRunTime),
  });
  const samePumps = alike('pumps', 'oil', 'site', 'panel', 'clock', 'tank', 'sump')?.pumps;
  const pumps =
    samePumps ??
    v.pumps.map((p, i): PumpPlant => {
      const { cracking, fullFlow } = p.relief;
      if (!(fullFlow > cracking)) fault(`pumps.${i}.relief.fullFlow`, 'must lie above the cracking pressure');
      if (!(cracking > pAmbient)) fault(`pumps.${i}.relief.cracking`, 'must lie above ambient pressure');
      const good = fullFlow > cracking;
      return {
        ...motor(
          p,
          p.ratedFlow,
          v.panel.provenRise.level,
          hydraulicPower(p.ratedFlow, fullFlow - pAmbient) / p.efficiency,
        ),
        flow_m3_s: p.ratedFlow,
        slip_m3_sPa: slipPerPressure(p.slip, p.ratedFlow, p.ratedPressure, p.ratedViscosity, oilNow.viscosity_m2_s),
        crackingPressure_Pa: cracking - pAmbient,
        reliefSlope_m3_sPa: good ? reliefSlope(cracking, fullFlow, p.ratedFlow) : 1,
        efficiency: p.efficiency,
        // From the oil surface of the sump, where the suction stands, up to the bottom of the tank.
        line: { ...line(p.line), rise_Pa: elevated ? rhoG * (base - sumpElevation) : 0 },
        fill: coldSuctionFactor(oilNow.viscosity_m2_s, p.thickestOil),
      };
    });
  const rhoAmbient = pAmbient / (287.0528 * tAmbient);
  const highest = highestPressure(v);
  const sameCompressors =
    likeValues !== undefined && highestPressure(likeValues) === highest
      ? alike('compressors', 'site', 'panel', 'clock')?.compressors
      : undefined;
  const compressors =
    sameCompressors ??
    v.compressors.map((c, i): CompressorPlant => {
      if (c.relief !== undefined && !(c.relief > pAmbient))
        fault(`compressors.${i}.relief`, 'must lie above ambient pressure');
      const freeAir = (c.freeAir ?? c.displacement) as number;
      const equations = {
        freeAir_m3_s: freeAir,
        clearance: c.freeAir !== undefined ? 0 : c.clearance,
        exponent: c.exponent,
        efficiency: c.efficiency,
      };
      return {
        ...motor(
          c,
          freeAir * rhoAmbient,
          v.panel.provenRise.pressure,
          greatestPower(equations, highest, pAmbient, tAmbient),
        ),
        ...equations,
        relief_Pa: c.relief ?? pAmbient + 1.1 * (highest - pAmbient),
        unloaded_s: c.unloadedStart,
        coolerApproach_K: c.coolerApproach,
      };
    });
  let safetyValve: SafetyValvePlant | undefined;
  if (v.safetyValve !== undefined) {
    const p = v.safetyValve;
    const full = p.fullLift ?? pAmbient + 1.1 * (p.set - pAmbient);
    if (!(p.reseat < p.set)) fault('safetyValve.reseat', 'must lie under the set pressure');
    if (!(p.reseat > pAmbient)) fault('safetyValve.reseat', 'must lie above ambient pressure');
    if (!(full >= p.set)) fault('safetyValve.fullLift', 'must not lie under the set pressure');
    safetyValve = {
      tag: p.tag,
      set_Pa: p.set,
      fullLift_Pa: full,
      reseat_Pa: p.reseat,
      area_m2: (Math.PI / 4) * p.bore ** 2,
      dischargeCoefficient: p.dischargeCoefficient,
    };
  }

  // ---- Valves
  const before = alike('site', 'oil', 'tank', 'sump', 'clock')?.valves;
  const valves = v.valves.map((w, i): ValvePlant => {
    const last = before?.[i];
    const lastValues = likeValues?.valves[i];
    if (last !== undefined && w === lastValues) return last;
    /** The valve to take from what depends on these values, where they are the same. */
    const likeIn = (...keys: readonly (keyof ValveValues)[]): ValvePlant | undefined =>
      lastValues !== undefined && keys.every((key) => w[key] === lastValues[key]) ? last : undefined;
    const at = `valves.${i}`;
    const headArea = (Math.PI / 4) * w.bore ** 2;
    const rodArea = (Math.PI / 4) * (w.bore ** 2 - w.rod ** 2);
    if (!(w.rod < w.bore)) fault(`${at}.rod`, `the rod must be thinner than the bore of ${mm(w.bore)}`);
    const headOpens = w.headEnd === 'opens';
    const dirOf = (word: 'opens' | 'closes') => (word === 'opens' ? 1 : -1);
    const drive = compileDrive(w.drive, w.stroke, headOpens);
    if ('problem' in drive) fault(`${at}.drive.${drive.key}`, drive.problem);
    const d: Drive = 'problem' in drive ? DIRECT : drive;
    const throttle = w.speedControl;
    const cushion = throttle?.cushion;
    if (cushion !== undefined && !(cushion.length < w.stroke)) {
      fault(`${at}.speedControl.cushion.length`, `must be shorter than the stroke of ${mm(w.stroke)}`);
    }
    const good = w.rod < w.bore;
    const head = good ? headArea : 1;
    const rod = good ? rodArea : 1;
    /** Branch of one direction, and the same inside its end cushion. */
    const branches = (direction: 'opening' | 'closing') => {
      const headIn = headOpens === (direction === 'opening');
      const springDrives = w.spring !== undefined && (w.spring.drives === 'opens') === (direction === 'opening');
      const inArea = springDrives ? 0 : headIn ? head : rod;
      const outArea = w.spring !== undefined && !springDrives ? 0 : headIn ? rod : head;
      const extra = throttle === undefined ? [] : [throttle[direction]];
      // Oil that only comes or only goes is throttled where it is.
      const meterIn = outArea === 0 || (throttle !== undefined && throttle.placed !== 'meter-out');
      const meterOut = inArea === 0 || (throttle !== undefined && throttle.placed !== 'meter-in');
      let supply = line(w.supplyLine, meterIn ? extra : []);
      const back = line(w.returnLine, meterOut ? extra : []);
      if (!((inArea > 0 && resists(supply)) || (outArea > 0 && resists(back)))) {
        const where = inArea === 0 ? 'return line' : outArea === 0 ? 'supply line' : 'supply or return line';
        fault(
          at,
          `nothing resists the oil while ${direction}: give the ${where} a pipe, a flow coefficient or coefficients`,
        );
        supply = line({ ...w.supplyLine, linear: 1 });
      }
      const cushioned =
        cushion === undefined ? undefined : line(w.returnLine, [...(meterOut ? extra : []), cushion[direction]]);
      return {
        plain: branch(inArea, outArea, supply, back),
        cushioned: cushioned === undefined || outArea === 0 ? undefined : branch(inArea, outArea, supply, cushioned),
      };
    };
    const cylinder = ['bore', 'rod', 'stroke', 'headEnd', 'spring', 'speedControl'] as const;
    const bothWays = (): Pick<ValvePlant, 'branch' | 'cushion'> => {
      const opening = branches('opening');
      const closing = branches('closing');
      return {
        branch: [closing.plain, opening.plain],
        cushion: cushion === undefined ? undefined : [closing.cushioned, opening.cushioned],
      };
    };
    const ways = likeIn(...cylinder, 'supplyLine', 'returnLine') ?? bothWays();
    let strokes: number[] = [];
    let targets: number[] = [];
    const whole = (word: 'opens' | 'closes') => (word === 'opens' ? 1 : 0);
    if (w.onTrip === 'sequence') {
      if (w.sequence === undefined) fault(at, 'onTrip is "sequence", so the strokes must be listed under "sequence"');
      else {
        strokes = w.sequence.map((k) => dirOf(typeof k === 'string' ? k : k.stroke));
        targets = w.sequence.map((k) => (typeof k === 'string' ? whole(k) : pistonPosition(d, k.to)));
        const partly = w.sequence.findIndex((k) => typeof k !== 'string');
        if (partly >= 0 && w.pilot.kind !== 'spring centred') {
          fault(
            `${at}.sequence.${partly}`,
            `only a pilot that can block both lines stops a valve part way: write "pilot: { kind: spring centred }", or leave "to" out`,
          );
        }
      }
    } else if (w.onTrip !== 'stays') {
      strokes = [dirOf(w.onTrip)];
      targets = [whole(w.onTrip)];
    }
    if (w.onTrip !== 'sequence' && w.sequence !== undefined) {
      fault(`${at}.sequence`, `is only read where onTrip is "sequence"; onTrip is "${w.onTrip}"`);
    }
    const breakaway = w.friction.breakaway ?? w.friction.running;
    if (breakaway < w.friction.running) {
      fault(`${at}.friction.breakaway`, 'must not be less than the running friction');
    }
    const z = (w.elevation ?? base) - base;
    let spring: Spring | undefined;
    if (w.spring !== undefined) {
      const { drives, preload, rate } = w.spring;
      const most = rate * w.stroke;
      spring =
        drives === 'closes'
          ? { direction: -1, closed_N: preload, slope_N: most }
          : { direction: 1, closed_N: preload + most, slope_N: -most };
    }
    return {
      tag: w.tag,
      service: w.service ?? '',
      stroke_m: w.stroke,
      headArea_m2: head,
      rodArea_m2: rod,
      headOpens,
      branch: ways.branch,
      cushion: ways.cushion,
      spring,
      drive: d,
      load: likeIn(...cylinder, 'drive', 'load')?.load ?? [
        profile(w, d, 'closing', at, fault),
        profile(w, d, 'opening', at, fault),
      ],
      running_N: w.friction.running,
      breakaway_N: breakaway,
      leak: w.internalLeak === undefined ? 0 : w.internalLeak.flow / Math.sqrt(w.internalLeak.at),
      pushedBack: w.mayBePushedBack,
      supplyHead_Pa: elevated ? -rhoG * z : 0,
      returnHead_Pa: elevated ? rhoG * (sumpElevation - base - z) : 0,
      position: pistonPosition(d, w.position),
      strokes,
      targets,
      pause_ticks: ticks(w.pause),
      tripByControl: w.trip.source === 'control power',
      tripDelay_ticks: ticks(w.trip.delay),
      pilot: w.pilot.kind,
      offset: w.pilot.offset !== undefined ? dirOf(w.pilot.offset) : (strokes[0] ?? 0),
      hold_ticks: w.require === undefined ? 0 : ticks(w.require.hold),
      require:
        w.require === undefined
          ? undefined
          : {
              longest_s: w.require.longest,
              shortest_s: w.require.shortest ?? 0,
              margin: w.require.margin,
              hold_s: w.require.hold,
            },
      pipeline: w.pipeline === undefined ? undefined : compilePipeline(w.pipeline),
    };
  });

  // ---- Contacts
  const contacts =
    (options.contactErrors === undefined ? alike('panel', 'tank', 'sump', 'seed')?.panel.contacts : undefined) ??
    buildContacts(v, shell.height_m, options.contactErrors ?? 'drawn', fault, inside);
  const require = (condition: boolean, role: ContactRole, why: string) => {
    if (condition && !contacts.some((c) => c.role === role)) {
      const [kind, name] = role.split('.');
      fault(`panel.${kind}`, `"${name}" is missing: ${why}`);
    }
  };
  require(v.pumps.length > 0, 'level.dutyStart', 'without it no pump ever starts');
  require(v.pumps.length > 0, 'level.stop', 'without it no pump ever stops');
  require(v.compressors.length > 0, 'pressure.cutIn', 'without it no compressor ever starts');
  if (v.compressors.length > 0 && v.panel.pressure.cutOut === undefined) {
    fault('panel.pressure', '"cutOut" is missing: without it no compressor ever stops');
  }

  // ---- Power and actions
  const { lostAt, backAt } = v.power;
  if (lostAt !== undefined && backAt !== undefined && !(backAt > lostAt)) {
    fault('power.backAt', 'the mains must come back later than they are lost');
  }
  const motorTags = [...pumps, ...compressors].map((m) => m.tag);
  const actions: ActionPlant[] = [];
  if (lostAt !== undefined) actions.push({ tick: ticks(lostAt), action: 'lose mains', item: -1 });
  if (backAt !== undefined) actions.push({ tick: ticks(backAt), action: 'restore mains', item: -1 });
  /** Index of the item an action concerns, after complaining about one that does not fit. */
  const itemOf = (path: string, action: Action, tag: string | undefined): number => {
    if ((action === 'open drain' && t.drain === undefined) || (action === 'open vent' && t.vent === undefined)) {
      fault(path, `"${action}" needs "tank.${action === 'open drain' ? 'drain' : 'vent'}" to say how much it passes`);
    }
    if (action === 'open valve' || action === 'close valve') {
      const valve = valves.findIndex((x) => x.tag === tag);
      if (tag === undefined) fault(path, `"${action}" needs the tag of a valve under "item"`);
      else if (valve < 0) fault(`${path}.item`, `"${action}" needs the tag of a valve; ${tag} is none`);
      return valve;
    }
    if (tag === undefined) return -1;
    if (PLAIN_ACTIONS.has(action)) {
      fault(`${path}.item`, `"${action}" takes no item`);
      return -1;
    }
    const motor = motorTags.indexOf(tag);
    if (motor < 0) fault(`${path}.item`, `"${action}" needs the tag of a pump or compressor; ${tag} is none`);
    return motor;
  };
  v.actions.forEach((a, i) => {
    actions.push({ tick: ticks(a.at), action: a.do, item: itemOf(`actions.${i}`, a.do, a.item) });
  });
  // Sorted by time; actions of one instant keep their order in the file, power first.
  actions.sort((a, b) => a.tick - b.tick);
  s.running.forEach((tag, i) => {
    if (!motorTags.includes(tag)) fault(`start.running.${i}`, `${tag} is no pump or compressor`);
  });
  const dutyOf = (tags: readonly string[]) => s.duty.map((tag) => tags.indexOf(tag)).find((i) => i >= 0) ?? -1;
  s.duty.forEach((tag, i) => {
    if (!motorTags.includes(tag)) fault(`start.duty.${i}`, `${tag} is no pump or compressor`);
  });

  // ---- Faults and conditions
  const conditions: Condition[] = [];
  let known: ReturnType<typeof conditionNames> | undefined;
  const names = () => (known ??= conditionNames({ valves: valves.map((w) => w.tag), motors: motorTags }));
  const conditionAt = (path: string, text: string): number => {
    const read = readCondition(text, names(), pAmbient);
    if ('problem' in read) {
      fault(path, read.problem);
      return -1;
    }
    // Levels are written as read on the sight glass.
    const shifted = read.condition.comparisons.map((c) =>
      c.subject.kind === 'level' ? { ...c, value: c.value + zero } : c,
    );
    return conditions.push({ ...read.condition, comparisons: shifted }) - 1;
  };
  const faultTags = {
    pumps: pumps.map((p) => p.tag),
    valves: valves.map((w) => w.tag),
    contacts: contacts.map((c) => c.tag),
  };
  const faultPlants = v.faults.map((f, i): FaultPlant => {
    const at = `faults.${i}`;
    const kind: { readonly item: FaultItem; readonly needs?: FaultNeed } = faultKinds[f.fault];
    const lists: Readonly<Record<FaultItem, readonly string[]>> = {
      motor: motorTags,
      pump: faultTags.pumps,
      valve: faultTags.valves,
      contact: faultTags.contacts,
      relief: faultTags.pumps,
      none: [],
    };
    const nouns = {
      motor: 'a pump or compressor',
      pump: 'a pump',
      valve: 'a valve',
      contact: 'a switch',
      relief: 'a pump or the safety valve',
      none: '',
    };
    let item = -1;
    if (kind.item === 'none') {
      if (f.item !== undefined) fault(`${at}.item`, `"${f.fault}" takes no item`);
    } else if (f.item === undefined) fault(at, `"${f.fault}" needs the tag of ${nouns[kind.item]} under "item"`);
    else if (!(kind.item === 'relief' && f.item === safetyValve?.tag)) {
      item = lists[kind.item].indexOf(f.item);
      if (item < 0) fault(`${at}.item`, `"${f.fault}" needs the tag of ${nouns[kind.item]}; ${f.item} is none`);
    }
    return {
      name: f.fault,
      item,
      tick: f.at === undefined ? -1 : ticks(f.at),
      condition: f.when === undefined ? -1 : conditionAt(`${at}.when`, f.when),
      duration_ticks: f.for === undefined ? 0 : Math.max(1, ticks(f.for)),
      value: faultValue(f, kind.needs, item, at),
      text: f.item === undefined ? f.fault : `${f.item} ${f.fault}`,
    };
  });

  /** The number a fault works with, in the unit of what it changes. */
  function faultValue(f: FaultValues, needs: FaultNeed | undefined, item: number, at: string): number {
    const atStart = Math.sqrt(Math.max(1, s.pressure - pAmbient));
    if (f.fault === 'check valve stuck open' && item >= 0) {
      const leg = pumps[item].line;
      const through = resists(leg) ? flowFor(leg, Math.max(1, s.pressure - pAmbient)) : pumps[item].flow_m3_s;
      return through / atStart;
    }
    if (needs === undefined) return 0;
    if (needs === 'drift') {
      const pressureSwitch = item >= 0 && contacts[item].measured === 'pressure';
      const given = pressureSwitch ? f.byPressure : f.byLevel;
      if (given === undefined && item >= 0)
        fault(
          at,
          `a drifted ${pressureSwitch ? 'pressure' : 'level'} switch needs "${pressureSwitch ? 'byPressure' : 'byLevel'}"`,
        );
      return given ?? 0;
    }
    const given = f[needs];
    if (given === undefined) {
      fault(at, `"${f.fault}" needs "${needs}"`);
      return 0;
    }
    if (needs === 'share' && f.fault !== 'load above specification' && given >= 1) {
      fault(`${at}.share`, 'must be less than 100 %');
      return 0;
    }
    if (needs === 'fall') {
      return s.pressure > pAmbient ? leakArea(volume - oilVolume, given, s.pressure, tAmbient, pAmbient) : 0;
    }
    return needs === 'flow' ? given / (f.fault === 'seal bypass' ? Math.sqrt(1e5) : atStart) : given;
  }

  // ---- Steps
  const steps = v.steps.map((step, i): StepPlant => {
    const at = `steps.${i}`;
    const item = step.do === undefined ? -1 : itemOf(at, step.do, step.item);
    if (step.do === undefined && step.item !== undefined)
      fault(`${at}.item`, 'names what is acted on, but the step has no "do"');
    step.expect.forEach((e, k) => {
      const read = readExpectation(e, names(), pAmbient);
      if ('problem' in read) fault(`${at}.expect.${k}`, read.problem);
    });
    const doing = [step.do, step.item].filter((x) => x !== undefined).join(' ');
    return {
      text: step.what ?? (doing === '' ? 'wait' : doing),
      action: step.do,
      item,
      condition: step.until === undefined ? -1 : conditionAt(`${at}.until`, step.until),
      wait_ticks: step.for === undefined ? 0 : ticks(step.for),
      patience_ticks: ticks(step.patience),
    };
  });

  // ---- Leaks
  let airLeakArea = 0;
  if (v.leaks.air !== undefined && v.leaks.air.fall > 0) {
    if (v.leaks.air.at <= pAmbient) fault('leaks.air.at', 'must lie above ambient pressure');
    else airLeakArea = leakArea(volume - oilVolume, v.leaks.air.fall, v.leaks.air.at, tAmbient, pAmbient);
  }
  let oilLeak = 0;
  if (v.leaks.oil !== undefined && v.leaks.oil.flow > 0) {
    if (v.leaks.oil.at <= pAmbient) fault('leaks.oil.at', 'must lie above ambient pressure');
    else oilLeak = v.leaks.oil.flow / Math.sqrt(v.leaks.oil.at - pAmbient);
  }

  if (faults > 0) return undefined;
  return Object.freeze({
    tick_s,
    scanTicks: v.clock.scanTicks,
    ambientPressure_Pa: pAmbient,
    ambientTemperature_K: tAmbient,
    ambient,
    relativeHumidity: v.site.relativeHumidity,
    oil: oilNow,
    tank: sameTank ?? {
      tag: t.tag,
      vessel: shell,
      tables: like?.tank.tables ?? compileVesselTables(shell),
      volume_m3: volume,
      outletVolume_m3: outletVolume,
      outletShutOff,
      dissolvedAir: dissolvedAirOf(t.dissolvedAir),
      leastAir: t.leastAir,
      exchange: heat.exchange,
      exchangeValue,
      wallHeatCapacity_J_K: heat.wallHeatCapacity ?? SHELL_HEAT_CAPACITY_J_m2K * shell.totalSurface_m2,
      ambientConductance_W_K: heat.ambientConductance ?? OUTSIDE_COEFFICIENT_W_m2K * shell.totalSurface_m2,
      elevated,
      sightGlassZero_m: zero,
    },
    sump: alike('sump')?.sump ?? {
      tag: v.sump.tag,
      area_m2: sumpArea,
      depth_m: v.sump.depth,
      capacity_m3: v.sump.capacity,
      suction_m3: v.sump.suctionLevel * sumpArea,
      priming_m3: (v.sump.suctionLevel + PRIMING_RISE_m) * sumpArea,
      brim_m3: v.sump.capacity - BRIM_FALL_m * sumpArea,
    },
    pumps,
    compressors,
    safetyValve,
    header: alike('oil', 'header')?.header ?? line(v.header),
    returnMain:
      alike('oil', 'returnMain')?.returnMain ??
      line(
        v.returnMain,
        [],
        filterOf(v.returnMain, oilNow.viscosity_m2_s, () =>
          viscosityOf(oil ?? readOil(v.oil, () => {}), GRADE_TEMPERATURE_K),
        ),
      ),
    filterAlarm_Pa: v.returnMain.filter?.alarm ?? 0,
    valves,
    panel: {
      contacts,
      wideDeadband: v.panel.startContact === 'wide deadband',
      alternation: v.panel.alternation,
      alternate_ticks: ticks(v.panel.alternateAfter),
      longestRun_ticks: v.panel.longestRun === undefined ? 0 : ticks(v.panel.longestRun),
      heldOff_ticks: ticks(v.panel.heldOffAlarm),
      alarmDelay_ticks: ticks(v.panel.alarmDelay),
      alarmOffDelay_ticks: ticks(v.panel.alarmOffDelay),
      alarmAgain_ticks: ticks(v.panel.alarmAgain ?? 0),
      alarmsLatch: v.panel.alarmsLatch,
    },
    power: {
      controlHeld_ticks: ticks(v.power.controlPowerHeld),
      undervoltage_ticks: ticks(v.power.undervoltageDelay),
      latched: v.power.trip === 'until reset',
    },
    airLeakArea_m2: airLeakArea,
    oilLeak,
    start: {
      gasPressure_Pa: startPressure,
      oilVolume_m3: oilVolume,
      gasTemperature_K: airTemperature,
      wallTemperature_K: s.wallTemperature ?? airTemperature,
      sumpVolume_m3: sumpLevel * sumpArea,
      permissive: s.compressorsAllowed === 'yes' ? 1 : s.compressorsAllowed === 'no' ? 0 : undefined,
      dutyPump: dutyOf(pumps.map((m) => m.tag)),
      dutyCompressor: dutyOf(compressors.map((m) => m.tag)),
      running: s.running,
    },
    drain: t.drain === undefined ? 0 : t.drain.flowCoefficient * Math.sqrt(1000 / oilNow.density_kg_m3),
    ventArea_m2: t.vent === undefined ? 0 : (ORIFICE_COEFFICIENT * Math.PI * t.vent.bore ** 2) / 4,
    faults: faultPlants,
    steps,
    conditions,
    actions,
  } satisfies Plant);
}

/** The highest pressure, Pa, that a compressor may have to deliver against. */
function highestPressure({ site, panel, safetyValve, start, tank }: ScenarioValues): number {
  const pAmbient = ambientPressure(site);
  const settings = Object.values(panel.pressure).map((c) => (c === undefined ? 0 : typeof c === 'number' ? c : c.at));
  const start_Pa = pAmbient + 1.2 * (start.pressure - pAmbient);
  return Math.max(2 * pAmbient, tank.designPressure ?? Math.max(...settings, safetyValve?.set ?? 0, start_Pa));
}

/** The oil over all temperatures, or undefined after complaining. */
function readOil(o: ScenarioValues['oil'], fault: Complain): Oil | undefined {
  const points =
    o.viscosity !== undefined
      ? o.viscosity.map((p) => ({ temperature_K: p.at, viscosity_m2_s: p.value }))
      : gradePoints(o.grade as number, o.viscosityIndex);
  if (points === undefined) {
    fault('oil.grade', 'an oil this thin has no viscosity index: give two points under "viscosity" instead');
    return undefined;
  }
  const [cold, hot] = [...points].sort((a, b) => a.temperature_K - b.temperature_K);
  const good =
    points.length === 2 &&
    cold.temperature_K < hot.temperature_K &&
    cold.viscosity_m2_s > hot.viscosity_m2_s &&
    hot.viscosity_m2_s > 3.1e-7;
  if (!good)
    fault('oil.viscosity', 'the two points must differ in temperature, and the hotter oil must be the thinner one');
  return good ? compileOil([cold, hot], o.density) : undefined;
}

/** Actions that concern no item in particular. */
const PLAIN_ACTIONS: ReadonlySet<string> = new Set([
  'lose mains',
  'restore mains',
  'open drain',
  'close drain',
  'open vent',
  'close vent',
  'acknowledge',
  'reset trip',
]);

const mm = (m: number) => `${(m * 1000).toFixed(0)} mm`;
const litres = (m3: number) => `${(m3 * 1000).toPrecision(4)} L`;

function resists(leg: LineLeg): boolean {
  return leg.pipes.length > 0 || leg.linear_Pas_m3 > 0 || leg.quadratic_Pas2_m6 > 0;
}

/** The filter in oil of a viscosity, its resistance stated at another, m2/s. */
function filterOf(main: ReturnMainValues, now_m2_s: number, rated_m2_s: () => number): FilterElement | undefined {
  const f = main.filter;
  if (f === undefined) return undefined;
  const element_Pas_m3 = f.resistance * (now_m2_s / (f.ratedViscosity ?? rated_m2_s()));
  return { element_Pas_m3, bypassOpening_Pa: f.bypassOpens, bypass_Pas_m3: f.bypassResistance };
}

/**
 * A load profile from a constant or from points at positions of the valve, in pieces of piston travel; flat beyond the
 * first and the last point. The start of an end cushion is the end of a piece.
 */
function profile(
  w: ValveValues,
  drive: Drive,
  direction: 'opening' | 'closing',
  at: string,
  fault: Complain,
): LoadProfile {
  const path = `${at}.load.${direction}`;
  const given = w.load[direction];
  const points: readonly { readonly at: number; readonly force?: number; readonly torque?: number }[] =
    typeof given === 'number' ? [{ at: 0, force: given }] : given;
  for (let k = 1; k < points.length; k++) {
    if (points[k].at > points[k - 1].at) continue;
    fault(`${path}.${k}.at`, 'the points must be in order of position, each further open than the one before');
  }
  const byTorque = points[0].torque !== undefined;
  const odd = points.findIndex((p) => (p.torque !== undefined) !== byTorque);
  if (odd >= 0) fault(`${path}.${odd}`, 'the points of one direction must all be forces or all be torques');
  if (byTorque && drive.kind === 'direct') {
    fault(
      `${path}.0.torque`,
      'a torque needs a drive that turns a stem; write "drive:" with its "kind", or a force at the piston',
    );
  }
  const places = points.map((p) => p.at);
  const loads = points.map((p) => p.torque ?? p.force ?? 0);
  if (places[0] > 0) {
    places.unshift(0);
    loads.unshift(loads[0]);
  }
  if (places[places.length - 1] < 1) {
    places.push(1);
    loads.push(loads[loads.length - 1]);
  }
  const xs = places.map((p) => pistonPosition(drive, p));
  // Straight lines over the turn of the stem for torques, over the travel of the piston for forces.
  const over = byTorque ? places : xs;
  const slopes = xs.slice(1).map((_, k) => (loads[k + 1] - loads[k]) / (over[k + 1] - over[k]));
  const { length } = w.speedControl?.cushion ?? { length: 0 };
  const edge = direction === 'opening' ? 1 - length / w.stroke : length / w.stroke;
  if (edge > 0 && edge < 1 && !xs.includes(edge)) {
    const k = xs.findLastIndex((x) => x < edge);
    const place = valvePosition(drive, edge);
    loads.splice(k + 1, 0, loads[k] + slopes[k] * ((byTorque ? place : edge) - over[k]));
    slopes.splice(k + 1, 0, slopes[k]);
    xs.splice(k + 1, 0, edge);
    if (over !== xs) over.splice(k + 1, 0, place);
  }
  const inCushion = (k: number) => length > 0 && (direction === 'opening' ? xs[k] >= edge : xs[k + 1] <= edge);
  return {
    x: Float64Array.from(xs),
    force: Float64Array.from(loads),
    slope: Float64Array.from(slopes),
    torque: byTorque ? { drive, at: Float64Array.from(over) } : undefined,
    cushioned: length > 0 ? Uint8Array.from(slopes, (_, k) => (inCushion(k) ? 1 : 0)) : undefined,
  };
}

const defaultTags: Readonly<Record<string, string>> = {
  'level.lowLow': 'LSLL',
  'level.low': 'LSL',
  'level.standbyStart': 'LS-standby-start',
  'level.dutyStart': 'LS-duty-start',
  'level.normal': 'LS-normal',
  'level.stop': 'LS-stop',
  'level.high': 'LSH',
  'level.highHigh': 'LSHH',
  'pressure.lowLow': 'PSLL',
  'pressure.low': 'PSL',
  'pressure.standbyCutIn': 'PS-standby-cut-in',
  'pressure.cutIn': 'PS-cut-in',
  'pressure.high': 'PSH',
  'pressure.highHigh': 'PSHH',
  'sump.low': 'LSL-sump',
  'sump.high': 'LSH-sump',
};

function buildContacts(
  v: ScenarioValues,
  height_m: number,
  errors: ContactErrors,
  fault: Complain,
  inside: (path: string, level: number) => boolean,
): Contact[] {
  const contacts: Contact[] = [];
  const zero = v.tank.sightGlassZero;
  const wide = v.panel.startContact === 'wide deadband';
  const atOf = (x: number | { readonly at: number } | undefined) => (typeof x === 'number' ? x : x?.at);
  const stop = atOf(v.panel.level.stop);
  const cutOut = atOf(v.panel.pressure.cutOut);
  for (const measured of ['level', 'pressure', 'sump'] as const) {
    const fallback = measured === 'pressure' ? DEFAULT_PRESSURE_DEADBAND_Pa : DEFAULT_LEVEL_DEADBAND_m;
    const offset = measured === 'level' ? zero : 0;
    for (const [name, given] of Object.entries(v.panel[measured])) {
      const role = `${measured}.${name}`;
      // The cut-out is the reset point of the cut-in contacts.
      if (given === undefined || role === 'pressure.cutOut') continue;
      const path = `panel.${role}`;
      const full = typeof given === 'number' ? { at: given, delay: 0, accuracy: 0 } : given;
      const tag = ('tag' in full ? full.tag : undefined) ?? defaultTags[role];
      const deadband = ('deadband' in full ? full.deadband : undefined) ?? fallback;
      if (measured === 'level' && !inside(path, full.at + zero)) continue;
      if (measured === 'sump' && full.at > v.sump.depth) fault(path, `the sump is ${mm(v.sump.depth)} deep`);
      if (measured === 'level' && full.at + zero > height_m) continue;
      const low = LOW_ROLES.has(role);
      let reset = low ? full.at + deadband : full.at - deadband;
      // The reset of a wide start contact is the stop; a stop under the start is a bad setting, not an impossible one.
      const far =
        role === 'level.dutyStart' || role === 'level.standbyStart'
          ? wide
            ? stop
            : undefined
          : role === 'pressure.cutIn' || role === 'pressure.standbyCutIn'
            ? cutOut
            : undefined;
      if (far !== undefined && far > full.at) reset = far;
      let error = 0;
      if (full.accuracy > 0) {
        if (errors === 'drawn') error = (2 * seedrandom.alea(`${v.seed}/contact/${tag}`)() - 1) * full.accuracy;
        else if (errors === 'low') error = -full.accuracy;
        else if (errors === 'high') error = full.accuracy;
      }
      contacts.push({
        tag,
        role: role as ContactRole,
        measured,
        low,
        trip: full.at + offset + error,
        reset: reset + offset + error,
        delay_s: full.delay,
        accuracy: full.accuracy,
      });
    }
  }
  return contacts;
}
