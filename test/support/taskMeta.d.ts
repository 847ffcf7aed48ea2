/** What a test may say of itself; test/proof.mjs prints it. */
import 'vitest';

declare module 'vitest' {
  interface TaskMeta {
    /** How many cases a test has tried; one where it does not say. */
    cases?: number;
    /** What was counted and not asserted; test/proof.mjs prints it. */
    statistic?: string;
  }
}
