/**
 * The proof that a wrong program fails: every one of `CANARIES` is built and run against the check that has to notice it.
 * One that goes unnoticed fails here. TRIPSTROKE_CANARY=all tries them all.
 */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Copy, makeCopy } from '../mutation/copy.ts';
import { CANARIES } from './places.ts';

const root = path.join(import.meta.dirname, '../..');
const all = process.env['TRIPSTROKE_CANARY'] === 'all';
const chosen = CANARIES.filter((canary) => all || canary.always);
/** Far over what any of these files takes, s. */
const ALLOWED_s = 120;
/** Fewer cases than a law is usually tried on: enough to notice. */
const LAW_SHARE = 1 / 8;
const PATIENCE_ms = 300_000;

const textOf = (file: string) => readFileSync(path.join(root, file), 'utf8');

let copy: Copy;
beforeAll(() => {
  copy = makeCopy(root);
}, PATIENCE_ms);
afterAll(() => copy.remove());

const run = (files: readonly string[]) =>
  copy.run({ files, allowed_s: Object.fromEntries(files.map((file) => [file, ALLOWED_s])), lawShare: LAW_SHARE });

test.each(CANARIES)('$place: the text stands once in its file', ({ file, good }) => {
  expect(textOf(file).split(good), `"${good}" in ${file}`).toHaveLength(2);
});

test(
  'unaltered, all of them pass',
  async () => {
    const files = [...new Set(chosen.map((canary) => canary.noticedBy))];
    const answers = (await run(files)).map(({ file, failure }) => ({ file, failure }));
    expect(answers).toEqual(['', ...files].map((file) => ({ file, failure: undefined })));
  },
  PATIENCE_ms,
);

test.each(chosen)(
  '$place',
  async ({ place, file, good, bad, noticedBy, failing }) => {
    copy.write(file, textOf(file).replace(good, bad));
    const answers = await run([noticedBy]);
    copy.restore(file);
    const answer = answers.find((a) => a.file === noticedBy);
    expect(answer, `${place}: ${noticedBy} neither passed nor failed`).toBeDefined();
    expect(answer?.failure, `${place}: ${noticedBy} does not notice`).toBeDefined();
    expect(answer?.failure?.name, place).toMatch(failing);
  },
  PATIENCE_ms,
);

test('there are a dozen places, in sim, models and scenarios, each known by its name', () => {
  expect(new Set(CANARIES.map((canary) => canary.place)).size).toBe(CANARIES.length);
  expect(CANARIES.length).toBeGreaterThanOrEqual(12);
  for (const room of ['sim/', 'models/', 'scenarios/'])
    expect(CANARIES.some((canary) => canary.file.startsWith(room))).toBe(true);
});
