/**
 * The shell of every page that is filed: one file that opens from disk and asks for nothing. Its policy lets run and dress it only
 * what was put in here, so markup must carry no style attribute and no handler; SVG attributes (fill, stroke) are free.
 */
import { CAUTIONS } from '../scenarios/result.ts';
import { VERSION } from '../scenarios/version.ts';
import { html, Markup, type Part } from './html.ts';
import { sha256Base64 } from './sha256.ts';

/** Where a page comes from, so that it can be made again. No clock time: the same inputs give the same bytes. */
export interface Origin {
  /** Name of the scenario file. */
  readonly file: string;
  /** SHA-256 of the scenario text, see `scenarioHash`. */
  readonly scenarioHash: string;
  readonly seed: string;
  /** The command line that makes it again. */
  readonly command: string;
}

export interface PageParts {
  /** Of the window and of the file. */
  readonly title: string;
  /** Everything under the head: header, sections. */
  readonly body: Markup;
  readonly origin: Origin;
  /** Beside the style sheet of all pages. */
  readonly style?: string;
  /** What runs in it; without one nothing does. */
  readonly script?: string;
  /** What the script reads: `<script type="application/json" id="...">`. */
  readonly data?: Readonly<Record<string, unknown>>;
  /** Whether the cautions stand at the foot; they do when left out. A page that shows them elsewhere says no. */
  readonly cautions?: boolean;
}

