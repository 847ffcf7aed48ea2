/** The acceptance-test sheet as a page to be printed and written on with a pen. */
import { CAUTIONS } from '../../scenarios/result.ts';
import { formatQuantity } from '../../scenarios/units.ts';
import type { Sheet, SheetEntry, SheetLine, SheetPart } from '../../studies/sheet.ts';
import { printed, type SheetIdentity } from '../../studies/sheetCsv.ts';
import { html, type Markup, type Part } from '../html.ts';
import { page, pageTable } from '../page.ts';
import { between } from './wording.ts';

/** The page as text. */
export function sheetPage(sheet: Sheet, identity: SheetIdentity, seed: string, command: string): string {
  const { units, ambientPressure_Pa: ambient } = sheet;
  const q = (si: number, dimension: Parameters<typeof formatQuantity>[1]) =>
    formatQuantity(si, dimension, units, ambient);
  const body = html`<main><header>
<p class="kicker">Acceptance test</p>
<h1>${identity.title}</h1>
${fields(['Unit, place', 'Date, from to', 'Oil and air temperature', 'Barometer', 'Tested by', 'Witnessed by'])}
<p>Predicted for <strong>${q(sheet.temperature_K, 'temperature')}</strong>${
    identity.temperature === undefined ? ' (as the file says)' : ''
  } and from the start charge: gauge <strong>${q(sheet.start.pressure_Pa, 'pressure')}</strong>, sight glass
<strong>${q(sheet.start.level_m, 'length')}</strong>. On a day that is warmer or colder by more than a few degrees make the sheet again
with <span class="code">--temperature</span>.</p>
${sheet.warnings.length === 0 ? '' : html`<div class="warn keep"><h3>The engine warns</h3><ul>${sheet.warnings.map((w) => html`<li>${w}</li>`)}</ul></div>`}
</header>
${beforeWork()}
${instruments(sheet)}
${sheet.parts.map((part, k) => partSection(part, k + 1, sheet))}
${restoring(sheet)}
${signatures()}
${method(sheet)}
</main>`;
  return page({
    title: `Acceptance test: ${identity.title}`,
    body,
    origin: { file: identity.file, scenarioHash: identity.hash, seed, command },
    style: `${STYLE}${footer(identity)}`,
    cautions: false,
  });
}

/** At the foot of every sheet of paper: which one it is of which unit. */
function footer({ title, hash }: SheetIdentity): string {
  const safe = title.replace(/[^A-Za-z0-9 ,.()-]+/g, ' ').slice(0, 90);
  return `
@page { @bottom-left { content: "${safe}  /  ${hash.slice(0, 12)}"; font: 8pt sans-serif; color: #444; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; color: #444; } }
`;
}

const fields = (names: readonly string[]): Markup =>
  html`<dl class="fields">${names.map((n) => html`<div><dt>${n}</dt><dd></dd></div>`)}</dl>`;

const ticks = (items: readonly Part[]): Markup =>
  html`<ul class="ticks">${items.map((item) => html`<li><span class="box"></span><span>${item}</span></li>`)}</ul>`;

function beforeWork(): Markup {
  return html`<section class="cautions">
<h2>Before any work: isolation and cautions</h2>
${CAUTIONS.map((c) => html`<p class="strong">${c}</p>`)}
${ticks([
  'Work permit issued; whoever works downstream of the valves knows that they will move.',
  'Nobody and nothing near valves, levers and cylinders. They move with the mains off too.',
  'Every machine that hands come near is locked out and tried.',
  'Safety valve in service, its certificate valid; it is never blocked for a test.',
  'Drain led back to the sump, vent led to where nobody stands. Oil and air under pressure are never felt for with a hand.',
  'What is taken off (gauge, switch, plug) is isolated and bled first, and seen to be without pressure.',
  'Stop at once if something moves that should not, or reads what cannot be. Write down what was done until then.',
])}
</section>`;
}

function instruments(sheet: Sheet): Markup {
  const { units, ambientPressure_Pa: ambient } = sheet;
  const pressure = Math.min(...sheet.sources.filter((s) => s.measured === 'pressure').map((s) => s.accuracy));
  const level = Math.min(...sheet.sources.filter((s) => s.measured === 'level').map((s) => s.accuracy));
  const by = (si: number, dimension: 'pressureDifference' | 'length') => formatQuantity(si, dimension, units, ambient);
  const rows: readonly (readonly [string, string])[] = [
    [
      'Test gauge on the air space',
      `range past ${formatQuantity(sheet.highest_Pa, 'pressure', units, ambient)}; true to a quarter of ${by(pressure, 'pressureDifference')}, if it can be had (common practice)`,
    ],
    ['Scale at the sight glass', `to be read to ${by(level, 'length')} or finer`],
    ['Hand pump with gauge', 'for pressure switches out of reach, isolated and bled'],
    ['Stopwatch', 'to half a second'],
    ['Thermometer', 'oil and air beside the tank'],
    ['Continuity tester', 'to see a contact act at the terminals of the panel, not only at its alarm'],
  ];
  return html`<section><h2>Instruments</h2>
${pageTable(
  'What to bring',
  [{ head: 'Instrument' }, { head: 'What is asked of it' }, { head: 'Number' }, { head: 'Calibrated until' }],
  [...rows.map(([name, asked]) => [name, asked, html`<span class="blank"></span>`, html`<span class="blank"></span>`])],
)}</section>`;
}

