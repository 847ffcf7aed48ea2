/**
 * The example visits in scenarios/readings are what the engine gives for a unit that is not quite as its file says, with noise;
 * here stands how it truly was. `TRIPSTROKE_UPDATE=1` writes them anew.
 */
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { visitCsv } from './support/visit.ts';

const scenarios = fileURLToPath(new URL('../scenarios/', import.meta.url));
const file = 'scenarios/ashlar-weir.yaml';
const text = readFileSync(path.join(scenarios, 'ashlar-weir.yaml'), 'utf8');

const visits = {
  'ashlar-weir-commissioning.csv': visitCsv({
    text,
    file,
    units: 'si',
    // Nothing is set exactly; two alarms are found off and set right, the spring of one exchanged.
    truth: [
      'panel.level.low.at=468 mm',
      'panel.level.dutyStart.at=561 mm',
      'panel.level.stop.at=651 mm',
      'panel.level.high.at=689 mm',
      'panel.pressure.low.at=7.36 barg',
      'panel.pressure.cutOut.at=9.42 barg',
    ],
    adjusted: ['panel.level.high.at=701 mm', 'panel.pressure.low.at=7.21 barg'],
    seed: 'commissioning',
    date: '2026-03-11',
    notes: { C6r: 'float rod bent; straightened', C7f: 'spring exchanged' },
  }),
  'ashlar-weir-a-year-later.csv': visitCsv({
    text,
    file,
    units: 'si',
    // The duty start has sunk by 6 mm, within its accuracy, and the cut-out has risen past its own.
    truth: [
      'panel.level.low.at=467 mm',
      'panel.level.dutyStart.at=555 mm',
      'panel.level.stop.at=651 mm',
      'panel.level.high.at=702 mm',
      'panel.pressure.low.at=7.19 barg',
      'panel.pressure.cutOut.at=9.52 barg',
    ],
    adjusted: ['panel.pressure.cutOut.at=9.41 barg'],
    seed: 'a year later',
    date: '2027-03-09',
    notes: { C9r: 'set back' },
  }),
} as const;

test.each(Object.entries(visits))('%s is what the engine gives', (name, csv) => {
  const place = path.join(scenarios, 'readings', name);
  if (process.env['TRIPSTROKE_UPDATE']) {
    mkdirSync(path.dirname(place), { recursive: true });
    writeFileSync(place, csv);
  }
  expect(csv).toBe(readFileSync(place, 'utf8'));
  expect(csv).toContain('made by the engine with noise');
});
