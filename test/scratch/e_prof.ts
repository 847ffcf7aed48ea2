import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
for (const s of [0,1,2,3,4,12,18]) { const t = performance.now(); secondSolution(randomCase(s)); console.log(s, (performance.now() - t).toFixed(0)); }
