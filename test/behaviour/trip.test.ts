/**
 * Trip of the valves on loss of power. V-1 takes about 8 s a stroke. Times expected here are sums of the delays set.
 * Each test names the flip with which it was seen to fail.
 */
import { describe, expect, test } from 'vitest';
import { type Changes, expectPassed, valve, type Watched, watch } from '../support/baseUnit.ts';
import { replayed } from '../support/recorded.ts';

const plain: Changes = { compressors: [], 'start.level': '0.75 m', 'power.lostAt': '5 s' };
const unit = (more: Readonly<Record<string, unknown>>, changes: Changes = {}): Changes => ({
  ...plain,
  valves: [valve(more)],
  ...changes,
});
const commands = (w: Watched) => w.events.filter((e) => /^(open|close) command/.test(e.text)).map((e) => [e.t, e.text]);
const closes = 'close command, trip';
const opens = 'open command, trip';
const lost = 'further trip strokes lost';
/** First scan (0.1 s) at or after an instant. */
const scanAfter = (t: number) => Math.ceil(t * 10 - 1e-9) / 10;

describe('delays', () => {
  // Flip: either delay is left out.
  test('the undervoltage delay, then that of the valve', () => {
    const w = watch(unit({ trip: { delay: '2 s' } }, { 'power.undervoltageDelay': '0.5 s' }), 20);
    expect(w.first('undervoltage relay', 'trips')).toBe(5.5);
    expect(commands(w)).toEqual([[7.5, closes]]);
    expect(w.slot('V-1.position')).toBe(0);
  });

  test('expire at the first scan at or after them', () => {
    // Flip: delays rounded to the nearest tick.
    expect(commands(watch(unit({}, { 'power.undervoltageDelay': '0.21 s' }), 20))).toEqual([[5.3, closes]]);
    // Seen at 5.2 s; 5.45 s falls to the scan at 5.6 s, 5.6 + 0.5 s to that at 6.4 s. Flip: delays expire between scans.
    const delays = { 'power.undervoltageDelay': '0.25 s', 'clock.scanTicks': '4', 'power.lostAt': '5.1 s' };
    const w = watch(unit({ trip: { delay: '0.5 s' } }, delays), 20);
    expect(w.first('undervoltage relay', 'trips')).toBe(5.6);
    expect(commands(w)).toEqual([[6.4, closes]]);
  });

  test('a dip shorter than the undervoltage delay trips nothing', () => {
    // Flip: the relay does not ask whether the mains are back.
    const dip = { 'power.undervoltageDelay': '0.5 s', 'power.backAt': '5.4 s' };
    expect(commands(watch(unit({}, dip), 20))).toEqual([]);
    // Nor does one that begins with the run, at tick 0. Flip: a relay that began to time at tick 0 is not seen to stop.
    expect(commands(watch(unit({}, { ...dip, 'power.lostAt': '0 s', 'power.backAt': '0.4 s' }), 5))).toEqual([]);
    // Flip: the delay goes on from where the first dip left it.
    const twice = {
      ...dip,
      actions: [
        { at: '5.6 s', do: 'lose mains' },
        { at: '6 s', do: 'restore mains' },
      ],
    };
    expect(commands(watch(unit({}, twice), 20))).toEqual([]);
  });
});

describe('what a valve does', () => {
  // Flip, for each: it closes.
  test.each([
    ['closes', '100 %', [[5, closes]], 0],
    ['opens', '0 %', [[5, opens]], 1],
    ['stays', '40 %', [], 0.4],
  ] as const)('%s', (onTrip, position, expected, end) => {
    const w = watch(unit({ onTrip, position }), 30);
    expect(commands(w)).toEqual(expected);
    expect(w.slot('V-1.position')).toBe(end);
  });

  // Flip: the pause is left out; only the first stroke is made.
  test('follows a sequence with a pause at each end', () => {
    const w = watch(unit({ onTrip: 'sequence', sequence: ['closes', 'opens', 'closes'], pause: '2 s' }), 60);
    const [first, second] = [w.times('V-1', 'closed after')[0], w.first('V-1', 'open after')];
    expect(commands(w)).toEqual([
      [5, closes],
      [scanAfter(first) + 2, opens],
      [scanAfter(second) + 2, closes],
    ]);
    expect(w.times('V-1', 'closed after')).toHaveLength(2);
  });

  // Flip: every valve trips by the mains.
  test('trips by control power where that is its source', () => {
    const w = watch(unit({ trip: { source: 'control power' } }, { 'power.controlPowerHeld': '4 s' }), 30);
    expect(commands(w)).toEqual([[9, closes]]);
    const held = watch(unit({ trip: { source: 'control power' } }), 30);
    expect(commands(held)).toEqual([]);
  });
});

