/** The desk: puts the page together. What is shown follows from the text, the variant of it and the time. */
import { CAUTIONS } from '../../scenarios/result.ts';
import { formatQuantity, type UnitSystem } from '../../scenarios/units.ts';
import { alarmName, clock as clockText } from '../../scenarios/wording.ts';
import { createPlots, type Plots } from '../plot/plots.ts';
import type { PlotData } from '../plot/shape.ts';
import { PLOT_STYLE } from '../plot/style.ts';
import { startEngine } from './client.ts';
import { button, byId, h, renew, setText } from './dom.ts';
import { type Drawing, draw } from './drawing.ts';
import { editor } from './editor.ts';
import { hands } from './hands.ts';
import { type Moment, momentsOf } from './moment.ts';
import type { Answer, Ran, Variant, Verdict } from './protocol.ts';
import { settingsPanel } from './settingsPanel.ts';
import { AT_START, commandLine, fromHash, toHash, UNCHANGED } from './state.ts';
import { findingList, inALine, stepsAndFaults, strokeTable, verdictWords } from './verdict.ts';
import { worstPanel } from './worstPanel.ts';

/** Changes that are made while something is dragged are told to listeners of the page once they rest, ms. */
const REST_ms = 400;
const SPEEDS = [1, 2, 5, 10, 30, 60, 300, 3600] as const;
const MOST_EVENTS = 400;
const MOST_CHARACTERS = 1_000_000;

let file = '';
let text = '';
/** The text as it was opened. */
let given = '';
let view = AT_START;
let ran: Ran | undefined;
let pinned: Ran | undefined;
let momentAt: ((time_s: number) => Moment) | undefined;
let drawing: Drawing | undefined;
let drawn = '';
let plots: Plots | undefined;
let plotsInView = false;
let plotted: Ran | undefined;
let plottedWith: PlotData | undefined;
let asked_ms = 0;
let playing = false;
/** Time slider and crosshair of the curves move each other; whichever was moved leads. */
let leading = false;

const style = new CSSStyleSheet();
style.replaceSync(PLOT_STYLE);
document.adoptedStyleSheets = [style];

const narrow = matchMedia('(max-width: 760px)');
const live = byId('live');
const verdict = byId('verdict');
const time = byId<HTMLInputElement>('time');
const speed = byId<HTMLSelectElement>('speed');
const play = byId<HTMLButtonElement>('play');

const main = document.querySelector('main')!;

const engine = startEngine(
  (told) => {
    showVerdict(told);
    setText(byId('took'), `Replayed and shown in ${Math.round(performance.now() - asked_ms)} ms.`);
  },
  (answer) => {
    if (!engine.waiting()) main.removeAttribute('aria-busy');
    take(answer);
  },
  (message) => {
    main.removeAttribute('aria-busy');
    setText(verdict, 'The program failed.');
    say(`The program failed: ${message}. Please report this with the file.`);
  },
);
const words = editor(byId<HTMLTextAreaElement>('text'), byId('numbers'), byId('text-errors'), (now) => {
  text = now;
  run();
});
const settings = settingsPanel(byId('groups'), (path, value) => {
  const changes = { ...view.variant.changes };
  if (value === undefined) delete changes[path];
  else changes[path] = value;
  vary({ changes });
});
const byHand = hands(byId('hands'), {
  time: () => view.time_s,
  onAction: (item) => vary({ actions: [...view.variant.actions, item] }),
  onFault: (item) => vary({ faults: [...view.variant.faults, item] }),
  onValue: (path, value) => vary({ changes: { ...view.variant.changes, [path]: value } }),
  onLeaveOut: (item) => vary({ leftOut: [...view.variant.leftOut, item] }),
  onBringBack: (item) => {
    const at = view.variant.leftOut.indexOf(item);
    vary({ leftOut: view.variant.leftOut.filter((_, i) => i !== at) });
  },
  onRemove: (kind, index) => vary({ [kind]: view.variant[kind].filter((_, i) => i !== index) }),
});
const worst = worstPanel(engine, asked, {
  onTry: (overrides) => {
    const changes = { ...view.variant.changes };
    for (const override of overrides) {
      const equals = override.indexOf('=');
      changes[override.slice(0, equals)] = override.slice(equals + 1);
    }
    vary({ changes });
  },
});

