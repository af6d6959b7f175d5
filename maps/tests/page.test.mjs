// The page as a person meets it: opened from a file, without a network, on a phone's screen. Wants the program
// (AZIMARK, or target/debug/azimark), built after maps/build.sh, and Chromium (CHROMIUM, or /usr/bin/chromium).

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';

const root = new URL('../..', import.meta.url).pathname;
const azimark = process.env.AZIMARK ?? join(process.env.CARGO_TARGET_DIR ?? join(root, 'target'), 'debug/azimark');
const built = join(root, 'maps/dist/page.html');
const browserPath = process.env.CHROMIUM ?? '/usr/bin/chromium';
for (const [path, hint] of [[azimark, 'cargo build'], [built, 'maps/build.sh'], [browserPath, 'apt-get install chromium']]) {
  if (!existsSync(path)) throw new Error(`${path} is missing: ${hint}`);
}
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

const PHONE = { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true };
const LYING = { ...PHONE, viewport: { width: 844, height: 390 } };
const DESK = { viewport: { width: 1280, height: 800 } };
const folder = mkdtempSync(join(tmpdir(), 'azimark-map-'));
const at = (name) => join(folder, name);
/** A degree of latitude is 111 km: this is a tenth of a millimetre. */
const SAME = 1e-9;
let browser;

function run(...args) {
  const done = spawnSync(azimark, args, { encoding: 'utf8', maxBuffer: 1 << 28 });
  assert.ok(done.status === 0 || done.status === 1, `${args.join(' ')}: ${done.stderr}`);
  return done.stdout;
}

/** The data in a page that the program wrote: computed natively. */
const dataOf = (path) => JSON.parse(/<script type="application\/json" id="case">([^]*?)<\/script>/.exec(readFileSync(path, 'utf8'))[1]);

async function opened(path, options = {}, ready = 'solver') {
  const context = await browser.newContext({ ...PHONE, offline: true, acceptDownloads: true, ...options });
  const page = await context.newPage();
  // A busy machine is no fault of the page.
  page.setDefaultTimeout(120_000);
  const outside = [];
  const errors = [];
  page.on('request', (r) => /^(file|blob|data):/.test(r.url()) || outside.push(r.url()));
  page.on('pageerror', (e) => errors.push(String(e)));
  page.on('console', (m) => m.type() === 'error' && errors.push(m.text()));
  await page.goto(`file://${path}`);
  // What is drawn may be ready for its solver before anybody looks.
  const states = ready === 'drawn' ? ['drawn', 'solver'] : [ready];
  await page.waitForSelector(states.map((state) => `body[data-ready="${state}"]`).join(', '));
  return { context, page, outside, errors, async close() {
    assert.deepEqual(outside, []);
    assert.deepEqual(errors, []);
    await context.close();
  } };
}

/** Opens the page anew once everything entered is on the device, which takes some milliseconds after a tap. */
async function reloaded(page) {
  await page.waitForSelector('body:not([data-keeping])');
  await page.reload();
}

const solved = (page, entries) => page.waitForSelector(`body[data-solved="${entries}"]`, { timeout: 120_000 });

/** What the page would hand to `azimark locate`. */
async function saved(page, id, path) {
  if (await page.locator('#save-csv').count() === 0) {
    if (await page.locator('#panel').isHidden()) await page.click('#do-lists');
    await page.click('.tabs button:has-text("Keep")');
  }
  const [download] = await Promise.all([page.waitForEvent('download'), page.click(id)]);
  await download.saveAs(path);
}

/** Opens a list. */
async function listed(page, tab) {
  if (await page.locator('.tabs').count() === 0 || await page.locator('#panel').isHidden()) await page.click('#do-lists');
  await page.click(`.tabs button:has-text("${tab}")`);
}

/** Saves a log of levels. */
async function savedLog(page, name, path) {
  await listed(page, 'Keep');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click(`button[data-save="${name}"]`)]);
  await download.saveAs(path);
}

/** Enters a level with taps and keys of the phone. */
async function level(page, { lat, lon, shows, pad, below, chips = [] }) {
  await page.tap('#do-level');
  await page.fill('input[name="lat"]', lat);
  await page.fill('input[name="lon"]', lon);
  await page.fill('input[name="indicated_dbm"]', shows);
  if (pad) await page.fill('input[name="attenuator_db"]', pad);
  if (below) await page.tap('button[data-value="no"]');
  for (const chip of chips) await page.tap(`button:has-text("${chip}")`);
  await page.tap('#keep-level');
}

/** The place and the words of the page are those of the command line for these files. */
async function sameAs(page, ...files) {
  const here = await page.evaluate(() => window.azimarkReply());
  run('map', '--page', built, ...files, '-o', at('same.html'));
  const there = dataOf(at('same.html')).reply;
  for (const key of ['lat_deg', 'lon_deg']) {
    assert.ok(Math.abs(here.quoted[key] - there.quoted[key]) < SAME, `${key}: ${here.quoted[key]} and ${there.quoted[key]}`);
  }
  assert.equal(here.answer.summary, there.answer.summary);
  // And locate itself, from the files alone.
  assert.equal(JSON.parse(run('locate', ...files, '--format', 'json')).summary, here.answer.summary);
  return here;
}

/** Enters a bearing with taps and keys of the phone. */
async function enter(page, { lat, lon, bearing, chips = [], quality }, before = async () => {}) {
  await page.tap('#do-bearing');
  await page.fill('input[name="lat"]', lat);
  await page.fill('input[name="lon"]', lon);
  await page.fill('input[name="bearing_deg"]', bearing);
  if (quality) await page.tap(`button[data-value="${quality}"]`);
  for (const chip of chips) await page.tap(`button:has-text("${chip}")`);
  await before();
  await page.tap('#keep-bearing');
}

