// Keeps jobs, their facts and their pictures in the browser's own database. It decides nothing: what a fact is
// and what to do with it is the core's business, and when to keep is the page's.
//
//   jobs      id -> { id, name, when, turn, bytes?, deleted? }
//   facts     [job, seq] -> the fact, as the JSON text the core gave
//   pictures  digest -> bytes; kept once, however many jobs show it
//   previews  id -> bytes of a small picture of the job
//   holders   id -> the mark of the window that has the job in hand
//
// Every promise of a change settles when the database says that it is done, under strict durability.

/**
 * @typedef {object} Job
 * @property {string} id
 * @property {string} name
 * @property {number} when it was worked on last, ms since 1970 by a clock that may be wrong: only to be shown
 * @property {number} turn jobs that were worked on later have a higher one, whatever the clock says
 * @property {number} [bytes] it takes about so much room
 * @property {string} [shows] the digest of the picture that its preview shows
 * @property {{seen: number, left: number}} [deleted] `left`: days until it goes for good; `seen`: the clock, when they were counted last
 */

export const VERSION = 2;

/** A database that another window holds back is waited for no longer than this, ms. */
const PATIENCE = 4_000;

/** How long a deleted job can be put back, days. */
export const DAYS = 30;
const DAY = 86_400_000;
/** A clock that leaps (a flat battery sets many back by years) takes no more days than this at once. */
const LEAP = 7;

/** Why something wasn't kept: another window has taken the job in hand. */
export class TakenOver extends Error {
  constructor() {
    super('another window has this job in hand');
    this.name = 'TakenOver';
  }
}

/**
 * What an IndexedDB request comes to.
 * @template T @param {IDBRequest<T>} request @returns {Promise<T>}
 */
function result(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {IDBTransaction} transaction @returns {Promise<void>} */
function done(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error('the database took it back'));
  });
}

/** Every fact of one job. @param {string} job */
const factsOf = (job) => IDBKeyRange.bound([job, 0], [job, Infinity]);

/**
 * Brings a database of any older version up to this one.
 * @param {IDBDatabase} database @param {IDBTransaction} transaction @param {number} from
 */
function upgrade(database, transaction, from) {
  if (from < 1) {
    database.createObjectStore('jobs', { keyPath: 'id' });
    database.createObjectStore('facts');
    database.createObjectStore('pictures');
  }
  if (from < 2) {
    database.createObjectStore('previews');
    database.createObjectStore('holders');
    // A page that was killed between a job's first fact and its entry left facts that no list shows.
    const jobs = transaction.objectStore('jobs');
    const cursor = transaction.objectStore('facts').openKeyCursor();
    cursor.onsuccess = () => {
      const at = cursor.result;
      if (!at) return;
      const [id] = /** @type {[string, number]} */ (at.key);
      const known = jobs.get(id);
      known.onsuccess = () => {
        if (!known.result) jobs.put({ id, name: '', when: 0, turn: 0 });
      };
      at.continue([id, Infinity, 0]);
    };
  }
}

/**
 * Opens the database. Rejects with a VersionError when a newer version of this page has been here, with a TimeoutError when
 * another window doesn't let go of an older one.
 * @param {string} name @param {() => void} onclosed @param {number} patience ms
 * @returns {Promise<IDBDatabase>}
 */
async function openDatabase(name, onclosed, patience) {
  const request = indexedDB.open(name, VERSION);
  request.onupgradeneeded = (event) => {
    if (request.transaction) upgrade(request.result, request.transaction, event.oldVersion);
  };
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let late;
  const blocked = new Promise((/** @type {(never: never) => void} */ _, reject) => {
    request.onblocked = () => {
      late = setTimeout(() => reject(new DOMException('another window holds the database back', 'TimeoutError')), patience);
    };
  });
  const opened = result(request);
  try {
    const database = await Promise.race([opened, blocked]);
    database.onversionchange = () => {
      database.close();
      onclosed();
    };
    database.onclose = onclosed;
    return database;
  } catch (error) {
    // Should it come after all, it mustn't hold others back.
    opened.then((database) => database.close(), () => {});
    throw error;
  } finally {
    clearTimeout(late);
  }
}

/**
 * Opens the store; `onclosed` is told when another page needs a newer one, or the browser has closed it: nothing is kept from then on.
 * Rejects as the database does.
 * @param {{ name?: string, onclosed?: () => void, patience?: number }} [options]
 * @returns {Promise<Store>}
 */
export async function openStore({ name = 'scrieve', onclosed = () => {}, patience = PATIENCE } = {}) {
  const open = () => openDatabase(name, onclosed, patience);
  return new Store(await open(), open);
}

/** A job's entry as it should be, whatever stands there. @param {any} found @returns {Job | null} */
function sound(found) {
  if (!found || typeof found.id !== 'string') return null;
  /** @param {unknown} value */
  const number = (value) => (typeof value === 'number' && Number.isFinite(value) ? value : 0);
  return { ...found, name: typeof found.name === 'string' ? found.name : '', when: number(found.when), turn: number(found.turn) };
}

