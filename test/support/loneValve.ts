/**
 * One or more valves on a bare tank: an invented unit without machines, header, return main or heat exchange, so that a
 * stroke has a solution by quadrature. 0.6 m3 of vessel with 0.25 m3 of oil; air adiabatic; mains lost at 0 s.
 */
import { createUnit, type Unit } from '../../models/unit.ts';
import { formatFaults, loadScenario, type Result, replay, type Scenario } from '../../scenarios/index.ts';

export type Given = Readonly<Record<string, unknown>>;

export const AIR_m3 = 0.35;
export const AMBIENT_Pa = 1e5;

export interface Lone {
  readonly scenario: Scenario;
  readonly unit: Unit;
  result(): Result;
}

const valveDefaults = {
  bore: '160 mm',
  rod: '50 mm',
  stroke: '250 mm',
  load: { opening: '2 kN', closing: '2 kN' },
  supplyLine: { quadratic: '3e11 Pa s^2/m^6' },
  returnLine: { quadratic: '2e11 Pa s^2/m^6' },
  position: '100 %',
  onTrip: 'closes',
};

/** Text of the unit with one valve or several; `more` changes the rest of the file, `gauge` the pressure at the start. */
export function loneText(valves: Given | readonly Given[], more: Given & { readonly gauge?: string } = {}): string {
  const { gauge, ...rest } = more;
  const list = (Array.isArray(valves) ? valves : [valves]) as readonly Given[];
  // JSON is YAML.
  return JSON.stringify(
    {
      site: { barometer: '1 bara', temperature: '20 degC' },
      oil: { grade: 46, temperature: '20 degC' },
      tank: { volume: '0.6 m^3', dissolvedAir: { model: 'none' }, heat: { exchange: 'adiabatic' } },
      sump: { capacity: '2 m^3', depth: '1 m' },
      valves: list.map((v, i) => ({ tag: `V-${i + 1}`, ...valveDefaults, ...v })),
      power: { lostAt: '0 s' },
      run: { duration: '120 s' },
      start: { pressure: `${gauge ?? '10 bar'}g`, oil: '0.25 m^3' },
      ...rest,
    },
    undefined,
    1,
  );
}

export function loneValve(valves: Given | readonly Given[], more: Given & { readonly gauge?: string } = {}): Lone {
  const loaded = loadScenario(loneText(valves, more), { file: 'lone' });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  const { scenario } = loaded;
  return { scenario, unit: createUnit(scenario.plant), result: () => replay(scenario, { units: 'si' }).result };
}

/** Messages with which the unit is refused. */
export function refusals(valves: Given | readonly Given[], more: Given = {}): string[] {
  return loadScenario(loneText(valves, more), { file: 'lone' }).faults.map((f) => `${f.path}: ${f.message}`);
}

/** Gauge pressure, Pa, of the air after `drawn` m3 of oil have left, from 10 bar. */
export const gaugeAfter = (drawn_m3: number): number => 11e5 * (AIR_m3 / (AIR_m3 + drawn_m3)) ** 1.4 - AMBIENT_Pa;

/** Integral of f from a to b by Simpson's rule. */
export function integral(f: (x: number) => number, a: number, b: number, n = 4000): number {
  let sum = f(a) + f(b);
  for (let k = 1; k < n; k++) sum += (k % 2 === 1 ? 4 : 2) * f(a + ((b - a) * k) / n);
  return (sum * (b - a)) / (3 * n);
}
