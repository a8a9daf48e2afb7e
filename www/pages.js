// A PDF comes in: its pages are shown small to choose from, and the one chosen is drawn as a picture.

import { byId, el, say } from './dom.js';
import { dressed } from './own.js';
import { Pdf } from './pdf.js';
import { word } from './words.js';

/** A small page's longest side on the screen, CSS px: of few pages, and of more. pages.css has them too. */
const SIDE = { few: 320, more: 208 };
/** So many are few. */
const FEW = 6;
/** From so many pages on there is a field for a page's number. */
const MANY = 25;

/**
 * A page of this PDF, as a picture; none when none was wanted after all. Rejects with Refused when it can't be read.
 * @param {Blob} file @param {string} name
 * @param {(across: number, down: number) => number} fineness pixels to the metre for a page of so many points
 * @param {() => void} opened told when the file has been read
 * @returns {Promise<{ picture: File | null, lettersMissing: boolean }>}
 */
export async function pageOf(file, name, fineness, opened) {
  const [pdf] = await Promise.all([Pdf.open(file, name), dressed('pages.css')]);
  try {
    opened();
    const number = pdf.count === 1 ? 1 : await new Chooser(pdf, name).chosen;
    const blob = number === null ? null : await drawn(pdf, number, name, fineness);
    if (number === null || !blob) return { picture: null, lettersMissing: false };
    const called = pdf.count === 1 ? name : word('page.pdf-page-name', { name, page: number });
    return { picture: new File([blob], called, { type: 'image/png' }), lettersMissing: pdf.lettersMissing };
  } finally {
    pdf.close();
  }
}

/** Draws a page and tells how far it is; null when it was stopped. @param {Pdf} pdf @param {number} number @param {string} name @param {(across: number, down: number) => number} fineness */
async function drawn(pdf, number, name, fineness) {
  const stopping = new AbortController();
  const words = el('p');
  const stop = el('button', 'key', { type: 'button', 'data-key': 'stop-page' }, word('page.stop'));
  stop.addEventListener('click', () => stopping.abort());
  const box = el('div', 'making', { role: 'status' }, words, stop);
  const tell = (/** @type {number} */ share) => say(words, word('page.pdf-drawing', { name, page: number, percent: Math.floor(100 * share) }));
  tell(0);
  byId('floor').append(box);
  try {
    return await pdf.draw(number, fineness, tell, stopping.signal);
  } catch (error) {
    if (stopping.signal.aborted) return null;
    throw error;
  } finally {
    box.remove();
  }
}

/** Small pages to choose from; they are drawn while they are in sight. */
class Chooser {
  /** @param {Pdf} pdf @param {string} name */
  constructor(pdf, name) {
    this.pdf = pdf;
    /** Pages in sight that aren't drawn yet. @type {Set<number>} */
    this.wanted = new Set();
    /** What is being drawn. @type {{ number: number, stopping: AbortController } | null} */
    this.now = null;
    /** Digits of a page's number that were typed just now. */
    this.typed = '';
    /** The page that the keyboard is on. */
    this.at = 1;
    this.keys = Array.from({ length: pdf.count }, (_, i) => this.key(i + 1));
    this.grid = el('ol', 'pages-grid', { 'data-scrolls': '' }, ...this.keys.map((key) => el('li', '', {}, key)));
    this.many = pdf.count > FEW ? /** @type {const} */ ('more') : /** @type {const} */ ('few');
    this.dialog = el('dialog', `over-all pages ${this.many}`, { 'aria-labelledby': 'pages-title' }, this.head(name), this.grid);
    document.body.append(this.dialog);
    /** @type {(number: number | null) => void} */
    this.settle = () => {};
    /** The page that was chosen; null for none. @type {Promise<number | null>} */
    this.chosen = new Promise((resolve) => {
      this.settle = resolve;
    });
    this.listen();
    this.dialog.showModal();
    this.go(1);
  }

  /** @param {string} name */
  head(name) {
    const title = el('h2', 'pages-title', { id: 'pages-title' });
    say(title, word('page.pdf-which', { name, count: this.pdf.count }));
    const close = el('button', 'key', { type: 'button', 'data-key': 'no-page' }, word('page.pdf-none'));
    close.addEventListener('click', () => this.end(null));
    const head = el('div', 'pages-head', {}, title);
    if (this.pdf.count >= MANY) head.append(this.finder());
    head.append(close);
    return head;
  }

