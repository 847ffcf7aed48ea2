// Makes the pictures of the README anew from the built program: `npm run pictures`.
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const root = path.join(import.meta.dirname, '..');
const pictures = path.join(import.meta.dirname, 'pictures');
const work = mkdtempSync(path.join(tmpdir(), 'tripstroke-pictures-'));
const tripstroke = (...args) =>
  spawnSync(process.execPath, [path.join(root, 'dist', 'bin', 'tripstroke.js'), ...args], { cwd: root });

/** CHROME_PATH, or the browser from the packages. */
async function openBrowser() {
  const named = process.env.CHROME_PATH;
  if (named !== undefined) return chromium.launch({ executablePath: named, args: ['--no-sandbox'] });
  process.env.AWS_LAMBDA_JS_RUNTIME ??= 'nodejs20.x';
  const { default: packed } = await import('@sparticuz/chromium');
  // One process for everything would end with the first page that is closed.
  const args = packed.args.filter((arg) => arg !== '--single-process');
  return chromium.launch({ executablePath: await packed.executablePath(), args });
}

/** The report on the failure at the worst time of the demo: verdict, valves and the first curves. */
async function report(open) {
  const file = path.join(work, 'report.html');
  tripstroke('replay', 'scenarios/mill-creek.yaml', '--set', 'power.lostAt=62 min', '--no-files', '--report', file);
  const page = await open.newPage({ locale: 'en-US', viewport: { width: 920, height: 800 } });
  await page.goto(pathToFileURL(file).href);
  await page.click('text=Outage');
  // Words follow the curves a moment later.
  await page.waitForTimeout(400);
  await page.screenshot({
    path: path.join(pictures, 'report.png'),
    clip: { x: 0, y: 0, width: 920, height: 1040 },
    fullPage: true,
  });
  await page.close();
}

/** The desk with the demo 30 s into a run from less pressure, beside the pinned run of the file. */
async function desk(browser) {
  const child = spawn(process.execPath, [path.join(root, 'dist', 'bin', 'tripstroke.js'), 'desk', '--no-open'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    let said = '';
    for await (const part of child.stdout) if ((said += part).includes('\n')) break;
    const [address] = /http:\S+/.exec(said);
    const page = await browser.newPage({ viewport: { width: 1120, height: 1090 }, locale: 'en-US' });
    const view = new URLSearchParams({ t: '30', set: 'start.pressure=122 psig', pinned: 'yes' });
    await page.goto(`${address}#${view}`);
    await page.waitForSelector('.was');
    // The time it took is another one each time.
    await page.evaluate(() => document.getElementById('took').remove());
    await page.screenshot({ path: path.join(pictures, 'desk.png') });
    await page.close();
  } finally {
    child.kill('SIGINT');
  }
}

mkdirSync(pictures, { recursive: true });
const open = await openBrowser();
try {
  await report(open);
  await desk(open);
} finally {
  await open.close();
  rmSync(work, { recursive: true, force: true });
}
