// A chest seen from a corner: its seven corners touched, one edge given, then the other two, each within its ±.
import { random } from '../random.mjs';
import { withFiles } from './_files.mjs';
import { Hand, equal } from './_hand.mjs';
import { greyPng } from './_png.mjs';

const [WIDTH, HEIGHT, FOCAL] = [1600, 1200, 1500];
/** Along the front, along the end, upright, inches. */
const EDGES = [24, 16, 12];
const INCH = 25.4;

/** Where a place of the chest is seen, edges from its nearest corner to picture px: a pinhole camera that looks down on it. */
function seen([front, end, down]) {
  const [turn, tilt] = [35, 25].map((degrees) => (degrees * Math.PI) / 180);
  const [u, v, w] = [front * EDGES[0], end * EDGES[1], down * EDGES[2]].map((inches) => inches * INCH);
  const [x, y, z] = [u * Math.cos(turn) - v * Math.sin(turn) - 60, w - 120, u * Math.sin(turn) + v * Math.cos(turn)];
  const far = 1250 + y * Math.sin(tilt) + z * Math.cos(tilt);
  return [WIDTH / 2 + (FOCAL * x) / far, HEIGHT / 2 + (FOCAL * (y * Math.cos(tilt) - z * Math.sin(tilt))) / far];
}

/** As the page asks for them: where front, end and top meet; along each edge; across the front, the end and the top. */
const CORNERS = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 0, 1], [0, 1, 1], [1, 1, 0]];
const LETTERS = 'ABCDEFG';
/** The three sides that are seen, and how light each is. */
const SIDES = [
  [[[0, 0, 0], [1, 0, 0], [1, 0, 1], [0, 0, 1]], 95],
  [[[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1]], 60],
  [[[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], 150],
];

/** The chest on a light floor, smoothed over pixels where sides meet, with a little noise. */
function picture() {
  const noise = random(19);
  const sides = SIDES.map(([ring, grey]) => [ring.map(seen), grey]);
  const within = (ring, x, y) => {
    const turns = ring.map(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % 4];
      return (bx - ax) * (y - ay) - (by - ay) * (x - ax);
    });
    return turns.every((turn) => turn > 0) || turns.every((turn) => turn < 0);
  };
  const grey = new Uint8Array(WIDTH * HEIGHT);
  for (let y = 0; y < HEIGHT; y += 1) {
    for (let x = 0; x < WIDTH; x += 1) {
      const looks = (count) => Array.from({ length: count * count }, (_, k) => {
        const at = [x + ((k % count) + 0.5) / count, y + (Math.floor(k / count) + 0.5) / count];
        return sides.find(([ring]) => within(ring, ...at))?.[1] ?? 220;
      });
      // Sixteen looks where four don't agree.
      const four = looks(2);
      const all = four.every((one) => one === four[0]) ? four : looks(4);
      const light = all.reduce((sum, one) => sum + one, 0) / all.length;
      grey[y * WIDTH + x] = Math.round(light + 3 * (noise() - 0.5));
    }
  }
  return greyPng(WIDTH, HEIGHT, (x, y) => grey[y * WIDTH + x]);
}

/** The sizes that a note tells, in inches, with their ±. */
function sizesIn(text) {
  const number = (whole, num, den) => Number(whole ?? 0) + (num ? Number(num) / Number(den) : 0);
  return [...text.matchAll(/(?:(\d+) ?)?(?:(\d+)⁄(\d+))?(?: in)?\s*±\s*(?:(\d+) ?)?(?:(\d+)⁄(\d+))?/g)]
    .map(([, a, b, c, d, e, f]) => [number(a, b, c), number(d, e, f)]);
}

async function chest(t) {
  const hand = new Hand(t, 41);
  await hand.open();
  await withFiles({ 'chest.png': picture() }, async (path) => hand.drop(path('chest.png')));
  await hand.go('true-length');
  await hand.press('tool-boxed');
  for (const [i, corner] of CORNERS.entries()) {
    const { guide, pending_names: names, drawn } = await hand.scene();
    equal([guide.slice(0, 2), names.join('')], [`${LETTERS[i]}:`, LETTERS.slice(0, i)], `before touch ${i + 1}`);
    // Once three edges are there it shows about where the next corner must be.
    equal(drawn.map((one) => one.label), i > 3 ? [`${LETTERS[i]}?`] : [], `shown before touch ${i + 1}`);
    if (i === 5) await t.screenshot('next');
    await hand.end(seen(corner));
  }
  await t.screenshot('corners');
  await hand.type('2', '4');
  await hand.press('take-it');
  const note = await t.waitFor(() => window.scrieve.scene().notes.find((one) => one.text.startsWith('The box:'))?.text);
  await t.screenshot('box');
  console.log(`     ${t.browser}: ${note} In ${t.touches} touches; truth ${EDGES.join(' × ')} in.`);
  const told = sizesIn(note.replaceAll('\u00a0', ' '));
  equal(told.length >= 2, true, `sizes in “${note}”`);
  for (const [i, truth] of EDGES.slice(1).entries()) {
    const [size, pm] = told.at(i - 2);
    if (Math.abs(size - truth) > pm + 1 / 32) throw new Error(`${truth} in is told as ${size} ± ${pm}`);
  }
  const { views, head, steps } = await hand.scene();
  equal(views.length, 4, 'the whole picture and three sides');
  // A box gives true sizes: nothing asks for a length any more.
  equal([head[0].startsWith('in life'), steps[1].done], [true, true], 'what the head says');
  await oddOne(t, hand);
}

/** Two true lengths more, one of them 2 in too long: that one is named, and what it should be. */
async function oddOne(t, hand) {
  for (const [ends, digits] of [[[[0, 1, 0], [0, 0, 1]], ['2', '0']], [[[0.1, 0, 0.5], [0.9, 0, 0.5]], ['2', '1', '.', '2']]]) {
    await hand.go('true-length');
    await hand.length(ends.map(seen));
    await hand.type(...digits);
    await hand.press('it-is');
  }
  const note = await t.waitFor(() => window.scrieve.scene().notes.find((one) => one.id.startsWith('odd-'))?.text);
  console.log(`     ${note}`);
  const [, mark, told] = note.match(/^True length (\d+) .* by the others it is ([\d.]+)\sin/) ?? [];
  equal(mark, '2', 'the length that is named');
  if (!(Math.abs(told - 19.2) < 0.1)) throw new Error(`19.2 in are told as ${told}`);
  await t.screenshot('odd');
}

export const tests = [
  { name: 'a chest from its corners and one edge, by touch', browsers: ['chromium'], run: chest },
];
