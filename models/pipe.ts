/**
 * Resistance of a line between two points, for one oil at one temperature:
 *     dp = a Q + b Q|Q| + sum over pipes f (L/D) rho v|v|/2 + filter(Q)      and beside it  rise = rho g dz
 * Q [m3/s] counts positive from inlet to outlet, dp [Pa] is inlet minus outlet pressure. dp changes its sign with Q;
 * the rise does not, so it is kept apart (rise_Pa, outlet above inlet positive) and belongs to what drives the flow.
 *
 * Darcy friction factor after Churchill 1977 (second hand, from the open library `fluids`), Re = v D/nu:
 *     f = 8 [ (8/Re)^12 + (A + B)^-1.5 ]^(1/12)
 *     A = [2.457 ln(1/((7/Re)^0.9 + 0.27 e/D))]^16,  B = (37530/Re)^16
 * for laminar, transitional and turbulent flow alike, and 64/Re below Re = 1, that is dp = 32 mu L v/D^2. Up to
 * Re = 800 the second term is under 1e-16 of the first, so the compiled line stays with 32 mu L v/D^2 until there.
 * Fittings: dp = K rho v^2/2. Valve: Q = C sqrt(dp 1000/rho). Orifice: Q = Cd A sqrt(2 dp/(rho (1 - beta^4))).
 * Filter: dp = a Q until the bypass opens, then element and bypass side by side (common practice, no source); against
 * the direction of filtration the bypass stays shut. The element is laminar (Darcy's law): a = a_rated nu/nu_rated, with
 * the few per cent left out by which the density changes; the bypass, a valve, resists as given.
 *
 * Not modelled: inertia and pressure waves, compressibility, entrance lengths, cavitation, heating by friction.
 */
import { assert } from '../sim/fault.ts';

export interface PipeSegment {
  readonly length_m: number;
  readonly diameter_m: number;
  /** Height of the wall's roughness; 0 for drawn tube. */
  readonly roughness_m: number;
  /** Sum of the resistance coefficients K of bends, tees and valves, referred to the velocity in this pipe. */
  readonly fittingsK?: number;
}
export interface FilterElement {
  /** Clean or dirty element, laminar. */
  readonly element_Pas_m3: number;
  /** Pressure drop at which the bypass begins to open; leave it and the next out for a filter without bypass. */
  readonly bypassOpening_Pa?: number;
  readonly bypass_Pas_m3?: number;
}
export interface LineSpec {
  readonly linear_Pas_m3?: number;
  readonly quadratic_Pas2_m6?: number;
  readonly pipes?: readonly PipeSegment[];
  /** Further fittings, their K referred to the velocity in fittingsDiameter_m. */
  readonly fittingsK?: number;
  readonly fittingsDiameter_m?: number;
  /** Outlet above inlet. */
  readonly rise_m?: number;
  readonly filter?: FilterElement;
}
export interface LineOil {
  readonly density_kg_m3: number;
  readonly viscosity_m2_s: number;
}

/** A line compiled for one oil: numbers only, frozen. */
export interface LineLeg {
  /** Static rise, outlet above inlet; not part of drop(). */
  readonly rise_Pa: number;
  readonly linear_Pas_m3: number;
  readonly quadratic_Pas2_m6: number;
  /** Laminar resistance of all pipes together, the least they ever have. */
  readonly laminar_Pas_m3: number;
  /** Neither pipe nor filter: drop is exactly a Q + b Q|Q|. */
  readonly plain: boolean;
  /**
   * Five numbers per pipe: Re per flow, laminar Pa s/m3, (L/D) rho/(2 A^2), 0.27 e/D, flow up to which it is laminar.
   */
  readonly pipes: Float64Array;
  readonly element_Pas_m3: number;
  readonly bypassOpening_Pa: number;
  readonly bypassFlow_m3_s: number;
  /** Element and open bypass side by side. */
  readonly parallel_Pas_m3: number;
}

const G = 9.80665;
const PIPE = 5;
const LAMINAR_LIMIT = 800;

