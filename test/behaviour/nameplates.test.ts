/** Nameplates that cannot be. */
import { expect, test } from 'vitest';
import { checkScenario } from '../../scenarios/index.ts';
import { scenarioOf } from '../support/recorded.ts';

const found = (changes: Readonly<Record<string, unknown>>) =>
  checkScenario(scenarioOf(changes), 'si').filter((f) => f.id.endsWith('nameplate'));

test('nothing is said of machines without a rated power', () => {
  expect(found({})).toEqual([]);
});

test('a compressor with less than the isothermal power of its free air at the cut-out', () => {
  // 600 L/min to 9.0 bar gauge: 101325 Pa x 0.01 m3/s x ln(10.01325/1.01325) = 2.321 kW (derived)
  expect(found({ 'compressors.1.ratedPower': '2.33 kW' })).toEqual([]);
  const [finding] = found({ 'compressors.1.ratedPower': '2.31 kW' });
  expect(finding.id).toBe('compressor nameplate');
  expect(finding.text).toContain('C-2 cannot bring 600 L/min of free air to 9.00 barg with 2.31 kW');
  expect(finding.text).toContain('2.32 kW');
  expect(finding.at).toHaveLength(2);
});

test('with a displacement it counts what the clearance leaves of it', () => {
  // c 5 %, n 1.3: 1.05 - 0.05 x 9.8823^(1/1.3) = 0.7589 of 2.321 kW is 1.762 kW (derived)
  const displaced = { tag: 'C-1', displacement: '600 L/min', clearance: '5 %', exponent: 1.3 };
  expect(found({ compressors: [{ ...displaced, ratedPower: '1.77 kW' }] })).toEqual([]);
  expect(found({ compressors: [{ ...displaced, ratedPower: '1.75 kW' }] })).toHaveLength(1);
});

// common practice, no source: 3.5 ft3/min of free air at 120 psig takes 0.50 hp at least
test('1/3 hp for 3.5 ft3/min at 120 psig is impossible, 1.3 hp plausible', () => {
  const plate = (ratedPower: string) => ({
    'panel.pressure': { cutIn: { at: '100 psig' }, cutOut: { at: '120 psig' } },
    compressors: [{ tag: 'C-1', freeAir: '3.5 ft^3/min', ratedPower }],
  });
  expect(found(plate('0.3333 hp'))).toHaveLength(1);
  expect(found(plate('1.3 hp'))).toEqual([]);
});

test('a pump with less than its flow times its pressure', () => {
  // 60 L/min at 10 bar are 1 kW by the units
  expect(found({ 'pumps.0.ratedPower': '1.01 kW' })).toEqual([]);
  const [finding] = found({ 'pumps.0.ratedPower': '0.99 kW' });
  expect(finding.id).toBe('pump nameplate');
  expect(finding.text).toContain('P-1 cannot pump 60.0 L/min at 10.00 bar with 0.99 kW');
});
