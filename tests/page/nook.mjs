// The reading-nook bookcase: from a tilted photograph, bent by its lens, to all its sizes, by touch, each within its ±. Everything
// is counted: the system's chooser, the digits, every key.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { Hand, within } from './_hand.mjs';

const INCH = 25.4;
/** The aim is 40. Each end takes a touch, and a slide where that caught something else; the last corner's three more: the keypad has come by then. */
const MOST = 46;

/** "31 7⁄8 in ± 1⁄4" at `at` of a note, in inches: the size and its ±. */
function told(text) {
  const number = (part) => part.split(' ').reduce((sum, one) => {
    const [a, b = '1'] = one.split('\u2044');
    return sum + Number(a) / Number(b);
  }, 0);
  const [, size, pm] = text.replaceAll('\u00a0', ' ').match(/([\d \u2044]+?) in ± ?([\d \u2044]+?) wide/) ?? [];
  if (!size) throw new Error(`no width in “${text}”`);
  return [number(size.trim()), number(pm.trim())];
}

/** Both uprights are straight in life, their front is a rectangle 72 in high. */
async function turned(hand, { edge, other, corners, high }) {
  await hand.go('picture');
  await hand.press('straighten');
  for (const place of [...edge, ...other]) {
    await hand.tap(place, true);
    await hand.scene();
  }
  await hand.press('square-on');
  for (const corner of corners) await hand.aim(corner);
  await hand.press('only-height');
  await hand.type(...String(high));
  await hand.press('take-it');
}

async function nook(t) {
  const { places } = JSON.parse(await readFile(join(ROOT, 'tests/demo/scenes.json'), 'utf8')).bookcase;
  const hand = new Hand(t, 7);
  await hand.open();
  await hand.find(join(ROOT, 'www/examples/bookcase.webp'));
  await turned(hand, places);
  const square = t.touches;
  const note = await t.waitFor(() => window.scrieve.scene().notes.find((one) => one.id.startsWith('rectangle-'))?.text);
  await t.screenshot('square');
  // Across between the uprights, then up the left one from shelf to shelf, with the lower edge of one of them.
  for (const end of places.across.ends) await hand.aim(end, true);
  await hand.press('keep-mark');
  await hand.press('tool-path');
  for (const point of places.up.points) await hand.aim(point);
  const touches = t.touches;
  const { rows } = await hand.scene();
  await t.screenshot('sizes');
  const [wide, pm] = told(note);
  console.log(`     ${t.browser}: ${note} ${square} touches until it lies square, ${touches} in all`);
  // Told rounded: half a step of each more.
  if (Math.abs(wide - places.wide) > pm + 1 / 16) throw new Error(`${places.wide} in are told as ${wide} ± ${pm}`);
  const [across, path] = rows;
  within(across.real, places.across.inches * INCH, 'a shelf, from side to side');
  places.up.inches.forEach((inches, i) => within(path.more[i].size, inches * INCH, `${inches} in, the ${i + 1}. piece upwards`));
  if (touches > MOST) throw new Error(`${touches} touches`);
}

export const tests = [
  { name: 'a bookcase from its photograph to all its sizes', browsers: ['chromium'], run: nook },
];
