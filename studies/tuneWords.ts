/** What `tune` found, in words: for print and report. */
import type { Plant } from '../models/plant.ts';
import type { Scenario } from '../scenarios/load.ts';
import { numberText } from '../scenarios/setpoints.ts';
import type { Setpoint } from '../scenarios/tuning.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { clockTime } from '../scenarios/wording.ts';
import type { Limit } from './limits.ts';
import type { Block, LeastState, Setting, TradeOff, TuneAnswer, TunedSetpoint } from './tune.ts';
import type { WorstAnswer } from './worst.ts';
import { answerWords, exactWords } from './worstWords.ts';

export const feasibleWord = (feasible: boolean): string => (feasible ? 'FEASIBLE' : 'NO FEASIBLE SETTING');

const perHour = (x: number) => (x >= 9.95 || Number.isInteger(x) ? x.toFixed(0) : x.toFixed(1));

/** Everything that is said of one answer, in the units of its reader. */
export function tuneWords({ plant }: Scenario, units: UnitSystem) {
  const show = (si: number, dimension: Parameters<typeof formatQuantity>[1]) =>
    formatQuantity(si, dimension, units, plant.ambientPressure_Pa);

  function limit(l: Limit): string {
    switch (l.kind) {
      case 'staircase':
        return `${l.about}: ${show(l.value, l.dimension as 'length')} apart, ${show(l.limit, l.dimension as 'length')} needed`;
      case 'overcharge':
        return `overcharge: a refill from the cut-out reaches ${show(l.value, 'pressure')}, and ${l.about} is at ${show(l.limit, 'pressure')}`;
      case 'oil above the outlet':
      case 'oil left in the sump':
        return `${l.kind} ${l.about}: ${show(l.value, 'volume')}, ${show(l.limit, 'volume')} needed`;
      case 'refill time':
      case 'recharge time':
        return `${l.kind} ${l.about}: ${show(l.value, 'time')}, at most ${show(l.limit, 'time')}`;
      default:
        // With the digits that tell it from the limit.
        return `${l.kind}: ${Number(l.value.toPrecision(3))} an hour, at most ${perHour(l.limit)}`;
    }
  }

  function least({ corner, fault, spare }: LeastState): string {
    if (corner?.answer.worst === undefined) return Number.isFinite(spare) ? 'no such state' : 'nothing required';
    const { stroke, margin } = answerWords(plant, corner.answer, units);
    return `${stroke}: ${margin}${fault === undefined ? '' : `, with ${fault}`}`;
  }

  const block = (b: Block): string =>
    b.margin === undefined
      ? b.limits.map(limit).join('; ')
      : b.margin.corner?.answer.worst?.outcome === 'completed'
        ? `margin: ${least(b.margin)}, less than wanted`
        : `strokes: ${least(b.margin)}`;

  return { show, limit, least, block };
}

export type TuneWords = ReturnType<typeof tuneWords>;

/** A value as it would be written in the file. */
export const inFile = (s: Setpoint, si: number): string =>
  `${numberText(Number(((si - s.unit.offset) / s.unit.factor).toPrecision(7)))} ${s.unit.name}`;

/** What a setpoint may be set to with the others as recommended. */
export function mayBe({ setpoint, lowest, highest }: TuneAnswer['setpoints'][number]): string {
  const [from, to] = [inFile(setpoint, lowest), inFile(setpoint, highest)];
  return from === to ? `${from} only` : `${from} to ${to}`;
}

export const changed = (t: TunedSetpoint): boolean => Math.abs(t.recommended - t.asSet) > 1e-9 * Math.abs(t.asSet);

const signed = (x: number, digits: number) => {
  if (!Number.isFinite(x)) return '-';
  const text = x.toFixed(digits);
  return Number(text) === 0 ? '0' : x > 0 ? `+${text}` : text;
};

/** What a change of this setpoint by itself does for what is sought. */
function purpose(t: TunedSetpoint): string {
  if (/standby/.test(t.setpoint.rung)) return ' with the duty, at the distance it had';
  if (t.perStep === undefined) return '';
  const way = t.recommended > t.asSet ? 1 : -1;
  const { spare, pumpStarts, compressorStarts } = t.perStep;
  if (way * spare > 1e-4) return ' for margin';
  return way * (pumpStarts + compressorStarts) < -0.01 ? ' for fewer starts' : ' to make room for the others';
}

/** Why a setpoint is recommended where it is, and what bounds it. */
export function reason(t: TunedSetpoint, { block }: TuneWords): string {
  const step = `One step (${stepText(t.setpoint)})`;
  const way = !changed(t) ? 'As set.' : `${t.recommended > t.asSet ? 'Raised' : 'Lowered'}${purpose(t)}.`;
  const up = t.above !== undefined && t.highest === t.recommended ? ` ${step} up: ${block(t.above)}.` : '';
  const down = t.below !== undefined && t.lowest === t.recommended ? ` ${step} down: ${block(t.below)}.` : '';
  return `${way}${up}${down}`;
}

/** "V-322 closes: 9.25 % force" without valve and kind. */
export const marginOnly = (least: string) => least.replace(/^[^:]*: /, '').replace(/ (force|time)$/, '');

/** One step of the grid, with its unit. */
export const stepText = (s: Setpoint): string =>
  `${numberText(Number((Number(s.numberAt(1)) - Number(s.numberAt(0))).toPrecision(6)))} ${s.unit.name.replace(/(psi|bar|kPa|MPa)[ga]$/, '$1')}`;

