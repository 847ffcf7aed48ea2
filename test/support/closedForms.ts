/**
 * Answers in closed form for the first law of an ideal-gas charge, written independently of the program (no import
 * from it):
 *     m cv dT/dt = hA (Tw - T) - p dV/dt  and, with air entering, + w (cp Tin - cv T);  tau = m cv/(hA)
 * Derived from the equation; the values checked in engine/answers.test.ts were computed by three other routes (Kummer
 * series, quadrature, stiff integration) and agreed to 1e-11.
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

/** Kummer's M(1; gamma + 1; -z) for z >= 0, as e^-z M(gamma; gamma + 1; z): all terms positive, nothing cancels. */
function kummer(z: number): number {
  let term = Math.exp(-z);
  let sum = term;
  for (let n = 0; n < z || term > 1e-18 * sum; n++) {
    term *= ((GAMMA + n) * z) / ((GAMMA + 1 + n) * (n + 1));
    sum += term;
  }
  return sum;
}

/** Integral of f from a to b, Gauss-Legendre of five points on 200 parts. */
function integral(f: (s: number) => number, a: number, b: number): number {
  const [near, far] = [Math.sqrt(5 - 2 * Math.sqrt(10 / 7)) / 3, Math.sqrt(5 + 2 * Math.sqrt(10 / 7)) / 3];
  const [wNear, wFar] = [(322 + 13 * Math.sqrt(70)) / 900, (322 - 13 * Math.sqrt(70)) / 900];
  const half = (b - a) / 400;
  let sum = 0;
  for (let i = 0; i < 200; i++) {
    const m = a + (2 * i + 1) * half;
    sum += (128 / 225) * f(m) + wNear * (f(m - near * half) + f(m + near * half));
    sum += wFar * (f(m - far * half) + f(m + far * half));
  }
  return sum * half;
}

/**
 * Constant oil flow with wall exchange, x = V/V0, k = V0/(flow tau):
 *     T = T0 e^(-k(x-1)) x^(1-gamma) + (k Tw/gamma)(x M(-kx) - e^(-k(x-1)) x^(1-gamma) M(-k)),  M(z) = M(1; gamma+1; z)
 * for outflow. For a refill (k < 0) the two M are huge and nearly cancel; the equal form
 *     T = T0 e^(-k(x-1)) x^(1-gamma) + |k| Tw x^(1-gamma) int from x to 1 of e^(-|k|(s-x)) s^(gamma-1) ds
 * does not. Good for k x up to 700 (a longer tau than V0/(700 flow)).
 */
export function constantFlow(c: WallExchange, time_s: number): GasState {
  const x = 1 + (c.flow_m3_s * time_s) / c.volume_m3;
  const k = c.volume_m3 / (c.flow_m3_s * c.tau_s);
  const power = x ** (1 - GAMMA);
  const fade = Math.exp(-k * (x - 1)) * power;
  const fromWall =
    k > 0
      ? (k / GAMMA) * (x * kummer(k * x) - fade * kummer(k))
      : -k * power * integral((s) => Math.exp(k * (s - x)) * s ** (GAMMA - 1), x, 1);
  const temperature_K = c.temperature_K * fade + c.wall_K * fromWall;
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
