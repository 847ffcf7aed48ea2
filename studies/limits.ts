/**
 * What bounds a setting beside the margin of the strokes: the staircase, overcharge, oil and sump, times of refill and
 * recharge, starts an hour. All in closed form, so that a search can ask thousands of times; a run is not needed.
 */
import { R_AIR } from '../models/air.ts';
import type { Contact } from '../models/contact.ts';
import { Selector } from '../models/motor.ts';
import type { Dimension } from '../models/parameters.ts';
import type { MotorPlant, Plant } from '../models/plant.ts';
import { ambientRange, mostCallsPerHour, oilOf, rechargeTime, requiredSet } from '../scenarios/findings/estimates.ts';
import { delivery } from '../scenarios/findings/motors.ts';
import type { ScenarioValues } from '../scenarios/scenario.ts';
import { valueAt } from '../scenarios/setpoints.ts';
import { type Rung, staircase } from '../scenarios/staircase.ts';
import type { Tuning } from '../scenarios/tuning.ts';

/** Starts an hour of a machine where neither its motor nor the section says (choice). */
export const USUAL_STARTS = 6;

export type LimitKind =
  | 'staircase'
  | 'overcharge'
  | 'oil above the outlet'
  | 'oil left in the sump'
  | 'refill time'
  | 'recharge time'
  | 'pump starts'
  | 'compressor starts';

/** One limit at one setting. */
export interface Limit {
  readonly kind: LimitKind;
  /** What is compared, for instance "stop above normal level". */
  readonly about: string;
  readonly dimension: Dimension | 'per hour';
  readonly value: number;
  readonly limit: number;
  /** Whether the value has to stay under the limit, or over it. */
  readonly keep: 'at most' | 'at least';
  /** By how much it is broken, in increments of practice; 0 where it is kept. */
  readonly short: number;
}

/** A value of a setting, SI, by the rung of the staircase ("panel.level.stop"); undefined where there is none. */
export type SettingAt = (rung: string) => number | undefined;

export interface Limits {
  all(at: SettingAt): Limit[];
  /** Most starts an hour of each machine whatever is drawn; undefined where there is nothing to start or no band. */
  starts(at: SettingAt): { readonly pump: number | undefined; readonly compressor: number | undefined };
  refillTime(at: SettingAt): number | undefined;
  rechargeTime(at: SettingAt): number | undefined;
}

/** Starts an hour without any band between start and stop. */
const ENDLESS = 3_600;

/** Rounding of sums of decimal settings. */
const HAIR = 1e-9;

function compared(of: Omit<Limit, 'short'>, increment: number): Limit {
  const over = of.keep === 'at most' ? of.value - of.limit : of.limit - of.value;
  const scale = Math.max(Math.abs(of.limit), Math.abs(of.value), 1e-6);
  return { ...of, short: over > HAIR * scale ? over / increment : 0 };
}

const LENGTH_m = 0.01;
const PRESSURE_Pa = 5_000;

