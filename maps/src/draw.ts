/** The map: what the reply holds, drawn. Everything that colour tells is told by dash, shape or word as well. */

import Feature from 'ol/Feature';
import OlMap from 'ol/Map';
import View from 'ol/View';
import ScaleLine from 'ol/control/ScaleLine';
import { buffer, createEmpty, extend, getHeight, getWidth, isEmpty, type Extent } from 'ol/extent';
import GeoJSON from 'ol/format/GeoJSON';
import DragPan from 'ol/interaction/DragPan';
import { defaults as usualInteractions } from 'ol/interaction/defaults';
import Point from 'ol/geom/Point';
import { circular } from 'ol/geom/Polygon';
import VectorLayer from 'ol/layer/Vector';
import { fromLonLat, toLonLat } from 'ol/proj';
import VectorSource from 'ol/source/Vector';
import CircleStyle from 'ol/style/Circle';
import Fill from 'ol/style/Fill';
import RegularShape from 'ol/style/RegularShape';
import Stroke from 'ol/style/Stroke';
import Style from 'ol/style/Style';
import Text from 'ol/style/Text';
import type { Advice, Division, Reply, Source, Tiles } from './case';
import { meaning, tileLayer } from './tiles';
import { percent } from './words';

export type Theme = 'day' | 'night';

interface Palette {
  ground: string;
  street: string;
  streetEdge: string;
  building: string;
  word: string;
  halo: string;
  region: string;
  regionFill: [string, string, string];
  direct: string;
  foreign: string;
  reversed: string;
  place: string;
  next: string;
  me: string;
  water: string;
  teams: [string, string, string, string];
}

const PALETTES: Record<Theme, Palette> = {
  day: {
    ground: '#f4f2ec', street: '#ffffff', streetEdge: '#8d8a80', building: '#d5d0c4', word: '#111111', halo: '#ffffff',
    region: '#5b0f4d', regionFill: ['rgba(91,15,77,0.10)', 'rgba(91,15,77,0.12)', 'rgba(91,15,77,0.26)'],
    direct: '#00417a', foreign: '#a23b00', reversed: '#4b4b00', place: '#111111', next: '#0b5a2a', me: '#00417a',
    water: '#bcd3e2', teams: ['#7a3300', '#00575a', '#4b4b00', '#7a0019'],
  },
  night: {
    ground: '#0d0905', street: '#4a3720', streetEdge: '#6b5232', building: '#1f160b', word: '#ffc470', halo: '#0d0905',
    region: '#ffb347', regionFill: ['rgba(255,150,40,0.10)', 'rgba(255,150,40,0.13)', 'rgba(255,150,40,0.30)'],
    direct: '#ffc470', foreign: '#ff7a5c', reversed: '#d9d27a', place: '#ffe2b0', next: '#a8d08d', me: '#ffe2b0',
    water: '#12202b', teams: ['#ffb08a', '#8fd0d0', '#d9d27a', '#f0a8b8'],
  },
};

const DASHES: Record<string, number[]> = { direct: [], foreign: [2, 8], reversed: [14, 6, 2, 6] };

/** Dashes of teams' streets, so that neighbours differ without colours. */
const TEAM_DASHES = [[20, 5], [14, 5, 3, 5], [6, 5], [30, 4, 3, 4, 3, 4]];

const FORMAT = new GeoJSON({ featureProjection: 'EPSG:3857' });
const MOST_READINGS = 3000;

export class Drawing {
  private readonly map: OlMap;
  private readonly base = new VectorSource();
  private readonly areas = new VectorSource();
  private readonly levels = new VectorSource();
  private readonly found = new VectorSource();
  private readonly teams = new VectorSource();
  private readonly over = new VectorSource();
  private tiles: ReturnType<typeof tileLayer> | null = null;
  private theme: Theme = 'day';
  private marked: string | null = null;
  /** What is drawn, so that nothing is drawn twice: of the levels the first and their number. */
  private drawnOf: { reply: Reply | null; advice: Advice | null; division: Division | null; reading: unknown; readings: number } = { reply: null, advice: null, division: null, reading: undefined, readings: 0 };
  /** Called with latitude and longitude, and metres of one pixel, where somebody taps. */
  onTap: (lat: number, lon: number, metres: number) => void = () => {};
  /** Called with radians clockwise, where the map is turned. */
  onTurn: (radians: number) => void = () => {};

