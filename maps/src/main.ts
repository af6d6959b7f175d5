/** The page: holds the state, asks the solver, and shows what it says. */

import { caseOf, type Advice, type Case, type Reply, type Seat } from './case';
import { ask, button, byId, el, save } from './dom';
import { Drawing, type Theme } from './draw';
import { bearingForm, levelForm } from './form';
import type { Position } from './fields';
import { BEARINGS, leftOut, nextId, replay, switchesCsv, tableCsv, tableGeojson, type Cells, type Entry, type State, type Table } from './log';
import { panel, plain, TABS, type Acts, type Shown, type Tab } from './panel';
import { Solver } from './solver';
import { Store, type Kept } from './store';
import { Whereabouts } from './whereabouts';
import { area, clock } from './words';

const NOTES = 'bearings.csv';
/** What is computed, one after the other: from bearings alone, places and areas from everything, and that with all checks. */
type Step = 'bearings' | 'first' | 'whole';
const STEPS: readonly Step[] = ['bearings', 'first', 'whole'];

class Page {
  private log: Entry[] = [];
  private draft: Kept['draft'] = null;
  private theme: Theme = 'day';
  private state: State;
  private reply: Reply;
  private advice: Advice | null;
  private adviceText: string | null;
  private division: Shown['division'] = null;
  private listed = 50;
  /** Entries that are in no file and not on the device. */
  private unsaved = 0;
  private current = true;
  /** The logs whose levels the reply lists, as text; null where it lists none. */
  private drawn: string | null = null;
  private tab: Tab = 'Answer';
  private open: 'lists' | 'form' | null = null;
  private noSolver: string | null = null;
  private readonly store = new Store();
  private readonly solver = new Solver();
  private readonly drawing = new Drawing(byId('map'), byId('scale'));
  private picked: ((at: Position | null) => void) | null = null;
  private readonly where = new Whereabouts();
  /** The files that came with the case, as text: they stay as they are, and may be long. */
  private readonly came: string;

  constructor(private readonly the: Case) {
    this.state = replay(the, []);
    this.came = the.request.files.map((file) => `,${JSON.stringify(file)}`).join('');
    this.drawn = JSON.stringify(this.logs());
    this.reply = the.reply;
    this.advice = the.reply.advice;
    this.adviceText = the.reply.advice_text;
    const parts = the.division ?? the.reply.division;
    if (parts) this.division = { map: parts, text: the.reply.division_text ?? null, current: true };
  }

  async begin(): Promise<void> {
    this.solver.onForeseen = () => (document.body.dataset['foreseen'] = 'yes');
    byId('title').textContent = this.the.title;
    document.title = `${this.the.title}: azimark map`;
    this.wire();
    // What the command line has computed is drawn before anything else begins.
    const first = this.drawing.drawn();
    const damaged = this.drawing.ground(this.the.request.town);
    this.tiles();
    this.paint(matchMedia('(prefers-color-scheme: dark)').matches ? 'night' : 'day');
    this.show();
    this.drawing.fit('area');
    if (damaged) this.trouble(damaged, 'base');
    const many = this.reply.map.azimark?.readings_of;
    if (many) this.status(`Of ${many} levels an even part is drawn; all of them are computed with.`);
    await first;
    performance.mark('azimark-drawn');
    document.body.dataset['ready'] = 'drawn';
    this.store.onTrouble = (why) => this.trouble(why || null, 'store');
    const kept = await this.store.load(this.the.id);
    if (kept) {
      this.log = kept.log;
      this.draft = kept.draft;
      if (kept.theme === 'day' || kept.theme === 'night') this.paint(kept.theme);
      this.state = replay(this.the, this.log);
      this.current = this.log.length === 0;
      if (!this.current && this.division) this.division.current = false;
      this.show();
    }
    if (document.readyState === 'loading') await new Promise((resolve) => document.addEventListener('DOMContentLoaded', resolve));
    this.noSolver = await this.solver.begin(byId('solver').textContent ?? '');
    if (this.noSolver) this.status(this.noSolver);
    performance.mark('azimark-ready');
    if (!this.noSolver && !this.current) await this.solve();
    // So that the first change finds the levels known.
    else if (!this.noSolver && this.more()) void this.solver.first(this.request('first', true)).then(() => (document.body.dataset['warm'] = 'yes'));
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
    on('do-bearing', () => this.enter(BEARINGS, null));
    on('do-level', () => this.enter(this.ownLog(), null));
    on('do-off', () => this.offAir());
    on('do-lists', () => (this.open === 'lists' ? this.close() : this.lists(this.tab)));
    on('do-undo', () => this.undo());
    on('pick-middle', () => this.choose(this.drawing.middle()));
    on('pick-stop', () => this.pickDone(null));
    this.drawing.onTap = (lat, lon, metres) => this.picked && this.choose({ lat, lon, metres });
    addEventListener('beforeunload', (event) => {
      if (this.store.trouble && this.unsaved > 0) event.preventDefault();
    });
    this.drawing.onTurn = (radians) => byId('needle').setAttribute('transform', `rotate(${(radians * 180) / Math.PI} 20 20)`);
    document.addEventListener('keydown', (event) => {
      if (event.key !== 'Escape' || document.querySelector('dialog')) return;
      if (this.picked) this.pickDone(null);
      else if (this.open) this.close();
    });
  }

