/**
 * The panel: once a scan it reads its contacts, runs its timers, decides which machines are called and raises alarms.
 *
 * Pumps. The duty pump is called when the level falls to the duty start, the standby too when it falls to the standby
 * start, or when the duty is not proven in time, is tripped, or runs longer than the longest run. All stop at the stop
 * level, at high-high level and at high-high pressure. The start contact is one wide-deadband contact that resets at
 * the stop level and so remembers a half-done refill through an outage, or two contacts with a seal-in relay that forgets.
 *
 * Compressors. A permissive latch is set at the normal level and cleared when a pump is called: level first, then
 * pressure. With it the duty compressor is called at the cut-in, the standby at its own lower cut-in; the cut-out stops.
 *
 * When the mains come back the permissive follows the level, and a pump is called if the level is under normal: else a
 * level between start and normal with low pressure would run nothing, for ever.
 *
 * Source: common practice, no source. Not modelled: relay and lamp circuits, analogue control.
 */
import { assert } from '../sim/fault.ts';
import type { LayoutBuilder } from '../sim/layout.ts';
import { type Change, type Emit, LOGIC, NOTHING, PHYSICS } from '../sim/system.ts';
import { choice, flag, group, quantity, type Values } from './parameters.ts';
import { type ContactRole, levelContacts, pressureContacts, sumpContacts } from './contact.ts';
import { EventCode, StartReason } from './events.ts';
import { Selector } from './motor.ts';
import type { MotorPlant, Plant } from './plant.ts';

export const panelTable = {
  level: group(levelContacts, { meaning: 'Level contacts, as read on the sight glass', defaults: true }),
  pressure: group(pressureContacts, { meaning: 'Pressure contacts on the air space', defaults: true }),
  sump: group(sumpContacts, { meaning: 'Level contacts of the sump, above its floor', defaults: true }),
  startContact: choice(['wide deadband', 'seal-in'], {
    meaning: 'One start/stop contact that remembers through an outage, or two contacts and a seal-in relay that forgets',
    default: 'wide deadband',
  }),
  alternation: choice(['each call', 'by hours', 'fixed'], {
    meaning: 'When the duty changes over to the next machine',
    default: 'each call',
  }),
  alternateAfter: quantity('time', {
    meaning: 'Run time of a duty machine after which it changes over, with alternation by hours',
    above: 0,
    default: 604_800,
    example: '168 h',
  }),
  provenWithin: quantity('time', {
    meaning: 'A machine commanded and not proven in this time counts as failed (choice: 5 s)',
    above: 0,
    default: 5,
    example: '5 s',
  }),
  longestRun: quantity('time', {
    meaning: 'A run longer than this raises an alarm and calls the standby; no limit when left out',
    above: 0,
    optional: true,
    example: '20 min',
  }),
  heldOffAlarm: quantity('time', {
    meaning: 'A compressor wanted but held off this long raises an alarm (choice: 30 min)',
    above: 0,
    default: 1800,
    example: '30 min',
  }),
  alarmDelay: quantity('time', { meaning: 'On-delay of every alarm (choice: 2 s)', min: 0, default: 2, example: '2 s' }),
  alarmOffDelay: quantity('time', { meaning: 'Off-delay of every alarm', min: 0, default: 0, example: '5 s' }),
  alarmsLatch: flag({ meaning: 'Alarms stay until acknowledged', default: true }),
} as const;
export const panelGroup = group(panelTable, { meaning: 'Contacts and logic of the panel', defaults: true });
export type PanelValues = Values<typeof panelTable>;

/** Alarm states, ISA-18.2 terms. */
export const AlarmState = { normal: 0, unacknowledged: 1, acknowledged: 2, returnedUnacknowledged: 3 } as const;

export interface AlarmItem {
  readonly tag: string;
  readonly text: string;
}

/** What the rest of the unit reads of the panel, and the slots it may change. */
export interface Panel {
  readonly slots: PanelSlots;
  readonly alarms: readonly AlarmItem[];
  /** Contacts and logic of one scan. `made(j)` reads contact j now. */
  scan(y: Float64Array, tick: number, emit: Emit, reads: (contact: number) => boolean): Change;
  /** Motors stop at once, whatever the scan. */
  mainsLost(y: Float64Array, tick: number, emit: Emit): void;
  mainsBack(y: Float64Array, tick: number): void;
  stopMotor(y: Float64Array, motor: number, tick: number, emit: Emit): void;
  /** Adds what is due after this tick to the earlier of both. */
  nextDue(y: Float64Array, tick: number, earliest: number): number;
  acknowledge(y: Float64Array, emit: Emit): void;
}

