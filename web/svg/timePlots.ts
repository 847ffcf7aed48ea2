/** The time plots as a still drawing, for paper and where no script runs. Every pixel column keeps its least and greatest value. */

import { digits } from '../../scenarios/digits.ts';
import { html, type Markup, type Part } from '../html.ts';
import { lookOf } from '../plot/looks.ts';
import {
  extent,
  type Numbers,
  type PlotData,
  type PlotPanel,
  type PlotSpell,
  reading,
  rowAt,
  scaleOf,
  timeLabels,
  timeTicks,
} from '../plot/shape.ts';
import { apart } from './apart.ts';
import { box, c, drawing, hatch, line, path, text, tickLabels, ticksOf } from './svg.ts';

const LEFT = 46;
const RIGHT = 150;
const LANE = 16;

/**
 * The points of a curve that can be seen: of every pixel column the first, the least, the greatest and the last.
 *
 * @param columns number of columns from `from_s` to `to_s`
 */
export function seenPoints(time: Numbers, values: Numbers, from_s: number, to_s: number, columns: number): number[] {
  const [first, last] = [rowAt(time, from_s), Math.min(time.length - 1, rowAt(time, to_s) + 1)];
  const kept: number[] = [];
  const column = (i: number) => Math.floor(((time[i]! - from_s) / (to_s - from_s)) * columns);
  for (let from = first; from <= last; ) {
    let to = from;
    let [least, greatest] = [from, from];
    while (to + 1 <= last && column(to + 1) === column(from)) {
      to++;
      if (values[to]! < values[least]!) least = to;
      if (values[to]! > values[greatest]!) greatest = to;
    }
    kept.push(...[...new Set([from, least, greatest, to])].sort((a, b) => a - b));
    from = to + 1;
  }
  return kept;
}

/** The drawings of all panels and of the lanes, one under the other, each in a figure of its own so that pages can break. */
export function timePlotDrawings(data: PlotData, from_s = 0, to_s = data.end_s, wide = 720): Markup {
  const x = (t: number) => LEFT + ((t - from_s) / Math.max(to_s - from_s, 1e-9)) * (wide - LEFT - RIGHT);
  const figure = (title: string, svg: Markup) =>
    html`<figure class="still"><figcaption class="strong">${title}</figcaption>${svg}</figure>\n`;
  const parts = data.panels.map((p) => figure(`${p.title}, ${p.unit}`, panelDrawing(p, data, x, from_s, to_s, wide)));
  if (data.lanes.length > 0)
    parts.splice(3, 0, figure('Machines, mains and alarms', lanesDrawing(data, x, from_s, to_s, wide)));
  return html`${parts}`;
}

type X = (time_s: number) => number;

function timeAxis(x: X, from_s: number, to_s: number, top: number, bottom: number): Part[] {
  const ticks = timeTicks(from_s, to_s, 8);
  const labels = timeLabels(ticks);
  return ticks.flatMap((t, k) => [
    line(x(t), top, x(t), bottom, { stroke: 'rule' }),
    text(x(t), bottom + 13, labels[k]!, { anchor: 'middle', size: 10, fill: 'soft' }),
  ]);
}

function eventLines(data: PlotData, x: X, from_s: number, to_s: number, top: number, bottom: number): Part[] {
  const seen = new Set<string>();
  return data.events.flatMap((e) => {
    if (e.time_s < from_s || e.time_s > to_s || (e.kind !== 'power' && e.kind !== 'alarm')) return [];
    const at = c(x(e.time_s));
    if (seen.has(at)) return [];
    seen.add(at);
    return [
      e.kind === 'power'
        ? line(x(e.time_s), top, x(e.time_s), bottom, { stroke: 'soft' })
        : line(x(e.time_s), top, x(e.time_s), bottom, { stroke: 'care', dash: [1, 3] }),
    ];
  });
}

