/** What `worst` found, in words: for print and report. */
import { EventCode } from '../models/events.ts';
import type { Plant } from '../models/plant.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { clockTime } from '../scenarios/wording.ts';
import type { OutageAnswer } from './outage.ts';
import type { Service } from './service.ts';
import type { WorstAnswer } from './worst.ts';

/** "V-322 closes: 3.1 % force" or "V-322 closes: stalled". */
export function answerWords(plant: Plant, answer: OutageAnswer, units: UnitSystem): { stroke: string; margin: string } {
  const { worst } = answer;
  if (worst === undefined) return { stroke: '-', margin: 'nothing required' };
  const v = plant.valves[worst.valve];
  const way = v.strokes[worst.stroke - 1] > 0 ? 'opens' : 'closes';
  const which = v.strokes.length > 1 ? ` ${worst.stroke}/${v.strokes.length}` : '';
  const margin =
    worst.outcome !== 'completed'
      ? worst.outcome
      : worst.margin === Infinity
        ? 'load assists'
        : `${formatQuantity(worst.margin, 'fraction', units)} ${worst.of}`;
  return { stroke: `${v.tag} ${way}${which}`, margin };
}

/** What ends service, by EventCode. */
export const ENDED: Readonly<Record<number, string>> = {
  [EventCode.suctionLost]: 'the oil of the sump is used up',
  [EventCode.sumpOverflows]: 'the sump runs over',
  [EventCode.gasBreakthrough]: 'the tank is empty',
  [EventCode.outletShut]: 'the outlet shuts on low-low level',
  [EventCode.tankFull]: 'the tank is full of oil',
};

/** Over which service the moments are spread. */
export function serviceWords(service: Service, plant: Plant, units: UnitSystem): string {
  const motors = [...plant.pumps, ...plant.compressors];
  const counts = motors
    .map((m, k) => ({
      tag: m.tag,
      starts: service.events.filter((e) => e.item === k && e.code === EventCode.motorStarted).length,
    }))
    .filter(({ starts }) => starts > 0)
    .map(({ tag, starts }) => `${tag} ${starts}`);
  const followed = `Followed for ${clockTime(service.ticks * plant.tick_s)}`;
  const starts = counts.length === 0 ? '; no machine starts' : `; starts: ${counts.join(', ')}`;
  const idle = service.idle.length === 0 ? '' : `; never: ${service.idle.map((m) => motors[m].tag).join(', ')}`;
  const ended =
    service.endedBy === undefined
      ? ''
      : `. Service ends there by itself: ${ENDED[service.endedBy]}, unless somebody comes`;
  const { drift } = service;
  const repeats =
    drift === undefined
      ? ''
      : ` Between the last two starts of ${motors[drift.motor].tag} the pressure differs by ${formatQuantity(Math.abs(drift.pressure_Pa), 'pressureDifference', units)}: ${Math.abs(drift.pressure_Pa) < 0.005 * plant.start.gasPressure_Pa ? 'the cycle repeats' : 'the cycle does not repeat'}.`;
  const short =
    service.complete || service.endedBy !== undefined ? '' : ' Not every machine had its three turns in that time.';
  return `${followed}${starts}${idle}${ended}.${short}${repeats}`;
}

/** Which switch band makes the difference between the worst and the best moment. */
export function bandWords({ gain, worst, best }: WorstAnswer, plant: Plant): string {
  const percent = (x: number) => `${(x * 100).toFixed(1)} %`;
  const tag = (role: string) => plant.panel.contacts.find((c) => c.role === role)?.tag;
  const band = (low: string, high: string) => {
    const tags = [tag(low), tag(high)].filter((t) => t !== undefined);
    return tags.length === 2 ? ` (${tags[0]} to ${tags[1]})` : '';
  };
  const pressure = `the pressure band of the compressors${band('pressure.cutIn', 'pressure.cutOut')}`;
  const level = `the level band of the pumps${band('level.dutyStart', 'level.stop')}`;
  const all = best.answer.spare - worst.answer.spare;
  // Less than is shown, or nothing: what would it be explained by.
  if (!(all >= 0.0005)) return 'All moments of service are alike.';
  const { byPressure, byOil } = gain;
  const [name, share] = byPressure >= byOil ? [pressure, byPressure] : [level, byOil];
  if (share < all / 4)
    return `Neither pressure nor level alone explains the ${percent(all)} between worst and best: the state of valves or machines does.`;
  return `Between worst and best lie ${percent(all)} of margin. With the pressure of the best moment the worst would gain ${percent(byPressure)}, with its level ${percent(byOil)}: what counts is ${name}.`;
}

/** The verdict, in a sentence. */
export function worstSaid({ proof, worst, corners }: WorstAnswer, plant: Plant, units: UnitSystem): string {
  if (worst.answer.worst === undefined) return 'nothing is required of any valve, so no moment is worse than another.';
  const at =
    proof.from === 'service'
      ? `at the worst moment of service, ${clockTime(worst.time_s)}`
      : `in the least favourable state that the switches permit, with the ${corners[0].name}`;
  const least = answerWords(plant, proof.from === 'service' ? worst.answer : corners[0].answer, units);
  return `${at}, ${least.stroke}: ${least.margin}.`;
}

/** What the verdict holds for. */
export const worstHolds = ({ moments, corners }: WorstAnswer, plant: Plant): string =>
  `for this file: ${moments.length} moments of service and ${corners.length} states put together from the switches, each run in full; no faults but those of the file.${exactWords(plant)}`;

/** Switches that say between which levels and pressures service goes on. */
const BOUNDS = /^(level\.(standbyStart|dutyStart|normal|stop)|pressure\.(standbyCutIn|cutIn))$/;

/** Which of these count as exact, since the file states no accuracy for them. */
export function exactWords({ panel }: Plant): string {
  const bounds = panel.contacts.filter((c) => BOUNDS.test(c.role));
  const exact = bounds.filter((c) => !(c.accuracy > 0)).map((c) => c.tag);
  return exact.length === 0 ? '' : ` No accuracy is stated for ${exact.join(', ')}: taken to trip exactly where set.`;
}
