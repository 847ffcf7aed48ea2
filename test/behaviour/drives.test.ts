/**
 * Strokes through drives, by springs, into cushions and part way, against solutions that share nothing with the program
 * but the laws: on the bare tank of loneValve.ts the time of a stroke is the integral of A L dx/Q, with Q from the
 * balance of forces at x and the pressure from the adiabatic of what has been drawn.
 * Steps are held to 1e-8 each, and a stroke takes some tens: times agree to 1e-6.
 */
import { describe, expect, test } from 'vitest';
import { Mode } from '../../models/motion.ts';
import { type Result, replay } from '../../scenarios/index.ts';
import { createEngine } from '../../sim/engine.ts';
import { worstResidual } from '../../sim/ledger.ts';
import { close } from '../support/close.ts';
import { AMBIENT_Pa, type Given, gaugeAfter, integral, type Lone, loneValve, refusals } from '../support/loneValve.ts';

const HEAD = (Math.PI / 4) * 0.16 ** 2;
const ROD = (Math.PI / 4) * (0.16 ** 2 - 0.05 ** 2);
const STROKE = 0.25;
const SUPPLY = 3e11;
const RETURN = 2e11;
const deg = Math.PI / 180;

const stroke1 = (result: Result, k = 0) => result.verdict.strokes[k];
const required = { require: { longest: '60 s' } };

/** Time of a stroke of `area` (what comes in or, by spring, goes out) over the travel from 0 to 1, flow as a function of it. */
const timeOf = (area: number, flow: (travelled: number) => number, from = 0, to = 1) =>
  integral((u) => (area * STROKE) / flow(u), from, to);

/** Flow in, m3/s: oil in on `areaIn`, out of `areaOut`, against a force. */
function flowIn(areaIn: number, areaOut: number, gauge: number, force: number, extraReturn = 0): number {
  const r = areaOut / areaIn;
  return Math.sqrt((gauge * areaIn - force) / (areaIn * SUPPLY + areaOut * r * r * (RETURN + extraReturn)));
}

