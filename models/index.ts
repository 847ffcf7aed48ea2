/** The machine: parameters, equations and the unit as one system. */
export * from './air.ts';
export * from './geometry.ts';
export * from './oil.ts';
export * from './pipe.ts';
export type { Plant } from './plant.ts';
export { createUnit, type Unit } from './unit.ts';
