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
  const { columns, rows } = data.notes;
  const quoted = (c) => (/[,"\n\r;\t]/.test(c) || c.trim() !== c ? `"${c.replaceAll('"', '""')}"` : c);
  const text = [columns, ...rows].map((r) => r.map(quoted).join(',') + '\n').join('');
  const bearings = { name: 'bearings.csv', kind: 'bearings', text };
  return { reply: data.reply, request: { ...data.request, files: [bearings, ...data.request.files], advice: true } };
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

test('a request that means nothing is answered by a sentence', () => {
  for (const request of ['', '{', '[]', '{"files":[{"name":"a"}]}', '{"files":[],"conditions":{"north":"up"}}', '\u0000']) {
    assert.match(asked(request).error, /\w/, request);
  }
  const none = asked({ files: [] });
  assert.equal(none.quoted, null);
  assert.match(none.text, /No place/);
});