  constructor(target: HTMLElement, scale: HTMLElement) {
    const layer = (source: VectorSource, z: number) =>
      new VectorLayer({ source, zIndex: z, style: (f, r) => this.style(f as Feature, r), declutter: 'map' });
    this.map = new OlMap({
      target,
      layers: [layer(this.base, 0), layer(this.teams, 1), layer(this.areas, 2), layer(this.levels, 3), layer(this.found, 4), layer(this.over, 5)],
      controls: [new ScaleLine({ bar: false, target: scale, minWidth: 90 })],
      interactions: usualInteractions({ dragPan: false, zoomDuration: 0 }).extend([new DragPan()]),
      view: new View({ center: [0, 0], zoom: 2, maxZoom: 21, constrainRotation: false, smoothExtentConstraint: false, smoothResolutionConstraint: false }),
    });
    this.map.on('singleclick', (event) => {
      const [lon, lat] = toLonLat(event.coordinate);
      this.onTap(lat!, lon!, this.metresPerPixel());
    });
    this.map.getView().on('change:rotation', () => this.onTurn(this.map.getView().getRotation()));
    new ResizeObserver(() => this.map.updateSize()).observe(target);
  }

  private metresPerPixel(): number {
    const view = this.map.getView();
    const lat = toLonLat(view.getCenter() ?? [0, 0])[1]!;
    return (view.getResolution() ?? 1) * Math.cos((lat * Math.PI) / 180);
  }

  paint(theme: Theme): void {
    this.theme = theme;
    const target = this.map.getTargetElement();
    if (target) target.style.background = PALETTES[theme].ground;
    for (const source of [this.base, this.teams, this.areas, this.levels, this.found, this.over]) source.changed();
    this.tiles?.changed();
  }

