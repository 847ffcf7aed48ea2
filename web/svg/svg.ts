/** Drawings as text: scalable, without style sheet of their own; colours are variables of the page, so that dark and paper work. */
import { html, type Markup, type Part } from '../html.ts';

/**
 * A drawing that can be read out: role, name and description.
 *
 * @param label what it shows, in a sentence
 */
export function drawing(width: number, height: number, label: string, ...content: readonly Part[]): Markup {
  return html`<svg role="img" aria-label="${label}" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" xmlns="http://www.w3.org/2000/svg">${content}</svg>`;
}

/** A coordinate with as many decimals as can be seen. */
export const c = (x: number): string => String(Math.round(x * 10) / 10);

export interface TextOptions {
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly size?: number;
  readonly fill?: string;
  readonly bold?: boolean;
}

export const text = (x: number, y: number, words: string, options: TextOptions = {}): Markup => {
  const { anchor = 'start', size = 11, fill = 'ink', bold = false } = options;
  return html`<text class="fill-${fill}" x="${c(x)}" y="${c(y)}" font-size="${size}" text-anchor="${anchor}"${bold ? html` font-weight="700"` : ''}>${words}</text>`;
};

export interface LineOptions {
  readonly stroke?: string;
  readonly width?: number;
  readonly dash?: readonly number[];
}

export const line = (x1: number, y1: number, x2: number, y2: number, options: LineOptions = {}): Markup =>
  html`<line class="stroke-${options.stroke ?? 'soft'}" x1="${c(x1)}" y1="${c(y1)}" x2="${c(x2)}" y2="${c(y2)}" stroke-width="${options.width ?? 1}"${dashed(options.dash)}/>`;

export const path = (d: string, options: LineOptions & { readonly fill?: string } = {}): Markup =>
  html`<path class="stroke-${options.stroke ?? 'ink'} fill-${options.fill ?? 'none'}" d="${d}" stroke-width="${options.width ?? 1}"${dashed(options.dash)}/>`;

export const box = (
  x: number,
  y: number,
  width: number,
  height: number,
  options: { readonly fill?: string; readonly stroke?: string; readonly dash?: readonly number[] } = {},
): Markup =>
  html`<rect class="fill-${options.fill ?? 'none'} stroke-${options.stroke ?? 'none'}" x="${c(x)}" y="${c(y)}" width="${c(Math.max(0, width))}" height="${c(height)}"${dashed(options.dash)}/>`;

const dashed = (dash: readonly number[] | undefined): Part =>
  dash === undefined || dash.length === 0 ? '' : html` stroke-dasharray="${dash.join(' ')}"`;

/** Oblique strokes that fill a box: told from a full or an empty box without colour. */
export function hatch(x: number, y: number, width: number, height: number, stroke = 'ink', distance = 5): Markup {
  let d = '';
  for (let s = x - height + distance; s < x + width; s += distance) {
    const from = Math.max(s, x);
    const to = Math.min(s + height, x + width);
    if (to > from) d += `M${c(from)} ${c(y + height - (from - s))}L${c(to)} ${c(y + height - (to - s))}`;
  }
  return path(d, { stroke, width: 1 });
}

/** Round values for an axis. */
export function ticksOf(least: number, greatest: number, most: number): number[] {
  const rough = (greatest - least) / Math.max(1, most);
  if (!(rough > 0)) return [least];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].map((m) => m * power).find((s) => s >= rough * (1 - 1e-9))!;
  const ticks: number[] = [];
  for (let k = Math.ceil(least / step - 1e-9); k * step <= greatest + 1e-9 * step; k++) ticks.push(k * step);
  return ticks;
}

/** Numbers of an axis, all with the decimals that their distance needs. */
export function tickLabels(ticks: readonly number[]): string[] {
  const step = ticks.length > 1 ? Math.abs(ticks[1]! - ticks[0]!) : 1;
  let decimals = 0;
  while (decimals < 6 && Math.abs(step * 10 ** decimals - Math.round(step * 10 ** decimals)) > 1e-6) decimals++;
  return ticks.map((t) => t.toFixed(decimals).replace(/^-(?=0(\.0*)?$)/, ''));
}

/** Classes for colours of the page, to be put into the style sheet of a page with drawings. */
export const SVG_STYLE = `
${['ink', 'soft', 'rule', 'wash', 'care', 'paper', 'line-1', 'line-2', 'line-3', 'line-4', 'line-5', 'line-6']
  .map((name) => `svg .fill-${name} { fill: var(--${name}); } svg .stroke-${name} { stroke: var(--${name}); }`)
  .join('\n')}
svg .fill-none { fill: none; } svg .stroke-none { stroke: none; }
`;
