/** Campaigns: statistics against published figures, samples against their definitions, whole campaigns against closed forms. */
import { describe, expect, test } from 'vitest';
import { formatFaults, loadScenario, replay, type Scenario } from '../../scenarios/index.ts';
import type { Distribution } from '../../scenarios/uncertain.ts';
import { exactQuantity, readQuantity } from '../../scenarios/units.ts';
import { campaignSaid, otherwiseText } from '../../studies/campaignWords.ts';
import {
  type Campaign,
  type CampaignAnswer,
  type CampaignPlan,
  createCampaign,
  createSampler,
  draw,
  foldCampaign,
  planCampaign,
  REPLICATES,
  type Sampling,
} from '../../studies/index.ts';
import { SOBOL_DIMENSIONS, sobolDirections, sobolPoint } from '../../studies/sampling.ts';
import {
  normalProbability,
  normalQuantile,
  quantile,
  rankCorrelation,
  ranks,
  T_95_OF_8,
  wilson,
} from '../../studies/statistics.ts';
import { loneText } from '../support/loneValve.ts';

describe('statistics as others have them', () => {
  // R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I (from memory, recomputed); printed to four decimals.
  test.each([
    [81, 263, 0.2553, 0.3662],
    [0, 20, 0, 0.1611],
    [15, 148, 0.0624, 0.1605],
    [1, 29, 0.0061, 0.1718],
  ])('Wilson interval of %i in %i', (count, total, low, high) => {
    const got = wilson(count, total);
    expect(got.low).toBeCloseTo(low, 4);
    expect(got.high).toBeCloseTo(high, 4);
    // The same seen from the other side.
    expect(wilson(total - count, total).high).toBeCloseTo(1 - got.low, 12);
  });

  // M. J. Wichura, Applied Statistics 37 (1988) 477, the values the author gives to check an implementation (from memory).
  test.each([
    [0.25, -0.6744897501960817],
    [0.001, -3.090232306167814],
    [1e-20, -9.26234008979841],
  ])('normal quantile of %f', (p, z) => {
    expect(Math.abs(normalQuantile(p) / z - 1)).toBeLessThan(1e-15);
  });

  // NIST/SEMATECH e-Handbook 1.3.6.7.1, table of the cumulative normal distribution (from memory; printed to five decimals).
  test.each([
    [0, 0.5],
    [1, 0.84134],
    [1.96, 0.975],
    [-2.33, 0.0099],
    [3, 0.99865],
  ])('normal probability below %f', (z, p) => {
    expect(Math.abs(normalProbability(z) - p)).toBeLessThan(5.01e-6);
  });

  test('probability and quantile undo each other', () => {
    for (const z of [-6, -2.5, -0.3, 0.1, 1.7, 4]) {
      // The probability is right to 1e-15, which far out is much of it.
      const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
      expect(Math.abs(normalQuantile(normalProbability(z)) - z)).toBeLessThan(1e-14 + 2e-15 / density);
    }
  });

  // NIST/SEMATECH e-Handbook 1.3.6.7.2, t of 0.975 with 7 degrees of freedom: 2.365 (from memory).
  test('t of eight sets', () => {
    expect(T_95_OF_8).toBeCloseTo(2.365, 3);
    expect(REPLICATES).toBe(8);
  });

  // Hyndman and Fan 1996, definition 7: the k-th of n is the quantile of (k - 1)/(n - 1) (derived).
  test('quantiles', () => {
    const x = [10, 20, 40, 80];
    expect([0, 1 / 3, 0.5, 0.75, 1].map((p) => quantile(x, p))).toEqual([10, 20, 30, 50, 80]);
    expect(quantile([-1, Infinity, Infinity], 0.75)).toBe(Infinity);
    expect(quantile([], 0.5)).toBeNaN();
  });

  // IQ and hours of television of ten people, -29/165: worked example much copied in textbooks (from memory, recomputed by
  // 1 - 6 sum d^2 / (n (n^2 - 1)) with sum d^2 = 194).
  test('rank correlation', () => {
    const iq = [106, 100, 86, 101, 99, 103, 97, 113, 112, 110];
    const hours = [7, 27, 2, 50, 28, 29, 20, 12, 6, 17];
    expect(rankCorrelation(iq, hours)).toBeCloseTo(-29 / 165, 14);
    // Ties share the mean of their ranks (definition).
    expect([...ranks([5, 1, 5, 3])]).toEqual([3.5, 1, 3.5, 2]);
    expect(
      rankCorrelation(
        iq,
        iq.map((x) => Math.exp(x / 10)),
      ),
    ).toBeCloseTo(1, 14);
    expect(
      rankCorrelation(
        iq,
        iq.map(() => 3),
      ),
    ).toBeNaN();
  });
});

