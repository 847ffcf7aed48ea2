/** Exit codes of the command and which of several counts. */
export const Exit = { met: 0, notMet: 1, refused: 2, workLimit: 3, fault: 70, interrupted: 130 } as const;
export type Exit = (typeof Exit)[keyof typeof Exit];

const fromGoodToBad: readonly number[] = [
  Exit.met,
  Exit.notMet,
  Exit.workLimit,
  Exit.refused,
  Exit.interrupted,
  Exit.fault,
];

/** The worse of two exit codes. */
export function worse(a: Exit, b: Exit): Exit {
  return fromGoodToBad.indexOf(a) > fromGoodToBad.indexOf(b) ? a : b;
}
