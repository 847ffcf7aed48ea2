/**
 * Findings: settings that can be simulated but are bad, and figures worth knowing. A closed list (findings/kinds.ts); each
 * names its places in the file and says what to do. The run goes on: a badly set unit is what the engineer was called to.
 */
import { findInRun } from './findings/afterRun.ts';
import { findUsableOil } from './findings/figures.ts';
import { FINDING_KINDS, type Finding, type FindingKind, SEVERITIES, type Severity } from './findings/kinds.ts';
import { findLevels } from './findings/levels.ts';
import { lookAt, type Subject } from './findings/look.ts';
import { findMachines } from './findings/machines.ts';
import { findPressures } from './findings/pressures.ts';
import { findTrips } from './findings/trips.ts';
import type { StrokeResult } from './result.ts';
import type { RunRecord } from './run.ts';
import { staircase } from './staircase.ts';

export { FINDING_KINDS, type FindingKind };

/** What a run adds to what the file alone shows. */
export interface Ran {
  readonly run: RunRecord;
  readonly strokes: readonly StrokeResult[];
}

/** All findings of a scenario, warnings first, otherwise in a fixed order; with a run also those that only it shows. */
export function findFindings(subject: Subject, ran?: Ran): Finding[] {
  const found: Finding[] = [];
  const look = lookAt(subject, found);
  const stairs = staircase(subject.values, subject.plant);
  findLevels(look, stairs.level);
  findPressures(look, stairs.pressure);
  findMachines(look);
  findTrips(look);
  if (ran !== undefined) findInRun(look, ran.run, ran.strokes);
  // What a run gave stands for what the file lets expect.
  if (!found.some(({ id }) => id === 'usable oil in the run')) findUsableOil(look);
  const rank = Object.keys(SEVERITIES) as Severity[];
  return found.sort((a, b) => rank.indexOf(a.severity) - rank.indexOf(b.severity));
}
