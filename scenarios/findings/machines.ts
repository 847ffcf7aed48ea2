/** Findings on pumps and compressors: nameplates, capacity, starts per hour, times of refill and recharge. */
import { compressionPower, nozzleFlow, R_AIR } from '../../models/air.ts';
import { reliefCracking, volumetricEfficiency } from '../../models/compressor.ts';
import { Selector } from '../../models/motor.ts';
import type { MotorPlant } from '../../models/plant.ts';
import { hydraulicPower } from '../../models/pump.ts';
import { formatQuantity } from '../units.ts';
import { callsPerHour, mostCallsPerHour, oilOf, rechargeTime, requiredSet } from './estimates.ts';
import { atOf, type Look, listed, machinePaths } from './look.ts';
import { delivery, findMotors } from './motors.ts';

export function findMachines(look: Look): void {
  findNameplates(look);
  findSelectors(look);
  findMotors(look);
  findRefill(look);
  findRecharge(look);
  findCalls(look);
}

/** No machine does its work with less than the ideal power. */
function findNameplates({ values: v, plant, units, add, power, pressure }: Look): void {
  const ambient = plant.ambientPressure_Pa;
  const cutOut = atOf(v.panel.pressure.cutOut);
  plant.compressors.forEach((c, i) => {
    if (cutOut === undefined || !(cutOut > ambient)) return;
    const share = volumetricEfficiency(cutOut / ambient, c.clearance, c.exponent);
    const paths = [`compressors.${i}.freeAir`, `compressors.${i}.displacement`];
    if (share === 0) {
      add(
        'cut-out out of reach',
        `${c.tag} delivers nothing at the cut-out (${pressure(cutOut)}): what is left in its clearance expands over the whole stroke`,
        { cutOut_Pa: cutOut },
        ['panel.pressure.cutOut', `compressors.${i}.clearance`],
      );
    }
    const cracking = reliefCracking(c.relief_Pa, ambient);
    if (cracking < cutOut) {
      add(
        'compressor relief too low',
        `the relief of ${c.tag} opens at ${pressure(cracking)}, under the cut-out (${pressure(cutOut)})`,
        { cracking_Pa: cracking, cutOut_Pa: cutOut },
        [`compressors.${i}.relief`, 'panel.pressure.cutOut'],
      );
    }
    const rated = v.compressors[i].ratedPower;
    if (rated === undefined) return;
    const freeAir = c.freeAir_m3_s * share;
    const least = compressionPower(ambient, freeAir, cutOut, 1);
    if (rated >= least) return;
    const flow =
      units === 'us'
        ? `${((freeAir * 60) / 0.3048 ** 3).toPrecision(3)} ft^3/min`
        : `${(freeAir * 60_000).toPrecision(3)} L/min`;
    add(
      'compressor nameplate',
      `${c.tag} cannot bring ${flow} of free air to ${pressure(cutOut)} with ${power(rated)}: even without any loss and at constant temperature that takes ${power(least)}`,
      { rated_W: rated, least_W: least },
      [`compressors.${i}.ratedPower`, ...paths],
    );
  });
  v.pumps.forEach((p, i) => {
    if (p.ratedPower === undefined) return;
    const least = hydraulicPower(p.ratedFlow, p.ratedPressure);
    if (p.ratedPower >= least) return;
    add(
      'pump nameplate',
      `${p.tag} cannot pump ${formatQuantity(p.ratedFlow, 'volumeFlow', units)} at ${formatQuantity(p.ratedPressure, 'pressureDifference', units)} with ${power(p.ratedPower)}: flow times pressure alone is ${power(least)}`,
      { rated_W: p.ratedPower, least_W: least },
      [`pumps.${i}.ratedPower`, `pumps.${i}.ratedFlow`, `pumps.${i}.ratedPressure`],
    );
  });
}

/** Machines that the panel will not run, or that run against a shut valve, or that start together. */
function findSelectors(look: Look): void {
  const { values: v, plant, add, time } = look;
  const paths = machinePaths(v);
  [...v.pumps, ...v.compressors].forEach((m, k) => {
    const path = paths[k];
    if (m.selector !== 'auto')
      add('machine not in auto', `${m.tag} is in ${m.selector}`, {}, [`${path}.selector`, path]);
    if (m.isolation !== 'shut') return;
    const seen = m.provenBy === 'starter contact' ? '; its starter contact will show it as running' : '';
    add('isolation valve shut', `the isolation valve of ${m.tag} is shut${seen}`, {}, [`${path}.isolation`, path]);
  });
  for (const [first, motors] of [
    [0, plant.pumps],
    [plant.pumps.length, plant.compressors],
  ] as const) {
    const delays = new Map<number, number[]>();
    motors.forEach((m, k) => {
      if (m.selector === Selector.auto)
        delays.set(m.restart_ticks, [...(delays.get(m.restart_ticks) ?? []), first + k]);
    });
    for (const [ticks, alike] of delays) {
      if (alike.length < 2) continue;
      const restart_s = ticks * plant.tick_s;
      add(
        'restarts together',
        `${listed(alike.map((k) => motors[k - first].tag))} may start together ${restart_s > 0 ? `${time(restart_s)} after` : 'as soon as'} the mains are back`,
        { restartDelay_s: restart_s },
        alike.flatMap((k) => [`${paths[k]}.restartDelay`, paths[k]]),
      );
    }
  }
}

