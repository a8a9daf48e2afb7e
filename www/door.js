// The page's side of the core's door: intents go in, a scene comes out, and every new fact goes to be kept.
// A core that breaks down is built anew from the facts.

import { freshCore } from './own.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').SceneChange} SceneChange */
/** @typedef {import('./types/page').Desk} Desk */
/** @typedef {import('./types/page').Core} Core */
/** @typedef {import('./types/page').Refusal} Refusal */
/** What a hand was laid by: an intent as it was sent, or a slide (picture px across and down, by what, the zoom). @typedef {string | [number, number, string, number]} Act */

/**
 * @typedef {object} Listener
 * @property {(scene: Scene, quiet: boolean) => void} scene the scene is another one; quiet when no person did it
 * @property {(refusal: Refusal) => void} refused the core refused, the job is as before
 * @property {(on: boolean) => void} waits what was asked for waits until the whole core is there; or no longer
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

/** An act as another desk takes it, which numbers what it asks of the pixels anew. @param {string} act @param {Desk} desk */
function asked(act, desk) {
  if (!act.includes('"kind":"found"')) return act;
  const { seek } = /** @type {Scene} */ (desk.scene());
  return JSON.stringify({ ...JSON.parse(act), serial: seek?.serial ?? 0 });
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
    /** A page begins with a core that goes without what only photographs, parts and paper need. @type {'desk' | 'whole'} */
    this.kind = 'desk';
    /** The whole core, once it has been asked for. @type {Promise<Core> | null} */
    this.coming = null;
    /** The same, once it is there: who asks then need not wait. @type {Core | null} */
    this.waiting = null;
    /** What is sent while the whole core is awaited. @type {{intent: import('./types/scene').Intent, quiet: boolean}[] | null} */
    this.held = null;
    /** What was done since the last step was opened, when the log held so many facts: by that a hand is laid anew. */
    this.lately = { from: 0, acts: /** @type {Act[]} */ ([]) };
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
    this.core ??= await freshCore(this.kind);
    this.desk = new this.core.Desk(this.words);
    this.facts = [];
    this.take(this.desk.scene());
  }

  /** Fetches the whole core, without using it yet. @returns {Promise<Core>} */
  async fetchWhole() {
    this.coming ??= freshCore('whole').catch((error) => {
      this.coming = null;
      throw error;
    });
    this.waiting = await this.coming;
    return this.waiting;
  }

  /** Goes on with the whole core, with the job and the hand as they are. */
  async whole() {
    this.move(await this.fetchWhole());
  }

  /** @param {Core} core the whole one */
  move(core) {
    if (this.kind === 'whole') return;
    const { desk: old, scene } = this;
    this.core = core;
    this.kind = 'whole';
    if (!old) return;
    const { from, acts } = this.lately;
    const desk = new core.Desk(this.words);
    let same = desk.restore(this.facts.slice(0, from)) === from;
    try {
      for (const act of acts) {
        if (typeof act === 'string') desk.follow([asked(act, desk)]);
        else {
          desk.close(false);
          desk.slide(...act);
        }
      }
      same &&= desk.factsFrom(0).length === this.facts.length;
    } catch (error) {
      console.error(error);
      same = false;
    }
    if (!same) {
      this.restore(this.facts);
      // Not by `send`: while others wait, that would stand in line behind them.
      if (scene) this.take(this.at.intend({ kind: 'go', step: scene.step }), true);
      return;
    }
    desk.close(this.closed);
    old.free();
    this.desk = desk;
    this.scene = null;
    this.take(desk.scene(), true);
  }

  /** Remembers what a hand was laid by. @param {Act} act @param {import('./types/scene').Intent} [intent] */
  remember(act, intent) {
    // There is nothing more to move to.
    if (this.kind === 'whole') return;
    // An answer that came too late did nothing.
    if (intent?.kind === 'found' && intent.serial !== this.scene?.seek?.serial) return;
    if (intent?.kind !== 'go') {
      this.lately.acts.push(act);
      return;
    }
    // A step that is opened empties the hand, but for the picture it shows, the table, and what needn't be said again.
    const stays = this.lately.acts.filter((one) => typeof one === 'string' && /"kind":"(show|hush)"/.test(one));
    const picture = this.scene?.picture;
    const shown = picture == null ? [] : [JSON.stringify({ kind: 'show-picture', picture })];
    this.lately = { from: this.facts.length, acts: [...stays, ...shown, act] };
  }

  /** The loaded core. @returns {Desk} */
  get at() {
    if (!this.desk) throw new Error('the core is not loaded yet');
    return this.desk;
  }

  /**
   * Lays the desk anew with a kept job's facts, with the whole core where the first can't take them all.
   * @param {string[]} facts
   * @returns {Promise<number>} how many could be taken
   */
  async lay(facts) {
    let made = this.made(facts);
    if (made.taken < facts.length && this.kind === 'desk') {
      made.desk.free();
      this.core = await this.fetchWhole();
      this.kind = 'whole';
      made = this.made(facts);
    }
    return this.put(made, facts);
  }

  /**
   * The same with the core that there is.
   * @param {string[]} facts
   * @returns {number}
   */
  restore(facts) {
    return this.put(this.made(facts), facts);
  }

  /** A desk with these facts, and how many it could take. @param {string[]} facts */
  made(facts) {
    if (!this.core) throw new Error('the core is not loaded yet');
    this.doing = '';
    const desk = new this.core.Desk(this.words);
    return { desk, taken: facts.length > 0 ? desk.restore(facts) : 0 };
  }

  /** Goes on with a desk. @param {{desk: Desk, taken: number}} made @param {string[]} facts of which it took so many @returns {number} */
  put({ desk, taken }, facts) {
    desk.close(this.closed);
    this.desk = desk;
    this.facts = facts.slice(0, taken);
    this.lately = { from: taken, acts: [] };
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
      for (const fact of facts) this.remember(fact);
      this.take(change, true);
    } catch (error) {
      console.error(error);
      void this.lay([...this.facts, ...facts]);
    }
  }

  /**
   * A job's scene, without laying it on the board; nothing when not all of it can be read.
   * @param {string[]} facts @returns {Promise<Scene | null>}
   */
  lookInto(facts) {
    return this.aside(facts, (desk) => /** @type {Scene} */ (desk.scene()));
  }

  /**
   * Does something with another job on a desk of its own; nothing when not all of it can be read.
   * @template T @param {string[]} facts @param {(desk: Desk) => T} act @returns {Promise<T | null>}
   */
  async aside(facts, act) {
    const core = await this.fetchWhole();
    const desk = new core.Desk(this.words);
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
    if (this.held) {
      this.held.push({ intent, quiet });
      return false;
    }
    this.doing = JSON.stringify(intent);
    try {
      const change = this.at.intend(intent);
      this.collect();
      this.remember(this.doing, intent);
      this.take(change, quiet);
      return true;
    } catch (error) {
      return this.wantsWhole(error) ? this.sendWhole(intent, quiet, /** @type {Refusal} */ (error)) : this.failed(error);
    }
  }

  /** The first core was asked for what only the whole one has. @param {unknown} error */
  wantsWhole(error) {
    return this.kind === 'desk' && error !== null && typeof error === 'object' && 'key' in error && error.key === 'job.wants-whole';
  }

  /** Sends an intent to the whole core; where that has yet to come, it is sent then. @param {import('./types/scene').Intent} intent @param {boolean} quiet @param {Refusal} refusal */
  sendWhole(intent, quiet, refusal) {
    if (this.waiting) {
      this.move(this.waiting);
      return this.send(intent, quiet);
    }
    this.held = [{ intent, quiet }];
    this.listener.waits(true);
    this.whole().catch((error) => {
      console.error(error);
      // What was asked for isn't there; all else is.
      this.held?.shift();
      this.listener.refused(refusal);
    }).finally(() => {
      const held = this.held ?? [];
      this.held = null;
      this.listener.waits(false);
      for (const one of held) this.send(one.intent, one.quiet);
    });
    return false;
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
      this.remember([dx, dy, by, zoom]);
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

  /** Tells what was refused, or mends what broke. @param {unknown} error */
  failed(error) {
    if (error && typeof error === 'object' && 'key' in error && 'text' in error) {
      this.listener.refused(/** @type {Refusal} */ (error));
      return false;
    }
    console.error(error);
    this.mending ??= this.mend(String(error)).finally(() => {
      this.mending = null;
    });
    return false;
  }

  /** Builds the core anew; the broken instance is never called again. @param {string} why */
  async mend(why) {
    const report = [`# ${why}`.replace(/\s+/g, ' '), ...this.facts, this.doing];
    this.desk = null;
    let restored = false;
    try {
      this.core = await this.another();
      this.restore(this.facts);
      restored = true;
    } catch (error) {
      console.error(error);
      restored = await this.mendWithoutLast();
    }
    this.listener.broke(restored, report);
  }

  /** Another core of the kind that is at work. @returns {Promise<Core>} */
  async another() {
    const core = await freshCore(this.kind);
    if (this.kind === 'whole') {
      this.coming = Promise.resolve(core);
      this.waiting = core;
    }
    return core;
  }

  /** Where the last fact itself breaks the core, all but that one. @returns {Promise<boolean>} */
  async mendWithoutLast() {
    try {
      this.core = await this.another();
      this.restore(this.facts.slice(0, -1));
      return true;
    } catch (error) {
      console.error(error);
      return false;
    }
  }
}
