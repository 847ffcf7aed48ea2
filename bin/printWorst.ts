/** What `worst` found, as text of 80 columns: the answer first, then where it comes from, cautions last. */
import type { Plant } from '../models/plant.ts';
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { verdictWord } from '../scenarios/resultText.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import type { Moment, WorstAnswer } from '../studies/worst.ts';
import { answerWords, bandWords, serviceWords, worstHolds, worstSaid } from '../studies/worstWords.ts';
import { clockTime, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

/** The moments as a profile: a row for each twelfth of service, the least margin in it. */
function profile(answer: WorstAnswer, plant: Plant, units: UnitSystem, zero_m: number): Row[] {
  const { service, moments, worst } = answer;
  const ambient = plant.ambientPressure_Pa;
  const rows: Row[] = [];
  const parts = 12;
  for (let k = 0; k < parts; k++) {
    const [from, to] = [(service.ticks * k) / parts, (service.ticks * (k + 1)) / parts];
    const inside = moments.filter((m) => m.tick > from && m.tick <= to);
    if (inside.length === 0) continue;
    const least = inside.reduce((a, b) => (b.answer.spare < a.answer.spare ? b : a));
    rows.push(momentRow(least, plant, units, ambient, zero_m, least === worst ? 'worst' : ''));
  }
  return rows;
}

function momentRow(m: Moment, plant: Plant, units: UnitSystem, ambient: number, zero_m: number, mark: string): Row {
  const { stroke, margin } = answerWords(plant, m.answer, units);
  const level = plant.tank.vessel.levelAt(m.oil_m3) - zero_m;
  return {
    cells: [
      mark,
      clockTime(m.time_s),
      formatQuantity(m.pressure_Pa, 'pressure', units, ambient),
      formatQuantity(level, 'length', units),
      stroke,
      margin,
      m.answer.met ? 'met' : 'NOT MET',
    ],
  };
}

export interface WorstPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  /** Overrides of the run, to be repeated in the line that replays the proof. */
  readonly set: readonly string[];
  readonly paint?: Paint;
}

export function printWorst(answer: WorstAnswer, scenario: Scenario, options: WorstPrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const ambient = plant.ambientPressure_Pa;
  const zero_m = plant.tank.sightGlassZero_m;
  const { proof, worst, best, corners } = answer;
  const alike = !(worst.answer.spare < best.answer.spare);
  const word = verdictWord(proof.met);
  const [first = '', ...rest] = paragraph(`${word}: `, worstSaid(answer, plant, units), WIDTH);
  const columns = [
    { head: '' },
    { head: 'Mains lost at', right: true },
    { head: 'Pressure', right: true },
    { head: 'Level', right: true },
    { head: 'Least margin of' },
    { head: '' },
    { head: '' },
  ] as const;
  const cornerRows = corners.map((c): Row => {
    const { stroke, margin } = answerWords(plant, c.answer, units);
    return {
      cells: [
        'permitted',
        c.name.replace('level at the ', '').replace('level of the ', ''),
        formatQuantity(c.pressure_Pa, 'pressure', units, ambient),
        formatQuantity(c.level_m - zero_m, 'length', units),
        stroke,
        margin,
        c.answer.met ? 'met' : 'NOT MET',
      ],
    };
  });
  const sections = [
    [
      proof.met ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    table(
      columns,
      [
        momentRow(worst, plant, units, ambient, zero_m, 'worst'),
        ...(alike ? [] : [momentRow(best, plant, units, ambient, zero_m, 'best')]),
        ...cornerRows,
      ],
      WIDTH,
    ),
    labelled('Why', bandWords(answer, plant)),
    labelled('Service', serviceWords(answer.service, plant, units)),
    alike
      ? []
      : ['Least margin in each twelfth of service:', ...table(columns, profile(answer, plant, units, zero_m), WIDTH)],
    labelled(
      'Replay',
      `tripstroke replay ${options.file}${options.set.map((s) => ` --set "${s}"`).join('')} --at worst`,
    ),
    labelled('Holds', worstHolds(answer, plant)),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}
