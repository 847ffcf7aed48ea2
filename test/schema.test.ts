import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import type { Dimension, Field, Table } from '../models/parameters.ts';
import { choice, either, flag, group, list, number, quantity, text } from '../models/parameters.ts';
import { readTable } from '../scenarios/reader.ts';
import { scenarioTable } from '../scenarios/scenario.ts';
import { jsonSchema } from '../scenarios/schema.ts';
import { describeDimension, displayUnits, readQuantity } from '../scenarios/units.ts';

const SEA_LEVEL = 101_325;

const table = {
  name: text({ meaning: 'Title of the run', optional: true, example: 'North yard' }),
  tank: group(
    {
      volume: quantity('volume', { meaning: 'Inside', above: 0, max: 50, example: '610 gal' }),
      lying: choice(['vertical', 'horizontal'], { meaning: 'How it stands', default: 'vertical' }),
      pressure: quantity('pressure', { meaning: 'Of the air', min: 101_325, example: '165 psig' }),
      filling: quantity('fraction', { meaning: 'Share of oil', min: 0, max: 1, default: 0.5, example: '55 %' }),
    },
    { meaning: 'Pressure tank' },
  ),
  pumps: list(
    group(
      {
        tag: text({ meaning: 'Name', tag: true, example: 'P-1' }),
        outlet: quantity('flowCoefficient', { meaning: 'Check valve', optional: true, example: 'Cv 12' }),
        tripClass: choice(['10', '20', '30'], { meaning: 'Of the overload relay', default: '10' }),
        fitted: flag({ meaning: 'There', default: true }),
        starts: number({ meaning: 'Starts per hour', whole: true, min: 1, max: 60, optional: true, example: '6' }),
        efficiency: number({ meaning: 'Of the motor', above: 0, below: 1, optional: true, example: '0.9' }),
        follows: text({ meaning: 'Another pump', refers: true, optional: true, example: 'P-1' }),
      },
      { meaning: 'A pump' },
    ),
    { meaning: 'Oil pumps', minItems: 1, maxItems: 2 },
  ),
  load: either(
    quantity('force', { meaning: 'Thrust', example: '4 kN' }),
    list(quantity('force', { meaning: 'Thrust', example: '4 kN' }), { meaning: 'Points', minItems: 2 }),
    { meaning: 'Thrust of the valve', optional: true },
  ),
  site: group(
    {
      altitude: quantity('length', { meaning: 'Height above the sea', optional: true, example: '300 m' }),
      barometer: quantity('pressure', { meaning: 'Air outside', optional: true, example: '980 mbara' }),
      winter: quantity('temperature', { meaning: 'Coldest', optional: true, example: '-20 degC' }),
      summer: quantity('temperature', { meaning: 'Hottest', optional: true, example: '100 °F' }),
    },
    {
      meaning: 'Where it stands',
      oneOf: [['altitude', 'barometer']],
      atMostOneOf: [['winter', 'summer']],
      together: [['barometer', 'winter']],
    },
  ),
} as const satisfies Table;

const compiled = (schema: object) =>
  new Ajv2020({ strict: true, strictRequired: false, allowUnionTypes: true }).compile(schema);
const schema = jsonSchema(table, {
  title: 'Plant',
  id: 'https://example.org/plant.schema.json',
  description: 'A plant',
});
const accepts = compiled(schema);

/** Every field of a table with an example in it. */
function* examples(fields: Table, path = ''): Generator<[string, Field & { example: string }]> {
  for (const [key, field] of Object.entries(fields)) yield* examplesOf(field, `${path}${key}`);
}
function* examplesOf(field: Field, path: string): Generator<[string, Field & { example: string }]> {
  if ('example' in field) yield [path, field];
  if (field.kind === 'group') yield* examples(field.table, `${path}.`);
  if (field.kind === 'list') yield* examplesOf(field.of, `${path}.0`);
  if (field.kind === 'either') {
    yield* examplesOf(field.scalar, path);
    yield* examplesOf(field.compound, path);
  }
}

/** A schema of one field alone, given what YAML makes of a text. */
const fieldAccepts = (field: Field): ((yaml: string) => boolean) => {
  const validate = compiled(jsonSchema({ x: field }, { title: 'One field' }));
  return (yaml) => validate({ x: parse(yaml) });
};

