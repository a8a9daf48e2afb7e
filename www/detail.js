// More about the chosen mark: its sizes unrounded, what else it measures, and where its plus-or-minus comes from.

import { el, keepList, say } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Detail} Detail */
/** @typedef {import('./types/scene').Row} Row */
/** @typedef {import('./types/scene').Key} Key */

/** @param {string} text @param {keyof HTMLElementTagNameMap} [tag] @param {string} [className] */
function told(text, tag = 'span', className = '') {
  const node = el(tag, className);
  say(node, text);
  return node;
}

/** @param {[string, string][]} lines */
function table(lines) {
  const list = el('dl', 'detail-lines');
  for (const [label, text] of lines) list.append(told(label, 'dt'), told(text, 'dd'));
  return list;
}

/** @param {import('./types/scene').SourceShown} source */
function sourceLine(source) {
  const percent = Math.round(source.share * 100);
  const bar = el('span', 'share', { 'aria-hidden': 'true' });
  const fill = el('span', 'share-fill');
  fill.style.inlineSize = `${Math.max(1, percent)}%`;
  bar.append(fill);
  const share = percent < 1 ? word('page.under-one-percent') : word('page.percent', { count: percent });
  return el('li', 'source', {}, told(source.text, 'span', 'source-text'), told(share, 'span', 'source-share'), bar);
}

/**
 * @param {HTMLElement} slot
 * @param {Detail} detail
 * @param {Row | null} row
 * @param {(key: Key) => void} press
 */
export function drawDetail(slot, detail, row, press) {
  if (shown.get(slot) !== detail || !slot.firstChild) {
    shown.set(slot, detail);
    const measures = /** @type {[string, string][]} */ (
      (row?.more ?? []).map(({ label, size }) => [label, [size.figure.text, unitOf(size), size.pm].filter(Boolean).join(' ')])
    );
    const keys = el('div', 'detail-keys');
    /** @type {(Node)[]} */
    const parts = [table([...measures, ...detail.lines])];
    if (detail.sources.length > 0) {
      parts.push(told(word('page.where-from'), 'h3', 'detail-title'));
      parts.push(el('ul', 'sources', {}, ...detail.sources.map(sourceLine)));
    }
    // The keys stay where they are between two scenes, and so does the focus.
    const old = slot.querySelector('.detail-keys');
    slot.replaceChildren(...parts, old ?? keys);
  }
  const keys = slot.querySelector('.detail-keys');
  if (keys instanceof HTMLElement) keepList(keys, detail.keys, (key) => key.id, () => makeKey(press), fillKey);
}

/** A figure's unit, unless its text has it already. @param {import('./types/scene').Size} size */
function unitOf({ figure }) {
  return figure.text.endsWith(figure.unit) ? '' : figure.unit;
}

/** @type {WeakMap<HTMLElement, Detail>} */
const shown = new WeakMap();
