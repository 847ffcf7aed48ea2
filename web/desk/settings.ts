/** The numbers of a scenario that the page lets people move: setpoints, the start, the outage, delays. */
import type { Node } from 'yaml';
import type { Dimension } from '../../models/parameters.ts';
import type { Plant } from '../../models/plant.ts';
import type { ScenarioValues } from '../../scenarios/scenario.ts';
import { dimensionAt, scalarAt, valueAt } from '../../scenarios/setpoints.ts';
import { staircase } from '../../scenarios/staircase.ts';
import { columnUnit, readQuantity, type UnitSystem, type WrittenUnit } from '../../scenarios/units.ts';
import type { Setting, SettingGroup } from './protocol.ts';

const PSI = 6894.757293168;
/** Steps of the sliders, SI: where the unit is US customary, and metric (choice: as finely as a switch is set). */
const STEPS: Partial<Readonly<Record<Dimension, readonly [us: number, metric: number]>>> = {
  pressure: [PSI, 5_000],
  length: [0.0254 / 4, 0.005],
  volume: [0.003785411784, 0.005],
  time: [0.1, 0.1],
};
const US_UNIT = /^(psi|in|ft|gal|'|")/;

/** A setting before its unit and ends are known. */
interface Plain {
  readonly path: string;
  readonly group: SettingGroup;
  readonly name: string;
  readonly tag?: string | undefined;
}

/**
 * Units in which the settings of a file are shown: as written there, or the usual one. Found once for a text, because it
 * takes a walk through all of it.
 */
export type SettingUnits = (path: string, dimension: Dimension, units: UnitSystem, ambient_Pa: number) => WrittenUnit;
export function settingUnits(contents: Node | null = null): SettingUnits {
  const found = new Map<string, WrittenUnit>();
  return (path, dimension, units, ambient_Pa) => {
    const key = `${path} ${units} ${ambient_Pa}`;
    const known = found.get(key) ?? unitOf(scalarAt(contents, path)?.text, dimension, units, ambient_Pa);
    found.set(key, known);
    return known;
  };
}

/** The settings of a scenario, in the order in which they are shown: of a staircase the highest first. */
export function settingsOf(
  values: ScenarioValues,
  inFile: ScenarioValues | undefined,
  plant: Plant,
  units: UnitSystem,
  unitAt: SettingUnits,
): Setting[] {
  const stairs = staircase(values, plant);
  const rungs = (list: typeof stairs.level, group: SettingGroup): Plain[] =>
    list
      .filter((r) => r.path.startsWith('panel.') || r.path.startsWith('safetyValve.'))
      .map((r) => ({ path: r.path, group, name: r.name, tag: r.tag }))
      .reverse();
  const sump = (['high', 'low'] as const).map((key): Plain => {
    const contact = values.panel.sump[key];
    return {
      path: `panel.sump.${key}`,
      group: 'Sump level',
      name: `${key} sump level`,
      tag: typeof contact === 'object' ? contact.tag : undefined,
    };
  });
  const plain: Plain[] = [
    ...rungs(stairs.level, 'Level'),
    ...rungs(stairs.pressure, 'Pressure'),
    ...sump,
    { path: 'start.pressure', group: 'Start and outage', name: 'pressure at the start' },
    { path: 'start.level', group: 'Start and outage', name: 'level at the start' },
    { path: 'start.oil', group: 'Start and outage', name: 'oil at the start' },
    { path: 'power.lostAt', group: 'Start and outage', name: 'mains lost at' },
    { path: 'power.backAt', group: 'Start and outage', name: 'mains back at' },
    { path: 'power.controlPowerHeld', group: 'Start and outage', name: 'control power outlasts the mains by' },
    { path: 'power.undervoltageDelay', group: 'Delays', name: 'delay of the undervoltage relay' },
    ...values.valves.map(
      (v): Plain => ({ path: `valves.${v.tag}.trip.delay`, group: 'Delays', name: 'delay of the trip', tag: v.tag }),
    ),
    ...[...values.pumps.map((m) => ['pumps', m.tag]), ...values.compressors.map((m) => ['compressors', m.tag])].map(
      ([list, tag]): Plain => ({
        path: `${list}.${tag}.restartDelay`,
        group: 'Delays',
        name: 'wait before a restart',
        tag,
      }),
    ),
  ];
  const settings = plain.flatMap((p): Setting[] => {
    const dimension = dimensionAt(p.path);
    const value = valueAt(values, p.path);
    if (dimension === undefined || value === undefined) return [];
    const unit = unitAt(p.path, dimension, units, plant.ambientPressure_Pa);
    const numberOf = (si: number) => rounded((si - unit.offset) / unit.factor);
    const file = inFile === undefined ? undefined : valueAt(inFile, p.path);
    const step = stepOf(dimension, unit);
    return [
      {
        ...p,
        tag: p.tag,
        dimension,
        unit,
        value: numberOf(value),
        inFile: file === undefined ? undefined : numberOf(file),
        from: 0,
        to: 0,
        step,
      },
    ];
  });
  return settings.map((s) => ({ ...s, ...ends(s, settings, plant) }));
}

const rounded = (x: number): number => Number(x.toFixed(9));

function unitOf(text: string | undefined, dimension: Dimension, units: UnitSystem, ambient_Pa: number): WrittenUnit {
  const read = text === undefined ? undefined : readQuantity(text, dimension, ambient_Pa);
  if (read !== undefined && 'unit' in read) return read.unit;
  const usual = readQuantity(`1 ${columnUnit(dimension, units).name}`, dimension, ambient_Pa);
  return 'unit' in usual ? usual.unit : { name: '', factor: 1, offset: 0 };
}

function stepOf(dimension: Dimension, unit: WrittenUnit): number {
  const usual = STEPS[dimension]?.[US_UNIT.test(unit.name) ? 0 : 1] ?? unit.factor;
  if (dimension === 'time') return unit.factor >= 60 ? 0.1 : Math.max(usual / unit.factor, 0.1);
  return rounded(Number((usual / unit.factor).toPrecision(6)));
}

/**
 * Ends of the sliders. All those of a staircase share theirs, so that the knobs, one under the other, stand as the steps do.
 * They come from the file and the vessel, and not from what is being moved: a slider whose scale moves cannot be dragged.
 */
function ends(s: Setting, all: readonly Setting[], plant: Plant): { from: number; to: number } {
  const { unit, step } = s;
  const numberOf = (si: number) => (si - unit.offset) / unit.factor;
  const down = (x: number) => rounded(Math.floor(x / step + 1e-9) * step);
  const up = (x: number) => rounded(Math.ceil(x / step - 1e-9) * step);
  const si = (x: Setting) => (x.inFile ?? x.value) * x.unit.factor + x.unit.offset;
  const group = all.filter((x) => x.group === s.group && x.dimension === s.dimension).map(si);
  const { tank, sump, ambientPressure_Pa: ambient } = plant;
  switch (s.group) {
    case 'Level':
      return { from: down(numberOf(0)), to: up(numberOf(tank.vessel.height_m - tank.sightGlassZero_m)) };
    case 'Sump level':
      return { from: 0, to: up(numberOf(sump.depth_m)) };
    case 'Pressure': {
      const [least, most] = [Math.min(...group), Math.max(...group)];
      const room = Math.max(0.1 * (most - least), 0.1 * (most - ambient));
      return { from: Math.max(0, down(numberOf(Math.max(ambient, least - room)))), to: up(numberOf(most + room)) };
    }
    default:
  }
  const file = si(s);
  if (s.path === 'start.level')
    return { from: down(numberOf(0)), to: up(numberOf(tank.vessel.height_m - tank.sightGlassZero_m)) };
  if (s.dimension === 'volume') return { from: 0, to: down(numberOf(tank.volume_m3)) };
  if (s.dimension === 'pressure')
    return {
      from: down(numberOf(ambient + 0.4 * (file - ambient))),
      to: up(numberOf(ambient + 1.4 * (file - ambient))),
    };
  const longest = Math.max(...all.filter((x) => x.group === s.group && x.group === 'Delays').map(si), file);
  return { from: 0, to: up(Math.max(numberOf(2 * longest), 10 * step)) };
}
