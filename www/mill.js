// The mill: a Worker that holds one picture. It decodes the bytes once, sends a reduced picture to the page,
// then cuts the rest into tiles: luminance into the core, colour into small encoded blobs, so that the decoded
// picture, the largest thing of all, can be let go. No canvas here is larger than 4 million px.

import { isOnItsSide, turnLeft, turnOf } from './upright.js';
import { later, reply, stop } from './work.js';

/** @typedef {import('./types/mill').Ask} Ask */
/** @typedef {import('./types/mill').FromMill} FromMill */
/** @typedef {import('./types/mill').Header} Header */
/** @typedef {import('./types/mill').MillCore} MillCore */
/** @typedef {import('./types/mill').MillPixels} MillPixels */
/** @typedef {import('./types/mill').Opened} Opened */
/** @typedef {import('./types/mill').Say} Say */

/** A tile's side, px. */
const SIDE = 1024;
/** The most pixels and the longest side of the reduced picture. */
const LEVEL_PIXELS = 4_000_000;
const LEVEL_SIDE = 4096;
/** The very first one is half of that: it shows sooner, and a finer one follows when all is cut. */
const FIRST_PIXELS = 2_000_000;
/** How colour is kept. WebP takes ten times as long to write for a third less room (tests/bench/picture.mjs). */
const KEPT_AS = { type: 'image/jpeg', quality: 0.92 };

/**
 * A module of one function that adds two vectors: a browser that takes it can run the mill's quicker build. The same
 * bytes stand in sw.js, which keeps only the build that its browser can run.
 */
const VECTORS = Uint8Array.of(
  0, 97, 115, 109, 1, 0, 0, 0, 1, 4, 1, 96, 0, 0, 3, 2, 1, 0, 10, 15, 1, 13, 0, 65, 0, 253, 15, 65, 1, 253, 15,
  253, 110, 26, 11,
);

/** Nothing is asked before the core is there; the message waits in this promise. @type {Promise<MillCore>} */
const core = import(String(new URL('./core/mill.js', import.meta.url))).then(async (module) => {
  const build = WebAssembly.validate(VECTORS) ? 'mill' : 'mill_plain';
  await module.default({ module_or_path: new URL(`./core/${build}_bg.wasm`, import.meta.url) });
  return module;
});

/** The decoded picture, until all of it is cut up. @type {ImageBitmap | null} */
let whole = null;
/** How that still has to be turned: an EXIF orientation, 1 where the browser has done it. */
let turn = 1;
/** The picture's size as shown, px. @type {{ width: number, height: number }} */
let size = { width: 0, height: 0 };
/** @type {MillPixels | null} */
let pixels = null;
/** Colour by `level/column/row`. @type {Map<string, Blob>} */
const tiles = new Map();
/** Whether what is read back from a canvas is what was drawn on it. */
let readable = true;
/** Settles when there is something to show. @type {Promise<unknown>} */
let opening = Promise.resolve();
/** Settles when the core has all luminance. @type {Promise<void>} */
let reading = Promise.resolve();
/** Settles when all is cut. @type {Promise<void>} */
let cutting = Promise.resolve();

/** Refuses in the core's words. @param {Say} say @returns {never} */
function refuse(say) {
  throw { say };
}

/** A sentence with one text in it. @param {string} key @param {string} name @returns {Say} */
const sayOf = (key, name) => ({ key, args: [['name', { text: name }]] });

/**
 * A canvas kept in ordinary memory: reading it back costs nothing, and drawing part of a large picture on it
 * doesn't send the whole of that picture to a graphics chip.
 * @param {number} width @param {number} height
 */
function canvasOf(width, height) {
  const canvas = new OffscreenCanvas(width, height);
  const brush = canvas.getContext('2d', { willReadFrequently: true, alpha: false });
  if (!brush) throw new Error('no canvas to be had');
  return { canvas, brush };
}

/** Where nobody listens. */
const nowhere = new MessageChannel();
nowhere.port2.close();

/**
 * Frees what was read from a canvas now, by giving it away: left to the collector, a whole picture's worth
 * of it piles up first (tests/bench/picture.mjs).
 * @param {ArrayBufferLike} buffer
 */
function letGo(buffer) {
  nowhere.port1.postMessage(null, [/** @type {ArrayBuffer} */ (buffer)]);
}

