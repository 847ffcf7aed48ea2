/**
 * The engine on a machine that can be done in the head: a bucket fills at a steady rate; full, it is emptied at once. A
 * contact on its level is read at every scan, a probe watches the square of the level. Ticks of 0.1 s.
 */
import { describe, expect, test } from 'vitest';
import { createEngine, type EngineOptions, type Mode } from '../../sim/engine.ts';
import { layoutBuilder, newState } from '../../sim/layout.ts';
import { createStepper } from '../../sim/stepper.ts';
import { LOGIC, NOTHING, PHYSICS, type System } from '../../sim/system.ts';
import { CONTACT, createWatches, LOCATED, OFF } from '../../sim/watch.ts';

const TICK_s = 0.1;
const b = layoutBuilder();
const level = b.integrated({ name: 'level', unit: '1', min: 0, max: 10, scale: 1 });
const total = b.total('filled', '1');
const rate = b.discrete('rate', '1/s', -10, 10);
const made = b.discrete('made', 'bit', 0, 1);
const high = b.discrete('high', 'bit', 0, 1);
const layout = b.build();
const { clock } = layout;
const FULL = 0;
const FULL_TOO = 1;
const WATCHED = 2;
const SQUARE = 3;

interface Toy {
  readonly full?: number;
  /** A second limit that empties it too. */
  readonly fullToo?: number;
  readonly contact?: number;
  /** Level whose square the probe watches. */
  readonly square?: number;
  readonly scanTicks?: number;
  readonly rate?: number;
  /** Rates that are set at ticks. */
  readonly changes?: Readonly<Record<number, number>>;
  readonly derivative?: (time: number, y: Float64Array, out: Float64Array) => void;
  readonly stays?: true;
}
interface Seen {
  readonly y: Float64Array;
  readonly stop: string;
  /** Time and what happened. */
  readonly log: readonly string[];
  readonly rows: readonly (readonly [tick: number, level: number])[];
  readonly settled: readonly number[];
}

const timeOf = (y: Float64Array) => y[clock.tick] * TICK_s + y[clock.offset];
const shown = (y: Float64Array) => timeOf(y).toFixed(9).replace(/0+$/, '').replace(/\.$/, '');

function toy({ full = 1, fullToo, contact, square, scanTicks = 1, changes = {}, derivative, stays }: Toy): System {
  const watches = createWatches(3);
  const outputs = new Float64Array(1);
  const probes = new Float64Array(1);
  const probing = new Uint8Array(1);
  const set = (j: number, mode: number, limit: number | undefined, sign = 1) => {
    watches.mode[j] = limit === undefined ? OFF : mode;
    watches.slotA[j] = level;
    watches.a[j] = sign;
    watches.c[j] = -sign * (limit ?? 0);
  };
  return {
    layout,
    tick_s: TICK_s,
    scanTicks,
    outputs,
    watches,
    probes,
    probing,
    derivative(time, y, out) {
      outputs[0] = y[level] ** 2;
      if (derivative !== undefined) derivative(time, y, out);
      else {
        out[level] = y[rate];
        out[total] = y[rate];
      }
    },
    arm(y) {
      set(FULL, LOCATED, full);
      set(FULL_TOO, LOCATED, fullToo);
      set(WATCHED, CONTACT, contact, y[made] === 1 ? -1 : 1);
      probing[0] = square !== undefined && y[high] === 0 ? 1 : 0;
    },
    probe: () => {
      probes[0] = outputs[0] - (square ?? 0) ** 2;
    },
    happen(y, marks, emit) {
      marks.forEach((mark, j) => {
        if (mark === 1) emit(j, 0, y[level], 0);
      });
      if (marks[SQUARE] === 1) y[high] = 1;
      if ((marks[FULL] === 1 || marks[FULL_TOO] === 1) && stays === undefined) {
        y[level] = 0;
        y[high] = 0;
      }
      return PHYSICS;
    },
    atTick(y, tick, emit) {
      let change: typeof NOTHING | typeof LOGIC | typeof PHYSICS = NOTHING;
      if (changes[tick] !== undefined) {
        y[rate] = changes[tick];
        change = PHYSICS;
      }
      if (tick % scanTicks !== 0 || contact === undefined) return change;
      const reads = y[level] >= contact ? 1 : 0;
      if (reads === y[made]) return change;
      y[made] = reads;
      emit(WATCHED, reads, tick, 0);
      return change === PHYSICS ? PHYSICS : LOGIC;
    },
    nextDue(_y, tick) {
      const ticks = Object.keys(changes).map(Number);
      return Math.min(Infinity, ...ticks.filter((t) => t > tick));
    },
  };
}

