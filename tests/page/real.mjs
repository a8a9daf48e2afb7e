// A drawing that nobody here made (tests/real: its figures were written by whoever drew it), measured by touch.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ROOT } from '../browser/context.mjs';
import { Hand, equal, within } from './_hand.mjs';

const REAL = join(ROOT, 'tests/real');
/** The figure that is taken for true, and those that must come out of it. */
const KNOWN = 'board, across';
const OTHERS = ['board, high', 'holes, up and down', 'slot, from the left'];
/** A ± wider than this would tell nothing, mm: the figures are given to half a mm. */
const WIDEST = 0.25;

async function measured(t, seed) {
  const { figures, picture } = JSON.parse(await readFile(join(REAL, 'figures.json'), 'utf8'));
  const figure = (name) => figures.find((one) => one.name === name);
  const hand = new Hand(t, seed);
  await hand.open();
  await hand.find(join(REAL, picture));
  const { points, mm } = figure(KNOWN);
  await hand.length(points);
  await hand.type(...String(mm), 'mm');
  equal(await t.attr('[data-key="how.printed"]', 'aria-pressed'), 'true', 'taken for a printed figure');
  await hand.press('it-is');
  const known = await hand.row(await hand.newest());
  equal(Math.abs(known.real.value - mm) < 1e-9, true, 'the true length as given');
  for (const name of OTHERS) {
    const other = figure(name);
    await hand.length(other.points);
    const row = await hand.row(await hand.newest());
    within(row.real, other.mm, name);
    if (row.real.plus > WIDEST) throw new Error(`${name}: ${row.real.pm} tells nothing`);
    equal(row.shown, { pm: row.real.pm, figure: row.real.figure.text }, `${name} on the screen`);
    console.log(`     ${t.browser}: ${name} ${other.mm} mm: ${row.real.value.toFixed(3)} ± ${row.real.plus.toFixed(3)}`);
  }
  await t.screenshot('measured');
}

export const tests = [
  { name: 'figures of a stranger’s drawing, by touch', browsers: ['chromium', 'firefox'], run: (t) => measured(t, 1) },
  { name: 'figures of a stranger’s drawing, upright', browsers: ['chromium'], screen: 'portrait', run: (t) => measured(t, 2) },
];
