/**
 * Where the unit reader gets mathjs from. The usual units are read from exact factors of our own, and importing mathjs costs
 * more than replaying a scenario: so the command provides it only when a file asks for an unusual unit, or has a
 * fault in one. The library provides it at once (index.ts).
 */
import type { MathJsInstance } from 'mathjs';

/** A text asks for mathjs and nobody has provided it yet. */
export class UnitsNotLoaded extends Error {
  override name = 'UnitsNotLoaded';
}

let provided: MathJsInstance | undefined;

export function provideMathUnits(math: MathJsInstance): void {
  provided = math;
}

export function mathUnits(): MathJsInstance {
  if (provided === undefined) throw new UnitsNotLoaded('mathjs is needed to read a unit');
  return provided;
}