/** A whole page as text. */
export function page({ title, body, origin, style = '', script, data = {}, cautions = true }: PageParts): string {
  const sheet = `${PAGE_STYLE}${style}`;
  const policy = [
    "default-src 'none'",
    `style-src 'sha256-${sha256Base64(sheet)}'`,
    ...(script === undefined ? [] : [`script-src 'sha256-${sha256Base64(script)}'`]),
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  const head = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="tripstroke ${VERSION}">
<title>${title}</title>
<style>${new Markup(sheet)}</style>
</head>
<body>
`;
  const foot = html`${cautions ? cautionList() : ''}
${originTable(origin)}
${Object.entries(data).map(([id, value]) => jsonScript(id, value))}${
  script === undefined ? '' : html`<script>${new Markup(script)}</script>\n`
}</body>
</html>
`;
  return `${head}${body}\n${foot}`;
}

/** Values for a script of the page: no text in them can end the element. */
export function jsonScript(id: string, value: unknown): Markup {
  const text = JSON.stringify(value)
    .replace(/</g, '\\u003c')
    .replace(/\u2028/g, '\\u2028')
    .replace(/\u2029/g, '\\u2029');
  return html`<script type="application/json" id="${id}">${new Markup(text)}</script>\n`;
}

/** The usual cautions. */
export const cautionList = (): Markup => html`<section class="cautions" aria-labelledby="cautions">
<h2 id="cautions">Caution</h2>
${CAUTIONS.map((text) => html`<p>${text}</p>`)}
</section>`;

/** How to make the page again, at its foot. */
export const originTable = ({ file, scenarioHash, seed, command }: Origin): Markup => html`<footer>
<h2>Made from</h2>
<dl class="facts">
<dt>Program</dt><dd>tripstroke ${VERSION}</dd>
<dt>Scenario</dt><dd>${file}</dd>
<dt>SHA-256</dt><dd class="code">${scenarioHash}</dd>
<dt>Seed</dt><dd>${seed}</dd>
<dt>Command</dt><dd class="code">${command}</dd>
</dl>
<p class="soft">The same program, file and command give this page again, byte for byte.</p>
</footer>`;

/** A section with its heading; nothing where there is nothing in it. */
export function section(id: string, heading: string, ...content: readonly Part[]): Markup | undefined {
  const inside = html`${content}`;
  if (inside.text.trim() === '') return undefined;
  return html`<section aria-labelledby="${id}">
<h2 id="${id}">${heading}</h2>
${inside}
</section>
`;
}

/** Columns that are beside each other on a phone at most (choice). */
const MOST_BESIDE = 4;

export interface PageColumn {
  readonly head: Part;
  /** Numbers stand to the right. */
  readonly right?: boolean;
  /** Left out at phone width, unless the rows are stacked there. */
  readonly wide?: boolean;
  /** Not broken over lines. */
  readonly tight?: boolean;
  /** Sentences: wide enough to be read. */
  readonly prose?: boolean;
}

/** A table; rows are cells in the order of the columns. It scrolls by itself where it is too wide. */
export function pageTable(
  caption: string,
  columns: readonly PageColumn[],
  rows: readonly (readonly Part[])[],
): Markup | undefined {
  if (rows.length === 0) return undefined;
  const classOf = ({ right, wide, tight, prose }: PageColumn) =>
    [right && 'right', wide && 'wide', (tight || right) && 'tight', prose && 'prose'].filter(Boolean).join(' ');
  // Of sentences and of many columns a phone has the cells of a row one under the other, each with its heading.
  const stacked = columns.length > MOST_BESIDE || columns.some((c) => c.prose);
  const named = ({ head }: PageColumn): Part =>
    stacked && typeof head === 'string' && head !== '' ? html` data-name="${head}"` : '';
  const cell = (part: Part, k: number) =>
    k === 0
      ? html`<th scope="row" class="${classOf(columns[k]!)}">${part}</th>`
      : html`<td class="${classOf(columns[k]!)}"${named(columns[k]!)}>${stacked ? html`<div>${part}</div>` : part}</td>`;
  return html`<div class="scroll" tabindex="0" role="region" aria-label="${caption}">
<table${stacked ? html` class="stacked"` : ''}>
<caption>${caption}</caption>
<thead><tr>${columns.map((c) => html`<th scope="col" class="${classOf(c)}">${c.head}</th>`)}</tr></thead>
<tbody>
${rows.map((row) => html`<tr>${row.map(cell)}</tr>\n`)}</tbody>
</table>
</div>
`;
}

/** Text of a file with numbers before its lines, so that findings can be followed. */
export function numberedText(text: string): Markup {
  const lines = text
    .replace(/^\ufeff/, '')
    .replace(/\r\n?/g, '\n')
    .replace(/\n$/, '')
    .split('\n');
  return html`<div class="listing" tabindex="0" role="region" aria-label="Scenario as read"><ol>${lines.map(
    (line, k) => html`<li id="line-${k + 1}">${line === '' ? ' ' : line}</li>`,
  )}</ol></div>
`;
}

/** The style sheet of all pages: quiet, light and dark, phone and paper. */
export const PAGE_STYLE = `
:root { color-scheme: light dark; --paper: #fff; --ink: #1d2530; --soft: #586273; --rule: #dfe3e8; --wash: #f4f5f7;
  --care: #a2391b; --line-1: #1f4e8c; --line-2: #8a5a00; --line-3: #0b716b; --line-4: #743a7d; --line-5: #a2391b; --line-6: #4d5866; }
@media (prefers-color-scheme: dark) {
  :root { --paper: #15191f; --ink: #e8ebef; --soft: #a3adba; --rule: #323a45; --wash: #1d232b; --care: #f0916f;
    --line-1: #8ab4f0; --line-2: #dcb35c; --line-3: #63cdc2; --line-4: #d09bd8; --line-5: #f0916f; --line-6: #b6c0cc; }
}
@media print { :root { color-scheme: light; --paper: #fff; --ink: #000; --soft: #444; --rule: #bbb; --wash: #f4f4f4; --care: #8c2c12;
  --line-1: #1f4e8c; --line-2: #8a5a00; --line-3: #0b716b; --line-4: #743a7d; --line-5: #8c2c12; --line-6: #4d5866; } }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 24px 28px 40px; max-width: 1240px; background: var(--paper); color: var(--ink);
  font: 15px/1.5 system-ui, -apple-system, "Segoe UI", "Liberation Sans", Arial, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 22px; line-height: 1.25; margin: 0 0 4px; }
h2 { font-size: 17px; margin: 34px 0 8px; padding-top: 10px; border-top: 2px solid var(--ink); }
h3 { font-size: 15px; margin: 18px 0 6px; }
p { margin: 6px 0; max-width: 75ch; }
a { color: var(--line-1); }
:focus-visible { outline: 3px solid var(--line-1); outline-offset: 2px; }
.soft { color: var(--soft); }
.care { color: var(--care); font-weight: 700; }
.strong { font-weight: 700; }
.code { font-family: ui-monospace, "SF Mono", Menlo, Consolas, "Liberation Mono", monospace; font-size: 13px; }
.kicker { margin: 0 0 14px; color: var(--soft); max-width: none; }
header + .scroll { margin-top: 18px; }
table { border-collapse: collapse; font-size: 14px; font-variant-numeric: tabular-nums; }
caption { text-align: left; color: var(--soft); font-size: 13px; padding: 0 0 4px; }
th, td { text-align: left; vertical-align: top; padding: 4px 14px 4px 0; border-bottom: 1px solid var(--rule); font-weight: 400;
  overflow-wrap: normal; }
thead th { color: var(--soft); font-size: 13px; vertical-align: bottom; border-bottom: 1px solid var(--soft); }
tbody th { font-weight: 600; }
.right { text-align: right; }
.tight { white-space: nowrap; }
.prose { min-width: 17em; }
.scroll { overflow-x: auto; max-width: 100%; }
.facts { display: grid; grid-template-columns: max-content minmax(0, 1fr); gap: 4px 18px; margin: 8px 0; }
.facts dt { color: var(--soft); }
.facts dd { margin: 0; }
.cautions { margin-top: 30px; padding: 4px 18px 10px; border: 2px solid var(--ink); }
.cautions h2 { border: 0; margin: 0; }
.cautions p { max-width: none; margin: 2px 0; }
.listing { border: 1px solid var(--rule); background: var(--wash); overflow: auto; max-height: 60vh; padding: 8px 8px 8px 0; }
.listing ol { margin: 0; padding-left: 4.2em; font: 12.5px/1.5 ui-monospace, "SF Mono", Menlo, Consolas, "Liberation Mono", monospace; }
.listing li { white-space: pre-wrap; padding-left: 8px; }
.listing li::marker { color: var(--soft); }
.listing li:target { background: var(--paper); outline: 2px solid var(--line-1); }
figure { margin: 12px 0; }
figcaption { color: var(--soft); font-size: 13px; }
svg { max-width: 100%; height: auto; }
svg text { font-family: system-ui, "Segoe UI", "Liberation Sans", Arial, sans-serif; fill: currentColor; }
footer { margin-top: 30px; }
@media (max-width: 600px) {
  body { padding: 14px 12px 30px; font-size: 15px; }
  .wide { display: none; }
  .scroll > svg { max-width: none; min-width: 640px; }
  .stacked, .stacked caption, .stacked tbody, .stacked tr, .stacked th { display: block; }
  .stacked thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  .stacked tr { padding: 6px 0; border-bottom: 1px solid var(--rule); }
  .stacked th, .stacked td { border: 0; padding: 1px 0; text-align: left; white-space: normal; min-width: 0; }
  .stacked td { display: grid; grid-template-columns: 7em minmax(0, 1fr); }
  .stacked td:has(> div:empty) { display: none; }
  .stacked td::before { content: attr(data-name); color: var(--soft); }
  .facts { grid-template-columns: minmax(0, 1fr); gap: 0; }
  .facts dd { margin-bottom: 8px; }
}
@page { margin: 14mm 13mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10pt; }
  h1 { font-size: 15pt; }
  h2 { font-size: 12pt; break-after: avoid; margin-top: 14pt; }
  h3 { font-size: 10.5pt; break-after: avoid; }
  table { font-size: 9pt; }
  .scroll, .listing { overflow: visible; max-height: none; }
  .prose { min-width: 0; }
  thead { display: table-header-group; }
  tr, figure, .keep, .cautions, footer { break-inside: avoid; }
  .listing { border: 0; background: none; padding: 0; }
  .listing ol { font-size: 7pt; line-height: 1.25; }
  .screen { display: none; }
  summary { list-style: none; }
  a { color: inherit; text-decoration: none; }
}
`;