export interface PanelSlots {
  readonly mains: number;
  readonly control: number;
  readonly controlEnds: number;
  readonly backSince: number;
  readonly awake: number;
  /** First of one slot per contact. */
  readonly raw: number;
  readonly rawSince: number;
  readonly made: number;
  readonly permissive: number;
  readonly sealDuty: number;
  readonly sealStandby: number;
  readonly recovery: number;
  readonly normalSeen: number;
  readonly pumpCalled: number;
  readonly compressorCalled: number;
  readonly dutyPump: number;
  readonly dutyCompressor: number;
  /** First of one slot per motor, pumps first. */
  readonly selector: number;
  readonly commanded: number;
  readonly commandedSince: number;
  readonly running: number;
  readonly startTick: number;
  readonly proven: number;
  readonly failed: number;
  readonly tripped: number;
  readonly blocked: number;
  readonly starts: number;
  readonly runTicks: number;
  readonly dutyTicks: number;
  readonly longRun: number;
  /** First of one slot per alarm. */
  readonly alarmSince: number;
  readonly alarmClearSince: number;
  readonly alarmState: number;
  readonly filterHigh: number;
}

const LARGE = Number.MAX_SAFE_INTEGER;

/** Ticks of a delay, rounded up: a delay expires at the first scan at or after it. */
export function delayTicks(seconds: number, tick_s: number): number {
  return Math.ceil(seconds / tick_s - 1e-9);
}

