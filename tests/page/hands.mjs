// Other hands than one bare finger: a mouse, a keyboard, two fingers, a palm, a touch that the system takes away.
import { HEN, Hand, built, equal, feature, henTruth, within } from './_hand.mjs';

const INCH = 25.4;
const SIZES = [['top', 'wing, tip to tip'], ['top', 'stabilizer'], ['side', 'wheel, across']];

/** A mouse's hand: clicks land within a few px, and a pressed mouse slides what is held. */
class Mouse extends Hand {
  get mouse() {
    return this.t.driver.page.mouse;
  }

  async clickOn(selector) {
    const spot = await this.t.waitFor((wanted) => {
      const element = document.querySelector(wanted);
      if (!element || element.disabled) return null;
      const { left, top, width, height } = element.getBoundingClientRect();
      const [x, y] = [left + width / 2, top + height / 2];
      return element.contains(document.elementFromPoint(x, y)) ? { x, y } : null;
    }, selector);
    await this.t.click(spot.x, spot.y);
  }

  async find(file) {
    const chooser = this.t.driver.page.waitForEvent('filechooser');
    await this.clickOn('[data-key="find-picture"]');
    await (await chooser).setFiles(file);
    await this.onBoard();
  }

  async end([x, y]) {
    const before = (await this.scene()).marks.flatMap((mark) => mark.handles).length;
    for (;;) {
      await this.scene();
      const spot = await this.t.run((px, py) => {
        const [sx, sy] = window.scrieve.toScreen(px, py);
        return { x: sx, y: sy, glass: document.elementFromPoint(sx, sy).closest('#magnifier') !== null };
      }, x, y);
      await this.t.click(spot.x + 2, spot.y - 3);
      if (!spot.glass) break;
    }
    await this.t.waitFor((n) => window.scrieve.scene().marks.flatMap((mark) => mark.handles).length > n, before);
    await this.slide([x, y]);
  }

  /** Presses the mouse on the free board, and slides till the end is in place. */
  async slide(place) {
    const zoom = await this.t.run(() => Math.max(4 * window.scrieve.zoom(), 3));
    const left = async () => {
      const { at } = (await this.scene()).hand;
      return [(place[0] - at[0]) * zoom, (place[1] - at[1]) * zoom];
    };
    const at = await this.t.run(() => {
      const { left: l, top, width, height } = document.querySelector('#board').getBoundingClientRect();
      const corners = [0.2, 0.5, 0.8].flatMap((a) => [0.3, 0.6].map((b) => ({ x: l + width * a, y: top + height * b })));
      return corners.find(({ x, y }) => document.elementFromPoint(x, y).id === 'board');
    });
    await this.mouse.move(at.x, at.y);
    await this.mouse.down();
    at.x += 12;
    await this.mouse.move(at.x, at.y);
    for (let looks = 0; ; looks += 1) {
      const [dx, dy] = await left();
      const far = Math.hypot(dx, dy);
      if (far < 0.3) break;
      if (looks > 60) throw new Error(`the mouse is still ${far} px off`);
      const k = Math.min(1, 5 / far);
      at.x += dx * k;
      at.y += dy * k;
      await this.mouse.move(at.x, at.y);
    }
    await this.mouse.up();
  }

  async type(...keys) {
    for (const key of keys) await this.clickOn(`[data-pad="${key}"]`);
  }

  async press(key) {
    await this.clickOn(`[data-key="${key}"]`);
  }
}

/** A keyboard's hand: Tab to what is wanted, arrows for the picture and for the end in hand, Space for a touch. */
class Keys extends Hand {
  key(name) {
    return this.t.key(name);
  }

