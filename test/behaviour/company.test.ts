/**
 * In company: a machine or valve does the same whether it is listed alone or behind another one that stays out of it. Every
 * slot and event of it, and all of tank and sump, as near as steps of other lengths come. What tests of the
 * first machine show holds for the second.
 */
import { describe, expect, test } from 'vitest';
import { type Changes, valve, type Watched, watch } from '../support/baseUnit.ts';

type Item = Readonly<Record<string, unknown>>;
const act = (t: number, what: string, item?: string) => ({ at: `${t} s`, do: what, ...(item ? { item } : {}) });
const fault = (t: number, name: string, item: string, more: Item = {}) => ({
  fault: name,
  item,
  at: `${t} s`,
  ...more,
});

/** Slots of the whole unit that have to be the same. */
const SHARED = /^(air|tank|sump|oil|shell|mains|controlPower|header|outlet|safetyValve|LS|PS)/;
/** What the company itself changes: alarms raised on it, whose turn it is, and why. */
const OWN_WORDS = /^called: /;

/** Runs it alone and behind `company`, and compares. Returns what was watched alone. */
function inCompany(tag: string, list: string, it: Item, company: Item, changes: Changes, seconds: number): Watched {
  const alone = watch({ ...changes, [list]: [it] }, seconds);
  const behind = watch({ ...changes, [list]: [company, it] }, seconds);
  const names = alone.unit.layout.slots
    .map((s) => s.name)
    .filter((name) => (name.startsWith(`${tag}.`) || SHARED.test(name)) && !/\.rounding$/.test(name));
  expect(names.length).toBeGreaterThan(40);
  for (let t = 0; t <= seconds; t += Math.max(0.5, Math.round(seconds / 100))) {
    const differing = names.filter((name) => {
      const [a, b] = [alone.slot(name, t), behind.slot(name, t)];
      // Totals have no error control of their own, and begin with little.
      return Math.abs(a - b) > 1e-4 * Math.max(Math.abs(a), Math.abs(alone.slot(name))) + 1e-9;
    });
    expect(differing, `at ${t} s`).toEqual([]);
  }
  const own = (w: Watched) =>
    w.events
      .filter((e) => (e.tag === tag || e.tag.startsWith(`${tag}-`)) && !OWN_WORDS.test(e.text))
      .map((e) => `${e.t.toFixed(3)} ${e.tag} ${e.text}`);
  expect(own(behind)).toEqual(own(alone));
  return alone;
}
const happens = (w: Watched, tag: string, ...words: string[]) => {
  for (const word of words) expect(w.times(tag, word).length, `${tag} ${word}`).toBeGreaterThan(0);
};

const pump = (more: Item = {}): Item => ({
  tag: 'P-1',
  ratedFlow: '60 L/min',
  slip: '5 %',
  relief: { cracking: '13 barg', fullFlow: '14 barg' },
  runUp: '2 s',
  ...more,
});
const idlePump = pump({ tag: 'P-0', selector: 'off', allowedStarts: 2 });
const compressor = (more: Item = {}): Item => ({ tag: 'C-1', freeAir: '600 L/min', runUp: '1 s', ...more });
const idleCompressor = compressor({ tag: 'C-0', selector: 'off', unloadedStart: '3 s', allowedStarts: 3 });

const withPump = (it: Item, changes: Changes, seconds: number) =>
  inCompany('P-1', 'pumps', pump(it), idlePump, { compressors: [], 'panel.alternation': 'fixed', ...changes }, seconds);
const withCompressor = (it: Item, changes: Changes, seconds: number) =>
  inCompany(
    'C-1',
    'compressors',
    compressor(it),
    idleCompressor,
    { 'panel.alternation': 'fixed', 'start.level': '0.75 m', 'start.pressure': '7.5 barg', ...changes },
    seconds,
  );
const low: Changes = { 'start.level': '0.55 m' };

