import { test } from 'vitest';
import { createEngine } from '../../sim/engine.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { branch } from '../../models/network.ts';
import { compileLine } from '../../models/pipe.ts';
import { compileVesselTables, volumeVessel } from '../../models/geometry.ts';
import { createUnit } from '../../models/unit.ts';
import type { Plant, ValvePlant } from '../../models/plant.ts';

const oil = { density_kg_m3: 870, viscosity_m2_s: 46e-6 };
const A = (Math.PI / 4) * 0.2032 ** 2;
const Ar = (Math.PI / 4) * 0.0508 ** 2;
const s = compileLine({ quadratic_Pas2_m6: 8e11 }, oil);
const r = compileLine({ quadratic_Pas2_m6: 4e11 }, oil);
const load = { x: Float64Array.of(0, 1), force: Float64Array.of(12000, 12000), slope: Float64Array.of(0), torque: undefined, cushioned: undefined };
const valve = (i: number, delay: number): ValvePlant => ({ tag: `V-${i}`, service: '', stroke_m: 0.254, headArea_m2: A, rodArea_m2: A - Ar, headOpens: true,
  branch: [branch(A - Ar, A, s, r), branch(A, A - Ar, s, r)], load: [load, load], cushion: undefined, spring: undefined, drive: { kind: 'direct' }, pipeline: undefined, running_N: 0, breakaway_N: 0, leak: 0, pushedBack: false, supplyHead_Pa: 0, returnHead_Pa: 0,
  position: 0, strokes: [1], targets: [1], pause_ticks: 0, tripByControl: false, tripDelay_ticks: delay * 100, pilot: 'detented', offset: 0, hold_ticks: 0, require: undefined });
const vessel = volumeVessel(0.568);
export const plant: Plant = {
  tick_s: 0.01, scanTicks: 1, ambientPressure_Pa: 101325, ambientTemperature_K: 293.15, oil: { ...oil, temperature_K: 293.15 },
  tank: { tag: 'T', vessel, tables: compileVesselTables(vessel), volume_m3: 0.568, outletVolume_m3: 0, exchange: 'conductance', exchangeValue: 14, wallHeatCapacity_J_K: 122500, ambientConductance_W_K: 20, elevated: false, sightGlassZero_m: 0 },
  sump: { tag: 'S', area_m2: 1, depth_m: 1, capacity_m3: 1, suction_m3: 0.1, priming_m3: 0.12 }, pumps: [], compressors: [], safetyValve: undefined,
  header: compileLine({ linear_Pas_m3: 2e6, quadratic_Pas2_m6: 1e10 }, oil), returnMain: compileLine({}, oil), filterAlarm_Pa: 0,
  valves: [0, 0, 0, 4, 8].map((d, i) => valve(i, d)),
  panel: { contacts: [], wideDeadband: true, alternation: 'each call', alternate_ticks: 1, proven_ticks: 500, longestRun_ticks: 0, heldOff_ticks: 180000, alarmDelay_ticks: 200, alarmOffDelay_ticks: 0, alarmsLatch: true },
  power: { controlHeld_ticks: 1e9, undervoltage_ticks: 0, latched: true }, airLeakArea_m2: 0, oilLeak: 0,
  start: { gasPressure_Pa: 145 * 6894.757293168361 + 101325, oilVolume_m3: 0.227, gasTemperature_K: 293.15, wallTemperature_K: 293.15, sumpVolume_m3: 0.5, permissive: undefined, dutyPump: -1, dutyCompressor: -1, running: [] },
  actions: [{ tick: 0, action: 'lose mains', item: -1 }],
};
test('R1', () => {
  for (const rel of [1e-5, 1e-6, 1e-7, 1e-8, 1e-10]) {
    const unit = createUnit(plant);
    const engine = createEngine(unit, { relativeStepError: rel });
    const y0 = unit.start();
    const y = unit.start();
    const rows: string[] = [];
    engine.advance(y, 6000, { sampleTicks: 0, event: (st, code, item, v, o) => rows.push(`${(st[unit.layout.clock.tick] * 0.01 + st[unit.layout.clock.offset]).toFixed(6)} ${code} ${item} ${v.toFixed(6)} ${o}`) });
    if (rel === 1e-8) console.log(rows.join('\n'));
    const ends = rows.filter((x) => x.split(' ')[1] === '21').map((x) => x.split(' ')[0]);
    console.log(rel, 'steps', y[unit.layout.clock.steps], ends.join(' '), (unit.gasPressure(y) / 947404.5 - 1).toExponential(2), (unit.gasTemperature(y) / 282.703982 - 1).toExponential(2), (y[unit.slots.oil] / 0.185814816 - 1).toExponential(2), worstResidual(unit.accounts, y0, y));
    const t0 = performance.now();
    const N = 300;
    for (let k = 0; k < N; k++) { const z = y0.slice(); engine.advance(z, 6000, { sampleTicks: 0 }); }
    console.log('us per outage', ((performance.now() - t0) / N * 1000).toFixed(0));
  }
});
