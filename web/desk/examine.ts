/**
 * The work behind the page: scenario text and what was changed in, verdict and curves out. It is the same replay that the
 * command line runs; nothing here knows a browser.
 */
import { EventCode } from '../../models/events.ts';
import { faultTable } from '../../models/fault.ts';
import { loadScenario, type Scenario } from '../../scenarios/load.ts';
import { type ParsedText, parseText } from '../../scenarios/reader.ts';
import { replay } from '../../scenarios/replay.ts';
import type { RunRecord } from '../../scenarios/run.ts';
import { staircase } from '../../scenarios/staircase.ts';
import { type Trace, traceHeadings, traceRow } from '../../scenarios/trace.ts';
import { formatQuantity, type UnitSystem, unitsWritten } from '../../scenarios/units.ts';
import { singleFaults } from '../../studies/faultList.ts';
import { plotData } from '../plot/data.ts';
import { plotRecorder, type Recorded, recordTrace } from '../plot/record.ts';
import { replayReport } from '../report/replay.ts';
import { scenarioHash } from '../sha256.ts';
import { listedIn, overridesOf } from './lists.ts';
import type {
  Answer,
  FaultChoice,
  Ran,
  ReportRequest,
  Request,
  Sketch,
  ThinTrace,
  Timeline,
  Timelines,
  Verdict,
} from './protocol.ts';
import { type SettingUnits, settingsOf, settingUnits } from './settings.ts';
import { commandLine } from './state.ts';

/** What is the same for all variants of a text. */
interface Known {
  readonly text: string;
  readonly parsed: ParsedText;
  /** Without changes; undefined where the text has faults. */
  readonly scenario: Scenario | undefined;
  readonly unitsOf: SettingUnits;
  readonly units: UnitSystem;
}
let known: Known | undefined;

function knownOf(text: string, file: string): Known {
  if (known?.text !== text) {
    const parsed = parseText(text);
    known = {
      text,
      parsed,
      scenario: loadScenario(parsed, { file }).scenario,
      unitsOf: settingUnits(parsed.contents),
      units: unitsWritten(text),
    };
  }
  return known;
}

type Asked = Omit<Request, 'kind' | 'id'>;

/** The scenario of a request with its changes, and how numbers are shown. */
export function scenarioOf({ text, file, variant, units }: Asked) {
  const base = knownOf(text, file);
  const overrides = overridesOf(variant, base.scenario?.values);
  const loaded = loadScenario(base.parsed, { file, overrides, like: base.scenario });
  return { ...loaded, overrides, base, units: units ?? base.units };
}

/**
 * Runs what is asked for. Errors: those of the replay.
 *
 * @param onVerdict told the verdict ahead of the rest
 */
export function examine(asked: Asked, onVerdict?: (verdict: Verdict) => void): Answer {
  const { scenario, faults, further, overrides, base, units } = scenarioOf(asked);
  if (scenario === undefined) return { ran: false, faults, further };
  const { result, trace, run } = replay(scenario, {
    units,
    ...(onVerdict === undefined ? {} : { onVerdict: (verdict) => onVerdict({ verdict, units }) }),
  });
  const recorded = recordTrace(
    trace as Trace,
    run.events.map((e) => e.time_s),
  );
  return {
    ran: true,
    result,
    overrides,
    listed: listedIn(base.scenario?.values),
    trace: inOnePiece(recorded),
    plot: plotData(result, recorded),
    sketch: sketchOf(scenario),
    timelines: timelinesOf(run),
    settings: settingsOf(scenario.values, base.scenario?.values, scenario.plant, units, base.unitsOf),
    faultChoices: faultChoicesOf(scenario, units),
  } satisfies Ran;
}

/** The whole trace as the command writes it to trace.csv. */
export function traceCsv(asked: Asked): string {
  const { scenario, units } = scenarioOf(asked);
  if (scenario === undefined) throw new Error('a scenario with faults has no trace');
  const { trace } = replay(scenario, { units });
  return csvOf(trace as Trace, units, scenario.plant.ambientPressure_Pa);
}

/** The report as the command writes it with `--report`. */
export function reportPage(asked: Asked & Pick<ReportRequest, 'name' | 'script'>): string {
  const { scenario, units, overrides } = scenarioOf(asked);
  if (scenario === undefined) throw new Error('a scenario with faults has no report');
  const recorder = plotRecorder();
  const { result } = replay(scenario, { units, trace: recorder });
  const { file, text, name, script } = asked;
  return replayReport({
    result,
    plot: plotData(result, recorder.recorded()),
    scenarioText: text,
    origin: {
      file,
      scenarioHash: scenarioHash(text),
      seed: result.seed,
      command: `${commandLine(file, overrides, asked.units)} --report ${name}`,
    },
    script,
  });
}

function csvOf({ columns, rows }: Trace, units: UnitSystem, ambient_Pa: number): string {
  // Tags hold no comma and no quotation mark.
  const lines = [traceHeadings(columns, units).join(',')];
  for (const row of rows)
    lines.push(
      traceRow(columns, row, units, ambient_Pa)
        .map((x, i) => Number(columns[i].dimension === 'time' ? x.toFixed(6) : x.toPrecision(7)))
        .join(','),
    );
  return `${lines.join('\n')}\n`;
}

