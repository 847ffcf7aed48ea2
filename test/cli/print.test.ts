/** The report and its layout. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { paragraph, table, WIDTH, widthOf, wrap } from '../../bin/layout.ts';
import { printReport } from '../../bin/print.ts';
import { CAUTIONS, RESULT_SCHEMA_VERSION, type Result, type Rung, type StrokeResult } from '../../scenarios/result.ts';

const stroke: StrokeResult = {
  valve: 'XV-7',
  service: 'feed shut-off',
  stroke: 1,
  strokes: 1,
  direction: 'closes',
  to: 0,
  outcome: 'completed',
  met: true,
  tooCloseToCall: false,
  commandedAt_s: 1,
  firstMotionAt_s: 1,
  endedAt_s: 9.25,
  time_s: 8.25,
  movingTime_s: 8.25,
  longest_s: 25,
  shortest_s: 0,
  from: 1,
  position: 0,
  forceMargin: 0.125,
  forceMargin_Pa: 90_000,
  forceMarginAt_s: 9,
  forceMarginPosition: 0.1,
  timeMargin: 0.67,
  margin: 0.125,
  marginOf: 'force',
  marginWanted: 0.05,
  accuracyEffect: 0,
  surge: undefined,
  reason: 'closed in 8.25 s of 25 s allowed',
};
const moment = {
  pressure_Pa: 914_000,
  level_m: 0.4,
  oil_m3: 0.07,
  vessel_m3: 0.12,
  air_m3: 0.05,
  usableOil_m3: 0.06,
  levelPerKelvin_m: 0.00028,
  airTemperature_K: 293.15,
  wallTemperature_K: 293.15,
};
const result: Result = {
  schemaVersion: RESULT_SCHEMA_VERSION,
  program: 'tripstroke 0',
  title: 'Hand-made skid',
  file: 'skid.yaml',
  seed: '1',
  overrides: [],
  units: 'si',
  site: { ambientPressure_Pa: 100_000, ambientTemperature_K: 293.15 },
  start: { ...moment, running: [], selectors: {}, note: 'Other moments were not examined.' },
  verdict: { met: true, text: 'All is well.', strokes: [stroke] },
  reserve: {
    completeSets: 2,
    furtherStrokes: 1,
    more: false,
    usableOil_m3: 0.05,
    pressure_Pa: 8e5,
    reason: '2 more complete sets.',
  },
  staircase: { level: [], pressure: [] },
  findings: [],
  steps: [],
  faults: [],
  alarms: [],
  duty: [],
  end: {
    ...moment,
    time_s: 86,
    stop: 'end of the run',
    air_kg: 1,
    dissolvedAir_kg: 0.07,
    spilled_m3: 0,
    overflowed_m3: 0,
    positions: {},
    tripStands: false,
  },
  extremes: {
    leastHeaderPressure_Pa: undefined,
    leastHeaderPressureAt_s: undefined,
    highestTankPressure_Pa: 9e5,
    highestTankPressureAt_s: 0,
  },
  work: { spent: 1, limit: 2, limitReached: false },
  ledger: { worstAccount: 'tank', worstRelative: 0, steps: 10 },
  events: [{ time_s: 4321.987, code: 0, tag: 'mains', text: 'lost', pressure_Pa: 914_000, level_m: 0.4 }],
  cautions: CAUTIONS,
};
const withStrokes = (...strokes: Partial<StrokeResult>[]): Result => ({
  ...result,
  verdict: { met: false, text: 'Something fails.', strokes: strokes.map((s) => ({ ...stroke, ...s })) },
});
const fits = (text: string): void => {
  expect(text.split('\n').filter((line) => widthOf(line) > WIDTH)).toEqual([]);
};

describe('printReport', () => {
  test('verdict first, cautions last, whether quiet or not', () => {
    for (const quiet of [true, false]) {
      const text = printReport(result, { quiet });
      expect(text.startsWith('MET: all is well.\nOther moments were not examined.\n')).toBe(true);
      expect(text.trimEnd().endsWith('licensed engineer.')).toBe(true);
      for (const caution of CAUTIONS) expect(text.replace(/\s+/g, ' ')).toContain(caution);
      expect(text.includes('4321.99 s  mains  lost')).toBe(!quiet);
    }
  });

  test('a line a stroke: outcome, time of limit, least margin and what it is of, met or not in words', () => {
    const text = printReport(
      withStrokes(
        { strokes: 2 },
        { stroke: 2, strokes: 2, direction: 'opens', margin: 0.03, marginOf: 'time' },
        {
          valve: 'XV-8',
          outcome: 'stalled',
          position: 0.624,
          met: false,
          time_s: undefined,
          margin: undefined,
          reason: 'too little thrust',
        },
        { valve: 'XV-9', met: false, tooCloseToCall: true, service: '', reason: 'the gauge may read high' },
      ),
    );
    expect(text).toMatch(/^XV-7 +closes 1\/2 +completed +8\.25 of 25 s +12\.5 % force +met$/m);
    expect(text).toMatch(/^XV-7 +opens 2\/2 +completed +8\.25 of 25 s +3 % time +met$/m);
    expect(text).toMatch(
      /^XV-8 +closes +stalled at 62 % open +- of 25 s +- +NOT MET\n {4}XV-8 \(feed shut-off\): too little thrust$/m,
    );
    expect(text).toMatch(/^XV-9 .* TOO CLOSE\n {4}XV-9: the gauge may read high$/m);
    expect(text.match(/closed in 8\.25 s/g)).toBeNull();
    fits(text);
  });

  test('colour touches only words, and only those that need attention', () => {
    const painted: string[] = [];
    const shown = withStrokes({}, { met: false }, { met: false, tooCloseToCall: true });
    const text = printReport(shown, {
      paint: (emphasis, word) => {
        painted.push(`${emphasis} ${word}`);
        return word;
      },
    });
    expect(painted).toEqual(['bad NOT MET', 'bad NOT MET', 'care TOO CLOSE']);
    expect(text).toBe(printReport(shown));
  });

  describe('the staircase', () => {
    const rung = (name: string, value: number, more: Partial<Rung> = {}): Rung => ({
      path: 'panel',
      name,
      tag: undefined,
      value,
      mayTouch: false,
      accuracy: 0,
      estimate: false,
      ...more,
    });
    const level = [rung('outlet', 0.1), rung('low level', 0.25, { tag: 'LSL-1' }), rung('stop', 0.4, { tag: 'LS-2' })];
    const pressure = [
      rung('valves need', 6e5, { tag: 'XV-7', estimate: true }),
      rung('low pressure', 5.5e5, { tag: 'PSL-1' }),
      rung('safety valve set', 11e5),
    ];
    const shown = (staircase: Result['staircase'], quiet = false) => printReport({ ...result, staircase }, { quiet });

    test('pressures and levels side by side, highest first, each with the gap to the one below', () => {
      const text = shown({ level, pressure });
      fits(text);
      // Ambient is 1 bar: 11 bar absolute read 10 barg.
      expect(text).toContain(
        [
          'Pressure             barg    gap      Level           mm   gap',
          'safety set          10.00  +5.50      stop    LS-2   400  +150',
          'low          PSL-1   4.50  -0.50  !   low     LSL-1  250  +150',
          'valves need  XV-7    5.00             outlet         100',
          '! out of order',
          'valves need: least pressure that moves XV-7, without flow (estimate)',
        ].join('\n'),
      );
    });
    test('one under the other where tags are long, and no line too wide', () => {
      const long = level.map((r) => ({ ...r, tag: 'LEVEL-SWITCH-OF-THE-NORTHERN-TANK-101' }));
      const text = shown({ level: long, pressure });
      fits(text);
      expect(text.indexOf('Level  ')).toBeGreaterThan(text.indexOf('valves need  XV-7'));
    });
    test('not in a quiet report, nor are figures', () => {
      expect(shown({ level, pressure }, true)).toBe(printReport(result, { quiet: true }));
      const figure = {
        id: 'refill time',
        severity: 'information',
        text: 'x',
        advice: '',
        at: [],
        numbers: {},
      } as const;
      expect(printReport({ ...result, findings: [figure] }, { quiet: true })).toBe(
        printReport(result, { quiet: true }),
      );
    });
  });

  test('findings with their places, overrides, alarms and duty', () => {
    const text = printReport({
      ...result,
      overrides: [
        { path: 'start.pressure', before: '118 psig', after: '110 psig' },
        { path: 'oil.density', before: undefined, after: '880 kg/m^3' },
      ],
      findings: [
        {
          id: 'pump relief too low',
          severity: 'warning',
          text: 'this is too low',
          advice: 'Raise it.',
          at: ['skid.yaml:4', 'skid.yaml:9', '--set:1'],
          numbers: {},
        },
        { id: 'no low alarm', severity: 'note', text: 'this is missing', advice: 'Add it.', at: [], numbers: {} },
        { id: 'refill time', severity: 'information', text: 'it takes 3 min', advice: '', at: [], numbers: {} },
      ],
      alarms: [{ tag: 'PAL-1', text: 'low pressure', state: 'acknowledged' }],
      duty: [
        // 3.6 MJ are 1 kWh.
        {
          tag: 'P-1',
          kind: 'pump',
          starts: 3,
          runTime_s: 90,
          startsPerHour: 1.5,
          energy_J: 3.6e6,
          ranBack_m3: 0.003,
          condensate_kg: 0,
          moved_m3: 0.02,
        },
        {
          tag: 'K-1',
          kind: 'compressor',
          starts: 1,
          runTime_s: 90,
          startsPerHour: 0.5,
          energy_J: 1.8e6,
          ranBack_m3: 0,
          condensate_kg: 0.0125,
          moved_m3: 1.25,
        },
      ],
    });
    expect(text).toContain(
      [
        'Warning: pump relief too low (skid.yaml:4 and line 9; --set:1)',
        '         This is too low.',
        '         Raise it.',
        'Note:    no low alarm',
        '         This is missing.',
        '         Add it.',
        '',
        'Figure:  refill time: it takes 3 min.',
      ].join('\n'),
    );
    expect(text).toContain('Changed: start.pressure: "118 psig" in the file, "110 psig" by --set\n');
    expect(text).toContain('Changed: oil.density: not in the file, "880 kg/m^3" by --set\n');
    expect(text).toContain('Alarm:   PAL-1 low pressure: acknowledged at the end\n');
    expect(text).toMatch(/^P-1 +3 +1\.5 +90\.00 s +1\.000 kWh +20\.0 L of oil, 3\.0 L ran back$/m);
    expect(text).toMatch(/^K-1 +1 +0\.5 +90\.00 s +0\.500 kWh +1\.25 m\^3 of free air, 13 mL of\n +condensate$/m);
    fits(text);
  });

  test('times of a run longer than two hours are hours, minutes and seconds', () => {
    const event = { code: 0, tag: 'mains', text: 'lost', pressure_Pa: 914_000, level_m: 0.4 };
    const at = (...times: number[]) =>
      printReport({
        ...result,
        events: times.map((time_s) => ({ ...event, time_s })),
        end: { ...result.end, time_s: 2_592_121 },
        extremes: { ...result.extremes, highestTankPressureAt_s: 86_399.96 },
      });
    const text = at(0, 61.5, 3599.996, 2_592_000.3);
    for (const time of ['0:00:00.00', '0:01:01.50', '1:00:00.00', '720:00:00.30']) {
      expect(text).toMatch(new RegExp(`^ *${time}  mains  lost`, 'm'));
    }
    expect(text).toContain('end of the run at 720:02:01.00: ');
    expect(text.replace(/\s+/g, ' ')).toContain('Highest tank pressure 8.00 barg at 24:00:00.0.');
    fits(text);
  });

  test('a few starts in a month are not none', () => {
    const machine = {
      kind: 'pump',
      runTime_s: 90,
      energy_J: 0,
      condensate_kg: 0,
      moved_m3: 0.02,
      ranBack_m3: 0,
    } as const;
    const text = printReport({
      ...result,
      duty: [
        { ...machine, tag: 'P-1', starts: 4, startsPerHour: 4 / 720 },
        { ...machine, tag: 'P-2', starts: 0, startsPerHour: 0 },
      ],
    });
    expect(text).toMatch(/^P-1 +4 +0\.006 /m);
    expect(text).toMatch(/^P-2 +0 +0\.0 /m);
  });

  test('an alarm whose text names its machine is not named twice', () => {
    const alarms = [{ tag: 'P-1-failed', text: 'P-1 failed to start', state: 'unacknowledged' as const }];
    expect(printReport({ ...result, alarms })).toContain('Alarm:   P-1 failed to start: unacknowledged at the end\n');
  });

  test('long names stay within 80 columns and are all there', () => {
    const tag = 'XV-1234567890-1234567890-1234567890';
    const shown: Result = {
      ...withStrokes({
        valve: tag,
        strokes: 10,
        stroke: 10,
        outcome: 'still moving',
        met: false,
        reason: 'r'.repeat(200),
      }),
      title: 'x'.repeat(200),
      file: `folder/${'y'.repeat(120)}.yaml`,
      events: [
        { time_s: 31_536_000.25, code: 0, tag, text: `alarm: ${'z'.repeat(90)}`, pressure_Pa: 914_000, level_m: 12.3 },
      ],
      duty: [
        {
          tag,
          kind: 'pump',
          starts: 123_456,
          runTime_s: 3e7,
          startsPerHour: 14.1,
          energy_J: 9e12,
          ranBack_m3: 0,
          condensate_kg: 0,
          moved_m3: 12_345,
        },
      ],
    };
    const text = printReport(shown);
    fits(text);
    expect(text.replace(/\s+/g, '')).toContain('y'.repeat(120));
    expect(text).toContain('31536000.25 s');
  });

  test('text from a file cannot steer the terminal', () => {
    const text = printReport({
      ...withStrokes({ met: false, service: '\u001b[2J', reason: 'a\rb' }),
      title: 'blue \u001b]0;evil\u0007 \u202e title',
    });
    // biome-ignore lint/suspicious/noControlCharactersInRegex: this is what must not be there
    expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202e]/);
  });
});

describe('layout', () => {
  const words = fc.array(fc.string({ minLength: 1, maxLength: 30, unit: fc.constantFrom('a', 'b', '-', '漢', 'é') }), {
    maxLength: 30,
  });

  test('wrap keeps every character in order within the width', () => {
    fc.assert(
      fc.property(words, fc.integer({ min: 2, max: 40 }), (list, width) => {
        const lines = wrap(list.join(' '), width);
        expect(lines.join('').replaceAll(' ', '')).toBe(list.join(''));
        for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
      }),
      { seed: 7, numRuns: 300 },
    );
  });

  test('wrap breaks no word that fits', () => {
    expect(wrap('one two three four', 9)).toEqual(['one two', 'three', 'four']);
    expect(wrap('XV-12-NORTH', 8)).toEqual(['XV-12-', 'NORTH']);
    expect(paragraph('Note: ', 'one two three', 13)).toEqual(['Note: one two', '      three']);
  });

  test('a table fits, whatever is in it', () => {
    const columns = [{ head: 'A' }, { head: 'Number', right: true }, { head: 'Text' }] as const;
    fc.assert(
      fc.property(fc.array(fc.tuple(words, words, words), { maxLength: 8 }), (rows) => {
        const cells = rows.map((row) => ({ cells: row.map((cell) => cell.join(' ')) }));
        for (const line of table(columns, cells, 60)) expect(widthOf(line)).toBeLessThanOrEqual(60);
      }),
      { seed: 7, numRuns: 200 },
    );
  });

  test('columns line up also with wide characters', () => {
    const lines = table(
      [{ head: 'Tag' }, { head: 'n', right: true }],
      [{ cells: ['漢字', '1'] }, { cells: ['ab', '22'] }],
      80,
    );
    expect(lines).toEqual(['Tag    n', '漢字   1', 'ab    22']);
  });
});
