/**
 * JSON Schema (draft 2020-12) of a table of parameters, for editors that complete and check scenario files as they are
 * typed. It knows the shape of the file, the keys, the lists of choices and whether a quantity has a unit; what a unit
 * measures, limits of quantities, tags and references only the reader checks.
 */
import type { Choice, Dimension, Field, Group, NumberField, Quantity, Table } from '../models/parameters.ts';
import { isRequired } from './reader.ts';
import { describeDimension, inUnit, readQuantity, SEA_LEVEL_PRESSURE_PA } from './units.ts';
import { limitsText } from './wording.ts';

export interface JsonSchema {
  readonly [keyword: string]: unknown;
}
export interface SchemaHeading {
  readonly id?: string;
  readonly title: string;
  readonly description?: string;
}

/** The schema of files whose top level is `table`. */
export function jsonSchema(table: Table, heading: SchemaHeading): JsonSchema {
  const root = schemaOf({ kind: 'group', table, meaning: heading.description ?? heading.title });
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    ...(heading.id === undefined ? {} : { $id: heading.id }),
    title: heading.title,
    ...root,
  };
}

function schemaOf(field: Field): JsonSchema {
  switch (field.kind) {
    case 'quantity':
      return quantitySchema(field);
    case 'number':
      return numberSchema(field);
    case 'flag':
      return {
        description: sentences(
          field.meaning,
          field.default !== undefined && `Default: ${field.default ? 'yes' : 'no'}`,
        ),
        enum: [true, false, 'yes', 'no', 'on', 'off', 'true', 'false'],
      };
    case 'choice':
      return {
        description: sentences(field.meaning, field.default !== undefined && `Default: ${field.default}`),
        enum: field.of.flatMap(asYaml),
      };
    case 'text':
      return {
        description: sentences(
          field.meaning,
          field.tag && 'Unique in the file',
          field.refers && 'The tag of an item of the file',
          field.default !== undefined && `Default: ${field.default}`,
        ),
        // A tag or title of digits alone is a number to YAML.
        type: ['string', 'number'],
        ...(field.tag ? { pattern: '^[A-Za-z0-9_.-]{1,60}$' } : {}),
        examples: [field.example],
      };
    case 'group':
      return groupSchema(field);
    case 'list':
      return {
        description: sentences(field.meaning),
        type: 'array',
        items: schemaOf(field.of),
        ...(field.minItems === undefined ? {} : { minItems: field.minItems }),
        ...(field.maxItems === undefined ? {} : { maxItems: field.maxItems }),
      };
    case 'either':
      return { description: sentences(field.meaning), anyOf: [schemaOf(field.scalar), schemaOf(field.compound)] };
  }
}

/** "Meaning. Default: 5 gal." */
const sentences = (...parts: readonly (string | false | undefined)[]): string =>
  parts
    .filter((part): part is string => typeof part === 'string' && part !== '')
    .map((part) => `${part.charAt(0).toUpperCase()}${part.slice(1).replace(/\.$/, '')}.`)
    .join(' ');

/** A choice as text and as what YAML makes of the same letters without quotes. */
function asYaml(choice: Choice['of'][number]): (string | number | boolean)[] {
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(choice)) return [choice, Number(choice)];
  return choice === 'true' || choice === 'false' ? [choice, choice === 'true'] : [choice];
}

function numberSchema(field: NumberField): JsonSchema {
  const { min, max, above, below } = field;
  return {
    description: sentences(field.meaning, field.default !== undefined && `Default: ${field.default}`),
    type: field.whole ? 'integer' : 'number',
    ...(min === undefined ? {} : { minimum: min }),
    ...(max === undefined ? {} : { maximum: max }),
    ...(above === undefined ? {} : { exclusiveMinimum: above }),
    ...(below === undefined ? {} : { exclusiveMaximum: below }),
    examples: [Number(field.example)],
  };
}

function quantitySchema(field: Quantity): JsonSchema {
  const { dimension, min, max, above, below } = field;
  const sample = readQuantity(field.example, dimension, SEA_LEVEL_PRESSURE_PA);
  if ('problem' in sample) throw new Error(`example of "${field.meaning}": ${sample.problem}`);
  const show = (si: number, inward?: 'min' | 'max'): string => inUnit(si, sample.unit, inward);
  const limits = limitsText(field, show);
  const { noun, units } = describeDimension(dimension);
  const description = sentences(
    field.meaning,
    `${noun} (${units.join(', ')})`,
    limits === '' ? undefined : `${limits}${dimension === 'pressure' ? ', at sea level' : ''}`,
    field.default !== undefined && `Default: ${show(field.default)}`,
  );
  const pattern = quantityPattern(dimension);
  if (dimension !== 'fraction') return { description, type: 'string', pattern, examples: [field.example] };
  return {
    description,
    type: ['number', 'string'],
    pattern,
    ...(min === undefined ? {} : { minimum: min }),
    ...(max === undefined ? {} : { maximum: max }),
    ...(above === undefined ? {} : { exclusiveMinimum: above }),
    ...(below === undefined ? {} : { exclusiveMaximum: below }),
    examples: [sample.unit.name === '' ? Number(field.example) : field.example],
  };
}

const NUMBER = String.raw`[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?`;

/** Letters in either case: schema patterns have no flag for that. */
const anyCase = (pattern: string): string =>
  pattern.replace(/[a-z]/g, (letter) => `[${letter.toUpperCase()}${letter}]`);

/** A number and something that can be a unit; a pressure must end with gauge or absolute. */
export function quantityPattern(dimension: Dimension): string {
  switch (dimension) {
    case 'pressure': {
      const glued = anyCase('(?:psi|m?bar|k?pa|mpa)') + String.raw`\s*[GgAa]`;
      const apart = String.raw`[A-Za-z].*[\s(\[]${anyCase('(?:g|gau?ge|a|abs|absolute)')}`;
      return String.raw`^\s*${NUMBER}\s*(?:${glued}|${apart})\s*[)\]]?\s*$`;
    }
    case 'flowCoefficient':
      return String.raw`^\s*(?:[CcKk][Vv]\s*[=:]?\s*${NUMBER}|${NUMBER}\s*[CcKk][Vv])\s*$`;
    case 'fraction':
      return String.raw`^\s*${NUMBER}\s*(?:%|${anyCase('percent|per cent|pct')})?\s*$`;
    default:
      return String.raw`^\s*${NUMBER}(?![\d.])\s*(?:1/${anyCase('(?:min|s)')}|(?![eE][+-]?\d)[A-Za-z°º℃℉µμ"'″′].*)$`;
  }
}

function groupSchema(group: Group): JsonSchema {
  const fields = Object.entries(group.table);
  const required = fields.filter(([, field]) => isRequired(field)).map(([key]) => key);
  const rules = [
    ...(group.oneOf ?? []).map((keys) => ({ oneOf: keys.map((key) => ({ required: [key] })) })),
    ...(group.atMostOneOf ?? []).flatMap((keys) =>
      keys.flatMap((key, i) => keys.slice(i + 1).map((other) => ({ not: { required: [key, other] } }))),
    ),
  ];
  const together: Record<string, string[]> = {};
  for (const [first = '', ...others] of group.together ?? []) together[first] = [...(together[first] ?? []), ...others];
  return {
    description: sentences(group.meaning),
    type: 'object',
    properties: Object.fromEntries(fields.map(([key, field]) => [key, schemaOf(field)])),
    ...(required.length === 0 ? {} : { required }),
    additionalProperties: false,
    ...(rules.length === 0 ? {} : { allOf: rules }),
    ...(group.together === undefined ? {} : { dependentRequired: together }),
  };
}
