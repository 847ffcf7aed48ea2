/** `worst`: when is the worst moment to lose the mains? */
import { stringify } from 'csv-stringify/sync';
import type { Scenario } from '../scenarios/load.ts';
import { columnUnit, type UnitSystem } from '../scenarios/units.ts';
import { findWorst, type WorstAnswer } from '../studies/worst.ts';
import { answerWords } from '../studies/worstWords.ts';
import { Exit } from './exitCodes.ts';
import { nameOf } from './input.ts';
import { printWorst } from './printWorst.ts';
import { answerJson, fileReport, type StudyOptions, studyFile, timeOptions } from './study.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface WorstCommandOptions extends StudyOptions {
  readonly instants?: number | undefined;
  readonly service?: string | undefined;
  readonly csv?: string | undefined;
}

export async function worstCommand(file: string, options: WorstCommandOptions): Promise<Exit> {
  const times = await timeOptions([['--service', options.service, undefined]]);
  if (times === undefined) return Exit.refused;
  const [longest] = times;
  const reports = options.report === undefined ? undefined : await import('../web/report/worst.ts');
  return studyFile(file, options, (study) => {
    const { scenario, units, onProgress } = study;
    const answer = findWorst(scenario.values, scenario.plant, {
      onProgress,
      ...(options.instants === undefined ? {} : { instants: options.instants }),
      ...(longest === undefined ? {} : { longestService_s: longest }),
    });
    return () => {
      const failed =
        options.csv === undefined
          ? undefined
          : writeWhole(options.csv, momentsCsv(answer, scenario, units), 'the moments');
      if (options.json) say(answerJson(scenario, answer));
      else say(printWorst(answer, scenario, { file: nameOf(file), units, set: options.set ?? [], paint: paintStdout }));
      const { instants, service } = options;
      const unfiled = fileReport('worst', file, study, options, { instants, service }, (report) =>
        reports!.worstReport(answer, report),
      );
      const complaints = [failed, unfiled].filter((f) => f !== undefined);
      if (complaints.length > 0) {
        complaints.forEach(warn);
        return Exit.refused;
      }
      return answer.proof.met ? Exit.met : Exit.notMet;
    };
  });
}

function momentsCsv(answer: WorstAnswer, { plant }: Scenario, units: UnitSystem): string {
  const pressure = columnUnit('pressure', units);
  const length = columnUnit('length', units);
  const rows = answer.moments.map((m) => {
    const { stroke, margin } = answerWords(plant, m.answer, units);
    const level_m = plant.tank.vessel.levelAt(m.oil_m3) - plant.tank.sightGlassZero_m;
    const ambient = plant.ambientPressure_Pa;
    return [
      m.time_s,
      pressure.toDisplay(m.pressure_Pa, ambient),
      length.toDisplay(level_m, ambient),
      stroke,
      margin,
      m.answer.spare,
      m.answer.met ? 1 : 0,
    ];
  });
  const head = [
    'mains lost at [s]',
    `tank pressure [${pressure.name}]`,
    `tank level [${length.name}]`,
    'least margin of',
    'margin',
    'margin beyond the wanted one',
    'met',
  ];
  return stringify([head, ...rows]);
}
