/**
 * The worst moment to lose the mains: service is followed over some cycles of every machine, the power fails at many
 * instants of it, and around the least margin at more. Beside it stands the least favourable state that the switches
 * permit, whether service happened to come to it or not.
 */
import { GAMMA, R_AIR } from '../models/air.ts';
import type { ContactRole } from '../models/contact.ts';
import type { Plant } from '../models/plant.ts';
import { buildPlant } from '../scenarios/build.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import type { EngineOptions } from '../sim/engine.ts';
import { createOutages, inService, lateOverrides, type OutageAnswer, type Outages } from './outage.ts';
import { followService, type Service } from './service.ts';

/** A failure at one instant of service. */
export interface Moment {
  readonly tick: number;
  readonly time_s: number;
  readonly pressure_Pa: number;
  /** Oil in the tank. */
  readonly oil_m3: number;
  readonly answer: OutageAnswer;
}

/** A state put together from what the switches permit. */
export interface Corner {
  readonly name: 'level at the pump start' | 'level at the pump stop' | 'level of the start';
  readonly pressure_Pa: number;
  /** Above the inside bottom. */
  readonly level_m: number;
  readonly answer: OutageAnswer;
}

export interface WorstAnswer {
  readonly service: Service;
  /** In order of time. */
  readonly moments: readonly Moment[];
  readonly worst: Moment;
  readonly best: Moment;
  /**
   * What the margin at the worst moment would gain with the pressure, or with the oil, of the best; both from failures of
   * such states.
   */
  readonly gain: { readonly byPressure: number; readonly byOil: number };
  /** The corners of what the switches permit, the least favourable first. */
  readonly corners: readonly Corner[];
  /** The lower of both least spare margins. */
  readonly proof: { readonly spare: number; readonly met: boolean; readonly from: 'service' | 'switches' };
}

export interface WorstOptions extends EngineOptions {
  /** Instants of service at which the power fails, beside those of starts and stops. */
  readonly instants?: number;
  readonly longestService_s?: number;
  readonly onProgress?: (share: number) => void;
}

/** Failures more, in the neighbourhood of the worst. */
const REFINEMENT = 24;
/** Most starts and stops that get an instant of their own. */
const MOST_EVENTS = 200;

/**
 * Overrides ("path=value") with which the scenario of an answer replays its proof: the moment of service, or the state that
 * the switches permit, whichever has the lower margin.
 */
export function worstOverrides(answer: WorstAnswer, values: ScenarioValues, plant: Plant): string[] {
  const lostAt_s = answer.proof.from === 'service' ? answer.worst.time_s : 0;
  const back = lateOverrides(values, plant, lostAt_s);
  if (answer.proof.from === 'service') return [...back, `power.lostAt=${Number(lostAt_s.toFixed(6))} s`];
  const [corner] = answer.corners;
  const { tank, ambientTemperature_K } = plant;
  return [
    ...back,
    'power.lostAt=0 s',
    `start.pressure=${Number((corner.pressure_Pa / 1000).toFixed(3))} kPaa`,
    values.start.oil === undefined
      ? `start.level=${Number((corner.level_m - tank.sightGlassZero_m).toFixed(6))} m`
      : `start.oil=${tank.vessel.volumeAt(corner.level_m)} m^3`,
    ...(values.start.airTemperature === undefined ? [] : [`start.airTemperature=${ambientTemperature_K} K`]),
    ...(values.start.wallTemperature === undefined ? [] : [`start.wallTemperature=${ambientTemperature_K} K`]),
    'start.running=[]',
  ];
}

