// A whirligig's balance, and a part that no outline shows, by touch.
import { ALL, Hand, equal } from './_hand.mjs';

/** What a section of the last step says. @param {Hand} hand @param {string} id */
async function section(hand, id) {
  const { lists } = await hand.scene();
  const found = lists.sections.find((one) => one.id === id);
  return (found?.lines ?? []).map(({ text }) => text).join(' ').replaceAll('\u00a0', ' ');
}

/** The part that lies on a view, by what its outline's row is called. @param {Hand} hand @param {RegExp} name */
async function partNamed(hand, name) {
  const { parts } = await hand.scene();
  const part = parts.find((one) => name.test(one.name));
  if (!part) throw new Error(`no part is called ${name}: ${parts.map((one) => one.name)}`);
  return part;
}

async function balance(t) {
  const hand = new Hand(t);
  await hand.outlined();
  const side = await partNamed(hand, /side/i);
  const part = `[data-part="${side.id}"]`;
  await t.tapOn(`${part} [data-key="part-stock"]`);
  await hand.press('goods-softwood');
  await hand.press('species-white-pine');
  await hand.press('part-done');
  // The pivot, a third of the body behind its nose (tests/demo/marsh-hen.json: nose at 244, tail at 1040 px).
  await hand.go('marks');
  await hand.press('tool-point');
  await hand.end([490, 1147]);
  const pivot = await hand.newest();
  await hand.go('lists');
  await hand.press('vane');
  await hand.press(`vane-pivot-${pivot}`);
  await hand.press('part-done');
  const said = await section(hand, 'vane');
  for (const what of [/Side area/, /behind the pivot, \d+ % of the length/, /face the wind/, /balances .* (behind|ahead of) the pivot/, /no source/]) {
    if (!what.test(said)) throw new Error(`it isn't said ${what}: ${said}`);
  }
  const shown = await t.text('[data-section="vane"] .section-lines');
  if (!/pivot/.test(shown)) throw new Error(`the page shows ${shown}`);
  await t.screenshot('vane-lists');
  // What was reckoned stands over the picture, near the body.
  await hand.go('build');
  const { drawn } = await hand.scene();
  equal(drawn.length, 3, 'places drawn');
  for (const { at } of drawn) {
    if (!(at[0] > 244 && at[0] < 1040 && at[1] > 900 && at[1] < 1300)) throw new Error(`drawn off the body: ${at}`);
  }
  await t.screenshot('vane-drawn');
  console.log(`     ${t.browser}: a balance in ${t.touches} touches: ${said.slice(0, 160)}`);
}

async function hidden(t) {
  const hand = new Hand(t);
  await hand.outlined();
  const { parts } = await hand.scene();
  const [first, second] = parts;
  await t.tapOn(`[data-part="${first.id}"] [data-key="part-stock"]`);
  await hand.press('goods-softwood');
  await hand.press('part-done');
  await hand.press('part-add');
  const made = (await hand.scene()).parts.at(-1);
  const part = `[data-part="${made.id}"]`;
  await t.tapOn(`${part} [data-key="part-length"]`);
  await hand.press(`rule-length-${first.id}`);
  await hand.press(`rule-thickness-${first.id}`);
  await hand.press('rule-count-1');
  await hand.press('part-done');
  await t.tapOn(`${part} [data-key="part-width"]`);
  await hand.press(`rule-width-${second.id}`);
  await hand.press('part-done');
  const row = (await hand.scene()).parts.at(-1).cut.flat().map(({ text }) => text).join(' ').replaceAll('\u00a0', ' ');
  if (!/length of A less 2 × thickness of A/.test(row)) throw new Error(`the rule isn't told: ${row}`);
  await t.screenshot('hidden-part');
  // The other way round is a ring, and refused by name.
  await t.tapOn(`[data-part="${first.id}"] [data-key="part-length"]`);
  await hand.press(`rule-length-${made.id}`);
  await t.waitFor(() => /in a ring: A → [A-Z]+ → A/.test(document.body.innerText));
  const { cut } = (await hand.scene()).parts[0];
  if (cut.some((line) => /by rule/.test(line))) throw new Error(`a ring was taken: ${cut.join(' ')}`);
  console.log(`     ${t.browser}: a hidden part by rule in ${t.touches} touches`);
}

export const tests = [
  { name: 'whether a whirligig faces the wind, by touch', browsers: ALL, run: balance },
  { name: 'a hidden part by rule, by touch', browsers: ['chromium'], run: hidden },
];
