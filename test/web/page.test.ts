import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { html } from '../../web/html.ts';
import { jsonScript, numberedText, page, pageTable, section } from '../../web/page.ts';
import { scenarioHash, sha256Base64, sha256Hex } from '../../web/sha256.ts';

const ORIGIN = { file: 'a.yaml', scenarioHash: 'ab', seed: '1', command: 'tripstroke replay a.yaml' };

test('digests are those of another program, for every length around a block', () => {
  const of = (text: string, as: 'hex' | 'base64') => createHash('sha256').update(text, 'utf-8').digest(as);
  for (const n of [0, 1, 55, 56, 57, 63, 64, 65, 119, 120, 1000, 100_000])
    expect(sha256Hex('x'.repeat(n))).toBe(of('x'.repeat(n), 'hex'));
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme', maxLength: 300 }), (text) => sha256Base64(text) === of(text, 'base64')),
    { seed: 4, numRuns: 200 },
  );
});

test('a scenario has the same digest with every line end and with a byte order mark', () => {
  expect(scenarioHash('\ufeffa\r\nb\rc')).toBe(scenarioHash('a\nb\nc'));
});

test('names that are markup stay text wherever they stand on a page', () => {
  const evil = '</script></style><img src=x onerror=alert(1)>&"\'';
  const text = page({
    title: evil,
    body: html`${section('a', evil, pageTable(evil, [{ head: evil }], [[evil]]), numberedText(evil))}`,
    origin: { file: evil, scenarioHash: evil, seed: evil, command: evil },
    script: 'void 0;',
    data: { run: { [evil]: evil } },
  });
  expect(text).not.toContain('<img');
  expect(text.match(/<\/script>/g)).toHaveLength(2);
  expect(text.match(/<\/style>/g)).toHaveLength(1);
});

test('what is given to the script is read back as it was', () => {
  const value = { text: '</script>\u2028<!--', list: [1, null] };
  const { text } = jsonScript('run', value);
  expect(JSON.parse(text.slice(text.indexOf('>') + 1, text.lastIndexOf('</script>')))).toEqual(value);
});

test('the policy names the digests of what is inside, and nothing else may run', () => {
  const text = page({ title: 't', body: html`<p>x</p>`, origin: ORIGIN, script: 'void 1;', style: 'p { margin: 0 }' });
  const style = /<style>([\s\S]*?)<\/style>/.exec(text)![1]!;
  const digest = createHash('sha256').update(style).digest('base64');
  expect(text).toContain(`style-src &#39;sha256-${digest}&#39;`);
  expect(text).toContain(`script-src &#39;sha256-${createHash('sha256').update('void 1;').digest('base64')}&#39;`);
  expect(text).not.toMatch(/unsafe|https?:/);
  expect(page({ title: 't', body: html``, origin: ORIGIN })).not.toContain('script');
});

test('an empty section is left out', () => {
  expect(section('a', 'A', undefined, [])).toBeUndefined();
  expect(pageTable('A', [{ head: 'a' }], [])).toBeUndefined();
});