/** Privacy settings may change what is read back from a canvas, and edges with it. */
function readsTrue() {
  const { brush } = canvasOf(16, 16);
  for (let i = 0; i < 256; i++) {
    brush.fillStyle = `rgb(${i} ${255 - i} ${(i * 7) % 256})`;
    brush.fillRect(i % 16, i >> 4, 1, 1);
  }
  const { data } = brush.getImageData(0, 0, 16, 16);
  return data.every((value, at) => {
    const i = at >> 2;
    return value === [i, 255 - i, (i * 7) % 256, 255][at & 3];
  });
}

/**
 * What the file says about itself; the whole of it is read only when its head isn't enough.
 * @param {MillCore} core @param {Blob} blob @param {string} name @returns {Promise<Header>}
 */
async function headerOf(core, blob, name) {
  const read = async (/** @type {Blob} */ part) =>
    core.picture_header(new Uint8Array(await part.arrayBuffer()), name);
  const header = await read(blob.slice(0, core.picture_head()));
  return header.more ? read(blob) : header;
}

/**
 * Whether the file has its end: a browser may show half a picture and say nothing.
 * @param {MillCore} core @param {Blob} blob @param {Header} header
 */
async function isComplete(core, blob, header) {
  const step = core.picture_head();
  if (core.picture_own_length(new Uint8Array(await blob.slice(0, 32).arrayBuffer())) > blob.size) return false;
  for (let end = blob.size; end > 0; end -= step) {
    // One byte more, for a mark that lies across the join; the file's own heading can't hold it.
    const part = blob.slice(Math.max(0, end - step), Math.min(blob.size, end + 8));
    if (core.picture_ends_in(header.format, new Uint8Array(await part.arrayBuffer()))) return true;
  }
  return false;
}

/** How much smaller the reduced picture is, for so many pixels at most. @param {number} pixels */
const reduction = (pixels) =>
  Math.min(1, Math.sqrt(pixels / (size.width * size.height)), LEVEL_SIDE / Math.max(size.width, size.height));

/** A canvas for the picture reduced by this much. @param {number} scale */
const reducedCanvas = (scale) =>
  canvasOf(Math.max(1, Math.floor(size.width * scale)), Math.max(1, Math.floor(size.height * scale)));

/** The whole picture, reduced in one go: quick, but thin lines may break where much is left out. @param {ImageBitmap} from */
function reduce(from) {
  const { canvas, brush } = reducedCanvas(reduction(FIRST_PIXELS));
  const { width: columns, height: rows } = canvas;
  lay(brush, from, { x: 0, y: 0, ...size, columns, rows });
  return canvas.transferToImageBitmap();
}

/** How many levels of tiles are larger than the reduced picture; none when that is the picture itself. */
function levelsOf() {
  let levels = 0;
  while (2 ** -levels > reduction(LEVEL_PIXELS)) levels++;
  return levels;
}

/**
 * What a tile covers, in picture px, and its own size. A tile of level 1 covers four of level 0, and so on.
 * @param {number} level @param {number} column @param {number} row
 */
function coverOf(level, column, row) {
  const step = SIDE << level;
  const [x, y] = [column * step, row * step];
  const [width, height] = [Math.min(step, size.width - x), Math.min(step, size.height - y)];
  return { x, y, width, height, columns: Math.ceil(width / 2 ** level), rows: Math.ceil(height / 2 ** level) };
}

/**
 * Draws part of the decoded picture, on white.
 * @param {OffscreenCanvasRenderingContext2D} brush @param {ImageBitmap} from
 * @param {{ x: number, y: number, width: number, height: number, columns: number, rows: number }} cover
 */
function lay(brush, from, { x, y, width, height, columns, rows }) {
  brush.fillStyle = '#fff';
  brush.fillRect(0, 0, columns, rows);
  brush.imageSmoothingEnabled = columns !== width || rows !== height;
  if (turn === 1) {
    brush.drawImage(from, x, y, width, height, 0, 0, columns, rows);
    return;
  }
  brush.save();
  brush.scale(columns / width, rows / height);
  brush.translate(-x, -y);
  brush.transform(...turnOf(turn, from.width, from.height));
  brush.drawImage(from, 0, 0);
  brush.restore();
}

/**
 * Gives a canvas a tile's size. One that is given its size again is blank, so only the tiles at the right and bottom edges do.
 * @param {OffscreenCanvas} canvas @param {ReturnType<typeof coverOf>} cover
 */
function fit(canvas, { columns, rows }) {
  if (canvas.width !== columns) canvas.width = columns;
  if (canvas.height !== rows) canvas.height = rows;
}

