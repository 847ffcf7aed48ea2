/**
 * What can only help: more air at the same level, a larger tank filled to the same share. Each law says when it is a
 * theorem and why; what is usual and no theorem is counted, with TRIPSTROKE_STATISTICS=1, and printed.
 *
 * P is the pressure of the air, x the position of the piston. Of one valve that moves by itself, with no leak, nothing
 * pushed back and no machine, the oil drawn and with it the air's volume V are functions of x, and the speed dx/dt is a
 * function of P and x that rises with P, whatever lines, filter, drive, cushion, spring and cavitation make of it. So is
 * the force margin: what is left of the thrust is what the piston's own lines cost, and that rises with its speed.
 * It is enough to show that the pressure of the better run is never the lower one at the same x. Let it be the same at
 * some x for the first time; then dx/dt is the same there too, and what counts is dP/dx,
 *
 *   dP/dx = -gamma P V'/V + (gamma - 1) H/(V dx/dt),   H the heat to the air, of a wall at Tw: h(T, density) (Tw - T).
 *
 * Several valves at once are no theorem: with a trace of air more a valve moves that would have stayed, and what it
 * draws is missed by the next. Nor is a stroke that stops on its way and goes on when the air has warmed up: the better
 * run is past that place before. Nor is a wall that cools down, a safety valve that opens, or air in the oil.
 */
