/**
 * Scenario files as nobody should write them: a sound file and a few changes, each of which can be told in one line. The
 * same numbers always give the same bytes.
 */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';

const shipped = (name: string) => readFileSync(new URL(`../../scenarios/${name}.yaml`, import.meta.url), 'utf-8');

/** One valve, everything in the shortest form, and a few things that the shipped files do not have. */
const SHORT = `title: Short one
clock: { tick: 10 ms }
run: { duration: 40 s, sample: 1 s }
site: { barometer: 14.7 psia, temperature: { mean: 68 degF, swing: 4 degF } }
oil: { viscosity: [{ at: 40 degC, value: 46 cSt }, { at: 100 degC, value: 6.8 cSt }] }
tank: { volume: 45 gal, outletLevel: 3 in, drain: { flowCoefficient: Cv 1 }, vent: { bore: 3 mm } }
sump: { capacity: 70 gal, depth: 20 in }
pumps: [{ tag: P-7, ratedFlow: 3 gal/min, ratedPressure: 150 psi, slip: 6 %, relief: { cracking: 188 psig, fullFlow: 200 psig } }]
compressors: [{ tag: K-7, freeAir: 2 ft^3/min }]
safetyValve: { tag: PSV-7, set: 150 psig, reseat: 140 psig, bore: 8 mm }
valves:
  - &valve
    tag: XV-7
    bore: 5 in
    rod: 2 in
    stroke: 9 in
    load: { opening: 900 lbf, closing: [{ at: 0 %, force: 1100 lbf }, { at: 60 %, force: 700 lbf }] }
    friction: { running: 60 lbf, breakaway: 90 lbf }
    supplyLine: { flowCoefficient: Cv 2.2, pipes: [{ length: 9 ft, insideDiameter: 1 in }] }
    position: 100 %
    onTrip: closes
    require: { longest: 25 s, margin: 5 % }
panel:
  pressure: { cutIn: 105 psig, cutOut: 118 psig, low: { tag: PSL-7, at: 95 psig, accuracy: 1 psi } }
  level: { normal: 9 in, dutyStart: 8 in, stop: 10 in }
power: { lostAt: 1 s, backAt: 20 s }
leaks: { air: { fall: 4 psi/h, at: 100 psig } }
start: { pressure: 118 psig, oil: 19 gal, gaugeAccuracy: 1 psi }
faults: [{ fault: switch stuck open, item: PSL-7, at: 2 s, for: 5 s }]
steps: [{ what: "wait", until: tank.pressure < 110 psig, patience: 9 s, expect: [{ what: tank.level, reads: 9 in, within: 5 in }] }]
actions: [{ at: 3 s, do: open drain }, { at: 5 s, do: close drain }]
`;

const BASES = [SHORT, shipped('ashlar-weir'), shipped('tarn-hollow'), shipped('mill-creek')] as const;

