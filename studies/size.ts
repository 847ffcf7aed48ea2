/**
 * Is the tank big enough? What the required strokes draw, and the least pressure that moves them with the margin wanted,
 * against the least favourable state the switches permit: by the gauge shortcut and by slow and fast expansion of the air
 * (closed forms of models/air.ts, without flow: all oil is taken as drawn when the neediest valve moves), and by running
 * the unit with other tanks and other pressures until the required set just completes.
 */
import { GAMMA, gaugeShortcutOil, usableOil } from '../models/air.ts';
import type { Plant } from '../models/plant.ts';
import { solvePump } from '../models/pump.ts';
import { buildPlant } from '../scenarios/build.ts';
import { leastWorkingPressure, oilOf, rechargeTime, requiredSet } from '../scenarios/findings/estimates.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import type { EngineOptions } from '../sim/engine.ts';
import { failFrom, permittedStates } from './worst.ts';

export type Method = 'gauge shortcut' | 'isothermal' | 'adiabatic';
export const METHODS: readonly Method[] = ['gauge shortcut', 'isothermal', 'adiabatic'];

/** What one way of reckoning asks for; undefined where no tank, or no pressure looked at, is enough. */
export interface Wanted {
  /** Inside volume of the tank, filled to the same shares, at the lowest cut-in. */
  readonly tank_m3: number | undefined;
  /** Lowest cut-in, absolute, with the tank as it is. */
  readonly pressure_Pa: number | undefined;
}

export interface Filling {
  /** Of the tank. */
  readonly leastOil: number;
  readonly mostOil: number;
  /** What cannot be used. */
  readonly outlet: number;
}

export interface Demand {
  /** Oil that the required set draws. */
  readonly oil_m3: number;
  /** Absolute pressure in the tank from which the neediest stroke moves with the margin wanted, without flow. */
  readonly lowest_Pa: number;
  readonly valve: number;
}

export interface MachineSizes {
  /** From the least level less the required set, to the stop. */
  readonly refill_m3: number;
  /** Free air from the cut-in to the cut-out over oil at the stop. */
  readonly recharge_m3: number;
  /** Free air from no pressure to the cut-out. */
  readonly firstCharge_m3: number;
  /** Delivered against the cut-out. */
  readonly pumpFlow_m3_s: number | undefined;
  readonly freeAir_m3_s: number | undefined;
  /** Times with the machines of the file: with the duty machine alone, and with all. */
  readonly refill_s: readonly [number, number];
  readonly recharge_s: readonly [number, number];
}

export interface SizeAnswer {
  readonly demand: Demand | undefined;
  readonly filling: Filling;
  /** Lowest cut-in, absolute. */
  readonly pressure_Pa: number;
  readonly tank_m3: number;
  /** Least margin beyond the one wanted, of this tank in the least favourable state; met where 0 or more. */
  readonly spare: number;
  readonly met: boolean;
  readonly closed: Readonly<Record<Method, Wanted>>;
  readonly simulated: Wanted;
  /** The next larger of the sizes given, and the margin beyond the wanted one that it has when run. */
  readonly next: { readonly tank_m3: number; readonly spare: number } | undefined;
  readonly machines: MachineSizes;
}

export interface SizeOptions extends EngineOptions {
  readonly sizes_m3?: readonly number[];
  readonly refill_s?: number;
  readonly recharge_s?: number;
  readonly onProgress?: (share: number) => void;
}

/** Tanks are tried from a sixteenth of the one in the file to sixteen times it, pressures up to four times the lowest cut-in. */
const REACH = 16;
const PRESSURE_REACH = 4;

/**
 * The volume [m3] of a tank whose air at the start, p1 absolute, pushes out the oil of a demand before it falls to the lowest
 * pressure, and which holds that oil above its outlet. Undefined where no tank does.
 */
export function closedTank(
  method: Method,
  demand: Demand,
  filling: Filling,
  pressure_Pa: number,
  ambientPressure_Pa: number,
): number | undefined {
  const perAir = drawnPerAir(method, pressure_Pa, demand.lowest_Pa, ambientPressure_Pa);
  const usable = filling.leastOil - filling.outlet;
  if (!(perAir > 0) || !(usable > 0)) return undefined;
  return Math.max(demand.oil_m3 / perAir / (1 - filling.mostOil), demand.oil_m3 / usable);
}

