// Pictures and files in and out: camera, finder, drop and paste; the job file, the sizes as a table, the example.

import { byId, say, show } from './dom.js';
import { withPictures } from './hold.js';
import { Refused, openPicture, slotsOf, warmMill } from './picture.js';
import { digestOf } from './store.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./picture.js').Picture} Picture */
/** @typedef {import('./store.js').Store} Store */

/**
 * @typedef {object} Shop what the files need of the rest
 * @property {import('./door.js').Door} door
 * @property {import('./keeper.js').Keeper} keeper
 * @property {Store | null} store
 * @property {import('./board.js').Board} board
 * @property {import('./notes.js').Notes} notes
 * @property {Promise<unknown>} ready the core is there and the last job open
 * @property {import('./jobs.js').Jobs} jobs
 */

const EXAMPLE = './examples/marsh-hen.webp';

/** A preview's longer side, px. */
const PREVIEW = 240;

/** @param {Blob} blob */
async function isZip(blob) {
  const [p, k, three, four] = new Uint8Array(await blob.slice(0, 4).arrayBuffer());
  return p === 0x50 && k === 0x4b && three === 3 && four === 4;
}

/** @param {File} file */
async function isPdf(file) {
  const head = await file.slice(0, 1024).text();
  // Some have something before their mark; so may a picture, with one somewhere within.
  return head.startsWith('%PDF-') || (/\.pdf$/i.test(file.name) && head.includes('%PDF-'));
}

/** A file's name from a job's: letters and figures of any alphabet, and hyphens. @param {string} name */
export function fileName(name) {
  const plain = name.normalize('NFC').replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-+|-+$/g, '').toLowerCase();
  return plain.slice(0, 60) || 'job';
}

export class Files {
  /** @param {Shop} shop */
  constructor(shop) {
    this.shop = shop;
    this.busy = byId('busy');
    /** The picture on the board. @type {{digest: string, picture: Picture} | null} */
    this.open = null;
    /** The picture that is wanted on the board. */
    this.wanted = '';
    /** Pictures whose bytes have come in but aren't in the store, or couldn't be put there. @type {Map<string, Blob>} */
    this.inHand = new Map();
    this.inputs = {
      camera: this.input('file-camera'),
      picture: this.input('file-picture'),
      job: this.input('file-job'),
    };
    this.watchDrops();
  }

  /** @param {string} id */
  input(id) {
    const input = /** @type {HTMLInputElement} */ (byId(id));
    input.addEventListener('change', () => {
      const files = [...(input.files ?? [])];
      input.value = '';
      void this.take(files);
    });
    return input;
  }

  watchDrops() {
    const { floor } = this.shop.board;
    window.addEventListener('dragover', (event) => {
      event.preventDefault();
      floor.classList.add('dropping');
    });
    window.addEventListener('dragleave', (event) => {
      if (event.relatedTarget === null) floor.classList.remove('dropping');
    });
    window.addEventListener('drop', (event) => {
      event.preventDefault();
      floor.classList.remove('dropping');
      void this.take([...(event.dataTransfer?.files ?? [])]);
    });
    window.addEventListener('paste', (event) => {
      const files = [...(event.clipboardData?.files ?? [])];
      if (files.length === 0) return;
      event.preventDefault();
      void this.take(files);
    });
  }

  /**
   * Opens the system's chooser. Everything is kept first: the page may be thrown out while the camera is open.
   * @param {'camera' | 'picture' | 'job'} which
   */
  async choose(which) {
    if (which !== 'job') warmMill();
    // Without something to wait for, the chooser opens within the touch itself, which some browsers insist on.
    if (this.shop.keeper.running) await this.shop.keeper.settled();
    this.inputs[which].click();
  }

  /** Says what is being waited for; nothing when that is over. @param {string} text */
  wait(text) {
    say(this.busy, text);
    show(this.busy, text !== '');
  }

  /** Takes in what was chosen, dropped or pasted. @param {File[]} files */
  async take(files) {
    for (const file of files) {
      this.wait(word('page.opening', { name: file.name || word('page.pasted') }));
      try {
        await this.shop.ready;
        const page = (await isPdf(file)) ? await this.pageOf(file) : null;
        if (page && !page.picture) continue;
        show(this.busy, true);
        const from = page?.picture ?? file;
        // What is taken in isn't swept away before the facts that name it are kept.
        await withPictures('shared', async () => {
          if (await isZip(from)) await this.openJobFile(from);
          else await this.addPicture(from);
          await this.shop.keeper.settled();
        });
        if (page?.lettersMissing) this.shop.notes.tell(`letters-${this.wanted}`, word('page.pdf-letters', { name: from.name }));
      } catch (error) {
        this.complain(error, file.name);
      } finally {
        this.wait('');
      }
    }
  }

