// Makes the pictures of the README: node web/pictures.mjs, after the build, with a Chromium as the tests find it.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const root = path.join(import.meta.dirname, '..');
const pictures = path.join(import.meta.dirname, 'pictures');
const work = mkdtempSync(path.join(tmpdir(), 'tripstroke-pictures-'));
const tripstroke = (...args) =>
  spawnSync(process.execPath, [path.join(root, 'dist', 'bin', 'tripstroke.js'), ...args], { cwd: root });

async function browser() {
  const named =
    process.env.CHROME_PATH ?? ['/usr/bin/chromium', '/usr/bin/google-chrome'].find((file) => existsSync(file));
  if (named !== undefined) return chromium.launch({ executablePath: named, args: ['--no-sandbox', '--disable-gpu'] });
  const { default: packed } = await import('@sparticuz/chromium');
  return chromium.launch({ executablePath: await packed.executablePath(), args: packed.args });
}

/** The report on the failure at the worst time of the demo: verdict, valves and the first curves. */
async function report(open) {
  const file = path.join(work, 'report.html');
  tripstroke('replay', 'scenarios/mill-creek.yaml', '--set', 'power.lostAt=62 min', '--no-files', '--report', file);
  const page = await open.newPage({ locale: 'en-US', viewport: { width: 1180, height: 800 } });
  await page.goto(pathToFileURL(file).href);
  await page.click('text=Outage');
  // Words follow the curves a moment later.
  await page.waitForTimeout(400);
  await page.screenshot({
    path: path.join(pictures, 'report.png'),
    clip: { x: 0, y: 0, width: 1180, height: 1500 },
    fullPage: true,
  });
  await page.close();
}

mkdirSync(pictures, { recursive: true });
const open = await browser();
try {
  await report(open);
} finally {
  await open.close();
  rmSync(work, { recursive: true, force: true });
}
