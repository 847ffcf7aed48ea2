/**
 * Random units and random outages, from ordinary to nasty, drawn from the tables of the scenario file. Codes of
 * randomFields.ts become values that suit each other: forces relative to what the pressure can move, resistances
 * relative to the flow of a stroke of some seconds, contacts around the start level, delays relative to the length of
 * the run. A field without a rule of its own here is drawn from its own table.
 */
import fc from 'fast-check';
import { type FaultItem, type FaultName, faultKinds, faultTable } from '../../models/fault.ts';
import { type Head, type Vessel, vessel, volumeVessel } from '../../models/geometry.ts';
import type { Field, NumberField, Quantity, Table } from '../../models/parameters.ts';
import type { Plant } from '../../models/plant.ts';
import { ambientPressure, buildPlant } from '../../scenarios/build.ts';
import { type ScenarioValues, scenarioTable } from '../../scenarios/scenario.ts';
import { along, between, decodeTable, plainNumber, type Raw, rawOf, share, TOP_CODE, within } from './randomFields.ts';

export interface RandomCase {
  readonly values: ScenarioValues;
  readonly plant: Plant;
  readonly ticks: number;
  readonly sampleTicks: number;
}

export interface RandomOptions {
  /** Keys set to these raw codes; a key with undefined is left out. Paths as in the file, "*" for any item of a list. */
  readonly fix?: Readonly<Record<string, Raw>>;
  /** Longest run in ticks. */
  readonly mostTicks?: number;
  /** Changes the values of the file before the plant is built. */
  readonly adjust?: (values: ScenarioValues) => ScenarioValues;
  /** At least so many faults. */
  readonly leastFaults?: number;
  /** The mains go at some time in every case. */
  readonly outage?: true;
  /** Gives the safety valve this bore, m, worked out from the plant as it would be without. */
  readonly ample?: (plant: Plant, values: ScenarioValues) => number;
}

const LENGTHS = {
  pumps: 3,
  compressors: 3,
  valves: 6,
  actions: 8,
  faults: 4,
  steps: 4,
  pipes: 2,
  sequence: 4,
  running: 3,
  opening: 5,
  closing: 5,
};
const LEVELS = ['lowLow', 'low', 'standbyStart', 'dutyStart', 'normal', 'stop', 'high', 'highHigh'];
const PRESSURES = ['lowLow', 'low', 'standbyCutIn', 'cutIn', 'cutOut', 'high', 'highHigh'];
const SUMP_LEVELS = ['low', 'high'];

const spread = (c: number, base: number, factor: number): number =>
  c === 0 ? base : base * between(c, 1 / factor, factor);
/** Nothing for code 0, else between two positive numbers. */
const orNone = (c: number, from: number, to: number): number => (c === 0 ? 0 : between(c, from, to));

const scenarioField = { kind: 'group', table: scenarioTable, meaning: 'scenario' } as const;
const extraCodes = {
  ticks: fc.integer({ min: 0, max: TOP_CODE }),
  levelPlace: fc.integer({ min: 0, max: TOP_CODE }),
  pressurePlace: fc.integer({ min: 0, max: TOP_CODE }),
  misorder: fc.integer({ min: 0, max: TOP_CODE }),
};
type Extra = { readonly [K in keyof typeof extraCodes]: number };

/** Random scenarios with their plants; every one can be built. */
export function randomScenario(options: RandomOptions = {}): fc.Arbitrary<RandomCase> {
  return fc
    .tuple(
      rawOf(scenarioField, { ...LENGTHS, faults: [options.leastFaults ?? 0, LENGTHS.faults] }),
      fc.record(extraCodes),
    )
    .map(([raw, extra]) => {
      const lost = options.outage && !has(raw, 'power.lostAt') ? { 'power.lostAt': extra.ticks } : {};
      return buildCase(fixed(raw, { ...lost, ...options.fix }), extra, options);
    });
}

function fixed(raw: Raw, fix: Readonly<Record<string, Raw>>, path = ''): Raw {
  if (path in fix) return fix[path];
  if (Array.isArray(raw)) return raw.map((item) => fixed(item, fix, `${path}.*`));
  if (typeof raw !== 'object') return raw;
  const out: Record<string, Raw> = {};
  for (const [key, value] of Object.entries(raw)) out[key] = fixed(value, fix, path === '' ? key : `${path}.${key}`);
  for (const [key, value] of Object.entries(fix)) {
    const parent = key.includes('.') ? key.slice(0, key.lastIndexOf('.')) : '';
    if (parent === path) out[key.slice(key.lastIndexOf('.') + 1)] = value;
  }
  return out;
}

