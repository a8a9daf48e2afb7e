// What a person's slip, a damaged file or an odd one must not do. Each time: plain words, the job as before (or
// the slip flagged in its row), and the page goes on.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { withFiles } from './_files.mjs';
import { ALL, HEN, Hand, equal, feature, henTruth } from './_hand.mjs';
import { greyPng } from './_png.mjs';

const SMALL = join(ROOT, 'tests/pictures/small');

/** Run in the page: everything of a job that a slip could spoil. */
function job() {
  const { pictures, picture, views, marks, rows, undo, step } = window.scrieve.scene();
  return { pictures, picture, views, marks: marks.map(({ id, handles }) => [id, handles]), rows, undo, step };
}

/** Marsh Hen with its body wanted 24 in long, ends put roughly. */
async function begun(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 9);
  await hand.open();
  await hand.drop(HEN);
  const ends = feature(truth, 'top', 'body, nose to tail').points;
  for (const end of ends) await hand.tap(end);
  await hand.type('2', '4');
  await hand.press('i-want-it');
  await t.waitFor(() => window.scrieve.scene().rows[0]?.finished != null);
  return { hand, truth, ends };
}

/** What stands beside the guide when something was refused. */
const refused = (t) => t.run(() => (document.querySelector('#refused').hidden ? '' : document.querySelector('#refused').textContent));