describe('samples', () => {
  const points = (sampling: Sampling, count: number, names = ['a', 'b', 'c'], seed = '1') => {
    const sampler = createSampler(sampling, seed, names, count);
    return Array.from({ length: count }, (_, i) => {
      const x = new Float64Array(names.length);
      sampler.point(i, x);
      return [...x];
    });
  };

  // Joe and Kuo's numbers, as other programs give the first eight points of two dimensions (recomputed elsewhere).
  test('first points of the Sobol sequence', () => {
    const [a, b] = [sobolDirections(0), sobolDirections(1)];
    const got = Array.from({ length: 8 }, (_, i) => [sobolPoint(a, i) / 2 ** 32, sobolPoint(b, i) / 2 ** 32]);
    expect(got).toEqual([
      [0, 0],
      [0.5, 0.5],
      [0.75, 0.25],
      [0.25, 0.75],
      [0.375, 0.375],
      [0.875, 0.875],
      [0.625, 0.125],
      [0.125, 0.625],
    ]);
  });

  // By definition every coordinate of the first 2^k points falls once into each of 2^k equal parts, whatever the numbers.
  test('Sobol points fill every dimension evenly, in other orders', () => {
    const orders = new Set<string>();
    for (let d = 0; d < SOBOL_DIMENSIONS; d++) {
      const v = sobolDirections(d);
      const cells = Array.from({ length: 256 }, (_, i) => sobolPoint(v, i) >>> 24);
      expect(new Set(cells).size).toBe(256);
      orders.add(cells.join());
    }
    expect(orders.size).toBe(SOBOL_DIMENSIONS);
  });

  test.each(['latin hypercube', 'sobol'] as const)('%s: every stratum of a set holds one point', (sampling) => {
    const count = 64 * REPLICATES;
    const all = points(sampling, count);
    for (let set = 0; set < REPLICATES; set++)
      for (let d = 0; d < 3; d++) {
        const cells = all.slice(64 * set, 64 * (set + 1)).map((x) => Math.floor(x[d] * 64));
        expect([...cells].sort((a, b) => a - b)).toEqual(Array.from({ length: 64 }, (_, k) => k));
      }
    // The sets are not copies of each other.
    expect(all[0]).not.toEqual(all[64]);
  });

  test.each(['plain', 'latin hypercube', 'sobol'] as const)('%s: known from seed, number and name', (sampling) => {
    const sampler = createSampler(sampling, '1', ['a', 'b', 'c'], 128);
    const x = new Float64Array(3);
    sampler.point(77, x);
    expect([...x]).toEqual(points(sampling, 128)[77]);
    expect(points(sampling, 128, undefined, '2')[77]).not.toEqual([...x]);
    if (sampling !== 'sobol') expect(points(sampling, 128, ['c', 'x', 'a'])[77][2]).toBe(x[0]);
    for (const p of points(sampling, 128)) for (const u of p) expect(u > 0 && u < 1).toBe(true);
  });

  // 4000 in 20 cells: chi squared with 19 degrees of freedom stays under 43.8 with probability 0.999 (table of any textbook).
  test('plain ones are even', () => {
    const cells = new Array<number>(20).fill(0);
    for (const [u] of points('plain', 4000)) cells[Math.floor(u * 20)]++;
    expect(cells.reduce((sum, n) => sum + (n - 200) ** 2 / 200, 0)).toBeLessThan(43.8);
  });
});

