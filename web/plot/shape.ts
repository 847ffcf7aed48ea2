/**
 * What the time plots show, as plain values in the user's units: made from a result and its trace, sent to a browser as JSON
 * or from a worker, and drawn there or as a static drawing. Every row is a row of the trace, so that what is read off is true.
 */
import { type DigitsKind, digits } from '../../scenarios/digits.ts';

export type Numbers = readonly number[] | Float64Array;

export interface PlotLine {
  readonly name: string;
  readonly values: Numbers;
}

/** A setting, drawn as a level line with its name. */
export interface PlotMark {
  readonly name: string;
  readonly tag: string | undefined;
  readonly value: number;
  /** Worked out, not set. */
  readonly estimate: boolean;
  /** The plot is drawn high enough to show it; others are named at the edge where they lie outside. */
  readonly shown: boolean;
}

export interface PlotPanel {
  /** Stays the same from run to run. */
  readonly key: 'pressure' | 'level' | 'valves' | 'flow' | 'air' | 'temperature';
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly digits: DigitsKind;
  /** The least height of the scale, in its unit: noise is not blown up. */
  readonly span: number;
  readonly lines: readonly PlotLine[];
  readonly marks: readonly PlotMark[];
}

/** A stretch of time in a state that has a name. */
export interface PlotSpell {
  readonly from_s: number;
  readonly to_s: number;
  readonly word: string;
  readonly look: 'runs' | 'calm' | 'attention' | 'seen';
}

/** Something that is in one of a few states. Where no spell stands it is in its resting state. */
export interface PlotLane {
  readonly name: string;
  /** "stopped", "normal" */
  readonly rest: string;
  readonly spells: readonly PlotSpell[];
}

export interface PlotEvent {
  readonly time_s: number;
  readonly tag: string;
  readonly text: string;
  /** Pressure and level at that instant. */
  readonly reading: string;
  readonly kind: 'power' | 'alarm' | 'valve' | 'other';
}

export interface PlotData {
  readonly end_s: number;
  /** Not falling. */
  readonly time: Numbers;
  readonly panels: readonly PlotPanel[];
  readonly lanes: readonly PlotLane[];
  readonly events: readonly PlotEvent[];
  /** From the failure to the end of the last stroke, where that is only part of the run. */
  readonly outage: { readonly from_s: number; readonly to_s: number } | undefined;
}

/** A number of a panel as it is shown, with its unit. */
export const reading = (panel: Pick<PlotPanel, 'unit' | 'decimals' | 'digits'>, value: number): string =>
  `${digits(value, panel.decimals, panel.digits)} ${panel.unit}`;

/** The least and the greatest value between two rows, both counted; undefined where there is none. */
export function extent(values: Numbers, from = 0, to = values.length - 1): [number, number] | undefined {
  let least = Infinity;
  let greatest = -Infinity;
  for (let i = from; i <= to; i++) {
    const v = values[i]!;
    if (v < least) least = v;
    if (v > greatest) greatest = v;
  }
  return least <= greatest ? [least, greatest] : undefined;
}

/** The scale of a panel: what is drawn and the settings that belong to it, with some air around. */
export function scaleOf(panel: PlotPanel, from = 0, to?: number, withMarks = true): [number, number] {
  if (panel.key === 'valves' && withMarks) return [-4, 104];
  let [least, greatest] = [Infinity, -Infinity];
  const take = (a: number, b: number) => {
    least = Math.min(least, a);
    greatest = Math.max(greatest, b);
  };
  for (const { values } of panel.lines) {
    const e = extent(values, from, to ?? values.length - 1);
    if (e !== undefined) take(...e);
  }
  if (withMarks) for (const { value, shown } of panel.marks) if (shown) take(value, value);
  if (!(least <= greatest)) return [0, 1];
  const span = Math.max(greatest - least, withMarks ? panel.span : panel.span / 20);
  const middle = (least + greatest) / 2;
  const zero = panel.digits === 'amount' && least >= 0 && least < 0.3 * span;
  const low = Math.max(middle - 0.56 * span, zero ? -0.04 * span : -Infinity);
  return [low, middle + 0.56 * span];
}

/** The row at or before an instant; the first one where there is none. */
export function rowAt(time: Numbers, time_s: number): number {
  let [low, high] = [0, time.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time[middle]! <= time_s) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The row nearest to an instant. */
export function nearestRow(time: Numbers, time_s: number): number {
  const row = rowAt(time, time_s);
  return row + 1 < time.length && time[row + 1]! - time_s < time_s - time[row]! ? row + 1 : row;
}

/** What a lane is in at an instant. */
export function stateAt({ spells, rest }: PlotLane, time_s: number): string {
  return spells.find((s) => s.from_s <= time_s && time_s < s.to_s)?.word ?? rest;
}

/** Times of equal distance for an axis, in seconds, minutes, hours or days, at most `most` of them. */
export function timeTicks(from_s: number, to_s: number, most: number): number[] {
  const steps = [
    ...[1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800],
    ...[1, 2, 3, 6, 12, 24, 48, 120, 240, 480, 1200, 2400, 4800, 12000].map((h) => 3600 * h),
  ];
  const step = steps.find((s) => (to_s - from_s) / s <= most) ?? (to_s - from_s) / most;
  const ticks: number[] = [];
  for (let k = Math.ceil(from_s / step - 1e-9); k * step <= to_s + 1e-9 * step; k++) ticks.push(k * step);
  return ticks;
}

/** Labels of such times, alike in form: "40 s", "5:00", "6:00 h", "3 d". */
export function timeLabels(ticks: readonly number[]): string[] {
  const step = ticks.length > 1 ? ticks[1]! - ticks[0]! : Infinity;
  const largest = Math.max(...ticks.map(Math.abs), 0);
  const two = (n: number) => String(n).padStart(2, '0');
  // As the log has it: in seconds up to two hours.
  if (largest < 600 || (largest < 7200 && step < 60)) {
    const decimals = step < 1 ? Math.min(3, Math.ceil(-Math.log10(step) - 1e-9)) : 0;
    return ticks.map((t) => `${t.toFixed(decimals)} s`);
  }
  if (step >= 86_400 && ticks.length > 1) return ticks.map((t) => `${Math.round(t / 86_400)} d`);
  return ticks.map((t) => {
    const whole = Math.round(t);
    const days = Math.floor(whole / 86_400);
    const hours = Math.floor((whole % 86_400) / 3600);
    const rest = step < 60 ? `:${two(whole % 60)}` : '';
    const fine = step < 1 ? `.${Math.round((t - Math.floor(t)) * 1000)}` : '';
    const clock = `${hours}:${two(Math.floor((whole % 3600) / 60))}${rest}${fine}`;
    return days > 0 ? `${days} d ${clock}` : largest < 7200 && step >= 60 ? `${Math.round(whole / 60)} min` : clock;
  });
}