/** Finds the worst moment. `values` are those the plant was built from. */
export function findWorst(values: ScenarioValues, plant: Plant, options: WorstOptions = {}): WorstAnswer {
  const outages = createOutages(inService(plant), options);
  const { unit, engine } = outages;
  const { layout } = unit;
  const start = unit.start();
  const service = followService(unit, engine, start, options.longestService_s);
  const ticks = chooseInstants(service, options.instants ?? 150);
  const moments: Moment[] = [];
  const states: Float64Array[] = [];
  const y = start.slice();
  const quiet = { sampleTicks: 0 };
  for (const tick of ticks) {
    if (tick - 1 > y[layout.clock.tick]) engine.advance(y, tick - 1, quiet);
    states.push(y.slice());
    moments.push(momentOf(outages, y, tick));
    options.onProgress?.((0.9 * moments.length) / ticks.length);
  }
  refine(outages, moments, states);
  const worst = moments.reduce((a, b) => (b.answer.spare < a.answer.spare ? b : a));
  const best = moments.reduce((a, b) => (b.answer.spare > a.answer.spare ? b : a));
  const from = states[moments.indexOf(worst)];
  const with_ = (pressure_Pa: number, oil_m3: number) =>
    outages.fail(moved(outages, from, pressure_Pa, oil_m3), worst.tick).spare - worst.answer.spare;
  const corners = switchCorners(values, plant, options);
  options.onProgress?.(1);
  const corner = corners[0]?.answer.spare ?? Infinity;
  const spare = Math.min(worst.answer.spare, corner);
  return {
    service,
    moments,
    worst,
    best,
    gain: { byPressure: with_(best.pressure_Pa, worst.oil_m3), byOil: with_(worst.pressure_Pa, best.oil_m3) },
    corners,
    proof: { spare, met: spare >= 0, from: corner < worst.answer.spare ? 'switches' : 'service' },
  };
}

/** Instants spread over service, and those just before and after each start and stop. */
function chooseInstants(service: Service, count: number): number[] {
  const ticks = new Set<number>();
  for (let k = 0; k < count; k++) ticks.add(Math.max(1, Math.round((service.ticks * (k + 0.5)) / count)));
  const every = Math.max(1, Math.ceil(service.events.length / MOST_EVENTS));
  for (let k = 0; k < service.events.length; k += every) {
    // A failure at the tick of the start comes before it.
    ticks.add(Math.max(1, service.events[k].tick));
    ticks.add(service.events[k].tick + 1);
  }
  return [...ticks].sort((a, b) => a - b);
}

function momentOf(outages: Outages, state: Float64Array, tick: number): Moment {
  const { unit } = outages;
  return {
    tick,
    time_s: tick * unit.plant.tick_s,
    pressure_Pa: unit.gasPressure(state),
    oil_m3: state[unit.slots.oil],
    answer: outages.fail(state, tick),
  };
}

/** Narrows down around the worst moment by thirds; moments and their states stay in order of time. */
function refine(outages: Outages, moments: Moment[], states: Float64Array[]): void {
  const { unit, engine } = outages;
  for (let k = 0; k < REFINEMENT; k++) {
    let at = 0;
    for (let i = 1; i < moments.length; i++) if (moments[i].answer.spare < moments[at].answer.spare) at = i;
    const before = at > 0 ? moments[at].tick - moments[at - 1].tick : 0;
    const after = at < moments.length - 1 ? moments[at + 1].tick - moments[at].tick : 0;
    const gap = Math.max(before, after);
    if (gap < 2) return;
    const place = before >= after ? at - 1 : at;
    const tick = moments[place].tick + Math.floor(gap / 2);
    const y = states[place].slice();
    if (tick - 1 > y[unit.layout.clock.tick]) engine.advance(y, tick - 1, { sampleTicks: 0 });
    states.splice(place + 1, 0, y);
    moments.splice(place + 1, 0, momentOf(outages, y, tick));
  }
}

/** A state with another pressure at the same temperature, and another filling. */
function moved({ unit }: Outages, state: Float64Array, pressure_Pa: number, oil_m3: number): Float64Array {
  const y = state.slice();
  const { slots, plant } = unit;
  const temperature = unit.gasTemperature(state);
  y[slots.oil] = oil_m3;
  const pV = pressure_Pa * (plant.tank.volume_m3 - oil_m3);
  y[slots.airMass] = pV / (R_AIR * temperature);
  y[slots.energy] = pV / (GAMMA - 1);
  y[slots.dissolved] *= (oil_m3 * pressure_Pa) / (state[slots.oil] * unit.gasPressure(state));
  return y;
}

