/**
 * Closed-form estimates for findings: what can be said without a run. They leave out flow, heat and time, each says which;
 * a replay gives the figure.
 */
import { GAMMA, polytropicPressure } from '../../models/air.ts';
import { volumetricEfficiency } from '../../models/compressor.ts';
import { drawsOil, opposing, pieceAt } from '../../models/motion.ts';
import type { CompressorPlant, Plant, ValvePlant } from '../../models/plant.ts';
import type { AmbientCourse } from '../../models/site.ts';

/** A required trip stroke. */
export interface RequiredStroke {
  readonly valve: number;
  /** From 1. */
  readonly stroke: number;
  readonly direction: 1 | -1;
  /** Positions of the piston. */
  readonly from: number;
  readonly to: number;
  /** What it takes from the tank, m3; 0 where a spring drives it. */
  readonly oil_m3: number;
}

/** The required set: every trip stroke of every valve of which something is required. */
export function requiredSet(plant: Plant): RequiredStroke[] {
  return plant.valves.flatMap((v, valve) => {
    if (v.require === undefined) return [];
    let from = v.position;
    return v.strokes.map((way, k): RequiredStroke => {
      const direction = way > 0 ? 1 : -1;
      const to = v.targets[k];
      const travel = Math.max(0, direction * (to - from));
      const area = v.branch[direction > 0 ? 1 : 0].inArea_m2;
      const stroke = { valve, stroke: k + 1, direction, from, to, oil_m3: area * v.stroke_m * travel } as const;
      from = to;
      return stroke;
    });
  });
}

export const oilOf = (strokes: readonly RequiredStroke[]): number => strokes.reduce((sum, s) => sum + s.oil_m3, 0);

/**
 * Absolute pressure [Pa] in the header at which a piston at x just moves, with no flow anywhere: load, spring and friction
 * against the driven area, breakaway friction where it stands, and `margin` times that beyond it. 0 where a spring drives it.
 */
export function staticNeed(
  plant: Plant,
  v: ValvePlant,
  direction: 1 | -1,
  x: number,
  standing: boolean,
  margin = 0,
): number {
  if (!drawsOil(v, direction)) return 0;
  const side = direction > 0 ? 1 : 0;
  const { inArea_m2: into, outArea_m2: out } = v.branch[side];
  const force = opposing(v, side, pieceAt(v.load[side], x, direction), x) + (standing ? v.breakaway_N : v.running_N);
  const ambient = plant.ambientPressure_Pa;
  return (force * (1 + margin) + (ambient + v.returnHead_Pa) * out + ambient * (into - out)) / into - v.supplyHead_Pa;
}

/** Places on a stroke at which its need is looked at: 40 steps and the ends of the pieces of its load. */
function placesOf(v: ValvePlant, { direction, from, to }: RequiredStroke): number[] {
  const even = Array.from({ length: 41 }, (_, k) => from + ((to - from) * k) / 40);
  const low = Math.min(from, to);
  const high = Math.max(from, to);
  return [...even, ...[...v.load[direction > 0 ? 1 : 0].x].filter((x) => x > low && x < high)];
}

export interface Pinch {
  readonly valve: number;
  readonly stroke: number;
  /** Position of the piston. */
  readonly x: number;
  readonly has_Pa: number;
  readonly needs_Pa: number;
}

/**
 * Where the required set comes nearest to standing still, started from a pressure [Pa abs] with so much air [m3]: the air
 * expands along p V^n with the other valves' strokes made and this valve as far as it has come. Leaves out all flow, and
 * with n = 1.4 all heat that comes back. Undefined where nothing is required of oil.
 */
export function pinchOf(plant: Plant, pressure_Pa: number, air_m3: number, n: number = GAMMA): Pinch | undefined {
  const set = requiredSet(plant).filter((s) => s.oil_m3 > 0);
  const all = oilOf(set);
  let worst: Pinch | undefined;
  // What the same valve has yet to draw after a stroke.
  let later = 0;
  for (let k = set.length - 1; k >= 0; k--) {
    const s = set[k];
    const v = plant.valves[s.valve];
    later = k + 1 < set.length && set[k + 1].valve === s.valve ? later + set[k + 1].oil_m3 : 0;
    for (const x of placesOf(v, s)) {
      const ahead = (s.oil_m3 * (s.to - x)) / (s.to - s.from);
      const has_Pa = polytropicPressure(pressure_Pa, air_m3, air_m3 + all - later - ahead, n);
      const needs_Pa = staticNeed(plant, v, s.direction, x, x === s.from);
      if (worst === undefined || has_Pa - needs_Pa <= worst.has_Pa - worst.needs_Pa)
        worst = { valve: s.valve, stroke: s.stroke, x, has_Pa, needs_Pa };
    }
  }
  return worst;
}