/** Jobs, facts and pictures. Whatever fails rejects with the database's own error. */
export class Store {
  #database;
  /** The highest turn that has been given out. */
  #turn = 0;

  #open;

  /** @param {IDBDatabase} database @param {() => Promise<IDBDatabase>} open the same again */
  constructor(database, open) {
    this.#database = database;
    this.#open = open;
  }

  /** Opens the database again, which the browser had closed. */
  async reopen() {
    this.#database.close();
    this.#database = await this.#open();
  }

  /**
   * Changes something, and waits until it is safe.
   * @param {string[]} stores
   * @param {(of: (name: string) => IDBObjectStore, then: <T>(request: IDBRequest<T>, act: (result: T) => void) => void) => void} change
   *   `then` goes on with what a request came to; whatever is thrown takes all of it back
   */
  async #change(stores, change) {
    const transaction = this.#database.transaction(stores, 'readwrite', { durability: 'strict' });
    const safe = done(transaction);
    /** @type {unknown} */
    let refused = null;
    /** @param {() => void} act */
    const guarded = (act) => {
      try {
        act();
      } catch (error) {
        // What can't be kept (no room for a copy, say) must not leave half of a change behind.
        refused = error;
        transaction.abort();
      }
    };
    guarded(() => change((name) => transaction.objectStore(name), (request, act) => {
      request.onsuccess = () => guarded(() => act(request.result));
    }));
    await safe.catch((error) => {
      throw refused ?? error;
    });
  }

  /** @param {string} name */
  #read(name) {
    return this.#database.transaction(name, 'readonly').objectStore(name);
  }

  /**
   * Changes what is known of a job; makes an entry when there is none.
   * @param {Partial<Job> & {id: string}} news
   */
  async putJob(news) {
    await this.#change(['jobs'], (of, then) => then(of('jobs').get(news.id), (known) => {
      of('jobs').put({ name: '', when: 0, turn: 0, ...sound(known), ...news });
    }));
  }

  /** All jobs, the latest first, deleted ones too. @returns {Promise<Job[]>} */
  async jobs() {
    const all = await result(this.#read('jobs').getAll());
    const jobs = all.map(sound).filter((job) => job !== null);
    for (const { turn } of jobs) this.#turn = Math.max(this.#turn, turn);
    return jobs.sort((a, b) => b.turn - a.turn || b.when - a.when);
  }

  /**
   * Keeps facts from number `seq` on, and that the job has been worked on. Rejects with TakenOver when another window has it in hand.
   * @param {string} job @param {number} seq @param {string | string[]} facts JSON texts @param {string} [holder]
   */
  async append(job, seq, facts, holder) {
    const list = typeof facts === 'string' ? [facts] : facts;
    await this.#change(['jobs', 'facts', 'holders'], (of, then) => {
      then(of('holders').get(job), (held) => {
        if (holder !== undefined && held !== undefined && held !== holder) throw new TakenOver();
        // A number that is taken means that another page keeps the same job: better refuse than lose its facts.
        list.forEach((fact, at) => of('facts').add(fact, [job, seq + at]));
      });
      then(of('jobs').get(job), (known) => {
        const before = sound(known);
        this.#turn = Math.max(this.#turn, before?.turn ?? 0) + 1;
        of('jobs').put({ id: job, name: '', ...before, when: Date.now(), turn: this.#turn });
      });
    });
  }

  /** From now on only this window adds to the job. @param {string} job @param {string} holder */
  async hold(job, holder) {
    await this.#change(['holders'], (of) => of('holders').put(holder, job));
  }

  /** Forgets a job's facts and keeps these, from number 0. @param {string} job @param {string[]} facts */
  async replace(job, facts) {
    await this.#change(['facts'], (of) => {
      of('facts').delete(factsOf(job));
      facts.forEach((fact, seq) => of('facts').put(fact, [job, seq]));
    });
  }

  /**
   * A job's facts, in order, up to the first that is missing or is no text.
   * @param {string} job @param {number} [from] @returns {Promise<string[]>}
   */
  async load(job, from = 0) {
    return (await this.read(job, from)).facts;
  }

  /**
   * The same, and how many come after a place that is damaged.
   * @param {string} job @param {number} [from] @returns {Promise<{facts: string[], after: number}>}
   */
  async read(job, from = 0) {
    const range = IDBKeyRange.bound([job, from], [job, Infinity]);
    const facts = this.#read('facts');
    const [keys, texts] = await Promise.all([result(facts.getAllKeys(range)), result(facts.getAll(range))]);
    const numbers = /** @type {[string, number][]} */ (keys).map(([, seq]) => seq);
    const odd = texts.findIndex((text, at) => typeof text !== 'string' || numbers[at] !== from + at);
    return odd < 0 ? { facts: texts, after: 0 } : { facts: texts.slice(0, odd), after: texts.length - odd };
  }

  /** How many facts of a job are kept. @param {string} job @returns {Promise<number>} */
  count(job) {
    return result(this.#read('facts').count(factsOf(job)));
  }

  /**
   * Keeps a whole job that is new here.
   * @param {Partial<Job> & {id: string}} job @param {string[]} facts @param {ArrayBuffer | Uint8Array<ArrayBuffer> | null} preview
   */
  async addJob(job, facts, preview) {
    await this.#change(['jobs', 'facts', 'previews'], (of) => {
      // Just behind the one that is being worked on, which stays the last.
      of('jobs').put({ name: '', when: Date.now(), turn: this.#turn - 0.5, ...job });
      facts.forEach((fact, seq) => of('facts').add(fact, [job.id, seq]));
      if (preview) of('previews').put(preview, job.id);
    });
  }

  /** The job can be put back for a while. @param {string} job */
  async deleteJob(job) {
    await this.putJob({ id: job, deleted: { seen: Date.now(), left: DAYS } });
  }

  /** @param {string} job */
  async putBack(job) {
    await this.putJob({ id: job, deleted: undefined });
  }

  /** Deletes jobs and their facts for good; pictures stay until `sweep`. @param {string[]} jobs */
  async purge(jobs) {
    await this.#change(['jobs', 'facts', 'previews', 'holders'], (of) => {
      for (const job of jobs) {
        for (const name of ['jobs', 'previews', 'holders']) of(name).delete(job);
        of('facts').delete(factsOf(job));
      }
    });
  }

  /**
   * Counts the days of deleted jobs; those whose days are over are gone for good.
   * @param {number} [now] @returns {Promise<string[]>} the ids of those that went
   */
  async age(now = Date.now()) {
    const deleted = (await this.jobs()).filter((job) => job.deleted);
    const over = [];
    for (const { id, deleted: was } of deleted) {
      if (!was) continue;
      // By a clock that was set back no day has passed.
      const left = was.left - Math.min(Math.max((now - was.seen) / DAY, 0), LEAP);
      if (left <= 0) over.push(id);
      else await this.putJob({ id, deleted: { seen: now, left } });
    }
    if (over.length > 0) await this.purge(over);
    return over;
  }

  /** Keeps a job's small picture. @param {string} job @param {ArrayBuffer | Uint8Array<ArrayBuffer>} bytes */
  async putPreview(job, bytes) {
    await this.#change(['previews'], (of) => of('previews').put(bytes, job));
  }

  /** @param {string} job @returns {Promise<Uint8Array<ArrayBuffer> | null>} */
  async preview(job) {
    const bytes = await result(this.#read('previews').get(job));
    return bytes === undefined ? null : new Uint8Array(bytes);
  }

  /**
   * Keeps a picture's bytes under their digest. Bytes, not the Blob: some browsers keep only a reference to
   * the file, which may be gone by the next time.
   * @param {string} digest @param {ArrayBuffer | Uint8Array<ArrayBuffer>} bytes
   */
  async putPicture(digest, bytes) {
    await this.#change(['pictures'], (of) => of('pictures').put(bytes, digest));
  }

  /** A picture's bytes, if they are kept. @param {string} digest @returns {Promise<Blob | undefined>} */
  async picture(digest) {
    const bytes = await result(this.#read('pictures').get(digest));
    return bytes === undefined ? undefined : new Blob([bytes]);
  }

  /**
   * Deletes every picture that no fact names, in one go: none can come in between.
   * @param {Iterable<string>} [besides] digests that stay as well
   */
  async sweep(besides = []) {
    const named = new Set(besides);
    await this.#change(['facts', 'pictures'], (of, then) => then(of('pictures').getAllKeys(), (keys) => {
      then(of('facts').openCursor(), (at) => {
        if (!at) {
          for (const key of keys) if (!named.has(String(key))) of('pictures').delete(key);
          return;
        }
        for (const [, digest] of String(at.value).matchAll(/"digest":"([0-9A-Za-z]+)"/g)) named.add(digest);
        at.continue();
      });
    }));
  }

  /** Closes the database. */
  close() {
    this.#database.close();
  }
}

