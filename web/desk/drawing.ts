/**
 * The unit as a drawing in plain symbols after ISO 1219-1 and ISO 14617: vessel, reservoir, pump (filled triangle),
 * compressor (open triangle), pressure relief valve, directional valve, cylinder, two-way valve (filled when closed).
 * States are told by shape and word. Nothing is coloured by pressure or flow; only what needs attention has a colour.
 */
import { formatQuantity, type UnitSystem } from '../../scenarios/units.ts';
import { type Attributes, type Child, s, setText } from './dom.ts';
import { type Moment, stateAt } from './moment.ts';
import type { Sketch, SwitchSketch, Timelines } from './protocol.ts';

/** Most that are drawn; the tables have all. */
export const MOST_VALVES = 12;
const MOST_MACHINES = 3;

export interface Drawing {
  readonly element: SVGSVGElement;
  /** Shows an instant. */
  show(moment: Moment, timelines: Timelines): void;
}

type Show = (moment: Moment, timelines: Timelines) => void;
type Kind = 'pump' | 'compressor';
interface Row {
  readonly x: number;
  readonly y: number;
  readonly apart: number;
}

/** Where the parts stand on the sheet. */
interface Places {
  readonly narrow: boolean;
  readonly width: number;
  readonly height: number;
  readonly tank: { readonly x: number; readonly top: number; readonly bottom: number; readonly width: number };
  /** Height of the pressure scale and of the lettering of both scales. */
  readonly scale: { readonly top: number; readonly bottom: number };
  /** Where the lettering of the level scale ends, and where the pressure scale stands. */
  readonly levels: number;
  readonly pressures: number;
  readonly compressor: Row;
  readonly pump: Row;
  readonly sump: { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
  readonly mains: { readonly x: number; readonly y: number };
  /** Of the oil under pressure; the return main stands beside it. */
  readonly header: number;
  readonly valves: { readonly x: number; readonly y: number; readonly apart: number; readonly count: number };
}

const count = ({ motors }: Sketch, kind: Kind): number => motors.filter((m) => m.kind === kind).length;

function placesOf(sketch: Sketch, narrow: boolean): Places {
  const rows = Math.min(MOST_VALVES, sketch.valves.length);
  const apart = (kind: Kind, room: number) =>
    Math.min(104, room / Math.max(1, Math.min(MOST_MACHINES, count(sketch, kind))));
  const { lying, slimness } = sketch.tank;
  const scale = narrow ? { top: 64, bottom: 344 } : { top: 84, bottom: 372 };
  /** A lying vessel is wider than it is high, and its lettering higher than the vessel. */
  const tankAt = (x: number, widest: number) =>
    lying
      ? { x, top: scale.top + 84, bottom: scale.bottom - 84, width: widest * 1.5 }
      : { x, ...scale, width: Math.min(widest, Math.max(72, (scale.bottom - scale.top) * slimness)) };
  if (narrow)
    return {
      narrow,
      width: 384,
      height: 700 + rows * 54,
      tank: tankAt(186, 76),
      scale,
      levels: 132,
      pressures: lying ? 254 : 238,
      pump: { x: 34, y: 452, apart: apart('pump', 156) },
      compressor: { x: 222, y: 452, apart: apart('compressor', 156) },
      sump: { x: 26, y: 548, width: 150, height: 56 },
      mains: { x: 206, y: 576 },
      header: 14,
      valves: { x: 48, y: 690, apart: 54, count: rows },
    };
  const spacing = Math.min(62, Math.max(44, 360 / Math.max(1, rows)));
  const height = Math.max(510, 92 + rows * spacing + 40);
  return {
    narrow,
    width: lying ? 1216 : 1200,
    height,
    tank: tankAt(550, 112),
    scale,
    levels: 456,
    pressures: lying ? 652 : 622,
    compressor: { x: 52, y: 116, apart: apart('compressor', 236) },
    pump: { x: 52, y: 296, apart: apart('pump', 236) },
    sump: { x: 30, y: 398, width: 216, height: 70 },
    mains: { x: 888, y: 34 },
    header: lying ? 882 : 866,
    valves: { x: lying ? 914 : 898, y: 96, apart: spacing, count: rows },
  };
}

const line = (d: string, attributes: Attributes = {}) => s('path', { class: 'line', d, ...attributes });
const shape = (d: string, attributes: Attributes = {}) => s('path', { class: 'shape', d, ...attributes });
const label = (x: number, y: number, text: Child, attributes: Attributes = {}) =>
  s('text', { x, y, ...attributes }, text);
const px = (x: number): number => Math.round(x * 100) / 100;
const percent = (x: number): string => `${Math.round(x * 100)} %`;

/** Draws a unit; `narrow` stacks its parts for a small screen. */
export function draw(sketch: Sketch, units: UnitSystem, narrow: boolean): Drawing {
  const p = placesOf(sketch, narrow);
  const shows: Show[] = [];
  const state = s('desc', { id: 'unit-state' });
  const element = s(
    'svg',
    {
      viewBox: `0 0 ${p.width} ${p.height}`,
      role: 'img',
      class: narrow ? 'unit narrow' : 'unit',
      'aria-labelledby': 'unit-name',
      'aria-describedby': 'unit-state',
    },
    s('title', { id: 'unit-name' }, `Drawing of the unit with ${sketch.tank.tag}`),
    state,
    lines(sketch, p),
    vessel(sketch, units, p, shows),
    levelScale(sketch, units, p, shows),
    pressureScale(sketch, units, p, shows),
    machines(sketch, 'compressor', p, shows),
    machines(sketch, 'pump', p, shows),
    sump(sketch, units, p, shows),
    reliefValve(sketch, p, shows),
    mains(p, shows),
    valveRows(sketch, p, shows),
  );
  return {
    element,
    show(moment, timelines) {
      for (const show of shows) show(moment, timelines);
      setText(state, inWords(sketch, units, moment));
    },
  };
}

/** The drawing in words, for those who do not see it. */
export function inWords(sketch: Sketch, units: UnitSystem, moment: Moment): string {
  const pressure = formatQuantity(moment.value('tank pressure'), 'pressure', units, sketch.ambientPressure_Pa);
  const level = formatQuantity(moment.value('tank level'), 'length', units);
  const running = sketch.motors.filter((m) => moment.value(`${m.tag} running`) === 1).map((m) => m.tag);
  const valves = sketch.valves.slice(0, 30).map((v) => `${v.tag} ${percent(moment.value(`${v.tag} position`))} open`);
  return [
    `mains ${moment.value('mains') === 1 ? 'on' : 'off'}`,
    `${pressure}, level ${level}`,
    running.length === 0 ? 'no machine runs' : `${running.join(', ')} running`,
    ...valves,
  ].join('; ');
}

// ---------------------------------------------------------------------------------------------------------- the lines

function lines(sketch: Sketch, p: Places): SVGGElement {
  const { x, top, bottom } = p.tank;
  const all: Child[] = [];
  const row = (kind: Kind) =>
    Array.from({ length: Math.min(MOST_MACHINES, count(sketch, kind)) }, (_, i) => p[kind].x + i * p[kind].apart);
  const compressors = row('compressor');
  if (compressors.length > 0) {
    const y = p.compressor.y - 36;
    for (const at of compressors) all.push(line(`M${at} ${p.compressor.y - 14}V${y}`));
    all.push(
      p.narrow
        ? line(`M${compressors[0]} ${y}H379V36H${x}V${top}`)
        : line(`M${compressors.at(-1)} ${y}H${compressors[0]}V44H${x}V${top}`),
    );
  }
  const pumps = row('pump');
  if (pumps.length > 0) {
    const y = p.pump.y - 46;
    for (const at of pumps) {
      all.push(line(`M${at} ${p.pump.y - 14}V${y}M${at} ${p.pump.y + 14}V${p.sump.y + p.sump.height - 8}`));
      // Check valve: ball and seat.
      all.push(
        s('circle', { class: 'shape', cx: at, cy: p.pump.y - 31, r: 4 }),
        line(`M${at - 6} ${p.pump.y - 29}L${at} ${p.pump.y - 22}L${at + 6} ${p.pump.y - 29}`),
      );
    }
    all.push(
      p.narrow
        ? line(`M${pumps[0]} ${y}H${x - 10}V${bottom}`)
        : line(`M${pumps[0]} ${y}H272V${p.scale.bottom + 22}H${x - 12}V${bottom}`),
    );
  }
  if (p.valves.count === 0) return s('g', {}, all);
  const first = p.valves.y;
  const last = p.valves.y + (p.valves.count - 1) * p.valves.apart;
  const back = p.header + 14;
  const { sump: tray } = p;
  all.push(
    p.narrow
      ? line(`M${x + 10} ${bottom}V640H${p.header}V${last - 5}`)
      : line(
          `M${x + 12} ${bottom}V${p.scale.bottom + 40}H${p.header}M${p.header} ${first - 5}V${Math.max(last - 5, p.scale.bottom + 40)}`,
        ),
    p.narrow
      ? line(`M${back} ${last + 5}V${tray.y + tray.height - 20}H${tray.x + 12}`)
      : line(
          `M${back} ${first + 5}V${p.height - 26}H${tray.x + tray.width + 18}V${tray.y - 14}H${tray.x + tray.width - 16}V${tray.y + 22}`,
        ),
  );
  for (let y = first; y <= last + 1; y += p.valves.apart)
    all.push(line(`M${p.header} ${y - 5}H${p.valves.x}M${back} ${y + 5}H${p.valves.x}`));
  return s('g', {}, all);
}

// ------------------------------------------------------------------------------------------------------- tank and sump

function vessel(sketch: Sketch, units: UnitSystem, p: Places, shows: Show[]): SVGGElement {
  const { tank, ambientPressure_Pa } = sketch;
  const { x, top, bottom, width } = p.tank;
  const [left, right] = [x - width / 2, x + width / 2];
  const cap = tank.heads === 'flat' ? 0 : tank.heads === 'hemispherical' ? width / 2 : width / 4;
  const side = Math.min((bottom - top) / 4, 24);
  const outline = tank.lying
    ? `M${left + side} ${top}H${right - side}C${right} ${top} ${right} ${bottom} ${right - side} ${bottom}H${left + side}C${left} ${bottom} ${left} ${top} ${left + side} ${top}Z`
    : `M${left} ${top + cap}A${width / 2} ${cap} 0 0 1 ${right} ${top + cap}V${bottom - cap}A${width / 2} ${cap} 0 0 1 ${left} ${bottom - cap}Z`;
  const oil = s('rect', { class: 'oil', x: left, width, y: bottom, height: 0, 'clip-path': 'url(#vessel)' });
  const surface = line('', { class: 'surface', 'clip-path': 'url(#vessel)' });
  // Beside the lettering.
  const at = x - 0.36 * width;
  const mark = s('path', { class: 'mark', d: `M${at - 5} -8H${at + 5}L${at} 0Z` });
  const air = label(x, top + 48, '', { class: 'reading' });
  const temperature = label(x, top + 63, '', { class: 'reading small' });
  const level = label(x, bottom - 34, '', { class: 'reading' });
  const volume = label(x, bottom - 19, '', { class: 'reading small' });
  const yOf = levelY(sketch, p);
  shows.push((moment) => {
    const y = px(Math.min(bottom, Math.max(top, yOf(moment.value('tank level')))));
    oil.setAttribute('y', String(y));
    oil.setAttribute('height', String(px(bottom - y)));
    surface.setAttribute('d', `M${left} ${y}H${right}`);
    mark.setAttribute('transform', `translate(0 ${y})`);
    setText(air, formatQuantity(moment.value('tank pressure'), 'pressure', units, ambientPressure_Pa));
    setText(temperature, `air ${formatQuantity(moment.value('air temperature'), 'temperature', units)}`);
    setText(level, formatQuantity(moment.value('tank level'), 'length', units));
    setText(volume, `oil ${formatQuantity(moment.value('tank oil'), 'volume', units)}`);
  });
  const hands = [
    tank.hasDrain && handValve(x + 34, bottom + 16, 1, 'drain', (t) => t.drain, shows),
    tank.hasVent && handValve(x - 34, top - 10, -1, 'vent', (t) => t.vent, shows),
  ];
  return s(
    'g',
    {},
    s('clipPath', { id: 'vessel' }, s('path', { d: outline })),
    oil,
    surface,
    mark,
    s('path', { class: 'shape hollow heavy', d: outline }),
    label(x, top + 26, tank.tag, { class: 'reading' }),
    air,
    temperature,
    level,
    volume,
    hands,
  );
}

/** A valve worked by hand in a line that leaves the vessel downwards (1) or upwards (-1). */
function handValve(
  x: number,
  y: number,
  way: 1 | -1,
  name: string,
  of: (t: Timelines) => Timelines['drain'],
  shows: Show[],
) {
  const symbol = shape(`M${x - 5} ${y - 8}H${x + 5}L${x - 5} ${y + 8}H${x + 5}Z`);
  const words = label(x + way * 10, y + (way > 0 ? 12 : 0), '', { class: way > 0 ? 'small' : 'small end' });
  shows.push((moment, timelines) => {
    const open = stateAt(of(timelines), moment.time_s) === 1;
    symbol.setAttribute('class', open ? 'shape' : 'shape filled');
    setText(words, `${name} ${open ? 'open' : 'shut'}`);
  });
  return s('g', {}, line(`M${x} ${y - way * 26}V${y - way * 8}M${x} ${y + way * 8}V${y + way * 14}`), symbol, words);
}

const bowTie = (x: number, y: number, half: number, tall: number): string =>
  `M${x - half} ${y - tall}L${x + half} ${y + tall}V${y - tall}L${x - half} ${y + tall}Z`;

function levelY({ tank }: Sketch, p: Places): (level_m: number) => number {
  const { top, bottom } = p.tank;
  return (level_m) => bottom - ((level_m - tank.bottom_m) / (tank.top_m - tank.bottom_m)) * (bottom - top);
}

function sump(sketch: Sketch, units: UnitSystem, p: Places, shows: Show[]): SVGGElement {
  const { x, y, width, height } = p.sump;
  const oil = s('rect', { class: 'oil', x, width, y: y + height, height: 0 });
  const surface = line('', { class: 'surface' });
  const words = label(x, y + height + 16, '', { class: 'small' });
  shows.push((moment) => {
    const level = moment.value('sump level');
    const at = px(y + height * (1 - Math.min(1, Math.max(0, level / sketch.sump.depth_m))));
    oil.setAttribute('y', String(at));
    oil.setAttribute('height', String(px(y + height - at)));
    surface.setAttribute('d', `M${x} ${at}H${x + width}`);
    setText(words, `${sketch.sump.tag} sump ${formatQuantity(level, 'length', units)}`);
  });
  return s('g', {}, oil, surface, line(`M${x} ${y}V${y + height}H${x + width}V${y}`, { class: 'line heavy' }), words);
}

// ----------------------------------------------------------------------------------------------------------- switches

/** Heights of labels that stand as near to where they belong as their height allows; in the order of the places. */
export function spread(wanted: readonly number[], apart: number, top: number, bottom: number): number[] {
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a]! - wanted[b]!);
  const room = Math.min(apart, (bottom - top) / Math.max(1, order.length - 1));
  const placed = new Array<number>(wanted.length).fill(0);
  let last = Number.NEGATIVE_INFINITY;
  for (const i of order) placed[i] = last = Math.max(wanted[i]!, last + room, top);
  let next = Number.POSITIVE_INFINITY;
  for (const i of [...order].reverse()) placed[i] = next = Math.min(placed[i]!, next - room, bottom);
  return placed;
}

