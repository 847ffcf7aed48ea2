/** What a campaign found, in words: for print and report. */
import type { Scenario } from '../scenarios/load.ts';
import type { Uncertain } from '../scenarios/uncertain.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import type { CampaignAnswer, CampaignPlan, RequiredStroke, Share } from './campaign.ts';
import { REPLICATES } from './sampling.ts';

/** "94.2 %"; near 0 and 1 with as many decimals as tell it from them. */
export function sharePercent(x: number): string {
  if (!Number.isFinite(x)) return '-';
  const rest = Math.min(x, 1 - x);
  if (rest === 0) return `${x * 100} %`;
  const decimals = Math.min(6, Math.max(1, Math.ceil(-Math.log10(Math.abs(rest))) - 1));
  return `${(x * 100).toFixed(decimals)} %`;
}

export const interval = ({ low, high }: Share): string =>
  `${sharePercent(low).replace(' %', '')} to ${sharePercent(high)}`;
export const percent = (x: number): string =>
  x === Infinity ? 'no limit' : Number.isFinite(x) ? `${(x * 100).toFixed(1).replace(/^-0\.0$/, '0.0')} %` : '-';

export const strokeName = (s: RequiredStroke): string =>
  `${s.valve} ${s.direction}${s.strokes > 1 ? ` ${s.stroke}/${s.strokes}` : ''}`;

/** The answer, in a sentence. */
export function campaignSaid({ met, runs, strokes, notSimulated: n }: CampaignAnswer): string {
  const count = strokes.length === 1 ? 'The required stroke meets' : `All ${strokes.length} required strokes meet`;
  const others = n === 0 ? '' : ` ${n} of the others could not be simulated.`;
  return `${count} the requirement in ${Math.round(met.value * runs)} of ${runs} runs; 95 % interval ${interval(met)}.${others}`;
}

/** What margins of whole runs are. */
export const SPARE_MEANS =
  'Least margin of a run beyond the one wanted; below 0 the run is not met. A late stroke counts by its time, one that does not end by the time it was given and the share of its way that it lacks';

export const CAMPAIGN_HOLDS =
  'for this file and for what it says is not known, each drawn by itself; no faults but those of the file. The interval is that of chance alone.';

/** What became of a stroke where it did not complete. */
export const otherwiseText = ({ outcomes }: CampaignAnswer['strokes'][number]): string =>
  Object.entries(outcomes)
    .filter(([outcome]) => outcome !== 'completed')
    .map(([outcome, n]) => `${outcome} ${n}`)
    .join(', ');

/** A drawn value in the units of the reader. */
export const drawnText = ({ dimension }: Uncertain, x: number, { plant }: Scenario, units: UnitSystem): string =>
  dimension === undefined
    ? String(Number(x.toPrecision(4)))
    : formatQuantity(x, dimension, units, plant.ambientPressure_Pa);

export const correlationText = (x: number): string =>
  Number.isNaN(x) ? '-' : x.toFixed(2).replace(/^-0\.00$/, '0.00');

/** What to be careful with; undefined where there is nothing. */
export function carefulText({ notSimulated: n, firstRefusal }: CampaignAnswer): string | undefined {
  if (n === 0) return undefined;
  const count = n === 1 ? 'one case could not be simulated and counts' : `${n} cases could not be simulated and count`;
  return `${count} as not met${n === 1 ? '' : ', the first'} because of ${firstRefusal ?? ''}. Narrow what is drawn.`;
}

/** How the cases were drawn. */
export function sampledText(answer: CampaignAnswer, plan: CampaignPlan): string {
  const how =
    answer.interval === 'Wilson'
      ? 'intervals by Wilson'
      : `intervals from the spread of ${REPLICATES} independent sets, by Wilson where they do not differ`;
  return `${plan.runs} runs, ${plan.sampling}, seed "${plan.seed}"; ${how}. Margins: median of the completed. Correlation: of ranks, with the least margin; near 0 too where the margin rises and falls. The same seed gives the same cases.`;
}
