/** The closed list of what can appear in the event log. `value` and `other` are explained with each text. */

export const EventCode = {
  mainsLost: 0,
  mainsBack: 1,
  controlPowerLost: 2,
  controlPowerBack: 3,
  undervoltageTrip: 4,
  contactMade: 5,
  contactReset: 6,
  motorCommanded: 7,
  motorStopped: 8,
  motorStarted: 9,
  motorTripped: 10,
  motorFailed: 11,
  permissiveSet: 12,
  permissiveCleared: 13,
  dutyChanged: 14,
  alarmRaised: 15,
  alarmCleared: 16,
  alarmAcknowledged: 17,
  valveCommanded: 18,
  valveMoving: 19,
  valveStopped: 20,
  valveEnd: 21,
  valveBlocked: 22,
  valvePushedBack: 23,
  valveDrifting: 24,
  valveCavitating: 25,
  gasBreakthrough: 26,
  safetyValveOpen: 27,
  safetyValveShut: 28,
  suctionLost: 29,
  suctionBack: 30,
  strokeInterrupted: 31,
  selectorSet: 32,
  resetDone: 33,
  flowProven: 34,
  flowLost: 35,
  holdOver: 36,
  startBlocked: 37,
  sequenceLost: 38,
  commandRefused: 39,
  tankFull: 40,
  tankNotFull: 41,
  faultBegins: 42,
  faultEnds: 43,
  handValve: 44,
  isolationSet: 45,
  stepBegins: 46,
  stepEnds: 47,
} as const;
export type EventCode = (typeof EventCode)[keyof typeof EventCode];

/** Why a command was refused, carried as the value of commandRefused; the item is a valve, or -1 for a reset of the trip. */
export const Refused = { noControlPower: 0, tripStands: 1 } as const;

/** Why a machine was commanded, carried as the value of motorCommanded. */
export const StartReason = {
  duty: 0,
  standbyStep: 1,
  standbyNotProven: 2,
  standbyTripped: 3,
  standbyLongRun: 4,
  hand: 5,
  recovery: 6,
  standbyNotAuto: 7,
} as const;

export const startReasonText: Readonly<Record<number, string>> = {
  0: 'duty call',
  1: 'standby step reached',
  2: 'duty not proven in time',
  3: 'duty tripped',
  4: 'longest run exceeded',
  5: 'in hand',
  6: 'refill after power came back',
  7: 'duty not in auto',
};
