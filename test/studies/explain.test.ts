/** Readings and logs with their defects, what is said of them, and the example log of the repository. */
import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { faultLine, withFault, withKey, withQuantity } from '../../scenarios/addition.ts';
import { makeSource } from '../../scenarios/faults.ts';
import { explain } from '../../studies/explain.ts';
import { columnMapping, type LogReading, readLog } from '../../studies/log.ts';
import { collector, csvRows, figuresGiven, optionEntry, statedAccuracies, yamlEntries } from '../../studies/seen.ts';
import { BASE } from '../support/baseUnit.ts';
import { hiddenCauses, madeLog, randomOf, scenarioOf } from '../support/madeLog.ts';

const EXAMPLE = 'scenarios/readings/mill-creek.log.csv';
const scenario = scenarioOf(readFileSync('scenarios/mill-creek.yaml', 'utf8'), 'mill-creek.yaml');

function logOf(text: string, columns: Parameters<typeof readLog>[5] = []): LogReading | string[] {
  const { rows, delimiter } = csvRows(text);
  const { complain, faults } = collector();
  const stated = statedAccuracies(scenario.values);
  const log = readLog(makeSource('a.csv', text), rows, delimiter, scenario.plant, stated, columns, complain);
  return log ?? faults.map((f) => `${f.line}:${f.column} ${f.message}`);
}

test('the example log is the one that the engine makes', () => {
  const cause = hiddenCauses(scenario).find((c) => c.text === 'P-312 check valve leaks');
  if (cause === undefined) throw new Error('no such cause');
  const size = (0.2 * 231 * 0.0254 ** 3) / 60;
  const { text } = madeLog(scenario, { cause, size }, randomOf('example'), 24, 'us', 220);
  const lines = text.trimEnd().split('\n');
  // Defects of a recorder: a lost signal, a value at full scale, half an hour without rows.
  const at = (hour: number) => lines.findIndex((l) => Number(l.split(',')[0]) >= hour * 3600);
  const set = (row: number, column: number, value: string) => {
    lines[row] = lines[row]
      .split(',')
      .map((c, k) => (k === column ? value : c))
      .join(',');
  };
  set(at(5), 1, '0.0');
  set(at(9), 2, '60.00');
  lines.splice(at(15.1), at(15.9) - at(15.1));
  const head = [
    '# A day of a unit like scenarios/mill-creek.yaml whose pumps start too often. Invented: made by the engine with a',
    '# hidden cause, with switches, gauges and readings off within their accuracies, two spikes and a gap put in by hand.',
    '# What is hidden is said at the end. TRIPSTROKE_UPDATE=1 npx vitest run test/studies/explain.test.ts makes it anew.',
  ];
  const fresh = [...head, ...lines, '# Hidden: the check valve of P-312 leaks 0.2 gal/min at 138 psig.', ''].join('\n');
  if (process.env['TRIPSTROKE_UPDATE'] === '1') writeFileSync(EXAMPLE, fresh);
  expect(readFileSync(EXAMPLE, 'utf8')).toBe(fresh);
  expect(fresh.length).toBeLessThan(60_000);
});

const text = readFileSync(EXAMPLE, 'utf8');
const body = text.split('\n').filter((l) => l !== '' && !l.startsWith('#'));
const read = (lines: readonly string[], columns: readonly string[] = []) => {
  const log = logOf(
    lines.join('\n'),
    columns.map((c) => columnMapping(c) ?? { role: '?', heading: c, unit: undefined }),
  );
  if (Array.isArray(log)) throw new Error(log.join('\n'));
  return log;
};
const shown = (log: LogReading, key: string) =>
  log.figures.find((f) => `${f.of}.${f.kind}` === key)?.value ?? Number.NaN;
const cells = (line: string) => line.split(',');

