/** One line on the terminal while a run takes long. */

const PATIENCE_ms = 1000;
const PERIOD_ms = 100;

export interface Progress {
  /**
   * @param share done, 0..1
   * @param detail more to say
   */
  readonly update: (share: number, detail?: string) => void;
  /** Takes the line away. */
  readonly clear: () => void;
}

/** Shows nothing in the first second, and nothing where standard error is no terminal. */
export function progressLine(name: string, stream: NodeJS.WriteStream = process.stderr, now = Date.now): Progress {
  const started = now();
  let last = started + PATIENCE_ms - PERIOD_ms;
  let shown = false;
  return {
    update(share, detail) {
      if (!stream.isTTY || now() - last < PERIOD_ms) return;
      last = now();
      shown = true;
      const text = `${name}: ${Math.floor(share * 100)} % done${detail === undefined ? '' : `, ${detail}`}, Ctrl-C stops`;
      stream.write(`\r${text.slice(0, (stream.columns || 80) - 1)}\u001b[K`);
    },
    clear() {
      if (shown) stream.write('\r\u001b[K');
      shown = false;
    },
  };
}