/** The code at a path of the raw material; 0 where there is none. */
function codeAt(raw: Raw, path: string): number {
  let at: Raw = raw;
  for (const key of path.split('.')) at = (at as { [key: string]: Raw } | undefined)?.[key];
  return typeof at === 'number' ? at : 0;
}
function has(raw: Raw, path: string): boolean {
  let at: Raw = raw;
  for (const key of path.split('.')) at = (at as { [key: string]: Raw } | undefined)?.[key];
  return at !== undefined;
}

function fieldAt(path: string): Field {
  let field: Field = scenarioField;
  for (const key of path.split('.')) {
    if (field.kind === 'either') field = field.compound as Field;
    if (field.kind === 'list') field = field.of as Field;
    else if (field.kind === 'group') field = (field.table as Table)[key];
  }
  return field;
}
const choiceOf = (field: Field, c: number): string => {
  if (field.kind !== 'choice') throw new Error('no choice');
  return c === 0 ? (field.default ?? field.of[0]) : field.of[c % field.of.length];
};

interface Frame {
  readonly raw: Raw;
  readonly extra: Extra;
  readonly tick: number;
  readonly scan: number;
  readonly ticks: number;
  /** Length of the run, s. */
  readonly span: number;
  readonly ambient: number;
  readonly startPressure: number;
  /** Gauge pressure that scales forces, resistances and settings, Pa. */
  readonly gauge: number;
  readonly shell: Vessel;
  readonly zero: number;
  readonly startLevel: number;
  readonly sumpDepth: number;
  readonly sumpStart: number;
  readonly motorTags: readonly string[];
  readonly valveTags: readonly string[];
  readonly levels: Readonly<Record<string, number>>;
  readonly pressures: Readonly<Record<string, number>>;
  readonly sumpLevels: Readonly<Record<string, number>>;
  readonly closedTank: boolean;
}

/** Places around a start value: gaps from the contacts' own codes, the start anywhere among them, two swapped at times. */
function around(
  frame: { raw: Raw; extra: Extra },
  kind: string,
  names: readonly string[],
  place: number,
  start: number,
  gaps: readonly [number, number],
  swap: boolean,
): Record<string, number> {
  const sums = [0];
  for (const name of names.slice(1)) {
    const path = `panel.${kind}.${name}`;
    const c = codeAt(frame.raw, path) || codeAt(frame.raw, `${path}.at`);
    sums.push(sums[sums.length - 1] + (c === 0 ? Math.sqrt(gaps[0] * gaps[1]) : between(c, gaps[0], gaps[1])));
  }
  const at = place === 0 ? 0.6 * (names.length - 1) : share(place) * (names.length - 1);
  const k = Math.min(names.length - 2, Math.floor(at));
  const from = sums[k] + (at - k) * (sums[k + 1] - sums[k]);
  const values = sums.map((s) => start + s - from);
  if (swap) {
    const i = frame.extra.misorder % names.length;
    const j = Math.floor(frame.extra.misorder / names.length) % names.length;
    [values[i], values[j]] = [values[j], values[i]];
  }
  return Object.fromEntries(names.map((name, i) => [name, values[i]]));
}

