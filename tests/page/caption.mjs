// A caption's sizes: typed once, then taken in place of digits wherever that extent is touched, with their own ± and with what
// they take in.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { Hand, equal } from './_hand.mjs';

const INCH = 25.4;
const near = (got, expected, what) => {
  if (!(Math.abs(got - expected) < 0.02)) throw new Error(`${what}: ${got}, not ${expected}`);
};

/** Types the caption with the system's keyboard. */
async function write(t, text) {
  await t.waitFor(() => document.activeElement?.id === 'entry-input');
  await t.run((told) => {
    const input = document.querySelector('#entry-input');
    input.value = told;
    input.dispatchEvent(new Event('input', { bubbles: true }));
  }, text);
}

async function caption(t) {
  const { places } = JSON.parse(await readFile(join(ROOT, 'tests/demo/scenes.json'), 'utf8')).bookcase;
  const hand = new Hand(t, 5);
  await hand.open();
  await hand.drop(join(ROOT, 'www/examples/bookcase.webp'));
  await hand.press('caption');
  await write(t, '72 x 32 x 12');
  equal((await hand.scene()).entry.error?.text.startsWith('Is that the height'), true, 'three bare numbers are asked about');
  await write(t, '72 H × 32 W by 12" D');
  equal((await hand.scene()).entry.reads.replaceAll('\u00a0', ' '), '72.000 in high, 32.000 in wide, 12.000 in deep', 'what it reads');
  await t.screenshot('asked');
  await hand.press('caption-body');
  // How high it is, touched along its left side: a key in place of digits.
  await hand.length([places.corners[0], places.corners[1]]);
  equal((await hand.scene()).entry.choices.map((key) => key.id), ['caption-height', 'caption-width', 'caption-depth'], 'offered');
  await t.screenshot('offered');
  await hand.press('caption-height');
  const { rows, detail, notes } = await hand.scene();
  near(rows[0].real.value, 72 * INCH, 'its height');
  equal(rows[0].from, 'by the caption, body only', 'where it comes from');
  equal(notes.some((note) => note.id === 'caption' && note.text.includes('without moulding and feet')), true, 'it is told');
  const known = detail.lines.find(([, text]) => text.includes('±'))?.[1] ?? '';
  equal(/± ?1⁄4/.test(known), true, `a quarter of an inch in “${known}”`);
  await t.screenshot('taken');
  // And of the front as a rectangle: its width and its height, each offered where it is asked for.
  await hand.go('picture');
  await hand.press('square-on');
  for (const corner of places.corners) await hand.tap(corner);
  for (const [key, text] of [['caption-width', '32.000 in'], ['caption-height', '72.000 in']]) {
    await hand.press(key);
    equal((await hand.scene()).entry.text.replaceAll('\u00a0', ' '), text, key);
    await hand.press('take-it');
  }
  const across = await hand.scene();
  equal([across.step, across.head[0].startsWith('in life')], ['marks', true], 'what comes next');
}

export const tests = [
  { name: 'the sizes of a caption serve in place of digits', browsers: ['chromium'], run: caption },
];