describe('a pump', () => {
  test('that starts, runs long, loses the mains and waits for its turn to restart', () => {
    const w = withPump(
      { restartDelay: '4 s', leastOffTime: '9 s', leastRunTime: '30 s', allowedStarts: 1 },
      { ...low, 'panel.longestRun': '20 s', 'power.lostAt': '33 s', 'power.backAt': '41 s' },
      90,
    );
    happens(w, 'P-1', 'starts', 'stops');
    happens(w, 'P-1-long-run', 'alarm');
    happens(w, 'P-1-starts', 'alarm');
    expect(w.times('P-1', 'starts')[1]).toBe(45);
  });

  test.each(['by hand', 'automatic'])('whose rotor locks, with a relay reset %s', (reset) => {
    const w = withPump(
      { overload: { reset, class: '10' } },
      {
        ...low,
        faults: [fault(0, 'locked rotor', 'P-1', { for: '40 s' })],
        actions: [act(60, 'reset motor', 'P-1'), act(170, 'reset motor', 'P-1')],
      },
      190,
    );
    happens(w, 'P-1', 'overload relay trips', 'reset');
    happens(w, 'P-1-overload', 'alarm');
    if (reset === 'by hand') happens(w, 'P-1', 'overload relay too hot');
  });

  test('that loses a phase at speed, and one that cannot start', () => {
    happens(
      withPump({ ratedPower: '1 kW' }, { ...low, faults: [fault(20, 'single phasing', 'P-1', { for: '60 s' })] }, 100),
      'P-1',
      'starts',
    );
    const blocked = {
      ...low,
      actions: [act(0, 'block start', 'P-1'), act(20, 'allow start', 'P-1'), act(25, 'reset motor', 'P-1')],
    };
    happens(
      withPump({}, blocked, 60),
      'P-1',
      'not proven in time',
      'starter blocked',
      'starter freed',
      'reset',
      'starts',
    );
    const faulty = { ...low, faults: [fault(0, 'fails to start', 'P-1', { for: '15 s' }), fault(30, 'trips', 'P-1')] };
    happens(withPump({}, { ...faulty, actions: [act(20, 'reset motor', 'P-1')] }, 40), 'P-1', 'tripped', 'starts');
  });

  test('in hand, in off, tripped in hand, and past high levels', () => {
    const w = withPump(
      {},
      {
        'start.level': '0.75 m',
        actions: [
          act(3, 'set to hand', 'P-1'),
          act(20, 'trip motor', 'P-1'),
          act(30, 'reset motor', 'P-1'),
          act(40, 'set to off', 'P-1'),
          act(50, 'set to hand', 'P-1'),
        ],
      },
      220,
    );
    happens(w, 'P-1', 'selector to hand', 'selector to off', 'tripped', 'reset', 'called: in hand', 'stops');
    // High-high level takes it off.
    happens(w, 'LSHH-1', 'made');
    expect(w.running('P-1')).toBe(false);
    const left = { faults: [fault(5, 'left in hand', 'P-1', { for: '10 s' }), fault(20, 'left in off', 'P-1')] };
    happens(withPump({}, { ...low, ...left }, 40), 'P-1', 'selector to auto', 'selector to off');
  });

  test('proven by its flow, and by the rise of the level, or not', () => {
    const shut = { ...low, actions: [act(12, 'shut isolation', 'P-1'), act(30, 'open isolation', 'P-1')] };
    happens(withPump({ provenBy: 'flow switch' }, shut, 50), 'P-1', 'flow proven', 'flow lost', 'not proven in time');
    happens(withPump({ provenBy: 'rise', provenWithin: '20 s' }, low, 40), 'P-1', 'proven: the level rises');
    const dead = withPump({ provenBy: 'rise', isolation: 'shut', provenWithin: '7 s' }, low, 30);
    happens(dead, 'P-1', 'not proven in time');
    expect(dead.slot('P-1.pumped')).toBe(0);
  });

  test('with a worn rotor, a relief that lifts early or sticks, and a check valve that leaks', () => {
    const worn = [
      fault(5, 'loses capacity', 'P-1', { share: '30 %', for: '20 s' }),
      fault(15, 'relief lifts early', 'P-1', { by: '5 bar', for: '10 s' }),
      fault(30, 'relief stuck open', 'P-1', { for: '5 s' }),
      fault(40, 'isolation valve shut', 'P-1', { for: '5 s' }),
      fault(46, 'check valve stuck open', 'P-1', { flow: '6 L/min', at2: undefined }),
    ].map(({ at2: _, ...f }: Item) => f);
    const w = withPump({}, { ...low, faults: worn.slice(0, 4), actions: [act(50, 'set to off', 'P-1')] }, 70);
    expect(w.slot('P-1.pumped', 25) - w.slot('P-1.pumped', 20)).toBeLessThan(
      0.8 * (w.slot('P-1.pumped', 14) - w.slot('P-1.pumped', 9)),
    );
    expect(w.slot('P-1.pumped', 34) - w.slot('P-1.pumped', 31)).toBe(0);
  });

  test('with a check valve that leaks', () => {
    const leak = fault(5, 'check valve leaks', 'P-1', { flow: '3 L/min' });
    const w = withPump({}, { 'start.level': '0.75 m', faults: [leak] }, 60);
    // 3 L/min for 55 s are 2.75 L; the pressure they are stated at is that of the start, and falls.
    expect(w.slot('P-1.ranBack')).toBeGreaterThan(0.0026);
    expect(w.slot('P-1.ranBack')).toBeLessThan(0.00276);
  });

  test('found running', () => {
    const found = { 'start.level': '0.7 m', 'start.running': ['P-1'] };
    happens(withPump({ overload: { setting: '120 %' }, allowedStarts: 2 }, found, 120), 'P-1', 'stops');
  });
});