// ------------------------------------------------------------------------------------------------------ asking, taking

function asked(variant: Variant = view.variant) {
  return { file, text, variant, units: view.units };
}

function vary(change: Partial<Variant>): void {
  view = { ...view, variant: { ...view.variant, ...change } };
  run();
}

function run(): void {
  asked_ms = performance.now();
  main.setAttribute('aria-busy', 'true');
  engine.run(asked());
  remember();
}

let remembering: ReturnType<typeof setTimeout> | undefined;
function remember(): void {
  clearTimeout(remembering);
  remembering = setTimeout(() => history.replaceState(null, '', `#${toHash(view)}`), REST_ms);
}

let saying: ReturnType<typeof setTimeout> | undefined;
/** Tells those who listen, once things rest. */
function say(what: string): void {
  clearTimeout(saying);
  saying = setTimeout(() => setText(live, what), REST_ms);
}

function take(answer: Answer): void {
  const refused = byId('refused');
  refused.hidden = answer.ran;
  document.body.classList.toggle('stale', !answer.ran);
  if (!answer.ran) {
    words.showFaults(answer.faults, answer.further, file);
    const [first] = answer.faults;
    const where = first === undefined ? '' : first.file === file ? `line ${first.line}: ` : 'a setting: ';
    const count = answer.faults.length + answer.further;
    const what = `Not run: ${count} fault${count === 1 ? '' : 's'} in the file or the settings. First, ${where}${first?.message ?? ''}.`;
    renew(
      refused,
      h('p', {}, h('b', { class: 'care' }, 'NOT RUN '), what),
      first !== undefined && first.file === file && button('Show the line', () => words.go(first.line, first.column)),
      ran !== undefined && h('p', { class: 'quiet' }, 'What is shown below is the last run that was possible.'),
    );
    setText(byId('strip-says'), 'NOT RUN: faults in the file or the settings');
    saidOf = '';
    if (ran === undefined) setText(verdict, 'No verdict yet.');
    say(what);
    return;
  }
  words.showFaults([], 0, file);
  ran = answer;
  momentAt = momentsOf(answer.trace);
  showVerdict(answer.result);
  const { steps, faults } = answer.result;
  byId('steps').hidden = steps.length + faults.length === 0;
  renew(byId('steps'), stepsAndFaults(answer.result));
  settings.show(answer);
  byHand.show(answer, view.variant);
  showPlots();
  showTime();
  showRest(answer);
  worst.outdated();
}

// ------------------------------------------------------------------------------------------------------------- showing

/** What is on the page already: the verdict comes twice, ahead of the rest and with it. */
let saidOf = '';

function showVerdict(result: Verdict): void {
  const now = JSON.stringify([result.verdict, result.units, pinned?.result.verdict]);
  if (now === saidOf) return;
  saidOf = now;
  const said = verdictWords(result);
  renew(verdict, h('b', { class: result.verdict.met ? 'stamp' : 'stamp care' }, said.word), ` ${said.text}`);
  renew(byId('strokes'), strokeTable(result, pinned?.result));
  const before = pinned === undefined ? '' : ` (pinned ${inALine(pinned.result)})`;
  setText(byId('strip-says'), `${inALine(result)}${before}`);
  say(`${said.word}: ${said.text}`);
}

/** The curves, with those of the pinned run behind them; drawn only while somebody can see them. */
function showPlots(): void {
  if (ran === undefined || !plotsInView) return;
  // A run in other units has another scale.
  const compared = pinned?.result.units === ran.result.units ? pinned.plot : undefined;
  if (plots !== undefined) {
    if (plotted !== ran || plottedWith !== compared) plots.update(ran.plot, { compared });
  } else {
    plots = createPlots(byId('plots'), ran.plot, {
      compared,
      log: false,
      onCursor(time_s) {
        if (leading || !byId('plots').matches(':hover, :focus-within')) return;
        setPlaying(false);
        leading = true;
        setTime(time_s);
        leading = false;
      },
    });
  }
  [plotted, plottedWith] = [ran, compared];
  placeCursor();
}

function placeCursor(): void {
  if (leading || !plotsInView || ran === undefined) return;
  leading = true;
  plots?.setCursor(Math.min(view.time_s, ran.result.end.time_s));
  leading = false;
}