interface ScaleMark {
  readonly y: number;
  readonly at: string;
  readonly name: string;
  /** Index of a switch, or -1. */
  readonly contact: number;
}

/** Marks of a scale with their lettering: value, tag, and a small contact that is drawn made or open. */
function marks(
  list: readonly ScaleMark[],
  x: number,
  way: 1 | -1,
  p: Places,
  apart: number,
  shows: Show[],
): SVGGElement {
  const ys = spread(
    list.map((m) => m.y),
    apart,
    p.scale.top + 2,
    p.scale.bottom + 4,
  );
  return s(
    'g',
    { class: 'marks' },
    list.map((m, i) => {
      const y = px(ys[i]!);
      const from = x + way * (p.narrow ? 16 : 26);
      const text = label(
        from + way * (p.narrow ? 18 : 20),
        y + 4,
        [s('tspan', { class: 'value' }, p.narrow ? (m.at.split(' ')[0] ?? '') : m.at), ` ${m.name}`],
        {
          class: way < 0 ? 'end' : '',
        },
      );
      // The contact: a bar that lies across its two posts when made and stands off when not.
      const bar = line('', { class: 'line contact' });
      if (m.contact >= 0)
        shows.push((moment, timelines) => {
          const made = stateAt(timelines.switches[m.contact]!, moment.time_s) === 1;
          const [a, b] = [from + way * 2, from + way * 14];
          bar.setAttribute('d', made ? `M${a} ${y}H${b}` : `M${a} ${y}L${b} ${y - 6}`);
          text.setAttribute('class', `${way < 0 ? 'end' : ''}${made ? ' made' : ''}`);
        });
      return s(
        'g',
        {},
        line(`M${x} ${px(m.y)}h${way * 6}L${from} ${y}`, { class: 'leader' }),
        m.contact < 0
          ? line(`M${from} ${y}h${way * 16}`, { class: 'leader' })
          : [
              bar,
              s('circle', { class: 'dot', cx: from + way * 2, cy: y, r: 1.6 }),
              s('circle', { class: 'dot', cx: from + way * 16, cy: y, r: 1.6 }),
            ],
        text,
      );
    }),
  );
}

