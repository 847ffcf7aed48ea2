/**
 * What the readings of level and pressure together say about the charge of the tank. Water-logged, too little air: air fills
 * less than a stated share of the vessel, or the level is right and the pressure low all the same. Air-bound, too much
 * air: the level is low and the pressure at or above the cut-out all the same. That air should fill a quarter to a half of the vessel: a State's drinking-water advice on hydropneumatic
 * tanks (read); reading level and pressure together: common practice, no source.
 */
import type { Plant } from '../models/plant.ts';
import type { ScenarioValues } from './scenario.ts';
import { formatQuantity, type UnitSystem } from './units.ts';

export interface TankState {
  readonly name: 'water-logged' | 'air-bound';
  /** Why, as a clause with numbers. */
  readonly why: string;
}

/** The state of the tank with so much oil at a pressure; undefined when it is in order. */
export function tankState(
  values: ScenarioValues,
  plant: Plant,
  units: UnitSystem,
  oilVolume_m3: number,
  gasPressure_Pa: number,
): TankState | undefined {
  const { tank } = plant;
  const { level: levels, pressure: pressures } = values.panel;
  const atOf = (x: number | { readonly at: number } | undefined) => (typeof x === 'number' ? x : x?.at);
  const level = tank.vessel.levelAt(oilVolume_m3) - tank.sightGlassZero_m;
  const show = (pa: number) => formatQuantity(pa, 'pressure', units, plant.ambientPressure_Pa);
  const showLevel = (m: number) => formatQuantity(m, 'length', units);

  const share = 1 - oilVolume_m3 / tank.volume_m3;
  if (share < tank.leastAir) {
    const percent = (x: number) => formatQuantity(x, 'fraction', units);
    return { name: 'water-logged', why: `air fills ${percent(share)} of it, and ${percent(tank.leastAir)} is wanted` };
  }
  const normal = atOf(levels.normal) ?? atOf(levels.dutyStart);
  const low = atOf(pressures.low) ?? atOf(pressures.lowLow);
  if (normal !== undefined && low !== undefined && level >= normal && gasPressure_Pa <= low) {
    return {
      name: 'water-logged',
      why: `at ${showLevel(level)} the level is not under normal (${showLevel(normal)}), and yet the pressure is ${show(gasPressure_Pa)}, down at the low alarm (${show(low)})`,
    };
  }
  const lowLevel = atOf(levels.low) ?? atOf(levels.dutyStart);
  const cutOut = atOf(pressures.cutOut) ?? atOf(pressures.high);
  if (lowLevel !== undefined && cutOut !== undefined && level <= lowLevel && gasPressure_Pa >= cutOut) {
    return {
      name: 'air-bound',
      why: `at ${showLevel(level)} the level is low (${showLevel(lowLevel)}), and yet the pressure is ${show(gasPressure_Pa)}, not under ${show(cutOut)}`,
    };
  }
  return undefined;
}
