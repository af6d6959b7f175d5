/** The page: holds the state, asks the solver, and shows what it says. */

import { caseOf, type Advice, type Case, type Reply } from './case';
import { button, byId, el, save } from './dom';
import { Drawing, type Theme } from './draw';
import { form, type Position } from './form';
import { leftOut, nextId, notesCsv, replay, switchesCsv, type Cells, type Entry, type State } from './log';
import { panel, TABS, type Acts, type Tab } from './panel';
import { Solver } from './solver';
import { Store } from './store';
import { area, clock } from './words';

const NOTES = 'bearings.csv';
/** What is computed, one after the other: from bearings alone, places and areas from everything, and that with all checks. */
type Step = 'bearings' | 'first' | 'whole';
const STEPS: readonly Step[] = ['bearings', 'first', 'whole'];
/** Faster than this, in metres per second, nobody walks. */
const WALKING = 2.5;

class Page {
  private log: Entry[] = [];
  private draft: Cells | null = null;
  private theme: Theme = 'day';
  private state: State;
  private reply: Reply;
  private advice: Advice | null;
  private adviceText: string | null;
  private current = true;
  private tab: Tab = 'Answer';
  private open: 'lists' | 'form' | null = null;
  private noSolver: string | null = null;
  private readonly store = new Store();
  private readonly solver = new Solver();
  private readonly drawing = new Drawing(byId('map'), byId('scale'));
  private picked: ((at: Position | null) => void) | null = null;
  private passenger = false;

  constructor(private readonly the: Case) {
    this.state = replay(the.notes, []);
    this.reply = the.reply;
    this.advice = the.reply.advice;
    this.adviceText = the.reply.advice_text;
  }

  async begin(): Promise<void> {
    byId('title').textContent = this.the.title;
    document.title = `${this.the.title}: azimark map`;
    this.wire();
    const damaged = this.drawing.ground(this.the.request.town);
    this.paint(matchMedia('(prefers-color-scheme: dark)').matches ? 'night' : 'day');
    this.show();
    this.drawing.fit('area');
    document.body.dataset['ready'] = 'drawn';
    if (damaged) this.trouble(damaged);
    this.store.onTrouble = (why) => this.trouble(why || null);
    const kept = await this.store.load(this.the.id);
    if (kept) {
      this.log = kept.log;
      this.draft = kept.draft;
      if (kept.theme === 'day' || kept.theme === 'night') this.paint(kept.theme);
      this.state = replay(this.the.notes, this.log);
      this.current = this.log.length === 0;
      this.show();
    }
    this.noSolver = await this.solver.begin(byId('solver').textContent ?? '');
    if (this.noSolver) this.status(this.noSolver);
    else if (!this.current) await this.solve();
    // So that the first change finds the levels known.
    else if (this.more()) void this.solver.first(this.request('first')).then(() => (document.body.dataset['warm'] = 'yes'));
    document.body.dataset['ready'] = 'solver';
  }

  last(): Reply {
    return this.reply;
  }

  private wire(): void {
    const on = (id: string, run: () => void) => byId(id).addEventListener('click', run);
    on('theme', () => {
      this.paint(this.theme === 'day' ? 'night' : 'day');
      void this.keep();
    });
    on('in', () => this.drawing.zoom(1));
    on('out', () => this.drawing.zoom(-1));
    on('whole', () => this.drawing.fit('area'));
    on('all', () => this.drawing.fit('all'));
    on('north', () => this.drawing.north());
    on('do-bearing', () => this.enter(null));
    on('do-off', () => this.offAir());
    on('do-lists', () => (this.open === 'lists' ? this.close() : this.lists(this.tab)));
    on('do-undo', () => this.undo());
    on('pick-middle', () => this.choose(this.drawing.middle()));
    on('pick-stop', () => this.pickDone(null));
    this.drawing.onTap = (lat, lon, metres) => this.picked && this.choose({ lat, lon, metres });
    this.drawing.onTurn = (radians) => byId('needle').setAttribute('transform', `rotate(${(radians * 180) / Math.PI} 20 20)`);
    document.addEventListener('keydown', (event) => {
      if (event.key !== 'Escape') return;
      if (this.picked) this.pickDone(null);
      else if (this.open) this.close();
    });
  }

