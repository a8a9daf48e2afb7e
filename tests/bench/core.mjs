// How long the core takes for one intent in a job of 300 marks on 6 views, natively (crate/examples/pace.rs) and as
// wasm in Chromium, in turn: the same ends moved to the same places. A run is 400 turns, its figure their median.
// The native figure is for the intent as the core has it, the scene, what is new in it, and that as JSON. The web's is
// for all of Desk.intend(): besides that, the page's plain object is read and one is made for the page, so the ratio
// holds the crossing against the web.
import { execFileSync } from 'node:child_process';
import { join, resolve } from 'node:path';
import { ROOT, job300, median, ratios, spread } from './_figures.mjs';
import { inTab } from './_tab.mjs';

const RUNS = 11;
const TURNS = 400;
/** The worst case takes long enough to be steadier. */
const WORST_TURNS = 40;

export const title = `The core: one intent with 300 marks and 6 views (${RUNS} runs of ${TURNS} turns, native and web in turn)`;

/** Compiles the example, with the same optimisation as the web's; gives the program. */
function compile() {
  const target = resolve(ROOT, process.env.CARGO_TARGET_DIR ?? 'target');
  const env = { ...process.env, CARGO_TARGET_DIR: target };
  const args = ['build', '--quiet', '--release', '--package', 'scrieve', '--example', 'pace'];
  execFileSync('cargo', args, { cwd: ROOT, env, stdio: ['ignore', 'ignore', 'inherit'] });
  return join(target, 'release/examples/pace');
}

/** One native run, µs. @param {string} program */
function native(program) {
  const { all, marks } = JSON.parse(execFileSync(program, { encoding: 'utf8' }));
  if (marks !== 300) throw new Error(`the example has ${marks} marks`);
  return all;
}

/** Fits a curve to a border of 2,000 points; a few runs, ms. @param {string} program */
function curves(program) {
  const runs = Array.from({ length: RUNS }, () => JSON.parse(execFileSync(program, ['curve'], { encoding: 'utf8' })));
  return { what: 'a curve fitted to a border of 2,000 points, native', ...spread(runs.map(({ ms }) => ms)), unit: 'ms', aim: 10, note: `${runs[0].pieces} pieces` };
}

/** Run in the page: moves an end back and forth on a desk of its own; µs of each turn. */
async function turns(intents, { mark, at: [left, y] }, count) {
  const { freshCore } = await import('./own.js');
  window.benchCore ??= await freshCore('desk');
  const desk = new window.benchCore.Desk(await (await fetch('./words/en.json')).text());
  for (const intent of intents) desk.intend(intent);
  const scene = desk.scene();
  if (scene.marks.length !== 300) throw new Error(`the desk has ${scene.marks.length} marks`);
  const times = [];
  let rows = 0;
  for (let turn = 0; turn < count; turn += 1) {
    const at = [left + (turn % 7), y];
    const start = performance.now();
    const change = desk.intend({ kind: 'move-point', mark, point: 0, at, by: 'key', zoom: 8, seen: true });
    times.push((performance.now() - start) * 1000);
    rows = change.rows?.changed.length ?? 0;
  }
  desk.free();
  return { times, rows };
}

/** The end that crate/examples/pace.rs moves. */
const PACE = { mark: 17, at: [150, 340] };
/** An end of the mark that sets the size to build: every finished size changes with it. */
const WORST = { mark: 1, at: [140, 140] };

/** @param {object} t @param {string} program */
async function measure(t, program) {
  const intents = await job300();
  const runs = { native: [], web: [], late: [], worst: [], rows: 0, worstRows: 0 };
  for (let run = 0; run < RUNS; run += 1) {
    runs.native.push(native(program));
    const usual = await t.run(turns, intents, PACE, TURNS);
    const worst = await t.run(turns, intents, WORST, WORST_TURNS);
    runs.web.push(median(usual.times));
    runs.late.push(usual.times.toSorted((a, b) => a - b)[Math.floor(TURNS * 0.95)]);
    runs.worst.push(median(worst.times));
    [runs.rows, runs.worstRows] = [usual.rows, worst.rows];
  }
  return runs;
}

export async function bench() {
  const program = compile();
  const runs = await inTab((t) => measure(t, program));
  const ms = (values) => spread(values.map((us) => us / 1000));
  const rows = (count) => `${count} row${count === 1 ? '' : 's'} of the size board new in each turn`;
  return [
    { what: 'an end moved, web', ...ms(runs.web), unit: 'ms', aim: 1, note: rows(runs.rows) },
    { what: '… its 95th percentile', ...ms(runs.late), unit: 'ms' },
    { what: 'an end moved, native', ...ms(runs.native), unit: 'ms' },
    { what: 'web to native', ...ratios(runs.web, runs.native), unit: '×', aim: 2 },
    { what: 'an end of the size to build moved, web', ...ms(runs.worst), unit: 'ms', aim: 1, note: rows(runs.worstRows) },
    curves(program),
  ];
}
