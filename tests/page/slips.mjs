// What happens in a shop in the middle of things: ten fingers, a tablet that is turned in mid-slide, another theme in mid-mark, the system's own
// keyboard, a print of nothing. Nothing is lost, nothing is stuck.
import { BODY, HEN, Hand, equal, feature, henTruth } from './_hand.mjs';

/** Run in the page: what a slip could spoil. */
function standing() {
  const { marks, undo, hand, entry } = window.scrieve.scene();
  return { marks: marks.map((mark) => mark.handles), undo, hand, text: entry?.text ?? null };
}

async function laid(t) {
  const hand = new Hand(t, 12);
  await hand.open();
  await hand.drop(HEN);
  return { hand, truth: await henTruth() };
}

/** The first size still comes out right, as if nothing had been. */
async function goesOn(hand, truth) {
  await hand.wantBody(truth);
  equal((await hand.row(await hand.newest())).finished.value, BODY, 'the body after it');
}

const PLACES = Array.from({ length: 9 }, (_, i) => ({ x: 120 + 70 * (i % 5), y: 180 + 170 * Math.floor(i / 5) }));

/** Ten fingers on the bare board, and nine more while one slides an end. */
async function tenFingers(t) {
  const { hand, truth } = await laid(t);
  const before = await t.run(standing);
  const all = [];
  for (const place of [...PLACES, { x: 500, y: 500 }]) all.push(await t.finger(place));
  for (const [i, finger] of all.entries()) await finger.slide({ x: 140 + 40 * i, y: 260 + 11 * i });
  for (const finger of all.toReversed()) await finger.lift();
  equal(await t.run(standing), before, 'after ten fingers came, moved and went');
  await t.tapOn('#zoom-whole');
  const [nose] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap(nose);
  await t.waitFor(() => window.scrieve.scene().hand !== null && !document.querySelector('#magnifier').hidden);
  await hand.scene();
  const placed = await t.run(standing);
  const one = await t.finger({ x: 300, y: 520 });
  await one.slide({ x: 312, y: 520 });
  const others = [];
  for (const place of PLACES) others.push(await t.finger(place));
  for (const [i, finger] of others.entries()) await finger.slide({ x: 200 + 30 * i, y: 420 });
  await one.slide({ x: 316, y: 520 });
  await hand.scene();
  const slid = await t.run(standing);
  for (const finger of others) await finger.lift();
  await one.lift();
  equal(slid.marks.map((handles) => handles.length), [1], 'ends while ten fingers are down');
  const went = [0, 1].map((k) => slid.hand.at[k] - placed.hand.at[k]);
  if (!(went[0] > 0.5 && went[0] < 40 && Math.abs(went[1]) < 1e-6)) throw new Error(`the end went by ${went}`);
  await t.run(() => window.scrieve.scene());
  await t.tapOn('#undo');
  for (let i = 0; i < 3 && (await t.run(standing)).marks.length > 0; i += 1) await t.tapOn('#undo');
  await goesOn(hand, truth);
}

/** The tablet is turned while an end is being slid, and turned back. */
async function turned(t) {
  const { hand, truth } = await laid(t);
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap(nose);
  await t.waitFor(() => window.scrieve.scene().hand !== null && !document.querySelector('#magnifier').hidden);
  await hand.scene();
  const before = await t.run(standing);
  const finger = await t.finger({ x: 300, y: 400 });
  await finger.slide({ x: 320, y: 400 });
  await t.driver.page.setViewportSize({ width: 820, height: 1180 });
  await t.waitFor(() => document.querySelector('#board').clientWidth === 820);
  await finger.slide({ x: 326, y: 400 });
  await finger.lift();
  await hand.scene();
  const after = await t.run(standing);
  equal(after.marks.map((handles) => handles.length), [1], 'ends');
  if (Math.hypot(after.hand.at[0] - before.hand.at[0], after.hand.at[1] - before.hand.at[1]) > 80) throw new Error(`the end leapt from ${before.hand.at} to ${after.hand.at}`);
  // What was slid is put right, upright; and the other end, level again.
  await hand.slideTo(nose);
  await t.driver.page.setViewportSize({ width: 1180, height: 820 });
  await t.waitFor(() => document.querySelector('#board').clientWidth < 820);
  await hand.end(tail);
  await hand.type('2', '4');
  await hand.press('i-want-it');
  equal((await hand.row(await hand.newest())).finished.value, BODY, 'the body');
}

