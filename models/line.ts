/**
 * A line as people give it: by geometry (pipes, fittings, a valve coefficient) or straight as coefficients of
 * dp = a Q + b Q|Q|. All parts given for one line add up. Equations: pipe.ts.
 */
import { group, list, number, quantity, type Values } from './parameters.ts';

export const pipeTable = {
  length: quantity('length', { meaning: 'Length of straight pipe', min: 0, max: 5000, example: '60 ft' }),
  insideDiameter: quantity('length', { meaning: 'Inside diameter', above: 0, max: 2, example: '2.067 in' }),
  roughness: quantity('length', {
    meaning: 'Wall roughness; drawn steel tube when left out (from memory)',
    min: 0,
    max: 0.01,
    default: 4.6e-5,
    example: '0.05 mm',
  }),
  fittings: number({
    meaning: 'Sum of the loss coefficients K of bends, tees and valves, referred to this diameter',
    min: 0,
    default: 0,
    example: '6.5',
  }),
} as const;

export const lineTable = {
  pipes: list(group(pipeTable, { meaning: 'A run of pipe of one bore' }), {
    meaning: 'Runs of pipe in series',
    defaults: true,
    maxItems: 20,
  }),
  flowCoefficient: quantity('flowCoefficient', {
    meaning: 'Cv or Kv of valves in the line taken together',
    above: 0,
    optional: true,
    example: 'Cv 40',
  }),
  orifice: quantity('length', {
    meaning: 'Diameter of a sharp orifice in the line, discharge coefficient 0.62 (common practice, no source)',
    above: 0,
    max: 1,
    optional: true,
    example: '9 mm',
  }),
  linear: quantity('linearResistance', {
    meaning: 'a in dp = a Q + b Q|Q|',
    min: 0,
    default: 0,
    example: '2e6 Pa s/m^3',
  }),
  quadratic: quantity('quadraticResistance', {
    meaning: 'b in dp = a Q + b Q|Q|',
    min: 0,
    default: 0,
    example: '1e10 Pa s^2/m^6',
  }),
} as const;
export type LineValues = Values<typeof lineTable>;

export const lineGroup = <const M extends string>(meaning: M) => group(lineTable, { meaning, defaults: true });

export const returnMainTable = {
  ...lineTable,
  filter: group(
    {
      resistance: quantity('linearResistance', {
        meaning: 'Pressure drop over flow of the element as it is, in oil of its rated viscosity',
        above: 0,
        example: '2e7 Pa s/m^3',
      }),
      ratedViscosity: quantity('kinematicViscosity', {
        meaning: 'Viscosity at which the resistance is stated; that of the oil at 40 degC when left out (choice)',
        above: 0,
        optional: true,
        example: '32 mm^2/s',
      }),
      bypassOpens: quantity('pressureDifference', {
        meaning: 'Pressure drop at which the bypass opens',
        above: 0,
        default: 170_000,
        example: '25 psi',
      }),
      bypassResistance: quantity('linearResistance', {
        meaning: 'Pressure drop over flow of the open bypass',
        above: 0,
        default: 2e7,
        example: '2e7 Pa s/m^3',
      }),
      alarm: quantity('pressureDifference', {
        meaning: 'Pressure drop at which the filter alarm comes',
        above: 0,
        optional: true,
        example: '20 psi',
      }),
    },
    { meaning: 'Return filter with bypass', optional: true },
  ),
} as const;
export type ReturnMainValues = Values<typeof returnMainTable>;
