/** The lists: everything that the map shows, and all that it cannot, in words. */

import type { Advice, BearingRecord, Case, Division, Reply } from './case';
import { button, el } from './dom';
import { levels } from './levels';
import { BEARINGS, leftOut, said, whileOff, type Row, type State } from './log';
import { teams } from './teams';
import { areaText, bearing, clock, distance, minus, percent, WHY } from './words';

export interface Shown {
  the: Case;
  state: State;
  reply: Reply;
  advice: Advice | null;
  adviceText: string | null;
  /** The search divided between teams, with its words; from notes as they stand, or older ones. */
  division: { map: Division; text: string | null; current: boolean } | null;
  /** Rows of long logs that are listed. */
  listed: number;
  /** Whether the reply is that of the bearings as they stand. */
  current: boolean;
}

export interface Acts {
  edit(of: string, id: string): void;
  leave(of: string, id: string, out: boolean): void;
  look(lat: number, lon: number, id: string | null): void;
  /** Lists more rows of long logs. */
  more(): void;
  /** Shows the part of a team on the map. */
  part(team: string): void;
  /** Divides the search between so many teams, or those of the case. */
  divide(count: number | null): void;
  /** Saves the table of bearings, or a log. */
  saveTable(of: string, as: 'csv' | 'geojson'): void;
  saveSwitches(): void;
  forget(): void;
  turn(degrees: number): void;
}

const VERDICTS: Record<string, string> = {
  direct: 'direct',
  foreign: 'foreign: does not point at the emitter',
  reversed: 'reversed: read over the antenna\u2019s back',
};

export const TABS = ['Answer', 'Bearings', 'Levels', 'Next', 'Teams', 'Notes', 'Keep'] as const;
export type Tab = (typeof TABS)[number];

export function panel(tab: Tab, shown: Shown, acts: Acts): HTMLElement {
  const parts: Record<Tab, () => HTMLElement> = {
    Answer: () => answer(shown, acts),
    Bearings: () => bearings(shown, acts),
    Levels: () => levels(shown, acts),
    Next: () => next(shown, acts),
    Teams: () => teams(shown, acts),
    Notes: () => notes(shown),
    Keep: () => keep(shown, acts),
  };
  return parts[tab]();
}

export const table = (caption: string, head: string[], numbers: number[], rows: (string | Node)[][]): HTMLElement =>
  el('div', { class: 'wide', tabindex: '0', role: 'group', 'aria-label': caption }, el('table', {}, el('caption', {}, caption),
    el('thead', {}, el('tr', {}, ...head.map((h, i) => el('th', { scope: 'col', class: numbers.includes(i) ? 'n' : null }, h)))),
    el('tbody', {}, ...rows.map((cells) => el('tr', {}, ...cells.map((cell, i) =>
      i === 0 ? el('th', { scope: 'row' }, cell) : el('td', { class: numbers.includes(i) ? 'n' : null }, cell)))))));

const caution = (trigger: string, text: string) => el('div', { class: 'caution' }, el('strong', {}, trigger), text);

function cautionsOf(reply: Reply): { loud: HTMLElement[]; quiet: HTMLElement[] } {
  const all = reply.answer.cautions ?? [];
  return {
    loud: all.filter((c) => c.trigger !== 'always').map((c) => caution(c.trigger, c.text)),
    quiet: all.filter((c) => c.trigger === 'always').map((c) => el('p', { class: 'quiet' }, c.text)),
  };
}

function answer({ reply, current }: Shown, acts: Acts): HTMLElement {
  const { answer } = reply;
  const cautions = cautionsOf(reply);
  const regions = (answer.regions ?? []).map((r) => [percent(r.confidence), r.area_m2 === null ? 'not determined' : areaText(r.area_m2)]);
  const places = (answer.places ?? []).map((p, i) => [
    `Place ${i + 1}`, percent(p.share), minus(p.lat_deg.toFixed(5)), minus(p.lon_deg.toFixed(5)),
    button('Show', () => acts.look(p.lat_deg, p.lon_deg, null), { 'aria-label': `Show place ${i + 1} on the map` }),
  ]);
  return el('div', {}, el('h2', {}, 'Answer'),
    current ? null : el('p', { class: 'wrong' }, 'This answer is older than the bearings: it does not hold the last change yet.'),
    el('p', {}, answer.summary), ...cautions.quiet, ...cautions.loud,
    regions.length ? table('Areas that hold it', ['Chance', 'Area'], [1], regions) : null,
    places.length ? table('Likeliest places', ['Place', 'Share', 'Latitude', 'Longitude', 'On the map'], [1, 2, 3], places) : null,
    ...suspects(reply, acts), legend(),
    el('h3', {}, 'In full'), el('pre', { tabindex: '0' }, reply.text));
}

