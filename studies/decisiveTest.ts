/**
 * The one test that would tell causes apart: of a closed list of tests, each run in the engine with every cause as fitted, the
 * one whose reading differs most between the first two, in units of how well it can be read.
 */
import { Selector } from '../models/motor.ts';
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import { createUnit } from '../models/unit.ts';
import { createEngine } from '../sim/engine.ts';
import type { Accuracies, CauseAnswer } from './explain.ts';
import { inService } from './outage.ts';

export interface TestReading {
  readonly name: 'gauge' | 'sight glass' | 'sump level' | 'time';
  readonly dimension: Dimension;
  /** SI; a level as the glass shows it. NaN where it does not come to it. */
  readonly value: number;
  readonly accuracy: number;
}

export interface DecisiveTest {
  /** What to do, in words; where it begins is in `start`. */
  readonly steps: string;
  readonly lasts_s: number;
  readonly start: { readonly pressure_Pa: number; readonly level_m: number };
  /** For every cause that was asked about, in their order: what will be read at the end. */
  readonly predictions: readonly { readonly text: string; readonly readings: readonly TestReading[] }[];
  /** Index of the reading that tells most. */
  readonly by: number;
  /** Difference of it between the first two, over both accuracies together. */
  readonly separation: number;
}

interface Candidate {
  readonly steps: string;
  readonly lasts_s: number;
  readonly level: 'stop' | 'start';
  readonly pressure: 'cut-in' | 'cut-out';
  /** Changes the plant with all machines off. */
  prepare(plant: Plant): Plant;
}

/** A difference of this many accuracies is beyond doubt; less, and longer tests are looked at (choice). */
const CLEAR = 4;
const SHORT_s = 1800;
const LONG_s = 4 * 3600;

/** Looks for the test. `answers`: the leading causes, two at least. Undefined where no test tells the first two apart. */
export function decisiveTest(
  plant: Plant,
  answers: readonly CauseAnswer[],
  accuracies: Accuracies,
): DecisiveTest | undefined {
  if (answers.length < 2) return undefined;
  const best = (candidates: readonly Candidate[]) =>
    candidates
      .map((candidate) => examined(plant, answers, accuracies, candidate))
      .reduce((a, b) => (b.separation > a.separation ? b : a));
  const short = best(candidatesOf(plant, SHORT_s));
  if (short.separation >= CLEAR) return short;
  const long = best(candidatesOf(plant, LONG_s));
  const test = long.separation > short.separation ? long : short;
  return test.separation > 1 ? test : undefined;
}

const minutes = (seconds: number) => (seconds < 7200 ? `${seconds / 60} min` : `${seconds / 3600} h`);

function candidatesOf(plant: Plant, wait_s: number): Candidate[] {
  const { pumps, compressors, valves } = plant;
  const off = 'all selectors to off';
  const wait = `wait ${minutes(wait_s)}`;
  const list: Candidate[] = [
    { steps: `${off}, ${wait}`, lasts_s: wait_s, level: 'stop', pressure: 'cut-out', prepare: (p) => p },
  ];
  for (const { tag } of pumps)
    list.push({
      steps: `${off}, shut the isolation valve of ${tag}, ${wait}`,
      lasts_s: wait_s,
      level: 'stop',
      pressure: 'cut-out',
      prepare: (p) => ({ ...p, pumps: p.pumps.map((q) => (q.tag === tag ? { ...q, isolated: true } : q)) }),
    });
  if (valves.some((v) => v.leak > 0 || v.spring === undefined))
    list.push({
      steps: `${off}, shut the supply line of every valve, ${wait}`,
      lasts_s: wait_s,
      level: 'stop',
      pressure: 'cut-out',
      // No oil reaches a piston, sound or not.
      prepare: (p) => ({
        ...p,
        valves: p.valves.map((v) => ({ ...v, leak: 0 })),
        faults: p.faults.filter((f) => f.name !== 'seal bypass'),
      }),
    });
  const alone = (tag: string, seconds: number, level: Candidate['level']): Candidate => ({
    steps: `all selectors to off but that of ${tag}, to hand for ${minutes(seconds)}`,
    lasts_s: seconds,
    level,
    pressure: 'cut-in',
    prepare: (p) => ({
      ...p,
      pumps: p.pumps.map((m) => (m.tag === tag ? { ...m, selector: Selector.hand } : m)),
      compressors: p.compressors.map((m) => (m.tag === tag ? { ...m, selector: Selector.hand } : m)),
    }),
  });
  for (const { tag } of pumps) list.push(alone(tag, 60, 'start'));
  for (const { tag } of compressors) list.push(alone(tag, 120, 'start'));
  return list;
}

function examined(
  plant: Plant,
  answers: readonly CauseAnswer[],
  accuracies: Accuracies,
  candidate: Candidate,
): DecisiveTest {
  const contact = (role: string) => plant.panel.contacts.find((c) => c.role === role);
  const { vessel, sightGlassZero_m } = plant.tank;
  const startLevel = contact('level.dutyStart')?.trip;
  const stopLevel = contact('level.stop')?.trip;
  const level_m = (candidate.level === 'stop' ? stopLevel : startLevel) ?? vessel.levelAt(plant.start.oilVolume_m3);
  const cutIn = contact('pressure.cutIn');
  const pressure_Pa = (candidate.pressure === 'cut-in' ? cutIn?.trip : cutIn?.reset) ?? plant.start.gasPressure_Pa;
  const predictions = answers.map(({ cause, size }) => {
    const faulty = cause === undefined ? plant : cause.apply(plant, size);
    const still: Plant = {
      ...faulty,
      pumps: faulty.pumps.map((m) => ({ ...m, selector: Selector.off })),
      compressors: faulty.compressors.map((m) => ({ ...m, selector: Selector.off })),
      start: {
        ...faulty.start,
        gasPressure_Pa: pressure_Pa,
        oilVolume_m3: vessel.volumeAt(level_m),
        gasTemperature_K: plant.ambientTemperature_K,
        wallTemperature_K: plant.ambientTemperature_K,
        permissive: undefined,
        running: [],
      },
    };
    const unit = createUnit(inService(candidate.prepare(still)));
    const y = unit.start();
    createEngine(unit, { relativeStepError: 1e-6 }).advance(y, Math.round(candidate.lasts_s / plant.tick_s), {
      sampleTicks: 0,
    });
    const readings: TestReading[] = [
      { name: 'gauge', dimension: 'pressure', value: unit.gasPressure(y), accuracy: accuracies.gauge_Pa },
      {
        name: 'sight glass',
        dimension: 'length',
        value: vessel.levelAt(y[unit.slots.oil]) - sightGlassZero_m,
        accuracy: accuracies.glass_m,
      },
      {
        name: 'sump level',
        dimension: 'length',
        value: y[unit.slots.sump] / plant.sump.area_m2,
        accuracy: accuracies.sump_m,
      },
    ];
    return { text: cause?.text ?? 'as the file says', readings };
  });
  const [first, second] = predictions;
  const apart = first.readings.map((r, k) => Math.abs(r.value - second.readings[k].value) / (Math.SQRT2 * r.accuracy));
  const by = apart.indexOf(Math.max(...apart));
  return {
    steps: candidate.steps,
    lasts_s: candidate.lasts_s,
    start: { pressure_Pa, level_m: level_m - sightGlassZero_m },
    predictions,
    by,
    separation: apart[by],
  };
}
