/** Findings on what a panel and its relays make of a motor: proof of running, overload relay, least run. */
import { R_AIR } from '../../models/air.ts';
import { solveCompressor } from '../../models/compressor.ts';
import { FLOW_SWITCH_SHARE, motorCurrent, Proof, timeToTrip } from '../../models/motor.ts';
import type { MotorPlant, Plant } from '../../models/plant.ts';
import { solvePump } from '../../models/pump.ts';
import { formatQuantity } from '../units.ts';
import { atOf, type Look, machinePaths } from './look.ts';

/** What a machine brings at full speed at a tank pressure, m3/s of oil or kg/s of air, and its shaft power. */
export function delivery(
  plant: Plant,
  m: number,
  tank_Pa: number,
): { readonly flow: number; readonly shaft_W: number } {
  const { pumps, compressors, ambientPressure_Pa: ambient, ambientTemperature_K: temperature } = plant;
  const out = new Float64Array(4);
  if (m < pumps.length) {
    const p = pumps[m];
    solvePump(p, p.line, true, 1, p.fill, tank_Pa, ambient, out);
    return { flow: out[0], shaft_W: out[3] };
  }
  solveCompressor(compressors[m - pumps.length], 1, tank_Pa, ambient, temperature, out);
  return { flow: out[0], shaft_W: out[2] };
}

/** What a rise of the level [m] or the pressure [Pa] takes where the machine starts: m3 of oil or kg of air. */
function toRaise({ values: v, plant, oilAt, airAt }: Look, isPump: boolean, rise: number): number {
  const { level } = v.panel;
  const from = atOf(isPump ? level.dutyStart : level.normal);
  if (isPump) return from === undefined ? 0 : oilAt(from + rise) - oilAt(from);
  const air = from === undefined ? plant.tank.volume_m3 - plant.start.oilVolume_m3 : airAt(from);
  return (rise * air) / (R_AIR * plant.ambientTemperature_K);
}

export function findMotors(look: Look): void {
  const { plant } = look;
  const motors: readonly MotorPlant[] = [...plant.pumps, ...plant.compressors];
  motors.forEach((motor, m) => {
    findProof(look, motor, m);
    findRelay(look, motor, m);
    findLeastRun(look, motor, m);
  });
}

/** A machine that takes longer to show that it runs than it is given counts as failed at every start. */
function findProof(look: Look, motor: MotorPlant, m: number): void {
  const { values: v, plant, add, time, length, pressureDifference } = look;
  if (motor.proof === Proof.contact) return;
  const isPump = m < plant.pumps.length;
  const { cutIn } = v.panel.pressure;
  const { flow } = delivery(plant, m, atOf(cutIn) ?? plant.start.gasPressure_Pa);
  const unloaded_s = isPump ? 0 : plant.compressors[m - plant.pumps.length].unloaded_s;
  const byFlow = motor.proof === Proof.flow;
  const takes_s = byFlow
    ? Math.max(unloaded_s, FLOW_SWITCH_SHARE * motor.runUp_s)
    : Math.max(unloaded_s, motor.runUp_s / 2) + toRaise(look, isPump, motor.provenRise) / flow;
  const within_s = motor.proven_ticks * plant.tick_s;
  if (takes_s < within_s || !Number.isFinite(takes_s)) return;
  const path = machinePaths(v)[m];
  const shows = byFlow
    ? 'make its flow switch'
    : isPump
      ? `raise the level by ${length(motor.provenRise)}`
      : `raise the pressure by ${pressureDifference(motor.provenRise)}`;
  const list = isPump ? v.pumps[m] : v.compressors[m - plant.pumps.length];
  add(
    'proof too soon',
    `${motor.tag} takes about ${time(takes_s)} to ${shows} after a start, and has to prove itself within ${time(within_s)}: every start would count as failed`,
    { takes_s, provenWithin_s: within_s },
    [
      list.provenWithin === undefined ? 'panel.provenWithin' : `${path}.provenWithin`,
      ...(byFlow ? [`${path}.unloadedStart`] : [`panel.provenRise.${isPump ? 'level' : 'pressure'}`]),
      `${path}.provenBy`,
    ],
  );
}

