/** The engine, off the page's own thread. One request after the other; the page sees to it that few wait. */
import { provideMathUnits, UnitsNotLoaded } from '../../scenarios/mathUnits.ts';
import { examine, reportPage, traceCsv } from './examine.ts';
import type { Reply, Request } from './protocol.ts';
import { searchWorst } from './worst.ts';
import { writeText } from './writeText.ts';

/** This thread: the library of types knows only windows. */
const thread = self as unknown as {
  onmessage: ((message: MessageEvent<Request>) => void) | null;
  postMessage(reply: Reply): void;
};

function answer(request: Request): Reply {
  const { id } = request;
  switch (request.kind) {
    case 'run':
      return { kind: 'run', id, answer: examine(request, (told) => thread.postMessage({ kind: 'verdict', id, told })) };
    case 'csv':
      return { kind: 'csv', id, text: traceCsv(request) };
    case 'report':
      return { kind: 'report', id, text: reportPage(request) };
    case 'write':
      return { kind: 'write', id, written: writeText(request.text, request.variant, request.file) };
    case 'worst': {
      const onProgress = (share: number) => thread.postMessage({ kind: 'progress', id, share });
      return { kind: 'worst', id, worst: searchWorst(request, onProgress) };
    }
  }
}

/** The library of units is larger than all the rest, and most files do without it. */
async function withUnits(request: Request): Promise<Reply> {
  try {
    return answer(request);
  } catch (error) {
    if (!(error instanceof UnitsNotLoaded)) throw error;
    provideMathUnits((await import('./mathUnits.ts')).units);
    return answer(request);
  }
}

thread.onmessage = async ({ data: request }) => {
  try {
    // Copied whole: once an array has been handed over, V8 asks at every access to any array whether that one has.
    thread.postMessage(await withUnits(request));
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    thread.postMessage({ kind: 'failed', id: request.id, message });
  }
};
