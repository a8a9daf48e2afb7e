// Keeps every fact in the browser, strictly in order, and says how that goes.

/** @typedef {'empty' | 'keeping' | 'kept' | 'failed' | 'looking'} State looking: another window has the job in hand */

/**
 * @typedef {object} FactStore
 * @property {(job: string, seq: number, facts: string[], holder: string) => Promise<void>} append resolves when the database has it
 * @property {(job: string) => Promise<number>} count how many it has
 * @property {() => Promise<void>} reopen
 */

export class Keeper {
  /**
   * @param {FactStore | null} store nothing where the browser has no database
   * @param {(state: State, why: unknown) => void} told
   */
  constructor(store, told) {
    this.store = store;
    this.told = told;
    /** @type {State} */
    this.state = 'empty';
    this.job = newJobId();
    /** This window's own mark, by which the store knows who has a job in hand. */
    this.holder = newJobId();
    /** How many facts of the job are kept for sure. */
    this.sure = 0;
    /** @type {{job: string, seq: number, facts: string[]}[]} */
    this.waiting = [];
    /** @type {Promise<void> | null} */
    this.running = null;
    /** What has to be in the store before the next facts: the pictures that they are about. @type {Promise<unknown> | null} */
    this.first = null;
    /** All facts of the job as they stand on the desk. @type {() => readonly string[]} */
    this.all = () => [];
  }

  /**
   * From now on facts belong to this job.
   * @param {string} job
   * @param {number} kept so many facts of it are in the store
   * @param {boolean} [looking] they are another window's
   */
  turnTo(job, kept, looking = false) {
    this.job = job;
    this.sure = kept;
    this.waiting = [];
    this.tell(looking ? 'looking' : kept > 0 ? 'kept' : 'empty', null);
  }

  /**
   * Takes new facts.
   * @param {number} seq the first one's place in the log
   * @param {readonly string[]} facts
   */
  keep(seq, facts) {
    this.waiting.push({ job: this.job, seq, facts: [...facts] });
    this.retry();
  }

  /** Keeps this before any more facts. @param {Promise<unknown>} what */
  keepFirst(what) {
    const all = Promise.allSettled([this.first, what]).then(() => {
      if (this.first === all) this.first = null;
    });
    this.first = all;
  }

  /** Tries once more to keep what is waiting. */
  retry() {
    if (this.waiting.length === 0) return;
    this.running ??= afterFrame().then(() => this.run()).finally(() => {
      this.running = null;
    });
  }

  /** Resolves when everything handed over so far is kept, or can't be. */
  async settled() {
    await this.running;
  }

  async run() {
    const { store } = this;
    const failed = this.state === 'failed';
    this.tell('keeping', null);
    try {
      if (!store) throw new Error('no database');
      if (failed) await this.recover(store);
      while (this.waiting.length > 0) {
        while (this.first) await this.first;
        const { job, seq, facts } = this.waiting[0];
        await store.append(job, seq, facts, this.holder);
        this.waiting.shift();
        if (job === this.job) this.sure = seq + facts.length;
      }
    } catch (error) {
      // They wait; the next fact tries them again.
      this.tell('failed', error);
      return;
    }
    this.tell('kept', null);
  }

  /**
   * After a failure nobody knows what the store has: a browser may have closed it, or thrown all of it away. What is missing is
   * put again from the desk.
   * @param {FactStore} store
   */
  async recover(store) {
    const { job } = this;
    const there = await store.count(job).catch(async () => {
      await store.reopen();
      return store.count(job);
    });
    if (job === this.job) this.waiting = [{ job, seq: there, facts: this.all().slice(there) }];
  }

  /** @param {State} state @param {unknown} why */
  tell(state, why) {
    this.state = state;
    this.told(state, why);
  }
}

/**
 * After the frame that is being made: what a touch changed is seen before it is written. A page in the background makes
 * no frames, and doesn't wait for one.
 * @returns {Promise<void>}
 */
function afterFrame() {
  if (document.hidden) return Promise.resolve();
  return new Promise((resolve) => {
    // Where frames are held up altogether, that long and no longer.
    const late = setTimeout(resolve, 100);
    requestAnimationFrame(() => setTimeout(() => {
      clearTimeout(late);
      resolve();
    }));
  });
}

/** A name for a job that no other has. */
export function newJobId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}
