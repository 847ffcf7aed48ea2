/**
 * A whole outage solved a second time: physics.ts by a general ODE library, every discrete change found by bracketing a
 * sign and solving to it, panel and trip in logic.ts. Nothing of the program is imported.
 */
import type { Case, Direction } from './case.ts';
import { createLogic } from './logic.ts';
import { march, type Rhs, type Step, solve } from './odex.ts';
import { type Discrete, type Physics, physics, S, type Snapshot } from './physics.ts';

export { S };

/**
 * Choices taken over from the program: a piston stops when less than this would be left to drive it if it stood still
 * (its own part of the drop in shared lines to first order), and starts to move, load and breakaway overcome, only when so much
 * is then left to drive it.
 */
const STALL_Pa = 1;
const BREAKAWAY_Pa = 10;
/** The same for a piston that came to rest on its way, and for one pushed back from there. */
const ONWARD_Pa = 1000;
const PRIMING_RISE_m = 0.02;

export type Kind =
  | 'starts to move'
  | 'rests'
  | 'ends'
  | 'pushed back'
  | 'gas'
  | 'safety opens'
  | 'safety shuts'
  | 'cavitates'
  | 'dry'
  | 'primed'
  | 'starts'
  | 'stops';
export interface Happening {
  readonly time: number;
  readonly kind: Kind;
  /** Tag of the valve or machine; empty for what is there once. */
  readonly tag: string;
  readonly pressure: number;
  /** How fast the located quantity moved through its limit, relative to its size, 1/s; Infinity at commands. */
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
  /** What its rate is compared with; the pressure of the tank when left out. */
  readonly size?: number;
  /** Whether any change of sign counts (a bend, a contact) or only a rise through zero. */
  readonly both?: boolean;
  readonly act?: () => void;
}