describe('defects of a log', () => {
  const whole = read(body);

  test('what it shows', () => {
    // By hand from the rows: the 2nd and the last start of P-311 in the first stretch, and the settings of the file.
    expect(shown(whole, 'pumps.levelAtStart')).toBeCloseTo(31 * 0.0254, 2);
    expect(shown(whole, 'pumps.levelAtStop')).toBeCloseTo(36 * 0.0254, 2);
    const starts = body.filter(
      (l, k) => k > 1 && cells(l)[4] + cells(l)[5] > cells(body[k - 1])[4] + cells(body[k - 1])[5],
    );
    const times = starts.map((l) => Number(cells(l)[0]));
    const between = times.slice(1).map((t, k) => t - times[k]);
    const [least, most] = [Math.min(...between), Math.max(...between.filter((b) => b < 3600))];
    expect(shown(whole, 'pumps.betweenStarts')).toBeGreaterThan(least);
    expect(shown(whole, 'pumps.betweenStarts')).toBeLessThan(most);
    const said = whole.ignored.join('; ');
    expect(said).toMatch(/1 spike of pressure/);
    expect(said).toMatch(/1 spike of level/);
    expect(said).toMatch(/1 gap, the longest \d+ min/);
    expect(whole.start?.pressure_Pa).toBeGreaterThan(1e6);
  });

  test('a clock that is off, or says the day, changes nothing', () => {
    const shifted = body.map((l, k) => (k === 0 ? l : [Number(cells(l)[0]) + 1e6, ...cells(l).slice(1)].join(',')));
    expect(read(shifted).figures).toEqual(whole.figures);
    const clock = (t: number) => {
      const two = (n: number) => String(n).padStart(2, '0');
      // From the last evening of February of a leap year.
      const s = t + 20 * 3600;
      const days = Math.floor(s / 86_400);
      return `2028-${days === 0 ? '02-29' : '03-01'} ${two(Math.floor((s % 86_400) / 3600))}:${two(Math.floor((s % 3600) / 60))}:${two(s % 60)}`;
    };
    const dated = body.map((l, k) =>
      k === 0 ? l.replace('time [s]', 'time') : [clock(Number(cells(l)[0])), ...cells(l).slice(1)].join(','),
    );
    expect(read(dated).figures).toEqual(whole.figures);
  });

  test('semicolons, decimal commas, other headings and units', () => {
    const other = body.map((l, k) => {
      const c = cells(l);
      if (k === 0) return ['Zeit', 'PT 12', 'LT 12', 'Sumpf', 'Pumpe A', ...c.slice(5)].join(';');
      const bar = ((Number(c[1]) * 6894.757293168) / 1e5).toFixed(6).replace('.', ',');
      return [
        c[0],
        bar,
        (Number(c[2]) * 25.4).toFixed(4).replace('.', ','),
        c[3].replace('.', ','),
        c[4] === '1' ? 'on' : 'off',
        ...c.slice(5),
      ].join(';');
    });
    const log = read(other, [
      'time=Zeit [s]',
      'pressure=PT 12 [barg]',
      'level=LT 12 [mm]',
      'sump=Sumpf [in]',
      'P-311=Pumpe A',
    ]);
    for (const [k, f] of log.figures.entries()) expect(f.value / whole.figures[k].value, f.kind).toBeCloseTo(1, 4);
    expect(log.figures.length).toBe(whole.figures.length);
  });

  test('rows twice, out of order, without numbers', () => {
    const worse = body.slice();
    worse.splice(40, 0, worse[39]);
    // A row from half an hour later, and one that a recorder could not read.
    worse.splice(
      80,
      0,
      worse[82].replace(/^\d+/, (t) => String(Number(t) + 7000)),
    );
    worse.splice(
      120,
      0,
      worse[119].replace(/^(\d+),[^,]+,/, (_, t) => `${Number(t) + 1},Bad,`),
    );
    const log = read(worse);
    expect(log.ignored.join('; ')).toMatch(/7 rows with the time of the one before.*1 row out of order/s);
    expect(log.ignored.join('; ')).toMatch(/1 value that is no number/);
    for (const key of ['pumps.betweenStarts', 'P-311.runTime', 'pumps.levelAtStop', 'tank.pressureFall'])
      expect(shown(log, key) / shown(whole, key), key).toBeCloseTo(1, 2);
  });

  test('a clock set back is a gap', () => {
    const half = Math.floor(body.length / 2);
    const back = body.map((l, k) => (k < half ? l : [Number(cells(l)[0]) - 3600, ...cells(l).slice(1)].join(',')));
    const log = read(back);
    expect(log.ignored.join('; ')).toMatch(/clock set back by \d+ s at line \d+: taken as a gap/);
    expect(shown(log, 'pumps.betweenStarts') / shown(whole, 'pumps.betweenStarts')).toBeCloseTo(1, 1);
  });

  test('pumps are found from the level where no column has them', () => {
    const blind = body.map((l) =>
      cells(l)
        .filter((_, k) => k < 4 || k > 5)
        .join(','),
    );
    const log = read(blind);
    expect(log.ignored.join('; ')).toMatch(/no column says when pumps run/);
    expect(shown(log, 'pumps.betweenStarts') / shown(whole, 'pumps.betweenStarts')).toBeCloseTo(1, 1);
    expect(log.figures.some((f) => f.of === 'P-311')).toBe(false);
  });

  test('after 40 starts nothing is followed: what the next one cuts short is no whole run', () => {
    const head = 'time [s],tank pressure [psig],tank level [in],P-311 running,C-313 running';
    const rows = Array.from({ length: 39 }, (_, k) => [
      `${1000 * k + 10},130,31,1,0`,
      `${1000 * k + 125},150,36,0,0`,
    ]).flat();
    // The 40th is a compressor's; the 41st, a pump's, stops it after half a minute.
    const end = ['40000,118,31.5,0,1', '40030,120,31,1,0', '40145,150,36,0,0'];
    const log = read([head, '0,140,33,0,0', ...rows, ...end]);
    expect(log.watched.calls.length).toBe(40);
    expect(log.watched_s).toBe(40_000);
    expect(shown(log, 'P-311.runTime')).toBe(115);
    expect(shown(log, 'compressors.pressureAtStart') / 6894.757).toBeCloseTo(118 + 14.2, 0);
    expect(shown(log, 'C-313.runTime')).toBeNaN();
    expect(shown(log, 'compressors.pressureAtStop')).toBeNaN();
  });

  test('a log without a start says at least what oil goes', () => {
    const { plant } = scenarioOf(BASE, 'base');
    const refused = (text: string) => {
      const { rows, delimiter } = csvRows(text);
      const { complain, faults } = collector();
      const accuracies = { gauge_Pa: 5000, glass_m: 0.005, sump_m: 0.005, time_s: 1 };
      expect(readLog(makeSource('a.csv', text), rows, delimiter, plant, accuracies, [], complain)).toBeUndefined();
      return faults.map((f) => f.message).join();
    };
    const log = (unit: string, levels: readonly number[], on: 0 | 1) =>
      refused(
        `time [s],pressure [barg],level [${unit}],P-1 running,C-1 running\n${levels.map((l, k) => `${500 * k},8,${l},${on},0`).join('\n')}\n`,
      );
    // 0.5 m2 of floor: 190 mm at least of the 200 are 95 L in 1000 s.
    expect(log('mm', [700, 600, 500], 1)).toMatch(
      /; the level falls.*: at least 5\.7 L\/min of oil more goes than P-1 brings;/,
    );
    expect(log('mm', [700, 600, 500], 0)).toMatch(/: at least 5\.7 L\/min of oil goes;/);
    expect(log('in', [28, 24, 20], 0)).toMatch(/ gal\/min of oil goes;/);
    // Within what the glass may be off nothing falls.
    expect(log('mm', [700, 696, 691], 1)).not.toMatch(/falls/);
  });

  test('what cannot be read is refused with its place', () => {
    expect(logOf('a,b\n1,2\n2,3\n3,4\n')).toEqual([expect.stringMatching(/^1:1 no column is headed "time"/)]);
    expect(logOf('time [s],pressure\n1,2\n2,3\n3,4\n')).toEqual([
      expect.stringMatching(/^1:10 the heading "pressure" has no unit/),
    ]);
    expect(logOf('time [s],pressure [psi]\n1,2\n2,3\n3,4\n')).toEqual([expect.stringMatching(/^1:10 .*psig/)]);
    expect(logOf('time,pressure [psig]\nnoon,2\nnight,3\nday,4\n')).toEqual([
      expect.stringMatching(/^2:1 "noon" is no time/),
    ]);
    expect(logOf('time [s],pressure [psig]\n1,2\n2,3\n3,4\n')).toEqual([
      expect.stringMatching(/no machine starts in it/),
    ]);
    expect(logOf('')).toEqual([expect.stringMatching(/^1:1 a log needs/)]);
  });
});

