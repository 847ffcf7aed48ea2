/**
 * The whole unit as one system for the engine: slots, right-hand side, watches, what happens at events and at ticks.
 * Equations stand in the files of the components; this file only puts them together.
 */

import { layoutBuilder, newState } from '../sim/layout.ts';
import { type Account, account } from '../sim/ledger.ts';
import { type Change, type Emit, LOGIC, NOTHING, PHYSICS, type System } from '../sim/system.ts';
import { CONTACT, createWatches, LOCATED, OFF, reading } from '../sim/watch.ts';
import { createAdjust, FaultState, ReliefState, Stuck } from './adjust.ts';
import { CP_AIR, CV_AIR, GAMMA, naturalConvectionHeat, nozzleFlow, R_AIR } from './air.ts';
import { deliveryTemperature, solveCompressor } from './compressor.ts';
import { CONDITION_DEADBAND, type Comparison } from './condition.ts';
import { Circuit, type Contact } from './contact.ts';
import { dissolvingRate } from './dissolvedAir.ts';
import { EventCode } from './events.ts';
import { levelOf, surfaceOf } from './geometry.ts';
import { condensateRatio } from './moisture.ts';
import {
  BREAKAWAY_EXCESS_Pa,
  blockedPartWay,
  command as commandValve,
  drawsOil,
  endStroke,
  Mode,
  type MotionSlots,
  motionSlots,
  NO_MARGIN,
  noteMargin,
  ONWARD_EXCESS_Pa,
  opposing,
  pieceAt,
  STALL_PRESSURE_Pa,
  springPush,
} from './motion.ts';
import { Selector } from './motor.ts';
import { type Branch, createNetwork } from './network.ts';
import { createPanel, type Panel } from './panel.ts';
import type { LineLeg } from './pipe.ts';
import type { Action, MotorPlant, Plant, ValvePlant } from './plant.ts';
import { solvePump } from './pump.ts';
import { safetyValveFlow } from './safetyValve.ts';
import { ambientAt, nextBend } from './site.ts';
import { StepEnd } from './step.ts';
import { createTrip, type Trip } from './trip.ts';

const GRAVITY = 9.80665;
/** The return main with a filter element that resists `factor` times as much. */
function withFilter(main: LineLeg, factor: number): LineLeg {
  if (main.element_Pas_m3 === 0) return main;
  const element = main.element_Pas_m3 * factor;
  const bypass = 1 / main.parallel_Pas_m3 - 1 / main.element_Pas_m3;
  return {
    ...main,
    element_Pas_m3: element,
    bypassFlow_m3_s: main.bypassOpening_Pa / element,
    parallel_Pas_m3: 1 / (1 / element + bypass),
  };
}

const NEVER_STARTED = -1e9;
const LARGE_TICK = Number.MAX_SAFE_INTEGER;
/**
 * Part of the vessel that oil may take before it counts as full, and under which it no longer does (choice). A full tank
 * takes no more oil: pumps work against their relief valves, and nothing is pushed back from a cylinder. What air is left
 * keeps a finite volume.
 */
const FULL = 0.999;
const FULL_AGAIN = 0.998;

/** Slots of the physics. */
export interface UnitSlots {
  readonly energy: number;
  readonly airMass: number;
  readonly oil: number;
  readonly wall: number;
  readonly sump: number;
  /** Air in solution in the tank oil, kg. */
  readonly dissolved: number;
  /** First of one position per valve. */
  readonly x: number;
  readonly safetyOpen: number;
  readonly gasInHeader: number;
  readonly sumpDry: number;
  readonly sumpFull: number;
  readonly outletShut: number;
  /** First totals of each kind. */
  readonly pumped: number;
  readonly compressed: number;
  /** Water drained at each compressor, kg. */
  readonly condensate: number;
  readonly motorEnergy: number;
  readonly safetyOut: number;
  readonly airLeaked: number;
  readonly oilLeaked: number;
  /** Oil over the brim of the sump, m3. */
  readonly overflowed: number;
  /** Air that went into solution, left with oil, and came with fresh oil, kg. */
  readonly wentIntoOil: number;
  readonly leftWithOil: number;
  readonly cameWithOil: number;
}

/** Places in the outputs of the right-hand side. */
export interface UnitOutputs {
  readonly gasPressure: number;
  readonly gasTemperature: number;
  readonly headerPressure: number;
  readonly returnPressure: number;
  readonly headerFlow: number;
  readonly returnFlow: number;
  readonly safetyFlow: number;
  readonly oilLeak: number;
  readonly airLeak: number;
  readonly ambientTemperature: number;
  /** First of one per valve: flow into the cylinder, or out of it where its spring drives. */
  readonly valveFlow: number;
  /** Pressures and spring together, N. */
  readonly thrust: number;
  readonly cavitating: number;
  /** What a piston's own flow costs it in header and return main, N; not less than stopping it would give back. */
  readonly ownDrop: number;
  /** First of one per pump / compressor. */
  readonly pumpFlow: number;
  readonly reliefFlow: number;
  readonly airFlow: number;
}

export interface Unit extends System {
  readonly plant: Plant;
  readonly slots: UnitSlots;
  readonly out: UnitOutputs;
  readonly motion: MotionSlots;
  readonly panel: Panel;
  readonly trip: Trip;
  readonly accounts: readonly Account[];
  /** The state at the start of a run. */
  start(): Float64Array;
  /** Absolute gas pressure, Pa, of a state. */
  gasPressure(y: Float64Array): number;
  gasTemperature(y: Float64Array): number;
  /** Oil level above the inside bottom, m. */
  level(y: Float64Array): number;
  /** Gives a valve a direction from outside the panel, for the reserve: whole strokes, or one of its trip strokes, from 1. */
  command(y: Float64Array, valve: number, direction: number, tripStroke: number, emit: Emit): void;
  /** Lets no further action of the plant happen and no trip logic stir, for the reserve. */
  muteActions(y: Float64Array): void;
  /** Load, N, that a moving or resting piston needs overcome now, friction included. */
  needed(y: Float64Array, valve: number): number;
}

