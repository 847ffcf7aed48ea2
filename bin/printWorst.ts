/** What `worst` found, as text of 80 columns: the answer first, then where it comes from, cautions last. */
import { EventCode } from '../models/events.ts';
import type { Plant } from '../models/plant.ts';
import type { Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import type { OutageAnswer } from '../studies/outage.ts';
import type { Service } from '../studies/service.ts';
import type { Moment, WorstAnswer } from '../studies/worst.ts';
import { clockTime, labelled, paragraph, printable, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintNothing } from './terminal.ts';

/** "V-322 closes: 3.1 % force" or "V-322 closes: stalled". */
export function answerWords(plant: Plant, answer: OutageAnswer, units: UnitSystem): { stroke: string; margin: string } {
  const { worst } = answer;
  if (worst === undefined) return { stroke: '-', margin: 'nothing required' };
  const v = plant.valves[worst.valve];
  const way = v.strokes[worst.stroke - 1] > 0 ? 'opens' : 'closes';
  const which = v.strokes.length > 1 ? ` ${worst.stroke}/${v.strokes.length}` : '';
  const margin =
    worst.outcome !== 'completed'
      ? worst.outcome
      : worst.margin === Infinity
        ? 'load assists'
        : `${formatQuantity(worst.margin, 'fraction', units)} ${worst.of}`;
  return { stroke: `${v.tag} ${way}${which}`, margin };
}

/** What ends service, by EventCode. */
export const ENDED: Readonly<Record<number, string>> = {
  [EventCode.suctionLost]: 'the oil of the sump is used up',
  [EventCode.sumpOverflows]: 'the sump runs over',
  [EventCode.gasBreakthrough]: 'the tank is empty',
  [EventCode.outletShut]: 'the outlet shuts on low-low level',
  [EventCode.tankFull]: 'the tank is full of oil',
};

function serviceWords(service: Service, plant: Plant, units: UnitSystem): string {
  const motors = [...plant.pumps, ...plant.compressors];
  const counts = motors
    .map((m, k) => ({
      tag: m.tag,
      starts: service.events.filter((e) => e.item === k && e.code === EventCode.motorStarted).length,
    }))
    .filter(({ starts }) => starts > 0)
    .map(({ tag, starts }) => `${tag} ${starts}`);
  const followed = `Followed for ${clockTime(service.ticks * plant.tick_s)}`;
  const starts = counts.length === 0 ? '; no machine starts' : `; starts: ${counts.join(', ')}`;
  const idle = service.idle.length === 0 ? '' : `; never: ${service.idle.map((m) => motors[m].tag).join(', ')}`;
  const ended =
    service.endedBy === undefined
      ? ''
      : `. Service ends there by itself: ${ENDED[service.endedBy]}, unless somebody comes`;
  const { drift } = service;
  const repeats =
    drift === undefined
      ? ''
      : ` Between the last two starts of ${motors[drift.motor].tag} the pressure differs by ${formatQuantity(Math.abs(drift.pressure_Pa), 'pressureDifference', units)}: ${Math.abs(drift.pressure_Pa) < 0.005 * plant.start.gasPressure_Pa ? 'the cycle repeats' : 'the cycle does not repeat'}.`;
  const short =
    service.complete || service.endedBy !== undefined ? '' : ' Not every machine had its three turns in that time.';
  return `${followed}${starts}${idle}${ended}.${short}${repeats}`;
}

/** Which switch band makes the difference between the worst and the best moment. */
function bandWords({ gain, worst, best }: WorstAnswer, plant: Plant): string {
  const percent = (x: number) => `${(x * 100).toFixed(1)} %`;
  if (!(worst.answer.spare < best.answer.spare)) return 'All moments of service are alike.';
  const tag = (role: string) => plant.panel.contacts.find((c) => c.role === role)?.tag;
  const band = (low: string, high: string) => {
    const tags = [tag(low), tag(high)].filter((t) => t !== undefined);
    return tags.length === 2 ? ` (${tags[0]} to ${tags[1]})` : '';
  };
  const pressure = `the pressure band of the compressors${band('pressure.cutIn', 'pressure.cutOut')}`;
  const level = `the level band of the pumps${band('level.dutyStart', 'level.stop')}`;
  const all = best.answer.spare - worst.answer.spare;
  const { byPressure, byOil } = gain;
  const [name, share] = byPressure >= byOil ? [pressure, byPressure] : [level, byOil];
  if (share < all / 4)
    return `Neither pressure nor level alone explains the ${percent(all)} between worst and best: the state of valves or machines does.`;
  return `Between worst and best lie ${percent(all)} of margin. With the pressure of the best moment the worst would gain ${percent(byPressure)}, with its level ${percent(byOil)}: what counts is ${name}.`;
}

/** The moments as a profile: a row for each twelfth of service, the least margin in it. */
function profile(answer: WorstAnswer, plant: Plant, units: UnitSystem, zero_m: number): Row[] {
  const { service, moments, worst } = answer;
  const ambient = plant.ambientPressure_Pa;
  const rows: Row[] = [];
  const parts = 12;
  for (let k = 0; k < parts; k++) {
    const [from, to] = [(service.ticks * k) / parts, (service.ticks * (k + 1)) / parts];
    const inside = moments.filter((m) => m.tick > from && m.tick <= to);
    if (inside.length === 0) continue;
    const least = inside.reduce((a, b) => (b.answer.spare < a.answer.spare ? b : a));
    rows.push(momentRow(least, plant, units, ambient, zero_m, least === worst ? 'worst' : ''));
  }
  return rows;
}

function momentRow(m: Moment, plant: Plant, units: UnitSystem, ambient: number, zero_m: number, mark: string): Row {
  const { stroke, margin } = answerWords(plant, m.answer, units);
  const level = plant.tank.vessel.levelAt(m.oil_m3) - zero_m;
  return {
    cells: [
      mark,
      clockTime(m.time_s),
      formatQuantity(m.pressure_Pa, 'pressure', units, ambient),
      formatQuantity(level, 'length', units),
      stroke,
      margin,
      m.answer.met ? 'met' : 'NOT MET',
    ],
  };
}

export interface WorstPrintOptions {
  readonly file: string;
  readonly units: UnitSystem;
  /** Overrides of the run, to be repeated in the line that replays the proof. */
  readonly set: readonly string[];
  readonly paint?: Paint;
}

export function printWorst(answer: WorstAnswer, scenario: Scenario, options: WorstPrintOptions): string {
  const { plant, values } = scenario;
  const { units, paint = paintNothing } = options;
  const ambient = plant.ambientPressure_Pa;
  const zero_m = plant.tank.sightGlassZero_m;
  const { proof, worst, best, corners } = answer;
  const alike = !(worst.answer.spare < best.answer.spare);
  const word = proof.met ? 'MET' : 'NOT MET';
  const at =
    proof.from === 'service'
      ? `at the worst moment of service, ${clockTime(worst.time_s)}`
      : `in the least favourable state that the switches permit, with the ${corners[0].name}`;
  const least = answerWords(plant, proof.from === 'service' ? worst.answer : corners[0].answer, units);
  const said =
    answer.worst.answer.worst === undefined
      ? 'nothing is required of any valve, so no moment is worse than another.'
      : `${at}, ${least.stroke}: ${least.margin}.`;
  const [first = '', ...rest] = paragraph(`${word}: `, said, WIDTH);
  const columns = [
    { head: '' },
    { head: 'Mains lost at', right: true },
    { head: 'Pressure', right: true },
    { head: 'Level', right: true },
    { head: 'Least margin of' },
    { head: '' },
    { head: '' },
  ] as const;
  const cornerRows = corners.map((c): Row => {
    const { stroke, margin } = answerWords(plant, c.answer, units);
    return {
      cells: [
        'permitted',
        c.name.replace('level at the ', '').replace('level of the ', ''),
        formatQuantity(c.pressure_Pa, 'pressure', units, ambient),
        formatQuantity(c.level_m - zero_m, 'length', units),
        stroke,
        margin,
        c.answer.met ? 'met' : 'NOT MET',
      ],
    };
  });
  const sections = [
    [
      proof.met ? first : paint('bad', word) + first.slice(word.length),
      ...rest,
      ...paragraph('', printable(`${options.file}: ${values.title}`), WIDTH),
    ],
    table(
      columns,
      [
        momentRow(worst, plant, units, ambient, zero_m, 'worst'),
        ...(alike ? [] : [momentRow(best, plant, units, ambient, zero_m, 'best')]),
        ...cornerRows,
      ],
      WIDTH,
    ),
    labelled('Why', bandWords(answer, plant)),
    labelled('Service', serviceWords(answer.service, plant, units)),
    alike
      ? []
      : ['Least margin in each twelfth of service:', ...table(columns, profile(answer, plant, units, zero_m), WIDTH)],
    labelled(
      'Replay',
      `tripstroke replay ${options.file}${options.set.map((s) => ` --set "${s}"`).join('')} --at worst`,
    ),
    labelled(
      'Holds',
      `for this file: ${answer.moments.length} moments of service and ${corners.length} states put together from the switches, each run in full; no faults but those of the file.`,
    ),
    CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${sections
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n')}\n`;
}
