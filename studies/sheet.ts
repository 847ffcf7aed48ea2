/**
 * The acceptance-test sheet of a unit: what is done on site, what is read, what the engine predicts for it, and how far a
 * reading may lie off. Everything here is SI: pressures absolute, levels as on the sight glass.
 *
 * A contact has to act within the accuracy of its switch. A drain, vent, refill or recharge reading has to lie within the band
 * that the accuracies leave (accuracy.ts). A stroke has to keep to what its valve requires. What a file says under "expect"
 * of a step takes the place of the band. Failures that are provoked have the answer that the engine gives.
 */
import type { Subject } from '../models/condition.ts';
import { LOW_ROLES } from '../models/contact.ts';
import { EventCode, startReasonText } from '../models/events.ts';
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import { buildPlant } from '../scenarios/build.ts';
import { conditionNames, readExpectation } from '../scenarios/condition.ts';
import { roleName } from '../scenarios/eventText.ts';
import { requiredSet, staticNeed } from '../scenarios/findings/estimates.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { alarmName } from '../scenarios/wording.ts';
import type { EngineOptions, Work } from '../sim/engine.ts';
import { ProgramFault } from '../sim/fault.ts';
import {
  type Band,
  bandsOf,
  gaugeAccuracy,
  glassAccuracy,
  readingSources,
  resetsElsewhere,
  type Source,
  STOPWATCH_s,
  settingOf,
  switchAccuracy,
  switchSources,
} from './accuracy.ts';
import { outageSpan } from './outage.ts';
import {
  compressorsOf,
  fileDuration,
  motorTag,
  PROVOKED,
  type ProgrammeRun,
  type Provoked,
  provokeTasks,
  pumpsOf,
  type ReadTask,
  runProgramme,
  standardTasks,
  strokeTasks,
  withDrainAndVent,
  withTasks,
} from './programme.ts';

export type ReadDimension = Extract<Dimension, 'pressure' | 'length' | 'time' | 'fraction'>;

interface Line {
  /** "D4a", the same for the same file and temperature; never a word that a table program takes for a number or a date. */
  readonly id: string;
  readonly what: string;
}

/** A number to be read. */
export interface ReadingLine extends Line {
  readonly kind: 'reading';
  readonly dimension: ReadDimension;
  /** What the engine predicts or the file sets; undefined where nothing can be said. */
  readonly expected: number | undefined;
  readonly band: Band | undefined;
  /** It passes within these, both included; undefined: it is recorded. */
  readonly limits: { readonly low: number; readonly high: number } | undefined;
  readonly limitsFrom: 'switch accuracy' | 'prediction' | 'file' | 'requirement' | 'none';
  /** It can be adjusted: as found and as left are both wanted. */
  readonly adjustable: boolean;
  /** Line that has to read lower than this one: the falling point of the same switch. */
  readonly above: string | undefined;
}

/** A question to be answered with yes or no. */
export interface AnswerLine extends Line {
  readonly kind: 'answer';
  readonly expected: 'yes' | 'no';
}

export type SheetLine = ReadingLine | AnswerLine;

/** Something to do, and what to read after it. */
export interface SheetEntry {
  readonly text: string;
  readonly lines: readonly SheetLine[];
  /** What to know about it. */
  readonly note: string | undefined;
}

export type PartName =
  | 'contacts'
  | 'demonstration'
  | 'drain'
  | 'refill'
  | 'vent'
  | 'recharge'
  | 'strokes'
  | 'mains'
  | 'failures';

export interface SheetPart {
  readonly name: PartName;
  readonly title: string;
  readonly intro: readonly string[];
  readonly entries: readonly SheetEntry[];
}

export interface Sheet {
  readonly units: UnitSystem;
  readonly temperature_K: number;
  readonly ambientPressure_Pa: number;
  /** What the unit is brought to before each part. */
  readonly start: { readonly pressure_Pa: number; readonly level_m: number };
  readonly sources: readonly Source[];
  readonly parts: readonly SheetPart[];
  /** What the engine says would go wrong on the day. */
  readonly warnings: readonly string[];
  /** Where each selector belongs. */
  readonly selectors: readonly { readonly tag: string; readonly position: string }[];
  readonly highest_Pa: number;
  /** Runs of the engine behind the sheet. */
  readonly runs: number;
}

export interface SheetOptions extends EngineOptions {
  readonly units?: UnitSystem;
  readonly onProgress?: (share: number) => void;
}

/** All lines of a sheet, in their order. */
export const linesOf = (sheet: Sheet): SheetLine[] => sheet.parts.flatMap((p) => p.entries.flatMap((e) => e.lines));