/** Compiles a line for an oil. Every number must be finite and not negative (rise excepted); diameters positive. */
export function compileLine(spec: LineSpec, oil: LineOil): LineLeg {
  const { density_kg_m3: rho, viscosity_m2_s: nu } = oil;
  const linear = spec.linear_Pas_m3 ?? 0;
  let quadratic = spec.quadratic_Pas2_m6 ?? 0;
  const pipes = (spec.pipes ?? []).flatMap(({ length_m: L, diameter_m: D, roughness_m: e, fittingsK = 0 }) => {
    quadratic += quadraticFromFittings(fittingsK, D, rho);
    if (L === 0) return [];
    const area = (Math.PI / 4) * D * D;
    const reynoldsPerFlow = D / (area * nu);
    return [
      reynoldsPerFlow,
      (32 * rho * nu * L) / (D * D * area),
      ((L / D) * rho) / (2 * area * area),
      (0.27 * e) / D,
      LAMINAR_LIMIT / reynoldsPerFlow,
    ];
  });
  let laminar = 0;
  for (let i = 1; i < pipes.length; i += PIPE) laminar += pipes[i]!;
  if (spec.fittingsK !== undefined) {
    assert(spec.fittingsDiameter_m !== undefined, 'fittings need the diameter their K refers to');
    quadratic += quadraticFromFittings(spec.fittingsK, spec.fittingsDiameter_m, rho);
  }
  const element = spec.filter?.element_Pas_m3 ?? 0;
  const bypass = spec.filter?.bypass_Pas_m3 ?? Infinity;
  const opening = spec.filter?.bypassOpening_Pa ?? Infinity;
  const leg: LineLeg = {
    rise_Pa: rho * G * (spec.rise_m ?? 0),
    linear_Pas_m3: linear,
    quadratic_Pas2_m6: quadratic,
    laminar_Pas_m3: laminar,
    plain: pipes.length === 0 && element === 0,
    pipes: Float64Array.from(pipes),
    element_Pas_m3: element,
    bypassOpening_Pa: opening,
    bypassFlow_m3_s: element > 0 ? opening / element : Infinity,
    parallel_Pas_m3: element > 0 ? 1 / (1 / element + 1 / bypass) : 0,
  };
  for (const value of [linear, quadratic, element, ...pipes]) {
    assert(value >= 0 && value < Infinity, `a line has a resistance of ${value}`);
  }
  return Object.freeze(leg);
}

/** b [Pa s2/m6] of fittings with the sum of coefficients K at a diameter [m]. */
export function quadraticFromFittings(k: number, diameter_m: number, density_kg_m3: number): number {
  const area = (Math.PI / 4) * diameter_m * diameter_m;
  return (k * density_kg_m3) / (2 * area * area);
}

/** b [Pa s2/m6] of a valve with a flow coefficient [m3/s at 1 Pa and 1000 kg/m3], fully turbulent, not choked. */
export function quadraticFromFlowCoefficient(flowCoefficient: number, density_kg_m3: number): number {
  return density_kg_m3 / (1000 * flowCoefficient * flowCoefficient);
}

/** Flow coefficient [m3/s at 1 Pa and 1000 kg/m3] from Kv [m3/h at 1 bar, specific gravity 1]. */
export function flowCoefficientFromKv(kv: number): number {
  return kv / 3600 / Math.sqrt(1e5);
}

/** Flow coefficient [m3/s at 1 Pa and 1000 kg/m3] from Cv [US gal/min at 1 psi, specific gravity 1]. */
export function flowCoefficientFromCv(cv: number): number {
  return (cv * 3.785411784e-3) / 60 / Math.sqrt(6894.757293168);
}

/**
 * b [Pa s2/m6] of an orifice with discharge coefficient Cd and bore [m]. Give the pipe's diameter [m] where the
 * velocity of approach counts (a measuring orifice); without it the oil is taken to come from rest.
 */
export function quadraticFromOrifice(
  dischargeCoefficient: number,
  diameter_m: number,
  density_kg_m3: number,
  pipeDiameter_m = Infinity,
): number {
  const area = (Math.PI / 4) * diameter_m * diameter_m;
  const beta = diameter_m / pipeDiameter_m;
  return (density_kg_m3 * (1 - beta ** 4)) / (2 * (dischargeCoefficient * area) ** 2);
}

/** Darcy friction factor after Churchill 1977, any Re > 0; relative roughness e/D. */
export function darcyFrictionFactor(reynolds: number, relativeRoughness: number): number {
  if (reynolds < 1) return 64 / reynolds;
  const base = (7 / reynolds) ** 0.9 + 0.27 * relativeRoughness;
  const a = (-2.457 * Math.log(base)) ** 16;
  const b = (37530 / reynolds) ** 16;
  return 8 * ((8 / reynolds) ** 12 + (a + b) ** -1.5) ** (1 / 12);
}

/** Friction loss [Pa] at a flow [m3/s], either direction, without the static rise. */
export function drop(leg: LineLeg, flow_m3_s: number): number {
  dropAndSlope(leg, flow_m3_s, scratch);
  return scratch[0]!;
}
const scratch = new Float64Array(2);

/**
 * Writes the friction loss [Pa] at a flow [m3/s] into out[0] and its derivative over flow [Pa s/m3] into out[1]. The
 * derivative is the exact one of the formula; at the opening of a filter bypass it is the one beyond.
 */
export function dropAndSlope(leg: LineLeg, flow_m3_s: number, out: Float64Array): void {
  out[0] = flow_m3_s;
  dropAndSlopeOf(leg, out);
}

