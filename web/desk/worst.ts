/** The worst moment to lose the mains, in the words and numbers of the page. */
import { formatQuantity } from '../../scenarios/units.ts';
import { findWorst, worstOverrides } from '../../studies/worst.ts';
import { scenarioOf } from './examine.ts';
import type { WorstFound, WorstRequest } from './protocol.ts';

/** Follows service and fails at many instants of it. Errors: when the scenario has faults. */
export function searchWorst(asked: Omit<WorstRequest, 'kind' | 'id'>, onProgress: (share: number) => void): WorstFound {
  const { scenario, units } = scenarioOf(asked);
  if (scenario === undefined) throw new Error('a scenario with faults cannot be examined');
  const { values, plant } = scenario;
  const answer = findWorst(values, plant, { onProgress });
  const { worst, best, proof, corners } = answer;
  const pressure = (pa: number) => formatQuantity(pa, 'pressure', units, plant.ambientPressure_Pa);
  const level = (m: number) => formatQuantity(m - plant.tank.sightGlassZero_m, 'length', units);
  const margin = (spare: number) =>
    Number.isFinite(spare)
      ? `${formatQuantity(Math.abs(spare), 'fraction', units)} ${spare < 0 ? 'short of' : 'more than'} the wanted margin`
      : spare < 0
        ? 'a stroke that does not end'
        : 'nothing that could fail';
  const [corner] = corners;
  const where =
    proof.from === 'service' || corner === undefined
      ? `at ${formatQuantity(worst.time_s, 'time', units)} of normal service, ${pressure(worst.pressure_Pa)} and ${level(plant.tank.vessel.levelAt(worst.oil_m3))}`
      : `in a state that the switches permit though service did not come to it: ${pressure(corner.pressure_Pa)}, ${corner.name} (${level(corner.level_m)})`;
  return {
    met: proof.met,
    from: proof.from,
    words: `${proof.met ? 'Met at the worst moment' : 'Not met at the worst moment'}: ${where}; ${margin(proof.spare)}. The best of ${answer.moments.length} moments leaves ${margin(best.answer.spare)}.`,
    overrides: worstOverrides(answer, values, plant),
    moments: answer.moments.map((m) => ({
      time_s: m.time_s,
      spare: Number.isFinite(m.answer.spare) ? m.answer.spare : null,
      met: m.answer.met,
    })),
    worst_s: worst.time_s,
  };
}
