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
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head[8] = 8;
  return Buffer.concat([
    Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
    chunk('IHDR', head),
    chunk('IDAT', zlib.deflateSync(rows, { level: 1 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
