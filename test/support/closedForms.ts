/**
 * Answers in closed form for the first law of an ideal-gas charge, written independently of the program (no import from it):
 *     m cv dT/dt = hA (Tw - T) - p dV/dt  and, with air entering, + w (cp Tin - cv T);  tau = m cv/(hA)
 * Derived from the equation; the values checked in published/air.test.ts were computed by three other routes (Kummer series,
 * quadrature, stiff integration) and agreed to 1e-11.
 */
const GAMMA = 1.4;

export interface WallExchange {
  /** Gas volume at t = 0 [m3]; it changes by flow [m3/s], positive while oil leaves. */
  readonly volume_m3: number;
  readonly flow_m3_s: number;
  /** Thermal time constant [s], held constant. */
  readonly tau_s: number;
  readonly temperature_K: number;
  readonly wall_K: number;
  readonly pressure_Pa: number;
}
export interface GasState {
  readonly temperature_K: number;
  readonly pressure_Pa: number;
}

/** Kummer's M(1; b; z) for z >= 0 and e^z M(b - 1; b; -z) likewise: series of positive terms. */
function series(ratio: (n: number) => number): number {
  let term = 1;
  let sum = 1;
  for (let n = 0; term > 1e-18 * sum; n++) {
    term *= ratio(n);
    sum += term;
  }
  return sum;
}

/** M(1; gamma + 1; z) for any z. */
function kummer(z: number): number {
  const b = GAMMA + 1;
  if (z >= 0) return series((n) => z / (b + n));
  // M(1; b; z) = e^z M(b - 1; b; -z), so that no terms cancel
  return Math.exp(z) * series((n) => ((b - 1 + n) * -z) / ((b + n) * (n + 1)));
}

/**
 * Constant oil flow with wall exchange, outflow or refill, x = V/V0, k = V0/(flow tau):
 *     T = T0 e^(-k(x-1)) x^(1-gamma) + (k Tw/gamma)(x M(-kx) - e^(-k(x-1)) x^(1-gamma) M(-k)),  M(z) = M(1; gamma+1; z)
 */
export function constantFlow(c: WallExchange, time_s: number): GasState {
  const x = 1 + (c.flow_m3_s * time_s) / c.volume_m3;
  const k = c.volume_m3 / (c.flow_m3_s * c.tau_s);
  const fade = Math.exp(-k * (x - 1)) * x ** (1 - GAMMA);
  const temperature_K = c.temperature_K * fade + ((k * c.wall_K) / GAMMA) * (x * kummer(-k * x) - fade * kummer(-k));
  return { temperature_K, pressure_Pa: (c.pressure_Pa * temperature_K) / (c.temperature_K * x) };
}

/** Volume held: the temperature creeps to that of the wall with tau, the pressure in proportion. */
export function heldVolume(start: GasState, wall_K: number, tau_s: number, time_s: number): GasState {
  const temperature_K = wall_K + (start.temperature_K - wall_K) * Math.exp(-time_s / tau_s);
  return { temperature_K, pressure_Pa: (start.pressure_Pa * temperature_K) / start.temperature_K };
}

/** Volume growing as V0 e^(t/theta). */
export function exponentialVolume(
  start: GasState,
  wall_K: number,
  tau_s: number,
  theta_s: number,
  time_s: number,
): GasState {
  const end = wall_K / (1 + ((GAMMA - 1) * tau_s) / theta_s);
  const rate = 1 / tau_s + (GAMMA - 1) / theta_s;
  const temperature_K = end + (start.temperature_K - end) * Math.exp(-rate * time_s);
  return {
    temperature_K,
    pressure_Pa: ((start.pressure_Pa * temperature_K) / start.temperature_K) * Math.exp(-time_s / theta_s),
  };
}

/** Rigid vessel taking air of inlet_K at a constant mass flow; b = hA/(w cv), m/m0 the mass over that at the start. */
export function charging(start: GasState, wall_K: number, inlet_K: number, b: number, massRatio: number): GasState {
  const end = (GAMMA * inlet_K + b * wall_K) / (1 + b);
  const temperature_K = end + (start.temperature_K - end) * massRatio ** -(1 + b);
  return { temperature_K, pressure_Pa: (start.pressure_Pa * massRatio * temperature_K) / start.temperature_K };
}

/** Rigid vessel losing air at a constant mass flow; b = hA/(w cv). */
export function discharging(start: GasState, wall_K: number, b: number, massRatio: number): GasState {
  const end = (b * wall_K) / (GAMMA - 1 + b);
  const temperature_K = end + (start.temperature_K - end) * massRatio ** (GAMMA - 1 + b);
  return { temperature_K, pressure_Pa: (start.pressure_Pa * massRatio * temperature_K) / start.temperature_K };
}
