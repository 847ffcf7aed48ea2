/** Blocks of cases given out to worker threads. What comes back is put in its place by number, whoever did it and when. */
import { Worker } from 'node:worker_threads';

/** Worker threads that load their module while the work is still being read. */
export interface Crew {
  readonly workers: readonly Worker[];
  /** Rejects with the first error of a worker, whenever it comes. */
  readonly failed: Promise<never>;
  /** Ends them, whatever they are at. */
  dismiss(): Promise<void>;
}

/** @param module of the workers: the first message is what it needs to begin, then come numbers of blocks; it posts `{ block, rows }` */
export function startCrew(module: URL, count: number): Crew {
  const workers = Array.from({ length: count }, () => new Worker(module));
  const failed = new Promise<never>((_, reject) => workers.forEach((worker) => void worker.on('error', reject)));
  // Heard when the work is given out, and of no concern before.
  failed.catch(() => {});
  return {
    workers,
    failed,
    dismiss: async () => void (await Promise.all(workers.map((worker) => worker.terminate()))),
  };
}

export interface PoolOptions {
  readonly crew: Crew;
  /** What the workers need to begin; copied to each. */
  readonly data: unknown;
  readonly blocks: readonly number[];
  readonly done: (block: number, rows: Float64Array) => void;
  /** Ends the work early; what was done until then has been handed to `done`. */
  readonly signal: AbortSignal;
}

/** Blocks that lie ready at a worker, so that it need not wait for the next. */
const AHEAD = 2;

/** @returns when all blocks are done or the work was ended; throws what a worker throws */
export async function runBlocks({ crew, data, blocks, done, signal }: PoolOptions): Promise<void> {
  if (blocks.length === 0 || signal.aborted) return;
  let next = 0;
  let open = 0;
  const finished = new Promise<void>((resolve) => {
    signal.addEventListener('abort', () => resolve(), { once: true });
    for (const worker of crew.workers) {
      const give = () => {
        if (next >= blocks.length) return;
        open++;
        worker.postMessage(blocks[next++]);
      };
      worker.on('message', ({ block, rows }: { block: number; rows: Float64Array }) => {
        if (signal.aborted) return;
        open--;
        done(block, rows);
        give();
        if (open === 0 && next >= blocks.length) resolve();
      });
      worker.postMessage(data);
      for (let a = 0; a < AHEAD; a++) give();
    }
  });
  await Promise.race([finished, crew.failed]);
}
