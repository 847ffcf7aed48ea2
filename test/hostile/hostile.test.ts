/**
 * Files and overrides as nobody should write them: 1000 here, any number with TRIPSTROKE_RUNS. A failure prints the line
 * that brings it back.
 */
import { describe, expect, test } from 'vitest';
import { law } from '../support/law.ts';
import { examine } from './examine.ts';
import { bytesOf, type HostileFile, hostileFile, hostileOverride, SHORT_BASE } from './mutate.ts';

const show = (file: HostileFile) => `${JSON.stringify(file)}\n${bytesOf(file).toString('utf-8').slice(0, 20_000)}`;

law(
  'a hostile file runs to a named end or is refused with places',
  { runs: 1000, seed: 1, show },
  hostileFile,
  (file) => {
    examine(bytesOf(file));
  },
);

law('so does a hostile override', { runs: 200, seed: 2, show: String }, hostileOverride, (override) => {
  examine(Buffer.from(SHORT_BASE), [override]);
});

describe('found by such files before, and mended', () => {
  test.each<[string, string, string, 'refused' | 'ran']>([
    // A time of 1e20 s was past what a count of ticks can hold.
    [
      'a time that no plant has',
      'lostAt: 1 s, backAt: 20 s',
      'lostAt: 1 s, controlPowerHeld: 99999999999999999999 s',
      'refused',
    ],
    // The run with the gauge reading low began below a perfect vacuum.
    ['a gauge less accurate than its reading', 'gaugeAccuracy: 1 psi', 'gaugeAccuracy: 1000 psi', 'ran'],
    // The path of a complaint was printed as it stands in the file.
    ['a key that nobody sees, twice', 'title: Short one', '"\\u001b\\uFEFFt": a\n"\\u001b\\uFEFFt": b', 'refused'],
    // Selectors by tag were assigned to an object, where this one is no ordinary key.
    ['a tag that objects have', 'tag: P-7', 'tag: __proto__', 'ran'],
  ])('%s', (_name, from, to, came) => {
    expect(SHORT_BASE).toContain(from);
    expect(examine(Buffer.from(SHORT_BASE.replace(from, to)))).toBe(came);
  });
});
