// What the page finds by itself: what an end holds on to, round things, a part's outline from one touch inside.
import { ALL, BODY, Hand, built, equal, feature, within } from './_hand.mjs';

/** The body is to be 24 in; then the marks. */
async function begun(t, seed) {
  const hand = new Hand(t, seed);
  const truth = await hand.begin();
  return { hand, truth };
}

async function held(t) {
  const { hand, truth } = await begun(t, 21);
  const { points, mm } = feature(truth, 'top', 'wing, tip to tip');
  await hand.length(points);
  const { holding } = (await hand.scene()).hand;
  equal(holding, 'holds a drawn line', 'what the end holds');
  const { finished } = await hand.row(await hand.newest());
  within(finished, built(mm), 'the span');
  // Put by an eye under the window an end is a quarter px good (mark/click.rs); two of them, 1.96 u, at 0.76 mm a px.
  const byEye = 1.96 * Math.SQRT2 * 0.25 * 0.765;
  if (!(finished.plus < byEye)) throw new Error(`± ${finished.plus} mm, no better than by eye: ${byEye}`);
  await t.screenshot('holds');
  // Let go, it is where it was put, and only as good as that.
  await t.tapOn('[data-key="loosen"]');
  const { hand: loose } = await hand.scene();
  equal(loose.holding, '', 'what it holds then');
  // The other side of the line, for every end, those of the body as well: the drawing's own outer sizes.
  await t.tapOn('[data-key="undo"]');
  await t.tapOn('[data-key="side-outer"]');
  const [span, body] = ['wing, tip to tip', 'body, nose to tail'].map((name) => feature(truth, 'top', name).outer.mm);
  within((await hand.row(await hand.newest())).finished, (span * BODY) / body, 'the span, by the outer sides');
}

async function round(t) {
  const { hand, truth } = await begun(t, 22);
  await t.tapOn('[data-key="tool-circle"]');
  const { points } = feature(truth, 'side', 'wheel, round');
  const { mm } = feature(truth, 'side', 'wheel, across');
  for (const k of [0, 2, 4]) await hand.tap(points[k % points.length]);
  const row = await hand.row(await hand.newest());
  within(row.finished, built(mm), 'the wheel, across');
  if (row.finished.plus > 1) throw new Error(`${row.finished.pm} tells nothing`);
  equal((await hand.scene()).hand, null, 'what is in hand');
  await t.screenshot('round');
}

async function outline(t) {
  const { hand, truth } = await begun(t, 23);
  await t.tapOn('[data-key="tool-outline"]');
  const touches = t.touches;
  const [a, b] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap([(a[0] + b[0]) / 2, a[1] + (b[1] - a[1]) * 0.28]);
  const row = await hand.row(await hand.newest());
  equal(t.touches - touches, 1, 'touches');
  // From above, its greatest length is its span.
  within(row.finished, built(feature(truth, 'top', 'wing, tip to tip').mm), 'the greatest length from above');
  await t.screenshot('outline');
  await t.tapOn('[data-key="undo"]');
  equal((await hand.scene()).marks.length, 1, 'marks after one undo');
}

export const tests = [
  { name: 'an end holds the line it is put on', browsers: ['chromium', 'webkit'], run: held },
  { name: 'three rough touches on a wheel are the wheel', browsers: ['chromium'], run: round },
  { name: 'one touch inside is the whole outline', browsers: ['chromium'], run: outline },
];