/** What stands in the place of a value. */
const VALUES: readonly string[] = [
  ...['', '~', 'null', 'NaN', '.nan', '.inf', '-.inf', 'Infinity', '-Infinity s', 'true', 'yes', 'no', '-', '?', ':'],
  ...['0', '-0', '1', '-1', '120', '1e400', '1e308 psig', '1e-320 psig', '-5 psig', '0 psig', '1e308 gal', '-3 gal'],
  ...['120 psi', '120 kg', '5 m/s', '12 V', '1 K', '1e5 degC', '-500 degF', '3 gal/gal', '100000 %', '-3 %', '1 %'],
  ...[
    '1e-9 s',
    '1e-300 s',
    '1e9 s',
    '99999999999999999999 s',
    '0 s',
    '-1 s',
    '1 ms',
    '1e-300 m',
    '1e300 m',
    '1e-12 in',
  ],
  ...[
    '1 000 gal',
    '1,5 gal',
    '1.5.2 gal',
    '0x1f gal',
    '010 gal',
    '12:30:45',
    '1_000 s',
    '5 \' 3 "',
    '3/8 in',
    '1 1/2 in',
  ],
  ...[
    'process.exit(3)',
    '1 psig; process.exit(3)',
    'import("node:fs")',
    '2*3 gal',
    '(2+3) gal',
    'f(x)=x',
    '1 in + 2 in',
  ],
  ...[
    '1 createUnit("a")',
    '1 constructor',
    '1 toString',
    '1 __proto__',
    '1 hasOwnProperty/s',
    '1 in to mm',
    '1 end',
    '1 i',
  ],
  ...[
    '__proto__',
    'constructor',
    'toString',
    'hasOwnProperty',
    'valueOf',
    'tank.pressure',
    'XV-7',
    'P-7',
    'XV-7.position',
  ],
  ...[
    '"unclosed',
    "'",
    '"',
    '[',
    ']',
    '{',
    '}',
    '[]',
    '{}',
    '[[]]',
    '{a}',
    '*valve',
    '*none',
    '&a 5 psig',
    '&valve',
    '<<',
  ],
  ...[
    '!!js/function "x"',
    '!!binary aGVsbG8=',
    '!!float 3',
    '!x y',
    '|',
    '>',
    '@',
    '`',
    '%',
    '# 5',
    '- 5',
    '? 5',
    '--- 5',
  ],
  ...[
    '"\\u0000"',
    '"\\u001b[31m"',
    '"\\x07"',
    '"\\ud800"',
    '"\\uD83D"',
    '"\\n\\n"',
    '"\\q"',
    '"\\u202e"',
    '"1\\u00a0gal"',
  ],
  ...[
    '\u202e120 psig',
    '\uff11\uff12\uff10 psig',
    '\u00a0120 psig',
    '120\u00a0psig',
    '120\u2009psig',
    '\u2212120 psig',
  ],
  ...[
    '\ud83d\ude00',
    'e\u0301',
    '\ufeff5 in',
    '\u0000',
    '\u0007',
    '\u001b[31m',
    '\u2028',
    '\u0085',
    '\t',
    '5\tin',
    '\ufffd',
  ],
  ...[
    '9'.repeat(400),
    `${'9'.repeat(400)} gal`,
    `1 ${'g'.repeat(5000)}`,
    `1 m${'^2'.repeat(200)}`,
    '1 m^999999999',
    '1 m^-9',
  ],
  ...[
    `1 ${'('.repeat(500)}`,
    `1 ${'m/'.repeat(500)}s`,
    `1 ${'m*'.repeat(2000)}m`,
    'x'.repeat(100_000),
    `1${'e'.repeat(99)}5`,
  ],
  ...[
    'tank.pressure < 95',
    'tank.pressure < 95 psig and',
    'and',
    '< 5',
    'tank.level = 3 in',
    'P-7.running = maybe',
    'mains',
  ],
  ...[
    'tank.pressure < 95 psig or tank.level > 1 in',
    'tank.__proto__ < 5 in',
    'tank.pressure < 1e999 psig',
    '1 s and 2 s',
  ],
];

const KEYS: readonly string[] = [
  ...[
    '__proto__',
    'constructor',
    'toString',
    'hasOwnProperty',
    '<<',
    '?',
    '"a: b"',
    '[a]',
    '{b: c}',
    '*valve',
    '1',
    '~',
  ],
  ...[
    '',
    'tag',
    'at',
    'k'.repeat(2000),
    'kéy',
    '\ud83d\ude00',
    'a b',
    'valves.0',
    '!!str x',
    '&a k',
    '"\\u0000"',
    'pressure',
  ],
];

const FACTORS: readonly number[] = [0, -1, 1e-12, 1e-6, 1e-3, 0.1, 0.5, 0.9, 0.99, 1.01, 1.1, 2, 10, 1e3, 1e6, 1e12];

const bomb = (levels: number, width: number, list: boolean): string => {
  const lines = [`bomb: &b0 ${list ? '[x, x]' : '{ a: x }'}`];
  for (let k = 1; k < levels; k++) {
    const parts = Array.from({ length: width }, (_, i) => (list ? `*b${k - 1}` : `k${i}: *b${k - 1}`)).join(', ');
    lines.push(`b${k}: &b${k} ${list ? `[${parts}]` : `{ ${parts} }`}`);
  }
  return `${lines.join('\n')}\n`;
};

