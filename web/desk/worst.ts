/** The worst moment to lose the mains, in the words and numbers of the page. */
import { capital } from '../../scenarios/resultText.ts';
import { formatQuantity } from '../../scenarios/units.ts';
import type { OutageAnswer } from '../../studies/outage.ts';
import { findWorst, worstOverrides } from '../../studies/worst.ts';
import { answerWords, worstSaid } from '../../studies/worstWords.ts';
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
  const least = (of: OutageAnswer) => {
    const { stroke, margin } = answerWords(plant, of, units);
    return `${stroke}: ${margin}`;
  };
  const [corner] = corners;
  const there =
    proof.from === 'service' || corner === undefined
      ? `${pressure(worst.pressure_Pa)}, ${level(plant.tank.vessel.levelAt(worst.oil_m3))}`
      : `${pressure(corner.pressure_Pa)}, ${level(corner.level_m)}`;
  return {
    met: proof.met,
    from: proof.from,
    words: `${capital(worstSaid(answer, plant, units))} The tank stands at ${there} then. At the best of ${answer.moments.length} moments of service, ${least(best.answer)}.`,
    overrides: worstOverrides(answer, values, plant),
    moments: answer.moments.map((m) => ({
      time_s: m.time_s,
      spare: m.answer.worst?.outcome === 'completed' && Number.isFinite(m.answer.spare) ? m.answer.spare : null,
      met: m.answer.met,
    })),
    worst_s: worst.time_s,
  };
}
