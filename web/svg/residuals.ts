/** Differences between readings and prediction as a drawing: a row for each reading, two marks, bands where they may lie. */
import { html, type Markup } from '../html.ts';

export interface ResidualRow {
  readonly name: string;
  /** Over the standard deviation of the reading. */
  readonly filed: number;
  readonly fitted: number;
}

const WIDTH = 760;
const LEFT = 240;
const RIGHT = 20;
const ROW = 24;
const TOP = 74;
/** Beyond this many deviations a mark stands at the edge, with its number. */
const MOST = 8;

/** An SVG picture by itself; marks differ in shape, so that nothing hangs on colour. */
export function residualPlot(title: string, cause: string, rows: readonly ResidualRow[]): Markup {
  const height = TOP + rows.length * ROW + 46;
  const room = WIDTH - LEFT - RIGHT - 40;
  const x = (r: number) => LEFT + 20 + (room * (Math.max(-MOST, Math.min(MOST, r)) + MOST)) / (2 * MOST);
  const bottom = TOP + rows.length * ROW;
  const ticks = [-8, -6, -4, -2, 0, 2, 4, 6, 8];
  const far = (r: number) => Math.abs(r) > MOST;
  const number = (r: number) => (Math.abs(r) < 10 ? r.toFixed(1) : r.toFixed(0));
  const edge = (r: number, y: number) =>
    far(r) &&
    html`<text x="${x(r) + (r > 0 ? -9 : 9)}" y="${y + 4}" text-anchor="${r > 0 ? 'end' : 'start'}" font-size="11">${number(r)}</text>`;
  const body = rows.map((row, k) => {
    const y = TOP + k * ROW + ROW / 2;
    return html`<text x="${LEFT}" y="${y + 4}" text-anchor="end">${row.name}</text>
<line x1="${LEFT + 20}" x2="${LEFT + 20 + room}" y1="${y}" y2="${y}" stroke="#ddd"/>
<path d="M${x(row.filed) - 5} ${y - 5}l10 10m0 -10l-10 10" stroke="#555" stroke-width="1.6" fill="none"><title>${row.name}, as the file says: ${number(row.filed)}</title></path>
${edge(row.filed, y)}<circle cx="${x(row.fitted)}" cy="${y}" r="5" fill="#1b4f8a"><title>${row.name}, ${cause}: ${number(row.fitted)}</title></circle>
${edge(row.fitted, y)}`;
  });
  return html`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" font-family="system-ui, sans-serif" font-size="13" fill="#222" role="img" aria-label="${title}">
<rect width="${WIDTH}" height="${height}" fill="#fff"/>
<text x="14" y="22" font-size="15" font-weight="600">${title}</text>
<path d="M15 39l10 10m0 -10l-10 10" stroke="#555" stroke-width="1.6" fill="none"/><text x="32" y="49">as the file says</text>
<circle cx="160" cy="44" r="5" fill="#1b4f8a"/><text x="171" y="49">${cause}, as fitted</text>
<rect x="${x(-2)}" y="${TOP}" width="${x(2) - x(-2)}" height="${bottom - TOP}" fill="#eef3f8"/>
${ticks.map((t) => html`<line x1="${x(t)}" x2="${x(t)}" y1="${TOP}" y2="${bottom}" stroke="${t === 0 ? '#888' : '#e6e6e6'}"/><text x="${x(t)}" y="${bottom + 16}" text-anchor="middle" font-size="11">${t}</text>`)}
${body}
<text x="${LEFT + 20 + room / 2}" y="${bottom + 34}" text-anchor="middle" font-size="12">seen less predicted, in standard deviations of the reading; the band holds 95 %</text>
</svg>
`;
}
