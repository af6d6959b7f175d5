/** A file as text. */
export interface File {
  /** Its name, for findings. */
  name: string;
  kind: 'bearings' | 'levels' | 'sectors' | 'swings' | 'track' | 'map';
  /** Its text; with `by_bytes` each character stands for the byte of its number. */
  text: string;
  by_bytes?: boolean;
}

/** What is stated for all files; what is absent was not stated. */
export interface Conditions {
  /** North of bearings that do not say theirs. */
  north?: 'true' | 'magnetic' | 'grid';
  /** Time zone of times without an offset, such as America/Los_Angeles. */
  zone?: string;
  /** Grid of eastings and northings, such as "UTM 33 north". */
  grid?: string;
  /** Date of bearings without one, YYYY-MM-DD. */
  date?: string;
  /** Declination by hand, degrees, east positive. */
  declination_deg?: number;
  declination_sigma_deg?: number;
  /** Seconds to add to the times of a log to get those of its track. */
  clock_offset_s?: number;
  environment?: 'open' | 'suburban' | 'urban' | 'street' | 'indoor';
  frequency_hz?: number;
  /** How far from the stands to search, metres. */
  within_m?: number;
  level_unit?: 'dbm' | 'dbuv' | 'dbuv/m';
  attenuator_added?: boolean;
  antenna_factor_db?: number;
  antenna_gain_dbi?: number;
  cable_loss_db?: number;
  /** Floor of the receiver, in the unit of the levels. */
  floor?: number;
  averaged_in_decibels?: boolean;
}

export interface Team {
  name: string;
  /** Latitude and longitude, degrees. */
  at?: [number, number];
}

export interface Request {
  files: File[];
  /** The log of a receiver that stood still. */
  monitor?: File;
  /** Streets and buildings as GeoJSON, for walks to the next stand and for teams. */
  town?: File;
  conditions?: Conditions;
  /** Latitude and longitude of whoever asks where to stand next. */
  from?: [number, number];
  /** Whether the reply tells where to stand next. */
  advice?: boolean;
  /** Teams to divide the search between. */
  teams?: Team[];
  /** Whether levels and sectors are left aside, which is much quicker. */
  bearings_only?: boolean;
}

export interface Finding {
  severity: 'refused' | 'doubtful' | 'assumed';
  code: string;
  message: string;
  hint: string | null;
  file: string | null;
  line: number | null;
  field: string | null;
  value: string | null;
}

/** The answer; without a place only `summary`, `complete` and `findings`. Every member is told in src/export/SCHEMA.md. */
export interface Answer {
  schema: string;
  version: string;
  summary: string;
  complete: boolean;
  places?: { lat_deg: number; lon_deg: number; share: number; nearest_stand_m: number }[];
  regions?: { confidence: number; area_m2: number | null; polygons: [number, number][][][] | null; open_toward_deg?: number | null }[];
  bearings?: ({ id: string; read_deg: number; true_deg: number; miss_deg: number; sigma_deg: number; verdict: string; probability_direct: number } & Record<string, unknown>)[];
  findings: Finding[];
  cautions?: { trigger: string; text: string }[];
  [member: string]: unknown;
}

/** GeoJSON (RFC 7946). */
export interface FeatureCollection {
  type: 'FeatureCollection';
  features: { type: 'Feature'; geometry: { type: string; coordinates: unknown } | null; properties: Record<string, unknown> | null }[];
}

export interface Reply {
  schema: string;
  /** The place quoted, with all digits; null without a place. */
  quoted: { lat_deg: number; lon_deg: number } | null;
  /** The answer in words. */
  text: string;
  answer: Answer;
  map: FeatureCollection;
  advice: Record<string, unknown> | null;
  advice_text: string | null;
  division: FeatureCollection | { error: string } | null;
  division_text: string | null;
}

/** Made by {@link load}. It computes on the thread that calls it: in a page, call it in a worker. */
export class Solver {
  private constructor();
  /** Answers a request. Throws an Error with the solver's own sentence where the request means nothing. */
  solve(request: Request): Reply;
}

/** A solver from the bytes of azimark.wasm, a compiled module, a response or an address. */
export function load(source: WebAssembly.Module | ArrayBuffer | ArrayBufferView | Response | string | URL): Promise<Solver>;
