/** `npm run bench`: how long the engine and the command take. Median and spread of repeated runs; nothing is asserted. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { branch } from '../../models/network.ts';
import { compileLine, type LineLeg } from '../../models/pipe.ts';
import type { Plant, ValvePlant } from '../../models/plant.ts';
import { createUnit } from '../../models/unit.ts';
import { loadScenario } from '../../scenarios/index.ts';
import { createEngine, type EngineOptions } from '../../sim/engine.ts';
import { examine } from '../../web/desk/examine.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';

const root = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', '..', '..');
const SILENT = { sampleTicks: 0 };
const DEMO = 'scenarios/mill-creek.yaml';

const textOf = (file: string) => readFileSync(path.join(root, file), 'utf8');

function plantFrom(text: string, file: string, overrides: readonly string[] = []): Plant {
  const loaded = loadScenario(text, { file, overrides });
  if (loaded.scenario === undefined) throw new Error(`${file}: ${loaded.faults[0]?.message}`);
  return loaded.scenario.plant;
}

const plantOf = (file: string, overrides: readonly string[] = []) => plantFrom(textOf(file), file, overrides);

/** The demo so many times on one tank: valves, air, oil, sump and bore of the mains. */
function demoTimes(times: number): Plant {
  const unit = parse(textOf(DEMO)) as {
    tank: Record<string, string>;
    sump: Record<string, string>;
    valves: { tag: string }[];
    start: Record<string, unknown>;
  } & Record<string, unknown>;
  const all = Array.from({ length: times }, (_, k) => unit.valves.map((v) => ({ ...v, tag: `${v.tag}-${k}` })));
  const more = (quantity: string | undefined, factor: number) => {
    const [number, name] = (quantity ?? '').split(' ');
    return `${Number(number) * factor} ${name}`;
  };
  const { tuning: _tuning, uncertain: _uncertain, actions: _actions, ...rest } = unit;
  const grown = {
    ...rest,
    tank: { ...unit.tank, insideDiameter: more(unit.tank['insideDiameter'], Math.sqrt(times)) },
    sump: { ...unit.sump, capacity: more(unit.sump['capacity'], times) },
    header: { linear: `${1.5e6 / times} Pa s/m^3` },
    returnMain: { linear: `${1e6 / times} Pa s/m^3` },
    valves: all.flat(),
  };
  return plantFrom(JSON.stringify(grown), `${times} times the demo`, ['power.lostAt=0 s']);
}

/** The same plant with every line as coefficients: pipes counted as laminar. */
function withCoefficients(plant: Plant): Plant {
  const oil = plant.oil;
  const plain = (leg: LineLeg) =>
    compileLine(
      {
        linear_Pas_m3: leg.linear_Pas_m3 + leg.laminar_Pas_m3 + leg.element_Pas_m3,
        quadratic_Pas2_m6: leg.quadratic_Pas2_m6,
      },
      oil,
    );
  const valve = (v: ValvePlant): ValvePlant => ({
    ...v,
    branch: [
      branch(v.branch[0].inArea_m2, v.branch[0].outArea_m2, plain(v.branch[0].supply), plain(v.branch[0].back)),
      branch(v.branch[1].inArea_m2, v.branch[1].outArea_m2, plain(v.branch[1].supply), plain(v.branch[1].back)),
    ],
  });
  return {
    ...plant,
    header: plain(plant.header),
    returnMain: plain(plant.returnMain),
    filterAlarm_Pa: 0,
    valves: plant.valves.map(valve),
  };
}

interface Row {
  readonly what: string;
  readonly unit: string;
  readonly values: number[];
  readonly note: string;
}

/** Median microseconds of a run of `seconds` simulated seconds, from a fresh copy of the start state each time. */
function timeRun(what: string, plant: Plant, seconds: number, repeats: number, options: EngineOptions = {}): Row {
  const unit = createUnit(plant);
  const engine = createEngine(unit, options);
  const start = unit.start();
  const y = start.slice();
  const to = Math.round(seconds / plant.tick_s);
  const values: number[] = [];
  const inner = Math.max(1, Math.round(repeats / 15));
  const warm = repeats > 15 ? 30 : 3;
  for (let k = 0; k < warm + 15; k++) {
    const t0 = performance.now();
    for (let i = 0; i < inner; i++) {
      y.set(start);
      engine.advance(y, to, SILENT);
    }
    if (k >= warm) values.push(((performance.now() - t0) * 1000) / inner);
  }
  return { what, unit: 'us', values, note: `${y[unit.layout.clock.steps]} steps` };
}

