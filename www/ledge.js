// The ledge along the lower edge: what to do next, and the keys for it. And the bar across the top.

import { byId, drawing, el, keepList, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { spoken, word } from './words.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/scene').Key} Key */

/**
 * @typedef {object} Hands what the ledge does with a touch
 * @property {(key: Key) => void} press
 * @property {(intent: import('./types/scene').Intent) => void} send
 * @property {(dx: number, dy: number) => void} nudge
 */

/** @type {['up' | 'left' | 'down' | 'right', number, number, string][]} */
const NUDGES = [
  ['up', 0, -1, 'page.nudge-up'],
  ['left', -1, 0, 'page.nudge-left'],
  ['down', 0, 1, 'page.nudge-down'],
  ['right', 1, 0, 'page.nudge-right'],
];

export class Ledge {
  /** @param {Hands} hands */
  constructor(hands) {
    this.hands = hands;
    this.guide = byId('guide');
    this.aside = byId('aside');
    this.refused = byId('refused');
    this.keys = byId('ledge-keys');
    this.nudges = byId('nudges');
    this.first = '';
    for (const [name, dx, dy, key] of NUDGES) {
      const button = el('button', `nudge nudge-${name}`, { type: 'button' }, drawing(name));
      spoken(() => button.setAttribute('aria-label', word(key)));
      button.dataset.key = `nudge-${name}`;
      button.addEventListener('click', () => hands.nudge(dx, dy));
      this.nudges.append(button);
    }
    spoken(() => this.nudges.setAttribute('aria-label', word('page.nudges')));
  }

  /** @param {Scene} scene @param {readonly Key[]} keys what stands on it */
  draw(scene, keys) {
    say(this.guide, scene.guide);
    say(this.aside, scene.aside);
    show(this.aside, scene.aside !== '');
    show(this.nudges, scene.hand != null);
    keepList(this.keys, keys, (key) => key.id, () => makeKey(this.hands.press), fillKey);
    // Where the keys go on to the side, others are shown from their beginning.
    const first = keys[0]?.id ?? '';
    if (first !== this.first) this.keys.scrollLeft = 0;
    this.first = first;
  }

  /** Says why something wasn't done; nothing takes it back. @param {string} text */
  refuse(text) {
    say(this.refused, text);
    show(this.refused, text !== '');
  }
}

export class Top {
  /** @param {Hands} hands */
  constructor(hands) {
    this.hands = hands;
    this.name = byId('job-name');
    this.name.addEventListener('click', () => hands.send({ kind: 'ask', about: 'job-name' }));
    this.steps = byId('steps');
    this.list = byId('step-list');
    this.undo = this.turner('undo', 'page.undo');
    this.redo = this.turner('redo', 'page.redo');
    this.kept = byId('kept');
    /** How the keeping goes. @type {import('./keeper.js').State} */
    this.state = 'empty';
    spoken(() => {
      this.steps.setAttribute('aria-label', word('page.steps'));
      this.tellKept(this.state);
    });
  }

  /** @param {'undo' | 'redo'} kind @param {string} key */
  turner(kind, key) {
    const button = /** @type {HTMLButtonElement} */ (byId(kind));
    const words = el('span', 'turn-words');
    button.append(drawing(kind), words);
    button.addEventListener('click', () => this.hands.send({ kind }));
    return { button, words, bare: key };
  }

  /** @param {Scene} scene */
  draw(scene) {
    say(this.name, scene.name || word('page.no-name'));
    document.title = scene.name ? word('page.title', { name: scene.name }) : word('page.name');
    for (const [turn, what] of /** @type {const} */ ([[this.undo, scene.undo], [this.redo, scene.redo]])) {
      turn.button.disabled = what == null;
      say(turn.words, what ?? word(turn.bare));
    }
    keepList(this.list, scene.steps, (step) => step.step, (step) => this.makeStep(step), (node, step) => {
      const button = /** @type {HTMLElement} */ (node.firstChild);
      say(/** @type {HTMLElement} */ (button.firstChild), step.label);
      button.classList.toggle('done', step.done);
    });
    for (const node of this.list.querySelectorAll('button')) {
      if (node.dataset.step === scene.step) node.setAttribute('aria-current', 'step');
      else node.removeAttribute('aria-current');
    }
  }

  /** @param {import('./types/scene').StepShown} shown */
  makeStep({ step }) {
    const button = el('button', 'step', { type: 'button' }, el('span'));
    button.dataset.step = step;
    button.addEventListener('click', () => this.hands.send({ kind: 'go', step }));
    return el('li', '', {}, button);
  }

  /**
   * How the keeping goes.
   * @param {import('./keeper.js').State} state
   */
  tellKept(state) {
    this.state = state;
    const words = {
      empty: '',
      keeping: word('page.keeping'),
      kept: word('page.kept'),
      failed: word('page.not-kept'),
      looking: word('page.only-looking'),
    };
    this.kept.dataset.state = state;
    say(this.kept, words[state]);
  }
}
