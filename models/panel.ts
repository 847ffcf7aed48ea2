/**
 * The panel: once a scan it reads its contacts, runs its timers, decides which machines are called and raises alarms.
 *
 * Pumps. The duty pump is called when the level falls to the duty start, the standby too when it falls to the standby
 * start or the duty runs longer than the longest run. A duty that is not proven in time, is tripped or is not in auto
 * gives way to the next. All stop at the stop level. High-high level and high-high pressure hold every pump off without
 * ending the call. The start contact is one wide-deadband contact that resets at the stop level and so remembers a
 * half-done refill through an outage, or two contacts with a seal-in relay that forgets.
 *
 * Compressors. A permissive latch is set at the normal level and cleared when a pump is called: level first, then
 * pressure. With it the duty compressor is called at the cut-in, the standby at its own lower cut-in; the cut-out stops.
 *
 * When the mains come back the permissive follows the level, and a pump is called if the level is under normal: else a
 * level between start and normal with low pressure would run nothing, for ever.
 *
 * Turns. The duty moves on when its call ends, not when power, level or a trip interrupts it. A machine that runs keeps
 * its place until then, even if the one whose turn it was is reset or put back to auto. A failed start stays latched
 * until reset or until control power is lost; an overload trip until reset.
 *
 * A scan with no new reading and no timer expired changes nothing: such scans are not visited. `nextDue` names every
 * tick at which time alone changes something.
 *
 * Source: common practice, no source. Not modelled: relay and lamp circuits, analogue control, shelving and
 * suppression of alarms.
 */
import type { LayoutBuilder } from '../sim/layout.ts';
import { type Change, type Emit, LOGIC, NOTHING, PHYSICS } from '../sim/system.ts';
import { type ContactRole, contactSays, levelContacts, pressureContacts, sumpContacts } from './contact.ts';
import { EventCode, StartReason } from './events.ts';
import { cooled, Proof, Selector, STARTS_WINDOW_s } from './motor.ts';
import { choice, flag, group, quantity, type Values } from './parameters.ts';
import type { MotorPlant, Plant } from './plant.ts';
import { delayTicks, sooner } from './timer.ts';

export { delayTicks };