const demo = plantOf('scenarios/mill-creek.yaml', ['power.lostAt=0 s']);
const hold = plantOf('scenarios/mill-creek.yaml', ['power.lostAt=25 h']);
const rows: Row[] = [
  timeRun(
    'reference drawdown, 60 s, five valves',
    plantOf(
      existsSync(path.join(root, 'test/fixtures/reference-drawdown.yaml'))
        ? 'test/fixtures/reference-drawdown.yaml'
        : 'scenarios/tarn-hollow.yaml',
    ),
    60,
    300,
  ),
  timeRun('demo outage, 60 s, five valves, coefficient lines', withCoefficients(demo), 60, 150),
  timeRun('demo outage, 60 s, five valves, geometric lines', demo, 60, 150),
  timeRun('demo service, 24 h with leaks and cycling', hold, 86_400, 30),
  timeRun('demo service, 30 days', plantOf(DEMO, ['power.lostAt=31 d']), 30 * 86_400, 1),
];

const few = timeRun('outage, 60 s, 5 valves on one tank', demoTimes(1), 60, 150);
const many = timeRun('outage, 60 s, 200 valves on one tank', demoTimes(40), 60, 15);
const middle = ({ values }: Row) => [...values].sort((a, b) => a - b)[values.length >> 1];
rows.push(few, { ...many, note: `${many.note}; ${(middle(many) / middle(few)).toFixed(0)} times the cost of 5` });

/** The cases of the second solution: by this engine and by a general ODE library, both at a step error of 1e-10. */
const SEEDS = [17, 39, 68, 167, 211, 251, 277, 294];
const cases = SEEDS.map((seed) => randomCase(seed));
const here: Row = {
  what: `${SEEDS.length} random outages, this engine at 1e-10`,
  unit: 'ms',
  values: [],
  note: 'one after the other, from state to state',
};
const odex: Row = { ...here, what: `${SEEDS.length} random outages, general ODE library at 1e-10`, values: [] };
const runs = cases.map((c) => {
  const unit = createUnit(plantFrom(scenarioText(c), 'random case'));
  const engine = createEngine(unit, { relativeStepError: 1e-10 });
  return { unit, engine, to: Math.round(c.duration_s / c.tick_s) };
});
for (let k = 0; k < 7; k++) {
  let t0 = performance.now();
  for (const { unit, engine, to } of runs) engine.advance(unit.start(), to, SILENT);
  if (k > 1) here.values.push(performance.now() - t0);
  t0 = performance.now();
  for (const c of cases) secondSolution(c);
  if (k > 1) odex.values.push(performance.now() - t0);
}
rows.push(here, odex);

const command: Row = {
  what: 'command, start to verdict',
  unit: 'ms',
  values: [],
  note: 'replay of the demo, files not written',
};
for (let k = 0; k < 7; k++) {
  const t0 = performance.now();
  const args = [
    path.join(root, 'dist/bin/tripstroke.js'),
    'replay',
    path.join(root, 'scenarios/mill-creek.yaml'),
    '--no-files',
    '--quiet',
  ];
  spawnSync(process.execPath, args, { stdio: 'ignore' });
  command.values.push(performance.now() - t0);
}
rows.push(command);

/** What the worker of the desk does between a setpoint moved and its answer; the browser adds the showing of it. */
const desk: Row = {
  what: 'desk, setpoint moved to answer',
  unit: 'ms',
  values: [],
  note: 'demo as text: verdict, curves, settings; 50 ms is wanted with the showing',
};
const text = readFileSync(path.join(root, 'scenarios/mill-creek.yaml'), 'utf8');
for (let k = 0; k < 30; k++) {
  const variant = { changes: { 'start.pressure': `${125 + k / 2} psig` }, actions: [], faults: [], leftOut: [] };
  const t0 = performance.now();
  examine({ file: 'mill-creek.yaml', text, variant, units: undefined });
  if (k >= 15) desk.values.push(performance.now() - t0);
}
rows.push(desk);