/** "PS-313 cut-in": the tag where there is one, and what it does. */
const switchWords = ({ tag, name }: SwitchSketch, narrow: boolean): string => {
  const short = name.replace(/ (pressure|level)$/, '');
  return narrow ? short : `${tag.includes('.') ? '' : `${tag} `}${short}`;
};

function levelScale(sketch: Sketch, units: UnitSystem, p: Places, shows: Show[]): SVGGElement {
  const yOf = levelY(sketch, p);
  const x = p.tank.x - p.tank.width / 2;
  const list = sketch.switches.flatMap((w, contact): ScaleMark[] =>
    w.measured === 'level'
      ? [{ y: yOf(w.at), at: formatQuantity(w.at, 'length', units), name: switchWords(w, p.narrow), contact }]
      : [],
  );
  const outlet = {
    y: yOf(sketch.tank.outlet_m),
    at: formatQuantity(sketch.tank.outlet_m, 'length', units),
    name: 'outlet',
    contact: -1,
  };
  const unit = formatQuantity(0, 'length', units).split(' ')[1] ?? '';
  return s(
    'g',
    {},
    p.narrow && label(4, p.tank.top - 4, `${unit}, sight glass`, { class: 'small' }),
    marks([...list, outlet], x, -1, p, p.narrow ? 17 : 20, shows),
  );
}

