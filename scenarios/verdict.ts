/**
 * From the record of a run to the verdict on each required stroke. A margin is the smaller of the force margin (least
 * over the stroke) and the time margin; one smaller than what the stated accuracies can take away counts as not met.
 */
import { valvePosition } from '../models/drive.ts';
import { EventCode } from '../models/events.ts';
import { drawsOil, Mode, NO_MARGIN } from '../models/motion.ts';
import type { ValvePlant } from '../models/plant.ts';
import { pipePeriod, surgeOf } from '../models/surge.ts';
import type { Outcome, StrokeResult, SurgeResult } from './result.ts';
import type { RunRecord } from './run.ts';
import type { StrokeRecord } from './strokes.ts';
import { formatQuantity, type UnitSystem } from './units.ts';

export interface Margin {
  readonly value: number | undefined;
  readonly of: 'force' | 'time' | undefined;
  readonly force: number | undefined;
  readonly time: number | undefined;
}

/** Margins of a stroke; force is undefined where the load helps all the way. */
export function marginOf(valve: ValvePlant, record: StrokeRecord): Margin {
  const force = record.least < NO_MARGIN ? record.least : undefined;
  const limit = valve.require?.longest_s;
  const time =
    limit !== undefined && record.ended_s >= 0 ? (limit - (record.ended_s - record.commanded_s)) / limit : undefined;
  if (record.ended_s < 0 || stoodStill(valve, record))
    return { value: undefined, of: undefined, force, time: undefined };
  if (force === undefined) return { value: time, of: time === undefined ? undefined : 'time', force, time };
  if (time === undefined || force < time) return { value: force, of: 'force', force, time };
  return { value: time, of: 'time', force, time };
}

/** What a stroke came to, before margins are looked at. */
export function outcomeOf(valve: ValvePlant, record: StrokeRecord | undefined, gas: boolean, end_s: number): Outcome {
  if (record === undefined) return 'not commanded';
  const require = valve.require;
  if (record.ended_s >= 0) {
    const time = record.ended_s - record.commanded_s;
    if (record.cavitated) return 'not proven';
    if (require !== undefined && time > require.longest_s) return stoodStill(valve, record) ? 'stalled' : 'late';
    if (require !== undefined && movingTime(record) < require.shortest_s * travel(valve, record)) return 'too fast';
    if (record.driftedAt_s >= 0 && require !== undefined && record.driftedAt_s - record.ended_s < require.hold_s)
      return 'drifted';
    if (
      require !== undefined &&
      require.hold_s > 0 &&
      record.stroke === valve.strokes.length &&
      end_s - record.ended_s < require.hold_s
    ) {
      return 'not proven';
    }
    return 'completed';
  }
  if (record.mode === Mode.gas || gas) return 'not proven';
  if (record.interrupted) return 'stalled';
  if (record.firstMotion_s < 0) return 'never moved';
  if (record.mode !== Mode.moving) return 'stalled';
  return creeps(valve, record, end_s) ? 'stalled' : 'still moving';
}

/** From first motion to the end, s; 0 for a stroke that ended without motion. */
const movingTime = ({ firstMotion_s, ended_s }: StrokeRecord) => (firstMotion_s >= 0 ? ended_s - firstMotion_s : 0);

/** Share of the travel of the valve that a stroke has made. */
const travel = ({ drive }: ValvePlant, { from, position }: StrokeRecord) =>
  Math.abs(valvePosition(drive, position) - valvePosition(drive, from));

/**
 * A piston that has come to its balance creeps on as the air warms up. Past its limit, and with more than the limit still
 * to go at its speed, it counts as stalled.
 */
function creeps(valve: ValvePlant, record: StrokeRecord, end_s: number): boolean {
  const limit = valve.require?.longest_s ?? Infinity;
  const left = Math.abs(record.target - record.position);
  return record.mode === Mode.moving && end_s - record.commanded_s > limit && left > record.speed_1_s * limit;
}

/**
 * Surge in the pipeline by a closing stroke that has ended: from first motion to the end, taken as even. One that begins
 * or ends part way counts as a whole closure at its speed.
 */
function surgeResult(valve: ValvePlant, record: StrokeRecord | undefined): SurgeResult | undefined {
  const { pipeline } = valve;
  if (pipeline === undefined || record === undefined || record.direction > 0) return undefined;
  if (record.ended_s < 0 || record.firstMotion_s < 0 || record.ended_s === record.firstMotion_s) return undefined;
  const closure_s = movingTime(record) / travel(valve, record);
  return { pipePeriod_s: pipePeriod(pipeline), closure_s, ...surgeOf(pipeline, closure_s) };
}

/** What of a run is judged. */
export type JudgedRun = Pick<RunRecord, 'unit' | 'end' | 'strokes' | 'events'>;

/** Effect of the accuracies on a stroke, as a loss of margin; Infinity where it may not complete at all. */
export type AccuracyEffect = (valve: number, stroke: number) => number;