const REMARKS = ['two peaks', 'broad', 'moves when I move', 'beside the vehicle'];

/** Why a bearing is doubted: what the solver makes of it, and what its own remark says. */
function reason(b: BearingRecord): string {
  const misses = `it misses the likeliest place by ${Math.abs(b.miss_deg).toFixed(0)}° where ±${b.sigma_deg.toFixed(0)}° is usual`;
  const why = b.verdict === 'reversed' ? 'it points the other way: read over the antenna\u2019s back, perhaps'
    : `${misses}: a reflection, a slip or another emitter`;
  const own = REMARKS.filter((r) => b.remarks.includes(r));
  return `${why}${own.length ? `; its remark says ${own.join(', ')}` : ''}`;
}

/** Bearings that do not point at the emitter as they stand, the least likely first. */
function suspects(reply: Reply, acts: Acts): HTMLElement[] {
  const doubted = (reply.answer.bearings ?? []).filter((b) => b.verdict !== 'direct' || b.probability_direct < 0.5);
  if (!doubted.length) return [];
  const rows = doubted.sort((a, b) => a.probability_direct - b.probability_direct).map((b) => [
    b.id, reason(b), percent(b.probability_direct), button('Show', () => acts.look(b.lat_deg, b.lon_deg, b.id), { 'aria-label': `Show doubted ${b.id} on the map` }),
  ]);
  return [table('Bearings in doubt', ['Bearing', 'Why', 'Direct', 'On the map'], [2], rows),
    el('p', {}, 'They stay in the reckoning with the weight that they deserve. Read them again from 30 m to the side before you leave one out.')];
}

function legend(): HTMLElement {
  const line = (dash: string, width: string, words: string) => {
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    for (const [k, v] of [['viewBox', '0 0 60 12'], ['width', '60'], ['height', '12'], ['aria-hidden', 'true'], ['class', 'key']]) svg.setAttribute(k!, v!);
    const path = document.createElementNS('http://www.w3.org/2000/svg', 'path');
    for (const [k, v] of [['d', 'M0 6H60'], ['stroke', 'currentColor'], ['stroke-width', width], ['stroke-dasharray', dash], ['fill', 'none']]) path.setAttribute(k!, v!);
    svg.append(path);
    return el('li', { style: null }, svg, words);
  };
  return el('div', {}, el('h3', {}, 'How to read the map'), el('ul', {},
    line('none', '3', 'a direct bearing'), line('2 7', '4', 'a foreign bearing: dots, and ? at its name'), line('12 5 2 5', '4', 'a reversed bearing: dash and dot'),
    line('12 7', '4', 'edge of the 95 % area; the 90 % area has short dashes, the 50 % area is the dark one'),
    el('li', {}, 'a ring is a stand, a cross a likely place with its share, a numbered diamond a next stand, a small square a level (bright is strong); a thick outline with a name is the part of a team')));
}

function bearings({ state, reply, current }: Shown, acts: Acts): HTMLElement {
  const records = new Map((reply.answer.bearings ?? []).map((b) => [b.id, b]));
  const rows = state.bearings.rows;
  const known = new Set(rows.map((r) => r.id));
  const others = (reply.answer.bearings ?? []).filter((b) => !known.has(b.id));
  const cautions = reply.answer.cautions ?? [];
  return el('div', {}, el('h2', {}, `Bearings (${rows.length + others.length})`),
    ...rows.map((row) => item(state, row, records.get(row.id), current, cautions, reply, acts)),
    ...others.map((b) => el('div', { class: 'item' }, el('div', { class: 'big' }, `${b.id}  ${bearing(b.read_deg, b.north)}`), ...told(b),
      el('p', {}, 'It stands in a file that cannot be changed here.'))));
}

