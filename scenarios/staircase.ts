/**
 * The setpoint staircase: every level and every pressure that matters, from the lowest to the highest, in the order in
 * which a well-set unit has them (common practice, no source).
 */
import type { Plant } from '../models/plant.ts';
import { leastWorkingPressure } from './findings/estimates.ts';
import type { ScenarioValues } from './scenario.ts';

export interface Rung {
  readonly path: string;
  /** "duty start" */
  readonly name: string;
  readonly tag: string | undefined;
  /** Sight-glass reading in m, or absolute pressure in Pa. */
  readonly value: number;
  /** May coincide with the rung below. */
  readonly mayTouch: boolean;
  /** The switch may be off by this much either way, in m or Pa. */
  readonly accuracy: number;
  /** Worked out, not set. */
  readonly estimate: boolean;
}

export interface Staircase {
  readonly level: readonly Rung[];
  readonly pressure: readonly Rung[];
}

type Setting = number | { readonly at: number; readonly tag?: string; readonly accuracy?: number } | undefined;

/** Whether a rung stands where it should over the one below it. */
export function inOrder(rung: Rung, below: Rung | undefined): boolean {
  return below === undefined || rung.value > below.value || (rung.mayTouch && rung.value === below.value);
}

/** The rungs that the file gives, lowest first; under the pressures what the required strokes need, without flow. */
export function staircase(v: ScenarioValues, plant: Plant): Staircase {
  const rungs = (
    list: readonly (readonly [path: string, name: string, setting: Setting, mayTouch?: boolean])[],
  ): Rung[] =>
    list.flatMap(([path, name, setting, mayTouch = false]) => {
      if (setting === undefined) return [];
      const { at: value, tag, accuracy = 0 } = typeof setting === 'number' ? { at: setting } : setting;
      return [{ path, name, tag, value, mayTouch, accuracy, estimate: false }];
    });
  const { level: l, pressure: p } = v.panel;
  const least = leastWorkingPressure(plant);
  const need: Rung[] =
    least === undefined || !(least.needs_Pa > plant.ambientPressure_Pa)
      ? []
      : [
          {
            path: `valves.${least.valve}.load`,
            name: 'valves need',
            tag: plant.valves[least.valve].tag,
            value: least.needs_Pa,
            mayTouch: false,
            accuracy: 0,
            estimate: true,
          },
        ];
  return {
    level: rungs([
      ['tank.outletLevel', 'outlet', v.tank.outletLevel - v.tank.sightGlassZero],
      ['tank.outletShutOff.level', 'outlet shut-off', v.tank.outletShutOff?.level],
      ['panel.level.lowLow', 'low-low level', l.lowLow, v.tank.outletShutOff !== undefined],
      ['panel.level.low', 'low level', l.low],
      ['panel.level.standbyStart', 'standby start', l.standbyStart, true],
      ['panel.level.dutyStart', 'duty start', l.dutyStart],
      ['panel.level.normal', 'normal level', l.normal, true],
      ['panel.level.stop', 'stop', l.stop, true],
      ['panel.level.high', 'high level', l.high],
      ['panel.level.highHigh', 'high-high level', l.highHigh],
    ]),
    pressure: [
      ...need,
      ...rungs([
        ['panel.pressure.lowLow', 'low-low pressure', p.lowLow],
        ['panel.pressure.low', 'low pressure', p.low],
        ['panel.pressure.standbyCutIn', 'standby cut-in', p.standbyCutIn, true],
        ['panel.pressure.cutIn', 'cut-in', p.cutIn],
        ['panel.pressure.cutOut', 'cut-out', p.cutOut],
        ['panel.pressure.high', 'high pressure', p.high],
        ['panel.pressure.highHigh', 'high-high pressure', p.highHigh],
        ['safetyValve.reseat', 'safety valve reseat', v.safetyValve?.reseat],
        [
          'safetyValve.set',
          'safety valve set',
          v.safetyValve === undefined ? undefined : { at: v.safetyValve.set, tag: v.safetyValve.tag },
        ],
        ['tank.designPressure', 'vessel design', v.tank.designPressure, true],
      ]),
    ],
  };
}
