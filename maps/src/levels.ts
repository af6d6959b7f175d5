/** The list of levels: the page's own as bearings are listed, those of a walk as a table that grows on request. */

import { button, el } from './dom';
import { leftOut, said, whileOff, type Row, type State, type Table } from './log';
import { plain, type Acts, type Shown } from './panel';
import { clock, minus } from './words';

/** What was read, in words: −88 dBm, nothing above −110 dBm, off. */
export function levelText(row: Row): string {
  const cell = row.cells['level_dbm'] || row.cells['indicated_dbm'] || '';
  if (cell === '' || cell === 'off') return cell === 'off' ? 'off-air' : '—';
  const pad = Number(row.cells['attenuator_db'] || 0);
  const behind = !row.cells['level_dbm'] && pad > 0 ? ` behind ${pad} dB` : '';
  const below = /^[<≤]/.test(cell);
  return `${below ? 'nothing above ' : ''}${minus(cell.replace(/^[<≤]\s*/, ''))} dBm${behind}`;
}

const buttons = (state: State, table: Table, row: Row, acts: Acts): HTMLElement => {
  const out = leftOut(state, row);
  const name = table.rows.some((r) => r.own) ? row.id : `${row.id} of ${plain(table.name)}`;
  const [lat, lon] = [Number(row.cells['lat'] || NaN), Number(row.cells['lon'] || NaN)];
  return el('div', { class: 'row' },
    button('Change', () => acts.edit(table.name, row.id), { 'aria-label': `Change ${name}` }),
    button(out ? 'Use it' : 'Leave out', () => acts.leave(table.name, row.id, !out), { 'aria-label': out ? `Use it: ${name}` : `Leave out ${name}` }),
    Number.isFinite(lat + lon) ? button('Show', () => acts.look(lat, lon, null), { 'aria-label': `Show ${name} on the map` }) : null);
};

function state_of(state: State, row: Row): string {
  if (said(row)) return 'left out';
  return whileOff(state, row) ? 'off-air: not used as a level' : '';
}

function own(state: State, table: Table, acts: Acts): HTMLElement[] {
  return [...table.rows].reverse().map((row) => {
    const word = state_of(state, row);
    return el('div', { class: word ? 'item out' : 'item', 'data-id': row.id },
      el('div', { class: 'big' }, `${row.id}  ${levelText(row)}`),
      el('div', {}, [row.cells['place'], row.cells['time_utc'] ? clock(row.cells['time_utc']) : '', 'entered here'].filter(Boolean).join(', ')),
      word ? el('div', { class: 'word' }, word) : null,
      row.cells['remarks'] ? el('div', {}, row.cells['remarks']) : null,
      buttons(state, table, row, acts));
  });
}

function walk(state: State, table: Table, listed: number, acts: Acts): HTMLElement {
  const rows = table.rows.slice(0, listed).map((row) => el('div', { class: state_of(state, row) ? 'item out' : 'item' },
    el('div', {}, el('span', { class: 'word' }, `${row.id}  ${levelText(row)}`), [row.cells['time_utc'] ? clock(row.cells['time_utc']) : '', state_of(state, row), row.changed ? 'changed here' : '']
      .filter(Boolean).map((t) => `, ${t}`).join('')),
    buttons(state, table, row, acts)));
  const rest = table.rows.length - rows.length;
  return el('div', {}, el('h3', {}, `${plain(table.name)} (${table.rows.length})`), ...rows,
    rest > 0 ? el('div', { class: 'row' }, button(`${Math.min(rest, 50)} more of ${rest}`, acts.more, { 'aria-label': `${Math.min(rest, 50)} more of ${rest} in ${plain(table.name)}` })) : null);
}

export function levels({ the, state, reply, listed }: Shown, acts: Acts): HTMLElement {
  const table = state.logs.at(-1);
  const logs = state.logs.slice(0, -1).filter((l) => l.rows.length > 0);
  const whole = the.request.files.filter((f) => f.kind === 'levels').map((f) => plain(f.name));
  const used = reply.answer.levels;
  const many = reply.map.azimark?.readings_of;
  const none = !table?.rows.length && !logs.length && !whole.length;
  return el('div', {}, el('h2', {}, 'Levels'),
    used ? el('p', {}, `${used.readings} levels count in the answer, ${used.below_floor} of them as nothing heard.`) : null,
    many ? el('p', { class: 'word' }, `Of ${many} levels an even part is drawn; all of them are computed with.`) : null,
    none ? el('p', {}, 'None yet. Level, below, enters one: what the receiver shows, where, and when.') : null,
    ...(table ? own(state, table, acts) : []),
    ...logs.map((l) => walk(state, l, listed, acts)),
    whole.length ? el('p', {}, `Computed with as they came, too long or too rich to list: ${whole.join(', ')}.`) : null);
}
