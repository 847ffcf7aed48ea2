/**
 * Random plants with drives, springs, cushions and strokes that end part way: whatever they do, the ledgers close, no
 * slot leaves its bounds (runPlant checks both at every sample) and skipping quiet scans changes no bit. And the oil
 * network with cylinders that have oil on one side only, against its own equations.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EventCode } from '../../models/events.ts';
import { branch, createNetwork } from '../../models/network.ts';
import { compileLine, drop } from '../../models/pipe.ts';
import { runPlant } from '../../scenarios/run.ts';
import { loneValve } from '../support/loneValve.ts';
import { part, randomValve, resistance } from '../support/randomValve.ts';

describe('random plants', () => {
  const cases = fc
    .record({
      valves: fc.array(randomValve, { minLength: 1, maxLength: 4 }),
      header: resistance,
      oil: part(0.02, 0.25),
      held: part(5, 80),
    })
    .map(({ valves, header, oil, held }) => {
      const tank = { volume: '0.6 m^3', outletLevel: '10 mm', heat: { exchange: 'adiabatic' } };
      const start = { pressure: '10 barg', oil: `${oil} m^3` };
      const power = { lostAt: '0 s', controlPowerHeld: `${held} s` };
      return loneValve(valves, { tank, start, power, header, returnMain: header }).scenario.plant;
    });

  test('ledgers close, bounds hold, and quiet scans can be skipped', () => {
    const seen = { bySpring: 0, againstSpring: 0, turned: 0, cushioned: 0, partWay: 0 };
    fc.assert(
      fc.property(cases, (plant) => {
        const options = { toTick: 6000, sampleTicks: 50 };
        const skipping = runPlant(plant, options);
        const every = runPlant(plant, { ...options, mode: 'everyTick' });
        const differing = skipping.unit.layout.slots.filter((_, k) => !Object.is(skipping.end[k], every.end[k]));
        expect(differing.map((slot) => slot.name)).toEqual([]);
        for (const { code, item, value, other } of skipping.events) {
          const v = plant.valves[item];
          if (code === EventCode.valveEnd && other > 0 && other < 1 && value > 0) seen.partWay++;
          if (code !== EventCode.valveMoving) continue;
          if (v.load[0].torque !== undefined) seen.turned++;
          if (v.cushion !== undefined) seen.cushioned++;
          if (v.spring === undefined) continue;
          // Which way it set off: the last command before.
          const before = skipping.events.findLast((e) => e.code === EventCode.valveCommanded && e.item === item);
          if (before?.value === v.spring.direction) seen.bySpring++;
          else seen.againstSpring++;
        }
      }),
      { seed: 5, numRuns: 100 },
    );
    // The cases contained what they are for.
    for (const [what, times] of Object.entries(seen)) expect(times, what).toBeGreaterThan(3);
  });
});

describe('network with cylinders that have oil on one side only', () => {
  const oil = { density_kg_m3: 870, viscosity_m2_s: 46e-6 };
  const log = (min: number, max: number) =>
    fc.double({ min: Math.log(min), max: Math.log(max), noNaN: true }).map(Math.exp);
  const pipe = fc.option(fc.record({ length_m: log(1, 50), diameter_m: log(0.01, 0.05) }), { nil: undefined });
  const line = fc
    .record({ linear: fc.oneof(fc.constant(0), log(1e5, 1e9)), quadratic: log(1e8, 1e12), pipe })
    .map(({ linear, quadratic, pipe: p }) =>
      compileLine(
        {
          linear_Pas_m3: linear,
          quadratic_Pas2_m6: quadratic,
          pipes: p === undefined ? [] : [{ ...p, roughness_m: 1e-5 }],
        },
        oil,
      ),
    );
  const piston = fc.record({
    kind: fc.constantFrom('both sides', 'by oil', 'by spring'),
    inArea: log(2e-3, 0.1),
    outArea: log(2e-3, 0.1),
    supply: line,
    back: line,
    pressure: log(1e3, 3e6),
  });

  test('every balance of forces is met', () => {
    fc.assert(
      fc.property(fc.array(piston, { minLength: 1, maxLength: 5 }), line, line, (pistons, header, main) => {
        const network = createNetwork(pistons.length, header, main);
        const active = Int32Array.from(pistons, (_, i) => i);
        pistons.forEach((p, i) => {
          const inArea = p.kind === 'by spring' ? 0 : p.inArea;
          const outArea = p.kind === 'by oil' ? 0 : p.outArea;
          network.branches[i] = branch(inArea, outArea, p.supply, p.back);
          network.drive[i] = p.pressure * (inArea > 0 ? inArea : outArea);
          // Far from cavitation.
          network.supplyPressure[i] = 1e8;
        });
        network.solve(active, pistons.length);
        let drawn = 0;
        let given = 0;
        pistons.forEach((p, i) => {
          const q = network.flow[i];
          drawn += p.kind === 'by spring' ? 0 : q;
          given += p.kind === 'by spring' ? q : p.kind === 'by oil' ? 0 : (q * p.outArea) / p.inArea;
        });
        const headerDrop = drop(header, drawn);
        const mainDrop = drop(main, given);
        pistons.forEach((p, i) => {
          const q = network.flow[i];
          const byOil = p.kind === 'by spring' ? 0 : (headerDrop + drop(p.supply, q)) * p.inArea;
          const out = p.kind === 'by spring' ? q : (q * p.outArea) / p.inArea;
          const back = p.kind === 'by oil' ? 0 : (mainDrop + drop(p.back, out)) * p.outArea;
          const drive = network.drive[i];
          // Held by its non-return valve, or moving in balance. The solver closes to 3e-9 and once more by Newton.
          if (q === 0) expect(drive - byOil - back).toBeLessThanOrEqual(1e-7 * drive);
          else expect(Math.abs(drive - byOil - back)).toBeLessThanOrEqual(1e-7 * drive);
        });
        expect(Math.abs(network.totals[0] - drawn)).toBeLessThanOrEqual(1e-7 * drawn);
        expect(Math.abs(network.totals[1] - given)).toBeLessThanOrEqual(1e-7 * given);
      }),
      { seed: 6, numRuns: 500 },
    );
  });
});
