/** Commands and options. What they do is imported only when it is asked for, so that help comes at once. */
import { Command, CommanderError, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { VERSION } from '../scenarios/version.ts';
import { Exit } from './exitCodes.ts';
import { reportFault } from './programFault.ts';
import { warnText } from './terminal.ts';

const INTRODUCTION =
  'Replays a loss of mains on a unit that stores oil under compressed air, and shows whether its cylinder-operated ' +
  'valves complete their trip strokes, with how much to spare, and if not why not.';

const EXIT_CODES = `
Exit code: 0 all requirements met, 1 not met, 2 input refused, 3 work limit,
           70 fault of the program, 130 interrupted; of several files the worst.`;

const EXAMPLES = `
Examples:
  tripstroke replay skid.yaml     verdict on the screen, files in results/skid
  tripstroke replay skid.yaml --set "start.pressure=95 psig" --out trial
  tripstroke check skid.yaml      faults and findings, without a run
  tripstroke worst skid.yaml      the worst moment to lose the mains
  tripstroke campaign skid.yaml   how likely success is, given what is not known
  tripstroke faults skid.yaml     which single faults defeat the shutdown
  tripstroke size skid.yaml       whether tank, pumps and compressors are enough
  tripstroke tune skid.yaml       where to set the switches
  tripstroke desk skid.yaml       the unit in the browser, to tune by hand
  tripstroke sheet skid.yaml      the acceptance test on paper, and as a table
  tripstroke measured skid.yaml sheet.csv   readings against their prediction
  tripstroke dossier skid.yaml --out DIR    all of it in a folder to be filed
  tripstroke explain skid.yaml --seen log.csv    why it behaves as it does
  tripstroke schema               lets editors complete and check the file
  tripstroke selfcheck            proves the program as installed here
  tripstroke help replay          options of replay
${EXIT_CODES}`;

const REPLAY_EXAMPLES = `
Examples:
  tripstroke replay skid.yaml
  tripstroke replay day.yaml night.yaml --quiet
  tripstroke replay skid.yaml --set "start.level=31 in" --set "oil.grade=68"
  tripstroke replay skid.yaml --report skid.html
  tripstroke replay skid.yaml --json --no-files > verdict.json
  other-program | tripstroke replay - --units si --sample "0.1 s"
${EXIT_CODES}

Results go to DIR/<name of the file>/: report.txt, result.json, events.csv,
trace.csv, the scenario as it was read, and run.json, which tells runs apart.`;

const CHECK_EXAMPLES = `
Examples:
  tripstroke check skid.yaml
  tripstroke check skid.yaml --set "panel.pressure.cutOut.at=170 psig"
${EXIT_CODES}`;

const SELFCHECK_EXAMPLES = `
Examples:
  tripstroke selfcheck
  tripstroke selfcheck --json > selfcheck.json

Exit code: 0 every figure within its tolerance, 1 not, 70 fault of the program.`;

const WORST_EXAMPLES = `
Examples:
  tripstroke worst skid.yaml
  tripstroke worst skid.yaml --csv moments.csv
  tripstroke replay skid.yaml --at worst     the proof of what it says
${EXIT_CODES}`;

const CAMPAIGN_EXAMPLES = `
Examples:
  tripstroke campaign skid.yaml --runs 10000
  tripstroke campaign skid.yaml --runs 10000 --resume      after an interruption
  tripstroke campaign skid.yaml --runs 4000 --sampling "latin hypercube"
  tripstroke campaign skid.yaml --runs 1e6 --shard 2/8     on one of 8 machines
  tripstroke campaign merge results/skid.campaign.part-*

Exit code: 0 every run meets the requirements, 1 not every run, 2 input refused,
           70 fault of the program, 130 interrupted.

What is not known stands in the file under "uncertain"; see "schema --keys".
Results go to DIR/<name of the file>.campaign/: report.txt, result.json,
worst.txt, and the journal that --resume and merge read.`;

const FAULTS_EXAMPLES = `
Examples:
  tripstroke faults skid.yaml
  tripstroke faults skid.yaml --only "P-1" --csv faults.csv
  tripstroke faults skid.yaml --only switch --pairs --most 2000
${EXIT_CODES}
Here 1 says that a single fault, or a pair, defeats the shutdown.`;

const SIZE_EXAMPLES = `
Examples:
  tripstroke size skid.yaml
  tripstroke size skid.yaml --sizes "65 gal, 110 gal, 150 gal"
  tripstroke size skid.yaml --refill "20 min" --recharge "1 h"
${EXIT_CODES}`;

const TUNE_EXAMPLES = `
Examples:
  tripstroke tune skid.yaml
  tripstroke tune skid.yaml --trade-off
  tripstroke tune skid.yaml --out tuned.yaml
${EXIT_CODES}

What may be moved, and what is wanted, stands under "tuning:" in the file;
see "tripstroke schema --keys". Exit code 1: no setting keeps to all of it.`;

const DESK_EXAMPLES = `
Examples:
  tripstroke desk skid.yaml
  tripstroke desk                    the demo
  tripstroke desk skid.yaml --port 8642 --no-open

Exit code: 0 ended by Ctrl-C, 2 input refused or port taken,
           70 fault of the program.

The page runs the same program in the browser. Nothing is sent anywhere, and
nothing is written but what you download.`;

const SHEET_EXAMPLES = `
Examples:
  tripstroke sheet skid.yaml --temperature "60 degF"
  tripstroke sheet skid.yaml --out visit.html
${EXIT_CODES}

Writes NAME-sheet.html, to be printed, and NAME-sheet.csv, into which the
readings are typed for "tripstroke measured". The manual steps of the file are
the demonstration; a file without steps gets a standard programme.`;

const MEASURED_EXAMPLES = `
Examples:
  tripstroke measured skid.yaml results/skid-sheet.csv
  tripstroke measured skid.yaml autumn.csv --before spring.csv

Exit code: 0 every line passes, 1 not, 2 refused, 3 work limit,
           70 fault of the program, 130 interrupted.`;

const DOSSIER_EXAMPLES = `
Examples:
  tripstroke dossier skid.yaml --out skid-dossier
  tripstroke dossier --verify skid-dossier
  tripstroke dossier --verify skid-dossier --hashes

Exit code: 0 met at the worst moment; 1 not met; with --verify 0 the same, 1 not;
           2 refused, 3 work limit, 70 fault of the program, 130 interrupted.

The folder is written whole or not at all. --service, --instants, --only and
--interval make it cheaper and stand in the manifest.`;

const EXPLAIN_EXAMPLES = `
Examples:
  tripstroke explain skid.yaml --seen "pumps.startsPerHour=1.4" \\
    --seen "P-101.runTime=3.2 min" --seen "P-102.runTime=2.9 min"
  tripstroke explain skid.yaml --seen readings.yaml --out fitted.yaml
  tripstroke explain skid.yaml --seen day.csv --plot day.svg
  tripstroke explain skid.yaml --seen day.csv \\
    --column "pressure=PT-12 [psig]" --column "P-101=Pump A"

Readings: pumps or compressors: startsPerHour or betweenStarts, runTime,
pressureAtStart, pressureAtStop; pumps: levelAtStart, levelAtStop; a machine by
its tag: runTime; tank.pressureFall and sump.levelFall from pump start to pump
start; accuracy.gauge, accuracy.sightGlass, accuracy.sump, accuracy.time.
A file of YAML has them as groups, "P-101: { runTime: 3.2 min }"; one of CSV has
the head "reading,value", or is a log: a column "time" and columns of pressure,
level, sump level and of what runs (1 or 0), units in the headings.
${EXIT_CODES}
Here 0 says that a cause explains the readings, 1 that none does or that the fit
came to no rest.`;

const several = (value: string, before: readonly string[] | undefined): string[] => [...(before ?? []), value];
const FILE = ['<file...>', 'scenario files; "-" for standard input'] as const;
const unitsOption = () =>
  new Option('--units <system>', 'units of the results (default: those the file is written in)').choices([
    'us',
    'si',
  ] as const);
const reportOption = () =>
  new Option('--report <file>', 'write a page to read, print and file: one HTML file').argParser(filled);
const setOption = () =>
  new Option('--set <path=value>', 'change a value of the scenario; may be repeated').argParser(several);

function wholeNumber(value: string): number {
  const n = Number(value);
  if (!Number.isInteger(n) || n < 1 || n > 100_000)
    throw new InvalidArgumentError('Write a whole number from 1 to 100000.');
  return n;
}

function portNumber(value: string): number {
  const n = Number(value);
  if (value.trim() === '' || !Number.isInteger(n) || n < 0 || n > 65_535)
    throw new InvalidArgumentError('Write a whole number from 0 (any free port) to 65535.');
  return n;
}

function runsNumber(value: string): number {
  const n = Number(value);
  if (!Number.isInteger(n) || n < 1 || n > 1_000_000)
    throw new InvalidArgumentError('Write a whole number from 1 to 1000000.');
  return n;
}

function workersNumber(value: string): number {
  const n = Number(value);
  if (!Number.isInteger(n) || n < 1 || n > 256) throw new InvalidArgumentError('Write a whole number from 1 to 256.');
  return n;
}

function shardOf(value: string): readonly [number, number] {
  const [, part, parts] = /^(\d{1,4})\/(\d{1,4})$/.exec(value) ?? [];
  const shard = [Number(part), Number(parts)] as const;
  if (!(shard[0] >= 1 && shard[0] <= shard[1]))
    throw new InvalidArgumentError('Write part and number of parts, for instance 2/8.');
  return shard;
}

function filled(value: string): string {
  if (value.trim() === '') throw new InvalidArgumentError('It is empty.');
  return value;
}

/**
 * Runs the command line.
 *
 * @param args what follows the name of the program
 */
export async function run(args: readonly string[]): Promise<Exit> {
  let code: Exit = Exit.met;
  // Subcommands take these settings over when they are created.
  const program = new Command('tripstroke')
    .exitOverride()
    .configureHelp({ helpWidth: 80 })
    .configureOutput({ outputError: (text, write) => write(text.replace(/^error: /, 'tripstroke: ')) })
    .description(INTRODUCTION)
    .usage('<command> [options]')
    .version(VERSION, '--version', 'print the version')
    .helpOption('-h, --help', 'print help')
    .helpCommand('help [command]', 'print help on a command')
    .addHelpText('after', EXAMPLES);
  program
    .command('replay')
    .description('Run scenarios and say whether every required stroke completes.')
    .argument(...FILE)
    .addOption(unitsOption())
    .option('--out <dir>', 'folder for the result folders', filled, 'results')
    .addOption(setOption())
    .addOption(
      new Option('--at <moment>', 'lose the mains at the worst moment that "worst" finds').choices(['worst'] as const),
    )
    .option('--sample <time>', 'period of the trace rows, for instance "0.1 s" (default: as in the file)')
    .option('--quiet', 'leave out staircase, figures and event log')
    .option('--json', 'print the result as JSON and nothing else; of several files an array')
    .option('--force', 'replace the results of a different run')
    .option('--no-files', 'write no result folder')
    .addOption(reportOption())
    .addHelpText('after', REPLAY_EXAMPLES)
    .action(async (files, options) => {
      const { replayCommand } = await import('./replayCommand.ts');
      code = await replayCommand(files, options);
    });
  program
    .command('check')
    .description('Read scenarios and list their faults, findings and setpoints without running them.')
    .argument(...FILE)
    .addOption(unitsOption())
    .addOption(setOption())
    .addHelpText('after', CHECK_EXAMPLES)
    .action(async (files, options) => {
      const { checkCommand } = await import('./checkCommand.ts');
      code = await checkCommand(files, options);
    });
  program
    .command('worst')
    .description('Find the worst moment to lose the mains in normal service, and the worst state the switches permit.')
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--instants <count>', 'instants of service at which the power fails (default: 150)', wholeNumber)
    .option('--service <time>', 'longest service that is followed (default: "60 d")')
    .option('--csv <file>', 'write all moments as CSV')
    .option('--json', 'print JSON and nothing else')
    .addOption(reportOption())
    .addHelpText('after', WORST_EXAMPLES)
    .action(async (file, options) => {
      const { worstCommand } = await import('./worstCommand.ts');
      code = await worstCommand(file, options);
    });
  const campaign = program
    .command('campaign')
    .description('Say how likely success is, given what the file says is not known.')
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--runs <count>', 'runs (default: 1000, of sobol 1024)', runsNumber)
    .addOption(
      new Option('--sampling <how>', 'how the runs are spread over what is not known')
        .choices(['plain', 'latin hypercube', 'sobol'] as const)
        .default('plain' as const),
    )
    .option('--seed <text>', 'seed of what is drawn (default: that of the file)', filled)
    .option('--workers <count>', 'worker threads (default: one for each core)', workersNumber)
    .option('--out <dir>', 'folder for the result folder', filled, 'results')
    .option('--csv', 'write all cases as CSV too')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--shard <i/n>', 'do part i of n only, for "campaign merge"', shardOf)
    .option('--resume', 'go on with what an interrupted campaign has done')
    .option('--force', 'replace the results of a different campaign')
    .option('--quiet', 'no progress')
    .option('--no-files', 'write no result folder')
    .addOption(reportOption())
    .addHelpText('after', CAMPAIGN_EXAMPLES)
    .action(async (file, options) => {
      const { campaignCommand } = await import('./campaignCommand.ts');
      code = await campaignCommand(file, options);
    });
  campaign
    .command('merge')
    .description('Put the parts of a campaign together.')
    .argument('<folder...>', 'result folders of all parts')
    .addOption(unitsOption())
    .option('--out <dir>', 'folder for the result folder', filled, 'results')
    .option('--csv', 'write all cases as CSV too')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--force', 'replace the results of a different campaign')
    .addOption(reportOption())
    .action(async (folders, _own, command) => {
      const { mergeCommand } = await import('./campaignCommand.ts');
      // An option that "campaign" has too is taken there.
      code = await mergeCommand(folders, command.optsWithGlobals() as Parameters<typeof mergeCommand>[1]);
    });
  program
    .command('faults')
    .description('Put in every single fault during service, and find those that defeat the shutdown.')
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--interval <time>', 'how long a hidden fault acts, until somebody tests (default: "30 d")')
    .option('--repair <time>', 'from the alarm to the end of the fault (default: "4 h")')
    .option('--only <text>', 'only faults with this text in item or failure mode', filled)
    .option('--pairs', 'every pair of faults neither of which defeats the shutdown alone')
    .option('--most <count>', 'most pairs that are run (default: 10000)', wholeNumber)
    .option('--all', 'show the faults that do no harm one by one too')
    .option('--csv <file>', 'write all faults as CSV')
    .option('--json', 'print JSON and nothing else')
    .addOption(reportOption())
    .addHelpText('after', FAULTS_EXAMPLES)
    .action(async (file, options) => {
      const { faultsCommand } = await import('./faultsCommand.ts');
      code = await faultsCommand(file, options);
    });
  program
    .command('size')
    .description(
      'Say whether tank and cut-in are enough for the required strokes, and what would be, reckoned four ways.',
    )
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--sizes <list>', 'volumes to be had, for instance "65 gal, 110 gal, 150 gal"', filled)
    .option('--refill <time>', 'wanted time to bring the oil back, for instance "20 min"')
    .option('--recharge <time>', 'wanted time from cut-in to cut-out, for instance "1 h"')
    .addOption(reportOption())
    .option('--json', 'print JSON and nothing else')
    .addHelpText('after', SIZE_EXAMPLES)
    .action(async (file, options) => {
      const { sizeCommand } = await import('./sizeCommand.ts');
      code = await sizeCommand(file, options);
    });
  program
    .command('tune')
    .description('Find where the switches should be set, and what bounds each of them.')
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--out <file>', 'write the scenario with only the setpoints changed', filled)
    .option('--trade-off', 'print margin against starts an hour')
    .option('--json', 'print JSON and nothing else')
    .addOption(reportOption())
    .addHelpText('after', TUNE_EXAMPLES)
    .action(async (file, options) => {
      const { tuneCommand } = await import('./tuneCommand.ts');
      code = await tuneCommand(file, options);
    });
  program
    .command('desk')
    .description('Serve a page on this computer on which to see the unit, move setpoints and replay at once.')
    .argument('[file]', 'a scenario file; "-" for standard input (default: the demo)')
    .option('--port <number>', 'port of the page (default: a free one)', portNumber)
    .option('--no-open', 'do not open the browser')
    .addHelpText('after', DESK_EXAMPLES)
    .action(async (file, options) => {
      const { deskCommand } = await import('./deskCommand.ts');
      code = await deskCommand(file, options);
    });
  program
    .command('sheet')
    .description(
      'Make the acceptance-test sheet: what to do on site, what to read, and what the engine predicts for it.',
    )
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--temperature <temperature>', 'of oil and air on the day (default: as in the file)', filled)
    .option('--out <place>', 'folder, or the file .html or .csv to write', filled, 'results')
    .option('--force', 'write over a table that has readings in it')
    .addHelpText('after', SHEET_EXAMPLES)
    .action(async (file, options) => {
      const { sheetCommand } = await import('./sheetCommand.ts');
      code = await sheetCommand(file, options);
    });
  program
    .command('measured')
    .description('Hold readings, typed into the table of a sheet, against their prediction, line by line.')
    .argument('<file>', 'the scenario file the sheet was made from')
    .argument('<readings>', 'the table with readings in it')
    .addOption(setOption())
    .option('--before <readings>', 'the table of the last visit, to tell drift', filled)
    .option('--out <place>', 'folder, or the file .html to write', filled, 'results')
    .option('--json', 'print JSON and nothing else')
    .option('--no-files', 'write no page')
    .addHelpText('after', MEASURED_EXAMPLES)
    .action(async (file, readings, options) => {
      const { measuredCommand } = await import('./measuredCommand.ts');
      code = await measuredCommand(file, readings, options);
    });
  program
    .command('dossier')
    .description('Put everything about a unit into a folder that a third party can make again; --verify does so.')
    .argument('[file]', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .option('--out <dir>', 'the folder to write; it must not be there yet', filled)
    .option('--temperature <temperature>', 'of oil and air on the day of the sheet', filled)
    .option('--instants <count>', 'instants of service at which the power fails (default: 150)', wholeNumber)
    .option('--service <time>', 'longest service that is followed (default: "60 d")')
    .option('--interval <time>', 'how long a hidden fault acts, until somebody tests (default: "30 d")')
    .option('--repair <time>', 'from the alarm to the end of a fault (default: "4 h")')
    .option('--only <text>', 'only faults with this text in item or failure mode', filled)
    .option('--verify <dir>', 'make a dossier again and say what differs', filled)
    .option('--hashes', 'with --verify: compare hashes, make nothing again')
    .addHelpText('after', DOSSIER_EXAMPLES)
    .action(async (file, options) => {
      const { dossierCommand } = await import('./dossierCommand.ts');
      code = await dossierCommand(file, options, {
        date: new Date().toISOString(),
        node: process.version,
        system: `${process.platform} ${process.arch}`,
      });
    });
  program
    .command('explain')
    .description('Find what makes the unit behave as it was seen to, from readings or a log.')
    .argument('<file>', 'a scenario file; "-" for standard input')
    .addOption(unitsOption())
    .addOption(setOption())
    .addOption(
      new Option('--seen <reading>', 'a reading "what=value", or a file of readings or a log; may be repeated')
        .argParser(several)
        .makeOptionMandatory(),
    )
    .addOption(new Option('--column <what=heading>', 'which column of a log is what, with its unit').argParser(several))
    .option('--out <file>', 'write the scenario with the best cause added', filled)
    .option('--plot <file>', 'write how far the readings are off as an SVG picture', filled)
    .option('--all', 'list the causes that are far off too')
    .option('--json', 'print JSON and nothing else')
    .addHelpText('after', EXPLAIN_EXAMPLES)
    .action(async (file, options) => {
      const { explainCommand } = await import('./explainCommand.ts');
      code = await explainCommand(file, options);
    });
  program
    .command('schema')
    .description('Print the JSON Schema of scenario files, or a list of all keys to read.')
    .option('--keys', 'list every key with an example, its default and its meaning')
    .action(async ({ keys }) => {
      if (keys) {
        const [{ printKeys }, { scenarioTable }] = await Promise.all([
          import('./keys.ts'),
          import('../scenarios/scenario.ts'),
        ]);
        process.stdout.write(printKeys(scenarioTable));
        return;
      }
      const { scenarioSchema } = await import('../scenarios/scenarioSchema.ts');
      process.stdout.write(`${JSON.stringify(scenarioSchema(), null, 2)}\n`);
    });
  program
    .command('selfcheck')
    .description('Compare the program as installed with published figures and closed forms; file it with your results.')
    .option('--json', 'print JSON and nothing else')
    .addHelpText('after', SELFCHECK_EXAMPLES)
    .action(async (options) => {
      const { selfcheckCommand } = await import('./selfcheckCommand.ts');
      code = selfcheckCommand(options, {
        date: new Date().toISOString(),
        node: process.version,
        system: `${process.platform} ${process.arch}`,
      });
    });
  if (args.length === 0) {
    program.outputHelp();
    return Exit.met;
  }
  try {
    await program.parseAsync([...args], { from: 'user' });
    return code;
  } catch (error) {
    if (!(error instanceof CommanderError)) return reportFault(error);
    if (error.exitCode === 0) return Exit.met;
    warnText(advice(args));
    return Exit.refused;
  }
}

/** What to try after a command line that was not understood. */
function advice(args: readonly string[]): string {
  const [first = ''] = args;
  if (/\.ya?ml$/i.test(first)) return `Did you mean: tripstroke replay ${args.join(' ')}\n`;
  const command = [
    'replay',
    'check',
    'worst',
    'campaign',
    'faults',
    'size',
    'tune',
    'desk',
    'explain',
    'schema',
    'selfcheck',
  ].includes(first)
    ? `help ${first}`
    : '--help';
  return `See: tripstroke ${command}\n`;
}
