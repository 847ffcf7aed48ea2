/**
 * An invented visit: the sheet of a scenario filled in by a unit that is not quite as its file says. What it reads is what the
 * engine gives for that other unit, with noise of the instruments, rounded as read. Nothing of it was measured anywhere.
 */
import seedrandom from 'seedrandom';
import { loadScenario } from '../../scenarios/index.ts';
import { VERSION } from '../../scenarios/version.ts';
import { linesOf, makeSheet, type Sheet } from '../../studies/sheet.ts';
import { printed, type SheetIdentity, sheetCsv } from '../../studies/sheetCsv.ts';
import { scenarioHash } from '../../web/sha256.ts';

export interface Visit {
  readonly text: string;
  readonly file: string;
  readonly units: 'us' | 'si';
  /** How the unit truly is, as of `--set`. */
  readonly truth: readonly string[];
  /** Changes of the truth after adjustment, for what is read as left. */
  readonly adjusted: readonly string[];
  readonly seed: string;
  readonly date: string;
  /** Notes by line. */
  readonly notes?: Readonly<Record<string, string>>;
  /** Share of the accuracy of each instrument that its noise is, at most. */
  readonly noise?: number;
}

export function sheetAs(text: string, file: string, units: 'us' | 'si', overrides: readonly string[] = []): Sheet {
  const { scenario, faults } = loadScenario(text, { file, overrides });
  if (scenario === undefined) throw new Error(faults.map((f) => f.message).join('; '));
  return makeSheet(scenario.values, scenario.plant, { units });
}

export const identityOf = (text: string, file: string, title: string, units: 'us' | 'si'): SheetIdentity => ({
  file,
  title,
  hash: scenarioHash(text),
  changes: [],
  version: VERSION,
  units,
  temperature: undefined,
});

/** Noise of a reading, at most, in the unit it is read in: what eye and needle leave. */
const NOISE = {
  us: { pressure: 0.4, length: 0.06, time: 0.3, fraction: 1 },
  si: { pressure: 0.025, length: 1.5, time: 0.3, fraction: 1 },
};

/** The filled table. */
export function visitCsv(visit: Visit): string {
  const { text, file, units, noise = 1 } = visit;
  const sheet = sheetAs(text, file, units);
  const found = new Map(linesOf(sheetAs(text, file, units, visit.truth)).map((l) => [l.id, l]));
  const left = new Map(linesOf(sheetAs(text, file, units, [...visit.truth, ...visit.adjusted])).map((l) => [l.id, l]));
  const random = seedrandom.alea(visit.seed);
  const title = loadScenario(text, { file }).scenario!.values.title;
  const blank = sheetCsv(sheet, identityOf(text, file, title, units));
  const lines = new Map(linesOf(sheet).map((l) => [l.id, l]));
  return blank
    .split('\n')
    .map((row) => {
      if (row === 'date,') return `date,${visit.date}`;
      if (row === 'read by,') return 'read by,nobody: made by the engine with noise; nothing of it was measured';
      const id = /^([A-Z]+\d+[a-z]+),/.exec(row)?.[1];
      const line = id === undefined ? undefined : lines.get(id);
      if (line === undefined || !row.endsWith(',,,')) return row;
      const note = visit.notes?.[line.id] ?? '';
      const put = (a: string, b: string) => `${row.slice(0, -3)},${a},${b},${note}`;
      if (line.kind === 'answer') return put((found.get(line.id) as typeof line | undefined)?.expected ?? '', '');
      const p = printed(line, sheet);
      const read = (from: typeof found) => {
        const other = from.get(line.id);
        const wobble = (2 * random() - 1) * NOISE[units][line.dimension] * noise;
        if (other?.kind !== 'reading') return '';
        // Where the file says nothing of a reset the switch has the deadband that the engine takes.
        const fallback = line.above === undefined ? partnerOf(line.id, from) : partnerOf(line.above, from);
        const value =
          other.expected === undefined
            ? fallback + (line.id.endsWith('r') ? 1 : -1) * RESET[units][line.dimension]
            : p.number(other.expected);
        return p.text(value + wobble);
      };
      const partnerOf = (of: string, from: typeof found): number => {
        const id =
          line.above === of ? of : [...from.values()].find((l) => l.kind === 'reading' && l.above === line.id)?.id;
        const other = id === undefined ? undefined : from.get(id);
        return other?.kind === 'reading' && other.expected !== undefined ? p.number(other.expected) : Number.NaN;
      };
      const asFound = read(found);
      return put(
        asFound,
        line.adjustable ? (visit.adjusted.length === 0 ? asFound : sameOr(asFound, read(left), line.id)) : '',
      );
    })
    .join('\n');

  /** What was not adjusted reads as it did; the reset of a switch goes with its trip. */
  function sameOr(asFound: string, asLeft: string, id: string): string {
    const line = lines.get(id);
    const of = (at: string, from: typeof found) => {
      const l = from.get(at);
      return l?.kind === 'reading' ? l.expected : undefined;
    };
    const own = of(id, found) !== undefined;
    const partner = line?.kind !== 'reading' || own ? id : (line.above ?? partnerId(id));
    return of(partner, found) === of(partner, left) ? asFound : asLeft;
  }

  function partnerId(id: string): string {
    return [...lines.values()].find((l) => l.kind === 'reading' && l.above === id)?.id ?? id;
  }
}

/** Deadbands of switches whose file gives none, in the unit that is read. */
const RESET = {
  us: { pressure: 2.2, length: 0.4, time: 0, fraction: 0 },
  si: { pressure: 0.15, length: 10, time: 0, fraction: 0 },
};
