/** The report as people open it: from disk, in a browser, without a network, on a phone, on paper, by keyboard. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Workplace } from '../cli/support.ts';
import { openBrowser } from '../support/browser.ts';

const place = new Workplace();
afterAll(() => place.remove());
const DEMO = readFileSync('scenarios/mill-creek.yaml', 'utf-8');
const EVIL = '<img src=x onerror="document.title=1"></script><b>x';

let browser: Browser | string;
beforeAll(async () => {
  place.write('demo.yaml', DEMO);
  place.write('evil.yaml', DEMO.replace(/^title:.*$/m, `title: '${EVIL}'`).replace('intake butterfly, north', EVIL));
  [browser] = await Promise.all([
    openBrowser(),
    place.run(['replay', 'demo.yaml', '--report', 'demo.html', '--sample', '0.1 s']),
    place.run(['replay', 'evil.yaml', '--report', 'evil.html', '--no-files']),
    place.run(['replay', 'demo.yaml', '--set', 'power.lostAt=62 min', '--report', 'long.html', '--no-files']),
    place.run(['size', 'demo.yaml', '--report', 'size.html']),
  ]);
}, 60_000);

interface Opened {
  readonly page: Page;
  /** What should not happen: complaints of the browser, and requests for anything but the file. */
  readonly amiss: string[];
}

async function open(
  name: string,
  options: {
    width?: number;
    colorScheme?: 'dark' | 'light';
    javaScriptEnabled?: boolean;
    hasTouch?: boolean;
    isMobile?: boolean;
  } = {},
): Promise<Opened> {
  const { width = 1280, ...rest } = options;
  const page = await (browser as Browser).newPage({ locale: 'en-US', viewport: { width, height: 900 }, ...rest });
  const amiss: string[] = [];
  const address = pathToFileURL(place.at(name)).href;
  page.on('console', (m) => amiss.push(m.text()));
  page.on('pageerror', (e) => amiss.push(e.message));
  page.on('request', (r) => r.url() !== address && amiss.push(r.url()));
  await page.goto(address);
  return { page, amiss };
}

/** The same test without a browser: skipped with the reason. */
const inBrowser = (name: string, body: () => Promise<void>) =>
  test(name, async ({ skip }) => {
    if (typeof browser === 'string') skip(browser);
    await body();
  });

