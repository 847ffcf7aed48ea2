/** What `tune` found, as text of 80 columns: the answer first, then each setpoint with its reason, cautions last. */
import type { Plant } from '../models/plant.ts';
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { numberText } from '../scenarios/setpoints.ts';
import type { Setpoint } from '../scenarios/tuning.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import type { Limit } from '../studies/limits.ts';
import type { Block, LeastState, Setting, TuneAnswer, TunedSetpoint } from '../studies/tune.ts';
import type { WorstAnswer } from '../studies/worst.ts';
import { answerWords } from '../studies/worstWords.ts';
import { type Column, clockTime, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

export interface TunePrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  /** Overrides of the run. */
  readonly set: readonly string[];
  /** Where the recommended scenario was written. */
  readonly out: string | undefined;
  readonly paint?: Paint;
}

const perHour = (x: number) => (x >= 9.95 || Number.isInteger(x) ? x.toFixed(0) : x.toFixed(1));

/** Everything that is said of one answer, in the units of its reader. */
function words({ plant }: Scenario, units: UnitSystem) {
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

type Words = ReturnType<typeof words>;

const inFile = (s: Setpoint, si: number): string =>
  `${numberText(Number(((si - s.unit.offset) / s.unit.factor).toPrecision(7)))} ${s.unit.name}`;

const changed = (t: TunedSetpoint): boolean => Math.abs(t.recommended - t.asSet) > 1e-9 * Math.abs(t.asSet);

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

function reason(t: TunedSetpoint, { block }: Words): string {
  const step = `One step (${stepText(t.setpoint)})`;
  const way = !changed(t) ? 'As set.' : `${t.recommended > t.asSet ? 'Raised' : 'Lowered'}${purpose(t)}.`;
  const up = t.above !== undefined && t.highest === t.recommended ? ` ${step} up: ${block(t.above)}.` : '';
  const down = t.below !== undefined && t.lowest === t.recommended ? ` ${step} down: ${block(t.below)}.` : '';
  return `${way}${up}${down}`;
}

/** "V-322 closes: 9.25 % force" without valve and kind. */
const marginOnly = (least: string) => least.replace(/^[^:]*: /, '').replace(/ (force|time)$/, '');

const stepText = (s: Setpoint): string =>
  `${numberText(Number((Number(s.numberAt(1)) - Number(s.numberAt(0))).toPrecision(6)))} ${s.unit.name.replace(/(psi|bar|kPa|MPa)[ga]$/, '$1')}`;

function worstWords(worst: WorstAnswer, plant: Plant, units: UnitSystem): string {
  const { proof } = worst;
  const from = proof.from === 'service' ? worst.worst.answer : worst.corners[0].answer;
  const { stroke, margin } = answerWords(plant, from, units);
  const where =
    proof.from === 'service'
      ? `at ${clockTime(worst.worst.time_s)} of service`
      : 'in the least favourable state of the switches';
  return `${proof.met ? 'MET' : 'NOT MET'} ${where}, ${stroke}: ${margin}; ${worst.moments.length} moments and ${worst.corners.length} states`;
}

function compareRows(answer: TuneAnswer, { show, least }: Words): Row[] {
  const both = (name: string, of: (s: Setting) => string | undefined): Row[] => {
    const [a, b] = [of(answer.asSet), of(answer.recommended)];
    return a === undefined && b === undefined ? [] : [{ cells: [name, a ?? '-', b ?? '-'] }];
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

export function printTune(answer: TuneAnswer, scenario: Scenario, options: TunePrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const w = words(scenario, units);
  const { asSet, recommended, setpoints, before, after, settled, tradeOff, objective } = answer;
  const moves = setpoints.filter(changed);
  const word = answer.feasible ? 'FEASIBLE' : 'NO FEASIBLE SETTING';
  const broken = recommended.limits.filter((l) => l.short > 0).map(w.limit);
  const margin = recommended.least.spare < 0 ? [`${w.least(recommended.least)}, which is not what is wanted`] : [];
  const said = answer.feasible
    ? moves.length === 0
      ? 'the switches are best left as they are set.'
      : `with ${moves.length} of ${setpoints.length} setpoints changed every required stroke completes in every state that the switches permit; ${recommended.least.corner?.answer.worst === undefined ? 'nothing is required of any valve' : `least margin there ${w.least(recommended.least)}`}.`
    : `the nearest miss is shown. It is blocked by: ${[...broken, ...margin].join('; ') || 'service, in which a state less favourable than those of the switches comes about'}.`;
  const [first = '', ...rest] = paragraph(`${word}: `, printable(said), WIDTH);

  const columns: Column[] = [
    { head: 'Setpoint' },
    { head: 'Tag' },
    { head: 'As set', right: true },
    { head: answer.feasible ? 'Set to' : 'Nearest miss', right: true },
    { head: answer.feasible ? 'May be set' : '' },
  ];
  const tagOf = (s: Setpoint) => plant.panel.contacts.find((c) => `panel.${c.role}` === s.rung)?.tag ?? '';
  const rows = setpoints.map(
    (t): Row => ({
      cells: [
        t.setpoint.name,
        tagOf(t.setpoint),
        inFile(t.setpoint, t.asSet),
        `${t.number} ${t.setpoint.unit.name}`,
        answer.feasible ? `${inFile(t.setpoint, t.lowest)} to ${inFile(t.setpoint, t.highest)}` : '',
      ],
      below: answer.feasible ? paragraph('    ', printable(reason(t, w)), WIDTH) : [],
    }),
  );
  const sensitivity = setpoints.map(
    (t): Row => ({
      cells: [
        t.setpoint.name,
        `+${stepText(t.setpoint)}`,
        t.perStep === undefined || !Number.isFinite(t.perStep.spare) ? '-' : `${signed(t.perStep.spare * 100, 2)} %`,
        t.perStep === undefined ? '-' : signed(t.perStep.pumpStarts, 2),
        t.perStep === undefined ? '-' : signed(t.perStep.compressorStarts, 2),
      ],
    }),
  );
  const trade = (tradeOff ?? []).map(
    ({ setting, numbers }): Row => ({
      cells: [
        marginOnly(w.least(setting.least)),
        setting.pumpStarts === undefined ? '-' : perHour(setting.pumpStarts),
        setting.compressorStarts === undefined ? '-' : perHour(setting.compressorStarts),
        ...numbers,
      ],
    }),
  );
  const short = (name: string) => name.replace('pressure', '').replace('level', '').trim();
  const sections = [
    [
      answer.feasible ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    table(columns, rows, WIDTH),
    table(
      [{ head: '' }, { head: 'As set' }, { head: answer.feasible ? 'Recommended' : 'Nearest miss' }],
      compareRows(answer, w),
      WIDTH,
    ),
    asSet.limits.some((l) => l.short > 0)
      ? labelled(
          'As set',
          asSet.limits
            .filter((l) => l.short > 0)
            .map(w.limit)
            .join('; '),
        )
      : [],
    [
      ...labelled('Before', worstWords(before, plant, units)),
      ...labelled('After', worstWords(after, plant, units)),
      ...(settled === undefined
        ? []
        : labelled(
            'Settled',
            `${worstWords(settled, plant, units)}. The start of the file lies outside of what the new switches do; until the machines have made up for it the first line holds.`,
          )),
    ],
    [
      'What a step of each, alone, would change:',
      ...table(
        [
          { head: 'Setpoint' },
          { head: 'Step', right: true },
          { head: 'Margin', right: true },
          { head: 'Pump starts/h', right: true },
          { head: 'Compressor starts/h', right: true },
        ],
        sensitivity,
        WIDTH,
      ),
    ],
    tradeOff === undefined
      ? []
      : trade.length === 0
        ? ['No trade-off: no setting keeps to all that is wanted.']
        : [
            'Least margin against starts an hour, fewest starts for each:',
            ...table(
              [
                { head: 'Margin' },
                { head: 'Pump', right: true },
                { head: 'Compr.', right: true },
                ...setpoints.map((t) => ({ head: short(t.setpoint.name), right: true }) as const),
              ],
              trade,
              WIDTH,
            ),
          ],
    options.out !== undefined
      ? labelled('Written', `${options.out}, with ${moves.length} values changed and everything else as it was.`)
      : answer.feasible && moves.length > 0 && options.set.length === 0
        ? labelled('Write', `tripstroke tune ${options.file} --out tuned.yaml`)
        : [],
    labelled(
      'Holds',
      `for this file and "${objective}": ${answer.examined} settings run in full in the least favourable states of their switches, others by estimate. Starts an hour are the most there can be whatever is drawn.`,
    ),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}
