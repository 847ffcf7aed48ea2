/**
 * A check: one figure that somebody else published or that was derived by another route, and how this program comes to
 * it. Checks run in the tests and, by `tripstroke selfcheck`, in the program where it is installed.
 */

/** How a figure was had. Closed list. */
export type Basis =
  /** Read in the document named. */
  | 'read'
  /** Read in somebody's copy of it. */
  | 'second hand'
  | 'from memory'
  /** Computed by separate code from a stated formula or from figures read; no printed answer. */
  | 'derived'
  /** Used in the trade; no source. */
  | 'common practice';

export interface Source {
  /** Document, with section, table or place; empty for what is common practice or needs none. */
  readonly document: string;
  readonly basis: Basis;
}

/** How far the program may be off. */
export interface Tolerance {
  readonly kind: 'relative' | 'absolute';
  /** A share of the figure, or an amount in its unit. */
  readonly size: number;
  /** Why not less. */
  readonly why: string;
}

export interface Check {
  /** What the checks are sorted by, for instance 'nozzle'. */
  readonly subject: string;
  /** The figure in words; together with the subject it names the check. */
  readonly quantity: string;
  /** Unit of both numbers as printed; empty for a plain number. */
  readonly unit: string;
  readonly expected: number;
  readonly source: Source;
  readonly within: Tolerance;
  /** What else a reader should know, for instance that the source has a slip. */
  readonly note?: string;
  /** The figure as this program has it, in `unit`. */
  readonly got: () => number;
}

export interface CheckResult {
  readonly check: Check;
  /** NaN where the program failed. */
  readonly got: number;
  /** got - expected. */
  readonly difference: number;
  /** The largest difference allowed, in the unit of the figure. */
  readonly allowed: number;
  readonly within: boolean;
  /** What the program said where it failed instead of answering. */
  readonly failure?: string;
}

/** The checks on one subject. */
export const about = (subject: string, figures: readonly Omit<Check, 'subject'>[]): readonly Check[] =>
  figures.map((figure) => ({ subject, ...figure }));

/** A figure of about(): what it is, its unit and value, how near is near enough, whose it is, and how we have it. */
export const figure = (
  quantity: string,
  unit: string,
  expected: number,
  within: Tolerance,
  source: Source,
  got: () => number,
  note?: string,
): Omit<Check, 'subject'> => ({
  quantity,
  unit,
  expected,
  source,
  within,
  got,
  ...(note === undefined ? {} : { note }),
});

export const relative = (size: number, why: string): Tolerance => ({ kind: 'relative', size, why });
export const absolute = (size: number, why: string): Tolerance => ({ kind: 'absolute', size, why });

export const read = (document: string): Source => ({ document, basis: 'read' });
export const secondHand = (document: string): Source => ({ document, basis: 'second hand' });
export const fromMemory = (document = ''): Source => ({ document, basis: 'from memory' });
export const derived = (document: string): Source => ({ document, basis: 'derived' });

/** Carries checks out, in order. Never throws: a program that fails is a check that is not met. */
export function runChecks(checks: readonly Check[]): readonly CheckResult[] {
  return checks.map((check) => {
    const allowed = check.within.kind === 'absolute' ? check.within.size : check.within.size * Math.abs(check.expected);
    try {
      const got = check.got();
      const difference = got - check.expected;
      return { check, got, difference, allowed, within: Math.abs(difference) <= allowed };
    } catch (error) {
      const failure = error instanceof Error ? error.message : String(error);
      return { check, got: Number.NaN, difference: Number.NaN, allowed, within: false, failure };
    }
  });
}

/** The source in words: "US Army TM 5-813-9, figure 4-5 (read)". */
export function sourceText({ document, basis }: Source): string {
  if (basis === 'common practice') return 'common practice, no source';
  return document === '' ? basis : `${document} (${basis})`;
}

/** The four numbers of a result as they are printed. */
export interface CheckNumbers {
  readonly expected: string;
  readonly got: string;
  readonly difference: string;
  readonly allowed: string;
}

/**
 * Numbers of a result for a table. The figure got has two digits more than the one expected, twelve at most; a
 * difference under 1e-12 of the figure, or under 1e-15, is rounding, which differs between computers: printed as 0.
 */
export function checkNumbers({ check, got, difference, allowed }: CheckResult): CheckNumbers {
  const expected = String(check.expected);
  const digits = expected.replace(/e.*$/, '').replace(/[-.]/g, '').replace(/^0+/, '').length;
  const rounding = Math.abs(difference) <= Math.max(1e-12 * Math.abs(check.expected), 1e-15);
  const shown = rounding ? check.expected : got;
  return {
    expected,
    got: Number.isFinite(got) ? String(Number(shown.toPrecision(Math.min(12, digits + 2)))) : 'failed',
    difference: rounding ? '0' : Number.isFinite(difference) ? short(difference) : '-',
    allowed: short(allowed),
  };
}

/** Two digits, without an exponent where that is as short. */
function short(x: number): string {
  const plain = String(Number(x.toPrecision(2)));
  return plain.length <= 7 ? plain : x.toExponential(1).replace('.0e', 'e');
}

/** Keeps what a run gives, so that several figures come from one run. */
export function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | undefined;
  return () => (made ??= { value: make() }).value;
}