const NAMES = ['full', 'full too', 'contact', 'square'];
function run(of: Toy, ticks: number | readonly number[], options: EngineOptions = {}, sampleTicks = 0): Seen {
  const system = toy(of);
  const y = newState(layout);
  y[rate] = of.rate ?? 1;
  const log: string[] = [];
  const rows: [number, number][] = [];
  const settled: number[] = [];
  const engine = createEngine(system, options);
  let stop = '';
  for (const to of typeof ticks === 'number' ? [ticks] : ticks)
    stop = engine.advance(y, to, {
      sampleTicks,
      sample: (state, tick) => rows.push([tick, state[level]]),
      event: (state, code, item) => log.push(`${shown(state)} ${NAMES[code]}${item === 1 ? ' made' : ''}`),
      settled: (state) => settled.push(timeOf(state)),
    });
  return { y, stop, log, rows, settled };
}
const MODES: readonly Mode[] = ['skipAhead', 'everyTick', 'shortSteps'];

describe.each(MODES)('%s', (mode) => {
  test('what is located happens at its instant, again and again, and ends where it should', () => {
    const seen = run({ full: 0.42 }, 20, { mode });
    expect(seen.log).toEqual(['0.42 full', '0.84 full', '1.26 full', '1.68 full']);
    expect(seen.stop).toBe('reached');
    expect([seen.y[clock.tick], seen.y[clock.offset], seen.y[clock.done]]).toEqual([20, 0, 20]);
    expect(seen.y[level]).toBeCloseTo(2 - 4 * 0.42, 12);
    expect(seen.y[total]).toBeCloseTo(2, 12);
  });

  test('a contact is seen at the first scan at or after its instant, and resets likewise', () => {
    const seen = run({ full: 0.95, contact: 0.5, scanTicks: 3 }, 20, { mode });
    // 0.5 s: the scan at 0.6 s. Emptied at 0.95 s: that at 1.2 s. Then 0.95 + 0.5 s: that at 1.5 s.
    expect(seen.log).toEqual(['0.6 contact made', '0.95 full', '1.2 contact', '1.5 contact made', '1.9 full']);
    expect(run({ contact: 0.299 }, 5, { mode }).log).toEqual(['0.3 contact made']);
    expect(run({ contact: 0.301 }, 5, { mode }).log).toEqual(['0.4 contact made']);
  });

  test('an algebraic quantity is located too, and what is due cuts in between', () => {
    const seen = run({ square: 0.25, changes: { 3: 0, 7: 2 } }, 20, { mode });
    // 0.25 at 0.25 s; at rest from 0.3 to 0.7 s; then 0.7 more at twice the rate.
    expect(seen.log).toEqual(['0.25 square', '1.05 full', '1.175 square', '1.55 full', '1.675 square']);
  });

  test('rows come at every so many ticks with the level there, the first at 0, the last at the end', () => {
    const seen = run({ full: 10 }, 12, { mode }, 4);
    expect(seen.rows.map(([tick]) => tick)).toEqual([0, 4, 8, 12]);
    for (const [tick, height] of seen.rows) expect(height).toBeCloseTo(tick * TICK_s, 12);
    const uneven = run({ full: 0.42 }, 10, { mode }, 3);
    expect(uneven.rows.map(([tick]) => tick)).toEqual([0, 3, 6, 9]);
    for (const [tick, height] of uneven.rows) expect(height).toBeCloseTo((tick * TICK_s) % 0.42, 12);
  });

  test('in parts it is the same', () => {
    const whole = run({ full: 0.42, contact: 0.2 }, 20, { mode });
    const parts = run({ full: 0.42, contact: 0.2 }, [3, 4, 11, 20], { mode });
    expect(parts.log).toEqual(whole.log);
    expect(parts.y[level]).toBeCloseTo(whole.y[level], 12);
    // Going nowhere does nothing more.
    expect(run({ full: 0.42 }, [20, 20], { mode }).log).toHaveLength(4);
  });
});