import fc from 'fast-check';
import { assert, describe, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { type RunRecord, runPlant } from '../../scenarios/run.ts';
import type { StrokeRecord } from '../../scenarios/strokes.ts';
import { law } from '../support/law.ts';
import { type Given, loneValve } from '../support/loneValve.ts';
import { part, randomValve, resistance } from '../support/randomValve.ts';

interface Outage {
  readonly valves: readonly Given[];
  readonly heat: Given;
  readonly volume_m3: number;
  /** Share of the tank that is oil. */
  readonly filling: number;
  readonly pressure_bar: number;
  readonly air_K: number;
  readonly wall_K: number;
  readonly header: Given;
  readonly main: Given;
  /** The better run has so many times the air, or so many times the tank. */
  readonly times: number;
}

/** Stays as warm as it is. */
const STEADY_WALL = { wallHeatCapacity: '1e12 J/K', ambientConductance: '0 W/K' };
const PROCESSES: readonly Given[] = [
  { exchange: 'adiabatic' },
  { exchange: 'isothermal' },
  { exchange: 'polytropic', exponent: 1.2 },
];
const timeConstant = part(3, 300).map((s) => ({ exchange: 'time constant', timeConstant: `${s} s`, ...STEADY_WALL }));
const withWall: fc.Arbitrary<Given> = fc.oneof(
  timeConstant,
  part(5, 300).map((hA) => ({ exchange: 'conductance', conductance: `${hA} W/K`, ...STEADY_WALL })),
  fc.constant({ exchange: 'natural convection', ...STEADY_WALL }),
);
const process = fc.constantFrom(...PROCESSES);

/** As the valve comes, but for leaks and pistons that may be pushed back. */
const tight = randomValve.map(({ internalLeak: _, ...valve }): Given => ({ ...valve, mayBePushedBack: false }));
const outage = (valves: fc.Arbitrary<readonly Given[]>, heat: fc.Arbitrary<Given>): fc.Arbitrary<Outage> =>
  fc.record({
    valves,
    heat,
    volume_m3: part(0.03, 0.4),
    filling: part(0.3, 0.8),
    pressure_bar: part(6, 20),
    air_K: part(260, 320),
    wall_K: part(260, 320),
    header: resistance,
    main: resistance,
    times: part(1.001, 2),
  });

const DURATION_s = 90;

function run(c: Outage, airTimes: number, tankTimes: number): RunRecord {
  const volume = c.volume_m3 * tankTimes;
  const { plant } = loneValve(c.valves, {
    tank: { volume: `${volume} m^3`, dissolvedAir: { model: 'none' }, heat: c.heat },
    start: {
      pressure: `${c.pressure_bar * airTimes} bara`,
      oil: `${volume * c.filling} m^3`,
      airTemperature: `${c.air_K} K`,
      wallTemperature: `${c.wall_K} K`,
    },
    header: c.header,
    returnMain: c.main,
  }).scenario;
  return runPlant(plant, { toTick: DURATION_s * 100, sampleTicks: 0, trace: false });
}

/** Strokes that went through without a stop. */
function through({ strokes, events }: RunRecord): StrokeRecord[] {
  return strokes.filter(
    (s) =>
      s.ended_s >= 0 &&
      !events.some(
        (e) =>
          e.item === s.valve && e.code === EventCode.valveStopped && e.time_s >= s.commanded_s && e.time_s < s.ended_s,
      ),
  );
}

/**
 * Margins are looked at where the steps of a run begin, end and have their middle; a least one between these is that of a
 * parabola. Two runs with other steps were seen to differ by 1e-6 where nothing else did. Times come from steps of a
 * relative error of 1e-8.
 */
const MARGIN = 1e-5;
const TIME_s = 1e-6;

let seen = 0;
let counted = 0;

/** That what went through in one run goes through in the other, no later and with no less to spare. */
function noWorse(worse: RunRecord, better: RunRecord, strokes: readonly StrokeRecord[]): void {
  counted++;
  if (strokes.length > 0) seen++;
  for (const a of strokes) {
    const b = better.strokes.find((s) => s.valve === a.valve && s.stroke === a.stroke);
    const which = `stroke ${a.stroke}`;
    assert(b !== undefined && b.ended_s >= 0, `${which} ends at ${a.ended_s} s, and not at all in the better run`);
    const time = [a, b].map((s) => s.ended_s - s.commanded_s);
    assert(time[1] <= time[0] + TIME_s, `${which} takes ${time[0]} s, and ${time[1]} s in the better run`);
    assert(b.least >= a.least - MARGIN * Math.max(1, Math.abs(a.least)), `${which}: ${a.least}, then ${b.least}`);
  }
  assert(worse.stop === 'reached' && better.stop === 'reached');
}

describe('one valve at a time', () => {
  /**
   * Where P and V are the same and the mass m is larger, T = P V/(m R) is lower. So a wall at Tw gives more heat or takes
   * less: by natural convection h is larger in the denser air, but where the wall is the colder one it grows with a lower
   * power than T - Tw falls, and for a time constant h T is the same. So dP/dx is the larger one, and before the stroke
   * dP/dt, with V at rest. Air that follows a process has P = C V^-n with a larger C. Of the first stroke only, since the
   * next begins at another time.
   */
  law(
    'more air at the same level never lowers the margin of the first stroke, nor delays it',
    { runs: 150, seed: 701, show: JSON.stringify },
    outage(
      tight.map((v) => [v]),
      fc.oneof(process, withWall),
    ),
    (c) => {
      const worse = run(c, 1, 1);
      noWorse(
        worse,
        run(c, c.times, 1),
        through(worse).filter((s) => s.stroke === 1),
      );
    },
  );

  /**
   * V is larger and the same amount is drawn of it: the first term of dP/dx is smaller. The density m/V has fallen less,
   * so T = P/(density R) is lower, and with a time constant tau the second term is P (Tw/T - 1)/(tau dx/dt): larger.
   * Not so with a conductance that does not grow with the tank: the heat then makes less of the larger volume.
   * Of air that follows a process P is a function of the oil drawn alone: true of every stroke, whenever it begins,
   * as long as each has ended before the next.
   */
  law(
    'a larger tank with the same share of oil never lowers a margin, nor delays a stroke',
    { runs: 150, seed: 702, show: JSON.stringify },
    outage(
      tight.map((v) => [v]),
      fc.oneof(process, timeConstant),
    ),
    (c) => {
      const worse = run(c, 1, 1);
      // None after one that did not go through.
      const inTurn = through(worse).filter((s, k) => s.stroke === k + 1);
      const ofProcess = c.heat['exchange'] !== 'time constant';
      noWorse(
        worse,
        run(c, 1, c.times),
        inTurn.filter((s) => ofProcess || s.stroke === 1),
      );
    },
  );

  test('half of these cases have a stroke that goes through', () => {
    assert(counted === 0 || seen >= 0.5 * counted, `${seen} of ${counted}`);
  });
});

const STATISTICS = globalThis.process.env['TRIPSTROKE_STATISTICS'] === '1';

describe.runIf(STATISTICS)('what usually helps', () => {
  const several = fc.array(tight, { minLength: 2, maxLength: 4 });
  const COUNT = 400;
  test.for([
    ['more air at the same level, several valves at once', several, (c: Outage) => run(c, c.times, 1)],
    ['a larger tank with the same share of oil, several valves at once', several, (c: Outage) => run(c, 1, c.times)],
  ] as const)('%s', { timeout: 600_000 }, ([what, valves, better], { task }) => {
    let strokes = 0;
    let lower = 0;
    let lost = 0;
    for (const c of fc.sample(outage(valves, fc.oneof(process, withWall)), { seed: 703, numRuns: COUNT })) {
      const after = better(c);
      for (const a of through(run(c, 1, 1))) {
        strokes++;
        const b = after.strokes.find((s) => s.valve === a.valve && s.stroke === a.stroke);
        if (b === undefined || b.ended_s < 0) lost++;
        else if (b.least < a.least - MARGIN * Math.max(1, Math.abs(a.least))) lower++;
      }
    }
    task.meta.cases = COUNT;
    task.meta.statistic = `${what}: of ${strokes} strokes in ${COUNT} units ${lower} with less margin, ${lost} no longer ended`;
    console.log(task.meta.statistic);
    assert(strokes > COUNT);
  });
});
