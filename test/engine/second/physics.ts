/**
 * The physics of the unit, written a second time from the equations as stated, with its own constants. Differs from the
 * program on purpose: temperature instead of energy is the state, the branch flows themselves are the unknowns of the
 * network, levels and surfaces are closed forms, and a valve with a drive is followed by the turn of its stem, not by
 * its piston. Nothing of the program is imported.
 */
import type { Case, Direction, Line, ValveCase } from './case.ts';
import { type VesselForms, vesselForms } from './vessel.ts';

const R = 287.0528;
const GAMMA = 1.4;
const cv = R / (GAMMA - 1);
const cp = cv + R;
const g = 9.80665;
const { PI, abs, cbrt, exp, log, log10, max, min, pow, sign, sqrt } = Math;

/** What a piston is doing. */
export type Doing = 'idle' | 'rest' | 'run' | 'end' | 'back' | 'gas';
export interface Valve {
  doing: Doing;
  direction: Direction | undefined;
}
/** Everything that changes only at events and ticks. */
export interface Discrete {
  readonly valves: Valve[];
  /** Start of each running pump and compressor, s; undefined where it stands still. */
  readonly pumpStart: (number | undefined)[];
  readonly airStart: (number | undefined)[];
  /** Whether each compressor delivers. */
  readonly loaded: boolean[];
  safetyOpen: boolean;
  gas: boolean;
  dry: boolean;
}

/**
 * Places in the state: air mass [kg] and temperature [K], shell temperature [K], oil in tank and sump [m3], air in
 * solution in the oil of the tank [kg], positions of the valves; then, see `totals`, what each pump [m3] and compressor [kg] has moved and what each motor has taken [J].
 */
export const S = { mass: 0, temperature: 1, wall: 2, oil: 3, sump: 4, dissolved: 5, x: 6 } as const;

export interface Snapshot {
  readonly rate: number[];
  readonly pressure: number;
  readonly headerPressure: number;
  readonly returnPressure: number;
  /** Flow into each piston, m3/s. */
  readonly flow: number[];
  /** Thrust at zero branch flow less load, N, of each commanded valve. */
  readonly spare: number[];
  /** What its own flow costs a piston in the lines it shares, to first order, N. */
  ownDrop(valve: number): number;
  /** Above zero where a piston takes less than its force balance asks for, held by the cavitation limit, Pa. */
  readonly cavitates: number[];
  /** Discharge over cracking pressure of each pump, Pa, and its line flow. */
  readonly overCracking: number[];
  readonly pumpFlow: number[];
  /** Filter drop less bypass opening, Pa. */
  readonly overBypass: number;
}

const NOT_UNDER = 1e4;

export interface Physics {
  readonly forms: VesselForms;
  readonly gravity: number;
  inArea(i: number, d: Direction): number;
  load(i: number, d: Direction, x: number): number;
  volumeAt(level: number): number;
  readonly outletVolume: number;
  readonly sumpArea: number;
  /** Where the totals begin: moved by pumps, by compressors, energy of pumps, of compressors. */
  readonly totals: { readonly pumped: number; readonly delivered: number; readonly energy: number };
  start(): number[];
  at(t: number, y: readonly number[], d: Discrete): Snapshot;
}

type Loss = (q: number) => number;

function oilAt(c: Case['oil']) {
  const [[t1, n1], [t2, n2]] = c.points;
  const W = (nu: number) => log10(log10(nu * 1e6 + 0.7));
  const B = (W(n1) - W(n2)) / (log10(t2) - log10(t1));
  const A = W(n1) + B * log10(t1);
  const nu = (pow(10, pow(10, A - B * log10(c.temperature))) - 0.7) * 1e-6;
  // lubricating oils: K0 = 0, K1 = 0.34878 kg/(m3 degF) at 60 degF; 15 degC is 59 degF
  const shrink = (rho60: number, dF: number) => {
    const a = (0.34878 / rho60) * dF;
    return exp(-a * (1 + 0.8 * a));
  };
  let rho60 = c.density15;
  for (let i = 0; i < 20; i++) rho60 = c.density15 / shrink(rho60, -1);
  const rho = rho60 * shrink(rho60, (c.temperature - 273.15) * 1.8 + 32 - 60);
  return { nu, rho };
}

