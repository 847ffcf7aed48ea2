import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { choice, either, flag, group, list, number, quantity, type Table, text } from '../models/parameters.ts';
import {
  type Fault,
  formatFault,
  formatFaults,
  type Reading,
  type ReadOptions,
  readTable,
} from '../scenarios/reader.ts';
import { close } from './support/close.ts';
import { timesOf } from './support/law.ts';

const SEED = { seed: 20_260_302 };

// A small plant of our own, with every kind of field in it.
const siteTable = {
  altitude: quantity('length', {
    meaning: 'height above the sea',
    min: -500,
    max: 6000,
    optional: true,
    example: '300 m',
  }),
  barometer: quantity('pressure', {
    meaning: 'air outside',
    min: 3e4,
    max: 12e4,
    optional: true,
    example: '980 mbara',
  }),
  temperature: quantity('temperature', { meaning: 'air outside', default: 293.15, example: '68 degF' }),
};
const table = {
  name: text({ meaning: 'title', optional: true, example: 'North yard' }),
  tank: group(
    {
      volume: quantity('volume', { meaning: 'inside', above: 0, max: 50, example: '610 gal' }),
      lying: choice(['vertical', 'horizontal'], { meaning: 'how it stands' }),
      pressure: quantity('pressure', { meaning: 'of the air', min: 101_325, max: 3e7, example: '165 psig' }),
      filling: quantity('fraction', { meaning: 'share of oil', min: 0, max: 1, default: 0.5, example: '55 %' }),
      leak: group(
        {
          rate: quantity('pressureRate', { meaning: 'lost', example: '2 psi/h' }),
          at: quantity('pressure', { meaning: 'then', example: '150 psig' }),
        },
        { meaning: 'air leak', optional: true },
      ),
    },
    { meaning: 'pressure tank' },
  ),
  pumps: list(
    group(
      {
        tag: text({ meaning: 'name', tag: true, example: 'P-1' }),
        flow: quantity('volumeFlow', { meaning: 'rated flow', above: 0, example: '9 gal/min' }),
        selector: choice(['hand', 'off', 'auto'], { meaning: 'selector', default: 'auto' }),
        fitted: flag({ meaning: 'there', default: true }),
        starts: number({ meaning: 'starts per hour', whole: true, min: 1, max: 60, optional: true, example: '6' }),
        follows: text({ meaning: 'another pump', refers: true, optional: true, example: 'P-1' }),
      },
      { meaning: 'a pump' },
    ),
    { meaning: 'oil pumps', minItems: 1, maxItems: 3 },
  ),
  valves: list(
    group(
      {
        tag: text({ meaning: 'name', tag: true, example: 'XV-7' }),
        load: either(
          quantity('force', { meaning: 'thrust', example: '4 kN' }),
          list(
            group(
              {
                at: quantity('fraction', { meaning: 'travel', min: 0, max: 1, example: '10 %' }),
                force: quantity('force', { meaning: 'thrust there', example: '4 kN' }),
              },
              { meaning: 'point' },
            ),
            { meaning: 'points', minItems: 2 },
          ),
          { meaning: 'thrust', optional: true },
        ),
      },
      { meaning: 'a valve' },
    ),
    { meaning: 'valves', defaults: true },
  ),
  heat: group(
    {
      model: choice(['adiabatic', 'conductance'], { meaning: 'model', default: 'adiabatic' }),
      area: quantity('area', { meaning: 'wetted', optional: true, example: '5 m^2' }),
      film: number({ meaning: 'film coefficient', above: 0, optional: true, example: '4.5' }),
      wall: number({ meaning: 'wall', optional: true, example: '1' }),
    },
    { meaning: 'heat', defaults: true, together: [['area', 'film']], atMostOneOf: [['film', 'wall']] },
  ),
  site: group(siteTable, { meaning: 'where it stands', oneOf: [['altitude', 'barometer']] }),
} as const satisfies Table;

// ICAO standard atmosphere below 11 km (from memory): p = 101325 (1 - 2.25577e-5 h)^5.25588.
const atmosphere = (altitude_m: number): number => 101_325 * (1 - 2.25577e-5 * altitude_m) ** 5.25588;
const options = {
  file: 'plant.yaml',
  ambientPressure: (site) => site.barometer ?? atmosphere(site.altitude ?? 0),
} satisfies ReadOptions<typeof table>;

const good = `# yaml-language-server: $schema=./some.schema.json
name: North yard
tank:
  volume: 610 gal        # quoted or not
  lying: vertical
  pressure: "165 psig"
pumps:
  - tag: P-1
    flow: 9 gal/min
  - tag: P-2
    flow: 9 gpm
    selector: hand
    fitted: no
    starts: 6
    follows: P-1
valves:
  - { tag: XV-7, load: 4 kN }
  - { tag: XV.8, load: [{ at: 0 %, force: 5 kN }, { at: 1, force: 2 kN }] }
site:
  altitude: 2000 m
`;

const read = (text: string, overrides: readonly string[] = []): Reading<typeof table> =>
  readTable(table, text, { ...options, overrides });