function partSection(part: SheetPart, n: number, sheet: Sheet): Markup {
  const { units, ambientPressure_Pa: ambient } = sheet;
  const charge = `gauge ${formatQuantity(sheet.start.pressure_Pa, 'pressure', units, ambient)}, sight glass ${formatQuantity(sheet.start.level_m, 'length', units)}`;
  const fresh = part.name === 'drain' || part.name === 'demonstration';
  return html`<section class="part"><h2>${n}. ${part.title}</h2>
${fresh ? html`<p>Begin at the start charge: ${charge}.</p>` : ''}
${part.intro.map((t) => html`<p>${t}</p>`)}
<div class="scroll"><table class="lines">
<thead><tr><th scope="col">Line</th><th scope="col">Read</th><th scope="col" class="right">Expected</th><th scope="col" class="right">Passes</th><th scope="col">As found</th><th scope="col">As left</th></tr></thead>
${part.entries.map((entry, k) => entryBody(entry, `${n}.${k + 1}`, sheet))}
</table></div></section>
`;
}

function entryBody(entry: SheetEntry, number: string, sheet: Sheet): Markup {
  const head = html`<tr class="do"><th scope="rowgroup" colspan="6"><span class="no">${number}</span> ${entry.text}${
    entry.lines.length === 0 ? html` <span class="box"></span>` : ''
  }${entry.note === undefined || entry.note === '' ? '' : html`<span class="note">${entry.note}</span>`}</th></tr>`;
  return html`<tbody>${head}
${entry.lines.map((line) => lineRow(line, sheet))}</tbody>
`;
}

function lineRow(line: SheetLine, sheet: Sheet): Markup {
  if (line.kind === 'answer') {
    const choose = html`<td class="write"><span class="box"></span> yes <span class="box"></span> no</td>`;
    return html`<tr><th scope="row">${line.id}</th><td>${line.what}</td><td class="right">${line.expected}</td><td class="right">${line.expected}</td>${choose}<td class="write"></td></tr>\n`;
  }
  const { unit, text, expected, limits, band, corner } = printed(line, sheet);
  const apart = line.limitsFrom !== 'prediction' && band !== undefined;
  return html`<tr><th scope="row">${line.id}</th><td>${line.what}, <span class="unit">${unit}</span></td><td class="right"><strong>${
    expected === undefined ? '-' : text(expected)
  }</strong>${apart ? html`<span class="note">${between(band, text)}</span>` : ''}${
    corner === undefined ? '' : html`<span class="note">worst ${between(corner, text)}</span>`
  }</td><td class="right">${limits === undefined ? 'write down' : between(limits, text)}</td><td class="write"></td><td class="write${
    line.adjustable ? '' : ' seldom'
  }"></td></tr>\n`;
}

function restoring(sheet: Sheet): Markup {
  return html`<section class="keep"><h2>Restoring</h2>
${ticks([
  'Drain and vent shut, plugged and locked; hand pump, hoses and test gauge off, plugs back.',
  'Every isolation valve of pumps, compressors, gauges and switches open and locked.',
  html`Selectors back: ${sheet.selectors.map((s) => `${s.tag} ${s.position}`).join(', ') || 'none'}.`,
  'Overload relays and trips reset; locks and tags taken off by those who put them on.',
  'Valves in their service positions; mains and control power on.',
  html`Level and pressure back in the normal band: sight glass <span class="blank"></span>, gauge <span class="blank"></span>.`,
  'No alarm stands; every alarm of the day is acknowledged and accounted for.',
  'Half an hour later: nothing leaks, nothing runs that should not.',
])}
<p>Remarks, and what was adjusted or exchanged:</p><div class="remarks"></div>
</section>`;
}

