/**
 * Pressure vessel: a cylinder, upright or lying, with two alike heads. Level to oil volume and back, and the inner
 * surface left above the oil (the surface that exchanges heat with the air).
 *
 * Each head is a body of revolution. Its profile is one or two elliptic arcs, phi from 0 at the axis to the rim:
 *     r(phi) = c + p sin phi                  distance from the axis [m]
 *     x(phi) = tip - q (1 - cos phi)          distance outwards from the tangent plane [m]
 *     flat           c = 0, p = R, q = 0
 *     ellipsoidal    c = 0, p = R, q = depth (2:1 head: depth = D/4; hemisphere: depth = R)
 *     spherical cap  c = 0, p = q = (R^2 + depth^2)/(2 depth)
 *     torispherical  dish: c = 0, p = q = f D; knuckle: c = R - k D, p = q = k D; they meet at
 *                    sin(alpha) = (1 - 2k)/(2(f - k)); depth = f D (1 - cos alpha) + k D cos alpha
 * Upright, filled to z above the apex:  V = int pi r^2 q sin phi dphi,  A = int 2 pi r ds.
 * Lying, filled to a line D below the axis: a ring of radius r is wetted over the angle 2 beta, cos beta = D/r, so that
 *     V = int 2 beta x r dr,  A = int 2 beta r ds,  dV/dlevel = int 2 x r/sqrt(r^2 - D^2) dr,
 *     dA/dlevel = int 2 r/sqrt(r^2 - D^2) ds.
 * Source: plain geometry (derived); the head forms are the usual ones of vessel making (f = 1, k = 0.06: from memory).
 *
 * Not modelled: nozzles, internals, shell thickness, heads that differ from each other, a vessel out of plumb.
 */
import { assert } from '../sim/fault.ts';

export type Head =
  | { readonly kind: 'flat' }
  | { readonly kind: 'hemispherical' }
  /** Semi-ellipsoid; depth [m] a quarter of the diameter (2:1) unless given. */
  | { readonly kind: 'ellipsoidal'; readonly depth_m?: number }
  /** Part of a sphere, not deeper than half the diameter. */
  | { readonly kind: 'sphericalCap'; readonly depth_m: number }
  /** Dish radius f times and knuckle radius k times the diameter; f = 1 and k = 0.06 unless given. */
  | { readonly kind: 'torispherical'; readonly dishFactor?: number; readonly knuckleFactor?: number };

export interface VesselShape {
  readonly orientation: 'vertical' | 'horizontal';
  readonly diameter_m: number;
  /** Between the tangent lines, heads not counted. */
  readonly straightLength_m: number;
  readonly head: Head;
}

export interface Vessel {
  readonly totalVolume_m3: number;
  /** Inside height; levels run from 0 at the inside bottom to this. */
  readonly height_m: number;
  /** Shell and both heads, inside. */
  readonly totalSurface_m2: number;
  /**
   * Only the volume was given: the level belongs to a stand-in cylinder and says nothing about the real sight glass.
   */
  readonly levelIsNominal: boolean;
  /** Levels at which the wall changes its form, ascending, ends not included. */
  readonly joints_m: readonly number[];
  /** Oil volume [m3] at a level [m]; 0 below the bottom, the whole volume above the top. */
  volumeAt(level_m: number): number;
  /** Level [m] of an oil volume [m3], never outside 0..height_m; volumeAt(levelAt(V)) = V within 1e-13 of the total. */
  levelAt(volume_m3: number): number;
  /** Free oil surface [m2] at a level, the derivative of volumeAt. */
  oilSurfaceAt(level_m: number): number;
  /**
   * Shell and heads above the oil [m2], oil surface excluded. A flat bottom counts as covered and a flat top as bare at
   * every level, the two ends included.
   */
  surfaceAbove(level_m: number): number;
  /**
   * All of it in one go: writes oil volume [m3], surface above the oil [m2], free oil surface [m2] and the derivative
   * of the surface above over level [m] (never positive, infinite at the ends of a lying vessel).
   */
  measureAt(level_m: number, out: Float64Array): void;
}

