// What the faults share: a browser of their own, a plain drawing, a hand that marks lengths, and a look at what is kept.
import { readFile, readdir, readlink } from 'node:fs/promises';
import { Context } from '../browser/context.mjs';
import { startChromium } from '../browser/chromium.mjs';
import { greyPng } from '../page/_png.mjs';

/** A drawing of upright lines, 100 px apart. */
export const DRAWING = greyPng(1200, 900, (x, y) => (x % 100 < 3 && y > 80 && y < 820 ? 20 : 250));

export const SCREEN = { width: 1180, height: 820, scale: 1 };

/** Something that must hold; what doesn't is a loss. */
export function must(holds, what) {
  if (!holds) throw new Error(what);
}

/** Runs one fault in a browser of its own. @param {(t: Context) => Promise<void>} run */
export async function inBrowser(name, run) {
  const driver = await startChromium(SCREEN);
  const t = new Context(driver, name);
  // Only where a test gives up: this machine may have other things to do.
  t.patience = 60_000;
  try {
    await t.serve();
    return await run(t);
  } catch (error) {
    // How it stood then, for whoever looks into it.
    const stood = await t.run(() => ({
      sure: window.scrieve?.sure?.(), facts: window.scrieve?.facts?.().length, sought: window.scrieve?.sought?.(),
      busy: document.querySelector('#busy')?.textContent, notes: document.querySelector('#notes')?.textContent,
    })).catch((why) => String(why));
    console.error(stood, await driver.errors());
    throw error;
  } finally {
    await driver.stop().catch(() => {});
    await t.server?.stop();
  }
}

export const ready = (t) => t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);

/** Run in the page: drops the drawing on the board. */
function drop(base64, name) {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const data = new DataTransfer();
  data.items.add(new File([bytes], name, { type: 'image/png' }));
  document.querySelector('#floor').dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: data }));
}

export async function dropDrawing(t, wait = true) {
  await t.run(drop, DRAWING.toString('base64'), 'drawing.png');
  if (wait) await onBoard(t);
}

export const onBoard = (t) => t.waitFor(() => window.scrieve.scene()?.picture != null && document.querySelector('#busy').hidden && window.scrieve.sought());

/** One length by two touches, on lines `a` and `b`, `y` px down. */
export async function markLength(t, a, b, y) {
  for (const x of [a * 100 + 1.5, b * 100 + 1.5]) {
    const [sx, sy] = await t.run((px, py) => window.scrieve.toScreen(px, py), x, y);
    await t.tap(sx, sy);
  }
}

export const kept = (t) => t.run(() => window.scrieve.kept().then(() => true));

/** Run in the page: the job on the board. */
const standing = () => ({
  ...window.scrieve.sure(),
  facts: [...window.scrieve.facts()],
  pictures: window.scrieve.scene().pictures.map((one) => one.digest),
  marks: window.scrieve.scene().marks.length,
  name: window.scrieve.scene().name,
});
export const look = (t) => t.run(standing);

/** Run in the page: whether the bytes of these pictures are in the store. */
async function stored(digests) {
  const { openStore } = await import('/store.js');
  const store = await openStore();
  try {
    const found = [];
    for (const digest of digests) found.push(Boolean(await store.picture(digest)));
    return found.every(Boolean);
  } finally {
    store.close();
  }
}
export const haveAll = (t, digests) => t.run(stored, digests);

/** The process of the browser that this test started: the one with its own profile that isn't a child of it. @param {string} profile */
export async function browserProcess(profile) {
  for (const pid of (await readdir('/proc')).filter((name) => /^\d+$/.test(name))) {
    const words = await readFile(`/proc/${pid}/cmdline`, 'utf8').then((text) => text.split('\0'), () => []);
    if (!words.includes(`--user-data-dir=${profile}`) || words.some((word) => word.startsWith('--type='))) continue;
    if (/chrom/.test(await readlink(`/proc/${pid}/exe`).catch(() => ''))) return Number(pid);
  }
  throw new Error('the browser’s process wasn’t found');
}
