/** What the reports have in common. */
import { verdictWord } from '../../scenarios/resultText.ts';
import { html, type Markup } from '../html.ts';

/** The verdict in words, with what it is about. */
export function verdictHead(
  good: boolean,
  text: string,
  title: string,
  about: string,
  word = verdictWord(good),
): Markup {
  return html`<header>
<h1>${title}</h1>
<p class="kicker">${about}</p>
<p class="verdict ${good ? 'good' : 'bad'}"><span class="verdict-word">${word}</span> <span>${text}</span></p>
</header>`;
}

export const REPORT_STYLE = `
.verdict { display: flex; gap: 14px; align-items: baseline; max-width: none; font-size: 18px; line-height: 1.4; margin: 10px 0 0;
  padding: 12px 16px; border: 2px solid var(--ink); }
.verdict-word { font-weight: 800; font-size: 22px; white-space: nowrap; }
.verdict.bad { border-color: var(--care); border-left-width: 12px; }
.verdict.bad .verdict-word { color: var(--care); }
.strokes { width: 100%; }
.strokes td, .strokes tbody th { vertical-align: middle; }
.strokes td > span { display: block; }
.strokes .tag { font-weight: 700; }
.strokes th { font-weight: 400; }
.strokes .service { display: block; font-size: 13px; }
.strokes .word { font-weight: 600; white-space: nowrap; }
.strokes tr.bad th, .strokes tr.bad td { border-bottom: 0; }
.strokes .note p { margin: 0; max-width: none; }
.strokes svg { display: block; }
.finding { margin: 10px 0; }
.finding h3 { margin: 0; }
.finding p { margin: 2px 0; }
.beside { display: flex; flex-wrap: wrap; gap: 18px 48px; align-items: flex-start; }
.live .stills { display: none; }
.still { overflow-x: auto; }
.sharecell { display: inline-flex; flex-wrap: wrap; gap: 2px 8px; align-items: center; }
details p.code { max-width: none; }
.key { font-size: 12px; color: var(--soft); margin: 0 0 0 46px; }
.sample svg { vertical-align: middle; }
@media (max-width: 600px) {
  .verdict { display: block; }
  .verdict-word { display: block; }
  .strokes, .strokes caption, .strokes tbody, .strokes tr, .strokes th, .strokes td { display: block; }
  .strokes thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  .strokes tr { padding: 6px 0; border-bottom: 1px solid var(--rule); }
  .strokes tr.bad { border-bottom: 0; }
  .strokes th, .strokes td { border: 0; padding: 1px 0; }
  .strokes td[data-name] { display: grid; grid-template-columns: 7em minmax(0, 1fr); align-items: center; }
  .strokes td[data-name]::before { content: attr(data-name); color: var(--soft); }
  .strokes td[data-name]:not(:has(svg)) > span { grid-column: 2; }
  .strokes td > svg + span { grid-column: 2; }
}
@media print {
  .live .stills { display: block; }
  .strokes .note { break-before: avoid; }
  .verdict { font-size: 12pt; }
  .verdict-word { font-size: 14pt; }
  .still > svg { width: 100%; }
  .sharecell { display: inline-flex; flex-wrap: wrap; gap: 2px 8px; align-items: center; }
details p.code { max-width: none; }
.key { font-size: 7.5pt; }
}
`;