function panelDrawing(p: PlotPanel, data: PlotData, x: X, from_s: number, to_s: number, wide: number): Markup {
  const shown = p.marks.filter((m) => m.shown).length;
  const tall = shown > 0 ? Math.max(130, 44 + 14 * shown) : 116;
  const [top, bottom] = [8, tall - 20];
  const [low, high] = scaleOf(p);
  const y = (v: number) => bottom - ((v - low) / (high - low)) * (bottom - top);
  const right = wide - RIGHT;
  const ticks = ticksOf(low, high, 5);
  const labels = tickLabels(ticks);
  const parts: Part[] = [
    ...timeAxis(x, from_s, to_s, top, bottom),
    ...ticks.flatMap((t, k) => [
      line(LEFT, y(t), right, y(t), { stroke: 'rule' }),
      text(LEFT - 5, y(t) + 3.5, labels[k]!, { anchor: 'end', size: 10, fill: 'soft' }),
    ]),
    ...eventLines(data, x, from_s, to_s, top, bottom),
  ];
  const inside = p.marks
    .map((mark) => ({ mark, at: y(mark.value) }))
    .filter(({ at }) => at >= top - 1 && at <= bottom + 1)
    .sort((a, b) => a.at - b.at);
  const places = apart(
    inside.map((i) => i.at),
    12,
    top,
    bottom + 8,
  );
  inside.forEach(({ mark, at }, k) => {
    parts.push(line(LEFT, at, right, at, { stroke: 'soft', width: 0.8, dash: mark.estimate ? [1, 3] : [5, 4] }));
    parts.push(line(right, at, right + 9, places[k]!, { stroke: 'soft', width: 0.8 }));
    const name = `${mark.name}${mark.tag === undefined ? '' : ` ${mark.tag}`} ${digits(mark.value, p.decimals, 'scale')}`;
    parts.push(text(right + 12, places[k]! + 3.5, name, { size: 10 }));
  });
  // Without settings at the right, the names of the lines stand there.
  p.lines.forEach((l, k) => {
    const points = seenPoints(data.time, l.values, from_s, to_s, wide - LEFT - RIGHT);
    const d = points.map((i, n) => {
      const t = Math.min(Math.max(data.time[i]!, from_s), to_s);
      return `${n === 0 ? 'M' : 'L'}${c(x(t))} ${c(y(l.values[i]!))}`;
    });
    const look = lookOf(k);
    parts.push(path(d.join(''), { stroke: look.colour.slice(2), width: 1.5, dash: look.dash }));
  });
  if (p.marks.length === 0)
    p.lines.slice(0, 8).forEach((l, k) => {
      const look = lookOf(k);
      const at = top + 6 + 12 * k;
      parts.push(line(right + 8, at, right + 34, at, { stroke: look.colour.slice(2), width: 2, dash: look.dash }));
      parts.push(text(right + 38, at + 3.5, l.name, { size: 10 }));
    });
  const ranges = p.lines.map((l) => {
    const [least, greatest] = extent(l.values) ?? [0, 0];
    return `${l.name} from ${reading(p, least)} to ${reading(p, greatest)}`;
  });
  const svg = drawing(wide, tall, `${p.title} over time: ${ranges.join('; ')}`, ...parts);
  if (p.marks.length === 0) return svg;
  const key = p.lines.map((l, k) => {
    const look = lookOf(k);
    return html`<span class="sample">${drawing(30, 8, '', line(0, 4, 30, 4, { stroke: look.colour.slice(2), width: 2, dash: look.dash }))} ${l.name}</span> `;
  });
  const out = p.marks.filter((m) => m.value < low || m.value > high);
  const beyond =
    out.length === 0 ? '' : `Outside this scale: ${out.map((m) => `${m.name} ${reading(p, m.value)}`).join(', ')}.`;
  return html`${svg}<p class="key">${key}${beyond === '' ? '' : html`<br>${beyond}`}</p>`;
}

function lanesDrawing(data: PlotData, x: X, from_s: number, to_s: number, wide: number): Markup {
  const { lanes } = data;
  const [top, right] = [4, wide - RIGHT];
  const bottom = top + LANE * (lanes.length + 1);
  const middle = (row: number) => top + LANE * (row + 0.5);
  const ticks = new Set(data.events.filter((e) => e.time_s >= from_s && e.time_s <= to_s).map((e) => c(x(e.time_s))));
  const parts: Part[] = [
    ...timeAxis(x, from_s, to_s, top, bottom),
    path([...ticks].map((at) => `M${at} ${middle(0) - 4}V${middle(0) + 4}`).join(''), { stroke: 'ink' }),
    text(right + 12, middle(0) + 3.5, 'events', { size: 10 }),
  ];
  lanes.forEach((lane, k) => {
    const at = middle(k + 1);
    parts.push(line(LEFT, at, right, at, { stroke: 'rule' }));
    parts.push(text(right + 12, at + 3.5, lane.name, { size: 10 }));
    let reached = -Infinity;
    for (const spell of lane.spells) {
      const x1 = Math.max(LEFT, x(spell.from_s));
      const x2 = Math.min(right, Math.max(x1 + 1, x(spell.to_s)));
      if (x2 <= LEFT || x1 > right || x2 <= reached) continue;
      reached = x2;
      parts.push(spellBox(spell, x1, x2, at));
    }
  });
  const states = lanes.map((l) => `${l.name} ${[...new Set(l.spells.map((s) => s.word))].join(' and ') || l.rest}`);
  return drawing(wide, bottom + 18, `States over time: ${states.join(', ')}`, ...parts);
}

function spellBox({ look, word }: PlotSpell, x1: number, x2: number, y: number): Markup {
  const [top, tall] = [y - 6, 12];
  const stroke = look === 'attention' || look === 'seen' ? 'care' : 'ink';
  const fill = look === 'attention' ? 'care' : 'paper';
  const room = 5.6 * word.length + 8;
  const named = room < x2 - x1;
  return html`${box(x1, top, x2 - x1, tall, { fill, stroke, dash: look === 'calm' ? [3, 3] : [] })}${
    look === 'runs' ? hatch(x1, top, x2 - x1, tall, 'soft') : ''
  }${look === 'runs' && named ? box(x1 + 3, top + 1, room - 4, tall - 2, { fill: 'paper' }) : ''}${
    named ? text(x1 + 6, y + 3.5, word, { size: 10, fill: look === 'attention' ? 'paper' : stroke }) : ''
  }`;
}
