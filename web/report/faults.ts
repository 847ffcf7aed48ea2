/** The report on single faults: which defeat the shutdown, what reveals each. */
import { sentence } from '../../scenarios/resultText.ts';
import type { FaultAnswer, FaultsAnswer } from '../../studies/faults.ts';
import {
  eachText,
  faultsSaid,
  lostText,
  pairsSaid,
  replayOf,
  revealWords,
  sizesText,
  soundText,
} from '../../studies/faultsWords.ts';
import { answerWords } from '../../studies/worstWords.ts';
import { html, type Part } from '../html.ts';
import { pageTable, section } from '../page.ts';
import { care, type StudyReport, studyPage } from './study.ts';

export interface FaultsReport extends StudyReport {
  readonly file: string;
  readonly set: readonly string[];
  readonly interval_s: number;
  readonly repair_s: number;
  readonly pairs?: { readonly answers: readonly FaultAnswer[]; readonly run: number } | undefined;
}

export function faultsReport(answer: FaultsAnswer, report: FaultsReport): string {
  const { scenario, units, pairs } = report;
  const { answers, sound } = answer;
  const of = (c: FaultAnswer['consequence']) => answers.filter((a) => a.consequence === c);
  // Hidden ones first: nobody would know.
  const defeats = [...of('defeats')].sort((a, b) => Number(b.hidden) - Number(a.hidden));
  return studyPage(
    report,
    'single faults in normal service',
    { good: sound.worst.spare >= 0 && defeats.length === 0, text: faultsSaid(answer) },
    section(
      'sound',
      'Without a fault',
      html`<p>${sentence(soundText(answer, scenario, units).replace(/^./, (c) => c.toUpperCase()))}</p>`,
    ),
    section(
      'defeats',
      'Single points of failure',
      table(defeats, 'Faults that defeat the shutdown, hidden ones first'),
    ),
    section(
      'worse',
      'Less margin, still met',
      table(of('worse'), 'Faults that leave less margin than any moment without one'),
    ),
    section('none', 'No harm to the shutdown', table(of('none'), 'Faults that take nothing from the shutdown')),
    pairs === undefined
      ? undefined
      : section(
          'pairs',
          'Pairs',
          html`<p>${pairsSaid(pairs.answers.length, pairs.run)}</p>`,
          table(pairs.answers, 'Pairs that defeat the shutdown'),
        ),
    section(
      'how',
      'How each fault was put in',
      html`<p>Each ${eachText(answer, report)}</p><p>Sizes: ${sizesText(units)}</p>`,
    ),
  );

  function table(list: readonly FaultAnswer[], caption: string) {
    return pageTable(
      caption,
      [
        { head: 'Item', tight: true },
        { head: 'Failure mode' },
        { head: 'In service', wide: true },
        { head: 'Revealed by' },
        { head: 'On loss of mains', prose: true },
      ],
      list.map((a): Part[] => {
        const { stroke, margin } = answerWords(scenario.plant, { ...a.answer, worst: a.stroke }, units);
        const why = lostText(a);
        return [
          a.item,
          a.mode,
          a.local,
          a.hidden
            ? html`${care('HIDDEN')}${revealWords(a) === 'hidden' ? ': no alarm tells' : revealWords(a).replace(/^hidden/, '')}`
            : revealWords(a),
          html`${stroke} ${margin}${
            why === undefined
              ? ''
              : html`<details><summary>${sentence(why.replace(/^./, (c) => c.toUpperCase()))}</summary><p class="code">${replayOf(a, report)}</p></details>`
          }`,
        ];
      }),
    );
  }
}
