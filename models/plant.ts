/**
 * The plant: everything that does not change during a run, in SI, absolute pressures, levels above the inside bottom.
 * Built once from a checked scenario, then frozen.
 */

import type { Compressor } from './compressor.ts';
import type { Condition } from './condition.ts';
import type { Contact } from './contact.ts';
import type { DissolvedAir } from './dissolvedAir.ts';
import type { Drive } from './drive.ts';
import type { FaultPlant } from './fault.ts';
import type { Vessel, VesselTables } from './geometry.ts';
import type { Overload } from './motor.ts';
import type { Branch } from './network.ts';
import type { LineLeg } from './pipe.ts';
import type { Pump } from './pump.ts';
import type { SafetyValve } from './safetyValve.ts';
import type { AmbientCourse } from './site.ts';
import type { StepPlant } from './step.ts';
import type { Pipeline } from './surge.ts';

export interface Plant {
  readonly tick_s: number;
  readonly scanTicks: number;
  readonly ambientPressure_Pa: number;
  /** When the run starts. */
  readonly ambientTemperature_K: number;
  readonly ambient: AmbientCourse;
  readonly relativeHumidity: number;
  readonly oil: {
    readonly density_kg_m3: number;
    readonly viscosity_m2_s: number;
    readonly temperature_K: number;
    readonly expansion_1_K: number;
  };
  readonly tank: TankPlant;
  readonly sump: SumpPlant;
  readonly pumps: readonly PumpPlant[];
  readonly compressors: readonly CompressorPlant[];
  readonly safetyValve: SafetyValvePlant | undefined;
  readonly header: LineLeg;
  readonly returnMain: LineLeg;
  /** Filter drop at which its alarm comes, Pa; 0 for none. */
  readonly filterAlarm_Pa: number;
  readonly valves: readonly ValvePlant[];
  readonly panel: PanelPlant;
  readonly power: {
    readonly controlHeld_ticks: number;
    readonly undervoltage_ticks: number;
    readonly latched: boolean;
  };
  /** Area of the equivalent leak nozzle, m2, and k of Q = k sqrt(gauge pressure). */
  readonly airLeakArea_m2: number;
  readonly oilLeak: number;
  /** k of the hand drain, Q = k sqrt(gauge pressure), and effective area of the hand vent; 0 where there is none. */
  readonly drain: number;
  readonly ventArea_m2: number;
  readonly faults: readonly FaultPlant[];
  readonly steps: readonly StepPlant[];
  /** Conditions that faults and steps refer to by index. */
  readonly conditions: readonly Condition[];
  readonly start: StartPlant;
  readonly actions: readonly ActionPlant[];
}

export type HeatExchange =
  | 'adiabatic'
  | 'isothermal'
  | 'polytropic'
  | 'conductance'
  | 'time constant'
  | 'natural convection';

export interface TankPlant {
  readonly tag: string;
  readonly vessel: Vessel;
  readonly tables: VesselTables;
  readonly volume_m3: number;
  readonly outletVolume_m3: number;
  /** Oil volumes at which the outlet shuts by itself and opens again. */
  readonly outletShutOff: { readonly shut_m3: number; readonly open_m3: number } | undefined;
  readonly dissolvedAir: DissolvedAir;
  readonly leastAir: number;
  readonly exchange: HeatExchange;
  /** Exponent, W/K or s, as the exchange wants. */
  readonly exchangeValue: number;
  readonly wallHeatCapacity_J_K: number;
  readonly ambientConductance_W_K: number;
  /** Whether heads of oil count. */
  readonly elevated: boolean;
  readonly sightGlassZero_m: number;
}

export interface SumpPlant {
  readonly tag: string;
  readonly area_m2: number;
  readonly depth_m: number;
  readonly capacity_m3: number;
  readonly suction_m3: number;
  readonly priming_m3: number;
  /** Volume under which a sump that was full no longer counts as full. */
  readonly brim_m3: number;
}

export interface MotorPlant {
  readonly tag: string;
  readonly selector: number;
  readonly runUp_s: number;
  readonly restart_ticks: number;
  /** What proves it, by Proof. */
  readonly proof: number;
  /** Flow above which a flow switch makes, m3/s or kg/s; 0 where something else proves. */
  readonly provenFlow: number;
  /** Rise, m or Pa, that proves it. */
  readonly provenRise: number;
  readonly proven_ticks: number;
  readonly isolated: boolean;
  /** Shaft power at full load. */
  readonly ratedPower_W: number;
  /** Currents over full-load current. */
  readonly starting: number;
  readonly noLoad: number;
  readonly overload: Overload;
  /** Starts allowed in any hour; undefined where no limit is stated. */
  readonly allowedStarts: number | undefined;
  readonly leastOff_ticks: number;
  readonly leastRun_ticks: number;
}

export interface PumpPlant extends MotorPlant, Pump {
  readonly line: LineLeg;
  /** Share of the displacement that draws oil, 1 unless the oil is too thick. */
  readonly fill: number;
}

