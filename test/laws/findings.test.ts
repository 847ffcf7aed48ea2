import { assert } from 'vitest';
import { FINDING_KINDS, type FindingKind, findFindings } from '../../scenarios/findings.ts';
import { runPlant } from '../../scenarios/run.ts';
import { judge } from '../../scenarios/verdict.ts';
import { law } from '../support/law.ts';
import { randomScenario, showCase } from '../support/randomScenario.ts';

law(
  'findings stop no run and change none of its numbers, and say theirs',
  { runs: 60, seed: 611, show: showCase },
  randomScenario({ mostTicks: 1500 }),
  ({ values, plant, ticks, sampleTicks }) => {
    const run = () => runPlant(plant, { toTick: ticks, sampleTicks });
    const before = run();
    const subject = { values, plant, units: 'si', place: (path: string) => path } as const;
    const file = findFindings(subject);
    const all = findFindings(subject, { run: before, strokes: judge(before, 'si', () => 0) });
    const after = run();
    const differing = [...before.end].filter((x, k) => !Object.is(x, after.end[k])).length;
    assert.equal(differing, 0, 'slots that differ after looking for findings');
    for (const { id, text, numbers, severity, at } of [...file, ...all]) {
      assert.equal(severity, FINDING_KINDS[id as FindingKind].severity);
      assert.notMatch(text, /NaN|undefined|Infinity|n\/a/, id);
      assert.isTrue(severity === 'information' || at.length > 0, `${id} has no place`);
      for (const [name, value] of Object.entries(numbers)) {
        assert.isTrue(Number.isFinite(value), `${id}: ${name} is ${value}`);
        assert.match(name, /_(Pa|m|m3|m3_s|s|W|kg_s)$|PerHour$|Share$|^starts$/, id);
      }
    }
  },
);
