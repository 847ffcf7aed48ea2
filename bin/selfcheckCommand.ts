/** `selfcheck`: figures from outside the program against the program as it is installed here. */
import {
  CHECKS,
  type Check,
  type CheckResult,
  checkNumbers,
  runChecks,
  sourceText,
} from '../scenarios/checks/index.ts';
import { VERSION } from '../scenarios/version.ts';
import { Exit } from './exitCodes.ts';
import { paragraph, type Row, table, WIDTH } from './layout.ts';
import { type Paint, paintStdout, say } from './terminal.ts';

/** What a record of a self-check says about where and when it was made. */
export interface Circumstances {
  /** ISO 8601. */
  readonly date: string;
  /** Version of Node.js, "v20.19.0". */
  readonly node: string;
  /** "linux x64". */
  readonly system: string;
}

export const SELFCHECK_SCHEMA_VERSION = 1;

export function selfcheckCommand(
  options: { readonly json?: boolean | undefined },
  circumstances: Circumstances,
  checks: readonly Check[] = CHECKS,
): Exit {
  const results = runChecks(checks);
  say(options.json ? selfcheckJson(results, circumstances) : printSelfcheck(results, circumstances, paintStdout));
  return results.every((r) => r.within) ? Exit.met : Exit.notMet;
}

/** The results as text of 80 columns, with a line end after its last line. */
export function printSelfcheck(results: readonly CheckResult[], circumstances: Circumstances, paint: Paint): string {
  const { date, node, system } = circumstances;
  const missed = results.filter((r) => !r.within);
  const [verdict, ...more] =
    missed.length === 0
      ? paragraph('MET: ', `all ${results.length} figures lie within their tolerance.`, WIDTH)
      : paragraph('NOT MET: ', `${missed.length} of ${results.length} figures lie outside their tolerance.`, WIDTH);
  const lines = [
    missed.length === 0 ? verdict : paint('bad', verdict),
    ...more,
    `tripstroke ${VERSION}, Node.js ${node.replace(/^v/, '')}, ${system}, ${date}`,
    '',
    ...missed.flatMap(missedLines),
    ...(missed.length === 0 ? [] : ['']),
    ...table(
      [
        { head: 'Figure' },
        { head: 'Expected', right: true },
        { head: 'Got', right: true },
        { head: 'Off by', right: true },
        { head: 'Within' },
      ],
      results.map((result, k) => rowOf(result, results[k + 1], paint)),
      WIDTH,
    ).flatMap((line, k) => (k === 0 ? [line, ...subjectLines(results[0])] : [line])),
  ];
  return `${lines.join('\n')}\n`;
}

/** A result, with the name of the next subject below the last of a subject. */
function rowOf(result: CheckResult, next: CheckResult | undefined, paint: Paint): Row {
  const { check, within } = result;
  const { expected, got, difference } = checkNumbers(result);
  return {
    cells: [named(check), expected, got, difference, within ? 'yes' : 'NO'],
    paint: (text, cell) => (cell === 4 && !within ? paint('bad', text) : text),
    below: next?.check.subject === check.subject ? [] : subjectLines(next),
  };
}

const subjectLines = (first: CheckResult | undefined): string[] =>
  first === undefined ? [] : ['', `${first.check.subject[0].toUpperCase()}${first.check.subject.slice(1)}:`];

/** What to look at first: the figures that are off, with the tolerance, the source, and what broke. */
function missedLines(result: CheckResult): string[] {
  const { check, failure } = result;
  const { expected, got, difference, allowed } = checkNumbers(result);
  const off =
    failure === undefined ? `${got} for ${expected}, off by ${difference}, ${allowed} allowed` : `failed: ${failure}`;
  return paragraph('  ', `${check.subject}: ${named(check)}: ${off}. Source: ${sourceText(check.source)}.`, WIDTH);
}

const named = ({ quantity, unit }: Check) => (unit === '' ? quantity : `${quantity}, ${unit}`);

/** The results as JSON, numbers as they are; null where the program failed to give one. */
export function selfcheckJson(results: readonly CheckResult[], circumstances: Circumstances): string {
  const record = {
    schemaVersion: SELFCHECK_SCHEMA_VERSION,
    program: `tripstroke ${VERSION}`,
    ...circumstances,
    met: results.every((r) => r.within),
    checks: results.map(({ check, got, difference, allowed, within, failure }) => ({
      subject: check.subject,
      quantity: check.quantity,
      unit: check.unit,
      expected: check.expected,
      got,
      difference,
      allowed,
      within,
      tolerance: check.within,
      source: check.source,
      note: check.note ?? null,
      failure: failure ?? null,
    })),
  };
  return `${JSON.stringify(record, undefined, 2)}\n`;
}
