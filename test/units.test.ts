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
import { timesOf } from './support/law.ts';

const SEA_LEVEL = 101_325;
const SEED = { seed: 20_260_301 };

function si(text: string, dimension: Dimension, ambient: number | undefined = SEA_LEVEL): number {
  const reading = readQuantity(text, dimension, ambient);
  if ('problem' in reading) throw new Error(reading.problem);
  return reading.value;
}
function problem(
  text: string,
  dimension: Dimension,
  ambient: number | undefined = SEA_LEVEL,
  example?: string,
): string {
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
    ['1 gpm', 'volumeFlow', 6.30902e-5],
    ['1 cfm', 'volumeFlow', 4.719474e-4],
    ['1 lbf', 'force', 4.448222],
    ['1 kip', 'force', 4.448222e3],
    ['1 kgf', 'force', 9.80665],
    ['1 lbf ft', 'torque', 1.355818],
    ['1 lbf in', 'torque', 1.129848e-1],
    ['1 lbf/in', 'stiffness', 1.751268e2],
    ['1 deg', 'angle', 1.745329e-2],
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
    const lastDigit = 10 ** (Math.floor(Math.log10(wanted)) - 6);
    expect(Math.abs(si(text, dimension) - wanted)).toBeLessThan(0.501 * lastDigit);
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

  // The usual units are looked up, all others go through mathjs: both routes must agree. Left: as written in a file;
  // right: the same in the words of mathjs, where those differ.
  const inMathjs: Readonly<Record<string, string>> = {
    psi: 'lbf/in^2',
    d: 'day',
    gpm: 'gal/min',
    cfm: 'ft^3/min',
    t: 'tonne',
    cSt: 'mm^2/s',
    St: 'cm^2/s',
    'BTU/degF': 'BTU/degR',
    'BTU/(lb degF)': 'BTU/(lb degR)',
    'BTU/(h degF)': 'BTU/(h degR)',
    'psi/gpm': '(lbf/in^2)/(gal/min)',
    'bar/lpm': 'bar/(L/min)',
    'psi/gpm^2': '(lbf/in^2)/(gal^2/min^2)',
    'bar/lpm^2': 'bar/(L^2/min^2)',
    'psi/h': 'lbf/in^2/h',
    'psi/min': 'lbf/in^2/min',
    'psi/s': 'lbf/in^2/s',
  };
  // Checked above against published figures, or below: mathjs has none of these, or only rounded ones.
  const notInMathjs = ['inH2O', 'inHg', 'mmHg', 'kip', 'rpm', '1/min', '1/s', 'degF', 'degC', 'K', 'Cv', 'Kv', '%'];

  test.each(dimensions)('the usual units of %s are those of mathjs', (dimension) => {
    for (const written of describeDimension(dimension).units) {
      const unit = dimension === 'pressure' ? written.slice(0, -1) : written;
      if (notInMathjs.includes(unit)) continue;
      const reading = readQuantity(`1 ${written}`, dimension, SEA_LEVEL);
      if ('problem' in reading) throw new Error(reading.problem);
      const byMathjs = math.unit(1, inMathjs[unit] ?? unit).toSI().value;
      // mathjs holds horsepower to ten digits, the rest to fifteen.
      expect(off(reading.unit.factor, byMathjs), written).toBeLessThan(unit === 'hp' ? 1e-10 : 1e-14);
    }
  });
});

