/** The state and the outputs of the whole unit: which number stands where. */
import { type Layout, layoutBuilder } from '../sim/layout.ts';
import { type Adjust, createAdjust } from './adjust.ts';
import { CV_AIR, R_AIR } from './air.ts';
import type { Comparison } from './condition.ts';
import { type MotionSlots, motionSlots } from './motion.ts';
import { createPanel, type Panel } from './panel.ts';
import type { MotorPlant, Plant } from './plant.ts';
import { createTrip, type Trip } from './trip.ts';

/** Slots of the physics. */
export interface UnitSlots {
  readonly energy: number;
  readonly airMass: number;
  readonly oil: number;
  readonly wall: number;
  readonly sump: number;
  /** Air in solution in the tank oil, kg. */
  readonly dissolved: number;
  /** First of one position per valve. */
  readonly x: number;
  readonly safetyOpen: number;
  readonly gasInHeader: number;
  readonly sumpDry: number;
  readonly sumpFull: number;
  readonly outletShut: number;
  /** First totals of each kind. */
  readonly pumped: number;
  /** First of one per pump: oil that ran back through its check valve, m3. */
  readonly ranBack: number;
  readonly compressed: number;
  /** Water drained at each compressor, kg. */
  readonly condensate: number;
  readonly motorEnergy: number;
  /** First of one per motor: heat in its overload relay when it last ran. */
  readonly relayHeat: number;
  readonly safetyOut: number;
  readonly airLeaked: number;
  readonly oilLeaked: number;
  /** Oil over the brim of the sump, m3. */
  readonly overflowed: number;
  /** Air that went into solution, left with oil, and came with fresh oil, kg. */
  readonly wentIntoOil: number;
  readonly leftWithOil: number;
  readonly cameWithOil: number;
  readonly drained: number;
  readonly vented: number;
  /** First of four per valve: tank to head side, head side to sump, tank to rod side, rod side to sump, m3. */
  readonly ways: number;
  /** First of one per valve: oil past its piston, m3. */
  readonly internal: number;
  readonly enthalpyIn: number;
  readonly enthalpyOut: number;
  readonly work: number;
  readonly heat: number;
  readonly ambientHeat: number;
  readonly tankFull: number;
  readonly nextAction: number;
  /** Tick at which a study cuts the mains, beside what the actions of the plant do; -1 for never. */
  readonly cutAt: number;
  /** A scan wanted although no contact moves, -1 for none. */
  readonly scanAt: number;
  readonly comparisonRaw: number;
  /** First of one per motor: isolation valve shut by hand. */
  readonly shut: number;
  readonly stepAt: number;
  readonly stepSince: number;
}

/** Places in the outputs of the right-hand side. */
export interface UnitOutputs {
  readonly gasPressure: number;
  readonly gasTemperature: number;
  readonly headerPressure: number;
  readonly returnPressure: number;
  readonly headerFlow: number;
  readonly returnFlow: number;
  readonly safetyFlow: number;
  readonly oilLeak: number;
  readonly airLeak: number;
  readonly ambientTemperature: number;
  /** First of one per valve: flow into the cylinder, or out of it where its spring drives. */
  readonly valveFlow: number;
  /** Pressures and spring together, N. */
  readonly thrust: number;
  readonly cavitating: number;
  /** What a piston's own flow costs it in header and return main, N; not less than stopping it would give back. */
  readonly ownDrop: number;
  /** First of one per pump / compressor. */
  readonly pumpFlow: number;
  readonly reliefFlow: number;
  readonly airFlow: number;
}

/** Everything a unit is made of, before anything acts: plant, slots, and the places of the outputs. */
export interface Parts {
  readonly plant: Plant;
  readonly layout: Layout;
  readonly slots: UnitSlots;
  readonly out: UnitOutputs;
  readonly outputs: Float64Array;
  readonly motion: MotionSlots;
  readonly panel: Panel;
  readonly trip: Trip;
  readonly adjust: Adjust;
  readonly comparisons: readonly Comparison[];
  /** Pumps, then compressors. */
  readonly motors: readonly MotorPlant[];
  /** Takes what the layout says of sizes from the plant anew. */
  refit(): void;
}

