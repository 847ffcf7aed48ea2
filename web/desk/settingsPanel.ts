/** The settings: for each a slider and a field in the unit of the file. Sliders of one staircase share one scale. */
import { numberText } from '../../scenarios/setpoints.ts';
import { formatQuantity, type UnitSystem } from '../../scenarios/units.ts';
import { button, type Child, h, renew, setText } from './dom.ts';
import { type Ran, SETTING_GROUPS, type Setting } from './protocol.ts';

export interface SettingsPanel {
  /** Shows the settings of a run; builds the rows anew when there are others than before. */
  show(ran: Ran): void;
}

interface RowElements {
  readonly slider: HTMLInputElement;
  readonly field: HTMLInputElement;
  readonly back: HTMLButtonElement;
  readonly row: HTMLElement;
  setting: Setting;
}

/** How the written unit reads behind a number. */
const unitName = ({ unit }: Setting): string => (unit.name === '' ? '' : unit.name);

/**
 * The panel.
 *
 * @param onMove told path and text of a value that was moved, or undefined where it is again as in the file
 */
export function settingsPanel(
  container: HTMLElement,
  onMove: (path: string, value: string | undefined) => void,
): SettingsPanel {
  let rows = new Map<string, RowElements>();
  let shape = '';
  let spans: { element: HTMLElement; update: (ran: Ran) => void }[] = [];

  function move(r: RowElements, number: number): void {
    if (!Number.isFinite(number)) return;
    const { setting } = r;
    r.slider.value = String(number);
    mark(r, number);
    onMove(setting.path, number === setting.inFile ? undefined : `${numberText(number)} ${unitName(setting)}`.trim());
  }

  function mark(r: RowElements, number: number): void {
    const { inFile } = r.setting;
    const moved = number !== inFile;
    r.row.classList.toggle('moved', moved);
    r.back.hidden = !moved;
    const text = inFile === undefined ? 'not in the file' : `file: ${numberText(inFile)}`;
    setText(r.back, text);
    r.back.setAttribute(
      'aria-label',
      `${nameOf(r.setting)} back to ${inFile === undefined ? 'what it is without the file saying anything' : `${numberText(inFile)} ${unitName(r.setting)}`}`,
    );
    r.slider.setAttribute('aria-valuetext', `${numberText(number)} ${unitName(r.setting)}`);
  }

  const nameOf = ({ tag, name }: Setting) => (tag === undefined ? name : `${tag} ${name}`);

  function rowOf(setting: Setting): HTMLElement {
    const id = `set-${setting.path}`;
    const slider = h('input', {
      type: 'range',
      min: setting.from,
      max: setting.to,
      step: setting.step,
      'aria-label': nameOf(setting),
    });
    const field = h('input', { type: 'number', id, step: setting.step, inputmode: 'decimal' });
    const back = button('', () => move(r, inFile()), { class: 'plain' });
    const row = h(
      'div',
      { class: 'setting' },
      h(
        'label',
        { for: id },
        h('span', { class: 'name' }, setting.name),
        setting.tag !== undefined && h('span', { class: 'quiet' }, ` ${setting.tag}`),
      ),
      slider,
      h('span', { class: 'with-unit' }, field, h('span', { class: 'unit' }, unitName(setting))),
      back,
    );
    const r: RowElements = { slider, field, back, row, setting };
    const inFile = () => {
      const number = r.setting.inFile;
      if (number === undefined) {
        onMove(r.setting.path, undefined);
        return Number.NaN;
      }
      field.value = numberText(number);
      return number;
    };
    slider.addEventListener('input', () => {
      field.value = numberText(slider.valueAsNumber);
      move(r, slider.valueAsNumber);
    });
    field.addEventListener('input', () => move(r, field.valueAsNumber));
    rows.set(setting.path, r);
    return row;
  }

  /** What the tank or the sump went through in the run, on the scale of the sliders over it. */
  function spanRow(group: string, settings: readonly Setting[]): Child {
    const column =
      group === 'Level'
        ? 'tank level'
        : group === 'Pressure'
          ? 'tank pressure'
          : group === 'Sump level'
            ? 'sump level'
            : '';
    const [first] = settings;
    if (column === '' || first === undefined) return undefined;
    const bar = h('meter', { class: 'span', min: 0, max: 1, value: 0, 'aria-hidden': 'true' });
    void bar;
    const low = h('span', { class: 'span-bar' });
    const track = h('span', { class: 'span-track' }, low);
    const words = h('span', { class: 'quiet span-words' });
    const row = h('div', { class: 'setting span-row' }, h('span', { class: 'quiet' }, 'in this run'), track, words);
    spans.push({
      element: row,
      update({ trace: { columns, count, cells }, sketch, result }) {
        const i = columns.findIndex((c) => c.name === column);
        let [least, most] = [Infinity, -Infinity];
        for (let k = 0; k < count; k++) {
          const x = cells[k * columns.length + i]!;
          if (x < least) least = x;
          if (x > most) most = x;
        }
        const at = (x: number) => {
          const number = (x - first.unit.offset) / first.unit.factor;
          return Math.min(100, Math.max(0, (100 * (number - first.from)) / (first.to - first.from)));
        };
        low.style.left = `${at(least)}%`;
        low.style.width = `${Math.max(0.5, at(most) - at(least))}%`;
        setText(
          words,
          `${show(least, column, result.units, sketch.ambientPressure_Pa)} to ${show(most, column, result.units, sketch.ambientPressure_Pa)}`,
        );
      },
    });
    return row;
  }

  const show = (x: number, column: string, units: UnitSystem, ambient_Pa: number) =>
    formatQuantity(x, column.endsWith('pressure') ? 'pressure' : 'length', units, ambient_Pa);

  return {
    show(ran) {
      const { settings } = ran;
      const now = JSON.stringify(settings.map((x) => [x.path, x.group, x.name, x.tag, x.unit.name, x.from, x.to]));
      if (now !== shape) {
        shape = now;
        rows = new Map();
        spans = [];
        renew(
          container,
          SETTING_GROUPS.map((group) => {
            const own = settings.filter((x) => x.group === group);
            if (own.length === 0) return undefined;
            return h('fieldset', { class: 'group' }, h('legend', {}, group), own.map(rowOf), spanRow(group, own));
          }),
        );
      }
      for (const setting of settings) {
        const r = rows.get(setting.path);
        if (r === undefined) continue;
        r.setting = setting;
        // Nobody's hand is taken off what it is moving: that may be ahead of the run that is shown.
        if (document.activeElement === r.slider || document.activeElement === r.field) continue;
        r.slider.value = String(setting.value);
        r.field.value = numberText(setting.value);
        mark(r, setting.value);
      }
      for (const { update } of spans) update(ran);
    },
  };
}
