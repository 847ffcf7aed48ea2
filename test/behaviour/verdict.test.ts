/** What the verdict says of strokes that only the return of the mains completes, of bad starts and of small margins. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { checkScenario, loadScenario, replay } from '../../scenarios/index.ts';
import { unitsWritten } from '../../scenarios/units.ts';

const file = 'scenarios/mill-creek.yaml';
const text = readFileSync(file, 'utf8');
const scenarioWith = (...overrides: string[]) => {
  const { scenario, faults } = loadScenario(text, { file, overrides });
  if (scenario === undefined) throw new Error(faults.map((f) => f.message).join('\n'));
  return scenario;
};
const strokeOf = (tag: string, ...overrides: string[]) => {
  const { result } = replay(scenarioWith(...overrides), { trace: false });
  return { result, stroke: result.verdict.strokes.find((s) => s.valve === tag)! };
};

test('a valve that stalls and closes only when the mains are back counts as stalled, with the pressures that stopped it', () => {
  // An hour of leaking: the valve stops just off its seat (the README's second example).
  const { stroke, result } = strokeOf('V-321', 'power.lostAt=62 min', 'power.backAt=72 min', 'power.trip=until reset');
  expect(stroke.outcome).toBe('stalled');
  expect(stroke.margin).toBeUndefined();
  expect(stroke.endedAt_s).toBeGreaterThan(72 * 60);
  expect(stroke.reason).toMatch(
    /with the mains off it came to a stand at 0\.\d % open: 1\d\d\.\d psig in the header, 1\d\d\.\d psig needed/,
  );
  expect(stroke.reason).toContain('only after the mains were back');
  // Without a stated length the run goes on for half an hour after the mains are back.
  expect(result.end.time_s).toBeGreaterThanOrEqual(102 * 60);
});

test('the same valve with time enough completes, mains back or not', () => {
  const { stroke } = strokeOf('V-321', 'power.backAt=10 min');
  expect([stroke.outcome, stroke.met]).toEqual(['completed', true]);
});

test('a margin under the one wanted is named as that, not as "completed"', () => {
  const { result, stroke } = strokeOf('V-322', 'valves.V-322.require.margin=8 %');
  expect([stroke.outcome, stroke.met]).toEqual(['completed', false]);
  expect(result.verdict.text).toContain('V-322 margin too small');
});

test('a start at or over the set pressure of the safety valve or the design pressure is a finding', () => {
  const ids = (pressure: string) => checkScenario(scenarioWith(`start.pressure=${pressure}`)).map((f) => f.id);
  expect(ids('150 psig')).not.toContain('start pressure too high');
  expect(ids('199 psig').filter((id) => id === 'start pressure too high').length).toBe(1);
  expect(ids('206 psig').filter((id) => id === 'start pressure too high').length).toBe(2);
});

test('highest tank and least header pressure are those of the trace, to what lies between two rows', () => {
  const { result, trace } = replay(scenarioWith(), { sample_s: 0.1 });
  const column = (name: string) => trace!.columns.findIndex((c) => c.name === name);
  const least = Math.min(
    ...trace!.rows.filter((r) => r[0] > 20.4 && r[0] < 46).map((r) => r[column('header pressure')]),
  );
  expect(Math.abs(result.extremes.leastHeaderPressure_Pa! - least)).toBeLessThan(500);
  const highest = Math.max(...trace!.rows.map((r) => r[column('tank pressure')]));
  expect(Math.abs(result.extremes.highestTankPressure_Pa - highest)).toBeLessThan(500);
});

test('results come in the units the file is written in', () => {
  expect(unitsWritten(text)).toBe('us');
  expect(unitsWritten(readFileSync('scenarios/tarn-hollow.yaml', 'utf8'))).toBe('si');
  expect(unitsWritten('')).toBe('us');
});
