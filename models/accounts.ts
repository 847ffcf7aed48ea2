import { type Account, account } from '../sim/ledger.ts';
import type { Parts } from './parts.ts';
import type { ValvePlant } from './plant.ts';

/** The accounts of the ledger: what each should hold, by the totals of what went in and out. */
export function createAccounts(parts: Parts): readonly Account[] {
  const { layout } = parts;
  const { tank, valves, pumps, compressors } = parts.plant;
  const fixedWall = tank.exchange === 'isothermal' || tank.exchange === 'polytropic';
  const nV = valves.length;
  const nP = pumps.length;
  const nC = compressors.length;
  const {
    energy,
    airMass,
    oil,
    wall,
    sump,
    dissolved,
    x,
    pumped,
    ranBack,
    compressed,
    safetyOut,
    airLeaked,
    oilLeaked,
    drained,
    vented,
    overflowed,
    wentIntoOil,
    leftWithOil,
    cameWithOil,
    ways,
    internal,
    enthalpyIn,
    enthalpyOut,
    work,
    heat,
    ambientHeat,
  } = parts.slots;

  const pathsOf = (i: number) => ways + 4 * i;
  // What compensated summation still owes counts: 1 - x of a valve that has only just left x = 1 has few digits without.
  const opened = (y: Float64Array, i: number) => y[x + i] - y[layout.rounding + x + i];
  const closed = (y: Float64Array, i: number) => 1 - y[x + i] + y[layout.rounding + x + i];
  const headVolume = (y: Float64Array, i: number) =>
    valves[i].headArea_m2 * valves[i].stroke_m * (valves[i].headOpens ? opened(y, i) : closed(y, i));
  const rodVolume = (y: Float64Array, i: number) =>
    valves[i].rodArea_m2 * valves[i].stroke_m * (valves[i].headOpens ? closed(y, i) : opened(y, i));
  const each = (n: number, f: (i: number) => (readonly [number, 1 | -1])[]) =>
    Array.from({ length: n }, (_, i) => f(i)).flat();
  // A spring-return cylinder has oil on the side that works against the spring.
  const oilOnHead = (v: ValvePlant) => v.spring === undefined || v.spring.direction < 0 === v.headOpens;
  const oilOnRod = (v: ValvePlant) => v.spring === undefined || !oilOnHead(v);
  return [
    account('oil in the tank', 'm3', (y) => y[oil], [
      ...each(nP, (j) => [
        [pumped + j, 1],
        [ranBack + j, -1],
      ]),
      ...each(nV, (i) => [
        [pathsOf(i), -1],
        [pathsOf(i) + 2, -1],
        [internal + i, -1],
      ]),
      [oilLeaked, -1],
      [drained, -1],
    ]),
    account('oil in the sump', 'm3', (y) => y[sump], [
      ...each(nP, (j) => [
        [pumped + j, -1],
        [ranBack + j, 1],
      ]),
      ...each(nV, (i) => [
        [pathsOf(i) + 1, 1],
        [pathsOf(i) + 3, 1],
        [internal + i, 1],
      ]),
      [drained, 1],
      [overflowed, -1],
    ]),
    ...valves.flatMap((v, i) => [
      account(
        `oil on the head side of ${v.tag}`,
        'm3',
        (y) => (oilOnHead(v) ? headVolume(y, i) : 0),
        [
          [pathsOf(i), 1],
          [pathsOf(i) + 1, -1],
        ],
        v.headArea_m2 * v.stroke_m,
      ),
      account(
        `oil on the rod side of ${v.tag}`,
        'm3',
        (y) => (oilOnRod(v) ? rodVolume(y, i) : 0),
        [
          [pathsOf(i) + 2, 1],
          [pathsOf(i) + 3, -1],
        ],
        v.rodArea_m2 * v.stroke_m,
      ),
    ]),
    account('air in the tank', 'kg', (y) => y[airMass], [
      ...each(nC, (j) => [[compressed + j, 1]]),
      [safetyOut, -1],
      [airLeaked, -1],
      [vented, -1],
      [wentIntoOil, -1],
    ]),
    account('air in the oil', 'kg', (y) => y[dissolved], [
      [wentIntoOil, 1],
      [leftWithOil, -1],
      [cameWithOil, 1],
    ]),
    account('energy of the air', 'J', (y) => y[energy], [
      [enthalpyIn, 1],
      [enthalpyOut, -1],
      [work, -1],
      [heat, 1],
    ]),
    ...(fixedWall
      ? []
      : [
          account('energy of the shell', 'J', (y) => tank.wallHeatCapacity_J_K * y[wall], [
            [ambientHeat, 1],
            [heat, -1],
          ]),
        ]),
  ];
}
