import type { Plant } from '../models/plant.ts';
import type { Accuracies, CauseAnswer } from './explain.ts';
export interface DecisiveTest {
  readonly text: string;
}
export function decisiveTest(_p: Plant, _c: readonly CauseAnswer[], _a: Accuracies): DecisiveTest | undefined {
  return undefined;
}
