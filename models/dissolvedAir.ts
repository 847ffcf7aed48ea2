/**
 * Air dissolved in the oil of the tank, Henry's law: m [kg] in solution, c = m/V_oil [kg/m3],
 *
 *   m_sat = 1.2923 B p/1 atm V_oil        w = (m_sat - m)/tau
 *   dm/dt = w - c (oil leaving) + c_ambient (fresh oil)
 *
 * w > 0 goes from the air space into solution and takes the enthalpy of the air with it; w < 0 is released into the air
 * space at the oil temperature. Oil that leaves carries its air to the sump, where it comes out into the open; oil from
 * the sump comes in saturated at ambient pressure; oil pushed back from a cylinder comes back as it went. B is the
 * Bunsen coefficient. Source: Henry's law; B for mineral oil from memory. The time constants are choices: a still surface
 * would take years by diffusion alone, stirring by drops, leaks and pumps does it in hours.
 *
 * Not modelled: nitrogen and oxygen apart, B over temperature, bubbles and foam, air in cylinders and lines, heat of
 * solution, the volume that dissolved air adds to the oil.
 */
import { BUNSEN_AIR_IN_OIL, dissolvedAirAtSaturation } from './air.ts';
import { choice, number, quantity, type Values } from './parameters.ts';

export const dissolvedAirTable = {
  model: choice(['henry', 'none'], {
    meaning: 'Whether oil takes up and gives off air; "none" for comparing with hand calculations',
    default: 'henry',
  }),
  solubility: number({
    meaning: 'Bunsen coefficient: volume of air at 0 degC and 1 atm in a volume of oil under 1 atm',
    above: 0,
    max: 1,
    default: BUNSEN_AIR_IN_OIL,
    example: '0.09',
  }),
  still: quantity('time', {
    meaning: 'Time constant towards saturation with the pumps at rest (choice: 4 h)',
    min: 60,
    default: 14_400,
    example: '4 h',
  }),
  pumping: quantity('time', {
    meaning: 'Time constant while a pump feeds the tank (choice: 30 min)',
    min: 60,
    default: 1800,
    example: '30 min',
  }),
} as const;
export type DissolvedAirValues = Values<typeof dissolvedAirTable>;

export interface DissolvedAir {
  /** Air in solution at saturation per oil volume and pressure, kg/(m3 Pa); 0 where none is counted. */
  readonly solubility_kg_m3Pa: number;
  readonly still_s: number;
  readonly pumping_s: number;
}

export function dissolvedAirOf(values: DissolvedAirValues): DissolvedAir {
  return {
    solubility_kg_m3Pa: values.model === 'none' ? 0 : dissolvedAirAtSaturation(1, values.solubility),
    still_s: values.still,
    pumping_s: values.pumping,
  };
}

/** Air [kg/s] that goes into solution in an oil volume [m3] under p [Pa] with `mass` [kg] in it; negative: comes out. */
export function dissolvingRate(
  air: DissolvedAir,
  mass_kg: number,
  oil_m3: number,
  pressure_Pa: number,
  pumping: boolean,
): number {
  return (air.solubility_kg_m3Pa * pressure_Pa * oil_m3 - mass_kg) / (pumping ? air.pumping_s : air.still_s);
}
