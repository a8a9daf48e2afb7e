// Starts a mill (mill.js, a Worker) and talks with it: every ask gets a promise.

import { startWorker } from './own.js';

/** @typedef {import('./types/mill').Ask} Ask */
/** @typedef {import('./types/mill').FromMill} FromMill */
/** @typedef {import('./types/mill').Say} Say */

/** A refusal in the core's words. */
export class Refused extends Error {
  /** @param {Say} say */
  constructor(say) {
    super(say.key);
    this.name = 'Refused';
    this.say = say;
  }
}

/**
 * What goes into a sentence, by name, for whoever fills it in.
 * @param {Say} say
 * @returns {Record<string, string | number>}
 */
export function slotsOf(say) {
  return Object.fromEntries(say.args.map(([name, value]) => [name, value.text ?? value.count ?? '']));
}

/**
 * A Worker and the asks it hasn't answered yet.
 * @template A what is asked
 */
export class Talk {
  /** @type {Map<number, { resolve: (answer: any) => void, reject: (reason: Error) => void }>} */
  #asks = new Map();
  #next = 1;
  /** @type {Worker} */
  #worker;

  /** @param {string} file the Worker's module @param {string} name */
  constructor(file, name) {
    this.#worker = startWorker(file, name);
    this.#worker.onmessage = (event) => this.#take(event.data);
    // A trap in the core, a file that isn't there: the Worker is of no more use.
    this.#worker.onerror = (event) => {
      event.preventDefault();
      this.#lose(event.message || `the ${name} stopped`);
    };
    this.#worker.onmessageerror = () => this.#lose(`the ${name} could not be understood`);
    /** Told when the Worker is lost; another can take its place. @type {() => void} */
    this.onlost = () => {};
  }

  /**
   * @param {A} ask
   * @returns {Promise<any>} the answer; rejects with Refused in the core's words, or with an Error when
   *   the Worker is lost
   */
  ask(ask) {
    return new Promise((resolve, reject) => {
      const id = this.#next++;
      this.#asks.set(id, { resolve, reject });
      this.#worker.postMessage({ id, ask });
    });
  }

  /** Says something that isn't answered. @param {any} message @param {Transferable[]} [given] */
  tell(message, given = []) {
    this.#worker.postMessage(message, given);
  }

  /** Ends the Worker, whatever it is doing, and gives its memory back. */
  close() {
    this.#worker.terminate();
    this.#rejectAll('stopped');
  }

  /** What the Worker says of itself. @param {any} _message */
  heard(_message) {}

  /** @param {any} message */
  #take(message) {
    if (!('id' in message)) {
      this.heard(message);
      return;
    }
    const waiting = this.#asks.get(message.id);
    this.#asks.delete(message.id);
    if ('refusal' in message) waiting?.reject(new Refused(message.refusal));
    else waiting?.resolve(message.answer);
  }

  /** @param {string} why */
  #lose(why) {
    this.#worker.terminate();
    this.#rejectAll(why);
    this.onlost();
  }

  /** @param {string} why */
  #rejectAll(why) {
    for (const { reject } of this.#asks.values()) reject(new Error(why));
    this.#asks.clear();
  }
}

/** A picture's Worker. @extends {Talk<Ask>} */
export class Mill extends Talk {
  constructor() {
    super('./mill.js', 'mill');
    /** Told how many tiles of how many are cut. @type {(cut: number, of: number) => void} */
    this.oncut = () => {};
    /** Handed the finer reduced picture. @type {(level: ImageBitmap) => void} */
    this.onlevel = (level) => level.close();
  }

  /** @override @param {FromMill} message */
  heard(message) {
    if ('cut' in message) this.oncut(message.cut, message.of);
    else if ('level' in message) this.onlevel(message.level);
  }
}
