/**
 * The numbers of the plant that faults and hands can change during a run, as slots of the state, and the faults that are
 * active. Between changes they are constant, so they only ever cut a step.
 */
import type { LayoutBuilder } from '../sim/layout.ts';
import type { FaultPlant } from './fault.ts';
import type { Plant } from './plant.ts';

/** Relief or safety valve: as it should, stuck open, stuck shut. */
export const ReliefState = { sound: 0, open: 1, shut: 2 } as const;
/** What a stuck switch reads: nothing forced, its condition true, its condition false. */
export const Stuck = { free: 0, on: 1, off: 2 } as const;
export const FaultState = { waiting: 0, active: 1, over: 2 } as const;

export interface AdjustSlots {
  /** First of one slot per motor. */
  readonly capacity: number;
  readonly isolated: number;
  readonly rotorLocked: number;
  /** Tick at which one of three phases was lost, -1 while all are there. */
  readonly phaseLost: number;
  /** Per pump: k of the flow back through its check valve, shift of its relief in Pa, its state. */
  readonly checkLeak: number;
  readonly reliefShift: number;
  readonly reliefState: number;
  /** Per valve: share of its lines that is open, factor on its load, pilot stuck, k of the leak across the piston. */
  readonly open: number;
  readonly loadFactor: number;
  readonly pilotStuck: number;
  readonly sealLeak: number;
  /** Per contact. */
  readonly stuck: number;
  readonly drift: number;
  readonly safetyShift: number;
  readonly safetyState: number;
  readonly airLeak: number;
  readonly oilLeak: number;
  /** Factor on the resistance of the filter element. */
  readonly filter: number;
  /** k of the hand drain and area of the hand vent, 0 when shut. */
  readonly drain: number;
  readonly vent: number;
  /** Ambient temperature over that of the site, K. */
  readonly ambient: number;
  /** Per fault. */
  readonly state: number;
  readonly ends: number;
  readonly since: number;
}

export interface Adjust {
  readonly slots: AdjustSlots;
  /** Sets every number to what the plant says. */
  start(y: Float64Array): void;
  /** Works out every number anew from the plant and the faults that are active. */
  apply(y: Float64Array): void;
}

const LARGE = Number.MAX_SAFE_INTEGER;