function inOnePiece({ columns, rows }: Recorded): ThinTrace {
  const cells = new Float64Array(rows.length * columns.length);
  for (const [i, row] of rows.entries()) cells.set(row, i * columns.length);
  return { columns, count: rows.length, cells };
}

function sketchOf({ values, plant }: Scenario): Sketch {
  const { tank, sump } = plant;
  const zero = tank.sightGlassZero_m;
  const stairs = staircase(values, plant);
  const rungs = new Map([...stairs.level, ...stairs.pressure].map((r) => [r.path, r]));
  const sumpAt = (role: string) => {
    const contact = values.panel.sump[role.slice('sump.'.length) as 'low' | 'high'];
    return typeof contact === 'object' ? contact.at : (contact ?? 0);
  };
  const { height_m } = tank.vessel;
  const width = values.tank.insideDiameter ?? height_m / 2;
  const lying = values.tank.orientation === 'horizontal';
  return {
    ambientPressure_Pa: plant.ambientPressure_Pa,
    tank: {
      tag: tank.tag,
      lying,
      heads: values.tank.heads,
      bottom_m: -zero,
      top_m: height_m - zero,
      slimness: lying ? ((values.tank.straightLength ?? 2 * width) + width / 2) / height_m : width / height_m,
      outlet_m: values.tank.outletLevel - zero,
      hasDrain: values.tank.drain !== undefined,
      hasVent: values.tank.vent !== undefined,
    },
    sump: { tag: sump.tag, depth_m: sump.depth_m },
    switches: plant.panel.contacts.map((c) => ({
      tag: c.tag,
      name: rungs.get(`panel.${c.role}`)?.name ?? c.role.replace(/^sump\.(.*)$/, '$1 sump level'),
      measured: c.measured,
      // As it is set; that of the plant is off by what was drawn for it.
      at: rungs.get(`panel.${c.role}`)?.value ?? sumpAt(c.role),
    })),
    motors: [
      ...plant.pumps.map((p) => ({ tag: p.tag, kind: 'pump' as const })),
      ...plant.compressors.map((c) => ({ tag: c.tag, kind: 'compressor' as const })),
    ],
    safetyValve:
      values.safetyValve === undefined || plant.safetyValve === undefined
        ? undefined
        : { tag: plant.safetyValve.tag, set_Pa: values.safetyValve.set },
    cutOut_Pa: rungs.get('panel.pressure.cutOut')?.value,
    design_Pa: values.tank.designPressure,
    valves: plant.valves.map((v) => ({
      tag: v.tag,
      service: v.service,
      headOpens: v.headOpens,
      spring: v.spring === undefined ? undefined : v.spring.direction > 0 ? 'opens' : 'closes',
    })),
  };
}

const SIZES = ['share', 'flow', 'by', 'fall', 'byPressure', 'byLevel', 'byTemperature'] as const;

function faultChoicesOf({ plant }: Scenario, units: UnitSystem): FaultChoice[] {
  return singleFaults(plant, 0).map((f) => {
    const key = SIZES.find((k) => f[k] !== undefined);
    return {
      fault: f.fault,
      item: f.item,
      size:
        key === undefined
          ? undefined
          : { key, text: formatQuantity(f[key] as number, faultTable[key].dimension, units) },
    };
  });
}

/** States that have no column in the trace, from the state at the start and the events. */
function timelinesOf({ unit, start, events }: RunRecord): Timelines {
  const { plant, panel, trip } = unit;
  const changes = (pick: (code: number, item: number, value: number) => number | undefined) =>
    events.flatMap((e): [number, number][] => {
      const state = pick(e.code, e.item, e.value);
      return state === undefined ? [] : [[e.time_s, state]];
    });
  const motors = [...plant.pumps, ...plant.compressors];
  const hand = (which: number): Timeline => ({
    first: 0,
    changes: changes((code, item, value) => (code === EventCode.handValve && item === which ? value : undefined)),
  });
  return {
    switches: plant.panel.contacts.map((_, j) => ({
      first: start[panel.slots.made + j],
      changes: changes((code, item) =>
        item !== j ? undefined : code === EventCode.contactMade ? 1 : code === EventCode.contactReset ? 0 : undefined,
      ),
    })),
    selectors: motors.map((_, m) => ({
      first: start[panel.slots.selector + m],
      changes: changes((code, item, value) => (code === EventCode.selectorSet && item === m ? value : undefined)),
    })),
    latched: motors.map((_, m) => ({
      first: 0,
      changes: changes((code, item) => {
        if (code === EventCode.controlPowerLost) return 0;
        if (item !== m) return undefined;
        if (code === EventCode.motorTripped || code === EventCode.relayTripped) return 1;
        if (code === EventCode.motorFailed) return 2;
        return code === EventCode.resetDone ? 0 : undefined;
      }),
    })),
    drain: hand(0),
    vent: hand(1),
    trip: {
      first: start[trip.slots.undervoltage],
      changes: changes((code, item) =>
        code === EventCode.undervoltageTrip ? 1 : code === EventCode.resetDone && item < 0 ? 0 : undefined,
      ),
    },
  };
}
