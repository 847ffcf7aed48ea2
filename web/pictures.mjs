// Makes the pictures of the README anew from the built program: `npm run pictures`.
import { spawn } from 'node:child_process';
import path from 'node:path';
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

const browser = await openBrowser();
try {
  await desk(browser);
} finally {
  await browser.close();
}
