// Small helpers for making and keeping elements. Text is always set as text, never as markup.

import { setText } from './type.js';

/**
 * An element with a class, attributes and children.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {string} [className]
 * @param {Record<string, string>} [attributes]
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function el(tag, className = '', attributes = {}, ...children) {
  const node = document.createElement(tag);
  if (className) node.className = className;
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...children);
  return node;
}

/** A touch that came meanwhile goes first: long work is done in pieces. @returns {Promise<void>} */
export const breath = () => new Promise((done) => { setTimeout(done); });

/**
 * The element with this id; the page is broken without it.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

/**
 * Sets `node`'s text when it differs, so that nothing is announced or laid out again for nothing.
 * @param {HTMLElement} node
 * @param {string} text plain, with U+2044 in fractions
 */
export function say(node, text) {
  if (said.get(node) === text) return;
  said.set(node, text);
  setText(node, text);
}

/** @type {WeakMap<HTMLElement, string>} */
const said = new WeakMap();

/** @param {HTMLElement} node @param {boolean} on */
export function show(node, on) {
  if (node.hidden === on) node.hidden = !on;
}

/**
 * Keeps `parent`'s children in step with `items`, reusing an element while its item's name stays. An item
 * that is the very same object as last time is left alone.
 * @template T
 * @param {HTMLElement} parent
 * @param {readonly T[]} items
 * @param {(item: T) => string} nameOf
 * @param {(item: T) => HTMLElement} make
 * @param {(node: HTMLElement, item: T) => void} update
 */
export function keepList(parent, items, nameOf, make, update) {
  const kept = lists.get(parent);
  if (kept && kept.made !== making) {
    for (const { node } of kept.items.values()) node.remove();
    lists.delete(parent);
  }
  /** @type {Map<string, Kept>} */
  const before = lists.get(parent)?.items ?? new Map();
  if (updateOnly(before, items, nameOf, update)) return;
  /** @type {Map<string, Kept>} */
  const now = new Map();
  let next = parent.firstChild;
  for (const item of items) {
    const name = nameOf(item);
    if (now.has(name)) continue;
    let kept = before.get(name);
    if (!kept) {
      kept = { item: undefined, node: make(item) };
    }
    if (kept.item !== item) {
      update(kept.node, item);
      kept.item = item;
    }
    if (kept.node === next) next = next.nextSibling;
    else parent.insertBefore(kept.node, next);
    now.set(name, kept);
  }
  for (const [name, { node }] of before) {
    if (!now.has(name)) node.remove();
  }
  lists.set(parent, { made: making, items: now });
}

/** From now on every list is made anew when it is next drawn: what its elements say is of another language. */
export function remakeLists() {
  making += 1;
}

/**
 * The usual case, and the quick one: the same things in the same order, a few of them new. Does nothing otherwise.
 * @template T
 * @param {Map<string, Kept>} before
 * @param {readonly T[]} items
 * @param {(item: T) => string} nameOf
 * @param {(node: HTMLElement, item: T) => void} update
 * @returns {boolean} whether that was all
 */
function updateOnly(before, items, nameOf, update) {
  if (before.size !== items.length) return false;
  /** @type {[Kept, T][]} */
  const news = [];
  let i = 0;
  for (const [name, kept] of before) {
    const item = items[i++];
    if (kept.item === item) continue;
    if (nameOf(item) !== name) return false;
    news.push([kept, item]);
  }
  for (const [kept, item] of news) {
    update(kept.node, item);
    kept.item = item;
  }
  return true;
}

/** @typedef {{item: unknown, node: HTMLElement}} Kept an element of a list, and what it shows */

/** @type {WeakMap<HTMLElement, {made: number, items: Map<string, Kept>}>} */
const lists = new WeakMap();
/** Counts how often all lists were to be made anew. */
let making = 0;

export const SVG = 'http://www.w3.org/2000/svg';

/** Lines of the page's own small drawings, on a 24 by 24 square. */
const DRAWINGS = {
  undo: 'M9 5 4 10l5 5M4 10h10a6 6 0 0 1 0 12h-3',
  redo: 'm15 5 5 5-5 5M20 10H10a6 6 0 0 0 0 12h3',
  up: 'M12 5 4 18h16z',
  down: 'M12 19 4 6h16z',
  left: 'M5 12 18 4v16z',
  right: 'M19 12 6 4v16z',
  plus: 'M12 4v16M4 12h16',
  minus: 'M4 12h16',
  whole: 'M4 9V4h5M15 4h5v5M20 15v5h-5M9 20H4v-5',
  back: 'M8 5h13v14H8l-6-7zM11 9l6 6M17 9l-6 6',
  close: 'm5 5 14 14M19 5 5 19',
  more: 'm5 9 7 7 7-7',
};

/**
 * A small drawing that says nothing to a screen reader.
 * @param {keyof typeof DRAWINGS} name
 * @returns {SVGSVGElement}
 */
export function drawing(name) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('viewBox', '0 0 24 24');
  svg.setAttribute('aria-hidden', 'true');
  svg.setAttribute('class', `drawing drawing-${name}`);
  const path = document.createElementNS(SVG, 'path');
  path.setAttribute('d', DRAWINGS[name]);
  svg.append(path);
  return svg;
}

/**
 * A short upright piece of a mark's line, as on the board.
 * @param {import('./types/scene').Line} line
 * @returns {SVGSVGElement}
 */
export function lineSample(line) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('viewBox', '0 0 6 44');
  svg.setAttribute('aria-hidden', 'true');
  svg.setAttribute('class', `sample sample-${line}`);
  const stroke = document.createElementNS(SVG, 'line');
  for (const [name, value] of [['x1', '3'], ['x2', '3'], ['y1', '1'], ['y2', '43']]) stroke.setAttribute(name, value);
  svg.append(stroke);
  return svg;
}
