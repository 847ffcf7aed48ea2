/** Findings on pressures: order of contacts and valves, overcharge, reliefs, and what the required strokes need. */
import { nozzleFlow } from '../../models/air.ts';
import { solveCompressor } from '../../models/compressor.ts';
import { valvePosition } from '../../models/drive.ts';
import { drop } from '../../models/pipe.ts';
import type { PumpPlant } from '../../models/plant.ts';
import { buildPlant } from '../build.ts';
import type { Rung } from '../staircase.ts';
import { tankState } from '../tankState.ts';
import { ambientRange, type Pinch, pinchOf } from './estimates.ts';
import type { FindingKind } from './kinds.ts';
import { findNeighbours, findOrder } from './levels.ts';
import { atOf, type Look, listed } from './look.ts';

export function findPressures(look: Look, rungs: readonly Rung[]): void {
  const steps = rungs.filter((r) => !r.estimate);
  findOrder(look, 'pressure order', steps, 'Pa', (high, low) =>
    high.path === 'tank.designPressure' && low.path === 'safetyValve.set' ? 'safety valve above design' : undefined,
  );
  findNeighbours(look, steps, 'Pa');
  findProtection(look);
  const peak = findOvercharge(look);
  findReliefs(look, peak);
  findSwing(look);
  findNeeds(look);
  findCharge(look);
  findFilter(look);
}

/** Once the bypass of a filter has opened, oil goes round it and the drop hardly rises any more. */
function findFilter({ values: v, add, pressureDifference }: Look): void {
  const filter = v.returnMain.filter;
  if (filter?.alarm === undefined || filter.alarm < filter.bypassOpens) return;
  add(
    'filter alarm over bypass',
    `the return filter alarms at ${pressureDifference(filter.alarm)}, and its bypass opens at ${pressureDifference(filter.bypassOpens)}`,
    { alarm_Pa: filter.alarm, bypassOpens_Pa: filter.bypassOpens },
    ['returnMain.filter.alarm', 'returnMain.filter.bypassOpens', 'returnMain.filter'],
  );
}

function findProtection({ values: v, plant, add, pressure }: Look): void {
  if (v.safetyValve === undefined && v.compressors.length > 0)
    add('no safety valve', 'compressors feed a tank without a safety valve', {}, ['compressors', 'tank']);
  if (v.tank.designPressure === undefined && (v.compressors.length > 0 || v.safetyValve !== undefined)) {
    add(
      'no design pressure',
      'the design pressure of the vessel is not given, so nothing could be checked against it',
      {},
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
      `the run starts at ${pressure(v.start.pressure)}, which is not under ${name} (${pressure(limit)})`,
      { start_Pa: v.start.pressure, limit_Pa: limit },
      ['start.pressure', path],
    );
  }

  const { safetyValve: relief, compressors, ambientPressure_Pa: ambient, ambientTemperature_K: temperature } = plant;
  if (relief === undefined || compressors.length === 0) return;
  const out = new Float64Array(3);
  let delivered = 0;
  let hottest = temperature;
  for (const c of compressors) {
    solveCompressor(c, 1, relief.fullLift_Pa, ambient, temperature, out);
    delivered += out[0];
    hottest = Math.max(hottest, temperature + c.coolerApproach_K);
  }
  const passed = nozzleFlow(relief.fullLift_Pa, hottest, ambient, relief.dischargeCoefficient * relief.area_m2);
  if (passed >= delivered) return;
  const perHour = (kg_s: number) => `${(kg_s * 3600).toPrecision(3)} kg/h`;
  add(
    'safety valve too small',
    `${relief.tag} passes ${perHour(passed)} of air at its full lift (${pressure(relief.fullLift_Pa)}), and ${listed(compressors.map((c) => c.tag))} deliver ${perHour(delivered)} there`,
    { passed_kg_s: passed, delivered_kg_s: delivered, fullLift_Pa: relief.fullLift_Pa },
    ['safetyValve.bore', 'safetyValve', 'compressors'],
  );
}

/**
 * Overcharge: up to the cut-out at the level that clears the permissive, then refilled to the stop, no heat lost, and the
 * charge made in the coolest hour, met in the warmest. Returns the pressure so reached; undefined where nothing recharges.
 */
