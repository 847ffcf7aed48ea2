/**
 * Oil pump: fixed displacement, with relief valve, check valve and discharge line to the pressure tank. The relief
 * valve returns to the suction side. The node between them is solved for the line flow Q >= 0, P = discharge minus
 * suction pressure:
 *     theoretical flow x speed x fill - slip P = Q + relief(P)        Q in m3/s, P in Pa
 *     P = tank + rise + dp_line(Q) - suction                          while Q > 0; with Q = 0 the check valve is shut
 *     relief(P) = g max(0, P - cracking)                              linear on beyond full flow
 *     slip P    = s Q_rated (P/dp_rated)(nu_rated/nu)
 *     shaft     = P x theoretical flow x speed/eta_m
 * The right side grows with Q and the left one falls, so there is one solution: closed form by cases where the line is
 * dp = a Q + b Q^2, one safeguarded Newton search where it has pipes. A shut isolation valve sends everything over the
 * relief.
 * Source: volume balance; slip and relief characteristic: common practice, no source.
 *
 * Not modelled: flow ripple, relief dynamics, cavitation other than by the cold-suction factor, heating of the oil.
 */

import { assert } from '../sim/fault.ts';
import { lineGroup } from './line.ts';
import { motorTable } from './motor.ts';
import { group, quantity, text, type Values } from './parameters.ts';
import { drop, dropAndSlope, type LineLeg, quadraticFlow } from './pipe.ts';

export const pumpTable = {
  tag: text({ tag: true, meaning: 'Tag of the pump', example: 'P-101' }),
  ratedFlow: quantity('volumeFlow', { meaning: 'Theoretical flow at full speed', above: 0, example: '5.5 gal/min' }),
  ratedPressure: quantity('pressureDifference', {
    meaning: 'Pressure at which the slip is stated',
    above: 0,
    default: 1e6,
    example: '150 psi',
  }),
  slip: quantity('fraction', {
    meaning: 'Share of the flow lost at the rated pressure in oil of the rated viscosity',
    min: 0,
    max: 0.9,
    default: 0.05,
    example: '5 %',
  }),
  ratedViscosity: quantity('kinematicViscosity', {
    meaning: 'Viscosity at which the slip is stated',
    above: 0,
    default: 46e-6,
    example: '46 mm^2/s',
  }),
  efficiency: quantity('fraction', {
    meaning: 'Mechanical efficiency',
    above: 0,
    max: 1,
    default: 0.85,
    example: '85 %',
  }),
  thickestOil: quantity('kinematicViscosity', {
    meaning: 'Viscosity above which its suction draws less, in proportion (choice: 1000 mm^2/s)',
    above: 0,
    default: 1e-3,
    example: '850 mm^2/s',
  }),
  relief: group(
    {
      cracking: quantity('pressure', {
        meaning: 'Discharge pressure at which the relief valve opens',
        example: '170 psig',
      }),
      fullFlow: quantity('pressure', {
        meaning: 'Discharge pressure at which it passes the whole flow',
        example: '185 psig',
      }),
    },
    { meaning: 'Relief valve on the discharge' },
  ),
  line: lineGroup('From the pump to the tank, check and isolation valve included'),
  ...motorTable,
} as const;
export const pumpGroup = group(pumpTable, { meaning: 'An oil pump' });
export type PumpValues = Values<typeof pumpTable>;

// --- equations -------------------------------------------------------------------------------------------------------

/** What the equations need of a pump, for one oil. */
export interface Pump {
  /** Theoretical flow at full speed. */
  readonly flow_m3_s: number;
  /** Loss of flow per pressure over the suction side. */
  readonly slip_m3_sPa: number;
  /** Pressure over the suction side at which the relief valve begins to open. */
  readonly crackingPressure_Pa: number;
  /** Relief flow per pressure above cracking; 0 for a relief valve that is stuck shut. */
  readonly reliefSlope_m3_sPa: number;
  /** Mechanical efficiency of the pump, above 0 to 1. */
  readonly efficiency: number;
}

/** Theoretical flow [m3/s] of a displacement [m3 per turn] at a speed [turns/s]. */
export function theoreticalFlow(displacement_m3: number, speed_1_s: number): number {
  return displacement_m3 * speed_1_s;
}

/** Power [W] that a flow [m3/s] carries at a pressure difference [Pa]. */
export function hydraulicPower(flow_m3_s: number, pressureDifference_Pa: number): number {
  return flow_m3_s * pressureDifference_Pa;
}

