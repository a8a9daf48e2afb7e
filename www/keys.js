// Keys: what the core (or the page) offers to press.

import { el, say } from './dom.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Key} Key */

/** @type {{button: HTMLElement, key: Key} | null} A guarded key that has had its first touch. */
let armed = null;

/** @param {HTMLElement | null} but the key that stays as it is */
function disarm(but) {
  if (!armed || armed.button === but) return;
  const { button, key } = armed;
  armed = null;
  button.classList.remove('armed');
  say(labelOf(button), key.label);
}

/** Any other touch or key press disarms. */
export function watchGuards() {
  /** @param {Event} event */
  const other = (event) => {
    const button = event.target instanceof Element ? event.target.closest('button') : null;
    disarm(button);
  };
  document.addEventListener('pointerdown', other, { capture: true });
  document.addEventListener(
    'keydown',
    (event) => {
      if (event.key !== 'Enter' && event.key !== ' ') disarm(null);
    },
    { capture: true },
  );
}

/** @param {HTMLElement} button @returns {HTMLElement} */
function labelOf(button) {
  const label = button.querySelector('.key-label');
  return label instanceof HTMLElement ? label : button;
}

/**
 * A key's button, made once and filled by [`fillKey`].
 * @param {(key: Key) => void} press
 * @returns {HTMLButtonElement}
 */
export function makeKey(press) {
  const button = el('button', 'key', { type: 'button' }, el('span', 'key-label'));
  button.addEventListener('click', () => {
    const key = keyOf.get(button);
    if (!key) return;
    if (key.weight === 'guarded' && armed?.button !== button) {
      disarm(button);
      armed = { button, key };
      button.classList.add('armed');
      say(labelOf(button), word('page.touch-again', { label: key.label }));
      return;
    }
    disarm(null);
    press(key);
  });
  return button;
}

/** @type {WeakMap<HTMLElement, Key>} */
const keyOf = new WeakMap();

/**
 * Brings a button up to date with its key.
 * @param {HTMLElement} button
 * @param {Key} key
 */
export function fillKey(button, key) {
  keyOf.set(button, key);
  button.dataset.key = key.id;
  button.classList.toggle('main', key.weight === 'main');
  button.classList.toggle('guarded', key.weight === 'guarded');
  if (key.on) button.setAttribute('aria-pressed', 'true');
  else button.removeAttribute('aria-pressed');
  if (armed?.button === button) armed.key = key;
  else say(labelOf(button), key.label);
}