/** Makes the sheet. `values` are those the plant was built from. Errors: ProgramFault when the program is at fault. */
export function makeSheet(values: ScenarioValues, plant: Plant, options: SheetOptions = {}): Sheet {
  const units = options.units ?? 'us';
  // On the day every switch is taken to act where it is set; how far off it may be is in the bands.
  const sound = buildPlant(values, () => {}, { contactErrors: 'none', like: plant });
  if (sound === undefined) throw new ProgramFault('values that were built cannot be built again');
  const work: Work = options.work ?? { spent: 0, limit: values.run.workLimit };
  const warnings: string[] = [];
  let runs = 0;
  const run = (p: Plant, more: Parameters<typeof runProgramme>[1] = {}): ProgrammeRun => {
    runs++;
    const r = runProgramme(p, { ...more, work });
    if (!r.whole) throw new SheetTooLong(work.limit);
    return r;
  };
  const context: Context = { values, plant: sound, units, run, warnings };
  const sources = [...readingSources(values, units), ...switchSources(values, sound, units)];
  const contacts = contactPart(context);
  const parts: SheetPart[] = contacts.entries.length > 0 ? [contacts] : [];
  options.onProgress?.(0.05);
  parts.push(...(values.steps.length > 0 ? [demonstration(context, sources)] : standardParts(context, sources)));
  options.onProgress?.(0.7);
  parts.push(...strokeParts(context));
  options.onProgress?.(0.9);
  const failures = failurePart(context);
  if (failures.entries.length > 0) parts.push(failures);
  options.onProgress?.(1);
  const words = ['off', 'auto', 'hand'] as const;
  return {
    units,
    temperature_K: sound.ambientTemperature_K,
    ambientPressure_Pa: sound.ambientPressure_Pa,
    start: {
      pressure_Pa: sound.start.gasPressure_Pa,
      level_m: sound.tank.vessel.levelAt(sound.start.oilVolume_m3) - sound.tank.sightGlassZero_m,
    },
    sources,
    parts,
    warnings: [...new Set(warnings)],
    selectors: [...sound.pumps, ...sound.compressors].map((m) => ({
      tag: m.tag,
      position: words[m.selector as 0 | 1 | 2],
    })),
    highest_Pa: Math.max(
      sound.start.gasPressure_Pa,
      values.safetyValve?.set ?? 0,
      ...sound.panel.contacts.filter((c) => c.measured === 'pressure').map((c) => c.trip),
    ),
    runs,
  };
}

/** The runs of a sheet take more work than the file allows. */
export class SheetTooLong extends Error {
  override name = 'SheetTooLong';
  constructor(limit: number) {
    super(
      `the runs behind the sheet take more than run.workLimit (${limit}); raise it, or shorten what the steps wait for`,
    );
  }
}

interface Context {
  readonly values: ScenarioValues;
  readonly plant: Plant;
  readonly units: UnitSystem;
  readonly run: (plant: Plant, options?: Parameters<typeof runProgramme>[1]) => ProgrammeRun;
  readonly warnings: string[];
}

const LETTERS = 'abcdefghijklmnopqrstuvwxyz';
const letter = (n: number): string => (n < 26 ? LETTERS[n] : `${letter(Math.floor(n / 26) - 1)}${LETTERS[n % 26]}`);

const both = (expected: number, by: number) => ({ low: expected - by, high: expected + by });

/** "LS-311 (duty start)" */
const contactName = ({ tag, role }: { readonly tag: string; readonly role: string }): string =>
  tag === roleName(role) ? tag : `${tag} (${roleName(role)})`;

// ---------------------------------------------------------------------------------------------------------- contacts

