/** The first page of a dossier: what was asked, what came out, what stands in the folder, what it does not say, how to check it. */
import { ASSUMPTIONS, NOT_MODELLED } from '../../scenarios/assumptions.ts';
import type { Finding, Result } from '../../scenarios/result.ts';
import { formatQuantity, type UnitSystem } from '../../scenarios/units.ts';
import { html, type Markup, type Part } from '../html.ts';
import { page, pageTable } from '../page.ts';

export interface DossierFile {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
}

/** A single fault that does harm, in words. */
export interface FaultRow {
  readonly item: string;
  readonly mode: string;
  readonly local: string;
  readonly revealed: string;
  readonly outage: string;
  readonly defeats: boolean;
  readonly hidden: boolean;
  readonly reason: string;
}

export interface DossierPageParts {
  readonly title: string;
  readonly met: boolean;
  readonly verdict: string;
  readonly selfcheck: { readonly figures: number; readonly missed: number };
  readonly circumstances: { readonly date: string; readonly node: string; readonly system: string };
  readonly files: readonly DossierFile[];
  /** The replay at the worst moment. */
  readonly result: Result;
  /** Overrides with which `replay` repeats it. */
  readonly moment: readonly string[];
  readonly service: string;
  readonly harm: readonly FaultRow[];
  readonly singles: { readonly run: number; readonly defeat: number; readonly hidden: number };
  readonly only: string | undefined;
  readonly interval: string;
  readonly repair: string;
  readonly seed: string;
  readonly units: UnitSystem;
  readonly set: readonly string[];
  readonly hash: string;
  readonly program: string;
  readonly findings: readonly Finding[];
}

/** What each file is. */
const MEANING: Readonly<Record<string, string>> = {
  'scenario.yaml': 'the unit, as it was read',
  'check.txt': 'findings and setpoints, without a run',
  'worst.txt': 'the search for the worst moment to lose the mains',
  'worst.json': 'the same, with every moment, in SI',
  'verdict.txt': 'the replay at that moment',
  'verdict.json': 'the same, with all events, in SI',
  'faults.txt': 'every single fault, what it does, what tells of it',
  'faults.json': 'the same, in SI',
  'faults.csv': 'the same, as a table',
  'sheet.html': 'the acceptance test, to be printed',
  'sheet.csv': 'the same, to type readings into',
  'selfcheck.txt': 'the program as it was installed, against figures from outside',
  'selfcheck.json': 'the same, with sources and tolerances',
};

/** The page as text. */
export function dossierPage(parts: DossierPageParts): string {
  const { result, units, met } = parts;
  const q = (si: number, dimension: Parameters<typeof formatQuantity>[1]) =>
    formatQuantity(si, dimension, units, result.site.ambientPressure_Pa);
  const percent = (x: number | undefined) => (x === undefined ? '-' : q(x, 'fraction'));
  const replayed = `tripstroke replay scenario.yaml${[...parts.set, ...parts.moment].map((s) => ` --set "${s}"`).join('')}`;
  const body = html`<main><header>
<p class="kicker">Dossier</p>
<h1>${parts.title}</h1>
<p class="${met ? 'verdict' : 'verdict care'}">${met ? 'MET' : 'NOT MET'} at the worst moment to lose the mains. ${parts.verdict}</p>
<p>${parts.service}</p>
<dl class="facts"><dt>Made</dt><dd>${parts.circumstances.date}</dd><dt>On</dt><dd>${parts.program}, Node.js ${parts.circumstances.node.replace(
    /^v/,
    '',
  )}, ${parts.circumstances.system}</dd></dl>
</header>
<section><h2>Required strokes at that moment</h2>
${
  pageTable(
    `From gauge ${q(result.start.pressure_Pa, 'pressure')}, glass ${q(result.start.level_m, 'length')} at the start of the run`,
    [
      { head: 'Valve' },
      { head: 'Stroke' },
      { head: 'Outcome' },
      { head: 'Time', right: true },
      { head: 'Allowed', right: true },
      { head: 'Least margin', right: true },
      { head: 'Wanted', right: true },
      { head: 'Verdict' },
    ],
    result.verdict.strokes.map((s) => [
      s.valve,
      `${s.direction}${s.strokes > 1 ? ` ${s.stroke}/${s.strokes}` : ''}`,
      s.outcome,
      s.time_s === undefined ? '-' : q(s.time_s, 'time'),
      q(s.longest_s, 'time'),
      s.margin === undefined ? '-' : `${percent(s.margin)} ${s.marginOf ?? ''}`,
      percent(s.marginWanted),
      s.met ? 'met' : html`<span class="care">${s.tooCloseToCall ? 'TOO CLOSE TO CALL' : 'NOT MET'}</span>`,
    ]),
  ) ?? html`<p>Nothing is required of any valve in the file.</p>`
}
<p class="code">${replayed}</p>
</section>
${faultSection(parts)}
${findingSection(parts.findings)}
<section><h2>The program itself</h2>
<p>${parts.selfcheck.missed === 0 ? `All ${parts.selfcheck.figures} figures` : html`<strong class="care">${parts.selfcheck.figures - parts.selfcheck.missed} of ${parts.selfcheck.figures} figures</strong>`} from
outside the program (published values, closed forms, second solutions) lie within their tolerance on the machine this was made on; each stands with its source in
<a href="selfcheck.txt">selfcheck.txt</a>.</p></section>
<section><h2>What stands in this folder</h2>
${pageTable(
  'Besides this page and manifest.json, which holds the SHA-256 of all of them',
  [
    { head: 'File' },
    { head: 'What it is' },
    { head: 'Bytes', right: true, wide: true },
    { head: 'SHA-256', wide: true },
  ],
  parts.files.map((f) => [
    html`<a href="${f.name}">${f.name}</a>`,
    MEANING[f.name] ?? '',
    f.bytes,
    html`<span class="code hash">${f.sha256}</span>`,
  ]),
)}</section>
<section><h2>How to check it</h2>
<p>With the same version of the program, on any computer: <span class="code">tripstroke dossier --verify FOLDER</span>. It reads the
manifest, finds what was altered, added or taken away, makes every paper again from scenario.yaml, and says where one differs: to the byte
on the same kind of machine, else every number to a millionth of itself or one in its last digit, and all words.</p>
<p>Whoever could rewrite all of it could also rewrite the manifest: keep the digest that was printed when the dossier was made
somewhere else, or have it signed.</p></section>
<section><h2>What is not modelled</h2>
<ul>${NOT_MODELLED.map((t) => html`<li>${coded(t)}</li>`)}</ul></section>
<section><h2>Assumptions</h2>
${pageTable(
  'Of the program; "choice": a setting without a source',
  [{ head: 'Subject' }, { head: 'Assumption' }],
  ASSUMPTIONS.map(([subject, text]) => [subject, coded(text)]),
)}</section>
</main>`;
  return page({
    title: `Dossier: ${parts.title}`,
    body,
    origin: {
      file: 'scenario.yaml',
      scenarioHash: parts.hash,
      seed: parts.seed,
      command: 'tripstroke dossier --verify FOLDER',
    },
    style: STYLE,
  });
}

