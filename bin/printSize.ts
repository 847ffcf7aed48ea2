/** What `size` found, as text of 80 columns: the answer first, the ways of reckoning side by side, cautions last. */
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { capital } from '../scenarios/resultText.ts';
import type { SizeAnswer } from '../studies/size.ts';
import { NOTHING_TO_SIZE, type SizeWordsOptions, sizeWords } from '../studies/sizeWords.ts';
import { labelled, paragraph, printable, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

const beside = (label: string, text: string) => labelled(label, text, 11);

export interface SizePrintOptions extends SizeWordsOptions {
  readonly file: string;
  readonly paint?: Paint;
}

export function printSize(answer: SizeAnswer, scenario: Scenario, options: SizePrintOptions): string {
  const { paint = paintNothing } = options;
  const words = sizeWords(answer, scenario, options);
  const title = paragraph('', printable(`${options.file}: ${scenario.values.title}`), WIDTH);
  const cautions = CAUTIONS.flatMap((text) => beside('Caution', text));
  const join = (sections: readonly (readonly string[])[]) =>
    `${sections
      .filter((lines) => lines.length > 0)
      .map((lines) => lines.join('\n'))
      .join('\n\n')}\n`;
  if (words === undefined) return join([[...paragraph('', NOTHING_TO_SIZE, WIDTH), ...title], cautions]);
  const { word, said, before, ways, rows, found, machines, holds } = words;
  const [first = '', ...rest] = paragraph(`${word}: `, said, WIDTH);
  const columns = [{ head: '' }, ...ways.map(([name]) => ({ head: capital(name), right: true as const }))];
  return join([
    [answer.met ? first : paint('bad', word) + first.slice(word.length), ...rest, ...title],
    ...before.map((labelledText) => beside(...labelledText)),
    table(
      columns,
      rows.map((cells) => ({ cells })),
      WIDTH,
    ),
    ...found.map((labelledText) => beside(...labelledText)),
    machines.flatMap((labelledText) => beside(...labelledText)),
    beside('Holds', holds),
    cautions,
  ]);
}