/** Which contacts bound the states that corners are put together from, and how much further they let the reading go. */
export interface Permitted {
  readonly pressure: ContactRole;
  readonly lowest: ContactRole;
  readonly byPressure_Pa: number;
  readonly byLowest_m: number;
  readonly byHighest_m: number;
}

/** What the duty machines keep to. */
export const BY_DUTY: Permitted = {
  pressure: 'pressure.cutIn',
  lowest: 'level.dutyStart',
  byPressure_Pa: 0,
  byLowest_m: 0,
  byHighest_m: 0,
};

/** What the switches permit at their least favourable. */
export interface PermittedStates {
  /** Absolute. */
  readonly pressure_Pa: number;
  /** Levels above the inside bottom. */
  readonly places: readonly { readonly name: Corner['name']; readonly level_m: number }[];
}

/**
 * Pressure just above the cut-in of the duty compressor (that of the start where there is no such switch), level just above
 * the start of the duty pump and just under the stop, each switch as far off against the shutdown as its accuracy says.
 * `permitted` names other contacts where a fault leaves it to them. `plant` is one built from `values`, or from values that
 * differ only in what a panel is set to.
 */
export function permittedStates(values: ScenarioValues, plant: Plant, permitted: Permitted = BY_DUTY): PermittedStates {
  const late = buildPlant(values, () => {}, { contactErrors: 'low', like: plant }) ?? plant;
  const early = buildPlant(values, () => {}, { contactErrors: 'high', like: plant }) ?? plant;
  const tripOf = (of: Plant, role: ContactRole, by: number) => {
    const trip = of.panel.contacts.find((c) => c.role === role)?.trip;
    return trip === undefined ? undefined : trip + by;
  };
  const start_m = tripOf(late, permitted.lowest, permitted.byLowest_m);
  const stop_m = tripOf(early, 'level.stop', permitted.byHighest_m);
  const places: { name: Corner['name']; level_m: number }[] = [];
  if (start_m !== undefined) places.push({ name: 'level at the pump start', level_m: start_m });
  if (stop_m !== undefined) places.push({ name: 'level at the pump stop', level_m: stop_m });
  if (places.length === 0)
    places.push({ name: 'level of the start', level_m: plant.tank.vessel.levelAt(plant.start.oilVolume_m3) });
  const pressure_Pa = tripOf(late, permitted.pressure, permitted.byPressure_Pa) ?? plant.start.gasPressure_Pa;
  return { pressure_Pa, places };
}

/**
 * Loses the mains of a plant put into a state: air and shell at ambient temperature, all machines at rest and the compressors
 * held off. Undefined where no such plant can be built.
 */
export function failFrom(
  values: ScenarioValues,
  plant: Plant,
  pressure_Pa: number,
  level_m: number,
  options: EngineOptions = {},
): OutageAnswer | undefined {
  const { oil: _, airTemperature: __, wallTemperature: ___, ...rest } = values.start;
  const start = {
    ...rest,
    pressure: pressure_Pa,
    level: level_m - plant.tank.sightGlassZero_m,
    running: [],
    gaugeAccuracy: 0,
    levelAccuracy: 0,
  };
  const cornered = buildPlant({ ...values, start }, () => {}, { like: plant });
  if (cornered === undefined) return undefined;
  const outages = createOutages(inService(cornered), options);
  return outages.fail(outages.unit.start(), 0);
}

/** The corners of what the switches permit, the least favourable first. */
export function switchCorners(
  values: ScenarioValues,
  plant: Plant,
  options: EngineOptions,
  permitted: Permitted = BY_DUTY,
): Corner[] {
  const { pressure_Pa, places } = permittedStates(values, plant, permitted);
  return places
    .flatMap(({ name, level_m }): Corner[] => {
      const answer = failFrom(values, plant, pressure_Pa, level_m, options);
      return answer === undefined ? [] : [{ name, pressure_Pa, level_m, answer }];
    })
    .sort((a, b) => a.answer.spare - b.answer.spare);
}
