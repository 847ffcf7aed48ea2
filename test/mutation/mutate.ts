/**
 * Mutation testing: how many wrong programs the tests notice. A seeded sample of the mutants of models/ and sim/ is tried
 * one by one; every mutant runs, in a fresh process, the figures from outside and the test files that reach its place, the
 * quickest first, until one fails.
 *
 *   npm run mutate -- --count 400 --seed 1 --journal mutation.jsonl --minutes 60
 *   npm run mutate -- --report
 *
 * What was found is kept in the journal; the same command goes on where it ended. A journal belongs to one state of the
 * sources and tests. A mutant that computes five times as long as a file takes by itself has timed out. Laws are tried on an
 * eighth of their cases. `judged.json` says of survivors that somebody has looked at why nothing notices them.
 */
import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import seedrandom from 'seedrandom';
import { type Answer, type Copy, makeCopy } from './copy.ts';
import { mutantsOf, mutated, noting } from './mutants.ts';

const { values } = parseArgs({
  options: {
    count: { type: 'string', default: '400' },
    seed: { type: 'string', default: '1' },
    journal: { type: 'string', default: 'mutation.jsonl' },
    minutes: { type: 'string', default: '600' },
    report: { type: 'boolean', default: false },
  },
});
const started = Date.now();
const root = process.cwd();
const LAW_SHARE = 1 / 8;
/** Descriptions of settings, codes and re-exports. */
const WITHOUT_LOGIC = ['models/parameters.ts', 'models/events.ts', 'models/index.ts', 'sim/index.ts'];
/** Files that take no longer by themselves, s, come first. */
const QUICK_s = 1;
const TESTS = ['models', 'engine', 'behaviour', 'laws'];

/** `open`: no quick file notices, the slow ones have not been tried. */
type Outcome = 'killed' | 'survived' | 'timed out' | 'open';

interface Tried {
  readonly what: 'mutant';
  readonly id: number;
  readonly name: string;
  readonly outcome: Outcome;
  readonly by?: string;
  readonly computed_s: number;
}

/** One line of the journal: the baseline first, then what came of each mutant; the last line on one counts. */
type Entry = { readonly what: 'baseline'; readonly state: string; readonly answers: readonly Answer[] } | Tried;

const read = (file: string) => readFileSync(path.join(root, file), 'utf8');
const files = (folder: string, ends: string) =>
  readdirSync(path.join(root, folder))
    .filter((name) => name.endsWith(ends))
    .map((name) => `${folder}/${name}`)
    .sort();
const sources = ['sim', 'models'].flatMap((f) => files(f, '.ts')).filter((f) => !WITHOUT_LOGIC.includes(f));
const testFiles = ['checks', ...TESTS.flatMap((f) => files(`test/${f}`, '.test.ts')), 'test/examples.test.ts'];

/** Fisher and Yates; the first n of the order are a sample of n without replacement. */
function shuffled<T>(items: readonly T[], seed: string): T[] {
  const random = seedrandom(seed);
  const out = [...items];
  for (let i = out.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [out[i], out[j]] = [out[j]!, out[i]!];
  }
  return out;
}

const all = sources.flatMap((file) => mutantsOf(file, read(file)));
const sample = shuffled(all, values.seed).slice(0, Number(values.count));
const state = createHash('sha256')
  .update(JSON.stringify([values.seed, ...[...sources, ...testFiles.slice(1)].map(read)]))
  .digest('hex');

const journal: Entry[] = existsSync(values.journal)
  ? readFileSync(values.journal, 'utf8')
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => JSON.parse(line))
  : [];
const note = (entry: Entry): void => {
  journal.push(entry);
  appendFileSync(values.journal, `${JSON.stringify(entry)}\n`);
};

const latest = () => new Map(journal.flatMap((e) => (e.what === 'mutant' ? [[e.id, e] as const] : [])));

if (values.report) {
  report();
  process.exit(0);
}

/** Mutants are tried side by side, each in a copy of its own. */
const copies = Array.from({ length: availableParallelism() }, () => makeCopy(root));
process.on('exit', () => {
  for (const copy of copies) copy.remove();
});
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => process.exit(130));

let baseline = journal.find((e) => e.what === 'baseline');
if (baseline !== undefined && baseline.state !== state) {
  console.error(`${values.journal} belongs to other sources, tests or another seed: name a new file with --journal.`);
  process.exit(2);
}
if (baseline === undefined) {
  const [copy] = copies as [Copy];
  const places = shuffled(all, values.seed).map((m, id) => [id, m] as const);
  for (const file of sources)
    copy.write(
      file,
      noting(
        read(file),
        places.filter(([, m]) => m.file === file),
      ),
    );
  const answers = await copy.run({ files: testFiles, allowed_s: {}, lawShare: LAW_SHARE });
  const failed = answers.find((a) => a.failure !== undefined);
  if (failed !== undefined || answers.length <= testFiles.length) {
    console.error(`The tests fail without any change: ${JSON.stringify(failed?.failure ?? answers.at(-1))}`);
    process.exit(2);
  }
  for (const file of sources) copy.restore(file);
  writeFileSync(values.journal, '');
  note((baseline = { what: 'baseline', state, answers }));
}

