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
  const outside = [];
  const errors = [];
  page.on('request', (r) => /^(file|blob|data):/.test(r.url()) || outside.push(r.url()));
  page.on('pageerror', (e) => errors.push(String(e)));
  page.on('console', (m) => m.type() === 'error' && errors.push(m.text()));
  await page.goto(`file://${path}`);
  await page.waitForSelector(`body[data-ready="${ready}"]`);
  return { context, page, outside, errors, async close() {
    assert.deepEqual(outside, []);
    assert.deepEqual(errors, []);
    await context.close();
  } };
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

/** Enters a bearing with taps and keys of the phone. */
async function enter(page, { lat, lon, bearing, chips = [], quality }) {
  await page.tap('#do-bearing');
  await page.fill('input[name="lat"]', lat);
  await page.fill('input[name="lon"]', lon);
  await page.fill('input[name="bearing_deg"]', bearing);
  if (quality) await page.tap(`button[data-value="${quality}"]`);
  for (const chip of chips) await page.tap(`button:has-text("${chip}")`);
  await page.tap('#keep-bearing');
}

before(async () => {
  run('demo', at('case'));
  run('map', '--page', built, at('case/bearings.csv'), '--map', at('case/town.geojson'), '--title', 'Ostrey Flat </script><b>', '-o', at('map.html'));
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

  await page.reload();
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

test('off-air is one tap, is told where a bearing is entered, and is saved', async () => {
  const phone = await opened(at('map.html'));
  const { page } = phone;
  await page.tap('#do-off');
  assert.equal(await page.textContent('#do-off'), 'Back on air');
  await page.tap('#do-bearing');
  assert.match(await page.textContent('#panel'), /a bearing taken now tells nothing/);
  await page.tap('#panel button:has-text("Back")');
  await page.tap('#do-off');
  await saved(page, '#save-switches', at('off.csv'));
  assert.match(readFileSync(at('off.csv'), 'utf8'), /^time_utc,state,lat,lon\n\S+Z,off,,\n\S+Z,on,,\n$/);
  await phone.close();
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

test('everything is reached by keyboard alone', async () => {
  const desk = await opened(at('map.html'), DESK);
  const { page } = desk;
  const reached = async (selector) => {
    for (let i = 0; i < 80; i++) {
      await page.keyboard.press('Tab');
      if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
    }
    assert.fail(`${selector} cannot be reached`);
  };
  await reached('#do-bearing');
  await page.keyboard.press('Enter');
  await reached('#tap');
  await page.keyboard.press('Enter');
  await page.keyboard.press('ArrowUp');
  await reached('#pick-middle');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.querySelector('input[name="lat"]').value !== '');
  await reached('input[name="bearing_deg"]');
  await page.keyboard.type('80');
  await reached('#keep-bearing');
  await page.keyboard.press('Space');
  await solved(page, 1);
  await reached('#do-lists');
  await page.keyboard.press('Enter');
  assert.equal(await page.locator('#panel').isVisible(), true);
  await page.keyboard.press('Escape');
  assert.equal(await page.locator('#panel').isVisible(), false);
  await desk.close();
});

test('nothing that axe knows stands in the way of anybody, by day and by night', async () => {
  for (const [options, theme] of [[PHONE, 'day'], [PHONE, 'night'], [DESK, 'day'], [DESK, 'night']]) {
    const seen = await opened(at('map.html'), { ...options, colorScheme: theme === 'night' ? 'dark' : 'light' });
    const { page } = seen;
    const checked = async (what) => {
      await page.evaluate(axe);
      const { violations } = await page.evaluate(() => window.axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } } }));
      assert.deepEqual(violations.map((v) => `${what}, ${theme}: ${v.id} ${v.nodes.map((n) => n.target).join(' ')}`), []);
      const small = await page.evaluate(() => [...document.querySelectorAll('button')].filter((b) => b.offsetParent).map((b) => [b.textContent, b.getBoundingClientRect()])
        .filter(([, r]) => r.width < 48 || r.height < 48).map(([t]) => t));
      assert.deepEqual(small, [], `${what}: targets below 48 px`);
    };
    await checked('map');
    await page.click('#do-lists');
    for (const tab of ['Answer', 'Bearings', 'Next', 'Notes', 'Keep']) {
      await page.click(`.tabs button:has-text("${tab}")`);
      await checked(tab);
    }
    await page.click('#do-bearing');
    await checked('form');
    await seen.close();
  }
});

test('damage is told in a line, and nothing else stops', async () => {
  const whole = readFileSync(at('map.html'), 'utf8');
  const put = (name, change) => {
    const data = dataOf(at('map.html'));
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
  await context.close();
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
  run('map', '--page', built, at('with.csv'), walk, '-o', at('with.html'));
  const native = dataOf(at('with.html')).reply;
  assert.equal(reply.answer.levels.readings, native.answer.levels.readings);
  for (const key of ['lat_deg', 'lon_deg']) assert.ok(Math.abs(reply.quoted[key] - native.quoted[key]) < SAME, key);
  assert.equal(reply.answer.summary, native.answer.summary);
  const [first, all] = await page.evaluate(() => ['azimark-first', 'azimark-whole'].map((n) => performance.getEntriesByName(n).at(-1).duration));
  console.log(`redraw with levels: ${first.toFixed(0)} ms, ${all.toFixed(0)} ms with all checks`);
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
    const around = 2.4 * i;
    const [lat, lon] = [46.956 + 0.004 * Math.cos(around), -118.3563 + 0.0058 * Math.sin(around)];
    const bearing = ((around * 180) / Math.PI + 180 - 14 + 4 * Math.sin(5 * i)) % 360;
    await enter(page, { lat: lat.toFixed(6), lon: lon.toFixed(6), bearing: bearing.toFixed(0), quality: 'B' });
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