before(async () => {
  run('demo', at('case'));
  run('map', '--page', built, at('case/bearings.csv'), '--map', at('case/town.geojson'), '--title', 'Ostrey Flat </script><b>', '-o', at('map.html'));
  run('map', '--page', built, at('case/bearings.csv'), '--map', at('case/town.geojson'), '--map', join(root, 'fixtures/tiles/town.pmtiles'), '--teams', '2',
    '--title', 'Ostrey Flat', '-o', at('teams.html'));
  browser = await chromium.launch({ executablePath: browserPath, args: ['--no-sandbox'] });
});

after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

test('the demo is drawn from one file without a network, and its title is no markup', async () => {
  assert.ok(readFileSync(at('map.html')).length < 3e6, 'three megabytes at most');
  const phone = await opened(at('map.html'));
  assert.match(await phone.page.textContent('#title'), /<\/script><b>/);
  assert.match(await phone.page.textContent('#figure'), /^\d+ m²$/);
  // The colours of the area, of a direct and of a foreign bearing are on the canvas.
  const drawn = () => phone.page.evaluate(() => {
    const seen = {};
    for (const canvas of document.querySelectorAll('#map canvas')) {
      const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
      for (let i = 0; i < data.length; i += 4) {
        const key = `${data[i]},${data[i + 1]},${data[i + 2]}`;
        seen[key] = (seen[key] ?? 0) + 1;
      }
    }
    return [[0, 65, 122], [91, 15, 77], [162, 59, 0]].map((c) => seen[c.join(',')] ?? 0);
  });
  const near = await drawn();
  assert.ok(near[0] > 100 && near[1] > 100, `pixels of direct bearings and of the area's edge: ${near}`);
  await phone.page.tap('#all');
  await phone.page.waitForTimeout(300);
  const all = await drawn();
  assert.ok(all[0] > 100 && all[2] > 20, `pixels of direct and foreign bearings: ${all}`);
  await phone.close();
});

test('a bearing added by touch moves the area as the command line has it, stays after a reload, and is undone', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  const before = await page.textContent('#figure');
  await enter(page, { lat: '46.9580', lon: '-118.3562', bearing: '166', quality: 'B', chips: ['broad', 'beside the vehicle'] });
  await solved(page, 1);
  const after = await page.textContent('#figure');
  assert.notEqual(after, before);
  await saved(page, '#save-csv', at('added.csv'));
  const text = readFileSync(at('added.csv'), 'utf8');
  assert.match(text, /^B11,.*"broad; beside the vehicle"$/m);

  // The same notes by the command line: every figure of the answer to the digits that it writes, and the place to all digits.
  const there = JSON.parse(run('locate', at('added.csv'), '--format', 'json'));
  const native = (run('map', '--page', built, at('added.csv'), '-o', at('added.html')), dataOf(at('added.html')).reply);
  const here = await page.evaluate(() => window.azimarkReply());
  for (const key of ['lat_deg', 'lon_deg']) {
    assert.ok(Math.abs(here.quoted[key] - native.quoted[key]) < SAME, `${key}: ${here.quoted[key]} and ${native.quoted[key]}`);
  }
  assert.equal(here.answer.summary, there.summary);
  const numbers = (value, path = '') => typeof value === 'number' ? [[path, value]]
    : value && typeof value === 'object' ? Object.entries(value).flatMap(([k, v]) => numbers(v, `${path}/${k}`)) : [];
  const mine = new Map(numbers({ places: here.answer.places, regions: here.answer.regions, bearings: here.answer.bearings }));
  for (const [path, value] of numbers({ places: there.places, regions: there.regions, bearings: there.bearings })) {
    // What is written rounded may differ by one in its last digit; degrees of places have seven decimals.
    const last = /_m2$|area/.test(path) ? 1 : /polygons|lat_deg|lon_deg/.test(path) ? 1e-7 : 0.1;
    assert.ok(Math.abs(value - mine.get(path)) <= 1.01 * last, `${path}: ${value} and ${mine.get(path)}`);
  }

  await reloaded(page);
  await page.waitForSelector('body[data-ready="solver"]');
  assert.equal(await page.textContent('#figure'), after);
  await page.tap('#do-undo');
  await solved(page, 2);
  assert.equal(await page.textContent('#figure'), before);
  await phone.close();
});

test('bearings can be left out and changed, and files in both forms say the same to the command line', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  await page.tap('#do-lists');
  await page.tap('.tabs button:has-text("Bearings")');
  await page.tap('button[aria-label="Leave out B06"]');
  await solved(page, 1);
  await page.tap('button[aria-label="Change B01"]');
  await page.fill('input[name="bearing_deg"]', '71');
  await page.tap('#keep-bearing');
  await solved(page, 2);
  const reply = await page.evaluate(() => window.azimarkReply());
  await saved(page, '#save-csv', at('fewer.csv'));
  await saved(page, '#save-geojson', at('fewer.geojson'));
  for (const file of ['fewer.csv', 'fewer.geojson']) {
    const there = JSON.parse(run('locate', at(file), '--format', 'json'));
    assert.equal(there.bearings.length, 9, file);
    assert.equal(there.summary, reply.answer.summary, file);
    assert.equal(there.bearings.find((b) => b.id === 'B01').read_deg, 71, file);
  }
  await phone.close();
});