/** The panel calls a duty and a standby, never more. */
const MOST_IN_AUTO = 2;
const manyOf = (count: number, noun: string) => (count === 1 ? `one ${noun}` : `two ${noun}s`);

/** Flow of each pump into the tank at a pressure, m3/s. */
const pumpFlows = ({ plant }: Look, tank_Pa: number): number[] =>
  plant.pumps.map((_, m) => delivery(plant, m, tank_Pa).flow);

function findRefill(look: Look): void {
  const { values: v, plant, add, oilAt, volume, time } = look;
  const dutyStart = atOf(v.panel.level.dutyStart);
  const stop = atOf(v.panel.level.stop);
  if (plant.pumps.length === 0 || dutyStart === undefined || stop === undefined) return;
  const lowest = Math.max(plant.tank.outletVolume_m3, oilAt(dutyStart) - oilOf(requiredSet(plant)));
  const oil = oilAt(stop) - lowest;
  const flows = pumpFlows(look, atOf(v.panel.pressure.cutOut) ?? plant.start.gasPressure_Pa);
  if (!(oil > 0) || !(flows[0] > 0)) return;
  const one_s = oil / flows[0];
  const many = Math.min(MOST_IN_AUTO, flows.length);
  const all_s = oil / flows.slice(0, many).reduce((sum, q) => sum + q, 0);
  const all = many > 1 ? `, ${time(all_s)} with ${manyOf(many, 'pump')}` : '';
  add(
    'refill time',
    `from the duty start less the required set up to the stop (${volume(oil)}) takes ${time(one_s)} with one pump${all}`,
    { oil_m3: oil, onePump_s: one_s, allPumps_s: all_s },
    [],
  );
  findLongRun(look, 'a refill with one pump', one_s, ['panel.level.dutyStart', 'panel.level.stop']);
}

/** The only limit a file gives on a refill or a recharge. */
function findLongRun({ values: v, add, time }: Look, what: string, takes_s: number, paths: readonly string[]): void {
  const longest = v.panel.longestRun;
  if (longest === undefined || takes_s <= longest) return;
  add(
    'longest run too short',
    `${what} takes ${time(takes_s)}, and a run over ${time(longest)} raises an alarm and calls the standby`,
    { takes_s, longestRun_s: longest },
    ['panel.longestRun', ...paths],
  );
}

function findRecharge(look: Look): void {
  const { values: v, plant, add, airAt, time } = look;
  const { compressors, ambientPressure_Pa: ambient } = plant;
  const cutIn = atOf(v.panel.pressure.cutIn);
  const cutOut = atOf(v.panel.pressure.cutOut);
  if (compressors.length === 0 || cutIn === undefined || cutOut === undefined || !(cutOut > cutIn)) return;
  // Compressors run from the normal level up.
  const level = atOf(v.panel.level.normal);
  const air = level === undefined ? plant.tank.volume_m3 - plant.start.oilVolume_m3 : airAt(level);
  const takes = (count: number, from: number) => rechargeTime(compressors.slice(0, count), air, from, cutOut, ambient);
  const one_s = takes(1, cutIn);
  if (!Number.isFinite(one_s)) return;
  const many = Math.min(MOST_IN_AUTO, compressors.length);
  const all = many > 1 ? `, ${time(takes(many, cutIn))} with ${manyOf(many, 'compressor')}` : '';
  const empty_s = takes(many, ambient);
  add(
    'recharge time',
    `from cut-in to cut-out takes ${time(one_s)} with one compressor${all}; from no gauge pressure ${time(empty_s)} with ${manyOf(many, 'compressor')}`,
    { oneCompressor_s: one_s, allCompressors_s: takes(many, cutIn), fromEmpty_s: empty_s },
    [],
  );
  findLongRun(look, 'a recharge with one compressor', one_s, ['panel.pressure.cutIn', 'panel.pressure.cutOut']);
}

