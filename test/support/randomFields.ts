/**
 * Random raw material for any table of parameters. Every leaf becomes a small whole number, a "code", that means nothing
 * yet; randomScenario.ts turns codes into values that suit each other. Code 0 is the plainest value, an absent list or
 * an absent optional field the plainest shape, so that fast-check shrinks a failing case towards the ordinary.
 * A field added to a table is drawn from the day it is added.
 */
import fc from 'fast-check';
import type { Field, Group, NumberField, Quantity, Table } from '../../models/parameters.ts';
import { readQuantity } from '../../scenarios/units.ts';

/** Codes run from 0 to this. */
export const TOP_CODE = 999;

export type Raw = number | readonly Raw[] | { readonly [key: string]: Raw } | undefined;

const code = fc.integer({ min: 0, max: TOP_CODE });

/** Longest random list by name of its key, or shortest and longest; the rest stop at 3. */
export type ListLengths = { readonly [key: string]: number | readonly [number, number] };

export function rawOf(field: Field, lengths: ListLengths, key = ''): fc.Arbitrary<Raw> {
  switch (field.kind) {
    case 'group':
      return rawGroup(field, lengths);
    case 'list': {
      const wanted = lengths[key] ?? 3;
      const [least, most] = typeof wanted === 'number' ? [0, wanted] : wanted;
      return fc.array(rawOf(field.of, lengths, key), {
        minLength: Math.max(field.minItems ?? 0, least),
        maxLength: Math.min(field.maxItems ?? most, most),
      });
    }
    case 'either':
      return fc.oneof(rawOf(field.scalar, lengths, key), rawOf(field.compound, lengths, key));
    default:
      return code;
  }
}

function rawGroup(group: Group, lengths: ListLengths): fc.Arbitrary<Raw> {
  const fields: Record<string, fc.Arbitrary<Raw>> = {};
  for (const [key, field] of Object.entries(group.table)) {
    const raw = rawOf(field, lengths, key);
    fields[key] = field.optional ? fc.option(raw, { nil: undefined, freq: 2 }) : raw;
  }
  // Which of each set of alternatives is taken.
  const choices = (group.oneOf ?? []).map((keys) => fc.nat(keys.length - 1));
  return fc.tuple(fc.record(fields), fc.tuple(...choices)).chain(([values, taken]) => {
    const out: Record<string, Raw> = { ...values };
    const wanted: Record<string, fc.Arbitrary<Raw>> = {};
    (group.oneOf ?? []).forEach((keys, i) => {
      keys.forEach((key, k) => {
        if (k !== taken[i]) delete out[key];
        else if (out[key] === undefined) wanted[key] = rawOf(group.table[key], lengths, key);
      });
    });
    for (const [first, ...others] of group.together ?? []) {
      for (const key of others) {
        if (out[first] === undefined && wanted[first] === undefined) delete out[key];
        else if (out[key] === undefined) wanted[key] = rawOf(group.table[key], lengths, key);
      }
    }
    return fc.record(wanted).map((more): Raw => ({ ...out, ...more }));
  });
}

/** Where in 0..1 a code lies. */
export const share = (c: number): number => c / TOP_CODE;
/** Between two positive numbers on a logarithmic scale; code 0 gives the first. */
export const between = (c: number, from: number, to: number): number => from * (to / from) ** share(c);
/** Between two numbers, evenly; code 0 gives the first. */
export const along = (c: number, from: number, to: number): number => from + (to - from) * share(c);

/** A number within the limits of its field. */
export function within(field: Quantity | NumberField, value: number): number {
  let x = value;
  if (field.max !== undefined && x > field.max) x = field.max;
  if (field.min !== undefined && x < field.min) x = field.min;
  if (field.above !== undefined && x <= field.above) x = field.above + Math.max(1e-9, Math.abs(field.above) * 1e-3);
  if (field.below !== undefined && x >= field.below) x = field.below - Math.max(1e-9, Math.abs(field.below) * 1e-3);
  return 'whole' in field && field.whole ? Math.round(x) : x;
}

/** The number of a field as its table suggests: its default or example for code 0, else up to four times more or less. */
export function plainNumber(field: Quantity | NumberField, c: number): number {
  let base = field.default;
  if (base === undefined) {
    if (field.kind === 'number') base = Number(field.example);
    else {
      const reading = readQuantity(field.example, field.dimension, 101_325);
      if (!('value' in reading)) throw new Error(`the example "${field.example}" cannot be read: ${reading.problem}`);
      base = reading.value;
    }
  }
  if (c === 0) return base;
  if (c === 1 && field.min !== undefined) return field.min;
  if (base === 0) return within(field, share(c));
  const kelvin = field.kind === 'quantity' && field.dimension === 'temperature';
  return within(field, kelvin ? base + along(c, -40, 40) : base * between(c, 0.25, 4));
}

/** Walks raw material beside its table and returns the values of the table. `decode` gives the value of each leaf. */
export function decodeTable(
  table: Table,
  raw: Raw,
  path: string,
  decode: (path: string, field: Field, code: number) => unknown,
): Record<string, unknown> {
  const values: Record<string, unknown> = {};
  const given = raw as { readonly [key: string]: Raw };
  for (const [key, field] of Object.entries(table)) {
    if (given[key] === undefined) continue;
    const at = path === '' ? key : `${path}.${key}`;
    values[key] = decodeField(field, given[key], at, decode);
  }
  return values;
}

function decodeField(
  field: Field,
  raw: Raw,
  path: string,
  decode: (path: string, field: Field, code: number) => unknown,
): unknown {
  switch (field.kind) {
    case 'group':
      return decodeTable(field.table, raw, path, decode);
    case 'list':
      return (raw as readonly Raw[]).map((item, i) => decodeField(field.of, item, `${path}.${i}`, decode));
    case 'either':
      return decodeField(typeof raw === 'number' ? field.scalar : field.compound, raw, path, decode);
    default:
      return decode(path, field, raw as number);
  }
}
