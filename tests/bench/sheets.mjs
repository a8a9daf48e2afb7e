// Making the sheets of a 1.2 × 0.4 m pattern with its picture of 12 megapixels, on A4 at 200 dots to the inch, in wasm in a page of
// one headless Chromium; and what Pillow and reportlab need natively for the same crops, kernel, tiles and PDF, run by run beside it.
// Then 40 sheets of lines alone, and how much memory the press comes to.
import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { chromium } from 'playwright-core';
import { which } from '../browser/which.mjs';
import { FLAGS, ROOT, median, ratios, serveBench, spread } from './_figures.mjs';

const REPEATS = 9;

export const title = `Sheets, and Pillow with reportlab (${REPEATS} times each, in turn)`;

/** Run in the page: the orders, from the desk itself, and a picture's luminance. */
async function prepare() {
  const [width, height] = [4000, 3000];
  const [desk, press, words] = await Promise.all([import('/core/whole.js'), import('/core/press.js'), fetch('/words/en.json').then((r) => r.text())]);
  await desk.default({ module_or_path: '/core/whole_bg.wasm' });
  const core = await press.default({ module_or_path: '/core/press_bg.wasm' });
  const type = await Promise.all(['sheet-400.type', 'sheet-600.type'].map(async (name) => new Uint8Array(await (await fetch(`/fonts/${name}`)).arrayBuffer())));
  const ring = Array.from({ length: 400 }, (_, k) => {
    const turn = (k / 400) * 2 * Math.PI;
    return [2000 + 1800 * Math.cos(turn), 1500 + 600 * Math.sin(turn)];
  });
  const order = (under, long) => {
    const one = new desk.Desk(words);
    for (const intent of [
      { kind: 'add-picture', name: 'bench.jpg', width, height },
      { kind: 'place', picture: 1, mark: 'outline', points: ring, zoom: 8, seen: true },
      { kind: 'place', picture: 1, mark: 'length', points: [[200, 1500], [3800, 1500]], zoom: 8, seen: true },
      { kind: 'set-build', mark: 2, length: { mm: long } },
      { kind: 'set-paper', paper: { name: 'a4', turn: 'fewest' } },
      { kind: 'set-pattern', mark: 1, choice: { wanted: true, quantity: 1, hand: 'one', under, grain: 'along' } },
    ]) one.intend(intent);
    const made = one.order('patterns', '');
    one.free();
    return made;
  };
  const luma = new Uint8Array(width * height);
  let seed = 1;
  for (let y = 0, i = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1, i += 1) {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
      luma[i] = 150 + 60 * Math.sin((x / width) * 40 * Math.PI) * Math.sin((y / height) * 30 * Math.PI) + (seed >>> 28) - 8;
    }
  }
  window.bench = { width, luma, press, core, type, orders: { picture: order('grey', 1200), lines: order(null, 2200) } };
}

/** Run in the page: one set of sheets; ms, the file's bytes, and the plan. */
function once(which) {
  const { width, luma, press, type, orders } = window.bench;
  const start = performance.now();
  const work = new press.Press(orders[which], ...type);
  for (;;) {
    const [, x, y, w, h] = work.wants();
    if (w > 0) {
      const part = new Uint8Array(w * h);
      for (let row = 0; row < h; row += 1) part.set(luma.subarray((y + row) * width + x, (y + row) * width + x + w), row * w);
      work.give(part);
    }
    const [done, of] = work.step();
    if (done >= of) break;
  }
  const bytes = work.pdf().length;
  const ms = performance.now() - start;
  const { sheets, wholes } = work.plan();
  work.free();
  return { ms, bytes, sheets, wholes, memory: window.bench.core.memory.buffer.byteLength };
}

/** The same sheets as Pillow is told of them; turned wholes as they lie. */
function yardstick({ sheets, wholes }) {
  const [whole] = wholes;
  const pxPerMm = 3600 / 1200;
  const outline = whole.preview.toSorted((a, b) => b.length - a.length)[0];
  const [xs, ys] = [0, 1].map((axis) => outline.map((p) => p[axis]));
  const low = [Math.min(...xs), Math.min(...ys)];
  const high = [Math.max(...xs), Math.max(...ys)];
  // Where the outline begins on the picture, px.
  const [x, y] = whole.turned ? [900, 200] : [200, 900];
  return {
    picture: whole.turned ? [3000, 4000] : [4000, 3000],
    pxPerMm,
    origin: [low[0] - x / pxPerMm, low[1] - y / pxPerMm],
    // The picture shows as far round the outline as ours does.
    bounds: [low[0] - 10, low[1] - 10, high[0] + 10, high[1] + 10],
    outline,
    sheets: sheets.map(({ size, margins, shows }) => ({
      size,
      windows: shows.map(({ window: [l, t, r, b], at: [x, y] }) => [l, t, r, b, margins[0] + x, margins[1] + y]),
    })),
  };
}

/** Ours and theirs in turn. */
async function measure(page, dir) {
  await page.evaluate(prepare);
  // The compilers' second thoughts come with use.
  const first = await page.evaluate(once, 'picture');
  const job = join(dir, 'job.json');
  await writeFile(job, JSON.stringify(yardstick(first)));
  const python = join(ROOT, '.venv/bin/python');
  const [ours, theirs] = [[], []];
  for (let run = 0; run < REPEATS; run += 1) {
    ours.push(await page.evaluate(once, 'picture'));
    const { stdout } = await promisify(execFile)(python, [join(ROOT, 'tests/bench/_pillow.py'), job, '1']);
    theirs.push(JSON.parse(stdout));
  }
  await page.evaluate(once, 'lines');
  const lines = [];
  for (let run = 0; run < REPEATS; run += 1) lines.push(await page.evaluate(once, 'lines'));
  return { ours, theirs, lines };
}

export async function bench() {
  const { server, url } = await serveBench('<!doctype html><link rel="icon" href="data:,"><title>bench</title>');
  const browser = await chromium.launch({ executablePath: await which('chromium', 'chromium-browser', 'google-chrome'), args: FLAGS });
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-bench-'));
  try {
    const page = await browser.newPage();
    page.on('pageerror', (error) => console.error(error));
    await page.goto(`${url}/bench`);
    const { ours, theirs, lines } = await measure(page, dir);
    const mine = ours.map(({ ms }) => ms);
    const other = theirs.map(({ ms: [ms] }) => ms);
    const sheets = ours[0].sheets.length;
    return [
      { what: `a pattern of 1.2 × 0.4 m with its picture, ${sheets} sheets of A4`, ...spread(mine), unit: 'ms' },
      { what: 'theirs: the same crops, kernel, tiles and PDF, natively', ...spread(other), unit: 'ms' },
      { what: 'a pattern: ours to theirs', ...ratios(mine, other), unit: '×', aim: 1 },
      { what: 'its file', got: ours[0].bytes / 1e6, unit: 'MB', aim: 12, note: `theirs ${(median(theirs.map(({ bytes }) => bytes)) / 1e6).toFixed(2)} MB` },
      { what: 'memory of the press, at its most', got: ours[0].memory / 1e6, unit: 'MB', aim: 300 },
      { what: `lines alone, ${lines[0].sheets.length} sheets`, ...spread(lines.map(({ ms }) => ms)), unit: 'ms', aim: 50 },
    ];
  } finally {
    await browser.close();
    server.close();
    await rm(dir, { recursive: true, force: true });
  }
}
