/**
 * A cylinder-operated valve. Position x of the piston: 0 closed, 1 open. Commanded direction s = +1 opens, -1 closes;
 *
 *   dx/dt = s Q_in/(A_in L)
 *   thrust = p_in A_in - p_out A_out - p_ambient (A_in - A_out), against load(x, s) + friction
 *
 * The load is positive where it opposes the motion and negative where it helps; given as a torque at the stem it comes
 * to the piston through the drive (drive.ts). At rest breakaway friction has to be overcome, in motion running friction.
 * A piston stops when what drives it vanishes and stays stuck until the thrust at zero flow exceeds load and breakaway.
 *
 * Spring return: oil on one side only, the spring's side open to the air (A_out = 0). The spring pushes with
 *
 *   F = preload + rate x travel against it
 *
 * against the oil, or, with the pressure side let out to the return main, against load + friction + (p_out - p_ambient)
 * A_out: dx/dt = s Q_out/(A_out L), and nothing comes from the tank. It needs no oil: gas in the header does not stop it.
 *
 * End cushion: over the last part of the travel a further throttle stands in the return leg, all of it at once.
 *
 * Source: force balance. Not modelled: inertia, stick-slip, oil compressibility, a load that overpowers a spring at its
 * end position, creep of a valve that its pilot has stopped part way.
 */
import { driveGroup } from './drive.ts';
import { lineGroup } from './line.ts';
import { choice, either, flag, group, list, quantity, text, type Values } from './parameters.ts';
import { pipelineGroup } from './surge.ts';

const loadPoints = (direction: string) =>
  either(
    quantity('force', { meaning: 'Constant load', example: '12 kN' }),
    list(
      group(
        {
          at: quantity('fraction', { meaning: 'Position: 0 closed, 100 % open', min: 0, max: 1, example: '25 %' }),
          force: quantity('force', { meaning: 'Load there, at the piston', optional: true, example: '9 kN' }),
          torque: quantity('torque', {
            meaning: 'Load there, at the stem; all points of a direction alike',
            optional: true,
            example: '850 N m',
          }),
        },
        {
          meaning: 'A point of the load profile; straight lines between points, over piston travel or turn of the stem',
          oneOf: [['force', 'torque']],
        },
      ),
      { meaning: 'Points of the load profile', minItems: 1, maxItems: 100 },
    ),
    { meaning: `Load ${direction}: positive opposes the motion, negative helps it` },
  );

