// What a first visit costs, by brotli at its best, as a host of static files sends it.
import { readdir } from 'node:fs/promises';
import { dirname, join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bootFiles } from '../../scripts/lib/boot.mjs';
import { budgets, weigh } from '../../scripts/lib/weigh.mjs';

const DIST = join(dirname(fileURLToPath(import.meta.url)), '../../dist');

export const title = 'Size on the wire (brotli)';

export async function bench() {
  const entries = await readdir(DIST, { recursive: true, withFileTypes: true });
  const names = entries.filter((entry) => entry.isFile())
    .map((entry) => relative(DIST, join(entry.parentPath ?? entry.path, entry.name)).split(sep).join('/'));
  const rows = await weigh(DIST, names, await bootFiles(DIST));
  return budgets(rows).map(({ what, bytes, aim }) => ({ what, got: bytes / 1000, unit: 'kB', aim: aim / 1000 }));
}
