// README's short table of accuracy is the book's own; while there is no book there is no table.
import assert from 'node:assert/strict';
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (name) => readFileSync(join(ROOT, name), 'utf8');

test('README.md has the accuracy book’s table', () => {
  const [, between] = /<!-- accuracy -->\n([^]*?)<!-- \/accuracy -->/.exec(read('README.md')) ?? [];
  assert.notEqual(between, undefined, 'no markers in README.md');
  if (!existsSync(join(ROOT, 'tests/accuracy.md'))) {
    assert.equal(between, '', 'a table without a book: run scripts/accuracy');
    return;
  }
  assert.ok(between.startsWith('| '), 'no table between the markers: run scripts/accuracy');
  assert.ok(read('tests/accuracy.md').includes(`\n\n${between}\n`), 'README’s table is not the one in tests/accuracy.md: run scripts/accuracy');
});
