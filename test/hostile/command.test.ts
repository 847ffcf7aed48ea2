/**
 * Hostile files through the compiled command: 25 here, up to 100 with TRIPSTROKE_RUNS. Each is replayed or refused at a place;
 * no file is a fault of the program (exit code 70), and none shows a stack.
 */
import { writeFileSync } from 'node:fs';
import fc from 'fast-check';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { PASSING, Workplace } from '../cli/support.ts';
import { bytesOf, hostileFile } from './mutate.ts';

const SEED = Number(process.env['TRIPSTROKE_SEED'] ?? 7);
const COUNT = Math.min(100, Number(process.env['TRIPSTROKE_RUNS'] ?? 25));
const BATCH = 25;

let place: Workplace;
beforeAll(() => {
  place = new Workplace();
});
afterAll(() => place.remove());

const STACK = /\n {2,}at \S+ .*:\d+|node:internal/;
const LINE =
  /^(tripstroke: )?(h\d\d\.yaml):(\d+:\d+: error: \S| is larger)|^ {2}|^$|^\.\.\. and \d+ (or more )?further faults$/;

const cases = fc.sample(hostileFile, { seed: SEED, numRuns: COUNT });
const batches = Array.from({ length: Math.ceil(COUNT / BATCH) }, (_, k) => cases.slice(k * BATCH, (k + 1) * BATCH));

test.each(batches.map((files, k) => [k, files] as const))(
  'batch %d',
  async (k, files) => {
    const names = files.map((_, i) => `h${String(k * BATCH + i).padStart(2, '0')}.yaml`);
    for (const [i, name] of names.entries()) writeFileSync(place.at(name), bytesOf(files[i]!));
    const { code, stdout, stderr } = await place.run(['replay', ...names, '--json', '--no-files']);
    const again = `TRIPSTROKE_SEED=${SEED} TRIPSTROKE_RUNS=${COUNT} npx vitest run test/hostile/command.test.ts`;
    expect([0, 1, 2, 3], `replay: ${again}`).toContain(code);
    expect(stderr).not.toMatch(STACK);
    const refused = new Set<string>();
    for (const line of stderr.split('\n')) {
      expect(line).toMatch(LINE);
      const name = LINE.exec(line)?.[2];
      if (name !== undefined) refused.add(name);
    }
    const ran = JSON.parse(stdout).map(({ file }: { file: string }) => file);
    expect([...ran, ...refused].sort()).toEqual(names);
    expect(code === 2).toBe(refused.size > 0);
  },
  120_000,
);

test('a file name cannot send control codes to the terminal', async () => {
  const { code, stderr } = await place.run(['check', 'a\u001b[31mb.yaml']);
  expect({ code, stderr }).toEqual({ code: 2, stderr: 'tripstroke: a [31mb.yaml: no such file\n' });
});

test.skipIf(process.platform !== 'linux')('a place where no folder can be made', async () => {
  place.write('good.yaml', PASSING);
  // Killed if it does not come to an end.
  const { code, signal, stderr } = await place.run(['replay', 'good.yaml', '--out', '/proc/nothing/here'], {
    started: (child) => setTimeout(() => child.kill('SIGKILL'), 10_000).unref(),
  });
  expect({ code, signal }).toEqual({ code: 2, signal: null });
  expect(stderr).toMatch(/^tripstroke: the results cannot be written to \/proc\/nothing\/here\/good: .*\n$/);
});
