/**
 * The closed list of findings: what can be said of settings and, after a run, of what they led to. Each kind has its
 * severity and one line of advice. A finding never stops a run and never changes a number of it.
 *
 * What is wanted of each setting is common practice, no source, except where a finding says otherwise.
 */

export const SEVERITIES = {
  warning: 'left as it is, the unit can fail its purpose, wear a machine out or exceed a pressure',
  note: 'nothing fails by it alone, but something is missing, unusual or untested',
  information: 'a figure worth knowing; nothing is wrong',
} as const;
export type Severity = keyof typeof SEVERITIES;

interface Kind {
  readonly severity: Severity;
  readonly advice: string;
}

export const FINDING_KINDS = {
  // Levels, oil and sump
  'level order': { severity: 'warning', advice: "Put them in order, or say why not in the unit's papers." },
  'sump order': { severity: 'warning', advice: 'Put the sump contacts between suction and brim, low under high.' },
  'permissive never reached': {
    severity: 'warning',
    advice: 'Set the normal level below the stop, with both accuracies between them.',
  },
  'switches within accuracies': { severity: 'warning', advice: 'Set them further apart, or fit better switches.' },
  'deadband under accuracy': { severity: 'warning', advice: 'Widen the deadband, or fit a better switch.' },
  'low oil alarm too late': {
    severity: 'warning',
    advice: 'Raise the alarm until the oil left at it still makes every required stroke.',
  },
  'oil short of required set': {
    severity: 'warning',
    advice: 'Raise the duty start, or lower the outlet or its shut-off.',
  },
  'sump too small to drain back': { severity: 'warning', advice: 'Work with less oil, or fit a larger sump.' },
  'sump too small to refill': { severity: 'warning', advice: 'Add oil while the tank is full, or lower the stop.' },
  'no low alarm': { severity: 'note', advice: 'Fit the alarm, or nobody learns of a slow loss in time.' },
  'start in alarm': {
    severity: 'note',
    advice: 'Check the readings; such a start may well be what is to be replayed.',
  },
  'water-logged tank': {
    severity: 'warning',
    advice: 'Find where the air goes, add air at the right level, and look at the compressors.',
  },
  'air-bound tank': {
    severity: 'warning',
    advice:
      'Look for oil lost or pumps that do not run, and for a compressor that runs without its level permissive; vent air only at the right level.',
  },

  // Pressures
  'pressure order': { severity: 'warning', advice: "Put them in order, or say why not in the unit's papers." },
  'safety valve above design': {
    severity: 'warning',
    advice: 'Read both plates again; a safety valve set over the design pressure does not protect the vessel.',
  },
  'safety valve too small': {
    severity: 'warning',
    advice: 'Have the relief sized; this is no sizing, only a comparison with the compressors.',
  },
  'no safety valve': { severity: 'warning', advice: 'Give the safety valve under "safetyValve".' },
  'no design pressure': { severity: 'note', advice: 'Read it off the vessel plate into "tank.designPressure".' },
  'start pressure too high': {
    severity: 'warning',
    advice: 'Check the gauge and what was read off it; such a pressure must not stand in the vessel.',
  },
  'compressor relief too low': {
    severity: 'warning',
    advice: 'Raise the relief well above the pressure at which the compressor stops, or lower that.',
  },
  'pump relief too low': {
    severity: 'warning',
    advice:
      'Raise the relief above the highest tank pressure and the line loss in cold oil, within the design pressure.',
  },
  'pump relief over design': {
    severity: 'warning',
    advice: 'Lower the relief: in a tank full of oil only it and the safety valve hold the pumps.',
  },
  overcharge: {
    severity: 'warning',
    advice:
      'Bring duty start and stop closer together, lower the cut-out, or raise the limit within the design pressure.',
  },
  'pressure swing': {
    severity: 'warning',
    advice: 'Bring duty start and stop closer together, or work at a lower level with more air.',
  },
  'low pressure alarm too late': {
    severity: 'warning',
    advice:
      'Raise the alarm above the pressure from which the required strokes complete; replay from there to find it.',
  },
  'pressure short of required set': {
    severity: 'warning',
    advice: 'Raise the cut-in or work with more air; replay from the cut-in at the stop level to see it.',
  },
  'filter alarm over bypass': {
    severity: 'warning',
    advice: 'Set the alarm under the pressure at which the bypass opens.',
  },

  // Machines
  'machine not in auto': { severity: 'warning', advice: 'Put the selector to auto unless the machine is locked out.' },
  'isolation valve shut': { severity: 'warning', advice: 'Open it, or put the selector to off.' },
  'compressor nameplate': {
    severity: 'warning',
    advice: 'Read both nameplates again, and time a recharge: the free air or the motor power is wrong.',
  },
  'pump nameplate': {
    severity: 'warning',
    advice: 'Read both nameplates again, and time a refill: flow, pressure or motor power is wrong.',
  },
  'cut-out out of reach': {
    severity: 'warning',
    advice: 'Lower the cut-out, or check clearance and exponent of the compressor.',
  },
  'leak over capacity': { severity: 'warning', advice: 'Find the leak; no setting makes up for it.' },
  'longest run too short': {
    severity: 'warning',
    advice: 'Allow a longer run, or bring start and stop closer together.',
  },
  'starts over allowed': {
    severity: 'warning',
    advice: 'Find the leak, widen the band between start and stop, or let the machines take turns.',
  },
  'proof too soon': {
    severity: 'warning',
    advice: 'Give the machine longer to prove itself than it takes to deliver.',
  },
  'overload trips in duty': {
    severity: 'warning',
    advice: 'Read motor plate and relay again: the setting is too low or the motor too small.',
  },
  'overload trips on start': { severity: 'warning', advice: 'Use a slower trip class, or a faster start.' },
  'least run past the high alarm': { severity: 'warning', advice: 'Shorten the least run, or widen the band.' },
  'restarts together': { severity: 'note', advice: 'Stagger their restart delays, or the supply starts them at once.' },

  // Trips
  'trip without control power': {
    severity: 'warning',
    advice: 'Use a spring-offset pilot, or hold the control power beyond the trip.',
  },
  'sequence outlasts control power': {
    severity: 'warning',
    advice: 'Hold the control power until the last stroke has been commanded.',
  },
  'pilot against the trip': {
    severity: 'warning',
    advice: 'Turn the offset of the pilot towards the end of the trip, or use a detented pilot.',
  },
  'stays on a trip': { severity: 'note', advice: 'Make sure that it may stand anywhere when the mains are gone.' },
  'already at the trip end': { severity: 'note', advice: 'Start it from the other end to prove its stroke.' },
  'mains never lost': { severity: 'note', advice: 'Give "power.lostAt", or lose the mains in an action or a step.' },
  'no requirement': {
    severity: 'note',
    advice: 'Give "require" with the longest stroke time, so that it counts in the verdict.',
  },
  'requirement without stroke': { severity: 'note', advice: 'Give "onTrip" the stroke that is required.' },
  'shortest under pipe period': {
    severity: 'warning',
    advice: 'Ask for a shortest time well above the pipe period, and set it with the speed control.',
  },
  'alarm after the failure': {
    severity: 'warning',
    advice: 'Raise the alarms until one comes while every required stroke still completes.',
  },

  // Figures
  'expected starts': { severity: 'information', advice: 'Compare with the counters of the starters.' },
  'refill time': { severity: 'information', advice: 'Compare with a timed refill.' },
  'recharge time': { severity: 'information', advice: 'Compare with a timed recharge.' },
  'usable oil': { severity: 'information', advice: 'Do not size by gauge pressures.' },
  'usable oil in the run': { severity: 'information', advice: 'Do not size by gauge pressures.' },
} as const satisfies Readonly<Record<string, Kind>>;
export type FindingKind = keyof typeof FINDING_KINDS;

export interface Finding {
  readonly id: FindingKind;
  readonly severity: Severity;
  /** One sentence with the numbers, in the units of the run. */
  readonly text: string;
  readonly advice: string;
  /** Places in the file, "file:line"; both where two settings clash. */
  readonly at: readonly string[];
  /** The numbers again, SI, pressures absolute, unit last in each name. */
  readonly numbers: Readonly<Record<string, number>>;
}
