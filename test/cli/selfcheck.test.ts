/** `selfcheck` of the compiled command, as it is and with one constant altered. */
import { cpSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { CHECKS, runChecks } from 'tripstroke/checks';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { printSelfcheck, selfcheckJson } from '../../bin/selfcheckCommand.ts';
import { paintNothing } from '../../bin/terminal.ts';
import { VERSION } from '../../scenarios/index.ts';
import { Workplace } from './support.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const circumstances = { date: '2001-02-03T04:05:06.789Z', node: 'v20.19.0', system: 'linux x64' };
let place: Workplace;
beforeAll(() => {
  place = new Workplace();
});
afterAll(() => place.remove());

describe('the program as it is', () => {
  test('every figure in 80 columns, with version, Node.js and date; exit 0', async () => {
    const { code, stdout, stderr } = await place.run(['selfcheck']);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    const lines = stdout.split('\n');
    expect(lines[0]).toBe(`MET: all ${CHECKS.length} figures lie within their tolerance.`);
    expect(lines[1]).toMatch(
      new RegExp(`^tripstroke ${VERSION}, Node\\.js ${process.versions.node}, .*, \\d{4}-\\d\\d-\\d\\dT[\\d:.]+Z$`),
    );
    expect(lines.filter((line) => line.length > 80)).toEqual([]);
    expect(lines.filter((line) => line.endsWith('  yes'))).toHaveLength(CHECKS.length);
    for (const subject of new Set(CHECKS.map((c) => c.subject)))
      expect(stdout.toLowerCase()).toContain(`\n${subject.toLowerCase()}:\n`);
  });

  test('--json: the same with sources and tolerances', async () => {
    const { code, stdout } = await place.run(['selfcheck', '--json']);
    expect(code).toBe(0);
    const record = JSON.parse(stdout);
    expect(record).toMatchObject({
      schemaVersion: 1,
      program: `tripstroke ${VERSION}`,
      node: process.version,
      met: true,
    });
    expect(record.checks).toHaveLength(CHECKS.length);
    for (const check of record.checks) {
      expect(Math.abs(check.got - check.expected)).toBeLessThanOrEqual(check.allowed);
      expect(check).toMatchObject({ within: true, source: { basis: expect.any(String) }, tolerance: { why: /./ } });
    }
  });

  test('takes less than 5 s of one processor', () => {
    const before = process.cpuUsage();
    runChecks(CHECKS);
    const { user, system } = process.cpuUsage(before);
    expect((user + system) / 1e6).toBeLessThan(5);
  });
});

// A few parts in a thousand or less: what a slip of the hand in a constant would be.
describe('one constant altered in the compiled program: exit 1, the figures named first', () => {
  test.each([
    [
      'the ratio of specific heats',
      'models/air.js',
      'GAMMA = 1.4;',
      'GAMMA = 1.401;',
      /Charge of 40 bar|charge of 40 bar/,
    ],
    ['heat exchange', 'models/air.js', 'return 0.13 * k', 'return 0.15 * k', /heat exchange of the charge/],
    ['friction in pipes', 'models/pipe.js', '-2.457 * Math.log', '-2.46 * Math.log', /lines: Churchill 1977/],
    ['a weight of the integrator', 'sim/stepper.js', '-2187 / 6784', '-2187 / 6783', /runs: reference drawdown/],
  ])('%s', async (_what, file, good, bad, named) => {
    const folder = place.at(path.basename(file) + good.length);
    cpSync(path.join(root, 'dist'), folder, { recursive: true });
    writeFileSync(path.join(folder, 'package.json'), '{ "type": "module" }');
    symlinkSync(path.join(root, 'node_modules'), path.join(folder, 'node_modules'), 'junction');
    const text = readFileSync(path.join(folder, file), 'utf8');
    expect(text.split(good)).toHaveLength(2);
    writeFileSync(path.join(folder, file), text.replace(good, bad));
    const { code, stdout } = await place.run(['selfcheck'], { program: path.join(folder, 'bin/tripstroke.js') });
    expect(code).toBe(1);
    expect(stdout).toMatch(/^NOT MET: \d+ of \d+ figures lie outside their tolerance\.\n/);
    expect(stdout).toMatch(named);
    expect(stdout).toMatch(/ NO$/m);
  });
});

test('a figure that is off, and one that the program fails to give', () => {
  const [first, second] = CHECKS;
  const results = runChecks([
    { ...first, expected: 1.2 },
    {
      ...second,
      got: () => {
        throw new Error('no such thing');
      },
    },
  ]);
  const text = printSelfcheck(results, circumstances, paintNothing);
  expect(text).toMatch(/^NOT MET: 2 of 2 figures lie outside their tolerance\.\n/);
  expect(text).toContain('tripstroke');
  expect(text).toContain('2001-02-03T04:05:06.789Z');
  expect(text.replace(/\n +/g, ' ')).toMatch(
    /1\.\d+ for 1\.2, off by -0\.012, 0\.0006 allowed\. Source: .*\(derived\)/,
  );
  expect(text.replace(/\n +/g, ' ')).toContain('failed: no such thing.');
  expect(text.match(/ NO$/gm)).toHaveLength(2);
  const { checks, met } = JSON.parse(selfcheckJson(results, circumstances));
  expect(met).toBe(false);
  expect(checks[1]).toMatchObject({ got: null, within: false, failure: 'no such thing' });
});
