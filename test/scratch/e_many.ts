import { compare } from '../engine/second/compare.ts';
import { randomCase } from '../engine/second/randomCase.ts';
const from = Number(process.argv[2]), n = Number(process.argv[3]), rel = Number(process.argv[4]);
const all = { state: 0, time_s: 0, margin: 0 }; const kinds = new Map<string, number>(); let left = 0; let bad = 0;
for (let seed = from; seed < from + n; seed++) {
  const t = performance.now();
  try {
    const r = compare(randomCase(seed), { state: Number(process.argv[5] ?? 1e-6), time_s: Number(process.argv[6] ?? 1e-5), margin: 1e-3 }, { relativeStepError: rel });
    for (const k of ['state', 'time_s', 'margin'] as const) all[k] = Math.max(all[k], r.worst[k]);
    for (const k of new Set(r.kinds)) kinds.set(k, (kinds.get(k) ?? 0) + 1);
    if (r.left) left++;
    if (r.differences.length) { bad++; console.log(seed, r.left, r.differences.length, r.differences.slice(0, 4).join(' | ')); }
  } catch (e) { bad++; console.log(seed, String(e).slice(0, 400)); }
  const ms = performance.now() - t; if (ms > 8000) console.log('slow', seed, ms.toFixed(0));
}
console.log(all, Object.fromEntries(kinds), 'left', left, 'bad', bad);
