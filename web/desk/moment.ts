/** The unit at an instant: what a row of the trace says, measured values read between two rows, states as they last were. */
import type { ThinTrace, Timeline } from './protocol.ts';

export interface Moment {
  readonly time_s: number;
  /** Value of a column, NaN where the trace has none of the name. */
  value(name: string): number;
}

/** Looks up instants of a trace. */
export function momentsOf({ columns, count, cells }: ThinTrace): (time_s: number) => Moment {
  const width = columns.length;
  const index = new Map(columns.map((c, i) => [c.name, i]));
  return (time_s) => {
    // The last row at or before the time: of several at one instant the last, which has what happened there.
    let low = 0;
    let high = count - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (cells[middle * width]! <= time_s + 1e-9) low = middle;
      else high = middle - 1;
    }
    const next = Math.min(count - 1, low + 1);
    const [t0, t1] = [cells[low * width]!, cells[next * width]!];
    const share = t1 > t0 ? Math.min(1, Math.max(0, (time_s - t0) / (t1 - t0))) : 0;
    return {
      time_s,
      value(name) {
        const i = index.get(name);
        if (i === undefined || count === 0) return Number.NaN;
        const a = cells[low * width + i]!;
        return columns[i]!.dimension === undefined ? a : a + share * (cells[next * width + i]! - a);
      },
    };
  };
}

/** The state of a timeline at an instant. */
export function stateAt({ first, changes }: Timeline, time_s: number): number {
  let state = first;
  for (const [at, to] of changes) {
    if (at > time_s + 1e-9) break;
    state = to;
  }
  return state;
}
