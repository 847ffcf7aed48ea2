/**
 * What is left of the results when the program is killed, when the disk is full, and where nothing may be written. A small
 * module loaded before the program counts what it asks of the file system, and kills it or refuses at a given call.
 */
import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { obstacle, runIdentity } from '../../bin/output.ts';
import { PASSING, PROGRAM, Workplace } from './support.ts';

const FILES = ['events.csv', 'report.txt', 'result.json', 'run.json', 'scenario.yaml', 'trace.csv'];
const ROWS = ['--sample', '0.1 s', '--quiet'];
const NEW = ['--set', 'start.pressure=117 psig', '--force', ...ROWS];

/** Counts the calls that change a folder of results; ACCIDENT_AT is the one that meets the accident. */
const ACCIDENT = `
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
const { mkdirSync, openSync, writeFileSync, fsyncSync, closeSync, renameSync, rmSync } = fs;
const { ACCIDENT_KIND: kind, ACCIDENT_CODE: code } = process.env;
// One accident for each scenario in turn, or always the same one.
let at = Number(process.env.ACCIDENT_AT);
let calls = -1;
const refuse = (name) => { throw Object.assign(new Error(code + ': made up, ' + name), { code, syscall: name }); };
const counted = (name, work) => (...args) => {
  if (calls < 0 || calls++ !== at) return work(...args);
  if (kind === 'kill') {
    // Half of what was to be written is there.
    if (name === 'write') work(args[0], args[1].slice(0, args[1].length / 2));
    process.kill(process.pid, 'SIGKILL');
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0);
  }
  if (kind === 'count') return work(...args);
  if (name === 'write') work(args[0], args[1].slice(0, args[1].length / 2));
  return refuse(name);
};
fs.mkdirSync = (...args) => {
  if (calls >= 0 && kind === 'each') at++;
  calls = 0;
  return counted('mkdir', mkdirSync)(...args);
};
fs.openSync = (...args) => (args[1] === 'w' ? counted('open', openSync)(...args) : openSync(...args));
fs.writeFileSync = counted('write', writeFileSync);
fs.fsyncSync = counted('fsync', fsyncSync);
fs.renameSync = counted('rename', renameSync);
fs.rmSync = counted('rm', rmSync);
syncBuiltinESMExports();
process.on('exit', () => { if (kind === 'count') fs.writeSync(2, 'calls ' + calls); });
`;

let place: Workplace;
/** Contents of the old results and of the new ones, by file. */
let old: Record<string, string>;
let fresh: Record<string, string>;
/** Calls that change a folder of results in one run that replaces results. */
let calls: number;

const contents = (folder: string) =>
  Object.fromEntries(
    readdirSync(place.at(folder)).map((name) => [name, readFileSync(place.at(folder, name), 'utf-8')]),
  );
const accident = (kind: string, at: number, code = '') => ({
  NODE_OPTIONS: `--import=file://${place.at('accident.mjs')}`,
  ACCIDENT_KIND: kind,
  ACCIDENT_AT: String(at),
  ACCIDENT_CODE: code,
});
const restore = () => {
  rmSync(place.at('results'), { recursive: true, force: true });
  cpSync(place.at('kept'), place.at('results'), { recursive: true });
};

beforeAll(async () => {
  place = new Workplace();
  place.write('accident.mjs', ACCIDENT);
  place.write('good.yaml', PASSING);
  await place.run(['replay', 'good.yaml', ...ROWS]);
  old = contents('results/good');
  cpSync(place.at('results'), place.at('kept'), { recursive: true });
  const { stderr } = await place.run(['replay', 'good.yaml', ...NEW], { env: accident('count', 0) });
  fresh = contents('results/good');
  calls = Number(/^calls (\d+)$/.exec(stderr)?.[1]);
});
afterAll(() => place.remove());

test('old and new results are whole and differ', () => {
  expect(Object.keys(old).sort()).toEqual(FILES);
  expect(Object.keys(fresh).sort()).toEqual(FILES);
  expect(fresh['trace.csv']).not.toBe(old['trace.csv']);
  // A folder, six files each opened, written and brought to the disk, renamings.
  expect(calls).toBeGreaterThan(20);
});

/** The results in their place, after what the next run does first. */
function afterwards(): Record<string, string> {
  expect(obstacle(place.at('results', 'good'), runIdentity(PASSING, [], ''), true)).toBeUndefined();
  expect(readdirSync(place.at('results'))).toEqual(['good']);
  return contents('results/good');
}

describe('killed', () => {
  test('at a call: the old results or the new ones, whole; the next run leaves nothing of the killed one', async () => {
    let replaced = 0;
    let between = 0;
    // The files in the middle are written like the others: some of their calls stand for all, unless all are asked for.
    const all = Array.from({ length: calls }, (_, at) => at);
    const some = all.filter((at) => at < 4 || at >= calls - 7 || at % 5 === 0);
    const moments = process.env['TRIPSTROKE_RUNS'] === undefined ? some : all;
    for (const at of moments) {
      restore();
      const { signal } = await place.run(['replay', 'good.yaml', ...NEW], { env: accident('kill', at) });
      expect({ at, signal }).toEqual({ at, signal: 'SIGKILL' });
      const there = existsSync(place.at('results', 'good')) ? contents('results/good') : undefined;
      if (there === undefined) between++;
      else expect([old, fresh]).toContainEqual(there);
      const then = afterwards();
      if (there === undefined) expect(then).toEqual(old);
      else expect(then).toEqual(there);
      if (JSON.stringify(then) === JSON.stringify(fresh)) replaced++;
    }
    // The old ones are away and the new ones not yet there at one call only.
    expect(between).toBe(1);
    expect(replaced).toBeGreaterThan(0);
    expect(replaced).toBeLessThan(moments.length);
  });

  test('at any moment, and again and again: nothing piles up', async () => {
    restore();
    for (const after_ms of [200, 320, 450]) {
      await place.run(['replay', 'good.yaml', '--sample', '5 ms', ...NEW.slice(0, 3), '--quiet'], {
        started: (child) => setTimeout(() => child.kill('SIGKILL'), after_ms),
      });
      expect(readdirSync(place.at('results')).length).toBeLessThanOrEqual(3);
    }
    const then = afterwards();
    expect(Object.keys(then).sort()).toEqual(FILES);
    expect(Object.keys(JSON.parse(then['result.json']!))).toEqual(Object.keys(JSON.parse(old['result.json']!)));
  });
});

