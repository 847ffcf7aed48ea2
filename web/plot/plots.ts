/**
 * The time plots in a browser: one panel under the other on one time axis, a crosshair that reads all of them, the log of events
 * beside. By mouse: point to read, drag to look closer, Shift and drag to move along, Ctrl and wheel to look closer, double
 * click to see all. By touch: one finger reads, two look closer and move along. By keyboard: see `KEYS`.
 */
import './locale.ts';
import uPlot from 'uplot';
import { clock } from '../../scenarios/wording.ts';
import { drawCompared, drawEvents, drawLanes, drawMarks, drawNames, LANE_HEIGHT, type Paint } from './draw.ts';
import { lookOf } from './looks.ts';
import {
  extent,
  nearestRow,
  type PlotData,
  type PlotEvent,
  type PlotPanel,
  reading,
  rowAt,
  scaleOf,
  stateAt,
  timeLabels,
  timeTicks,
} from './shape.ts';

export interface PlotOptions {
  /** A run to compare with, drawn thin behind. */
  readonly compared?: PlotData | undefined;
  /** Instants with a name, drawn as lines through all panels. */
  readonly moments?: readonly Moment[];
  /** Whether the log stands beside; it does when left out. */
  readonly log?: boolean;
  /** Told where the crosshair stands whenever it moves. */
  readonly onCursor?: (time_s: number) => void;
}

export interface Moment {
  readonly time_s: number;
  readonly text: string;
}

export interface Plots {
  /** Shows another run; what is looked at stays, as far as it exists. */
  update(data: PlotData, more?: Pick<PlotOptions, 'compared' | 'moments'>): void;
  /** Shows a stretch of time; the whole run without. */
  setWindow(from_s?: number, to_s?: number): void;
  /** Puts the crosshair at an instant. */
  setCursor(time_s: number): void;
  destroy(): void;
}

const KEYS =
  'Left and Right move the crosshair, with Ctrl from event to event, with Shift the stretch that is shown; + and - look closer or wider; Home and End go to its ends; 0 shows all.';
/** Most events in the log at a time: more do not help, and looking closer shows them. */
const MOST_LOGGED = 300;
const LEFT = 52;
const LEAST_STEP_s = 1e-3;
const AT_REST_ms = 150;

interface Shown {
  readonly panel: PlotPanel | undefined;
  readonly plot: uPlot;
  readonly image: HTMLElement;
  readonly values: HTMLElement[];
  readonly states: HTMLElement | undefined;
  readonly beyond: HTMLElement;
}

const element = <K extends keyof HTMLElementTagNameMap>(
  name: K,
  className: string,
  ...children: (Node | string)[]
): HTMLElementTagNameMap[K] => {
  const made = document.createElement(name);
  if (className !== '') made.className = className;
  made.append(...children);
  return made;
};

