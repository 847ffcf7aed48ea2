import { loadScenario, replay } from '../../scenarios/index.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
for (const a of process.argv.slice(2)) { const c = randomCase(Number(a)); const { result } = replay(loadScenario(scenarioText(c), { file: 'x' }).scenario!, { relativeStepError: 1e-10 });
const m = secondSolution(c);
for (const s of m.strokes) { const r = result.verdict.strokes.find((x) => x.valve === c.valves[s.valve].tag && x.stroke === s.stroke)!; console.log(a, r.valve, s.stroke, r.outcome, r.commandedAt_s, r.firstMotionAt_s, r.endedAt_s, 'engine', r.forceMargin, r.forceMarginAt_s, 'mine', s.leastMargin, (s as never as { at: number }).at, (s as never as { doing: string }).doing); } }
