// The mill is built twice, with vector instructions and without: both say the same of the same picture, and what the
// native core says.
import test from 'node:test';
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { deflateSync } from 'node:zlib';
import { random } from '../random.mjs';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');

/** A mill of its own for each build: modules are told apart by their whole address. @param {string} build */
async function millOf(build) {
  const mill = await import(`${join(ROOT, 'build/web/core/mill.js')}?${build}`);
  mill.initSync({ module: readFileSync(join(ROOT, `build/web/core/${build}_bg.wasm`)) });
  return mill;
}

/** The bytes by which `path` asks a browser for vector instructions. @param {string} path */
function vectors(path) {
  const [, list] = readFileSync(join(ROOT, path), 'utf8').match(/const VECTORS = Uint8Array\.of\(([^)]*)\)/);
  return Uint8Array.from(list.split(',').filter((byte) => byte.trim()), Number);
}

test('the page and its service worker ask for the same instructions, which this engine has', () => {
  const asked = vectors('www/mill.js');
  assert.deepEqual(vectors('www/sw.js'), asked);
  assert.equal(WebAssembly.validate(asked), true);
  // One instruction that nobody has, in place of the addition: the question can be answered no.
  assert.equal(asked.at(-3), 0x6e);
  assert.equal(WebAssembly.validate(asked.with(-3, 0x9a)), false);
});

test('both builds of the mill say the same', async () => {
  const mills = await Promise.all(['mill', 'mill_plain'].map(millOf));
  const file = readFileSync(join(ROOT, 'www/examples/marsh-hen.webp'));
  const [quick, plain] = mills.map((mill) => mill.picture_header(file, 'a.webp'));
  assert.deepEqual(quick, plain);
  assert.deepEqual(quick.resolution, [110, 110]);
  const rgba = Uint8Array.from({ length: 61 * 7 * 4 }, (_, i) => (i * 7919) % 251);
  const [seen, same] = mills.map((mill) => {
    const one = new mill.Mill(61, 7, 'a');
    one.set_tile(0, 0, 61, 7, rgba);
    return one.window(0, 0, 61, 7);
  });
  assert.deepEqual(seen, same);
  assert.ok(new Set(seen).size > 50);
});

/** A picture with an edge, a drawn line, a corner, a disc, a closed drawing, two discs alike, and two colours that are equally light. */
function drawn(width, height) {
  const rgba = new Uint8Array(width * height * 4);
  const next = random(5);
  const cover = (distance) => Math.min(1, Math.max(0, 0.5 - distance / 2));
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const [u, v] = [x + 0.5, y + 0.5];
      const ring = Math.abs(Math.hypot(u - 250, v - 70) - 40) - 2;
      const box = Math.max(Math.abs(u - 70.3) - 45, Math.abs(v - 70.6 - 0.1 * u) - 40);
      const stroke = Math.max(Math.abs(v - 180.4 + 0.2 * (u - 70)) - 1.6, Math.abs(u - 70) - 50);
      const discs = Math.min(Math.hypot(u - 145, v - 40), Math.hypot(u - 145, v - 85)) - 9;
      const ink = cover(Math.min(ring, box, stroke, discs));
      const green = v > 150 && u > 180 ? cover(u - 250.3 + 0.3 * (v - 190)) : null;
      const colour = green === null ? [230 - 200 * ink, 230 - 200 * ink, 230 - 200 * ink]
        : [200 - 165 * green, 60 + 49 * green, 60];
      const grain = 6 * next() - 3;
      rgba.set([...colour.map((c) => Math.round(c + grain)), 255], 4 * (y * width + x));
    }
  }
  return rgba;
}

