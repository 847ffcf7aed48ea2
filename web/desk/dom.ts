/** Elements made from values. Text becomes text nodes and nothing here reads markup, so no name or title can bring any. */

export type Child = Node | string | number | false | undefined | null | readonly Child[];
export type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

function fill(element: Element, attributes: Attributes, children: readonly Child[]): void {
  for (const [name, value] of Object.entries(attributes))
    if (value !== undefined && value !== false) element.setAttribute(name, value === true ? '' : String(value));
  add(element, children);
}

/** Appends children: nodes, text, numbers and lists of them; what is absent is left out. */
export function add(element: Element, children: readonly Child[]): void {
  for (const child of children) {
    if (child === undefined || child === null || child === false) continue;
    if (typeof child === 'string' || typeof child === 'number') element.append(String(child));
    else if (child instanceof Node) element.append(child);
    else add(element, child);
  }
}

/** An HTML element. */
export function h<K extends keyof HTMLElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...children: readonly Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(name);
  fill(element, attributes, children);
  return element;
}

/** An SVG element. */
export function s<K extends keyof SVGElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...children: readonly Child[]
): SVGElementTagNameMap[K] {
  const element = document.createElementNS('http://www.w3.org/2000/svg', name);
  fill(element, attributes, children);
  return element;
}

/** A button that does something. */
export function button(label: string, does: () => void, attributes: Attributes = {}): HTMLButtonElement {
  const element = h('button', { type: 'button', ...attributes }, label);
  element.addEventListener('click', does);
  return element;
}

/** The element of the page with this id. */
export function byId<E extends HTMLElement = HTMLElement>(id: string): E {
  const found = document.getElementById(id);
  if (found === null) throw new Error(`the page has no #${id}`);
  return found as E;
}

/** Puts children in the place of all there are. */
export function renew(element: Element, ...children: readonly Child[]): void {
  element.replaceChildren();
  add(element, children);
}

/** Sets the text of an element where it differs, so that nothing is announced or laid out anew for nothing. */
export function setText(element: Element, text: string): void {
  if (element.textContent !== text) element.textContent = text;
}
