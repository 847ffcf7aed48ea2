/** Valves against requirement: a bar for the time taken up to its limit, and one for the least margin against what is wanted. */
import type { StrokeResult } from '../../scenarios/result.ts';
import { html, type Markup } from '../html.ts';
import { box, drawing, hatch, line, path } from './svg.ts';

const WIDE = 220;
const TALL = 18;
/** The bar reaches as far beyond the limit as this share of it. */
const BEYOND = 1.25;

/** A bar, full where it is as it should be, hatched where not, with a line at the limit. */
function bar(share: number, limit: number, good: boolean, least: number | undefined, label: string): Markup {
  const at = (x: number) => 1 + (Math.min(Math.max(x, 0), BEYOND) / BEYOND) * (WIDE - 2);
  const wide = at(share) - at(0);
  return drawing(
    WIDE,
    TALL,
    label,
    line(1, TALL - 3.5, WIDE - 1, TALL - 3.5, { stroke: 'rule' }),
    good
      ? box(1, 4, wide, 10, { fill: 'line-6' })
      : [box(1, 4, wide, 10, { stroke: 'care' }), hatch(1, 4, wide, 10, 'care')],
    line(at(limit), 1, at(limit), TALL - 1, { stroke: 'ink', width: 2 }),
    least === undefined || least <= 0 ? '' : line(at(least), 1, at(least), TALL - 1, { stroke: 'ink', dash: [2, 2] }),
    share > BEYOND ? path(`M${WIDE - 8} 5l5 4l-5 4`, { stroke: good ? 'paper' : 'care', width: 2 }) : '',
  );
}

/** The time a stroke took, against the longest and the shortest allowed. */
export function timeBar(s: StrokeResult): Markup {
  if (s.time_s === undefined)
    return drawing(
      WIDE,
      TALL,
      'did not end',
      box(1, 4, ((WIDE - 2) * 1) / BEYOND, 10, { stroke: 'care', dash: [3, 3] }),
      line(1 + (WIDE - 2) / BEYOND, 1, 1 + (WIDE - 2) / BEYOND, TALL - 1, { stroke: 'ink', width: 2 }),
    );
  const good = s.time_s <= s.longest_s && s.outcome !== 'too fast';
  const percent = ((100 * s.time_s) / s.longest_s).toFixed(0);
  return bar(s.time_s / s.longest_s, 1, good, s.shortest_s / s.longest_s, `${percent} % of the longest time allowed`);
}

/** The least margin of a stroke, from nothing to 50 %, against what is wanted. */
export function marginBar(s: StrokeResult): Markup {
  const FULL = 0.5;
  if (s.margin === undefined)
    return s.outcome === 'completed' ? html`` : bar(0, s.marginWanted / FULL, false, undefined, 'no margin');
  const wanted = Math.max(0, s.marginWanted) / FULL;
  return bar(
    s.margin / FULL,
    wanted,
    s.met,
    undefined,
    `${(100 * s.margin).toFixed(1)} % left, ${(100 * s.marginWanted).toFixed(0)} % wanted`,
  );
}
