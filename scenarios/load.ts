/** From the text of a scenario file to a checked scenario with its plant. */

import type { Node } from 'yaml';
import type { Plant } from '../models/plant.ts';
import { ProgramFault } from '../sim/fault.ts';
import { ambientPressure, buildPlant, type Complain } from './build.ts';
import { type AppliedOverride, type Fault, readTable } from './reader.ts';
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
}

export interface Loaded {
  /** Undefined if there is any fault. */
  readonly scenario: Scenario | undefined;
  readonly faults: readonly Fault[];
  /** Number of faults that `faults` leaves out. */
  readonly further: number;
}

/** Reads and checks a scenario. Never throws on bad input: whatever is wrong comes back as faults with their places. */
export function loadScenario(text: string, options: LoadOptions): Loaded {
  const reading = readTable(scenarioTable, text, {
    file: options.file,
    ...(options.overrides === undefined ? {} : { overrides: options.overrides }),
    ambientPressure,
  });
  const { values } = reading;
  if (values === undefined) return { scenario: undefined, faults: reading.faults, further: reading.further };
  const faults: Fault[] = [];
  const complain: Complain = (path, message) => void faults.push(reading.faultAt(path, message));
  const plant = buildPlant(values, complain);
  const uncertain = readUncertain(values, complain);
  const written = (path: string) => scalarAt((reading.document?.contents ?? null) as Node | null, path)?.text;
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
