/**
 * The closed list of causes that `explain` tries: one thing wrong with the unit, of a size that is fitted. Each is a fault of
 * models/fault.ts, there from the beginning, or a number of the file.
 */
import type { FaultPlant, FaultValues } from '../models/fault.ts';
import { Selector } from '../models/motor.ts';
import type { Dimension } from '../models/parameters.ts';
import type { Plant } from '../models/plant.ts';
import { buildPlant } from '../scenarios/build.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { ProgramFault } from '../sim/fault.ts';

export const CAUSE_NAMES = [
  'oil leak',
  'past a piston',
  'check valve leaks',
  'air leak',
  'pump capacity',
  'compressor capacity',
  'switch drifted',
  'heat exchange',
  'air lost',
] as const;
export type CauseName = (typeof CAUSE_NAMES)[number];

export interface Cause {
  readonly name: CauseName;
  /** Tag of the part; undefined where it is the unit. */
  readonly item: string | undefined;
  /** As it stands in a table: "P-101 check valve leaks". */
  readonly text: string;
  /** What its size measures, and how it is to be understood. */
  readonly dimension: Dimension;
  readonly sizeMeans: string;
  /** Bounds of the size, SI. */
  readonly low: number;
  readonly high: number;
  /** Sizes that are tried first. */
  readonly scan: readonly number[];
  /** The fault of the plant, and its number over its size; undefined where the cause is a number of the file. */
  readonly fault: { readonly plant: FaultPlant; readonly perSize: number } | undefined;
  /** The plant with it. */
  apply(plant: Plant, size: number): Plant;
  /** What a scenario says that has it: a fault, or values of paths. */
  written(size: number): { readonly fault: FaultValues } | { readonly values: Readonly<Record<string, string>> };
}

