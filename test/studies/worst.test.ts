/** The worst moment: what is found is really the worst, is what a replay gives, and the corners lie where the switches put them. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { formatFaults, loadScenario, replay } from '../../scenarios/index.ts';
import { createOutages, findWorst, inService, worstOverrides } from '../../studies/index.ts';
import { bandWords, exactWords } from '../../studies/worstWords.ts';
import { BASE } from '../support/baseUnit.ts';
import { loneText } from '../support/loneValve.ts';

const PSI = 6894.757;

function load(name: string, ...overrides: string[]) {
  const text = readFileSync(new URL(`../../scenarios/${name}.yaml`, import.meta.url), 'utf8');
  const loaded = loadScenario(text, { file: name, overrides });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  return loaded.scenario;
}
const worstOf = (name: string, ...overrides: string[]) => {
  const scenario = load(name, ...overrides);
  return { scenario, answer: findWorst(scenario.values, scenario.plant) };
};

describe('the American demo', () => {
  const { scenario, answer } = worstOf('mill-creek');

  test('is worst just before a compressor starts, at the cut-in', () => {
    const cutIn = scenario.plant.panel.contacts.find((c) => c.role === 'pressure.cutIn')?.trip ?? 0;
    // Contact delay and unloaded start let it fall a little further.
    expect(Math.abs(answer.worst.pressure_Pa - cutIn)).toBeLessThan(0.2 * PSI);
    expect(answer.worst.answer.met).toBe(false);
    expect(answer.best.answer.met).toBe(true);
    // The pressure band makes the difference.
    expect(answer.gain.byPressure).toBeGreaterThan(0.5 * (answer.best.answer.spare - answer.worst.answer.spare));
    expect(Math.abs(answer.gain.byOil)).toBeLessThan(0.05);
  });

  // Every 97 s of the first four hours, by brute force.
  test('no moment of a fine sweep is worse', () => {
    const outages = createOutages(inService(scenario.plant));
    const { tick_s } = scenario.plant;
    const y = outages.unit.start();
    let least = Infinity;
    for (let t = 97; t < 4 * 3600; t += 97) {
      const tick = Math.round(t / tick_s);
      outages.engine.advance(y, tick - 1, { sampleTicks: 0 });
      least = Math.min(least, outages.fail(y, tick).spare);
    }
    expect(least).toBeLessThan(0);
    expect(answer.worst.answer.spare).toBeLessThanOrEqual(least + 1e-6);
  });

  // A straight run to a moment, and a saved state failed there, part only by the error of a step.
  test.each([0.1, 0.35, 0.6, 0.9])('a replay to a moment %f of the way through gives its margins', (share) => {
    const moment = answer.moments[Math.floor(share * answer.moments.length)];
    const { verdict } = replay(load('mill-creek', `power.lostAt=${moment.time_s} s`), { trace: false }).result;
    for (const s of moment.answer.strokes) {
      const same = verdict.strokes.find((v) => v.valve === scenario.plant.valves[s.valve].tag && v.stroke === s.stroke);
      expect(same?.outcome).toBe(s.outcome);
      if (s.outcome === 'completed') expect(Math.abs((same?.margin ?? Number.NaN) - s.margin)).toBeLessThan(1e-5);
    }
  });

  test('its overrides replay the proof', () => {
    const { values, plant } = scenario;
    const proof = answer.proof.from === 'service' ? answer.worst.answer : answer.corners[0].answer;
    const { verdict } = replay(load('mill-creek', ...worstOverrides(answer, values, plant)), { trace: false }).result;
    expect(verdict.met).toBe(proof.met);
    const worst = verdict.strokes.filter((s) => !s.met).map((s) => s.valve);
    expect(worst).toContain(plant.valves[proof.worst?.valve ?? -1].tag);
  });
});

describe('the corners', () => {
  // Cut-in and pump start less what the switches may be off, the stop more: by hand from the file's own numbers.
  test('lie where the switches may put them', () => {
    const sharp = worstOf('withy-mere', 'panel.pressure.cutIn.accuracy=0 bar').answer.corners;
    const dull = worstOf('withy-mere', 'panel.pressure.cutIn.accuracy=0.2 bar').answer.corners;
    expect(sharp[0].pressure_Pa - dull[0].pressure_Pa).toBeCloseTo(0.2e5, 3);
    expect(dull[0].answer.spare).toBeLessThan(sharp[0].answer.spare);
  });

  test('the least favourable of them stands first, and proof takes the lower of it and service', () => {
    const { answer } = worstOf('withy-mere');
    const spares = answer.corners.map((c) => c.answer.spare);
    expect([...spares].sort((a, b) => a - b)).toEqual(spares);
    expect(answer.proof.spare).toBe(Math.min(spares[0], answer.worst.answer.spare));
  });
});

test('service is followed until every machine has had three turns, and says what ended it before', () => {
  const month = worstOf('withy-mere').answer.service;
  expect(month.complete).toBe(true);
  expect(month.idle).toEqual([]);
  // A leak to the outside, 5 gal/h, takes what the pumps can reach of a sump half full: 70 less 22 gal.
  expect(worstOf('mill-creek').answer.service.complete).toBe(true);
  const { service } = worstOf('mill-creek', 'leaks.oil={ flow: 5 gal/h, at: 140 psig }').answer;
  expect([service.complete, service.endedBy]).toEqual([false, EventCode.suctionLost]);
});

test('the same file gives the same answer', () => {
  expect(worstOf('saltern-quay').answer).toEqual(worstOf('saltern-quay').answer);
});

// A leak of 0.25 bar/h makes a late moment the worst, far beyond the two minutes that the file runs.
test('its overrides replay the proof though the run of the file is shorter', () => {
  const text = loneText(
    { require: { longest: '60 s', margin: '10 %' } },
    { leaks: { air: { fall: '25 kPa/h', at: '10 barg' } } },
  );
  const read = (...overrides: string[]) => {
    const loaded = loadScenario(text, { file: 'lone', overrides });
    if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
    return loaded.scenario;
  };
  const { values, plant } = read();
  const answer = findWorst(values, plant, { instants: 20, longestService_s: 30 * 3600 });
  expect(answer.proof.from).toBe('service');
  expect(answer.worst.time_s).toBeGreaterThan(20 * 3600);
  const [stroke] = replay(read(...worstOverrides(answer, values, plant)), { trace: false }).result.verdict.strokes;
  expect(stroke.outcome).toBe(answer.worst.answer.worst?.outcome);
  expect(stroke.outcome).not.toBe('not commanded');
});

// The night's cold, far from any start or stop: 12 instants in two days meet it only by narrowing down.
test('narrows down to a worst moment that lies between the instants', () => {
  const { values, plant } = load('larkstone-moor', 'compressors=[]');
  const find = (instants: number) => findWorst(values, plant, { instants, longestService_s: 2 * 86_400 });
  const coarse = find(6);
  const fine = find(600).worst.answer.spare;
  const unrefined = Math.min(
    ...coarse.moments.filter((m) => isEven(m.tick, coarse.service.ticks, 6)).map((m) => m.answer.spare),
  );
  expect(unrefined - fine).toBeGreaterThan(1e-4);
  expect(coarse.worst.answer.spare - fine).toBeLessThan(1e-5);
});
const isEven = (tick: number, ticks: number, count: number) =>
  Array.from({ length: count }, (_, k) => Math.round((ticks * (k + 0.5)) / count)).includes(tick);

// A minute in the small hours in which a stroke goes from ending late to not ending in the time it is given: the second is
// the worse, and by as little as it is slower.
test('the less a failure spares the worse it is, without a jump where a stroke no longer ends', () => {
  const { plant } = load('larkstone-moor', 'compressors=[]');
  const outages = createOutages(inService(plant));
  const y = outages.unit.start();
  const seen = new Set<string | undefined>();
  let before: number | undefined;
  for (let t = 104_100; t <= 104_220; t += 10) {
    const tick = Math.round(t / plant.tick_s);
    outages.engine.advance(y, tick - 1, { sampleTicks: 0 });
    const { spare, worst } = outages.fail(y, tick);
    seen.add(worst?.outcome);
    if (before !== undefined) expect(Math.abs(spare - before)).toBeLessThan(0.01);
    before = spare;
  }
  expect([...seen].sort()).toEqual(['late', 'still moving']);
});

test('the proof of a unit whose mains come back can be read again: they come back decades later', () => {
  const { values, plant } = load('quern-fold');
  const found = worstOverrides(findWorst(values, plant, { instants: 3, longestService_s: 3600 }), values, plant);
  const again = load('quern-fold', ...found);
  const back_s = Math.max(
    ...again.plant.actions.filter((a) => a.action === 'restore mains').map((a) => a.tick * plant.tick_s),
  );
  expect(back_s).toBeGreaterThan(20 * 365 * 86_400);
});

test('in the replay of the worst moment nobody else turns the mains', () => {
  const { scenario, answer } = worstOf('quern-fold');
  expect(scenario.values.actions.map((a) => a.do)).toContain('restore mains');
  const again = load('quern-fold', ...worstOverrides(answer, scenario.values, scenario.plant));
  const { result } = replay(again, { trace: false });
  const turned = result.events.filter((e) => e.code === EventCode.mainsLost || e.code === EventCode.mainsBack);
  expect(turned.map((e) => e.code)).toEqual([EventCode.mainsLost]);
  expect(again.values.actions).toHaveLength(scenario.values.actions.length - 2);
});

test('switches that bound service are named where the file holds them for exact, alarms are not', () => {
  const words = (...overrides: string[]) => {
    const { scenario } = loadScenario(BASE, { file: 'base', overrides });
    return exactWords(scenario!.plant);
  };
  expect(words()).toBe(
    ' No accuracy is stated for LS-2, LS-1, LS-3, LS-4, PS-2, PS-1: taken to trip exactly where set.',
  );
  const stated = ['level.standbyStart', 'level.dutyStart', 'level.normal', 'level.stop'].map(
    (of) => `panel.${of}.accuracy=5 mm`,
  );
  expect(words(...stated, 'panel.pressure.cutIn.accuracy=0.05 bar')).toContain('for PS-2: taken');
  expect(words(...stated, ...['standbyCutIn', 'cutIn'].map((of) => `panel.pressure.${of}.accuracy=0.05 bar`))).toBe('');
});

test.each([
  [0.1, 0.1004, /^All moments of service are alike\.$/],
  [0.1, 0.1006, /^Neither pressure nor level alone explains the 0\.1 % between worst and best/],
])('margins of %d and %d: what the report cannot show needs no reason', (worst, best, words) => {
  const answer = {
    worst: { answer: { spare: worst } },
    best: { answer: { spare: best } },
    gain: { byPressure: 0, byOil: 0 },
  };
  expect(bandWords(answer as never, load('mill-creek').plant)).toMatch(words);
});
