/** `campaign` from end to end: workers, parts, interruptions and refusals. */
import { existsSync, readdirSync, readFileSync, statSync, truncateSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Ended, PASSING, Workplace } from './support.ts';

/** One valve that half of the pressures do not move in time, and another that most do. */
const UNSURE = `${PASSING}uncertain:
  - { path: start.pressure, from: 60 psig, to: 100 psig }
  - { path: valves.XV-7.friction.running, distribution: triangular, from: -20 %, to: +40 % }
  - { path: oil.temperature, distribution: normal, mean: 60 degF, deviation: 8 degF }
`.replace('breakaway: 90 lbf', 'breakaway: 95 lbf');

const FILES = ['cases.csv', 'report.txt', 'result.json', 'worst.txt'] as const;

let place: Workplace;
let whole: Ended;
/** What one worker made of it all at once. */
let expected: Readonly<Record<string, string>>;

const results = (folder: string) =>
  Object.fromEntries(FILES.map((f) => [f, readFileSync(place.at(folder, f), 'utf8')]));
/** The report names its folder. */
const plain = (files: Readonly<Record<string, string>>) => ({
  ...files,
  'report.txt': files['report.txt']!.replace(/[^\s]*campaign\/worst/, 'worst'),
});
const RUN = ['campaign', 'unsure.yaml', '--runs', '240', '--csv'];

beforeAll(async () => {
  place = new Workplace();
  place.write('unsure.yaml', UNSURE);
  place.write('good.yaml', PASSING);
  whole = await place.run([...RUN, '--workers', '1', '--out', 'one']);
  expected = plain(results('one/unsure.campaign'));
});
afterAll(() => place.remove());