test('off-air is one tap, takes what is read meanwhile out of the answer, and is saved', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  const before = await page.textContent('#figure');
  await page.tap('#do-off');
  assert.equal(await page.textContent('#do-off'), 'Back on air');
  await page.tap('#do-bearing');
  assert.match(await page.textContent('#panel'), /what is read now tells nothing/);
  await page.tap('#panel button:has-text("Back")');
  await enter(page, { lat: '46.9580', lon: '-118.3562', bearing: '300', quality: 'A' });
  await solved(page, 2);
  assert.equal(await page.textContent('#figure'), before);
  await level(page, { lat: '46.9560', lon: '-118.3566', shows: '-112' });
  await solved(page, 3);
  await page.tap('#do-off');
  await saved(page, '#save-switches', at('off.csv'));
  assert.match(readFileSync(at('off.csv'), 'utf8'), /^time_utc,state,lat,lon\n\S+Z,off,,\n\S+Z,on,,\n$/);
  await saved(page, '#save-csv', at('quiet.csv'));
  await savedLog(page, 'levels_here.csv', at('quiet_levels.csv'));
  assert.match(readFileSync(at('quiet.csv'), 'utf8'), /^B11,.*,300,magnetic,A,.*,yes,read while off-air$/m);
  assert.match(readFileSync(at('quiet_levels.csv'), 'utf8'), /^L01,.*,off,0,.*-112 dBm read while off-air$/m);
  await sameAs(page, at('quiet.csv'), at('quiet_levels.csv'));
  // Somebody may know better.
  await listed(page, 'Bearings');
  await page.tap('button[aria-label="Use it: B11"]');
  await page.waitForFunction((f) => document.querySelector('#figure').textContent !== f && /^\d+$/.test(document.body.dataset.solved), before);
  await page.tap('#do-undo');
  await page.waitForFunction((f) => document.querySelector('#figure').textContent === f, before);
  await phone.close();
});

test('levels are entered by touch, changed, left out and undone, and are computed with as the command line does', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  const alone = await page.evaluate(() => window.azimarkReply().quoted);
  const read = [['46.9556', '-118.3575', '-62'], ['46.9563', '-118.3560', '-58'], ['46.9570', '-118.3580', '-71'], ['46.9548', '-118.3555', '-69']];
  // Nobody walks a hundred metres in a second, and the checks know it: minutes go by between the levels.
  let minutes = 0;
  const later = () => page.clock.setFixedTime(Date.UTC(2026, 2, 17, 18, (minutes += 10)));
  for (const [lat, lon, shows] of read) {
    await later();
    await level(page, { lat, lon, shows });
  }
  await later();
  await level(page, { lat: '46.9561', lon: '-118.3569', shows: '-71', pad: '20', chips: ['fluctuates'] });
  await later();
  await later();
  await level(page, { lat: '46.9650', lon: '-118.3700', shows: '-114', pad: '0', below: true });
  await solved(page, 6);
  await saved(page, '#save-csv', at('l_bearings.csv'));
  await savedLog(page, 'levels_here.csv', at('levels_here.csv'));
  const text = readFileSync(at('levels_here.csv'), 'utf8');
  assert.match(text, /^L05,.*,-71,20,.*,fluctuates$/m);
  assert.match(text, /^L06,.*,<-114,0,/m);
  const here = await sameAs(page, at('l_bearings.csv'), at('levels_here.csv'));
  assert.deepEqual([here.answer.levels.readings, here.answer.levels.below_floor], [6, 1]);
  assert.notDeepEqual(here.quoted, alone);
  // The same table as GeoJSON.
  await savedLog(page, 'levels_here.csv geojson', at('levels_here.geojson'));
  const { features } = JSON.parse(readFileSync(at('levels_here.geojson'), 'utf8'));
  assert.deepEqual(features.map((f) => f.geometry.coordinates), [...read.map(([a, b]) => [Number(b), Number(a)]), [-118.3569, 46.9561], [-118.37, 46.965]]);
  assert.equal(JSON.parse(run('locate', at('l_bearings.csv'), at('levels_here.geojson'), '--format', 'json')).summary, here.answer.summary);

  await listed(page, 'Levels');
  assert.match(await page.textContent('#panel'), /L06 {2}nothing above −114 dBm/);
  await page.tap('button[aria-label="Leave out L03"]');
  await page.tap('button[aria-label="Change L01"]');
  await page.fill('input[name="indicated_dbm"]', '-64');
  await page.tap('#keep-level');
  await solved(page, 8);
  await savedLog(page, 'levels_here.csv', at('levels_here.csv'));
  assert.equal((await sameAs(page, at('l_bearings.csv'), at('levels_here.csv'))).answer.levels.readings, 5);
  await reloaded(page);
  await page.waitForSelector('body[data-ready="solver"]');
  assert.equal(await page.evaluate(() => window.azimarkReply().answer.levels.readings), 5);
  for (let i = 0; i < 8; i++) await page.tap('#do-undo');
  await solved(page, 16);
  const again = await page.evaluate(() => window.azimarkReply().quoted);
  for (const key of ['lat_deg', 'lon_deg']) assert.ok(Math.abs(again[key] - alone[key]) < SAME, key);
  await phone.close();
});

