// The board: the picture on one canvas, the marks that lie still on a second, what a person is at work on on a
// third above them, so that a touch redraws little; and where the eye is.

import { drawLive, drawSight, drawStill, isLive, shown } from './ink.js';
import { Labels, forgetWidths } from './labels.js';

/** @typedef {import('./types/scene').Scene} Scene */
/** @typedef {import('./types/page').At} At */
/** @typedef {import('./types/scene').MarkShown} MarkShown */
/** @typedef {import('./types/page').Eye} Eye */
/** @typedef {import('./types/page').Drawable} Drawable */
/** @typedef {{width: number, height: number}} Size picture px */

/** Room left round a picture that is shown whole, CSS px. */
const MARGIN = 18;
/** A change of the board's height by less than this leaves the picture where it is, CSS px. */
const SLIGHT = 90;
/** Screen px per picture px at most. */
const CLOSEST = 48;

/** @param {HTMLCanvasElement} canvas @returns {CanvasRenderingContext2D} */
export function brush(canvas) {
  const ctx = canvas.getContext('2d');
  if (!ctx) throw new Error('the browser gives no canvas');
  return ctx;
}

/**
 * Fits a canvas to its place on the screen. A canvas is never larger than the screen.
 * @param {HTMLCanvasElement} canvas @param {number} width CSS px @param {number} height CSS px
 * @returns {number} device px per CSS px
 */
export function fitCanvas(canvas, width, height) {
  const ratio = Math.min(window.devicePixelRatio || 1, Math.sqrt(16e6 / Math.max(1, width * height)));
  const w = Math.max(1, Math.round(width * ratio));
  const h = Math.max(1, Math.round(height * ratio));
  if (canvas.width !== w) canvas.width = w;
  if (canvas.height !== h) canvas.height = h;
  return ratio;
}

/** The page's ink as the style sheet has it. @returns {import('./ink.js').Look} */
export function currentLook() {
  const style = getComputedStyle(document.documentElement);
  return {
    ink: style.getPropertyValue('--mark-ink').trim() || '#000',
    ground: style.getPropertyValue('--mark-ground').trim() || '#fff',
    font: style.getPropertyValue('--face').trim() || 'sans-serif',
    scale: window.matchMedia('(prefers-contrast: more)').matches ? 1.4 : 1,
  };
}

/**
 * @typedef {object} Drawn what the still canvas was drawn from
 * @property {Eye} eye
 * @property {Scene['views']} views
 * @property {number | null} picture
 * @property {Set<MarkShown>} marks
 */

export class Board {
  /**
   * @param {HTMLElement} floor what the canvases fill
   * @param {HTMLCanvasElement} sheet lowest, for the picture
   * @param {HTMLCanvasElement} still for the marks that lie still
   * @param {HTMLCanvasElement} ink above, for what is at work; it takes the touches
   */
  constructor(floor, sheet, still, ink) {
    this.floor = floor;
    this.sheet = sheet;
    this.still = still;
    this.ink = ink;
    /** What the still canvas shows. @type {Drawn | null} */
    this.laid = null;
    this.labels = new Labels();
    /** @type {Eye} */
    this.eye = { zoom: 1, x: 0, y: 0 };
    /** The whole picture is shown, and stays so when the board's size changes. */
    this.fitted = true;
    /** @type {Drawable | null} */
    this.picture = null;
    /** The picture's size, which is known before its bytes are read. @type {Size | null} */
    this.size = null;
    /** @type {Scene | null} */
    this.scene = null;
    this.width = 0;
    this.height = 0;
    /** How much of it is taken by keys at the left, CSS px. */
    this.left = 0;
    this.look = currentLook();
    /** The focus is coming by a touch, not by the Tab key. */
    this.byHand = false;
    /** A cross stands in the middle, for placing with keys alone. */
    this.sight = false;
    /** Told after every change of the eye or the drawing. @type {() => void} */
    this.drawn = () => {};
    /** How far the picture was shifted so that the keypad hides nothing. @type {At} */
    this.lifted = [0, 0];
    this.dirty = { sheet: true, ink: true };
    this.asked = 0;
    new ResizeObserver(() => this.resize()).observe(floor);
    for (const query of ['(prefers-color-scheme: dark)', '(prefers-contrast: more)']) {
      window.matchMedia(query).addEventListener('change', () => this.relook());
    }
    document.fonts?.addEventListener?.('loadingdone', () => this.relook());
  }

