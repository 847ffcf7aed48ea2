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

// --- parameter table of the safety valve: here -----------------------------------------------------------------------

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

/** Mass flow [kg/s] to ambient. */
export function safetyValveFlow(
  valve: SafetyValve,
  open: boolean,
  gasPressure_Pa: number,
  gasTemperature_K: number,
  ambientPressure_Pa: number,
): number {
  const lift = safetyValveLift(valve, open, gasPressure_Pa);
  if (lift === 0) return 0;
  const area = lift * valve.dischargeCoefficient * valve.area_m2;
  return nozzleFlow(gasPressure_Pa, gasTemperature_K, ambientPressure_Pa, area);
}