describe('refused by the system', () => {
  test('a full disk at every call: the verdict, one line, exit 2, the old results untouched', async () => {
    // One scenario for each call, all in one run.
    const names = Array.from({ length: calls }, (_, k) => `s${String(k).padStart(2, '0')}`);
    rmSync(place.at('results'), { recursive: true, force: true });
    for (const name of names) {
      place.write(`${name}.yaml`, PASSING);
      cpSync(place.at('kept', 'good'), place.at('results', name), { recursive: true });
    }
    const files = names.map((name) => `${name}.yaml`);
    const env = accident('each', 0, 'ENOSPC');
    const { code, stdout, stderr } = await place.run(['replay', ...files, ...NEW], { env });
    expect(code).toBe(2);
    expect(stdout.match(/^MET: /gm)).toHaveLength(calls);
    const lines = stderr.trimEnd().split('\n');
    const failed = lines.map((line) => {
      const [, name] = /^tripstroke: the results cannot be written to results\/(s\d\d): (.*)$/.exec(line) ?? [];
      expect(line).toMatch(/: the disk is full$/);
      return name;
    });
    expect(failed.length).toBeGreaterThan(15);
    for (const name of names) {
      // What cannot be put away or brought to the disk behind the new results does not make them undone.
      const files = contents(`results/${name}`);
      if (failed.includes(name)) expect(files).toEqual(old);
      else expect(files['trace.csv']).toBe(fresh['trace.csv']);
    }
  });

  test('a read-only disk: no results folder is left behind that was made for nothing', async () => {
    rmSync(place.at('results'), { recursive: true, force: true });
    const { code, stderr } = await place.run(['replay', 'good.yaml', ...ROWS], { env: accident('refuse', 5, 'EROFS') });
    expect(code).toBe(2);
    expect(stderr).toBe('tripstroke: the results cannot be written to results/good: the disk is read-only\n');
    expect(existsSync(place.at('results'))).toBe(false);
  });

  test.skipIf(process.platform === 'win32')('a limit on the size of files', () => {
    rmSync(place.at('results'), { recursive: true, force: true });
    const command = `ulimit -f 8; exec "${process.execPath}" "${PROGRAM}" replay good.yaml --sample "10 ms" --quiet`;
    const { status, stdout, stderr } = spawnSync('sh', ['-c', command], { cwd: place.folder, encoding: 'utf-8' });
    expect(status).toBe(2);
    expect(stdout).toMatch(/^MET: /);
    expect(stderr).toBe(
      'tripstroke: the results cannot be written to results/good: a file would grow larger than is allowed here\n',
    );
    expect(existsSync(place.at('results'))).toBe(false);
  });

  const small = 'mkdir -p small && mount -t tmpfs -o size=64k none small';
  const canMount = () =>
    spawnSync('unshare', ['-Urm', 'sh', '-c', small], { cwd: place.folder, stdio: 'ignore' }).status === 0;
  test.skipIf(process.platform !== 'linux')('a disk that is really full', ({ skip }) => {
    if (!canMount()) skip('this system lets nobody mount a small disk');
    const command = `${small} && "${process.execPath}" "${PROGRAM}" replay good.yaml --sample "10 ms" --out small/r --quiet; echo "exit $?"; ls -A small`;
    const { stdout, stderr } = spawnSync('unshare', ['-Urm', 'sh', '-c', command], {
      cwd: place.folder,
      encoding: 'utf-8',
    });
    expect(stderr).toBe('tripstroke: the results cannot be written to small/r/good: the disk is full\n');
    expect(stdout).toMatch(/^MET: [\s\S]*\nexit 2\n$/);
  });

  test.skipIf(process.getuid?.() === 0 || process.platform === 'win32')('a folder without permission', async () => {
    mkdirSync(place.at('shut'));
    chmodSync(place.at('shut'), 0o500);
    const { code, stderr } = await place.run(['replay', 'good.yaml', '--out', 'shut']);
    expect(code).toBe(2);
    expect(stderr).toBe('tripstroke: the results cannot be written to shut/good: no permission\n');
    expect(readdirSync(place.at('shut'))).toEqual([]);
  });
});

test.skipIf(process.platform === 'win32')('| head -1 is quiet, and the files are written', () => {
  rmSync(place.at('results'), { recursive: true, force: true });
  // Far more text than a pipe holds.
  const command = `"${process.execPath}" "${PROGRAM}" schema | head -1; "${process.execPath}" "${PROGRAM}" replay good.yaml --json | head -1`;
  const { status, stdout, stderr } = spawnSync('sh', ['-c', command], { cwd: place.folder, encoding: 'utf-8' });
  expect({ status, stdout, stderr }).toEqual({ status: 0, stdout: '{\n{\n', stderr: '' });
  expect(Object.keys(contents('results/good')).sort()).toEqual(FILES);
});
