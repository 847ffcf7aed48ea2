/** Runs a case through the program, by its public entry alone, and through the second solution, and lists what differs. */
import { formatFaults, loadScenario, type ReplayOptions, replay } from '../../../scenarios/index.ts';
import { type Case, scenarioText } from './case.ts';
import { type Kind, S, secondSolution } from './solution.ts';

/** Codes of the event rows in the result. */
const CODES: Readonly<Record<number, Kind>> = {
  8: 'stops',
  9: 'starts',
  19: 'starts to move',
  20: 'rests',
  21: 'ends',
  23: 'pushed back',
  24: 'pushed back',
  25: 'cavitates',
  26: 'gas',
  27: 'safety opens',
  28: 'safety shuts',
  29: 'dry',
  30: 'primed',
};

export interface Tolerances {
  /** Relative, of pressure, temperatures, oil and air; of full travel for positions. */
  readonly state: number;
  readonly time_s: number;
  /** Least force margin, as a share of what is needed. */
  readonly margin: number;
  /** Relative, of the work of the motors and of what machines have moved, which feed nothing back. */
  readonly total: number;
}

export interface Comparison {
  /** What differs by more than the tolerances, in words. */
  readonly differences: readonly string[];
  /** The largest difference of each kind. */
  readonly worst: { state: number; time_s: number; margin: number; total: number };
  /** Everything that happened, by the second solution. */
  readonly kinds: readonly Kind[];
  readonly left: string | undefined;
  /** Where the comparison ended because a machine was switched a scan sooner or later, s. */
  readonly displacedAt_s: number | undefined;
}

