/**
 * What hands do on site, one thing after the other, run on the engine: a demonstration written in the file, or a standard
 * programme put together for any unit. Conditions of a standard programme follow the contacts of the plant it is run on, so
 * that the same programme on a plant with a switch that is off drains until that switch makes.
 */
import type { Comparison, Condition } from '../models/condition.ts';
import { EventCode } from '../models/events.ts';
import { delayTicks } from '../models/panel.ts';
import type { Action, Plant } from '../models/plant.ts';
import { StepEnd } from '../models/step.ts';
import { createUnit, type Unit } from '../models/unit.ts';
import { closedLedger, defaultDuration, type RunEvent, runEvent } from '../scenarios/run.ts';
import { createRecorder, type StrokeRecord } from '../scenarios/strokes.ts';
import { createEngine, type EngineOptions } from '../sim/engine.ts';

/** One thing to do, and what is waited for after it. */
export interface Task {
  readonly text: string;
  readonly action?: Action;
  /** Index of the valve or machine; all machines when left out. */
  readonly item?: number;
  /** What is waited for, on the plant it is run on. */
  readonly until?: (plant: Plant) => { readonly join: 'and' | 'or'; readonly comparisons: readonly Comparison[] };
  readonly wait_s?: number;
  /** Longest wait for `until`; an hour when left out. */
  readonly patience_s?: number;
}

export interface ProgrammeRun {
  readonly unit: Unit;
  /** State at the end of each task that came to its end as meant; undefined for one that did not. */
  readonly states: readonly (Float64Array | undefined)[];
  /** Begin and end of each task, s; NaN where it never came to that. */
  readonly began_s: readonly number[];
  readonly ended_s: readonly number[];
  readonly events: readonly RunEvent[];
  readonly strokes: readonly StrokeRecord[];
  readonly start: Float64Array;
  readonly end: Float64Array;
  /** Whether the run came to its end within the work allowed. */
  readonly whole: boolean;
}

const PATIENCE_s = 3600;

/** The plant with a programme in place of the steps of its file, standing still: no faults, and of its actions those of its start. */
export function withTasks(plant: Plant, tasks: readonly Task[]): Plant {
  const conditions: Condition[] = [];
  const ticks = (seconds: number) => delayTicks(seconds, plant.tick_s);
  const steps = tasks.map((t) => {
    let condition = -1;
    if (t.until !== undefined) {
      condition = conditions.length;
      conditions.push({ text: t.text, ...t.until(plant) });
    }
    return {
      text: t.text,
      action: t.action,
      item: t.item ?? -1,
      condition,
      wait_ticks: t.wait_s === undefined ? 0 : ticks(t.wait_s),
      patience_ticks: ticks(t.patience_s ?? PATIENCE_s),
    };
  });
  const actions = plant.actions.filter(
    (a) => a.tick === 0 && a.action !== 'lose mains' && a.action !== 'restore mains',
  );
  return { ...plant, steps, conditions, actions, faults: [] };
}

/** Longest time, s, that the steps of a plant may take. */
function longest(plant: Plant): number {
  const { tick_s } = plant;
  return plant.steps.reduce((sum, s) => sum + (s.condition < 0 ? s.wait_ticks : s.patience_ticks) * tick_s, 10);
}

export interface ProgrammeOptions extends EngineOptions {
  /** Longest run, s. Left out: as long as the steps may take, and no longer than they do. */
  readonly duration_s?: number;
  /** Goes on to `duration_s` although the steps are over. */
  readonly toTheEnd?: boolean;
}

