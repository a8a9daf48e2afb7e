// The real page in a Chromium of its own, for a bench; and the job of 300 marks laid on it.
import { readFile } from 'node:fs/promises';
import { serveFiles } from '../../scripts/lib/server.mjs';
import { startChromium } from '../browser/chromium.mjs';
import { Context, DIST } from '../browser/context.mjs';
import { FINE_TIMER, job300 } from './_figures.mjs';

/** As the page tests have it: a tablet held level, CSS px, and device px to each. */
const SCREEN = { width: 1180, height: 820, scale: 2 };

/**
 * Opens the page, does `work` there, and ends the browser.
 * @template T @param {(t: Context) => Promise<T>} work @returns {Promise<T>}
 */
export async function inTab(work) {
  const driver = await startChromium(SCREEN);
  const server = await serveFiles(DIST, { headers: FINE_TIMER });
  try {
    const t = new Context(driver, 'bench');
    t.server = server;
    t.url = server.url;
    // The page's own service worker would serve it without the headers that make its timer fine.
    await driver.cdp.send('Network.enable');
    await driver.cdp.send('Network.setBypassServiceWorker', { bypass: true });
    await t.open();
    await ready(t);
    const result = await work(t);
    const errors = await t.errors();
    if (errors.length > 0) throw new Error(`the page complained:\n${errors.join('\n')}`);
    return result;
  } finally {
    await driver.stop();
    await server.stop();
  }
}

async function ready(t) {
  await t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  if (!(await t.run(() => window.crossOriginIsolated))) throw new Error('the timer is coarse');
}

/** Run in the page: keeps the job and its picture as the page itself would, for the next load to find. */
async function keepJob(intents, base64) {
  const { digestOf, openStore } = await import('./store.js');
  const { freshCore } = await import('./own.js');
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const digest = await digestOf(bytes.buffer);
  const core = await freshCore('whole');
  const desk = new core.Desk(await (await fetch('./words/en.json')).text());
  for (const intent of intents) desk.intend(intent.kind === 'add-picture' ? { ...intent, digest } : intent);
  const store = await openStore();
  await store.putPicture(digest, bytes);
  await store.append('bench', 0, desk.factsFrom(0));
  await store.putJob({ id: 'bench', name: 'bench', when: Date.now() });
  store.close();
}

/**
 * Lays the job of 300 marks on the page, on a real picture of its size, by way of the browser's database and a reload.
 * @param {Context} t @param {string} picture a JPEG of 4000 × 3000 px
 */
export async function layJob300(t, picture) {
  await t.run(keepJob, await job300(), (await readFile(picture)).toString('base64'));
  await t.reload();
  await ready(t);
  const laid = await t.run(() => {
    const { marks, views } = window.scrieve.scene();
    return { marks: marks.length, views: views.filter((view) => !view.whole).length };
  });
  if (laid.marks !== 300 || laid.views !== 6) throw new Error(`the job came back as ${JSON.stringify(laid)}`);
}
