// A second version of the site, to see what an open page does when one comes out.
import { execFile } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { ROOT } from '../browser/context.mjs';

/** Lays out dist/ once more under another version, for as long as `run` takes. */
export async function withNewVersion(run) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-version-'));
  try {
    await promisify(execFile)('node', [join(ROOT, 'scripts/lib/dist.mjs'), '--quiet', '--out', dir, '--note', 'the next']);
    await run(dir);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** The version of the page that is open. */
export const versionOf = (t) => t.attr('meta[name="version"]', 'content');