function contactPart({ values, plant, units }: Context): SheetPart {
  const entries: SheetEntry[] = [];
  const zero = plant.tank.sightGlassZero_m;
  const ambient = plant.ambientPressure_Pa;
  const roles = [
    ...plant.panel.contacts.map((c) => c.role as string),
    ...(values.panel.pressure.cutOut === undefined ? [] : ['pressure.cutOut']),
  ].sort((a, b) => rank(a) - rank(b));
  const idOf = (role: string) => `C${roles.indexOf(role) + 1}`;
  for (const role of roles) {
    const setting = settingOf(values, role);
    if (setting === undefined) continue;
    const contact = plant.panel.contacts.find((c) => c.role === role);
    const dimension = role.startsWith('pressure') ? 'pressure' : 'length';
    const accuracy = switchAccuracy(values, role, units);
    const id = idOf(role);
    const low = LOW_ROLES.has(role);
    const expected = setting.at;
    const elsewhere = resetsElsewhere(plant, values, role);
    const actsId = `${id}${low ? 'f' : 'r'}`;
    // A stop or a cut-out is made above the start or cut-in that it ends.
    const ends = role === 'pressure.cutOut' ? 'pressure.cutIn' : role === 'level.stop' ? 'level.dutyStart' : undefined;
    const started = ends !== undefined && settingOf(values, ends) !== undefined ? `${idOf(ends)}f` : undefined;
    const acts: ReadingLine = {
      kind: 'reading',
      id: actsId,
      what: `${low ? 'falling' : 'rising'}: acts`,
      dimension,
      expected,
      band: undefined,
      limits: both(expected, accuracy.value),
      limitsFrom: 'switch accuracy',
      adjustable: true,
      above: low || contact !== undefined ? undefined : started,
    };
    const lines: ReadingLine[] = [acts];
    if (contact !== undefined && elsewhere === undefined) {
      const reset = contact.measured === 'level' ? contact.reset - zero : contact.reset;
      const given = setting.deadband !== undefined;
      const resetLine: ReadingLine = {
        kind: 'reading',
        id: `${id}${low ? 'r' : 'f'}`,
        what: `${low ? 'rising' : 'falling'}: resets`,
        dimension,
        expected: given ? reset : undefined,
        band: undefined,
        limits: given ? both(reset, accuracy.value) : undefined,
        limitsFrom: given ? 'switch accuracy' : 'none',
        adjustable: true,
        above: low ? actsId : undefined,
      };
      lines.push(resetLine);
      if (!low) lines[0] = { ...acts, above: resetLine.id };
    }
    const tag = setting.tag ?? contact?.tag ?? 'cut-out';
    const name =
      role === 'pressure.cutOut' ? (tag === 'cut-out' ? tag : `${tag} (cut-out)`) : contactName({ tag, role });
    const by = formatQuantity(
      accuracy.value,
      dimension === 'pressure' ? 'pressureDifference' : 'length',
      units,
      ambient,
    );
    entries.push({
      text: `${name}, within ${by}${accuracy.stated ? '' : ' (our choice)'}`,
      lines,
      note:
        elsewhere === undefined
          ? undefined
          : `it resets where ${settingOf(values, elsewhere)?.tag ?? roleOf(elsewhere)} acts`,
    });
  }
  return {
    name: 'contacts',
    title: 'Contacts',
    intro: [
      'Bring each contact to act and to reset, slowly, and read at that moment: level contacts while draining and refilling, ' +
        'pressure contacts while venting and recharging, what is out of their reach at the switch itself, isolated, with the float lifted or a hand pump.',
      'As found before anything is adjusted, as left after; where nothing was adjusted write the same number twice. "Our choice": the file states no accuracy. "Write down": it states no deadband.',
    ],
    entries,
  };
}

const roleOf = (role: string): string => (role === 'pressure.cutOut' ? 'the cut-out' : roleName(role));
const ORDER = [
  'level.lowLow',
  'level.low',
  'level.standbyStart',
  'level.dutyStart',
  'level.normal',
  'level.stop',
  'level.high',
  'level.highHigh',
  'pressure.lowLow',
  'pressure.low',
  'pressure.standbyCutIn',
  'pressure.cutIn',
  'pressure.cutOut',
  'pressure.high',
  'pressure.highHigh',
];
const rank = (role: string): number => (ORDER.indexOf(role) + ORDER.length + 1) % (ORDER.length + 1);

// -------------------------------------------------------------------------------------------------------- programmes

/** A reading to be taken from the end of a task. */
interface Wanted {
  readonly task: number;
  readonly subject: Subject;
  readonly dimension: ReadDimension;
  readonly what: string;
  /** What the file expects. */
  readonly file?: { readonly value: number; readonly within: number };
}

const dimensionOf = (subject: Subject): ReadDimension =>
  subject.kind === 'pressure' ? 'pressure' : subject.kind === 'position' ? 'fraction' : 'length';

function readFrom(r: ProgrammeRun, { task, subject }: Wanted): number {
  const y = r.states[task];
  if (y === undefined) return Number.NaN;
  const { unit } = r;
  switch (subject.kind) {
    case 'pressure':
      return unit.gasPressure(y);
    case 'level':
      return unit.level(y) - unit.plant.tank.sightGlassZero_m;
    case 'sumpLevel':
      return y[unit.slots.sump] / unit.plant.sump.area_m2;
    case 'position':
      return y[unit.slots.x + subject.item];
    case 'running':
      return y[unit.panel.slots.running + subject.item];
    default:
      return y[unit.panel.slots.mains];
  }
}

/** Accuracy with which something is read: gauge, glass, stopwatch; a position to 2 % (choice). */
function ownAccuracy({ values, units }: Context, dimension: ReadDimension): number {
  if (dimension === 'pressure') return gaugeAccuracy(values, units);
  if (dimension === 'length') return glassAccuracy(values, units);
  return dimension === 'time' ? STOPWATCH_s : 0.02;
}

