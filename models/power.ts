/**
 * Mains and control power. Motors stop at once when the mains go. Panel and solenoids live on control power, which
 * holds for a stated time. An undervoltage relay trips the valves after its delay; the trip stays until it is reset.
 */
import { choice, group, quantity, type Values } from './parameters.ts';

export const powerTable = {
  lostAt: quantity('time', { meaning: 'When the mains fail', min: 0, optional: true, example: '30 s' }),
  backAt: quantity('time', { meaning: 'When the mains come back', min: 0, optional: true, example: '15 min' }),
  controlPowerHeld: quantity('time', {
    meaning: 'How long control power outlasts the mains; 8 h where left out (choice: a station battery)',
    min: 0,
    default: 28_800,
    example: '8 h',
  }),
  undervoltageDelay: quantity('time', {
    meaning: 'Delay of the undervoltage relay',
    min: 0,
    default: 0,
    example: '0.5 s',
  }),
  trip: choice(['until reset', 'while mains are lost'], {
    meaning: 'How long a trip by loss of mains stands',
    default: 'until reset',
  }),
} as const;
export const powerGroup = group(powerTable, { meaning: 'Mains and control power', defaults: true });
export type PowerValues = Values<typeof powerTable>;
