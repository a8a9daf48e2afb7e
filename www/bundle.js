// All jobs as one file, out and in: a zip of job files. Loaded when it is asked for.

import { fileName } from './files.js';
import { newJobId } from './keeper.js';
import { word } from './words.js';

/** @typedef {import('./files.js').Shop} Shop */

/**
 * Every job that isn't deleted goes into one file. A job's bytes are handed to the browser as soon as they are made, so that the
 * memory holds one job at a time. What can't be put in is told.
 * @param {Shop} shop @param {import('./files.js').Files} files
 */
export async function saveAll(shop, files) {
  const { door, jobs, keeper, store, notes } = shop;
  if (!store) return notes.refuse(word('page.save-all-failed'));
  const core = await door.fetchWhole();
  await keeper.settled();
  const bundle = new core.Bundle();
  /** @type {BlobPart[]} */
  const parts = [];
  const left = [];
  const digits = String(jobs.live.length).length;
  for (const [i, job] of jobs.live.entries()) {
    const bytes = await jobBytes(shop, files, job.id);
    const name = `${String(i + 1).padStart(digits, '0')}-${fileName(job.name)}.scrieve.zip`;
    const head = bytes && bundle.enter(name, bytes);
    if (head) parts.push(new Blob([new Uint8Array(head), new Uint8Array(bytes)]));
    else left.push(job.name || word('page.no-name'));
  }
  const end = bundle.end();
  bundle.free();
  if (!end || parts.length === 0) return notes.refuse(word('page.save-all-failed'));
  parts.push(new Uint8Array(end));
  files.handOver('scrieve-jobs.zip', parts, 'application/zip');
  if (left.length > 0) notes.warn('left-out', word('page.left-out', { names: left.join(', ') }), []);
  return undefined;
}

/** One job as a file, with those of its pictures that are still here. @param {Shop} shop @param {import('./files.js').Files} files @param {string} id */
async function jobBytes({ door, store }, files, id) {
  if (!store) return null;
  const { facts, after } = await store.read(id);
  const scene = after === 0 ? await door.lookInto(facts) : null;
  if (!scene) return null;
  /** @type {import('./types/page').JobPicture[]} */
  const pictures = [];
  for (const { digest } of scene.pictures) {
    const blob = await files.bytesOf(digest);
    if (blob) pictures.push({ digest, bytes: new Uint8Array(await blob.arrayBuffer()) });
  }
  const preview = (await store.preview(id)) ?? new Uint8Array();
  return door.aside(facts, (desk) => desk.jobFile(pictures, preview));
}

/**
 * Takes all jobs of such a file in, as jobs of their own; the one on the board stays. One that is damaged is left out, and told.
 * @param {Shop} shop @param {Uint8Array<ArrayBuffer>} bytes @param {Uint32Array} places of the job files, from and to
 */
export async function takeAll(shop, bytes, places) {
  const { door, jobs, store, notes } = shop;
  if (!store) return notes.refuse(word('page.not-kept-why'));
  let taken = 0;
  let broken = 0;
  for (let i = 0; i + 1 < places.length; i += 2) {
    try {
      await takeOne(shop, door.at.openJob(bytes.subarray(places[i], places[i + 1])));
      taken += 1;
    } catch (error) {
      if (error instanceof DOMException) throw error;
      broken += 1;
    }
  }
  await jobs.refresh();
  notes.tell('taken-in', word('page.taken-in', { count: taken }));
  if (broken > 0) notes.warn('broken-jobs', word('page.broken-jobs', { count: broken }), []);
  return undefined;
}

/** @param {Shop} shop @param {ReturnType<import('./types/page').Desk['openJob']>} job */
async function takeOne({ door, store }, { facts, pictures, preview }) {
  const scene = await door.lookInto(facts);
  if (!scene || !store) throw new Error('not all of this job can be read');
  let bytes = facts.reduce((sum, fact) => sum + fact.length, 0);
  for (const { digest, bytes: pixels } of pictures) {
    await store.putPicture(digest, new Uint8Array(pixels));
    bytes += pixels.length;
  }
  const small = preview.length > 0 ? new Uint8Array(preview) : null;
  const own = { id: newJobId(), name: scene.name, bytes, ...(small && { shows: scene.pictures[0]?.digest }) };
  await store.addJob(own, facts, small);
}
