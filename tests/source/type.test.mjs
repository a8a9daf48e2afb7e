// The page's type holds only the letters that the page uses (scripts/lib/fonts.py): here, that it holds all of
// those, in every language.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (path) => readFileSync(join(ROOT, path), 'utf8');

/** What the core writes besides its sentences: crate/src/quantity, crate/src/job/show/say.rs. */
const FIGURES = '0123456789.,′″⁄−± ×·°%:';

/** The ranges that each weight says it holds, in all its files. @returns {[number, number][][]} */
function weights() {
  const told = [...read('www/fonts/fonts.css').matchAll(/font-weight: (\d+);[^}]*unicode-range: ([^;]+);/g)];
  return [...new Set(told.map(([, weight]) => weight))].map((one) => told.filter(([, weight]) => weight === one)
    .flatMap(([, , ranges]) => ranges.split(', ').map((range) => {
      const [from, to] = range.slice(2).split('-').map((hex) => parseInt(hex, 16));
      return [from, to ?? from];
    })));
}

test('every letter of the page’s own sentences and figures is in its type', () => {
  const all = weights();
  assert.equal(all.length, 2, 'two weights');
  const shown = read('www/index.html').replace(/<!--[^]*?-->|<[^>]*>/g, '');
  const told = ['words', 'help'].flatMap((dir) => readdirSync(join(ROOT, 'www', dir))
    .map((name) => Object.values(JSON.parse(read(`www/${dir}/${name}`))).join('')));
  const letters = new Set([...told.join(''), ...shown, ...FIGURES]);
  letters.delete('\n');
  for (const ranges of all) {
    const missing = [...letters].filter((letter) => {
      const code = letter.codePointAt(0);
      return !ranges.some(([from, to]) => from <= code && code <= to);
    });
    assert.deepEqual(missing, []);
  }
});