test('three swings, front and back, and remarks of one tap are saved as they were read', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  await page.tap('#do-bearing');
  await page.fill('input[name="lat"]', '46.9580');
  await page.fill('input[name="lon"]', '-118.3562');
  for (const [i, swing] of ['164', '168', '166'].entries()) await page.fill(`input[name="swing${i + 1}"]`, swing);
  await page.fill('input[name="front_dbm"]', '-61.5');
  await page.fill('input[name="back_dbm"]', '-78');
  for (const chip of ['two peaks', 'broad', 'moves when I move', 'beside the vehicle']) await page.tap(`button:has-text("${chip}")`);
  assert.match(await page.textContent('#panel'), /Steel turns the compass/);
  await page.tap('button:has-text("broad")');
  // What is half entered is there after a dead battery.
  await reloaded(page);
  await page.waitForSelector('body[data-ready="solver"]');
  await page.tap('#do-bearing');
  assert.equal(await page.inputValue('input[name="swing2"]'), '168');
  await page.tap('#keep-bearing');
  await solved(page, 1);
  await saved(page, '#save-csv', at('swings.csv'));
  assert.match(readFileSync(at('swings.csv'), 'utf8'), /,164,168,166,,magnetic,,,-61.5,-78,,841.5,,"two peaks; moves when I move; beside the vehicle"$/m);
  const { answer } = await sameAs(page, at('swings.csv'));
  assert.equal(answer.bearings.find((b) => b.id === 'B11').read_deg, 166);
  await phone.close();
});

test('the parts of the teams stand on the map and in the lists, and are divided again from what was entered', async () => {
  const phone = await opened(at('teams.html'));
  const { page } = phone;
  await listed(page, 'Teams');
  const { division } = dataOf(at('teams.html')).reply;
  const parts = division.features.filter((f) => f.properties.kind === 'part').map((f) => f.properties);
  const panel = await page.textContent('#panel');
  for (const part of parts) {
    assert.ok(panel.includes(part.team) && panel.includes(`${Math.round(100 * part.probability)} %`), part.team);
    for (const street of part.streets) assert.ok(panel.includes(street), street);
  }
  await page.tap(`button[aria-label="Show the part of ${parts[0].team} on the map"]`);
  await enter(page, { lat: '46.9580', lon: '-118.3562', bearing: '166', quality: 'B' });
  await solved(page, 1);
  await listed(page, 'Teams');
  assert.match(await page.textContent('#panel'), /older than the notes/);
  await page.fill('input[name="teams"]', '3');
  await page.tap('#divide');
  await page.waitForSelector('body[data-divided="1"]', { timeout: 120_000 });
  await saved(page, '#save-csv', at('divided.csv'));
  run('divide', at('divided.csv'), '--streets', at('case/town.geojson'), '--teams', '3', '--output', at('parts'));
  const there = JSON.parse(readFileSync(at('parts/division.geojson'), 'utf8')).features.filter((f) => f.properties.kind === 'part');
  const here = await page.evaluate(() => window.azimarkReply().division.features.filter((f) => f.properties.kind === 'part'));
  // Teams whose places are not known may get their parts in another order: which of them takes which makes no difference.
  const told = (parts) => parts.map((f) => [f.properties.probability, f.properties.length_m, f.properties.streets]).sort((a, b) => a[0] - b[0]);
  assert.deepEqual(told(here), told(there));
  await phone.close();
});

test('bearings in doubt are listed with the reason, next stands with theirs', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  await listed(page, 'Answer');
  const doubted = await page.locator('table:has(caption:has-text("Bearings in doubt")) tbody tr').allTextContents();
  assert.equal(doubted.length, 2);
  for (const [i, id] of ['B06', 'B07'].entries()) assert.ok(doubted.some((t) => t.startsWith(id) && /misses the likeliest place by \d+° where ±\d+° is usual: a reflection/.test(t)), `${id}: ${doubted[i]}`);
  await listed(page, 'Next');
  const stands = dataOf(at('map.html')).reply.advice.stands;
  const items = await page.locator('#panel .item').allTextContents();
  assert.equal(items.length, stands.length);
  for (const item of items) assert.match(item, /min on foot; it (closes|sees|looks|cuts|is nearer)/);
  await phone.close();
});

test('vector tiles are drawn from the page alone, with who is to be named', async () => {
  run('map', '--page', built, at('case/bearings.csv'), '--map', join(root, 'fixtures/tiles/town.pmtiles'), '-o', at('tiles.html'));
  assert.ok(readFileSync(at('tiles.html')).length < 3e6, 'three megabytes at most');
  const phone = await opened(at('tiles.html'));
  assert.equal(await phone.page.textContent('#credit'), 'invented town, CC0');
  // White streets in the day; the ground is another colour.
  const white = () => phone.page.evaluate(() => {
    let seen = 0;
    for (const canvas of document.querySelectorAll('#map canvas')) {
      const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
      for (let i = 0; i < data.length; i += 4) seen += data[i] === 255 && data[i + 1] === 255 && data[i + 2] === 255 && data[i + 3] === 255 ? 1 : 0;
    }
    return seen;
  });
  await phone.page.waitForTimeout(500);
  const pixels = await white();
  assert.ok(pixels > 5000, `${pixels} pixels of streets`);
  await phone.close();
});

test('the first picture is drawn before the solver begins', async () => {
  const times = [];
  for (let i = 0; i < 5; i++) {
    const phone = await opened(at('teams.html'));
    const [drawn, ready] = await phone.page.evaluate(() => ['azimark-drawn', 'azimark-ready'].map((n) => performance.getEntriesByName(n)[0].startTime));
    assert.ok(drawn < ready);
    times.push(drawn);
    await phone.close();
  }
  times.sort((a, b) => a - b);
  console.log(`first picture: ${times.map((t) => t.toFixed(0)).join(', ')} ms after the navigation began (1500 wanted)`);
});

