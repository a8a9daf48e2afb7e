// The page's side of the core's door: intents go in, a scene comes out, and every new fact goes to be kept.
// A core that breaks down is built anew from the facts.

import { freshCore } from './own.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').SceneChange} SceneChange */
/** @typedef {import('./types/page').Desk} Desk */
/** @typedef {import('./types/page').Core} Core */
/** @typedef {import('./types/page').Refusal} Refusal */

/**
 * @typedef {object} Listener
 * @property {(scene: Scene, quiet: boolean) => void} scene the scene is another one; quiet when no person did it
 * @property {(refusal: Refusal) => void} refused the core refused, the job is as before
 * @property {(restored: boolean, report: string[]) => void} broke the core broke down, whether the job is back, and what led to it
 */

/**
 * Merges one of the scene's lists.
 * @template {{id: number}} T
 * @param {T[]} before
 * @param {import('./types/scene').Items<T> | undefined} change
 * @returns {T[]}
 */
export function mergeList(before, change) {
  if (!change) return before;
  const news = new Map(change.changed.map((item) => [item.id, item]));
  if (!change.order) return before.map((item) => news.get(item.id) ?? item);
  const byId = new Map(before.map((item) => [item.id, item]));
  for (const [id, item] of news) byId.set(id, item);
  /** @type {T[]} */
  const out = [];
  for (const id of change.order) {
    const item = byId.get(id);
    if (item) out.push(item);
  }
  return out;
}

/**
 * The scene after a change. What didn't change stays the very same object.
 * @param {Scene | null} before
 * @param {SceneChange | Scene} change a whole scene has no revision
 * @returns {Scene}
 */
export function applyChange(before, change) {
  if (!('revision' in change)) return change;
  if (!before) throw new Error('a change came before any scene');
  const { revision: _revision, marks, rows, views, parts, ...rest } = change;
  return {
    ...before,
    ...rest,
    marks: mergeList(before.marks, marks),
    rows: mergeList(before.rows, rows),
    views: mergeList(before.views, views),
    parts: mergeList(before.parts, parts),
  };
}

export class Door {
  /**
   * @param {string} words the words file, as it is
   * @param {import('./keeper.js').Keeper} keeper
   * @param {Listener} listener
   */
  constructor(words, keeper, listener) {
    this.words = words;
    this.keeper = keeper;
    this.listener = listener;
    /** @type {Core | null} */
    this.core = null;
    /** @type {Desk | null} */
    this.desk = null;
    /** @type {Scene | null} */
    this.scene = null;
    /** Every fact of the job so far, as the core wrote it. @type {string[]} */
    this.facts = [];
    /** @type {Promise<void> | null} */
    this.mending = null;
    this.looking = 0;
    /** The job can only be looked at. */
    this.closed = false;
    /** What the core is doing now, as a line for a report. */
    this.doing = '';
  }

  /** Loads the core and opens an empty desk. */
  async open() {
    this.core ??= await freshCore();
    this.desk = new this.core.Desk(this.words);
    this.facts = [];
    this.take(this.desk.scene());
  }

  /** The loaded core. @returns {Desk} */
  get at() {
    if (!this.desk) throw new Error('the core is not loaded yet');
    return this.desk;
  }

  /**
   * Lays the desk anew with a kept job's facts.
   * @param {string[]} facts
   * @returns {number} how many could be taken
   */
  restore(facts) {
    if (!this.core) throw new Error('the core is not loaded yet');
    this.doing = '';
    const desk = new this.core.Desk(this.words);
    const taken = facts.length > 0 ? desk.restore(facts) : 0;
    desk.close(this.closed);
    this.desk = desk;
    this.facts = facts.slice(0, taken);
    this.scene = null;
    this.take(desk.scene());
    return taken;
  }

  /**
   * Goes on in another language: the job, the hand and what is being typed stay as they are.
   * @param {string} words its words file
   */
  speak(words) {
    this.words = words;
    if (!this.desk) return;
    try {
      this.desk.speak(words);
      this.take(this.desk.scene());
    } catch (error) {
      this.failed(error);
    }
  }

  /** Lets the job only be looked at, or opens it again. @param {boolean} closed */
  close(closed) {
    this.closed = closed;
    this.desk?.close(closed);
  }