  private trouble(why: string | null): void {
    const box = byId('trouble');
    box.hidden = why === null;
    box.replaceChildren();
    if (why) box.append(why, ' ', button('Save bearings', () => this.saveBearings()));
  }

  private status(text: string): void {
    byId('status').textContent = text;
  }

  private paint(theme: Theme): void {
    this.theme = theme;
    document.body.dataset['theme'] = theme;
    const knob = byId('theme');
    knob.setAttribute('aria-pressed', String(theme === 'night'));
    this.drawing.paint(theme);
  }

  private keep(): Promise<void> {
    return this.store.keep({ id: this.the.id, title: this.the.title, log: this.log, draft: this.draft, theme: this.theme });
  }

  /** Everything that follows from the state and the reply. */
  private show(): void {
    const region = this.reply.answer.regions?.find((r) => r.confidence > 0.93);
    const [figure, unit] = typeof region?.area_m2 === 'number' ? area(region.area_m2) : ['—', ''];
    byId('figure').textContent = `${figure} ${unit}`.trim();
    byId('figure-words').textContent = unit ? 'to search; holds it 95 times in 100, if what is assumed is right' : 'no area yet: the data do not determine one';
    this.drawing.show(this.reply, this.advice);
    const off = byId('do-off');
    off.textContent = this.state.offSince ? 'Back on air' : 'Off-air now';
    off.classList.toggle('alarm', this.state.offSince !== null);
    const undo = byId<HTMLButtonElement>('do-undo');
    undo.disabled = this.state.last === null;
    if (this.open === 'lists') this.lists(this.tab);
  }

  private counted(): string {
    const used = this.reply.answer.bearings?.length ?? 0;
    const levels = this.reply.answer.levels?.readings ?? 0;
    const out = this.state.rows.filter(leftOut).length;
    return `${used} bearings${levels ? `, ${levels} levels` : ''}${out ? `, ${out} left out` : ''}`;
  }

  /** Whether something else than bearings was observed. */
  private more(): boolean {
    return this.the.request.files.some((f) => f.kind !== 'bearings' && f.kind !== 'swings');
  }

  private request(step: Step): string {
    const { files, ...rest } = this.the.request;
    const bearings = { name: NOTES, kind: 'bearings', text: notesCsv(this.the.notes, this.state.rows) };
    return JSON.stringify({ ...rest, files: [bearings, ...files], bearings_only: step === 'bearings', first: step !== 'whole', advice: step === 'whole' });
  }

  /** Solves what stands now: first places and areas, then the checks. Until levels are known, the bearings alone come before. */
  private async solve(): Promise<void> {
    if (this.noSolver) {
      this.status(`${this.noSolver} The answer shown is that of the notes as they came.`);
      return;
    }
    const begun = performance.now();
    this.status('Computing…');
    for (const step of this.more() && !this.solver.warm ? STEPS : STEPS.slice(1)) {
      const asked = this.request(step);
      const solved = await (step === 'first' ? this.solver.first(asked) : this.solver.rest(asked));
      if (solved === null) return;
      if (typeof solved === 'string') {
        this.status(solved);
        return;
      }
      this.reply = solved.reply;
      this.current = step !== 'bearings';
      if (step === 'whole') [this.advice, this.adviceText] = [solved.reply.advice, solved.reply.advice_text];
      this.show();
      const seconds = ((performance.now() - begun) / 1000).toFixed(1);
      this.status({
        bearings: `From ${this.counted()} alone; computing with levels and sectors…`,
        first: `From ${this.counted()} in ${seconds} s; north and the other checks are still being computed…`,
        whole: `From ${this.counted()}; computed and checked here in ${seconds} s`,
      }[step]);
      performance.measure(`azimark-${step}`, { start: begun });
      requestAnimationFrame(() => performance.measure(`azimark-${step}-drawn`, { start: begun }));
      document.body.dataset['solved'] = step === 'whole' ? String(this.log.length) : step;
    }
  }

  private add(entry: Entry): void {
    this.log.push(entry);
    this.state = replay(this.the.notes, this.log);
    void this.keep();
  }

  private readonly now = () => new Date().toISOString().replace(/\.\d+Z$/, 'Z');