function frameOf(raw: Raw, extra: Extra, mostTicks: number): Frame {
  const c = (path: string) => codeAt(raw, path);
  const tick = c('clock.tick') === 0 ? 0.01 : Math.round(between(c('clock.tick'), 0.001, 0.05) * 1e4) / 1e4;
  const scan = c('clock.scanTicks') % 2 === 0 ? 1 : 1 + Math.floor(share(c('clock.scanTicks')) * 19.99);
  let ticks = Math.round(between(extra.ticks, Math.min(200, mostTicks), mostTicks));
  ticks = Math.max(50, Math.min(ticks, Math.round(120 / tick)));
  const site = decodeTable(
    scenarioTable.site.table,
    (raw as { [key: string]: Raw })['site'],
    'site',
    (_, field, code) => plainNumber(field as Quantity, code),
  );
  const ambient = ambientPressure(site as unknown as ScenarioValues['site']);
  const p = c('start.pressure');
  const startPressure = p === 0 ? ambient + 1e6 : p <= 30 ? ambient * (0.5 + p / 60) : ambient + between(p, 3e4, 3e6);
  const gauge = Math.max(3e4, startPressure - ambient);
  const heads = choiceOf(fieldAt('tank.heads'), c('tank.heads'));
  const head: Head =
    heads === 'torispherical'
      ? { kind: heads, dishFactor: dish(c('tank.dishRadius')), knuckleFactor: knuckle(c('tank.knuckleRadius')) }
      : { kind: heads as 'flat' };
  const shell = has(raw, 'tank.volume')
    ? volumeVessel(tankVolume(c('tank.volume')))
    : vessel({
        orientation: orientation(c('tank.orientation')),
        diameter_m: diameter(c('tank.insideDiameter')),
        straightLength_m: straight(c('tank.straightLength')),
        head,
      });
  const zeroCode = c('tank.sightGlassZero');
  const zero = zeroCode === 0 ? 0 : along(zeroCode, -0.1, 0.1) * shell.height_m;
  const fill = (code: number) => (code === 0 ? 0.5 : along(code, 0.05, 0.95));
  const startLevel = has(raw, 'start.oil')
    ? shell.levelAt(fill(c('start.oil')) * shell.totalVolume_m3)
    : fill(c('start.level')) * shell.height_m;
  const sumpDepth = spread(c('sump.depth'), 0.8, 2);
  const sumpStart = has(raw, 'start.sumpLevel') ? sumpDepth * share(c('start.sumpLevel')) : sumpDepth / 2;
  const count = (key: string) => ((raw as { [key: string]: Raw })[key] as readonly Raw[]).length;
  const tags = (key: string, letter: string) => Array.from({ length: count(key) }, (_, i) => `${letter}-${i + 1}`);
  const base = { raw, extra };
  // One run in four has settings out of order.
  const swap = extra.misorder % 4 === 3;
  const clip = (levels: Record<string, number>, least: number, most: number) =>
    Object.fromEntries(Object.entries(levels).map(([k, x]) => [k, Math.min(most, Math.max(least, x))]));
  const h = shell.height_m;
  return {
    raw,
    extra,
    tick,
    scan,
    ticks,
    span: ticks * tick,
    ambient,
    startPressure,
    gauge,
    shell,
    zero,
    startLevel,
    sumpDepth,
    sumpStart,
    motorTags: [...tags('pumps', 'P'), ...tags('compressors', 'C')],
    valveTags: tags('valves', 'V'),
    levels: clip(
      around(base, 'level', LEVELS, extra.levelPlace, startLevel, [1e-4 * h, 0.04 * h], swap),
      1e-6 * h,
      (1 - 1e-6) * h,
    ),
    pressures: clip(
      around(base, 'pressure', PRESSURES, extra.pressurePlace, startPressure, [3e-4 * gauge, 0.05 * gauge], swap),
      1000,
      Infinity,
    ),
    sumpLevels: clip(
      around(base, 'sump', SUMP_LEVELS, extra.levelPlace, sumpStart, [1e-3 * sumpDepth, 0.3 * sumpDepth], false),
      0,
      sumpDepth,
    ),
    closedTank:
      count('compressors') === 0 &&
      !has(raw, 'leaks.air') &&
      !has(raw, 'safetyValve') &&
      choiceOf(fieldAt('tank.dissolvedAir.model'), c('tank.dissolvedAir.model')) === 'none',
  };
}

/** The tables of a lying vessel take long to make; one in six is enough. */
const orientation = (c: number) => (c % 6 === 5 ? 'horizontal' : 'vertical');
const dish = (c: number) => (c === 0 ? 1 : along(c, 0.8, 1.2));
const knuckle = (c: number) => (c === 0 ? 0.06 : along(c, 0.03, 0.15));
const diameter = (c: number) => spread(c, 0.8, 2);
const straight = (c: number) => spread(c, 1.2, 3);
const tankVolume = (c: number) => spread(c, 0.6, 8);

/** A delay: a whole number of scans, or any part of the run, more often short than long. */
function time(f: Frame, field: Quantity, c: number): number {
  if (c === 0) return field.default ?? within(field, f.span / 3);
  const part = Math.floor(c / 4) / 250;
  switch (c % 4) {
    case 0:
      return within(field, Math.floor(part * 20) * f.scan * f.tick);
    case 1:
      return within(field, f.span * part);
    case 2:
      return within(field, f.span * part ** 3);
    default:
      return within(field, part < 0.5 ? 0 : part * 10 * f.tick);
  }
}

type Rule = (f: Frame, c: number, path: string, at: readonly number[]) => unknown;

const thrustOf = (f: Frame, i: number): number =>
  f.gauge * (Math.PI / 4) * spread(codeAt(f.raw, `valves.${i}.bore`), 0.15, 3) ** 2;
const strokeOf = (f: Frame, i: number): number => spread(codeAt(f.raw, `valves.${i}.stroke`), 0.25, 4);
/** Flow of a stroke of eight seconds. */
const strokeFlow = (f: Frame, i: number): number =>
  ((Math.PI / 4) * spread(codeAt(f.raw, `valves.${i}.bore`), 0.15, 3) ** 2 * strokeOf(f, i)) / 8;
