/** The parts of the teams, as a table and one by one, and a new division. */

import type { Feature } from './case';
import { button, el } from './dom';
import { table, type Acts, type Shown } from './panel';
import { distance, percent } from './words';

const partsOf = (features: Feature[] | undefined): Record<string, any>[] =>
  (features ?? []).filter((f) => f.properties?.['kind'] === 'part').map((f) => f.properties!);

const words = (value: unknown): string[] => (Array.isArray(value) ? value.map(String) : typeof value === 'string' && value !== '' ? [value] : []);

export function teams({ the, division }: Shown, acts: Acts): HTMLElement {
  const parts = partsOf(division?.map.features);
  const minutes = (p: Record<string, any>) => `${Number(p['route_minutes'] ?? p['minutes']).toFixed(0)} min`;
  const count = el('input', { type: 'text', inputmode: 'numeric', name: 'teams', autocomplete: 'off', value: String(parts.length || 2) });
  const told = el('p', { class: 'wrong', role: 'alert' });
  const named = the.request.teams?.length ? button(`Divide between ${the.request.teams.map((t) => t.name).join(', ')}`.slice(0, 60), () => acts.divide(null)) : null;
  return el('div', {}, el('h2', {}, 'Teams'),
    division && !division.current ? el('p', { class: 'wrong' }, 'This division is older than the notes: divide again before people walk by it.') : null,
    division?.map.error ? el('p', { class: 'wrong' }, division.map.error) : null,
    parts.length ? table('Parts of the search', ['Team', 'Chance', 'Walk', 'Length'], [1, 2, 3],
      parts.map((p) => [String(p['team']), percent(Number(p['probability'])), minutes(p), distance(Number(p['length_m']))])) : null,
    ...parts.map((p) => el('div', { class: 'item' },
      el('div', { class: 'big' }, String(p['team'])),
      el('div', {}, `holds it ${percent(Number(p['probability']))}; ${minutes(p)} to walk it`),
      words(p['streets']).length ? el('div', {}, el('span', { class: 'word' }, 'Streets: '), words(p['streets']).join(', ')) : null,
      words(p['hazards']).length ? el('p', { class: 'caution' }, el('strong', {}, 'On the way'), words(p['hazards']).join('; ')) : null,
      el('div', { class: 'row' }, button('Show', () => acts.part(String(p['team'])), { 'aria-label': `Show the part of ${String(p['team'])} on the map` })))),
    el('h3', {}, parts.length ? 'Divide again' : 'Divide the search'),
    el('div', { class: 'fields' }, el('label', {}, 'How many teams', count)), told,
    el('div', { class: 'row' }, button('Divide', () => {
      const wanted = Number(count.value);
      const good = Number.isInteger(wanted) && wanted >= 1 && wanted <= 60;
      told.textContent = good ? '' : 'A whole number from 1 to 60.';
      if (good) acts.divide(wanted);
    }, { id: 'divide', class: 'first' }), named),
    division?.text ? el('div', {}, el('h3', {}, 'In full'), el('pre', { tabindex: '0' }, division.text)) : null);
}
