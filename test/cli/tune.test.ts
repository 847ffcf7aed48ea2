/** `tune` end to end: what it prints, what it writes, and that what it wrote passes. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Ended, PASSING, Workplace } from './support.ts';

const demo = (name: string) =>
  readFileSync(fileURLToPath(new URL(`../../scenarios/${name}.yaml`, import.meta.url)), 'utf8');
let place: Workplace;
beforeAll(() => {
  place = new Workplace();
});
afterAll(() => place.remove());

describe('the American demo', () => {
  let ended: Ended;
  beforeAll(async () => {
    // With a byte order mark and the line ends of Windows, which are kept.
    place.write('unit.yaml', `\ufeff${demo('mill-creek').replaceAll('\n', '\r\n')}`);
    ended = await place.here(['tune', 'unit.yaml', '--trade-off', '--out', 'tuned.yaml']);
  }, 300_000);

  test('is tuned within 80 columns', () => {
    expect(ended.stderr).toBe('');
    expect(ended.code).toBe(0);
    expect(ended.stdout).toMatch(/^FEASIBLE: with \d of 6 setpoints/);
    for (const part of [
      'Before:  NOT MET',
      'After:   MET',
      'Raised for margin',
      'Least margin against starts an hour',
      'Written: tuned.yaml',
    ])
      expect(ended.stdout).toContain(part);
    for (const line of ended.stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    // Whoever sets the switches has to know which have no room.
    const only = [...ended.stdout.matchAll(/^(\S[a-z -]*?) {2,}.* only$/gm)].map(([, name]) => name);
    expect(only.length).toBeGreaterThan(0);
    const [, narrow] = /^Narrow: +(.*): no step/m.exec(ended.stdout) ?? [];
    expect(narrow?.split(/, | and /)).toEqual(only);
  });

  test('only the numbers of setpoints differ in what it writes', () => {
    const [before, after] = ['unit.yaml', 'tuned.yaml'].map((name) =>
      readFileSync(place.at(name), 'utf8').split('\r\n'),
    );
    expect(after.length).toBe(before.length);
    const differing = after.flatMap((line, i) => (line === before[i] ? [] : [[before[i], line]]));
    expect(differing.length).toBe(6);
    for (const [was, is] of differing) expect(is.replace(/at: [\d.]+/, '')).toBe(was.replace(/at: [\d.]+/, ''));
    expect(after[0].startsWith('\ufeff#')).toBe(true);
  });

  test('passes then: from its stated start, and at the worst moment', async () => {
    expect((await place.here(['replay', 'tuned.yaml', '--no-files', '--quiet'])).code).toBe(0);
    // That it does not as found is for worst.test.ts.
    const worst = await place.here(['worst', 'tuned.yaml']);
    expect(worst.stdout).toMatch(/^MET/);
    expect(worst.code).toBe(0);
  }, 300_000);
});

describe('the metric demo', () => {
  beforeAll(() => place.write('tarn.yaml', demo('tarn-hollow')));

  test('has no feasible setting: exit code 1, and nothing is written', async () => {
    const { code, stdout, stderr } = await place.here(['tune', 'tarn.yaml', '--out', 'never.yaml']);
    expect(code).toBe(1);
    expect(stdout).toMatch(/^NO FEASIBLE SETTING: the nearest miss is shown. It is blocked by:/);
    expect(stderr).toContain('never.yaml was not written');
    expect(existsSync(place.at('never.yaml'))).toBe(false);
  }, 300_000);

  test('as JSON', async () => {
    // Two switches with few steps are enough for that.
    const few =
      '[{ setpoint: panel.level.dutyStart, from: 360 mm, to: 380 mm, step: 10 mm },' +
      ' { setpoint: panel.pressure.cutIn, from: 9 barg, to: 9.4 barg, step: 0.2 bar }]';
    const { code, stdout } = await place.here(['tune', 'tarn.yaml', '--json', '--set', `tuning.setpoints=${few}`]);
    const answer = JSON.parse(stdout);
    expect(code).toBe(1);
    expect(answer.feasible).toBe(false);
    expect(answer.setpoints.map((s: { path: string }) => s.path)).toContain('panel.pressure.cutIn');
    expect(answer.setpoints[0].written).toMatch(/^\d+ mm$/);
  }, 300_000);
});

test('what cannot be tuned or written is refused', { timeout: 300_000 }, async () => {
  place.write('unit.yaml', demo('mill-creek'));
  const both = await place.here(['tune', 'unit.yaml', '--out', 'x.yaml', '--set', 'start.pressure=120 psig']);
  expect([both.code, both.stderr]).toEqual([2, expect.stringContaining('put what --set changes into the file first')]);
  const own = await place.here(['tune', 'unit.yaml', '--out', './unit.yaml']);
  expect([own.code, own.stderr]).toEqual([2, expect.stringContaining('./unit.yaml is the file that is read')]);
  expect(own.stderr).toContain('--out unit-new.yaml');
  const cause = await place.here(['explain', 'unit.yaml', '--seen', 'none.yaml', '--out', 'unit.yaml']);
  expect([cause.code, cause.stderr]).toEqual([2, expect.stringContaining('is the file that is read')]);
  expect(readFileSync(place.at('unit.yaml'), 'utf8')).toBe(demo('mill-creek'));
  place.write('bare.yaml', PASSING);
  const bare = await place.here(['tune', 'bare.yaml']);
  expect([bare.code, bare.stderr]).toEqual([2, expect.stringContaining('there is nothing to tune')]);
  place.write('bad.yaml', `${demo('mill-creek')}  setpoints: [{ setpoint: panel.pressure.cutIn, to: 150 }]\n`);
  const bad = await place.here(['tune', 'bad.yaml']);
  expect(bad.code).toBe(2);
  expect(bad.stderr).toMatch(/^bad\.yaml:\d+:\d+: error: tuning\.setpoints\.0\.to: "150" has no unit/);
});
