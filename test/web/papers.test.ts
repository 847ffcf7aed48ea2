/** The papers as a browser shows and prints them. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { judgeReadings } from '../../studies/measured.ts';
import { readReadings } from '../../studies/sheetCsv.ts';
import { measuredPage } from '../../web/papers/measuredPage.ts';
import { sheetPage } from '../../web/papers/sheetPage.ts';
import { openBrowser } from '../support/browser.ts';
import { identityOf, sheetAs } from '../support/visit.ts';

const read = (name: string) => readFileSync(fileURLToPath(new URL(`../../scenarios/${name}`, import.meta.url)), 'utf8');

/** A title that tries to become markup, or to break out of the style sheet's page footer. */
const HOSTILE = '"; } </style><script>alert(1)</script><b>';

test('print within A4 and Letter, leave room for a gloved hand, and run nothing', { timeout: 60_000 }, async ({
  skip,
}) => {
  const browser = await openBrowser();
  if (typeof browser === 'string') return skip(browser);
  const text = read('ashlar-weir.yaml');
  const sheet = sheetAs(text, 'weir.yaml', 'si');
  const identity = identityOf(text, 'weir.yaml', HOSTILE, 'si');
  const file = readReadings(read('readings/ashlar-weir-a-year-later.csv'));
  if ('problem' in file) throw new Error(file.problem);
  const judged = judgeReadings(sheet, file);
  if ('problem' in judged) throw new Error(judged.problem);
  const one = { file: 'visit.csv', text: '', date: '', by: HOSTILE };
  const papers = {
    sheet: sheetPage(sheet, identity, '1', 'tripstroke sheet'),
    measured: measuredPage(sheet, identity, judged, { now: one, before: undefined, seed: '1', command: 'x' }),
  };
  const said: string[] = [];
  const pages: { close(): Promise<void> }[] = [];
  for (const [name, paper] of Object.entries(papers)) {
    // A page keeps the policy of what was in it before.
    const page = await browser.newPage();
    page.on('console', (m) => said.push(m.text()));
    page.on('dialog', (d) => said.push(d.message()));
    await page.setContent(paper);
    expect(await page.title(), name).toContain(HOSTILE);
    await page.emulateMedia({ media: 'print' });
    // 12 mm margins either side, 96 px to the inch.
    for (const paper_mm of [210, 215.9]) {
      await page.setViewportSize({ width: Math.floor(((paper_mm - 24) / 25.4) * 96), height: 1000 });
      const wide = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(wide, `${name} on ${paper_mm} mm`).toBeLessThanOrEqual(0);
    }
    if (name === 'sheet') {
      const least = await page.evaluate(() =>
        [...document.querySelectorAll('.write')].reduce(
          ([w, h], cell) => {
            const box = cell.getBoundingClientRect();
            return [Math.min(w!, box.width), Math.min(h!, box.height)];
          },
          [Infinity, Infinity],
        ),
      );
      // 25 mm by 10 mm.
      expect(least[0]).toBeGreaterThan((25 / 25.4) * 96);
      expect(least[1]).toBeGreaterThan((10 / 25.4) * 96);
    }
    // On a telephone nothing but tables scrolls sideways.
    await page.emulateMedia({ media: 'screen' });
    await page.setViewportSize({ width: 390, height: 800 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth), name).toBeLessThanOrEqual(390);
    pages.push(page);
  }
  // Closing the first leaves some browsers without any.
  for (const page of pages) await page.close();
  expect(said).toEqual([]);
});
