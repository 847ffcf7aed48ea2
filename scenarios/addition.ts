/** A scenario text with one thing added, every other character as it was. */
import { isMap, isScalar, isSeq, type Node, type Pair, type YAMLMap } from 'yaml';
import type { FaultValues } from '../models/fault.ts';
import type { Dimension } from '../models/parameters.ts';
import { parseYaml, textOf } from './document.ts';
import { loadScenario } from './load.ts';
import { changeNumbers, scalarAt } from './setpoints.ts';
import { columnUnit, readQuantity, type UnitSystem } from './units.ts';

export type Added = { readonly text: string } | { readonly problem: string };

const SIZED: Readonly<Record<string, Dimension>> = {
  share: 'fraction',
  flow: 'volumeFlow',
  fall: 'pressureRate',
  byPressure: 'pressureDifference',
  byLevel: 'length',
};

/** A quantity with four figures, as people of a system of units write it. */
export function shortQuantity(si: number, dimension: Dimension, system: UnitSystem): string {
  const unit = columnUnit(dimension, system);
  return `${Number(unit.toDisplay(si, 0).toPrecision(4))} ${unit.name}`;
}

/** "{ fault: oil leak, at: 0 s, flow: 0.13 gal/min }" */
export function faultLine(f: FaultValues, system: UnitSystem): string {
  const word = (text: string) => (/^[\w-]+$/.test(text) ? text : `'${text.replaceAll("'", "''")}'`);
  const parts = [`fault: ${f.fault}`];
  if (f.item !== undefined) parts.push(`item: ${word(f.item)}`);
  parts.push(`at: ${f.at ?? 0} s`);
  for (const [key, dimension] of Object.entries(SIZED)) {
    const value = f[key as keyof FaultValues];
    if (typeof value === 'number') parts.push(`${key}: ${shortQuantity(value, dimension, system)}`);
  }
  return `{ ${parts.join(', ')} }`;
}

/** The text with a fault behind those it has. */
export function withFault(text: string, line: string): Added {
  const root = rootOf(text);
  if (root === undefined) return { problem: 'the file is no plain group of keys' };
  const end = text.endsWith('\n') || text === '' ? text : `${text}\n`;
  const eol = text.includes('\r\n') ? '\r\n' : '\n';
  const faults = pairOf(root, 'faults');
  if (faults === undefined)
    return root.flow
      ? { problem: 'the file is written in one pair of braces' }
      : checked(text, `${end}faults:${eol}  - ${line}${eol}`);
  const list = faults.value;
  if (!isSeq(list) || list.range == null) return { problem: 'its faults are no list' };
  const items = list.items as Node[];
  if (list.flow) {
    const close = list.range[1] - 1;
    return checked(
      text,
      `${text.slice(0, close).trimEnd()}${items.length > 0 ? ', ' : ' '}${line} ${text.slice(close)}`,
    );
  }
  const first = items[0]?.range?.[0] ?? list.range[0];
  const dash = text.lastIndexOf('-', first);
  const indent = text.slice(text.lastIndexOf('\n', dash) + 1, dash);
  const last = items[items.length - 1]?.range?.[1] ?? list.range[1];
  const stop = text.indexOf('\n', last - 1);
  const at = stop < 0 ? text.length : stop + 1;
  return checked(text, `${text.slice(0, at)}${stop < 0 ? eol : ''}${indent}- ${line}${eol}${text.slice(at)}`);
}

/** The text with a key in a group that has not got it. */
export function withKey(text: string, group: string, key: string, value: string): Added {
  const root = rootOf(text);
  const pair = root === undefined ? undefined : pairOf(root, group);
  const map = pair?.value;
  if (!isMap(map) || map.range == null) return { problem: `"${group}" is no plain group of keys` };
  if (pairOf(map as YAMLMap<Node, Node | null>, key) !== undefined)
    return { problem: `"${group}.${key}" is there already` };
  const eol = text.includes('\r\n') ? '\r\n' : '\n';
  if (map.flow) {
    const close = map.range[1] - 1;
    return checked(text, `${text.slice(0, close).trimEnd()}, ${key}: ${value} ${text.slice(close)}`);
  }
  const [first] = map.items as Pair<Node, Node | null>[];
  const from = first.key.range?.[0] ?? map.range[0];
  const indent = text.slice(text.lastIndexOf('\n', from) + 1, from);
  return checked(text, `${text.slice(0, from)}${key}: ${value}${eol}${indent}${text.slice(from)}`);
}

/** The text with another quantity at a path, in the unit that stands there. `ambient_Pa`: what gauge pressures refer to. */
export function withQuantity(text: string, path: string, si: number, dimension: Dimension, ambient_Pa: number): Added {
  const written = scalarAt((parseYaml(text).document?.contents ?? null) as Node | null, path)?.text;
  const read = written === undefined ? undefined : readQuantity(written, dimension, ambient_Pa);
  if (read === undefined || 'problem' in read) return { problem: `"${path}" is not written as a plain quantity` };
  const number = String(Number(((si - read.unit.offset) / read.unit.factor).toPrecision(5)));
  const changed = changeNumbers(text, [{ path, number }]);
  return 'text' in changed
    ? checked(text, changed.text)
    : { problem: `"${path}" is shared with another place of the file` };
}

function rootOf(text: string): YAMLMap<Node, Node | null> | undefined {
  const { document, problems } = parseYaml(text);
  const root = document?.contents;
  return problems.length === 0 && isMap(root) ? (root as YAMLMap<Node, Node | null>) : undefined;
}

const pairOf = (map: YAMLMap<Node, Node | null>, key: string) =>
  (map.items as Pair<Node, Node | null>[]).find((p) => isScalar(p.key) && textOf(p.key) === key);

/** The new text, where it still reads as a scenario and differs in one key of the root only. */
function checked(before: string, after: string): Added {
  const [was, now] = [before, after].map((t) => loadScenario(t, { file: 'fitted' }).scenario?.values);
  if (was === undefined || now === undefined) return { problem: 'the file cannot be added to as it is written' };
  const keys = Object.keys({ ...was, ...now }) as (keyof typeof was)[];
  const differ = keys.filter((k) => JSON.stringify(was[k]) !== JSON.stringify(now[k]));
  return differ.length === 1
    ? { text: after }
    : { problem: 'what would be changed is shared with another place of the file' };
}
