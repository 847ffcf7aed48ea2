/** Words for messages to the person who wrote the file. */
import type { Quantity } from '../models/parameters.ts';

/** User text made harmless for a terminal: what cannot be seen, or changes how the rest is seen, becomes a blank. */
export const visible = (text: string): string => text.replace(/[\p{C}\p{Zl}\p{Zp}]+/gu, ' ');

/** User text for a message: printable, at most 40 characters, in double quotes. */
export const quoted = (text: string): string => {
  const printable = visible(text.slice(0, 1000));
  return `"${printable.length > 40 ? `${printable.slice(0, 37)}...` : printable}"`;
};

export type Limits = Pick<Quantity, 'min' | 'max' | 'above' | 'below'>;

/**
 * "at least 1 gal and at most 900 gal"; empty without limits.
 *
 * @param show prints a limit, rounded to the allowed side where one is given
 */
export const limitsText = (
  { min, max, above, below }: Limits,
  show: (limit: number, inward?: 'min' | 'max') => string,
): string =>
  [
    min !== undefined && `at least ${show(min, 'min')}`,
    above !== undefined && `more than ${show(above)}`,
    max !== undefined && `at most ${show(max, 'max')}`,
    below !== undefined && `less than ${show(below)}`,
  ]
    .filter(Boolean)
    .join(' and ');

/**
 * The candidate that `word` was probably meant to be: least edit distance (insert, delete, replace, swap neighbours),
 * where case, "-" and "_" do not count. Undefined when none is near: more than a third of the letters would change.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  if (word.length > 40) return undefined;
  const plain = (text: string): string => text.toLowerCase().replace(/[-_ ]/g, '');
  const wanted = plain(word);
  let best: string | undefined;
  let least = Math.max(1, Math.floor(wanted.length / 3)) + 1;
  for (const candidate of candidates) {
    const distance = editDistance(wanted, plain(candidate), least);
    // A short word that shares nothing with the candidate is another word.
    if (distance < least && distance < Math.max(wanted.length, 1)) [best, least] = [candidate, distance];
  }
  return best;
}

function editDistance(a: string, b: string, enough: number): number {
  if (Math.abs(a.length - b.length) >= enough) return enough;
  let [before, last] = [[] as number[], Array.from({ length: b.length + 1 }, (_, j) => j)];
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      let cost = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) cost = Math.min(cost, before[j - 2]! + 1);
      row.push(cost);
    }
    [before, last] = [last, row];
  }
  return last[b.length]!;
}

/** How an alarm is named in a sentence: tag and text, or the text alone where that begins with the machine of the tag. */
export function alarmName(tag: string, text: string): string {
  return tag === text || tag.startsWith(`${text.split(' ')[0]}-`) ? text : `${tag} ${text}`;
}

/** A time of the run: seconds, or hours, minutes and seconds where the run is longer than two hours. */
export function clock(time_s: number, end_s: number, decimals: number): string {
  if (end_s < 7200) return `${time_s.toFixed(decimals)} s`;
  const scale = 10 ** decimals;
  const units = Math.round(time_s * scale);
  const two = (x: number) => String(x).padStart(2, '0');
  const seconds = ((units % (60 * scale)) / scale).toFixed(decimals).padStart(decimals + 3, '0');
  return `${Math.floor(units / (3600 * scale))}:${two(Math.floor(units / (60 * scale)) % 60)}:${seconds}`;
}

/** h:mm:ss, with days in front where there are any. */
export function clockTime(seconds: number): string {
  const whole = Math.round(seconds);
  const days = Math.floor(whole / 86_400);
  const two = (n: number) => String(n).padStart(2, '0');
  const clock = `${Math.floor((whole % 86_400) / 3600)}:${two(Math.floor((whole % 3600) / 60))}:${two(whole % 60)}`;
  return days === 0 ? clock : `${days} d ${clock}`;
}