/** Slip per pressure [m3/(s Pa)]: a share of the rated flow at rated pressure and viscosity, more in thinner oil. */
export function slipPerPressure(
  share: number,
  ratedFlow_m3_s: number,
  ratedPressure_Pa: number,
  ratedViscosity_m2_s: number,
  viscosity_m2_s: number,
): number {
  return ((share * ratedFlow_m3_s) / ratedPressure_Pa) * (ratedViscosity_m2_s / viscosity_m2_s);
}

/** Relief flow per pressure [m3/(s Pa)] of a valve that passes a flow [m3/s] at its full-flow pressure. */
export function reliefSlope(crackingPressure_Pa: number, fullFlowPressure_Pa: number, flow_m3_s: number): number {
  assert(fullFlowPressure_Pa > crackingPressure_Pa, 'relief valve: full flow must lie above cracking');
  return flow_m3_s / (fullFlowPressure_Pa - crackingPressure_Pa);
}

/**
 * Share of its displacement that a pump still draws in when the oil in the suction line is thicker than it can take: 1
 * up to the limit, then in proportion to limit/nu (choice).
 */
export function coldSuctionFactor(viscosity_m2_s: number, limit_m2_s: number): number {
  return viscosity_m2_s > limit_m2_s ? limit_m2_s / viscosity_m2_s : 1;
}

const pair = new Float64Array(2);

/**
 * Solves the discharge node and writes out[0] line flow [m3/s], out[1] relief flow [m3/s], out[2] discharge pressure
 * [Pa abs], out[3] shaft power [W].
 *
 * speedFraction 0..1; fill 0..1 is the share of the displacement that draws oil (1 primed, 0 dry, between in cold oil);
 * lineOpen false: isolation valve shut or line blocked. Tank and suction pressures absolute. At standstill all flows
 * are zero and the discharge stands at suction pressure.
 */
export function solvePump(
  pump: Pump,
  line: LineLeg,
  lineOpen: boolean,
  speedFraction: number,
  fill: number,
  tankPressure_Pa: number,
  suctionPressure_Pa: number,
  out: Float64Array,
): void {
  const drawn = pump.flow_m3_s * speedFraction * fill;
  out[0] = 0;
  out[1] = 0;
  out[2] = suctionPressure_Pa;
  out[3] = 0;
  if (!(drawn > 0)) return;
  const lift = tankPressure_Pa + line.rise_Pa - suctionPressure_Pa;
  const slip = pump.slip_m3_sPa;
  const cracking = pump.crackingPressure_Pa;

  // first with the relief valve shut; if that asks for more than cracking, with it open, where it acts like more slip
  let flow = lineOpen ? nodeFlow(line, drawn, slip, lift) : 0;
  let pressure = flow > 0 ? lift + drop(line, flow) : drawn / slip;
  let relief = 0;
  if (pressure > cracking) {
    const gain = slip + pump.reliefSlope_m3_sPa;
    const source = drawn + pump.reliefSlope_m3_sPa * cracking;
    flow = lineOpen ? nodeFlow(line, source, gain, lift) : 0;
    pressure = flow > 0 ? lift + drop(line, flow) : source / gain;
    assert(pressure < Infinity, 'a pump without slip is dead-headed on a relief valve that does not open');
    relief = pump.reliefSlope_m3_sPa * (pressure - cracking);
  }
  out[0] = flow;
  out[1] = relief;
  out[2] = suctionPressure_Pa + pressure;
  out[3] = (pressure * pump.flow_m3_s * speedFraction) / pump.efficiency;
}

/** The Q >= 0 at which source - gain (lift + dp_line(Q)) = Q; 0 where the check valve stays shut. */
function nodeFlow(line: LineLeg, source: number, gain: number, lift: number): number {
  const surplus = source - gain * lift;
  if (!(surplus > 0)) return 0;
  const a = line.linear_Pas_m3 + line.laminar_Pas_m3 + line.parallel_Pas_m3;
  // with pipes this counts the least they can resist: an upper bound, and the place to start
  let flow = quadraticFlow(1 + gain * a, gain * line.quadratic_Pas2_m6, surplus);
  if (line.plain) return flow;
  let low = 0;
  let high = flow;
  for (let i = 0; i < 100; i++) {
    dropAndSlope(line, flow, pair);
    const excess = flow + gain * pair[0]! - surplus;
    if (excess === 0) break;
    if (excess > 0) high = flow;
    else low = flow;
    let next = flow - excess / (1 + gain * pair[1]!);
    if (!(next > low && next < high)) next = low + (high - low) / 2;
    const moved = Math.abs(next - flow);
    flow = next;
    if (moved <= 1e-15 * flow || high - low <= 1e-15 * high) break;
  }
  return flow;
}
