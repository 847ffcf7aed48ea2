/** The result of a replay: what the JSON file holds. SI, pressures absolute, unit last in each name. */
import type { Finding } from './findings/kinds.ts';
import type { Staircase } from './staircase.ts';

export { FINDING_KINDS, type Finding, type FindingKind, SEVERITIES, type Severity } from './findings/kinds.ts';
export type { Rung, Staircase } from './staircase.ts';

/** Version of the shape of the JSON result; raised with every change that could break a reader. */
export const RESULT_SCHEMA_VERSION = 1;

/** How a required stroke went. Closed list. */
export type Outcome =
  | 'completed'
  | 'late'
  | 'too fast'
  | 'stalled'
  | 'still moving'
  | 'never moved'
  | 'not proven'
  | 'drifted'
  | 'not commanded';

export interface StrokeResult {
  readonly valve: string;
  readonly service: string;
  readonly stroke: number;
  readonly strokes: number;
  readonly direction: 'opens' | 'closes';
  /** Position of the valve at which the stroke ends: 0, 1, or between. */
  readonly to: number;
  readonly outcome: Outcome;
  readonly met: boolean;
  /** The margin is there, but smaller than what the stated accuracies can take away. */
  readonly tooCloseToCall: boolean;
  readonly commandedAt_s: number | undefined;
  readonly firstMotionAt_s: number | undefined;
  readonly endedAt_s: number | undefined;
  /** From command to end. */
  readonly time_s: number | undefined;
  readonly movingTime_s: number | undefined;
  readonly longest_s: number;
  /** For a whole stroke, from first motion; for part of one so much less. */
  readonly shortest_s: number;
  /** Positions are those of the valve: where the stroke began, and where it stands. */
  readonly from: number | undefined;
  readonly position: number;
  /** Least force margin, undefined where the load helps throughout. */
  readonly forceMargin: number | undefined;
  readonly forceMargin_Pa: number | undefined;
  readonly forceMarginAt_s: number | undefined;
  readonly forceMarginPosition: number | undefined;
  readonly timeMargin: number | undefined;
  /** The smaller of both, and which it is. */
  readonly margin: number | undefined;
  readonly marginOf: 'force' | 'time' | undefined;
  readonly marginWanted: number;
  /** What the accuracies of gauge, sight glass and switches can take from the margin. */
  readonly accuracyEffect: number;
  /** Surge in the pipeline of the valve, for a closing stroke that has ended. */
  readonly surge: SurgeResult | undefined;
  /** One sentence with numbers, in the units of the run. */
  readonly reason: string;
}

export interface SurgeResult {
  /** Time in which a wave runs to the far end of the pipeline and back. */
  readonly pipePeriod_s: number;
  /** Time of a whole closure at the mean speed of the stroke. */
  readonly closure_s: number;
  /** Closed within the pipe period. */
  readonly rapid: boolean;
  /** Rise of pressure by that time: full where it is rapid, else as for an even closure. */
  readonly rise_Pa: number;
}

export interface ReserveResult {
  /** Undefined where the required set did not end with the mains off. */
  readonly completeSets: number | undefined;
  readonly furtherStrokes: number;
  /** The count was stopped here. */
  readonly more: boolean;
  readonly usableOil_m3: number;
  readonly pressure_Pa: number;
  /** Oil between start pressure and the pressure left by the shortcut with gauge pressures, for comparison. */
  readonly reason: string;
}

export interface EventRow {
  readonly time_s: number;
  readonly code: number;
  readonly tag: string;
  readonly text: string;
  readonly pressure_Pa: number;
  readonly level_m: number;
}

export interface MachineDuty {
  readonly tag: string;
  readonly kind: 'pump' | 'compressor';
  readonly starts: number;
  readonly runTime_s: number;
  readonly startsPerHour: number;
  readonly energy_J: number;
  /** Pumped oil, m3, or delivered free air, m3 at ambient pressure and the ambient temperature of the start. */
  readonly moved_m3: number;
  /** Oil that ran back from the tank to the sump through the check valve of a pump, m3; 0 for a compressor. */
  readonly ranBack_m3: number;
  /** Water drained behind the cooler of a compressor, kg; 0 for a pump. */
  readonly condensate_kg: number;
}