interface Arc {
  readonly c: number;
  readonly p: number;
  readonly tip: number;
  readonly q: number;
  readonly from: number;
  readonly to: number;
}
interface Profile {
  readonly depth: number;
  /** Distance from the apex at which the first arc ends. */
  readonly join: number;
  readonly arcs: readonly Arc[];
}

const QUARTER_TURN = Math.PI / 2;

function profileOf(head: Head, radius: number): Profile {
  const ellipse = (depth: number): Profile => ({
    depth,
    join: depth,
    arcs: [{ c: 0, p: radius, tip: depth, q: depth, from: 0, to: QUARTER_TURN }],
  });
  switch (head.kind) {
    case 'flat':
      return ellipse(0);
    case 'hemispherical':
      return ellipse(radius);
    case 'ellipsoidal':
      return ellipse(head.depth_m ?? radius / 2);
    case 'sphericalCap': {
      const depth = head.depth_m;
      const sphere = (radius * radius + depth * depth) / (2 * depth);
      const rim = 2 * Math.atan(depth / radius);
      return { depth, join: depth, arcs: [{ c: 0, p: sphere, tip: depth, q: sphere, from: 0, to: rim }] };
    }
    case 'torispherical': {
      const dish = (head.dishFactor ?? 1) * 2 * radius;
      const knuckle = (head.knuckleFactor ?? 0.06) * 2 * radius;
      const alpha = Math.asin((radius - knuckle) / (dish - knuckle));
      const depth = dish * (1 - Math.cos(alpha)) + knuckle * Math.cos(alpha);
      return {
        depth,
        join: dish * (1 - Math.cos(alpha)),
        arcs: [
          { c: 0, p: dish, tip: depth, q: dish, from: 0, to: alpha },
          { c: radius - knuckle, p: knuckle, tip: knuckle, q: knuckle, from: alpha, to: QUARTER_TURN },
        ],
      };
    }
  }
}

/**
 * What is wrong with a shape, in words for the person who wrote it, or undefined. A file checker asks here first;
 * vessel() asserts that there is nothing.
 */
export function vesselFault(shape: VesselShape): string | undefined {
  const { diameter_m: diameter, straightLength_m: length, head } = shape;
  if (!(diameter > 0 && diameter < Infinity)) return 'the diameter must be a positive length';
  if (!(length >= 0 && length < Infinity)) return 'the straight length must be zero or a positive length';
  switch (head.kind) {
    case 'flat':
      return length > 0 ? undefined : 'a vessel with flat heads needs a straight length above zero';
    case 'ellipsoidal':
      if (head.depth_m === undefined || (head.depth_m > 0 && head.depth_m < Infinity)) return undefined;
      return 'the depth of an ellipsoidal head must be a positive length; leave it out for a 2:1 head';
    case 'sphericalCap':
      if (head.depth_m > 0 && head.depth_m <= diameter / 2) return undefined;
      return 'the depth of a spherical cap must be above zero and at most half the diameter';
    case 'torispherical': {
      const dish = head.dishFactor ?? 1;
      const knuckle = head.knuckleFactor ?? 0.06;
      if (!(dish >= 0.5 && dish < Infinity))
        return 'the dish radius must be at least half the diameter (factor 0.5 or more)';
      if (!(knuckle >= 0 && knuckle < 0.5))
        return 'the knuckle radius factor must be 0 or more and below 0.5, for instance 0.06';
      return undefined;
    }
    default:
      return undefined;
  }
}

// Double-exponential quadrature on (-1, 1): its points crowd at both ends, where these integrands behave like square
// roots. GAP is the distance to the nearer end, kept apart because 1 - |u| would lose it to rounding.
const HALF_POINTS = 48;
const STEP = 1 / 12;
const GAP = new Float64Array(HALF_POINTS + 1);
const WEIGHT = new Float64Array(HALF_POINTS + 1);
for (let j = 0; j <= HALF_POINTS; j++) {
  const s = QUARTER_TURN * Math.sinh(j * STEP);
  GAP[j] = 2 / (1 + Math.exp(2 * s));
  WEIGHT[j] = (STEP * QUARTER_TURN * Math.cosh(j * STEP)) / Math.cosh(s) ** 2;
}