/**
 * The highest static need of the required set, and whose it is; undefined where nothing is required of oil. With margins: of
 * strokes that are to keep the margin wanted of them.
 */
export function leastWorkingPressure(
  plant: Plant,
  withMargins = false,
): { readonly valve: number; readonly needs_Pa: number } | undefined {
  let most: { valve: number; needs_Pa: number } | undefined;
  for (const s of requiredSet(plant)) {
    if (s.oil_m3 === 0) continue;
    const v = plant.valves[s.valve];
    for (const x of placesOf(v, s)) {
      const margin = withMargins ? (v.require?.margin ?? 0) : 0;
      const needs_Pa = staticNeed(plant, v, s.direction, x, x === s.from, margin);
      if (most === undefined || needs_Pa > most.needs_Pa) most = { valve: s.valve, needs_Pa };
    }
  }
  return most;
}

/**
 * Calls an hour of a machine that fills a store between start and stop at a rate while something is drawn from it:
 * 3600/(V/q + V/(Q - q)), symmetric in q and Q - q. 0 where nothing is drawn, or as much as it fills (it never stops).
 * Store and rates in one kind of unit and per second. Source: volume balance.
 */
export function callsPerHour(store: number, fill: number, draw: number): number {
  return draw > 0 && draw < fill && store > 0 ? 3600 / (store / draw + store / (fill - draw)) : 0;
}

/**
 * The most calls an hour whatever is drawn, at half of what the machine fills: Q/(4 V), the volume rule V = t Q/4 of
 * pumping stations. Source: US Army EI 11C201 (UFC 3-240-04A), read.
 */
export function mostCallsPerHour(store: number, fill: number): number {
  return callsPerHour(store, fill, fill / 2);
}

/** Time [s] in which compressors bring air [m3] at ambient temperature from one pressure to another [Pa abs]; no leak. */
export function rechargeTime(
  compressors: readonly CompressorPlant[],
  air_m3: number,
  from_Pa: number,
  to_Pa: number,
  ambient_Pa: number,
): number {
  const steps = 200;
  const step = (to_Pa - from_Pa) / steps;
  let time = 0;
  for (let k = 0; k < steps; k++) {
    const ratio = (from_Pa + (k + 0.5) * step) / ambient_Pa;
    const free = compressors.reduce(
      (sum, c) => sum + c.freeAir_m3_s * volumetricEfficiency(ratio, c.clearance, c.exponent),
      0,
    );
    time += (air_m3 * step) / (ambient_Pa * free);
  }
  return time;
}

/** Lowest and highest ambient temperature of a course, K. */
export function ambientRange(course: AmbientCourse): { readonly coolest_K: number; readonly warmest_K: number } {
  if (course.kind === 'steady') return { coolest_K: course.temperature_K, warmest_K: course.temperature_K };
  if (course.kind === 'day') {
    const swing = Math.abs(course.swing_K);
    return { coolest_K: course.mean_K - swing, warmest_K: course.mean_K + swing };
  }
  return { coolest_K: Math.min(...course.temperature_K), warmest_K: Math.max(...course.temperature_K) };
}

/** Oil in the cylinders, m3: what stands on both sides of each piston at the start; a spring's side holds none. */
export function oilInCylinders(plant: Plant): number {
  return plant.valves.reduce((sum, v) => {
    const head = v.headArea_m2 * (v.headOpens ? v.position : 1 - v.position);
    const rod = v.rodArea_m2 * (v.headOpens ? 1 - v.position : v.position);
    const { spring } = v;
    if (spring === undefined) return sum + v.stroke_m * (head + rod);
    // A spring-return cylinder has oil on the side that works against the spring.
    return sum + v.stroke_m * (spring.direction < 0 === v.headOpens ? head : rod);
  }, 0);
}
