import fc from 'fast-check';
import { assert } from 'vitest';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { firstDifference, firstOtherEvent, runCase } from '../support/runCase.ts';

const same = (a: ReturnType<typeof runCase>, b: ReturnType<typeof runCase>, what: string) => {
  const event = firstOtherEvent(a.events, b.events);
  assert(event === undefined, `${what}: ${event}`);
  const slot = firstDifference(a.unit, a.end, b.end);
  assert(slot === undefined, `${what}: ${slot}`);
  assert(a.stop === b.stop, `${what}: ${a.stop} against ${b.stop}`);
};

/**
 * Both modes take the same steps and read the same continuous extension; they differ only in how they find the first
 * scan at which the panel does anything. A scan with no new reading, no new word from the field and no timer expired
 * changes nothing, and all of those are known beforehand or bracketed by the hull of the polynomial, so both cut each
 * step at the same tick. Delays, dips inside a step and slow scans included.
 */
law(
  'skipping ahead gives every byte that reading every scan gives',
  { runs: 80, seed: 201, show: showCase },
  randomScenario(),
  (c) => same(runCase(c), runCase(c, { mode: 'everyTick' }), 'skip-ahead against every-tick'),
);

/** No clock, no random number and no memory outside the state: a run is a function of its plant. */
law(
  'the same plant gives the same bytes, also from the same unit run twice',
  { runs: 20, seed: 202, show: showCase },
  randomScenario(),
  (c) => same(runCase(c), runCase(c), 'first against second run'),
);

/** Rows are read off the continuous extension and cut nothing; what they compute is thrown away. */
law('the sampling period changes no byte of the end', { runs: 30, seed: 203, show: showCase }, randomScenario(), (c) =>
  same(runCase(c), runCase(c, { sampleTicks: c.sampleTicks, sample: () => {} }), 'unsampled against sampled'),
);

/**
 * All that influences the next step is in the state, step control included, and a right-hand side is a pure function of
 * time and state: it comes out the same whether kept from the step before or computed anew.
 */
law(
  'a run stopped after any piece and taken up by another engine gives every byte of the straight run',
  { runs: 50, seed: 204, show: ([c, part]: readonly [never, number]) => `${part} of the pieces of ${showCase(c)}` },
  fc.tuple(randomScenario(), fc.double({ min: 0, max: 1, noNaN: true })),
  ([c, part]) => {
    let pieces = 0;
    const straight = runCase(c, { settled: () => pieces++ });
    const stopAt = Math.max(1, Math.floor(part * pieces));
    let seen = 0;
    const head = runCase(c, { until: () => ++seen >= stopAt });
    if (head.stop !== 'stopped') return same(head, straight, 'a stop that never came');
    const tail = runCase(c, { from: head.end });
    same({ ...tail, events: [...head.events, ...tail.events] }, straight, `taken up after piece ${stopAt}`);
  },
);

/** So many instants of one run, saved as bytes and taken up by a unit built anew. */
const INSTANTS = 100;

/** As above: the bytes of the state are the run, wherever it stands. */
law(
  'a run saved at a hundred instants goes on from each of them to the bytes of the straight run',
  {
    runs: 3,
    seed: 205,
    show: ([c, picks]: readonly [never, readonly number[]]) => `${picks} of the pieces of ${showCase(c)}`,
  },
  fc.tuple(
    randomScenario({ mostTicks: 1500 }),
    fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: INSTANTS, maxLength: INSTANTS }),
  ),
  ([c, picks]) => {
    let pieces = 0;
    const straight = runCase(c, { settled: () => pieces++ });
    const wanted = new Set(picks.map((part) => Math.floor(part * (pieces - 1))));
    const saved: { readonly bytes: Uint8Array; readonly tick: number; readonly offset: number }[] = [];
    let piece = 0;
    runCase(c, {
      settled(unit, y) {
        const { tick, offset } = unit.layout.clock;
        if (wanted.has(piece++)) {
          saved.push({ bytes: new Uint8Array(y.slice().buffer), tick: y[tick], offset: y[offset] });
        }
      },
    });
    assert.equal(saved.length, wanted.size);
    for (const { bytes, tick, offset } of saved) {
      const tail = runCase(c, { from: new Float64Array(bytes.slice().buffer) });
      const head = straight.events.slice(0, straight.events.length - tail.events.length);
      same({ ...tail, events: [...head, ...tail.events] }, straight, `taken up ${offset} s after tick ${tick}`);
    }
  },
);
