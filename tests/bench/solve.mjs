// How long the core takes to find a view's map, as wasm in Chromium: one intent, with all that is reckoned and told from it. Each
// turn begins on a desk of its own, laid out so far that only that intent is missing. How a camera is calibrated is timed natively:
// the page has no door to it yet. Turning 12 megapixels square-on isn't timed: nothing draws a whole picture straightened yet.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { ROOT, median, spread } from './_figures.mjs';
import { inTab } from './_tab.mjs';

const RUNS = 15;
const TURNS = 60;
const CAMERAS = 8;
const AIM = 5;
const CAMERA_AIM = 500;
const FRAME = 16.7;

export const title = `Finding maps: one intent, web (${RUNS} runs)`;

const picture = { kind: 'add-picture', name: 'a.png', width: 4000, height: 3000, digest: 'a' };
const hand = { by: 'mouse', zoom: 2, seen: true };
const mm = (length) => ({ mm: length });
const place = (points) => ({ kind: 'place', picture: 1, mark: 'length', points, ...hand });

/** A plane turned 30° about its upright and 20° about its level, 1.2 m away, mm to picture px. */
function seen([x, y]) {
  const [a, b] = [Math.PI / 6, Math.PI / 9];
  const at = [x * Math.cos(a), y * Math.cos(b) + x * Math.sin(a) * Math.sin(b), y * Math.sin(b) - x * Math.sin(a) * Math.cos(b)];
  return [2000 + (3500 * at[0]) / (1200 + at[2]), 1500 + (3500 * at[1]) / (1200 + at[2])];
}

const BOARD = [[-300, -200], [300, -200], [300, 200], [-300, 200]].map(seen);
const square = (width, height) => ({ kind: 'square-on', view: 1, corners: BOARD, width, height, of: 'thing', ...hand });
/** The check vector of a box, 600 × 400 × 300 mm, as its corners are asked for. */
const CHEST = [[1769.231, 1269.231], [2714.337, 1317.534], [1589.229, 2047.503], [1495.736, 1053.197], [2378.506, 1135.562], [1362.666, 1745.132], [2495.668, 1941.804]];
const chest = { kind: 'boxed', picture: 1, corners: CHEST, edges: [mm(600), null, null], ...hand };
/** Lengths that run several ways. */
const LINES = [[[-280, -150], [260, -140]], [[-250, -180], [-240, 170]], [[-200, 150], [220, 160]], [[180, -170], [190, 180]], [[-220, -160], [200, 150]]];
const lengths = LINES.flatMap((line, i) => [
  place(line.map(seen)),
  { kind: 'set-known', mark: i + 1, length: mm(Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1])), how: 'tape' },
]);
/** An edge with forty places on it, bowed by a lens. */
const bowed = (y) => ({
  kind: 'straight-edge',
  picture: 1,
  sigma: 0.1,
  points: Array.from({ length: 40 }, (_, i) => {
    const [dx, dy] = [i * 90 - 1755, y - 1500];
    const grow = 1 - 0.05 * ((dx * dx + dy * dy) / 2500 ** 2);
    return [2000 + dx * grow, 1500 + dy * grow];
  }),
});
/** Forty sizes to be told anew. */
const forty = Array.from({ length: 40 }, (_, i) => place([[-250 + 12 * i, -150], [-200 + 8 * i, 150]].map(seen)));

/** What stands already, and the intent that is timed. */
const CASES = {
  'a rectangle of known width and height': [[picture], square(mm(600), mm(400)), AIM],
  'a rectangle of which only the height is known': [[picture], square(null, mm(400)), AIM],
  'four corners, then a true length': [[picture, square(null, null), place(LINES[0].map(seen))], { kind: 'set-known', mark: 1, length: mm(540), how: 'tape' }, AIM],
  'five true lengths tell the slant': [[picture, ...lengths], { kind: 'slanted', view: 1, on: true }, AIM],
  'a box of seven corners and one edge': [[picture], chest, AIM],
  'the third edge that a lens bows': [[picture, bowed(200), bowed(2800)], bowed(1200), AIM],
  'an end of a true length moved on a turned view, 40 sizes': [
    [picture, square(null, null), place(LINES[0].map(seen)), { kind: 'set-known', mark: 1, length: mm(540), how: 'tape' }, ...forty],
    { kind: 'move-point', mark: 1, point: 0, at: seen([-281, -150]), by: 'touch', zoom: 3, seen: true }, FRAME],
};

/** Run in the page: ms of each turn. */
async function timed(before, intent, count) {
  const { freshCore } = await import('./own.js');
  window.solveCore ??= await freshCore('whole');
  const words = window.solveWords ??= await (await fetch('./words/en.json')).text();
  const times = [];
  for (let turn = 0; turn < count; turn += 1) {
    const desk = new window.solveCore.Desk(words);
    for (const one of before) desk.intend(one);
    const start = performance.now();
    desk.intend(intent);
    times.push(performance.now() - start);
    desk.free();
  }
  return times;
}

/** Pictures of a target of 9 × 6 points, 25 mm apart, from all round, as replay's `calibrate` has them. */
function shots(count) {
  return Array.from({ length: count }, (_, k) => {
    const [a, b] = [0.5 * Math.cos(k * 0.8), 0.5 * Math.sin(k * 0.8)];
    const on = Array.from({ length: 54 }, (_, i) => [25 * (i % 9), 25 * Math.floor(i / 9)]);
    const at = ([x, y]) => {
      const [u, v] = [x - 100, y - 62.5];
      const [p, q, r] = [u * Math.cos(a), v * Math.cos(b) + u * Math.sin(a) * Math.sin(b), v * Math.sin(b) - u * Math.sin(a) * Math.cos(b)];
      const far = 420 + 15 * k + r;
      return [2000 + (3500 * p) / far, 1500 + (3500 * q) / far];
    };
    return [on.map(at), on];
  });
}

/** One camera natively, ms: many solves in one run less one, so that starting the program drops out. */
function camera() {
  const program = join(resolve(ROOT, process.env.CARGO_TARGET_DIR ?? 'target'), 'release/replay');
  if (!existsSync(program)) return null;
  const folder = mkdtempSync(join(tmpdir(), 'solve-'));
  const line = JSON.stringify({ kind: 'calibrate', size: [4000, 3000], shots: shots(CAMERAS), sigma: 0.1 });
  const ran = (count) => {
    const file = join(folder, 'shots.jsonl');
    writeFileSync(file, `${Array(count).fill(line).join('\n')}\n`);
    const start = performance.now();
    execFileSync(program, [file, '--last'], { stdio: ['ignore', 'ignore', 'inherit'] });
    return performance.now() - start;
  };
  const times = Array.from({ length: 5 }, () => (ran(11) - ran(1)) / 10);
  rmSync(folder, { recursive: true });
  return times;
}

export async function bench() {
  const rows = await inTab(async (t) => {
    const out = [];
    for (const [what, [before, intent, aim]] of Object.entries(CASES)) {
      const runs = [];
      for (let run = 0; run < RUNS; run += 1) runs.push(median(await t.run(timed, before, intent, TURNS / RUNS)));
      out.push({ what, ...spread(runs), unit: 'ms', aim });
    }
    return out;
  });
  const times = camera();
  if (times) rows.push({ what: `a camera from ${CAMERAS} pictures of a target, native`, ...spread(times), unit: 'ms', aim: CAMERA_AIM });
  return rows;
}
