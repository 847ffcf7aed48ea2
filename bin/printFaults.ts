/** What `faults` found, as text of 80 columns: single points of failure first, each with its reason; cautions last. */
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { verdictWord } from '../scenarios/resultText.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import type { FaultAnswer, FaultsAnswer } from '../studies/faults.ts';
import {
  CONSEQUENCE,
  eachText,
  faultsSaid,
  lostText,
  pairsSaid,
  replayOf,
  revealWords,
  sizesText,
  soundText,
} from '../studies/faultsWords.ts';
import { answerWords } from '../studies/worstWords.ts';
import { labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

/** Most answers of which each gets the line that replays it. */
const FEW = 6;

export interface FaultsPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  readonly set: readonly string[];
  readonly interval_s: number;
  readonly repair_s: number;
  /** Prints the faults that change nothing one by one too. */
  readonly all?: boolean;
  /** Pairs that defeat the shutdown, and how many were run; undefined where none were asked for. */
  readonly pairs?: { readonly answers: readonly FaultAnswer[]; readonly run: number } | undefined;
  readonly paint?: Paint;
}

function rowOf(a: FaultAnswer, scenario: Scenario, options: FaultsPrintOptions, replayLine: boolean): Row {
  const { stroke, margin } = answerWords(scenario.plant, { ...a.answer, worst: a.stroke }, options.units);
  const below = [
    ...(a.reason === undefined ? [] : paragraph('    ', printable(lostText(a) ?? ''), WIDTH)),
    ...(replayLine ? paragraph('    ', printable(replayOf(a, options)), WIDTH) : []),
  ];
  return {
    cells: [a.item, a.mode, a.local, revealWords(a), `${stroke} ${margin}`, CONSEQUENCE[a.consequence]],
    ...(below.length > 0 ? { below } : {}),
  };
}

const COLUMNS = [
  { head: 'Item' },
  { head: 'Failure mode' },
  { head: 'In service' },
  { head: 'Revealed by' },
  { head: 'On loss of mains' },
  { head: '' },
] as const;

/** Faults that change nothing, by mode: "left in off: P-1, P-2". */
function quietLines(answers: readonly FaultAnswer[]): string[] {
  const byMode = new Map<string, string[]>();
  for (const a of answers) byMode.set(a.mode, [...(byMode.get(a.mode) ?? []), a.item]);
  return [...byMode].flatMap(([mode, items]) => paragraph('  ', printable(`${mode}: ${items.join(', ')}`), WIDTH));
}

export function printFaults(answer: FaultsAnswer, scenario: Scenario, options: FaultsPrintOptions): string {
  const { values } = scenario;
  const { units, paint = paintNothing } = options;
  const { answers, sound } = answer;
  const of = (c: FaultAnswer['consequence']) => answers.filter((a) => a.consequence === c);
  const [defeats, worse, none] = [of('defeats'), of('worse'), of('none')];
  const soundMet = sound.worst.spare >= 0;
  const met = soundMet && defeats.length === 0;
  const word = verdictWord(met);
  const said = faultsSaid(answer);
  const [first = '', ...rest] = paragraph(`${word}: `, said, WIDTH);
  const few = answers.length <= FEW;
  const rows = (list: readonly FaultAnswer[]) => list.map((a) => rowOf(a, scenario, options, few));
  const { pairs } = options;
  const sections = [
    [
      met ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    labelled('Sound', soundText(answer, scenario, units)),
    defeats.length === 0 ? [] : ['Single points of failure:', ...table(COLUMNS, rows(defeats), WIDTH)],
    worse.length === 0 ? [] : ['Less margin, still met:', ...table(COLUMNS, rows(worse), WIDTH)],
    none.length === 0
      ? []
      : options.all || few
        ? ['No harm to the shutdown:', ...table(COLUMNS, rows(none), WIDTH)]
        : [`No harm to the shutdown (${none.length}; --all shows each):`, ...quietLines(none)],
    pairs === undefined ? [] : pairLines(pairs, scenario, options),
    labelled('Each', eachText(answer, options)),
    labelled('Sizes', sizesText(units)),
    few || defeats.length === 0
      ? []
      : labelled(
          'Replay',
          `${replayOf(defeats[0], options)} repeats the first; --csv and --json have the line of each, --only prints it for a few.`,
        ),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}

function pairLines(
  { answers, run }: NonNullable<FaultsPrintOptions['pairs']>,
  scenario: Scenario,
  options: FaultsPrintOptions,
): string[] {
  return [
    ...paragraph('', pairsSaid(answers.length, run), WIDTH),
    ...(answers.length === 0
      ? []
      : table(
          COLUMNS,
          answers.map((a) => rowOf(a, scenario, options, false)),
          WIDTH,
        )),
  ];
}