describe('torque loads', () => {
  // A closing torque of 900 N m open, 300 N m from 70 to 20 % open, 1500 N m on the seat.
  const points: readonly (readonly [number, number])[] = [
    [0, 1500],
    [0.2, 300],
    [0.7, 300],
    [1, 900],
  ];
  const torque = points.map(([at, t]) => ({ at, torque: `${t} N m` }));
  const torqueAt = (p: number) => {
    const k = Math.max(
      1,
      points.findIndex(([at]) => at >= p),
    );
    const [[a, ta], [b, tb]] = [points[k - 1], points[k]];
    return ta + ((tb - ta) * (p - a)) / (b - a);
  };
  const load = { opening: '0 N', closing: torque };

  /** Closing time by quadrature over the turn: the piston's travel and the lever come from `travelled(p)` alone. */
  function byHand(travelled: (p: number) => number, turn: number): number {
    const d = 1e-6;
    const step = (p: number) =>
      (travelled(Math.max(0, p - d)) - travelled(Math.min(1, p + d))) / (Math.min(1, p + d) - Math.max(0, p - d));
    return points.slice(1).reduce((sum, [to], k) => {
      const from = points[k][0];
      return (
        sum +
        integral(
          (p) => {
            const force = torqueAt(p) / ((step(p) * STROKE) / turn);
            return (ROD * STROKE * step(p)) / flowIn(ROD, HEAD, gaugeAfter(travelled(p) * ROD * STROKE), force);
          },
          from,
          to,
        )
      );
    }, 0);
  }

  test('a whole stroke of a scotch yoke', () => {
    const result = loneValve({ drive: { kind: 'scotch yoke', turn: '80 deg' }, load, ...required }).result();
    const travelled = (p: number) => 0.5 - (0.5 * Math.tan(80 * deg * (p - 0.5))) / Math.tan(40 * deg);
    expect(stroke1(result).outcome).toBe('completed');
    close(stroke1(result).time_s!, byHand(travelled, 80 * deg), 1e-6);
  });

  test('a whole stroke of a link and lever, the rod going in to close', () => {
    const [r, c, l0] = [0.19, 0.7, 0.6];
    const drive = {
      kind: 'link and lever',
      leverRadius: `${r} m`,
      pivotDistance: `${c} m`,
      retractedLength: `${l0} m`,
    };
    const angle = (l: number) => Math.acos((c * c + r * r - l * l) / (2 * c * r));
    const [closed, open] = [angle(l0), angle(l0 + STROKE)];
    const travelled = (p: number) =>
      1 - (Math.sqrt(c * c + r * r - 2 * c * r * Math.cos(closed + p * (open - closed))) - l0) / STROKE;
    const result = loneValve({ drive, load, ...required }).result();
    close(stroke1(result).time_s!, byHand(travelled, open - closed), 1e-6);
  });

  test('a rack and pinion is its force divided by the radius', () => {
    const radius = STROKE / (90 * deg);
    const byTorque = loneValve({ drive: { kind: 'rack and pinion' }, load, ...required }).result();
    const forces = points.map(([at, t]) => ({ at, force: `${t / radius} N` }));
    const byForce = loneValve({ load: { opening: '0 N', closing: forces }, ...required }).result();
    close(stroke1(byTorque).time_s!, stroke1(byForce).time_s!, 1e-9);
    close(stroke1(byTorque).forceMargin!, stroke1(byForce).forceMargin!, 1e-9);
  });

  test('positions are those of the valve, not of the piston', () => {
    // 5.2 kN m at 30 % open stop it there: the pressure left turns the stem with less.
    const stop = {
      opening: '0 N',
      closing: [
        { at: 0.3, torque: '5200 N m' },
        { at: 0.31, torque: '100 N m' },
      ],
    };
    const lone = loneValve({ drive: { kind: 'scotch yoke' }, load: stop, position: '80 %', ...required });
    // Yoke of 90 deg: x = 0.5 + tan(theta)/2, theta from mid-travel.
    close(lone.unit.plant.valves[0].position, 0.5 + Math.tan(0.3 * 90 * deg) / 2, 1e-12);
    const result = lone.result();
    const s = stroke1(result);
    expect(s.outcome).toBe('stalled');
    expect(s.position).toBeGreaterThan(0.3);
    expect(s.position).toBeLessThan(0.31);
    // Rounded to whole percent; the piston is at 35 %.
    expect(s.reason).toMatch(/^stopped at 31 % open/);
    expect(s.forceMarginPosition).toBe(s.position);
    const said = result.events.filter((e) => e.tag === 'V-1').map((e) => e.text);
    expect(said).toContain('starts to move at 80 % open');
    const { columns, rows } = replay(lone.scenario).trace!;
    close(rows[0][columns.findIndex((c) => c.name === 'V-1 position')], 0.8, 1e-12);
    expect(said.at(-1)).toMatch(/^comes to rest at 30\.\d % open$/);
  });
});