function told(b: BearingRecord): HTMLElement[] {
  const likely = b.verdict === 'foreign' ? b.probability_foreign : b.verdict === 'reversed' ? b.probability_reversed : b.probability_direct;
  const moves = b.shift_without_m === null ? '' : `; without it the place moves ${distance(b.shift_without_m)}`;
  return [
    el('div', {}, el('span', { class: 'word' }, VERDICTS[b.verdict] ?? b.verdict), ` (${percent(likely)})`),
    el('div', {}, `= ${bearing(b.true_deg, 'true')} after ${minus(b.correction_deg.toFixed(1))}°; misses by ${minus(b.miss_deg.toFixed(1))}° where ±${b.sigma_deg.toFixed(1)}° is usual${moves}`),
  ];
}

function item(state: State, row: Row, record: BearingRecord | undefined, current: boolean, cautions: { trigger: string; text: string }[], reply: Reply, acts: Acts): HTMLElement {
  const out = leftOut(state, row);
  const cells = row.cells;
  const read = cells['bearing_deg'] || ['swing1', 'swing2', 'swing3'].map((s) => cells[s]).filter(Boolean).join(', ');
  const letter = { magnetic: 'M', true: 'T', grid: 'G' }[cells['north_reference'] ?? ''] ?? '';
  const heading = record && !out ? bearing(record.read_deg, record.north) : `${read}°${letter}`;
  const bites = out ? [] : cautions.filter((c) => c.trigger.startsWith(`${row.id}:`));
  const wrong = reply.answer.findings.filter((f) => f.severity !== 'assumed' && f.value !== null && f.value !== '' && Object.values(cells).includes(f.value) && !record);
  const [lat, lon] = [Number(cells['lat']), Number(cells['lon'])];
  return el('div', { class: out ? 'item out' : 'item', 'data-id': row.id },
    el('div', { class: 'big' }, `${row.id}  ${heading}`),
    el('div', {}, [cells['place'], cells['time_utc'] ? clock(cells['time_utc']) : '', row.own ? 'entered here' : row.changed ? 'changed here' : ''].filter(Boolean).join(', ')),
    ...(out ? [el('div', { class: 'word' }, whileOff(state, row) && !said(row) ? 'left out: read while it was noted as off-air' : 'left out')] : record ? told(record) : [el('div', { class: 'word' }, current ? 'not used: see Notes' : 'not computed yet')]),
    ...wrong.map((f) => el('p', { class: 'wrong' }, `${f.message}. ${f.hint ?? ''}`)),
    cells['remarks'] ? el('div', {}, cells['remarks']) : null,
    ...bites.map((c) => caution(c.trigger, c.text)),
    el('div', { class: 'row' },
      button('Change', () => acts.edit(BEARINGS, row.id), { 'aria-label': `Change ${row.id}` }),
      button(out ? 'Use it' : 'Leave out', () => acts.leave(BEARINGS, row.id, !out), { 'aria-label': out ? `Use it: ${row.id}` : `Leave out ${row.id}` }),
      Number.isFinite(lat + lon) ? button('Show', () => acts.look(lat, lon, row.id), { 'aria-label': `Show ${row.id} on the map` }) : null));
}