/** What may go wrong on the way, in words. */
const MISHAPS: Readonly<Record<number, string>> = {
  [EventCode.sumpOverflows]: 'the sump runs over: draw oil off first',
  [EventCode.gasBreakthrough]: 'the level comes to the outlet and gas gets into the header',
  [EventCode.safetyValveOpen]: 'the safety valve opens',
  [EventCode.suctionLost]: 'the sump is drawn down to the suction: add oil first',
  [EventCode.tankFull]: 'the tank fills to the top',
};

function warnOf(context: Context, r: ProgrammeRun, where: string): void {
  for (const [code, words] of Object.entries(MISHAPS))
    if (r.events.some((e) => e.code === Number(code))) context.warnings.push(`${where}: ${words}.`);
}

/** Readings with their bands, as lines; ids from `id`. Where the engine does not come to a reading there is no line. */
function readingLines(
  context: Context,
  plant: Plant,
  wanted: readonly Wanted[],
  sources: readonly Source[],
  run: (plant: Plant) => ProgrammeRun,
): ReadonlyMap<Wanted, ReadingLine> {
  const own = wanted.map((w) => ownAccuracy(context, w.dimension));
  const { nominal, bands } = bandsOf(
    plant,
    sources,
    (p) => {
      const r = run(p);
      return wanted.map((w) => readFrom(r, w));
    },
    own,
  );
  const lines = new Map<Wanted, ReadingLine>();
  wanted.forEach((w, k) => {
    if (Number.isNaN(nominal[k])) return;
    const band = bands[k];
    lines.set(w, {
      kind: 'reading',
      id: '',
      what: w.what,
      dimension: w.dimension,
      expected: nominal[k],
      band,
      limits: w.file === undefined ? { low: band.low, high: band.high } : both(w.file.value, w.file.within),
      limitsFrom: w.file === undefined ? 'prediction' : 'file',
      adjustable: false,
      above: undefined,
    });
  });
  return lines;
}

/** What holds a prediction only as long as switches act so. */
function unlessNote(lines: Iterable<ReadingLine>): string | undefined {
  const names = [...new Set([...lines].flatMap((l) => l.band?.unless ?? []))];
  return names.length === 0
    ? undefined
    : `with ${names.slice(0, 4).join(' or ')}${names.length > 4 ? ' or others' : ''} at an end of the accuracy it does not come to this; the band is without`;
}

/** "about 20 s", for the one who waits. */
function about(seconds: number): string {
  if (seconds < 90) return `about ${Math.round(seconds)} s`;
  return seconds < 5400 ? `about ${(seconds / 60).toFixed(1)} min` : `about ${(seconds / 3600).toFixed(1)} h`;
}

const joined = (...notes: readonly (string | undefined)[]): string | undefined => {
  const given = notes.filter((n) => n !== undefined && n !== '');
  return given.length === 0 ? undefined : given.join('; ');
};

// ----------------------------------------------------------------------------------------------------- demonstration

/** The steps of the file, with what it expects and what the engine predicts. */
function demonstration(context: Context, sources: readonly Source[]): SheetPart {
  const { values, plant } = context;
  const motors = [...plant.pumps, ...plant.compressors];
  const names = conditionNames({ valves: plant.valves.map((v) => v.tag), motors: motors.map((m) => m.tag) });
  const duration_s = fileDuration(plant, values.run.duration);
  const run = (p: Plant) => context.run(p, { duration_s });
  const nominal = run(plant);
  warnOf(context, nominal, 'During the demonstration');
  const wanted: Wanted[] = [];
  const answers = new Map<number, Omit<AnswerLine, 'id'>[]>();
  values.steps.forEach((step, task) => {
    const here: Wanted[] = [];
    const said: Omit<AnswerLine, 'id'>[] = [];
    const condition = plant.conditions[plant.steps[task].condition];
    const done = nominal.states[task] !== undefined;
    const state = nominal.states[task];
    if (condition?.comparisons.some((c) => c.subject.kind === 'running'))
      said.push({ kind: 'answer', what: `comes: ${condition.text}`, expected: done ? 'yes' : 'no' });
    const covered = new Set(condition?.comparisons.map((c) => c.subject.kind));
    for (const written of step.expect) {
      const read = readExpectation(written, names, plant.ambientPressure_Pa);
      if ('problem' in read) continue;
      covered.add(read.subject.kind);
      if (read.dimension === undefined) {
        said.push({
          kind: 'answer',
          what: read.name.replace('.running', ' runs'),
          expected: read.value === 1 ? 'yes' : 'no',
        });
        continue;
      }
      here.push({
        task,
        subject: read.subject,
        dimension: dimensionOf(read.subject),
        what: subjectWords(read.subject, plant),
        file: { value: read.value, within: read.within },
      });
    }
    const waits = condition !== undefined || plant.steps[task].wait_ticks > 0;
    if (waits && state !== undefined) {
      for (const kind of ['level', 'pressure'] as const)
        if (!covered.has(kind))
          here.push({ task, subject: { kind }, dimension: dimensionOf({ kind }), what: subjectWords({ kind }, plant) });
    }
    wanted.push(...here);
    answers.set(task, said);
  });
  const lines = readingLines(context, plant, wanted, sources, run);
  const entries = values.steps.map((_, task): SheetEntry => {
    const readings = wanted.filter((w) => w.task === task).flatMap((w) => lines.get(w) ?? []);
    const all: Omit<SheetLine, 'id'>[] = [...(answers.get(task) ?? []), ...readings];
    const took = nominal.ended_s[task] - nominal.began_s[task];
    const done = nominal.states[task] !== undefined;
    if (!done)
      context.warnings.push(
        `Step ${task + 1}, "${plant.steps[task].text}": in the engine it does not come to its end.`,
      );
    return {
      text: plant.steps[task].text,
      lines: all.map((l, k) => ({ ...l, id: `D${task + 1}${letter(k)}` }) as SheetLine),
      note: joined(done && took > 2 ? about(took) : undefined, done ? unlessNote(readings) : 'not predicted'),
    };
  });
  const faults = plant.faults.map((f) => f.text);
  return {
    name: 'demonstration',
    title: 'Demonstration, as written in the file',
    intro: [
      ...(faults.length > 0 ? [`Predicted with the faults of the file: ${faults.join(', ')}.`] : []),
      'In this order. Read at the moment a step ends.',
    ],
    entries,
  };
}