const deep = (open: string, close: string, levels: number): string => open.repeat(levels) + close.repeat(levels);

/** Text put somewhere in the file. */
const PIECES: readonly ((n: number) => string)[] = [
  (n) => bomb(2 + (n % 12), 2 + (n % 9), n % 2 === 0),
  (n) => `deep: ${deep('[', ']', 1 + (n % 3000))}\n`,
  (n) => `deep: ${deep('{ a: ', ' }', 1 + (n % 2000))}\n`,
  (n) => `${Array.from({ length: 1 + (n % 300) }, (_, k) => `${' '.repeat(k)}a:`).join('\n')}\n`,
  (n) => `${'- '.repeat(1 + (n % 3000))}x\n`,
  (n) => `${'? '.repeat(1 + (n % 1000))}x\n`,
  (n) => `${'&a '.repeat(1 + (n % 50))}x\n`,
  (n) => `${'!!str '.repeat(1 + (n % 50))}x: y\n`,
  () => '<<: *valve\n',
  () => '<<: { tank: {} }\n',
  () => '---\n',
  () => '...\n',
  () => '%YAML 1.1\n---\n',
  () => '%TAG ! tag:x,2000:\n',
  () => '\ufeff',
  () => '\r',
  () => '\t',
  () => '\u0000',
  () => '"',
  () => "'",
  () => '#',
  () => ' #',
  () => '|\n',
  () => '&x',
  () => '*x',
  () => '\u2029\u0085\u000b\u000c',
  (n) => '\n'.repeat(n % 5000),
  (n) => ' '.repeat(n % 5000),
  (n) => `# ${'c'.repeat(n % 20_000)}\n`,
  (n) => Array.from({ length: n % 400 }, (_, k) => `key${k}: 1\n`).join(''),
  (n) => 'title: again\n'.repeat(1 + (n % 300)),
  () => 'toString: 5\n',
  () => '__proto__: { tank: { volume: 3 gal } }\n',
  () => 'constructor: { prototype: { polluted: yes } }\n',
  () => 'run: { duration: 300 d, sample: 0.1 ms }\n',
  () => 'clock: { tick: 1 s }\n',
];

