/** What must hold whatever is in a file: it runs to an end that has a name, or every complaint has its place. */
import { strict as assert } from 'node:assert';
import { decode } from '../../bin/input.ts';
import { printReport, resultJson } from '../../bin/print.ts';
import { formatFaults } from '../../scenarios/faults.ts';
import { type Loaded, loadScenario } from '../../scenarios/load.ts';
import { checkScenario, replay } from '../../scenarios/replay.ts';

/** Enough for each of the shipped scenarios as it is; a hostile one gets no further. */
const WORK_LIMIT = 200_000;
const STOPS = ['end of the run', 'work limit'];
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what must not reach a terminal
const UNPRINTABLE = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069\ufeff]/;
const PROGRAMMER_WORDS = /undefined|NaN|\[object|Infinity|null/;

export type Came = 'refused' | 'ran';

/** Reads and, if it can be read, runs a file. Throws where the program does not keep what it promises. */
export function examine(bytes: Buffer, overrides: readonly string[] = []): Came {
  const input = decode(bytes, 'hostile.yaml');
  if ('problem' in input) {
    assert.match(input.problem, /^hostile\.yaml:\d+:\d+: error: \S/);
    return 'refused';
  }
  const loaded = loadScenario(input.text, { file: 'hostile.yaml', overrides });
  assert.ok(!('polluted' in {}) && Object.keys(Object.prototype).length === 0, 'Object.prototype was changed');
  if (loaded.scenario === undefined) {
    complaints(loaded, input.text, overrides);
    return 'refused';
  }
  const { scenario } = loaded;
  checkScenario(scenario, 'si');
  const limit = Math.min(scenario.values.run.workLimit, WORK_LIMIT);
  const { result } = replay(scenario, { units: 'si', trace: { begin() {}, row: finite }, work: { spent: 0, limit } });
  assert.ok(STOPS.includes(result.end.stop), `the run ended with "${result.end.stop}"`);
  assert.equal(result.work.limitReached, result.work.spent >= limit);
  assert.ok(!result.work.limitReached || !result.verdict.met, 'met at the work limit');
  const text = printReport(result);
  assert.doesNotMatch(text, UNPRINTABLE);
  assert.match(text, /^(NOT )?MET: /);
  JSON.parse(resultJson(result));
  numbers(result, 'result');
  return 'ran';
}

function complaints(loaded: Loaded, text: string, overrides: readonly string[]): void {
  const { faults, further } = loaded;
  assert.ok(faults.length > 0 && further >= 0, 'refused without a complaint');
  const lines = text
    .slice(0, 1_100_000)
    .replace(/^\ufeff/, '')
    .split(/\r\n|\r|\n/);
  for (const { file, line, column, message } of faults) {
    assert.ok(file === 'hostile.yaml' || file === '--set', file);
    const there = file === '--set' ? overrides[line - 1]?.replace(/[\r\n]/g, ' ') : lines[line - 1];
    assert.ok(there !== undefined, `line ${line} of ${lines.length}: ${message}`);
    assert.ok(column >= 1 && column <= there.length + 1, `column ${column} of ${there.length}: ${message}`);
    assert.ok(message.trim() !== '' && message.length < 1000, `message of ${message.length}`);
    const ours = message.replace(/"[^"]*"/g, '""');
    assert.doesNotMatch(ours, PROGRAMMER_WORDS);
  }
  const printed = formatFaults(loaded);
  assert.doesNotMatch(printed, UNPRINTABLE);
  for (const line of printed.split('\n'))
    assert.match(line, /^(hostile\.yaml|--set):\d+:\d+: error: \S|^ {2}|^$|^\.\.\. and \d+/);
}

function finite(row: Float64Array): void {
  for (const x of row) assert.ok(Number.isFinite(x), `a trace row holds ${x}`);
}

function numbers(part: unknown, where: string): void {
  if (typeof part === 'number') assert.ok(Number.isFinite(part), `${where} is ${part}`);
  else if (typeof part === 'object' && part !== null)
    for (const [key, inside] of Object.entries(part)) numbers(inside, `${where}.${key}`);
}
