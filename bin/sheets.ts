/** What the commands that work with acceptance-test sheets have in common: the scenario at a temperature, its sheet, who it is. */
import { type Loaded, loadScenario, type Scenario } from '../scenarios/load.ts';
import { formatQuantity, readQuantity, type UnitSystem } from '../scenarios/units.ts';
import { VERSION } from '../scenarios/version.ts';
import { makeSheet, type Sheet, SheetTooLong } from '../studies/sheet.ts';
import type { SheetIdentity } from '../studies/sheetCsv.ts';
import { scenarioHash, sha256Hex } from '../web/sha256.ts';

export interface MadeSheet {
  readonly scenario: Scenario;
  readonly sheet: Sheet;
  readonly identity: SheetIdentity;
}

/** Outside of these nobody tests a unit (choice): -40 to 60 degC. */
const COLDEST_K = 233.15;
const WARMEST_K = 333.15;

/** What is wrong with a temperature that was entered; undefined where nothing is. */
export function temperatureProblem(text: string | undefined, units: UnitSystem): string | undefined {
  if (text === undefined) return undefined;
  const read = readQuantity(text, 'temperature', undefined, '60 degF');
  if ('problem' in read) return read.problem;
  if (read.value >= COLDEST_K && read.value <= WARMEST_K) return undefined;
  const show = (K: number) => formatQuantity(K, 'temperature', units);
  return `"${text}" is no temperature to test a unit at: ${show(COLDEST_K)} to ${show(WARMEST_K)}`;
}

/** What a temperature of the day changes in a scenario: site and oil, and air and shell where the file gives them. */
function temperatureOverrides({ values }: Scenario, text: string): string[] {
  return [
    `site.temperature=${text}`,
    `oil.temperature=${text}`,
    ...(values.start.airTemperature === undefined ? [] : [`start.airTemperature=${text}`]),
    ...(values.start.wallTemperature === undefined ? [] : [`start.wallTemperature=${text}`]),
  ];
}

export interface SheetRequest {
  readonly text: string;
  readonly file: string;
  readonly set: readonly string[];
  readonly units: UnitSystem;
  readonly temperature: string | undefined;
  readonly onProgress?: (share: number) => void;
}

/** Loads a scenario, at a temperature where one is given. */
export function loadAt({ text, file, set, temperature }: SheetRequest): Loaded {
  const asWritten = loadScenario(text, { file, overrides: set });
  if (temperature === undefined || asWritten.scenario === undefined) return asWritten;
  return loadScenario(text, { file, overrides: [...set, ...temperatureOverrides(asWritten.scenario, temperature)] });
}

/** What a sheet of a scenario is made from. */
export function identityOf(
  { text, file, set, units, temperature }: SheetRequest,
  { values }: Pick<Scenario, 'values'>,
): SheetIdentity {
  return {
    file,
    title: values.title,
    hash: set.length === 0 ? scenarioHash(text) : sha256Hex(`${scenarioHash(text)}\n${set.join('\n')}`),
    changes: set,
    version: VERSION,
    units,
    temperature,
  };
}

/** The sheet of a scenario, or what stands in the way. Errors: those of {@link makeSheet}. */
export function sheetOf(request: SheetRequest): MadeSheet | { readonly loaded: Loaded } | { readonly tooLong: string } {
  const { file, units } = request;
  const loaded = loadAt(request);
  const { scenario } = loaded;
  if (scenario === undefined) return { loaded };
  try {
    const sheet = makeSheet(scenario.values, scenario.plant, {
      units,
      ...(request.onProgress === undefined ? {} : { onProgress: request.onProgress }),
    });
    const identity = identityOf(request, scenario);
    return { scenario, sheet, identity };
  } catch (error) {
    if (!(error instanceof SheetTooLong)) throw error;
    return { tooLong: `${file}: ${error.message}` };
  }
}

/** A command line that can be copied. */
export const commandLine = (...parts: readonly string[]): string =>
  parts.map((p) => (/^[\w./=:+-]+$/.test(p) ? p : `"${p}"`)).join(' ');

/** The options that make a scenario what it was. */
export const setParts = (set: readonly string[]): string[] => set.flatMap((s) => ['--set', s]);