/** Words that no person should read. */
const JARGON = /undefined|null\b|NaN|\[object|\bError\b|unreachable|panicked|\{\w+\}/;

function plain(text, what) {
  // What a person wrote may be quoted.
  if (text.length < 15 || JARGON.test(text.replaceAll(/“[^”]*”/g, ''))) throw new Error(`${what}: not plain words: “${text}”`);
}

/** Run in the page: rows that show nothing at all. */
function blanks() {
  return [...document.querySelectorAll('#rows .row')].filter((row) => row.textContent.trim() === '').length;
}

async function badFiles(t) {
  const hen = await readFile(HEN);
  const files = {
    'words.jpg': await readFile(join(SMALL, 'words.jpg')),
    'empty.jpg': Buffer.alloc(0),
    'short.jpg': hen.subarray(0, 40),
    'none.zip': Buffer.from('PK\x03\x04 and nothing more', 'latin1'),
  };
  await withFiles(files, async (path) => {
    // First on an empty board: it stays so.
    const hand = new Hand(t, 9);
    await hand.open();
    for (const name of Object.keys(files)) {
      await t.dropFile(path(name), '#floor');
      await t.waitForText('#refused', ' ');
      await t.waitFor(() => document.querySelector('#busy').hidden);
      plain(await refused(t), `${name} on an empty board`);
      equal(await t.run(() => [window.scrieve.scene().pictures.length, document.querySelector('#first').hidden]), [0, false], name);
      await t.run(() => { document.querySelector('#refused').textContent = ''; });
    }
    // Then in the middle of a job.
    await begunHere(t, hand);
    const before = await t.run(job);
    for (const name of Object.keys(files)) {
      await t.dropFile(path(name), '#floor');
      await t.waitForText('#refused', ' ');
      await t.waitFor(() => document.querySelector('#busy').hidden);
      const text = await refused(t);
      plain(text, name);
      if (!/as it was/.test(text)) throw new Error(`${name}: nothing is said about the job: “${text}”`);
      equal(await t.run(job), before, `the job after ${name}`);
      await t.run(() => { document.querySelector('#refused').textContent = ''; });
    }
    await hand.length(feature(await henTruth(), 'top', 'wing, tip to tip').points);
    equal((await hand.scene()).rows.at(-1).finished !== null, true, 'a size after all that');
  });
}

async function begunHere(t, hand) {
  await hand.drop(HEN);
  for (const end of feature(await henTruth(), 'top', 'body, nose to tail').points) await hand.tap(end);
  await hand.type('2', '4');
  await hand.press('i-want-it');
}

/** Half of a picture's bytes: a browser shows what there is, and the page says so, or refuses it. */
async function halfPicture(t) {
  const hen = await readFile(HEN);
  await withFiles({ 'half.jpg': hen.subarray(0, hen.length / 2) }, async (path) => {
    const { hand } = await begun(t);
    const before = await t.run(job);
    await t.dropFile(path('half.jpg'), '#floor');
    await t.waitFor(() => document.querySelector('#busy').hidden && (window.scrieve.scene().pictures.length === 2
      ? document.querySelector('[data-note^="picture.end-missing"]') !== null : !document.querySelector('#refused').hidden));
    const now = await t.run(job);
    if (now.pictures.length === 1) {
      plain(await refused(t), 'half a picture');
      equal(now, before, 'the job');
    } else {
      plain(await t.text('[data-note^="picture.end-missing"] .note-text'), 'half a picture');
      await t.tapOn('#undo');
      const { undo, ...rest } = await t.run(job);
      equal(rest.marks, before.marks, 'the marks when it is undone');
      equal([rest.pictures, undo], [before.pictures, before.undo], 'the job when it is undone');
    }
    await hand.scene();
  });
}

/** Pictures that are odd but sound: they open, and can be measured on as far as that means anything. */
async function oddPictures(t) {
  const value = (x, y) => (x * 7 + y * 3) % 251;
  await withFiles({ 'wide.png': greyPng(30_000, 100, value) }, async (path) => {
    const hand = new Hand(t, 9);
    await hand.open();
    // Far wider than any canvas.
    await hand.drop(path('wide.png'));
    for (const end of [[2000, 50], [27_000, 50]]) await hand.tap(end);
    await hand.type('1', '4', 'ft');
    await hand.press('it-is');
    const zoom = await t.run(() => window.scrieve.zoom());
    const { marks } = await hand.scene();
    const [[x0], [x1]] = marks[0].handles;
    if (Math.abs(x1 - x0 - 25_000) > 2 / zoom) throw new Error(`the ends are ${x1 - x0} px apart, not 25,000`);
    await t.tapOn('[data-key="zoom-in"]');
    await t.screenshot('wide');
    // One that moves.
    await t.dropFile(join(SMALL, 'moving.gif'), '#floor');
    await t.waitFor('[data-note^="picture.animated"]');
    plain(await t.text('[data-note^="picture.animated"] .note-text'), 'a picture that moves');
    // One pixel.
    await t.dropFile(join(SMALL, 'one-pixel.png'), '#floor');
    await t.waitFor(() => window.scrieve.scene().pictures.length === 3 && document.querySelector('#busy').hidden);
    await hand.go('marks');
    await hand.tap([0.2, 0.2]);
    await hand.tap([0.8, 0.8]);
    await hand.press('keep-mark');
    const { rows, marks: all } = await hand.scene();
    equal([rows.length, all.length], [2, 2], 'rows and marks');
    equal(await t.run(blanks), 0, 'blank rows');
    if (JARGON.test(await t.text('#rows'))) throw new Error(`the size board says ${await t.text('#rows')}`);
    await t.run(() => window.scrieve.kept().then(() => true));
    await t.reload();
    await hand.ready();
    await hand.onBoard();
    equal((await hand.scene()).rows.length, 2, 'rows after a reload');
  });
}

/** A file's name and a mark's that would be something else if they were taken for markup. */
async function markup(t) {
  const evil = '<img src=x onerror="window.hit=1"><b>hen & {name}</b>.jpg';
  const hand = new Hand(t, 9);
  await hand.open();
  // A job's own small picture is no name's.
  const tags = () => t.run(() => document.querySelectorAll('img:not(.job-picture), b, script').length);
  const before = await tags();
  await hand.drop(HEN, evil);
  equal((await hand.scene()).pictures[0].name, evil, 'the name as it is');
  await t.dropFile(join(SMALL, 'moving.gif'), '#floor', evil.replace('.jpg', '.gif'));
  await t.waitFor('[data-note^="picture.animated"]');
  const said = await t.text('[data-note^="picture.animated"] .note-text');
  equal(said.includes('<img src=x onerror="window.hit=1"><b>hen & {name}</b>.gif'), true, `the name in “${said}”`);
  await withFiles({ 'x.jpg': Buffer.from('no picture') }, async (path) => {
    await t.dropFile(path('x.jpg'), '#floor', evil);
    await t.waitForText('#refused', '<img src=x');
  });
  // The same as a job's name: on the page, in its title, and as a file's.
  await t.tapOn('#job-name');
  await t.run((name) => {
    const input = document.querySelector('#entry-input');
    input.value = name;
    input.dispatchEvent(new InputEvent('input', { bubbles: true }));
  }, evil);
  await hand.press('take-it');
  equal(await t.text('#job-name'), evil, 'the job’s name');
  equal([await tags(), await t.run(() => window.hit ?? null)], [before, null], 'elements made of a name');
}

/** Types on a real keyboard, clears first; gives what the keypad says. */
async function tries(t, text) {
  await t.tapOn('[data-pad="clear"]');
  // On a key that was touched, Space would press it again.
  await t.run(() => document.querySelector('#entry-text').focus());
  for (const letter of text) await t.key(letter === ' ' ? 'Space' : letter);
  await t.waitFor((wanted) => window.scrieve.scene().entry?.text === wanted, text);
  return t.run(() => {
    const { entry } = window.scrieve.scene();
    const error = document.querySelector('#entry-error');
    const reads = document.querySelector('#entry-reads');
    return {
      error: error.hidden ? '' : error.textContent,
      reads: reads.hidden ? '' : reads.textContent,
      at: entry.error ? [entry.error.at, entry.error.len] : null,
      wrong: document.querySelector('#entry-text .wrong')?.textContent ?? null,
    };
  });
}

/** Lengths that can't be meant, each with the characters that are pointed at (nothing: all of it). */
const LENGTHS = [
  ['0', '0'], ['-5', '-'], ['1e-9', 'e'], ['1e12', 'e'], ['NaN', 'N'], ['0.0000001', null],
  ['99999999999999 ft', null], ['5 x 3', 'x'], ['1/0', '0'], ['3 4 5', '4'], ["5' 3' 1", null],
];

async function lengths(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 9);
  await hand.open();
  await hand.drop(HEN);
  for (const end of feature(truth, 'top', 'body, nose to tail').points) await hand.tap(end);
  await t.waitFor(() => window.scrieve.scene().entry != null);
  const before = await t.run(job);
  for (const [text, points] of LENGTHS) {
    const said = await tries(t, text);
    plain(said.error, `“${text}”`);
    equal([said.reads, said.at !== null && said.at[0] + said.at[1] <= [...text].length], ['', true], `“${text}”: what it reads as, where it is wrong`);
    if (points !== null && !said.wrong?.startsWith(points)) throw new Error(`“${text}”: “${said.wrong}” is marked wrong, not “${points}”`);
    // No way to take it, by touch or Enter.
    for (const way of ['it-is', 'i-want-it']) await t.tapOn(`[data-key="${way}"]`);
    await t.key('Enter');
    equal(await t.run(() => window.scrieve.scene().entry?.text ?? null), text, `the keypad still asks after “${text}”`);
    equal(await t.run(job), before, `the job after “${text}”`);
  }
  equal((await tries(t, '24')).error, '', 'a good length after all those');
  await hand.press('i-want-it');
  equal((await hand.row(1)).shown.figure, '24', 'the body');
}

