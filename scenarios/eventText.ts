/** Words for the event log: tag and sentence for each code. */
import { valvePosition } from '../models/drive.ts';
import { EventCode, Refused, startReasonText } from '../models/events.ts';
import { Mode } from '../models/motion.ts';
import type { Unit } from '../models/unit.ts';
import { formatQuantity, type UnitSystem } from './units.ts';

const roleNames: Readonly<Partial<Record<string, string>>> = {
  'level.lowLow': 'low-low level',
  'level.low': 'low level',
  'level.standbyStart': 'standby start',
  'level.dutyStart': 'duty start',
  'level.normal': 'normal level',
  'level.stop': 'stop level',
  'level.high': 'high level',
  'level.highHigh': 'high-high level',
  'pressure.lowLow': 'low-low pressure',
  'pressure.low': 'low pressure',
  'pressure.standbyCutIn': 'standby cut-in',
  'pressure.cutIn': 'cut-in',
  'pressure.high': 'high pressure',
  'pressure.highHigh': 'high-high pressure',
  'sump.low': 'low sump level',
  'sump.high': 'high sump level',
};
/** What a contact is for, in words. */
export const roleName = (role: string | undefined): string => roleNames[role ?? ''] ?? '';

export interface EventWords {
  readonly tag: string;
  readonly text: string;
}

const percent = (p: number) => `${Math.round(p * 1000) / 10} %`;