function subjectWords(subject: Subject, plant: Plant): string {
  switch (subject.kind) {
    case 'pressure':
      return 'tank gauge';
    case 'level':
      return 'sight glass';
    case 'sumpLevel':
      return 'sump level';
    case 'position':
      return `${plant.valves[subject.item].tag}, share of its piston travel`;
    default:
      return '';
  }
}

// ---------------------------------------------------------------------------------------------------------- standard

const TITLES: Readonly<Record<string, string>> = {
  drain: 'Drain test',
  refill: 'Refill by the pumps',
  vent: 'Vent test',
  recharge: 'Recharge by the compressors',
};

function standardParts(context: Context, sources: readonly Source[]): SheetPart[] {
  const { units } = context;
  const { plant, drain, vent } = withDrainAndVent(context.plant);
  const name = (k: number) => contactName(plant.panel.contacts[k]);
  const tasks: readonly ReadTask[] = standardTasks(plant, name, (m) => formatQuantity(m, 'length', units));
  const run = (p: Plant) => context.run(withTasks(p, tasks));
  const nominal = run(plant);
  warnOf(context, nominal, 'During the tests of tank, pumps and compressors');
  const wanted = tasks.flatMap((t, task) =>
    t.read.map(
      (kind): Wanted => ({
        task,
        subject: { kind },
        dimension: dimensionOf({ kind }),
        what: subjectWords({ kind }, plant),
      }),
    ),
  );
  const lines = readingLines(context, plant, wanted, sources, run);
  const parts = [...new Set(tasks.map((t) => t.part))];
  return parts.map((part): SheetPart => {
    let n = 0;
    const entries = tasks.flatMap((t, task): SheetEntry[] => {
      if (t.part !== part) return [];
      // The same done to several machines is one thing to do.
      const plain = (x: ReadTask | undefined) =>
        x?.until === undefined && x?.wait_s === undefined && x?.item !== undefined;
      if (plain(t) && plain(tasks[task + 1]) && tasks[task + 1].action === t.action) return [];
      const same: string[] = [];
      for (let k = task; plain(t) && plain(tasks[k]) && tasks[k].action === t.action; k--)
        same.unshift(motorTag(plant, tasks[k].item ?? -1));
      n++;
      const readings = wanted.filter((w) => w.task === task).flatMap((w) => lines.get(w) ?? []);
      const done = nominal.states[task] !== undefined;
      if (!done) context.warnings.push(`${TITLES[part]}, "${t.text}": in the engine it does not come to this.`);
      const took = nominal.ended_s[task] - nominal.began_s[task];
      const bit = /starts$/.test(t.text);
      const who = nominal.events
        .filter((e) => e.code === EventCode.motorStarted && e.time_s >= nominal.began_s[task] - 1)
        .slice(0, 1)
        .map((e) => motorTag(plant, e.item));
      const answer: Omit<AnswerLine, 'id'>[] =
        bit && done && who.length > 0 ? [{ kind: 'answer', what: `${who[0]} starts first`, expected: 'yes' }] : [];
      const key = part[0].toUpperCase() + (part === 'recharge' ? 'C' : '');
      return [
        {
          text: same.length > 1 ? t.text.replace(same.at(-1) as string, same.join(' and ')) : t.text,
          lines: [...answer, ...readings].map((l, k) => ({ ...l, id: `${key}${n}${letter(k)}` }) as SheetLine),
          note: joined(
            done && t.until !== undefined && took > 2 ? about(took) : undefined,
            done ? unlessNote(readings) : 'not predicted',
          ),
        },
      ];
    });
    const assumed = part === 'drain' ? drain : part === 'vent' ? vent : false;
    return {
      name: part as PartName,
      title: TITLES[part] ?? part,
      intro: assumed
        ? [
            `The file gives no ${part}: one is assumed that ${part === 'drain' ? 'draws' : 'lets off'} a tenth of the ${part === 'drain' ? 'tank' : 'air'} a minute at the start. How fast it truly is shows in the readings only through the heat that the air takes up meanwhile.`,
          ]
        : [],
      entries,
    };
  });
}

