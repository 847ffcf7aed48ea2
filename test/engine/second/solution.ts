/**
 * A whole outage solved a second time: physics.ts by a general ODE library, every discrete change found by bracketing a
 * sign and solving to it, the panel and the trip written again for the few functions the cases use. Nothing of the program
 * is imported.
 */
import { type Case, type Direction, LEVEL_DEADBAND_m } from './case.ts';
import { march, type Rhs, type Step, solve } from './odex.ts';
import { type Discrete, type Physics, physics, S, type Snapshot } from './physics.ts';

export { S };

/**
 * Choices taken over from the program: a piston stops when less than this would be left to drive it if it stood still
 * (its own part of the drop in shared lines to first order), and sets off when so much is left over breakaway.
 */
const STALL_Pa = 1;
const BREAKAWAY_Pa = 10;
const PRIMING_RISE_m = 0.02;

export type Kind =
  | 'sets off'
  | 'rests'
  | 'ends'
  | 'pushed back'
  | 'gas'
  | 'safety opens'
  | 'safety shuts'
  | 'dry'
  | 'primed';
export interface Happening {
  readonly time: number;
  readonly kind: Kind;
  readonly valve: number;
  readonly state: readonly number[];
  readonly pressure: number;
  /** How fast the located quantity moved through its limit, relative to the pressure, 1/s; Infinity at commands. */
  readonly rate: number;
}
export interface Sample {
  readonly time: number;
  readonly state: readonly number[];
  readonly snapshot: Snapshot;
}
/** A trip stroke and the least force margin seen at the instants the solution stood at, a few in every step. */
export interface Stroke {
  readonly valve: number;
  readonly stroke: number;
  leastMargin: number;
}
export interface Answer {
  readonly samples: readonly Sample[];
  readonly strokes: readonly Stroke[];
  readonly happenings: readonly Happening[];
  readonly physics: Physics;
  /** Set where the case leaves what this solution covers; nothing after this time is to be compared. */
  readonly left: { readonly time: number; readonly why: string } | undefined;
}

interface Watch {
  readonly name: string;
  readonly value: (y: readonly number[], s: Snapshot) => number;
  /** Whether any change of sign counts (a bend, a contact) or only a rise through zero. */
  readonly both?: boolean;
  readonly act?: () => void;
}

