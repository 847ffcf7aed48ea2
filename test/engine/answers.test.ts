/** The closed forms that runs are held to, against figures computed by three other routes. */
import { describe, test } from 'vitest';
import { close } from '../support/close.ts';
import { charging, constantFlow, discharging, exponentialVolume, heldVolume } from '../support/closedForms.ts';

const bar = 1e5;

describe('closed forms (derived: Kummer series, quadrature, stiff integration, agreeing to 1e-11; 12 digits)', () => {
  const base = {
    volume_m3: 0.6,
    flow_m3_s: 0.01,
    tau_s: 30,
    temperature_K: 293.15,
    wall_K: 293.15,
    pressure_Pa: 40 * bar,
  };
  test.each([
    [10, 278.280785964, 32.5466672992],
    [20, 270.112438119, 27.6424122243],
    [30, 265.952205127, 24.1925935643],
    [40, 264.196093109, 21.6295624582],
  ])('outflow 0.01 m3/s with tau 30 s, after %i s', (t, T, p) => {
    close(constantFlow(base, t).temperature_K, T, 1e-11);
    close(constantFlow(base, t).pressure_Pa, p * bar, 1e-11);
  });
  test('mean exponent of that expansion 1.2035779; slow outflow 0.0005 m3/s after 800 s', () => {
    close(Math.log(40 / (constantFlow(base, 40).pressure_Pa / bar)) / Math.log(1 / 0.6), 1.2035779, 1e-7);
    const slow = constantFlow({ ...base, flow_m3_s: 0.0005 }, 800);
    close(slow.temperature_K, 291.3748743, 1e-11);
    close(slow.pressure_Pa, 23.8546716125 * bar, 1e-11);
  });
  test.each([
    [50, 299.342960193, 27.2300151406],
    [100, 301.323493815, 30.836448284],
    [200, 304.252482385, 41.5149216967],
  ])('refill 0.002 m3/s into 1 m3 at 24 bar, after %i s', (t, T, p) => {
    const refill = { ...base, volume_m3: 1, flow_m3_s: -0.002, pressure_Pa: 24 * bar };
    close(constantFlow(refill, t).temperature_K, T, 1e-11);
    close(constantFlow(refill, t).pressure_Pa, p * bar, 1e-10);
  });
  test.each([
    [30, 282.498452913, 23.127964762],
    [60, 289.23151481, 23.679196164],
    [150, 292.95491011, 23.984028117],
  ])('pressure recovers after the stop, %i s later', (t, T, p) => {
    const state = heldVolume(constantFlow(base, 40), 293.15, 30, t);
    close(state.temperature_K, T, 1e-11);
    close(state.pressure_Pa, p * bar, 1e-10);
  });
  test('exponential volume, charged and discharged receivers', () => {
    const start = { temperature_K: 293.15, pressure_Pa: 40 * bar };
    const grown = exponentialVolume(start, 293.15, 30, 80, 40);
    close(grown.temperature_K, 263.165155439, 1e-11);
    close(grown.pressure_Pa, 21.779667111 * bar, 1e-10);
    const cv = 287.05 / 0.4;
    const full = (p: number) => (2 * p * bar) / (287.05 * 293.15);
    const in_ = charging(
      { temperature_K: 293.15, pressure_Pa: 6 * bar },
      293.15,
      320,
      60 / (0.01 * cv),
      1 + 6 / full(6),
    );
    close(in_.temperature_K, 309.074306311, 1e-10);
    close(in_.pressure_Pa, 8.987521541 * bar, 1e-9);
    const out = discharging(
      { temperature_K: 293.15, pressure_Pa: 10 * bar },
      293.15,
      60 / (0.05 * cv),
      1 - 10 / full(10),
    );
    close(out.temperature_K, 254.815860062, 1e-10);
    close(out.pressure_Pa, 5.035092399 * bar, 1e-9);
  });
  test('limits: no exchange is the adiabat, endless exchange the isotherm', () => {
    close(constantFlow({ ...base, tau_s: 1e12 }, 40).temperature_K, 293.15 * 0.6 ** 0.4, 1e-9);
    close(constantFlow({ ...base, tau_s: 0.2 }, 40).temperature_K, 293.15, 1e-2);
  });
});
