// The bench view: one cut at a time in figures that are read across a bench. The order, the words and what is ticked come from the
// core; the screen is kept awake where the browser can.

import { el, say, show } from './dom.js';
import { fillKey, makeKey } from './keys.js';
import { pageKey } from './notes.js';
import { word } from './words.js';

/** @typedef {import('./types/page').Cuts} Cuts */

export class Bench {
  /** @param {import('./door.js').Door} door */
  constructor(door) {
    this.door = door;
    this.place = 0;
    /** @type {Cuts} */
    this.cuts = { done: '', caution: '', cuts: [] };
    /** @type {WakeLockSentinel | null} */
    this.awake = null;
    const p = (/** @type {string} */ name) => el('p', `bench-${name}`);
    this.letter = p('letter');
    this.name = p('name');
    this.setting = p('setting');
    this.done = p('done');
    this.figure = p('cut');
    this.shoulder = p('shoulder');
    this.from = p('from');
    this.foot = el('p', 'bench-note', { role: 'status' });
    this.tick = this.key('tick', () => this.turn());
    this.back = this.key('back', () => this.go(-1));
    this.next = this.key('next', () => this.go(1), 'main');
    const close = this.key('close', () => this.dialog.close());
    this.body = el('div', 'bench-body', { 'aria-live': 'polite' }, this.letter, this.name, this.figure, this.shoulder, this.from);
    this.dialog = el('dialog', 'over-all bench', {},
      el('div', 'bench-head', {}, this.setting, this.done, close), this.body, this.foot,
      el('div', 'bench-keys', {}, this.back, this.tick, this.next));
    this.again = () => void this.wake();
  }

  /** @param {string} name @param {() => void} act @param {import('./types/scene').Weight} [weight] */
  key(name, act, weight) {
    const button = makeKey(act);
    button.classList.add(`bench-${name}-key`);
    const label = name === 'tick' ? '' : word(`page.bench-${name}`);
    fillKey(button, pageKey(`bench-${name}`, weight, label));
    return button;
  }

  /** Opens over the page, at the first piece that isn't cut; resolves when it is closed. */
  async open() {
    document.body.append(this.dialog);
    this.dialog.showModal();
    this.read();
    const first = this.cuts.cuts.findIndex((cut) => !cut.done);
    this.place = Math.max(0, first);
    this.draw();
    document.addEventListener('visibilitychange', this.again);
    const closed = new Promise((done) => {
      this.dialog.addEventListener('close', () => done(undefined), { once: true });
    });
    await this.wake();
    await closed;
    document.removeEventListener('visibilitychange', this.again);
    this.dialog.remove();
    await this.awake?.release().catch(() => {});
  }

  /** Keeps the screen awake; the browser lets go whenever the page is hidden. */
  async wake() {
    if (document.visibilityState !== 'visible') return;
    try {
      this.awake = await navigator.wakeLock.request('screen');
    } catch {
      // No such thing here, or not now (a low battery).
      this.awake = null;
    }
    say(this.foot, [this.cuts.caution, word(this.awake ? 'page.bench-wakes' : 'page.bench-sleeps')].join(' '));
  }

  read() {
    this.cuts = this.door.read((desk) => desk.bench()) ?? this.cuts;
  }

  /** @param {number} by */
  go(by) {
    this.place = Math.min(this.cuts.cuts.length - 1, Math.max(0, this.place + by));
    this.draw();
  }

  /** Ticks the piece, or takes the tick away. */
  turn() {
    const cut = this.cuts.cuts[this.place];
    if (!cut) return;
    this.door.send(cut.tick);
    this.read();
    this.draw();
  }

  draw() {
    const { cuts, done } = this.cuts;
    const cut = cuts[this.place];
    say(this.done, done);
    say(this.setting, cut?.setting ?? '');
    this.setting.classList.toggle('new', cut?.first ?? false);
    say(this.letter, cut?.letter ?? '');
    say(this.name, cut?.name ?? word('page.bench-none'));
    say(this.figure, cut?.cut ?? '');
    say(this.shoulder, cut?.shoulder ?? '');
    say(this.from, cut?.from ?? '');
    for (const node of [this.tick, this.back, this.next]) show(node, cut !== undefined);
    if (!cut) return;
    this.back.disabled = this.place === 0;
    this.next.disabled = this.place === cuts.length - 1;
    this.dialog.classList.toggle('is-cut', cut.done);
    fillKey(this.tick, { ...pageKey('bench-tick', 'plain', word(cut.done ? 'page.bench-done' : 'page.bench-not-cut')), on: cut.done });
  }
}