/** Churchill 1977, Darcy; 64/Re below Re = 1. */
function darcy(Re: number, relative: number): number {
  if (Re < 1) return 64 / Re;
  const A = sixteenth(2.457 * log(1 / (pow(7 / Re, 0.9) + 0.27 * relative)));
  const B = sixteenth(37530 / Re);
  return 8 * pow(pow(8 / Re, 12) + pow(A + B, -1.5), 1 / 12);
}
const sixteenth = (x: number) => {
  const fourth = x * x * x * x;
  return fourth * fourth * fourth * fourth;
};

function lossOf(lines: readonly Line[], oil: { nu: number; rho: number }, filter?: Case['filter']): Loss {
  const { nu, rho } = oil;
  let a = 0;
  let b = 0;
  const pipes = lines.flatMap((l) => l.pipes);
  for (const l of lines) {
    a += l.linear;
    b += l.quadratic;
    if (l.cv !== undefined) {
      const perRootPascal = (l.cv * 3.785411784e-3) / 60 / sqrt(6894.757293168);
      b += rho / 1000 / perRootPascal ** 2;
    }
    if (l.orifice_m !== undefined) b += rho / 2 / (0.62 * (PI / 4) * l.orifice_m ** 2) ** 2;
  }
  return (q) => {
    const Q = abs(q);
    let dp = a * Q + b * Q * Q;
    for (const p of pipes) {
      const v = Q / ((PI / 4) * p.diameter_m ** 2);
      const Re = (v * p.diameter_m) / nu;
      if (Re > 0)
        dp += ((darcy(Re, p.roughness_m / p.diameter_m) * p.length_m) / p.diameter_m + p.fittingsK) * (rho / 2) * v * v;
    }
    if (filter !== undefined) dp += filterLoss(q, filter);
    return sign(q) * dp;
  };
}

/** Element, and beside it a bypass that opens in the direction of filtration. */
function filterLoss(q: number, f: NonNullable<Case['filter']>): number {
  const alone = f.element * abs(q);
  if (q < 0 || alone <= f.opens) return alone;
  // dp/element + (dp - opens)/bypass = q
  return (q + f.opens / f.bypass) / (1 / f.element + 1 / f.bypass);
}

/** Isentropic flow of an ideal nozzle, drawn straight to zero above p2/p1 = 0.999. */
function nozzle(p1: number, T1: number, p2: number, area: number): number {
  const r = p2 / p1;
  if (r >= 1) return 0;
  if (r > 0.999) return (nozzle(p1, T1, 0.999 * p1, area) * (1 - r)) / 0.001;
  const rc = max(r, pow(2 / (GAMMA + 1), GAMMA / (GAMMA - 1)));
  return area * p1 * sqrt(((2 * GAMMA) / ((GAMMA - 1) * R * T1)) * (pow(rc, 2 / GAMMA) - pow(rc, (GAMMA + 1) / GAMMA)));
}

/** W per m2 and K, times dT: h = 0.13 k (g |dT| rho^2 Pr/(T_film mu^2))^(1/3). */
function convection(T: number, wall: number, rho: number): number {
  const film = (T + wall) / 2;
  const mu = (1.716e-5 * pow(film / 273.15, 1.5) * 383.55) / (film + 110.4);
  const k = (0.0241 * pow(film / 273.15, 1.5) * 467.15) / (film + 194);
  const Pr = (cp * mu) / k;
  const dT = wall - T;
  return 0.13 * k * cbrt((g * abs(dT) * rho * rho * Pr) / (film * mu * mu)) * dT;
}

interface Branch {
  readonly inArea: number;
  readonly outArea: number;
  readonly supply: Loss;
  readonly back: Loss;
}

/** One unknown of the network: a piston that runs (flow >= 0) or is pushed back (flow <= 0). */
interface Unknown extends Branch {
  /** Force that drives it with no drop in header and return main, N. */
  readonly push: number;
  readonly supplyPressure: number;
  readonly sense: 1 | -1;
}

