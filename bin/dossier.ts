/**
 * The papers of a dossier as texts, and two of them compared. The same scenario and options give the same texts: no clock is
 * read here, and what a dossier says of when and where it was made is handed in.
 */
import { CHECKS, runChecks } from '../scenarios/checks/index.ts';
import { type Loaded, loadScenario, type Scenario } from '../scenarios/load.ts';
import { checkScenario, replay } from '../scenarios/replay.ts';
import { staircase } from '../scenarios/staircase.ts';
import type { UnitSystem } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import { examineFaults, type FaultAnswer, INTERVAL_s, REPAIR_s } from '../studies/faults.ts';
import { revealWords, span } from '../studies/faultsWords.ts';
import { sheetCsv } from '../studies/sheetCsv.ts';
import { findWorst, type WorstAnswer, worstOverrides } from '../studies/worst.ts';
import { answerWords } from '../studies/worstWords.ts';
import { type DossierFile, dossierPage, type FaultRow } from '../web/papers/dossierPage.ts';
import { sheetPage } from '../web/papers/sheetPage.ts';
import { scenarioHash, sha256Hex } from '../web/sha256.ts';
import { faultsCsv } from './faultsCommand.ts';
import { clockTime } from './layout.ts';
import { printCheck, printReport, resultJson } from './print.ts';
import { printFaults } from './printFaults.ts';
import { printWorst } from './printWorst.ts';
import { type Circumstances, printSelfcheck, selfcheckJson } from './selfcheckCommand.ts';
import { commandLine, setParts, sheetOf } from './sheets.ts';
import { answerJson } from './study.ts';
import { paintNothing } from './terminal.ts';

/** What a dossier is made with; recorded in its manifest. */
export interface DossierOptions {
  readonly units: UnitSystem;
  readonly set: readonly string[];
  readonly temperature: string | undefined;
  readonly instants: number | undefined;
  /** Longest service that is followed, s. */
  readonly service_s: number | undefined;
  readonly interval_s: number | undefined;
  readonly repair_s: number | undefined;
  /** Only faults with this text. */
  readonly only: string | undefined;
}

export interface Dossier {
  /** Texts by name of file, without the manifest. */
  readonly files: ReadonlyMap<string, string>;
  readonly title: string;
  readonly met: boolean;
  /** Verdict in one sentence. */
  readonly verdict: string;
  readonly faults: { readonly run: number; readonly defeat: number; readonly hidden: number };
  readonly selfcheck: { readonly figures: number; readonly missed: number };
}

/** Name of the scenario in its dossier, whatever it was called outside. */
export const SCENARIO = 'scenario.yaml';

type Progress = (share: number, detail?: string) => void;

