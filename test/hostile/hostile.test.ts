/**
 * Files and overrides as nobody should write them: 1000 here, any number with TRIPSTROKE_RUNS. A failure prints the line
 * that brings it back.
 */
import { law } from '../support/law.ts';
import { examine } from './examine.ts';
import { bytesOf, type HostileFile, hostileFile, hostileOverride, SHORT_BASE } from './mutate.ts';

const show = (file: HostileFile) => `${JSON.stringify(file)}\n${bytesOf(file).toString('utf-8').slice(0, 20_000)}`;

law(
  'a hostile file runs to a named end or is refused with places',
  { runs: 1000, seed: 1, show },
  hostileFile,
  (file) => {
    examine(bytesOf(file));
  },
);

law('so does a hostile override', { runs: 300, seed: 2, show: String }, hostileOverride, (override) => {
  examine(Buffer.from(SHORT_BASE), [override]);
});
