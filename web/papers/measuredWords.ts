/** Words for readings beside their prediction, on the page and on the terminal. */
import type { JudgedLine, Measured } from '../../studies/measured.ts';
import type { Sheet } from '../../studies/sheet.ts';
import { printed } from '../../studies/sheetCsv.ts';

/** "all 87 lines pass.", "4 of 87 lines do not pass: 3 outside, 1 without a reading." */
export function headline({ lines, counts, met }: Measured): string {
  const recorded = counts.recorded === 0 ? '' : `; ${counts.recorded} of them had only to be written down`;
  if (met) return `all ${lines.length} lines pass${recorded}.`;
  const parts = [
    [counts.outside, 'outside'],
    [counts['no reading'], 'without a reading'],
    [counts.contradictory, 'contradictory'],
  ]
    .filter(([n]) => n !== 0)
    .map(([n, words]) => `${n} ${words}`);
  const bad = counts.outside + counts['no reading'] + counts.contradictory;
  return `${bad} of ${lines.length} lines ${bad === 1 ? 'does' : 'do'} not pass: ${parts.join(', ')}.`;
}

/** What a line is, with the contact, valve or step it belongs to. */
export function lineText({ line }: JudgedLine, sheet: Sheet): string {
  const entry = sheet.parts.flatMap((p) => p.entries).find((e) => e.lines.includes(line));
  const of = (entry?.text ?? '').replace(/, within .*$/, '').replace(/^Open the (drain|vent) a little\. /, '');
  return `${of}: ${line.what}`;
}

/** Why a line does not pass, or what to know of it: "1.2 psig too high". */
export function whyText(judged: JudgedLine, sheet: Sheet): string {
  const { line, last, why, outcome } = judged;
  if (why !== undefined || line.kind === 'answer' || last === undefined) return why ?? '';
  if (outcome !== 'outside') return '';
  const { limits, text, unit } = printed(line, sheet);
  if (limits === undefined) return '';
  const [off, word] = last > limits.high ? [last - limits.high, 'over'] : [limits.low - last, 'under'];
  return `${text(off)} ${unit.replace('psig', 'psi').replace('barg', 'bar')} ${word}`;
}

/** Lines that have moved since the last visit by more than half of their limits is wide, the furthest first. */
export function changedBy(judged: Measured, sheet: Sheet): string[] {
  return judged.lines
    .flatMap((l) => {
      if (l.line.kind !== 'reading' || l.drift === undefined) return [];
      const { limits, text, unit } = printed(l.line, sheet);
      const room = limits === undefined ? Number.NaN : (limits.high - limits.low) / 2;
      const share = Math.abs(l.drift) / room;
      const sign = l.drift > 0 ? '+' : '';
      return share > 1
        ? [
            {
              share,
              text: `${l.line.id} ${lineText(l, sheet)}: ${sign}${text(l.drift)} ${unit.replace('psig', 'psi').replace('barg', 'bar')} since the last visit`,
            },
          ]
        : [];
    })
    .filter((m) => Number.isFinite(m.share))
    .sort((a, b) => b.share - a.share)
    .map((m) => m.text);
}

/** Where something does not pass: switches that, at an end of their accuracy, keep it from coming at all. */
export function hintsOf(judged: Measured, sheet: Sheet): string[] {
  const bad = new Set(judged.lines.filter((l) => !l.passes).map((l) => l.line));
  return sheet.parts.flatMap((part) =>
    part.entries.flatMap((entry) => {
      const line = entry.lines.find((l) => bad.has(l));
      const names = [
        ...new Set(entry.lines.flatMap((l) => (l.kind === 'reading' && l.band !== undefined ? l.band.unless : []))),
      ];
      return line === undefined || names.length === 0
        ? []
        : [
            `${line.id} "${entry.text}": does not come with ${names.join(' or ')} at an end of the accuracy; look there first`,
          ];
    }),
  );
}