describe('a compressor', () => {
  test('that starts unloaded, runs long, loses the mains and restarts', () => {
    const w = withCompressor(
      { unloadedStart: '3 s', restartDelay: '4 s', leastOffTime: '9 s', leastRunTime: '30 s', allowedStarts: 1 },
      { 'panel.longestRun': '20 s', 'power.lostAt': '33 s', 'power.backAt': '41 s' },
      120,
    );
    happens(w, 'C-1', 'starts', 'stops');
    happens(w, 'C-1-long-run', 'alarm');
    happens(w, 'C-1-starts', 'alarm');
    expect(w.times('C-1', 'starts')[1]).toBe(45);
  });

  test('whose rotor locks, that loses a phase, that is blocked and tripped', () => {
    const locked = {
      faults: [fault(0, 'locked rotor', 'C-1', { for: '40 s' })],
      actions: [act(60, 'reset motor', 'C-1'), act(170, 'reset motor', 'C-1')],
    };
    happens(withCompressor({}, locked, 190), 'C-1', 'overload relay trips', 'overload relay too hot', 'reset');
    withCompressor({}, { faults: [fault(10, 'single phasing', 'C-1', { for: '30 s' })] }, 60);
    const blocked = {
      actions: [act(0, 'block start', 'C-1'), act(20, 'allow start', 'C-1'), act(25, 'reset motor', 'C-1')],
    };
    happens(withCompressor({}, blocked, 60), 'C-1', 'not proven in time', 'reset', 'starts');
  });

  test('in hand up to high pressure, and held off by the level', () => {
    const w = withCompressor({}, { 'start.pressure': '11 barg', actions: [act(3, 'set to hand', 'C-1')] }, 60);
    happens(w, 'C-1', 'called: in hand', 'stops');
    const off = withCompressor({}, { ...low, 'panel.heldOffAlarm': '20 s' }, 260);
    happens(off, 'KA-held-off', 'alarm');
    happens(off, 'compressors', 'allowed');
  });

  test('proven by its flow or by a rise, isolated, worn, against its relief', () => {
    const shut = { actions: [act(12, 'shut isolation', 'C-1'), act(30, 'open isolation', 'C-1')] };
    happens(withCompressor({ provenBy: 'flow switch' }, shut, 50), 'C-1', 'flow proven', 'flow lost');
    happens(withCompressor({ provenBy: 'rise', provenWithin: '60 s' }, {}, 60), 'C-1', 'proven: the pressure rises');
    const w = withCompressor(
      { relief: '8.6 barg' },
      { faults: [fault(5, 'loses capacity', 'C-1', { share: '40 %' })] },
      90,
    );
    expect(w.slot('C-1.delivered')).toBeGreaterThan(0);
    withCompressor({}, { 'start.running': ['C-1'] }, 60);
  });
});

