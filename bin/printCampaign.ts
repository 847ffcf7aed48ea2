/** What a campaign found, as text of 80 columns: the answer first, then where it comes from, cautions last. */
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import type { Uncertain } from '../scenarios/uncertain.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import type { CampaignAnswer, CampaignPlan, RequiredStroke } from '../studies/campaign.ts';
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
} from '../studies/campaignWords.ts';
import { labelled, paragraph, printable, table, WIDTH, wrap } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

const BAR = 40;
export interface CampaignPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  /** Overrides of the run, to be repeated in the lines that replay a case. */
  readonly set: readonly string[];
  /** Where the results are. */
  readonly folder: string | undefined;
  readonly paint?: Paint;
}

export function printCampaign(
  answer: CampaignAnswer,
  plan: CampaignPlan,
  scenario: Scenario,
  options: CampaignPrintOptions,
): string {
  const { units, paint = paintNothing } = options;
  const { met, strokes, worst } = answer;
  const shown = (input: Uncertain, x: number): string => drawnText(input, x, scenario, units);
  const [first = '', ...rest] = wrap(`${sharePercent(met.value)} MET: ${campaignSaid(answer)}`, WIDTH);
  const byInfluence = answer.inputs
    .map((share, d) => ({ share, input: plan.inputs[d] as Uncertain }))
    .sort((a, b) => Math.abs(b.share.correlation || 0) - Math.abs(a.share.correlation || 0));
  const careful = carefulText(answer);
  const most = Math.max(...answer.histogram.map((bin) => bin.count));
  const sections: string[][] = [
    [
      met.value === 1 ? first : paint(met.high < 0.5 ? 'bad' : 'care', first),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${scenario.values.title}`), WIDTH),
    ],
    table(
      [
        { head: 'Stroke' },
        { head: 'Met', right: true },
        { head: '95 % interval', right: true },
        { head: 'Margin', right: true },
        { head: '5 to 95 %', right: true },
        { head: 'Otherwise' },
      ],
      strokes.map((s) => ({
        cells: [
          strokeName(s),
          sharePercent(s.met.value),
          interval(s.met),
          percent(s.margins[1]),
          Number.isFinite(s.margins[0])
            ? `${percent(s.margins[0]).replace(' %', '')} to ${percent(s.margins[2])}`
            : percent(s.margins[0]),
          otherwiseText(s),
        ],
      })),
      WIDTH,
    ),
    [
      ...wrap(`${SPARE_MEANS}:`, WIDTH),
      ...table(
        answer.quantiles.map(({ share }) => ({
          head: share === 0 ? 'least' : share === 1 ? 'most' : `${share * 100} %`,
          right: true as const,
        })),
        [{ cells: answer.quantiles.map(({ spare }) => percent(spare)) }],
        WIDTH,
      ),
    ],
    table(
      [{ head: 'from', right: true }, { head: 'to', right: true }, { head: 'Runs', right: true }, { head: '' }],
      answer.histogram.map(({ from, to, count: n }) => ({
        cells: [
          from === -Infinity ? 'less' : percent(from),
          to === Infinity ? 'more' : percent(to),
          String(n),
          n === 0 ? '' : '#'.repeat(Math.max(1, Math.round((BAR * n) / most))),
        ],
      })),
      WIDTH,
    ),
    table(
      [
        { head: 'Drawn' },
        { head: '5 %', right: true },
        { head: 'Median', right: true },
        { head: '95 %', right: true },
        { head: 'Correlation', right: true },
      ],
      byInfluence.map(({ share, input }) => ({
        cells: [input.path, ...share.drawn.map((x) => shown(input, x)), correlationText(share.correlation)],
      })),
      WIDTH,
    ),
    table(
      [
        { head: 'Worst', right: true },
        { head: 'Case', right: true },
        { head: 'Least margin of' },
        { head: 'Beyond wanted', right: true },
        { head: '' },
      ],
      worst.map((w, k) => ({
        cells: [
          String(k + 1),
          String(w.number),
          strokeName(strokes[w.stroke] as RequiredStroke),
          percent(w.spare),
          w.outcome,
        ],
      })),
      WIDTH,
    ),
    worst[0] === undefined
      ? []
      : [
          options.folder === undefined
            ? 'The worst:'
            : `The worst; the others in ${printable(options.folder)}/worst.txt:`,
          ...commandLines(options.file, [...options.set, ...worst[0].overrides]),
        ],
    labelled('Sampled', sampledText(answer, plan)),
    careful === undefined ? [] : labelled('Careful', careful),
    labelled('Holds', CAMPAIGN_HOLDS),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}

/** A command over several lines of a shell. */
function commandLines(file: string, set: readonly string[]): string[] {
  const parts = [`tripstroke replay ${printable(file)}`, ...set.map((s) => `--set "${printable(s)}"`)];
  const lines: string[] = [];
  for (const part of parts) {
    const last = lines[lines.length - 1];
    // Room for the blank and the backslash.
    if (last !== undefined && last.length + 1 + part.length <= WIDTH - 2) lines[lines.length - 1] = `${last} ${part}`;
    else lines.push(lines.length === 0 ? part : `    ${part}`);
  }
  return lines.map((line, k) => (k < lines.length - 1 ? `${line} \\` : line));
}

/** The worst cases as command lines, one behind the other. */
export function worstText({ worst, strokes }: CampaignAnswer, file: string, set: readonly string[]): string {
  return worst
    .map((w) => {
      const what = `# case ${w.number}: ${strokeName(strokes[w.stroke] as RequiredStroke)} ${w.outcome}, ${percent(w.spare)} beyond the margin wanted`;
      return `${[what, ...commandLines(file, [...set, ...w.overrides])].join('\n')}\n`;
    })
    .join('\n');
}