function findOvercharge({ values: v, plant, add, pressure, airAt }: Look): number | undefined {
  const { level, pressure: air } = v.panel;
  const cutOut = atOf(air.cutOut);
  const dutyStart = atOf(level.dutyStart);
  const stop = atOf(level.stop);
  if (v.compressors.length === 0 || cutOut === undefined) return undefined;
  if (dutyStart === undefined || stop === undefined || !(stop > dutyStart)) return undefined;
  const { coolest_K, warmest_K } = ambientRange(plant.ambient);
  const refilled = cutOut * (airAt(dutyStart) / airAt(stop)) ** 1.4;
  const reached = refilled * (warmest_K / coolest_K);
  const warmer = warmest_K > coolest_K ? ' in the warmest hour' : '';
  const limits = [
    { name: 'high pressure', value: atOf(air.high), path: 'panel.pressure.high' },
    { name: 'the reseat of the safety valve', value: v.safetyValve?.reseat, path: 'safetyValve.reseat' },
  ];
  const limit = limits.find((x) => x.value !== undefined && reached >= x.value);
  if (limit?.value !== undefined) {
    add(
      'overcharge',
      `a tank brought to the cut-out at the duty start and then refilled to the stop would reach ${pressure(reached)}${warmer} (no heat lost, nothing stopping it), which is not under ${limit.name} (${pressure(limit.value)})`,
      { reached_Pa: reached, limit_Pa: limit.value },
      ['panel.pressure.cutOut', 'panel.level.dutyStart', 'panel.level.stop', limit.path],
    );
  }
  return reached;
}

/** Pump reliefs against the highest pressure that pumps work against, with what the line costs in cold oil. */
function findReliefs(look: Look, overcharge: number | undefined): void {
  const { values: v, plant, add, pressure } = look;
  const { highHigh, cutOut, high } = v.panel.pressure;
  const set = v.safetyValve?.set;
  // Pumps in auto stop at the high-high pressure; without it they go on up to what a refill compresses the air to.
  const refilled = overcharge === undefined ? undefined : Math.min(overcharge, set ?? overcharge);
  const [top, what, path] = (
    [
      [atOf(highHigh), 'the high-high pressure', 'panel.pressure.highHigh'],
      [refilled, 'the pressure after a refill from the cut-out', 'panel.pressure.cutOut'],
      [atOf(cutOut), 'the cut-out', 'panel.pressure.cutOut'],
      [set, 'the set pressure of the safety valve', 'safetyValve.set'],
      [atOf(high), 'the high pressure', 'panel.pressure.high'],
    ] as const
  ).find(([value]) => value !== undefined) ?? [undefined, '', ''];
  const lines = coldPumps(look);
  const design = v.tank.designPressure;
  // Pumps set alike are said once.
  const low = new Map<string, number[]>();
  const over = new Map<number, number[]>();
  const note = <K>(map: Map<K, number[]>, key: K, i: number) => map.set(key, [...(map.get(key) ?? []), i]);
  plant.pumps.forEach((p, i) => {
    const cracking = p.crackingPressure_Pa + plant.ambientPressure_Pa;
    const { line, flow_m3_s } = lines[i];
    const needed = top === undefined ? 0 : top + line.rise_Pa + drop(line, flow_m3_s);
    if (cracking <= needed) note(low, `${cracking} ${needed}`, i);
    const { fullFlow } = v.pumps[i].relief;
    if (design !== undefined && fullFlow > design) note(over, fullFlow, i);
  });
  const whose = (pumps: readonly number[]) =>
    `the relief${pumps.length > 1 ? 's' : ''} of ${listed(pumps.map((i) => plant.pumps[i].tag))}`;
  for (const [key, pumps] of low) {
    const [cracking, needed] = key.split(' ').map(Number);
    add(
      'pump relief too low',
      `${whose(pumps)} open${pumps.length > 1 ? '' : 's'} at ${pressure(cracking)}, and pumping against ${what} (${pressure(top as number)}) takes ${pressure(needed)} in cold oil`,
      { cracking_Pa: cracking, needed_Pa: needed, tank_Pa: top as number },
      [...pumps.map((i) => `pumps.${i}.relief.cracking`), path],
    );
  }
  for (const [fullFlow, pumps] of over) {
    add(
      'pump relief over design',
      `${whose(pumps)} pass${pumps.length > 1 ? '' : 'es'} the whole flow only at ${pressure(fullFlow)}, above the design pressure of the vessel (${pressure(design as number)})`,
      { fullFlow_Pa: fullFlow, design_Pa: design as number },
      [...pumps.map((i) => `pumps.${i}.relief.fullFlow`), 'tank.designPressure'],
    );
  }
}