describe('control power dies before the valve was commanded', () => {
  const late = (pilot: object) => unit({ trip: { delay: '10 s' }, pilot }, { 'power.controlPowerHeld': '3 s' });

  // Flip: every pilot is detented.
  test('a spring-offset pilot goes to its offset at once', () => {
    const w = watch(late({ kind: 'spring offset' }), 30);
    expect(commands(w)).toEqual([[8, closes]]);
    expect(w.times('V-1', lost)).toEqual([]);
    expect(w.slot('V-1.position')).toBe(0);
  });

  test('one that stands at its offset already has made the first stroke', () => {
    // Flip: only a pilot that turns makes a stroke.
    const closed = { ...late({ kind: 'spring offset' }), actions: [{ at: '1 s', do: 'close valve', item: 'V-1' }] };
    const w = watch(closed, 30);
    expect(commands(w).map(([t]) => t)).toEqual([1, 8]);
    expect(w.times('V-1', lost)).toEqual([]);
  });

  test('its offset may be the other way', () => {
    // Flip: the offset is that of the trip.
    const w = watch({ ...late({ kind: 'spring offset', offset: 'opens' }), 'valves.V-1.position': '50 %' }, 30);
    expect(commands(w)).toEqual([[8, 'open command']]);
    expect(w.first('V-1', lost)).toBe(8);
    expect(w.slot('V-1.position')).toBe(1);
  });

  // Flip: every pilot is spring-offset.
  test.each(['detented', 'spring centred'])('a %s one stays, and the stroke is lost', (kind) => {
    const w = watch(late({ kind }), 30);
    expect(commands(w)).toEqual([]);
    expect(w.first('V-1', lost)).toBe(8);
    expect(w.slot('V-1.position')).toBe(1);
  });
});

describe('control power dies in mid-stroke', () => {
  const during = (pilot: object) => unit({ pilot }, { 'power.controlPowerHeld': '3 s' });

  test('a detented pilot stays, and the stroke is finished', () => {
    // Flip: every pilot is spring-centred.
    const w = watch(during({ kind: 'detented' }), 30);
    expect(commands(w)).toEqual([[5, closes]]);
    expect(w.slot('V-1.position')).toBe(0);
  });

  test('a spring-centred pilot blocks the valve where it is', () => {
    // Flip: every pilot is detented.
    const w = watch(during({ kind: 'spring centred' }), 30);
    expect(w.first('V-1', 'blocked by its pilot')).toBe(8);
    expect(w.slot('V-1.position')).toBe(w.slot('V-1.position', 8));
    expect(w.slot('V-1.position')).toBeGreaterThan(0.3);
  });

  test('a spring-offset pilot turns the valve round', () => {
    // Flip: a pilot already shifted stays.
    const w = watch(during({ kind: 'spring offset', offset: 'opens' }), 30);
    expect(commands(w)).toEqual([
      [5, closes],
      [8, 'open command'],
    ]);
    expect(w.slot('V-1.position')).toBe(1);
  });

  // Flip: strokes to come are not lost; they go on when control power is back.
  test.each(['spring offset', 'detented'])(
    'later strokes of a sequence are lost, with a %s pilot, also when power is back',
    (kind) => {
      const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], pilot: { kind } };
      const w = watch(unit(sequence, { 'power.controlPowerHeld': '3 s', 'power.backAt': '20 s' }), 40);
      expect(commands(w)).toEqual([[5, closes]]);
      expect(w.first('V-1', lost)).toBe(8);
      expect(w.slot('V-1.position')).toBe(0);
    },
  );

  test('the next outage trips anew, after a trip by the spring alone', () => {
    // Flip: the strokes begun are not set back when control power is back.
    const again = [
      { at: '25 s', do: 'open valve', item: 'V-1' },
      { at: '45 s', do: 'lose mains' },
    ];
    const before = { 'power.undervoltageDelay': '5 s', 'power.controlPowerHeld': '3 s', 'power.backAt': '20 s' };
    const w = watch({ ...unit({}, before), actions: again }, 70);
    expect(commands(w)).toEqual([
      [8, closes],
      [25, 'open command'],
      [48, closes],
    ]);
  });
});

