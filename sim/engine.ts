/**
 * Time. Simulated time is a whole number of ticks plus, between two ticks, an offset. Physics advances in long steps;
 * a step is cut only by a located event, by the tick at which a contact changes, or by a tick known beforehand
 * (scenario instants, timers, the end of the run). Scanning and sampling never cut a step.
 *
 * At tick k, in this order: physics to t_k; scenario changes; contacts, timers, logic, outputs (on scans); trace row.
 */
import { ProgramFault } from './fault.ts';
import { newState } from './layout.ts';
import { createStepper } from './stepper.ts';
import { type Change, type Emit, NOTHING, PHYSICS, type System } from './system.ts';
import {
  EVENT_WORK,
  EVENTS_PER_TICK,
  RELATIVE_STEP_ERROR,
  ROW_WORK,
  SAME_INSTANT_s,
  SHORTEST_STEP_s,
  SLOTS_PER_ROUND,
} from './tolerances.ts';
import { CONTACT, crossing, firstInstant, firstTick, LOCATED, reading } from './watch.ts';

/**
 * skipAhead   finds the first tick at which a contact would change (default)
 * everyTick   carries out the panel at every scan tick on the continuous extension; byte for byte the same
 * shortSteps  steps no longer than a tick; agrees within tolerance
 */
export type Mode = 'skipAhead' | 'everyTick' | 'shortSteps';

/**
 * Work that has been spent and that may be (tolerances.ts says in what): counted, never timed, so that a run ends at the
 * same place everywhere. One object may serve several runs.
 */
export interface Work {
  spent: number;
  readonly limit: number;
}

export interface EngineOptions {
  readonly mode?: Mode;
  readonly relativeStepError?: number;
  /** Without limit when left out. */
  readonly work?: Work;
  /** Most steps of one run; without limit when left out. */
  readonly stepBudget?: number;
  /** Steps of this length without error control, s; for tests of order. */
  readonly fixedStep_s?: number;
}

export interface Observer {
  /** A row is wanted every so many ticks; 0 for none. */
  readonly sampleTicks: number;
  sample?(y: Float64Array, tick: number): void;
  event?(y: Float64Array, code: number, item: number, value: number, other: number): void;
  /** After every accepted piece of a step; the system's algebraic outputs belong to y. */
  settled?(y: Float64Array): void;
}

export type StopReason = 'reached' | 'work limit' | 'stopped';

export interface Engine {
  readonly system: System;
  /**
   * Advances the state to the given tick and carries out what is due there. `until` is asked after every piece and may
   * stop the run early. Errors: ProgramFault when the program, not the plant, is at fault.
   */
  advance(y: Float64Array, toTick: number, observer: Observer, until?: (y: Float64Array) => boolean): StopReason;
  /** To be called when the numbers of the system have changed. */
  refit(): void;
}

const SILENT: Emit = () => {};
const GROWTH = 5;
const SHRINK = 0.2;
const SAFETY = 0.9;

