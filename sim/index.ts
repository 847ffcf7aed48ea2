/** Time, state, integration, events and ledger. Knows no oil and no air. */
export * from './engine.ts';
export * from './fault.ts';
export * from './layout.ts';
export * from './ledger.ts';
export * from './system.ts';
export * from './tolerances.ts';
export * from './watch.ts';