/** The same with the flow in place[0], which makes room for the loss: a number handed over as such may cost an allocation. */
export function dropAndSlopeOf(leg: LineLeg, place: Float64Array): void {
  const flow_m3_s = place[0]!;
  const q = flow_m3_s < 0 ? -flow_m3_s : flow_m3_s;
  let dp = q * (leg.linear_Pas_m3 + leg.quadratic_Pas2_m6 * q);
  let slope = leg.linear_Pas_m3 + 2 * leg.quadratic_Pas2_m6 * q;
  const pipes = leg.pipes;
  for (let i = 0; i < pipes.length; i += PIPE) {
    if (q < pipes[i + 4]!) {
      dp += pipes[i + 1]! * q;
      slope += pipes[i + 1]!;
      continue;
    }
    const inverse = 1 / (pipes[i]! * q);
    const t = Math.exp(0.9 * Math.log(7 * inverse));
    const base = t + pipes[i + 3]!;
    const logarithm = -Math.log(base);
    const a = sixteenth(2.457 * logarithm);
    const b = sixteenth(37530 * inverse);
    const sum = a + b;
    const u = 64 * inverse * inverse;
    // f = 8 sum^(-1/8) (1 + y)^(1/12): the same formula with the turbulent term taken out. Powers and roots are built
    // from products, square and cube roots because Math.pow is several times slower.
    const y = u * u * u * u * u * u * sum * Math.sqrt(sum);
    const mixed =
      y < 1e-3
        ? 1 + (y / 12) * (1 - (y * 11) / 24 + (y * y * 253) / 864 - (y * y * y * 8855) / 41472)
        : Math.cbrt(Math.sqrt(Math.sqrt(1 + y)));
    const friction = (8 * mixed) / Math.sqrt(Math.sqrt(Math.sqrt(sum)));
    // d ln f/d ln Re; A grows with Re through its logarithm, B falls with its 16th power
    const growth = (a * 0.9 * t) / (base * logarithm) - b;
    const exponent = -((2 * growth) / sum + y) / (1 + y);
    const perFlow = pipes[i + 2]! * friction * q;
    dp += perFlow * q;
    slope += perFlow * (2 + exponent);
  }
  // the bypass opens in the direction of filtration only
  if (flow_m3_s < leg.bypassFlow_m3_s) {
    dp += leg.element_Pas_m3 * q;
    slope += leg.element_Pas_m3;
  } else {
    dp += leg.bypassOpening_Pa + leg.parallel_Pas_m3 * (q - leg.bypassFlow_m3_s);
    slope += leg.parallel_Pas_m3;
  }
  place[0] = flow_m3_s < 0 ? -dp : dp;
  place[1] = slope;
}

function sixteenth(x: number): number {
  const x2 = x * x;
  const x4 = x2 * x2;
  const x8 = x4 * x4;
  return x8 * x8;
}

/** The flow q >= 0 [m3/s] at which a q + b q^2 = dp, for dp >= 0; 0 for dp <= 0; infinite where nothing resists. */
export function quadraticFlow(linear_Pas_m3: number, quadratic_Pas2_m6: number, drop_Pa: number): number {
  if (!(drop_Pa > 0)) return 0;
  // the form that does not subtract, so that b = 0 and tiny drops need no case of their own
  return (2 * drop_Pa) / (linear_Pas_m3 + Math.sqrt(linear_Pas_m3 * linear_Pas_m3 + 4 * quadratic_Pas2_m6 * drop_Pa));
}

/**
 * The flow [m3/s], either sign, that a pressure difference [Pa] drives through a line: inverse of drop(), so take the
 * rise off first. Infinite where nothing resists.
 */
export function flowFor(leg: LineLeg, drop_Pa: number): number {
  if (drop_Pa === 0) return 0;
  const sign = drop_Pa < 0 ? -1 : 1;
  const target = sign * drop_Pa;
  // pipes never resist less than laminar, the filter never less than with the bypass open: an upper bound of the flow
  const filter = sign < 0 ? leg.element_Pas_m3 : leg.parallel_Pas_m3;
  let high = quadraticFlow(leg.linear_Pas_m3 + leg.laminar_Pas_m3 + filter, leg.quadratic_Pas2_m6, target);
  if (leg.plain) return sign * high;
  let low = 0;
  let flow = high;
  for (let i = 0; i < 100; i++) {
    dropAndSlope(leg, sign * flow, scratch);
    const error = sign * scratch[0]! - target;
    if (error === 0) break;
    if (error > 0) high = flow;
    else low = flow;
    let next = flow - error / scratch[1]!;
    if (!(next > low && next < high)) next = low + (high - low) / 2;
    const moved = Math.abs(next - flow);
    flow = next;
    if (moved <= 1e-15 * flow || high - low <= 1e-15 * high) break;
  }
  return sign * flow;
}