/** A relay that trips a sound motor, in its duty or while it comes up to speed. */
function findRelay({ values: v, plant, units, add, pressure, time }: Look, motor: MotorPlant, m: number): void {
  const { overload: relay, starting, noLoad, runUp_s, ratedPower_W } = motor;
  const path = machinePaths(v)[m];
  const percent = (x: number) => formatQuantity(x, 'fraction', units);
  const k = Math.sqrt(relay.tripHeat);
  const top = atOf(v.panel.pressure.cutOut) ?? plant.start.gasPressure_Pa;
  const { shaft_W } = delivery(plant, m, top);
  const current = motorCurrent(false, shaft_W / ratedPower_W, starting, noLoad, false);
  if (current > k * relay.setting) {
    add(
      'overload trips in duty',
      `${motor.tag} takes ${percent(current)} of its full-load current at ${pressure(top)}, and its overload relay trips above ${percent(k * relay.setting)}`,
      { currentShare: current, tripShare: k * relay.setting },
      [`${path}.overload.setting`, `${path}.ratedPower`, path, 'panel.pressure.cutOut'],
    );
  }
  const trips_s = timeToTrip(starting / relay.setting, 0, k, relay.tau_s);
  if (trips_s > runUp_s) return;
  add(
    'overload trips on start',
    `${motor.tag} comes up to speed in ${time(runUp_s)}, and its overload relay trips ${time(trips_s)} after a start from cold`,
    { runUp_s, trips_s },
    [`${path}.runUp`, `${path}.overload.class`, `${path}.overload`, path],
  );
}

/** A least run that carries on past the stop, as far as the high alarm. */
function findLeastRun(look: Look, motor: MotorPlant, m: number): void {
  const { values: v, plant, add, length, pressure, time, oilAt, airAt } = look;
  const least_s = motor.leastRun_ticks * plant.tick_s;
  if (!(least_s > 0)) return;
  const path = machinePaths(v)[m];
  const { level: levels, pressure: pressures } = v.panel;
  const cutIn = atOf(pressures.cutIn);
  const { flow } = delivery(plant, m, cutIn ?? plant.start.gasPressure_Pa);
  if (m < plant.pumps.length) {
    const start = atOf(levels.dutyStart);
    const high = atOf(levels.high);
    if (start === undefined || high === undefined) return;
    const oil = Math.min(oilAt(start) + flow * least_s, plant.tank.volume_m3);
    if (oil < oilAt(high)) return;
    const reached = plant.tank.vessel.levelAt(oil) - plant.tank.sightGlassZero_m;
    add(
      'least run past the high alarm',
      `${motor.tag} started at the duty start runs for at least ${time(least_s)}, up to ${length(reached)}, and high level is at ${length(high)}`,
      { leastRun_s: least_s, reached_m: reached, high_m: high },
      [`${path}.leastRunTime`, 'panel.level.high'],
    );
    return;
  }
  const high = atOf(pressures.high);
  const normal = atOf(levels.normal);
  if (cutIn === undefined || high === undefined) return;
  const air = normal === undefined ? plant.tank.volume_m3 - plant.start.oilVolume_m3 : airAt(normal);
  const delivers_s = Math.max(0, least_s - plant.compressors[m - plant.pumps.length].unloaded_s);
  const reached = cutIn + (flow * delivers_s * R_AIR * plant.ambientTemperature_K) / air;
  if (reached < high) return;
  add(
    'least run past the high alarm',
    `${motor.tag} started at the cut-in runs for at least ${time(least_s)}, up to about ${pressure(reached)}, and high pressure is at ${pressure(high)}`,
    { leastRun_s: least_s, reached_Pa: reached, high_Pa: high },
    [`${path}.leastRunTime`, 'panel.pressure.high'],
  );
}
