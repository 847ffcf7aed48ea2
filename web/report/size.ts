/** The report on sizes: whether the tank is enough, and what would be, reckoned four ways. */
import { capital } from '../../scenarios/resultText.ts';
import { columnUnit, formatQuantity } from '../../scenarios/units.ts';
import type { SizeAnswer } from '../../studies/size.ts';
import { NOTHING_TO_SIZE, type SizeWordsOptions, sizeWords } from '../../studies/sizeWords.ts';
import { html } from '../html.ts';
import { pageTable, section } from '../page.ts';
import { tanksDrawing } from '../svg/tanks.ts';
import { figure, type StudyReport, studyPage } from './study.ts';

export interface SizeReport extends StudyReport, Omit<SizeWordsOptions, 'units'> {}

export function sizeReport(answer: SizeAnswer, report: SizeReport): string {
  const { scenario, units } = report;
  const words = sizeWords(answer, scenario, report);
  const kind = 'tank, pumps and compressors';
  if (words === undefined) return studyPage(report, kind, { good: true, word: 'NO SIZE', text: NOTHING_TO_SIZE });
  const { word, said, before, ways, rows, found, machines, holds } = words;
  const facts = (list: typeof before) =>
    html`<dl class="facts">${list.map(([name, text]) => html`<dt>${name}</dt><dd>${capital(text)}</dd>`)}</dl>`;
  const [[, ...volumes]] = rows as [(typeof rows)[number]];
  const unit = columnUnit('volume', units);
  const shown = (v: number) => unit.toDisplay(v, 0);
  return studyPage(
    report,
    kind,
    { good: answer.met, word, text: said },
    section('asked', 'What is asked of the tank', facts(before)),
    section(
      'tanks',
      'The tank that would be enough',
      ways.every(([, { tank_m3 }]) => tank_m3 === undefined)
        ? undefined
        : figure(
            tanksDrawing(
              `Tanks that are enough at this cut-in: ${ways.map(([name], k) => `${name} ${volumes[k]}`).join(', ')}; ${before[2]![1]}`,
              `inside volume, ${unit.name}`,
              [
                {
                  name: 'This tank',
                  volume: shown(answer.tank_m3),
                  text: formatQuantity(answer.tank_m3, 'volume', units),
                },
                ...ways.map(([name, { tank_m3 }], k) => ({
                  name: capital(name),
                  volume: tank_m3 === undefined ? undefined : shown(tank_m3),
                  text: tank_m3 === undefined ? 'no tank is enough' : volumes[k]!,
                })),
              ],
              shown(answer.tank_m3),
              answer.filling.leastOil,
            ),
            'Hatched: oil at the pump start. Simulated is the unit run in full; the others are reckoned from pressures alone.',
          ),
      pageTable(
        'What each way of reckoning asks for',
        [{ head: '' }, ...ways.map(([name]) => ({ head: capital(name), right: true }))],
        rows.map(([name, ...cells]) => [capital(name.trim()), ...cells]),
      ),
      facts(found),
    ),
    section('machines', 'Pumps and compressors', facts(machines)),
    section('holds', 'What this holds for', html`<p>Holds ${holds}</p>`),
  );
}
