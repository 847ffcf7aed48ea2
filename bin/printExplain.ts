/** What `explain` found, as text of 80 columns: the answer first, then causes, readings, the test that decides, cautions last. */
import type { Plant } from '../models/plant.ts';
import { faultLine } from '../scenarios/addition.ts';
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import type { Cause } from '../studies/causes.ts';
import type { ReadingKind } from '../studies/cycles.ts';
import {
  type Accuracies,
  type CauseAnswer,
  type Compared,
  type ExplainAnswer,
  MODEL_TOLERANCE,
} from '../studies/explain.ts';
import { clockTime, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

const WORDS: Readonly<Record<ReadingKind, string>> = {
  betweenStarts: 'between starts',
  runTime: 'run time',
  levelAtStart: 'level at start',
  levelAtStop: 'level at stop',
  pressureAtStart: 'pressure at start',
  pressureAtStop: 'pressure at stop',
  pressureRatio: 'pressure stop/start',
  pressureFall: 'fall of pressure',
  levelFall: 'fall of level',
};
export const readingName = (c: { readonly of: string; readonly kind: ReadingKind }): string =>
  `${c.of} ${WORDS[c.kind]}`;

function readingText(value: number, kind: ReadingKind, units: UnitSystem, ambient_Pa: number): string {
  if (!Number.isFinite(value)) return 'none';
  switch (kind) {
    case 'betweenStarts':
    case 'runTime':
      return formatQuantity(value, 'time', units);
    case 'levelAtStart':
    case 'levelAtStop':
      return formatQuantity(value, 'length', units);
    case 'pressureAtStart':
    case 'pressureAtStop':
      return formatQuantity(value, 'pressure', units, ambient_Pa);
    case 'pressureRatio':
      return Math.exp(value).toFixed(3);
    case 'pressureFall':
      return formatQuantity(value, 'pressureRate', units);
    case 'levelFall':
      // Below a hundredth of a millimetre an hour it is rounding.
      return `${formatQuantity(Math.abs(value) < 3e-9 ? 0 : value * 3600, 'length', units)}/h`;
  }
}

export interface ExplainPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  readonly set: readonly string[];
  /** What was read, in words. */
  readonly seen: readonly string[];
  readonly ignored: readonly string[];
  readonly accuracies: Accuracies;
  readonly watched_s: number | undefined;
  /** Files that were written. */
  readonly out?: string | undefined;
  readonly plot?: string | undefined;
  readonly all?: boolean | undefined;
  readonly paint?: Paint;
}

const sizeText = (cause: Cause, size: number, units: UnitSystem) => formatQuantity(size, cause.dimension, units);

function intervalText(a: CauseAnswer, units: UnitSystem): string {
  const { cause, low, high } = a;
  if (cause === undefined || !Number.isFinite(low + high)) return '-';
  const show = (x: number) => sizeText(cause, x, units);
  if (low <= cause.low && high >= cause.high) return 'any';
  if (a.beyond && high >= cause.high) return `${show(low)} or more`;
  if (a.beyond && low <= cause.low) return `${show(high)} or less`;
  return `${show(low)} to ${show(high)}`;
}

function verdictOf(a: CauseAnswer, k: number, answer: ExplainAnswer): string {
  if (!a.converged) return `not converged: ${a.problem}`;
  if (!a.explains) return 'does not explain it';
  if (k === 0) return 'explains it';
  const [best] = answer.causes;
  return k < answer.alike ? `cannot be told apart from: ${best.cause?.text}` : 'explains it less well';
}

