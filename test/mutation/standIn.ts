/**
 * What the tests import from vitest, with nothing around it: no server, no transformer, no reporter. A fresh process that
 * runs one test file begins in half a second instead of four. `expect` is vitest's own.
 */
import { format } from 'node:util';
import {
  ASYMMETRIC_MATCHERS_OBJECT,
  chai,
  GLOBAL_EXPECT,
  JestAsymmetricMatchers,
  JestChaiExpect,
  JestExtend,
  setState,
} from '@vitest/expect';

type Work = (context?: unknown) => unknown;

interface Collected {
  readonly name: string;
  readonly work: Work;
}

let tests: Collected[] = [];
let before: Work[] = [];
let after: Work[] = [];
let path: readonly string[] = [];

export const beforeAll = (work: Work): void => void tests.push({ name: '', work });
export const afterAll = (work: Work): void => void after.push(work);
export const beforeEach = (work: Work): void => void before.push(work);
export const afterEach = beforeEach;

function titled(title: string, row: unknown, args: readonly unknown[]): string {
  if (typeof row === 'object' && row !== null) {
    const named = title.replace(/\$(\w+)/g, (whole, key) => String((row as Record<string, unknown>)[key] ?? whole));
    if (named !== title) return named;
  }
  const places = title.match(/%[sdifjo]/g)?.length ?? 0;
  return format(title, ...args.slice(0, places));
}

function each(collect: (name: string, work: Work) => void) {
  return (rows: readonly unknown[]) => (title: string, work: (...args: never[]) => unknown) => {
    for (const row of rows) {
      const args = Array.isArray(row) ? row : [row];
      collect(titled(title, row, args), () => work(...(args as never[])));
    }
  };
}

function collectTest(name: string, first: unknown, second?: unknown): void {
  const work = (typeof first === 'function' ? first : second) as Work;
  const ready = before;
  tests.push({
    name: [...path, name].join(' > '),
    work: async () => {
      for (const hook of ready) await hook();
      await work({ task: { meta: {} } });
    },
  });
}

function collectSuite(name: string, work: Work): void {
  const [outer, hooks] = [path, before];
  path = [...path, name];
  before = [...before];
  work();
  path = outer;
  before = hooks;
}

type Collect = (name: string, first: unknown, second?: unknown) => void;

/** With what vitest hangs on `test` and `describe`. */
const extended = (collect: Collect) =>
  Object.assign(collect, {
    each: each(collect),
    skipIf: (skip: boolean): Collect => (skip ? () => {} : collect),
    runIf: (wanted: boolean): Collect => (wanted ? collect : () => {}),
  });
export const test = extended(collectTest);
export const it = test;
export const describe = extended(collectSuite as Collect);

chai.use(JestExtend);
chai.use(JestChaiExpect);
chai.use(JestAsymmetricMatchers);
const known = globalThis as unknown as Record<symbol, object>;
export const expect = Object.assign(
  (value: unknown, message?: string) => chai.expect(value, message),
  known[ASYMMETRIC_MATCHERS_OBJECT],
  { getState: () => ({ testPath: '' }), not: known[ASYMMETRIC_MATCHERS_OBJECT] },
);
known[GLOBAL_EXPECT] = expect;
setState({ assertionCalls: 0 }, expect as never);
export const assert = chai.assert;

/** Runs what a file has declared, up to its first failure. Returns that, or undefined. */
export async function runDeclared(): Promise<{ readonly name: string; readonly message: string } | undefined> {
  const [declared, ends] = [tests, after];
  [tests, after, before] = [[], [], []];
  try {
    for (const { name, work } of declared) {
      try {
        await work();
      } catch (error) {
        return { name, message: error instanceof Error ? error.message : String(error) };
      }
    }
    return undefined;
  } finally {
    for (const end of ends) await end();
  }
}