// ----------------------------------------------------------------------------------------------------------- strokes

/** What is read of a stroke. */
interface StrokeReading {
  readonly time_s: number;
  readonly least_Pa: number;
}

function strokeParts(context: Context): SheetPart[] {
  const { values, plant, units } = context;
  const ambient = plant.ambientPressure_Pa;
  const sources = readingSources(values, units);
  const own = [STOPWATCH_s, gaugeAccuracy(values, units)];
  const entries: SheetEntry[] = [];
  let n = 0;
  plant.valves.forEach((v, valve) => {
    if (v.strokes.length === 0) return;
    // By hand a stroke goes to its end; a trip that stops part way is seen with the mains off.
    const directions = [...new Set(v.strokes)].map((d) => (d > 0 ? 1 : -1) as 1 | -1);
    for (const direction of directions) {
      n++;
      const at = direction > 0 ? 0 : 1;
      const tasks = (p: Plant) => {
        const list = strokeTasks(p, valve, direction);
        return { list, task: list.length - 1 };
      };
      // The stroke starts from the other end.
      const placed = { ...plant, valves: plant.valves.map((w, i) => (i === valve ? { ...w, position: at } : w)) };
      const read = (p: Plant): readonly number[] => {
        const { list, task } = tasks(p);
        const r = context.run(withTasks({ ...p, actions: [] }, list));
        const y = r.states[task];
        const out: StrokeReading =
          y === undefined
            ? { time_s: Number.NaN, least_Pa: Number.NaN }
            : { time_s: r.ended_s[task] - r.began_s[task], least_Pa: r.unit.gasPressure(y) };
        return [out.time_s, out.least_Pa];
      };
      const { nominal, bands } = bandsOf(placed, sources, read, own);
      const ends = !Number.isNaN(nominal[0]);
      const word = direction > 0 ? 'opens' : 'closes';
      if (!ends) context.warnings.push(`${v.tag} ${word}: in the engine it does not come to its end from this charge.`);
      const needs = needOf(plant, valve, direction);
      const { require } = v;
      const time: Omit<ReadingLine, 'id'> = {
        kind: 'reading',
        what: 'time from the command to the end',
        dimension: 'time',
        expected: ends ? nominal[0] : undefined,
        band: ends ? bands[0] : undefined,
        limits:
          require === undefined
            ? undefined
            : {
                low: require.shortest_s > 0 ? require.shortest_s : Number.NEGATIVE_INFINITY,
                high: timeAllowed(require),
              },
        limitsFrom: require === undefined ? 'none' : 'requirement',
        adjustable: true,
        above: undefined,
      };
      const least: Omit<ReadingLine, 'id'> = {
        kind: 'reading',
        what: 'least reading of the tank gauge meanwhile',
        dimension: 'pressure',
        expected: ends ? nominal[1] : undefined,
        band: ends ? bands[1] : undefined,
        limits:
          needs > ambient
            ? { low: needs, high: Number.POSITIVE_INFINITY }
            : ends
              ? { low: bands[1].low, high: bands[1].high }
              : undefined,
        limitsFrom: needs > ambient ? 'requirement' : ends ? 'prediction' : 'none',
        adjustable: false,
        above: undefined,
      };
      const show = (pa: number) => formatQuantity(pa, 'pressure', units, ambient);
      entries.push({
        text: `${v.tag}${v.service === '' ? '' : ` (${v.service})`} ${word}`,
        lines: [time, least].map((l, k) => ({ ...l, id: `S${n}${letter(k)}` })),
        note: joined(
          needs > ambient ? `needs ${show(needs)} without flow, its margin included` : 'a spring drives it',
          ends ? undefined : 'not predicted to end',
        ),
      });
    }
  });
  if (entries.length === 0) return [];
  const parts: SheetPart[] = [
    {
      name: 'strokes',
      title: 'Strokes, one valve at a time',
      intro: [
        'Before each: every machine in off, the unit at its start charge, the valve at its other end. Time it from the command until it is at its end.',
      ],
      entries,
    },
  ];
  const trip = tripPart(context);
  return trip === undefined ? parts : [...parts, trip];
}

