/** Readings beside their prediction, as a page: verdict, what does not pass, a figure and a table for each part. */
import type { JudgedLine, LineOutcome, Measured } from '../../studies/measured.ts';
import type { Sheet, SheetPart } from '../../studies/sheet.ts';
import { printed, type SheetIdentity } from '../../studies/sheetCsv.ts';
import { html, type Markup, type Part } from '../html.ts';
import { page, pageTable } from '../page.ts';
import { scenarioHash } from '../sha256.ts';
import { changedBy, headline, hintsOf, whyText } from './measuredWords.ts';
import { between } from './wording.ts';

/** A file of readings. */
export interface ReadFile {
  readonly file: string;
  readonly text: string;
  readonly date: string;
  readonly by: string;
}

export interface MeasuredFiles {
  readonly now: ReadFile;
  readonly before: ReadFile | undefined;
  readonly seed: string;
  readonly command: string;
}

const OUTCOME: Readonly<Record<LineOutcome, string>> = {
  passes: 'passes',
  recorded: 'written down',
  outside: 'outside',
  'no reading': 'no reading',
  contradictory: 'contradictory',
};

/** The page as text. */
export function measuredPage(sheet: Sheet, identity: SheetIdentity, judged: Measured, files: MeasuredFiles): string {
  const byId = new Map(judged.lines.map((l) => [l.line.id, l]));
  const moved = changedBy(judged, sheet);
  const fileRow = (what: string, f: ReadFile) => [
    what,
    f.file,
    html`<span class="whole">${f.date === '' ? '-' : f.date}</span>`,
    f.by === '' ? '-' : f.by,
    html`<span class="code hash">${scenarioHash(f.text)}</span>`,
  ];
  const bad = judged.lines.filter((l) => !l.passes);
  const body = html`<main><header>
<p class="kicker">Readings beside their prediction</p>
<h1>${identity.title}</h1>
<p class="${judged.met ? 'verdict' : 'verdict care'}">${judged.met ? 'MET' : 'NOT MET'}: ${headline(judged)}</p>
${pageTable(
  'Readings',
  [{ head: 'Visit' }, { head: 'File' }, { head: 'Date' }, { head: 'Read by' }, { head: 'SHA-256', wide: true }],
  [fileRow('this', files.now), ...(files.before === undefined ? [] : [fileRow('last', files.before)])],
)}
<p>Predicted for ${identity.temperature ?? 'the temperature of the file'}, from the start charge of the sheet.</p>
</header>
${bad.length === 0 ? '' : html`<section><h2>What does not pass</h2>${linesTable(bad, sheet, 'Lines that do not pass')}${hintsOf(judged, sheet).map((t) => html`<p>Perhaps: ${t}.</p>`)}</section>`}
${
  moved.length === 0
    ? ''
    : html`<section><h2>Moved since the last visit by more than half the width of its limits</h2><ul>${moved.map((m) => html`<li>${m}</li>`)}</ul></section>`
}
${sheet.parts.map((part) => partSection(part, byId, sheet))}
</main>`;
  return page({
    title: `Readings: ${identity.title}`,
    body,
    origin: { file: identity.file, scenarioHash: identity.hash, seed: files.seed, command: files.command },
    style: STYLE,
  });
}

function partSection(part: SheetPart, byId: ReadonlyMap<string, JudgedLine>, sheet: Sheet): Markup {
  const lines = part.entries.flatMap((e) => e.lines.flatMap((l) => byId.get(l.id) ?? []));
  return html`<section><h2>${part.title}</h2>
${figure(part.title, lines, sheet)}
${linesTable(lines, sheet, part.title)}</section>
`;
}

function linesTable(lines: readonly JudgedLine[], sheet: Sheet, caption: string): Markup | undefined {
  const drifts = lines.some((l) => l.drift !== undefined);
  const columns = [
    { head: 'Line' },
    { head: 'Read', wide: true },
    { head: 'Expected', right: true },
    { head: 'Passes', right: true, wide: true },
    { head: 'As found', right: true },
    { head: 'As left', right: true },
    { head: 'Off by', right: true },
    { head: 'In band', wide: true },
    ...(drifts ? [{ head: 'Drift', right: true }] : []),
    { head: 'Outcome' },
  ];
  const rows = lines.map((l): Part[] => {
    const outcome = html`<span class="${l.passes ? '' : 'care'}">${OUTCOME[l.outcome]}</span>${why(l, sheet)}`;
    const what = entryText(l, sheet);
    if (l.line.kind === 'answer')
      return [
        l.line.id,
        what,
        l.line.expected,
        l.line.expected,
        l.answer ?? '-',
        '',
        '',
        '',
        ...(drifts ? [''] : []),
        outcome,
      ];
    const { text, unit, expected, limits, band } = printed(l.line, sheet);
    const shown = (x: number | undefined) => (x === undefined ? '-' : text(x));
    const signed = (x: number | undefined) => (x === undefined ? '' : `${x > 0 ? '+' : ''}${text(x)}`);
    return [
      l.line.id,
      html`${what}, <span class="soft">${unit}</span>`,
      shown(expected),
      limits === undefined ? '' : html`<span class="whole">${between(limits, text)}</span>`,
      shown(l.found),
      shown(l.left),
      signed(l.difference),
      band === undefined ? '' : l.inBand === undefined ? '-' : l.inBand ? 'yes' : 'no',
      ...(drifts ? [signed(l.drift)] : []),
      outcome,
    ];
  });
  return pageTable(caption, columns, rows);
}

function why(l: JudgedLine, sheet: Sheet): Part {
  const words = [whyText(l, sheet), l.note === '' ? '' : `note: ${l.note}`].filter((t) => t !== '').join('; ');
  return words === '' ? '' : html`<span class="why">${words}</span>`;
}