describe('instants', () => {
  test('on a tick: the instant first, then what the tick brings', () => {
    const seen = run({ full: 0.5, contact: 0.5 }, 6);
    // Emptied just at the tick, so that the contact never reads true there.
    expect(seen.log.map((line) => line.replace(/^0\.(5|4999.*) /, '0.5 '))).toEqual(['0.5 full']);
    expect(seen.y[level]).toBeCloseTo(0.1, 12);
  });

  test('two closer than a nanosecond are one, others are two', () => {
    const together = run({ full: 0.42, fullToo: 0.42 + 0.5e-9 }, 5);
    expect(together.log).toEqual(['0.42 full', '0.42 full too']);
    // Emptied by the first, the second is not reached.
    const apart = run({ full: 0.42, fullToo: 0.42 + 2e-9 }, 5);
    expect(apart.log).toEqual(['0.42 full']);
    const square = run({ full: 0.42, square: 0.42 }, 5);
    expect(square.log).toEqual(['0.42 full', '0.42 square']);
  });

  test('what is true from the start happens at once, before anything moves', () => {
    expect(run({ square: 0 }, 5).log).toEqual(['0 square']);
    expect(run({ square: 0, rate: 0 }, 5).log).toEqual(['0 square']);
  });

  test('what undoes itself without end is a fault of the program, after a hundred times in a tick', () => {
    expect(() => run({ full: 0.42, stays: true }, 10)).toThrow(/more than 100 events in tick 4 \(t = 0\.4/);
    // A hundred in one tick are none: 1000 a second, one each millisecond, and a tick has 100 of them.
    const quick = run({ full: 0.001_000_1 }, 3);
    expect(quick.log.length).toBe(Math.floor(0.3 / 0.001_000_1));
    expect(() => run({ full: 0.000_99 }, 3)).toThrow(/more than 100 events/);
  });
});

describe('scans', () => {
  test('every one is carried out where that is asked for, else only those at which something happens', () => {
    const carriedOut = (mode: Mode) => {
      const system = toy({ full: 10, contact: 0.5, scanTicks: 2 });
      const ticks = new Set<number>();
      const y = newState(layout);
      y[rate] = 1;
      createEngine(
        {
          ...system,
          atTick: (state, tick, emit) => {
            ticks.add(tick);
            return system.atTick(state, tick, emit);
          },
        },
        { mode },
      ).advance(y, 20, { sampleTicks: 0 });
      return [...ticks].sort((p, q) => p - q);
    };
    expect(carriedOut('everyTick')).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20]);
    // 0.5 s is seen at tick 6.
    expect(carriedOut('skipAhead')).toEqual([0, 6, 20]);
  });

  test('a state changed from outside is looked at anew', () => {
    const y = newState(layout);
    y[rate] = 1;
    const engine = createEngine(toy({ full: 10, square: 0.3 }));
    const log: string[] = [];
    const observer = { sampleTicks: 0, event: (state: Float64Array) => log.push(shown(state)) };
    engine.advance(y, 5, observer);
    expect(log).toEqual(['0.3']);
    y[high] = 0;
    engine.advance(y, 6, observer);
    expect(log).toEqual(['0.3', '0.5']);
  });

  test('the middle of every piece is shown, and its end, with what belongs to them', () => {
    const system = toy({ full: 0.42 });
    const inside: number[] = [];
    const settled: number[] = [];
    const y = newState(layout);
    y[rate] = 1;
    const right = (state: Float64Array, time: number) => {
      expect(system.outputs[0]).toBeCloseTo(state[level] ** 2, 12);
      expect(state[total]).toBeCloseTo(time, 12);
    };
    createEngine({
      ...system,
      inside(state, time) {
        right(state, time);
        inside.push(time);
      },
      settled(state, time) {
        right(state, time);
        settled.push(time);
      },
    }).advance(y, 6, { sampleTicks: 0 });
    // Pieces end at 0.05, 0.3, 0.42 s; each has its middle, and the emptying is settled before and after.
    expect(inside.length).toBeGreaterThan(3);
    inside.forEach((time, k) => {
      const ends = [...new Set(settled)].sort((p, q) => p - q);
      expect(time).toBeCloseTo((ends[k] + ends[k + 1]) / 2, 9);
    });
    expect(settled.filter((t) => Math.abs(t - 0.42) < 1e-9).length).toBeGreaterThanOrEqual(2);
  });
});