const changed = (from: string, to: string): string => {
  if (!good.includes(from)) throw new Error(`no "${from}" in the sample`);
  return good.replace(from, () => to);
};
/** "line:column path: message" */
const brief = ({ line, column, path, message }: Fault): string => `${line}:${column} ${path}: ${message}`;
const briefs = (text: string, overrides: readonly string[] = []): string[] => read(text, overrides).faults.map(brief);
/** The only fault of a text. */
const only = (text: string, overrides: readonly string[] = []): Fault => {
  const { faults, values } = read(text, overrides);
  expect(faults.map(brief)).toHaveLength(1);
  expect(values).toBeUndefined();
  return faults[0]!;
};
/** Line and column of the nth place where `part` stands in `text`, by counting. */
const at = (text: string, part: string, nth = 1): { line: number; column: number } => {
  let index = -1;
  for (let i = 0; i < nth; i++) index = text.indexOf(part, index + 1);
  const before = text.slice(0, index).split('\n');
  return { line: before.length, column: before.at(-1)!.length + 1 };
};

describe('a good file', () => {
  test('gives SI values', () => {
    const { values, faults } = read(good);
    expect(faults).toEqual([]);
    // 610 gal x 3.785411784 L; 165 psig at 2000 m, where the standard atmosphere has 79 495 Pa (from memory): the
    // formula above gives that to 3e-5.
    close(values!.tank.volume, 2.30910118824, 1e-12);
    close(values!.tank.pressure, 165 * 6894.757293168361 + 79_495, 3e-6);
    expect(values!.tank.lying).toBe('vertical');
    expect(values!.tank.filling).toBe(0.5);
    expect(values!.tank.leak).toBeUndefined();
    expect(values!.pumps.map((pump) => pump.tag)).toEqual(['P-1', 'P-2']);
    expect(values!.pumps[0]).toEqual({ tag: 'P-1', flow: values!.pumps[1]!.flow, selector: 'auto', fitted: true });
    expect(values!.pumps[1]!.fitted).toBe(false);
    expect(values!.pumps[1]!.starts).toBe(6);
    expect(values!.valves[0]!.load).toBe(4000);
    expect(values!.valves[1]!.load).toEqual([
      { at: 0, force: 5000 },
      { at: 1, force: 2000 },
    ]);
    expect(values!.heat).toEqual({ model: 'adiabatic' });
    expect(values!.site).toEqual({ altitude: 2000, temperature: 293.15 });
  });

  test('is frozen through and through, and plain', () => {
    const { values } = read(good);
    const visit = (value: unknown): void => {
      if (typeof value !== 'object' || value === null) return;
      expect(Object.isFrozen(value)).toBe(true);
      expect([Object.prototype, Array.prototype]).toContain(Object.getPrototypeOf(value));
      Object.values(value).forEach(visit);
    };
    visit(values);
    expect(structuredClone(values)).toEqual(values);
  });

  test.each([
    ['line ends of Windows', (text: string) => text.replaceAll('\n', '\r\n')],
    ['line ends of old', (text: string) => text.replaceAll('\n', '\r')],
    ['a byte order mark', (text: string) => `\ufeff${text}`],
    ['a document mark', (text: string) => `---\n${text}...\n`],
    ['the site first', (text: string) => `site: {altitude: 2000 m}\n${text.slice(0, text.indexOf('site:'))}`],
  ])('%s changes nothing', (_, change) => {
    const text = change(good);
    expect(read(text).values).toEqual(read(good).values);
    const wrong = text.replace('610 gal', '610 gall');
    expect(only(wrong)).toMatchObject({ path: 'tank.volume', sourceLine: expect.not.stringContaining('\r') });
  });

  test('positions by index and by tag', () => {
    const { where } = read(good);
    expect(where('tank.volume')).toMatchObject({ file: 'plant.yaml', ...at(good, '610 gal') });
    expect(where('tank.pressure')).toMatchObject(at(good, '"165 psig"'));
    expect(where('pumps.1.flow')).toMatchObject({ ...at(good, '9 gpm'), sourceLine: '    flow: 9 gpm' });
    expect(where('pumps.P-2.flow')).toEqual(where('pumps.1.flow'));
    expect(where('valves.XV.8.load.1.force')).toMatchObject(at(good, '2 kN'));
    expect(where('pumps.P-2')).toMatchObject(at(good, 'tag: P-2'));
    expect(where('tank.filling')).toBeUndefined();
    expect(where('nowhere.at.all')).toBeUndefined();
    expect(where('__proto__')).toBeUndefined();
  });

  test('faults of later checks point at the value or at the group around it', () => {
    const { faultAt } = read(good);
    expect(faultAt('pumps.P-2.starts', 'too many')).toMatchObject({ path: 'pumps.P-2.starts', ...at(good, '6\n') });
    expect(faultAt('tank.filling', 'too full')).toMatchObject(at(good, 'volume: 610'));
    expect(faultAt('heat.area', 'too small')).toMatchObject(at(good, 'name: North'));
  });

  test.each(['yes', 'true', 'on', 'Yes', 'TRUE', '"on"'])('%s is yes', (word) =>
    expect(read(changed('fitted: no', `fitted: ${word}`)).values!.pumps[1]!.fitted).toBe(true),
  );
  test.each(['no', 'false', 'off', 'No', "'FALSE'"])('%s is no', (word) =>
    expect(read(changed('fitted: no', `fitted: ${word}`)).values!.pumps[1]!.fitted).toBe(false),
  );
  test('a title of digits is text', () => expect(read(changed('North yard', '0012')).values!.name).toBe('0012'));
});

