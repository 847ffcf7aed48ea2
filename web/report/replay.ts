/** The report on a replay: one page, the verdict first, then curves, settings, findings, and what it was made from. */
import type { Result, StrokeResult } from '../../scenarios/result.ts';
import {
  alarmText,
  capital,
  dutyCells,
  endText,
  faultText,
  isFault,
  isFigure,
  isHidden,
  overrideText,
  readingText,
  sentence,
  severityWord,
  startText,
  stepWord,
  strokeText,
  surgeText,
  verdictWord,
} from '../../scenarios/resultText.ts';
import { formatQuantity } from '../../scenarios/units.ts';
import { clock } from '../../scenarios/wording.ts';
import { html, type Markup, type Part } from '../html.ts';
import { cautionList, numberedText, type Origin, page, pageTable, section } from '../page.ts';
import type { PlotData } from '../plot/shape.ts';
import { PLOT_STYLE } from '../plot/style.ts';
import { staircaseDrawings } from '../svg/staircase.ts';
import { marginBar, timeBar } from '../svg/strokes.ts';
import { SVG_STYLE } from '../svg/svg.ts';
import { timePlotDrawings } from '../svg/timePlots.ts';
import { REPORT_STYLE, verdictHead } from './parts.ts';

export interface ReplayReport {
  readonly result: Result;
  readonly plot: PlotData;
  /** As read. */
  readonly scenarioText: string;
  readonly origin: Origin;
  /** What runs in the page: the bundle of `client.ts`. Without it the drawings stand still. */
  readonly script?: string | undefined;
}

/** Events in the table of the report; `events.csv` has all. */
const MOST_EVENTS = 2000;

export function replayReport({ result, plot, scenarioText, origin, script }: ReplayReport): string {
  const body = html`${head(result)}
${valves(result)}
${reserve(result)}
${cautionList()}
${section('over-time', 'Over time', script === undefined ? '' : html`<div id="plots" class="screen"></div>`, stills(plot))}
${section('settings', 'Settings', staircaseDrawings(result.staircase, result.units, result.site.ambientPressure_Pa, result.start))}
${findings(result)}
${section('steps', 'Steps of the demonstration', steps(result))}
${section('faults', 'Faults', list(result.faults.map((f) => [isHidden(f) ? html`<span class="care">Hidden.</span> ` : '', sentence(capital(faultText(f, result.units)))])))}
${section('alarms', 'Alarms at the end', list(result.alarms.map((a) => sentence(capital(alarmText(a))))))}
${section('machines', 'Machines', machines(result))}
${section(
  'from-to',
  'Start and end',
  html`<dl class="facts"><dt>Start</dt><dd>${capital(startText(result))}</dd>
<dt>End</dt><dd>${capital(endText(result))}</dd></dl>`,
)}
${section('log', 'Log of events', log(result))}
${section('inputs', 'Inputs as read', list(result.overrides.map((o) => `Changed: ${overrideText(o)}`)), numberedText(scenarioText))}`;
  return page({
    title: `${verdictWord(result.verdict.met)}: ${result.title}`,
    body,
    origin,
    style: `${SVG_STYLE}${PLOT_STYLE}${REPORT_STYLE}`,
    cautions: false,
    ...(script === undefined ? {} : { script, data: { 'plot-data': plot } }),
  });
}

function head({ verdict: { met, text }, title, file, units, site, start, end }: Result): Markup {
  const at = `${file === title ? '' : `${file}; `}${units === 'us' ? 'US units' : 'SI units'}, pressures in gauge at ${formatQuantity(site.ambientPressure_Pa, 'pressureDifference', units)} ambient; run of ${clock(end.time_s, end.time_s, 0)}`;
  return html`${verdictHead(met, text, title === 'untitled' ? file : title, at)}
<p>${start.note}</p>`;
}

// -------------------------------------------------------------------------------------------------------------- strokes

function valves({ verdict: { strokes }, units }: Result): Markup | undefined {
  if (strokes.length === 0) return undefined;
  const row = (s: StrokeResult) => {
    const { stroke, outcome, time, margin, word } = strokeText(s, units);
    const notes = [s.met ? undefined : sentence(capital(s.reason)), surgeText(s, units)].filter((n) => n !== undefined);
    return html`<tr class="${s.met ? '' : 'bad'}">
<th scope="row"><span class="tag">${s.valve}</span> ${stroke}<span class="soft service">${s.service}</span></th>
<td data-name="Outcome">${outcome}</td>
<td data-name="Time">${timeBar(s)}<span>${time}</span></td>
<td data-name="Least margin">${marginBar(s)}<span>${margin === '-' ? 'none' : margin}${s.marginWanted > 0 ? `, ${formatQuantity(s.marginWanted, 'fraction', units)} wanted` : ''}</span></td>
<td data-name="" class="word">${s.met ? word : html`<span class="care">${word}</span>`}</td>
</tr>
${notes.length === 0 ? '' : html`<tr class="note"><td colspan="5">${notes.map((n) => html`<p>${n}</p>`)}</td></tr>\n`}`;
  };
  return section(
    'valves',
    'Valves against requirement',
    html`<table class="strokes">
<caption>Bars: time taken, the thick line is the longest allowed, the dotted one the shortest; least margin on a scale to 60 %, the thick line is what is wanted. The bars of a stroke that does not meet its requirement are hatched.</caption>
<thead><tr><th scope="col">Valve and stroke</th><th scope="col">Outcome</th><th scope="col">Time</th><th scope="col">Least margin</th><th scope="col">Verdict</th></tr></thead>
<tbody>
${strokes.map(row)}</tbody>
</table>`,
  );
}

