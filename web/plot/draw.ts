/** What is drawn on the plots beside their curves: settings with their names, events, lanes of states, names on the curves. */
import type uPlot from 'uplot';
import { digits } from '../../scenarios/digits.ts';
import { apart } from '../svg/apart.ts';
import {
  extent,
  type Numbers,
  type PlotData,
  type PlotEvent,
  type PlotLane,
  type PlotMark,
  type PlotPanel,
  type PlotSpell,
  rowAt,
} from './shape.ts';

/** Colours of the style sheet as they are now. */
export interface Paint {
  readonly paper: string;
  readonly ink: string;
  readonly soft: string;
  readonly rule: string;
  readonly wash: string;
  readonly care: string;
  readonly lines: readonly string[];
}

export const LANE_HEIGHT = 19;
const FONT = 'system-ui, sans-serif';

/** Pixels of the canvas for one of the page. */
const ratio = (u: uPlot) => u.ctx.canvas.width / u.width;

function clipped(u: uPlot, draw: (ctx: CanvasRenderingContext2D, px: number) => void): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.textAlign = 'left';
  draw(ctx, ratio(u));
  ctx.restore();
}

/** Lines through all panels: power, alarms, and instants with a name; other events are ticks in the lanes. */
export function drawEvents(
  u: uPlot,
  paint: Paint,
  events: readonly PlotEvent[],
  moments: readonly { readonly time_s: number; readonly text: string }[],
  named: boolean,
): void {
  clipped(u, (ctx, px) => {
    const { top, height, left, width } = u.bbox;
    let free = -Infinity;
    const seen = new Set<number>();
    const line = (time_s: number, dash: number[], colour: string, text: string) => {
      const x = Math.round(u.valToPos(time_s, 'x', true));
      if (x < left || x > left + width) return;
      // Thousands of events share their pixels.
      if (!seen.has(x)) {
        seen.add(x);
        ctx.setLineDash(dash.map((d) => d * px));
        ctx.strokeStyle = colour;
        ctx.lineWidth = px;
        ctx.beginPath();
        ctx.moveTo(x + px / 2, top);
        ctx.lineTo(x + px / 2, top + height);
        ctx.stroke();
      }
      if (!named || text === '' || x < free) return;
      ctx.font = `${11 * px}px ${FONT}`;
      ctx.fillStyle = paint.soft;
      const wide = ctx.measureText(text).width;
      const at = x + 4 * px + wide > left + width ? x - 4 * px - wide : x + 4 * px;
      ctx.textBaseline = 'middle';
      ctx.fillText(text, at, top + 7 * px);
      free = x + wide + 10 * px;
    };
    for (const e of events) {
      if (e.kind === 'power') line(e.time_s, [], paint.soft, e.tag === 'mains' ? `mains ${e.text}` : '');
      else if (e.kind === 'alarm') line(e.time_s, [1, 3], paint.care, '');
    }
    for (const m of moments) line(m.time_s, [6, 3], paint.ink, m.text);
  });
}

