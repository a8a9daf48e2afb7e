// A part at full size on the glass: how many CSS px make a millimetre here is found by laying a card or a coin on it.

import { el, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { word } from './words.js';

/** @typedef {import('./types/scene').Gauge} Gauge */
/** @typedef {{ name: string, svg: string }} Shown a part's name and its drawing, in mm */

/** Where this glass's CSS px a mm are kept. */
const KEPT = 'scrieve-glass';
/** What the standard says where nothing was matched: 96 px to the inch (CSS Values and Units 3, 5.2). */
const STANDARD = 96 / 25.4;
/** No glass is coarser or finer than this, CSS px a mm. */
const RANGE = [1.5, 16];
/** The first step of the frame's size, and the least; each time it was too far the step is halved. */
const STEPS = [0.08, 0.0005];

/** @returns {number | null} */
function kept() {
  try {
    const px = Number(localStorage.getItem(KEPT));
    return px >= RANGE[0] && px <= RANGE[1] ? px : null;
  } catch {
    return null;
  }
}

/** @param {number} px */
function keep(px) {
  try {
    localStorage.setItem(KEPT, String(px));
  } catch {
    // It is matched again next time.
  }
}

/** @param {string} name @param {() => void} act @param {import('./types/scene').Weight} [weight] */
function key(name, act, weight) {
  const button = makeKey(act);
  fillKey(button, pageKey(`glass-${name}`, weight, word(`page.glass-${name}`)));
  return button;
}

export class Glass {
  /** @param {Gauge[]} gauges @param {Shown[]} shown */
  constructor(gauges, shown) {
    this.gauges = gauges;
    this.shown = shown;
    this.px = kept() ?? STANDARD;
    this.gauge = 0;
    this.part = 0;
    this.step = STEPS[0];
    /** Which way the frame was last changed. */
    this.way = 0;
    this.frame = el('div', 'glass-frame');
    this.sheet = el('img', 'glass-sheet', { draggable: 'false' });
    this.room = el('div', 'glass-room', { tabindex: '0' }, this.frame, this.sheet);
    this.words = el('p', 'glass-words', { role: 'status' });
    this.match = el('div', 'glass-keys', {},
      key('smaller', () => this.change(-1)), key('larger', () => this.change(1)), key('other', () => this.other()),
      key('close', () => this.dialog.close()), key('fits', () => this.fits(), 'main'));
    this.next = key('next', () => this.turn());
    this.show = el('div', 'glass-keys', {},
      key('again', () => this.matching()), this.next, key('close', () => this.dialog.close(), 'main'));
    this.dialog = el('dialog', 'over-all glass', {}, this.room, el('div', 'glass-foot', {}, this.words, this.match, this.show));
  }

  /** Opens over the page; resolves when it is closed. */
  open() {
    document.body.append(this.dialog);
    this.dialog.showModal();
    if (kept()) this.showing();
    else this.matching();
    return new Promise((closed) => {
      this.dialog.addEventListener('close', () => {
        URL.revokeObjectURL(this.sheet.src);
        this.dialog.remove();
        closed(undefined);
      }, { once: true });
    });
  }

  /** @param {boolean} matching */
  turnTo(matching) {
    for (const node of [this.frame, this.match]) show(node, matching);
    for (const node of [this.sheet, this.show]) show(node, !matching);
    this.room.scrollTo(0, 0);
  }

  matching() {
    [this.step, this.way] = [STEPS[0], 0];
    this.turnTo(true);
    this.draw();
  }

  draw() {
    const { label, size, round } = this.gauges[this.gauge];
    this.frame.style.width = `${size[0] * this.px}px`;
    this.frame.style.height = `${size[1] * this.px}px`;
    this.frame.classList.toggle('round', round);
    say(this.words, word('page.glass-match', { gauge: label }));
  }

  /** @param {number} way */
  change(way) {
    if (this.way === -way) this.step = Math.max(STEPS[1], this.step / 2);
    this.way = way;
    this.px = Math.min(RANGE[1], Math.max(RANGE[0], this.px * (1 + way * this.step)));
    this.draw();
  }

  other() {
    this.gauge = (this.gauge + 1) % this.gauges.length;
    this.draw();
  }

  fits() {
    keep(this.px);
    this.showing();
  }

  turn() {
    this.part = (this.part + 1) % this.shown.length;
    this.showing();
  }

  showing() {
    const { name, svg } = this.shown[this.part];
    const size = svg.match(/viewBox="0 0 ([\d.]+) ([\d.]+)"/);
    if (!size) throw new Error('a drawing without a size');
    URL.revokeObjectURL(this.sheet.src);
    this.sheet.src = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    this.sheet.alt = name;
    this.sheet.style.width = `${Number(size[1]) * this.px}px`;
    this.sheet.style.height = `${Number(size[2]) * this.px}px`;
    show(this.next, this.shown.length > 1);
    this.turnTo(false);
    // What is larger than the glass begins with its middle.
    this.room.scrollTo((this.room.scrollWidth - this.room.clientWidth) / 2, (this.room.scrollHeight - this.room.clientHeight) / 2);
    say(this.words, word('page.glass-shown', { part: name }));
  }
}
