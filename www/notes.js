// The page's own notes, which stand among the core's: about keeping, files, and new versions.

import { spoken, word } from './words.js';

/** @typedef {import('./types/scene').Note} Note */
/** @typedef {import('./types/scene').Key} Key */

/** What the page's own keys say. */
const LABELS = /** @type {Record<string, string>} */ ({
  'take-picture': 'key.take-picture',
  'find-picture': 'key.find-picture',
  'open-job': 'key.open-job',
  'save-job': 'key.save-job',
  example: 'key.example',
  'new-job': 'key.new-job',
  'keep-again': 'page.keep-again',
});

/**
 * A key for something that the page does itself.
 * @param {string} page
 * @param {import('./types/scene').Weight} [weight]
 * @param {string} [label]
 * @returns {Key}
 */
export function pageKey(page, weight = 'plain', label = LABELS[page] ? word(LABELS[page]) : page) {
  return { id: page, label, weight, on: false, intent: null, page };
}

/** @typedef {string | (() => string)} Told a sentence; as a function it is said again in another language */

/** @param {Told} text */
const told = (text) => (typeof text === 'string' ? text : text());

export class Notes {
  /** @param {() => void} changed @param {(text: string) => void} refuse */
  constructor(changed, refuse) {
    this.changed = changed;
    /** Says why something wasn't done, beside the guide. */
    this.refuse = refuse;
    /** What a page's key does, by its name. @type {Map<string, () => void>} */
    this.actions = new Map();
    /** @type {Note[]} */
    this.list = [];
    /** How each is said, by its id: it may have to be said in another language. @type {Map<string, () => Note>} */
    this.makers = new Map();
    spoken(() => {
      this.list = this.list.map((note) => this.makers.get(note.id)?.() ?? note);
    });
  }

  /** The scene's notes with the page's own, most pressing first. @param {readonly Note[]} others @returns {Note[]} */
  among(others) {
    const rank = { ask: 0, warn: 1, say: 2 };
    return [...this.list, ...others].sort((a, b) => rank[a.tone] - rank[b.tone]);
  }

  /** @param {() => Note} make */
  add(make) {
    const note = make();
    this.makers.set(note.id, make);
    this.list = [...this.list.filter((other) => other.id !== note.id), note];
    this.changed();
  }

  /** @param {string} id @returns {boolean} whether it was one of these */
  drop(id) {
    const left = this.list.filter((note) => note.id !== id);
    if (left.length === this.list.length) return false;
    this.list = left;
    this.changed();
    return true;
  }

  /** A remark. @param {string} id @param {Told} text */
  tell(id, text) {
    this.add(() => ({ id, tone: 'say', text: told(text), keys: [] }));
  }

  /** Something to be looked at. @param {string} id @param {Told} text @param {string[]} pages */
  warn(id, text, pages) {
    this.add(() => ({ id, tone: 'warn', text: told(text), keys: pages.map((page) => pageKey(page)) }));
  }

  /**
   * Something to be done with a touch, once.
   * @param {string} id @param {Told} text @param {Told} label @param {() => void} act
   */
  offer(id, text, label, act) {
    this.actions.set(id, act);
    this.add(() => ({ id, tone: 'ask', text: told(text), keys: [pageKey(id, 'main', told(label))] }));
  }
}
