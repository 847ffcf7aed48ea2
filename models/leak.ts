/**
 * Leaks as people measure them. Air: "3 psi per hour at 140 psig" is a mass flow w = V_air |dp/dt| / (R T_ambient) at
 * that pressure, turned into the area of an ideal nozzle that passes it. Oil: "0.2 gal per hour" at a pressure is
 * turned into k of Q = k sqrt(p_gauge). Source: definitions; nozzle in air.ts.
 */
import { group, quantity, type Values } from './parameters.ts';

export const leaksTable = {
  air: group(
    {
      fall: quantity('pressureRate', { meaning: 'Fall of pressure at constant level', min: 0, example: '3 psi/h' }),
      at: quantity('pressure', { meaning: 'Pressure at which it was measured', example: '140 psig' }),
    },
    { meaning: 'Air lost from the tank, measured with the oil level as at the start of the run', optional: true },
  ),
  oil: group(
    {
      flow: quantity('volumeFlow', { meaning: 'Oil lost', min: 0, example: '0.2 gal/h' }),
      at: quantity('pressure', { meaning: 'Tank pressure at which it was measured', example: '140 psig' }),
    },
    { meaning: 'Oil lost from the pressure side to the outside', optional: true },
  ),
} as const;
export type LeaksValues = Values<typeof leaksTable>;
