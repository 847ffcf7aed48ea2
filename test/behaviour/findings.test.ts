/**
 * Every kind of finding: what brings it about, what it says, how many places it names; and that a well-set unit has none.
 * The numbers are worked out by hand from the unit of baseUnit.ts: 1 m3 on 0.5 m2, 1 L is 2 mm, pumps 1 L/s, compressors
 * 10 L/s of free air, ambient 1.01325 bar, closing area of the valve 164.1 cm2, its stroke 4.924 L.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import {
  checkScenario,
  FINDING_KINDS,
  type Finding,
  type FindingKind,
  formatFaults,
  loadScenario,
  SEVERITIES,
} from '../../scenarios/index.ts';
import { type Changes, DRAIN } from '../support/baseUnit.ts';
import { checked, ofKind, ranResult, wanted, wellSet } from '../support/wellSet.ts';

interface Case {
  readonly kind: FindingKind;
  readonly changes: Changes;
  readonly says: RegExp;
  /** Places in the file; two where two settings clash. */
  readonly places: number;
  /** Numbers worked out by hand, to the digits given. */
  readonly numbers?: Readonly<Record<string, number>>;
  /** What does not bring it about; a well-set unit when left out. */
  readonly without?: Changes;
  /** Found only after a run. */
  readonly ran?: true;
  /** How many of the kind; 1 when left out. */
  readonly count?: number;
}

const barg = (bar: number) => 101_325 + bar * 1e5;
const sequence = { onTrip: 'sequence', sequence: ['closes', 'opens'], pilot: { kind: 'detented' } };