export interface AlarmResult {
  readonly tag: string;
  readonly text: string;
  readonly state: 'unacknowledged' | 'acknowledged' | 'returned, not acknowledged';
}

export interface StepReading {
  readonly what: string;
  /** In the units of the run, or yes or no. */
  readonly expected: string;
  readonly got: string;
  readonly asExpected: boolean;
}

export interface StepResult {
  readonly text: string;
  readonly began_s: number | undefined;
  readonly ended_s: number | undefined;
  /** Its condition came true, or it had none; false when patience ran out or the run ended first. */
  readonly done: boolean;
  readonly readings: readonly StepReading[];
  readonly asExpected: boolean;
}

export interface FaultResult {
  readonly text: string;
  readonly began_s: number | undefined;
  readonly ended_s: number | undefined;
  /** The first alarm that is raised with the fault and not without it; undefined where none is. */
  readonly revealedBy: string | undefined;
  readonly revealedAt_s: number | undefined;
  /** Whether the run without it, which tells, came to its end; false where the fault did not occur. */
  readonly examined: boolean;
}

export interface Result {
  readonly schemaVersion: number;
  readonly program: string;
  readonly title: string;
  readonly file: string;
  readonly seed: string;
  readonly overrides: readonly { readonly path: string; readonly before: string | undefined; readonly after: string }[];
  readonly units: 'us' | 'si';
  readonly site: { readonly ambientPressure_Pa: number; readonly ambientTemperature_K: number };
  readonly start: {
    readonly pressure_Pa: number;
    readonly level_m: number;
    readonly oil_m3: number;
    readonly vessel_m3: number;
    readonly air_m3: number;
    /** Oil above the outlet. */
    readonly usableOil_m3: number;
    /** How much higher this oil would stand for each kelvin that it is warmer, m/K. */
    readonly levelPerKelvin_m: number;
    readonly airTemperature_K: number;
    readonly wallTemperature_K: number;
    readonly running: readonly string[];
    readonly selectors: Readonly<Record<string, string>>;
    readonly note: string;
  };
  readonly verdict: {
    readonly met: boolean;
    readonly text: string;
    readonly strokes: readonly StrokeResult[];
  };
  readonly reserve: ReserveResult;
  /** Setpoints from the lowest to the highest: levels as on the sight glass, m, and pressures, Pa. */
  readonly staircase: Staircase;
  readonly findings: readonly Finding[];
  readonly steps: readonly StepResult[];
  readonly faults: readonly FaultResult[];
  readonly alarms: readonly AlarmResult[];
  readonly duty: readonly MachineDuty[];
  readonly end: {
    readonly time_s: number;
    readonly stop: string;
    readonly pressure_Pa: number;
    readonly level_m: number;
    readonly oil_m3: number;
    readonly levelPerKelvin_m: number;
    readonly airTemperature_K: number;
    readonly wallTemperature_K: number;
    /** Air in the air space. */
    readonly air_kg: number;
    /** Air in solution in the oil of the tank, beside it. */
    readonly dissolvedAir_kg: number;
    /** Oil lost to the outside, over the brim of the sump included. */
    readonly spilled_m3: number;
    readonly overflowed_m3: number;
    /** Positions at the end, 0 closed, 1 open, by tag. */
    readonly positions: Readonly<Record<string, number>>;
    readonly tripStands: boolean;
  };
  /** Least header pressure while a required stroke was under way, and highest tank pressure, with their times. */
  readonly extremes: {
    readonly leastHeaderPressure_Pa: number | undefined;
    readonly leastHeaderPressureAt_s: number | undefined;
    readonly highestTankPressure_Pa: number;
    readonly highestTankPressureAt_s: number;
  };
  /** Work spent by the run and its repetitions, as counted for `run.workLimit`. */
  readonly work: { readonly spent: number; readonly limit: number; readonly limitReached: boolean };
  readonly ledger: { readonly worstAccount: string; readonly worstRelative: number; readonly steps: number };
  readonly events: readonly EventRow[];
  readonly cautions: readonly string[];
}

export const CAUTIONS: readonly string[] = [
  'Stored pressure and oil can move valves with the mains off. Isolate, bleed and lock out before any work.',
  'A result here does not replace the pressure-vessel code, relief sizing, a hazard review, local codes or the judgement of a licensed engineer.',
];
