/** Steps of the hands, with conditions and expected readings, on the base unit and on the shipped demonstration. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { formatFaults, loadScenario, replay } from '../../scenarios/index.ts';
import { BASE, watch } from '../support/baseUnit.ts';

const drained = { 'tank.drain': { flowCoefficient: 'Kv 2' } };

describe('steps', () => {
  test('a step waits for its condition, the next follows at the same scan', () => {
    const seen = watch(
      {
        ...drained,
        steps: [
          { do: 'open drain', until: 'tank.level < 0.62 m' },
          { do: 'close drain' },
          { for: '5 s' },
          { do: 'set to hand', item: 'P-2' },
        ],
      },
      120,
    );
    const closed = seen.first(seen.unit.plant.tank.tag, 'drain closed');
    expect(seen.level(closed)).toBeLessThanOrEqual(0.62);
    expect(seen.level(closed - 0.1)).toBeGreaterThan(0.62);
    expect(seen.level(closed + 4)).toBeCloseTo(seen.level(closed), 9);
    expect(seen.first('P-2', 'selector') - closed).toBeCloseTo(5, 9);
  });

  test('drain and vent pass what their sizes say', () => {
    const drain = watch({ ...drained, steps: [{ do: 'open drain' }] }, 2);
    // Kv 2: 2 m3/h at 1 bar and water density; at 8.5 bar sqrt(8.5) times, in lighter oil a little more.
    const rho = drain.unit.plant.oil.density_kg_m3;
    const flow = ((2 / 3600) * Math.sqrt(8.5 * 1000)) / Math.sqrt(rho);
    expect((drain.level(0) - drain.level(1)) * 0.5).toBeCloseTo(flow, 4);
    const vent = watch(
      {
        'tank.vent': { bore: '4 mm' },
        'tank.dissolvedAir.model': 'none',
        steps: [{ do: 'open vent', for: '2 s' }, { do: 'close vent' }],
      },
      4,
    );
    // Choked air at 9.5 bar and 20 degC: 0.0404 Cd A p/sqrt(T) = 0.0404 x 0.62 x 12.57e-6 x 9.51e5/17.12 kg/s.
    const mass = (0.0404149 * 0.62 * (Math.PI / 4) * 0.004 ** 2 * 9.51325e5) / Math.sqrt(293.15);
    const air = (t: number) => vent.slot('air.mass', t);
    expect((air(0) - air(0.5)) / 0.5 / mass).toBeCloseTo(1, 2);
    expect(air(4)).toBeCloseTo(air(2), 9);
  });

  test('isolation by hand, besides a fault on the same valve', () => {
    const seen = watch(
      {
        'start.level': '0.55 m',
        actions: [
          { at: '2 s', do: 'shut isolation', item: 'P-1' },
          { at: '4 s', do: 'open isolation', item: 'P-1' },
        ],
        faults: [{ fault: 'isolation valve shut', item: 'P-1', at: '3 s', for: '3 s' }],
      },
      10,
    );
    expect([1, 3, 5, 7].map((t) => seen.flows(t).pump[0] > 0)).toEqual([true, false, false, true]);
  });

  test('a step whose condition does not come is given up after its patience', () => {
    const seen = watch({ steps: [{ until: 'tank.level > 2 m', patience: '7 s' }, { do: 'acknowledge' }] }, 20);
    expect(seen.first('step', '1 given up')).toBe(7);
    expect(seen.first('step', '2 done')).toBe(7);
  });
});

describe('expected readings', () => {
  const run = (expected: string) => {
    const text = `${BASE}\nsteps: [{ for: 2 s, expect: [${expected}] }]\nrun: { duration: 5 s }\n`;
    const loaded = loadScenario(text, { file: 'base' });
    if (loaded.scenario === undefined) return formatFaults(loaded);
    return replay(loaded.scenario, { units: 'si' }).result.steps[0].asExpected;
  };
  test.each([
    ['{ what: tank.level, reads: 0.65 m, within: 1 mm }', true],
    ['{ what: tank.level, reads: 0.66 m, within: 1 mm }', false],
    ['{ what: tank.pressure, reads: 8.5 barg, within: 0.01 bar }', true],
    ['{ what: P-1.running, reads: no }', true],
    ['{ what: P-1.running, reads: yes }', false],
  ])('%s', (expected, met) => {
    expect(run(expected)).toBe(met);
  });
  test.each([
    ['{ what: tank.level, reads: 0.65 m }', 'within'],
    ['{ what: tank.levle, reads: 0.65 m, within: 1 mm }', 'did you mean tank.level?'],
    ['{ what: P-1.running, reads: 3 bar }', 'yes or no'],
  ])('%s is refused', (expected, word) => {
    expect(run(expected)).toContain(word);
  });
});

test('the commissioning demonstration: drain, duty, standby after a blocked starter, compressor waits for the level', () => {
  const file = 'scenarios/ashlar-weir.yaml';
  const { scenario } = loadScenario(readFileSync(file, 'utf8'), { file });
  const { result } = replay(scenario!, { units: 'si' });
  expect(result.steps.filter((s) => !s.asExpected)).toEqual([]);
  expect(result.steps.length).toBe(13);
  expect(result.verdict.met).toBe(true);
  // Without the standby the sixth step cannot go as expected.
  const alone = loadScenario(readFileSync(file, 'utf8'), { file, overrides: ['pumps.P-72.selector=off'] });
  expect(replay(alone.scenario!, { units: 'si' }).result.verdict.met).toBe(false);
});
