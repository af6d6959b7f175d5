/**
 * What was entered on this page: a log to which entries are only ever added. The bearings as they stand now follow from the
 * notes in the page and the log, so that an undone step is not lost, and what is kept after each tap is small.
 */

import type { Notes } from './case';

export type Cells = Record<string, string>;

export type Entry = { at: string } & (
  | { kind: 'add'; id: string; cells: Cells }
  | { kind: 'edit'; id: string; cells: Cells }
  | { kind: 'leave'; id: string }
  | { kind: 'use'; id: string }
  | { kind: 'off'; lat?: string; lon?: string }
  | { kind: 'on'; lat?: string; lon?: string }
  | { kind: 'undo' }
);

export interface Row {
  id: string;
  cells: Cells;
  /** Entered on this page, not in the notes that came with it. */
  own: boolean;
  changed: boolean;
}

export interface State {
  rows: Row[];
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

/** The state after a log. */
export function replay(notes: Notes, log: readonly Entry[]): State {
  const rows: Row[] = notes.rows.map((cells) => {
    const row = Object.fromEntries(notes.columns.map((column, i) => [column, cells[i] ?? '']));
    return { id: row['id'] ?? '', cells: row, own: false, changed: false };
  });
  const state: State = { rows, offSince: null, switches: [], last: null };
  for (const entry of counting(log)) {
    state.last = entry;
    const row = 'id' in entry ? rows.find((r) => r.id === entry.id) : undefined;
    switch (entry.kind) {
      case 'add':
        rows.push({ id: entry.id, cells: { ...entry.cells }, own: true, changed: false });
        break;
      case 'edit':
        if (row) {
          row.cells = { ...row.cells, ...entry.cells };
          row.changed = !row.own;
        }
        break;
      case 'leave':
      case 'use':
        if (row) row.cells['left_out'] = entry.kind === 'leave' ? 'yes' : '';
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

export const leftOut = (row: Row): boolean => row.cells['left_out'] === 'yes';

/** An identifier that no bearing has: the greatest number behind the usual letter, plus one. */
export function nextId(rows: readonly Row[]): string {
  const found = rows.map((r) => /^([A-Za-z]*)(\d+)$/.exec(r.id)).filter((m) => m !== null);
  const letter = found.at(0)?.[1] ?? 'B';
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

/** The notes as a table that `azimark locate` reads. */
export function notesCsv(notes: Notes, rows: readonly Row[]): string {
  return csv(notes.columns, rows.map((row) => notes.columns.map((column) => row.cells[column] ?? '')));
}

/** When the emitter was switched, as `azimark when --switched` reads it. */
export function switchesCsv(state: State): string {
  return csv(['time_utc', 'state', 'lat', 'lon'], state.switches.map((s) => [s.at, s.state, s.lat, s.lon]));
}
