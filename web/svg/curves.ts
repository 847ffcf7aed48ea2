/** Drawings of the studies: points over time, ranges on a common scale, a curve of one figure over another, a distribution, shares. */
import type { Markup, Part } from '../html.ts';
import { apart } from './apart.ts';
import { box, c, drawing, hatch, line, path, text, tickLabels, ticksOf } from './svg.ts';

export interface Axis {
  readonly title: string;
  readonly least: number;
  readonly greatest: number;
  /** Labels of the ticks; plain numbers when left out. */
  readonly ticks?: readonly { readonly at: number; readonly text: string }[];
}

export interface Point {
  readonly x: number;
  readonly y: number;
  /** As it should be, or not: a full dot, or a cross. */
  readonly good: boolean;
}

export interface Named {
  readonly x: number;
  readonly y: number;
  readonly name: string;
}

export interface Level {
  readonly y: number;
  readonly name: string;
  readonly dash?: readonly number[];
  readonly care?: boolean;
}

interface Frame {
  readonly x: (v: number) => number;
  readonly y: (v: number) => number;
  readonly parts: Part[];
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

const plain = (least: number, greatest: number, most: number) => {
  const ticks = ticksOf(least, greatest, most);
  const labels = tickLabels(ticks);
  return ticks.map((at, k) => ({ at, text: labels[k]! }));
};

function frame(wide: number, tall: number, across: Axis, up: Axis, room: number): Frame {
  const [left, right, top, bottom] = [52, wide - room, 22, tall - 40];
  const span = (a: Axis) => Math.max(a.greatest - a.least, 1e-12);
  const x = (v: number) => left + ((v - across.least) / span(across)) * (right - left);
  const y = (v: number) => bottom - ((v - up.least) / span(up)) * (bottom - top);
  const parts: Part[] = [
    text(0, 12, up.title, { fill: 'soft' }),
    text((left + right) / 2, tall - 6, across.title, { anchor: 'middle', fill: 'soft' }),
  ];
  for (const t of across.ticks ?? plain(across.least, across.greatest, 8)) {
    parts.push(line(x(t.at), top, x(t.at), bottom, { stroke: 'rule' }));
    parts.push(text(x(t.at), bottom + 14, t.text, { anchor: 'middle', size: 10, fill: 'soft' }));
  }
  for (const t of up.ticks ?? plain(up.least, up.greatest, 5)) {
    parts.push(line(left, y(t.at), right, y(t.at), { stroke: 'rule' }));
    parts.push(text(left - 5, y(t.at) + 3.5, t.text, { anchor: 'end', size: 10, fill: 'soft' }));
  }
  return { x, y, parts, right, top, bottom };
}

/** Points joined in order, with levels across and names at some of them. */
export function pointsDrawing(
  label: string,
  across: Axis,
  up: Axis,
  points: readonly Point[],
  levels: readonly Level[],
  named: readonly Named[],
  wide = 760,
  tall = 260,
): Markup {
  const { x, y, parts, right, top, bottom } = frame(wide, tall, across, up, 170);
  const places = apart(
    [...levels].sort((a, b) => b.y - a.y).map((l) => y(l.y)),
    13,
    top,
    bottom + 6,
  );
  [...levels]
    .sort((a, b) => b.y - a.y)
    .forEach((l, k) => {
      const ink = l.care === true ? 'care' : 'soft';
      parts.push(line(52, y(l.y), right, y(l.y), { stroke: ink, dash: l.dash ?? [5, 4] }));
      parts.push(line(right, y(l.y), right + 8, places[k]!, { stroke: ink }));
      parts.push(text(right + 11, places[k]! + 3.5, l.name, { size: 10, fill: l.care === true ? 'care' : 'ink' }));
    });
  parts.push(
    path(points.map((p, k) => `${k === 0 ? 'M' : 'L'}${c(x(p.x))} ${c(y(p.y))}`).join(''), { stroke: 'line-6' }),
  );
  const dots = points.filter((p) => p.good).map((p) => `M${c(x(p.x) - 2)} ${c(y(p.y) - 2)}h4v4h-4z`);
  const crosses = points.filter((p) => !p.good).map((p) => `M${c(x(p.x) - 3)} ${c(y(p.y) - 3)}l6 6m-6 0l6 -6`);
  parts.push(path(dots.join(''), { stroke: 'line-1', fill: 'line-1' }));
  parts.push(path(crosses.join(''), { stroke: 'care', width: 1.5 }));
  for (const n of named) {
    const at = y(n.y) - 11;
    const end = x(n.x) > (52 + right) / 2;
    parts.push(path(`M${c(x(n.x))} ${c(y(n.y) - 6)}l6 6l-6 6l-6 -6z`, { stroke: 'ink', width: 2 }));
    parts.push(text(x(n.x) + (end ? -9 : 9), at, n.name, { anchor: end ? 'end' : 'start', bold: true }));
  }
  return drawing(wide, tall, label, ...parts);
}

export interface Range {
  readonly name: string;
  readonly least: number;
  readonly greatest: number;
  /** Where it may be set. */
  readonly from: number;
  readonly to: number;
  readonly asSet: number;
  readonly recommended: number;
  readonly asSetText: string;
  readonly recommendedText: string;
}

/** What may be set as bars, each on the scale of its kind, with what is set (open) and recommended (full). */
export function rangesDrawing(label: string, ranges: readonly Range[], wide = 760): Markup {
  const step = 34;
  const [left, right, top] = [150, wide - 20, 24];
  const parts: Part[] = [
    text(left, 12, 'bar: may be set here with the others as recommended; open mark: as set; full mark: recommended', {
      size: 10,
      fill: 'soft',
    }),
  ];
  ranges.forEach((r, k) => {
    const y = top + step * k + 16;
    const span = Math.max(r.greatest - r.least, 1e-12);
    const x = (v: number) => left + 40 + ((v - r.least) / span) * (right - left - 80);
    parts.push(text(0, y + 4, r.name, { size: 12 }));
    parts.push(line(left, y, right, y, { stroke: 'rule' }));
    parts.push(box(x(r.from) - 1, y - 5, x(r.to) - x(r.from) + 2, 10, { fill: 'wash', stroke: 'soft' }));
    if (r.asSet !== r.recommended)
      parts.push(
        path(`M${c(x(r.asSet))} ${y}H${c(x(r.recommended) + (r.recommended > r.asSet ? -7 : 7))}`, {
          stroke: 'ink',
          dash: [2, 2],
        }),
      );
    parts.push(path(`M${c(x(r.asSet))} ${y - 6}l6 6l-6 6l-6 -6z`, { stroke: 'ink', fill: 'paper', width: 1.5 }));
    parts.push(path(`M${c(x(r.recommended))} ${y - 6}l6 6l-6 6l-6 -6z`, { stroke: 'ink', fill: 'ink', width: 1.5 }));
    const near = Math.abs(x(r.asSet) - x(r.recommended)) < 70;
    const side = r.recommended >= r.asSet ? 1 : -1;
    const anchors = side > 0 ? (['end', 'start'] as const) : (['start', 'end'] as const);
    if (r.asSet !== r.recommended)
      parts.push(
        text(x(r.asSet) + side * (near ? 4 : 0), y - 9, r.asSetText, {
          anchor: near ? anchors[0] : 'middle',
          size: 10,
          fill: 'soft',
        }),
      );
    parts.push(
      text(x(r.recommended) - side * (near ? 4 : 0), y - 9, r.recommendedText, {
        anchor: near ? anchors[1] : 'middle',
        size: 10,
        bold: true,
      }),
    );
  });
  return drawing(wide, top + step * ranges.length + 6, label, ...parts);
}

export interface Bin {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  readonly text: string;
}

/** A distribution: what is under 0 hatched, the rest full. Bins without an end are drawn as wide as the others. */
export function distributionDrawing(
  label: string,
  title: string,
  bins: readonly Bin[],
  wide = 760,
  tall = 240,
): Markup {
  const whole = bins.filter((b) => Number.isFinite(b.from) && Number.isFinite(b.to));
  const step = whole.length > 0 ? whole[0]!.to - whole[0]!.from : 1;
  const from = (b: Bin) => (b.from === -Infinity ? b.to - step : b.from);
  const to = (b: Bin) => (b.to === Infinity ? from(b) + step : b.to);
  const most = Math.max(1, ...bins.map((b) => b.count));
  const shown = bins.filter((b) => Number.isFinite(from(b)));
  if (shown.length === 0) return drawing(wide, 10, label);
  const across: Axis = {
    title,
    least: from(shown[0]!),
    greatest: to(shown.at(-1)!),
    ticks: plain(from(shown[0]!) * 100, to(shown.at(-1)!) * 100, 9).map((t) => ({
      at: t.at / 100,
      text: `${t.text} %`,
    })),
  };
  const { x, y, parts, top, bottom } = frame(
    wide,
    tall,
    across,
    { title: 'runs', least: 0, greatest: 1.18 * most },
    20,
  );
  for (const b of shown) {
    const [x1, x2, up] = [x(from(b)) + 1, x(to(b)) - 1, y(b.count)];
    const good = b.from >= -1e-12;
    if (b.count === 0) continue;
    parts.push(box(x1, up, x2 - x1, bottom - up, good ? { fill: 'line-6' } : { stroke: 'care' }));
    if (!good) parts.push(hatch(x1, up, x2 - x1, bottom - up, 'care'));
    parts.push(text((x1 + x2) / 2, up - 4, b.text, { anchor: 'middle', size: 10 }));
  }
  if (across.least < 0 && across.greatest > 0)
    parts.push(
      line(x(0), top - 4, x(0), bottom, { stroke: 'ink', width: 2 }),
      text(x(0) + 4, top + 4, 'met from here on', { size: 10 }),
    );
  return drawing(wide, tall, label, ...parts);
}

/** A correlation from -1 to 1 as a bar from the middle. */
export function correlationBar(value: number): Markup {
  const [wide, tall] = [120, 14];
  const middle = wide / 2;
  const x = middle + (Number.isFinite(value) ? value : 0) * (middle - 2);
  return drawing(
    wide,
    tall,
    `correlation ${Number.isFinite(value) ? value.toFixed(2) : 'unknown'}`,
    line(1, 7, wide - 1, 7, { stroke: 'rule' }),
    box(Math.min(middle, x), 2, Math.abs(x - middle), 10, { fill: 'line-6' }),
    line(middle, 0, middle, tall, { stroke: 'ink' }),
  );
}

/** A share with its interval on a scale from 0 to 1. */
export function shareBar(share: { readonly value: number; readonly low: number; readonly high: number }): Markup {
  const [wide, tall] = [180, 16];
  const x = (v: number) => 2 + v * (wide - 4);
  return drawing(
    wide,
    tall,
    `${(share.value * 100).toFixed(1)} %, 95 % interval ${(share.low * 100).toFixed(1)} to ${(share.high * 100).toFixed(1)} %`,
    line(2, 8, wide - 2, 8, { stroke: 'rule' }),
    line(x(0), 3, x(0), 13, { stroke: 'soft' }),
    line(x(1), 3, x(1), 13, { stroke: 'soft' }),
    box(x(share.low), 4, Math.max(2, x(share.high) - x(share.low)), 8, { stroke: 'ink', fill: 'wash' }),
    line(x(share.value), 1, x(share.value), 15, { stroke: 'ink', width: 2.5 }),
  );
}
