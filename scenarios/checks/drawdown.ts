/**
 * The reference drawdown: five alike cylinders, opened one after the other from one charge of air, with every number of
 * the machine given straight as a coefficient. Two separate solutions of the same equations agree to 9 digits.
 */

const valve = (number: number, delay_s: number) => ({
  tag: `V-${number}`,
  bore: '203.2 mm',
  rod: '50.8 mm',
  stroke: '254 mm',
  headEnd: 'opens',
  load: { opening: '12 kN', closing: '12 kN' },
  supplyLine: { quadratic: '8e11 Pa s^2/m^6' },
  returnLine: { quadratic: '4e11 Pa s^2/m^6' },
  position: '0 %',
  onTrip: 'opens',
  trip: { delay: `${delay_s} s` },
  require: { longest: '30 s' },
});

/** Its file, as an object. */
export const REFERENCE_DRAWDOWN = {
  title: 'Reference drawdown',
  clock: { tick: '10 ms' },
  run: { duration: '60 s', sample: '5 s' },
  // The barometer acts on the rod.
  site: { barometer: '101.325 kPaa', temperature: '293.15 K' },
  // The oil is never asked for: no pipes, no elevations.
  oil: { grade: 46, temperature: '293.15 K' },
  tank: {
    volume: '0.568 m^3',
    dissolvedAir: { model: 'none' },
    heat: {
      exchange: 'conductance',
      conductance: '14 W/K',
      wallHeatCapacity: '122.5 kJ/K',
      ambientConductance: '20 W/K',
    },
  },
  sump: { capacity: '1 m^3', depth: '1 m' },
  header: { linear: '2e6 Pa s/m^3', quadratic: '1e10 Pa s^2/m^6' },
  valves: [valve(1, 0), valve(2, 0), valve(3, 0), valve(4, 4), valve(5, 8)],
  power: { lostAt: '0 s' },
  start: { pressure: '145 psig', oil: '0.227 m^3', airTemperature: '293.15 K', wallTemperature: '293.15 K' },
} as const;
