// What is done with whole outlines, by touch: taken, smoothed, faired, cut off, joined, made alike on both sides, undone.
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Hand, built, equal, feature, within } from './_hand.mjs';
import { greyPng } from './_png.mjs';

/** The body is to be 24 in; then outlines. */
async function begun(t, seed) {
  const hand = new Hand(t, seed);
  const truth = await hand.begin();
  await hand.go('marks');
  await t.tapOn('[data-key="tool-outline"]');
  return { hand, truth };
}

/** A place on the top view, so far along its body and so many px to the side. */
function onTop(truth, along, aside) {
  const [a, b] = feature(truth, 'top', 'body, nose to tail').points;
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = Math.hypot(dx, dy);
  return [a[0] + dx * along - (dy / long) * aside, a[1] + dy * along + (dx / long) * aside];
}

/** What a mark measures besides its main size, by its word. */
async function measured(hand, mark, label) {
  const row = (await hand.scene()).rows.find(({ id }) => id === mark);
  return row.more.find((one) => one.label === label).size;
}

/** Touches a key of the open row, and waits until what it asked for is there. */
async function work(hand, key) {
  await hand.t.tapOn(`[data-key="${key}"]`);
  await hand.t.waitFor(() => window.scrieve.sought());
}

/** The sides of the top view's outline that one touch gives. */
async function taken(t, seed) {
  const { hand, truth } = await begun(t, seed);
  const touches = t.touches;
  await hand.tap(onTop(truth, 0.28, 0));
  equal(t.touches - touches, 1, 'touches');
  const mark = await hand.newest();
  within((await hand.row(mark)).finished, built(feature(truth, 'top', 'wing, tip to tip').mm), 'the greatest length');
  return { hand, truth, mark };
}

async function all(t) {
  const { hand } = await begun(t, 31);
  const touches = t.touches;
  await work(hand, 'take-outlines');
  equal(t.touches - touches, 1, 'touches');
  equal((await hand.scene()).rows.map(({ number }) => number), [1, 2, 3, 4], 'marks');
  equal(await t.count('[data-key="take-outlines"]'), 0, 'keys for it, now that they are taken');
  await t.screenshot('all');
  await t.tapOn('#undo');
  equal((await hand.scene()).rows.length, 1, 'marks after one undo');
}

async function smoothed(t) {
  const { hand, truth, mark } = await taken(t, 32);
  const rough = await measured(hand, mark, 'area');
  await work(hand, 'smooth');
  within((await hand.row(mark)).finished, built(feature(truth, 'top', 'wing, tip to tip').mm), 'the greatest length of the smooth line');
  const area = await measured(hand, mark, 'area');
  if (Math.abs(area.value - rough.value) > 0.01 * rough.value) throw new Error(`${rough.value} mm² became ${area.value}`);
  const knots = (await hand.scene()).marks.find(({ id }) => id === mark).handles.length;
  if (knots < 4 || knots > 120) throw new Error(`${knots} points`);
  await t.screenshot('smooth');
  await work(hand, 'fair');
  const { aside } = await hand.scene();
  if (!/^Nothing was moved by more than \d/.test(aside)) throw new Error(`“${aside}” says nothing of what was moved`);
  equal(await t.text('#aside'), aside, 'what stands on the screen');
  await t.screenshot('fair');
  await t.tapOn('#undo');
  await t.tapOn('#undo');
  equal((await measured(hand, mark, 'area')).value, rough.value, 'the area after two undos');
  console.log(`     ${t.browser}: ${knots} points; ${aside}`);
}

