/** Reports of the studies: the same words as in print, their drawings, and nothing that is not text. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { loadScenario } from '../../scenarios/index.ts';
import { type CampaignPlan, createCampaign, foldCampaign, planCampaign } from '../../studies/campaign.ts';
import { examineFaults } from '../../studies/faults.ts';
import { findSize } from '../../studies/size.ts';
import { sizeWords } from '../../studies/sizeWords.ts';
import { findTuning } from '../../studies/tune.ts';
import { findWorst } from '../../studies/worst.ts';
import { campaignReport } from '../../web/report/campaign.ts';
import { faultsReport } from '../../web/report/faults.ts';
import { sizeReport } from '../../web/report/size.ts';
import { tuneReport } from '../../web/report/tune.ts';
import { worstReport } from '../../web/report/worst.ts';

const EVIL = '<b>&"evil"';
const text = readFileSync('scenarios/tarn-hollow.yaml', 'utf-8').replace(/^title:.*$/m, `title: '${EVIL}'`);
const scenario = loadScenario(text, { file: 'tarn.yaml' }).scenario!;
const { values, plant } = scenario;
const base = {
  scenario,
  scenarioText: text,
  units: 'si' as const,
  origin: { file: 'tarn.yaml', scenarioHash: 'ab', seed: '1', command: 'tripstroke worst tarn.yaml' },
};
/** What every report has. */
function whole(page: string): void {
  expect(page).not.toContain(EVIL);
  expect(page).toContain('&lt;b&gt;');
  expect(page).toContain('Isolate, bleed and lock out');
  expect(page).not.toContain('style=');
  expect(page).not.toMatch(/NaN|undefined|Infinity|\[object/);
  expect(page).not.toContain('<script');
}
const plain = (page: string) => page.replace(/<[^>]*>/g, '').replaceAll('&#39;', "'");

describe('a report on', () => {
  test('the worst moment: verdict, every moment as a mark, worst and best named', () => {
    const answer = findWorst(values, plant, { instants: 12 });
    const page = worstReport(answer, base);
    whole(page);
    expect(page).toMatch(answer.proof.met ? /verdict good/ : /verdict bad/);
    const marks = (page.match(/h4v4h-4z|l6 6m-6 0l6 -6/g) ?? []).length;
    expect(marks).toBe(answer.moments.filter((m) => Number.isFinite(m.answer.spare)).length);
    expect(plain(page)).toMatch(/worst moment to lose the mains/);
  });

  test('tuning: every setpoint as set and as recommended', () => {
    const answer = findTuning(values, plant, scenario.tuning(), { instants: 3 });
    const page = tuneReport(answer, base);
    whole(page);
    for (const t of answer.setpoints) expect(plain(page)).toContain(`${t.number} ${t.setpoint.unit.name}`);
    expect(plain(page)).toContain(answer.feasible ? 'FEASIBLE' : 'NO FEASIBLE SETTING');
  });

  test('sizes: the words of the print, a bar for the tank there is and for each that is enough', () => {
    const answer = findSize(values, plant);
    const page = sizeReport(answer, base);
    whole(page);
    expect(plain(page)).toContain(answer.met ? 'ENOUGH' : 'NOT ENOUGH');
    const words = sizeWords(answer, scenario, { units: 'si' })!;
    for (const cell of words.rows.flatMap(([, ...cells]) => cells)) expect(plain(page)).toContain(cell);
    const enough = words.ways.filter(([, w]) => w.tank_m3 !== undefined).length;
    expect(enough).toBeGreaterThan(1);
    // Of each the oil and the air.
    expect((page.match(/<rect /g) ?? []).length).toBe(2 * (enough + 1));
  });

  test('faults: every fault in one of the tables, hidden ones by word', () => {
    const answer = examineFaults(values, plant, { units: 'si', only: 'pilot stuck' });
    const page = faultsReport(answer, { ...base, file: 'tarn.yaml', set: [], interval_s: 86_400, repair_s: 3600 });
    whole(page);
    expect((page.match(/<tr><th scope="row"/g) ?? []).length).toBe(answer.answers.length);
    expect((page.match(/>HIDDEN</g) ?? []).length).toBe(answer.answers.filter((a) => a.hidden).length);
  });

  test('a campaign: the share with its interval, the distribution holding every run', () => {
    const uncertain = loadScenario(`${text}\nuncertain: [{ path: start.pressure, from: 7 barg, to: 9.5 barg }]\n`, {
      file: 'tarn.yaml',
    });
    const own = uncertain.scenario ?? scenario;
    const plan = planCampaign(own.values, own.plant, own.uncertain, {
      runs: 32,
      sampling: 'plain',
      seed: 'a',
    }) as CampaignPlan;
    const campaign = createCampaign(own.values, plan);
    const rows = new Float64Array(plan.runs * campaign.width);
    for (let i = 0; i < plan.runs; i++) campaign.run(i, rows, i * campaign.width);
    const answer = foldCampaign(campaign, plan, rows);
    const page = campaignReport(answer, plan, { ...base, scenario: own, file: 'tarn.yaml', set: [] });
    whole(page);
    expect(plain(page)).toContain(`in ${Math.round(answer.met.value * 32)} of 32 runs`);
    expect(answer.histogram.reduce((sum, b) => sum + b.count, 0)).toBe(32);
  });
});
