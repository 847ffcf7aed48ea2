import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { loadScenario, replay, traceRow } from '../../scenarios/index.ts';
import type { TraceColumn } from '../../scenarios/trace.ts';
import { plotData } from '../../web/plot/data.ts';
import { plotRecorder, recordTrace } from '../../web/plot/record.ts';
import { nearestRow, reading, rowAt, stateAt, timeLabels, timeTicks } from '../../web/plot/shape.ts';
import { apart } from '../../web/svg/apart.ts';
import { seenPoints, timePlotDrawings } from '../../web/svg/timePlots.ts';

const COLUMNS: readonly TraceColumn[] = [
  { name: 'time', dimension: 'time' },
  { name: 'tank pressure', dimension: 'pressure' },
  { name: 'V-1 position', dimension: 'fraction' },
  { name: 'alarm PAL', dimension: undefined },
];
const row = (t: number, p: number, x = 1, alarm = 0) => Float64Array.of(t, p, x, alarm);

function replayOf(file: string) {
  const text = readFileSync(`scenarios/${file}.yaml`, 'utf-8');
  const { scenario } = loadScenario(text, { file: `${file}.yaml` });
  return { text, ...replay(scenario!, { units: file === 'mill-creek' ? 'us' : 'si' }) };
}

describe('what is kept of a long run', () => {
  test('a peak of one row, an alarm of one row and every row of an event stay, few rows in all', () => {
    const recorder = plotRecorder(500);
    recorder.begin(COLUMNS);
    for (let k = 0; k < 300_000; k++)
      recorder.row(
        row(k, 5e5 + Math.sin(k / 5000) * 1e4 + (k === 123_457 ? 3e5 : 0), 1, k === 222_222 ? 1 : 0),
        k % 30_001 === 7,
      );
    const { rows, changes } = recorder.recorded();
    expect(rows.length).toBeLessThan(520);
    expect(rows.some((r) => r[0] === 123_457)).toBe(true);
    for (let k = 7; k < 300_000; k += 30_001) expect(rows.some((r) => r[0] === k)).toBe(true);
    expect(changes.get('alarm PAL')).toEqual([
      { time_s: 0, value: 0 },
      { time_s: 222_222, value: 1 },
      { time_s: 222_223, value: 0 },
    ]);
    expect([rows[0]![0], rows.at(-1)![0]]).toEqual([0, 299_999]);
  });

  test('the least and the greatest value of the run stay, whatever the rows', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 1, max: 2, noNaN: true }), { minLength: 50, maxLength: 400 }), (values) => {
        const { rows } = recordTrace({ columns: COLUMNS, rows: values.map((v, k) => row(k, v)) }, [], 40);
        const all = rows.map((r) => r[1]!);
        return Math.max(...all) === Math.max(...values) && Math.min(...all) === Math.min(...values);
      }),
      { seed: 11, numRuns: 100 },
    );
  });

  test('while a valve moves, rows are thinned much less', () => {
    const rows = Array.from({ length: 20_000 }, (_, k) =>
      row(k, 5e5 - k, k < 10_000 ? 1 : k < 10_050 ? 1 - (k - 10_000) / 50 : 0),
    );
    const kept = recordTrace({ columns: COLUMNS, rows }, [], 400).rows.map((r) => r[0]!);
    const moving = kept.filter((t) => t > 10_000 && t < 10_050).length;
    const still = kept.filter((t) => t >= 5000 && t < 5050).length;
    expect(moving).toBeGreaterThan(20);
    expect(still).toBeLessThan(5);
  });
});