describe('air pressure', () => {
  test('a barometer counts as well as an altitude', () => {
    const { values } = read(changed('altitude: 2000 m', 'barometer: 23.48 inHg abs'));
    // 23.48 in of mercury are 795.1 hPa; tolerance: the rounding of both.
    close(values!.tank.pressure, 165 * 6894.757293168361 + 79_512, 1e-5);
  });
  test('a gauge barometer is refused', () =>
    expect(only(changed('altitude: 2000 m', 'barometer: 14.2 psig'))).toMatchObject({
      path: 'site.barometer',
      message: expect.stringContaining('write it absolute'),
    }));
  test('a faulty site hides no other fault', () => {
    const text = changed('altitude: 2000 m', 'altitude: 2000').replace('610 gal', '610').replace('165 psig', '165 psi');
    expect(read(text).faults.map(({ path }) => path)).toEqual(['tank.volume', 'tank.pressure', 'site.altitude']);
  });
  test('without a rule for it, gauge readings refer to sea level', () => {
    const { values } = readTable({ p: quantity('pressure', { meaning: 'p', example: '1 barg' }) }, 'p: 1 barg', {
      file: 'f',
    });
    expect(values!.p).toBe(201_325);
  });
});

describe('faults', () => {
  test.each<[string, string, string, string]>([
    [
      'volume: 610 gal',
      'volume: 610',
      '610',
      'tank.volume: "610" has no unit; write for example "610 gal" (understood: gal, L, mL, ft^3, in^3, m^3)',
    ],
    [
      'volume: 610 gal',
      'volume: 1,200 gal',
      '1,200',
      'tank.volume: "1,200 gal": write the number without separators, "1200 gal", or "1.200 gal" (the comma could be a decimal point)',
    ],
    [
      'volume: 610 gal',
      'volume: 20000 gal',
      '20000',
      'tank.volume: "20000 gal" is too large: it must be more than 0 gal and at most 13200 gal',
    ],
    [
      'volume: 610 gal',
      'volume: 60 m3',
      '60 m3',
      'tank.volume: "60 m3" is too large: it must be more than 0 m3 and at most 50 m3',
    ],
    [
      'volume: 610 gal',
      'volume: 0 L',
      '0 L',
      'tank.volume: "0 L" is too small: it must be more than 0 L and at most 50000 L',
    ],
    [
      'volume: 610 gal',
      'volume: -5 gal',
      '-5',
      'tank.volume: "-5 gal" is too small: it must be more than 0 gal and at most 13200 gal',
    ],
    [
      'volume: 610 gal',
      'volume: .inf',
      '.inf',
      'tank.volume: ".inf" does not begin with a number; write for example "610 gal"',
    ],
    [
      'volume: 610 gal',
      'volume: [610 gal]',
      '[610',
      'tank.volume: is a list; a single value is wanted: write for example "volume: 610 gal"',
    ],
    ['volume: 610 gal', 'volume:', 'volume', 'tank.volume: has no value; write for example "volume: 610 gal"'],
    ['volume: 610 gal', 'volume: ~', 'volume', 'tank.volume: has no value; write for example "volume: 610 gal"'],
    [
      '"165 psig"',
      '165 psi',
      '165 psi',
      'tank.pressure: "165 psi" does not say gauge or absolute; write "165 psig" for a gauge reading or "165 psia" for absolute',
    ],
    [
      '"165 psig"',
      '3 psia',
      '3 psia',
      'tank.pressure: "3 psia" is too small: it must be at least 14.7 psia and at most 4351 psia',
    ],
    ['lying: vertical', 'lying: upright', 'upright', 'tank.lying: "upright" is not one of vertical, horizontal'],
    [
      'lying: vertical',
      'lying: horizntal',
      'horizntal',
      'tank.lying: "horizntal" is not one of vertical, horizontal; did you mean "horizontal"?',
    ],
    [
      'lying: vertical',
      'lying: vertical\n  filling: 55',
      '55',
      'tank.filling: "55" is too large: it must be at least 0 and at most 1; did you mean "55 %"?',
    ],
    [
      'lying: vertical',
      'lying: vertical\n  filling: 120 %',
      '120',
      'tank.filling: "120 %" is too large: it must be at least 0 % and at most 100 %',
    ],
    ['fitted: no', 'fitted: maybe', 'maybe', 'pumps.1.fitted: "maybe": write yes or no'],
    ['starts: 6', 'starts: 6.5', '6.5', 'pumps.1.starts: "6.5" must be whole'],
    ['starts: 6', 'starts: 90', '90', 'pumps.1.starts: "90" is too large: it must be at least 1 and at most 60'],
    ['starts: 6', 'starts: six', 'six', 'pumps.1.starts: "six" is not a plain number; write for example "6"'],
    ['starts: 6', 'starts: 6 1/h', '6 1/h', 'pumps.1.starts: "6 1/h" is not a plain number; write for example "6"'],
    [
      'starts: 6',
      'starts: 6 starts',
      '6 starts',
      'pumps.1.starts: "6 starts" is not a plain number; it has no unit here, write for example "6"',
    ],
    ['starts: 6', 'starts: 0x10', '0x10', 'pumps.1.starts: "0x10" is not a plain number; write for example "6"'],
    ['follows: P-1', 'follows: P1', 'P1', 'pumps.1.follows: no item has the tag "P1"; did you mean "P-1"?'],
    [
      'follows: P-1',
      'follows: nobody',
      'nobody',
      'pumps.1.follows: no item has the tag "nobody"; tags: P-1, P-2, XV-7, XV.8',
    ],
    [
      'tag: P-2',
      'tag: P-1',
      'P-1\n    flow: 9 gpm',
      'pumps.1.tag: tag "P-1" is already used at plant.yaml:8 (pumps.0.tag)',
    ],
    ['tag: XV-7', 'tag: P-2', 'P-2, load', 'valves.0.tag: tag "P-2" is already used at plant.yaml:10 (pumps.1.tag)'],
    [
      'tag: P-2',
      'tag: pump two',
      'pump two',
      'pumps.1.tag: "pump two" cannot be a tag: letters, digits, "-", "_" and ".", at most 60; write for example "P-1"',
    ],
    ['name: North yard', 'nam: North yard', 'nam:', ': unknown key "nam"; did you mean "name"?'],
    ['name: North yard', 'Name: North yard', 'Name:', ': unknown key "Name"; did you mean "name"?'],
    [
      'name: North yard',
      'colour: red',
      'colour',
      ': unknown key "colour"; keys here: name, tank, pumps, valves, heat, site',
    ],
    [
      'name: North yard',
      '__proto__: {a: 1}',
      '__proto__',
      ': unknown key "__proto__"; keys here: name, tank, pumps, valves, heat, site',
    ],
    [
      'name: North yard',
      'constructor: 1',
      'constructor',
      ': unknown key "constructor"; keys here: name, tank, pumps, valves, heat, site',
    ],
    ['name: North yard', '? [a, b]\n: 1', '[a', ': a key must be a word, not a list'],
    [
      'name: North yard',
      '<<: {name: x}',
      '<<',
      ': keys cannot be merged in with "<<", write them out; keys here: name, tank, pumps, valves, heat, site',
    ],
    ['name: North yard', 'name: a\nname: b', 'name: b', 'name: "name" is written twice in one group; first at line 2'],
    [
      '  lying: vertical\n',
      '',
      'tank:',
      'tank.lying: is missing (how it stands); write for example "lying: vertical" (one of vertical, horizontal)',
    ],
    ['    flow: 9 gpm\n', '', 'tag: P-2', 'pumps.1.flow: is missing (rated flow); write for example "flow: 9 gal/min"'],
    ['  altitude: 2000 m', '  temperature: 20 degC', 'site', 'site: needs "altitude" or "barometer"'],
    [
      '  altitude: 2000 m',
      '  altitude: 2000 m\n  barometer: 800 mbara',
      'barometer',
      'site: "altitude" and "barometer" exclude each other; write only one of them',
    ],
    ['site:', 'heat: {area: 5 m2}\nsite:', 'area', 'heat: "area" needs "film" beside it'],
    [
      'site:',
      'heat: {film: 4, wall: 2}\nsite:',
      'wall',
      'heat: "film" and "wall" exclude each other; write only one of them',
    ],
    [
      'name: North yard',
      'heat: 5',
      '5',
      'heat: "5" is a single value; a group of keys is wanted: model, area, film, wall',
    ],
    ['name: North yard', 'heat: [a]', '[a]', 'heat: is a list; a group of keys is wanted: model, area, film, wall'],
    ['name: North yard', 'name: *title', '*title', 'name: "*title" repeats "&title", but no "&title" stands above it'],
    [
      'load: 4 kN',
      'load: 4',
      '4 }',
      'valves.0.load: "4" has no unit; write for example "4 kN" (understood: lbf, N, kN, kgf, kip)',
    ],
    ['load: 4 kN', 'load: [{at: 0, force: 1 kN}]', 'load: [', 'valves.0.load: has 1 item; at least 2 needed'],
    [
      'load: 4 kN',
      'load: {at: 0}',
      '{at: 0}',
      'valves.0.load: is a group of keys; a list is wanted, each item on its own line behind "- "',
    ],
    ['  - { tag: XV-7, load: 4 kN }', '  -', '-\n  - { tag: XV', 'valves.0: has no value; write its keys: tag'],
  ])('%s -> %s', (from, to, mark, wanted) => {
    const text = changed(from, to);
    const place = at(text, mark);
    const got = briefs(text);
    const column = /has no value; write its keys/.test(wanted) ? place.column + 1 : place.column;
    expect(got).toEqual([`${place.line}:${column} ${wanted}`]);
  });

  test('a value in the wrong shape', () => {
    expect(
      only('pumps: none\n'.concat(good.replace(/pumps:[\s\S]*?valves/, 'valves').replace('      follows: P-1\n', '')))
        .message,
    ).toBe('"none" is a single value; a list is wanted, each item on its own line behind "- "');
  });

  test('too many items', () => {
    const pump = (n: number): string => `  - {tag: X-${n}, flow: 1 gpm}\n`;
    expect(only(changed('valves:', `${pump(1)}${pump(2)}valves:`))).toMatchObject({
      message: 'has 4 items; at most 3 are allowed',
      ...at(changed('valves:', `${pump(1)}${pump(2)}valves:`), '{tag: X-2'),
    });
  });

  test('a misspelt group is read as what it was meant to be', () => {
    // Without that, the tag in it would be missing, and the reference to it a second fault.
    const text = changed('pumps:', 'pmups:').replace('9 gpm', '9 gpn');
    expect(read(text).faults.map(({ path, message }) => `${path}: ${message}`)).toEqual([
      ': unknown key "pmups"; did you mean "pumps"?',
      expect.stringContaining('pumps.1.flow: "9 gpn"'),
    ]);
  });

  test('a missing group says what belongs in it', () => {
    const text = good.slice(0, good.indexOf('tank:')) + good.slice(good.indexOf('pumps:'));
    expect(only(text).message).toBe(
      'is missing (pressure tank); write "tank:" and, indented below it, volume, lying, pressure',
    );
  });

  test('all of one file at once, in its order', () => {
    const text = good
      .replace('610 gal', '610')
      .replace('vertical', 'vertcal')
      .replace('9 gal/min', '9 scfm')
      .replace('follows: P-1', 'follows: P-9')
      .replace('4 kN', '4 kNm')
      .replace('altitude', 'altitud');
    const { faults } = read(text);
    expect(faults.map(({ path }) => path)).toEqual([
      'tank.volume',
      'tank.lying',
      'pumps.0.flow',
      'pumps.1.follows',
      'valves.0.load',
      'site',
    ]);
    const order = faults.map(({ line, column }) => line * 1000 + column);
    expect(order).toEqual([...order].sort((a, b) => a - b));
  });

  test('suggestions can be put in place', () => {
    expect(only(changed('lying: vertical', 'lying: vertcal')).suggestion).toBe('vertical');
    expect(only(changed('610 gal', '1,200 gal')).suggestion).toBe('1200 gal');
    expect(only(changed('name:', 'nmae:')).suggestion).toBe('name');
    expect(only(changed('starts: 6', 'starts: six'))).not.toHaveProperty('suggestion');
  });

  test('stated limits are accepted when written', () => {
    const { message } = only(changed('610 gal', '20000 gal'));
    const limit = /at most (.*)$/.exec(message)![1]!;
    expect(read(changed('610 gal', limit)).faults).toEqual([]);
    expect(read(changed('610 gal', '50 m3')).values!.tank.volume).toBe(50);
    expect(read(changed('lying: vertical', 'lying: vertical\n  filling: 100 %')).values!.tank.filling).toBe(1);
  });
});

