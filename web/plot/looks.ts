/** How lines are told apart: by dashes first, by colour besides. Colours are names of variables of the style sheet. */
export interface Look {
  readonly colour: string;
  readonly dash: readonly number[];
}

const DASHES: readonly (readonly number[])[] = [[], [7, 3], [2, 2.5], [9, 3, 2, 3], [14, 4], [4, 2, 1, 2, 1, 2]];
const COLOURS = 6;

/** The look of the line with this number, from 0. */
export function lookOf(line: number): Look {
  return {
    colour: `--line-${(line % COLOURS) + 1}`,
    dash: DASHES[(line + Math.floor(line / COLOURS)) % DASHES.length]!,
  };
}
