// How long a finger's move waits while a picture of 48 megapixels is panned, on the real page: from the browser's own time of the touch to the
// page's hearing of it (browsers hand moves on once a frame), and to the end of that frame's work. Browsers here draw without a graphics
// processor, so that the drawing itself, which a tablet leaves to that, is in the second figure and makes the first one wait.
import { join } from 'node:path';
import { median, spread } from './_figures.mjs';
import { makePictures } from './_pictures.mjs';
import { inTab } from './_tab.mjs';

const RUNS = Number(process.env.RUNS ?? 3);
/** A frame of 60 Hz, ms. */
const FRAME = 1000 / 60;
const MOVES = 240;

export const title = `Panning 48 megapixels with a finger, ${MOVES} moves (${RUNS} runs)`;

/** Run in the page: notes, for every move that reaches the board, how long it waited, and when its frame's work was done. */
function listen() {
  window.waits = [];
  document.querySelector('#board').addEventListener('pointermove', ({ timeStamp }) => {
    const heard = performance.now() - timeStamp;
    requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => window.waits.push({ heard, drawn: performance.now() - timeStamp });
      port2.postMessage(null);
    });
  }, { capture: true });
}

/** The value that so many of a hundred are at most. */
const quantile = (values, part) => values.toSorted((a, b) => a - b)[Math.min(values.length - 1, Math.ceil(part * values.length) - 1)];

/** Pans a picture of 48 megapixels with a finger: ms that a move waits. @param {number} throttle */
async function panning(t, throttle) {
  await t.dropFile(join(makePictures(), '48mpx.jpg'), '#floor');
  t.patience = 120_000;
  await t.waitFor(() => window.scrieve.scene()?.picture != null && document.querySelector('#busy').hidden && window.scrieve.sought());
  for (let i = 0; i < 6; i += 1) await t.tapOn('[data-key="zoom-in"]');
  await t.run(listen);
  await t.driver.throttle(throttle);
  const finger = await t.finger({ x: 400, y: 300 });
  for (let i = 0; i < MOVES; i += 1) {
    await finger.slide({ x: 400 + 220 * Math.sin(i / 14), y: 300 + 160 * Math.cos(i / 23) });
    await new Promise((done) => { setTimeout(done, 4); });
  }
  await finger.lift();
  await t.driver.throttle(1);
  const waits = await t.run(() => window.waits);
  return { heard: quantile(waits.map((one) => one.heard), 0.95), drawn: quantile(waits.map((one) => one.drawn), 0.95), count: waits.length };
}

export async function bench() {
  const rows = [];
  for (const throttle of [1, 4]) {
    const pans = [];
    for (let run = 0; run < RUNS; run += 1) pans.push(await inTab((t) => panning(t, throttle)));
    const note = `${median(pans.map((pan) => pan.count))} moves`;
    const how = throttle === 1 ? '' : ', throttled 4×';
    rows.push({ what: `a move waits while 48 megapixels are panned, p95${how}`, ...spread(pans.map((pan) => pan.heard)), unit: 'ms', aim: FRAME, note });
    rows.push({ what: `… until its frame's work is done, p95${how}`, ...spread(pans.map((pan) => pan.drawn)), unit: 'ms' });
  }
  return rows;
}