export interface CompressorPlant extends MotorPlant, Compressor {
  /** Runs unloaded for this long after its start. */
  readonly unloaded_s: number;
  /** Discharge pressure at which its relief valve passes all it moves. */
  readonly relief_Pa: number;
  /** Delivered air over ambient temperature behind the cooler, at most. */
  readonly coolerApproach_K: number;
}

export interface SafetyValvePlant extends SafetyValve {
  readonly tag: string;
}

/**
 * Load over position of the piston for one direction, as pieces. From x[k] to x[k+1] it is force[k] + slope[k] (x - x[k]),
 * or, given as a torque at the stem, that of the torque force[k] + slope[k] (p - at[k]) with the valve at p.
 */
export interface LoadProfile {
  readonly x: Float64Array;
  readonly force: Float64Array;
  readonly slope: Float64Array;
  readonly torque: { readonly drive: Drive; readonly at: Float64Array } | undefined;
  /** 1 for pieces inside the end cushion. */
  readonly cushioned: Uint8Array | undefined;
}

/** Force closed_N + slope_N x of a spring that drives one direction and opposes the other. */
export interface Spring {
  readonly direction: 1 | -1;
  readonly closed_N: number;
  readonly slope_N: number;
}

export interface ValvePlant {
  readonly tag: string;
  readonly service: string;
  readonly stroke_m: number;
  readonly headArea_m2: number;
  readonly rodArea_m2: number;
  readonly headOpens: boolean;
  /** Indexed 0 closing, 1 opening. */
  readonly branch: readonly [Branch, Branch];
  /** The same inside the end cushion; undefined without one. */
  readonly cushion: readonly [Branch | undefined, Branch | undefined] | undefined;
  /** Undefined for a cylinder with oil on both sides. */
  readonly spring: Spring | undefined;
  readonly drive: Drive;
  readonly load: readonly [LoadProfile, LoadProfile];
  readonly running_N: number;
  readonly breakaway_N: number;
  /** k of Q = k sqrt(dp) across the piston. */
  readonly leak: number;
  readonly pushedBack: boolean;
  /** Head of oil from tank bottom to cylinder and from cylinder to sump, Pa. */
  readonly supplyHead_Pa: number;
  readonly returnHead_Pa: number;
  /** Of the piston, at the start. */
  readonly position: number;
  /** Trip strokes as directions +1, -1; empty when the valve stays. */
  readonly strokes: readonly number[];
  /** Position of the piston at which each of them ends: 1 or 0, or between where the pilot stops it part way. */
  readonly targets: readonly number[];
  readonly pause_ticks: number;
  readonly tripByControl: boolean;
  readonly tripDelay_ticks: number;
  readonly pilot: 'spring offset' | 'detented' | 'spring centred';
  readonly offset: number;
  readonly hold_ticks: number;
  readonly require:
    | { readonly longest_s: number; readonly shortest_s: number; readonly margin: number; readonly hold_s: number }
    | undefined;
  readonly pipeline: Pipeline | undefined;
}

export interface AlarmPlant {
  readonly tag: string;
  readonly text: string;
  readonly delay_ticks: number;
  readonly offDelay_ticks: number;
  readonly latching: boolean;
}

export interface PanelPlant {
  readonly contacts: readonly Contact[];
  readonly wideDeadband: boolean;
  readonly alternation: 'each call' | 'by hours' | 'fixed';
  readonly alternate_ticks: number;
  /** 0: no limit. */
  readonly longestRun_ticks: number;
  readonly heldOff_ticks: number;
  readonly alarmDelay_ticks: number;
  readonly alarmOffDelay_ticks: number;
  /** 0: never. */
  readonly alarmAgain_ticks: number;
  readonly alarmsLatch: boolean;
}

export interface StartPlant {
  readonly gasPressure_Pa: number;
  readonly oilVolume_m3: number;
  readonly gasTemperature_K: number;
  readonly wallTemperature_K: number;
  readonly sumpVolume_m3: number;
  /** Whether compressors are allowed; undefined: worked out from level and running pumps. */
  readonly permissive: 0 | 1 | undefined;
  /** Index of the duty machine; -1: the one that runs, or the first. */
  readonly dutyPump: number;
  readonly dutyCompressor: number;
  /** Tags of machines running when the run starts. */
  readonly running: readonly string[];
}

export const ACTIONS = [
  'lose mains',
  'restore mains',
  'open valve',
  'close valve',
  'trip motor',
  'block start',
  'allow start',
  'set to auto',
  'set to off',
  'set to hand',
  'open drain',
  'close drain',
  'open vent',
  'close vent',
  'shut isolation',
  'open isolation',
  'acknowledge',
  'reset motor',
  'reset trip',
] as const;
export type Action = (typeof ACTIONS)[number];

export interface ActionPlant {
  readonly tick: number;
  readonly action: Action;
  /** Index of the valve, or of the motor (pumps first, then compressors); -1 for all or none. */
  readonly item: number;
}
