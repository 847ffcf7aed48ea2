// `npm start`: replays the demo unless told what to do.
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.dirname(path.dirname(fileURLToPath(import.meta.url)));
if (process.argv.length === 2) process.argv.push('replay', path.join(root, 'scenarios', 'mill-creek.yaml'));
await import('../dist/bin/tripstroke.js');
