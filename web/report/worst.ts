/** The report on the worst moment to lose the mains. */
import { formatQuantity } from '../../scenarios/units.ts';
import { clockTime } from '../../scenarios/wording.ts';
import type { OutageAnswer } from '../../studies/outage.ts';
import type { WorstAnswer } from '../../studies/worst.ts';
import { answerWords, bandWords, serviceWords, worstHolds, worstSaid } from '../../studies/worstWords.ts';
import { html } from '../html.ts';
import { pageTable, section } from '../page.ts';
import { timeLabels, timeTicks } from '../plot/shape.ts';
import { pointsDrawing } from '../svg/curves.ts';
import { care, figure, type StudyReport, studyPage } from './study.ts';

/** Beyond this the height of a point says nothing more. */
const LEAST_SHOWN = -0.6;

export function worstReport(answer: WorstAnswer, report: StudyReport): string {
  const { scenario, units } = report;
  const { plant } = scenario;
  const { proof, worst, best, corners, moments, service } = answer;
  const zero_m = plant.tank.sightGlassZero_m;
  const alike = !(worst.answer.spare < best.answer.spare);
  const row = (name: string, when: string, pressure_Pa: number, level_m: number, a: OutageAnswer) => {
    const { stroke, margin } = answerWords(plant, a, units);
    return [
      name,
      when,
      formatQuantity(pressure_Pa, 'pressure', units, plant.ambientPressure_Pa),
      formatQuantity(level_m - zero_m, 'length', units),
      stroke,
      margin,
      a.met ? 'met' : care('NOT MET'),
    ];
  };
  const moment = (name: string, m: typeof worst) =>
    row(name, clockTime(m.time_s), m.pressure_Pa, plant.tank.vessel.levelAt(m.oil_m3), m.answer);
  const table = pageTable(
    'Worst and best moment of service, and the states that the switches permit',
    [
      { head: '' },
      { head: 'Mains lost at' },
      { head: 'Pressure', right: true },
      { head: 'Level', right: true },
      { head: 'Least margin of' },
      { head: '' },
      { head: 'Verdict' },
    ],
    [
      moment('worst', worst),
      ...(alike ? [] : [moment('best', best)]),
      ...corners.map((c) => row('permitted', c.name, c.pressure_Pa, c.level_m, c.answer)),
    ],
  );
  return studyPage(
    report,
    'worst moment to lose the mains',
    { good: proof.met, text: worstSaid(answer, plant, units) },
    table,
    section('moments', 'Margin over the time of the failure', picture(), html`<p>${bandWords(answer, plant)}</p>`),
    section('service', 'Service', html`<p>${serviceWords(service, plant, units)}</p>`),
    section('holds', 'What this holds for', html`<p>Holds ${worstHolds(answer, plant)}</p>`),
  );

  function picture() {
    const drawn = moments.filter((m) => Number.isFinite(m.answer.spare));
    if (drawn.length < 2) return html`<p>Nothing to draw: no moment has a margin.</p>`;
    const clip = (x: number) => Math.max(LEAST_SHOWN, Math.min(1, x)) * 100;
    const ys = [...drawn, ...corners]
      .map((m) => m.answer.spare)
      .filter(Number.isFinite)
      .map(clip);
    const [low, high] = [Math.min(0, ...ys), Math.max(0, ...ys)];
    const air = 0.12 * Math.max(high - low, 1);
    const end = service.ticks * plant.tick_s;
    const ticks = timeTicks(0, end, 6);
    const labels = timeLabels(ticks);
    const name = (a: OutageAnswer) => {
      const { stroke, margin } = answerWords(plant, a, units);
      return `${stroke}: ${margin}`;
    };
    const svg = pointsDrawing(
      `Margin beyond the wanted one over the time of the failure, ${drawn.length} moments: least ${name(worst.answer)} at ${clockTime(worst.time_s)}, most ${name(best.answer)} at ${clockTime(best.time_s)}`,
      {
        title: 'mains lost at this time of service',
        least: 0,
        greatest: end,
        ticks: ticks.map((at, k) => ({ at, text: labels[k]! })),
      },
      { title: 'least margin beyond the wanted one, %', least: low - air, greatest: high + air },
      drawn.map((m) => ({ x: m.time_s, y: clip(m.answer.spare), good: m.answer.met })),
      [
        { y: 0, name: 'as much as is wanted', dash: [] },
        ...corners
          .filter((c) => Number.isFinite(c.answer.spare))
          .map((c) => ({
            y: clip(c.answer.spare),
            name: `permitted: ${c.name.replace('level at the ', '').replace('level of the ', '')}`,
            care: !c.answer.met,
          })),
      ],
      alike
        ? []
        : [
            { x: best.time_s, y: clip(best.answer.spare), name: 'best' },
            { x: worst.time_s, y: clip(worst.answer.spare), name: 'worst' },
          ],
    );
    return figure(
      svg,
      'Each mark is a failure of the mains at that moment, run in full: a square where the requirement is met, a cross where not. Dashed: states that the switches permit, whether service came to them or not.',
    );
  }
}