/** Writes the volume and the wall area of an upright head between its apex and z above it. */
function uprightHead(profile: Profile, z: number, out: Float64Array): void {
  out[0] = 0;
  out[1] = 0;
  for (const { c, p, tip, q, from, to } of profile.arcs) {
    let end = to;
    if (z < profile.depth) {
      // 1 - cos phi by the half angle, so that a nearly empty head keeps its relative accuracy
      const half = (tip - profile.depth + z) / (2 * q);
      if (half <= 0) continue;
      end = Math.min(to, 2 * Math.asin(Math.sqrt(Math.min(1, half))));
      if (end <= from) continue;
    }
    const span = (end - from) / 2;
    for (let j = -HALF_POINTS; j <= HALF_POINTS; j++) {
      const i = Math.abs(j);
      const phi = j < 0 ? from + span * GAP[i]! : end - span * GAP[i]!;
      const sine = Math.sin(phi);
      const cosine = Math.cos(phi);
      const r = c + p * sine;
      const weight = span * WEIGHT[i]!;
      out[0]! += weight * Math.PI * r * r * q * sine;
      out[1]! += weight * 2 * Math.PI * r * Math.sqrt(p * p * cosine * cosine + q * q * sine * sine);
    }
  }
}

/**
 * Of one lying head filled to a line `below` [m] under the axis (0..R): oil volume, wetted area, and how fast both grow
 * with level.
 */
function lyingHead(profile: Profile, below: number, out: Float64Array): void {
  out.fill(0);
  for (const { c, p, tip, q, from, to } of profile.arcs) {
    const first = c + p * Math.sin(from);
    if (c + p * Math.sin(to) <= below) continue;
    const cut = first < below;
    const start = cut ? Math.asin(Math.min(1, (below - c) / p)) : from;
    const offset = cut ? 0 : first - below;
    const span = (to - start) / 2;
    for (let j = -HALF_POINTS; j <= HALF_POINTS; j++) {
      const i = Math.abs(j);
      const gap = span * GAP[i]!;
      const along = j < 0 ? gap : 2 * span - gap;
      const phi = j < 0 ? start + gap : to - gap;
      const sine = Math.sin(phi);
      const cosine = Math.cos(phi);
      const r = c + p * sine;
      // r - below as a product: the plain difference would spoil the square root near the oil line
      const excess = offset + 2 * p * Math.cos(start + along / 2) * Math.sin(along / 2);
      const chord = Math.sqrt(excess * (r + below));
      if (chord === 0) continue;
      const halfSine = Math.sin(phi / 2);
      const volume = (tip - 2 * q * halfSine * halfSine) * r * p * cosine;
      const area = r * Math.sqrt(p * p * cosine * cosine + q * q * sine * sine);
      const weight = 2 * span * WEIGHT[i]!;
      const beta = Math.atan2(chord, below);
      out[0]! += weight * beta * volume;
      out[1]! += weight * beta * area;
      out[2]! += (weight * volume) / chord;
      out[3]! += (weight * area) / chord;
    }
  }
}

/** Writes oil volume, surface above the oil, and the slopes of both over level. */
type Measure = (level_m: number, out: Float64Array) => void;

