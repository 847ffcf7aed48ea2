/** Cases in which a law once failed, as small as they would go. */
import { describe, expect, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { formatFaults, loadScenario } from '../../scenarios/index.ts';
import { firstBadSlot, layoutBuilder, newState } from '../../sim/layout.ts';
import { worstResidual } from '../../sim/ledger.ts';
import type { Stepper } from '../../sim/stepper.ts';
import { createWatches, firstInstant, LOCATED } from '../../sim/watch.ts';
import { type Given, loneText } from '../support/loneValve.ts';
import { type CaseOptions, type CaseRun, firstDifference, firstOtherEvent, runCase } from '../support/runCase.ts';

function load(valves: Given | readonly Given[], more: Given & { readonly gauge?: string }, duration_s: number) {
  const loaded = loadScenario(loneText(valves, more), { file: 'regression' });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  const { plant } = loaded.scenario;
  return { plant, ticks: Math.round(duration_s / plant.tick_s) };
}
const of = (run: CaseRun, code: number) => run.events.filter((e) => e.code === code);
const sound = (run: CaseRun) => {
  expect(firstBadSlot(run.unit.layout, run.end)).toBeUndefined();
  expect(worstResidual(run.unit.accounts, run.start, run.end).relative).toBeLessThanOrEqual(1e-12);
};
/** Both ways of finding the next scan, which must agree. */
const bothWays = (c: ReturnType<typeof load>, options: CaseOptions = {}) => {
  const run = runCase(c, options);
  const everyTick = runCase(c, { ...options, mode: 'everyTick' });
  expect(firstOtherEvent(run.events, everyTick.events)).toBeUndefined();
  expect(firstDifference(run.unit, run.end, everyTick.end)).toBeUndefined();
  return run;
};

const pump = {
  tag: 'P-1',
  ratedFlow: '600 L/min',
  selector: 'hand',
  relief: { cracking: '30 barg', fullFlow: '33 barg' },
};
const pumpContacts = { level: { dutyStart: '0.1 m', stop: '0.2 m' } };

describe('a tank filled to the top', () => {
  // The air is blown off by the safety valve until none would be left, and no step is small enough for that.
  const full = load(
    [],
    {
      pumps: [pump],
      panel: pumpContacts,
      power: {},
      sump: { capacity: '4 m^3', depth: '1 m' },
      safetyValve: { set: '12 barg', reseat: '11 barg', bore: '20 mm' },
      actions: [{ at: '100 s', do: 'set to off' }],
      tank: {
        volume: '0.6 m^3',
        dissolvedAir: { model: 'none' },
        heat: { exchange: 'adiabatic' },
        drain: { flowCoefficient: 'Kv 1' },
      },
      steps: [{ for: '110 s' }, { do: 'open drain' }],
    },
    150,
  );

  test('takes no more, and takes oil again once some has left', () => {
    const run = runCase(full);
    expect(run.stop).toBe('reached');
    sound(run);
    expect(of(run, EventCode.tankFull)).toHaveLength(1);
    expect(of(run, EventCode.tankNotFull)).toHaveLength(1);
    for (const e of run.events) expect(e.oil_m3).toBeLessThan(0.6);
    expect(run.end[run.unit.layout.clock.steps]).toBeLessThan(2000);
  });
});

describe('a piston that shares its lines', () => {
  // A branch that costs next to nothing beside the header has no pressure left to drive it, and yet oil flows.
  test('does not count as stalled while the header takes nearly all the pressure', () => {
    const c = load(
      { supplyLine: { quadratic: '1e5 Pa s^2/m^6' }, returnLine: {} },
      { header: { quadratic: '1e12 Pa s^2/m^6' } },
      60,
    );
    const run = runCase(c);
    sound(run);
    expect(of(run, EventCode.valveMoving)).toHaveLength(1);
    expect(of(run, EventCode.valveStopped)).toHaveLength(0);
    expect(of(run, EventCode.valveEnd)).toHaveLength(1);
  });

  // When it comes to rest the header recovers by what its own flow has cost; that alone must not set it off again.
  test('stays at rest when it stalls beside others that move', () => {
    const climbing = {
      load: {
        opening: '2 kN',
        closing: [
          { at: '0 %', force: '60 kN' },
          { at: '100 %', force: '1 kN' },
        ],
      },
    };
    const slow = { supplyLine: { quadratic: '1e12 Pa s^2/m^6' } };
    const c = load([climbing, slow, slow], { header: { quadratic: '2e13 Pa s^2/m^6' } }, 30);
    const run = runCase(c);
    sound(run);
    const stalls = of(run, EventCode.valveStopped).filter((e) => e.item === 0);
    expect(stalls.length).toBeGreaterThan(0);
    expect(stalls.length).toBeLessThan(20);
  });
});

// A load that wins holds the piston at the balance with the falling pressure: creeping, not thousands of stops and starts.
test('a piston that creeps back with a falling pressure goes in few steps', () => {
  const c = load(
    {
      load: {
        opening: '2 kN',
        closing: [
          { at: '0 %', force: '17 kN' },
          { at: '50 %', force: '20 kN' },
          { at: '100 %', force: '10 kN' },
        ],
      },
      internalLeak: { flow: '20 L/min', at: '1 bar' },
      position: '30 %',
    },
    { gauge: '9 bar', leaks: { oil: { flow: '60 L/min', at: '9 barg' } } },
    30,
  );
  const run = runCase(c);
  sound(run);
  expect(of(run, EventCode.valveDrifting).length).toBeGreaterThan(0);
  // A step for each 1000 Pa that are lost.
  const lost = run.unit.gasPressure(run.start) - run.unit.gasPressure(run.end);
  expect(of(run, EventCode.valveDrifting).length).toBeLessThan(lost / 900 + 2);
});

// Lost by a step of the hands, the control power that nothing holds dies at that very scan.
test('mains lost by a step without control power held', () => {
  const c = load(
    {},
    { power: { controlPowerHeld: '0 s' }, steps: [{ for: '1 s' }, { do: 'lose mains' }], run: { duration: '5 s' } },
    5,
  );
  const run = bothWays(c);
  expect(of(run, EventCode.controlPowerLost).map((e) => e.time_s)).toEqual([1]);
});

// A long run calls the standby; when the one that ran long fails in the same scan, the call for a second goes with it.
test('a machine that runs long and then fails', () => {
  const compressor = { freeAir: '100 L/min', runUp: '30 s', provenBy: 'flow switch' };
  const c = load(
    [],
    {
      compressors: ['C-1', 'C-2', 'C-3'].map((tag) => ({ tag, ...compressor })),
      panel: {
        pressure: { cutIn: '11 barg', cutOut: '12 barg' },
        provenWithin: '90 ms',
        longestRun: '70 ms',
      },
      power: {},
    },
    5,
  );
  bothWays(c);
});

// A value that stays within its rounding under zero had the whole step searched in its smallest pieces, a thousand million.
test('the search for an instant gives up a value that falls away from zero by less than its rounding', () => {
  const b = layoutBuilder();
  b.integrated({ name: 'x', unit: '1', min: -1, max: 1, scale: 1 });
  const layout = b.build();
  let looks = 0;
  const falling = (theta: number) => 1 - 1e-16 - 1e-16 * theta;
  const stepper = {
    low: [falling(1)],
    high: [falling(0)],
    bound: () => {},
    at: (_: Float64Array, __: number, theta: number) => {
      looks++;
      return falling(theta);
    },
    hull: (_: Float64Array, __: number, out: Float64Array) => {
      for (let i = 0; i < 5; i++) out[i] = falling(i / 4);
    },
  } as unknown as Stepper;
  const w = createWatches(1);
  w.mode[0] = LOCATED;
  w.a[0] = 1;
  w.c[0] = -1;
  expect(firstInstant(w, 0, stepper, newState(layout))).toBe(Infinity);
  expect(looks).toBeLessThan(100);
});
