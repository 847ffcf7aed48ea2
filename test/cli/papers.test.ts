/** `sheet`, `measured` and `dossier` as a user meets them. */
import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { firstDifference, manifestText, readManifest, thisProgram } from '../../bin/dossier.ts';
import { dossierCommand } from '../../bin/dossierCommand.ts';
import { loadAt } from '../../bin/sheets.ts';
import { readReadings } from '../../studies/sheetCsv.ts';
import { PASSING, Workplace } from './support.ts';

const place = new Workplace();
const scenarios = fileURLToPath(new URL('../../scenarios/', import.meta.url));
beforeAll(() => {
  place.write('weir.yaml', readFileSync(path.join(scenarios, 'ashlar-weir.yaml')));
  for (const visit of ['commissioning', 'a-year-later'])
    place.write(`${visit}.csv`, readFileSync(path.join(scenarios, `readings/ashlar-weir-${visit}.csv`)));
  place.write('good.yaml', PASSING);
});
afterAll(() => place.remove());

const narrow = (text: string) => {
  for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
};
const flat = (text: string) => text.replace(/\s+/g, ' ');

describe('sheet', () => {
  test('is one page that asks for nothing and a table, cautions first', async () => {
    const { code, stdout, stderr } = await place.here(['sheet', 'weir.yaml']);
    expect([code, stderr]).toEqual([0, '']);
    narrow(stdout);
    expect(stdout).toMatch(/^SHEET: 52 lines in 3 parts, predicted for 18\.0 degC by \d+ runs\.$/m);
    expect(flat(stdout)).toContain('Then: tripstroke measured weir.yaml results/weir-sheet.csv');
    const page = readFileSync(place.at('results/weir-sheet.html'), 'utf8');
    expect(page.indexOf('Before any work')).toBeGreaterThan(0);
    expect(page.indexOf('Before any work')).toBeLessThan(page.indexOf('1. Contacts'));
    for (const part of ['Instruments', 'Failures to provoke', 'Restoring', 'Signatures', 'How the numbers were had'])
      expect(page).toContain(part);
    expect(page).not.toMatch(/(src|href)="(?!#|data:)|url\(|<script/);
    const csv = readReadings(readFileSync(place.at('results/weir-sheet.csv'), 'utf8'));
    expect('problem' in csv ? csv.problem : csv.rows.size).toBe(52);
  });

  test('at another temperature says so, and air, shell and oil have it', async () => {
    const { stdout } = await place.here(['sheet', 'weir.yaml', '--out', 'cold.csv', '--temperature', '2 degC']);
    expect(stdout).toContain('predicted for 2.0 degC');
    expect(readFileSync(place.at('cold.csv'), 'utf8')).toContain('\ntemperature,2 degC\n');
    expect(existsSync(place.at('cold.html'))).toBe(false);
    const text = `${PASSING.replace('oil: 19 gal }', 'oil: 19 gal, airTemperature: 80 degF }')}`;
    const { scenario } = loadAt({ text, file: 'x', set: [], units: 'us', temperature: '2 degC' });
    const { oil, ambientTemperature_K, start } = scenario!.plant;
    for (const T of [oil.temperature_K, ambientTemperature_K, start.gasTemperature_K, start.wallTemperature_K])
      expect(T).toBeCloseTo(275.15, 9);
  });

  test('a table with readings in it is not written over unasked', async () => {
    place.write('kept.csv', readFileSync(place.at('commissioning.csv')));
    const args = ['sheet', 'weir.yaml', '--out', 'kept.csv'];
    const { code, stderr } = await place.here(args);
    expect([code, stderr]).toEqual([
      2,
      expect.stringMatching(/kept\.csv has readings in it: move it, give another --out/),
    ]);
    expect(readFileSync(place.at('kept.csv'), 'utf8')).toBe(readFileSync(place.at('commissioning.csv'), 'utf8'));
    expect((await place.here([...args, '--force'])).code).toBe(0);
    expect((await place.here(args)).code).toBe(0);
  });

  test.each([
    [['--temperature', '300 degF'], /--temperature: "300 degF" is no temperature to test a unit at: -40/],
    [['--temperature', '20'], /--temperature: "20" has no unit/],
    [['--set', 'pumps.P-9.ratedFlow=1 L/min'], /no item "P-9"/],
  ])('refuses %j', async (more, words) => {
    const { code, stderr } = await place.here(['sheet', 'weir.yaml', '--out', 'none.html', ...more]);
    expect([code, stderr]).toEqual([2, expect.stringMatching(words)]);
    expect(existsSync(place.at('none.html'))).toBe(false);
  });
});

describe('measured', () => {
  test('the commissioning day passes', async () => {
    const { code, stdout, stderr } = await place.here([
      'measured',
      'weir.yaml',
      'commissioning.csv',
      '--out',
      'day.html',
    ]);
    expect([code, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/^MET: all 52 lines pass; 6 of them had only to be written down\.$/m);
    const page = readFileSync(place.at('day.html'), 'utf8');
    expect(page).toContain('<svg');
    expect(page).not.toMatch(/(src|href)="(?!#|data:)|<script|NaN|undefined/);
  });

  test('a year later it does not: a switch has sunk, and the standby never came', async () => {
    const args = ['measured', 'weir.yaml', 'a-year-later.csv', '--before', 'commissioning.csv', '--out', 'visit.html'];
    const { code, stdout } = await place.here(args);
    expect(code).toBe(1);
    narrow(stdout);
    expect(stdout).toMatch(/^NOT MET: 5 of 52 lines do not pass: 3 outside, 2 without a reading\.$/m);
    expect(flat(stdout)).toMatch(/D6a .*yes no yes expected, no found/);
    expect(flat(stdout)).toContain(
      'Perhaps: D6a "The standby takes over when the duty is not proven": does not come with LS-72',
    );
    // It truly sank from 561 to 555 mm, read to 1.5 mm either time.
    expect(flat(stdout)).toMatch(/C3f LS-72 \(duty start\): falling: acts: -[3-9] mm since the last visit/);
    expect(existsSync(place.at('visit.html'))).toBe(true);
    const json = JSON.parse((await place.here([...args.slice(0, 5), '--json', '--no-files'])).stdout);
    expect([json.met, json.counts.outside, json.lines.length, json.cautions.length]).toEqual([false, 3, 52, 2]);
  });

  test.each([
    [
      'a word for a number',
      (t: string) => t.replace(',falling: acts,mm,470,464,476,', '$&x'),
      /^odd\.csv:13:\d+: error: "x\d+" is not a number/m,
    ],
    [
      'another state of the file',
      (t: string) => t.replace(/sha-256,..../, 'sha-256,0000'),
      /^odd\.csv:4:9: error: these are readings of another scenario/m,
    ],
    ['no sheet', () => 'time,level\n1,2\n', /^odd\.csv:1:1: error: this is no sheet/m],
    ['UTF-16', (t: string) => Buffer.from(`\ufeff${t}`, 'utf16le'), /odd\.csv:1:1: error: the file is UTF-16/],
  ])('refuses %s, with its place', async (_, change, words) => {
    place.write('odd.csv', change(readFileSync(place.at('commissioning.csv'), 'utf8')));
    const { code, stdout, stderr } = await place.here(['measured', 'weir.yaml', 'odd.csv']);
    expect([code, stdout, stderr]).toEqual([2, '', expect.stringMatching(words)]);
  });

  test('readings of a unit that was changed since are refused', async () => {
    const { code, stderr } = await place.here(['measured', 'weir.yaml', 'commissioning.csv', '--set', 'oil.grade=68']);
    expect([code, stderr]).toEqual([
      2,
      expect.stringMatching(/:5:\d+: error: the sheet was made with no changes to the file/),
    ]);
  });
});

describe('dossier', () => {
  const QUICK = ['--service', '1 h', '--instants', '3'];
  const here = { date: 'never', node: process.version, system: `${process.platform} ${process.arch}` };

  beforeAll(async () => {
    const { code, stdout, stderr } = await place.here(['dossier', 'good.yaml', '--out', 'filed', ...QUICK]);
    expect([code, stderr]).toEqual([0, '']);
    narrow(stdout);
    expect(stdout).toMatch(/^MET: at the worst moment\./);
    expect(flat(stdout)).toMatch(/Digest: [0-9a-f]{64}/);
    expect(flat(stdout)).not.toContain('Only those with');
  }, 60_000);

  test('of a part of the faults says so', async () => {
    const args = ['dossier', 'good.yaml', '--out', 'part', '--only', 'pilot', ...QUICK];
    expect(flat((await place.here(args)).stdout)).toContain('Only those with "pilot" in them were put in');
  });

  /** Hashes of a changed copy looked at in this process: exit code and what is said. */
  async function looked(change: (folder: string) => void): Promise<{ code: number; text: string }> {
    const copy = mkdtempSync(path.join(place.folder, 'copy-'));
    cpSync(place.at('filed'), copy, { recursive: true });
    change(copy);
    let text = '';
    const out = vi.spyOn(process.stdout, 'write').mockImplementation((part) => {
      text += String(part);
      return true;
    });
    const code = await dossierCommand(undefined, { verify: copy, hashes: true }, here);
    out.mockRestore();
    rmSync(copy, { recursive: true });
    return { code, text };
  }
  const names = () => readdirSync(place.at('filed'));

  test('comes out the same, to the byte, from its folder alone', async () => {
    const { code, stdout, stderr } = await place.here(['dossier', '--verify', 'filed']);
    expect([code, stderr]).toEqual([0, '']);
    expect(flat(stdout)).toContain(
      'SAME: the dossier is as it was filed: 14 files, made again and compared to the byte.',
    );
    expect(names()).toHaveLength(15);
    expect(await looked(() => {})).toMatchObject({ code: 0 });
    const page = readFileSync(place.at('filed/index.html'), 'utf8');
    for (const words of ['What is not modelled', 'Assumptions', 'Single faults', 'How to check it', 'Stored pressure'])
      expect(page).toContain(words);
    // Every link leads to a file of the folder.
    for (const [, link] of page.matchAll(/href="([^"#]+)"/g)) expect(names()).toContain(link);
  });

  test('one byte, in any file, first, middle or last', async () => {
    for (const name of names())
      for (const share of [0, 0.5, 1]) {
        const { code, text } = await looked((folder) => {
          const bytes = readFileSync(path.join(folder, name));
          const at = Math.min(bytes.length - 1, Math.floor(share * bytes.length));
          bytes[at]! ^= 1;
          writeFileSync(path.join(folder, name), bytes);
        });
        expect([code, text.includes(name)], `${name} at ${share}`).toEqual([1, true]);
      }
  });

  test('a number, a line end, a blank more', async () => {
    for (const [name, from, to] of [
      ['verdict.json', /"margin": 0\.\d/, '"margin": 0.9'],
      ['manifest.json', /"bytes": 1/, '"bytes": 2'],
      ['manifest.json', /"service_s": 3600/, '"service_s": 7200'],
      ['manifest.json', /"node": "v\d+/, '"node": "v99'],
      ['manifest.json', /\n$/, '\n\n'],
      ['scenario.yaml', /\n/g, '\r\n'],
    ] as const) {
      const { code, text } = await looked((folder) => {
        const place_ = path.join(folder, name);
        const before = readFileSync(place_, 'utf8');
        const after = before.replace(from, to);
        expect(after).not.toBe(before);
        writeFileSync(place_, after);
      });
      expect([code, text.includes(name)], `${name} ${from}`).toEqual([1, true]);
    }
  });

  test('renamed, missing, added: each by its name', async () => {
    const renamed = await looked((f) => renameSync(path.join(f, 'worst.txt'), path.join(f, 'best.txt')));
    expect(renamed.text).toMatch(/^worst\.txt +missing$/m);
    expect(renamed.text).toMatch(/^best\.txt +not in the manifest$/m);
    expect(renamed.code).toBe(1);
    const missing = await looked((f) => rmSync(path.join(f, 'faults.csv')));
    expect([missing.code, /^faults\.csv +missing$/m.test(missing.text)]).toEqual([1, true]);
    const added = await looked((f) => writeFileSync(path.join(f, 'note.txt'), 'hm'));
    expect([added.code, /^note\.txt +not in the manifest$/m.test(added.text)]).toEqual([1, true]);
  });

  test('who rewrites the manifest too is found out by making it again', async () => {
    const copy = place.at('forged');
    cpSync(place.at('filed'), copy, { recursive: true });
    const manifest = readManifest(readFileSync(path.join(copy, 'manifest.json'), 'utf8'));
    if ('problem' in manifest) throw new Error(manifest.problem);
    const files = new Map(manifest.files.map(({ name }) => [name, readFileSync(path.join(copy, name), 'utf8')]));
    const text = files.get('verdict.txt')!;
    const better = text
      .replace(/least margin \d/, 'least margin 9')
      .replace(/least\n +margin \d/, (m) => m.replace(/\d$/, '9'));
    expect(better).not.toBe(text);
    files.set('verdict.txt', better);
    writeFileSync(path.join(copy, 'verdict.txt'), better);
    const forged = manifestText({ files, title: manifest.scenario.title }, manifest.options, manifest.made);
    // Another version, so that it is said; the digest is right.
    writeFileSync(path.join(copy, 'manifest.json'), forged);
    const { code, stdout } = await place.here(['dossier', '--verify', copy]);
    expect(code).toBe(1);
    narrow(stdout);
    expect(stdout).toMatch(/^DIFFERS: 1 difference; made again/m);
    expect(flat(stdout)).toMatch(/verdict\.txt line \d+: ".*margin 9.*" is filed/);
  });

  test('another version is said', async () => {
    const { text } = await looked((folder) => {
      const at = path.join(folder, 'manifest.json');
      const { digest: _, ...open } = JSON.parse(readFileSync(at, 'utf8'));
      expect(open.program).toBe(thisProgram);
      writeFileSync(at, JSON.stringify({ ...open, program: 'tripstroke 0.0.1' }));
    });
    expect(text).toMatch(/not written as a manifest is/);
  });

  test('is never written over or into what stands there', async () => {
    const { code, stderr } = await place.here(['dossier', 'good.yaml', '--out', 'filed', ...QUICK]);
    expect([code, stderr]).toEqual([2, 'tripstroke: filed is not empty, and is left alone; give another --out\n']);
    const none = await place.here(['dossier', '--verify', 'results']);
    expect([none.code, none.stderr]).toEqual([
      2,
      'tripstroke: results is no dossier: there is no manifest.json in it\n',
    ]);
  });

  test.each([
    [['good.yaml'], /write "tripstroke dossier FILE --out FOLDER"/],
    [['good.yaml', '--verify', 'filed'], /--verify takes the folder alone/],
    [['good.yaml', '--out', 'x', '--service', '3 parsecs'], /--service/],
    [['good.yaml', '--out', 'good.yaml'], /good\.yaml is a file/],
  ])('refuses %j', async (args, words) => {
    const { code, stderr } = await place.here(['dossier', ...args]);
    expect([code, stderr]).toEqual([2, expect.stringMatching(words)]);
    expect(existsSync('x')).toBe(false);
  });

  test('numbers agree to a millionth or one in their last digit where the machine is another kind, words to the letter', () => {
    const same = (a: string, b: string) => firstDifference(a, b, true) === undefined;
    expect(same('p 1234567.8 Pa', 'p 1234567.9 Pa')).toBe(true);
    expect(same('18.46 s', '18.47 s')).toBe(true);
    expect(same('18.46 s', '18.48 s')).toBe(false);
    expect(same('"x": 0.1234567890123', '"x": 0.1234567890999')).toBe(true);
    expect(same('"x": 1.234e-9', '"x": 1.235e-9')).toBe(false);
    expect(same('stalled', 'completed')).toBe(false);
    expect(same('1 a\n2 b', '1 a')).toBe(false);
    expect(firstDifference('18.46 s', '18.47 s', false)).toMatch(/line 1/);
  });
});