function uprightMeasure(radius: number, length: number, profile: Profile, volume: number, area: number): Measure {
  const disc = Math.PI * radius * radius;
  const height = length + 2 * profile.depth;
  const head = new Float64Array(2);
  const slopes = (z: number, out: Float64Array): void => {
    const { c, p, tip, q } = profile.arcs[z <= profile.join ? 0 : profile.arcs.length - 1]!;
    const phi = 2 * Math.asin(Math.sqrt(Math.min(1, (tip - profile.depth + z) / (2 * q))));
    const sine = Math.sin(phi);
    const r = c + p * sine;
    // r/sin(phi) is p on an arc about the axis, the apex included
    const lean = c === 0 ? p : r / sine;
    out[2] = Math.PI * r * r;
    out[3] = (-2 * Math.PI * lean * Math.sqrt((p * Math.cos(phi)) ** 2 + (q * sine) ** 2)) / q;
  };
  return (level, out) => {
    const gas = height - level;
    if (level < profile.depth) {
      uprightHead(profile, level, head);
      out[0] = head[0]!;
      out[1] = 2 * (area + Math.PI * radius * length) - head[1]!;
      slopes(level, out);
    } else if (gas >= profile.depth) {
      out[0] = volume + disc * (level - profile.depth);
      out[1] = area + 2 * Math.PI * radius * (gas - profile.depth);
      out[2] = disc;
      out[3] = -2 * Math.PI * radius;
    } else {
      uprightHead(profile, gas, head);
      out[0] = disc * length + 2 * volume - head[0]!;
      out[1] = head[1]!;
      slopes(gas, out);
    }
  };
}

function lyingMeasure(radius: number, length: number, profile: Profile, volume: number, area: number): Measure {
  const head = new Float64Array(4);
  const totalVolume = Math.PI * radius * radius * length + 2 * volume;
  const totalArea = 2 * Math.PI * radius * length + 2 * area;
  return (level, out) => {
    const depth = Math.min(level, 2 * radius - level);
    lyingHead(profile, Math.max(0, radius - depth), head);
    const halfAngle = 2 * Math.asin(Math.sqrt(Math.max(0, depth) / (2 * radius)));
    const chord = 2 * radius * Math.sin(halfAngle);
    const below = radius * radius * (halfAngle - Math.sin(halfAngle) * Math.cos(halfAngle)) * length + 2 * head[0]!;
    const wetted = 2 * halfAngle * radius * length + 2 * head[1]!;
    const upper = level > radius;
    out[0] = upper ? totalVolume - below : below;
    out[1] = upper ? wetted : totalArea - wetted;
    out[2] = chord * length + 2 * head[2]!;
    out[3] = -(length > 0 ? (4 * radius * length) / chord : 0) - 2 * head[3]!;
  };
}

/** The vessel of a shape in which vesselFault() finds nothing. */
export function vessel(shape: VesselShape): Vessel {
  return build(shape, false);
}

/**
 * A vessel of which only the volume [m3] is known, "any shape": an upright cylinder with flat ends of the given
 * diameter [m], or twice as high as wide (choice). Its volumes are exact; level and surfaces are those of the stand-in
 * (levelIsNominal).
 */
export function volumeVessel(totalVolume_m3: number, diameter_m?: number): Vessel {
  const diameter = diameter_m ?? Math.cbrt((2 * totalVolume_m3) / Math.PI);
  const straightLength_m = (4 * totalVolume_m3) / (Math.PI * diameter * diameter);
  return build(
    { orientation: 'vertical', diameter_m: diameter, straightLength_m, head: { kind: 'flat' } },
    true,
    totalVolume_m3,
  );
}