describe('every example of a field', () => {
  test.each([...examples(table)])('%s', (_, field) => {
    expect(fieldAccepts(field)(field.example)).toBe(true);
    const { faults } = readTable({ x: field }, `x: ${field.example}`, { file: 'f' });
    // An example of a reference has nothing to refer to in a file of one key.
    expect(faults.filter(({ message }) => !message.startsWith('no item has the tag'))).toEqual([]);
  });
});

describe('quantities of every dimension', () => {
  const dimensions = Object.keys(displayUnits('si')) as Dimension[];
  test.each(dimensions)('%s', (dimension) => {
    const units = describeDimension(dimension).units;
    const write = (number: string, unit: string): string =>
      dimension === 'flowCoefficient' ? `${unit} ${number}` : `${number} ${unit}`;
    const field = quantity(dimension, { meaning: 'It', example: write('5', units[0]!) });
    const accepted = fieldAccepts(field);
    for (const unit of units)
      for (const digits of ['5', '0.5', '.5', '5e2', '+5']) {
        const words = write(digits, unit);
        expect(accepted(`"${words}"`), words).toBe(true);
        expect(accepted(`"${words.toUpperCase()}"`), words.toUpperCase()).toBe(true);
        expect(readQuantity(words, dimension, SEA_LEVEL), words).toHaveProperty('value');
      }
    // A number alone is a fraction, and nothing else.
    for (const digits of ['5', '0.5', '1e5', '-3', '""', 'true', '[]', '{}'])
      expect(accepted(digits), digits).toBe(
        dimension === 'fraction' && Number.isFinite(Number(digits)) && digits !== '""',
      );
    for (const digits of ['"5"', '"1e5"', '" 5 "']) expect(accepted(digits), digits).toBe(dimension === 'fraction');
  });

  test.each(['145 psi', '10 bar', '10 Bar', '1000 kPa', '1000 Pa', '1 MPa', '30 inHg', '1 atm'])(
    '%s is no level',
    (words) => {
      expect(fieldAccepts(table.tank.table.pressure)(words)).toBe(false);
      expect(readQuantity(words, 'pressure', SEA_LEVEL)).toHaveProperty('problem');
    },
  );
  test.each([
    '10 bar g',
    '10 bar(g)',
    '10 BARG',
    '145 psi gauge',
    '30 inHg abs',
    '10 kgf/cm2 (a)',
    '145 PSIA',
    '10 bar [g]',
  ])('%s is one', (words) => {
    expect(fieldAccepts(table.tank.table.pressure)(words)).toBe(true);
    expect(readQuantity(words, 'pressure', SEA_LEVEL)).toHaveProperty('value');
  });
});

describe('the schema', () => {
  test('says what it is', () => {
    expect(schema).toMatchObject({
      $schema: 'https://json-schema.org/draft/2020-12/schema',
      $id: 'https://example.org/plant.schema.json',
      title: 'Plant',
      description: 'A plant.',
      type: 'object',
      required: ['tank', 'pumps', 'site'],
      additionalProperties: false,
    });
  });
  test('describes fields with units, limits and defaults in the words of the example', () => {
    const { properties } = schema as { properties: Record<string, { properties: Record<string, unknown> }> };
    expect(properties['tank']!.properties).toMatchObject({
      volume: {
        description: 'Inside. Volume (gal, L, mL, ft^3, in^3, m^3). More than 0 gal and at most 13200 gal.',
        type: 'string',
        examples: ['610 gal'],
      },
      pressure: { description: expect.stringContaining('At least 0 psig, at sea level.') },
      filling: {
        description: 'Share of oil. Fraction (%). At least 0 % and at most 100 %. Default: 50 %.',
        minimum: 0,
        maximum: 1,
      },
      lying: { description: 'How it stands. Default: vertical.', enum: ['vertical', 'horizontal'] },
    });
  });
  test('is data, and the same every time', () => {
    const again = jsonSchema(table, {
      title: 'Plant',
      id: 'https://example.org/plant.schema.json',
      description: 'A plant',
    });
    expect(JSON.stringify(again)).toBe(JSON.stringify(schema));
    expect(JSON.parse(JSON.stringify(schema))).toEqual(schema);
  });
});

