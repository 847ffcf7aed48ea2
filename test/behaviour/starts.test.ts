/** How often a machine is called: the volume rule of pumping stations, and counting within an hour. */
import { expect, test } from 'vitest';
import { mostWithinAnHour } from '../../scenarios/findings/afterRun.ts';
import { callsPerHour, mostCallsPerHour } from '../../scenarios/findings/estimates.ts';

test('storage for a shortest cycle: 100 gal/min and 10 min want 250 gal (US Army EI 11C201, UFC 3-240-04A; read)', () => {
  // V = t q/4, so with that volume the cycle is never shorter than 10 min: 6 calls an hour.
  expect(mostCallsPerHour(250, 100 / 60)).toBeCloseTo(6, 12);
});

test('calls an hour are fewest where little or nearly everything is drawn, and alike about half', () => {
  // 60 L a minute into 100 L: draw 15 fills in 100/45 min and empties in 100/15 (derived).
  expect(callsPerHour(100, 1, 0.25)).toBeCloseTo(60 / (100 / 45 + 100 / 15), 12);
  expect(callsPerHour(100, 1, 0.75)).toBeCloseTo(callsPerHour(100, 1, 0.25), 12);
  expect(callsPerHour(100, 1, 0)).toBe(0);
  expect(callsPerHour(100, 1, 1)).toBe(0);
});

test('the most starts within any hour, the hour half open', () => {
  expect(mostWithinAnHour([])).toEqual({ count: 0, from_s: 0 });
  expect(mostWithinAnHour([0, 3600, 7200])).toEqual({ count: 1, from_s: 0 });
  expect(mostWithinAnHour([0, 3599.9, 3600, 5000, 7199])).toEqual({ count: 4, from_s: 3599.9 });
});
