import fc from 'fast-check';
import { assert } from 'vitest';
import { EventCode } from '../../models/events.ts';
import type { AmbientCourse } from '../../models/site.ts';
import { createUnit } from '../../models/unit.ts';
import { buildPlant } from '../../scenarios/build.ts';
import { agree, stepTolerance } from '../support/agree.ts';
import { law } from '../support/law.ts';
import { type RandomCase, randomScenario, showCase } from '../support/randomScenario.ts';
import { type CaseRun, type EventRow, runCase } from '../support/runCase.ts';

const OF_VALVES: ReadonlySet<number> = new Set([
  ...Object.entries(EventCode).flatMap(([name, code]) => (name.startsWith('valve') ? [code] : [])),
  EventCode.strokeInterrupted,
  EventCode.holdOver,
  EventCode.sequenceLost,
  EventCode.commandRefused,
]);

/** Events of one instant in an order that does not depend on how valves are listed. */
function inOrder(events: readonly EventRow[], valve: (item: number) => number): EventRow[] {
  const named = events.map((e) => (OF_VALVES.has(e.code) && e.item >= 0 ? { ...e, item: valve(e.item) } : e));
  const instant: number[] = [];
  named.forEach((e, k) => {
    const before = named[k - 1];
    instant.push(before !== undefined && e.time_s - before.time_s < 1e-6 ? instant[k - 1] : k);
  });
  return named
    .map((e, k) => ({ e, at: instant[k] }))
    .sort((a, b) => a.at - b.at || a.e.code - b.e.code || a.e.item - b.e.item)
    .map(({ e }) => e);
}

/**
 * Valves meet only in sums over all of them, and what happens in one instant is applied before anything is solved. Sums
 * taken in another order differ by rounding; that may turn the acceptance of a step, and then by the error of a step.
 */
law(
  'valves listed the other way round give the same results',
  { runs: 40, seed: 401, show: showCase },
  randomScenario(),
  (c) => {
    const turned = { ...c.values, valves: [...c.values.valves].reverse() };
    const plant = buildPlant(turned, (path, message) => assert.fail(`${path}: ${message}`), { like: c.plant });
    if (plant === undefined) return;
    const a = runCase(c);
    if (a.stop !== 'reached') return;
    const b = runCase({ plant, ticks: c.ticks });
    const last = plant.valves.length - 1;
    const sorted = (run: CaseRun, valve: (item: number) => number): CaseRun => ({
      ...run,
      events: inOrder(run.events, valve),
    });
    agree(
      c,
      sorted(a, (i) => i),
      sorted(b, (i) => last - i),
      stepTolerance(a),
    );
  },
);

/** The same values with every list of that key turned round. */
function turnedLists(key: string, value: unknown): unknown {
  if (Array.isArray(value)) return value.map((item) => turnedLists(key, item));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([k, v]) => [k, turnedLists(key, k === key && Array.isArray(v) ? v.toReversed() : v)]),
  );
}

/**
 * Pipes of one line are in series with nothing between them: the line costs the sum, whatever the order. Pumps and
 * compressors are no such matter: of two whose turn it could be, the one listed first has it.
 */
law(
  'pipes of a line listed the other way round give the same results',
  { runs: 30, seed: 403, show: showCase },
  randomScenario(),
  (c) => {
    const turned = turnedLists('pipes', c.values) as typeof c.values;
    const plant = buildPlant(turned, (path, message) => assert.fail(`${path}: ${message}`), { like: c.plant });
    if (plant === undefined) return;
    const a = runCase(c);
    if (a.stop !== 'reached') return;
    agree(c, a, runCase({ plant, ticks: c.ticks }), stepTolerance(a));
  },
);

function laterBy(course: AmbientCourse, shift: number, tick_s: number): AmbientCourse {
  if (course.kind === 'steady') return course;
  if (course.kind === 'day') return { ...course, warmest_s: course.warmest_s + shift * tick_s };
  const ticks = course.ticks.map((tick) => tick + shift);
  return { ...course, ticks, time_s: ticks.map((tick) => tick * tick_s) };
}

/**
 * Time enters only as the ticks since something happened and the ticks until something will: the unit has no clock of
 * its own but for the run time of machines that were found running. Shifted by whole scans, with the timers that run at the start, everything comes so much later.
 */
law(
  'everything shifted by whole scans happens so much later',
  { runs: 40, seed: 402, show: ([c, scans]: readonly [never, number]) => `${scans} scans, ${showCase(c)}` },
  fc.tuple(randomScenario({ fix: { 'start.running': [] } }), fc.integer({ min: 1, max: 100_000 })),
  ([c, scans]) => {
    const shift = scans * c.plant.scanTicks;
    const later: RandomCase = {
      ...c,
      ticks: c.ticks + shift,
      plant: {
        ...c.plant,
        ambient: laterBy(c.plant.ambient, shift, c.plant.tick_s),
        actions: c.plant.actions.map((a) => ({ ...a, tick: a.tick + shift })),
        faults: c.plant.faults.map((f) => (f.tick < 0 ? f : { ...f, tick: f.tick + shift })),
      },
    };
    const unit = createUnit(later.plant);
    const from = unit.start();
    from[unit.layout.clock.tick] = shift;
    from[unit.layout.clock.done] = shift - 1;
    unit.layout.slots.forEach((s, i) => {
      if (s.unit === 'tick' && /since$/i.test(s.name) && from[i] === 0) from[i] = shift;
    });
    const a = runCase(c);
    if (a.stop !== 'reached') return;
    agree(c, a, runCase(later, { from }), stepTolerance(a), shift * c.plant.tick_s);
  },
);
