/** From a result and what was recorded of its trace to what the time plots show. */
import { EventCode } from '../../models/events.ts';
import type { Dimension } from '../../models/parameters.ts';
import { digitsKind } from '../../scenarios/digits.ts';
import type { Result } from '../../scenarios/result.ts';
import { shortName } from '../../scenarios/resultText.ts';
import type { Rung } from '../../scenarios/staircase.ts';
import { columnUnit, formatQuantity } from '../../scenarios/units.ts';
import type { Recorded } from './record.ts';
import type { PlotData, PlotEvent, PlotLane, PlotLine, PlotMark, PlotPanel, PlotSpell } from './shape.ts';

/** What the plots show of a run. */
export function plotData(result: Result, { columns, rows, changes }: Recorded): PlotData {
  const { units, site, end, duty } = result;
  const ambient = site.ambientPressure_Pa;
  const at = new Map(columns.map((c, i) => [c.name, i]));
  const valuesOf = (name: string, dimension: Dimension): number[] | undefined => {
    const i = at.get(name);
    if (i === undefined) return undefined;
    const unit = columnUnit(dimension, units);
    // Enough digits for what is shown; the rest would only make the file larger.
    return rows.map((row) => Number(unit.toDisplay(row[i]!, ambient).toPrecision(9)));
  };
  const panel = (
    key: PlotPanel['key'],
    title: string,
    dimension: Dimension,
    span: number,
    wanted: readonly (readonly [name: string, column: string])[],
    marks: readonly PlotMark[] = [],
  ): PlotPanel[] => {
    const { name: unit, decimals } = columnUnit(dimension, units);
    const lines = wanted.flatMap(([name, column]): PlotLine[] => {
      const values = valuesOf(column, dimension);
      return values === undefined ? [] : [{ name, values }];
    });
    if (lines.length === 0) return [];
    return [{ key, title, unit, decimals, digits: digitsKind(dimension), span, lines, marks }];
  };
  const marksOf = (rungs: readonly Rung[], dimension: 'pressure' | 'length'): PlotMark[] =>
    rungs.map(({ path, name, tag, value, estimate }) => ({
      name: shortName(name),
      tag,
      value: columnUnit(dimension, units).toDisplay(value, ambient),
      estimate,
      shown: path.startsWith('panel.') || estimate,
    }));
  const us = units === 'us';
  const valves = Object.keys(end.positions);
  const pumps = duty.filter((d) => d.kind === 'pump').map((d) => d.tag);
  const ran = duty.filter((d) => d.kind === 'compressor' && d.runTime_s > 0).map((d) => d.tag);
  return {
    end_s: end.time_s,
    time: rows.map((row) => row[0]!),
    panels: [
      ...panel(
        'pressure',
        'Pressure',
        'pressure',
        us ? 10 : 0.7,
        [
          ['air in the tank', 'tank pressure'],
          ['oil in the header', 'header pressure'],
        ],
        marksOf(result.staircase.pressure, 'pressure'),
      ),
      ...panel(
        'level',
        'Oil level',
        'length',
        us ? 4 : 100,
        [['tank, on the sight glass', 'tank level']],
        marksOf(result.staircase.level, 'length'),
      ),
      ...panel(
        'valves',
        'Valves open',
        'fraction',
        100,
        valves.map((tag) => [tag, `${tag} position`]),
      ),
      ...panel('flow', 'Oil flow', 'volumeFlow', us ? 1 : 1, [
        ['to the valves', 'header flow'],
        ...pumps.map((tag) => [tag, `${tag} flow`] as const),
      ]),
      ...panel(
        'air',
        'Free air of compressors',
        'volumeFlow',
        us ? 1 : 1,
        ran.map((tag) => [tag, `${tag} free air`]),
      ),
      ...panel('temperature', 'Temperature', 'temperature', us ? 10 : 5, [
        ['air in the tank', 'air temperature'],
        ['shell', 'shell temperature'],
        ['ambient air', 'ambient temperature'],
      ]),
    ],
    lanes: lanesOf(result, changes, end.time_s),
    events: result.events.map((e) => ({
      time_s: e.time_s,
      tag: e.tag,
      text: e.text,
      reading: `${formatQuantity(e.pressure_Pa, 'pressure', units, ambient)}, ${formatQuantity(e.level_m, 'length', units)}`,
      kind: kindOf(e.code),
    })),
    outage: outageOf(result),
  };
}

