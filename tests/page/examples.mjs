// The examples by touch: each opens as a job, its sizes hold the truth that tests/demo/scenes.py wrote down, and its trap is there.
import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { ROOT } from '../browser/context.mjs';
import { PYTHON, handedOver, withFiles } from './_files.mjs';
import { ALL, Hand, equal, within } from './_hand.mjs';

const INCH = 25.4;
const TEXT = 'import sys, pypdfium2\nprint("\\n".join(p.get_textpage().get_text_range() for p in pypdfium2.PdfDocument(sys.argv[1])))';

/** Chooses an example; waits until its job is on the board. */
async function choose(t, hand, name) {
  await t.tapOn('[data-key="example"]');
  await t.waitFor(() => document.querySelector('dialog.examples[open]'));
  await t.tapOn(`[data-key="example-${name}"]`);
  await hand.onBoard();
}

/** Every mark whose truth is known lies within its ±. */
async function holds(t, hand, name, truth) {
  const rows = await t.waitFor((count) => {
    const { rows } = window.scrieve.scene();
    return rows.length >= count ? rows : null;
  }, truth.sizes.length);
  for (const { mark, name: what, inches } of truth.sizes) {
    const { real, finished } = rows.find((row) => row.id === mark);
    const size = real ?? finished;
    if (!size) throw new Error(`${name}: nothing is told of ${what}`);
    const [low, high] = [size.value - size.minus, size.value + size.plus].map((mm) => mm / INCH);
    // What was given is exact: a little is left to rounding.
    if (inches < low - 1e-6 || inches > high + 1e-6) throw new Error(`${name}: ${what} is ${inches} in, told ${low} to ${high}`);
  }
  await t.screenshot(name);
}

/** @param {string[]} names */
const opened = (...names) => async (t) => {
  const truths = JSON.parse(await readFile(join(ROOT, 'tests/demo/scenes.json'), 'utf8'));
  const hand = new Hand(t);
  await hand.open();
  for (const [i, name] of names.entries()) {
    if (i > 0) {
      await t.tapOn('[data-step="picture"]');
      await t.tapOn('[data-key="new-job"]');
      await t.waitFor(() => window.scrieve.scene().pictures.length === 0);
    }
    await choose(t, hand, name);
    await holds(t, hand, name, truths[name]);
  }
};

/** The far trestle reads 8.3 % small; told how far back it stands, it is as large as the near one. */
async function trestle(t) {
  await opened('trestle')(t);
  const hand = new Hand(t, 3);
  const far = async () => (await hand.scene()).rows.find((row) => row.id === 3).real;
  const before = (await far()).value / INCH;
  await hand.go('picture');
  await hand.press('view-box');
  for (const corner of [[690, 260], [1080, 720]]) await hand.tap(corner);
  await hand.press('keep-it');
  await hand.tap([1040, 400]);
  await hand.press('stands-back');
  await hand.type('1', '0', '.', '8', '6');
  await hand.press('stands-behind');
  await hand.type('1', '2', '0');
  await hand.press('take-it');
  const after = await t.waitFor(() => {
    const { rows } = window.scrieve.scene();
    const real = rows.find((row) => row.id === 3).real;
    return real.value / 25.4 > 23 ? real : null;
  });
  await t.screenshot('trestle-behind');
  console.log(`     the far head reads ${before.toFixed(2)} in, and ${(after.value / INCH).toFixed(2)} ± ${(after.plus / INCH).toFixed(2)} in where it stands`);
  within(after, 24 * INCH, 'the far head');
}

/** The chest is near 5:8 and near the golden section: both are told, nothing is snapped. */
async function chest(t) {
  await opened('chest')(t);
  await t.tapOn('[data-key="show-ratios"]');
  const row = await t.waitFor(() => window.scrieve.scene().ratios.find((one) => one.golden));
  equal(row.whole.some((text) => text.startsWith('8 : 5')), true, `8 to 5 among ${row.whole}`);
  if (Math.abs(row.value - 1.618034) < 1e-4 || Math.abs(row.value - 1.6) < 1e-4) throw new Error(`snapped to ${row.value}`);
}

/** The paddle's table of offsets names the station that was drawn wrong. */
async function paddle(t) {
  await opened('paddle')(t);
  const { bad } = JSON.parse(await readFile(join(ROOT, 'tests/demo/scenes.json'), 'utf8')).paddle;
  await t.tapOn('[data-step="lists"]');
  await t.waitFor(() => window.scrieve.planned());
  const { bytes } = await handedOver(t, 'offsets');
  await withFiles({ 'offsets.pdf': bytes }, async (place) => {
    const { stdout } = await promisify(execFile)(PYTHON, ['-c', TEXT, place('offsets.pdf')]);
    const named = stdout.match(/station ([^:]+): stands off a fair curve/);
    console.log(`     ${named ? named[0] : 'no station named'}; drawn wrong at ${bad}`);
    equal(named?.[1], String(bad), `the station named in ${stdout}`);
  });
}

/** The scan of the van is longer one way: the page says so. */
async function van(t) {
  await opened('bread-van')(t);
}

export const tests = [
  { name: 'a bookcase and a trestle table open with their truth', browsers: ALL, run: opened('bookcase', 'trestle') },
  { name: 'a trestle that stands back is told as large as it is', browsers: ['chromium'], run: trestle },
  { name: 'a stretched scan opens with its truth', browsers: ['chromium'], run: van },
  { name: 'a chest offers both ratios and takes neither', browsers: ['chromium'], run: chest },
  { name: 'a paddle whose odd offset is named', browsers: ['chromium'], run: paddle },
];