const signatures = (): Markup => html`<section class="keep"><h2>Signatures</h2>
<table class="sign"><thead><tr><th scope="col">Role</th><th scope="col">Name</th><th scope="col">Date</th><th scope="col">Signature</th></tr></thead><tbody>
${['Tested', 'Witnessed', 'Accepted for the owner'].map((who) => html`<tr><th scope="row">${who}</th><td></td><td></td><td></td></tr>\n`)}</tbody></table></section>`;

function method(sheet: Sheet): Markup {
  const { units, ambientPressure_Pa: ambient } = sheet;
  const rows = sheet.sources.map((s) => [
    s.name,
    formatQuantity(s.accuracy, s.measured === 'pressure' ? 'pressureDifference' : 'length', units, ambient),
    s.stated ? 'stated in the file' : 'our choice: the file states none',
  ]);
  return html`<section><h2>How the numbers were had</h2>
<p>Expected: the same things done on the engine of tripstroke, every switch acting where it is set. Passes: for a contact its setting
and the accuracy of its switch; for a stroke what its valve requires; where the file says what is to be read, that; for all else the
band of the prediction.</p>
<p>Band: each accuracy below pushed to both of its ends, one at a time, and the run repeated; what that does to the reading, and the
accuracy of the instrument it is read on, combined by root-sum-square. "Worst" is the worst corner: every one of them at the end
that pushes this reading furthest; it was run where few corners were enough. ${sheet.runs} runs stand behind this sheet. Nothing else
is in the bands: not the capacity of machines, not leaks other than those of the file, not the temperature.</p>
${pageTable('Accuracies', [{ head: 'Of' }, { head: 'Within', right: true }, { head: 'From' }], rows)}
</section>`;
}

const STYLE = `
.fields { display: grid; grid-template-columns: 1fr 1fr; gap: 6px 18px; margin: 14px 0; }
.fields div { display: flex; gap: 8px; align-items: flex-end; min-height: 34px; border-bottom: 1px solid var(--ink); }
.fields dt { color: var(--soft); font-size: 13px; white-space: nowrap; }
.fields dd { margin: 0; flex: 1; }
.ticks { list-style: none; padding: 0; margin: 8px 0; }
.ticks li { display: flex; gap: 10px; padding: 5px 0; max-width: 90ch; }
.box { display: inline-block; flex: none; width: 17px; height: 17px; border: 1.5px solid var(--ink); vertical-align: -3px; }
.blank { display: inline-block; min-width: 9em; border-bottom: 1px solid var(--ink); height: 1.2em; }
.warn { border-left: 5px solid var(--care); padding: 2px 14px; margin: 12px 0; background: var(--wash); }
.warn h3 { margin: 6px 0 0; color: var(--care); }
.lines { width: 100%; table-layout: fixed; min-width: 640px; }
.lines thead th:nth-child(1) { width: 8%; }
.lines thead th:nth-child(3) { width: 16%; }
.lines thead th:nth-child(4) { width: 16%; }
.lines thead th:nth-child(5), .lines thead th:nth-child(6) { width: 15.5%; }
.lines tbody { border-bottom: 2px solid var(--soft); }
.lines th, .lines td { padding: 6px 8px; }
.lines .do th { background: var(--wash); font-weight: 600; padding: 7px 8px; }
.lines .no { color: var(--soft); margin-right: 4px; font-weight: 400; }
.lines td .note { white-space: nowrap; }
.note { display: block; font-weight: 400; font-size: 12.5px; color: var(--soft); }
.write { border: 1px solid var(--ink); height: 42px; vertical-align: middle; white-space: nowrap; font-size: 13px; }
.write .box + .box { margin-left: 6px; }
.seldom { border-style: dashed; border-color: var(--soft); }
.unit { color: var(--soft); white-space: nowrap; }
.remarks { border: 1px solid var(--ink); height: 120px; }
.sign { width: 100%; table-layout: fixed; }
.sign td, .sign th { border: 1px solid var(--ink); padding: 6px 8px; height: 46px; }
@media (max-width: 600px) {
  .lines { min-width: 0; table-layout: auto; }
  .lines .write, .lines thead th:nth-child(n + 5) { display: none; }
  .fields { grid-template-columns: 1fr; }
}
@media print {
  .lines { min-width: 0; font-size: 9.5pt; }
  .lines tbody { break-inside: avoid; }
  .part h2, .part p { break-after: avoid; break-inside: avoid; }
  header p, .part p { max-width: none; }
  .write { height: 11mm; font-size: 9pt; }
  .box { width: 5mm; height: 5mm; vertical-align: -1mm; }
  .fields div { min-height: 10mm; }
  .remarks { height: 34mm; }
  .sign td, .sign th { height: 14mm; }
  .note { font-size: 8pt; }
  .lines .do th, .warn { background: #f1f1f1; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  @page { margin: 12mm 12mm 15mm; }
}
`;
