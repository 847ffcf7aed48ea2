/**
 * Conditions such as "tank.pressure < 95 psig" or "tank.level < 31 in and P-101.running = yes": comparisons of named
 * quantities with quantities read by the file's own reader, joined by "and" or by "or". Nothing else is understood.
 */
import type { Comparison, Condition, Subject } from '../models/condition.ts';
import type { Dimension } from '../models/parameters.ts';
import { readQuantity } from './units.ts';
import { nearest, quoted } from './wording.ts';

/** A name that may stand on the left, what it is and in what it is measured; no dimension for a bit. */
export interface Name {
  readonly subject: Subject;
  readonly dimension: Dimension | undefined;
}

/** The names of a unit by its tags. */
export function conditionNames(tags: {
  readonly valves: readonly string[];
  readonly motors: readonly string[];
}): ReadonlyMap<string, Name> {
  const names = new Map<string, Name>([
    ['tank.pressure', { subject: { kind: 'pressure' }, dimension: 'pressure' }],
    ['tank.level', { subject: { kind: 'level' }, dimension: 'length' }],
    ['sump.level', { subject: { kind: 'sumpLevel' }, dimension: 'length' }],
    ['mains', { subject: { kind: 'mains' }, dimension: undefined }],
  ]);
  tags.valves.forEach((tag, item) => {
    names.set(`${tag}.position`, { subject: { kind: 'position', item }, dimension: 'fraction' });
  });
  tags.motors.forEach((tag, item) => {
    names.set(`${tag}.running`, { subject: { kind: 'running', item }, dimension: undefined });
  });
  return names;
}

const COMPARISON = /^([^\s<>=]+)\s*(<=|>=|<|>|=)\s*(.+)$/;
const BITS: Readonly<Record<string, number>> = { yes: 1, no: 0, true: 1, false: 0, on: 1, off: 0 };

/** Reads a condition. Errors come back as words: what was wrong and what to write. */
export function readCondition(
  text: string,
  names: ReadonlyMap<string, Name>,
  ambientPressure_Pa: number,
): { readonly condition: Condition } | { readonly problem: string } {
  const example = 'for instance "tank.pressure < 95 psig"';
  const hasAnd = /\sand\s/i.test(text);
  const hasOr = /\sor\s/i.test(text);
  if (hasAnd && hasOr) return { problem: '"and" and "or" cannot stand in one condition; write two entries' };
  const comparisons: Comparison[] = [];
  for (const part of text.split(/\s(?:and|or)\s/i)) {
    const match = COMPARISON.exec(part.trim());
    if (match === null)
      return {
        problem: `${quoted(part.trim())} is no comparison; write a name, <, >, <=, >= or =, and a quantity, ${example}`,
      };
    const [, name, operator, value] = match as unknown as [string, string, string, string];
    const known = names.get(name);
    if (known === undefined) {
      const near = nearest(name, names.keys());
      const list = [...names.keys()].slice(0, 6).join(', ');
      return {
        problem: `${quoted(name)} is not a name that can be compared${near === undefined ? `; names are ${list}${names.size > 6 ? ', ...' : ''}` : `; did you mean ${near}?`}`,
      };
    }
    if (known.dimension === undefined) {
      const bit = BITS[value.trim().toLowerCase()];
      if (operator !== '=' || bit === undefined) return { problem: `${name} is yes or no; write "${name} = yes"` };
      comparisons.push({ subject: known.subject, sign: bit === 1 ? 1 : -1, value: bit });
      continue;
    }
    if (operator === '=') return { problem: `${name} is measured and is never exactly a value; write < or >` };
    const read = readQuantity(value.trim(), known.dimension, ambientPressure_Pa);
    if ('problem' in read) return { problem: read.problem };
    comparisons.push({ subject: known.subject, sign: operator.startsWith('>') ? 1 : -1, value: read.value });
  }
  return { condition: { text, join: hasOr ? 'or' : 'and', comparisons } };
}

/** An expected reading: SI values, levels as on the sight glass. */
export interface Expectation {
  readonly name: string;
  readonly subject: Subject;
  readonly dimension: Dimension | undefined;
  readonly value: number;
  readonly within: number;
}

const DIFFERENCE: Readonly<Partial<Record<Dimension, Dimension>>> = { pressure: 'pressureDifference' };

/** Reads an expected reading. Errors come back as words. */
export function readExpectation(
  written: { readonly what: string; readonly reads: string; readonly within?: string },
  names: ReadonlyMap<string, Name>,
  ambientPressure_Pa: number,
): Expectation | { readonly problem: string } {
  const { what: name, reads, within } = written;
  const known = names.get(name);
  if (known === undefined) {
    const near = nearest(name, names.keys());
    return {
      problem: `${quoted(name)} is not a name that can be read${near === undefined ? '' : `; did you mean ${near}?`}`,
    };
  }
  const { subject, dimension } = known;
  if (dimension === undefined) {
    const bit = BITS[reads.trim().toLowerCase()];
    return bit === undefined
      ? { problem: `${name} is yes or no; write "reads: yes"` }
      : { name, subject, dimension, value: bit, within: 0 };
  }
  const value = readQuantity(reads.trim(), dimension, ambientPressure_Pa);
  if ('problem' in value) return { problem: value.problem };
  if (within === undefined) return { problem: `${name} is measured; say "within" how much it may be off` };
  const band = readQuantity(within.trim(), DIFFERENCE[dimension] ?? dimension, ambientPressure_Pa);
  if ('problem' in band) return { problem: `within: ${band.problem}` };
  return { name, subject, dimension, value: value.value, within: Math.abs(band.value) };
}