new IntersectionObserver(
  ([entry]) => {
    plotsInView = entry?.isIntersecting === true;
    showPlots();
  },
  { rootMargin: '200px' },
).observe(byId('curves'));

function showRest({ result, overrides, sketch }: Ran): void {
  setText(byId('title'), result.title === 'untitled' ? file : result.title);
  document.title = `${file} - tripstroke desk`;
  const ambient = sketch.ambientPressure_Pa;
  const lost = result.events.find((e) => e.code === 0);
  const cells: [string, string][] = [
    ['File', file],
    [
      'Start',
      `${formatQuantity(result.start.pressure_Pa, 'pressure', result.units, ambient)}, level ${formatQuantity(result.start.level_m, 'length', result.units)}`,
    ],
    ['Mains lost', lost === undefined ? 'not in this run' : `at ${formatQuantity(lost.time_s, 'time', result.units)}`],
    ['Run', formatQuantity(result.end.time_s, 'time', result.units)],
    ['Program', result.program],
  ];
  renew(
    byId('block'),
    cells.map(([name, value]) => h('div', {}, h('dt', {}, name), h('dd', {}, value))),
    h('div', {}, h('dt', {}, h('label', { for: 'units' }, 'Units')), h('dd', {}, unitSelect())),
  );
  setText(byId('reserve'), result.verdict.strokes.length === 0 ? '' : `Reserve: ${result.reserve.reason}`);
  renew(byId('findings'), findingList(result));
  setText(byId('log-head'), `Events: ${result.events.length}`);
  if (byId<HTMLDetailsElement>('log').open) showEvents();
  const changed = Object.keys(view.variant.changes).length;
  const differs = differences(view.variant);
  setText(
    byId('settings-say'),
    changed === 0
      ? 'All as in the file. Move one, and the whole outage is replayed.'
      : `${changed} differ${changed === 1 ? 's' : ''} from the file.`,
  );
  byId<HTMLButtonElement>('as-in-file').disabled = differs === 0;
  byId<HTMLButtonElement>('write-in').disabled = differs === 0;
  setText(byId('command'), commandLine(file, overrides, view.units));
}

/** How many things are otherwise than in the file. */
const differences = ({ changes, actions, faults, leftOut }: Variant): number =>
  Object.keys(changes).length + actions.length + faults.length + leftOut.length;

function unitSelect(): HTMLSelectElement {
  const choices: [string, string][] = [
    ['', 'as in the file'],
    ['us', 'US'],
    ['si', 'metric'],
  ];
  const select = h(
    'select',
    { id: 'units' },
    choices.map(([value, name]) => h('option', { value, selected: (view.units ?? '') === value }, name)),
  );
  select.addEventListener('change', () => {
    view = { ...view, units: select.value === '' ? undefined : (select.value as UnitSystem) };
    if (pinned !== undefined) void repin();
    run();
  });
  return select;
}

function showEvents(): void {
  if (ran === undefined) return;
  const { events, units } = ran.result;
  renew(
    byId('events'),
    h(
      'table',
      {},
      h(
        'thead',
        {},
        h(
          'tr',
          {},
          ['Time', 'Tag', 'What'].map((name) => h('th', { scope: 'col' }, name)),
        ),
      ),
      h(
        'tbody',
        {},
        events.slice(0, MOST_EVENTS).map((e) =>
          h(
            'tr',
            {},
            h(
              'td',
              { class: 'number' },
              button(formatQuantity(e.time_s, 'time', units), () => setTime(e.time_s), { class: 'plain' }),
            ),
            h('td', {}, e.tag),
            h('td', {}, e.text),
          ),
        ),
      ),
    ),
    events.length > MOST_EVENTS && h('p', { class: 'quiet' }, `${events.length - MOST_EVENTS} more are in the JSON.`),
  );
}

function setTime(time_s: number): void {
  view = { ...view, time_s };
  showTime();
  remember();
}