describe('spring return', () => {
  const spring = { spring: { drives: 'closes', preload: '12 kN', rate: '20 N/mm' } };
  const oilInTank = (result: Result) => result.end.oil_m3;

  test('the spring stroke takes as long as spring and return line say, and no oil from the tank', () => {
    const lone = loneValve({ ...spring, ...required });
    const result = lone.result();
    // Against 2 kN of load: Q_out = sqrt((F - load)/(A b)) with F = 12 kN + 5 kN (1 - travelled).
    const flow = (u: number) => Math.sqrt((12e3 + 5e3 * (1 - u) - 2e3) / (HEAD * RETURN));
    close(stroke1(result).time_s!, timeOf(HEAD, flow), 1e-6);
    expect(oilInTank(result)).toBe(0.25);
    expect(result.end.pressure_Pa).toBe(lone.unit.plant.start.gasPressure_Pa);
    // Least at the end: the preload alone against 2 kN.
    close(stroke1(result).forceMargin!, (12 - 2) / 2, 1e-9);
    close(stroke1(result).forceMargin_Pa!, 10e3 / HEAD, 1e-9);
    expect(result.ledger.worstRelative).toBeLessThan(1e-12);
  });

  test('the least margin against a torque is where the drive makes most of it, however long the steps are', () => {
    // 2 kN all the way, few steps. s = d tan(theta): 60 N m are cos^2(theta) 60/d N at the piston, most at mid-travel.
    const drive = { kind: 'scotch yoke', turn: '85 deg' };
    const even = { drives: 'closes', preload: '2 kN', rate: '0 N/mm' };
    const torque = (newtonMetres: number) => [{ at: 0, torque: `${newtonMetres} N m` }];
    const given = { drive, spring: even, load: { opening: torque(0), closing: torque(60) }, ...required };
    const d = STROKE / 2 / Math.tan(42.5 * deg);
    for (const position of ['100 %', '93 %', '81 %', '72 %', '60 %']) {
      const s = stroke1(loneValve({ ...given, position }).result());
      close(s.forceMargin!, (2000 * d) / 60 - 1, 1e-6);
      close(s.forceMargin_Pa!, (2000 - 60 / d) / HEAD, 1e-6);
      close(s.forceMarginPosition!, 0.5, 1e-3);
      // The load is the same either side of mid-travel, so half a whole stroke takes half its time.
      if (position === '100 %') close(s.forceMarginAt_s! - s.commandedAt_s!, s.time_s! / 2, 1e-3);
    }
  });

  test('the whole cylinder goes to the sump by spring and comes from the tank by oil', () => {
    const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], ...required };
    const { result, sump } = run(loneValve({ ...spring, ...sequence }));
    const drawn = HEAD * STROKE;
    close(0.25 - oilInTank(result), drawn, 1e-12);
    close(sump, drawn, 1e-12);
    const [, opens] = result.verdict.strokes;
    // Nothing leaves on the spring's side: only the supply resists, against load and spring.
    const flow = (u: number) => Math.sqrt((gaugeAfter(u * drawn) * HEAD - 2e3 - 12e3 - 5e3 * u) / (HEAD * SUPPLY));
    close(opens.time_s!, timeOf(HEAD, flow), 1e-6);
    const needed = (u: number) => 2e3 + 12e3 + 5e3 * u;
    close(opens.forceMargin!, (gaugeAfter(drawn) * HEAD - needed(1)) / needed(1), 1e-6);
  });

  test('a spring that opens pushes on the other side', () => {
    const opens = {
      spring: { drives: 'opens', preload: '12 kN', rate: '20 N/mm' },
      onTrip: 'opens',
      position: '0 %',
      ...required,
    };
    const { result, sump } = run(loneValve(opens));
    const flow = (u: number) => Math.sqrt((12e3 + 5e3 * (1 - u) - 2e3) / (ROD * RETURN));
    close(stroke1(result).time_s!, timeOf(ROD, flow), 1e-6);
    close(sump, ROD * STROKE, 1e-12);
  });

  test('throttles sit where the oil is, whatever they are called', () => {
    const throttle = { opening: { quadratic: '5e11 Pa s^2/m^6' }, closing: { quadratic: '9e11 Pa s^2/m^6' } };
    const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], ...required };
    for (const placed of ['meter-in', 'meter-out']) {
      const { result } = run(loneValve({ ...spring, ...sequence, speedControl: { placed, ...throttle } }));
      const [closes, opens] = result.verdict.strokes;
      const out = (u: number) => Math.sqrt((12e3 + 5e3 * (1 - u) - 2e3) / (HEAD * (RETURN + 9e11)));
      close(closes.time_s!, timeOf(HEAD, out), 1e-6);
      const into = (u: number) =>
        Math.sqrt((gaugeAfter(u * HEAD * STROKE) * HEAD - 2e3 - 12e3 - 5e3 * u) / (HEAD * (SUPPLY + 5e11)));
      close(opens.time_s!, timeOf(HEAD, into), 1e-6);
    }
  });

  test('gas in the header stops the oil, not the spring', () => {
    const tank = { volume: '0.6 m^3', outletLevel: '0 mm', heat: { exchange: 'adiabatic' } };
    const empty = { tank, start: { pressure: '10 barg', oil: '0 m^3' } };
    const bySpring = stroke1(loneValve({ ...spring, ...required }, empty).result());
    expect(bySpring.outcome).toBe('completed');
    expect(bySpring.met).toBe(true);
    const byOil = stroke1(loneValve(required, empty).result());
    expect(byOil.outcome).toBe('not proven');
    expect(byOil.reason).toMatch(/gas in the header/);
    const againstSpring = { ...spring, ...required, onTrip: 'opens', position: '0 %' };
    expect(stroke1(loneValve(againstSpring, empty).result()).outcome).toBe('not proven');
  });

  test('gas that comes while a spring is at work does not stop it either', () => {
    // A neighbour of 20 m of stroke drains the tank to its outlet while the spring closes slowly.
    const slow = { speedControl: { opening: {}, closing: { quadratic: '4e13 Pa s^2/m^6' } } };
    const neighbour = { stroke: '20 m', ...required };
    const tank = { volume: '0.6 m^3', outletLevel: '10 mm', heat: { exchange: 'adiabatic' } };
    const more = { tank, start: { pressure: '10 barg', oil: '0.03 m^3' } };
    const result = loneValve([{ ...spring, ...slow, ...required }, neighbour], more).result();
    const gas = result.events.find((e) => e.text.includes('gas in the header'))!;
    const [bySpring, byOil] = result.verdict.strokes;
    expect(bySpring.endedAt_s).toBeGreaterThan(gas.time_s + 1);
    expect(bySpring.outcome).toBe('completed');
    expect(byOil.outcome).toBe('not proven');
  });

  test('a spring that is too weak stalls, and the sentence names it', () => {
    const weak = {
      spring: { drives: 'closes', preload: '4 kN', rate: '20 N/mm' },
      load: { opening: '0 N', closing: '6 kN' },
    };
    const s = stroke1(loneValve({ ...weak, ...required }).result());
    // 4 kN + 20 N/mm x 100 mm = 6 kN: at 40 % of the travel left, reached ever more slowly.
    expect(s.outcome).toBe('stalled');
    expect(s.position).toBeGreaterThan(0.4);
    expect(s.position).toBeLessThan(0.401);
    expect(s.reason).toMatch(/the 6\.0\d? kN of the spring|the spring pushes with 6\.0\d? kN, 6(\.00?)? kN needed/);
    const never = stroke1(loneValve({ ...weak, load: { opening: '0 N', closing: '10 kN' }, ...required }).result());
    expect(never.outcome).toBe('never moved');
    expect(never.reason).toMatch(/the spring pushes with 9(\.00?)? kN, 10\.?0* kN needed to move on/);
  });

  test('the leak of a cylinder held against its spring goes from the tank to the sump; let out, there is none', () => {
    const internalLeak = { flow: '2 L/min', at: '10 bar' };
    const held = run(
      loneValve({ ...spring, internalLeak, onTrip: 'opens', position: '100 %' }, { run: { duration: '30 s' } }),
    );
    // dV/dt = k sqrt(p), p = p0 (V0/V)^1.4: the flow hardly falls over 1 L.
    close(held.sump, 1e-3, 1e-2);
    close(0.25 - held.result.end.oil_m3, held.sump, 1e-12);
    const out = run(loneValve({ ...spring, internalLeak, position: '0 %' }, { run: { duration: '30 s' } }));
    expect(out.sump).toBe(0);
  });

  test('a load that overpowers the spring at its end position finds no oil to move', () => {
    const strong = { load: { opening: '0 N', closing: '30 kN' }, internalLeak: { flow: '2 L/min', at: '10 bar' } };
    const { unit } = loneValve({ ...spring, ...strong, mayBePushedBack: true, position: '0 %' });
    const y = unit.start();
    createEngine(unit).advance(y, 3000, { sampleTicks: 0 });
    expect(y[unit.slots.x]).toBe(0);
    expect(y[unit.motion.mode]).toBe(Mode.end);
  });

  test('a spring stroke fills the return main for its neighbour, which draws the header down', () => {
    const mains = {
      header: { quadratic: '4e10 Pa s^2/m^6' },
      returnMain: { linear: '2e6 Pa s/m^3', quadratic: '6e10 Pa s^2/m^6' },
    };
    const { unit } = loneValve([spring, {}], mains);
    const y = unit.start();
    for (const i of [0, 1]) {
      unit.command(y, i, -1, 0, () => {});
      y[unit.motion.mode + i] = Mode.moving;
    }
    unit.derivative(0, y, new Float64Array(unit.layout.advanced));
    const q = (i: number) => unit.outputs[unit.out.valveFlow + i];
    const back = q(0) + (q(1) * HEAD) / ROD;
    const pHeader = 11e5 - 4e10 * q(1) ** 2;
    const pReturn = AMBIENT_Pa + 2e6 * back + 6e10 * back ** 2;
    close(unit.outputs[unit.out.headerPressure], pHeader, 1e-12);
    close(unit.outputs[unit.out.returnPressure], pReturn, 1e-12);
    close(unit.outputs[unit.out.headerFlow], q(1), 1e-12);
    // Both balances, in N.
    const springBalance = 17e3 - 2e3 - (pReturn - AMBIENT_Pa + RETURN * q(0) ** 2) * HEAD;
    const out1 = (q(1) * HEAD) / ROD;
    const oilBalance =
      (pHeader - AMBIENT_Pa - SUPPLY * q(1) ** 2) * ROD - (pReturn - AMBIENT_Pa + RETURN * out1 ** 2) * HEAD - 2e3;
    // The network is closed to 1e-9 of the drives, some 10 kN.
    expect(Math.abs(springBalance)).toBeLessThan(1e-4);
    expect(Math.abs(oilBalance)).toBeLessThan(1e-4);
    expect(q(0)).toBeGreaterThan(1e-3);
  });

  test('without control power a spring-offset pilot lets the spring close it', () => {
    const more = { power: { lostAt: '1 s', controlPowerHeld: '3 s' }, run: { duration: '60 s' } };
    const result = loneValve({ ...spring, onTrip: 'stays', pilot: { offset: 'closes' } }, more).result();
    expect(result.events.some((e) => e.tag === 'V-1' && e.text.startsWith('closed after'))).toBe(true);
    expect(result.end.oil_m3).toBe(0.25);
  });
});

