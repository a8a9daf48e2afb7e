// How cost grows: natively, by scripts/replay's door, a whole process each; what the process costs with nothing to do is taken off.
// Told is the exponent of the line fitted through the logarithms: 1 is in proportion, n log n over these ranges is up to 1.2.
import { execFileSync } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';
import { recorded } from '../../scripts/lib/limits.mjs';
import { ROOT, median } from './_figures.mjs';

const RUNS = 3;

export const title = `How cost grows, natively (median of ${RUNS} runs at each size, less an empty process; exponents)`;

/** Builds the native door; gives the program. */
function compile() {
  const target = resolve(ROOT, process.env.CARGO_TARGET_DIR ?? 'target');
  const env = { ...process.env, CARGO_TARGET_DIR: target };
  execFileSync('cargo', ['build', '--quiet', '--profile', 'native', '--package', 'replay'], { cwd: ROOT, env, stdio: ['ignore', 'ignore', 'inherit'] });
  return join(target, 'native/replay');
}

const picture = (width = 8000, height = 6000) => ({ kind: 'add-picture', name: 'bench.png', width, height });

/** So many lengths, spread over the picture, the first of them known. @param {number} count */
function marks(count) {
  const across = Math.ceil(Math.sqrt(count));
  const one = (k) => {
    const [x, y] = [(k % across) * (7000 / across) + 50, Math.floor(k / across) * (5000 / across) + 50];
    return { kind: 'place', picture: 1, mark: 'length', points: [[x, y], [x + 6000 / across, y + 300 / across]], zoom: 8, seen: true };
  };
  return [picture(), ...Array.from({ length: count }, (_, k) => one(k)), { kind: 'set-known', mark: 1, length: { mm: 500 } }];
}

const TURNS = 100;

/** The same, and one end moved back and forth. @param {number} count */
function moved(count) {
  const turn = (k) => ({ kind: 'move-point', mark: 2, point: 0, at: [60 + (k % 7), 60], by: 'key', zoom: 8, seen: true });
  return [...marks(count), ...Array.from({ length: TURNS }, (_, k) => turn(k))];
}

/** So many pieces of ten sizes on boards. @param {number} count */
function parts(count) {
  const items = Array.from({ length: count }, (_, k) => ({ part: k % 70, copy: Math.floor(k / 70), size: [300 + 97 * (k % 10), 90 + 31 * (k % 7)], turns: false }));
  return [{ kind: 'lay', lots: [{ items, boards: [[2440, 1220]], kerf: 3 }] }];
}

/** A ring that takes about so many sheets. @param {number} count */
function sheets(count) {
  const ring = Array.from({ length: 200 }, (_, k) => [2000 + 1400 * Math.cos((k * Math.PI) / 100), 1500 + 1400 * Math.sin((k * Math.PI) / 100)]);
  return [
    picture(4000, 3000),
    { kind: 'place', picture: 1, mark: 'outline', points: ring, zoom: 8, seen: true },
    { kind: 'place', picture: 1, mark: 'length', points: [[600, 1500], [3400, 1500]], zoom: 8, seen: true },
    { kind: 'set-build', mark: 2, length: { mm: 185 * Math.sqrt(count) } },
    { kind: 'set-paper', paper: { name: 'a4', turn: 'fewest' } },
    { kind: 'press', pdf: 'out.pdf' },
  ];
}

/** The same thing asked for so many times. @param {number} megapixels @param {number} times */
const pixels = (megapixels, times) => Array.from({ length: times }, () => ({ kind: 'seek', file: `${megapixels}.png`, ask: { kind: 'quad', inside: [Math.sqrt(megapixels) * 577, Math.sqrt(megapixels) * 433] } }));

/** A grey picture of so many megapixels with a dark thing that fills half of it, as PNG. @param {number} megapixels */
function png(megapixels) {
  const width = Math.round(Math.sqrt(megapixels * 1e6 * 4 / 3));
  const height = Math.round(width * 3 / 4);
  const body = Buffer.alloc((width + 1) * height, 220);
  for (let y = 0; y < height; y += 1) {
    body[y * (width + 1)] = 0;
    if (y > height * 0.15 && y < height * 0.85) body.fill(60, y * (width + 1) + Math.round(width * 0.15), y * (width + 1) + Math.round(width * 0.85));
  }
  const chunk = (kind, data) => {
    const inner = Buffer.concat([Buffer.from(kind), data]);
    const ends = Buffer.alloc(8);
    ends.writeUInt32BE(data.length, 0);
    ends.writeUInt32BE(crc32(inner), 4);
    return Buffer.concat([ends.subarray(0, 4), inner, ends.subarray(4)]);
  };
  const head = Buffer.from([0, 0, 0, 0, 0, 0, 0, 0, 8, 0, 0, 0, 0]);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  return Buffer.concat([Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), chunk('IHDR', head), chunk('IDAT', deflateSync(body, { level: 1 })), chunk('IEND', Buffer.alloc(0))]);
}

/** The exponent. @param {number[]} sizes @param {number[]} costs */
function exponent(sizes, costs) {
  const [x, y] = [sizes, costs].map((values) => values.map(Math.log));
  const mean = (values) => values.reduce((a, b) => a + b) / values.length;
  const [mx, my] = [mean(x), mean(y)];
  return x.reduce((sum, v, i) => sum + (v - mx) * (y[i] - my), 0) / x.reduce((sum, v) => sum + (v - mx) ** 2, 0);
}

export async function bench() {
  const replay = compile();
  const limits = (await recorded()).growth;
  const dir = await mkdtemp(join(tmpdir(), 'growth-'));
  const time = async (lines) => {
    const file = join(dir, 'job.jsonl');
    await writeFile(file, lines.map((line) => JSON.stringify(line)).join('\n'));
    const runs = [];
    for (let run = 0; run < RUNS; run += 1) {
      const start = performance.now();
      execFileSync(replay, [file, '--last'], { stdio: ['ignore', 'ignore', 'inherit'], maxBuffer: 1 << 30 });
      runs.push(performance.now() - start);
    }
    return median(runs);
  };
  const rows = [];
  const grown = async (what, sizes, cost) => {
    const costs = [];
    for (const size of sizes) costs.push(Math.max(await cost(size), 0.01));
    const note = sizes.map((size, i) => `${size}: ${costs[i].toPrecision(3)} ms`).join(', ');
    rows.push({ what, got: exponent(sizes, costs), unit: '', aim: limits[what], note });
  };
  try {
    const empty = await time([picture()]);
    await grown('marks, 10 to 10000: laying them', [10, 100, 1000, 10000], async (n) => await time(marks(n)) - empty);
    await grown('marks, 10 to 10000: moving one', [10, 100, 1000, 10000], async (n) => (await time(moved(n)) - await time(marks(n))) / TURNS);
    await grown('parts, 10 to 1000: laying them out', [10, 100, 1000], async (n) => await time(parts(n)) - empty);
    await grown('sheets, 1 to 400', [1, 10, 100, 400], async (n) => await time(sheets(n)) - empty);
    for (const n of [1, 4, 12, 48]) await writeFile(join(dir, `${n}.png`), png(n));
    await grown('picture, 1 to 48 megapixels', [1, 4, 12, 48], async (n) => (await time(pixels(n, 4)) - await time(pixels(n, 1))) / 3);
  } finally {
    await rm(dir, { recursive: true });
  }
  return rows;
}
