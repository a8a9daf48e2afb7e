// Files that come from outside the page: shared with it by another app, or opened with it; and what a shortcut of its icon asks for.
// Fetched only when something arrives.

import { word } from './words.js';

/** Where sw.js puts what was shared, until this page takes it. */
const SHARED = 'shared-with-scrieve';

/** What was shared, taken out of where it waits. @returns {Promise<File[]>} */
export async function takeShared() {
  const cache = await caches.open(SHARED);
  /** @type {File[]} */
  const files = [];
  for (const key of await cache.keys()) {
    const kept = await cache.match(key);
    // Whoever takes it takes it away: another window must not take it once more.
    if (!kept || !(await cache.delete(key))) continue;
    const name = decodeURIComponent(kept.headers.get('X-Name') ?? '');
    files.push(new File([await kept.blob()], name, { type: kept.headers.get('Content-Type') ?? '' }));
  }
  return files;
}

/**
 * Lays files that came from outside on the board: on an empty one, else on one of their own, so that nothing comes into a job unasked.
 * @param {import('./files.js').Files} files @param {File[]} arrived
 */
export async function lay(files, arrived) {
  const { ready, jobs, door, notes } = files.shop;
  await ready;
  if (arrived.length === 0) return notes.refuse(word('page.arrived-none'));
  const busy = (door.scene?.pictures.length ?? 0) > 0 || door.closed;
  if (busy) await jobs.begin([]);
  if (busy && door.scene && door.scene.pictures.length > 0) return undefined;
  await files.take(arrived);
  const { name } = arrived[0];
  if (busy) notes.tell('arrived', () => word('page.arrived', { name: name || word('page.pasted') }));
  return undefined;
}
