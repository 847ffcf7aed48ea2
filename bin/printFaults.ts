/** What `faults` found, as text of 80 columns: single points of failure first, each with its reason; cautions last. */
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { FAULT_SIZES } from '../studies/faultList.ts';
import type { FaultAnswer, FaultsAnswer } from '../studies/faults.ts';
import { answerWords, ENDED } from '../studies/worstWords.ts';
import { clockTime, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

/** Most answers of which each gets the line that replays it. */
const FEW = 6;

export interface FaultsPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  readonly set: readonly string[];
  readonly interval_s: number;
  readonly repair_s: number;
  /** Prints the faults that change nothing one by one too. */
  readonly all?: boolean;
  /** Pairs that defeat the shutdown, and how many were run; undefined where none were asked for. */
  readonly pairs?: { readonly answers: readonly FaultAnswer[]; readonly run: number } | undefined;
  readonly paint?: Paint;
}

/** "hidden", or the alarm and how long it took; where the shutdown is lost before it, from when. */
export function revealWords(a: FaultAnswer): string {
  if (a.revealedBy === undefined) return 'hidden';
  const after = a.revealedAfter_s ?? 0;
  const alarm = `${a.revealedBy}, ${after < 1 ? 'at once' : `after ${clockTime(after)}`}`;
  return a.hidden ? `hidden from ${clockTime(a.defeatsAfter_s ?? 0)} on; ${alarm}` : alarm;
}

/** A time in days where it is whole days. */
export const span = (seconds: number): string => clockTime(seconds).replace(/ d 0:00:00$/, ' d');

const CONSEQUENCE = { defeats: 'DEFEATS', worse: 'less margin', none: '' } as const;

function rowOf(a: FaultAnswer, scenario: Scenario, options: FaultsPrintOptions, replayLine: boolean): Row {
  const { stroke, margin } = answerWords(scenario.plant, { ...a.answer, worst: a.stroke }, options.units);
  const below = [
    ...(a.reason === undefined
      ? []
      : paragraph('    ', printable(`lost at ${clockTime(a.lostAt_s)}: ${a.reason}`), WIDTH)),
    ...(replayLine ? paragraph('    ', printable(replayOf(a, options)), WIDTH) : []),
  ];
  return {
    cells: [a.item, a.mode, a.local, revealWords(a), `${stroke} ${margin}`, CONSEQUENCE[a.consequence]],
    ...(below.length > 0 ? { below } : {}),
  };
}

const replayOf = ({ overrides }: FaultAnswer, { file, set }: FaultsPrintOptions): string =>
  `tripstroke replay ${file}${[...set, ...overrides].map((s) => ` --set "${s}"`).join('')}`;

const COLUMNS = [
  { head: 'Item' },
  { head: 'Failure mode' },
  { head: 'In service' },
  { head: 'Revealed by' },
  { head: 'On loss of mains' },
  { head: '' },
] as const;

/** Faults that change nothing, by mode: "left in off: P-1, P-2". */
function quietLines(answers: readonly FaultAnswer[]): string[] {
  const byMode = new Map<string, string[]>();
  for (const a of answers) byMode.set(a.mode, [...(byMode.get(a.mode) ?? []), a.item]);
  return [...byMode].flatMap(([mode, items]) => paragraph('  ', printable(`${mode}: ${items.join(', ')}`), WIDTH));
}