/** Both ends in one place: no length, said in its row; no scale can come of it. */
async function samePlace(t) {
  const truth = await henTruth();
  const hand = new Hand(t, 9);
  await hand.open();
  await hand.drop(HEN);
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  for (const way of ['it-is', 'i-want-it']) {
    await hand.tap(nose);
    await hand.tap(nose);
    await hand.type('2', '4');
    await t.tapOn(`[data-key="${way}"]`);
    const row = (await hand.scene()).rows[0];
    const said = [await refused(t), ...row.flags, row.missing?.text ?? '', ...(await hand.scene()).notes.map((note) => note.text)].join(' ');
    if (!/same place|close together|no length/.test(said)) throw new Error(`${way}: nothing is said: “${said}”`);
    if (JARGON.test(said) || JARGON.test(await t.text('#sizes'))) throw new Error(`${way}: “${said}” “${await t.text('#sizes')}”`);
    equal(await t.run(blanks), 0, 'blank rows');
    // And it is put right like anything else.
    for (let i = 0; i < 9 && (await hand.scene()).marks.length > 0; i += 1) await t.tapOn('#undo');
    equal((await hand.scene()).marks.length, 0, 'marks when it is undone');
    await hand.go('true-length');
  }
  for (const end of [nose, tail]) await hand.tap(end);
  await hand.type('2', '4');
  await hand.press('i-want-it');
  equal((await hand.row((await hand.scene()).rows.at(-1).id)).shown.figure, '24', 'the body, after all');
}

