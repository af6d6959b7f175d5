/** Entering a bearing or a level: as it was read. The reader of the solver judges what was typed, not these forms. */

import { el } from './dom';
import { Fields, type Hooks } from './fields';
import type { Cells } from './log';

const OF_BEARINGS = ['two peaks', 'broad', 'moves when I move', 'beside the vehicle'];
const OF_LEVELS = ['fluctuates', 'inside a building', 'antenna low', 'beside the vehicle'];
const NORTHS: [string, string][] = [['magnetic', 'Magnetic'], ['true', 'True'], ['grid', 'Grid']];
const CLASSES: [string, string][] = [['', 'not said'], ['A', 'A ±2°'], ['B', 'B ±5°'], ['C', 'C ±10°'], ['D', 'D worse']];

const caution = (words: string): HTMLElement => el('p', { class: 'caution' }, words);

/** The form of a bearing; `fresh` for one that is new. */
export function bearingForm(id: string, cells: Cells, fresh: boolean, hooks: Hooks): HTMLElement {
  const of = new Fields(cells, hooks);
  const [bearingLabel] = of.input('bearing_deg', 'Bearing as read, degrees', true);
  const swings = ['swing1', 'swing2', 'swing3'].map((column, i) => of.input(column, `Swing ${i + 1}`)[0]);
  const [frontLabel] = of.input('front_dbm', 'Front, dBm', false, 'text');
  const [backLabel] = of.input('back_dbm', 'Back, dBm', false, 'text');
  const title = fresh ? `Bearing ${id}` : `Change ${id}`;
  return el('form', { 'aria-label': title, onsubmit: null },
    el('h2', {}, title), of.where(),
    el('fieldset', {}, el('legend', {}, 'What the compass says'), el('div', { class: 'fields' }, bearingLabel),
      el('p', {}, 'or three swings; then their mean counts where no bearing is given'), el('div', { class: 'fields' }, ...swings)),
    of.choices('Read from which north', 'north_reference', NORTHS),
    of.choices('How good', 'class', CLASSES),
    of.remarks('What was it like', OF_BEARINGS, (parts) => (parts.includes('beside the vehicle')
      ? caution('Steel turns the compass: step 20 m away and read again where you can. Stand where drivers see you.') : null)),
    el('fieldset', {}, el('legend', {}, 'Levels with the antenna\u2019s front and back toward it'), el('div', { class: 'fields' }, frontLabel, backLabel)),
    ...of.end(fresh ? `Save ${id}` : `Save the change of ${id}`, 'keep-bearing', (now) =>
      !now['bearing_deg'] && !now['swing1'] && !now['swing2'] && !now['swing3'] ? 'Which bearing was read?'
        : !now['north_reference'] ? 'From which north was it read?' : ''));
}

/** The form of a level. `column` holds what the receiver shows; `<` before the number says that nothing stood above it. */
export function levelForm(id: string, cells: Cells, fresh: boolean, hooks: Hooks): HTMLElement {
  const column = cells['level_dbm'] ? 'level_dbm' : 'indicated_dbm';
  const number = (text: string) => text.replace(/^[<≤]\s*/, '').replace('−', '-');
  const below = (text: string) => /^[<≤]/.test(text);
  const of = new Fields({ ...cells, heard: below(cells[column] ?? '') ? 'no' : 'yes', [column]: number(cells[column] ?? '') }, {
    ...hooks,
    draft: (now) => hooks.draft(now && whole(now)),
    foresee: (now) => hooks.foresee(whole(now)),
    save: (now) => hooks.save(whole(now)),
  });
  /** With the word for what was not heard, and a corrected level beside the indicated one brought along. */
  const whole = (now: Cells): Cells => {
    const { heard, ...rest } = now;
    const read = number(rest[column] ?? '');
    const word = heard === 'no' && read !== '' ? '<' : '';
    const pad = Number(rest['attenuator_db'] || 0);
    const shown: Cells = column === 'level_dbm' && read !== '' && Number.isFinite(Number(read)) ? { indicated_dbm: word + String(Number((Number(read) - pad).toFixed(6))) } : {};
    return { ...rest, [column]: word + read, ...shown };
  };
  const [levelLabel] = of.input(column, column === 'level_dbm' ? 'Level, dBm, attenuator added' : 'The receiver shows, dBm', true, 'text');
  const [padLabel] = of.input('attenuator_db', 'Attenuator in front, dB');
  const title = fresh ? `Level ${id}` : `Change ${id}`;
  return el('form', { 'aria-label': title, onsubmit: null },
    el('h2', {}, title), of.where(),
    el('fieldset', {}, el('legend', {}, 'What the receiver says'), el('div', { class: 'fields' }, levelLabel), el('div', { class: 'fields' }, padLabel)),
    of.choices('Was it heard', 'heard', [['yes', 'Heard'], ['no', 'Nothing above this']]),
    of.remarks('What was it like', OF_LEVELS, (parts) => (parts.includes('beside the vehicle')
      ? caution('A vehicle shadows and reflects: step away where you can. Stand where drivers see you.') : null)),
    ...of.end(fresh ? `Save ${id}` : `Save the change of ${id}`, 'keep-level', (now) =>
      !now[column] ? 'Which level was read?' : ''));
}