/** The limits of a unit. `moving` are the rungs that may move: pairs of others are left as they are. */
export function createLimits(
  values: ScenarioValues,
  plant: Plant,
  tuning: Tuning,
  moving: ReadonlySet<string>,
): Limits {
  const { tank, pumps, compressors, ambientPressure_Pa: ambient, ambientTemperature_K: temperature } = plant;
  const zero = tank.sightGlassZero_m;
  const oilAt = (glass_m: number) => tank.vessel.volumeAt(Math.min(tank.vessel.height_m, Math.max(0, glass_m + zero)));
  const airAt = (glass_m: number) => tank.volume_m3 - oilAt(glass_m);
  const airOfStart = tank.volume_m3 - plant.start.oilVolume_m3;
  const accuracyOf = (rung: string) => valueAt(values, `${rung}.accuracy`) ?? 0;
  const need_m3 = oilOf(requiredSet(plant));
  const { coolest_K, warmest_K } = ambientRange(plant.ambient);
  const stairs = staircase(values, plant);
  const pairs: { low: Rung; high: Rung; apart: number; dimension: Dimension; increment: number }[] = [];
  for (const [rungs, dimension, increment] of [
    [stairs.level, 'length', LENGTH_m],
    [stairs.pressure.filter((r) => !r.estimate), 'pressureDifference', PRESSURE_Pa],
  ] as const) {
    for (let k = 1; k < rungs.length; k++) {
      const [low, high] = [rungs[k - 1], rungs[k]];
      if (!moving.has(low.path) && !moving.has(high.path)) continue;
      pairs.push({ low, high, apart: apartOf(low, high), dimension, increment });
    }
  }

  /** Accuracies of both, and the way on which the lower or upper one resets before its neighbour acts. */
  function apartOf(low: Rung, high: Rung): number {
    const accuracies = low.accuracy + high.accuracy;
    const below = contactOf(low);
    const above = contactOf(high);
    return Math.max(
      accuracies,
      below?.low && !resetsElsewhere(below) ? Math.abs(below.reset - below.trip) : 0,
      above !== undefined && !above.low ? Math.abs(above.reset - above.trip) : 0,
    );
  }

  function contactOf(rung: Rung): Contact | undefined {
    return plant.panel.contacts.find((c) => `panel.${c.role}` === rung.path);
  }

  /** Start contacts of wide deadband reset at the stop, cut-in contacts at the cut-out. */
  function resetsElsewhere({ role }: Contact): boolean {
    if (role === 'pressure.cutIn' || role === 'pressure.standbyCutIn')
      return values.panel.pressure.cutOut !== undefined;
    return plant.panel.wideDeadband && (role === 'level.dutyStart' || role === 'level.standbyStart');
  }

  const highLimit = (() => {
    const { high } = values.panel.pressure;
    const candidates: readonly (readonly [string, string, number | undefined])[] = [
      ['high pressure', 'panel.pressure.high', high === undefined ? undefined : valueAt(values, 'panel.pressure.high')],
      ['the reseat of the safety valve', 'safetyValve.reseat', values.safetyValve?.reseat],
      ['the design pressure of the vessel', 'tank.designPressure', values.tank.designPressure],
    ];
    return candidates.find(([, , value]) => value !== undefined);
  })();

  function overcharge(at: SettingAt): Limit[] {
    const cutOut = at('panel.pressure.cutOut');
    const start = at('panel.level.dutyStart');
    const stop = at('panel.level.stop');
    if (compressors.length === 0 || highLimit === undefined || cutOut === undefined) return [];
    const [name, rung, given] = highLimit;
    const top = at(rung) ?? given;
    if (top === undefined) return [];
    const filled =
      start === undefined || stop === undefined || pumps.length === 0
        ? 1
        : airAt(start - accuracyOf('panel.level.dutyStart')) / airAt(stop + accuracyOf('panel.level.stop'));
    const charged = cutOut + accuracyOf('panel.pressure.cutOut');
    return [
      compared(
        {
          kind: 'overcharge',
          about: name,
          dimension: 'pressure',
          value: charged * Math.max(1, filled) ** 1.4 * (warmest_K / coolest_K),
          limit: top - accuracyOf(rung),
          keep: 'at most',
        },
        PRESSURE_Pa,
      ),
    ];
  }

  function oil(at: SettingAt): Limit[] {
    const out: Limit[] = [];
    const start = at('panel.level.dutyStart');
    const stop = at('panel.level.stop');
    if (start !== undefined && need_m3 > 0) {
      const bottom = Math.max(tank.outletVolume_m3, tank.outletShutOff?.shut_m3 ?? 0);
      out.push(
        compared(
          {
            kind: 'oil above the outlet',
            about: 'at the duty start, for the required set',
            dimension: 'volume',
            value: oilAt(start - accuracyOf('panel.level.dutyStart')) - bottom,
            limit: need_m3,
            keep: 'at least',
          },
          0.001,
        ),
      );
    }
    if (stop !== undefined && pumps.length > 0) {
      out.push(
        compared(
          {
            kind: 'oil left in the sump',
            about: 'with the tank full to the stop',
            dimension: 'volume',
            value: plant.start.sumpVolume_m3 + plant.start.oilVolume_m3 - oilAt(stop + accuracyOf('panel.level.stop')),
            limit: plant.sump.suction_m3,
            keep: 'at least',
          },
          0.001,
        ),
      );
    }
    return out;
  }

  const middle = (at: SettingAt) => {
    const cutIn = at('panel.pressure.cutIn');
    const cutOut = at('panel.pressure.cutOut');
    return cutIn === undefined || cutOut === undefined ? plant.start.gasPressure_Pa : (cutIn + cutOut) / 2;
  };

  function refillTime(at: SettingAt): number | undefined {
    const start = at('panel.level.dutyStart');
    const stop = at('panel.level.stop');
    if (pumps.length === 0 || start === undefined || stop === undefined) return undefined;
    const lowest = Math.max(tank.outletVolume_m3, oilAt(start) - need_m3);
    const { flow } = delivery(plant, 0, at('panel.pressure.cutOut') ?? plant.start.gasPressure_Pa);
    return flow > 0 ? Math.max(0, oilAt(stop) - lowest) / flow : Infinity;
  }

  function recharge(at: SettingAt): number | undefined {
    const cutIn = at('panel.pressure.cutIn');
    const cutOut = at('panel.pressure.cutOut');
    if (compressors.length === 0 || cutIn === undefined || cutOut === undefined || !(cutOut > cutIn)) return undefined;
    const normal = at('panel.level.normal');
    return rechargeTime(
      compressors.slice(0, 1),
      normal === undefined ? airOfStart : airAt(normal),
      cutIn,
      cutOut,
      ambient,
    );
  }

  const inAuto = (motors: readonly MotorPlant[]) => motors.flatMap((m, k) => (m.selector === Selector.auto ? [k] : []));
  /** With each call the next one takes its turn; by hours or fixed one machine has them all. */
  const shared = (count: number) => (values.panel.alternation === 'each call' ? count : 1);

  function starts(at: SettingAt) {
    const rate = (motors: readonly MotorPlant[], first: number, store: number): number | undefined => {
      const auto = inAuto(motors);
      if (auto.length === 0) return undefined;
      // Start and stop in one place, or crossed: no end of starts.
      if (!(store > 0)) return ENDLESS;
      const fill = Math.max(...auto.map((k) => delivery(plant, first + k, middle(at)).flow));
      return mostCallsPerHour(store, fill) / shared(auto.length);
    };
    const start = at('panel.level.dutyStart');
    const stop = at('panel.level.stop');
    const cutIn = at('panel.pressure.cutIn');
    const cutOut = at('panel.pressure.cutOut');
    const normal = at('panel.level.normal');
    const air = normal === undefined ? airOfStart : airAt(normal);
    return {
      pump: start === undefined || stop === undefined ? undefined : rate(pumps, 0, oilAt(stop) - oilAt(start)),
      compressor:
        cutIn === undefined || cutOut === undefined
          ? undefined
          : rate(compressors, pumps.length, (air * (cutOut - cutIn)) / (R_AIR * temperature)),
    };
  }

  const allowed = (motors: readonly MotorPlant[]): number => {
    const given = inAuto(motors).flatMap((k) => motors[k].allowedStarts ?? []);
    const least = Math.min(...given, tuning.mostStarts ?? Infinity);
    return Number.isFinite(least) ? least : USUAL_STARTS;
  };
  const allowedPump = allowed(pumps);
  const allowedCompressor = allowed(compressors);

  function all(at: SettingAt): Limit[] {
    const limits: Limit[] = [];
    for (const { low, high, apart, dimension, increment } of pairs) {
      const gap = (at(high.path) ?? high.value) - (at(low.path) ?? low.value);
      limits.push(
        compared(
          {
            kind: 'staircase',
            about: `${high.name} above ${low.name}`,
            dimension,
            value: gap,
            // Even without any accuracy they must not change places.
            limit: apart > 0 || high.mayTouch ? apart : increment / 100,
            keep: 'at least',
          },
          increment,
        ),
      );
    }
    limits.push(...overcharge(at), ...oil(at));
    const longest = values.panel.longestRun;
    for (const [kind, takes, limit] of [
      ['refill time', refillTime(at), tuning.longestRefill_s ?? longest],
      ['recharge time', recharge(at), tuning.longestRecharge_s ?? longest ?? Number.MAX_VALUE],
    ] as const) {
      if (takes === undefined || limit === undefined) continue;
      const about = kind === 'refill time' ? 'with one pump' : 'with one compressor';
      limits.push(
        compared({ kind, about, dimension: 'time', value: takes, limit, keep: 'at most' }, Math.max(1, limit / 100)),
      );
    }
    const { pump, compressor } = starts(at);
    for (const [kind, value, limit] of [
      ['pump starts', pump, allowedPump],
      ['compressor starts', compressor, allowedCompressor],
    ] as const) {
      if (value === undefined) continue;
      limits.push(
        compared(
          { kind, about: 'of each machine, whatever is drawn', dimension: 'per hour', value, limit, keep: 'at most' },
          limit / 50,
        ),
      );
    }
    return limits;
  }

  return { all, starts, refillTime, rechargeTime: recharge };
}
