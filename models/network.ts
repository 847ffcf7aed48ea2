/**
 * The oil network of the valves at one instant: tank - header - supply branches - pistons - return branches - return
 * main - sump. For piston i, commanded so that oil goes in on area A_in and out on area A_out, with r = A_out/A_in:
 *
 *   (p_header - dp_supply(Q_i)) A_in - (p_return + dp_return(r Q_i)) A_out - p_ambient (A_in - A_out) = load + friction
 *   p_header = p_tank - dp_header(sum Q_i)        p_return = p_sump + dp_main(sum r Q_i)
 *
 * A branch takes the flow at which what drives it equals what its lines cost: A_in dp_supply(Q) + A_out dp_return(r Q)
 * = D_i. A spring-return cylinder has oil on one side only: driven by oil it is a branch with A_out = 0; driven by its
 * spring one with A_in = 0, whose flow Q is the one that leaves, on A_out, and which draws nothing from the header.
 *
 * Each branch has a non-return valve, so Q_i >= 0, except a piston that may be pushed back (D_i < 0 there).
 * Both totals are monotone in the header and return pressures, so the solution is unique. It is found by Newton's method
 * on the two total flows, started from a guess that depends on this instant alone; where that fails, by the same with
 * damped steps, and where that fails too by closing a bracket, return inside header. Flows are the unknowns, never roots
 * of small differences.
 *
 * Source: force balance and series resistances; no published source needed.
 * Not modelled: inertia of oil and piston, compressibility of the oil, elasticity of the lines.
 */
import { assert } from '../sim/fault.ts';
import { dropAndSlopeOf, type LineLeg, quadraticFlow } from './pipe.ts';

/** One branch in one direction. */
export interface Branch {
  readonly inArea_m2: number;
  readonly outArea_m2: number;
  /** Area that the flow of the branch is counted on: A_in, or A_out where nothing comes in. */
  readonly area_m2: number;
  /** Drawn from the header per flow of the branch: 1, or 0 where nothing comes in. */
  readonly drawn: 0 | 1;
  /** Given to the return main per flow of the branch: A_out/A_in, or 1 where nothing comes in. */
  readonly ratio: number;
  readonly supply: LineLeg;
  readonly back: LineLeg;
  /** Force per flow, N s/m3, and per squared flow, N s2/m6, with all pipes laminar: the least the branch can cost. */
  readonly a: number;
  readonly b: number;
  /** Flow up to which that is exact, m3/s. */
  readonly exactBelow: number;
}

/** Whether a line is a Q + b Q|Q| and nothing else. */
export function isPlain(leg: LineLeg): boolean {
  return leg.pipes.length === 0 && leg.element_Pas_m3 === 0;
}

function isFree(leg: LineLeg): boolean {
  return isPlain(leg) && leg.linear_Pas_m3 === 0 && leg.quadratic_Pas2_m6 === 0;
}

/** The least a line can cost per flow: pipes laminar, filter bypass open. */
function leastLinear(leg: LineLeg): number {
  let sum = leg.linear_Pas_m3 + leg.parallel_Pas_m3;
  for (let i = 1; i < leg.pipes.length; i += 5) sum += leg.pipes[i];
  return sum;
}

/** Flow up to which a line is a Q + b Q|Q| with laminar pipes, m3/s; 0 where a filter makes it something else. */
function laminarBelow(leg: LineLeg): number {
  if (leg.element_Pas_m3 > 0) return 0;
  let least = Infinity;
  for (let i = 4; i < leg.pipes.length; i += 5) least = Math.min(least, leg.pipes[i]);
  return least;
}

/** A branch from its areas, m2, one of which may be 0, and the lines on both sides. */
export function branch(inArea_m2: number, outArea_m2: number, supply: LineLeg, back: LineLeg): Branch {
  const drawn = inArea_m2 > 0 ? 1 : 0;
  const area_m2 = drawn === 1 ? inArea_m2 : outArea_m2;
  const r = outArea_m2 / area_m2;
  return {
    inArea_m2,
    outArea_m2,
    area_m2,
    drawn,
    ratio: r,
    supply,
    back,
    exactBelow: Math.min(drawn === 1 ? laminarBelow(supply) : Infinity, r > 0 ? laminarBelow(back) / r : Infinity),
    a: inArea_m2 * leastLinear(supply) + outArea_m2 * r * leastLinear(back),
    b: inArea_m2 * supply.quadratic_Pas2_m6 + outArea_m2 * r * r * back.quadratic_Pas2_m6,
  };
}

