/** The desk in a browser: the compiled command serves it, and the page says what the command line says. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { createServer } from 'node:net';
import { fileURLToPath } from 'node:url';
import axe from 'axe-core';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadScenario } from '../../scenarios/load.ts';
import { replay } from '../../scenarios/replay.ts';
import { examine, reportPage } from '../../web/desk/examine.ts';
import { writeText } from '../../web/desk/writeText.ts';
import { PASSING, PROGRAM, Workplace } from '../cli/support.ts';
import { openBrowser } from '../support/browser.ts';

const place = new Workplace();
const mill = readFileSync(fileURLToPath(new URL('../../scenarios/mill-creek.yaml', import.meta.url)), 'utf8');

interface Served {
  readonly address: string;
  readonly port: number;
  end(): Promise<number | null>;
}

/** The command as a user starts it, until Ctrl-C. */
async function serve(...args: string[]): Promise<Served> {
  const child = spawn(process.execPath, [PROGRAM, 'desk', ...args, '--no-open'], { cwd: place.folder });
  let said = '';
  for await (const part of child.stdout) {
    said += String(part);
    if (said.includes('\n')) break;
  }
  const address = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(said);
  if (address === null) throw new Error(`the desk did not start: ${said}`);
  return {
    address: address[0],
    port: Number(address[1]),
    async end() {
      const ended = once(child, 'exit');
      child.kill('SIGINT');
      return (await ended)[0] as number | null;
    },
  };
}

let served: Served;
beforeAll(async () => {
  place.write('mill.yaml', mill);
  served = await serve('mill.yaml');
});
afterAll(async () => {
  await served.end();
  place.remove();
});

// ------------------------------------------------------------------------------------------------------- the server

interface Answered {
  readonly status: number | undefined;
  readonly headers: Readonly<Record<string, string | string[] | undefined>>;
  readonly body: string;
}

/** A request as it is written, whatever a browser would make of it. */
function get(path: string, headers: Readonly<Record<string, string>> = {}, method = 'GET'): Promise<Answered> {
  return new Promise((resolve, reject) => {
    const asked = request({ host: '127.0.0.1', port: served.port, path, method, headers }, (response) => {
      let body = '';
      response.setEncoding('utf8').on('data', (part: string) => {
        body += part;
      });
      response.on('end', () => resolve({ status: response.statusCode, headers: response.headers, body }));
    });
    asked.on('error', reject).end();
  });
}

