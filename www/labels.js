// Numbers and sizes set beside the marks, each on its own ground, none over another. What is set in one face is
// set in one go: changing a canvas's font costs more than the letters do.

import { pieces } from './type.js';

/** @typedef {import('./types/scene').MarkShown} MarkShown */
/** @typedef {import('./types/page').Eye} Eye */
/** @typedef {import('./ink.js').Look} Look */
/** @typedef {CanvasRenderingContext2D} Ctx */
/** @typedef {[text: string, size: number, weight: number]} Part */

/** From one label down to the next, and how near two must stand to be in each other's way, CSS px. */
const LINE = 28;
const NEAR = 80;

/** Widths of texts already measured, by font and text. @type {Map<string, number>} */
const widths = new Map();

/** @param {Ctx} ctx @param {string} font @param {string} text */
function widthOf(ctx, font, text) {
  const name = `${font}|${text}`;
  let width = widths.get(name);
  if (width === undefined) {
    ctx.font = font;
    width = ctx.measureText(text).width;
    if (widths.size > 4000) widths.clear();
    widths.set(name, width);
  }
  return width;
}

/** Forgets measured widths, as when a font has arrived. */
export function forgetWidths() {
  widths.clear();
}

export class Labels {
  constructor() {
    /** Where labels stand, by column. @type {Map<number, [number, number][]>} */
    this.taken = new Map();
    /** What is to be set, by font. @type {Map<string, {text: string, x: number, y: number}[]>} */
    this.runs = new Map();
    /** @type {Path2D} */
    this.grounds = new Path2D();
    /** The grounds that are set already: left, top, width, height. @type {[number, number, number, number][]} */
    this.set = [];
    /** Those on the canvas below. @type {readonly [number, number, number, number][]} */
    this.below = [];
  }

  /** The same places taken, for labels on another canvas. */
  copy() {
    const other = new Labels();
    for (const [column, places] of this.taken) other.taken.set(column, [...places]);
    other.below = this.set;
    return other;
  }

  /** No line of this canvas runs over what is set on the one below. @param {Ctx} ctx */
  uncover(ctx) {
    for (const ground of this.below) ctx.clearRect(...ground);
  }

  /**
   * Where a label can stand without covering another: at `y`, or a line or more above or below.
   * @param {number} x @param {number} y
   * @returns {{y: number, crowded: boolean}}
   */
  free(x, y) {
    const column = Math.floor(x / NEAR);
    const near = [column - 1, column, column + 1]
      .flatMap((c) => this.taken.get(c) ?? [])
      .filter((other) => Math.abs(other[0] - x) < NEAR && Math.abs(other[1] - y) < 5 * LINE);
    const clear = [0, 1, -1, 2, -2, 3, -3]
      .map((step) => y + step * LINE)
      .find((at) => near.every((other) => Math.abs(other[1] - at) >= LINE - 1));
    const at = clear ?? y;
    // Among so many, a number says enough; the sizes stand on the size board.
    const crowded = near.length > 7;
    const places = this.taken.get(column) ?? [];
    places.push([x, at]);
    this.taken.set(column, places);
    return { y: at, crowded };
  }

  /** Sets a mark's number and size. @param {Ctx} ctx @param {MarkShown} mark @param {Eye} eye @param {Look} look */
  name(ctx, mark, eye, look) {
    let x = mark.label_at[0] * eye.zoom + eye.x;
    let y = mark.label_at[1] * eye.zoom + eye.y;
    const covers = mark.handles.some(
      (at) => Math.abs(at[0] * eye.zoom + eye.x - x) < 16 && Math.abs(at[1] * eye.zoom + eye.y - y) < 20,
    );
    if (covers) [x, y] = [x + 18, y - 20];
    /** @type {Part[]} */
    const parts = [[String(mark.number), 22, 600]];
    const place = this.free(x, y);
    if (mark.caption && (mark.selected || !place.crowded)) parts.push([mark.caption, 17, 400]);
    this.put(ctx, parts, x, place.y, look);
  }

  /**
   * Takes a label in, from `x` on, its middle at `y`; `flush` sets it.
   * @param {Ctx} ctx @param {Part[]} parts @param {number} x @param {number} y @param {Look} look
   */
  put(ctx, parts, x, y, look) {
    let right = x;
    let tall = 0;
    parts.forEach(([text, size, weight], i) => {
      if (i > 0) right += 7;
      tall = Math.max(tall, size);
      right = this.runsOf(ctx, text, size, `${weight} ${size}px ${look.font}`, weight, right, y, look);
    });
    /** @type {[number, number, number, number]} */
    const ground = [x - 4, y - tall * 0.62, right - x + 8, tall * 1.24];
    this.grounds.rect(...ground);
    this.set.push(ground);
  }

  /**
   * @param {Ctx} ctx @param {string} text @param {number} size @param {string} font @param {number} weight
   * @param {number} x @param {number} y @param {Look} look
   * @returns {number} where it ends
   */
  runsOf(ctx, text, size, font, weight, x, y, look) {
    const small = `${weight} ${Math.round(size * 0.76)}px ${look.font}`;
    let right = x;
    /** @param {string} part @param {string} face @param {number} dy */
    const run = (part, face, dy) => {
      const list = this.runs.get(face) ?? [];
      list.push({ text: part, x: right, y: y + dy });
      this.runs.set(face, list);
      right += widthOf(ctx, face, part);
    };
    for (const piece of pieces(text)) {
      if ('text' in piece) run(piece.text, font, 0);
      else {
        if (right > x) right += size * 0.16;
        run(piece.num, small, -size * 0.18);
        run('\u2044', font, 0);
        run(piece.den, small, size * 0.14);
      }
    }
    return right;
  }

  /** Sets everything taken in. @param {Ctx} ctx @param {Look} look */
  flush(ctx, look) {
    ctx.fillStyle = look.ground;
    ctx.fill(this.grounds);
    ctx.fillStyle = look.ink;
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'left';
    for (const [font, runs] of this.runs) {
      ctx.font = font;
      for (const { text, x, y } of runs) ctx.fillText(text, x, y);
    }
    this.runs.clear();
    this.grounds = new Path2D();
  }
}
