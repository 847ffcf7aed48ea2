/** Does some work again with mathjs, when the work turns out to need it. */
import { provideMathUnits, UnitsNotLoaded } from '../scenarios/mathUnits.ts';

export async function withUnits<T>(work: () => T): Promise<T> {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof UnitsNotLoaded)) throw error;
    provideMathUnits((await import('mathjs/lib/browser/math.js')).default);
    return work();
  }
}