/** Every cause that a plant can have. `plant` is one built from `values`; `started` says that its start was read, not stated. */
export function causesOf(values: ScenarioValues, plant: Plant, started: boolean): Cause[] {
  const { pumps, compressors, panel, start, ambientPressure_Pa } = plant;
  const gauge_Pa = Math.max(1, start.gasPressure_Pa - ambientPressure_Pa);
  const causes: Cause[] = [];

  /** A fault whose number in the plant is in proportion to its size. */
  const byFault = (
    name: CauseName,
    text: string,
    item: string | undefined,
    size: Pick<Cause, 'dimension' | 'sizeMeans' | 'low' | 'high' | 'scan'>,
    fault: (size: number) => FaultValues,
  ) => {
    const [typical] = size.scan;
    const built = buildPlant(
      { ...values, faults: [...values.faults, fault(typical)] },
      (path, message) => {
        throw new ProgramFault(`a cause cannot be built: ${path}: ${message}`);
      },
      { like: plant },
    );
    const last = built?.faults.at(-1);
    if (last === undefined) throw new ProgramFault(`a cause cannot be built: ${text}`);
    causes.push({
      name,
      item,
      text,
      ...size,
      fault: { plant: last, perSize: last.value / typical },
      apply: (to, of) => ({ ...to, faults: [...to.faults, { ...last, value: (last.value * of) / typical }] }),
      written: (of) => ({ fault: fault(of) }),
    });
  };

  const inAuto = (m: { readonly selector: number }) => m.selector === Selector.auto;
  const pumped_m3_s = pumps.filter(inAuto).reduce((sum, p) => Math.max(sum, p.flow_m3_s), 0);
  const flow_m3_s = pumped_m3_s > 0 ? pumped_m3_s : plant.tank.volume_m3 / 7200;
  const flow = (sizeMeans: string) => ({
    dimension: 'volumeFlow' as const,
    sizeMeans,
    low: 0,
    high: 2 * flow_m3_s,
    scan: [0.003, 0.01, 0.03, 0.1, 0.3, 0.7].map((share) => share * flow_m3_s),
  });
  const share = (sizeMeans: string) => ({
    dimension: 'fraction' as const,
    sizeMeans,
    low: 0,
    high: 0.98,
    scan: [0.05, 0.15, 0.3, 0.5, 0.7, 0.9],
  });

  const beside = values.leaks.oil === undefined ? '' : ', beside that of the file';
  byFault('oil leak', 'oil leaks to the outside', undefined, flow(`at the pressure of the start${beside}`), (size) => ({
    fault: 'oil leak',
    at: 0,
    flow: size,
  }));
  const [piston] = plant.valves.filter((v) => v.spring === undefined);
  if (piston !== undefined) {
    // The fault is stated at 1 bar across the piston.
    const atOneBar = Math.sqrt(1e5 / gauge_Pa);
    byFault(
      'past a piston',
      'oil passes a piston',
      piston.tag,
      flow(`at the pressure of the start, ${piston.tag} standing for any valve`),
      (size) => ({ fault: 'seal bypass', item: piston.tag, at: 0, flow: size * atOneBar }),
    );
  }
  for (const p of pumps)
    byFault(
      'check valve leaks',
      `${p.tag} check valve leaks`,
      p.tag,
      flow('back at the pressure of the start'),
      (size) => ({ fault: 'check valve leaks', item: p.tag, at: 0, flow: size }),
    );
  byFault(
    'air leak',
    'air leaks',
    undefined,
    {
      dimension: 'pressureRate',
      sizeMeans: `fall at the pressure and level of the start${values.leaks.air === undefined ? '' : ', beside that of the file'}`,
      low: 0,
      high: gauge_Pa / 60,
      scan: [0.003, 0.01, 0.03, 0.1, 0.3, 1].map((part) => (part * gauge_Pa) / 3600),
    },
    (size) => ({ fault: 'air leak', at: 0, fall: size }),
  );
  for (const m of [...pumps, ...compressors].filter(inAuto))
    byFault(
      `${'flow_m3_s' in m ? 'pump' : 'compressor'} capacity`,
      `${m.tag} delivers less`,
      m.tag,
      share('of its flow lost'),
      (size) => ({
        fault: 'loses capacity',
        item: m.tag,
        at: 0,
        share: size,
      }),
    );
  for (const c of panel.contacts) {
    // The others have no say while service goes as it should; with a wide deadband the start contact stops the pump too.
    const counts = ['level.dutyStart', 'pressure.cutIn', ...(panel.wideDeadband ? [] : ['level.stop'])];
    if (!counts.includes(c.role)) continue;
    const pressure = c.measured === 'pressure';
    const other = panel.contacts.find((d) => d.role === 'level.dutyStart');
    const stop = panel.contacts.find((d) => d.role === 'level.stop');
    const band = pressure
      ? Math.abs(c.reset - c.trip)
      : Math.abs((stop?.trip ?? c.reset) - (other?.trip ?? c.trip)) || 0.05;
    byFault(
      'switch drifted',
      `${c.tag} has drifted`,
      c.tag,
      {
        dimension: pressure ? 'pressureDifference' : 'length',
        sizeMeans: 'upwards positive',
        low: -1.5 * band,
        high: 1.5 * band,
        scan: [-0.8, -0.3, -0.1, 0.1, 0.3, 0.8].map((part) => part * band),
      },
      (size) => ({
        fault: 'switch drifted',
        item: c.tag,
        at: 0,
        ...(pressure ? { byPressure: size } : { byLevel: size }),
      }),
    );
  }
  const surface = plant.tank.vessel.totalSurface_m2;
  causes.push({
    name: 'heat exchange',
    item: undefined,
    text: 'air and shell exchange heat otherwise',
    dimension: 'thermalConductance',
    sizeMeans: 'between air and shell, in place of what the file says',
    low: 0.01 * surface,
    high: 300 * surface,
    scan: [0.1, 0.5, 2, 8, 30, 120].map((h) => h * surface),
    fault: undefined,
    apply: (to, of) => ({ ...to, tank: { ...to.tank, exchange: 'conductance', exchangeValue: of } }),
    written: (of) => ({ values: { 'tank.heat.exchange': 'conductance', 'tank.heat.conductance': `${of} W/K` } }),
  });
  // Where compressors keep the pressure, or the log says what it was, the charge is no unknown.
  if (!started && !compressors.some(inAuto))
    causes.push({
      name: 'air lost',
      item: undefined,
      text: 'air was lost before',
      dimension: 'fraction',
      sizeMeans: 'of the air of the start',
      low: 0,
      high: 0.9,
      scan: [0.05, 0.1, 0.2, 0.35, 0.5, 0.7],
      fault: undefined,
      apply: (to, of) => ({ ...to, start: { ...to.start, gasPressure_Pa: start.gasPressure_Pa * (1 - of) } }),
      written: (of) => ({ values: { 'start.pressure': `${(start.gasPressure_Pa * (1 - of)) / 1000} kPaa` } }),
    });
  return causes;
}
