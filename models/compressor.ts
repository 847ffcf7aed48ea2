/**
 * Air compressor: single stage, reciprocating, delivering into the pressure tank through check valve and cooler.
 *     induced flow     Q = free air x speed x (1 + c - c r^(1/n)) >= 0 [m3/s at ambient],  r = p_flange/p_ambient >= 1
 *     mass flow        w = rho_ambient Q
 *     shaft power      n/(n - 1) p_ambient Q (r^((n - 1)/n) - 1)/eta
 *     delivery         at the temperature of compression, cooled to not more than so far above ambient
 * c is clearance over swept volume; `free air` is the displacement then. With a rated free air delivery c = 0 and
 * `free air` is that figure. Source: reciprocating compressor theory, any textbook of thermodynamics.
 *
 * A relief valve of its own, ahead of check and isolation valve, opens in proportion over its last 5 % of gauge pressure
 * and passes the whole flow at the pressure it is given (common practice, no source). Behind a shut isolation valve, or
 * with more than that in the tank, the compressor works against the relief pressure and all it moves is blown off.
 *
 * Not modelled: the air in the line up to a shut isolation valve, stages, valve losses other than in eta, leakage past
 * the piston, warm-up. Condensate: moisture.ts.
 */

import { compressionTemperature, R_AIR } from './air.ts';
import { motorTable } from './motor.ts';
import { group, number, quantity, text, type Values } from './parameters.ts';

export const compressorTable = {
  tag: text({ tag: true, meaning: 'Tag of the compressor', example: 'C-101' }),
  freeAir: quantity('volumeFlow', {
    meaning: 'Free air delivery as rated, at intake conditions',
    above: 0,
    optional: true,
    example: '6 ft^3/min',
  }),
  displacement: quantity('volumeFlow', {
    meaning: 'Swept volume per time, instead of a free air delivery',
    above: 0,
    optional: true,
    example: '8 ft^3/min',
  }),
  clearance: quantity('fraction', {
    meaning: 'Clearance volume over swept volume, with a displacement',
    min: 0,
    max: 0.3,
    default: 0.05,
    example: '5 %',
  }),
  exponent: number({
    meaning: 'Polytropic exponent of compression (common practice, no source)',
    above: 1,
    max: 1.67,
    default: 1.3,
    example: '1.3',
  }),
  efficiency: quantity('fraction', {
    meaning: 'Efficiency of compressor and drive',
    above: 0,
    max: 1,
    default: 0.75,
    example: '75 %',
  }),
  coolerApproach: quantity('temperatureDifference', {
    meaning: 'Delivered air over ambient temperature behind the cooler (choice: 10 K)',
    min: 0,
    max: 200,
    default: 10,
    example: '18 degF',
  }),
  relief: quantity('pressure', {
    meaning:
      'Pressure at which its own relief valve passes its whole flow; it opens 5 % of the gauge pressure under that. When left out, 10 % over the design pressure of the tank or else over the highest pressure setting (choice)',
    optional: true,
    example: '220 psig',
  }),
  unloadedStart: quantity('time', {
    meaning: 'Runs without delivering for this long after a start',
    min: 0,
    default: 0,
    example: '5 s',
  }),
  ...motorTable,
} as const;
export const compressorGroup = group(compressorTable, {
  meaning: 'An air compressor',
  oneOf: [['freeAir', 'displacement']],
});
export type CompressorValues = Values<typeof compressorTable>;

// --- equations -------------------------------------------------------------------------------------------------------

/** What the equations need of a compressor. */
export interface Compressor {
  /** Displacement, or rated free air delivery where clearance is 0. */
  readonly freeAir_m3_s: number;
  /** Clearance volume over swept volume, 0 to below 1. */
  readonly clearance: number;
  /** Polytropic exponent n of compression and re-expansion, above 1. */
  readonly exponent: number;
  /** Of compressor and drive together, above 0 to 1. */
  readonly efficiency: number;
}

/** Induced volume over swept volume at a pressure ratio: 1 + c - c r^(1/n), never negative. */
export function volumetricEfficiency(ratio: number, clearance: number, exponent: number): number {
  return Math.max(0, 1 + clearance - clearance * Math.max(1, ratio) ** (1 / exponent));
}

