/**
 * Wrong programs on purpose: one constant or one sign altered at a time, and who has to notice. The text to be replaced
 * stands once in its file, so that moving it is noticed here.
 */

export interface Canary {
  readonly place: string;
  readonly file: string;
  readonly good: string;
  readonly bad: string;
  /** 'checks' for the figures that `selfcheck` compares, or a test file. */
  readonly noticedBy: string;
  /** The figure, law or behaviour that has to fail. */
  readonly failing: RegExp;
  /** Tried by every `npm test`; the others with TRIPSTROKE_CANARY=all. */
  readonly always?: true;
}

export const CANARIES: readonly Canary[] = [
  {
    place: 'gas constant of air, 0.16 % off',
    file: 'models/air.ts',
    good: 'R_AIR = 287.0528;',
    bad: 'R_AIR = 287.5;',
    noticedBy: 'checks',
    failing: /^air as an ideal gas: density at 1 bar/m,
  },
  {
    place: 'ratio of specific heats, 0.07 % off',
    file: 'models/air.ts',
    good: 'GAMMA = 1.4;',
    bad: 'GAMMA = 1.401;',
    noticedBy: 'checks',
    failing: /^charge of 40 bar, .*: adiabatic, pressure/m,
  },
  {
    place: 'exponent of natural convection: 1/2 for 1/3',
    file: 'models/air.ts',
    good: 'c * dT * Math.cbrt(Math.abs(dT))',
    bad: 'c * dT * Math.sqrt(Math.abs(dT))',
    noticedBy: 'checks',
    failing: /^heat exchange of the charge: /m,
  },
  {
    place: 'exponent of a choked nozzle',
    file: 'models/air.ts',
    good: '((GAMMA + 1) / (2 * (GAMMA - 1)))',
    bad: '((GAMMA + 1) / (2 * GAMMA))',
    noticedBy: 'checks',
    failing: /^nozzle and safety valve: C of API 520/m,
  },
  {
    place: 'orifice of an air leak by the pressure instead of its fall',
    file: 'models/air.ts',
    good: 'nozzleFlow(gasPressure_Pa, ambientTemperature_K, ambientPressure_Pa, 1)',
    bad: 'nozzleFlow(gasPressure_Pa - ambientPressure_Pa, ambientTemperature_K, ambientPressure_Pa, 1)',
    noticedBy: 'checks',
    failing: /^nozzle and safety valve: a leak measured as a fall/m,
  },
  {
    place: 'standard atmosphere: its exponent',
    file: 'models/air.ts',
    good: '** 5.25588',
    bad: '** 5.2',
    noticedBy: 'checks',
    failing: /^atmosphere: pressure at 2000 m/m,
  },
  {
    place: 'viscosity over temperature: 0.8 for 0.7',
    file: 'models/oil.ts',
    good: 'viscosity_m2_s / MM2 + 0.7',
    bad: 'viscosity_m2_s / MM2 + 0.8',
    noticedBy: 'checks',
    failing: /^oil: 32 and 5.4 mm2\/s/m,
  },
  {
    place: 'thermal expansion of oil, 1 % off',
    file: 'models/oil.ts',
    good: 'const alpha = 0.34878 / density60F;',
    bad: 'const alpha = 0.35227 / density60F;',
    noticedBy: 'checks',
    failing: /^oil: (870 kg\/m3 at 60 degF: )?volume factor/m,
  },
  {
    place: 'Churchill 1977: a constant in a line',
    file: 'models/pipe.ts',
    good: 'sixteenth(2.457 * logarithm)',
    bad: 'sixteenth(2.46 * logarithm)',
    noticedBy: 'checks',
    failing: /^lines: f of a line/m,
  },
  {
    place: 'overload relay: heats with the current instead of its square',
    file: 'models/motor.ts',
    good: '(current / relay.setting) ** 2 - heat',
    bad: '(current / relay.setting) - heat',
    noticedBy: 'test/behaviour/motors.test.ts',
    failing: /a locked rotor trips it/,
  },
  {
    place: 'overload relay: time constant',
    file: 'models/motor.ts',
    good: 'class_s / Math.log(CLASS_CURRENT ** 2',
    bad: 'class_s / Math.log(CLASS_CURRENT',
    noticedBy: 'checks',
    failing: /^overload relays: time constant of class 10/m,
  },
  {
    place: 'area on the rod side',
    file: 'scenarios/build.ts',
    good: '(w.bore ** 2 - w.rod ** 2)',
    bad: '(w.bore ** 2 + w.rod ** 2)',
    noticedBy: 'checks',
    failing: /^runs: strokes: retracting, rod 100 mm/m,
  },
  {
    place: 'sign of p dV',
    file: 'models/flows.ts',
    good: 'const power = -now[PRESSURE] * rate[oil];',
    bad: 'const power = now[PRESSURE] * rate[oil];',
    noticedBy: 'checks',
    failing: /^runs: oil out of and into the tank: .*adiabatic: pressure/m,
  },
  {
    place: 'sign of the heat from the wall',
    file: 'models/flows.ts',
    good: 'hIn - hOut - power + q;',
    bad: 'hIn - hOut - power - q;',
    noticedBy: 'checks',
    failing: /^runs: heat and air: /m,
  },
  {
    place: 'sign of the return main in the pressure that it has',
    file: 'models/flows.ts',
    good: 'pAmbient + network.returnDrop',
    bad: 'pAmbient - network.returnDrop',
    noticedBy: 'test/behaviour/drives.test.ts',
    failing: /a spring stroke fills the return main for its neighbour/,
  },
  {
    place: 'sign of the return main in what drives a piston',
    file: 'models/network.ts',
    good: 'headerDrop - br.outArea_m2 * returnDrop',
    bad: 'headerDrop + br.outArea_m2 * returnDrop',
    noticedBy: 'test/laws/network.test.ts',
    failing: /the network of the valves satisfies every balance/,
  },
  {
    place: 'sign of the air that goes into solution',
    file: 'models/flows.ts',
    good: 'now[AIR_IN] - now[AIR_OUT] - dissolving',
    bad: 'now[AIR_IN] - now[AIR_OUT] + dissolving',
    noticedBy: 'test/laws/conservation.test.ts',
    failing: /every ledger closes/,
  },
  {
    place: 'clearance of a compressor: exponent',
    file: 'models/compressor.ts',
    good: 'const root = ratio ** (1 / n);',
    bad: 'const root = ratio ** n;',
    noticedBy: 'checks',
    failing: /^compressors: /m,
  },
  {
    place: 'safety valve shuts half way to its reseat pressure',
    file: 'models/watching.ts',
    good: 'safetyValve.reseat_Pa + y[a.safetyShift], -1',
    bad: '(safetyValve.reseat_Pa + safetyValve.set_Pa) / 2 + y[a.safetyShift], -1',
    noticedBy: 'test/behaviour/faults.test.ts',
    failing: /safety valve > lifts early, sticks open, sticks shut/,
  },
  {
    place: 'deadband of a contact the other way round',
    file: 'scenarios/build.ts',
    good: 'low ? full.at + deadband : full.at - deadband',
    bad: 'low ? full.at - deadband : full.at + deadband',
    noticedBy: 'test/behaviour/contacts.test.ts',
    failing: /resets at trip point plus deadband/,
    always: true,
  },
  {
    place: 'a timer that expires one scan late',
    file: 'models/timer.ts',
    good: 'Math.ceil((since + delay) / scanTicks) * scanTicks',
    bad: '(Math.ceil((since + delay) / scanTicks) + 1) * scanTicks',
    noticedBy: 'test/behaviour/contacts.test.ts',
    failing: /a low contact makes at its trip point/,
    always: true,
  },
  {
    place: 'compressors allowed whatever the level',
    file: 'models/panel.ts',
    good: 'else if (callBegins) allowed = false;',
    bad: 'else if (callBegins) allowed = true;',
    noticedBy: 'test/behaviour/compressors.test.ts',
    failing: /holds the compressors off until a refill/,
  },
  {
    place: 'search by the hull that looks at no hull',
    file: 'sim/watch.ts',
    good: 'if (first > last || !load(w, j, stepper, y, HULL_ROUNDING)) return -1;',
    bad: 'if (first > last || load(w, j, stepper, y, HULL_ROUNDING)) return -1;',
    noticedBy: 'test/laws/search.test.ts',
    failing: /the first tick is the one that a look at every tick finds/,
    always: true,
  },
  {
    place: 'sign of compensated summation',
    file: 'sim/stepper.ts',
    good: 'y[rounding + i] = after - before - increment;',
    bad: 'y[rounding + i] = increment - (after - before);',
    noticedBy: 'test/laws/order.test.ts',
    failing: /a hundred thousand tenths make ten thousand/,
  },
  {
    place: 'a weight of the integrator, 0.015 % off',
    file: 'sim/stepper.ts',
    good: '-2187 / 6784',
    bad: '-2187 / 6783',
    noticedBy: 'test/laws/order.test.ts',
    failing: /a run at a fixed step has order 5/,
    always: true,
  },
  {
    place: 'a stroke booked in the tank but not in the sump',
    file: 'models/flows.ts',
    good: 'toSump += back;',
    bad: 'toSump += 0 * back;',
    noticedBy: 'test/laws/conservation.test.ts',
    failing: /every ledger closes/,
  },
];