  private readonly troubles = new Map<string, string>();

  /** Tells what is wrong, or that it no longer is. What is entered can be saved beside it. */
  private trouble(why: string | null, about: string): void {
    if (why) this.troubles.set(about, why);
    else this.troubles.delete(about);
    const box = byId('trouble');
    box.hidden = this.troubles.size === 0;
    const lines = [...this.troubles.values()].map((line) => el('span', { class: 'line' }, line));
    const files = this.troubles.has('store') ? [button('Save bearings', () => this.saveTable(BEARINGS, 'csv'), { id: 'save-now' }),
      ...(this.own().rows.length ? [button('Save levels', () => this.saveTable(this.ownLog(), 'csv'))] : [])] : [];
    box.replaceChildren(...lines, ...files);
  }

  private tiles(): void {
    const { tiles } = this.the;
    if (!tiles) return;
    const damaged = () => this.trouble(`The base map (${plain(tiles.name)}) is damaged: the rest is drawn without it.`, 'tiles');
    try {
      this.drawing.below(tiles, damaged);
      const credit = byId('credit');
      credit.textContent = tiles.attribution;
      credit.hidden = tiles.attribution === '';
    } catch {
      damaged();
    }
  }

  private own(): Table {
    return this.state.logs.at(-1)!;
  }

  private ownLog(): string {
    return this.own().name;
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
    document.body.dataset['contrast'] = this.drawing.contrast().toFixed(1);
  }

  /** Writes that are not on the device yet. */
  private writing = 0;

  private async keep(): Promise<void> {
    this.writing += 1;
    document.body.dataset['keeping'] = 'yes';
    await this.store.keep({ id: this.the.id, title: this.the.title, log: this.log, draft: this.draft, theme: this.theme });
    this.writing -= 1;
    if (this.writing === 0) delete document.body.dataset['keeping'];
  }

  /** Everything that follows from the state and the reply. */
  private show(): void {
    const region = this.reply.answer.regions?.find((r) => r.confidence > 0.93);
    const [figure, unit] = typeof region?.area_m2 === 'number' ? area(region.area_m2) : ['—', ''];
    byId('figure').textContent = `${figure} ${unit}`.trim();
    byId('figure-words').textContent = unit ? 'to search; holds it 95 times in 100, if what is assumed is right' : 'no area yet: the data do not determine one';
    this.drawing.show(this.reply, this.advice);
    this.drawing.parts(this.division?.map ?? null);
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
    const out = [this.state.bearings, ...this.state.logs].flatMap((t) => t.rows).filter((row) => leftOut(this.state, row)).length;
    return `${used} bearings${levels ? `, ${levels} levels` : ''}${out ? `, ${out} left out` : ''}`;
  }

