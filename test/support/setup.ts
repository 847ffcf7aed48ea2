/** Tests read units as the library does, with mathjs at hand. */
import math from 'mathjs/lib/browser/math.js';
import { provideMathUnits } from '../../scenarios/mathUnits.ts';

provideMathUnits(math);

declare module 'vitest' {
  interface TaskMeta {
    /** How many cases a test has tried; one where it does not say. */
    cases?: number;
    /** What was counted and not asserted; test/proof.mjs prints it. */
    statistic?: string;
  }
}
