import { expect } from 'vitest';

/** Expects `actual` within `relative` of `expected` (which is not zero). */
export function close(actual: number, expected: number, relative: number): void {
  expect(Math.abs(actual / expected - 1), `${actual} against ${expected}`).toBeLessThanOrEqual(relative);
}
