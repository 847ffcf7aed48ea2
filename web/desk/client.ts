/** The page's end of the worker: of runs the latest asked for is the next one made, whatever was asked for in between. */
import type { Answer, Reply, Request, RunRequest, Verdict, WorstFound } from './protocol.ts';

type Plain<R> = R extends Request ? Omit<R, 'kind' | 'id'> : never;
type Asked = Plain<RunRequest>;

/** A run that takes longer than this is given up when another one waits, ms. */
const PATIENCE_ms = 2500;

interface Waiting {
  readonly done: (reply: Reply) => void;
  readonly failed: (error: Error) => void;
}

const startWorker = (): Worker => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });

export interface Engine {
  /** Asks for a run. Only the latest of those that wait is made. */
  run(asked: Asked): void;
  /** Whether a run has been asked for that is not being made yet. */
  waiting(): boolean;
  /** A run, the trace as CSV, or the text with all changes, besides; it waits for its turn. Rejects where that fails. */
  examine(asked: Asked): Promise<Answer>;
  csv(asked: Asked): Promise<string>;
  /** The report, to be saved under a name, with the script that draws its curves. */
  report(asked: Asked, name: string, script: string): Promise<string>;
  write(asked: Asked): Promise<{ text: string } | { problem: string }>;
  /** Searches the worst moment in a thread of its own, until that is told to end. */
  worst(asked: Asked, onProgress: (share: number) => void): { readonly found: Promise<WorstFound>; stop(): void };
}

/**
 * Starts the engine.
 *
 * @param onVerdict told the verdict of a run ahead of its answer
 * @param onAnswer told the answer of each run made, unless it failed
 * @param onFault told what a fault of the program says
 */
export function startEngine(
  onVerdict: (told: Verdict) => void,
  onAnswer: (answer: Answer) => void,
  onFault: (message: string) => void,
): Engine {
  let worker = listen(startWorker());
  let id = 0;
  let running: { id: number; since: number } | undefined;
  let next: Asked | undefined;
  const waiting = new Map<number, Waiting>();

  function listen(made: Worker): Worker {
    made.onmessage = ({ data: reply }: MessageEvent<Reply>) => {
      if (reply.kind === 'verdict') {
        if (reply.id === running?.id) onVerdict(reply.told);
        return;
      }
      if (reply.id === running?.id) {
        running = undefined;
        if (reply.kind === 'run') onAnswer(reply.answer);
        else if (reply.kind === 'failed') onFault(reply.message);
        start();
        return;
      }
      const one = waiting.get(reply.id);
      waiting.delete(reply.id);
      if (reply.kind === 'failed') one?.failed(new Error(reply.message));
      else one?.done(reply);
    };
    made.onerror = (event) => {
      event.preventDefault();
      onFault(event.message || 'the engine could not be loaded');
    };
    return made;
  }

  function start(): void {
    if (next === undefined) return;
    if (running !== undefined) {
      if (performance.now() - running.since < PATIENCE_ms) return;
      worker.terminate();
      for (const one of waiting.values()) one.failed(new Error('given up for a newer run'));
      waiting.clear();
      worker = listen(startWorker());
    }
    running = { id: ++id, since: performance.now() };
    const request: Request = { ...next, kind: 'run', id };
    next = undefined;
    worker.postMessage(request);
  }

  type Kind = Exclude<Reply['kind'], 'verdict' | 'progress' | 'failed' | 'worst'>;
  type ReplyOf<K> = K extends 'csv' | 'report' ? { readonly text: string } : Extract<Reply, { kind: K }>;
  const ask = <K extends Kind>(kind: K, asked: Asked) =>
    new Promise<ReplyOf<K>>((resolve, reject) => {
      const request = { ...asked, kind, id: ++id } as Request;
      waiting.set(id, { done: (reply) => resolve(reply as ReplyOf<K>), failed: reject });
      worker.postMessage(request);
    });

  return {
    run(asked) {
      next = asked;
      start();
    },
    waiting: () => next !== undefined,
    examine: async (asked) => (await ask('run', asked)).answer,
    csv: async (asked) => (await ask('csv', asked)).text,
    report: async (asked, name, script) => {
      const whole = { ...asked, name, script };
      return (await ask('report', whole)).text;
    },
    write: async (asked) => (await ask('write', asked)).written,
    worst(asked, onProgress) {
      const own = startWorker();
      const found = new Promise<WorstFound>((resolve, reject) => {
        own.onmessage = ({ data: reply }: MessageEvent<Reply>) => {
          if (reply.kind === 'progress') return onProgress(reply.share);
          own.terminate();
          if (reply.kind === 'worst') resolve(reply.worst);
          else reject(new Error(reply.kind === 'failed' ? reply.message : 'no answer'));
        };
        own.onerror = (event) => reject(new Error(event.message));
        const request: Request = { ...asked, kind: 'worst', id: 0 };
        own.postMessage(request);
      });
      return { found, stop: () => own.terminate() };
    },
  };
}