/** Longest time of a stroke, s, with the margin that is wanted still in hand: what a verdict asks of it too. */
const timeAllowed = ({ longest_s, margin }: { readonly longest_s: number; readonly margin: number }): number =>
  longest_s * (1 - margin);

/** Pressure in the tank, Pa absolute, under which a valve would stop somewhere on a whole stroke, with its margin, without flow. */
function needOf(plant: Plant, valve: number, direction: 1 | -1): number {
  const v = plant.valves[valve];
  const margin = v.require?.margin ?? 0;
  const from = direction > 0 ? 0 : 1;
  let most = 0;
  const profile = v.load[direction > 0 ? 1 : 0];
  const places = [...Array.from({ length: 41 }, (_, k) => k / 40), ...profile.x];
  for (const x of places) most = Math.max(most, staticNeed(plant, v, direction, x, x === from, margin));
  return most;
}

/** The mains off, everything at once: what it is all for. */
function tripPart(context: Context): SheetPart | undefined {
  const { values, plant, units } = context;
  const set = requiredSet(plant);
  if (set.length === 0) return undefined;
  const sources = readingSources(values, units);
  const LOST_s = 1;
  const placed: Plant = {
    ...plant,
    steps: [],
    conditions: [],
    faults: [],
    actions: [
      ...plant.actions.filter((a) => a.tick === 0 && a.action !== 'lose mains' && a.action !== 'restore mains'),
      { tick: Math.round(LOST_s / plant.tick_s), action: 'lose mains', item: -1 },
    ],
  };
  const duration_s = LOST_s + outageSpan(plant);
  const cache = new Map<Plant, ProgrammeRun>();
  const runOf = (p: Plant) => {
    let r = cache.get(p);
    if (r === undefined) cache.set(p, (r = context.run(p, { duration_s, toTheEnd: true })));
    return r;
  };
  const record = (r: ProgrammeRun, s: (typeof set)[number]) =>
    r.strokes.findLast((x) => x.valve === s.valve && x.stroke === s.stroke);
  const read = (p: Plant): readonly number[] => {
    const r = runOf(p);
    const times = set.map((s) => {
      const found = record(r, s);
      return found === undefined || found.ended_s < 0 ? Number.NaN : found.ended_s - LOST_s;
    });
    const { unit, end } = r;
    return [...times, unit.gasPressure(end), unit.level(end) - unit.plant.tank.sightGlassZero_m];
  };
  const own = [...set.map(() => STOPWATCH_s), gaugeAccuracy(values, units), glassAccuracy(values, units)];
  const { nominal, bands } = bandsOf(placed, sources, read, own);
  const sound = runOf(placed);
  warnOf(context, sound, 'With the mains off');
  const entries = set.map((s, k): SheetEntry => {
    const v = plant.valves[s.valve];
    const found = record(sound, s);
    const ends = !Number.isNaN(nominal[k]);
    const commanded_s = found === undefined ? Number.NaN : found.commanded_s - LOST_s;
    const { require } = v;
    const word = s.direction > 0 ? 'opens' : 'closes';
    const which = v.strokes.length > 1 ? `, stroke ${s.stroke} of ${v.strokes.length}` : '';
    if (!ends)
      context.warnings.push(`${v.tag} ${word}${which}: in the engine it does not come to its end with the mains off.`);
    const line: ReadingLine = {
      kind: 'reading',
      id: `T${k + 1}a`,
      what: 'time from mains off to its end',
      dimension: 'time',
      expected: ends ? nominal[k] : undefined,
      band: ends ? bands[k] : undefined,
      // The requirement counts from the command, the stopwatch from the mains.
      limits:
        require === undefined || Number.isNaN(commanded_s)
          ? undefined
          : {
              low: commanded_s + require.shortest_s * (found === undefined ? 1 : Math.abs(s.to - s.from)),
              high: commanded_s + timeAllowed(require),
            },
      limitsFrom: require === undefined || Number.isNaN(commanded_s) ? 'none' : 'requirement',
      adjustable: false,
      above: undefined,
    };
    return {
      text: `${v.tag} ${word}${which}`,
      lines: [line],
      note: ends ? unlessNote([line]) : 'not predicted to end',
    };
  });
  const last = set.length;
  const after = (k: number, id: string, what: string, dimension: ReadDimension): ReadingLine => ({
    kind: 'reading',
    id,
    what,
    dimension,
    expected: nominal[k],
    band: bands[k],
    limits: { low: bands[k].low, high: bands[k].high },
    limitsFrom: 'prediction',
    adjustable: false,
    above: undefined,
  });
  const when = formatQuantity(duration_s - LOST_s, 'time', units);
  entries.push({
    text: `${when} after the mains went off`,
    lines: [
      after(last, `T${last + 1}a`, 'tank gauge', 'pressure'),
      after(last + 1, `T${last + 1}b`, 'sight glass', 'length'),
    ],
    note: undefined,
  });
  return {
    name: 'mains',
    title: 'Loss of mains, all valves together',
    intro: [
      'From the start charge, selectors as in service, valves as before a trip: switch the mains off and time every valve from there.',
    ],
    entries,
  };
}