describe('readings', () => {
  const given = (...texts: string[]) => {
    const { faults, complain } = collector();
    const entries = texts.flatMap((t, k) => optionEntry(t, k + 1, complain) ?? []);
    const out = figuresGiven(entries, scenario.plant, statedAccuracies(scenario.values), complain);
    return { ...out, faults: faults.map((f) => `${f.line}:${f.column} ${f.path} ${f.message}`) };
  };

  test('in the units of people', () => {
    const { figures, accuracies, faults } = given(
      'pumps.startsPerHour=1.5',
      'pumps.pressureAtStart=120 psig',
      'pumps.pressureAtStop=150 psig',
      'accuracy.gauge=2 psi',
    );
    expect(faults).toEqual([]);
    const value = (kind: string) => figures.find((f) => f.kind === kind)?.value ?? Number.NaN;
    expect(value('betweenStarts')).toBe(2400);
    const ambient = scenario.plant.ambientPressure_Pa / 6894.757293168;
    expect(value('pressureRatio')).toBeCloseTo(Math.log((150 + ambient) / (120 + ambient)), 9);
    expect(accuracies.gauge_Pa).toBeCloseTo(2 * 6894.757, 2);
  });

  test('bad ones have their place', () => {
    expect(given('pumps.runTime=3').faults).toEqual([expect.stringMatching(/^1:15 pumps.runTime "3" has no unit/)]);
    expect(given('pumps.runTime=1 min', 'pumps.runTime=2 min').faults).toEqual([
      expect.stringMatching(/^2:1 pumps.runTime is given twice/),
    ]);
    expect(given('P-9.runTime=1 min').faults).toEqual([expect.stringMatching(/^1:1 .*no item "P-9"/)]);
    expect(given('pumps.betweenStarts=0 s').faults).toEqual([expect.stringMatching(/must be more than 0/)]);
    expect(given('pumps').faults).toEqual([expect.stringMatching(/must be written reading=value/)]);
    const { faults, complain } = collector();
    yamlEntries('r.yaml', 'pumps: 3\nP-311: { runTime: }\n', complain);
    expect(faults.map((f) => `${f.line}:${f.column}`)).toEqual(['1:1', '2:10']);
  });
});