const allFlow = (f: Frame): number => f.valveTags.reduce((sum, _, i) => sum + strokeFlow(f, i), 0) || 1e-3;
const pumpFlow = (f: Frame, i: number): number => {
  const c = codeAt(f.raw, `pumps.${i}.ratedFlow`);
  return (0.2 * f.shell.totalVolume_m3) / (c === 0 ? 60 : between(c, 600, 2));
};
const freeAir: Rule = (f, c) => (f.shell.totalVolume_m3 * f.gauge) / f.ambient / (c === 0 ? 300 : between(c, 3000, 20));
const running: (f: Frame, i: number) => number = (f, i) =>
  thrustOf(f, i) * orNone(codeAt(f.raw, `valves.${i}.friction.running`), 1e-3, 0.3);
const coefficients = (prefix: string, scale: (f: Frame, i: number) => number): Record<string, Rule> => ({
  [`${prefix}.linear`]: (f, c, _, at) => (orNone(c, 1e-4, 3) * f.gauge) / scale(f, at[0]),
  [`${prefix}.quadratic`]: (f, c, _, at) => (orNone(c, 1e-4, 10) * f.gauge) / scale(f, at[0]) ** 2,
  [`${prefix}.pipes.*.fittings`]: (_, c) => along(c, 0, 20),
});
const force: Rule = (f, c, _, at) => thrustOf(f, at[0]) * (c === 0 ? 0.3 : c === 1 ? 0 : along(c, -0.6, 1.4));
const loadPlace: Rule = (f, c, path, at) => {
  const list = path.slice(0, path.lastIndexOf('.', path.lastIndexOf('.') - 1));
  let points: Raw = f.raw;
  for (const key of list.split('.')) points = (points as { [key: string]: Raw })[key];
  const n = (points as readonly Raw[]).length;
  return (at[1] + 0.999 * share(c)) / n;
};
const startOf = (f: Frame): number => f.ambient + f.gauge;
const pick = (tags: readonly string[], c: number): string => tags[c % tags.length];

/** A comparison near the start, or two of them joined. */
function conditionText(f: Frame, c: number): string {
  const one = (k: number): string => {
    const sign = k % 2 === 0 ? '<' : '>';
    const near = along((k * 37) % (TOP_CODE + 1), 0.96, 1.04);
    const names = ['pressure', 'level', 'sump', 'mains', 'running', 'position'];
    switch (names[Math.floor(k / 2) % names.length]) {
      case 'pressure':
        return `tank.pressure ${sign} ${(f.startPressure * near) / 1000} kPaa`;
      case 'level':
        return `tank.level ${sign} ${(f.startLevel * near - f.zero) * 1000} mm`;
      case 'sump':
        return `sump.level ${sign} ${f.sumpStart * near * 1000} mm`;
      case 'running':
        if (f.motorTags.length > 0) return `${pick(f.motorTags, k)}.running = ${k % 4 < 2 ? 'yes' : 'no'}`;
        break;
      case 'position':
        if (f.valveTags.length > 0) return `${pick(f.valveTags, k)}.position ${sign} ${share(k) * 100} %`;
        break;
    }
    return `mains = ${sign === '<' ? 'no' : 'yes'}`;
  };
  return c % 5 < 3 ? one(c) : `${one(c)} ${c % 5 === 3 ? 'and' : 'or'} ${one(c + 331)}`;
}

