/** Actions and faults as items of a list of the file: those it has, written out again, and those that are added. */
import { faultTable } from '../../models/fault.ts';
import type { Field, Table } from '../../models/parameters.ts';
import { type ScenarioValues, scenarioTable } from '../../scenarios/scenario.ts';
import { exactQuantity } from '../../scenarios/units.ts';
import type { Variant } from './protocol.ts';

const actionTable = scenarioTable.actions.of.table;

/** A value as the file would have it, with all its digits. */
function written(field: Field, value: unknown): string {
  if (field.kind === 'quantity') return exactQuantity(value as number, field.dimension);
  if (field.kind === 'text') return JSON.stringify(value);
  return String(value);
}

function item(table: Table, values: Readonly<Record<string, unknown>>): string {
  const parts = Object.entries(table).flatMap(([key, field]) =>
    values[key] === undefined ? [] : [`${key}: ${written(field, values[key])}`],
  );
  return `{ ${parts.join(', ')} }`;
}

/**
 * A variant as overrides ("path=value", as of `--set`).
 *
 * @param values those of the file, whose lists are repeated where something is added to them
 */
export function overridesOf(variant: Variant, values: ScenarioValues | undefined): string[] {
  const list = (key: 'actions' | 'faults', table: Table, added: readonly string[]): string[] => {
    if (added.length === 0) return [];
    const before = (values?.[key] ?? []).map((v) => item(table, v as unknown as Readonly<Record<string, unknown>>));
    return [`${key}=[${[...before, ...added].join(', ')}]`];
  };
  return [
    ...Object.entries(variant.changes).map(([path, value]) => `${path}=${value}`),
    ...list('actions', actionTable, variant.actions),
    ...list('faults', faultTable, variant.faults),
  ];
}
