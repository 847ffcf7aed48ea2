/** Where the unit stands: decides the ambient pressure to which every gauge reading is referred. */
import { group, quantity, type Values } from './parameters.ts';

export const siteTable = {
  altitude: quantity('length', {
    meaning: 'Height above sea level; the standard atmosphere gives the ambient pressure',
    min: -430,
    max: 6000,
    optional: true,
    example: '620 m',
  }),
  barometer: quantity('pressure', {
    meaning: 'Ambient pressure as measured; absolute',
    min: 40_000,
    max: 115_000,
    optional: true,
    example: '13.9 psia',
  }),
  temperature: quantity('temperature', {
    meaning: 'Temperature of the ambient air',
    min: 213.15,
    max: 343.15,
    default: 293.15,
    example: '68 degF',
  }),
} as const;

export const siteGroup = group(siteTable, {
  meaning: 'Where the unit stands',
  oneOf: [['altitude', 'barometer']],
});
export type Site = Values<typeof siteTable>;
