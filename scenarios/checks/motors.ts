/** Overload relays of motors: trip times of the first-order thermal model. */
import { relayTimeConstant, timeToTrip } from '../../models/index.ts';
import { about, absolute, derived, figure } from './check.ts';

const curves = derived('IEC 255-8 as printed in the manual of a protection relay (formula read)');
const tenth = absolute(0.1, 'one decimal');
const hundredths = absolute(0.005, 'two decimals');
const classes = derived('IEC 60255-149 with k 1.15, 7.2 times the setting in the time of the class');
/** Trip time, s, of class 10 with k 1.15. */
const class10 = (current: number, before: number) => timeToTrip(current, before, 1.15, relayTimeConstant(10, 1.15));

export const motorChecks = about('overload relays', [
  figure('tau 600 s, k 1.05, cold, 1.5 times the current', 's', 404, tenth, curves, () =>
    timeToTrip(1.5, 0, 1.05, 600),
  ),
  figure('cold, 2 times', 's', 193.5, tenth, curves, () => timeToTrip(2, 0, 1.05, 600)),
  figure('cold, 3 times', 's', 78.4, tenth, curves, () => timeToTrip(3, 0, 1.05, 600)),
  figure('cold, 6 times', 's', 18.66, hundredths, curves, () => timeToTrip(6, 0, 1.05, 600)),
  figure('from the base current, 1.5 times', 's', 51.33, hundredths, curves, () => timeToTrip(1.5, 1, 1.05, 600)),
  figure('from the base current, 2 times', 's', 20.86, hundredths, curves, () => timeToTrip(2, 1, 1.05, 600)),
  figure('from the base current, 3 times', 's', 7.74, hundredths, curves, () => timeToTrip(3, 1, 1.05, 600)),
  figure('time constant of class 10', 's', 387, tenth, classes, () => relayTimeConstant(10, 1.15)),
  figure('time constant of class 20', 's', 773.9, tenth, classes, () => relayTimeConstant(20, 1.15)),
  figure('time constant of class 30', 's', 1160.9, tenth, classes, () => relayTimeConstant(30, 1.15)),
  figure('class 10, cold, 7.2 times the setting', 's', 10, absolute(1e-9, 'rounding'), classes, () => class10(7.2, 0)),
  figure('class 10, cold, 1.2 times', 's', 969.7, tenth, classes, () => class10(1.2, 0)),
  figure('class 10, cold, 1.5 times', 's', 342.9, tenth, classes, () => class10(1.5, 0)),
  figure('class 10, from the setting, 1.5 times', 's', 115.5, tenth, classes, () => class10(1.5, 1)),
  figure('class 10, cold, 2 times', 's', 155.3, tenth, classes, () => class10(2, 0)),
  figure('class 10, cold, 4 times', 's', 33.4, tenth, classes, () => class10(4, 0)),
  figure('class 10, cold, 6 times', 's', 14.5, tenth, classes, () => class10(6, 0)),
]);
