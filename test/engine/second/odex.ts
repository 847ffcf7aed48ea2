/**
 * The general ODE library behind the second solution: a Gragg-Bulirsch-Stoer extrapolation code. Loaded by require because
 * the package brings its own TypeScript source, which the strict compiler of this project would check.
 */
import { createRequire } from 'node:module';

export type Rhs = (t: number, y: readonly number[]) => number[];
type Dense = (component: number, t: number) => number;
interface Solver {
  relativeTolerance: number;
  absoluteTolerance: number | number[];
  denseOutput: boolean;
  maxSteps: number;
  initialStepSize: number;
  solve(
    f: Rhs,
    from: number,
    y: readonly number[],
    to: number,
    each?: (n: number, before: number, after: number, y: readonly number[], dense: Dense) => boolean | undefined,
  ): { readonly y: number[]; readonly outcome: number; readonly xEnd: number };
}
const { Solver } = createRequire(import.meta.url)('odex') as { Solver: new (n: number) => Solver };

/** An accepted step: its ends and the state anywhere inside, by the interpolant of the library. */
export interface Step {
  readonly from: number;
  readonly to: number;
  readonly start: readonly number[];
  readonly end: readonly number[];
  inside(t: number): number[];
}

const RELATIVE = 1e-10;

function solver(n: number, scale: readonly number[], step: number): Solver {
  const s = new Solver(n);
  s.relativeTolerance = RELATIVE;
  s.absoluteTolerance = scale.map((x) => x * RELATIVE * 0.1);
  s.maxSteps = 100_000;
  s.initialStepSize = step;
  return s;
}

/** Solves from one time to another (either way) and returns the state there. */
export function solve(f: Rhs, scale: readonly number[], from: number, y: readonly number[], to: number): number[] {
  if (from === to) return y.slice();
  const s = solver(y.length, scale, Math.min(1e-2, Math.abs(to - from) / 4));
  const result = s.solve(f, from, y, to);
  if (result.outcome !== 0) throw new Error(`second solution: integration ended with ${result.outcome}`);
  return result.y;
}

/** Solves step by step; `each` sees every accepted step and may end the march by returning true. */
export function march(
  f: Rhs,
  scale: readonly number[],
  from: number,
  y: readonly number[],
  to: number,
  each: (step: Step) => boolean,
): number[] {
  const s = solver(y.length, scale, Math.min(1e-2, (to - from) / 4));
  s.denseOutput = true;
  let start = y.slice();
  const result = s.solve(f, from, y, to, (n, before, after, end, dense) => {
    if (n === 1) return undefined;
    const stop = each({ from: before, to: after, start, end, inside: (t) => end.map((_, i) => dense(i, t)) });
    start = end.slice();
    return stop ? false : undefined;
  });
  if (result.outcome === 1) throw new Error('second solution: too many steps');
  return result.y;
}