/** Rules by path, "*" for the index of an item. */
const RULES: Readonly<Record<string, Rule>> = {
  'clock.tick': (f) => f.tick,
  'clock.scanTicks': (f) => f.scan,
  'run.duration': (f) => f.span,
  'run.sample': (f, c) => f.tick * (1 + Math.floor(between(c, 1, 200))),
  'oil.grade': (_, c) => spread(c, 46, 3),
  'oil.viscosityIndex': (_, c) => (c === 0 ? 95 : along(c, 60, 200)),
  'oil.viscosity.*.at': (_, c, __, at) => 313.15 + 60 * at[0] + along(c, -3, 3),
  'oil.viscosity.*.value': (f, c, _, at) =>
    at[0] === 0 ? spread(c, 46e-6, 5) : spread(codeAt(f.raw, 'oil.viscosity.0.value'), 46e-6, 5) * along(c, 0.1, 0.6),
  'tank.orientation': (_, c) => orientation(c),
  'tank.insideDiameter': (_, c) => diameter(c),
  'tank.straightLength': (_, c) => straight(c),
  'tank.volume': (_, c) => tankVolume(c),
  'tank.dishRadius': (_, c) => dish(c),
  'tank.knuckleRadius': (_, c) => knuckle(c),
  'tank.outletLevel': (f, c) => (c % 3 === 2 ? f.startLevel * along(c, 0.9, 1) : 0.2 * share(c) * f.shell.height_m),
  'tank.sightGlassZero': (f) => f.zero,
  'tank.outletShutOff.level': (f, c) =>
    (c % 3 === 2 ? f.startLevel * along(c, 0.9, 1) : 0.3 * share(c) * f.shell.height_m) - f.zero,
  'tank.outletShutOff.rise': (f, c) => along(c, 1e-3, 0.04) * f.shell.height_m,
  'tank.dissolvedAir.solubility': (_, c) => spread(c, 0.09, 3),
  // Fast beside what is found in practice, so that something comes of it in a short run.
  'tank.dissolvedAir.still': (_, c) => between(c, 14_400, 60),
  'tank.dissolvedAir.pumping': (_, c) => between(c, 1800, 60),
  'site.temperature.table.*.at': (f, c, _, at) => (f.span * (at[0] + 0.9 * share(c))) / 3,
  'tank.bottomElevation': () => 100,
  'tank.heat.exchange': (f, c) => {
    const exchange = choiceOf(fieldAt('tank.heat.exchange'), c);
    return exchange === 'polytropic' && !f.closedTank ? 'conductance' : exchange;
  },
  'tank.heat.exponent': (_, c) => (c === 0 ? 1.2 : along(c, 0.5, 2)),
  'tank.heat.conductance': (_, c) => spread(c, 14, 20),
  'tank.heat.timeConstant': (_, c) => spread(c, 90, 100),
  'tank.heat.wallHeatCapacity': (_, c) => spread(c, 1.2e5, 10),
  'tank.heat.ambientConductance': (_, c) => (c === 1 ? 0 : spread(c, 20, 20)),
  'sump.capacity': (_, c) => spread(c, 0.5, 5),
  'sump.depth': (f) => f.sumpDepth,
  'sump.suctionLevel': (f, c) => (c % 3 === 2 ? f.sumpStart * along(c, 0.9, 1) : f.sumpDepth * along(c, 0.06, 0.4)),
  'sump.elevation': (_, c) => 98 + along(c, 0, 4),
  'start.pressure': (f) => f.startPressure,
  'start.level': (f) => f.startLevel - f.zero,
  'start.oil': (f) => f.shell.volumeAt(f.startLevel),
  'start.sumpLevel': (f) => f.sumpStart,
  'start.running.*': (f, c) => (f.motorTags.length === 0 ? undefined : pick(f.motorTags, c)),
  'start.duty.*': (f, c) => (f.motorTags.length === 0 ? undefined : pick(f.motorTags, c)),
  'pumps.*.ratedFlow': (f, _, __, at) => pumpFlow(f, at[0]),
  'pumps.*.slip': (_, c) => (c === 0 ? 0.05 : c > 900 ? 0.9 : along(c, 0, 0.3)),
  'pumps.*.relief.cracking': (f, c) => f.ambient + f.gauge * (c === 0 ? 1.3 : along(c, 0.8, 2)),
  'pumps.*.relief.fullFlow': (f, c, _, at) => {
    const cracking = codeAt(f.raw, `pumps.${at[0]}.relief.cracking`);
    return f.ambient + f.gauge * (cracking === 0 ? 1.3 : along(cracking, 0.8, 2)) * (1 + along(c, 0.02, 0.3));
  },
  'pumps.*.selector': (_, c) => ['auto', 'off', 'hand'][c % 5 < 3 ? c % 5 : 0],
  'compressors.*.selector': (_, c) => ['auto', 'off', 'hand'][c % 5 < 3 ? c % 5 : 0],
  'pumps.*.isolation': (_, c) => (c % 6 === 1 ? 'shut' : 'open'),
  'compressors.*.isolation': (_, c) => (c % 6 === 1 ? 'shut' : 'open'),
  'compressors.*.freeAir': freeAir,
  'compressors.*.displacement': freeAir,
  'compressors.*.relief': (f, c) => f.ambient + f.gauge * (c === 0 ? 1.4 : along(c, 0.8, 2)),
  'compressors.*.exponent': (_, c) => (c === 0 ? 1.3 : along(c, 1.05, 1.6)),
  'safetyValve.set': (f, c) => f.ambient + f.gauge * safetySet(c),
  'safetyValve.reseat': (f, c) =>
    f.ambient + f.gauge * safetySet(codeAt(f.raw, 'safetyValve.set')) * (1 - between(c, 0.2, 0.002)),
  'safetyValve.fullLift': (f, c) =>
    f.ambient + f.gauge * safetySet(codeAt(f.raw, 'safetyValve.set')) * (1 + along(c, 0, 0.15)),
  'safetyValve.bore': (_, c) => spread(c, 12.7e-3, 4),
  'returnMain.filter.resistance': (f, c) => (between(c, 1e-2, 1) * f.gauge) / allFlow(f),
  'returnMain.filter.bypassOpens': (f, c) => between(c, 0.1, 1e-3) * f.gauge,
  'returnMain.filter.bypassResistance': (f, c) => (between(c, 1e-2, 1) * f.gauge) / allFlow(f),
  'returnMain.filter.alarm': (f, c) => between(c, 0.05, 1e-3) * f.gauge,
  'valves.*.bore': (_, c) => spread(c, 0.15, 3),
  'valves.*.rod': (f, c, _, at) =>
    c === 1 ? 0 : spread(codeAt(f.raw, `valves.${at[0]}.bore`), 0.15, 3) * (c === 0 ? 0.25 : along(c, 0.01, 0.95)),
  'valves.*.stroke': (_, c) => spread(c, 0.25, 4),
  'valves.*.load.opening': force,
  'valves.*.load.closing': force,
  'valves.*.load.opening.*.at': loadPlace,
  'valves.*.load.closing.*.at': loadPlace,
  'valves.*.load.opening.*.force': force,
  'valves.*.load.closing.*.force': force,
  'valves.*.load.opening.*.torque': (f, c, path, at) => (force(f, c, path, at) as number) * strokeOf(f, at[0]) * 0.6,
  'valves.*.load.closing.*.torque': (f, c, path, at) => (force(f, c, path, at) as number) * strokeOf(f, at[0]) * 0.6,
  'valves.*.drive.turn': (_, c) => (c === 0 ? 90 : along(c, 20, 150)) * (Math.PI / 180),
  'valves.*.spring.preload': (f, c, _, at) => thrustOf(f, at[0]) * (c === 0 ? 0.3 : along(c, 0, 0.8)),
  'valves.*.spring.rate': (f, c, _, at) =>
    (thrustOf(f, at[0]) / strokeOf(f, at[0])) * (c === 0 ? 0.2 : along(c, 0, 0.5)),
  'valves.*.speedControl.cushion.length': (f, c, _, at) => strokeOf(f, at[0]) * (c === 0 ? 0.1 : along(c, 0.01, 0.6)),
  'valves.*.sequence.*.to': (_, c) => (c === 0 ? 0.5 : along(c, 0.01, 0.99)),
  'valves.*.friction.running': (f, _, __, at) => running(f, at[0]),
  'valves.*.friction.breakaway': (f, c, _, at) => running(f, at[0]) + thrustOf(f, at[0]) * orNone(c, 1e-3, 0.3),
  'valves.*.internalLeak.flow': (f, c, _, at) => strokeFlow(f, at[0]) * orNone(c, 1e-4, 0.1),
  'valves.*.internalLeak.at': (f, c) => f.gauge * between(c, 1, 0.1),
  'valves.*.elevation': (_, c) => 100 + (c === 0 ? 0 : along(c, -5, 15)),
  'valves.*.position': (_, c) => (c % 5 === 0 ? 1 : c % 5 === 1 ? 0 : share(c)),
  'leaks.air.fall': (f, c) => f.gauge * orNone(c, 1e-5, 0.1),
  'leaks.air.at': startOf,
  'leaks.oil.flow': (f, c) => 0.1 * f.shell.totalVolume_m3 * orNone(c, 1e-5, 0.1),
  'leaks.oil.at': startOf,
  'actions.*.at': (f, c) => f.span * share(c),
  'tank.drain.flowCoefficient': (f, c) => (0.02 * f.shell.totalVolume_m3 * between(c, 0.1, 1e-3)) / Math.sqrt(f.gauge),
  'faults.*.at': (f, c) => f.span * share(c),
  'faults.*.when': (f, c) => conditionText(f, c),
  'faults.*.share': (_, c) => along(c, 0.05, 0.95),
  'faults.*.flow': (f, c) => 0.1 * f.shell.totalVolume_m3 * between(c, 1e-5, 0.1),
  'faults.*.by': (f, c) => f.gauge * between(c, 1e-3, 0.3),
  'faults.*.fall': (f, c) => f.gauge * between(c, 1e-5, 0.1),
  'faults.*.byPressure': (f, c) => f.gauge * along(c, -0.1, 0.1),
  'faults.*.byLevel': (f, c) => f.shell.height_m * along(c, -0.1, 0.1),
  'steps.*.until': (f, c) => conditionText(f, c),
  'power.lostAt': (f, c) => f.span * 0.7 * share(c),
  'power.backAt': (f, c) => f.span * along(c, 0.2, 1),
  ...coefficients('pumps.*.line', pumpFlow),
  ...coefficients('header', allFlow),
  ...coefficients('returnMain', allFlow),
  ...coefficients('valves.*.supplyLine', strokeFlow),
  ...coefficients('valves.*.returnLine', strokeFlow),
  ...coefficients('valves.*.speedControl.opening', strokeFlow),
  ...coefficients('valves.*.speedControl.closing', strokeFlow),
  ...coefficients('valves.*.speedControl.cushion.opening', strokeFlow),
  ...coefficients('valves.*.speedControl.cushion.closing', strokeFlow),
};
function safetySet(c: number): number {
  return c === 0 ? 1.2 : c % 3 === 1 ? along(c, 0.98, 1.02) : along(c, 1, 1.5);
}

