/** Actions and faults as items of a list of the file: those it has, written out again, and those that are added. */
import { faultTable } from '../../models/fault.ts';
import type { Field, Table } from '../../models/parameters.ts';
import { type ScenarioValues, scenarioTable } from '../../scenarios/scenario.ts';
import { exactQuantity } from '../../scenarios/units.ts';
import type { Listed, Variant } from './protocol.ts';

const actionTable = scenarioTable.actions.of.table;

/** A value as the file would have it, with all its digits. */
function written(field: Field, value: unknown): string {
  if (field.kind === 'quantity') return exactQuantity(value as number, field.dimension);
  // Quotes only where they are needed: these are read by people.
  if (field.kind === 'text')
    return /^(?!null$)[a-z][\w-]*$/i.test(String(value)) ? String(value) : JSON.stringify(value);
  return String(value);
}

function item(table: Table, values: Readonly<Record<string, unknown>>): string {
  const parts = Object.entries(table).flatMap(([key, field]) =>
    values[key] === undefined ? [] : [`${key}: ${written(field, values[key])}`],
  );
  return `{ ${parts.join(', ')} }`;
}

/** What a file has, to be shown and to be left out by. */
export function listedIn(values: ScenarioValues | undefined): Listed {
  const list = (items: readonly object[] = [], table: Table) =>
    items.map((v) => item(table, v as Readonly<Record<string, unknown>>));
  return { actions: list(values?.actions, actionTable), faults: list(values?.faults, faultTable) };
}

/** Which of a list are left out, by index: of several alike as many as are named. */
export function leftOutOf(list: readonly string[], leftOut: readonly string[]): number[] {
  const named = [...leftOut];
  return list.flatMap((text, i) => {
    const at = named.indexOf(text);
    if (at < 0) return [];
    named.splice(at, 1);
    return [i];
  });
}

/**
 * A variant as overrides ("path=value", as of `--set`).
 *
 * @param values those of the file, whose lists are repeated where something is added to them
 */
export function overridesOf(variant: Variant, values: ScenarioValues | undefined): string[] {
  const listed = listedIn(values);
  const list = (key: 'actions' | 'faults'): string[] => {
    const out = leftOutOf(listed[key], variant.leftOut);
    if (variant[key].length + out.length === 0) return [];
    const stays = listed[key].filter((_, i) => !out.includes(i));
    return [`${key}=[${[...stays, ...variant[key]].join(', ')}]`];
  };
  return [
    ...Object.entries(variant.changes).map(([path, value]) => `${path}=${value}`),
    ...list('actions'),
    ...list('faults'),
  ];
}
