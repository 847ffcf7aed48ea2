/** Volumes of tanks side by side: oil and air of each, and a line down from the tank that there is. */
import type { Markup, Part } from '../html.ts';
import { box, drawing, hatch, line, text, ticksOf } from './svg.ts';

export interface TankBar {
  readonly name: string;
  /** Undefined where no tank is enough. */
  readonly volume: number | undefined;
  readonly text: string;
}

/**
 * The drawing.
 *
 * @param there volume of the tank that there is
 * @param oil share of each tank that is oil
 */
export function tanksDrawing(
  label: string,
  title: string,
  tanks: readonly TankBar[],
  there: number,
  oil: number,
  wide = 760,
): Markup {
  const [left, right, top, step] = [150, wide - 90, 4, 30];
  const most = Math.max(there, ...tanks.map((t) => t.volume ?? 0));
  const x = (v: number) => left + (v / most) * (right - left);
  const bottom = top + step * tanks.length;
  const ticks = ticksOf(0, most, 6);
  const parts: Part[] = ticks.flatMap((t) => [
    line(x(t), top, x(t), bottom, { stroke: 'rule' }),
    text(x(t), bottom + 14, String(t), { size: 10, anchor: 'middle', fill: 'soft' }),
  ]);
  tanks.forEach(({ name, volume, text: words }, k) => {
    const y = top + step * k;
    parts.push(text(0, y + 15, name, { size: 12 }));
    if (volume === undefined) parts.push(text(left + 6, y + 15, words, { size: 11, fill: 'care', bold: true }));
    else {
      const edge = x(volume * oil);
      parts.push(box(left, y + 4, edge - left, 15, { stroke: 'ink' }), hatch(left, y + 4, edge - left, 15, 'soft'));
      parts.push(box(edge, y + 4, x(volume) - edge, 15, { stroke: 'ink' }));
      parts.push(text(x(volume) + 6, y + 15, words, { size: 11, bold: true }));
    }
  });
  parts.push(line(x(there), top, x(there), bottom + 2, { stroke: 'ink', width: 1.5, dash: [6, 3] }));
  parts.push(text((left + right) / 2, bottom + 30, title, { size: 11, anchor: 'middle', fill: 'soft' }));
  return drawing(wide, bottom + 36, label, ...parts);
}
