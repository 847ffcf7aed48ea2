/** What a dossier says of assumptions and limits is what the README says. `TRIPSTROKE_UPDATE=1` writes the list anew. */
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { ASSUMPTIONS, NOT_MODELLED } from '../scenarios/assumptions.ts';

const at = (name: string) => fileURLToPath(new URL(`../${name}`, import.meta.url));
const readme = readFileSync(at('README.md'), 'utf8');
const between = (from: string, to: string) => readme.slice(readme.indexOf(from), readme.indexOf(to));

const table = between('## Assumptions', '## What is not modelled')
  .split('\n')
  .filter((l) => l.startsWith('|'))
  .slice(2)
  .map((l) =>
    l
      .split('|')
      .slice(1, -1)
      .map((c) => c.trim()),
  );
const list = between('## What is not modelled', '## For developers')
  .split(/\n(?=- )/)
  .slice(1)
  .map((item) => item.split('\n\n')[0]!.replace(/^- /, '').replace(/\s+/g, ' ').trim());

test('assumptions and limits in papers are those of the README', () => {
  if (process.env['TRIPSTROKE_UPDATE']) {
    const file = at('scenarios/assumptions.ts');
    const quote = (t: string) => `'${t.replace(/[\\']/g, '\\$&')}'`;
    const head = readFileSync(file, 'utf8').split('export const')[0]!;
    const rows = table.map(([a = '', b = '']) => `  [${quote(a)}, ${quote(b)}],\n`).join('');
    const items = list.map((t) => `  ${quote(t)},\n`).join('');
    // `npx biome check --write scenarios/assumptions.ts` breaks its lines afterwards.
    writeFileSync(
      file,
      `${head}export const ASSUMPTIONS: readonly (readonly [subject: string, assumption: string])[] = [\n${rows}];\n\nexport const NOT_MODELLED: readonly string[] = [\n${items}];\n`,
    );
    return;
  }
  expect(table.length).toBeGreaterThan(20);
  expect(ASSUMPTIONS).toEqual(table);
  expect(NOT_MODELLED).toEqual(list);
});