const pair = new Float64Array(2);

/**
 * Solves A_in dp_supply(Q) + A_out dp_return(r Q) = drive for Q >= 0. place[0] is the drive, place[1] a guess at the flow where
 * that is positive; they make room for Q and dQ/d(drive).
 */
function branchFlow(br: Branch, place: Float64Array): void {
  const drive = place[0];
  const guess = place[1];
  if (!(drive > 0)) {
    place[0] = 0;
    place[1] = 0;
    return;
  }
  const { a, b } = br;
  const root = Math.sqrt(a * a + 4 * b * drive);
  const first = (2 * drive) / (a + root);
  if (first <= br.exactBelow) {
    place[0] = first;
    place[1] = 1 / root;
    return;
  }
  const { inArea_m2: inArea, outArea_m2: outArea, ratio: r } = br;
  // With pipe friction at its least, this is an upper bound of the flow.
  let low = 0;
  let high = first;
  let q = guess > 0 && guess < high ? guess : high;
  for (let i = 0; i < 100; i++) {
    pair[0] = q;
    dropAndSlopeOf(br.supply, pair);
    let force = inArea * pair[0];
    let slope = inArea * pair[1];
    pair[0] = r * q;
    dropAndSlopeOf(br.back, pair);
    force += outArea * pair[0];
    slope += outArea * r * pair[1];
    const miss = drive - force;
    if (miss >= 0) low = q;
    else high = q;
    let next = q + miss / slope;
    const step = Math.abs(next - q);
    if (step <= 1e-9 * q) {
      // Newton converges quadratically: after a step this small only rounding is left.
      place[0] = next;
      place[1] = 1 / slope;
      return;
    }
    if (!(next > low && next < high)) next = (low + high) / 2;
    if (high - low <= 4e-16 * high) {
      place[0] = next;
      place[1] = 1 / slope;
      return;
    }
    q = next;
  }
  assert(false, `no flow found for a drive of ${drive} N`);
}

export interface Network {
  /** Branch of each valve for this instant, its drive at zero header and return flow in N; set before solving. */
  readonly branches: (Branch | undefined)[];
  readonly drive: Float64Array;
  /** 1 for a piston that is being pushed back: its flow is negative or zero; of any other it is positive or zero. */
  readonly backward: Uint8Array;
  /** Share of the lines of the branch that is open: they cost at flow Q what they cost at Q/open when whole. */
  readonly open: Float64Array;
  /** Pressure at the cylinder before any loss of header and supply line, Pa; sets the cavitation limit. */
  readonly supplyPressure: Float64Array;
  /** Results: flow into each piston, m3/s, and total flows. */
  readonly flow: Float64Array;
  readonly cavitating: Uint8Array;
  readonly totals: Float64Array;
  /** Header and return drop at the solution, Pa. */
  headerDrop: number;
  returnDrop: number;
  /** Slope of both over the flow there, Pa s/m3; 0 where nothing flows. */
  headerSlope: number;
  returnSlope: number;
  /** Puts another return main in, for instance with its filter blocked. */
  setMain(leg: LineLeg): void;
  /** Solves for the first `count` entries of `active`. */
  solve(active: Int32Array, count: number): void;
}

const LEAST_ABSOLUTE_PRESSURE_Pa = 1e4;

// Places in a trial: the two totals, drop and slope of header and return main there, and the drive of the branch looked
// at. In an array, as the sums are: a number that a call hands over, or that closures share, is allocated anew each time.
const [Q, HEADER_DROP, HEADER_SLOPE, GIVEN, MAIN_DROP, MAIN_SLOPE, DRIVE] = [0, 1, 2, 3, 4, 5, 6] as const;
// Places in the sums over branches: flow in and back; slopes times the areas they act on and through.
const [IN, BACK, IN_IN, IN_OUT, OUT_IN, OUT_OUT] = [0, 1, 2, 3, 4, 5] as const;