export const panelTable = {
  level: group(levelContacts, { meaning: 'Level contacts, as read on the sight glass', defaults: true }),
  pressure: group(pressureContacts, { meaning: 'Pressure contacts on the air space', defaults: true }),
  sump: group(sumpContacts, { meaning: 'Level contacts of the sump, above its floor', defaults: true }),
  startContact: choice(['wide deadband', 'seal-in'], {
    meaning:
      'One start/stop contact that remembers through an outage, or two contacts and a seal-in relay that forgets',
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
  provenRise: group(
    {
      level: quantity('length', {
        meaning: 'Rise of the level that proves a pump (choice: 10 mm)',
        above: 0,
        default: 0.01,
        example: '0.5 in',
      }),
      pressure: quantity('pressureDifference', {
        meaning: 'Rise of the pressure that proves a compressor (choice: 10 kPa)',
        above: 0,
        default: 1e4,
        example: '2 psi',
      }),
    },
    { meaning: 'Rise since the start that proves a machine proven by it', defaults: true },
  ),
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
  alarmDelay: quantity('time', {
    meaning: 'On-delay of every alarm (choice: 2 s)',
    min: 0,
    default: 2,
    example: '2 s',
  }),
  alarmOffDelay: quantity('time', { meaning: 'Off-delay of every alarm', min: 0, default: 0, example: '5 s' }),
  alarmAgain: quantity('time', {
    meaning: 'An alarm that stands is raised again this long after it was last raised; never when left out',
    above: 0,
    optional: true,
    example: '30 min',
  }),
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
  /**
   * Contacts, timers and logic of one scan. `reads(y, j)` tells whether the condition of contact j holds now, `rose(y, m)` whether
   * what machine m serves has risen as far as proves it.
   */
  scan(
    y: Float64Array,
    tick: number,
    emit: Emit,
    reads: (y: Float64Array, contact: number) => boolean,
    rose: (y: Float64Array, motor: number) => boolean,
  ): Change;
  /** Motors stop at once, whatever the scan. */
  mainsLost(y: Float64Array, tick: number, emit: Emit): void;
  mainsBack(y: Float64Array, tick: number): void;
  /** Marks motors that are up to speed at this tick. Returns whether there were any. */
  comeUp(y: Float64Array, tick: number): boolean;
  stopMotor(y: Float64Array, motor: number, tick: number, emit: Emit, time_s?: number): void;
  /** Clears what is latched of a machine; the overload relay only once it has cooled. */
  resetMotor(y: Float64Array, motor: number, tick: number, emit: Emit): void;
  /** The earlier of `earliest` and the next tick at which time alone changes something. */
  nextDue(y: Float64Array, tick: number, earliest: number): number;
  acknowledge(y: Float64Array, emit: Emit): void;
}

/** Ticks of timers are those at which they began, -1 while they do not run. */
export interface PanelSlots {
  readonly mains: number;
  readonly control: number;
  readonly controlEnds: number;
  readonly backSince: number;
  /** 0 until the panel has had its first look after the mains came back. */
  readonly awake: number;
  /** First of one slot per contact: what the switch itself does, its wire, since when it says so, what the panel sees. */
  readonly raw: number;
  readonly circuit: number;
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
  /** Tick from which its speed ramps up. */
  readonly rampTick: number;
  /** 1 until it is up to speed. */
  readonly comingUp: number;
  readonly stoppedTick: number;
  /** Instant, s, to which its relay heat stands; it cools from then on. */
  readonly heatAt: number;
  /** 1 where the relay tripped it, not somebody. */
  readonly relayTripped: number;
  /** Level as volume, m3, or pressure, Pa, that will prove it. */
  readonly riseTo: number;
  /** Tick of the last start that was one too many in its hour; -1 once an hour has passed without another. */
  readonly startTooMany: number;
  /** Ticks of its last starts, the newest first: one more than are allowed in an hour. */
  readonly lastStarts: number;
  readonly proven: number;
  readonly unprovenSince: number;
  readonly failed: number;
  readonly tripped: number;
  readonly blocked: number;
  readonly starts: number;
  readonly runTicks: number;
  /** Run time since the machine became duty. */
  readonly dutyTicks: number;
  readonly longRun: number;
  /** First of one slot per compressor: whether its unloaded start is over. */
  readonly loaded: number;
  /** First of one slot per alarm. */
  readonly alarmSince: number;
  readonly alarmClearSince: number;
  readonly alarmRaised: number;
  readonly alarmState: number;
  readonly filterHigh: number;
}

/** Pumps or compressors: the first motor, how many, and the slot of the one whose turn it is. */
interface Kind {
  readonly first: number;
  readonly count: number;
  readonly duty: number;
}

interface Alarm extends AlarmItem {
  readonly delay_ticks: number;
  readonly active: (y: Float64Array) => boolean;
}

const LARGE = Number.MAX_SAFE_INTEGER;

const alarmWords: Partial<Record<ContactRole, string>> = {
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

export function createPanel(plant: Plant, layout: LayoutBuilder, relayHeat: number): Panel {
  const { panel, pumps, compressors, scanTicks, tick_s } = plant;
  const motors: readonly MotorPlant[] = [...pumps, ...compressors];
  const contacts = panel.contacts;
  const nPumps = pumps.length;
  const nMotors = motors.length;
  const contactDelay = contacts.map((c) => delayTicks(c.delay_s, tick_s));
  const runUp = motors.map((m) => delayTicks(m.runUp_s, tick_s));
  const hour = delayTicks(STARTS_WINDOW_s, tick_s);
  const unloaded = compressors.map((c) => delayTicks(c.unloaded_s, tick_s));

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

  // ---- Alarms: one for each alarm contact, then those of the panel and of the motors.
  const alarms: Alarm[] = [];
  const raise = (tag: string, text: string, delay_ticks: number, active: Alarm['active']) =>
    alarms.push({ tag, text, delay_ticks, active });
  const delay = panel.alarmDelay_ticks;
  contacts.forEach((c, j) => {
    const text = alarmWords[c.role];
    if (text !== undefined) raise(alarmTag(c.tag), text, delay, (y) => y[s.made + j] === 1);
  });
  raise('JAL', 'mains lost', delay, (y) => y[s.mains] === 0);
  if (plant.filterAlarm_Pa > 0) raise('PDAH-filter', 'return filter blocked', delay, (y) => y[s.filterHigh] === 1);
  if (compressors.length > 0) {
    raise('KA-held-off', 'compressor held off', panel.heldOff_ticks, (y) => wantsAir(y) && y[s.permissive] === 0);
  }
  motors.forEach(({ tag }, m) => {
    raise(`${tag}-failed`, `${tag} failed to start`, 0, (y) => y[s.failed + m] === 1);
    raise(`${tag}-overload`, `${tag} tripped by overload`, 0, (y) => y[s.tripped + m] === 1);
    raise(`${tag}-not-auto`, `${tag} not in auto`, delay, (y) => y[s.selector + m] !== Selector.auto);
    if (motors[m].allowedStarts !== undefined) {
      raise(`${tag}-starts`, `${tag} starts too often`, 0, (y) => y[s.startTooMany + m] >= 0);
    }
    raise(`${tag}-long-run`, `${tag} runs long`, 0, (y) => y[s.longRun + m] === 1);
  });

  // ---- Slots
  const many = (count: number, name: (i: number) => string, unit: string, min: number, max: number): number => {
    const first = layout.size();
    for (let i = 0; i < count; i++) layout.discrete(name(i), unit, min, max);
    return first;
  };
  const bit = (name: string) => layout.discrete(name, 'bit', 0, 1);
  const perContact = (name: string, unit: string, min: number, max: number) =>
    many(contacts.length, (i) => `${contacts[i].tag}.${name}`, unit, min, max);
  const perMotor = (name: string, unit: string, min: number, max: number) =>
    many(nMotors, (i) => `${motors[i].tag}.${name}`, unit, min, max);
  const perAlarm = (name: string, unit: string, min: number, max: number) =>
    many(alarms.length, (i) => `${alarms[i].tag}.${name}`, unit, min, max);
  const startsFrom: number[] = [];
  const lastStarts = (): number => {
    const first = layout.size();
    for (const { tag, allowedStarts } of motors) {
      startsFrom.push(layout.size());
      if (allowedStarts === undefined) continue;
      for (let k = 0; k <= allowedStarts; k++) layout.discrete(`${tag}.start.${k}`, 'tick', -LARGE, LARGE);
    }
    return first;
  };
  const s: PanelSlots = {
    mains: bit('mains'),
    control: bit('controlPower'),
    controlEnds: layout.discrete('controlPower.ends', 'tick', -1, LARGE),
    backSince: layout.discrete('mains.backSince', 'tick', -1, LARGE),
    awake: bit('panel.awake'),
    raw: perContact('raw', 'bit', 0, 1),
    circuit: perContact('circuit', '0 sound 1 broken 2 bridged', 0, 2),
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
    rampTick: perMotor('rampTick', 'tick', -LARGE, LARGE),
    comingUp: perMotor('comingUp', 'bit', 0, 1),
    stoppedTick: perMotor('stoppedTick', 'tick', -LARGE, LARGE),
    heatAt: perMotor('relayHeatAt', 's', 0, Infinity),
    relayTripped: perMotor('relayTripped', 'bit', 0, 1),
    riseTo: perMotor('riseTo', 'm3 or Pa', -Infinity, Infinity),
    startTooMany: perMotor('startTooMany', 'tick', -1, LARGE),
    lastStarts: lastStarts(),
    proven: perMotor('proven', 'bit', 0, 1),
    unprovenSince: perMotor('unprovenSince', 'tick', -1, LARGE),
    failed: perMotor('failed', 'bit', 0, 1),
    tripped: perMotor('tripped', 'bit', 0, 1),
    blocked: perMotor('startBlocked', 'bit', 0, 1),
    starts: perMotor('starts', '1', 0, LARGE),
    runTicks: perMotor('runTicks', 'tick', 0, LARGE),
    dutyTicks: perMotor('dutyTicks', 'tick', 0, LARGE),
    longRun: perMotor('longRun', 'bit', 0, 1),
    loaded: many(compressors.length, (i) => `${compressors[i].tag}.loaded`, 'bit', 0, 1),
    alarmSince: perAlarm('since', 'tick', -1, LARGE),
    alarmClearSince: perAlarm('clearSince', 'tick', -1, LARGE),
    alarmRaised: perAlarm('raised', 'tick', -1, LARGE),
    alarmState: perAlarm('state', '0 normal 1 new 2 known 3 returned', 0, 3),
    filterHigh: bit('filter.high'),
  };
  const pumpKind: Kind = { first: 0, count: nPumps, duty: s.dutyPump };
  const airKind: Kind = { first: nPumps, count: compressors.length, duty: s.dutyCompressor };

  // What the scan under way has changed so far.
  let change: Change = NOTHING;
  function note(kind: Change): void {
    if (kind > change) change = kind;
  }
  function setBit(y: Float64Array, slot: number, on: boolean): void {
    const value = on ? 1 : 0;
    if (y[slot] === value) return;
    y[slot] = value;
    note(LOGIC);
  }

  const made = (y: Float64Array, contact: number) => contact >= 0 && y[s.made + contact] === 1;
  const normal = (y: Float64Array) => at.normal < 0 || made(y, at.normal);
  const wantsAir = (y: Float64Array) => y[s.mains] === 1 && (made(y, at.cutIn) || made(y, at.standbyCutIn));

  // ---- Contacts are devices in the field: they move whether or not the panel is alive.
  function readContacts(
    y: Float64Array,
    tick: number,
    emit: Emit,
    reads: (y: Float64Array, contact: number) => boolean,
  ): void {
    for (let j = 0; j < contacts.length; j++) {
      const condition = reads(y, j);
      setBit(y, s.raw + j, condition);
      const says = contactSays(contacts[j].role, condition, y[s.circuit + j]);
      if (!says) y[s.rawSince + j] = -1;
      else if (y[s.rawSince + j] < 0) y[s.rawSince + j] = tick;
      const through = says && (y[s.made + j] === 1 || tick - y[s.rawSince + j] >= contactDelay[j]);
      if (through === (y[s.made + j] === 1)) continue;
      setBit(y, s.made + j, through);
      emit(through ? EventCode.contactMade : EventCode.contactReset, j, 0, 0);
    }
  }

  // ---- Motors
  function available(y: Float64Array, m: number): boolean {
    return y[s.selector + m] === Selector.auto && y[s.failed + m] === 0 && y[s.tripped + m] === 0;
  }

  const inTurn = (y: Float64Array, kind: Kind, k: number) => kind.first + ((y[kind.duty] + k) % kind.count);

  function stopMotor(y: Float64Array, m: number, tick: number, emit: Emit, time_s = tick * tick_s): void {
    if (y[s.running + m] === 1) {
      y[s.stoppedTick + m] = tick;
      y[s.heatAt + m] = time_s;
      // Of a machine that was found running only the time since then is known.
      const found = y[s.startTick + m] < 0;
      const ticks = tick - (found ? 0 : y[s.startTick + m]);
      y[s.runTicks + m] += ticks;
      y[s.dutyTicks + m] += ticks;
      y[s.running + m] = 0;
      y[s.comingUp + m] = 0;
      emit(EventCode.motorStopped, m, found ? Infinity : ticks * tick_s, 0);
    }
    if (motors[m].proof !== Proof.flow) y[s.proven + m] = 0;
  }

  function comeUp(y: Float64Array, tick: number): boolean {
    let any = false;
    for (let m = 0; m < nMotors; m++) {
      if (y[s.comingUp + m] === 0 || tick - y[s.rampTick + m] < runUp[m]) continue;
      y[s.comingUp + m] = 0;
      any = true;
    }
    return any;
  }

  /** Heat in the overload relay at a tick. */
  function heatNow(y: Float64Array, m: number, tick: number): number {
    const heat = y[relayHeat + m];
    return y[s.running + m] === 1 ? heat : cooled(motors[m].overload, heat, tick * tick_s - y[s.heatAt + m]);
  }

  const isHot = (y: Float64Array, m: number, tick: number) => heatNow(y, m, tick) > motors[m].overload.resetHeat;

  /** Tick at which a relay that tripped has cooled far enough to be reset. */
  function coolAt(y: Float64Array, m: number): number {
    const { tau_s, resetHeat } = motors[m].overload;
    return Math.ceil((y[s.heatAt + m] + tau_s * Math.log(y[relayHeat + m] / resetHeat)) / tick_s);
  }

  /** Relays that reset by themselves do so when they have cooled, control power or not. */
  function coolRelays(y: Float64Array, tick: number, emit: Emit): void {
    for (let m = 0; m < nMotors; m++) {
      if (y[s.relayTripped + m] === 0 || !motors[m].overload.automatic || tick < coolAt(y, m)) continue;
      y[s.relayTripped + m] = 0;
      setBit(y, s.tripped + m, false);
      emit(EventCode.resetDone, m, 0, 0);
    }
  }

  function noteStart(y: Float64Array, m: number, tick: number): void {
    y[relayHeat + m] = heatNow(y, m, tick);
    y[s.running + m] = 1;
    y[s.startTick + m] = tick;
    y[s.rampTick + m] = tick;
    y[s.comingUp + m] = runUp[m] > 0 ? 1 : 0;
    y[s.starts + m]++;
    const allowed = motors[m].allowedStarts ?? 0;
    for (let k = allowed; k > 0; k--) y[startsFrom[m] + k] = y[startsFrom[m] + k - 1];
    if (allowed === 0) return;
    y[startsFrom[m]] = tick;
    if (tick - y[startsFrom[m] + allowed] >= hour) return;
    y[s.startTooMany + m] = tick;
    note(LOGIC);
  }

  function dropCommand(y: Float64Array, m: number): void {
    y[s.commanded + m] = 0;
    y[s.commandedSince + m] = -1;
    y[s.unprovenSince + m] = -1;
    y[s.longRun + m] = 0;
  }

  function timeProof(y: Float64Array, m: number, tick: number): void {
    if (y[s.commanded + m] === 0 || y[s.proven + m] === 1) y[s.unprovenSince + m] = -1;
    else if (y[s.unprovenSince + m] < 0) y[s.unprovenSince + m] = tick;
  }

  /** Latches what time makes of a commanded machine: failed, or running long. */
  function watchMotors(
    y: Float64Array,
    tick: number,
    emit: Emit,
    rose: (y: Float64Array, motor: number) => boolean,
  ): void {
    for (let m = 0; m < nMotors; m++) {
      // Starts that come a little faster than allowed leave the count at the limit now and then: that ends nothing.
      if (y[s.startTooMany + m] >= 0 && tick - y[s.startTooMany + m] >= hour) {
        y[s.startTooMany + m] = -1;
        note(LOGIC);
      }
      if (y[s.commanded + m] === 0) continue;
      if (motors[m].proof === Proof.rise && y[s.running + m] === 1 && y[s.proven + m] === 0 && rose(y, m)) {
        setBit(y, s.proven + m, true);
        emit(EventCode.riseProven, m, 0, 0);
      }
      timeProof(y, m, tick);
      const unproven = y[s.unprovenSince + m];
      if (unproven >= 0 && tick - unproven >= motors[m].proven_ticks && y[s.failed + m] === 0) {
        setBit(y, s.failed + m, true);
        emit(EventCode.motorFailed, m, 0, 0);
      }
      if (panel.longestRun_ticks > 0 && tick - y[s.commandedSince + m] >= panel.longestRun_ticks) {
        setBit(y, s.longRun + m, true);
      }
    }
  }

  function drive(y: Float64Array, m: number, wanted: boolean, reason: number, tick: number, emit: Emit): void {
    if (wanted && y[s.commanded + m] === 0) {
      y[s.commanded + m] = 1;
      y[s.commandedSince + m] = tick;
      emit(EventCode.motorCommanded, m, reason, 0);
      note(LOGIC);
    } else if (!wanted && y[s.commanded + m] === 1) {
      dropCommand(y, m);
      note(LOGIC);
    }
    if (wanted && y[s.running + m] === 0 && y[s.blocked + m] === 0) {
      noteStart(y, m, tick);
      emit(EventCode.motorStarted, m, 0, 0);
      note(PHYSICS);
    } else if (!wanted && y[s.running + m] === 1) {
      stopMotor(y, m, tick, emit);
      note(PHYSICS);
    }
    if (motors[m].proof === Proof.contact) y[s.proven + m] = y[s.running + m];
    timeProof(y, m, tick);
  }

  const chosen = new Uint8Array(nMotors);
  const reasons = new Uint8Array(nMotors);

  /**
   * Commands the machines of one kind: `wanted` of those in auto, beside them those in hand. `callReason` is why the
   * duty runs, `secondReason` why a second one does; with `mayFinish` a machine that is no longer called runs out its least
   * time.
   */
  function serve(
    y: Float64Array,
    tick: number,
    emit: Emit,
    kind: Kind,
    wanted: number,
    callReason: number,
    secondReason: number,
    mayFinish: boolean,
  ): void {
    chosen.fill(0);
    let left = wanted;
    // Machines that run keep their place; then the others in turn.
    for (let pass = 0; pass < 2; pass++) {
      for (let k = 0; k < kind.count && left > 0; k++) {
        const m = inTurn(y, kind, k);
        if (chosen[m] === 1 || !available(y, m) || (pass === 0 && y[s.commanded + m] === 0)) continue;
        reasons[m] = left < wanted ? secondReason : k === 0 ? callReason : whyPassedOver(y, inTurn(y, kind, 0));
        chosen[m] = 1;
        left--;
      }
    }
    const handAllowed = y[s.mains] === 1 && !made(y, at.highHigh) && !made(y, at.highHighPressure) && !made(y, at.high);
    for (let m = kind.first; m < kind.first + kind.count; m++) {
      const hand = y[s.selector + m] === Selector.hand && handAllowed && y[s.tripped + m] === 0;
      // A machine that is to wait after the mains came back keeps its turn meanwhile.
      const { restart_ticks, leastOff_ticks, leastRun_ticks } = motors[m];
      const stands = y[s.running + m] === 0;
      const waits =
        (y[s.backSince] >= 0 && tick - y[s.backSince] < restart_ticks) ||
        (stands && tick - y[s.stoppedTick + m] < leastOff_ticks);
      const finishes = mayFinish && !stands && available(y, m) && tick - y[s.startTick + m] < leastRun_ticks;
      drive(y, m, (chosen[m] === 1 || hand || finishes) && !waits, hand ? StartReason.hand : reasons[m], tick, emit);
    }
  }

  function whyPassedOver(y: Float64Array, m: number): number {
    if (y[s.selector + m] !== Selector.auto) return StartReason.standbyNotAuto;
    return y[s.tripped + m] === 1 ? StartReason.standbyTripped : StartReason.standbyNotProven;
  }

  /** The first machine that is available, counted from the k-th in turn; -1 when there is none. */
  function firstAvailable(y: Float64Array, kind: Kind, from: number): number {
    for (let k = from; k < from + kind.count; k++) {
      const m = inTurn(y, kind, k);
      if (available(y, m)) return m;
    }
    return -1;
  }

  /** The machine that served a call: the first in turn that is commanded in auto, else the first that would have been. */
  function leader(y: Float64Array, kind: Kind): number {
    for (let k = 0; k < kind.count; k++) {
      const m = inTurn(y, kind, k);
      if (y[s.commanded + m] === 1 && y[s.selector + m] === Selector.auto) return m;
    }
    return firstAvailable(y, kind, 0);
  }

  /** Moves the duty on from the machine that served a call when that ends. */
  function alternate(y: Float64Array, emit: Emit, kind: Kind, served: number): void {
    if (served < 0 || panel.alternation === 'fixed') return;
    if (panel.alternation === 'by hours' && y[s.dutyTicks + served] < panel.alternate_ticks) return;
    const next = firstAvailable(y, kind, served - kind.first - y[kind.duty] + kind.count + 1);
    if (next < 0) return;
    y[s.dutyTicks + next] = 0;
    note(LOGIC);
    if (next === kind.first + y[kind.duty]) return;
    y[kind.duty] = next - kind.first;
    emit(EventCode.dutyChanged, next, 0, 0);
  }

  function runsLong(y: Float64Array, kind: Kind): boolean {
    for (let m = kind.first; m < kind.first + kind.count; m++) {
      // One that has failed or tripped meanwhile is about to be dropped, and its long run with it.
      if (y[s.longRun + m] === 1 && available(y, m)) return true;
    }
    return false;
  }

  // ---- Logic
  /** The first look after the mains came back. Returns whether it was that. */
  function wake(y: Float64Array): boolean {
    if (y[s.awake] === 1) return false;
    setBit(y, s.awake, true);
    setBit(y, s.normalSeen, normal(y));
    setBit(y, s.recovery, nPumps > 0 && y[s.mains] === 1 && !normal(y));
    return true;
  }

  /** Returns whether a call begins. */
  function callPumps(y: Float64Array, tick: number, emit: Emit): boolean {
    const mains = y[s.mains] === 1;
    const stop = made(y, at.stop);
    if (stop) setBit(y, s.recovery, false);
    let start = made(y, at.dutyStart);
    let standbyStart = made(y, at.standbyStart);
    if (!panel.wideDeadband) {
      start = mains && !stop && (start || y[s.sealDuty] === 1);
      standbyStart = mains && !stop && (standbyStart || y[s.sealStandby] === 1);
      setBit(y, s.sealDuty, start);
      setBit(y, s.sealStandby, standbyStart);
    }
    const called = mains && (start || standbyStart || y[s.recovery] === 1);
    const begins = called && y[s.pumpCalled] === 0;
    const ends = !called && y[s.pumpCalled] === 1;
    setBit(y, s.pumpCalled, called);
    const heldOff = made(y, at.highHigh) || made(y, at.highHighPressure);
    const second = standbyStart ? StartReason.standbyStep : runsLong(y, pumpKind) ? StartReason.standbyLongRun : 0;
    const wanted = !called || heldOff ? 0 : second > 0 ? 2 : 1;
    const served = leader(y, pumpKind);
    const reason = start || standbyStart ? StartReason.duty : StartReason.recovery;
    serve(y, tick, emit, pumpKind, wanted, reason, second, mains && !heldOff);
    if (ends) alternate(y, emit, pumpKind, served);
    return begins;
  }

  function movePermissive(y: Float64Array, emit: Emit, woke: boolean, callBegins: boolean): void {
    const level = normal(y);
    const rises = level && y[s.normalSeen] === 0;
    setBit(y, s.normalSeen, level);
    const before = y[s.permissive] === 1;
    let allowed = before;
    if (woke) allowed = level;
    else if (callBegins) allowed = false;
    else if (rises || (level && y[s.pumpCalled] === 0)) allowed = true;
    if (allowed === before) return;
    setBit(y, s.permissive, allowed);
    emit(allowed ? EventCode.permissiveSet : EventCode.permissiveCleared, 0, 0, 0);
  }

  function callCompressors(y: Float64Array, tick: number, emit: Emit): void {
    const wants = wantsAir(y);
    const allowed = wants && y[s.permissive] === 1;
    // A call that the level interrupts has not ended: the duty changes over only at the cut-out.
    const ends = !wants && y[s.compressorCalled] === 1;
    setBit(y, s.compressorCalled, allowed || (wants && y[s.compressorCalled] === 1));
    const second = made(y, at.standbyCutIn)
      ? StartReason.standbyStep
      : runsLong(y, airKind)
        ? StartReason.standbyLongRun
        : 0;
    const heldOff = made(y, at.highHighPressure) || made(y, at.high);
    const wanted = !allowed || made(y, at.highHighPressure) ? 0 : second > 0 ? 2 : 1;
    const served = leader(y, airKind);
    const mayFinish = y[s.mains] === 1 && y[s.permissive] === 1 && !heldOff;
    serve(y, tick, emit, airKind, wanted, StartReason.duty, second, mayFinish);
    if (ends) alternate(y, emit, airKind, served);
    for (let j = 0; j < compressors.length; j++) {
      const m = nPumps + j;
      const loaded = y[s.running + m] === 1 && tick - y[s.startTick + m] >= unloaded[j];
      if (loaded === (y[s.loaded + j] === 1)) continue;
      y[s.loaded + j] = loaded ? 1 : 0;
      note(PHYSICS);
    }
  }

  const isAgain = (y: Float64Array, k: number, tick: number) =>
    panel.alarmAgain_ticks > 0 && tick - y[s.alarmRaised + k] >= panel.alarmAgain_ticks;

  function runAlarms(y: Float64Array, tick: number, emit: Emit): void {
    for (let k = 0; k < alarms.length; k++) {
      const state = y[s.alarmState + k];
      const stands = state === AlarmState.unacknowledged || state === AlarmState.acknowledged;
      if (alarms[k].active(y)) {
        y[s.alarmClearSince + k] = -1;
        if (y[s.alarmSince + k] < 0) y[s.alarmSince + k] = tick;
        if (stands ? !isAgain(y, k, tick) : tick - y[s.alarmSince + k] < alarms[k].delay_ticks) continue;
        y[s.alarmState + k] = AlarmState.unacknowledged;
        y[s.alarmRaised + k] = tick;
        emit(EventCode.alarmRaised, k, stands ? 1 : 0, 0);
        continue;
      }
      y[s.alarmSince + k] = -1;
      if (!stands) continue;
      if (y[s.alarmClearSince + k] < 0) y[s.alarmClearSince + k] = tick;
      if (tick - y[s.alarmClearSince + k] < panel.alarmOffDelay_ticks) continue;
      y[s.alarmClearSince + k] = -1;
      const kept = panel.alarmsLatch && state === AlarmState.unacknowledged;
      y[s.alarmState + k] = kept ? AlarmState.returnedUnacknowledged : AlarmState.normal;
      emit(EventCode.alarmCleared, k, kept ? 1 : 0, 0);
    }
  }

  /** What falls out when the mains go: seals, calls and commands. */
  function dropCalls(y: Float64Array): void {
    y[s.sealDuty] = 0;
    y[s.sealStandby] = 0;
    y[s.recovery] = 0;
    y[s.pumpCalled] = 0;
    y[s.compressorCalled] = 0;
    for (let m = 0; m < nMotors; m++) dropCommand(y, m);
  }

  /** What falls out when control power goes too: every electrical latch, and the alarms with their timers. */
  function forget(y: Float64Array, emit: Emit): void {
    setBit(y, s.awake, false);
    y[s.permissive] = 0;
    for (let m = 0; m < nMotors; m++) y[s.failed + m] = 0;
    for (let k = 0; k < alarms.length; k++) {
      if (y[s.alarmState + k] !== AlarmState.normal) emit(EventCode.alarmCleared, k, 0, 0);
      y[s.alarmState + k] = AlarmState.normal;
      y[s.alarmSince + k] = -1;
      y[s.alarmClearSince + k] = -1;
    }
  }

  return {
    slots: s,
    alarms,

    scan(y, tick, emit, reads, rose) {
      change = NOTHING;
      readContacts(y, tick, emit, reads);
      coolRelays(y, tick, emit);
      if (y[s.control] === 0) {
        forget(y, emit);
        return change;
      }
      const woke = wake(y);
      watchMotors(y, tick, emit, rose);
      const callBegins = callPumps(y, tick, emit);
      if (compressors.length > 0) {
        movePermissive(y, emit, woke, callBegins);
        callCompressors(y, tick, emit);
      }
      runAlarms(y, tick, emit);
      return change;
    },

    mainsLost(y, tick, emit) {
      y[s.mains] = 0;
      y[s.backSince] = -1;
      y[s.controlEnds] = tick + plant.power.controlHeld_ticks;
      for (let m = 0; m < nMotors; m++) stopMotor(y, m, tick, emit);
      dropCalls(y);
    },

    mainsBack(y, tick) {
      y[s.mains] = 1;
      y[s.controlEnds] = -1;
      y[s.control] = 1;
      y[s.awake] = 0;
      // The panel notices at its first scan from here.
      y[s.backSince] = Math.ceil(tick / scanTicks) * scanTicks;
    },

    comeUp,
    stopMotor,

    resetMotor(y, m, tick, emit) {
      y[s.failed + m] = 0;
      if (y[s.relayTripped + m] === 1 && isHot(y, m, tick)) {
        emit(EventCode.resetRefused, m, coolAt(y, m) * tick_s, 0);
        return;
      }
      y[s.relayTripped + m] = 0;
      y[s.tripped + m] = 0;
      emit(EventCode.resetDone, m, 0, 0);
    },

    nextDue(y, tick, earliest) {
      let due = earliest;
      for (let j = 0; j < contacts.length; j++) {
        if (y[s.made + j] === 0) due = sooner(due, tick, y[s.rawSince + j], contactDelay[j], scanTicks);
      }
      for (let m = 0; m < nMotors; m++) {
        due = sooner(due, tick, y[s.backSince], motors[m].restart_ticks, scanTicks);
        if (y[s.failed + m] === 0) due = sooner(due, tick, y[s.unprovenSince + m], motors[m].proven_ticks, scanTicks);
        if (panel.longestRun_ticks > 0 && y[s.longRun + m] === 0) {
          due = sooner(due, tick, y[s.commandedSince + m], panel.longestRun_ticks, scanTicks);
        }
        const { overload, leastOff_ticks, leastRun_ticks } = motors[m];
        if (y[s.running + m] === 1) {
          // The end of a run-up is a kink in the flow; the step ends there, scan or not.
          due = sooner(due, tick, y[s.rampTick + m], runUp[m], 1);
          if (leastRun_ticks > 0) due = sooner(due, tick, y[s.startTick + m], leastRun_ticks, scanTicks);
        } else if (leastOff_ticks > 0) due = sooner(due, tick, y[s.stoppedTick + m], leastOff_ticks, scanTicks);
        due = sooner(due, tick, y[s.startTooMany + m], hour, scanTicks);
        if (y[s.relayTripped + m] === 1 && overload.automatic) due = sooner(due, tick, coolAt(y, m), 0, scanTicks);
      }
      for (let j = 0; j < compressors.length; j++) {
        const m = nPumps + j;
        if (y[s.running + m] === 1 && y[s.loaded + j] === 0) {
          due = sooner(due, tick, y[s.startTick + m], unloaded[j], scanTicks);
        }
      }
      for (let k = 0; k < alarms.length; k++) {
        const state = y[s.alarmState + k];
        if (state === AlarmState.normal || state === AlarmState.returnedUnacknowledged) {
          due = sooner(due, tick, y[s.alarmSince + k], alarms[k].delay_ticks, scanTicks);
        } else if (panel.alarmAgain_ticks > 0)
          due = sooner(due, tick, y[s.alarmRaised + k], panel.alarmAgain_ticks, scanTicks);
        due = sooner(due, tick, y[s.alarmClearSince + k], panel.alarmOffDelay_ticks, scanTicks);
      }
      return sooner(due, tick, y[s.controlEnds], 0, 1);
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
