/** What `size` found, in sentences: the same in print and in a report. */
import type { Scenario } from '../scenarios/load.ts';
import { formatQuantity, type UnitSystem } from '../scenarios/units.ts';
import { clockTime } from '../scenarios/wording.ts';
import { METHODS, type SizeAnswer, type Wanted } from './size.ts';

export interface SizeWordsOptions {
  readonly units: UnitSystem;
  readonly refill_s?: number | undefined;
  readonly recharge_s?: number | undefined;
  /** As given, for the sentence about the next larger size. */
  readonly sizes_m3?: readonly number[] | undefined;
}

export interface SizeWords {
  /** "ENOUGH" */
  readonly word: string;
  readonly said: string;
  /** Name and sentence: what is wanted, what is permitted, this tank. */
  readonly before: readonly (readonly [name: string, text: string])[];
  /** The ways of reckoning in their order. */
  readonly ways: readonly (readonly [name: string, wanted: Wanted])[];
  /** What is asked for, by each way. */
  readonly rows: readonly (readonly [name: string, ...cells: string[]])[];
  /** How to read that, and the next larger size. */
  readonly found: readonly (readonly [name: string, text: string])[];
  readonly machines: readonly (readonly [name: string, text: string])[];
  readonly holds: string;
}

export const NOTHING_TO_SIZE = 'No stroke that needs oil is required, so no size follows.';

const HOLDS =
  'for similar tanks: lengths and level settings grow together, fillings stay. A cut-in is the lowest the switch may have, not its setting; the cut-out is left where it is. Shortcut and closed forms leave out flow; all oil counts as drawn when the neediest valve moves.';

/** The words; undefined where nothing that needs oil is required. */
export function sizeWords(answer: SizeAnswer, { plant }: Scenario, options: SizeWordsOptions): SizeWords | undefined {
  const { units } = options;
  const { demand, filling, machines, simulated, next } = answer;
  if (demand === undefined) return undefined;
  const volume = (v: number) => formatQuantity(v, 'volume', units);
  const pressure = (p: number) => formatQuantity(p, 'pressure', units, plant.ambientPressure_Pa);
  // Free air goes by cubic feet and by cubic metres.
  const [inAir, perTime, seconds] = units === 'us' ? ['ft^3', 'ft^3/min', 60] : ['m^3', 'm^3/h', 3600];
  const freeAir = (v: number) => Number((units === 'us' ? v / 0.3048 ** 3 : v).toPrecision(3));
  const percent = (x: number) => formatQuantity(x, 'fraction', units);
  const share = (x: number) => `${(x * 100).toFixed(1)} %`;
  const air = (v: number) => volume(v * (1 - filling.mostOil));
  const oil = (v: number) => volume(v * filling.leastOil);
  const ways: SizeWords['ways'] = [
    ...METHODS.map((m) => [m, answer.closed[m]] as const),
    ['simulated', simulated] as const,
  ];
  const cells = (of: (w: Wanted) => number | undefined, show: (x: number) => string, otherwise: string) =>
    ways.map(([, w]) => {
      const x = of(w);
      return x === undefined ? otherwise : show(x);
    });
  const tankOf = (w: Wanted) => w.tank_m3;
  return {
    word: answer.met ? 'ENOUGH' : 'NOT ENOUGH',
    said: answer.met
      ? `from the least favourable state that the switches permit, the required set completes with ${percent(answer.spare)} beyond the margin wanted.`
      : 'from the least favourable state that the switches permit, the required set does not complete as wanted.',
    before: [
      [
        'Wanted',
        `the required strokes draw ${volume(demand.oil_m3)}; ${plant.valves[demand.valve].tag}, the neediest, moves with its margin from ${pressure(demand.lowest_Pa)} on, without flow.`,
      ],
      [
        'Permitted',
        `lowest cut-in ${pressure(answer.pressure_Pa)}; oil from ${share(filling.leastOil)} (pump start) to ${share(filling.mostOil)} (stop) of the tank, ${share(filling.outlet)} of it under the outlet; each switch as far off as its accuracy.`,
      ],
      ['This tank', `${volume(answer.tank_m3)}, ${air(answer.tank_m3)} of it air at the stop.`],
    ],
    ways,
    rows: [
      ['Tank at this cut-in', ...cells(tankOf, volume, 'none')],
      ['  air, at the stop', ...cells(tankOf, air, '-')],
      ['  oil, at the start', ...cells(tankOf, oil, '-')],
      ['Cut-in of this tank', ...cells((w) => w.pressure_Pa, pressure, 'none')],
    ],
    found: [['Read', readText(answer)], ...nextSize()],
    machines: machineSizes(),
    holds: HOLDS,
  };

  function nextSize(): [string, string][] {
    if (options.sizes_m3 === undefined || simulated.tank_m3 === undefined) return [];
    if (next === undefined) return [['Next size', `none of those given is as large as ${volume(simulated.tank_m3)}.`]];
    const more = next.spare >= 0 ? 'beyond' : 'less than';
    return [
      [
        'Next size',
        `${volume(next.tank_m3)}; run in the same state it has ${percent(Math.abs(next.spare))} ${more} the margin wanted.`,
      ],
    ];
  }

  function machineSizes(): [string, string][] {
    const times = (pair: readonly [number, number], count: number, what: string) => {
      if (count === 0 || !Number.isFinite(pair[0])) return `no ${what} does it`;
      const alone = `${clockTime(pair[0])} with one ${what}`;
      return count === 1 ? alone : `${alone}, ${clockTime(pair[1])} with all`;
    };
    const wantedIn = (q: number | undefined, s: number | undefined, show: (q: number) => string) =>
      q === undefined || s === undefined ? '' : ` In ${clockTime(s)} that takes ${show(q)}.`;
    return [
      [
        'Refill',
        `${volume(machines.refill_m3)} from the pump start less the required set to the stop: ${times(machines.refill_s, plant.pumps.length, 'pump')}.${wantedIn(machines.pumpFlow_m3_s, options.refill_s, (q) => `${formatQuantity(q, 'volumeFlow', units)} delivered against the cut-out`)}`,
      ],
      [
        'Recharge',
        `${freeAir(machines.recharge_m3)} ${inAir} of free air from cut-in to cut-out: ${times(machines.recharge_s, plant.compressors.length, 'compressor')}; ${freeAir(machines.firstCharge_m3)} ${inAir} from no pressure.${wantedIn(machines.freeAir_m3_s, options.recharge_s, (q) => `${freeAir(q * seconds)} ${perTime} of free air`)}`,
      ],
    ];
  }
}

function readText({ closed, simulated: real, tank_m3 }: SizeAnswer): string {
  const short = closed['gauge shortcut'].tank_m3;
  if (real.tank_m3 === undefined && closed.adiabatic.tank_m3 !== undefined)
    return 'no tank up to 16 times this one is enough, though the closed forms find one: what is missing is time, or what flow takes from the pressure, not volume.';
  if (real.tank_m3 === undefined)
    return 'no tank up to 16 times this one is enough at this cut-in: what is missing is pressure, not volume.';
  if (short === undefined) return 'the run decides.';
  const off = real.tank_m3 / short;
  const hides = short <= tank_m3 && real.tank_m3 > tank_m3;
  return `the run decides: it wants ${off.toFixed(2)} times the tank of the gauge shortcut${hides ? ', which takes this tank for large enough' : ''}.`;
}
