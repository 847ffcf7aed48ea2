/**
 * Nonlinear least squares: parameters within bounds that make the sum of squared residuals least, with an honest word on
 * whether that was reached, and the covariance of the parameters.
 *
 * Each damped step is solved by a library (Levenberg-Marquardt); what it is given are parameters scaled to equal columns of
 * the Jacobian, so that its damping means the same for each. Here steps are kept or dropped by the ratio of gained to
 * foretold (J. J. More, Lecture Notes in Mathematics 630 (1978) 105, from memory), parameters are held at bounds, several
 * dampings and starts are tried, and the end is examined: converged is only what stands where the residuals are at right
 * angles to every column of the Jacobian (D. M. Bates, D. G. Watts, Technometrics 23 (1981) 179, from memory), and where
 * the columns tell the parameters apart.
 */
import { levenbergMarquardt } from 'ml-levenberg-marquardt';

/** Residuals at parameters, always as many; one that is not finite makes the parameters worse than any others. */
export type Residuals = (parameters: readonly number[]) => ArrayLike<number>;

export interface FitOptions {
  readonly low?: readonly number[];
  readonly high?: readonly number[];
  /** Typical size of each parameter: steps of differences and of convergence refer to it, or to the value if larger; that of the start when left out. */
  readonly scale?: readonly number[];
  /** Step of the central differences over the size of the parameter; the cube root of the rounding error when left out. */
  readonly difference?: number;
  /** Cosine between residuals and a column of the Jacobian that counts as a right angle. */
  readonly angle?: number;
  /** The same where no step gains any more: what is left is the roughness of the residuals. */
  readonly rest?: number;
  /** What an undamped step may still gain of the sum where it counts as reached; 0 when left out. */
  readonly gain?: number;
  /** The same where no step of any length gains: within the roughness of the residuals. */
  readonly restGain?: number;
  /** Step over the size of a parameter that counts as none. */
  readonly step?: number;
  readonly mostSteps?: number;
  /** Columns of the Jacobian at parameters, one for each, where differences are not wanted. */
  readonly columns?: (parameters: readonly number[]) => readonly ArrayLike<number>[];
}

export interface Fit {
  readonly parameters: readonly number[];
  readonly residuals: Float64Array;
  /** Sum of the squared residuals. */
  readonly sum: number;
  readonly converged: boolean;
  /** Where not converged: why, in words. */
  readonly problem: string | undefined;
  /** Inverse of J'J; undefined where the readings do not tell the parameters apart. Those at a bound have no place in it: 0. */
  readonly covariance: readonly Float64Array[] | undefined;
  /** Indices of parameters held at a bound. */
  readonly atBound: readonly number[];
  readonly steps: number;
}

/** Dampings to begin with, over the squared columns of the Jacobian: from nearly the undamped step to the shy one. */
const DAMPINGS: readonly number[] = [1e-3, 1, 1000];
/** Share of the sum at the start that counts as nothing. */
const EXACT = 1e-22;
/** Condition of the scaled J'J from which parameters count as not told apart. */
const SINGULAR = 1e-13;

/** Fits from each start with each damping until one converges no worse than any other; the best is returned. */
export function fitLeastSquares(
  residuals: Residuals,
  starts: readonly (readonly number[])[],
  options: FitOptions = {},
): Fit {
  let best: Fit | undefined;
  for (const start of starts) {
    for (const damping of DAMPINGS) {
      const fit = fitFrom(residuals, start, damping, options);
      if (best === undefined || better(fit, best)) best = fit;
      // Another damping from the same start is for those that ran astray.
      if (fit.converged) break;
    }
  }
  if (best === undefined) throw new RangeError('no start');
  return best;
}

/** Lower, or as low and converged. */
function better(a: Fit, b: Fit): boolean {
  if (!(a.sum < Infinity)) return false;
  const alike = Math.abs(a.sum - b.sum) <= 1e-9 * b.sum;
  return alike ? a.converged && !b.converged : a.sum < b.sum || !(b.sum < Infinity);
}