describe('pressure', () => {
  test('gauge readings refer to the air outside', () => {
    // ICAO standard atmosphere (from memory): 79 495 Pa at 2000 m, half a unit of the last digit.
    const at2000m = 79_495;
    expect(Math.abs(si('100 psig', 'pressure', at2000m) - 768_970.7)).toBeLessThan(0.1); // derived
    expect(si('0 barg', 'pressure', at2000m)).toBe(at2000m);
    // The same 100 psig are 114.7 psia at sea level and 111.5 psia at 2000 m (derived, four digits).
    expect(si('100 psig', 'pressure') / 6894.757).toBeCloseTo(114.7, 1);
    expect(si('100 psig', 'pressure', at2000m) / 6894.757).toBeCloseTo(111.53, 2);
    expect(si('100 psia', 'pressure', at2000m)).toBe(si('100 psia', 'pressure'));
  });

  const gauge = [
    '10 barg',
    '10 bar g',
    '10 bar(g)',
    '10 bar (g)',
    '10 bar gauge',
    '10 Bar G',
    '10 BARG',
    '10barg',
    '10 bar [g]',
  ];
  test.each(gauge)('%s', (text) => expect(si(text, 'pressure')).toBe(1e6 + SEA_LEVEL));
  const absolute = [
    '1000 kPaa',
    '1000 kPa a',
    '1000 kPa (a)',
    '1000 kPa abs',
    '1000 kPa absolute',
    '1000 KPAA',
    '1 MPaa',
    '1e6 Paa',
  ];
  test.each(absolute)('%s', (text) => expect(si(text, 'pressure')).toBe(1e6));
  test.each(['145 psig', '145 PSIG', '145 psi g', '145 psi gauge', '145 psi gage', '145 lbf/in^2 gauge'])(
    '%s',
    (text) =>
      // 145 psi = 9.997 bar (derived from 14.5037738 psi/bar)
      expect((si(text, 'pressure') - SEA_LEVEL) / 1e5).toBeCloseTo(145 / 14.5037738, 7),
  );
  test('weather readings', () => {
    // 29.92 in of mercury is the standard atmosphere to four digits; 1013.25 mbar exactly.
    expect(off(si('29.92 inHg abs', 'pressure'), SEA_LEVEL)).toBeLessThan(5e-5);
    expect(off(si('1013.25 mbara', 'pressure'), SEA_LEVEL)).toBeLessThan(1e-15);
    expect(readQuantity('1013.25 mbara', 'pressure', undefined)).toHaveProperty('value');
    expect(off(si('760 mm Hg abs', 'pressure'), SEA_LEVEL)).toBeLessThan(2e-7);
  });

  test('bare units are refused with both ways of writing', () => {
    expect(problem('145 psi', 'pressure')).toBe(
      '"145 psi" does not say gauge or absolute; write "145 psig" for a gauge reading or "145 psia" for absolute',
    );
    expect(problem('10 Bar', 'pressure')).toContain('write "10 barg" for a gauge reading or "10 bara" for absolute');
    expect(problem('1000 Pa', 'pressure')).toContain('"1000 Pag"');
    expect(problem('30 inHg', 'pressure')).toContain('"30 inHg gauge"');
  });
  const whileReadingSite = (text: string): unknown => readQuantity(text, 'pressure', undefined);
  test('while the barometer itself is read, only absolute makes sense', () => {
    expect(whileReadingSite('14.2 psig')).toHaveProperty(
      'problem',
      expect.stringContaining('write it absolute, such as "14.2 psia"'),
    );
    expect(whileReadingSite('980 mbar')).toHaveProperty(
      'problem',
      expect.stringContaining('write it absolute, "980 mbara"'),
    );
    expect(whileReadingSite('980 mbar')).not.toHaveProperty('problem', expect.stringContaining('gauge reading'));
  });
  test('less than nothing is refused', () => {
    expect(problem('-20 psig', 'pressure')).toBe(
      '"-20 psig" is less than a perfect vacuum (the air outside: 14.7 psia)',
    );
    expect(problem('-1 bara', 'pressure')).toBe('"-1 bara" is less than a perfect vacuum');
    expect(si('-14 psig', 'pressure')).toBeGreaterThan(0);
    expect(problem('-12 psig', 'pressure', 79_495)).toContain('11.53 psia');
  });
  test('a difference has no level', () => {
    expect(problem('5 psig', 'pressureDifference')).toContain('write "5 psi"');
    expect(problem('5 psid', 'pressureDifference')).toContain('write "5 psi"');
    expect(problem('2 bar(a)', 'pressureDifference')).toContain('write "2 bar"');
    expect(problem('3 psig/h', 'pressureRate')).toContain('write "3 psi/h"');
    expect(si('-2 bar', 'pressureDifference')).toBe(-2e5);
  });
});