/** Cuts the picture up, tile by tile, and lets the decoded one go. */
class Cutter {
  /** @param {ImageBitmap} from @param {MillPixels} to */
  constructor(from, to) {
    this.from = from;
    this.to = to;
    this.levels = levelsOf();
    this.top = Math.max(0, this.levels - 1);
    this.done = 0;
    this.of = Math.ceil(size.width / SIDE) * Math.ceil(size.height / SIDE);
    /** The reduced picture as it is to stay, made from the tiles of the smallest level. */
    this.reduced = reducedCanvas(reduction(LEVEL_PIXELS));
    /** A canvas for each level: the smaller levels are made from the larger ones' tiles, half by half. */
    this.easels = Array.from({ length: this.top + 1 }, () => canvasOf(SIDE, SIDE));
  }

  /** Luminance first, for all of it: edges are asked for before tiles are. Encoding a tile takes several times as long as reading it. */
  async readAll() {
    const { canvas, brush } = this.easels[0];
    for (let y = 0; y < size.height; y += SIDE) {
      for (let x = 0; x < size.width; x += SIDE) {
        this.read(brush, this.lay(canvas, brush, coverOf(0, x / SIDE, y / SIDE)));
      }
      // The page's asks in between.
      await later();
    }
  }

  /** @returns {Promise<ImageBitmap>} the reduced picture as it is to stay */
  async run() {
    const step = SIDE << this.top;
    for (let row = 0; row * step < size.height; row++) {
      for (let column = 0; column * step < size.width; column++) {
        await this.cut(this.top, column, row);
        this.gather(coverOf(this.top, column, row));
      }
    }
    for (const { canvas } of this.easels) canvas.width = canvas.height = 1;
    return this.reduced.canvas.transferToImageBitmap();
  }

  /** Puts a tile of the smallest level in its place in the reduced picture. @param {ReturnType<typeof coverOf>} cover */
  gather({ x, y, width, height }) {
    const { canvas, brush } = this.reduced;
    const [across, down] = [canvas.width / size.width, canvas.height / size.height];
    // Whole pixels, so that no seam of half-covered ones is left between tiles.
    const [left, top] = [Math.round(x * across), Math.round(y * down)];
    const [right, bottom] = [Math.round((x + width) * across), Math.round((y + height) * down)];
    brush.drawImage(this.easels[this.top].canvas, left, top, right - left, bottom - top);
  }

  /** @param {number} level @param {number} column @param {number} row */
  async cut(level, column, row) {
    const cover = coverOf(level, column, row);
    if (cover.width <= 0 || cover.height <= 0) return;
    const { canvas, brush } = this.easels[level];
    if (level === 0) this.lay(canvas, brush, cover);
    else {
      fit(canvas, cover);
      await this.halve(level, column, row);
    }
    // Waiting also lets the page's asks in between.
    if (!readable) await later();
    else tiles.set(`${level}/${column}/${row}`, await canvas.convertToBlob(KEPT_AS));
    if (level === 0) self.postMessage({ cut: ++this.done, of: this.of });
  }

  /** @param {OffscreenCanvas} canvas @param {OffscreenCanvasRenderingContext2D} brush @param {ReturnType<typeof coverOf>} cover */
  lay(canvas, brush, cover) {
    fit(canvas, cover);
    lay(brush, this.from, cover);
    return cover;
  }

  /** @param {OffscreenCanvasRenderingContext2D} brush @param {ReturnType<typeof coverOf>} cover */
  read(brush, cover) {
    const { data } = brush.getImageData(0, 0, cover.columns, cover.rows);
    this.to.set_tile(cover.x, cover.y, cover.columns, cover.rows, new Uint8Array(data.buffer));
    letGo(data.buffer);
  }

  /** Bilinear at exactly a half is the mean of four pixels. @param {number} level @param {number} column @param {number} row */
  async halve(level, column, row) {
    for (const [right, down] of [[0, 0], [1, 0], [0, 1], [1, 1]]) {
      const below = coverOf(level - 1, column * 2 + right, row * 2 + down);
      if (below.width <= 0 || below.height <= 0) continue;
      await this.cut(level - 1, column * 2 + right, row * 2 + down);
      const { brush } = this.easels[level];
      brush.imageSmoothingEnabled = true;
      brush.imageSmoothingQuality = 'low';
      const [columns, rows] = [Math.ceil(below.columns / 2), Math.ceil(below.rows / 2)];
      brush.drawImage(this.easels[level - 1].canvas, (right * SIDE) / 2, (down * SIDE) / 2, columns, rows);
    }
  }
}

/**
 * Opens a picture: answers as soon as there is something to show, and goes on cutting.
 * @param {Blob} blob @param {string} name @returns {Promise<Opened>}
 */
