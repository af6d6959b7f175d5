/** The case as `azimark map` puts it into the page, and as the solver answers. Shapes follow `src/live` and `src/export`. */

export interface Source {
  name: string;
  kind: string;
  text: string;
  by_bytes?: boolean;
}

/** A team, and where it is (`live::Seat`). */
export interface Seat {
  name: string;
  at?: [number, number];
}

/** A request to the solver (`live::Request`). */
export interface Request {
  files: Source[];
  monitor?: Source;
  town?: Source;
  conditions: Record<string, unknown>;
  from?: [number, number];
  teams?: Seat[];
  advice: boolean;
  bearings_only: boolean;
  first?: boolean;
  briefly?: boolean;
}

export interface BearingRecord {
  id: string;
  stand: string;
  lat_deg: number;
  lon_deg: number;
  read_deg: number;
  north: string;
  true_deg: number;
  correction_deg: number;
  computed_deg: number;
  miss_deg: number;
  sigma_deg: number;
  range_m: number;
  verdict: string;
  probability_direct: number;
  probability_reversed: number;
  probability_foreign: number;
  shift_without_m: number | null;
  remarks: string;
  team: string | null;
  time_utc: string | null;
}

export interface Finding {
  severity: string;
  code: string;
  message: string;
  hint: string | null;
  file: string | null;
  line: number | null;
  field: string | null;
  value: string | null;
}

/** The answer (`src/export/SCHEMA.md`); without a place only the first members and the findings are there. */
export interface Answer {
  summary: string;
  complete: boolean;
  places?: { lat_deg: number; lon_deg: number; share: number; nearest_stand_m: number }[];
  regions?: { confidence: number; area_m2: number | null; open_toward_deg?: number | null }[];
  bearings?: BearingRecord[];
  levels?: { readings: number; below_floor: number; shadowing_db?: number; table?: unknown[] } | null;
  sectors?: unknown[];
  assumed?: string[];
  findings: Finding[];
  cautions?: { trigger: string; text: string }[];
}

export interface NextStand {
  rank: number;
  name: string;
  lat_deg: number;
  lon_deg: number;
  walk_minutes: number;
  total_minutes: number;
  usual_area_m2: number;
  toward_deg_true: number;
  range_m: number;
  why: string;
}

export interface Advice {
  enough: boolean;
  look_minutes: number;
  stands: NextStand[];
}

/** GeoJSON of a division (`export::division`), or why there is none. */
export interface Division {
  error?: string;
  features?: Feature[];
}

export interface Reply {
  error?: string;
  /** Whether the checks are still to come. */
  first: boolean;
  text: string;
  quoted: { lat_deg: number; lon_deg: number } | null;
  advice_text: string | null;
  answer: Answer;
  map: { features: Feature[]; azimark?: { readings_of?: number } };
  advice: Advice | null;
  division?: Division | null;
  division_text?: string | null;
}

export interface Feature {
  type: string;
  geometry: { type: string; coordinates: unknown } | null;
  properties: Record<string, any> | null;
}

/** A table of notes: what `azimark locate` reads (`export::Notes`). */
export interface Notes {
  columns: string[];
  rows: string[][];
}

/** A log of levels as a table of its own; the last one of a case is the page's. */
export interface Log extends Notes {
  name: string;
}

/** Vector tiles around the case: zoom, column, row, and the tile packed by gzip in base64. */
export interface Tiles {
  name: string;
  attribution: string;
  zoom: number;
  tiles: [number, number, number, string][];
}

export interface Case {
  schema: string;
  id: string;
  version: string;
  title: string;
  told: string[];
  notes: Notes;
  logs: Log[];
  request: Request;
  division: Division | null;
  tiles: Tiles | null;
  reply: Reply;
}

export const SCHEMA = 'azimark-map/2';

/** Reads the case from the page, or says in a sentence why that cannot be done. */
export function caseOf(text: string): Case | string {
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    return 'The data in this page are damaged: ask for the file again.';
  }
  if (typeof read !== 'object' || read === null || !('schema' in read)) {
    return 'This page holds no case yet: azimark map FILES -o map.html fills it.';
  }
  const found = read as Case;
  if (found.schema !== SCHEMA) {
    return `This page holds data of another version (${String(found.schema)}); it understands ${SCHEMA}. Write it anew with one azimark.`;
  }
  return found;
}
