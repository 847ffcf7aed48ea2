/** Messages on a terminal: folded to its width, with the place in the file whole and first. */
import { describe, expect, test } from 'vitest';
import { folded, widthOf } from '../../bin/layout.ts';
import { messageWidth } from '../../bin/terminal.ts';
import { FAILING, Workplace } from './support.ts';

describe('folded', () => {
  const long = `deep/in/a folder/unit.yaml:12:9: error: valves.0.position: ${'much too long '.repeat(12)}`.trim();
  test.each([40, 60, 80, 120])('%d columns', (width) => {
    const lines = folded(long, width);
    expect(lines.length).toBeGreaterThan(1);
    expect(lines[0]).toMatch(/^deep\/in\/a folder\/unit\.yaml:12:9:/);
    for (const line of lines.slice(1)) expect(line).toMatch(/^ {4}\S/);
    for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
    expect(lines.map((line) => line.trim()).join(' ')).toBe(long);
  });
  test('a place longer than the line is not broken', () => {
    const place = `${'folder/'.repeat(20)}unit.yaml:3:1:`;
    expect(folded(`${place} error: wrong`, 80)).toEqual([place, '    error: wrong']);
  });
  test('what fits and excerpts of the file are left alone', () => {
    expect(folded('unit.yaml:3:1: error: wrong', 80)).toEqual(['unit.yaml:3:1: error: wrong']);
    const excerpt = `  ${'x '.repeat(60)}`;
    expect(folded(excerpt, 80)).toEqual([excerpt]);
  });
});

test('messages are folded at 80 columns at most on a terminal, and not at all elsewhere', () => {
  const stream = (isTTY: boolean, columns: number) => ({ isTTY, columns }) as NodeJS.WriteStream;
  expect(messageWidth(stream(true, 200))).toBe(80);
  expect(messageWidth(stream(true, 72))).toBe(72);
  expect(messageWidth(stream(true, 0))).toBe(80);
  expect(messageWidth(stream(false, 72))).toBe(Number.POSITIVE_INFINITY);
});

test('end to end: whole lines in a pipe, folded ones on what says it is a terminal', async () => {
  const place = new Workplace();
  try {
    place.write('unit.yaml', FAILING.replace('onTrip: closes', 'onTrip: shuts'));
    place.write('terminal.mjs', 'process.stderr.isTTY = true; process.stderr.columns = 60;');
    const message = 'unit.yaml:16:13: error: valves.0.onTrip: "shuts" is not one of closes, opens, stays, sequence';
    const piped = await place.run(['check', 'unit.yaml']);
    expect(piped.stderr).toBe(`${message}\n      onTrip: shuts\n              ^\n`);
    const shown = await place.run(['check', 'unit.yaml'], {
      env: { NODE_OPTIONS: `--import=file://${place.at('terminal.mjs')}` },
    });
    const lines = shown.stderr.trimEnd().split('\n');
    expect(
      lines
        .slice(0, -2)
        .map((line) => line.trim())
        .join(' '),
    ).toBe(message);
    expect(lines[0]).toMatch(/^unit\.yaml:16:13: error: /);
    expect(lines.filter((line) => line.length > 60)).toEqual([]);
  } finally {
    place.remove();
  }
});
