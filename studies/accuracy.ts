/**
 * How far readings may lie from their prediction because gauge, sight glass and switches are only so accurate. Each is pushed
 * to both of its ends, one at a time, and the run is repeated; what that does to a reading is combined by root-sum-square,
 * with the accuracy of the instrument it is read on. The worst corner has all of them at once at the end that pushes the
 * reading furthest, each by the sign it showed alone. Source: law of propagation for uncorrelated inputs, JCGM 100:2008, 5.1.2
 * (from memory), with whole accuracies in place of standard uncertainties; the corner is what interval arithmetic would say
 * were every effect monotonic.
 *
 * The error of the gauge at the start and its error at a reading count as independent of each other.
 */
import type { Plant } from '../models/plant.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import type { UnitSystem } from '../scenarios/units.ts';

/**
 * Accuracies where the file states none (choice), round in the units of the sheet: of a switch 1/4 in or 6 mm, 1 psi or 0.07
 * bar; of a glass 1/8 in or 3 mm; of a gauge 1/2 psi or 0.03 bar.
 */
export const UNSTATED = {
  us: { levelSwitch_m: 0.00635, pressureSwitch_Pa: 6894.757, glass_m: 0.003175, gauge_Pa: 3447.379 },
  si: { levelSwitch_m: 0.006, pressureSwitch_Pa: 7000, glass_m: 0.003, gauge_Pa: 3000 },
} as const;
/** How well a stroke is timed by hand, s (choice). */
export const STOPWATCH_s = 0.5;

/** Something that may be off either way. */
export interface Source {
  readonly name: string;
  readonly measured: 'level' | 'pressure';
  /** m or Pa. */
  readonly accuracy: number;
  /** Whether the file says so; else it is one of {@link UNSTATED}. */
  readonly stated: boolean;
  /** The plant with all of it in one direction: it truly acts, or the start truly was, so much higher or lower. */
  readonly push: (plant: Plant, sign: 1 | -1) => Plant;
}

export type SwitchSetting = {
  readonly tag?: string;
  readonly at: number;
  readonly deadband?: number;
  readonly accuracy: number;
};

/** A switch setting of the file, by its role ("pressure.cutOut"); undefined where it gives none. */
export function settingOf(values: ScenarioValues, role: string): SwitchSetting | undefined {
  const [measured = '', key = ''] = role.split('.');
  const given = (values.panel as unknown as Record<string, Record<string, number | SwitchSetting | undefined>>)[
    measured
  ]?.[key];
  return typeof given === 'number' ? { at: given, accuracy: 0 } : given;
}

/** Accuracy of a switch, and whether the file states it. */
export function switchAccuracy(
  values: ScenarioValues,
  role: string,
  units: UnitSystem,
): { readonly value: number; readonly stated: boolean } {
  const given = settingOf(values, role)?.accuracy ?? 0;
  const unstated = role.startsWith('pressure') ? UNSTATED[units].pressureSwitch_Pa : UNSTATED[units].levelSwitch_m;
  return given > 0 ? { value: given, stated: true } : { value: unstated, stated: false };
}

export const gaugeAccuracy = (values: ScenarioValues, units: UnitSystem): number =>
  values.start.gaugeAccuracy || UNSTATED[units].gauge_Pa;
export const glassAccuracy = (values: ScenarioValues, units: UnitSystem): number =>
  values.start.levelAccuracy || UNSTATED[units].glass_m;

/** Gauge and sight glass, as they were read at the start. */
export function readingSources(values: ScenarioValues, units: UnitSystem): Source[] {
  return [
    {
      name: 'gauge',
      measured: 'pressure',
      accuracy: gaugeAccuracy(values, units),
      stated: values.start.gaugeAccuracy > 0,
      push: (p, sign) => ({
        ...p,
        start: { ...p.start, gasPressure_Pa: p.start.gasPressure_Pa + sign * gaugeAccuracy(values, units) },
      }),
    },
    {
      name: 'sight glass',
      measured: 'level',
      accuracy: glassAccuracy(values, units),
      stated: values.start.levelAccuracy > 0,
      push: (p, sign) => {
        const { vessel } = p.tank;
        const level = vessel.levelAt(p.start.oilVolume_m3) + sign * glassAccuracy(values, units);
        return { ...p, start: { ...p.start, oilVolume_m3: vessel.volumeAt(Math.max(0, level)) } };
      },
    },
  ];
}

/** Whether a contact resets where another setting acts: at the stop, or at the cut-out. */
export function resetsElsewhere(
  plant: Plant,
  values: ScenarioValues,
  role: string,
): 'level.stop' | 'pressure.cutOut' | undefined {
  if (role === 'level.dutyStart' || role === 'level.standbyStart')
    return plant.panel.wideDeadband && values.panel.level.stop !== undefined ? 'level.stop' : undefined;
  if (role === 'pressure.cutIn' || role === 'pressure.standbyCutIn')
    return values.panel.pressure.cutOut === undefined ? undefined : 'pressure.cutOut';
  return undefined;
}