/** Absolute pressure [Pa] from which a tank [m3] full to `filling.mostOil` gives the oil of a demand down to its lowest. */
export function closedPressure(
  method: Method,
  demand: Demand,
  filling: Filling,
  tank_m3: number,
  ambientPressure_Pa: number,
): number | undefined {
  if (tank_m3 * (filling.leastOil - filling.outlet) < demand.oil_m3) return undefined;
  const growth = 1 + demand.oil_m3 / (tank_m3 * (1 - filling.mostOil));
  if (method === 'gauge shortcut') return ambientPressure_Pa + (demand.lowest_Pa - ambientPressure_Pa) * growth;
  return demand.lowest_Pa * growth ** (method === 'adiabatic' ? GAMMA : 1);
}

/** Oil for each volume of air, from one pressure to a lower one. */
function drawnPerAir(method: Method, from_Pa: number, to_Pa: number, ambient_Pa: number): number {
  if (method === 'gauge shortcut') return gaugeShortcutOil(1, from_Pa, to_Pa, ambient_Pa);
  return usableOil(1, from_Pa, to_Pa, method === 'adiabatic' ? GAMMA : 1);
}

/**
 * The values of a unit with a similar tank of another volume: every length of it, every level setting in it grows with the
 * cube root, surfaces with the square of that, so that all shares of filling stay. Faults, steps and hands are left out.
 */
export function withTank(values: ScenarioValues, plant: Plant, volume_m3: number): ScenarioValues {
  const k = Math.cbrt(volume_m3 / plant.tank.volume_m3);
  const { tank, panel, start } = values;
  const scaled = <T extends object>(of: T, keys: readonly (keyof T)[], factor: number): T => {
    const copy = { ...of };
    for (const key of keys) {
      const value = copy[key];
      if (typeof value === 'number') copy[key] = (value * factor) as T[keyof T];
    }
    return copy;
  };
  const level = Object.fromEntries(
    Object.entries(panel.level).map(([name, at]) => [
      name,
      typeof at === 'number' ? at * k : at === undefined ? at : scaled(at, ['at', 'deadband', 'accuracy'], k),
    ]),
  ) as typeof panel.level;
  const longer = scaled(tank, ['insideDiameter', 'straightLength', 'outletLevel', 'sightGlassZero'], k);
  const shutOff = tank.outletShutOff;
  return {
    ...values,
    tank: {
      ...scaled(longer, ['volume'], k ** 3),
      ...(shutOff === undefined ? {} : { outletShutOff: scaled(shutOff, ['level', 'rise'], k) }),
      heat: scaled(tank.heat, ['conductance', 'ambientConductance', 'wallHeatCapacity'], k ** 2),
    },
    panel: { ...panel, level },
    start: scaled(scaled(start, ['level'], k), ['oil'], k ** 3),
    faults: [],
    steps: [],
    actions: [],
  };
}

/** Sizes tank, pressures and machines of a unit. Errors: ProgramFault when the program is at fault. */
export function findSize(values: ScenarioValues, plant: Plant, options: SizeOptions = {}): SizeAnswer {
  const { tank, ambientPressure_Pa } = plant;
  const { pressure_Pa, places } = permittedStates(values, plant);
  const shares = places.map((p) => tank.vessel.volumeAt(p.level_m) / tank.volume_m3);
  const filling = {
    leastOil: Math.min(...shares),
    mostOil: Math.max(...shares),
    outlet: tank.outletVolume_m3 / tank.volume_m3,
  };
  const demand = demandOf(plant);

  /** Least spare margin of a tank in the states that the switches permit, from a pressure. */
  const spareOf = (volume_m3: number, from_Pa: number): number => {
    const other = withTank(values, plant, volume_m3);
    const built = buildPlant(other, () => {});
    if (built === undefined) return -Infinity;
    const k = Math.cbrt(volume_m3 / tank.volume_m3);
    return Math.min(...places.map((p) => failFrom(other, built, from_Pa, p.level_m * k, options)?.spare ?? -Infinity));
  };
  const spare = spareOf(tank.volume_m3, pressure_Pa);
  options.onProgress?.(0.1);

  const none: Wanted = { tank_m3: undefined, pressure_Pa: undefined };
  const closed = Object.fromEntries(
    METHODS.map((m): [Method, Wanted] => [
      m,
      demand === undefined
        ? none
        : {
            tank_m3: closedTank(m, demand, filling, pressure_Pa, ambientPressure_Pa),
            pressure_Pa: closedPressure(m, demand, filling, tank.volume_m3, ambientPressure_Pa),
          },
    ]),
  ) as Record<Method, Wanted>;

  const byTank = (v: number) => spareOf(v, pressure_Pa);
  const byPressure = (p: number) => spareOf(tank.volume_m3, p);
  const tank_m3 =
    demand === undefined ? undefined : leastEnough(byTank, tank.volume_m3 / REACH, tank.volume_m3 * REACH, 1.25, 1e-3);
  options.onProgress?.(0.5);
  const lowest = Math.max(ambientPressure_Pa * 1.01, Math.min(pressure_Pa, demand?.lowest_Pa ?? pressure_Pa) * 0.8);
  const wantedPressure =
    demand === undefined ? undefined : leastEnough(byPressure, lowest, pressure_Pa * PRESSURE_REACH, 1.03, 1e-4);
  options.onProgress?.(0.9);

  const size = options.sizes_m3
    ?.filter((v) => tank_m3 !== undefined && v >= tank_m3)
    .reduce<number | undefined>((a, b) => (a === undefined || b < a ? b : a), undefined);
  return {
    demand,
    filling,
    pressure_Pa,
    tank_m3: tank.volume_m3,
    spare,
    met: spare >= 0,
    closed,
    simulated: { tank_m3, pressure_Pa: wantedPressure },
    next: size === undefined ? undefined : { tank_m3: size, spare: byTank(size) },
    machines: machineSizes(values, plant, filling, demand?.oil_m3 ?? 0, options),
  };
}

