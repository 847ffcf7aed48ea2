/** The result of a replay as text of 80 columns, to be read in ten seconds: verdict first, cautions last. */
import type { EventRow, Finding, MachineDuty, Result, StrokeResult } from '../scenarios/result.ts';
import type { Rung, Staircase } from '../scenarios/staircase.ts';
import { columnUnit, formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { paragraph, printable, type Row, table } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

export const WIDTH = 80;

export interface PrintOptions {
  /** Leaves out the event log. */
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
    findingLines(result.findings, paint),
    [...startLines(result), ...overrideLines(result)],
    stepLines(result, paint),
    faultLines(result, paint),
    alarmLines(result, paint),
    dutyLines(result),
    options.quiet ? [] : eventLines(result),
    endLines(result, options.folder),
    result.cautions.flatMap((text) => labelled('Caution', text)),
  ];
  const shown = sections.filter((lines) => lines.length > 0);
  return `${shown.map((lines) => lines.join('\n')).join('\n\n')}\n`;
}

/** JSON of a result or of a list of results; what does not exist is null, so that every key is always there. */
export function resultJson(value: Result | readonly Result[]): string {
  return `${JSON.stringify(value, (_key, part: unknown) => (part === undefined ? null : part), 2)}\n`;
}

/** The findings of a scenario, for `check`. */
export function printFindings(findings: readonly Finding[], paint: Paint = paintNothing): string {
  return findingLines(findings, paint)
    .map((line) => `${line}\n`)
    .join('');
}

/** The setpoint staircases, highest step first, each with its gap to the step below, for `check`. */
export function printStaircase(stairs: Staircase, units: UnitSystem, ambientPressure_Pa: number): string {
  const steps = (
    rungs: readonly Rung[],
    dimension: 'length' | 'pressure',
    difference: 'length' | 'pressureDifference',
  ) => {
    const rows = rungs
      .map((rung, k): Row => {
        const below = rungs[k - 1];
        const gap = below === undefined ? '' : formatQuantity(rung.value - below.value, difference, units);
        const wrong = below !== undefined && (rung.mayTouch ? rung.value < below.value : rung.value <= below.value);
        return {
          cells: [
            rung.name,
            rung.tag ?? '',
            formatQuantity(rung.value, dimension, units, ambientPressure_Pa),
            gap,
            wrong ? 'OUT OF ORDER' : '',
          ],
        };
      })
      .reverse();
    return rows;
  };
  const columns = (head: string) =>
    [
      { head },
      { head: 'Tag' },
      { head: 'Set at', right: true },
      { head: 'Above next', right: true },
      { head: '' },
    ] as const;
  const parts: string[][] = [];
  if (stairs.pressure.length > 0)
    parts.push(table(columns('Pressure'), steps(stairs.pressure, 'pressure', 'pressureDifference'), WIDTH));
  if (stairs.level.length > 0) parts.push(table(columns('Level'), steps(stairs.level, 'length', 'length'), WIDTH));
  return parts.map((lines) => `${lines.join('\n')}\n`).join('\n');
}

const LABEL = 9;
const labelled = (label: string, text: string): string[] =>
  paragraph(label === '' ? ' '.repeat(LABEL) : `${label}:`.padEnd(LABEL), printable(text), WIDTH);

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
  const text = `${valve}: pipe period ${time(surge.pipePeriod_s)}; closing in ${time(movingTime_s)} (${kind}) raises the pressure by ${rise}`;
  return paragraph('    ', printable(text), WIDTH);
}

function reasonLines({ valve, service, reason }: StrokeResult): string[] {
  const who = service === '' ? valve : `${valve} (${service})`;
  return paragraph('    ', printable(`${who}: ${reason}`), WIDTH);
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

function findingLines(findings: readonly Finding[], paint: Paint): string[] {
  return findings.flatMap(({ severity, at, text, advice }) => {
    const word = severity === 'warning' ? 'Warning' : 'Note';
    const place = at.length === 0 ? '' : `${places(at)}: `;
    const [first = '', ...rest] = labelled(word, `${place}${sentence(text)} ${advice}`);
    return [severity === 'warning' ? paint('care', word) + first.slice(word.length) : first, ...rest];
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
    const [first = '', ...rest] = labelled('Alarm', `${tag === text ? tag : `${tag} ${text}`}: ${state} at the end`);
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
  const ofWater = (kg: number) => {
    const [amount, unit] = units === 'us' ? [kg * 33.814, 'fl oz'] : [kg * 1000, 'mL'];
    return `${amount < 99.5 ? Number(amount.toPrecision(2)) : Math.round(amount)} ${unit}`;
  };
  const moved = ({ kind, moved_m3, condensate_kg }: MachineDuty) => {
    if (kind === 'pump') return `${formatQuantity(moved_m3, 'volume', units)} of oil`;
    const air = units === 'us' ? `${(moved_m3 / 0.3048 ** 3).toFixed(1)} ft^3` : `${moved_m3.toFixed(2)} m^3`;
    const water = condensate_kg > 0 ? `, ${ofWater(condensate_kg)} of condensate` : '';
    return `${air} of free air${water}`;
  };
  const rows = duty.map((d) => ({
    cells: [
      d.tag,
      String(d.starts),
      d.startsPerHour.toFixed(1),
      formatQuantity(d.runTime_s, 'time', units),
      `${(d.energy_J / 3.6e6).toFixed(3)} kWh`,
      moved(d),
    ],
  }));
  return table(columns, rows, WIDTH);
}

function eventLines({ events, units, site }: Result): string[] {
  if (events.length === 0) return ['No events.'];
  const columns = [
    { head: 'Time', right: true },
    { head: 'Tag' },
    { head: 'Event' },
    { head: 'Pressure', right: true },
    { head: 'Level', right: true },
  ] as const;
  const cells = ({ time_s, tag, text, pressure_Pa, level_m }: EventRow) => [
    `${time_s.toFixed(2)} s`,
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
    least === undefined ? '' : ` Least header pressure in a stroke ${gauge(least)} at ${(leastAt ?? 0).toFixed(1)} s;`;
  const highest = `${header === '' ? ' H' : ' h'}ighest tank pressure ${gauge(extremes.highestTankPressure_Pa)} at ${extremes.highestTankPressureAt_s.toFixed(1)} s.`;
  const text =
    `${end.stop} at ${end.time_s.toFixed(2)} s: ${formatQuantity(end.pressure_Pa, 'pressure', units, site.ambientPressure_Pa)}, ` +
    `level ${formatQuantity(end.level_m, 'length', units)} (${formatQuantity(end.oil_m3, 'volume', units)} of oil), ` +
    `air ${formatQuantity(end.airTemperature_K, 'temperature', units)}${spilled}.`;
  return [
    ...labelled('End', `${text}${header}${highest}${positions}`),
    ...(folder === undefined ? [] : labelled('Files', `${folder} (${program})`)),
  ];
}
