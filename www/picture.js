// One picture on the page: opened by a mill, drawn from the reduced picture or from tiles.

import { Mill, Refused } from './mill-start.js';

export { Refused, slotsOf } from './mill-start.js';

/** @typedef {import('./types/mill').Header} Header */
/** @typedef {import('./types/mill').Opened} Opened */
/** @typedef {import('./types/mill').Say} Say */
/** @typedef {{ level: number, column: number, row: number }} Place */

/** A tile's side, px, as mill.js cuts them. */
const SIDE = 1024;
/** As many tiles (4 MB each) are kept at least; what is in view is always kept, up to 20 on a tablet. */
const KEPT = 16;

/** More would only stand in line before what is wanted next. */
const ASKED_AT_ONCE = 3;

/** A mill that has begun to load before there is a picture for it. @type {Mill | null} */
let spare = null;

/** Starts a mill in good time, so that the first picture need not wait for one. */
export function warmMill() {
  spare ??= new Mill();
}

function takeMill() {
  const mill = spare ?? new Mill();
  spare = null;
  return mill;
}

/**
 * Opens a picture. Rejects with Refused, in the core's words, when it can't be.
 * @param {Blob} blob
 * @param {string} name as the person knows it
 * @returns {Promise<Picture>}
 */
export async function openPicture(blob, name) {
  const mill = takeMill();
  try {
    return new Picture(mill, await mill.ask({ kind: 'open', blob, name }), blob, name);
  } catch (error) {
    mill.close();
    if (error instanceof Refused) throw error;
    throw new Refused({ key: 'picture.mill-lost', args: [['name', { text: name }]] });
  }
}

/** An open picture. Everything about it is in original picture px, as shown. */
export class Picture {
  /** The least lately used first. @type {Map<string, ImageBitmap>} */
  #tiles = new Map();
  /** @type {Set<string>} */
  #asked = new Set();
  /** @type {Mill} */
  #mill;
  /** @type {number} */
  #levels;
  /** How much smaller the reduced picture is, once it is the finer one. @type {number} */
  #scale;
  #closed = false;
  #losses = 0;

  /** @param {Mill} mill @param {Opened} opened @param {Blob} blob @param {string} name */
  constructor(mill, opened, blob, name) {
    this.header = opened.header;
    this.width = opened.width;
    this.height = opened.height;
    /** What a person should be told about it. */
    this.flags = opened.flags;
    /** The whole picture, reduced: for the first look, and for previews. */
    this.level = opened.level;
    this.blob = blob;
    this.name = name;
    /** Told when drawing again would show more. @type {() => void} */
    this.onchange = () => {};
    /** Told how many tiles of how many are cut. @type {(cut: number, of: number) => void} */
    this.oncut = () => {};
    /** Told that the mill was lost for good: the picture shows, but only coarsely. @type {(say: Say) => void} */
    this.onlost = () => {};
    this.#levels = opened.levels;
    this.#scale = opened.scale;
    this.#mill = this.#listen(mill);
  }

