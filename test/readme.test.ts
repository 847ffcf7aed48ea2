/** The examples in the README are what the program prints. TRIPSTROKE_UPDATE=1 rewrites them. */
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { scenarioSchema, VERSION } from '../scenarios/index.ts';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
const at = (...parts: string[]) => path.join(root, ...parts);
const update = process.env['TRIPSTROKE_UPDATE'] === '1';

/** Splits a command line at spaces, double quotes keeping words together. */
const words = (line: string) => [...line.matchAll(/"([^"]*)"|(\S+)/g)].map((m) => m[1] ?? m[2]);

test('examples', { timeout: 300_000 }, () => {
  const readme = readFileSync(at('README.md'), 'utf8');
  const pattern = /<!-- example: (.+?) -->\n(?:\n```text\n[\s\S]*?```\n)?/g;
  let count = 0;
  const fresh = readme.replace(pattern, (_all, command: string) => {
    count++;
    const run = spawnSync(
      process.execPath,
      [
        at('dist/bin/tripstroke.js'),
        ...words(command),
        ...(command.startsWith('replay') ? ['--no-files', '--quiet'] : []),
      ],
      {
        cwd: root,
        encoding: 'utf8',
        env: { ...process.env, NO_COLOR: '1' },
      },
    );
    return `<!-- example: ${command} -->\n\n\`\`\`text\n$ tripstroke ${command}\n${run.stdout.trimEnd()}\n\`\`\`\n`;
  });
  expect(count).toBeGreaterThanOrEqual(2);
  if (update) writeFileSync(at('README.md'), fresh);
  else expect(readme).toBe(fresh);
});

test('the schema file is the one made from the tables', () => {
  const fresh = `${JSON.stringify(scenarioSchema(), undefined, 2)}\n`;
  if (update) writeFileSync(at('scenarios/scenario.schema.json'), fresh);
  else expect(readFileSync(at('scenarios/scenario.schema.json'), 'utf8')).toBe(fresh);
});

test('the version is that of the package', () => {
  expect(VERSION).toBe(JSON.parse(readFileSync(at('package.json'), 'utf8')).version);
});