  /** @param {unknown} error @param {string} name */
  complain(error, name) {
    const { notes } = this.shop;
    if (!this.shop.door.desk) return notes.refuse(word('page.core-failed'));
    if (error instanceof Refused) return notes.refuse(word(error.say.key, slotsOf(error.say)));
    if (error && typeof error === 'object' && 'text' in error) return notes.refuse(String(error.text));
    console.error(error);
    notes.refuse(word('page.file-failed', { name }));
  }

  /** A page of a PDF; no picture when none was wanted after all. What reads it is fetched when it is first needed. @param {File} file */
  async pageOf(file) {
    const [{ pageOf }] = await Promise.all([import('./pages.js'), this.shop.ready]);
    const { door } = this.shop;
    return pageOf(file, file.name || word('page.pasted'), (...size) => door.at.fineness(...size), () => show(this.busy, false));
  }

  /** @param {File} file */
  async addPicture(file) {
    const name = file.name || word('page.pasted');
    const bytes = file.arrayBuffer().then(digestOf);
    // A refused picture is told by its own words; the digest is then of no interest.
    bytes.catch(() => {});
    const picture = await openPicture(file, name);
    const digest = await bytes.catch((error) => {
      picture.close();
      throw error;
    });
    this.inHand.set(digest, file);
    this.wanted = digest;
    this.shop.board.setSize(picture);
    this.put(digest, picture);
    const { header, width, height } = picture;
    const resolution = header.resolution_means_something ? (header.resolution ?? null) : null;
    // A job whose picture is missing is worse than a picture without a job: it is kept before the fact.
    this.shop.keeper.keepFirst(this.keepPicture(digest, file));
    const added = this.shop.door.send({ kind: 'add-picture', name, width, height, resolution, 'focal-35mm': header.focal_35mm ?? null, digest });
    for (const flag of picture.flags) this.shop.notes.tell(`${flag.key}-${digest}`, word(flag.key, slotsOf(flag)));
    if (!added && this.shop.door.scene) await this.follow(this.shop.door.scene);
  }

  /** @param {string} digest @param {Blob} blob */
  async keepPicture(digest, blob) {
    const { store, notes } = this.shop;
    try {
      if (!store) throw new Error('no database');
      await store.putPicture(digest, await blob.arrayBuffer());
      this.inHand.delete(digest);
    } catch (error) {
      console.error(error);
      notes.warn('picture-not-kept', word('page.picture-not-kept'), ['keep-again', 'save-job']);
    }
  }

  /** Tries once more to keep the pictures that couldn't be. */
  async keepWaiting() {
    for (const [digest, blob] of [...this.inHand]) await this.keepPicture(digest, blob);
    if (this.inHand.size === 0) this.shop.notes.drop('picture-not-kept');
  }