describe('schema and reader agree', () => {
  const good = `name: 12
tank: {volume: 610 gal, pressure: 165 psig, filling: 0.4}
pumps:
  - {tag: P-1, outlet: Kv 10, tripClass: 20, fitted: no, starts: 6, efficiency: 0.9}
  - {tag: P-2, follows: P-1}
load: [4 kN, 900 lbf]
site: {altitude: 300 m}
`;
  const both = (yaml: string): boolean[] => [
    accepts(parse(yaml)),
    readTable(table, yaml, { file: 'f', ambientPressure: () => SEA_LEVEL }).values !== undefined,
  ];
  test.each<[string, string]>([
    ['name: 12', 'name: "text"'],
    ['name: 12\n', ''],
    ['filling: 0.4', 'filling: 40 %'],
    ['filling: 0.4', 'lying: horizontal'],
    ['tripClass: 20', 'tripClass: "30"'],
    ['fitted: no', 'fitted: true'],
    ['fitted: no', 'fitted: off'],
    ['[4 kN, 900 lbf]', '4 kN'],
    ['{altitude: 300 m}', '{barometer: 29.5 inHg abs, winter: -20 °C}'],
    ['165 psig', '11 bar (g)'],
  ])('good: %s -> %s', (from, to) => {
    expect(good).toContain(from);
    expect(both(good.replace(from, to))).toEqual([true, true]);
  });
  test.each<[string, string]>([
    ['610 gal', '610'],
    ['610 gal', '"610"'],
    ['volume: 610 gal', 'volme: 610 gal'],
    ['volume: 610 gal, ', ''],
    ['volume: 610 gal', 'volume: 610 gal, colour: red'],
    ['165 psig', '165 psi'],
    ['165 psig', '165'],
    ['filling: 0.4', 'filling: 1.4'],
    ['filling: 0.4', 'lying: upright'],
    ['tripClass: 20', 'tripClass: 25'],
    ['fitted: no', 'fitted: maybe'],
    ['fitted: no', 'fitted: 1'],
    ['starts: 6', 'starts: 6.5'],
    ['starts: 6', 'starts: 61'],
    ['starts: 6', 'starts: six'],
    ['efficiency: 0.9', 'efficiency: 1'],
    ['Kv 10', '10'],
    ['tag: P-2', 'tag: P 2'],
    ['{tag: P-2, follows: P-1}', '{follows: P-1}'],
    ['{tag: P-2, follows: P-1}', '{tag: P-2}\n  - {tag: P-3}'],
    ['[4 kN, 900 lbf]', '[4 kN]'],
    ['[4 kN, 900 lbf]', '4'],
    ['[4 kN, 900 lbf]', '{a: 4 kN}'],
    ['{altitude: 300 m}', '{}'],
    ['{altitude: 300 m}', '{altitude: 300 m, barometer: 1 bara, winter: 0 degC}'],
    ['{altitude: 300 m}', '{altitude: 300 m, winter: 0 degC, summer: 30 degC}'],
    ['{altitude: 300 m}', '{barometer: 1 bara}'],
    ['{altitude: 300 m}', 'flat'],
    ['site: {altitude: 300 m}', ''],
  ])('bad: %s -> %s', (from, to) => {
    expect(good).toContain(from);
    expect(both(good.replace(from, to))).toEqual([false, false]);
  });
});

test('the example of every quantity of the scenario file is one that it reads', () => {
  const quantities = (field: Field): Field[] => {
    switch (field.kind) {
      case 'group':
        return Object.values(field.table).flatMap(quantities);
      case 'list':
        return quantities(field.of);
      case 'either':
        return [...quantities(field.scalar), ...quantities(field.compound)];
      default:
        return field.kind === 'quantity' ? [field] : [];
    }
  };
  const all = quantities({ kind: 'group', table: scenarioTable, meaning: 'scenario' });
  expect(all.length).toBeGreaterThan(100);
  for (const field of all) {
    const { example } = field as { example: string };
    expect(readTable({ x: field }, `x: "${example}"`, { file: 'x' }).faults, example).toEqual([]);
  }
});