describe('end cushion', () => {
  const cushion = (length: string, quadratic: string) => ({
    speedControl: { opening: {}, closing: {}, cushion: { length, opening: { quadratic }, closing: { quadratic } } },
  });
  const plainFlow = (u: number) => flowIn(ROD, HEAD, gaugeAfter(u * ROD * STROKE), 2e3);
  const slowFlow = (u: number) => flowIn(ROD, HEAD, gaugeAfter(u * ROD * STROKE), 2e3, 9e12);

  test('slows the last part of the travel by its own resistance, from the place where it begins', () => {
    const result = loneValve({ ...cushion('30 mm', '9e12 Pa s^2/m^6'), ...required }).result();
    const at = 1 - 0.03 / STROKE;
    const free = timeOf(ROD, plainFlow, 0, at);
    const byHand = free + timeOf(ROD, slowFlow, at, 1);
    close(stroke1(result).time_s!, byHand, 1e-6);
    // It makes a difference, and the force margin, taken at no flow, knows nothing of it.
    const without = loneValve(required).result();
    close(stroke1(without).time_s!, timeOf(ROD, plainFlow), 1e-6);
    expect(stroke1(result).time_s! / stroke1(without).time_s!).toBeGreaterThan(1.3);
    close(stroke1(result).forceMargin!, stroke1(without).forceMargin!, 1e-9);
  });

  test('with a load profile and a yoke it begins at the same place of the piston', () => {
    const load = {
      opening: '0 N',
      closing: [
        { at: 0.05, torque: '600 N m' },
        { at: 0.2, torque: '100 N m' },
      ],
    };
    const yoke = { drive: { kind: 'scotch yoke' }, load, ...required };
    const { unit } = loneValve({ ...yoke, ...cushion('30 mm', '9e12 Pa s^2/m^6') });
    const { x, cushioned } = unit.plant.valves[0].load[0];
    const edges = [...cushioned!].map((flag, k) => [x[k + 1], flag] as const);
    expect(edges.filter(([, flag]) => flag === 1).at(-1)![0]).toBe(0.03 / STROKE);
    expect(edges.filter(([, flag]) => flag === 0).length).toBeGreaterThan(0);
    // A cushion that resists nothing changes nothing.
    const free = loneValve({ ...yoke, ...cushion('30 mm', '0 Pa s^2/m^6') }).result();
    close(stroke1(free).time_s!, stroke1(loneValve(yoke).result()).time_s!, 1e-7);
  });

  test('a stroke that leaves the cushion is not slowed by it', () => {
    const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], require: { longest: '60 s' } };
    const only = {
      opening: {},
      closing: {},
      cushion: { length: '30 mm', opening: {}, closing: { quadratic: '9e12 Pa s^2/m^6' } },
    };
    const [, slowed] = loneValve({ ...sequence, speedControl: only }).result().verdict.strokes;
    const [, free] = loneValve(sequence).result().verdict.strokes;
    close(slowed.time_s!, free.time_s!, 1e-7);
  });

  test('it works on the oil that a spring drives out', () => {
    const spring = { spring: { drives: 'closes', preload: '12 kN', rate: '20 N/mm' } };
    const result = loneValve({ ...spring, ...cushion('50 mm', '9e12 Pa s^2/m^6'), ...required }).result();
    const flow = (extra: number) => (u: number) => Math.sqrt((12e3 + 5e3 * (1 - u) - 2e3) / (HEAD * (RETURN + extra)));
    close(stroke1(result).time_s!, timeOf(HEAD, flow(0), 0, 0.8) + timeOf(HEAD, flow(9e12), 0.8, 1), 1e-6);
  });
});

