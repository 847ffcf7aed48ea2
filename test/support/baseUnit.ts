/**
 * A small invented unit with round numbers, to watch the panel at work: 1 m3 of tank on 0.5 m2 of floor, so that 1 L is
 * 2 mm of level; pumps of 60 L/min without slip, so that a running pump lifts the level by 2 mm/s; air kept at ambient
 * temperature. Tick and scan are 0.1 s.
 *
 * Every run is made twice, carrying out the panel at every scan and skipping quiet ones; both must come to the same
 * state, bit for bit, and the same events. A scan that changes something by itself, or a timer that names no tick, fails.
 * What the unit promises the engine is checked beside it (contract.ts).
 */
import { expect } from 'vitest';
import { createUnit, type Unit } from '../../models/unit.ts';
import { eventWords } from '../../scenarios/eventText.ts';
import { formatFaults, loadScenario } from '../../scenarios/index.ts';
import { createEngine, type Mode } from '../../sim/engine.ts';
import { expectAtRest, expectInBounds, expectUnused, honest } from './contract.ts';

export const BASE = `
title: a small invented unit
seed: "7"
clock: { tick: 100 ms }
site: { barometer: 101.325 kPaa, temperature: 20 degC }
oil: { grade: 46, temperature: 40 degC }
tank: { insideDiameter: 797.8845608 mm, straightLength: 2 m, heads: flat, outletLevel: 0.1 m, heat: { exchange: isothermal } }
sump: { capacity: 1 m^3, depth: 1 m, suctionLevel: 0.1 m }
pumps:
  - { tag: P-1, ratedFlow: 60 L/min, slip: 0 %, relief: { cracking: 13 barg, fullFlow: 14 barg }, runUp: 0 s }
  - { tag: P-2, ratedFlow: 60 L/min, slip: 0 %, relief: { cracking: 13 barg, fullFlow: 14 barg }, runUp: 0 s }
compressors:
  - { tag: C-1, freeAir: 600 L/min, runUp: 0 s }
  - { tag: C-2, freeAir: 600 L/min, runUp: 0 s }
panel:
  level:
    lowLow: { tag: LSLL-1, at: 0.30 m }
    low: { tag: LSL-1, at: 0.40 m }
    standbyStart: { tag: LS-2, at: 0.50 m }
    dutyStart: { tag: LS-1, at: 0.60 m }
    normal: { tag: LS-3, at: 0.70 m }
    stop: { tag: LS-4, at: 0.80 m }
    high: { tag: LSH-1, at: 0.90 m }
    highHigh: { tag: LSHH-1, at: 1.00 m }
  pressure:
    lowLow: { tag: PSLL-1, at: 6.0 barg }
    low: { tag: PSL-1, at: 6.5 barg }
    standbyCutIn: { tag: PS-2, at: 7.0 barg }
    cutIn: { tag: PS-1, at: 8.0 barg }
    cutOut: 9.0 barg
    high: { tag: PSH-1, at: 11.5 barg }
    highHigh: { tag: PSHH-1, at: 12.0 barg }
  sump:
    low: { tag: LSL-9, at: 0.2 m }
    high: { tag: LSH-9, at: 0.9 m }
start: { pressure: 8.5 barg, level: 0.65 m }
`;

/** Lowers the level by about 1 mm/s at 8.5 bar. */
export const DRAIN = { flow: '30 L/min', at: '8.5 barg' };

/** A valve of about 5 L a stroke that closes or opens in about 10 s; the rest is as given. */
export function valve(more: Readonly<Record<string, unknown>> = {}) {
  return {
    tag: 'V-1',
    bore: '150 mm',
    rod: '40 mm',
    stroke: '300 mm',
    load: { opening: '2 kN', closing: '2 kN' },
    supplyLine: { quadratic: '2e12 Pa s^2/m^6' },
    position: '100 %',
    onTrip: 'closes',
    ...more,
  };
}

export type Changes = Readonly<Record<string, unknown>>;

export interface Seen {
  readonly t: number;
  readonly tag: string;
  readonly text: string;
}

export interface Watched {
  readonly unit: Unit;
  readonly events: readonly Seen[];
  /** Times at which `tag` did something whose words begin with `text`. */
  times(tag: string, text: string): number[];
  /** The first of them; fails when there is none. */
  first(tag: string, text: string): number;
  /** Value of a slot at a time (a whole number of ticks), or at the end. */
  slot(name: string, time_s?: number): number;
  running(tag: string, time_s?: number): boolean;
  /** Level in m and gauge pressure in bar. */
  level(time_s?: number): number;
  pressure(time_s?: number): number;
  /** An algebraic quantity of a state: flow of a pump, m3/s. */
  flows(time_s?: number): { readonly pump: number[]; readonly relief: number[]; readonly air: number[] };
}

