/** What `tune` found, as text of 80 columns: the answer first, then each setpoint with its reason, cautions last. */
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import type { TuneAnswer } from '../studies/tune.ts';
import {
  changed,
  compareCells,
  feasibleWord,
  inFile,
  mayBe,
  narrowText,
  reason,
  settledText,
  stepCells,
  tagOf,
  tradeCells,
  tuneHolds,
  tuneSaid,
  tuneWords,
  worstText,
} from '../studies/tuneWords.ts';
import { type Column, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
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

export function printTune(answer: TuneAnswer, scenario: Scenario, options: TunePrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const w = tuneWords(scenario, units);
  const { asSet, setpoints, before, after, settled, tradeOff } = answer;
  const moves = setpoints.filter(changed);
  const word = feasibleWord(answer.feasible);
  const said = tuneSaid(answer, w);
  const narrow = narrowText(answer);
  const [first = '', ...rest] = paragraph(`${word}: `, printable(said), WIDTH);

  const columns: Column[] = [
    { head: 'Setpoint' },
    { head: 'Tag' },
    { head: 'As set', right: true },
    { head: answer.feasible ? 'Set to' : 'Nearest miss', right: true },
    { head: answer.feasible ? 'May be set' : '' },
  ];
  const rows = setpoints.map(
    (t): Row => ({
      cells: [
        t.setpoint.name,
        tagOf(t.setpoint, plant),
        inFile(t.setpoint, t.asSet),
        `${t.number} ${t.setpoint.unit.name}`,
        answer.feasible ? mayBe(t) : '',
      ],
      below: answer.feasible ? paragraph('    ', printable(reason(t, w)), WIDTH) : [],
    }),
  );
  const sensitivity = setpoints.map((t): Row => ({ cells: stepCells(t) }));
  const trade = (tradeOff ?? []).map((t): Row => ({ cells: tradeCells(t, w) }));
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
      compareCells(answer, w).map((cells): Row => ({ cells })),
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
      ...labelled('Before', worstText(before, plant, units)),
      ...labelled('After', worstText(after, plant, units)),
      ...(settled === undefined ? [] : labelled('Settled', settledText(settled, plant, units))),
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
    narrow === undefined ? [] : labelled('Narrow', narrow),
    labelled('Holds', tuneHolds(answer, plant)),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}
