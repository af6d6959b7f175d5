/** What both forms are made of: the place, numbers as typed, choices and remarks of one tap. */

import { button, el } from './dom';
import type { Cells } from './log';

export interface Position {
  lat: string;
  lon: string;
  sigma: string;
}

export interface Hooks {
  /** Lets the person tap a place; null where they went back. */
  pick(): Promise<Position | null>;
  /** The device's own position; a sentence where there is none. */
  here(): Promise<Position | string>;
  /** Marks the place that is being entered. */
  mark(at: Position | null): void;
  /** Keeps what was entered so far. */
  draft(cells: Cells | null): void;
  /** Told what would be saved now, where nothing is missing. */
  foresee(cells: Cells): void;
  save(cells: Cells): void;
  back(): void;
}

/** A pause this long, in milliseconds, ends a number. */
const TYPING = 400;

export class Fields {
  readonly now: Cells;
  private readonly told = el('p', { class: 'wrong', role: 'alert' });
  private missing: ((now: Cells) => string) | null = null;
  private soon = 0;

  constructor(cells: Cells, readonly hooks: Hooks) {
    this.now = { ...cells };
  }

  /** `wait` in milliseconds: while somebody types, what stands there is not what is meant. */
  set(column: string, value: string, wait = 0): void {
    this.now[column] = value;
    this.hooks.draft(this.now);
    this.told.textContent = '';
    window.clearTimeout(this.soon);
    if (wait === 0) this.foresee();
    else this.soon = window.setTimeout(() => this.foresee(), wait);
  }

  private foresee(): void {
    if (this.missing && !this.gap()) this.hooks.foresee(this.now);
  }

  private gap(): string {
    return !this.now['lat'] || !this.now['lon'] ? 'Where did the antenna stand?' : this.missing?.(this.now) ?? '';
  }

  input(column: string, label: string, large = false, mode = 'decimal'): [HTMLElement, HTMLInputElement] {
    const field = el('input', { type: 'text', inputmode: mode, autocomplete: 'off', name: column, class: large ? 'large' : null, value: this.now[column] ?? '' });
    field.addEventListener('input', () => {
      this.set(column, field.value.trim(), TYPING);
      if (column === 'lat' || column === 'lon') this.mark();
    });
    return [el('label', {}, label, field), field];
  }

  choices(title: string, column: string, options: [string, string][], then: (value: string) => void = () => {}): HTMLElement {
    const buttons = options.map(([value, words]) => {
      const choice = button(words, () => {
        this.set(column, value);
        for (const b of buttons) b.setAttribute('aria-pressed', String(b === choice));
        then(value);
      }, { 'aria-pressed': String((this.now[column] ?? '') === value), 'data-value': value });
      return choice;
    });
    return el('fieldset', {}, el('legend', {}, title), el('div', { class: 'row' }, ...buttons));
  }

  /** Remarks of one tap, and words of one's own; `then` is told which are set. */
  remarks(title: string, words: readonly string[], then: (parts: readonly string[]) => HTMLElement | null): HTMLElement {
    const text = el('textarea', { name: 'remarks', rows: '2' });
    text.value = this.now['remarks'] ?? '';
    const parts = () => text.value.split('; ').map((p) => p.trim()).filter((p) => p !== '');
    const below = el('div', {});
    const shown = () => {
      chips.forEach((chip, i) => chip.setAttribute('aria-pressed', String(parts().includes(words[i]!))));
      below.replaceChildren(...[then(parts())].filter((n) => n !== null));
    };
    const written = () => text.value.replaceAll('\n', ' ').trim();
    const changed = () => {
      this.set('remarks', written());
      shown();
    };
    const chips = words.map((word) => button(word, () => {
      text.value = (parts().includes(word) ? parts().filter((p) => p !== word) : [...parts(), word]).join('; ');
      changed();
    }, { 'aria-pressed': 'false' }));
    text.addEventListener('input', () => {
      this.set('remarks', written(), TYPING);
      shown();
    });
    shown();
    return el('fieldset', {}, el('legend', {}, title), el('div', { class: 'row' }, ...chips), below, el('label', { class: 'head' }, 'Remarks', text));
  }

  /** Where the antenna stands: by the device, by a tap on the map, or typed. */
  where(): HTMLElement {
    const [latLabel, lat] = this.input('lat', 'Latitude', false, 'text');
    const [lonLabel, lon] = this.input('lon', 'Longitude', false, 'text');
    const [sigmaLabel, sigma] = this.input('position_sigma_m', 'off by about, m');
    const [placeLabel] = this.input('place', 'Name of the stand', false, 'text');
    const taken = (at: Position) => {
      [lat.value, lon.value, sigma.value] = [at.lat, at.lon, at.sigma];
      Object.assign(this.now, { lat: at.lat, lon: at.lon });
      this.set('position_sigma_m', at.sigma);
      this.mark();
    };
    const status = el('p', { role: 'status' });
    const here = button('My position', () => {
      status.textContent = 'Asking the device…';
      void this.hooks.here().then((at) => {
        if (typeof at === 'string') status.textContent = at;
        else {
          status.textContent = `Off by about ${at.sigma} m in each direction (one standard deviation).`;
          taken(at);
        }
      });
    }, { id: 'here' });
    const tap = button('Tap the map', () => void this.hooks.pick().then((at) => at && taken(at)), { id: 'tap' });
    this.mark();
    return el('fieldset', {}, el('legend', {}, 'Where the antenna stands'), el('div', { class: 'row' }, here, tap), status,
      el('div', { class: 'fields' }, latLabel, lonLabel, sigmaLabel, placeLabel));
  }

  private mark(): void {
    const { lat, lon, position_sigma_m: sigma } = this.now;
    this.hooks.mark(lat && lon ? { lat, lon, sigma: sigma ?? '' } : null);
  }

  /** The end of a form; `missing` tells what must be filled in first. */
  end(words: string, id: string, missing: (now: Cells) => string): HTMLElement[] {
    this.missing = missing;
    const keep = button(words, () => {
      window.clearTimeout(this.soon);
      const gap = this.gap();
      this.told.textContent = gap;
      if (!gap) this.hooks.save(this.now);
    }, { class: 'first', id });
    return [this.told, el('div', { class: 'row' }, keep, button('Back', () => this.hooks.back()))];
  }
}
