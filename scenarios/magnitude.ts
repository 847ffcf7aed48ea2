/**
 * The largest size of a quantity that is read where its field states no limit: far above what a plant can have, and far
 * below where sums and products of such numbers leave what a computer can hold.
 */
import type { Dimension } from '../models/parameters.ts';

/** SI; for a scale that also goes below zero the size of either sign. */
export const LARGEST: Readonly<Record<Dimension, number>> = {
  pressure: 1e9,
  pressureDifference: 1e9,
  temperature: 1e4,
  temperatureDifference: 1e4,
  // Thirty years.
  time: 1e9,
  length: 1e5,
  angle: 1e3,
  area: 1e6,
  volume: 1e6,
  volumeFlow: 1e4,
  mass: 1e9,
  density: 1e5,
  kinematicViscosity: 1e2,
  force: 1e9,
  torque: 1e9,
  stiffness: 1e12,
  power: 1e10,
  speed: 1e4,
  rotationalSpeed: 1e5,
  heatCapacity: 1e12,
  specificHeat: 1e7,
  thermalConductance: 1e9,
  linearResistance: 1e20,
  quadraticResistance: 1e25,
  pressureRate: 1e9,
  flowCoefficient: 10,
  fraction: 1e3,
};
