/**
 * The ledger: every account equals its stock at the start plus the signed totals of its paths. The physics' own stock is
 * compared with the account, so a transfer booked on one side only cannot pass.
 */
export interface Account {
  readonly name: string;
  readonly unit: string;
  /** The stock as the physics has it. */
  readonly stock: (y: Float64Array) => number;
  /** Total slots with their sign. */
  readonly paths: readonly (readonly [number, 1 | -1])[];
  /** Size of the account: what went in along a path and came back along it has left no trace in the totals but rounding. */
  readonly size: number;
}

export function account(
  name: string,
  unit: string,
  stock: (y: Float64Array) => number,
  paths: readonly (readonly [number, 1 | -1])[],
  size = 1e-12,
): Account {
  return { name, unit, stock, paths, size };
}

export interface Residual {
  readonly account: string;
  /** Difference over the larger of the stock at the start and the amount moved. */
  readonly relative: number;
}

/** The account that closes worst between two states of one run. */
export function worstResidual(accounts: readonly Account[], start: Float64Array, y: Float64Array): Residual {
  let worst: Residual = { account: '', relative: 0 };
  for (const { name, stock, paths, size } of accounts) {
    const before = stock(start);
    let moved = 0;
    let amount = 0;
    let owed = 0;
    for (const [slot, sign] of paths) {
      // Compensated, so that the check adds no rounding of its own.
      const term = sign * (y[slot] - start[slot]) - owed;
      const next = moved + term;
      owed = next - moved - term;
      moved = next;
      amount += Math.abs(y[slot] - start[slot]);
    }
    const relative = Math.abs(stock(y) - before - moved) / Math.max(Math.abs(before), amount, size);
    if (!(relative <= worst.relative)) worst = { account: name, relative };
  }
  return worst;
}
