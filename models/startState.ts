import { newState } from '../sim/layout.ts';
import { CV_AIR, R_AIR } from './air.ts';
import { NO_MARGIN } from './motion.ts';
import { Selector } from './motor.ts';
import type { Parts } from './parts.ts';
import type { MotorPlant } from './plant.ts';

const NEVER_STARTED = -1e9;

/** The state of a plant at the start of a run. */
export function startState(parts: Parts): Float64Array {
  const { plant, layout, motion, adjust, panel, trip, motors } = parts;
  const { tank, valves, pumps, compressors, start } = plant;
  const { dissolvedAir, outletShutOff } = tank;
  const contacts = plant.panel.contacts;
  const nV = valves.length;
  const nP = pumps.length;
  const nC = compressors.length;
  const mass0 = (start.gasPressure_Pa * (tank.volume_m3 - start.oilVolume_m3)) / (R_AIR * start.gasTemperature_K);
  const energy0 = mass0 * CV_AIR * start.gasTemperature_K;
  const ps = panel.slots;
  const {
    energy,
    airMass,
    oil,
    wall,
    sump,
    dissolved,
    x,
    gasInHeader,
    sumpDry,
    sumpFull,
    outletShut,
    scanAt,
    cutAt,
    stepSince,
    relayHeat,
  } = parts.slots;

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
  y[cutAt] = -1;
  adjust.start(y);
  y[stepSince] = -1;
  for (let i = 0; i < nV; i++) {
    y[x + i] = valves[i].position;
    y[motion.commanded_s + i] = -1;
    y[motion.firstMotion_s + i] = -1;
    y[motion.least + i] = NO_MARGIN;
    y[motion.least_Pa + i] = NO_MARGIN;
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
  let lastStart = ps.lastStarts;
  let dutyPump = start.dutyPump;
  let dutyCompressor = start.dutyCompressor;
  for (let m = 0; m < nP + nC; m++) {
    const plantOf = motors[m];
    y[ps.selector + m] = plantOf.selector;
    y[ps.stoppedTick + m] = NEVER_STARTED;
    y[ps.startTooMany + m] = -1;
    for (let k = 0; k <= (plantOf.allowedStarts ?? -1); k++) y[lastStart++] = NEVER_STARTED;
    y[ps.commandedSince + m] = -1;
    y[ps.unprovenSince + m] = -1;
    if (!start.running.includes(plantOf.tag)) continue;
    y[ps.running + m] = 1;
    y[ps.commanded + m] = 1;
    y[ps.commandedSince + m] = 0;
    y[ps.startTick + m] = NEVER_STARTED;
    y[ps.rampTick + m] = NEVER_STARTED;
    // Found running, its relay is as warm as full load makes it.
    y[relayHeat + m] = Math.min(1 / plantOf.overload.setting ** 2, plantOf.overload.resetHeat);
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
