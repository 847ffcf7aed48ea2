/**
 * Steps: what hands do one after the other, as in a demonstration on site. A step acts, then waits until its condition
 * reads true at a scan, or for its time, or not at all; then the next one follows at the same scan. A step that waits
 * longer than its patience is over without its condition.
 */
import { choice, group, list, quantity, text, type Values } from './parameters.ts';
import { ACTIONS, type Action } from './plant.ts';

export const stepTable = {
  what: text({
    meaning: 'What this step is, in words',
    optional: true,
    example: 'Drain oil until the duty pump starts',
  }),
  do: choice(ACTIONS, { meaning: 'What is done; nothing but waiting when left out', optional: true }),
  item: text({ refers: true, meaning: 'Tag of the valve or machine', optional: true, example: 'P-101' }),
  until: text({ meaning: 'Wait until this comparison reads true', optional: true, example: 'P-101.running = yes' }),
  for: quantity('time', { meaning: 'Wait this long', above: 0, optional: true, example: '30 s' }),
  patience: quantity('time', {
    meaning: 'Longest wait for the condition (choice: 1 h)',
    above: 0,
    default: 3600,
    example: '20 min',
  }),
  expect: list(
    group(
      {
        what: text({ meaning: 'What is read at the end of the step', example: 'tank.pressure' }),
        reads: text({ meaning: 'Expected reading, or yes or no', example: '128 psig' }),
        within: text({
          meaning: 'How far off it may be; required for a measured quantity',
          optional: true,
          example: '2 psi',
        }),
      },
      { meaning: 'One expected reading' },
    ),
    { meaning: 'Readings expected at the end of the step', defaults: true, maxItems: 20 },
  ),
} as const;
export const stepGroup = group(stepTable, { meaning: 'One step', atMostOneOf: [['until', 'for']] });
export type StepValues = Values<typeof stepTable>;

/** A step as built. */
export interface StepPlant {
  readonly text: string;
  readonly action: Action | undefined;
  readonly item: number;
  /** Index of a condition; -1 for none. */
  readonly condition: number;
  /** Ticks to wait without a condition. */
  readonly wait_ticks: number;
  readonly patience_ticks: number;
}

/** How a step ended. */
export const StepEnd = { asMeant: 0, outOfPatience: 1 } as const;