/** Runs the steps of a plant. Errors: ProgramFault when the program is at fault. */
export function runProgramme(plant: Plant, options: ProgrammeOptions = {}): ProgrammeRun {
  const unit = createUnit(plant);
  const engine = createEngine(unit, options);
  const start = unit.start();
  const y = start.slice();
  const { slots } = unit;
  const count = plant.steps.length;
  const states = new Array<Float64Array | undefined>(count).fill(undefined);
  const began_s = new Array<number>(count).fill(Number.NaN);
  const ended_s = new Array<number>(count).fill(Number.NaN);
  const events: RunEvent[] = [];
  const recorder = createRecorder(unit);
  const duration_s = options.duration_s ?? longest(plant);
  const stop = engine.advance(
    y,
    delayTicks(duration_s, plant.tick_s),
    {
      sampleTicks: 0,
      event(state, code, item, value, other) {
        const happened = runEvent(unit, state, code, item, value, other);
        events.push(happened);
        recorder.event(state, code, item, value, other);
        if (code === EventCode.stepBegins) began_s[item] = happened.time_s;
        if (code === EventCode.stepEnds) {
          ended_s[item] = happened.time_s;
          if (value === StepEnd.asMeant) states[item] = state.slice();
        }
      },
    },
    (state) => options.toTheEnd !== true && count > 0 && state[slots.stepAt] >= count,
  );
  closedLedger(unit, start, y);
  recorder.end(y);
  return {
    unit,
    states,
    began_s,
    ended_s,
    events,
    strokes: recorder.strokes,
    start,
    end: y,
    whole: stop !== 'work limit',
  };
}

/** Length, s, of a run of the steps in the file, as a replay has it. */
export const fileDuration = (plant: Plant, given_s: number | undefined): number => given_s ?? defaultDuration(plant);

// ---------------------------------------------------------------------------------------------------------- standard

const running = (motors: readonly number[], yes: boolean, join: 'and' | 'or') => ({
  join,
  comparisons: motors.map(
    (item): Comparison => ({
      subject: { kind: 'running', item },
      sign: yes ? 1 : -1,
      value: yes ? 1 : 0,
    }),
  ),
});

const indices = (first: number, count: number) => Array.from({ length: count }, (_, k) => first + k);
export const pumpsOf = (plant: Plant): number[] => indices(0, plant.pumps.length);
export const compressorsOf = (plant: Plant): number[] => indices(plant.pumps.length, plant.compressors.length);
export const motorTag = (plant: Plant, m: number): string =>
  [...plant.pumps, ...plant.compressors][m]?.tag ?? 'all machines';

/** Waits after the drain or the vent is shut, for the air to come to rest, s (choice). */
const SETTLE_s = 300;
const VENT_SETTLE_s = 120;
/** A reading this close to where the unit stands is no station of its own. */
const CLOSE_m = 0.002;
const CLOSE_Pa = 1000;
/** Level over the outlet under which nobody drains a tank with air on it, m (choice). */
const ABOVE_OUTLET_m = 0.02;
/** Where the panel has no switch to drain or vent to: by this share of what can be (choice). */
const PART = 0.1;
/** A hand drain or vent that the file does not give draws or lets off this share of the tank a second at the start (choice). */
const PER_SECOND = 0.1 / 60;

/** What stands in for a drain or a vent that the file does not give. */
export interface Assumed {
  readonly plant: Plant;
  readonly drain: boolean;
  readonly vent: boolean;
}

/** The plant with a drain and a vent for its tests: its own, or ones that draw a tenth of the tank a minute at its start. */
export function withDrainAndVent(plant: Plant): Assumed {
  const gauge_Pa = Math.max(1, plant.start.gasPressure_Pa - plant.ambientPressure_Pa);
  const drain = plant.drain === 0;
  const vent = plant.ventArea_m2 === 0;
  const air_m3 = plant.tank.volume_m3 - plant.start.oilVolume_m3;
  // Choked flow lets off A sqrt(gamma R T (2/(gamma+1))^((gamma+1)/(gamma-1))), about 198 m/s times A, of air as it is in the tank.
  const CHOKED_m_s = 198;
  return {
    drain,
    vent,
    plant: {
      ...plant,
      drain: drain ? (plant.tank.volume_m3 * PER_SECOND) / Math.sqrt(gauge_Pa) : plant.drain,
      ventArea_m2: vent ? (air_m3 * PER_SECOND) / CHOKED_m_s : plant.ventArea_m2,
    },
  };
}

/** A task, and what is read at its end. */
export interface ReadTask extends Task {
  readonly part: string;
  readonly read: readonly ('pressure' | 'level')[];
}

/**
 * The standard programme: drain to each switch that makes on falling level, refill, vent to each that makes on falling
 * pressure, recharge. Stations stand in the order of the switches of this plant.
 *
 * @param name what a contact is called, by its index
 * @param length a length in words
 */
