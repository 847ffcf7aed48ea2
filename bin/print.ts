/** The result of a replay as text of 80 columns, to be read in ten seconds: verdict first, cautions last. */
import type { EventRow, Finding, MachineDuty, Result, StrokeResult } from '../scenarios/result.ts';
import { inOrder, type Rung, type Staircase } from '../scenarios/staircase.ts';
import { columnUnit, formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { alarmName, clock } from '../scenarios/wording.ts';
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

const isFigure = ({ severity }: Finding) => severity === 'information';
const isFault = (finding: Finding) => !isFigure(finding);

/** Sections with a blank line between them; none for one that is empty. */
function joined(sections: readonly (readonly string[])[]): string {
  const shown = sections.filter((lines) => lines.length > 0);
  return shown.length === 0 ? '' : `${shown.map((lines) => lines.join('\n')).join('\n\n')}\n`;
}

// ------------------------------------------------------------------------------------------------- verdict and strokes

function verdict({ verdict: { met, text }, title, file }: Result, paint: Paint): string[] {
  const word = met ? 'MET' : 'NOT MET';
  const [first = '', ...rest] = paragraph(`${word}: `, text.charAt(0).toLowerCase() + printable(text.slice(1)), WIDTH);
  const painted = met ? first : paint('bad', word) + first.slice(word.length);
  return [painted, ...rest, ...paragraph('', printable(title === 'untitled' ? file : `${file}: ${title}`), WIDTH)];
}

/** Outcomes that leave the valve somewhere on its way. */
const ON_THE_WAY: readonly string[] = ['stalled', 'still moving', 'never moved'];

function strokes({ verdict, units }: Result, paint: Paint): string[] {
  if (verdict.strokes.length === 0) return [];
  const percent = (x: number) => formatQuantity(x, 'fraction', units);
  const rows = verdict.strokes.map((s): Row => {
    const word = s.met ? 'met' : s.tooCloseToCall ? 'TOO CLOSE' : 'NOT MET';
    const where = ON_THE_WAY.includes(s.outcome) ? ` at ${positionText(s.position)} open` : '';
    const time = s.time_s === undefined ? '-' : s.time_s.toFixed(2);
    const unit = columnUnit('time', units).name;
    const margin = s.margin === undefined ? '-' : `${percent(s.margin)} ${s.marginOf}`;
    return {
      cells: [
        s.valve,
        strokeWords(s),
        s.outcome + where,
        `${time} of ${Number(s.longest_s.toFixed(2))} ${unit}`,
        margin,
        word,
      ],
      below: [...(s.met ? [] : reasonLines(s)), ...surgeLines(s, units)],
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

/** Near a seat the tenths matter. */
function positionText(position: number): string {
  const tenths = (position > 0 && position < 0.1) || (position > 0.9 && position < 1);
  return `${(position * 100).toFixed(tenths ? 1 : 0)} %`;
}

function strokeWords({ direction, to, stroke, strokes: count }: StrokeResult): string {
  const partWay = to > 0 && to < 1 ? ` to ${positionText(to)}` : '';
  return `${direction}${partWay}${count > 1 ? ` ${stroke}/${count}` : ''}`;
}

function surgeLines({ valve, surge, movingTime_s = 0 }: StrokeResult, units: Result['units']): string[] {
  if (surge === undefined) return [];
  const time = (s: number) => formatQuantity(s, 'time', units);
  const kind = surge.rapid ? 'within it, the full rise of a sudden closure' : 'taken as even';
  const rise = formatQuantity(surge.rise_Pa, 'pressureDifference', units);
  const whole = surge.closure_s > movingTime_s ? `, ${time(surge.closure_s)} for the whole travel` : '';
  const text = `${valve}: pipe period ${time(surge.pipePeriod_s)}; closing in ${time(movingTime_s)}${whole} (${kind}) raises the pressure by ${rise}`;
  return paragraph('    ', printable(text), WIDTH);
}

function reasonLines({ valve, service, reason }: StrokeResult): string[] {
  const who = service === '' ? valve : `${valve} (${service})`;
  return paragraph('    ', printable(`${who}: ${reason}`), WIDTH);
}

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

const shortName = (name: string) =>
  name
    .replace(/ (pressure|level)$/, '')
    .replace(/^safety valve/, 'safety')
    .replace(/^outlet shut-off$/, 'shut-off');

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
  const rows = steps.map(({ text, began_s, ended_s, done, readings, asExpected }, n): Row => {
    const word = asExpected
      ? 'as expected'
      : ended_s === undefined
        ? 'NOT REACHED'
        : done
          ? 'NOT AS EXPECTED'
          : 'GIVEN UP';
    const below = readings.map((r) => `      ${r.what} ${r.got}${r.asExpected ? '' : `, expected ${r.expected}`}`);
    return {
      cells: [`${n + 1}`, text, began_s === undefined ? '-' : formatQuantity(began_s, 'time', units), word],
      below: below.flatMap((line) => paragraph('      ', printable(line.trim()), WIDTH)),
      ...(asExpected ? {} : { paint: (shown, cell) => (cell === 3 ? paint('bad', shown) : shown) }),
    };
  });
  return table([{ head: '' }, { head: 'Step' }, { head: 'From', right: true }, { head: '' }], rows, WIDTH);
}

function faultLines({ faults, units }: Result, paint: Paint): string[] {
  const time = (s: number) => formatQuantity(s, 'time', units);
  return faults.flatMap(({ text, began_s, ended_s, revealedBy, revealedAt_s, examined }) => {
    if (began_s === undefined) return labelled('Fault', `${text}: did not occur in this run`);
    const over = ended_s === undefined ? '' : ` to ${time(ended_s)}`;
    const seen = !examined
      ? 'the work limit left no room to find what reveals it'
      : revealedBy === undefined
        ? 'no alarm reveals it'
        : `revealed by ${revealedBy} at ${time(revealedAt_s ?? 0)}`;
    const [first = '', ...rest] = labelled('Fault', `${text} from ${time(began_s)}${over}: ${seen}`);
    return [
      revealedBy === undefined && examined ? paint('care', 'Fault') + first.slice('Fault'.length) : first,
      ...rest,
    ];
  });
}

/** Kind and places in one line, so that a list can be read down; then the numbers, then the advice. */
function findingLines(findings: readonly Finding[], paint: Paint): string[] {
  return findings.flatMap((finding) => {
    const { id, severity, at, text, advice } = finding;
    if (isFigure(finding)) return labelled('Figure', `${id}: ${sentence(text)}`);
    const word = severity === 'warning' ? 'Warning' : 'Note';
    const place = at.length === 0 ? '' : ` (${places(at)})`;
    const [first = '', ...rest] = labelled(word, `${id}${place}`);
    return [
      severity === 'warning' ? paint('care', word) + first.slice(word.length) : first,
      ...rest,
      ...labelled('', sentence(text.charAt(0).toUpperCase() + text.slice(1))),
      ...labelled('', advice),
    ];
  });
}

/** "skid.yaml:12, 15" for "skid.yaml:12", "skid.yaml:15": the name once. */
function places(at: readonly string[]): string {
  let before = '';
  return at
    .map((place) => {
      const file = place.slice(0, place.lastIndexOf(':'));
      const shown = file === before ? place.slice(file.length + 1) : place;
      before = file;
      return shown;
    })
    .join(', ');
}

const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);

function startLines({ start, units, site }: Result): string[] {
  const running = start.running.length === 0 ? 'no machine running' : `${start.running.join(', ')} running`;
  const notAuto = Object.entries(start.selectors).filter(([, position]) => position !== 'auto');
  const selectors =
    Object.keys(start.selectors).length === 0
      ? ''
      : notAuto.length === 0
        ? '; selectors in auto'
        : `; selectors in auto but ${notAuto.map(([tag, position]) => `${tag} in ${position}`).join(', ')}`;
  const perDegree = formatQuantity(start.levelPerKelvin_m / (units === 'us' ? 1.8 : 1), 'length', units);
  const text =
    `${formatQuantity(start.pressure_Pa, 'pressure', units, site.ambientPressure_Pa)}, ` +
    `level ${formatQuantity(start.level_m, 'length', units)} (${formatQuantity(start.oil_m3, 'volume', units)} of oil, ` +
    `${formatQuantity(start.usableOil_m3, 'volume', units)} of it above the outlet, ${formatQuantity(start.air_m3, 'volume', units)} of air; ` +
    `${perDegree} higher for each ${units === 'us' ? 'degF' : 'K'} warmer), ` +
    `air ${formatQuantity(start.airTemperature_K, 'temperature', units)}, ` +
    `shell ${formatQuantity(start.wallTemperature_K, 'temperature', units)}; ${running}${selectors}.`;
  return labelled('Start', `${text} ${start.note}`);
}

function overrideLines({ overrides }: Result): string[] {
  return overrides.flatMap(({ path, before, after }) =>
    labelled(
      'Changed',
      `${path}: ${before === undefined ? 'not in the file' : `"${before}" in the file`}, "${after}" by --set`,
    ),
  );
}

function alarmLines({ alarms }: Result, paint: Paint): string[] {
  return alarms.flatMap(({ tag, text, state }) => {
    const [first = '', ...rest] = labelled('Alarm', `${alarmName(tag, text)}: ${state} at the end`);
    return [paint('care', 'Alarm') + first.slice('Alarm'.length), ...rest];
  });
}

/** Over days a few starts are a small number, and not none. */
const perHour = (x: number): string => (x > 0 && x < 0.095 ? String(Number(x.toPrecision(1))) : x.toFixed(1));

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
  const ofWater = (kg: number) => {
    const [amount, unit] = units === 'us' ? [kg * 33.814, 'fl oz'] : [kg * 1000, 'mL'];
    return `${amount < 99.5 ? Number(amount.toPrecision(2)) : Math.round(amount)} ${unit}`;
  };
  const moved = ({ kind, moved_m3, ranBack_m3, condensate_kg }: MachineDuty) => {
    if (kind === 'pump') {
      const back = ranBack_m3 > 0 ? `, ${formatQuantity(ranBack_m3, 'volume', units)} ran back` : '';
      return `${formatQuantity(moved_m3, 'volume', units)} of oil${back}`;
    }
    const air = units === 'us' ? `${(moved_m3 / 0.3048 ** 3).toFixed(1)} ft^3` : `${moved_m3.toFixed(2)} m^3`;
    const water = condensate_kg > 0 ? `, ${ofWater(condensate_kg)} of condensate` : '';
    return `${air} of free air${water}`;
  };
  const rows = duty.map((d) => ({
    cells: [
      d.tag,
      String(d.starts),
      perHour(d.startsPerHour),
      formatQuantity(d.runTime_s, 'time', units),
      `${(d.energy_J / 3.6e6).toFixed(3)} kWh`,
      moved(d),
    ],
  }));
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

function endLines({ end, extremes, units, site, program }: Result, folder: string | undefined): string[] {
  const brim =
    end.overflowed_m3 > 0
      ? `, ${formatQuantity(end.overflowed_m3, 'volume', units)} of it over the brim of the sump`
      : '';
  const spilled = end.spilled_m3 > 0 ? `; ${formatQuantity(end.spilled_m3, 'volume', units)} of oil lost${brim}` : '';
  const where = Object.entries(end.positions).map(([tag, x]) => `${tag} ${positionText(x)}`);
  const positions =
    where.length === 0
      ? ''
      : ` Open: ${where.join(', ')}${end.tripStands ? '; the trip stands until it is reset' : ''}.`;
  const { leastHeaderPressure_Pa: least, leastHeaderPressureAt_s: leastAt } = extremes;
  const gauge = (p: number) => formatQuantity(p, 'pressure', units, site.ambientPressure_Pa);
  const header =
    least === undefined
      ? ''
      : ` Least header pressure in a stroke ${gauge(least)} at ${clock(leastAt ?? 0, end.time_s, 1)};`;
  const highest = `${header === '' ? ' H' : ' h'}ighest tank pressure ${gauge(extremes.highestTankPressure_Pa)} at ${clock(extremes.highestTankPressureAt_s, end.time_s, 1)}.`;
  const text =
    `${end.stop} at ${clock(end.time_s, end.time_s, 2)}: ${formatQuantity(end.pressure_Pa, 'pressure', units, site.ambientPressure_Pa)}, ` +
    `level ${formatQuantity(end.level_m, 'length', units)} (${formatQuantity(end.oil_m3, 'volume', units)} of oil), ` +
    `air ${formatQuantity(end.airTemperature_K, 'temperature', units)}${spilled}.`;
  return [
    ...labelled('End', `${text}${header}${highest}${positions}`),
    ...(folder === undefined ? [] : labelled('Files', `${folder} (${program})`)),
  ];
}