function pressureScale(sketch: Sketch, units: UnitSystem, p: Places, shows: Show[]): SVGGElement {
  const { ambientPressure_Pa: ambient, safetyValve, cutOut_Pa, design_Pa } = sketch;
  const { top, bottom } = p.scale;
  const show = (pa: number) => formatQuantity(pa, 'pressure', units, ambient);
  const switches = sketch.switches.filter((w) => w.measured === 'pressure');
  const highest = Math.max(...switches.map((w) => w.at), safetyValve?.set_Pa ?? 0, design_Pa ?? 0, ambient + 1e5);
  const yOf = (pa: number) => bottom - (0.96 * (pa - ambient) * (bottom - top)) / (highest - ambient);
  const list: ScaleMark[] = [
    ...sketch.switches.flatMap((w, contact) =>
      w.measured === 'pressure' ? [{ y: yOf(w.at), at: show(w.at), name: switchWords(w, p.narrow), contact }] : [],
    ),
    ...(safetyValve === undefined
      ? []
      : [
          {
            y: yOf(safetyValve.set_Pa),
            at: show(safetyValve.set_Pa),
            name: p.narrow ? 'safety' : 'safety valve',
            contact: -1,
          },
        ]),
    ...(cutOut_Pa === undefined ? [] : [{ y: yOf(cutOut_Pa), at: show(cutOut_Pa), name: 'cut-out', contact: -1 }]),
    ...(design_Pa === undefined ? [] : [{ y: yOf(design_Pa), at: show(design_Pa), name: 'design', contact: -1 }]),
  ];
  const x = p.pressures;
  const pointer = s('path', { class: 'mark', d: `M${x - 11} -5V5L${x - 1} 0Z` });
  const inset = x - 16;
  shows.push((moment) => {
    const y = Math.min(bottom, Math.max(top - 6, yOf(moment.value('tank pressure'))));
    pointer.setAttribute('transform', `translate(0 ${px(y)})`);
  });
  return s(
    'g',
    {},
    line(`M${x} ${top}V${bottom}`),
    line(`M${x - 4} ${bottom}h8`),
    label(inset, bottom + 16, `0 ${show(ambient).split(' ')[1] ?? ''}`, { class: 'small' }),
    pointer,
    marks(list, x, 1, p, p.narrow ? 17 : 20, shows),
  );
}

