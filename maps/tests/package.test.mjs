// The package for pages of others: packed and installed as npm does it, and its example run.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';

const source = new URL('../npm', import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), 'azimark-package-'));
const inside = (name) => join(folder, 'node_modules/azimark-solver', name);

function run(...line) {
  const done = spawnSync(line[0], line.slice(1), { cwd: folder, encoding: 'utf8' });
  assert.equal(done.status, 0, `${line.join(' ')}: ${done.stderr}${done.stdout}`);
  return done.stdout;
}

before(() => {
  writeFileSync(join(folder, 'package.json'), '{"private":true,"type":"module"}');
  const packed = JSON.parse(run('npm', 'pack', source, '--json', '--pack-destination', folder));
  const { filename, files } = Array.isArray(packed) ? packed[0] : Object.values(packed)[0];
  assert.deepEqual(files.map((f) => f.path).sort(), ['README.md', 'azimark.wasm', 'example.mjs', 'index.d.ts', 'index.js', 'package.json']);
  run('npm', 'install', '--offline', '--no-audit', '--no-fund', join(folder, filename));
});

after(() => rmSync(folder, { recursive: true, force: true }));

test('the example of the package runs and gives an area', () => {
  writeFileSync(join(folder, 'example.mjs'), readFileSync(inside('example.mjs')));
  const said = run('node', 'example.mjs');
  const area = Number(/(\d+) square metres to search/.exec(said)?.[1]);
  // Three bearings of 5° from about 2 km each leave some tens of hectares.
  assert.ok(area > 1e4 && area < 1e6, said);
});

test('a request without meaning is an error with a sentence, and the solver goes on', async () => {
  const { load } = await import(inside('index.js'));
  const solver = await load(readFileSync(inside('azimark.wasm')));
  assert.throws(() => solver.solve({ files: [], conditions: { north: 'up' } }), /"up" is no north/);
  assert.match(solver.solve({ files: [] }).text, /No place/);
  await assert.rejects(load(new Response('', { status: 404 })), /404/);
  await assert.rejects(load(new Uint8Array([1, 2, 3])), WebAssembly.CompileError);
});

test('the types say what the example and the package do', () => {
  const tsc = new URL('../node_modules/.bin/tsc', import.meta.url).pathname;
  const types = new URL('../node_modules/@types', import.meta.url).pathname;
  writeFileSync(join(folder, 'use.ts'), `import { load, type Reply } from 'azimark-solver';
const reply: Reply = (await load(new Uint8Array())).solve({ files: [{ name: 'a', kind: 'levels', text: '' }], teams: [{ name: 'A' }] });
console.log(reply.answer.regions?.[0]?.polygons?.[0]?.[0]?.[0]?.[0]);
// @ts-expect-error: there is no such kind
(await load('x')).solve({ files: [{ name: 'a', kind: 'rumours', text: '' }] });
`);
  run(tsc, '--noEmit', '--strict', '--checkJs', '--allowJs', '--skipLibCheck', '--module', 'nodenext', '--moduleResolution', 'nodenext', '--target', 'es2022',
    '--lib', 'es2022,dom', '--typeRoots', types, '--types', 'node', 'use.ts', 'example.mjs');
});