test('a compressor that lost a third, from four readings', () => {
  // The file's compressors take 147 s from cut-in to cut-out, one after the other; so much longer takes one with 2/3 of its flow.
  const seen = [
    { of: 'C-313', kind: 'runTime' as const, value: 147 / (2 / 3) },
    { of: 'C-314', kind: 'runTime' as const, value: 147 },
    { of: 'pumps', kind: 'betweenStarts' as const, value: 7880 },
    { of: 'compressors', kind: 'pressureAtStart' as const, value: 118 * 6894.757 + scenario.plant.ambientPressure_Pa },
  ].map((f) => ({ ...f, count: 1, scatter: 0, span_s: 0, stretches: 1, outliers: 0 }));
  const answer = explain(scenario.values, {
    figures: seen,
    watched_s: undefined,
    start: undefined,
    accuracies: statedAccuracies(scenario.values),
  });
  expect(answer.verdict).toBe('explained');
  const [best] = answer.causes;
  expect(best.cause?.text).toBe('C-313 delivers less');
  // Air that leaks and heat that goes meanwhile take their part of it.
  expect(Math.abs(best.size - 1 / 3)).toBeLessThan(0.05);
  expect(best.low).toBeLessThan(best.size);
  expect(best.high).toBeGreaterThan(best.size);
  // A run of 147 s/(1 - share) is known to 1 % at best, and grows by 147 s/(1 - share)^2 for a whole share; Student's point of
  // three readings to spare is 3.182 (tables). Accuracies of gauge and switches can only widen what that leaves.
  const half = (best.high - best.low) / 2;
  expect(half).toBeGreaterThan(0.98 * 3.182 * 0.01 * (1 - 1 / 3));
  expect(half).toBeLessThan(1 / 3);
  expect(answer.test?.separation).toBeGreaterThan(1);
});

describe('a scenario with a cause added', () => {
  const line = faultLine({ fault: 'oil leak', at: 0, flow: 1e-5 }, 'si');
  const unit = (more: string) =>
    `# note\ntitle: a\nsite: { altitude: 1 m, temperature: 20 degC }\noil: { grade: 46, temperature: 40 degC }\ntank:\n  volume: 0.6 m^3 # kept\nsump: { capacity: 1 m^3, depth: 1 m }\nheader: { linear: 1e6 Pa s/m^3 }\nstart: { pressure: 9 barg, level: 0.5 m }\n${more}`;

  test('behind what is there', () => {
    expect(line).toBe('{ fault: oil leak, at: 0 s, flow: 0.6 L/min }');
    const text = (more: string) => {
      const added = withFault(unit(more), line);
      return 'text' in added ? added.text.slice(unit('').length) : added.problem;
    };
    expect(text('')).toBe(`faults:\n  - ${line}\n`);
    const one = '{ fault: air leak, at: 1 s, fall: 0.1 bar/h }';
    expect(text(`faults:\n  - ${one} # why\nleaks: {}\n`)).toBe(`faults:\n  - ${one} # why\n  - ${line}\nleaks: {}\n`);
    expect(text(`faults: [${one}]`)).toBe(`faults: [${one}, ${line} ]`);
    expect(text('faults: []\n')).toBe(`faults: [ ${line} ]\n`);
  });

  test('as a key of a group, and as another number', () => {
    const heat = withKey(unit(''), 'tank', 'heat', '{ exchange: conductance, conductance: 5 W/K }');
    expect('text' in heat && heat.text).toContain(
      'tank:\n  heat: { exchange: conductance, conductance: 5 W/K }\n  volume: 0.6 m^3 # kept\n',
    );
    expect(withKey(unit(''), 'tank', 'volume', '1 L')).toEqual({ problem: '"tank.volume" is there already' });
    const pressure = withQuantity(unit(''), 'start.pressure', 8e5 + 101_325, 'pressure', 101_325);
    expect('text' in pressure && pressure.text).toContain('start: { pressure: 8 barg, level: 0.5 m }');
  });
});