function showTime(): void {
  if (ran === undefined || momentAt === undefined) return;
  const end_s = ran.result.end.time_s;
  const t = Math.min(view.time_s, end_s);
  time.max = String(end_s);
  time.step = String(Math.max(0.1, 10 ** Math.floor(Math.log10(end_s / 500))));
  time.value = String(t);
  const clock = clockText(t, end_s, 2);
  time.setAttribute('aria-valuetext', clock);
  setText(byId('clock'), clock);
  setText(byId('unit-time'), clock);
  const key = JSON.stringify([ran.sketch, ran.result.units, narrow.matches]);
  if (key !== drawn) {
    drawn = key;
    drawing = draw(ran.sketch, ran.result.units, narrow.matches);
    renew(byId('drawing'), drawing.element);
  }
  const moment = momentAt(t);
  placeCursor();
  drawing?.show(moment, ran.timelines);
  byHand.at(moment, ran);
  showAlarms(moment);
}

function showAlarms(moment: Moment): void {
  const standing = ran!.trace.columns.flatMap(({ name }) => {
    if (!name.startsWith('alarm ')) return [];
    const state = moment.value(name);
    const tag = name.slice('alarm '.length);
    return state === 0 ? [] : [`${tag}${['', '', ' (acknowledged)', ' (returned, not acknowledged)'][state] ?? ''}`];
  });
  const texts = new Map(ran!.result.alarms.map((a) => [a.tag, alarmName(a.tag, a.text)]));
  renew(
    byId('alarms'),
    standing.length === 0
      ? 'No alarm stands.'
      : [h('b', { class: 'care' }, 'Alarms: '), standing.map((tag) => texts.get(tag) ?? tag).join('; '), '.'],
  );
}

// ----------------------------------------------------------------------------------------------------------- transport

function frame(before: number): void {
  requestAnimationFrame((now) => {
    if (!playing || ran === undefined) return;
    const end_s = ran.result.end.time_s;
    const t = Math.min(end_s, view.time_s + (Number(speed.value) * Math.min(200, now - before)) / 1000);
    setTime(t);
    if (t >= end_s) setPlaying(false);
    else frame(now);
  });
}

function setPlaying(on: boolean): void {
  playing = on;
  setText(play, on ? 'Pause' : 'Play');
  if (!on || ran === undefined) return;
  if (view.time_s >= ran.result.end.time_s) setTime(0);
  frame(performance.now());
}

renew(
  speed,
  SPEEDS.map((x) =>
    h(
      'option',
      { value: x, selected: x === 1 },
      x === 1 ? 'real time' : x < 60 ? `${x} times` : x === 60 ? '1 min/s' : x === 300 ? '5 min/s' : '1 h/s',
    ),
  ),
);
play.addEventListener('click', () => setPlaying(!playing));
time.addEventListener('input', () => {
  setPlaying(false);
  setTime(time.valueAsNumber);
});
narrow.addEventListener('change', () => showTime());
byId('log').addEventListener('toggle', () => showEvents());

// ------------------------------------------------------------------------------------------------------------- pinning

async function repin(): Promise<void> {
  const variant = view.pinned;
  if (variant === undefined) {
    pinned = undefined;
  } else {
    const answer = await engine.examine(asked(variant)).catch(() => undefined);
    if (answer?.ran) pinned = answer;
  }
  showPinned();
}

function showPinned(): void {
  byId('unpin').hidden = pinned === undefined;
  byId('back-to-pinned').hidden = pinned === undefined;
  const line = byId('pinned');
  line.hidden = pinned === undefined;
  if (pinned !== undefined) {
    const { word, text: said } = verdictWords(pinned.result);
    const set = pinned.overrides.length === 0 ? 'as in the file' : pinned.overrides.join('; ');
    setText(line, `Pinned (${set}): ${word}, ${said}`);
  }
  if (ran !== undefined) showVerdict(ran.result);
  showPlots();
}

byId('pin').addEventListener('click', () => {
  if (ran === undefined) return;
  pinned = ran;
  view = { ...view, pinned: view.variant };
  showPinned();
  remember();
});
byId('unpin').addEventListener('click', () => {
  pinned = undefined;
  view = { ...view, pinned: undefined };
  showPinned();
  remember();
});
byId('back-to-pinned').addEventListener('click', () => vary(view.pinned ?? UNCHANGED));
byId('as-in-file').addEventListener('click', () => {
  (document.activeElement as HTMLElement | null)?.blur();
  vary(UNCHANGED);
});

// ------------------------------------------------------------------------------------------------- files and downloads

/** Takes another text; what was changed belonged to the one before. */
function open(name: string, content: string): void {
  file = name;
  text = content;
  given = content;
  view = { ...AT_START, units: view.units };
  pinned = undefined;
  ran = undefined;
  setPlaying(false);
  words.setText(content);
  showPinned();
  run();
}