export function createPanel(plant: Plant, layout: LayoutBuilder): Panel {
  const { panel, pumps, compressors, scanTicks } = plant;
  const motors: readonly MotorPlant[] = [...pumps, ...compressors];
  const contacts = panel.contacts;
  const nPumps = pumps.length;
  const nMotors = motors.length;

  const many = (count: number, name: (i: number) => string, unit: string, min: number, max: number): number => {
    let first = -1;
    for (let i = 0; i < count; i++) {
      const slot = layout.discrete(name(i), unit, min, max);
      if (first < 0) first = slot;
    }
    return first;
  };
  const bit = (name: string) => layout.discrete(name, 'bit', 0, 1);
  const perContact = (name: string, unit: string, min: number, max: number) =>
    many(contacts.length, (i) => `${contacts[i].tag}.${name}`, unit, min, max);
  const perMotor = (name: string, unit: string, min: number, max: number) =>
    many(nMotors, (i) => `${motors[i].tag}.${name}`, unit, min, max);

  const roleOf = (role: ContactRole) => contacts.findIndex((c) => c.role === role);
  const at = {
    dutyStart: roleOf('level.dutyStart'),
    standbyStart: roleOf('level.standbyStart'),
    normal: roleOf('level.normal'),
    stop: roleOf('level.stop'),
    highHigh: roleOf('level.highHigh'),
    cutIn: roleOf('pressure.cutIn'),
    standbyCutIn: roleOf('pressure.standbyCutIn'),
    high: roleOf('pressure.high'),
    highHighPressure: roleOf('pressure.highHigh'),
  };

  // Alarms: one for each alarm contact, then those of the panel and of the motors.
  const alarms: AlarmItem[] = [];
  const alarmContact: number[] = [];
  const words: Partial<Record<ContactRole, string>> = {
    'level.lowLow': 'low-low oil',
    'level.low': 'low oil',
    'level.high': 'high oil',
    'level.highHigh': 'high-high oil',
    'pressure.lowLow': 'low-low pressure',
    'pressure.low': 'low pressure',
    'pressure.high': 'high pressure',
    'pressure.highHigh': 'high-high pressure',
    'sump.low': 'sump low',
    'sump.high': 'sump high',
  };
  contacts.forEach((c, i) => {
    const text = words[c.role];
    if (text === undefined) return;
    alarms.push({ tag: alarmTag(c.tag), text });
    alarmContact.push(i);
  });
  const fromContacts = alarms.length;
  const alarmMains = alarms.push({ tag: 'JAL', text: 'mains lost' }) - 1;
  const alarmFilter = plant.filterAlarm_Pa > 0 ? alarms.push({ tag: 'PDAH-filter', text: 'return filter blocked' }) - 1 : -1;
  const alarmHeld = compressors.length > 0 ? alarms.push({ tag: 'KA-held-off', text: 'compressor held off' }) - 1 : -1;
  const alarmMotor = alarms.length;
  for (const m of motors) {
    alarms.push({ tag: `${m.tag}-failed`, text: `${m.tag} failed to start` });
    alarms.push({ tag: `${m.tag}-overload`, text: `${m.tag} tripped by overload` });
    alarms.push({ tag: `${m.tag}-not-auto`, text: `${m.tag} not in auto` });
    alarms.push({ tag: `${m.tag}-long-run`, text: `${m.tag} runs long` });
  }
  const PER_MOTOR = 4;
  const perAlarm = (name: string, unit: string, min: number, max: number) =>
    many(alarms.length, (i) => `${alarms[i].tag}.${name}`, unit, min, max);

  const s: PanelSlots = {
    mains: bit('mains'),
    control: bit('controlPower'),
    controlEnds: layout.discrete('controlPower.ends', 'tick', -1, LARGE),
    backSince: layout.discrete('mains.backSince', 'tick', -1, LARGE),
    awake: bit('panel.awake'),
    raw: perContact('raw', 'bit', 0, 1),
    rawSince: perContact('since', 'tick', -1, LARGE),
    made: perContact('made', 'bit', 0, 1),
    permissive: bit('compressors.permissive'),
    sealDuty: bit('pumps.sealDuty'),
    sealStandby: bit('pumps.sealStandby'),
    recovery: bit('pumps.recovery'),
    normalSeen: bit('level.normalSeen'),
    pumpCalled: bit('pumps.called'),
    compressorCalled: bit('compressors.called'),
    dutyPump: layout.discrete('pumps.duty', 'index', 0, Math.max(0, nPumps - 1)),
    dutyCompressor: layout.discrete('compressors.duty', 'index', 0, Math.max(0, compressors.length - 1)),
    selector: perMotor('selector', '0 off 1 auto 2 hand', 0, 2),
    commanded: perMotor('commanded', 'bit', 0, 1),
    commandedSince: perMotor('commandedSince', 'tick', -1, LARGE),
    running: perMotor('running', 'bit', 0, 1),
    startTick: perMotor('startTick', 'tick', -LARGE, LARGE),
    proven: perMotor('proven', 'bit', 0, 1),
    failed: perMotor('failed', 'bit', 0, 1),
    tripped: perMotor('tripped', 'bit', 0, 1),
    blocked: perMotor('startBlocked', 'bit', 0, 1),
    starts: perMotor('starts', '1', 0, LARGE),
    runTicks: perMotor('runTicks', 'tick', 0, LARGE),
    dutyTicks: perMotor('dutyTicks', 'tick', 0, LARGE),
    longRun: perMotor('longRun', 'bit', 0, 1),
    alarmSince: perAlarm('since', 'tick', -1, LARGE),
    alarmClearSince: perAlarm('clearSince', 'tick', -1, LARGE),
    alarmState: perAlarm('state', '0 normal 1 new 2 known 3 returned', 0, 3),
    filterHigh: bit('filter.high'),
  };

  const made = (y: Float64Array, contact: number) => contact >= 0 && y[s.made + contact] === 1;

  function motorCandidate(y: Float64Array, m: number): boolean {
    return y[s.selector + m] === Selector.auto && y[s.failed + m] === 0 && y[s.tripped + m] === 0;
  }

  /** The first candidate at or after the duty index; -1 when there is none. */
  function firstCandidate(y: Float64Array, from: number, count: number, duty: number): number {
    for (let k = 0; k < count; k++) {
      const m = from + ((duty + k) % count);
      if (motorCandidate(y, m)) return m;
    }
    return -1;
  }

  function stopMotor(y: Float64Array, m: number, tick: number, emit: Emit): void {
    if (y[s.running + m] === 1) {
      const ticks = tick - y[s.startTick + m];
      y[s.runTicks + m] += ticks;
      y[s.dutyTicks + m] += ticks;
      y[s.running + m] = 0;
      emit(EventCode.motorStopped, m, ticks * plant.tick_s, 0);
    }
    if (motors[m].provenFlow === 0) y[s.proven + m] = 0;
  }

  /** Commands machines of one kind: `duty` and `standby` say what is called; hand runs beside it. */
  function serve(
    y: Float64Array,
    tick: number,
    emit: Emit,
    from: number,
    count: number,
    dutySlot: number,
    called: number,
    firstReason: number,
    standbyReason: number,
    handAllowed: boolean,
  ): boolean {
    if (count === 0) return false;
    let physics = false;
    let left = called;
    const first = firstCandidate(y, from, count, y[dutySlot]);
    for (let k = 0; k < count; k++) {
      const m = from + ((y[dutySlot] + k) % count);
      let wanted = false;
      let reason: number = StartReason.duty;
      if (y[s.selector + m] === Selector.auto) {
        if (left > 0 && motorCandidate(y, m)) {
          wanted = true;
          reason = m === first ? firstReason : standbyReason;
          left--;
        }
      } else if (y[s.selector + m] === Selector.hand && handAllowed) {
        wanted = y[s.tripped + m] === 0 && y[s.mains] === 1;
        reason = StartReason.hand;
      }
      // A machine that is to wait after the mains came back is not passed over, only held.
      const held = y[s.backSince] >= 0 && tick - y[s.backSince] < motors[m].restart_ticks;
      if (held) wanted = wanted && y[s.commanded + m] === 1;
      if (wanted !== (y[s.commanded + m] === 1)) {
        y[s.commanded + m] = wanted ? 1 : 0;
        y[s.commandedSince + m] = wanted ? tick : -1;
        if (!wanted) y[s.longRun + m] = 0;
        if (wanted) emit(EventCode.motorCommanded, m, reason, 0);
        physics = true;
      }
      const runs = wanted && y[s.mains] === 1 && y[s.tripped + m] === 0 && y[s.blocked + m] === 0;
      if (runs && y[s.running + m] === 0) {
        y[s.running + m] = 1;
        y[s.startTick + m] = tick;
        y[s.starts + m]++;
        emit(EventCode.motorStarted, m, 0, 0);
        physics = true;
      } else if (!runs && y[s.running + m] === 1) {
        stopMotor(y, m, tick, emit);
        physics = true;
      }
      if (motors[m].provenFlow === 0) y[s.proven + m] = y[s.running + m];
      // Not proven in time: failed, and the next one is called in its place at the next scan.
      if (wanted && y[s.proven + m] === 0 && y[s.failed + m] === 0 && tick - y[s.commandedSince + m] >= panel.proven_ticks) {
        y[s.failed + m] = 1;
        emit(EventCode.motorFailed, m, 0, 0);
        physics = true;
      }
      if (wanted && panel.longestRun_ticks > 0 && tick - y[s.commandedSince + m] >= panel.longestRun_ticks) {
        y[s.longRun + m] = 1;
      }
    }
    return physics;
  }

  /** Moves the duty on when its call ends. */
  function alternate(y: Float64Array, emit: Emit, from: number, count: number, dutySlot: number): void {
    const duty = firstCandidate(y, from, count, y[dutySlot]);
    if (duty < 0) return;
    if (panel.alternation === 'fixed') return;
    if (panel.alternation === 'by hours' && y[s.dutyTicks + duty] < panel.alternate_ticks) return;
    const next = firstCandidate(y, from, count, (duty - from + 1) % count);
    y[s.dutyTicks + duty] = 0;
    if (next - from === y[dutySlot]) return;
    y[dutySlot] = next - from;
    emit(EventCode.dutyChanged, next, 0, 0);
  }

  /** A machine that runs longer than the longest run calls the standby. */
  function runsLong(y: Float64Array, from: number, count: number): number {
    for (let m = from; m < from + count; m++) if (y[s.longRun + m] === 1) return StartReason.standbyLongRun;
    return 0;
  }

  /** Why the machine whose turn it is was passed over, for the log of the one that takes over; else `otherwise`. */
  function turnReason(y: Float64Array, duty: number, otherwise: number): number {
    if (y[s.selector + duty] !== Selector.auto) return otherwise;
    if (y[s.tripped + duty] === 1) return StartReason.standbyTripped;
    if (y[s.failed + duty] === 1) return StartReason.standbyNotProven;
    return otherwise;
  }

  function alarm(y: Float64Array, k: number, condition: boolean, tick: number, delay: number, emit: Emit): void {
    if (condition) {
      y[s.alarmClearSince + k] = -1;
      if (y[s.alarmSince + k] < 0) y[s.alarmSince + k] = tick;
      const state = y[s.alarmState + k];
      const off = state === AlarmState.normal || state === AlarmState.returnedUnacknowledged;
      if (off && tick - y[s.alarmSince + k] >= delay) {
        y[s.alarmState + k] = AlarmState.unacknowledged;
        emit(EventCode.alarmRaised, k, 0, 0);
      }
      return;
    }
    y[s.alarmSince + k] = -1;
    const state = y[s.alarmState + k];
    if (state !== AlarmState.unacknowledged && state !== AlarmState.acknowledged) return;
    if (y[s.alarmClearSince + k] < 0) y[s.alarmClearSince + k] = tick;
    if (tick - y[s.alarmClearSince + k] < panel.alarmOffDelay_ticks) return;
    y[s.alarmClearSince + k] = -1;
    const stays = panel.alarmsLatch && state === AlarmState.unacknowledged;
    y[s.alarmState + k] = stays ? AlarmState.returnedUnacknowledged : AlarmState.normal;
    emit(EventCode.alarmCleared, k, stays ? 1 : 0, 0);
  }

  function runAlarms(y: Float64Array, tick: number, emit: Emit): void {
    const delay = panel.alarmDelay_ticks;
    for (let k = 0; k < fromContacts; k++) alarm(y, k, y[s.made + alarmContact[k]] === 1, tick, delay, emit);
    alarm(y, alarmMains, y[s.mains] === 0, tick, delay, emit);
    if (alarmFilter >= 0) alarm(y, alarmFilter, y[s.filterHigh] === 1, tick, delay, emit);
    if (alarmHeld >= 0) {
      const held = made(y, at.cutIn) && y[s.permissive] === 0;
      alarm(y, alarmHeld, held, tick, panel.heldOff_ticks, emit);
    }
    for (let m = 0; m < nMotors; m++) {
      const k = alarmMotor + m * PER_MOTOR;
      alarm(y, k, y[s.failed + m] === 1, tick, 0, emit);
      alarm(y, k + 1, y[s.tripped + m] === 1, tick, 0, emit);
      alarm(y, k + 2, y[s.selector + m] !== Selector.auto, tick, delay, emit);
      alarm(y, k + 3, y[s.longRun + m] === 1, tick, 0, emit);
    }
  }

  /** Calls of pumps and compressors. Run again until nothing changes, as relays settle. */
  function logic(y: Float64Array, tick: number, emit: Emit): Change {
    let change: Change = NOTHING;
    const normal = at.normal < 0 || made(y, at.normal);
    const mains = y[s.mains] === 1;
    if (y[s.awake] === 0) {
      y[s.awake] = 1;
      y[s.normalSeen] = normal ? 1 : 0;
      y[s.permissive] = normal ? 1 : 0;
      if (!normal && mains && nPumps > 0) y[s.recovery] = 1;
      change = LOGIC;
    }

    // Pumps. A stop by high-high level or pressure outranks every call.
    const stopAll = made(y, at.highHigh) || made(y, at.highHighPressure);
    const stop = made(y, at.stop);
    if (!panel.wideDeadband) {
      const set = mains && !stop;
      y[s.sealDuty] = set && (y[s.sealDuty] === 1 || made(y, at.dutyStart)) ? 1 : 0;
      y[s.sealStandby] = set && (y[s.sealStandby] === 1 || made(y, at.standbyStart)) ? 1 : 0;
    }
    if (stop || !mains) y[s.recovery] = 0;
    const dutyStart = panel.wideDeadband ? made(y, at.dutyStart) : y[s.sealDuty] === 1;
    const standbyStart = panel.wideDeadband ? made(y, at.standbyStart) : y[s.sealStandby] === 1;
    const pumpCall = mains && !stopAll && (dutyStart || standbyStart || y[s.recovery] === 1);
    const callBegins = pumpCall && y[s.pumpCalled] === 0;
    const callEnds = !pumpCall && y[s.pumpCalled] === 1;
    if (callEnds && mains) alternate(y, emit, 0, nPumps, s.dutyPump);
    if (callBegins || callEnds) {
      y[s.pumpCalled] = pumpCall ? 1 : 0;
      change = LOGIC;
    }
    const secondPump = !pumpCall ? 0 : standbyStart ? StartReason.standbyStep : runsLong(y, 0, nPumps);
    const handAllowed = !stopAll && !made(y, at.high);
    const pumpReason = turnReason(y, y[s.dutyPump], dutyStart || standbyStart ? StartReason.duty : StartReason.recovery);
    const pumpsWanted = pumpCall ? (secondPump > 0 ? 2 : 1) : 0;
    if (serve(y, tick, emit, 0, nPumps, s.dutyPump, pumpsWanted, pumpReason, secondPump, handAllowed)) change = PHYSICS;

    // Compressors: level first, then pressure.
    if (compressors.length === 0) return change;
    const normalRises = normal && y[s.normalSeen] === 0;
    y[s.normalSeen] = normal ? 1 : 0;
    const before = y[s.permissive];
    if (callBegins) y[s.permissive] = 0;
    else if (normalRises || (callEnds && normal)) y[s.permissive] = 1;
    if (before !== y[s.permissive]) {
      emit(before === 0 ? EventCode.permissiveSet : EventCode.permissiveCleared, 0, 0, 0);
      if (change === NOTHING) change = LOGIC;
    }
    const cutIn = made(y, at.cutIn);
    const standbyCutIn = made(y, at.standbyCutIn);
    const wantsAir = mains && !made(y, at.highHighPressure) && (cutIn || standbyCutIn);
    // The duty changes over when its call ends at the cut-out, not when the level holds it off.
    if (!wantsAir && y[s.compressorCalled] === 1 && mains) {
      alternate(y, emit, nPumps, compressors.length, s.dutyCompressor);
      if (change === NOTHING) change = LOGIC;
    }
    const airCall = wantsAir && y[s.permissive] === 1;
    y[s.compressorCalled] = airCall || (wantsAir && y[s.compressorCalled] === 1) ? 1 : 0;
    const secondAir = !airCall ? 0 : standbyCutIn ? StartReason.standbyStep : runsLong(y, nPumps, compressors.length);
    const airReason = turnReason(y, nPumps + y[s.dutyCompressor], StartReason.duty);
    const airWanted = airCall ? (secondAir > 0 ? 2 : 1) : 0;
    if (serve(y, tick, emit, nPumps, compressors.length, s.dutyCompressor, airWanted, airReason, secondAir, handAllowed)) {
      change = PHYSICS;
    }
    return change;
  }

  return {
    slots: s,
    alarms,

    scan(y, tick, emit, reads) {
      let change: Change = NOTHING;
      // Contacts are devices in the field: they move whether or not the panel is alive.
      for (let j = 0; j < contacts.length; j++) {
        const raw = reads(j) ? 1 : 0;
        if (raw !== y[s.raw + j]) {
          y[s.raw + j] = raw;
          y[s.rawSince + j] = tick;
          change = LOGIC;
        }
        const delay = delayTicks(contacts[j].delay_s, plant.tick_s);
        const through = raw === 1 ? y[s.made + j] === 1 || tick - y[s.rawSince + j] >= delay : false;
        if (through !== (y[s.made + j] === 1)) {
          y[s.made + j] = through ? 1 : 0;
          emit(through ? EventCode.contactMade : EventCode.contactReset, j, 0, 0);
          change = LOGIC;
        }
      }
      if (y[s.control] === 0) {
        if (y[s.awake] === 1) {
          // Without control power latches that nothing retains fall out and alarm timers stop.
          y[s.awake] = 0;
          for (const slot of [s.permissive, s.sealDuty, s.sealStandby, s.recovery, s.pumpCalled, s.compressorCalled]) y[slot] = 0;
          for (let k = 0; k < alarms.length; k++) {
            y[s.alarmSince + k] = -1;
            y[s.alarmClearSince + k] = -1;
            y[s.alarmState + k] = AlarmState.normal;
          }
          for (let m = 0; m < nMotors; m++) {
            y[s.commanded + m] = 0;
            y[s.commandedSince + m] = -1;
            y[s.longRun + m] = 0;
            stopMotor(y, m, tick, emit);
          }
          change = PHYSICS;
        }
        return change;
      }

      for (let pass = 0; ; pass++) {
        const moved = logic(y, tick, emit);
        if (moved === NOTHING) break;
        if (moved > change) change = moved;
        assert(pass < 20, 'the logic of the panel does not settle');
      }
      runAlarms(y, tick, emit);
      return change;
    },

    mainsLost(y, tick, emit) {
      y[s.mains] = 0;
      y[s.backSince] = -1;
      y[s.controlEnds] = tick + plant.power.controlHeld_ticks;
      for (let m = 0; m < nMotors; m++) stopMotor(y, m, tick, emit);
    },

    mainsBack(y, tick) {
      y[s.mains] = 1;
      y[s.controlEnds] = -1;
      y[s.control] = 1;
      y[s.awake] = 0;
      // The panel notices at its first scan from here.
      y[s.backSince] = Math.ceil(tick / scanTicks) * scanTicks;
    },

    stopMotor,

    nextDue(y, tick, earliest) {
      let due = earliest;
      const consider = (since: number, delay: number) => {
        if (since < 0) return;
        const k = Math.ceil((since + delay) / scanTicks) * scanTicks;
        if (k > tick && k < due) due = k;
      };
      for (let j = 0; j < contacts.length; j++) {
        if (y[s.raw + j] === 1 && y[s.made + j] === 0) consider(y[s.rawSince + j], delayTicks(contacts[j].delay_s, plant.tick_s));
      }
      for (let m = 0; m < nMotors; m++) {
        if (y[s.commanded + m] === 1) {
          if (y[s.proven + m] === 0) consider(y[s.commandedSince + m], panel.proven_ticks);
          if (panel.longestRun_ticks > 0) consider(y[s.commandedSince + m], panel.longestRun_ticks);
        }
        consider(y[s.backSince], motors[m].restart_ticks);
        if (y[s.running + m] === 1) {
          // The end of a run-up and of an unloaded start are kinks in the flow, not scans.
          const runUp = y[s.startTick + m] + delayTicks(motors[m].runUp_s, plant.tick_s);
          if (runUp > tick && runUp < due) due = runUp;
          if (m >= nPumps) {
            const loads = y[s.startTick + m] + delayTicks(compressors[m - nPumps].unloaded_s, plant.tick_s);
            if (loads > tick && loads < due) due = loads;
          }
        }
      }
      for (let k = 0; k < alarms.length; k++) {
        const delay = k === alarmHeld ? panel.heldOff_ticks : k >= alarmMotor && (k - alarmMotor) % PER_MOTOR !== 2 ? 0 : panel.alarmDelay_ticks;
        const state = y[s.alarmState + k];
        if (state === AlarmState.normal || state === AlarmState.returnedUnacknowledged) consider(y[s.alarmSince + k], delay);
        consider(y[s.alarmClearSince + k], panel.alarmOffDelay_ticks);
      }
      if (y[s.controlEnds] > tick && y[s.controlEnds] < due) due = y[s.controlEnds];
      return due;
    },

    acknowledge(y, emit) {
      for (let k = 0; k < alarms.length; k++) {
        const state = y[s.alarmState + k];
        if (state === AlarmState.unacknowledged) y[s.alarmState + k] = AlarmState.acknowledged;
        else if (state === AlarmState.returnedUnacknowledged) y[s.alarmState + k] = AlarmState.normal;
        else continue;
        emit(EventCode.alarmAcknowledged, k, 0, 0);
      }
    },
  };
}

/** LSL-101 -> LAL-101: the switch letter of an ISA-5.1 tag becomes the alarm letter. */
export function alarmTag(switchTag: string): string {
  const letters = /^([LPF]D?)S(H{1,2}|L{1,2})(?![A-Za-z])/;
  return letters.test(switchTag) ? switchTag.replace(letters, '$1A$2') : `${switchTag}-alarm`;
}
