/** Drives between piston and valve, and the surge in the pipeline that a valve shuts. */
import {
  compileDrive,
  type Drive,
  type DriveValues,
  leverArm,
  type Pipeline,
  pipePeriod,
  pistonPosition,
  surgeOf,
  turnOf,
  valvePosition,
  waveSpeed,
} from '../../models/index.ts';
import { about, absolute, derived, figure, fromMemory, read, relative } from './check.ts';
import { foot } from './units.ts';

// --- drives ----------------------------------------------------------------------------------------------------------

const FORCE_N = 50e3;
function made(values: DriveValues, stroke_m: number): Drive {
  const drive = compileDrive(values, stroke_m, true);
  if ('problem' in drive) throw new Error(drive.problem);
  return drive;
}
/** Work, J, of the force over the turn of the stem: midpoints of equal steps. */
function workOver(drive: Drive, stroke_m: number): number {
  const n = 20_000;
  const step = turnOf(drive, stroke_m) / n;
  let sum = 0;
  for (let k = 0; k < n; k++) sum += FORCE_N * leverArm(drive, pistonPosition(drive, (k + 0.5) / n)) * step;
  return sum;
}
const yoke = made({ kind: 'scotch yoke', turn: Math.PI / 2 }, 0.24);
const yokeTorque = (fromMiddle_deg: number) =>
  FORCE_N * leverArm(yoke, pistonPosition(yoke, 0.5 + fromMiddle_deg / 90));
const rackStroke_m = (Math.PI / 2) * 0.1;
const rack = made({ kind: 'rack and pinion' }, rackStroke_m);
// Link square to the lever in the middle of the stroke.
const [radius_m, pivot_m] = [0.2, 0.8];
const square_m = Math.sqrt(pivot_m * pivot_m - radius_m * radius_m);
const link = made(
  { kind: 'link and lever', leverRadius: radius_m, pivotDistance: pivot_m, retractedLength: square_m - 0.1 },
  0.2,
);
const onYoke = derived('T = F d/cos^2(theta), F 50 kN, d 0.12 m');
const onRack = derived('T = F r, F 50 kN, r 0.1 m');
const rounding = relative(1e-12, 'rounding');
const cosineLaw = derived('l^2 = c^2 + r^2 - 2 c r cos(phi)');

export const driveChecks = about('drives', [
  figure('scotch yoke, torque at -45 deg', 'N m', 12_000, rounding, onYoke, () => yokeTorque(-45)),
  figure('scotch yoke, torque at 45 deg', 'N m', 12_000, rounding, onYoke, () => yokeTorque(45)),
  figure('scotch yoke, torque at 30 deg', 'N m', 8000, rounding, onYoke, () => yokeTorque(30)),
  figure('scotch yoke, torque in the middle', 'N m', 6000, rounding, onYoke, () => yokeTorque(0)),
  figure('scotch yoke, work over 90 deg', 'J', 12_000, relative(1e-8, '20 000 midpoints'), onYoke, () =>
    workOver(yoke, 0.24),
  ),
  figure(
    'scotch yoke, valve with its piston a quarter out',
    '',
    0.2048327646991,
    rounding,
    derived('s = d tan(theta)'),
    () => valvePosition(yoke, 0.25),
  ),
  figure('rack and pinion, torque', 'N m', 5000, rounding, onRack, () => FORCE_N * leverArm(rack, 0.3)),
  figure('rack and pinion, work over 90 deg', 'J', 7854, relative(1e-4, 'four digits'), onRack, () =>
    workOver(rack, rackStroke_m),
  ),
  figure('lever arm with the link square to the lever', 'm', 0.2, rounding, derived('T = F c r sin(phi)/l'), () =>
    leverArm(link, 0.5),
  ),
  figure(
    'link and lever, valve with its piston a quarter out',
    '',
    0.261372919145,
    relative(1e-11, 'twelve digits'),
    cosineLaw,
    () => valvePosition(link, 0.25),
  ),
  figure(
    'link and lever, turn of the stem',
    'deg',
    60.0470683408,
    relative(1e-11, 'twelve digits'),
    cosineLaw,
    () => (turnOf(link, 0.2) * 180) / Math.PI,
  ),
]);

// --- surge -----------------------------------------------------------------------------------------------------------

const main: Pipeline = {
  length_m: 3400 * foot,
  velocity_m_s: 6.48 * foot,
  waveSpeed_m_s: 2690 * foot,
  density_kg_m3: 1000,
};
/** Head, ft, of the full surge with a gravity, ft/s2. */
const head_ft = (gravity: number) => surgeOf(main, 1).rise_Pa / (1000 * gravity * foot) / foot;
/** Weight of water with which the source turns feet into psi: 62.4 lb/ft3 (from memory). */
const psiPerFoot = 62.4 / 144;
const manual = read('US Army TM 5-813-9, figure 4-5');
const printed = relative(2e-3, 'three or four digits');
const g32 = 'The source takes 32 ft/s2 for g.';
const elastic = derived('a = sqrt((K/rho)/(1 + K D/(E e)))');

export const surgeChecks = about('surge', [
  figure('pipe period, 3400 ft at 2690 ft/s', 's', 2.53, printed, manual, () => pipePeriod(main)),
  figure('1.6 of them', 's', 4.1, relative(0.015, 'two digits'), manual, () => 1.6 * pipePeriod(main)),
  figure('rise at 6.48 ft/s', 'ft', 544.7, printed, manual, () => head_ft(32), g32),
  figure('in psi', 'psi', 236.1, printed, manual, () => head_ft(32) * psiPerFoot, g32),
  figure('with the static 20 ft', 'ft', 565, printed, manual, () => head_ft(32) + 20, g32),
  figure('with the static 20 ft', 'psi', 245, printed, manual, () => (head_ft(32) + 20) * psiPerFoot, g32),
  figure('rise with g 32.174 ft/s2', 'ft', 541.8, relative(2e-4, 'four digits'), derived('dH = a v/g'), () =>
    head_ft(32.174),
  ),
  figure(
    'closed in twice the pipe period, of the full rise',
    '',
    0.5,
    rounding,
    fromMemory('Michaud: 2 rho L v/t'),
    () => surgeOf(main, 2 * pipePeriod(main)).rise_Pa / surgeOf(main, 1).rise_Pa,
  ),
  figure('wave speed, D 0.5 m, wall 5 mm of steel', 'm/s', 1008.6, absolute(0.1, 'one decimal'), elastic, () =>
    waveSpeed(2.07e9, 1000, 0.5, 0.005, 2e11),
  ),
  figure('wave speed in a rigid pipe', 'm/s', 1438.7, absolute(0.1, 'one decimal'), elastic, () =>
    waveSpeed(2.07e9, 1000, 0, 0.005, 2e11),
  ),
]);
