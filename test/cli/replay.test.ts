/** `replay` from end to end: the compiled command in a process of its own. */
import { spawn, spawnSync } from 'node:child_process';
import { closeSync, existsSync, openSync, readdirSync, readFileSync } from 'node:fs';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { ENDLESS, type Ended, FAILING, PASSING, PROGRAM, Workplace } from './support.ts';

let place: Workplace;
/** What many tests look at: both files replayed with nothing special. */
let plain: { readonly good: Ended; readonly weak: Ended };
beforeAll(async () => {
  place = fresh();
  plain = { good: await place.here(['replay', 'good.yaml']), weak: await place.here(['replay', 'weak.yaml']) };
});
afterEach(() => {
  for (const used of places.splice(1)) used.remove();
  place = places[0]!;
});
afterAll(() => places[0]!.remove());

const places: Workplace[] = [];
/** A folder with one scenario of each kind; gone after the test. */
function fresh(): Workplace {
  place = new Workplace();
  places.push(place);
  place.write('good.yaml', PASSING);
  place.write('weak.yaml', FAILING);
  place.write('broken.yaml', PASSING.replace('tank:', 'tankk:'));
  return place;
}

const lines = (text: string): string[] => text.split('\n');
const read = (...parts: string[]): string => readFileSync(place.at(...parts), 'utf-8');

describe('verdict and exit code', () => {
  test('all requirements met: 0, verdict first, cautions last', () => {
    const { code, stdout, stderr } = plain.good;
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toMatch(/^MET: /);
    expect(stdout).toMatch(/^XV-7 +closes +completed +[\d.]+ of 25 s +[\d.]+ % (force|time) +met$/m);
    expect(stdout).toMatch(/^Caution: .*lock out/ms);
    expect(stdout.trimEnd()).toMatch(/licensed engineer\.$/);
    expect(stdout.replace(/\s+/g, ' ')).toContain('other moments were not examined');
    expect(lines(stdout).filter((line) => line.length > 80)).toEqual([]);
  });

  test('a requirement not met: 1, with the reason under the stroke', () => {
    const { code, stdout } = plain.weak;
    expect(code).toBe(1);
    expect(stdout).toMatch(/^NOT MET: /);
    expect(stdout).toMatch(/^XV-7 .* NOT MET\n {4}XV-7 \(feed shut-off\): never moved/m);
  });

  test('faults in the file: 2, with their places, nothing on standard output, no files', async () => {
    fresh();
    const { code, stdout, stderr } = await place.here(['replay', 'broken.yaml']);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toMatch(/^broken\.yaml:4:1: error: unknown key "tankk"; did you mean "tank"\?$/m);
    expect(existsSync(place.at('results'))).toBe(false);
  });

  test('of several files the worst counts, and every file is replayed', async () => {
    fresh();
    const all = await place.here(['replay', 'broken.yaml', 'missing.yaml', 'weak.yaml', 'good.yaml']);
    expect(all.code).toBe(2);
    expect(all.stdout.match(/^(NOT )?MET: /gm)).toEqual(['NOT MET: ', 'MET: ']);
    expect(readdirSync(place.at('results')).sort()).toEqual(['good', 'weak']);
  });

  test('--quiet leaves out the events and keeps verdict and cautions', async () => {
    const quiet = await place.here(['replay', 'good.yaml', '--no-files', '--quiet']);
    expect(plain.good.stdout).toContain('undervoltage relay');
    expect(quiet.stdout).not.toContain('undervoltage relay');
    expect(quiet.stdout).toMatch(/^MET: /);
    expect(quiet.stdout).toContain('lock out');
  });

  test('--units and --set reach the run, and the report says what was set', async () => {
    const { code, stdout } = await place.here([
      'replay',
      'good.yaml',
      '--no-files',
      '--units',
      'si',
      '--set',
      'start.pressure=60 psig',
    ]);
    expect(code).toBe(1);
    // 60 psig is 60 x 0.0689476 = 4.137 bar.
    expect(stdout).toMatch(/^Start: +4\.14 barg/m);
    expect(stdout).toMatch(/^Changed: start\.pressure: "118 psig" in the file, "60 psig" by --set$/m);
  });

  test('a file with CRLF line ends or a byte order mark gives the same result', async () => {
    const args = ['replay', '-', '--json', '--no-files'];
    const lf = await place.run(args, { input: PASSING });
    const crlf = await place.run(args, { input: `\ufeff${PASSING.replaceAll('\n', '\r\n')}` });
    expect(lf.code).toBe(0);
    expect(crlf).toEqual(lf);
  });

  test('standard input', async () => {
    fresh();
    const { code, stdout } = await place.run(['replay', '-'], { input: FAILING });
    expect(code).toBe(1);
    expect(stdout).toContain('standard input: Hand-made skid');
    expect(readdirSync(place.at('results'))).toEqual(['standard-input']);
    const refused = await place.run(['replay', '-'], { input: 'tank: {}' });
    expect(refused.code).toBe(2);
    expect(refused.stderr).toMatch(/^standard input:1:1: error: /m);
  });
});

