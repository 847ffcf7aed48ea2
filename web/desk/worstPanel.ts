/** The search for the worst moment: a button, how far it is, and every moment as a mark over the time of the failure. */
import type { Engine } from './client.ts';
import { button, byId, h, renew, s, setText } from './dom.ts';
import type { Variant, WorstFound } from './protocol.ts';

type Asked = Parameters<Engine['run']>[0];

export interface WorstPanel {
  /** What was found belongs to other settings now. */
  outdated(): void;
}

export function worstPanel(
  engine: Engine,
  asked: (variant?: Variant) => Asked,
  { onTry }: { readonly onTry: (overrides: readonly string[]) => void },
): WorstPanel {
  const find = byId<HTMLButtonElement>('find-worst');
  const stop = byId<HTMLButtonElement>('stop-worst');
  const progress = byId<HTMLProgressElement>('worst-progress');
  const says = byId('worst-says');
  let searching: { stop(): void } | undefined;
  let old: HTMLElement | undefined;

  function show(busy: boolean): void {
    find.disabled = busy;
    stop.hidden = !busy;
    progress.hidden = !busy;
    progress.value = 0;
  }

  find.addEventListener('click', async () => {
    show(true);
    old = undefined;
    renew(says);
    const search = engine.worst(asked(), (share) => {
      progress.value = share;
    });
    searching = search;
    try {
      const found = await search.found;
      if (searching !== search) return;
      old = h('p', { class: 'quiet', hidden: true }, 'The settings have been changed since; find it again.');
      renew(
        says,
        old,
        h(
          'p',
          {},
          h('b', { class: found.met ? 'stamp' : 'stamp care' }, found.met ? 'MET' : 'NOT MET'),
          ` ${found.words}`,
        ),
        chart(found),
        h(
          'div',
          { class: 'buttons' },
          button('Replay the worst moment', () => onTry(found.overrides)),
        ),
      );
    } catch (error) {
      if (searching === search)
        renew(says, h('p', {}, `Nothing was found: ${error instanceof Error ? error.message : String(error)}.`));
    } finally {
      if (searching === search) {
        searching = undefined;
        show(false);
      }
    }
  });
  stop.addEventListener('click', () => {
    searching?.stop();
    searching = undefined;
    show(false);
    setText(says, 'Stopped.');
  });
  return {
    outdated() {
      if (old !== undefined) old.hidden = false;
    },
  };
}

/** Margin over the moment of the failure: what can still be lost, and where least is left. */
function chart({ moments, worst_s }: WorstFound): SVGSVGElement {
  const [width, height, left, bottom] = [720, 200, 64, 46];
  const known = moments.flatMap((m) => (m.spare === null ? [] : [m.spare]));
  const top = Math.max(0.02, ...known);
  const least = Math.min(0, ...known);
  // Moments at which a stroke does not end have no margin: they stand in a lane of their own.
  const lane = height - 34;
  const end_s = Math.max(1, moments.at(-1)?.time_s ?? 1);
  const x = (t: number) => Math.round(10 * (left + ((width - left - 90) * t) / end_s)) / 10;
  const y = (spare: number) =>
    Math.round(10 * (10 + ((height - bottom - 10) * (top - spare)) / (top - least || 1))) / 10;
  const unit = end_s > 7200 ? ([3600, 'h'] as const) : end_s > 600 ? ([60, 'min'] as const) : ([1, 's'] as const);
  const worst = moments.find((m) => m.time_s === worst_s);
  const at = worst === undefined ? undefined : { x: x(worst.time_s), y: worst.spare === null ? lane : y(worst.spare) };
  return s(
    'svg',
    {
      class: 'moments',
      viewBox: `0 0 ${width} ${height}`,
      role: 'img',
      'aria-label': `Margin beyond the wanted one at ${moments.length} moments of the failure; least at ${(worst_s / unit[0]).toFixed(1)} ${unit[1]}`,
    },
    s('path', { class: 'line', d: `M${left} 10V${height - bottom}H${width - 80}` }),
    s('path', { class: 'leader', d: `M${left} ${y(0)}H${width - 80}` }),
    s('text', { x: left - 6, y: y(0) + 4, class: 'end' }, '0 %'),
    s('text', { x: left - 6, y: 16, class: 'end' }, `${(top * 100).toFixed(1)} %`),
    s(
      'text',
      { x: width - 80, y: height - 10, class: 'end' },
      `mains lost after ${(end_s / unit[0]).toFixed(1)} ${unit[1]} of service`,
    ),
    s('text', { x: left, y: height - 10 }, '0'),
    moments.some((m) => m.spare === null) && s('text', { x: width - 74, y: lane + 4 }, 'does not end'),
    // A cross stands for a moment at which a stroke is not met, a point for one that is.
    moments.map((m) => {
      const [mx, my] = [x(m.time_s), m.spare === null ? lane : y(m.spare)];
      return m.met
        ? s('circle', { class: 'dot', cx: mx, cy: my, r: 2 })
        : s('path', { class: 'line care-line', d: `M${mx - 3} ${my - 3}l6 6m0 -6l-6 6` });
    }),
    at !== undefined && [
      s('circle', { class: 'shape hollow', cx: at.x, cy: at.y, r: 6 }),
      s('text', { x: at.x + 10, y: at.y - 8, class: 'tag' }, 'worst of service'),
    ],
  );
}