export function standardTasks(
  plant: Plant,
  name: (contact: number) => string,
  length: (m: number) => string,
): ReadTask[] {
  const { contacts } = plant.panel;
  const { tank } = plant;
  const level_m = tank.vessel.levelAt(plant.start.oilVolume_m3);
  const outlet_m = tank.outletShutOff
    ? tank.vessel.levelAt(tank.outletShutOff.open_m3)
    : tank.vessel.levelAt(tank.outletVolume_m3);
  const floor_m = outlet_m + ABOVE_OUTLET_m;
  const pumps = pumpsOf(plant);
  const compressors = compressorsOf(plant);
  const role = (r: string) => contacts.findIndex((c) => c.role === r);
  const stations = (measured: 'level' | 'pressure', below: number, above: number) =>
    contacts
      .flatMap((c, k) => (c.measured === measured && c.low && c.trip < below && c.trip > above ? [k] : []))
      .sort((a, b) => contacts[b].trip - contacts[a].trip || a - b);
  const tasks: ReadTask[] = [];
  const plain = (part: string, text: string, action: Action, item?: number, rest: Partial<ReadTask> = {}) =>
    tasks.push({ part, text, action, read: [], ...(item === undefined ? {} : { item }), ...rest });
  const each = (part: string, motors: readonly number[], action: Action, words: string) => {
    for (const m of motors) plain(part, `Set ${motorTag(plant, m)} ${words}`, action, m);
  };
  if (pumps.length + compressors.length > 0) plain('drain', 'Set every machine to off', 'set to off');

  // ---- Drain
  const falling = stations('level', level_m - CLOSE_m, floor_m);
  const drainTo = (text: string, value: (p: Plant) => number, first: boolean) =>
    tasks.push({
      part: 'drain',
      text: first ? `Open the drain a little. ${text}` : text,
      ...(first ? ({ action: 'open drain' } as const) : {}),
      until: (p) => ({ join: 'and', comparisons: [{ subject: { kind: 'level' }, sign: -1, value: value(p) }] }),
      read: falling.length === 0 ? ['pressure', 'level'] : ['pressure'],
    });
  falling.forEach((k, n) => {
    drainTo(`When ${name(k)} acts, read at once`, (p) => p.panel.contacts[k].trip, n === 0);
  });
  if (falling.length === 0 && level_m > floor_m) {
    const fallen = PART * (level_m - floor_m);
    // On the glass it is read off the level at the start, whatever that truly was.
    const from = (p: Plant) => p.tank.vessel.levelAt(p.start.oilVolume_m3);
    drainTo(`When the glass has fallen by ${length(fallen)}, read at once`, (p) => from(p) - fallen, true);
  }
  if (tasks.some((t) => t.action === 'open drain')) {
    plain('drain', 'Shut the drain; wait five minutes', 'close drain', undefined, {
      wait_s: SETTLE_s,
      read: ['pressure', 'level'],
    });
  }

  // ---- Refill
  const called = role('level.dutyStart');
  if (pumps.length > 0 && falling.includes(called) && role('level.stop') >= 0) {
    each('refill', pumps, 'set to auto', 'to auto');
    tasks.push({
      part: 'refill',
      text: 'A pump starts',
      until: () => running(pumps, true, 'or'),
      patience_s: 120,
      read: [],
    });
    tasks.push({
      part: 'refill',
      text: 'Wait until all pumps have stopped; read at once',
      until: () => running(pumps, false, 'and'),
      patience_s: 4 * 3600,
      read: ['pressure', 'level'],
    });
    each('refill', pumps, 'set to off', 'to off');
  }

  // ---- Vent
  const sinking = stations('pressure', plant.start.gasPressure_Pa - CLOSE_Pa, plant.ambientPressure_Pa);
  const ventTo = (text: string, value: (p: Plant) => number) => {
    tasks.push({
      part: 'vent',
      text: `Open the vent a little. ${text}`,
      action: 'open vent',
      until: (p) => ({ join: 'and', comparisons: [{ subject: { kind: 'pressure' }, sign: -1, value: value(p) }] }),
      read: [],
    });
    plain('vent', 'Shut the vent; wait two minutes', 'close vent', undefined, {
      wait_s: VENT_SETTLE_s,
      read: ['pressure', 'level'],
    });
  };
  for (const k of sinking) ventTo(`When ${name(k)} acts, shut it`, (p) => p.panel.contacts[k].trip);
  if (sinking.length === 0) {
    const share = 1 - PART;
    const ambient = plant.ambientPressure_Pa;
    ventTo('When the gauge reads a tenth less, shut it', (p) => ambient + share * (p.start.gasPressure_Pa - ambient));
  }

  // ---- Recharge
  if (
    compressors.length > 0 &&
    sinking.includes(role('pressure.cutIn')) &&
    contacts.some((c) => c.measured === 'level')
  ) {
    each('recharge', compressors, 'set to auto', 'to auto');
    tasks.push({
      part: 'recharge',
      text: 'A compressor starts',
      until: () => running(compressors, true, 'or'),
      patience_s: 120,
      read: [],
    });
    tasks.push({
      part: 'recharge',
      text: 'Wait until all compressors have stopped; read at once',
      until: () => running(compressors, false, 'and'),
      patience_s: 24 * 3600,
      read: ['pressure', 'level'],
    });
  }
  return tasks;
}