/** Displacement [m3/s] of a single-acting cylinder: bore and stroke [m], speed [turns/s]. */
export function displacement(bore_m: number, stroke_m: number, speed_1_s: number): number {
  return (Math.PI / 4) * bore_m * bore_m * stroke_m * speed_1_s;
}

/**
 * Temperature [K] of the air delivered: what compression makes of it, cooled to not more than `approach` [K] above
 * ambient.
 */
export function deliveryTemperature(
  ambientTemperature_K: number,
  ambientPressure_Pa: number,
  flangePressure_Pa: number,
  exponent: number,
  approach_K: number,
): number {
  const ratioPressure = Math.max(flangePressure_Pa, ambientPressure_Pa);
  const hot = compressionTemperature(ambientTemperature_K, ambientPressure_Pa, ratioPressure, exponent);
  return Math.min(hot, ambientTemperature_K + approach_K);
}

/**
 * Writes out[0] mass flow [kg/s], out[1] free air [m3/s at ambient], out[2] shaft power [W] at a pressure [Pa abs] on
 * the flange. speedFraction 0..1. Unloaded, ask with the ambient pressure: no power, and the caller vents the flow.
 */
export function solveCompressor(
  compressor: Compressor,
  speedFraction: number,
  flangePressure_Pa: number,
  ambientPressure_Pa: number,
  ambientTemperature_K: number,
  out: Float64Array,
): void {
  const { clearance: c, exponent: n } = compressor;
  const ratio = Math.max(1, flangePressure_Pa / ambientPressure_Pa);
  const root = ratio ** (1 / n);
  const free = compressor.freeAir_m3_s * speedFraction * Math.max(0, 1 + c - c * root);
  out[0] = (ambientPressure_Pa / (R_AIR * ambientTemperature_K)) * free;
  out[1] = free;
  // r^((n - 1)/n) = r/r^(1/n)
  out[2] = ((n / (n - 1)) * ambientPressure_Pa * free * (ratio / root - 1)) / compressor.efficiency;
}

/** Gauge pressure over which a relief valve opens, over its full-flow pressure (choice). */
const RELIEF_BAND = 0.05;

/** Pressure [Pa abs] at which a relief valve begins to open that passes the whole flow at another. */
export function reliefCracking(relief_Pa: number, ambientPressure_Pa: number): number {
  return relief_Pa - RELIEF_BAND * (relief_Pa - ambientPressure_Pa);
}

/** Share of the flow of a compressor that its relief valve blows off at a discharge pressure [Pa abs], 0..1. */
export function blownOff(relief_Pa: number, discharge_Pa: number, ambientPressure_Pa: number): number {
  const cracking = reliefCracking(relief_Pa, ambientPressure_Pa);
  return Math.min(1, Math.max(0, (discharge_Pa - cracking) / (relief_Pa - cracking)));
}

/** Greatest shaft power [W] at full speed on the way up to a pressure [Pa abs]; with clearance it falls again before the end. */
export function greatestPower(
  compressor: Compressor,
  highestPressure_Pa: number,
  ambientPressure_Pa: number,
  ambientTemperature_K: number,
): number {
  const out = new Float64Array(3);
  let most = 0;
  for (let k = 1; k <= 50; k++) {
    const p = ambientPressure_Pa + ((highestPressure_Pa - ambientPressure_Pa) * k) / 50;
    solveCompressor(compressor, 1, p, ambientPressure_Pa, ambientTemperature_K, out);
    most = Math.max(most, out[2]);
  }
  return most;
}

/**
 * Time [s] to pump a receiver [m3] up from one pressure to another with a free air delivery [m3/s]: V (p2 - p1)/(C
 * p_ambient) divided by the exponent: 1 where the air in the receiver takes the ambient temperature, gamma for an
 * insulated receiver fed at ambient temperature, which fills faster.
 */
export function pumpUpTime(
  volume_m3: number,
  fromPressure_Pa: number,
  toPressure_Pa: number,
  freeAir_m3_s: number,
  ambientPressure_Pa: number,
  exponent = 1,
): number {
  return (volume_m3 * (toPressure_Pa - fromPressure_Pa)) / (freeAir_m3_s * ambientPressure_Pa * exponent);
}
