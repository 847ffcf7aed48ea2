/**
 * The scenario file: one table made of the tables of the components. What is checked, what editors complete and what
 * `--set` can reach all come from here.
 */

import { compressorGroup } from '../models/compressor.ts';
import { faultGroup } from '../models/fault.ts';
import { leaksTable } from '../models/leak.ts';
import { lineGroup, returnMainTable } from '../models/line.ts';
import { oilGroup } from '../models/oil.ts';
import { panelGroup } from '../models/panel.ts';
import { choice, group, list, number, quantity, text, type Values } from '../models/parameters.ts';
import { ACTIONS } from '../models/plant.ts';
import { powerGroup } from '../models/power.ts';
import { pumpGroup } from '../models/pump.ts';
import { safetyValveGroup } from '../models/safetyValve.ts';
import { siteGroup } from '../models/site.ts';
import { stepGroup } from '../models/step.ts';
import { sumpGroup } from '../models/sump.ts';
import { tankGroup } from '../models/tank.ts';
import { uncertainGroup } from '../models/uncertain.ts';
import { valveGroup } from '../models/valve.ts';
import { WORK_LIMIT } from '../sim/tolerances.ts';
import { tuningGroup } from './tuningTable.ts';

const startTable = {
  pressure: quantity('pressure', { meaning: 'Air pressure as read on the gauge', example: '158 psig' }),
  level: quantity('length', { meaning: 'Oil level as read on the sight glass', optional: true, example: '38.5 in' }),
  oil: quantity('volume', {
    meaning: 'Oil in the tank, instead of a level',
    min: 0,
    optional: true,
    example: '60 gal',
  }),
  airTemperature: quantity('temperature', {
    meaning: 'Temperature of the air in the tank; ambient when left out',
    min: 200,
    max: 450,
    optional: true,
    example: '68 degF',
  }),
  wallTemperature: quantity('temperature', {
    meaning: 'Temperature of the shell; that of the air when left out',
    min: 200,
    max: 450,
    optional: true,
    example: '68 degF',
  }),
  sumpLevel: quantity('length', {
    meaning: 'Oil level in the sump; half its depth when left out',
    min: 0,
    optional: true,
    example: '14 in',
  }),
  running: list(text({ refers: true, meaning: 'Tag of a running machine', example: 'P-101' }), {
    meaning: 'Machines that run when the run starts',
    defaults: true,
  }),
  duty: list(text({ refers: true, meaning: 'Tag of a machine whose turn it is', example: 'P-102' }), {
    meaning: 'Machines whose turn it is; the first of each kind when left out',
    defaults: true,
  }),
  compressorsAllowed: choice(['yes', 'no', 'from level and pumps'], {
    meaning: 'State of the level permissive of the compressors',
    default: 'from level and pumps',
  }),
  gaugeAccuracy: quantity('pressureDifference', {
    meaning: 'The pressure reading may be off by this much either way',
    min: 0,
    default: 0,
    example: '1 psi',
  }),
  levelAccuracy: quantity('length', {
    meaning: 'The level reading may be off by this much either way',
    min: 0,
    default: 0,
    example: '0.25 in',
  }),
} as const;

const actionTable = {
  at: quantity('time', { meaning: 'When', min: 0, example: '10 s' }),
  do: choice(ACTIONS, { meaning: 'What happens' }),
  item: text({
    refers: true,
    meaning: 'Tag of the valve or machine; all machines when left out',
    optional: true,
    example: 'P-101',
  }),
} as const;

export const scenarioTable = {
  title: text({ meaning: 'What this scenario is', default: 'untitled', example: 'Loss of mains at full tank' }),
  notes: text({ meaning: 'Anything worth keeping with the file', optional: true, example: 'Setpoints as found.' }),
  seed: text({ meaning: 'Seed of whatever is drawn at random', default: '1', example: '1' }),
  clock: group(
    {
      tick: quantity('time', {
        meaning: 'Smallest unit of simulated time',
        min: 1e-4,
        max: 1,
        default: 0.01,
        example: '10 ms',
      }),
      scanTicks: number({
        meaning: 'The panel reads its contacts once in so many ticks',
        min: 1,
        max: 1000,
        whole: true,
        default: 1,
        example: '10',
      }),
    },
    { meaning: 'Clock of the simulation', defaults: true },
  ),
  run: group(
    {
      duration: quantity('time', {
        meaning: 'Length of the run; when left out, long enough for every required stroke and hold and one minute more',
        above: 0,
        max: 3.2e7,
        optional: true,
        example: '3 min',
      }),
      sample: quantity('time', { meaning: 'Period of the trace rows', min: 1e-4, default: 0.5, example: '0.5 s' }),
      workLimit: number({
        meaning: 'Work after which a replay is given up, counted in rates evaluated, trace rows and events',
        min: 1000,
        max: 1e15,
        whole: true,
        default: WORK_LIMIT,
        example: '1e9',
      }),
    },
    { meaning: 'Length of the run and of its trace', defaults: true },
  ),
  site: siteGroup,
  oil: oilGroup,
  tank: tankGroup,
  sump: sumpGroup,
  pumps: list(pumpGroup, { meaning: 'Oil pumps, in the order of their duty', defaults: true, maxItems: 50 }),
  compressors: list(compressorGroup, {
    meaning: 'Air compressors, in the order of their duty',
    defaults: true,
    maxItems: 50,
  }),
  safetyValve: safetyValveGroup,
  header: lineGroup('From the tank outlet to where the branches leave'),
  returnMain: group(returnMainTable, { meaning: 'Common line from the valves back to the sump', defaults: true }),
  valves: list(valveGroup, { meaning: 'Cylinder-operated valves', defaults: true, maxItems: 1000 }),
  panel: panelGroup,
  power: powerGroup,
  leaks: group(leaksTable, { meaning: 'Leaks, as measured', defaults: true }),
  start: group(startTable, { meaning: 'The unit as read on site when the run starts', oneOf: [['level', 'oil']] }),
  steps: list(stepGroup, { meaning: 'What hands do one after the other', defaults: true, maxItems: 1000 }),
  faults: list(faultGroup, { meaning: 'What goes wrong', defaults: true, maxItems: 1000 }),
  actions: list(group(actionTable, { meaning: 'One action' }), {
    meaning: 'What happens during the run besides the loss of mains',
    defaults: true,
    maxItems: 10_000,
  }),
  uncertain: list(uncertainGroup, {
    meaning: 'What is not known, drawn again for every run of a campaign; a replay takes no notice of it',
    defaults: true,
    maxItems: 200,
  }),
  tuning: tuningGroup,
} as const;

export type ScenarioValues = Values<typeof scenarioTable>;
