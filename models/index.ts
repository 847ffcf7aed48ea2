/** The machine: parameters, equations and the unit as one system. */
export * from './air.ts';
export {
  type Compressor,
  deliveryTemperature,
  displacement,
  pumpUpTime,
  solveCompressor,
  volumetricEfficiency,
} from './compressor.ts';
export {
  compileDrive,
  type Drive,
  type DriveValues,
  leverArm,
  pistonForce,
  pistonPosition,
  turnOf,
  valvePosition,
} from './drive.ts';
export * from './geometry.ts';
export * from './moisture.ts';
export { relayTimeConstant, timeToTrip } from './motor.ts';
export * from './oil.ts';
export * from './pipe.ts';
export type { Plant } from './plant.ts';
export {
  coldSuctionFactor,
  hydraulicPower,
  type Pump,
  reliefSlope,
  slipPerPressure,
  solvePump,
  theoreticalFlow,
} from './pump.ts';
export { type SafetyValve, safetyValveFlow, safetyValveLift } from './safetyValve.ts';
export { type Pipeline, pipePeriod, type Surge, surgeOf, waveSpeed } from './surge.ts';
export { createUnit, type Unit } from './unit.ts';