describe('temperature', () => {
  test.each<[string, number]>([
    ['68 degF', 293.15],
    ['68 °F', 293.15],
    ['68F', 293.15],
    ['20 degC', 293.15],
    ['20 °C', 293.15],
    ['20 C', 293.15],
    ['20 deg C', 293.15],
    ['293.15 K', 293.15],
    ['-40 degF', 233.15],
    ['-40 degC', 233.15],
    ['212 degF', 373.15],
    ['0 K', 0],
    ['-273.15 degC', 0],
    ['-459.67 degF', 0],
  ])('%s is %d K', (text, kelvin) => expect(Math.abs(si(text, 'temperature') - kelvin)).toBeLessThan(1e-12));

  test.each(['-500 degF', '-274 degC', '-0.1 K'])('%s is refused', (text) =>
    expect(problem(text, 'temperature')).toContain('below absolute zero'),
  );
  test('differences have no offset', () => {
    expect(si('9 degF', 'temperatureDifference')).toBe(5);
    expect(si('5 degC', 'temperatureDifference')).toBe(5);
    expect(si('5 K', 'temperatureDifference')).toBe(5);
    expect(si('-1.8 °F', 'temperatureDifference')).toBeCloseTo(-1, 15);
  });
});

describe('what people write', () => {
  test.each<[Dimension, readonly string[]]>([
    [
      'volume',
      ['60 gal', '60gal', '60 GAL', '60 Gallons', '60 US gal', '60 U.S. gallons', '+60.0 gal', '6e1 gal', ' 60  gal '],
    ],
    ['volume', ['2 m3', '2 m^3', '2 m³', '2 cubic m', '2000 L', '2000 l', '2000 litres', '2e6 mL', '2000000 cc']],
    ['volume', ['3 ft3', '3 ft^3', '3 cu ft', '3 cu. ft.', '3 cubic feet', '5184 in3', '5184 cu in']],
    [
      'volumeFlow',
      ['5 gpm', '5 GPM', '5 gal/min', '5 gal per minute', '300 gal/h', '300 gph', '5 usgpm', '5 gallons/minute'],
    ],
    ['volumeFlow', ['12 l/min', '12 L/min', '12 lpm', '12 LPM', '0.72 m3/h', '0.2 L/s']],
    ['volumeFlow', ['3 cfm', '3 CFM', '3 ft3/min', '3 ft^3/min', '3 cu ft/min']],
    [
      'length',
      ['30 in', '30"', '30 "', '30 inches', '30 in.', '2.5 ft', "2.5'", '2.5 feet', '762 mm', '76.2 cm', '762 MM'],
    ],
    ['area', ['5 in^2', '5 in2', '5 in²', '5 sq in', '5 sq. in.', '5 square inches', '32.258 cm2']],
    [
      'time',
      ['90 s', '90 S', '90 sec', '90 seconds', '1.5 min', '1.5 MIN', '0.025 h', '0.025 hr', '0.025 hours', '90000 ms'],
    ],
    [
      'rotationalSpeed',
      ['1500 rpm', '1500 RPM', '1500 rev/min', '1500 r/min', '1500 1/min', '25 1/s', '25 Hz', '25 rps'],
    ],
    ['kinematicViscosity', ['32 cSt', '32 CST', '32 mm^2/s', '32 mm2/s', '32 mm²/s', '3.2e-5 m2/s']],
    ['force', ['9.80665 kN', '9.80665 KN', '9806.65 N', '1000 kgf']],
    ['torque', ['50 lbf ft', '50 ft lbf', '50 ft-lbf', '50 ft·lb', '50 lb-ft', '50 ft lb', '600 in-lb', '600 lbf in']],
    ['torque', ['80 Nm', '80 N m', '80 N·m', '80 N*m', '80 N.m', '80 NM', '0.08 kNm', '0.08 kN m']],
    ['stiffness', ['30 N/mm', '30 kN/m', '30000 N/m', '30 N / mm']],
    ['angle', ['90 deg', '90 DEG', '90 degrees', '90°', '90 °', '1.5707963267948966 rad']],
    ['power', ['3 hp', '3 HP', '1650 ft lbf/s']],
    ['heatCapacity', ['5 kJ/K', '5000 J/K', '5 kJ/degC', '5 kJ/°C']],
    [
      'specificHeat',
      ['2 kJ/(kg K)', '2 kJ/kg/K', '2 kJ/kg K', '2 kJ/kgK', '2000 J/(kg degC)', '2 kJ/(kg·K)', '2 kJ/kg°C'],
    ],
    ['thermalConductance', ['9 W/K', '9 W/degC', '9 W/°C']],
    ['thermalConductance', ['9 BTU/(h degF)', '9 BTU/h degF', '9 BTU/hr/degF', '9 Btu/h°F']],
    ['pressureRate', ['3 psi/h', '3 PSI/h', '3 psi per hour', '3 psi/hr', '0.05 psi/min']],
    ['linearResistance', ['5 psi/gpm', '5 psi/(gal/min)', '300 psi s/gal']],
    ['linearResistance', ['7 Pa s/m^3', '7 Pa*s/m3', '7 Pa·s/m³']],
    ['quadraticResistance', ['7 Pa s^2/m^6', '7 Pa·s²/m⁶', '7 Pa s2/m6']],
    ['flowCoefficient', ['Cv 12', 'cv 12', 'CV 12', '12 Cv', 'Cv=12', 'Cv: 12', 'Cv12']],
    [
      'pressureDifference',
      ['10 inH2O', '10 in H2O', '10 in. H2O', '10 inches H2O', '10 in wc', '10 in. w.c.', '254 mmH2O'],
    ],
    ['pressureDifference', ['200 GPa', '200000 MPa', '2e6 bar', '2e11 N/m2']],
    ['pressureDifference', ['1 kgf/cm^2', '1 kg/cm2', '98.0665 kPa', '980.665 mbar', '980.665 MBAR']],
    ['fraction', ['0.45', '45 %', '45%', '45 percent', '+.45', '4.5e-1']],
    ['density', ['870 kg/m3', '870 kg/m^3', '0.87 kg/L', '0.87 g/cm3', '0.87 g/cm^3']],
  ])('%s: %j are the same', (dimension, texts) => {
    const values = texts.map((text) => si(text, dimension));
    // A few roundings apart at most.
    for (const [i, value] of values.entries()) expect(off(value, values[0]!), texts[i]).toBeLessThan(1e-14);
  });

  test('a minus sign from a word processor', () => expect(si('\u221210 degC', 'temperature')).toBeCloseTo(263.15, 12));
  test('7 % is 0.07 and nothing else', () => expect(si('7 %', 'fraction')).toBe(0.07));
});