/** The same as a PNG of 8 bits a colour (W3C PNG 3rd ed., 5.3 and 11.2; its CRC is appendix D's). */
function png(rgba, width, height) {
  const crc = (bytes) => {
    let sum = 0xffffffff;
    for (const byte of bytes) {
      sum ^= byte;
      for (let k = 0; k < 8; k += 1) sum = sum & 1 ? (sum >>> 1) ^ 0xedb88320 : sum >>> 1;
    }
    return ~sum >>> 0;
  };
  const chunk = (name, data) => {
    const body = Buffer.concat([Buffer.from(name), data]);
    const ends = Buffer.alloc(8);
    ends.writeUInt32BE(data.length, 0);
    ends.writeUInt32BE(crc(body), 4);
    return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 6], 8);
  const rows = Array.from({ length: height }, (_, y) => Buffer.concat([Buffer.of(0), rgba.subarray(4 * y * width, 4 * (y + 1) * width)]));
  return Buffer.concat([
    Buffer.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a),
    chunk('IHDR', head), chunk('IDAT', deflateSync(Buffer.concat(rows))), chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** What a mill finds, as www/mill.js asks it. */
function sought(mill, rgba, width, ask) {
  try {
    return mill.seek(ask);
  } catch (refusal) {
    const window = mill.colour_window(ask);
    if (refusal.key !== 'seek.nothing' || window.length === 0) return { refused: refusal.key };
    const [x, y, wide, high] = window;
    const part = new Uint8Array(wide * high * 4);
    for (let r = 0; r < high; r += 1) part.set(rgba.subarray(4 * ((y + r) * width + x), 4 * ((y + r) * width + x + wide)), 4 * r * wide);
    try {
      return mill.seek_in_colour(ask, window, part);
    } catch (again) {
      return { refused: again.key };
    }
  }
}

test('what both builds find is what the native core finds, to the last bit', async () => {
  const [width, height] = [320, 240];
  const rgba = drawn(width, height);
  const asks = [
    { kind: 'catch', at: [71, 117], reach: 8 }, { kind: 'catch', at: [26, 34], reach: 10 }, { kind: 'catch', at: [60, 182], reach: 8 },
    { kind: 'catch', at: [121, 170], reach: 10 }, { kind: 'catch', at: [160, 20], reach: 6 }, { kind: 'catch', at: [250, 192], reach: 8 },
    { kind: 'straight', along: [[30, 190], [110, 174]], reach: 6 }, { kind: 'straight', along: [[262, 160], [238, 225]], reach: 8 },
    { kind: 'round', through: [[290, 70], [210, 71], [250, 111]], reach: 8 }, { kind: 'border', inside: [250, 70] },
    { kind: 'border', inside: [5, 150] }, { kind: 'like', bounds: [136, 31, 154, 49] }, { kind: 'quad', inside: [70, 78] }, { kind: 'quad', inside: [250, 70] },
    { kind: 'follow', from: [30, 37], to: [30, 105] }, { kind: 'bowed', from: [30, 37], to: [30, 105] }, { kind: 'views' },
  ];
  const dir = mkdtempSync(join(tmpdir(), 'scrieve-mill-'));
  let lines;
  try {
    writeFileSync(join(dir, 'a.png'), png(rgba, width, height));
    writeFileSync(join(dir, 'log.jsonl'), asks.map((ask) => `${JSON.stringify({ kind: 'seek', file: 'a.png', ask })}\n`).join(''));
    lines = execFileSync(join(ROOT, 'scripts/replay'), [join(dir, 'log.jsonl')], { encoding: 'utf8', maxBuffer: 1 << 26, stdio: ['ignore', 'pipe', 'ignore'] });
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
  const native = lines.trimEnd().split('\n').map((line) => JSON.parse(line)).map((a) => a.found ?? { refused: a.error.key });
  for (const module of await Promise.all(['mill', 'mill_plain'].map(millOf))) {
    const mill = new module.Mill(width, height, 'a');
    mill.set_tile(0, 0, width, height, rgba);
    asks.forEach((ask, i) => assert.deepEqual(sought(mill, rgba, width, ask), native[i], JSON.stringify(ask)));
    for (const strange of [null, 7, {}, { kind: 'fly' }, { kind: 'catch', at: [1], reach: 3 }, { kind: 'views', more: 1 }, { kind: 'round', through: 'a', reach: 1 }]) {
      assert.throws(() => mill.seek(strange), (say) => say.key === 'job.not-understood', JSON.stringify(strange));
    }
  }
  const kinds = native.map((found) => found.caught?.what ?? Object.keys(found)[0]);
  assert.deepEqual(new Set(kinds), new Set(['edge', 'corner', 'line', 'end', 'refused', 'straight', 'round', 'border', 'borders', 'quad', 'path', 'views']));
  assert.equal(kinds[5], 'edge', 'two colours that are equally light');
});