  /** Takes what another window has added to this job. @param {string[]} facts */
  follow(facts) {
    if (facts.length === 0) return;
    try {
      const change = this.at.follow(facts);
      this.facts.push(...facts);
      this.take(change, true);
    } catch (error) {
      console.error(error);
      this.restore([...this.facts, ...facts]);
    }
  }

  /**
   * A job's scene, without laying it on the board; nothing when not all of it can be read.
   * @param {string[]} facts @returns {Scene | null}
   */
  lookInto(facts) {
    return this.aside(facts, (desk) => /** @type {Scene} */ (desk.scene()));
  }

  /**
   * Does something with another job on a desk of its own; nothing when not all of it can be read.
   * @template T @param {string[]} facts @param {(desk: Desk) => T} act @returns {T | null}
   */
  aside(facts, act) {
    if (!this.core) return null;
    const desk = new this.core.Desk(this.words);
    try {
      return desk.restore(facts) === facts.length ? act(desk) : null;
    } finally {
      desk.free();
    }
  }

  /** @param {SceneChange | Scene} change @param {boolean} [quiet] */
  take(change, quiet = false) {
    this.scene = applyChange(this.scene, change);
    this.listener.scene(this.scene, quiet);
  }

  /**
   * Sends an intent. False when the core refused it.
   * @param {import('./types/scene').Intent} intent
   * @param {boolean} [quiet] no person did it: what is being said to them stands
   * @returns {boolean}
   */
  send(intent, quiet = false) {
    this.doing = JSON.stringify(intent);
    try {
      const change = this.at.intend(intent);
      this.collect();
      this.take(change, quiet);
      return true;
    } catch (error) {
      this.failed(error);
      return false;
    }
  }

  /** Hands what is new in the log to the keeper. */
  collect() {
    const news = this.at.factsFrom(this.facts.length);
    if (news.length === 0) return;
    this.keeper.keep(this.facts.length, news);
    this.facts.push(...news);
  }

  /**
   * Slides the held end and tells where it is now.
   * @param {number} dx picture px
   * @param {number} dy
   * @param {string} by
   * @param {number} zoom screen px per picture px where the person is looking
   * @returns {import('./types/page').At | null}
   */
  slide(dx, dy, by, zoom) {
    this.doing = `# slide ${dx} ${dy} ${by} ${zoom}`;
    try {
      const at = this.at.slide(dx, dy, by, zoom);
      return [at[0], at[1]];
    } catch (error) {
      this.failed(error);
      return null;
    }
  }

  /** Takes what is new in the scene, once before the next frame: while an end is being slid everything follows. */
  lookSoon() {
    if (this.looking) return;
    this.looking = requestAnimationFrame(() => {
      this.looking = 0;
      const change = this.desk && this.read((desk) => desk.look());
      if (change) this.take(change);
    });
  }

  /**
   * Runs something that only reads the desk.
   * @template T
   * @param {(desk: Desk) => T} read
   * @returns {T | null}
   */
  read(read) {
    try {
      return read(this.at);
    } catch (error) {
      this.failed(error);
      return null;
    }
  }

  /** @param {unknown} error */
  failed(error) {
    if (error && typeof error === 'object' && 'key' in error && 'text' in error) {
      this.listener.refused(/** @type {Refusal} */ (error));
      return;
    }
    console.error(error);
    this.mending ??= this.mend(String(error)).finally(() => {
      this.mending = null;
    });
  }

  /** Builds the core anew; the broken instance is never called again. @param {string} why */
  async mend(why) {
    const report = [`# ${why}`.replace(/\s+/g, ' '), ...this.facts, this.doing];
    this.desk = null;
    let restored = false;
    try {
      this.core = await freshCore();
      this.restore(this.facts);
      restored = true;
    } catch (error) {
      console.error(error);
      restored = await this.mendWithoutLast();
    }
    this.listener.broke(restored, report);
  }

  /** Where the last fact itself breaks the core, all but that one. @returns {Promise<boolean>} */
  async mendWithoutLast() {
    try {
      this.core = await freshCore();
      this.restore(this.facts.slice(0, -1));
      return true;
    } catch (error) {
      console.error(error);
      return false;
    }
  }
}