/** A change by its kind and three numbers, each taken modulo what there is to choose from. */
export interface Change {
  readonly kind: keyof typeof changes;
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

const VALUE = /(?<=: +|\[ *|, +)(?![{[&#])[^\s{}[\],#:][^\n{}[\],#]*/g;
const KEY = /[A-Za-z]+(?=:)/g;

function replaced(text: string, pattern: RegExp, n: number, by: (found: string) => string): string {
  const all = [...text.matchAll(pattern)];
  const hit = all[n % Math.max(1, all.length)];
  if (hit === undefined) return text;
  return text.slice(0, hit.index) + by(hit[0]) + text.slice(hit.index + hit[0].length);
}

const pick = <T>(list: readonly T[], n: number): T => list[n % list.length]!;
const lineChange = (work: (lines: string[], a: number, b: number, c: number) => void) => {
  return (text: string, { a, b, c }: Change): string => {
    const lines = text.split('\n');
    work(lines, a % lines.length, b % lines.length, c);
    return lines.join('\n');
  };
};

const changes = {
  value: (text: string, { a, b }: Change) => replaced(text, VALUE, a, () => pick(VALUES, b)),
  otherValue: (text: string, { a, b }: Change) => {
    const all = [...text.matchAll(VALUE)].map(([found]) => found);
    return replaced(text, VALUE, a, () => all[b % Math.max(1, all.length)] ?? '');
  },
  scale: (text: string, { a, b }: Change) =>
    replaced(text, /-?\d+(\.\d+)?(?=[ %]|$)/gm, a, (found) => String(Number(found) * pick(FACTORS, b))),
  digit: (text: string, { a, b }: Change) => replaced(text, /\d/g, a, () => String(b % 10)),
  unit: (text: string, { a, b }: Change) => {
    const units = [
      'psig',
      'psi',
      'barg',
      'bara',
      'in',
      'mm',
      'ft',
      'gal',
      'L',
      's',
      'min',
      'h',
      'degF',
      'K',
      'lbf',
      '%',
      '',
    ];
    return replaced(text, /(?<=\d )[A-Za-z^/%]+/g, a, () => pick(units, b));
  },
  key: (text: string, { a, b }: Change) => replaced(text, KEY, a, () => pick(KEYS, b)),
  typo: (text: string, { a, b, c }: Change) =>
    replaced(text, KEY, a, (key) => {
      const at = b % key.length;
      return key.slice(0, at) + ['', key[at]!.toUpperCase(), 'x', key[at]! + key[at]!][c % 4] + key.slice(at + 1);
    }),
  piece: (text: string, { a, b, c }: Change) => {
    const lines = text.split('\n');
    const at = a % (lines.length + 1);
    return [...lines.slice(0, at), pick(PIECES, b)(c) + (lines[at] ?? ''), ...lines.slice(at + 1)].join('\n');
  },
  insert: (text: string, { a, b, c }: Change) => {
    const at = a % (text.length + 1);
    return text.slice(0, at) + pick(PIECES, b)(c) + text.slice(at);
  },
  cut: (text: string, { a }: Change) => text.slice(0, a % (text.length + 1)),
  cutOut: (text: string, { a, b }: Change) => {
    const at = a % (text.length + 1);
    return text.slice(0, at) + text.slice(at + 1 + (b % 60));
  },
  dropLine: lineChange((lines, a) => lines.splice(a, 1)),
  repeatLine: lineChange((lines, a, _b, c) => lines.splice(a, 0, ...Array<string>(1 + (c % 30)).fill(lines[a]!))),
  moveLine: lineChange((lines, a, b) => lines.splice(b, 0, ...lines.splice(a, 1))),
  repeatBlock: lineChange((lines, a, b, c) => {
    const block = lines.slice(Math.min(a, b), Math.min(a, b) + 40);
    for (let k = 0; k < 1 + (c % 3); k++) lines.splice(Math.min(a, b), 0, ...block);
  }),
  indent: lineChange((lines, a, b) => {
    lines[a] = pick([' ', '  ', '\t', ' \t', '      ', '- '], b) + lines[a];
  }),
  outdent: lineChange((lines, a) => {
    lines[a] = lines[a]!.replace(/^ +/, '');
  }),
  crlf: (text: string) => text.replaceAll('\n', '\r\n'),
  cr: (text: string) => text.replaceAll('\n', '\r'),
  mark: (text: string) => `\ufeff${text}`,
  swapSign: (text: string, { a, b }: Change) =>
    replaced(text, /[:{}[\],"'#&*-]/g, a, () =>
      pick([':', '{', '}', '[', ']', ',', '"', "'", '#', '&', '*', '-', '|', '!'], b),
    ),
  nothing: () => '',
} satisfies Record<string, (text: string, change: Change) => string>;

/** Bytes are changed last. */
interface ByteChange {
  readonly kind: 'flip' | 'put' | 'utf16' | 'pad' | 'noise';
  readonly a: number;
  readonly b: number;
}

const SIZES = [1_000, 999_000, 1_000_001, 10_000_000] as const;

function changeBytes(bytes: Buffer, { kind, a, b }: ByteChange): Buffer {
  const at = a % Math.max(1, bytes.length);
  switch (kind) {
    case 'flip': {
      const changed = Buffer.from(bytes);
      if (changed.length > 0) changed[at] = changed[at]! ^ (1 << (b % 8));
      return changed;
    }
    case 'put':
      return Buffer.concat([bytes.subarray(0, at), Buffer.from([b % 256]), bytes.subarray(at)]);
    case 'utf16':
      return Buffer.from(`${b % 2 === 0 ? '\ufeff' : ''}${bytes.toString('utf-8')}`, 'utf16le');
    case 'pad': {
      const filler = pick(['#', ' ', '\n', 'a', '[', '- ', 'a: b\n', '\u00e9', '"'], a);
      const size = pick(SIZES, b);
      return Buffer.concat([bytes, Buffer.from(filler.repeat(Math.ceil(size / Buffer.byteLength(filler))))]);
    }
    case 'noise': {
      // Marsaglia's xorshift (from memory): any mixing would do.
      let x = a | 1;
      return Buffer.from(
        Array.from({ length: b % 3000 }, () => {
          x ^= x << 13;
          x ^= x >>> 17;
          x ^= x << 5;
          return x & 255;
        }),
      );
    }
  }
}

export interface HostileFile {
  readonly base: number;
  readonly changes: readonly Change[];
  readonly bytes: ByteChange | undefined;
}

const n = fc.nat(0x3fffffff);
const change: fc.Arbitrary<Change> = fc.record({
  kind: fc.oneof(
    { weight: 4, arbitrary: fc.constant<Change['kind']>('value') },
    { weight: 8, arbitrary: fc.constantFrom<Change['kind']>('scale', 'digit', 'otherValue') },
    { weight: 8, arbitrary: fc.constantFrom(...(Object.keys(changes) as Change['kind'][])) },
  ),
  a: n,
  b: n,
  c: n,
});
const byteChange: fc.Arbitrary<ByteChange> = fc.record({
  kind: fc.oneof(
    { weight: 12, arbitrary: fc.constantFrom<ByteChange['kind']>('flip', 'put') },
    { weight: 1, arbitrary: fc.constantFrom<ByteChange['kind']>('utf16', 'pad', 'noise') },
  ),
  a: n,
  b: n,
});

export const hostileFile: fc.Arbitrary<HostileFile> = fc.record({
  base: fc.oneof({ weight: 6, arbitrary: fc.constant(0) }, { weight: 1, arbitrary: fc.nat(BASES.length - 1) }),
  changes: fc.oneof(fc.tuple(change), fc.array(change, { minLength: 2, maxLength: 4 })),
  bytes: fc.oneof({ weight: 8, arbitrary: fc.constant(undefined) }, { weight: 1, arbitrary: byteChange }),
});

/** The bytes of a hostile file. */
export function bytesOf({ base, changes: list, bytes }: HostileFile): Buffer {
  const text = list.reduce((before, each) => changes[each.kind](before, each), BASES[base]!);
  const plain = Buffer.from(text, 'utf-8');
  return bytes === undefined ? plain : changeBytes(plain, bytes);
}

/** An override as of `--set`, for the first base. */
export const hostileOverride: fc.Arbitrary<string> = fc
  .record({ path: fc.nat(PATHS().length - 1), value: n, how: n, at: n })
  .map(({ path, value, how, at }) => {
    const name = PATHS()[path]!;
    const key = how % 3 === 0 ? name : how % 3 === 1 ? damaged(name, at) : pick(KEYS, at);
    const given =
      value % 2 === 0
        ? pick(VALUES, value >> 1)
        : pick(['117 psig', '2 s', '9 in', '5 %', 'closes', '19 gal'], value >> 1);
    return how % 7 === 0 ? `${key}${given}` : `${key}=${given}`;
  });

function PATHS(): readonly string[] {
  return [
    ...[
      'start.pressure',
      'start.oil',
      'start.level',
      'tank.volume',
      'valves.XV-7.bore',
      'valves.0.load.closing.1.force',
    ],
    ...[
      'valves.0.tag',
      'valves.0',
      'valves',
      'panel.pressure.low',
      'panel.pressure.low.accuracy',
      'panel.level.stop.delay',
    ],
    ...[
      'panel',
      'run.duration',
      'clock.tick',
      'site.temperature',
      'site.temperature.mean',
      'oil.viscosity.0.at',
      'seed',
    ],
    ...[
      'faults.0.when',
      'faults.0.at',
      'steps.0.until',
      'actions.0.do',
      'title',
      'pumps.P-7.selector',
      'run.workLimit',
    ],
  ];
}

function damaged(path: string, at: number): string {
  const place = at % path.length;
  return pick(
    [
      path.slice(0, place),
      `${path}.x`,
      `.${path}`,
      `${path}..`,
      `${path.slice(0, place)}${path.slice(place + 1)}`,
      path.replace('0', '99'),
    ],
    at >> 4,
  );
}

export const SHORT_BASE = SHORT;