  /** Goes on by the Tab key until `selector` has the focus. */
  async tabTo(selector) {
    for (let i = 0; i < 120; i += 1) {
      if (await this.t.run((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) return;
      await this.key('Tab');
    }
    throw new Error(`the Tab key never comes to ${selector}`);
  }

  async find(file) {
    await this.tabTo('[data-key="find-picture"]');
    const chooser = this.t.driver.page.waitForEvent('filechooser');
    await this.key('Enter');
    await (await chooser).setFiles(file);
    await this.onBoard();
    await this.tabTo('#board');
  }

  /** Presses arrows until `left()` is less than the least step both ways; steps are in its own px. */
  async walk(left, steps) {
    for (let i = 0; i < 300; i += 1) {
      const off = await left();
      const axis = Math.abs(off[0]) > Math.abs(off[1]) ? 0 : 1;
      const far = Math.abs(off[axis]);
      const step = steps.find(([size]) => far >= size * 0.6);
      if (!step) return;
      const way = [['ArrowLeft', 'ArrowRight'], ['ArrowUp', 'ArrowDown']][axis][off[axis] > 0 ? 1 : 0];
      for (let n = Math.round(far / step[0]); n > 0; n -= 1) await this.key(step[1] + way);
    }
    throw new Error('arrows get nowhere');
  }

  async end([x, y]) {
    const toMiddle = () => this.t.run((px, py) => {
      const { left, top, width, height } = document.querySelector('#floor').getBoundingClientRect();
      const [sx, sy] = window.scrieve.toScreen(px, py);
      return [sx - left - width / 2, sy - top - height / 2];
    }, x, y);
    await this.walk(toMiddle, [[240, 'Shift+'], [60, ''], [6, 'Alt+']]);
    await this.key('Space');
    await this.walk(async () => {
      const { at } = (await this.scene()).hand;
      return [x - at[0], y - at[1]];
    }, [[10, 'Shift+'], [1, ''], [0.1, 'Alt+']]);
    const [atX, atY] = (await this.scene()).hand.at;
    if (Math.hypot(x - atX, y - atY) > 0.1) throw new Error(`the end is at ${atX}, ${atY}, not ${x}, ${y}`);
  }

  async length([a, b]) {
    await this.end(a);
    // This end is right: the arrows move the picture on.
    await this.key('Enter');
    await this.end(b);
  }

  async type(...keys) {
    for (const key of keys) await this.key(key);
  }

  /** Enter takes what the filled key offers. */
  async press(key) {
    const main = await this.t.run(() => {
      const { entry, ledge } = window.scrieve.scene();
      return (entry ? entry.ways : ledge).findLast((one) => one.weight === 'main')?.id;
    });
    equal(main, key, 'what Enter takes');
    await this.key('Enter');
  }
}

/** A switch's hand: one key goes on, one presses. The picture is moved under the cross by keys on the screen. */
class Switch extends Keys {
  presses = 0;

  async key(name) {
    if (name !== 'Tab' && name !== 'Space') throw new Error(`a switch has no ${name}`);
    this.presses += 1;
    await super.key(name);
  }

  async find(file) {
    await this.tabTo('[data-key="find-picture"]');
    const chooser = this.t.driver.page.waitForEvent('filechooser');
    await this.key('Space');
    await (await chooser).setFiles(file);
    await this.onBoard();
  }

  /** Presses a key on the screen so many times. */
  async pressOn(selector, times = 1) {
    await this.tabTo(selector);
    for (let i = 0; i < times; i += 1) await this.key('Space');
  }

  /** Moves by keys until less than half a step is left each way. @param {() => Promise<number[]>} left in steps @param {(way: string) => string} key */
  async step(left, key) {
    for (let i = 0; i < 12; i += 1) {
      const off = (await left()).map(Math.round);
      const axis = Math.abs(off[0]) >= Math.abs(off[1]) ? 0 : 1;
      if (off[axis] === 0) return;
      await this.pressOn(key([['left', 'right'], ['up', 'down']][axis][off[axis] > 0 ? 1 : 0]), Math.abs(off[axis]));
    }
    throw new Error('the keys get nowhere');
  }

  async end([x, y]) {
    const toMiddle = () => this.t.run((px, py) => {
      const { left, top, width, height } = document.querySelector('#floor').getBoundingClientRect();
      const [sx, sy] = window.scrieve.toScreen(px, py);
      return [(sx - left - width / 2) / 60, (sy - top - height / 2) / 60];
    }, x, y);
    await this.tabTo('#board');
    await this.pressOn('#zoom-whole');
    for (let round = 0; round < 6; round += 1) {
      await this.step(toMiddle, (way) => `[data-key="pan-${way}"]`);
      await this.pressOn('#zoom-plus', 2);
    }
    await this.step(toMiddle, (way) => `[data-key="pan-${way}"]`);
    await this.pressOn('#board');
    // While a length is asked for the end can wait: the cross was near enough.
    if ((await this.scene()).entry) return;
    await this.step(async () => {
      const { at } = (await this.scene()).hand;
      return [x - at[0], y - at[1]];
    }, (way) => `[data-key="nudge-${way}"]`);
  }

  async length([a, b]) {
    await this.end(a);
    await this.end(b);
  }

  async type(...keys) {
    for (const key of keys) await this.pressOn(`[data-pad="${key}"]`);
  }

  async press(key) {
    await this.pressOn(`[data-key="${key}"]`);
  }
}

async function bySwitch(t) {
  const hand = new Switch(t);
  await firstJob(t, hand, SIZES.slice(0, 1));
  equal(t.touches, 0, 'touches');
  console.log(`     ${t.browser}: two sizes in ${hand.presses} presses of a switch that goes on and one that presses`);
}

/** The first job: the body 24 in, then three sizes that hold the truth. */
async function firstJob(t, hand, sizes = SIZES) {
  const truth = await henTruth();
  await hand.open();
  await hand.find(HEN);
  await hand.wantBody(truth);
  equal((await hand.row(await hand.newest())).shown.figure, '24', 'the body');
  for (const [view, name] of sizes) {
    const { points, mm } = feature(truth, view, name);
    await hand.length(points);
    const { finished } = await hand.row(await hand.newest());
    within(finished, built(mm), name);
    if (finished.plus > INCH / 16) throw new Error(`${name}: ${finished.pm} tells nothing`);
    const number = (await hand.scene()).rows.length;
    await hand.press('keep-mark');
    equal((await hand.scene()).hand, null, `what is in hand after keeping ${number}`);
  }
}

/** A picture on the board, and nothing marked. */
async function laid(t) {
  const hand = new Hand(t, 8);
  await hand.open();
  await hand.drop(HEN);
  return { hand, truth: await henTruth() };
}

/** Run in the page: where the eye is, as two places of the picture on the screen, and what there is in the job. */
function standing() {
  const { marks, undo, hand } = window.scrieve.scene();
  return { eye: [window.scrieve.toScreen(0, 0), window.scrieve.toScreen(1000, 1000)], marks: marks.map((mark) => mark.handles), undo, hand };
}

const near = (a, b, slack) => Math.abs(a - b) <= slack;

/** Two fingers: what lay under them stays under them, and nothing is marked. */
async function pinches(t) {
  await laid(t);
  const before = await t.run(standing);
  const middle = { x: 400, y: 400 };
  const spread = (side, apart, up) => ({ x: middle.x + side * apart, y: middle.y - up });
  const fingers = [await t.finger(spread(-1, 60, 0)), await t.finger(spread(1, 60, 0))];
  for (const [apart, up] of [[70, 4], [100, 18], [130, 32], [150, 40]]) {
    await fingers[0].slide(spread(-1, apart, up));
    await fingers[1].slide(spread(1, apart, up));
  }
  for (const finger of fingers) await finger.lift();
  const after = await t.run(standing);
  equal([after.marks, after.undo], [[], before.undo], 'marks after a pinch');
  const [[x0, y0], [x1]] = before.eye;
  const [[u0, v0], [u1]] = after.eye;
  const grown = (u1 - u0) / (x1 - x0);
  if (!near(grown, 150 / 60, 0.02)) throw new Error(`two fingers 2.5 times as far apart made it ${grown} times as large`);
  if (!near(u0, middle.x + (x0 - middle.x) * grown, 2) || !near(v0, middle.y - 40 + (y0 - middle.y) * grown, 2)) {
    throw new Error(`the picture slid from under the fingers: ${u0}, ${v0}`);
  }
  // One finger comes first, and is last to go, as fingers do: still nothing is marked.
  const one = await t.finger({ x: 300, y: 300 });
  const two = await t.finger({ x: 500, y: 300 });
  await two.slide({ x: 500, y: 380 });
  await one.lift();
  await two.slide({ x: 460, y: 400 });
  await two.lift();
  const then = await t.run(standing);
  equal([then.marks, then.undo], [[], before.undo], 'marks after fingers that came and went one by one');
  if (near(then.eye[0][1], v0, 5)) throw new Error('the second pair of fingers moved nothing');
  // And one finger alone, with nothing in hand, pans.
  await t.drag({ x: 400, y: 500 }, { x: 330, y: 440 });
  const last = await t.run(standing);
  equal([last.marks, last.undo], [[], before.undo], 'marks after a pan');
  if (!near(last.eye[0][0], then.eye[0][0] - 70, 10)) throw new Error('a finger alone did not pan');
}

/** A touch that the system takes away undoes itself: a tap, a pan, a slide. */
async function cancels(t) {
  const { hand, truth } = await laid(t);
  const before = await t.run(standing);
  const tap = await t.finger({ x: 400, y: 400 });
  await tap.cancel();
  equal(await t.run(standing), before, 'after a tap that was taken away');
  const pan = await t.finger({ x: 400, y: 400 });
  for (const x of [420, 450, 480]) await pan.slide({ x, y: 400 });
  await pan.cancel();
  equal(await t.run(standing), before, 'after a pan that was taken away');
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap(nose);
  await t.waitFor(() => !document.querySelector('#magnifier').hidden);
  const slideAway = async (what) => {
    await hand.scene();
    const placed = await t.run(standing);
    const slide = await t.finger({ x: 300, y: 500 });
    for (const x of [320, 330, 340]) await slide.slide({ x, y: 500 });
    const { hand: held } = await hand.scene();
    if (near(held.at[0], placed.hand.at[0], 0.5)) throw new Error(`${what}: the slide moved nothing`);
    await slide.cancel();
    await hand.scene();
    const { hand: now, ...rest } = await t.run(standing);
    const { hand: then, ...others } = placed;
    equal(rest, others, `${what} that was taken away`);
    equal(now.at, then.at, `the end after ${what}`);
  };
  await slideAway('a slide of the first end');
  await hand.tap(tail);
  await hand.type('2', '4');
  await slideAway('a slide while a length is asked for');
  equal(await t.run(() => window.scrieve.scene().entry?.text), '24', 'what was typed');
  await hand.press('i-want-it');
  // A box isn't a mark yet: its corner goes back as well.
  await hand.go('picture');
  await hand.press('view-box');
  await hand.tap(truth.views[0].corners[0]);
  await t.waitFor(() => !document.querySelector('#magnifier').hidden);
  await slideAway('a slide of a box’s corner');
}

/** A palm that comes down while an end is being slid changes nothing. */
async function palm(t) {
  const { hand, truth } = await laid(t);
  const [nose] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap(nose);
  await t.waitFor(() => !document.querySelector('#magnifier').hidden);
  await hand.scene();
  const before = await t.run(standing);
  const finger = await t.finger({ x: 300, y: 500 });
  await finger.slide({ x: 312, y: 500 });
  const heel = await t.finger({ x: 620, y: 560 });
  await heel.slide({ x: 640, y: 540 });
  await finger.slide({ x: 316, y: 500 });
  await hand.scene();
  await finger.slide({ x: 320, y: 500 });
  await heel.slide({ x: 600, y: 570 });
  await heel.lift();
  await finger.slide({ x: 324, y: 500 });
  await hand.scene();
  // Before it is let go, when it may hold on to what is near.
  const after = await t.run(standing);
  await finger.lift();
  equal(after.eye, before.eye, 'the eye');
  equal(after.marks.map((handles) => handles.length), [1], 'ends');
  const moved = after.hand.at[0] - before.hand.at[0];
  if (!(moved > 1 && moved < 12 / 0.3) || !near(after.hand.at[1], before.hand.at[1], 1e-6)) {
    throw new Error(`the finger slid 12 px to the right; the end went by ${moved}, ${after.hand.at[1] - before.hand.at[1]}`);
  }
}

/** The wheel zooms where the pointer is, and a second mouse button pans: nothing is marked. */
async function wheel(t) {
  await laid(t);
  const before = await t.run(standing);
  await t.driver.wheel(300, 350, -200);
  await t.waitFor((x) => window.scrieve.toScreen(1000, 1000)[0] - window.scrieve.toScreen(0, 0)[0] > x, before.eye[1][0] - before.eye[0][0] + 1);
  const after = await t.run(standing);
  const grown = (after.eye[1][0] - after.eye[0][0]) / (before.eye[1][0] - before.eye[0][0]);
  for (const [was, now, at] of [[before.eye[0][0], after.eye[0][0], 300], [before.eye[0][1], after.eye[0][1], 350]]) {
    if (!near(now - at, (was - at) * grown, 0.01)) throw new Error('what lay under the pointer moved');
  }
  const { mouse } = t.driver.page;
  await mouse.move(300, 350);
  await mouse.down({ button: 'right' });
  await mouse.move(340, 380, { steps: 4 });
  await mouse.up({ button: 'right' });
  const last = await t.run(standing);
  equal([last.marks, last.undo], [[], before.undo], 'marks');
  if (!near(last.eye[0][0] - after.eye[0][0], 40, 1)) throw new Error('the right button did not pan');
}

/** Escape takes back what is half done, and only that. */
async function escapes(t) {
  const { hand, truth } = await laid(t);
  const [nose, tail] = feature(truth, 'top', 'body, nose to tail').points;
  await hand.tap(nose);
  await t.key('Escape');
  equal((await hand.scene()).marks, [], 'marks after Escape with one end placed');
  await hand.tap(nose);
  await hand.tap(tail);
  await t.waitFor(() => window.scrieve.scene().entry);
  await t.key('Escape');
  const { entry, marks, hand: held } = await hand.scene();
  equal([entry, marks.length, held?.point], [null, 1, 1], 'the keypad, marks, the end in hand after Escape at the keypad');
  await t.key('Escape');
  equal([(await hand.scene()).hand, (await hand.scene()).marks.length], [null, 1], 'what is in hand, marks');
}

export const tests = [
  { name: 'the first job with a mouse alone', browsers: ['chromium'], run: (t) => firstJob(t, new Mouse(t)) },
  { name: 'the first job with a keyboard alone', browsers: ['chromium'], run: (t) => firstJob(t, new Keys(t)) },
  { name: 'the first job with a switch: one key goes on, one presses', browsers: ['chromium'], run: bySwitch },
  { name: 'two fingers move the picture and mark nothing', browsers: ['chromium', 'firefox'], run: pinches },
  { name: 'a touch that is taken away undoes itself', browsers: ['chromium'], run: cancels },
  { name: 'a palm is ignored while an end is slid', browsers: ['chromium'], run: palm },
  { name: 'the wheel and the second button', browsers: ['chromium'], run: wheel },
  { name: 'Escape takes back what is half done', browsers: ['chromium'], run: escapes },
];
