/** What the tank would give by right and by the shortcut with gauge pressures, from the file and after a run. */
import { GAMMA, gaugeShortcutOil, usableOil } from '../../models/air.ts';
import { EventCode } from '../../models/events.ts';
import type { RunRecord } from '../run.ts';
import { leastWorkingPressure, oilOf, requiredSet } from './estimates.ts';
import { atOf, type Look } from './look.ts';

/** Oil given between two pressures by gauge arithmetic, isothermally and adiabatically. */
function oils({ plant, volume }: Look, air_m3: number, from_Pa: number, to_Pa: number) {
  const shortcut = gaugeShortcutOil(air_m3, from_Pa, to_Pa, plant.ambientPressure_Pa);
  const isothermal = usableOil(air_m3, from_Pa, to_Pa, 1);
  const adiabatic = usableOil(air_m3, from_Pa, to_Pa, GAMMA);
  return {
    text: `gauge pressures would promise ${volume(shortcut)} of oil, a slow discharge gives ${volume(isothermal)}, a fast one ${volume(adiabatic)}`,
    numbers: {
      from_Pa,
      to_Pa,
      air_m3,
      shortcut_m3: shortcut,
      isothermal_m3: isothermal,
      adiabatic_m3: adiabatic,
    },
  };
}

/** From the start down to what the valves need at least, or to the lowest pressure contact. */
export function findUsableOil(look: Look): void {
  const { values: v, plant, add, pressure, volume } = look;
  const least = leastWorkingPressure(plant);
  const contact = atOf(v.panel.pressure.lowLow ?? v.panel.pressure.low);
  const to = least?.needs_Pa ?? contact;
  const from = plant.start.gasPressure_Pa;
  if (to === undefined || !(to < from) || !(to > plant.ambientPressure_Pa)) return;
  const why = least === undefined ? 'the lowest contact' : `what ${plant.valves[least.valve].tag} needs to move`;
  const { text, numbers } = oils(look, plant.tank.volume_m3 - plant.start.oilVolume_m3, from, to);
  const required = oilOf(requiredSet(plant));
  const takes = required > 0 ? `; the required set takes ${volume(required)}` : '';
  add(
    'usable oil',
    `between the start (${pressure(from)}) and ${why} (${pressure(to)}) ${text}${takes}`,
    { ...numbers, required_m3: required },
    [],
  );
}

/** What the tank really gave from the loss of the mains to the end of the required set. */
export function findUsedOil(look: Look, run: RunRecord): void {
  const { plant, add, pressure, volume } = look;
  const { unit, afterSet } = run;
  const lost = run.events.findLast(
    (e) =>
      e.code === EventCode.mainsLost &&
      (afterSet === undefined || e.time_s <= afterSet[unit.layout.clock.tick] * plant.tick_s),
  );
  if (lost === undefined || afterSet === undefined) return;
  const to = unit.gasPressure(afterSet);
  const given = lost.oil_m3 - afterSet[unit.slots.oil];
  if (!(to < lost.pressure_Pa) || !(to > plant.ambientPressure_Pa) || !(given > 0)) return;
  const { text, numbers } = oils(look, plant.tank.volume_m3 - lost.oil_m3, lost.pressure_Pa, to);
  add(
    'usable oil in the run',
    `from the loss of the mains (${pressure(lost.pressure_Pa)}) to the end of the required set (${pressure(to)}) the tank gave ${volume(given)}; between these pressures ${text}`,
    { ...numbers, given_m3: given },
    [],
  );
}