// ----------------------------------------------------------------------------------------------------------- machines

const SELECTORS = ['off', 'auto', 'hand'];

function machines(sketch: Sketch, kind: Kind, p: Places, shows: Show[]): SVGGElement {
  const { x, y, apart } = p[kind];
  const all = sketch.motors.map((m, index) => ({ ...m, index })).filter((m) => m.kind === kind);
  const drawn = all.slice(0, MOST_MACHINES);
  return s(
    'g',
    {},
    drawn.map((m, i) => {
      const cx = x + i * apart;
      const ring = s('circle', { class: 'shape', cx: cx + 34, cy: y, r: 10 });
      const letter = label(cx + 34, y + 4, 'M', { class: 'letter' });
      // The suction line of a pump runs down in the middle.
      const left = kind === 'pump' ? cx + 8 : cx - 14;
      const state = label(left, y + 44, '', { class: 'small' });
      const selector = label(left, y + 58, '', { class: 'small' });
      shows.push((moment, timelines) => {
        const runs = moment.value(`${m.tag} running`) === 1;
        const latched = stateAt(timelines.latched[m.index]!, moment.time_s);
        ring.setAttribute('class', runs ? 'shape filled' : 'shape');
        letter.setAttribute('class', runs ? 'letter inverse' : 'letter');
        const word = runs ? 'runs' : latched === 1 ? 'tripped' : latched === 2 ? 'failed' : 'at rest';
        setText(state, word);
        state.setAttribute('class', latched > 0 && !runs ? 'small care' : 'small');
        setText(selector, `in ${SELECTORS[stateAt(timelines.selectors[m.index]!, moment.time_s)] ?? ''}`);
      });
      return s(
        'g',
        {},
        s('circle', { class: 'shape', cx, cy: y, r: 14 }),
        // Points the way the fluid goes: filled for oil, open for air.
        s('path', {
          class: kind === 'pump' ? 'shape filled' : 'shape',
          d: `M${cx} ${y - 13}L${cx - 5} ${y - 4}H${cx + 5}Z`,
        }),
        line(`M${cx + 14} ${y - 2}H${cx + 24}M${cx + 14} ${y + 2}H${cx + 24}`),
        ring,
        letter,
        label(left, y + 30, m.tag, { class: 'tag' }),
        state,
        selector,
      );
    }),
    all.length > drawn.length &&
      label(x + drawn.length * apart - 30, y + 4, `+ ${all.length - drawn.length} more`, { class: 'small' }),
  );
}

