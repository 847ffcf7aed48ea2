/**
 * Logs of a misbehaving unit, made by the engine: a hidden cause, switches off within their accuracy, a gauge and a glass that
 * read a little high or low all along, and every single reading off within their accuracy.
 */
import seedrandom from 'seedrandom';
import { EventCode } from '../../models/events.ts';
import type { Plant } from '../../models/plant.ts';
import { createUnit } from '../../models/unit.ts';
import { buildPlant } from '../../scenarios/build.ts';
import { loadScenario, type Scenario } from '../../scenarios/load.ts';
import { columnUnit, type UnitSystem } from '../../scenarios/units.ts';
import { createEngine } from '../../sim/engine.ts';
import { type Cause, type CauseName, causesOf } from '../../studies/causes.ts';
import { type Accuracies, DEFAULT_SWITCH } from '../../studies/explain.ts';
import { inService } from '../../studies/outage.ts';
import { statedAccuracies } from '../../studies/seen.ts';
import { ENDS } from '../../studies/service.ts';

export function scenarioOf(text: string, file: string, overrides: readonly string[] = []): Scenario {
  const { scenario, faults } = loadScenario(text, { file, overrides });
  if (scenario === undefined) throw new Error(faults.map((f) => f.message).join('\n'));
  return scenario;
}

/** The causes of a scenario that a log can have. */
export function hiddenCauses(scenario: Scenario): Cause[] {
  const plant = buildPlant(scenario.values, () => {}, { contactErrors: 'none' });
  return plant === undefined ? [] : causesOf(scenario.values, inService(plant), true);
}

/** Least and greatest size that is hidden, over the greatest that is tried first: small enough for service to go on. */
const SIZES: Readonly<Record<CauseName, readonly [number, number]>> = {
  'oil leak': [0.02, 0.5],
  'past a piston': [0.03, 0.7],
  'check valve leaks': [0.03, 0.7],
  'air leak': [0.01, 0.4],
  'pump capacity': [0.1, 0.7],
  'compressor capacity': [0.1, 0.7],
  'switch drifted': [0.2, 0.8],
  'heat exchange': [0.003, 0.6],
  'air lost': [0.1, 0.7],
};

export interface Hidden {
  readonly cause: Cause;
  readonly size: number;
}

/** A cause and its size, drawn. */
export function draw(causes: readonly Cause[], random: () => number): Hidden {
  const cause = causes[Math.floor(random() * causes.length)];
  const [low, high] = SIZES[cause.name];
  const share = low * (high / low) ** random();
  const most = cause.scan[cause.scan.length - 1];
  const sign = cause.name === 'switch drifted' && random() < 0.5 ? -1 : 1;
  return { cause, size: sign * share * most };
}

export interface MadeLog {
  readonly text: string;
  readonly accuracies: Accuracies;
}

/** The log as CSV. `rowEvery_s`: mean time between rows where nothing happens; they come unevenly. */
export function madeLog(
  scenario: Scenario,
  hidden: Hidden,
  random: () => number,
  hours: number,
  system: UnitSystem,
  rowEvery_s = 150,
): MadeLog {
  const sound = buildPlant(scenario.values, () => {}, { contactErrors: 'none' });
  if (sound === undefined) throw new Error('cannot be built');
  const accuracies = statedAccuracies(scenario.values);
  const either = (accuracy: number) => (2 * random() - 1) * accuracy;
  const { cause, size } = hidden;
  const drifted = cause.name === 'switch drifted' ? cause.item : undefined;
  const plant: Plant = inService(cause.apply(sound, size));
  const contacts = plant.panel.contacts.map((c) => {
    const otherwise = c.measured === 'pressure' ? DEFAULT_SWITCH.pressure_Pa : DEFAULT_SWITCH.level_m;
    // Of the drifted one the drift is all there is.
    const error = c.tag === drifted ? 0 : either(c.accuracy > 0 ? c.accuracy : otherwise);
    return { ...c, trip: c.trip + error, reset: c.reset + error };
  });
  const unit = createUnit({ ...plant, panel: { ...plant.panel, contacts } });
  const engine = createEngine(unit);
  const { clock } = unit.layout;
  const { tick_s, ambientPressure_Pa, pumps, compressors, sump, tank } = plant;
  const motors = [...pumps, ...compressors];
  const ps = unit.panel.slots;
  const offset = {
    gauge: either(accuracies.gauge_Pa),
    glass: either(accuracies.glass_m),
    sump: either(accuracies.sump_m),
  };
  const y = unit.start();
  engine.advance(y, Math.round((3 * 3600 * random()) / tick_s), { sampleTicks: 0 });
  const begin = Math.ceil(y[clock.tick] * tick_s);
  const running = motors.map((_, m) => y[ps.running + m] === 1);
  const pressure = columnUnit('pressure', system);
  const length = columnUnit('length', system);
  const decimals = system === 'us' ? [1, 2] : [3, 1];
  const heads = [
    'time [s]',
    `tank pressure [${pressure.name}]`,
    `tank level [${length.name}]`,
    `sump level [${length.name}]`,
  ];
  const lines = [[...heads, ...motors.map((m) => `${m.tag} running`)].join(',')];
  let ended = false;
  const row = (state: Float64Array) => {
    const time = Math.round(state[clock.tick] * tick_s + state[clock.offset]) - begin;
    const p = unit.gasPressure(state) + offset.gauge + either(accuracies.gauge_Pa);
    const level =
      tank.vessel.levelAt(state[unit.slots.oil]) - tank.sightGlassZero_m + offset.glass + either(accuracies.glass_m);
    const inSump = state[unit.slots.sump] / sump.area_m2 + offset.sump + either(accuracies.sump_m);
    lines.push(
      [
        time,
        pressure.toDisplay(p, ambientPressure_Pa).toFixed(decimals[0]),
        length.toDisplay(level, 0).toFixed(decimals[1]),
        length.toDisplay(inSump, 0).toFixed(decimals[1]),
        ...running.map((r) => (r ? 1 : 0)),
      ].join(','),
    );
  };
  const often_s = 10;
  engine.advance(
    y,
    y[clock.tick] + Math.round((hours * 3600) / tick_s),
    {
      sampleTicks: Math.round(often_s / tick_s),
      sample(state) {
        if (!ended && (lines.length === 1 || random() < often_s / rowEvery_s)) row(state);
      },
      event(state, code, item) {
        if (ENDS.has(code)) ended = true;
        if (code !== EventCode.motorStarted && code !== EventCode.motorStopped) return;
        running[item] = code === EventCode.motorStarted;
        if (!ended) row(state);
      },
    },
    () => ended,
  );
  return { text: `${lines.join('\n')}\n`, accuracies };
}

export const randomOf = (seed: string): (() => number) => seedrandom.alea(seed);
