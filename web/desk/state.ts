/** What the address of the page remembers: changes, what was added, the time shown, the pinned run. Nothing else is kept. */
import type { UnitSystem } from '../../scenarios/units.ts';
import type { Variant } from './protocol.ts';

export interface View {
  readonly variant: Variant;
  /** The variant of the pinned run. */
  readonly pinned: Variant | undefined;
  readonly time_s: number;
  /** Undefined: as the file is written. */
  readonly units: UnitSystem | undefined;
}

export const UNCHANGED: Variant = { changes: {}, actions: [], faults: [], leftOut: [] };
export const AT_START: View = { variant: UNCHANGED, pinned: undefined, time_s: 0, units: undefined };

/** Longest value and most entries that are taken from an address; a page never writes more. */
const LONGEST = 400;
const MOST = 200;

function put(params: URLSearchParams, prefix: string, { changes, actions, faults, leftOut }: Variant): void {
  for (const [path, value] of Object.entries(changes)) params.append(`${prefix}set`, `${path}=${value}`);
  for (const item of actions) params.append(`${prefix}action`, item);
  for (const item of faults) params.append(`${prefix}fault`, item);
  for (const item of leftOut) params.append(`${prefix}without`, item);
}

function take(params: URLSearchParams, prefix: string): Variant {
  const all = (name: string) =>
    params
      .getAll(prefix + name)
      .filter((text) => text.length <= LONGEST)
      .slice(0, MOST);
  const pairs = all('set').flatMap((text): [string, string][] => {
    const equals = text.indexOf('=');
    const path = text.slice(0, equals);
    return equals > 0 && /^[\w.-]+$/.test(path) && path !== '__proto__' ? [[path, text.slice(equals + 1)]] : [];
  });
  const items = (name: string) => all(name).filter((text) => /^\{[^{}[\]\n]*\}$/.test(text));
  return {
    changes: Object.fromEntries(pairs),
    actions: items('action'),
    faults: items('fault'),
    leftOut: items('without'),
  };
}

/** The view as the part of an address behind "#"; empty for a page as it opens. */
export function toHash({ variant, pinned, time_s, units }: View): string {
  const params = new URLSearchParams();
  if (time_s > 0) params.set('t', String(Number(time_s.toFixed(3))));
  if (units !== undefined) params.set('units', units);
  put(params, '', variant);
  if (pinned !== undefined) {
    params.set('pinned', 'yes');
    put(params, 'pinned-', pinned);
  }
  return params.toString();
}

/** The view that an address asks for; what makes no sense in it is left out. */
export function fromHash(hash: string): View {
  const params = new URLSearchParams(hash.replace(/^#/, ''));
  const time = Number(params.get('t'));
  const units = params.get('units');
  return {
    variant: take(params, ''),
    pinned: params.get('pinned') === 'yes' ? take(params, 'pinned-') : undefined,
    time_s: Number.isFinite(time) && time > 0 ? time : 0,
    units: units === 'us' || units === 'si' ? units : undefined,
  };
}

/** The command that gives the same result, as it can be typed. */
export function commandLine(file: string, overrides: readonly string[], units: UnitSystem | undefined): string {
  const quoted = (word: string) => (/^[\w./:=@%+,-]+$/.test(word) ? word : `"${word.replace(/["\\$`]/g, '\\$&')}"`);
  const options = [...(units === undefined ? [] : ['--units', units]), ...overrides.flatMap((text) => ['--set', text])];
  return ['tripstroke', 'replay', file, ...options].map(quoted).join(' ');
}
