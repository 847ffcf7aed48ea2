/** What flows in the whole unit, and what it does to the stocks: the right-hand side, put together from the equations of the components. */
import { ReliefState } from './adjust.ts';
import { CP_AIR, CV_AIR, GAMMA, naturalConvectionHeat, nozzleFlow } from './air.ts';
import { blownOff, deliveryTemperature, solveCompressor } from './compressor.ts';
import { dissolvingRate } from './dissolvedAir.ts';
import { levelOf, surfaceOf } from './geometry.ts';
import { condensateRatio } from './moisture.ts';
import { blockedPartWay, Mode, opposing, springPush } from './motion.ts';
import { heatingRate, motorCurrent } from './motor.ts';
import { type Branch, createNetwork } from './network.ts';
import type { Parts } from './parts.ts';
import type { LineLeg } from './pipe.ts';
import type { ValvePlant } from './plant.ts';
import { solvePump } from './pump.ts';
import { safetyValveFlow } from './safetyValve.ts';
import { ambientAt } from './site.ts';

const GRAVITY = 9.80665;
// Places of what one stage of the right-hand side hands to the next.
const VOLUME = 0;
const PRESSURE = 1;
const TEMPERATURE = 2;
const AT_OUTLET = 3;
const AMBIENT = 4;
const OIL_COMES = 5;
const FROM_TANK = 6;
const TO_SUMP = 7;
const PUMPED_IN = 8;
const RAN_BACK = 9;
const PUMPING = 10;
const OIL_LOST = 11;
const AIR_IN = 12;
const AIR_OUT = 13;
const H_IN = 14;

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

/** What flows, and what it does to the stocks. */
export interface Flows {
  /** The right-hand side: rates of every slot into `rate`, and the outputs. */
  derivative(time: number, y: Float64Array, rate: Float64Array): void;
  /** What opposes the piston of a valve in a direction, N. */
  loadNow(y: Float64Array, valve: number, side: 0 | 1): number;
  /** The same with the piston at another position of the piece of the load that it is in. */
  loadAt(y: Float64Array, valve: number, side: 0 | 1, position: number): number;
  /** Pressure drop, Pa, over the return filter at the flow of the outputs. */
  filterDrop(y: Float64Array): number;
  /** Derives anew what was derived from the numbers of the plant. */
  refit(): void;
}