function kindOf(code: number): PlotEvent['kind'] {
  if (code <= EventCode.undervoltageTrip) return 'power';
  if (code === EventCode.alarmRaised) return 'alarm';
  if (code >= EventCode.valveCommanded && code <= EventCode.valveCavitating) return 'valve';
  return 'other';
}

type Look = readonly [word: string, look: PlotSpell['look']] | undefined;

function lanesOf({ duty }: Result, changes: Recorded['changes'], end_s: number): PlotLane[] {
  const lane = (name: string, column: string, rest: string, look: (state: number) => Look): PlotLane[] => {
    const list = changes.get(column);
    if (list === undefined) return [];
    const spells = list.flatMap(({ time_s, value }, k): PlotSpell[] => {
      const shown = look(value);
      if (shown === undefined) return [];
      const to_s = list[k + 1]?.time_s ?? end_s;
      return [{ from_s: time_s, to_s, word: shown[0], look: shown[1] }];
    });
    return [{ name, rest, spells }];
  };
  const alarms = [...changes.keys()].filter((name) => name.startsWith('alarm '));
  const safety = [...changes.keys()].filter((name) => name.endsWith(' open'));
  return [
    ...lane('mains', 'mains', 'on', (x) => (x === 0 ? ['lost', 'attention'] : undefined)),
    ...lane('control power', 'control power', 'on', (x) => (x === 0 ? ['lost', 'attention'] : undefined)),
    ...duty.flatMap(({ tag }) =>
      lane(tag, `${tag} running`, 'stopped', (x) => (x === 1 ? ['running', 'runs'] : undefined)),
    ),
    ...lane('compressors', 'compressors allowed', 'allowed', (x) => (x === 0 ? ['held off', 'calm'] : undefined)),
    ...safety.flatMap((name) =>
      lane(name.slice(0, -5), name, 'shut', (x) => (x === 1 ? ['open', 'attention'] : undefined)),
    ),
    // Alarms that never came take no room.
    ...alarms
      .flatMap((name) =>
        lane(
          name.slice(6),
          name,
          'normal',
          (x) =>
            (
              [
                undefined,
                ['unacknowledged', 'attention'],
                ['acknowledged', 'seen'],
                ['returned, not ack.', 'calm'],
              ] as Look[]
            )[x],
        ),
      )
      .filter(({ spells }) => spells.length > 0),
  ];
}

/** The failure with a little before and after, where the run is at least twice as long. */
function outageOf({ events, verdict, end }: Result): PlotData['outage'] {
  const lost = events.findLast((e) => e.code === EventCode.mainsLost);
  if (lost === undefined) return undefined;
  const valveEvents = events.filter((e) => e.time_s >= lost.time_s && kindOf(e.code) === 'valve');
  const last = Math.max(
    lost.time_s + 10,
    ...verdict.strokes.map((s) => s.endedAt_s ?? 0),
    // A stroke that did not end: as long as it might have taken.
    ...verdict.strokes.filter((s) => s.endedAt_s === undefined).map((s) => (s.commandedAt_s ?? 0) + s.longest_s),
    ...valveEvents.slice(-1).map((e) => Math.min(e.time_s, lost.time_s + 1800)),
  );
  const length = last - lost.time_s;
  const from_s = Math.max(0, lost.time_s - 0.15 * length);
  const to_s = Math.min(end.time_s, last + 0.15 * length);
  return to_s - from_s < 0.5 * end.time_s ? { from_s, to_s } : undefined;
}
