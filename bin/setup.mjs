// Brings a bare clone to a runnable state: installs when the lock file is newer than what is installed, compiles when
// a source is newer than the last complete build. Plain JavaScript without dependencies, so that it can run first.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
const at = (...parts) => path.join(root, ...parts);
const mtime = (file) => (existsSync(file) ? statSync(file).mtimeMs : 0);

/** Runs npm with its output on stderr, so that stdout holds only what the program prints. */
function npm(args) {
  const cli = /npm-cli\.js$/.test(process.env.npm_execpath ?? '') ? process.env.npm_execpath : undefined;
  const options = { cwd: root, stdio: ['ignore', 2, 2] };
  const run = cli
    ? spawnSync(process.execPath, [cli, ...args], options)
    : spawnSync('npm', args, { ...options, shell: process.platform === 'win32' });
  if (run.status !== 0) {
    console.error(`setup: "npm ${args.join(' ')}" failed; the lines above say why`);
    process.exit(run.status ?? 1);
  }
}

const [major, minor] = process.versions.node.split('.').map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  console.error(`setup: Node.js 20.19 or newer is needed; this is ${process.versions.node}`);
  process.exit(1);
}

if (mtime(at('package-lock.json')) > mtime(at('node_modules', '.package-lock.json'))) {
  npm(['ci', '--include=dev', '--no-audit', '--no-fund']);
}

const folders = [
  'sim',
  'models',
  'scenarios',
  'studies',
  'bin',
  'web',
  path.join('test', 'bench'),
  path.join('test', 'mutation'),
];
/** What web/build.mjs writes; it empties these itself. */
const bundled = [path.join('web', 'bundle'), path.join('web', 'desk-page')];
let newest = Math.max(mtime(at('tsconfig.json')), mtime(at('package.json')));
const sources = new Set();
for (const folder of folders) {
  if (!existsSync(at(folder))) continue;
  newest = Math.max(newest, mtime(at(folder)));
  for (const entry of readdirSync(at(folder), { recursive: true, withFileTypes: true })) {
    const file = path.join(entry.parentPath ?? entry.path, entry.name);
    if (entry.isDirectory()) newest = Math.max(newest, mtime(file));
    if (!entry.isFile() || !/\.(ts|css|html|mjs)$/.test(entry.name)) continue;
    newest = Math.max(newest, mtime(file));
    sources.add(path.relative(root, file).replace(/\.ts$/, '.js'));
  }
}

const stamp = at('dist', '.built');
if (process.argv.includes('--clean')) rmSync(at('dist'), { recursive: true, force: true });
if (newest > mtime(stamp) || !existsSync(at('dist', 'bin', 'tripstroke.js'))) {
  npm(['run', '--silent', 'build']);
  for (const folder of folders) {
    // A source that was deleted or renamed must not live on in dist.
    if (!existsSync(at('dist', folder))) continue;
    for (const entry of readdirSync(at('dist', folder), { recursive: true, withFileTypes: true })) {
      if (!entry.isFile() || !entry.name.endsWith('.js')) continue;
      const file = path.join(entry.parentPath ?? entry.path, entry.name);
      const name = path.relative(at('dist'), file);
      if (sources.has(name) || bundled.some((made) => name.startsWith(made))) continue;
      for (const old of [file, `${file}.map`, file.replace(/\.js$/, '.d.ts')]) rmSync(old, { force: true });
    }
  }
  mkdirSync(at('dist'), { recursive: true });
  writeFileSync(stamp, '');
}
