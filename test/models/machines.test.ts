/** Pump, compressor and safety valve: answers by hand, and laws they must obey. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { nozzleFlow, R_AIR } from '../../models/air.ts';
import {
  type Compressor,
  deliveryTemperature,
  solveCompressor,
  volumetricEfficiency,
} from '../../models/compressor.ts';
import { compileLine, drop, type LineSpec } from '../../models/pipe.ts';
import { coldSuctionFactor, type Pump, reliefSlope, slipPerPressure, solvePump } from '../../models/pump.ts';
import { type SafetyValve, safetyValveFlow, safetyValveLift } from '../../models/safetyValve.ts';
import { close } from '../support/close.ts';

const bar = 1e5;
const atm = 101_325;

const oil = { density_kg_m3: 870, viscosity_m2_s: 46e-6 };
const pump: Pump = {
  flow_m3_s: 5e-4,
  slip_m3_sPa: slipPerPressure(0.08, 5e-4, 12 * bar, 46e-6, 46e-6),
  crackingPressure_Pa: 14 * bar,
  reliefSlope_m3_sPa: reliefSlope(14 * bar, 15.5 * bar, 5e-4),
  efficiency: 0.85,
};
const plainLine = compileLine({ linear_Pas_m3: 2e7, quadratic_Pas2_m6: 5e10 }, oil);
const out = new Float64Array(4);

describe('discharge node of a pump', () => {
  test('into a tank below cracking: flow, slip and pressure by hand', () => {
    // no line resistance: P = 9 bar, slip 0.08 x 9/12 = 6 %, 4.7e-4 m3/s; shaft 9 bar x 5e-4/0.85
    solvePump(pump, compileLine({}, oil), true, 1, 1, 9 * bar + atm, atm, out);
    close(out[0]!, 4.7e-4, 1e-13);
    expect(out[1]).toBe(0);
    close(out[2]!, 9 * bar + atm, 1e-13);
    close(out[3]!, (9 * bar * 5e-4) / 0.85, 1e-13);
  });

  test('blocked line: everything over the relief, also beyond its full flow', () => {
    solvePump(pump, plainLine, false, 1, 1, 9 * bar + atm, atm, out);
    expect(out[0]).toBe(0);
    // 5e-4 - slip P = g (P - 14 bar) by hand
    const P = (5e-4 + pump.reliefSlope_m3_sPa * 14 * bar) / (pump.slip_m3_sPa + pump.reliefSlope_m3_sPa);
    close(out[2]!, P + atm, 1e-13);
    close(out[1]!, 5e-4 - pump.slip_m3_sPa * P, 1e-12);
    const weak: Pump = { ...pump, reliefSlope_m3_sPa: pump.reliefSlope_m3_sPa / 10, slip_m3_sPa: 0 };
    solvePump(weak, plainLine, false, 1, 1, 9 * bar + atm, atm, out);
    close(out[1]!, 5e-4, 1e-12);
    close(out[2]!, 14 * bar + 15 * bar + atm, 1e-12); // ten times the 1.5 bar of rise
  });

  test('tank above cracking: the check valve stays shut', () => {
    solvePump(pump, plainLine, true, 1, 1, 20 * bar + atm, atm, out);
    expect(out[0]).toBe(0);
    expect(out[2]!).toBeLessThan(20 * bar + atm);
    expect(out[1]!).toBeGreaterThan(0);
  });

  test('standstill, or dry: nothing flows', () => {
    for (const [speed, fill] of [
      [0, 1],
      [1, 0],
    ] as const) {
      solvePump(pump, plainLine, true, speed, fill, 9 * bar + atm, atm, out);
      expect([...out]).toEqual([0, 0, atm, 0]);
    }
  });

  test('slip: in proportion to pressure, against viscosity; cold suction derates', () => {
    close(slipPerPressure(0.08, 5e-4, 12 * bar, 46e-6, 23e-6) * 6 * bar, 0.08 * 5e-4, 1e-14);
    expect(coldSuctionFactor(500e-6, 800e-6)).toBe(1);
    expect(coldSuctionFactor(1600e-6, 800e-6)).toBe(0.5);
    expect(() => reliefSlope(10, 10, 1)).toThrow('cracking');
  });

  const anyLine: fc.Arbitrary<LineSpec> = fc.record({
    linear_Pas_m3: fc.double({ min: 0, max: 1e10, noNaN: true }),
    quadratic_Pas2_m6: fc.double({ min: 0, max: 1e14, noNaN: true }),
    rise_m: fc.double({ min: -5, max: 8, noNaN: true }),
    pipes: fc.array(
      fc.record({
        length_m: fc.double({ min: 0, max: 40, noNaN: true }),
        diameter_m: fc.double({ min: 0.008, max: 0.05, noNaN: true }),
        roughness_m: fc.constant(4e-5),
      }),
      { maxLength: 2 },
    ),
  });
  test('whatever the line: volumes and pressures balance, relief and check valve keep their rules', () => {
    fc.assert(
      fc.property(
        anyLine,
        fc.double({ min: 0, max: 25, noNaN: true }),
        fc.double({ min: 0.01, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 0.3, noNaN: true }),
        (spec, tank_bar, speed, slip) => {
          const p: Pump = { ...pump, slip_m3_sPa: (slip * 5e-4) / (12 * bar) };
          const line = compileLine(spec, oil);
          const tank = tank_bar * bar + atm;
          solvePump(p, line, true, speed, 1, tank, atm, out);
          const [q, relief, discharge] = [out[0]!, out[1]!, out[2]!];
          const P = discharge - atm;
          // 1e-10 of the flow: 1e6 Pa are known to some 1e-10 Pa, times the relief slope
          expect(Math.abs(5e-4 * speed - p.slip_m3_sPa * P - q - relief)).toBeLessThanOrEqual(1e-10 * 5e-4);
          expect(Math.abs(relief - p.reliefSlope_m3_sPa * Math.max(0, P - 14 * bar))).toBeLessThanOrEqual(1e-16);
          const needed = tank + line.rise_Pa + drop(line, q);
          if (q > 0) close(discharge, needed, 1e-13);
          else expect(discharge).toBeLessThanOrEqual(needed);
          solvePump(p, line, true, speed, 1, tank + 1000, atm, out);
          expect(out[0]!).toBeLessThanOrEqual(q);
        },
      ),
      { seed: 51, numRuns: 2000 },
    );
  });
});

describe('compressor', () => {
  test('c 0.04, n 1.3: 0.84196 at ratio 8, nothing from ratio 69.1 on (derived)', () => {
    expect(Math.abs(volumetricEfficiency(8, 0.04, 1.3) - 0.84196)).toBeLessThanOrEqual(5e-6);
    expect(volumetricEfficiency(69.0, 0.04, 1.3)).toBeGreaterThan(0);
    expect(volumetricEfficiency(69.2, 0.04, 1.3)).toBe(0);
    // Near ambient: 1.05 - 0.05 x 1.5^0.8, and nothing gained where the flange is under ambient.
    expect(Math.abs(volumetricEfficiency(1.5, 0.05, 1.25) - 0.980842)).toBeLessThanOrEqual(1e-6);
    expect(volumetricEfficiency(0.5, 0.05, 1.25)).toBe(1);
    const c: Compressor = { freeAir_m3_s: 1e-3, clearance: 0.04, exponent: 1.3, efficiency: 0.6 };
    solveCompressor(c, 1, 80 * atm, atm, 293.15, out);
    expect([...out].slice(0, 3)).toEqual([0, 0, 0]);
  });

  test('rated free air: mass flow at ambient density, in thinner air in proportion (0.78456 at 2000 m, derived)', () => {
    const c: Compressor = { freeAir_m3_s: 2e-3, clearance: 0, exponent: 1.3, efficiency: 0.6 };
    solveCompressor(c, 1, 9 * bar, atm, 293.15, out);
    const sea = out[0]!;
    close(sea, (atm / (R_AIR * 293.15)) * 2e-3, 1e-14);
    solveCompressor(c, 1, 9 * bar, 79_495, 293.15, out);
    close(out[0]! / sea, 0.78456, 1e-4);
    solveCompressor(c, 0.25, 9 * bar, atm, 293.15, out);
    close(out[0]!, sea / 4, 1e-14);
    // against ambient pressure: unloaded, no work
    solveCompressor(c, 1, atm, atm, 293.15, out);
    expect(out[2]).toBe(0);
  });

  test('the cooler leaves the air at most so far above ambient', () => {
    expect(deliveryTemperature(293.15, atm, 10 * bar, 1.3, 15)).toBe(308.15);
    expect(deliveryTemperature(293.15, atm, atm, 1.3, 15)).toBe(293.15);
  });
});

describe('safety valve', () => {
  const valve: SafetyValve = {
    set_Pa: 13 * bar,
    reseat_Pa: 12.2 * bar,
    fullLift_Pa: 13.8 * bar,
    area_m2: 1e-4,
    dischargeCoefficient: 0.9,
  };
  test('shut it passes nothing; open its lift runs from reseat to full', () => {
    expect(safetyValveFlow(valve, false, 20 * bar, 300, atm)).toBe(0);
    expect(safetyValveLift(valve, true, 12 * bar)).toBe(0);
    expect(safetyValveLift(valve, true, 12.2 * bar)).toBe(0);
    expect(safetyValveLift(valve, true, 13 * bar)).toBeCloseTo(0.5, 12);
    expect(safetyValveLift(valve, true, 15 * bar)).toBe(1);
    expect(safetyValveFlow(valve, true, 15 * bar, 300, atm)).toBe(nozzleFlow(15 * bar, 300, atm, 0.9 * 1e-4));
    close(safetyValveFlow(valve, true, 13 * bar, 300, atm), nozzleFlow(13 * bar, 300, atm, 0.45 * 1e-4), 1e-12);
  });

  // API 520 critical flow of a gas, C = 0.03948 sqrt(k (2/(k+1))^((k+1)/(k-1))): 0.0270332 for k = 1.4, with
  // A [mm2] = W [kg/h]/(C Kd P1 [kPa]) sqrt(T Z/M) (formula read in `fluids`, fluids/safety_valve.py; figure derived)
  test('choked flow as API 520 sizes it, M 28.9647', () => {
    const flow = safetyValveFlow(valve, true, 15 * bar, 300, atm);
    const area = ((flow * 3600) / (0.0270332 * 0.9 * 1500)) * Math.sqrt(300 / 28.9647);
    close(area, 100, 2e-4); // 0.03948 is rounded to four digits
  });
});