export function secondSolution(c: Case): Answer {
  const ph = physics(c);
  const { tick_s, scanTicks } = c;
  const nV = c.valves.length;
  const lost = Math.round(c.lostAt_s / tick_s);
  const back = c.backAt_s === undefined ? -1 : Math.round(c.backAt_s / tick_s);
  const end = Math.round(c.duration_s / tick_s);
  const every = Math.round(c.sample_s / tick_s);
  const ticksOf = (s: number) => Math.ceil(s / tick_s - 1e-9);
  const scanAtOrAfter = (tick: number) => Math.ceil(tick / scanTicks) * scanTicks;

  // ---- state
  let y = ph.start();
  let t = 0;
  const d: Discrete = {
    valves: c.valves.map(() => ({ doing: 'idle', direction: undefined })),
    pumpStart: c.pumps.map((p) => (c.start.running.includes(p.tag) ? -1e9 : undefined)),
    airStart: c.compressors.map((k) => (c.start.running.includes(k.tag) ? -1e9 : undefined)),
    loaded: c.compressors.map((k) => c.start.running.includes(k.tag)),
    safetyOpen: false,
    gas: y[S.oil] <= ph.outletVolume,
    dry: c.sump.startLevel <= c.sump.suctionLevel,
  };
  const scale = y.map((x, i) => (i >= S.x ? 1 : Math.abs(x)));
  const rhs: Rhs = (time, state) => ph.at(time, state, d).rate;

  const samples: Sample[] = [];
  const happenings: Happening[] = [];
  const strokes: Stroke[] = [];
  const under = c.valves.map((): Stroke | undefined => undefined);
  let left: Answer['left'];
  const note = (kind: Kind, valve: number, rate: number) => {
    const { pressure } = ph.at(t, y, d);
    happenings.push({ time: t, kind, valve, state: y.slice(), pressure, rate });
  };

  /** Thrust at zero branch flow over what is needed, load and breakaway at rest, load and running friction in motion. */
  function noteMargins(q: readonly number[], s: Snapshot): void {
    under.forEach((stroke, i) => {
      const { doing, direction } = d.valves[i];
      if (stroke === undefined || direction === undefined || (doing !== 'run' && doing !== 'rest')) return;
      const friction = doing === 'run' ? c.valves[i].running : c.valves[i].breakaway;
      const needed = ph.load(i, direction, q[S.x + i]) + friction;
      if (needed > 0) stroke.leastMargin = Math.min(stroke.leastMargin, (s.spare[i] - friction) / needed);
    });
  }

  // ---- panel
  const runs = (tags: readonly { tag: string }[]) => tags.some((m) => c.start.running.includes(m.tag));
  const volume = {
    standbyStart: ph.levelContactVolume(c.level.standbyStart),
    dutyStart: ph.levelContactVolume(c.level.dutyStart),
    normal: ph.levelContactVolume(c.level.normal),
    normalReset: ph.levelContactVolume(c.level.normal - LEVEL_DEADBAND_m),
    stop: ph.levelContactVolume(c.level.stop),
    stopReset: ph.levelContactVolume(c.level.stop - LEVEL_DEADBAND_m),
  };
  const contact = {
    // Between trip and reset a start contact shows what came before: a running pump was called by it.
    dutyStart: y[S.oil] <= volume.dutyStart || (y[S.oil] < volume.stop && runs(c.pumps)),
    standbyStart: y[S.oil] <= volume.standbyStart,
    normal: y[S.oil] >= volume.normal,
    stop: y[S.oil] >= volume.stop,
    cutIn: c.start.pressure <= c.pressure.cutIn || (c.start.pressure < c.pressure.cutOut && runs(c.compressors)),
    standbyCutIn: c.start.pressure <= c.pressure.standbyCutIn,
  };
  const first = (tags: readonly { tag: string }[]) =>
    Math.max(
      0,
      tags.findIndex((m) => c.start.running.includes(m.tag)),
    );
  const panel = {
    mains: true,
    awake: true,
    recovery: false,
    permissive: c.start.compressorsAllowed,
    normalSeen: contact.normal,
    pumpCalled: runs(c.pumps),
    airCalled: runs(c.compressors),
    pumpDuty: first(c.pumps),
    airDuty: first(c.compressors),
    backAt: -1,
  };

  function readContacts(): void {
    const { pressure } = ph.at(t, y, d);
    const V = y[S.oil];
    const low = (made: boolean, value: number, trip: number, reset: number) => (made ? value < reset : value <= trip);
    const high = (made: boolean, value: number, trip: number, reset: number) => (made ? value > reset : value >= trip);
    contact.dutyStart = low(contact.dutyStart, V, volume.dutyStart, volume.stop);
    contact.standbyStart = low(contact.standbyStart, V, volume.standbyStart, volume.stop);
    contact.normal = high(contact.normal, V, volume.normal, volume.normalReset);
    contact.stop = high(contact.stop, V, volume.stop, volume.stopReset);
    contact.cutIn = low(contact.cutIn, pressure, c.pressure.cutIn, c.pressure.cutOut);
    contact.standbyCutIn = low(contact.standbyCutIn, pressure, c.pressure.standbyCutIn, c.pressure.cutOut);
  }

  /** Runs the first `wanted` machines in order of duty. */
  function serve(
    starts: (number | undefined)[],
    machines: Case['pumps'] | Case['compressors'],
    duty: number,
    wanted: number,
    tick: number,
  ): void {
    machines.forEach((_, k) => {
      const j = (duty + k) % machines.length;
      const held = panel.backAt >= 0 && tick - panel.backAt < ticksOf(machines[j].restartDelay_s);
      if (k >= wanted) starts[j] = undefined;
      else if (starts[j] === undefined && !held) {
        starts[j] = tick * tick_s;
        stops.add(t + machines[j].runUp_s);
        // The panel loads a compressor at the first scan at which its time is up.
        if ('unloaded_s' in machines[j]) scans.add(scanAtOrAfter(tick + ticksOf(machines[j].unloaded_s)));
      }
    });
  }

  function runPanel(tick: number): void {
    c.compressors.forEach((k, j) => {
      const since = d.airStart[j];
      d.loaded[j] = since !== undefined && tick * tick_s - since >= k.unloaded_s - 1e-9;
    });
    const woke = !panel.awake;
    if (woke) {
      panel.awake = true;
      panel.normalSeen = contact.normal;
      if (!contact.normal && c.pumps.length > 0) panel.recovery = true;
    }
    if (contact.stop || !panel.mains) panel.recovery = false;
    const pumpCall = c.pumps.length > 0 && panel.mains && (contact.dutyStart || contact.standbyStart || panel.recovery);
    const begins = pumpCall && !panel.pumpCalled;
    const ends = !pumpCall && panel.pumpCalled;
    if (ends && panel.mains) panel.pumpDuty = (panel.pumpDuty + 1) % c.pumps.length;
    panel.pumpCalled = pumpCall;
    serve(d.pumpStart, c.pumps, panel.pumpDuty, pumpCall ? (contact.standbyStart ? 2 : 1) : 0, tick);
    if (c.compressors.length === 0) return;
    // When the mains come back the latch follows the level, whatever else happens in that scan.
    if (woke) panel.permissive = contact.normal;
    else if (begins) panel.permissive = false;
    else if (contact.normal && (!panel.normalSeen || !pumpCall)) panel.permissive = true;
    panel.normalSeen = contact.normal;
    const wants = panel.mains && (contact.cutIn || contact.standbyCutIn);
    if (!wants && panel.airCalled && panel.mains) panel.airDuty = (panel.airDuty + 1) % c.compressors.length;
    const call = wants && panel.permissive;
    panel.airCalled = call || (wants && panel.airCalled);
    serve(d.airStart, c.compressors, panel.airDuty, call ? (contact.standbyCutIn ? 2 : 1) : 0, tick);
    c.compressors.forEach((k, j) => {
      if (d.airStart[j] === undefined) d.loaded[j] = false;
      else if (k.unloaded_s === 0) d.loaded[j] = true;
    });
  }

  // ---- trip
  let lostSeen = -1;
  let tripped = -1;
  const issued = c.valves.map(() => 0);
  const pauseSince = c.valves.map(() => -1);

  function command(i: number, direction: Direction, stroke: number): void {
    const v = d.valves[i];
    under[i] = stroke > 0 ? { valve: i, stroke, leastMargin: Infinity } : undefined;
    if (under[i] !== undefined) strokes.push(under[i]);
    // A piston already on its way there goes on.
    if (v.direction === direction && (v.doing === 'run' || v.doing === 'end')) {
      if (v.doing === 'end') note('ends', i, Infinity);
      return;
    }
    v.direction = direction;
    const x = y[S.x + i];
    if (x === (direction === 'opens' ? 1 : 0)) {
      v.doing = 'end';
      note('ends', i, Infinity);
    } else v.doing = d.gas ? 'gas' : 'rest';
  }

  function runTrip(tick: number): void {
    if (!panel.mains && lostSeen < 0) lostSeen = tick;
    if (panel.mains) lostSeen = -1;
    if (lostSeen >= 0 && tripped < 0 && tick - lostSeen >= ticksOf(c.undervoltage_s)) tripped = tick;
    if (lostSeen >= 0 && tripped < 0) scans.add(scanAtOrAfter(lostSeen + ticksOf(c.undervoltage_s)));
    if (tripped < 0) return;
    c.valves.forEach((v, i) => {
      const due = tripped + ticksOf(v.delay_s);
      if (issued[i] === 0) {
        if (tick < due) scans.add(scanAtOrAfter(due));
        else {
          issued[i] = 1;
          command(i, v.strokes[0], 1);
        }
      } else if (issued[i] < v.strokes.length && d.valves[i].doing === 'end') {
        if (pauseSince[i] < 0) pauseSince[i] = tick;
        const next = pauseSince[i] + ticksOf(v.pause_s);
        if (tick < next) scans.add(scanAtOrAfter(next));
        else {
          pauseSince[i] = -1;
          issued[i]++;
          command(i, v.strokes[issued[i] - 1], issued[i]);
          if (d.valves[i].doing === 'end') scans.add(tick + scanTicks);
        }
      }
    });
  }

  // ---- located events
  const target = (i: number) => (d.valves[i].direction === 'opens' ? 1 : 0);
  const area = (i: number) => ph.inArea(i, d.valves[i].direction as Direction);
  const mayGoBack = (i: number) => {
    const x = y[S.x + i];
    return (c.valves[i].mayBePushedBack || c.valves[i].leak !== undefined) && x !== 1 - target(i);
  };
  const setsOff = (i: number, s: Snapshot) => s.spare[i] / area(i) - c.valves[i].breakaway / area(i) - BREAKAWAY_Pa;
  const goesBack = (i: number, s: Snapshot) => -s.spare[i] / area(i) - c.valves[i].breakaway / area(i) - BREAKAWAY_Pa;
  const stalls = (i: number, s: Snapshot) => STALL_Pa - (s.spare[i] + s.ownDrop(i) - c.valves[i].running) / area(i);
  const rests = (i: number, s: Snapshot) => STALL_Pa + (s.spare[i] + s.ownDrop(i) + c.valves[i].running) / area(i);

  function watches(): Watch[] {
    const list: Watch[] = [];
    for (let i = 0; i < nV; i++) {
      const v = d.valves[i];
      const dir = v.direction;
      if (dir === undefined || v.doing === 'gas') continue;
      const way = dir === 'opens' ? 1 : -1;
      const mark = (kind: Kind, doing: typeof v.doing) => () => {
        v.doing = doing;
        note(kind, i, speedOf(`valve ${i}`));
      };
      if (v.doing === 'run') {
        list.push({
          name: `end ${i}`,
          value: (q) => way * (q[S.x + i] - target(i)),
          act() {
            y[S.x + i] = target(i);
            v.doing = 'end';
            under[i] = undefined;
            note('ends', i, Infinity);
          },
        });
        list.push({ name: `valve ${i}`, value: (_, s) => stalls(i, s), act: mark('rests', 'rest') });
        list.push({ name: `cavitation ${i}`, both: true, value: (_, s) => s.room[i] - 1e-3 });
      }
      if (v.doing === 'rest')
        list.push({ name: `valve ${i}`, value: (_, s) => setsOff(i, s), act: mark('sets off', 'run') });
      if ((v.doing === 'rest' || v.doing === 'end') && mayGoBack(i)) {
        list.push({
          name: `back ${i}`,
          value: (_, s) => goesBack(i, s),
          act() {
            if (!c.valves[i].mayBePushedBack) left ??= { time: t, why: `${c.valves[i].tag} creeps` };
            v.doing = 'back';
            note('pushed back', i, speedOf(`back ${i}`));
          },
        });
      }
      if (v.doing === 'back') {
        list.push({ name: `valve ${i}`, value: (_, s) => rests(i, s), act: mark('rests', 'rest') });
        list.push({
          name: `start ${i}`,
          value: (q) => -way * (q[S.x + i] - (1 - target(i))),
          act() {
            y[S.x + i] = 1 - target(i);
            v.doing = 'rest';
            note('rests', i, Infinity);
          },
        });
      }
      const points = dir === 'opens' ? c.valves[i].opening : c.valves[i].closing;
      for (const [at] of points) {
        if (at > 0 && at < 1) list.push({ name: `bend ${i} ${at}`, both: true, value: (q) => q[S.x + i] - at });
      }
    }
    const p = c.safetyValve;
    if (p !== undefined) {
      list.push({
        name: 'safety',
        value: (_, s) => (d.safetyOpen ? p.reseat - s.pressure : s.pressure - p.set),
        act() {
          d.safetyOpen = !d.safetyOpen;
          note(d.safetyOpen ? 'safety opens' : 'safety shuts', -1, speedOf('safety'));
        },
      });
      if (d.safetyOpen) list.push({ name: 'full lift', both: true, value: (_, s) => s.pressure - p.full });
    }
    if (!d.gas) {
      list.push({
        name: 'outlet',
        value: (q) => ph.outletVolume - q[S.oil],
        act() {
          d.gas = true;
          for (const v of d.valves) if (v.doing === 'run' || v.doing === 'rest' || v.doing === 'back') v.doing = 'gas';
          note('gas', -1, Infinity);
        },
      });
    }
    if (c.pumps.length > 0) {
      const limit = (d.dry ? c.sump.suctionLevel + PRIMING_RISE_m : c.sump.suctionLevel) * ph.sumpArea;
      list.push({
        name: 'suction',
        value: (q) => (d.dry ? q[S.sump] - limit : limit - q[S.sump]),
        act() {
          d.dry = !d.dry;
          note(d.dry ? 'dry' : 'primed', -1, Infinity);
        },
      });
    }
    c.pumps.forEach((_, j) => {
      if (d.pumpStart[j] === undefined) return;
      list.push({ name: `relief ${j}`, both: true, value: (_q, s) => s.overCracking[j] });
      list.push({ name: `check ${j}`, both: true, value: (_q, s) => s.pumpFlow[j] });
    });
    if (c.filter !== undefined) list.push({ name: 'bypass', both: true, value: (_, s) => s.overBypass });
    if (panel.mains) {
      for (const [name, at] of Object.entries(volume)) list.push({ name, both: true, value: (q) => q[S.oil] - at });
      for (const [name, at] of Object.entries(c.pressure))
        list.push({ name, both: true, value: (_, s) => s.pressure - at });
    }
    return list;
  }

  let speeds = new Map<string, number>();
  const speedOf = (name: string) => speeds.get(name) ?? Infinity;

  /** Whatever is true at this instant is applied, all of it together, until nothing more is. */
  function settle(): void {
    for (let round = 0; ; round++) {
      if (round > 50) throw new Error(`second solution, case ${c.seed}: two conditions undo each other at ${t} s`);
      const s = ph.at(t, y, d);
      noteMargins(y, s);
      speeds = new Map();
      const due = watches().filter((w) => w.act !== undefined && w.value(y, s) >= 0);
      if (due.length === 0) return;
      for (const w of due) w.act?.();
      scans.add(scanAtOrAfter(Math.ceil(t / tick_s - 1e-7)));
    }
  }

  /** Integrates to `to` or to the first located event before it. */
  function advance(to: number): void {
    const list = watches();
    const before = ph.at(t, y, d);
    const signs = list.map((w) => w.value(y, before) >= 0);
    let hit: { step: Step; name: string; at: number; near: number } | undefined;
    const fires = (j: number, v: number) => (list[j].both ? v >= 0 !== signs[j] : !signs[j] && v >= 0);
    const PARTS = 4;
    const final = march(rhs, scale, t, y, to, (step) => {
      let lowTime = step.from;
      for (let k = 1; k <= PARTS; k++) {
        const time = k === PARTS ? step.to : step.from + ((step.to - step.from) * k) / PARTS;
        const q = k === PARTS ? step.end : step.inside(time);
        const s = ph.at(time, q, d);
        const now = list.map((w) => w.value(q, s));
        if (!now.some((v, j) => fires(j, v))) noteMargins(q, s);
        let earliest = Infinity;
        for (let j = 0; j < list.length; j++) {
          if (!fires(j, now[j])) continue;
          // where on the interpolant
          let [a, b] = [lowTime, time];
          for (let i = 0; i < 60 && b - a > 1e-9; i++) {
            const m = (a + b) / 2;
            const z = step.inside(m);
            if (fires(j, list[j].value(z, ph.at(m, z, d)))) b = m;
            else a = m;
          }
          if (b < earliest) {
            earliest = b;
            hit = { step, name: list[j].name, at: j, near: b };
          }
        }
        if (hit !== undefined) return true;
        lowTime = time;
      }
      return false;
    });
    if (hit === undefined) {
      t = to;
      y = final;
      return;
    }
    // Solve to the instant itself: Newton on the true solution, a little past it at the end. A bend needs no more than
    // to be stepped over.
    const { step, at: j } = hit;
    const w = list[j];
    const value = (time: number, q: readonly number[]) => w.value(q, ph.at(time, q, d));
    let time = hit.near;
    let q = solve(rhs, scale, step.from, step.start, time);
    let rate = 0;
    for (let i = 0; w.act !== undefined && i < 8; i++) {
      const v = value(time, q);
      const h = 1e-5;
      const r = ph.at(time, q, d).rate;
      rate =
        (value(
          time + h,
          q.map((z, n) => z + h * r[n]),
        ) -
          value(
            time - h,
            q.map((z, n) => z - h * r[n]),
          )) /
        (2 * h);
      const move = -v / rate;
      if (!(time + move > step.from && time + move < step.to) || Math.abs(move) < 1e-11) break;
      q = solve(rhs, scale, time, q, time + move);
      time += move;
    }
    for (let push = w.act === undefined ? 1e-8 : 1e-11; !fires(j, value(time, q)) && push < 1e-3; push *= 2) {
      q = solve(rhs, scale, time, q, time + push);
      time += push;
    }
    t = time;
    y = q;
    const s = ph.at(t, y, d);
    noteMargins(y, s);
    speeds = new Map([[w.name, Math.abs(rate) / s.pressure]]);
    if (w.act === undefined) {
      if (w.name in volume || w.name in c.pressure) scans.add(scanAtOrAfter(Math.ceil(t / tick_s - 1e-9)));
      return;
    }
    // everything within the same instant together
    const together = list.filter(
      (o, k) => k !== j && o.act !== undefined && !signs[k] && value2(o, t + 1e-9, y, s) >= 0,
    );
    w.act();
    for (const o of together) o.act?.();
    scans.add(scanAtOrAfter(Math.ceil(t / tick_s - 1e-7)));
  }
  const value2 = (w: Watch, time: number, q: readonly number[], s: Snapshot) => {
    const h = time - t;
    const moved = q.map((z, n) => z + h * s.rate[n]);
    return w.value(moved, ph.at(time, moved, d));
  };

  // ---- march
  const stops = new Set<number>();
  const scans = new Set<number>([0]);
  for (let k = 0; k <= end; k += every) stops.add(k * tick_s);
  stops.add(end * tick_s);
  stops.add(lost * tick_s);
  scans.add(scanAtOrAfter(lost));
  if (back >= 0) {
    stops.add(back * tick_s);
    scans.add(scanAtOrAfter(back));
    for (const m of [...c.pumps, ...c.compressors])
      scans.add(scanAtOrAfter(scanAtOrAfter(back) + ticksOf(m.restartDelay_s)));
  }
  for (const a of c.actions) {
    stops.add(Math.round(a.at_s / tick_s) * tick_s);
    scans.add(scanAtOrAfter(Math.round(a.at_s / tick_s)));
  }

  for (;;) {
    const tick = Math.round(t / tick_s);
    if (Math.abs(t - tick * tick_s) < 1e-9 && (stops.has(tick * tick_s) || scans.has(tick))) {
      if (tick === lost) {
        panel.mains = false;
        panel.backAt = -1;
        d.pumpStart.fill(undefined);
        d.airStart.fill(undefined);
      }
      if (tick === back) {
        panel.mains = true;
        panel.awake = false;
        panel.backAt = scanAtOrAfter(tick);
      }
      for (const a of c.actions) if (Math.round(a.at_s / tick_s) === tick) command(a.valve, a.direction, 0);
      if (scans.has(tick)) {
        readContacts();
        runPanel(tick);
        runTrip(tick);
        scans.delete(tick);
      }
      settle();
      if (tick % every === 0 || tick === end) samples.push({ time: t, state: y.slice(), snapshot: ph.at(t, y, d) });
      if (tick >= end) break;
    } else settle();
    if (left !== undefined || happenings.length > 300) {
      left ??= { time: t, why: 'stick and slip without end' };
      break;
    }
    let next = end * tick_s;
    for (const s of stops) if (s > t + 1e-9 && s < next) next = s;
    for (const k of scans) if (k * tick_s > t + 1e-9 && k * tick_s < next) next = k * tick_s;
    advance(next);
  }
  return { samples, strokes, happenings, physics: ph, left };
}
