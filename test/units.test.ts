import fc from 'fast-check';
import math from 'mathjs/lib/browser/math.js';
import { describe, expect, test } from 'vitest';
import type { Dimension } from '../models/parameters.ts';
import {
  columnUnit,
  describeDimension,
  displayUnits,
  formatQuantity,
  inUnit,
  readQuantity,
  type UnitSystem,
} from '../scenarios/units.ts';

const SEA_LEVEL = 101_325;
const SEED = { seed: 20_260_301 };

function si(text: string, dimension: Dimension, ambient: number | undefined = SEA_LEVEL): number {
  const reading = readQuantity(text, dimension, ambient);
  if ('problem' in reading) throw new Error(reading.problem);
  return reading.value;
}
function problem(text: string, dimension: Dimension, ambient: number | undefined = SEA_LEVEL, example?: string): string {
  const reading = readQuantity(text, dimension, ambient, example);
  if (!('problem' in reading)) throw new Error(`${text} was read as ${reading.value}`);
  return reading.problem;
}
/** Relative error; the reason for each tolerance stands where it is used. */
const off = (value: number, wanted: number): number => Math.abs(value / wanted - 1);

const dimensions = Object.keys(displayUnits('us')) as Dimension[];

describe('conversion factors', () => {
  // NIST Special Publication 811 (2008), appendix B.8 (from memory): factors rounded to seven digits there unless exact.
  // Tolerance: half a unit of the seventh digit.
  test.each<[string, Dimension, number]>([
    ['1 psi', 'pressureDifference', 6.894757e3],
    ['1 inHg', 'pressureDifference', 3.386389e3],
    ['1 inH2O', 'pressureDifference', 2.490889e2],
    ['1 mmHg', 'pressureDifference', 1.333224e2],
    ['1 kgf/cm2', 'pressureDifference', 9.80665e4],
    ['1 gal', 'volume', 3.785412e-3],
    ['1 ft3', 'volume', 2.831685e-2],
    ['1 in3', 'volume', 1.638706e-5],
    ['1 bbl', 'volume', 1.589873e-1],
    ['1 gpm', 'volumeFlow', 6.309020e-5],
    ['1 cfm', 'volumeFlow', 4.719474e-4],
    ['1 lbf', 'force', 4.448222],
    ['1 kip', 'force', 4.448222e3],
    ['1 kgf', 'force', 9.80665],
    ['1 lbf ft', 'torque', 1.355818],
    ['1 lbf in', 'torque', 1.129848e-1],
    ['1 lb', 'mass', 4.535924e-1],
    ['1 lb/ft3', 'density', 1.601846e1],
    ['1 lb/gal', 'density', 1.198264e2],
    ['1 hp', 'power', 7.456999e2],
    ['1 BTU/h', 'power', 2.930711e-1],
    ['1 BTU/(lb degF)', 'specificHeat', 4.1868e3],
    ['1 BTU/degF', 'heatCapacity', 1.899101e3],
    ['1 cSt', 'kinematicViscosity', 1e-6],
    ['1 mph', 'speed', 4.4704e-1],
    ['1 ft/min', 'speed', 5.08e-3],
  ])('%s of %s', (text, dimension, wanted) => {
    expect(off(si(text, dimension), wanted)).toBeLessThan(1.5e-7);
  });

  test('exact definitions', () => {
    // 1 bar is 14.5037738 psi (nine digits of the exact quotient 1e5/6894.757293168361).
    expect(off(si('14.5037738 psi', 'pressureDifference'), 1e5)).toBeLessThan(4e-9);
    // Exact by definition; tolerance: a few roundings of a double.
    expect(off(si('1 psi', 'pressureDifference'), 6894.757293168361)).toBeLessThan(1e-15);
    expect(off(si('1 gal', 'volume'), 3.785411784e-3)).toBeLessThan(1e-15);
    expect(off(si('42 gal', 'volume'), si('1 bbl', 'volume'))).toBeLessThan(1e-15);
    expect(off(si('1 atm abs', 'pressure'), 101_325)).toBeLessThan(1e-15);
    expect(off(si('1500 rpm', 'rotationalSpeed'), 25)).toBeLessThan(1e-15);
  });

  test('Kv is 0.865 Cv, and a Cv of 1 passes 1 gal/min at 1 psi', () => {
    // The ratio is the one in use everywhere (common practice, no source); three digits.
    expect(si('Cv 1', 'flowCoefficient') / si('Kv 1', 'flowCoefficient')).toBeCloseTo(0.865, 3);
    const flow = si('Cv 1', 'flowCoefficient') * Math.sqrt(si('1 psi', 'pressureDifference'));
    expect(off(flow, si('1 gal/min', 'volumeFlow'))).toBeLessThan(1e-14);
  });

  test('every usual unit has the value that mathjs derives by itself', () => {
    const spelled: Record<string, string> = { psi: 'lbf/in^2', gpm: 'gal/min', lpm: 'L/min', cfm: 'ft^3/min', d: 'day' };
    const own = ['cSt', 'St', 'inH2O', 'inHg', 'mmHg', 'rpm', '1/min', '1/s', 'kip']; // mathjs has none, or poor ones
    let compared = 0;
    for (const dimension of dimensions.filter((d) => !['flowCoefficient', 'fraction'].includes(d)))
      for (const name of describeDimension(dimension).units) {
        const unit = dimension === 'pressure' ? name.slice(0, -1) : name;
        if (own.includes(unit)) continue;
        const [over = '', under] = unit.split('/');
        const [base = '', power] = (under ?? '').split('^');
        const flow = spelled[base];
        const squared = flow?.split('/').map((word) => (word.endsWith('^3') ? word.replace('^3', '^6') : `${word}^2`));
        const below = flow === undefined ? under : power === '2' ? squared!.join('/') : flow;
        const above = spelled[over] ?? over;
        const [u, v] = below?.includes('/') ? below.split('/') : [below, undefined];
        const expression = u === undefined ? above : v === undefined ? `(${above})/(${u})` : `(${above})/(${u}) (${v})`;
        const si = { temperature: 'K', temperatureDifference: 'K' }[dimension as string];
        const text = dimension === 'pressure' ? `1 ${unit}a` : `1 ${unit}`;
        const value = readQuantity(text, dimension, SEA_LEVEL);
        if ('problem' in value) throw new Error(`${text}: ${value.problem}`);
        const base_ = si !== undefined ? math.unit(1, unit).toNumber('K') - (unit === 'K' ? 0 : math.unit(0, unit).toNumber('K')) : math.unit(1, expression).toSI().toNumber();
        // mathjs holds horsepower to ten digits, the rest to fifteen; a difference of temperatures loses two.
        expect(off(value.unit.factor, base_), `${unit} as ${expression}`).toBeLessThan(1e-10);
        compared++;
      }
    expect(compared).toBeGreaterThan(70);
  });
});
