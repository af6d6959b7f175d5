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

/** Asks in the page itself; resolves with whether the first answer was chosen. Escape is the second one. */
export function ask(question: string, yes: string, no: string): Promise<boolean> {
  return new Promise((resolve) => {
    let answer = false;
    const box = el('dialog', { 'aria-label': question }, el('p', {}, question), el('div', { class: 'row' },
      button(yes, () => {
        answer = true;
        box.close();
      }, { class: 'yes' }),
      button(no, () => box.close(), { class: 'first no' })));
    const before = document.activeElement;
    box.addEventListener('close', () => {
      box.remove();
      if (before instanceof HTMLElement) before.focus();
      resolve(answer);
    });
    document.body.append(box);
    box.showModal();
  });
}
