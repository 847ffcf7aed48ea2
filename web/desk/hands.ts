/** What hands can do at the time shown: mains, drain, vent, selectors, valves, the panel, and faults put in. */
import { numberText } from '../../scenarios/setpoints.ts';
import { button, type Child, h, renew, setText } from './dom.ts';
import { leftOutOf } from './lists.ts';
import { type Moment, stateAt } from './moment.ts';
import type { FaultChoice, Ran, Variant } from './protocol.ts';

export interface HandsOptions {
  readonly time: () => number;
  /** An action, a fault, or a value, added at the time shown. */
  readonly onAction: (item: string) => void;
  readonly onFault: (item: string) => void;
  readonly onValue: (path: string, value: string) => void;
  /** An action or a fault of the file, written as it is listed. */
  readonly onLeaveOut: (item: string) => void;
  readonly onBringBack: (item: string) => void;
  readonly onRemove: (kind: 'actions' | 'faults', index: number) => void;
}

export interface Hands {
  /** Builds what a unit has, where it is another than before. */
  show(ran: Ran, variant: Variant): void;
  /** Shows what is possible at an instant. */
  at(moment: Moment, ran: Ran): void;
}

const SELECTORS = ['off', 'auto', 'hand'] as const;
const MACHINE = [
  'trip motor',
  'reset motor',
  'block start',
  'allow start',
  'shut isolation',
  'open isolation',
] as const;
const WHOLE = 'the unit as a whole';

