/**
 * Least squares against the Statistical Reference Datasets of NIST (StRD, nonlinear regression: files Misra1a.dat,
 * DanWood.dat, BoxBOD.dat, Thurber.dat), from both published starts each. Certified parameters, standard deviations and
 * sums of squares were read there or in a published copy; the points of Misra1a and Thurber are from memory, and that the
 * certified sums come out of them to the last digit vouches for them.
 */
import { describe, expect, test } from 'vitest';
import { fitLeastSquares } from '../../studies/leastSquares.ts';
import { chiSquareExceeded, studentQuantile } from '../../studies/statistics.ts';

interface Dataset {
  readonly name: string;
  readonly model: (b: readonly number[], x: number) => number;
  readonly points: readonly (readonly [x: number, y: number])[];
  readonly starts: readonly (readonly number[])[];
  readonly certified: readonly number[];
  readonly deviations: readonly number[];
  readonly sum: number;
}

const rises = (b: readonly number[], x: number) => b[0] * (1 - Math.exp(-b[1] * x));

const DATASETS: readonly Dataset[] = [
  {
    name: 'Misra1a',
    model: rises,
    points: [
      [77.6, 10.07],
      [114.9, 14.73],
      [141.1, 17.94],
      [190.8, 23.93],
      [239.9, 29.61],
      [289.0, 35.18],
      [332.8, 40.02],
      [378.4, 44.82],
      [434.8, 50.76],
      [477.3, 55.05],
      [536.8, 61.01],
      [593.1, 66.4],
      [689.1, 75.47],
      [760.0, 81.78],
    ],
    starts: [
      [500, 1e-4],
      [250, 5e-4],
    ],
    certified: [2.3894212918e2, 5.5015643181e-4],
    deviations: [2.7070075241, 7.2668688436e-6],
    sum: 1.2455138894e-1,
  },
  {
    name: 'DanWood',
    model: (b, x) => b[0] * x ** b[1],
    points: [
      [1.309, 2.138],
      [1.471, 3.421],
      [1.49, 3.597],
      [1.565, 4.34],
      [1.611, 4.882],
      [1.68, 5.66],
    ],
    starts: [
      [1, 5],
      [0.7, 4],
    ],
    certified: [0.76886226176, 3.8604055871],
    deviations: [1.828197386e-2, 5.1726610913e-2],
    sum: 4.3173084083e-3,
  },
  {
    name: 'BoxBOD',
    model: rises,
    points: [
      [1, 109],
      [2, 149],
      [3, 149],
      [5, 191],
      [7, 213],
      [10, 224],
    ],
    starts: [
      [1, 1],
      [100, 0.75],
    ],
    certified: [213.80940889, 0.54723748542],
    deviations: [12.354515176, 0.10455993237],
    sum: 1168.0088766,
  },
  {
    name: 'Thurber',
    model: (b, x) => (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1 + x * (b[4] + x * (b[5] + x * b[6]))),
    points: [
      [-3.067, 80.574],
      [-2.981, 84.248],
      [-2.921, 87.264],
      [-2.912, 87.195],
      [-2.84, 89.076],
      [-2.797, 89.608],
      [-2.702, 89.868],
      [-2.699, 90.101],
      [-2.633, 92.405],
      [-2.481, 95.854],
      [-2.363, 100.696],
      [-2.322, 101.06],
      [-1.501, 401.672],
      [-1.46, 390.724],
      [-1.274, 567.534],
      [-1.212, 635.316],
      [-1.1, 733.054],
      [-1.046, 759.087],
      [-0.915, 894.206],
      [-0.714, 990.785],
      [-0.566, 1090.109],
      [-0.545, 1080.914],
      [-0.4, 1122.643],
      [-0.309, 1178.351],
      [-0.109, 1260.531],
      [-0.103, 1273.514],
      [0.01, 1288.339],
      [0.119, 1327.543],
      [0.377, 1353.863],
      [0.79, 1414.509],
      [0.963, 1425.208],
      [1.006, 1421.384],
      [1.115, 1442.962],
      [1.572, 1464.35],
      [1.841, 1468.705],
      [2.047, 1447.894],
      [2.2, 1457.628],
    ],
    starts: [
      [1000, 1000, 400, 40, 0.7, 0.3, 0.03],
      [1300, 1500, 500, 75, 1, 0.4, 0.05],
    ],
    certified: [1288.13968, 1491.0792535, 583.23836877, 75.416644291, 0.96629502864, 0.39797285797, 0.049727297349],
    deviations: [
      4.6647963344, 39.571156086, 28.698696102, 5.567537027, 3.1333340687e-2, 1.4984928198e-2, 6.5842344623e-3,
    ],
    sum: 5642.7082397,
  },
];

