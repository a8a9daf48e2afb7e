// Straight edges that a lens bows: touched, told, taken out of every size, by touch.
import { withFiles } from './_files.mjs';
import { Hand, equal, within } from './_hand.mjs';
import { greyPng } from './_png.mjs';

const [WIDTH, HEIGHT] = [1600, 1200];
const HALF = Math.hypot(WIDTH, HEIGHT) / 2;
/** x_u = c + (x_d − c) / (1 + λ r²), r in halves of the diagonal. */
const LAMBDA = -0.08;
/** A dark door on a light wall, px without bend; ten px are an inch. */
const DOOR = { left: 90, right: 1500, top: 80, bottom: 1110 };
/** And a light panel on it, to be measured. */
const PANEL = { left: 560, right: 1060, top: 480, bottom: 700 };

/** Without the bend, and with it. */
function straight(x, y) {
  const [dx, dy] = [(x - WIDTH / 2) / HALF, (y - HEIGHT / 2) / HALF];
  const grow = 1 / (1 + LAMBDA * (dx * dx + dy * dy));
  return [WIDTH / 2 + dx * grow * HALF, HEIGHT / 2 + dy * grow * HALF];
}
function bowed(x, y) {
  let [bx, by] = [x, y];
  for (let i = 0; i < 50; i++) {
    const [sx, sy] = straight(bx, by);
    [bx, by] = [bx + x - sx, by + y - sy];
  }
  return [bx, by];
}

/** How far inside a box, px, nought at its border; soft over about a px. */
function inside({ left, right, top, bottom }, x, y) {
  const far = Math.min(x - left, right - x, y - top, bottom - y);
  return 1 / (1 + Math.exp(-2.4 * far));
}

function picture() {
  return greyPng(WIDTH, HEIGHT, (px, py) => {
    const [x, y] = straight(px + 0.5, py + 0.5);
    const door = inside(DOOR, x, y);
    return Math.round(215 - 150 * door + 120 * door * inside(PANEL, x, y));
  });
}

/** Touches an edge near both of its ends, as a finger lands along it. */
async function along(hand, a, b) {
  const at = (k) => bowed(a[0] + (b[0] - a[0]) * k, a[1] + (b[1] - a[1]) * k);
  await hand.tap(at(0.05));
  await hand.t.waitFor(() => window.scrieve.sought());
  await hand.tap(at(0.95));
  await hand.t.waitFor(() => window.scrieve.sought());
}

async function straightened(t) {
  await withFiles({ 'door.png': picture() }, async (path) => {
    const hand = new Hand(t, 41);
    await hand.open();
    await hand.drop(path('door.png'));
    const { left, right, top, bottom } = DOOR;
    const corners = [[left, top], [right, top], [right, bottom], [left, bottom]];
    await hand.go('picture');
    await t.tapOn('[data-key="straighten"]');
    const touches = t.touches;
    for (let i = 0; i < 4; i++) await along(hand, corners[i], corners[(i + 1) % 4]);
    equal(t.touches - touches, 8, 'touches for four edges');
    const told = (await hand.scene()).aside;
    const percent = /by ([\d.]+) % ± ([\d.]+) %/.exec(told);
    if (!percent) throw new Error(`nothing was found: ${told}`);
    if (Math.abs(Number(percent[1]) - 8) > Math.max(Number(percent[2]), 0.1)) throw new Error(`the bend is 8 %, told: ${told}`);
    await t.screenshot('edges');
    await t.tapOn('[data-key="edges-done"]');
    // One length is known, across the door: 141 in. The panel's is measured, with and without the bend.
    const ends = (box) => [box.left, box.right].map((x) => bowed(x, (box.top + box.bottom) / 2));
    await hand.go('true-length');
    await hand.length(ends(DOOR));
    await hand.type('1', '4', '1');
    await hand.press('it-is');
    await hand.go('marks');
    await hand.length(ends(PANEL));
    const truth = (PANEL.right - PANEL.left) * 2.54;
    const panel = await hand.newest();
    within((await hand.row(panel)).real, truth, 'the panel');
    await t.screenshot('measured');
    await hand.go('picture');
    await t.tapOn('[data-key="straighten"]');
    await t.tapOn('[data-key="forget-edges"]');
    const { value, plus } = (await hand.row(panel)).real;
    if (Math.abs(value - truth) < 2 * plus) throw new Error(`with the bend left in ${value} is as good: ${truth}`);
  });
}

export const tests = [
  { name: 'bowed edges are straightened by touch', browsers: ['chromium', 'webkit'], run: straightened },
];