describe('strokes that end part way', () => {
  const sequence = {
    onTrip: 'sequence',
    sequence: [{ stroke: 'closes', to: '40 %' }, 'opens', 'closes'],
    pause: '2 s',
    pilot: { kind: 'spring centred' },
    require: { longest: '60 s' },
  };

  test('stops there, waits, and goes on with the sequence', () => {
    const result = loneValve({ drive: { kind: 'scotch yoke' }, ...sequence }).result();
    const [partly, opens, closes] = result.verdict.strokes;
    expect([partly.outcome, opens.outcome, closes.outcome]).toEqual(['completed', 'completed', 'completed']);
    expect([partly.to, opens.to, closes.to].map((p) => Math.round(p * 1e9) / 1e9)).toEqual([0.4, 1, 0]);
    close(partly.position, 0.4, 1e-12);
    // Piston travel of a yoke of 90 deg from 100 to 40 % open: x = 0.5 + tan(theta)/2.
    const travel = 1 - (0.5 + Math.tan(-0.1 * 90 * deg) / 2);
    const flow = (u: number) => flowIn(ROD, HEAD, gaugeAfter(u * ROD * STROKE), 2e3);
    close(partly.time_s!, timeOf(ROD, flow, 0, travel), 1e-6);
    // The pause counts from the scan that sees it stopped: within two ticks of 10 ms.
    expect(Math.abs(opens.commandedAt_s! - partly.endedAt_s! - 2)).toBeLessThan(0.02);
    expect(partly.reason).toMatch(/^at 40 % open in /);
    const said = result.events.filter((e) => e.tag === 'V-1').map((e) => e.text);
    expect(said[0]).toBe('close command to 40 % open, trip');
    expect(said).toContain(`40 % open after ${partly.time_s!.toFixed(2)} s`);
    expect(said).toContain('starts to move at 40 % open');
  });

  test('stopped between blocked lines it neither leaks nor goes back', () => {
    const stop = { ...sequence, sequence: [{ stroke: 'closes', to: '40 %' }] };
    const strong = {
      internalLeak: { flow: '2 L/min', at: '10 bar' },
      load: {
        opening: '0 N',
        closing: [
          { at: 0.39, force: '0 N' },
          { at: 0.4, force: '90 kN' },
          { at: 0.41, force: '0 N' },
        ],
      },
    };
    const { unit } = loneValve({ ...stop, ...strong });
    const y = unit.start();
    const start = y.slice();
    const engine = createEngine(unit);
    engine.advance(y, 3000, { sampleTicks: 0 });
    // 90 kN stop it short of 40 %; the same without that load gets there and stays.
    expect(y[unit.slots.x]).toBeGreaterThan(0.4);
    const free = loneValve({ ...stop, internalLeak: strong.internalLeak });
    const z = free.unit.start();
    createEngine(free.unit).advance(z, 3000, { sampleTicks: 0 });
    const stopped = z[free.unit.slots.oil];
    createEngine(free.unit).advance(z, 9000, { sampleTicks: 0 });
    expect(z[free.unit.slots.x]).toBe(0.4);
    expect(z[free.unit.slots.oil]).toBe(stopped);
    expect(worstResidual(unit.accounts, start, y).relative).toBeLessThan(1e-12);
  });

  test('a valve that is already further ends at once, where it is', () => {
    const result = loneValve({ ...sequence, position: '25 %' }).result();
    const [partly, opens] = result.verdict.strokes;
    expect(partly.time_s).toBe(0);
    expect(partly.position).toBe(0.25);
    expect(Math.abs(opens.commandedAt_s! - 2)).toBeLessThan(0.02);
    expect(opens.outcome).toBe('completed');
  });

  test('the reserve repeats it and takes the valve back in between', () => {
    const stop = { ...sequence, sequence: [{ stroke: 'closes', to: '40 %' }] };
    const start = { pressure: '10 barg', oil: '0.02 m^3' };
    const { reserve } = loneValve(stop, { start }).result();
    // 20 L, and no outlet to reach before they are gone. A set after the first: back 0.6 A_head, then again 0.6 A_rod.
    const [first, back] = [0.6 * ROD * STROKE, 0.6 * HEAD * STROKE];
    expect(reserve.completeSets).toBe(Math.floor((0.02 - first) / (first + back)));
  });
});