/**
 * Arm of a drive, m: travel of the piston per turn of the stem, ds/dtheta, at a position of the valve; and its whole turn,
 * rad. A valve without drive counts as turned by 1 with its stroke as the arm.
 */
function driveOf(v: ValveCase): { turn: number; arm(position: number): number } {
  const d = v.drive;
  if (d === undefined) return { turn: 1, arm: () => v.stroke };
  if (d.kind !== 'link and lever') {
    if (d.kind === 'rack and pinion') return { turn: d.turn, arm: () => v.stroke / d.turn };
    // s = e tan(theta), theta from -turn/2 to turn/2
    const e = v.stroke / (2 * Math.tan(d.turn / 2));
    return { turn: d.turn, arm: (p) => e / Math.cos(d.turn * (p - 0.5)) ** 2 };
  }
  // Corner at the stem between lever and the fixed pin, opposite to the cylinder: law of cosines.
  const { lever: a, pivot: b } = d;
  const corner = (length: number) => Math.acos((a * a + b * b - length * length) / (2 * a * b));
  const [short, long] = [corner(d.retracted), corner(d.retracted + v.stroke)];
  const turn = long - short;
  return {
    turn,
    arm(p) {
      const angle = v.headEnd === 'opens' ? short + p * turn : long - p * turn;
      return (a * b * Math.sin(angle)) / sqrt(a * a + b * b - 2 * a * b * Math.cos(angle));
    },
  };
}

/** Ambient temperature at a time. */
function ambientAt(c: Case, t: number): number {
  const day = c.ambientDay;
  if (day !== undefined) return day.mean + day.swing * Math.cos((2 * PI * (t - day.warmestAfter_s)) / 86_400);
  const table = c.ambientTable;
  if (table === undefined) return c.ambientTemperature;
  if (t <= table[0][0]) return table[0][1];
  for (let k = 1; k < table.length; k++) {
    const [[t0, T0], [t1, T1]] = [table[k - 1], table[k]];
    if (t <= t1) return T0 + ((T1 - T0) * (t - t0)) / (t1 - t0);
  }
  return table[table.length - 1][1];
}

