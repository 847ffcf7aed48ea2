/** Air that goes into the oil, leaves with it, and is missing in the tank. */
import { describe, expect, test } from 'vitest';
import { R_AIR } from '../../models/air.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { valve } from '../support/baseUnit.ts';
import { close } from '../support/close.ts';
import { advanced, changed, record } from '../support/recorded.ts';

const ALONE = { pumps: [], compressors: [] };
const NONE = { 'tank.dissolvedAir.model': 'none' };
const hour = 3600;
/** kg of air per m3 of oil and Pa, from 1.2923 kg/m3 of normal air, a Bunsen coefficient of 0.09 and 101325 Pa. */
const k = (1.2923 * 0.09) / 101_325;
const [T, OIL, AIR, AMBIENT] = [293.15, 0.325, 0.675, 101_325];

describe('towards saturation', () => {
  test('a run starts saturated, so that a quiet tank loses nothing', () => {
    const { unit, states } = advanced(ALONE, [0, 72 * hour]);
    const [start, end] = states;
    close(start[unit.slots.dissolved], k * 951_325 * OIL, 1e-9); // the diameter has ten digits
    close(unit.gasPressure(end), 951_325, 1e-12);
  });

  test.each([
    ['as it is', {}, 14_400],
    [
      'twice the solubility, an hour',
      { 'tank.dissolvedAir.solubility': '0.18', 'tank.dissolvedAir.still': '1 h' },
      3600,
    ],
  ])('an isothermal charge over degassed oil, %s: exponential in closed form', (_name, more, tau) => {
    const times = [0.5 * hour, 4 * hour, 20 * hour];
    const { unit, states } = advanced({ ...ALONE, ...more }, times, (y, u) => {
      y[u.slots.dissolved] = 0;
    });
    // (k V_oil p - m)/tau with p = (M - m) R T/V_air: m tends to S M/(1 + S), (1 + S)/tau a second (derived)
    const S = (tau === 3600 ? 2 : 1) * ((k * OIL * R_AIR * T) / AIR);
    const M = (951_325 * AIR) / (R_AIR * T);
    states.forEach((y, i) => {
      const m = ((S * M) / (1 + S)) * (1 - Math.exp((-(1 + S) * times[i]) / tau));
      close(y[unit.slots.dissolved], m, 1e-6); // steps of 1e-8
      close(y[unit.slots.airMass], M - m, 1e-7);
    });
  });

  test('at held pressure, much air over little oil: 63.2 % of it in one time constant', () => {
    const little = { ...ALONE, 'tank.outletLevel': '0 m', 'start.level': '1 mm', 'panel.level': {} };
    const { unit, states } = advanced(little, [4 * hour], (y, u) => {
      y[u.slots.dissolved] = 0;
    });
    // 1 - 1/e; the pressure gives way by the share that is dissolved, 5e-5
    close(states[0][unit.slots.dissolved] / (k * 951_325 * 0.0005), 0.6321206, 1e-4);
  });

  test('what goes in takes its enthalpy along, what comes out is at the oil temperature', () => {
    const insulated = { ...ALONE, 'tank.heat.exchange': 'adiabatic' };
    const run = (share: number) =>
      advanced(insulated, [0, 12 * hour], (y, u) => {
        y[u.slots.dissolved] *= share;
      });
    // discharge of an insulated charge: T ~ m^(gamma - 1) (textbook)
    const into = run(0);
    const [m0, m1] = into.states.map((y) => y[into.unit.slots.airMass]);
    expect(m1).toBeLessThan(0.97 * m0);
    close(into.unit.gasTemperature(into.states[1]), T * (m1 / m0) ** 0.4, 1e-7);
    // charging from a source at 40 degC: (T - gamma T_in) m is constant (textbook)
    const out = run(2);
    const [n0, n1] = out.states.map((y) => y[out.unit.slots.airMass]);
    expect(n1).toBeGreaterThan(1.03 * n0);
    const source = 1.4 * 313.15;
    close(out.unit.gasTemperature(out.states[1]), source + ((T - source) * n0) / n1, 1e-7);
  });

  test('faster while a pump feeds the tank: 4 h against 30 min', () => {
    const rateWith = (running: boolean, more = {}) => {
      const { unit, states } = advanced({ ...more }, [0], (y, u) => {
        y[u.slots.dissolved] = 0;
      });
      const y = states[0];
      y[unit.panel.slots.running] = running ? 1 : 0;
      const rate = new Float64Array(unit.layout.advanced);
      unit.derivative(0, y, rate);
      return rate[unit.slots.wentIntoOil];
    };
    close(rateWith(true) / rateWith(false), 8, 1e-12);
    // behind a shut valve it stirs nothing
    close(rateWith(true, { 'pumps.0.isolation': 'shut' }), rateWith(false), 1e-12);
  });

  test('a hand calculation on a closed charge needs it switched off', () => {
    const polytropic = { ...ALONE, 'tank.heat': { exchange: 'polytropic', exponent: 1.2 } };
    expect(changed(polytropic).faults).toContain('air dissolving in its oil');
    expect(changed({ ...polytropic, ...NONE }).faults).toBe('');
  });
});