describe('a report in the browser', () => {
  inBrowser('opens from disk with the verdict in words, asks for nothing, breaks no policy', async () => {
    const { page, amiss } = await open('demo.html');
    expect(await page.textContent('.verdict')).toMatch(
      /MET\s+All 5 trip strokes of 5 valves are complete; least margin 5.8 %/,
    );
    expect(await page.textContent('.strokes')).toContain('18.48 of 32 s');
    expect(await page.locator('.plots .uplot').count()).toBe(6);
    expect(await page.textContent('footer')).toContain(
      'tripstroke replay demo.yaml --sample "0.1 s" --report demo.html',
    );
    expect(await page.locator('.stills').isVisible()).toBe(false);
    expect(amiss).toEqual([]);
    await page.close();
  });

  inBrowser('the crosshair reads what the trace says, by keyboard, and goes from event to event', async () => {
    const { page, amiss } = await open('demo.html');
    await page.focus('.plots-stack');
    await page.keyboard.press('Control+ArrowRight');
    expect(await page.textContent('.plots-now')).toBe('20.40 s');
    await page.keyboard.press('Home');
    for (let k = 0; k < 30; k++) await page.keyboard.press('ArrowRight');
    const time = Number.parseFloat((await page.textContent('.plots-now'))!);
    const [head, ...lines] = readFileSync(place.at('results', 'demo', 'trace.csv'), 'utf-8')
      .trim()
      .split('\n');
    const column = head!.split(',').indexOf('tank pressure [psig]');
    const rows = lines.map((l) => l.split(',').map(Number)).filter((r) => Math.abs(r[0]! - time) < 0.006);
    const shown = Number.parseFloat((await page.textContent('.plot-key b'))!);
    expect(time).toBeGreaterThan(30);
    expect(rows.length).toBeGreaterThan(0);
    // Shown with one decimal.
    expect(rows.some((r) => Math.abs(r[column]! - shown) <= 0.05 + 1e-9)).toBe(true);
    expect(await page.textContent('.plots-said')).toContain('air in the tank');
    expect(amiss).toEqual([]);
    await page.close();
  });

  inBrowser('looks closer and wider by keyboard, mouse and button, and the log shows what is in view', async () => {
    const { page, amiss } = await open('long.html');
    const events = () => page.locator('.plots-log li').count();
    const all = await events();
    await page.click('text=Outage');
    const outage = await events();
    expect(outage).toBeLessThan(all);
    await page.focus('.plots-stack');
    await page.keyboard.press('+');
    await page.keyboard.press('+');
    await expect.poll(events).toBeLessThan(outage);
    await page.keyboard.press('0');
    await expect.poll(events).toBe(all);
    const box = (await page.locator('.u-over').first().boundingBox())!;
    await page.mouse.move(box.x + 0.3 * box.width, box.y + 40);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.5 * box.width, box.y + 40, { steps: 4 });
    await page.mouse.up();
    await expect.poll(() => page.textContent('.plots-log p')).toMatch(/outside it/);
    await page.mouse.dblclick(box.x + 50, box.y + 40);
    await expect.poll(events).toBe(all);
    expect(amiss).toEqual([]);
    await page.close();
  });

  inBrowser('by touch one finger reads, two look closer and move along, and the page is still scrolled', async () => {
    const { page, amiss } = await open('long.html', { width: 390, hasTouch: true, isMobile: true });
    const canvas = page.locator('.u-over').first();
    await canvas.scrollIntoViewIfNeeded();
    await page.evaluate(() => scrollBy(0, 200));
    const box = (await canvas.boundingBox())!;
    const touches = await page.context().newCDPSession(page);
    const send = (type: 'touchStart' | 'touchMove' | 'touchEnd', ...at: (readonly [across: number, y?: number])[]) =>
      touches.send('Input.dispatchTouchEvent', {
        type,
        touchPoints: at.map(([across, y = 0.5], id) => ({
          x: box.x + across * box.width,
          y: box.y + y * box.height,
          id,
        })),
      });
    /** The time that a finger reads somewhere, s. */
    const read = async (across: number) => {
      await send('touchStart', [across]);
      await send('touchEnd');
      const [minutes, seconds] = /(?:(\d+):)?([\d.]+)/.exec((await page.textContent('.plots-now'))!)!.slice(1);
      return 60 * Number(minutes ?? 0) + Number(seconds);
    };
    const glide = async (from: readonly number[], to: readonly number[]) => {
      await send('touchStart', ...from.map((x) => [x] as const));
      for (let k = 1; k <= 8; k++)
        await send('touchMove', ...from.map((x, i) => [x + ((to[i]! - x) * k) / 8] as const));
      await send('touchEnd');
    };
    const wide = (await read(0.9)) - (await read(0.1));
    // The run is a little longer than 62 min: mains lost then.
    expect(wide).toBeGreaterThan(0.79 * 62 * 60);
    const before = [await read(0.4), await read(0.6)];
    await glide([0.4, 0.6], [0.2, 0.8]);
    const after = [await read(0.2), await read(0.8)];
    // Within a finger's pixel of what was under it: a 300th of what is shown, and half the distance of two rows.
    for (const i of [0, 1]) expect(Math.abs(after[i]! - before[i]!)).toBeLessThan(wide / 200);
    expect((await read(0.9)) - (await read(0.1))).toBeLessThan(0.4 * wide);
    const left = await read(0.3);
    await glide([0.3, 0.5], [0.5, 0.7]);
    expect(Math.abs((await read(0.5)) - left)).toBeLessThan(wide / 200);
    // The browser has neither enlarged the page nor moved it; one finger that goes up scrolls it.
    expect(await page.evaluate(() => visualViewport!.scale)).toBe(1);
    const at = await page.evaluate(() => scrollY);
    await send('touchStart', [0.5, 0.8]);
    for (let k = 1; k <= 8; k++) await send('touchMove', [0.5, 0.8 - 0.2 * k]);
    await send('touchEnd');
    await expect.poll(() => page.evaluate(() => scrollY)).toBeGreaterThan(at + 20);
    expect(amiss).toEqual([]);
    await page.close();
  });

  inBrowser('names and titles that are markup stay text', async () => {
    const { page, amiss } = await open('evil.html');
    expect(await page.textContent('h1')).toBe(EVIL);
    expect(await page.locator('img').count()).toBe(0);
    expect(await page.textContent('.strokes .service')).toBe(EVIL);
    expect(await page.textContent('.listing')).toContain(EVIL);
    expect(amiss).toEqual([]);
    await page.close();
  });

  inBrowser('no serious fault for people who see, hear or steer differently, in light and dark', async () => {
    const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf-8');
    for (const name of ['demo.html', 'size.html'])
      for (const colorScheme of ['light', 'dark'] as const) {
        const { page } = await open(name, { colorScheme });
        await page.evaluate(axe);
        const found = await page.evaluate(async (scheme) => {
          type Axe = {
            run(how: object): Promise<{ violations: { id: string; impact: string; nodes: { html: string }[] }[] }>;
          };
          const { violations } = await (window as unknown as { axe: Axe }).axe.run(
            // Only colours differ between the two.
            scheme === 'dark' ? { runOnly: ['color-contrast', 'link-in-text-block'] } : {},
          );
          return violations
            .filter((v) => v.impact === 'serious' || v.impact === 'critical')
            .map((v) => `${v.id}: ${v.nodes[0]!.html.slice(0, 120)}`);
        }, colorScheme);
        expect(found, `${name} ${colorScheme}`).toEqual([]);
        await page.close();
      }
  });

  inBrowser('a phone scrolls down and never to the side', async () => {
    for (const name of ['demo.html', 'evil.html', 'size.html']) {
      const { page } = await open(name, { width: 390 });
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBe(390);
      await page.close();
    }
  });

  inBrowser('without script, and on paper, the drawings stand still in their place', async () => {
    const { page } = await open('demo.html', { javaScriptEnabled: false });
    expect(await page.locator('.still svg').first().isVisible()).toBe(true);
    await page.close();
    const live = (await open('demo.html')).page;
    await live.emulateMedia({ media: 'print' });
    expect(await live.locator('.plots').isVisible()).toBe(false);
    expect(await live.locator('.still svg').first().isVisible()).toBe(true);
    // A4 with its margins is 184 mm wide: nothing may be cut off at the right.
    await live.setViewportSize({ width: 695, height: 1000 });
    expect(await live.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(695);
    await live.close();
  });
});