/** Makes all papers. Errors: ProgramFault when the program is at fault. */
export function makeDossier(
  text: string,
  options: DossierOptions,
  circumstances: Circumstances,
  onProgress: Progress = () => {},
): Dossier | { readonly loaded: Loaded } | { readonly problem: string; readonly refused: boolean } {
  const { units, set } = options;
  const loaded = loadScenario(text, { file: SCENARIO, overrides: set });
  const { scenario } = loaded;
  if (scenario === undefined) return { loaded };
  const { values, plant } = scenario;
  const part = (from: number, to: number, detail: string) => (share: number) =>
    onProgress(from + (to - from) * share, detail);
  const files = new Map<string, string>([[SCENARIO, text]]);

  files.set('check.txt', checkText(scenario, units));

  // ---- The worst moment, and the verdict there
  const worst = findWorst(values, plant, {
    onProgress: part(0, 0.25, 'the worst moment'),
    ...(options.instants === undefined ? {} : { instants: options.instants }),
    ...(options.service_s === undefined ? {} : { longestService_s: options.service_s }),
  });
  files.set('worst.txt', printWorst(worst, scenario, { file: SCENARIO, units, set, paint: paintNothing }));
  files.set('worst.json', answerJson(scenario, worst));
  const required = plant.valves.some((v) => v.require !== undefined && v.strokes.length > 0);
  const moment = required ? worstOverrides(worst, values, plant) : [];
  const at = loadScenario(text, { file: SCENARIO, overrides: [...set, ...moment] });
  if (at.scenario === undefined) return { loaded: at };
  const { result } = replay(at.scenario, { units, trace: false });
  files.set('verdict.txt', printReport(result));
  files.set('verdict.json', resultJson(result));

  // ---- Faults
  const interval_s = options.interval_s ?? INTERVAL_s;
  const repair_s = options.repair_s ?? REPAIR_s;
  const faults = examineFaults(values, plant, {
    units,
    interval_s,
    repair_s,
    ...(options.only === undefined ? {} : { only: options.only }),
    onProgress: part(0.25, 0.9, 'single faults'),
  });
  if (options.only !== undefined && faults.answers.length === 0)
    return {
      problem: `--only: no fault of this unit has "${options.only}" in its item or failure mode`,
      refused: true,
    };
  files.set(
    'faults.txt',
    printFaults(faults, scenario, { file: SCENARIO, units, set, interval_s, repair_s, all: true }),
  );
  files.set('faults.json', answerJson(scenario, faults));
  files.set('faults.csv', faultsCsv(faults.answers, scenario, units));

  // ---- Acceptance test
  const made = sheetOf({
    text,
    file: SCENARIO,
    set,
    units,
    temperature: options.temperature,
    onProgress: part(0.9, 0.98, 'the sheet'),
  });
  if ('loaded' in made) return { loaded: made.loaded };
  if ('tooLong' in made) return { problem: made.tooLong, refused: false };
  const { temperature } = options;
  const sheetCommand = commandLine(
    'tripstroke',
    'sheet',
    SCENARIO,
    ...setParts(set),
    ...(temperature === undefined ? [] : ['--temperature', temperature]),
    '--units',
    units,
  );
  files.set('sheet.html', sheetPage(made.sheet, made.identity, values.seed, sheetCommand));
  files.set('sheet.csv', sheetCsv(made.sheet, made.identity));

  // ---- The program itself
  const checks = runChecks(CHECKS);
  files.set('selfcheck.txt', printSelfcheck(checks, circumstances, paintNothing));
  files.set('selfcheck.json', selfcheckJson(checks, circumstances));
  const missed = checks.filter((c) => !c.within).length;

  const defeat = faults.answers.filter((a) => a.consequence === 'defeats');
  const summary = {
    title: values.title,
    // Steps of the file have no place in a failure at another moment.
    met:
      required &&
      worst.proof.met &&
      result.verdict.strokes.every((s) => s.met) &&
      !result.work.limitReached &&
      missed === 0,
    verdict: required ? result.verdict.text : 'No trip stroke is required of any valve, so nothing is proven.',
    faults: { run: faults.answers.length, defeat: defeat.length, hidden: defeat.filter((a) => a.hidden).length },
    selfcheck: { figures: checks.length, missed },
  };
  const listed = [...files].map(
    ([name, content]): DossierFile => ({
      name,
      bytes: Buffer.byteLength(content),
      sha256: sha256Hex(content),
    }),
  );
  files.set(
    'index.html',
    dossierPage({
      ...summary,
      circumstances,
      files: listed,
      result,
      moment,
      service: serviceWords(worst, plant.tick_s),
      harm: faults.answers.filter((a) => a.consequence !== 'none').map((a) => faultRow(a, scenario, units)),
      singles: summary.faults,
      only: options.only,
      interval: span(interval_s),
      repair: span(repair_s),
      seed: values.seed,
      units,
      set,
      hash: scenarioHash(text),
      program: thisProgram,
      findings: checkScenario(scenario, units).filter((f) => f.severity !== 'information'),
    }),
  );
  onProgress(1);
  return { files, ...summary };
}

/** A fault that does harm, in words. */
function faultRow(a: FaultAnswer, scenario: Scenario, units: UnitSystem): FaultRow {
  const { stroke, margin } = answerWords(scenario.plant, { ...a.answer, worst: a.stroke }, units);
  return {
    item: a.item,
    mode: a.mode,
    local: a.local,
    revealed: revealWords(a),
    outage: `${stroke} ${margin}`,
    defeats: a.consequence === 'defeats',
    hidden: a.hidden,
    reason: a.reason ?? '',
  };
}

function serviceWords({ service, moments, corners, proof }: WorstAnswer, tick_s: number): string {
  const from =
    proof.from === 'service' ? 'a moment of normal service' : 'the least favourable state that the switches permit';
  return `The mains were failed at ${moments.length} moments of a normal service followed for ${clockTime(service.ticks * tick_s)} and in ${corners.length} states that the switches permit; the verdict is that of ${from}.`;
}

function checkText(scenario: Scenario, units: UnitSystem): string {
  const { values, plant } = scenario;
  const text = printCheck(checkScenario(scenario, units), staircase(values, plant), units, plant.ambientPressure_Pa);
  return `${SCENARIO}: ${values.title}\n\n${text}`;
}

// ---------------------------------------------------------------------------------------------------------- manifest

export interface Manifest {
  readonly form: number;
  readonly program: string;
  readonly made: Circumstances;
  readonly scenario: { readonly title: string; readonly sha256: string };
  readonly options: DossierOptions;
  readonly files: readonly DossierFile[];
  /** SHA-256 of this manifest without this line. */
  readonly digest: string;
}

const FORM = 1;
export const MANIFEST = 'manifest.json';
export const thisProgram = `tripstroke ${VERSION}`;

