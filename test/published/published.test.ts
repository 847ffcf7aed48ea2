/**
 * The program against figures from outside it: every check of scenarios/checks, and the table of them in README.md
 * beside this file. TRIPSTROKE_UPDATE=1 rewrites the table.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { CHECKS, type CheckResult, checkNumbers, runChecks, sourceText } from 'tripstroke/checks';
import { describe, expect, test } from 'vitest';

const results = runChecks(CHECKS);
const subjects = [...new Set(CHECKS.map((c) => c.subject))];

describe.each(subjects)('%s', (subject) => {
  test.each(
    results.filter((r) => r.check.subject === subject).map((r) => [`${r.check.quantity} ${r.check.unit}`, r] as const),
  )('%s', (_name, result) => {
    const { expected, within } = result.check;
    expect(result.failure).toBeUndefined();
    expect(result.within, `${result.got} against ${expected}; ${within.kind} ${within.size}: ${within.why}`).toBe(true);
  });
});

describe('a check', () => {
  test('names one figure, its source and why it may be off so far', () => {
    const names = CHECKS.map((c) => `${c.subject}, ${c.quantity}, ${c.unit}`);
    expect(names.filter((name, k) => names.indexOf(name) !== k)).toEqual([]);
    for (const check of CHECKS) {
      expect(Number.isFinite(check.expected)).toBe(true);
      expect(check.within.why).not.toBe('');
      if (check.source.basis === 'read' || check.source.basis === 'second hand')
        expect(check.source.document, check.quantity).not.toBe('');
      if (check.within.kind === 'relative') expect(check.expected, `${check.quantity}: give an amount`).not.toBe(0);
    }
  });

  test('can fail: an answer off by more than is allowed, no number, or a program that breaks', () => {
    for (const { check, allowed } of results) {
      const off = { ...check, got: () => check.expected + 1.001 * allowed + 1e-15 * Math.abs(check.expected) };
      expect(runChecks([off])[0].within, check.quantity).toBe(false);
    }
    const [first] = CHECKS;
    expect(runChecks([{ ...first, got: () => Number.NaN }])[0].within).toBe(false);
    const broken = runChecks([
      {
        ...first,
        got: () => {
          throw new Error('no such thing');
        },
      },
    ])[0];
    expect(broken).toMatchObject({ within: false, failure: 'no such thing' });
    expect(checkNumbers(broken)).toMatchObject({ got: 'failed', difference: '-' });
  });
});

test('the table of README.md is the one made from the checks', () => {
  const file = new URL('README.md', import.meta.url);
  const fresh = table(results);
  if (process.env['TRIPSTROKE_UPDATE'] === '1') writeFileSync(file, fresh);
  else expect(readFileSync(file, 'utf8')).toBe(fresh);
});

test('the README counts them', () => {
  const file = new URL('../../README.md', import.meta.url);
  const text = readFileSync(file, 'utf8');
  const fresh = text.replace(/\d+ figures from outside/, `${CHECKS.length} figures from outside`);
  expect(fresh).toContain(`${CHECKS.length} figures from outside`);
  if (process.env['TRIPSTROKE_UPDATE'] === '1') writeFileSync(file, fresh);
  else expect(text).toBe(fresh);
});

function table(all: readonly CheckResult[]): string {
  const row = (cells: readonly string[]) => `| ${cells.map((c) => c.replaceAll('|', '\\|')).join(' | ')} |`;
  const lines = [
    '# Published values',
    '',
    'Figures from outside the program and what the program has for them. Made by `TRIPSTROKE_UPDATE=1 npx vitest run',
    'test/published`; a test keeps it so. `tripstroke selfcheck` prints the same for a program as installed.',
    '',
    'How a figure was had: *read* in the document named; *second hand*, read in a copy of it; *from memory*; *derived*,',
    'computed by separate code from a stated formula or from inputs read. A difference of 0 is rounding.',
  ];
  for (const subject of subjects) {
    lines.push('', `## ${subject[0].toUpperCase()}${subject.slice(1)}`, '');
    lines.push(row(['quantity', 'source', 'expected', 'got', 'difference', 'tolerance']));
    lines.push(row(['---', '---', '--:', '--:', '--:', '---']));
    for (const result of all.filter((r) => r.check.subject === subject)) {
      const { quantity, unit, source, within, note } = result.check;
      const { expected, got, difference } = checkNumbers(result);
      const size =
        within.kind === 'relative' ? `${within.size} of it` : `${within.size}${unit === '' ? '' : ` ${unit}`}`;
      lines.push(
        row([
          unit === '' ? quantity : `${quantity}, ${unit}`,
          note === undefined ? sourceText(source) : `${sourceText(source)}. ${note}`,
          expected,
          got,
          difference,
          `${size}: ${within.why}`,
        ]),
      );
    }
  }
  return `${lines.join('\n')}\n`;
}