function decode(f: Frame, path: string, field: Field, c: number): unknown {
  const at: number[] = [];
  const pattern = path.replace(/(?<=\.)\d+(?=\.|$)/g, (digits) => {
    at.push(Number(digits));
    return '*';
  });
  const rule = RULES[pattern];
  if (rule !== undefined) return rule(f, c, path, at);
  const contact = /^panel\.(level|pressure|sump)\.(\w+)(?:\.(\w+))?$/.exec(path);
  if (contact !== null) {
    const [, kind, name, key] = contact;
    const size = kind === 'level' ? f.shell.height_m : kind === 'pressure' ? f.gauge : f.sumpDepth;
    if (key === undefined || key === 'at') {
      return kind === 'level' ? f.levels[name] - f.zero : kind === 'pressure' ? f.pressures[name] : f.sumpLevels[name];
    }
    if (key === 'deadband') return size * between(c, 0.02, 2e-4);
    if (key === 'accuracy') return size * orNone(c, 1e-4, 0.01);
    if (key === 'tag') return `${kind}-${name}`;
  }
  switch (field.kind) {
    case 'quantity':
      return field.dimension === 'time' ? time(f, field, c) : plainNumber(field, c);
    case 'number':
      return plainNumber(field as NumberField, c);
    case 'flag':
      return c === 0 ? (field.default ?? false) : c % 2 === 1;
    case 'choice':
      return choiceOf(field, c);
    case 'text': {
      if (!field.tag) return field.refers ? c : `${c}`;
      const letters: Record<string, string> = { pumps: 'P', compressors: 'C', valves: 'V' };
      const letter = letters[path.split('.')[0]];
      return letter === undefined ? (field.default ?? path) : `${letter}-${at[0] + 1}`;
    }
    default:
      throw new Error(`no value for ${path}`);
  }
}

