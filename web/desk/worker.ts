/** The engine, off the page's own thread. One request after the other; the page sees to it that few wait. */
import math from 'mathjs/lib/browser/math.js';
import { provideMathUnits } from '../../scenarios/mathUnits.ts';
import { examine, traceCsv } from './examine.ts';
import type { Reply, Request } from './protocol.ts';
import { searchWorst } from './worst.ts';
import { writeText } from './writeText.ts';

provideMathUnits(math);

/** This thread: the library of types knows only windows. */
const thread = self as unknown as {
  onmessage: ((message: MessageEvent<Request>) => void) | null;
  postMessage(reply: Reply, transfer?: Transferable[]): void;
};

thread.onmessage = ({ data: request }) => {
  const { id } = request;
  try {
    switch (request.kind) {
      case 'run': {
        const answer = examine(request);
        thread.postMessage({ kind: 'run', id, answer }, answer.ran ? [answer.trace.cells.buffer] : []);
        break;
      }
      case 'csv':
        thread.postMessage({ kind: 'csv', id, text: traceCsv(request) });
        break;
      case 'write':
        thread.postMessage({ kind: 'write', id, written: writeText(request.text, request.variant, request.file) });
        break;
      case 'worst':
        thread.postMessage({
          kind: 'worst',
          id,
          worst: searchWorst(request, (share) => thread.postMessage({ kind: 'progress', id, share })),
        });
        break;
    }
  } catch (error) {
    thread.postMessage({ kind: 'failed', id, message: error instanceof Error ? error.message : String(error) });
  }
};
