/** What page and worker say to each other. Plain data: it crosses by structured clone. */
import type { Dimension } from '../../models/parameters.ts';
import type { Fault } from '../../scenarios/faults.ts';
import type { Result } from '../../scenarios/result.ts';
import type { TraceColumn } from '../../scenarios/trace.ts';
import type { UnitSystem, WrittenUnit } from '../../scenarios/units.ts';
import type { PlotData } from '../plot/shape.ts';

/** A scenario as the desk has it: the text, what differs from it, and what was added to it. */
export interface Variant {
  /** Path of the file to the value as written, "118 psig". */
  readonly changes: Readonly<Record<string, string>>;
  /** Items as they would stand in the file, "{ at: 12 s, do: close valve, item: V-1 }". */
  readonly actions: readonly string[];
  readonly faults: readonly string[];
  /** Actions and faults of the file that are left out, written likewise. */
  readonly leftOut: readonly string[];
}

/** Actions and faults of a file, each as it would be written anew. */
export interface Listed {
  readonly actions: readonly string[];
  readonly faults: readonly string[];
}

export interface RunRequest {
  readonly kind: 'run';
  readonly id: number;
  readonly file: string;
  readonly text: string;
  readonly variant: Variant;
  readonly units: UnitSystem | undefined;
}
export interface CsvRequest extends Omit<RunRequest, 'kind'> {
  readonly kind: 'csv';
}
/** The text with the variant written into it. */
export interface WriteRequest extends Omit<RunRequest, 'kind'> {
  readonly kind: 'write';
}
export interface WorstRequest extends Omit<RunRequest, 'kind'> {
  readonly kind: 'worst';
}
/** The report as a file, with the script that draws its curves. */
export interface ReportRequest extends Omit<RunRequest, 'kind'> {
  readonly kind: 'report';
  readonly name: string;
  readonly script: string;
}
export type Request = RunRequest | CsvRequest | WriteRequest | WorstRequest | ReportRequest;

export type Reply =
  /** Ahead of the run that it belongs to. */
  | { readonly kind: 'verdict'; readonly id: number; readonly told: Verdict }
  | { readonly kind: 'run'; readonly id: number; readonly answer: Answer }
  | { readonly kind: 'csv' | 'report'; readonly id: number; readonly text: string }
  | { readonly kind: 'write'; readonly id: number; readonly written: { text: string } | { problem: string } }
  | { readonly kind: 'worst'; readonly id: number; readonly worst: WorstFound }
  | { readonly kind: 'progress'; readonly id: number; readonly share: number }
  | { readonly kind: 'failed'; readonly id: number; readonly message: string };

/** What there is to say first of a run. */
export type Verdict = Pick<Result, 'verdict' | 'units'>;

/** What came of a run, or why there was none. */
export type Answer = Refused | Ran;
export interface Refused {
  readonly ran: false;
  readonly faults: readonly Fault[];
  readonly further: number;
}
export interface Ran {
  readonly ran: true;
  readonly result: Result;
  readonly overrides: readonly string[];
  /** What the file has, whether it is left out or not. */
  readonly listed: Listed;
  readonly trace: ThinTrace;
  readonly plot: PlotData;
  readonly sketch: Sketch;
  readonly timelines: Timelines;
  readonly settings: readonly Setting[];
  readonly faultChoices: readonly FaultChoice[];
}

/** Rows of the trace one after the other, as many as a plot needs. SI. */
export interface ThinTrace {
  readonly columns: readonly TraceColumn[];
  readonly count: number;
  readonly cells: Float64Array;
}

/** A fault that can be put in, with a typical size where it needs one. */
export interface FaultChoice {
  readonly fault: string;
  readonly item: string | undefined;
  readonly size: { readonly key: string; readonly text: string } | undefined;
}

/** A number of the file that can be moved. */
export interface Setting {
  readonly path: string;
  readonly group: SettingGroup;
  /** "duty start" */
  readonly name: string;
  readonly tag: string | undefined;
  readonly dimension: Dimension;
  /** In which the file has it, or in which it would be written. */
  readonly unit: WrittenUnit;
  /** As the run had it, and as the file has it, in that unit; undefined where the file says nothing. */
  readonly value: number;
  readonly inFile: number | undefined;
  /** Ends and step of the slider, in that unit. */
  readonly from: number;
  readonly to: number;
  readonly step: number;
}
export const SETTING_GROUPS = ['Level', 'Pressure', 'Sump level', 'Start and outage', 'Delays'] as const;
export type SettingGroup = (typeof SETTING_GROUPS)[number];

/** What the drawing has to know of the unit; levels are those of the sight glass. */
export interface Sketch {
  readonly ambientPressure_Pa: number;
  readonly tank: {
    readonly tag: string;
    readonly lying: boolean;
    readonly heads: string;
    readonly bottom_m: number;
    readonly top_m: number;
    /** Width over height of the vessel. */
    readonly slimness: number;
    readonly outlet_m: number;
    readonly hasDrain: boolean;
    readonly hasVent: boolean;
  };
  readonly sump: { readonly tag: string; readonly depth_m: number };
  readonly switches: readonly SwitchSketch[];
  readonly motors: readonly { readonly tag: string; readonly kind: 'pump' | 'compressor' }[];
  readonly safetyValve: { readonly tag: string; readonly set_Pa: number } | undefined;
  /** At which the compressors stop: the reset of the cut-in. */
  readonly cutOut_Pa: number | undefined;
  readonly design_Pa: number | undefined;
  readonly valves: readonly ValveSketch[];
}
export interface SwitchSketch {
  readonly tag: string;
  /** "low level" */
  readonly name: string;
  readonly measured: 'level' | 'pressure' | 'sump';
  /** Sight-glass reading, m, or absolute pressure, Pa. */
  readonly at: number;
}
export interface ValveSketch {
  readonly tag: string;
  readonly service: string;
  readonly headOpens: boolean;
  readonly spring: 'opens' | 'closes' | undefined;
}

/** A state that changes at instants: the one at the start, then each change. */
export interface Timeline {
  readonly first: number;
  readonly changes: readonly (readonly [time_s: number, state: number])[];
}
export interface Timelines {
  /** 1 made. In the order of the switches of the sketch. */
  readonly switches: readonly Timeline[];
  /** 0 off, 1 auto, 2 hand. */
  readonly selectors: readonly Timeline[];
  /** 0 sound, 1 tripped, 2 failed. */
  readonly latched: readonly Timeline[];
  readonly drain: Timeline;
  readonly vent: Timeline;
  /** 1 while the trip stands. */
  readonly trip: Timeline;
}

export interface WorstFound {
  readonly met: boolean;
  readonly from: 'service' | 'switches';
  readonly words: string;
  /** Overrides that replay it. */
  readonly overrides: readonly string[];
  /** Failures in order of time: when, and the margin beyond the wanted one; null where a stroke does not end. */
  readonly moments: readonly { readonly time_s: number; readonly spare: number | null; readonly met: boolean }[];
  readonly worst_s: number;
}