export function compare(c: Case, tolerances: Tolerances, options: ReplayOptions): Comparison {
  const loaded = loadScenario(scenarioText(c), { file: `case ${c.seed}` });
  if (loaded.scenario === undefined) throw new Error(formatFaults(loaded));
  const { trace, result } = replay(loaded.scenario, options);
  const mine = secondSolution(c);
  // A contact that changes within rounding of a scan is read there or a scan later: from then on the two may differ.
  const scan_s = c.scanTicks * c.tick_s;
  const switched = (kind: Kind, tag: string) => result.events.filter((e) => CODES[e.code] === kind && e.tag === tag);
  const turns = new Map<string, number>();
  const displacedAt_s = mine.happenings.find((h) => {
    if (h.kind !== 'starts' && h.kind !== 'stops') return false;
    const key = `${h.tag} ${h.kind}`;
    const n = turns.get(key) ?? 0;
    turns.set(key, n + 1);
    const e = switched(h.kind, h.tag)[n];
    return e !== undefined && Math.abs(Math.abs(e.time_s - h.time) - scan_s) < 1e-9;
  })?.time;
  const until = Math.min(mine.left?.time ?? Infinity, (displacedAt_s ?? Infinity) - scan_s);
  const differences: string[] = [];
  const worst = { state: 0, time_s: 0, margin: 0, total: 0 };

  // states at the sample times
  const column = (name: string) => {
    const at = trace!.columns.findIndex((k) => k.name === name);
    if (at < 0) throw new Error(`no column "${name}" in the trace`);
    return at;
  };
  const time = column('time');
  const pressure = column('tank pressure');
  const states: [string, number, number][] = [
    ['air mass', S.mass, 0],
    ['air temperature', S.temperature, 0],
    ['shell temperature', S.wall, 0],
    ['tank oil', S.oil, 0],
    ['sump level', S.sump, 0],
    ...(c.dissolvedAir === undefined ? [] : [['air in the oil', S.dissolved, 0] as [string, number, number]]),
    ...c.valves.map((v, i): [string, number, number] => [`${v.tag} position`, S.x + i, 1]),
  ];
  const state = (what: string, t: number, theirs: number, ours: number, size: number) => {
    const off = Math.abs(theirs - ours) / size;
    if (!(off <= tolerances.state))
      differences.push(`${what} at ${t} s: ${theirs}, second solution ${ours} (${off.toExponential(1)})`);
    if (!(off <= worst.state)) worst.state = off;
  };
  for (const s of mine.samples) {
    if (s.time >= until) break;
    const row = trace!.rows.findLast((r) => Math.abs(r[time] - s.time) < 1e-9);
    if (row === undefined) {
      differences.push(`no trace row at ${s.time} s`);
      break;
    }
    state('pressure', s.time, row[pressure], s.snapshot.pressure, s.snapshot.pressure);
    for (const [name, slot, size] of states) {
      const ours = name === 'sump level' ? s.state[slot] / mine.physics.sumpArea : s.state[slot];
      state(name, s.time, row[column(name)], ours, size || Math.abs(ours));
    }
  }

  // happenings, each kind of each valve in its own order
  const edge = until - 1e-3;
  const theirs = result.events.filter((e) => e.code in CODES && e.time_s < edge);
  const used = new Map<string, number>();
  let inherited = 0;
  for (const h of mine.happenings) {
    if (h.time >= edge) continue;
    const key = `${h.tag} ${h.kind}`;
    const n = used.get(key) ?? 0;
    used.set(key, n + 1);
    const e = theirs.filter((r) => CODES[r.code] === h.kind && (h.tag === '' || r.tag === h.tag))[n];
    if (e === undefined) {
      differences.push(`${key} at ${h.time} s: not so in the program`);
      continue;
    }
    const off = Math.abs(e.time_s - h.time);
    // What creeps up on its limit is located as well as the pressure is known, no better; what follows inherits it.
    const allowed = Math.max(tolerances.time_s, (tolerances.state * 0.1) / h.rate) + inherited;
    if (allowed > tolerances.time_s) inherited = Math.max(inherited, off);
    if (!(off <= allowed))
      differences.push(`${key} at ${e.time_s} s, second solution ${h.time} s (${off.toExponential(1)})`);
    if (allowed === tolerances.time_s) worst.time_s = Math.max(worst.time_s, off);
    state(`pressure when ${key}`, h.time, e.pressure_Pa, h.pressure, h.pressure / (off > tolerances.time_s ? 0.1 : 1));
  }
  const count = [...used.values()].reduce((a, n) => a + n, 0);
  if (count !== theirs.length && !differences.some((x) => x.includes('not so'))) {
    differences.push(`the program has ${theirs.length} happenings, the second solution ${count}`);
  }

  // what machines have moved and taken by the end
  if (until === Infinity) {
    const last = mine.samples[mine.samples.length - 1].state;
    const { pumped, delivered, energy } = mine.physics.totals;
    const rhoAmbient = c.ambient / (287.0528 * c.ambientTemperature);
    result.duty.forEach((m, k) => {
      const j = k - c.pumps.length;
      const moved = j < 0 ? last[pumped + k] : last[delivered + j] / rhoAmbient;
      for (const [what, theirs, ours] of [
        ['moved', m.moved_m3, moved],
        ['energy', m.energy_J, last[energy + k]],
      ] as const) {
        const off = Math.abs(theirs - ours) / Math.max(ours, 1e-3);
        if (!(off <= tolerances.total))
          differences.push(`${what} of ${m.tag}: ${theirs}, second solution ${ours} (${off.toExponential(1)})`);
        worst.total = Math.max(worst.total, off);
      }
    });
  }

  // least force margins of the trip strokes
  if (until === Infinity) {
    for (const s of mine.strokes) {
      const r = result.verdict.strokes.find((x) => x.valve === c.valves[s.valve].tag && x.stroke === s.stroke);
      const ours = s.leastMargin < Infinity ? s.leastMargin : undefined;
      if (r?.forceMargin === undefined || ours === undefined) {
        if (r?.forceMargin !== ours)
          differences.push(
            `force margin of ${c.valves[s.valve].tag}, stroke ${s.stroke}: ${r?.forceMargin}, second solution ${ours}`,
          );
        continue;
      }
      const off = Math.abs(r.forceMargin - ours) / Math.max(1, Math.abs(ours));
      if (!(off <= tolerances.margin))
        differences.push(`force margin of ${r.valve}, stroke ${s.stroke}: ${r.forceMargin}, second solution ${ours}`);
      worst.margin = Math.max(worst.margin, off);
    }
  }
  return { differences, worst, kinds: mine.happenings.map((h) => h.kind), left: mine.left?.why, displacedAt_s };
}
