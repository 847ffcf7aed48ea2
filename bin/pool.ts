/** Blocks of cases given out to worker threads. What comes back is put in its place by number, whoever did it and when. */
import { Worker } from 'node:worker_threads';

export interface PoolOptions {
  /** Module of the worker: it takes numbers of blocks and posts `{ block, rows }`. */
  readonly module: URL;
  /** What the worker needs to begin; copied to it. */
  readonly data: unknown;
  readonly workers: number;
  readonly blocks: readonly number[];
  readonly done: (block: number, rows: Float64Array) => void;
  /** Ends the work early; what was done until then has been handed to `done`. */
  readonly signal: AbortSignal;
}

/** Blocks that lie ready at a worker, so that it need not wait for the next. */
const AHEAD = 2;

/** @returns when all blocks are done or the work was ended; throws what a worker throws */
export async function runBlocks({ module, data, workers, blocks, done, signal }: PoolOptions): Promise<void> {
  if (blocks.length === 0 || signal.aborted) return;
  let next = 0;
  let open = 0;
  const crew: Worker[] = [];
  try {
    await new Promise<void>((resolve, reject) => {
      signal.addEventListener('abort', () => resolve(), { once: true });
      for (let k = 0; k < Math.min(workers, blocks.length); k++) {
        const worker = new Worker(module, { workerData: data });
        crew.push(worker);
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
        worker.on('error', reject);
        for (let a = 0; a < AHEAD; a++) give();
      }
    });
  } finally {
    await Promise.all(crew.map((worker) => worker.terminate()));
  }
}
