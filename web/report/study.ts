/** What the reports on the studies have in common. */
import type { Scenario } from '../../scenarios/load.ts';
import { overrideText, verdictWord } from '../../scenarios/resultText.ts';
import type { UnitSystem } from '../../scenarios/units.ts';
import { html, type Markup, type Part } from '../html.ts';
import { cautionList, numberedText, type Origin, page, section } from '../page.ts';
import { SVG_STYLE } from '../svg/svg.ts';
import { REPORT_STYLE, verdictHead } from './parts.ts';

export interface StudyReport {
  readonly scenario: Scenario;
  readonly scenarioText: string;
  readonly units: UnitSystem;
  readonly origin: Origin;
}

/** A page about a study. `kind` says which, in words; `body` stands between the verdict and the inputs. */
export function studyPage(
  { scenario, scenarioText, units, origin }: StudyReport,
  kind: string,
  verdict: { readonly good: boolean; readonly word?: string; readonly text: string },
  ...body: readonly Part[]
): string {
  const title = scenario.values.title === 'untitled' ? scenario.file : scenario.values.title;
  const word = verdict.word ?? verdictWord(verdict.good);
  const text = verdict.text.charAt(0).toUpperCase() + verdict.text.slice(1);
  const about = `${kind}; ${scenario.file}; ${units === 'us' ? 'US units' : 'SI units'}, pressures in gauge`;
  return page({
    title: `${word}: ${title}`,
    body: html`${verdictHead(verdict.good, text, title, about, word)}
${body}
${cautionList()}
${section(
  'inputs',
  'Inputs as read',
  scenario.overrides.length === 0
    ? ''
    : html`<ul>${scenario.overrides.map((o) => html`<li>Changed: ${overrideText(o)}</li>`)}</ul>`,
  numberedText(scenarioText),
)}`,
    origin,
    style: `${SVG_STYLE}${REPORT_STYLE}`,
    cautions: false,
  });
}

/** A drawing that may be wider than the screen, with what it shows. */
export const figure = (svg: Part, caption: Part = ''): Markup =>
  html`<figure class="keep"><div class="scroll" tabindex="0" role="region" aria-label="Drawing">${svg}</div>${caption === '' ? '' : html`<figcaption>${caption}</figcaption>`}</figure>\n`;

/** A word that needs attention. */
export const care = (word: string): Markup => html`<span class="care">${word}</span>`;