/** Whether the mains had to come back for a stroke to go on: it had come to rest, or to less than its limit allows. */
function stoodStill(valve: ValvePlant, record: StrokeRecord): boolean {
  const then = record.atMainsBack;
  if (then === undefined || then.time_s - record.commanded_s < (valve.require?.longest_s ?? Infinity)) return false;
  const left = record.direction > 0 ? 1 - then.position : then.position;
  return left > then.speed_1_s * (valve.require?.longest_s ?? Infinity);
}

/** Results of all strokes that are required, in the order of the valves. */
export function judge(run: JudgedRun, units: UnitSystem, effect: AccuracyEffect): StrokeResult[] {
  const { unit, end } = run;
  const { plant } = unit;
  const { clock } = unit.layout;
  const end_s = end[clock.tick] * plant.tick_s;
  const ambient = plant.ambientPressure_Pa;
  const results: StrokeResult[] = [];
  const show = {
    time: (s: number) => formatQuantity(s, 'time', units),
    pressure: (p: number) => formatQuantity(p, 'pressure', units, ambient),
    percent: (x: number) => `${(x * 100).toFixed(Math.abs(x) < 0.0995 ? 1 : 0)} %`,
    // Near a seat the tenths matter.
    open: (x: number) => `${(x * 100).toFixed((x > 0 && x < 0.1) || (x > 0.9 && x < 1) ? 1 : 0)} % open`,
  };
  plant.valves.forEach((valve, i) => {
    const require = valve.require;
    if (require === undefined) return;
    valve.strokes.forEach((direction, k) => {
      const record = run.strokes.findLast((r) => r.valve === i && r.stroke === k + 1);
      const gas = end[unit.slots.gasInHeader] === 1 && drawsOil(valve, direction);
      const target = valve.targets[k];
      const outcome = outcomeOf(valve, record, gas && (record === undefined || record.ended_s < 0), end_s);
      const margin = record === undefined ? undefined : marginOf(valve, record);
      const loss = outcome === 'completed' ? effect(i, k + 1) : 0;
      const enough = outcome === 'completed' && (margin?.value === undefined || margin.value >= require.margin);
      const close = enough && margin?.value !== undefined && margin.value - loss < Math.max(0, require.margin);
      const tooClose = close && loss > 0;
      results.push({
        valve: valve.tag,
        service: valve.service,
        stroke: k + 1,
        strokes: valve.strokes.length,
        direction: direction > 0 ? 'opens' : 'closes',
        to: valvePosition(valve.drive, target),
        outcome,
        met: enough && !tooClose,
        tooCloseToCall: tooClose,
        commandedAt_s: record?.commanded_s,
        firstMotionAt_s: record !== undefined && record.firstMotion_s >= 0 ? record.firstMotion_s : undefined,
        endedAt_s: record !== undefined && record.ended_s >= 0 ? record.ended_s : undefined,
        time_s: record !== undefined && record.ended_s >= 0 ? record.ended_s - record.commanded_s : undefined,
        movingTime_s:
          record !== undefined && record.ended_s >= 0 && record.firstMotion_s >= 0
            ? record.ended_s - record.firstMotion_s
            : undefined,
        longest_s: require.longest_s,
        shortest_s: require.shortest_s,
        from: record === undefined ? undefined : valvePosition(valve.drive, record.from),
        position: valvePosition(valve.drive, record?.position ?? end[unit.slots.x + i]),
        forceMargin: margin?.force,
        forceMargin_Pa: margin?.force === undefined ? undefined : record?.least_Pa,
        forceMarginAt_s: margin?.force === undefined ? undefined : record?.least_s,
        forceMarginPosition:
          margin?.force === undefined || record === undefined
            ? undefined
            : valvePosition(valve.drive, record.leastPosition),
        timeMargin: margin?.time,
        margin: margin?.value,
        marginOf: margin?.of,
        marginWanted: require.margin,
        accuracyEffect: Number.isFinite(loss) ? loss : 1,
        surge: surgeResult(valve, record),
        reason: sentence(valve, k, record, outcome, margin, enough, tooClose, loss),
      });
    });
  });
  return results;

  function sentence(
    valve: ValvePlant,
    k: number,
    record: StrokeRecord | undefined,
    outcome: Outcome,
    margin: Margin | undefined,
    enough: boolean,
    tooClose: boolean,
    loss: number,
  ): string {
    const require = valve.require as NonNullable<ValvePlant['require']>;
    if (record === undefined) {
      // Gas keeps the strokes after the one it stopped from being commanded; the first one is commanded all the same.
      const gas = k > 0 ? gasText() : undefined;
      if (gas !== undefined) return gas;
      const i = plant.valves.indexOf(valve);
      return run.events.some((e) => e.code === EventCode.sequenceLost && e.item === i)
        ? 'the stroke was never commanded: control power died first, and without it the pilot does not make it'
        : 'the stroke was never commanded: no trip signal reached the pilot in this run';
    }
    const time = record.ended_s - record.commanded_s;
    const open = (x: number) => show.open(valvePosition(valve.drive, x));
    const byOil = drawsOil(valve, record.direction);
    const partWay = record.target > 0 && record.target < 1;
    const word = partWay ? `at ${open(record.position)}` : record.direction > 0 ? 'open' : 'closed';
    const where = `at ${open(record.leastPosition)}, ${show.time(Math.max(0, record.least_s - record.commanded_s))} after the command`;
    const force =
      margin?.force === undefined
        ? 'the load helps all the way'
        : `least force margin ${show.percent(margin.force)} (${formatQuantity(record.least_Pa, 'pressureDifference', units)}) ${where}`;
    const force_N = (n: number) => formatQuantity(n, 'force', units);
    const lack = byOil
      ? `${show.pressure(record.headerPressure_Pa)} in the header, ${show.pressure(record.neededPressure_Pa)} needed to move on`
      : `the spring pushes with ${force_N(record.thrust_N)}, ${force_N(record.needed_N)} needed to move on`;
    switch (outcome) {
      case 'completed': {
        const done = `${word} in ${show.time(time)} of ${show.time(require.longest_s)} allowed; ${force}`;
        if (tooClose) {
          const can = Number.isFinite(loss)
            ? `can take ${show.percent(loss)} off the margin`
            : 'can keep it from completing';
          return `${done}; too close to call: the stated accuracy of gauge and switches ${can}`;
        }
        if (!enough)
          return `${done}; the margin of ${margin?.of} is ${show.percent(margin?.value ?? 0)}, and ${show.percent(require.margin)} is wanted`;
        return done;
      }
      case 'late':
        return `${word} in ${show.time(time)}, and ${show.time(require.longest_s)} is allowed; ${force}`;
      case 'too fast': {
        const share = travel(valve, record);
        const part = share < 1 ? ` for ${show.percent(share)} of the travel` : '';
        return `${word} ${show.time(movingTime(record))} after it began to move, faster than the ${show.time(require.shortest_s * share)}${part} that the pipeline can take`;
      }
      case 'stalled':
        if (record.ended_s >= 0 && record.atMainsBack !== undefined) {
          const then = record.atMainsBack;
          return `with the mains off it came to a stand at ${open(then.position)}: ${show.pressure(then.headerPressure_Pa)} in the header, ${show.pressure(Math.max(then.neededPressure_Pa, then.headerPressure_Pa))} needed to move on; ${word} only after the mains were back, ${show.time(time)} after the command`;
        }
        if (record.mode === Mode.shut) return `stopped at ${open(record.position)}: ${shutText()}`;
        if (record.interrupted) return `interrupted at ${open(record.position)} by another command`;
        if (record.mode === Mode.idle) return `blocked by its pilot at ${open(record.position)}`;
        if (record.mode === Mode.moving) {
          const drive = formatQuantity(
            record.headerPressure_Pa - record.neededPressure_Pa,
            'pressureDifference',
            units,
          );
          const of = byOil
            ? `${show.pressure(record.headerPressure_Pa)} in the header`
            : `the ${force_N(record.thrust_N)} of the spring`;
          const left = byOil ? drive : force_N(record.thrust_N - record.needed_N);
          return `all but stopped at ${open(record.position)}: of ${of} only ${left} is left to drive it`;
        }
        return `stopped at ${open(record.position)}: ${lack}`;
      case 'still moving':
        return `still moving at ${open(record.position)} when the run ended, ${show.time(end_s - record.commanded_s)} after the command`;
      case 'never moved':
        if (record.mode === Mode.shut) return `never moved from ${open(record.position)}: ${shutText()}`;
        if (record.mode === Mode.idle) return `never moved from ${open(record.position)}: its pilot did not shift`;
        return `never moved from ${open(record.position)}: ${lack}`;
      case 'not proven':
        if (record.cavitated) {
          return `the load ran ahead of the oil (pressure on the driving side at 0.1 bar absolute), so the time of ${show.time(time)} proves nothing`;
        }
        if (record.ended_s >= 0) {
          return `${word} in ${show.time(time)}, but the run ended before it had held for ${show.time(require.hold_s)}`;
        }
        return gasText() ?? `stopped at ${open(record.position)}: gas in the header`;
      case 'drifted':
        return `${word} in ${show.time(time)}, then drifted off its end position ${show.time(record.driftedAt_s - record.ended_s)} later; ${show.time(require.hold_s)} is required`;
      default:
        return '';
    }
    function shutText(): string {
      const at = run.events.findLast((e) => e.code === EventCode.outletShut);
      return `the outlet shut by itself on low-low level ${at === undefined ? 'before the start' : `at ${show.time(at.time_s)}`}, and no oil comes`;
    }
    function gasText(): string | undefined {
      if (!drawsOil(valve, valve.strokes[k])) return undefined;
      const at = run.events.find((e) => e.code === 26);
      if (at === undefined && end[unit.slots.gasInHeader] === 0) return undefined;
      const when = at === undefined ? 'from the start' : `at ${show.time(at.time_s)}`;
      const stopped =
        record === undefined ? '' : `stopped at ${show.open(valvePosition(valve.drive, record.position))}: `;
      return `${stopped}gas in the header since the oil fell to the outlet ${when}; no stroke after that is proven`;
    }
  }
}
