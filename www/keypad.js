// The keypad for lengths, which takes the ledge's place. It only types: what the text reads as, and whether it
// can be taken, the core says.

import { byId, drawing, el, keepList, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { setText } from './type.js';
import { spoken, word } from './words.js';

/** @typedef {import('./types/scene').Entry} Entry */
/** @typedef {import('./ledge.js').Hands} Hands */

/**
 * The keys, as [what it types, what it shows]. A word for a reader comes from the words file where the face
 * alone doesn't say it.
 * @type {{block: 'digits' | 'parts' | 'units', spoken: string, keys: [string, string, string?][]}[]}
 */
const BLOCKS = [
  {
    block: 'digits',
    spoken: 'page.pad-digits',
    keys: [
      ['7', '7'], ['8', '8'], ['9', '9'], ['back', '', 'page.key-back'],
      ['4', '4'], ['5', '5'], ['6', '6'], ['.', '.', 'page.key-point'],
      ['1', '1'], ['2', '2'], ['3', '3'], ['0', '0'],
    ],
  },
  {
    block: 'parts',
    spoken: 'page.pad-parts',
    keys: [
      ['1/2', '1\u20442'], ['1/4', '1\u20444'], ['3/4', '3\u20444'], [' ', '', 'page.key-space'],
      ['1/8', '1\u20448'], ['3/8', '3\u20448'], ['5/8', '5\u20448'], ['7/8', '7\u20448'],
      ['/', '/', 'page.key-over'], ['/16', '/16', 'page.key-sixteenths'], ['/32', '/32', 'page.key-thirtyseconds'],
      ['/64', '/64', 'page.key-sixtyfourths'],
    ],
  },
  {
    block: 'units',
    spoken: 'page.pad-units',
    keys: [
      ['ft', 'ft \u2032', 'page.key-feet'], ['in', 'in \u2033', 'page.key-inches'],
      ['mm', 'mm', 'page.key-mm'], ['cm', 'cm', 'page.key-cm'],
      ['m', 'm', 'page.key-m'], ['clear', '', 'page.key-clear'],
    ],
  },
];

/** What stands for a unit in the text. */
const UNITS = /** @type {Record<string, string>} */ ({ ft: "'", in: '"', mm: ' mm', cm: ' cm', m: ' m' });

/**
 * The text after a key.
 * @param {string} text
 * @param {string} key
 * @returns {string}
 */
export function typed(text, key) {
  if (key === 'clear') return '';
  if (key === 'back') {
    const fraction = text.match(/ ?\/(16|32|64)$/);
    return [...text].slice(0, fraction ? -(fraction[0].length) : -1).join('');
  }
  if (key in UNITS) return text.trimEnd() + UNITS[key];
  // A ready fraction stands off from the whole before it, and a figure from the feet.
  if (/^\d+\/\d+$/.test(key)) return /[\d'"]$/.test(text) ? `${text} ${key}` : text + key;
  if (/^\d$/.test(key) && text.endsWith("'")) return `${text} ${key}`;
  if (key === ' ' && (text === '' || text.endsWith(' '))) return text;
  return text + key;
}

export class Keypad {
  /** @param {Hands} hands */
  constructor(hands) {
    this.hands = hands;
    this.pad = byId('keypad');
    this.title = byId('entry-title');
    this.text = byId('entry-text');
    this.reads = byId('entry-reads');
    this.error = byId('entry-error');
    this.input = /** @type {HTMLInputElement} */ (byId('entry-input'));
    this.blocks = byId('pad-blocks');
    this.how = byId('entry-how');
    this.ways = byId('entry-ways');
    this.choices = byId('entry-choices');
    this.close = byId('entry-close');
    this.close.append(drawing('close'));
    this.close.addEventListener('click', () => hands.send({ kind: 'dismiss' }));
    this.input.addEventListener('input', () => hands.send({ kind: 'entry', text: this.input.value }));
    /** @type {Entry | null} */
    this.entry = null;
    /** Told when it has gone and had the focus. @type {() => void} */
    this.closed = () => {};
    spoken(() => {
      this.close.setAttribute('aria-label', word('page.dismiss'));
      this.makeBlocks();
    });
  }

  makeBlocks() {
    this.blocks.replaceChildren();
    for (const { block, spoken, keys } of BLOCKS) {
      const node = el('div', `pad-block pad-${block}`, { role: 'group', 'aria-label': word(spoken) });
      for (const [key, drawn, name] of keys) {
        const face = key === '.' ? word('number.decimal') : drawn;
        const button = el('button', 'pad-key', { type: 'button' });
        button.dataset.pad = key;
        if (name) button.setAttribute('aria-label', face ? `${face}, ${word(name)}` : word(name));
        if (key === 'back') button.append(drawing('back'));
        else if (key === ' ') say(button, word('page.face-space'));
        else if (key === 'clear') say(button, word('page.face-clear'));
        else setText(button, face);
        button.addEventListener('click', () => this.type(key));
        node.append(button);
      }
      this.blocks.append(node);
    }
  }

  /** @param {string} key */
  type(key) {
    if (!this.entry) return;
    this.hands.send({ kind: 'entry', text: typed(this.entry.text, key === '.' ? word('number.decimal') : key) });
  }

  /** @param {Entry | null | undefined} entry */
  draw(entry) {
    const opened = !this.entry && entry;
    const left = this.entry && !entry && this.pad.contains(document.activeElement);
    this.entry = entry ?? null;
    show(this.pad, Boolean(entry));
    if (left) this.closed();
    if (!entry) return;
    this.pad.dataset.kind = entry.pad;
    const words = entry.pad === 'text';
    say(this.title, entry.title);
    show(this.close, !entry.ways.some((key) => key.intent?.kind === 'dismiss'));
    show(this.input, words);
    show(this.text, !words);
    show(this.blocks, !words);
    if (words) this.drawInput(entry);
    else this.drawText(entry);
    say(this.reads, entry.reads);
    say(this.error, entry.error ? entry.error.text : '');
    show(this.error, Boolean(entry.error));
    show(this.reads, !entry.error);
    for (const [node, keys] of /** @type {const} */ ([[this.how, entry.how], [this.choices, entry.choices], [this.ways, entry.ways]])) {
      show(node, keys.length > 0);
      keepList(node, keys, (key) => key.id, () => makeKey(this.hands.press), fillKey);
    }
    if (opened) this.focus(words);
  }

  /** @param {boolean} words */
  focus(words) {
    if (words) {
      this.input.focus();
      this.input.select();
    } else this.text.focus({ preventScroll: true });
  }

  /** @param {Entry} entry */
  drawInput(entry) {
    if (this.input.value !== entry.text) this.input.value = entry.text;
    this.input.setAttribute('aria-label', entry.title);
  }

  /** The text as typed, what is wrong with it underlined. @param {Entry} entry */
  drawText(entry) {
    const { text, error } = entry;
    this.text.setAttribute('aria-label', entry.title);
    const letters = [...text];
    const from = error && text !== '' ? Math.min(error.at, letters.length) : letters.length;
    const to = error && text !== '' ? Math.min(letters.length, from + Math.max(1, error.len)) : letters.length;
    const bad = error && text !== '' ? el('span', 'wrong', {}, letters.slice(from, to).join('') || '\u2002') : '';
    this.text.replaceChildren(
      letters.slice(0, from).join(''),
      bad,
      letters.slice(to).join(''),
      el('span', 'caret', { 'aria-hidden': 'true' }),
      el('span', 'entry-unit', {}, /[a-z'"]/i.test(text) ? '' : entry.unit),
    );
  }

  /**
   * A key of a real keyboard. True when it was taken.
   * @param {KeyboardEvent} event
   */
  heard(event) {
    const { entry } = this;
    if (!entry || entry.pad === 'text' || event.ctrlKey || event.metaKey || event.altKey) return false;
    if (event.key === 'Backspace') this.type('back');
    else if ([...event.key].length === 1 && !(event.key === ' ' && document.activeElement instanceof HTMLButtonElement)) {
      this.hands.send({ kind: 'entry', text: entry.text + event.key });
    } else return false;
    return true;
  }
}

