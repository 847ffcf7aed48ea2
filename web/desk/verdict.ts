/** What came out, in words: the verdict, the strokes against their limits, beside a pinned run if there is one. */
import type { Result, StrokeResult } from '../../scenarios/result.ts';
import {
  capital,
  faultText,
  isFault,
  readingText,
  sentence,
  severityWord,
  stepWord,
  strokeText,
  verdictWord,
} from '../../scenarios/resultText.ts';
import { formatQuantity } from '../../scenarios/units.ts';
import { type Child, h, s } from './dom.ts';
import type { Verdict } from './protocol.ts';

/** "MET: all 5 trip strokes ... are complete", as the command line says it. */
export function verdictWords({ verdict: { met, text } }: Verdict): { word: string; text: string } {
  return { word: verdictWord(met), text: text.charAt(0).toLowerCase() + text.slice(1) };
}

/** The verdict in a line: the least margin, or what fails. "MET: least margin 5.85 % force, V-322". */
export function inALine(result: Verdict): string {
  const { verdict, units } = result;
  const { word, text } = verdictWords(result);
  const failed = verdict.strokes.filter((x) => !x.met);
  if (failed.length > 0) {
    const few = failed
      .slice(0, 3)
      .map((x) => `${x.valve} ${x.outcome === 'completed' ? strokeText(x, units).word : x.outcome}`);
    return `${word}: ${few.join(', ')}${failed.length > few.length ? ` and ${failed.length - few.length} more` : ''}`;
  }
  const known = verdict.strokes.filter((x) => x.margin !== undefined);
  if (known.length === 0) return `${word}: ${text}`;
  const least = known.reduce((a, b) => (b.margin! < a.margin! ? b : a));
  return `${word}: least margin ${strokeText(least, units).margin}, ${least.valve}`;
}

/** A bar of what was used of a limit, with the pinned run as a mark over it. */
function bar(share: number | undefined, pinned: number | undefined, limit: number): SVGSVGElement {
  const at = (x: number) => Math.round(1000 * Math.min(1.12, Math.max(0, x / 1.12 / limit))) / 10;
  return s(
    'svg',
    { class: 'bar', viewBox: '0 0 112 10', 'aria-hidden': 'true', preserveAspectRatio: 'none' },
    s('path', { class: 'bar-limit', d: 'M100 0V10' }),
    share !== undefined && s('path', { class: 'bar-value', d: `M0 5H${at(share) * 1.12}` }),
    pinned !== undefined && s('path', { class: 'bar-pinned', d: `M${at(pinned) * 1.12} 1V9` }),
  );
}

/** The table of strokes. */
export function strokeTable(result: Verdict, pinned: Verdict | undefined): Child {
  const { units } = result;
  const { strokes } = result.verdict;
  if (strokes.length === 0) return undefined;
  const same = (x: StrokeResult) => pinned?.verdict.strokes.find((y) => y.valve === x.valve && y.stroke === x.stroke);
  const row = (x: StrokeResult): Child => {
    const words = strokeText(x, units);
    const other = same(x);
    const before = other === undefined ? undefined : strokeText(other, units);
    const was = (now: string, then: string | undefined): Child =>
      then === undefined ? undefined : h('span', { class: now === then ? 'was same' : 'was' }, `pinned ${then}`);
    return [
      h(
        'tr',
        { class: x.met ? '' : 'bad' },
        h('th', { scope: 'row' }, x.valve, x.service !== '' && h('span', { class: 'service' }, x.service)),
        h('td', {}, words.stroke),
        h('td', {}, words.outcome, was(words.outcome, before?.outcome)),
        h(
          'td',
          { class: 'number' },
          words.time,
          bar(x.time_s, other?.time_s, x.longest_s),
          was(words.time, before?.time),
        ),
        h('td', { class: 'number' }, words.margin, was(words.margin, before?.margin)),
        h('td', {}, h('span', { class: x.met ? 'word' : 'word care' }, words.word), was(words.word, before?.word)),
      ),
      !x.met && h('tr', { class: 'reason' }, h('td', { colspan: 6 }, x.reason)),
    ];
  };
  return h(
    'table',
    { class: 'strokes' },
    h('caption', { class: 'unseen' }, 'Strokes of the valves against their limits'),
    h(
      'thead',
      {},
      h(
        'tr',
        {},
        ['Valve', 'Stroke', 'Outcome'].map((text) => h('th', { scope: 'col' }, text)),
        h('th', { scope: 'col', class: 'number' }, 'Time'),
        h('th', { scope: 'col', class: 'number' }, 'Least margin'),
        h('th', { scope: 'col' }, 'Requirement'),
      ),
    ),
    h('tbody', {}, strokes.map(row)),
  );
}

/** The steps of a demonstration with what was read at the end of each, and what became of faults; absent without any. */
export function stepsAndFaults({ steps, faults, units }: Result): Child {
  const time = (t: number) => formatQuantity(t, 'time', units);
  const stepRow = (step: Result['steps'][number], n: number): Child => {
    const word = stepWord(step);
    return h(
      'tr',
      { class: step.asExpected ? '' : 'bad' },
      h('td', { class: 'number' }, n + 1),
      h(
        'th',
        { scope: 'row' },
        step.text,
        step.readings.length > 0 && h('span', { class: 'service' }, step.readings.map(readingText).join('; ')),
      ),
      h('td', { class: 'number' }, step.began_s === undefined ? '-' : time(step.began_s)),
      h('td', {}, h('span', { class: step.asExpected ? 'word' : 'word care' }, word)),
    );
  };
  return [
    steps.length > 0 &&
      h(
        'table',
        { class: 'steps' },
        h('caption', { class: 'unseen' }, 'Steps of the demonstration'),
        h(
          'thead',
          {},
          h(
            'tr',
            {},
            ['', 'Step', 'From', ''].map((name) => (name === '' ? h('td', {}) : h('th', { scope: 'col' }, name))),
          ),
        ),
        h('tbody', {}, steps.map(stepRow)),
      ),
    faults.map((f) => h('p', {}, h('b', { class: 'word care' }, 'Fault '), `${faultText(f, units)}.`)),
  ];
}

/** Findings as a list, the grave ones first. */
export function findingList({ findings }: Result): Child {
  const shown = findings.filter(isFault);
  if (shown.length === 0) return h('p', {}, 'No findings: nothing in the settings is out of order.');
  return h(
    'ul',
    { class: 'findings' },
    shown.map((f) =>
      h(
        'li',
        {},
        h('b', { class: f.severity === 'warning' ? 'word care' : 'word' }, severityWord(f.severity)),
        h('b', {}, ` ${f.id}`),
        f.at.length > 0 &&
          h(
            'span',
            { class: 'quiet' },
            ` (${f.at.map((at) => `line ${at.slice(at.lastIndexOf(':') + 1)}`).join(', ')})`,
          ),
        h('p', {}, `${sentence(capital(f.text))} `, h('i', {}, f.advice)),
      ),
    ),
  );
}
