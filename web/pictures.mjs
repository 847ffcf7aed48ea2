// Makes the pictures of the README anew from the built program: `npm run pictures`, or some by name: `npm run pictures -- report`.
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const root = path.join(import.meta.dirname, '..');
const program = path.join(root, 'dist', 'bin', 'tripstroke.js');

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

/** The desk with the demo 30 s into a run from less pressure, beside the pinned run of the file. */
async function desk(browser) {
  const child = spawn(process.execPath, [program, 'desk', '--no-open'], { stdio: ['ignore', 'pipe', 'inherit'] });
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
    await page.screenshot({ path: path.join(root, 'web', 'pictures', 'desk.png') });
    await page.close();
  } finally {
    child.kill('SIGINT');
  }
}

/** The report on the demo with the mains lost at a bad moment: verdict, valves, and the first curves of the outage. */
async function report(browser) {
  const folder = mkdtempSync(path.join(tmpdir(), 'tripstroke-pictures-'));
  const file = path.join(folder, 'report.html');
  const args = ['replay', 'scenarios/mill-creek.yaml', '--set', 'power.lostAt=62 min', '--no-files', '--report', file];
  spawnSync(process.execPath, [program, ...args], { cwd: root });
  const page = await browser.newPage({ viewport: { width: 920, height: 900 }, locale: 'en-US' });
  await page.goto(pathToFileURL(file).href);
  await page.click('text=Outage');
  // Words follow the curves a moment later.
  await page.waitForTimeout(400);
  const clip = { x: 0, y: 0, width: 920, height: 1040 };
  await page.screenshot({ path: path.join(root, 'web', 'pictures', 'report.png'), fullPage: true, clip });
  await page.close();
  rmSync(folder, { recursive: true });
}

const browser = await openBrowser();
try {
  const wanted = process.argv.slice(2);
  const all = { desk, report };
  for (const name of wanted.length > 0 ? wanted : Object.keys(all)) await all[name](browser);
} finally {
  await browser.close();
}
