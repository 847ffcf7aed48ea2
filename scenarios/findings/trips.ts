/** Findings on what a loss of power does to the valves, and on what is required of them. */
import type { ValvePlant } from '../../models/plant.ts';
import { pipePeriod } from '../../models/surge.ts';
import { formatQuantity } from '../units.ts';
import type { Look } from './look.ts';

const word = (direction: number) => (direction > 0 ? 'open' : 'closed');

export function findTrips(look: Look): void {
  look.plant.valves.forEach((valve, i) => {
    findPower(look, valve, i);
    findRequirement(look, valve, i);
  });
  findMains(look);
}

function findPower({ plant, add, time }: Look, valve: ValvePlant, i: number): void {
  const { tag, strokes, pilot, offset, require, tripByControl } = valve;
  const { tick_s, power } = plant;
  const held_s = power.controlHeld_ticks * tick_s;
  const at = `valves.${i}`;
  const pilotPaths = [`${at}.pilot.kind`, at];
  if (strokes.length === 0) {
    // A pilot that its spring takes somewhere moves the valve when control power dies.
    if (require !== undefined || (pilot === 'spring offset' && offset !== 0)) return;
    const why = pilot === 'spring offset' ? 'its pilot has no offset given' : `its pilot is ${pilot}`;
    add('stays on a trip', `${tag} stays where it is on a trip, and nothing returns it: ${why}`, {}, [
      `${at}.onTrip`,
      ...pilotPaths,
    ]);
    return;
  }

  const needed_s = (power.undervoltage_ticks + valve.tripDelay_ticks) * tick_s;
  const blocks = pilot === 'detented' ? 'stays as it is' : 'blocks both lines';
  if (pilot !== 'spring offset') {
    if (tripByControl) {
      add(
        'trip without control power',
        `${tag} trips when control power is lost, and its ${pilot} pilot then ${blocks}: it would not move`,
        {},
        [`${at}.trip.source`, ...pilotPaths],
      );
    } else if (held_s <= needed_s) {
      add(
        'trip without control power',
        `${tag} has a ${pilot} pilot that ${blocks} without control power, which is held for ${time(held_s)}, and the trip comes ${time(needed_s)} after the mains are lost: it would not move`,
        { held_s, needed_s },
        ['power.controlPowerHeld', `${at}.trip.delay`, ...pilotPaths],
      );
    }
  }

  const last = strokes[strokes.length - 1];
  if (strokes.length > 1) {
    const stroke_s = (require?.longest_s ?? 0) + valve.pause_ticks * tick_s;
    const last_s = needed_s + (strokes.length - 1) * stroke_s;
    if (tripByControl || held_s <= last_s) {
      const why = tripByControl
        ? 'it trips only when control power is lost'
        : `control power is held for ${time(held_s)}, and the last may be commanded ${time(last_s)} after the mains are lost`;
      add(
        'sequence outlasts control power',
        `not all ${strokes.length} strokes of ${tag} will be commanded: ${why}`,
        tripByControl ? {} : { held_s, lastCommanded_s: last_s },
        ['power.controlPowerHeld', `${at}.sequence`, ...(tripByControl ? [`${at}.trip.source`] : [])],
      );
    }
  }
  if (pilot === 'spring offset' && offset !== 0 && offset !== last) {
    add(
      'pilot against the trip',
      `the trip leaves ${tag} ${word(last)}, and when control power dies (${time(held_s)} after the mains) the spring of its pilot takes it ${word(offset)}`,
      { held_s },
      [`${at}.pilot.offset`, `${at}.sequence`, `${at}.onTrip`, ...pilotPaths],
    );
  }
}

/** Valves without a requirement give no verdict; a requirement that nothing tests gives none either. */
function findRequirement({ units, add }: Look, valve: ValvePlant, i: number): void {
  const { tag, strokes, require, pipeline } = valve;
  const at = `valves.${i}`;
  if (require === undefined) {
    if (strokes.length > 0) add('no requirement', `${tag} strokes on a trip, but nothing is required of it`, {}, [at]);
    return;
  }
  if (strokes.length === 0) {
    add('requirement without stroke', `${tag} stays on a trip, so its requirement is never tested`, {}, [
      `${at}.require`,
      `${at}.onTrip`,
    ]);
  } else if (Math.abs(valve.position - valve.targets[0]) < 1e-9) {
    add(
      'already at the trip end',
      `${tag} starts ${word(strokes[0])}, where its trip takes it: its stroke proves nothing`,
      {},
      [`${at}.position`, `${at}.onTrip`],
    );
  }
  // A closure within the pipe period surges as high as any.
  if (pipeline === undefined || !strokes.includes(-1)) return;
  const period = pipePeriod(pipeline);
  if (require.shortest_s >= period) return;
  const time = (s: number) => formatQuantity(s, 'time', units);
  const asked = require.shortest_s > 0 ? `may close in ${time(require.shortest_s)}` : 'may close as fast as it likes';
  add(
    'shortest under pipe period',
    `${tag} ${asked}, and its pipeline has a period of ${time(period)}: within that the surge is as high as of a sudden closure`,
    { shortest_s: require.shortest_s, pipePeriod_s: period },
    [`${at}.require.shortest`, `${at}.require`, `${at}.pipeline`],
  );
}

function findMains({ plant, add }: Look): void {
  const required = plant.valves.filter((v) => v.require !== undefined && v.strokes.length > 0);
  const lost = [...plant.actions, ...plant.steps].some((x) => x.action === 'lose mains');
  if (required.length === 0 || lost) return;
  const what = required.length === 1 ? 'the stroke required of a valve is' : 'the strokes required of valves are';
  add('mains never lost', `the mains are not lost in this file, so ${what} never tripped`, {}, ['power', 'valves']);
}
