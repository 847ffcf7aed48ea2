/** Statistics of many runs: intervals, quantiles, ranks, and the normal distribution and its inverse. */

/** Two-sided 95 % point of the normal distribution. */
export const Z_95 = 1.959963984540054;
/** Two-sided 95 % point of Student's t with 7 degrees of freedom (tables print 2.365). */
export const T_95_OF_8 = 2.3646242515927844;

export interface Interval {
  readonly low: number;
  readonly high: number;
}

/**
 * Wilson's score interval for a probability of which `count` in `total` trials were seen.
 * Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; formula as in the NIST/SEMATECH e-Handbook, 7.2.4.1.
 *
 * @param z point of the normal distribution, two-sided; 95 % when left out
 * @returns within 0..1; 0 to 1 where there was no trial
 */
export function wilson(count: number, total: number, z: number = Z_95): Interval {
  if (total === 0) return { low: 0, high: 1 };
  const p = count / total;
  const middle = p + (z * z) / (2 * total);
  const half = z * Math.sqrt((p * (1 - p)) / total + (z * z) / (4 * total * total));
  const scale = 1 + (z * z) / total;
  // None and all are certain ends; rounding must not move them.
  return {
    low: count === 0 ? 0 : (middle - half) / scale,
    high: count === total ? 1 : (middle + half) / scale,
  };
}

/**
 * Quantile of sorted numbers: straight between order statistics, the least at 0 and the greatest at 1.
 * Source: definition 7 of Hyndman and Fan, The American Statistician 50 (1996) 361.
 *
 * @returns NaN where there are none
 */
export function quantile(sorted: ArrayLike<number>, p: number): number {
  const n = sorted.length;
  if (n === 0) return Number.NaN;
  const place = (n - 1) * p;
  const k = Math.min(n - 1, Math.floor(place));
  const low = sorted[k];
  const rest = place - k;
  // Infinite neighbours would give NaN.
  return rest === 0 || low === sorted[k + 1] || low === -Infinity ? low : low + rest * (sorted[k + 1] - low);
}

/** Ranks from 1; equal numbers share the mean of theirs. */
export function ranks(x: ArrayLike<number>): Float64Array {
  const order = Array.from({ length: x.length }, (_, i) => i).sort((a, b) =>
    x[a] < x[b] ? -1 : x[a] > x[b] ? 1 : a - b,
  );
  const out = new Float64Array(x.length);
  for (let from = 0; from < order.length; ) {
    let to = from + 1;
    while (to < order.length && x[order[to]] === x[order[from]]) to++;
    for (let k = from; k < to; k++) out[order[k]] = (from + 1 + to) / 2;
    from = to;
  }
  return out;
}

/**
 * Spearman's rank correlation: how far one rises whenever the other does, -1..1.
 * Source: C. Spearman, Am. J. Psychol. 15 (1904) 72; as the correlation of the ranks, so that ties are right.
 *
 * @returns NaN where one of them does not change
 */
export function rankCorrelation(x: ArrayLike<number>, y: ArrayLike<number>): number {
  return correlation(ranks(x), ranks(y));
}

function correlation(a: Float64Array, b: Float64Array): number {
  const n = a.length;
  const mean = (n + 1) / 2;
  let [ab, aa, bb] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const [da, db] = [a[i] - mean, b[i] - mean];
    ab += da * db;
    aa += da * da;
    bb += db * db;
  }
  return aa === 0 || bb === 0 ? Number.NaN : ab / Math.sqrt(aa * bb);
}

/**
 * Probability that a standard normal variable is at most z: 1/2 + phi(z) (z + z^3/3 + z^5/(3 5) + ...), to 1e-15 absolute.
 * Source: G. Marsaglia, J. Stat. Softw. 11 (2004) no. 4.
 */
export function normalProbability(z: number): number {
  if (z <= -8.5) return 0;
  if (z >= 8.5) return 1;
  let [sum, term] = [z, z];
  for (let k = 3; Math.abs(term) > 1e-17 * Math.abs(sum); k += 2) {
    term *= (z * z) / k;
    sum += term;
  }
  return 0.5 + (sum * Math.exp(-0.5 * z * z)) / Math.sqrt(2 * Math.PI);
}

/**
 * The z below which a standard normal variable lies with probability p, 0 < p < 1, to about 1e-16 relative.
 * Source: M. J. Wichura, Applied Statistics 37 (1988) 477, algorithm AS 241.
 */
