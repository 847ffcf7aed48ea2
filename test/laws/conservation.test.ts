import { assert } from 'vitest';
import { GAMMA, nozzleFlow, R_AIR } from '../../models/air.ts';
import { levelOf } from '../../models/geometry.ts';
import type { Plant } from '../../models/plant.ts';
import type { ScenarioValues } from '../../scenarios/scenario.ts';
import { firstBadSlot } from '../../sim/layout.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { LEDGER_CLOSURE } from '../../sim/tolerances.ts';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';
import { MOST_STEPS, runCase } from '../support/runCase.ts';

/**
 * Every step and its continuous extension give all slots the same weights, so a sum that the right-hand side keeps, each
 * rate beside the rates of its paths, is kept to rounding; what is placed at the end of a stroke is booked. The bounds:
 * oil leaves the tank only down to the outlet, where gas stops the strokes, and enters it only until it is full; air
 * leaves only towards ambient pressure; a piston is stopped at the ends of its way. Hence also volume, mass, pressure
 * and temperature above zero.
 */
law(
  'every ledger closes, every slot is finite and inside its bounds, pressure and temperature stay above zero',
  { runs: 80, seed: 101, show: showCase },
  randomScenario(),
  (c) => {
    runCase(c, {
      sampleTicks: c.sampleTicks,
      sample: (unit, y, start) => check(unit, y, start),
      settled: (unit, y, start) => check(unit, y, start),
    });
    function check(unit: ReturnType<typeof runCase>['unit'], y: Float64Array, start: Float64Array): void {
      const residual = worstResidual(unit.accounts, start, y);
      const { clock } = unit.layout;
      const at = `at ${y[clock.tick] * c.plant.tick_s + y[clock.offset]} s`;
      assert(residual.relative <= LEDGER_CLOSURE, `${residual.account} open by ${residual.relative} ${at}`);
      const bad = firstBadSlot(unit.layout, y);
      assert(bad === undefined, `${bad} ${at}`);
      assert(unit.gasPressure(y) > 0 && unit.gasTemperature(y) > 0, `pressure or temperature not above zero ${at}`);
      const level = levelOf(c.plant.tank.tables, y[unit.slots.oil]);
      assert(level >= 0 && level <= c.plant.tank.vessel.height_m, `level ${level} ${at}`);
    }
  },
);

/**
 * p V = (gamma - 1) U and dU = heat - p dV + what enters. Below ambient pressure neither leak lets anything out and the
 * safety valve is shut, so V grows only by oil that goes to cylinders; pumps and compressors only add. Over a piece of
 * a step that begins and ends below ambient, the pressure can then fall only if heat left the air, a cylinder drew oil or air went into solution.
 */
law(
  'below ambient the pressure falls only by cooling, by oil that cylinders draw or by air that dissolves, as the ledger shows',
  { runs: 60, seed: 102, show: showCase },
  randomScenario(),
  (c) => {
    let before: Float64Array | undefined;
    const ambient = c.plant.ambientPressure_Pa;
    runCase(c, {
      settled(unit, y) {
        const total = (account: string, sign: number, from: Float64Array) => {
          const paths = unit.accounts.find((a) => a.name === account)?.paths ?? [];
          return paths.reduce((sum, [slot, s]) => sum + Math.max(0, sign * s * (y[slot] - from[slot])), 0);
        };
        if (before !== undefined) {
          const p0 = unit.gasPressure(before);
          const p1 = unit.gasPressure(y);
          // Rounding of p, and one step's error.
          if (p0 <= ambient && p1 < p0 * (1 - 1e-8)) {
            const names = unit.layout.slots;
            const heatSlot = names.findIndex((s) => s.name === 'air.heat');
            const cooled = y[heatSlot] - before[heatSlot] < 0;
            const drawn = total('oil in the tank', -1, before) > 0;
            const dissolved = y[unit.slots.wentIntoOil] > before[unit.slots.wentIntoOil];
            assert(cooled || drawn || dissolved, `from ${p0} to ${p1} Pa without cooling and without oil drawn`);
          }
        }
        before = y.slice();
      },
    });
  },
);

/** No elevations, no load that helps a stroke, nothing pushed back. */
const withoutHelp = (v: ScenarioValues): ScenarioValues => {
  const force = (f: unknown): unknown =>
    typeof f === 'number'
      ? Math.abs(f)
      : (f as object[]).map((p) =>
          Object.fromEntries(Object.entries(p).map(([key, value]) => [key, key === 'at' ? value : Math.abs(value)])),
        );
  const { bottomElevation: _, ...tank } = v.tank;
  return {
    ...v,
    tank,
    valves: v.valves.map((w) => ({
      ...w,
      mayBePushedBack: false,
      load: { opening: force(w.load.opening), closing: force(w.load.closing) },
    })),
  } as ScenarioValues;
};

