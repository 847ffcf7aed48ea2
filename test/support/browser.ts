/** A browser for tests: one that is named, one that is installed, or one from the packages. */
import { existsSync } from 'node:fs';
import path from 'node:path';
import { type Browser, chromium } from 'playwright-core';

const QUIET = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

function onPath(): string | undefined {
  const folders = (process.env['PATH'] ?? '').split(path.delimiter);
  for (const name of ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable'])
    for (const folder of folders) if (existsSync(path.join(folder, name))) return path.join(folder, name);
  return undefined;
}

/** Unpacks it, once for all test processes: two at a time would be in each other's way. */
export async function packaged(): Promise<{ executablePath: string; args: readonly string[] } | undefined> {
  if (process.platform !== 'linux' || process.arch !== 'x64') return undefined;
  // Told so, the package also unpacks the libraries and fonts that a bare machine lacks.
  process.env['AWS_LAMBDA_JS_RUNTIME'] ??= 'nodejs20.x';
  const { default: packed } = await import('@sparticuz/chromium');
  // One process for everything would end with the first page that is closed.
  const args = packed.args.filter((arg) => arg !== '--single-process');
  return { executablePath: await packed.executablePath(), args };
}

let shared: Promise<Browser | string> | undefined;

/**
 * The browser all browser tests share, or the reason why there is none. Under continuous integration (CI set) a missing browser
 * is an error; on a user's machine tests skip with the reason.
 */
export async function openBrowser(): Promise<Browser | string> {
  const before = await shared;
  if (typeof before === 'object' && !before.isConnected()) shared = undefined;
  shared ??= launch().catch((error: unknown) => {
    const reason = `no browser for these tests: ${error instanceof Error ? error.message.split('\n')[0] : String(error)}`;
    if (process.env['CI']) throw new Error(reason);
    return reason;
  });
  return shared;
}

async function launch(): Promise<Browser> {
  const named = process.env['CHROME_PATH'] ?? onPath();
  if (named !== undefined) return chromium.launch({ executablePath: named, args: QUIET });
  const found = await packaged();
  if (found === undefined) throw new Error('set CHROME_PATH to Chromium or Chrome, or put one on the PATH');
  return chromium.launch({ executablePath: found.executablePath, args: [...found.args, ...QUIET] });
}

export default async function setup(): Promise<void> {
  if (process.env['CHROME_PATH'] === undefined && onPath() === undefined) await packaged();
}
