/** Cylinders and drives: geometry against published figures, virtual work and a derivative taken by brute force. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  compileDrive,
  type Drive,
  type DriveValues,
  leverArm,
  pistonForce,
  pistonPosition,
  turnOf,
  valvePosition,
} from '../../models/drive.ts';
import { Mode } from '../../models/motion.ts';
import { close } from '../support/close.ts';
import { loneValve } from '../support/loneValve.ts';

const deg = Math.PI / 180;

/** A drive that can be made. */
function made(values: DriveValues, stroke_m: number, headOpens = true): Drive {
  const drive = compileDrive(values, stroke_m, headOpens);
  if ('problem' in drive) throw new Error(drive.problem);
  return drive;
}

// A worked answer of a course tutorial, qammunity.org/12221952 (read): bore 75 mm, rod 14 mm, 5 MPa, 200 000 mm3/s
// give 4418 and 4264 mm2, 22 090 and 21 320 N, 45.3 and 46.9 mm/s. Printed to four and three digits: 0.1 %.
test('areas, forces and speeds of a cylinder', () => {
  const cylinder = { bore: '75 mm', rod: '14 mm', stroke: '300 mm', load: { opening: '0 N', closing: '0 N' } };
  // Resistance such that all of 5 MPa drives 200 000 mm3/s into the cylinder, out of the return line nothing is lost.
  const pressed = { supplyLine: { quadratic: `${5e6 / 2e-4 ** 2} Pa s^2/m^6` }, returnLine: {} };
  for (const [direction, area, force, speed] of [
    [1, 4418, 22_090, 45.3],
    [-1, 4264, 21_320, 46.9],
  ] as const) {
    const { unit } = loneValve({ ...cylinder, ...pressed, position: '50 %' }, { gauge: '50 bar' });
    const y = unit.start();
    unit.command(y, 0, direction, 0, () => {});
    const rate = new Float64Array(unit.layout.advanced);
    unit.derivative(0, y, rate);
    const { branch, stroke_m } = unit.plant.valves[0];
    close(branch[direction > 0 ? 1 : 0].inArea_m2 * 1e6, area, 1e-3);
    close(unit.outputs[unit.out.thrust], force, 1e-3);
    y[unit.motion.mode] = Mode.moving;
    unit.derivative(0, y, rate);
    close(unit.outputs[unit.out.valveFlow], 2e-4, 1e-9);
    close(direction * rate[unit.slots.x] * stroke_m * 1e3, speed, 1e-3);
  }
});

describe('drives in closed form', () => {
  // T = F d/cos^2(theta) of a yoke with F = 50 kN and d = 0.12 m, derived: 12 000 N m at either end of 90 deg, 8000 at
  // 30 deg from mid-travel, 6000 in the middle; the work over the turn is F x 0.24 m = 12 000 J. Rounding only: 1e-12.
  test('scotch yoke', () => {
    const yoke = made({ kind: 'scotch yoke', turn: 90 * deg }, 0.24);
    const torque = (fromMiddle: number) => 50e3 * leverArm(yoke, pistonPosition(yoke, 0.5 + fromMiddle / 90));
    close(torque(-45), 12_000, 1e-12);
    close(torque(45), 12_000, 1e-12);
    close(torque(30), 8000, 1e-12);
    close(torque(-30), 8000, 1e-12);
    close(torque(0), 6000, 1e-12);
    close(workOver(yoke, 0.24, 50e3), 12_000, 1e-8); // 20 000 midpoints
  });

  // T = F r of a rack and pinion with F = 50 kN and r = 0.1 m, derived: 5000 N m all the way, 157.08 mm of travel
  // (five digits), 7854 J (four digits).
  test('rack and pinion', () => {
    const stroke = (Math.PI / 2) * 0.1;
    close(stroke, 0.15708, 1e-5);
    const rack = made({ kind: 'rack and pinion' }, stroke);
    for (const x of [0, 0.3, 1]) close(50e3 * leverArm(rack, x), 5000, 1e-12);
    expect(valvePosition(rack, 0.37)).toBe(0.37);
    close(workOver(rack, stroke, 50e3), 7854, 1e-4);
  });

  // A lever square to a long link is as long as it is; derived from T = F c r sin(phi)/l.
  test('link and lever: with the link square to the lever, the lever arm is its radius', () => {
    const [r, c] = [0.2, 0.8];
    const square = Math.sqrt(c * c - r * r); // l of the right angle between link and lever
    const lever = made(
      { kind: 'link and lever', leverRadius: r, pivotDistance: c, retractedLength: square - 0.1 },
      0.2,
    );
    close(leverArm(lever, 0.5), r, 1e-12);
    expect(leverArm(lever, 0)).toBeLessThan(r);
    expect(leverArm(lever, 1)).toBeLessThan(r);
  });
});

