/**
 * Whole runs with an answer in closed form: a tank, the text of its file through the library, the air at every sample.
 * A flow that no component gives (oil or air leaving at a constant rate, a volume that swings) comes from a leak of
 * the real unit, opened at every instant just so far that it passes that flow; the air equation and the engine stay
 * those of the program.
 */
import { createUnit, nozzleFlow } from '../../models/index.ts';
import { createEngine, type EngineOptions } from '../../sim/index.ts';
import { formatFaults, loadScenario, type Result, replay, type Scenario } from '../index.ts';

export const AMBIENT_Pa = 101_325;

export interface BareTank {
  readonly heat: Readonly<Record<string, unknown>>;
  readonly tank_m3: number;
  readonly oil_m3: number;
  readonly pressure_bar: number;
  readonly air_K?: number;
  readonly wall_K?: number;
  readonly ambient_Pa?: number;
  readonly duration_s: number;
  readonly sample_s?: number;
  /** Tags of machines that run from the start. */
  readonly running?: readonly string[];
  /** Further keys of the file. */
  readonly more?: Readonly<Record<string, unknown>>;
}

export interface AirRow {
  readonly time_s: number;
  readonly pressure_Pa: number;
  readonly temperature_K: number;
  readonly wall_K: number;
  readonly oil_m3: number;
}

/** So large that the wall stays as warm as it is, to a few parts in 1e9. */
export const CONSTANT_WALL = { wallHeatCapacity: '1e12 J/K', ambientConductance: '0 W/K' };

/** The scenario of a file given as an object (JSON is YAML). Errors: the faults of the file. */
export function scenarioOf(file: unknown, name: string): Scenario {
  const loaded = loadScenario(JSON.stringify(file), { file: name });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  return loaded.scenario;
}

/** The scenario of a bare tank: no heads of oil, no air in the oil. */
export function bareTank(t: BareTank): Scenario {
  const file = {
    run: { duration: `${t.duration_s} s`, sample: `${t.sample_s ?? t.duration_s} s` },
    site: { barometer: `${(t.ambient_Pa ?? AMBIENT_Pa) / 1000} kPaa`, temperature: '293.15 K' },
    oil: { grade: 46, temperature: '293.15 K' },
    tank: { volume: `${t.tank_m3} m^3`, dissolvedAir: { model: 'none' }, heat: t.heat },
    sump: { capacity: '3 m^3', depth: '1 m' },
    start: {
      pressure: `${t.pressure_bar} bara`,
      oil: `${t.oil_m3} m^3`,
      airTemperature: `${t.air_K ?? 293.15} K`,
      wallTemperature: `${t.wall_K ?? t.air_K ?? 293.15} K`,
      sumpLevel: '0.9 m',
      running: t.running ?? [],
      compressorsAllowed: 'yes',
    },
    ...t.more,
  };
  return scenarioOf(file, 'bare tank');
}

/** The rows of the trace, events included. */
export function airRows(t: BareTank, options: EngineOptions = {}): readonly AirRow[] {
  const { trace } = replay(bareTank(t), options);
  const [time, p, T, wall, oil] = ['time', 'tank pressure', 'air temperature', 'shell temperature', 'tank oil'].map(
    (name) => trace!.columns.findIndex((c) => c.name === name),
  );
  return trace!.rows.map((r) => ({
    time_s: Math.round(r[time] * 1e6) / 1e6,
    pressure_Pa: r[p],
    temperature_K: r[T],
    wall_K: r[wall],
    oil_m3: r[oil],
  }));
}

/** The row at a time, s. Errors: when there is none. */
export function rowAt(rows: readonly AirRow[], time_s: number): AirRow {
  const row = rows.find((r) => Math.abs(r.time_s - time_s) < 1e-6);
  if (row === undefined) throw new Error(`no row at ${time_s} s`);
  return row;
}

/** The row at the end of a run. */
export const endOf = (t: BareTank, options: EngineOptions = {}): AirRow => rowAt(airRows(t, options), t.duration_s);

/** When the pressure falls through a value, s, between rows on a straight line. */
export function timeOf(rows: readonly AirRow[], pressure_Pa: number): number {
  const k = rows.findIndex((r) => r.pressure_Pa <= pressure_Pa);
  if (k < 1) throw new Error(`the pressure never falls through ${pressure_Pa} Pa`);
  const [a, b] = [rows[k - 1], rows[k]];
  return a.time_s + ((b.time_s - a.time_s) * (a.pressure_Pa - pressure_Pa)) / (a.pressure_Pa - b.pressure_Pa);
}

/** What comes of a run of the whole file. */
export const resultOf = (scenario: Scenario): Result => replay(scenario, { units: 'si', trace: false }).result;

/** Flows through the leaks of a unit. */
export interface Opened {
  /** Oil out, m3/s, at a volume of air, m3, and a time, s; negative: in. */
  readonly oilFlow?: (air_m3: number, time_s: number) => number;
  /** Air out, kg/s. */
  readonly airFlow?: number;
}

export interface OpenedRow extends AirRow {
  /** Given off by the air to the oil since the start. */
  readonly work_J: number;
  /** Taken in by the air from the shell since the start. */
  readonly heat_J: number;
}

/** Runs with leaks opened so far; the air at the times asked for, in s, ascending and whole numbers of ticks. */
export function airOpened(
  t: BareTank,
  opened: Opened,
  times: readonly number[],
  options: EngineOptions = {},
): readonly OpenedRow[] {
  const { plant } = bareTank(t);
  const unit = createUnit(plant);
  const slot = (name: string) => unit.layout.slots.findIndex((info) => info.name === name);
  const [oilLeak, airLeak, work, heat] = ['oilLeak.k', 'airLeak.area', 'air.work', 'air.heat'].map(slot);
  const ambient_Pa = t.ambient_Pa ?? AMBIENT_Pa;
  const engine = createEngine(
    {
      ...unit,
      derivative(time_s, y, rate) {
        const p = unit.gasPressure(y);
        const air_m3 = t.tank_m3 - y[unit.slots.oil];
        if (opened.oilFlow) y[oilLeak] = opened.oilFlow(air_m3, time_s) / Math.sqrt(p - ambient_Pa);
        if (opened.airFlow) y[airLeak] = opened.airFlow / nozzleFlow(p, unit.gasTemperature(y), ambient_Pa, 1);
        unit.derivative(time_s, y, rate);
      },
    },
    options,
  );
  const y = unit.start();
  return times.map((time_s) => {
    const stop = engine.advance(y, Math.round(time_s / plant.tick_s), { sampleTicks: 0 });
    if (stop !== 'reached') throw new Error(`the run ended with "${stop}" before ${time_s} s`);
    return {
      time_s,
      pressure_Pa: unit.gasPressure(y),
      temperature_K: unit.gasTemperature(y),
      wall_K: y[unit.slots.wall],
      oil_m3: y[unit.slots.oil],
      work_J: y[work],
      heat_J: y[heat],
    };
  });
}