describe('mains back in mid-stroke', () => {
  const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'] };
  const back: Changes = { 'power.backAt': '8 s' };
  const open = { at: '30 s', do: 'open valve', item: 'V-1' };

  // Flip: the relay releases.
  test('the trip stands until it is reset: the sequence goes on', () => {
    const w = watch(unit(sequence, back), 40);
    expect(commands(w).map(([, text]) => text)).toEqual([closes, opens]);
  });

  // Flip: the relay stands.
  test('or ends with the loss of the mains: the stroke under way is finished, no other begun', () => {
    const w = watch(unit(sequence, { ...back, 'power.trip': 'while mains are lost' }), 40);
    expect(commands(w)).toEqual([[5, closes]]);
    expect(w.slot('V-1.position')).toBe(0);
  });

  test('a trip that ends before the delay of a valve does not reach it', () => {
    // Flip: the end of the trip does not stop the delay.
    const w = watch(unit({ trip: { delay: '6 s' } }, { ...back, 'power.trip': 'while mains are lost' }), 30);
    expect(commands(w)).toEqual([]);
  });

  // Flip: the valve takes commands while tripped; a reset does nothing.
  test('a standing trip refuses other commands, until it is reset', () => {
    const refused = watch({ ...unit({}, back), actions: [open] }, 40);
    expect(commands(refused)).toEqual([[5, closes]]);
    expect(refused.first('V-1', 'command refused: its trip stands')).toBe(30);
    const atOnce = watch({ ...unit({}, back), 'power.lostAt': '0 s', actions: [open] }, 40);
    expect(atOnce.first('V-1', 'command refused: its trip stands')).toBe(30);
    const reset = watch({ ...unit({}, back), actions: [{ at: '25 s', do: 'reset trip' }, open] }, 40);
    expect(reset.first('trip', 'reset')).toBe(25);
    expect(commands(reset)).toEqual([
      [5, closes],
      [30, 'open command'],
    ]);
  });

  test('no command without control power', () => {
    // Flip: control power is not asked for.
    const dead = { 'power.controlPowerHeld': '1 s', actions: [{ ...open, at: '20 s' }] };
    const w = watch(unit({ onTrip: 'stays', position: '40 %' }, dead), 30);
    expect(commands(w)).toEqual([]);
    expect(w.first('V-1', 'command refused: no control power')).toBe(20);
  });

  // Flip: a reset is taken at any time.
  test('no reset while the mains are lost', () => {
    const w = watch({ ...plain, valves: [valve()], actions: [{ at: '20 s', do: 'reset trip' }] }, 40);
    expect(w.times('trip', 'reset')).toEqual([]);
    expect(w.first('trip', 'not reset')).toBe(20);
    expect(commands(w)).toEqual([[5, closes]]);
  });

  // Flip: strokes begun are not set back by a reset; a standing trip begins anew with every loss.
  test('the next outage trips the valve again only after a reset', () => {
    const again = { at: '50 s', do: 'lose mains' };
    const kept = watch({ ...unit({}, back), actions: [again] }, 70);
    expect(commands(kept)).toEqual([[5, closes]]);
    const reset = watch({ ...unit({}, back), actions: [{ at: '25 s', do: 'reset trip' }, open, again] }, 70);
    expect(commands(reset).at(-1)).toEqual([50, closes]);
  });

  // Flip: the same stroke commanded again begins anew, and what is left of it looks like a closure far too fast.
  test('a trip that comes again during its stroke leaves it the same stroke', () => {
    const required = { require: { longest: '30 s', shortest: '3 s' } };
    const twice = {
      'power.backAt': '8 s',
      'power.trip': 'while mains are lost',
      actions: [{ at: '12 s', do: 'lose mains' }],
    };
    const w = watch(unit(required, twice), 40);
    expect(w.times('undervoltage relay', 'trips')).toHaveLength(2);
    expect(commands(w)).toEqual([[5, closes]]);
    expect(w.times('V-1', 'stroke interrupted')).toEqual([]);
    expect(w.first('V-1', 'closed after')).toBeGreaterThan(12);
    const [stroke] = replayed({ ...unit(required, twice), 'run.duration': '60 s' }).result.verdict.strokes;
    expect(stroke.outcome).toBe('completed');
    expect(stroke.time_s).toBeCloseTo(w.first('V-1', 'closed after') - 5, 6);
  });
});

