/** Words of the papers. */

/** "110.7 to 113.6", "from 117.9", "to 32.0". */
export function between(
  { low, high }: { readonly low: number; readonly high: number },
  text: (x: number) => string,
): string {
  if (!Number.isFinite(high)) return `from ${text(low)}`;
  return Number.isFinite(low) ? `${text(low)} to ${text(high)}` : `to ${text(high)}`;
}