function next({ advice, adviceText, state }: Shown, acts: Acts): HTMLElement {
  const off = state.offSince ? el('p', { class: 'caution' }, el('strong', {}, 'Off-air'), `Noted since ${clock(state.offSince)}: wait until it is back before you take a bearing.`) : null;
  if (!advice) return el('div', {}, el('h2', {}, 'Where next'), off, el('p', {}, 'Nothing computed yet.'));
  const stands = advice.stands.map((s) => el('div', { class: 'item' },
    el('div', { class: 'big' }, `${s.rank}  ${s.name || 'open ground'}`),
    el('div', {}, `${s.walk_minutes.toFixed(0)} min on foot; it ${WHY[s.why] ?? s.why}`),
    el('div', {}, `area to expect ${areaText(s.usual_area_m2)}; look toward ${bearing(s.toward_deg_true, 'true')}, ${distance(s.range_m)}`),
    el('div', { class: 'row' }, button('Show', () => acts.look(s.lat_deg, s.lon_deg, null), { 'aria-label': `Show stand ${s.rank} on the map` }))));
  return el('div', {}, el('h2', {}, 'Where next'), off,
    advice.enough ? el('p', { class: 'word' }, `Going to look now is quicker than another bearing: about ${advice.look_minutes.toFixed(0)} minutes.`) : null,
    ...stands, el('h3', {}, 'In full'), el('pre', { tabindex: '0' }, adviceText ?? ''));
}

function notes({ the, reply }: Shown): HTMLElement {
  const said = (severity: string) => reply.answer.findings.filter((f) => f.severity === severity).map((f) => {
    const where = [f.file, f.line ? `line ${f.line}` : '', f.field ?? '', f.value ? `"${f.value}"` : ''].filter(Boolean).join(', ');
    return el('li', {}, `${where ? `${where}: ` : ''}${f.message}${f.hint ? `. ${f.hint}` : ''}`);
  });
  const list = (title: string, items: HTMLElement[]) => (items.length ? [el('h3', {}, title), el('ul', {}, ...items)] : []);
  return el('div', {}, el('h2', {}, 'Notes'),
    ...list('Not used', said('refused')), ...list('To look at', said('doubtful')), ...list('Taken for granted', said('assumed')),
    ...list('What the answer rests on', (reply.answer.assumed ?? []).map((t) => el('li', {}, t))),
    ...list('Told when the files were read', the.told.map((t) => el('li', {}, t))),
    el('p', {}, `azimark ${the.version}`));
}

function keep({ the, state }: Shown, acts: Acts): HTMLElement {
  const logs = state.logs.filter((l) => l.rows.length > 0);
  const others = the.request.files.map((f) => f.name);
  const names = ['bearings.csv', ...logs.map((l) => plain(l.name)), ...others.map(plain)];
  return el('div', {}, el('h2', {}, 'Keep and hand on'),
    el('p', {}, 'Every tap is kept on this device. A file can be sent to others; azimark locate reads it as it is.'),
    el('div', { class: 'row' },
      button('Save bearings (CSV)', () => acts.saveTable(BEARINGS, 'csv'), { id: 'save-csv', class: 'first' }),
      button('Save bearings (GeoJSON)', () => acts.saveTable(BEARINGS, 'geojson'), { id: 'save-geojson' })),
    ...logs.map((l) => el('div', { class: 'row' },
      button(`Save ${plain(l.name)} (CSV)`, () => acts.saveTable(l.name, 'csv'), { class: 'first', 'data-save': plain(l.name) }),
      button(`Save ${plain(l.name)} as GeoJSON`, () => acts.saveTable(l.name, 'geojson'), { 'data-save': `${plain(l.name)} geojson` }))),
    state.switches.length ? el('div', { class: 'row' }, button('Save off-air times (CSV)', acts.saveSwitches, { id: 'save-switches' })) : null,
    el('p', {}, `To compute the same elsewhere: azimark locate ${names.join(' ')}`),
    others.length ? el('p', {}, `Files that stay as they came: ${others.map(plain).join(', ')}.`) : null,
    state.switches.length ? table('Off-air', ['Time', 'What'], [], state.switches.map((s) => [clock(s.at), s.state === 'off' ? 'went off' : 'came back'])) : null,
    el('h3', {}, 'The map'), el('div', { class: 'row' }, button('Turn left', () => acts.turn(-15), { 'data-turn': 'left' }), button('Turn right', () => acts.turn(15), { 'data-turn': 'right' })),
    el('h3', {}, 'Begin again'), el('div', { class: 'row' }, button('Take everything back that was entered here', acts.forget, { class: 'alarm', id: 'forget' })));
}

/** The last part of a path. */
export const plain = (path: string): string => path.split(/[\\/]/).at(-1) ?? path;