const reserve = ({ reserve: { reason }, verdict }: Result): Markup | undefined =>
  verdict.strokes.length === 0 ? undefined : section('reserve', 'Reserve left', html`<p>${reason}</p>`);

// --------------------------------------------------------------------------------------------------------------- curves

function stills(plot: PlotData): Markup {
  const all = timePlotDrawings(plot);
  const { from_s, to_s } = plot.outage ?? { from_s: 0, to_s: plot.end_s };
  // Where it fills the run, the outage by itself would be the same drawing again.
  if (to_s - from_s > plot.end_s / 4) return html`<div class="stills">${all}</div>`;
  return html`<div class="stills"><h3>The outage</h3>${timePlotDrawings(plot, from_s, to_s)}<h3>The whole run</h3>${all}</div>`;
}

// -------------------------------------------------------------------------------------------------------- findings, rest

function findings({ findings: found }: Result): Markup | undefined {
  const one = (f: (typeof found)[number]) => html`<div class="finding keep">
<h3>${f.severity === 'warning' ? html`<span class="care">${severityWord(f.severity)}:</span>` : `${severityWord(f.severity)}:`} ${f.id}</h3>
<p>${sentence(capital(f.text))} ${f.advice}</p>${linesOf(f.at)}
</div>
`;
  const figures = found.filter(isFigure);
  return section(
    'findings',
    'Findings',
    found.some(isFault) ? found.filter(isFault).map(one) : html`<p>No findings.</p>`,
    figures.length === 0 ? '' : html`<h3>Figures</h3>`,
    list(figures.map((f) => `${capital(f.id)}: ${sentence(f.text)}`)),
  );
}

/** Places in the scenario, as links to its lines below. */
function linesOf(at: readonly string[]): Part {
  const lines = at.map((place) => place.slice(place.lastIndexOf(':') + 1)).filter((n) => /^\d+$/.test(n));
  if (lines.length === 0) return '';
  return html`<p class="soft">In the scenario: ${lines.map((n, k) => html`${k > 0 ? ', ' : ''}<a href="#line-${n}">line ${n}</a>`)}</p>`;
}

const list = (items: readonly Part[]): Part =>
  items.length === 0 ? '' : html`<ul>${items.map((item) => html`<li>${item}</li>\n`)}</ul>`;

function steps({ steps: all, units }: Result): Markup | undefined {
  return pageTable(
    'Steps in their order, with what was read at the end of each',
    [{ head: 'Step' }, { head: 'From', right: true }, { head: 'Read' }, { head: 'Outcome' }],
    all.map((s, n) => [
      `${n + 1}: ${s.text}`,
      s.began_s === undefined ? '-' : formatQuantity(s.began_s, 'time', units),
      s.readings.map((r) => html`<div>${readingText(r)}</div>`),
      s.asExpected ? stepWord(s) : html`<span class="care">${stepWord(s)}</span>`,
    ]),
  );
}

const machines = ({ duty, units }: Result): Markup | undefined =>
  pageTable(
    'Over the whole run',
    [
      { head: 'Machine' },
      { head: 'Starts', right: true },
      { head: 'Starts/h', right: true },
      { head: 'Run time', right: true },
      { head: 'Energy', right: true, wide: true },
      { head: 'Moved' },
    ],
    duty.map((d) => dutyCells(d, units)),
  );

function log({ events, units, site, end }: Result): Part {
  if (events.length === 0) return html`<p>No events.</p>`;
  const rows = events
    .slice(0, MOST_EVENTS)
    .map((e) => [
      clock(e.time_s, end.time_s, 2),
      e.tag,
      e.text,
      formatQuantity(e.pressure_Pa, 'pressure', units, site.ambientPressure_Pa),
      formatQuantity(e.level_m, 'length', units),
    ]);
  const more = events.length - rows.length;
  return [
    pageTable(
      more > 0 ? `The first ${rows.length} of ${events.length} events` : `${events.length} events`,
      [
        { head: 'Time', right: true },
        { head: 'Tag' },
        { head: 'Event' },
        { head: 'Pressure', right: true, wide: true },
        { head: 'Level', right: true, wide: true },
      ],
      rows,
    ),
    more > 0 ? html`<p>${more} more stand in events.csv of the folder of results.</p>` : '',
  ];
}