export function createEngine(system: System, options: EngineOptions = {}): Engine {
  const { layout, tick_s, scanTicks, watches, probes, probing, outputs } = system;
  const { clock, integrated, advanced } = layout;
  const mode = options.mode ?? 'skipAhead';
  const relativeError = options.relativeStepError ?? RELATIVE_STEP_ERROR;
  const budget = options.stepBudget ?? Infinity;
  const work = options.work ?? { spent: 0, limit: Infinity };
  const fixed = options.fixedStep_s ?? 0;
  const longest = mode === 'shortSteps' ? tick_s : Infinity;
  const rateWork = Math.ceil(integrated * (1 + integrated / SLOTS_PER_ROUND) ** 2);
  const derivative: System['derivative'] = (time, y, rates) => {
    work.spent += rateWork;
    system.derivative(time, y, rates);
  };
  const stepper = createStepper(layout, derivative, relativeError);
  const marks = new Uint8Array(watches.count + probes.length);
  const scratch = newState(layout);
  const unused = new Float64Array(advanced);
  const endOutputs = new Float64Array(outputs.length);
  const found = new Float64Array(watches.count + probes.length);
  const discreteFrom = advanced;
  const discreteTo = layout.rounding;

  // The step under way: from tick `tick0` + `offset0`, of length h.
  let tick0 = 0;
  let offset0 = 0;
  let h = 0;
  /** Whether the watches belong to the state: nothing has been carried out since they were set. */
  let armed = false;
  const fraction = (tick: number) => ((tick - tick0) * tick_s - offset0) / h;
  const timeOf = (y: Float64Array) => y[clock.tick] * tick_s + y[clock.offset];

  /** A first guess at a step after a change: a twentieth of the time in which any slot would change by its own size. */
  function freshStep(y: Float64Array): number {
    let rate = 1e-6;
    for (let i = 0; i < integrated; i++) {
      const r = Math.abs(stepper.first[i]) / (Math.abs(y[i]) + layout.slots[i].scale);
      if (r > rate) rate = r;
    }
    return 0.05 / rate;
  }

  /** Moves the clock to a fraction of the step; a whole tick when `tick` is given. */
  function moveClock(y: Float64Array, theta: number, tick: number): void {
    if (tick >= 0) {
      y[clock.tick] = tick;
      y[clock.offset] = 0;
      return;
    }
    let offset = offset0 + theta * h;
    let whole = Math.floor(offset / tick_s);
    offset -= whole * tick_s;
    // The quotient may have been rounded down past a whole number.
    if (offset >= tick_s) {
      whole++;
      offset = 0;
    }
    y[clock.tick] = tick0 + whole;
    y[clock.offset] = offset < 0 ? 0 : offset;
  }

  function countEvent(y: Float64Array): void {
    const tick = y[clock.tick];
    if (y[clock.eventTick] !== tick) {
      y[clock.eventTick] = tick;
      y[clock.eventsInTick] = 0;
    }
    y[clock.eventsInTick]++;
    if (y[clock.eventsInTick] > EVENTS_PER_TICK) {
      throw new ProgramFault(`more than ${EVENTS_PER_TICK} events in tick ${tick} (t = ${timeOf(y)} s)`);
    }
  }

  /** Marks the located watches that hold now. */
  function markNow(y: Float64Array): boolean {
    let any = false;
    marks.fill(0);
    for (let j = 0; j < watches.count; j++) {
      if (watches.mode[j] === LOCATED && reading(watches, j, y) >= 0) {
        marks[j] = 1;
        any = true;
      }
    }
    for (let j = 0; j < probes.length; j++) {
      if (probing[j] === 1 && probes[j] >= 0) {
        marks[watches.count + j] = 1;
        any = true;
      }
    }
    return any;
  }

  function changed(y: Float64Array, change: Change): void {
    if (change === PHYSICS) y[clock.planned] = 0;
  }

  /** Whether carrying out tick k on the continuous extension changes any bit. */
  function tickMatters(y: Float64Array, tick: number): boolean {
    stepper.copyAt(y, fraction(tick), scratch);
    scratch[clock.tick] = tick;
    scratch[clock.offset] = 0;
    const before = scratch.slice(discreteFrom, discreteTo);
    system.atTick(scratch, tick, SILENT);
    armed = false;
    for (let i = discreteFrom; i < discreteTo; i++) {
      if (i === clock.done || Object.is(scratch[i], before[i - discreteFrom])) continue;
      return true;
    }
    return false;
  }

  /** Takes one accepted step of length h <= room. Returns whether it fills the room up to the due tick. */
  function takeStep(y: Float64Array, time: number, room: number, due: number): boolean {
    let planned = y[clock.planned] > 0 ? y[clock.planned] : freshStep(y);
    if (fixed > 0) planned = fixed;
    if (planned > longest) planned = longest;
    for (;;) {
      const whole = planned >= room * (1 - 1e-12);
      h = whole ? room : planned;
      // The end time is summed exactly as the clock will be, so that rates found here serve the next step unchanged.
      const ticks = Math.floor((offset0 + h) / tick_s);
      const endTime = whole ? due * tick_s : (tick0 + ticks) * tick_s + (offset0 + h - ticks * tick_s);
      const error = stepper.attempt(time, y, h, endTime);
      endOutputs.set(outputs);
      y[clock.steps]++;
      if (fixed > 0) return whole;
      if (error <= 1) {
        const e = error < 1e-10 ? 1e-10 : error;
        let factor = (SAFETY * y[clock.lastError] ** 0.04) / e ** 0.17;
        if (factor > GROWTH) factor = GROWTH;
        if (factor < SHRINK) factor = SHRINK;
        const next = h * factor;
        // A step shortened from outside says little about the step the physics would allow.
        y[clock.planned] = whole && next < planned ? planned : next;
        y[clock.lastError] = e < 1e-4 ? 1e-4 : e;
        return whole;
      }
      let factor = SAFETY / error ** 0.2;
      if (!(factor > SHRINK)) factor = SHRINK;
      planned = h * factor;
      if (planned < SHORTEST_STEP_s) throw new ProgramFault(`step size came to nothing at t = ${time} s`);
    }
  }

  /**
   * Fraction of the step at which the first located condition becomes true, Infinity if none. Fills `found`.
   * A condition on an algebraic quantity is seen only if it holds at the end of the piece: one that comes and goes
   * inside a step is missed.
   */
  function firstLocated(y: Float64Array, time: number): number {
    let theta = Infinity;
    for (let j = 0; j < watches.count; j++) {
      found[j] = watches.mode[j] === LOCATED ? firstInstant(watches, j, stepper, y) : Infinity;
      if (found[j] < theta) theta = found[j];
    }
    const end = theta < 1 ? theta : 1;
    if (end < 1) probesAt(y, time, end);
    else system.probe(stepper.end);
    for (let j = 0; j < probes.length; j++) {
      const n = watches.count + j;
      found[n] = Infinity;
      if (probing[j] !== 1 || !(probes[j] >= 0)) continue;
      found[n] = probeCrossing(y, time, j, end, probes[j]);
      if (found[n] < theta) theta = found[n];
      if (end < 1) probesAt(y, time, end);
      else {
        outputs.set(endOutputs);
        system.probe(stepper.end);
      }
    }
    return theta;
  }

  /** Fraction of the step at which probe j rises through 0, known to have done so at `end`. */
  function probeCrossing(y: Float64Array, time: number, j: number, end: number, atEnd: number): number {
    const atStart = probesAt(y, time, 0)[j];
    return atStart >= 0 ? 0 : crossing((at) => probesAt(y, time, at)[j], 0, atStart, end, atEnd);
  }

  function probesAt(y: Float64Array, time: number, theta: number): Float64Array {
    stepper.copyAt(y, theta, scratch);
    derivative(time + theta * h, scratch, unused);
    system.probe(scratch);
    return probes;
  }

  /** First scan tick after the start of the step, up to lastTick, at which the panel would do anything; -1 if none. */
  function firstPanelTick(y: Float64Array, lastTick: number, due: number): number {
    const firstScan = (Math.floor(tick0 / scanTicks) + 1) * scanTicks;
    let last = Math.floor(lastTick / scanTicks) * scanTicks;
    let cut = -1;
    if (mode === 'everyTick') {
      // What is due at the end of the step is carried out there in any case.
      for (let k = firstScan; k <= last; k += scanTicks) if (k !== due && tickMatters(y, k)) return k;
      return -1;
    }
    for (let j = 0; j < watches.count; j++) {
      if (watches.mode[j] !== CONTACT) continue;
      const k = firstTick(watches, j, stepper, y, firstScan, last, scanTicks, fraction);
      if (k >= 0) {
        cut = k;
        last = k - scanTicks;
      }
    }
    return cut;
  }

  return {
    system,
    refit: stepper.refit,
    advance(y, toTick, observer, until) {
      const emit: Emit = (code, item, value, other) => {
        work.spent += EVENT_WORK * integrated;
        observer.event?.(y, code, item, value, other);
      };
      const every = observer.sampleTicks;
      const rowWork = ROW_WORK * integrated;
      const rowsLeft = () => Math.max(0, Math.floor((work.limit - work.spent) / rowWork));
      const sample = (state: Float64Array, tick: number) => {
        work.spent += rowWork;
        observer.sample?.(state, tick);
      };
      let ratesKnown = false;
      armed = false;
      for (;;) {
        // 1. At a tick: changes, contacts, timers, logic, outputs, trace row.
        if (y[clock.offset] === 0 && y[clock.done] < y[clock.tick]) {
          const change = system.atTick(y, y[clock.tick], emit);
          armed = false;
          y[clock.done] = y[clock.tick];
          changed(y, change);
          if (change !== NOTHING) ratesKnown = false;
          if (every > 0 && y[clock.tick] % every === 0) sample(y, y[clock.tick]);
        }
        // 2. Rates here, and whatever is already true here.
        if (!armed) system.arm(y);
        armed = true;
        for (;;) {
          if (!ratesKnown) stepper.begin(timeOf(y), y);
          else {
            stepper.continue();
            outputs.set(endOutputs);
          }
          system.probe(y);
          if (!markNow(y)) break;
          // What stands at rest and is about to move has its record taken first.
          system.settled?.(y, timeOf(y));
          countEvent(y);
          changed(y, system.happen(y, marks, emit));
          system.arm(y);
          ratesKnown = false;
        }
        ratesKnown = true;
        system.settled?.(y, timeOf(y));
        observer.settled?.(y);
        if (y[clock.tick] >= toTick && y[clock.done] >= toTick) return 'reached';
        if (until?.(y)) return 'stopped';
        if (y[clock.steps] >= budget || work.spent >= work.limit) return 'work limit';

        // 3. A step, no further than the next tick at which something is known to be due.
        tick0 = y[clock.tick];
        offset0 = y[clock.offset];
        const due = Math.min(toTick, system.nextDue(y, tick0));
        if (!(due > tick0)) throw new ProgramFault(`due tick ${due} is not after ${tick0}`);
        const room = (due - tick0) * tick_s - offset0;
        const time = timeOf(y);
        const whole = takeStep(y, time, room, due);
        stepper.prepareDense();

        // 4. The first located event inside it.
        const theta = firstLocated(y, time);
        const located = theta <= 1;
        const end = located ? theta : 1;

        // 5. The first scan tick before it at which the panel would do anything, and the row that uses up the work limit.
        let lastTick = !located && whole ? due : tick0 + Math.floor((offset0 + end * h) / tick_s);
        if (located && (lastTick - tick0) * tick_s - offset0 >= end * h) lastTick--;
        let cut = firstPanelTick(y, lastTick, !located && whole ? due : -1);
        const affordable = every > 0 ? (Math.floor(tick0 / every) + 1 + rowsLeft()) * every : Infinity;
        if (affordable <= lastTick && (cut < 0 || affordable < cut)) cut = affordable;

        // 6. Trace rows inside, then move to the end of the piece. A row at its very end comes with the tick there.
        const stopTick = cut >= 0 ? cut : !located && whole ? due : -1;
        const moveTo = cut >= 0 ? fraction(cut) : end;
        moveClock(y, moveTo, stopTick);
        if (every > 0 && observer.sample) {
          const before = y[clock.offset] === 0 ? y[clock.tick] : y[clock.tick] + 1;
          for (let k = (Math.floor(tick0 / every) + 1) * every; k < before; k += every) {
            stepper.copyAt(y, fraction(k), scratch);
            scratch[clock.tick] = k;
            scratch[clock.offset] = 0;
            sample(scratch, k);
          }
        }
        const recording = system.recording?.(y) ?? true;
        if (system.inside && recording) {
          // The middle of the piece, for quantities whose least value over time is wanted.
          stepper.copyAt(y, moveTo / 2, scratch);
          derivative(time + (moveTo / 2) * h, scratch, unused);
          system.inside(scratch, time + (moveTo / 2) * h);
        }
        stepper.moveTo(y, moveTo);
        ratesKnown = moveTo === 1;
        for (let i = 0; i < integrated; i++) {
          if (!Number.isFinite(y[i])) {
            throw new ProgramFault(`${layout.slots[i].name} is ${y[i]} at t = ${timeOf(y)} s`);
          }
        }

        // What the piece ends with is recorded before an event or a tick changes anything.
        if (system.settled && recording && (stopTick >= 0 || located)) {
          if (ratesKnown) outputs.set(endOutputs);
          else derivative(timeOf(y), y, unused);
          system.settled(y, timeOf(y));
        }

        // 7. A located event: everything within the same instant together, before anything is solved again.
        if (located && cut < 0) {
          const limit = theta + SAME_INSTANT_s / h;
          for (let j = 0; j < marks.length; j++) marks[j] = found[j] <= limit ? 1 : 0;
          countEvent(y);
          changed(y, system.happen(y, marks, emit));
          armed = false;
          ratesKnown = false;
        }
      }
    },
  };
}