/** Settings: a thin line across, and the name with its value at the right, moved apart where they would cover each other. */
export function drawMarks(u: uPlot, paint: Paint, { marks, decimals }: PlotPanel): void {
  if (marks.length === 0) return;
  const { ctx, bbox } = u;
  const px = ratio(u);
  const right = bbox.left + bbox.width;
  const room = ctx.canvas.width - right - 14 * px;
  const inside = marks
    .map((mark) => ({ mark, y: u.valToPos(mark.value, 'y', true) }))
    .filter(({ y }) => y >= bbox.top - 1 && y <= bbox.top + bbox.height + 1)
    .sort((a, b) => a.y - b.y);
  const places = apart(
    inside.map(({ y }) => y),
    12 * px,
    bbox.top,
    bbox.top + bbox.height + 10 * px,
  );
  ctx.save();
  ctx.font = `${11 * px}px ${FONT}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  inside.forEach(({ mark, y }, k) => {
    ctx.strokeStyle = paint.soft;
    ctx.lineWidth = px;
    ctx.setLineDash(mark.estimate ? [px, 3 * px] : [5 * px, 4 * px]);
    ctx.globalAlpha = 0.75;
    ctx.beginPath();
    ctx.moveTo(bbox.left, Math.round(y) + 0.5);
    ctx.lineTo(right, Math.round(y) + 0.5);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.moveTo(right, y);
    ctx.lineTo(right + 10 * px, places[k]!);
    ctx.stroke();
    ctx.globalAlpha = 1;
    ctx.fillStyle = paint.ink;
    ctx.fillText(fitting(ctx, markNames(mark, decimals), room), right + 13 * px, places[k]!, room);
  });
  ctx.restore();
}

/** Names of a setting, the fullest first. */
function markNames({ name, tag, value }: PlotMark, decimals: number): string[] {
  const number = digits(value, decimals, 'scale');
  return [...(tag === undefined ? [] : [`${name} ${tag} ${number}`]), `${name} ${number}`, name];
}

function fitting(ctx: CanvasRenderingContext2D, names: readonly string[], room: number): string {
  return names.find((name) => ctx.measureText(name).width <= room) ?? names.at(-1)!;
}

/** Names on the curves where several share a panel, each at its own height, so that they do not cover each other. */
export function drawNames(u: uPlot, paint: Paint, panel: PlotPanel, time: Numbers): void {
  const { lines } = panel;
  if (lines.length < 2 || lines.length > 12) return;
  const [from, to] = [rowAt(time, u.scales['x']!.min ?? 0), rowAt(time, u.scales['x']!.max ?? 0)];
  const px = ratio(u);
  clipped(u, (ctx) => {
    ctx.font = `600 ${11 * px}px ${FONT}`;
    ctx.textBaseline = 'middle';
    ctx.lineJoin = 'round';
    lines.forEach(({ name, values }, k) => {
      const e = extent(values, from, to);
      if (e === undefined || e[1] - e[0] < 0.08 * (u.scales['y']!.max! - u.scales['y']!.min!)) return;
      const level = e[0] + ((e[1] - e[0]) * (k + 1)) / (lines.length + 1);
      let row = from;
      while (row < to && (values[row]! - level) * (values[row + 1]! - level) > 0) row++;
      const x = u.valToPos(time[Math.min(row + 1, to)]!, 'x', true);
      const y = u.valToPos(level, 'y', true);
      const short = name.split(',')[0]!;
      const wide = ctx.measureText(short).width;
      const at = x + 8 * px + wide > u.bbox.left + u.bbox.width ? x - 8 * px - wide : x + 6 * px;
      ctx.strokeStyle = paint.paper;
      ctx.lineWidth = 4 * px;
      ctx.strokeText(short, at, y);
      ctx.fillStyle = paint.lines[k % paint.lines.length]!;
      ctx.fillText(short, at, y);
    });
  });
}

/** The curves of another run, thin and dotted. */
export function drawCompared(u: uPlot, paint: Paint, panel: PlotPanel, compared: PlotData): void {
  const other = compared.panels.find((p) => p.key === panel.key && p.unit === panel.unit);
  if (other === undefined) return;
  const { time } = compared;
  const from = rowAt(time, u.scales['x']!.min ?? 0);
  const to = Math.min(time.length - 1, rowAt(time, u.scales['x']!.max ?? 0) + 1);
  clipped(u, (ctx, px) => {
    ctx.strokeStyle = paint.soft;
    ctx.lineWidth = 1.2 * px;
    ctx.setLineDash([1.5 * px, 2.5 * px]);
    for (const line of panel.lines) {
      const values = other.lines.find((l) => l.name === line.name)?.values;
      if (values === undefined) continue;
      ctx.beginPath();
      for (let i = from; i <= to; i++) ctx.lineTo(u.valToPos(time[i]!, 'x', true), u.valToPos(values[i]!, 'y', true));
      ctx.stroke();
    }
  });
}

/** A row of ticks for the events, then one lane under the other: boxes where something is not at rest, with the word inside. */
export function drawLanes(u: uPlot, paint: Paint, lanes: readonly PlotLane[], events: readonly PlotEvent[]): void {
  const { bbox, ctx } = u;
  const px = ratio(u);
  const step = LANE_HEIGHT * px;
  const middle = (row: number) => bbox.top + step * (row + 0.5);
  clipped(u, () => {
    ctx.strokeStyle = paint.ink;
    ctx.lineWidth = px;
    const seen = new Set<number>();
    ctx.beginPath();
    for (const { time_s } of events) {
      const x = Math.round(u.valToPos(time_s, 'x', true)) + 0.5;
      if (seen.has(x)) continue;
      seen.add(x);
      ctx.moveTo(x, middle(0) - 5 * px);
      ctx.lineTo(x, middle(0) + 5 * px);
    }
    ctx.stroke();
    lanes.forEach((lane, k) => {
      const y = middle(k + 1);
      ctx.strokeStyle = paint.rule;
      ctx.beginPath();
      ctx.moveTo(bbox.left, y);
      ctx.lineTo(bbox.left + bbox.width, y);
      ctx.stroke();
      let reached = -Infinity;
      for (const spell of lane.spells) {
        const x1 = Math.max(bbox.left - 4, u.valToPos(spell.from_s, 'x', true));
        const x2 = Math.max(x1 + 2 * px, Math.min(bbox.left + bbox.width + 4, u.valToPos(spell.to_s, 'x', true)));
        // Spells that end within a pixel already drawn add nothing.
        if (x2 < bbox.left || x1 > bbox.left + bbox.width || x2 <= reached) continue;
        reached = x2;
        drawSpell(ctx, paint, spell, x1, x2, y, px);
      }
    });
  });
  ctx.save();
  ctx.font = `${11 * px}px ${FONT}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  ctx.fillStyle = paint.ink;
  const right = bbox.left + bbox.width;
  const room = ctx.canvas.width - right - 14 * px;
  ctx.fillText('events', right + 13 * px, middle(0));
  for (const [k, { name }] of lanes.entries())
    ctx.fillText(fitting(ctx, [name, name.replace('control power', 'control')], room), right + 13 * px, middle(k + 1));
  ctx.restore();
}