test('the position of the device is taken with its error, and a denied one is told', async () => {
  const granted = await opened(at('map.html'), { permissions: ['geolocation'], geolocation: { latitude: 46.957, longitude: -118.36, accuracy: 12.24 } });
  await granted.page.tap('#do-bearing');
  await granted.page.tap('#here');
  await granted.page.waitForFunction(() => document.querySelector('input[name="lat"]').value === '46.9570000');
  assert.equal(await granted.page.inputValue('input[name="position_sigma_m"]'), '5.0');
  await granted.close();
  const denied = await opened(at('map.html'), { permissions: [] });
  await denied.page.tap('#do-bearing');
  await denied.page.tap('#here');
  await denied.page.waitForFunction(() => /tap the map or type it/.test(document.querySelector('form').textContent));
  await denied.close();
});

test('whoever moves faster than anybody walks is asked before typing', async () => {
  const granted = await opened(at('map.html'), { permissions: ['geolocation'], geolocation: { latitude: 46.957, longitude: -118.36, accuracy: 5 } });
  const { page } = granted;
  await page.evaluate(() => {
    const coords = { latitude: 46.957, longitude: -118.36, accuracy: 5, speed: 12, altitude: null, altitudeAccuracy: null, heading: null };
    const give = (found) => setTimeout(() => found({ coords, timestamp: Date.now() }), 10);
    Object.defineProperty(navigator.geolocation, 'getCurrentPosition', { value: give });
    Object.defineProperty(navigator.geolocation, 'watchPosition', { value: (found) => (give(found), 1) });
  });
  await page.tap('#do-bearing');
  await page.waitForSelector('dialog');
  assert.match(await page.textContent('dialog'), /43 km\/h.*passenger\?/);
  await page.tap('dialog .no');
  await page.waitForSelector('#panel', { state: 'hidden' });
  await page.tap('#do-level');
  await page.waitForSelector('dialog');
  await page.tap('dialog .yes');
  assert.equal(await page.locator('form').isVisible(), true);
  await page.tap('#here');
  await page.waitForFunction(() => document.querySelector('input[name="lat"]').value === '46.9570000');
  await granted.close();
});

test('a place is taken by a tap on the map', async () => {
  const phone = await opened(at('map.html'));
  await phone.page.tap('#do-bearing');
  await phone.page.tap('#tap');
  const box = await phone.page.locator('#map').boundingBox();
  await phone.page.touchscreen.tap(box.x + box.width / 2, box.y + box.height - 90);
  await phone.page.waitForFunction(() => document.querySelector('input[name="lat"]')?.value !== '');
  const lat = Number(await phone.page.inputValue('input[name="lat"]'));
  assert.ok(lat > 46.9 && lat < 47, `latitude ${lat}`);
  await phone.close();
});

test('everything is done by keyboard alone', async () => {
  const desk = await opened(at('teams.html'), DESK);
  const { page } = desk;
  const reached = async (selector) => {
    for (let i = 0; i < 120; i++) {
      if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
      await page.keyboard.press('Tab');
    }
    assert.fail(`${selector} cannot be reached`);
  };
  const press = async (selector, key = 'Enter') => {
    await reached(selector);
    await page.keyboard.press(key);
  };
  const turned = async () => Number(/rotate\((\S+)/.exec(await page.getAttribute('#needle', 'transform'))[1]);
  const tab = (name) => press(`.tabs button:nth-of-type(${1 + ['Answer', 'Bearings', 'Levels', 'Next', 'Teams', 'Notes', 'Keep'].indexOf(name)})`);
  // A bearing at a place that the arrow keys find.
  await press('#do-bearing');
  await press('#tap');
  await page.keyboard.press('ArrowUp');
  await press('#pick-middle');
  await page.waitForFunction(() => document.querySelector('input[name="lat"]').value !== '');
  await reached('input[name="bearing_deg"]');
  await page.keyboard.type('80');
  await press('button[data-value="C"]', 'Space');
  await press('#keep-bearing', 'Space');
  await solved(page, 1);
  // A level.
  await press('#do-level');
  for (const [name, text] of [['lat', '46.9556'], ['lon', '-118.3575'], ['indicated_dbm', '-62']]) {
    await reached(`input[name="${name}"]`);
    await page.keyboard.type(text);
  }
  await press('button[data-value="no"]', 'Space');
  await press('#keep-level');
  await solved(page, 2);
  // Lists: leave out, use again, change, show; teams; files; turning the map; the theme; off-air; undo.
  await press('#do-lists');
  await tab('Bearings');
  await press('button[aria-label="Leave out B01"]');
  await solved(page, 3);
  await press('button[aria-label="Use it: B01"]');
  await solved(page, 4);
  await press('button[aria-label="Show B01 on the map"]');
  await tab('Levels');
  await press('button[aria-label="Change L01"]');
  await press('#panel form .row button:last-child:not([aria-pressed]):not(#tap)');
  await press('#do-lists');
  await tab('Teams');
  await reached('input[name="teams"]');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('1');
  await press('#divide');
  await page.waitForSelector('body[data-divided="4"]', { timeout: 120_000 });
  await tab('Keep');
  const [download] = await Promise.all([page.waitForEvent('download'), press('#save-csv')]);
  assert.equal(download.suggestedFilename(), 'bearings.csv');
  await press('button[data-turn="left"]');
  assert.ok(Math.abs(await turned() + 15) < 1e-6);
  await page.keyboard.press('Escape');
  assert.equal(await page.locator('#panel').isVisible(), false);
  await press('#north');
  assert.equal(await turned(), 0);
  for (const id of ['#in', '#out', '#whole', '#all']) await press(id);
  await press('#theme');
  assert.equal(await page.getAttribute('body', 'data-theme'), 'night');
  await press('#do-off');
  assert.equal(await page.textContent('#do-off'), 'Back on air');
  await press('#do-undo');
  assert.equal(await page.textContent('#do-off'), 'Off-air now');
  await desk.close();
});

test('nothing that axe knows stands in the way of anybody, by day and by night', async () => {
  for (const [options, theme] of [[PHONE, 'day'], [PHONE, 'night'], [LYING, 'day'], [DESK, 'night']]) {
    const seen = await opened(at('teams.html'), { ...options, colorScheme: theme === 'night' ? 'dark' : 'light' });
    const { page } = seen;
    const checked = async (what) => {
      await page.evaluate(axe);
      const { violations } = await page.evaluate(() => window.axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } } }));
      assert.deepEqual(violations.map((v) => `${what}, ${theme}: ${v.id} ${v.nodes.map((n) => n.target).join(' ')}`), []);
      const small = await page.evaluate(() => [...document.querySelectorAll('button, input, textarea')].filter((b) => b.offsetParent).map((b) => [b.textContent || b.name, b.getBoundingClientRect()])
        .filter(([, r]) => r.width < 48 || r.height < 48).map(([t]) => t));
      assert.deepEqual(small, [], `${what}: targets below 48 px`);
    };
    await checked('map');
    await page.click('#do-lists');
    for (const tab of ['Answer', 'Bearings', 'Levels', 'Next', 'Teams', 'Notes', 'Keep']) {
      await page.click(`.tabs button:has-text("${tab}")`);
      await checked(tab);
    }
    await page.click('#forget');
    await checked('question');
    await page.keyboard.press('Escape');
    await page.click('#do-bearing');
    await checked('form');
    await page.click('#do-level');
    await checked('form of a level');
    // What is written on the map is no text that axe sees: its colours by the formula of WCAG 2.2.
    assert.ok(await page.evaluate(() => Number(document.body.dataset['contrast'])) >= 7, `${theme}: words on the map against their halo`);
    await seen.close();
  }
});