describe('ends', () => {
  test('a budget of steps, a work limit, a condition', () => {
    expect(run({ full: 10 }, 1000, { stepBudget: 3 })).toMatchObject({ stop: 'work limit' });
    expect(run({ full: 10 }, 1000, { stepBudget: 3 }).y[clock.steps]).toBe(3);
    const system = toy({ full: 10 });
    const y = newState(layout);
    y[rate] = 1;
    expect(createEngine(system).advance(y, 1000, { sampleTicks: 0 }, (state) => state[level] > 3)).toBe('stopped');
    expect(y[level]).toBeGreaterThan(3);
    expect(y[level]).toBeLessThan(10);
  });

  test('work is one for each rate of each slot, 10 for each slot of a row, 25 of an event', () => {
    const spent = (of: Toy, ticks: number, every: number) => {
      const work = { spent: 0, limit: Infinity };
      const seen = run(of, ticks, { work, fixedStep_s: 0.5 }, every);
      return { spent: work.spent, seen };
    };
    // One slot, so one round and an eighth: 2 a rate. Two steps of 6 rates each after the first one.
    const plain = spent({ full: 10 }, 10, 0);
    expect(plain.seen.y[clock.steps]).toBe(2);
    expect(plain.spent).toBe(2 * (1 + 2 * 6));
    expect(spent({ full: 10 }, 10, 2).spent - plain.spent).toBe(6 * 10);
    const eventful = spent({ full: 10, contact: 0.2 }, 10, 0);
    expect(eventful.seen.log).toHaveLength(1);
    expect(eventful.spent).toBeGreaterThanOrEqual(plain.spent + 25);
  });

  test('rows end where the work limit does not allow another', () => {
    const work = { spent: 0, limit: 100 };
    const seen = run({ full: 10 }, 1000, { work }, 1);
    expect(seen.stop).toBe('work limit');
    expect(seen.rows.length).toBeGreaterThan(2);
    // Each costs 10.
    expect(seen.rows.length).toBeLessThanOrEqual(11);
    expect(work.spent).toBeLessThan(100 + 10 + 2 * 7);
    expect(seen.rows.map(([tick]) => tick)).toEqual(seen.rows.map((_, k) => k));
  });

  test('a number that is none, and a step that comes to nothing, are faults of the program', () => {
    const late = (time: number, _y: Float64Array, out: Float64Array) => out.fill(time > 0.3 ? Number.NaN : 1);
    expect(() => run({ full: 10, derivative: late }, 10)).toThrow(/step size came to nothing at t = 0\.(3|29)/);
    expect(() => run({ full: 10, derivative: late }, 10, { fixedStep_s: 0.1 })).toThrow(/level is NaN at t = /);
  });
});

