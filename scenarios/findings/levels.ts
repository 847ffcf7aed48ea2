/** Findings on levels: the order of the level contacts, the oil above the outlet, and the sump. */
import type { Rung } from '../staircase.ts';
import { oilInCylinders, oilOf, requiredSet } from './estimates.ts';
import type { FindingKind } from './kinds.ts';
import { atOf, type Look } from './look.ts';

/** Rungs that are not above the one below them, each said once; `own` names a pair that has a kind of its own. */
export function findOrder(
  look: Look,
  kind: FindingKind,
  rungs: readonly Rung[],
  unit: 'm' | 'Pa',
  own: (high: Rung, low: Rung) => FindingKind | undefined = () => undefined,
): void {
  const show = unit === 'm' ? look.length : look.pressure;
  for (let k = 1; k < rungs.length; k++) {
    const low = rungs[k - 1];
    const high = rungs[k];
    if (high.value > low.value || (high.mayTouch && high.value === low.value)) continue;
    look.add(
      own(high, low) ?? kind,
      `${high.name} (${show(high.value)}) is not above ${low.name} (${show(low.value)})`,
      { [`upper_${unit}`]: high.value, [`lower_${unit}`]: low.value },
      [high.path, low.path],
    );
  }
}

/** Neighbours on the staircase that may change places within what their switches are off by. */
export function findNeighbours(look: Look, rungs: readonly Rung[], unit: 'm' | 'Pa'): void {
  const [show, apart] = unit === 'm' ? [look.length, look.length] : [look.pressure, look.pressureDifference];
  for (let k = 1; k < rungs.length; k++) {
    const low = rungs[k - 1];
    const high = rungs[k];
    const gap = high.value - low.value;
    const accuracies = high.accuracy + low.accuracy;
    // Contacts set alike may act in either order; but the permissive has to come before the pumps stop.
    const alike = high.mayTouch && gap === 0 && high.path !== 'panel.level.stop';
    // Inches and millimetres do not come out even in metres.
    if (gap < 0 || gap >= accuracies * (1 - 1e-9) || alike) continue;
    look.add(
      'switches within accuracies',
      `${high.name} (${show(high.value)}) and ${low.name} (${show(low.value)}) are ${apart(gap)} apart, and their switches may be off by ${apart(accuracies)} together`,
      { [`gap_${unit}`]: gap, [`accuracies_${unit}`]: accuracies },
      [high.path, low.path],
    );
  }
}

export function findLevels(look: Look, rungs: readonly Rung[]): void {
  const compressors = look.values.compressors.length > 0;
  findOrder(look, 'level order', rungs, 'm', (high, low) =>
    compressors && high.path === 'panel.level.stop' && low.path === 'panel.level.normal'
      ? 'permissive never reached'
      : undefined,
  );
  findNeighbours(look, rungs, 'm');
  findDeadbands(look);
  findAlarms(look);
  findOil(look);
  findSump(look);
}

/** Of a switch that is off by more than its deadband nobody knows where it resets. */
function findDeadbands({ plant, values, length, pressureDifference, add }: Look): void {
  for (const c of plant.panel.contacts) {
    const deadband = Math.abs(c.reset - c.trip);
    if (c.accuracy === 0 || deadband >= c.accuracy * (1 - 1e-9)) continue;
    const show = c.measured === 'pressure' ? pressureDifference : length;
    const unit = c.measured === 'pressure' ? 'Pa' : 'm';
    const [kind, name] = c.role.split('.') as ['level' | 'pressure' | 'sump', string];
    const given = (values.panel[kind] as Readonly<Record<string, unknown>>)[name];
    const written = typeof given === 'object' && given !== null && 'deadband' in given && given.deadband !== undefined;
    add(
      'deadband under accuracy',
      `the deadband of ${c.tag} (${show(deadband)}) is smaller than its accuracy (${show(c.accuracy)})`,
      { [`deadband_${unit}`]: deadband, [`accuracy_${unit}`]: c.accuracy },
      [`panel.${c.role}${written ? '.deadband' : ''}`, `panel.${c.role}.accuracy`],
    );
  }
}