  /** Whether something else than bearings was observed. */
  private more(): boolean {
    return this.the.request.files.some((f) => f.kind !== 'bearings' && f.kind !== 'swings') || this.state.logs.some((l) => l.rows.length > 0);
  }

  private logs(state = this.state): { name: string; kind: string; text: string }[] {
    return state.logs.filter((l) => l.rows.length > 0).map((l) => ({ name: l.name, kind: 'levels', text: tableCsv(state, l) }));
  }

  /** `briefly` where the levels are drawn already: then they need not come again one by one. */
  private request(step: Step, briefly = false, teams: Seat[] = [], state = this.state): string {
    const { files: _files, teams: _teams, ...rest } = this.the.request;
    const bearings = { name: NOTES, kind: 'bearings', text: tableCsv(state, state.bearings) };
    const own = [bearings, ...this.logs(state)].map((file) => JSON.stringify(file)).join(',');
    const stated = JSON.stringify({ ...rest, bearings_only: step === 'bearings', first: step !== 'whole', briefly, advice: step === 'whole', teams });
    return `{"files":[${own}${this.came}],${stated.slice(1)}`;
  }

  /** Puts the levels that are drawn into a reply that came without them. */
  private withLevels(reply: Reply): Reply {
    const reading = (f: Reply['map']['features'][number]) => f.properties?.['kind'] === 'reading';
    const before = this.reply.map.features.filter(reading);
    const after = reply.map.features.findIndex((f) => f.properties?.['kind'] === 'stand');
    reply.map.features.splice(after < 0 ? reply.map.features.length : after, 0, ...before);
    const [levels, known] = [reply.answer.levels, this.reply.answer.levels];
    if (levels && known) levels.table = known.table ?? [];
    if (this.reply.map.azimark?.readings_of) reply.map.azimark = { ...reply.map.azimark, readings_of: this.reply.map.azimark.readings_of };
    return reply;
  }

  /** Divides the search by the notes as they stand. */
  private async divide(count: number | null): Promise<void> {
    if (this.noSolver) {
      this.status(`${this.noSolver} azimark divide divides the search.`);
      return;
    }
    this.status('Dividing…');
    const teams = count === null ? this.the.request.teams ?? [] : Array.from({ length: count }, (_, i) => ({ name: `Team ${i + 1}` }));
    const logs = JSON.stringify(this.logs());
    const solved = await this.solver.rest(this.request('whole', false, teams));
    if (solved === null) return;
    if (typeof solved === 'string') {
      this.status(solved);
      return;
    }
    this.take(solved.reply);
    this.drawn = logs;
    const { division, division_text: text } = solved.reply;
    this.division = division ? { map: division, text: text ?? null, current: true } : null;
    this.show();
    this.status(division ? division.error ?? `Divided between ${teams.length} team${teams.length === 1 ? '' : 's'}.` : 'Nothing to divide: there is no place.');
    document.body.dataset['divided'] = String(this.log.length);
  }