test('damage is told in a line, and nothing else stops', async () => {
  const put = (name, change, from = 'map.html') => {
    const whole = readFileSync(at(from), 'utf8');
    const data = dataOf(at(from));
    change(data);
    writeFileSync(at(name), whole.replace(/(id="case">)[^]*?(<\/script>)/, (_, a, b) => a + JSON.stringify(data).replaceAll('<', '\\u003c') + b));
  };
  put('base.html', (d) => (d.request.town.text = '{"type":"FeatureCollection","features":[{]'));
  const base = await opened(at('base.html'));
  assert.match(await base.page.textContent('#trouble'), /base map .* is damaged/);
  assert.match(await base.page.textContent('#figure'), /m²/);
  await base.close();

  put('newer.html', (d) => (d.schema = 'azimark-map/9'));
  const context = await browser.newContext(PHONE);
  const newer = await context.newPage();
  await newer.goto(`file://${at('newer.html')}`);
  assert.match(await newer.textContent('#trouble'), /data of another version \(azimark-map\/9\)/);

  put('tile.html', (d) => {
    const [z, x, y] = d.tiles.tiles[0];
    d.tiles.tiles = d.tiles.tiles.map((t) => (t[0] === z ? [t[0], t[1], t[2], 'H4sIAAAA'] : t));
  }, 'teams.html');
  const tile = await opened(at('tile.html'));
  await tile.page.waitForSelector('#trouble:not([hidden])');
  assert.match(await tile.page.textContent('#trouble'), /base map \(town.pmtiles\) is damaged/);
  assert.match(await tile.page.textContent('#figure'), /m²/);
  await tile.close();

  // Without a place to keep anything the page says so, and still computes.
  const closed = await context.newPage();
  await closed.addInitScript(() => {
    IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); };
  });
  await closed.goto(`file://${at('map.html')}`);
  await closed.waitForSelector('body[data-ready="solver"]');
  assert.match(await closed.textContent('#trouble'), /keeps nothing for this page/);
  await enter(closed, { lat: '46.9580', lon: '-118.3562', bearing: '166' });
  await solved(closed, 1);
  // Nothing is lost: a file is offered at once, and the browser asks before the page is left.
  const [kept] = await Promise.all([closed.waitForEvent('download'), closed.tap('#save-now')]);
  await kept.saveAs(at('kept.csv'));
  assert.match(readFileSync(at('kept.csv'), 'utf8'), /^B11,/m);
  await context.close();
});

test('a full storage, and what a newer page has kept, are told, and nothing is lost', async () => {
  const full = await opened(at('map.html'));
  const { page } = full;
  await page.evaluate(() => {
    window.put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); };
  });
  await enter(page, { lat: '46.9580', lon: '-118.3562', bearing: '166' });
  await page.waitForSelector('#save-now');
  assert.match(await page.textContent('#trouble'), /could not be kept: the storage is full or closed\. It is still in this page/);
  await solved(page, 1);
  const [kept] = await Promise.all([page.waitForEvent('download'), page.tap('#save-now')]);
  await kept.saveAs(at('full.csv'));
  assert.match(readFileSync(at('full.csv'), 'utf8'), /^B11,/m);
  // With room again, the next tap keeps everything, and the line goes.
  await page.evaluate(() => { IDBObjectStore.prototype.put = window.put; });
  await page.tap('#do-off');
  await page.waitForSelector('#trouble', { state: 'hidden' });
  await reloaded(page);
  await page.waitForSelector('body[data-ready="solver"]');
  await listed(page, 'Bearings');
  assert.match(await page.textContent('#panel'), /B11/);
  // A record of a newer page is left as it is.
  const records = (page, change) => page.evaluate((change) => new Promise((resolve) => {
    const asked = indexedDB.open('azimark', 1);
    asked.onsuccess = () => {
      const store = asked.result.transaction('cases', 'readwrite').objectStore('cases');
      store.getAll().onsuccess = (event) => {
        const [record] = event.target.result;
        if (change) store.put({ ...record, ...change });
        store.transaction.oncomplete = () => {
          asked.result.close();
          resolve(record);
        };
      };
    };
  }), change);
  await records(page, { version: 7 });
  await reloaded(page);
  await page.waitForSelector('body[data-ready="solver"]');
  assert.match(await page.textContent('#trouble'), /written by a newer page: it is left as it is/);
  await page.tap('#do-off');
  await page.waitForTimeout(300);
  const record = await records(page, null);
  assert.deepEqual([record.version, record.log.length], [7, 2]);
  await full.close();
});