export function printFaults(answer: FaultsAnswer, scenario: Scenario, options: FaultsPrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const { answers, sound } = answer;
  const of = (c: FaultAnswer['consequence']) => answers.filter((a) => a.consequence === c);
  const [defeats, worse, none] = [of('defeats'), of('worse'), of('none')];
  const hidden = defeats.filter((a) => a.hidden).length;
  const soundMet = sound.worst.spare >= 0;
  const met = soundMet && defeats.length === 0;
  const word = met ? 'MET' : 'NOT MET';
  const count = `${defeats.length} of ${answers.length} single faults defeat${defeats.length === 1 ? 's' : ''} the shutdown`;
  const required = sound.worst.worst !== undefined;
  const said = required
    ? `${count}${defeats.length > 0 ? `, ${hidden} of them hidden` : ''}.`
    : 'nothing is required of any valve, so no fault defeats anything.';
  const soundWords = answerWords(plant, sound.worst, units);
  const [first = '', ...rest] = paragraph(`${word}: `, said, WIDTH);
  const few = answers.length <= FEW;
  const rows = (list: readonly FaultAnswer[]) => list.map((a) => rowOf(a, scenario, options, few));
  const pressure = (p: number) => formatQuantity(p, 'pressureDifference', units);
  const flow = (q: number) => formatQuantity(q, 'volumeFlow', units);
  const percent = (x: number) => `${x * 100} %`;
  const own = values.faults.length === 0 ? '' : ' The faults of the file act in it.';
  const ended =
    sound.endedBy === undefined ? '' : `; service ends there by itself: ${ENDED[sound.endedBy]}, unless somebody comes`;
  const { pairs } = options;
  const sections = [
    [
      met ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    labelled(
      'Sound',
      !required
        ? `followed from ${clockTime(answer.begins_s)} to ${clockTime(sound.followed_s)}${ended}.${own}`
        : soundMet
          ? `without a fault the required set is met at every moment from ${clockTime(answer.begins_s)} to ${clockTime(sound.followed_s)}; least margin ${soundWords.stroke}: ${soundWords.margin}${ended}.${own}`
          : `the unit does not meet the requirement without a fault either: ${soundWords.stroke}: ${soundWords.margin}, with the mains lost at ${clockTime(sound.worstAt_s)}. Mend that first; below, a fault defeats the shutdown where a stroke fails by more than it ever does without one. Followed to ${clockTime(sound.followed_s)}${ended}.${own}`,
    ),
    defeats.length === 0 ? [] : ['Single points of failure:', ...table(COLUMNS, rows(defeats), WIDTH)],
    worse.length === 0 ? [] : ['Less margin, still met:', ...table(COLUMNS, rows(worse), WIDTH)],
    none.length === 0
      ? []
      : options.all || few
        ? ['No harm to the shutdown:', ...table(COLUMNS, rows(none), WIDTH)]
        : [`No harm to the shutdown (${none.length}; --all shows each):`, ...quietLines(none)],
    pairs === undefined ? [] : pairLines(pairs, scenario, options),
    labelled(
      'Each',
      `put in at ${clockTime(answer.begins_s)}, after a full cycle of service; acts until ${span(options.repair_s)} after the alarm that reveals it, else for ${span(options.interval_s)} or to the end of service; the mains are lost at the worst moment of that time. Hidden: the shutdown is lost and no alarm has told, or none tells at all.`,
    ),
    labelled(
      'Sizes',
      `(choice) capacity lost or line blocked ${percent(FAULT_SIZES.share)}, filter ${percent(FAULT_SIZES.filter)}, load up ${percent(FAULT_SIZES.load)}; check valve leaks ${percent(FAULT_SIZES.checkLeak)} of its pump; relief early by ${percent(FAULT_SIZES.reliefEarly)}; switch off by ${FAULT_SIZES.driftOverAccuracy} times its accuracy, else ${pressure(FAULT_SIZES.driftPressure_Pa)} or ${formatQuantity(FAULT_SIZES.driftLevel_m, 'length', units)}; oil leak ${flow(FAULT_SIZES.oilLeak_m3_s)}; air leak ${percent(FAULT_SIZES.airLeak)} of the pressure in an hour; past a piston ${flow(FAULT_SIZES.seal_m3_s)} at 1 bar; ambient ${FAULT_SIZES.ambient_K} K.`,
    ),
    few || defeats.length === 0
      ? []
      : labelled(
          'Replay',
          `${replayOf(defeats[0], options)} repeats the first; --csv and --json have the line of each, --only prints it for a few.`,
        ),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}

function pairLines(
  { answers, run }: NonNullable<FaultsPrintOptions['pairs']>,
  scenario: Scenario,
  options: FaultsPrintOptions,
): string[] {
  const said = `${answers.length} of ${run} pairs defeat the shutdown though neither of the two does alone${answers.length > 0 ? ':' : '.'}`;
  return [
    ...paragraph('', said, WIDTH),
    ...(answers.length === 0
      ? []
      : table(
          COLUMNS,
          answers.map((a) => rowOf(a, scenario, options, false)),
          WIDTH,
        )),
  ];
}