describe('what the plots show', () => {
  const { result, trace } = replayOf('mill-creek');
  const data = plotData(
    result,
    recordTrace(
      trace!,
      result.events.map((e) => e.time_s),
    ),
  );

  test('every value shown is that of the trace at that instant, in the units of the user', () => {
    const names = trace!.columns.map((c) => c.name);
    const rows = trace!.rows.map((r) => traceRow(trace!.columns, r, 'us', result.site.ambientPressure_Pa));
    const compare = (panel: string, line: string, column: string) => {
      const p = data.panels.find(({ key }) => key === panel)!;
      const values = p.lines.find((l) => l.name === line)!.values;
      const of = names.indexOf(column);
      for (let k = 0; k < data.time.length; k += 7) {
        const same = rows.filter((r) => r[0] === data.time[k]).map((r) => r[of]!);
        expect(same.some((v) => Math.abs(v - values[k]!) <= 1e-8 * Math.abs(v))).toBe(true);
      }
    };
    compare('pressure', 'air in the tank', 'tank pressure');
    compare('level', 'tank, on the sight glass', 'tank level');
    compare('valves', 'V-331', 'V-331 position');
    compare('temperature', 'air in the tank', 'air temperature');
  });

  test('a reading looks as it does in print', () => {
    const p = data.panels[0]!;
    expect(reading(p, p.lines[0]!.values[0]!)).toBe('138.0 psig');
    expect(reading({ unit: '%', decimals: 1, digits: 'share' }, 100)).toBe('100 %');
    expect(reading({ unit: 'L/min', decimals: 1, digits: 'amount' }, 0.0123)).toBe('0.0123 L/min');
  });

  test('every setting has its line, every event its mark, mains and alarm their stretches', () => {
    expect(data.panels[0]!.marks.map((m) => m.tag).filter(Boolean)).toEqual(
      expect.arrayContaining(['PSL-310', 'PS-313', 'PS-315', 'PSHH-310']),
    );
    expect(data.events).toHaveLength(result.events.length);
    const mains = data.lanes.find((l) => l.name === 'mains')!;
    expect(mains.spells).toEqual([{ from_s: 20, to_s: 125, word: 'lost', look: 'attention' }]);
    expect(stateAt(mains, 19)).toBe('on');
    const alarm = data.lanes.find((l) => l.name === 'JAL')!;
    // Two seconds of delay on top of the failure.
    expect(alarm.spells[0]).toMatchObject({ from_s: 22, word: 'unacknowledged' });
  });

  test('the still drawing names every curve and every state, and no style stands in its markup', () => {
    const { text } = timePlotDrawings(data);
    for (const word of ['V-341', 'cut-out PS-315', 'unacknowledged', 'mains lost', 'Oil flow'])
      expect(text).toContain(word);
    expect(text).not.toContain('style=');
  });
});

test('a pixel column keeps its least and its greatest value', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 0, max: 1000 }), { minLength: 1, maxLength: 300 }), (values) => {
      const time = values.map((_, k) => k);
      const columns = 10;
      const seen = new Set(seenPoints(time, values, 0, values.length, columns));
      for (let c = 0; c < columns; c++) {
        const inside = time.filter((t) => Math.floor((t / values.length) * columns) === c);
        if (inside.length === 0) continue;
        const kept = inside.filter((t) => seen.has(t)).map((t) => values[t]!);
        const all = inside.map((t) => values[t]!);
        if (Math.min(...kept) !== Math.min(...all) || Math.max(...kept) !== Math.max(...all)) return false;
      }
      return true;
    }),
    { seed: 12, numRuns: 200 },
  );
});

test('names at the side keep their order and their distance, and stay where they belong where there is room', () => {
  fc.assert(
    fc.property(fc.array(fc.double({ min: 0, max: 200, noNaN: true }), { minLength: 1, maxLength: 12 }), (list) => {
      const wanted = [...list].sort((a, b) => a - b);
      const places = apart(wanted, 12, 0, 200);
      return places.every((p, k) => k === 0 || p - places[k - 1]! >= 12 - 1e-6);
    }),
    { seed: 13, numRuns: 300 },
  );
  expect(apart([10, 50, 100], 12, 0, 200)).toEqual([10, 50, 100]);
});

test('times on the axis are round, and their labels tell them apart', () => {
  const labels = (from: number, to: number, most = 7) => timeLabels(timeTicks(from, to, most));
  expect(labels(0, 125)).toEqual(['0 s', '20 s', '40 s', '60 s', '80 s', '100 s', '120 s']);
  expect(labels(0, 3825)).toEqual(['0 min', '10 min', '20 min', '30 min', '40 min', '50 min', '60 min']);
  expect(labels(3715, 3755)).toEqual(['3720 s', '3730 s', '3740 s', '3750 s']);
  expect(labels(0, 28_000, 8)).toEqual(['0:00', '1:00', '2:00', '3:00', '4:00', '5:00', '6:00', '7:00']);
  expect(labels(0, 30 * 86_400)).toEqual(['0 d', '5 d', '10 d', '15 d', '20 d', '25 d', '30 d']);
  expect(labels(2_592_000, 2_592_010)).toEqual(
    [0, 2, 4, 6, 8, 10].map((s) => `30 d 0:00:${String(s).padStart(2, '0')}`),
  );
  for (const [from, to] of [
    [20, 20.05],
    [7200, 7200.4],
    [86_399, 86_401],
    [0, 1e9],
  ] as const) {
    const all = labels(from, to);
    expect(new Set(all).size).toBe(all.length);
  }
});

test('rows are found by time', () => {
  const time = [0, 1, 1, 2, 5];
  expect([-1, 0, 1, 1.5, 4.9, 9].map((t) => rowAt(time, t))).toEqual([0, 0, 2, 2, 3, 4]);
  expect([1.4, 3.4, 3.6].map((t) => nearestRow(time, t))).toEqual([2, 3, 4]);
});