function reliefValve({ safetyValve }: Sketch, p: Places, shows: Show[]): Child {
  if (safetyValve === undefined) return undefined;
  const x = p.tank.x + (p.narrow ? 30 : 44);
  const y = p.narrow ? 14 : 22;
  const { top } = p.tank;
  // The arrow stands beside the ports while shut and between them while open.
  const arrow = line('', { class: 'line arrow' });
  const words = label(x + 34, y + 13, '', { class: 'small' });
  shows.push((moment) => {
    const open = moment.value(`${safetyValve.tag} open`) === 1;
    const at = open ? x : x + 5;
    arrow.setAttribute('d', `M${at} ${y + 20}V${y + 2}M${at - 3} ${y + 7}L${at} ${y + 2}L${at + 3} ${y + 7}`);
    setText(words, `${safetyValve.tag} ${open ? 'blows' : 'shut'}`);
    words.setAttribute('class', open ? 'small care' : 'small');
  });
  return s(
    'g',
    {},
    line(`M${x} ${y + 22}V${p.narrow ? 48 : 58}H${p.tank.x + 14}V${top + 2}M${x} ${y}V${y - 10}`),
    s('rect', { class: 'shape', x: x - 11, y, width: 22, height: 22 }),
    arrow,
    line(`M${x + 11} ${y + 11}l3 -5l4 10l4 -10l4 10l3 -5`),
    words,
  );
}

function mains({ mains: { x, y } }: Places, shows: Show[]): SVGGElement {
  const blade = line('', { class: 'line heavy' });
  const words = label(x + 58, y - 2, '', { class: 'tag' });
  const control = label(x + 58, y + 13, '', { class: 'small' });
  const trip = label(x + 58, y + 27, '', { class: 'small' });
  shows.push((moment, timelines) => {
    const on = moment.value('mains') === 1;
    blade.setAttribute('d', on ? `M${x + 14} ${y}H${x + 36}` : `M${x + 14} ${y}L${x + 34} ${y - 12}`);
    setText(words, `mains ${on ? 'on' : 'off'}`);
    words.setAttribute('class', on ? 'tag' : 'tag care');
    const power = moment.value('control power') === 0 ? 'control power gone' : 'control power on';
    setText(control, power);
    setText(trip, stateAt(timelines.trip, moment.time_s) === 1 ? 'trip stands' : '');
  });
  return s(
    'g',
    {},
    line(`M${x} ${y}H${x + 14}M${x + 36} ${y}H${x + 50}`, { class: 'line heavy' }),
    s('circle', { class: 'dot', cx: x + 14, cy: y, r: 2.4 }),
    s('circle', { class: 'dot', cx: x + 36, cy: y, r: 2.4 }),
    blade,
    words,
    control,
    trip,
  );
}