/** The plots of a run in an element of the page, which needs the style sheet `PLOT_STYLE`. */
export function createPlots(container: HTMLElement, first: PlotData, options: PlotOptions = {}): Plots {
  let data = first;
  let { compared, moments = [] } = options;
  let [from_s, to_s] = [0, first.end_s];
  let cursor_s = first.events.find((e) => e.kind === 'power')?.time_s ?? 0;
  let close = false;
  let shown: Shown[] = [];
  let shape = '';
  let width = 0;
  let paint: Paint = readPaint(container);
  let logged: readonly PlotEvent[] = [];
  let marked: Element | undefined;
  let changed_ms = -Infinity;
  let later = 0;
  const timeText = (t: number) => clock(t, data.end_s, 2);
  /** The scales of the panels, kept while the data are the same. */
  let scales: [number, number][] = [];

  // ----------------------------------------------------------------------------------------------------------- the frame
  const now = element('output', 'plots-now');
  const said = element('div', 'plots-said');
  said.setAttribute('aria-live', 'polite');
  const stack = element('div', 'plots-stack');
  stack.tabIndex = 0;
  stack.setAttribute('role', 'group');
  stack.setAttribute('aria-label', `Curves over time. ${KEYS}`);
  const list = element('ol', '');
  const more = element('p', '');
  const log = element('div', 'plots-log', element('h3', '', 'Events'), list, more);
  const body = element('div', 'plots-body', stack);
  if (options.log !== false) body.append(log);
  const tableBody = element('div', 'plots-table');
  tableBody.tabIndex = 0;
  tableBody.setAttribute('role', 'region');
  tableBody.setAttribute('aria-label', 'Figures');
  const table = element('details', '', element('summary', '', 'The same as figures'), tableBody);
  table.addEventListener('toggle', () => fillTable());
  const button = (text: string, label: string, act: () => void): HTMLButtonElement => {
    const made = element('button', '', text);
    made.type = 'button';
    // Who speaks to a computer says what is written on it.
    made.setAttribute('aria-label', `${text}: ${label}`);
    made.title = label;
    made.addEventListener('click', act);
    return made;
  };
  const outage = button('Outage', 'Show the outage', () => {
    if (data.outage !== undefined) show(data.outage.from_s, data.outage.to_s);
  });
  const fitted = button('Fill height', 'Stretch every curve to the height of its plot', () => {
    close = !close;
    fitted.setAttribute('aria-pressed', String(close));
    rescale();
  });
  fitted.setAttribute('aria-pressed', 'false');
  const bar = element(
    'div',
    'plots-bar',
    now,
    button('Earlier', 'Show an earlier stretch', () => pan(-0.5)),
    button('Later', 'Show a later stretch', () => pan(0.5)),
    button('Closer', 'Look closer', () => zoom(0.5)),
    button('Wider', 'Show a longer stretch', () => zoom(2)),
    outage,
    button('All', 'Show the whole run', () => show(0, data.end_s)),
    fitted,
  );
  bar.setAttribute('role', 'toolbar');
  bar.setAttribute('aria-label', 'What the plots show');
  const help = element(
    'p',
    'plots-help',
    `Drag to look closer, double click to see all. With the curves in focus: ${KEYS}`,
  );
  const root = element('div', 'plots', bar, body, table, help, said);
  container.append(root);
  paint = readPaint(root);

  const watchSize = new ResizeObserver(() => layOut());
  watchSize.observe(container);
  const dark = matchMedia('(prefers-color-scheme: dark)');
  const repaint = () => {
    paint = readPaint(root);
    for (const { plot } of shown) plot.redraw(false);
    dressKeys();
  };
  dark.addEventListener('change', repaint);
  stack.addEventListener('keydown', onKey);

  build();

  return {
    update(next, given = {}) {
      const whole = from_s <= 0 && to_s >= data.end_s;
      data = next;
      compared = given.compared ?? undefined;
      moments = given.moments ?? [];
      if (whole || from_s >= data.end_s) [from_s, to_s] = [0, data.end_s];
      to_s = Math.min(to_s, data.end_s);
      cursor_s = Math.min(cursor_s, data.end_s);
      if (shapeOf(data) !== shape) build();
      else refill();
    },
    setWindow(from = 0, to = data.end_s) {
      show(from, to);
    },
    setCursor(time_s) {
      moveTo(time_s, false);
    },
    destroy() {
      clearTimeout(later);
      watchSize.disconnect();
      dark.removeEventListener('change', repaint);
      for (const { plot } of shown) plot.destroy();
      root.remove();
    },
  };

  // ------------------------------------------------------------------------------------------------------------- panels

  /** Panels are made anew only where there are others, or lines of other names. */
  function shapeOf({ panels, lanes }: PlotData): string {
    return JSON.stringify([panels.map((p) => [p.key, p.unit, p.lines.map((l) => l.name)]), lanes.length]);
  }

  function columnsOf(panel: PlotPanel | undefined): uPlot.AlignedData {
    const time = data.time as number[];
    if (panel === undefined) return [time, new Float64Array(time.length).fill(NaN)] as unknown as uPlot.AlignedData;
    return [time, ...panel.lines.map((l) => l.values as number[])];
  }

  function build(): void {
    for (const { plot } of shown) plot.destroy();
    stack.replaceChildren();
    shape = shapeOf(data);
    width = 0;
    measureScales();
    shown = [
      ...data.panels.slice(0, 3).map((p, k) => panelOf(p, k)),
      ...(data.lanes.length > 0 ? [panelOf(undefined, -1)] : []),
      ...data.panels.slice(3).map((p, k) => panelOf(p, k + 3)),
    ];
    layOut();
    dressKeys();
    afterWindow();
  }

  function refill(): void {
    measureScales();
    for (const s of shown) {
      const k = data.panels.findIndex((p) => p.key === s.panel?.key);
      s.plot.batch(() => {
        s.plot.setData(columnsOf(data.panels[k]), false);
        s.plot.setScale('x', { min: from_s, max: to_s });
      });
    }
    afterWindow();
  }

  function panelNow(key: string | undefined): PlotPanel | undefined {
    return data.panels.find((p) => p.key === key);
  }

  function panelOf(panel: PlotPanel | undefined, k: number): Shown {
    const image = element('div', 'plot-canvas');
    image.setAttribute('role', 'img');
    const title = element(
      'h3',
      'plot-title',
      panel === undefined ? 'Machines, mains and alarms' : `${panel.title}, ${panel.unit}`,
    );
    const values: HTMLElement[] = [];
    const key = element('ul', 'plot-key');
    for (const [i, line] of (panel?.lines ?? []).entries()) {
      const value = element('b', '');
      values.push(value);
      key.append(element('li', '', sample(i), `${line.name} `, value));
    }
    const states = panel === undefined ? element('span', '') : undefined;
    if (states !== undefined) key.append(element('li', '', states));
    const beyond = element('p', 'plot-beyond');
    const figure = element('figure', 'plot', element('figcaption', 'plot-head', title, key), image, beyond);
    stack.append(figure);
    const plot = new uPlot(uplotOptions(panel, k), columnsOf(panel), image);
    plot.over.addEventListener('wheel', (e) => onWheel(e, plot), { passive: false });
    plot.over.addEventListener('mousemove', (e) => {
      const row = nearestRow(data.time, plot.posToVal(e.clientX - plot.rect.left, 'x'));
      moveTo(data.time[row]!, false, plot);
    });
    listenTouch(plot);
    return { panel, plot, image, values, states, beyond };
  }

  function uplotOptions(panel: PlotPanel | undefined, k: number): uPlot.Options {
    const ink = () => paint.ink;
    const rule = () => paint.rule;
    const soft = () => paint.soft;
    return {
      width: Math.max(200, stack.clientWidth),
      height: heightOf(panel),
      padding: [8, gutter, 0, 0],
      legend: { show: false },
      scales: {
        x: { time: false, range: () => [from_s, to_s] },
        y: { range: () => (panel === undefined ? [0, 1] : scales[k]!) },
      },
      axes: [
        {
          stroke: soft,
          grid: { stroke: rule, width: 1 },
          ticks: { stroke: rule, width: 1, size: 4 },
          size: 22,
          gap: 2,
          font: '11px system-ui, sans-serif',
          splits: (u) => timeTicks(from_s, to_s, Math.max(2, Math.floor(u.width / 95))),
          values: (_u, ticks) => timeLabels(ticks),
        },
        panel === undefined
          ? { size: LEFT, grid: { show: false }, ticks: { show: false }, values: () => [], stroke: soft }
          : {
              stroke: soft,
              grid: { stroke: rule, width: 1 },
              ticks: { stroke: rule, width: 1, size: 4 },
              size: LEFT,
              gap: 4,
              space: 28,
              font: '11px system-ui, sans-serif',
              values: (_u, ticks) => plainNumbers(ticks),
            },
      ],
      series: [
        {},
        ...(panel?.lines ?? [{ name: '' }]).map((_, i): uPlot.Series => {
          const { dash } = lookOf(i);
          return {
            stroke: () => paint.lines[i % paint.lines.length]!,
            width: 1.6,
            dash: [...dash],
            points: { show: false },
            spanGaps: false,
          };
        }),
      ],
      cursor: {
        y: false,
        drag: { x: true, y: false, setScale: false },
        points: panel === undefined ? { show: false } : { size: 6, fill: ink, width: 0 },
        bind: {
          // Where the mouse has left it, the crosshair stays.
          mouseleave: () => null,
          dblclick: () => {
            return () => {
              show(0, data.end_s);
              return null;
            };
          },
          mousedown: (u, _target, handler) => (e) => {
            if (e.button !== 0) return null;
            if (e.shiftKey) dragAlong(u, e);
            else handler(e);
            return null;
          },
        },
      },
      hooks: {
        setSelect: [
          (u) => {
            const { left, width: wide } = u.select;
            if (wide < 6) return;
            const [a, b] = [u.posToVal(left, 'x'), u.posToVal(left + wide, 'x')];
            u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
            show(a, b);
          },
        ],
        drawClear: [
          (u) => {
            drawEvents(u, paint, data.events, moments, k === 0);
            const p = panelNow(panel?.key);
            if (p !== undefined && compared !== undefined) drawCompared(u, paint, p, compared);
          },
        ],
        draw: [
          (u) => {
            const p = panelNow(panel?.key);
            if (p === undefined) drawLanes(u, paint, data.lanes, data.events);
            else {
              drawMarks(u, paint, p);
              drawNames(u, paint, p, data.time);
            }
          },
        ],
      },
    };
  }

  /** Room at the right for the names of settings and lanes. */
  function gutter(): number {
    return stack.clientWidth < 560 ? 92 : 158;
  }

  function heightOf(panel: PlotPanel | undefined): number {
    if (panel === undefined) return 36 + LANE_HEIGHT * (data.lanes.length + 1);
    const inside = panel.marks.filter((m) => m.shown).length;
    if (inside > 0) return Math.max(150, 60 + 15 * inside);
    return panel.key === 'valves' ? Math.max(140, 60 + 14 * panel.lines.length) : 120;
  }

  function layOut(): void {
    const wide = container.clientWidth;
    if (wide === width || wide === 0) return;
    width = wide;
    body.classList.toggle('narrow', wide < 820);
    const room = Math.max(200, stack.clientWidth);
    for (const { plot, panel } of shown) {
      plot.setSize({ width: room, height: heightOf(panelNow(panel?.key)) });
    }
    placeCursor();
  }

  /** Samples of the lines beside their names. */
  function sample(line: number): SVGSVGElement {
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    svg.setAttribute('width', '30');
    svg.setAttribute('height', '8');
    svg.setAttribute('aria-hidden', 'true');
    const stroke = document.createElementNS('http://www.w3.org/2000/svg', 'line');
    for (const [name, value] of Object.entries({ x1: 0, x2: 30, y1: 4, y2: 4, 'stroke-width': 2 }))
      stroke.setAttribute(name, String(value));
    stroke.setAttribute('stroke-dasharray', lookOf(line).dash.join(' '));
    stroke.dataset['line'] = String(line);
    svg.append(stroke);
    return svg;
  }

  function dressKeys(): void {
    for (const stroke of stack.querySelectorAll<SVGLineElement>('[data-line]'))
      stroke.setAttribute('stroke', paint.lines[Number(stroke.dataset['line']) % paint.lines.length]!);
  }

  // -------------------------------------------------------------------------------------------------- what is looked at

  function measureScales(): void {
    const [from, to] = close ? [rowAt(data.time, from_s), rowAt(data.time, to_s)] : [0, undefined];
    scales = data.panels.map((p) => scaleOf(p, from, to, !close));
  }

  function rescale(): void {
    measureScales();
    for (const { plot } of shown) plot.setScale('x', { min: from_s, max: to_s });
    for (const { plot, panel } of shown) {
      const k = data.panels.findIndex((p) => p.key === panel?.key);
      if (k >= 0) plot.setScale('y', { min: scales[k]![0], max: scales[k]![1] });
    }
    afterWindow();
  }

  function show(from: number, to: number): void {
    const least = Math.min(data.end_s, Math.max(LEAST_STEP_s * 10, data.end_s * 1e-7));
    let [a, b] = from <= to ? [from, to] : [to, from];
    if (b - a < least) [a, b] = [(a + b - least) / 2, (a + b + least) / 2];
    const length = Math.min(data.end_s, b - a);
    a = Math.min(Math.max(0, a), data.end_s - length);
    [from_s, to_s] = [a, a + length];
    rescale();
  }

  function pan(share: number): void {
    const by = share * (to_s - from_s);
    show(from_s + by, to_s + by);
  }

  /** Around the crosshair where it is in view, else around the middle. */
  function zoom(factor: number, around = cursor_s): void {
    const at = around >= from_s && around <= to_s ? around : (from_s + to_s) / 2;
    show(at - (at - from_s) * factor, at + (to_s - at) * factor);
  }

  function afterWindow(): void {
    outage.hidden = data.outage === undefined;
    // The plots take new scales over when this is through, and know places only then.
    queueMicrotask(() => placeCursor());
    // While something is dragged, words and log wait until it rests: the curves come first.
    const now_ms = performance.now();
    const dragged = now_ms - changed_ms < AT_REST_ms;
    changed_ms = now_ms;
    clearTimeout(later);
    if (dragged) later = window.setTimeout(inWords, AT_REST_ms);
    else inWords();
  }

  function inWords(): void {
    describe();
    fillLog();
    fillTable();
  }

  // ---------------------------------------------------------------------------------------------------------- crosshair

  function moveTo(time_s: number, speak: boolean, by?: uPlot): void {
    cursor_s = Math.min(Math.max(0, time_s), data.end_s);
    placeCursor(by);
    if (speak) {
      if (cursor_s < from_s || cursor_s > to_s) {
        const half = (to_s - from_s) / 2;
        show(cursor_s - half, cursor_s + half);
      }
      said.textContent = `${timeText(cursor_s)}: ${spoken()}`;
    }
    options.onCursor?.(cursor_s);
  }

  function placeCursor(by?: uPlot): void {
    for (const { plot } of shown) {
      if (plot === by) continue;
      const left = cursor_s >= from_s && cursor_s <= to_s ? plot.valToPos(cursor_s, 'x') : -10;
      plot.setCursor({ left, top: -10 }, false);
    }
    readOff();
  }

  function readOff(): void {
    const row = rowAt(data.time, cursor_s);
    now.textContent = timeText(cursor_s);
    for (const { panel, values, states } of shown) {
      const p = panelNow(panel?.key);
      for (const [i, line] of (p?.lines ?? []).entries()) values[i]!.textContent = reading(p!, line.values[row]!);
      if (states !== undefined) states.textContent = statesText();
    }
    markLog();
  }

  /** What is not in its resting state. */
  function statesText(): string {
    const busy = data.lanes.flatMap((lane) => {
      const state = stateAt(lane, cursor_s);
      return state === lane.rest ? [] : [`${lane.name} ${state}`];
    });
    return busy.length === 0 ? 'all at rest' : busy.join(', ');
  }

  function spoken(): string {
    const row = rowAt(data.time, cursor_s);
    const parts = data.panels.map(
      (p) => `${p.title}: ${p.lines.map((l) => `${l.name} ${reading(p, l.values[row]!)}`).join(', ')}`,
    );
    const events = data.events.filter((e) => Math.abs(e.time_s - cursor_s) < 1e-9);
    return [...events.map((e) => `${e.tag} ${e.text}`), ...parts, statesText()].join('. ');
  }

  function describe(): void {
    for (const { panel, image, beyond } of shown) {
      const p = panelNow(panel?.key);
      if (p === undefined) {
        image.setAttribute('aria-label', `States over time: ${data.lanes.map((l) => l.name).join(', ')}`);
        continue;
      }
      const lines = p.lines.map((l) => {
        const [least, greatest] = extent(l.values) ?? [0, 0];
        return `${l.name} from ${reading(p, least)} to ${reading(p, greatest)}`;
      });
      image.setAttribute('aria-label', `${p.title} over time: ${lines.join('; ')}`);
      const k = data.panels.indexOf(p);
      const [low, high] = scales[k]!;
      const out = p.marks.filter((m) => m.value < low || m.value > high);
      beyond.textContent =
        out.length === 0 ? '' : `Outside this scale: ${out.map((m) => `${m.name} ${reading(p, m.value)}`).join(', ')}.`;
    }
  }

  // ------------------------------------------------------------------------------------------------------ log and table

  function fillLog(): void {
    if (options.log === false) return;
    const inView = data.events.filter((e) => e.time_s >= from_s && e.time_s <= to_s);
    logged = inView.slice(0, MOST_LOGGED);
    list.replaceChildren(
      ...logged.map((e) => {
        const text = element('span', e.kind === 'power' || e.kind === 'alarm' ? 'care' : '', `${e.tag} ${e.text}`);
        const item = element('button', '', element('time', '', timeText(e.time_s)), text);
        item.type = 'button';
        item.title = e.reading;
        item.addEventListener('click', () => moveTo(e.time_s, true));
        return element('li', '', item);
      }),
    );
    const left = data.events.length - inView.length;
    const hidden = inView.length - logged.length;
    more.textContent = [
      inView.length === 0 ? 'None in the stretch shown.' : '',
      hidden > 0 ? `${hidden} more in this stretch: look closer to see them.` : '',
      left > 0 ? `${left} outside it.` : '',
    ]
      .filter((t) => t !== '')
      .join(' ');
    marked = undefined;
    markLog();
  }

  /** Marks the last event before the crosshair. */
  function markLog(): void {
    if (options.log === false) return;
    const k = logged.findLastIndex((e) => e.time_s <= cursor_s + 1e-9);
    const item = k < 0 ? undefined : list.children[k];
    if (item === marked) return;
    marked?.removeAttribute('aria-current');
    item?.setAttribute('aria-current', 'true');
    marked = item;
    if (item instanceof HTMLElement) {
      // Only the list moves, never the page.
      const top = item.offsetTop - list.offsetTop;
      if (top < list.scrollTop || top + item.offsetHeight > list.scrollTop + list.clientHeight)
        list.scrollTop = top - list.clientHeight / 2;
    }
  }

  function fillTable(): void {
    if (!table.open) return;
    const parts = 24;
    const rows = new Set(
      Array.from({ length: parts + 1 }, (_, k) => rowAt(data.time, from_s + ((to_s - from_s) * k) / parts)),
    );
    const head = element('tr', '');
    const cell = (text: string) => {
      const made = element('th', '', text);
      made.scope = 'col';
      return made;
    };
    head.append(cell('Time'));
    for (const p of data.panels) for (const l of p.lines) head.append(cell(`${p.title}: ${l.name}`));
    const lines = [...rows].map((row) => {
      const line = element('tr', '', element('td', '', timeText(data.time[row]!)));
      for (const p of data.panels) for (const l of p.lines) line.append(element('td', '', reading(p, l.values[row]!)));
      return line;
    });
    tableBody.replaceChildren(element('table', '', element('thead', '', head), element('tbody', '', ...lines)));
  }

  // -------------------------------------------------------------------------------------- keyboard, wheel, mouse, touch

  function onKey(e: KeyboardEvent): void {
    if (e.target !== stack || e.altKey) return;
    const act = keyAct(e.key, e.shiftKey, e.ctrlKey || e.metaKey);
    if (act === undefined) return;
    e.preventDefault();
    act();
  }

  function keyAct(key: string, shift: boolean, control: boolean): (() => void) | undefined {
    const way = key === 'ArrowLeft' ? -1 : key === 'ArrowRight' ? 1 : 0;
    if (way !== 0) {
      if (shift) return () => pan(0.2 * way);
      if (control) return () => toEvent(way);
      return () => moveTo(stepFrom(way), true);
    }
    // Ctrl with plus, minus and nought belong to the browser.
    if (control) return undefined;
    if (key === '+' || key === '=') return () => zoom(0.5);
    if (key === '-') return () => zoom(2);
    if (key === 'Home') return () => moveTo(from_s, true);
    if (key === 'End') return () => moveTo(to_s, true);
    if (key === '0') return () => show(0, data.end_s);
    return undefined;
  }

  /** A hundredth of what is shown, but at least to the next row. */
  function stepFrom(way: number): number {
    const wanted = Math.min(Math.max(0, cursor_s + (way * (to_s - from_s)) / 100), data.end_s);
    const row = rowAt(data.time, wanted);
    const here = rowAt(data.time, cursor_s);
    if (row !== here) return data.time[row]!;
    return data.time[Math.min(Math.max(0, here + way), data.time.length - 1)]!;
  }

  function toEvent(way: number): void {
    const e =
      way > 0
        ? data.events.find(({ time_s }) => time_s > cursor_s + 1e-9)
        : data.events.findLast(({ time_s }) => time_s < cursor_s - 1e-9);
    if (e !== undefined) moveTo(e.time_s, true);
  }

  function onWheel(e: WheelEvent, u: uPlot): void {
    const across = Math.abs(e.deltaX) > Math.abs(e.deltaY) ? e.deltaX : e.shiftKey ? e.deltaY : 0;
    if (e.ctrlKey || e.metaKey) {
      e.preventDefault();
      zoom(Math.exp(Math.max(-1, Math.min(1, e.deltaY / 200))), u.posToVal(e.clientX - u.rect.left, 'x'));
    } else if (across !== 0) {
      e.preventDefault();
      pan(across / 600);
    }
  }

  function dragAlong(u: uPlot, down: MouseEvent): void {
    const [a, b] = [from_s, to_s];
    const move = (e: MouseEvent) => {
      const by = ((down.clientX - e.clientX) / u.over.clientWidth) * (b - a);
      show(a + by, b + by);
    };
    const up = () => {
      removeEventListener('mousemove', move);
      removeEventListener('mouseup', up);
    };
    addEventListener('mousemove', move);
    addEventListener('mouseup', up);
  }

  function listenTouch(u: uPlot): void {
    const fingers = new Map<number, number>();
    let grip: { from: number; to: number; at: readonly number[] } | undefined;
    const timeAt = (x: number) =>
      data.time[nearestRow(data.time, u.posToVal(Math.min(Math.max(0, x - u.rect.left), u.over.clientWidth), 'x'))]!;
    u.over.addEventListener('pointerdown', (e) => {
      if (e.pointerType === 'mouse') return;
      u.over.setPointerCapture(e.pointerId);
      fingers.set(e.pointerId, e.clientX);
      grip = fingers.size === 2 ? { from: from_s, to: to_s, at: [...fingers.values()] } : undefined;
      if (fingers.size === 1) moveTo(timeAt(e.clientX), false);
    });
    u.over.addEventListener('pointermove', (e) => {
      if (!fingers.has(e.pointerId)) return;
      fingers.set(e.pointerId, e.clientX);
      if (grip === undefined) {
        if (fingers.size === 1) moveTo(timeAt(e.clientX), false);
        return;
      }
      // What was under the two fingers stays under them.
      const wide = u.over.clientWidth;
      const place = (x: number) => (x - u.rect.left) / wide;
      const [x1, x2] = grip.at.map(place) as [number, number];
      const [y1, y2] = [...fingers.values()].map(place) as [number, number];
      const scale = Math.abs(x2 - x1) / Math.max(0.02, Math.abs(y2 - y1));
      const length = (grip.to - grip.from) * scale;
      const middle = grip.from + ((x1 + x2) / 2) * (grip.to - grip.from);
      const from = middle - ((y1 + y2) / 2) * length;
      show(from, from + length);
    });
    const lift = (e: PointerEvent) => {
      fingers.delete(e.pointerId);
      grip = undefined;
    };
    u.over.addEventListener('pointerup', lift);
    u.over.addEventListener('pointercancel', lift);
  }
}

/** Numbers of an axis, all with the decimals that their distance needs. */
function plainNumbers(ticks: readonly number[]): string[] {
  const step = ticks.length > 1 ? Math.abs(ticks[1]! - ticks[0]!) : 1;
  const decimals = Math.max(0, Math.min(6, Math.ceil(-Math.log10(step) - 1e-9)));
  return ticks.map((t) => t.toFixed(decimals));
}

function readPaint(root: HTMLElement): Paint {
  const style = getComputedStyle(root);
  const of = (name: string) => style.getPropertyValue(name).trim() || '#444';
  return {
    paper: of('--paper'),
    ink: of('--ink'),
    soft: of('--soft'),
    rule: of('--rule'),
    wash: of('--wash'),
    care: of('--care'),
    lines: Array.from({ length: 6 }, (_, i) => of(lookOf(i).colour)),
  };
}
