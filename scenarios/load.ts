/** From the text of a scenario file to a checked scenario with its plant. */

import type { Plant } from '../models/plant.ts';
import { ProgramFault } from '../sim/fault.ts';
import { ambientPressure, buildPlant, type Complain } from './build.ts';
import { type AppliedOverride, type Fault, type ParsedText, readTable } from './reader.ts';
import { type ScenarioValues, scenarioTable } from './scenario.ts';
import { scalarAt } from './setpoints.ts';
import { readTuning, type Tuning } from './tuning.ts';
import { readUncertain, type Uncertain } from './uncertain.ts';

export interface Scenario {
  readonly file: string;
  readonly values: ScenarioValues;
  readonly plant: Plant;
  /** What the file says is not known. */
  readonly uncertain: readonly Uncertain[];
  readonly overrides: readonly AppliedOverride[];
  /** "file:line" where the value of a path stands. */
  readonly place: (path: string) => string | undefined;
  /** How the switches may be set. */
  readonly tuning: () => Tuning;
}

export interface LoadOptions {
  /** Name shown in messages. */
  readonly file: string;
  /** "path=value", as of `--set`. */
  readonly overrides?: readonly string[];
  /** The scenario of the same text without overrides: what they leave alone is taken from it. */
  readonly like?: Scenario | undefined;
}

export interface Loaded {
  /** Undefined if there is any fault. */
  readonly scenario: Scenario | undefined;
  readonly faults: readonly Fault[];
  /** Number of faults that `faults` leaves out. */
  readonly further: number;
}

/** Reads and checks a scenario. Never throws on bad input: whatever is wrong comes back as faults with their places. */
export function loadScenario(text: string | ParsedText, options: LoadOptions): Loaded {
  const reading = readTable(scenarioTable, text, {
    file: options.file,
    ...(options.overrides === undefined ? {} : { overrides: options.overrides }),
    ambientPressure,
  });
  if (reading.values === undefined) return { scenario: undefined, faults: reading.faults, further: reading.further };
  const like = usable(options.like, reading.overrides);
  const values = like === undefined ? reading.values : withSame(reading.values, like.values, reading.overrides);
  const faults: Fault[] = [];
  const complain: Complain = (path, message) => void faults.push(reading.faultAt(path, message));
  const plant = buildPlant(values, complain, like === undefined ? {} : { like: like.plant, likeValues: like.values });
  const uncertain = readUncertain(values, complain);
  const written = (path: string) => scalarAt(reading.contents, path)?.text;
  const { setpoints, survive } = values.tuning;
  // Without the section there is nothing to be wrong, and only a study asks.
  if (plant !== undefined && setpoints.length + survive.length > 0) readTuning(values, plant, written, complain);
  if (plant === undefined || faults.length > 0) {
    faults.sort((a, b) => a.line - b.line || a.column - b.column);
    return { scenario: undefined, faults, further: 0 };
  }
  return {
    scenario: {
      file: options.file,
      values,
      plant,
      uncertain,
      overrides: reading.overrides,
      place: (path) => {
        const at = reading.where(path);
        return at === undefined ? undefined : `${at.file}:${at.line}`;
      },
      tuning: () => {
        const tuning = readTuning(values, plant, written, () => {});
        if (tuning === undefined) throw new ProgramFault('a section that was read cannot be read again');
        return tuning;
      },
    },
    faults: [],
    further: 0,
  };
}

const groupOf = ({ path }: AppliedOverride): string => path.split('.')[0]!;

/** Gauge readings everywhere refer to the site, and the tables of a plant are those of its tank. */
function usable(like: Scenario | undefined, overrides: readonly AppliedOverride[]): Scenario | undefined {
  return overrides.some((o) => groupOf(o) === 'site' || groupOf(o) === 'tank') ? undefined : like;
}

/** The values, with the groups that no override has touched as the very ones of `like`. */
function withSame(values: ScenarioValues, like: ScenarioValues, overrides: readonly AppliedOverride[]): ScenarioValues {
  const touched = new Set<string>(overrides.map(groupOf));
  return Object.freeze(
    Object.fromEntries(
      Object.entries(values).map(([key, value]) => [key, touched.has(key) ? value : like[key as keyof ScenarioValues]]),
    ),
  ) as ScenarioValues;
}
