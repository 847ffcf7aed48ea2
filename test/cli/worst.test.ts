/** `worst` as a user meets it. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { Workplace } from './support.ts';

const place = new Workplace();
const demo = (name: string) => readFileSync(fileURLToPath(new URL(`../../scenarios/${name}.yaml`, import.meta.url)));
beforeAll(() => {
  place.write('mill.yaml', demo('mill-creek'));
  place.write('tarn.yaml', demo('tarn-hollow'));
});
afterAll(() => place.remove());

test('says when, why and how to see it, in 80 columns, and writes the moments', async () => {
  const { code, stdout, stderr } = await place.here(['worst', 'mill.yaml', '--csv', 'moments.csv', '--instants', '40']);
  expect([code, stderr]).toEqual([1, '']);
  expect(stdout).toMatch(/^NOT MET: /);
  for (const line of stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  expect(stdout).toContain('tripstroke replay mill.yaml --at worst');
  expect(stdout).toMatch(/Caution: +Stored pressure/);
  const rows = readFileSync(place.at('moments.csv'), 'utf8').trim().split('\n');
  expect(rows[0]).toBe(
    'mains lost at [s],tank pressure [psig],tank level [in],least margin of,margin,margin beyond the wanted one,met',
  );
  expect(rows.length).toBeGreaterThan(40);
});

test('replays the proof', async () => {
  const { code, stdout } = await place.here(['replay', 'mill.yaml', '--at', 'worst', '--no-files', '--quiet']);
  expect(code).toBe(1);
  // Both butterfly valves, at the cut-in of 117 psig (118 less the accuracy of the switch).
  expect(stdout).toMatch(/117\.\d psig/);
  expect(stdout).toMatch(/V-322 stalled/);
});

test('gives JSON in SI, and nothing else', async () => {
  const { stdout } = await place.here(['worst', 'tarn.yaml', '--json', '--instants', '5', '--service', '2 d']);
  const answer = JSON.parse(stdout);
  expect(answer.proof.met).toBe(false);
  expect(answer.worst.time_s).toBeLessThanOrEqual(2 * 86_400);
  expect(answer.cautions).toHaveLength(2);
});

test.each([
  [['--instants', '0'], /whole number from 1/],
  [['--service', '3 parsecs'], /--service/],
  [['--at', 'dawn'], /unknown option|--at/],
])('refuses %j', async (more, words) => {
  const { code, stderr } = await place.here(['worst', 'mill.yaml', ...more]);
  expect(code).toBe(2);
  expect(stderr).toMatch(words);
});

test('says where it cannot write, and leaves nothing behind', async () => {
  const { code, stderr } = await place.here(['worst', 'tarn.yaml', '--instants', '2', '--csv', 'nowhere/moments.csv']);
  expect(code).toBe(2);
  expect(stderr).toMatch(/the moments cannot be written to nowhere\/moments\.csv/);
  expect(existsSync(place.at('nowhere'))).toBe(false);
});
