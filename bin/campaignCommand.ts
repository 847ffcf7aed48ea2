/** `campaign`: how likely is success, given what is not known? */
import { existsSync, mkdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { stringify } from 'csv-stringify/sync';
import { loadScenario, type Scenario } from '../scenarios/load.ts';
import { CAUTIONS } from '../scenarios/result.ts';
import { columnUnit, type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import {
  CASE_OUTCOMES,
  type Campaign,
  type CampaignAnswer,
  type CampaignPlan,
  createCampaign,
  foldCampaign,
  planCampaign,
} from '../studies/campaign.ts';
import type { Sampling } from '../studies/sampling.ts';
import { scenarioHash } from '../web/sha256.ts';
import type { CampaignWork } from './campaignWorker.ts';
import { Exit } from './exitCodes.ts';
import { refuse } from './files.ts';
import { nameOf, readScenarioText, STANDARD_INPUT } from './input.ts';
import { beginJournal, continueJournal, type Journal, type JournalContent, readJournal } from './journal.ts';
import { folderName } from './output.ts';
import { type Crew, runBlocks, startCrew } from './pool.ts';
import { printCampaign, worstText } from './printCampaign.ts';
import { reportFault } from './programFault.ts';
import { type Progress, progressLine } from './progress.ts';
import { reportObstacle } from './reportFile.ts';
import { fileReport } from './study.ts';
import { isSystemError, paintStdout, say, systemReason, warn } from './terminal.ts';
import { withUnits } from './withUnits.ts';
import { writeWhole } from './writeWhole.ts';

/** What is printed and written in the end. */
export interface CampaignOutputOptions {
  readonly units?: UnitSystem | undefined;
  readonly out: string;
  readonly csv?: boolean | undefined;
  readonly json?: boolean | undefined;
  readonly force?: boolean | undefined;
  readonly report?: string | undefined;
}

export interface CampaignCommandOptions extends CampaignOutputOptions {
  readonly set?: readonly string[] | undefined;
  readonly runs?: number | undefined;
  readonly sampling: Sampling;
  readonly seed?: string | undefined;
  readonly workers?: number | undefined;
  /** Part and number of parts, from 1. */
  readonly shard?: readonly [number, number] | undefined;
  readonly resume?: boolean | undefined;
  readonly quiet?: boolean | undefined;
  readonly files: boolean;
}

/** Cases in a block: enough for some tens of milliseconds. Part of what a journal means. */
const BLOCK = 32;
const JOURNAL = 'journal';
const SCENARIO = 'scenario.yaml';

/** What a journal is of; the same title, the same rows. */
interface Title {
  readonly journal: 'campaign';
  readonly version: string;
  readonly file: string;
  readonly scenario: string;
  readonly set: readonly string[];
  readonly runs: number;
  readonly sampling: Sampling;
  readonly seed: string;
  readonly shard: readonly [number, number];
}

interface Prepared {
  readonly title: Title;
  readonly text: string;
  readonly scenario: Scenario;
  readonly plan: CampaignPlan;
  readonly campaign: Campaign;
}

const fail = (problem: string): Exit => {
  warn(problem);
  return Exit.refused;
};

export async function campaignCommand(file: string, options: CampaignCommandOptions): Promise<Exit> {
  const name = nameOf(file);
  if (!options.files && (options.resume || options.shard !== undefined || options.csv))
    return fail('--no-files leaves nothing on disk for --resume, --shard or --csv; leave one of them out');
  const refused = refusedReport(options);
  if (refused !== undefined) return fail(refused);
  const input = await readScenarioText(file);
  if ('problem' in input) return fail(input.problem);
  const { sampling, set = [] } = options;
  const shard = options.shard ?? ([1, 1] as const);
  const runs = options.runs ?? (sampling === 'sobol' ? 1024 : 1000);
  const workers = Math.min(options.workers ?? availableParallelism(), Math.ceil(runs / BLOCK / shard[1]));
  const crew = startCrew(new URL('./campaignWorker.js', import.meta.url), workers);
  try {
    const prepared = await prepare(input.text, { file: name, set, runs, sampling, shard, seed: options.seed });
    if (typeof prepared === 'number') return prepared;
    const suffix = shard[1] === 1 ? '' : `.part-${shard[0]}-of-${shard[1]}`;
    const folder = options.files ? path.join(options.out, campaignFolder(file) + suffix) : undefined;
    return await runCampaign(prepared, crew, options, folder);
  } catch (error) {
    return reportFault(error, name);
  } finally {
    await crew.dismiss();
  }
}

/** Why no report can be written; asked before the runs. */
function refusedReport({ report, shard }: CampaignOutputOptions & Pick<CampaignCommandOptions, 'shard'>) {
  if (report === undefined) return undefined;
  if (shard !== undefined && shard[1] > 1)
    return '--report: a part has no answer of its own; give --report to "campaign merge"';
  return reportObstacle(report);
}

const campaignFolder = (file: string): string =>
  `${file === STANDARD_INPUT ? 'standard-input' : folderName(file)}.campaign`;

/** Reads the scenario and plans the campaign; an exit code where that was refused. */
async function prepare(
  text: string,
  wanted: Omit<Title, 'journal' | 'version' | 'scenario' | 'seed'> & { readonly seed: string | undefined },
): Promise<Prepared | Exit> {
  const { file, set } = wanted;
  const loaded = await withUnits(() => loadScenario(text, { file, overrides: set }));
  const { scenario } = loaded;
  if (scenario === undefined) return refuse(loaded);
  const { values, plant, uncertain } = scenario;
  const seed = wanted.seed ?? values.seed;
  const plan = planCampaign(values, plant, uncertain, { runs: wanted.runs, sampling: wanted.sampling, seed });
  if ('problem' in plan) return fail(`${file}: ${plan.problem}`);
  const title: Title = {
    journal: 'campaign',
    version: VERSION,
    file,
    scenario: scenarioHash(text),
    set,
    runs: wanted.runs,
    sampling: wanted.sampling,
    seed,
    shard: wanted.shard,
  };
  return { title, text, scenario, plan, campaign: createCampaign(values, plan) };
}

/** Numbers of the blocks of a part. */
function blocksOf({ runs, shard: [part, parts] }: Title): number[] {
  const all = Array.from({ length: Math.ceil(runs / BLOCK) }, (_, b) => b);
  return all.filter((b) => b % parts === part - 1);
}

async function runCampaign(
  prepared: Prepared,
  crew: Crew,
  options: CampaignCommandOptions,
  folder: string | undefined,
): Promise<Exit> {
  const { title, text, scenario, plan, campaign } = prepared;
  const { width } = campaign;
  const rows = new Float64Array(plan.runs * width);
  const wanted = blocksOf(title);
  const done = new Set<number>();
  let failures = 0;
  let cases = 0;
  const take = (block: number, part: Float64Array) => {
    rows.set(part, block * BLOCK * width);
    done.add(block);
    cases += part.length / width;
    for (let at = 0; at < part.length; at += width) if (part[at] < 0) failures++;
  };
  let journal: Journal | undefined;
  if (folder !== undefined) {
    try {
      const opened = openFolder(folder, title, text, options);
      if ('problem' in opened) return fail(opened.problem);
      for (const [block, part] of opened.known) take(block, part);
      journal = opened.journal;
    } catch (error) {
      if (!isSystemError(error)) throw error;
      return fail(`the results cannot be written to ${folder}: ${systemReason(error)}`);
    }
  }
  const total = wanted.reduce((sum, block) => sum + Math.min(BLOCK, plan.runs - block * BLOCK), 0);
  const before = cases;
  const stop = new AbortController();
  const onInterrupt = () => stop.abort();
  process.on('SIGINT', onInterrupt);
  const progress: Progress | undefined = options.quiet ? undefined : progressLine(title.file);
  const started = performance.now();
  let unwritten: string | undefined;
  try {
    await runBlocks({
      crew,
      data: { values: scenario.values, plan, block: BLOCK } satisfies CampaignWork,
      blocks: wanted.filter((block) => !done.has(block)),
      signal: stop.signal,
      done(block, part) {
        take(block, part);
        try {
          if (unwritten === undefined) journal?.append(block, part);
        } catch (error) {
          if (!isSystemError(error)) throw error;
          unwritten = systemReason(error);
          stop.abort();
        }
        const rate = (cases - before) / ((performance.now() - started) / 1000);
        const left = Math.ceil((total - cases) / rate);
        progress?.update(
          cases / total,
          `${cases} of ${total}, ${rate.toFixed(0)}/s, ${left} s left, ${failures} not met`,
        );
      },
    });
  } finally {
    process.off('SIGINT', onInterrupt);
    progress?.clear();
    journal?.close();
  }
  if (unwritten !== undefined) return fail(`the journal in ${folder} cannot be written: ${unwritten}`);
  if (cases < total) {
    const how =
      folder === undefined ? 'nothing was kept (--no-files)' : 'the same command with --resume goes on from here';
    warn(`interrupted after ${cases} of ${total} runs, ${failures} of them not met; ${how}`);
    return Exit.interrupted;
  }
  const [part, parts] = title.shard;
  if (parts > 1) {
    say(
      `Part ${part} of ${parts} is done: ${cases} of ${plan.runs} runs, ${failures} of them not met; in ${folder}.\n`,
    );
    say(`When all parts are: tripstroke campaign merge ${path.join(options.out, campaignFolder(title.file))}.part-*\n`);
    return failures === 0 ? Exit.met : Exit.notMet;
  }
  return await finish(prepared, rows, options, folder);
}

/** Makes the folder ready, and says what in it is done already. Throws errors of the operating system. */
function openFolder(
  folder: string,
  title: Title,
  text: string,
  options: { readonly resume?: boolean | undefined; readonly force?: boolean | undefined },
): { readonly journal: Journal; readonly known: ReadonlyMap<number, Float64Array> } | { readonly problem: string } {
  const file = path.join(folder, JOURNAL);
  const heading = JSON.stringify(title);
  const found: JournalContent | undefined = existsSync(file) ? readJournal(file) : undefined;
  if (found !== undefined && found.title === heading && options.resume)
    return { journal: continueJournal(file, found), known: found.blocks };
  if (found !== undefined && !options.force) {
    if (found.title !== heading)
      return {
        problem: `${folder} holds another campaign (${difference(found.title, title)}); --force replaces it, --out puts this one elsewhere`,
      };
    if (found.blocks.size < blocksOf(title).length)
      return {
        problem: `${folder} holds this campaign, ${found.blocks.size * BLOCK} of ${title.runs} runs done; --resume goes on from there, --force begins anew`,
      };
  }
  mkdirSync(folder, { recursive: true });
  const failed = writeWhole(path.join(folder, SCENARIO), text, 'the scenario');
  if (failed !== undefined) return { problem: failed };
  return { journal: beginJournal(file, heading), known: new Map() };
}

/** What a journal is of that differs from what is wanted, in words. */
function difference(found: string, wanted: Title): string {
  const other = parseTitle(found);
  if (other === undefined) return 'its journal is not readable';
  if (other.scenario !== wanted.scenario) return 'the file has changed since';
  if (other.version !== wanted.version) return `made by version ${other.version}`;
  for (const key of ['runs', 'sampling', 'seed', 'shard'] as const)
    if (String(other[key]) !== String(wanted[key])) return `${key} ${String(other[key]).replace(',', '/')}`;
  return 'with other --set values or under another name';
}

function parseTitle(text: string): Title | undefined {
  try {
    const title = JSON.parse(text) as Partial<Title> | null;
    return title?.journal === 'campaign' ? (title as Title) : undefined;
  } catch {
    return undefined;
  }
}

// --------------------------------------------------------------------------------------------------------------- merge

/** `campaign merge`: the parts of a campaign put together. */
export async function mergeCommand(folders: readonly string[], options: CampaignOutputOptions): Promise<Exit> {
  const refused = refusedReport(options);
  if (refused !== undefined) return fail(refused);
  try {
    const parts: { readonly folder: string; readonly title: Title; readonly content: JournalContent }[] = [];
    for (const folder of folders) {
      let content: JournalContent | undefined;
      try {
        content = readJournal(path.join(folder, JOURNAL));
      } catch (error) {
        if (!isSystemError(error)) throw error;
        return fail(`${folder}: no journal of a campaign can be read there: ${systemReason(error)}`);
      }
      const title = content === undefined ? undefined : parseTitle(content.title);
      if (content === undefined || title === undefined) return fail(`${folder}: its journal is not one of a campaign`);
      parts.push({ folder, title, content });
    }
    const [{ folder: first, title }] = parts as [(typeof parts)[number]];
    if (title.version !== VERSION) return fail(`${first} was made by version ${title.version}; this is ${VERSION}`);
    const plain = ({ shard: _, ...rest }: Title) => JSON.stringify(rest);
    const odd = parts.find((part) => plain(part.title) !== plain(title));
    if (odd !== undefined)
      return fail(
        `${odd.folder} is part of another campaign than ${first} (${difference(JSON.stringify({ ...odd.title, shard: title.shard }), title)})`,
      );
    const input = await readScenarioText(path.join(first, SCENARIO));
    if ('problem' in input) return fail(input.problem);
    const prepared = await prepare(input.text, { ...title, shard: [1, 1] });
    if (typeof prepared === 'number') return prepared;
    if (prepared.title.scenario !== title.scenario)
      return fail(`${path.join(first, SCENARIO)} was changed after the campaign`);
    const { width } = prepared.campaign;
    const rows = new Float64Array(title.runs * width);
    const missing = new Set(blocksOf(prepared.title));
    for (const { content } of parts)
      for (const [block, part] of content.blocks) {
        rows.set(part, block * BLOCK * width);
        missing.delete(block);
      }
    if (missing.size > 0)
      return fail(
        `${missing.size * BLOCK} of ${title.runs} runs are missing: give the folders of all ${title.shard[1]} parts, each finished`,
      );
    const folder = path.join(options.out, campaignFolder(title.file));
    const opened = openFolder(folder, prepared.title, prepared.text, options);
    if ('problem' in opened) return fail(opened.problem);
    for (const block of blocksOf(prepared.title))
      opened.journal.append(
        block,
        rows.slice(block * BLOCK * width, Math.min(title.runs, (block + 1) * BLOCK) * width),
      );
    opened.journal.close();
    return await finish(prepared, rows, options, folder);
  } catch (error) {
    return reportFault(error);
  }
}

// -------------------------------------------------------------------------------------------------------------- output

async function finish(
  prepared: Prepared,
  rows: Float64Array,
  options: CampaignOutputOptions,
  folder: string | undefined,
): Promise<Exit> {
  const { title, text, scenario, plan, campaign } = prepared;
  const answer = foldCampaign(campaign, plan, rows);
  const units = options.units ?? unitsWritten(text);
  const shown = { file: title.file, units, set: title.set, folder };
  const json = campaignJson(answer, prepared);
  let failed: string | undefined;
  if (folder !== undefined) {
    const write = (name: string, content: string) => {
      failed ??= writeWhole(path.join(folder, name), content, 'the results');
    };
    write('report.txt', printCampaign(answer, plan, scenario, shown));
    write('worst.txt', worstText(answer, title.file, title.set));
    write('result.json', json);
    if (options.csv) write('cases.csv', casesCsv(prepared, rows, units));
  }
  say(options.json ? json : printCampaign(answer, plan, scenario, { ...shown, paint: paintStdout }));
  if (options.report !== undefined) {
    const { campaignReport } = await import('../web/report/campaign.ts');
    const { file, set, runs, sampling, seed } = title;
    const { report, units: asked } = options;
    const base = { scenario, text, units };
    const unfiled = fileReport('campaign', file, base, { report, set, units: asked }, { runs, sampling, seed }, (r) =>
      campaignReport(answer, plan, { ...r, file, set }),
    );
    if (unfiled !== undefined) {
      warn(unfiled);
      return Exit.refused;
    }
  }
  if (failed !== undefined) return fail(failed);
  return answer.met.value === 1 ? Exit.met : Exit.notMet;
}

/** SI, unit last in each name; what does not exist is null. */
function campaignJson(answer: CampaignAnswer, { title, scenario }: Prepared): string {
  const whole = {
    program: `tripstroke ${VERSION}`,
    file: title.file,
    title: scenario.values.title,
    overrides: scenario.overrides,
    seed: title.seed,
    sampling: title.sampling,
    ...answer,
    cautions: CAUTIONS,
  };
  const plain = (_key: string, part: unknown) =>
    part === undefined || (typeof part === 'number' && !Number.isFinite(part)) ? null : part;
  return `${JSON.stringify(whole, plain, 2)}\n`;
}

function casesCsv({ scenario, plan, campaign }: Prepared, rows: Float64Array, units: UnitSystem): string {
  const { width, strokes } = campaign;
  const columns = plan.inputs.map(({ dimension }) =>
    dimension === undefined ? undefined : columnUnit(dimension, units),
  );
  const ambient = scenario.plant.ambientPressure_Pa;
  const head = [
    'case',
    'met',
    'margin beyond the wanted one',
    'of',
    ...plan.inputs.map(({ path: p }, d) => (columns[d] === undefined ? p : `${p} [${columns[d]?.name}]`)),
    ...strokes.flatMap((s) => {
      const name = s.strokes > 1 ? `${s.valve} ${s.stroke}/${s.strokes}` : s.valve;
      return [`${name} outcome`, `${name} margin beyond the wanted one`];
    }),
  ];
  const lines = Array.from({ length: plan.runs }, (_, i) => {
    const at = i * width;
    const x = campaign.drawn(i);
    return [
      i,
      rows[at] >= 0 ? 1 : 0,
      rows[at],
      strokes[rows[at + 1]]!.valve,
      ...columns.map((unit, d) => (unit === undefined ? x[d] : unit.toDisplay(x[d]!, ambient))),
      ...strokes.flatMap((_s, k) => [CASE_OUTCOMES[rows[at + 2 + 2 * k]!], rows[at + 3 + 2 * k]]),
    ];
  });
  return stringify([head, ...lines]);
}
