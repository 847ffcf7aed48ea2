/**
 * Air as an ideal gas with constant specific heats: properties, heat exchange by natural convection, flow through a
 * nozzle, expansion and compression in closed form, the standard atmosphere, air dissolved in oil. Pressures absolute.
 *
 * Not modelled: real-gas departures (about 0.5 % of density at 20 bar), moisture, radiation, friction in nozzles
 * beyond Cd.
 */

/** Gas constant of dry air, J/(kg K). */
export const R_AIR = 287.0528;
export const GAMMA = 1.4;
/** Specific heats, J/(kg K). */
export const CV_AIR = R_AIR / (GAMMA - 1);
export const CP_AIR = CV_AIR + R_AIR;
const G = 9.80665;
export const STANDARD_ATMOSPHERE_Pa = 101_325;

/**
 * Dynamic viscosity [Pa s] at T [K]: Sutherland's law, mu = 1.716e-5 (T/273.15)^1.5 383.55/(T + 110.4); from memory.
 */
export function airViscosity(temperature_K: number): number {
  const t = temperature_K / 273.15;
  return (1.716e-5 * t * Math.sqrt(t) * 383.55) / (temperature_K + 110.4);
}

/** Thermal conductivity [W/(m K)] at T [K]: k = 0.0241 (T/273.15)^1.5 467.15/(T + 194); from memory. */
export function airConductivity(temperature_K: number): number {
  const t = temperature_K / 273.15;
  return (0.0241 * t * Math.sqrt(t) * 467.15) / (temperature_K + 194);
}

/** Prandtl number cp mu/k at T [K]. */
export function airPrandtl(temperature_K: number): number {
  return (CP_AIR * airViscosity(temperature_K)) / airConductivity(temperature_K);
}

/**
 * C [W/K^(4/3)] of the heat that natural convection carries from a wall into the air, Q = sign(dT) C |dT|^(4/3):
 *     Nu = 0.13 Ra^(1/3), that is h = 0.13 k (g |dT| rho^2 Pr/(T_film mu^2))^(1/3),  Q = h A dT
 * Properties at the film temperature, the mean of gas and wall [K]; density of the gas [kg/m3]; surface [m2]. The size
 * of the vessel cancels out. Law: from memory (handbook form for turbulent natural convection).
 */
export function naturalConvectionCoefficient(
  gasTemperature_K: number,
  wallTemperature_K: number,
  density_kg_m3: number,
  surface_m2: number,
): number {
  const film = (gasTemperature_K + wallTemperature_K) / 2;
  const t = film / 273.15;
  const power = t * Math.sqrt(t);
  const mu = (1.716e-5 * 383.55 * power) / (film + 110.4);
  const k = (0.0241 * 467.15 * power) / (film + 194);
  return 0.13 * k * surface_m2 * Math.cbrt((G * density_kg_m3 * density_kg_m3 * CP_AIR) / (film * mu * k));
}

/**
 * Heat [W] from wall into air by natural convection; arguments as naturalConvectionCoefficient. Smooth through dT = 0.
 */
export function naturalConvectionHeat(
  gasTemperature_K: number,
  wallTemperature_K: number,
  density_kg_m3: number,
  surface_m2: number,
): number {
  const dT = wallTemperature_K - gasTemperature_K;
  const c = naturalConvectionCoefficient(gasTemperature_K, wallTemperature_K, density_kg_m3, surface_m2);
  return c * dT * Math.cbrt(Math.abs(dT));
}

/** Pressure ratio p2/p1 = (2/(gamma + 1))^(gamma/(gamma - 1)) at and below which a nozzle is choked. */
export const CRITICAL_RATIO = (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1));
/**
 * Above this pressure ratio the flow is drawn straight to zero, where its slope would otherwise be infinite (choice).
 */
const LINEAR_ABOVE = 0.999;
const CHOKED = Math.sqrt(GAMMA / R_AIR) * (2 / (GAMMA + 1)) ** ((GAMMA + 1) / (2 * (GAMMA - 1)));
const SUBCRITICAL = (2 * GAMMA) / ((GAMMA - 1) * R_AIR);
const subcritical = (ratio: number): number => {
  const s = ratio ** (1 / GAMMA);
  return Math.sqrt(SUBCRITICAL * s * (s - ratio));
};
const AT_LINEAR = subcritical(LINEAR_ABOVE);

