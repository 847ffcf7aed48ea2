/**
 * Runs checks in a process of its own: argument 1 is an Errand as JSON; answers go to the parent one by one. Ends at the
 * first file that fails.
 */
import { Worker } from 'node:worker_threads';
import type { Answer, Errand } from './copy.ts';

const errand = JSON.parse(process.argv[2]!) as Errand;
const { runDeclared } = (await import('vitest' as string)) as typeof import('./standIn.ts');

const reached = new Uint8Array(100_000);
Object.assign(globalThis, { reached });

// Another thread watches how much this process has computed: a loop without end stops nothing else.
const limit = new Float64Array(new SharedArrayBuffer(8));
limit[0] = Infinity;
new Worker(
  `const { workerData } = require('node:worker_threads');
   setInterval(() => { if (process.cpuUsage().user / 1e6 > workerData[0]) process.kill(process.pid, 'SIGKILL'); }, 200);`,
  { eval: true, workerData: limit },
).unref();
const computed_s = () => process.cpuUsage().user / 1e6;

const send = (answer: Answer) => new Promise((done) => process.send!(answer, done));
const message = (error: unknown) => (error instanceof Error ? error.message : String(error));

/** Carries one thing out; whether what follows is worth doing. */
async function examine(file: string, allowed_s: number, work: () => Promise<Answer['failure']>): Promise<boolean> {
  reached.fill(0);
  const from = computed_s();
  limit[0] = from + allowed_s;
  let failure: Answer['failure'];
  try {
    failure = await work();
  } catch (error) {
    failure = { name: 'loading', message: message(error) };
  }
  const hits = [...reached.keys()].filter((id) => reached[id] === 1);
  await send({ file, computed_s: computed_s() - from, failure, hits });
  return failure === undefined;
}

async function checks(): Promise<Answer['failure']> {
  const { CHECKS, runChecks } = await import('../../scenarios/checks/index.ts');
  const missed = runChecks(CHECKS).filter((r) => !r.within);
  if (missed.length === 0) return undefined;
  return {
    name: missed.map(({ check }) => `${check.subject}: ${check.quantity}`).join('\n'),
    message: `${missed.length} of ${CHECKS.length} figures outside their tolerance`,
  };
}

delete process.env['TRIPSTROKE_RUNS'];
process.env['TRIPSTROKE_TIMES'] = String(errand.lawShare);
const loaded = await examine('', errand.allowed_s[''] ?? Infinity, async () => {
  await import('../support/setup.ts');
  await import('../../sim/index.ts');
  await import('../../models/index.ts');
  await import('../../scenarios/index.ts');
  return undefined;
});
if (loaded) {
  for (const file of errand.files) {
    const fine = await examine(file, errand.allowed_s[file] ?? Infinity, async () => {
      if (file === 'checks') return checks();
      await import(`../../${file.replace(/\.ts$/, '.js')}`);
      return runDeclared();
    });
    if (!fine) break;
  }
}
process.disconnect();
