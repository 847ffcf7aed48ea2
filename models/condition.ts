/**
 * Conditions on the unit, as numbers: comparisons read at scans like contacts. A comparison that has become true resets a
 * small way back (100 Pa, 1 mm, 0.1 % of a stroke; choice), so that it does not flicker at its limit.
 */
export type Subject =
  | { readonly kind: 'pressure' | 'level' | 'sumpLevel' | 'mains' }
  | { readonly kind: 'position' | 'running'; readonly item: number };

/** One comparison: true when sign * (subject - value) >= 0; a bit is compared with 0 or 1. Levels above the inside bottom. */
export interface Comparison {
  readonly subject: Subject;
  readonly sign: 1 | -1;
  readonly value: number;
}

export interface Condition {
  readonly text: string;
  readonly join: 'and' | 'or';
  readonly comparisons: readonly Comparison[];
}

export const CONDITION_DEADBAND = { pressure: 100, level: 0.001, sumpLevel: 0.001, position: 0.001 } as const;
