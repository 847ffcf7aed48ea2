// Bundles what runs in a browser: dist/web/bundle/report.js (one script, to be put into a report) and dist/web/desk-page/ (the page).
import { copyFileSync, existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { build } from 'vite';

const at = (...parts) => path.join(import.meta.dirname, ...parts);
const out = path.join(import.meta.dirname, '..', 'dist', 'web');
// What is bundled is copied, so its licence goes with it.
const licence = readFileSync(at('..', 'node_modules', 'uplot', 'LICENSE'), 'utf-8').trim();
const withLicence = {
  name: 'licence',
  generateBundle(_options, bundle) {
    for (const file of Object.values(bundle))
      if (file.type === 'chunk' && file.code.includes('uplot')) file.code = `/* uPlot. ${licence} */\n${file.code}`;
  },
};
// How long a plugin takes is of no interest to who starts the program.
const quiet = { rolldownOptions: { checks: { pluginTimings: false } } };
const common = { configFile: false, logLevel: 'warn', publicDir: false, plugins: [withLicence] };

if (existsSync(at('report', 'client.ts')))
  await build({
    ...common,
    root: at('report'),
    build: {
      ...quiet,
      outDir: path.join(out, 'bundle'),
      emptyOutDir: true,
      lib: { entry: at('report', 'client.ts'), formats: ['iife'], name: 'report', fileName: () => 'report.js' },
    },
  });

if (existsSync(at('desk', 'index.html'))) {
  await build({
    ...common,
    root: at('desk'),
    base: './',
    worker: { format: 'es' },
    build: {
      ...quiet,
      outDir: path.join(out, 'desk-page'),
      emptyOutDir: true,
      assetsInlineLimit: 0,
      modulePreload: false,
    },
  });
  // For the reports that the desk makes.
  copyFileSync(path.join(out, 'bundle', 'report.js'), path.join(out, 'desk-page', 'report.js'));
}
