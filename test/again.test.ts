/** What is taken over from a run or a reading before must come out as if it were done anew. */
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Plant } from '../models/plant.ts';
import { loadScenario } from '../scenarios/load.ts';
import { parseText } from '../scenarios/reader.ts';
import { replay } from '../scenarios/replay.ts';
import { defaultDuration, type RunRecord, runPlant } from '../scenarios/run.ts';
import { outcomeOf } from '../scenarios/verdict.ts';

const examples = readdirSync('scenarios')
  .filter((name) => name.endsWith('.yaml'))
  .map((name) => ({ name, text: readFileSync(`scenarios/${name}`, 'utf8') }));

const OVERRIDES = [
  [],
  ['start.pressure=8 barg'],
  ['start.pressure=8 barg', 'start.gaugeAccuracy=0.2 bar'],
  ['site.altitude=2000 m'],
  ['tank.designPressure=15 barg'],
  ['power.lostAt=1 min', 'power.backAt=3 min'],
  ['pumps.0.restartDelay=7 s'],
  ['valves.0.trip.delay=3 s', 'oil.temperature=12 degC'],
  ['seed=other'],
  ['actions=[{ at: 3 s, do: acknowledge }]'],
  ['faults=[{ fault: no such, at: 3 s }]'],
  ['panel.pressure.cutOut=-3 psig'],
  ['start.presure=8 barg'],
];

test('a text that is parsed once and read again and again gives what each reading anew gives', () => {
  for (const { name, text } of examples) {
    const parsed = parseText(text);
    const like = loadScenario(parsed, { file: name }).scenario!;
    for (const overrides of [...OVERRIDES, []]) {
      const anew = loadScenario(text, { file: name, overrides });
      const again = loadScenario(parsed, { file: name, overrides, like });
      const where = `${name} ${overrides}`;
      expect(again.faults, where).toEqual(anew.faults);
      expect(again.scenario === undefined, where).toBe(anew.scenario === undefined);
      if (again.scenario === undefined || anew.scenario === undefined) continue;
      expect(JSON.stringify(again.scenario.values), where).toBe(JSON.stringify(anew.scenario.values));
      expect(JSON.stringify(again.scenario.plant), where).toBe(JSON.stringify(anew.scenario.plant));
      expect(again.scenario.overrides, where).toEqual(anew.scenario.overrides);
      for (const path of ['start.pressure', 'valves.0.trip.delay', 'pumps.0', 'power'])
        expect(again.scenario.place(path), `${where} ${path}`).toBe(anew.scenario.place(path));
    }
  }
});

test('groups that nothing touches are the ones read before, so that nobody has to compare them; not where gauges refer anew', () => {
  const { name, text } = examples.find((e) => /mill/.test(e.name))!;
  const parsed = parseText(text);
  const like = loadScenario(parsed, { file: name }).scenario!;
  const read = (...overrides: string[]) => loadScenario(parsed, { file: name, overrides, like }).scenario!.values;
  const same = read('start.pressure=8 barg');
  expect(same.valves).toBe(like.values.valves);
  expect(same.panel).toBe(like.values.panel);
  expect(same.start).not.toBe(like.values.start);
  expect(read('site.altitude=2000 m').valves).not.toBe(like.values.valves);
});

test('the verdict that is told ahead is the verdict of the result', () => {
  for (const { name, text } of examples.filter((e) => /mill|tarn|ashlar/.test(e.name))) {
    const { scenario } = loadScenario(text, { file: name });
    const told: unknown[] = [];
    const { result } = replay(scenario!, { trace: false, onVerdict: (verdict) => told.push(verdict) });
    expect(told).toEqual([result.verdict]);
  }
});

/** What is asked of a run for the sake of its required strokes. */
function strokesOf({ unit, end, strokes }: RunRecord) {
  const { plant, layout } = unit;
  const end_s = end[layout.clock.tick]! * plant.tick_s;
  return plant.valves.flatMap((v, i) =>
    v.require === undefined
      ? []
      : v.strokes.map((_, k) => {
          const record = strokes.findLast((r) => r.valve === i && r.stroke === k + 1);
          const ended = record !== undefined && record.ended_s >= 0;
          const gas = end[unit.slots.gasInHeader] === 1 && !ended;
          const { driftedAt_s, ...rest } = record ?? { driftedAt_s: -1 };
          // Drift after the hold counts for nothing.
          const drifted = driftedAt_s >= 0 && ended && driftedAt_s - record.ended_s < v.require!.hold_s;
          return { outcome: outcomeOf(v, record, gas, end_s), drifted, ...(ended ? rest : {}) };
        }),
  );
}

/** The plant without faults and steps, and with nobody to turn the mains but to lose them at an instant. */
function inTheDark(plant: Plant, lost_s: number): Plant {
  const others = plant.actions.filter((a) => !/mains/.test(a.action));
  const lose = { tick: lost_s / plant.tick_s, action: 'lose mains' as const, item: -1 };
  return { ...plant, faults: [], steps: [], actions: [...others, lose].sort((a, b) => a.tick - b.tick) };
}

test('a run that ends with its required strokes gives them as the whole run does', () => {
  let early = 0;
  for (const { name, text } of examples)
    for (const overrides of [[], ['start.pressure=6 barg'], ['start.pressure=9 barg'], ['oil.temperature=2 degC']]) {
      const { scenario } = loadScenario(text, { file: name, overrides });
      if (scenario === undefined) continue;
      const own = { plant: scenario.plant, run_s: Math.min(400, defaultDuration(scenario.plant)) };
      for (const { plant, run_s } of [own, { plant: inTheDark(scenario.plant, 5), run_s: 200 }]) {
        const toTick = run_s / plant.tick_s;
        const whole = runPlant(plant, { toTick, sampleTicks: 0 });
        const short = runPlant(plant, { toTick, sampleTicks: 0, strokesOnly: true });
        if (short.stop === 'stopped') early++;
        expect(strokesOf(short), `${name} ${overrides}`).toEqual(strokesOf(whole));
      }
    }
  expect(early).toBeGreaterThan(8);
});
