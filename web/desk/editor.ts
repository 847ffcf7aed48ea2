/** The text of the scenario with its line numbers, and what is wrong with it at its line. */
import type { Fault } from '../../scenarios/faults.ts';
import { button, h, renew } from './dom.ts';

export interface Editor {
  readonly text: () => string;
  setText(text: string): void;
  /** Shows what is wrong, each with a button that leads to its place. */
  showFaults(faults: readonly Fault[], further: number, file: string): void;
  /** Puts the cursor at a place of the text. */
  go(line: number, column: number): void;
}

const MOST_LISTED = 20;
/** Typing is let come to rest for so long before it is replayed, ms. */
const REST_ms = 350;

export function editor(
  area: HTMLTextAreaElement,
  numbers: HTMLElement,
  errors: HTMLElement,
  onText: (text: string) => void,
): Editor {
  let bad = new Map<number, string>();
  let shown = '';

  function number(): void {
    const count = area.value.split('\n').length;
    const key = `${count} ${[...bad.keys()].join(' ')}`;
    if (key === shown) return;
    shown = key;
    // An arrow beside the number, so that the mark is not a colour alone.
    renew(
      numbers,
      Array.from({ length: count }, (_, i) => [
        bad.has(i + 1) ? h('b', { class: 'care' }, `▸ ${i + 1}`) : String(i + 1),
        '\n',
      ]),
    );
    numbers.scrollTop = area.scrollTop;
  }

  let timer: ReturnType<typeof setTimeout> | undefined;
  area.addEventListener('input', () => {
    number();
    clearTimeout(timer);
    timer = setTimeout(() => onText(area.value), REST_ms);
  });
  area.addEventListener('scroll', () => {
    numbers.scrollTop = area.scrollTop;
  });

  function go(line: number, column: number): void {
    const lines = area.value.split('\n');
    let from = 0;
    for (let i = 0; i < line - 1 && i < lines.length; i++) from += lines[i]!.length + 1;
    const to = from + (lines[line - 1]?.length ?? 0);
    area.focus();
    area.setSelectionRange(Math.min(to, from + column - 1), to);
    const height = area.scrollHeight / Math.max(1, lines.length);
    area.scrollTop = Math.max(0, (line - 6) * height);
  }

  return {
    text: () => area.value,
    setText(text) {
      clearTimeout(timer);
      area.value = text;
      number();
    },
    showFaults(faults, further, file) {
      const own = faults.filter((f) => f.file === file);
      bad = new Map(own.map((f) => [f.line, f.message]));
      number();
      area.toggleAttribute('aria-invalid', own.length > 0);
      if (own.length > 0) area.setAttribute('aria-invalid', 'true');
      renew(
        errors,
        faults.length > 0 &&
          h(
            'ul',
            {},
            faults.slice(0, MOST_LISTED).map((f) => {
              const what = `${f.path === '' ? '' : `${f.path}: `}${f.message}`;
              return h(
                'li',
                {},
                f.file === file
                  ? button(`Line ${f.line}`, () => go(f.line, f.column), { class: 'plain care' })
                  : h('b', { class: 'care' }, 'Setting'),
                ` ${what}`,
              );
            }),
          ),
        faults.length + further > MOST_LISTED && h('p', {}, `and ${faults.length + further - MOST_LISTED} more`),
      );
    },
    go,
  };
}
