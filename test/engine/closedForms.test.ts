/**
 * The air space in a whole run against answers in closed form, to 1e-6, over ranges; single figures of the same kind are
 * among the checks (scenarios/checks/runs.ts). The formulas are stated here and in support/closedForms.ts, derived from
 * the first law for an ideal gas.
 */
import { describe, expect, test } from 'vitest';
import { airOpened, airRows, type BareTank, CONSTANT_WALL, endOf, rowAt } from '../../scenarios/checks/bareTank.ts';
import { close } from '../support/close.ts';
import { constantFlow, exponentialVolume } from '../support/closedForms.ts';

const bar = 1e5;
const R = 287.0528;
const GAMMA = 1.4;

const wallExchange = (duration_s: number, tau_s = 30): BareTank => ({
  heat: { exchange: 'time constant', timeConstant: `${tau_s} s`, ...CONSTANT_WALL },
  tank_m3: 1.2,
  oil_m3: 0.6,
  pressure_bar: 40,
  duration_s,
});

// Between adiabatic and isothermal, over two decades of the time constant. Observed 8e-9 or better.
test.each([0.5, 3, 30, 300])('oil pushed out at a constant flow, tau %f s', (tau_s) => {
  const c = { volume_m3: 0.6, flow_m3_s: 0.01, tau_s, temperature_K: 293.15, wall_K: 293.15, pressure_Pa: 40 * bar };
  for (const r of airOpened(wallExchange(50, tau_s), { oilFlow: () => 0.01 }, [5, 17, 29, 50])) {
    const x = constantFlow(c, r.time_s);
    close(r.oil_m3, 0.6 - 0.01 * r.time_s, 1e-9);
    close(r.temperature_K, x.temperature_K, 1e-6);
    close(r.pressure_Pa, x.pressure_Pa, 1e-6);
  }
});

// Observed 4e-10.
test.each([20, 80, 400])('a volume of air that grows as e^(t/%i s)', (theta_s) => {
  const start = { temperature_K: 293.15, pressure_Pa: 40 * bar };
  const times = [theta_s / 8, theta_s / 4, theta_s / 2];
  for (const r of airOpened(wallExchange(200), { oilFlow: (V) => V / theta_s }, times)) {
    const x = exponentialVolume(start, 293.15, 30, theta_s, r.time_s);
    close(r.temperature_K, x.temperature_K, 1e-6);
    close(r.pressure_Pa, x.pressure_Pa, 1e-6);
  }
});

// Air and wall as two stores with a conductance between them and one to ambient: two exponentials. Observed 1e-9.
test('volume held, with a wall of its own heat capacity losing heat to ambient', () => {
  const [hA, C, UA, Ta, T0, W0, V, p0] = [14, 122_500, 20, 293.15, 260, 300, 0.4, 9 * bar];
  const a = hA / (((p0 * V) / (R * T0)) * (R / (GAMMA - 1)));
  const b = hA / C;
  const c = UA / C;
  // u' = a (w - u), w' = b (u - w) - c w, both over ambient
  const root = Math.sqrt((a + b + c) ** 2 / 4 - a * c);
  const [l1, l2] = [-(a + b + c) / 2 + root, -(a + b + c) / 2 - root];
  const [u0, w0] = [T0 - Ta, W0 - Ta];
  // u = A e^(l1 t) + B e^(l2 t), w = u + u'/a
  const B = (a * (w0 - u0) - l1 * u0) / (l2 - l1);
  const A = u0 - B;
  const rows = airRows({
    heat: {
      exchange: 'conductance',
      conductance: `${hA} W/K`,
      wallHeatCapacity: `${C} J/K`,
      ambientConductance: `${UA} W/K`,
    },
    tank_m3: 1,
    oil_m3: 0.6,
    pressure_bar: 9,
    air_K: T0,
    wall_K: W0,
    duration_s: 3600,
    sample_s: 600,
  });
  for (let t = 600; t <= 3600; t += 600) {
    const u = A * Math.exp(l1 * t) + B * Math.exp(l2 * t);
    const w = u + (A * l1 * Math.exp(l1 * t) + B * l2 * Math.exp(l2 * t)) / a;
    close(rowAt(rows, t).temperature_K, Ta + u, 1e-6);
    close(rowAt(rows, t).wall_K, Ta + w, 1e-6);
  }
});

// A vessel blowing down through a choked nozzle, tc = m0/w0: without heat T = T0 (1 + (gamma-1)/2 t/tc)^-2 and
// p = p0 (T/T0)^(gamma/(gamma-1)); at constant temperature p = p0 e^(-t/tc). Derived from dm/dt ~ p/sqrt(T); a classic of
// gas dynamics (from memory). Observed 3e-10 or better.
describe('air lost through a choked nozzle', () => {
  const [p0, T0, V] = [11 * bar, 310, 0.9];
  const check = (heat: string, tc: number, end: { pressure_Pa: number; temperature_K: number }, t: number) => {
    const ratio = heat === 'adiabatic' ? (1 + (((GAMMA - 1) / 2) * t) / tc) ** -2 : 1;
    close(end.temperature_K, T0 * ratio, 1e-6);
    close(end.pressure_Pa, p0 * (heat === 'adiabatic' ? ratio ** (GAMMA / (GAMMA - 1)) : Math.exp(-t / tc)), 1e-6);
  };
  const tank = (exchange: string, duration_s: number, more: Record<string, unknown>): BareTank => ({
    heat: { exchange },
    tank_m3: 1.4,
    oil_m3: 0.5,
    pressure_bar: 11,
    air_K: T0,
    duration_s,
    more,
  });

  // Measured as a fall of 600 Pa/s at 8 bar, ambient temperature: w = V (dp/dt)/(R T) there, and w ~ p/sqrt(T).
  test.each(['adiabatic', 'isothermal'])('a leak, %s', (exchange) => {
    const leak = { leaks: { air: { fall: '600 Pa/s', at: '8 bara' } } };
    const w0 = ((V * 600) / (R * 293.15)) * (11 / 8) * Math.sqrt(293.15 / T0);
    for (const t of [30, 120, 300]) check(exchange, (p0 * V) / (R * T0) / w0, endOf(tank(exchange, t, leak)), t);
  });

  // Open from the start and at full lift throughout: Cd A p0 sqrt(gamma/(R T0)) (2/(gamma+1))^((gamma+1)/(2(gamma-1))).
  test.each(['adiabatic', 'isothermal'])('a safety valve at full lift, %s', (exchange) => {
    const valve = {
      set: '10.9 bara',
      fullLift: '10.9 bara',
      reseat: '1.1 bara',
      bore: '3 mm',
      dischargeCoefficient: 0.8,
    };
    const area = 0.8 * (Math.PI / 4) * 0.003 ** 2;
    const w0 = area * p0 * Math.sqrt(GAMMA / (R * T0)) * (2 / (GAMMA + 1)) ** ((GAMMA + 1) / (2 * (GAMMA - 1)));
    // full lift ends at 10.9 bar: compared before that
    const end = endOf(tank(exchange, 2, { safetyValve: valve }));
    expect(end.pressure_Pa).toBeGreaterThan(10.9 * bar);
    check(exchange, (p0 * V) / (R * T0) / w0, end, 2);
  });
});
