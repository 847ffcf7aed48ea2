/** Every single fault that a plant can have, and how one is written on the command line. */
import { FAULT_NAMES, type FaultName, type FaultValues, faultKinds } from '../models/fault.ts';
import type { Plant } from '../models/plant.ts';

/** Sizes of faults that need one, where the plant does not give them a scale (choice). */
export const FAULT_SIZES = {
  /** Of capacity lost, of a line blocked. */
  share: 0.5,
  /** Of load above specification. */
  load: 0.25,
  /** Of the filter element blocked. */
  filter: 0.8,
  /** Flow back through a check valve, over the rated flow of its pump. */
  checkLeak: 0.1,
  /** A relief valve lifts so much too early, over its set gauge pressure. */
  reliefEarly: 0.1,
  /** Past a piston at 1 bar. */
  seal_m3_s: 0.5e-3 / 60,
  /** Drift of a switch over its accuracy, and where that is not stated. */
  driftOverAccuracy: 3,
  driftLevel_m: 0.025,
  driftPressure_Pa: 30_000,
  oilLeak_m3_s: 0.5e-3 / 60,
  /** Fall of pressure in an hour by an air leak, over the gauge pressure of the start. */
  airLeak: 0.1,
  ambient_K: 20,
} as const;

/** Three figures, so that the fault as printed is the fault that was run. */
const rounded = (x: number): number => Number(x.toPrecision(3));

/**
 * Every fault of models/fault.ts on every item it fits, put in at an instant [s]. A switch drifts both ways; only floats
 * sink.
 */
export function singleFaults(plant: Plant, at_s: number): FaultValues[] {
  const { pumps, compressors, valves, panel, safetyValve, ambientPressure_Pa, start } = plant;
  const tags = (items: readonly { readonly tag: string }[]) => items.map((i) => i.tag);
  const reliefs = [...tags(pumps), ...(safetyValve === undefined ? [] : [safetyValve.tag])];
  const items: Readonly<Record<string, readonly string[]>> = {
    motor: tags([...pumps, ...compressors]),
    pump: tags(pumps),
    valve: tags(valves),
    contact: tags(panel.contacts),
    relief: reliefs,
  };
  return FAULT_NAMES.flatMap((fault): FaultValues[] => {
    const kind = faultKinds[fault].item;
    if (kind === 'none') return sized(fault, undefined).map((size) => ({ fault, at: at_s, ...size }));
    return (items[kind] ?? []).flatMap((item) =>
      sized(fault, item).map((size) => ({ fault, item, at: at_s, ...size })),
    );
  });

  function sized(fault: FaultName, item: string | undefined): Partial<FaultValues>[] {
    const pump = pumps.find((p) => p.tag === item);
    switch (fault) {
      case 'loses capacity':
      case 'line blocked':
        return [{ share: FAULT_SIZES.share }];
      case 'load above specification':
        return [{ share: FAULT_SIZES.load }];
      case 'filter blocked':
        return [{ share: FAULT_SIZES.filter }];
      case 'check valve leaks':
        return pump === undefined ? [] : [{ flow: rounded(FAULT_SIZES.checkLeak * pump.flow_m3_s) }];
      case 'relief lifts early': {
        const set = pump?.crackingPressure_Pa ?? (safetyValve?.set_Pa ?? ambientPressure_Pa) - ambientPressure_Pa;
        return [{ by: rounded(FAULT_SIZES.reliefEarly * set) }];
      }
      case 'seal bypass':
        return [{ flow: rounded(FAULT_SIZES.seal_m3_s) }];
      case 'oil leak':
        return [{ flow: rounded(FAULT_SIZES.oilLeak_m3_s) }];
      case 'air leak': {
        const gauge = start.gasPressure_Pa - ambientPressure_Pa;
        return gauge > 0 ? [{ fall: rounded((FAULT_SIZES.airLeak * gauge) / 3600) }] : [];
      }
      case 'ambient cold':
      case 'ambient hot':
        return [{ byTemperature: FAULT_SIZES.ambient_K }];
      case 'float sunk':
        return panel.contacts.find((c) => c.tag === item)?.measured === 'pressure' ? [] : [{}];
      case 'switch drifted': {
        const contact = panel.contacts.find((c) => c.tag === item);
        const pressure = contact?.measured === 'pressure';
        const typical = pressure ? FAULT_SIZES.driftPressure_Pa : FAULT_SIZES.driftLevel_m;
        const accuracy = contact?.accuracy ?? 0;
        const by = rounded(accuracy > 0 ? FAULT_SIZES.driftOverAccuracy * accuracy : typical);
        return [-by, by].map((drift) => (pressure ? { byPressure: drift } : { byLevel: drift }));
      }
      default:
        return [{}];
    }
  }
}

const UNITS = {
  at: 's',
  for: 's',
  share: '%',
  flow: 'm^3/s',
  by: 'Pa',
  fall: 'Pa/s',
  byPressure: 'Pa',
  byLevel: 'm',
  byTemperature: 'K',
} as const;

/** A fault as an override writes it, in SI: "{ fault: oil leak, at: 60 s, flow: 8.33e-6 m^3/s }". */
export function faultText(f: FaultValues): string {
  const word = (text: string) => (/^[\w-]+$/.test(text) ? text : `'${text.replaceAll("'", "''")}'`);
  const parts = [`fault: ${f.fault}`];
  if (f.item !== undefined) parts.push(`item: ${word(f.item)}`);
  if (f.when !== undefined) parts.push(`when: '${f.when.replaceAll("'", "''")}'`);
  for (const [key, unit] of Object.entries(UNITS)) {
    const value = f[key as keyof typeof UNITS];
    if (value !== undefined) parts.push(`${key}: ${unit === '%' ? value * 100 : value} ${unit}`);
  }
  return `{ ${parts.join(', ')} }`;
}

/** "switch drifted down", "check valve leaks": the failure mode in words. */
export function modeText(f: FaultValues): string {
  const drift = f.byPressure ?? f.byLevel ?? 0;
  return drift === 0 ? f.fault : `${f.fault} ${drift < 0 ? 'down' : 'up'}`;
}