describe('the answer', () => {
  test('probability first, then strokes, margins, inputs, the worst; cautions last; 80 columns', () => {
    expect(whole.stderr).toBe('');
    expect(whole.code).toBe(1);
    expect(whole.stdout).toMatch(
      /^[\d.]+ % MET: The required stroke meets the requirement in \d+ of 240 runs; 95 %\n?/,
    );
    const order = [
      'XV-7 closes',
      'Least margin of a run',
      '####',
      'start.pressure',
      'Worst',
      'tripstroke replay',
      'Sampled:',
      'Caution:',
    ];
    const places = order.map((word) => whole.stdout.indexOf(word));
    expect(places.every((at) => at >= 0)).toBe(true);
    expect([...places].sort((a, b) => a - b)).toEqual(places);
    for (const line of whole.stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    expect(expected['report.txt']).toBe(whole.stdout.replace('one/unsure.campaign/worst', 'worst'));
  });

  test('counts agree between report, JSON and CSV', () => {
    const json = JSON.parse(expected['result.json']!) as {
      met: { value: number };
      worst: { number: number; spare: number }[];
    };
    const [head, ...lines] = expected['cases.csv']!.trim()
      .split('\n')
      .map((line) => line.split(','));
    expect(head!.slice(0, 5)).toEqual(['case', 'met', 'margin beyond the wanted one', 'of', 'start.pressure [psig]']);
    expect(lines).toHaveLength(240);
    const met = lines.filter((line) => line[1] === '1').length;
    expect(met).toBeGreaterThan(20);
    expect(met).toBeLessThan(220);
    expect(json.met.value).toBe(met / 240);
    expect(whole.stdout).toContain(`in ${met} of 240 runs`);
    const [worst] = [...lines].sort((a, b) => Number(a[2]) - Number(b[2]));
    expect(json.worst[0]).toMatchObject({ number: Number(worst![0]), spare: Number(worst![2]) });
    for (const line of lines) expect(Number(line[4]) >= 60 && Number(line[4]) <= 100).toBe(true);
  });

  test('the worst case is replayed by the line that is printed', async () => {
    const command = /tripstroke (replay unsure\.yaml(?:\\\n|.)*)\n/.exec(whole.stdout)![1]!.replaceAll('\\\n', ' ');
    const args = [...command.matchAll(/"([^"]*)"|(\S+)/g)].map((m) => (m[1] ?? m[2])!);
    const { code, stdout } = await place.here([...args, '--no-files', '--json']);
    expect(code).toBe(1);
    const outcome = (JSON.parse(stdout) as { verdict: { strokes: { outcome: string }[] } }).verdict.strokes[0]!.outcome;
    const { worst } = JSON.parse(expected['result.json']!) as { worst: { outcome: string }[] };
    expect(worst[0]!.outcome).toBe(outcome);
  });

  test('--json prints the result and nothing else; --no-files leaves no trace', async () => {
    const before = readdirSync(place.folder);
    const { stdout, stderr } = await place.run([...RUN.slice(0, 4), '--json', '--no-files']);
    expect(stderr).toBe('');
    expect(stdout).toBe(expected['result.json']);
    expect(readdirSync(place.folder)).toEqual(before);
  });

  test('another seed, other cases; the same in the end', async () => {
    const { stdout } = await place.run([
      ...RUN.slice(0, 4),
      '--json',
      '--no-files',
      '--seed',
      'other',
      '--sampling',
      'latin hypercube',
    ]);
    const other = JSON.parse(stdout) as {
      seed: string;
      met: { value: number; low: number; high: number };
      interval: string;
    };
    const here = JSON.parse(expected['result.json']!) as typeof other;
    expect(other).toMatchObject({ seed: 'other', interval: 'replicates' });
    expect(stdout).not.toBe(expected['result.json']);
    // Both intervals of 95 %: apart with a probability of well under 1 %.
    expect(other.met.low).toBeLessThan(here.met.high);
    expect(here.met.low).toBeLessThan(other.met.high);
  });
});

describe('the same bytes', () => {
  test.each(['2', '3'])('by %s workers', async (workers) => {
    const { code } = await place.run([...RUN, '--workers', workers, '--out', `w${workers}`]);
    expect(code).toBe(1);
    expect(plain(results(`w${workers}/unsure.campaign`))).toEqual(expected);
  });

  test('in three parts, merged in any order', async () => {
    const folders: string[] = [];
    for (const part of [1, 2, 3]) {
      const { stdout, stderr } = await place.run([...RUN, '--shard', `${part}/3`, '--out', 'parts']);
      expect({ stderr, said: stdout.split(' runs')[0] }).toEqual({
        stderr: '',
        said: expect.stringMatching(new RegExp(`^Part ${part} of 3 is done: \\d+ of 240$`)),
      });
      folders.unshift(`parts/unsure.campaign.part-${part}-of-3`);
    }
    const short = await place.here(['campaign', 'merge', ...folders.slice(1), '--out', 'merged']);
    expect(short.code).toBe(2);
    expect(short.stderr).toMatch(/of 240 runs are missing: give the folders of all 3 parts/);
    const { code, stderr } = await place.here(['campaign', 'merge', ...folders, '--csv', '--out', 'merged']);
    expect({ code, stderr }).toEqual({ code: 1, stderr: '' });
    expect(plain(results('merged/unsure.campaign'))).toEqual(expected);
  }, 120_000);

  test('killed in the middle and resumed, even with a record cut in two', async () => {
    const folder = 'killed/unsure.campaign';
    const journal = place.at(folder, 'journal');
    const { signal } = await place.run([...RUN, '--out', 'killed', '--workers', '1'], {
      started: (child) => {
        const timer = setInterval(() => {
          if (!existsSync(journal) || statSync(journal).size < 2400) return;
          clearInterval(timer);
          child.kill('SIGKILL');
        }, 2);
        child.once('exit', () => clearInterval(timer));
      },
    });
    expect(signal).toBe('SIGKILL');
    expect(existsSync(place.at(folder, 'result.json'))).toBe(false);
    truncateSync(journal, statSync(journal).size - 100);
    const kept = statSync(journal).size;

    const without = await place.here([...RUN, '--out', 'killed']);
    expect(without.code).toBe(2);
    expect(without.stderr).toMatch(/holds this campaign, \d+ of 240 runs done; --resume goes on from there/);
    const other = await place.here([...RUN, '--out', 'killed', '--seed', '8']);
    expect(other.code).toBe(2);
    expect(other.stderr).toMatch(/holds another campaign \(seed 1\); --force/);
    expect(statSync(journal).size).toBe(kept);

    const { code } = await place.run([...RUN, '--out', 'killed', '--resume', '--workers', '2']);
    expect(code).toBe(1);
    expect(plain(results(folder))).toEqual(expected);
  }, 120_000);

  test('Ctrl-C: 130, says how to go on, and going on gives the same', async () => {
    const journal = place.at('stopped/unsure.campaign/journal');
    const stopped = await place.run([...RUN, '--out', 'stopped', '--workers', '1'], {
      started: (child) => {
        const timer = setInterval(() => {
          if (!existsSync(journal) || statSync(journal).size < 1000) return;
          clearInterval(timer);
          child.kill('SIGINT');
        }, 2);
        child.once('exit', () => clearInterval(timer));
      },
    });
    expect(stopped.code).toBe(130);
    expect(stopped.stdout).toBe('');
    expect(stopped.stderr).toMatch(
      /interrupted after \d+ of 240 runs, \d+ of them not met; the same command with --resume/,
    );
    const { code } = await place.run([...RUN, '--out', 'stopped', '--resume']);
    expect(code).toBe(1);
    expect(plain(results('stopped/unsure.campaign'))).toEqual(expected);
  }, 120_000);
});

describe('refused, with what to write instead', () => {
  test.each([
    [['unsure.yaml', '--runs', '0'], /whole number from 1 to 1000000/],
    [['unsure.yaml', '--runs', 'many'], /whole number/],
    [['unsure.yaml', '--sampling', 'random'], /plain, latin hypercube, sobol/],
    [['unsure.yaml', '--sampling', 'sobol', '--runs', '1000'], /write --runs 1024/],
    [['unsure.yaml', '--workers', '0'], /whole number from 1 to 256/],
    [['unsure.yaml', '--shard', '3/2'], /for instance 2\/8/],
    [['unsure.yaml', '--shard', '1/2', '--no-files'], /--no-files leaves nothing on disk/],
    [['good.yaml'], /good\.yaml: nothing in it is uncertain/],
    [['absent.yaml'], /no such file/],
    [['unsure.yaml', '--set', 'uncertain.0.path=start.presure'], /--set:1:\d+: error: .*did you mean "pressure"/],
    [['merge', 'nowhere'], /nowhere: no journal of a campaign can be read there/],
    [[], /missing required argument 'file'/],
  ])('%j', async (args, message) => {
    const { code, stdout, stderr } = await place.here(['campaign', ...args]);
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).toMatch(message);
  });
});
