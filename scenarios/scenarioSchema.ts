/** The JSON Schema of the scenario file, made from the same tables that check it. */
import { scenarioTable } from './scenario.ts';
import { type JsonSchema, jsonSchema } from './schema.ts';

export function scenarioSchema(): JsonSchema {
  return jsonSchema(scenarioTable, {
    id: 'scenario.schema.json',
    title: 'tripstroke scenario',
    description: 'A unit that stores oil under compressed air, its valves, and a loss of mains to replay.',
  });
}