describe('a valve', () => {
  const idle = valve({ tag: 'V-0', onTrip: 'stays', position: '40 %', pilot: { kind: 'detented' } });
  const plain: Changes = { compressors: [], 'start.level': '0.75 m', 'power.lostAt': '5 s' };
  const withValve = (it: Item, changes: Changes, seconds: number) =>
    inCompany('V-1', 'valves', valve(it), idle, { ...plain, ...changes }, seconds);
  const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], pause: '2 s', trip: { delay: '1 s' } };

  test('with a sequence, its pauses and its hold, and with control power that dies in it', () => {
    const w = withValve({ ...sequence, require: { longest: '30 s', hold: '20 s' } }, {}, 70);
    happens(w, 'V-1', 'close command', 'open command', 'held its end position');
    for (const kind of ['spring offset', 'spring centred', 'detented']) {
      const pilot = kind === 'spring offset' ? { kind, offset: 'opens' } : { kind };
      const died = withValve({ ...sequence, pilot }, { 'power.controlPowerHeld': '4 s', 'power.backAt': '30 s' }, 60);
      // The second stroke is the one that the spring makes.
      expect(died.times('V-1', 'further trip strokes lost')).toHaveLength(kind === 'spring offset' ? 0 : 1);
    }
  });

  test('with a stuck pilot, blocked lines, more load, a leaking seal', () => {
    withValve({}, { faults: [fault(2, 'pilot stuck', 'V-1', { for: '20 s' })] }, 50);
    withValve({}, { faults: [fault(7, 'line blocked', 'V-1', { share: '60 %', for: '20 s' })] }, 50);
    withValve({}, { faults: [fault(7, 'load above specification', 'V-1', { share: '800 %', for: '20 s' })] }, 50);
    withValve({ internalLeak: { flow: '1 L/min', at: '10 bar' } }, {}, 60);
    withValve({}, { faults: [fault(2, 'seal bypass', 'V-1', { flow: '2 L/min' })] }, 50);
  });

  test('moved in service, turned round on its way, refused while its trip stands', () => {
    const w = withValve(
      {},
      {
        'power.lostAt': '30 s',
        'power.backAt': '40 s',
        actions: [
          act(1, 'close valve', 'V-1'),
          act(4, 'open valve', 'V-1'),
          act(50, 'open valve', 'V-1'),
          act(55, 'reset trip'),
          act(56, 'open valve', 'V-1'),
        ],
      },
      80,
    );
    happens(w, 'V-1', 'stroke interrupted', 'command refused', 'open command');
  });

  test('held where it is by the outlet that shuts, and set free when a pump has brought oil', () => {
    // Oil for some 3 L over the float, which the stroke of 5 L uses up; P-1 runs in hand from 20 s on.
    const short = {
      pumps: [pump({ selector: 'off' })],
      'start.level': '0.416 m',
      'tank.outletShutOff': { level: '0.41 m' },
      'power.backAt': '18 s',
      actions: [act(20, 'set to hand', 'P-1')],
    };
    const load = {
      opening: '1 kN',
      closing: [
        { at: '0 %', force: '9 kN' },
        { at: '100 %', force: '2 kN' },
      ],
    };
    const w = withValve({ load }, short, 60);
    happens(w, 'T-1', 'outlet shuts', 'outlet opens');
    expect(w.first('V-1', 'closed')).toBeGreaterThan(w.first('T-1', 'outlet opens'));
  });

  test('into an end cushion', () => {
    const thin = { quadratic: '2e14 Pa s^2/m^6' };
    const cushion = { length: '60 mm', opening: thin, closing: thin };
    const soft = withValve({ speedControl: { opening: {}, closing: {}, cushion } }, {}, 60);
    const plainly = withValve({}, {}, 60);
    expect(soft.first('V-1', 'closed') - plainly.first('V-1', 'closed')).toBeGreaterThan(5);
  });

  test('with a spring, one that helps itself along, one that is pushed back', () => {
    withValve(
      { returnLine: { quadratic: '2e12 Pa s^2/m^6' }, spring: { drives: 'closes', preload: '5 kN', rate: '5 N/mm' } },
      {},
      40,
    );
    withValve({ load: { opening: '2 kN', closing: '-60 kN' }, returnLine: { quadratic: '2e12 Pa s^2/m^6' } }, {}, 40);
    const pushed = {
      mayBePushedBack: true,
      load: {
        opening: '2 kN',
        closing: [
          { at: '0 %', force: '90 kN' },
          { at: '60 %', force: '90 kN' },
          { at: '100 %', force: '0 kN' },
        ],
      },
    };
    withValve(pushed, { faults: [fault(8, 'load above specification', 'V-1', { share: '300 %' })] }, 40);
  });
});