export function physics(c: Case): Physics {
  const oil = oilAt(c.oil);
  const forms = vesselForms(c.tank);
  const gravity = c.tank.elevated ? oil.rho * g : 0;
  const header = lossOf([c.header], oil);
  // The element is stated for the oil at 40 degC and resists in proportion to the viscosity.
  const filter = c.filter && {
    ...c.filter,
    element: (c.filter.element * oil.nu) / oilAt({ ...c.oil, temperature: 313.15 }).nu,
  };
  const main = lossOf([c.main], oil, filter);
  const pa = c.ambient;
  /** Saturation, kg per m3 of oil and Pa: 1.2923 kg/m3 times the Bunsen coefficient at one atmosphere. */
  const solubility = c.dissolvedAir === undefined ? 0 : (1.2923 * c.dissolvedAir.bunsen) / 101_325;
  const sumpArea = c.sump.capacity / c.sump.depth;

  const branchOf = (v: ValveCase, d: Direction): Branch => {
    const bore = (PI / 4) * v.bore ** 2;
    const ring = bore - (PI / 4) * v.rod ** 2;
    const [inArea, outArea] = v.headEnd === d ? [bore, ring] : [ring, bore];
    const t = v.throttle;
    const throttle = t === undefined ? [] : [d === 'opens' ? t.opening : t.closing];
    return {
      inArea,
      outArea,
      supply: lossOf([v.supply, ...(t !== undefined && t.placed !== 'meter-out' ? throttle : [])], oil),
      back: lossOf([v.back, ...(t !== undefined && t.placed !== 'meter-in' ? throttle : [])], oil),
    };
  };
  const branches = c.valves.map((v) => ({ opens: branchOf(v, 'opens'), closes: branchOf(v, 'closes') }));
  const drives = c.valves.map(driveOf);
  const pumpLines = c.pumps.map((p) => lossOf([p.line], oil));
  const pumped0 = S.x + c.valves.length;
  const totals = {
    pumped: pumped0,
    delivered: pumped0 + c.pumps.length,
    energy: pumped0 + c.pumps.length + c.compressors.length,
  };
  const slipOf = (u: Case['pumps'][number]) => ((u.slip * u.flow) / u.ratedPressure) * (u.ratedViscosity / oil.nu);
  const reliefGain = (u: Case['pumps'][number]) => u.flow / (u.fullFlow - u.cracking);
  /** Discharge over suction of a pump whose check valve is shut: all of it goes to slip and relief. */
  const closedPressure = (j: number, theoretical: number) => {
    const u = c.pumps[j];
    const crack = u.cracking - pa;
    if (slipOf(u) * crack >= theoretical) return theoretical / slipOf(u);
    return (theoretical + reliefGain(u) * crack) / (slipOf(u) + reliefGain(u));
  };

  const load = (i: number, d: Direction, x: number): number =>
    c.valves[i].drive === undefined ? given(i, d, x) : given(i, d, x) / drives[i].arm(x);
  /** Load as given: force at the piston or torque at the stem. */
  const given = (i: number, d: Direction, x: number): number => {
    const points = d === 'opens' ? c.valves[i].opening : c.valves[i].closing;
    if (points.length === 1) return points[0][1];
    // flat outside the points given, straight between them
    if (x <= points[0][0]) return points[0][1];
    for (let k = 1; k < points.length; k++) {
      const [x0, f0] = points[k - 1];
      const [x1, f1] = points[k];
      // the last piece that reaches an end of the stroke runs on for the sake of trial states just beyond it
      if (x <= x1 || (k === points.length - 1 && x1 === 1)) return f0 + ((f1 - f0) * (x - x0)) / (x1 - x0);
    }
    return points[points.length - 1][1];
  };

  const leakArea =
    c.airLeak === undefined
      ? 0
      : ((forms.volume - c.start.oil) * c.airLeak.fall) /
        (R * c.ambientTemperature) /
        nozzle(c.airLeak.at, c.ambientTemperature, pa, 1);
  const oilLeak = c.oilLeak === undefined ? 0 : c.oilLeak.flow / sqrt(c.oilLeak.at - pa);
  const pistonLeak = c.valves.map((v) => (v.leak === undefined ? 0 : v.leak.flow / sqrt(v.leak.at)));

  let guess: number[] = [];

  /**
   * Flows of the network, by Newton's method on the flows themselves. Each piston takes what its force balance or, less,
   * its supply at the cavitation limit allows; one whose non-return valve holds it takes nothing.
   */
  function network(us: readonly Unknown[]): { flow: number[]; over: number[] } {
    const n = us.length;
    const q =
      guess.length === n && guess.every((x, k) => x * us[k].sense > 0) ? guess.slice() : us.map((u) => u.sense * 1e-4);
    /** How much more it costs, in pressure, than there is to drive it. */
    const excess = us.map(() => 0);
    const ownSlope = us.map(() => 0);
    const cavitates = us.map(() => false);
    /** Shortage on the supply side over that of the force balance. */
    const over = us.map(() => -1e9);
    const slopeAt = (f: Loss, x: number, there: number, scale: number) => {
      const step = 1e-7 * max(abs(x), 1e-4 * scale);
      return (f(x + step) - there) / step;
    };
    for (let round = 0; n > 0; round++) {
      let total = 0;
      let back = 0;
      for (let k = 0; k < n; k++) {
        if (abs(q[k]) < 1e-13) q[k] = 0;
        total += q[k];
        back += (q[k] * us[k].outArea) / us[k].inArea;
      }
      const scale = max(...q.map(abs), 1e-9);
      const h = header(total);
      const m = main(back);
      for (let k = 0; k < n; k++) {
        const u = us[k];
        const ratio = u.outArea / u.inArea;
        const supply = u.supply(q[k]);
        const out = u.back(q[k] * ratio);
        const byForce = supply + h + ratio * (out + m) - u.push / u.inArea;
        const bySupply = supply + h - (u.supplyPressure - NOT_UNDER);
        cavitates[k] = u.sense > 0 && bySupply > byForce;
        if (u.sense > 0) over[k] = bySupply - byForce;
        excess[k] = cavitates[k] ? bySupply : byForce;
        ownSlope[k] = slopeAt(u.supply, q[k], supply, scale);
        if (!cavitates[k]) ownSlope[k] += ratio * ratio * slopeAt(u.back, q[k] * ratio, out, scale);
      }
      // a piston at rest in its non-return valve stays there while everything holds it back
      const free: number[] = [];
      for (let k = 0; k < n; k++) {
        if (q[k] !== 0 || excess[k] * us[k].sense < 0) free.push(k);
        if (q[k] === 0 && excess[k] * us[k].sense < 0) q[k] = us[k].sense * 1e-9;
      }
      if (free.length === 0) break;
      const hs = slopeAt(header, total, h, scale);
      const ms = slopeAt(main, back, m, scale);
      const J = free.map((j) =>
        free.map((k) => {
          const shared = cavitates[j] ? 0 : ((us[j].outArea / us[j].inArea) * us[k].outArea * ms) / us[k].inArea;
          return hs + shared + (j === k ? ownSlope[k] : 0);
        }),
      );
      const step = linearSolve(
        J,
        free.map((k) => -excess[k]),
      );
      let moved = 0;
      free.forEach((k, j) => {
        let to = q[k] + step[j];
        if (to * us[k].sense <= 0) to = q[k] / 10;
        if (abs(to) > 1e3 * abs(q[k])) to = 1e3 * q[k];
        moved = max(moved, abs(to - q[k]));
        q[k] = to;
      });
      // all flows to rounding of the sum they make
      const sum = q.reduce((a, x) => a + abs(x), 0);
      if (moved <= 1e-13 * sum || (round > 20 && moved < 1e-10 * sum)) break;
      if (round > 200 || !(moved < Infinity)) throw new Error(`second solution, case ${c.seed}: network not solved`);
    }
    guess = q.slice();
    return { flow: q, over };
  }

  function at(t: number, y: readonly number[], d: Discrete): Snapshot {
    const rate = new Array<number>(y.length).fill(0);
    const m = y[S.mass];
    const T = y[S.temperature];
    const wall = y[S.wall];
    const V = forms.volume - y[S.oil];
    const p = (m * R * T) / V;
    const outside = ambientAt(c, t);
    const rhoAmbient = pa / (R * outside);
    const needsLevel = c.tank.elevated || c.tank.exchange === 'natural convection';
    const level = needsLevel ? forms.levelAt(y[S.oil]) : 0;
    const bottom = p + gravity * level;

    const us: Unknown[] = [];
    const who: number[] = [];
    d.valves.forEach((v, i) => {
      if (v.doing !== 'run' && v.doing !== 'back') return;
      const dir = v.direction as Direction;
      const b = branches[i][dir];
      const z = c.valves[i].elevation;
      const supplyPressure = bottom - gravity * z;
      const outPressure = pa + gravity * (c.sump.elevation - z);
      const friction = v.doing === 'run' ? c.valves[i].running : -c.valves[i].running;
      const push =
        supplyPressure * b.inArea -
        outPressure * b.outArea -
        pa * (b.inArea - b.outArea) -
        load(i, dir, y[S.x + i]) -
        friction;
      us.push({ ...b, push, supplyPressure, sense: v.doing === 'run' ? 1 : -1 });
      who.push(i);
    });
    const { flow: q, over } = network(us);
    let total = 0;
    let returned = 0;
    us.forEach((u, k) => {
      total += q[k];
      returned += (q[k] * u.outArea) / u.inArea;
    });
    const headerPressure = bottom - header(total);
    const returnPressure = pa + main(returned);

    const flow = c.valves.map(() => 0);
    const cavitates = c.valves.map(() => -1e9);
    const slope = (f: Loss, x: number) => {
      const h = max(1e-4 * abs(x), 1e-12);
      return (f(x + h) - f(x - h)) / (2 * h);
    };
    us.forEach((u, k) => {
      flow[who[k]] = q[k];
      cavitates[who[k]] = over[k];
      const { turn, arm } = drives[who[k]];
      rate[S.x + who[k]] =
        ((d.valves[who[k]].direction === 'opens' ? 1 : -1) * q[k]) / (u.inArea * arm(y[S.x + who[k]]) * turn);
    });
    const ownDrop = (i: number) => {
      const k = who.indexOf(i);
      const u = us[k];
      return (u.inArea * slope(header, total) + (u.outArea ** 2 / u.inArea) * slope(main, returned)) * q[k];
    };
    let oilOut = total;
    let toSump = returned;
    const spare = c.valves.map((v, i) => {
      const dir = d.valves[i].direction;
      if (dir === undefined) return 0;
      const b = branches[i][dir];
      const pin = headerPressure - gravity * v.elevation;
      const pout = returnPressure + gravity * (c.sump.elevation - v.elevation);
      if (pistonLeak[i] > 0 && !d.gas && pin > pout) {
        const leak = pistonLeak[i] * sqrt(pin - pout);
        oilOut += leak;
        toSump += leak;
      }
      return pin * b.inArea - pout * b.outArea - pa * (b.inArea - b.outArea) - load(i, dir, y[S.x + i]);
    });

    // pumps
    let pumped = 0;
    const overCracking: number[] = [];
    const pumpFlow: number[] = [];
    c.pumps.forEach((u, j) => {
      overCracking.push(-1e9);
      pumpFlow.push(1e9);
      const since = d.pumpStart[j];
      if (since === undefined || d.dry) return;
      const theoretical = u.flow * (u.runUp_s > 0 ? min(1, max(0, (t - since) / u.runUp_s)) : 1);
      if (theoretical <= 0) return;
      const slip = slipOf(u);
      // p: discharge over suction. Flow into the line at p; what the line needs at that flow.
      const into = (P: number) => theoretical - slip * P - reliefGain(u) * max(0, P - (u.cracking - pa));
      // The suction is at the level of the sump.
      const lift = bottom - pa - gravity * c.sump.elevation;
      const excess = (Q: number) => into(lift + pumpLines[j](Q)) - Q;
      let Q = 0;
      if (excess(0) > 0) {
        Q = root(excess, 0, theoretical + max(0, -slip * lift));
        pumpFlow[j] = Q;
        overCracking[j] = lift + pumpLines[j](Q) - (u.cracking - pa);
      } else pumpFlow[j] = excess(0);
      pumped += Q;
      const P = Q > 0 ? lift + pumpLines[j](Q) : closedPressure(j, theoretical);
      rate[totals.pumped + j] = Q;
      rate[totals.energy + j] = (P * theoretical) / u.efficiency;
    });

    // leak to the outside
    const spilled = oilLeak > 0 && p > pa && !d.gas ? oilLeak * sqrt(p - pa) : 0;
    const dVoil = pumped - oilOut - spilled;
    rate[S.oil] = dVoil;
    rate[S.sump] = toSump - pumped;

    // air
    let wIn = 0;
    let hIn = 0;
    let dissolving = 0;
    c.compressors.forEach((k, j) => {
      const since = d.airStart[j];
      if (since === undefined || !d.loaded[j]) return;
      const speed = k.runUp_s > 0 ? min(1, max(0, (t - since) / k.runUp_s)) : 1;
      const clear = k.clearance ?? 0;
      const w = rhoAmbient * k.flow * speed * max(0, 1 + clear - clear * pow(p / pa, 1 / k.exponent));
      wIn += w;
      rate[totals.delivered + j] = w;
      // n/(n-1) p_amb Q ((p/p_amb)^((n-1)/n) - 1)/eta with Q at ambient conditions
      const n = k.exponent;
      rate[totals.energy + c.pumps.length + j] =
        ((n / (n - 1)) * pa * (w / rhoAmbient) * (pow(p / pa, (n - 1) / n) - 1)) / k.efficiency;
      hIn += w * cp * (outside + k.approach_K);
    });
    // Henry: towards saturation, faster while a pump stirs; oil that leaves takes its air along, fresh oil brings its own.
    if (c.dissolvedAir !== undefined) {
      const { still_s, pumping_s } = c.dissolvedAir;
      const inOil = y[S.dissolved];
      const pumping = !d.dry && d.pumpStart.some((since) => since !== undefined);
      const into = (solubility * p * y[S.oil] - inOil) / (pumping ? pumping_s : still_s);
      rate[S.dissolved] = into - (inOil / y[S.oil]) * (oilOut + spilled) + solubility * pa * pumped;
      if (into < 0) {
        wIn -= into;
        hIn -= into * cp * c.oil.temperature;
      } else dissolving = into;
    }
    let wOut = nozzle(p, T, pa, leakArea) + dissolving;
    const s = c.safetyValve;
    if (s !== undefined && d.safetyOpen) {
      const lift = min(1, max(0, (p - s.reseat) / (s.full - s.reseat)));
      wOut += nozzle(p, T, pa, lift * s.cd * (PI / 4) * s.bore ** 2);
    }
    rate[S.mass] = wIn - wOut;
    const dV = -dVoil;
    let heat = 0;
    const { exchange, exchangeValue } = c.tank;
    if (exchange === 'conductance') heat = exchangeValue * (wall - T);
    if (exchange === 'time constant') heat = ((m * cv) / exchangeValue) * (wall - T);
    if (exchange === 'natural convection') heat = convection(T, wall, m / V) * forms.bareSurface(level);
    if (exchange === 'isothermal') rate[S.temperature] = 0;
    else if (exchange === 'polytropic') rate[S.temperature] = (-(exchangeValue - 1) * T * dV) / V;
    else {
      rate[S.temperature] = (hIn - wIn * cv * T - wOut * R * T - p * dV + heat) / (m * cv);
      rate[S.wall] = (-heat + c.tank.ambientConductance * (outside - wall)) / c.tank.wallCapacity;
    }
    const overBypass = filter === undefined ? -1e9 : filter.element * returned - filter.opens;
    return {
      rate,
      pressure: p,
      headerPressure,
      returnPressure,
      flow,
      spare,
      ownDrop,
      cavitates,
      overCracking,
      pumpFlow,
      overBypass,
    };
  }

  return {
    forms,
    gravity,
    inArea: (i, d) => branches[i][d].inArea,
    load,
    volumeAt: (level) => forms.volumeAt(level),
    outletVolume: forms.volumeAt(c.tank.outletLevel),
    sumpArea,
    totals,
    start: () => [
      (c.start.pressure * (forms.volume - c.start.oil)) / (R * c.start.airTemperature),
      c.start.airTemperature,
      c.start.wallTemperature,
      c.start.oil,
      c.sump.startLevel * sumpArea,
      // saturated at the initial pressure
      solubility * c.start.pressure * c.start.oil,
      ...c.valves.map((v) => v.position),
      ...new Array<number>(2 * (c.pumps.length + c.compressors.length)).fill(0),
    ],
    at,
  };
}