const cases: readonly Case[] = [
  // Levels, oil and sump
  {
    kind: 'level order',
    changes: { 'panel.level.standbyStart.at': '0.62 m' },
    says: /^duty start \(600 mm\) is not above standby start \(620 mm\)$/,
    places: 2,
    numbers: { upper_m: 0.6, lower_m: 0.62 },
  },
  {
    kind: 'sump order',
    changes: { 'panel.sump.low.at': '0.08 m' },
    says: /^sump low \(80 mm\) is not above suction \(100 mm\)$/,
    places: 2,
  },
  {
    kind: 'permissive never reached',
    changes: { 'panel.level.normal.at': '0.85 m' },
    says: /^stop \(800 mm\) is not above normal level \(850 mm\)$/,
    places: 2,
  },
  {
    kind: 'switches within accuracies',
    changes: { 'panel.level.stop.accuracy': '60 mm', 'panel.level.normal.accuracy': '50 mm' },
    says: /^stop \(800 mm\) and normal level \(700 mm\) are 100 mm apart, and .* 110 mm together$/,
    places: 2,
    numbers: { gap_m: 0.1, accuracies_m: 0.11 },
    // 10 mm are enough for 10 mm together, though in metres the difference comes out a rounding less.
    without: {
      'panel.level.stop.at': '840 mm',
      'panel.level.normal.at': '830 mm',
      'panel.level.stop.accuracy': '5 mm',
      'panel.level.normal.accuracy': '5 mm',
    },
  },
  {
    kind: 'switches within accuracies',
    changes: { 'panel.pressure.low.accuracy': '0.3 bar', 'panel.pressure.lowLow.accuracy': '0.3 bar' },
    says: /^low pressure \(6\.50 barg\) and low-low pressure \(6\.00 barg\) are 0\.50 bar apart, and .* 0\.60 bar together$/,
    places: 2,
  },
  {
    kind: 'deadband under accuracy',
    changes: { 'panel.level.high.deadband': '8 mm', 'panel.level.high.accuracy': '9 mm' },
    says: /^the deadband of LSH-1 \(8 mm\) is smaller than its accuracy \(9 mm\)$/,
    places: 2,
  },
  {
    // 0.4 m is 200 L, an outlet at 0.392 m leaves 4 L of them.
    kind: 'low oil alarm too late',
    changes: { 'tank.outletLevel': '0.392 m' },
    says: /^at the low level \(400 mm\) 4\.0\d* L of oil is left above the outlet, and the required set takes 4\.92 L$/,
    places: 3,
    numbers: { left_m3: 0.004, required_m3: 0.004924 },
  },
  {
    kind: 'oil short of required set',
    changes: { 'tank.outletShutOff': { level: '0.592 m' } },
    says: /^at the duty start \(600 mm\) 4\.0\d* L of oil is left above the outlet shut-off, and the required set takes 4\.92 L$/,
    places: 3,
    numbers: { left_m3: 0.004, required_m3: 0.004924 },
  },
  {
    // 0.325 m3 in the tank, of which 0.05 under the outlet; the open valve holds 176.7 cm2 x 0.3 m.
    kind: 'sump too small to drain back',
    changes: { 'start.sumpLevel': '0.75 m' },
    says: /^the sump of 1000.* holds 750.*; with the oil of the tank .* hold 1030 L$/,
    places: 3,
    numbers: { capacity_m3: 1, drainedBack_m3: 0.75 + 0.275 + 0.0053014 },
  },
  {
    kind: 'sump too small to refill',
    changes: { 'start.sumpLevel': '0.15 m' },
    says: /^with the tank full to the stop \(800 mm\) 75\.0 L would be left in the sump, .* under 100\.0 L$/,
    places: 3,
    numbers: { left_m3: 0.075, suction_m3: 0.1 },
  },
  {
    kind: 'no low alarm',
    changes: {
      'panel.pressure': { cutIn: '8 barg', cutOut: '9 barg', high: '11.5 barg', highHigh: '12 barg' },
    },
    says: /^nothing alarms at low pressure$/,
    places: 2,
  },
  {
    kind: 'start in alarm',
    changes: { 'start.level': '0.29 m' },
    says: /^the run starts at 290 mm, beyond the low-low level \(300 mm\)$/,
    places: 2,
  },
  {
    kind: 'water-logged tank',
    changes: { 'start.level': '1.6 m' },
    says: /water-logged when the run starts: air fills 20.* and 25/,
    places: 2,
  },
  {
    kind: 'air-bound tank',
    changes: { 'start.level': '0.39 m', 'start.pressure': '9.1 barg' },
    says: /air-bound when the run starts/,
    places: 2,
  },

  // Pressures
  {
    kind: 'pressure order',
    changes: { 'panel.pressure.high.at': '12.1 barg' },
    says: /^high-high pressure \(12\.00 barg\) is not above high pressure \(12\.10 barg\)$/,
    places: 2,
    numbers: { upper_Pa: barg(12), lower_Pa: barg(12.1) },
  },
  {
    kind: 'safety valve above design',
    changes: { 'tank.designPressure': '12.8 barg' },
    says: /^vessel design \(12\.80 barg\) is not above safety valve set \(12\.90 barg\)$/,
    places: 2,
  },
  {
    // Full lift at 1.1 x 12.9 barg; choked, w = 0.04042 p A/sqrt(T) with air, T 303 K: 0.00222 kg/s; 20 L/s are 0.0241 kg/s.
    kind: 'safety valve too small',
    changes: { 'safetyValve.bore': '1 mm' },
    says: /^PSV-1 passes 7\.9\d kg\/h of air at its full lift \(14\.19 barg\), and C-1 and C-2 deliver 86\.7 kg\/h there$/,
    places: 3,
  },
  {
    kind: 'no safety valve',
    changes: { safetyValve: undefined },
    says: /without a safety valve/,
    places: 2,
  },
  {
    kind: 'no design pressure',
    changes: { 'tank.designPressure': undefined },
    says: /design pressure .* is not given/,
    places: 1,
  },
  {
    kind: 'start pressure too high',
    changes: { 'start.pressure': '13 barg' },
    says: /^the run starts at 13\.00 barg, which is not under the set pressure of the safety valve \(12\.90 barg\)$/,
    places: 2,
  },
  {
    // 1 L/s through 5e7 Pa s/m3 is 0.5 bar over the 12 barg at which pumps stop.
    kind: 'pump relief too low',
    changes: { 'pumps.P-1.relief.cracking': '12.4 barg', 'pumps.P-1.line': { linear: '5e7 Pa s/m^3' } },
    says: /^the relief of P-1 opens at 12\.40 barg, and pumping against the high-high pressure \(12\.00 barg\) takes 12\.50 barg in cold oil$/,
    places: 2,
    numbers: { cracking_Pa: barg(12.4), needed_Pa: barg(12.5), tank_Pa: barg(12) },
  },
  {
    // Opens 5 % under 9.4 barg, and the cut-out is 9 barg.
    kind: 'compressor relief too low',
    changes: { 'compressors.C-1.relief': '9.4 barg' },
    without: { 'compressors.C-1.relief': '9.5 barg' },
    says: /^the relief of C-1 opens at 8\.93 barg, under the cut-out \(9\.00 barg\)$/,
    places: 2,
    numbers: { cracking_Pa: barg(8.93), cutOut_Pa: barg(9) },
  },
  {
    kind: 'pump relief over design',
    changes: { 'pumps.P-1.relief.fullFlow': '14.2 barg', 'pumps.P-2.relief.fullFlow': '14.2 barg' },
    says: /^the reliefs of P-1 and P-2 pass the whole flow only at 14\.20 barg, above the design pressure of the vessel \(14\.00 barg\)$/,
    places: 3,
  },
  {
    // Air 0.7 m3 at the duty start, 0.6 at the stop: 10.21325 bar x (7/6)^1.4 = 12.6736 bar.
    kind: 'overcharge',
    changes: { 'panel.pressure.cutOut': '9.2 barg' },
    says: /would reach 11\.66 barg .*, which is not under high pressure \(11\.50 barg\)$/,
    places: 4,
    numbers: { reached_Pa: 1_267_360, limit_Pa: barg(11.5) },
  },
  {
    // As set, 10.01325 bar becomes 12.4254 bar; by 301.15/285.15 in the warmest hour 13.1226 bar.
    kind: 'overcharge',
    changes: { 'site.temperature': { mean: '20 degC', swing: '8 K' } },
    says: /would reach 12\.11 barg in the warmest hour/,
    places: 4,
    numbers: { reached_Pa: 1_312_260 },
  },
  {
    // 10.01325 bar x 6/7 = 8.58279 bar.
    kind: 'pressure swing',
    changes: { 'panel.pressure.low.at': '7.6 barg' },
    says: /falls to 7\.57 barg by the duty start, which is not above the low alarm \(7\.60 barg\)/,
    places: 3,
    numbers: { reached_Pa: 858_279 },
  },
  {
    // 12 kN on 164.1 cm2 are 7.3104 bar. From 6.5 barg at the stop: 7.51325 bar x (0.6/0.604924)^1.4 = 7.42793 bar.
    kind: 'low pressure alarm too late',
    changes: { valves: [wanted({ load: { opening: '2 kN', closing: '12 kN' } })] },
    says: /^from the low alarm \(6\.50 barg\) at the stop level \(800 mm\) the required set would not complete: V-1 needs 7\.31 barg at 0 % open, and 6\.41 barg is left by then/,
    places: 3,
    numbers: { from_Pa: barg(6.5), left_Pa: 742_793, needed_Pa: 101_325 + 12_000 / 0.0164148 },
  },
  {
    // From 8 barg: 9.01325 bar x (0.6/0.604924)^1.4 = 8.9109 bar, and 13 kN need 7.9197 bar gauge.
    kind: 'pressure short of required set',
    changes: { valves: [wanted({ load: { opening: '2 kN', closing: '13 kN' } })] },
    says: /^from the cut-in \(8\.00 barg\) .* V-1 needs 7\.92 barg at 0 % open, and 7\.90 barg is left by then/,
    places: 3,
    numbers: { left_Pa: 891_090, needed_Pa: 101_325 + 13_000 / 0.0164148 },
  },
  {
    kind: 'filter alarm over bypass',
    changes: { 'returnMain.filter': { resistance: '1e7 Pa s/m^3', bypassOpens: '1.5 bar', alarm: '1.6 bar' } },
    without: { 'returnMain.filter': { resistance: '1e7 Pa s/m^3', bypassOpens: '1.5 bar', alarm: '1.2 bar' } },
    says: /^the return filter alarms at 1\.60 bar, and its bypass opens at 1\.50 bar$/,
    places: 1,
    numbers: { alarm_Pa: 160_000, bypassOpens_Pa: 150_000 },
  },

  // Machines
  {
    kind: 'machine not in auto',
    changes: { 'pumps.P-2.selector': 'off' },
    says: /^P-2 is in off$/,
    places: 2,
  },
  {
    kind: 'isolation valve shut',
    changes: { 'pumps.P-1.isolation': 'shut' },
    says: /^the isolation valve of P-1 is shut; its starter contact will show it as running$/,
    places: 2,
  },
  {
    // 10 L/s of free air to 10.01325 bar, isothermal: 101325 Pa x 0.01 m3/s x ln(9.8823) = 2321 W.
    kind: 'compressor nameplate',
    changes: { 'compressors.C-1.ratedPower': '2.3 kW' },
    says: /^C-1 cannot bring 600 L\/min of free air to 9\.00 barg with 2\.3\d* kW: .* 2\.32 kW$/,
    places: 2,
    numbers: { rated_W: 2300, least_W: 2321.1 },
  },
  {
    kind: 'pump nameplate',
    changes: { 'pumps.P-1.ratedPower': '0.9 kW' },
    says: /^P-1 cannot pump 60\.0 L\/min at 10\.00 bar with 0\.90 kW: flow times pressure alone is 1\.00 kW$/,
    places: 2,
    numbers: { rated_W: 900, least_W: 1000 },
  },
  {
    // 9.8823^(1/1.3) = 5.83, and (1 + c)/c with c = 25 % is 5.
    kind: 'cut-out out of reach',
    changes: { compressors: [{ tag: 'C-1', displacement: '600 L/min', clearance: '25 %' }] },
    says: /^C-1 delivers nothing at the cut-out \(9\.00 barg\)/,
    places: 2,
  },
  {
    kind: 'leak over capacity',
    changes: { 'leaks.oil': { flow: '90 L/min', at: '8.5 barg' } },
    says: /^the leaks given draw what one pump cannot make up for: 1\.5 times what one brings at 8\.50 barg$/,
    places: 3,
    numbers: { draw_m3_s: 0.0015, fill_m3_s: 0.001 },
  },
  {
    // From 0.3 m3 less 4.924 L to 0.4 m3 at 1 L/s.
    kind: 'longest run too short',
    changes: { 'panel.longestRun': '100 s' },
    says: /^a refill with one pump takes 104\.9 s, and a run over 100\.0 s raises an alarm/,
    places: 3,
    numbers: { takes_s: 104.924, longestRun_s: 100 },
  },
  {
    // 100 L at 30 L/min out and 30 L/min net in: 9 calls an hour, turn about.
    kind: 'starts over allowed',
    changes: { 'leaks.oil': DRAIN, 'pumps.P-1.allowedStarts': '4' },
    without: { 'leaks.oil': DRAIN, 'pumps.P-1.allowedStarts': '5' },
    says: /^the leaks given make P-1 start 4\.5 times an hour \(estimate\), and its motor may start 4 times$/,
    places: 5,
    numbers: { startsPerHour: 4.5, allowedPerHour: 4 },
  },
  {
    kind: 'proof too soon',
    changes: { 'compressors.C-1.provenBy': 'flow switch', 'compressors.C-1.unloadedStart': '6 s' },
    without: { 'compressors.C-1.provenBy': 'flow switch', 'compressors.C-1.unloadedStart': '4 s' },
    says: /^C-1 takes about 6\.00 s to make its flow switch after a start, and has to prove itself within 5\.00 s/,
    places: 2,
    numbers: { takes_s: 6, provenWithin_s: 5 },
  },
  {
    // 10 mm are 5 L, at 1 L/s.
    kind: 'proof too soon',
    changes: {
      'pumps.P-1.provenBy': 'rise',
      'pumps.P-1.provenWithin': '4 s',
      'panel.provenRise.level': '10 mm',
    },
    says: /^P-1 takes about 5\.00 s to raise the level by 10 mm after a start, and has to prove itself within 4\.00 s/,
    places: 3,
    numbers: { takes_s: 5, provenWithin_s: 4 },
  },
  {
    // 1 L/s x 9 bar/0.85 = 1059 W of 1 kW; 40 % without load: 0.4 + 0.6 x 1.0588.
    kind: 'overload trips in duty',
    changes: { 'pumps.P-1.ratedPower': '1 kW', 'pumps.P-1.overload.setting': '85 %' },
    without: { 'pumps.P-1.ratedPower': '1 kW', 'pumps.P-1.overload.setting': '95 %' },
    says: /^P-1 takes 103\.5 % of its full-load current at 9\.00 barg, and its overload relay trips above 97\.7 %$/,
    places: 4,
    numbers: { currentShare: 1.03529, tripShare: 0.9775 },
  },
  {
    // Class 10 with k = 1.15, tau 387.0 s: 387.0 s x ln(36/(36 - 1.3225)).
    kind: 'overload trips on start',
    changes: { 'pumps.P-1.runUp': '15 s' },
    without: { 'pumps.P-1.runUp': '14 s' },
    says: /^P-1 comes up to speed in 15\.00 s, and its overload relay trips 14\.48 s after a start from cold$/,
    places: 2,
    numbers: { runUp_s: 15, trips_s: 14.484 },
  },
  {
    // 0.3 m3 and 160 L more are 0.92 m.
    kind: 'least run past the high alarm',
    changes: { 'pumps.P-1.leastRunTime': '160 s' },
    without: { 'pumps.P-1.leastRunTime': '145 s' },
    says: /^P-1 started at the duty start runs for at least 2\.67 min, up to 920 mm, and high level is at 900 mm$/,
    places: 2,
    numbers: { reached_m: 0.92, high_m: 0.9 },
  },
  {
    // 1.01325 bar x 10 L/s into 0.65 m3: 240 s bring 3.741 bar.
    kind: 'least run past the high alarm',
    changes: { 'compressors.C-1.leastRunTime': '240 s' },
    says: /^C-1 started at the cut-in runs for at least 4\.0\d* min, up to about 11\.74 barg, and high pressure is at 11\.50 barg$/,
    places: 2,
    numbers: { reached_Pa: barg(11.741) },
  },
  {
    kind: 'restarts together',
    changes: { 'pumps.P-2.restartDelay': undefined },
    says: /^P-1 and P-2 may start together as soon as the mains are back$/,
    places: 2,
  },

  // Trips
  {
    kind: 'trip without control power',
    changes: { valves: [wanted({ pilot: { kind: 'detented' } })], 'power.controlPowerHeld': '0 s' },
    says: /^V-1 has a detented pilot that stays as it is without control power, .* would not move$/,
    places: 2,
  },
  {
    kind: 'trip without control power',
    changes: { valves: [wanted({ pilot: { kind: 'spring centred' }, trip: { source: 'control power' } })] },
    says: /^V-1 trips when control power is lost, and its spring centred pilot then blocks both lines: it would not move$/,
    places: 1,
  },
  {
    kind: 'sequence outlasts control power',
    changes: { valves: [wanted({ ...sequence, pause: '2 s' })], 'power.controlPowerHeld': '21 s' },
    says: /^not all 2 strokes of V-1 will be commanded: .* 21\.00 s, and the last may be commanded 22\.00 s after/,
    places: 2,
    numbers: { held_s: 21, lastCommanded_s: 22 },
  },
  {
    kind: 'pilot against the trip',
    changes: { valves: [wanted({ pilot: { kind: 'spring offset', offset: 'opens' } })] },
    says: /^the trip leaves V-1 closed, and when control power dies \(8\.0 h after the mains\) the spring of its pilot takes it open$/,
    places: 1,
  },
  {
    kind: 'stays on a trip',
    changes: { valves: [wanted(), wanted({ tag: 'V-2', onTrip: 'stays', require: undefined })] },
    says: /^V-2 stays where it is on a trip, and nothing returns it: its pilot has no offset given$/,
    places: 1,
  },
  {
    kind: 'already at the trip end',
    changes: { valves: [wanted({ position: '0 %' })] },
    says: /^V-1 starts closed, where its trip takes it: its stroke proves nothing$/,
    places: 1,
  },
  {
    kind: 'mains never lost',
    changes: { 'power.lostAt': undefined },
    says: /^the mains are not lost in this file, so the stroke required of a valve is never tripped$/,
    places: 1,
  },
  {
    kind: 'no requirement',
    changes: { valves: [wanted({ require: undefined })] },
    says: /^V-1 strokes on a trip, but nothing is required of it$/,
    places: 1,
  },
  {
    kind: 'requirement without stroke',
    changes: { valves: [wanted({ onTrip: 'stays' })] },
    says: /^V-1 stays on a trip, so its requirement is never tested$/,
    places: 1,
  },
  {
    // 2 x 600 m / 1200 m/s.
    kind: 'shortest under pipe period',
    changes: {
      valves: [
        wanted({
          require: { longest: '20 s', shortest: '0.9 s' },
          pipeline: { length: '600 m', waveSpeed: '1200 m/s', velocity: '1 m/s' },
        }),
      ],
    },
    says: /^V-1 may close in 0\.90 s, and its pipeline has a period of 1\.00 s/,
    places: 1,
    numbers: { shortest_s: 0.9, pipePeriod_s: 1 },
  },
  {
    // 12 kN need 7.31 barg, and the low alarm stands at 6.5.
    kind: 'alarm after the failure',
    changes: {
      valves: [wanted({ load: { opening: '2 kN', closing: '12 kN' } })],
      'start.pressure': '7.2 barg',
      compressors: [],
    },
    ran: true,
    says: /^no alarm of low oil or low pressure had come when V-1 did not move at 10\.00 s: none came at all$/,
    places: 2,
  },

  // Figures
  {
    kind: 'expected starts',
    changes: { 'leaks.oil': DRAIN },
    says: /^the leaks given call a pump once in 6\.67 min: 4\.5 starts an hour of each of P-1 and P-2 \(estimate\); .* more than 4\.5$/,
    places: 0,
    numbers: { startsPerHour: 4.5, mostStartsPerHour: 4.5 },
  },
  {
    kind: 'usable oil in the run',
    changes: {},
    without: { 'power.lostAt': undefined },
    ran: true,
    says: /^from the loss of the mains \(8\.50 barg\) to the end .* the tank gave 4\.92 L; .* gauge pressures would promise .* a slow discharge gives .* a fast one/,
    places: 0,
    numbers: { given_m3: 0.004924 },
  },
];