export function secondSolution(c: Case): Answer {
  const ph = physics(c);
  const { tick_s, scanTicks } = c;
  const nV = c.valves.length;
  const end = Math.round(c.duration_s / tick_s);
  const every = Math.round(c.sample_s / tick_s);

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
  const firstTotal = S.x + nV;
  const scale = y.map((x, i) => (i < S.x ? Math.abs(x) || 1 : i < firstTotal ? 1 : i < ph.totals.energy ? 0.01 : 1e4));
  const rhs: Rhs = (time, state) => ph.at(time, state, d).rate;

  const samples: Sample[] = [];
  const happenings: Happening[] = [];
  const strokes: Stroke[] = [];
  const under = c.valves.map((): Stroke | undefined => undefined);
  const cavitated = c.valves.map(() => false);
  /** Since the last command: whether it has moved, whether it has been at its end. */
  const hasEnded = c.valves.map(() => false);
  const hasMoved = c.valves.map(() => false);
  let left: Answer['left'];
  const note = (kind: Kind, tag: string, rate: number) => {
    const { pressure } = ph.at(t, y, d);
    happenings.push({ time: t, kind, tag, pressure, rate });
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

  /** The arm of a drive bends what is needed between two instants of a step: looked at more closely than the watches. */
  function noteMarginsBetween(step: Step, from: number, to: number): void {
    const parts = c.valves.some((v, i) => v.drive !== undefined && under[i] !== undefined) ? 8 : 1;
    for (let k = 1; k <= parts; k++) {
      const time = k === parts ? to : from + ((to - from) * k) / parts;
      const q = time === step.to ? step.end : step.inside(time);
      noteMargins(q, ph.at(time, q, d));
    }
  }

  function command(i: number, direction: Direction | undefined, stroke: number): void {
    const v = d.valves[i];
    under[i] = undefined;
    cavitated[i] = false;
    if (stroke > 0) {
      under[i] = { valve: i, stroke, leastMargin: Infinity };
      strokes.push(under[i]);
    }
    if (direction === undefined) {
      v.direction = undefined;
      v.doing = 'idle';
      return;
    }
    // A piston already on its way there goes on.
    if (v.direction === direction && v.doing === 'run') return;
    hasMoved[i] = false;
    hasEnded[i] = false;
    v.direction = direction;
    if (y[S.x + i] === (direction === 'opens' ? 1 : 0)) {
      v.doing = 'end';
      hasEnded[i] = true;
      under[i] = undefined;
      note('ends', c.valves[i].tag, Infinity);
    } else v.doing = d.gas ? 'gas' : 'rest';
  }

  const stops = new Set<number>();
  const scans = new Set<number>([0]);
  const scanFrom = (tick: number) => scans.add(Math.ceil(tick / scanTicks) * scanTicks);
  const logic = createLogic(c, ph, d, {
    command,
    note: (kind, tag) => note(kind, tag, Infinity),
    scanFrom,
    stopAt: (time) => stops.add(time),
  });

  // ---- located events
  const target = (i: number) => (d.valves[i].direction === 'opens' ? 1 : 0);
  const area = (i: number) => ph.inArea(i, d.valves[i].direction as Direction);
  const mayGoBack = (i: number) => {
    const x = y[S.x + i];
    return (c.valves[i].mayBePushedBack || c.valves[i].leak !== undefined) && x !== 1 - target(i);
  };
  /** Pressure asked for beyond load and breakaway, so that so much is left once friction has fallen to that of motion. */
  const beyond = (i: number, left_Pa: number) =>
    Math.max(0, left_Pa - (c.valves[i].breakaway - c.valves[i].running) / area(i));
  const setsOff = (i: number, s: Snapshot) =>
    (s.spare[i] - c.valves[i].breakaway) / area(i) - beyond(i, hasMoved[i] ? ONWARD_Pa : BREAKAWAY_Pa);
  const goesBack = (i: number, s: Snapshot) =>
    (-s.spare[i] - c.valves[i].breakaway) / area(i) -
    beyond(i, d.valves[i].doing === 'rest' ? ONWARD_Pa : BREAKAWAY_Pa);
  const stalls = (i: number, s: Snapshot) => STALL_Pa - (s.spare[i] + s.ownDrop(i) - c.valves[i].running) / area(i);
  const rests = (i: number, s: Snapshot) => STALL_Pa + (s.spare[i] + s.ownDrop(i) + c.valves[i].running) / area(i);

  function watches(): Watch[] {
    const list: Watch[] = [];
    for (let i = 0; i < nV; i++) {
      const v = d.valves[i];
      const dir = v.direction;
      if (dir === undefined || v.doing === 'gas') continue;
      const { tag } = c.valves[i];
      const way = dir === 'opens' ? 1 : -1;
      const mark = (kind: Kind, doing: typeof v.doing) => () => {
        v.doing = doing;
        if (doing === 'run') hasMoved[i] = true;
        note(kind, tag, speedOf(`valve ${i}`));
      };
      if (v.doing === 'run') {
        list.push({
          name: `end ${i}`,
          value: (q) => way * (q[S.x + i] - target(i)),
          act() {
            y[S.x + i] = target(i);
            v.doing = 'end';
            under[i] = undefined;
            // Pushed off its end and back again, a piston has no second end of the same stroke.
            if (!hasEnded[i]) note('ends', tag, Infinity);
            hasEnded[i] = true;
          },
        });
        list.push({ name: `valve ${i}`, value: (_, s) => stalls(i, s), act: mark('rests', 'rest') });
        if (cavitated[i]) list.push({ name: `cavitation ${i}`, both: true, value: (_, s) => s.cavitates[i] });
        else {
          list.push({
            name: `cavitation ${i}`,
            value: (_, s) => s.cavitates[i],
            act() {
              cavitated[i] = true;
              note('cavitates', tag, speedOf(`cavitation ${i}`));
            },
          });
        }
      }
      if (v.doing === 'rest')
        list.push({ name: `valve ${i}`, value: (_, s) => setsOff(i, s), act: mark('starts to move', 'run') });
      if ((v.doing === 'rest' || v.doing === 'end') && mayGoBack(i)) {
        list.push({
          name: `back ${i}`,
          value: (_, s) => goesBack(i, s),
          act() {
            if (!c.valves[i].mayBePushedBack) left ??= { time: t, why: `${tag} creeps` };
            v.doing = 'back';
            note('pushed back', tag, speedOf(`back ${i}`));
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
            note('rests', tag, Infinity);
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
          note(d.safetyOpen ? 'safety opens' : 'safety shuts', '', speedOf('safety'));
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
          note('gas', '', Infinity);
        },
      });
    }
    if (c.pumps.length > 0) {
      const limit = (d.dry ? c.sump.suctionLevel + PRIMING_RISE_m : c.sump.suctionLevel) * ph.sumpArea;
      list.push({
        name: 'suction',
        size: limit,
        value: (q) => (d.dry ? q[S.sump] - limit : limit - q[S.sump]),
        act() {
          d.dry = !d.dry;
          note(d.dry ? 'dry' : 'primed', '', speedOf('suction'));
        },
      });
    }
    c.pumps.forEach((_, j) => {
      if (d.pumpStart[j] === undefined) return;
      list.push({ name: `relief ${j}`, both: true, value: (_q, s) => s.overCracking[j] });
      list.push({ name: `check ${j}`, both: true, value: (_q, s) => s.pumpFlow[j] });
    });
    if (c.filter !== undefined) list.push({ name: 'bypass', both: true, value: (_, s) => s.overBypass });
    if (logic.mains()) {
      for (const [name, at] of Object.entries(logic.volumes)) {
        list.push({ name: `contact ${name}`, both: true, value: (q) => q[S.oil] - at });
      }
      for (const [name, at] of Object.entries(logic.pressures)) {
        list.push({ name: `contact ${name}`, both: true, value: (_, s) => s.pressure - at });
      }
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
      scanFrom(Math.ceil(t / tick_s - 1e-7));
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
        if (!now.some((v, j) => fires(j, v))) noteMarginsBetween(step, lowTime, time);
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
    speeds = new Map([[w.name, Math.abs(rate) / (w.size ?? s.pressure)]]);
    if (w.act === undefined) {
      if (w.name.startsWith('contact')) scanFrom(Math.ceil(t / tick_s - 1e-9));
      return;
    }
    // everything within the same instant together
    const together = list.filter(
      (o, k) => k !== j && o.act !== undefined && !signs[k] && value2(o, t + 1e-9, y, s) >= 0,
    );
    w.act();
    for (const o of together) o.act?.();
    scanFrom(Math.ceil(t / tick_s - 1e-7));
  }
  const value2 = (w: Watch, time: number, q: readonly number[], s: Snapshot) => {
    const h = time - t;
    const moved = q.map((z, n) => z + h * s.rate[n]);
    return w.value(moved, ph.at(time, moved, d));
  };

  // ---- march
  const lost = Math.round(c.lostAt_s / tick_s);
  const back = c.backAt_s === undefined ? -1 : Math.round(c.backAt_s / tick_s);
  const dies = c.controlHeld_s === undefined ? -1 : lost + Math.round(c.controlHeld_s / tick_s);
  const known = [lost, back, dies, ...c.actions.map((a) => Math.round(a.at_s / tick_s))];
  for (const k of known) {
    if (k < 0) continue;
    stops.add(k * tick_s);
    scanFrom(k);
  }
  for (let k = 0; k <= end; k += every) stops.add(k * tick_s);
  for (const [at] of c.ambientTable ?? []) stops.add(Math.round(at / tick_s) * tick_s);
  stops.add(end * tick_s);

  for (;;) {
    const tick = Math.round(t / tick_s);
    if (Math.abs(t - tick * tick_s) < 1e-9 && (stops.has(tick * tick_s) || scans.has(tick))) {
      if (tick === lost) logic.loseMains(tick);
      if (tick === back) logic.restoreMains(tick);
      if (tick === dies) logic.loseControl();
      for (const a of c.actions) if (Math.round(a.at_s / tick_s) === tick) command(a.valve, a.direction, 0);
      if (scans.delete(tick)) logic.scan(tick, y[S.oil], ph.at(t, y, d).pressure);
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
