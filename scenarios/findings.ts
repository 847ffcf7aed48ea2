/**
 * Findings: settings that can be simulated but are bad. A closed list; each names its places in the file and says what to
 * do. The run goes on: a badly set unit is what the engineer was called to.
 *
 * The orders checked are common practice, no source, except where said.
 */
import { compressionPower } from '../models/air.ts';
import { volumetricEfficiency } from '../models/compressor.ts';
import { drop } from '../models/pipe.ts';
import type { Plant } from '../models/plant.ts';
import { hydraulicPower } from '../models/pump.ts';
import { pipePeriod } from '../models/surge.ts';
import type { Finding } from './result.ts';
import type { ScenarioValues } from './scenario.ts';
import { type Rung, staircase } from './staircase.ts';
import { tankState } from './tankState.ts';
import { formatQuantity, type UnitSystem } from './units.ts';

export interface Findings {
  readonly values: ScenarioValues;
  readonly plant: Plant;
  readonly units: UnitSystem;
  /** "file:line" of a path. */
  readonly place: (path: string) => string | undefined;
}

/** All findings of a scenario, in a fixed order. */
export function findFindings({ values: v, plant, units, place }: Findings): Finding[] {
  const found: Finding[] = [];
  const ambient = plant.ambientPressure_Pa;
  const pressure = (pa: number) => formatQuantity(pa, 'pressure', units, ambient);
  const length = (m: number) => formatQuantity(m, 'length', units);
  const add = (id: string, severity: Finding['severity'], text: string, advice: string, paths: readonly string[]) => {
    const at = paths.map(place).filter((x): x is string => x !== undefined);
    found.push({ id, severity, text, advice, at: [...new Set(at)] });
  };
  const atOf = (x: number | { readonly at: number } | undefined) => (typeof x === 'number' ? x : x?.at);
  const bandOf = (x: unknown): number | undefined =>
    typeof x === 'object' && x !== null && 'deadband' in x ? (x.deadband as number | undefined) : undefined;
  const accuracyOf = (x: unknown): number =>
    typeof x === 'object' && x !== null && 'accuracy' in x ? (x.accuracy as number) : 0;

  const L = v.panel.level;
  const P = v.panel.pressure;
  const stairs = staircase(v);
  const order = (id: string, rungs: readonly Rung[], show: (x: number) => string) => {
    for (let k = 1; k < rungs.length; k++) {
      const low = rungs[k - 1];
      const high = rungs[k];
      if (high.value > low.value || (high.mayTouch && high.value === low.value)) continue;
      add(
        id,
        'warning',
        `${high.name} (${show(high.value)}) is not above ${low.name} (${show(low.value)})`,
        `Set ${high.name} above ${low.name}, or say why not in the unit's papers.`,
        [high.path, low.path],
      );
    }
  };
  order('level order', stairs.level, length);
  order('pressure order', stairs.pressure, pressure);
  if (v.safetyValve === undefined && v.compressors.length > 0) {
    add(
      'no safety valve',
      'warning',
      'compressors feed a tank without a safety valve',
      'Give the safety valve under "safetyValve".',
      ['compressors', 'tank'],
    );
  }
  if (v.tank.designPressure === undefined && (v.compressors.length > 0 || v.safetyValve !== undefined)) {
    add(
      'no design pressure',
      'note',
      'the design pressure of the vessel is not given, so nothing could be checked against it',
      'Read it off the vessel plate into "tank.designPressure".',
      ['tank'],
    );
  }

  for (const [name, limit, path] of [
    ['the design pressure of the vessel', v.tank.designPressure, 'tank.designPressure'],
    ['the set pressure of the safety valve', v.safetyValve?.set, 'safetyValve.set'],
  ] as const) {
    if (limit === undefined || v.start.pressure < limit) continue;
    add(
      'start pressure too high',
      'warning',
      `the run starts at ${pressure(v.start.pressure)}, which is not under ${name} (${pressure(limit)})`,
      'Check the gauge and what was read off it; such a pressure must not stand in the vessel.',
      ['start.pressure', path],
    );
  }

  // Pump relief against the highest pressure the tank can have, plus what the line costs at full flow.
  const highest = v.safetyValve?.set ?? atOf(P.high) ?? atOf(P.cutOut);
  plant.pumps.forEach((p, i) => {
    if (highest === undefined) return;
    const cracking = p.crackingPressure_Pa + ambient;
    const line = drop(p.line, p.flow_m3_s);
    const top = atOf(P.cutOut) ?? highest;
    if (cracking <= top + line) {
      add(
        'pump relief too low',
        'warning',
        `the relief of ${p.tag} opens at ${pressure(cracking)}, and pumping into ${pressure(top)} takes ${pressure(top + line)}`,
        'Raise the relief above the highest tank pressure and the line loss in cold oil, or lower the cut-out.',
        [`pumps.${i}.relief.cracking`, 'panel.pressure.cutOut'],
      );
    }
  });

  // Overcharge: up to the cut-out at the level that clears the permissive, then refilled to the stop.
  const cutOut = atOf(P.cutOut);
  const dutyStart = atOf(L.dutyStart);
  const stop = atOf(L.stop);
  if (
    v.compressors.length > 0 &&
    cutOut !== undefined &&
    dutyStart !== undefined &&
    stop !== undefined &&
    stop > dutyStart
  ) {
    const { vessel, volume_m3, sightGlassZero_m: zero } = plant.tank;
    const clear = volume_m3 - vessel.volumeAt(dutyStart + zero);
    const full = volume_m3 - vessel.volumeAt(stop + zero);
    const reached = cutOut * (clear / full) ** 1.4;
    const limits = [
      { name: 'high pressure', value: atOf(P.high), path: 'panel.pressure.high' },
      { name: 'the reseat of the safety valve', value: v.safetyValve?.reseat, path: 'safetyValve.reseat' },
    ];
    for (const limit of limits) {
      if (limit.value === undefined || reached < limit.value) continue;
      add(
        'overcharge',
        'warning',
        `a tank brought to the cut-out at the duty start and then refilled to the stop would reach ${pressure(reached)} (no heat lost, nothing stopping it), which is not under ${limit.name} (${pressure(limit.value)})`,
        'Bring duty start and stop closer together, lower the cut-out, or raise the limit within the design pressure.',
        ['panel.pressure.cutOut', 'panel.level.dutyStart', 'panel.level.stop', limit.path],
      );
      break;
    }
  }

  // Going up and down between the pump's own levels, a small cushion swings through the whole band of the compressors.
  const lowPressure = atOf(P.low);
  if (
    cutOut !== undefined &&
    lowPressure !== undefined &&
    dutyStart !== undefined &&
    stop !== undefined &&
    stop > dutyStart
  ) {
    const { vessel, volume_m3, sightGlassZero_m: zero } = plant.tank;
    const reached =
      (cutOut * (volume_m3 - vessel.volumeAt(stop + zero))) / (volume_m3 - vessel.volumeAt(dutyStart + zero));
    if (cutOut > lowPressure && reached <= lowPressure) {
      add(
        'pressure swing',
        'warning',
        `a tank at the stop and at the cut-out (${pressure(cutOut)}) falls to ${pressure(reached)} by the duty start, which is not above the low alarm (${pressure(lowPressure)}): too little air for its level band`,
        'Bring duty start and stop closer together, or work at a lower level with more air.',
        ['panel.level.dutyStart', 'panel.level.stop', 'panel.pressure.low'],
      );
    }
  }

  // The charge of the tank as found.
  const charge = tankState(v, plant, units, plant.start.oilVolume_m3, plant.start.gasPressure_Pa);
  if (charge !== undefined) {
    const advice =
      charge.name === 'water-logged'
        ? 'Find where the air goes, add air at the right level, and look at the compressors.'
        : 'Look for oil lost or pumps that do not run, and for a compressor that runs without its level permissive; vent air only at the right level.';
    add(`${charge.name} tank`, 'warning', `the tank is ${charge.name} when the run starts: ${charge.why}`, advice, [
      'start.pressure',
      'start.level',
      'start.oil',
    ]);
  }

  // Nameplates that cannot be: no machine does its work with less than the ideal power.
  const power = (w: number) => formatQuantity(w, 'power', units);
  plant.compressors.forEach((c, i) => {
    const rated = v.compressors[i].ratedPower;
    if (rated === undefined || cutOut === undefined || !(cutOut > ambient)) return;
    const freeAir = c.freeAir_m3_s * volumetricEfficiency(cutOut / ambient, c.clearance, c.exponent);
    const least = compressionPower(ambient, freeAir, cutOut, 1);
    if (rated >= least) return;
    const flow =
      units === 'us'
        ? `${((freeAir * 60) / 0.3048 ** 3).toPrecision(3)} ft^3/min`
        : `${(freeAir * 60_000).toPrecision(3)} L/min`;
    add(
      'compressor nameplate',
      'warning',
      `${c.tag} cannot bring ${flow} of free air to ${pressure(cutOut)} with ${power(rated)}: even without any loss and at constant temperature that takes ${power(least)}`,
      'Read both nameplates again, and time a recharge: the free air or the motor power is wrong.',
      [`compressors.${i}.ratedPower`, `compressors.${i}.freeAir`, `compressors.${i}.displacement`],
    );
  });
  v.pumps.forEach((p, i) => {
    if (p.ratedPower === undefined) return;
    const least = hydraulicPower(p.ratedFlow, p.ratedPressure);
    if (p.ratedPower >= least) return;
    add(
      'pump nameplate',
      'warning',
      `${p.tag} cannot pump ${formatQuantity(p.ratedFlow, 'volumeFlow', units)} at ${formatQuantity(p.ratedPressure, 'pressureDifference', units)} with ${power(p.ratedPower)}: flow times pressure alone is ${power(least)}`,
      'Read both nameplates again, and time a refill: flow, pressure or motor power is wrong.',
      [`pumps.${i}.ratedPower`, `pumps.${i}.ratedFlow`, `pumps.${i}.ratedPressure`],
    );
  });

  // A deadband smaller than twice the accuracy can chatter.
  for (const kind of ['level', 'pressure', 'sump'] as const) {
    for (const [name, contact] of Object.entries(v.panel[kind])) {
      const band = bandOf(contact);
      const accuracy = accuracyOf(contact);
      if (band === undefined || accuracy === 0 || band >= 2 * accuracy) continue;
      add(
        'deadband under accuracy',
        'warning',
        `the deadband of ${kind} ${name} is less than twice its accuracy`,
        'Widen the deadband or fit a better switch.',
        [`panel.${kind}.${name}.deadband`],
      );
    }
  }

  // Machines that the panel will not run.
  [
    ...v.pumps.map((m, i) => ({ m, path: `pumps.${i}` })),
    ...v.compressors.map((m, i) => ({ m, path: `compressors.${i}` })),
  ].forEach(({ m, path }) => {
    if (m.selector !== 'auto') {
      add(
        'machine not in auto',
        'warning',
        `${m.tag} is in ${m.selector}`,
        'Put the selector to auto unless the machine is locked out.',
        [`${path}.selector`, path],
      );
    }
    if (m.isolation === 'shut') {
      const seen = m.provenBy === 'flow switch' ? '' : '; its starter contact will show it as running';
      add(
        'isolation valve shut',
        'warning',
        `the isolation valve of ${m.tag} is shut${seen}`,
        'Open it, or put the selector to off.',
        [`${path}.isolation`, path],
      );
    }
  });

  // Valves without a requirement give no verdict.
  plant.valves.forEach((valve, i) => {
    if (valve.require === undefined && valve.strokes.length > 0) {
      add(
        'no requirement',
        'note',
        `${valve.tag} strokes on a trip, but nothing is required of it`,
        'Give "require" with the longest stroke time, so that it counts in the verdict.',
        [`valves.${i}`],
      );
    }
    if (valve.require !== undefined && valve.strokes.length === 0) {
      add(
        'requirement without stroke',
        'note',
        `${valve.tag} stays on a trip, so its requirement is never tested`,
        'Give "onTrip" the stroke that is required.',
        [`valves.${i}.require`],
      );
    }
  });

  // A closure within the pipe period surges as high as any.
  plant.valves.forEach(({ tag, pipeline, require, strokes }, i) => {
    if (pipeline === undefined || require === undefined || !strokes.includes(-1)) return;
    const period = pipePeriod(pipeline);
    if (require.shortest_s >= period) return;
    const asked =
      require.shortest_s > 0
        ? `may close in ${formatQuantity(require.shortest_s, 'time', units)}`
        : 'may close as fast as it likes';
    add(
      'shortest under pipe period',
      'warning',
      `${tag} ${asked}, and its pipeline has a period of ${formatQuantity(period, 'time', units)}: within that the surge is as high as of a sudden closure`,
      'Ask for a shortest time well above the pipe period, and set it with the speed control.',
      [`valves.${i}.require.shortest`, `valves.${i}.require`, `valves.${i}.pipeline`],
    );
  });
  return found;
}
