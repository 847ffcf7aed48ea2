/** How many digits of a number are shown, wherever it is shown: in the terminal, in a paper and in the browser. */
import type { Dimension } from '../models/parameters.ts';

/** On a scale with an arbitrary zero a reading near zero is no small quantity; a share of 1 is shown without decimals. */
export type DigitsKind = 'amount' | 'scale' | 'share';

export const digitsKind = (dimension: Dimension): DigitsKind =>
  dimension === 'pressure' || dimension === 'temperature' ? 'scale' : dimension === 'fraction' ? 'share' : 'amount';

/** A number in its display unit as it is shown, with about four significant digits. */
export function digits(number: number, decimals: number, kind: DigitsKind): string {
  const whole = kind === 'share' && Math.abs(number - Math.round(number)) < 1e-9;
  if (whole) return fixed(number, 0);
  return kind === 'scale' ? fixed(number, decimals) : rounded(number, decimals);
}

/** At most four significant digits and at most `decimals` decimals, but never a minus sign before zero. */
function fixed(number: number, decimals: number): string {
  const size = Math.abs(number);
  const fourDigits = size === 0 ? decimals : 3 - Math.floor(Math.log10(size));
  return number.toFixed(Math.max(0, Math.min(decimals, fourDigits))).replace(/^-(?=[0.]+$)/, '');
}

/** Like {@link fixed}, but keeps three significant digits of a small number. Below 1e-9 it is rounding noise. */
export function rounded(number: number, decimals: number): string {
  const size = Math.abs(number);
  if (size < 1e-9) return '0';
  if (size < 1e-4 || size >= 1e7) return String(Number(number.toPrecision(4)).toExponential());
  if (size >= 10 ** (2 - decimals)) return fixed(number, decimals);
  const threeDigits = String(Number(number.toPrecision(3)));
  const usual = number.toFixed(decimals);
  return threeDigits.length > usual.length ? threeDigits : usual;
}
