// A picture taken at a slant: four corners of a board whose size nobody knows, one true length, then its sizes.
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { random } from '../random.mjs';
import { ALL, Hand, equal, within } from './_hand.mjs';
import { greyPng } from './_png.mjs';

const WIDTH = 1600;
const HEIGHT = 1200;
const FOCAL = 1500;

/** Where a place of the plane is seen, mm to picture px: a pinhole camera, the plane turned about its upright, then its level. */
function seen([x, y], about, over) {
  const [a, b] = [about, over].map((degrees) => (degrees * Math.PI) / 180);
  const at = [x * Math.cos(a), y * Math.cos(b) + x * Math.sin(a) * Math.sin(b), y * Math.sin(b) - x * Math.sin(a) * Math.cos(b)];
  const far = 900 + at[2];
  return [WIDTH / 2 + (FOCAL * at[0]) / far, HEIGHT / 2 + (FOCAL * at[1]) / far];
}

const BOARD = [[-300, -200], [300, -200], [300, 200], [-300, 200]];

/** A dark board on a light floor, smoothed over pixels by sixteen looks at each, with a little noise. */
function picture(corners) {
  const noise = random(7);
  const sides = corners.map((p, i) => [p, corners[(i + 1) % 4]]);
  const inside = (x, y) => sides.every(([[ax, ay], [bx, by]]) => (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0);
  const grey = new Uint8Array(WIDTH * HEIGHT);
  for (let y = 0; y < HEIGHT; y += 1) {
    for (let x = 0; x < WIDTH; x += 1) {
      let dark = 0;
      for (let k = 0; k < 16; k += 1) dark += inside(x + ((k % 4) + 0.5) / 4, y + (Math.floor(k / 4) + 0.5) / 4) / 16;
      grey[y * WIDTH + x] = Math.round(215 - 150 * dark + 3 * (noise() - 0.5));
    }
  }
  return greyPng(WIDTH, HEIGHT, (x, y) => grey[y * WIDTH + x]);
}

/** The picture on the board, four corners to be touched. */
async function shown(t, about, over) {
  const hand = new Hand(t, 31);
  const corners = BOARD.map((p) => seen(p, about, over));
  await hand.open();
  const folder = await mkdtemp(join(tmpdir(), 'tilted-'));
  try {
    const file = join(folder, 'board.png');
    await writeFile(file, picture(corners));
    await hand.drop(file);
  } finally {
    await rm(folder, { recursive: true });
  }
  await hand.go('picture');
  await hand.press('square-on');
  return { hand, corners };
}

/** The same, with its corners touched. */
async function taken(t, about, over) {
  const { hand, corners } = await shown(t, about, over);
  for (const corner of corners) await hand.tap(corner);
  return { hand, corners };
}

/** Four corners, "I know neither", one side's length: the other side. */
async function unknownBoard(t) {
  const { hand, corners } = await taken(t, 30, 24);
  const touches = t.touches;
  await hand.press('sides-open');
  const { step, entry } = await hand.scene();
  equal([step, entry], ['true-length', null], 'where it leads');
  await hand.length([corners[1], corners[2]]);
  await hand.type('4', '0', '0');
  await t.tapOn('[data-pad="mm"]');
  await hand.press('it-is');
  await hand.length([corners[0], corners[1]]);
  const row = await hand.row(await hand.newest());
  within(row.real, 600, 'the width');
  if (row.real.plus > 30) throw new Error(`${row.real.pm} tells nothing`);
  if (t.touches - touches > 14) throw new Error(`${t.touches - touches} touches`);
  await t.screenshot('board');
}

/** One touch inside offers the four corners, as good as the sides are straight. */
async function offered(t) {
  const { hand, corners } = await shown(t, 30, 24);
  await hand.tap([WIDTH / 2, HEIGHT / 2]);
  await hand.press('take-corners');
  const { pending } = await hand.scene();
  for (const [x, y] of corners) {
    const off = Math.min(...pending.map((p) => Math.hypot(p[0] - x, p[1] - y)));
    if (!(off < 0.1)) throw new Error(`a corner is ${off} px from its place`);
  }
  await t.screenshot('offered');
  await hand.press('sides-open');
  equal((await hand.scene()).step, 'true-length', 'where it leads');
}

/** Seen square-on it can't be known; that is said, and the corners stay on the board for a size. */
async function unknowable(t) {
  const { hand } = await taken(t, 0, 0);
  await hand.press('sides-open');
  await t.waitForText('#refused', 'shapes');
  equal((await hand.scene()).pending.length, 4, 'corners on the board');
}

export const tests = [
  { name: 'a board of unknown size seen at a slant', browsers: ALL, run: unknownBoard },
  { name: 'one touch inside a board offers its corners', browsers: ['chromium'], run: offered },
  { name: 'a board seen square-on is not guessed at', browsers: ['chromium'], run: unknowable },
];