describe('distributions, from their definitions', () => {
  // The share of draws at even steps of u that lie under x is the probability under x.
  const below = (d: Distribution, x: number) => {
    const n = 20_000;
    let count = 0;
    for (let k = 0; k < n; k++) if (draw(d, (k + 0.5) / n) <= x) count++;
    return count / n;
  };

  test('triangular: (x - a)^2 / ((b - a)(c - a)) under the mode', () => {
    const d = { kind: 'triangular', from: 2, likely: 3, to: 6 } as const;
    expect(below(d, 2.5)).toBeCloseTo(0.25 / 4, 3);
    expect(below(d, 3)).toBeCloseTo(0.25, 3);
    expect(below(d, 5)).toBeCloseTo(1 - 1 / 12, 3);
  });
  test('normal, cut off at a deviation under the mean: the rest is spread over what is left', () => {
    const d = { kind: 'normal', mean: 10, deviation: 2, from: 8, to: Infinity } as const;
    // Tables: P(Z < -1) = 0.158655.
    expect(below(d, 10)).toBeCloseTo((0.5 - 0.158655) / (1 - 0.158655), 3);
    expect(draw(d, 1e-9)).toBeGreaterThanOrEqual(8);
  });
  test('lognormal: half under the median, 0.841345 under median x factor', () => {
    const d = { kind: 'lognormal', median: 5, factor: 1.5, from: 0, to: Infinity } as const;
    expect(below(d, 5)).toBeCloseTo(0.5, 3);
    expect(below(d, 7.5)).toBeCloseTo(0.841345, 3);
  });
  test('discrete: by weight', () => {
    const d = { kind: 'discrete', values: [3, 1, 2], weights: [1, 2, 5] } as const;
    expect([1, 2].map((x) => below(d, x))).toEqual([0.25, 0.875]);
  });
});

// ---------------------------------------------------------------------------------------------------- whole campaigns

const load = (text: string, ...overrides: string[]): Scenario => {
  const loaded = loadScenario(text, { file: 'lone.yaml', overrides });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  return loaded.scenario;
};

interface Whole {
  readonly text: string;
  readonly plan: CampaignPlan;
  readonly campaign: Campaign;
  readonly answer: CampaignAnswer;
}

function campaignOf(text: string, runs: number, sampling: Sampling = 'plain'): Whole {
  const { values, plant, uncertain } = load(text);
  const plan = planCampaign(values, plant, uncertain, { runs, sampling, seed: '7' });
  if ('problem' in plan) throw new Error(plan.problem);
  const campaign = createCampaign(values, plan);
  const rows = new Float64Array(runs * campaign.width);
  // Backwards: a case must not depend on those before it.
  for (let i = runs - 1; i >= 0; i--) campaign.run(i, rows, i * campaign.width);
  return { text, plan, campaign, answer: foldCampaign(campaign, plan, rows) };
}

const lone = (uncertain: readonly object[], more: object = {}, valve: object = {}) =>
  loneText({ require: { longest: '60 s', margin: '10 %' }, ...valve }, { ...more, uncertain });

const marginOf = (text: string, ...overrides: string[]): number => {
  const [stroke] = replay(load(text, ...overrides), { trace: false }).result.verdict.strokes;
  return stroke.margin ?? Number.NaN;
};