  private changed(entry: Entry): void {
    this.add(entry);
    this.current = false;
    this.show();
    void this.solve();
  }

  private undo(): void {
    const last = this.state.last;
    if (!last) return;
    const entry: Entry = { at: this.now(), kind: 'undo' };
    if (last.kind === 'off' || last.kind === 'on') {
      this.add(entry);
      this.show();
      this.status('Taken back.');
    } else this.changed(entry);
  }

  private offAir(): void {
    const kind = this.state.offSince ? 'on' : 'off';
    this.add({ at: this.now(), kind });
    this.show();
    this.status(kind === 'off' ? `Off-air noted at ${clock(this.state.offSince ?? '')}. A bearing taken now tells nothing; press again when it is back.` : 'Noted that it is back.');
  }

  private close(): void {
    this.open = null;
    byId('panel').hidden = true;
    byId('do-lists').setAttribute('aria-expanded', 'false');
    this.drawing.place('new', null);
    this.drawing.mark(null);
    byId('do-lists').focus();
  }

  private lists(tab: Tab): void {
    const home = byId('panel');
    const same = this.open === 'lists' && this.tab === tab;
    const scrolled = same ? home.scrollTop : 0;
    const focused = same && home.contains(document.activeElement) ? document.activeElement?.getAttribute('aria-label') : null;
    this.open = 'lists';
    this.tab = tab;
    const acts: Acts = {
      edit: (id) => this.enter(id),
      leave: (id, out) => this.changed({ at: this.now(), kind: out ? 'leave' : 'use', id }),
      look: (lat, lon, id) => {
        this.drawing.mark(id);
        this.drawing.centre(lat, lon);
      },
      saveBearings: () => this.saveBearings(),
      saveGeojson: () => this.saveGeojson(),
      saveSwitches: () => save('off_air.csv', 'text/csv', switchesCsv(this.state)),
      forget: () => {
        if (!confirm('Take back everything that was entered on this page? It can be undone step by step no more.')) return;
        this.log = [];
        this.draft = null;
        this.state = replay(this.the.notes, []);
        void this.keep();
        [this.reply, this.advice, this.adviceText, this.current] = [this.the.reply, this.the.reply.advice, this.the.reply.advice_text, true];
        this.show();
        this.status('As it came.');
      },
      turn: (degrees) => this.drawing.turn(degrees),
    };
    const shown = { the: this.the, state: this.state, reply: this.reply, advice: this.advice, adviceText: this.adviceText, current: this.current };
    const tabs = TABS.map((name) => button(name, () => this.lists(name), { 'aria-pressed': String(name === tab) }));
    home.replaceChildren(el('div', { class: 'tabs', role: 'group', 'aria-label': 'Which list' }, ...tabs), panel(tab, shown, acts));
    home.hidden = false;
    home.scrollTop = scrolled;
    byId('do-lists').setAttribute('aria-expanded', 'true');
    if (focused) home.querySelector<HTMLElement>(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
    else if (!same) home.querySelector<HTMLElement>('[aria-pressed="true"]')?.focus();
  }

  /** The form: for a bearing that is there, or a new one. */
  private enter(id: string | null): void {
    const row = id ? this.state.rows.find((r) => r.id === id) : undefined;
    const last = this.state.rows.at(-1)?.cells;
    const kept = !row && this.draft ? this.draft : null;
    const fresh: Cells = { north_reference: last?.['north_reference'] ?? 'magnetic', freq_mhz: last?.['freq_mhz'] ?? '' };
    const name = row?.id ?? nextId(this.state.rows);
    const made = form(name, row?.cells ?? kept ?? fresh, !row, {
      pick: () => this.pick(),
      here: () => this.here(),
      mark: (at) => this.markNew(at),
      draft: (cells) => {
        if (row) return;
        this.draft = cells;
        void this.keep();
      },
      save: (cells) => {
        const at = this.now();
        this.close();
        if (row) this.changed({ at, kind: 'edit', id: row.id, cells });
        else {
          this.draft = null;
          this.changed({ at, kind: 'add', id: name, cells: { ...cells, id: name, time_utc: cells['time_utc'] || at } });
        }
      },
      back: () => this.close(),
    });
    made.addEventListener('submit', (event) => event.preventDefault());
    const off = this.state.offSince && !row ? el('p', { class: 'caution' }, el('strong', {}, 'Off-air'), `It is noted as off since ${clock(this.state.offSince)}: a bearing taken now tells nothing.`) : null;
    const home = byId('panel');
    this.open = 'form';
    home.replaceChildren(...(off ? [off] : []), made);
    home.hidden = false;
    home.scrollTop = 0;
    home.focus();
  }

  private markNew(at: Position | null): void {
    const [lat, lon] = [Number(at?.lat), Number(at?.lon)];
    const usable = at !== null && Math.abs(lat) <= 90 && Math.abs(lon) <= 180;
    this.drawing.place('new', usable ? { lat, lon, metres: 2.448 * (Number(at.sigma) || 0) } : null);
  }

  private pick(): Promise<Position | null> {
    byId('panel').hidden = true;
    byId('pick').hidden = false;
    byId('view').classList.add('picking');
    byId('map').focus();
    return new Promise((resolve) => (this.picked = resolve));
  }

  /** A finger covers about 12 pixels to each side: one standard deviation of what it meant. */
  private choose(at: { lat: number; lon: number; metres: number }): void {
    const sigma = Math.max(5, 12 * at.metres);
    this.pickDone({ lat: at.lat.toFixed(7), lon: at.lon.toFixed(7), sigma: sigma.toFixed(0) });
  }

  private pickDone(at: Position | null): void {
    const settle = this.picked;
    this.picked = null;
    byId('pick').hidden = true;
    byId('view').classList.remove('picking');
    byId('panel').hidden = this.open === null;
    settle?.(at);
    byId('tap')?.focus();
  }

  private here(): Promise<Position | string> {
    return new Promise((resolve) => {
      if (!('geolocation' in navigator)) {
        resolve('This browser gives an opened file no position: tap the map or type it.');
        return;
      }
      navigator.geolocation.getCurrentPosition((found) => {
        const { latitude, longitude, accuracy, speed } = found.coords;
        if (speed !== null && speed > WALKING && !this.passenger) {
          this.passenger = confirm('You are moving faster than anybody walks. Are you a passenger?');
          if (!this.passenger) {
            resolve('Stop first, then enter the bearing.');
            return;
          }
        }
        // The accuracy is the radius that holds 95 % (W3C Geolocation); of a circular normal error that is 2.448 deviations.
        const sigma = Math.max(1, accuracy / 2.448);
        this.drawing.place('me', { lat: latitude, lon: longitude, metres: accuracy });
        this.drawing.centre(latitude, longitude);
        resolve({ lat: latitude.toFixed(7), lon: longitude.toFixed(7), sigma: sigma.toFixed(1) });
      }, (error) => {
        resolve(error.code === error.PERMISSION_DENIED
          ? 'The device does not give its position to this page: tap the map or type it.'
          : 'The device has no position now: tap the map or type it.');
      }, { enableHighAccuracy: true, timeout: 20_000, maximumAge: 5_000 });
    });
  }

  private saveBearings(): void {
    save(NOTES, 'text/csv', notesCsv(this.the.notes, this.state.rows));
  }

  /** Points with the columns of the notes as properties: what the reader of GeoJSON takes. */
  private saveGeojson(): void {
    const features = this.state.rows.filter((row) => !leftOut(row)).map((row) => ({
      type: 'Feature',
      geometry: { type: 'Point', coordinates: [Number(row.cells['lon']), Number(row.cells['lat'])] },
      properties: Object.fromEntries(Object.entries(row.cells).filter(([k, v]) => v !== '' && k !== 'lat' && k !== 'lon')),
    }));
    save('bearings.geojson', 'application/geo+json', JSON.stringify({ type: 'FeatureCollection', features }, null, 1));
  }
}

const found = caseOf(byId('case').textContent ?? '');
if (typeof found === 'string') {
  byId('trouble').hidden = false;
  byId('trouble').textContent = found;
} else {
  const page = new Page(found);
  // For whoever checks the page or builds upon it: the last reply of the solver.
  Object.assign(window, { azimarkReply: () => page.last() });
  void page.begin();
}
