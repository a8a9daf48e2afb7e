// How long the core takes for one edit in a job of 300 parts (240 outlines of three stocks, some with joints, and 60 hidden ones by rule)
// with the lists open, as wasm in Chromium: all of Desk.intend(), the crossing of what is new included. How many parts are new to
// the page, and how much is told, stands beside it.
import { job300, spread } from './_figures.mjs';
import { inTab } from './_tab.mjs';

const TURNS = 60;

export const title = `The core: one edit with 300 parts and the lists open (${TURNS} turns each)`;

/** Run in the page: ms of each turn of each edit. */
async function turns(intents, count) {
  const { freshCore } = await import('./own.js');
  const core = await freshCore('whole');
  const desk = new core.Desk(await (await fetch('./words/en.json')).text());
  for (const intent of intents) desk.intend(intent);
  const parts = desk.scene().parts.length;
  if (parts !== 300) throw new Error(`the desk has ${parts} parts`);
  const edits = {
    'a corner of a part moved': (t) => ({ kind: 'move-point', mark: 17, point: 0, at: [60 + (t % 2) * 5, 250], by: 'key', zoom: 8, seen: true }),
    'another stock for one': (t) => ({ kind: 'set-part', mark: 2, choice: { made: { goods: 'plywood', stock: ['1/2', '3/4'][t % 2] } } }),
    'a piece is cut': (t) => ({ kind: 'tick', mark: 5, copy: 0, on: t % 2 === 0 }),
    'the size to build: all sizes are others': (t) => ({ kind: 'set-build', mark: 241, length: { mm: 2540 + (t % 7) * 20 } }),
    'the step of rounding: all are told otherwise': (t) => ({ kind: 'set-units', style: 'inches', step: ['1/16 in', '1/8 in'][t % 2], direction: 'nearest' }),
  };
  const out = [];
  for (const [what, edit] of Object.entries(edits)) {
    const times = [];
    let change;
    for (let t = 0; t < count; t += 1) {
      const start = performance.now();
      change = desk.intend(edit(t));
      times.push(performance.now() - start);
    }
    out.push({ what, times, fresh: change.parts?.changed.length ?? 0, told: JSON.stringify(change).length });
  }
  desk.free();
  return out;
}

export async function bench() {
  const intents = await job300('parts-300');
  const runs = await inTab((t) => t.run(turns, intents, TURNS));
  return runs.map(({ what, times, fresh, told }) => ({ what, ...spread(times), unit: 'ms', aim: 5, note: `${fresh} parts new, ${(told / 1000).toFixed(0)} kB told` }));
}