/**
 * Asks the browser not to throw this site's storage away. Don't wait for it: some browsers put the question
 * to the person, and answer only when they do.
 * @returns {Promise<'kept' | 'may-go' | 'unknown'>} unknown where a browser has no such promise to give
 */
export async function persist() {
  if (!navigator.storage?.persist) return 'unknown';
  return (await navigator.storage.persisted()) || (await navigator.storage.persist()) ? 'kept' : 'may-go';
}

/**
 * How much room this site has taken in this browser and how much it may take, bytes; nothing where it doesn't say.
 * @returns {Promise<{used: number, of: number} | null>}
 */
export async function room() {
  const { usage, quota } = (await navigator.storage?.estimate?.()) ?? {};
  return usage === undefined || quota === undefined ? null : { used: usage, of: quota };
}

/**
 * A name for bytes that no others have: their SHA-256 in hex. Where the page doesn't come over a secure
 * connection a browser won't reckon it; then the name is drawn at random, and equal bytes may be kept twice.
 * @param {ArrayBuffer} bytes @returns {Promise<string>}
 */
export async function digestOf(bytes) {
  const digest = crypto.subtle
    ? new Uint8Array(await crypto.subtle.digest('SHA-256', bytes))
    : crypto.getRandomValues(new Uint8Array(32));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
}