/** The pumps with their lines in oil as cold as the coolest hour. */
function coldPumps({ values: v, plant }: Look): readonly PumpPlant[] {
  const { coolest_K } = ambientRange(plant.ambient);
  if (plant.pumps.every((p) => p.line.plain) || !(coolest_K < v.oil.temperature)) return plant.pumps;
  const cold = { ...v, oil: { ...v.oil, temperature: coolest_K } };
  return buildPlant(cold, () => {}, { like: plant })?.pumps ?? plant.pumps;
}

/** Going up and down between the pump's own levels, a small cushion swings through the whole band of the compressors. */
function findSwing({ values: v, add, pressure, airAt }: Look): void {
  const cutOut = atOf(v.panel.pressure.cutOut);
  const low = atOf(v.panel.pressure.low);
  const dutyStart = atOf(v.panel.level.dutyStart);
  const stop = atOf(v.panel.level.stop);
  if (cutOut === undefined || low === undefined || dutyStart === undefined || stop === undefined) return;
  if (!(stop > dutyStart)) return;
  const reached = (cutOut * airAt(stop)) / airAt(dutyStart);
  if (!(cutOut > low) || reached > low) return;
  add(
    'pressure swing',
    `a tank at the stop and at the cut-out (${pressure(cutOut)}) falls to ${pressure(reached)} by the duty start, which is not above the low alarm (${pressure(low)}): too little air for its level band`,
    { reached_Pa: reached, low_Pa: low },
    ['panel.level.dutyStart', 'panel.level.stop', 'panel.pressure.low'],
  );
}

/**
 * Whether the required set completes from the low alarm, and from the cut-in, at the level with the least air a unit works
 * at. That the set has to complete from the cut-in: as a ship rule asks of stored power for watertight doors, SOLAS
 * II-1/13.7.3.1 (read).
 */
function findNeeds({ values: v, plant, add, pressure, length, airAt }: Look): void {
  const { low, lowLow, cutIn } = v.panel.pressure;
  const stop = atOf(v.panel.level.stop);
  const glass = plant.tank.vessel.levelAt(plant.start.oilVolume_m3) - plant.tank.sightGlassZero_m;
  const level = stop ?? glass;
  const where = stop === undefined ? `the level of the start (${length(level)})` : `the stop level (${length(level)})`;
  const looked: (readonly [FindingKind, string, number | undefined, string])[] = [
    [
      'low pressure alarm too late',
      'low alarm',
      atOf(low ?? lowLow),
      `panel.pressure.${low === undefined ? 'lowLow' : 'low'}`,
    ],
    ['pressure short of required set', 'cut-in', atOf(cutIn), 'panel.pressure.cutIn'],
  ];
  for (const [kind, name, from, path] of looked) {
    if (from === undefined || !(from > plant.ambientPressure_Pa)) continue;
    const pinch = pinchOf(plant, from, airAt(level));
    if (pinch === undefined || pinch.has_Pa > pinch.needs_Pa) continue;
    add(
      kind,
      `from the ${name} (${pressure(from)}) at ${where} the required set would not complete: ${pinchText(pinch)} (estimate without flow or heat)`,
      { from_Pa: from, left_Pa: pinch.has_Pa, needed_Pa: pinch.needs_Pa },
      [
        path,
        ...(stop === undefined ? ['start.level', 'start.oil'] : ['panel.level.stop']),
        `valves.${pinch.valve}.load`,
      ],
    );
  }

  function pinchText({ valve, x, has_Pa, needs_Pa }: Pinch): string {
    const { tag, drive } = plant.valves[valve];
    const position = (valvePosition(drive, x) * 100).toFixed(0);
    return `${tag} needs ${pressure(needs_Pa)} at ${position} % open, and ${pressure(has_Pa)} is left by then`;
  }
}

/** The charge of the tank as found. */
function findCharge({ values, plant, units, add }: Look): void {
  const { gasPressure_Pa, oilVolume_m3 } = plant.start;
  const charge = tankState(values, plant, units, oilVolume_m3, gasPressure_Pa);
  if (charge === undefined) return;
  add(
    `${charge.name} tank`,
    `the tank is ${charge.name} when the run starts: ${charge.why}`,
    { start_Pa: gasPressure_Pa, airShare: 1 - oilVolume_m3 / plant.tank.volume_m3 },
    ['start.pressure', 'start.level', 'start.oil'],
  );
}
