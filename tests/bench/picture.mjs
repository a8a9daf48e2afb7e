// How soon a picture shows, and how much memory it takes, in a headless Chromium.
// Time: from the bytes to the picture drawn on a tablet's canvas, as a ratio to the browser's own bare
// createImageBitmap and drawImage of the same file, done in turn with ours. Memory: PSS summed over all of the
// browser's processes every 20 ms, less an empty page, as a multiple of the picture's RGBA size; while the picture
// opens, is cut, and is looked at everywhere at three magnifications (peak), and 4 s after that (steady).
import { createServer } from 'node:http';
import { readFile } from 'node:fs/promises';
import { readFileSync, readdirSync, readlinkSync } from 'node:fs';
import { join, normalize } from 'node:path';
import { chromium } from 'playwright-core';
import { DIST } from '../browser/context.mjs';
import { which } from '../browser/which.mjs';
import { median, ratios, spread } from './_figures.mjs';
import { makePictures } from './_pictures.mjs';

const REPEATS = 9;
/** Of these the largest counts: what must not be run out of. */
const MEMORY_RUNS = 3;

export const title = `Pictures: first drawn (${REPEATS} times each, bare and ours in turn), and memory (${MEMORY_RUNS} times each)`;

const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-sync',
  '--disable-background-networking', '--disable-component-update'];
const POLICY = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; img-src 'self' blob: data:; connect-src 'self'; "
  + "worker-src 'self' blob:; base-uri 'none'";
const PAGE = `<!doctype html><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}">
<link rel="icon" href="data:,"><title>bench</title><canvas id="board" width="2360" height="1640"></canvas>`;
const TYPES = { js: 'text/javascript', wasm: 'application/wasm', json: 'application/json' };

async function serve(pictures) {
  const server = createServer(async (request, response) => {
    const path = normalize(new URL(request.url, 'http://localhost').pathname);
    if (path === '/bench') {
      response.writeHead(200, { 'Content-Type': 'text/html' }).end(PAGE);
      return;
    }
    const [root, file] = path.startsWith('/pictures/') ? [pictures, path.slice(10)] : [DIST, path];
    try {
      const type = TYPES[path.split('.').pop()] ?? 'application/octet-stream';
      response.writeHead(200, { 'Content-Type': type }).end(await readFile(join(root, file)));
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  return { server, url: `http://127.0.0.1:${server.address().port}` };
}

/** What a process runs; nothing when that can't be seen. @param {number} pid */
function programOf(pid) {
  try {
    return readlinkSync(`/proc/${pid}/exe`);
  } catch {
    return undefined;
  }
}

/**
 * PSS of a process and all that it started, in MB: all of it, and without the files it shares. Another browser
 * of the same kind that starts or ends meanwhile takes over half of the shared files, or leaves it: then only
 * the second figure can be trusted, so such strangers are counted.
 */
function pssOf(root) {
  const parents = new Map();
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    try {
      const stat = readFileSync(`/proc/${pid}/stat`, 'latin1');
      parents.set(Number(pid), Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]));
    } catch { /* It has ended. */ }
  }
  const ours = (pid) => pid === root || (parents.has(pid) && parents.get(pid) > 1 && ours(parents.get(pid)));
  const program = programOf(root);
  const sum = { all: 0, own: 0, strangers: 0 };
  for (const pid of parents.keys()) {
    if (!ours(pid)) {
      if (programOf(pid) === program) sum.strangers += 1;
      continue;
    }
    try {
      const rollup = readFileSync(`/proc/${pid}/smaps_rollup`, 'latin1');
      const megabytes = (name) => (Number(rollup.match(new RegExp(`^${name}:\\s+(\\d+)`, 'm'))[1]) * 1024) / 1e6;
      sum.all += megabytes('Pss');
      sum.own += megabytes('Pss_Anon') + megabytes('Pss_Shmem');
    } catch { /* It has ended. */ }
  }
  return sum;
}

async function withPage(url, work) {
  const server = await chromium.launchServer({ executablePath: await which('chromium', 'chromium-browser', 'google-chrome'), args: FLAGS });
  const browser = await chromium.connect(server.wsEndpoint());
  try {
    const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
    page.on('console', (message) => message.type() === 'error' && console.error(message.text()));
    page.on('pageerror', (error) => console.error(error));
    await page.goto(`${url}/bench`);
    return await work(page, server.process().pid);
  } finally {
    await browser.close();
    await server.close();
  }
}

