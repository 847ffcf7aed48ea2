/** The section `tuning` of the file: which setpoints may be moved, and what is wanted of the unit. */
import { faultTable } from '../models/fault.ts';
import { choice, group, list, number, quantity, text, type Values } from '../models/parameters.ts';

const { at: _at, when: _when, for: _for, ...lasting } = faultTable;

export const setpointTable = {
  setpoint: text({ meaning: 'Path of the value in this file', example: 'panel.pressure.cutIn.at' }),
  from: text({ meaning: 'Lowest value', optional: true, example: '110 psig' }),
  to: text({ meaning: 'Highest value', optional: true, example: '150 psig' }),
  step: text({
    meaning: 'Increment in which it is set in practice; 1 psi or 0.05 bar, 0.5 in or 10 mm, 1 s when left out',
    optional: true,
    example: '1 psi',
  }),
} as const;

export const OBJECTIVES = ['most margin', 'fewest starts'] as const;
export type Objective = (typeof OBJECTIVES)[number];

export const tuningTable = {
  setpoints: list(group(setpointTable, { meaning: 'One setpoint and where it may be set' }), {
    meaning:
      'What may be set otherwise; when left out starts, stops, cut-ins and cut-out, each between its neighbours on the staircase',
    defaults: true,
    maxItems: 12,
  }),
  margin: quantity('fraction', {
    meaning: 'Least margin wanted of every required stroke, where that is more than its valve asks for',
    min: 0,
    max: 10,
    optional: true,
    example: '10 %',
  }),
  mostStarts: number({
    meaning:
      'Most starts an hour of a machine, whatever is drawn, where that is less than its motor is allowed; 6 where neither is given (choice)',
    above: 0,
    max: 3600,
    optional: true,
    example: '6',
  }),
  longestRefill: quantity('time', {
    meaning: 'Longest refill with one pump, from the duty start less the required set up to the stop',
    above: 0,
    optional: true,
    example: '15 min',
  }),
  longestRecharge: quantity('time', {
    meaning: 'Longest recharge with one compressor, from the cut-in to the cut-out',
    above: 0,
    optional: true,
    example: '60 min',
  }),
  survive: list(group(lasting, { meaning: 'One fault' }), {
    meaning: 'Faults of which any single one may stand when the mains are lost',
    defaults: true,
    maxItems: 20,
  }),
  objective: choice(OBJECTIVES, { meaning: 'What is sought once all that is wanted is met', default: 'most margin' }),
} as const;
export const tuningGroup = group(tuningTable, {
  meaning: 'How the switches may be set, and what is wanted; read by "tune"',
  defaults: true,
});
export type TuningValues = Values<typeof tuningTable>;