/**
 * With loads that oppose, level lines and no way back, a piston moves only while (p - p_ambient) A_in exceeds its load:
 * no oil leaves at or under ambient pressure. Without heat to or from a wall (adiabatic, isothermal and polytropic air
 * take what the process prescribes, nothing when V and m stand still) the pressure then never falls below ambient, or
 * below the start where that is lower.
 */
law(
  'without helping loads, elevations or a wall the pressure never falls below ambient',
  { runs: 40, seed: 103, show: showCase },
  randomScenario({
    adjust: (v) => {
      const plain = withoutHelp(v);
      const heat = { ...plain.tank.heat };
      if (heat.exchange !== 'isothermal' && heat.exchange !== 'polytropic') heat.exchange = 'adiabatic';
      return { ...plain, tank: { ...plain.tank, heat } };
    },
  }),
  (c) => {
    const floor = Math.min(c.plant.start.gasPressure_Pa, c.plant.ambientPressure_Pa);
    runCase(c, {
      settled(unit, y) {
        // A thousand steps at the relative step error of 1e-8.
        assert(unit.gasPressure(y) >= floor * (1 - 1e-5), `${unit.gasPressure(y)} Pa under ${floor} Pa`);
      },
    });
  },
);

/** A bore that passes at full lift all that machines and wall can bring in, at any temperature above LEAST_K. */
const LEAST_K = 100;
function ampleBore(plant: Plant, values: ScenarioValues, full_Pa: number): number {
  const { ambientPressure_Pa: pa, ambientTemperature_K: ta, ambient } = plant;
  const hottest = Math.max(
    ...(ambient.kind === 'steady'
      ? [ta]
      : ambient.kind === 'day'
        ? [ambient.mean_K + ambient.swing_K]
        : ambient.temperature_K),
  );
  const coldest = Math.min(
    ...(ambient.kind === 'steady'
      ? [ta]
      : ambient.kind === 'day'
        ? [ambient.mean_K - ambient.swing_K]
        : ambient.temperature_K),
  );
  const cp = (GAMMA * R_AIR) / (GAMMA - 1);
  let inflow = 0;
  for (const m of plant.compressors) {
    inflow +=
      m.freeAir_m3_s *
      (1 + m.clearance) *
      (pa / (R_AIR * coldest)) *
      cp *
      Math.max(hottest + m.coolerApproach_K, plant.start.gasTemperature_K);
  }
  for (const m of plant.pumps) inflow += (GAMMA / (GAMMA - 1)) * full_Pa * m.flow_m3_s;
  if (plant.tank.exchange === 'conductance') {
    inflow += plant.tank.exchangeValue * Math.max(plant.start.wallTemperature_K, plant.start.gasTemperature_K, hottest);
  }
  const perArea =
    nozzleFlow(full_Pa, LEAST_K, pa, 1) * cp * LEAST_K * (values.safetyValve?.dischargeCoefficient ?? 0.8);
  return Math.sqrt(((4 / Math.PI) * inflow) / perArea) + 1e-4;
}

/**
 * dp/dt = ((gamma - 1)(H_in - H_out + Q) - gamma p dV/dt)/V. A safety valve that at full lift carries away, at any
 * temperature, the enthalpy of all compressors, the work of all pumps and the heat of the hottest wall leaves dp/dt <= 0
 * at the full-lift pressure, so the pressure never passes it from below.
 */
law(
  'an ample safety valve holds the pressure at its full lift',
  { runs: 40, seed: 104, show: showCase },
  randomScenario({
    fix: {
      safetyValve: {
        tag: 0,
        set: 1,
        fullLift: 500,
        reseat: 200,
        bore: 0,
        dischargeCoefficient: 0,
      },
    },
    adjust: (v) => {
      const plain = withoutHelp(v);
      const heat = { ...plain.tank.heat };
      if (!['adiabatic', 'isothermal', 'conductance'].includes(heat.exchange)) heat.exchange = 'adiabatic';
      // Air that comes out of solution is left out of the sum.
      const dissolvedAir = { ...plain.tank.dissolvedAir, model: 'none' as const };
      return { ...plain, faults: [], tank: { ...plain.tank, dissolvedAir, heat } };
    },
    ample: (plant, values) => ampleBore(plant, values, values.safetyValve?.fullLift ?? 0),
  }),
  (c) => {
    const full = c.plant.safetyValve?.fullLift_Pa ?? 0;
    const ceiling = Math.max(full, c.plant.start.gasPressure_Pa);
    let cold = false;
    runCase(c, {
      settled(unit, y) {
        if (unit.gasTemperature(y) < LEAST_K) cold = true;
        if (cold || y[unit.layout.clock.steps] > MOST_STEPS) return;
        assert(unit.gasPressure(y) <= ceiling * (1 + 1e-6), `${unit.gasPressure(y)} Pa over ${ceiling} Pa`);
      },
    });
  },
);
