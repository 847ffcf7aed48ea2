/** What `faults` found, in words: for print and report. */
import type { Scenario } from '../scenarios/load.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { clockTime } from '../scenarios/wording.ts';
import { FAULT_SIZES } from './faultList.ts';
import type { FaultAnswer, FaultsAnswer } from './faults.ts';
import { answerWords, ENDED } from './worstWords.ts';

/** "hidden", or the alarm and how long it took; where the shutdown is lost before it, from when. */
export function revealWords(a: FaultAnswer): string {
  if (a.revealedBy === undefined) return 'hidden';
  const after = a.revealedAfter_s ?? 0;
  const alarm = `${a.revealedBy}, ${after < 1 ? 'at once' : `after ${clockTime(after)}`}`;
  return a.hidden ? `hidden from ${clockTime(a.defeatsAfter_s ?? 0)} on; ${alarm}` : alarm;
}

/** A time in days where it is whole days. */
export const span = (seconds: number): string => clockTime(seconds).replace(/ d 0:00:00$/, ' d');

/** What a fault does, in a word. */
export const CONSEQUENCE = { defeats: 'DEFEATS', worse: 'less margin', none: '' } as const;

/** When the mains are lost and why that defeats the shutdown; undefined where it does not. */
export const lostText = ({ lostAt_s, reason }: FaultAnswer): string | undefined =>
  reason === undefined ? undefined : `lost at ${clockTime(lostAt_s)}: ${reason}`;

/** The command line that repeats it. */
export const replayOf = (
  { overrides }: FaultAnswer,
  { file, set }: { readonly file: string; readonly set: readonly string[] },
): string => `tripstroke replay ${file}${[...set, ...overrides].map((s) => ` --set "${s}"`).join('')}`;

/** The verdict, in a sentence. */
export function faultsSaid({ answers, sound }: FaultsAnswer): string {
  if (sound.worst.worst === undefined) return 'nothing is required of any valve, so no fault defeats anything.';
  const defeats = answers.filter((a) => a.consequence === 'defeats');
  const hidden = defeats.filter((a) => a.hidden).length;
  const count = `${defeats.length} of ${answers.length} single faults defeat${defeats.length === 1 ? 's' : ''} the shutdown`;
  return `${count}${defeats.length > 0 ? `, ${hidden} of them hidden` : ''}.`;
}

export const pairsSaid = (defeating: number, run: number): string =>
  `${defeating} of ${run} pairs defeat the shutdown though neither of the two does alone${defeating > 0 ? ':' : '.'}`;

/** How the unit does without a fault. */
export function soundText(answer: FaultsAnswer, { plant, values }: Scenario, units: UnitSystem): string {
  const { sound, begins_s } = answer;
  const own = values.faults.length === 0 ? '' : ' The faults of the file act in it.';
  const ended =
    sound.endedBy === undefined ? '' : `; service ends there by itself: ${ENDED[sound.endedBy]}, unless somebody comes`;
  if (sound.worst.worst === undefined)
    return `followed from ${clockTime(begins_s)} to ${clockTime(sound.followed_s)}${ended}.${own}`;
  const { stroke, margin } = answerWords(plant, sound.worst, units);
  return sound.worst.spare >= 0
    ? `without a fault the required set is met at every moment from ${clockTime(begins_s)} to ${clockTime(sound.followed_s)}; least margin ${stroke}: ${margin}${ended}.${own}`
    : `the unit does not meet the requirement without a fault either: ${stroke}: ${margin}, with the mains lost at ${clockTime(sound.worstAt_s)}. Mend that first; below, a fault defeats the shutdown where a stroke fails by more than it ever does without one. Followed to ${clockTime(sound.followed_s)}${ended}.${own}`;
}

/** How each fault is put in. */
export const eachText = (
  answer: FaultsAnswer,
  { repair_s, interval_s }: { readonly repair_s: number; readonly interval_s: number },
): string =>
  `put in at ${clockTime(answer.begins_s)}, after a full cycle of service; acts until ${span(repair_s)} after the alarm that reveals it, else for ${span(interval_s)} or to the end of service; the mains are lost at the worst moment of that time. Hidden: the shutdown is lost and no alarm has told, or none tells at all.`;

/** The size of each fault. */
export function sizesText(units: UnitSystem): string {
  const pressure = (p: number) => formatQuantity(p, 'pressureDifference', units);
  const flow = (q: number) => formatQuantity(q, 'volumeFlow', units);
  const percent = (x: number) => `${x * 100} %`;
  return `(choice) capacity lost or line blocked ${percent(FAULT_SIZES.share)}, filter ${percent(FAULT_SIZES.filter)}, load up ${percent(FAULT_SIZES.load)}; check valve leaks ${percent(FAULT_SIZES.checkLeak)} of its pump; relief early by ${percent(FAULT_SIZES.reliefEarly)}; switch off by ${FAULT_SIZES.driftOverAccuracy} times its accuracy, else ${pressure(FAULT_SIZES.driftPressure_Pa)} or ${formatQuantity(FAULT_SIZES.driftLevel_m, 'length', units)}; oil leak ${flow(FAULT_SIZES.oilLeak_m3_s)}; air leak ${percent(FAULT_SIZES.airLeak)} of the pressure in an hour; past a piston ${flow(FAULT_SIZES.seal_m3_s)} at 1 bar; ambient ${FAULT_SIZES.ambient_K} K.`;
}
