/**
 * The pressure tank: oil at the bottom, compressed air on top, nothing between them. First law for the open air space,
 * ideal gas, V = V_tank - V_oil:
 *
 *   dm/dt = w_in - w_out - w_dissolving                  w_dissolving: dissolvedAir.ts
 *   dU/dt = w_in cp T_in - w_out cp T - p dV/dt + Q      U = m cv T,  p = (gamma - 1) U / V
 *   Q = hA (T_wall - T)                                  C_wall dT_wall/dt = -Q + UA_ambient (T_ambient - T_wall)
 *
 * U [J] and m [kg] are the stored quantities, because every switch on pressure is then a linear condition on the state:
 * (gamma - 1) U - p_switch (V_tank - V_oil). Q is positive into the air. Source: first law of thermodynamics.
 * A float valve in the outlet, where fitted, shuts when the level falls to it and opens again when the level has risen; while
 * it is shut no oil leaves and pistons stand where they are.
 * Not modelled: real-gas departures (under 0.5 % of the pressure below 20 bar), water vapour, layers in the air.
 */
import { dissolvedAirTable } from './dissolvedAir.ts';
import { choice, group, number, quantity, text, type Values } from './parameters.ts';

export const heatTable = {
  exchange: choice(['adiabatic', 'isothermal', 'polytropic', 'conductance', 'time constant', 'natural convection'], {
    meaning:
      'How the air exchanges heat with the shell. "polytropic" is for comparing with a hand calculation on a closed charge',
    default: 'natural convection',
  }),
  exponent: quantityFree('Polytropic exponent n of p V^n', '1.2', 0.5, 3),
  conductance: quantity('thermalConductance', {
    meaning: 'hA between air and shell',
    above: 0,
    optional: true,
    example: '14 W/K',
  }),
  timeConstant: quantity('time', {
    meaning: 'm cv/(hA) of the air',
    above: 0,
    optional: true,
    example: '90 s',
  }),
  wallHeatCapacity: quantity('heatCapacity', {
    meaning:
      'Mass times specific heat of the whole shell; from the shell surface and 8 mm of steel when left out (choice)',
    above: 0,
    optional: true,
    example: '122 kJ/K',
  }),
  ambientConductance: quantity('thermalConductance', {
    meaning: 'Shell to ambient, whole shell; 8 W/(m^2 K) times the shell surface when left out (choice)',
    min: 0,
    optional: true,
    example: '20 W/K',
  }),
} as const;

function quantityFree(meaning: string, example: string, min: number, max: number) {
  return number({ meaning, example, min, max, optional: true });
}

export const tankTable = {
  tag: text({ tag: true, meaning: 'Tag of the tank', default: 'T-1', example: 'T-301' }),
  orientation: choice(['vertical', 'horizontal'], { meaning: 'Axis of the cylinder', default: 'vertical' }),
  insideDiameter: quantity('length', {
    meaning: 'Inside diameter of the shell',
    above: 0,
    max: 10,
    optional: true,
    example: '42 in',
  }),
  straightLength: quantity('length', {
    meaning: 'Length of the cylindrical part, seam to seam, without heads',
    min: 0,
    max: 40,
    optional: true,
    example: '84 in',
  }),
  heads: choice(['ellipsoidal', 'hemispherical', 'torispherical', 'flat'], {
    meaning: 'Shape of both heads; ellipsoidal is 2:1',
    default: 'ellipsoidal',
  }),
  dishRadius: number({
    meaning: 'Dish radius of torispherical heads over the inside diameter',
    above: 0.5,
    max: 3,
    default: 1,
    example: '1',
  }),
  knuckleRadius: number({
    meaning: 'Knuckle radius of torispherical heads over the inside diameter',
    min: 0,
    max: 0.5,
    default: 0.06,
    example: '0.06',
  }),
  volume: quantity('volume', {
    meaning:
      'Inside volume, instead of a shape: levels then belong to an upright flat-ended cylinder twice as high as wide',
    above: 0,
    max: 1000,
    optional: true,
    example: '0.6 m^3',
  }),
  outletLevel: quantity('length', {
    meaning: 'Level at which air enters the oil outlet; oil below it cannot be used',
    min: 0,
    default: 0,
    example: '6 in',
  }),
  sightGlassZero: quantity('length', {
    meaning: 'Height of the zero of the sight glass and of all level settings above the inside bottom',
    default: 0,
    example: '0 in',
  }),
  designPressure: quantity('pressure', {
    meaning: 'Design pressure of the vessel',
    optional: true,
    example: '200 psig',
  }),
  bottomElevation: quantity('length', {
    meaning: 'Elevation of the inside bottom; when given, heads of oil count in every leg',
    optional: true,
    example: '101.5 m',
  }),
  drain: group(
    {
      flowCoefficient: quantity('flowCoefficient', {
        meaning: 'Cv or Kv of the drain, open',
        above: 0,
        example: 'Cv 3',
      }),
    },
    { meaning: 'Hand drain from the oil side to the sump, for tests', optional: true },
  ),
  vent: group(
    {
      bore: quantity('length', {
        meaning: 'Diameter of the open vent; discharge coefficient 0.62',
        above: 0,
        max: 0.2,
        example: '0.25 in',
      }),
    },
    { meaning: 'Hand vent of the air space, for tests', optional: true },
  ),
  leastAir: quantity('fraction', {
    meaning: 'Share of the vessel that air should fill; a tank with less is named water-logged',
    min: 0,
    max: 1,
    default: 0.25,
    example: '25 %',
  }),
  outletShutOff: group(
    {
      level: quantity('length', {
        meaning: 'Level at which the outlet shuts by itself, before gas comes into it',
        example: '11 in',
      }),
      rise: quantity('length', {
        meaning: 'Rise of the level at which it opens again (choice: 50 mm)',
        above: 0,
        default: 0.05,
        example: '2 in',
      }),
    },
    { meaning: 'Float valve in the outlet, where fitted', optional: true },
  ),
  dissolvedAir: group(dissolvedAirTable, { meaning: 'Air dissolved in the oil', defaults: true }),
  heat: group(heatTable, { meaning: 'Heat exchange of the air', defaults: true }),
} as const;

export const tankGroup = group(tankTable, {
  meaning: 'The pressure tank',
  oneOf: [['insideDiameter', 'volume']],
  together: [['insideDiameter', 'straightLength']],
});
export type TankValues = Values<typeof tankTable>;

/** Steel shell assumed where the file gives no heat capacity: 8 mm (choice), 7850 kg/m3, 490 J/(kg K) (handbook values from memory). */
export const SHELL_HEAT_CAPACITY_J_m2K = 0.008 * 7850 * 490;
/** Still air and radiation outside the shell, W/(m2 K) (choice). */
export const OUTSIDE_COEFFICIENT_W_m2K = 8;
