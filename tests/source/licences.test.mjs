// What the page says of other people's work is what cargo says is in it.
import test from 'node:test';
import { execFileSync } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

test('www/licences.txt is fresh', () => {
  execFileSync('node', [join(ROOT, 'scripts/lib/licences.mjs'), '--check'], { stdio: ['ignore', 'ignore', 'inherit'] });
});
