// README's short table of accuracy is the book's own.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const read = (name) => readFileSync(join(ROOT, name), 'utf8');

test('README.md has the accuracy book’s table', () => {
  const [, between] = /<!-- accuracy -->\n([^]*?)\n<!-- \/accuracy -->/.exec(read('README.md')) ?? [];
  assert.ok(between?.startsWith('| '), 'no table between the markers');
  assert.ok(read('tests/accuracy.md').includes(`\n\n${between}\n\n`), 'run scripts/accuracy: README’s table is not the one in tests/accuracy.md');
});
