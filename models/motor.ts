/**
 * Motor and starter, as far as the panel sees them. Speed rises in a straight ramp over the run-up and is lost at once
 * when the starter opens. "Proven" is the auxiliary contact of the starter, or a flow switch in the delivery.
 * Not modelled here: current, overload thermal memory.
 */
import { choice, group, quantity } from './parameters.ts';

export const motorTable = {
  selector: choice(['auto', 'off', 'hand'], { meaning: 'Position of the hand-off-auto selector', default: 'auto' }),
  runUp: quantity('time', { meaning: 'Time to full speed', min: 0, max: 120, default: 0.5, example: '0.8 s' }),
  restartDelay: quantity('time', {
    meaning: 'Wait after the mains came back, to stagger the starts',
    min: 0,
    default: 0,
    example: '5 s',
  }),
  provenBy: choice(['starter contact', 'flow switch'], {
    meaning: 'What proves that the machine runs; a starter contact does not see a shut isolation valve',
    default: 'starter contact',
  }),
  ratedPower: quantity('power', {
    meaning: 'Rated power of the motor, to check the nameplate against',
    above: 0,
    optional: true,
    example: '1.5 hp',
  }),
  isolation: choice(['open', 'shut'], { meaning: 'Isolation valve in the delivery', default: 'open' }),
} as const;
export const motorGroup = group(motorTable, { meaning: 'Motor, starter and selector' });

/** Share of the rated flow that makes a flow switch (choice). */
export const FLOW_SWITCH_SHARE = 0.2;

export const Selector = { off: 0, auto: 1, hand: 2 } as const;
