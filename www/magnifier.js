// The magnified window: the held end as it lies on the picture, in the corner farthest from it and from the finger.

import { brush, fitCanvas } from './board.js';
import { byId, say, show } from './dom.js';
import { drawFine, drawHold, drawSight } from './ink.js';

/** @typedef {import('./board.js').Board} Board */
/** @typedef {'top-left' | 'top-right' | 'bottom-left' | 'bottom-right'} Corner */

/** How much closer than the board it looks, and the fewest screen px to a picture px. */
const CLOSER = 4;
const LEAST = 3;

/** @type {readonly Corner[]} */
const CORNERS = ['top-right', 'top-left', 'bottom-right', 'bottom-left'];

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
    /** A person has sent it to this corner; it stays there while the same end is held. */
    this.sent = false;
    /** Which end it showed last. */
    this.end = '';
    /** How large the window and its canvas are, CSS px; 0 until it shows. */
    this.size = { width: 0, height: 0 };
    this.glass = { width: 0, height: 0 };
    const watch = new ResizeObserver(() => {
      this.measure();
      this.board.ask(false, true);
    });
    watch.observe(this.window);
    watch.observe(this.canvas);
    /** Where the finger is, CSS px from the board's corner. @type {[number, number] | null} */
    this.finger = null;
  }

  /** Screen px per picture px in the window. */
  get zoom() {
    return Math.max(CLOSER * this.board.eye.zoom, LEAST);
  }

  /** Asked for when the window has just come, and told by the browser from then on: asking in every frame costs a layout. */
  measure() {
    const { width, height } = this.window.getBoundingClientRect();
    const glass = this.canvas.getBoundingClientRect();
    this.size = { width, height };
    this.glass = { width: glass.width, height: glass.height };
  }

  /** Brings the window up to date with the board's scene. */
  draw() {
    const { scene, picture } = this.board;
    const hand = scene?.hand;
    const came = this.window.hidden;
    show(this.window, Boolean(hand && picture));
    if (!scene || !hand || !picture) {
      this.board.floor.dataset.magnifier = 'none';
      return;
    }
    say(this.what, hand.what);
    say(this.good, [hand.holding, hand.good].filter(Boolean).join(', '));
    if (came || this.glass.width === 0) this.measure();
    this.place(hand);
    const { width, height } = this.glass;
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
    drawFine(ctx, scene, eye, this.board.look, width, height);
    if (hand.hold) drawHold(ctx, hand.hold, eye, this.board.look);
  }

  /**
   * A touch on the window sends it away, to the best corner that doesn't hide the place that was touched: what is
   * under it can then be touched.
   * @param {{x: number, y: number}} spot CSS px from the board's corner
   */
  hop({ x, y }) {
    const at = this.board.scene?.hand?.at;
    if (!at) return;
    const clear = this.clearance(at);
    const { width, height } = this.size;
    /** @param {Corner} corner */
    const hides = (corner) =>
      (corner.endsWith('left') ? x <= width : x >= this.board.width - width)
      && (corner.startsWith('top') ? y <= height : y >= this.board.height - height);
    const others = CORNERS.filter((corner) => corner !== this.corner);
    const free = others.filter((corner) => !hides(corner));
    this.corner = (free.length > 0 ? free : others).reduce((a, b) => (clear(b) > clear(a) ? b : a));
    this.sent = true;
    this.show();
  }

  /**
   * How far a corner's middle is from what it must not hide, CSS px.
   * @param {import('./types/page').At} at the held end, picture px
   * @returns {(corner: Corner) => number}
   */
  clearance(at) {
    const { eye, width, height } = this.board;
    const end = /** @type {[number, number]} */ ([at[0] * eye.zoom + eye.x, at[1] * eye.zoom + eye.y]);
    const feared = this.finger ? [end, this.finger] : [end];
    const { size } = this;
    return (corner) => {
      const x = corner.endsWith('left') ? size.width / 2 : width - size.width / 2;
      const y = corner.startsWith('top') ? size.height / 2 : height - size.height / 2;
      return Math.min(...feared.map((place) => Math.hypot(place[0] - x, place[1] - y)));
    };
  }

  /** @param {import('./types/scene').Hand} hand */
  place(hand) {
    const end = `${hand.mark} ${hand.point}`;
    if (end !== this.end) this.sent = false;
    this.end = end;
    const clear = this.clearance(hand.at);
    // It stays where it is while that is well clear: a window that jumps about is hard to look at.
    const { width, height } = this.size;
    const enough = Math.hypot(width, height) / 2 + 50;
    const stays = this.sent || this.finger !== null;
    // Where a person has sent it, it gives way to a finger only.
    const inTheWay = this.sent ? this.finger !== null && clear(this.corner) < enough * 0.6 : clear(this.corner) < enough;
    if (!stays || inTheWay) {
      this.corner = CORNERS.reduce((a, b) => (clear(b) > clear(a) ? b : a));
    }
    this.show();
  }

  show() {
    this.window.dataset.corner = this.corner;
    this.board.floor.dataset.magnifier = this.corner;
  }
}
