/**
 * Where the unit stands: decides the ambient pressure to which every gauge reading is referred, and the temperature of the
 * air around it over the run: steady, through each day T = mean + swing cos(2 pi (clock - warmest)/24 h), or a table
 * with straight lines between its points. Source: definitions.
 * Not modelled: sun on the shell, changes of the barometer.
 */
import { either, group, list, quantity, type Values } from './parameters.ts';

const ambient = { min: 213.15, max: 343.15 } as const;

const temperatureTable = {
  mean: quantity('temperature', { meaning: 'Mean over the day', ...ambient, optional: true, example: '52 degF' }),
  swing: quantity('temperatureDifference', {
    meaning: 'The warmest of the day is this much above the mean, the coldest as much below',
    min: 0,
    max: 40,
    optional: true,
    example: '14 degF',
  }),
  warmestAt: quantity('time', {
    meaning: 'Time of day of the warmest (choice: 15 h)',
    min: 0,
    max: 86_400,
    default: 54_000,
    example: '15 h',
  }),
  runStartsAt: quantity('time', {
    meaning: 'Time of day at which the run starts',
    min: 0,
    max: 86_400,
    default: 0,
    example: '8 h',
  }),
  table: list(
    group(
      {
        at: quantity('time', { meaning: 'Time after the start of the run', min: 0, example: '6 h' }),
        temperature: quantity('temperature', { meaning: 'Ambient temperature then', ...ambient, example: '41 degF' }),
      },
      { meaning: 'A point of the table' },
    ),
    {
      meaning: 'Ambient temperature over time; straight lines between the points, flat before and after them',
      minItems: 1,
      optional: true,
    },
  ),
} as const;

export const siteTable = {
  altitude: quantity('length', {
    meaning: 'Height above sea level; the standard atmosphere gives the ambient pressure',
    min: -430,
    max: 6000,
    optional: true,
    example: '620 m',
  }),
  barometer: quantity('pressure', {
    meaning: 'Ambient pressure as measured; absolute',
    min: 40_000,
    max: 115_000,
    optional: true,
    example: '13.9 psia',
  }),
  temperature: either(
    quantity('temperature', { meaning: 'Steady temperature', ...ambient, example: '68 degF' }),
    group(temperatureTable, {
      meaning: 'A day or a table',
      oneOf: [['mean', 'table']],
      together: [
        ['mean', 'swing'],
        ['swing', 'mean'],
      ],
    }),
    {
      meaning: 'Temperature of the ambient air: steady, through a day, or a table; 20 degC when left out',
      optional: true,
    },
  ),
  relativeHumidity: quantity('fraction', {
    meaning: 'Relative humidity of the ambient air, for the condensate of the compressors (choice: 60 %)',
    min: 0,
    max: 1,
    default: 0.6,
    example: '60 %',
  }),
} as const;

export const siteGroup = group(siteTable, {
  meaning: 'Where the unit stands',
  oneOf: [['altitude', 'barometer']],
});
export type Site = Values<typeof siteTable>;

const DAY_s = 86_400;
const DEFAULT_TEMPERATURE_K = 293.15;

/** Ambient temperature over a run. Points of a table lie on ticks: the physics stops at each of them. */
export type AmbientCourse =
  | { readonly kind: 'steady'; readonly temperature_K: number }
  | { readonly kind: 'day'; readonly mean_K: number; readonly swing_K: number; readonly warmest_s: number }
  | {
      readonly kind: 'table';
      readonly ticks: Float64Array;
      readonly time_s: Float64Array;
      readonly temperature_K: Float64Array;
    };

/**
 * The course of a site, its table rounded to ticks. Returns the index of the first point that does not come after the one
 * before it, where there is one.
 */
export function ambientCourse(temperature: Site['temperature'], tick_s: number): AmbientCourse | number {
  if (temperature === undefined) return { kind: 'steady', temperature_K: DEFAULT_TEMPERATURE_K };
  if (typeof temperature === 'number') return { kind: 'steady', temperature_K: temperature };
  const { mean, swing, table, warmestAt, runStartsAt } = temperature;
  if (table === undefined) {
    return { kind: 'day', mean_K: mean as number, swing_K: swing as number, warmest_s: warmestAt - runStartsAt };
  }
  const ticks = Float64Array.from(table, (point) => Math.round(point.at / tick_s));
  const wrong = ticks.findIndex((tick, k) => k > 0 && !(tick > ticks[k - 1]));
  if (wrong >= 0) return wrong;
  return {
    kind: 'table',
    ticks,
    time_s: ticks.map((tick) => tick * tick_s),
    temperature_K: Float64Array.from(table, (point) => point.temperature),
  };
}

/** Ambient temperature [K] at a time [s] of the run. */
export function ambientAt(course: AmbientCourse, time_s: number): number {
  if (course.kind === 'steady') return course.temperature_K;
  if (course.kind === 'day')
    return course.mean_K + course.swing_K * Math.cos((2 * Math.PI * (time_s - course.warmest_s)) / DAY_s);
  const { time_s: times, temperature_K: values } = course;
  const k = firstAfter(times, time_s);
  if (k === 0) return values[0];
  if (k === times.length) return values[k - 1];
  return values[k - 1] + ((values[k] - values[k - 1]) * (time_s - times[k - 1])) / (times[k] - times[k - 1]);
}

/** The first tick after the given one at which the course bends; Infinity if none. */
export function nextBend(course: AmbientCourse, tick: number): number {
  if (course.kind !== 'table') return Infinity;
  const k = firstAfter(course.ticks, tick);
  return k < course.ticks.length ? course.ticks[k] : Infinity;
}

/** Index of the first number greater than x in a rising row. */
function firstAfter(row: Float64Array, x: number): number {
  let low = 0;
  let high = row.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (row[middle] > x) high = middle;
    else low = middle + 1;
  }
  return low;
}