/** Figures that every unit with machines and valves has. */
const always: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  'refill time': { oil_m3: 0.104924, onePump_s: 104.924, allPumps_s: 52.462 },
  // 0.65 m3 of air at the normal level, 1 bar up at 1.01325 bar x 10 L/s; 9 bar with two.
  'recharge time': { oneCompressor_s: 64.15, allCompressors_s: 32.075, fromEmpty_s: 288.67 },
  // 0.675 m3 from 9.51325 bar down to 2000 N/164.148 cm2 = 1.21841 bar gauge, 2.23166 bar.
  'usable oil': { shortcut_m3: 4.034, isothermal_m3: 2.2024, adiabatic_m3: 1.2265, required_m3: 0.004924 },
};

const foundOn = (changes: Changes, { ran }: Case): readonly Finding[] =>
  ran ? ranResult(wellSet(changes)).findings : checked(wellSet(changes));
const wellSetCheck = checked(wellSet());
const wellSetRun = ranResult(wellSet()).findings;

describe.each(cases.map((c) => [c.kind, c] as const))('%s', (kind, c) => {
  test('is found, with its numbers, places, severity and advice', () => {
    const hits = ofKind(foundOn(c.changes, c), kind);
    expect(hits).toHaveLength(c.count ?? 1);
    const [hit] = hits;
    expect(hit.text).toMatch(c.says);
    expect(hit.at).toHaveLength(c.places);
    expect(hit).toMatchObject(FINDING_KINDS[kind]);
    for (const [name, value] of Object.entries(c.numbers ?? {})) {
      // By hand to about four digits.
      expect(Math.abs(hit.numbers[name] / value - 1), `${name}: ${hit.numbers[name]}, ${value} by hand`).toBeLessThan(
        3e-4,
      );
    }
  });
  test('is not found without its cause', () => {
    expect(ofKind(foundOn(c.without ?? {}, c), kind)).toEqual([]);
  });
});

