// How each step of a whole job looks, against pictures that were looked at and found good (tests/looks/): at four sizes in light, at one
// in dark. With BLESS=1 they are made anew; look at each before you keep it.
//
// They are kept in grey, four bits a dot, at the size of CSS px. What is compared is the mean of every block of 4 by 4: edges of letters may be
// drawn a little otherwise by another build of the browser, a key that moved by 4 px or a word that changed may not.
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { greyOf, smallPng } from './_png.mjs';
import { walk } from './_walk.mjs';

const LOOKS = join(ROOT, 'tests/looks');
/** Steps of the walk whose looks are kept. */
const STEPS = ['empty', 'hand', 'keypad', 'detail', 'build', 'lists'];
const BLOCK = 4;
/** Blocks may differ by so much, of 255. */
const SLACK = 40;
/** So many of them in a thousand may differ more: a blinking edge, the letters of a digest. */
const MOST = 1;

/** How many blocks in a thousand differ, and where the first of them lies. */
function compare(a, b) {
  if (a.width !== b.width || a.height !== b.height) return { part: 1000, where: `${a.width} × ${a.height}, not ${b.width} × ${b.height}` };
  const [wide, high] = [Math.floor(a.width / BLOCK), Math.floor(a.height / BLOCK)];
  const mean = ({ grey, width }, x, y) => {
    let sum = 0;
    for (let dy = 0; dy < BLOCK; dy += 1) for (let dx = 0; dx < BLOCK; dx += 1) sum += grey[(y * BLOCK + dy) * width + x * BLOCK + dx];
    return sum / BLOCK ** 2;
  };
  const off = [];
  for (let y = 0; y < high; y += 1) for (let x = 0; x < wide; x += 1) if (Math.abs(mean(a, x, y) - mean(b, x, y)) > SLACK) off.push(`${x * BLOCK}, ${y * BLOCK}`);
  return { part: (1000 * off.length) / (wide * high), where: off[0] ?? '' };
}

const looks = (size, dark) => async (t) => {
  if (dark) await t.driver.page.emulateMedia({ colorScheme: 'dark' });
  await mkdir(LOOKS, { recursive: true });
  const wrong = [];
  await walk(t, async (step) => {
    if (!STEPS.includes(step)) return;
    const file = join(LOOKS, `${size}${dark ? '-dark' : ''}-${step}.png`);
    // A key stays dark for a moment after its touch.
    await t.waitFor(() => document.querySelector('button:active') === null);
    const now = smallPng(await t.driver.page.screenshot({ scale: 'css' }));
    if (process.env.BLESS) await writeFile(file, now);
    const { part, where } = compare(greyOf(now), greyOf(await readFile(file)));
    if (part <= MOST) return;
    const other = join(ROOT, `build/screens/look-${size}${dark ? '-dark' : ''}-${step}.png`);
    await writeFile(other, now);
    wrong.push(`${step}: ${part.toFixed(1)} blocks in 1000 differ, the first at ${where}; see ${other.slice(ROOT.length + 1)}`);
  });
  if (wrong.length > 0) throw new Error(wrong.join('\n'));
};

/** The comparison itself: another word, and a key that has moved, are found; the same picture again is the same. */
async function found(t) {
  await t.open();
  await t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  const shot = async () => greyOf(smallPng(await t.driver.page.screenshot({ scale: 'css' })));
  const before = await shot();
  const again = compare(before, await shot());
  if (again.part > 0) throw new Error(`the same page differs from itself: ${again.part} at ${again.where}`);
  for (const change of [
    () => { document.querySelector('[data-key="find-picture"] .key-label').textContent = 'Choose a picture'; },
    () => { document.querySelector('#first-help').style.translate = '0 6px'; },
  ]) {
    await t.run(change);
    const { part } = compare(before, await shot());
    if (part <= MOST) throw new Error(`${change} wasn’t noticed: ${part} in 1000`);
    await t.reload();
    await t.waitFor(() => window.scrieve?.ready.then(() => true) ?? false);
  }
}

const sized = (screen, size) => ({ name: `every step, ${size}`, browsers: ['chromium'], screen, run: looks(size) });

export const tests = [
  sized('landscape', 'level'),
  sized('portrait', 'upright'),
  sized('phone', 'phone'),
  sized('desktop', 'desk'),
  { name: 'every step, level, dark', browsers: ['chromium'], run: looks('level', true) },
  { name: 'what is another is noticed', browsers: ['chromium'], run: found },
];