/** What the required set asks of the tank; undefined where nothing is required of oil. */
export function demandOf(plant: Plant): Demand | undefined {
  const oil_m3 = oilOf(requiredSet(plant));
  const least = leastWorkingPressure(plant, true);
  if (least === undefined || !(oil_m3 > 0)) return undefined;
  return { oil_m3, lowest_Pa: least.needs_Pa, valve: least.valve };
}

/** The least x from which `spare` is not negative, to a share of itself; undefined where none is found up to `to`. */
function leastEnough(
  spare: (x: number) => number,
  from: number,
  to: number,
  step: number,
  within: number,
): number | undefined {
  let low = from;
  if (spare(low) >= 0) return low;
  let high = low * step;
  while (high <= to && spare(high) < 0) {
    low = high;
    high *= step;
  }
  if (high > to) return undefined;
  while (high / low > 1 + within) {
    const middle = Math.sqrt(low * high);
    if (spare(middle) >= 0) high = middle;
    else low = middle;
  }
  return high;
}

function machineSizes(
  values: ScenarioValues,
  plant: Plant,
  filling: Filling,
  drawn_m3: number,
  { refill_s, recharge_s }: SizeOptions,
): MachineSizes {
  const { tank, pumps, compressors, ambientPressure_Pa } = plant;
  const at = (x: number | { readonly at: number } | undefined) => (typeof x === 'number' ? x : x?.at);
  const cutOut_Pa = at(values.panel.pressure.cutOut) ?? plant.start.gasPressure_Pa;
  const cutIn_Pa = Math.min(cutOut_Pa, at(values.panel.pressure.cutIn) ?? plant.start.gasPressure_Pa);
  const refill_m3 = tank.volume_m3 * (filling.mostOil - filling.leastOil) + drawn_m3;
  const air_m3 = tank.volume_m3 * (1 - filling.mostOil);
  const freeAir = (from_Pa: number) => (air_m3 * (cutOut_Pa - from_Pa)) / ambientPressure_Pa;
  const out = new Float64Array(4);
  const delivered = pumps.map((p) => {
    solvePump(p, p.line, true, 1, p.fill, cutOut_Pa, ambientPressure_Pa, out);
    return out[0];
  });
  const all = delivered.reduce((sum, q) => sum + q, 0);
  const charge = (machines: typeof compressors) =>
    machines.length === 0 ? Infinity : rechargeTime(machines, air_m3, cutIn_Pa, cutOut_Pa, ambientPressure_Pa);
  return {
    refill_m3,
    recharge_m3: freeAir(cutIn_Pa),
    firstCharge_m3: freeAir(ambientPressure_Pa),
    pumpFlow_m3_s: refill_s === undefined ? undefined : refill_m3 / refill_s,
    freeAir_m3_s: recharge_s === undefined ? undefined : freeAir(cutIn_Pa) / recharge_s,
    refill_s: [refill_m3 / (delivered[0] ?? 0), refill_m3 / all],
    recharge_s: [charge(compressors.slice(0, 1)), charge(compressors)],
  };
}
