/** `--set` on a switch, which the file may give as a trip point alone or with its tag, delay and accuracy. */
import { expect, test } from 'vitest';
import { loadScenario } from '../scenarios/load.ts';
import { PASSING } from './cli/support.ts';

const PANEL = 'panel: { level: { low: { tag: LSL-9, at: 6 in, accuracy: 0.25 in, delay: 2 s }, normal: 9 in } }\n';
const load = (text: string, ...overrides: string[]) => loadScenario(text, { file: 'unit.yaml', overrides });
const levelsOf = (text: string, ...overrides: string[]) => load(text, ...overrides).scenario!.values.panel.level;
const INCH_m = 0.0254;

test('a trip point alone leaves tag, delay and accuracy as they are', () => {
  const { low } = levelsOf(PASSING + PANEL, 'panel.level.low=7 in');
  expect(low).toEqual({ tag: 'LSL-9', at: 7 * INCH_m, accuracy: 0.25 * INCH_m, delay: 2 });
});

test('the report names the trip point that was there', () => {
  const { scenario } = load(PASSING + PANEL, 'panel.level.low=7 in');
  expect(scenario!.overrides).toMatchObject([{ path: 'panel.level.low.at', before: '6 in', after: '7 in' }]);
});

test('a group replaces the whole switch', () => {
  const { low } = levelsOf(PASSING + PANEL, 'panel.level.low={ at: 7 in }');
  expect(low).toEqual({ at: 7 * INCH_m, accuracy: 0, delay: 0 });
});

test('a key beside a trip point that stands alone', () => {
  const { normal } = levelsOf(PASSING + PANEL, 'panel.level.normal.accuracy=0.5 in');
  expect(normal).toEqual({ at: 9 * INCH_m, accuracy: 0.5 * INCH_m, delay: 0 });
});

test('a switch that the file does not have', () => {
  expect(levelsOf(PASSING + PANEL, 'panel.level.high=14 in').high).toBe(14 * INCH_m);
});

test('a group that several switches share by an alias changes for the one', () => {
  const shared = PANEL.replace('low: {', 'low: &s {').replace('normal: 9 in', 'lowLow: *s').replace('tag: LSL-9, ', '');
  const { low, lowLow } = levelsOf(PASSING + shared, 'panel.level.lowLow=4 in');
  expect(low).toEqual({ at: 6 * INCH_m, accuracy: 0.25 * INCH_m, delay: 2 });
  expect(lowLow).toEqual({ at: 4 * INCH_m, accuracy: 0.25 * INCH_m, delay: 2 });
});

test('what is wrong with it points into the override', () => {
  const [fault] = load(PASSING + PANEL, 'panel.level.low=7 psi').faults;
  expect(fault).toMatchObject({ file: '--set', line: 1, column: 17, path: 'panel.level.low.at' });
});