function build(shape: VesselShape, levelIsNominal: boolean, exactVolume_m3?: number): Vessel {
  const fault = vesselFault(shape);
  assert(fault === undefined, `vessel: ${fault}`);
  const radius = shape.diameter_m / 2;
  const length = shape.straightLength_m;
  const profile = profileOf(shape.head, radius);
  const head = new Float64Array(2);
  uprightHead(profile, profile.depth, head);
  const upright = shape.orientation === 'vertical';
  const height_m = upright ? length + 2 * profile.depth : 2 * radius;
  const totalVolume_m3 = exactVolume_m3 ?? Math.PI * radius * radius * length + 2 * head[0]!;
  const totalSurface_m2 = 2 * Math.PI * radius * length + 2 * head[1]!;
  const measure = (upright ? uprightMeasure : lyingMeasure)(radius, length, profile, head[0]!, head[1]!);
  const now = new Float64Array(4);

  const radiusAtJoin = profile.arcs[0]!.p * Math.sin(profile.arcs[0]!.to);
  const depths = upright ? [profile.depth, profile.join] : [radius - radiusAtJoin];
  const joints_m = [...new Set(depths.flatMap((z) => [z, height_m - z]))]
    .filter((z) => z > 0 && z < height_m)
    .sort((a, b) => a - b);

  const measureAt = (level_m: number, out: Float64Array): void => {
    measure(Math.min(Math.max(level_m, 0), height_m), out);
    if (level_m <= 0) out[0] = 0;
    if (level_m >= height_m || out[0]! > totalVolume_m3) out[0] = totalVolume_m3;
  };
  const at = (level_m: number): Float64Array => {
    measureAt(level_m, now);
    return now;
  };
  return Object.freeze({
    totalVolume_m3,
    height_m,
    totalSurface_m2,
    levelIsNominal,
    joints_m: Object.freeze(joints_m),
    volumeAt: (level_m: number): number => at(level_m)[0]!,
    levelAt(volume_m3: number): number {
      if (!(volume_m3 > 0)) return 0;
      if (volume_m3 >= totalVolume_m3) return height_m;
      // Newton on level inside a bracket that only shrinks; halves it where the slope is of no use
      let low = 0;
      let high = height_m;
      let level = height_m * (volume_m3 / totalVolume_m3);
      for (let i = 0; i < 200; i++) {
        measure(level, now);
        const error = now[0]! - volume_m3;
        if (error === 0) return level;
        if (error < 0) low = level;
        else high = level;
        let next = level - error / now[2]!;
        if (!(next > low && next < high)) next = low + (high - low) / 2;
        if (Math.abs(next - level) <= 2e-16 * level || next === low || next === high) return next;
        level = next;
      }
      return level;
    },
    oilSurfaceAt: (level_m: number): number => at(level_m)[2]!,
    surfaceAbove: (level_m: number): number => at(level_m)[1]!,
    measureAt,
  });
}

/**
 * Level and gas-side surface over oil volume as piecewise cubics, for the time loop: no allocation, no root search.
 * The cells are refined until both curves agree with the exact geometry to 4e-9 of full scale at mid-cell; only within
 * the outermost millionth of the height may they be coarser, and there they stay monotone and inside their end values.
 */
export interface VesselTables {
  readonly totalVolume_m3: number;
  readonly height_m: number;
  readonly emptySurface_m2: number;
  readonly fullSurface_m2: number;
  /** Per cell: first volume, 1/width, four coefficients of level, four of surface, in the fraction of the cell. */
  readonly cells: Float64Array;
  /** For each of equal parts of the volume, the cell in which the part begins. */
  readonly guide: Uint16Array;
  readonly partsPerVolume: number;
}

const CELL = 10;
const TABLE_TOLERANCE = 4e-9;
const SMALLEST_CELL = 1e-6;

interface Node {
  readonly level: number;
  readonly volume: number;
  readonly surface: number;
  readonly levelSlope: number;
  readonly surfaceSlope: number;
}