/** Integral of the torque of a force over the turn of the stem, in equal steps of the turn (midpoints). */
function workOver(drive: Drive, stroke_m: number, force_N: number): number {
  const n = 20_000;
  const step = turnOf(drive, stroke_m) / n;
  let sum = 0;
  for (let k = 0; k < n; k++) sum += force_N * leverArm(drive, pistonPosition(drive, (k + 0.5) / n)) * step;
  return sum;
}

/** Any drive that can be made, with its stroke. */
const anyDrive = fc
  .record({
    kind: fc.constantFrom('rack and pinion', 'scotch yoke', 'link and lever'),
    stroke: fc.double({ min: 0.05, max: 1.5, noNaN: true }),
    turn: fc.double({ min: 10, max: 160, noNaN: true }),
    radius: fc.double({ min: 0.55, max: 3, noNaN: true }),
    pivot: fc.double({ min: 1.1, max: 6, noNaN: true }),
    within: fc.double({ min: 0.02, max: 0.98, noNaN: true }),
    headOpens: fc.boolean(),
  })
  .map(({ kind, stroke, turn, radius, pivot, within, headOpens }) => {
    if (kind !== 'link and lever')
      return { stroke, drive: made({ kind, turn: turn * deg } as DriveValues, stroke, headOpens) };
    const r = radius * stroke;
    const c = pivot * r;
    // Anywhere the lever reaches: between |c - r| and c + r there is room for 2 r, more than the stroke.
    const retractedLength = c - r + within * (2 * r - stroke);
    return { stroke, drive: made({ kind, leverRadius: r, pivotDistance: c, retractedLength }, stroke, headOpens) };
  });

describe('laws of every drive', () => {
  // No friction: what the piston puts in comes out at the stem. 20 000 midpoints of a smooth function; near a dead
  // centre of the lever its arm falls steeply, hence 1e-5.
  test('the torque of a constant force, over the whole turn, is force x stroke', () => {
    fc.assert(
      fc.property(anyDrive, ({ drive, stroke }) => close(workOver(drive, stroke, 1234), 1234 * stroke, 1e-5)),
      { seed: 11, numRuns: 60 },
    );
  });

  test('positions of piston and valve are inverse, rise together and share their ends', () => {
    fc.assert(
      fc.property(anyDrive, fc.double({ min: 0, max: 1, noNaN: true }), ({ drive }, p) => {
        expect(valvePosition(drive, 0)).toBe(0);
        expect(valvePosition(drive, 1)).toBe(1);
        expect(pistonPosition(drive, 0)).toBe(0);
        expect(pistonPosition(drive, 1)).toBe(1);
        // Arc functions lose half their digits near a dead centre: 1e-7 there, far less elsewhere.
        expect(Math.abs(valvePosition(drive, pistonPosition(drive, p)) - p)).toBeLessThan(1e-7);
        expect(pistonPosition(drive, Math.min(1, p + 0.01))).toBeGreaterThan(
          pistonPosition(drive, p) - (p === 1 ? 1 : 0),
        );
      }),
      { seed: 12, numRuns: 300 },
    );
  });

  // Central difference over 1e-5 of the turn: its error is of the order 1e-10, and rounding adds 1e-16/1e-5.
  test('the lever is the travel per turn, by brute force', () => {
    fc.assert(
      fc.property(anyDrive, fc.double({ min: 0.05, max: 0.95, noNaN: true }), ({ drive, stroke }, p) => {
        const d = 1e-5;
        const travel = (pistonPosition(drive, p + d) - pistonPosition(drive, p - d)) * stroke;
        close(leverArm(drive, pistonPosition(drive, p)), travel / (2 * d * turnOf(drive, stroke)), 1e-6);
      }),
      { seed: 13, numRuns: 300 },
    );
  });

  test('a torque that changes evenly over the turn comes to the piston over the lever', () => {
    fc.assert(
      fc.property(anyDrive, fc.double({ min: 0, max: 1, noNaN: true }), ({ drive }, x) => {
        const torque = 300 - 500 * (valvePosition(drive, x) - 0.2);
        const force = pistonForce(drive, 300, -500, 0.2, x);
        expect(Math.abs(force - torque / leverArm(drive, x))).toBeLessThan(1e-9 * (1 + Math.abs(force)));
      }),
      { seed: 14, numRuns: 300 },
    );
  });

  test('beyond the ends, where trial steps may go, it stays finite and does not jump', () => {
    fc.assert(
      fc.property(
        anyDrive,
        fc.constantFrom(0, 1),
        fc.double({ min: 0, max: 5, noNaN: true }),
        ({ drive }, end, beyond) => {
          const x = end === 1 ? 1 + beyond : -beyond;
          expect(Number.isFinite(pistonForce(drive, 300, -500, 0.2, x))).toBe(true);
          const near = pistonForce(drive, 300, -500, 0.2, end === 1 ? 1 + 1e-9 : -1e-9);
          close(near, pistonForce(drive, 300, -500, 0.2, end), 1e-5);
        },
      ),
      { seed: 15, numRuns: 300 },
    );
  });
});