/** Expects a reading to have passed a value in the tick (0.1 s) that ends at a time. */
export function expectPassed(reading: (time_s: number) => number, t: number, value: number): void {
  const [before, after] = [reading(t - 0.1), reading(t)];
  expect((before - value) * (after - value), `${before} then ${after}, about ${value}`).toBeLessThanOrEqual(0);
}

/** The base unit with changes: paths of the file and what to write there. */
export function baseUnit(changes: Changes = {}): Unit {
  const overrides = Object.entries(changes).map(
    ([path, value]) => `${path}=${typeof value === 'string' ? value : JSON.stringify(value)}`,
  );
  const loaded = loadScenario(BASE, { file: 'base', overrides });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  return createUnit(loaded.scenario.plant);
}

/** Runs a unit for a time in s; `prepare` may change the state before. */
export function watch(
  changes: Changes,
  seconds: number,
  prepare: (y: Float64Array, unit: Unit) => void = () => {},
): Watched {
  const unit = baseUnit(changes);
  const fast = once(unit, seconds, 'skipAhead', prepare);
  const full = once(unit, seconds, 'everyTick', prepare);
  expect(fast.events).toEqual(full.events);
  const differing = unit.layout.slots.filter((_, k) => !Object.is(fast.end[k], full.end[k])).map((slot) => slot.name);
  expect(differing, 'slots in which skipping quiet scans made a difference').toEqual([]);
  const { layout } = unit;
  const { tick_s, ambientPressure_Pa } = unit.plant;
  const stateAt = (time_s?: number) => {
    const state = time_s === undefined ? fast.end : fast.states[Math.round(time_s / tick_s)];
    if (state === undefined) throw new Error(`the run has no state at ${time_s} s`);
    return state;
  };
  const slot = (name: string, time_s?: number) => {
    const k = layout.slots.findIndex((info) => info.name === name);
    if (k < 0) throw new Error(`there is no slot ${name}`);
    return stateAt(time_s)[k];
  };
  const times = (tag: string, text: string) =>
    fast.events.filter((e) => e.tag === tag && e.text.startsWith(text)).map((e) => e.t);
  return {
    unit,
    events: fast.events,
    times,
    first(tag, text) {
      const [t] = times(tag, text);
      if (t === undefined) throw new Error(`"${tag} ${text}" did not happen:\n${printed(fast.events)}`);
      return t;
    },
    slot,
    running: (tag, time_s) => slot(`${tag}.running`, time_s) === 1,
    level: (time_s) => unit.level(stateAt(time_s)),
    pressure: (time_s) => (unit.gasPressure(stateAt(time_s)) - ambientPressure_Pa) / 1e5,
    flows(time_s) {
      const y = stateAt(time_s);
      unit.derivative(y[layout.clock.tick] * tick_s, y, new Float64Array(layout.advanced));
      const part = (from: number, count: number) => [...unit.outputs.slice(from, from + count)];
      const { pumps, compressors } = unit.plant;
      const { out } = unit;
      return {
        pump: part(out.pumpFlow, pumps.length),
        relief: part(out.reliefFlow, pumps.length),
        air: part(out.airFlow, compressors.length),
      };
    },
  };

  function once(of: Unit, length_s: number, mode: Mode, ready: typeof prepare) {
    const y = of.start();
    ready(y, of);
    const events: Seen[] = [];
    const states: Float64Array[] = [];
    const { clock } = of.layout;
    const run = mode === 'skipAhead' ? honest(of) : of;
    createEngine(run, { mode }).advance(y, Math.round(length_s / of.plant.tick_s), {
      sampleTicks: 1,
      sample(state, tick) {
        if (mode !== 'skipAhead') return;
        states[tick] = state.slice();
        expectAtRest(of, state);
        if (tick % 10 === 0) expectInBounds(of, state);
      },
      event: (state, code, item, value, other) => {
        expectUnused(code, item, value, other);
        const t = state[clock.tick] * of.plant.tick_s + state[clock.offset];
        // To the nanosecond: 3 x 0.1 is not 0.3.
        events.push({ t: Math.round(t * 1e9) / 1e9, ...eventWords(of, code, item, value, other, 'si') });
      },
    });
    return { end: y, events, states };
  }
}

export function printed(events: readonly Seen[]): string {
  return events.map((e) => `${e.t} ${e.tag} ${e.text}`).join('\n');
}