/** Lays out the state and the outputs of a plant. */
export function createParts(plant: Plant): Parts {
  const { tank, valves, pumps, compressors, start } = plant;
  const motors: readonly MotorPlant[] = [...pumps, ...compressors];
  const nV = valves.length;
  const nP = pumps.length;
  const nC = compressors.length;
  const BIG = Number.MAX_SAFE_INTEGER;

  // ---- Slots. Sizes of stocks are put in by refit, at the end.
  const b = layoutBuilder();
  const energy = b.integrated({ name: 'air.energy', unit: 'J', min: 0, max: Infinity, scale: 1 });
  const airMass = b.integrated({ name: 'air.mass', unit: 'kg', min: 0, max: Infinity, scale: 1 });
  // A tank drained to its floor is empty but for a rounding either way.
  const oil = b.integrated({
    name: 'tank.oil',
    unit: 'm3',
    min: -1e-12 * tank.volume_m3,
    max: tank.volume_m3,
    scale: 1,
  });
  const wall = b.integrated({ name: 'shell.temperature', unit: 'K', min: 0, max: 2000, scale: 300 });
  const sump = b.integrated({
    name: 'sump.oil',
    unit: 'm3',
    min: -Infinity,
    max: Infinity,
    scale: 1,
  });
  const dissolved = b.integrated({ name: 'oil.air', unit: 'kg', min: -1e-9, max: Infinity, scale: 1 });
  const x = b.size();
  for (const v of valves) b.integrated({ name: `${v.tag}.position`, unit: '1', min: 0, max: 1, scale: 1 });
  const relayHeat = b.size();
  // A relay that trips a few milliseconds sooner or later is as good: no steps are spent on more.
  for (const m of motors) b.integrated({ name: `${m.tag}.relayHeat`, unit: '1', min: 0, max: Infinity, scale: 100 });
  const pumped = b.size();
  for (const p of pumps) b.total(`${p.tag}.pumped`, 'm3');
  const ranBack = b.size();
  for (const p of pumps) b.total(`${p.tag}.ranBack`, 'm3');
  const compressed = b.size();
  for (const c of compressors) b.total(`${c.tag}.delivered`, 'kg');
  const condensate = b.size();
  for (const c of compressors) b.total(`${c.tag}.condensate`, 'kg');
  const motorEnergy = b.size();
  for (const m of motors) b.total(`${m.tag}.work`, 'J');
  const safetyOut = b.total('safetyValve.blown', 'kg');
  const airLeaked = b.total('air.leaked', 'kg');
  const oilLeaked = b.total('oil.leaked', 'm3');
  const drained = b.total('oil.drained', 'm3');
  const vented = b.total('air.vented', 'kg');
  const overflowed = b.total('sump.overflowed', 'm3');
  const wentIntoOil = b.total('air.wentIntoOil', 'kg');
  const leftWithOil = b.total('air.leftWithOil', 'kg');
  const cameWithOil = b.total('air.cameWithOil', 'kg');
  // Four ways for the oil of each cylinder: tank -> head side, head side -> sump, tank -> rod side, rod side -> sump.
  const ways = b.size();
  for (const v of valves)
    for (const w of ['tankToHead', 'headToSump', 'tankToRod', 'rodToSump']) b.total(`${v.tag}.${w}`, 'm3');
  const internal = b.size();
  for (const v of valves) b.total(`${v.tag}.internalLeak`, 'm3');
  const enthalpyIn = b.total('air.enthalpyIn', 'J');
  const enthalpyOut = b.total('air.enthalpyOut', 'J');
  const work = b.total('air.work', 'J');
  const heat = b.total('air.heat', 'J');
  const ambientHeat = b.total('shell.heatFromAmbient', 'J');

  const safetyOpen = b.discrete('safetyValve.open', 'bit', 0, 1);
  const gasInHeader = b.discrete('header.gas', 'bit', 0, 1);
  const sumpDry = b.discrete('sump.dry', 'bit', 0, 1);
  const sumpFull = b.discrete('sump.full', 'bit', 0, 1);
  const outletShut = b.discrete('outlet.shut', 'bit', 0, 1);
  const tankFull = b.discrete('tank.full', 'bit', 0, 1);
  const nextAction = b.discrete('actions.next', '1', 0, BIG);
  const cutAt = b.discrete('mains.cutAt', 'tick', -1, BIG);
  const scanAt = b.discrete('scan.at', 'tick', -1, BIG);
  const motion = motionSlots(b, valves);
  const panel = createPanel(plant, b, relayHeat);
  const trip = createTrip(plant, b, panel.slots, motion);
  const adjust = createAdjust(plant, b);
  const comparisons = plant.conditions.flatMap((c) => c.comparisons);
  const comparisonRaw = b.size();
  comparisons.forEach((_, k) => {
    b.discrete(`condition.${k}`, 'bit', 0, 1);
  });
  const shut = b.size();
  for (const m of motors) b.discrete(`${m.tag}.isolatedByHand`, 'bit', 0, 1);
  const stepAt = b.discrete('step.at', '1', 0, BIG);
  const stepSince = b.discrete('step.since', 'tick', -1, BIG);
  const layout = b.build();

  // ---- Outputs
  let place = 0;
  const take = (n: number) => {
    const at = place;
    place += n;
    return at;
  };
  const out: UnitOutputs = {
    gasPressure: take(1),
    gasTemperature: take(1),
    headerPressure: take(1),
    returnPressure: take(1),
    headerFlow: take(1),
    returnFlow: take(1),
    safetyFlow: take(1),
    oilLeak: take(1),
    airLeak: take(1),
    ambientTemperature: take(1),
    valveFlow: take(nV),
    thrust: take(nV),
    cavitating: take(nV),
    ownDrop: take(nV),
    pumpFlow: take(nP),
    reliefFlow: take(nP),
    airFlow: take(nC),
  };
  const outputs = new Float64Array(place);

  const slots: UnitSlots = {
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
    condensate,
    motorEnergy,
    relayHeat,
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
    safetyOpen,
    gasInHeader,
    sumpDry,
    sumpFull,
    outletShut,
    tankFull,
    nextAction,
    cutAt,
    scanAt,
    comparisonRaw,
    shut,
    stepAt,
    stepSince,
  };
  function refit(): void {
    const { gasPressure_Pa, oilVolume_m3, gasTemperature_K } = start;
    const air_kg = (gasPressure_Pa * (tank.volume_m3 - oilVolume_m3)) / (R_AIR * gasTemperature_K);
    for (const slot of [airMass, dissolved]) layout.slots[slot].scale = air_kg;
    layout.slots[energy].scale = air_kg * CV_AIR * gasTemperature_K;
    layout.slots[oil].scale = tank.volume_m3;
    layout.slots[sump].scale = plant.sump.capacity_m3;
  }

  refit();
  return { plant, layout, slots, out, outputs, motion, panel, trip, adjust, comparisons, motors, refit };
}
