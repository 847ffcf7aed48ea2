/** Random valves for the bare tank of loneValve.ts: drives, springs, cushions, strokes that end part way. */
import fc from 'fast-check';
import type { Given } from './loneValve.ts';

/** To three decimals: no numbers that only a computer would write. */
export const part = (min: number, max: number) =>
  fc.integer({ min: Math.round(1000 * min), max: Math.round(1000 * max) }).map((x) => x / 1000);
export const resistance = part(11, 14).map((power) => ({ quadratic: `${10 ** power} Pa s^2/m^6` }));
const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined });
const strokeWord = fc.constantFrom('closes', 'opens');
// Cylinders of 160 mm bore at 10 bar push with some 20 kN; 25 cm of stroke, quarter turns: some 3 kN m at the stem.
const points = fc
  .tuple(fc.boolean(), fc.array(part(-0.3, 0.9), { minLength: 1, maxLength: 4 }))
  .map(([torque, shares]) =>
    shares.map((f, k) => ({
      at: k / shares.length,
      ...(torque ? { torque: `${3 * f} kN m` } : { force: `${18 * f} kN` }),
    })),
  );
const drive = fc.constantFrom<Given>(
  { kind: 'rack and pinion' },
  { kind: 'scotch yoke', turn: '85 deg' },
  { kind: 'link and lever', leverRadius: '185 mm', pivotDistance: '700 mm', retractedLength: '600 mm' },
);
/** A cylinder of 160 mm bore with everything a valve can have, as in a file. */
export const randomValve: fc.Arbitrary<Given> = fc
  .record({
    headEnd: strokeWord,
    drive,
    opening: points,
    closing: points,
    spring: maybe(fc.record({ drives: strokeWord, preload: part(2, 12), rate: part(0, 25) })),
    cushion: maybe(fc.record({ length: part(5, 200), opening: resistance, closing: resistance })),
    placed: fc.constantFrom('meter-in', 'meter-out', 'both'),
    supplyLine: resistance,
    returnLine: resistance,
    leak: maybe(part(0, 2)),
    mayBePushedBack: fc.boolean(),
    position: part(0, 1).map((x) => Math.min(1, Math.max(0, 1.4 * x - 0.2))),
    sequence: fc.array(fc.oneof(strokeWord, fc.record({ stroke: strokeWord, to: part(0.05, 0.95) })), {
      minLength: 1,
      maxLength: 4,
    }),
    delay: part(0, 3),
    friction: part(0, 1.5),
  })
  .map(({ opening, closing, spring, cushion, placed, leak, delay, friction, ...v }) => ({
    ...v,
    load: { opening, closing },
    friction: { running: `${friction} kN`, breakaway: `${1.5 * friction} kN` },
    ...(spring === undefined
      ? {}
      : { spring: { ...spring, preload: `${spring.preload} kN`, rate: `${spring.rate} N/mm` } }),
    speedControl: {
      placed,
      opening: {},
      closing: {},
      ...(cushion === undefined ? {} : { cushion: { ...cushion, length: `${cushion.length} mm` } }),
    },
    ...(leak === undefined ? {} : { internalLeak: { flow: `${leak} L/min`, at: '10 bar' } }),
    onTrip: 'sequence',
    pause: '0.5 s',
    pilot: { kind: 'spring centred' },
    trip: { delay: `${delay} s` },
    require: { longest: '30 s' },
  }));