function entryText(l: JudgedLine, sheet: Sheet): string {
  const entry = sheet.parts.flatMap((p) => p.entries).find((e) => e.lines.includes(l.line));
  return `${(entry?.text ?? '').replace(/, within .*$/, '')}: ${l.line.what}`;
}

// ------------------------------------------------------------------------------------------------------------ figure

const ROW = 22;
const LEFT = 330;
const WIDTH = 760;
/** Half the width of the limits, on the figure. */
const UNIT = 110;
const CENTRE = LEFT + (WIDTH - LEFT) / 2;

/** Every reading on a scale of its own: the middle is what was expected, the bar reaches to the limits. */
function figure(title: string, lines: readonly JudgedLine[], sheet: Sheet): Markup | undefined {
  const rows = lines.flatMap((l) => {
    if (l.line.kind !== 'reading') return [];
    const p = printed(l.line, sheet);
    const range = p.limits ?? p.band;
    if (range === undefined) return [];
    const both = Number.isFinite(range.low) && Number.isFinite(range.high);
    // What is only wanted above something is shown on the scale of the prediction.
    const scale = both ? range : p.band;
    const middle = p.expected ?? (both ? (range.low + range.high) / 2 : undefined);
    if (scale === undefined || middle === undefined) return [];
    const half = Math.max(scale.high - middle, middle - scale.low);
    return half > 0 ? [{ l, p, range, middle, half }] : [];
  });
  if (rows.length === 0) return undefined;
  const height = rows.length * ROW + 30;
  const place = (x: number, middle: number, half: number) =>
    Math.max(LEFT + 8, Math.min(WIDTH - 8, CENTRE + ((x - middle) / half) * UNIT));
  const out = (x: number, middle: number, half: number) =>
    Math.abs(((x - middle) / half) * UNIT) > (WIDTH - LEFT) / 2 - 8;
  return html`<figure class="keep"><svg viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img" aria-label="${`${title}: readings against limits and predicted bands`}">
<line class="axis" x1="${CENTRE}" x2="${CENTRE}" y1="18" y2="${height - 6}"/>
<text class="small" x="${CENTRE}" y="11" text-anchor="middle">expected</text>
${rows.map(({ l, p, range, middle, half }, k) => {
  const y = 24 + k * ROW;
  const bar = (r: { readonly low: number; readonly high: number }, c: string, h: number) => {
    const from = Number.isFinite(r.low) ? place(r.low, middle, half) : LEFT + 8;
    const to = Number.isFinite(r.high) ? place(r.high, middle, half) : WIDTH - 8;
    return html`<rect class="${c}" x="${from.toFixed(1)}" y="${y + 8 - h / 2}" width="${Math.max(1, to - from).toFixed(1)}" height="${h}"/>`;
  };
  const mark = (x: number | undefined, shape: (at: number) => Markup) =>
    x === undefined
      ? ''
      : out(x, middle, half)
        ? html`${shape(place(x, middle, half))}<text class="small" x="${x > middle ? WIDTH - 18 : LEFT + 18}" y="${y + 12}" text-anchor="${x > middle ? 'end' : 'start'}">${p.text(x)}</text>`
        : shape(place(x, middle, half));
  const words = `${l.line.id} ${entryText(l, sheet)}`;
  return html`<g><text class="label${l.passes ? '' : ' bad'}" x="0" y="${y + 12}">${words.length > 52 ? `${words.slice(0, 50)}...` : words}<title>${words}</title></text>
${bar(range, 'limits', 14)}${p.band === undefined ? '' : bar(p.band, 'band', 6)}${mark(l.before, (x) => html`<line class="last" x1="${x.toFixed(1)}" x2="${x.toFixed(1)}" y1="${y}" y2="${y + 16}"/>`)}${mark(
  l.found,
  (x) => html`<circle class="found" cx="${x.toFixed(1)}" cy="${y + 8}" r="5"/>`,
)}${mark(l.left, (x) => html`<path class="left" d="M${x.toFixed(1)} ${y + 3}l5 5l-5 5l-5-5z"/>`)}${l.passes ? '' : html`<text class="small bad" x="${WIDTH}" y="${y - 1}" text-anchor="end">${OUTCOME[l.outcome]}</text>`}</g>
`;
})}</svg>
<figcaption>Wide bar: it passes. Narrow bar: band of the prediction. Ring: as found. Diamond: as left. Upright line: last visit. Each row has its own scale; what lies beyond it stands at its edge with its number.</figcaption></figure>`;
}

const STYLE = `
.whole { white-space: nowrap; }
.verdict { font-size: 18px; font-weight: 700; margin: 10px 0 16px; max-width: none; }
.why { display: block; color: var(--soft); font-size: 12.5px; }
figure svg { color: var(--ink); }
svg .axis { stroke: var(--soft); stroke-dasharray: 3 3; }
svg .limits { fill: var(--rule); }
svg .band { fill: var(--line-6); opacity: 0.55; }
svg .found { fill: none; stroke: var(--ink); stroke-width: 1.6; }
svg .left { fill: var(--ink); }
svg .last { stroke: var(--line-4); stroke-width: 2; }
svg .label { font-size: 12px; }
svg .small { font-size: 10.5px; fill: var(--soft); }
svg .bad { fill: var(--care); font-weight: 700; }
td .hash { font-size: 11px; word-break: break-all; }
figure svg { width: 100%; max-width: 760px; }
@media print {
  table { width: 100%; font-size: 8.5pt; }
  th, td { padding: 3px 7px 3px 0; }
  td .hash { font-size: 6.5pt; }
}
@media print { svg .limits, svg .band { print-color-adjust: exact; -webkit-print-color-adjust: exact; } }
`;
