// Builds dist/page.html: one file with script, style and solver inside. Run by build.sh after the solver is compiled.

import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';

const here = (path) => new URL(path, import.meta.url).pathname;

async function bundled(entry, define = {}) {
  const made = await build({
    entryPoints: [here(entry)], bundle: true, minify: true, write: false, format: 'iife', target: 'es2022',
    charset: 'utf8', legalComments: 'none', define,
  });
  return made.outputFiles[0].text;
}

const worker = await bundled('src/worker.ts');
// Nothing in the script may look like the end of its element.
const script = (await bundled('src/main.ts', { WORKER_TEXT: JSON.stringify(worker) }))
  .replaceAll('</script', '<\\/script').replaceAll('<!--', '<\\!--').trim();
const style = readFileSync(here('src/style.css'), 'utf8');
const wasm = process.argv[2];
const packed = wasm && existsSync(wasm) ? gzipSync(readFileSync(wasm), { level: 9 }).toString('base64') : '';

const hash = (text) => `'sha256-${createHash('sha256').update(text, 'utf8').digest('base64')}'`;
// Nothing is fetched, from anywhere: one script by its hash, its worker, and styles that the map library sets on elements.
const policy = [
  "default-src 'none'",
  `script-src ${hash(script)} 'wasm-unsafe-eval' blob:`,
  'worker-src blob:',
  "style-src 'unsafe-inline'",
  'img-src data: blob:',
  "connect-src 'none'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

let page = readFileSync(here('src/page.html'), 'utf8');
for (const [mark, text] of [['@CSP@', policy], ['@STYLE@', style], ['@WASM@', packed], ['@SCRIPT@', script]]) {
  page = page.replace(mark, () => text);
}
mkdirSync(here('dist'), { recursive: true });
writeFileSync(here('dist/page.html'), page);
const kb = (n) => `${(n / 1024).toFixed(0)} KiB`;
console.log(`dist/page.html ${kb(page.length)}: script ${kb(script.length)}, solver ${packed ? kb((packed.length * 3) / 4) : 'missing'} packed`);