/**
 * Mass flow [kg/s] of an ideal nozzle of effective area Cd A [m2] from p1 [Pa], T1 [K] to p2 [Pa]; 0 for p2 >= p1.
 *     choked     w = Cd A p1 sqrt(gamma/(R T1)) (2/(gamma + 1))^((gamma + 1)/(2 (gamma - 1)))
 *     otherwise  w = Cd A p1 sqrt(2 gamma/((gamma - 1) R T1) (r^(2/gamma) - r^((gamma + 1)/gamma))),  r = p2/p1
 * Source: isentropic flow, any textbook of gas dynamics.
 */
export function nozzleFlow(
  upstreamPressure_Pa: number,
  upstreamTemperature_K: number,
  downstreamPressure_Pa: number,
  effectiveArea_m2: number,
): number {
  const ratio = downstreamPressure_Pa / upstreamPressure_Pa;
  if (!(ratio < 1)) return 0;
  const shape =
    ratio <= CRITICAL_RATIO
      ? CHOKED
      : ratio <= LINEAR_ABOVE
        ? subcritical(ratio)
        : (AT_LINEAR * (1 - ratio)) / (1 - LINEAR_ABOVE);
  return (effectiveArea_m2 * upstreamPressure_Pa * shape) / Math.sqrt(upstreamTemperature_K);
}

/**
 * Effective area [m2] of the leak that makes the pressure fall as measured: "3 psi an hour at 140 psig" is
 * w = V_air |dp/dt|/(R T_ambient) at that pressure. Fall in Pa/s, positive; pressures absolute.
 */
export function leakArea(
  airVolume_m3: number,
  pressureFall_Pa_s: number,
  gasPressure_Pa: number,
  ambientTemperature_K: number,
  ambientPressure_Pa: number,
): number {
  const flow = (airVolume_m3 * pressureFall_Pa_s) / (R_AIR * ambientTemperature_K);
  return flow / nozzleFlow(gasPressure_Pa, ambientTemperature_K, ambientPressure_Pa, 1);
}

/**
 * Ambient pressure [Pa] at a height above sea level [m] by the standard atmosphere, -430 to 11 000 m:
 *     p = 101325 (1 - 0.0065 H/288.15)^5.25588,  H = 6356766 Z/(6356766 + Z) (second hand)
 * The height Z is the geometric one of a map; H is the geopotential height of the formula.
 */
export function ambientPressureAt(altitude_m: number): number {
  return standardPressureAt((6_356_766 * altitude_m) / (6_356_766 + altitude_m));
}

/** As ambientPressureAt, for a geopotential height [m]. */
export function standardPressureAt(geopotentialHeight_m: number): number {
  return STANDARD_ATMOSPHERE_Pa * (1 - (0.0065 * geopotentialHeight_m) / 288.15) ** 5.25588;
}

// Closed forms of p V^n = const for a closed charge. n = 1: isothermal; n = GAMMA: adiabatic; between: polytropic.

/** Pressure [Pa] after a change of volume. */
export function polytropicPressure(pressure_Pa: number, volume_m3: number, newVolume_m3: number, n: number): number {
  return pressure_Pa * (volume_m3 / newVolume_m3) ** n;
}

/** Temperature [K] after a change of volume. */
export function polytropicTemperature(
  temperature_K: number,
  volume_m3: number,
  newVolume_m3: number,
  n: number,
): number {
  return temperature_K * (volume_m3 / newVolume_m3) ** (n - 1);
}

/** Work [J] the gas gives off: p1 V1 (1 - (V1/V2)^(n-1))/(n - 1), for n = 1 its limit p1 V1 ln(V2/V1). */
export function polytropicWork(pressure_Pa: number, volume_m3: number, newVolume_m3: number, n: number): number {
  const logarithm = Math.log(newVolume_m3 / volume_m3);
  const x = (1 - n) * logarithm;
  // expm1(x)/x tends to 1: one formula, exact through n = 1
  return pressure_Pa * volume_m3 * logarithm * (x === 0 ? 1 : Math.expm1(x) / x);
}

