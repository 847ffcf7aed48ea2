/** The result of a replay as text of 80 columns, to be read in ten seconds: verdict first, cautions last. */
import type { EventRow, Finding, Result } from '../scenarios/result.ts';
import {
  alarmText,
  capital,
  dutyCells,
  endText,
  faultText,
  isFault,
  isFigure,
  isHidden,
  overrideText,
  places,
  readingText,
  sentence,
  severityWord,
  shortName,
  startText,
  stepWord,
  strokeText,
  surgeText,
  verdictWord,
  whyText,
} from '../scenarios/resultText.ts';
import { inOrder, type Rung, type Staircase } from '../scenarios/staircase.ts';
import { columnUnit, formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { clock } from '../scenarios/wording.ts';
import { labelled, paragraph, printable, type Row, table, WIDTH, widthOf } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

export interface PrintOptions {
  /** Leaves out staircase, figures and event log. */
  readonly quiet?: boolean | undefined;
  readonly paint?: Paint;
  /** Where the files are; not said when left out. */
  readonly folder?: string | undefined;
}

/** The report, with a line end after its last line. */
export function printReport(result: Result, options: PrintOptions = {}): string {
  const paint = options.paint ?? paintNothing;
  const sections: string[][] = [
    verdict(result, paint),
    strokes(result, paint),
    result.verdict.strokes.length === 0 ? [] : labelled('Reserve', result.reserve.reason),
    options.quiet ? [] : staircaseLines(result.staircase, result.units, result.site.ambientPressure_Pa),
    findingLines(result.findings.filter(isFault), paint),
    options.quiet ? [] : findingLines(result.findings.filter(isFigure), paint),
    [...startLines(result), ...overrideLines(result)],
    stepLines(result, paint),
    faultLines(result, paint),
    alarmLines(result, paint),
    dutyLines(result),
    options.quiet ? [] : eventLines(result),
    endLines(result, options.folder),
    result.cautions.flatMap((text) => labelled('Caution', text)),
  ];
  return joined(sections);
}

/** JSON of a result or of a list of results; what does not exist is null, so that every key is always there. */
export function resultJson(value: Result | readonly Result[]): string {
  return `${JSON.stringify(value, (_key, part: unknown) => (part === undefined ? null : part), 2)}\n`;
}

/** What `check` prints of a scenario below its first line: findings, staircase, figures. */
export function printCheck(
  findings: readonly Finding[],
  stairs: Staircase,
  units: UnitSystem,
  ambientPressure_Pa: number,
  paint: Paint = paintNothing,
): string {
  const sections = [
    findingLines(findings.filter(isFault), paint),
    staircaseLines(stairs, units, ambientPressure_Pa),
    findingLines(findings.filter(isFigure), paint),
  ];
  return joined(sections);
}

/** Findings by severity in words: "2 warnings and 1 note", "no findings". */
export function countOf(findings: readonly Finding[]): string {
  const faults = findings.filter(isFault).length;
  return faults === 0 ? 'no findings' : faults === 1 ? '1 finding' : `${faults} findings`;
}

/** Sections with a blank line between them; none for one that is empty. */
function joined(sections: readonly (readonly string[])[]): string {
  const shown = sections.filter((lines) => lines.length > 0);
  return shown.length === 0 ? '' : `${shown.map((lines) => lines.join('\n')).join('\n\n')}\n`;
}

// ------------------------------------------------------------------------------------------------- verdict and strokes

function verdict({ verdict: { met, text }, title, file, start }: Result, paint: Paint): string[] {
  const word = verdictWord(met);
  const [first = '', ...rest] = paragraph(`${word}: `, text.charAt(0).toLowerCase() + printable(text.slice(1)), WIDTH);
  const painted = met ? first : paint('bad', word) + first.slice(word.length);
  const name = title === 'untitled' ? file : `${file}: ${title}`;
  return [painted, ...rest, ...paragraph('', start.note, WIDTH), ...paragraph('', printable(name), WIDTH)];
}

function strokes({ verdict, units }: Result, paint: Paint): string[] {
  if (verdict.strokes.length === 0) return [];
  const rows = verdict.strokes.map((s): Row => {
    const { stroke, outcome, time, margin, word } = strokeText(s, units);
    return {
      cells: [s.valve, stroke, outcome, time, margin, word],
      below: [...(s.met ? [] : indented(whyText(s))), ...indented(surgeText(s, units))],
      ...(s.met ? {} : { paint: (text, cell) => (cell === 5 ? paint(s.tooCloseToCall ? 'care' : 'bad', text) : text) }),
    };
  });
  const columns = [
    { head: 'Valve' },
    { head: 'Stroke' },
    { head: 'Outcome' },
    { head: 'Time', right: true },
    { head: 'Least margin', right: true },
    { head: '' },
  ] as const;
  return table(columns, rows, WIDTH);
}

const indented = (text: string | undefined): string[] =>
  text === undefined ? [] : paragraph('    ', printable(text), WIDTH);

// ------------------------------------------------------------------------------------------------------- the staircase

/**
 * The setpoints, highest first, each with its gap to the one below: pressures and levels side by side where they fit,
 * else one table under the other.
 */
function staircaseLines(stairs: Staircase, units: UnitSystem, ambientPressure_Pa: number): string[] {
  const flight = (
    head: string,
    rungs: readonly Rung[],
    dimension: 'length' | 'pressure',
    difference: 'length' | 'pressureDifference',
  ): string[] => {
    if (rungs.length === 0) return [];
    const inUnits = columnUnit(difference, units);
    const bare = (text: string) => text.slice(0, text.lastIndexOf(' '));
    const rows = rungs.map((rung, k): Row => {
      const below = rungs[k - 1];
      const gap = below === undefined ? 0 : rung.value - below.value;
      const apart = below === undefined ? '' : inUnits.toDisplay(gap, 0).toFixed(inUnits.decimals);
      return {
        cells: [
          shortName(rung.name),
          rung.tag ?? '',
          bare(formatQuantity(rung.value, dimension, units, ambientPressure_Pa)),
          gap > 0 ? `+${apart}` : apart,
          inOrder(rung, below) ? '' : '!',
        ],
      };
    });
    // A long tag makes its table as wide as it needs; it is not broken.
    return table(
      [
        { head },
        { head: '' },
        { head: columnUnit(dimension, units).name, right: true },
        { head: 'gap', right: true },
        { head: '' },
      ],
      rows.reverse(),
      WIDTH,
    );
  };
  const pressures = flight('Pressure', stairs.pressure, 'pressure', 'pressureDifference');
  const levels = flight('Level', stairs.level, 'length', 'length');
  const estimate = stairs.pressure.find((rung) => rung.estimate);
  const broken = [stairs.pressure, stairs.level].some((rungs) => rungs.some((r, k) => !inOrder(r, rungs[k - 1])));
  const notes = [
    ...(broken ? ['! out of order'] : []),
    ...(estimate === undefined
      ? []
      : [`valves need: least pressure that moves ${estimate.tag}, without flow (estimate)`]),
  ];
  return [...beside(pressures, levels), ...notes.flatMap((note) => paragraph('', printable(note), WIDTH))];
}

/** Two tables side by side, or one under the other where they are too wide together. */
function beside(left: readonly string[], right: readonly string[]): string[] {
  if (left.length === 0 || right.length === 0) return [...left, ...right];
  const room = Math.max(...left.map(widthOf)) + 3;
  if (room + Math.max(...right.map(widthOf)) > WIDTH) return [...left, '', ...right];
  return Array.from({ length: Math.max(left.length, right.length) }, (_, k) => {
    const first = left[k] ?? '';
    return `${first}${' '.repeat(room - widthOf(first))}${right[k] ?? ''}`.trimEnd();
  });
}

// ----------------------------------------------------------------------------------------------- findings, start, duty

function stepLines({ steps, units }: Result, paint: Paint): string[] {
  if (steps.length === 0) return [];
  const rows = steps.map((step, n): Row => {
    const { text, began_s, asExpected } = step;
    const below = step.readings.map(readingText);
    return {
      cells: [`${n + 1}`, text, began_s === undefined ? '-' : formatQuantity(began_s, 'time', units), stepWord(step)],
      below: below.flatMap((line) => paragraph('      ', printable(line), WIDTH)),
      ...(asExpected ? {} : { paint: (shown, cell) => (cell === 3 ? paint('bad', shown) : shown) }),
    };
  });
  return table([{ head: '' }, { head: 'Step' }, { head: 'From', right: true }, { head: '' }], rows, WIDTH);
}

function faultLines({ faults, units }: Result, paint: Paint): string[] {
  return faults.flatMap((fault) => {
    const [first = '', ...rest] = labelled('Fault', faultText(fault, units));
    return [isHidden(fault) ? paint('care', 'Fault') + first.slice('Fault'.length) : first, ...rest];
  });
}

/** Kind and places in one line, so that a list can be read down; then the numbers, then the advice. */
function findingLines(findings: readonly Finding[], paint: Paint): string[] {
  return findings.flatMap((finding) => {
    const { id, severity, at, text, advice } = finding;
    if (isFigure(finding)) return labelled('Figure', `${id}: ${sentence(text)}`);
    const word = severityWord(severity);
    const place = at.length === 0 ? '' : ` (${places(at)})`;
    const [first = '', ...rest] = labelled(word, `${id}${place}`);
    return [
      severity === 'warning' ? paint('care', word) + first.slice(word.length) : first,
      ...rest,
      ...labelled('', sentence(capital(text))),
      ...labelled('', advice),
    ];
  });
}

const startLines = (result: Result): string[] => labelled('Start', startText(result));

const overrideLines = ({ overrides }: Result): string[] =>
  overrides.flatMap((override) => labelled('Changed', overrideText(override)));

function alarmLines({ alarms }: Result, paint: Paint): string[] {
  return alarms.flatMap((alarm) => {
    const [first = '', ...rest] = labelled('Alarm', alarmText(alarm));
    return [paint('care', 'Alarm') + first.slice('Alarm'.length), ...rest];
  });
}

function dutyLines({ duty, units }: Result): string[] {
  if (duty.length === 0) return [];
  const columns = [
    { head: 'Machine' },
    { head: 'Starts', right: true },
    { head: 'Starts/h', right: true },
    { head: 'Run time', right: true },
    { head: 'Energy', right: true },
    { head: 'Moved' },
  ] as const;
  const rows = duty.map((d) => ({ cells: dutyCells(d, units) }));
  return table(columns, rows, WIDTH);
}

function eventLines({ events, units, site, end }: Result): string[] {
  if (events.length === 0) return ['No events.'];
  const columns = [
    { head: 'Time', right: true },
    { head: 'Tag' },
    { head: 'Event' },
    { head: 'Pressure', right: true },
    { head: 'Level', right: true },
  ] as const;
  const cells = ({ time_s, tag, text, pressure_Pa, level_m }: EventRow) => [
    clock(time_s, end.time_s, 2),
    tag,
    printable(text),
    formatQuantity(pressure_Pa, 'pressure', units, site.ambientPressure_Pa),
    formatQuantity(level_m, 'length', units),
  ];
  return table(
    columns,
    events.map((event) => ({ cells: cells(event) })),
    WIDTH,
  );
}

function endLines(result: Result, folder: string | undefined): string[] {
  return [
    ...labelled('End', endText(result)),
    ...(folder === undefined ? [] : labelled('Files', `${folder} (${result.program})`)),
  ];
}