describe.each(DATASETS)('$name', ({ model, points, starts, certified, deviations, sum }) => {
  test.each(starts)('from %j', (...start: number[]) => {
    const fit = fitLeastSquares((b) => points.map(([x, y]) => y - model(b, x)), [start]);
    expect(fit.converged, fit.problem).toBe(true);
    const relative = (a: number, b: number) => Math.abs(a / b - 1);
    for (const [k, b] of certified.entries()) expect(relative(fit.parameters[k], b), `b${k + 1}`).toBeLessThan(1e-6);
    expect(relative(fit.sum, sum)).toBeLessThan(1e-9);
    // The Jacobian is by differences: five digits of a standard deviation.
    const s2 = fit.sum / (points.length - certified.length);
    for (const [k, d] of deviations.entries()) {
      const variance = s2 * (fit.covariance as readonly Float64Array[])[k][k];
      expect(relative(Math.sqrt(variance), d), `sd ${k + 1}`).toBeLessThan(1e-4);
    }
  });
});

test('what cannot be told apart is said', () => {
  // Only the sum of both matters.
  const fit = fitLeastSquares((b) => [1, 2, 3, 4].map((x) => 3 * x - (b[0] + b[1]) * x), [[1, 1]]);
  expect(fit.converged).toBe(false);
  expect(fit.problem).toMatch(/apart/);
  expect(fit.covariance).toBeUndefined();
});

test('no slope and no end are no convergence', () => {
  const flat = fitLeastSquares(() => [1, 2], [[5]]);
  expect(flat.converged).toBe(false);
  expect(flat.problem).toMatch(/no effect/);
  // Falls for ever, towards 0 at infinity.
  const endless = fitLeastSquares((b) => [Math.exp(-b[0]), 0], [[0]], { mostSteps: 20, angle: 1e-12 });
  expect(endless.converged).toBe(false);
  const mad = fitLeastSquares(() => [Number.NaN], [[0]]);
  expect(mad.converged).toBe(false);
});

test('a bound holds', () => {
  // Without bounds the line through the points is y = 2 + 3 x.
  const points = [0, 1, 2, 3].map((x) => [x, 2 + 3 * x] as const);
  const line = (b: readonly number[]) => points.map(([x, y]) => y - b[0] - b[1] * x);
  const free = fitLeastSquares(line, [[0, 0]]);
  expect(free.parameters[0]).toBeCloseTo(2, 8);
  expect(free.parameters[1]).toBeCloseTo(3, 8);
  // With b0 = 1: b1 = sum x (y - 1)/sum x^2 = (4 + 14 + 30)/14.
  const held = fitLeastSquares(line, [[0, 0]], { high: [1, 10] });
  expect(held.atBound).toEqual([0]);
  expect(held.parameters[0]).toBe(1);
  expect(held.parameters[1]).toBeCloseTo(48 / 14, 8);
  expect(held.converged).toBe(true);
});

test('points of the distributions as printed in tables', () => {
  // Student, two-sided 95 % (NIST/SEMATECH e-Handbook 1.3.6.7.2, from memory).
  const student = [
    [1, 12.706],
    [2, 4.303],
    [5, 2.571],
    [10, 2.228],
    [29, 2.045],
    [100, 1.984],
  ] as const;
  for (const [n, t] of student) expect(Math.abs(studentQuantile(0.975, n) - t), `t of ${n}`).toBeLessThan(5.01e-4);
  // Chi-square, upper 5 % and 1 % (same handbook 1.3.6.7.4, from memory).
  const chi = [
    [1, 3.841, 0.05],
    [2, 5.991, 0.05],
    [5, 11.07, 0.05],
    [10, 18.307, 0.05],
    [10, 23.209, 0.01],
    [30, 43.773, 0.05],
  ] as const;
  for (const [n, x, p] of chi) expect(Math.abs(chiSquareExceeded(x, n) / p - 1), `chi2 of ${n}`).toBeLessThan(1e-3);
  // Two degrees of freedom: exp(-x/2).
  expect(chiSquareExceeded(3, 2)).toBeCloseTo(Math.exp(-1.5), 14);
  expect(chiSquareExceeded(40, 2)).toBeCloseTo(Math.exp(-20), 14);
});
