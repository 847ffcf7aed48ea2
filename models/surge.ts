/**
 * Pressure surge in the pipeline that a valve shuts, to be read beside the stroke time. With the wave speed a, length L,
 * density rho and the velocity v that the closure takes away:
 *
 *   a = sqrt((K/rho)/(1 + K D/(E e)))       K bulk modulus of the liquid, D and e of the pipe, E of its wall
 *   pipe period 2 L/a
 *   closed within the pipe period:  rise = rho a v        (Joukowsky)
 *   closed more slowly, in t:       rise = 2 rho L v/t    (Michaud; both agree at the pipe period)
 *
 * Source: the usual elementary theory, as in US Army TM 5-813-9, figure 4-5 (read), and textbooks (from memory).
 * Not modelled: the flow characteristic of the valve (Michaud takes the flow away evenly; a valve that takes most of it
 * away at the end of its stroke acts as a faster one), pipe friction, branches, column separation. No transient analysis.
 */
import { group, quantity, type Values } from './parameters.ts';

export const pipelineTable = {
  length: quantity('length', { meaning: 'Length up to the next free surface', above: 0, example: '3400 ft' }),
  velocity: quantity('speed', { meaning: 'Velocity in it that the closure takes away', above: 0, example: '6.5 ft/s' }),
  waveSpeed: quantity('speed', {
    meaning: 'Speed of pressure waves in it',
    above: 0,
    max: 10_000,
    optional: true,
    example: '1100 m/s',
  }),
  diameter: quantity('length', {
    meaning: 'Its inside diameter, for the wave speed',
    above: 0,
    optional: true,
    example: '500 mm',
  }),
  wallThickness: quantity('length', {
    meaning: 'Thickness of its wall, for the wave speed',
    above: 0,
    optional: true,
    example: '6 mm',
  }),
  modulus: quantity('pressureDifference', {
    meaning: 'Modulus of elasticity of its wall, for the wave speed; steel when left out (from memory)',
    above: 0,
    max: 1e13,
    default: 2e11,
    example: '200 GPa',
  }),
  density: quantity('density', { meaning: 'Of the liquid in it', above: 0, default: 1000, example: '1000 kg/m^3' }),
  bulkModulus: quantity('pressureDifference', {
    meaning: 'Of the liquid in it; water when left out (from memory)',
    above: 0,
    max: 1e12,
    default: 2.07e9,
    example: '2.07 GPa',
  }),
} as const;
export const pipelineGroup = group(pipelineTable, {
  meaning: 'The pipeline that the valve shuts, for the surge shown beside the time of a closing stroke',
  optional: true,
  oneOf: [['waveSpeed', 'diameter']],
  together: [
    ['diameter', 'wallThickness'],
    ['wallThickness', 'diameter'],
  ],
});
export type PipelineValues = Values<typeof pipelineTable>;

export interface Pipeline {
  readonly length_m: number;
  readonly velocity_m_s: number;
  readonly waveSpeed_m_s: number;
  readonly density_kg_m3: number;
}

export function compilePipeline(values: PipelineValues): Pipeline {
  const { length, velocity, density, bulkModulus, modulus, diameter = 0, wallThickness = 1 } = values;
  const waveSpeed_m_s = values.waveSpeed ?? waveSpeed(bulkModulus, density, diameter, wallThickness, modulus);
  return { length_m: length, velocity_m_s: velocity, waveSpeed_m_s, density_kg_m3: density };
}

/** Wave speed, m/s, in a pipe free to stretch; a diameter of 0 gives that in a rigid pipe. */
export function waveSpeed(
  bulkModulus_Pa: number,
  density_kg_m3: number,
  diameter_m: number,
  wallThickness_m: number,
  modulus_Pa: number,
): number {
  const stretch = (bulkModulus_Pa * diameter_m) / (modulus_Pa * wallThickness_m);
  return Math.sqrt(bulkModulus_Pa / density_kg_m3 / (1 + stretch));
}

/** Time in which a wave runs to the far end and back, s. */
export function pipePeriod(pipeline: Pipeline): number {
  return (2 * pipeline.length_m) / pipeline.waveSpeed_m_s;
}

export interface Surge {
  /** Whether the closure is over within the pipe period, so that the rise is as great as it can be. */
  readonly rapid: boolean;
  readonly rise_Pa: number;
}

/** Rise of pressure at a valve that takes the flow away in a time, s. */
export function surgeOf(pipeline: Pipeline, closure_s: number): Surge {
  const { density_kg_m3: rho, waveSpeed_m_s: a, velocity_m_s: v, length_m: length } = pipeline;
  const rapid = closure_s <= pipePeriod(pipeline);
  return { rapid, rise_Pa: rapid ? rho * a * v : (2 * rho * length * v) / closure_s };
}
