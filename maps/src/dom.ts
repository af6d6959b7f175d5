/** Elements from text: never from markup, so that no remark becomes part of the page. */

type Child = Node | string | null | undefined | false;

export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Record<string, string | boolean | null> = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(name, '');
    else if (value !== false && value !== null) made.setAttribute(name, value);
  }
  for (const child of children) if (child) made.append(child);
  return made;
}

export function button(text: string, run: () => void, attributes: Record<string, string | boolean | null> = {}): HTMLButtonElement {
  const made = el('button', { type: 'button', ...attributes }, text);
  made.addEventListener('click', run);
  return made;
}

export const byId = <T extends HTMLElement>(id: string): T => document.getElementById(id) as T;

/** Hands a text to the person as a file. */
export function save(name: string, type: string, text: string): void {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = el('a', { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
