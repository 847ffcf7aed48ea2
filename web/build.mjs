// Bundles what runs in a browser: dist/web/report.js (one script, to be put into a report) and dist/web/desk/ (the page).
import { existsSync } from 'node:fs';
import path from 'node:path';
import { build } from 'vite';

const at = (...parts) => path.join(import.meta.dirname, ...parts);
const out = path.join(import.meta.dirname, '..', 'dist', 'web');
const common = { configFile: false, logLevel: 'warn', publicDir: false };

if (existsSync(at('report', 'client.ts')))
  await build({
    ...common,
    root: at('report'),
    build: {
      outDir: path.join(out, 'bundle'),
      emptyOutDir: true,
      lib: { entry: at('report', 'client.ts'), formats: ['iife'], name: 'report', fileName: () => 'report.js' },
    },
  });

if (existsSync(at('desk', 'index.html')))
  await build({
    ...common,
    root: at('desk'),
    base: './',
    worker: { format: 'es' },
    build: { outDir: path.join(out, 'desk-page'), emptyOutDir: true, assetsInlineLimit: 0, modulePreload: false },
  });
