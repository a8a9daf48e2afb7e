// The page's type holds only the letters that the page uses (scripts/lib/fonts.py): here, that it holds all of those.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (path) => readFileSync(join(ROOT, path), 'utf8');

/** What the core writes besides its sentences: crate/src/quantity, crate/src/job/show/say.rs. */
const FIGURES = '0123456789.,′″⁄−± ×·°%:';

/** The ranges that each face says it holds. @returns {[number, number][][]} */
function faces() {
  const told = [...read('www/fonts/fonts.css').matchAll(/unicode-range: ([^;]+);/g)];
  return told.map(([, ranges]) => ranges.split(', ').map((range) => {
    const [from, to] = range.slice(2).split('-').map((hex) => parseInt(hex, 16));
    return [from, to ?? from];
  }));
}

test('every letter of the page’s own sentences and figures is in its type', () => {
  const all = faces();
  assert.equal(all.length, 2, 'two weights');
  const shown = read('www/index.html').replace(/<!--[^]*?-->|<[^>]*>/g, '');
  const letters = new Set([...Object.values(JSON.parse(read('www/words/en.json'))).join(''), ...shown, ...FIGURES]);
  letters.delete('\n');
  for (const ranges of all) {
    const missing = [...letters].filter((letter) => {
      const code = letter.codePointAt(0);
      return !ranges.some(([from, to]) => from <= code && code <= to);
    });
    assert.deepEqual(missing, []);
  }
});