const sumOf = (r: ArrayLike<number>): number => {
  let sum = 0;
  for (let i = 0; i < r.length; i++) sum += r[i] * r[i];
  return Number.isFinite(sum) ? sum : Infinity;
};

function fitFrom(residuals: Residuals, start: readonly number[], firstDamping: number, options: FitOptions): Fit {
  const n = start.length;
  const { low = new Array<number>(n).fill(-Infinity), high = new Array<number>(n).fill(Infinity) } = options;
  const { difference = 6e-6, angle = 1e-8, step: smallest = 1e-11, mostSteps = 300 } = options;
  const { rest = 1e3 * angle, gain = 0, restGain = gain } = options;
  const sizeOf = (p: readonly number[], k: number) =>
    Math.max(Math.abs(p[k]), options.scale?.[k] ?? (Math.abs(start[k]) || 1));
  const inside = (x: number, k: number) => Math.min(high[k], Math.max(low[k], x));
  let at: number[] = start.map(inside);
  let r = Float64Array.from(residuals(at));
  let sum = sumOf(r);
  const firstSum = sum;
  let damping = firstDamping;
  let steps = 0;

  /** Columns of dr/dp by differences, one-sided where the other side is out of bounds. */
  const columnsAt = (p: readonly number[]): Float64Array[] =>
    options.columns?.(p).map((c) => Float64Array.from(c)) ??
    p.map((x, k) => {
      const h = difference * sizeOf(p, k);
      const up = inside(x + h, k);
      const down = inside(x - h, k);
      const moved = (value: number) => residuals(p.map((y, j) => (j === k ? value : y)));
      const above = up === x ? r : moved(up);
      const below = down === x ? r : moved(down);
      return Float64Array.from(r, (_, i) => (up > down ? (above[i] - below[i]) / (up - down) : 0));
    });
  const dot = (a: ArrayLike<number>, b: ArrayLike<number>) => {
    let s = 0;
    for (let i = 0; i < a.length; i++) s += a[i] * b[i];
    return s;
  };

  let columns = columnsAt(at);
  /** Held where the way down leads out of the bounds. */
  const heldNow = () => at.map((x, k) => (dot(columns[k], r) > 0 ? x <= low[k] : x >= high[k]));
  let held = heldNow();
  // The largest that each column has been: one that dwindles on the way out to where nothing matters stays damped.
  const largest = new Float64Array(n);
  let problem: string | undefined = sum < Infinity ? undefined : 'nothing can be reckoned at the start';
  let converged = false;
  while (problem === undefined && !converged) {
    const norms = columns.map((c) => Math.sqrt(dot(c, c)));
    const free = at.map((_, k) => k).filter((k) => !held[k]);
    if (free.some((k) => !(norms[k] > 0) || !Number.isFinite(norms[k]))) {
      problem = 'a parameter has no effect on the readings';
      break;
    }
    const cosine = Math.max(0, ...free.map((k) => Math.abs(dot(columns[k], r)) / (norms[k] * Math.sqrt(sum) || 1)));
    // Nothing but rounding is left of the residuals: their direction says nothing.
    if (cosine <= angle || sum <= EXACT * firstSum) {
      converged = true;
      break;
    }
    let toGain = Infinity;
    if (gain > 0) {
      const units = free.map((k) => columns[k].map((x) => x / norms[k]));
      const whole = dampedStep(units, r, 1e-9);
      const left = sumOf(r.map((x, i) => units.reduce((s, c, j) => s + c[i] * whole[j], x)));
      toGain = sum - left;
      if (toGain <= gain) {
        converged = true;
        break;
      }
    }
    if (steps >= mostSteps) {
      problem = `no rest after ${mostSteps} steps`;
      break;
    }
    steps++;
    norms.forEach((norm, k) => {
      largest[k] = Math.max(largest[k], norm);
    });
    const change = dampedStep(
      free.map((k) => columns[k].map((x) => x / largest[k])),
      r,
      damping,
    );
    const next = at.slice();
    free.forEach((k, j) => {
      next[k] = inside(at[k] + change[j] / largest[k], k);
    });
    const moved = next.some((x, k) => Math.abs(x - at[k]) > smallest * sizeOf(at, k));
    const there = moved ? Float64Array.from(residuals(next)) : r;
    const thereSum = sumOf(there);
    // What a straight line would gain.
    const foretold = sum - sumOf(r.map((x, i) => columns.reduce((s, c, k) => s + c[i] * (next[k] - at[k]), x)));
    const ratio = (sum - thereSum) / foretold;
    if (moved && thereSum < sum && ratio > 1e-4) {
      at = next;
      r = there;
      sum = thereSum;
      damping = Math.max(damping * (ratio > 0.75 ? 0.1 : ratio < 0.25 ? 4 : 1), 1e-12);
      columns = columnsAt(at);
      held = heldNow();
    } else if (moved && damping < 1e12) damping *= 10;
    else {
      // No step of any length gains: a least sum to rounding, if the slope agrees.
      converged = cosine <= rest || toGain <= restGain;
      if (!converged) problem = 'the sum can be made no less, but its slope is not level';
      break;
    }
  }
  const covariance = covarianceOf(columns, held);
  if (converged && covariance === undefined) {
    converged = false;
    problem = 'the readings do not tell the parameters apart';
  }
  const atBound = held.flatMap((h, k) => (h ? [k] : []));
  return { parameters: at, residuals: r, sum, converged, problem, covariance, atBound, steps };
}