describe('surge', () => {
  const pipeline = { length: '600 m', velocity: '3 m/s', waveSpeed: '1200 m/s' };

  test('the result of a closing stroke shows the pipe period and the rise', () => {
    const s = stroke1(loneValve({ pipeline, require: { longest: '60 s', shortest: '2 s' } }).result());
    close(s.surge!.pipePeriod_s, 1, 1e-12);
    expect(s.surge!.rapid).toBe(false);
    close(s.surge!.rise_Pa, (2 * 1000 * 600 * 3) / s.movingTime_s!, 1e-12);
    const quick = stroke1(
      loneValve({ pipeline: { ...pipeline, length: '60 km' }, require: { longest: '60 s' } }).result(),
    );
    expect(quick.surge!.rapid).toBe(true);
    close(quick.surge!.rise_Pa, 1000 * 1200 * 3, 1e-12);
  });

  // No drop of pressure to speak of and no load: the speed is even, and a part of the travel takes that part of the time.
  describe('a stroke that makes part of the travel', () => {
    const even: Given = {
      load: { opening: '0 N', closing: '0 N' },
      bore: '50 mm',
      rod: '10 mm',
      supplyLine: { quadratic: '3e13 Pa s^2/m^6' },
    };
    const whole = stroke1(loneValve({ ...even, ...required }).result()).movingTime_s!;
    const partly = (shortest: number, more: Given = { position: '40 %' }) =>
      stroke1(
        loneValve({ ...even, pipeline, ...more, require: { longest: '60 s', shortest: `${shortest} s` } }).result(),
      );

    test.each<[string, Given, number]>([
      ['begins part way', { position: '40 %' }, 0.4],
      [
        'ends part way',
        { onTrip: 'sequence', sequence: [{ stroke: 'closes', to: '60 %' }], pilot: { kind: 'spring centred' } },
        0.4,
      ],
    ])('and %s may not be faster than a whole one', (_, more, share) => {
      // 0.5 %: the pressure falls a little on the way of a whole stroke.
      const s = partly(0, more);
      close(s.movingTime_s!, share * whole, 5e-3);
      expect(partly(0.98 * whole, more).outcome).toBe('completed');
      const fast = partly(1.02 * whole, more);
      expect(fast.outcome).toBe('too fast');
      expect(fast.reason).toContain('for 40 % of the travel');
      close(s.surge!.closure_s, whole, 5e-3);
      close(s.surge!.rise_Pa, (2 * 1000 * 600 * 3) / whole, 5e-3);
    });

    // Delays before the first motion make no closure slower.
    test('and waits for its pilot first is no slower for it', () => {
      const require = { longest: '60 s', shortest: `${1.02 * whole} s` };
      const late = loneValve(
        { ...even, require },
        { faults: [{ fault: 'pilot stuck', item: 'V-1', at: '0 s', for: '30 s' }] },
      );
      const s = stroke1(late.result());
      expect(s.time_s).toBeGreaterThan(30);
      expect(s.outcome).toBe('too fast');
    });

    test('or none at all is not too fast', () => {
      expect(partly(30, { position: '0 %' }).outcome).toBe('completed');
    });
  });

  test('an opening stroke, one that never ends and one without a pipeline have none', () => {
    const surge = (valve: Given) => stroke1(loneValve({ ...valve, ...required }).result()).surge;
    expect(surge({ pipeline, onTrip: 'opens', position: '0 %' })).toBeUndefined();
    expect(surge({ pipeline, load: { opening: '0 N', closing: '90 kN' } })).toBeUndefined();
    expect(surge({})).toBeUndefined();
  });

  test('a shortest time under the pipe period is a finding', () => {
    const found = (shortest: string | undefined, more: Given = {}) =>
      loneValve({ pipeline, require: { longest: '60 s', ...(shortest === undefined ? {} : { shortest }) }, ...more })
        .result()
        .findings.filter((f) => f.id === 'shortest under pipe period');
    expect(found('1.01 s')).toEqual([]);
    const [finding] = found('0.9 s');
    expect(finding.text).toMatch(/V-1 may close in 0\.90 s, and its pipeline has a period of 1\.00 s/);
    expect(finding.at[0]).toMatch(/^lone:\d+$/);
    expect(found(undefined)[0].text).toMatch(/as fast as it likes/);
    expect(found('0.9 s', { onTrip: 'opens', position: '0 %' })).toEqual([]);
    expect(found('0.9 s', { pipeline: { ...pipeline, length: '500 m' } })).toEqual([]);
  });
});