test('every kind of the list has a case', () => {
  expect([...new Set([...cases.map((c) => c.kind), ...Object.keys(always)])].sort()).toEqual(
    Object.keys(FINDING_KINDS).sort(),
  );
  for (const { severity, advice } of Object.values(FINDING_KINDS)) {
    expect(Object.keys(SEVERITIES)).toContain(severity);
    expect(advice).toMatch(/^[A-Z].*\.$/);
  }
});

test('a well-set unit has figures and nothing else, before and after its run', () => {
  expect(wellSetCheck.map((f) => f.id)).toEqual(Object.keys(always));
  expect(wellSetRun.filter((f) => f.severity !== 'information')).toEqual([]);
  for (const [kind, numbers] of Object.entries(always)) {
    const [figure] = ofKind(wellSetCheck, kind as FindingKind);
    for (const [name, value] of Object.entries(numbers)) {
      expect(Math.abs(figure.numbers[name] / value - 1), `${kind} ${name}: ${figure.numbers[name]}`).toBeLessThan(3e-4);
    }
  }
});

test('the demonstrations have no findings but those they are about', () => {
  const ids = (file: string) => {
    const loaded = loadScenario(readFileSync(file, 'utf8'), { file });
    if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
    return checkScenario(loaded.scenario)
      .filter((f) => f.severity !== 'information')
      .map((f) => f.id);
  };
  // The README tells of a failure from the middle of the band, under no alarm.
  expect(ids('scenarios/mill-creek.yaml')).toEqual(['low pressure alarm too late', 'pressure short of required set']);
  expect(ids('scenarios/tarn-hollow.yaml')).toContain('pressure short of required set');
});

