/** Names and identities of result folders, and the progress line: what is hard to reach through the command. */
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Exit, worse } from '../../bin/exitCodes.ts';
import { folderName, obstacle, putInPlace, runIdentity } from '../../bin/output.ts';
import { progressLine } from '../../bin/progress.ts';
import { isSystemError } from '../../bin/terminal.ts';

describe('folderName', () => {
  test.each([
    ['skids/mill.yaml', 'mill'],
    ['mill.v2.yml', 'mill.v2'],
    ['mill', 'mill'],
    ['.yaml', 'scenario'],
    ['a:b*c?.yaml', 'a_b_c_'],
    ['con.yaml', 'con_'],
    ['LPT1.old.yaml', 'LPT1.old_'],
    ['dots. .yaml', 'dots'],
    [`${'n'.repeat(300)}.yaml`, 'n'.repeat(100)],
  ])('%s: %s', (file, name) => expect(folderName(file)).toBe(name));
});

describe('runIdentity', () => {
  // sha256sum of "title: x\n", by GNU coreutils.
  const HASH = '152f6f6e12c83825d541fc650946a2d479475e3956a864c5df266652fc7a82d7';
  test('line ends and a byte order mark do not count', () => {
    for (const text of ['title: x\n', 'title: x\r\n', '\ufefftitle: x\r'])
      expect(runIdentity(text, [], '1').scenario).toBe(HASH);
    expect(runIdentity('title: y\n', [], '1').scenario).not.toBe(HASH);
  });
});

describe('replacing a folder', () => {
  let parent: string;
  const folder = () => path.join(parent, 'run');
  const identity = runIdentity('title: x\n', [], '1');
  const results = (name: string, content: string) => {
    mkdirSync(path.join(parent, name));
    writeFileSync(path.join(parent, name, 'report.txt'), content);
    writeFileSync(path.join(parent, name, 'run.json'), JSON.stringify({ tripstroke: identity }));
  };
  const report = () => readFileSync(path.join(folder(), 'report.txt'), 'utf-8');
  beforeEach(() => {
    parent = mkdtempSync(path.join(tmpdir(), 'tripstroke-test-'));
  });
  afterEach(() => rmSync(parent, { recursive: true, force: true }));

  test('the new one comes whole, the old one goes whole', () => {
    results('run', 'old');
    results(`.run.new-${process.pid}`, 'new');
    putInPlace(folder());
    expect(report()).toBe('new');
    expect(readdirSync(parent)).toEqual(['run']);
  });

  test('where the new one cannot come, the old one is back in its place', () => {
    results('run', 'old');
    // Nothing was prepared, so the second renaming fails.
    let failure: unknown;
    try {
      putInPlace(folder());
    } catch (error) {
      failure = error;
    }
    expect(isSystemError(failure)).toBe(true);
    expect(report()).toBe('old');
    expect(readdirSync(parent)).toEqual(['run']);
  });

  test('a run that still goes on keeps its half-written folder', () => {
    results(`.run.new-${process.ppid}`, 'half');
    expect(obstacle(folder(), identity, false)).toBeUndefined();
    expect(existsSync(path.join(parent, `.run.new-${process.ppid}`))).toBe(true);
  });

  test('an empty folder, or one with what desktops leave, is no obstacle', () => {
    mkdirSync(folder());
    expect(obstacle(folder(), identity, false)).toBeUndefined();
    writeFileSync(path.join(folder(), 'Thumbs.db'), '');
    expect(obstacle(folder(), identity, false)).toBeUndefined();
  });
});

test('worse: 70 over 130 over 2 over 1 over 0', () => {
  const order = [Exit.met, Exit.notMet, Exit.refused, Exit.interrupted, Exit.fault];
  for (const [i, a] of order.entries())
    for (const [j, b] of order.entries()) expect(worse(a, b)).toBe(order[Math.max(i, j)]);
});

describe('progressLine', () => {
  const stream = (isTTY: boolean) => {
    const written: string[] = [];
    const fake = { isTTY, columns: 40, write: (text: string) => written.push(text) > 0 };
    return { written, fake: fake as unknown as NodeJS.WriteStream };
  };
  const drive = (isTTY: boolean, until_ms: number) => {
    let now = 0;
    const { written, fake } = stream(isTTY);
    const progress = progressLine('a-rather-long-name-of-a-scenario.yaml', fake, () => now);
    for (; now < until_ms; now += 10) progress.update(now / until_ms);
    progress.clear();
    return written;
  };
  test('nothing within the first second', () => expect(drive(true, 1000)).toEqual([]));
  test('nothing where standard error is no terminal', () => expect(drive(false, 5000)).toEqual([]));
  test('then one line, ten times a second, within the width, taken away at the end', () => {
    const written = drive(true, 2000);
    expect(written).toHaveLength(11);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: they steer the terminal
    for (const text of written) expect(text.replace(/[\r\n]|\u001b\[K/g, '').length).toBeLessThan(40);
    expect(written.at(-1)).toBe('\r\u001b[K');
  });
});