describe('broken YAML', () => {
  test.each<[string, string, [number, number], string]>([
    ['nothing', '', [1, 1], 'the file is empty; it needs keys such as name, tank, pumps, valves, heat, site'],
    ['comments', '# one\n# two\n', [1, 1], 'the file is empty'],
    ['a mark', '---\n', [1, 4], 'the file is empty'],
    ['one word', 'hello\n', [1, 1], 'the file must be a group of keys, not a single value'],
    ['a list', '- a\n- b\n', [1, 1], 'the file must be a group of keys, not a list'],
    ['no blank', 'name:x\n', [1, 1], 'a blank is needed behind each ":"'],
    ['a tab', 'tank:\n\tvolume: 3 gal\n', [2, 1], 'indent with spaces'],
    ['a quote', 'name: "x\ntank: 3\n', [1, 7], 'this quotation mark is not closed'],
    ['a bracket', 'name: [x\ntank: 3\n', [1, 7], 'is not closed'],
    ['a brace', 'tank: {volume: 3 gal\nname: x\n', [1, 7], 'is not closed'],
    ['indented less', 'tank:\n   volume: 3 gal\n  lying: vertical\n', [3, 1], 'not aligned'],
    ['indented more', 'tank:\n  volume: 3 gal\n    lying: vertical\n', [2, 11], 'indented too far'],
    ['two colons', 'name: a: b\n', [1, 7], 'needs quotes'],
    ['no colon', 'name: x\ntank\nsite: {altitude: 0 m}\n', [2, 1], 'a line without ":" before this key'],
    ['no colon at the end', 'name: x\ntank\n', [2, 1], 'this key has no ":" behind it'],
    ['a sign', 'name: @x\n', [1, 7], 'needs quotes'],
    ['text behind quotes', 'name: "a" b\n', [1, 11], 'put the whole value in quotes'],
    ['brackets without end', '['.repeat(100_000), [1, 41], 'nested deeper than 40 levels'],
    ['lists without end', '- '.repeat(100_000), [1, 80], 'nested deeper than 40 levels'],
  ])('%s', (_, text, [line, column], message) => {
    expect(only(text)).toMatchObject({ path: '', line, column, message: expect.stringContaining(message) });
  });

  test.each<[string, string, string, [number, number]]>([
    ['a second document', `${good}---\n${good}`, 'a second document starts here', [good.split('\n').length, 1]],
    [
      'a second document without mark',
      `${good}...\nname: x\n`,
      'a second document starts here',
      [good.split('\n').length + 1, 1],
    ],
    ['a type mark', changed('North yard', '!place North yard'), 'a type mark', [2, 7]],
    ['a known type mark', changed('North yard', '!!int 5'), 'a type mark', [2, 7]],
    ['an unknown escape', changed('North yard', '"a\\q"'), 'unknown escape', [2, 9]],
    ['an old version', `%YAML 1.1\n---\n${good}`, 'YAML 1.2', [1, 1]],
  ])('%s leaves the rest readable', (_, text, message, [line, column]) => {
    expect(only(text)).toMatchObject({ line, column, message: expect.stringContaining(message) });
  });

  test('what stands above a break and depends on nothing else is still reported', () => {
    const text = good.replace('610 gal', '610').replace('selector: hand', 'selector: "hand').replace('kN', 'kM');
    expect(read(text).faults.map(({ path, message }) => `${path}: ${message}`)).toEqual([
      expect.stringContaining('tank.volume: "610" has no unit'),
      ': this quotation mark is not closed',
    ]);
  });

  test('YAML 1.2 words stay text', () => {
    for (const word of ['NO', '12:30:45', '1_000', '010', '0x1f', '2026-03-01', 'null ish'])
      expect(read(changed('North yard', word)).values!.name).toBe(word);
  });

  test('no text makes it throw, and every text gives values or faults', () => {
    const pieces = [
      'name',
      ': ',
      '\n',
      '  ',
      '- ',
      'tank',
      '{',
      '}',
      '[',
      ']',
      ',',
      '"',
      "'",
      '&a ',
      '*a',
      '!x ',
      '#',
      '|',
      '>',
      '?',
      '---\n',
      '...\n',
      '\t',
      '%',
      '@',
      '~',
      '610 gal',
      '\r',
      '\u0000',
      '<<',
      '=',
      '__proto__',
    ];
    fc.assert(
      fc.property(
        fc.array(fc.oneof(fc.constantFrom(...pieces), fc.string({ maxLength: 3, unit: 'binary' })), { maxLength: 25 }),
        fc.nat(good.length),
        fc.boolean(),
        (parts, place, inside) => {
          const noise = parts.join('');
          const { values, faults } = read(inside ? good.slice(0, place) + noise + good.slice(place) : noise);
          expect(values === undefined).toBe(faults.length > 0);
          for (const fault of faults) {
            expect(fault.line).toBeGreaterThan(0);
            expect(fault.column).toBeGreaterThan(0);
            expect(formatFault(fault).split('\n')).toHaveLength(3);
          }
        },
      ),
      { ...SEED, numRuns: timesOf(300) },
    );
  });
});

