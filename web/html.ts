/** HTML as text: what is put into a template is escaped, so that no name or title of a file becomes markup. */

/** Text that is markup already. */
export class Markup {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
  toString(): string {
    return this.text;
  }
}

export type Part = Markup | string | number | false | undefined | null | readonly Part[];

const NAMES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Text for use between tags and inside quoted attributes. */
export function escapeText(text: string): string {
  return text.replace(/[&<>"']/g, (c) => NAMES[c] as string);
}

function written(part: Part): string {
  if (part instanceof Markup) return part.text;
  if (part === false || part === undefined || part === null) return '';
  if (typeof part === 'string') return escapeText(part);
  if (typeof part === 'number') return String(part);
  return part.map(written).join('');
}

/** Template of markup: html`<td>${text}</td>`. Text is escaped, markup stays, lists are joined, what is absent is left out. */
export function html(strings: TemplateStringsArray, ...parts: readonly Part[]): Markup {
  let text = strings[0] as string;
  for (let i = 0; i < parts.length; i++) text += written(parts[i]) + strings[i + 1];
  return new Markup(text);
}
