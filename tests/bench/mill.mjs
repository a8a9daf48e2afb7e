// What the mill finds in a picture of 12 megapixels, against OpenCV.js, in one page of one headless Chromium, in turn.
// The picture is drawn by this script: noisy paper with lines, and a dark thing with a wavy border that fills half of it.
// OpenCV.js (npm's @techstark/opencv-js) is only a yardstick: its answers are to a whole px, ours to a part of one. The page
// has no use for a whole picture's edges at once: what finds them is built for this bench alone (scripts/lib/sweep.sh).
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { which } from '../browser/which.mjs';
import { FLAGS, ROOT, median, ratios, serveBench, spread } from './_figures.mjs';

const REPEATS = 9;
const PAGE = '<!doctype html><meta charset="utf-8"><link rel="icon" href="data:,"><title>bench</title>'
  + '<canvas id="board" width="2360" height="1640"></canvas>';
const OTHERS = {
  '/opencv.js': join(ROOT, 'node_modules/@techstark/opencv-js/dist/opencv.js'),
  '/sweep.js': join(ROOT, 'build/web/sweep/sweep.js'),
  '/sweep_bg.wasm': join(ROOT, 'build/web/sweep/sweep_bg.wasm'),
};

export const title = `The mill and OpenCV.js on 12 megapixels (${REPEATS} times each, in turn)`;

/** Run in the page: draws the picture, and starts both. `border(t)` is the thing's border, t from 0 to 2π. */
async function prepare() {
  const [width, height] = [4000, 3000];
  const canvas = new OffscreenCanvas(width, height);
  const brush = canvas.getContext('2d', { willReadFrequently: true });
  brush.fillStyle = '#e4e4e4';
  brush.fillRect(0, 0, width, height);
  brush.lineWidth = 4;
  for (let i = 0; i < 14; i += 1) {
    brush.strokeStyle = i % 2 ? '#333' : '#777';
    brush.strokeRect(20 + 9 * i, 20 + 7 * i, width - 40 - 18 * i, height - 40 - 14 * i);
  }
  const border = (t) => {
    const r = 1 + 0.02 * Math.sin(9 * t);
    return [width / 2 + 1630 * r * Math.cos(t), height / 2 + 1170 * r * Math.sin(t)];
  };
  brush.fillStyle = '#444';
  brush.beginPath();
  for (let k = 0; k < 6000; k += 1) brush.lineTo(...border((k / 6000) * 2 * Math.PI));
  brush.fill();
  const image = brush.getImageData(0, 0, width, height);
  let seed = 1;
  for (let i = 0; i < image.data.length; i += 4) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    const noise = (seed >>> 28) - 8;
    for (let k = 0; k < 3; k += 1) image.data[i + k] += noise;
  }
  brush.putImageData(image, 0, 0);
  const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.92 });
  const core = await import('/core/mill.js');
  await core.default({ module_or_path: '/core/mill_bg.wasm' });
  const mill = new core.Mill(width, height, 'bench');
  mill.set_tile(0, 0, width, height, new Uint8Array(image.data.buffer));
  const edges = await import('/sweep.js');
  await edges.default({ module_or_path: '/sweep_bg.wasm' });
  const sweep = new edges.Sweep(width, new Uint8Array(image.data.buffer));
  await new Promise((resolve, reject) => {
    const script = document.createElement('script');
    Object.assign(script, { src: '/opencv.js', onload: resolve, onerror: reject });
    document.head.append(script);
  });
  // What it gives may look like a promise without ever being settled: only a real one is waited for.
  const cv = window.cv instanceof Promise ? await window.cv : window.cv;
  while (!cv.Mat) await new Promise((resolve) => { setTimeout(resolve, 20); });
  const rgba = cv.matFromImageData(image);
  const grey = new cv.Mat();
  cv.cvtColor(rgba, grey, cv.COLOR_RGBA2GRAY);
  window.bench = { width, height, border, blob, mill, sweep, cv, rgba, grey };
}

