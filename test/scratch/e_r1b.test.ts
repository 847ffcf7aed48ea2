import { test } from 'vitest';
import { secondSolution } from '../engine/second/solution.ts';
import type { Case, ValveCase } from '../engine/second/case.ts';
const none = { pipes: [], linear: 0, quadratic: 0 };
const v = (i: number, delay: number): ValveCase => ({ tag: `V-${i}`, bore: .2032, rod: .0508, stroke: .254, headEnd: 'opens', opening: [[0, 12000]], closing: [[0, 12000]], running: 0, breakaway: 0,
  supply: { ...none, quadratic: 8e11 }, back: { ...none, quadratic: 4e11 }, throttle: undefined, leak: undefined, mayBePushedBack: false, elevation: 0, position: 0, strokes: ['opens'], pause_s: 0, delay_s: delay });
const c: Case = { seed: 0, duration_s: 60, sample_s: 5, tick_s: .01, scanTicks: 1, ambient: 101325, ambientTemperature: 293.15, oil: { temperature: 288.15, density15: 870, points: [[313.15, 46e-6], [373.15, 6.8e-6]] },
  tank: { shape: 'volume', diameter: 0, length: 0, heads: 'flat', volume: .568, outletLevel: 0, elevated: false, exchange: 'conductance', exchangeValue: 14, wallCapacity: 122500, ambientConductance: 20 },
  sump: { capacity: 1, depth: 1, suctionLevel: .1, startLevel: .5, elevation: 0 }, pumps: [], compressors: [], safetyValve: undefined, header: { ...none, linear: 2e6, quadratic: 1e10 }, main: none, filter: undefined,
  valves: [0, 0, 0, 4, 8].map((dl, i) => v(i, dl)), level: { standbyStart: .1, dutyStart: .2, normal: .3, stop: .4 }, pressure: { standbyCutIn: 1e5, cutIn: 1e5, cutOut: 1e5 }, lostAt_s: 0, undervoltage_s: 0, backAt_s: undefined, airLeak: undefined, oilLeak: undefined,
  start: { pressure: 145 * 6894.757293168361 + 101325, oil: .227, airTemperature: 293.15, wallTemperature: 293.15, running: [], compressorsAllowed: false }, actions: [] };
test('r1', () => {
  const t0 = performance.now();
  const a = secondSolution(c);
  console.log(performance.now() - t0, a.left, a.happenings.map((h) => [h.time, h.kind, h.valve].join(' ')).join('\n'));
  const e = a.samples.at(-1)!;
  console.log(e.time, e.snapshot.pressure / 947404.5 - 1, e.state[1] / 282.703982 - 1, e.state[2] / 293.081526 - 1, e.state[3] / 0.185814816 - 1);
});