describe('what a finding says comes true in a run', () => {
  const strokeOf = (changes: Changes) => ranResult(wellSet(changes)).verdict.strokes.at(-1)!;
  test('a detented pilot without control power never moves its valve', () => {
    const valves = [wanted({ pilot: { kind: 'detented' } })];
    expect(strokeOf({ valves, 'power.controlPowerHeld': '0 s' }).met).toBe(false);
    expect(strokeOf({ valves, 'power.controlPowerHeld': '1 s' }).outcome).toBe('completed');
  });
  test('a sequence that outlasts control power loses its last stroke', () => {
    const valves = [wanted({ ...sequence, pause: '2 s' })];
    expect(strokeOf({ valves, 'power.controlPowerHeld': '5 s' }).outcome).toBe('not commanded');
    expect(strokeOf({ valves, 'power.controlPowerHeld': '60 s' }).outcome).toBe('completed');
  });
  test('a valve moves just above its static need and not just below it', () => {
    const valves = [wanted({ load: { opening: '2 kN', closing: '12 kN' } })];
    expect(strokeOf({ valves, compressors: [], 'start.pressure': '7.30 barg' }).outcome).toBe('never moved');
    expect(strokeOf({ valves, compressors: [], 'start.pressure': '7.32 barg' }).firstMotionAt_s).toBeDefined();
  });
  test('an overload relay quicker than the run-up trips its motor on the start', () => {
    const tripped = (runUp: string) =>
      ranResult(
        wellSet({ 'leaks.oil': DRAIN, 'pumps.P-1.runUp': runUp, 'run.duration': '3 min', 'power.lostAt': undefined }),
      ).events.filter((e) => e.tag === 'P-1-overload').length;
    expect([tripped('14 s'), tripped('15 s')]).toEqual([0, 1]);
  });
  test('a compressor that has to prove itself before it delivers counts as failed', () => {
    const changes = {
      'start.pressure': '7.9 barg',
      'start.level': '0.75 m',
      'power.lostAt': '60 s',
      'compressors.C-1.provenBy': 'flow switch',
      'panel.provenWithin': '5 s',
    };
    const failed = (unloaded: string) =>
      ranResult(wellSet({ ...changes, 'compressors.C-1.unloadedStart': unloaded })).events.filter(
        (e) => e.tag === 'C-1' && e.text.includes('fail'),
      ).length;
    expect([failed('4 s'), failed('6 s')]).toEqual([0, 1]);
  });
});