describe('probabilities known beforehand', () => {
  // The margin m is a number; wanted is a normal one, so the spare margin is linear in it and P = Phi((m - mean) / deviation).
  test.each([
    ['latin hypercube', 800, 0.01],
    ['sobol', 1024, 1 / 128],
    ['plain', 1000, 0.05],
  ] as const)('a margin linear in one normal number, %s', (sampling, runs, off) => {
    const m = marginOf(lone([]));
    expect(m).toBeGreaterThan(0.2);
    const mean = m - 0.02;
    const { answer } = campaignOf(
      lone([{ path: 'valves.V-1.require.margin', distribution: 'normal', mean: `${mean}`, deviation: '4 %' }]),
      runs,
      sampling,
    );
    // Tables: Phi(0.5) = 0.691462. A set of n strata is off by at most one of them; plain ones by 3.4 deviations.
    expect(Math.abs(answer.met.value - 0.691462)).toBeLessThan(off);
    expect(answer.met.low).toBeLessThan(0.691462);
    expect(answer.met.high).toBeGreaterThan(0.691462);
    // A strictly falling function has rank correlation -1.
    expect(answer.inputs[0].correlation).toBeCloseTo(-1, 12);
    const half = answer.quantiles.find((q) => q.share === 0.5)?.spare ?? Number.NaN;
    expect(Math.abs(half - 0.02)).toBeLessThan(sampling === 'plain' ? 0.006 : 0.001);
  });

  test('met or not turns at one pressure, found by bisection with replays', () => {
    // 2 kN on the 0.0181 m2 around the rod need 1.1 bar.
    const text = lone([{ path: 'start.pressure', from: '0.5 barg', to: '3.5 barg' }]);
    let [low, high] = [0.5, 3.5];
    for (let k = 0; k < 25; k++) {
      const middle = (low + high) / 2;
      if (marginOf(text, `start.pressure=${middle} barg`) >= 0.1) high = middle;
      else low = middle;
    }
    expect(low).toBeGreaterThan(1.1);
    expect(high).toBeLessThan(3.4);
    const { answer } = campaignOf(text, 400, 'latin hypercube');
    // Every set has one point in each of 50 strata.
    expect(Math.abs(answer.met.value - (3.5 - high) / 3)).toBeLessThan(1 / 50);
    expect(answer.strokes[0].met).toEqual(answer.met);
  });

  test('discrete: two pressures, one enough and one not', () => {
    const { answer, plan } = campaignOf(
      lone([
        {
          path: 'start.pressure',
          distribution: 'discrete',
          values: [{ value: '1 barg' }, { value: '12 barg', weight: 3 }],
        },
      ]),
      256,
      'sobol',
    );
    // Sets of 32 points hold exactly 24 in the upper three quarters, but for the one that the shift puts across.
    expect(Math.abs(answer.met.value - 0.75)).toBeLessThanOrEqual(1 / 32);
    expect(plan.inputs[0].distribution.kind).toBe('discrete');
    expect(answer.strokes[0].outcomes.completed).toBe(Math.round(answer.met.value * 256));
  });

  test('intervals hold the truth about as often as they say', () => {
    // 60 campaigns of 40 wanted margins with P = 0.5; 95 % of 60 is 57, and under 51 has probability 2e-4 (binomial).
    const [n, runs] = [60, 40];
    let held = 0;
    for (let k = 0; k < n; k++) {
      const sampler = createSampler('plain', `s${k}`, ['a'], runs);
      let count = 0;
      const u = new Float64Array(1);
      for (let i = 0; i < runs; i++) {
        sampler.point(i, u);
        if (u[0] < 0.5) count++;
      }
      const { low, high } = wilson(count, runs);
      if (low <= 0.5 && 0.5 <= high) held++;
    }
    expect(held).toBeGreaterThanOrEqual(51);
  });
});

