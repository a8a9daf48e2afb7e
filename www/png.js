// Writes a PNG (W3C, third edition) row by row, so that no more of a picture is in memory than the strip at hand.

/** A byte's share of a CRC-32 (ISO 3309; the PNG specification's annex D). */
const SHARES = Uint32Array.from({ length: 256 }, (_, byte) => {
  let share = byte;
  for (let bit = 0; bit < 8; bit++) share = (share >>> 1) ^ (share & 1 ? 0xedb88320 : 0);
  return share;
});

/** @param {Uint8Array} bytes */
function crcOf(bytes) {
  let crc = ~0;
  for (let i = 0; i < bytes.length; i++) crc = (crc >>> 8) ^ SHARES[(crc ^ bytes[i]) & 255];
  return ~crc;
}

/** @param {string} name four letters @param {Uint8Array} body @returns {Uint8Array<ArrayBuffer>} */
function chunk(name, body) {
  const whole = new Uint8Array(body.length + 12);
  const view = new DataView(whole.buffer);
  view.setUint32(0, body.length);
  for (let i = 0; i < 4; i++) whole[4 + i] = name.charCodeAt(i);
  whole.set(body, 8);
  view.setInt32(8 + body.length, crcOf(whole.subarray(4, 8 + body.length)));
  return whole;
}

/** @param {number} width px @param {number} height px */
function head(width, height) {
  const body = new Uint8Array(13);
  const view = new DataView(body.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  // Eight bits each of red, green and blue.
  body.set([8, 2], 8);
  return chunk('IHDR', body);
}

/** How large its pixels are on paper. @param {number} perMetre pixels, both ways */
function resolution(perMetre) {
  const body = new Uint8Array(9);
  const view = new DataView(body.buffer);
  view.setUint32(0, perMetre);
  view.setUint32(4, perMetre);
  // The unit is the metre.
  body[8] = 1;
  return chunk('pHYs', body);
}

/** A PNG in the making: rows go in from the top. */
export class PngWriter {
  /** @type {BlobPart[]} */
  #parts;
  #packer = new CompressionStream('deflate');
  #writer = this.#packer.writable.getWriter();
  /** @type {Promise<void>} */
  #packed;
  #width;
  /** The row before, as it was before it was filtered. */
  #above;

  /** @param {number} width px @param {number} height px @param {number} perMetre pixels to the metre of paper, a whole number */
  constructor(width, height, perMetre) {
    this.#width = width;
    this.#above = new Uint8Array(3 * width);
    this.#parts = [Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a), head(width, height), resolution(perMetre)];
    this.#packed = this.#collect();
    // Told by `end`, which waits for it.
    this.#packed.catch(() => {});
  }

  async #collect() {
    const reader = this.#packer.readable.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      this.#parts.push(chunk('IDAT', value));
    }
  }

  /** Whole rows, the next from the top. @param {Uint8ClampedArray} rgba */
  async rows(rgba) {
    const across = 3 * this.#width;
    const count = rgba.length / (4 * this.#width);
    const filtered = new Uint8Array(count * (across + 1));
    const above = this.#above;
    let from = 0;
    let to = 0;
    for (let row = 0; row < count; row++) {
      // What differs from the row above ("Up"): of a drawing, next to nothing.
      filtered[to++] = 2;
      for (let i = 0; i < across; from++) {
        for (let colour = 0; colour < 3; colour++, i++) {
          const value = rgba[from++];
          filtered[to++] = value - above[i];
          above[i] = value;
        }
      }
    }
    await this.#writer.write(filtered);
  }

  /** @returns {Promise<Blob>} */
  async end() {
    await this.#writer.close();
    await this.#packed;
    return new Blob([...this.#parts, chunk('IEND', new Uint8Array())], { type: 'image/png' });
  }

  /** Lets go of what there is. */
  drop() {
    this.#writer.abort().catch(() => {});
  }
}
