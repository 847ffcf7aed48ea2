/** `explain`: what makes the unit behave as it was seen to? */
import path from 'node:path';
import { faultLine, withFault, withKey, withQuantity } from '../scenarios/addition.ts';
import { type Fault, makeSource } from '../scenarios/faults.ts';
import type { Scenario } from '../scenarios/load.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import type { CauseAnswer, ExplainAnswer, Seen } from '../studies/explain.ts';
import { explain } from '../studies/explain.ts';
import { type ColumnMapping, columnMapping, readLog } from '../studies/log.ts';
import {
  collector,
  csvEntries,
  csvRows,
  type Entry,
  figuresGiven,
  optionEntry,
  statedAccuracies,
  yamlEntries,
} from '../studies/seen.ts';
import { residualPlot } from '../web/svg/residuals.ts';
import { Exit } from './exitCodes.ts';
import { refuse } from './files.ts';
import { beginsWithMark, nameOf, overItself, readScenarioText, STANDARD_INPUT } from './input.ts';
import { printExplain, readingName } from './printExplain.ts';
import { answerJson, type StudyOptions, studyFile } from './study.ts';
import { paintStdout, say, warn } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface ExplainCommandOptions extends StudyOptions {
  readonly seen: readonly string[];
  readonly column?: readonly string[] | undefined;
  readonly out?: string | undefined;
  readonly plot?: string | undefined;
  readonly all?: boolean | undefined;
}

/** A file of readings, as text. */
interface SeenFile {
  readonly name: string;
  readonly text: string;
}

export async function explainCommand(file: string, options: ExplainCommandOptions): Promise<Exit> {
  const { out, set = [] } = options;
  if (out !== undefined && set.length > 0) {
    warn('--out writes the file with nothing but the cause added; put what --set changes into the file first');
    return Exit.refused;
  }
  const over = out === undefined ? undefined : overItself(file, out);
  if (over !== undefined) {
    warn(over);
    return Exit.refused;
  }
  const mappings: ColumnMapping[] = [];
  for (const text of options.column ?? []) {
    const mapping = columnMapping(text);
    if (mapping === undefined) {
      warn(`--column: "${text}" must be written what=HEADING, for instance "pressure=PT-12 [psig]"`);
      return Exit.refused;
    }
    mappings.push(mapping);
  }
  const files: SeenFile[] = [];
  for (const one of options.seen) {
    if (one.includes('=')) continue;
    if (one === STANDARD_INPUT && file === STANDARD_INPUT) {
      warn('"-" is given twice; standard input can be read once');
      return Exit.refused;
    }
    const input = await readScenarioText(one);
    if ('problem' in input) {
      warn(input.problem);
      return Exit.refused;
    }
    files.push({ name: nameOf(one), text: input.text.replace(/^\ufeff/, '') });
  }
  return studyFile(file, options, ({ scenario, text, units, onProgress }) => {
    const read = readSeen(scenario, files, options.seen, mappings);
    if ('faults' in read) return () => refuse({ scenario: undefined, faults: read.faults, further: 0 });
    const answer = explain(scenario.values, read.seen, { onProgress });
    return () => {
      const [best] = answer.causes;
      const problems: string[] = [];
      let written: string | undefined;
      if (out !== undefined) {
        const failed =
          best === undefined || !best.explains
            ? `${out} was not written: no cause explains the readings`
            : writeFitted(out, file, text, scenario, best, units);
        if (failed === undefined) written = out;
        else problems.push(failed);
      }
      let drawn: string | undefined;
      if (options.plot !== undefined) {
        const failed = writeWhole(options.plot, plotOf(answer, scenario), 'the plot');
        if (failed === undefined) drawn = options.plot;
        else problems.push(failed);
      }
      if (options.json) say(answerJson(scenario, forJson(answer, read, units)));
      else
        say(
          printExplain(answer, scenario, {
            file: nameOf(file),
            units,
            set,
            seen: read.words,
            ignored: read.ignored,
            accuracies: read.seen.accuracies,
            watched_s: read.seen.watched_s,
            out: written,
            plot: drawn,
            all: options.all,
            paint: paintStdout,
          }),
        );
      for (const problem of problems) warn(problem);
      const good = ['explained', 'cannot be told apart', 'nothing to explain'].includes(answer.verdict);
      if (problems.some((p) => !p.includes('no cause explains'))) return Exit.refused;
      return good ? Exit.met : Exit.notMet;
    };
  });
}

interface ReadSeen {
  readonly seen: Seen;
  readonly words: readonly string[];
  readonly ignored: readonly string[];
}