export function normalQuantile(p: number): number {
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) return q * ratio(0.180625 - q * q, MIDDLE);
  const r = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const z = r <= 5 ? ratio(r - 1.6, SIDE) : ratio(r - 5, TAIL);
  return q < 0 ? -z : z;
}

/** Coefficients from the highest power down: above and below the line. */
type Ratio = readonly [above: readonly number[], below: readonly number[]];

const MIDDLE: Ratio = [
  [
    2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987, 13731.69376550946, 1971.5909503065513,
    133.14166789178438, 3.3871328727963665,
  ],
  [
    5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597, 5394.196021424751, 687.1870074920579,
    42.31333070160091, 1,
  ],
];
const SIDE: Ratio = [
  [
    0.0007745450142783414, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684, 3.6478483247632045,
    5.769497221460691, 4.630337846156546, 1.4234371107496835,
  ],
  [
    1.0507500716444169e-9, 0.0005475938084995345, 0.015198666563616457, 0.14810397642748008, 0.6897673349851,
    1.6763848301838038, 2.053191626637759, 1,
  ],
];
const TAIL: Ratio = [
  [
    2.0103343992922881e-7, 0.000027115555687434876, 0.0012426609473880784, 0.026532189526576124, 0.29656057182850487,
    1.7848265399172913, 5.463784911164114, 6.657904643501103,
  ],
  [
    2.0442631033899397e-15, 1.421511758316446e-7, 0.000018463183175100548, 0.0007868691311456133, 0.014875361290850615,
    0.1369298809227358, 0.599832206555888, 1,
  ],
];

function ratio(x: number, [above, below]: Ratio): number {
  const at = (coefficients: readonly number[]) => coefficients.reduce((sum, c) => sum * x + c, 0);
  return at(above) / at(below);
}

/**
 * Probability that a chi-square variable with n degrees of freedom exceeds x: the incomplete gamma function by series or
 * continued fraction, to about 1e-14. Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.4.19, 6.5.29
 * and 6.5.31 (from memory).
 */
export function chiSquareExceeded(x: number, n: number): number {
  if (!(x > 0)) return 1;
  const [a, z] = [n / 2, x / 2];
  const front = Math.exp(a * Math.log(z) - z - logGamma(a));
  if (z < a + 1) {
    let [sum, term] = [1 / a, 1 / a];
    for (let k = 1; k < 10_000 && term > 1e-16 * sum; k++) sum += term *= z / (a + k);
    return Math.max(0, 1 - front * sum);
  }
  // Lentz's way through the continued fraction.
  let b = z + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let h = d;
  for (let k = 1; k < 10_000; k++) {
    b += 2;
    const an = -k * (k - a);
    d = 1 / (an * d + b);
    c = b + an / c;
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return front * h;
}

/** ln of the gamma function of a whole or half number above 0, by its recurrence: exact to rounding. */
function logGamma(a: number): number {
  let [sum, x] = [0, a];
  for (; x > 1; x--) sum += Math.log(x - 1);
  return sum + (x === 0.5 ? 0.5 * Math.log(Math.PI) : 0);
}

/**
 * The t below which Student's variable with n degrees of freedom, a whole number from 1, lies with probability p, 0.5 <= p < 1.
 * Source: finite sums of Abramowitz and Stegun, 26.7.3 and 26.7.4 (from memory), turned round by halving.
 */
export function studentQuantile(p: number, n: number): number {
  let [low, high] = [0, 1];
  while (0.5 + studentWithin(high, n) / 2 < p) high *= 2;
  for (let k = 0; k < 200 && high - low > 1e-15 * high; k++) {
    const middle = (low + high) / 2;
    if (0.5 + studentWithin(middle, n) / 2 < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Probability that Student's variable lies between -t and t. */
function studentWithin(t: number, n: number): number {
  const angle = Math.atan(t / Math.sqrt(n));
  const [sin, cos] = [Math.sin(angle), Math.cos(angle)];
  if (n === 1) return (2 * angle) / Math.PI;
  let [sum, term] = [0, n % 2 === 1 ? cos : 1];
  for (let k = n % 2 === 1 ? 1 : 0; k <= n - 2; k += 2) {
    sum += term;
    term *= ((k + 1) / (k + 2)) * cos * cos;
  }
  return n % 2 === 1 ? (2 / Math.PI) * (angle + sin * sum) : sin * sum;
}
