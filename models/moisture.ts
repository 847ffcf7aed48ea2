/**
 * Water in the air that compressors draw in, and the condensate they make of it.
 *
 *   W = 0.621945 p_v/(p - p_v)      p_v = relative humidity x p_sat(T)      water per dry air, kg/kg
 *   condensate = W at the intake - W saturated at the pressure and temperature behind the cooler, never negative
 *
 * Saturation pressure over liquid water by the formula of Hyland and Wexler (coefficients from memory, checked against
 * published values), carried on below freezing, where relative humidity is defined over liquid water all the same.
 * Not modelled: the enhancement factor (saturated air under pressure holds 3 % more at 10 bar), water vapour in the mass
 * and energy of the air, what drops out later in the tank.
 */

/** Molar mass of water over that of dry air. */
const MOLAR_RATIO = 0.621945;

/** Share of the ambient pressure that vapour may make up, where a file asks for more than air can hold (choice). */
const MOST_VAPOUR = 0.9;

/** Saturation pressure [Pa] of water at T [K]; 273 to 473 K within 0.03 %, a smooth continuation below. */
export function saturationPressure(temperature_K: number): number {
  const t = temperature_K;
  const polynomial = 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 - t * 1.4452093e-8));
  return Math.exp(-5800.2206 / t + polynomial + 6.5459673 * Math.log(t));
}

/** Water per dry air [kg/kg] at a vapour pressure and a pressure [Pa]; Infinity where the water would boil. */
export function humidityRatio(vapourPressure_Pa: number, pressure_Pa: number): number {
  return vapourPressure_Pa < pressure_Pa
    ? (MOLAR_RATIO * vapourPressure_Pa) / (pressure_Pa - vapourPressure_Pa)
    : Infinity;
}

/** Water [kg per kg of dry air] that drops out when ambient air is brought to a pressure [Pa] and a temperature [K]. */
export function condensateRatio(
  relativeHumidity: number,
  ambientTemperature_K: number,
  ambientPressure_Pa: number,
  temperature_K: number,
  pressure_Pa: number,
): number {
  const vapour = relativeHumidity * saturationPressure(ambientTemperature_K);
  const taken = humidityRatio(Math.min(vapour, MOST_VAPOUR * ambientPressure_Pa), ambientPressure_Pa);
  // What would boil behind the cooler stays in the air.
  const kept = humidityRatio(saturationPressure(temperature_K), pressure_Pa);
  return taken > kept ? taken - kept : 0;
}
