// `npm start`: replays the demo unless told what to do. The demo's own results may be replaced.
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
if (process.argv.length === 2) {
  const demo = path.relative(process.cwd(), path.join(root, 'scenarios', 'mill-creek.yaml'));
  process.argv.push('replay', demo, '--force');
}
await import('../dist/bin/tripstroke.js');