/** An outline that crosses itself, and marks outside the picture, are flagged in their rows. */
async function flagged(t) {
  const { hand } = await begun(t);
  await hand.press('tool-outline');
  for (const corner of [[1300, 600], [1700, 1000], [1700, 600], [1300, 1000]]) await hand.tap(corner);
  await hand.press('keep-mark');
  const crossed = await hand.row(await hand.newest());
  equal(crossed.flags.some((flag) => /crosses itself/.test(flag)), true, `what is said of it: ${crossed.flags.join(' ')}`);
  if (!(await t.text(`[data-row="${crossed.id}"] .row-flags`)).includes('crosses itself')) throw new Error('it is not on the screen');
  equal(crossed.more.some(({ label }) => label === 'area' || label.includes('balance')), false, 'an area of what has none');
  // Beyond the picture's edge, as where a print is cut off.
  await t.drag({ x: 300, y: 400 }, { x: 300, y: 560 });
  await hand.press('tool-length');
  await hand.tap([300, -120]);
  await hand.tap([900, -120]);
  await hand.press('keep-mark');
  const outside = await hand.row(await hand.newest());
  equal(outside.flags.some((flag) => /outside the picture/.test(flag)), true, `what is said of it: ${outside.flags.join(' ')}`);
  equal(Number.isFinite(outside.finished.value) && outside.finished.value > 0, true, 'its size');
  equal(await t.run(blanks), 0, 'blank rows');
  if (JARGON.test(await t.text('#sizes'))) throw new Error(`the size board says ${await t.text('#sizes')}`);
  // A circle through three places in a line is none.
  await hand.press('tool-circle');
  for (const x of [1300, 1500, 1700]) await hand.tap([x, 1150]);
  await t.tapOn('[data-key="keep-mark"]');
  const row = (await hand.scene()).rows.at(-1);
  const said = [...row.flags, row.missing?.text ?? ''].join(' ');
  // An end that has caught something by then lies off the line by a hair.
  if (!/line|so little of the circle/.test(said)) throw new Error(`a circle through a line: “${said}”`);
  await t.screenshot('flagged');
}

/** Four corners in a line can't turn a view square-on. */
async function inALine(t) {
  const { hand } = await begun(t);
  await hand.go('picture');
  const before = await t.run(job);
  await hand.press('square-on');
  for (const x of [1300, 1500, 1700, 1900]) await hand.tap([x, 700]);
  await t.tapOn('[data-key="sheet.a4.wide"]');
  await t.waitForText('#refused', ' ');
  plain(await refused(t), 'corners in a line');
  await t.key('Escape');
  await t.tapOn('[data-key="forget"]');
  equal(await t.run(job), before, 'the job');
  // Too small a box, the same.
  await hand.press('view-box');
  await hand.tap([1300, 700]);
  await hand.tap([1300, 700]);
  await t.tapOn('[data-key="keep-it"]');
  await t.waitForText('#refused', ' ');
  plain(await refused(t), 'a box of no size');
  await t.tapOn('[data-key="forget"]');
  equal(await t.run(job), before, 'the job after a box of no size');
}

export const tests = [
  { name: 'files that are no pictures', browsers: ALL, run: badFiles },
  { name: 'half a picture', browsers: ['chromium'], run: halfPicture },
  { name: 'odd pictures', browsers: ['chromium'], run: oddPictures },
  { name: 'names with markup in them', browsers: ['chromium', 'firefox'], run: markup },
  { name: 'lengths that can’t be meant', browsers: ['chromium'], run: lengths },
  { name: 'both ends in one place', browsers: ['chromium'], run: samePlace },
  { name: 'outlines that cross, marks outside, circles through a line', browsers: ['chromium'], run: flagged },
  { name: 'corners in a line, and a box of no size', browsers: ['chromium'], run: inALine },
];