/** A solver for up to n branches on one header and one return main. Allocates here and never again. */
export function createNetwork(n: number, header: LineLeg, returnMain: LineLeg): Network {
  let main = returnMain;
  const drive = new Float64Array(n);
  const flow = new Float64Array(n);
  const slope = new Float64Array(n);
  const backward = new Uint8Array(n);
  const open = new Float64Array(n).fill(1);
  const supplyPressure = new Float64Array(n);
  const cavitating = new Uint8Array(n);
  const totals = new Float64Array(2);
  const branches: (Branch | undefined)[] = new Array(n).fill(undefined);
  const result = new Float64Array(2);
  let free = isFree(header) && isFree(main);

  const trial = new Float64Array(7);
  // Sums over the branches at the drops last tried: flows, and slopes weighted by the areas they act on.
  const sums = new Float64Array(6);

  /** Drop and slope of the header at the total drawn of the trial. */
  function readHeader(): void {
    pair[0] = trial[Q];
    dropAndSlopeOf(header, pair);
    trial[HEADER_DROP] = pair[0];
    trial[HEADER_SLOPE] = pair[1];
  }

  /** Drop and slope of the return main at the total given to it of the trial. */
  function readMain(): void {
    pair[0] = trial[GIVEN];
    dropAndSlopeOf(main, pair);
    trial[MAIN_DROP] = pair[0];
    trial[MAIN_SLOPE] = pair[1];
  }

  /** Flows of all branches at the header and return drops of the trial, and their sums. */
  function flowsAt(active: Int32Array, count: number): void {
    const headerDrop = trial[HEADER_DROP];
    const returnDrop = trial[MAIN_DROP];
    let sumIn = 0;
    let sumBack = 0;
    let inIn = 0;
    let inOut = 0;
    let outIn = 0;
    let outOut = 0;
    for (let j = 0; j < count; j++) {
      const i = active[j];
      const br = branches[i] as Branch;
      const d = drive[i] - br.inArea_m2 * headerDrop - br.outArea_m2 * returnDrop;
      if (backward[i] === 1) {
        // The header may have fallen so far that the load wins, though the tank pressure alone would hold it.
        cavitating[i] = 0;
        result[0] = -d;
        result[1] = -flow[i] / open[i];
        branchFlow(br, result);
        flow[i] = -result[0] * open[i];
        result[1] *= open[i];
      } else {
        result[0] = d;
        result[1] = flow[i] / open[i];
        branchFlow(br, result);
        flow[i] = result[0] * open[i];
        result[1] *= open[i];
        trial[DRIVE] = d;
        limitByCavitation(i, br);
      }
      const gain = result[1];
      slope[i] = gain;
      sumIn += flow[i] * br.drawn;
      sumBack += flow[i] * br.ratio;
      inIn += br.inArea_m2 * gain;
      outIn += br.outArea_m2 * br.drawn * gain;
      // A cavitating piston takes what the supply gives, whatever the return main holds against it.
      if (cavitating[i] === 1) continue;
      inOut += br.outArea_m2 * br.drawn * gain;
      outOut += br.outArea_m2 * br.ratio * gain;
    }
    sums[IN] = sumIn;
    sums[BACK] = sumBack;
    sums[IN_IN] = inIn;
    sums[IN_OUT] = inOut;
    sums[OUT_IN] = outIn;
    sums[OUT_OUT] = outOut;
  }

  /** An assisting load may not pull the incoming side under the least pressure: the supply then sets the flow. */
  function limitByCavitation(i: number, br: Branch): void {
    cavitating[i] = 0;
    if (br.drawn === 0 || flow[i] === 0) return;
    const room = supplyPressure[i] - trial[HEADER_DROP] - LEAST_ABSOLUTE_PRESSURE_Pa;
    // The supply line takes no more than all of the drive, which mostly says enough.
    if (trial[DRIVE] <= br.inArea_m2 * room * (1 - 1e-9)) return;
    pair[0] = flow[i] / open[i];
    dropAndSlopeOf(br.supply, pair);
    if (pair[0] <= room) return;
    cavitating[i] = 1;
    if (room <= 0) {
      flow[i] = 0;
      result[1] = 0;
      return;
    }
    let low = 0;
    let high = flow[i] / open[i];
    let q = isPlain(br.supply) ? quadraticFlow(br.supply.linear_Pas_m3, br.supply.quadratic_Pas2_m6, room) : high;
    for (let k = 0; k < 100; k++) {
      pair[0] = q;
      dropAndSlopeOf(br.supply, pair);
      const miss = room - pair[0];
      if (miss >= 0) low = q;
      else high = q;
      let next = q + miss / pair[1];
      if (Math.abs(next - q) <= 1e-9 * q) {
        q = next;
        break;
      }
      if (!(next >= low && next <= high)) next = (low + high) / 2;
      q = next;
    }
    flow[i] = q * open[i];
    // Along this limit the flow depends on the header pressure alone; expressed per unit of drive on A_in.
    result[1] = open[i] / (br.inArea_m2 * pair[1]);
  }

  /** Whether what the last correction takes the drops of header and main to is what they are there, as far as it counts. */
  function linearHolds(active: Int32Array, count: number): boolean {
    const hd = trial[HEADER_DROP];
    const rd = trial[MAIN_DROP];
    pair[0] = trial[Q] + step[0];
    dropAndSlopeOf(header, pair);
    const headerOff = Math.abs(pair[0] - hd - trial[HEADER_SLOPE] * step[0]);
    pair[0] = trial[GIVEN] + step[1];
    dropAndSlopeOf(main, pair);
    const mainOff = Math.abs(pair[0] - rd - trial[MAIN_SLOPE] * step[1]);
    for (let j = 0; j < count; j++) {
      const i = active[j];
      if (slope[i] === 0) continue;
      const br = branches[i] as Branch;
      const size = Math.abs(drive[i]) + br.inArea_m2 * Math.abs(hd) + br.outArea_m2 * Math.abs(rd);
      if (!(br.inArea_m2 * headerOff + br.outArea_m2 * mainOff <= 3e-9 * size)) return false;
    }
    return true;
  }

  const step = new Float64Array(2);
  /** Newton's step of both totals of the trial, from the sums taken there, into `step`. */
  function correct(): void {
    const f1 = sums[IN] - trial[Q];
    const f2 = sums[BACK] - trial[GIVEN];
    const hs = trial[HEADER_SLOPE];
    const rs = trial[MAIN_SLOPE];
    // Jacobian of (f1, f2) with respect to the two totals; r A_in = A_out where anything is drawn.
    const j11 = -1 - sums[IN_IN] * hs;
    const j12 = -sums[IN_OUT] * rs;
    const j21 = -sums[OUT_IN] * hs;
    const j22 = -1 - sums[OUT_OUT] * rs;
    const det = j11 * j22 - j12 * j21;
    step[0] = -(f1 * j22 - f2 * j12) / det;
    step[1] = -(f2 * j11 - f1 * j21) / det;
  }

  /** Whether the step is so small that it can be carried out linearly, at the trial. */
  function isClose(active: Int32Array, count: number): boolean {
    const hd = trial[HEADER_DROP];
    const rd = trial[MAIN_DROP];
    const dhd = trial[HEADER_SLOPE] * step[0];
    const drd = trial[MAIN_SLOPE] * step[1];
    for (let j = 0; j < count; j++) {
      const i = active[j];
      const br = branches[i] as Branch;
      const d = drive[i] - br.inArea_m2 * hd - br.outArea_m2 * rd;
      const change = br.inArea_m2 * dhd + br.outArea_m2 * drd;
      const rounding = 1e-15 * (Math.abs(drive[i]) + br.inArea_m2 * Math.abs(hd) + br.outArea_m2 * Math.abs(rd));
      if (!(Math.abs(change) <= 3e-9 * Math.abs(d) + rounding)) return false;
    }
    // A slope that vanishes with the flow says nothing about a drop that grows with its square.
    return linearHolds(active, count);
  }

  /** Carries the step out on flows, totals and drops of the trial, linearly. */
  function finish(active: Int32Array, count: number): void {
    const dhd = trial[HEADER_SLOPE] * step[0];
    const drd = trial[MAIN_SLOPE] * step[1];
    for (let j = 0; j < count; j++) {
      const i = active[j];
      const br = branches[i] as Branch;
      const o = cavitating[i] === 1 ? 0 : br.outArea_m2;
      flow[i] -= slope[i] * (br.inArea_m2 * dhd + o * drd);
    }
    totals[0] = trial[Q] + step[0];
    totals[1] = trial[GIVEN] + step[1];
    network.headerDrop = trial[HEADER_DROP] + dhd;
    network.returnDrop = trial[MAIN_DROP] + drd;
    network.headerSlope = trial[HEADER_SLOPE];
    network.returnSlope = trial[MAIN_SLOPE];
  }

  /**
   * Newton's method on the two totals, from those at no header and return drop scaled down. Returns whether it came to
   * the solution; with flows of one sign it gives up where it leaves the range the totals must lie in.
   */
  function newton(active: Int32Array, count: number, pushed: boolean): boolean {
    const mostIn = totals[0];
    const mostBack = totals[1];
    trial[Q] = mostIn;
    trial[GIVEN] = mostBack;
    readHeader();
    readMain();
    const hd0 = trial[HEADER_DROP];
    const rd0 = trial[MAIN_DROP];
    // Scaled down for header and main apart, each by the pistons that feel it.
    let aboveIn = 0;
    let belowIn = 0;
    let aboveBack = 0;
    let belowBack = 0;
    for (let j = 0; j < count; j++) {
      const i = active[j];
      const br = branches[i] as Branch;
      const above = drive[i] * flow[i];
      const below = (drive[i] + br.inArea_m2 * hd0 + br.outArea_m2 * rd0) * flow[i];
      if (br.drawn === 1) {
        aboveIn += above;
        belowIn += below;
      }
      if (br.outArea_m2 > 0) {
        aboveBack += above;
        belowBack += below;
      }
    }
    const shareIn = Math.sqrt(aboveIn / belowIn);
    const shareBack = Math.sqrt(aboveBack / belowBack);
    trial[Q] = mostIn * (shareIn > 0 && shareIn < 1 ? shareIn : 1);
    trial[GIVEN] = mostBack * (shareBack > 0 && shareBack < 1 ? shareBack : 1);
    for (let k = 0; k < 16; k++) {
      readHeader();
      readMain();
      flowsAt(active, count);
      correct();
      const q = trial[Q] + step[0];
      const back = trial[GIVEN] + step[1];
      if (pushed ? !Number.isFinite(q + back) : !(q >= 0 && q <= mostIn && back >= 0 && back <= mostBack)) return false;
      if (isClose(active, count)) {
        // What is left after this last, linear correction is of the square of 3e-9.
        finish(active, count);
        return true;
      }
      trial[Q] = q;
      trial[GIVEN] = back;
    }
    return false;
  }

  /**
   * Newton's method with steps that are halved until what is missing from the totals becomes less. Undamped it leaps to
   * and fro where the lines of a piston cost little beside header and main: their flow, a root of what is left to drive
   * it, grows ever faster towards nothing left, and stands still beyond. Returns whether it came to the solution.
   */
  function dampedNewton(active: Int32Array, count: number, mostIn: number, mostBack: number): boolean {
    trial[Q] = mostIn;
    trial[GIVEN] = mostBack;
    let fromQ = mostIn;
    let fromBack = mostBack;
    let stepQ = 0;
    let stepBack = 0;
    let share = 1;
    let missing = Infinity;
    for (let k = 0; k < 60; k++) {
      readHeader();
      readMain();
      flowsAt(active, count);
      const missingNow = Math.abs(sums[IN] - trial[Q]) + Math.abs(sums[BACK] - trial[GIVEN]);
      correct();
      if (isClose(active, count)) {
        finish(active, count);
        return true;
      }
      if (missingNow < missing) {
        missing = missingNow;
        fromQ = trial[Q];
        fromBack = trial[GIVEN];
        stepQ = step[0];
        stepBack = step[1];
        share = 1;
      } else share /= 2;
      trial[Q] = fromQ + share * stepQ;
      trial[GIVEN] = fromBack + share * stepBack;
      if (!Number.isFinite(trial[Q] + trial[GIVEN])) return false;
    }
    return false;
  }

  /**
   * The next trial between two bounds of a root: Newton's, or the middle where that leaves the bounds and at every third
   * trial, so that the bounds close whatever the slope says. Returns x itself when only rounding is left.
   */
  function nextTrial(x: number, miss: number, slopeThere: number, low: number, high: number, k: number): number {
    const newtons = x + miss / slopeThere;
    const most = Math.max(Math.abs(low), Math.abs(high));
    if (miss === 0 || Math.abs(newtons - x) <= 2e-16 * most || high - low <= 4e-16 * most) return x;
    if (k % 3 < 2 && newtons > low && newtons < high) return newtons;
    const middle = (low + high) / 2;
    return middle > low && middle < high ? middle : x;
  }

  /** Flow in excess of what the header is taken to carry, with the return main solved for. */
  function excess(active: Int32Array, count: number, q: number): number {
    trial[Q] = q;
    readHeader();
    trial[MAIN_DROP] = 0;
    flowsAt(active, count);
    let low = Math.min(0, sums[BACK]);
    let high = Math.max(0, sums[BACK]);
    trial[GIVEN] = sums[BACK];
    for (let k = 0; k < 300; k++) {
      readMain();
      flowsAt(active, count);
      const back = trial[GIVEN];
      const miss = sums[BACK] - back;
      if (miss > 0) low = back;
      else high = back;
      const next = nextTrial(back, miss, 1 + sums[OUT_OUT] * trial[MAIN_SLOPE], low, high, k);
      if (next === back) break;
      trial[GIVEN] = next;
    }
    return sums[IN] - q;
  }

  /**
   * Return flow inside, header flow outside, until both brackets are closed. Slow and sure. Flows fall with the header
   * drop, so the header flow lies between nothing and what there is without header drop, whatever its sign.
   */
  function closeBracket(active: Int32Array, count: number): void {
    const without = excess(active, count, 0);
    let low = Math.min(0, without);
    let high = Math.max(0, without);
    let q = without;
    for (let k = 0; k < 300; k++) {
      const miss = excess(active, count, q);
      if (miss > 0) low = q;
      else high = q;
      const rs = trial[MAIN_SLOPE];
      const slopeThere =
        1 + trial[HEADER_SLOPE] * (sums[IN_IN] - (sums[IN_OUT] * rs * sums[OUT_IN]) / (1 + sums[OUT_OUT] * rs));
      const next = nextTrial(q, miss, slopeThere, low, high, k);
      if (next === q) break;
      q = next;
    }
    // Where a branch costs next to nothing beside header and main, rounding of their drops leaves its flow few digits.
    // What is missing from the totals, which are sound, is shared out by the slopes; only if all of it is rounding.
    correct();
    const rounding = Math.abs(step[0]) <= 1e-12 * Math.abs(q) && Math.abs(step[1]) <= 1e-12 * Math.abs(trial[GIVEN]);
    const dhd = trial[HEADER_SLOPE] * step[0];
    const drd = trial[MAIN_SLOPE] * step[1];
    let shared = rounding;
    for (let j = 0; shared && j < count; j++) {
      const i = active[j];
      const br = branches[i] as Branch;
      const change = slope[i] * (br.inArea_m2 * dhd + br.outArea_m2 * drd);
      if (!(Math.abs(change) <= 0.01 * Math.abs(flow[i]))) shared = false;
    }
    if (!shared) step.fill(0);
    finish(active, count);
  }

  const network: Network = {
    branches,
    drive,
    backward,
    open,
    supplyPressure,
    flow,
    cavitating,
    totals,
    headerDrop: 0,
    returnDrop: 0,
    headerSlope: 0,
    returnSlope: 0,
    setMain(leg) {
      main = leg;
      free = isFree(header) && isFree(leg);
    },
    solve(active, count) {
      network.headerDrop = 0;
      network.returnDrop = 0;
      network.headerSlope = 0;
      network.returnSlope = 0;
      totals[0] = 0;
      totals[1] = 0;
      if (count === 0) return;
      for (let j = 0; j < count; j++) flow[active[j]] = 0;
      trial[HEADER_DROP] = 0;
      trial[MAIN_DROP] = 0;
      flowsAt(active, count);
      totals[0] = sums[IN];
      totals[1] = sums[BACK];
      if (free) return;
      let pushed = false;
      for (let j = 0; j < count; j++) if (flow[active[j]] < 0) pushed = true;
      if (!pushed && sums[IN] === 0 && sums[BACK] === 0) return;
      const mostIn = totals[0];
      const mostBack = totals[1];
      if (newton(active, count, pushed)) return;
      if (dampedNewton(active, count, mostIn, mostBack)) return;
      closeBracket(active, count);
    },
  };
  return network;
}