describe('what is refused, and what to write instead', () => {
  test.each<[string, Dimension, string]>([
    ['145', 'pressure', 'has no unit; write "145 psig" or "145 psia"'],
    ['60', 'volume', '(understood: gal, L, mL, ft^3, in^3, m^3)'],
    ['1,200 gal', 'volume', 'write the number without separators, "1200 gal", or "1.200 gal"'],
    ['1,200,000 gal', 'volume', 'write the number without separators, "1200000 gal"'],
    ['1,200.5 gal', 'volume', '"1200.5 gal"'],
    ['1 200 gal', 'volume', '"1200 gal"'],
    ["1'200 gal", 'volume', '"1200 gal"'],
    ['1_200 gal', 'volume', '"1200 gal"'],
    ['1.200,5 gal', 'volume', '"1200.5 gal"'],
    ['1,5 barg', 'pressure', '"1.5 barg"'],
    ['1/2 in', 'length', '"0.5 in"'],
    ['1 1/2 in', 'length', '"1.5 in"'],
    ['2-1/4"', 'length', '"2.25""'],
    ['5\' 6"', 'length', 'one number and one unit'],
    ['1 h 30 min', 'time', 'one number and one unit'],
    ['1:30', 'time', 'one number and one unit'],
    ['3 scfm', 'volumeFlow', 'counts air at a reference state'],
    ['3 SCFM', 'volumeFlow', '"3 ft^3/min"'],
    ['10 Nm3/h', 'volumeFlow', 'write the free air at intake conditions'],
    ['10 NL/min', 'volumeFlow', 'counts air at a reference state'],
    ['10 slpm', 'volumeFlow', 'counts air at a reference state'],
    ['9 imp gal', 'volume', 'US gallon'],
    ['5 m', 'time', '"5 min"'],
    ['32 cP', 'kinematicViscosity', 'dynamic viscosity'],
    ['500 lb', 'force', 'write "500 lbf"'],
    ['500 kg', 'force', 'write "500 kgf"'],
    ['5 gal', 'pressure', 'is a volume, but a pressure is wanted here'],
    ['10 psi', 'time', 'is a pressure, but a time is wanted here'],
    ['20 degC', 'volume', 'is a temperature, but a volume is wanted here'],
    ['145 pisg', 'pressure', 'did you mean "145 psig"?'],
    ['5 MPA', 'pressureDifference', 'did you mean "5 MPa"?'],
    ['5 parsnips', 'volume', 'unit "parsnips" is not known for a volume'],
    ['NaN psig', 'pressure', 'does not begin with a number'],
    ['Infinity gal', 'volume', 'does not begin with a number'],
    ['.inf', 'volume', 'does not begin with a number'],
    ['1e400 gal', 'volume', 'too large a number'],
    ['1e308 kip', 'force', 'too large a number'],
    ['', 'volume', 'is empty'],
    ['gal', 'volume', 'does not begin with a number'],
    ['1.2.3 gal', 'volume', 'does not begin with a number'],
    ['12', 'flowCoefficient', 'write for example "Cv 12"'],
    ['5 gal', 'fraction', 'as "0.85" or "85 %"'],
    ['0x10 gal', 'volume', 'one number and one unit'],
  ])('%s as %s', (text, dimension, words) => expect(problem(text, dimension)).toContain(words));

  test('the example of the field is shown', () =>
    expect(problem('60', 'volume', SEA_LEVEL, '610 gal')).toContain('write for example "610 gal"'));

  test('what is suggested is accepted', () => {
    for (const [text, dimension] of [
      ['1,200 gal', 'volume'],
      ['2-1/4"', 'length'],
      ['5 psig', 'pressureDifference'],
      ['145 pisg', 'pressure'],
      ['500 lb', 'force'],
    ] as const) {
      const reading = readQuantity(text, dimension, SEA_LEVEL);
      expect(si('suggestion' in reading ? reading.suggestion! : '', dimension)).toBeGreaterThan(0);
    }
  });
});