describe('aliases', () => {
  test('repeat what is above', () => {
    const { values } = read(changed('flow: 9 gal/min', 'flow: &f 9 gal/min').replace('flow: 9 gpm', 'flow: *f'));
    expect(values!.pumps[1]!.flow).toBe(values!.pumps[0]!.flow);
  });
  test('a fault in what is repeated points there', () => {
    const text = changed('flow: 9 gal/min', 'flow: &f 9 scfm').replace('flow: 9 gpm', 'flow: *f');
    expect(read(text).faults.map(({ line, path }) => `${line} ${path}`)).toEqual(['9 pumps.0.flow', '9 pumps.1.flow']);
  });
  test('a bomb is defused', () => {
    const deep = {
      deep: list(list(list(number({ meaning: 'n', example: '1' }), { meaning: 'a' }), { meaning: 'b' }), {
        meaning: 'c',
      }),
    };
    const text = `deep:\n  - &a\n    - &b [${'1, '.repeat(1000)}]\n${'    - *b\n'.repeat(1000)}${'  - *a\n'.repeat(1000)}`;
    const { faults } = readTable(deep, text, { file: 'f' });
    expect(faults).toHaveLength(1);
    expect(faults[0]!.message).toContain('repeat each other to more than');
  });
  test('a circle is no trap', () => {
    expect(read('tank: &t\n  volume: *t\n').faults.map(({ path }) => path)).toContain('tank.volume');
  });
});