  /** Takes the focus without showing the cross. */
  takeFocus() {
    this.byHand = true;
    this.ink.focus({ preventScroll: true });
    this.byHand = false;
  }

  relook() {
    forgetWidths();
    this.look = currentLook();
    this.laid = null;
    this.ask(true, true);
  }

  /**
   * Follows the floor's size. A picture shown whole stays so; otherwise, and while the keypad is open, it stays
   * where it is and only makes sure that nothing being placed is hidden.
   */
  resize() {
    const { width, height } = this.floor.getBoundingClientRect();
    if (width === this.width && height === this.height) return;
    const first = this.width === 0;
    const other = width !== this.width || Math.abs(height - this.height) > SLIGHT;
    this.width = width;
    this.height = height;
    if (this.fitted && (first || (other && !this.scene?.entry))) this.fit();
    else this.lift();
    this.drawNow();
  }

  /**
   * Says how large the picture on the board is, whether its pixels are there yet or not.
   * @param {Size | null} size
   */
  setSize(size) {
    this.size = size;
    this.picture = null;
    this.fit();
    this.ask(true, true);
  }

  /** Shows the pixels of the picture whose size is set. @param {Drawable} picture */
  setPicture(picture) {
    this.picture = picture;
    this.ask(true, true);
  }

  /** @param {Scene} scene */
  setScene(scene) {
    this.scene = scene;
    this.ask(false, true);
  }

  /** Shows the whole picture. */
  fit() {
    this.fitted = true;
    this.lifted = [0, 0];
    if (!this.size || this.width === 0) return;
    this.eye = this.wholeEye(this.size);
    this.ask(true, true);
  }

  /** @param {Size} size @returns {Eye} */
  wholeEye({ width, height }) {
    const zoom = Math.min(
      CLOSEST,
      Math.max(20, this.width - this.left - 2 * MARGIN) / width,
      Math.max(20, this.height - 2 * MARGIN) / height,
    );
    return { zoom, x: (this.width + this.left - width * zoom) / 2, y: (this.height - height * zoom) / 2 };
  }

  /**
   * Shifts the picture when the board has become lower and hides what is being placed, and back when it is
   * as high as before.
   */
  lift() {
    this.pan(-this.lifted[0], -this.lifted[1], true);
    this.lifted = [0, 0];
    const places = this.subject();
    if (places.length === 0) return;
    const before = [this.eye.x, this.eye.y];
    this.bring(places);
    this.lifted = [this.eye.x - before[0], this.eye.y - before[1]];
  }

  /** The places that must not be hidden, picture px: what is held, being placed, or chosen. @returns {At[]} */
  subject() {
    const { scene } = this;
    if (!scene) return [];
    const mark = scene.marks.find((m) => m.picture === scene.picture && (m.held != null || m.open || m.selected));
    return [...(mark ? mark.handles : []), ...scene.pending, ...(scene.hand ? [scene.hand.at] : [])];
  }

  /**
   * Shifts the picture as little as brings the places in sight.
   * @param {At[]} places picture px
   */
  bring(places) {
    const edge = 44;
    /** @param {number[]} at @param {number} room */
    const shift = (at, room) => {
      const low = Math.min(...at);
      const high = Math.max(...at);
      if (low >= edge && high <= room - edge) return 0;
      if (high - low > room - 2 * edge) return room / 2 - (low + high) / 2;
      return low < edge ? edge - low : room - edge - high;
    };
    const dx = shift(places.map(([x]) => x * this.eye.zoom + this.eye.x), this.width);
    const dy = shift(places.map(([, y]) => y * this.eye.zoom + this.eye.y), this.height);
    if (dx !== 0 || dy !== 0) this.pan(dx, dy, true);
  }

  /** @param {number} dx CSS px @param {number} dy @param {boolean} [byItself] not by a person's hand */
  pan(dx, dy, byItself = false) {
    this.eye = this.bounded({ ...this.eye, x: this.eye.x + dx, y: this.eye.y + dy });
    if (!byItself) this.moved();
    this.ask(true, true);
  }

  /** A person has moved the eye. */
  moved() {
    this.fitted = false;
    this.lifted = [0, 0];
  }

