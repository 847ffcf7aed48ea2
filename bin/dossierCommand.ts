/** `dossier`: everything about one unit in a folder that a third party can make again, and the check that it is so. */
import { createHash } from 'node:crypto';
import { lstatSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { CAUTIONS } from '../scenarios/result.ts';
import { type UnitSystem, unitsWritten } from '../scenarios/units.ts';
import {
  type Dossier,
  type DossierOptions,
  firstDifference,
  MANIFEST,
  type Manifest,
  makeDossier,
  manifestText,
  NUMBER_TOLERANCE,
  readManifest,
  SCENARIO,
  thisProgram,
} from './dossier.ts';
import { Exit } from './exitCodes.ts';
import { forEachFile, refuse } from './files.ts';
import { nameOf } from './input.ts';
import { labelled, paragraph, printable, table, WIDTH } from './layout.ts';
import { progressLine } from './progress.ts';
import type { Circumstances } from './selfcheckCommand.ts';
import { commandLine, temperatureProblem } from './sheets.ts';
import { timeOptions } from './study.ts';
import { isSystemError, paintStdout, say, systemReason, warn } from './terminal.ts';
import { taken, writeFolder } from './wholeFolder.ts';

export interface DossierCommandOptions {
  readonly units?: UnitSystem | undefined;
  readonly set?: readonly string[] | undefined;
  readonly out?: string | undefined;
  readonly temperature?: string | undefined;
  readonly instants?: number | undefined;
  readonly service?: string | undefined;
  readonly interval?: string | undefined;
  readonly repair?: string | undefined;
  readonly only?: string | undefined;
  readonly verify?: string | undefined;
  readonly hashes?: boolean | undefined;
}

export async function dossierCommand(
  file: string | undefined,
  options: DossierCommandOptions,
  here: Circumstances,
): Promise<Exit> {
  if (options.verify !== undefined) {
    if (file !== undefined || options.out !== undefined) {
      warn('--verify takes the folder alone: write "tripstroke dossier --verify FOLDER"');
      return Exit.refused;
    }
    return verify(options.verify, options.hashes ?? false, here);
  }
  if (file === undefined || options.out === undefined) {
    warn('write "tripstroke dossier FILE --out FOLDER", or "tripstroke dossier --verify FOLDER"');
    return Exit.refused;
  }
  const out = options.out;
  const obstacle = taken(out);
  if (obstacle !== undefined) {
    warn(obstacle);
    return Exit.refused;
  }
  const times = await timeOptions([
    ['--service', options.service, undefined],
    ['--interval', options.interval, undefined],
    ['--repair', options.repair, undefined],
  ]);
  if (times === undefined) return Exit.refused;
  const [service_s, interval_s, repair_s] = times;
  return forEachFile([file], ({ text }) => {
    const units = options.units ?? unitsWritten(text);
    const cold = temperatureProblem(options.temperature, units);
    if (cold !== undefined) {
      return () => {
        warn(`--temperature: ${cold}`);
        return Exit.refused;
      };
    }
    const wanted: DossierOptions = {
      units,
      set: options.set ?? [],
      temperature: options.temperature,
      instants: options.instants,
      service_s,
      interval_s,
      repair_s,
      only: options.only,
    };
    const progress = progressLine(nameOf(file));
    const made = makeDossier(text, wanted, here, progress.update);
    progress.clear();
    if ('loaded' in made) return () => refuse(made.loaded);
    if ('problem' in made) {
      return () => {
        warn(made.problem);
        return made.refused ? Exit.refused : Exit.workLimit;
      };
    }
    return () => {
      const manifest = manifestText(made, wanted, here);
      const failed = writeFolder(out, new Map([...made.files, [MANIFEST, manifest]]));
      if (failed !== undefined) {
        warn(failed);
        return Exit.refused;
      }
      say(printDossier(made, manifest, file, out, options.only));
      return made.met ? Exit.met : Exit.notMet;
    };
  });
}

function printDossier(made: Dossier, manifest: string, file: string, out: string, only: string | undefined): string {
  const word = made.met ? 'MET: ' : 'NOT MET: ';
  const [first = '', ...more] = paragraph(word, `at the worst moment. ${made.verdict}`, WIDTH);
  const { run, defeat, hidden } = made.faults;
  const digest = JSON.parse(manifest).digest as string;
  const lines = [
    made.met ? first : paintStdout('bad', first),
    ...more,
    ...paragraph('', printable(`${nameOf(file)}: ${made.title}`), WIDTH),
    '',
    ...labelled(
      'Faults',
      `${defeat} of ${run} single faults defeat the shutdown, ${hidden} of them hidden.${only === undefined ? '' : ` Only those with "${only}" in them were put in: the table is not whole.`}`,
    ),
    ...labelled(
      'Program',
      `${made.selfcheck.figures - made.selfcheck.missed} of ${made.selfcheck.figures} figures from outside within their tolerance.`,
    ),
    '',
    ...labelled('Written', `${out}: ${made.files.size + 1} files; begin with ${path.join(out, 'index.html')}`),
    ...labelled('Digest', digest),
    ...labelled('', 'Keep it apart from the folder: it tells this dossier from any other.'),
    ...labelled('Check', commandLine('tripstroke', 'dossier', '--verify', out)),
    '',
    ...CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  return `${lines.join('\n')}\n`;
}

// ------------------------------------------------------------------------------------------------------------ verify

interface Difference {
  readonly file: string;
  readonly what: string;
}

const sha256 = (bytes: Buffer) => createHash('sha256').update(bytes).digest('hex');

async function verify(folder: string, hashesOnly: boolean, here: Circumstances): Promise<Exit> {
  let names: string[];
  let manifestBytes: Buffer;
  try {
    names = readdirSync(folder).sort();
    manifestBytes = readFileSync(path.join(folder, MANIFEST));
  } catch (error) {
    if (!isSystemError(error)) throw error;
    const missing = error.code === 'ENOENT';
    warn(`${folder} is no dossier: ${missing ? `there is no ${MANIFEST} in it` : systemReason(error)}`);
    return Exit.refused;
  }
  const differences: Difference[] = [];
  const manifest = readManifest(manifestBytes.toString('utf-8'));
  if ('problem' in manifest) {
    differences.push({ file: MANIFEST, what: manifest.problem });
    return report(folder, undefined, differences, 'nothing was made again: the manifest cannot be trusted', here);
  }
  const filed = new Map<string, string>();
  for (const { name, bytes, sha256: hash } of manifest.files) {
    const found = contentOf(path.join(folder, name));
    if (typeof found === 'string') {
      differences.push({ file: name, what: found });
      continue;
    }
    filed.set(name, found.toString('utf-8'));
    if (sha256(found) !== hash)
      differences.push({
        file: name,
        what: found.length === bytes ? 'altered' : `altered: ${found.length} bytes, ${bytes} filed`,
      });
  }
  const listed = new Set([MANIFEST, ...manifest.files.map((f) => f.name)]);
  for (const name of names) if (!listed.has(name)) differences.push({ file: name, what: 'not in the manifest' });
  const scenario = filed.get(SCENARIO);
  if (hashesOnly) return report(folder, manifest, differences, 'hashes only: nothing was made again', here);
  if (scenario === undefined || differences.some((d) => d.file === SCENARIO))
    return report(
      folder,
      manifest,
      differences,
      `nothing was made again: ${SCENARIO} is not the one that was filed`,
      here,
    );
  return rerun(folder, manifest, scenario, filed, differences, here);
}

/** What a file holds, or why it is none. */
function contentOf(place: string): Buffer | string {
  try {
    return lstatSync(place).isFile() ? readFileSync(place) : 'no file';
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return error.code === 'ENOENT' ? 'missing' : systemReason(error);
  }
}

/** Makes all papers again and compares them with those filed. */
function rerun(
  folder: string,
  manifest: Manifest,
  scenario: string,
  filed: ReadonlyMap<string, string>,
  differences: Difference[],
  here: Circumstances,
): Promise<Exit> {
  // The scenario is the one in the folder; reading it once more is how Ctrl-C and units are had.
  return forEachFile([path.join(folder, SCENARIO)], () => {
    const progress = progressLine(folder);
    const made = makeDossier(scenario, manifest.options, manifest.made, progress.update);
    progress.clear();
    if ('loaded' in made || 'problem' in made) {
      differences.push({ file: SCENARIO, what: 'this program refuses what it was made from' });
      return () => report(folder, manifest, differences, 'nothing could be made again', here);
    }
    const sameKind = manifest.made.node === here.node && manifest.made.system === here.system;
    const altered = new Set(differences.map((d) => d.file));
    for (const [name, now] of made.files) {
      const then = filed.get(name);
      if (then === undefined) {
        if (!altered.has(name)) differences.push({ file: name, what: 'comes out and was never filed' });
        continue;
      }
      const difference = firstDifference(then, now, !sameKind && !ownText(name));
      if (difference !== undefined) differences.push({ file: name, what: difference });
    }
    for (const name of filed.keys())
      if (!made.files.has(name)) differences.push({ file: name, what: 'filed, and does not come out' });
    const how = sameKind
      ? 'made again and compared to the byte'
      : `made again on another kind of machine: numbers to ${NUMBER_TOLERANCE} of themselves or one in their last digit, all else to the byte`;
    return () => report(folder, manifest, differences, how, here);
  });
}

/** What comes from the scenario alone is the same everywhere. */
const ownText = (name: string) => name === SCENARIO;

function report(
  folder: string,
  manifest: Manifest | undefined,
  differences: readonly Difference[],
  how: string,
  here: Circumstances,
): Exit {
  const otherVersion = manifest !== undefined && manifest.program !== thisProgram;
  const good = differences.length === 0;
  const head = good
    ? `the dossier is as it was filed: ${manifest?.files.length ?? 0} files, ${how}.`
    : `${differences.length} ${differences.length === 1 ? 'difference' : 'differences'}; ${how}.`;
  const [first = '', ...more] = paragraph(good ? 'SAME: ' : 'DIFFERS: ', head, WIDTH);
  const lines = [
    good ? first : paintStdout('bad', first),
    ...more,
    ...paragraph('', printable(`${folder}: ${manifest?.scenario.title ?? 'no readable manifest'}`), WIDTH),
    ...(good
      ? []
      : [
          '',
          ...table(
            [{ head: 'File' }, { head: 'Difference' }],
            differences.map((d) => ({ cells: [printable(d.file), printable(d.what)] })),
            WIDTH,
          ),
        ]),
    '',
    ...(manifest === undefined
      ? []
      : [
          ...labelled(
            'Filed',
            `${manifest.program}, Node.js ${manifest.made.node.replace(/^v/, '')}, ${manifest.made.system}, ${manifest.made.date}`,
          ),
          ...labelled('Here', `${thisProgram}, Node.js ${here.node.replace(/^v/, '')}, ${here.system}`),
          ...(otherVersion
            ? labelled('', 'Another version: it may predict other numbers; check with the version that is filed.')
            : []),
          ...labelled('Digest', manifest.digest),
          '',
        ]),
    ...CAUTIONS.flatMap((text) => labelled('Caution', text)),
  ];
  say(`${lines.join('\n')}\n`);
  return good ? Exit.met : Exit.notMet;
}