describe('overrides', () => {
  test('change, add, and say what they did', () => {
    const { values, overrides, faults } = read(good, [
      'tank.volume=900 gal',
      'pumps.0.starts=4',
      'pumps.P-2.selector = auto',
      'valves.XV.8.load.1.force=3 kN',
      'valves.XV-7.load=[{at: 0 %, force: 1 kN}, {at: 100 %, force: 2 kN}]',
      'heat.model=conductance',
      'tank.leak.rate=2 psi/h',
      'tank.leak.at=150 psig',
      'name="0 # 1"',
    ]);
    expect(faults).toEqual([]);
    close(values!.tank.volume, 900 * 3.785411784e-3, 1e-12);
    expect(values!.pumps.map(({ starts, selector }) => [starts, selector])).toEqual([
      [4, 'auto'],
      [6, 'auto'],
    ]);
    expect(values!.valves[1]!.load).toEqual([
      { at: 0, force: 5000 },
      { at: 1, force: 3000 },
    ]);
    expect(values!.valves[0]!.load).toHaveLength(2);
    expect(values!.heat.model).toBe('conductance');
    close(values!.tank.leak!.rate, (2 * 6894.757293168361) / 3600, 1e-12);
    expect(values!.name).toBe('0 # 1');
    expect(overrides.map(({ path, before, after }) => [path, before, after])).toEqual([
      ['tank.volume', '610 gal', '900 gal'],
      ['pumps.0.starts', undefined, '4'],
      ['pumps.1.selector', 'hand', 'auto'],
      ['valves.1.load.1.force', '2 kN', '3 kN'],
      ['valves.0.load', '4 kN', '[{at: 0 %, force: 1 kN}, {at: 100 %, force: 2 kN}]'],
      ['heat.model', undefined, 'conductance'],
      ['tank.leak.rate', undefined, '2 psi/h'],
      ['tank.leak.at', undefined, '150 psig'],
      ['name', 'North yard', '"0 # 1"'],
    ]);
  });

  test('mean the same as the file changed by hand', () => {
    expect(read(good, ['tank.volume=900 gal', 'pumps.P-1.flow=7 gpm']).values).toEqual(
      read(changed('610 gal', '900 gal').replace('9 gal/min', '7 gpm')).values,
    );
  });

  test('later ones win, and may change what earlier ones brought', () => {
    const list = 'valves.XV-7.load=[{at: 0 %, force: 1 kN}, {at: 100 %, force: 2 kN}]';
    const { values, overrides, where } = read(good, [list, 'valves.0.load.1.force=9 kN', 'name=a', 'name=b']);
    expect(values!.valves[0]!.load).toEqual([
      { at: 0, force: 1000 },
      { at: 1, force: 9000 },
    ]);
    expect(values!.name).toBe('b');
    expect(overrides.map(({ before }) => before)).toEqual(['4 kN', '2 kN', 'North yard', 'a']);
    expect(where('valves.XV-7.load.0.force')).toMatchObject({
      file: '--set',
      line: 1,
      column: list.indexOf('1 kN') + 1,
    });
    expect(where('valves.XV-7.load.1.force')).toMatchObject({
      file: '--set',
      line: 2,
      column: 'valves.0.load.1.force='.length + 1,
    });
    expect(where('tank.volume')).toMatchObject({ file: 'plant.yaml' });
  });

  test('change one place of what an alias shares', () => {
    const text = good.replace(/ {2}- tag: P-1[\s\S]*?valves/, '  - &p {tag: P-1, flow: 9 gpm}\n  - *p\nvalves');
    const { values, faults } = read(text, ['pumps.1.tag=P-2', 'pumps.1.flow=3 gpm']);
    expect(faults).toEqual([]);
    close(values!.pumps[0]!.flow / values!.pumps[1]!.flow, 3, 1e-12);
  });

  test('a whole list or group can be given', () => {
    const { values } = read(good, ['pumps=[{tag: P-1, flow: 3 gpm}]', 'site={barometer: 1 bara}']);
    expect(values!.pumps).toHaveLength(1);
    close(values!.tank.pressure, 165 * 6894.757293168361 + 1e5, 1e-12);
  });

  test.each<[string, number, string]>([
    ['tank.volume', 1, 'must be written path=value'],
    ['=5 gal', 1, 'must be written path=value'],
    ['tank.volume=', 1, 'must be written path=value'],
    ['tank.volum=5 gal', 6, 'there is no key "volum"; did you mean "volume"?'],
    ['tnk.volume=5 gal', 1, 'there is no key "tnk"; did you mean "tank"?'],
    ['tank.colour=5 gal', 6, 'there is no key "colour"; keys here: volume, lying, pressure, filling, leak'],
    ['pumps.7.flow=5 gpm', 7, 'has no item "7"; items: P-1, P-2'],
    ['pumps.P-3.flow=5 gpm', 7, 'has no item "P-3"; did you mean "P-1"?'],
    ['pumps.-1.flow=5 gpm', 7, 'has no item "-1"'],
    ['tank.volume.x=5 gal', 13, 'is a single value and has no "x" in it'],
    ['valves.XV-7.load.0.force=1 kN', 18, 'is a single value in the file, not a list'],
    ['__proto__.x=1', 1, 'there is no key "__proto__"'],
    ['tank.constructor=1', 6, 'there is no key "constructor"'],
    ['pumps=[{tag: P-1', 7, 'is not a complete list, group or quoted text'],
    ['tank.volume=900', 13, 'has no unit'],
    ['tank.volume=900 gall', 13, 'unit "gall" is not known'],
    ['pumps.P-2.selector=Off', 20, 'did you mean "off"?'],
    ['pumps.P-2.tag=P-1', 15, 'tag "P-1" is already used at plant.yaml:8'],
    ['pumps.0={tag: P-1, flow: 9 gpn}', 26, 'unit "gpn" is not known'],
    ['pumps.0={tag: P-1}', 9, 'is missing'],
    ['site={altitude: 0 m, barometer: 1 bara}', 22, 'exclude each other'],
    ['tank.leak.rate=2 psi/h', 6, 'is missing (then)'],
  ])('%s', (override, column, message) => {
    const fault = only(good, ['name=fine', override]);
    expect(fault).toMatchObject({ file: '--set', line: 2, column, sourceLine: override });
    expect(fault.message).toContain(message);
  });

  test('the line of the fault is the override', () => {
    expect(formatFault(only(good, ['tank.volume=900']))).toBe(
      [
        '--set:1:13: error: tank.volume: "900" has no unit; write for example "610 gal" (understood: gal, L, mL, ft^3, in^3, m^3)',
        '  tank.volume=900',
        '              ^',
      ].join('\n'),
    );
  });

  test('they mend a faulty file', () => {
    expect(read(changed('610 gal', '610'), ['tank.volume=610 gal']).values).toEqual(read(good).values);
    expect(read(changed('  lying: vertical\n', ''), ['tank.lying=vertical']).values).toEqual(read(good).values);
  });

  test('faults of the file come before those of the overrides', () => {
    const { faults } = read(changed('2000 m', '2000'), ['tank.volume=900']);
    expect(faults.map(({ file }) => file)).toEqual(['plant.yaml', '--set']);
  });

  test('no override makes it throw', () => {
    const piece = fc.constantFrom(
      'tank',
      'pumps',
      'P-1',
      '0',
      '.',
      '=',
      'volume',
      'load',
      'XV.8',
      '[',
      '{',
      '"',
      'x',
      ' ',
      '__proto__',
      '*a',
      '\n',
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 9 }), (parts) => {
        const { values, faults } = read(good, [parts.join('')]);
        expect(values === undefined).toBe(faults.length > 0);
      }),
      { ...SEED, numRuns: 1000 },
    );
  });
});

