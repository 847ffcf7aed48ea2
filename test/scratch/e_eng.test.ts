import { test } from 'vitest';
import { loadScenario, replay } from '../../scenarios/index.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
test('eng', () => { const c = randomCase(Number(process.env['FROM'])); const t = performance.now(); const r = replay(loadScenario(scenarioText(c), { file: 'x' }).scenario!, { relativeStepError: 1e-10, stepBudget: 200000 }); console.log(performance.now() - t, r.result.end, r.result.ledger.steps); console.log(r.result.events.slice(-15).map((e) => `${e.time_s} ${e.code} ${e.tag} ${e.text}`)); }, 60000);
