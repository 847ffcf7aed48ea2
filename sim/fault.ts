/** A fault of the program, never of its input: an assertion failed, a ledger did not close, a step came to nothing. */
export class ProgramFault extends Error {
  override name = 'ProgramFault';
}

export function assert(condition: boolean, message: string): asserts condition {
  if (!condition) throw new ProgramFault(message);
}
