/**
 * The section `tuning` read against the rest of the file: setpoints on the grid in which they are set in practice, in the
 * unit that the file uses for each. Without the section starts, stops, cut-ins and cut-out may move between their fixed
 * neighbours on the staircase.
 */
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import { buildPlant, type Complain } from './build.ts';
import type { ScenarioValues } from './scenario.ts';
import { dimensionAt, inSI, numberText, valueAt } from './setpoints.ts';
import { staircase } from './staircase.ts';
import type { Objective } from './tuningTable.ts';
import { inUnit, readQuantity, type WrittenUnit } from './units.ts';

/** A setpoint that may be moved. Its values are those of steps 0 to `last`. */
export interface Setpoint {
  readonly path: string;
  /** As the staircase has it, without "at". */
  readonly rung: string;
  /** "duty start" */
  readonly name: string;
  readonly dimension: Dimension;
  /** In which the file has it. */
  readonly unit: WrittenUnit;
  readonly asSet: number;
  readonly last: number;
  /** Number in the file's unit, as it is written, and SI value of a step. */
  numberAt(step: number): string;
  valueAt(step: number): number;
  /** The step nearest to a value, SI. */
  stepOf(value: number): number;
}

export interface Tuning {
  readonly setpoints: readonly Setpoint[];
  readonly objective: Objective;
  /** Undefined where the file does not say. */
  readonly mostStarts: number | undefined;
  readonly longestRefill_s: number | undefined;
  readonly longestRecharge_s: number | undefined;
  /** The scenario with the margins that are wanted, and once more for each fault that has to be survived. */
  readonly wanted: ScenarioValues;
  readonly survive: readonly {
    readonly text: string;
    readonly item: string | undefined;
    readonly values: ScenarioValues;
  }[];
}

/** What may move where the file does not say. */
const BY_DEFAULT = [
  'panel.level.standbyStart',
  'panel.level.dutyStart',
  'panel.level.stop',
  'panel.pressure.standbyCutIn',
  'panel.pressure.cutIn',
  'panel.pressure.cutOut',
] as const;

