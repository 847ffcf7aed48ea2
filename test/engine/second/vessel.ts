/** Vessel geometry in closed form (and one quadrature), for the second solution. Nothing of the program is imported. */
import type { Case } from './case.ts';

export interface VesselForms {
  readonly volume: number;
  volumeAt(level: number): number;
  levelAt(volume: number): number;
  /** Shell and heads above the oil, oil surface not counted. */
  bareSurface(level: number): number;
}

const { PI, acos, asinh, sin, cos, sqrt, max, min } = Math;

export function vesselForms(t: Case['tank']): VesselForms {
  if (t.shape === 'volume') {
    // Any shape: levels belong to an upright flat-ended cylinder twice as high as wide.
    const D = Math.cbrt((2 * t.volume) / PI);
    return upright(D / 2, 2 * D, 0);
  }
  const R = t.diameter / 2;
  const depth = { flat: 0, hemispherical: R, ellipsoidal: R / 2 }[t.heads];
  return t.shape === 'vertical' ? upright(R, t.length, depth) : lying(R, t.length, depth);
}

/** Area of a semi-ellipsoid of depth d on a circle of radius R, from u = 0 at the rim to u = 1 at the apex. */
function headArea(R: number, d: number, u: number): number {
  const k = R * R - d * d;
  const partial =
    k > 1e-9 * R * R ? (u / 2) * sqrt(d * d + k * u * u) + ((d * d) / (2 * sqrt(k))) * asinh((sqrt(k) * u) / d) : d * u;
  return 2 * PI * R * partial;
}

function upright(R: number, L: number, d: number): VesselForms {
  const height = L + 2 * d;
  const head = (z: number) => (d === 0 ? 0 : ((PI * R * R) / (d * d)) * (d * z * z - z ** 3 / 3));
  const half = head(d);
  const volume = PI * R * R * L + 2 * half;
  const volumeAt = (z: number) => {
    if (z < d) return head(z);
    if (z > height - d) return volume - head(height - z);
    return half + PI * R * R * (z - d);
  };
  const free = (z: number) => {
    const e = z < d ? z : z > height - d ? height - z : d;
    return d === 0 ? PI * R * R : ((PI * R * R) / (d * d)) * (2 * d * e - e * e);
  };
  const whole = d === 0 ? PI * R * R : headArea(R, d, 1);
  return {
    volume,
    volumeAt,
    levelAt: inverse(volumeAt, free, height),
    bareSurface(z) {
      if (d > 0 && z < d) return whole + 2 * PI * R * L + headArea(R, d, 1 - z / d);
      if (d > 0 && z > height - d) return whole - headArea(R, d, (z - (height - d)) / d);
      return whole + 2 * PI * R * (height - d - z);
    },
  };
}

// Gauss-Legendre nodes by Newton on the Legendre recurrence.
const POINTS = 40;
const nodes: number[] = [];
const weights: number[] = [];
for (let i = 0; i < POINTS; i++) {
  let x = cos((PI * (i + 0.75)) / (POINTS + 0.5));
  let slope = 1;
  for (let k = 0; k < 50; k++) {
    let a = 1;
    let b = x;
    for (let n = 2; n <= POINTS; n++) [a, b] = [b, ((2 * n - 1) * x * b - (n - 1) * a) / n];
    slope = (POINTS * (x * b - a)) / (x * x - 1);
    const step = b / slope;
    x -= step;
    if (Math.abs(step) < 1e-16) break;
  }
  nodes.push(x);
  weights.push(2 / ((1 - x * x) * slope * slope));
}

function lying(R: number, L: number, d: number): VesselForms {
  const below = (y: number) => R * R * acos(max(-1, min(1, -y / R))) + y * sqrt(max(0, R * R - y * y));
  const volumeAt = (h: number) => L * below(h - R) + (d / R) * ((PI * h * h * (3 * R - h)) / 3);
  const free = (h: number) => 2 * L * sqrt(max(0, R * R - (h - R) ** 2)) + (d / R) * PI * h * (2 * R - h);
  /** Both heads above the line y over the axis. */
  const heads = (y: number) => {
    if (d === 0) return 2 * (PI * R * R - below(y));
    // x = d sin(phi), r = R cos(phi): rings of radius r, bare over the angle 2 acos(y/r)
    const ring = (phi: number, angle: number) =>
      2 * R * cos(phi) * angle * sqrt((d * cos(phi)) ** 2 + (R * sin(phi)) ** 2);
    const meets = acos(min(1, Math.abs(y) / R));
    let sum = 0;
    for (let i = 0; i < POINTS; i++) {
      // phi = meets sin(theta), which takes the root out of the integrand at phi = meets
      const theta = ((nodes[i] + 1) * PI) / 4;
      const phi = meets * sin(theta);
      const angle = acos(max(-1, min(1, y / (R * cos(phi)))));
      sum += weights[i] * (PI / 4) * meets * cos(theta) * ring(phi, angle);
      if (y < 0) {
        const beyond = meets + ((nodes[i] + 1) / 2) * (PI / 2 - meets);
        sum += (weights[i] / 2) * (PI / 2 - meets) * ring(beyond, PI);
      }
    }
    return 2 * sum;
  };
  return {
    volume: volumeAt(2 * R),
    volumeAt,
    levelAt: inverse(volumeAt, free, 2 * R),
    bareSurface: (h) => 2 * R * acos(max(-1, min(1, (h - R) / R))) * L + heads(h - R),
  };
}

function inverse(f: (z: number) => number, slope: (z: number) => number, height: number): (v: number) => number {
  return (v) => {
    let low = 0;
    let high = height;
    let z = height / 2;
    for (let i = 0; i < 100; i++) {
      const miss = f(z) - v;
      if (miss > 0) high = z;
      else low = z;
      let next = z - miss / slope(z);
      if (!(next > low && next < high)) next = (low + high) / 2;
      if (Math.abs(next - z) < 1e-15 * height) return next;
      z = next;
    }
    return z;
  };
}