describe('what is refused', () => {
  test.each<[string, Given, RegExp]>([
    [
      'a torque without a drive',
      { load: { opening: '0 N', closing: [{ at: 0, torque: '10 N m' }] } },
      /load\.closing\.0\.torque: .*needs a drive/,
    ],
    [
      'force and torque in one profile',
      {
        drive: { kind: 'scotch yoke' },
        load: {
          opening: '0 N',
          closing: [
            { at: 0, torque: '10 N m' },
            { at: 1, force: '1 kN' },
          ],
        },
      },
      /load\.closing\.1: .*all be forces or all be torques/,
    ],
    ['a yoke that turns half round', { drive: { kind: 'scotch yoke', turn: '180 deg' } }, /drive\.turn: .*178 deg/],
    ['a turn of a direct drive', { drive: { turn: '90 deg' } }, /drive\.turn: .*turns nothing/],
    ['a lever without lengths', { drive: { kind: 'link and lever' } }, /drive\.kind: .*leverRadius/],
    [
      'a lever out of reach',
      { drive: { kind: 'link and lever', leverRadius: '0.2 m', pivotDistance: '0.7 m', retractedLength: '0.7 m' } },
      /retractedLength: .*500 mm to 900 mm only.*700 mm to 950 mm/,
    ],
    [
      'lengths of a yoke',
      { drive: { kind: 'scotch yoke', leverRadius: '0.2 m', pivotDistance: '0.7 m', retractedLength: '0.6 m' } },
      /only read for a link and lever/,
    ],
    [
      'a cushion as long as the stroke',
      { speedControl: { opening: {}, closing: {}, cushion: { length: '250 mm' } } },
      /cushion\.length: .*250 mm/,
    ],
    [
      'a stop part way by a spring-offset pilot',
      { onTrip: 'sequence', sequence: [{ stroke: 'closes', to: '40 %' }] },
      /sequence\.0: .*spring centred/,
    ],
    [
      'a spring whose oil nothing holds back',
      { spring: { drives: 'closes', preload: '1 kN', rate: '1 N/mm' }, returnLine: {} },
      /nothing resists the oil while closing: give the return line/,
    ],
  ])('%s', (_, valve, message) => expect(refusals(valve).join('\n')).toMatch(message));
});

/** A run with the oil that has come to the sump. */
function run({ unit, result }: Lone): { result: Result; sump: number } {
  const y = unit.start();
  const before = y[unit.slots.sump];
  const r = result();
  createEngine(unit).advance(y, Math.round(r.end.time_s / unit.plant.tick_s), { sampleTicks: 0 });
  return { result: r, sump: y[unit.slots.sump] - before };
}