export function hands(container: HTMLElement, options: HandsOptions): Hands {
  const { time, onAction, onFault, onValue, onLeaveOut, onBringBack, onRemove } = options;
  const at = (): string => `${numberText(Number(time().toFixed(2)))} s`;
  const act = (what: string, item?: string): void =>
    onAction(`{ at: ${at()}, do: ${what}${item === undefined ? '' : `, item: ${item}`} }`);
  let shape = '';
  let last: Ran | undefined;
  let updates: ((moment: Moment, ran: Ran) => void)[] = [];

  const added = h('div', { class: 'added' });
  const inFile = h('div', { class: 'added' });
  let listed = '';
  let rows: { show: (out: boolean) => void }[] = [];
  const body = h('div', { class: 'hand-groups' });
  renew(container, body, added, inFile);

  /** An action or fault of the file, and the button that leaves it out or brings it back. */
  function listedRow(text: string): HTMLElement {
    const words = h('code', {}, text.slice(2, -2));
    const note = h('span', { class: 'care' });
    let isOut = false;
    const turn = button('', () => (isOut ? onBringBack(text) : onLeaveOut(text)), { class: 'plain' });
    rows.push({
      show(out) {
        isOut = out;
        const says = out ? 'Bring back' : 'Leave out';
        setText(turn, says);
        turn.setAttribute('aria-label', `${says}: ${text.slice(2, -2)}`);
        setText(note, out ? ' left out ' : ' ');
        words.classList.toggle('left-out', out);
      },
    });
    return h('li', {}, words, note, turn);
  }

  const select = (label: string, choices: readonly string[], onChange?: () => void): HTMLSelectElement => {
    const element = h(
      'select',
      { 'aria-label': label },
      choices.map((text) => h('option', { value: text }, text)),
    );
    if (onChange !== undefined) element.addEventListener('change', onChange);
    return element;
  };
  const group = (title: string, ...children: Child[]): HTMLElement =>
    h('div', { class: 'hand-group', role: 'group', 'aria-label': title }, h('h3', {}, title), ...children);

  function mains(): HTMLElement {
    const off = button(
      'Mains off',
      () => {
        const lost = secondsOf('power.lostAt');
        // The one failure of the file is moved; one more after power was back is an action.
        if (lost === undefined || time() < lost) setTime('power.lostAt');
        else act('lose mains');
      },
      { id: 'mains-off' },
    );
    const on = button(
      'Mains back',
      () => {
        const [lost, back] = [secondsOf('power.lostAt'), secondsOf('power.backAt')];
        if (lost !== undefined && time() > lost && (back === undefined || time() < back)) setTime('power.backAt');
        else act('restore mains');
      },
      { id: 'mains-on' },
    );
    updates.push((moment) => {
      const live = moment.value('mains') === 1;
      setText(off, `Mains off at ${at()}`);
      setText(on, `Mains back at ${at()}`);
      off.disabled = !live;
      on.disabled = live;
    });
    return group('Mains', off, on);
  }

  /** Seconds of a setting of the run, if it has it. */
  function secondsOf(path: string): number | undefined {
    const setting = last?.settings.find((x) => x.path === path);
    return setting === undefined ? undefined : setting.value * setting.unit.factor + setting.unit.offset;
  }
  /** The time shown as the value of a path, in the unit that the file has there. */
  function setTime(path: string): void {
    const unit = last?.settings.find((x) => x.path === path)?.unit;
    const t = Number(time().toFixed(2));
    onValue(path, unit === undefined ? `${numberText(t)} s` : `${numberText(t / unit.factor)} ${unit.name}`);
  }

  function handValves(ran: Ran): Child {
    const { hasDrain, hasVent } = ran.sketch.tank;
    const pair = (name: 'drain' | 'vent') => {
      const open = button(`Open ${name}`, () => act(`open ${name}`));
      const close = button(`Close ${name}`, () => act(`close ${name}`));
      updates.push((moment, { timelines }) => {
        const stands = stateAt(timelines[name], moment.time_s) === 1;
        open.disabled = stands;
        close.disabled = !stands;
      });
      return [open, close];
    };
    const missing = [...(hasDrain ? [] : ['tank.drain']), ...(hasVent ? [] : ['tank.vent'])];
    return group(
      'Drain and vent of the tank',
      hasDrain && pair('drain'),
      hasVent && pair('vent'),
      missing.length > 0 &&
        h(
          'p',
          { class: 'quiet' },
          `The file has no ${missing.join(' and no ')}; give it to have ${missing.length > 1 ? 'them' : 'it'} here.`,
        ),
    );
  }

  function machines(ran: Ran): Child {
    const { motors } = ran.sketch;
    if (motors.length === 0) return undefined;
    const tags = motors.map((m) => m.tag);
    const which = select('Machine', tags);
    const what = select('What is done to the machine', MACHINE);
    return group(
      'Machines',
      motors.slice(0, 12).map((m, k) => {
        const radios = SELECTORS.map((position, state) => {
          const input = h('input', { type: 'radio', name: `selector-${m.tag}`, value: position });
          input.addEventListener('change', () => act(`set to ${position}`, m.tag));
          updates.push((moment, { timelines }) => {
            input.checked = stateAt(timelines.selectors[k]!, moment.time_s) === state;
          });
          return h('label', {}, input, position);
        });
        return h('fieldset', { class: 'selector' }, h('legend', {}, m.tag), [radios[2]!, radios[0]!, radios[1]!]);
      }),
      h(
        'div',
        { class: 'buttons' },
        which,
        what,
        button('Do it', () => act(what.value, which.value), { 'aria-label': 'Do it to the machine' }),
      ),
    );
  }

  function valves(ran: Ran): Child {
    const tags = ran.sketch.valves.map((v) => v.tag);
    if (tags.length === 0) return undefined;
    const which = select('Valve', tags);
    return group(
      'Valves and panel',
      h(
        'div',
        { class: 'buttons' },
        which,
        button('Open it', () => act('open valve', which.value)),
        button('Close it', () => act('close valve', which.value)),
      ),
      h(
        'div',
        { class: 'buttons' },
        button('Acknowledge alarms', () => act('acknowledge')),
        button('Reset the trip', () => act('reset trip')),
      ),
    );
  }

  function faults(choices: readonly FaultChoice[]): Child {
    const parts = [...new Set(choices.map((c) => c.item ?? WHOLE))];
    const size = h('input', { type: 'text', 'aria-label': 'How much', class: 'short' });
    const kindOf = () => choices.filter((c) => (c.item ?? WHOLE) === part.value);
    const chosen = () => kindOf()[Number(kind.value)];
    const showSize = () => {
      const needed = chosen()?.size;
      size.hidden = needed === undefined;
      size.value = needed?.text ?? '';
    };
    const showKinds = () => {
      renew(
        kind,
        kindOf().map((c, i) =>
          h('option', { value: i }, c.size?.text.startsWith('-') ? `${c.fault}, downwards` : c.fault),
        ),
      );
      showSize();
    };
    const part = select('Part that fails', parts, showKinds);
    const kind = h('select', { 'aria-label': 'What fails' });
    kind.addEventListener('change', showSize);
    showKinds();
    return group(
      'Faults',
      h(
        'div',
        { class: 'buttons' },
        part,
        kind,
        size,
        button('Put it in', () => {
          const c = chosen();
          if (c === undefined) return;
          const item = c.item === undefined ? '' : `item: ${c.item}, `;
          const much = c.size === undefined ? '' : `, ${c.size.key}: ${size.value.replace(/[^\w.+\-/%^ ]/g, '')}`;
          onFault(`{ fault: ${c.fault}, ${item}at: ${at()}${much} }`);
        }),
      ),
    );
  }

  return {
    show(ran, variant) {
      last = ran;
      const { motors, valves: all, tank } = ran.sketch;
      const now = JSON.stringify([motors, all.map((v) => v.tag), tank.hasDrain, tank.hasVent, ran.result.units]);
      if (now !== shape) {
        shape = now;
        updates = [];
        renew(body, mains(), handValves(ran), machines(ran), valves(ran), faults(ran.faultChoices));
      }
      const items = (['actions', 'faults'] as const).flatMap((kind) =>
        variant[kind].map((text, index) =>
          h(
            'li',
            {},
            h('code', {}, text.slice(2, -2)),
            button('Take out', () => onRemove(kind, index), {
              class: 'plain',
              'aria-label': `Take out: ${text.slice(2, -2)}`,
            }),
          ),
        ),
      );
      const lines = [...ran.listed.actions, ...ran.listed.faults];
      if (JSON.stringify(lines) !== listed) {
        listed = JSON.stringify(lines);
        rows = [];
        renew(
          inFile,
          lines.length > 0 &&
            h(
              'details',
              {},
              h('summary', {}, `Actions and faults in the file: ${lines.length}`),
              h('ul', {}, lines.map(listedRow)),
            ),
        );
      }
      const out = leftOutOf(lines, variant.leftOut);
      for (const [i, row] of rows.entries()) row.show(out.includes(i));
      renew(added, items.length > 0 && [h('h3', {}, 'Added to the file'), h('ul', {}, items)]);
    },
    at(moment, ran) {
      for (const update of updates) update(moment, ran);
    },
  };
}