/** What the failures of a service came to. */
export function worstText(worst: WorstAnswer, plant: Plant, units: UnitSystem): string {
  const { proof } = worst;
  const from = proof.from === 'service' ? worst.worst.answer : worst.corners[0].answer;
  const { stroke, margin } = answerWords(plant, from, units);
  const where =
    proof.from === 'service'
      ? `at ${clockTime(worst.worst.time_s)} of service`
      : 'in the least favourable state of the switches';
  return `${proof.met ? 'MET' : 'NOT MET'} ${where}, ${stroke}: ${margin}; ${worst.moments.length} moments and ${worst.corners.length} states`;
}

/** What is compared, as set, as recommended: rows of a table. */
export function compareCells(answer: TuneAnswer, { show, least }: TuneWords): string[][] {
  const both = (name: string, of: (s: Setting) => string | undefined): string[][] => {
    const [a, b] = [of(answer.asSet), of(answer.recommended)];
    return a === undefined && b === undefined ? [] : [[name, a ?? '-', b ?? '-']];
  };
  const limitOf = (s: Setting, kind: Limit['kind']) => s.limits.find((l) => l.kind === kind);
  const against = (kind: Limit['kind'], text: (l: Limit) => string) => (s: Setting) => {
    const l = limitOf(s, kind);
    return l === undefined ? undefined : `${text(l)}${l.short > 0 ? '  NOT MET' : ''}`;
  };
  return [
    ...both('Least margin', (s) => least(s.least)),
    ...both(
      'Pump starts/h, at most',
      against('pump starts', (l) => `${perHour(l.value)} of ${perHour(l.limit)}`),
    ),
    ...both(
      'Compressor starts/h, at most',
      against('compressor starts', (l) => `${perHour(l.value)} of ${perHour(l.limit)}`),
    ),
    ...both('Refill, one pump', (s) => (s.refill_s === undefined ? undefined : show(s.refill_s, 'time'))),
    ...both('Recharge, one compressor', (s) => (s.recharge_s === undefined ? undefined : show(s.recharge_s, 'time'))),
    ...both(
      'Highest pressure',
      against('overcharge', (l) => `${show(l.value, 'pressure')} of ${show(l.limit, 'pressure')}`),
    ),
  ];
}

/** The verdict, in a sentence. */
export function tuneSaid(answer: TuneAnswer, w: TuneWords): string {
  const { recommended, setpoints } = answer;
  const moves = setpoints.filter(changed);
  const broken = recommended.limits.filter((l) => l.short > 0).map(w.limit);
  // Pressure bought by switches hastens a stroke hardly; its lines do.
  const short =
    recommended.least.corner?.answer.worst?.of === 'time'
      ? '; it is time that is short: look at its lines and speed control'
      : '';
  const margin =
    recommended.least.spare < 0 ? [`${w.least(recommended.least)}, which is not what is wanted${short}`] : [];
  return answer.feasible
    ? moves.length === 0
      ? 'the switches are best left as they are set.'
      : `with ${moves.length} of ${setpoints.length} setpoints changed every required stroke completes in every state that the switches permit; ${recommended.least.corner?.answer.worst === undefined ? 'nothing is required of any valve' : `least margin there ${w.least(recommended.least)}`}.`
    : `the nearest miss is shown. It is blocked by: ${[...broken, ...margin].join('; ') || 'service, in which a state less favourable than those of the switches comes about'}.`;
}

/** What the verdict holds for. */
export const tuneHolds = ({ objective, examined }: TuneAnswer, plant: Plant): string =>
  `for this file and "${objective}": ${examined} settings run in full in the least favourable states of their switches, others by estimate. Starts an hour are the most there can be whatever is drawn.${exactWords(plant)}`;

/** Which setpoints have no step to spare either way. */
export function narrowText({ feasible, setpoints }: TuneAnswer): string | undefined {
  const narrow = setpoints.filter((t) => t.lowest === t.highest).map((t) => t.setpoint.name);
  if (!feasible || narrow.length === 0) return undefined;
  const names = narrow.length === 1 ? narrow[0] : `${narrow.slice(0, -1).join(', ')} and ${narrow.at(-1)}`;
  return `${names}: no step to spare; one either way passes a bound. If that is too fine to set and keep, want less in "tuning".`;
}

/** What service comes to once the new switches have made up for the start of the file. */
export const settledText = (settled: WorstAnswer, plant: Plant, units: UnitSystem): string =>
  `${worstText(settled, plant, units)}. The start of the file lies outside of what the new switches do; until the machines have made up for it the first line holds.`;

/** The tag of the switch that a setpoint is of. */
export const tagOf = ({ rung }: Setpoint, plant: Plant): string =>
  plant.panel.contacts.find((c) => `panel.${c.role}` === rung)?.tag ?? '';

/** What a step up of a setpoint alone changes: name, step, margin, starts of pumps and of compressors. */
export function stepCells({ setpoint, perStep }: TunedSetpoint): string[] {
  return [
    setpoint.name,
    `+${stepText(setpoint)}`,
    perStep === undefined || !Number.isFinite(perStep.spare) ? '-' : `${signed(perStep.spare * 100, 2)} %`,
    perStep === undefined ? '-' : signed(perStep.pumpStarts, 2),
    perStep === undefined ? '-' : signed(perStep.compressorStarts, 2),
  ];
}

/** A row of the trade-off: margin, starts, and the setpoints with which it is had. */
export const tradeCells = ({ setting, numbers }: TradeOff, { least }: TuneWords): string[] => [
  marginOnly(least(setting.least)),
  setting.pumpStarts === undefined ? '-' : perHour(setting.pumpStarts),
  setting.compressorStarts === undefined ? '-' : perHour(setting.compressorStarts),
  ...numbers,
];