/** All that was given with --seen, in the order of the command line. */
function readSeen(
  { plant, values }: Scenario,
  files: readonly SeenFile[],
  given: readonly string[],
  mappings: readonly ColumnMapping[],
): ReadSeen | { readonly faults: readonly Fault[] } {
  const { faults, complain } = collector();
  const entries: Entry[] = [];
  const words: string[] = [];
  const logs: { readonly file: SeenFile; readonly rows: ReturnType<typeof csvRows> }[] = [];
  given
    .filter((s) => s.includes('='))
    .forEach((text, k) => {
      const entry = optionEntry(text, k + 1, complain);
      if (entry !== undefined) entries.push(entry);
    });
  for (const file of files) {
    if (!/\.(csv|tsv|txt|log)$/i.test(file.name)) {
      entries.push(...yamlEntries(file.name, file.text, complain));
      words.push(`${file.name}.`);
      continue;
    }
    const rows = csvRows(file.text);
    const head = (rows.rows[0]?.cells ?? []).map((c) => c.text.trim().toLowerCase());
    if (head.includes('reading') && head.includes('value')) {
      entries.push(...csvEntries(makeSource(file.name, file.text), rows.rows, complain));
      words.push(`${file.name}.`);
    } else logs.push({ file, rows });
  }
  const { figures, accuracies } = figuresGiven(entries, plant, statedAccuracies(values), complain);
  if (figures.length > 0)
    words.push(`${figures.length} reading${figures.length === 1 ? '' : 's'}, as in the table below.`);
  const [log, another] = logs;
  if (another !== undefined)
    complain(
      { source: makeSource(another.file.name, another.file.text), offset: 0 },
      '',
      'is a second log; one at a time can be explained',
    );
  if (log === undefined) {
    if (figures.length === 0 && faults.length === 0)
      complain(
        { source: makeSource('--seen', given.join(' ')), offset: 0 },
        '',
        'no reading is given, only accuracies',
      );
    if (faults.length > 0) return { faults };
    return { seen: { figures, watched_s: undefined, start: undefined, accuracies }, words, ignored: [] };
  }
  const source = makeSource(log.file.name, log.file.text);
  if (figures.length > 0)
    complain(
      { source, offset: 0 },
      '',
      'is a log, and readings are given beside it; give one or the other, accuracies may stand beside a log',
    );
  const reading = readLog(source, log.rows.rows, log.rows.delimiter, plant, accuracies, mappings, complain);
  if (reading === undefined || faults.length > 0) return { faults };
  const count = (kind: string) => reading.watched.calls.filter((c) => c.kind === kind).length;
  words.push(
    `${log.file.name}, ${hours(reading.watched_s ?? 0)}: ${count('pumps')} starts of pumps, ${count('compressors')} of compressors; read ${reading.columns.join(', ')}.`,
  );
  const { watched_s, start, margin_s } = reading;
  const seen: Seen = {
    figures: reading.figures,
    watched_s,
    start,
    accuracies: reading.accuracies,
    ...(margin_s === undefined ? {} : { margin_s }),
  };
  return { seen, words, ignored: reading.ignored };
}

const hours = (seconds: number) => `${(seconds / 3600).toFixed(1)} h`;

/** @returns undefined, or one line about what stands in the way */
function writeFitted(
  out: string,
  file: string,
  text: string,
  { plant }: Scenario,
  { cause, size }: CauseAnswer,
  units: UnitSystem,
): string | undefined {
  if (cause === undefined) return undefined;
  const written = cause.written(size);
  const added =
    'fault' in written
      ? withFault(text, faultLine(written.fault, units))
      : cause.name === 'heat exchange'
        ? withKey(text, 'tank', 'heat', `{ exchange: conductance, conductance: ${Number(size.toPrecision(4))} W/K }`)
        : withQuantity(
            text,
            'start.pressure',
            plant.start.gasPressure_Pa * (1 - size),
            'pressure',
            plant.ambientPressure_Pa,
          );
  if ('problem' in added) return `${out} was not written: ${added.problem}; the line "Replay" has what to --set`;
  return writeWhole(out, `${beginsWithMark(file) ? '\ufeff' : ''}${added.text}`, 'the fitted scenario');
}

function plotOf({ asFiled, causes }: ExplainAnswer, scenario: Scenario): string {
  const [best] = causes;
  const rows = asFiled.compared.map((c, i) => ({
    name: readingName(c),
    filed: c.residual,
    fitted: best?.compared[i]?.residual ?? c.residual,
  }));
  const title = path.basename(scenario.file).replace(/\.ya?ml$/i, '');
  return residualPlot(`${title}: readings against the engine`, best?.cause?.text ?? 'as the file says', rows).text;
}

/** The answer without functions, causes by name. */
function forJson(answer: ExplainAnswer, read: ReadSeen, units: UnitSystem): object {
  const plain = ({ cause, ...rest }: CauseAnswer) => ({
    cause: cause?.text ?? 'as the file says',
    name: cause?.name,
    item: cause?.item,
    dimension: cause?.dimension,
    sizeMeans: cause?.sizeMeans,
    fault: faultOf(cause, rest.size, units),
    ...rest,
  });
  return {
    verdict: answer.verdict,
    alike: answer.alike,
    causes: answer.causes.map(plain),
    asFiled: plain(answer.asFiled),
    hopeless: answer.hopeless.map(({ cause, size, sum }) => ({ cause: cause.text, size, sum })),
    without: answer.without,
    test: answer.test,
    accuracies: read.seen.accuracies,
    watched_s: read.seen.watched_s,
    ignored: read.ignored,
    runs: answer.tries,
  };
}

function faultOf(cause: CauseAnswer['cause'], size: number, units: UnitSystem): string | undefined {
  const written = cause?.written(size);
  return written !== undefined && 'fault' in written ? faultLine(written.fault, units) : undefined;
}