// What the checks between fields of a file demand.
// biome-ignore lint/suspicious/noExplicitAny: values under construction
type Building = any;

function mend(f: Frame, v: Building): void {
  const { tank } = v;
  if (tank.heat.exchange === 'polytropic') tank.heat.exponent ??= 1.2;
  if (tank.heat.exchange === 'conductance') tank.heat.conductance ??= 14;
  if (tank.heat.exchange === 'time constant') tank.heat.timeConstant ??= 90;
  v.start.running = [...new Set(v.start.running.filter((tag: unknown) => tag !== undefined))];
  v.start.duty = [...new Set(v.start.duty.filter((tag: unknown) => tag !== undefined))];
  const { lostAt, backAt } = v.power;
  if (lostAt !== undefined && backAt !== undefined && !(backAt > lostAt)) v.power.backAt = lostAt + f.tick + backAt;
  v.valves.forEach((valve: Building, i: number) => {
    if (valve.onTrip !== 'sequence') delete valve.sequence;
    else valve.sequence ??= ['closes', 'opens'];
    if (valve.sequence?.some((stroke: Building) => typeof stroke !== 'string')) valve.pilot.kind = 'spring centred';
    const { kind, turn } = valve.drive;
    // A lever that works some 40 deg either way of square, whatever the stroke.
    const r = 0.75 * strokeOf(f, i);
    const lengths = { leverRadius: r, pivotDistance: 4 * r, retractedLength: Math.sqrt(17) * r - strokeOf(f, i) / 2 };
    valve.drive = kind === 'link and lever' ? { kind, ...lengths } : { kind };
    if (turn !== undefined && (kind === 'rack and pinion' || kind === 'scotch yoke')) valve.drive.turn = turn;
    for (const direction of ['opening', 'closing'] as const) {
      const points = valve.load[direction];
      if (typeof points !== 'number') {
        const byTorque = kind !== 'direct' && points[0].torque !== undefined;
        const load = (p: Building) => p.torque ?? p.force;
        valve.load[direction] = points.map((p: Building) => ({ at: p.at, [byTorque ? 'torque' : 'force']: load(p) }));
      }
      const throttle = valve.speedControl === undefined ? [] : [valve.speedControl[direction]];
      const bySpring = valve.spring !== undefined && (valve.spring.drives === 'opens') === (direction === 'opening');
      const supply = bySpring ? [] : [valve.supplyLine];
      const legs = [...supply, ...(valve.spring !== undefined && !bySpring ? [] : [valve.returnLine]), ...throttle];
      const resists = legs.some(
        (l) =>
          l.linear > 0 ||
          l.quadratic > 0 ||
          l.flowCoefficient !== undefined ||
          l.orifice !== undefined ||
          l.pipes.length > 0,
      );
      if (!resists) legs[0].quadratic = (0.3 * f.gauge) / strokeFlow(f, i) ** 2;
    }
  });
  const { level, pressure } = v.panel;
  if (v.pumps.length > 0) {
    level.dutyStart ??= f.levels['dutyStart'] - f.zero;
    level.stop ??= f.levels['stop'] - f.zero;
  }
  if (v.compressors.length > 0) {
    pressure.cutIn ??= f.pressures['cutIn'];
    pressure.cutOut ??= f.pressures['cutOut'];
  }
  const ofMotors = ['trip motor', 'block', 'allow', 'set to', 'reset motor', 'shut isolation', 'open isolation'];
  const act = (a: Building): Building[] => {
    const { item, ...rest } = a;
    if (a.do === undefined) return [rest];
    if ((a.do === 'open drain' && tank.drain === undefined) || (a.do === 'open vent' && tank.vent === undefined))
      return [];
    const ofValve = a.do === 'open valve' || a.do === 'close valve';
    const tags = ofValve ? f.valveTags : ofMotors.some((name) => a.do.startsWith(name)) ? f.motorTags : [];
    if (ofValve && tags.length === 0) return [];
    if (tags.length === 0 || (item === undefined && !ofValve)) return [rest];
    return [{ ...rest, item: pick(tags, item ?? 0) }];
  };
  // Names paths of the file, and no run reads it.
  v.uncertain = [];
  v.tuning = { setpoints: [], survive: [], objective: 'most margin' };
  v.actions = v.actions.flatMap(act);
  v.steps = v.steps.flatMap((s: Building) => {
    const { for: wait, expect: _, ...rest } = s;
    return act(
      s.until === undefined && wait !== undefined ? { ...rest, for: wait, expect: [] } : { ...rest, expect: [] },
    );
  });
  // The rest of what a fault needs is drawn where it was left out.
  const switches = (['level', 'pressure', 'sump'] as const).flatMap((kind) =>
    Object.entries(v.panel[kind]).flatMap(([name, contact]: [string, Building]) =>
      contact?.tag === undefined || name === 'cutOut' ? [] : [contact.tag as string],
    ),
  );
  const lists: Record<FaultItem, readonly string[]> = {
    motor: f.motorTags,
    pump: f.motorTags.filter((tag) => tag.startsWith('P')),
    valve: f.valveTags,
    contact: switches,
    relief: [
      ...f.motorTags.filter((tag) => tag.startsWith('P')),
      ...(v.safetyValve === undefined ? [] : [v.safetyValve.tag]),
    ],
    none: [],
  };
  v.faults = v.faults.flatMap((fault: Building) => {
    const kind: { item: FaultItem; needs?: string } = faultKinds[fault.fault as FaultName];
    const { item, ...rest } = fault;
    for (const [key, field] of Object.entries(faultTable)) {
      if (rest[key] !== undefined || field.kind !== 'quantity' || key === 'at' || key === 'for') continue;
      rest[key] = decode(f, `faults.0.${key}`, field, 700);
    }
    if (kind.item === 'none') return [rest];
    const tags = lists[kind.item];
    return tags.length === 0 ? [] : [{ ...rest, item: pick(tags, item ?? 0) }];
  });
}