test('a hundred thousand levels are thinned for drawing, not for computing, and the page opens', async () => {
  const begun = Date.UTC(2026, 2, 17, 17);
  // A walk in a loop around the town, with the loss of a power law and what a fixed sequence of chance adds.
  let state = 12345;
  const chance = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648;
  let text = 'seq,time_utc,lat,lon,indicated_dbm\n';
  for (let i = 0; i < 100_000; i++) {
    const [lat, lon] = [46.956 + 0.012 * Math.sin(i * 0.00091), -118.3566 + 0.018 * Math.sin(i * 0.0007)];
    const away = Math.max(5, Math.hypot((lat - 46.956061) * 111_195, (lon + 118.356637) * 75_900));
    const shown = -20 - 30 * Math.log10(away) + 4 * (chance() + chance() + chance() - 1.5);
    text += `${i + 1},${new Date(begun + 1000 * i).toISOString().replace('.000', '')},${lat.toFixed(7)},${lon.toFixed(7)},${shown.toFixed(1)}\n`;
  }
  writeFileSync(at('many.csv'), text);
  run('map', '--page', built, at('case/bearings.csv'), at('many.csv'), '-o', at('many.html'));
  const data = dataOf(at('many.html'));
  const drawn = data.reply.map.features.filter((f) => f.properties.kind === 'reading').length;
  assert.ok(drawn > 1000 && drawn <= 3000, `${drawn} are drawn`);
  assert.ok(data.reply.answer.levels.readings > 99_000, `${data.reply.answer.levels.readings} are computed with`);
  // Nothing is lost: the log is in the page whole, for every new answer.
  assert.equal(data.request.files.find((f) => f.kind === 'levels').text, text);
  const phone = await opened(at('many.html'));
  assert.match(await phone.page.textContent('#status'), /^Of \d+ levels an even part is drawn; all of them are computed with\.$/);
  await listed(phone.page, 'Levels');
  assert.match(await phone.page.textContent('#panel'), /Computed with as they came, too long or too rich to list: many\.csv/);
  const first = await phone.page.evaluate(() => performance.getEntriesByName('azimark-drawn')[0].startTime);
  console.log(`first picture with 100,000 levels: ${first.toFixed(0)} ms`);
  await phone.close();
});

test('levels are computed with as the command line does, after a quick answer from the bearings', async () => {
  const walk = join(root, 'fixtures/demo/walk_log.csv');
  run('map', '--page', built, at('case/bearings.csv'), walk, '-o', at('levels.html'));
  const phone = await opened(at('levels.html'));
  const { page } = phone;
  await enter(page, { lat: '46.9580', lon: '-118.3562', bearing: '166', quality: 'B' });
  await solved(page, 1);
  const reply = await page.evaluate(() => window.azimarkReply());
  await saved(page, '#save-csv', at('with.csv'));
  await savedLog(page, 'walk_log.csv', at('walk_log.csv'));
  run('map', '--page', built, at('with.csv'), at('walk_log.csv'), '-o', at('with.html'));
  const native = dataOf(at('with.html')).reply;
  assert.equal(reply.answer.levels.readings, native.answer.levels.readings);
  for (const key of ['lat_deg', 'lon_deg']) assert.ok(Math.abs(reply.quoted[key] - native.quoted[key]) < SAME, key);
  assert.equal(reply.answer.summary, native.answer.summary);
  const [first, all] = await page.evaluate(() => ['azimark-first', 'azimark-whole'].map((n) => performance.getEntriesByName(n).at(-1).duration));
  console.log(`redraw with levels: ${first.toFixed(0)} ms, ${all.toFixed(0)} ms with all checks`);
  await phone.close();
});

/** The i-th of bearings from stands all round the place, magnetic, some degrees off. */
function around(i) {
  const turn = 2.4 * i;
  const [lat, lon] = [46.956 + 0.004 * Math.cos(turn), -118.3563 + 0.0058 * Math.sin(turn)];
  const bearing = ((turn * 180) / Math.PI + 180 - 14 + 4 * Math.sin(5 * i)) % 360;
  return { lat: lat.toFixed(6), lon: lon.toFixed(6), bearing: bearing.toFixed(0), quality: 'B' };
}