async function open(blob, name) {
  const door = await core;
  const header = await headerOf(door, blob, name);
  const complete = isComplete(door, blob, header);
  // Some browsers never answer for a WebP that was cut short, and none shows a part of one.
  if (header.format === 'webp' && !(await complete)) refuse(door.picture_remedy(header.format, name));
  const decoded = createImageBitmap(blob).catch(() => null);
  // While that is under way elsewhere:
  const flags = [...header.flags];
  readable = readsTrue();
  if (!readable) flags.push(sayOf('picture.noise', name));
  if (!(await complete)) flags.push(sayOf('picture.end-missing', name));
  turn = await turnLeft(header.format, header.orientation);
  const from = (await decoded) ?? refuse(door.picture_remedy(header.format, name));
  const [width, height] = isOnItsSide(turn) ? [from.height, from.width] : [from.width, from.height];
  door.picture_fits(width, height, name);
  whole = from;
  size = { width, height };
  const level = reduce(from);
  const cutter = later().then(() => {
    pixels = new door.Mill(size.width, size.height, name);
    return new Cutter(from, pixels);
  });
  reading = cutter.then((one) => one.readAll());
  cutting = reading.then(() => cutUp(cutter, from));
  cutting.catch(stop);
  return { header, ...size, level, scale: reduction(LEVEL_PIXELS), levels: levelsOf(), flags };
}

/** @param {Promise<Cutter>} cutter @param {ImageBitmap} from */
async function cutUp(cutter, from) {
  const level = await (await cutter).run();
  // Where reading back is disturbed an encoded tile would be as well: then the decoded picture has to stay.
  if (readable) {
    whole = null;
    from.close();
  }
  self.postMessage({ level }, { transfer: [level] });
}

/**
 * One tile, drawn at once from the decoded picture when it isn't cut yet.
 * @param {number} level @param {number} column @param {number} row @returns {Promise<ImageBitmap>}
 */
async function tile(level, column, row) {
  const kept = tiles.get(`${level}/${column}/${row}`);
  if (kept) return createImageBitmap(kept);
  const cover = coverOf(level, column, row);
  if (!whole || !(cover.columns > 0 && cover.rows > 0)) return refuse({ key: 'picture.outside', args: [] });
  const { canvas, brush } = canvasOf(cover.columns, cover.rows);
  lay(brush, whole, cover);
  return canvas.transferToImageBitmap();
}

/**
 * Finds something by luminance; where that shows nothing, by the colour of a window.
 * @param {MillPixels} from @param {import('./types/scene').Ask} ask
 */
async function seek(from, ask) {
  try {
    return from.seek(ask);
  } catch (/** @type {any} */ reason) {
    const window = reason?.key === 'seek.nothing' ? from.colour_window(ask) : [];
    if (!(window instanceof Uint32Array) || window.length === 0) throw reason;
    return from.seek_in_colour(ask, window, await colour(window));
  }
}

/** A window of the picture in colour, from its tiles. @param {Uint32Array} window @returns {Promise<Uint8Array>} */
async function colour([x, y, width, height]) {
  // The same colours every time: a tile that isn't cut yet hasn't been encoded.
  await cutting;
  const { brush } = canvasOf(width, height);
  for (let row = Math.floor(y / SIDE); row * SIDE < y + height; row++) {
    for (let column = Math.floor(x / SIDE); column * SIDE < x + width; column++) {
      const bitmap = await tile(0, column, row);
      brush.drawImage(bitmap, column * SIDE - x, row * SIDE - y);
      bitmap.close();
    }
  }
  return new Uint8Array(brush.getImageData(0, 0, width, height).data.buffer);
}

/** @param {Ask} ask @returns {Promise<any>} */
async function answer(ask) {
  switch (ask.kind) {
    case 'open':
      return (opening = open(ask.blob, ask.name));
    case 'tile':
      await opening;
      return tile(ask.level, ask.column, ask.row);
    case 'luminance':
      await opening;
      await reading;
      return pixels?.window(ask.x, ask.y, ask.width, ask.height);
    case 'seek':
      await opening;
      await reading;
      return pixels && seek(pixels, ask.ask);
  }
}

/** @param {any} answer @returns {Transferable[]} */
function movable(answer) {
  if (answer instanceof ImageBitmap) return [answer];
  if (answer instanceof Uint8Array) return [answer.buffer];
  return answer?.level instanceof ImageBitmap ? [answer.level] : [];
}

self.onmessage = (/** @type {MessageEvent<import('./types/mill').ToMill>} */ { data }) => void reply(data, answer, movable);
