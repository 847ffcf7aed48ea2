/** From a number of the unit interval to a value of a distribution: the inverse of its cumulative probability. */
import type { Distribution } from '../scenarios/uncertain.ts';
import { normalProbability, normalQuantile } from './statistics.ts';

/**
 * The value below which a share `u` of the distribution lies, in the units of the distribution.
 *
 * @param u more than 0 and less than 1
 */
export function draw(d: Distribution, u: number): number {
  switch (d.kind) {
    case 'uniform':
      return d.from + u * (d.to - d.from);
    case 'triangular': {
      const { from, likely, to } = d;
      const below = (likely - from) / (to - from);
      return u < below
        ? from + Math.sqrt(u * (to - from) * (likely - from))
        : to - Math.sqrt((1 - u) * (to - from) * (to - likely));
    }
    case 'normal':
      return cut(d.mean + d.deviation * between(u, (d.from - d.mean) / d.deviation, (d.to - d.mean) / d.deviation), d);
    case 'lognormal': {
      const step = Math.log(d.factor);
      const z = (x: number) => Math.log(x / d.median) / step;
      return cut(d.median * Math.exp(step * between(u, z(d.from), z(d.to))), d);
    }
    case 'discrete': {
      const total = d.weights.reduce((sum, w) => sum + w, 0);
      let rest = u * total;
      const k = d.weights.findIndex((w) => (rest -= w) < 0);
      return d.values[k < 0 ? d.values.length - 1 : k];
    }
  }
}

/** Standard normal deviate of share `u` among those between two. */
function between(u: number, from: number, to: number): number {
  const [low, high] = [normalProbability(from), normalProbability(to)];
  return low === 0 && high === 1 ? normalQuantile(u) : normalQuantile(low + u * (high - low));
}

const cut = (x: number, d: { readonly from: number; readonly to: number }) => Math.min(d.to, Math.max(d.from, x));
