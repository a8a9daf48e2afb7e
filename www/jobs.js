// The jobs in the browser's database: the last one opens by itself, the others are a touch away. Draws nothing (onhand.js does).

import { Hold, withPictures } from './hold.js';
import { newJobId } from './keeper.js';
import { word } from './words.js';

/** @typedef {import('./store.js').Store} Store */
/** @typedef {import('./store.js').Job} Job */

export class Jobs {
  /**
   * @param {Store | null} store
   * @param {import('./keeper.js').Keeper} keeper
   * @param {import('./door.js').Door} door
   * @param {import('./notes.js').Notes} notes
   */
  constructor(store, keeper, door, notes) {
    this.store = store;
    this.keeper = keeper;
    this.door = door;
    this.notes = notes;
    /** All jobs, the latest first, deleted ones too. @type {Job[]} */
    this.jobs = [];
    /** Told that there are others, or the same with other names. @type {() => void} */
    this.changed = () => {};
    /** A small picture of the job on the board, and the digest of what it shows. @type {() => Promise<{shows: string, bytes: Uint8Array<ArrayBuffer>} | null>} */
    this.preview = async () => null;
    /** How large the pictures are, by digest. @type {Map<string, number>} */
    this.sizes = new Map();
    /** The job that a person was told isn't kept when they wanted to leave it. */
    this.warned = '';
    /** Facts from another window are taken one lot after the other. @type {Promise<void>} */
    this.following = Promise.resolve();
    this.hold = new Hold(store, keeper.holder, {
      kept: (job, count) => void this.follow(job, count),
      give: async (job) => {
        await keeper.settled();
        return job !== keeper.job || keeper.waiting.length === 0;
      },
      lost: (job) => void this.lost(job),
    });
    keeper.all = () => door.facts;
    notes.actions.set('take-over', () => void this.takeOver());
  }

  /** Jobs that aren't deleted. */
  get live() {
    return this.jobs.filter((job) => !job.deleted);
  }

  /** Opens the job that was worked on last, if any. */
  async openLast() {
    await this.store?.age().then((gone) => (gone.length > 0 ? this.sweep() : undefined)).catch((error) => console.error(error));
    await this.refresh();
    const [last] = this.live;
    if (last) await this.lay(last.id);
    else await this.hold.claim(this.keeper.job);
  }

  async refresh() {
    try {
      this.jobs = this.store ? await this.store.jobs() : [];
    } catch (error) {
      console.error(error);
      this.jobs = [];
    }
    this.changed();
  }

  /** Lays a kept job on the board: in hand, or only to be looked at when another window has it. @param {string} id */
  async lay(id) {
    if (!this.store) return;
    const mine = await this.hold.claim(id);
    const { facts, after } = await this.store.read(id);
    this.door.close(!mine);
    const taken = await this.door.lay(facts);
    this.notes.drop('looking');
    if (!mine) {
      this.look(id);
      return;
    }
    if (taken === facts.length && after === 0) {
      this.keeper.turnTo(id, taken);
      return;
    }
    // What can't be read, as from a newer version, is left alone; work goes on in a copy of what can.
    await this.copyOut();
    this.notes.warn('half-read', word('page.half-read', { count: facts.length + after - taken }), []);
  }

  /** What is on the desk is from now on a job of its own. */
  async copyOut() {
    const copy = newJobId();
    await this.hold.claim(copy);
    this.door.close(false);
    this.keeper.turnTo(copy, 0);
    this.keeper.keep(0, this.door.facts);
  }

  /** The job on the desk is another window's: it can be looked at and taken over. @param {string} id */
  look(id) {
    if (this.hold.job !== null) this.hold.release();
    this.door.close(true);
    this.keeper.turnTo(id, this.door.facts.length, true);
    this.notes.offer('looking', word('page.looking'), word('page.take-over'), () => void this.takeOver());
  }

  /** Takes the job that is being looked at over from the other window. */
  async takeOver() {
    const { job } = this.keeper;
    if (this.keeper.state !== 'looking') return;
    if ((await this.hold.takeOver(job)) === 'refused') {
      this.notes.refuse(word('page.cannot-take-over'));
      return;
    }
    await this.lay(job);
    await this.refresh();
  }

  /** Another window has kept more of the job that is looked at here. @param {string} job @param {number} count */
  async follow(job, count) {
    const { keeper, door, store } = this;
    if (keeper.state !== 'looking' || keeper.job !== job || !store) return;
    this.following = this.following.then(async () => {
      if (keeper.state !== 'looking' || keeper.job !== job || door.facts.length >= count) return;
      door.follow(await store.load(job, door.facts.length));
    }).catch((error) => console.error(error));
    await this.following;
  }

  /** Another window has taken the job over that was in hand here. @param {string} job */
  async lost(job) {
    if (this.keeper.job !== job || this.keeper.state === 'looking') return;
    await this.keeper.settled();
    if (this.keeper.waiting.length > 0) await this.branch();
    else this.look(job);
  }

  /** What couldn't be kept, since another window has the job now, goes into a copy. */
  async branch() {
    await this.copyOut();
    this.notes.warn('branched', word('page.branched'), []);
  }

  /** Whether the job on the board can be left: not before a person knows that it isn't kept. */
  async leaves() {
    await this.keeper.settled();
    if (this.keeper.waiting.length === 0 || this.warned === this.keeper.job) return true;
    this.warned = this.keeper.job;
    this.notes.refuse(word('page.not-kept-stay'));
    return false;
  }

