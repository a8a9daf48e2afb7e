// Keeps every fact in the browser, strictly in order, and says how that goes.

/** @typedef {'empty' | 'keeping' | 'kept' | 'failed'} State */

/**
 * @typedef {object} FactStore
 * @property {(job: string, seq: number, facts: string[]) => Promise<void>} append resolves when the database has it
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
    /** @type {{job: string, seq: number, facts: string[]}[]} */
    this.waiting = [];
    /** @type {Promise<void> | null} */
    this.running = null;
  }

  /**
   * From now on facts belong to this job.
   * @param {string} job
   * @param {boolean} kept it has facts in the store
   */
  turnTo(job, kept) {
    this.job = job;
    this.tell(kept ? 'kept' : 'empty', null);
  }

  /**
   * Takes new facts.
   * @param {number} seq the first one's place in the log
   * @param {string[]} facts
   */
  keep(seq, facts) {
    this.waiting.push({ job: this.job, seq, facts });
    this.retry();
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
    this.tell('keeping', null);
    while (this.waiting.length > 0) {
      const { job, seq, facts } = this.waiting[0];
      try {
        if (!this.store) throw new Error('no database');
        await this.store.append(job, seq, facts);
        this.waiting.shift();
      } catch (error) {
        // They wait; the next fact tries them again.
        this.tell('failed', error);
        return;
      }
    }
    this.tell('kept', null);
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
