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