/** Pressure, friction and a piston's leak of the demo drawn, its lines as coefficients. */
const CAMPAIGN = [
  'uncertain=[{ path: start.pressure, from: 125 psig, to: 145 psig },' +
    '{ path: valves.V-321.friction.running, from: -20 %, to: +20 % },{ path: valves.V-322.internalLeak.flow, from: -20 %, to: +50 % }]',
  'header={ linear: 1.5e6 Pa s/m^3 }',
  'returnMain={ linear: 1e6 Pa s/m^3 }',
  ...['P-311', 'P-312'].map((tag) => `pumps.${tag}.line={ linear: 1e7 Pa s/m^3 }`),
  ...['V-321', 'V-322', 'V-331', 'V-332', 'V-341'].flatMap((tag) =>
    ['supplyLine', 'returnLine'].map((line) => `valves.${tag}.${line}={ linear: 9e7 Pa s/m^3 }`),
  ),
].flatMap((override) => ['--set', override]);
const CASES = 10_000;
for (const workers of [1, 2]) {
  const row: Row = {
    what: `campaign, ${workers === 1 ? 'one worker' : `${workers} workers`}`,
    unit: 'runs/s',
    values: [],
    note: `${CASES} runs of the demo, start to verdict, coefficient lines, files not written`,
  };
  for (let k = 0; k < 5; k++) {
    const t0 = performance.now();
    const file = path.join(root, DEMO);
    const options = ['--runs', `${CASES}`, '--workers', `${workers}`, '--no-files', '--quiet', '--json'];
    const args = [path.join(root, 'dist/bin/tripstroke.js'), 'campaign', file, ...options, ...CAMPAIGN];
    const { status } = spawnSync(process.execPath, args, { stdio: 'ignore' });
    // A command that is refused is done at once.
    if (status !== 1) throw new Error(`the campaign ended with ${status}`);
    row.values.push(CASES / ((performance.now() - t0) / 1000));
  }
  rows.push(row);
}

/** Greatest memory in MB of a command, its workers included. */
function memory(args: readonly string[]): number {
  const told = "process.on('exit', () => process.stderr.write(`MEMORY ${process.resourceUsage().maxRSS}`))";
  const whole = [
    '--import',
    `data:text/javascript,${encodeURIComponent(told)}`,
    path.join(root, 'dist/bin/tripstroke.js'),
  ];
  const { stderr } = spawnSync(process.execPath, [...whole, ...args], { encoding: 'utf8' });
  return Number(/MEMORY (\d+)$/.exec(stderr)?.[1]) / 1024;
}
const file = path.join(root, DEMO);
for (const n of [1000, 20_000]) {
  const options = ['--runs', `${n}`, '--workers', '2', '--no-files', '--quiet', '--json'];
  const values = [memory(['campaign', file, ...options, ...CAMPAIGN])];
  rows.push({ what: `memory, campaign of ${n} runs`, unit: 'MB', values, note: 'two workers' });
}
for (const days of [1, 30]) {
  const out = mkdtempSync(path.join(tmpdir(), 'tripstroke-bench-'));
  const options = ['--set', `power.lostAt=${days} d`, '--sample', '10 s', '--out', out, '--quiet'];
  const values = [memory(['replay', file, ...options])];
  rmSync(out, { recursive: true });
  rows.push({
    what: `memory, replay over ${days} d`,
    unit: 'MB',
    values,
    note: 'a trace row every 10 s, files written',
  });
}

const number = (x: number) => (x >= 1000 ? x.toFixed(0) : x.toPrecision(3));
console.log('what'.padEnd(52) + 'median'.padStart(9) + 'least'.padStart(9) + 'most'.padStart(9) + '  ');
for (const { what, unit, values, note } of rows) {
  const sorted = [...values].sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1];
  console.log(
    what.padEnd(52) +
      number(median).padStart(9) +
      number(sorted[0]).padStart(9) +
      number(sorted[sorted.length - 1]).padStart(9) +
      ` ${unit}  ${note}`,
  );
  if (what.includes('24 h'))
    console.log(`${''.padEnd(4)}${number(86_400 / (median / 1e6))} simulated seconds a second`);
}
