/** The small unit of baseUnit.ts with what a well-set unit has besides: nothing is to be found on it. */
import { findFindings } from '../../scenarios/findings.ts';
import { type Finding, type FindingKind, type Result, replay, type Scenario } from '../../scenarios/index.ts';
import { type Changes, valve } from './baseUnit.ts';
import { scenarioOf } from './recorded.ts';

/** A valve of which something is required; the rest as given. 2 kN on the rod side, 164.1 cm2, are 1.22 bar. */
export const wanted = (more: Readonly<Record<string, unknown>> = {}) =>
  valve({ require: { longest: '20 s' }, ...more });

/** The last of both lists counts; a key with undefined is left as it is in the base unit. */
export function wellSet(changes: Changes = {}): Scenario {
  const all: Changes = {
    safetyValve: { tag: 'PSV-1', set: '12.9 barg', reseat: '12.3 barg', bore: '10 mm' },
    'tank.designPressure': '14 barg',
    'pumps.P-2.restartDelay': '5 s',
    'compressors.C-2.restartDelay': '5 s',
    valves: [wanted()],
    'power.lostAt': '10 s',
    ...changes,
  };
  return scenarioOf(Object.fromEntries(Object.entries(all).filter(([, value]) => value !== undefined)));
}

/** What the file alone shows. */
export function checked({ values, plant, place }: Scenario): Finding[] {
  return findFindings({ values, plant, units: 'si', place });
}

export function ranResult(scenario: Scenario): Result {
  return replay(scenario, { units: 'si', trace: false }).result;
}

export const ofKind = (findings: readonly Finding[], kind: FindingKind): Finding[] =>
  findings.filter(({ id }) => id === kind);
