import os from 'node:os';
import path from 'node:path';
import { defineConfig } from 'vitest/config';

/** What the package exports, from source. */
const source = (file: string) => path.join(import.meta.dirname, file);

export default defineConfig({
  resolve: {
    alias: [
      { find: /^tripstroke$/, replacement: source('scenarios/index.ts') },
      { find: /^tripstroke\/models$/, replacement: source('models/index.ts') },
      { find: /^tripstroke\/sim$/, replacement: source('sim/index.ts') },
      { find: /^tripstroke\/checks$/, replacement: source('scenarios/checks/index.ts') },
    ],
  },
  test: {
    // No test changes what another reads, so files share their modules.
    isolate: false,
    maxWorkers: os.availableParallelism(),
    include: ['test/**/*.test.ts'],
    globalSetup: ['test/support/browser.ts'],
    setupFiles: ['test/support/setup.ts'],
    testTimeout: 60_000,
  },
});