/** Builds the tables of a vessel; takes some milliseconds. */
export function compileVesselTables(vessel: Vessel): VesselTables {
  const out = new Float64Array(4);
  const nodeAt = (level: number): Node => {
    vessel.measureAt(level, out);
    return { level, volume: out[0]!, surface: out[1]!, levelSlope: 1 / out[2]!, surfaceSlope: out[3]! / out[2]! };
  };
  const cells: number[] = [];
  const refine = (a: Node, b: Node): void => {
    const width = b.volume - a.volume;
    if (!(width > 0)) return;
    const level = hermite(a.level, b.level, a.levelSlope * width, b.levelSlope * width);
    const surface = hermite(a.surface, b.surface, a.surfaceSlope * width, b.surfaceSlope * width);
    const middle = nodeAt((a.level + b.level) / 2);
    const t = (middle.volume - a.volume) / width;
    const good =
      Math.abs(cubic(level, t) - middle.level) <= TABLE_TOLERANCE * vessel.height_m &&
      Math.abs(cubic(surface, t) - middle.surface) <= TABLE_TOLERANCE * vessel.totalSurface_m2;
    if (good || b.level - a.level <= SMALLEST_CELL * vessel.height_m) {
      cells.push(a.volume, 1 / width, ...level, ...surface);
    } else {
      refine(a, middle);
      refine(middle, b);
    }
  };
  // a cut at half height: over the whole of a symmetric vessel any odd curve would fit at mid-cell
  const levels = [0, vessel.height_m / 2, ...vessel.joints_m, vessel.height_m];
  const stops = [...new Set(levels)].sort((a, b) => a - b).map(nodeAt);
  for (let i = 1; i < stops.length; i++) refine(stops[i - 1]!, stops[i]!);

  const count = cells.length / CELL;
  const guide = new Uint16Array(2 * count + 1);
  for (let part = 0, cell = 0; part < guide.length; part++) {
    const volume = (part / (guide.length - 1)) * vessel.totalVolume_m3;
    while (cell < count - 1 && cells[(cell + 1) * CELL]! <= volume) cell++;
    guide[part] = cell;
  }
  return Object.freeze({
    totalVolume_m3: vessel.totalVolume_m3,
    height_m: vessel.height_m,
    emptySurface_m2: vessel.surfaceAbove(0),
    fullSurface_m2: vessel.surfaceAbove(vessel.height_m),
    cells: Float64Array.from(cells),
    guide,
    partsPerVolume: (guide.length - 1) / vessel.totalVolume_m3,
  });
}

/** Cubic through two values with two slopes; slopes held within three times the chord, which keeps it monotone. */
function hermite(y0: number, y1: number, slope0: number, slope1: number): [number, number, number, number] {
  const rise = y1 - y0;
  const m0 = rise === 0 ? 0 : rise * Math.min(3, Math.max(0, slope0 / rise));
  const m1 = rise === 0 ? 0 : rise * Math.min(3, Math.max(0, slope1 / rise));
  return [y0, m0, 3 * rise - 2 * m0 - m1, m0 + m1 - 2 * rise];
}
const cubic = (k: readonly number[], t: number): number => k[0]! + t * (k[1]! + t * (k[2]! + t * k[3]!));

function cellOf(tables: VesselTables, volume_m3: number): number {
  const { cells, guide } = tables;
  let at = guide[Math.floor(volume_m3 * tables.partsPerVolume)]! * CELL;
  while (at + CELL < cells.length && cells[at + CELL]! <= volume_m3) at += CELL;
  // the part of a volume can be one too high by rounding
  while (at > 0 && cells[at]! > volume_m3) at -= CELL;
  return at;
}

/** Level [m] over the inside bottom of an oil volume [m3]; 0 for an empty, height for an overfull vessel. */
export function levelOf(tables: VesselTables, volume_m3: number): number {
  if (!(volume_m3 > 0)) return 0;
  if (volume_m3 >= tables.totalVolume_m3) return tables.height_m;
  const { cells } = tables;
  const at = cellOf(tables, volume_m3);
  const t = (volume_m3 - cells[at]!) * cells[at + 1]!;
  return cells[at + 2]! + t * (cells[at + 3]! + t * (cells[at + 4]! + t * cells[at + 5]!));
}

/** Shell and heads above the oil [m2] at an oil volume [m3], oil surface excluded; end values outside the vessel. */
export function surfaceOf(tables: VesselTables, volume_m3: number): number {
  if (!(volume_m3 > 0)) return tables.emptySurface_m2;
  if (volume_m3 >= tables.totalVolume_m3) return tables.fullSurface_m2;
  const { cells } = tables;
  const at = cellOf(tables, volume_m3);
  const t = (volume_m3 - cells[at]!) * cells[at + 1]!;
  return cells[at + 6]! + t * (cells[at + 7]! + t * (cells[at + 8]! + t * cells[at + 9]!));
}
