// From the address to a page that can be touched, as on a tablet far from its router: processor throttled 4×, 1.6 Mbit/s down, 0.75 up, each
// answer 150 ms away ("slow 4G" as Lighthouse has it), the host as a site would have it (_host.mjs). `touchable`: the first keys stand and
// hear, and a frame with them is drawn; `ready`: the core is there and the last job open. From the cache: the page's second load in the
// same browser, served by its own worker, under the same throttling.
import { readdir } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { startChromium } from '../browser/chromium.mjs';
import { Context, DIST } from '../browser/context.mjs';
import { spread } from './_figures.mjs';
import { TAKE, packAll, startHost } from './_host.mjs';

const RUNS = Number(process.env.RUNS ?? 5);
const SLOW = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };
const SCREEN = { width: 1180, height: 820, scale: 2, flags: TAKE };

export const title = `From the address to the first touch (processor throttled 4×, slow 4G, ${RUNS} runs)`;

/** Run in the page before anything else: notes when it can be touched and when the core is there. */
function watch() {
  window.times = {};
  const look = () => {
    const there = document.querySelector('[data-key="find-picture"]');
    if (!there) return requestAnimationFrame(look);
    return requestAnimationFrame(() => setTimeout(() => { window.times.touchable = performance.now(); }));
  };
  requestAnimationFrame(look);
  const wait = () => {
    if (!window.scrieve) return setTimeout(wait, 5);
    return window.scrieve.ready.then(() => { window.times.ready = performance.now(); });
  };
  wait();
}

/** One load: ms until it can be touched, and until the core is there. @param {Context} t */
async function load(t, url) {
  await t.driver.page.goto(url, { waitUntil: 'commit' });
  return t.waitFor(() => (window.times?.ready && window.times.touchable ? window.times : null));
}

async function once(host) {
  const driver = await startChromium(SCREEN);
  try {
    const t = new Context(driver, 'start');
    t.patience = 60_000;
    await driver.page.addInitScript(watch);
    await driver.cdp.send('Network.enable');
    await driver.cdp.send('Network.emulateNetworkConditions', SLOW);
    await driver.throttle(4);
    const first = await load(t, host.url);
    // The rest is fetched at full speed: only how long the second load takes matters.
    await driver.cdp.send('Network.emulateNetworkConditions', { ...SLOW, latency: 0, downloadThroughput: -1, uploadThroughput: -1 });
    await driver.throttle(1);
    await t.waitFor(() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null));
    await driver.cdp.send('Network.emulateNetworkConditions', SLOW);
    await driver.throttle(4);
    await driver.page.goto('about:blank');
    const second = await load(t, host.url);
    return { first, second };
  } finally {
    await driver.stop();
  }
}

export async function bench() {
  const entries = await readdir(DIST, { recursive: true, withFileTypes: true });
  const names = entries.filter((one) => one.isFile()).map((one) => relative(DIST, join(one.parentPath ?? one.path, one.name)).split(sep).join('/'));
  await packAll(names.filter((name) => name !== 'scrieve.html'));
  const host = await startHost();
  const runs = [];
  let sent = 0;
  try {
    for (let run = 0; run < RUNS; run += 1) {
      const before = host.sent();
      runs.push(await once(host));
      sent = host.sent() - before;
    }
  } finally {
    await host.stop();
  }
  const row = (what, of, aim) => ({ what, ...spread(runs.map(of)), unit: 'ms', aim });
  return [
    row('a first visit: touchable', ({ first }) => first.touchable, 2000),
    row('a first visit: the core ready', ({ first }) => first.ready, 4000),
    row('from the cache: touchable', ({ second }) => second.touchable, 700),
    row('from the cache: the core ready', ({ second }) => second.ready),
    { what: 'sent by the host until all is kept for a visit without network', got: sent / 1000, unit: 'kB' },
  ];
}
