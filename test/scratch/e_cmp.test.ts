import { appendFileSync } from 'node:fs';
import { test } from 'vitest';
import { loadScenario, formatFaults, replay } from '../../scenarios/index.ts';
import { scenarioText } from '../engine/second/case.ts';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
const from = Number(process.env['FROM'] ?? 0), n = Number(process.env['N'] ?? 20), verbose = process.env['V'] === '1';
test('cmp', () => {
  for (let seed = from; seed < from + n; seed++) {
    const c = randomCase(seed);
    const loaded = loadScenario(scenarioText(c), { file: `case ${seed}` });
    if (!loaded.scenario) { console.log(seed, formatFaults(loaded as never).slice(0, 500)); continue; }
    const t0 = performance.now();
    let rep; try { rep = replay(loaded.scenario, process.env['REL'] ? { relativeStepError: Number(process.env['REL']) } : {}); } catch (e) { appendFileSync('/tmp/e_cases.txt', `\n${seed} ENGINE ${e}`); continue; }
    const t1 = performance.now();
    let a; try { a = secondSolution(c); } catch (e) { appendFileSync('/tmp/e_cases.txt', `\n${seed} SECOND ${e}`); continue; }
    const t2 = performance.now();
    const { trace, result } = rep;
    const col = (name: string) => trace!.columns.findIndex((k) => k.name === name);
    const cols = ['air mass', 'air temperature', 'shell temperature', 'tank oil', 'sump level', ...c.valves.map((v) => `${v.tag} position`)].map(col);
    const tcol = col('time');
    let worst = 0; let where = '';
    let firstBad = '';
    for (const s of a.samples) {
      if (a.left && s.time >= a.left.time) break;
      const row = trace!.rows.findLast((r) => Math.abs(r[tcol] - s.time) < 1e-9)!;
      const dev = (name: string, x: number, y: number, sc: number) => { const r = Math.abs(x - y) / sc; if (!(r <= worst)) { worst = r; where = `${name} @${s.time}`; } if (!(r <= 1e-6) && !firstBad) firstBad = `${name} @${s.time} ${x} ${y}`; };
      dev('p', row[col('tank pressure')], s.snapshot.pressure, s.snapshot.pressure);
      cols.forEach((k, i) => { const mine = i === 4 ? s.state[4] / a.physics.sumpArea : s.state[i]; dev(trace!.columns[k].name, row[k], mine, i >= 5 ? 1 : Math.abs(mine)); });
    }
    const code: Record<string, number> = { 'sets off': 19, rests: 20, ends: 21, 'pushed back': 23, gas: 26, 'safety opens': 27, 'safety shuts': 28, dry: 29, primed: 30 };
    const key = (k: number, tag: string) => `${k} ${tag}`;
    const mine = a.happenings.filter((h) => !a.left || h.time < a.left.time).map((h) => ({ k: key(code[h.kind], h.valve >= 0 ? c.valves[h.valve].tag : ''), t: h.time, rate: h.rate }));
    const theirs = result.events.filter((e) => [19, 20, 21, 23, 24, 26, 27, 28, 29, 30].includes(e.code) && (!a.left || e.time_s < a.left.time)).map((e) => ({ k: key(e.code, e.code <= 24 ? e.tag : ''), t: e.time_s }));
    let worstT = 0, tw = '', bad = '';
    const used = new Set<number>();
    for (const m of mine) {
      let best = -1;
      theirs.forEach((th, i) => { if (!used.has(i) && th.k === m.k && (best < 0 || Math.abs(th.t - m.t) < Math.abs(theirs[best].t - m.t))) best = i; });
      if (best < 0) { bad += ` -[${m.k} ${m.t.toFixed(5)}]`; continue; }
      used.add(best);
      const e = Math.abs(theirs[best].t - m.t); if (e > worstT) { worstT = e; tw = `${m.k}@${m.t.toFixed(4)} r=${m.rate.toExponential(1)}`; }
    }
    theirs.forEach((th, i) => { if (!used.has(i)) bad += ` +[${th.k} ${th.t.toFixed(5)}]`; });
    const kinds = [...new Set(a.happenings.map((h) => h.kind))].join(',');
    appendFileSync('/tmp/e_cases.txt', `\n${worst > 1e-6 || worstT > 1e-5 || bad ? '** ' : ''}${seed} ${c.tank.exchange} nv=${c.valves.length} state ${worst.toExponential(1)} ${where} time ${worstT.toExponential(1)} ${tw} ev ${mine.length} ${bad.slice(0, 300)} ${a.left ? JSON.stringify(a.left) : ''} ms ${(t1 - t0).toFixed(0)} ${(t2 - t1).toFixed(0)} ${kinds} ${firstBad}`);
    if (verbose) { console.log(result.events.map((e) => `${e.time_s.toFixed(6)} ${e.code} ${e.tag} ${e.text} ${e.pressure_Pa.toFixed(1)}`).join('\n')); console.log(mine.map((m) => `${m.t.toFixed(6)} ${m.k}`).join('\n')); }
  }
}, 3e6);
