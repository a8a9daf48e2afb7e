// Keeps jobs, their facts and their pictures in the browser's own database. It decides nothing: what a fact is
// and what to do with it is the core's business, and when to keep is the page's.
//
//   jobs      id -> { id, name, when, preview? }
//   facts     [job, seq] -> the fact, as the JSON text the core gave
//   pictures  digest -> bytes; kept once, however many jobs show it
//
// Every promise of a change settles when the database says that it is done, under strict durability.

/** @typedef {{ id: string, name: string, when: number, preview?: Blob }} Job `when`: ms since 1970 */

const VERSION = 1;

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
 * Opens the store; `onclosed` is told when another page needs a newer one, after which nothing is kept here.
 * @param {{ name?: string, onclosed?: () => void }} [options]
 * @returns {Promise<Store>}
 */
export async function openStore({ name = 'scrieve', onclosed = () => {} } = {}) {
  const request = indexedDB.open(name, VERSION);
  request.onupgradeneeded = () => {
    const database = request.result;
    database.createObjectStore('jobs', { keyPath: 'id' });
    database.createObjectStore('facts');
    database.createObjectStore('pictures');
  };
  const database = await result(request);
  database.onversionchange = () => {
    database.close();
    onclosed();
  };
  database.onclose = onclosed;
  return new Store(database);
}

/** Jobs, facts and pictures. Whatever fails rejects with the database's own error. */
export class Store {
  #database;

  /** @param {IDBDatabase} database */
  constructor(database) {
    this.#database = database;
  }

  /**
   * Changes something, and waits until it is safe.
   * @param {string[]} stores @param {(of: (name: string) => IDBObjectStore) => void} change
   */
  async #change(stores, change) {
    const transaction = this.#database.transaction(stores, 'readwrite', { durability: 'strict' });
    const safe = done(transaction);
    try {
      change((name) => transaction.objectStore(name));
    } catch (error) {
      // What can't be kept (no room for a copy, say) must not leave half of a change behind.
      safe.catch(() => {});
      transaction.abort();
      throw error;
    }
    await safe;
  }

  /** @param {string} name */
  #read(name) {
    return this.#database.transaction(name, 'readonly').objectStore(name);
  }

  /** Keeps what is known of a job, new or not. @param {Job} job */
  async putJob(job) {
    await this.#change(['jobs'], (of) => of('jobs').put(job));
  }

  /** All jobs, the latest first. @returns {Promise<Job[]>} */
  async jobs() {
    const jobs = /** @type {Job[]} */ (await result(this.#read('jobs').getAll()));
    return jobs.sort((a, b) => b.when - a.when);
  }

  /**
   * Keeps facts from number `seq` on.
   * @param {string} job @param {number} seq @param {string | string[]} facts JSON texts
   */
  async append(job, seq, facts) {
    const list = typeof facts === 'string' ? [facts] : facts;
    // A number that is taken means that another page keeps the same job: better refuse than lose its facts.
    await this.#change(['facts'], (of) => list.forEach((fact, at) => of('facts').add(fact, [job, seq + at])));
  }

  /** Forgets a job's facts and keeps these, from number 0. @param {string} job @param {string[]} facts */
  async replace(job, facts) {
    await this.#change(['facts'], (of) => {
      of('facts').delete(factsOf(job));
      facts.forEach((fact, seq) => of('facts').put(fact, [job, seq]));
    });
  }

  /** A job's facts, in order. @param {string} job @returns {Promise<string[]>} */
  load(job) {
    return result(this.#read('facts').getAll(factsOf(job)));
  }

  /** Deletes a job and its facts; pictures stay until `sweep`. @param {string} job */
  async deleteJob(job) {
    await this.#change(['jobs', 'facts'], (of) => {
      of('jobs').delete(job);
      of('facts').delete(factsOf(job));
    });
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

  /** Deletes every picture but these. @param {Iterable<string>} digests */
  async sweep(digests) {
    const keep = new Set(digests);
    const all = await result(this.#read('pictures').getAllKeys());
    await this.#change(['pictures'], (of) => {
      for (const key of all) if (!keep.has(String(key))) of('pictures').delete(key);
    });
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
