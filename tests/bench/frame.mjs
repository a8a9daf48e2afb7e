// From a nudge to the end of its frame's work, on the real page with 300 marks, 6 views and a picture of 12 megapixels,
// the whole picture in sight on a tablet's screen, the processor throttled 4×. Only work on the page's own thread is
// counted, not the wait for the next frame:
//   core and clone   Desk.intend(): the intent read, done, the scene's news made into plain objects
//   keep and lay out the rest of the arrow key's event: the fact handed to the database, the scene merged, rows and
//                    keys brought up to date, the layout that the page asks for
//   draw             the frame's callbacks: the marks, the end in hand, the magnified window
//   paint            from there to the first task after the frame: style, layout, paint, what the canvases recorded
// Each run nudges an end 20 times there and back; its figure is the median. The database's own answers come later, and
// are waited for between nudges.
import { join } from 'node:path';
import { ROOT, median, ratios, spread } from './_figures.mjs';
import { makePictures } from './_pictures.mjs';
import { inTab, layJob300 } from './_tab.mjs';

const RUNS = 9;
const NUDGES = 20;
const THROTTLE = 4;

export const title = `One nudge on the page with 300 marks, processor throttled ${THROTTLE}× (${RUNS} runs of ${NUDGES} nudges)`;

/** Run in the page: times what the core takes out of every intent. */
async function watchCore() {
  const { Desk } = await import('./core/desk.js');
  const { intend } = Desk.prototype;
  window.coreTook = 0;
  Desk.prototype.intend = function timed(intent) {
    const start = performance.now();
    try {
      return intend.call(this, intent);
    } finally {
      window.coreTook += performance.now() - start;
    }
  };
}

/** Run in the page: nudges the held end; ms of each part of each nudge. Without a key, the same of frames in which nothing is new. */
async function nudges(count, keys) {
  const frame = () => new Promise((resolve) => { requestAnimationFrame(resolve); });
  const nextTask = () => new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => resolve(performance.now());
    port2.postMessage(null);
  });
  const out = [];
  for (let i = 0; i < count; i += 1) {
    await window.scrieve.kept();
    await frame();
    await nextTask();
    const before = window.scrieve.scene().hand.at[0];
    let begun = 0;
    requestAnimationFrame(() => { begun = performance.now(); });
    window.coreTook = 0;
    const start = performance.now();
    if (keys) window.dispatchEvent(new KeyboardEvent('keydown', { key: keys[i % keys.length], bubbles: true, cancelable: true }));
    const sent = performance.now() - start;
    // Asked for last, so called last: the board has drawn by then.
    await frame();
    const drawn = performance.now();
    const done = await nextTask();
    const moved = window.scrieve.scene().hand.at[0] !== before;
    if (moved !== Boolean(keys)) throw new Error(keys ? 'a nudge moved nothing' : 'something moved by itself');
    out.push({ core: window.coreTook, sent, draw: drawn - begun, paint: done - drawn });
  }
  return out;
}

/** Picks up an end of a mark by touching it. */
async function pickUp(t, id) {
  const spot = await t.run(async (mark) => {
    await new Promise((resolve) => { requestAnimationFrame(() => requestAnimationFrame(resolve)); });
    const [x, y] = window.scrieve.scene().marks.find((one) => one.id === mark).handles[0];
    const at = window.scrieve.toScreen(x, y);
    return { at, on: document.elementFromPoint(...at)?.id };
  }, id);
  if (spot.on !== 'board') throw new Error(`${spot.on} lies over the end of mark ${id}`);
  await t.tap(...spot.at);
  await t.waitFor((mark) => window.scrieve.scene().hand?.mark === mark, id);
}

/** One run's medians, ms. */
async function once(t, keys) {
  const all = await t.run(nudges, NUDGES, keys);
  const part = (of) => median(all.map(of));
  return {
    core: part((n) => n.core),
    page: part((n) => n.sent - n.core),
    draw: part((n) => n.draw),
    together: part((n) => n.sent + n.draw),
    paint: part((n) => n.paint),
    whole: part((n) => n.sent + n.draw + n.paint),
  };
}

const KEYS = ['ArrowRight', 'ArrowLeft'];

async function measure(t) {
  const marks = [17, 1];
  const runs = { full: [], still: [], 17: [], 1: [] };
  await layJob300(t, join(makePictures(), '12mpx.jpg'));
  await t.waitFor(() => document.querySelector('#busy').hidden);
  await t.tapOn('[data-step="marks"]');
  await t.run(watchCore);
  for (const mark of marks) {
    await pickUp(t, mark);
    await t.waitFor(() => !document.querySelector('#magnifier').hidden);
    // The compiler's second thoughts come with use.
    await t.run(nudges, 2 * NUDGES, KEYS);
  }
  for (let run = 0; run < RUNS; run += 1) {
    for (const mark of marks) {
      await pickUp(t, mark);
      if (mark === 17) runs.full.push(await once(t, KEYS));
      await t.driver.throttle(THROTTLE);
      runs[mark].push(await once(t, KEYS));
      if (mark === 17) runs.still.push(await once(t, null));
      await t.driver.throttle(1);
    }
  }
  return runs;
}

export async function bench() {
  const runs = await inTab(measure);
  const row = (what, list, part, more = {}) => ({ what, ...spread(list.map((run) => run[part])), unit: 'ms', ...more });
  const parts = (list) => [
    row('… core and clone', list, 'core'),
    row('… keep and lay out', list, 'page'),
    row('… draw', list, 'draw'),
    row('and paint', list, 'paint'),
    row('all of it', list, 'whole'),
  ];
  return [
    row('an end nudged: door, clone and draw', runs[17], 'together', { aim: 8 }),
    ...parts(runs[17]),
    row('an end of the size to build nudged: door, clone and draw', runs[1], 'together', { aim: 8 }),
    ...parts(runs[1]),
    row('a frame in which nothing is new: paint', runs.still, 'paint'),
    row('an end nudged, not throttled: door, clone and draw', runs.full, 'together'),
    {
      what: 'throttled to not throttled', unit: '×', note: `asked for: ${THROTTLE}`,
      ...ratios(runs[17].map((run) => run.together), runs.full.map((run) => run.together)),
    },
  ];
}
