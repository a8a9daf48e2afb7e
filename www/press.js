// The press, as the page sees it: one Worker, started when something is first asked of it. It has no pixels of its own and
// asks for them window by window.

import { Talk } from './mill-start.js';

/** @typedef {import('./types/press').Ask} Ask */
/** @typedef {import('./types/press').FromPress} FromPress */
/** @typedef {import('./types/press').Given} Given */
/** @typedef {import('./types/press').Window} Window */

/** @extends {Talk<Ask>} */
class Worker extends Talk {
  /** @param {Press} press */
  constructor(press) {
    super('./press-work.js', 'press');
    this.press = press;
  }

  /** @override @param {FromPress} message */
  heard(message) {
    if ('done' in message) {
      if (message.boards) this.press.onlaid(message.done, message.of);
      else this.press.onstep(message.done, message.of);
    }
    if ('wants' in message) {
      this.press.pixels(message.wants).then(
        (given) => this.tell(given, [given.pixels.buffer]),
        (reason) => {
          console.error(reason);
          this.tell({ pixels: null });
        },
      );
    }
  }
}

export class Press {
  /** @param {(window: Window) => Promise<Given>} pixels luminance of a picture's window, row by row, or its own file */
  constructor(pixels) {
    this.pixels = pixels;
    /** @type {Worker | null} */
    this.worker = null;
    /** Told how far what is being made has come. @type {(done: number, of: number) => void} */
    this.onstep = () => {};
    /** Told how far boards are laid out. @type {(done: number, of: number) => void} */
    this.onlaid = () => {};
  }

  /** @param {Ask} ask @returns {Promise<any>} as {@link Talk.ask} */
  ask(ask) {
    if (!this.worker) {
      const worker = new Worker(this);
      worker.onlost = () => {
        if (this.worker === worker) this.worker = null;
      };
      this.worker = worker;
    }
    return this.worker.ask(ask);
  }

  /** Boards are laid out well enough: what there is by now is answered. */
  enough() {
    this.worker?.tell({ enough: true });
  }

  /** Stops what is being made; the next ask starts another Worker. */
  stop() {
    this.worker?.close();
    this.worker = null;
  }
}
