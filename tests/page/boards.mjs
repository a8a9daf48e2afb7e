// Boards laid out from a three-view, and the cuts one by one at the bench, by touch.
import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { PYTHON, handedOver } from './_files.mjs';
import { ALL, Hand, equal } from './_hand.mjs';

const READ = `
import json, sys, pypdfium2
print(json.dumps([' '.join(page.get_textpage().get_text_range().split()) for page in pypdfium2.PdfDocument(sys.argv[1])]))
`;

/** What stands on each page, as an outside reader has it. */
async function pages(pdf) {
  const dir = await mkdtemp(join(tmpdir(), 'scrieve-boards-'));
  try {
    await writeFile(join(dir, 'boards.pdf'), pdf);
    const { stdout } = await promisify(execFile)(PYTHON, ['-c', READ, join(dir, 'boards.pdf')]);
    return JSON.parse(stdout);
  } finally {
    await rm(dir, { recursive: true, force: true });
  }
}

/** From a picture to parts of pine. */
async function parts(t) {
  const hand = new Hand(t);
  await hand.outlined();
  await t.waitFor(() => window.scrieve.planned());
  const { id: mark } = (await hand.scene()).parts[0];
  await t.tapOn(`[data-part="${mark}"] [data-key="part-stock"]`);
  await hand.press('goods-softwood');
  await hand.press('part-done');
  return hand;
}

const laid = (t) => t.waitFor(() => window.scrieve.boards());

/** The board that a piece lies on, and the piece. */
function where(shown, { part, copy }) {
  for (const board of shown.lots.flatMap((lot) => lot.boards)) {
    const piece = board.pieces.find((one) => one.part === part && one.copy === copy);
    if (piece) return { board, piece };
  }
  throw new Error(`${part} ${copy} lies nowhere`);
}

/** Whether two rectangles share more than an edge. */
const meet = (a, b) => [0, 1].every((k) => a.at[k] + 1e-6 < b.at[k] + b.over[k] && b.at[k] + 1e-6 < a.at[k] + a.over[k]);

async function boards(t) {
  const hand = await parts(t);
  const count = (await hand.scene()).parts.length;
  await hand.press('boards');
  let shown = await laid(t);
  const pieces = () => shown.lots.flatMap((lot) => lot.boards).flatMap((board) => board.pieces);
  if (pieces().length === 0) throw new Error(JSON.stringify(shown));
  const left = shown.lots.flatMap((lot) => lot.lines).some((line) => /larger than any/.test(line));
  equal(pieces().length === count || left, true, `${pieces().length} of ${count} parts lie on boards`);
  await t.screenshot('boards');
  // A piece is taken, held and slid: it stays where it was put.
  const first = pieces()[0];
  const at = `[data-letter="${first.letter}"]`;
  await t.tapOn(at);
  await hand.press('boards-right');
  await t.waitFor(() => window.scrieve.boards()?.lots.some((lot) => lot.boards.some((one) => one.pieces.some((piece) => piece.pinned))));
  shown = await laid(t);
  const pinned = where(shown, first);
  equal(pinned.piece.pinned, true, 'held');
  await t.screenshot('boards-held');
  // A knot beside it: nothing is cut from there.
  await t.tapOn('.boards-room h2');
  await hand.press('boards-knot');
  await t.tapOn('.board-drawn');
  await t.waitFor(() => window.scrieve.boards()?.lots.some((lot) => lot.boards.some((one) => one.spots.length > 0)));
  shown = await laid(t);
  for (const board of shown.lots.flatMap((lot) => lot.boards)) {
    for (const spot of board.spots) equal(board.pieces.filter((piece) => meet(piece, spot)).map((p) => p.letter), [], 'pieces on a knot');
  }
  await t.screenshot('boards-knot');
  // Longer boards.
  const before = (await hand.scene()).lists.stocks[0].lot;
  await t.tapOn('#stocks [data-key="board-3657-0"], #stocks [data-key="board-3658-0"]');
  await t.waitFor(() => window.scrieve.boards()?.lots[0].boards[0].size[0] > 3600);
  equal((await hand.scene()).lists.stocks[0].lot, before, 'the stock');
  const pdf = await handedOver(t, 'boards-pdf');
  const read = await pages(pdf.bytes);
  equal(read.some((text) => text.includes('Board 1') && text.includes('Across, at')), true, read.join(' | '));
  await hand.press('boards-close');
  await t.waitFor(() => document.querySelector('#boards').hidden);
}

/** The keys in the bench view by their area, largest first. */
function largest() {
  const area = (key) => key.offsetWidth * key.offsetHeight;
  const keys = [...document.querySelectorAll('.bench button')].sort((a, b) => area(b) - area(a));
  return keys.map((key) => ({ key: key.dataset.key, width: key.offsetWidth, height: key.offsetHeight }));
}

async function bench(t) {
  const hand = await parts(t);
  await hand.press('bench');
  await t.waitFor(() => document.querySelector('.bench[open] .bench-cut')?.textContent);
  const keys = await t.run(largest);
  equal(keys.slice(0, 2).map((one) => one.key).sort(), ['bench-back', 'bench-next'], 'the two largest keys');
  equal(keys.every(({ width, height }) => Math.min(width, height) >= 64) && keys[0].height >= 104, true, JSON.stringify(keys));
  await t.screenshot('bench');
  const told = async () => ({ cut: await t.attr('.bench-cut', 'data-text') ?? await t.text('.bench-cut'), done: await t.text('.bench-done') });
  const first = await told();
  await hand.press('bench-tick');
  await t.waitForText('.bench-done', '1 of');
  await hand.press('bench-next');
  equal((await told()).done, '1 of' + first.done.slice(4), 'how many are cut');
  await hand.press('bench-back');
  equal((await told()).cut, first.cut, 'back at the first');
  equal(await t.attr('.bench-tick-key', 'aria-pressed'), 'true', 'the tick');
  // One of the two is said: the screen stays awake, or it can't be kept awake.
  equal(/awake|stay on/.test(await t.text('.bench-note')), true, await t.text('.bench-note'));
  await hand.press('bench-close');
  await t.tapOn('#undo');
  await hand.press('bench');
  await t.waitForText('.bench-done', '0 of');
}

export const tests = [
  { name: 'boards are laid out, a piece held, a knot kept clear, by touch', browsers: ALL, run: boards },
  { name: 'cut by cut at the bench, by touch', browsers: ['chromium', 'firefox'], run: bench },
  { name: 'the bench, upright', browsers: ['chromium'], screen: 'portrait', run: bench },
];
