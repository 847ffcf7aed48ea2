/**
 * Safety valve on the air space. It pops: one bit says whether it is open. It opens when the pressure reaches the set
 * pressure and shuts when it has fallen to the reseat pressure; open, its lift is
 *     lift = clamp((p - reseat)/(full - reseat), 0, 1)
 * and its flow that of an ideal nozzle of area lift x Cd x A (air.ts), choked or not.
 * Source: nozzle flow, any textbook; the lift is a choice. Pressures absolute.
 *
 * Not modelled: back pressure on the disc, chatter, inlet pressure loss.
 */

import { nozzleFlow } from './air.ts';
import { group, number, quantity, text } from './parameters.ts';

export const safetyValveTable = {
  tag: text({ tag: true, meaning: 'Tag of the safety valve', default: 'PSV-1', example: 'PSV-301' }),
  set: quantity('pressure', { meaning: 'Set pressure: opens', example: '190 psig' }),
  fullLift: quantity('pressure', {
    meaning: 'Pressure of full lift; 10 % over the set gauge pressure when left out',
    optional: true,
    example: '205 psig',
  }),
  reseat: quantity('pressure', { meaning: 'Pressure at which it shuts again', example: '178 psig' }),
  bore: quantity('length', { meaning: 'Diameter of the flow area', above: 0, max: 1, example: '0.5 in' }),
  dischargeCoefficient: number({ meaning: 'Coefficient of discharge', above: 0, max: 1, default: 0.8, example: '0.8' }),
} as const;
export const safetyValveGroup = group(safetyValveTable, { meaning: 'Safety valve on the air space', optional: true });

// --- equations -------------------------------------------------------------------------------------------------------

/** What the equations need of a safety valve: reseat < set <= full lift. */
export interface SafetyValve {
  readonly set_Pa: number;
  readonly reseat_Pa: number;
  readonly fullLift_Pa: number;
  readonly area_m2: number;
  readonly dischargeCoefficient: number;
}

/** Lift 0..1 at a pressure [Pa]; 0 while shut. */
export function safetyValveLift(valve: SafetyValve, open: boolean, gasPressure_Pa: number): number {
  if (!open) return 0;
  const lift = (gasPressure_Pa - valve.reseat_Pa) / (valve.fullLift_Pa - valve.reseat_Pa);
  return Math.min(1, Math.max(0, lift));
}

/** Mass flow [kg/s] to ambient; `felt` is the pressure [Pa] that decides the lift, where that is another one. */
export function safetyValveFlow(
  valve: SafetyValve,
  open: boolean,
  gasPressure_Pa: number,
  gasTemperature_K: number,
  ambientPressure_Pa: number,
  felt_Pa = gasPressure_Pa,
): number {
  const lift = safetyValveLift(valve, open, felt_Pa);
  if (lift === 0) return 0;
  const area = lift * valve.dischargeCoefficient * valve.area_m2;
  return nozzleFlow(gasPressure_Pa, gasTemperature_K, ambientPressure_Pa, area);
}
