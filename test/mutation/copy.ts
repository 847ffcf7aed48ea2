/**
 * A copy of the program and its tests in a temporary folder, types taken off, in which sources can be altered one at a
 * time and checks be run against them.
 */
import { fork } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import ts from 'typescript';

/** What to run: test files by their path, or 'checks' for the figures from outside. */
export interface Errand {
  readonly files: readonly string[];
  /** Processor time that each may take, s; '' is for loading. */
  readonly allowed_s: Readonly<Record<string, number>>;
  /** Share of the usual cases of a law that is tried. */
  readonly lawShare: number;
}

export interface Answer {
  readonly file: string;
  readonly computed_s: number;
  /** The test that failed, or one check a line. */
  readonly failure?: { readonly name: string; readonly message: string } | undefined;
  /** Places reached that were noted. */
  readonly hits: readonly number[];
}

export interface Copy {
  /** Puts another text in place of a source file. */
  write(file: string, text: string): void;
  restore(file: string): void;
  /** Runs an errand in a fresh process; without the answers that it did not live to give. */
  run(errand: Errand): Promise<readonly Answer[]>;
  remove(): void;
}

const ROOMS = ['sim', 'models', 'scenarios', 'studies', 'bin', 'test'];

export function makeCopy(root: string): Copy {
  const folder = mkdtempSync(path.join(tmpdir(), 'tripstroke-altered-'));
  const write = (file: string, text: string): void => {
    const { outputText } = ts.transpileModule(text, {
      fileName: file,
      compilerOptions: {
        target: ts.ScriptTarget.ES2023,
        module: ts.ModuleKind.ESNext,
        verbatimModuleSyntax: true,
        rewriteRelativeImportExtensions: true,
      },
    });
    writeFileSync(path.join(folder, file.replace(/\.ts$/, '.js')), outputText);
  };
  const sourceOf = (file: string) => readFileSync(path.join(root, file), 'utf8');

  for (const room of ROOMS) {
    for (const entry of readdirSync(path.join(root, room), { recursive: true, withFileTypes: true })) {
      const file = path.relative(root, path.join(entry.parentPath, entry.name)).replaceAll('\\', '/');
      if (entry.isDirectory()) mkdirSync(path.join(folder, file), { recursive: true });
      else {
        mkdirSync(path.join(folder, path.dirname(file)), { recursive: true });
        cpSync(path.join(root, file), path.join(folder, file));
        if (/(?<!\.d)\.ts$/.test(file)) write(file, sourceOf(file));
      }
    }
  }
  cpSync(path.join(root, 'README.md'), path.join(folder, 'README.md'));
  const manifest = JSON.parse(sourceOf('package.json'));
  const exported = Object.entries<string | { default: string }>(manifest.exports).map(([name, to]) => [
    name,
    (typeof to === 'string' ? to : to.default).replace('./dist/', './'),
  ]);
  writeFileSync(
    path.join(folder, 'package.json'),
    JSON.stringify({ ...manifest, exports: Object.fromEntries(exported) }),
  );

  // The packages as installed, but for vitest.
  const packages = path.join(folder, 'node_modules');
  mkdirSync(path.join(packages, 'vitest'), { recursive: true });
  for (const name of readdirSync(path.join(root, 'node_modules'))) {
    if (name !== 'vitest' && !name.startsWith('.'))
      symlinkSync(path.join(root, 'node_modules', name), path.join(packages, name), 'junction');
  }
  const standIn = `export * from '../../test/mutation/standIn.js';`;
  writeFileSync(path.join(packages, 'vitest', 'index.js'), standIn);
  writeFileSync(path.join(packages, 'vitest', 'package.json'), '{ "type": "module", "main": "index.js" }');

  return {
    write,
    restore: (file) => write(file, sourceOf(file)),
    run: (errand) =>
      new Promise((done) => {
        const answers: Answer[] = [];
        const child = fork(path.join(folder, 'test/mutation/child.js'), [JSON.stringify(errand)], {
          cwd: folder,
          stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
          env: { ...process.env, TRIPSTROKE_SHRINK: '0' },
          serialization: 'advanced',
        });
        child.on('message', (answer) => answers.push(answer as Answer));
        child.on('close', () => done(answers));
      }),
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
