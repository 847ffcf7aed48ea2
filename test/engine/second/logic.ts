/**
 * The panel and the trip of the second solution: the duty scheme of pumps and compressors on level and pressure, loss and
 * return of the mains, the trip of the valves and what their pilots do when control power dies. Only machines in auto, no
 * failures, no alarms. Nothing of the program is imported.
 */
import { type Case, type Direction, LEVEL_DEADBAND_m } from './case.ts';
import type { Discrete, Physics } from './physics.ts';

export interface Host {
  /** Gives a valve a direction, or none at all; `stroke` counts the trip strokes, 0 for anything else. */
  command(valve: number, direction: Direction | undefined, stroke: number): void;
  note(kind: 'starts' | 'stops', tag: string): void;
  /** Asks for a scan at or after a tick, for a stop at a time. */
  scanFrom(tick: number): void;
  stopAt(time: number): void;
}

export interface Logic {
  /** Oil volumes and pressures at which some contact changes, by name. */
  readonly volumes: Readonly<Record<string, number>>;
  readonly pressures: Readonly<Record<string, number>>;
  readonly mains: () => boolean;
  loseMains(tick: number): void;
  restoreMains(tick: number): void;
  loseControl(): void;
  scan(tick: number, oil: number, pressure: number): void;
}

export function createLogic(c: Case, ph: Physics, d: Discrete, host: Host): Logic {
  const ticksOf = (s: number) => Math.ceil(s / c.tick_s - 1e-9);
  const runs = (machines: readonly { tag: string }[]) => machines.some((m) => c.start.running.includes(m.tag));
  const firstRunning = (machines: readonly { tag: string }[]) =>
    Math.max(
      0,
      machines.findIndex((m) => c.start.running.includes(m.tag)),
    );

  const volumes = {
    standbyStart: ph.volumeAt(c.level.standbyStart),
    dutyStart: ph.volumeAt(c.level.dutyStart),
    normal: ph.volumeAt(c.level.normal),
    normalReset: ph.volumeAt(c.level.normal - LEVEL_DEADBAND_m),
    stop: ph.volumeAt(c.level.stop),
    stopReset: ph.volumeAt(c.level.stop - LEVEL_DEADBAND_m),
  };
  const { standbyCutIn, cutIn, cutOut } = c.pressure;
  const p0 = c.start.pressure;
  const made = {
    // Between trip and reset a start contact shows what came before: a running machine was called by it.
    dutyStart: c.start.oil <= volumes.dutyStart || (c.start.oil < volumes.stop && runs(c.pumps)),
    standbyStart: c.start.oil <= volumes.standbyStart,
    normal: c.start.oil >= volumes.normal,
    stop: c.start.oil >= volumes.stop,
    cutIn: p0 <= cutIn || (p0 < cutOut && runs(c.compressors)),
    standbyCutIn: p0 <= standbyCutIn,
  };
  let mains = true;
  let control = true;
  let controlSeen = true;
  let woke = false;
  let backAt = -1;
  let recovery = false;
  let permissive = c.start.compressorsAllowed;
  let normalSeen = made.normal;
  let pumpCalled = runs(c.pumps);
  let airCalled = runs(c.compressors);
  let pumpDuty = firstRunning(c.pumps);
  let airDuty = firstRunning(c.compressors);

  let lostSeen = -1;
  const tripped = c.valves.map(() => -1);
  const issued = c.valves.map(() => 0);
  const pauseSince = c.valves.map(() => -1);
  const sequenceLost = c.valves.map(() => false);
  let undervoltage = false;

  function readContacts(oil: number, pressure: number): void {
    const low = (was: boolean, value: number, trip: number, reset: number) => (was ? value < reset : value <= trip);
    const high = (was: boolean, value: number, trip: number, reset: number) => (was ? value > reset : value >= trip);
    made.dutyStart = low(made.dutyStart, oil, volumes.dutyStart, volumes.stop);
    made.standbyStart = low(made.standbyStart, oil, volumes.standbyStart, volumes.stop);
    made.normal = high(made.normal, oil, volumes.normal, volumes.normalReset);
    made.stop = high(made.stop, oil, volumes.stop, volumes.stopReset);
    made.cutIn = low(made.cutIn, pressure, cutIn, cutOut);
    made.standbyCutIn = low(made.standbyCutIn, pressure, standbyCutIn, cutOut);
  }

  function stop(starts: (number | undefined)[], machines: readonly { tag: string }[], j: number): void {
    if (starts[j] === undefined) return;
    starts[j] = undefined;
    host.note('stops', machines[j].tag);
  }

  /** Runs the first `wanted` machines in order of duty. */
  function serve(
    starts: (number | undefined)[],
    machines: Case['pumps'] | Case['compressors'],
    duty: number,
    wanted: number,
    tick: number,
  ): void {
    for (let k = 0; k < machines.length; k++) {
      const j = (duty + k) % machines.length;
      const m = machines[j];
      if (k >= wanted) stop(starts, machines, j);
      else if (starts[j] === undefined && !(backAt >= 0 && tick - backAt < ticksOf(m.restartDelay_s))) {
        starts[j] = tick * c.tick_s;
        host.note('starts', m.tag);
        host.stopAt(tick * c.tick_s + m.runUp_s);
        if ('unloaded_s' in m) host.scanFrom(tick + ticksOf(m.unloaded_s));
      }
    }
  }

  function runPanel(tick: number): void {
    if (woke) {
      normalSeen = made.normal;
      recovery = !made.normal && c.pumps.length > 0;
    }
    if (made.stop || !mains) recovery = false;
    const pumpCall = c.pumps.length > 0 && mains && (made.dutyStart || made.standbyStart || recovery);
    const begins = pumpCall && !pumpCalled;
    const ends = !pumpCall && pumpCalled;
    pumpCalled = pumpCall;
    serve(d.pumpStart, c.pumps, pumpDuty, pumpCall ? (made.standbyStart ? 2 : 1) : 0, tick);
    if (ends && mains) pumpDuty = (pumpDuty + 1) % c.pumps.length;
    if (c.compressors.length === 0) {
      woke = false;
      return;
    }
    // When the mains come back the latch follows the level, whatever else happens in that scan.
    if (woke) permissive = made.normal;
    else if (begins) permissive = false;
    else if (made.normal && (!normalSeen || !pumpCall)) permissive = true;
    normalSeen = made.normal;
    woke = false;
    const wants = mains && (made.cutIn || made.standbyCutIn);
    const call = wants && permissive;
    const airEnds = !wants && airCalled && mains;
    airCalled = call || (wants && airCalled);
    serve(d.airStart, c.compressors, airDuty, call ? (made.standbyCutIn ? 2 : 1) : 0, tick);
    if (airEnds) airDuty = (airDuty + 1) % c.compressors.length;
    // The panel loads a compressor at the first scan at which its time is up.
    c.compressors.forEach((k, j) => {
      const since = d.airStart[j];
      d.loaded[j] = since !== undefined && tick * c.tick_s - since >= k.unloaded_s - 1e-9;
    });
  }

  function runTrip(tick: number): void {
    if (!mains && lostSeen < 0) lostSeen = tick;
    if (mains) lostSeen = -1;
    if (lostSeen >= 0 && !undervoltage && control) {
      if (tick - lostSeen >= ticksOf(c.undervoltage_s)) undervoltage = true;
      else host.scanFrom(lostSeen + ticksOf(c.undervoltage_s));
    }
    const dies = controlSeen && !control;
    controlSeen = control;
    c.valves.forEach((v, i) => {
      const signal = v.tripsBy === 'mains' ? undervoltage : !control;
      if (signal && tripped[i] < 0) tripped[i] = tick;
      if (dies) {
        pilotFalls(i);
        return;
      }
      if (!control || tripped[i] < 0 || sequenceLost[i]) return;
      if (issued[i] === 0) {
        if (tick < tripped[i] + ticksOf(v.delay_s)) host.scanFrom(tripped[i] + ticksOf(v.delay_s));
        else begin(i, tick);
      } else if (issued[i] < v.strokes.length && d.valves[i].doing === 'end') {
        if (pauseSince[i] < 0) pauseSince[i] = tick;
        if (tick < pauseSince[i] + ticksOf(v.pause_s)) host.scanFrom(pauseSince[i] + ticksOf(v.pause_s));
        else begin(i, tick);
      }
    });
  }

  function begin(i: number, tick: number): void {
    pauseSince[i] = -1;
    issued[i]++;
    host.command(i, c.valves[i].strokes[issued[i] - 1], issued[i]);
    if (d.valves[i].doing === 'end') host.scanFrom(tick + 1);
  }

  /** A spring-offset pilot goes to the direction of the first stroke, a detented one stays, a spring-centred one blocks. */
  function pilotFalls(i: number): void {
    const v = c.valves[i];
    const offset = v.strokes[0];
    if (v.pilot === 'spring offset') {
      const turns = d.valves[i].direction !== offset;
      if (v.strokes[issued[i]] === offset && (issued[i] === 0 || turns)) {
        issued[i]++;
        host.command(i, offset, issued[i]);
      } else if (turns) host.command(i, offset, 0);
    } else if (v.pilot === 'spring centred' && d.valves[i].direction !== undefined) host.command(i, undefined, 0);
    sequenceLost[i] = true;
  }

  return {
    volumes,
    pressures: { ...c.pressure },
    mains: () => mains,
    loseMains() {
      mains = false;
      backAt = -1;
      pumpCalled = false;
      airCalled = false;
      for (let j = 0; j < c.pumps.length; j++) stop(d.pumpStart, c.pumps, j);
      for (let j = 0; j < c.compressors.length; j++) stop(d.airStart, c.compressors, j);
    },
    restoreMains(tick) {
      mains = true;
      woke = true;
      backAt = Math.ceil(tick / c.scanTicks) * c.scanTicks;
      for (const m of [...c.pumps, ...c.compressors]) host.scanFrom(backAt + ticksOf(m.restartDelay_s));
    },
    loseControl() {
      control = false;
    },
    scan(tick, oil, pressure) {
      readContacts(oil, pressure);
      if (control) runPanel(tick);
      runTrip(tick);
    },
  };
}