export function printExplain(answer: ExplainAnswer, scenario: Scenario, options: ExplainPrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const { causes, hopeless, asFiled } = answer;
  const [best] = causes;
  const ambient = plant.ambientPressure_Pa;
  const word = HEADS[answer.verdict];
  const [first = '', ...rest] = paragraph(`${word}: `, headline(answer, units), WIDTH);
  const good = answer.verdict === 'explained' || answer.verdict === 'nothing to explain';
  const misfit = (x: number) => (x < 100 ? x.toFixed(1) : x.toFixed(0));
  const rows: Row[] = causes.map((a, k) => ({
    cells: [
      a.cause?.text ?? '',
      a.cause === undefined ? '-' : sizeText(a.cause, a.size, units),
      intervalText(a, units),
      misfit(a.misfit),
      verdictOf(a, k, answer),
    ],
  }));
  const far = options.all ? hopeless : [];
  for (const h of far)
    rows.push({
      cells: [
        h.cause.text,
        sizeText(h.cause, h.size, units),
        '-',
        misfit(Math.sqrt(h.sum / Math.max(1, asFiled.freedom - 1))),
        'does not explain it',
      ],
    });
  rows.push({
    cells: [
      'as the file says',
      '-',
      '-',
      misfit(asFiled.misfit),
      asFiled.explains ? 'explains it' : 'does not explain it',
    ],
  });
  const sizes = causes.slice(0, Math.max(1, answer.alike)).map((a) => `${a.cause?.text}: ${a.cause?.sizeMeans}`);
  const others =
    hopeless.length > 0 && !options.all
      ? ` ${hopeless.length} more causes are further off at any size; --all lists them.`
      : '';
  const without = answer.without.length === 0 ? '' : ` Without effect on these readings: ${answer.without.join(', ')}.`;
  const sections = [
    [
      good ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    options.seen.flatMap((text, k) => labelled(k === 0 ? 'Seen' : '', text)),
    table(
      [
        { head: 'Cause' },
        { head: 'Size', right: true },
        { head: '95 % interval', right: true },
        { head: 'Misfit', right: true },
        { head: '' },
      ],
      rows,
      WIDTH,
    ),
    labelled(
      'Misfit',
      `1: readings are off by what gauges, switches and their own scatter let expect.${others}${without}`,
    ),
    sizes.length === 0 ? [] : labelled('Size', `${sizes.join('; ')}.`),
    table(
      [
        { head: 'Reading' },
        { head: 'Seen', right: true },
        { head: 'of', right: true },
        { head: 'As filed', right: true },
        ...(best === undefined
          ? []
          : ([
              { head: 'Fitted', right: true },
              { head: 'Off by', right: true },
            ] as const)),
      ],
      asFiled.compared.map((c, i): Row => readingRow(c, best?.compared[i], units, ambient)),
      WIDTH,
    ),
    best === undefined
      ? []
      : labelled('Off by', `seen less fitted, in standard deviations of the reading${offWords(best)}.`),
    testLines(answer, plant, units),
    options.ignored.length === 0 ? [] : labelled('Ignored', `${options.ignored.join('; ')}.`),
    best?.cause === undefined || !best.explains ? [] : labelled('Replay', replayLine(best.cause, best.size, options)),
    options.out === undefined ? [] : labelled('Written', `${options.out}, the scenario with the best cause in it`),
    options.plot === undefined ? [] : labelled('Plot', options.plot),
    labelled(
      'Holds',
      `for this file and one cause at a time, there all the while; ${answer.tries} runs of service${options.watched_s === undefined ? '' : ` of ${clockTime(options.watched_s)}`}. Accuracies: gauge ${formatQuantity(options.accuracies.gauge_Pa, 'pressureDifference', units)}, sight glass ${formatQuantity(options.accuracies.glass_m, 'length', units)}, sump ${formatQuantity(options.accuracies.sump_m, 'length', units)}, time ${formatQuantity(options.accuracies.time_s, 'time', units)}; times and rates of any model ${MODEL_TOLERANCE * 100} %.`,
    ),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}

const HEADS: Readonly<Record<ExplainAnswer['verdict'], string>> = {
  'nothing to explain': 'NOTHING TO EXPLAIN',
  explained: 'EXPLAINED',
  'cannot be told apart': 'CANNOT BE TOLD APART',
  'not explained': 'NOT EXPLAINED',
  'not converged': 'NOT CONVERGED',
};

function headline(answer: ExplainAnswer, units: UnitSystem): string {
  const [best] = answer.causes;
  const size = (a: CauseAnswer) =>
    a.cause === undefined ? '' : `${a.cause.text}, ${sizeText(a.cause, a.size, units)} (${intervalText(a, units)})`;
  switch (answer.verdict) {
    case 'nothing to explain':
      return 'the readings are those of the unit as the file has it, within the accuracies.';
    case 'explained':
      return `${size(best)}.`;
    case 'cannot be told apart':
      return `${answer.causes.slice(0, answer.alike).map(size).join('; or ')}.`;
    case 'not explained':
      return 'no single cause of the list explains the readings; the table has what comes nearest.';
    case 'not converged':
      return best === undefined
        ? 'no cause of the list has any effect on these readings.'
        : `the fit of ${best.cause?.text} came to no rest: ${best.problem}. Take its size as a guess.`;
  }
}

function readingRow(filed: Compared, fitted: Compared | undefined, units: UnitSystem, ambient: number): Row {
  const show = (x: number) => readingText(x, filed.kind, units, ambient);
  return {
    cells: [
      readingName(filed),
      show(filed.seen),
      String(filed.count),
      show(filed.predicted),
      ...(fitted === undefined ? [] : [show(fitted.predicted), fitted.residual.toFixed(1).replace(/^-(0\.0)$/, '$1')]),
    ],
  };
}

/** What switches and gauges were found to be off, where that is more than one deviation. */
function offWords({ off }: CauseAnswer): string {
  const far = off.filter((o) => Math.abs(o.by) >= 1);
  if (far.length === 0) return '';
  return `; found off by more than one deviation of their accuracy: ${far.map((o) => `${o.text} (${o.by > 0 ? '+' : ''}${o.by.toFixed(1)})`).join(', ')}`;
}

function testLines(answer: ExplainAnswer, plant: Plant, units: UnitSystem): string[] {
  const { test } = answer;
  if (test === undefined)
    return answer.verdict === 'cannot be told apart'
      ? labelled(
          'Test',
          'none of the tests that are known here tells them apart; take more readings, of each machine by itself.',
        )
      : [];
  const ambient = plant.ambientPressure_Pa;
  const names = test.predictions.map((p) => p.text);
  const deciding = test.predictions[0].readings[test.by].name;
  return [
    ...labelled(
      'Test',
      `${answer.alike > 1 ? 'to tell' : 'to be sure and tell'} "${names[0]}" from "${names[1]}": at ${formatQuantity(test.start.pressure_Pa, 'pressure', units, ambient)} and ${formatQuantity(test.start.level_m, 'length', units)} set ${test.steps}, then read:`,
    ),
    '',
    ...table(
      [{ head: '' }, ...test.predictions[0].readings.map((r) => ({ head: r.name, right: true as const }))],
      test.predictions.map((p) => ({
        cells: [p.text, ...p.readings.map((r) => formatQuantity(r.value, r.dimension, units, ambient))],
      })),
      WIDTH - 9,
    ).map((line) => (line === '' ? '' : `         ${line}`)),
    '',
    ...labelled('', `The ${deciding} decides: ${test.separation.toFixed(1)} times its accuracy apart.`),
  ];
}

function replayLine(cause: Cause, size: number, { file, set, units }: ExplainPrintOptions): string {
  const written = cause.written(size);
  const sets =
    'fault' in written
      ? [`faults=[${faultLine(written.fault, units)}]`]
      : Object.entries(written.values).map(([path, value]) => `${path}=${value}`);
  return `tripstroke replay ${file}${[...set, ...sets].map((s) => ` --set "${s}"`).join('')}`;
}