describe('a case', () => {
  const skid = lone(
    [
      { path: 'start.pressure', distribution: 'normal', deviation: '0.8 bar' },
      { path: 'valves.V-1.load.closing', distribution: 'triangular', from: '-20 %', to: '+60 %' },
      { path: 'valves.V-1.supplyLine.quadratic', distribution: 'lognormal', factor: 1.4 },
      { path: 'oil.temperature', from: '5 degC', to: '40 degC' },
      { path: 'tank.volume', from: '-5 %', to: '+5 %' },
      { path: 'valves.0.require.longest', distribution: 'discrete', values: [{ value: '5 s' }, { value: '60 s' }] },
    ],
    {},
    { tag: 'V-1' },
  );

  // A saved state and a straight run part only by the error of a step.
  test('is what the replay of its overrides gives', () => {
    const { answer, text } = campaignOf(skid, 64);
    expect(answer.worst).toHaveLength(10);
    for (const w of answer.worst) {
      const [stroke] = replay(load(text, ...w.overrides), { trace: false }).result.verdict.strokes;
      expect(stroke.outcome).toBe(w.outcome);
      if (w.outcome === 'completed') expect(Math.abs((stroke.margin ?? 0) - 0.1 - w.spare)).toBeLessThan(1e-6);
    }
    expect([...answer.worst].sort((a, b) => a.spare - b.spare)).toEqual([...answer.worst]);
  });

  test('all draws are within what the file says', () => {
    const { campaign } = campaignOf(skid, 64);
    for (let i = 0; i < 64; i++) {
      const [pressure, load, quadratic, temperature, volume, longest] = campaign.drawn(i);
      // Six deviations about 10 barg at 1 bara.
      expect(Math.abs(pressure - 11e5)).toBeLessThan(4.8e5);
      expect(load).toBeGreaterThanOrEqual(1600);
      expect(load).toBeLessThanOrEqual(3200);
      expect(quadratic).toBeGreaterThan(0);
      expect(temperature).toBeGreaterThanOrEqual(278.15);
      expect(temperature).toBeLessThanOrEqual(313.15);
      expect(Math.abs(volume - 0.6)).toBeLessThanOrEqual(0.03 + 1e-12);
      expect([5, 60]).toContain(longest);
    }
  });

  test('that cannot be simulated counts as not met, and says why', () => {
    // The rod may come out thicker than the bore of 160 mm: a third of the draws.
    const { answer } = campaignOf(
      lone([{ path: 'valves.V-1.rod', from: '100 mm', to: '190 mm' }]),
      240,
      'latin hypercube',
    );
    expect(Math.abs(answer.notSimulated / 240 - 1 / 3)).toBeLessThanOrEqual(1 / 30);
    expect(answer.met.value).toBeLessThanOrEqual(1 - answer.notSimulated / 240);
    expect(answer.firstRefusal).toMatch(/valves\.0\.rod: the rod must be thinner/);
    // The worst are those that were simulated: what could not be cannot be replayed either.
    expect(answer.worst.map((w) => w.outcome)).not.toContain('not simulated');
    expect(answer.worst).toHaveLength(10);
    expect(otherwiseText(answer.strokes[0])).toContain(`not simulated ${answer.notSimulated}`);
    expect(campaignSaid(answer)).toContain(`${answer.notSimulated} of the others could not be simulated.`);
  });
});

describe('the moment of the failure', () => {
  // Air leaks out at rest: 0.25 bar/h at 10 barg, so that the margin falls with time.
  const leaking = { leaks: { air: { fall: '25 kPa/h', at: '10 barg' } } };
  const moment = { path: 'moment', from: '1 min', to: '40 h' };

  test('saved states of service give what a run from the start gives', () => {
    const { answer, plan } = campaignOf(
      lone([moment, { path: 'valves.V-1.load.closing', from: '-20 %', to: '+20 %' }], leaking),
      96,
    );
    expect(plan.inputs[0].path).toBe('moment');
    expect(answer.inputs[0].correlation).toBeLessThan(-0.5);
    for (const w of answer.worst.slice(0, 5)) {
      const text = lone([], leaking);
      const [stroke] = replay(load(text, ...w.overrides), { trace: false }).result.verdict.strokes;
      expect(stroke.outcome).toBe(w.outcome);
      if (w.outcome === 'completed') expect(Math.abs((stroke.margin ?? 0) - 0.1 - w.spare)).toBeLessThan(1e-5);
    }
  });

  test('where service depends on what is drawn, every case has its own', () => {
    const { answer } = campaignOf(lone([moment, { path: 'leaks.air.fall', from: '-50 %', to: '+50 %' }], leaking), 64);
    expect(answer.inputs[1].correlation).toBeLessThan(-0.1);
    const text = lone([], leaking);
    for (const w of answer.worst.slice(0, 3)) {
      const [stroke] = replay(load(text, ...w.overrides), { trace: false }).result.verdict.strokes;
      expect(stroke.outcome).toBe(w.outcome);
    }
  });
});