/** Nothing is left out: what was not given stands as null. */
const plain = (_key: string, part: unknown) => (part === undefined ? null : part);
const written = (x: object): string => `${JSON.stringify(x, plain, 2)}\n`;

/** The manifest as text, in its one form. */
export function manifestText(
  dossier: Pick<Dossier, 'files' | 'title'>,
  options: DossierOptions,
  made: Circumstances,
): string {
  const text = dossier.files.get(SCENARIO) ?? '';
  const files = [...dossier.files]
    .map(([name, content]) => ({ name, bytes: Buffer.byteLength(content), sha256: sha256Hex(content) }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
  const open = {
    form: FORM,
    program: thisProgram,
    made,
    scenario: { title: dossier.title, sha256: scenarioHash(text) },
    options,
    files,
  };
  return written({ ...open, digest: sha256Hex(written(open)) });
}

/** A manifest that is whole and in its one form, or what is wrong with it. */
export function readManifest(text: string): Manifest | { readonly problem: string } {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    return { problem: 'it is no JSON' };
  }
  if (!isRecord(parsed)) return { problem: 'it is no manifest' };
  const { digest, ...open } = parsed;
  if (open['form'] !== FORM) return { problem: `it is no manifest of form ${FORM}` };
  if (written({ ...open, digest }) !== text) return { problem: 'it is not written as a manifest is' };
  if (sha256Hex(written(open)) !== digest) return { problem: 'it was altered: its digest is that of another manifest' };
  const options = open['options'];
  const files = open['files'];
  const made = open['made'];
  if (!isRecord(options) || !Array.isArray(files) || !isRecord(made) || !isRecord(open['scenario']))
    return { problem: 'parts of it are missing' };
  for (const f of files)
    if (!isRecord(f) || typeof f['name'] !== 'string' || !/^[a-z]+\.[a-z]+$/.test(f['name']))
      return { problem: 'it lists a file that is none of a dossier' };
  const given = <T>(x: T | null | undefined): T | undefined => x ?? undefined;
  const { units, set, temperature, instants, service_s, interval_s, repair_s, only } = options as Record<string, never>;
  if ((units !== 'us' && units !== 'si') || !Array.isArray(set)) return { problem: 'its options are not complete' };
  return {
    ...(parsed as unknown as Manifest),
    options: {
      units,
      set,
      temperature: given(temperature),
      instants: given(instants),
      service_s: given(service_s),
      interval_s: given(interval_s),
      repair_s: given(repair_s),
      only: given(only),
    },
  };
}

const isRecord = (x: unknown): x is Record<string, unknown> => typeof x === 'object' && x !== null && !Array.isArray(x);

// -------------------------------------------------------------------------------------------------------- comparison

/** On another kind of machine numbers may differ by this part: elementary functions are not the same everywhere. */
export const NUMBER_TOLERANCE = 1e-6;

const NUMBER = /\d+(?:\.\d+)?(?:e[+-]?\d+)?/gi;

/**
 * Where two texts differ: the first line, undefined where they agree.
 *
 * @param byNumber numbers need agree only to {@link NUMBER_TOLERANCE}, or to one in their last digit; all else to the byte
 */
export function firstDifference(filed: string, now: string, byNumber: boolean): string | undefined {
  if (filed === now) return undefined;
  const [a, b] = [filed.split('\n'), now.split('\n')];
  for (let n = 0; n < Math.max(a.length, b.length); n++) {
    const [x, y] = [a[n], b[n]];
    if (x === y || (byNumber && x !== undefined && y !== undefined && sameNumbers(x, y))) continue;
    const show = (line: string | undefined) => (line === undefined ? 'nothing' : `"${around(line, x ?? '', y ?? '')}"`);
    return `line ${n + 1}: ${show(x)} is filed, ${show(y)} comes out`;
  }
  return undefined;
}

/** A line around where it first differs. */
function around(line: string, x: string, y: string): string {
  let k = 0;
  while (k < x.length && x[k] === y[k]) k++;
  const from = Math.max(0, k - 20);
  return line.slice(from, from + 50).trim();
}

function sameNumbers(x: string, y: string): boolean {
  if (x.replace(NUMBER, '#') !== y.replace(NUMBER, '#')) return false;
  const [a, b] = [x.match(NUMBER) ?? [], y.match(NUMBER) ?? []];
  return a.every((text, k) => {
    const [p, q] = [Number(text), Number(b[k])];
    const decimals = /\.(\d+)/.exec(text)?.[1]?.length ?? 0;
    const last = /e/i.test(text) ? 0 : 1.01 * 10 ** -decimals;
    return Math.abs(p - q) <= Math.max(NUMBER_TOLERANCE * Math.abs(p), last);
  });
}
