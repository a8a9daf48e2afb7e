// The schema of job.json is that of the door's types.
import test from 'node:test';
import { execFileSync } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

test('docs/job.schema.json is fresh', () => {
  execFileSync('node', [join(ROOT, 'scripts/lib/schema.mjs'), '--check'], { stdio: ['ignore', 'ignore', 'inherit'] });
});