test('the estimate for a sequence counts the oil of the strokes before', () => {
  // Closing takes 4.924 L on 164.1 cm2, opening 5.301 L on 176.7 cm2 in between; 12 kN close, 2 kN open.
  const load = { opening: '2 kN', closing: '12 kN' };
  const valves = [wanted({ load, ...sequence, sequence: ['closes', 'opens', 'closes'] })];
  const [finding] = ofKind(checked(wellSet({ valves })), 'low pressure alarm too late');
  const drawn = 2 * 0.0049244 + 0.0053014;
  expect(finding.numbers['left_Pa'] / (barg(6.5) * (0.6 / (0.6 + drawn)) ** 1.4)).toBeCloseTo(1, 5);
});

describe('an alarm that comes too late', () => {
  const valves = [wanted({ load: { opening: '2 kN', closing: '12 kN' } })];
  const late = (changes: Changes) =>
    ofKind(
      ranResult(wellSet({ valves, 'start.pressure': '7.2 barg', compressors: [], ...changes })).findings,
      'alarm after the failure',
    );
  test('is one only if none had come before the first failure', () => {
    expect(late({})).toHaveLength(1);
    expect(late({ 'panel.pressure.low.at': '7.25 barg' })).toEqual([]);
  });
  test('is named where it does come afterwards', () => {
    const [finding] = late({
      'panel.pressure.low.at': '7.25 barg',
      'panel.alarmDelay': '15 s',
    });
    expect(finding.text).toMatch(/did not move at 10\.00 s: the first, PAL-1, came at 15\.00 s$/);
  });
});

describe('starts within an hour', () => {
  const counted = (minutes: number) => {
    const scenario = wellSet({
      'leaks.oil': DRAIN,
      'pumps.P-1.allowedStarts': '1',
      'run.duration': `${minutes} min`,
      valves: [],
      'power.lostAt': undefined,
    });
    return ofKind(ranResult(scenario).findings, 'starts over allowed').filter((f) => f.text.includes('counted'));
  };
  test('are counted, never scaled up from a short run', () => {
    // Calls after 50 s of draining 25 L, then every 6.67 min, turn about: one start in 6 minutes would be ten an hour.
    expect(counted(6)).toEqual([]);
    const [finding] = counted(20);
    expect(finding.text).toMatch(
      /^P-1 started 2 times within an hour \(from .* on; counted\), and its motor may start 1 times$/,
    );
  });
});
