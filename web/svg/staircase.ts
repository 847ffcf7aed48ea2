/** The setpoint staircase: levels beside the tank as on its sight glass, pressures beside them as on a gauge rod. */
import { digits } from '../../scenarios/digits.ts';
import { shortName } from '../../scenarios/resultText.ts';
import { inOrder, type Rung, type Staircase } from '../../scenarios/staircase.ts';
import { columnUnit, type UnitSystem } from '../../scenarios/units.ts';
import { html, type Markup, type Part } from '../html.ts';
import { apart } from './apart.ts';
import { box, drawing, line, path, text, tickLabels, ticksOf } from './svg.ts';

const WIDE = 350;
const STEP = 17;

export interface StairsNow {
  /** Where level or pressure stands at the start, in display units. */
  readonly value: number;
  readonly text: string;
}

/** One flight: a scale with ticks, a mark for every setting with tag, value and gap to the one below. */
function flight(
  title: string,
  rungs: readonly Rung[],
  dimension: 'length' | 'pressure',
  units: UnitSystem,
  ambient_Pa: number,
  now_: number | undefined,
  tank: boolean,
): Markup | undefined {
  if (rungs.length === 0) return undefined;
  const unit = columnUnit(dimension, units);
  const show = (si: number) => digits(unit.toDisplay(si, ambient_Pa), unit.decimals, 'scale');
  const values = rungs.map((r) => unit.toDisplay(r.value, ambient_Pa));
  const now = now_ === undefined ? undefined : unit.toDisplay(now_, ambient_Pa);
  const all = now === undefined ? values : [...values, now];
  const [least, greatest] = [Math.min(...all), Math.max(...all)];
  const span = Math.max(greatest - least, 1e-9);
  const tall = Math.max(220, (rungs.length + (now === undefined ? 0 : 1)) * STEP + 60);
  const [top, bottom] = [34, tall - 14];
  const y = (v: number) => bottom - 8 - ((v - least) / span) * (bottom - top - 16);
  const marks = rungs
    .map((rung, k) => {
      const below = rungs[k - 1];
      const gap = below === undefined ? undefined : values[k]! - values[k - 1]!;
      return { y: y(values[k]!), rung, gap, wrong: !inOrder(rung, below), value: show(rung.value) };
    })
    .sort((a, b) => a.y - b.y);
  const places = apart(
    marks.map((m) => m.y),
    STEP,
    top - 2,
    bottom + 4,
  );
  const scaleX = tank ? 58 : 52;
  const ticks = ticksOf(least, greatest, 6);
  const parts: Part[] = [text(0, 14, `${title}, ${unit.name}`, { size: 13, bold: true })];
  // The tank with its sight glass, or a rod.
  if (tank) {
    parts.push(box(scaleX - 3, top - 6, 6, bottom - top + 12, { stroke: 'soft', fill: 'paper' }));
    if (now !== undefined) parts.push(box(scaleX - 3, y(now), 6, bottom + 6 - y(now), { fill: 'line-6' }));
  } else parts.push(line(scaleX, top - 6, scaleX, bottom + 6, { stroke: 'ink', width: 1.5 }));
  const labels = tickLabels(ticks);
  ticks.forEach((t, k) => {
    parts.push(line(scaleX - 9, y(t), scaleX - 3, y(t), { stroke: 'soft' }));
    parts.push(text(scaleX - 12, y(t) + 3.5, labels[k]!, { anchor: 'end', size: 10, fill: 'soft' }));
  });
  if (now !== undefined) {
    parts.push(path(`M${scaleX + 5} ${y(now)}l8 -4v8z`, { fill: 'ink', stroke: 'ink' }));
  }
  marks.forEach(({ y: at, rung, gap, wrong, value }, k) => {
    const to = places[k]!;
    const ink = wrong ? 'care' : 'soft';
    const dash = rung.estimate ? [2, 3] : [];
    parts.push(line(scaleX - 3, at, scaleX + 18, at, { stroke: wrong ? 'care' : 'ink', width: 1.5, dash }));
    parts.push(path(`M${scaleX + 18} ${at}L${scaleX + 40} ${to}H${scaleX + 46}`, { stroke: ink, dash }));
    parts.push(
      text(scaleX + 50, to + 4, `${shortName(rung.name)}${rung.tag === undefined ? '' : ` ${rung.tag}`}`, {
        fill: wrong ? 'care' : 'ink',
        bold: wrong,
      }),
    );
    parts.push(text(WIDE - 62, to + 4, value, { anchor: 'end' }));
    const apartText =
      gap === undefined ? '' : `${gap >= 0 ? '+' : ''}${gap.toFixed(unit.decimals)}${wrong ? ' !' : ''}`;
    parts.push(
      text(WIDE - 4, to + 4, apartText, { anchor: 'end', fill: wrong ? 'care' : 'soft', bold: wrong, size: 10 }),
    );
  });
  parts.push(text(WIDE - 4, 14, 'gap to next', { anchor: 'end', size: 10, fill: 'soft' }));
  const label = `${title}: ${[...rungs]
    .reverse()
    .map((r) => `${r.name} ${show(r.value)} ${unit.name}`)
    .join(', ')}`;
  return drawing(WIDE, tall, label, ...parts);
}

/**
 * The staircase as drawings that stand side by side where there is room.
 *
 * @param now level (m) and pressure (Pa) of the start
 */
export function staircaseDrawings(
  stairs: Staircase,
  units: UnitSystem,
  ambient_Pa: number,
  now?: { readonly level_m: number; readonly pressure_Pa: number },
): Markup | undefined {
  const flights = [
    flight('Pressure', stairs.pressure, 'pressure', units, ambient_Pa, now?.pressure_Pa, false),
    flight('Level on the sight glass', stairs.level, 'length', units, ambient_Pa, now?.level_m, true),
  ].filter((f) => f !== undefined);
  if (flights.length === 0) return undefined;
  const broken = [stairs.pressure, stairs.level].some((rungs) => rungs.some((r, k) => !inOrder(r, rungs[k - 1])));
  const estimate = stairs.pressure.find((r) => r.estimate);
  const notes = [
    now === undefined ? '' : 'The triangle marks the start.',
    broken ? '! out of order.' : '',
    estimate === undefined ? '' : `Valves need: least pressure that moves ${estimate.tag}, without flow (estimate).`,
  ];
  return html`<figure class="stairs"><div class="beside">${flights}</div>
<figcaption>${notes.filter((n) => n !== '').join(' ')}</figcaption></figure>`;
}