// ------------------------------------------------------------------------------------------------------------- valves

const CYLINDER = 78;

function valveRows(sketch: Sketch, p: Places, shows: Show[]): SVGGElement {
  const { x, y, apart, count: rows } = p.valves;
  return s(
    'g',
    {},
    sketch.valves.slice(0, rows).map((v, i) => valveRow(v, x, y + i * apart, shows)),
    sketch.valves.length > rows &&
      label(x, y + rows * apart - 10, `+ ${sketch.valves.length - rows} more in the table`, { class: 'small' }),
  );
}

function valveRow(valve: Sketch['valves'][number], x: number, y: number, shows: Show[]): SVGGElement {
  const left = x + 44;
  const piston = s('rect', { class: 'shape filled', y: y - 9, width: 5, height: 18 });
  const rod = line('', { class: 'line heavy' });
  const centre = left + CYLINDER + 44;
  const body = shape(bowTie(centre, y, 13, 9));
  const words = label(centre + 24, y + 11, '', { class: 'small' });
  const arrows = line('');
  shows.push((moment) => {
    const position = moment.value(`${valve.tag} position`);
    const command = moment.value(`${valve.tag} command`);
    // Head end at the left: it pushes the rod out, which opens or closes.
    const out = valve.headOpens ? position : 1 - position;
    const at = px(left + 4 + out * (CYLINDER - 16));
    piston.setAttribute('x', String(at));
    rod.setAttribute('d', `M${px(at + 5)} ${y}H${px(left + CYLINDER + 18 + out * 6)}`);
    const closed = position <= 0.0005;
    body.setAttribute('class', closed ? 'shape filled' : 'shape');
    const moving = Math.abs(moment.value(`${valve.tag} flow`)) > 0 && position > 0.0005 && position < 0.9995;
    const way = command > 0 ? 'opening' : 'closing';
    setText(
      words,
      closed
        ? 'closed'
        : position >= 0.9995
          ? 'open'
          : `${percent(position)} open${moving && command !== 0 ? `, ${way}` : ''}`,
    );
    // Directional valve: straight or crossed.
    arrows.setAttribute(
      'd',
      command > 0 === valve.headOpens && command !== 0
        ? `M${x + 4} ${y - 5}H${x + 18}M${x + 4} ${y + 5}H${x + 18}`
        : command === 0
          ? `M${x + 4} ${y - 5}h5v-3v6M${x + 4} ${y + 5}h5v-3v6`
          : `M${x + 4} ${y - 5}L${x + 18} ${y + 5}M${x + 4} ${y + 5}L${x + 18} ${y - 5}`,
    );
  });
  const spring =
    valve.spring === undefined
      ? undefined
      : line(
          `M${left + ((valve.spring === 'opens') === valve.headOpens ? 6 : CYLINDER - 26)} ${y}l3 -6l4 12l4 -12l4 12l3 -6`,
        );
  return s(
    'g',
    {},
    s('rect', { class: 'shape', x, y: y - 10, width: 22, height: 20 }),
    arrows,
    line(
      `M${x + 22} ${y - 5}H${left + 3}V${y - 10}M${x + 22} ${y + 5}H${x + 32}V${y + 16}H${left + CYLINDER - 4}V${y + 10}`,
    ),
    s('rect', { class: 'shape', x: left, y: y - 10, width: CYLINDER, height: 20 }),
    spring,
    piston,
    rod,
    line(`M${left + CYLINDER + 24} ${y}H${centre - 13}`, { class: 'leader' }),
    body,
    line(`M${centre - 18} ${y - 9}h-4M${centre + 13} ${y - 9}h4`, { class: 'leader' }),
    label(centre + 24, y - 4, valve.tag, { class: 'tag' }),
    words,
  );
}
