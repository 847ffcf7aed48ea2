/** The folder of results, from end to end. */
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { FAILING, PASSING, Workplace } from './support.ts';

let place: Workplace;
beforeEach(() => {
  place = new Workplace();
  place.write('good.yaml', PASSING);
  place.write('weak.yaml', FAILING);
});
afterEach(() => place.remove());

const lines = (text: string): string[] => text.split('\n');
const read = (...parts: string[]): string => readFileSync(place.at(...parts), 'utf-8');

describe('the folder of results', () => {
  const FILES = ['events.csv', 'report.txt', 'result.json', 'run.json', 'scenario.yaml', 'trace.csv'];

  test('holds the files, and nothing else is left behind', async () => {
    const { stdout } = await place.here(['replay', 'good.yaml', '--out', 'out/deep', '--sample', '0.25 s']);
    expect(readdirSync(place.at('out', 'deep'))).toEqual(['good']);
    expect(readdirSync(place.at('out', 'deep', 'good')).sort()).toEqual(FILES);
    const folder = ['out', 'deep', 'good'] as const;
    expect(read(...folder, 'report.txt')).toBe(stdout);
    expect(read(...folder, 'scenario.yaml')).toBe(PASSING);
    const [head, ...rows] = lines(read(...folder, 'trace.csv').trimEnd());
    expect(head).toMatch(/^time \[s\],tank pressure \[psig\],/);
    expect(read(...folder, 'trace.csv')).not.toContain('\r');
    const first = rows[0]!.split(',').map(Number);
    expect(first.slice(0, 2)).toEqual([0, 118]);
    expect(rows.every((row) => row.split(',').every((cell) => cell !== '' && Number.isFinite(Number(cell))))).toBe(
      true,
    );
    const times = rows.map((row) => Number(row.split(',')[0]));
    expect(times).toContain(0.25);
    expect([...times].sort((a, b) => a - b)).toEqual(times);
    const events = lines(read(...folder, 'events.csv').trimEnd());
    expect(events[0]).toBe('time [s],tag,event,tank pressure [psig],tank level [in]');
    expect(events[1]).toMatch(/^1,mains,lost,118,/);
  });

  test('the same run again replaces it silently, also from a file with other line ends', async () => {
    await place.here(['replay', 'good.yaml']);
    const before = read('results', 'good', 'result.json');
    place.write('good.yaml', PASSING.replaceAll('\n', '\r\n'));
    const { code, stderr } = await place.here(['replay', 'good.yaml', '--units', 'us']);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(read('results', 'good', 'result.json')).toBe(before);
    expect(readdirSync(place.at('results'))).toEqual(['good']);
  });

  test('a different run is refused before anything is done, and --force replaces it', async () => {
    await place.here(['replay', 'good.yaml']);
    const before = read('results', 'good', 'result.json');
    const set = ['--set', 'start.pressure=117 psig'];
    const refused = await place.here(['replay', 'good.yaml', ...set]);
    expect({ code: refused.code, stdout: refused.stdout }).toEqual({ code: 2, stdout: '' });
    expect(refused.stderr).toMatch(/different run \(with other --set values\).*--force/);
    expect(read('results', 'good', 'result.json')).toBe(before);
    const forced = await place.here(['replay', 'good.yaml', ...set, '--force']);
    expect(forced.code).toBe(0);
    expect(JSON.parse(read('results', 'good', 'result.json')).overrides).toEqual([
      { path: 'start.pressure', before: '118 psig', after: '117 psig' },
    ]);
    place.write('good.yaml', PASSING.replace('19 gal', '20 gal'));
    const edited = await place.here(['replay', 'good.yaml', ...set]);
    expect(edited.code).toBe(2);
    expect(edited.stderr).toContain('the scenario file was another one');
  });

  test('results of another version count as a different run', async () => {
    await place.here(['replay', 'good.yaml']);
    const run = JSON.parse(read('results', 'good', 'run.json'));
    run.tripstroke.version = '0.0.1';
    writeFileSync(place.at('results', 'good', 'run.json'), JSON.stringify(run));
    const { code, stderr } = await place.here(['replay', 'good.yaml']);
    expect(code).toBe(2);
    expect(stderr).toContain('version 0.0.1');
  });

  test('what is not results is never replaced, not even with --force', async () => {
    mkdirSync(place.at('results', 'good'), { recursive: true });
    writeFileSync(place.at('results', 'good', 'thesis.txt'), 'years of work');
    const foreign = await place.here(['replay', 'good.yaml', '--force']);
    expect(foreign.code).toBe(2);
    expect(foreign.stderr).toContain('not a folder of results');
    expect(read('results', 'good', 'thesis.txt')).toBe('years of work');

    await place.here(['replay', 'weak.yaml']);
    writeFileSync(place.at('results', 'weak', 'notes.txt'), 'kept');
    const mixed = await place.here(['replay', 'weak.yaml', '--force']);
    expect(mixed.code).toBe(2);
    expect(mixed.stderr).toContain('notes.txt');
    expect(read('results', 'weak', 'notes.txt')).toBe('kept');
  });

  test('two files whose results would share a folder', async () => {
    mkdirSync(place.at('other'));
    writeFileSync(place.at('other', 'good.yaml'), PASSING);
    const { code, stderr } = await place.here(['replay', 'good.yaml', 'other/good.yaml', '--force']);
    expect(code).toBe(2);
    expect(stderr).toContain('would replace those of good.yaml');
  });

  test.each([
    ['a file in the place of DIR', ['--out', 'weak.yaml'], /weak\.yaml is a file/],
    ['a file above DIR', ['--out', 'weak.yaml/deeper'], /a part of the path is a file/],
    ['a name that is too long', ['--out', 'x'.repeat(300)], /name is too long/],
  ])('%s: one line and exit 2', async (_name, args, message) => {
    const { code, stderr } = await place.here(['replay', 'good.yaml', ...args]);
    expect(code).toBe(2);
    expect(stderr).toMatch(message);
    expect(lines(stderr.trimEnd())).toHaveLength(1);
  });

  test('a file in the place of the result folder', async () => {
    mkdirSync(place.at('results'));
    writeFileSync(place.at('results', 'good'), '');
    const { code, stderr } = await place.here(['replay', 'good.yaml', '--force']);
    expect(code).toBe(2);
    expect(lines(stderr.trimEnd())).toHaveLength(1);
    expect(readFileSync(place.at('results', 'good'), 'utf-8')).toBe('');
  });

  test('what a killed run left behind is put right', async () => {
    await place.here(['replay', 'good.yaml']);
    // No process has this number: it is above what systems give out.
    const dead = 2 ** 30;
    mkdirSync(place.at('results', `.good.new-${dead}`));
    renameSync(place.at('results', 'good'), place.at('results', `.good.old-${dead}`));
    const other = await place.here(['replay', 'good.yaml', '--set', 'start.pressure=117 psig']);
    expect(other.code).toBe(2);
    expect(readdirSync(place.at('results'))).toEqual(['good']);
    expect(JSON.parse(read('results', 'good', 'result.json')).overrides).toEqual([]);
  });

  test('--no-files writes nothing', async () => {
    const { code, stdout } = await place.here(['replay', 'good.yaml', '--no-files']);
    expect(code).toBe(0);
    expect(stdout).not.toMatch(/^Files:/m);
    expect(existsSync(place.at('results'))).toBe(false);
  });
});
