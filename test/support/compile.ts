/** Compiles what has changed, for tests that are started without `npm test`. */
import { spawnSync } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';

export default function setup(): void {
  const root = fileURLToPath(new URL('../../', import.meta.url));
  const tsc = createRequire(import.meta.url).resolve('typescript/bin/tsc');
  const { status } = spawnSync(process.execPath, [tsc, '-p', 'tsconfig.build.json'], {
    cwd: root,
    stdio: ['ignore', 2, 2],
  });
  if (status !== 0) throw new Error('the sources do not compile');
}
