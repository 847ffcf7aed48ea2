/**
 * Files that ask for more work than a replay does unasked. Each ends at a count, with the stop "work limit" and exit
 * code 3; the clock only ends a test whose run did not end by itself.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadScenario } from '../../scenarios/load.ts';
import { replay } from '../../scenarios/replay.ts';
import type { Work } from '../../sim/engine.ts';
import { ENDLESS, PASSING, PROGRAM, Workplace } from '../cli/support.ts';

const KILLED_AFTER_ms = 10_000;
/** Less than the default, whose few seconds would be too near the clock on a busy machine. */
const LESS = 'run.workLimit=1e6';

const AIR = `compressors: [{ tag: K-1, freeAir: 2 ft^3/min }]
panel: { pressure: { cutIn: 105 psig, cutOut: 105.0001 psig }, level: { normal: 9 in, dutyStart: 8 in } }
leaks: { air: { fall: 40 psi/h, at: 100 psig } }
`;
const GREEDY: Readonly<Record<string, string>> = {
  year: ENDLESS,
  rows: `${PASSING}run: { duration: 1.2 d, sample: 0.1 ms }\nclock: { tick: 0.1 ms }\n`,
  'chattering-contact': `${PASSING}${AIR}run: { duration: 300 d }\n`.replace('lostAt: 1 s', 'lostAt: 299 d'),
  faults: `${ENDLESS.replace('360 d', '2 d').replace('359 d', '1 d')}faults: [${Array.from({ length: 1000 }, () => '{ fault: seal bypass, item: XV-7, flow: 0.001 gal/min, at: 1 s }').join(', ')}]\n`,
};

let place: Workplace;
beforeAll(() => {
  place = new Workplace();
  for (const [name, text] of Object.entries(GREEDY)) place.write(`${name}.yaml`, text);
});
afterAll(() => place.remove());

const run = (...args: string[]) => {
  const { status, signal, stdout, stderr } = spawnSync(process.execPath, [PROGRAM, 'replay', ...args], {
    cwd: place.folder,
    timeout: KILLED_AFTER_ms,
    encoding: 'utf-8',
    maxBuffer: 1 << 28,
  });
  return { status, signal, stdout, stderr };
};

test.each(Object.keys(GREEDY))('%s: exit 3, nothing proven, and what to do', (name) => {
  const { status, signal, stdout, stderr } = run(`${name}.yaml`, '--no-files', '--quiet', '--set', LESS);
  expect({ status, signal, stderr }).toEqual({ status: 3, signal: null, stderr: '' });
  const said = stdout.replace(/\s+/g, ' ');
  expect(said).toMatch(
    /^NOT MET: the work limit was reached .* so nothing is proven\. .*raise the limit: run\.workLimit is 1000000 now\./,
  );
});

test('JSON says so, twice the same, and the rows up to there are in the trace', () => {
  const first = run('rows.yaml', '--json', '--set', LESS);
  const trace = readFileSync(place.at('results', 'rows', 'trace.csv'), 'utf-8');
  const second = run('rows.yaml', '--json', '--set', LESS);
  expect(first.status).toBe(3);
  expect(second.stdout).toBe(first.stdout);
  expect(readFileSync(place.at('results', 'rows', 'trace.csv'), 'utf-8')).toBe(trace);
  const { work, end, verdict } = JSON.parse(first.stdout);
  expect(work).toMatchObject({ limit: 1e6, limitReached: true });
  expect(end.stop).toBe('work limit');
  expect(verdict.met).toBe(false);
  const lines = trace.trimEnd().split('\n');
  const last = lines.at(-1)!.split(',').map(Number);
  expect(last).toHaveLength(lines[0]!.split(',').length);
  // The state at the end is that of the last row, or one piece of a step later.
  expect(last[0]).toBeLessThanOrEqual(end.time_s);
  expect(last[0]).toBeGreaterThan(end.time_s - 0.1);
});

test('raised, the same file runs to its end', () => {
  const short = ['--set', 'run.duration=3 s', '--no-files', '--json'];
  expect(run('rows.yaml', ...short, '--set', 'run.workLimit=1e5').status).toBe(3);
  const { status, stdout } = run('rows.yaml', ...short, '--set', 'run.workLimit=1e8');
  expect(status).not.toBe(3);
  expect(JSON.parse(stdout)).toMatchObject({
    end: { stop: 'end of the run', time_s: 3 },
    work: { limitReached: false },
  });
});

describe('the count', () => {
  const scenario = loadScenario(PASSING, { file: 'unit.yaml' }).scenario!;
  const spend = (limit: number, trace = true) => {
    const work: Work = { spent: 0, limit };
    const { result } = replay(scenario, { work, trace });
    return { work, result };
  };
  const { work: whole, result: unlimited } = spend(1e9);

  test('does not depend on whether rows are kept', () => {
    expect(spend(1e9, false).work.spent).toBe(whole.spent);
  });
  test('ends every part of a replay: at any limit below the whole nothing is proven', () => {
    expect(unlimited.verdict.met).toBe(true);
    for (let k = 1; k < 16; k++) {
      const { result } = spend(Math.floor((whole.spent * k) / 16));
      expect(result.work.limitReached).toBe(true);
      expect(result.verdict.met).toBe(false);
    }
    // One more than is needed changes nothing.
    const { result } = spend(whole.spent + 1);
    expect({ ...result, work: unlimited.work }).toEqual(unlimited);
  });
  test('goes past the limit by no more than one piece of a step', () => {
    const { work } = spend(whole.spent / 2);
    expect(work.spent - work.limit).toBeLessThan(0.05 * whole.spent);
  });
});

test('a long trace takes no memory: more rows than fit into the heap', () => {
  // Kept in memory, 14e6 / (10 x 7) = 200 000 rows would take some 40 MB of heap for their headers alone.
  const { status, stdout } = spawnSync(
    process.execPath,
    ['--max-old-space-size=32', PROGRAM, 'replay', 'rows.yaml', '--quiet', '--force', '--set', 'run.workLimit=14e6'],
    { cwd: place.folder, encoding: 'utf-8', timeout: 60_000 },
  );
  expect({ status, start: stdout.slice(0, 12) }).toEqual({ status: 3, start: 'NOT MET: the' });
});
