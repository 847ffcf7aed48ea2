/**
 * Points of the unit cube, by number: which ones a campaign runs. Each is known from the seed and its number alone, so
 * that it does not matter who runs which and in what order.
 */
import seedrandom from 'seedrandom';

export const SAMPLINGS = ['plain', 'latin hypercube', 'sobol'] as const;
export type Sampling = (typeof SAMPLINGS)[number];

/**
 * Sets of points that are drawn independently of each other where the points of one set are not: the spread between the
 * sets is what their results may be off.
 */
export const REPLICATES = 8;

export interface Sampler {
  /** Number of the set that point `i` belongs to; points follow each other set by set. */
  setOf(i: number): number;
  /** Writes the coordinates of point `i`, each more than 0 and less than 1. */
  point(i: number, into: Float64Array): void;
}

/**
 * - plain: every coordinate by itself.
 * - latin hypercube: each of n equal strata of every coordinate holds one point of a set of n. Source: McKay, Beckman and
 *   Conover, Technometrics 21 (1979) 239.
 * - sobol: see {@link sobolPoint}; every set has its own digital shift.
 *
 * @param names one for every coordinate; another name, other draws
 * @param count number of points, a multiple of {@link REPLICATES} unless plain, and at most {@link SOBOL_DIMENSIONS} names for sobol
 */
export function createSampler(sampling: Sampling, seed: string, names: readonly string[], count: number): Sampler {
  const cell = 2 ** -32;
  const random = (stream: string) => seedrandom.alea(`${seed}/campaign/${stream}`);
  // 32 bits, in the middle of their cell: neither 0 nor 1 can come.
  const once = (stream: string) => (Math.floor(random(stream)() * 2 ** 32) + 0.5) * cell;
  if (sampling === 'plain') {
    return {
      setOf: () => 0,
      point: (i, into) => names.forEach((name, d) => void (into[d] = once(`${i}/${name}`))),
    };
  }
  const size = count / REPLICATES;
  const setOf = (i: number) => Math.floor(i / size);
  if (sampling === 'latin hypercube') {
    const orders: Int32Array[][] = [];
    const ordersOf = (set: number) =>
      (orders[set] ??= names.map((name) => shuffled(size, random(`set ${set}/${name}`))));
    return {
      setOf,
      point: (i, into) => {
        const order = ordersOf(setOf(i));
        names.forEach((name, d) => void (into[d] = (order[d][i % size] + once(`${i}/${name}`)) / size));
      },
    };
  }
  const directions = names.map((_, d) => sobolDirections(d));
  const shifts = Array.from({ length: REPLICATES }, (_, set) =>
    names.map((name) => Math.floor(random(`set ${set}/${name}`)() * 2 ** 32) >>> 0),
  );
  return {
    setOf,
    point: (i, into) => {
      const shift = shifts[setOf(i)];
      directions.forEach((v, d) => void (into[d] = ((sobolPoint(v, i % size) ^ shift[d]) >>> 0) * cell + cell / 2));
    },
  };
}

function shuffled(n: number, random: () => number): Int32Array {
  const order = Int32Array.from({ length: n }, (_, k) => k);
  for (let k = n - 1; k > 0; k--) {
    const other = Math.floor(random() * (k + 1));
    [order[k], order[other]] = [order[other], order[k]];
  }
  return order;
}

/**
 * Degree, coefficients and first direction numbers of the polynomials of coordinates 2 and up.
 * Source: S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635, set "new-joe-kuo-6", published by the authors
 * (copyright 2008, free to use under the 3-clause BSD licence).
 */
const JOE_KUO: readonly (readonly [degree: number, coefficients: number, ...first: number[]])[] = [
  [1, 0, 1],
  [2, 1, 1, 3],
  [3, 1, 1, 3, 1],
  [3, 2, 1, 1, 1],
  [4, 1, 1, 1, 3, 3],
  [4, 4, 1, 3, 5, 13],
  [5, 2, 1, 1, 5, 5, 17],
  [5, 4, 1, 1, 5, 5, 5],
  [5, 7, 1, 1, 7, 11, 19],
  [5, 11, 1, 1, 5, 1, 1],
  [5, 13, 1, 1, 1, 3, 11],
  [5, 14, 1, 3, 5, 5, 31],
  [6, 1, 1, 3, 3, 9, 7, 49],
  [6, 13, 1, 1, 1, 15, 21, 21],
  [6, 16, 1, 3, 1, 13, 27, 49],
  [6, 19, 1, 1, 1, 15, 7, 5],
  [6, 22, 1, 3, 1, 15, 13, 25],
  [6, 25, 1, 1, 5, 5, 19, 61],
  [7, 1, 1, 3, 7, 11, 23, 15, 103],
  [7, 4, 1, 3, 7, 13, 13, 15, 69],
];
/** Most coordinates of {@link sobolPoint}. */
export const SOBOL_DIMENSIONS = JOE_KUO.length + 1;

/** Direction numbers of coordinate `d` from 0, as 32-bit fractions. */
export function sobolDirections(d: number): Uint32Array {
  const v = new Uint32Array(32);
  if (d === 0) {
    for (let k = 0; k < 32; k++) v[k] = (1 << (31 - k)) >>> 0;
    return v;
  }
  const [degree, coefficients, ...first] = JOE_KUO[d - 1];
  for (let k = 0; k < 32; k++) {
    if (k < degree) v[k] = (first[k] << (31 - k)) >>> 0;
    else {
      v[k] = v[k - degree] ^ (v[k - degree] >>> degree);
      for (let j = 1; j < degree; j++) if ((coefficients >>> (degree - 1 - j)) & 1) v[k] ^= v[k - j];
    }
  }
  return v;
}

/**
 * One coordinate of point `i` from 0 of Sobol's sequence, as a 32-bit fraction, in the order of Gray code.
 * Source: Antonov and Saleev, USSR Comput. Math. Math. Phys. 19 (1980) 252; Bratley and Fox, ACM Trans. Math. Softw. 14
 * (1988) 88.
 */
export function sobolPoint(directions: Uint32Array, i: number): number {
  let x = 0;
  for (let gray = i ^ (i >>> 1), k = 0; gray !== 0; gray >>>= 1, k++) if (gray & 1) x ^= directions[k];
  return x >>> 0;
}
