import { motorTable } from './motor.ts';
import { lineGroup } from './line.ts';
import { group, list, number, quantity, text, type Values } from './parameters.ts';

export const oilTable = {
  grade: number({
    meaning: 'ISO VG grade: kinematic viscosity in mm^2/s at 40 degC',
    min: 2,
    max: 1500,
    optional: true,
    example: '46',
  }),
  viscosityIndex: number({ meaning: 'Viscosity index of the grade', min: 0, max: 250, default: 95, example: '95' }),
  viscosity: list(
    group(
      {
        at: quantity('temperature', { meaning: 'Temperature', example: '40 degC' }),
        value: quantity('kinematicViscosity', { meaning: 'Kinematic viscosity', above: 2e-7, max: 0.1, example: '46 mm^2/s' }),
      },
      { meaning: 'A measured point' },
    ),
    { meaning: 'Two viscosity points instead of a grade', minItems: 2, maxItems: 2, optional: true },
  ),
  density: quantity('density', {
    meaning: 'Density at 15 degC',
    min: 600,
    max: 1200,
    default: 870,
    example: '870 kg/m^3',
  }),
  temperature: quantity('temperature', {
    meaning: 'Oil temperature, fixed for the run',
    min: 233.15,
    max: 373.15,
    default: 293.15,
    example: '60 degF',
  }),
} as const;
export const oilGroup = group(oilTable, { meaning: 'The hydraulic oil', oneOf: [['grade', 'viscosity']] });
export type OilValues = Values<typeof oilTable>;

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
  efficiency: quantity('fraction', { meaning: 'Mechanical efficiency', above: 0, max: 1, default: 0.85, example: '85 %' }),
  relief: group(
    {
      cracking: quantity('pressure', { meaning: 'Discharge pressure at which the relief valve opens', example: '170 psig' }),
      fullFlow: quantity('pressure', { meaning: 'Discharge pressure at which it passes the whole flow', example: '185 psig' }),
    },
    { meaning: 'Relief valve on the discharge' },
  ),
  line: lineGroup('From the pump to the tank, check and isolation valve included'),
  ...motorTable,
} as const;
export const pumpGroup = group(pumpTable, { meaning: 'An oil pump' });
export type PumpValues = Values<typeof pumpTable>;

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
  efficiency: quantity('fraction', { meaning: 'Efficiency of compressor and drive', above: 0, max: 1, default: 0.75, example: '75 %' }),
  coolerApproach: quantity('temperatureDifference', {
    meaning: 'Delivered air over ambient temperature behind the cooler (choice: 10 K)',
    min: 0,
    max: 200,
    default: 10,
    example: '18 degF',
  }),
  unloadedStart: quantity('time', { meaning: 'Runs without delivering for this long after a start', min: 0, default: 0, example: '5 s' }),
  ...motorTable,
} as const;
export const compressorGroup = group(compressorTable, {
  meaning: 'An air compressor',
  oneOf: [['freeAir', 'displacement']],
});
export type CompressorValues = Values<typeof compressorTable>;

export const safetyValveTable = {
  tag: text({ tag: true, meaning: 'Tag of the safety valve', default: 'PSV-1', example: 'PSV-301' }),
  set: quantity('pressure', { meaning: 'Set pressure: opens', example: '190 psig' }),
  fullLift: quantity('pressure', { meaning: 'Pressure of full lift; 10 % over the set gauge pressure when left out', optional: true, example: '205 psig' }),
  reseat: quantity('pressure', { meaning: 'Pressure at which it shuts again', example: '178 psig' }),
  bore: quantity('length', { meaning: 'Diameter of the flow area', above: 0, max: 1, example: '0.5 in' }),
  dischargeCoefficient: number({ meaning: 'Coefficient of discharge', above: 0, max: 1, default: 0.8, example: '0.8' }),
} as const;
export const safetyValveGroup = group(safetyValveTable, { meaning: 'Safety valve on the air space', optional: true });
