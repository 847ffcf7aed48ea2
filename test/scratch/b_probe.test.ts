import { test } from 'vitest';
import { printed, watch, DRAIN, valve } from '../support/baseUnit.ts';
test('x', () => {
  const t0 = performance.now();
  const w = watch({ leaks: { oil: DRAIN } }, 400);
  console.log(printed(w.events), performance.now() - t0, w.level(), w.pressure(), w.unit.layout.size);
  const v = watch({ valves: [valve()], 'power.lostAt': '5 s' }, 60);
  console.log(printed(v.events));
});