test('a bearing that is being entered is computed with before it is saved: saved as it stood it is drawn at once, changed it is not', async () => {
  const walk = ['walk_log.csv', 'walk.gpx'].map((f) => join(root, 'fixtures/demo', f));
  run('map', '--page', built, at('case/bearings.csv'), ...walk, '-o', at('foreseen.html'));
  const phone = await opened(at('foreseen.html'));
  const { page } = phone;
  await page.waitForSelector('body[data-warm]', { timeout: 120_000 });
  const before = await page.textContent('#figure');
  await page.tap('#do-bearing');
  for (const [name, value] of Object.entries({ lat: '46.9580', lon: '-118.3562', bearing_deg: '20' })) await page.fill(`input[name="${name}"]`, value);
  await page.tap('button[data-value="B"]');
  await page.waitForSelector('body[data-foreseen]', { timeout: 120_000 });
  // Nothing shows before it is saved.
  assert.equal(await page.textContent('#figure'), before);
  assert.equal(await page.evaluate(() => performance.getEntriesByName('azimark-first').length), 0);
  // Whoever corrects it and saves gets the answer to what was saved.
  await page.fill('input[name="bearing_deg"]', '166');
  await page.tap('#keep-bearing');
  const quick = await page.evaluate(async () => {
    while (performance.getEntriesByName('azimark-first').length === 0) await new Promise(requestAnimationFrame);
    return window.azimarkReply().quoted;
  });
  await solved(page, 1);
  await saved(page, '#save-csv', at('foreseen.csv'));
  run('map', '--page', built, at('foreseen.csv'), ...walk, '-o', at('foreseen-native.html'));
  const native = dataOf(at('foreseen-native.html')).reply;
  const reply = await page.evaluate(() => window.azimarkReply());
  for (const key of ['lat_deg', 'lon_deg']) {
    assert.ok(Math.abs(quick[key] - native.quoted[key]) < SAME, `first answer, ${key}`);
    assert.ok(Math.abs(reply.quoted[key] - native.quoted[key]) < SAME, key);
  }
  // Once more, saved as it stood: it took longer to compute than to draw.
  await enter(page, { lat: '46.9580', lon: '-118.3563', bearing: '167', quality: 'B' }, () => page.waitForSelector('body[data-foreseen]', { timeout: 120_000 }));
  await page.waitForFunction(() => performance.getEntriesByName('azimark-first').length === 2, null, { timeout: 120_000 });
  const [shown, computed] = await page.evaluate(() => ['azimark-first', 'azimark-first-solver'].map((n) => performance.getEntriesByName(n)[1].duration));
  assert.ok(shown < computed, `${shown} ms to draw, ${computed} ms to compute`);
  await phone.close();
});

test('redraw after one bearing more with 600 levels: the figure of the page itself', async () => {
  const walk = ['walk_log.csv', 'walk.gpx'].map((f) => join(root, 'fixtures/demo', f));
  run('map', '--page', built, at('case/bearings.csv'), ...walk, '-o', at('redraw.html'));
  const phone = await opened(at('redraw.html'));
  const { page } = phone;
  await page.waitForSelector('body[data-warm]', { timeout: 120_000 });
  const times = [];
  for (let i = 0; i < 20; i++) {
    await enter(page, around(i));
    await solved(page, 2 * i + 1);
    times.push(await page.evaluate(() => ['azimark-first-drawn', 'azimark-first-solver'].map((n) => performance.getEntriesByName(n).at(-1).duration)));
    await page.tap('#do-undo');
    await solved(page, 2 * i + 2);
  }
  const median = (k) => times.map((t) => t[k]).sort((a, b) => a - b).slice(9, 11).reduce((a, b) => (a + b) / 2);
  assert.ok(times.every(([drawn, computed]) => drawn > 0 && computed > 0));
  console.log(`redraw after one bearing more, from the tap to the frame: ${median(0).toFixed(0)} ms; to compute it takes ${median(1).toFixed(0)} ms (medians of 20)`);
  await phone.close();
});

test('twenty bearings one after another: each is drawn before its checks, and the last answer is that of the command line', async () => {
  const walk = ['walk_log.csv', 'walk.gpx'].map((f) => join(root, 'fixtures/demo', f));
  run('map', '--page', built, at('case/bearings.csv'), ...walk, '-o', at('twenty.html'));
  const begun = performance.now();
  const phone = await opened(at('twenty.html'), {}, 'drawn');
  const picture = performance.now() - begun;
  const { page } = phone;
  await page.waitForSelector('body[data-ready="solver"]');
  await page.waitForSelector('body[data-warm]', { timeout: 120_000 });
  for (let i = 0; i < 20; i++) {
    await enter(page, around(i));
    await page.waitForFunction((n) => performance.getEntriesByName('azimark-first-drawn').length === n, i + 1, { timeout: 120_000 });
    assert.match(await page.textContent('#status'), /checks are still being computed|computed and checked/);
  }
  await solved(page, 20);
  const reply = await page.evaluate(() => window.azimarkReply());
  await saved(page, '#save-csv', at('thirty.csv'));
  run('map', '--page', built, at('thirty.csv'), ...walk, '-o', at('thirty.html'));
  const native = dataOf(at('thirty.html')).reply;
  for (const key of ['lat_deg', 'lon_deg']) assert.ok(Math.abs(reply.quoted[key] - native.quoted[key]) < SAME, key);
  assert.equal(reply.answer.summary, native.answer.summary);
  const times = await page.evaluate(() => performance.getEntriesByName('azimark-first-drawn').map((e) => e.duration).sort((a, b) => a - b));
  const median = (times[9] + times[10]) / 2;
  console.log(`redraw after a bearing with ${reply.answer.levels.readings} levels: ${median.toFixed(0)} ms (median of 20, ${times[0].toFixed(0)} to ${times[19].toFixed(0)}); first picture after ${picture.toFixed(0)} ms`);
  await phone.close();
});
