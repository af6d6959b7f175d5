/** Numbers as people read them: as `report::words` writes them. */

function twoDigits(value: number): string {
  if (value < 10) return value.toFixed(1);
  const unit = 10 ** Math.max(0, Math.floor(Math.log10(value)) - 1);
  return String(Math.round(value / unit) * unit);
}

/** An area in the unit that suits its size: figure and unit. */
export function area(m2: number): [string, string] {
  if (m2 < 10_000) return [m2 < 10 ? m2.toFixed(0) : twoDigits(m2), 'm²'];
  return m2 < 1_000_000 ? [twoDigits(m2 / 1e4), 'ha'] : [twoDigits(m2 / 1e6), 'km²'];
}

export const areaText = (m2: number): string => area(m2).join(' ');

export function distance(m: number): string {
  if (m < 10) return `${m.toFixed(1)} m`;
  if (m < 1000) return `${m.toFixed(0)} m`;
  return `${(m / 1000).toFixed(m < 100_000 ? 1 : 0)} km`;
}

const LETTERS: Record<string, string> = { true: 'T', magnetic: 'M', grid: 'G' };

/** `055°M`. */
export function bearing(degrees: number, north: string): string {
  return `${String(Math.round(((degrees % 360) + 360) % 360) % 360).padStart(3, '0')}°${LETTERS[north] ?? ''}`;
}

export const minus = (text: string): string => text.replace('-', '−');

/** A share in whole percent; what is not certain is never called so. */
export const percent = (share: number): string => (share >= 0.995 ? 'over 99 %' : `${(100 * share).toFixed(0)} %`);

/** Hours and minutes of a time, local, with the day where it is another one. */
export function clock(iso: string): string {
  const time = new Date(iso);
  const hours = time.toLocaleTimeString([], { hour: '2-digit', minute: '2-digit', timeZoneName: 'short' });
  return time.toDateString() === new Date().toDateString() ? hours : `${time.toLocaleDateString([], { day: 'numeric', month: 'short', year: 'numeric' })}, ${hours}`;
}

export const WHY: Record<string, string> = {
  'closes-open-direction': 'closes the direction that is still open',
  'open-side': 'sees the area from a side that nobody stood on',
  'across-long-axis': 'looks across the long side of the area',
  wider: 'cuts the earlier bearings at a wider angle',
  nearer: 'is nearer, where a bearing misses by less',
};
