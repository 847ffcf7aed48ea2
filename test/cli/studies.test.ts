/** `faults` and `size` as a user meets them, on both demos. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { PASSING, Workplace } from './support.ts';

const place = new Workplace();
const demo = (name: string) => readFileSync(fileURLToPath(new URL(`../../scenarios/${name}.yaml`, import.meta.url)));
beforeAll(() => {
  place.write('mill.yaml', demo('mill-creek'));
  place.write('tarn.yaml', demo('tarn-hollow'));
  place.write('good.yaml', PASSING);
});
afterAll(() => place.remove());

const narrow = (text: string) => {
  for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
};
/** Text without its line breaks, to look for a sentence in. */
const flat = (text: string) => text.replace(/\s+/g, ' ');

describe('faults', () => {
  test('of the American demo: single points of failure with their reasons, the harmless ones by kind', async () => {
    const { code, stdout, stderr } = await place.here(['faults', 'mill.yaml', '--only', 'V-33', '--csv', 'faults.csv']);
    expect([code, stderr]).toEqual([1, '']);
    narrow(stdout);
    // 4 faults on each of 2 valves.
    expect(stdout).toMatch(/^NOT MET: \d+ of 8 single faults defeat the shutdown, \d+ of them hidden\.$/m);
    expect(flat(stdout)).toContain('the unit does not meet the requirement without a fault either');
    expect(stdout).toMatch(/V-331 never moved from 100 % open: its pilot did not shift/);
    expect(stdout).toMatch(/^ {2}seal bypass: V-3\d\d, /m);
    expect(flat(stdout)).toContain('(choice) capacity lost or line blocked 50 %');
    expect(stdout).toMatch(/Caution: +Stored pressure/);
    const rows = readFileSync(place.at('faults.csv'), 'utf8').trim().split('\n');
    expect(rows[0]).toMatch(/^item,failure mode,in service,revealed by,.*,consequence,reason,replay with$/);
    expect(rows).toHaveLength(9);
  });

  test('of the metric demo: a few, each with the line that replays it', async () => {
    const { code, stdout } = await place.here(['faults', 'tarn.yaml', '--only', 'V-12 pilot', '--interval', '1 d']);
    expect(code).toBe(1);
    narrow(stdout);
    const [, overrides = ''] = /(--set "faults=.*? s")\s+Each:/.exec(flat(stdout)) ?? [];
    const set = [...overrides.matchAll(/--set "([^"]*)"/g)].flatMap(([, text = '']) => ['--set', text]);
    expect(set).toHaveLength(4);
    const again = await place.here(['replay', 'tarn.yaml', ...set, '--quiet', '--no-files']);
    expect(again.code).toBe(1);
    expect(flat(again.stdout)).toContain('V-12 (bypass valve): never moved from 0 % open: its pilot did not shift');
  });

  test('JSON in SI, and nothing else; pairs are announced on the other stream', async () => {
    const args = ['faults', 'tarn.yaml', '--only', 'LS-03', '--interval', '6 h', '--pairs', '--json'];
    const { stdout, stderr } = await place.here(args);
    const answer = JSON.parse(stdout);
    // Stuck made, stuck open, drifted both ways, sunk, wire broken: 15 pairs less those that exclude each other.
    expect(answer.answers).toHaveLength(6);
    expect(stderr).toMatch(/\d+ pairs of faults, about \d+ s/);
    expect(answer.pairs.run).toBe(Number(/(\d+) pairs/.exec(stderr)?.[1]));
    expect(answer.answers[0].overrides).toHaveLength(2);
    expect(answer.answers[0].revealedBy).toBeNull();
    expect(answer.cautions).toHaveLength(2);
  });

  test('more pairs than allowed are not begun', async () => {
    const args = ['faults', 'tarn.yaml', '--only', 'LS-0', '--interval', '1 h', '--pairs', '--most', '5'];
    const { code, stdout, stderr } = await place.here(args);
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toMatch(/\d+ pairs of faults, about .*: more than 5; narrow them down with --only/);
  });

  test.each([
    [['--only', 'V-99'], /no fault of this unit has "V-99"/],
    [['--interval', '3 parsecs'], /--interval/],
    [['--repair', '0 h'], /--repair: "0 h" must be more than 0/],
    [['--most', 'all'], /whole number/],
  ])('refuses %j', async (more, words) => {
    const { code, stderr } = await place.here(['faults', 'good.yaml', ...more]);
    expect(code).toBe(2);
    expect(stderr).toMatch(words);
  });

  test('says where it cannot write, and leaves nothing behind', async () => {
    const { code, stderr } = await place.here(['faults', 'good.yaml', '--csv', 'nowhere/faults.csv']);
    expect(code).toBe(2);
    expect(stderr).toMatch(/the faults cannot be written to nowhere\/faults\.csv/);
    expect(existsSync(place.at('nowhere'))).toBe(false);
  });
});

describe('size', () => {
  test('of the American demo: what is missing is pressure', async () => {
    const { code, stdout, stderr } = await place.here([
      'size',
      'mill.yaml',
      '--refill',
      '4 min',
      '--recharge',
      '10 min',
    ]);
    expect([code, stderr]).toEqual([1, '']);
    narrow(stdout);
    expect(stdout).toMatch(/^NOT ENOUGH: /);
    expect(stdout).toMatch(/^Tank at this cut-in +none +none +none +none$/m);
    expect(flat(stdout)).toContain('what is missing is pressure, not volume');
    expect(flat(stdout)).toMatch(/In 0:04:00 that takes \d\.\d+ gal\/min delivered/);
    expect(flat(stdout)).toMatch(/In 0:10:00 that takes \d\.\d+ ft\^3\/min of free air/);
  });

  test('of the metric demo: four ways side by side, and the next larger size', async () => {
    const { code, stdout } = await place.here(['size', 'tarn.yaml', '--sizes', '500 L, 1900 L, 2600 L']);
    expect(code).toBe(1);
    narrow(stdout);
    expect(stdout).toMatch(/^Tank at this cut-in +\d+ L +\d+ L +\d+ L +\d+ L$/m);
    expect(stdout).toMatch(/^Next size: 1900 L; run in the same state it has [\d.]+ % beyond/m);
  });

  test('of a unit with plenty: 0, and JSON in SI with every key', async () => {
    const { code, stdout } = await place.here(['size', 'good.yaml', '--json']);
    expect(code).toBe(0);
    const answer = JSON.parse(stdout);
    expect(answer.met).toBe(true);
    expect(answer.simulated.tank_m3).toBeLessThan(answer.tank_m3);
    expect(answer.next).toBeNull();
    // No pump: it takes for ever.
    expect(answer.machines.refill_s).toEqual([null, null]);
  });

  test.each([
    [['--sizes', '65 gal, 1 ft'], /--sizes: "1 ft" is a length/],
    [['--sizes', ' '], /empty/],
    [['--refill', '0 min'], /--refill: "0 min" must be more than 0/],
  ])('refuses %j', async (more, words) => {
    const { code, stderr } = await place.here(['size', 'good.yaml', ...more]);
    expect(code).toBe(2);
    expect(stderr).toMatch(words);
  });
});