/** Tag of the item concerned and what happened to it. */
export function eventWords(
  unit: Unit,
  code: number,
  item: number,
  value: number,
  other: number,
  system: UnitSystem,
): EventWords {
  const { plant } = unit;
  const motors = [...plant.pumps, ...plant.compressors];
  const motor = motors[item]?.tag ?? '';
  const valve = plant.valves[item]?.tag ?? '';
  /** Position of the valve for one of its piston. */
  const open = (x: number) => `${percent(valvePosition(plant.valves[item].drive, x))} open`;
  const contact = plant.panel.contacts[item]?.tag ?? '';
  const alarm = unit.panel.alarms[item];
  const words = (tag: string, text: string): EventWords => ({ tag, text });
  switch (code) {
    case EventCode.mainsLost:
      return words('mains', 'lost');
    case EventCode.mainsBack:
      return words('mains', 'back');
    case EventCode.controlPowerLost:
      return words('control power', 'lost');
    case EventCode.controlPowerBack:
      return words('control power', 'back');
    case EventCode.undervoltageTrip:
      return words('undervoltage relay', 'trips');
    case EventCode.contactMade:
      return words(contact, `made (${roleName(plant.panel.contacts[item]?.role)})`);
    case EventCode.contactReset:
      return words(contact, `reset (${roleName(plant.panel.contacts[item]?.role)})`);
    case EventCode.motorCommanded:
      return words(motor, `called: ${startReasonText[value] ?? ''}`);
    case EventCode.motorStarted:
      return words(motor, 'starts');
    case EventCode.motorStopped:
      return words(motor, value < 1e8 ? `stops after ${formatQuantity(value, 'time', system)}` : 'stops');
    case EventCode.motorTripped:
      return words(motor, 'tripped');
    case EventCode.relayTripped:
      return words(motor, 'overload relay trips: stops');
    case EventCode.resetRefused:
      return words(motor, `overload relay too hot to reset, ready at ${formatQuantity(value, 'time', system)}`);
    case EventCode.riseProven:
      return words(motor, item < plant.pumps.length ? 'proven: the level rises' : 'proven: the pressure rises');
    case EventCode.motorFailed:
      return words(motor, 'not proven in time: failed');
    case EventCode.permissiveSet:
      return words('compressors', 'allowed: level is back at normal');
    case EventCode.permissiveCleared:
      return words('compressors', 'held off until the level is back');
    case EventCode.dutyChanged:
      return words(motor, 'is duty from now on');
    case EventCode.alarmRaised:
      return words(alarm?.tag ?? '', `alarm${value === 1 ? ' again' : ''}: ${alarm?.text ?? ''}`);
    case EventCode.alarmCleared:
      return words(alarm?.tag ?? '', value === 1 ? 'alarm returned, not acknowledged' : 'alarm cleared');
    case EventCode.alarmAcknowledged:
      return words(alarm?.tag ?? '', 'alarm acknowledged');
    case EventCode.valveCommanded: {
      const target = plant.valves[item].targets[other - 1] ?? 0;
      const to = target > 0 && target < 1 ? ` to ${open(target)}` : '';
      return words(valve, `${value > 0 ? 'open' : 'close'} command${to}${other > 0 ? ', trip' : ''}`);
    }
    case EventCode.valveMoving:
      return words(valve, `starts to move at ${open(value)}`);
    case EventCode.valveStopped:
      return words(valve, `comes to rest at ${open(value)}`);
    case EventCode.valveEnd:
      return words(
        valve,
        `${other >= 1 ? 'open' : other <= 0 ? 'closed' : open(other)} after ${formatQuantity(value, 'time', system)}`,
      );
    case EventCode.valveBlocked:
      return words(valve, `blocked by its pilot at ${open(value)}`);
    case EventCode.valvePushedBack:
      return words(valve, `pushed back by its load at ${open(value)}`);
    case EventCode.valveDrifting:
      return words(valve, `drifts off at ${open(value)}`);
    case EventCode.valveCavitating:
      return words(valve, `cavitates at ${open(value)}: the load runs ahead of the oil`);
    case EventCode.gasBreakthrough:
      return words(plant.tank.tag, 'level at the outlet: gas in the header');
    case EventCode.tankFull:
      return words(plant.tank.tag, 'full of oil to the top: pumps work against their relief valves');
    case EventCode.tankNotFull:
      return words(plant.tank.tag, 'has room for oil again');
    case EventCode.safetyValveOpen:
      return words(plant.safetyValve?.tag ?? '', 'opens');
    case EventCode.safetyValveShut:
      return words(plant.safetyValve?.tag ?? '', 'shuts');
    case EventCode.suctionLost:
      return words(plant.sump.tag, 'level at the suction: pumps run dry');
    case EventCode.suctionBack:
      return words(plant.sump.tag, 'pumps primed again');
    case EventCode.outletShut:
      return words(plant.tank.tag, 'outlet shuts by itself on low-low level: no oil leaves');
    case EventCode.outletOpen:
      return words(plant.tank.tag, 'outlet opens again');
    case EventCode.sumpOverflows:
      return words(plant.sump.tag, 'full to the brim: oil spills');
    case EventCode.sumpOverflowEnds:
      return words(plant.sump.tag, 'no longer full');
    case EventCode.strokeInterrupted:
      return words(valve, `stroke interrupted at ${open(value)}`);
    case EventCode.selectorSet:
      return words(motor, `selector to ${['off', 'auto', 'hand'][value]}`);
    case EventCode.resetDone:
      return item < 0 ? words('trip', 'reset') : words(motor, 'reset');
    case EventCode.flowProven:
      return words(motor, 'flow proven');
    case EventCode.flowLost:
      return words(motor, 'flow lost');
    case EventCode.holdOver:
      return words(valve, value === Mode.end ? 'held its end position' : 'did not hold its end position');
    case EventCode.startBlocked:
      return words(motor, value === 1 ? 'starter blocked: will not start' : 'starter freed');
    case EventCode.sequenceLost:
      return words(valve, 'further trip strokes lost with the control power');
    case EventCode.commandRefused:
      if (item < 0) return words('trip', 'not reset: the mains are still lost');
      return words(
        valve,
        `command refused: ${value === Refused.noControlPower ? 'no control power' : 'its trip stands'}`,
      );
    case EventCode.stepBegins:
      return words('step', `${item + 1}: ${plant.steps[item]?.text ?? ''}`);
    case EventCode.stepEnds:
      return words('step', `${item + 1} ${value === 0 ? 'done' : 'given up: its condition did not come'}`);
    case EventCode.faultBegins:
      return words('fault', plant.faults[item]?.text ?? '');
    case EventCode.faultEnds:
      return words('fault', `over: ${plant.faults[item]?.text ?? ''}`);
    case EventCode.handValve:
      return words(plant.tank.tag, `${item === 0 ? 'drain' : 'vent'} ${value === 1 ? 'opened' : 'closed'} by hand`);
    case EventCode.isolationSet:
      return words(motor, `isolation valve ${value === 1 ? 'shut' : 'opened'} by hand`);
    default:
      return words('', `event ${code}`);
  }
}