describe('--json', () => {
  test('one file: the result and nothing else', async () => {
    fresh();
    const { code, stdout, stderr } = await place.here(['replay', 'weak.yaml', '--json']);
    expect({ code, stderr }).toEqual({ code: 1, stderr: '' });
    const result = JSON.parse(stdout);
    expect(result).toMatchObject({ schemaVersion: 1, file: 'weak.yaml', verdict: { met: false } });
    expect(result.cautions.join(' ')).toContain('lock out');
    expect(read('results', 'weak', 'result.json')).toBe(stdout);
    // What does not exist is null, not missing.
    expect(result.verdict.strokes[0]).toHaveProperty('endedAt_s', null);
  });

  test('several files: an array of those that could be run', async () => {
    fresh();
    const two = await place.here(['replay', 'good.yaml', 'broken.yaml', 'weak.yaml', '--json', '--no-files']);
    expect(two.code).toBe(2);
    expect(JSON.parse(two.stdout).map((r: { file: string }) => r.file)).toEqual(['good.yaml', 'weak.yaml']);
    const none = await place.here(['replay', 'broken.yaml', 'missing.yaml', '--json']);
    expect({ code: none.code, stdout: none.stdout }).toEqual({ code: 2, stdout: '[]\n' });
  });

  test('a refused file alone prints nothing', async () => {
    fresh();
    const { code, stdout } = await place.here(['replay', 'broken.yaml', '--json']);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
  });
});

describe('colour', () => {
  const ESCAPE = '\u001b[';
  test('none where standard output is no terminal', () => {
    expect(plain.weak.stdout).not.toContain(ESCAPE);
  });
  test('on demand, on what needs attention; the text is the same without', async () => {
    const forced = await place.run(['replay', 'weak.yaml'], { env: { FORCE_COLOR: '1' } });
    expect(forced.stdout).toMatch(new RegExp(`^${ESCAPE.replace('[', '\\[')}\\d+mNOT MET`));
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the colours
    const bare = forced.stdout.replace(/\u001b\[\d+m/g, '');
    expect(bare).toBe(plain.weak.stdout);
    expect(read('results', 'weak', 'report.txt')).toBe(bare);
  });
  test('NO_COLOR wins', async () => {
    const { stdout } = await place.run(['replay', 'weak.yaml', '--no-files'], {
      env: { FORCE_COLOR: '1', NO_COLOR: '1' },
    });
    expect(stdout).not.toContain(ESCAPE);
  });
});

describe('the world around', () => {
  test('a reader that closes the pipe early: no complaint, the verdict still in the exit code, files written', async () => {
    fresh();
    const { code, stderr } = await place.run(['replay', 'weak.yaml', 'good.yaml'], {
      started: (child) => child.stdout?.destroy(),
    });
    expect({ code, stderr }).toEqual({ code: 1, stderr: '' });
    expect(readdirSync(place.at('results')).sort()).toEqual(['good', 'weak']);
  });

  test('Ctrl-C in a long run: 130, finished files stay, nothing half written', async () => {
    fresh();
    place.write('endless.yaml', ENDLESS);
    const { code, signal, stdout, stderr } = await place.run(['replay', 'good.yaml', 'endless.yaml', 'weak.yaml'], {
      // The report of the first file shows that the second is under way.
      started: (child) => child.stdout?.once('data', () => setTimeout(() => child.kill('SIGINT'), 300)),
    });
    expect({ code, signal }).toEqual({ code: 130, signal: null });
    expect(stdout.match(/^(NOT )?MET: /gm)).toEqual(['MET: ']);
    expect(stderr).toBe('tripstroke: interrupted; endless.yaml was not finished\n');
    expect(readdirSync(place.at('results'))).toEqual(['good']);
  });

  test('Ctrl-C while standard input is awaited: 130', async () => {
    const child = spawn(process.execPath, [PROGRAM, 'replay', 'good.yaml', '-', '--no-files'], {
      cwd: place.folder,
      stdio: ['pipe', 'pipe', 'ignore'],
    });
    child.stdout.once('data', () => setTimeout(() => child.kill('SIGINT'), 300));
    const code = await new Promise((resolve) => child.on('close', resolve));
    expect(code).toBe(130);
  });

  test.skipIf(!existsSync('/dev/full'))('standard output that is full: one line and exit 2', async () => {
    const full = openSync('/dev/full', 'w');
    const { status, stderr } = spawnSync(process.execPath, [PROGRAM, 'replay', 'good.yaml', '--no-files'], {
      cwd: place.folder,
      stdio: ['ignore', full, 'pipe'],
      encoding: 'utf-8',
    });
    closeSync(full);
    expect({ status, stderr }).toEqual({
      status: 2,
      stderr: 'tripstroke: cannot write to standard output: the disk is full\n',
    });
  });

  test('a fault of the program: 70, one line that asks for a report, and the other files go on', async () => {
    fresh();
    // Breaks a part of the language that every run uses, for the first run only.
    place.write(
      'break.mjs',
      `const set = Float64Array.prototype.set;
       Float64Array.prototype.set = function () { Float64Array.prototype.set = set; throw new RangeError('broken on purpose'); };`,
    );
    const env = { NODE_OPTIONS: `--import=file://${place.at('break.mjs')}` };
    const { code, stdout, stderr } = await place.run(['replay', 'weak.yaml', 'good.yaml', '--no-files'], { env });
    expect(code).toBe(70);
    expect(stdout.match(/^(NOT )?MET: /gm)).toEqual(['MET: ']);
    expect(stderr).toMatch(
      /^tripstroke: fault of the program with weak\.yaml: broken on purpose \(version \d[^)]*\); please report this and send the file\n$/,
    );
    const debug = await place.run(['replay', 'weak.yaml'], { env: { ...env, TRIPSTROKE_DEBUG: '1' } });
    expect(debug.code).toBe(70);
    expect(debug.stderr).toMatch(/\n {4}at .*\.js:\d+/);
    expect(existsSync(place.at('results'))).toBe(false);
  });
});
