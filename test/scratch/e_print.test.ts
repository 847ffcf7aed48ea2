import { test } from 'vitest';
import { randomCase } from '../engine/second/randomCase.ts';
test('p', () => { console.log(JSON.stringify(randomCase(Number(process.env['FROM'])), undefined, 1)); });
