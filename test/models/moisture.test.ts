/** Water in compressed air at the ends of its range. */
import { describe, expect, test } from 'vitest';
import { condensateRatio, saturationPressure } from '../../models/moisture.ts';
import { close } from '../support/close.ts';

const C = 273.15;
const atm = 101_325;
const bar = 1e5;

describe('saturation', () => {
  test('goes on smoothly below freezing: falls steadily, by some 8 % a kelvin at 0 degC', () => {
    for (let t = -59; t <= 30; t++) expect(saturationPressure(t - 1 + C)).toBeLessThan(saturationPressure(t + C));
    close(saturationPressure(C + 0.5) / saturationPressure(C - 0.5), 1.0754, 1e-3); // L/(R_v T^2) = 0.0727 (derived)
  });
});

describe('condensate', () => {
  test('none from dry air, none where water would boil', () => {
    expect(condensateRatio(0, 300, atm, 280, 10 * bar)).toBe(0);
    expect(condensateRatio(1, 343, atm, 460, 10 * bar)).toBe(0);
  });
});

// At 377 K and 40 kPa water boils: there is a limit to what is taken in, and what boils behind the cooler drops nothing.
test('air hotter than water can be takes in a finite amount', () => {
  expect(condensateRatio(0.6, 377, 40e3, 390, 41e3)).toBe(0);
  const much = condensateRatio(0.9, 377, 40e3, 300, 1e6);
  expect(much).toBeGreaterThan(0);
  expect(much).toBeLessThan(0.621945 * 9);
});