  /** @returns {Promise<{shows: string, bytes: Uint8Array<ArrayBuffer>} | null>} what jobs.js calls a preview */
  async preview() {
    const { open } = this;
    if (!open || open.digest !== this.shop.door.scene?.pictures[0]?.digest) return null;
    const { picture, digest } = open;
    const scale = PREVIEW / Math.max(picture.width, picture.height);
    const canvas = document.createElement('canvas');
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const brush = canvas.getContext('2d');
    if (!brush) return null;
    brush.fillStyle = '#ffffff';
    brush.fillRect(0, 0, canvas.width, canvas.height);
    brush.imageSmoothingQuality = 'high';
    brush.drawImage(picture.level, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((/** @type {(blob: Blob | null) => void} */ resolve) => canvas.toBlob(resolve, 'image/jpeg', 0.8));
    return blob && { shows: digest, bytes: new Uint8Array(await blob.arrayBuffer()) };
  }

  /** Lays a picture on the board. @param {string} digest @param {Picture} picture */
  put(digest, picture) {
    this.open?.picture.close();
    this.open = { digest, picture };
    const { board, notes } = this.shop;
    picture.onchange = () => board.askPicture();
    picture.onlost = (lost) => notes.warn('mill-lost', () => word(lost.key, slotsOf(lost)), []);
    const { size } = board;
    if (size?.width !== picture.width || size.height !== picture.height) board.setSize(picture);
    board.setPicture(picture);
  }

  /** Brings the scene's picture onto the board. @param {Scene} scene */
  async follow(scene) {
    const shown = scene.pictures.find((picture) => picture.id === scene.picture);
    const digest = shown?.digest ?? '';
    if (digest === this.wanted) return;
    this.wanted = digest;
    this.open?.picture.close();
    this.open = null;
    this.shop.board.setSize(shown ? { width: shown.width, height: shown.height } : null);
    if (!shown) return;
    try {
      const blob = await this.bytesOf(digest);
      if (!blob) throw new Error('the picture is not in the store');
      const picture = await openPicture(blob, shown.name);
      if (this.wanted === digest) this.put(digest, picture);
      else picture.close();
    } catch (error) {
      console.error(error);
      this.shop.notes.warn(`gone-${digest}`, () => word('page.picture-gone', { name: shown.name }), []);
    }
  }

  /** @param {string} digest @returns {Promise<Blob | null>} */
  async bytesOf(digest) {
    return this.inHand.get(digest) ?? (await this.shop.store?.picture(digest)) ?? null;
  }

  /** @param {Blob} file */
  async openJobFile(file) {
    const { door, jobs, notes } = this.shop;
    const bytes = new Uint8Array(await file.arrayBuffer());
    await door.whole();
    const places = door.at.bundled(bytes);
    if (places.length > 0) {
      const { takeAll } = await import('./bundle.js');
      await takeAll(this.shop, bytes, places);
      return;
    }
    const job = door.at.openJob(bytes);
    for (const { digest, bytes: pixels } of job.pictures) {
      const blob = new Blob([new Uint8Array(pixels)]);
      this.inHand.set(digest, blob);
      await this.keepPicture(digest, blob);
    }
    const [shows] = job.pictures.map((picture) => picture.digest);
    const preview = job.preview.length > 0 && shows ? { bytes: new Uint8Array(job.preview), shows } : null;
    await jobs.begin(job.facts, preview);
    const short = job.facts.length - door.facts.length;
    if (short > 0) notes.warn('half-read', word('page.half-read', { count: short }), []);
  }

  /** All jobs as one file. */
  async saveAll() {
    this.wait(word('page.saving-all'));
    try {
      const { saveAll } = await import('./bundle.js');
      await saveAll(this.shop, this);
    } catch (error) {
      console.error(error);
      this.shop.notes.refuse(word('page.save-all-failed'));
    } finally {
      this.wait('');
    }
  }

  async example() {
    this.wait(word('page.opening-example'));
    try {
      const response = await fetch(EXAMPLE);
      if (!response.ok) throw new Error(`example: ${response.status}`);
      const file = new File([await response.blob()], `${word('page.example-name')}.webp`);
      await this.shop.ready;
      const name = word('page.example-name');
      const { scene } = this.shop.door;
      if (scene && scene.pictures.length === 0 && !scene.name) this.shop.door.send({ kind: 'name-job', name });
      await this.addPicture(file);
    } catch (error) {
      this.complain(error, word('page.example-name'));
    } finally {
      this.wait('');
    }
  }

  /** The examples, to choose from. */
  async examples() {
    try {
      const { Examples } = await import('./examples.js');
      await new Examples(this, this.shop).open();
    } catch (error) {
      this.complain(error, word('page.examples'));
    }
  }

  /** The job as a file, with its pictures. */
  async saveJob() {
    const { door, notes } = this.shop;
    const { scene } = door;
    if (!scene) return;
    /** @type {import('./types/page').JobPicture[]} */
    const pictures = [];
    for (const { digest, name } of scene.pictures) {
      const blob = await this.bytesOf(digest);
      if (!blob) return notes.refuse(word('page.picture-gone', { name }));
      pictures.push({ digest, bytes: new Uint8Array(await blob.arrayBuffer()) });
    }
    await door.whole();
    const preview = (await this.shop.store?.preview(this.shop.keeper.job).catch(() => null)) ?? (await this.preview())?.bytes;
    const bytes = door.read((desk) => desk.jobFile(pictures, preview ?? new Uint8Array()));
    if (bytes) this.handOver(`${fileName(scene.name)}.scrieve.zip`, [new Uint8Array(bytes)], 'application/zip');
  }

  saveCsv() {
    const { door } = this.shop;
    this.saveTable(door.read((desk) => desk.csv()), '');
  }

  saveCuttingTable() {
    const { door } = this.shop;
    this.saveTable(door.read((desk) => desk.cuttingTable()), word('page.cutting-list'));
  }

  /** @param {string | null} csv @param {string} what it is, after the job's name */
  saveTable(csv, what) {
    if (csv == null) return;
    const name = [this.shop.door.scene?.name ?? '', what].filter((one) => one !== '').join(' ');
    this.handOver(`${fileName(name)}.csv`, [csv], 'text/csv');
  }

  /**
   * Gives a file to the person: by the system's own sharing where there is one, which wants a touch with the
   * bytes ready, otherwise as a download.
   * @param {string} name @param {BlobPart[]} parts @param {string} type
   */
  handOver(name, parts, type) {
    const file = new File(parts, name, { type });
    if (navigator.canShare?.({ files: [file] })) {
      this.shop.notes.offer('share-file', () => word('page.file-ready', { name }), () => word('page.share-file'), () => {
        navigator.share({ files: [file] }).catch((error) => {
          if (error instanceof DOMException && error.name === 'AbortError') return;
          this.download(file);
        });
      });
    } else this.download(file);
  }

  /** @param {File} file */
  download(file) {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(file);
    link.download = file.name;
    // A page on the home screen has no way back from a file that opens in its own window.
    if (window.matchMedia('(display-mode: standalone)').matches) link.target = '_blank';
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    this.shop.notes.tell('saved-file', () => word('page.saved-file', { name: file.name }));
  }
}