export function createFlows(parts: Parts): Flows {
  const { plant, out, outputs, motion, adjust, panel, motors } = parts;
  const { tank, valves, pumps, compressors, safetyValve, tick_s, start, ambientPressure_Pa: pAmbient } = plant;
  const { ambient, relativeHumidity } = plant;
  const { dissolvedAir } = tank;
  const nV = valves.length;
  const nP = pumps.length;
  const nC = compressors.length;
  const a = adjust.slots;
  const ps = panel.slots;
  const {
    energy,
    airMass,
    oil,
    wall,
    sump,
    dissolved,
    x,
    pumped,
    ranBack,
    compressed,
    condensate,
    motorEnergy,
    relayHeat,
    safetyOut,
    airLeaked,
    oilLeaked,
    drained,
    vented,
    overflowed,
    wentIntoOil,
    leftWithOil,
    cameWithOil,
    ways,
    internal,
    enthalpyIn,
    enthalpyOut,
    work,
    heat,
    ambientHeat,
    safetyOpen,
    gasInHeader,
    sumpDry,
    sumpFull,
    outletShut,
    tankFull,
    shut,
  } = parts.slots;

  const network = createNetwork(nV, plant.header, plant.returnMain);
  const active = new Int32Array(nV);
  const pumpOut = new Float64Array(4);
  const airOutput = new Float64Array(3);
  const gamma1 = GAMMA - 1;
  const exchange = tank.exchange;
  const fixedWall = exchange === 'isothermal' || exchange === 'polytropic';

  /** What opposes the piston now, N; a load above specification adds to what opposes only. */
  function loadAt(y: Float64Array, i: number, side: 0 | 1, position: number): number {
    const load = opposing(valves[i], side, y[motion.piece + i], position);
    return load > 0 ? load * y[a.loadFactor + i] : load;
  }
  const loadNow = (y: Float64Array, i: number, side: 0 | 1): number => loadAt(y, i, side, y[x + i]);

  // The return main with its filter as blocked as it is.
  const mains = new Map<number, LineLeg>();
  let filterNow = 1;
  let mainNow = plant.returnMain;
  function useFilter(factor: number): void {
    if (factor === filterNow) return;
    mainNow = mains.get(factor) ?? withFilter(plant.returnMain, factor);
    mains.set(factor, mainNow);
    filterNow = factor;
    network.setMain(mainNow);
  }
  const now = new Float64Array(15);
  // Pumps with their relief valves as they are.
  const pumpNow = pumps.map((p) => ({ ...p }));
  let rhoG = 0;
  let freshAir_kg_m3 = 0;
  let isothermalEnergy = 0;
  function refit(): void {
    rhoG = plant.oil.density_kg_m3 * GRAVITY;
    freshAir_kg_m3 = dissolvedAir.solubility_kg_m3Pa * pAmbient;
    isothermalEnergy = CV_AIR * start.gasTemperature_K;
    for (let j = 0; j < nP; j++) Object.assign(pumpNow[j], pumps[j]);
    mains.clear();
    mains.set(1, plant.returnMain);
    filterNow = 1;
    mainNow = plant.returnMain;
    network.setMain(mainNow);
  }
  refit();

  function derivative(time: number, y: Float64Array, rate: Float64Array): void {
    // The built-in filling of so few numbers costs as much as the equations of a pump.
    for (let i = 0; i < rate.length; i++) rate[i] = 0;
    readTank(time, y);
    solveValves(y);
    moveValves(y, rate);
    runPumps(time, y, rate);
    moveOil(y, rate);
    dissolveAir(y, rate);
    runCompressors(time, y, rate);
    loseAir(y, rate);
    heatAir(y, rate);
  }

  function readTank(time: number, y: Float64Array): void {
    const volume = tank.volume_m3 - y[oil];
    const p = (gamma1 * y[energy]) / volume;
    now[VOLUME] = volume;
    now[PRESSURE] = p;
    now[TEMPERATURE] = y[energy] / (y[airMass] * CV_AIR);
    now[AT_OUTLET] = tank.elevated ? p + rhoG * levelOf(tank.tables, y[oil]) : p;
    now[AMBIENT] = ambientAt(ambient, time) + y[a.ambient];
    now[OIL_COMES] = y[gasInHeader] === 0 && y[outletShut] === 0 ? 1 : 0;
    outputs[out.gasPressure] = p;
    outputs[out.gasTemperature] = now[TEMPERATURE];
    outputs[out.ambientTemperature] = now[AMBIENT];
  }

  /** Who takes part in the network, and what drives each at zero header and return flow. */
  function solveValves(y: Float64Array): void {
    useFilter(y[a.filter]);
    const pTank = now[AT_OUTLET];
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
    outputs[out.headerPressure] = pTank - network.headerDrop;
    outputs[out.returnPressure] = pAmbient + network.returnDrop;
    outputs[out.headerFlow] = network.totals[0];
    outputs[out.returnFlow] = network.totals[1];
  }

  /** Pistons, and the oil they take from the tank and give to the sump. */
  function moveValves(y: Float64Array, rate: Float64Array): void {
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
      const pIn = outputs[out.headerPressure] + v.supplyHead_Pa;
      // The side of a spring is open to the air.
      const pOut = br.outArea_m2 > 0 ? outputs[out.returnPressure] + v.returnHead_Pa : pAmbient;
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
        now[OIL_COMES] === 1 &&
        !blockedPartWay(y, motion, i)
      ) {
        const q = y[a.sealLeak + i] * Math.sqrt(Math.max(0, pIn - pOut));
        rate[internal + i] = q;
        fromTank += q;
        toSump += q;
      }
    }
    now[FROM_TANK] = fromTank;
    now[TO_SUMP] = toSump;
  }

  /** Sump to tank, or back through a check valve. */
  function runPumps(time: number, y: Float64Array, rate: Float64Array): void {
    const pTank = now[AT_OUTLET];
    let pumpedIn = 0;
    let runsBack = 0;
    now[PUMPING] = 0;
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
        if (open && fill > 0) now[PUMPING] = 1;
        const speed = speedFraction(time, y, j);
        solvePump(pump, pump.line, open, speed, fill, pTank, pAmbient, pumpOut);
        outputs[out.pumpFlow + j] = pumpOut[0];
        outputs[out.reliefFlow + j] = pumpOut[1];
        rate[pumped + j] = pumpOut[0];
        pumpedIn += pumpOut[0];
        rate[motorEnergy + j] = pumpOut[3];
        rate[relayHeat + j] = heating(y, j, pumpOut[3]);
      }
      // While the pump delivers nothing a leaking check valve lets oil run back.
      if (
        outputs[out.pumpFlow + j] === 0 &&
        y[a.checkLeak + j] > 0 &&
        !isolated &&
        pTank > pAmbient &&
        now[OIL_COMES] === 1
      ) {
        const back = y[a.checkLeak + j] * Math.sqrt(pTank - pAmbient);
        outputs[out.pumpFlow + j] = -back;
        rate[ranBack + j] = back;
        runsBack += back;
      }
    }
    now[PUMPED_IN] = pumpedIn;
    now[RAN_BACK] = runsBack;
  }

  /** Oil lost to the outside, and what all of it makes of tank and sump. */
  function moveOil(y: Float64Array, rate: Float64Array): void {
    const over = now[PRESSURE] - pAmbient;
    let leak = 0;
    let drain = 0;
    if (over > 0 && now[OIL_COMES] === 1) {
      leak = y[a.oilLeak] * Math.sqrt(over);
      drain = y[a.drain] * Math.sqrt(over);
    }
    outputs[out.oilLeak] = leak;
    rate[oilLeaked] = leak;
    rate[drained] = drain;
    now[OIL_LOST] = leak + drain;
    rate[oil] = now[PUMPED_IN] - now[RAN_BACK] - now[FROM_TANK] - leak - drain;
    const sumpRate = now[TO_SUMP] + drain - now[PUMPED_IN] + now[RAN_BACK];
    const overflow = y[sumpFull] === 1 && sumpRate > 0 ? sumpRate : 0;
    rate[overflowed] = overflow;
    rate[sump] = sumpRate - overflow;
  }

  /** Air in solution. */
  function dissolveAir(y: Float64Array, rate: Float64Array): void {
    const inSolution = y[dissolved];
    const dissolving = dissolvingRate(dissolvedAir, inSolution, y[oil], now[PRESSURE], now[PUMPING] === 1);
    const withOil = y[oil] > 0 ? (inSolution / y[oil]) * (now[FROM_TANK] + now[OIL_LOST] + now[RAN_BACK]) : 0;
    const withFreshOil = freshAir_kg_m3 * now[PUMPED_IN];
    rate[wentIntoOil] = dissolving;
    rate[leftWithOil] = withOil;
    rate[cameWithOil] = withFreshOil;
    rate[dissolved] = dissolving - withOil + withFreshOil;
  }

  function runCompressors(time: number, y: Float64Array, rate: Float64Array): void {
    const p = now[PRESSURE];
    const tAmbient = now[AMBIENT];
    let airIn = 0;
    let hIn = 0;
    for (let j = 0; j < nC; j++) {
      outputs[out.airFlow + j] = 0;
      const m = nP + j;
      if (y[ps.running + m] === 0) continue;
      const c = compressors[j];
      const speed = speedFraction(time, y, m);
      if (y[ps.loaded + j] === 0) {
        rate[relayHeat + m] = heating(y, m, 0);
        continue;
      }
      // Shut off from the tank it works against its relief valve, and all of its air goes there.
      const isolated = y[a.isolated + m] === 1 || y[shut + m] === 1;
      const discharge = isolated ? c.relief_Pa : Math.min(p, c.relief_Pa);
      solveCompressor(c, speed * y[a.capacity + m], discharge, pAmbient, tAmbient, airOutput);
      const w = airOutput[0] * (1 - blownOff(c.relief_Pa, discharge, pAmbient));
      outputs[out.airFlow + j] = w;
      rate[compressed + j] = w;
      rate[motorEnergy + m] = airOutput[2];
      rate[relayHeat + m] = heating(y, m, airOutput[2]);
      airIn += w;
      const tDelivery = deliveryTemperature(tAmbient, pAmbient, p, c.exponent, c.coolerApproach_K);
      rate[condensate + j] = w * condensateRatio(relativeHumidity, tAmbient, pAmbient, tDelivery, p);
      hIn += w * CP_AIR * tDelivery;
    }
    now[AIR_IN] = airIn;
    now[H_IN] = hIn;
  }

  /** Air through the safety valve, leaks and the vent. */
  function loseAir(y: Float64Array, rate: Float64Array): void {
    const p = now[PRESSURE];
    const temperature = now[TEMPERATURE];
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
    now[AIR_OUT] = safety + airLeak + vent;
  }

  /** Mass and energy of the air, and heat from the wall. */
  function heatAir(y: Float64Array, rate: Float64Array): void {
    const temperature = now[TEMPERATURE];
    const dissolving = rate[wentIntoOil];
    const massRate = now[AIR_IN] - now[AIR_OUT] - dissolving;
    let hIn = now[H_IN];
    let hOut = now[AIR_OUT] * CP_AIR * temperature;
    if (dissolving > 0) hOut += dissolving * CP_AIR * temperature;
    else hIn -= dissolving * CP_AIR * plant.oil.temperature_K;
    rate[airMass] = massRate;
    rate[enthalpyIn] = hIn;
    rate[enthalpyOut] = hOut;
    const power = -now[PRESSURE] * rate[oil]; // p dV/dt, V the volume of the air
    rate[work] = power;
    let q = 0;
    const tWall = y[wall];
    if (exchange === 'conductance') q = tank.exchangeValue * (tWall - temperature);
    else if (exchange === 'time constant') q = ((y[airMass] * CV_AIR) / tank.exchangeValue) * (tWall - temperature);
    else if (exchange === 'natural convection') {
      q = naturalConvectionHeat(temperature, tWall, y[airMass] / now[VOLUME], surfaceOf(tank.tables, y[oil]));
    } else if (exchange === 'isothermal') q = isothermalEnergy * massRate - hIn + hOut + power;
    else if (exchange === 'polytropic') q = ((GAMMA - tank.exchangeValue) / gamma1) * power;
    rate[heat] = q;
    rate[energy] = exchange === 'isothermal' ? isothermalEnergy * massRate : hIn - hOut - power + q;
    if (fixedWall) return;
    const outside = tank.ambientConductance_W_K * (now[AMBIENT] - tWall);
    rate[ambientHeat] = outside;
    rate[wall] = (outside - q) / tank.wallHeatCapacity_J_K;
  }

  /** The branch of a moving piston: inside the end cushion another one. */
  function branchNow(v: ValvePlant, side: 0 | 1, piece: number): Branch {
    return v.cushion !== undefined && v.load[side].cushioned?.[piece] === 1
      ? (v.cushion[side] ?? v.branch[side])
      : v.branch[side];
  }

  /** Speed of a running motor over full speed; one whose rotor is locked, or that started on two phases, does not turn. */
  function speedFraction(time: number, y: Float64Array, m: number): number {
    if (y[a.rotorLocked + m] === 1 || startedOnTwoPhases(y, m)) return 0;
    const runUp_s = motors[m].runUp_s;
    if (runUp_s <= 0) return 1;
    const f = (time - y[ps.rampTick + m] * tick_s) / runUp_s;
    return f < 0 ? 0 : f > 1 ? 1 : f;
  }

  const startedOnTwoPhases = (y: Float64Array, m: number) =>
    y[a.phaseLost + m] >= 0 && y[ps.rampTick + m] >= y[a.phaseLost + m];

  /** Rate, 1/s, at which the overload relay of a running motor heats up. */
  function heating(y: Float64Array, m: number, shaft_W: number): number {
    const { overload, starting, noLoad, ratedPower_W } = motors[m];
    const comesUp = y[ps.comingUp + m] === 1 || y[a.rotorLocked + m] === 1 || startedOnTwoPhases(y, m);
    const current = motorCurrent(comesUp, shaft_W / ratedPower_W, starting, noLoad, y[a.phaseLost + m] >= 0);
    return heatingRate(overload, y[relayHeat + m], current);
  }

  function filterDrop(y: Float64Array): number {
    useFilter(y[a.filter]);
    const q = outputs[out.returnFlow];
    return q < mainNow.bypassFlow_m3_s
      ? mainNow.element_Pas_m3 * q
      : mainNow.bypassOpening_Pa + mainNow.parallel_Pas_m3 * (q - mainNow.bypassFlow_m3_s);
  }

  return { derivative, loadNow, loadAt, filterDrop, refit };
}
