/** A result in words, part by part: what the terminal prints, the report shows and papers quote. */
import type {
  AlarmResult,
  FaultResult,
  Finding,
  MachineDuty,
  Result,
  Severity,
  StepReading,
  StepResult,
  StrokeResult,
} from './result.ts';
import { columnUnit, formatQuantity, type UnitSystem } from './units.ts';
import { alarmName, clock } from './wording.ts';

export const verdictWord = (met: boolean): string => (met ? 'MET' : 'NOT MET');

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);

// ------------------------------------------------------------------------------------------------------------- strokes

/** Outcomes that leave the valve somewhere on its way. */
const ON_THE_WAY: readonly string[] = ['stalled', 'still moving', 'never moved'];

/** How a required stroke went, in the words of the table of strokes. */
export function strokeText(s: StrokeResult, units: UnitSystem) {
  const where = ON_THE_WAY.includes(s.outcome) ? ` at ${positionText(s.position)} open` : '';
  const time = s.time_s === undefined ? '-' : s.time_s.toFixed(2);
  return {
    stroke: strokeWords(s),
    outcome: s.outcome + where,
    time: `${time} of ${Number(s.longest_s.toFixed(2))} ${columnUnit('time', units).name}`,
    margin: s.margin === undefined ? '-' : `${formatQuantity(s.margin, 'fraction', units)} ${s.marginOf}`,
    word: s.met ? 'met' : s.tooCloseToCall ? 'TOO CLOSE' : 'NOT MET',
  };
}

/** Near a seat the tenths matter. */
export function positionText(position: number): string {
  const tenths = (position > 0 && position < 0.1) || (position > 0.9 && position < 1);
  return `${(position * 100).toFixed(tenths ? 1 : 0)} %`;
}

export function strokeWords({ direction, to, stroke, strokes: count }: StrokeResult): string {
  const partWay = to > 0 && to < 1 ? ` to ${positionText(to)}` : '';
  return `${direction}${partWay}${count > 1 ? ` ${stroke}/${count}` : ''}`;
}

/** What the closure does to the pipeline; undefined where that is not known. */
export function surgeText({ valve, surge, movingTime_s = 0 }: StrokeResult, units: UnitSystem): string | undefined {
  if (surge === undefined) return undefined;
  const time = (s: number) => formatQuantity(s, 'time', units);
  const kind = surge.rapid ? 'within it, the full rise of a sudden closure' : 'taken as even';
  const rise = formatQuantity(surge.rise_Pa, 'pressureDifference', units);
  const whole = surge.closure_s > movingTime_s ? `, ${time(surge.closure_s)} for the whole travel` : '';
  return `${valve}: pipe period ${time(surge.pipePeriod_s)}; closing in ${time(movingTime_s)}${whole} (${kind}) raises the pressure by ${rise}`;
}

/** Why a stroke does not meet its requirement, with the name of the valve. */
export function whyText({ valve, service, reason }: StrokeResult): string {
  return `${service === '' ? valve : `${valve} (${service})`}: ${reason}`;
}

// ------------------------------------------------------------------------------------------------------------ findings

export const isFigure = ({ severity }: Finding): boolean => severity === 'information';
export const isFault = (finding: Finding): boolean => !isFigure(finding);
export const severityWord = (severity: Severity): string =>
  severity === 'warning' ? 'Warning' : severity === 'information' ? 'Figure' : 'Note';

/** "skid.yaml:12 and lines 15, 9" for "skid.yaml:12", "skid.yaml:15", "skid.yaml:9": the name once. */
export function places(at: readonly string[]): string {
  const files = new Map<string, string[]>();
  for (const place of at) {
    const colon = place.lastIndexOf(':');
    const lines = files.get(place.slice(0, colon)) ?? [];
    lines.push(place.slice(colon + 1));
    files.set(place.slice(0, colon), lines);
  }
  return [...files]
    .map(([file, [first, ...more]]) => {
      const others = more.length === 0 ? '' : ` and line${more.length === 1 ? '' : 's'} ${more.join(', ')}`;
      return `${file}:${first}${others}`;
    })
    .join('; ');
}

/** Names of settings, as short as a table of them allows. */
export const shortName = (name: string) =>
  name
    .replace(/ (pressure|level)$/, '')
    .replace(/^safety valve/, 'safety')
    .replace(/^outlet shut-off$/, 'shut-off');

// ------------------------------------------------------------------------------------------------ start, end, machines

/** What it started from. */
export function startText({ start, units, site }: Result): string {
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
  return text;
}

export const overrideText = ({ path, before, after }: Result['overrides'][number]): string =>
  `${path}: ${before === undefined ? 'not in the file' : `"${before}" in the file`}, "${after}" by --set`;

export const alarmText = ({ tag, text, state }: AlarmResult): string => `${alarmName(tag, text)}: ${state} at the end`;

/** Over days a few starts are a small number, and not none. */
const perHour = (x: number): string => (x > 0 && x < 0.095 ? String(Number(x.toPrecision(1))) : x.toFixed(1));

/** Tag, starts, starts an hour, run time, energy and what a machine moved. */
export function dutyCells(d: MachineDuty, units: UnitSystem): string[] {
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
  return [
    d.tag,
    String(d.starts),
    perHour(d.startsPerHour),
    formatQuantity(d.runTime_s, 'time', units),
    `${(d.energy_J / 3.6e6).toFixed(3)} kWh`,
    moved(d),
  ];
}

/** Where it ended. */
export function endText({ end, extremes, units, site }: Result): string {
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
  return `${text}${header}${highest}${positions}`;
}

// ----------------------------------------------------------------------------------------------------- steps and faults

export function stepWord({ ended_s, done, asExpected }: StepResult): string {
  if (asExpected) return 'as expected';
  return ended_s === undefined ? 'NOT REACHED' : done ? 'NOT AS EXPECTED' : 'GIVEN UP';
}

export const readingText = ({ what, got, expected, asExpected }: StepReading): string =>
  `${what} ${got}${asExpected ? '' : `, expected ${expected}`}`;

/** Whether a fault occurred and no alarm tells of it. */
export const isHidden = ({ began_s, revealedBy, examined }: FaultResult): boolean =>
  began_s !== undefined && examined && revealedBy === undefined;

/** What became of a fault. */
export function faultText(
  { text, began_s, ended_s, revealedBy, revealedAt_s, examined }: FaultResult,
  units: UnitSystem,
): string {
  const time = (s: number) => formatQuantity(s, 'time', units);
  if (began_s === undefined) return `${text}: did not occur in this run`;
  const over = ended_s === undefined ? '' : ` to ${time(ended_s)}`;
  const seen = !examined
    ? 'the work limit left no room to find what reveals it'
    : revealedBy === undefined
      ? 'no alarm reveals it'
      : `revealed by ${revealedBy} at ${time(revealedAt_s ?? 0)}`;
  return `${text} from ${time(began_s)}${over}: ${seen}`;
}
