// Laying 100 parts out on sheets, in wasm in a page of one headless Chromium: published instances of 100 pieces (one of each class
// of tests/check/instances/), all that there is in one go, and the longest step between two looks at whether to stop.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { which } from '../browser/which.mjs';
import { FLAGS, ROOT, serveBench, spread } from './_figures.mjs';

const REPEATS = 5;

export const title = `Boards: 100 hard parts on sheets, in the press (${REPEATS} times each)`;

/** By name: the sheet, and each piece. */
async function instances() {
  const text = await readFile(join(ROOT, 'tests/check/instances/classes.txt'), 'ascii');
  const found = new Map();
  for (const line of text.split('\n').filter((one) => one && !one.startsWith('#'))) {
    const [name, , width, height, ...kinds] = line.split(';');
    const items = kinds.flatMap((kind, part) => {
      const [a, b, count = 1] = kind.split(',').map(Number);
      return Array.from({ length: count }, (_, copy) => ({ part: part + 1, copy, size: [a, b], turns: false }));
    });
    found.set(name, { board: [Number(width), Number(height)], items });
  }
  return found;
}

/** Run in the page: the core, and an order as the desk makes it, to be filled with other pieces. */
async function prepare() {
  const [desk, press, words] = await Promise.all([import('/core/whole.js'), import('/core/press.js'), fetch('/words/en.json').then((r) => r.text())]);
  await Promise.all([desk.default({ module_or_path: '/core/whole_bg.wasm' }), press.default({ module_or_path: '/core/press_bg.wasm' })]);
  const one = new desk.Desk(words);
  for (const intent of [
    { kind: 'add-picture', name: 'bench.jpg', width: 4000, height: 3000 },
    { kind: 'place', picture: 1, mark: 'outline', points: [[500, 500], [1500, 500], [1500, 900], [500, 900]], zoom: 8, seen: true },
    { kind: 'place', picture: 1, mark: 'length', points: [[500, 1500], [1500, 1500]], zoom: 8, seen: true },
    { kind: 'set-build', mark: 2, length: { mm: 500 } },
    { kind: 'set-part', mark: 1, choice: { made: { goods: 'plywood', stock: '3/4' } } },
  ]) one.intend(intent);
  window.bench = { press, order: one.order('boards', '') };
  one.free();
}

/** Run in the page: one lot laid out; ms, the longest step, and how many sheets. */
function once({ board, items }) {
  const order = JSON.parse(window.bench.order);
  const boards = order.pieces[0].boards ?? order.pieces[0];
  Object.assign(boards.lots[0].lot, { boards: [board], items, kerf: 0 });
  const start = performance.now();
  const work = new window.bench.press.Boards(JSON.stringify(order));
  let longest = 0;
  for (let last = start; ; ) {
    const [done, of] = work.step();
    const now = performance.now();
    longest = Math.max(longest, now - last);
    last = now;
    if (done >= of) break;
  }
  const ms = performance.now() - start;
  const sheets = work.shown().lots[0].boards.length;
  work.free();
  return { ms, longest, sheets };
}

export async function bench() {
  const all = await instances();
  const { server, url } = await serveBench('<!doctype html><link rel="icon" href="data:,"><title>bench</title>');
  const browser = await chromium.launch({ executablePath: await which('chromium', 'chromium-browser', 'google-chrome'), args: FLAGS });
  try {
    const page = await browser.newPage();
    await page.goto(`${url}/bench`);
    await page.evaluate(prepare);
    const rows = [];
    let longest = 0;
    for (let kind = 1; kind <= 10; kind += 1) {
      const one = all.get(`cl${String(kind).padStart(2, '0')}_100_01`);
      const runs = [];
      for (let run = 0; run < REPEATS; run += 1) runs.push(await page.evaluate(once, one));
      longest = Math.max(longest, ...runs.map((run) => run.longest));
      rows.push({ what: `class ${kind}, ${one.items.length} pieces`, ...spread(runs.map(({ ms }) => ms)), unit: 'ms', aim: 1000, note: `${runs[0].sheets} sheets` });
    }
    return [...rows, { what: 'the longest step between two looks at whether to stop', got: longest, unit: 'ms', aim: 50 }];
  } finally {
    await browser.close();
    server.close();
  }
}