  /** For one of many pages, by its number. */
  finder() {
    const field = el('input', 'pages-number', { type: 'text', inputmode: 'numeric', autocomplete: 'off', maxlength: '6', id: 'pages-number' });
    const show = el('button', 'key', { type: 'submit', 'data-key': 'show-page' }, word('page.pdf-show'));
    const form = el('form', 'pages-finder', {}, el('label', '', { for: 'pages-number' }, word('page.pdf-number')), field, show);
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      const number = Number(field.value.trim());
      if (number >= 1 && number <= this.pdf.count && Number.isInteger(number)) {
        for (const key of this.grid.querySelectorAll('.found')) key.classList.remove('found');
        this.keys[number - 1].classList.add('found');
        this.go(number);
      } else field.select();
    });
    return form;
  }

  /** @param {number} number */
  key(number) {
    const key = el('button', 'page-key', { type: 'button', tabindex: '-1', 'data-page': String(number) },
      el('span', 'page-sheet'), el('span', 'page-number', {}, word('page.pdf-page', { page: number })));
    key.addEventListener('click', () => this.end(number));
    return key;
  }

  listen() {
    this.dialog.addEventListener('cancel', (event) => {
      event.preventDefault();
      this.end(null);
    });
    this.dialog.addEventListener('keydown', (event) => {
      // The board's own keys have nothing to do here.
      event.stopPropagation();
      if (this.grid.contains(/** @type {Node} */ (event.target)) && this.pressed(event)) event.preventDefault();
    });
    this.grid.addEventListener('focusin', (event) => {
      const page = event.target instanceof HTMLElement ? Number(event.target.dataset.page) : 0;
      if (page > 0) this.mark(page);
    });
    this.sight = new IntersectionObserver((seen) => this.seen(seen), { root: this.grid, rootMargin: '100px' });
    for (const key of this.keys) this.sight.observe(key);
  }

  /** @param {KeyboardEvent} event @returns {boolean} whether it was taken */
  pressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return false;
    if (/^\d$/.test(event.key)) return this.digit(event.key);
    this.typed = '';
    const across = this.across();
    const last = this.pdf.count;
    const to = {
      ArrowLeft: this.at - 1, ArrowRight: this.at + 1, ArrowUp: this.at - across, ArrowDown: this.at + across, Home: 1, End: last,
    }[event.key];
    if (to === undefined) return false;
    if (to >= 1 && to <= last) this.go(to);
    return true;
  }

  /** A page's number may be typed: each digit goes to the page that they make so far. @param {string} digit */
  digit(digit) {
    for (const typed of [this.typed + digit, digit]) {
      const number = Number(typed);
      if (number < 1 || number > this.pdf.count) continue;
      this.typed = typed;
      this.go(number);
      return true;
    }
    return true;
  }

  /** How many pages stand in a row. */
  across() {
    const top = this.keys[0].offsetTop;
    const next = this.keys.findIndex((key) => key.offsetTop !== top);
    return next < 0 ? this.keys.length : next;
  }

  /** Goes to a page: it is in sight, and what the keyboard presses. @param {number} number */
  go(number) {
    this.keys[number - 1].focus();
  }

  /** Leaving the pages and coming back with the Tab key leads to the one last looked at. @param {number} number */
  mark(number) {
    this.keys[this.at - 1].tabIndex = -1;
    this.at = number;
    this.keys[number - 1].tabIndex = 0;
  }

  /** @param {IntersectionObserverEntry[]} seen */
  seen(seen) {
    for (const { target, isIntersecting } of seen) {
      const key = /** @type {HTMLElement} */ (target);
      const number = Number(key.dataset.page);
      const sheet = /** @type {HTMLElement} */ (key.firstChild);
      if (isIntersecting) {
        if (!sheet.firstChild) this.wanted.add(number);
        continue;
      }
      this.wanted.delete(number);
      // A thousand small pages would take a lot of memory.
      for (const canvas of sheet.querySelectorAll('canvas')) canvas.width = canvas.height = 0;
      sheet.replaceChildren();
      if (this.now?.number === number) this.now.stopping.abort();
    }
    void this.work();
  }

  /** Draws what is wanted, one after the other. */
  async work() {
    if (this.now) return;
    for (;;) {
      const number = Math.min(...this.wanted);
      if (!Number.isFinite(number) || !this.dialog.open) return;
      this.wanted.delete(number);
      const canvas = el('canvas', 'page-small', { 'aria-hidden': 'true' });
      this.now = { number, stopping: new AbortController() };
      const { signal } = this.now.stopping;
      try {
        await this.pdf.small(number, canvas, SIDE[this.many] * Math.min(2, window.devicePixelRatio), signal);
        this.keys[number - 1].firstElementChild?.replaceChildren(canvas);
      } catch (error) {
        // A page that can't be drawn small stays a number; drawn whole it may yet show what there is of it.
        if (!signal.aborted) console.warn(error);
      } finally {
        this.now = null;
      }
    }
  }

  /** @param {number | null} number */
  end(number) {
    this.sight?.disconnect();
    this.wanted.clear();
    this.now?.stopping.abort();
    this.dialog.close();
    this.dialog.remove();
    this.settle(number);
  }
}