/** Text with what stands between backticks set as code. */
const coded = (text: string): Part[] =>
  text.split('`').map((part, k) => (k % 2 === 0 ? part : html`<span class="code">${part}</span>`));

function faultSection({ singles, harm, interval, repair, only }: DossierPageParts): Markup {
  const { run, defeat, hidden } = singles;
  const which = only === undefined ? 'Every single fault' : `Only single faults with "${only}" in them`;
  const count =
    run === 0
      ? 'No fault was looked at.'
      : `${defeat} of ${run} defeat the shutdown, ${hidden} of them hidden: no alarm tells before it is lost.`;
  return html`<section><h2>Single faults</h2>
<p><strong>${count}</strong> ${which} is put in during service and acts until ${repair} after the alarm that reveals it, else until somebody tests the
unit: every <strong>${interval}</strong>. The shutdown is only as good as that test is done.</p>
${pageTable(
  'Faults that defeat the shutdown, or leave less margin than sound service ever does; the others are in faults.txt',
  [
    { head: 'Item' },
    { head: 'Failure mode' },
    { head: 'In service', wide: true },
    { head: 'Revealed by' },
    { head: 'On loss of mains' },
    { head: 'So it' },
  ],
  harm.map((f) => [
    html`<span class="whole">${f.item}</span>`,
    html`${f.mode}${f.reason === '' ? '' : html`<span class="why">${f.reason}</span>`}`,
    f.local,
    f.hidden ? html`<strong>${f.revealed}</strong>` : f.revealed,
    f.outage,
    f.defeats ? html`<span class="care">DEFEATS</span>` : 'less margin',
  ]),
)}</section>
`;
}

function findingSection(findings: readonly Finding[]): Markup | undefined {
  if (findings.length === 0) return undefined;
  return html`<section><h2>What the file gives cause to say</h2>
${findings.map((f) => html`<p class="keep"><strong>${f.severity === 'warning' ? 'Warning' : 'Note'}.</strong> ${f.text.charAt(0).toUpperCase()}${f.text.slice(1)} <span class="soft">${f.advice}</span></p>`)}</section>
`;
}

const STYLE = `
.whole { white-space: nowrap; }
.verdict { font-size: 18px; font-weight: 700; margin: 10px 0 12px; max-width: none; }
.why { display: block; color: var(--soft); font-size: 12.5px; max-width: 46ch; overflow-wrap: anywhere; }
.hash { font-size: 11px; word-break: break-all; }
@media print { .hash { font-size: 6.5pt; } table { width: 100%; } th, td { padding-right: 8px; } }
`;
