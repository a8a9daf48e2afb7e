// The mill is built twice, with vector instructions and without: both say the same of the same picture.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/** A mill of its own for each build: modules are told apart by their whole address. @param {string} build */
async function millOf(build) {
  const mill = await import(`${join(ROOT, 'build/web/core/mill.js')}?${build}`);
  mill.initSync({ module: readFileSync(join(ROOT, `build/web/core/${build}_bg.wasm`)) });
  return mill;
}

/** The bytes by which `path` asks a browser for vector instructions. @param {string} path */
function vectors(path) {
  const [, list] = readFileSync(join(ROOT, path), 'utf8').match(/const VECTORS = Uint8Array\.of\(([^)]*)\)/);
  return Uint8Array.from(list.split(',').filter((byte) => byte.trim()), Number);
}

test('the page and its service worker ask for the same instructions, which this engine has', () => {
  const asked = vectors('www/mill.js');
  assert.deepEqual(vectors('www/sw.js'), asked);
  assert.equal(WebAssembly.validate(asked), true);
  // One instruction that nobody has, in place of the addition: the question can be answered no.
  assert.equal(asked.at(-3), 0x6e);
  assert.equal(WebAssembly.validate(asked.with(-3, 0x9a)), false);
});

test('both builds of the mill say the same', async () => {
  const mills = await Promise.all(['mill', 'mill_plain'].map(millOf));
  const file = readFileSync(join(ROOT, 'www/examples/marsh-hen.webp'));
  const [quick, plain] = mills.map((mill) => mill.picture_header(file, 'a.webp'));
  assert.deepEqual(quick, plain);
  assert.deepEqual(quick.resolution, [110, 110]);
  const rgba = Uint8Array.from({ length: 61 * 7 * 4 }, (_, i) => (i * 7919) % 251);
  const [seen, same] = mills.map((mill) => {
    const one = new mill.Mill(61, 7, 'a');
    one.set_tile(0, 0, 61, 7, rgba);
    return one.window(0, 0, 61, 7);
  });
  assert.deepEqual(seen, same);
  assert.ok(new Set(seen).size > 50);
});