/** Increments in practice, SI: US and metric (choice). */
const PSI = 6894.757293168;
const STEPS: Partial<Readonly<Record<Dimension, readonly [us: number, metric: number]>>> = {
  pressure: [PSI, 5_000],
  pressureDifference: [PSI / 2, 5_000],
  length: [0.0127, 0.01],
  time: [1, 1],
};
const MOST_STEPS = 10_000;
const US = /^(psi|in|ft|'|")/;

const bare = (path: string) => path.replace(/\.at$/, '');

/**
 * The tuning of a scenario, or undefined after complaining about what is wrong with the section.
 *
 * @param written the text of a value in the file
 */
export function readTuning(
  values: ScenarioValues,
  plant: Plant,
  written: (path: string) => string | undefined,
  complain: Complain,
): Tuning | undefined {
  let faults = 0;
  const fault: Complain = (path, message) => {
    faults++;
    complain(path, message);
  };
  const { tuning } = values;
  const ambient = plant.ambientPressure_Pa;
  const stairs = staircase(values, plant);
  const rungs = [...stairs.level, ...stairs.pressure.filter((r) => !r.estimate)];
  const listed = tuning.setpoints.length > 0;
  const wanted = listed
    ? tuning.setpoints
    : BY_DEFAULT.flatMap((path): { setpoint: string; from?: string; to?: string; step?: string }[] =>
        valueAt(values, path) === undefined ? [] : [{ setpoint: path }],
      );
  const moving = new Set(wanted.map((s) => bare(s.setpoint)));

  /** The fixed neighbours of a rung. */
  function neighbours(path: string): readonly [number | undefined, number | undefined] {
    const stair = path.startsWith('panel.level.') ? stairs.level : stairs.pressure.filter((r) => !r.estimate);
    const k = stair.findIndex((r) => r.path === path);
    if (k < 0) return [undefined, undefined];
    const below = stair.slice(0, k).findLast((r) => !moving.has(r.path))?.value;
    const above = stair.slice(k + 1).find((r) => !moving.has(r.path))?.value;
    const level = path.startsWith('panel.level.');
    const top = level
      ? plant.tank.vessel.height_m - plant.tank.sightGlassZero_m
      : 3 * (stair[k].value - ambient) + ambient;
    return [below ?? (level ? -plant.tank.sightGlassZero_m : ambient), above ?? top];
  }

  const setpoints = wanted.flatMap((s, i): Setpoint[] => {
    const at = `tuning.setpoints.${i}`;
    const dimension = dimensionAt(s.setpoint);
    const asSet = valueAt(values, s.setpoint);
    if (dimension === undefined || asSet === undefined) {
      const known = rungs.map((r) => r.path).filter((p) => p.startsWith('panel.'));
      fault(
        `${at}.setpoint`,
        `"${s.setpoint}" is no quantity that this file gives; write for example ${known.length > 0 ? known.slice(0, 3).join(', ') : '"panel.pressure.cutIn.at"'}`,
      );
      return [];
    }
    if (STEPS[dimension] === undefined) {
      fault(`${at}.setpoint`, `"${s.setpoint}" is no pressure, level or time, and nothing else is tuned`);
      return [];
    }
    if (wanted.findIndex((other) => bare(other.setpoint) === bare(s.setpoint)) < i) {
      fault(`${at}.setpoint`, `"${s.setpoint}" is listed twice`);
      return [];
    }
    const text = written(s.setpoint);
    const reading = text === undefined ? undefined : readQuantity(text, dimension, ambient);
    if (reading === undefined || 'problem' in reading) {
      if (listed)
        fault(
          `${at}.setpoint`,
          `"${s.setpoint}" is not written in this file; write it, so that it can be changed there`,
        );
      return [];
    }
    const { unit } = reading;
    const limit = (key: 'from' | 'to'): number | undefined => {
      const given = s[key];
      if (given === undefined) return undefined;
      const read = readQuantity(given, dimension, ambient);
      if ('value' in read) return read.value;
      fault(`${at}.${key}`, read.problem);
      return undefined;
    };
    const difference: Dimension = dimension === 'pressure' ? 'pressureDifference' : dimension;
    const usual = (STEPS[dimension] as readonly [number, number])[US.test(unit.name) ? 0 : 1];
    let step = usual / unit.factor;
    if (s.step !== undefined) {
      const read = readQuantity(s.step, difference, ambient);
      if ('problem' in read) fault(`${at}.step`, read.problem);
      else if (!(read.value > 0)) fault(`${at}.step`, 'must be more than 0');
      else step = read.value / unit.factor;
    }
    step = Number(step.toPrecision(9));
    const [below, above] = neighbours(bare(s.setpoint));
    const from = limit('from') ?? below;
    const to = limit('to') ?? above;
    if (from === undefined || to === undefined) {
      // A limit that cannot be read has been complained of.
      const unread = (from === undefined && s.from !== undefined) || (to === undefined && s.to !== undefined);
      if (!unread) fault(at, `needs "from" and "to": ${s.setpoint} has no neighbours on the staircase`);
      return [];
    }
    const numberOf = (si: number) => (si - unit.offset) / unit.factor;
    // A stated lower limit is a setting itself; else the settings are whole steps.
    const first = s.from === undefined ? Math.ceil(numberOf(from) / step - 1e-6) * step : numberOf(from);
    const last = Math.floor((numberOf(to) - first) / step + 1e-6);
    if (last < 0) {
      if (listed)
        fault(
          s.to === undefined ? at : `${at}.to`,
          `nothing lies between ${inUnit(from, unit)} and ${inUnit(to, unit)}: the upper limit must not be under the lower one`,
        );
      return [];
    }
    if (last > MOST_STEPS) {
      if (listed)
        fault(s.step === undefined ? at : `${at}.step`, `makes ${last} steps; at most ${MOST_STEPS} are looked at`);
      return [];
    }
    const numberAt = (k: number) => numberText(first + k * step);
    return [
      {
        path: s.setpoint,
        rung: bare(s.setpoint),
        name: rungs.find((r) => r.path === bare(s.setpoint))?.name ?? s.setpoint,
        dimension,
        unit,
        asSet,
        last,
        numberAt,
        valueAt: (k) => inSI(Number(numberAt(k)), unit),
        stepOf: (si) => Math.min(last, Math.max(0, Math.round((numberOf(si) - first) / step))),
      },
    ];
  });

  const margin = tuning.margin ?? 0;
  const withMargins: ScenarioValues = {
    ...values,
    valves: values.valves.map((v) =>
      v.require === undefined ? v : { ...v, require: { ...v.require, margin: Math.max(v.require.margin, margin) } },
    ),
  };
  const survive = tuning.survive.map((f, i) => {
    const failing: ScenarioValues = { ...withMargins, faults: [...values.faults, { ...f, at: 0 }] };
    const k = values.faults.length;
    buildPlant(
      failing,
      (path, message) => {
        if (path.startsWith(`faults.${k}`)) fault(`tuning.survive.${i}${path.slice(`faults.${k}`.length)}`, message);
      },
      { like: plant },
    );
    return { text: f.item === undefined ? f.fault : `${f.item} ${f.fault}`, item: f.item, values: failing };
  });
  if (faults > 0) return undefined;
  return {
    setpoints,
    objective: tuning.objective,
    mostStarts: tuning.mostStarts,
    longestRefill_s: tuning.longestRefill,
    longestRecharge_s: tuning.longestRecharge,
    wanted: withMargins,
    survive,
  };
}