  private take(reply: Reply): void {
    [this.reply, this.advice, this.adviceText, this.current] = [reply, reply.advice, reply.advice_text, true];
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
      const logs = JSON.stringify(this.logs());
      const brief = step === 'first' && this.drawn === logs;
      const asked = this.request(step, brief);
      const solved = await (step === 'first' ? this.solver.first(asked) : this.solver.rest(asked));
      if (solved === null) return;
      if (typeof solved === 'string') {
        this.status(solved);
        return;
      }
      this.reply = brief ? this.withLevels(solved.reply) : solved.reply;
      if (!brief) this.drawn = step === 'bearings' ? null : logs;
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
      performance.measure(`azimark-${step}-solver`, { start: begun, duration: solved.milliseconds });
      requestAnimationFrame(() => performance.measure(`azimark-${step}-drawn`, { start: begun }));
      document.body.dataset['solved'] = step === 'whole' ? String(this.log.length) : step;
    }
  }

  private add(entry: Entry): void {
    this.log.push(entry);
    this.unsaved += 1;
    this.state = replay(this.the, this.log);
    void this.keep();
  }

  /** Begins to compute with a reading that is still being entered: mostly it is saved as it stands. */
  private foresee(entry: Entry): void {
    if (this.noSolver) return;
    delete document.body.dataset['foreseen'];
    const state = replay(this.the, [...this.log, entry]);
    this.solver.foresee(this.request('first', this.drawn === JSON.stringify(this.logs(state)), [], state));
  }

  private readonly now = () => new Date().toISOString().replace(/\.\d+Z$/, 'Z');

  /** Adds an entry; where what the solver gets has changed by it, the answer is computed anew. */
  private changed(entry: Entry): void {
    const before = this.request('whole');
    this.add(entry);
    const same = before === this.request('whole');
    if (!same) {
      this.current = false;
      if (this.division) this.division.current = false;
    }
    this.show();
    if (!same) void this.solve();
  }

  private undo(): void {
    if (!this.state.last) return;
    this.status('Taken back.');
    this.changed({ at: this.now(), kind: 'undo' });
  }

  private offAir(): void {
    const kind = this.state.offSince ? 'on' : 'off';
    const at = this.now();
    this.status(kind === 'off' ? `Off-air noted at ${clock(at)}. What is read from now on tells nothing; press again when it is back.` : 'Noted that it is back.');
    const place = this.where.last;
    this.changed({ at, kind, ...(place ? { lat: place.lat, lon: place.lon } : {}) });
  }

  private close(): void {
    this.open = null;
    byId('panel').hidden = true;
    byId('do-lists').setAttribute('aria-expanded', 'false');
    this.drawing.place('new', null);
    this.drawing.mark(null);
    this.where.stop();
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
      edit: (of, id) => this.enter(of, id),
      leave: (of, id, out) => this.changed({ at: this.now(), kind: out ? 'leave' : 'use', of, id }),
      look: (lat, lon, id) => {
        this.drawing.mark(id);
        this.drawing.centre(lat, lon);
      },
      more: () => {
        this.listed += 50;
        this.lists('Levels');
      },
      part: (team) => this.drawing.part(team),
      divide: (count) => void this.divide(count),
      saveTable: (of, as) => this.saveTable(of, as),
      saveSwitches: () => save('off_air.csv', 'text/csv', switchesCsv(this.state)),
      forget: () => void this.forget(),
      turn: (degrees) => this.drawing.turn(degrees),
    };
    const shown = { the: this.the, state: this.state, reply: this.reply, advice: this.advice, adviceText: this.adviceText, division: this.division, listed: this.listed, current: this.current };
    const tabs = TABS.map((name) => button(name, () => this.lists(name), { 'aria-pressed': String(name === tab) }));
    home.replaceChildren(el('div', { class: 'tabs', role: 'group', 'aria-label': 'Which list' }, ...tabs), panel(tab, shown, acts));
    home.hidden = false;
    home.scrollTop = scrolled;
    byId('do-lists').setAttribute('aria-expanded', 'true');
    if (focused) home.querySelector<HTMLElement>(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
    else if (!same) home.querySelector<HTMLElement>('[aria-pressed="true"]')?.focus();
  }

  private async forget(): Promise<void> {
    if (!(await ask('Take back everything that was entered on this page? Undo cannot bring it back.', 'Take it back', 'Keep it'))) return;
    this.log = [];
    this.draft = null;
    this.state = replay(this.the, []);
    void this.keep();
    this.take(this.the.reply);
    this.drawn = JSON.stringify(this.logs());
    if (this.division) this.division.current = true;
    this.show();
    this.status('As it came.');
  }

  /** The form: for a row that is there, or a new one. */
  private enter(of: string, id: string | null): void {
    const isBearing = of === BEARINGS;
    const table = isBearing ? this.state.bearings : this.state.logs.find((l) => l.name === of);
    if (!table) return;
    const row = id ? table.rows.find((r) => r.id === id) : undefined;
    const last = table.rows.at(-1)?.cells ?? this.state.bearings.rows.at(-1)?.cells;
    const kept = !row && this.draft?.of === of ? this.draft.cells : null;
    const fresh: Cells = isBearing ? { north_reference: last?.['north_reference'] ?? 'magnetic', freq_mhz: last?.['freq_mhz'] ?? '' }
      : { attenuator_db: table.rows.at(-1)?.cells['attenuator_db'] ?? '0', freq_mhz: last?.['freq_mhz'] ?? '' };
    const name = row?.id ?? nextId(table.rows, isBearing ? 'B' : 'L');
    // The reading is of the moment at which it was entered, not of that at which it was saved.
    let read = '';
    const entry = (cells: Cells): Entry => {
      const at = read || this.now();
      return row ? { at, kind: 'edit', of, id: row.id, cells } : { at, kind: 'add', of, id: name, cells: { ...cells, id: name, time_utc: cells['time_utc'] || at } };
    };
    const made = (isBearing ? bearingForm : levelForm)(name, row?.cells ?? kept ?? fresh, !row, {
      pick: () => this.pick(),
      here: () => this.here(),
      mark: (at) => this.markNew(at),
      foresee: (cells) => this.foresee(entry(cells)),
      draft: (cells) => {
        read = this.now();
        if (row) return;
        this.draft = cells ? { of, cells } : null;
        void this.keep();
      },
      save: (cells) => {
        this.close();
        if (!row) this.draft = null;
        this.changed(entry(cells));
      },
      back: () => this.close(),
    });
    made.addEventListener('submit', (event) => event.preventDefault());
    const off = this.state.offSince && !row ? el('p', { class: 'caution' }, el('strong', {}, 'Off-air'),
      `It is noted as off since ${clock(this.state.offSince)}: what is read now tells nothing about the place. A bearing is kept and left out, a level is kept as off.`) : null;
    const home = byId('panel');
    this.open = 'form';
    byId('do-lists').setAttribute('aria-expanded', 'false');
    home.replaceChildren(...(off ? [off] : []), made);
    home.hidden = false;
    home.scrollTop = 0;
    home.focus();
    this.where.watch((fast) => this.passenger(fast));
  }

  /** Whoever moves faster than anybody walks must not type, unless somebody else drives. */
  private async passenger(fast: string): Promise<void> {
    const rides = await ask(`${fast} Nobody who drives types here. Are you a passenger?`, 'I am a passenger', 'No: stop first');
    if (rides) this.where.passenger = true;
    else {
      this.close();
      this.status('What you entered so far is kept. Stop, then go on.');
    }
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

  private async here(): Promise<Position | string> {
    const found = await this.where.now();
    if (typeof found === 'string') return found;
    if (found.fast && !this.where.passenger) {
      await this.passenger(found.fast);
      if (!this.where.passenger) return 'Stop first, then go on.';
    }
    this.drawing.place('me', { lat: Number(found.lat), lon: Number(found.lon), metres: found.metres });
    this.drawing.centre(Number(found.lat), Number(found.lon));
    return { lat: found.lat, lon: found.lon, sigma: found.sigma };
  }

  private saveTable(of: string, as: 'csv' | 'geojson'): void {
    const table = of === BEARINGS ? this.state.bearings : this.state.logs.find((l) => l.name === of);
    if (!table) return;
    const name = of === BEARINGS ? NOTES : plain(of);
    if (as === 'csv') save(name, 'text/csv', tableCsv(this.state, table));
    else {
      const { text, unplaced } = tableGeojson(this.state, table);
      save(name.replace(/\.\w+$/, '.geojson'), 'application/geo+json', text);
      if (unplaced.length) this.status(`Not in the GeoJSON, since the place is not in decimal degrees: ${unplaced.join(', ')}. The CSV has everything.`);
    }
    if (as === 'csv') this.unsaved = 0;
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
