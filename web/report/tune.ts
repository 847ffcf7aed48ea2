/** The report on where the switches should be set. */
import { capital } from '../../scenarios/resultText.ts';
import { formatQuantity } from '../../scenarios/units.ts';
import type { TuneAnswer } from '../../studies/tune.ts';
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
} from '../../studies/tuneWords.ts';
import { html, type Part } from '../html.ts';
import { pageTable, section } from '../page.ts';
import { pointsDrawing, rangesDrawing } from '../svg/curves.ts';
import { care, figure, type StudyReport, studyPage } from './study.ts';

export function tuneReport(answer: TuneAnswer, report: StudyReport): string {
  const { scenario, units } = report;
  const { plant } = scenario;
  const w = tuneWords(scenario, units);
  const { setpoints, before, after, settled, tradeOff, asSet } = answer;
  const target = answer.feasible ? 'Set to' : 'Nearest miss';
  const rows = setpoints.map((t): Part[] => [
    t.setpoint.name,
    tagOf(t.setpoint, plant),
    inFile(t.setpoint, t.asSet),
    changed(t) ? html`<strong>${t.number} ${t.setpoint.unit.name}</strong>` : `${t.number} ${t.setpoint.unit.name}`,
    answer.feasible ? mayBe(t) : '',
    answer.feasible ? reason(t, w) : '',
  ]);
  const narrow = narrowText(answer);
  const broken = asSet.limits.filter((l) => l.short > 0).map(w.limit);
  return studyPage(
    report,
    'where to set the switches',
    { good: answer.feasible, word: feasibleWord(answer.feasible), text: tuneSaid(answer, w) },
    section(
      'setpoints',
      'Setpoints',
      figure(ranges()),
      pageTable(
        'Setpoints as set and as recommended, with what bounds each',
        [
          { head: 'Setpoint' },
          { head: 'Tag', tight: true },
          { head: 'As set', right: true },
          { head: target, right: true },
          { head: 'May be set', tight: true },
          { head: 'Why', prose: true },
        ],
        rows,
      ),
    ),
    section(
      'compared',
      'As set and as recommended',
      pageTable(
        'What either setting comes to',
        [{ head: '' }, { head: 'As set' }, { head: answer.feasible ? 'Recommended' : 'Nearest miss' }],
        compareCells(answer, w).map((cells) =>
          cells.map((cell) =>
            cell.endsWith('  NOT MET') ? html`${cell.slice(0, -'  NOT MET'.length)} ${care('NOT MET')}` : cell,
          ),
        ),
      ),
      broken.length === 0 ? '' : html`<p>As set, these limits are broken: ${broken.join('; ')}.</p>`,
      html`<dl class="facts"><dt>Before</dt><dd>${worstText(before, plant, units)}</dd>
<dt>After</dt><dd>${worstText(after, plant, units)}</dd>${
        settled === undefined ? '' : html`<dt>Settled</dt><dd>${settledText(settled, plant, units)}</dd>`
      }</dl>`,
    ),
    section(
      'steps',
      'What a step of each, alone, would change',
      pageTable(
        'One step up, the others as recommended',
        [
          { head: 'Setpoint' },
          { head: 'Step', right: true },
          { head: 'Margin', right: true },
          { head: 'Pump starts/h', right: true },
          { head: 'Compressor starts/h', right: true },
        ],
        setpoints.map(stepCells),
      ),
    ),
    trade(),
    section(
      'holds',
      'What this holds for',
      html`<p>Holds ${tuneHolds(answer, plant)}</p>${narrow === undefined ? '' : html`<p>${capital(narrow)}</p>`}`,
    ),
  );

  /** Pressures share a scale, and levels do. */
  function ranges() {
    const scale = (dimension: string) => {
      const all = setpoints
        .filter((t) => t.setpoint.dimension === dimension)
        .flatMap((t) => [t.asSet, t.recommended, t.lowest, t.highest])
        .filter(Number.isFinite);
      return { least: Math.min(...all), greatest: Math.max(...all) };
    };
    const show = (t: (typeof setpoints)[number], si: number) =>
      formatQuantity(si, t.setpoint.dimension, units, plant.ambientPressure_Pa);
    return rangesDrawing(
      `Setpoints: ${setpoints.map((t) => `${t.setpoint.name} from ${inFile(t.setpoint, t.asSet)} to ${t.number} ${t.setpoint.unit.name}`).join(', ')}`,
      setpoints.map((t) => ({
        name: t.setpoint.name,
        ...scale(t.setpoint.dimension),
        from: answer.feasible ? t.lowest : t.recommended,
        to: answer.feasible ? t.highest : t.recommended,
        asSet: t.asSet,
        recommended: changed(t) ? t.recommended : t.asSet,
        asSetText: show(t, t.asSet),
        recommendedText: show(t, t.recommended),
      })),
    );
  }

  function trade() {
    if (tradeOff === undefined) return undefined;
    if (tradeOff.length === 0)
      return section(
        'trade',
        'Margin against starts',
        html`<p>No trade-off: no setting keeps to all that is wanted.</p>`,
      );
    const points = tradeOff
      .map(({ setting }) => ({
        x: (setting.pumpStarts ?? 0) + (setting.compressorStarts ?? 0),
        y: setting.least.spare * 100,
        good: true,
      }))
      .filter((p) => Number.isFinite(p.y));
    const xs = points.map((p) => p.x);
    const ys = points.map((p) => p.y);
    const air = (list: readonly number[]) => 0.1 * Math.max(Math.max(...list) - Math.min(...list), 1e-3);
    return section(
      'trade',
      'Margin against starts',
      points.length < 2
        ? ''
        : figure(
            pointsDrawing(
              'Least margin beyond the wanted one over starts an hour, fewest starts for each',
              {
                title: 'starts an hour, pumps and compressors',
                least: Math.min(...xs) - air(xs),
                greatest: Math.max(...xs) + air(xs),
              },
              {
                title: 'least margin beyond the wanted one, %',
                least: Math.min(...ys) - air(ys),
                greatest: Math.max(...ys) + air(ys),
              },
              points,
              [],
              [],
            ),
          ),
      pageTable(
        'Least margin against starts an hour, fewest starts for each',
        [
          { head: 'Margin' },
          { head: 'Pump starts/h', right: true },
          { head: 'Compressor starts/h', right: true },
          ...setpoints.map((t) => ({ head: t.setpoint.name, right: true })),
        ],
        tradeOff.map((t) => tradeCells(t, w)),
      ),
    );
  }
}
