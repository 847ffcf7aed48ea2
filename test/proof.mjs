/**
 * Every check in its long form, two at a time: `npm run proof`, or `npm run proof -- laws hostile` for the lines whose name
 * holds one of the words. Ends with a table and exits with 1 where anything failed. TRIPSTROKE_LANES=1 takes one processor.
 * Mutation testing is apart.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const vitest = path.join(path.dirname(fileURLToPath(import.meta.resolve('vitest/package.json'))), 'vitest.mjs');
const LANES = Number(process.env.TRIPSTROKE_LANES ?? 2);

const laws = (what, ...names) => ({
  what: `laws: ${what}`,
  files: names.map((name) => `test/laws/${name}.test.ts`),
  env: { TRIPSTROKE_TIMES: '10', TRIPSTROKE_STATISTICS: '1' },
});

/** The long ones first, so that the lanes end together. */
const steps = [
  { what: 'hostile files and overrides', files: ['test/hostile/'], env: { TRIPSTROKE_RUNS: '10000' } },
  { what: 'random units with faults and an outage', files: ['test/laws/campaign'], env: { TRIPSTROKE_RUNS: '2000' } },
  { what: 'altered programs are noticed', files: ['test/canary/'], env: { TRIPSTROKE_CANARY: 'all' } },
  laws('conservation and bounds', 'conservation'),
  laws('skipped scans, saved runs', 'modes'),
  { what: 'second solution', files: ['test/engine/secondSolution'], env: { TRIPSTROKE_RUNS: '180' } },
  { what: 'hidden causes found again', files: ['test/studies/hiddenCauses'], env: { TRIPSTROKE_RUNS: '100' } },
  laws('order of parts, units, time', 'symmetry', 'units'),
  laws('what can only help', 'monotonicity'),
  laws('steps, order, network, search', 'tolerance', 'order', 'network', 'search', 'findings', 'regressions', 'refit'),
];
const named = steps.flatMap(({ files }) => files);
steps.push({
  what: 'all other tests',
  files: [],
  env: { TRIPSTROKE_TIMES: '5' },
  // Whole folders and files by their beginning.
  others: named.map((file) => `${file}${file.endsWith('/') ? '**' : '*'}`),
});
steps.push({ what: 'selfcheck of the program as built', program: ['dist/bin/tripstroke.js', 'selfcheck', '--json'] });

const words = process.argv.slice(2);
const chosen = steps.filter(({ what }) => words.length === 0 || words.some((word) => what.includes(word)));
const folder = mkdtempSync(path.join(tmpdir(), 'tripstroke-proof-'));
const began = Date.now();

function run(args, env = {}) {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, args, { cwd: root, env: { ...process.env, NO_COLOR: '1', ...env } });
    const parts = [];
    let stdout = '';
    child.stdout.on('data', (part) => {
      parts.push(part);
      stdout += part;
    });
    child.stderr.on('data', (part) => parts.push(part));
    child.on('close', (code) => resolve({ code, stdout, output: Buffer.concat(parts).toString() }));
  });
}

/** How many cases, what failed, and what else the tests had to say. */
async function carryOut(step, index) {
  if (step.program !== undefined) {
    const { code, stdout, output } = await run(step.program);
    const checks = code === 0 || code === 1 ? JSON.parse(stdout).checks : [];
    const failed = checks.filter(({ within }) => !within).map(({ quantity }) => quantity);
    return { cases: checks.length, failed: code === 0 || failed.length > 0 ? failed : [output], notes: [], output };
  }
  const json = path.join(folder, `${index}.json`);
  const { code, output } = await run(
    [
      ...[vitest, 'run', ...step.files, '--maxWorkers=1', '--reporter=default', '--reporter=json'],
      ...[`--outputFile.json=${json}`, ...(step.others ?? []).map((file) => `--exclude=${file}`)],
    ],
    step.env,
  );
  const tests = read(json).flatMap(({ assertionResults }) => assertionResults);
  const failed = tests.filter(({ status }) => status === 'failed').map(({ fullName }) => fullName);
  if (code !== 0 && failed.length === 0) failed.push(`vitest ended with ${code}`);
  const done = tests.filter(({ status }) => status === 'passed' || status === 'failed');
  return {
    cases: done.reduce((sum, { meta }) => sum + (meta?.cases ?? 1), 0),
    failed,
    notes: done.flatMap(({ meta }) => meta?.statistic ?? []),
    output,
  };
}

function read(file) {
  try {
    return JSON.parse(readFileSync(file, 'utf8')).testResults;
  } catch {
    return [];
  }
}

const results = [];
let next = 0;
async function lane() {
  for (;;) {
    const index = next++;
    if (index >= chosen.length) return;
    const step = chosen[index];
    const start = Date.now();
    const result = await carryOut(step, index);
    const seconds = (Date.now() - start) / 1000;
    results[index] = { ...result, what: step.what, seconds };
    console.log(`${clock()}  ${result.failed.length === 0 ? 'ok    ' : 'FAILED'}  ${step.what}`);
    if (result.failed.length > 0) {
      const log = path.join(folder, `${index}.log`);
      writeFileSync(log, result.output);
      console.log(`       ${result.failed.slice(0, 5).join('\n       ')}\n       ${log}`);
    }
  }
}
const clock = () => {
  const s = Math.round((Date.now() - began) / 1000);
  return `${String(Math.floor(s / 60)).padStart(3)}:${String(s % 60).padStart(2, '0')}`;
};

await Promise.all(Array.from({ length: LANES }, lane));

const failures = results.filter(({ failed }) => failed.length > 0).length;
const width = Math.max(...results.map(({ what }) => what.length));
const row = (what, cases, seconds, result) =>
  console.log(`${what.padEnd(width)}  ${String(cases).padStart(7)}  ${String(seconds).padStart(7)}  ${result}`);
for (const note of results.flatMap(({ notes }) => notes)) console.log(`\n${note}`);
console.log('');
row('what', 'cases', 'seconds', 'result');
for (const { what, cases, seconds, failed } of results)
  row(what, cases, seconds.toFixed(0), failed.length === 0 ? 'ok' : `${failed.length} FAILED`);
const total = results.reduce((sum, { cases }) => sum + cases, 0);
row('all', total, ((Date.now() - began) / 1000).toFixed(0), failures === 0 ? 'ok' : 'FAILED');
if (failures === 0) rmSync(folder, { recursive: true, force: true });
process.exitCode = failures === 0 ? 0 : 1;