const HALF = 7;

function drawSpell(
  ctx: CanvasRenderingContext2D,
  paint: Paint,
  { look, word }: PlotSpell,
  x1: number,
  x2: number,
  y: number,
  px: number,
): void {
  const [top, tall] = [y - HALF * px, 2 * HALF * px];
  const colour = look === 'attention' || look === 'seen' ? paint.care : paint.ink;
  ctx.save();
  ctx.beginPath();
  ctx.rect(x1, top, x2 - x1, tall);
  ctx.fillStyle = look === 'attention' ? paint.care : paint.paper;
  ctx.fill();
  ctx.clip();
  ctx.strokeStyle = colour;
  ctx.lineWidth = 2 * px;
  ctx.setLineDash(look === 'calm' ? [3 * px, 3 * px] : []);
  ctx.strokeRect(x1, top, x2 - x1, tall);
  ctx.setLineDash([]);
  if (look === 'runs') {
    ctx.lineWidth = px;
    ctx.globalAlpha = 0.45;
    ctx.beginPath();
    for (let x = x1 - tall; x < x2; x += 6 * px) {
      ctx.moveTo(x, top + tall);
      ctx.lineTo(x + tall, top);
    }
    ctx.stroke();
    ctx.globalAlpha = 1;
  }
  ctx.font = `600 ${10.5 * px}px ${FONT}`;
  const wide = ctx.measureText(word).width;
  if (wide + 12 * px < x2 - x1) {
    ctx.textBaseline = 'middle';
    if (look === 'runs') {
      ctx.fillStyle = paint.paper;
      ctx.fillRect(x1 + 4 * px, top + 2 * px, wide + 6 * px, tall - 4 * px);
    }
    ctx.fillStyle = look === 'attention' ? paint.paper : colour;
    ctx.fillText(word, x1 + 7 * px, y + 0.5 * px);
  }
  ctx.restore();
}
