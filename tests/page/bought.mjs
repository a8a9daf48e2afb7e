// What is bought and not cut: a round thing becomes a wheel that is sold, and its axle follows, by touch.
import { handedOver } from './_files.mjs';
import { ALL, Hand, equal, feature } from './_hand.mjs';

/** All that stands below the parts. @param {Hand} hand */
const below = async (hand) => (await hand.scene()).lists.below.map(({ text }) => text).join('\n').replaceAll('\u00a0', ' ');

async function bought(t) {
  const hand = new Hand(t);
  const truth = await hand.outlined();
  const [first] = (await hand.scene()).parts;
  await t.tapOn(`[data-part="${first.id}"] [data-key="part-stock"]`);
  await hand.press('goods-softwood');
  await hand.press('part-done');
  await hand.go('marks');
  await hand.press('tool-circle');
  const { points } = feature(truth, 'side', 'wheel, round');
  for (const k of [0, 2, 4]) await hand.tap(points[k % points.length]);
  const wheel = await hand.newest();
  if (!(await hand.scene()).detail) await t.tapOn(`[data-row="${wheel}"] .row-main`);
  await hand.press('bought');
  await hand.press('ware-wheel');
  // The two that are sold nearest to it, each with how far off it is; none but the nearer is taken.
  const { entry } = await hand.scene();
  const sizes = entry.choices.filter((key) => key.id.startsWith('size-'));
  equal(sizes.length, 2, sizes.map((key) => key.label).join(' | '));
  equal(sizes.every((key) => /(more|less) than measured|as measured/.test(key.label)), true, sizes.map((key) => key.label).join(' | '));
  await t.screenshot('bought');
  await hand.press(sizes[1].id);
  await hand.press('part-done');
  await hand.go('lists');
  const part = (await hand.scene()).parts.find((one) => one.cut.flat().some(({ text }) => /to buy/.test(text)));
  await t.tapOn(`[data-part="${part.id}"] [data-key="axle"]`);
  const told = await below(hand);
  for (const what of [/to buy: 1 × wheel/, /to buy: 1 × dowel .* Cut to .*: thickness of A plus 2 × thickness of/, /A hole it turns in is/, /no source/]) {
    if (!what.test(told)) throw new Error(`it isn't said ${what}: ${told}`);
  }
  await t.screenshot('bought-lists');
  const table = await handedOver(t, 'cutting-table');
  const text = table.bytes.toString('utf8').replaceAll('\u00a0', ' ');
  equal(/to buy: wheel/.test(text), true, text);
  // It can be taken back like anything else, and the mark it was measured by stays.
  await t.tapOn('#undo');
  await t.tapOn('#undo');
  await t.tapOn('#undo');
  const after = await hand.scene();
  equal([/wheel/.test(after.lists.below.map(({ text }) => text).join(' ')), after.rows.some((row) => row.id === wheel)], [false, true], 'taken back');
}

export const tests = [
  { name: 'a wheel that is bought, and its axle, by touch', browsers: ALL, run: bought },
];