  /** The least contrast of words on the map against the halo behind them, by the formula of WCAG 2.2. */
  contrast(): number {
    const p = PALETTES[this.theme];
    const luminance = (color: string) => {
      const [r, g, b] = [1, 3, 5].map((i) => parseInt(color.slice(i, i + 2), 16) / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
      return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
    };
    const ratio = (a: string, b: string) => {
      const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
      return (high! + 0.05) / (low! + 0.05);
    };
    return Math.min(ratio(p.word, p.halo), ratio(p.halo, p.next), ...p.teams.map((c) => ratio(c, p.halo)));
  }

  /** Draws the base map; a sentence where it cannot be read. */
  ground(town: Source | undefined): string | null {
    if (!town) return null;
    try {
      this.base.addFeatures(FORMAT.readFeatures(JSON.parse(town.text)));
      return null;
    } catch {
      return `The base map (${town.name}) is damaged: the rest is drawn without it.`;
    }
  }

  /** Draws vector tiles below everything; `broken` is called where one is damaged. */
  below(tiles: Tiles, broken: () => void): void {
    this.tiles = tileLayer(tiles, (feature) => {
      const type = feature.getGeometry()?.getType() ?? '';
      const kind = meaning(String(feature.get('layer') ?? ''), type);
      const p = PALETTES[this.theme];
      if (kind === null) return undefined;
      if (kind === 'water') return new Style({ fill: new Fill({ color: p.water }), stroke: new Stroke({ color: p.water, width: 2 }) });
      const resolution = this.map.getView().getResolution() ?? 1;
      return this.of_base(type, String(feature.get('name') ?? ''), p, resolution);
    }, broken);
    this.map.addLayer(this.tiles);
  }

  /** Draws the parts of the teams, or none. */
  parts(division: Division | null): void {
    if (division === this.drawnOf.division) return;
    this.drawnOf.division = division;
    this.teams.clear(true);
    const features = (division?.features ?? []).filter((f) => f.geometry && ['part', 'street', 'route'].includes(f.properties?.['kind'] as string));
    const names = [...new Set(features.map((f) => f.properties?.['team'] as string))];
    for (const feature of FORMAT.readFeatures({ type: 'FeatureCollection', features })) {
      // A name of the base map's own streets must not be taken for a kind.
      feature.set('kind', `team-${feature.get('kind') as string}`);
      feature.set('number', names.indexOf(feature.get('team') as string));
      this.teams.addFeature(feature);
      if (feature.get('kind') !== 'team-part') continue;
      // Its name stands above it, where the area to search does not hide it.
      const [west, , east, north] = feature.getGeometry()!.getExtent();
      const name = new Feature(new Point([(west! + east!) / 2, north!]));
      name.setProperties({ kind: 'team-name', team: feature.get('team'), number: feature.get('number'), probability: feature.get('probability') });
      this.teams.addFeature(name);
    }
  }

  /** Looks at the part of a team, and shows its walk. */
  part(team: string): void {
    this.marked = `team ${team}`;
    this.teams.changed();
    const extent: Extent = createEmpty();
    for (const f of this.teams.getFeatures()) if (f.get('team') === team) extend(extent, f.getGeometry()!.getExtent());
    if (!isEmpty(extent)) this.map.getView().fit(extent, { padding: [30, 30, 30, 30], maxZoom: 19 });
  }

  /** Ends when the map was drawn for the first time, or after a second where it is not shown. */
  drawn(): Promise<void> {
    return new Promise((resolve) => {
      const late = setTimeout(resolve, 1000);
      this.map.once('rendercomplete', () => {
        clearTimeout(late);
        resolve();
      });
    });
  }

  /** Draws a reply. Of many readings an even part is drawn; all of them are computed with. */
  show(reply: Reply, advice: Advice | null): void {
    if (reply === this.drawnOf.reply && advice === this.drawnOf.advice) return;
    const features = reply.map.features;
    const readings = features.filter((f) => f.properties?.['kind'] === 'reading');
    const draw = (source: VectorSource, some: unknown[]) => {
      source.clear(true);
      source.addFeatures(FORMAT.readFeatures({ type: 'FeatureCollection', features: some }));
    };
    // Levels that stay are not drawn again.
    if (this.drawnOf.reading !== readings[0] || this.drawnOf.readings !== readings.length) {
      const step = Math.ceil(readings.length / MOST_READINGS);
      draw(this.levels, readings.filter((_, i) => i % step === 0));
    }
    const area = (f: (typeof features)[number]) => ['region', 'sector'].includes(f.properties?.['kind'] as string);
    draw(this.areas, features.filter(area));
    draw(this.found, features.filter((f) => !area(f) && f.properties?.['kind'] !== 'reading'));
    this.drawnOf = { ...this.drawnOf, reply, advice, reading: readings[0], readings: readings.length };
    for (const stand of advice?.enough ? [] : advice?.stands ?? []) {
      const feature = new Feature(new Point(fromLonLat([stand.lon_deg, stand.lat_deg])));
      feature.setProperties({ kind: 'next', name: String(stand.rank) });
      this.found.addFeature(feature);
    }
  }

  /** Marks a place, or none: `me` with its error in metres, or `new` for a stand that is being entered. */
  place(kind: 'me' | 'new', at: { lat: number; lon: number; metres: number } | null): void {
    for (const feature of this.over.getFeatures().filter((f) => f.get('kind') === kind || f.get('kind') === `${kind}-error`)) {
      this.over.removeFeature(feature);
    }
    if (!at) return;
    const ring = new Feature(circular([at.lon, at.lat], Math.max(1, at.metres), 48).transform('EPSG:4326', 'EPSG:3857'));
    ring.set('kind', `${kind}-error`);
    const point = new Feature(new Point(fromLonLat([at.lon, at.lat])));
    point.set('kind', kind);
    this.over.addFeatures([ring, point]);
  }

  /** Draws one bearing thicker, or none. */
  mark(id: string | null): void {
    this.marked = id;
    this.found.changed();
    this.teams.changed();
  }

  centre(lat: number, lon: number): void {
    this.map.getView().setCenter(fromLonLat([lon, lat]));
  }

  middle(): { lat: number; lon: number; metres: number } {
    const [lon, lat] = toLonLat(this.map.getView().getCenter() ?? [0, 0]);
    return { lat: lat!, lon: lon!, metres: this.metresPerPixel() };
  }

  /** Looks at the area to search with what lies around it, or at everything. */
  fit(what: 'area' | 'all'): void {
    const of = (kinds: readonly string[]) => {
      const extent: Extent = createEmpty();
      for (const feature of [this.areas, this.found].flatMap((source) => source.getFeatures())) {
        if (kinds.includes(feature.get('kind') as string)) extend(extent, feature.getGeometry()!.getExtent());
      }
      return extent;
    };
    const area = of(['region']);
    const around = isEmpty(area) ? area : buffer(area, 0.35 * Math.max(getWidth(area), getHeight(area)));
    const shown = what === 'area' && !isEmpty(around) ? around : of(['region', 'stand', 'place', 'next']);
    if (isEmpty(shown)) return;
    this.map.updateSize();
    this.map.getView().fit(shown, { padding: what === 'all' ? [34, 28, 44, 28] : [8, 8, 8, 8], maxZoom: 19 });
  }

  zoom(by: number): void {
    const view = this.map.getView();
    view.setZoom((view.getZoom() ?? 0) + by);
  }

  north(): void {
    this.map.getView().setRotation(0);
  }

  turn(degrees: number): void {
    const view = this.map.getView();
    view.setRotation(view.getRotation() + (degrees * Math.PI) / 180);
  }

  private words(text: string, p: Palette, more: Partial<ConstructorParameters<typeof Text>[0]> = {}): Text {
    return new Text({
      text, font: '600 14px system-ui, sans-serif', fill: new Fill({ color: p.word }),
      stroke: new Stroke({ color: p.halo, width: 4 }), overflow: true, ...more,
    });
  }

  private style(feature: Feature, resolution: number): Style | Style[] | undefined {
    const p = PALETTES[this.theme];
    const of = feature.getProperties() as Record<string, any>;
    switch (of['kind']) {
      case 'region': return this.region(of['confidence'] as number, p);
      case 'bearing': return this.ray(of, p);
      case 'stand': return new Style({
        image: new CircleStyle({ declutterMode: 'none', radius: 6, fill: new Fill({ color: p.halo }), stroke: new Stroke({ color: p.direct, width: 3 }) }),
        text: this.words((of['bearings'] as string[]).join(' '), p, { offsetY: -16 }), zIndex: 6,
      });
      case 'reading': return new Style({
        image: new RegularShape({
          declutterMode: 'none', points: 4, radius: of['below_floor'] ? 3 : 5, angle: Math.PI / 4,
          fill: new Fill({ color: of['marker-color'] as string }), stroke: new Stroke({ color: p.word, width: 0.6 }),
        }), zIndex: 3,
      });
      case 'sector': return new Style({ stroke: new Stroke({ color: p.reversed, width: 1.5, lineDash: [4, 4] }), zIndex: 1 });
      case 'place': return this.peak(of, p);
      case 'next': return new Style({
        image: new RegularShape({ declutterMode: 'none', points: 4, radius: 15, fill: new Fill({ color: p.next }), stroke: new Stroke({ color: p.halo, width: 2 }) }),
        text: new Text({ declutterMode: 'none', text: of['name'] as string, font: '700 15px system-ui, sans-serif', fill: new Fill({ color: p.halo }) }), zIndex: 8,
      });
      case 'team-part': case 'team-name': case 'team-street': case 'team-route': return this.team(of, p);
      case 'ellipse': case 'region-of-two': case 'place-of-two': return undefined;
      case 'me-error': case 'new-error': return new Style({ stroke: new Stroke({ color: p.me, width: 1.5, lineDash: [3, 5] }), zIndex: 9 });
      case 'me': return new Style({
        image: new CircleStyle({ declutterMode: 'none', radius: 9, fill: new Fill({ color: p.me }), stroke: new Stroke({ color: p.halo, width: 3 }) }),
        text: this.words('you', p, { offsetY: 20 }), zIndex: 10,
      });
      case 'new': return new Style({
        image: new RegularShape({ declutterMode: 'none', points: 4, radius: 18, radius2: 0, stroke: new Stroke({ color: p.word, width: 4 }) }),
        text: this.words('new stand', p, { offsetY: 26 }), zIndex: 11,
      });
      default: return this.of_base(feature.getGeometry()?.getType() ?? '', String(of['name'] ?? ''), p, resolution);
    }
  }

  private region(confidence: number, p: Palette): Style {
    const [dash, width, fill] = confidence > 0.93 ? [[12, 7], 3, p.regionFill[0]] : confidence > 0.7 ? [[3, 5], 2, p.regionFill[1]] : [[], 2, p.regionFill[2]];
    return new Style({
      fill: new Fill({ color: fill as string }),
      stroke: new Stroke({ color: p.region, width: width as number, lineDash: dash as number[] }), zIndex: 2,
    });
  }

  private ray(of: Record<string, any>, p: Palette): Style[] {
    const verdict = of['verdict'] as string;
    const kind = verdict in DASHES ? verdict : 'direct';
    const color = p[kind as 'direct' | 'foreign' | 'reversed'];
    const width = of['id'] === this.marked ? 7 : kind === 'direct' ? 2.5 : 3;
    const under = new Style({ stroke: new Stroke({ color: p.halo, width: width + 2.5 }), zIndex: 4 });
    const line = new Style({
      stroke: new Stroke({ color, width, lineDash: DASHES[kind], lineCap: kind === 'foreign' ? 'round' : 'butt' }),
      text: this.words(kind === 'direct' ? (of['id'] as string) : `${of['id'] as string} ?`, p, { placement: 'line', repeat: 260, font: '600 13px system-ui, sans-serif' }), zIndex: 5,
    });
    return kind === 'direct' ? [line] : [under, line];
  }

  private peak(of: Record<string, any>, p: Palette): Style[] {
    const cross = (color: string, width: number) => new Style({
      image: new RegularShape({ declutterMode: 'none', points: 4, radius: 12, radius2: 0, angle: Math.PI / 4, stroke: new Stroke({ color, width }) }), zIndex: 7,
    });
    const share = this.words(percent(of['share'] as number), p, { offsetX: 16, textAlign: 'left', font: '700 16px system-ui, sans-serif', declutterMode: 'obstacle' });
    return [cross(p.halo, 6), cross(p.place, 3), new Style({ text: share, zIndex: 7 })];
  }

  private team(of: Record<string, any>, p: Palette): Style | undefined {
    const number = Math.max(0, of['number'] as number) % 4;
    const color = p.teams[number]!;
    switch (of['kind']) {
      case 'team-part': return new Style({
        stroke: new Stroke({ color, width: 4, lineDash: TEAM_DASHES[number]! }), zIndex: 2,
      });
      case 'team-name': return new Style({
        text: this.words(`${of['team'] as string} ${percent(of['probability'] as number)}`, p, { font: '700 17px system-ui, sans-serif', fill: new Fill({ color }), textBaseline: 'bottom', offsetY: -4 }), zIndex: 4,
      });
      case 'team-street': return new Style({ stroke: new Stroke({ color, width: 5, lineDash: TEAM_DASHES[number]!, lineCap: 'butt' }), zIndex: 1 });
      default: return this.marked === `team ${of['team'] as string}` ? new Style({ stroke: new Stroke({ color: p.place, width: 2 }), zIndex: 3 }) : undefined;
    }
  }

  private of_base(type: string, name: string, p: Palette, resolution: number): Style | Style[] | undefined {
    if (type.endsWith('Polygon')) {
      const words = resolution < 0.6 && name ? this.words(name, p, { font: '13px system-ui, sans-serif' }) : undefined;
      return new Style({ fill: new Fill({ color: p.building }), stroke: new Stroke({ color: p.streetEdge, width: 1 }), ...(words ? { text: words } : {}) });
    }
    if (type.endsWith('LineString')) {
      const words = resolution < 2.5 && name ? this.words(name, p, { placement: 'line', font: '13px system-ui, sans-serif', overflow: false }) : undefined;
      const width = Math.min(14, Math.max(2, 8 / resolution));
      return [
        new Style({ stroke: new Stroke({ color: p.streetEdge, width: width + 2 }) }),
        new Style({ stroke: new Stroke({ color: p.street, width }), zIndex: 1, ...(words ? { text: words } : {}) }),
      ];
    }
    return new Style({
      image: new RegularShape({ declutterMode: 'none', points: 3, radius: 7, fill: new Fill({ color: p.streetEdge }), stroke: new Stroke({ color: p.halo, width: 1.5 }) }),
      ...(name ? { text: this.words(name, p, { offsetY: 16, font: '13px system-ui, sans-serif' }) } : {}),
    });
  }
}