/** Run in the page: ms of each thing, once. */
async function once() {
  const { width, height, border, mill, sweep, cv, rgba, grey } = window.bench;
  const time = (work) => {
    const start = performance.now();
    const result = work();
    return [performance.now() - start, result];
  };
  const out = {};
  [out.canny, out.theirs] = time(() => {
    const [a, b, c] = [new cv.Mat(), new cv.Mat(), new cv.Mat()];
    cv.cvtColor(rgba, a, cv.COLOR_RGBA2GRAY);
    cv.GaussianBlur(a, b, new cv.Size(5, 5), 1);
    cv.Canny(b, c, 50, 100);
    const count = cv.countNonZero(c);
    [a, b, c].forEach((mat) => mat.delete());
    return count;
  });
  let places;
  [out.sweep, places] = time(() => sweep.edges(50, 100));
  out.ours = places.length / 2;
  // The thing's own border: what lies well within the frames that are drawn round it.
  const misses = [];
  for (let i = 0; i < places.length; i += 2) {
    const [x, y] = [places[i] - width / 2, places[i + 1] - height / 2];
    const t = Math.atan2(y / 1170, x / 1630);
    const [bx, by] = border(t);
    const d = Math.hypot(x, y) - Math.hypot(bx - width / 2, by - height / 2);
    if (Math.abs(d) < 3) misses.push(d);
  }
  out.rms = Math.sqrt(misses.reduce((sum, d) => sum + d * d, 0) / misses.length);
  let found;
  [out.border, found] = time(() => mill.seek({ kind: 'border', inside: [width / 2, height / 2] }));
  const ring = found.border.rings[0];
  out.points = ring.length;
  // By how far it misses the border that was drawn: along the ray from the middle, near enough square to it.
  out.off = Math.max(...ring.map(([x, y]) => {
    const t = Math.atan2((y - height / 2) / 1170, (x - width / 2) / 1630);
    const [bx, by] = border(t);
    return Math.abs(Math.hypot(x - width / 2, y - height / 2) - Math.hypot(bx - width / 2, by - height / 2));
  }));
  [out.flood] = time(() => {
    const mask = cv.Mat.zeros(height + 2, width + 2, cv.CV_8U);
    const box = new cv.Rect();
    cv.floodFill(grey, mask, new cv.Point(width / 2, height / 2), new cv.Scalar(255), box, new cv.Scalar(60), new cv.Scalar(60), 4 | cv.FLOODFILL_MASK_ONLY | cv.FLOODFILL_FIXED_RANGE);
    const [contours, tree] = [new cv.MatVector(), new cv.Mat()];
    cv.findContours(mask, contours, tree, cv.RETR_CCOMP, cv.CHAIN_APPROX_NONE);
    if (contours.size() < 1 || contours.get(0).rows < 1000) throw new Error('the flood found no border');
    [mask, contours, tree].forEach((mat) => mat.delete());
  });
  const middle = (list) => list.toSorted((a, b) => a - b)[list.length >> 1];
  const near = (t) => border(t).map((v, i) => v + (i ? 2 : -3));
  const many = (count, ask) => Array.from({ length: count }, (_, k) => time(() => mill.seek(ask((k / count) * 2 * Math.PI)))[0]);
  // 500 px of a border of about 8,900.
  out.follow = middle(many(24, (t) => ({ kind: 'follow', from: near(t), to: near(t + 0.35) })));
  const catches = many(150, (t) => ({ kind: 'catch', at: near(t), reach: 12 }));
  out.catch = middle(catches);
  out.slow = catches.toSorted((a, b) => a - b)[Math.floor(catches.length * 0.95)];
  return out;
}

/** Run in the page: ms from the file to its first picture, and to its first edge. */
async function dropped() {
  const { openPicture, warmMill } = await import('/picture.js');
  const { blob, border, width, height } = window.bench;
  const brush = document.querySelector('#board').getContext('2d');
  warmMill();
  await new Promise((resolve) => { setTimeout(resolve, 400); });
  const start = performance.now();
  const picture = await openPicture(blob, 'bench.jpg');
  picture.draw(brush, { zoom: Math.min(2360 / width, 1640 / height), x: 0, y: 0 });
  brush.getImageData(0, 0, 1, 1);
  const drawn = performance.now() - start;
  await picture.seek({ kind: 'catch', at: border(1), reach: 12 });
  const caught = performance.now() - start;
  picture.close();
  return { drawn, caught };
}

async function measure(page) {
  await page.evaluate(prepare);
  // The compilers' second thoughts come with use.
  await page.evaluate(once);
  const [runs, drops] = [[], []];
  for (let run = 0; run < REPEATS; run += 1) runs.push(await page.evaluate(once));
  await page.evaluate(() => { window.bench.rgba.delete(); window.bench.grey.delete(); window.bench.mill.free(); });
  for (let run = 0; run < REPEATS; run += 1) drops.push(await page.evaluate(dropped));
  return { runs, drops };
}

export async function bench() {
  const { server, url } = await serveBench(PAGE, OTHERS);
  const browser = await chromium.launch({ executablePath: await which('chromium', 'chromium-browser', 'google-chrome'), args: FLAGS });
  try {
    const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
    page.on('pageerror', (error) => console.error(error));
    await page.goto(`${url}/bench`);
    const { runs, drops } = await measure(page);
    const of = (list, part) => list.map((run) => run[part]);
    const row = (what, part, more = {}) => ({ what, ...spread(of(runs, part)), unit: 'ms', ...more });
    return [
      row('all edges of the whole picture', 'sweep', { note: `${median(of(runs, 'ours'))} places, ${median(of(runs, 'rms')).toFixed(3)} px off (RMS, the thing's border)` }),
      row('theirs: grey, blurred, Canny, whole picture', 'canny', { note: `${median(of(runs, 'theirs'))} whole px` }),
      { what: 'all edges: ours to theirs', ...ratios(of(runs, 'sweep'), of(runs, 'canny')), unit: '×', aim: 1 },
      row('border of a thing that fills half', 'border', { aim: 150, note: `${median(of(runs, 'points'))} points, at most ${median(of(runs, 'off')).toFixed(2)} px off` }),
      row('theirs: floodFill and findContours', 'flood', { note: 'to a whole px' }),
      { what: '… ours to theirs', ...ratios(of(runs, 'border'), of(runs, 'flood')), unit: '×' },
      row('500 px of an edge followed, the median of 24', 'follow', { aim: 8 }),
      row('one catch, the median of 150', 'catch', { aim: 2 }),
      row('one catch, 95 of 100', 'slow'),
      { what: 'dropped: first drawn', ...spread(of(drops, 'drawn')), unit: 'ms' },
      { what: 'dropped: first edge caught', ...spread(of(drops, 'caught')), unit: 'ms' },
      { what: 'first edge caught, to first drawn', ...ratios(of(drops, 'caught'), of(drops, 'drawn')), unit: '×', aim: 3 },
    ];
  } finally {
    await browser.close();
    server.close();
  }
}
