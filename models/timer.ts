/**
 * Timers of the panel. All times are ticks: a delay D that began at the scan `since` expires at the first scan at or
 * after since + D. Source: definition.
 */

/** Ticks of a delay in s, rounded up. */
export function delayTicks(seconds: number, tick_s: number): number {
  return Math.ceil(seconds / tick_s - 1e-9);
}

/** The earlier of `due` and the scan at which a timer expires, if that is still to come; since < 0: it does not run. */
export function sooner(due: number, tick: number, since: number, delay: number, scanTicks: number): number {
  if (since < 0) return due;
  const expires = Math.ceil((since + delay) / scanTicks) * scanTicks;
  return expires > tick && expires < due ? expires : due;
}