describe('steps', () => {
  /** Lengths of the steps of a run, from the times at which the engine settles. */
  const lengths = (of: Toy, ticks: number, options: EngineOptions = {}) => {
    const { settled } = run(of, ticks, options);
    return settled.slice(1).map((t, k) => t - settled[k]);
  };

  test('the first is a twentieth of the time in which a slot would change by its size; good ones grow fivefold', () => {
    // From 0, at 2 a second and a scale of 1: 25 ms, then 125 ms, 625 ms.
    const first = lengths({ full: 100, rate: 2 }, 30);
    [0.025, 0.125, 0.625].forEach((length, k) => {
      expect(first[k]).toBeCloseTo(length, 9);
    });
    // A change asks for a fresh one: at 2 with a rate of 6, 25 ms again.
    const again = lengths({ full: 100, rate: 2, changes: { 10: 6 } }, 12);
    const at = again.findIndex((_, k) => Math.abs(again.slice(0, k).reduce((s, x) => s + x, 0) - 1) < 1e-9);
    expect(again[at]).toBeCloseTo(0.05 / (6 / 3), 9);
    // What stands still is left alone at once.
    expect(lengths({ full: 100, rate: 0 }, 30)).toEqual([3]);
  });

  test('none is longer than a tick where short ones are asked for, all are alike where they are fixed', () => {
    expect(Math.max(...lengths({ full: 100 }, 50, { mode: 'shortSteps' }))).toBeLessThanOrEqual(TICK_s + 1e-12);
    const fixed = lengths({ full: 100 }, 10, { fixedStep_s: 0.25 });
    expect(fixed).toHaveLength(4);
    for (const length of fixed) expect(length).toBeCloseTo(0.25, 12);
  });

  test('one that would be too wrong is taken again shorter, by no more than a fifth at a time', () => {
    // Still until 1 s, then swinging fast.
    const swing = (time: number, _y: Float64Array, out: Float64Array) => {
      out.fill(time < 1 ? 1 : 1 + Math.sin(300 * (time - 1)));
    };
    const seen = run({ full: 100, derivative: swing }, 20);
    // y = t + (1 - cos 300 (t - 1))/300; a thousand steps of 1e-8 each at the very most.
    const exact = 2 + (1 - Math.cos(300)) / 300;
    expect(Math.abs(seen.y[level] / exact - 1)).toBeLessThan(1e-6);
    // 48 swings; some ten steps each do, a hundred would be waste.
    expect(seen.y[clock.steps]).toBeGreaterThan(200);
    expect(seen.y[clock.steps]).toBeLessThan(1300);
  });

  // The step control of DOPRI5 (Hairer, Norsett and Wanner, "Solving Ordinary Differential Equations I", from memory):
  // h 0.9 err_before^0.04/err^0.17 after a step that was taken, h 0.9/err^0.2 after one that was not.
  test('follow the errors of this step and of the one before', () => {
    const decays = (time: number, y: Float64Array, out: Float64Array) => {
      out[level] = Math.cos(40 * time) * (3 - y[level]);
      out[total] = 0;
    };
    const system = toy({ full: 100, derivative: decays });
    const y = newState(layout);
    const engine = createEngine(system, { stepBudget: 1e9 });
    const stepper = createStepper(layout, decays, 1e-8);
    let [taken, again] = [0, 0];
    for (let n = 0; n < 60; n++) {
      const before = y.slice();
      let h = before[clock.planned];
      // One step at a time.
      let asked = 0;
      engine.advance(y, 1e6, { sampleTicks: 0 }, () => asked++ > 0);
      if (n === 0) continue;
      const time = timeOf(before);
      stepper.begin(time, before);
      for (;;) {
        const error = stepper.attempt(time, before, h, time + h);
        if (error > 1) {
          h *= Math.max(0.2, 0.9 / error ** 0.2);
          again++;
          continue;
        }
        const growth = (0.9 * before[clock.lastError] ** 0.04) / Math.max(error, 1e-10) ** 0.17;
        // An error is a difference of sums that nearly cancel.
        expect(timeOf(y) - time).toBeCloseTo(h, 12);
        expect(y[clock.planned] / (h * Math.min(5, Math.max(0.2, growth))) - 1).toBeCloseTo(0, 6);
        expect(y[clock.lastError] / Math.max(error, 1e-4) - 1).toBeCloseTo(0, 6);
        taken++;
        break;
      }
    }
    expect(taken).toBe(59);
    expect(again).toBeGreaterThan(3);
  });

  test('cut short by what is due, one does not shorten those after it', () => {
    const { y } = run({ full: 100, changes: {} }, [30]);
    expect(y[clock.planned]).toBeGreaterThan(0.3);
    const cut = run({ full: 100 }, [30, 31, 32]);
    expect(cut.y[clock.planned]).toBeGreaterThanOrEqual(y[clock.planned] / 5);
    expect(cut.y[clock.steps]).toBe(y[clock.steps] + 2);
  });
});