async function openFile(dropped: File): Promise<void> {
  if (dropped.size > 4 * MOST_CHARACTERS)
    return setText(byId('file-says'), `${dropped.name} is larger than any scenario file; it was not opened.`);
  const content = new TextDecoder('utf-8').decode(await dropped.arrayBuffer());
  setText(byId('file-says'), '');
  open(dropped.name, content);
  scrollTo({ top: 0 });
}

const chooser = byId<HTMLInputElement>('open');
chooser.addEventListener('change', () => {
  const [chosen] = chooser.files ?? [];
  if (chosen !== undefined) void openFile(chosen);
  chooser.value = '';
});
addEventListener('dragover', (event) => {
  if (!event.dataTransfer?.types.includes('Files')) return;
  event.preventDefault();
  document.body.classList.add('dropping');
});
addEventListener('dragleave', (event) => {
  if (event.relatedTarget === null) document.body.classList.remove('dropping');
});
addEventListener('drop', (event) => {
  document.body.classList.remove('dropping');
  const dropped = event.dataTransfer?.files[0];
  if (dropped === undefined) return;
  event.preventDefault();
  void openFile(dropped);
});

function download(name: string, type: string, content: string): void {
  const link = h('a', { href: URL.createObjectURL(new Blob([content], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

const bareName = (): string => file.replace(/\.ya?ml$/i, '').replace(/[^\w.-]+/g, '-') || 'scenario';

async function written(): Promise<string | undefined> {
  const got = await engine.write(asked());
  setText(byId('file-says'), 'problem' in got ? got.problem : '');
  return 'text' in got ? got.text : undefined;
}

byId('save-scenario').addEventListener('click', async () => {
  // A text with faults can be saved as it is.
  const now = differences(view.variant) === 0 ? text : await written();
  if (now !== undefined) download(`${bareName()}.yaml`, 'text/yaml', now);
});
byId('write-in').addEventListener('click', async () => {
  const now = await written();
  if (now === undefined) return;
  text = now;
  words.setText(now);
  vary(UNCHANGED);
  setText(byId('file-says'), 'Written into the text. Download it to keep it: the file on disk is as it was.');
});
byId('save-csv').addEventListener('click', async () => {
  if (ran !== undefined) download(`${bareName()}.trace.csv`, 'text/csv', await engine.csv(asked()));
});
byId('save-report').addEventListener('click', async () => {
  if (ran === undefined) return;
  const name = `${bareName()}.html`;
  // Text here: it runs only in the report.
  const script = await fetch('./report.js').then((got) => got.text());
  download(name, 'text/html', await engine.report(asked(), name, script.trim()));
});
byId('save-json').addEventListener('click', () => {
  if (ran === undefined) return;
  const plain = (_key: string, part: unknown) => (part === undefined ? null : part);
  download(`${bareName()}.result.json`, 'application/json', `${JSON.stringify(ran.result, plain, 2)}\n`);
});

// --------------------------------------------------------------------------------------------------------------- start

// Not a link: the part of the address behind "#" is taken.
byId('skip').addEventListener('click', () => {
  byId('settings').focus();
  byId('settings').scrollIntoView();
});

addEventListener('beforeunload', (event) => {
  // The address keeps settings; a text that was typed here is nowhere else.
  if (text !== given && text !== '') event.preventDefault();
});
addEventListener('hashchange', () => {
  const asks = fromHash(location.hash);
  if (toHash(asks) === toHash(view)) return;
  view = asks;
  void repin();
  run();
});

// What scrolls sideways can be reached by keyboard.
for (const element of document.querySelectorAll<HTMLElement>('.scroll')) element.tabIndex = 0;
renew(
  byId('cautions'),
  CAUTIONS.map((caution) => h('p', {}, caution)),
);
view = fromHash(location.hash);
const response = await fetch('./scenario.json').then(
  (got) => got.json() as Promise<{ file: string; text: string } | { problem: string }>,
  () => ({ problem: 'The desk is no longer running; start it again.' }),
);
if ('problem' in response) {
  setText(verdict, response.problem);
} else {
  ({ file, text } = response);
  given = text;
  words.setText(text);
  run();
  if (view.pinned !== undefined) void repin();
}