describe('the section "uncertain"', () => {
  const faultsOf = (entry: string, more = '') => {
    const text = loneText({ require: { longest: '60 s' } }).replace(/\}$/, '');
    return loadScenario(`${text}, ${more} "uncertain": [\n${entry}] }`, { file: 'f.yaml' }).faults.map(
      (f) => f.message,
    );
  };

  test.each([
    ['{ path: start.presure }', /no key "presure"; did you mean "pressure"/],
    ['{ path: valves.V-2.bore, from: 1 in, to: 2 in }', /no item "V-2"; did you mean "V-1"/],
    ['{ path: valves.V-1, from: 1 in, to: 2 in }', /is not a number of the file/],
    ['{ path: oil.viscosityIndexx }', /did you mean "viscosityIndex"/],
    ['{ path: tank.heat.conductance, from: 1 W/K, to: 2 W/K }', /is not in the file; write it there first/],
    ['{ path: site.barometer, from: 1 bara, to: 2 bara }', /what every gauge reading/],
    ['{ path: run.duration, from: 1 s, to: 2 s }', /is no part of the unit/],
    ['{ path: start.pressure, from: 9 barg }', /"to" is missing/],
    ['{ path: start.pressure, from: 9 barg, to: 8 barg }', /must be more than "from"/],
    ['{ path: start.pressure, from: 9 bar, to: 10 barg }', /gauge or absolute/],
    ['{ path: start.pressure, from: -5 %, to: +5 % }', /%/],
    ['{ path: start.pressure, distribution: normal, deviation: 5 % }', /a share of a pressure means nothing/],
    ['{ path: start.oil, distribution: normal }', /needs "deviation"/],
    ['{ path: start.oil, distribution: normal, deviation: 0 L }', /must be more than 0/],
    ['{ path: start.oil, distribution: normal, deviation: 1 L, to: 3 L }', /is not read for "normal"/],
    ['{ path: start.oil, distribution: lognormal }', /needs "factor"/],
    ['{ path: start.oil, distribution: discrete }', /needs "values"/],
    ['{ path: start.oil, distribution: triangular, from: 300 L, to: 400 L }', /must lie between/],
    ['{ path: valves.V-1.position, from: 50 %, to: 120 % }', /lies outside what valves\.V-1\.position may be/],
    ['{ path: clock.scanTicks, from: 1, to: 2 }', /no part of the unit/],
    ['{ path: switches }', /no switch of the file has an accuracy/],
    ['{ path: readings }', /no start reading of the file has an accuracy/],
    ['{ path: moment, distribution: normal, deviation: 1 h }', /uniform over service/],
    ['{ path: moment },\n{ path: power.lostAt, from: 1 s, to: 2 s }', /write only one of them/],
    ['{ path: start.oil, from: 1 L, to: 2 L },\n{ path: start.oil, from: 1 L, to: 2 L }', /is drawn twice/],
  ])('%s', (entry, message) => {
    const messages = faultsOf(entry);
    expect(messages.join('\n')).toMatch(message);
  });

  test('is refused at its place', () => {
    const text = `${loneText({}).replace(/\}$/, '')},\n"uncertain": [\n  { path: start.presure }] }`;
    const [fault] = loadScenario(text, { file: 'f.yaml' }).faults;
    const line = text.split('\n').findIndex((l) => l.includes('presure')) + 1;
    expect(formatFaults(loadScenario(text, { file: 'f.yaml' }))).toContain(`f.yaml:${line}:11: error:`);
    expect(fault.path).toBe('uncertain.0.path');
  });

  test('"switches" and "readings" draw within the stated accuracies, which they take the place of', () => {
    const text = lone([{ path: 'switches' }, { path: 'readings' }], {
      panel: { pressure: { low: { tag: 'PSL-1', at: '8 barg', accuracy: '0.2 bar' }, high: '12 barg' } },
      start: { pressure: '10 barg', oil: '0.25 m^3', gaugeAccuracy: '0.1 bar' },
    });
    const { uncertain } = load(text);
    expect(uncertain.map((u) => [u.path, u.settles?.path])).toEqual([
      ['panel.pressure.low.at', 'panel.pressure.low.accuracy'],
      ['start.pressure', 'start.gaugeAccuracy'],
    ]);
    // Every case is replayed by what it was drawn to, although no accuracy is left to draw within.
    const [worst] = campaignOf(text, 16).answer.worst;
    const replayed = load(text, ...worst.overrides);
    expect(replayed.plant.start.gasPressure_Pa).toBe(worst.drawn[1]);
    expect(replayed.plant.panel.contacts[0].trip).toBe(worst.drawn[0]);
    // 8 barg at 1 bara.
    expect(uncertain[0].distribution).toEqual({ kind: 'uniform', from: 8.8e5, to: 9.2e5 });
    expect(uncertain[1].distribution).toEqual({ kind: 'uniform', from: 10.9e5, to: 11.1e5 });
  });

  test('a replay takes no notice of it', () => {
    expect(marginOf(lone([{ path: 'start.pressure', from: '3 barg', to: '9 barg' }]))).toBe(marginOf(lone([])));
  });
});

