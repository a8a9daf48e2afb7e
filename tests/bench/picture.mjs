// How soon a picture shows, and how much memory it takes, in a headless Chromium.
//   node tests/bench/picture.mjs [--site DIR] [--pictures DIR] [--repeats N] [--json]
// DIR: the built site (dist/), and the large test pictures (build/pictures; made when they aren't there). Prints
// ratios to the browser's own bare decode-and-draw of the same file, done in turn with ours, and sizes as
// multiples of the picture's RGBA size: PSS summed over all of the browser's processes, less an empty page.
import { createServer } from 'node:http';
import { readFile } from 'node:fs/promises';
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join, normalize } from 'node:path';
import { parseArgs } from 'node:util';
import { chromium } from 'playwright-core';

const { values: options } = parseArgs({
  options: {
    site: { type: 'string', default: 'dist' },
    pictures: { type: 'string', default: 'build/pictures' },
    repeats: { type: 'string', default: '7' },
    json: { type: 'boolean', default: false },
  },
});

const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-sync',
  '--disable-background-networking', '--disable-component-update'];
const POLICY = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; img-src 'self' blob: data:; connect-src 'self'; "
  + "worker-src 'self' blob:; base-uri 'none'";
const PAGE = `<!doctype html><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}">
<link rel="icon" href="data:,"><title>bench</title><canvas id="board" width="2360" height="1640"></canvas>`;
const TYPES = { js: 'text/javascript', wasm: 'application/wasm', json: 'application/json' };

async function serve() {
  const server = createServer(async (request, response) => {
    const path = normalize(new URL(request.url, 'http://localhost').pathname);
    if (path === '/bench') {
      response.writeHead(200, { 'Content-Type': 'text/html' }).end(PAGE);
      return;
    }
    const [root, file] = path.startsWith('/pictures/') ? [options.pictures, path.slice(10)] : [options.site, path];
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

/**
 * PSS of a process and all that it started, in MB: all of it, and without the files it shares. Another browser
 * of the same kind that starts or ends meanwhile takes over half of the shared files, or leaves it: then only
 * the second figure can be trusted.
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
  const sum = { all: 0, own: 0 };
  for (const pid of parents.keys()) {
    if (!ours(pid)) continue;
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
  const server = await chromium.launchServer({ executablePath: '/usr/bin/chromium', args: FLAGS });
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

const median = (values) => values.toSorted((a, b) => a - b)[values.length >> 1];

async function memory(url, file) {
  return withPage(url, async (page, pid) => {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    const empty = pssOf(pid);
    const peak = { all: 0, own: 0 };
    let sampling = true;
    const sampler = (async () => {
      while (sampling) {
        const now = pssOf(pid);
        for (const kind of ['all', 'own']) peak[kind] = Math.max(peak[kind], now[kind]);
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
      file, rgba, empty: empty.all,
      steady: ratio(last, 'all'), peak: ratio(peak, 'all'), ownSteady: ratio(last, 'own'), ownPeak: ratio(peak, 'own'),
    };
  });
}

/** The pictures, made by the tests' own Python when they aren't there yet. */
function makePictures() {
  const last = join(options.pictures, '48mpx-turned.jpg');
  if (existsSync(last)) return;
  const python = existsSync('.venv/bin/python') ? '.venv/bin/python' : 'python3';
  spawnSync(python, ['tests/pictures/make.py', 'large', options.pictures], { stdio: ['ignore', 'ignore', 'inherit'] });
  if (!existsSync(last)) throw new Error(`no test pictures in ${options.pictures}: see tests/pictures/make.py`);
}

async function main() {
  makePictures();
  const { server, url } = await serve();
  const rows = [];
  for (const file of ['12mpx.jpg', '48mpx.jpg', '30000x100.jpg', '48mpx-turned.jpg']) {
    const { bare, ours, cold, cut } = await withPage(url, (page) =>
      page.evaluate(times, { file, repeats: Number(options.repeats) }));
    const row = { file, bare: median(bare), ours: median(ours), ratio: median(ours) / median(bare), cold, cut: median(cut) };
    rows.push(row);
    if (!options.json) {
      const ms = (value) => `${value.toFixed(0)} ms`;
      console.log(`${file}: first drawn ${ms(row.ours)}, bare ${ms(row.bare)}, ratio ${row.ratio.toFixed(2)}`
        + `${file === '12mpx.jpg' ? ' (aim 1.5)' : ''}; with a mill not yet started ${ms(cold)}; all cut after ${ms(row.cut)}`);
    }
  }
  for (const file of ['48mpx.jpg', '48mpx-turned.jpg']) {
    const row = await memory(url, file);
    rows.push(row);
    if (!options.json) {
      console.log(`${file}: RGBA ${row.rgba.toFixed(0)} MB; steady ${row.steady.toFixed(2)} (aim 1.25), `
        + `peak ${row.peak.toFixed(2)} (aim 2.25); without shared files ${row.ownSteady.toFixed(2)} and `
        + `${row.ownPeak.toFixed(2)}; an empty page ${row.empty.toFixed(0)} MB`);
    }
  }
  if (options.json) console.log(JSON.stringify(rows, null, 1));
  server.close();
}

await main();