describe('large files', () => {
  const events = {
    events: list(
      group(
        { at: quantity('time', { meaning: 'when', example: '5 s' }), note: text({ meaning: 'note', example: 'x' }) },
        { meaning: 'event' },
      ),
      { meaning: 'events' },
    ),
  };
  const seconds = (text: string): [number, Reading<typeof events>] => {
    const start = performance.now();
    const reading = readTable(events, text, { file: 'big.yaml' });
    return [(performance.now() - start) / 1000, reading];
  };
  const lines = (count: number, line: (i: number) => string): string =>
    `events:\n${Array.from({ length: count }, (_, i) => line(i)).join('')}`;

  // Bounds are generous for a loaded machine: what must not happen is minutes.
  test('ten megabytes are refused at once', () => {
    const [time, { faults }] = seconds(lines(300_000, (i) => `  - at: ${i} s\n    note: some text\n`));
    expect(faults.map(brief)).toEqual(['1:1 : the text has more than 1 million characters; no scenario needs so many']);
    expect(time).toBeLessThan(3);
  });
  test('twenty thousand events are read', () => {
    const [time, { values, faults }] = seconds(lines(20_000, (i) => `  - {at: ${i} s, note: text}\n`));
    expect(faults).toEqual([]);
    expect(values!.events[19_999]).toEqual({ at: 19_999, note: 'text' });
    expect(time).toBeLessThan(15);
  });
  test('thousands of faults are cut short, and said to be', () => {
    const [time, reading] = seconds(lines(15_000, (i) => `  - {at: ${i} parsnips${i}, note: text}\n`));
    expect(reading.faults).toHaveLength(200);
    expect(reading.faults[199]!.line).toBe(201);
    expect(reading.further).toBe(1800);
    expect(formatFaults(reading)).toMatch(/\n\.\.\. and 1800 or more further faults$/);
    expect(time).toBeLessThan(15);
  });
  test('some hundreds are counted', () => {
    const [, reading] = seconds(lines(321, () => '  - {at: 5, note: text}\n'));
    expect(reading.further).toBe(121);
    expect(formatFaults(reading)).toMatch(/\n\.\.\. and 121 further faults$/);
  });
  test.each([
    ['unknown keys', Array.from({ length: 60_000 }, (_, i) => `key${i}: 1\n`).join('')],
    ['one key again and again', 'events: []\n'.repeat(60_000)],
    ['one long word', `events: ${'x'.repeat(900_000)}`],
    ['signs', `events: [${','.repeat(900_000)}`],
    ['marks', '---\n'.repeat(200_000)],
    ['anchors', `events: ${'&a '.repeat(300_000)}`],
  ])('%s', (_, text) => {
    const [time, { faults }] = seconds(text);
    expect(faults.length).toBeGreaterThan(0);
    expect(faults.every(({ message }) => message.length < 400)).toBe(true);
    expect(time).toBeLessThan(20);
  });
});