const loading = new Set(baseline.answers[0]!.hits);
const reached = baseline.answers.slice(1).map((a) => ({ ...a, hits: new Set(a.hits) }));
const allowed_s = Object.fromEntries(baseline.answers.map((a) => [a.file, 5 + 5 * a.computed_s]));
/** Tries a mutant on files; what came of it. */
async function attempt(
  copy: Copy,
  id: number,
  toRun: readonly string[],
): Promise<Omit<Tried, 'outcome'> & { outcome?: Outcome }> {
  const mutant = sample[id]!;
  copy.write(mutant.file, mutated(read(mutant.file), mutant));
  const answers = toRun.length === 0 ? [] : await copy.run({ files: toRun, allowed_s, lawShare: LAW_SHARE });
  copy.restore(mutant.file);
  const computed_s = answers.reduce((sum, a) => sum + a.computed_s, 0);
  const tried = { what: 'mutant', id, name: mutant.name, computed_s } as const;
  const failed = answers.find((a) => a.failure !== undefined);
  if (failed !== undefined)
    return { ...tried, outcome: 'killed', by: `${failed.file}: ${failed.failure!.name.split('\n')[0]}` };
  return toRun.length > 0 && answers.length <= toRun.length ? { ...tried, outcome: 'timed out' } : tried;
}

/** Tries what nobody has taken yet, until time is up. */
async function tryAll(copy: Copy, ids: Iterable<number>, slow: boolean): Promise<void> {
  for (const id of ids) {
    const before = latest().get(id)?.outcome;
    if (before !== (slow ? 'open' : undefined)) continue;
    if (Date.now() - started > Number(values.minutes) * 60_000) return;
    const toRun = reached
      .filter((a) => a.computed_s > QUICK_s === slow && (loading.has(id) || a.hits.has(id)))
      .sort((a, b) => a.computed_s - b.computed_s)
      .map((a) => a.file);
    const tried = await attempt(copy, id, toRun);
    const entry = { ...tried, outcome: tried.outcome ?? (slow ? 'survived' : 'open') };
    note(entry);
    console.log(`${id} ${entry.outcome}: ${entry.name}`);
  }
}

// First the quick files for all of the sample, so that what is tried when time is up is a sample too; then the slow ones
// for what is left open.
for (const slow of [false, true]) {
  const ids = sample.keys();
  await Promise.all(copies.map((copy) => tryAll(copy, ids, slow)));
}
report();

/** Score of Wilson for a share, at 95 %. */
function wilson(share: number, n: number): readonly [number, number] {
  const z = 1.96;
  const middle = share + (z * z) / (2 * n);
  const half = z * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n));
  return [(middle - half) / (1 + (z * z) / n), (middle + half) / (1 + (z * z) / n)];
}

function report(): void {
  const entries = [...latest().values()];
  const of = (outcome: string) => entries.filter((e) => e.outcome === outcome);
  const [killed, survived, open] = (['killed', 'survived', 'open'] as const).map((outcome) => of(outcome).length);
  const ended = killed! + survived! + open!;
  const percent = (x: number) => `${(100 * x).toFixed(1)} %`;
  const share = killed! / ended;
  const judged = JSON.parse(read('test/mutation/judged.json')) as Record<string, Record<string, string>>;
  const reasonOf = (name: string) => Object.keys(judged).find((reason) => judged[reason]![name] !== undefined);
  console.log(
    `${entries.length} of ${all.length} mutants, seed ${values.seed}: ${killed} killed, ${survived} survived, ` +
      `${open} open (slow files not tried), ${of('timed out').length} timed out.\nKilled of those that ended: ${percent(share)}, ` +
      `Wilson 95 %: ${wilson(share, ended).map(percent).join(' to ')}.`,
  );
  for (const reason of [...Object.keys(judged), undefined]) {
    const names = [...of('survived'), ...of('open')]
      .map((e) => sample[e.id]!.name)
      .filter((name) => reasonOf(name) === reason);
    console.log(`\n${reason ?? 'not judged'}: ${names.length}`);
    for (const name of names) console.log(`  ${name}${reason === undefined ? '' : ` (${judged[reason]![name]})`}`);
  }
}