/** One step of the library: the d that makes |r + J d|^2 + damping |d|^2 least, for columns of length 1 or less. */
function dampedStep(columns: readonly Float64Array[], r: Float64Array, damping: number): number[] {
  const x = Array.from(r, (_, i) => i);
  const { parameterValues } = levenbergMarquardt(
    { x, y: x.map(() => 0) },
    (d) => (i) => d.reduce((s, dk, k) => s + columns[k][i] * dk, r[i]),
    {
      initialValues: columns.map(() => 0),
      damping,
      maxIterations: 1,
      // Whether the step is any good is for the caller to say.
      errorTolerance: -Infinity,
      jacobianFunction: () => (i) => columns.map((c) => c[i]),
    },
  );
  return parameterValues;
}

/** (J'J)^-1 of the parameters that are not held, by Cholesky on columns of length 1; undefined where it does not exist. */
function covarianceOf(columns: readonly Float64Array[], held: readonly boolean[]): Float64Array[] | undefined {
  const n = columns.length;
  const free = held.flatMap((h, k) => (h ? [] : [k]));
  const norms = columns.map((c) => Math.hypot(...c));
  const m = free.length;
  const L = free.map(() => new Float64Array(m));
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++) {
      const [a, b] = [columns[free[i]], columns[free[j]]];
      let s = 0;
      for (let q = 0; q < a.length; q++) s += (a[q] / norms[free[i]]) * (b[q] / norms[free[j]]);
      for (let k = 0; k < j; k++) s -= L[i][k] * L[j][k];
      if (i === j) {
        if (!(s > SINGULAR)) return undefined;
        L[i][i] = Math.sqrt(s);
      } else L[i][j] = s / L[j][j];
    }
  }
  const out = columns.map(() => new Float64Array(n));
  for (let c = 0; c < m; c++) {
    const v = new Float64Array(m);
    for (let i = 0; i < m; i++) {
      let s = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) s -= L[i][k] * v[k];
      v[i] = s / L[i][i];
    }
    for (let i = m - 1; i >= 0; i--) {
      let s = v[i];
      for (let k = i + 1; k < m; k++) s -= L[k][i] * v[k];
      v[i] = s / L[i][i];
    }
    for (let i = 0; i < m; i++) out[free[i]][free[c]] = v[i] / (norms[free[i]] * norms[free[c]]);
  }
  return out;
}
