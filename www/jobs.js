// The jobs in the browser's database: the last one opens by itself, earlier ones are a touch away.

import { byId, el, keepList, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { newJobId } from './keeper.js';
import { locale, spoken, word } from './words.js';

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
    this.box = byId('jobs');
    this.list = byId('job-list');
    /** @type {Job[]} */
    this.jobs = [];
    /** Lets another window have the open job. @type {() => void} */
    this.letGo = () => {};
    /** What the store has of the open job's name. */
    this.named = '';
    spoken(() => {
      say(byId('jobs-title'), word('page.earlier-jobs'));
      this.draw();
    });
  }

  /** Opens the job that was worked on last, if any. */
  async openLast() {
    await this.refresh();
    const last = this.jobs[0];
    if (last && (await this.claim(last.id))) await this.lay(last.id);
    else await this.claim(this.keeper.job);
  }

  async refresh() {
    try {
      this.jobs = this.store ? [...(await this.store.jobs())].sort((a, b) => b.when - a.when) : [];
    } catch (error) {
      console.error(error);
      this.jobs = [];
    }
    this.draw();
  }

  /**
   * One window at a time works on a job: two would write over each other's facts.
   * @param {string} id
   * @returns {Promise<boolean>}
   */
  async claim(id) {
    if (!navigator.locks) return true;
    /** @type {() => void} */
    let release = () => {};
    const held = new Promise((/** @type {(value: void) => void} */ resolve) => {
      release = () => resolve();
    });
    const got = await new Promise((/** @type {(value: boolean) => void} */ resolve) => {
      void navigator.locks.request(`scrieve-job-${id}`, { ifAvailable: true }, (lock) => {
        resolve(lock !== null);
        return lock ? held : undefined;
      });
    });
    if (got) {
      this.letGo();
      this.letGo = release;
    }
    return got;
  }

  /** Lays a kept job on the board. @param {string} id */
  async lay(id) {
    if (!this.store) return;
    const facts = await this.store.load(id);
    const job = this.jobs.find((one) => one.id === id);
    this.named = job ? job.name : '';
    const taken = this.door.restore(facts);
    if (taken === facts.length) {
      this.keeper.turnTo(id, true);
      return;
    }
    // What can't be read, as from a newer version, is left alone; work goes on in a copy of what can.
    const copy = newJobId();
    await this.claim(copy);
    this.keeper.turnTo(copy, false);
    this.keeper.keep(0, this.door.facts);
    this.notes.warn('half-read', () => word('page.half-read', { count: facts.length - taken }), []);
  }

  /** @param {string} id */
  async open(id) {
    if (id === this.keeper.job) return;
    await this.keeper.settled();
    try {
      if (await this.claim(id)) await this.lay(id);
      else this.notes.refuse(word('page.job-elsewhere'));
    } catch (error) {
      console.error(error);
      this.notes.refuse(word('page.job-failed'));
    }
    await this.refresh();
  }

  /**
   * Begins a job of its own, with facts from a job file or none.
   * @param {string[]} facts
   */
  async begin(facts) {
    await this.keeper.settled();
    const id = newJobId();
    await this.claim(id);
    this.named = '';
    this.door.restore(facts);
    this.keeper.turnTo(id, false);
    if (facts.length > 0) this.keeper.keep(0, this.door.facts);
    await this.keeper.settled();
    await this.refresh();
  }

  /** Writes the open job's name and time, when something of it has been kept. */
  async note() {
    const { scene } = this.door;
    if (!this.store || !scene || this.keeper.state !== 'kept') return;
    try {
      await this.store.putJob({ id: this.keeper.job, name: scene.name, when: Date.now() });
    } catch (error) {
      console.error(error);
      return;
    }
    if (this.named !== scene.name || !this.jobs.some((job) => job.id === this.keeper.job)) {
      this.named = scene.name;
      await this.refresh();
    }
  }

  /** @param {string} id */
  async remove(id) {
    await this.keeper.settled();
    await this.store?.deleteJob(id);
    if (id === this.keeper.job) await this.begin([]);
    else await this.refresh();
    await this.sweep();
  }

  /** Lets go of the pictures that no kept job shows any more. */
  async sweep() {
    if (!this.store) return;
    /** @type {Set<string>} */
    const wanted = new Set();
    for (const { id } of this.jobs) {
      for (const fact of await this.store.load(id)) {
        const { digest } = JSON.parse(fact);
        if (digest) wanted.add(digest);
      }
    }
    await this.store.sweep(wanted);
  }

  draw() {
    const others = this.jobs.filter((job) => job.id !== this.keeper.job);
    show(this.box, others.length > 0);
    keepList(this.list, others, (job) => job.id, (job) => this.makeJob(job), (node, job) => {
      const open = /** @type {HTMLElement} */ (node.firstChild);
      say(/** @type {HTMLElement} */ (open.firstChild), job.name || word('page.no-name'));
      say(/** @type {HTMLElement} */ (open.lastChild), new Date(job.when).toLocaleDateString(locale()));
      fillKey(/** @type {HTMLElement} */ (node.lastChild), {
        id: `delete-job-${job.id}`,
        label: word('page.delete-job'),
        weight: 'guarded',
        on: false,
        intent: null,
        page: `delete-job-${job.id}`,
      });
    });
  }

  /** @param {Job} job */
  makeJob(job) {
    const open = el('button', 'job-open', { type: 'button' }, el('span', 'job-title'), el('span', 'job-when'));
    open.dataset.job = job.id;
    open.addEventListener('click', () => void this.open(job.id));
    return el('li', 'job', {}, open, makeKey(() => void this.remove(job.id)));
  }
}