describe('the file', () => {
  test('the same scenario gives the same bytes, and everything in it is named there', async () => {
    const first = readFileSync(place.at('demo.html'), 'utf-8');
    await place.run(['replay', 'demo.yaml', '--report', 'demo.html', '--sample', '0.1 s', '--no-files']);
    expect(readFileSync(place.at('demo.html'), 'utf-8')).toBe(first);
    expect(first).not.toMatch(/\b(src|href)="(?!#)/);
    expect(first).toContain('Copyright (c) 2022 Leon Sorokin');
  });

  test('where it cannot be written: said before the run, exit code 2', async () => {
    const refused = async (...args: string[]) => {
      const { code, stdout, stderr } = await place.run(['replay', ...args, '--no-files']);
      expect([code, stdout]).toEqual([2, '']);
      return stderr;
    };
    const [nowhere, noPage, two] = await Promise.all([
      refused('demo.yaml', '--report', 'nowhere/r.html'),
      refused('demo.yaml', '--report', 'demo.yaml'),
      refused('demo.yaml', 'evil.yaml', '--report', 'r.html'),
    ]);
    expect(nowhere).toMatch(/nothing can be written to .*nowhere/s);
    expect(noPage).toContain('must end in .html');
    expect(two).toContain('one report is of one scenario');
    expect(readFileSync(place.at('demo.yaml'), 'utf-8')).toBe(DEMO);
  });
});