describe('the server', () => {
  test('answers its own address and page alone, and nothing but reading', async () => {
    const own = `127.0.0.1:${served.port}`;
    expect((await get('/')).status).toBe(200);
    expect((await get('/', { host: `localhost:${served.port}` })).status).toBe(200);
    for (const host of ['attacker.example', `attacker.example:${served.port}`, '127.0.0.1:1', `${own}.example`])
      expect((await get('/scenario.json', { host })).status, host).toBe(403);
    for (const origin of ['http://attacker.example', 'null', `https://${own}`, `http://${own}.example`])
      expect((await get('/scenario.json', { origin })).status, origin).toBe(403);
    expect((await get('/scenario.json', { origin: `http://${own}` })).status).toBe(200);
    for (const method of ['POST', 'PUT', 'DELETE', 'OPTIONS']) expect((await get('/', {}, method)).status).toBe(405);
    expect(await get('/', {}, 'HEAD')).toMatchObject({ status: 200, body: '' });
  });

  test('serves the files of the page and nothing beside them', async () => {
    const paths = ['/../package.json', '/%2e%2e/package.json', '/..%2f..%2fpackage.json', '/assets/../../commands.js'];
    for (const path of [...paths, '/mill.yaml', '/etc/passwd', '//etc/passwd', '/constructor', '/assets', '/assets/'])
      expect((await get(path)).status, path).toBe(404);
    expect(JSON.parse((await get('/scenario.json')).body)).toEqual({ file: 'mill.yaml', text: mill });
  });

  test('forbids the page to run, load or send anything else', async () => {
    const { headers, body } = await get('/');
    const policy = String(headers['content-security-policy']).split('; ');
    for (const rule of ["default-src 'none'", "script-src 'self'", "worker-src 'self'", "style-src 'self'"])
      expect(policy).toContain(rule);
    for (const rule of ["connect-src 'self'", "frame-ancestors 'none'", "form-action 'none'", "base-uri 'none'"])
      expect(policy).toContain(rule);
    expect(policy.join(' ')).not.toMatch(/unsafe|\*/);
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(body).not.toMatch(/<style|style="|onclick|<script>(?!<)/);
  });

  test('is under 400 KB compressed in all', async () => {
    const { gzipSync } = await import('node:zlib');
    const { body } = await get('/');
    const first = [...body.matchAll(/(?:src|href)="\.(\/assets\/[^"]+)"/g)].map((m) => m[1]!);
    const parts = new Set(['/', '/report.js', ...first]);
    // Scripts name what they load later.
    for (const part of parts)
      for (const [, name] of (await get(part)).body.matchAll(
        /["'`](?:[\w./-]*\/)?([\w-]+-[\w-]{8}\.(?:js|css|svg))["'`]/g,
      ))
        parts.add(`/assets/${name}`);
    expect([...parts].some((name) => name.includes('worker'))).toBe(true);
    let bytes = 0;
    for (const part of parts) bytes += gzipSync((await get(part)).body).length;
    expect(bytes).toBeLessThan(400_000);
    // Nothing served is left out of the sum by a name that was not found.
    expect(bytes).toBeGreaterThan(150_000);
  });

  test('ends with Ctrl-C, and says why where it cannot begin', async () => {
    const other = await serve('mill.yaml');
    expect(await other.end()).toBe(0);
    const taken = createServer().listen(0, '127.0.0.1');
    await once(taken, 'listening');
    const { port } = taken.address() as { port: number };
    const [refused, missing] = await Promise.all([
      place.run(['desk', 'mill.yaml', '--no-open', '--port', String(port)]),
      place.run(['desk', 'mil.yaml', '--no-open']),
    ]);
    taken.close();
    expect([refused.code, refused.stdout]).toEqual([2, '']);
    expect(refused.stderr).toContain(`port ${port} is taken`);
    expect(missing.stderr).toContain('did you mean "mill.yaml"?');
  });
});

test('the engine behind the page gives what the command gives, to the last bit', async () => {
  const variant = {
    changes: { 'panel.pressure.cutOut': '141 psig', 'start.pressure': '121 psig' },
    actions: [],
    faults: [],
    leftOut: [],
  };
  const asked = { file: 'mill.yaml', text: mill, variant, units: undefined };
  const answer = examine(asked);
  const sets = ['--set', 'panel.pressure.cutOut=141 psig', '--set', 'start.pressure=121 psig'];
  const { stdout } = await place.run(['replay', 'mill.yaml', ...sets, '--report', 'r.html', '--json', '--no-files']);
  const { work, ...want } = JSON.parse(stdout);
  expect(answer.ran).toBe(true);
  const got = JSON.parse(JSON.stringify(answer.ran && answer.result, (_key, part: unknown) => part ?? null));
  // Rows that are kept count as work; the command that writes no files keeps none.
  expect(got.work.limit).toBe(work.limit);
  expect({ ...got, work: undefined }).toEqual({ ...want, work: undefined });
  const script = readFileSync(
    fileURLToPath(new URL('../../dist/web/bundle/report.js', import.meta.url)),
    'utf8',
  ).trim();
  // The command is run with --json too, which changes nothing in its report.
  expect(reportPage({ ...asked, name: 'r.html', script })).toBe(readFileSync(place.at('r.html'), 'utf8'));
});

test('items of a list are taken from the text wherever they stand, and an empty list stays', () => {
  const list = '[{ at: 1 s, do: acknowledge }, { at: 2 s, do: reset trip }, { at: 3 s, do: acknowledge }]';
  const block = 'actions:\n  # of a list\n  - { at: 1 s, do: acknowledge } # one\n  - at: 2 s\n    do: reset trip\n';
  const [one, two, three] = [
    '{ at: 1 s, do: acknowledge }',
    '{ at: 2 s, do: reset trip }',
    '{ at: 3 s, do: acknowledge }',
  ];
  const cases: [string, string[], string][] = [
    [`actions: ${list}\n`, [one], 'actions: [{ at: 2 s, do: reset trip }, { at: 3 s, do: acknowledge }]\n'],
    [`actions: ${list}\n`, [two, three], 'actions: [{ at: 1 s, do: acknowledge }]\n'],
    [`actions: ${list}\n`, [one, two, three], 'actions: []\n'],
    [block, [one], 'actions:\n  # of a list\n  - at: 2 s\n    do: reset trip\n'],
    [block, [two], 'actions:\n  # of a list\n  - { at: 1 s, do: acknowledge } # one\n'],
    [block, [one, two], 'actions:\n  # of a list\n  [] # one\n'],
  ];
  for (const [actions, leftOut, left] of cases) {
    const variant = { changes: {}, actions: [], faults: [], leftOut };
    expect(writeText(`${PASSING}${actions}`, variant, 'f.yaml')).toEqual({ text: `${PASSING}${left}` });
  }
});

// --------------------------------------------------------------------------------------------------------- the page

const opened = await openBrowser();
const browser = opened as Browser;

describe.skipIf(typeof opened === 'string')('the page', () => {
  let context: BrowserContext;
  let page: Page;
  const asked: string[] = [];
  const complaints: string[] = [];

  beforeAll(async () => {
    context = await browser.newContext({
      locale: 'en-US',
      viewport: { width: 1280, height: 900 },
      acceptDownloads: true,
    });
    await context.addInitScript(() => {
      addEventListener('securitypolicyviolation', (e) =>
        console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`),
      );
      // As on a computer without a language, and one that the browser itself does not know.
      Object.defineProperty(Navigator.prototype, 'language', { get: () => 'en-US@posix', configurable: true });
    });
    page = await context.newPage();
    page.on('request', (r) => asked.push(r.url()));
    page.on('console', (message) => {
      if (message.type() === 'error') complaints.push(message.text());
    });
    page.on('pageerror', (error) => complaints.push(error.message));
  });
  // Closed with the browser: a page of the packaged browser takes it along when it goes.

  /** Opens the page anew and waits for its first verdict. */
  async function open(hash = ''): Promise<void> {
    await page.goto('about:blank');
    await page.goto(served.address + hash);
    await page.waitForSelector('main:not([aria-busy]) #strokes tbody tr, #refused:not([hidden])');
  }
  const shows = (id: string, text: string | RegExp) =>
    page.waitForFunction(
      ([where, source]) =>
        document.querySelector('main[aria-busy]') === null &&
        new RegExp(source!).test(document.getElementById(where!)?.textContent ?? ''),
      [id, text instanceof RegExp ? text.source : text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')] as const,
      { timeout: 5000 },
    );
  /** Moves a slider as a hand does: many moves, of which only the last counts. */
  const drag = (path: string, ...to: number[]) =>
    page.evaluate(
      ([id, values]) => {
        const slider = document
          .getElementById(id!)!
          .closest('.setting')!
          .querySelector<HTMLInputElement>('input[type=range]')!;
        for (const value of values) {
          slider.value = String(value);
          slider.dispatchEvent(new Event('input', { bubbles: true }));
        }
      },
      [`set-${path}`, to] as const,
    );
  async function download(button: string): Promise<string> {
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: button }).click(),
    ]);
    return readFileSync(await file.path(), 'utf8');
  }
  /** The verdict of the library on a text: that it is the command's too is shown once, above. */
  const verdictOf = (text: string, ...overrides: string[]) =>
    replay(loadScenario(text, { file: 'mill.yaml', overrides }).scenario!, { trace: false }).result.verdict;
  const rest = (verdict: { text: string }) => verdict.text.slice(1);

  test('replays what is dragged, with the numbers of the command line', async () => {
    await open();
    expect(await page.textContent('#verdict')).toMatch(/^MET all 5 trip strokes of 5 valves are complete/);
    const curves = '#plots .plot-canvas';
    await page.locator('#curves').scrollIntoViewIfNeeded();
    const before = await page.getAttribute(curves, 'aria-label');
    await drag('start.pressure', 137, 130, 122.5, 121, 119);
    await shows('verdict', 'NOT MET');
    const set = ['--set', 'start.pressure=119 psig'];
    const [kept, printed] = await Promise.all([
      place.run(['replay', 'mill.yaml', ...set, '--json', '--out', 'results', '--force']),
      place.run(['replay', 'mill.yaml', ...set, '--no-files']),
    ]);
    const json = JSON.parse(kept.stdout);
    const csv = readFileSync(place.at('results', 'mill', 'trace.csv'), 'utf8');
    await shows('verdict', rest(json.verdict));
    expect(await page.getAttribute(curves, 'aria-label')).not.toBe(before);
    // The same digits as are printed, and the same numbers to the last bit but for 1e-9: other engines may round exp otherwise.
    for (const row of await page.$$eval('#strokes tbody tr:not(.reason)', (rows) =>
      rows.map((r) => [...r.querySelectorAll('th, .number, .word')].map((c) => c.firstChild?.textContent ?? '')),
    ))
      for (const cell of row) expect(printed.stdout).toContain(cell);
    const shown = JSON.parse(await download('Download the result'));
    // How much work it took depends on the last bits.
    for (const one of [shown, json]) one.work.spent = 0;
    expect(differences(shown, json, 'result')).toEqual([]);
    // It compares what there is to compare.
    expect(differences({ ...shown, end: { ...shown.end, pressure_Pa: 1 } }, json, 'result')).toHaveLength(1);
    expect(shown.events.map((e: { time_s: number }) => Math.round(e.time_s * 100))).toEqual(
      json.events.map((e: { time_s: number }) => Math.round(e.time_s * 100)),
    );
    expect(await download('Download the trace')).toBe(csv);
    expect(await page.textContent('#command')).toBe('tripstroke replay mill.yaml --set "start.pressure=119 psig"');
    expect(await download('Download the report')).toContain(rest(json.verdict));
  });

  test('keeps comments in the scenario that is saved, and says the same of it again', async () => {
    await open(
      '#set=panel.pressure.cutIn%3D121+psig&set=power.backAt%3D61+s&action=%7B+at%3A+9+s%2C+do%3A+close+valve%2C+item%3A+V-341+%7D',
    );
    const saved = await download('Download the scenario');
    const lines = saved.split('\n');
    const changed = mill.split('\n').filter((line) => !lines.includes(line));
    expect(changed).toEqual(['    cutIn: { tag: PS-313, at: 118 psig, accuracy: 1 psi }']);
    expect(lines).toContain('    cutIn: { tag: PS-313, at: 121 psig, accuracy: 1 psi }');
    expect(lines).toContain('  backAt: 61 s');
    expect(lines).toContain('  - { at: 9 s, do: close valve, item: V-341 }');
    expect(await page.textContent('#verdict')).toContain(rest(verdictOf(saved)));
  });

  test('is worked by keyboard alone, and tells what came of it', async () => {
    await open('#t=12');
    /** Presses a key until something has the focus. */
    const pressUntil = async (key: string, id: string) => {
      for (let k = 0; k < 60; k++) {
        await page.keyboard.press(key);
        if ((await page.evaluate(() => document.activeElement?.id)) === id) return;
      }
      throw new Error(`${key} does not come to ${id}`);
    };
    await pressUntil('Tab', 'mains-off');
    await page.keyboard.press('Enter');
    await shows('block', 'at 12.00 s');
    await pressUntil('Shift+Tab', 'skip');
    await page.keyboard.press('Enter');
    await pressUntil('Tab', 'set-start.pressure');
    await page.keyboard.press('Control+A');
    await page.keyboard.type('121');
    await shows('live', /^NOT MET: /);
    await shows('live', rest(verdictOf(mill, 'start.pressure=121 psig', 'power.lostAt=12 s')));
    expect(await page.evaluate(() => document.getElementById('live')!.getAttribute('aria-live'))).toBe('polite');
    await shows('unit-time', '12');
    expect(await page.textContent('#unit-state')).toMatch(/^mains off; /);
  });

  test('compares with the pinned run, and its address brings both back', async () => {
    await open();
    await page.getByRole('button', { name: 'Pin this run' }).click();
    await drag('start.pressure', 121);
    await shows('verdict', 'NOT MET');
    await shows('strokes', 'pinned 5.85 % force');
    await page.waitForFunction(() => location.hash.includes('pinned=yes'));
    const hash = new URL(page.url()).hash;
    await open(hash);
    await shows('strokes', 'pinned 5.85 % force');
    await shows('verdict', 'NOT MET');
    await page.getByRole('button', { name: 'Back to the pinned run' }).click();
    await shows('verdict', 'all 5 trip strokes');
  });

  test('puts a fault in, sets a selector and takes both out again', async () => {
    await open('#t=5');
    await page.getByLabel('Part that fails').selectOption('V-322');
    await page.getByLabel('What fails').selectOption({ label: 'load above specification' });
    await page.getByRole('button', { name: 'Put it in' }).click();
    const faulted = verdictOf(mill, 'faults=[{fault: load above specification, item: V-322, at: 5 s, share: 25 %}]');
    expect(faulted.met).toBe(false);
    await shows('verdict', rest(faulted));
    await page.locator('input[name="selector-P-311"][value="off"]').check();
    await shows('hands', 'do: set to off, item: P-311');
    await shows('drawing', 'in off');
    await shows('drawing', 'cut-out');
    for (const what of ['set to off', 'load above']) await page.getByRole('button', { name: what }).click();
    await shows('verdict', 'all 5 trip strokes');
  });

  test('leaves out an action of the file and brings it back, and saves the file without it', async () => {
    await open('#t=5');
    await page.getByText('Actions and faults in the file: 5').click();
    await page.getByRole('button', { name: 'Leave out: at: 0 s, do: open valve, item: V-332' }).click();
    const without = /^ {2}- .*item: V-332 .*\n/m;
    expect(mill).toMatch(without);
    const less = mill.replace(without, '');
    await shows('hands', 'item: V-332 left out Bring back');
    await shows('verdict', rest(verdictOf(less)));
    expect(await download('Download the scenario')).toBe(less);
    const hash = await page.evaluate(async () => {
      while (!location.hash.includes('without=')) await new Promise((done) => setTimeout(done, 20));
      return location.hash;
    });
    await open(hash);
    await shows('hands', 'item: V-332 left out Bring back');
    await page.getByText('Actions and faults in the file: 5').click();
    await page.getByRole('button', { name: 'Bring back: at: 0 s, do: open valve, item: V-332' }).click();
    await shows('verdict', 'all 5 trip strokes');
    expect(await page.textContent('#command')).toBe('tripstroke replay mill.yaml');
  });

  test('says what is wrong with a file at its line, and shows text as text', async () => {
    await open();
    const broken = mill.replace('ratedFlow: 6.5 gal/min', 'ratedFlow: 6.5 gallons<img src=x onerror=document.title=1>');
    await page.setInputFiles('#open', { name: 'broken.yaml', mimeType: 'text/yaml', buffer: Buffer.from(broken) });
    await shows('refused', 'NOT RUN');
    const at = broken.split('\n').findIndex((line) => line.includes('onerror')) + 1;
    expect(await page.textContent('#text-errors')).toMatch(new RegExp(`^Line ${at} pumps.0.ratedFlow: `));
    expect(await page.textContent('#numbers .care')).toBe(`▸ ${at}`);
    await page.getByRole('button', { name: `Line ${at}` }).click();
    expect(await page.evaluate(() => getSelection()?.toString())).toContain('onerror');
    const hostile = mill
      .replace(/^title:.*$/m, 'title: "<b id=bad>x</b><script>document.body.id=1</script>"')
      .replace('service: cooling-water ball valve', 'service: "<img src=x onerror=alert(1)>"');
    await page.setInputFiles('#open', { name: '<i>.yaml', mimeType: 'text/yaml', buffer: Buffer.from(hostile) });
    await shows('title', '<b id=bad>');
    await shows('strokes', '<img src=x onerror=alert(1)>');
    expect(await page.$$eval('#bad, body script, img', (all) => all.length)).toBe(0);
  });

  test('finds the worst moment and replays it', async () => {
    // Yards are in no list of usual units: mathjs knows them.
    const hand = PASSING.replace('stroke: 9 in', 'stroke: 0.25 yd');
    await page.setInputFiles('#open', { name: 'hand.yaml', mimeType: 'text/yaml', buffer: Buffer.from(hand) });
    await shows('title', 'Hand-made skid');
    await page.getByRole('button', { name: 'Find it' }).click();
    await shows('worst-says', /XV-7 closes: .* At the best of /);
    place.write('hand.yaml', hand);
    const { stdout } = await place.run(['worst', 'hand.yaml', '--json']);
    const { proof } = JSON.parse(stdout);
    expect(await page.textContent('#verdict')).toContain(rest(verdictOf(hand)));
    expect(await page.textContent('#worst-says .stamp')).toBe(proof.met ? 'MET' : 'NOT MET');
    await page.getByRole('button', { name: 'Replay the worst moment' }).click();
    await shows('settings-say', /differ/);
  });

  test('says how long it takes from a move to the new verdict, and that is not long', async () => {
    await open();
    const times: number[] = [];
    for (let k = 0; k < 12; k++) {
      await drag('start.pressure', 120 + k);
      await shows('block', `${120 + k}.0 psig`);
      times.push(Number(/\d+/.exec((await page.textContent('#took'))!)![0]));
    }
    const middle = times.sort((a, b) => a - b)[6]!;
    console.log(`desk: move of a setpoint to new verdict, median of 12: ${middle} ms`);
    // 50 ms is wanted on a quiet machine; tests share theirs, and this notices only what is far slower than that.
    expect(middle).toBeLessThan(2000);
  });

  test('has no serious fault for those who hear it or see it small, in light and dark', async () => {
    await open('#t=30');
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      await page.evaluate(axe.source);
      // Only colours differ between the two.
      const { violations } = await page.evaluate(
        (which) =>
          (window as unknown as { axe: typeof axe }).axe.run({
            resultTypes: ['violations'],
            ...(which === 'dark' ? { runOnly: ['color-contrast', 'link-in-text-block'] } : {}),
          }),
        scheme,
      );
      const grave = violations.filter((v) => v.impact === 'serious' || v.impact === 'critical');
      expect(grave.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(', ')}`)).toEqual([]);
    }
    await page.setViewportSize({ width: 390, height: 844 });
    await page.waitForSelector('svg.narrow');
    const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect(wide).toBeLessThanOrEqual(room!);
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  test('asked nobody else for anything, and kept to its policy', () => {
    expect(asked.length).toBeGreaterThan(10);
    for (const url of asked)
      expect(url).toMatch(new RegExp(`^(about:blank$|blob:)?(http://127\\.0\\.0\\.1:${served.port}/|$)`));
    expect(complaints).toEqual([]);
  });
});

/** Where two differ: numbers by more than 1e-9 of themselves, everything else at all. */
function differences(got: unknown, want: unknown, where: string): string[] {
  if (typeof want === 'number') {
    const near = typeof got === 'number' && Math.abs(got - want) <= 1e-9 * Math.max(1, Math.abs(want));
    return near ? [] : [`${where}: ${got}, not ${want}`];
  }
  if (typeof want !== 'object' || want === null) return Object.is(got, want) ? [] : [`${where}: ${got}, not ${want}`];
  if (typeof got !== 'object' || got === null || String(Object.keys(got)) !== String(Object.keys(want)))
    return [`${where} has other keys`];
  return Object.keys(want).flatMap((key) => differences(got[key as never], want[key as never], `${where}.${key}`));
}