/** Builds the system of a plant. Allocates here; nothing is allocated while it runs. */
export function createUnit(plant: Plant): Unit {
  const { tank, valves, pumps, compressors, safetyValve, tick_s, scanTicks, ambientPressure_Pa: pAmbient } = plant;
  const nV = valves.length;
  const nP = pumps.length;
  const nC = compressors.length;
  const { ambient, relativeHumidity } = plant;
  const rhoG = plant.oil.density_kg_m3 * GRAVITY;
  const start = plant.start;
  const gasVolume0 = tank.volume_m3 - start.oilVolume_m3;
  const mass0 = (start.gasPressure_Pa * gasVolume0) / (R_AIR * start.gasTemperature_K);
  const energy0 = mass0 * CV_AIR * start.gasTemperature_K;
  const { dissolvedAir, outletShutOff } = tank;
  const freshAir_kg_m3 = dissolvedAir.solubility_kg_m3Pa * pAmbient;
  const BIG = Number.MAX_SAFE_INTEGER;

  // ---- Slots
  const b = layoutBuilder();
  const energy = b.integrated({ name: 'air.energy', unit: 'J', min: 0, max: Infinity, scale: energy0 });
  const airMass = b.integrated({ name: 'air.mass', unit: 'kg', min: 0, max: Infinity, scale: mass0 });
  // A tank drained to its floor is empty but for a rounding either way.
  const oil = b.integrated({
    name: 'tank.oil',
    unit: 'm3',
    min: -1e-12 * tank.volume_m3,
    max: tank.volume_m3,
    scale: tank.volume_m3,
  });
  const wall = b.integrated({ name: 'shell.temperature', unit: 'K', min: 0, max: 2000, scale: 300 });
  const sump = b.integrated({
    name: 'sump.oil',
    unit: 'm3',
    min: -Infinity,
    max: Infinity,
    scale: plant.sump.capacity_m3,
  });
  const dissolved = b.integrated({ name: 'oil.air', unit: 'kg', min: -1e-9, max: Infinity, scale: mass0 });
  const x = b.size();
  for (const v of valves) b.integrated({ name: `${v.tag}.position`, unit: '1', min: 0, max: 1, scale: 1 });
  const pumped = b.size();
  for (const p of pumps) b.total(`${p.tag}.pumped`, 'm3');
  const compressed = b.size();
  for (const c of compressors) b.total(`${c.tag}.delivered`, 'kg');
  const condensate = b.size();
  for (const c of compressors) b.total(`${c.tag}.condensate`, 'kg');
  const motorEnergy = b.size();
  for (const m of [...pumps, ...compressors]) b.total(`${m.tag}.work`, 'J');
  const safetyOut = b.total('safetyValve.blown', 'kg');
  const airLeaked = b.total('air.leaked', 'kg');
  const oilLeaked = b.total('oil.leaked', 'm3');
  const drained = b.total('oil.drained', 'm3');
  const vented = b.total('air.vented', 'kg');
  const overflowed = b.total('sump.overflowed', 'm3');
  const wentIntoOil = b.total('air.wentIntoOil', 'kg');
  const leftWithOil = b.total('air.leftWithOil', 'kg');
  const cameWithOil = b.total('air.cameWithOil', 'kg');
  // Four ways for the oil of each cylinder: tank -> head side, head side -> sump, tank -> rod side, rod side -> sump.
  const ways = b.size();
  for (const v of valves)
    for (const w of ['tankToHead', 'headToSump', 'tankToRod', 'rodToSump']) b.total(`${v.tag}.${w}`, 'm3');
  const internal = b.size();
  for (const v of valves) b.total(`${v.tag}.internalLeak`, 'm3');
  const enthalpyIn = b.total('air.enthalpyIn', 'J');
  const enthalpyOut = b.total('air.enthalpyOut', 'J');
  const work = b.total('air.work', 'J');
  const heat = b.total('air.heat', 'J');
  const ambientHeat = b.total('shell.heatFromAmbient', 'J');

  const safetyOpen = b.discrete('safetyValve.open', 'bit', 0, 1);
  const gasInHeader = b.discrete('header.gas', 'bit', 0, 1);
  const sumpDry = b.discrete('sump.dry', 'bit', 0, 1);
  const sumpFull = b.discrete('sump.full', 'bit', 0, 1);
  const outletShut = b.discrete('outlet.shut', 'bit', 0, 1);
  const tankFull = b.discrete('tank.full', 'bit', 0, 1);
  const nextAction = b.discrete('actions.next', '1', 0, BIG);
  const scanAt = b.discrete('scan.at', 'tick', -1, BIG);
  const motion = motionSlots(b, valves);
  const panel = createPanel(plant, b);
  const trip = createTrip(plant, b, panel.slots, motion);
  const adjust = createAdjust(plant, b);
  const comparisons = plant.conditions.flatMap((c) => c.comparisons);
  const comparisonRaw = b.size();
  comparisons.forEach((_, k) => {
    b.discrete(`condition.${k}`, 'bit', 0, 1);
  });
  const shut = b.size();
  for (const m of [...pumps, ...compressors]) b.discrete(`${m.tag}.isolatedByHand`, 'bit', 0, 1);
  const stepAt = b.discrete('step.at', '1', 0, BIG);
  const stepSince = b.discrete('step.since', 'tick', -1, BIG);
  const a = adjust.slots;
  const layout = b.build();
  const ps = panel.slots;

  // ---- Outputs
  let place = 0;
  const take = (n: number) => {
    const at = place;
    place += n;
    return at;
  };
  const out: UnitOutputs = {
    gasPressure: take(1),
    gasTemperature: take(1),
    headerPressure: take(1),
    returnPressure: take(1),
    headerFlow: take(1),
    returnFlow: take(1),
    safetyFlow: take(1),
    oilLeak: take(1),
    airLeak: take(1),
    ambientTemperature: take(1),
    valveFlow: take(nV),
    thrust: take(nV),
    cavitating: take(nV),
    ownDrop: take(nV),
    pumpFlow: take(nP),
    reliefFlow: take(nP),
    airFlow: take(nC),
  };
  const outputs = new Float64Array(place);

  // ---- Right-hand side
  const network = createNetwork(nV, plant.header, plant.returnMain);
  const active = new Int32Array(nV);
  const pumpOut = new Float64Array(4);
  const airOutput = new Float64Array(3);
  const gamma1 = GAMMA - 1;
  const isothermalEnergy = CV_AIR * start.gasTemperature_K;
  const exchange = tank.exchange;
  const fixedWall = exchange === 'isothermal' || exchange === 'polytropic';

  /** What opposes the piston now, N; a load above specification adds to what opposes only. */
  function loadNow(y: Float64Array, i: number, side: 0 | 1): number {
    const load = opposing(valves[i], side, y[motion.piece + i], y[x + i]);
    return load > 0 ? load * y[a.loadFactor + i] : load;
  }

  // The return main with its filter as blocked as it is.
  const mains = new Map<number, LineLeg>([[1, plant.returnMain]]);
  let filterNow = 1;
  let mainNow = plant.returnMain;
  function useFilter(factor: number): void {
    if (factor === filterNow) return;
    mainNow = mains.get(factor) ?? withFilter(plant.returnMain, factor);
    mains.set(factor, mainNow);
    filterNow = factor;
    network.setMain(mainNow);
  }

  // Pumps with their relief valves as they are.
  const pumpNow = pumps.map((p) => ({ ...p }));

  function derivative(time: number, y: Float64Array, rate: Float64Array): void {
    useFilter(y[a.filter]);
    rate.fill(0);
    const tAmbient = ambientAt(ambient, time) + y[a.ambient];
    outputs[out.ambientTemperature] = tAmbient;
    const oilVolume = y[oil];
    const oilComes = y[gasInHeader] === 0 && y[outletShut] === 0;
    const volume = tank.volume_m3 - oilVolume;
    const mass = y[airMass];
    const p = (gamma1 * y[energy]) / volume;
    const temperature = y[energy] / (mass * CV_AIR);
    const pTank = tank.elevated ? p + rhoG * levelOf(tank.tables, oilVolume) : p;
    outputs[out.gasPressure] = p;
    outputs[out.gasTemperature] = temperature;

    // Valves: who takes part in the network, and what drives each at zero header and return flow.
    let count = 0;
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      outputs[out.valveFlow + i] = 0;
      outputs[out.cavitating + i] = 0;
      if (mode !== Mode.moving && mode !== Mode.reverse) continue;
      if (mode === Mode.reverse && y[tankFull] === 1) {
        network.flow[i] = 0;
        continue;
      }
      const v = valves[i];
      const side = y[motion.direction + i] > 0 ? 1 : 0;
      const br = v.branch[side];
      const supply = pTank + v.supplyHead_Pa;
      const thrust =
        supply * br.inArea_m2 -
        (pAmbient + v.returnHead_Pa) * br.outArea_m2 -
        pAmbient * (br.inArea_m2 - br.outArea_m2) +
        springPush(v, side, y[x + i]);
      const load = loadNow(y, i, side);
      network.branches[i] = mode === Mode.moving ? branchNow(v, side, y[motion.piece + i]) : br;
      network.drive[i] = mode === Mode.moving ? thrust - load - v.running_N : thrust - load + v.running_N;
      network.backward[i] = mode === Mode.reverse ? 1 : 0;
      network.open[i] = y[a.open + i];
      network.supplyPressure[i] = supply;
      active[count++] = i;
    }
    network.solve(active, count);
    const pHeader = pTank - network.headerDrop;
    const pReturn = pAmbient + network.returnDrop;
    outputs[out.headerPressure] = pHeader;
    outputs[out.returnPressure] = pReturn;
    outputs[out.headerFlow] = network.totals[0];
    outputs[out.returnFlow] = network.totals[1];

    let fromTank = 0;
    let toSump = 0;
    for (let i = 0; i < nV; i++) {
      const v = valves[i];
      const mode = y[motion.mode + i];
      const s = y[motion.direction + i];
      if (s === 0) {
        outputs[out.thrust + i] = 0;
        continue;
      }
      const side = s > 0 ? 1 : 0;
      const br = v.branch[side];
      const pIn = pHeader + v.supplyHead_Pa;
      // The side of a spring is open to the air.
      const pOut = br.outArea_m2 > 0 ? pReturn + v.returnHead_Pa : pAmbient;
      outputs[out.thrust + i] =
        pIn * br.inArea_m2 -
        pOut * br.outArea_m2 -
        pAmbient * (br.inArea_m2 - br.outArea_m2) +
        springPush(v, side, y[x + i]);
      // Head side takes the incoming oil when the direction is the one the head end drives.
      const headIn = s > 0 === v.headOpens;
      const way = ways + 4 * i;
      if (mode === Mode.moving || mode === Mode.reverse) {
        const q = network.flow[i];
        const drawn = q * br.drawn;
        const back = q * br.ratio;
        outputs[out.valveFlow + i] = q;
        outputs[out.ownDrop + i] =
          (br.inArea_m2 * network.headerSlope + br.outArea_m2 * br.ratio * network.returnSlope) * q;
        outputs[out.cavitating + i] = network.cavitating[i];
        rate[x + i] = (s * q) / (br.area_m2 * v.stroke_m);
        rate[way + (headIn ? 0 : 2)] = drawn;
        rate[way + (headIn ? 3 : 1)] = back;
        fromTank += drawn;
        toSump += back;
      } else if (mode === Mode.drift) {
        // Trapped oil at the pressure the load sets leaks across the piston; the other side fills from the return.
        const load = loadNow(y, i, side);
        const pTrapped =
          (load - v.running_N + pOut * br.outArea_m2 + pAmbient * (br.inArea_m2 - br.outArea_m2)) / br.inArea_m2;
        const q = y[a.sealLeak + i] * Math.sqrt(Math.max(0, pTrapped - pOut));
        const back = q * br.ratio;
        outputs[out.valveFlow + i] = -q;
        rate[x + i] = (-s * q) / (br.inArea_m2 * v.stroke_m);
        rate[way + (headIn ? 1 : 3)] = q;
        rate[way + (headIn ? 3 : 1)] = -back;
        toSump += q - back;
      }
      if (
        y[a.sealLeak + i] > 0 &&
        br.drawn === 1 &&
        mode !== Mode.drift &&
        mode !== Mode.gas &&
        oilComes &&
        !blockedPartWay(y, motion, i)
      ) {
        const q = y[a.sealLeak + i] * Math.sqrt(Math.max(0, pIn - pOut));
        rate[internal + i] = q;
        fromTank += q;
        toSump += q;
      }
    }

    // Pumps: sump -> tank.
    let pumpedIn = 0;
    let ranBack = 0;
    let pumping = false;
    for (let j = 0; j < nP; j++) {
      outputs[out.pumpFlow + j] = 0;
      outputs[out.reliefFlow + j] = 0;
      const isolated = y[a.isolated + j] === 1 || y[shut + j] === 1;
      if (y[ps.running + j] === 1) {
        const pump = pumpNow[j];
        const state = y[a.reliefState + j];
        const cracking = pumps[j].crackingPressure_Pa + y[a.reliefShift + j];
        pump.crackingPressure_Pa = state === ReliefState.open ? 0 : Math.max(0, cracking);
        // Stuck shut it passes a millionth of what it should, so that a dead-headed pump has an answer at all.
        pump.reliefSlope_m3_sPa = pumps[j].reliefSlope_m3_sPa * (state === ReliefState.shut ? 1e-6 : 1);
        const fill = y[sumpDry] === 1 ? 0 : pump.fill * y[a.capacity + j];
        const open = !isolated && y[tankFull] === 0;
        if (open && fill > 0) pumping = true;
        solvePump(pump, pump.line, open, speedFraction(time, y, j, pump.runUp_s), fill, pTank, pAmbient, pumpOut);
        outputs[out.pumpFlow + j] = pumpOut[0];
        outputs[out.reliefFlow + j] = pumpOut[1];
        rate[motorEnergy + j] = pumpOut[3];
      }
      // While the pump delivers nothing a leaking check valve lets oil run back.
      if (outputs[out.pumpFlow + j] === 0 && y[a.checkLeak + j] > 0 && !isolated && pTank > pAmbient && oilComes) {
        const back = y[a.checkLeak + j] * Math.sqrt(pTank - pAmbient);
        outputs[out.pumpFlow + j] = -back;
        ranBack += back;
      }
      rate[pumped + j] = outputs[out.pumpFlow + j];
      pumpedIn += outputs[out.pumpFlow + j];
    }

    // Oil lost to the outside.
    let leak = 0;
    let drain = 0;
    if (p > pAmbient && oilComes) {
      leak = y[a.oilLeak] * Math.sqrt(p - pAmbient);
      drain = y[a.drain] * Math.sqrt(p - pAmbient);
    }
    outputs[out.oilLeak] = leak;
    rate[oilLeaked] = leak;
    rate[drained] = drain;
    const oilRate = pumpedIn - fromTank - leak - drain;
    rate[oil] = oilRate;
    const sumpRate = toSump + drain - pumpedIn;
    const overflow = y[sumpFull] === 1 && sumpRate > 0 ? sumpRate : 0;
    rate[overflowed] = overflow;
    rate[sump] = sumpRate - overflow;

    // Air in solution.
    const inSolution = y[dissolved];
    const dissolving = dissolvingRate(dissolvedAir, inSolution, oilVolume, p, pumping);
    const withOil = oilVolume > 0 ? (inSolution / oilVolume) * (fromTank + leak + drain + ranBack) : 0;
    const withFreshOil = freshAir_kg_m3 * (pumpedIn + ranBack);
    rate[wentIntoOil] = dissolving;
    rate[leftWithOil] = withOil;
    rate[cameWithOil] = withFreshOil;
    rate[dissolved] = dissolving - withOil + withFreshOil;

    // Air in and out.
    let airIn = 0;
    let hIn = 0;
    for (let j = 0; j < nC; j++) {
      outputs[out.airFlow + j] = 0;
      const m = nP + j;
      if (y[ps.running + m] === 0) continue;
      const c = compressors[j];
      if (y[ps.loaded + j] === 0 || y[a.isolated + m] === 1 || y[shut + m] === 1) continue;
      const speed = speedFraction(time, y, m, c.runUp_s) * y[a.capacity + m];
      solveCompressor(c, speed, p, pAmbient, tAmbient, airOutput);
      const w = airOutput[0];
      outputs[out.airFlow + j] = w;
      rate[compressed + j] = w;
      rate[motorEnergy + m] = airOutput[2];
      airIn += w;
      const tDelivery = deliveryTemperature(tAmbient, pAmbient, p, c.exponent, c.coolerApproach_K);
      rate[condensate + j] = w * condensateRatio(relativeHumidity, tAmbient, pAmbient, tDelivery, p);
      hIn += w * CP_AIR * tDelivery;
    }
    let safety = 0;
    if (safetyValve !== undefined && y[safetyOpen] === 1) {
      // Stuck open it is wide open at any pressure; lifting early its whole curve lies lower.
      const felt = y[a.safetyState] === ReliefState.open ? safetyValve.fullLift_Pa : p - y[a.safetyShift];
      safety = safetyValveFlow(safetyValve, true, p, temperature, pAmbient, felt);
    }
    outputs[out.safetyFlow] = safety;
    rate[safetyOut] = safety;
    // Below ambient pressure the leak draws nothing in: it is taken as sealed there.
    const airLeak = y[a.airLeak] > 0 ? nozzleFlow(p, temperature, pAmbient, y[a.airLeak]) : 0;
    outputs[out.airLeak] = airLeak;
    rate[airLeaked] = airLeak;
    const vent = y[a.vent] > 0 ? nozzleFlow(p, temperature, pAmbient, y[a.vent]) : 0;
    rate[vented] = vent;
    const airOut = safety + airLeak + vent;
    const massRate = airIn - airOut - dissolving;
    let hOut = airOut * CP_AIR * temperature;
    if (dissolving > 0) hOut += dissolving * CP_AIR * temperature;
    else hIn -= dissolving * CP_AIR * plant.oil.temperature_K;
    rate[airMass] = massRate;
    rate[enthalpyIn] = hIn;
    rate[enthalpyOut] = hOut;
    const power = -p * oilRate; // p dV/dt, V the volume of the air
    rate[work] = power;

    // Heat into the air.
    let q = 0;
    const tWall = y[wall];
    if (exchange === 'conductance') q = tank.exchangeValue * (tWall - temperature);
    else if (exchange === 'time constant') q = ((mass * CV_AIR) / tank.exchangeValue) * (tWall - temperature);
    else if (exchange === 'natural convection') {
      q = naturalConvectionHeat(temperature, tWall, mass / volume, surfaceOf(tank.tables, oilVolume));
    } else if (exchange === 'isothermal') q = isothermalEnergy * massRate - hIn + hOut + power;
    else if (exchange === 'polytropic') q = ((GAMMA - tank.exchangeValue) / gamma1) * power;
    rate[heat] = q;
    rate[energy] = exchange === 'isothermal' ? isothermalEnergy * massRate : hIn - hOut - power + q;
    if (!fixedWall) {
      const outside = tank.ambientConductance_W_K * (tAmbient - tWall);
      rate[ambientHeat] = outside;
      rate[wall] = (outside - q) / tank.wallHeatCapacity_J_K;
    }
  }

  /** The branch of a moving piston: inside the end cushion another one. */
  function branchNow(v: ValvePlant, side: 0 | 1, piece: number): Branch {
    return v.cushion !== undefined && v.load[side].cushioned?.[piece] === 1
      ? (v.cushion[side] ?? v.branch[side])
      : v.branch[side];
  }

  function speedFraction(time: number, y: Float64Array, m: number, runUp_s: number): number {
    if (runUp_s <= 0) return 1;
    const f = (time - y[ps.startTick + m] * tick_s) / runUp_s;
    return f < 0 ? 0 : f > 1 ? 1 : f;
  }

  // ---- Watches: valves, safety valve, outlet, sump, tank full, brim, shut-off, then contacts. Their order decides ties.
  const contacts = plant.panel.contacts;
  const wSafety = nV;
  const wOutlet = nV + 1;
  const wSump = nV + 2;
  const wFull = nV + 3;
  const wBrim = nV + 4;
  const wShutOff = nV + 5;
  const wContacts = nV + 6;
  const wComparisons = wContacts + contacts.length;
  const watches = createWatches(wComparisons + comparisons.length);
  const contactLevels = contacts.map((c) =>
    c.measured === 'pressure'
      ? { trip: c.trip, reset: c.reset }
      : c.measured === 'sump'
        ? { trip: c.trip * plant.sump.area_m2, reset: c.reset * plant.sump.area_m2 }
        : { trip: tank.vessel.volumeAt(c.trip), reset: tank.vessel.volumeAt(c.reset) },
  );

  function drifted(c: Contact, made: boolean, drift: number): number {
    const at = (made ? c.reset : c.trip) + drift;
    return c.measured === 'pressure' ? at : c.measured === 'sump' ? at * plant.sump.area_m2 : tank.vessel.volumeAt(at);
  }

  function set(j: number, mode: number, slotA: number, a: number, c: number, slotB = -1, bFactor = 0): void {
    watches.mode[j] = mode;
    watches.slotA[j] = slotA;
    watches.a[j] = a;
    watches.c[j] = c;
    watches.slotB[j] = slotB;
    watches.b[j] = bFactor;
  }

  /** sign (p - limit) V >= 0, linear in the state. */
  function setPressure(j: number, mode: number, limit: number, sign: number): void {
    set(j, mode, energy, sign * gamma1, -sign * limit * tank.volume_m3, oil, sign * limit);
  }

  /** Watches comparison k for the change it can make next; bits are read at every scan anyway. */
  function armComparison(y: Float64Array, k: number): void {
    const j = wComparisons + k;
    const { subject, sign, value } = comparisons[k];
    const on = y[comparisonRaw + k] === 1;
    const away = on ? -sign : sign;
    switch (subject.kind) {
      case 'pressure':
        setPressure(j, CONTACT, on ? value - sign * CONDITION_DEADBAND.pressure : value, away);
        break;
      case 'level': {
        const limit = tank.vessel.volumeAt(on ? value - sign * CONDITION_DEADBAND.level : value);
        set(j, CONTACT, oil, away, -away * limit);
        break;
      }
      case 'sumpLevel': {
        const limit = (on ? value - sign * CONDITION_DEADBAND.sumpLevel : value) * plant.sump.area_m2;
        set(j, CONTACT, sump, away, -away * limit);
        break;
      }
      case 'position':
        set(j, CONTACT, x + subject.item, away, -away * (on ? value - sign * CONDITION_DEADBAND.position : value));
        break;
      default:
        watches.mode[j] = OFF;
    }
  }

  function bitOf(y: Float64Array, { subject, value }: Comparison): boolean | undefined {
    if (subject.kind === 'mains') return y[ps.mains] === value;
    if (subject.kind === 'running') return y[ps.running + subject.item] === value;
    return undefined;
  }

  function bitsDiffer(y: Float64Array): boolean {
    for (let k = 0; k < comparisons.length; k++) {
      const bit = bitOf(y, comparisons[k]);
      if (bit !== undefined && bit !== (y[comparisonRaw + k] === 1)) return true;
    }
    return false;
  }

  /** Reads all comparisons. Returns whether any has changed. */
  function readComparisons(y: Float64Array): boolean {
    let changed = false;
    for (let k = 0; k < comparisons.length; k++) {
      const before = y[comparisonRaw + k] === 1;
      const now = bitOf(y, comparisons[k]) ?? before !== reading(watches, wComparisons + k, y) >= 0;
      if (now === before) continue;
      y[comparisonRaw + k] = now ? 1 : 0;
      changed = true;
    }
    return changed;
  }

  const conditionFrom: number[] = [];
  plant.conditions.reduce((from, c) => (conditionFrom.push(from), from + c.comparisons.length), 0);
  function holds(y: Float64Array, n: number): boolean {
    const { comparisons: parts, join } = plant.conditions[n];
    let count = 0;
    for (let k = 0; k < parts.length; k++) count += y[comparisonRaw + conditionFrom[n] + k];
    return join === 'and' ? count === parts.length : count > 0;
  }

  /** Whether a piston that moves, goes or is pushed up. */
  const goesUp = (y: Float64Array, i: number) => y[motion.direction + i] > 0 === (y[motion.mode + i] === Mode.moving);

  /** Where a piston that moves meets the next piece of its load, or the end of its stroke. */
  function nextPlace(y: Float64Array, i: number): number {
    const profile = valves[i].load[y[motion.direction + i] > 0 ? 1 : 0];
    const up = goesUp(y, i);
    const place = profile.x[y[motion.piece + i] + (up ? 1 : 0)];
    if (y[motion.mode + i] !== Mode.moving) return place;
    const target = y[motion.target + i];
    return up ? Math.min(place, target) : Math.max(place, target);
  }

  function arm(y: Float64Array): void {
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      if (mode !== Mode.moving && mode !== Mode.reverse && mode !== Mode.drift) {
        watches.mode[i] = OFF;
        continue;
      }
      const place = nextPlace(y, i);
      if (goesUp(y, i)) set(i, LOCATED, x + i, 1, -place);
      else set(i, LOCATED, x + i, -1, place);
    }
    if (safetyValve === undefined || y[a.safetyState] !== ReliefState.sound) watches.mode[wSafety] = OFF;
    else if (y[safetyOpen] === 1) setPressure(wSafety, LOCATED, safetyValve.reseat_Pa + y[a.safetyShift], -1);
    else setPressure(wSafety, LOCATED, safetyValve.set_Pa + y[a.safetyShift], 1);
    if (y[gasInHeader] === 1 || y[outletShut] === 1) watches.mode[wOutlet] = OFF;
    else set(wOutlet, LOCATED, oil, -1, tank.outletVolume_m3);
    if (nP === 0) watches.mode[wSump] = OFF;
    else if (y[sumpDry] === 1) set(wSump, LOCATED, sump, 1, -plant.sump.priming_m3);
    else set(wSump, LOCATED, sump, -1, plant.sump.suction_m3);
    if (y[tankFull] === 1) set(wFull, LOCATED, oil, -1, FULL_AGAIN * tank.volume_m3);
    else set(wFull, LOCATED, oil, 1, -FULL * tank.volume_m3);
    if (y[sumpFull] === 1) set(wBrim, LOCATED, sump, -1, plant.sump.brim_m3);
    else set(wBrim, LOCATED, sump, 1, -plant.sump.capacity_m3);
    if (outletShutOff === undefined) watches.mode[wShutOff] = OFF;
    else if (y[outletShut] === 1) set(wShutOff, LOCATED, oil, 1, -outletShutOff.open_m3);
    else set(wShutOff, LOCATED, oil, -1, outletShutOff.shut_m3);
    for (let j = 0; j < contacts.length; j++) {
      if (y[a.stuck + j] !== Stuck.free) {
        watches.mode[wContacts + j] = OFF;
        continue;
      }
      const made = y[ps.raw + j] === 1;
      const drift = y[a.drift + j];
      const sound = made ? contactLevels[j].reset : contactLevels[j].trip;
      const limit = drift === 0 ? sound : drifted(contacts[j], made, drift);
      // A low contact makes going down and resets going up; a high one the other way round.
      const sign = contacts[j].low === made ? 1 : -1;
      if (contacts[j].measured === 'pressure') setPressure(wContacts + j, CONTACT, limit, sign);
      else set(wContacts + j, CONTACT, contacts[j].measured === 'sump' ? sump : oil, sign, -sign * limit);
    }
    for (let k = 0; k < comparisons.length; k++) armComparison(y, k);
    // Probes.
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      probing[i] =
        mode === Mode.stuck ||
        mode === Mode.moving ||
        mode === Mode.reverse ||
        mode === Mode.drift ||
        (mode === Mode.end && (mayBePushedBack(y, i) || y[a.sealLeak + i] > 0) && !blockedPartWay(y, motion, i))
          ? 1
          : 0;
      probing[nV + i] = mode === Mode.moving && y[motion.cavitated + i] === 0 ? 1 : 0;
    }
    for (let m = 0; m < nP + nC; m++) probing[2 * nV + m] = motorPlant(m).provenFlow > 0 ? 1 : 0;
    probing[2 * nV + nP + nC] = plant.filterAlarm_Pa > 0 ? 1 : 0;
  }

  const motorPlant = (m: number) => (m < nP ? pumps[m] : compressors[m - nP]);
  const probes = new Float64Array(2 * nV + nP + nC + 1);
  const probing = new Uint8Array(probes.length);

  /** Forces on a resting piston: what forward motion has to spare, and what pushes it back, N. */
  function forwardExcess(y: Float64Array, i: number): number {
    const side = y[motion.direction + i] > 0 ? 1 : 0;
    return outputs[out.thrust + i] - loadNow(y, i, side);
  }

  function probe(y: Float64Array): void {
    useFilter(y[a.filter]);
    for (let i = 0; i < nV; i++) {
      if (probing[i] === 0) continue;
      const v = valves[i];
      const { area_m2: area, drawn } = v.branch[y[motion.direction + i] > 0 ? 1 : 0];
      const spare = forwardExcess(y, i);
      // The friction that falls off once it moves counts towards what keeps it from stopping again at once.
      const falls = v.breakaway_N - v.running_N;
      const enough = Math.max(0, BREAKAWAY_EXCESS_Pa * area - falls);
      const little = STALL_PRESSURE_Pa * area;
      const atStart = y[motion.direction + i] > 0 ? y[x + i] <= 0 : y[x + i] >= 1;
      // A piston that its spring drives has no oil behind it to give.
      const mayGoBack = (mayBePushedBack(y, i) || y[a.sealLeak + i] > 0) && !atStart && drawn === 1;
      const back = mayGoBack ? -spare - v.breakaway_N : -NO_MARGIN;
      switch (y[motion.mode + i]) {
        case Mode.stuck: {
          const onward = Math.max(0, ONWARD_EXCESS_Pa * area - falls);
          const needed = y[motion.firstMotion_s + i] < 0 ? enough : onward;
          probes[i] = Math.max(spare - v.breakaway_N - needed, back - onward);
          break;
        }
        // What would be left to drive it if it stood still: with the lines it shares this is more than what drives it.
        case Mode.moving:
          probes[i] = little - (spare - v.running_N + outputs[out.ownDrop + i]);
          break;
        case Mode.reverse:
          probes[i] = little + (spare + v.running_N + outputs[out.ownDrop + i]);
          break;
        case Mode.end:
          probes[i] = back - enough;
          break;
        default:
          probes[i] = little + (spare + v.running_N);
      }
      probes[nV + i] = outputs[out.cavitating + i] - 0.5;
    }
    for (let m = 0; m < nP + nC; m++) {
      const limit = motorPlant(m).provenFlow;
      if (limit === 0) continue;
      const flow = outputs[m < nP ? out.pumpFlow + m : out.airFlow + m - nP];
      probes[2 * nV + m] = y[ps.proven + m] === 1 ? 0.9 * limit - flow : flow - limit;
    }
    if (plant.filterAlarm_Pa > 0) {
      const q = outputs[out.returnFlow];
      const main = mainNow;
      const dp =
        q < main.bypassFlow_m3_s
          ? main.element_Pas_m3 * q
          : main.bypassOpening_Pa + main.parallel_Pas_m3 * (q - main.bypassFlow_m3_s);
      probes[2 * nV + nP + nC] = y[ps.filterHigh] === 1 ? 0.9 * plant.filterAlarm_Pa - dp : dp - plant.filterAlarm_Pa;
    }
  }

  const timeOf = (y: Float64Array) => y[layout.clock.tick] * tick_s + y[layout.clock.offset];
  const nextScan = (tick: number) => (Math.floor(tick / scanTicks) + 1) * scanTicks;

  function happen(y: Float64Array, marks: Uint8Array, emit: Emit): Change {
    const time = timeOf(y);
    let scan = false;
    let change: Change = PHYSICS;
    for (let i = 0; i < nV; i++) {
      if (marks[i] === 0) continue;
      const place = nextPlace(y, i);
      const forward = y[motion.mode + i] === Mode.moving;
      if (place > 0 && place < 1 && !(forward && place === y[motion.target + i])) {
        y[motion.piece + i] += goesUp(y, i) ? 1 : -1;
        if (change !== PHYSICS) change = LOGIC;
        continue;
      }
      // An end: the rest of the way is booked along the same paths as the way itself.
      placePiston(y, i, place);
      y[motion.mode + i] = forward ? Mode.end : restMode(y, i);
      if (forward) {
        endStroke(y, motion, i, place, time, emit);
        scan = true;
      } else emit(EventCode.valveStopped, i, y[x + i], 0);
    }
    if (marks[wSafety] === 1) {
      y[safetyOpen] = y[safetyOpen] === 1 ? 0 : 1;
      emit(y[safetyOpen] === 1 ? EventCode.safetyValveOpen : EventCode.safetyValveShut, 0, 0, 0);
    }
    if (marks[wOutlet] === 1) {
      y[gasInHeader] = 1;
      emit(EventCode.gasBreakthrough, 0, 0, 0);
      for (let i = 0; i < nV; i++) {
        const mode = y[motion.mode + i];
        if (!drawsOil(valves[i], y[motion.direction + i])) continue;
        if (mode === Mode.moving || mode === Mode.stuck || mode === Mode.reverse) y[motion.mode + i] = Mode.gas;
      }
    }
    if (marks[wSump] === 1) {
      y[sumpDry] = y[sumpDry] === 1 ? 0 : 1;
      emit(y[sumpDry] === 1 ? EventCode.suctionLost : EventCode.suctionBack, 0, 0, 0);
    }
    if (marks[wFull] === 1) {
      y[tankFull] = y[tankFull] === 1 ? 0 : 1;
      emit(y[tankFull] === 1 ? EventCode.tankFull : EventCode.tankNotFull, 0, 0, 0);
    }
    if (marks[wBrim] === 1) {
      y[sumpFull] = y[sumpFull] === 1 ? 0 : 1;
      emit(y[sumpFull] === 1 ? EventCode.sumpOverflows : EventCode.sumpOverflowEnds, 0, 0, 0);
    }
    if (marks[wShutOff] === 1) turnShutOff(y, emit);
    const first = watches.count;
    for (let i = 0; i < nV; i++) {
      // What has just ended its way, or gets no more oil, is asked again before it turns.
      if (marks[first + i] === 1 && marks[i] === 0 && isServed(y, i)) turnMotion(y, i, time, emit);
      if (marks[first + nV + i] === 1) {
        y[motion.cavitated + i] = 1;
        emit(EventCode.valveCavitating, i, y[x + i], 0);
      }
    }
    for (let m = 0; m < nP + nC; m++) {
      if (marks[first + 2 * nV + m] === 0) continue;
      y[ps.proven + m] = y[ps.proven + m] === 1 ? 0 : 1;
      emit(y[ps.proven + m] === 1 ? EventCode.flowProven : EventCode.flowLost, m, 0, 0);
      scan = true;
    }
    if (marks[first + 2 * nV + nP + nC] === 1) {
      y[ps.filterHigh] = y[ps.filterHigh] === 1 ? 0 : 1;
      scan = true;
    }
    if (scan) y[scanAt] = nextScan(y[layout.clock.offset] === 0 ? y[layout.clock.tick] - 1 : y[layout.clock.tick]);
    if (scan && y[scanAt] <= y[layout.clock.done]) y[scanAt] = nextScan(y[layout.clock.tick]);
    return change;
  }

  /** Sets the piston to a position and books the difference. */
  function placePiston(y: Float64Array, i: number, target: number): void {
    const v = valves[i];
    const s = y[motion.direction + i];
    const br = v.branch[s > 0 ? 1 : 0];
    const way = s * (target - y[x + i] + y[layout.rounding + x + i]) * v.stroke_m;
    const into = way * br.inArea_m2;
    const outOf = way * br.outArea_m2;
    y[x + i] = target;
    y[layout.rounding + x + i] = 0;
    if (y[motion.mode + i] === Mode.drift) return;
    const headIn = s > 0 === v.headOpens;
    y[ways + 4 * i + (headIn ? 0 : 2)] += into;
    y[ways + 4 * i + (headIn ? 3 : 1)] += outOf;
    y[oil] -= into;
    y[sump] += outOf;
  }

  /** Whether oil comes to the tank's outlet, or else what a piston that needs it is held by. */
  const oilMode = (y: Float64Array): number =>
    y[gasInHeader] === 1 ? Mode.gas : y[outletShut] === 1 ? Mode.shut : Mode.stuck;

  /** How a piston rests short of its end: where no oil comes it waits for nothing, unless its spring drives it. */
  const restMode = (y: Float64Array, i: number): number =>
    drawsOil(valves[i], y[motion.direction + i]) ? oilMode(y) : Mode.stuck;

  const isServed = (y: Float64Array, i: number): boolean =>
    y[motion.mode + i] !== Mode.gas && y[motion.mode + i] !== Mode.shut;

  /** Whether oil can go back to the tank: no non-return valve holds it, and the outlet is not shut. */
  const mayBePushedBack = (y: Float64Array, i: number): boolean => valves[i].pushedBack && y[outletShut] === 0;

  /** The outlet shuts by itself, or opens again: pistons are held where they are, or wait to set off again. */
  function turnShutOff(y: Float64Array, emit: Emit): void {
    y[outletShut] = y[outletShut] === 1 ? 0 : 1;
    emit(y[outletShut] === 1 ? EventCode.outletShut : EventCode.outletOpen, 0, 0, 0);
    for (let i = 0; i < nV; i++) {
      const mode = y[motion.mode + i];
      const s = y[motion.direction + i];
      if (y[outletShut] === 0) {
        if (mode !== Mode.shut) continue;
        y[motion.mode + i] = restMode(y, i);
        y[motion.piece + i] = pieceAt(valves[i].load[s > 0 ? 1 : 0], y[x + i], s);
      } else if (mode === Mode.moving || mode === Mode.stuck || mode === Mode.reverse) {
        y[motion.mode + i] = restMode(y, i) === Mode.shut ? Mode.shut : mode;
      }
    }
  }

  /** A resting piston sets off, or a moving one comes to rest. */
  function turnMotion(y: Float64Array, i: number, time: number, emit: Emit): void {
    const v = valves[i];
    const mode = y[motion.mode + i];
    const spare = forwardExcess(y, i);
    const s = y[motion.direction + i];
    const profile = v.load[s > 0 ? 1 : 0];
    if (mode === Mode.moving || mode === Mode.reverse || mode === Mode.drift) {
      y[motion.mode + i] = restMode(y, i);
      y[motion.piece + i] = pieceAt(profile, y[x + i], s);
      emit(EventCode.valveStopped, i, y[x + i], 0);
      return;
    }
    if (mode === Mode.stuck && spare > 0) {
      y[motion.mode + i] = Mode.moving;
      y[motion.piece + i] = pieceAt(profile, y[x + i], s);
      if (y[motion.firstMotion_s + i] < 0) y[motion.firstMotion_s + i] = time;
      emit(EventCode.valveMoving, i, y[x + i], 0);
      return;
    }
    const pushed = mayBePushedBack(y, i);
    y[motion.mode + i] = pushed ? Mode.reverse : Mode.drift;
    y[motion.piece + i] = pieceAt(profile, y[x + i], -s);
    emit(pushed ? EventCode.valvePushedBack : EventCode.valveDrifting, i, y[x + i], 0);
  }

  // ---- Ticks
  function atTick(y: Float64Array, tick: number, emit: Emit): Change {
    let change: Change = NOTHING;
    const time = tick * tick_s;
    const actions = plant.actions;
    const commanded = (state: Float64Array, i: number, direction: number, tripStroke: number) => {
      commandValve(state, motion, x, valves[i], i, direction, tripStroke, oilMode(state), time, emit);
      // Already there: what waits for the end of the stroke sees it at the next scan.
      if (state[motion.mode + i] === Mode.end) state[scanAt] = nextScan(tick);
      // A stuck pilot leaves the piston where it is, with the command standing.
      if (state[a.pilotStuck + i] === 1 && state[motion.active + i] === 1) state[motion.mode + i] = Mode.idle;
      change = PHYSICS;
    };
    while (y[nextAction] < actions.length && actions[y[nextAction]].tick <= tick) {
      const { action, item } = actions[y[nextAction]];
      act(y, action, item, tick, emit, commanded);
      y[nextAction]++;
      change = PHYSICS;
      y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    }
    if (endControl(y, tick)) change = PHYSICS;
    for (let n = 0; n < plant.faults.length; n++) if (stepFault(y, n, tick, emit)) change = PHYSICS;
    if (tick % scanTicks !== 0) return change;
    arm(y);
    if (readComparisons(y)) {
      if (change === NOTHING) change = LOGIC;
      for (let n = 0; n < plant.faults.length; n++) if (stepFault(y, n, tick, emit)) change = PHYSICS;
      arm(y);
    }
    if (takeSteps(y, tick, emit, commanded)) {
      change = PHYSICS;
      endControl(y, tick);
      arm(y);
    }
    const moved = panel.scan(y, tick, emit, (j) => readsContact(y, j));
    if (moved > change) change = moved;
    if (trip.scan(y, tick, emit, commanded) && change === NOTHING) change = LOGIC;
    // What this scan did to machines, conditions read at the next.
    if (bitsDiffer(y)) y[scanAt] = tick + scanTicks;
    return change;
  }

  /** Control power that nothing holds, or no longer, dies. Returns whether it did. */
  function endControl(y: Float64Array, tick: number): boolean {
    if (y[ps.controlEnds] < 0 || tick < y[ps.controlEnds] || y[ps.mains] === 1) return false;
    y[ps.control] = 0;
    y[ps.controlEnds] = -1;
    y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    return true;
  }

  function readsContact(y: Float64Array, j: number): boolean {
    if (y[a.stuck + j] !== Stuck.free) return y[a.stuck + j] === Stuck.on;
    return (y[ps.raw + j] === 1) !== reading(watches, wContacts + j, y) >= 0;
  }

  /** Goes on with the steps of the hands as far as this scan allows. Returns whether anything was done. */
  function takeSteps(
    y: Float64Array,
    tick: number,
    emit: Emit,
    commanded: (y: Float64Array, i: number, direction: number, tripStroke: number) => void,
  ): boolean {
    let done = false;
    while (y[stepAt] < plant.steps.length) {
      const n = y[stepAt];
      const step = plant.steps[n];
      if (y[stepSince] < 0) {
        y[stepSince] = tick;
        done = true;
        emit(EventCode.stepBegins, n, 0, 0);
        if (step.action !== undefined) act(y, step.action, step.item, tick, emit, commanded);
      }
      const waited = tick - y[stepSince];
      const met = step.condition >= 0 ? holds(y, step.condition) : waited >= step.wait_ticks;
      // What was just done shows in the readings only from the next scan on.
      if (step.condition >= 0 && waited === 0 && step.action !== undefined) return done;
      const given = step.condition >= 0 && waited >= step.patience_ticks;
      if (!met && !given) return done;
      emit(EventCode.stepEnds, n, met ? StepEnd.asMeant : StepEnd.outOfPatience, 0);
      y[stepAt] = n + 1;
      y[stepSince] = -1;
      done = true;
    }
    return done;
  }

  /** Begins or ends fault n if its time has come. Returns whether it did. */
  function stepFault(y: Float64Array, n: number, tick: number, emit: Emit): boolean {
    const f = plant.faults[n];
    if (y[a.state + n] === FaultState.waiting) {
      const due = f.tick >= 0 ? tick >= f.tick : holds(y, f.condition);
      if (!due) return false;
      y[a.state + n] = FaultState.active;
      y[a.ends + n] = f.duration_ticks > 0 ? tick + f.duration_ticks : -1;
      emit(EventCode.faultBegins, n, 0, 0);
      turnFault(y, n, true, tick, emit);
      return true;
    }
    if (y[a.state + n] !== FaultState.active || y[a.ends + n] < 0 || tick < y[a.ends + n]) return false;
    y[a.state + n] = FaultState.over;
    y[a.ends + n] = -1;
    emit(EventCode.faultEnds, n, 0, 0);
    turnFault(y, n, false, tick, emit);
    return true;
  }

  /** What a fault changes beside adjustable numbers: starters, selectors, wires, pilots, the safety valve. */
  function turnFault(y: Float64Array, n: number, on: boolean, tick: number, emit: Emit): void {
    const { name, item } = plant.faults[n];
    adjust.apply(y);
    y[scanAt] = Math.ceil(tick / scanTicks) * scanTicks;
    switch (name) {
      case 'fails to start':
        y[ps.blocked + item] = on ? 1 : 0;
        break;
      case 'trips':
        if (!on) break;
        y[ps.tripped + item] = 1;
        emit(EventCode.motorTripped, item, 0, 0);
        panel.stopMotor(y, item, tick, emit);
        break;
      case 'left in off':
      case 'left in hand':
        y[ps.selector + item] = on
          ? name === 'left in off'
            ? Selector.off
            : Selector.hand
          : motorPlant(item).selector;
        emit(EventCode.selectorSet, item, y[ps.selector + item], 0);
        break;
      case 'wire broken':
        y[ps.circuit + item] = on ? Circuit.broken : Circuit.sound;
        break;
      case 'pilot stuck':
        // Freed, the pilot follows the command that stands.
        if (!on && y[motion.active + item] === 1 && y[motion.mode + item] === Mode.idle) {
          y[motion.mode + item] = restMode(y, item);
        }
        break;
      case 'relief stuck open':
      case 'relief stuck shut':
        if (item < 0) y[safetyOpen] = on && name === 'relief stuck open' ? 1 : 0;
        break;
    }
  }

  function act(
    y: Float64Array,
    action: Action,
    item: number,
    tick: number,
    emit: Emit,
    commanded: (y: Float64Array, i: number, direction: number, tripStroke: number) => void,
  ): void {
    const eachMotor = (f: (m: number) => void) => {
      for (let m = 0; m < nP + nC; m++) if (item < 0 || item === m) f(m);
    };
    switch (action) {
      case 'lose mains':
        if (y[ps.mains] === 0) break;
        emit(EventCode.mainsLost, 0, 0, 0);
        panel.mainsLost(y, tick, emit);
        break;
      case 'restore mains':
        if (y[ps.mains] === 1) break;
        emit(EventCode.mainsBack, 0, 0, 0);
        panel.mainsBack(y, tick);
        break;
      case 'open valve':
      case 'close valve':
        if (trip.allows(y, item, emit)) commanded(y, item, action === 'open valve' ? 1 : -1, 0);
        break;
      case 'trip motor':
        eachMotor((m) => {
          y[ps.tripped + m] = 1;
          emit(EventCode.motorTripped, m, 0, 0);
          panel.stopMotor(y, m, tick, emit);
        });
        break;
      case 'block start':
      case 'allow start':
        eachMotor((m) => {
          y[ps.blocked + m] = action === 'block start' ? 1 : 0;
          emit(EventCode.startBlocked, m, y[ps.blocked + m], 0);
        });
        break;
      case 'set to auto':
      case 'set to off':
      case 'set to hand':
        eachMotor((m) => {
          y[ps.selector + m] = action === 'set to off' ? 0 : action === 'set to auto' ? 1 : 2;
          emit(EventCode.selectorSet, m, y[ps.selector + m], 0);
        });
        break;
      case 'open drain':
      case 'close drain':
        y[a.drain] = action === 'open drain' ? plant.drain : 0;
        emit(EventCode.handValve, 0, y[a.drain] > 0 ? 1 : 0, 0);
        break;
      case 'open vent':
      case 'close vent':
        y[a.vent] = action === 'open vent' ? plant.ventArea_m2 : 0;
        emit(EventCode.handValve, 1, y[a.vent] > 0 ? 1 : 0, 0);
        break;
      case 'shut isolation':
      case 'open isolation':
        eachMotor((m) => {
          y[shut + m] = action === 'shut isolation' ? 1 : 0;
          emit(EventCode.isolationSet, m, y[shut + m], 0);
        });
        break;
      case 'acknowledge':
        panel.acknowledge(y, emit);
        break;
      case 'reset motor':
        eachMotor((m) => {
          y[ps.tripped + m] = 0;
          y[ps.failed + m] = 0;
          emit(EventCode.resetDone, m, 0, 0);
        });
        break;
      case 'reset trip':
        if (trip.reset(y, emit)) emit(EventCode.resetDone, -1, 0, 0);
        break;
    }
  }

  function nextDue(y: Float64Array, tick: number): number {
    let due = Infinity;
    if (y[nextAction] < plant.actions.length) due = Math.max(tick + 1, plant.actions[y[nextAction]].tick);
    if (y[scanAt] > tick && y[scanAt] < due) due = y[scanAt];
    if (y[stepAt] < plant.steps.length) {
      const step = plant.steps[y[stepAt]];
      const since = y[stepSince];
      const wait = step.condition >= 0 ? (tick - since < scanTicks ? scanTicks : step.patience_ticks) : step.wait_ticks;
      const at = since < 0 ? nextScan(tick) : Math.ceil((since + wait) / scanTicks) * scanTicks;
      if (at > tick && at < due) due = at;
    }
    for (let n = 0; n < plant.faults.length; n++) {
      const at = y[a.state + n] === FaultState.waiting ? plant.faults[n].tick : y[a.ends + n];
      if (at >= 0 && y[a.state + n] !== FaultState.over && at < due) due = Math.max(at, tick + 1);
    }
    due = Math.min(due, nextBend(ambient, tick));
    due = panel.nextDue(y, tick, due);
    return trip.nextDue(y, tick, due);
  }

  // ---- Margins: the least over each stroke, from the ends and the middle of every piece of a step.
  const middle = new Float64Array(nV);
  const middle_Pa = new Float64Array(nV);
  const middleX = new Float64Array(nV);
  let middleTime = -1;

  function needed(y: Float64Array, i: number): number {
    const v = valves[i];
    const load = loadNow(y, i, y[motion.direction + i] > 0 ? 1 : 0);
    return load + (y[motion.mode + i] === Mode.moving ? v.running_N : v.breakaway_N);
  }

  function inside(y: Float64Array, time: number): void {
    middleTime = time;
    for (let i = 0; i < nV; i++) {
      if (y[motion.active + i] === 0) continue;
      const need = needed(y, i);
      const area = valves[i].branch[y[motion.direction + i] > 0 ? 1 : 0].area_m2;
      const spare = outputs[out.thrust + i] - need;
      middle[i] = need > 0 ? spare / need : NO_MARGIN;
      middle_Pa[i] = spare / area;
      middleX[i] = y[x + i];
    }
  }

  function settled(y: Float64Array, time: number): void {
    for (let i = 0; i < nV; i++) {
      if (y[motion.active + i] === 0) continue;
      const mode = y[motion.mode + i];
      if (mode !== Mode.moving && mode !== Mode.stuck) continue;
      const need = needed(y, i);
      const area = valves[i].branch[y[motion.direction + i] > 0 ? 1 : 0].area_m2;
      const spare = outputs[out.thrust + i] - need;
      const margin = need > 0 ? spare / need : NO_MARGIN;
      const before = y[motion.before + i];
      if (middleTime >= 0 && before < NO_MARGIN && margin < NO_MARGIN) {
        // A least value inside the piece: the vertex of the parabola through start, middle and end.
        const low = middle[i];
        const bend = before + margin - 2 * low;
        const vertex = low < before && low < margin && bend > 0 ? low - (margin - before) ** 2 / (8 * bend) : low;
        noteMargin(y, motion, i, vertex, middle_Pa[i], middleTime, middleX[i]);
      }
      noteMargin(y, motion, i, margin, spare / area, time, y[x + i]);
      y[motion.before + i] = margin;
    }
    middleTime = -1;
  }

  // ---- Ledger
  const pathsOf = (i: number) => ways + 4 * i;
  // What compensated summation still owes counts: 1 - x of a valve that has only just left x = 1 has few digits without.
  const opened = (y: Float64Array, i: number) => y[x + i] - y[layout.rounding + x + i];
  const closed = (y: Float64Array, i: number) => 1 - y[x + i] + y[layout.rounding + x + i];
  const headVolume = (y: Float64Array, i: number) =>
    valves[i].headArea_m2 * valves[i].stroke_m * (valves[i].headOpens ? opened(y, i) : closed(y, i));
  const rodVolume = (y: Float64Array, i: number) =>
    valves[i].rodArea_m2 * valves[i].stroke_m * (valves[i].headOpens ? closed(y, i) : opened(y, i));
  const each = (n: number, f: (i: number) => (readonly [number, 1 | -1])[]) =>
    Array.from({ length: n }, (_, i) => f(i)).flat();
  // A spring-return cylinder has oil on the side that works against the spring.
  const oilOnHead = (v: ValvePlant) => v.spring === undefined || v.spring.direction < 0 === v.headOpens;
  const oilOnRod = (v: ValvePlant) => v.spring === undefined || !oilOnHead(v);
  const accounts: Account[] = [
    account('oil in the tank', 'm3', (y) => y[oil], [
      ...each(nP, (j) => [[pumped + j, 1]]),
      ...each(nV, (i) => [
        [pathsOf(i), -1],
        [pathsOf(i) + 2, -1],
        [internal + i, -1],
      ]),
      [oilLeaked, -1],
      [drained, -1],
    ]),
    account('oil in the sump', 'm3', (y) => y[sump], [
      ...each(nP, (j) => [[pumped + j, -1]]),
      ...each(nV, (i) => [
        [pathsOf(i) + 1, 1],
        [pathsOf(i) + 3, 1],
        [internal + i, 1],
      ]),
      [drained, 1],
      [overflowed, -1],
    ]),
    ...valves.flatMap((v, i) => [
      account(
        `oil on the head side of ${v.tag}`,
        'm3',
        (y) => (oilOnHead(v) ? headVolume(y, i) : 0),
        [
          [pathsOf(i), 1],
          [pathsOf(i) + 1, -1],
        ],
        v.headArea_m2 * v.stroke_m,
      ),
      account(
        `oil on the rod side of ${v.tag}`,
        'm3',
        (y) => (oilOnRod(v) ? rodVolume(y, i) : 0),
        [
          [pathsOf(i) + 2, 1],
          [pathsOf(i) + 3, -1],
        ],
        v.rodArea_m2 * v.stroke_m,
      ),
    ]),
    account('air in the tank', 'kg', (y) => y[airMass], [
      ...each(nC, (j) => [[compressed + j, 1]]),
      [safetyOut, -1],
      [airLeaked, -1],
      [vented, -1],
      [wentIntoOil, -1],
    ]),
    account('air in the oil', 'kg', (y) => y[dissolved], [
      [wentIntoOil, 1],
      [leftWithOil, -1],
      [cameWithOil, 1],
    ]),
    account('energy of the air', 'J', (y) => y[energy], [
      [enthalpyIn, 1],
      [enthalpyOut, -1],
      [work, -1],
      [heat, 1],
    ]),
    ...(fixedWall
      ? []
      : [
          account('energy of the shell', 'J', (y) => tank.wallHeatCapacity_J_K * y[wall], [
            [ambientHeat, 1],
            [heat, -1],
          ]),
        ]),
  ];

  function startState(): Float64Array {
    const y = newState(layout);
    y[energy] = energy0;
    y[airMass] = mass0;
    y[oil] = start.oilVolume_m3;
    y[wall] = start.wallTemperature_K;
    y[sump] = start.sumpVolume_m3;
    y[dissolved] = dissolvedAir.solubility_kg_m3Pa * start.gasPressure_Pa * start.oilVolume_m3;
    y[sumpDry] = start.sumpVolume_m3 <= plant.sump.suction_m3 ? 1 : 0;
    y[sumpFull] = start.sumpVolume_m3 >= plant.sump.capacity_m3 ? 1 : 0;
    y[outletShut] = outletShutOff !== undefined && start.oilVolume_m3 <= outletShutOff.shut_m3 ? 1 : 0;
    y[gasInHeader] = start.oilVolume_m3 <= tank.outletVolume_m3 ? 1 : 0;
    y[scanAt] = -1;
    adjust.start(y);
    y[stepSince] = -1;
    for (let i = 0; i < nV; i++) {
      y[x + i] = valves[i].position;
      y[motion.commanded_s + i] = -1;
      y[motion.firstMotion_s + i] = -1;
      y[motion.least + i] = NO_MARGIN;
      y[motion.least_Pa + i] = NO_MARGIN;
      y[motion.before + i] = NO_MARGIN;
      y[motion.least_s + i] = -1;
      y[trip.slots.since + i] = -1;
      y[trip.slots.pauseSince + i] = -1;
      y[trip.slots.holdEnds + i] = -1;
    }
    y[trip.slots.undervoltageSince] = -1;
    y[trip.slots.controlSeen] = 1;
    y[ps.mains] = 1;
    y[ps.control] = 1;
    y[ps.controlEnds] = -1;
    y[ps.backSince] = -1;
    y[ps.awake] = 1;
    const p = start.gasPressure_Pa;
    // A machine in hand says nothing of what was called.
    const called = (m: MotorPlant) => m.selector === Selector.auto && start.running.includes(m.tag);
    const pumpsRun = pumps.filter(called).length;
    const airRuns = compressors.filter(called).length;
    contacts.forEach((c, j) => {
      const value =
        c.measured === 'pressure'
          ? p
          : c.measured === 'sump'
            ? start.sumpVolume_m3 / plant.sump.area_m2
            : tank.vessel.levelAt(start.oilVolume_m3);
      let made = c.low ? value <= c.trip : value >= c.trip;
      // Between trip and reset a contact shows what came before: a machine that runs was called by it.
      const between = c.low ? value < c.reset : value > c.reset;
      if (between && c.role === 'level.dutyStart' && pumpsRun > 0) made = true;
      if (between && c.role === 'level.standbyStart' && pumpsRun > 1) made = true;
      if (between && c.role === 'pressure.cutIn' && airRuns > 0) made = true;
      if (between && c.role === 'pressure.standbyCutIn' && airRuns > 1) made = true;
      y[ps.raw + j] = made ? 1 : 0;
      y[ps.made + j] = made ? 1 : 0;
      y[ps.rawSince + j] = made ? 0 : -1;
    });
    const made = (role: string) => contacts.some((c, j) => c.role === role && y[ps.made + j] === 1);
    y[ps.normalSeen] = made('level.normal') ? 1 : 0;
    // The latch was set when the level last was normal and is cleared by a refill: without a running pump it stands.
    y[ps.permissive] = (start.permissive ?? (made('level.normal') || pumpsRun === 0)) ? 1 : 0;
    y[ps.pumpCalled] = pumpsRun > 0 ? 1 : 0;
    y[ps.sealDuty] = pumpsRun > 0 ? 1 : 0;
    y[ps.sealStandby] = pumpsRun > 1 ? 1 : 0;
    y[ps.compressorCalled] = airRuns > 0 ? 1 : 0;
    let dutyPump = start.dutyPump;
    let dutyCompressor = start.dutyCompressor;
    for (let m = 0; m < nP + nC; m++) {
      const plantOf = motorPlant(m);
      y[ps.selector + m] = plantOf.selector;
      y[ps.commandedSince + m] = -1;
      y[ps.unprovenSince + m] = -1;
      if (!start.running.includes(plantOf.tag)) continue;
      y[ps.running + m] = 1;
      y[ps.commanded + m] = 1;
      y[ps.commandedSince + m] = 0;
      y[ps.startTick + m] = NEVER_STARTED;
      y[ps.proven + m] = 1;
      if (m < nP && dutyPump < 0) dutyPump = m;
      if (m >= nP && dutyCompressor < 0) dutyCompressor = m - nP;
    }
    y[ps.dutyPump] = Math.max(0, dutyPump);
    y[ps.dutyCompressor] = Math.max(0, dutyCompressor);
    for (let k = 0; k < panel.alarms.length; k++) {
      y[ps.alarmSince + k] = -1;
      y[ps.alarmClearSince + k] = -1;
    }
    return y;
  }

  return {
    plant,
    slots: {
      energy,
      airMass,
      oil,
      wall,
      sump,
      dissolved,
      x,
      safetyOpen,
      gasInHeader,
      sumpDry,
      sumpFull,
      outletShut,
      pumped,
      compressed,
      condensate,
      motorEnergy,
      safetyOut,
      airLeaked,
      oilLeaked,
      overflowed,
      wentIntoOil,
      leftWithOil,
      cameWithOil,
    },
    out,
    motion,
    panel,
    trip,
    accounts,
    layout,
    tick_s,
    scanTicks,
    derivative,
    outputs,
    watches,
    probes,
    probing,
    arm,
    probe,
    happen,
    atTick,
    nextDue,
    inside,
    settled,
    start: startState,
    gasPressure: (y) => (gamma1 * y[energy]) / (tank.volume_m3 - y[oil]),
    gasTemperature: (y) => y[energy] / (y[airMass] * CV_AIR),
    level: (y) => tank.vessel.levelAt(y[oil]),
    command(y, i, direction, tripStroke, emit) {
      commandValve(y, motion, x, valves[i], i, direction, tripStroke, oilMode(y), timeOf(y), emit);
      y[layout.clock.planned] = 0;
    },
    muteActions(y) {
      y[nextAction] = plant.actions.length;
      y[stepAt] = plant.steps.length;
      y[ps.controlEnds] = -1;
      // Trips count as issued, so that nothing follows by itself.
      for (let i = 0; i < nV; i++) {
        y[trip.slots.issued + i] = valves[i].strokes.length;
        y[trip.slots.pauseSince + i] = -1;
        y[trip.slots.holdEnds + i] = LARGE_TICK;
      }
    },
    needed,
  };
}
