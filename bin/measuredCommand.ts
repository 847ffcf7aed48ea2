/** `measured`: readings typed into the table of a sheet, beside their prediction. */
import { existsSync, statSync } from 'node:fs';
import path from 'node:path';
import { formatFault } from '../scenarios/faults.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import type { CsvProblem } from '../studies/csv.ts';
import { type JudgedLine, judgeReadings, type Measured } from '../studies/measured.ts';
import { belongs, ofScenario, printed, type ReadingsFile, readReadings, sheetSettings } from '../studies/sheetCsv.ts';
import { measuredPage } from '../web/papers/measuredPage.ts';
import { changedBy, headline, hintsOf, lineText, whyText } from '../web/papers/measuredWords.ts';
import { between } from '../web/papers/wording.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf, readScenarioText, STANDARD_INPUT } from './input.ts';
import { labelled, paragraph, printable, table, WIDTH } from './layout.ts';
import { folderName } from './output.ts';
import { progressLine } from './progress.ts';
import { folderMade } from './sheetCommand.ts';
import { commandLine, identityOf, loadAt, type MadeSheet, setParts, sheetOf, temperatureProblem } from './sheets.ts';
import { answerJson } from './study.ts';
import { messageWidth, type Paint, paintStdout, say, warn, warnText } from './terminal.ts';
import { writeWhole } from './writeWhole.ts';

export interface MeasuredCommandOptions {
  readonly set?: readonly string[] | undefined;
  readonly before?: string | undefined;
  readonly out: string;
  readonly json?: boolean | undefined;
  readonly files: boolean;
}

/** A file of readings as it was read. */
interface Given {
  readonly file: string;
  readonly text: string;
  readonly readings: ReadingsFile;
}

export async function measuredCommand(file: string, csv: string, options: MeasuredCommandOptions): Promise<Exit> {
  const now = await given(csv);
  if (now === undefined) return Exit.refused;
  const before = options.before === undefined ? undefined : await given(options.before);
  if (options.before !== undefined && before === undefined) return Exit.refused;
  const settings = sheetSettings(now.readings);
  if ('problem' in settings) return refuseAt(now, settings);
  return forEachFile([file], ({ text }) => {
    const { units, temperature } = settings;
    const wrong = temperatureProblem(temperature, units);
    const cell = now.readings.head.get('temperature');
    if (wrong !== undefined && cell !== undefined) return () => refuseAt(now, { ...cell, problem: wrong });
    const request = { text, file: nameOf(file), set: options.set ?? [], units, temperature };
    const loaded = loadAt(request);
    if (loaded.scenario === undefined) return () => refuse(loaded);
    // Said at once, before the runs behind the sheet.
    const identity = identityOf(request, loaded.scenario);
    for (const one of [now, before]) {
      const other = one === undefined ? undefined : ofScenario(one.readings, identity);
      if (one !== undefined && other !== undefined) return () => refuseAt(one, other);
    }
    const progress = progressLine(nameOf(file));
    const made = sheetOf({ ...request, onProgress: progress.update });
    progress.clear();
    if ('loaded' in made) return () => refuse(made.loaded);
    if ('tooLong' in made) {
      return () => {
        warn(made.tooLong);
        return Exit.workLimit;
      };
    }
    for (const one of [now, before]) {
      if (one === undefined) continue;
      const other = belongs(one.readings, made.sheet, made.identity);
      if (other !== undefined) return () => refuseAt(one, other);
    }
    const last = before?.readings.head.get('units');
    if (before !== undefined && last?.text !== units)
      return () =>
        refuseAt(before, {
          ...(last ?? { line: 1, column: 1 }),
          problem: `the last sheet was in ${last?.text ?? 'no units'}, this one is in ${units}`,
        });
    const judged = judgeReadings(made.sheet, now.readings, before?.readings);
    if ('problem' in judged)
      return () => refuseAt(judged.in === 'before' && before !== undefined ? before : now, judged);
    return () => finish(made, judged, now, before, file, options);
  });
}

async function given(file: string): Promise<Given | undefined> {
  const input = await readScenarioText(file);
  if ('problem' in input) {
    warn(input.problem);
    return undefined;
  }
  const readings = readReadings(input.text);
  if ('problem' in readings) {
    refuseAt({ file, text: input.text }, readings);
    return undefined;
  }
  return { file, text: input.text, readings };
}

function refuseAt({ file, text }: Pick<Given, 'file' | 'text'>, { line, column, problem }: CsvProblem): Exit {
  const sourceLine = text.split(/\r\n|\r|\n/)[line - 1] ?? '';
  const fault = { file: nameOf(file), line, column, sourceLine, path: '', message: problem };
  warnText(`${formatFault(fault, Math.min(messageWidth(), WIDTH))}\n`);
  return Exit.refused;
}