test('what cannot be planned says why', () => {
  const plan = (
    uncertain: readonly object[],
    options: { runs?: number; sampling?: Sampling } = {},
    more: object = {},
  ) => {
    const { values, plant, uncertain: inputs } = load(lone(uncertain, more));
    const got = planCampaign(values, plant, inputs, { runs: 1000, sampling: 'plain', seed: '1', ...options });
    return 'problem' in got ? got.problem : '';
  };
  const one = [{ path: 'start.pressure', from: '3 barg', to: '9 barg' }];
  expect(plan([])).toMatch(/nothing in it is uncertain/);
  expect(plan(one, { runs: 1001, sampling: 'latin hypercube' })).toMatch(/write --runs 1008/);
  expect(plan(one, { sampling: 'sobol' })).toMatch(/write --runs 1024/);
  expect(plan(one, { sampling: 'sobol', runs: 1024 })).toBe('');
  expect(plan(one, {}, { power: {} })).toMatch(/the mains are never lost/);
});

test('an exact quantity is read back as the same number', () => {
  const dimensions = [
    'pressure',
    'pressureDifference',
    'temperature',
    'temperatureDifference',
    'time',
    'length',
    'angle',
    'area',
    'volume',
    'volumeFlow',
    'mass',
    'density',
    'kinematicViscosity',
    'force',
    'torque',
    'stiffness',
    'power',
    'speed',
    'rotationalSpeed',
    'heatCapacity',
    'specificHeat',
    'thermalConductance',
    'linearResistance',
    'quadraticResistance',
    'pressureRate',
    'flowCoefficient',
    'fraction',
  ] as const;
  for (const dimension of dimensions)
    for (const si of [1 / 3, 1.2345678e-7, 987654.3210123, 0]) {
      const read = readQuantity(exactQuantity(si, dimension), dimension, 1e5);
      expect('value' in read, `${dimension} ${exactQuantity(si, dimension)}`).toBe(true);
      // Rounding of one multiplication and one division.
      if ('value' in read) expect(Math.abs(read.value - si)).toBeLessThanOrEqual(4e-16 * si);
    }
});