/** One stroke of one valve by hand, all machines off. */
export function strokeTasks(plant: Plant, valve: number, direction: 1 | -1): Task[] {
  const v = plant.valves[valve];
  const machines = plant.pumps.length + plant.compressors.length > 0;
  return [
    ...(machines ? [{ text: 'Set every machine to off', action: 'set to off' } as const] : []),
    {
      text: `${direction > 0 ? 'Open' : 'Close'} ${v.tag}`,
      action: direction > 0 ? 'open valve' : 'close valve',
      item: valve,
      until: () => ({
        join: 'and',
        comparisons: [
          { subject: { kind: 'position', item: valve }, sign: direction, value: direction > 0 ? 1 : 0 } as const,
        ],
      }),
      patience_s: Math.max(600, 3 * (v.require?.longest_s ?? 0)),
    },
  ];
}

export const PROVOKED = ['set to off', 'trip motor', 'shut isolation'] as const;
export type Provoked = (typeof PROVOKED)[number];

/**
 * A failure of a machine provoked while its kind is called for: what the duty machine does not do, the next one should. The
 * other kind stands in off.
 */
export function provokeTasks(plant: Plant, motor: number, how: Provoked): Task[] {
  const isPump = motor < plant.pumps.length;
  const own = isPump ? pumpsOf(plant) : compressorsOf(plant);
  const other = isPump ? compressorsOf(plant) : pumpsOf(plant);
  const rest = own.filter((m) => m !== motor);
  const open: Task = isPump
    ? { text: 'Open the drain a little', action: 'open drain' }
    : { text: 'Open the vent a little', action: 'open vent' };
  const shut: Task = isPump
    ? { text: 'Shut the drain; wait a minute', action: 'close drain', wait_s: 60 }
    : { text: 'Shut the vent; wait a minute', action: 'close vent', wait_s: 60 };
  const lowest = (p: Plant): Comparison => {
    const trips = p.panel.contacts.filter(
      (c) => c.low && /dutyStart|standbyStart|cutIn|standbyCutIn/.test(c.role) && (c.measured === 'level') === isPump,
    );
    // Past the last start by as much as its own deadband is plenty.
    const at = Math.min(...trips.map((c) => c.trip));
    return isPump
      ? { subject: { kind: 'level' }, sign: -1, value: at - 0.01 }
      : { subject: { kind: 'pressure' }, sign: -1, value: at - 15_000 };
  };
  const anyOf = (motors: readonly number[]) => (p: Plant) => ({
    join: 'or' as const,
    comparisons: [...running(motors, true, 'or').comparisons, lowest(p)],
  });
  const tag = motorTag(plant, motor);
  return [
    ...other.map((m): Task => ({ text: `Set ${motorTag(plant, m)} to off`, action: 'set to off', item: m })),
    ...(how === 'trip motor'
      ? [
          { ...open, until: anyOf([motor]) },
          { text: `Trip the overload relay of ${tag}`, action: how, item: motor, until: anyOf(rest) },
        ]
      : [
          {
            text: how === 'set to off' ? `Set ${tag} to off` : `Shut the isolation valve of ${tag}`,
            action: how,
            item: motor,
          },
          { ...open, until: anyOf(rest) },
        ]),
    shut,
  ];
}