function findAlarms({ values: v, plant, add, length, pressure }: Look): void {
  const { level, pressure: air } = v.panel;
  const missing: [name: string, path: string][] = [];
  if (v.pumps.length > 0 && level.low === undefined && level.lowLow === undefined)
    missing.push(['low oil level', 'panel.level']);
  if (v.compressors.length > 0 && air.low === undefined && air.lowLow === undefined)
    missing.push(['low pressure', 'panel.pressure']);
  for (const [name, path] of missing) add('no low alarm', `nothing alarms at ${name}`, {}, [path, 'panel']);

  const alarms = ['lowLow', 'low', 'high', 'highHigh'] as const;
  const glass = plant.tank.vessel.levelAt(plant.start.oilVolume_m3) - plant.tank.sightGlassZero_m;
  const readings = [
    { what: 'level', reads: glass, contacts: level, show: length, unit: 'm' },
    { what: 'pressure', reads: v.start.pressure, contacts: air, show: pressure, unit: 'Pa' },
  ] as const;
  for (const { what, reads, contacts, show, unit } of readings) {
    // From the middle outward the last one that stands says most.
    const standing = alarms.filter((name) => {
      const at = atOf(contacts[name]);
      // A level that is read off where the contact stands is not beyond it for the rounding of the geometry.
      return at !== undefined && (name.startsWith('low') ? reads < at - 1e-9 : reads > at + 1e-9);
    });
    const name = standing.includes('lowLow') ? 'lowLow' : standing[standing.length - 1];
    if (name === undefined) continue;
    const words = { lowLow: 'low-low', low: 'low', high: 'high', highHigh: 'high-high' }[name];
    const at = atOf(contacts[name]) as number;
    add(
      'start in alarm',
      `the run starts at ${show(reads)}, beyond the ${words} ${what} (${show(at)})`,
      { [`start_${unit}`]: reads, [`alarm_${unit}`]: at },
      [`start.${what}`, 'start.oil', `panel.${what}.${name}`],
    );
  }
}

/** Oil above the outlet, or above where it shuts by itself, against what the required set takes. */
function findOil({ values: v, plant, add, oilAt, volume, length }: Look): void {
  const need = oilOf(requiredSet(plant));
  if (!(need > 0)) return;
  const shut = plant.tank.outletShutOff?.shut_m3;
  const bottom = Math.max(plant.tank.outletVolume_m3, shut ?? 0);
  const outlet = shut !== undefined && shut >= bottom ? 'tank.outletShutOff.level' : 'tank.outletLevel';
  const above = shut === undefined ? 'above the outlet' : 'above the outlet shut-off';
  const { low, lowLow, dutyStart } = v.panel.level;
  const looked = [
    [
      'low oil alarm too late',
      'at the low level',
      low ?? lowLow,
      `panel.level.${low === undefined ? 'lowLow' : 'low'}`,
    ],
    ['oil short of required set', 'at the duty start', dutyStart, 'panel.level.dutyStart'],
  ] as const;
  for (const [kind, where, contact, path] of looked) {
    const level = atOf(contact);
    if (level === undefined) continue;
    const left = Math.max(0, oilAt(level) - bottom);
    if (left >= need) continue;
    add(
      kind,
      `${where} (${length(level)}) ${volume(left)} of oil is left ${above}, and the required set takes ${volume(need)}`,
      { left_m3: left, required_m3: need },
      [path, outlet, 'valves'],
    );
  }
}

function findSump(look: Look): void {
  const { values: v, plant, add, oilAt, volume, length } = look;
  const { sump, start, tank } = plant;
  const rungs = (
    [
      ['sump.suctionLevel', 'suction', v.sump.suctionLevel],
      ['panel.sump.low', 'sump low', atOf(v.panel.sump.low)],
      ['panel.sump.high', 'sump high', atOf(v.panel.sump.high)],
      ['sump.depth', 'brim', v.sump.depth],
    ] as const
  ).flatMap(([path, name, value]): Rung[] =>
    value === undefined ? [] : [{ path, name, tag: undefined, value, mayTouch: false, accuracy: 0, estimate: false }],
  );
  findOrder(look, 'sump order', rungs, 'm');

  const assumed = v.start.sumpLevel === undefined ? ' (taken as half full: no level is given)' : '';
  const fromTank = Math.max(0, start.oilVolume_m3 - tank.outletVolume_m3);
  const back = start.sumpVolume_m3 + fromTank + oilInCylinders(plant);
  if (back > sump.capacity_m3) {
    add(
      'sump too small to drain back',
      `the sump of ${volume(sump.capacity_m3)} holds ${volume(start.sumpVolume_m3)}${assumed}; with the oil of the tank above the outlet and of the cylinders it would have to hold ${volume(back)}`,
      { capacity_m3: sump.capacity_m3, drainedBack_m3: back },
      ['sump.capacity', 'start.sumpLevel', 'start.level', 'start.oil'],
    );
  }
  const stop = atOf(v.panel.level.stop);
  if (v.pumps.length === 0 || stop === undefined) return;
  const left = start.sumpVolume_m3 + start.oilVolume_m3 - oilAt(stop);
  if (left < sump.suction_m3) {
    add(
      'sump too small to refill',
      `with the tank full to the stop (${length(stop)}) ${volume(Math.max(0, left))} would be left in the sump${assumed}, and the pumps run dry under ${volume(sump.suction_m3)}`,
      { left_m3: left, suction_m3: sump.suction_m3 },
      ['sump.capacity', 'start.sumpLevel', 'panel.level.stop', 'sump.suctionLevel'],
    );
  }
}
