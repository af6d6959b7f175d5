/** Entering a bearing: as it was read, with its north. The reader of the solver judges what was typed, not this form. */

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
  save(cells: Cells): void;
  back(): void;
}

const CHIPS = ['two peaks', 'broad', 'moves when I move', 'beside the vehicle'];
const NORTHS: [string, string][] = [['magnetic', 'Magnetic'], ['true', 'True'], ['grid', 'Grid']];
const CLASSES: [string, string][] = [['', 'not said'], ['A', 'A ±2°'], ['B', 'B ±5°'], ['C', 'C ±10°'], ['D', 'D worse']];

/** Builds the form for these cells; `fresh` for a bearing that is new. */
export function form(id: string, cells: Cells, fresh: boolean, hooks: Hooks): HTMLElement {
  const now: Cells = { ...cells };
  const changed = () => {
    hooks.draft(now);
    told.textContent = '';
  };
  const told = el('p', { class: 'wrong', role: 'alert' });

  const input = (column: string, label: string, large = false, mode = 'decimal') => {
    const field = el('input', { type: 'text', inputmode: mode, autocomplete: 'off', name: column, class: large ? 'large' : null, value: now[column] ?? '' });
    field.addEventListener('input', () => {
      now[column] = field.value.trim();
      changed();
      if (column === 'lat' || column === 'lon') mark();
    });
    return [el('label', {}, label, field), field] as const;
  };

  const choices = (title: string, column: string, options: [string, string][]) => {
    const buttons = options.map(([value, words]) => {
      const choice = button(words, () => {
        now[column] = value;
        for (const b of buttons) b.setAttribute('aria-pressed', String(b === choice));
        changed();
      }, { 'aria-pressed': String((now[column] ?? '') === value), 'data-value': value });
      return choice;
    });
    return el('fieldset', {}, el('legend', {}, title), el('div', { class: 'row' }, ...buttons));
  };

  const [latLabel, lat] = input('lat', 'Latitude', false, 'text');
  const [lonLabel, lon] = input('lon', 'Longitude', false, 'text');
  const [sigmaLabel, sigma] = input('position_sigma_m', 'off by about, m');
  const [placeLabel] = input('place', 'Name of the stand', false, 'text');
  const mark = () => hooks.mark(now['lat'] && now['lon'] ? { lat: now['lat'], lon: now['lon'], sigma: now['position_sigma_m'] ?? '' } : null);
  const taken = (at: Position) => {
    [lat.value, lon.value, sigma.value] = [at.lat, at.lon, at.sigma];
    Object.assign(now, { lat: at.lat, lon: at.lon, position_sigma_m: at.sigma });
    changed();
    mark();
  };
  const where = el('p', { role: 'status' });
  const here = button('My position', () => {
    where.textContent = 'Asking the device…';
    void hooks.here().then((at) => {
      if (typeof at === 'string') where.textContent = at;
      else {
        where.textContent = `Off by about ${at.sigma} m in each direction (one standard deviation).`;
        taken(at);
      }
    });
  }, { id: 'here' });
  const tap = button('Tap the map', () => void hooks.pick().then((at) => at && taken(at)), { id: 'tap' });

  const [bearingLabel] = input('bearing_deg', 'Bearing as read, degrees', true);
  const swings = ['swing1', 'swing2', 'swing3'].map((column, i) => input(column, `Swing ${i + 1}`)[0]);
  const [frontLabel] = input('front_dbm', 'Front, dBm', false, 'text');
  const [backLabel] = input('back_dbm', 'Back, dBm', false, 'text');

  const remarks = el('textarea', { name: 'remarks', rows: '2' });
  remarks.value = now['remarks'] ?? '';
  const near = el('p', { class: 'caution', hidden: true }, 'Steel turns the compass: step 20 m away and read again where you can. Stand where drivers see you.');
  const chips = CHIPS.map((words) => {
    const chip = button(words, () => {
      const parts = remarks.value.split('; ').map((p) => p.trim()).filter((p) => p !== '');
      remarks.value = (parts.includes(words) ? parts.filter((p) => p !== words) : [...parts, words]).join('; ');
      now['remarks'] = remarks.value;
      shown();
      changed();
    }, { 'aria-pressed': 'false' });
    return chip;
  });
  const shown = () => {
    const parts = remarks.value.split('; ').map((p) => p.trim());
    chips.forEach((chip, i) => chip.setAttribute('aria-pressed', String(parts.includes(CHIPS[i]!))));
    near.hidden = !parts.includes('beside the vehicle');
  };
  remarks.addEventListener('input', () => {
    now['remarks'] = remarks.value.replaceAll('\n', ' ').trim();
    shown();
    changed();
  });
  shown();
  mark();

  const keep = button(fresh ? `Save ${id}` : `Save the change of ${id}`, () => {
    const missing = !now['lat'] || !now['lon'] ? 'Where did the antenna stand?'
      : !now['bearing_deg'] && !now['swing1'] && !now['swing2'] && !now['swing3'] ? 'Which bearing was read?'
      : !now['north_reference'] ? 'From which north was it read?' : '';
    told.textContent = missing;
    if (!missing) hooks.save(now);
  }, { class: 'first', id: 'keep-bearing' });

  return el('form', { 'aria-label': fresh ? `Bearing ${id}` : `Change ${id}`, onsubmit: null },
    el('h2', {}, fresh ? `Bearing ${id}` : `Change ${id}`),
    el('fieldset', {}, el('legend', {}, 'Where the antenna stands'), el('div', { class: 'row' }, here, tap), where,
      el('div', { class: 'fields' }, latLabel, lonLabel, sigmaLabel), el('div', { class: 'fields' }, placeLabel)),
    el('fieldset', {}, el('legend', {}, 'What the compass says'), el('div', { class: 'fields' }, bearingLabel),
      el('p', {}, 'or three swings; then their mean counts where no bearing is given'), el('div', { class: 'fields' }, ...swings)),
    choices('Read from which north', 'north_reference', NORTHS),
    choices('How good', 'class', CLASSES),
    el('fieldset', {}, el('legend', {}, 'What was it like'), el('div', { class: 'row' }, ...chips), near,
      el('label', { class: 'head' }, 'Remarks', remarks)),
    el('fieldset', {}, el('legend', {}, 'Levels with the antenna\u2019s front and back toward it'), el('div', { class: 'fields' }, frontLabel, backLabel)),
    told, el('div', { class: 'row' }, keep, button('Back', () => hooks.back())));
}