describe('hostile text', () => {
  test.each([
    '1 constructor',
    '1 __proto__',
    '1 toString',
    '1 gal; 2',
    '1 gal=3',
    '1 f(x)=x',
    '1 evaluate("1+1")',
    '1 import',
    '1 (((((((((((((((((((gal',
    '1 gal^999999999',
    '1 gal^-',
    '1 gal\u0000',
    `1 ${'g'.repeat(100_000)}`,
    '1'.repeat(100_000),
    `1 ${'('.repeat(60)}`,
    '1 \u001b[31mgal',
  ])('%s', (text) => {
    const words = problem(text, 'volume');
    expect(words.length).toBeLessThan(300);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the point of the check
    expect(words).not.toMatch(/[\u0000-\u001f]/);
  });

  test('any text gives a finite number or a problem in words', () => {
    const unitLike = fc.string({
      unit: fc.constantFrom(...'0123456789.,-+e /^*()%°³²"\'psigabrKPMLlmnftCvF_=[]{}'.split('')),
      maxLength: 24,
    });
    fc.assert(
      fc.property(
        fc.oneof(unitLike, fc.string({ unit: 'binary' })),
        fc.constantFrom(...dimensions),
        (text, dimension) => {
          const reading = readQuantity(text, dimension, SEA_LEVEL);
          if ('problem' in reading) expect(reading.problem.length).toBeGreaterThan(10);
          else expect(Number.isFinite(reading.value)).toBe(true);
        },
      ),
      { ...SEED, numRuns: timesOf(600) },
    );
  });
});