/** What the leaks call for: starts an hour, or more than the machines can give. */
function findCalls(look: Look): void {
  const { values: v, plant, airAt, oilAt } = look;
  const { ambientPressure_Pa: ambient, ambientTemperature_K: temperature, pumps, compressors } = plant;
  const cutIn = atOf(v.panel.pressure.cutIn);
  const cutOut = atOf(v.panel.pressure.cutOut);
  const middle = cutIn === undefined || cutOut === undefined ? plant.start.gasPressure_Pa : (cutIn + cutOut) / 2;
  const dutyStart = atOf(v.panel.level.dutyStart);
  const stop = atOf(v.panel.level.stop);
  if (pumps.length > 0 && dutyStart !== undefined && stop !== undefined) {
    calls(look, {
      noun: 'pump',
      unit: 'm3_s',
      at_Pa: middle,
      first: 0,
      motors: pumps,
      store: oilAt(stop) - oilAt(dutyStart),
      fills: pumpFlows(look, middle),
      draw: plant.oilLeak * Math.sqrt(Math.max(0, middle - ambient)),
      paths: ['leaks.oil', 'panel.level.dutyStart', 'panel.level.stop'],
    });
  }
  if (compressors.length > 0 && cutIn !== undefined && cutOut !== undefined) {
    const level = atOf(v.panel.level.normal);
    const air = level === undefined ? plant.tank.volume_m3 - plant.start.oilVolume_m3 : airAt(level);
    calls(look, {
      noun: 'compressor',
      unit: 'kg_s',
      at_Pa: middle,
      first: pumps.length,
      motors: compressors,
      store: (air * (cutOut - cutIn)) / (R_AIR * temperature),
      fills: compressors.map((_, k) => delivery(plant, pumps.length + k, middle).flow),
      draw: nozzleFlow(middle, temperature, ambient, plant.airLeakArea_m2),
      paths: ['leaks.air', 'panel.pressure.cutIn', 'panel.pressure.cutOut'],
    });
  }
}

interface Calls {
  readonly noun: 'pump' | 'compressor';
  readonly unit: 'm3_s' | 'kg_s';
  readonly at_Pa: number;
  /** Index of the first motor among all. */
  readonly first: number;
  readonly motors: readonly MotorPlant[];
  /** Between start and stop, what one machine brings and what is drawn: m3 and m3/s of oil, kg and kg/s of air. */
  readonly store: number;
  readonly fills: readonly number[];
  readonly draw: number;
  readonly paths: readonly string[];
}

function calls(look: Look, { noun, unit, at_Pa, first, motors, store, fills, draw, paths }: Calls): void {
  const { values: v, add, time, pressure } = look;
  const inAuto = motors.flatMap((m, k) => (m.selector === Selector.auto ? [k] : []));
  if (inAuto.length === 0 || !(draw > 0) || !(store > 0)) return;
  const fill = Math.min(...inAuto.map((k) => fills[k]));
  const all = inAuto
    .slice(0, MOST_IN_AUTO)
    .map((k) => fills[k])
    .reduce((sum, q) => sum + q, 0);
  if (draw >= fill) {
    const enough = draw < all ? `one ${noun} cannot make up for` : `the ${noun}s cannot make up for, even together`;
    const brings = fill > 0 ? `${(draw / fill).toPrecision(2)} times what one brings` : 'they bring nothing at all';
    add(
      'leak over capacity',
      `the leaks given draw what ${enough}: ${brings} at ${pressure(at_Pa)}`,
      { [`draw_${unit}`]: draw, [`fill_${unit}`]: fill },
      [paths[0], ...inAuto.map((k) => machinePaths(v)[first + k])],
    );
    return;
  }
  const perHour = callsPerHour(store, fill, draw);
  // With each call the next one takes its turn; by hours or fixed one machine has them all.
  const share = v.panel.alternation === 'each call' ? inAuto.length : 1;
  const each = perHour / share;
  const most = mostCallsPerHour(store, fill) / share;
  const shown = (x: number) => (x < 9.95 ? x.toPrecision(2) : x.toFixed(0));
  const tags = listed(inAuto.map((k) => motors[k].tag));
  add(
    'expected starts',
    `the leaks given call a ${noun} once in ${time(3600 / perHour)}: ${shown(each)} starts an hour of ${share > 1 ? `each of ${tags}` : motors[inAuto[0]].tag} (estimate); whatever is drawn it cannot be more than ${shown(most)}`,
    { startsPerHour: each, mostStartsPerHour: most },
    [],
  );
  for (const k of share > 1 ? inAuto : inAuto.slice(0, 1)) {
    const allowed = motors[k].allowedStarts;
    if (allowed === undefined || each <= allowed) continue;
    const path = machinePaths(v)[first + k];
    add(
      'starts over allowed',
      `the leaks given make ${motors[k].tag} start ${shown(each)} times an hour (estimate), and its motor may start ${allowed} times`,
      { startsPerHour: each, allowedPerHour: allowed },
      [`${path}.allowedStarts`, path, ...paths],
    );
  }
}
