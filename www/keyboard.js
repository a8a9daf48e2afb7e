// Keys of a real keyboard: everything that a finger can do on the board.

import { byId, drawing, el, show } from './dom.js';
import { spoken, word } from './words.js';

/** @typedef {import('./types/scene').Key} Key */

/** @type {Record<string, [number, number]>} */
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

/** How far the picture goes when nothing is held, CSS px. */
const PAN = 60;

/**
 * @typedef {object} Parts what the keyboard works on
 * @property {import('./door.js').Door} door
 * @property {import('./board.js').Board} board
 * @property {import('./touch.js').Touch} touch
 * @property {import('./keypad.js').Keypad} keypad
 * @property {(dx: number, dy: number) => void} nudge picture px
 * @property {(key: Key) => void} press
 */

/** @param {EventTarget | null} target */
function writes(target) {
  return target instanceof HTMLInputElement && target.type !== 'file';
}

/** @param {import('./types/scene').Scene} scene @returns {Key | undefined} */
function mainKey({ entry, ledge }) {
  const main = (entry ? entry.ways : ledge).findLast((key) => key.weight === 'main');
  return main ?? entry?.ways.at(-1);
}

/** @param {import('./types/scene').Hand} hand */
function endOf({ mark, point }) {
  return `${mark} ${point}`;
}

export class Keyboard {
  /** @param {Parts} parts */
  constructor(parts) {
    this.parts = parts;
    /** The space bar went down, and no drag has used it since. */
    this.spaceIsTap = false;
    /** The first end of something half placed that is right as it is: arrows move the picture on to the next. */
    this.setDown = '';
    window.addEventListener('keydown', (event) => {
      if (!event.defaultPrevented && !event.isComposing && this.pressed(event)) event.preventDefault();
    });
    window.addEventListener('keyup', (event) => this.released(event));
    window.addEventListener('blur', () => {
      parts.touch.space = false;
    });
    const { ink } = parts.board;
    this.panKeys();
    window.addEventListener('focusin', ({ target }) => {
      const beside = target instanceof Element && target.closest('#zoom, #pan') !== null && target.matches(':focus-visible');
      this.sight(!parts.board.byHand && (target === ink || beside));
    });
    ink.addEventListener('pointerdown', () => {
      this.spaceIsTap = false;
      this.sight(false);
    });
  }

  /** Keys that move the picture under the cross, for those who have no more than a key that goes on and one that presses. */
  panKeys() {
    const { board } = this.parts;
    for (const way of /** @type {const} */ (['up', 'left', 'down', 'right'])) {
      const button = el('button', `nudge nudge-${way}`, { type: 'button', 'data-key': `pan-${way}` }, drawing(way));
      const [dx, dy] = ARROWS[`Arrow${way[0].toUpperCase()}${way.slice(1)}`];
      button.addEventListener('click', () => board.pan(-dx * PAN, -dy * PAN));
      spoken(() => button.setAttribute('aria-label', word(`page.nudge-${way}`)));
      byId('pan').append(button);
    }
    spoken(() => byId('pan').setAttribute('aria-label', word('page.pan')));
  }

  /** Shows or hides the cross in the middle of the board, and the keys that move the picture under it. @param {boolean} on */
  sight(on) {
    const { board } = this.parts;
    if (board.sight === on) return;
    board.sight = on;
    show(byId('pan'), on && this.parts.door.scene?.picture != null);
    board.ink.classList.toggle('by-keys', on);
    board.ask(false, true);
  }

  /** @param {KeyboardEvent} event @returns {boolean} whether it was taken */
  pressed(event) {
    const { door, keypad } = this.parts;
    if (event.ctrlKey || event.metaKey) return this.chord(event);
    if (event.key === 'Escape') return this.escape();
    const onKey = event.target instanceof HTMLButtonElement || event.target instanceof HTMLAnchorElement;
    if (event.key === 'Enter' && !onKey) return this.enter();
    if (keypad.heard(event)) return true;
    if (writes(event.target)) return false;
    // An end that is asked about can still be put right: a finger can do it too.
    if (door.scene?.entry && !(event.key in ARROWS && door.scene.hand)) return false;
    if (event.key in ARROWS) return this.arrow(event, ARROWS[event.key]);
    if (event.key === ' ' && event.target === this.parts.board.ink) {
      if (!event.repeat) {
        this.parts.touch.space = true;
        this.spaceIsTap = true;
      }
      return true;
    }
    return this.zoom(event.key);
  }

  /** @param {KeyboardEvent} event */
  chord(event) {
    if (event.key.toLowerCase() !== 'z' || event.altKey || writes(event.target)) return false;
    this.parts.door.send({ kind: event.shiftKey ? 'redo' : 'undo' });
    return true;
  }

  escape() {
    const { door } = this.parts;
    const { scene } = door;
    if (scene?.entry) return door.send({ kind: 'dismiss' });
    // What is half placed is offered to be forgotten; what is whole is only let go.
    const half = scene?.ledge.some((key) => key.intent?.kind === 'forget');
    if (half) return door.send({ kind: 'forget' });
    return scene?.hand ? door.send({ kind: 'let-go' }) : false;
  }

  /** The main key of what is open; where there is none, the end in hand is set down. */
  enter() {
    const { scene } = this.parts.door;
    const main = scene ? mainKey(scene) : undefined;
    if (main) this.parts.press(main);
    else if (scene?.hand) this.setDown = endOf(scene.hand);
    else return false;
    return true;
  }

  /** @param {KeyboardEvent} event @param {[number, number]} way */
  arrow(event, [dx, dy]) {
    const { door, board } = this.parts;
    if (event.target instanceof Element && event.target.closest('[data-scrolls]') === event.target) return false;
    const { scene } = door;
    const hand = scene?.hand;
    if (!scene || !hand || (endOf(hand) === this.setDown && !mainKey(scene))) {
      this.sight(document.activeElement === board.ink);
      const far = event.shiftKey ? PAN * 4 : event.altKey ? PAN / 10 : PAN;
      board.pan(-dx * far, -dy * far);
      return true;
    }
    const step = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
    this.parts.nudge(dx * step, dy * step);
    return true;
  }

  /** @param {string} key */
  zoom(key) {
    const { board } = this.parts;
    if (key === '+' || key === '=') board.zoomAt(board.width / 2, board.height / 2, 1.25);
    else if (key === '-' || key === '\u2212') board.zoomAt(board.width / 2, board.height / 2, 0.8);
    else if (key === '0') board.fit();
    else return false;
    return true;
  }

  /** @param {KeyboardEvent} event */
  released(event) {
    if (event.key !== ' ' || !this.parts.touch.space) return;
    this.parts.touch.space = false;
    if (!this.spaceIsTap || event.target !== this.parts.board.ink) return;
    this.sight(true);
    this.parts.touch.tapMiddle();
  }
}

/** The system's own keyboard lies over the page on some tablets: what is written must stand above it. */
export function dodgeKeyboard() {
  const view = window.visualViewport;
  if (!view) return;
  const page = byId('page');
  const dodge = () => {
    const hidden = view.scale < 1.01 ? window.innerHeight - view.height - view.offsetTop : 0;
    page.style.bottom = hidden > 1 ? `${Math.round(hidden)}px` : '';
  };
  // Some tablets move what is seen over the page rather than make it smaller.
  for (const what of ['resize', 'scroll']) view.addEventListener(what, dodge);
}