async function cutAndJoined(t) {
  const { hand, truth, mark } = await taken(t, 33);
  const whole = (await measured(hand, mark, 'area')).value;
  // The same part once more: what was offered is taken, so the pixels are asked.
  await t.tapOn('[data-key="tool-outline"]');
  await hand.tap(onTop(truth, 0.28, 0));
  await t.waitFor(() => window.scrieve.scene().rows.length === 3 && window.scrieve.sought());
  const other = await hand.newest();
  const line = [onTop(truth, 0.6, -150), onTop(truth, 0.6, 150)];
  for (const [one, keep] of [[mark, 0.75], [other, 0.4]]) {
    await t.run((id) => window.scrieve.scene().rows.find((row) => row.id === id).selected, one)
      || await t.tapOn(`[data-row="${one}"] .row-main`);
    await t.tapOn('[data-key="cut-off"]');
    for (const place of [...line, onTop(truth, keep, 0)]) await hand.tap(place);
    await t.waitFor(() => window.scrieve.sought());
  }
  const parts = [(await measured(hand, mark, 'area')).value, (await measured(hand, other, 'area')).value];
  if (!(parts[0] > 0.03 * whole && parts[0] < 0.5 * whole)) throw new Error(`${parts[0]} of ${whole} mm² is the tail`);
  await t.screenshot('cut');
  await t.tapOn('[data-key="join-with"]');
  await hand.tap(onTop(truth, 0.75, 0));
  await t.waitFor(() => window.scrieve.scene().rows.length === 2 && window.scrieve.sought());
  const joined = (await measured(hand, other, 'area')).value;
  if (Math.abs(joined - whole) > 0.003 * whole) throw new Error(`cut in two and joined, ${whole} mm² became ${joined}`);
  await t.screenshot('joined');
  await t.tapOn('#undo');
  equal((await hand.scene()).rows.length, 3, 'marks after one undo');
  equal((await measured(hand, mark, 'area')).value, parts[0], 'the tail’s area after one undo');
}

async function even(t) {
  const { hand, mark } = await taken(t, 34);
  const before = await hand.row(mark);
  await work(hand, 'halves');
  const { guide, ledge } = await hand.scene();
  if (!/^The two halves differ by \d/.test(guide)) throw new Error(`“${guide}” says nothing of the halves`);
  await t.screenshot('halves');
  await work(hand, ledge.at(-1).id);
  const after = await hand.row(mark);
  if (Math.abs(after.finished.value - before.finished.value) > 2) throw new Error(`${before.finished.value} became ${after.finished.value} mm`);
  equal((await hand.scene()).undo, `Undo making the halves of ${after.number} alike`, 'what undo would take back');
  await t.screenshot('even');
  await t.tapOn('#undo');
  equal((await hand.row(mark)).finished.value, before.finished.value, 'the greatest length after one undo');
  console.log(`     ${t.browser}: ${guide} ${ledge.at(-1).label}`);
}

/** A rack of five boards, three of them alike: their left, top, right, bottom, picture px. */
const RACK = [[150, 120, 950, 160], [150, 320, 950, 360], [150, 520, 950, 560], [150, 720, 950, 745], [150, 880, 700, 920]];

async function others(t) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-shape-'));
  try {
    await rack(t, join(dir, 'rack.png'));
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

async function rack(t, file) {
  const on = (x, y) => RACK.some(([l, top, r, b]) => x >= l && x < r && y >= top && y < b);
  await writeFile(file, greyPng(1100, 1000, (x, y) => (on(x, y) ? 70 : 225)));
  const hand = new Hand(t, 35);
  await t.open();
  await t.waitFor(() => window.scrieve?.ready);
  await t.dropFile(file);
  await t.waitFor(() => window.scrieve.scene().picture != null && window.scrieve.sought());
  await hand.go('marks');
  await t.tapOn('[data-key="tool-outline"]');
  await hand.tap([500, 140]);
  await t.waitFor(() => window.scrieve.sought() && window.scrieve.scene().rows.length === 1);
  const touches = t.touches;
  await work(hand, 'others');
  equal(t.touches - touches, 1, 'touches');
  const { rows, aside } = await hand.scene();
  equal(rows.length, 3, 'boards alike');
  equal(await t.text('#aside'), aside, 'what stands on the screen');
  console.log(`     ${t.browser}: ${aside}`);
  await t.screenshot('others');
  await t.tapOn('#undo');
  equal((await hand.scene()).rows.length, 1, 'marks after one undo');
}

export const tests = [
  { name: 'the outlines of all views in one touch', browsers: ['chromium', 'webkit'], run: all },
  { name: 'an outline smoothed and faired', browsers: ['chromium'], run: smoothed },
  { name: 'an outline cut in two and joined again', browsers: ['chromium'], run: cutAndJoined },
  { name: 'the others like it in one touch', browsers: ['chromium'], run: others },
  { name: 'both halves made alike', browsers: ['chromium'], run: even },
];
