/**
 * The drive between piston and valve. x is the position of the piston, p that of the valve, both 0 closed and 1 open.
 * They differ where the drive turns the stem unevenly. theta is the turn of the stem, s the travel of the piston:
 *
 *   lever(x) = ds/dtheta [m]            force at the piston = torque at the stem/lever        (virtual work)
 *
 *   direct            p = x             the load is a force
 *   rack and pinion   p = x             lever = r = stroke/turn
 *   scotch yoke       s = d tan(theta), theta from mid-travel, d = stroke/(2 tan(turn/2)) from stem to cylinder axis
 *                                       lever = d/cos^2(theta)
 *   link and lever    l^2 = c^2 + r^2 - 2 c r cos(phi), l from pin to pin of the cylinder, r the lever on the stem,
 *                     c from stem to fixed pin; lever = c r sin(phi)/l
 *
 * The piston's position is what moves, what is integrated and what the ledger sees. The valve's position is what people
 * read: it is turned into x where a file is read and out of x where something is shown, nowhere else.
 *
 * Source: plane geometry; virtual work. Not modelled: friction of the drive (give it as friction at the piston), play,
 * canted or unsymmetric yokes.
 */
import { choice, group, quantity, type Values } from './parameters.ts';

export const driveTable = {
  kind: choice(['direct', 'rack and pinion', 'scotch yoke', 'link and lever'], {
    meaning: 'How the piston moves the valve',
    default: 'direct',
  }),
  turn: quantity('angle', {
    meaning: 'Turn of the stem over the whole stroke, of a rack and pinion or a scotch yoke; 90 deg when left out',
    above: 0,
    max: 2 * Math.PI,
    optional: true,
    example: '90 deg',
  }),
  leverRadius: quantity('length', {
    meaning: 'Link and lever: from the stem to the pin on its lever',
    above: 0,
    max: 10,
    optional: true,
    example: '210 mm',
  }),
  pivotDistance: quantity('length', {
    meaning: 'Link and lever: from the stem to the fixed pin of the cylinder',
    above: 0,
    max: 20,
    optional: true,
    example: '820 mm',
  }),
  retractedLength: quantity('length', {
    meaning: 'Link and lever: from pin to pin of the cylinder with the rod all the way in',
    above: 0,
    max: 20,
    optional: true,
    example: '700 mm',
  }),
} as const;
export const driveGroup = group(driveTable, {
  meaning: 'Drive between piston and valve',
  defaults: true,
  together: [
    ['leverRadius', 'pivotDistance', 'retractedLength'],
    ['pivotDistance', 'leverRadius'],
    ['retractedLength', 'leverRadius'],
  ],
});
export type DriveValues = Values<typeof driveTable>;

/** A drive compiled for its cylinder: numbers only. */
export type Drive =
  | { readonly kind: 'direct' }
  | { readonly kind: 'rack and pinion'; readonly radius_m: number }
  | {
      readonly kind: 'scotch yoke';
      readonly offset_m: number;
      readonly turn_rad: number;
      /** tan(turn/2). */
      readonly endTangent: number;
    }
  | {
      readonly kind: 'link and lever';
      readonly radius_m: number;
      readonly pivot_m: number;
      /** Pin to pin with the valve closed, and how much longer with it open; negative where the rod goes in to open. */
      readonly closedLength_m: number;
      readonly growth_m: number;
      /** phi with the valve closed, and how much more with it open. */
      readonly closedAngle_rad: number;
      readonly turn_rad: number;
    };

export const DIRECT: Drive = { kind: 'direct' };
const QUARTER_TURN = Math.PI / 2;

/**
 * A drive from its values.
 *
 * @param stroke_m whole travel of the piston
 * @param headOpens whether the rod comes out to open the valve
 * @returns the drive, or what is wrong with it in words, and the key concerned
 */
