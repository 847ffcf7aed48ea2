import { test } from 'vitest';
import { randomCase } from '../engine/second/randomCase.ts';
import { secondSolution } from '../engine/second/solution.ts';
test('hang', () => { secondSolution(randomCase(Number(process.env['FROM']))); });
