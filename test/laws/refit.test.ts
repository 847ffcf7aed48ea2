import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { assert, test } from 'vitest';
import type { Plant } from '../../models/plant.ts';
import { ownPlant } from '../../models/refit.ts';
import { createUnit } from '../../models/unit.ts';
import { buildPlant } from '../../scenarios/build.ts';
import { loadScenario } from '../../scenarios/index.ts';
import type { ScenarioValues } from '../../scenarios/scenario.ts';
import { createEngine } from '../../sim/engine.ts';
import { BASE } from '../support/baseUnit.ts';
import { law, timesOf } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { firstDifference, MOST_STEPS, runCase } from '../support/runCase.ts';

const EXAMPLES = ['mill-creek', 'tarn-hollow', 'quern-fold', 'withy-mere'];

/** Keys of the file behind what is built into a unit, and whole numbers that count something. */
const LEFT_ALONE: ReadonlySet<string> = new Set([
  'tick',
  'scanTicks',
  'barometer',
  'altitude',
  'relativeHumidity',
  'alarm',
  'stroke',
  'bore',
  'rod',
  'runUp',
  'unloadedStart',
  'delay',
  'alarmDelay',
  'heldOffAlarm',
  'allowedStarts',
]);

/** The same values, each number up to one part in a hundred away. */
function shaken(value: unknown, next: () => number, key = '', alone = LEFT_ALONE): unknown {
  if (typeof value === 'number') return alone.has(key) ? value : value * (1 + 0.01 * (next() - 0.5));
  if (Array.isArray(value)) return value.map((item) => shaken(item, next, key, alone));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, shaken(v, next, k, alone)]));
}

/** Numbers from 0 to 1 out of a whole number (Park and Miller's generator, from memory). */
function numbers(seed: number): () => number {
  let x = seed;
  return () => {
    x = (x * 48271) % 2147483647;
    return x / 2147483647;
  };
}

/** The same values with some groups and list items shaken; what is not on the way to one is the same object as before. */
function partlyShaken(values: ScenarioValues, next: () => number): ScenarioValues {
  const inPart = (value: unknown, key: string): unknown => {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) return shaken(value, next, key);
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, next() < 0.7 ? v : shaken(v, next, k)]));
  };
  const some = ([key, value]: [string, unknown]): [string, unknown] => {
    // Of valves, and of tank and sump, between which heads of oil count, often; of what all valves depend on seldom.
    if (next() < (key === 'valves' ? 0.2 : key === 'sump' || key === 'tank' ? 0.6 : 0.9)) return [key, value];
    if (!Array.isArray(value)) return [key, inPart(value, key)];
    return [key, value.map((item) => (next() < 0.5 ? item : inPart(item, key)))];
  };
  return Object.fromEntries(Object.entries(values).map(some)) as unknown as ScenarioValues;
}

/** Without what computes: two vessels of the same tank have functions of their own. */
const plain = (plant: unknown) =>
  JSON.parse(JSON.stringify(plant, (_key, v) => (ArrayBuffer.isView(v) ? [...(v as Float64Array)] : v)));

/**
 * What a plant takes from another of other values is made of values that both have in common, and of no others: so it is the plant
 * built anew. The tables of the tank are left out: whoever hands them over says that the tank is the same.
 */
law(
  'a plant built like another is the plant built anew',
  { runs: 100, seed: 473, show: ([c]: readonly [Parameters<typeof showCase>[0], number]) => showCase(c) },
  fc.tuple(randomScenario(), fc.integer({ min: 1, max: 2 ** 31 - 2 })),
  ([c, seed]) => {
    const values = partlyShaken(c.values, numbers(seed));
    const anew = buildPlant(values, () => {});
    const alike = buildPlant(values, () => {}, { like: c.plant, likeValues: c.values });
    assert.equal(alike === undefined, anew === undefined);
    if (alike === undefined || anew === undefined) return;
    samePlant(alike, anew, 'some groups');
    taken += alike.valves.filter((v, i) => v === c.plant.valves[i]).length;
  },
);