/** Every switch of tank level and pressure; a reset that belongs to another setting moves with that one. */
export function switchSources(values: ScenarioValues, plant: Plant, units: UnitSystem): Source[] {
  const roles = plant.panel.contacts.filter((c) => c.measured !== 'sump').map((c) => c.role as string);
  if (values.panel.pressure.cutOut !== undefined) roles.push('pressure.cutOut');
  return roles.map((role): Source => {
    const { value, stated } = switchAccuracy(values, role, units);
    const setting = settingOf(values, role);
    const tag = setting?.tag ?? plant.panel.contacts.find((c) => c.role === role)?.tag ?? 'cut-out';
    return {
      name: tag,
      measured: role.startsWith('level') ? 'level' : 'pressure',
      accuracy: value,
      stated,
      push: (p, sign) => ({
        ...p,
        panel: {
          ...p.panel,
          contacts: p.panel.contacts.map((c) => {
            const far = resetsElsewhere(p, values, c.role);
            const acts = c.role === role;
            const resets = far === undefined ? acts : far === role;
            return {
              ...c,
              trip: c.trip + (acts ? sign * value : 0),
              reset: c.reset + (resets ? sign * value : 0),
            };
          }),
        },
      }),
    };
  });
}

/** How far a reading may lie from its prediction. */
export interface Band {
  readonly low: number;
  readonly high: number;
  /** All at once at their worst; undefined where that was not run. */
  readonly corner: { readonly low: number; readonly high: number } | undefined;
  /** Sources that, pushed one way, keep the programme from coming to this reading; the band is without them. */
  readonly unless: readonly string[];
}

/** Share of a vessel that oil may fill for there to be air. */
const FULL = 0.9999;

/** Whether there can be such a plant: air in the tank, and every switch resetting on its right side. */
function isPossible({ tank, start, panel }: Plant): boolean {
  const { height_m } = tank.vessel;
  return (
    start.gasPressure_Pa > 0 &&
    start.oilVolume_m3 < FULL * tank.volume_m3 &&
    panel.contacts.every(
      (c) =>
        (c.low ? c.reset > c.trip : c.reset < c.trip) &&
        (c.measured !== 'level' || (c.trip > 0 && c.trip < height_m)) &&
        (c.measured !== 'pressure' || c.trip > 0),
    )
  );
}

/** Most corners that are run for one programme (choice). */
const MOST_CORNERS = 24;

/**
 * Bands of the readings of one programme.
 *
 * @param run readings, NaN where it does not come to one, with the plant as given
 * @param own accuracy of the instrument of each reading
 */
export function bandsOf(
  plant: Plant,
  sources: readonly Source[],
  run: (plant: Plant) => readonly number[],
  own: readonly number[],
): { readonly nominal: readonly number[]; readonly bands: readonly Band[] } {
  const nominal = run(plant);
  const none = nominal.map(() => Number.NaN);
  // An accuracy that reaches as far as no air leaves nothing to be run.
  const runOf = (pushed: Plant) => (isPossible(pushed) || pushed === plant ? run(pushed) : none);
  const ends = sources.map((s) => [runOf(s.push(plant, -1)), runOf(s.push(plant, 1))] as const);
  const patterns = new Map<string, readonly number[]>();
  const cornerRun = (signs: readonly (1 | -1 | 0)[]): readonly number[] | undefined => {
    const key = signs.join();
    const known = patterns.get(key);
    if (known !== undefined) return known;
    if (patterns.size >= MOST_CORNERS) return undefined;
    const pushed = sources.reduce((p, s, k) => (signs[k] === 0 ? p : s.push(p, signs[k] as 1 | -1)), plant);
    const readings = runOf(pushed);
    patterns.set(key, readings);
    return readings;
  };
  const bands = nominal.map((value, i): Band => {
    let down = own[i] ** 2;
    let up = own[i] ** 2;
    const unless: string[] = [];
    const upward: (1 | -1 | 0)[] = [];
    const downward: (1 | -1 | 0)[] = [];
    ends.forEach(([minus, plus], k) => {
      const moves = [minus[i] - value, plus[i] - value];
      if (moves.some(Number.isNaN)) unless.push(sources[k].name);
      const [a, b] = moves.map((m) => (Number.isNaN(m) ? 0 : m));
      const most = Math.max(0, a, b);
      const least = Math.min(0, a, b);
      up += most ** 2;
      down += least ** 2;
      upward.push(most === 0 ? 0 : most === b ? 1 : -1);
      downward.push(least === 0 ? 0 : least === b ? 1 : -1);
    });
    const high = cornerRun(upward)?.[i];
    const low = cornerRun(downward)?.[i];
    const corner =
      high === undefined || low === undefined || Number.isNaN(high) || Number.isNaN(low)
        ? undefined
        : { low: Math.min(low, value) - own[i], high: Math.max(high, value) + own[i] };
    return { low: value - Math.sqrt(down), high: value + Math.sqrt(up), corner, unless };
  });
  return { nominal, bands };
}
