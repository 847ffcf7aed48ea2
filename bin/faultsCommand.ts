/** `faults`: which single faults, and which pairs, defeat the shutdown? */
import { stringify } from 'csv-stringify/sync';
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { columnUnit, readQuantity, type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import {
  examineFaults,
  examinePairs,
  type FaultAnswer,
  type FaultsAnswer,
  INTERVAL_s,
  pairsOf,
  REPAIR_s,
} from '../studies/faults.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { printFaults, revealWords } from './printFaults.ts';
import { answerWords } from './printWorst.ts';
import { progressLine } from './progress.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';
import { writeWhole } from './writeWhole.ts';

export interface FaultsCommandOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
  readonly interval?: string | undefined;
  readonly repair?: string | undefined;
  readonly only?: string | undefined;
  readonly pairs?: boolean | undefined;
  readonly most?: number | undefined;
  readonly all?: boolean | undefined;
  readonly csv?: string | undefined;
  readonly json?: boolean | undefined;
}

/** Most pairs that are run unless more are allowed. */
const MOST_PAIRS = 10_000;

export async function faultsCommand(file: string, options: FaultsCommandOptions): Promise<Exit> {
  const times = await withUnits(() => [
    timeOption('--interval', options.interval, INTERVAL_s),
    timeOption('--repair', options.repair, REPAIR_s),
  ]);
  const wrong = times.find((t) => typeof t === 'string');
  if (wrong !== undefined) {
    warn(wrong as string);
    return Exit.refused;
  }
  const [interval_s, repair_s] = times as number[];
  return forEachFile([file], ({ text }) => {
    const loaded = loadScenario(text, { file: nameOf(file), overrides: options.set ?? [] });
    const { scenario } = loaded;
    if (scenario === undefined) return () => refuse(loaded);
    const units = options.units ?? unitsWritten(text);
    const { values, plant } = scenario;
    const study = { units, interval_s, repair_s };
    const started = performance.now();
    const progress = progressLine(nameOf(file));
    const answer = examineFaults(values, plant, {
      ...study,
      onProgress: progress.update,
      ...(options.only === undefined ? {} : { only: options.only }),
    });
    progress.clear();
    if (answer.answers.length === 0) {
      return () => {
        warn(`--only: no fault of this unit has "${options.only}" in its item or failure mode; try "P-" or "leak"`);
        return Exit.refused;
      };
    }
    let pairs: { answers: readonly FaultAnswer[]; run: number } | undefined;
    if (options.pairs) {
      const list = pairsOf(answer.answers);
      const each = (performance.now() - started) / answer.answers.length / 1000;
      const about = `${list.length} pairs of faults, about ${duration(list.length * each)}`;
      const most = options.most ?? MOST_PAIRS;
      if (list.length > most) {
        return () => {
          warn(`${about}: more than ${most}; narrow them down with --only, or allow them with --most ${list.length}`);
          return Exit.refused;
        };
      }
      warn(about);
      pairs = {
        answers: examinePairs(values, plant, list, { ...study, onProgress: progress.update }),
        run: list.length,
      };
      progress.clear();
    }
    return () => {
      const failed =
        options.csv === undefined
          ? undefined
          : writeWhole(
              options.csv,
              faultsCsv([...answer.answers, ...(pairs?.answers ?? [])], scenario, units),
              'the faults',
            );
      if (options.json) say(faultsJson(answer, pairs, scenario));
      else {
        say(
          printFaults(answer, scenario, {
            file: nameOf(file),
            units,
            set: options.set ?? [],
            interval_s,
            repair_s,
            all: options.all ?? false,
            pairs,
            paint: paintStdout,
          }),
        );
      }
      if (failed !== undefined) {
        warn(failed);
        return Exit.refused;
      }
      const defeated = answer.answers.some((a) => a.consequence === 'defeats') || (pairs?.answers.length ?? 0) > 0;
      return answer.sound.worst.spare >= 0 && !defeated ? Exit.met : Exit.notMet;
    };
  });
}

function duration(seconds: number): string {
  return seconds < 90 ? `${Math.ceil(seconds)} s` : `${Math.ceil(seconds / 60)} min`;
}

function timeOption(name: string, text: string | undefined, otherwise: number): number | string {
  if (text === undefined) return otherwise;
  const read = readQuantity(text, 'time', undefined, '30 d');
  if ('problem' in read) return `${name}: ${read.problem}`;
  return read.value > 0 ? read.value : `${name}: "${text}" must be more than 0; write for example "30 d"`;
}

/** SI, unit last in each name; what does not exist is null. */
function faultsJson(
  answer: FaultsAnswer,
  pairs: { readonly answers: readonly FaultAnswer[]; readonly run: number } | undefined,
  { file, values }: Scenario,
): string {
  const whole = {
    program: `tripstroke ${VERSION}`,
    file,
    title: values.title,
    seed: values.seed,
    ...answer,
    pairs: pairs ?? null,
    cautions: CAUTIONS,
  };
  return `${JSON.stringify(whole, (_key, part: unknown) => (part === undefined || part === Infinity ? null : part), 2)}\n`;
}

function faultsCsv(answers: readonly FaultAnswer[], { plant }: Scenario, units: UnitSystem): string {
  const pressure = columnUnit('pressure', units);
  const head = [
    'item',
    'failure mode',
    'in service',
    'revealed by',
    'revealed after [s]',
    'defeats after [s]',
    'acts for [s]',
    'mains lost at [s]',
    `tank pressure [${pressure.name}]`,
    'least margin of',
    'margin',
    'margin beyond the wanted one',
    'consequence',
    'reason',
    'replay with',
  ];
  const rows = answers.map((a) => {
    const { stroke, margin } = answerWords(plant, { ...a.answer, worst: a.stroke }, units);
    return [
      a.item,
      a.mode,
      a.local,
      a.revealedBy ?? revealWords(a),
      a.revealedAfter_s ?? '',
      a.defeatsAfter_s ?? '',
      a.acts_s,
      a.lostAt_s,
      pressure.toDisplay(a.pressure_Pa, plant.ambientPressure_Pa),
      stroke,
      margin,
      a.answer.spare,
      a.consequence,
      a.reason ?? '',
      a.overrides.map((s) => `--set "${s}"`).join(' '),
    ];
  });
  return stringify([head, ...rows]);
}