/** Root of a falling function between a (positive) and b (negative), to rounding: bisection with secants. */
function root(f: (x: number) => number, a: number, b: number): number {
  let [lo, hi] = [a, b];
  let [flo, fhi] = [f(lo), f(hi)];
  if (fhi >= 0) return hi;
  for (let i = 0; i < 200; i++) {
    let x = i % 3 === 2 ? (lo + hi) / 2 : lo + ((hi - lo) * flo) / (flo - fhi);
    if (!(x > lo && x < hi)) x = (lo + hi) / 2;
    const y = f(x);
    if (y > 0) [lo, flo] = [x, y];
    else [hi, fhi] = [x, y];
    if (hi - lo <= 4e-16 * hi || y === 0) return x;
  }
  return (lo + hi) / 2;
}

function linearSolve(A: number[][], b: number[]): number[] {
  const n = b.length;
  for (let k = 0; k < n; k++) {
    let pivot = k;
    for (let i = k + 1; i < n; i++) if (abs(A[i][k]) > abs(A[pivot][k])) pivot = i;
    [A[k], A[pivot]] = [A[pivot], A[k]];
    [b[k], b[pivot]] = [b[pivot], b[k]];
    for (let i = k + 1; i < n; i++) {
      const f = A[i][k] / A[k][k];
      for (let j = k; j < n; j++) A[i][j] -= f * A[k][j];
      b[i] -= f * b[k];
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let j = k + 1; j < n; j++) b[k] -= A[k][j] * b[j];
    b[k] /= A[k][k];
  }
  return b;
}
