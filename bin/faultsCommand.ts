/** `faults`: which single faults, and which pairs, defeat the shutdown? */
import { stringify } from 'csv-stringify/sync';
import type { Scenario } from '../scenarios/load.ts';
import { columnUnit, type UnitSystem } from '../scenarios/units.ts';
import { examineFaults, examinePairs, type FaultAnswer, INTERVAL_s, pairsOf, REPAIR_s } from '../studies/faults.ts';
import { revealWords } from '../studies/faultsWords.ts';
import { answerWords } from '../studies/worstWords.ts';
import { Exit } from './exitCodes.ts';
import { nameOf } from './input.ts';
import { printFaults } from './printFaults.ts';
import { answerJson, fileReport, type StudyOptions, studyFile, timeOptions } from './study.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface FaultsCommandOptions extends StudyOptions {
  readonly interval?: string | undefined;
  readonly repair?: string | undefined;
  readonly only?: string | undefined;
  readonly pairs?: boolean | undefined;
  readonly most?: number | undefined;
  readonly all?: boolean | undefined;
  readonly csv?: string | undefined;
}

/** Most pairs that are run unless more are allowed. */
const MOST_PAIRS = 10_000;

export async function faultsCommand(file: string, options: FaultsCommandOptions): Promise<Exit> {
  const times = await timeOptions([
    ['--interval', options.interval, INTERVAL_s],
    ['--repair', options.repair, REPAIR_s],
  ]);
  if (times === undefined) return Exit.refused;
  const [interval_s, repair_s] = times;
  const reports = options.report === undefined ? undefined : await import('../web/report/faults.ts');
  return studyFile(file, options, (opened) => {
    const { scenario, units, onProgress, clear } = opened;
    const { values, plant } = scenario;
    const study = { units, interval_s, repair_s };
    const started = performance.now();
    const answer = examineFaults(values, plant, {
      ...study,
      onProgress,
      ...(options.only === undefined ? {} : { only: options.only }),
    });
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
      clear();
      warn(about);
      pairs = {
        answers: examinePairs(values, plant, list, { ...study, onProgress }),
        run: list.length,
      };
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
      if (options.json) say(answerJson(scenario, { ...answer, pairs: pairs ?? null }));
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
      const { interval, repair, only, pairs: asked, most } = options;
      const changing = { interval, repair, only, pairs: asked, most };
      const unfiled = fileReport('faults', file, opened, options, changing, (report) =>
        reports!.faultsReport(answer, {
          ...report,
          file: nameOf(file),
          set: options.set ?? [],
          interval_s,
          repair_s,
          pairs,
        }),
      );
      const complaints = [failed, unfiled].filter((f) => f !== undefined);
      if (complaints.length > 0) {
        complaints.forEach(warn);
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

export function faultsCsv(answers: readonly FaultAnswer[], { plant }: Scenario, units: UnitSystem): string {
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