/** Two plants that differ in no number and no word. */
function samePlant(alike: Plant, anew: Plant, where: string): void {
  const { tables: _, ...tank } = alike.tank;
  const { tables: _anew, ...tankAnew } = anew.tank;
  assert.deepEqual(plain({ ...alike, tank }), plain({ ...anew, tank: tankAnew }), where);
}

/** One group of the file after the other is all that differs: what depends on it may then be hidden by nothing else. */
test.each(EXAMPLES)('%s with one group of its values changed, built like it and anew', (name) => {
  const text = readFileSync(new URL(`../../scenarios/${name}.yaml`, import.meta.url), 'utf8');
  const { scenario } = loadScenario(text, { file: name });
  if (scenario === undefined) return assert.fail(`${name} does not load`);
  const site = { ...scenario.values.site, barometer: 99_000 };
  const tank = { ...scenario.values.tank, bottomElevation: 3 };
  const values = { ...scenario.values, site, tank, sump: { ...scenario.values.sump, elevation: 1 } };
  const plant = buildPlant(values, () => {}) as Plant;
  const next = numbers(4711);
  let changed = 0;
  for (const key of Object.keys(values) as (keyof ScenarioValues)[]) {
    for (let n = 0; n < 4; n++) {
      const other = { ...values, [key]: shaken(values[key], next, key, new Set()) };
      const anew = buildPlant(other, () => {});
      const alike = buildPlant(other, () => {}, { like: plant, likeValues: values });
      assert.equal(alike === undefined, anew === undefined, key);
      if (alike === undefined || anew === undefined) continue;
      changed++;
      samePlant(alike, anew, key);
    }
  }
  assert.isAbove(changed, 40);
});

let taken = 0;
let tried = 0;
let refitted = 0;

/**
 * A unit keeps nothing of a plant but what its own copy holds and what refitting derives from that; so refitted to another
 * plant it is the unit made for that plant, byte for byte.
 */
law(
  'a refitted unit is the unit made anew, byte for byte',
  { runs: 50, seed: 471, show: ([c]: readonly [Parameters<typeof showCase>[0], number]) => showCase(c) },
  fc.tuple(randomScenario(), fc.integer({ min: 1, max: 2 ** 31 - 2 })),
  ([c, seed]) => {
    const values = shaken(c.values, numbers(seed)) as ScenarioValues;
    const plant = buildPlant(values, () => {});
    if (plant === undefined) return;
    tried++;
    const own = ownPlant(c.plant);
    const unit = createUnit(own.plant);
    const engine = createEngine(unit, { stepBudget: MOST_STEPS });
    engine.advance(unit.start(), c.ticks, { sampleTicks: 0 });
    if (!own.take(plant)) return;
    refitted++;
    unit.refit();
    engine.refit();
    const y = unit.start();
    engine.advance(y, c.ticks, { sampleTicks: 0 });
    const anew = runCase({ plant, ticks: c.ticks });
    assert.equal(firstDifference(unit, y, anew.end), undefined);
    unit.layout.slots.forEach((slot, i) => {
      assert.equal(slot.scale, anew.unit.layout.slots[i].scale, slot.name);
    });
  },
);

test('most shaken plants can be taken, and many valves are', () => {
  assert.isAbove(taken, timesOf(100) / 5);
  assert.isAbove(tried, timesOf(50) / 2);
  assert.isAbove(refitted, 0.8 * tried);
});

test('a plant of another shape is not taken', () => {
  const plantOf = (...overrides: string[]) => {
    const { scenario, faults } = loadScenario(BASE, { file: 'base', overrides });
    if (scenario === undefined) throw new Error(faults[0]?.message);
    return scenario.plant;
  };
  const plain = plantOf();
  assert.isTrue(ownPlant(plain).take(plantOf('start.pressure=7 barg')));
  for (const other of [
    'compressors=[]',
    'tank.heat.exchange=adiabatic',
    'clock.tick=20 ms',
    'compressors.C-1.runUp=1 s',
  ])
    assert.isFalse(ownPlant(plain).take(plantOf(other)), other);
});
