/**
 * What was entered on this page: a log to which entries are only ever added. The bearings and levels as they stand now follow from
 * the notes in the page and the log, so that an undone step is not lost, and what is kept after each tap is small.
 */

import type { Case, Notes } from './case';

export type Cells = Record<string, string>;

/** The table of bearings among those of levels. */
export const BEARINGS = 'bearings';

export type Entry = { at: string } & (
  | { kind: 'add'; of?: string; id: string; cells: Cells }
  | { kind: 'edit'; of?: string; id: string; cells: Cells }
  | { kind: 'leave'; of?: string; id: string }
  | { kind: 'use'; of?: string; id: string }
  | { kind: 'off'; lat?: string; lon?: string }
  | { kind: 'on'; lat?: string; lon?: string }
  | { kind: 'undo' }
);

export interface Row {
  /** The identifier, or the number of the row where it has none of its own. */
  id: string;
  cells: Cells;
  /** Entered on this page, not in the notes that came with it. */
  own: boolean;
  changed: boolean;
}

export interface Table {
  name: string;
  columns: readonly string[];
  rows: Row[];
}

export interface State {
  bearings: Table;
  /** Logs of levels; the last one is the page's own. */
  logs: Table[];
  /** Since when the emitter is off, where it is. */
  offSince: string | null;
  switches: { at: string; state: 'off' | 'on'; lat: string; lon: string }[];
  /** What the next undo takes back, or null. */
  last: Entry | null;
}

/** The entries that count: each undo takes the last one that still did. */
export function counting(log: readonly Entry[]): Entry[] {
  const out: Entry[] = [];
  for (const entry of log) {
    if (entry.kind === 'undo') out.pop();
    else out.push(entry);
  }
  return out;
}

function table(name: string, notes: Notes): Table {
  const seen = new Set<string>();
  const rows = notes.rows.map((cells, i) => {
    const row = Object.fromEntries(notes.columns.map((column, k) => [column, cells[k] ?? '']));
    const own = row['id'] ?? '';
    const id = own !== '' && !seen.has(own) ? own : `#${i + 1}`;
    seen.add(id);
    return { id, cells: row, own: false, changed: false };
  });
  return { name, columns: notes.columns, rows };
}

/** The state after a log. */
export function replay(the: Pick<Case, 'notes' | 'logs'>, log: readonly Entry[]): State {
  const bearings = table(BEARINGS, the.notes);
  const logs = the.logs.map((l) => table(l.name, l));
  const state: State = { bearings, logs, offSince: null, switches: [], last: null };
  for (const entry of counting(log)) {
    state.last = entry;
    const name = ('of' in entry ? entry.of : undefined) ?? BEARINGS;
    const home = name === BEARINGS ? bearings : logs.find((l) => l.name === name);
    const row = 'id' in entry ? home?.rows.find((r) => r.id === entry.id) : undefined;
    switch (entry.kind) {
      case 'add':
        home?.rows.push({ id: entry.id, cells: { ...entry.cells }, own: true, changed: false });
        break;
      case 'edit':
        if (row) {
          row.cells = { ...row.cells, ...entry.cells };
          row.changed = !row.own;
        }
        break;
      case 'leave':
      case 'use':
        if (row) row.cells['left_out'] = entry.kind === 'leave' ? 'yes' : 'no';
        break;
      case 'off':
      case 'on':
        state.offSince = entry.kind === 'off' ? entry.at : null;
        state.switches.push({ at: entry.at, state: entry.kind, lat: entry.lat ?? '', lon: entry.lon ?? '' });
        break;
    }
  }
  return state;
}

/** Whether a row was read while it was noted that the emitter was off, and nobody said to use it all the same. */
export function whileOff(state: State, row: Row): boolean {
  const at = Date.parse(row.cells['time_utc'] ?? '');
  if (Number.isNaN(at) || row.cells['left_out'] === 'no') return false;
  const before = state.switches.filter((s) => Date.parse(s.at) <= at);
  return before.at(-1)?.state === 'off';
}

