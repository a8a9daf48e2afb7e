// The magnified window: the held end as it lies on the picture, in the corner farthest from it and from the finger.

import { brush, fitCanvas } from './board.js';
import { byId, say, show } from './dom.js';
import { drawFine, drawSight } from './ink.js';

/** @typedef {import('./board.js').Board} Board */
/** @typedef {'top-left' | 'top-right' | 'bottom-left' | 'bottom-right'} Corner */

/** How much closer than the board it looks, and the fewest screen px to a picture px. */
const CLOSER = 4;
const LEAST = 3;

export class Magnifier {
  /** @param {Board} board */
  constructor(board) {
    this.board = board;
    this.window = byId('magnifier');
    this.canvas = /** @type {HTMLCanvasElement} */ (byId('magnified'));
    this.what = byId('hand-what');
    this.good = byId('hand-good');
    /** @type {Corner} */
    this.corner = 'top-right';
    /** Where the finger is, CSS px from the board's corner. @type {[number, number] | null} */
    this.finger = null;
  }

  /** Screen px per picture px in the window. */
  get zoom() {
    return Math.max(CLOSER * this.board.eye.zoom, LEAST);
  }

  /** Brings the window up to date with the board's scene. */
  draw() {
    const { scene, picture } = this.board;
    const hand = scene?.hand;
    show(this.window, Boolean(hand && picture));
    if (!scene || !hand || !picture) return;
    say(this.what, hand.what);
    say(this.good, hand.good);
    this.place(hand.at);
    const { width, height } = this.canvas.getBoundingClientRect();
    if (width === 0) return;
    const ratio = fitCanvas(this.canvas, width, height);
    const ctx = brush(this.canvas);
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, this.canvas.width, this.canvas.height);
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    const { zoom } = this;
    const eye = { zoom, x: width / 2 - hand.at[0] * zoom, y: height / 2 - hand.at[1] * zoom };
    picture.draw(ctx, eye);
    drawSight(ctx, width / 2, height / 2, Math.max(width, height), 12, this.board.look);
    drawFine(ctx, scene, eye, this.board.look);
  }

  /** @param {import('./types/scene').At} at picture px */
  place(at) {
    const { eye, width, height } = this.board;
    const end = /** @type {[number, number]} */ ([at[0] * eye.zoom + eye.x, at[1] * eye.zoom + eye.y]);
    const feared = this.finger ? [end, this.finger] : [end];
    const size = this.window.getBoundingClientRect();
    /** @param {Corner} corner how far its middle is from what it must not hide */
    const clear = (corner) => {
      const x = corner.endsWith('left') ? size.width / 2 : width - size.width / 2;
      const y = corner.startsWith('top') ? size.height / 2 : height - size.height / 2;
      return Math.min(...feared.map((place) => Math.hypot(place[0] - x, place[1] - y)));
    };
    /** @type {Corner[]} */
    const corners = ['top-right', 'top-left', 'bottom-right', 'bottom-left'];
    const best = corners.reduce((a, b) => (clear(b) > clear(a) ? b : a));
    // It stays where it is while that is well clear: a window that jumps about is hard to look at.
    const enough = Math.hypot(size.width, size.height) / 2 + 50;
    if (this.finger === null || clear(this.corner) < enough) this.corner = best;
    this.window.dataset.corner = this.corner;
  }
}
