// One window at a time has a job in hand: two would write over each other's facts. The others look on, and may take it over.
//
// A Web Lock says who it is. The store knows too (`holders`), so that a window which was asleep while the job was taken from it
// can't add to it when it wakes. Windows talk over a channel: what has been kept, who asks to take over.

/** How long a window that is asked to give a job up may take, ms: one that sleeps never answers. */
const PATIENCE = 3_000;

/**
 * @typedef {object} Hearing what a window does with what others say
 * @property {(job: string, count: number) => void} kept another window has kept so many facts of a job
 * @property {(job: string) => Promise<boolean>} give another window asks for the job in hand; false when it can't be given
 * @property {(job: string) => void} lost the job was taken from this window
 */

export class Hold {
  /**
   * @param {import('./store.js').Store | null} store
   * @param {string} holder this window's mark
   * @param {Hearing} hearing
   */
  constructor(store, holder, hearing) {
    this.store = store;
    this.holder = holder;
    this.hearing = hearing;
    /** The job in hand. @type {string | null} */
    this.job = null;
    /** @type {() => void} */
    this.free = () => {};
    /** Answers that are waited for. @type {Map<string, (given: boolean) => void>} */
    this.asked = new Map();
    this.channel = 'BroadcastChannel' in window ? new BroadcastChannel('scrieve') : null;
    if (this.channel) this.channel.onmessage = (event) => void this.hear(event.data);
  }

  /**
   * Takes a job in hand if nobody else has it, and lets go of the one before.
   * @param {string} job @returns {Promise<boolean>}
   */
  async claim(job) {
    if (job === this.job) return true;
    return this.lock(job, { ifAvailable: true });
  }

  /**
   * Takes a job over from another window: asks it first, and then, should it sleep, takes it all the same.
   * @param {string} job @returns {Promise<'taken' | 'refused'>} refused: that window has changes which it couldn't keep
   */
  async takeOver(job) {
    if (await this.claim(job)) return 'taken';
    const given = await new Promise((/** @type {(given: boolean | null) => void} */ resolve) => {
      this.asked.set(job, resolve);
      setTimeout(() => resolve(null), PATIENCE);
      this.say({ kind: 'give', job });
    });
    this.asked.delete(job);
    if (given === false) return 'refused';
    if (given === null || !(await this.claim(job))) await this.lock(job, { steal: true });
    return 'taken';
  }

  /** Lets go of the job in hand. */
  release() {
    this.job = null;
    this.free();
    this.free = () => {};
  }

  /** Tells the others that so many facts of the job in hand are kept. @param {string} job @param {number} count */
  announce(job, count) {
    if (job === this.job) this.say({ kind: 'kept', job, count });
  }

  /** @param {{kind: string, job: string, count?: number, given?: boolean}} message */
  say(message) {
    this.channel?.postMessage(message);
  }

  /** @param {{kind: string, job: string, count?: number, given?: boolean}} message */
  async hear({ kind, job, count = 0, given = false }) {
    if (kind === 'kept') this.hearing.kept(job, count);
    else if (kind === 'given') this.asked.get(job)?.(given);
    else if (kind === 'give' && job === this.job) {
      const gives = await this.hearing.give(job);
      if (gives) this.release();
      this.say({ kind: 'given', job, given: gives });
      if (gives) this.hearing.lost(job);
    }
  }

  /**
   * @param {string} job @param {LockOptions} how
   * @returns {Promise<boolean>}
   */
  async lock(job, how) {
    const free = navigator.locks ? await this.locked(job, how) : () => {};
    if (!free) return false;
    this.release();
    this.job = job;
    this.free = free;
    await this.store?.hold(job, this.holder).catch((error) => console.error(error));
    return true;
  }

  /**
   * Resolves when the lock is had, with what frees it, or can't be had, with nothing.
   * @param {string} job @param {LockOptions} how
   * @returns {Promise<(() => void) | null>}
   */
  locked(job, how) {
    return new Promise((resolve) => {
      /** @type {() => void} */
      let free = () => {};
      const held = new Promise((/** @type {(value: void) => void} */ done) => {
        free = () => done();
      });
      navigator.locks.request(`scrieve-job-${job}`, how, (lock) => {
        resolve(lock && free);
        return lock ? held : undefined;
      }).catch(() => {
        // Another window, which got no answer from this one, has taken the lock.
        resolve(null);
        if (job !== this.job) return;
        this.job = null;
        this.hearing.lost(job);
      });
    });
  }
}

/**
 * While pictures are being taken in nobody sweeps away those that no fact names yet.
 * @template T @param {'shared' | 'exclusive'} mode @param {() => Promise<T>} act
 * @returns {Promise<T | undefined>} nothing when it was to be alone and wasn't
 */
export function withPictures(mode, act) {
  if (!navigator.locks) return mode === 'shared' ? act() : Promise.resolve(undefined);
  const how = mode === 'shared' ? { mode } : { mode, ifAvailable: true };
  return navigator.locks.request('scrieve-pictures', how, async (lock) => (lock ? act() : undefined));
}
