/** The report on how likely success is. */
import type { CampaignAnswer, CampaignPlan } from '../../studies/campaign.ts';
import {
  CAMPAIGN_HOLDS,
  campaignSaid,
  carefulText,
  correlationText,
  drawnText,
  interval,
  otherwiseText,
  percent,
  SPARE_MEANS,
  sampledText,
  sharePercent,
  strokeName,
} from '../../studies/campaignWords.ts';
import { html } from '../html.ts';
import { pageTable, section } from '../page.ts';
import { correlationBar, distributionDrawing, shareBar } from '../svg/curves.ts';
import { care, figure, type StudyReport, studyPage } from './study.ts';

export interface CampaignReport extends StudyReport {
  readonly file: string;
  readonly set: readonly string[];
}

export function campaignReport(answer: CampaignAnswer, plan: CampaignPlan, report: CampaignReport): string {
  const { scenario, units } = report;
  const { met, strokes, worst, histogram, quantiles, inputs } = answer;
  const careful = carefulText(answer);
  const byInfluence = inputs
    .map((share, d) => ({ share, input: plan.inputs[d]! }))
    .sort((a, b) => Math.abs(b.share.correlation || 0) - Math.abs(a.share.correlation || 0));
  return studyPage(
    report,
    'how likely success is, given what is not known',
    { good: met.value === 1, word: `${sharePercent(met.value)} MET`, text: campaignSaid(answer) },
    careful === undefined ? '' : html`<p>${care('Careful:')} ${careful}</p>`,
    section(
      'strokes',
      'Strokes',
      pageTable(
        'Share of the runs in which each stroke meets its requirement, and its margin where it completes',
        [
          { head: 'Stroke' },
          { head: 'Met, with 95 % interval' },
          { head: 'Margin', right: true },
          { head: '5 to 95 %', right: true },
          { head: 'Otherwise' },
        ],
        [
          ...(strokes.length > 1 ? [[html`<strong>all</strong>`, shareCell(met), '', '', '']] : []),
          ...strokes.map((s) => [
            strokeName(s),
            shareCell(s.met),
            percent(s.margins[1]),
            Number.isFinite(s.margins[0])
              ? `${percent(s.margins[0]).replace(' %', '')} to ${percent(s.margins[2])}`
              : percent(s.margins[0]),
            otherwiseText(s),
          ]),
        ],
      ),
    ),
    section(
      'margins',
      'Least margin of the runs',
      figure(
        distributionDrawing(
          `Distribution of the least margin of ${answer.runs} runs: ${quantiles.map((q) => `${q.share * 100} % below ${percent(q.spare)}`).join(', ')}`,
          'least margin of a run beyond the one wanted',
          histogram.map((b) => ({ ...b, text: String(b.count) })),
        ),
        `${SPARE_MEANS}. Hatched: not met. Bins at the ends hold all that lies beyond.`,
      ),
      pageTable(
        'Shares of the runs with less margin',
        quantiles.map(({ share }) => ({
          head: share === 0 ? 'least' : share === 1 ? 'most' : `${share * 100} %`,
          right: true,
        })),
        [quantiles.map(({ spare }) => percent(spare))],
      ),
    ),
    section(
      'drawn',
      'What was drawn, and what counts',
      pageTable(
        'Correlation of ranks with the least margin',
        [
          { head: 'Drawn' },
          { head: '5 %', right: true, wide: true },
          { head: 'Median', right: true },
          { head: '95 %', right: true, wide: true },
          { head: 'Correlation', right: true },
          { head: '' },
        ],
        byInfluence.map(({ share, input }) => [
          input.path,
          ...share.drawn.map((x) => drawnText(input, x, scenario, units)),
          correlationText(share.correlation),
          correlationBar(share.correlation),
        ]),
      ),
    ),
    section(
      'worst',
      'Worst cases',
      pageTable(
        'The worst cases, each with the command that replays it',
        [
          { head: 'Case', right: true },
          { head: 'Least margin of' },
          { head: 'Beyond wanted', right: true },
          { head: 'Outcome' },
          { head: 'Replay' },
        ],
        worst.map((x) => [
          String(x.number),
          strokeName(strokes[x.stroke]!),
          percent(x.spare),
          x.outcome,
          html`<details><summary>command</summary><p class="code">${`tripstroke replay ${report.file}${[...report.set, ...x.overrides].map((s) => ` --set "${s}"`).join('')}`}</p></details>`,
        ]),
      ),
    ),
    section('holds', 'What this holds for', html`<p>${sampledText(answer, plan)}</p><p>Holds ${CAMPAIGN_HOLDS}</p>`),
  );
}

const shareCell = (share: CampaignAnswer['met']) =>
  html`<span class="sharecell">${shareBar(share)} ${sharePercent(share.value)} (${interval(share)})</span>`;
