// Lighthouse (an outside tool, Apache-2.0) on the page as a site would serve it: an upright tablet, processor throttled 4×, slow 4G, both really
// applied ("devtools" throttling) rather than reckoned. It is installed into build/lighthouse when it is first wanted (200 packages of its own).
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { copyFile, mkdir, readFile, readdir, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { join, relative, sep } from 'node:path';
import { startChromium } from '../browser/chromium.mjs';
import { DIST } from '../browser/context.mjs';
import { ROOT, spread } from './_figures.mjs';
import { TAKE, packAll, startHost } from './_host.mjs';

const RUNS = Number(process.env.RUNS ?? 3);
const AIM = 98;
const KINDS = ['performance', 'accessibility', 'best-practices'];
const TABLET = { mobile: true, width: 820, height: 1180, deviceScaleFactor: 2, disabled: false };
const SLOW = { rttMs: 150, throughputKbps: 1638.4, requestLatencyMs: 150, downloadThroughputKbps: 1638.4, uploadThroughputKbps: 750, cpuSlowdownMultiplier: 4 };

export const title = `Lighthouse, an upright tablet, throttled (${RUNS} runs)`;

/** @returns {Promise<(url: string, flags: object) => Promise<any>>} */
async function lighthouse() {
  const to = join(ROOT, 'build/lighthouse');
  const from = join(ROOT, 'tests/bench/lighthouse');
  const main = join(to, 'node_modules/lighthouse/core/index.js');
  const same = async () => existsSync(main) && (await readFile(join(to, 'package.json'), 'utf8')) === (await readFile(join(from, 'package.json'), 'utf8'));
  if (!(await same())) {
    await mkdir(to, { recursive: true });
    for (const name of ['package.json', 'package-lock.json']) await copyFile(join(from, name), join(to, name));
    await copyFile(join(ROOT, '.npmrc'), join(to, '.npmrc'));
    const { status } = spawnSync('npm', ['ci', '--ignore-scripts', '--no-progress'], { cwd: to, stdio: ['ignore', 2, 2] });
    if (status !== 0) throw new Error('lighthouse could not be installed');
  }
  return (await import(main)).default;
}

/** A port that nobody listens on. @returns {Promise<number>} */
function freePort() {
  return new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

/** One run in a browser of its own: what Lighthouse has to say. @param {Function} audit @param {string} url */
async function once(audit, url) {
  const port = await freePort();
  const driver = await startChromium({ width: TABLET.width, height: TABLET.height, scale: 1, flags: [...TAKE, `--remote-debugging-port=${port}`] });
  try {
    const { lhr } = await audit(url, {
      port, onlyCategories: KINDS, formFactor: 'mobile', screenEmulation: TABLET, throttlingMethod: 'devtools', throttling: SLOW, logLevel: 'error',
    });
    if (lhr.runtimeError) throw new Error(lhr.runtimeError.message);
    return lhr;
  } finally {
    await driver.stop();
  }
}

export async function bench() {
  const audit = await lighthouse();
  const entries = await readdir(DIST, { recursive: true, withFileTypes: true });
  const names = entries.filter((one) => one.isFile()).map((one) => relative(DIST, join(one.parentPath ?? one.path, one.name)).split(sep).join('/'));
  await packAll(names.filter((name) => name !== 'scrieve.html'));
  const host = await startHost();
  const runs = [];
  try {
    for (let run = 0; run < RUNS; run += 1) runs.push(await once(audit, host.url));
  } finally {
    await host.stop();
  }
  await writeFile(join(ROOT, 'build/lighthouse/last.json'), JSON.stringify(runs.at(-1), null, 1));
  const rows = KINDS.map((kind) => {
    // The aim is a least one: told as what is missing from 100.
    const { got, low, high } = spread(runs.map((one) => 100 - 100 * one.categories[kind].score));
    return { what: `${kind}: missing from 100`, got: Math.round(got), low: Math.round(low), high: Math.round(high), unit: 'points', aim: 100 - AIM };
  });
  for (const [id, what] of [['first-contentful-paint', 'first paint with content'], ['largest-contentful-paint', 'the largest of it'], ['total-blocking-time', 'time blocked'], ['interactive', 'interactive']]) {
    rows.push({ what, ...spread(runs.map((one) => one.audits[id].numericValue)), unit: 'ms' });
  }
  const last = runs.at(-1);
  const wrong = KINDS.flatMap((kind) => last.categories[kind].auditRefs.filter(({ id, weight }) => weight > 0 && (last.audits[id].score ?? 1) < 0.9)
    .map(({ id }) => ({ what: `below 0.9 in the last run: ${id}`, got: Math.round(100 * last.audits[id].score), unit: 'of 100', note: last.audits[id].displayValue ?? '' })));
  return [...rows, ...wrong];
}
