/**
 * The sump: an upright tank of constant cross-section at ambient pressure. Pumps draw from it, valves return to it.
 * dV/dt = returns - pump flows. Pumps lose suction when the level falls to the suction mouth and prime again 20 mm
 * higher (choice). Oil over the brim is spilled; the sump counts as full until the level is 1 mm under the brim (choice).
 * Not modelled: foam, temperature.
 */
import { group, quantity, text, type Values } from './parameters.ts';

export const sumpTable = {
  tag: text({ tag: true, meaning: 'Tag of the sump', default: 'SU-1', example: 'SU-301' }),
  capacity: quantity('volume', { meaning: 'Volume when full to the brim', above: 0, max: 1000, example: '150 gal' }),
  depth: quantity('length', { meaning: 'Inside depth from floor to brim', above: 0, max: 20, example: '30 in' }),
  suctionLevel: quantity('length', {
    meaning: 'Level at which the pumps draw air',
    min: 0,
    default: 0.05,
    example: '3 in',
  }),
  elevation: quantity('length', {
    meaning: 'Elevation of the oil surface in the sump; counts only where the elevation of the tank is given',
    optional: true,
    example: '99.8 m',
  }),
} as const;
export const sumpGroup = group(sumpTable, { meaning: 'The atmospheric oil reservoir' });
export type SumpValues = Values<typeof sumpTable>;

/** Rise above the suction mouth at which a dry pump primes again, m (choice). */
export const PRIMING_RISE_m = 0.02;
/** Fall under the brim at which the sump no longer counts as full, m (choice). */
export const BRIM_FALL_m = 0.001;