describe('output', () => {
  test.each<[number, Dimension, UnitSystem, string]>([
    [122.7 * 6894.757293168361 + SEA_LEVEL, 'pressure', 'us', '122.7 psig'],
    [8.46e5 + SEA_LEVEL, 'pressure', 'si', '8.46 barg'],
    [SEA_LEVEL, 'pressure', 'us', '0.0 psig'],
    [SEA_LEVEL - 1, 'pressure', 'us', '0.0 psig'],
    [60 * 3.785411784e-3, 'volume', 'us', '60.0 gal'],
    [60 * 3.785411784e-3, 'volume', 'si', '227.1 L'],
    [1e-4, 'volume', 'us', '0.0264 gal'],
    [12.52, 'time', 'us', '12.52 s'],
    [0.05, 'time', 'si', '0.05 s'],
    [0.5, 'time', 'si', '0.50 s'],
    [0.0123, 'time', 'si', '0.0123 s'],
    [600, 'time', 'si', '10.0 min'],
    [28_800, 'time', 'si', '8.0 h'],
    [40.3 * 0.0254, 'length', 'us', '40.3 in'],
    [1.0236, 'length', 'si', '1024 mm'],
    [0, 'fraction', 'us', '0 %'],
    [1, 'fraction', 'us', '100 %'],
    [0.4567, 'fraction', 'si', '45.7 %'],
    [293.15, 'temperature', 'us', '68.0 degF'],
    [293.15, 'temperature', 'si', '20.0 degC'],
    [5, 'temperatureDifference', 'us', '9.0 degF'],
    [4448.2216152605, 'force', 'us', '1000 lbf'],
    [4448.2216152605, 'force', 'si', '4.45 kN'],
    [6.30902e-5 * 9, 'volumeFlow', 'us', '9.0 gal/min'],
    [1e-3, 'volumeFlow', 'si', '60.0 L/min'],
    [1e-20, 'volume', 'us', '0 gal'],
    [-0.001, 'temperatureDifference', 'si', '-0.001 K'],
    [Number.NaN, 'volume', 'us', 'n/a'],
    [Number.POSITIVE_INFINITY, 'volume', 'us', 'n/a'],
  ])('%d of %s in %s is %s', (value, dimension, system, text) =>
    expect(formatQuantity(value, dimension, system, SEA_LEVEL)).toBe(text),
  );

  test('Cv stands in front', () => {
    expect(formatQuantity(si('Cv 12.5', 'flowCoefficient'), 'flowCoefficient', 'us')).toBe('Cv 12.50');
    expect(formatQuantity(si('Kv 0.123', 'flowCoefficient'), 'flowCoefficient', 'si')).toBe('Kv 0.123');
  });

  test('columns', () => {
    const psig = columnUnit('pressure', 'us');
    expect(psig.name).toBe('psig');
    expect(psig.toDisplay(768_970.7, 79_495)).toBeCloseTo(100, 4);
    expect(columnUnit('temperature', 'us').toDisplay(293.15, SEA_LEVEL)).toBeCloseTo(68, 10);
    expect(columnUnit('temperatureDifference', 'us').toDisplay(5, SEA_LEVEL)).toBeCloseTo(9, 12);
    expect(displayUnits('si').volumeFlow.name).toBe('L/min');
  });

  test('what is printed is read back', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...dimensions),
        fc.constantFrom<UnitSystem>('us', 'si'),
        fc.double({ min: 1e-3, max: 1e6, noNaN: true }),
        (dimension, system, number) => {
          const unit = columnUnit(dimension, system);
          const scale = dimension === 'pressure' || dimension === 'temperature';
          const name = unit.name;
          const value = si(dimension === 'flowCoefficient' ? `${name} ${number}` : `${number} ${name}`, dimension);
          const back = si(formatQuantity(value, dimension, system, SEA_LEVEL), dimension);
          // Three digits at least, or on a scale half of its last decimal.
          const printed = unit.toDisplay(back, SEA_LEVEL);
          const tolerance = Math.max(scale ? 0.5 * 10 ** -unit.decimals : 0, 0.006 * number) + 1e-9;
          expect(Math.abs(printed - number), formatQuantity(value, dimension, system)).toBeLessThanOrEqual(tolerance);
        },
      ),
      { ...SEED, numRuns: 2000 },
    );
  });

  test('a stated limit is inside the limit', () => {
    const reading = readQuantity('1 gal', 'volume', SEA_LEVEL);
    if ('problem' in reading) throw new Error(reading.problem);
    // 0.5 m^3 are 132.086 gal.
    expect(inUnit(0.5, reading.unit, 'max')).toBe('132 gal');
    expect(inUnit(0.5, reading.unit, 'min')).toBe('132.1 gal');
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1e6, noNaN: true }), fc.constantFrom('min', 'max'), (limit, side) => {
        const stated = si(inUnit(limit, reading.unit, side), 'volume');
        const ratio = stated / limit;
        expect(side === 'max' ? ratio <= 1 + 1e-8 && ratio > 0.998 : ratio >= 1 - 1e-8 && ratio < 1.002).toBe(true);
      }),
      { ...SEED, numRuns: 1000 },
    );
  });
});