  /**
   * Zooms by `factor` about a place on the board.
   * @param {number} x CSS px from the board's corner @param {number} y @param {number} factor
   */
  zoomAt(x, y, factor) {
    if (!this.size) return;
    const least = this.wholeEye(this.size).zoom * 0.5;
    const zoom = Math.min(CLOSEST, Math.max(least, this.eye.zoom * factor));
    const by = zoom / this.eye.zoom;
    this.eye = this.bounded({ zoom, x: x - (x - this.eye.x) * by, y: y - (y - this.eye.y) * by });
    this.moved();
    this.ask(true, true);
  }

  /** Never lets the picture leave the board altogether. @param {Eye} eye @returns {Eye} */
  bounded(eye) {
    if (!this.size || this.width === 0) return eye;
    const keep = 60;
    const [w, h] = [this.size.width * eye.zoom, this.size.height * eye.zoom];
    return {
      zoom: eye.zoom,
      x: Math.min(this.width - Math.min(keep, w), Math.max(Math.min(keep, w) - w, eye.x)),
      y: Math.min(this.height - Math.min(keep, h), Math.max(Math.min(keep, h) - h, eye.y)),
    };
  }

  /** @param {number} clientX @param {number} clientY @returns {At} picture px */
  toPicture(clientX, clientY) {
    const { left, top } = this.floor.getBoundingClientRect();
    return [(clientX - left - this.eye.x) / this.eye.zoom, (clientY - top - this.eye.y) / this.eye.zoom];
  }

  /** @param {number} x picture px @param {number} y @returns {[number, number]} CSS px in the window */
  toScreen(x, y) {
    const { left, top } = this.floor.getBoundingClientRect();
    return [left + x * this.eye.zoom + this.eye.x, top + y * this.eye.zoom + this.eye.y];
  }

  /** The picture can be drawn better than it was. */
  askPicture() {
    this.ask(true, false);
  }

  /** @param {boolean} sheet @param {boolean} ink */
  ask(sheet, ink) {
    this.dirty.sheet ||= sheet;
    this.dirty.ink ||= ink;
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = 0;
      this.draw();
    });
  }

  drawNow() {
    this.dirty = { sheet: true, ink: true };
    this.laid = null;
    this.draw();
  }

  draw() {
    if (this.width === 0) return;
    if (this.dirty.sheet) this.drawSheet();
    if (this.dirty.ink) this.drawInk();
    this.dirty = { sheet: false, ink: false };
    this.drawn();
  }

  drawSheet() {
    const ctx = this.clear(this.sheet, true);
    if (this.picture) this.picture.draw(ctx, this.eye);
    else if (this.size) {
      // Blank paper, until the pixels come.
      ctx.fillStyle = this.look.ground;
      ctx.fillRect(this.eye.x, this.eye.y, this.size.width * this.eye.zoom, this.size.height * this.eye.zoom);
    }
  }

  /** Lays the still marks. Those that only come to others are laid on top of them. */
  drawStill() {
    const { scene, eye } = this;
    if (!scene) return;
    const marks = shown(scene).filter((mark) => !isLive(mark));
    const { laid } = this;
    const same = laid && laid.eye === eye && laid.views === scene.views && laid.picture === scene.picture;
    const before = laid?.marks;
    const kept = before ? marks.filter((mark) => before.has(mark)).length : 0;
    if (same && before && kept === before.size && kept === marks.length) return;
    const more = Boolean(same && before && kept === before.size);
    const ctx = this.clear(this.still, !more);
    if (!more) this.labels = new Labels();
    const news = more && before ? marks.filter((mark) => !before.has(mark)) : marks;
    if (scene.picture != null) drawStill(ctx, scene, news, eye, this.look, this.labels, more);
    this.laid = { eye, views: scene.views, picture: scene.picture, marks: new Set(marks) };
  }

  drawInk() {
    this.drawStill();
    const ctx = this.clear(this.ink, true);
    if (this.scene && this.scene.picture != null) drawLive(ctx, this.scene, this.eye, this.look, this.labels.copy());
    if (this.sight) drawSight(ctx, this.width / 2, this.height / 2, 34, 6, this.look);
  }

  /**
   * A canvas of the board's size, ready to be drawn on in CSS px.
   * @param {HTMLCanvasElement} canvas @param {boolean} wipe
   */
  clear(canvas, wipe) {
    const ratio = fitCanvas(canvas, this.width, this.height);
    const ctx = brush(canvas);
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    if (wipe) ctx.clearRect(0, 0, canvas.width, canvas.height);
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    return ctx;
  }
}