export const said = (row: Row): boolean => row.cells['left_out'] === 'yes';

/** Whether a bearing is not used: because somebody said so, or because it was read while the emitter was off. */
export const leftOut = (state: State, row: Row): boolean => said(row) || whileOff(state, row);

const LEVELS = ['indicated_dbm', 'level_dbm'];

/** The cells as the solver and the saved tables have them: what was read while the emitter was off says so. */
export function effective(state: State, table: Table, row: Row): Cells {
  const cells: Cells = { ...row.cells, left_out: said(row) ? 'yes' : '' };
  if (!whileOff(state, row) || said(row)) return cells;
  if (table.name === BEARINGS) return { ...cells, left_out: 'yes', remarks: joined(cells['remarks'], 'read while off-air') };
  const read = LEVELS.map((c) => cells[c]).find(Boolean);
  for (const column of LEVELS) if (cells[column]) cells[column] = 'off';
  return read && read !== 'off' ? { ...cells, remarks: joined(cells['remarks'], `${read} dBm read while off-air`) } : cells;
}

const joined = (before: string | undefined, more: string): string => [before, more].filter(Boolean).join('; ');

/** An identifier that no row has: the greatest number behind the usual letter, plus one. */
export function nextId(rows: readonly Row[], first: string): string {
  const found = rows.map((r) => /^([A-Za-z]*)(\d+)$/.exec(r.id)).filter((m) => m !== null);
  const letter = found.at(0)?.[1] ?? first;
  const width = found.at(0)?.[2]?.length ?? 2;
  const last = Math.max(0, ...found.map((m) => Number(m[2])));
  for (let n = last + 1; ; n++) {
    const id = letter + String(n).padStart(width, '0');
    if (rows.every((r) => r.id !== id)) return id;
  }
}

function quoted(cell: string): string {
  return /[,"\n\r;\t]/.test(cell) || cell.trim() !== cell ? `"${cell.replaceAll('"', '""')}"` : cell;
}

function csv(columns: readonly string[], rows: readonly string[][]): string {
  return [columns, ...rows].map((cells) => cells.map(quoted).join(',') + '\n').join('');
}

/** A table that `azimark locate` reads. */
export function tableCsv(state: State, table: Table): string {
  return csv(table.columns, table.rows.map((row) => {
    const cells = effective(state, table, row);
    return table.columns.map((column) => cells[column] ?? '');
  }));
}

/** Degrees as a number; not a number where they were typed in another way, such as 46°57.3'N. */
const degrees = (cell: string | undefined): number => (cell?.trim() ? Number(cell) : NaN);

/** Points with the columns of a table as properties; those that are left out are not there. `unplaced` has no decimal degrees. */
export function tableGeojson(state: State, table: Table): { text: string; unplaced: string[] } {
  const unplaced: string[] = [];
  const features = table.rows.flatMap((row) => {
    const cells = effective(state, table, row);
    if (cells['left_out'] === 'yes') return [];
    const coordinates = [degrees(cells['lon']), degrees(cells['lat'])];
    if (!coordinates.every(Number.isFinite)) {
      unplaced.push(row.id);
      return [];
    }
    const properties = Object.fromEntries(Object.entries(cells).filter(([k, v]) => v !== '' && k !== 'lat' && k !== 'lon'));
    return [{ type: 'Feature', geometry: { type: 'Point', coordinates }, properties }];
  });
  return { text: JSON.stringify({ type: 'FeatureCollection', features }, null, 1), unplaced };
}

/** When the emitter was switched, as `azimark when --switched` reads it. */
export function switchesCsv(state: State): string {
  return csv(['time_utc', 'state', 'lat', 'lon'], state.switches.map((s) => [s.at, s.state, s.lat, s.lon]));
}
