/**
 * Takes the rows of a trace as they come and keeps so many that a plot looks the same. Quantities are thinned to the rows in
 * which any of them is least or greatest in its stretch of time, so that a peak of one row stays; states are kept as the
 * instants at which they change; rows of events stay. While valves move, rows are thinned much less: that is what is looked at.
 */
import type { Trace, TraceColumn, TraceSink } from '../../scenarios/trace.ts';

/** What was kept. */
export interface Recorded {
  readonly columns: readonly TraceColumn[];
  /** In order of time. */
  readonly rows: readonly Float64Array[];
  /** Instants at which a state changed, by the name of its column; the first is the start. */
  readonly changes: ReadonlyMap<string, readonly StateChange[]>;
}

export interface StateChange {
  readonly time_s: number;
  readonly value: number;
}

export interface Recorder extends TraceSink {
  recorded(): Recorded;
}

/** While valves move, time counts for so much more. */
const CLOSER = 64;

/**
 * A recorder.
 *
 * @param most rows that are kept in the end, about; never more than twice as many in between
 */
export function plotRecorder(most = 4000): Recorder {
  let columns: readonly TraceColumn[] = [];
  let quantities: number[] = [];
  let states: number[] = [];
  let positions: number[] = [];
  let rows: Row[] = [];
  let width_s = 0;
  let last: Float64Array | undefined;
  const changes = new Map<string, StateChange[]>();

  return {
    begin(given) {
      columns = given;
      quantities = [...given.keys()].filter((i) => i > 0 && given[i]!.dimension !== undefined);
      states = [...given.keys()].filter((i) => given[i]!.dimension === undefined);
      positions = [...given.keys()].filter((i) => given[i]!.name.endsWith(' position'));
      for (const i of states) changes.set(given[i]!.name, []);
    },
    row(values, atEvent = false) {
      for (const i of states)
        if (last === undefined || last[i] !== values[i])
          changes.get(columns[i]!.name)!.push({ time_s: values[0]!, value: values[i]! });
      const moving = last !== undefined && positions.some((i) => values[i] !== last![i]);
      rows.push({ values, event: atEvent, moving });
      last = values;
      if (rows.length > 2 * most) thin();
    },
    recorded() {
      if (rows.length > most) thin();
      return { columns, rows: rows.map((r) => r.values), changes };
    },
  };

  /** Stretches twice as long, until few enough rows are left. */
  function thin(): void {
    const events = rows.reduce((sum, r) => sum + (r.event ? 1 : 0), 0);
    // So many events that their rows alone are too many: they are thinned like the others, and stay in the log.
    if (events > most / 2) for (const r of rows) r.event = false;
    if (width_s === 0) width_s = (rows.at(-1)!.values[0]! - rows[0]!.values[0]!) / most;
    for (let round = 0; round < 60; round++) {
      rows = extremesOf(rows, quantities, width_s);
      if (rows.length <= most) return;
      width_s *= 2;
    }
  }
}

interface Row {
  readonly values: Float64Array;
  event: boolean;
  readonly moving: boolean;
}

/** First, last, least and greatest rows of each stretch, and all rows of events. */
function extremesOf(rows: readonly Row[], quantities: readonly number[], width_s: number): Row[] {
  const kept: Row[] = [];
  const stretchOf = ({ values, moving }: Row) => Math.floor((values[0]! / width_s) * (moving ? CLOSER : 1));
  for (let from = 0; from < rows.length; ) {
    const { moving } = rows[from]!;
    const stretch = stretchOf(rows[from]!);
    let to = from + 1;
    while (to < rows.length && rows[to]!.moving === moving && stretchOf(rows[to]!) === stretch) to++;
    if (to - from <= 2) kept.push(...rows.slice(from, to));
    else {
      const wanted = new Set([from, to - 1]);
      for (const i of quantities) {
        let least = from;
        let greatest = from;
        for (let k = from + 1; k < to; k++) {
          if (rows[k]!.values[i]! < rows[least]!.values[i]!) least = k;
          if (rows[k]!.values[i]! > rows[greatest]!.values[i]!) greatest = k;
        }
        wanted.add(least).add(greatest);
      }
      for (let k = from; k < to; k++) if (wanted.has(k) || rows[k]!.event) kept.push(rows[k]!);
    }
    from = to;
  }
  return kept;
}

/**
 * What is kept of a trace that is in memory.
 *
 * @param events instants of events, s: the rows that stand there stay
 */
export function recordTrace({ columns, rows }: Trace, events: Iterable<number> = [], most?: number): Recorded {
  const at = new Set(events);
  const recorder = plotRecorder(most);
  recorder.begin(columns);
  for (const row of rows) recorder.row(row, at.has(row[0]!));
  return recorder.recorded();
}