  /** @param {string} id */
  async open(id) {
    if (id === this.keeper.job || !(await this.leaves())) return;
    try {
      await this.lay(id);
    } catch (error) {
      console.error(error);
      this.notes.refuse(word('page.job-failed'));
    }
    await this.refresh();
  }

  /**
   * Begins a job of its own, with facts from a job file or none.
   * @param {readonly string[]} facts @param {{bytes: Uint8Array<ArrayBuffer>, shows: string} | null} [preview]
   */
  async begin(facts, preview = null) {
    if (!(await this.leaves())) return;
    const id = newJobId();
    await this.hold.claim(id);
    this.notes.drop('looking');
    this.door.close(false);
    await this.door.lay([...facts]);
    this.keeper.turnTo(id, 0);
    if (facts.length > 0) this.keeper.keep(0, this.door.facts);
    await this.keeper.settled();
    if (preview && this.keeper.state === 'kept') {
      await this.store?.putPreview(id, preview.bytes).catch((error) => console.error(error));
      await this.store?.putJob({ id, shows: preview.shows }).catch((error) => console.error(error));
    }
    await this.refresh();
  }

  /** After something of the open job has been kept: its name, how much room it takes, what it looks like. */
  async note() {
    const { scene, facts } = this.door;
    const { job, state } = this.keeper;
    if (!this.store || !scene || state !== 'kept') return;
    this.hold.announce(job, this.keeper.sure);
    const known = this.jobs.find((one) => one.id === job);
    try {
      const bytes = await this.weigh(facts, scene.pictures.map((picture) => picture.digest));
      const shown = known?.shows === scene.pictures[0]?.digest ? null : await this.preview();
      const news = known?.name !== scene.name || Math.abs((known.bytes ?? 0) - bytes) > 0.1 * bytes || shown;
      if (!news || this.keeper.job !== job) return;
      if (shown) await this.store.putPreview(job, shown.bytes);
      await this.store.putJob({ id: job, name: scene.name, bytes, ...(shown && { shows: shown.shows }) });
    } catch (error) {
      console.error(error);
      return;
    }
    await this.refresh();
  }

  /** How much room a job takes, about: pictures count in full, also where another job shows them too. @param {readonly string[]} facts @param {string[]} digests */
  async weigh(facts, digests) {
    let bytes = facts.reduce((sum, fact) => sum + fact.length, 0);
    for (const digest of new Set(digests)) {
      if (!this.sizes.has(digest)) {
        const blob = await this.store?.picture(digest);
        if (blob) this.sizes.set(digest, blob.size);
      }
      bytes += this.sizes.get(digest) ?? 0;
    }
    return bytes;
  }

  /**
   * Does something to a kept job that isn't open here, if no other window has it.
   * @template T @param {string} id @param {(store: Store) => Promise<T>} act @returns {Promise<T | undefined>}
   */
  async apart(id, act) {
    const { store } = this;
    if (!store) return undefined;
    await this.keeper.settled();
    const free = id === this.hold.job || !navigator.locks ? () => {} : await this.hold.locked(id, { ifAvailable: true });
    try {
      if (free) return await act(store);
      this.notes.refuse(word('page.job-elsewhere'));
    } catch (error) {
      console.error(error);
      this.notes.refuse(word('page.job-change-failed'));
    } finally {
      free?.();
      await this.refresh();
    }
    return undefined;
  }

  /** @param {string} id @param {string} name */
  async rename(id, name) {
    const fact = { kind: /** @type {const} */ ('name-job'), name };
    if (id === this.keeper.job) {
      this.door.send(fact);
      return;
    }
    await this.apart(id, async (store) => {
      const count = await store.count(id);
      await store.append(id, count, JSON.stringify(fact));
      await store.putJob({ id, name: (await this.door.lookInto(await store.load(id)))?.name ?? name });
    });
  }

  /** Another job like this one. @param {string} id */
  async copy(id) {
    await this.apart(id, async (store) => {
      const { facts } = await store.read(id);
      const from = this.jobs.find((job) => job.id === id);
      const name = word('page.copy-of', { name: from?.name || word('page.no-name') });
      const own = { id: newJobId(), name, bytes: from?.bytes, shows: from?.shows };
      await store.addJob(own, [...facts, JSON.stringify({ kind: 'name-job', name })], await store.preview(id));
    });
  }

  /** @param {string} id */
  async remove(id) {
    if (id === this.keeper.job) {
      if (this.keeper.state === 'looking') return this.notes.refuse(word('page.job-elsewhere'));
      await this.begin([]);
      if (id === this.keeper.job) return undefined;
    }
    const name = this.jobs.find((job) => job.id === id)?.name || word('page.no-name');
    await this.apart(id, async (store) => {
      await store.deleteJob(id);
      this.notes.offer('put-back', word('page.deleted', { name }), word('page.put-back'), () => void this.putBack(id));
    });
    return undefined;
  }

  /** @param {string} id */
  async putBack(id) {
    await this.apart(id, (store) => store.putBack(id));
  }

  /** Deletes a job for good. @param {string} id */
  async purge(id) {
    await this.apart(id, (store) => store.purge([id]));
    await this.sweep();
  }

  /** Lets go of the pictures that no job shows any more; not while a window takes one in. */
  async sweep() {
    const { store } = this;
    if (store) await withPictures('exclusive', () => store.sweep()).catch((error) => console.error(error));
  }
}