function finish(
  made: MadeSheet,
  judged: Measured,
  now: Given,
  before: Given | undefined,
  file: string,
  options: MeasuredCommandOptions,
): Exit {
  const { identity, scenario } = made;
  const place = options.files ? placeOf(file, options.out) : undefined;
  const command = commandLine(
    'tripstroke',
    'measured',
    identity.file,
    now.file,
    ...(before === undefined ? [] : ['--before', before.file]),
    ...setParts(identity.changes),
  );
  let failed: string | undefined;
  if (place !== undefined) {
    const read = (one: Given) => ({
      file: one.file,
      text: one.text,
      date: one.readings.head.get('date')?.text ?? '',
      by: one.readings.head.get('read by')?.text ?? '',
    });
    const page = measuredPage(made.sheet, identity, judged, {
      now: read(now),
      before: before === undefined ? undefined : read(before),
      seed: scenario.values.seed,
      command,
    });
    failed = folderMade(path.dirname(place)) ?? writeWhole(place, page, 'the comparison');
  }
  if (options.json) say(json(made, judged));
  else
    say(
      printMeasured(
        made,
        judged,
        now.readings.head.get('version')?.text,
        failed === undefined ? place : undefined,
        paintStdout,
      ),
    );
  if (failed !== undefined) {
    warn(failed);
    return Exit.refused;
  }
  return judged.met ? Exit.met : Exit.notMet;
}

function placeOf(file: string, out: string): string {
  const folder = existsSync(out) && statSync(out).isDirectory();
  if (!folder && /\.html?$/i.test(out)) return out;
  return path.join(out, `${file === STANDARD_INPUT ? 'standard-input' : folderName(file)}-measured.html`);
}

/** Most lines shown one by one on the terminal; the page has all. */
const MOST_SHOWN = 24;

function printMeasured(
  { sheet, identity }: MadeSheet,
  judged: Measured,
  version: string | undefined,
  place: string | undefined,
  paint: Paint,
): string {
  const bad = judged.lines.filter((l) => !l.passes);
  const [first = '', ...more] = paragraph(judged.met ? 'MET: ' : 'NOT MET: ', headline(judged), WIDTH);
  const odd = judged.lines.filter((l) => l.passes && l.why !== undefined);
  const moved = changedBy(judged, sheet);
  const hints = hintsOf(judged, sheet);
  const words = (l: JudgedLine) => printable(lineText(l, sheet));
  const row = (l: JudgedLine) => {
    if (l.line.kind === 'answer') return [l.line.id, words(l), l.line.expected, l.answer ?? '-', whyText(l, sheet)];
    const { text, limits } = printed(l.line, sheet);
    const wanted = limits === undefined ? 'write down' : between(limits, text);
    return [l.line.id, words(l), wanted, l.last === undefined ? '-' : text(l.last), whyText(l, sheet)];
  };
  const lines = [
    judged.met ? first : paint('bad', first),
    ...more,
    ...paragraph('', printable(`${identity.file}: ${identity.title}`), WIDTH),
    ...(bad.length === 0
      ? []
      : [
          '',
          ...table(
            [
              { head: 'Line' },
              { head: 'Read' },
              { head: 'Passes', right: true },
              { head: 'Reads', right: true },
              { head: 'Why not' },
            ],
            bad.slice(0, MOST_SHOWN).map((l) => ({ cells: row(l) })),
            WIDTH,
          ),
          ...(bad.length > MOST_SHOWN ? [`... and ${bad.length - MOST_SHOWN} more`] : []),
        ]),
    ...(odd.length === 0
      ? []
      : [
          '',
          ...odd
            .slice(0, 8)
            .flatMap((l, k) => labelled(k === 0 ? 'Noted' : '', `${l.line.id} ${words(l)}: ${whyText(l, sheet)}`)),
        ]),
    ...(hints.length === 0 ? [] : ['', ...hints.slice(0, 4).flatMap((t, k) => labelled(k === 0 ? 'Perhaps' : '', t))]),
    ...(moved.length === 0 ? [] : ['', ...moved.slice(0, 8).flatMap((t, k) => labelled(k === 0 ? 'Drift' : '', t))]),
    '',
    ...(version === identity.version
      ? []
      : [
          ...labelled(
            'Version',
            `the sheet was made by version ${version ?? 'unknown'}; held against the predictions of this one, ${identity.version}.`,
          ),
          '',
        ]),
    ...(place === undefined ? [] : [...labelled('Written', place), '']),
    ...CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${lines.join('\n')}\n`;
}

/** The comparison as JSON: readings in the units of the sheet, each line with its unit. */
function json({ scenario, sheet, identity }: MadeSheet, judged: Measured): string {
  return answerJson(scenario, {
    sha256: identity.hash,
    units: identity.units,
    temperature_K: sheet.temperature_K,
    met: judged.met,
    counts: judged.counts,
    lines: judged.lines.map((l) => {
      const p = l.line.kind === 'reading' ? printed(l.line, sheet) : undefined;
      return {
        id: l.line.id,
        read: lineText(l, sheet),
        outcome: l.outcome,
        passes: l.passes,
        why: l.why ?? null,
        unit: p?.unit ?? 'yes or no',
        expected: l.line.kind === 'reading' ? p?.expected : l.line.expected,
        limits: p?.limits,
        band: p?.band,
        found: l.found,
        left: l.left,
        answer: l.answer,
        difference: l.difference,
        inBand: l.inBand,
        drift: l.drift,
        note: l.note,
      };
    }),
  });
}
