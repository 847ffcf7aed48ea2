/**
 * Random units, each with at least two faults and one outage, run and judged. Every one comes to a named end with its
 * ledger closed; over many, every kind of fault and of verdict occurs. TRIPSTROKE_RUNS=2000 for the long form, which prints
 * how often each did.
 */
import { assert, expect, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { FAULT_NAMES } from '../../models/fault.ts';
import type { Outcome } from '../../scenarios/result.ts';
import { runPlant } from '../../scenarios/run.ts';
import { judge } from '../../scenarios/verdict.ts';
import { firstBadSlot } from '../../sim/layout.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { LEDGER_CLOSURE } from '../../sim/tolerances.ts';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { MOST_STEPS } from '../support/runCase.ts';

const OUTCOMES: readonly Outcome[] = [
  'completed',
  'late',
  'too fast',
  'stalled',
  'still moving',
  'never moved',
  'not proven',
  'drifted',
  'not commanded',
];
/** From how many cases on a kind that never occurred is a fault of the generator or of the program. */
const MANY = 2000;

const faults = new Map<string, number>(FAULT_NAMES.map((name) => [name, 0]));
const verdicts = new Map<string, number>(OUTCOMES.map((outcome) => [outcome, 0]));
const ends = new Map<string, number>();
const add = (counts: Map<string, number>, key: string) => counts.set(key, (counts.get(key) ?? 0) + 1);
let cases = 0;

law(
  'any unit with faults and an outage comes to a named end',
  { runs: 80, seed: 601, show: showCase },
  randomScenario({ leastFaults: 3, outage: true }).filter((c) => c.values.faults.length >= 2),
  (c) => {
    const run = runPlant(c.plant, { toTick: c.ticks, sampleTicks: c.sampleTicks, stepBudget: MOST_STEPS });
    assert(['reached', 'work limit'].includes(run.stop), run.stop);
    assert(run.events.some((e) => e.code === EventCode.mainsLost) || run.stop !== 'reached', 'the mains were not lost');
    const bad = firstBadSlot(run.unit.layout, run.end);
    assert(bad === undefined, bad);
    for (const account of run.unit.accounts) {
      const { relative } = worstResidual([account], run.start, run.end);
      assert(relative <= LEDGER_CLOSURE, `${account.name} open by ${relative}`);
    }
    cases++;
    add(ends, run.stop);
    for (const e of run.events) if (e.code === EventCode.faultBegins) add(faults, c.plant.faults[e.item].name);
    for (const result of judge(run, 'si', () => 0)) {
      assert(OUTCOMES.includes(result.outcome), result.outcome);
      assert(result.reason.length > 0 && !/NaN|undefined|Infinity/.test(result.reason), result.reason);
      add(verdicts, result.outcome);
    }
  },
);

test('every kind of fault and of verdict occurs', ({ task }) => {
  if (cases < MANY) return expect(cases).toBeGreaterThan(0);
  const list = (title: string, counts: Map<string, number>) =>
    `${title}\n${[...counts].map(([kind, count]) => `  ${String(count).padStart(6)}  ${kind}`).join('\n')}`;
  task.meta.statistic = `${cases} units\n${list('ends', ends)}\n${list('faults begun', faults)}\n${list('verdicts', verdicts)}`;
  console.log(task.meta.statistic);
  for (const counts of [faults, verdicts]) {
    for (const [kind, count] of counts) expect(count, kind).toBeGreaterThan(0);
  }
});
