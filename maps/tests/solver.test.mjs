// The solver alone, out of the built page: no imports, the native answer, bad requests. AZIMARK as in page.test.mjs.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { gunzipSync } from 'node:zlib';

const root = new URL('../..', import.meta.url).pathname;
const azimark = process.env.AZIMARK ?? join(process.env.CARGO_TARGET_DIR ?? join(root, 'target'), 'debug/azimark');
const folder = mkdtempSync(join(tmpdir(), 'azimark-solver-'));
const demo = join(root, 'fixtures/demo');
/** A tenth of a millimetre. */
const SAME = 1e-9;
let solver;

/** Asks the solver as the page's worker does. */
function asked(request) {
  const bytes = new TextEncoder().encode(typeof request === 'string' ? request : JSON.stringify(request));
  const at = solver.reserve(bytes.length);
  new Uint8Array(solver.memory.buffer, at, bytes.length).set(bytes);
  const found = BigInt.asUintN(64, solver.answer(at, bytes.length));
  solver.release(at, bytes.length);
  const [from, length] = [Number(found >> 32n), Number(found & 0xffffffffn)];
  const reply = new TextDecoder().decode(new Uint8Array(solver.memory.buffer, from, length));
  solver.release(from, length);
  return JSON.parse(reply);
}

/** What the program computed natively, and what it was asked. */
function native(...files) {
  const path = join(folder, 'map.html');
  const done = spawnSync(azimark, ['map', '--page', join(root, 'maps/dist/page.html'), ...files.map((f) => join(demo, f)), '-o', path], { encoding: 'utf8', maxBuffer: 1 << 28 });
  assert.ok(done.status === 0 || done.status === 1, done.stderr);
  const data = JSON.parse(/id="case">([^]*?)<\/script>/.exec(readFileSync(path, 'utf8'))[1]);
  const quoted = (c) => (/[,"\n\r;\t]/.test(c) || c.trim() !== c ? `"${c.replaceAll('"', '""')}"` : c);
  const table = ({ columns, rows }) => [columns, ...rows].map((r) => r.map(quoted).join(',') + '\n').join('');
  const bearings = { name: 'bearings.csv', kind: 'bearings', text: table(data.notes) };
  const logs = data.logs.filter((log) => log.rows.length > 0).map((log) => ({ name: log.name, kind: 'levels', text: table(log) }));
  return { reply: data.reply, request: { ...data.request, files: [bearings, ...logs, ...data.request.files], advice: true } };
}

function compared(here, there) {
  for (const key of ['lat_deg', 'lon_deg']) {
    const apart = Math.abs(here.quoted[key] - there.quoted[key]);
    assert.ok(apart < SAME, `${key} differs by ${apart}`);
  }
  assert.equal(here.answer.summary, there.answer.summary);
  assert.deepEqual(here.answer.regions.map((r) => r.area_m2), there.answer.regions.map((r) => r.area_m2));
  assert.deepEqual(here.advice.stands.map((s) => s.name), there.advice.stands.map((s) => s.name));
}

before(async () => {
  const page = readFileSync(join(root, 'maps/dist/page.html'), 'utf8');
  const packed = /id="solver">([^]*?)<\/script>/.exec(page)[1];
  assert.notEqual(packed, '', 'the page was built without the solver: maps/build.sh tells why');
  const wasm = gunzipSync(Buffer.from(packed, 'base64'));
  const module = await WebAssembly.compile(wasm);
  assert.deepEqual(WebAssembly.Module.imports(module), []);
  const size = Buffer.from(packed, 'base64').length;
  assert.ok(size <= 1.5e6, `${size} bytes packed`);
  console.log(`solver: ${wasm.length} bytes, ${size} packed`);
  solver = (await WebAssembly.instantiate(module, {})).exports;
});

after(() => rmSync(folder, { recursive: true, force: true }));

test('bearings give the native answer', () => {
  const { reply, request } = native('bearings.csv');
  compared(asked(request), reply);
  // Processor time: what somebody on an idle device waits. The machine of this test may be busy.
  const begun = process.cpuUsage();
  asked({ ...request, advice: false });
  const { user, system } = process.cpuUsage(begun);
  console.log(`solver: ${((user + system) / 1000).toFixed(0)} ms of processor time for ten bearings`);
});

/** Twenty bearings to about where the demo's emitter is, each from a stand of its own, as rows of the request's table. */
function more({ files: [{ text }] }) {
  const columns = text.split('\n')[0].split(',');
  return Array.from({ length: 20 }, (_, i) => {
    const [around, off] = [(i * 2.4) % (2 * Math.PI), 4 * Math.sin(5 * i)];
    const [lat, lon] = [46.956 + 0.004 * Math.cos(around), -118.3563 + 0.004 * Math.sin(around) / Math.cos(0.8195)];
    const cells = { id: `N${i}`, lat_wgs84: lat.toFixed(6), lon_wgs84: lon.toFixed(6), north_reference: 'true', operator_class: 'B',
      bearing_deg: (((around * 180) / Math.PI + 180 + off) % 360).toFixed(1), time_utc: '2026-03-17T18:40:00Z' };
    return `${columns.map((c) => cells[c] ?? '').join(',')}\n`;
  });
}

test('a bearing more with 600 levels: the first answer has the areas of the whole one, and asks little that is new', () => {
  const { request } = native('bearings.csv', 'walk_log.csv', 'walk.gpx');
  const timed = (asking) => {
    const begun = process.cpuUsage();
    const reply = asked(asking);
    const { user, system } = process.cpuUsage(begun);
    return [(user + system) / 1000, reply];
  };
  const first = { ...request, first: true, advice: false };
  const [cold] = timed(first);
  const [bearings, ...rest] = request.files;
  let last;
  const times = more(request).map((row) => {
    last = [{ ...bearings, text: bearings.text + row }, ...rest];
    const [time, reply] = timed({ ...first, files: last });
    assert.equal(reply.first, true);
    assert.match(reply.answer.summary, /Not checked yet/);
    return time;
  }).sort((a, b) => a - b);
  const [whole, reply] = timed({ ...request, files: last, advice: false });
  const quick = asked({ ...first, files: last });
  assert.deepEqual(quick.quoted, reply.quoted);
  assert.deepEqual(quick.answer.regions, reply.answer.regions);
  assert.deepEqual(quick.answer.places, reply.answer.places);
  assert.equal(reply.first, false);
  const ms = (t) => t.toFixed(0);
  console.log(`solver with ${reply.answer.levels.readings} levels, processor time: ${ms(cold)} ms at first; with a bearing more ${ms((times[9] + times[10]) / 2)} ms (median of 20, most ${ms(times[19])} ms); all checks ${ms(whole)} ms`);
});

test('a request that means nothing is answered by a sentence', () => {
  for (const request of ['', '{', '[]', '{"files":[{"name":"a"}]}', '{"files":[],"conditions":{"north":"up"}}', '\u0000']) {
    assert.match(asked(request).error, /\w/, request);
  }
  const none = asked({ files: [] });
  assert.equal(none.quoted, null);
  assert.match(none.text, /No place/);
});