describe('printing', () => {
  test('path, line and caret', () => {
    expect(formatFaults(read(changed('vertical', 'vertcal')))).toBe(
      [
        'plant.yaml:5:10: error: tank.lying: "vertcal" is not one of vertical, horizontal; did you mean "vertical"?',
        '    lying: vertcal',
        '           ^',
      ].join('\n'),
    );
  });

  const caretUnder = (fault: Fault, width = 80): string => {
    const [, line = '', caret = ''] = formatFault(fault, width).split('\n');
    expect(line.length).toBeLessThanOrEqual(width);
    return [...line].slice(caret.indexOf('^')).join('');
  };

  test('long lines are cut around the caret', () => {
    const long = `name: ${'a'.repeat(300)}`;
    const line = `{ ${'x'.repeat(100)}: 1, tnk: 2, ${'y'.repeat(100)}: 3 }`;
    const fault = read(line).faults.find(({ column }) => column === line.indexOf('tnk') + 1)!;
    expect(caretUnder(fault)).toMatch(/^tnk: 2, y+\.\.\.$/);
    expect(caretUnder(fault, 40)).toMatch(/^tnk/);
    expect(formatFault({ ...fault, sourceLine: long, column: 1 })).toMatch(/\n {2}name: a{69}\.\.\.\n {2}\^$/);
    expect(caretUnder({ ...fault, sourceLine: long, column: 306 })).toBe('a');
    expect(caretUnder({ ...fault, sourceLine: long, column: 307 })).toBe('');
  });
  test('the caret is right at every column of every width', () => {
    const sourceLine = Array.from({ length: 200 }, (_, i) => String.fromCharCode(0x4e00 + i)).join('');
    for (const width of [30, 80, 120])
      for (let column = 4; column <= 197; column++) {
        const shown = caretUnder({ file: 'f', line: 1, column, sourceLine, path: '', message: 'm' }, width);
        expect(shown.charAt(0), `${column} of ${width}`).toBe(sourceLine.charAt(column - 1));
      }
  });
  test('tabs and control codes do not shift or reach the screen', () => {
    const fault = { file: 'f', line: 1, column: 9, sourceLine: '\ta\t"\u001b[31m" b', path: '', message: 'm' };
    expect(formatFault(fault)).toBe(['f:1:9: error: m', '    a  "?[31m" b', `${' '.repeat(12)}^`].join('\n'));
    const wild = read('name: x\n"\u001b[31mkey\u202e": 1\n')
      .faults.map((f) => formatFault(f))
      .join('\n');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the point of the check
    expect(wild).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202e]/);
  });
});