function built(values: ScenarioValues): Plant {
  const faults: string[] = [];
  const plant = buildPlant(values, (path, message) => faults.push(`${path}: ${message}`));
  if (plant !== undefined) return plant;
  throw new Error(
    `the generator made a scenario that cannot be built:\n${faults.join('\n')}\n${JSON.stringify(values)}`,
  );
}

function buildCase(raw: Raw, extra: Extra, options: RandomOptions): RandomCase {
  const f = frameOf(raw, extra, options.mostTicks ?? 4000);
  const loose = decodeTable(scenarioTable, raw, '', (path, field, c) => decode(f, path, field, c));
  mend(f, loose);
  let values = (options.adjust ?? ((v) => v))(loose as unknown as ScenarioValues);
  let plant = built(values);
  if (options.ample !== undefined && values.safetyValve !== undefined) {
    values = { ...values, safetyValve: { ...values.safetyValve, bore: options.ample(plant, values) } };
    plant = built(values);
  }
  return { values, plant, ticks: f.ticks, sampleTicks: Math.max(1, Math.round(values.run.sample / f.tick)) };
}

/** A case as one line of JSON: the values of its file in SI, pressures absolute, and the length of the run. */
export const showCase = (c: RandomCase): string => JSON.stringify({ ticks: c.ticks, ...c.values });