/** In the page: ms to first drawn, bare and ours in turn, and ms until all is cut. */
async function times({ file, repeats }) {
  const { openPicture, warmMill } = await import('/picture.js');
  const blob = await (await fetch(`/pictures/${file}`)).blob();
  const brush = document.querySelector('#board').getContext('2d');
  // Reading one pixel back makes sure that all before it has been drawn.
  const drawn = () => brush.getImageData(0, 0, 1, 1);
  const eyeOf = ({ width, height }) => ({ zoom: Math.min(2360 / width, 1640 / height), x: 0, y: 0 });
  const result = { bare: [], ours: [], cold: 0, cut: [] };
  for (let i = 0; i <= repeats; i++) {
    let start = performance.now();
    const bitmap = await createImageBitmap(blob);
    const { zoom } = eyeOf(bitmap);
    brush.drawImage(bitmap, 0, 0, bitmap.width * zoom, bitmap.height * zoom);
    drawn();
    const bare = performance.now() - start;
    bitmap.close();
    if (i > 0) warmMill();
    await new Promise((resolve) => setTimeout(resolve, 400));
    start = performance.now();
    const picture = await openPicture(blob, file);
    picture.draw(brush, eyeOf(picture));
    drawn();
    const ours = performance.now() - start;
    await picture.luminance(0, 0, 1, 1);
    result.cut.push(performance.now() - start);
    picture.close();
    // The first goes unwarmed: a page that has just been opened, and a drop at once.
    if (i === 0) result.cold = ours;
    else {
      result.bare.push(bare);
      result.ours.push(ours);
    }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  return result;
}

/** In the page: opens, cuts, then looks at every corner at full size, so that the tiles kept are as many as can be. */
async function hold({ file }) {
  const { openPicture } = await import('/picture.js');
  const brush = document.querySelector('#board').getContext('2d');
  const blob = await (await fetch(`/pictures/${file}`)).blob();
  const picture = await openPicture(blob, file);
  window.picture = picture;
  picture.draw(brush, { zoom: 0.25, x: 0, y: 0 });
  await picture.luminance(0, 0, 1, 1);
  for (const zoom of [0.45, 0.7, 1]) {
    for (let y = 0; y < picture.height * zoom; y += 1200) {
      for (let x = 0; x < picture.width * zoom; x += 1800) {
        await new Promise((resolve) => {
          let quiet = setTimeout(resolve, 2000);
          picture.onchange = () => {
            picture.draw(brush, { zoom, x: -x, y: -y });
            clearTimeout(quiet);
            quiet = setTimeout(resolve, 400);
          };
          picture.onchange();
        });
      }
    }
  }
  picture.onchange = () => {};
  return { pixels: picture.width * picture.height };
}

async function memory(url, file) {
  return withPage(url, async (page, pid) => {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    const empty = pssOf(pid);
    const peak = { all: 0, own: 0, strangers: empty.strangers };
    let sampling = true;
    const sampler = (async () => {
      while (sampling) {
        const now = pssOf(pid);
        for (const kind of ['all', 'own', 'strangers']) peak[kind] = Math.max(peak[kind], now[kind]);
        await new Promise((resolve) => setTimeout(resolve, 20));
      }
    })();
    const { pixels } = await page.evaluate(hold, { file });
    await new Promise((resolve) => setTimeout(resolve, 4000));
    sampling = false;
    await sampler;
    const rgba = (pixels * 4) / 1e6;
    const last = pssOf(pid);
    const ratio = (to, kind) => (to[kind] - empty[kind]) / rgba;
    return {
      rgba, empty: empty.all, disturbed: peak.strangers > 0,
      steady: ratio(last, 'all'), peak: ratio(peak, 'all'), ownSteady: ratio(last, 'own'), ownPeak: ratio(peak, 'own'),
    };
  });
}

/** Rows on the time to first drawn. */
async function timeRows(url, file, aim) {
  const { bare, ours, cold, cut } = await withPage(url, (page) => page.evaluate(times, { file, repeats: REPEATS }));
  const note = `ours ${median(ours).toFixed(0)} ms, bare ${median(bare).toFixed(0)} ms`;
  return [
    { what: `${file}: first drawn, to bare`, ...ratios(ours, bare), unit: '×', aim, note },
    { what: `${file}: the same just after the page opened`, got: cold / median(bare), unit: '×', note: 'once' },
    { what: `${file}: all cut, to bare`, ...ratios(cut.slice(1), bare), unit: '×' },
  ];
}

/** Rows on memory. */
async function memoryRows(url, file) {
  const runs = [];
  for (let run = 0; run < MEMORY_RUNS; run += 1) runs.push(await memory(url, file));
  const row = (what, kind, more) => {
    const range = spread(runs.map((one) => one[kind]));
    return { what: `${file}: ${what}`, ...range, got: range.high, unit: '× RGBA', ...more };
  };
  const sizes = `RGBA ${runs[0].rgba.toFixed(0)} MB, an empty page ${median(runs.map((one) => one.empty)).toFixed(0)} MB`;
  const note = runs.some((run) => run.disturbed) ? 'another such browser ran: only the rows without shared files count' : undefined;
  return [
    row('steady', 'steady', { aim: 1.25, note }),
    row('peak', 'peak', { aim: 2.25, note }),
    row('steady, without shared files', 'ownSteady', { aim: 1.25, note: sizes }),
    row('peak, without shared files', 'ownPeak', { aim: 2.25 }),
  ];
}

export async function bench() {
  const { server, url } = await serve(makePictures());
  try {
    const rows = [];
    for (const file of ['12mpx.jpg', '48mpx.jpg', '30000x100.jpg', '48mpx-turned.jpg']) {
      rows.push(...(await timeRows(url, file, file === '12mpx.jpg' ? 1.5 : undefined)));
    }
    for (const file of ['48mpx.jpg', '48mpx-turned.jpg']) rows.push(...(await memoryRows(url, file)));
    return rows;
  } finally {
    server.close();
  }
}