/** Another theme and more contrast, with an end in hand and then with half a length typed. */
async function themes(t) {
  const { hand, truth } = await laid(t);
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.end(nose);
  const ground = () => t.run(() => getComputedStyle(document.body).backgroundColor);
  for (const [media, colour] of [[{ colorScheme: 'dark' }, 'rgb(0, 0, 0)'], [{ contrast: 'more' }, 'rgb(0, 0, 0)'], [{ colorScheme: 'light', contrast: 'no-preference' }, 'rgb(255, 255, 255)']]) {
    const before = await t.run(standing);
    await t.driver.page.emulateMedia(media);
    await t.waitFor((wanted) => getComputedStyle(document.body).backgroundColor === wanted, colour);
    equal(await t.run(standing), before, `after ${JSON.stringify(media)}`);
  }
  await hand.end(tail);
  await hand.type('2');
  await t.driver.page.emulateMedia({ colorScheme: 'dark' });
  equal([(await t.run(standing)).text, await ground()], ['2', 'rgb(0, 0, 0)'], 'what was typed');
  await hand.type('4');
  await hand.press('i-want-it');
  equal((await hand.row(await hand.newest())).finished.value, BODY, 'the body');
}

/** The system's own keyboard lies over the lower part of the page: what is written stands above it. No driver has one, so it is played. */
async function keyboardOver(t) {
  await laid(t);
  await t.tapOn('#job-name');
  await t.waitFor(() => !document.querySelector('#entry-input').hidden);
  const seen = 430;
  await t.run((height) => {
    Object.defineProperty(visualViewport, 'height', { value: height, configurable: true });
    visualViewport.dispatchEvent(new Event('resize'));
  }, seen);
  const places = await t.run(() => ['#entry-input', '#entry-ways .main', '#job-name'].map((one) => {
    const { top, bottom } = document.querySelector(one).getBoundingClientRect();
    return [one, top, bottom];
  }));
  const hidden = places.filter(([, top, bottom]) => top < 0 || bottom > seen);
  equal(hidden, [], 'what lies under the keyboard');
  await t.run(() => {
    delete visualViewport.height;
    visualViewport.dispatchEvent(new Event('resize'));
  });
  equal(await t.run(() => Math.round(document.querySelector('#page').getBoundingClientRect().bottom)), 820, 'the page’s foot when it has gone');
}

/** A print with no mark: a page that says so, and nothing breaks. */
async function printNothing(t) {
  const { hand, truth } = await laid(t);
  await t.run(() => { window.printed = 0; window.print = () => { window.printed += 1; }; });
  await hand.go('lists');
  await hand.press('print');
  equal(await t.run(() => window.printed), 1, 'printed');
  const text = await t.run(() => document.querySelector('#paper').textContent);
  if (!/Sizes stand here as soon as you mark something/.test(text) || /undefined|NaN|null/.test(text)) throw new Error(`the paper says “${text}”`);
  for (const key of ['pdf', 'print-sheets']) {
    if (await t.count(`[data-key="${key}"]`) > 0) throw new Error(`“${key}” is offered although there is nothing to cut`);
  }
  await hand.go('true-length');
  await goesOn(hand, truth);
}

export const tests = [
  { name: 'ten fingers', browsers: ['chromium'], run: tenFingers },
  { name: 'the tablet is turned in mid-slide', browsers: ['chromium'], run: turned },
  { name: 'another theme in mid-mark', browsers: ['chromium'], run: themes },
  { name: 'the system’s keyboard over the page', browsers: ['chromium'], run: keyboardOver },
  { name: 'a print of nothing', browsers: ['chromium'], run: printNothing },
];
