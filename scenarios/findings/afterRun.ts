/** Findings that only a run can show. Counts are what happened within an hour at most: a short run is never scaled up. */
import { EventCode } from '../../models/events.ts';
import type { StrokeResult } from '../result.ts';
import type { RunEvent, RunRecord } from '../run.ts';
import { findUsedOil } from './figures.ts';
import { type Look, machinePaths } from './look.ts';

export function findInRun(look: Look, run: RunRecord, strokes: readonly StrokeResult[]): void {
  findStarts(look, run.events);
  findLateAlarm(look, run, strokes);
  findUsedOil(look, run);
}

const HOUR_s = 3600;

/** The most times within any hour, and when that hour begins. */
export function mostWithinAnHour(times_s: readonly number[]): { readonly count: number; readonly from_s: number } {
  let most = { count: 0, from_s: 0 };
  let first = 0;
  times_s.forEach((time, k) => {
    while (time - times_s[first] >= HOUR_s) first++;
    if (k - first + 1 > most.count) most = { count: k - first + 1, from_s: times_s[first] };
  });
  return most;
}

function findStarts(look: Look, events: readonly RunEvent[]): void {
  const { plant, add, time } = look;
  [...plant.pumps, ...plant.compressors].forEach((motor, m) => {
    const { allowedStarts: allowed } = motor;
    if (allowed === undefined) return;
    const starts = events.filter((e) => e.code === EventCode.motorStarted && e.item === m).map((e) => e.time_s);
    const { count, from_s } = mostWithinAnHour(starts);
    if (count <= allowed) return;
    const path = machinePaths(look.values)[m];
    add(
      'starts over allowed',
      `${motor.tag} started ${count} times within an hour (from ${time(from_s)} on; counted), and its motor may start ${allowed} times`,
      { starts: count, from_s, allowedPerHour: allowed },
      [`${path}.allowedStarts`, path],
    );
  });
}

const LOW_ALARMS: readonly string[] = ['low oil', 'low-low oil', 'low pressure', 'low-low pressure'];
/** Failures that more pressure or more oil would have kept away. */
const SHORT: readonly StrokeResult['outcome'][] = ['stalled', 'never moved', 'not proven'];

/** Whether an alarm of low oil or low pressure had come before the first required stroke failed for want of either. */
function findLateAlarm(look: Look, run: RunRecord, strokes: readonly StrokeResult[]): void {
  const { plant, add, time } = look;
  const { unit, events } = run;
  const alarms = events.filter(
    (e) => e.code === EventCode.alarmRaised && LOW_ALARMS.includes(unit.panel.alarms[e.item].text),
  );
  let first: { readonly time_s: number; readonly valve: string; readonly outcome: string } | undefined;
  for (const s of strokes) {
    if (s.met || !SHORT.includes(s.outcome)) continue;
    const time_s = failedAt(s);
    if (time_s !== undefined && (first === undefined || time_s < first.time_s))
      first = { time_s, valve: s.valve, outcome: s.outcome };
  }
  if (first === undefined) return;
  const { time_s: failed_s, valve, outcome } = first;
  if (alarms.some((e) => e.time_s <= failed_s)) return;
  const { level, pressure } = look.values.panel;
  const set = [
    ...(level.low === undefined ? [] : ['panel.level.low']),
    ...(pressure.low === undefined ? [] : ['panel.pressure.low']),
  ];
  const next = alarms[0];
  const then =
    next === undefined
      ? 'none came at all'
      : `the first, ${unit.panel.alarms[next.item].tag}, came at ${time(next.time_s)}`;
  const what = outcome === 'stalled' ? 'had stalled' : outcome === 'never moved' ? 'did not move' : 'had failed';
  add(
    'alarm after the failure',
    `no alarm of low oil or low pressure had come when ${valve} ${what} at ${time(failed_s)}: ${then}`,
    next === undefined ? { failed_s } : { failed_s, alarm_s: next.time_s },
    set.length > 0 ? set : ['panel'],
  );

  /** When a stroke came to its stand for want of pressure or oil; undefined where it was for another reason. */
  function failedAt(s: StrokeResult): number | undefined {
    const valve = plant.valves.findIndex((v) => v.tag === s.valve);
    const record = run.strokes.findLast((r) => r.valve === valve && r.stroke === s.stroke);
    const gone = events.find((e) => e.code === EventCode.gasBreakthrough || e.code === EventCode.outletShut);
    if (record === undefined) return gone?.time_s;
    const short = record.neededPressure_Pa >= record.headerPressure_Pa;
    if (record.interrupted || (gone === undefined && !short)) return undefined;
    if (s.outcome === 'never moved') return record.commanded_s;
    const stopped = events.find(
      (e) => e.code === EventCode.valveStopped && e.item === valve && e.time_s >= record.commanded_s,
    );
    return stopped?.time_s ?? gone?.time_s ?? record.commanded_s + s.longest_s;
  }
}
