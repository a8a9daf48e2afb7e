// Grey PNG files of any size, made without a library (W3C PNG, third edition).
import * as zlib from 'node:zlib';

function chunk(name, body) {
  const named = Buffer.concat([Buffer.from(name, 'latin1'), body]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(body.length);
  sum.writeUInt32BE(zlib.crc32?.(named) ?? crcOf(named));
  return Buffer.concat([length, named, sum]);
}

/** CRC-32 (ISO 3309) as PNG wants it, where node's zlib has none. */
function crcOf(bytes) {
  let crc = ~0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return ~crc >>> 0;
}

/** A grey PNG whose pixel at (x, y) is `value(x, y)`. */
export function greyPng(width, height, value) {
  const rows = Buffer.alloc((width + 1) * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) rows[y * (width + 1) + 1 + x] = value(x, y);
  }
  return packed(width, height, 8, rows, 1);
}

/** A grey PNG of rows as they are packed, each begun by its filter: so many bits a dot, packed so well. */
function packed(width, height, bits, rows, level) {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head[8] = bits;
  return Buffer.concat([
    Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
    chunk('IHDR', head),
    chunk('IDAT', zlib.deflateSync(rows, { level })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** The rows of a PNG that is not interlaced, 8 bits a channel or grey of 4 bits, with its filters undone (PNG, third edition, 9). */
function rowsOf(bytes) {
  const [width, height, depth, kind] = [bytes.readUInt32BE(16), bytes.readUInt32BE(20), bytes[24], bytes[25]];
  const channels = { 0: 1, 2: 3, 6: 4 }[kind];
  if (!channels || bytes[28] !== 0 || (depth !== 8 && !(depth === 4 && kind === 0))) throw new Error(`a PNG of kind ${kind}, ${depth} bits`);
  const parts = [];
  for (let at = 8; at < bytes.length; at += 12 + bytes.readUInt32BE(at)) {
    if (bytes.toString('latin1', at + 4, at + 8) === 'IDAT') parts.push(bytes.subarray(at + 8, at + 8 + bytes.readUInt32BE(at)));
  }
  const raw = zlib.inflateSync(Buffer.concat(parts));
  const [long, step] = [Math.ceil((width * channels * depth) / 8), Math.max(1, (channels * depth) >> 3)];
  const rows = Buffer.alloc(long * height);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (long + 1)];
    for (let x = 0; x < long; x++) {
      const [a, b] = [x >= step ? rows[y * long + x - step] : 0, y > 0 ? rows[(y - 1) * long + x] : 0];
      const c = x >= step && y > 0 ? rows[(y - 1) * long + x - step] : 0;
      const near = [Math.abs(b - c), Math.abs(a - c), Math.abs(a + b - 2 * c)];
      const guess = [0, a, b, (a + b) >> 1, near[0] <= near[1] && near[0] <= near[2] ? a : near[1] <= near[2] ? b : c][filter];
      rows[y * long + x] = raw[y * (long + 1) + 1 + x] + guess;
    }
  }
  return { width, height, depth, channels, long, rows };
}

/** What a PNG shows, as grey of 0 to 255 (the weights of ITU-R BT.601). @returns {{width: number, height: number, grey: Uint8Array}} */
export function greyOf(bytes) {
  const { width, height, depth, channels, long, rows } = rowsOf(bytes);
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = y * long + (depth === 4 ? x >> 1 : x * channels);
      if (depth === 4) grey[y * width + x] = 17 * (x % 2 ? rows[at] & 15 : rows[at] >> 4);
      else grey[y * width + x] = channels === 1 ? rows[at] : 0.299 * rows[at] + 0.587 * rows[at + 1] + 0.114 * rows[at + 2];
    }
  }
  return { width, height, grey };
}

/** The same picture in grey of four bits: a fraction of its bytes. @param {Buffer} bytes a PNG */
export function smallPng(bytes) {
  const { width, height, grey } = greyOf(bytes);
  const long = Math.ceil(width / 2);
  const rows = Buffer.alloc((long + 1) * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) rows[y * (long + 1) + 1 + (x >> 1)] |= Math.round(grey[y * width + x] / 17) << (x % 2 ? 0 : 4);
  }
  return packed(width, height, 4, rows, 9);
}