  /**
   * Draws the picture, so that picture px · zoom + (x, y) is the place in the canvas's own units.
   * @param {CanvasRenderingContext2D} brush not turned; its scale says how many device px a unit has
   * @param {{ zoom: number, x: number, y: number }} eye
   */
  draw(brush, eye) {
    const { a, d, e, f } = brush.getTransform();
    // From here on in device px: tiles whose edges are whole device px leave no seams.
    const to = { across: a * eye.zoom, down: d * eye.zoom, x: a * eye.x + e, y: d * eye.y + f };
    const detail = Math.max(to.across, to.down);
    brush.save();
    brush.setTransform(1, 0, 0, 1, 0, 0);
    // Once pixels are as large as this, a person wants to see them as they are.
    brush.imageSmoothingEnabled = detail < 4;
    brush.imageSmoothingQuality = detail < 0.6 * this.#scale ? 'medium' : 'low';
    const places = this.#levels > 0 && detail * 0.8 > this.#scale ? this.#inView(brush.canvas, to, detail) : [];
    // Where tiles cover all that is seen, nothing is drawn beneath them: while a picture is panned, that is half of the work.
    const covered = places.length > 0 && places.every((place) => this.#tiles.has(nameOf(place)));
    if (!covered) brush.drawImage(this.level, to.x, to.y, this.width * to.across, this.height * to.down);
    brush.imageSmoothingQuality = 'low';
    for (const place of places) this.#drawTile(brush, to, place);
    brush.restore();
    this.#keepOnly(places.length);
    this.#askFor(places);
  }

  /**
   * One tile, from the mill. Tiles of level 0 are 1024 px a side, of level 1 cover 2048, and so on.
   * @param {Place} place @returns {Promise<ImageBitmap>}
   */
  tile(place) {
    return this.#mill.ask({ kind: 'tile', ...place });
  }

  /**
   * Luminance as the core has it, row by row; waits until all of it is read.
   * @param {number} x @param {number} y @param {number} width @param {number} height
   * @returns {Promise<Uint8Array>}
   */
  luminance(x, y, width, height) {
    return this.#mill.ask({ kind: 'luminance', x, y, width, height });
  }

  /**
   * Asks the pixels; waits until all of it is read. Rejects with Refused when there is nothing to be found.
   * @param {import('./types/scene').Ask} ask @returns {Promise<import('./types/scene').Found>}
   */
  async seek(ask) {
    const mill = this.#mill;
    try {
      return await mill.ask({ kind: 'seek', ask });
    } catch (reason) {
      if (reason instanceof Refused || this.#mill === mill) throw reason;
      // Lost, and built again: an engine may trap where nothing of ours can. Once more; what is lost twice is told.
      console.warn(reason);
      return this.#mill.ask({ kind: 'seek', ask });
    }
  }

  /** Lets everything go. */
  close() {
    this.#closed = true;
    this.#mill.close();
    this.level.close();
    for (const bitmap of this.#tiles.values()) bitmap.close();
    this.#tiles.clear();
  }

  /** @param {Mill} mill @returns {Mill} */
  #listen(mill) {
    mill.oncut = (cut, of) => this.oncut(cut, of);
    mill.onlost = () => this.#rebuild();
    mill.onlevel = (level) => {
      this.level.close();
      this.level = level;
      this.onchange();
    };
    return mill;
  }

  /** A mill that was lost is built again from the bytes, but not for ever. */
  async #rebuild() {
    if (this.#closed) return;
    this.#asked.clear();
    this.#losses += 1;
    if (this.#losses > 2) {
      this.onlost({ key: 'picture.mill-lost', args: [['name', { text: this.name }]] });
      return;
    }
    this.#mill = this.#listen(takeMill());
    try {
      const again = await this.#mill.ask({ kind: 'open', blob: this.blob, name: this.name });
      again.level.close();
      this.onchange();
    } catch {
      // A loss in the meantime has called this again; after a refusal the reduced picture has to do.
    }
  }

  /**
   * The tiles to be seen, from the middle outwards: of the coarsest level that is fine enough.
   * @param {{ width: number, height: number }} canvas
   * @param {{ across: number, down: number, x: number, y: number }} to @param {number} detail
   * @returns {Place[]}
   */
  #inView(canvas, to, detail) {
    let level = 0;
    while (level + 1 < this.#levels && 2 ** -(level + 1) >= 0.7 * detail) level++;
    const step = SIDE << level;
    /** @type {(from: number, scale: number, length: number, side: number) => [number, number]} */
    const range = (from, scale, length, side) => [
      Math.max(0, Math.floor(-from / scale / step)),
      Math.min(Math.ceil(side / step), Math.ceil((length - from) / scale / step)),
    ];
    const [left, right] = range(to.x, to.across, canvas.width, this.width);
    const [top, bottom] = range(to.y, to.down, canvas.height, this.height);
    /** @type {Place[]} */
    const places = [];
    for (let row = top; row < bottom; row++) {
      for (let column = left; column < right; column++) places.push({ level, column, row });
    }
    const [x, y] = [(left + right - 1) / 2, (top + bottom - 1) / 2];
    const off = (/** @type {Place} */ p) => Math.hypot(p.column - x, p.row - y);
    return places.sort((a, b) => off(a) - off(b));
  }

  /**
   * @param {CanvasRenderingContext2D} brush
   * @param {{ across: number, down: number, x: number, y: number }} to @param {Place} place
   */
  #drawTile(brush, to, place) {
    const name = nameOf(place);
    const bitmap = this.#tiles.get(name);
    if (!bitmap) return;
    this.#tiles.delete(name);
    this.#tiles.set(name, bitmap);
    const step = SIDE << place.level;
    const [left, top] = [place.column * step, place.row * step];
    const [right, bottom] = [Math.min(left + step, this.width), Math.min(top + step, this.height)];
    const x = Math.round(to.x + left * to.across);
    const y = Math.round(to.y + top * to.down);
    const width = Math.round(to.x + right * to.across) - x;
    const height = Math.round(to.y + bottom * to.down) - y;
    brush.drawImage(bitmap, x, y, width, height);
  }

  /** Lets the least lately used tiles go. @param {number} inView how many are wanted now */
  #keepOnly(inView) {
    for (const [name, bitmap] of this.#tiles) {
      if (this.#tiles.size <= Math.max(KEPT, inView)) return;
      bitmap.close();
      this.#tiles.delete(name);
    }
  }

  /** Asks for what is missing, a few at a time: by the next draw something else may be in view. @param {Place[]} places */
  #askFor(places) {
    for (const place of places) {
      const name = nameOf(place);
      if (this.#asked.size >= ASKED_AT_ONCE) return;
      if (this.#tiles.has(name) || this.#asked.has(name)) continue;
      this.#asked.add(name);
      this.tile(place).then((bitmap) => this.#take(name, bitmap), () => this.#asked.delete(name));
    }
  }

  /** @param {string} name @param {ImageBitmap} bitmap */
  #take(name, bitmap) {
    this.#asked.delete(name);
    if (this.#closed) {
      bitmap.close();
      return;
    }
    this.#tiles.get(name)?.close();
    this.#tiles.set(name, bitmap);
    this.onchange();
  }
}

/** @param {Place} place */
const nameOf = ({ level, column, row }) => `${level}/${column}/${row}`;