// ---------------------------------------------------------------------------------------------------------- failures

const PROVOKED_WORDS: Readonly<Record<Provoked, string>> = {
  'set to off': 'selector in off',
  'trip motor': 'overload relay tripped while it runs',
  'shut isolation': 'isolation valve shut',
};
const UNDO: Readonly<Record<Provoked, string>> = {
  'set to off': 'selector back',
  'trip motor': 'relay reset',
  'shut isolation': 'isolation valve open',
};

function failurePart(context: Context): SheetPart {
  const { plant, units, values } = context;
  const { plant: tested } = withDrainAndVent(plant);
  const zero = plant.tank.sightGlassZero_m;
  const entries: SheetEntry[] = [];
  let n = 0;
  const kinds = [
    { motors: pumpsOf(plant), calls: values.panel.level.dutyStart !== undefined, duty: plant.start.dutyPump },
    {
      motors: compressorsOf(plant),
      calls: values.panel.pressure.cutIn !== undefined,
      duty: plant.start.dutyCompressor < 0 ? -1 : plant.pumps.length + plant.start.dutyCompressor,
    },
  ];
  for (const { motors, calls, duty } of kinds) {
    if (!calls || motors.length === 0) continue;
    const motor = motors.includes(duty) ? duty : motors[0];
    const tag = motorTag(plant, motor);
    for (const how of PROVOKED) {
      n++;
      const r = context.run(withTasks(tested, provokeTasks(tested, motor, how)));
      const begun = r.began_s[r.unit.plant.steps.findIndex((s) => s.action === how && s.item === motor)] ?? 0;
      const since = r.events.filter((e) => e.time_s >= begun);
      const where = (e: { readonly pressure_Pa: number; readonly oil_m3: number }) =>
        motor < plant.pumps.length
          ? formatQuantity(plant.tank.vessel.levelAt(e.oil_m3) - zero, 'length', units)
          : formatQuantity(e.pressure_Pa, 'pressure', units, plant.ambientPressure_Pa);
      const lines: Omit<AnswerLine, 'id'>[] = motors
        .filter((m) => m !== motor || how === 'shut isolation')
        .map((m) => {
          const start = since.find((e) => e.code === EventCode.motorStarted && e.item === m);
          const why = since.find((e) => e.code === EventCode.motorCommanded && e.item === m);
          const reason = why === undefined ? '' : ` (${startReasonText[why.value]})`;
          return {
            kind: 'answer',
            what:
              start === undefined
                ? `${motorTag(plant, m)} starts`
                : `${motorTag(plant, m)} starts, near ${where(start)}${reason}`,
            expected: start === undefined ? 'no' : 'yes',
          };
        });
      const alarms = since.filter((e) => e.code === EventCode.alarmRaised);
      for (const e of alarms) {
        const { tag: alarm, text } = r.unit.panel.alarms[e.item];
        lines.push({ kind: 'answer', what: `alarm: ${alarmName(alarm, text)}`, expected: 'yes' });
      }
      if (alarms.length === 0) lines.push({ kind: 'answer', what: 'any alarm', expected: 'no' });
      const drawn = motor < plant.pumps.length ? 'drain' : 'vent';
      const taken = motors.some(
        (m) => m !== motor && since.some((e) => e.code === EventCode.motorStarted && e.item === m),
      );
      entries.push({
        text: `${tag}: ${PROVOKED_WORDS[how]}; then ${drawn} until the next one starts${taken ? '' : ', or as far as its own start and no further'}`,
        lines: lines.map((l, k) => ({ ...l, id: `F${n}${letter(k)}` })),
        note: `afterwards ${UNDO[how]}, alarms acknowledged`,
      });
    }
  }
  return {
    name: 'failures',
    title: 'Failures to provoke',
    intro: [
      'Each from the start charge, the machines in auto, those of the other kind in off, the one named on duty. The expected answer is that of the engine.',
    ],
    entries,
  };
}