describe('with the oil', () => {
  test('a stroke carries the air of its oil to the sump', () => {
    const closing = { ...ALONE, valves: [valve()], 'power.lostAt': '0 s' };
    const stroke = (Math.PI / 4) * (0.15 ** 2 - 0.04 ** 2) * 0.3;
    const { unit, end } = record(closing, 60);
    // the oil was saturated at the start; in a minute it gives off 0.01 % of what it holds
    close(end[unit.slots.leftWithOil], k * 951_325 * stroke, 1e-3);
    const off = record({ ...closing, ...NONE }, 60);
    expect(off.end[off.unit.slots.leftWithOil]).toBe(0);
  });

  // A cylinder that leaks some 10 L/h inside, pumps that bring the oil back, and compressors that hold the pressure.
  const month = {
    valves: [valve({ position: '0 %', onTrip: 'stays', internalLeak: { flow: '10 L/h', at: '8.5 bar' } })],
    actions: [{ at: '0 s', do: 'close valve', item: 'V-1' }],
  };
  test('a month of normal duty loses the air that the oil cycles carry away, and the compressors make it up', () => {
    const days = 30 * 86_400;
    const { unit, start, end, trace } = record(month, days, 600);
    const { slots } = unit;
    const lost = end[slots.leftWithOil] - end[slots.cameWithOil];
    // By hand: per time, k (p - c/k)/tau goes in where c = m/V, c Q leaves and k p_ambient Q comes, so that on average
    // c = (k p + (Q tau/V) k p_ambient)/(1 + Q tau/V).
    const column = (name: string) => trace!.columns.findIndex((c) => c.name === name);
    const mean = (name: string) => trace!.rows.reduce((sum, row) => sum + row[column(name)], 0) / trace!.rows.length;
    const flow = end[slots.pumped] + end[slots.pumped + 1];
    expect(flow).toBeGreaterThan(6.5);
    const Qtau = (flow / days) * 14_400;
    const share = Qtau / mean('tank oil');
    const c = (k * mean('tank pressure') + share * k * AMBIENT) / (1 + share);
    // the oil comes back in portions of a third of the tank, not evenly: 3 %
    close(lost, flow * (c - k * AMBIENT), 3e-2);
    // nearly as much as all the air that is in the tank
    expect(lost).toBeGreaterThan(0.9 * start[slots.airMass]);
    // delivered = lost + what is more in the tank now (by the ledger)
    const stock = (y: Float64Array) => y[slots.airMass] + y[slots.dissolved];
    close(end[slots.compressed] + end[slots.compressed + 1], lost + stock(end) - stock(start), 1e-11);
    const { starts } = unit.panel.slots;
    expect(end[starts + 2] + end[starts + 3]).toBeGreaterThan(5);
  });

  test('without it, the same month needs no air', () => {
    const { unit, end } = record({ ...month, ...NONE }, 30 * 86_400, 3600);
    const { starts } = unit.panel.slots;
    expect(end[starts] + end[starts + 1]).toBeGreaterThan(50);
    expect(end[starts + 2] + end[starts + 3]).toBe(0);
  });

  test.each([
    ['drained by hand', { 'tank.drain': { flowCoefficient: 'Kv 1' }, steps: [{ do: 'open drain' }] }, 'oil.drained'],
    [
      'that runs back through a check valve',
      { faults: [{ fault: 'check valve leaks', item: 'P-1', flow: '20 L/min', at: '0 s' }] },
      'P-1.ranBack',
    ],
  ])('oil %s takes its air along', (_name, more, path) => {
    const { unit, states } = advanced(more, [10]);
    const [end] = states;
    const back = Math.abs(end[unit.layout.slots.findIndex((s) => s.name === path)]);
    expect(back).toBeGreaterThan(1e-3);
    close(end[unit.slots.leftWithOil], k * 951_325 * back, 1e-3); // given off meanwhile: 10 s of 4 h
    expect(end[unit.slots.cameWithOil]).toBe(0);
  });

  test('the ledger holds the air in the oil to 1e-12, energy too, while all of it moves', () => {
    const busy = {
      ...month,
      'tank.heat.exchange': 'natural convection',
      'leaks.air': { fall: '3 bar/h', at: '8.5 barg' },
      'leaks.oil': { flow: '30 L/h', at: '8.5 barg' },
    };
    const run = record(busy, 6 * hour);
    const account = run.unit.accounts.find((a) => a.name === 'air in the oil');
    const moved = account!.paths.map(([slot]) => run.end[slot]);
    for (const amount of moved) expect(Math.abs(amount)).toBeGreaterThan(1e-4);
    expect(worstResidual(run.unit.accounts, run.start, run.end).relative).toBeLessThanOrEqual(1e-12);
    // a transfer left out of it shows
    const without = { ...account!, paths: account!.paths.slice(0, 2) };
    expect(worstResidual([without], run.start, run.end).relative).toBeGreaterThan(1e-3);
  });
});