/** Heat [J] the gas takes in while it gives off this work along p V^n: W (gamma - n)/(gamma - 1). */
export function polytropicHeat(work_J: number, n: number): number {
  return (work_J * (GAMMA - n)) / (GAMMA - 1);
}

/** Oil [m3] that a charge pushes out while its pressure falls from p1 to p2: V1 ((p1/p2)^(1/n) - 1). */
export function usableOil(airVolume_m3: number, pressure_Pa: number, lowestPressure_Pa: number, n: number): number {
  return airVolume_m3 * ((pressure_Pa / lowestPressure_Pa) ** (1 / n) - 1);
}

/**
 * Most oil [m3] any filling of a vessel delivers between two pressures: V (1 - (p2/p1)^(1/n)), when the oil is just
 * used up at the lower one.
 */
export function mostUsableOil(
  vesselVolume_m3: number,
  pressure_Pa: number,
  lowestPressure_Pa: number,
  n: number,
): number {
  return vesselVolume_m3 * (1 - (lowestPressure_Pa / pressure_Pa) ** (1 / n));
}

/**
 * What the shortcut with gauge pressures, p1 V1 = p2 V2, would promise [m3]. Wrong, and always on the unsafe side;
 * only to show beside the right figure, never to compute with.
 */
export function gaugeShortcutOil(
  airVolume_m3: number,
  pressure_Pa: number,
  lowestPressure_Pa: number,
  ambientPressure_Pa: number,
): number {
  return airVolume_m3 * ((pressure_Pa - ambientPressure_Pa) / (lowestPressure_Pa - ambientPressure_Pa) - 1);
}

/**
 * Power [W] to compress a flow [m3/s, at intake] from p1 to p2 along p V^n, clearance without losses:
 * n/(n - 1) p1 Q ((p2/p1)^((n-1)/n) - 1); n = 1: isothermal, p1 Q ln(p2/p1).
 */
export function compressionPower(
  intakePressure_Pa: number,
  intakeFlow_m3_s: number,
  deliveryPressure_Pa: number,
  n: number,
): number {
  const logarithm = Math.log(deliveryPressure_Pa / intakePressure_Pa);
  const x = ((n - 1) / n) * logarithm;
  return intakePressure_Pa * intakeFlow_m3_s * logarithm * (x === 0 ? 1 : Math.expm1(x) / x);
}

/** Temperature [K] at the end of a compression along p V^n, before any cooler. */
export function compressionTemperature(
  intakeTemperature_K: number,
  intakePressure_Pa: number,
  deliveryPressure_Pa: number,
  n: number,
): number {
  return intakeTemperature_K * (deliveryPressure_Pa / intakePressure_Pa) ** ((n - 1) / n);
}

/** Free air [m3 at ambient pressure, temperature of the receiver] between two pressures: V (p1 - p2)/p_ambient. */
export function freeAirBetween(
  volume_m3: number,
  highPressure_Pa: number,
  lowPressure_Pa: number,
  ambientPressure_Pa: number,
): number {
  return (volume_m3 * (highPressure_Pa - lowPressure_Pa)) / ambientPressure_Pa;
}

/** Density of air at 0 degC and one standard atmosphere, kg/m3. */
const NORMAL_DENSITY_kg_m3 = 1.2923;
/** Bunsen coefficient of air in mineral oil (from memory): m3 of air at 0 degC and 1 atm per m3 of oil and atm. */
export const BUNSEN_AIR_IN_OIL = 0.09;

/** Air [kg per m3 of oil] held in solution at saturation under p [Pa] (Henry): 1.2923 B p/1 atm. */
export function dissolvedAirAtSaturation(pressure_Pa: number, bunsen = BUNSEN_AIR_IN_OIL): number {
  return (NORMAL_DENSITY_kg_m3 * bunsen * pressure_Pa) / STANDARD_ATMOSPHERE_Pa;
}
