/** Units that sources use, in SI. Exact by definition. */
export const inch = 0.0254;
export const foot = 12 * inch;
export const gallon = 231 * inch ** 3;
export const pound = 0.45359237;
export const psi = (pound * 9.80665) / inch ** 2;
export const horsepower = 550 * foot * pound * 9.80665;
export const bar = 1e5;
export const atm = 101_325;
export const C = 273.15;
export const mm2 = 1e-6;
export const minute = 60;
export const fahrenheit = (t: number): number => (t + 459.67) / 1.8;
