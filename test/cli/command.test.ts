/** Commands, options and input files, end to end. */
import { mkdirSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { FAILING, PASSING, Workplace } from './support.ts';

let place: Workplace;
beforeAll(() => {
  place = new Workplace();
  place.write('good.yaml', PASSING);
  place.write('weak.yaml', FAILING);
  place.write('broken.yaml', PASSING.replace('onTrip: closes', 'onTrip: shuts'));
});
afterAll(() => place.remove());

describe('help and version', () => {
  test.each([[[]], [['--help']], [['-h']], [['help']]])('%j prints help with examples', async (args) => {
    const { code, stdout, stderr } = await place.here(args);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toContain('tripstroke replay skid.yaml');
    expect(stdout).toMatch(/Exit code: 0 .* 70 .* 130/s);
  });
  test.each(['replay', 'check', 'schema', 'selfcheck'])('help on %s', async (command) => {
    const { code, stdout } = await place.here([command, '--help']);
    expect(code).toBe(0);
    expect(stdout).toContain(`Usage: tripstroke ${command}`);
    expect(stdout.split('\n').filter((line) => line.length > 80)).toEqual([]);
  });
  test('--version prints the version of the package', async () => {
    const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf-8'));
    const { code, stdout } = await place.here(['--version']);
    expect({ code, stdout }).toEqual({ code: 0, stdout: `${version}\n` });
  });
});

describe('a command line that is not understood: exit 2, what to write instead, nothing on standard output', () => {
  test.each<[string[], RegExp]>([
    [['replya', 'good.yaml'], /Did you mean replay\?/],
    [['good.yaml'], /Did you mean: tripstroke replay good\.yaml/],
    [['replay', 'good.yaml', '--quite'], /Did you mean --quiet\?/],
    [['replay'], /missing required argument 'file'/],
    [['replay', 'good.yaml', '--units', 'metric'], /Allowed choices are us, si/],
    [['replay', 'good.yaml', '--out', ''], /--out.*empty/],
    [['replay', 'good.yaml', '--sample', '0.1'], /--sample: "0\.1" has no unit; write for example "0\.1 s"/],
    [['replay', 'good.yaml', '--sample', '-1 s'], /--sample: "-1 s" must be more than 0/],
    [['replay', 'good.yaml', '--set', 'start.pressure'], /--set:1:1: error: .* path=value/],
    [['replay', 'good.yaml', '--set', 'start.presure=100 psig'], /--set:1:7: error: .*did you mean "pressure"/],
    [['schema', 'extra'], /too many arguments/],
  ])('%j', async (args, message) => {
    const { code, stdout, stderr } = await place.here(args);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toMatch(message);
    expect(stderr).not.toMatch(/\n {4}at /);
  });
});

describe('input that cannot be read: exit 2 and one line', () => {
  test.each<[string, () => string, RegExp]>([
    ['a missing file', () => 'god.yaml', /^tripstroke: god\.yaml: no such file; did you mean "good\.yaml"\?\n$/],
    [
      'a folder',
      () => {
        mkdirSync(place.at('folder.yaml'));
        return 'folder.yaml';
      },
      /^tripstroke: folder\.yaml: is a folder/,
    ],
    [
      'bytes that are no text',
      () => {
        place.write('zero.yaml', Buffer.from('title: x\nnotes: \0\n'));
        return 'zero.yaml';
      },
      /^tripstroke: zero\.yaml:2:8: error: .*zero byte/,
    ],
    [
      'text that is not UTF-8',
      () => {
        place.write(
          'latin.yaml',
          Buffer.concat([Buffer.from('title: x\r\nnotes: \ufffd caf'), Buffer.from([0xe9, 0x0a])]),
        );
        return 'latin.yaml';
      },
      /^tripstroke: latin\.yaml:2:13: error: .*UTF-8/,
    ],
    [
      'UTF-16',
      () => {
        place.write('wide.yaml', Buffer.from(`\ufeff${PASSING}`, 'utf16le'));
        return 'wide.yaml';
      },
      /UTF-16 text; save it as UTF-8/,
    ],
    [
      'a file of 17 MB',
      () => {
        place.write('huge.yaml', Buffer.alloc(17 * 1024 ** 2, '#'));
        return 'huge.yaml';
      },
      /huge\.yaml: is larger than 16 MB/,
    ],
  ])('%s', async (_name, file, message) => {
    const { code, stdout, stderr } = await place.here(['replay', file()]);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toMatch(message);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
  });
  test('standard input of 17 MB', async () => {
    const { code, stderr } = await place.run(['check', '-'], { input: Buffer.alloc(17 * 1024 ** 2, '#') });
    expect(code).toBe(2);
    expect(stderr).toMatch(/^tripstroke: standard input: is larger than 16 MB/);
  });
  test('standard input given twice', async () => {
    const { code, stderr } = await place.run(['check', '-', '-'], { input: PASSING });
    expect(code).toBe(2);
    expect(stderr).toContain('"-" is given twice');
  });
});

describe('check', () => {
  test('a sound file: 0, whatever a run would show', async () => {
    const { code, stdout } = await place.here(['check', 'weak.yaml']);
    expect(code).toBe(0);
    expect(stdout).toMatch(/^weak\.yaml: no faults, /);
  });
  test('a bad setting is a finding with its lines and advice: 0', async () => {
    place.write('low.yaml', `${PASSING}panel: { pressure: { lowLow: 90 psig, low: 85 psig } }\n`);
    const { code, stdout } = await place.here(['check', 'low.yaml']);
    expect(code).toBe(0);
    expect(stdout).toMatch(
      /^low\.yaml: no faults, 1 finding\nWarning: pressure order \(low\.yaml:20\)\n {9}Low pressure \(85\.0 psig\)/,
    );
    // The staircase marks it too, and figures follow.
    expect(stdout).toMatch(/^low +85\.0 +-5\.0 +!/m);
    expect(stdout).toMatch(/^Figure: {2}usable oil: between the start \(118\.0 psig\)/m);
  });
  test('faults: 2, and the other files are checked', async () => {
    const { code, stdout, stderr } = await place.here(['check', 'broken.yaml', 'good.yaml']);
    expect(code).toBe(2);
    expect(stdout).toMatch(/^good\.yaml: no faults, /);
    expect(stderr).toMatch(/^broken\.yaml:16:13: error: valves\.0\.onTrip: /m);
  });
});

test('schema prints a JSON Schema that knows the keys of the file', async () => {
  const { code, stdout } = await place.here(['schema']);
  expect(code).toBe(0);
  expect(JSON.parse(stdout)).toMatchObject({ type: 'object', properties: { valves: {}, tank: {}, start: {} } });
});