test('a command given again by hand begins the stroke anew, from where the piston is', () => {
  // Flip: it is passed over, as a trip that comes again is.
  const again = [1, 3].map((t) => ({ at: `${t} s`, do: 'close valve', item: 'V-1' }));
  const w = watch({ pumps: [], compressors: [], valves: [valve()], actions: again }, 30);
  expect(commands(w).map(([t]) => t)).toEqual([1, 3]);
  expect(w.times('V-1', 'stroke interrupted')).toEqual([3]);
  expect(w.slot('V-1.commanded')).toBe(3);
  expect(w.slot('V-1.from')).toBe(w.slot('V-1.position', 3));
});

test.each([
  ['closes', 'close valve', '100 %', (Math.PI / 4) * (0.15 ** 2 - 0.04 ** 2)],
  ['opens', 'open valve', '0 %', (Math.PI / 4) * 0.15 ** 2],
])(
  'the least margin of a stroke that %s is kept as a share of the load and as pressure on the driving side',
  (_, command, position, area) => {
    const load = { opening: '4 kN', closing: '4 kN' };
    const friction = { running: '0 N', breakaway: '0 N' };
    const it = valve({ position, load, friction });
    const w = watch(
      { pumps: [], compressors: [], valves: [it], actions: [{ at: '1 s', do: command, item: 'V-1' }] },
      20,
    );
    const share = w.slot('V-1.leastMargin');
    expect(share).toBeGreaterThan(1);
    expect(w.slot('V-1.leastMargin_Pa') * area).toBeCloseTo(share * 4000, 6);
  },
);

test('what a piston has to overcome to set off counts, where that is most', () => {
  // 4 kN of load and 8 kN of friction at rest, 0.1 kN on the way; the thrust is that of 8.5 bar on the rod side.
  const it = valve({ load: { opening: '4 kN', closing: '4 kN' }, friction: { running: '0.1 kN', breakaway: '8 kN' } });
  const w = watch(
    { pumps: [], compressors: [], valves: [it], actions: [{ at: '1 s', do: 'close valve', item: 'V-1' }] },
    20,
  );
  const thrust = 8.5e5 * (Math.PI / 4) * (0.15 ** 2 - 0.04 ** 2);
  expect(w.slot('V-1.leastMargin')).toBeCloseTo(thrust / 12_000 - 1, 3);
  expect(w.slot('V-1.leastAt')).toBe(1);
});

describe('hold', () => {
  const hold = { require: { longest: '30 s', hold: '40 s' } };

  // Flip: the hold is not timed; it is timed from the command.
  test('is timed from the end of the stroke', () => {
    const w = watch(unit(hold), 70);
    expect(w.first('V-1', 'held its end position')).toBe(scanAfter(w.first('V-1', 'closed after')) + 40);
    expect(w.times('V-1', 'held its end position')).toHaveLength(1);
  });

  // Flip: a valve with leaking seals does not drift.
  test('a valve that drifts off is reported, and did not hold', () => {
    // 2 kN on 0.0177 m2 less the rod is about 1.2 bar; the air leaks away under that.
    const leaky = { ...hold, internalLeak: { flow: '1 L/min', at: '10 bar' } };
    const gone: Changes = { 'leaks.air': { fall: '1200 bar/h', at: '8.5 barg' } };
    const w = watch(unit(leaky, gone), 100);
    const t = w.first('V-1', 'drifts off');
    expect(t).toBeGreaterThan(w.first('V-1', 'closed after'));
    expect(w.first('V-1', 'did not hold its end position')).toBeGreaterThan(t);
    expect(w.slot('V-1.position')).toBeGreaterThan(0);
  });
});

test('several valves trip each by its own delay', () => {
  // Flip: all by the delay of the first.
  const tags = ['V-1', 'V-2', 'V-3'];
  const w = watch({ ...plain, valves: tags.map((tag, k) => valve({ tag, trip: { delay: `${2 * k} s` } })) }, 40);
  expect(tags.map((tag) => w.first(tag, closes))).toEqual([5, 7, 9]);
  expectPassed((t) => w.slot('mains', t), 5, 0.5);
});
