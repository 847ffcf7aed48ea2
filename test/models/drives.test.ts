/** Drives: virtual work and a derivative taken by brute force. */
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
import { close } from '../support/close.ts';

const deg = Math.PI / 180;

/** A drive that can be made. */
function made(values: DriveValues, stroke_m: number, headOpens = true): Drive {
  const drive = compileDrive(values, stroke_m, headOpens);
  if ('problem' in drive) throw new Error(drive.problem);
  return drive;
}

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