export function compileDrive(
  values: DriveValues,
  stroke_m: number,
  headOpens: boolean,
): Drive | { readonly problem: string; readonly key: 'kind' | 'turn' | 'leverRadius' | 'retractedLength' } {
  const { kind, turn, leverRadius, pivotDistance, retractedLength } = values;
  const turns = kind === 'rack and pinion' || kind === 'scotch yoke';
  if (turn !== undefined && !turns) {
    const why =
      kind === 'direct' ? 'a direct drive turns nothing' : 'the turn of a link and lever follows from its lengths';
    return { problem: `${why}; leave "turn" out`, key: 'turn' };
  }
  if (kind !== 'link and lever' && leverRadius !== undefined) {
    return { problem: `is only read for a link and lever; the drive is "${kind}"`, key: 'leverRadius' };
  }
  if (kind === 'direct') return DIRECT;
  const turn_rad = turn ?? QUARTER_TURN;
  if (kind === 'rack and pinion') return { kind, radius_m: stroke_m / turn_rad };
  if (kind === 'scotch yoke') {
    if (!(turn_rad < 0.99 * Math.PI)) return { problem: 'a scotch yoke turns by less than 178 deg', key: 'turn' };
    const endTangent = Math.tan(turn_rad / 2);
    return { kind, offset_m: stroke_m / (2 * endTangent), turn_rad, endTangent };
  }
  if (leverRadius === undefined || pivotDistance === undefined || retractedLength === undefined) {
    return { problem: 'a link and lever needs "leverRadius", "pivotDistance" and "retractedLength"', key: 'kind' };
  }
  const shortest = Math.abs(pivotDistance - leverRadius);
  const longest = pivotDistance + leverRadius;
  if (!(retractedLength > shortest && retractedLength + stroke_m < longest)) {
    const mm = (m: number) => `${(m * 1000).toFixed(0)} mm`;
    return {
      problem: `this lever can be reached from ${mm(shortest)} to ${mm(longest)} only, and the cylinder works from ${mm(retractedLength)} to ${mm(retractedLength + stroke_m)}`,
      key: 'retractedLength',
    };
  }
  const closedLength_m = headOpens ? retractedLength : retractedLength + stroke_m;
  const growth_m = headOpens ? stroke_m : -stroke_m;
  const angle = (length: number) => Math.acos(cosine(leverRadius, pivotDistance, length));
  const closedAngle_rad = angle(closedLength_m);
  return {
    kind,
    radius_m: leverRadius,
    pivot_m: pivotDistance,
    closedLength_m,
    growth_m,
    closedAngle_rad,
    turn_rad: angle(closedLength_m + growth_m) - closedAngle_rad,
  };
}

/** A trial step may ask for lengths that no lever reaches: held just short of the dead centres. */
const NEAR_DEAD_CENTRE = 1 - 1e-9;

function cosine(radius: number, pivot: number, length: number): number {
  const c = (pivot * pivot + radius * radius - length * length) / (2 * pivot * radius);
  return c > NEAR_DEAD_CENTRE ? NEAR_DEAD_CENTRE : c < -NEAR_DEAD_CENTRE ? -NEAR_DEAD_CENTRE : c;
}

/** Turn of the stem over the whole travel, rad; 0 for a direct drive. */
export function turnOf(drive: Drive, stroke_m: number): number {
  if (drive.kind === 'direct') return 0;
  return drive.kind === 'rack and pinion' ? stroke_m / drive.radius_m : Math.abs(drive.turn_rad);
}

/** Position of the valve, 0..1, with the piston at x. Ends are exact, and x beyond an end counts as the end. */
export function valvePosition(drive: Drive, x: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  switch (drive.kind) {
    case 'scotch yoke':
      return 0.5 + Math.atan(drive.endTangent * (2 * x - 1)) / drive.turn_rad;
    case 'link and lever': {
      const length = drive.closedLength_m + x * drive.growth_m;
      return (Math.acos(cosine(drive.radius_m, drive.pivot_m, length)) - drive.closedAngle_rad) / drive.turn_rad;
    }
    default:
      return x;
  }
}

/** Position of the piston, 0..1, with the valve at p (0..1): the inverse of `valvePosition`. */
export function pistonPosition(drive: Drive, p: number): number {
  if (p <= 0) return 0;
  if (p >= 1) return 1;
  switch (drive.kind) {
    case 'scotch yoke':
      return 0.5 + Math.tan(drive.turn_rad * (p - 0.5)) / (2 * drive.endTangent);
    case 'link and lever': {
      const { radius_m: r, pivot_m: c } = drive;
      const length = Math.sqrt(c * c + r * r - 2 * c * r * Math.cos(drive.closedAngle_rad + p * drive.turn_rad));
      return (length - drive.closedLength_m) / drive.growth_m;
    }
    default:
      return p;
  }
}

/** ds/dtheta, m, with the piston at x; not for a direct drive, which has none (Infinity). */
export function leverArm(drive: Drive, x: number): number {
  return 1 / pistonForce(drive, 1, 0, 0, x);
}

/**
 * Force at the piston, N, at x of a torque at the stem, N m, that is `torque` at valve position `at` and changes by
 * `slope` per valve position. Runs on smoothly beyond the ends. 0 for a direct drive.
 */
export function pistonForce(drive: Drive, torque: number, slope: number, at: number, x: number): number {
  switch (drive.kind) {
    case 'rack and pinion':
      return (torque + slope * (x - at)) / drive.radius_m;
    case 'scotch yoke': {
      const tangent = drive.endTangent * (2 * x - 1);
      const p = 0.5 + Math.atan(tangent) / drive.turn_rad;
      return (torque + slope * (p - at)) / (drive.offset_m * (1 + tangent * tangent));
    }
    case 'link and lever': {
      const { radius_m: r, pivot_m: c } = drive;
      const length = drive.closedLength_m + x * drive.growth_m;
      const cos = cosine(r, c, length);
      const p = (Math.acos(cos) - drive.closedAngle_rad) / drive.turn_rad;
      return ((torque + slope * (p - at)) * length) / (c * r * Math.sqrt(1 - cos * cos));
    }
    default:
      return 0;
  }
}