export function createAdjust(plant: Plant, layout: LayoutBuilder): Adjust {
  const { pumps, compressors, valves, faults } = plant;
  const motors = [...pumps, ...compressors];
  const contacts = plant.panel.contacts;
  const many = (
    items: readonly { readonly tag: string }[],
    name: string,
    unit: string,
    min = -Infinity,
    max = Infinity,
  ): number => {
    const first = layout.size();
    for (const { tag } of items) layout.discrete(`${tag}.${name}`, unit, min, max);
    return first;
  };
  const one = (name: string, unit: string, min = -Infinity, max = Infinity) => layout.discrete(name, unit, min, max);
  const numbered = faults.map((_, k) => ({ tag: `fault.${k}` }));
  const s: AdjustSlots = {
    capacity: many(motors, 'capacity', '1', 0, 1),
    isolated: many(motors, 'isolated', 'bit', 0, 1),
    rotorLocked: many(motors, 'rotorLocked', 'bit', 0, 1),
    phaseLost: many(motors, 'phaseLost', 'tick', -1, LARGE),
    checkLeak: many(pumps, 'checkLeak', 'm3/(s Pa^0.5)', 0),
    reliefShift: many(pumps, 'reliefShift', 'Pa'),
    reliefState: many(pumps, 'reliefState', '0 sound 1 open 2 shut', 0, 2),
    open: many(valves, 'linesOpen', '1', 0, 1),
    loadFactor: many(valves, 'loadFactor', '1', 0),
    pilotStuck: many(valves, 'pilotStuck', 'bit', 0, 1),
    sealLeak: many(valves, 'sealLeak', 'm3/(s Pa^0.5)', 0),
    stuck: many(contacts, 'stuck', '0 free 1 on 2 off', 0, 2),
    drift: many(contacts, 'drift', 'm or Pa'),
    safetyShift: one('safetyValve.shift', 'Pa'),
    safetyState: one('safetyValve.state', '0 sound 1 open 2 shut', 0, 2),
    airLeak: one('airLeak.area', 'm2', 0),
    oilLeak: one('oilLeak.k', 'm3/(s Pa^0.5)', 0),
    filter: one('filter.factor', '1', 1),
    drain: one('drain.k', 'm3/(s Pa^0.5)', 0),
    vent: one('vent.area', 'm2', 0),
    ambient: one('ambient.shift', 'K'),
    state: many(numbered, 'state', '0 waiting 1 active 2 over', 0, 2),
    ends: many(numbered, 'ends', 'tick', -1, LARGE),
    since: many(numbered, 'since', 'tick', -1, LARGE),
  };

  /** Everything that a fault can change and the hand does not, as the plant has it. */
  function base(y: Float64Array): void {
    motors.forEach((m, k) => {
      y[s.capacity + k] = 1;
      y[s.isolated + k] = m.isolated ? 1 : 0;
      y[s.rotorLocked + k] = 0;
      y[s.phaseLost + k] = -1;
    });
    pumps.forEach((_, k) => {
      y[s.checkLeak + k] = 0;
      y[s.reliefShift + k] = 0;
      y[s.reliefState + k] = ReliefState.sound;
    });
    valves.forEach((v, k) => {
      y[s.open + k] = 1;
      y[s.loadFactor + k] = 1;
      y[s.pilotStuck + k] = 0;
      y[s.sealLeak + k] = v.leak;
    });
    contacts.forEach((_, k) => {
      y[s.stuck + k] = Stuck.free;
      y[s.drift + k] = 0;
    });
    y[s.safetyShift] = 0;
    y[s.safetyState] = ReliefState.sound;
    y[s.airLeak] = plant.airLeakArea_m2;
    y[s.oilLeak] = plant.oilLeak;
    y[s.filter] = 1;
    y[s.ambient] = 0;
  }

  function work(y: Float64Array, f: FaultPlant, n: number): void {
    const k = f.item;
    switch (f.name) {
      case 'loses capacity':
        y[s.capacity + k] *= 1 - f.value;
        break;
      case 'isolation valve shut':
        y[s.isolated + k] = 1;
        break;
      case 'locked rotor':
        y[s.rotorLocked + k] = 1;
        break;
      case 'single phasing':
        y[s.phaseLost + k] = y[s.since + n];
        break;
      case 'check valve leaks':
      case 'check valve stuck open':
        y[s.checkLeak + k] += f.value;
        break;
      case 'relief lifts early':
        if (k < 0) y[s.safetyShift] -= f.value;
        else y[s.reliefShift + k] -= f.value;
        break;
      case 'relief stuck open':
      case 'relief stuck shut':
        y[k < 0 ? s.safetyState : s.reliefState + k] =
          f.name === 'relief stuck open' ? ReliefState.open : ReliefState.shut;
        break;
      case 'line blocked':
        y[s.open + k] *= 1 - f.value;
        break;
      case 'pilot stuck':
        y[s.pilotStuck + k] = 1;
        break;
      case 'seal bypass':
        y[s.sealLeak + k] += f.value;
        break;
      case 'load above specification':
        y[s.loadFactor + k] *= 1 + f.value;
        break;
      case 'switch stuck made':
        y[s.stuck + k] = Stuck.on;
        break;
      case 'switch stuck open':
        y[s.stuck + k] = Stuck.off;
        break;
      case 'float sunk':
        y[s.stuck + k] = contacts[k].low ? Stuck.on : Stuck.off;
        break;
      case 'switch drifted':
        y[s.drift + k] += f.value;
        break;
      case 'oil leak':
        y[s.oilLeak] += f.value;
        break;
      case 'air leak':
        y[s.airLeak] += f.value;
        break;
      case 'filter blocked':
        y[s.filter] /= 1 - f.value;
        break;
      case 'ambient cold':
        y[s.ambient] -= f.value;
        break;
      case 'ambient hot':
        y[s.ambient] += f.value;
        break;
    }
  }

  function apply(y: Float64Array): void {
    base(y);
    for (let n = 0; n < faults.length; n++) if (y[s.state + n] === FaultState.active) work(y, faults[n], n);
  }

  return {
    slots: s,
    start(y) {
      base(y);
      y[s.drain] = 0;
      y[s.vent] = 0;
      for (let n = 0; n < faults.length; n++) {
        y[s.ends + n] = -1;
        y[s.since + n] = -1;
      }
    },
    apply,
  };
}