export const valveTable = {
  tag: text({ tag: true, meaning: 'Tag of the valve', example: 'V-201' }),
  service: text({ meaning: 'What the valve does, in words', optional: true, example: 'turbine inlet' }),
  bore: quantity('length', { meaning: 'Bore of the cylinder', above: 0, max: 3, example: '203.2 mm' }),
  rod: quantity('length', { meaning: 'Diameter of the rod', min: 0, max: 3, example: '50.8 mm' }),
  stroke: quantity('length', { meaning: 'Stroke of the piston', above: 0, max: 20, example: '254 mm' }),
  headEnd: choice(['opens', 'closes'], {
    meaning: 'Which way the valve moves when oil enters on the full bore',
    default: 'opens',
  }),
  drive: driveGroup,
  load: group(
    { opening: loadPoints('while opening'), closing: loadPoints('while closing') },
    { meaning: 'Load over position of the valve, for each direction: force at the piston or torque at the stem' },
  ),
  spring: group(
    {
      drives: choice(['closes', 'opens'], { meaning: 'What the valve does when its pilot lets the oil out' }),
      preload: quantity('force', {
        meaning: 'Push of the spring at the end of its own stroke, where it is least',
        min: 0,
        example: '9 kN',
      }),
      rate: quantity('stiffness', { meaning: 'How it grows with the travel against it', min: 0, example: '30 N/mm' }),
    },
    { meaning: 'Spring of a spring-return cylinder; its side of the piston holds no oil', optional: true },
  ),
  friction: group(
    {
      running: quantity('force', { meaning: 'Friction in motion', min: 0, default: 0, example: '800 N' }),
      breakaway: quantity('force', {
        meaning: 'Friction to be overcome at rest; the running friction when left out',
        min: 0,
        optional: true,
        example: '1200 N',
      }),
    },
    { meaning: 'Friction of seals and stem', defaults: true },
  ),
  supplyLine: lineGroup('From the header to the cylinder, pilot valve included'),
  returnLine: lineGroup('From the cylinder to the return main, pilot valve included'),
  speedControl: group(
    {
      placed: choice(['meter-out', 'meter-in', 'both'], {
        meaning: 'In which leg the throttle sits',
        default: 'meter-out',
      }),
      opening: lineGroup('Throttle while opening'),
      closing: lineGroup('Throttle while closing'),
      cushion: group(
        {
          length: quantity('length', { meaning: 'Last part of the travel that it slows', above: 0, example: '25 mm' }),
          opening: lineGroup('Further throttle in the return leg at the end of opening'),
          closing: lineGroup('Further throttle in the return leg at the end of closing'),
        },
        { meaning: 'End cushion of the cylinder', optional: true },
      ),
    },
    {
      meaning:
        'Throttles that set the speed, separately for each direction; a spring-return cylinder has them in the leg that carries oil',
      optional: true,
    },
  ),
  internalLeak: group(
    {
      flow: quantity('volumeFlow', { meaning: 'Oil past the piston seals', min: 0, example: '0.05 L/min' }),
      at: quantity('pressureDifference', { meaning: 'Pressure across the piston', above: 0, example: '100 psi' }),
    },
    { meaning: 'Leak across the piston to the sump', optional: true },
  ),
  mayBePushedBack: flag({
    meaning: 'No non-return valve in the supply: an overpowering load pushes oil back into the tank',
    default: false,
  }),
  elevation: quantity('length', {
    meaning: 'Elevation of the cylinder; counts only where the elevation of the tank is given',
    optional: true,
    example: '104 m',
  }),
  position: quantity('fraction', {
    meaning: 'Position of the valve at the start: 0 closed, 100 % open',
    min: 0,
    max: 1,
    example: '100 %',
  }),
  onTrip: choice(['closes', 'opens', 'stays', 'sequence'], { meaning: 'What the valve does on a trip' }),
  sequence: list(
    either(
      choice(['closes', 'opens'], { meaning: 'A whole stroke' }),
      group(
        {
          stroke: choice(['closes', 'opens'], { meaning: 'Which way' }),
          to: quantity('fraction', {
            meaning: 'Position of the valve at which a spring-centred pilot stops it',
            above: 0,
            below: 1,
            example: '40 %',
          }),
        },
        { meaning: 'A stroke that ends part way' },
      ),
      { meaning: 'One stroke' },
    ),
    { meaning: 'Strokes in order, where onTrip is "sequence"', minItems: 1, maxItems: 10, optional: true },
  ),
  pause: quantity('time', {
    meaning: 'Pause at the end of each stroke of a sequence',
    min: 0,
    default: 0,
    example: '2 s',
  }),
  trip: group(
    {
      source: choice(['mains', 'control power'], { meaning: 'What trips the valve when it is lost', default: 'mains' }),
      delay: quantity('time', { meaning: 'From the trip signal to the pilot', min: 0, default: 0, example: '4 s' }),
    },
    { meaning: 'What trips the valve', defaults: true },
  ),
  pilot: group(
    {
      kind: choice(['spring offset', 'detented', 'spring centred'], {
        meaning: 'What the pilot valve does without control power: goes to its offset, stays, or blocks both lines',
        default: 'spring offset',
      }),
      offset: choice(['closes', 'opens'], {
        meaning: 'Where the spring takes it; the direction of the (first) trip stroke when left out',
        optional: true,
      }),
    },
    { meaning: 'The pilot valve', defaults: true },
  ),
  require: group(
    {
      longest: quantity('time', { meaning: 'Longest stroke time, from command', above: 0, example: '20 s' }),
      shortest: quantity('time', {
        meaning:
          'Shortest time of a whole stroke, from first motion, where a fast closure hammers the pipeline; for part of the travel so much less',
        min: 0,
        optional: true,
        example: '5 s',
      }),
      margin: quantity('fraction', {
        meaning: 'Least margin of force and of time that counts as met',
        min: 0,
        max: 10,
        default: 0,
        example: '15 %',
      }),
      hold: quantity('time', {
        meaning: 'How long the valve must stay at the end of its last stroke',
        min: 0,
        default: 0,
        example: '10 min',
      }),
    },
    { meaning: 'What is required of each trip stroke', optional: true },
  ),
  pipeline: pipelineGroup,
} as const;
export const valveGroup = group(valveTable, { meaning: 'A cylinder-operated valve' });
export type ValveValues = Values<typeof valveTable>;
